//! Flat plates with a rounded rim.
//!
//! # How the rim is made
//! The rim is a stack of rows, each the outline moved inward by what the quarter
//! circle asks at its height. Edges move along their normals; an edge whose neighbours
//! close over it vanishes, and the corner of the neighbours takes its place, so that
//! every row follows from the one before corner by corner. At a corner that turns inward the
//! moved edges are drawn out until they meet, where a true parallel curve would be round.
//! A plate too narrow for that (an edge meets one that is not its neighbour) is refused.

use nalgebra::Point3;
use robust::{Coord, orient2d};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

use super::Mesh;

/// Share of the tolerance that a facet of the rim may stand off.
const SHARE: f64 = 0.75;
/// Facets of the rim's quarter: enough to look round, few enough for a thick slab.
const FACETS: std::ops::RangeInclusive<usize> = 3..=16;
/// Corners that bend less than this (about a micrometre off a chord of 1 mm), and points
/// closer together than it in mm, are left out.
const STRAIGHT: f64 = 1e-4;
/// Most corners of an outline: bounds the work, which goes as their square.
const MOST_CORNERS: usize = 4000;

/// Why there is no plate.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlateError {
    /// Fewer than three corners, or no area.
    #[error("the outline encloses nothing")]
    Empty,
    /// More corners than are worked with.
    #[error("the outline has too many corners")]
    TooMany,
    /// The outline crosses or touches itself.
    #[error("the outline crosses or touches itself near ({:.2}, {:.2})", at[0], at[1])]
    Crossing {
        /// Where.
        at: [f64; 2],
    },
    /// The outline is narrower somewhere than its rounded rim.
    #[error("the outline is too narrow for a rim rounded by {rounding} mm")]
    Narrow {
        /// The radius asked for.
        rounding: f64,
    },
}

/// A plate: the outline in x and z, thickened by half of `thickness` to both sides of
/// y = 0, its edges rounded by `rounding` (at most half the thickness). The outline
/// runs either way round, and is reached in full in the mid-plane, where the mesh has a row of
/// points exactly on y = 0. The mesh is its own mirror image there.
///
/// Facets of the rim straddle the true surface within `tolerance`. All in millimetres.
///
/// # Errors
/// If the outline is not one simple loop, or too narrow for its rim.
pub fn plate(
    outline: &[[f64; 2]],
    thickness: f64,
    rounding: f64,
    tolerance: f64,
) -> Result<Mesh, PlateError> {
    let outline = cleaned(outline)?;
    let rows = rows(thickness, rounding, tolerance);
    let narrow = PlateError::Narrow { rounding };

    let mut front = Front::new(&outline);
    let mut mesh = Mesh::default();
    // The two halves share the row in the mid-plane.
    let mut last: [Vec<u32>; 2] = [Vec::new(), Vec::new()];
    let mut face = Vec::new();
    for (i, &(offset, y)) in rows.iter().enumerate() {
        let before = front.edges.clone();
        front.advance(offset).ok_or(narrow)?;
        let points = if offset == 0.0 {
            // To the last bit, where an intersection of edges has rounding.
            outline.clone()
        } else {
            front.corners(offset).ok_or(narrow)?
        };
        if i > 0 && (crossing(&points).is_some() || area(&points) <= 0.0) {
            return Err(narrow);
        }
        // Which corner of this row each corner of the row before runs into: that of
        // the last edge, at or before its own, that is left.
        let into = front.heirs(&before);
        for (half, side) in [-1.0, 1.0].into_iter().enumerate() {
            if i == 0 && half == 1 {
                last[1] = last[0].clone();
                continue;
            }
            let start = mesh.points.len() as u32;
            mesh.points.extend(
                points
                    .iter()
                    .map(|p| Point3::new(p[0], side * y + 0.0, p[1])),
            );
            let ring: Vec<u32> = (0..points.len() as u32).map(|k| start + k).collect();
            if i > 0 {
                let n = before.len();
                for j in 0..n {
                    let k = (j + 1) % n;
                    let (a, b) = (last[half][j], last[half][k]);
                    let (c, d) = (ring[into[j]], ring[into[k]]);
                    push(&mut mesh, half, [a, b, d]);
                    if c != d {
                        push(&mut mesh, half, [a, d, c]);
                    }
                }
            }
            last[half] = ring;
        }
        face = points;
    }
    for t in triangulated(&face).ok_or(narrow)? {
        for (half, ring) in last.iter().enumerate() {
            push(&mut mesh, half, t.map(|i| ring[i]));
        }
    }
    Ok(mesh)
}

/// Adds a triangle that is counter-clockwise in the outline's plane, seen from y < 0.
fn push(mesh: &mut Mesh, half: usize, [a, b, c]: [u32; 3]) {
    mesh.triangles
        .push(if half == 0 { [a, b, c] } else { [a, c, b] });
}

/// (how far inward, how far from the mid-plane) of every row, from the mid-plane out.
fn rows(thickness: f64, rounding: f64, tolerance: f64) -> Vec<(f64, f64)> {
    let half = 0.5 * thickness;
    let mut rows = vec![(0.0, 0.0)];
    if rounding < half {
        rows.push((0.0, half - rounding));
    }
    if rounding > 0.0 {
        let sag = |n: usize| 1.0 - libm::cos(std::f64::consts::FRAC_PI_4 / n as f64);
        let mut n = *FACETS.start();
        while sag(n) * rounding > SHARE * tolerance && n < *FACETS.end() {
            n += 1;
        }
        for k in 1..n {
            let (sin, cos) = libm::sincos(std::f64::consts::FRAC_PI_2 * k as f64 / n as f64);
            let r = rounding * (1.0 + 0.5 * sag(n));
            rows.push((rounding - r * cos, half - rounding + r * sin));
        }
        rows.push((rounding, half));
    }
    rows
}

/// Twice the area, positive counter-clockwise.
fn area(points: &[[f64; 2]]) -> f64 {
    let n = points.len();
    (0..n)
        .map(|i| {
            let ([ax, ay], [bx, by]) = (points[i], points[(i + 1) % n]);
            ax * by - ay * bx
        })
        .sum()
}

/// The outline counter-clockwise, without repeated and straight corners.
fn cleaned(outline: &[[f64; 2]]) -> Result<Vec<[f64; 2]>, PlateError> {
    let mut points: Vec<[f64; 2]> = Vec::new();
    for &p in outline {
        let near = |q: &[f64; 2]| libm::hypot(p[0] - q[0], p[1] - q[1]) < STRAIGHT;
        if !points.last().is_some_and(near) {
            points.push(p);
        }
    }
    while points.len() > 1 {
        let (a, b) = (points[0], points[points.len() - 1]);
        if libm::hypot(a[0] - b[0], a[1] - b[1]) >= STRAIGHT {
            break;
        }
        points.pop();
    }
    loop {
        let n = points.len();
        if n < 3 {
            return Err(PlateError::Empty);
        }
        let straight = (0..n).find(|&i| {
            let (a, b, c) = (points[(i + n - 1) % n], points[i], points[(i + 1) % n]);
            let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
            let sin = (u[0] * v[1] - u[1] * v[0]).abs();
            let size = libm::hypot(u[0], u[1]) * libm::hypot(v[0], v[1]);
            sin < STRAIGHT * size && u[0] * v[0] + u[1] * v[1] > 0.0
        });
        match straight {
            Some(i) => {
                points.remove(i);
            }
            None => break,
        }
    }
    if points.len() > MOST_CORNERS {
        return Err(PlateError::TooMany);
    }
    if let Some(at) = crossing(&points) {
        return Err(PlateError::Crossing { at });
    }
    let area = area(&points);
    if area.abs() < 1e-6 {
        return Err(PlateError::Empty);
    }
    if area < 0.0 {
        points.reverse();
    }
    Ok(points)
}

/// A place where two edges that are no neighbours meet, or neighbours fold back.
fn crossing(points: &[[f64; 2]]) -> Option<[f64; 2]> {
    let n = points.len();
    let side = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        let at = |p: [f64; 2]| Coord { x: p[0], y: p[1] };
        orient2d(at(a), at(b), at(c))
    };
    for i in 0..n {
        let (a, b) = (points[i], points[(i + 1) % n]);
        let c = points[(i + 2) % n];
        let back = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) < 0.0;
        if a == b || (back && side(a, b, c) == 0.0) {
            return Some(b);
        }
        for j in i + 2..n {
            if (j + 1) % n == i {
                continue;
            }
            let (c, d) = (points[j], points[(j + 1) % n]);
            let apart =
                (0..2).any(|k| a[k].max(b[k]) < c[k].min(d[k]) || c[k].max(d[k]) < a[k].min(b[k]));
            if !apart
                && side(a, b, c) * side(a, b, d) <= 0.0
                && side(c, d, a) * side(c, d, b) <= 0.0
            {
                return Some(c);
            }
        }
    }
    None
}

/// An edge of the outline as a line: points p with normal · p = offset, normal inward.
#[derive(Clone, Copy)]
struct Line {
    normal: [f64; 2],
    offset: f64,
}

/// The edges that are left as all of them move inward.
struct Front {
    lines: Vec<Line>,
    /// Indices of the lines left, in order round the outline.
    edges: Vec<usize>,
}

impl Front {
    fn new(outline: &[[f64; 2]]) -> Self {
        let n = outline.len();
        let lines = (0..n)
            .map(|i| {
                let ([ax, ay], [bx, by]) = (outline[i], outline[(i + 1) % n]);
                let length = libm::hypot(bx - ax, by - ay);
                let normal = [(ay - by) / length, (bx - ax) / length];
                Line {
                    normal,
                    offset: normal[0] * ax + normal[1] * ay,
                }
            })
            .collect();
        Front {
            lines,
            edges: (0..n).collect(),
        }
    }

    /// Where two neighbouring edges meet: the point at no offset, and its motion by offset.
    /// `None` for edges that run back to back.
    fn corner(&self, i: usize, j: usize) -> Option<([f64; 2], [f64; 2])> {
        let (a, b) = (self.lines[i], self.lines[j]);
        let det = a.normal[0] * b.normal[1] - a.normal[1] * b.normal[0];
        let dot = a.normal[0] * b.normal[0] + a.normal[1] * b.normal[1];
        if det.abs() < 1e-9 || dot < -0.999_999 {
            return None;
        }
        let solve = |p: f64, q: f64| {
            [
                (p * b.normal[1] - q * a.normal[1]) / det,
                (q * a.normal[0] - p * b.normal[0]) / det,
            ]
        };
        Some((solve(a.offset, b.offset), solve(1.0, 1.0)))
    }

    /// Offset at which the edge at position `k` has no length left; infinite if it grows.
    fn end(&self, k: usize) -> Option<f64> {
        let n = self.edges.len();
        let (h, i, j) = (
            self.edges[(k + n - 1) % n],
            self.edges[k],
            self.edges[(k + 1) % n],
        );
        let ((p, u), (q, v)) = (self.corner(h, i)?, self.corner(i, j)?);
        let [nx, ny] = self.lines[i].normal;
        // Along the edge is the normal turned a quarter clockwise.
        let along = |a: [f64; 2], b: [f64; 2]| (b[0] - a[0]) * ny - (b[1] - a[1]) * nx;
        let (length, growth) = (along(p, q), along(u, v));
        Some(if growth >= 0.0 {
            f64::INFINITY
        } else {
            length / -growth
        })
    }

    /// Takes out every edge that vanishes before `offset`, in the order in which they do.
    /// `None` if nothing sensible is left.
    fn advance(&mut self, offset: f64) -> Option<()> {
        // An edge this short, in mm, is gone: rows must not have needles.
        const SHORT: f64 = 1e-5;
        loop {
            let mut first: Option<(f64, usize)> = None;
            for k in 0..self.edges.len() {
                let end = self.end(k)?;
                if end <= offset + SHORT && first.is_none_or(|f| end < f.0) {
                    first = Some((end, k));
                }
            }
            match first {
                Some((_, k)) if self.edges.len() > 3 => {
                    self.edges.remove(k);
                }
                Some(_) => return None,
                None => return Some(()),
            }
        }
    }

    /// The corners at an offset: corner k is the beginning of edge k.
    fn corners(&self, offset: f64) -> Option<Vec<[f64; 2]>> {
        let n = self.edges.len();
        (0..n)
            .map(|k| {
                let (p, u) = self.corner(self.edges[(k + n - 1) % n], self.edges[k])?;
                Some([p[0] + offset * u[0], p[1] + offset * u[1]])
            })
            .collect()
    }

    /// For each corner of an earlier front, the corner of this one that it runs into.
    fn heirs(&self, before: &[usize]) -> Vec<usize> {
        let n = self.edges.len();
        before
            .iter()
            .map(|&edge| {
                // The corner at the beginning of the next edge that is left.
                let k = self.edges.partition_point(|&e| e < edge);
                k % n
            })
            .collect()
    }
}

/// Triangles of a simple counter-clockwise polygon, through all its corners.
fn triangulated(points: &[[f64; 2]]) -> Option<Vec<[usize; 3]>> {
    let n = points.len();
    let mut mesh: ConstrainedDelaunayTriangulation<Point2<f64>> =
        ConstrainedDelaunayTriangulation::new();
    let mut handles = Vec::with_capacity(n);
    for p in points {
        handles.push(mesh.insert(Point2::new(p[0], p[1])).ok()?);
    }
    if mesh.num_vertices() != n {
        return None;
    }
    for i in 0..n {
        let (a, b) = (handles[i], handles[(i + 1) % n]);
        if !mesh.can_add_constraint(a, b) {
            return None;
        }
        mesh.add_constraint(a, b);
    }
    let place = |v: usize| handles.iter().position(|h| h.index() == v);
    let mut triangles = Vec::with_capacity(n.saturating_sub(2));
    for face in mesh.inner_faces() {
        let [a, b, c] = face.vertices().map(|v| v.fix().index());
        let t = [place(a)?, place(b)?, place(c)?];
        let centre = [0, 1].map(|k| t.iter().map(|&i| points[i][k]).sum::<f64>() / 3.0);
        if inside(points, centre) {
            triangles.push(t);
        }
    }
    // What a simple polygon has, however it is cut.
    (triangles.len() + 2 == n).then_some(triangles)
}

/// Whether a point lies in a polygon, by crossings of a ray.
fn inside(points: &[[f64; 2]], [x, y]: [f64; 2]) -> bool {
    let n = points.len();
    (0..n)
        .filter(|&i| {
            let ([ax, ay], [bx, by]) = (points[i], points[(i + 1) % n]);
            (ay > y) != (by > y) && x < ax + (bx - ax) * (y - ay) / (by - ay)
        })
        .count()
        % 2
        == 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Volume of a plate whose edges all outlive the rim: by Steiner's formula for the
    /// inward parallel with mitred corners, A(d) = A − P d + d² Σ tan(turn/2) (Schneider,
    /// Convex Bodies, 4.2, with corners for arcs), integrated over the quarter circle.
    fn exact(outline: &[[f64; 2]], thickness: f64, r: f64) -> f64 {
        let n = outline.len();
        let (mut perimeter, mut corners) = (0.0, 0.0);
        for i in 0..n {
            let (a, b, c) = (outline[i], outline[(i + 1) % n], outline[(i + 2) % n]);
            let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
            perimeter += libm::hypot(u[0], u[1]);
            let turn = libm::atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]);
            corners += libm::tan(0.5 * turn);
        }
        let area = 0.5 * area(outline);
        let first = r * r * (1.0 - PI / 4.0);
        let second = r * r * r * (5.0 / 3.0 - PI / 2.0);
        area * thickness + 2.0 * (-perimeter * first + corners * second)
    }

    const DART: [[f64; 2]; 5] = [
        [0.0, 0.0],
        [20.0, 0.0],
        [26.0, 12.0],
        [15.0, 6.0],
        [9.0, 9.0],
    ];

    #[test]
    fn has_its_closed_volume() {
        for (thickness, rounding) in [(2.0, 1.0), (2.0, 0.4), (3.0, 0.0), (1.0, 0.5)] {
            let mesh = plate(&DART, thickness, rounding, 0.001).unwrap();
            mesh.check().unwrap();
            let (v, exact) = (mesh.volume(), exact(&DART, thickness, rounding));
            assert!((v - exact).abs() < 0.001 * mesh.area(), "{v} {exact}");
            let b = mesh.bounds().unwrap();
            assert_eq!((b.min.y, b.max.y), (-0.5 * thickness, 0.5 * thickness));
            assert_eq!((b.max.x, b.max.z), (26.0, 12.0));
        }
    }

    #[test]
    fn rim_rounder_than_the_corners_swallows_their_edges() {
        // A disc of 5 mm with a tip rounded by 0.3 mm: its arc is gone 0.3 mm inward.
        let mut outline = Vec::new();
        for k in 0..40 {
            let (s, c) = libm::sincos(PI * (0.25 + 1.5 * f64::from(k) / 39.0));
            outline.push([5.0 * c, 5.0 * s]);
        }
        for k in 0..12 {
            let (s, c) = libm::sincos(PI * (-0.24 + 0.48 * f64::from(k) / 11.0));
            outline.push([6.6 + 0.3 * c, 0.3 * s]);
        }
        let mesh = plate(&outline, 2.0, 1.0, 0.02).unwrap();
        mesh.check().unwrap();
        // Both ways round, and turned: the same plate.
        let reversed: Vec<_> = outline.iter().rev().copied().collect();
        let other = plate(&reversed, 2.0, 1.0, 0.02).unwrap();
        assert!((other.volume() / mesh.volume() - 1.0).abs() < 1e-9);
        let (s, c) = libm::sincos(0.7);
        let turned: Vec<_> = outline
            .iter()
            .map(|p| [c * p[0] - s * p[1], s * p[0] + c * p[1]])
            .collect();
        let turned = plate(&turned, 2.0, 1.0, 0.02).unwrap();
        turned.check().unwrap();
        assert!((turned.volume() / mesh.volume() - 1.0).abs() < 1e-6);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let bow = [[0.0, 0.0], [4.0, 4.0], [4.0, 0.0], [0.0, 4.0]];
        assert!(matches!(
            plate(&bow, 1.0, 0.5, 0.05),
            Err(PlateError::Crossing { .. })
        ));
        assert_eq!(plate(&bow[..2], 1.0, 0.5, 0.05), Err(PlateError::Empty));
        let strip = [[0.0, 0.0], [20.0, 0.0], [20.0, 1.9], [0.0, 1.9]];
        assert!(matches!(
            plate(&strip, 2.0, 1.0, 0.05),
            Err(PlateError::Narrow { .. })
        ));
        plate(&strip, 2.0, 0.9, 0.05).unwrap().check().unwrap();
        // A waist narrower than the rim, between two wide ends.
        let waist = [
            [0.0, 0.0],
            [10.0, 4.5],
            [20.0, 0.0],
            [20.0, 10.0],
            [10.0, 5.5],
            [0.0, 10.0],
        ];
        assert!(matches!(
            plate(&waist, 2.0, 1.0, 0.05),
            Err(PlateError::Narrow { .. })
        ));
        plate(&waist, 2.0, 0.3, 0.05).unwrap().check().unwrap();
    }
}
