//! How the bait would sink in other sizes and with other weights.

use super::{Bed, Rig};
use crate::spec::{RigDesign, WeightDesign};
use crate::water::Spread;

/// Sizes of the bait, as shares of its own.
const SIZES: [f64; 3] = [0.8, 1.0, 1.25];
/// Masses of the first weight, as shares of its own.
const MASSES: [f64; 3] = [0.5, 1.0, 2.0];

/// One weight in one size of the bait.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sized {
    /// Length of the bait, in mm.
    pub length: f64,
    /// Mass of its first weight, in g.
    pub mass: f64,
    /// Least, middle and most of the terminal speed, in mm/s; `None` if it floats.
    pub speeds: Option<[f64; 3]>,
    /// Least, middle and most of the degrees of the nose below the horizontal meanwhile; `None` if it
    /// floats.
    pub nose_down: Option<[f64; 3]>,
}

/// Three sizes by three masses of the first weight; empty without a weight.
///
/// The body and all places in it are in proportion. Wire, hook, strands and the other weights keep
/// their size, since they come in stock sizes of their own; a wire from end to end is as
/// long as the bait.
#[must_use]
pub fn sizes(rig: &RigDesign, bed: &Bed) -> Vec<Sized> {
    let Some(weight) = rig.weights.first() else {
        return Vec::new();
    };
    let mut table = Vec::new();
    for size in SIZES {
        let bed = bed.scaled(size);
        let mut moved = moved(rig, size);
        for share in MASSES {
            let mass = share * weight.mass();
            let Some(other) = weight.with_mass(mass) else {
                continue;
            };
            moved.weights[0] = WeightDesign {
                at: size * weight.at,
                height: size * weight.height,
                ..other
            };
            let rig = Rig::in_bed(&moved, &bed);
            let spread = rig.sinker.spread();
            table.push(Sized {
                length: bed.length,
                mass,
                speeds: spread.as_ref().map(Spread::speed),
                nose_down: spread.as_ref().map(Spread::nose_down),
            });
        }
    }
    table
}

/// The rig with all places in proportion.
fn moved(rig: &RigDesign, size: f64) -> RigDesign {
    let mut rig = rig.clone();
    if let Some(wire) = &mut rig.wire {
        wire.height *= size;
        wire.ends = wire.ends.map(|end| end.map(|x| size * x));
    }
    if let Some(hook) = &mut rig.hook {
        hook.at *= size;
        hook.height *= size;
    }
    for weight in &mut rig.weights {
        weight.at *= size;
        weight.height *= size;
    }
    if let Some(skirt) = &mut rig.skirt {
        skirt.at = skirt.at.map(|at| size * at);
    }
    rig
}
