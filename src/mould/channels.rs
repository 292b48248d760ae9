//! The sprue the plastic enters by, and the vents the air leaves by.

use nalgebra::{Point3, Vector3};

use super::block::NECK;
use super::keys::{Key, LAND};
use super::tools::{cuboid, turned};
use crate::body::Body;
use crate::curve::Outline;
use crate::mesh::{Bounds, Mesh};
use crate::spec::{BodyEnd, Design, Parting, Problem, Problems};

/// Gate radius if the maker names none: 4 mm across, common practice for baits of this
/// size, and no more than the body easily takes.
const GATE: f64 = 2.0;
/// How far along the body the sprue may reach in, as a share of the length.
const DEEPEST: f64 = 0.25;
/// How far along the body a gate of our own choosing reaches in at most.
const EASY: f64 = 0.12;
/// Room round the gate where it ends within the body, so that they fuse.
const ROOM: f64 = 1.15;
/// How much further a channel is buried once it is inside the body, in mm.
const BURIED: f64 = 0.3;
/// The neck widens from the gate to the funnel by this factor: a cast neck pulls out.
const NECK_TAPER: f64 = 1.25;
/// Least material between two vents, in mm.
const BETWEEN_VENTS: f64 = 1.5;

/// The body as the mould sees it: its outlines on the four sides of its axis.
pub(super) struct Form<'a> {
    body: &'a Body,
    parting: Parting,
    /// Towards +y of the mould.
    pub(super) left: &'a Outline,
    /// Towards −y.
    pub(super) right: &'a Outline,
    /// Towards +z.
    pub(super) above: &'a Outline,
    /// Towards −z.
    pub(super) below: &'a Outline,
}

impl<'a> Form<'a> {
    pub(super) fn new(body: &'a Body, parting: Parting) -> Self {
        let (left, right, above, below) = match parting {
            Parting::Waist => (&body.half_width, &body.half_width, &body.back, &body.belly),
            Parting::Flank => (&body.belly, &body.back, &body.half_width, &body.half_width),
        };
        Form {
            body,
            parting,
            left,
            right,
            above,
            below,
        }
    }

    /// Distance of x from an end of the body, turned into x.
    fn inward(&self, end: BodyEnd, depth: f64) -> f64 {
        match end {
            BodyEnd::Nose => depth,
            BodyEnd::Tail => self.body.length() - depth,
        }
    }

    /// Where the spine lies across the parting face at x. It rises only in the upright
    /// plane, which is the parting plane of the flank; the waist parts straight bodies only.
    fn spine(&self, x: f64) -> f64 {
        match self.parting {
            Parting::Waist => 0.0,
            Parting::Flank => 0.0 - self.body.spine(x),
        }
    }

    /// Where the spine lies at an end: the line the sprue is turned about.
    pub(super) fn axis(&self, end: BodyEnd) -> f64 {
        self.spine(self.inward(end, 0.0))
    }

    /// (|y|/w)ⁿ + (|z|/h)ⁿ of a point in the mould's axes.
    fn level(&self, x: f64, y: f64, z: f64) -> f64 {
        match self.parting {
            Parting::Waist => self.body.level(x, y, z),
            Parting::Flank => self.body.level(x, z, -y),
        }
    }

    /// Radius of the largest circle about `axis`, a line along x, within the section at x.
    fn inscribed(&self, x: f64, axis: f64) -> f64 {
        let least = [self.left, self.right, self.above, self.below]
            .iter()
            .map(|o| o.height(x).min(o.height_before(x)))
            .fold(f64::INFINITY, f64::min);
        if let (Some(n), true) = (self.body.section.exponent(), self.spine(x) == axis) {
            // A lean superellipse comes closest to the axis on its diagonal.
            return least * libm::pow(2.0, (0.5 - 1.0 / n).min(0.0));
        }
        // Off the spine, or with unlike halves: by trying.
        const AROUND: i32 = 48;
        let holds = |r: f64| {
            (0..AROUND).all(|i| {
                let (sin, cos) =
                    libm::sincos(2.0 * std::f64::consts::PI * f64::from(i) / f64::from(AROUND));
                self.level(x, axis + r * cos, r * sin) <= 1.0
            })
        };
        let (mut inside, mut out) = (0.0, least);
        for _ in 0..24 {
            let mid = 0.5 * (inside + out);
            if holds(mid) {
                inside = mid;
            } else {
                out = mid;
            }
        }
        inside
    }

    /// Whether the section at x holds the points (y, ±z) with some room.
    fn holds(&self, x: f64, y: f64, z: f64) -> bool {
        [z, -z].into_iter().all(|z| self.level(x, y, z) < 0.9)
    }

    /// Shallowest depth from an end at which something fits, up to a share of the length.
    fn depth(&self, end: BodyEnd, share: f64, fits: impl Fn(f64) -> bool) -> Option<f64> {
        const STEPS: usize = 256;
        let at = |i: usize| share * self.body.length() * i as f64 / STEPS as f64;
        let fits = |depth: f64| fits(self.inward(end, depth));
        let i = (0..=STEPS).find(|&i| fits(at(i)))?;
        if i == 0 {
            return Some(0.0);
        }
        let (mut out, mut inside) = (at(i - 1), at(i));
        for _ in 0..30 {
            let mid = 0.5 * (out + inside);
            if fits(mid) {
                inside = mid;
            } else {
                out = mid;
            }
        }
        Some(inside)
    }
}

/// The sprue: a turned channel about a line along x in the parting plane.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Sprue {
    /// End of the body it leads to.
    pub end: BodyEnd,
    /// Where its line lies across the parting face: zero, the axis, unless the body is
    /// cambered and its spine ends elsewhere.
    pub axis: f64,
    /// Radius where it meets the body.
    pub gate_radius: f64,
    /// Corners (x, radius) by rising x.
    pub corners: Vec<(f64, f64)>,
}

/// A vent: a shallow straight groove, half of it in each mould half.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Vent {
    /// The groove's outside.
    pub bounds: Bounds,
}

/// Sprue and vents.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Channels {
    /// The sprue.
    pub sprue: Sprue,
    /// The vents, from one side of the body to the other.
    pub vents: Vec<Vent>,
}

impl Channels {
    pub(super) fn plan(
        design: &Design,
        form: &Form<'_>,
        block: &Bounds,
        keys: &[Key],
    ) -> Result<Self, Problems> {
        match (sprue(design, form, block), vents(design, form, block, keys)) {
            (Ok(sprue), Ok(vents)) => Ok(Channels { sprue, vents }),
            (sprue, vents) => Err(Problems(
                [sprue.err(), vents.err()]
                    .into_iter()
                    .flatten()
                    .flat_map(|p| p.0)
                    .collect(),
            )),
        }
    }

    /// The channels as solids.
    pub(super) fn meshes(&self, tolerance: f64) -> Vec<Mesh> {
        let aside = Vector3::new(0.0, self.sprue.axis, 0.0);
        let mut meshes = vec![turned(&self.sprue.corners, tolerance).translated(&aside)];
        meshes.extend(self.vents.iter().map(|v| cuboid(&v.bounds)));
        meshes
    }
}

fn sprue(design: &Design, form: &Form<'_>, block: &Bounds) -> Result<Sprue, Problems> {
    let mould = &design.mould;
    let end = mould.sprue_end;
    let length = form.body.length();
    let axis = form.axis(end);
    let easy = form.inscribed(form.inward(end, EASY * length), axis) / (ROOM * 1.05);
    let gate = mould.gate_radius.unwrap_or(GATE.min(easy));
    let Some(depth) = form.depth(end, DEEPEST, |x| form.inscribed(x, axis) >= ROOM * gate) else {
        let most = (0..=100)
            .map(|i| form.inward(end, DEEPEST * length * f64::from(i) / 100.0))
            .map(|x| form.inscribed(x, axis))
            .fold(0.0, f64::max);
        let problem = Problem::new(
            "mould.sprue.gate",
            "the gate is wider than the body is near this end",
        )
        .value(design.units.show(2.0 * gate))
        .limit(format!("at most {}", design.units.show(2.0 * most / ROOM)))
        .hint("make the gate smaller, or move the sprue to the other end");
        return Err(problem.into());
    };
    let inside = form.inward(end, depth + BURIED.max(0.5 * gate));
    let neck = (NECK_TAPER * gate).min(mould.mouth_radius);
    let mut corners = match end {
        BodyEnd::Nose => vec![
            (block.min.x, mould.mouth_radius),
            (block.min.x + mould.funnel_depth, neck),
            (inside, gate),
        ],
        BodyEnd::Tail => vec![
            (block.max.x, mould.mouth_radius),
            (block.max.x - mould.funnel_depth, neck),
            (inside, gate),
        ],
    };
    if end == BodyEnd::Tail {
        corners.reverse();
    }
    debug_assert!(corners.windows(2).all(|w| w[1].0 - w[0].0 >= NECK.min(1.0)));
    Ok(Sprue {
        end,
        axis,
        gate_radius: gate,
        corners,
    })
}

fn vents(
    design: &Design,
    form: &Form<'_>,
    block: &Bounds,
    keys: &[Key],
) -> Result<Vec<Vent>, Problems> {
    let end = match design.mould.sprue_end {
        BodyEnd::Nose => BodyEnd::Tail,
        BodyEnd::Tail => BodyEnd::Nose,
    };
    // A collar's seat is no way out for the air: vents leave before it, sideways.
    let mut vents = if end == BodyEnd::Tail && !form.body.collar.is_empty() {
        sideways(design, form, block, keys)?
    } else {
        endways(design, form, block, end)?
    };
    vents.sort_by(|a, b| a.bounds.min.y.total_cmp(&b.bounds.min.y));
    Ok(vents)
}

fn no_room(design: &Design, fit: usize) -> Problem {
    let mould = &design.mould;
    Problem::new("mould.vents.count", "the body has no room for its vents")
        .value(mould.vent_count)
        .limit(format!(
            "at most {fit} of {} by {} on this body",
            design.units.show(mould.vent_width),
            design.units.show(mould.vent_depth)
        ))
        .hint("ask for fewer or smaller vents; 0 leaves them out")
}

/// Vents side by side from the end of the body to the end face of the block.
fn endways(
    design: &Design,
    form: &Form<'_>,
    block: &Bounds,
    end: BodyEnd,
) -> Result<Vec<Vent>, Problems> {
    let mould = &design.mould;
    let (width, depth, count) = (mould.vent_width, mould.vent_depth, mould.vent_count);
    let place = |count: usize| -> Option<Vec<Vent>> {
        // Side by side about the spine, where the body first holds all of them.
        let half = 0.5 * (count as f64 * (width + BETWEEN_VENTS) - BETWEEN_VENTS);
        let all = |x: f64| {
            let spine = form.spine(x);
            let holds = |y| form.holds(x, y, 0.5 * depth);
            holds(spine - half) && holds(spine + half)
        };
        let axis = match count {
            0 => 0.0,
            _ => form.spine(form.inward(end, form.depth(end, 0.5, all)?)),
        };
        (0..count)
            .map(|i| {
                let aside = i as f64 - 0.5 * (count as f64 - 1.0);
                let y = axis + aside * (width + BETWEEN_VENTS);
                let edges = [y - 0.5 * width, y + 0.5 * width];
                let fits = |x: f64| edges.iter().all(|&y| form.holds(x, y, 0.5 * depth));
                let inside = form.inward(end, form.depth(end, 0.5, fits)? + BURIED);
                let (from, to) = match end {
                    BodyEnd::Nose => (block.min.x, inside),
                    BodyEnd::Tail => (inside, block.max.x),
                };
                Some(Vent {
                    bounds: Bounds {
                        min: Point3::new(from, edges[0], -0.5 * depth),
                        max: Point3::new(to, edges[1], 0.5 * depth),
                    },
                })
            })
            .collect()
    };
    place(count).ok_or_else(|| {
        let fit = (0..count).rev().find(|&n| place(n).is_some());
        no_room(design, fit.unwrap_or(0)).into()
    })
}

/// Vents from just before the tail to the long sides of the block, right and left by
/// turns, as near to the tail as the keys let them.
fn sideways(
    design: &Design,
    form: &Form<'_>,
    block: &Bounds,
    keys: &[Key],
) -> Result<Vec<Vent>, Problems> {
    const STEP: f64 = 0.25;
    let mould = &design.mould;
    let (width, depth, length) = (mould.vent_width, mould.vent_depth, form.body.length());
    let mut next = [length - BURIED - width; 2];
    let mut vents = Vec::new();
    for i in 0..mould.vent_count {
        let leftward = i % 2 == 1;
        let (side, sign) = if leftward {
            (form.left, 1.0)
        } else {
            (form.right, -1.0)
        };
        let place = &mut next[i % 2];
        let placed = loop {
            let edges = [*place, *place + width];
            *place -= STEP;
            if edges[0] < 0.5 * length {
                break None;
            }
            let clear = keys.iter().filter(|k| k.at[1] * sign > 0.0).all(|k| {
                let reach = k.socket_radius() + LAND;
                edges[0] > k.at[0] + reach || edges[1] < k.at[0] - reach
            });
            // Of both edges the one nearer to the middle.
            let inside = edges
                .map(|x| sign * form.spine(x) + 0.85 * side.height(x))
                .into_iter()
                .fold(f64::INFINITY, f64::min);
            if clear
                && edges
                    .iter()
                    .all(|&x| form.holds(x, sign * inside, 0.5 * depth))
            {
                break Some((edges, inside));
            }
        };
        let Some((edges, inside)) = placed else {
            return Err(no_room(design, i).into());
        };
        *place = edges[0] - BETWEEN_VENTS - width;
        let (from, to) = if leftward {
            (inside, block.max.y)
        } else {
            (block.min.y, -inside)
        };
        vents.push(Vent {
            bounds: Bounds {
                min: Point3::new(edges[0], from, -0.5 * depth),
                max: Point3::new(edges[1], to, 0.5 * depth),
            },
        });
    }
    Ok(vents)
}
