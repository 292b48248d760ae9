//! From the bait as drawn to the master and the cavity it comes out of.

use nalgebra::{Matrix3, SymmetricEigen, Vector3};

use super::coats::{Bare, bare};
use crate::mesh::Mesh;
use crate::spec::Allowances;

/// Directions in which the faces round a corner agree to less than this share are left
/// alone: the square of the tangent of half the angle between faces that still
/// count as an edge, about 16°.
const EDGE: f64 = 0.02;

impl Allowances {
    /// The cavity of a printed mould around a bait of this surface.
    pub fn cavity(&self, bait: &Mesh) -> Mesh {
        bait.clone().scaled(self.cavity_scale())
    }

    /// The surface a master is printed from: larger by the shrinkage of plastic, silicone
    /// and print, and smaller by its coats; with the places of the bait, as drawn, where it is off
    /// by more than `within`, in mm. `None` if no sound surface was found.
    ///
    /// Where detail is finer than the coats, facets move by less than the coats rather than
    /// turn over.
    pub(crate) fn bared(&self, bait: &Mesh, within: f64) -> Option<Bare> {
        let scale = self.pattern_scale();
        let mut bare = bare(&bait.clone().scaled(scale), self.coating(), within)?;
        for (place, _) in &mut bare.off {
            *place /= scale;
        }
        bare.mesh = bare.mesh.scaled(self.print_scale());
        Some(bare)
    }
}

/// How a point of a surface goes inward.
pub(super) struct Move {
    /// To where the moved planes of its facets meet.
    pub(super) step: Vector3<f64>,
    /// Takes what a vector has along all these planes: a move by that stays in them.
    pub(super) free: Matrix3<f64>,
}

/// The surface moved inward by a thickness, outward by a negative one: every point to where the moved planes of its
/// facets meet, in the sense of least squares weighted by the facets' angles there.
pub(crate) fn inset(mut mesh: Mesh, thickness: f64) -> Mesh {
    if thickness == 0.0 {
        return mesh;
    }
    let moves = moves(&mesh, thickness);
    for (p, by) in mesh.points.iter_mut().zip(moves) {
        *p += by.step;
    }
    mesh
}

/// How every point goes inward by a thickness, see [`inset`]. Points on the plane y = 0 stay on it.
pub(super) fn moves(mesh: &Mesh, thickness: f64) -> Vec<Move> {
    let mut planes = vec![(Matrix3::zeros(), Vector3::zeros()); mesh.points.len()];
    for t in &mesh.triangles {
        let p = t.map(|i| mesh.points[i as usize]);
        let Some(normal) = (p[1] - p[0]).cross(&(p[2] - p[0])).try_normalize(0.0) else {
            continue;
        };
        for k in 0..3 {
            let (a, b) = (p[(k + 1) % 3] - p[k], p[(k + 2) % 3] - p[k]);
            let angle = libm::atan2(a.cross(&b).norm(), a.dot(&b));
            let (outer, sum) = &mut planes[t[k] as usize];
            *outer += normal * normal.transpose() * angle;
            *sum += normal * angle;
        }
    }
    let points = mesh.points.iter().zip(planes);
    points
        .map(|(p, (outer, sum))| {
            let eigen = SymmetricEigen::new(outer);
            let most = eigen.eigenvalues.amax();
            let (mut step, mut free) = (Vector3::zeros(), Matrix3::identity());
            for k in 0..3 {
                let (value, along) = (eigen.eigenvalues[k], eigen.eigenvectors.column(k));
                if value > EDGE * most {
                    step -= along * (thickness * along.dot(&sum) / value);
                    free -= along * along.transpose();
                }
            }
            if p.y == 0.0 {
                step.y = 0.0;
            }
            Move { step, free }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::body::Body;
    use crate::spec::{self, Format};

    #[test]
    fn published_chain_of_silicone_and_plastic() {
        // Product of 1/(1 − s), s after the moulding standards' definition
        // (mould − part)/mould: silicone 0.1 %, PVC 1.5 %.
        let chain = Allowances {
            plastic: 0.015,
            silicone: 0.001,
            ..Default::default()
        };
        assert!((chain.pattern_scale() - 1.016_244_67).abs() < 5e-9);
        assert!((1.0 / chain.pattern_scale() - 0.984_015).abs() < 1e-12);
        // A printed mould has no silicone in it.
        assert!((chain.cavity_scale() - 1.015_228_4).abs() < 5e-8);
    }

    #[test]
    fn walking_the_chain_forward_gives_the_bait_as_drawn() {
        let text = "[body]\nlength = 60\noutline = [{ at = 0, diameter = 8 }, \
            { at = 20, diameter = 14, corner = true }, { at = 40, diameter = 12 }]\n\
            [material]\nshrinkage = { plastic = 1.5, silicone = 0.3, print = 0.4 }\n\
            coats = [{ name = \"primer\", thickness = 0.04, count = 3 }, { thickness = 0.03 }]\n";
        let design = spec::design(text, Format::Toml).unwrap();
        let allow = &design.allowances;
        assert!((allow.coating() - 0.15).abs() < 1e-12);
        let body = Body::from_design(&design);
        let bait = body.mesh(0.01).unwrap();
        let file = allow.bared(&bait, f64::INFINITY).unwrap().mesh;
        file.check().unwrap();
        // Off the printer, painted, moulded in silicone, cast in plastic.
        let printed = file.scaled(1.0 - 0.004);
        let painted = inset(printed.clone(), -0.15);
        let cast = painted.scaled((1.0 - 0.003) * (1.0 - 0.015));
        let size = |m: &Mesh| m.bounds().unwrap().size();
        let (drawn, got) = (size(&bait), size(&cast));
        // The flat nose is back to the last bit of the solver, girths to the tolerance.
        assert!((drawn - got).amax() < 0.01, "{drawn} {got}");
        assert!((cast.volume() / bait.volume() - 1.0).abs() < 1e-3);
        // Paint takes its thickness off the diameter, twice.
        let girth = size(&bait.clone().scaled(allow.pattern_scale())).y - size(&printed).y;
        assert!((girth - 0.3).abs() < 0.005, "{girth}");
        // The printed mould's way.
        let cavity = allow.cavity(&bait).scaled((1.0 - 0.004) * (1.0 - 0.015));
        assert!((size(&cavity) - drawn).amax() < 1e-12);
    }

    #[test]
    fn a_ball_loses_a_shell() {
        let radius = |x: f64| (x * (20.0 - x)).max(0.0).sqrt();
        let round = crate::spec::End::Round;
        let outline = crate::curve::Outline::fit(20.0, round, round, 1e-9, radius).unwrap();
        let ball = Body::revolved(outline, round, round).mesh(0.002).unwrap();
        let bare = inset(ball.clone(), 0.2);
        bare.check().unwrap();
        let share = libm::pow(9.8 / 10.0, 3.0);
        assert!((bare.volume() / ball.volume() - share).abs() < 2e-5);
    }
}
