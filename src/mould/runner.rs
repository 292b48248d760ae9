//! The runner that several cavities are fed by: a straight header across the block, a neck to
//! each bait.
//!
//! All necks see the same pressure less what the header takes on the way. In slow flow of a
//! thick liquid a round channel takes, per length, 8 μ q / (π r⁴) (Hagen and Poiseuille); the
//! viscosity μ is the same everywhere and cancels. So the necks nearer to the funnel are made
//! narrower by just as much as the header does not take before them, and all baits fill in the
//! same time. Of different baits each takes a flow in proportion to its volume.

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
    /// How far from its end the body lies within the neck, in mm.
    pub covers: f64,
    /// The share of its gate that opens into the body where that begins, see
    /// [`Sprue::opens`](super::Sprue::opens).
    pub opens: f64,
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

/// A bait as the runner sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Taker {
    /// Where it is fed, across from the funnel.
    pub across: f64,
    /// The flow it is to take, in shares of one and the same flow: its volume.
    pub flow: f64,
    /// Length of its neck.
    pub length: f64,
    /// Radius of the widest gate it has room for.
    pub gate: f64,
}

/// Radii of the gates of baits that are fed at 0 by a header of this radius, so that all fill in
/// the same time: none is wider than its bait's own, and the one that is hardest to feed has that.
///
/// # References
/// Hagen–Poiseuille: pressure drop 8 μ L q / (π r⁴) of laminar flow in a round pipe.
pub(super) fn balanced(takers: &[Taker], header: f64) -> Vec<f64> {
    let necks = resistances(takers);
    // What the header takes up to the place: each stretch carries the flow of all beyond it.
    let lost = |y: f64| -> f64 {
        let same_side = |z: f64| z * y > 0.0;
        let carried = takers.iter().filter(|z| same_side(z.across));
        let each = carried.map(|z| z.flow * z.across.abs().min(y.abs()));
        each.sum::<f64>() / pow4(header)
    };
    let all: Vec<[f64; 3]> = takers
        .iter()
        .zip(necks)
        .map(|(t, neck)| [neck, lost(t.across), neck / pow4(t.gate)])
        .collect();
    // Of those alike the one that the header takes most from.
    let total = |[_, lost, own]: &[f64; 3]| [lost + own, *lost];
    let hardest = all.iter().max_by(|a, b| {
        let (a, b) = (total(a), total(b));
        a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
    });
    let Some(&[_, most, own]) = hardest else {
        return Vec::new();
    };
    all.iter()
        .map(|[neck, lost, _]| (neck / (most - lost + own)).sqrt().sqrt())
        .collect()
}

/// The same under a header that takes nothing.
pub(super) fn freely_fed(takers: &[Taker]) -> Vec<f64> {
    let necks = resistances(takers);
    let own = |i: usize| necks[i] / pow4(takers[i].gate);
    let hardest = (0..takers.len()).max_by(|&i, &j| own(i).total_cmp(&own(j)));
    let Some(hardest) = hardest else {
        return Vec::new();
    };
    let wide = |neck: &f64| takers[hardest].gate * (neck / necks[hardest]).sqrt().sqrt();
    necks.iter().map(wide).collect()
}

/// What each neck takes of the pressure with a gate of unit radius.
fn resistances(takers: &[Taker]) -> Vec<f64> {
    let of = |t: &Taker| t.flow * (taper_share() * t.length);
    takers.iter().map(of).collect()
}

fn pow4(r: f64) -> f64 {
    r * r * r * r
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the header and its neck take of the pressure for each bait, walked from the funnel
    /// outwards stretch by stretch; each neck by Simpson's rule along its taper.
    fn drops(takers: &[Taker], radii: &[f64], header: f64) -> Vec<f64> {
        let mut drops = vec![0.0; takers.len()];
        for side in [-1.0, 1.0] {
            let mut order: Vec<usize> = (0..takers.len())
                .filter(|&i| takers[i].across * side > 0.0)
                .collect();
            order.sort_by(|&i, &j| takers[i].across.abs().total_cmp(&takers[j].across.abs()));
            let (mut at, mut drop) = (0.0, 0.0);
            for (k, &i) in order.iter().enumerate() {
                let carried: f64 = order[k..].iter().map(|&j| takers[j].flow).sum();
                drop += carried * (takers[i].across.abs() - at) / header.powi(4);
                at = takers[i].across.abs();
                drops[i] = drop;
            }
        }
        for ((drop, t), r) in drops.iter_mut().zip(takers).zip(radii) {
            let slices = 2000;
            let h = 1.0 / f64::from(slices);
            let per = |k: f64| 1.0 / (r * (1.0 + (NECK_TAPER - 1.0) * k * h)).powi(4);
            let sum: f64 = (0..slices)
                .map(|k| {
                    per(f64::from(k)) + 4.0 * per(f64::from(k) + 0.5) + per(f64::from(k) + 1.0)
                })
                .sum();
            *drop += t.flow * t.length * sum * h / 6.0;
        }
        drops
    }

    #[test]
    fn every_gate_takes_the_same_flow() {
        for count in [2, 3, 6, 7, 24] {
            let middle = 0.5 * f64::from(count - 1);
            let takers: Vec<Taker> = (0..count)
                .map(|i| Taker {
                    across: 20.0 * (f64::from(i) - middle),
                    flow: 1.0,
                    length: 6.0,
                    gate: 2.0,
                })
                .collect();
            let radii = balanced(&takers, 4.0);
            let drops = drops(&takers, &radii, 4.0);
            for drop in &drops {
                assert!((drop / drops[0] - 1.0).abs() < 1e-9, "{count}: {drops:?}");
            }
            assert!((radii[0] - 2.0).abs() < 1e-12);
            assert!(radii.iter().all(|r| *r <= 2.0 + 1e-12));
        }
    }

    proptest::proptest! {
        #[test]
        fn different_baits_take_flows_as_their_volumes(
            given in proptest::collection::vec((0.2..5.0_f64, 3.0..9.0_f64, 0.5..2.5_f64, 8.0..40.0_f64), 2..9),
            header in 1.5..8.0_f64,
        ) {
            let mut y = -60.0;
            let takers: Vec<Taker> = given.iter().map(|&(flow, length, gate, on)| {
                y += on;
                Taker { across: y, flow, length, gate }
            }).collect();
            let radii = balanced(&takers, header);
            // With flows as the volumes every way from the funnel takes the same pressure: so
            // these are the flows, which the network's linear equations have but one of.
            let drops = drops(&takers, &radii, header);
            for drop in &drops {
                proptest::prop_assert!((drop / drops[0] - 1.0).abs() < 1e-9, "{:?}", drops);
            }
            let shares: Vec<f64> = takers.iter().zip(&radii).map(|(t, r)| r / t.gate).collect();
            let most = shares.iter().copied().fold(0.0, f64::max);
            proptest::prop_assert!((most - 1.0).abs() < 1e-9);
            // A header that takes next to nothing leaves what it would without one.
            let free = freely_fed(&takers);
            for (r, free) in balanced(&takers, 1e4).iter().zip(&free) {
                proptest::prop_assert!((r / free - 1.0).abs() < 1e-9);
            }
        }
    }
}
