//! Each thing in the bait: its shape, mass and place.

use std::f64::consts::PI;

use nalgebra::{Point3, Vector3};

use super::{Bed, Plastic, Shape};
use crate::spec::{HookDesign, PointSide, SkirtDesign, WeightDesign, WireDesign};
use crate::water::{Allowance, Part};

/// What an insert is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InsertKind {
    /// The wire; it may come out of the body.
    Wire,
    /// The hook; it may come out of the body.
    Hook,
    /// A weight; it lies wholly in plastic.
    Weight,
    /// The skirt; it lies outside.
    Skirt,
}

/// Plastic over an insert.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Skin {
    /// Least thickness, in mm; negative where the insert comes out.
    pub thickness: f64,
    /// Where, on the insert's surface.
    pub at: Point3<f64>,
}

/// One thing in or on the bait.
#[derive(Clone, Debug, PartialEq)]
pub struct Insert {
    /// Field path in the spec.
    pub path: String,
    /// What it is.
    pub kind: InsertKind,
    /// Mass and centre.
    pub part: Part,
    /// Volume of it that lies in plastic, in mm³, and the centre of that.
    pub embedded: (f64, Point3<f64>),
    /// Volume of it that lies in the water, in mm³, and the centre of that.
    pub outside: (f64, Point3<f64>),
    /// Its shape; `None` for the skirt.
    pub shape: Option<Shape>,
    /// Where it joins another and may touch it.
    pub joint: Option<(Point3<f64>, f64)>,
    /// Least plastic over it, where it is covered.
    pub skin: Option<Skin>,
    /// Drag of what sticks out.
    pub allowance: Option<Allowance>,
}

/// How a wire is cut and bent.
#[derive(Clone, Debug, PartialEq)]
pub struct WirePlan {
    /// Diameter of the wire, in mm.
    pub diameter: f64,
    /// Length to cut, in mm, along the middle of the wire.
    pub cut: f64,
    /// Places along it, in mm from its front end, and what happens there.
    pub marks: Vec<(f64, &'static str)>,
    /// Middles of the eyes before and behind the straight run.
    pub eyes: [Option<Point3<f64>>; 2],
}

/// Drag coefficient of round wire across the flow, at the Reynolds numbers of bait wire, 100 to 2000:
/// 1.0 to 1.4 (handbooks, from memory).
const WIRE_DRAG: [f64; 2] = [1.0, 1.4];
/// Drag of trailing strands: friction and flutter, of their whole surface along, of their side area
/// across, strands behind one another counted in part. An allowance, reasoned.
const SKIRT_ALONG: [f64; 2] = [0.01, 0.05];
const SKIRT_ACROSS: [f64; 2] = [0.15, 0.6];

/// A piece of wire: a line, and how much wire lies along it.
struct Piece {
    line: Vec<Point3<f64>>,
    wire: f64,
}

impl Piece {
    fn straight(a: Point3<f64>, b: Point3<f64>) -> Self {
        Piece {
            wire: (b - a).norm(),
            line: vec![a, b],
        }
    }

    /// An arc in the upright mid-plane round `centre`, from an angle to another (degrees, from the tail
    /// up), of the true length of the arc.
    fn arc(centre: Point3<f64>, radius: f64, from: f64, to: f64) -> Self {
        const CHORDS: usize = 24;
        let line = (0..=CHORDS)
            .map(|i| {
                let turn = from + (to - from) * i as f64 / CHORDS as f64;
                let (sin, cos) = libm::sincos(turn.to_radians());
                centre + Vector3::new(cos, 0.0, sin) * radius
            })
            .collect();
        Piece {
            line,
            wire: (to - from).abs().to_radians() * radius,
        }
    }
}

/// Where a wire lies: its straight run, and the eye at either end of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WireCourse {
    /// Ends of the straight run.
    pub run: [Point3<f64>; 2],
    /// The eyes before and behind it.
    pub eyes: [Option<WireEye>; 2],
}

/// A wire's eye, in the upright mid-plane. Between the straight run and its root the end is wrapped
/// round the wire.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WireEye {
    /// Where the loop begins.
    pub root: Point3<f64>,
    /// Middle of the loop.
    pub centre: Point3<f64>,
    /// Radius of the loop, to the middle of the wire.
    pub radius: f64,
}

impl WireCourse {
    /// The course of a wire in a body of this length.
    #[must_use]
    pub fn of(wire: &WireDesign, length: f64) -> Self {
        let [from, to] = wire.ends;
        let at = |x: f64| Point3::new(x, 0.0, wire.height);
        let run = [from.unwrap_or(0.0), to.unwrap_or(length)];
        // Close turns side by side: each takes a wire's thickness of the stem.
        let wrapped = f64::from(wire.twists) * wire.diameter;
        let eyes = [0, 1].map(|k| {
            let out = if k == 0 { -1.0 } else { 1.0 };
            wire.eyes[k].map(|eye| {
                let radius = 0.5 * (eye + wire.diameter);
                let root = run[k] + out * wrapped;
                WireEye {
                    root: at(root),
                    centre: at(root + out * radius),
                    radius,
                }
            })
        });
        WireCourse {
            run: run.map(at),
            eyes,
        }
    }
}

/// The middle line of a hook's wire, in the upright mid-plane: its eye, closed, and from there to
/// the point.
#[must_use]
pub fn hook_course(hook: &HookDesign) -> [Vec<Point3<f64>>; 2] {
    let mut pieces = hook_pieces(hook).into_iter().map(|piece| piece.line);
    let eye = pieces.next().unwrap_or_default();
    let mut rest: Vec<Point3<f64>> = Vec::new();
    for p in pieces.flatten() {
        if rest.last().is_none_or(|last| (p - last).norm() > 1e-9) {
            rest.push(p);
        }
    }
    [eye, rest]
}

fn hook_pieces(hook: &HookDesign) -> Vec<Piece> {
    let up = match hook.point {
        PointSide::Up => 1.0,
        PointSide::Down => -1.0,
    };
    let d = hook.wire;
    let eye = 0.5 * (hook.eye + d);
    let bend = 0.5 * (hook.gap + d);
    let at = |x: f64, z: f64| Point3::new(x, 0.0, hook.height + up * z);
    let root = hook.at + eye;
    let end = root + hook.shank;
    let leg = (hook.bend - bend).max(0.0);
    vec![
        Piece::arc(at(hook.at, 0.0), eye, 0.0, 360.0),
        Piece::straight(at(root, 0.0), at(end, 0.0)),
        Piece::arc(at(end, bend), bend, -90.0 * up, 90.0 * up),
        Piece::straight(at(end, 2.0 * bend), at(end - leg, 2.0 * bend)),
    ]
}

/// Sums up volume and its moment.
#[derive(Default)]
struct Heap {
    volume: f64,
    moment: Vector3<f64>,
}

impl Heap {
    fn add(&mut self, volume: f64, at: &Point3<f64>) {
        self.volume += volume;
        self.moment += at.coords * volume;
    }

    fn done(self) -> (f64, Point3<f64>) {
        if self.volume > 0.0 {
            (self.volume, Point3::from(self.moment / self.volume))
        } else {
            (0.0, Point3::origin())
        }
    }
}

impl Insert {
    pub(super) fn wire(wire: &WireDesign, bed: &Bed) -> (Self, WirePlan) {
        let d = wire.diameter;
        let course = WireCourse::of(wire, bed.length);
        let run = course.run;
        let mut pieces = vec![Piece::straight(run[0], run[1])];
        let mut eyes = [None, None];
        // On a helix whose middle is a wire's thickness off the stem's.
        let turns = f64::from(wire.twists);
        let helix = turns * libm::hypot(2.0 * PI * d, d);
        let mut ends = [0.0; 2];
        let mut marks = Vec::new();
        for k in 0..2 {
            let Some(eye) = course.eyes[k] else { continue };
            let (radius, centre) = (eye.radius, eye.centre);
            let loop_length = 2.0 * PI * radius;
            if wire.twists > 0 {
                pieces.push(Piece {
                    line: vec![run[k], eye.root],
                    wire: turns * d + helix,
                });
            }
            pieces.push(Piece::arc(centre, radius, 0.0, 360.0));
            eyes[k] = Some(centre);
            ends[k] = helix + loop_length + turns * d;
            marks.push((k, helix, loop_length));
        }
        let straight = run[1].x - run[0].x;
        let cut = ends[0] + straight + ends[1];
        let marks = marks
            .into_iter()
            .flat_map(|(k, helix, round)| {
                let places = [helix, helix + round];
                if k == 0 {
                    [
                        (
                            places[0],
                            "the wrapped end stops here; the front eye begins",
                        ),
                        (places[1], "the front eye is closed"),
                    ]
                } else {
                    [
                        (cut - places[1], "the rear eye begins"),
                        (
                            cut - places[0],
                            "the rear eye is closed; the rest is wrapped",
                        ),
                    ]
                }
            })
            .collect();
        let plan = WirePlan {
            diameter: d,
            cut,
            marks,
            eyes,
        };
        let mut insert = Self::of_pieces("wire", InsertKind::Wire, pieces, d, bed);
        insert.part.mass = 1e-3 * wire.density * 0.25 * PI * d * d * cut;
        // The hook hangs in the rear eye.
        insert.joint = eyes[1].or(Some(run[1])).map(|p| (p, 2.0 * d + 4.0));
        (insert, plan)
    }

    pub(super) fn hook(hook: &HookDesign, bed: &Bed) -> Self {
        let d = hook.wire;
        let pieces = hook_pieces(hook);
        let mut insert = Self::of_pieces("hook", InsertKind::Hook, pieces, d, bed);
        if let Some(mass) = hook.mass {
            insert.part.mass = mass;
        }
        let eye = Point3::new(hook.at, 0.0, hook.height);
        insert.joint = Some((eye, 0.5 * (hook.eye + d) + d));
        insert
    }

    /// Wire of steel along lines, cut into short pieces that lie in plastic or in the water.
    fn of_pieces(path: &str, kind: InsertKind, pieces: Vec<Piece>, d: f64, bed: &Bed) -> Self {
        const STEP: f64 = 0.5;
        let area = 0.25 * PI * d * d;
        let (mut inside, mut outside, mut all) =
            (Heap::default(), Heap::default(), Heap::default());
        // Side areas of what sticks out: seen along x and along z.
        let (mut along, mut across) = (0.0, 0.0);
        for piece in &pieces {
            let drawn: f64 = piece.line.windows(2).map(|w| (w[1] - w[0]).norm()).sum();
            let share = if drawn > 0.0 { piece.wire / drawn } else { 0.0 };
            for w in piece.line.windows(2) {
                let length = (w[1] - w[0]).norm();
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                let n = (libm::ceil(length / STEP) as usize).clamp(1, 4096);
                let step = (w[1] - w[0]) / n as f64;
                let volume = area * share * length / n as f64;
                for i in 0..n {
                    let p = w[0] + step * (i as f64 + 0.5);
                    all.add(volume, &p);
                    if bed.plastic.holds(&p) {
                        inside.add(volume, &p);
                    } else {
                        outside.add(volume, &p);
                        along += d * libm::hypot(step.y, step.z);
                        across += d * libm::hypot(step.x, step.y);
                    }
                }
            }
        }
        let (volume, centre) = all.done();
        let outside = outside.done();
        let shape = Shape::Strands {
            lines: pieces.into_iter().map(|piece| piece.line).collect(),
            radius: 0.5 * d,
        };
        let by = |area: f64| WIRE_DRAG.map(|cd| cd * area);
        Insert {
            path: path.to_owned(),
            kind,
            part: Part {
                mass: 1e-3 * crate::spec::Metal::Steel.density() * volume,
                centre,
            },
            embedded: inside.done(),
            outside,
            skin: wire_skin(&shape, d, &bed.plastic),
            shape: Some(shape),
            joint: None,
            allowance: (outside.0 > 0.0).then(|| Allowance {
                centre: outside.1,
                along: by(along),
                across: by(across),
            }),
        }
    }

    pub(super) fn weight(i: usize, weight: &WeightDesign, bed: &Bed) -> Self {
        let shape = Shape::of_weight(weight);
        let centre = Point3::new(weight.at + weight.centre_behind(), 0.0, weight.height);
        Insert {
            path: format!("weight[{i}]"),
            kind: InsertKind::Weight,
            part: Part {
                mass: weight.mass(),
                centre,
            },
            embedded: (weight.volume(), centre),
            outside: (0.0, Point3::origin()),
            skin: skin(&shape, &bed.plastic),
            shape: Some(shape),
            joint: None,
            allowance: None,
        }
    }

    pub(super) fn skirt(skirt: &SkirtDesign, bed: &Bed) -> Self {
        let (n, d, l) = (f64::from(skirt.strands), skirt.thickness, skirt.length);
        let at = skirt.at.unwrap_or(bed.length);
        let centre = Point3::new(at + 0.5 * l, 0.0, 0.0);
        let volume = n * 0.25 * PI * d * d * l;
        Insert {
            path: "skirt".to_owned(),
            kind: InsertKind::Skirt,
            part: Part {
                mass: 1e-3 * skirt.density * volume,
                centre,
            },
            embedded: (0.0, Point3::origin()),
            outside: (volume, centre),
            shape: None,
            joint: None,
            skin: None,
            allowance: Some(Allowance {
                centre,
                along: SKIRT_ALONG.map(|c| c * n * PI * d * l),
                across: SKIRT_ACROSS.map(|c| c * n * d * l),
            }),
        }
    }

    /// Where a weight comes out of the plastic.
    pub(super) fn comes_out(&self) -> Option<Skin> {
        // Less than the facets of the surface stray shows nowhere.
        const OUT: f64 = 0.0;
        let skin = self.skin?;
        (self.kind == InsertKind::Weight && skin.thickness < OUT).then_some(skin)
    }

    /// How deep two inserts lie in each other, in mm; 0 if they do not.
    pub(super) fn overlap(&self, other: &Insert) -> f64 {
        let (Some(a), Some(b)) = (&self.shape, &other.shape) else {
            return 0.0;
        };
        // Hook and wire are joined at their eyes.
        let joints = match (self.kind, other.kind) {
            (InsertKind::Wire, InsertKind::Hook) | (InsertKind::Hook, InsertKind::Wire) => {
                [self.joint, other.joint]
            }
            _ => [None, None],
        };
        let joined = |p: &Point3<f64>| {
            let near = |joint: &(Point3<f64>, f64)| (p - joint.0).norm() < joint.1;
            joints.iter().flatten().any(near)
        };
        let into = |a: &Shape, b: &Shape| {
            // The middle of a wire lies deeper in what it runs through than its surface.
            let courses = a.course(0.5).into_iter().map(|(p, _)| p);
            a.samples()
                .into_iter()
                .chain(courses)
                .filter(|p| !joined(p))
                .map(|p| -b.distance(&p))
                .fold(0.0, f64::max)
        };
        into(a, b).max(into(b, a))
    }
}

/// Least plastic over a shape that should lie wholly within.
pub(super) fn skin(shape: &Shape, plastic: &Plastic) -> Option<Skin> {
    skin_above(shape, plastic, f64::NEG_INFINITY)
}

/// As [`skin`]; looks no further than the first place that is closer to the surface than `least`, inside
/// or outside.
pub(super) fn skin_above(shape: &Shape, plastic: &Plastic, least: f64) -> Option<Skin> {
    // Samples are closer together than this: where all are further from the surface, none is on the
    // other side of it.
    const APART: f64 = 2.0;
    let mut nearest: Option<Skin> = None;
    // A few from all over first: what will not fit is found out soon.
    const STRIDE: usize = 13;
    let mut samples = shape.samples();
    let spread = (0..STRIDE).flat_map(|first| samples.iter().skip(first).step_by(STRIDE));
    for at in spread {
        let thickness = plastic.distance(at);
        if nearest.is_none_or(|n| thickness < n.thickness) {
            nearest = Some(Skin { thickness, at: *at });
        }
        if thickness < least {
            break;
        }
    }
    let found = nearest?;
    if found.thickness > APART {
        let sign = if plastic.holds(&found.at) { 1.0 } else { -1.0 };
        // Outside, the deepest place is what counts; the nearest will do to be refused.
        return Some(Skin {
            thickness: sign * found.thickness,
            ..found
        });
    }
    if found.thickness < least {
        samples = vec![found.at];
    }
    samples
        .into_iter()
        .map(|at| Skin {
            thickness: plastic.depth(&at),
            at,
        })
        .min_by(|a, b| a.thickness.total_cmp(&b.thickness))
}

/// Least plastic over wire that comes out somewhere: measured where it is inside, and further from where
/// it comes out than twice the skin it should have: a tapering end is thin round it as it must be.
fn wire_skin(shape: &Shape, d: f64, plastic: &Plastic) -> Option<Skin> {
    let course = shape.course(0.5);
    let (inside, outside): (Vec<_>, Vec<_>) =
        course.into_iter().partition(|(p, _)| plastic.holds(p));
    let clear = 2.0 * super::KEPT_SKIN + d;
    inside
        .into_iter()
        .filter(|(p, _)| outside.iter().all(|(q, _)| (p - q).norm() > clear))
        .map(|(at, _)| Skin {
            thickness: plastic.distance(&at) - 0.5 * d,
            at,
        })
        .min_by(|a, b| a.thickness.total_cmp(&b.thickness))
}
