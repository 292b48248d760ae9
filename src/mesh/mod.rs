//! Indexed triangle meshes: their invariants and mass properties.

mod loft;

use nalgebra::Point3;

pub(crate) use loft::triangle_count;
pub use loft::{Ring, loft};

/// A triangle mesh. Triangles are counter-clockwise seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Corner points, in millimetres.
    pub points: Vec<Point3<f64>>,
    /// Three indices into `points` a triangle.
    pub triangles: Vec<[u32; 3]>,
}
