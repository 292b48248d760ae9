//! Plain solids that moulds are cut with.

use nalgebra::{Point3, Vector3};

use crate::curve::Section;
use crate::mesh::{AxisMap, Bounds, Mesh, Ring, loft};

/// A box.
pub(super) fn cuboid(b: &Bounds) -> Mesh {
    let corner = |i: usize| {
        let pick = |k: usize| if i >> k & 1 == 1 { b.max[k] } else { b.min[k] };
        Point3::new(pick(0), pick(1), pick(2))
    };
    Mesh {
        points: (0..8).map(corner).collect(),
        triangles: vec![
            [0, 2, 1],
            [1, 2, 3],
            [4, 5, 6],
            [5, 7, 6],
            [0, 1, 4],
            [1, 5, 4],
            [2, 6, 3],
            [3, 6, 7],
            [0, 4, 2],
            [2, 4, 6],
            [1, 3, 5],
            [3, 7, 5],
        ],
    }
}

/// A turned solid about the x axis through (x, radius) corners, closed by flat
/// faces, its facets straddling the true surface within `tolerance`.
pub(super) fn turned(corners: &[(f64, f64)], tolerance: f64) -> Mesh {
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

/// A turned solid about an upright axis through `foot`, through (height, radius) corners.
pub(super) fn turned_upright(foot: [f64; 2], corners: &[(f64, f64)], tolerance: f64) -> Mesh {
    turned(corners, tolerance)
        .mapped(&AxisMap::X_UP)
        .translated(&Vector3::new(foot[0], foot[1], 0.0))
}
