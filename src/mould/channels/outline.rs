//! Channels seen from above.

use super::Channels;
use crate::mesh::slice::PlaneSection;

/// A channel seen from above.
pub(in crate::mould) struct Outline {
    pub(in crate::mould) name: &'static str,
    /// What it is made of, which may overlap.
    planes: Vec<PlaneSection>,
}

impl Outline {
    fn polygons(name: &'static str, all: Vec<Vec<[f64; 2]>>) -> Self {
        let plane = |points| PlaneSection {
            loops: vec![points],
        };
        Outline {
            name,
            planes: all.into_iter().map(plane).collect(),
        }
    }

    /// Material left between it and a round place.
    pub(in crate::mould) fn left(&self, at: [f64; 2], radius: f64) -> f64 {
        let each = self.planes.iter().map(|plane| left(plane, at, radius));
        each.fold(f64::INFINITY, f64::min)
    }
}

/// Material left between a round place and an outline.
pub(in crate::mould) fn left(plane: &PlaneSection, [x, y]: [f64; 2], radius: f64) -> f64 {
    let distance = plane.distance(x, y);
    let sign = if plane.holds(x, y) { -1.0 } else { 1.0 };
    sign * distance - radius
}

/// The sprue with its runner, and the vents, seen from above.
pub(in crate::mould) fn outlines(channels: &Channels) -> (Outline, Vec<Outline>) {
    let turned = |corners: &[(f64, f64)], axis: f64| {
        let above = corners.iter().map(|&(x, r)| [x, axis + r]);
        let below = corners.iter().rev().map(|&(x, r)| [x, axis - r]);
        below.chain(above).collect::<Vec<_>>()
    };
    let mut ways = vec![turned(&channels.sprue.corners, channels.sprue.axis)];
    if let Some(runner) = &channels.runner {
        let [from, to] = runner.span;
        let (low, high) = (runner.at - runner.radius, runner.at + runner.radius);
        ways.push(vec![[low, from], [high, from], [high, to], [low, to]]);
        ways.extend(runner.necks.iter().map(|n| turned(&n.corners, n.across)));
    }
    let sprue = Outline::polygons("sprue", ways);
    let vents = channels.vents.iter().map(|vent| {
        let (a, b) = (vent.bounds.min, vent.bounds.max);
        let corners = vec![[a.x, a.y], [b.x, a.y], [b.x, b.y], [a.x, b.y]];
        Outline::polygons("vent", vec![corners])
    });
    (sprue, vents.collect())
}
