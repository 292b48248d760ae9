//! Plain solids that moulds are cut with.

use nalgebra::Vector3;

pub(super) use crate::mesh::turned::turned;
use crate::mesh::{AxisMap, Mesh};

/// A turned solid about an upright axis through `foot`, through (height, radius) corners.
pub(super) fn turned_upright(foot: [f64; 2], corners: &[(f64, f64)], tolerance: f64) -> Mesh {
    turned(corners, tolerance)
        .mapped(&AxisMap::X_UP)
        .translated(&Vector3::new(foot[0], foot[1], 0.0))
}
