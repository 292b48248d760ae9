//! Bolts through both halves: their holes, and where there is room for them.

use super::super::keys::{self, Key};
use super::{Holding, around, ends, reaching};
use crate::mesh::{Bounds, Mesh};
use crate::spec::{Design, KEY_LAND as LAND, Problem, Thread};

/// Least of the block's face beside a washer: the edge of a print is rounded (reasoned).
const RIM: f64 = 1.0;
/// Bolts this many times farther apart than they should be are still well enough (reasoned).
pub(super) const ABOUT: f64 = 1.1;

/// A bolt through both halves.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct BoltHole {
    /// Where, in the mould's x and y.
    pub at: [f64; 2],
    /// Radius of the hole.
    pub radius: f64,
    /// Radius of the washer under head or nut, which lies wholly on the block.
    pub washer: f64,
}

/// Diameter of the clearance hole for a bolt.
///
/// # References
/// ISO 273:1979, medium series (from memory).
pub fn clearance_hole(thread: Thread) -> f64 {
    match thread {
        Thread::M3 => 3.4,
        Thread::M4 => 4.5,
        Thread::M5 => 5.5,
        Thread::M6 => 6.6,
        Thread::M8 => 9.0,
        Thread::M10 => 11.0,
    }
}

/// Outside diameter of the plain washer under a bolt's head.
///
/// # References
/// ISO 7089:2000, normal series (from memory).
pub fn washer(thread: Thread) -> f64 {
    match thread {
        Thread::M3 => 7.0,
        Thread::M4 => 9.0,
        Thread::M5 => 10.0,
        Thread::M6 => 12.0,
        Thread::M8 => 16.0,
        Thread::M10 => 20.0,
    }
}

/// A line of bolts along an edge of the block.
pub(super) struct Edge {
    /// The axis it is square to: 1 of the long sides, 0 of the ends.
    across: usize,
    /// Where the middles of the bolts lie along that axis.
    line: f64,
    /// Stretches along it in which the cavity leaves them no room.
    near: Vec<[f64; 2]>,
}

/// What bolts are fitted to: their sizes, and what they keep clear of.
pub(super) struct Bolting<'a> {
    radius: f64,
    washer: f64,
    block: &'a Bounds,
    keys: &'a [Key],
    cavity: &'a Mesh,
}

impl<'a> Bolting<'a> {
    pub(super) fn new(
        thread: Thread,
        block: &'a Bounds,
        keys: &'a [Key],
        cavity: &'a Mesh,
    ) -> Self {
        Bolting {
            radius: 0.5 * clearance_hole(thread),
            washer: 0.5 * washer(thread),
            block,
            keys,
            cavity,
        }
    }

    /// How far the middle of a bolt lies from the edge.
    fn inset(&self) -> f64 {
        self.washer + RIM
    }

    fn edge(&self, across: usize, at: f64, inward: f64) -> Edge {
        let inset = self.inset();
        // The cavity must end short of the holes.
        let deep = inset + self.radius + LAND;
        Edge {
            across,
            line: at + inward * inset,
            near: reaching(self.cavity, across, at, inward, deep),
        }
    }

    /// The long sides, −y first, and the ends, the nose first.
    pub(super) fn edges(&self) -> [Edge; 4] {
        let (min, max) = (self.block.min, self.block.max);
        [
            self.edge(1, min.y, 1.0),
            self.edge(1, max.y, -1.0),
            self.edge(0, min.x, 1.0),
            self.edge(0, max.x, -1.0),
        ]
    }

    /// A bolt at a place along an edge, if there is room for it.
    fn at<'b>(
        &self,
        edge: &Edge,
        along: f64,
        mut others: impl Iterator<Item = &'b BoltHole>,
    ) -> Option<BoltHole> {
        let (radius, washer, block) = (self.radius, self.washer, self.block);
        let mut at = [along; 2];
        at[edge.across] = edge.line;
        let inset = self.inset() - 1e-9;
        let within = (0..2).all(|k| at[k] - inset > block.min[k] && at[k] + inset < block.max[k]);
        let from_cavity = radius + LAND;
        let beside = |t: &[f64; 2]| along + from_cavity < t[0] || along - from_cavity > t[1];
        let clear = |key: &Key| key.left(at, radius) >= LAND - 1e-9;
        let apart =
            |bolt: &BoltHole| libm::hypot(at[0] - bolt.at[0], at[1] - bolt.at[1]) >= 2.0 * washer;
        let has_room = within
            && edge.near.iter().all(beside)
            && self.keys.iter().all(clear)
            && others.all(apart);
        has_room.then_some(BoltHole { at, radius, washer })
    }

    /// Four bolts near the corners, or as many of them as have room: each hole as far out as its
    /// washer still lies on the block. Those of −y come first, and of each side that at the nose.
    pub(super) fn corners(&self) -> Vec<BoltHole> {
        let mut bolts: Vec<BoltHole> = Vec::new();
        for edge in &self.edges()[..2] {
            for places in [ends(self.block, 1.0), ends(self.block, -1.0)] {
                let mut places = places.map(|(from, step)| from + step * self.inset());
                bolts.extend(places.find_map(|x| self.at(edge, x, bolts.iter())));
            }
        }
        bolts
    }

    /// Further bolts between the two corners of an edge, as evenly as what is in the way lets them,
    /// and how far apart neighbours then are at most.
    pub(super) fn between(
        &self,
        edge: &Edge,
        side: usize,
        holding: &Holding,
    ) -> (Vec<BoltHole>, f64) {
        let along = 1 - edge.across;
        let corners = [[0, 1], [2, 3], [0, 2], [1, 3]][side];
        let [from, to] = corners.map(|i| holding.bolts[i].at[along]);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let wanted = (((to - from) / keys::MOST_APART - 1e-9).ceil().max(1.0) as usize) - 1;
        let beside = |bolt: &BoltHole| {
            let mut grooves = holding.grooves.iter();
            grooves.all(|&(from, to, _)| {
                bolt.at[0] + bolt.washer <= from || bolt.at[0] - bolt.washer >= to
            })
        };
        let attempt = |count: usize| {
            let pitch = (to - from) / (count + 1) as f64;
            let mut found: Vec<BoltHole> = Vec::new();
            for i in 1..=count {
                let mut places = around(from + pitch * i as f64, 0.5 * pitch);
                found.extend(places.find_map(|place| {
                    let others = holding.bolts.iter().chain(&found);
                    self.at(edge, place, others).filter(beside)
                }));
            }
            let mut places: Vec<f64> = found.iter().map(|bolt| bolt.at[along]).collect();
            places.extend([from, to]);
            places.sort_by(f64::total_cmp);
            let gaps = places.windows(2).map(|w| w[1] - w[0]);
            (found, gaps.fold(0.0, f64::max))
        };
        // One more may find the room that a fewer did not.
        let mut best = attempt(wanted);
        for count in wanted + 1..=2 * wanted + 1 {
            if best.1 <= ABOUT * keys::MOST_APART {
                break;
            }
            let next = attempt(count);
            if next.1 < best.1 - 1e-9 {
                best = next;
            }
        }
        best
    }
}

pub(super) fn no_bolts(design: &Design, thread: Thread) -> Problem {
    let show = |mm: f64| design.units.show(mm);
    Problem::new(
        "mould.bolts",
        "there is no room for four bolts with their washers clear of cavity, channels and keys",
    )
    .value(format!(
        "{thread:?}, a hole of {}, a washer of {}",
        show(clearance_hole(thread)),
        show(washer(thread))
    ))
    .hint("take thinner bolts, fewer keys or a thicker mould.wall")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holes_are_those_of_the_standard() {
        // ISO 273:1979, medium series (from memory); twice within a millimetre and a bit over
        // the thread.
        let table = [
            (Thread::M3, 3.0, 3.4),
            (Thread::M4, 4.0, 4.5),
            (Thread::M5, 5.0, 5.5),
            (Thread::M6, 6.0, 6.6),
            (Thread::M8, 8.0, 9.0),
            (Thread::M10, 10.0, 11.0),
        ];
        for (thread, nominal, hole) in table {
            assert_eq!(clearance_hole(thread), hole);
            assert!(hole / nominal > 1.09 && hole / nominal < 1.14, "{thread:?}");
            // ISO 7089: about twice the thread, and wider than a hexagon head of ISO 4017 across its
            // flats (5.5, 7, 8, 10, 13, 16; both from memory).
            assert!(washer(thread) / nominal >= 2.0 && washer(thread) / nominal < 2.4);
        }
    }
}
