//! A mesh cut along planes square to x, or where a function is nought, in place: the surface stays
//! the same, but no triangle reaches across.

use std::collections::BTreeMap;

use nalgebra::Point3;

use super::Mesh;
use super::solid::MENDED;

/// A point this near to a plane, in mm, counts as on it: no needle is cut off there.
const ON_PLANE: f64 = MENDED;

/// A value this near to nought, in mm, is nought. Much less than for planes: bends of a stepped face are
/// sharp, and a point taken to lie on one moves by the bend's slope times how far it is off.
const ON_ZERO: f64 = 1e-9;

impl Mesh {
    /// The mesh with its edges divided where they cross the planes x = `places` (ascending), and
    /// every triangle with them: a map that is affine between the planes may then be applied
    /// point by point. Points within 1e-5 mm of a plane are taken to lie on it, as they are.
    /// Closed meshes stay closed; new points follow the old ones.
    ///
    /// # Panics
    /// When an index is out of range.
    #[must_use]
    pub fn split_along_x(mut self, places: &[f64]) -> Self {
        // Odd numbers stand for the planes, even ones for the slabs between them.
        let place = |x: f64| {
            let i = places.partition_point(|&p| p < x - ON_PLANE);
            2 * i + usize::from(places.get(i).is_some_and(|&p| p <= x + ON_PLANE))
        };
        let mut at: Vec<usize> = self.points.iter().map(|p| place(p.x)).collect();
        let mut cuts: BTreeMap<[u32; 2], Vec<u32>> = BTreeMap::new();
        let mut triangles = Vec::with_capacity(self.triangles.len());
        for &triangle in &self.triangles {
            let mut ring = Vec::with_capacity(8);
            for k in 0..3 {
                let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
                ring.push(a);
                let edge = [a.min(b), a.max(b)];
                let [from, to] = edge.map(|i| at[i as usize]);
                if from.abs_diff(to) < 2 {
                    continue;
                }
                let points = &mut self.points;
                let inserted = cuts.entry(edge).or_insert_with(|| {
                    let crossed = (from.min(to) + 1..from.max(to)).filter(|p| p % 2 == 1);
                    let mut crossed: Vec<usize> = crossed.collect();
                    if from > to {
                        crossed.reverse();
                    }
                    let [p, q] = edge.map(|i| points[i as usize]);
                    let cut = |plane: usize| {
                        let x = places[plane / 2];
                        let mut point = p + (q - p) * ((x - p.x) / (q.x - p.x));
                        point.x = x;
                        points.push(point);
                        at.push(plane);
                        (points.len() - 1) as u32
                    };
                    crossed.into_iter().map(cut).collect()
                });
                if a < b {
                    ring.extend(inserted.iter());
                } else {
                    ring.extend(inserted.iter().rev());
                }
            }
            if ring.len() == 3 {
                triangles.push(triangle);
                continue;
            }
            let of = |i: &u32| at[*i as usize];
            let (low, high) = ring.iter().fold((usize::MAX, 0), |(low, high), i| {
                (low.min(of(i)), high.max(of(i)))
            });
            for slab in (low..=high).filter(|p| p % 2 == 0) {
                let within = |i: &&u32| of(i).abs_diff(slab) < 2;
                let piece: Vec<u32> = ring.iter().filter(within).copied().collect();
                fan(&self.points, &piece, &mut triangles);
            }
        }
        self.triangles = triangles;
        self
    }

    /// The mesh with its triangles divided where `of` is nought, as far as `near` is true of one of
    /// them or of a neighbour. `of` is in mm, about the distance from where it is nought, continuous,
    /// and affine on every such triangle. Points within 1e-9 mm are taken to lie on it, as they are:
    /// needles may be cut off, which [`Mesh::without_needles`] takes away.
    /// Closed meshes stay closed; new points follow the old ones.
    ///
    /// # Panics
    /// When an index is out of range.
    #[must_use]
    pub fn split_where(
        mut self,
        of: impl Fn(&Point3<f64>) -> f64,
        near: impl Fn(&[Point3<f64>; 3]) -> bool,
    ) -> Self {
        // NaN where `of` was not asked: away from what is near.
        let mut at = vec![f64::NAN; self.points.len()];
        let mut cuts: BTreeMap<[u32; 2], u32> = BTreeMap::new();
        for t in 0..self.triangles.len() {
            if !near(&self.corners(t)) {
                continue;
            }
            let triangle = self.triangles[t];
            let values = triangle.map(|i| {
                let known = &mut at[i as usize];
                if known.is_nan() {
                    let value = of(&self.points[i as usize]);
                    *known = if value.abs() <= ON_ZERO { 0.0 } else { value };
                }
                *known
            });
            for k in 0..3 {
                let next = (k + 1) % 3;
                let (a, b) = (triangle[k], triangle[next]);
                let edge = [a.min(b), a.max(b)];
                if values[k] * values[next] >= 0.0 || cuts.contains_key(&edge) {
                    continue;
                }
                // From the lower index, whichever triangle comes first.
                let [p, q] = edge.map(|i| self.points[i as usize]);
                let [from, to] = edge.map(|i| at[i as usize]);
                let new = self.points.len() as u32;
                self.points.push(p + (q - p) * (from / (from - to)));
                at.push(0.0);
                cuts.insert(edge, new);
            }
        }
        if cuts.is_empty() {
            return self;
        }
        let mut triangles = Vec::with_capacity(self.triangles.len() + 2 * cuts.len());
        let mut ring = Vec::with_capacity(6);
        for &triangle in &self.triangles {
            ring.clear();
            for k in 0..3 {
                let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
                ring.push(a);
                // Asked first, since most edges of a large mesh are not cut.
                if at[a as usize] * at[b as usize] < 0.0 {
                    ring.extend(cuts.get(&[a.min(b), a.max(b)]));
                }
            }
            if ring.len() == 3 {
                triangles.push(triangle);
                continue;
            }
            let value = |i: &u32| at[*i as usize];
            // Both triangles at a cut edge have it and its ends; only a corner across may not be known.
            if ring.iter().filter(|i| value(i) == 0.0).count() == 2 {
                for side in [1.0, -1.0] {
                    let kept = |i: &&u32| value(i) * side >= 0.0;
                    let piece: Vec<u32> = ring.iter().filter(kept).copied().collect();
                    fan(&self.points, &piece, &mut triangles);
                }
            } else {
                // Away from what is near: only its edge with a neighbour is cut.
                fan(&self.points, &ring, &mut triangles);
            }
        }
        self.triangles = triangles;
        self
    }
}

/// Divides a convex polygon from the corner that leaves the bluntest triangles.
fn fan(points: &[Point3<f64>], ring: &[u32], triangles: &mut Vec<[u32; 3]>) {
    let n = ring.len();
    if n < 3 {
        return;
    }
    let from = |start: usize| {
        (1..n - 1).map(move |k| {
            [
                ring[start],
                ring[(start + k) % n],
                ring[(start + k + 1) % n],
            ]
        })
    };
    // Height over the longest side, squared twice over: only compared.
    let bluntness = |t: [u32; 3]| {
        let [a, b, c] = t.map(|i| points[i as usize]);
        let longest = (b - a).norm_squared().max((c - b).norm_squared());
        (b - a).cross(&(c - a)).norm_squared() / longest.max((a - c).norm_squared())
    };
    let worst = |start: usize| from(start).map(bluntness).fold(f64::INFINITY, f64::min);
    let best =
        (0..n)
            .map(|start| (start, worst(start)))
            .fold((0, f64::NEG_INFINITY), |best, one| {
                if one.1 > best.1 { one } else { best }
            });
    triangles.extend(from(best.0));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::shapes::{sphere, torus};

    #[test]
    fn the_surface_stays_and_no_triangle_crosses_a_plane() {
        for mesh in [sphere(10.0, 24, 40), torus(10.0, 3.0, 36, 20)] {
            let places: Vec<f64> = (0..31).map(|i| 0.63 * f64::from(i) - 9.5).collect();
            let split = mesh.clone().split_along_x(&places);
            split.check().unwrap();
            assert!(split.triangles.len() > 2 * mesh.triangles.len());
            assert_eq!(split.points[..mesh.points.len()], mesh.points);
            assert!((split.volume() / mesh.volume() - 1.0).abs() < 1e-12);
            assert!((split.area() / mesh.area() - 1.0).abs() < 1e-12);
            for t in 0..split.triangles.len() {
                let x = split.corners(t).map(|p| p.x);
                let low = x.iter().copied().fold(f64::INFINITY, f64::min);
                let high = x.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                assert!(
                    places
                        .iter()
                        .all(|&p| p < low + 2.0 * ON_PLANE || p > high - 2.0 * ON_PLANE)
                );
            }
            // Through its own points as well, and with no plane at all.
            let own: Vec<f64> = (0..5).map(|i| 4.0 * f64::from(i) - 8.0).collect();
            split.split_along_x(&own).check().unwrap();
            assert_eq!(mesh.clone().split_along_x(&[]), mesh);
        }
    }

    #[test]
    fn the_surface_stays_and_no_near_triangle_has_both_signs() {
        let mesh = torus(10.0, 3.0, 36, 20);
        // Roofs over the plane, one after the other, so that each is affine on what it divides.
        let first = |p: &Point3<f64>| 0.8 * p.x + 0.6 * p.y - 3.3;
        let second = |p: &Point3<f64>| 0.5 * p.y - 0.2 * p.z + first(p).min(0.0) - 0.4;
        let near = |t: &[Point3<f64>; 3]| t.iter().any(|p| p.x > -2.0);
        let split = mesh.clone().split_where(first, near);
        let split = split.split_where(second, near);
        split.check().unwrap();
        assert!(split.triangles.len() > mesh.triangles.len() + 100);
        assert_eq!(split.points[..mesh.points.len()], mesh.points);
        assert!((split.volume() / mesh.volume() - 1.0).abs() < 1e-12);
        assert!((split.area() / mesh.area() - 1.0).abs() < 1e-12);
        for t in 0..split.triangles.len() {
            let corners = split.corners(t);
            let holds = |of: &dyn Fn(&Point3<f64>) -> f64| {
                let values = corners.map(|p| of(&p));
                values.iter().all(|v| *v > -2.0 * ON_PLANE)
                    || values.iter().all(|v| *v < 2.0 * ON_PLANE)
            };
            assert!(!near(&corners) || (holds(&first) && holds(&second)));
        }
        let away = |_: &[Point3<f64>; 3]| false;
        assert_eq!(mesh.clone().split_where(first, away), mesh);
    }
}
