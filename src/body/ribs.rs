//! Ribs as cubics to lay on an outline.

use crate::curve::Lift;
use crate::spec::{RibProfile, RibsDesign};

/// An edge of a rib this close to a joint of an outline is moved onto it, in mm, since
/// what would lie between them is a sliver.
const SAME_EDGE: f64 = 0.01;

/// Corners and curves of one rib of unit pitch and height: places, and the cubic between
/// each and the next in that stretch's own variable.
fn shape(profile: RibProfile) -> &'static [(f64, f64, [f64; 4])] {
    const UP: [f64; 4] = [0.0, 1.0, 0.0, 0.0];
    const DOWN: [f64; 4] = [1.0, -1.0, 0.0, 0.0];
    const LAND: [f64; 4] = [1.0, 0.0, 0.0, 0.0];
    match profile {
        RibProfile::Round => &[(0.0, 1.0, [0.0, 4.0, -4.0, 0.0])],
        RibProfile::Vee => &[(0.0, 0.5, UP), (0.5, 1.0, DOWN)],
        RibProfile::Square => &[
            (0.1875, 0.3125, UP),
            (0.3125, 0.6875, LAND),
            (0.6875, 0.8125, DOWN),
        ],
    }
}

/// The lifts of all ribs, from nose to tail; `knots` are the joints of all outlines.
pub(super) fn lifts(sets: &[RibsDesign], knots: &[f64]) -> Vec<Lift> {
    let snapped = |x: f64| {
        let near = knots.iter().find(|&&k| (k - x).abs() < SAME_EDGE);
        near.copied().unwrap_or(x)
    };
    let mut lifts: Vec<Lift> = sets
        .iter()
        .flat_map(|set| (0..set.count()).map(move |i| (set, i)))
        .flat_map(|(set, i)| {
            let (at, rise) = set.rib(i);
            // The far edge of a rib is the near edge of the next, to the last bit.
            let next = set.rib(i + 1).0;
            shape(set.profile).iter().map(move |&(a, b, poly)| {
                let place = |t: f64| if t == 1.0 { next } else { at + t * set.pitch };
                Lift {
                    from: place(a),
                    to: place(b),
                    poly: poly.map(|c| c * rise),
                }
            })
        })
        .map(|lift| Lift {
            from: snapped(lift.from),
            to: snapped(lift.to),
            ..lift
        })
        .collect();
    lifts.sort_by(|a, b| a.from.total_cmp(&b.from));
    lifts
}

/// By how much ribs lift the outlines at a place, in mm; negative in a groove.
pub(super) fn rise(sets: &[RibsDesign], x: f64) -> f64 {
    let lifts = lifts(sets, &[]);
    let here = lifts.iter().find(|l| l.from <= x && x <= l.to);
    here.map_or(0.0, |l| {
        let u = (x - l.from) / (l.to - l.from);
        l.poly.iter().rev().fold(0.0, |sum, c| sum * u + c)
    })
}
