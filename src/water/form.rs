//! What the water feels of a body: lengths and areas.

use nalgebra::Point3;

use crate::mesh::Mesh;
use crate::mesh::slice::Sliced;

/// A hull's measures for drag. Millimetres and their squares and cubes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Form {
    /// Length.
    pub length: f64,
    /// Volume.
    pub volume: f64,
    /// Surface.
    pub wetted: f64,
    /// Greatest area of a section across the body.
    pub frontal: f64,
    /// Area seen from above.
    pub top_area: f64,
    /// Area seen from the side.
    pub side_area: f64,
    /// Flat area at the tail.
    pub base: f64,
    /// Where drag is taken to act: the middle of the area seen from above, at the height of the
    /// centre of volume.
    pub centre: Point3<f64>,
}

/// Drag of something that sticks out of the hull, as drag coefficient times area in mm²: the
/// least and the most it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowance {
    /// Where it acts.
    pub centre: Point3<f64>,
    /// In flow along the body.
    pub along: [f64; 2],
    /// In flow across it.
    pub across: [f64; 2],
}

impl Form {
    /// Measures a mesh in the body's axes, by many sections; `None` if it encloses nothing.
    #[must_use]
    pub fn of(mesh: &Mesh) -> Option<Self> {
        const SECTIONS: usize = 256;
        let (bounds, mass) = (mesh.bounds()?, mesh.mass_properties()?);
        let (from, length) = (bounds.min.x, bounds.size().x);
        let step = length / SECTIONS as f64;
        let sliced = Sliced::new(mesh.clone());
        let (mut top, mut side, mut moment, mut frontal) = (0.0, 0.0, 0.0, 0.0_f64);
        for i in 0..SECTIONS {
            let x = from + step * (i as f64 + 0.5);
            let section = sliced.section(x);
            let width = section.shadow(0);
            top += step * width;
            moment += step * width * x;
            side += step * section.shadow(1);
            frontal = frontal.max(section.area());
        }
        (top > 0.0 && mass.volume > 0.0).then(|| Form {
            length,
            volume: mass.volume,
            wetted: mesh.area(),
            frontal,
            top_area: top,
            side_area: side,
            base: flat_end(mesh, bounds.max.x),
            centre: Point3::new(moment / top, mass.centroid.y, mass.centroid.z),
        })
    }

    /// A spheroid about the x axis with its nose at the origin; a sphere if both are equal.
    #[must_use]
    pub fn spheroid(length: f64, diameter: f64) -> Self {
        use std::f64::consts::PI;
        let (a, b) = (0.5 * length, 0.5 * diameter);
        let square = 1.0 - (b / a) * (b / a);
        // The closed form of the surface of a prolate spheroid; a sphere's where it loses its digits.
        let wetted = if square > 1e-6 {
            let e = square.sqrt();
            2.0 * PI * b * (b + a / e * libm::asin(e))
        } else {
            4.0 * PI * b * b
        };
        Form {
            length,
            volume: 4.0 / 3.0 * PI * a * b * b,
            wetted,
            frontal: PI * b * b,
            top_area: PI * a * b,
            side_area: PI * a * b,
            base: 0.0,
            centre: Point3::new(a, 0.0, 0.0),
        }
    }

    /// Diameter of the circle that is as large as the greatest section.
    #[must_use]
    pub fn diameter(&self) -> f64 {
        (4.0 * self.frontal / std::f64::consts::PI).sqrt()
    }

    /// Length over diameter.
    #[must_use]
    pub fn fineness(&self) -> f64 {
        self.length / self.diameter()
    }
}

/// Area of the facets that lie square across the end at x.
fn flat_end(mesh: &Mesh, x: f64) -> f64 {
    const SAME: f64 = 1e-6;
    (0..mesh.triangles.len())
        .map(|t| mesh.corners(t))
        .filter(|corners| corners.iter().all(|p| (p.x - x).abs() < SAME))
        .map(|[a, b, c]| 0.5 * (b - a).cross(&(c - a)).norm())
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::AxisMap;
    use crate::mesh::shapes::{cuboid, sphere};

    #[test]
    fn a_mesh_measures_as_the_closed_form() {
        let mesh = sphere(10.0, 64, 96);
        let mesh = Mesh {
            points: mesh
                .points
                .iter()
                .map(|p| Point3::new(5.0 * p.z + 50.0, p.x, p.y))
                .collect(),
            ..mesh
        };
        let (found, exact) = (Form::of(&mesh).unwrap(), Form::spheroid(100.0, 20.0));
        // Surface of the prolate spheroid 50, 10: 5019.251018314, handbook.
        assert!((exact.wetted - 5019.251018314).abs() < 1e-6);
        for (a, b) in [
            (found.length, exact.length),
            (found.wetted, exact.wetted),
            (found.frontal, exact.frontal),
            (found.top_area, exact.top_area),
            (found.side_area, exact.side_area),
            (found.volume, exact.volume),
        ] {
            assert!((a / b - 1.0).abs() < 3e-3, "{a}, not {b}");
        }
        assert!((found.centre - exact.centre).norm() < 1e-6);
        assert_eq!(found.base, 0.0);
        // The mirror image measures the same.
        let image = Form::of(&mesh.mapped(&AxisMap::MIRROR_Y)).unwrap();
        assert!((image.top_area / found.top_area - 1.0).abs() < 1e-12);
        assert!((image.wetted / found.wetted - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_flat_tail_is_seen() {
        let form = Form::of(&cuboid([0.0; 3], [40.0, 6.0, 8.0])).unwrap();
        assert!((form.base - 48.0).abs() < 1e-9);
        assert!((form.top_area - 240.0).abs() < 1e-9 && (form.side_area - 320.0).abs() < 1e-9);
        assert_eq!(Form::of(&Mesh::default()), None);
    }
}
