//! The sprue the plastic enters by, and the vents the air leaves by.

mod form;
mod gate;
mod outline;
mod vents;

use nalgebra::Vector3;

use super::beside::{Fed, Kind};
use super::block::NECK;
use super::face::PartingFace;
use super::grooves::Groove;
use super::keys::Key;
use super::runner::{Neck, Runner, Taker, balanced, freely_fed};
use super::tools::turned;
pub(super) use form::{Form, in_parting_plane};
use gate::covered;
pub(super) use gate::{Gate, gate};
pub(super) use outline::{Outline, left, outlines};
pub use vents::Vent;
pub(super) use vents::{beyond_trunk, vents_of};

use crate::mesh::{Bounds, Mesh};
use crate::spec::{BodyEnd, Design, Problem, Problems};

/// Gate radius if the maker names none: 4 mm across (common practice for baits of this
/// size) where the sprue then covers little of the body, less where the body is slim there.
const GATE: f64 = 2.0;
/// The least gate radius: thick plastic will not pass less than 1 mm (reasoned).
pub(super) const LEAST_GATE: f64 = 0.5;
/// How much of the body's length the sprue may cover, for a gate of [`GATE`] that is not
/// asked for, ...
const LITTLE: f64 = 0.04;
/// ... and at all: what lies within the sprue is not moulded.
const MOST: f64 = 0.15;
/// Room round the gate where it ends within the body, so that they fuse.
const ROOM: f64 = 1.15;
/// How much further a channel is buried once it is inside the body, in mm.
const BURIED: f64 = 0.3;
/// The neck widens from the gate to the funnel by this factor: a cast neck pulls out.
pub(super) const NECK_TAPER: f64 = 1.25;

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
    /// How far from that end the body lies within the sprue, in mm: that much is cut off
    /// with it.
    pub covers: f64,
    /// The share of its gate that opens into the body where that begins; the rest runs beside a
    /// blunt end. 1 where the end is slimmer than the gate: its tip lies within the sprue. The least
    /// of several gates.
    pub opens: f64,
    /// Corners (x, radius) by rising x.
    pub corners: Vec<(f64, f64)>,
}

/// Sprue and vents: where a parting face is no plane, heights are those over it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Channels {
    /// The sprue.
    pub sprue: Sprue,
    /// What several cavities are fed by.
    pub runner: Option<Runner>,
    /// The vents, from one side of the body to the other.
    pub vents: Vec<Vent>,
    /// Grooves that let the air out of high points.
    pub grooves: Vec<Groove>,
}

impl Channels {
    /// The sprue leads to the trunks; the vents of each keep clear of keys and of its seats.
    pub(super) fn plan(
        design: &Design,
        fed: &Fed<'_>,
        block: &Bounds,
        keys: &[Key],
    ) -> Result<Self, Problems> {
        let (sprue, runner) = sprue(design, block, fed)?;
        let mut of_kind = Vec::new();
        let alone = fed.kinds.len() == 1 && design.mould.cavities == 1;
        for kind in fed.kinds {
            let found = vents_of(design, kind, block, keys, alone);
            of_kind.push(found.map_err(|problems| kind.named(problems))?);
        }
        let vents = fed
            .across
            .iter()
            .zip(fed.kind)
            .flat_map(|(&y, &kind)| {
                of_kind[kind].iter().map(move |vent| {
                    let mut vent = *vent;
                    vent.bounds.min.y += y;
                    vent.bounds.max.y += y;
                    vent
                })
            })
            .collect();
        Ok(Channels {
            sprue,
            runner,
            vents,
            grooves: Vec::new(),
        })
    }

    /// The channels with room on every side.
    pub(super) fn roomier(&self, clearance: f64) -> Self {
        let mut roomier = self.clone();
        // An end at the block's face goes on through it.
        for (_, r) in &mut roomier.sprue.corners {
            *r += clearance;
        }
        for vent in &mut roomier.vents {
            for k in 0..3 {
                vent.bounds.min[k] -= clearance;
                vent.bounds.max[k] += clearance;
            }
        }
        for groove in &mut roomier.grooves {
            groove.widen(clearance);
        }
        roomier
    }

    /// The channels as solids, drawn level.
    pub(super) fn meshes(&self, face: &PartingFace, tolerance: f64) -> Vec<Mesh> {
        let aside = Vector3::new(0.0, self.sprue.axis, 0.0);
        let mut meshes = vec![turned(&self.sprue.corners, tolerance).translated(&aside)];
        meshes.extend(self.runner.iter().flat_map(|r| r.meshes(tolerance)));
        let vents = self.vents.iter().map(|v| v.bounds.to_mesh());
        let shallow = vents.chain(self.grooves.iter().map(Groove::mesh));
        meshes.extend(shallow.map(|channel| face.deepened(channel)));
        meshes
    }
}

/// Radius of the header for cavities at these places: twice the widest gate, more where the
/// innermost gates would otherwise be much narrower than the header lets them be.
pub(super) fn header(kinds: &[Kind<'_>], (across, kind): (&[f64], &[usize]), mouth: f64) -> f64 {
    const MUCH: f64 = 0.7;
    let takers = takers(kinds, (across, kind), 0.0);
    let free = freely_fed(&takers);
    let narrow = |radius: f64| {
        let radii = balanced(&takers, radius);
        radii.iter().zip(&free).any(|(r, free)| *r < MUCH * free)
    };
    let mut radius = 2.0 * free.iter().copied().fold(0.0, f64::max);
    while narrow(radius) && 1.05 * radius < mouth {
        radius *= 1.05;
    }
    radius
}

/// What the runner feeds: `farther` is how much longer the necks are than they have to be.
fn takers(kinds: &[Kind<'_>], (across, kind): (&[f64], &[usize]), farther: f64) -> Vec<Taker> {
    let of = |(&across, &kind): (&f64, &usize)| Taker {
        across,
        flow: kinds[kind].volume / kinds[0].volume,
        length: NECK + kinds[kind].gate.covers + farther,
        gate: kinds[kind].gate.radius,
    };
    across.iter().zip(kind).map(of).collect()
}

/// The sprue down to the body, or to the header with its necks.
fn sprue(
    design: &Design,
    block: &Bounds,
    fed: &Fed<'_>,
) -> Result<(Sprue, Option<Runner>), Problems> {
    let mould = &design.mould;
    let end = mould.sprue_end;
    let Kind { form, gate, .. } = fed.kinds[0];
    let axis = form.axis(end);
    // From the face inwards.
    let (face, inward) = match end {
        BodyEnd::Nose => (block.min.x, 1.0),
        BodyEnd::Tail => (block.max.x, -1.0),
    };
    let rising = |mut corners: Vec<(f64, f64)>| {
        if end == BodyEnd::Tail {
            corners.reverse();
        }
        debug_assert!(corners.windows(2).all(|w| w[1].0 > w[0].0));
        corners
    };
    let funnel = |neck: f64| {
        let neck = neck.min(mould.mouth_radius);
        [
            (face, mould.mouth_radius),
            (face + inward * mould.funnel_depth, neck),
        ]
    };
    let Some(radius) = fed.header else {
        let inside = form.inward(end, gate.covers + buried(gate.radius));
        let [mouth, neck] = funnel(NECK_TAPER * gate.radius);
        let sprue = Sprue {
            end,
            axis,
            gate_radius: gate.radius,
            covers: gate.covers,
            opens: gate.opens,
            corners: rising(vec![mouth, neck, (inside, gate.radius)]),
        };
        return Ok((sprue, None));
    };
    let at = face + inward * (mould.funnel_depth + radius);
    // Both reach a little past the header's axis, so that no two ends are flush.
    let past = 0.2 * radius * inward;
    let mixed = fed.kinds.len() > 1;
    let places = (fed.across, fed.kind);
    // Necks that differ share the pressure by their true lengths.
    let farther = match mixed {
        true => ((form.end(end) - at) * inward - radius - NECK).max(0.0),
        false => 0.0,
    };
    let radii = balanced(&takers(fed.kinds, places, farther), radius);
    let slightest = radii.iter().zip(fed.kind).min_by(|a, b| a.0.total_cmp(b.0));
    if let (true, Some((&least, &kind))) = (mixed, slightest)
        && least < LEAST_GATE
    {
        return Err(fed.kinds[kind].too_slight(design, least));
    }
    let widest = match mixed {
        true => radii.iter().copied().fold(0.0, f64::max),
        false => gate.radius,
    };
    // Those of one kind fail alike: of each the narrowest is told.
    let mut blocked: Vec<(usize, f64, Problem)> = Vec::new();
    let necks: Vec<Neck> = fed
        .across
        .iter()
        .zip(fed.kind)
        .zip(radii)
        .map(|((&across, &kind), gate_radius)| {
            let Kind {
                form, gate, along, ..
            } = fed.kinds[kind];
            let gate_radius = gate_radius.max(LEAST_GATE);
            let covers = covered(form, end, gate_radius, MOST).unwrap_or(gate.covers);
            let opens = gate::opens(form, end, gate_radius, covers);
            // A gate of its own width is judged with the bait itself.
            if mixed || gate_radius < gate.radius - 1e-9 {
                let at = form.inward(end, covers);
                let found = fed.kinds[kind].blocked(design, at, (axis, gate_radius), mixed);
                if let Some((way, problem)) = found {
                    match blocked.iter_mut().find(|(of, ..)| *of == kind) {
                        Some(told) if told.1 <= way => {}
                        Some(told) => *told = (kind, way, problem),
                        None => blocked.push((kind, way, problem)),
                    }
                }
            }
            let inside = form.inward(end, covers + buried(gate_radius)) + along;
            Neck {
                across: across + axis,
                gate_radius,
                covers,
                opens,
                corners: rising(vec![
                    (at - past, NECK_TAPER * gate_radius),
                    (inside, gate_radius),
                ]),
            }
        })
        .collect();
    if !blocked.is_empty() {
        let told = blocked.into_iter().map(|(.., problem)| problem);
        return Err(Problems(told.collect()));
    }
    let [mouth, neck] = funnel(0.9 * radius);
    let sprue = Sprue {
        end,
        axis,
        gate_radius: widest,
        covers: gate.covers,
        opens: necks.iter().map(|n| n.opens).fold(1.0, f64::min),
        corners: rising(vec![
            mouth,
            neck,
            (at + past, 0.9 * radius.min(neck.1 / 0.9)),
        ]),
    };
    let beyond = 1.2 * NECK_TAPER * widest;
    let span = [
        axis + fed.across.first().copied().unwrap_or_default() - beyond,
        axis + fed.across.last().copied().unwrap_or_default() + beyond,
    ];
    let runner = Runner {
        at,
        radius,
        span,
        necks,
    };
    Ok((sprue, Some(runner)))
}

/// How far a sprue is sunk into the body beyond where it is inside all round.
fn buried(gate: f64) -> f64 {
    BURIED.max(0.5 * gate)
}
