//! Each thing in the bait: its shape, mass and place.

use std::f64::consts::PI;

use nalgebra::{Point3, Vector3};

use super::{Bed, Bent, Plastic, Shape, WirePlan};
use crate::spec::{HookDesign, SkirtDesign, WeightDesign, WireDesign};
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

/// Drag coefficient of round wire across the flow, at the Reynolds numbers of bait wire, 100 to 2000:
/// 1.0 to 1.4 (handbooks, from memory).
const WIRE_DRAG: [f64; 2] = [1.0, 1.4];
/// Drag of trailing strands: friction and flutter, of their whole surface along, of their side area
/// across, strands behind one another counted in part. An allowance, reasoned.
const SKIRT_ALONG: [f64; 2] = [0.01, 0.05];
const SKIRT_ACROSS: [f64; 2] = [0.15, 0.6];

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
        let plan = WirePlan::of_wire(wire, bed.length);
        let d = wire.diameter;
        let mut insert = Self::of_pieces("wire", InsertKind::Wire, &plan.pieces, d, bed);
        insert.part.mass = 1e-3 * wire.density * 0.25 * PI * d * d * plan.cut;
        // The hook hangs in the rear eye.
        let end = Point3::new(wire.ends[1].unwrap_or(bed.length), 0.0, wire.height);
        insert.joint = plan.eyes[1].or(Some(end)).map(|p| (p, 2.0 * d + 4.0));
        (insert, plan)
    }

    pub(super) fn hook(hook: &HookDesign, bed: &Bed) -> Self {
        let plan = WirePlan::of_hook(hook);
        let d = hook.wire;
        let mut insert = Self::of_pieces("hook", InsertKind::Hook, &plan.pieces, d, bed);
        if let Some(mass) = hook.mass {
            insert.part.mass = mass;
        }
        let eye = 0.5 * (hook.eye + d);
        insert.joint = plan.eyes[0].map(|p| (p, eye + d));
        insert
    }

    /// Wire of steel along lines, cut into short pieces that lie in plastic or in the water.
    fn of_pieces(path: &str, kind: InsertKind, pieces: &[Bent], d: f64, bed: &Bed) -> Self {
        const STEP: f64 = 0.5;
        let area = 0.25 * PI * d * d;
        let (mut inside, mut outside, mut all) =
            (Heap::default(), Heap::default(), Heap::default());
        // Side areas of what sticks out: seen along x and along z.
        let (mut along, mut across) = (0.0, 0.0);
        let lines: Vec<Vec<Point3<f64>>> = pieces.iter().map(Bent::line).collect();
        for (piece, line) in pieces.iter().zip(&lines) {
            let drawn: f64 = line.windows(2).map(|w| (w[1] - w[0]).norm()).sum();
            let share = if drawn > 0.0 {
                piece.wire(d) / drawn
            } else {
                0.0
            };
            for w in line.windows(2) {
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
            lines,
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
