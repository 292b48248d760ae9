//! Plain shapes for the tests of this room.

use super::Mesh;
pub(crate) use super::cuboid::cuboid;
use libm::{cos, sin};
use nalgebra::Point3;
use std::f64::consts::PI;

/// Rings of `around` points about the z axis, from a pole below to a pole
/// above: `profile` gives (radius, z) of each ring, `poles` the two z.
pub(crate) fn spindle(profile: &[(f64, f64)], poles: (f64, f64), around: usize) -> Mesh {
    let n = around as u32;
    let mut points = vec![Point3::new(0.0, 0.0, poles.0)];
    for &(r, z) in profile {
        for k in 0..around {
            let turn = 2.0 * PI * k as f64 / around as f64;
            points.push(Point3::new(r * cos(turn), r * sin(turn), z));
        }
    }
    points.push(Point3::new(0.0, 0.0, poles.1));
    let last = points.len() as u32 - 1;
    let rings = profile.len() as u32;
    let at = |ring: u32, k: u32| 1 + ring * n + k % n;
    let mut triangles = Vec::new();
    for k in 0..n {
        triangles.push([0, at(0, k + 1), at(0, k)]);
        triangles.push([last, at(rings - 1, k), at(rings - 1, k + 1)]);
        for ring in 1..rings {
            let (a, b) = (at(ring - 1, k), at(ring - 1, k + 1));
            let (c, d) = (at(ring, k), at(ring, k + 1));
            triangles.push([a, b, c]);
            triangles.push([b, d, c]);
        }
    }
    Mesh { points, triangles }
}

/// Sphere inscribed in radius `r`, with poles on the z axis.
pub(crate) fn sphere(r: f64, stacks: usize, around: usize) -> Mesh {
    let profile: Vec<_> = (1..stacks)
        .map(|i| {
            let turn = PI * i as f64 / stacks as f64;
            (r * sin(turn), -r * cos(turn))
        })
        .collect();
    spindle(&profile, (-r, r), around)
}

/// Prism inscribed in a cylinder about the z axis, from z = 0 to `length`.
pub(crate) fn prism(r: f64, length: f64, around: usize) -> Mesh {
    spindle(&[(r, 0.0), (r, length)], (0.0, length), around)
}

pub(crate) fn torus(major: f64, minor: f64, around: usize, tube: usize) -> Mesh {
    let mut mesh = Mesh::default();
    for i in 0..around {
        let u = 2.0 * PI * i as f64 / around as f64;
        for j in 0..tube {
            let v = 2.0 * PI * j as f64 / tube as f64;
            let r = major + minor * cos(v);
            mesh.points
                .push(Point3::new(r * cos(u), r * sin(u), minor * sin(v)));
            let at = |i: usize, j: usize| ((i % around) * tube + j % tube) as u32;
            let (a, b, c, d) = (at(i, j), at(i + 1, j), at(i, j + 1), at(i + 1, j + 1));
            mesh.triangles.push([a, b, d]);
            mesh.triangles.push([a, d, c]);
        }
    }
    mesh
}
