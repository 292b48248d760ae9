//! Turned solids and rings of a few corners.

use nalgebra::Point3;

use super::{Mesh, Ring, loft};
use crate::curve::Section;

/// A turned solid about the x axis through (x, radius) corners, closed by flat
/// faces, its facets straddling the true surface within `tolerance`.
pub(crate) fn turned(corners: &[(f64, f64)], tolerance: f64) -> Mesh {
    let round = Section::new(2.0);
    let widest = corners.iter().map(|c| c.1).fold(0.0, f64::max);
    let mut quarter = 3;
    // Half the sag is outside, half inside.
    while round.sag(quarter) * widest > tolerance && quarter < 256 {
        quarter += 1;
    }
    let out = 1.0 + 0.5 * round.sag(quarter);
    let rings: Vec<Ring<'_>> = corners
        .iter()
        .map(|&(x, r)| Ring {
            x,
            up: r * out,
            down: r * out,
            half_width: r * out,
            quarter,
            section: &round,
        })
        .collect();
    loft(corners[0].0, &rings, corners[corners.len() - 1].0)
}

/// A closed band round the x axis: `profile` is its cross-section, (x, radius) counter-clockwise
/// with x to the right and the radius up, away from the axis everywhere. At each of `4 * quarter` places round the axis,
/// beginning at +y, `shift` gives how far it is moved along x.
pub(crate) fn band(
    profile: &[(f64, f64)],
    quarter: usize,
    shift: impl Fn([f64; 2]) -> f64,
) -> Mesh {
    let unit = Section::circle(quarter);
    let (count, around) = (profile.len(), 4 * quarter);
    let mut mesh = Mesh::default();
    for j in 0..around {
        let i = j % quarter;
        let [a, b] = unit[i];
        let [y, z] = match j / quarter {
            0 => [a, b],
            1 => [-b, a],
            2 => [-a, -b],
            _ => [b, -a],
        };
        let moved = shift([y, z]);
        for &(x, r) in profile {
            mesh.points
                .push(Point3::new(x + moved, r * y + 0.0, r * z + 0.0));
        }
        let at = |j: usize, k: usize| ((j % around) * count + k % count) as u32;
        for k in 0..count {
            let [p, q, r, s] = [at(j, k), at(j, k + 1), at(j + 1, k + 1), at(j + 1, k)];
            mesh.triangles.extend([[p, q, r], [p, r, s]]);
        }
    }
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_is_closed_and_outward() {
        let profile = [(0.0, 3.0), (2.0, 3.0), (2.0, 5.0), (0.0, 5.0)];
        let mesh = band(&profile, 16, |_| 0.0);
        mesh.check().unwrap();
        // Pappus; polygons of 64 sides have sin(2π/64)/(2π/64) of the circle's area.
        let exact = std::f64::consts::PI * (25.0 - 9.0) * 2.0 * 0.998_394;
        assert!((mesh.volume() / exact - 1.0).abs() < 1e-5);
        let bent = band(&profile, 16, |[y, _]| -0.2 * y * y);
        bent.check().unwrap();
        assert!((bent.volume() - mesh.volume()).abs() < 1e-9);
    }
}
