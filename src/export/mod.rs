//! Writing meshes, sheets and pictures in open formats.
//!
//! Every writer returns bytes and touches no disk. The mesh formats share one
//! rounding: a coordinate becomes an `f32` here and nowhere else, so the STL
//! and the 3MF of a mesh carry the same numbers.

pub mod dxf;
pub mod png;
pub mod stl;
pub mod svg;
pub mod three_mf;

use nalgebra::Vector3;

use crate::mesh::Mesh;

/// Why a mesh cannot be written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum UnfitMesh {
    /// There is nothing to write.
    #[error("the mesh has no triangles")]
    Empty,
    /// More triangles than the format can count.
    #[error("the mesh has {triangles} triangles; the format holds at most {limit}")]
    TooManyTriangles {
        /// Triangles in the mesh.
        triangles: usize,
        /// The most that the format can hold.
        limit: u32,
    },
    /// A facet names a point that does not exist.
    #[error("facet {facet} names point {point}, but the mesh has only {points} points")]
    NoSuchPoint {
        /// Index of the facet, from 0.
        facet: usize,
        /// The index that it names.
        point: u32,
        /// Points in the mesh.
        points: usize,
    },
    /// A coordinate is not a number, infinite, or beyond what single precision holds.
    #[error("point {point} is at ({}, {}, {}): not a finite place in single precision", place[0], place[1], place[2])]
    NotFinite {
        /// Index of the point, from 0.
        point: usize,
        /// Where it is, in millimetres.
        place: [f64; 3],
    },
    /// A facet has no area left once its corners are single precision.
    #[error("facet {facet} near ({:.4}, {:.4}, {:.4}) mm collapses in single precision", place[0], place[1], place[2])]
    Collapsed {
        /// Index of the facet, from 0.
        facet: usize,
        /// Its middle, in millimetres.
        place: [f64; 3],
    },
    /// Two different points become one in single precision, which would join
    /// surfaces that are apart.
    #[error("points {} and {} near ({:.4}, {:.4}, {:.4}) mm become one in single precision", points[0], points[1], place[0], place[1], place[2])]
    Merged {
        /// Indices of the two points, from 0.
        points: [usize; 2],
        /// Where they meet, in millimetres.
        place: [f64; 3],
    },
}

/// The points of a mesh in single precision, after every check that the mesh
/// formats share.
///
/// Negative zeros become positive: readers that weld corners by comparing bits
/// would otherwise see a crack.
fn single_precision(mesh: &Mesh, limit: u32) -> Result<Vec<[f32; 3]>, UnfitMesh> {
    let triangles = mesh.triangles.len();
    if triangles == 0 {
        return Err(UnfitMesh::Empty);
    }
    if triangles > limit as usize {
        return Err(UnfitMesh::TooManyTriangles { triangles, limit });
    }
    let mut points = Vec::with_capacity(mesh.points.len());
    for (point, p) in mesh.points.iter().enumerate() {
        #[allow(clippy::cast_possible_truncation)]
        let rounded = [p.x, p.y, p.z].map(|c| c as f32 + 0.0);
        if rounded.iter().any(|c| !c.is_finite()) {
            let place = [p.x, p.y, p.z];
            return Err(UnfitMesh::NotFinite { point, place });
        }
        points.push(rounded);
    }
    for (facet, corners) in mesh.triangles.iter().enumerate() {
        if let Some(&point) = corners.iter().find(|&&c| c as usize >= points.len()) {
            let points = points.len();
            return Err(UnfitMesh::NoSuchPoint {
                facet,
                point,
                points,
            });
        }
        if normal(corners.map(|c| points[c as usize])).is_none() {
            let middle = corners
                .iter()
                .map(|&c| mesh.points[c as usize].coords / 3.0)
                .sum::<Vector3<f64>>();
            return Err(UnfitMesh::Collapsed {
                facet,
                place: middle.into(),
            });
        }
    }
    match first_merged(mesh, &points) {
        Some((i, j)) => Err(UnfitMesh::Merged {
            points: [i, j],
            place: points[i].map(f64::from),
        }),
        None => Ok(points),
    }
}

/// Two points that differ in the mesh and no longer do when rounded.
fn first_merged(mesh: &Mesh, rounded: &[[f32; 3]]) -> Option<(usize, usize)> {
    let mut order: Vec<usize> = (0..rounded.len()).collect();
    order.sort_unstable_by_key(|&i| (rounded[i].map(f32::to_bits), i));
    order
        .windows(2)
        .map(|pair| (pair[0], pair[1]))
        .find(|&(i, j)| rounded[i] == rounded[j] && mesh.points[i] != mesh.points[j])
}

/// Outward unit normal of a facet, or `None` where its corners lie on a line.
///
/// Worked in `f64` from the rounded corners, so that it is the normal of the
/// facet as written.
fn normal(corners: [[f32; 3]; 3]) -> Option<Vector3<f64>> {
    let [a, b, c] = corners.map(|p| Vector3::from(p.map(f64::from)));
    (b - a).cross(&(c - a)).try_normalize(0.0)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use nalgebra::Point3;

    /// A box between two corners: 8 points, 12 triangles.
    pub(crate) fn cuboid(min: [f64; 3], max: [f64; 3]) -> Mesh {
        let points = (0..8)
            .map(|i| {
                let pick = |axis: usize| if i >> axis & 1 == 1 { max } else { min }[axis];
                Point3::new(pick(0), pick(1), pick(2))
            })
            .collect();
        let quads: [[u32; 4]; 6] = [
            [0, 4, 6, 2],
            [1, 3, 7, 5],
            [0, 1, 5, 4],
            [2, 6, 7, 3],
            [0, 2, 3, 1],
            [4, 5, 7, 6],
        ];
        let triangles = quads
            .iter()
            .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
            .collect();
        Mesh { points, triangles }
    }

    /// An ellipsoid about the origin: rings of points between two poles.
    pub(crate) fn ellipsoid(half: [f64; 3], rings: u32, around: u32) -> Mesh {
        use std::f64::consts::PI;
        let mut points = vec![Point3::new(-half[0], 0.0, 0.0)];
        for ring in 1..rings {
            let (sin, cos) = libm::sincos(PI * f64::from(ring) / f64::from(rings));
            for step in 0..around {
                let (s, c) = libm::sincos(2.0 * PI * f64::from(step) / f64::from(around));
                points.push(Point3::new(
                    -half[0] * cos,
                    half[1] * sin * c,
                    half[2] * sin * s,
                ));
            }
        }
        points.push(Point3::new(half[0], 0.0, 0.0));
        let last = (rings - 1) * around + 1;
        let at = |ring: u32, step: u32| 1 + (ring - 1) * around + step % around;
        let mut triangles = Vec::new();
        for step in 0..around {
            triangles.push([0, at(1, step + 1), at(1, step)]);
            triangles.push([last, at(rings - 1, step), at(rings - 1, step + 1)]);
            for ring in 1..rings - 1 {
                let (a, b) = (at(ring, step), at(ring, step + 1));
                let (c, d) = (at(ring + 1, step + 1), at(ring + 1, step));
                triangles.extend([[a, b, c], [a, c, d]]);
            }
        }
        Mesh { points, triangles }
    }

    #[test]
    fn unfit_meshes_are_refused_with_their_place() {
        let good = cuboid([0.0; 3], [10.0, 20.0, 30.0]);
        assert!(single_precision(&good, u32::MAX).is_ok());
        let limit = single_precision(&good, 11);
        assert_eq!(
            limit,
            Err(UnfitMesh::TooManyTriangles {
                triangles: 12,
                limit: 11
            })
        );
        assert_eq!(single_precision(&Mesh::default(), 9), Err(UnfitMesh::Empty));

        for bad in [f64::NAN, f64::INFINITY, 1e39] {
            let mut mesh = good.clone();
            mesh.points[5].y = bad;
            let found = single_precision(&mesh, u32::MAX);
            assert!(matches!(found, Err(UnfitMesh::NotFinite { point: 5, .. })));
        }
        let mut mesh = good.clone();
        mesh.triangles[3][1] = 8;
        assert!(matches!(
            single_precision(&mesh, u32::MAX),
            Err(UnfitMesh::NoSuchPoint {
                facet: 3,
                point: 8,
                points: 8
            })
        ));
    }

    #[test]
    fn a_facet_thinner_than_single_precision_is_refused() {
        // Neighbouring f32 near 100 are 7.6e-6 apart.
        let sliver = cuboid([100.0, 0.0, 0.0], [100.0 + 1e-7, 1.0, 1.0]);
        let found = single_precision(&sliver, u32::MAX);
        let Err(UnfitMesh::Collapsed { facet, place }) = found else {
            panic!("not refused: {found:?}");
        };
        assert_eq!(facet, 4);
        assert!((place[0] - 100.0).abs() < 1e-6);
        let thick = cuboid([100.0, 0.0, 0.0], [100.0 + 1e-4, 1.0, 1.0]);
        assert!(single_precision(&thick, u32::MAX).is_ok());
    }

    #[test]
    fn points_that_become_one_are_refused_and_equal_ones_are_not() {
        let pair = cuboid([0.0; 3], [50.0; 3]);
        let join = |gap: f64| {
            let other = cuboid([50.0 + gap; 3], [60.0; 3]);
            let mut both = pair.clone();
            both.points.extend(&other.points);
            both.triangles
                .extend(other.triangles.iter().map(|t| t.map(|i| i + 8)));
            both
        };
        let apart = join(1e-7);
        assert!(matches!(
            single_precision(&apart, u32::MAX),
            Err(UnfitMesh::Merged { points: [7, 8], .. })
        ));
        assert!(single_precision(&join(0.0), u32::MAX).is_ok());
        let mut pair = pair;
        pair.points[0].x = -0.0;
        let rounded = single_precision(&pair, u32::MAX).unwrap();
        assert!(rounded[0][0].is_sign_positive());
    }
}
