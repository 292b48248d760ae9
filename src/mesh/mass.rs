//! Volume, centroid and inertia of the body that a mesh encloses.

use super::Mesh;
use nalgebra::{Matrix3, Point3, Vector3};

/// Mass properties of a body of density 1 (multiply by a density in g/mm³ to
/// get grams and g·mm²). All are exact for the flat-faced body up to rounding.
///
/// # Units
/// Volume mm³, centroid mm, second moments and inertia mm⁵.
///
/// # Signs
/// For a mesh turned inside out the volume, the second moments and the inertia
/// are negative and the centroid is the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MassProperties {
    /// Enclosed volume.
    pub volume: f64,
    /// Centre of the volume.
    pub centroid: Point3<f64>,
    /// ∫ d dᵀ dV with d the vector from the centroid: symmetric, axes of the mesh.
    pub second_moments: Matrix3<f64>,
}

impl MassProperties {
    /// Inertia tensor about the centroid, along the axes of the mesh:
    /// ∫ (d·d 1 − d dᵀ) dV. Off the diagonal stand the *negative* products of
    /// inertia, −∫ x y dV and so on.
    pub fn inertia(&self) -> Matrix3<f64> {
        Matrix3::from_diagonal_element(self.second_moments.trace()) - self.second_moments
    }

    /// Second moments about another point, in mm⁵ (parallel axes).
    pub fn second_moments_about(&self, point: &Point3<f64>) -> Matrix3<f64> {
        let d = self.centroid - point;
        self.second_moments + self.volume * d * d.transpose()
    }
}

impl Mesh {
    /// Mass properties of the enclosed body; `None` when it encloses no volume
    /// or a coordinate is not finite. Without meaning when the mesh is not closed.
    ///
    /// # Panics
    /// When an index is out of range.
    ///
    /// # References
    /// The divergence theorem as in B. Mirtich, "Fast and accurate computation
    /// of polyhedral mass properties", Journal of Graphics Tools 1(2), 1996,
    /// taken as a sum over the tetrahedra from a reference point to each
    /// triangle; their closed-form moments as in F. Tonon, "Explicit exact
    /// formulas for the 3-D tetrahedron inertia tensor", Journal of Mathematics
    /// and Statistics 1(1), 2005.
    pub fn mass_properties(&self) -> Option<MassProperties> {
        // The moments of a small body far from the origin are small differences
        // of large numbers: measure from the middle of the box instead.
        let reference = self.bounds()?.centre();
        let mut volume = Sum::default();
        let mut first = [Sum::default(); 3];
        let mut second = [Sum::default(); 6];
        for t in 0..self.triangles.len() {
            let [a, b, c] = self.corners(t).map(|p| p - reference);
            let six_volumes = a.dot(&b.cross(&c));
            let s: Vector3<f64> = a + b + c;
            volume.add(six_volumes);
            for k in 0..3 {
                first[k].add(six_volumes * s[k]);
            }
            for (sum, (i, j)) in second.iter_mut().zip(UPPER) {
                sum.add(six_volumes * (a[i] * a[j] + b[i] * b[j] + c[i] * c[j] + s[i] * s[j]));
            }
        }
        let volume = volume.total() / 6.0;
        if volume == 0.0 || !volume.is_finite() {
            return None;
        }
        let offset = Vector3::from(first.map(|sum| sum.total() / 24.0)) / volume;
        let mut about_reference = Matrix3::zeros();
        for (sum, (i, j)) in second.iter().zip(UPPER) {
            about_reference[(i, j)] = sum.total() / 120.0;
            about_reference[(j, i)] = about_reference[(i, j)];
        }
        Some(MassProperties {
            volume,
            centroid: reference + offset,
            second_moments: about_reference - volume * offset * offset.transpose(),
        })
    }
}

/// The six places of a symmetric matrix on and above the diagonal.
const UPPER: [(usize, usize); 6] = [(0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2)];

/// A sum that carries its rounding error along.
///
/// # References
/// A. Neumaier, "Rundungsfehleranalyse einiger Verfahren zur Summation
/// endlicher Summen", Zeitschrift für Angewandte Mathematik und Mechanik 54, 1974.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sum {
    sum: f64,
    lost: f64,
}

impl Sum {
    pub(super) fn add(&mut self, term: f64) {
        let sum = self.sum + term;
        self.lost += if self.sum.abs() >= term.abs() {
            (self.sum - sum) + term
        } else {
            (term - sum) + self.sum
        };
        self.sum = sum;
    }

    pub(super) fn total(&self) -> f64 {
        self.sum + self.lost
    }
}

#[cfg(test)]
mod tests {
    use super::super::AxisMap;
    use super::super::shapes::{cuboid, prism, sphere, torus};
    use super::*;
    use libm::{cos, sin};
    use nalgebra::{Isometry3, Rotation3};
    use proptest::prelude::*;
    use std::f64::consts::PI;

    fn close(a: f64, b: f64, relative: f64) {
        assert!(
            (a - b).abs() <= relative * b.abs().max(1e-300),
            "{a} against {b}"
        );
    }

    fn close_matrix(a: &Matrix3<f64>, b: &Matrix3<f64>, relative: f64) {
        assert!((a - b).norm() <= relative * b.norm(), "{a} against {b}");
    }

    #[test]
    fn box_against_the_handbook() {
        // m (b² + c²) / 12 for 20 x 30 x 40: 5.0e6, 4.0e6, 2.6e6 (closed form).
        let m = cuboid([0.0; 3], [20.0, 30.0, 40.0])
            .mass_properties()
            .unwrap();
        close(m.volume, 24000.0, 1e-14);
        assert!((m.centroid - Point3::new(10.0, 15.0, 20.0)).norm() < 1e-12);
        close_matrix(
            &m.inertia(),
            &Matrix3::from_diagonal(&Vector3::new(5.0e6, 4.0e6, 2.6e6)),
            1e-13,
        );
    }

    #[test]
    fn corner_tetrahedron_against_the_integrals() {
        // Over x, y, z >= 0, x + y + z <= 1 (Dirichlet's integral): V = 1/6,
        // centroid 1/4, ∫x² = 2/5! = 1/60, ∫xy = 1/5! = 1/120.
        let mesh = Mesh {
            points: vec![
                Point3::origin(),
                Point3::new(1.0, 0.0, 0.0),
                Point3::new(0.0, 1.0, 0.0),
                Point3::new(0.0, 0.0, 1.0),
            ],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        };
        let m = mesh.mass_properties().unwrap();
        close(m.volume, 1.0 / 6.0, 1e-15);
        assert!((m.centroid - Point3::new(0.25, 0.25, 0.25)).norm() < 1e-15);
        let about_corner = m.second_moments_about(&Point3::origin());
        let want = Matrix3::from_element(1.0 / 120.0)
            + Matrix3::from_diagonal_element(1.0 / 60.0 - 1.0 / 120.0);
        close_matrix(&about_corner, &want, 1e-14);
    }

    #[test]
    fn inscribed_spheres_have_their_exact_volumes() {
        // Sums of prismatoids; the volumes to ten digits also by trimesh.
        for (stacks, around, volume) in [
            (8, 16, 3.926596389),
            (16, 32, 4.121941741),
            (32, 64, 4.171995762),
            (64, 128, 4.184586432),
        ] {
            let m = sphere(1.0, stacks, around).mass_properties().unwrap();
            close(m.volume, volume, 2e-10);
            assert!(m.centroid.coords.norm() < 1e-14);
            // Two equal principal moments, by symmetry.
            close(m.inertia()[(0, 0)], m.inertia()[(1, 1)], 1e-13);
        }
        // And the limit: 2/5 m r² of a ball, second order in the facets.
        let m = sphere(1.0, 64, 128).mass_properties().unwrap();
        close(m.inertia()[(2, 2)], 0.4 * 4.0 / 3.0 * PI, 4e-3);
    }

    #[test]
    fn prism_has_the_exact_facet_factor() {
        for (n, factor) in [(16, 0.9744953584), (32, 0.9935868511), (64, 0.9983943930)] {
            let m = prism(10.0, 40.0, n).mass_properties().unwrap();
            close(m.volume, PI * 100.0 * 40.0 * factor, 1e-10);
            assert!((m.centroid - Point3::new(0.0, 0.0, 20.0)).norm() < 1e-12);
            // Regular n-gon: polar moment n r⁴ sin(2π/n) (2 + cos(2π/n)) / 12,
            // from the moments of its n triangles.
            let turn = 2.0 * PI / n as f64;
            let polar = n as f64 * 1e4 * sin(turn) * (2.0 + cos(turn)) / 12.0;
            close(m.inertia()[(2, 2)], 40.0 * polar, 1e-12);
            let across = 40.0 * polar / 2.0 + m.volume * 40.0 * 40.0 / 12.0;
            close(m.inertia()[(0, 0)], across, 1e-12);
        }
    }

    /// A shape without symmetry.
    fn lopsided() -> Mesh {
        let mut mesh = torus(7.0, 2.0, 24, 12);
        for (i, p) in mesh.points.iter_mut().enumerate() {
            p.x *= 1.7;
            p.z += 0.2 * p.x + 0.01 * (i % 5) as f64;
            p.y += 0.05 * p.x * p.x;
        }
        mesh
    }

    fn by_parry(mesh: &Mesh) -> (f64, Vector3<f64>, Matrix3<f64>) {
        use parry3d_f64::mass_properties::MassProperties as Oracle;
        use parry3d_f64::math::Vector;
        let points: Vec<_> = mesh
            .points
            .iter()
            .map(|p| Vector::new(p.x, p.y, p.z))
            .collect();
        let m = Oracle::from_trimesh(1.0, &points, &mesh.triangles);
        let c = m.local_com;
        let i = m.reconstruct_inertia_matrix().to_cols_array();
        (
            m.mass(),
            Vector3::new(c.x, c.y, c.z),
            Matrix3::from_column_slice(&i),
        )
    }

    #[test]
    fn agrees_with_an_independent_library() {
        for mesh in [
            lopsided(),
            cuboid([1.0, 2.0, 3.0], [4.0, 9.0, 5.0]),
            sphere(3.0, 9, 13),
        ] {
            let m = mesh.mass_properties().unwrap();
            let (volume, centroid, inertia) = by_parry(&mesh);
            close(m.volume, volume, 1e-12);
            assert!((m.centroid.coords - centroid).norm() < 1e-11);
            // The other library keeps principal axes, and loses some digits on the way.
            close_matrix(&m.inertia(), &inertia, 1e-8);
        }
    }

    #[test]
    fn nothing_enclosed_has_no_centroid() {
        assert_eq!(Mesh::default().mass_properties(), None);
        let flat = Mesh {
            points: vec![
                Point3::origin(),
                Point3::new(1.0, 0.0, 0.0),
                Point3::new(0.0, 1.0, 0.0),
            ],
            triangles: vec![[0, 1, 2], [0, 2, 1]],
        };
        assert_eq!(flat.mass_properties(), None);
    }

    #[test]
    fn far_from_the_origin() {
        let home = lopsided().mass_properties().unwrap();
        // Power-of-two shift and dyadic coordinates: moving is exact, so any
        // loss would be the integration's own.
        let mut mesh = lopsided();
        for p in &mut mesh.points {
            for k in 0..3 {
                p[k] = (p[k] * 4096.0).round() / 4096.0;
            }
        }
        let near = mesh.mass_properties().unwrap();
        let far_mesh = mesh.translated(&Vector3::new(1048576.0, -524288.0, 262144.0));
        let far = far_mesh.mass_properties().unwrap();
        close(far.volume, near.volume, 1e-14);
        close_matrix(&far.second_moments, &near.second_moments, 1e-13);
        close(near.volume, home.volume, 1e-3);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn moves_with_the_body(
            shift in prop::array::uniform3(-500.0..500.0f64),
            turn in prop::array::uniform3(-3.0..3.0f64),
        ) {
            let mesh = lopsided();
            let home = mesh.mass_properties().unwrap();
            let shift = Vector3::from(shift);
            let rotation = Rotation3::from_scaled_axis(Vector3::from(turn));
            let by = Isometry3::from_parts(shift.into(), rotation.into());
            let moved = mesh.transformed(&by).mass_properties().unwrap();
            close(moved.volume, home.volume, 1e-11);
            prop_assert!((moved.centroid - by.transform_point(&home.centroid)).norm() < 1e-9);
            let turned = rotation.matrix() * home.inertia() * rotation.matrix().transpose();
            close_matrix(&moved.inertia(), &turned, 1e-10);
        }

        #[test]
        fn mirror_image_and_inside_out(seed in prop::array::uniform3(-5.0..5.0f64)) {
            let mesh = lopsided().translated(&Vector3::from(seed));
            let home = mesh.mass_properties().unwrap();
            let image = mesh.clone().mapped(&AxisMap::MIRROR_Y).mass_properties().unwrap();
            close(image.volume, home.volume, 1e-13);
            prop_assert!((image.centroid.y + home.centroid.y).abs() < 1e-12);
            close(image.inertia()[(0, 1)], -home.inertia()[(0, 1)], 1e-11);
            let out = mesh.flipped().mass_properties().unwrap();
            close(out.volume, -home.volume, 1e-13);
            prop_assert!((out.centroid - home.centroid).norm() < 1e-12);
            close_matrix(&out.inertia(), &-home.inertia(), 1e-12);
        }
    }
}
