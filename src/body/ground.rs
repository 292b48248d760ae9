//! What features stand on: the solid made so far, asked where its surface is.

use nalgebra::{Point3, Unit, Vector3};

use super::place::sin_cos;
use super::{Body, Place};
use crate::mesh::Mesh;
use crate::mesh::slice::Sliced;

/// Thinnest plastic that is left standing, in mm: less tears, and shows what lies
/// behind it (reasoned).
pub(super) const SKIN: f64 = 0.8;

/// The surface of a master under work.
pub(super) struct Ground<'b> {
    body: &'b Body,
    solid: Sliced,
    /// What the solid has on it or cut from it, by field path.
    made: &'b [(String, Mesh)],
}

/// Axes at a place on the surface: `out` along the normal, `along` the body, `across` it;
/// along × across = out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub(super) origin: Point3<f64>,
    pub(super) out: Vector3<f64>,
    along: Vector3<f64>,
    across: Vector3<f64>,
}

impl Frame {
    /// With `out` in the plane y = 0 or z = 0, points of equal zero coordinate
    /// are exactly on that plane.
    pub(super) fn new(origin: Point3<f64>, out: Unit<Vector3<f64>>) -> Self {
        let out = out.into_inner();
        let x = Vector3::x();
        let flat = x - out * out.x;
        let along = if flat.norm() > 1e-6 {
            flat.normalize()
        } else {
            Vector3::z()
        };
        Frame {
            origin,
            out,
            along,
            across: out.cross(&along),
        }
    }

    /// The point so far along, across and out.
    pub(super) fn at(&self, along: f64, across: f64, out: f64) -> Point3<f64> {
        let p = self.origin + self.along * along + self.across * across + self.out * out;
        // Adding zero turns −0 into 0.
        p.map(|c| c + 0.0)
    }

    /// A mesh about the x axis, which comes to stand along `out`.
    pub(super) fn placed(&self, mut mesh: Mesh) -> Mesh {
        for p in &mut mesh.points {
            *p = self.at(p.y, p.z, p.x);
        }
        mesh
    }
}

impl<'b> Ground<'b> {
    pub(super) fn new(body: &'b Body, solid: Mesh) -> Self {
        Ground {
            body,
            solid: Sliced::new(solid),
            made: &[],
        }
    }

    /// With features on it that can be named.
    pub(super) fn with(self, made: &'b [(String, Mesh)]) -> Self {
        Ground { made, ..self }
    }

    /// The feature whose surface is nearest to a place, if one is as near as `within`.
    pub(super) fn nearest(&self, place: &Point3<f64>, within: f64) -> Option<&str> {
        let far = self
            .made
            .iter()
            .map(|(path, mesh)| (mesh.distance(place), path));
        let (far, path) = far.min_by(|a, b| a.0.total_cmp(&b.0))?;
        (far <= within).then_some(path.as_str())
    }

    pub(super) fn body(&self) -> &Body {
        self.body
    }

    pub(super) fn frame(&self, x: f64, angle: f64) -> Frame {
        let Place { point, normal } = self.body.place(x, angle);
        Frame::new(point, normal)
    }

    /// Height of the surface in the upright mid-plane, above the axis on the back and below
    /// it on the belly.
    pub(super) fn edge(&self, x: f64, back: bool) -> f64 {
        if back {
            self.body.place(x, 0.0).point.z
        } else {
            -self.body.place(x, 180.0).point.z
        }
    }

    pub(super) fn holds(&self, point: &Point3<f64>) -> bool {
        self.solid.holds(point)
    }

    /// How far the surface lies below the tangent plane of a frame; `None` if it is not
    /// met there. Above it, negative.
    pub(super) fn below(&self, frame: &Frame, along: f64, across: f64) -> Option<f64> {
        let from = frame.at(along, across, 0.0);
        let entering = |t: u32| {
            let [a, b, c] = self.solid.mesh().corners(t as usize);
            (b - a).cross(&(c - a)).dot(&frame.out) > 0.0
        };
        self.solid
            .along(&from, &-frame.out)
            .into_iter()
            .filter(|hit| entering(hit.triangle))
            .map(|hit| hit.along)
            .min_by(|a, b| a.abs().total_cmp(&b.abs()))
    }

    /// Where a line enters the solid first and leaves it last, in lengths of its direction.
    pub(super) fn through(&self, from: &Point3<f64>, direction: &Vector3<f64>) -> Option<[f64; 2]> {
        let hits = self.solid.along(from, direction);
        Some([hits.first()?.along, hits.last()?.along])
    }
}

/// Directions round a circle, exact at quarter turns.
pub(super) fn round(count: usize) -> impl Iterator<Item = [f64; 2]> {
    (0..count).map(move |i| {
        let (sin, cos) = sin_cos(360.0 * i as f64 / count as f64);
        [cos, sin]
    })
}

/// The largest number in a range that something still holds for, if it holds for the
/// least.
pub(super) fn most(least: f64, most: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    if !holds(least) {
        return None;
    }
    let (mut good, mut bad) = (least, most);
    for _ in 0..20 {
        let middle = 0.5 * (good + bad);
        if holds(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Some(good)
}
