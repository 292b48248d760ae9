//! Plain solids that moulds are cut with.

use nalgebra::{Point3, Vector3};

pub(super) use crate::mesh::turned::turned;
use crate::mesh::{AxisMap, Bounds, Mesh, Solid, SolidError};

/// A turned solid about an upright axis through `foot`, through (height, radius) corners.
pub(super) fn turned_upright(foot: [f64; 2], corners: &[(f64, f64)], tolerance: f64) -> Mesh {
    turned(corners, tolerance)
        .mapped(&AxisMap::X_UP)
        .translated(&Vector3::new(foot[0], foot[1], 0.0))
}

/// Rectangles one above the other joined into a solid; each is flat, at its own z.
pub(super) fn stacked(levels: &[Bounds]) -> Mesh {
    let corners = |b: &Bounds| {
        let (p, q, z) = (b.min, b.max, b.min.z);
        [[p.x, p.y], [q.x, p.y], [q.x, q.y], [p.x, q.y]].map(|[x, y]| Point3::new(x, y, z))
    };
    let rings: Vec<Vec<Point3<f64>>> = levels.iter().map(|b| corners(b).to_vec()).collect();
    joined(&rings)
}

/// A deck standing on a wider flange, which is chamfered at its foot.
pub(super) fn stepped(flange: &Bounds, deck: &Bounds, chamfer: f64) -> Mesh {
    let at = |b: &Bounds, inset: f64, z: f64| Bounds {
        min: Point3::new(b.min.x + inset, b.min.y + inset, z),
        max: Point3::new(b.max.x - inset, b.max.y - inset, z),
    };
    stacked(&[
        at(flange, chamfer, flange.min.z),
        at(flange, 0.0, flange.min.z + chamfer),
        at(flange, 0.0, flange.max.z),
        at(deck, 0.0, flange.max.z),
        at(deck, 0.0, deck.max.z),
    ])
}

/// Convex rings of equally many points, counter-clockwise seen from above, joined from the
/// lowest up and closed by flat faces.
pub(super) fn joined(rings: &[Vec<Point3<f64>>]) -> Mesh {
    let Some(n) = rings.first().map(Vec::len) else {
        return Mesh::default();
    };
    let at = |ring: usize, i: usize| (ring * n + i % n) as u32;
    let mut mesh = Mesh {
        points: rings.concat(),
        triangles: Vec::new(),
    };
    let last = rings.len() - 1;
    for i in 1..n - 1 {
        mesh.triangles.push([at(0, 0), at(0, i + 1), at(0, i)]);
        mesh.triangles
            .push([at(last, 0), at(last, i), at(last, i + 1)]);
    }
    for ring in 0..last {
        for i in 0..n {
            let [a, b, c, d] = [
                at(ring, i),
                at(ring, i + 1),
                at(ring + 1, i + 1),
                at(ring + 1, i),
            ];
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh
}

/// Meshes as one solid.
pub(super) fn together(meshes: &[Mesh]) -> Result<Solid, SolidError> {
    let solids: Result<Vec<Solid>, _> = meshes.iter().map(Solid::try_from).collect();
    Solid::compose(&solids?)
}
