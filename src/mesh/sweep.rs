//! Strands: sections along a spine.

use nalgebra::{Point3, Vector3};

use super::Mesh;

/// One section across a spine.
#[derive(Clone, Debug, PartialEq)]
pub struct Rib {
    /// Middle of the section.
    pub centre: Point3<f64>,
    /// Half-axis within the plane of the spine, its length included.
    pub along: Vector3<f64>,
    /// Length of the half-axis on the other side, as a share of `along`.
    pub other: f64,
    /// Half-axis across that plane; `along` × `across` points the way the spine runs.
    pub across: Vector3<f64>,
    /// A quarter of the section in parts of the half-axes, from exactly (1, 0) to (0, 1).
    pub quarter: Vec<[f64; 2]>,
}

/// Joins ribs into a closed surface, from the point `start` through all of them to the
/// point `end`.
///
/// Every rib has points exactly in the plane of its centre and `along`. All ribs have
/// the same number of points, follow one another without crossing, and `start` and `end` lie in
/// or beyond the first and last; the result is then closed and seen from outside counter-clockwise.
///
/// # Panics
/// If there is no rib, or their numbers of points differ.
pub fn sweep(start: Point3<f64>, ribs: &[Rib], end: Point3<f64>) -> Mesh {
    assert!(!ribs.is_empty(), "a sweep needs a rib");
    let n = 4 * (ribs[0].quarter.len() - 1);
    let mut mesh = Mesh::default();
    mesh.points.push(start);
    for rib in ribs {
        let q = rib.quarter.len() - 1;
        assert_eq!(4 * q, n, "ribs of a sweep have the same number of points");
        for j in 0..n {
            let i = j % q;
            let [a, b] = rib.quarter[if (j / q).is_multiple_of(2) { i } else { q - i }];
            let a = if j < q || j > 3 * q {
                a
            } else {
                -a * rib.other
            };
            let b = if j <= 2 * q { b } else { -b };
            let p = rib.centre + rib.along * a + rib.across * b;
            // Adding zero turns −0 into 0.
            mesh.points.push(p.map(|c| c + 0.0));
        }
    }
    let last = mesh.points.len() as u32;
    mesh.points.push(end);
    let at = |rib: usize, j: usize| (1 + rib * n + j % n) as u32;
    for j in 0..n {
        mesh.triangles.push([0, at(0, j + 1), at(0, j)]);
    }
    for k in 1..ribs.len() {
        for j in 0..n {
            let [p, q] = [at(k - 1, j), at(k - 1, j + 1)];
            let [s, r] = [at(k, j), at(k, j + 1)];
            // The diagonal turns over at each quarter, for symmetry.
            if (4 * j / n).is_multiple_of(2) {
                mesh.triangles.extend([[p, q, r], [p, r, s]]);
            } else {
                mesh.triangles.extend([[p, q, s], [q, r, s]]);
            }
        }
    }
    for j in 0..n {
        mesh.triangles
            .push([at(ribs.len() - 1, j), at(ribs.len() - 1, j + 1), last]);
    }
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::Section;
    use std::f64::consts::PI;

    #[test]
    fn frustum_and_bent_tube_have_their_closed_volumes() {
        let rib = |x: f64, r: f64| Rib {
            centre: Point3::new(x, 0.0, 0.0),
            along: Vector3::new(0.0, 0.0, -r),
            other: 1.0,
            across: Vector3::new(0.0, 0.5 * r, 0.0),
            quarter: Section::circle(64),
        };
        let mesh = sweep(
            Point3::new(0.0, 0.0, 0.0),
            &[rib(0.0, 4.0), rib(30.0, 1.0)],
            Point3::new(30.0, 0.0, 0.0),
        );
        mesh.check().unwrap();
        // π h (R² + R r + r²) / 3, half as wide as high.
        let exact = 0.5 * PI * 30.0 * 21.0 / 3.0;
        assert!((mesh.volume() / exact - 1.0).abs() < 1e-3);

        // A quarter of a torus: Pappus, π r² times the arc of its middle.
        let ribs: Vec<Rib> = (0..=64)
            .map(|k| {
                let (s, c) = libm::sincos(0.5 * PI * f64::from(k) / 64.0);
                Rib {
                    centre: Point3::new(10.0 * s, 0.0, 10.0 * c),
                    along: Vector3::new(-2.0 * s, 0.0, -2.0 * c),
                    other: 1.0,
                    across: Vector3::new(0.0, 2.0, 0.0),
                    quarter: Section::circle(64),
                }
            })
            .collect();
        // Half as far on one side of the spine, the outer one.
        let lean = ribs.iter().map(|rib| Rib {
            other: 0.5,
            ..rib.clone()
        });
        let lean: Vec<Rib> = lean.collect();
        let mesh = sweep(lean[0].centre, &lean, lean[64].centre);
        mesh.check().unwrap();
        // Half discs of 2 and 1 high, their middles 8/3π and 4/3π off the spine: Pappus for each.
        let exact =
            0.5 * PI * (2.0 * PI * (10.0 - 8.0 / (3.0 * PI)) + PI * (10.0 + 4.0 / (3.0 * PI)));
        assert!(
            (mesh.volume() / exact - 1.0).abs() < 1e-3,
            "{} {exact}",
            mesh.volume()
        );

        let mesh = sweep(ribs[0].centre, &ribs, ribs[64].centre);
        mesh.check().unwrap();
        let exact = PI * 4.0 * 5.0 * PI;
        assert!((mesh.volume() / exact - 1.0).abs() < 1e-3);
        assert!(mesh.points.iter().filter(|p| p.y == 0.0).count() >= 2 * 65);
    }
}
