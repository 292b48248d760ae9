//! The runner that several cavities are fed by: a straight header across the block, a neck to
//! each bait.
//!
//! All necks see the same pressure less what the header takes on the way. In slow flow of a
//! thick liquid a round channel takes, per length, 8 μ q / (π r⁴) (Hagen and Poiseuille); the
//! viscosity μ is the same everywhere and cancels. So the necks nearer to the funnel are made
//! narrower by just as much as the header does not take before them, and all baits fill in the
//! same time.

use super::channels::NECK_TAPER;
use super::tools::turned;
use crate::mesh::{AxisMap, Mesh};
use nalgebra::Vector3;

/// Runner of several cavities.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Runner {
    /// Where the header's axis lies, along the body.
    pub at: f64,
    /// Radius of the header.
    pub radius: f64,
    /// Its ends across the parting face.
    pub span: [f64; 2],
    /// Necks by rising y.
    pub necks: Vec<Neck>,
}

/// A neck from the header to a bait.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Neck {
    /// Across the parting face.
    pub across: f64,
    /// Radius where it meets the body.
    pub gate_radius: f64,
    /// Corners (x, radius) by rising x.
    pub corners: Vec<(f64, f64)>,
}

impl Runner {
    /// The header and the necks as solids.
    pub(super) fn meshes(&self, tolerance: f64) -> Vec<Mesh> {
        let [from, to] = self.span;
        let header = turned(&[(from, self.radius), (to, self.radius)], tolerance)
            .mapped(&AxisMap::Y_BACK)
            .translated(&Vector3::new(self.at, 0.0, 0.0));
        let necks = self.necks.iter().map(|neck| {
            turned(&neck.corners, tolerance).translated(&Vector3::new(0.0, neck.across, 0.0))
        });
        std::iter::once(header).chain(necks).collect()
    }
}

/// ∫ dx / r⁴ along a neck of unit length that widens from radius 1 by the taper.
fn taper_share() -> f64 {
    let t = NECK_TAPER;
    (1.0 - 1.0 / (t * t * t)) / (3.0 * (t - 1.0))
}

/// Radii of the gates at these places across, fed at 0 by a header of this radius through necks
/// of this length, so that all take the same flow; the farthest have radius `gate`.
///
/// # References
/// Hagen–Poiseuille: pressure drop 8 μ L q / (π r⁴) of laminar flow in a round pipe.
pub(super) fn balanced(across: &[f64], header: f64, length: f64, gate: f64) -> Vec<f64> {
    let neck = taper_share() * length;
    let pow4 = |r: f64| r * r * r * r;
    // What the header takes up to the place: each stretch carries the flow of all beyond it.
    let lost = |y: f64| -> f64 {
        let same_side = |z: f64| z * y > 0.0;
        let carried = across.iter().filter(|&&z| same_side(z));
        carried.map(|z| z.abs().min(y.abs())).sum::<f64>() / pow4(header)
    };
    let most = across.iter().map(|&y| lost(y)).fold(0.0, f64::max);
    across
        .iter()
        .map(|&y| (neck / (most - lost(y) + neck / pow4(gate))).sqrt().sqrt())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_gate_takes_the_same_flow() {
        for count in [2, 3, 6, 7, 24] {
            let middle = 0.5 * f64::from(count - 1);
            let across: Vec<f64> = (0..count).map(|i| 20.0 * (f64::from(i) - middle)).collect();
            let (header, length, gate) = (4.0, 6.0, 2.0);
            let radii = balanced(&across, header, length, gate);
            // Walked from the funnel outwards with a flow of 1 a gate, stretch by stretch, the
            // pressure that is left must be spent in each neck: numerically, by thin slices.
            let mut drops = Vec::new();
            for (&y, &r) in across.iter().zip(&radii) {
                let mut drop = 0.0;
                let slices = 20_000;
                for k in 0..slices {
                    let at = (f64::from(k) + 0.5) / f64::from(slices) * y;
                    let beyond = across
                        .iter()
                        .filter(|z| **z * y > 0.0 && z.abs() > at.abs());
                    drop += beyond.count() as f64 * y.abs() / f64::from(slices) / header.powi(4);
                }
                for k in 0..slices {
                    let wider = 1.0 + (NECK_TAPER - 1.0) * (f64::from(k) + 0.5) / f64::from(slices);
                    drop += length / f64::from(slices) / (r * wider).powi(4);
                }
                drops.push(drop);
            }
            for drop in &drops {
                assert!((drop / drops[0] - 1.0).abs() < 1e-3, "{count}: {drops:?}");
            }
            assert!((radii[0] - gate).abs() < 1e-12);
            assert!(radii.iter().all(|r| *r <= gate + 1e-12));
        }
    }
}
