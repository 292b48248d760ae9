//! The casting day of a mould of different baits: what the others add to it.

use schemars::JsonSchema;
use serde::Serialize;

use super::clamp::closing;
use super::conduct::as_cylinder;
use crate::mould::Mould;
use crate::spec::Parting;

/// Plastic of another bait that the same shot casts.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct BesideAmount {
    /// The bait's name.
    pub name: String,
    /// How many a shot gives.
    pub cavities: usize,
    /// Plastic of one.
    pub bait_ml: f64,
    /// The same.
    pub bait_g: f64,
}

/// Volumes of the others, of baits that are smaller by `scale` than their cavities; not weighed
/// yet.
pub(super) fn amounts(mould: &Mould, scale: f64) -> Vec<BesideAmount> {
    let others = mould.beside.iter().map(|other| BesideAmount {
        name: other.name.clone(),
        cavities: other.count,
        bait_ml: (other.plastic() / (scale * scale * scale) - other.kept_out) / 1000.0,
        bait_g: 0.0,
    });
    others.collect()
}

/// Radius of the cylinder that cools as slowly as the stoutest bait, which the mould is opened
/// for.
pub(super) fn stoutest(mould: &Mould, own: f64) -> f64 {
    mould.beside.iter().fold(own, |radius, other| {
        let figures = other.body.figures();
        radius.max(as_cylinder(figures.height.1, figures.width.1))
    })
}

/// Along the pull and across it, of the hollow that a squeeze closes most.
pub(super) fn weakest(mould: &Mould, scale: f64, own: [f64; 2]) -> [f64; 2] {
    let others = mould.beside.iter().map(|other| {
        let figures = other.body.figures();
        let sizes = [figures.width.1 / scale, figures.height.1 / scale];
        match mould.parting {
            Parting::Flank => sizes,
            Parting::Waist => [sizes[1], sizes[0]],
        }
    });
    let closes = |[along, across]: [f64; 2]| closing(1.0, along, across);
    others.fold(
        own,
        |most, of| {
            if closes(of) > closes(most) { of } else { most }
        },
    )
}
