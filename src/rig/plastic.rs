//! The cast body, asked how deep a point lies in its plastic.

use nalgebra::{Point3, Vector3};

use crate::body::{Body, Master};
use crate::mesh::slice::Sliced;
use crate::mesh::{Mesh, Solid, SolidError};

/// A closed surface round plastic.
#[derive(Clone, Debug)]
pub struct Plastic {
    sliced: Sliced,
    /// Triangles by the x of their nearest end, in bins of equal width.
    bins: Vec<Vec<Near>>,
    from: f64,
    step: f64,
}

/// A triangle with a ball around it, which rules most of them out.
#[derive(Clone, Copy, Debug)]
struct Near {
    middle: Point3<f64>,
    radius: f64,
    triangle: u32,
}

impl Plastic {
    /// Takes a mesh, which should pass [`Mesh::check`].
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn new(mesh: Mesh) -> Self {
        let (from, to) = mesh.bounds().map_or((0.0, 1.0), |b| (b.min.x, b.max.x));
        let count = (mesh.triangles.len() / 32).clamp(1, 256);
        let step = ((to - from) / count as f64).max(1e-9);
        let mut bins = vec![Vec::new(); count];
        for t in 0..mesh.triangles.len() {
            let corners = mesh.corners(t);
            let x = corners.map(|p| p.x);
            let middle = Point3::from(corners.iter().map(|p| p.coords).sum::<Vector3<f64>>() / 3.0);
            let reach = |p: &Point3<f64>| (p - middle).norm();
            let near = Near {
                middle,
                radius: corners.iter().map(reach).fold(0.0, f64::max),
                triangle: t as u32,
            };
            let bin = |x: f64| (((x - from) / step).max(0.0) as usize).min(count - 1);
            let least = x.into_iter().fold(f64::INFINITY, f64::min);
            let most = x.into_iter().fold(f64::NEG_INFINITY, f64::max);
            for b in &mut bins[bin(least)..=bin(most)] {
                b.push(near);
            }
        }
        Plastic {
            sliced: Sliced::new(mesh),
            bins,
            from,
            step,
        }
    }

    /// Its surface.
    #[must_use]
    pub fn mesh(&self) -> &Mesh {
        self.sliced.mesh()
    }

    /// Whether a point lies in plastic.
    #[must_use]
    pub fn holds(&self, point: &Point3<f64>) -> bool {
        self.sliced.holds(point)
    }

    /// How deep a point lies under the surface, in mm; outside it, negative.
    #[must_use]
    pub fn depth(&self, point: &Point3<f64>) -> f64 {
        let distance = self.distance(point);
        if self.holds(point) {
            distance
        } else {
            -distance
        }
    }

    /// Distance from a point to the surface, in mm.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn distance(&self, point: &Point3<f64>) -> f64 {
        let count = self.bins.len();
        let home = (((point.x - self.from) / self.step).max(0.0) as usize).min(count - 1);
        let (mut square, mut least) = (f64::INFINITY, f64::INFINITY);
        for ring in 0..count {
            // Bins are looked at outwards, until they are further off than the nearest so far.
            let gap = (ring as f64 - 1.0).max(0.0) * self.step;
            if gap * gap > square {
                break;
            }
            let (down, up) = (home.checked_sub(ring), home + ring);
            let both = [down, (ring > 0 && up < count).then_some(up)];
            for bin in both.into_iter().flatten() {
                for near in &self.bins[bin] {
                    let reach = least + near.radius;
                    if (point - near.middle).norm_squared() > reach * reach {
                        continue;
                    }
                    let corners = self.mesh().corners(near.triangle as usize);
                    let found = to_triangle(point, &corners);
                    if found < square {
                        (square, least) = (found, found.sqrt());
                    }
                }
            }
        }
        square.sqrt()
    }
}

/// Square of the distance from a point to a triangle.
///
/// # References
/// C. Ericson, "Real-Time Collision Detection", 2005, section 5.1.5: the regions of the triangle.
fn to_triangle(p: &Point3<f64>, [a, b, c]: &[Point3<f64>; 3]) -> f64 {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(&ap), ac.dot(&ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return ap.norm_squared();
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(&bp), ac.dot(&bp));
    if d3 >= 0.0 && d4 <= d3 {
        return bp.norm_squared();
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return (ap - ab * (d1 / (d1 - d3))).norm_squared();
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(&cp), ac.dot(&cp));
    if d6 >= 0.0 && d5 <= d6 {
        return cp.norm_squared();
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return (ap - ac * (d2 / (d2 - d6))).norm_squared();
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        let t = (d4 - d3) / ((d4 - d3) + (d5 - d6));
        return (bp - (c - b) * t).norm_squared();
    }
    let normal: Vector3<f64> = ab.cross(&ac);
    let along = normal.dot(&ap);
    along * along / normal.norm_squared()
}

/// The cast body of a master: without its collar, its loose cores and the prints of both.
pub(super) fn cast(body: &Body, master: &Master) -> Result<Mesh, SolidError> {
    if body.collar.is_empty() && master.cores.is_empty() {
        return Ok(master.mesh.clone());
    }
    let mut solid = Solid::try_from(&master.mesh)?;
    for core in &master.cores {
        solid = solid.difference(&Solid::try_from(core)?)?;
    }
    if !body.collar.is_empty() {
        let bounds = solid.bounds();
        // No wider than the collar, so that fins that reach past the tail stay.
        let most = body
            .collar
            .iter()
            .fold(0.0, |most: f64, c| most.max(c.radius));
        let (wide, end) = (1.01 * most, bounds.max.x + 1.0);
        let z = body.spine(body.length());
        let behind = crate::mesh::cuboid([body.length(), -wide, z - wide], [end, wide, z + wide]);
        solid = solid.difference(&Solid::try_from(&behind)?)?;
    }
    Ok(solid.to_mesh())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::shapes::{cuboid, torus};
    use proptest::prelude::*;

    #[test]
    fn depths_in_a_box() {
        let plastic = Plastic::new(cuboid([0.0; 3], [40.0, 10.0, 20.0]));
        for (point, depth) in [
            ([20.0, 5.0, 10.0], 5.0),
            ([20.0, 5.0, 3.0], 3.0),
            ([1.0, 5.0, 10.0], 1.0),
            ([20.0, 12.0, 10.0], -2.0),
            ([43.0, 14.0, 10.0], -5.0),
            ([41.0, 12.0, 22.0], -3.0),
        ] {
            let found = plastic.depth(&point.into());
            assert!((found - depth).abs() < 1e-12, "{point:?}: {found}");
        }
    }

    proptest! {
        #[test]
        fn as_an_independent_library_has_it(p in prop::array::uniform3(-14.0..14.0f64)) {
            use parry3d_f64::query::PointQuery;
            use parry3d_f64::shape::TriMesh;
            use parry3d_f64::math::Vector;
            let mesh = torus(8.0, 3.0, 48, 20);
            let points = mesh.points.iter().map(|p| Vector::new(p.x, p.y, p.z)).collect();
            let oracle = TriMesh::new(points, mesh.triangles.clone()).unwrap();
            let expected = oracle.distance_to_local_point(Vector::from(p), false);
            let found = Plastic::new(mesh).distance(&p.into());
            prop_assert!((found - expected).abs() < 1e-9, "{} {}", found, expected);
        }
    }
}
