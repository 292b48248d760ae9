//! A box as a mesh.

use nalgebra::Point3;

use super::{Bounds, Mesh};

/// The box between two corners, every coordinate of the first below that of the second.
pub(crate) fn cuboid(min: [f64; 3], max: [f64; 3]) -> Mesh {
    let corner =
        |i: usize| Point3::from([0, 1, 2].map(|k| if i >> k & 1 == 1 { max[k] } else { min[k] }));
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

impl Bounds {
    /// The box as a mesh.
    pub fn to_mesh(&self) -> Mesh {
        cuboid(self.min.coords.into(), self.max.coords.into())
    }
}
