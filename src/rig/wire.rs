//! How a wire is cut and bent: the plan of the rig's own wire, and of a hook.
//!
//! # References
//! Lengths are along the middle of the wire, as springs are reckoned by their mean diameter (EN 13906-1,
//! from memory): a round section bent no tighter than round its own thickness keeps the length
//! of its middle to within a few per cent of the bend (reasoned).

use std::f64::consts::PI;

use nalgebra::Point3;

use crate::spec::{HookDesign, PointSide, WeightDesign, WireDesign};

/// A piece of wire in the upright mid-plane; places are [x, z], in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bent {
    /// A straight run.
    Straight([f64; 2], [f64; 2]),
    /// A straight run with close turns of the same wire wrapped round it, from one end to the other.
    Wrapped([f64; 2], [f64; 2], u32),
    /// An arc.
    Arc {
        /// Its centre.
        centre: [f64; 2],
        /// Radius of the middle of the wire.
        radius: f64,
        /// Where it begins and ends, in degrees from the tail up.
        turn: [f64; 2],
    },
}

impl Bent {
    /// The middle of the wire in chords; 24 to an arc.
    pub(super) fn line(&self) -> Vec<Point3<f64>> {
        const CHORDS: usize = 24;
        let at = |[x, z]: [f64; 2]| Point3::new(x, 0.0, z);
        match *self {
            Bent::Straight(a, b) | Bent::Wrapped(a, b, _) => vec![at(a), at(b)],
            Bent::Arc {
                centre: [x, z],
                radius,
                turn: [from, to],
            } => (0..=CHORDS)
                .map(|i| {
                    let turn = from + (to - from) * i as f64 / CHORDS as f64;
                    let (sin, cos) = libm::sincos(turn.to_radians());
                    at([x + cos * radius, z + sin * radius])
                })
                .collect(),
        }
    }

    /// Wire that lies in the piece, in mm, if it is `thick`.
    pub(super) fn wire(&self, thick: f64) -> f64 {
        match *self {
            Bent::Straight(a, b) => libm::hypot(b[0] - a[0], b[1] - a[1]),
            Bent::Wrapped(a, b, turns) => {
                libm::hypot(b[0] - a[0], b[1] - a[1]) + wrapped(turns, thick)
            }
            Bent::Arc { radius, turn, .. } => (turn[1] - turn[0]).abs().to_radians() * radius,
        }
    }
}

/// Wire in close turns round a stem of its own thickness: each takes a thickness of the stem, on a
/// helix whose middle is a thickness off the stem's.
fn wrapped(turns: u32, thick: f64) -> f64 {
    f64::from(turns) * libm::hypot(2.0 * PI * thick, thick)
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
    /// The course of a wire in a bait of this length.
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

/// Whether a weight is strung on a wire: its hole lies on the straight run, all of it.
#[must_use]
pub fn is_strung(wire: &WireDesign, weight: &WeightDesign, length: f64) -> bool {
    let ends = WireCourse::of(wire, length).run.map(|p| p.x);
    let half = 0.5 * weight.length;
    weight.hole > 0.0
        && (wire.height - weight.height).abs() <= 0.5 * weight.hole
        && ends[0] <= weight.at - half
        && weight.at + half <= ends[1]
}

/// The middle line of a hook's wire, in the upright mid-plane: its eye, closed, and from there to
/// the point.
#[must_use]
pub fn hook_course(hook: &HookDesign) -> [Vec<Point3<f64>>; 2] {
    let plan = WirePlan::of_hook(hook);
    let mut pieces = plan.pieces.iter().map(Bent::line);
    let eye = pieces.next().unwrap_or_default();
    let mut rest: Vec<Point3<f64>> = Vec::new();
    for p in pieces.flatten() {
        if rest.last().is_none_or(|last| (p - last).norm() > 1e-9) {
            rest.push(p);
        }
    }
    [eye, rest]
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
    /// Inside diameters of these eyes.
    pub inside: [Option<f64>; 2],
    /// The bent wire in its plane.
    pub pieces: Vec<Bent>,
}

impl WirePlan {
    /// The plan of a wire in a bait of this length.
    #[must_use]
    pub fn of_wire(wire: &WireDesign, length: f64) -> Self {
        let d = wire.diameter;
        let course = WireCourse::of(wire, length);
        let flat = |p: Point3<f64>| [p.x, p.z];
        let run = course.run.map(flat);
        let mut pieces = vec![Bent::Straight(run[0], run[1])];
        let mut eyes = [None, None];
        let turns = f64::from(wire.twists);
        let helix = wrapped(wire.twists, d);
        let mut ends = [0.0; 2];
        let mut marks = Vec::new();
        for k in 0..2 {
            let Some(eye) = course.eyes[k] else { continue };
            let loop_length = 2.0 * PI * eye.radius;
            if wire.twists > 0 {
                pieces.push(Bent::Wrapped(run[k], flat(eye.root), wire.twists));
            }
            pieces.push(Bent::Arc {
                centre: flat(eye.centre),
                radius: eye.radius,
                turn: [0.0, 360.0],
            });
            eyes[k] = Some(eye.centre);
            ends[k] = helix + loop_length + turns * d;
            marks.push((k, loop_length));
        }
        let cut = ends[0] + run[1][0] - run[0][0] + ends[1];
        let marks = marks.into_iter().flat_map(|(k, round)| {
            let places = [helix, helix + round];
            let wraps = wire.twists > 0;
            if k == 0 {
                let begins = if wraps {
                    "the front eye begins; what is before it is wrapped"
                } else {
                    "the front eye begins"
                };
                [(places[0], begins), (places[1], "the front eye is closed")]
            } else {
                let closed = if wraps {
                    "the rear eye is closed; the rest is wrapped"
                } else {
                    "the rear eye is closed"
                };
                [
                    (cut - places[1], "the rear eye begins"),
                    (cut - places[0], closed),
                ]
            }
        });
        WirePlan {
            diameter: d,
            cut,
            marks: marks.collect(),
            eyes,
            inside: wire.eyes,
            pieces,
        }
    }

    /// The plan of a hook, from the end that closes its eye to its point.
    #[must_use]
    pub fn of_hook(hook: &HookDesign) -> Self {
        let up = match hook.point {
            PointSide::Up => 1.0,
            PointSide::Down => -1.0,
        };
        let d = hook.wire;
        let eye = 0.5 * (hook.eye + d);
        let bend = 0.5 * (hook.gap + d);
        let at = |x: f64, z: f64| [x, hook.height + up * z];
        let root = hook.at + eye;
        let end = root + hook.shank;
        let leg = (hook.bend - bend).max(0.0);
        let pieces = vec![
            Bent::Arc {
                centre: at(hook.at, 0.0),
                radius: eye,
                turn: [0.0, 360.0],
            },
            Bent::Straight(at(root, 0.0), at(end, 0.0)),
            Bent::Arc {
                centre: at(end, bend),
                radius: bend,
                turn: [-90.0 * up, 90.0 * up],
            },
            Bent::Straight(at(end, 2.0 * bend), at(end - leg, 2.0 * bend)),
        ];
        let mut along = 0.0;
        let ends: Vec<f64> = pieces
            .iter()
            .map(|piece| {
                along += piece.wire(d);
                along
            })
            .collect();
        WirePlan {
            diameter: d,
            cut: along,
            marks: vec![
                (ends[0], "the eye is closed; the shank begins"),
                (ends[1], "the bend begins"),
                (ends[2], "the bend ends; the rest runs to the point"),
            ],
            eyes: [Some(Point3::new(hook.at, 0.0, hook.height)), None],
            inside: [Some(hook.eye), None],
            pieces,
        }
    }
}
