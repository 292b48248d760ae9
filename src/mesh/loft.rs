//! Closed surfaces through rings of points around the x axis.

use nalgebra::Point3;

use super::Mesh;
use crate::curve::Section;

/// One ring: a section stretched to its half-axes, in the plane at x.
#[derive(Clone, Copy, Debug)]
pub struct Ring<'a> {
    /// Place along the axis.
    pub x: f64,
    /// Height above the axis (z ≥ 0).
    pub up: f64,
    /// Depth below it (z ≤ 0).
    pub down: f64,
    /// Half-width (|y|).
    pub half_width: f64,
    /// Facets in each quarter of the ring.
    pub quarter: usize,
    /// Shape that is stretched.
    pub section: &'a Section,
}

impl Ring<'_> {
    /// The ring shrunk towards the axis.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Ring {
            up: self.up * factor,
            down: self.down * factor,
            half_width: self.half_width * factor,
            ..self
        }
    }
}

/// Number of triangles [`loft`] makes of rings with these numbers of facets a quarter.
pub(crate) fn triangle_count(quarters: impl IntoIterator<Item = usize>) -> usize {
    // Each ring is one side of two strips or fans.
    quarters.into_iter().map(|q| 2 * 4 * q).sum()
}

/// Joins rings into a closed surface, from a point on the axis at `nose` through all
/// rings to a point on the axis at `tail`.
///
/// Every ring has points exactly on y = 0 and z = 0. The triangles are laid so that
/// the mesh is its own mirror image in y = 0, and in z = 0 where up and down are equal.
///
/// Rings follow one another by rising x, or at equal x by growing or shrinking in all
/// directions; neighbours have the same number of facets, or one has twice the
/// other's. The result is then closed and, seen from outside, counter-clockwise.
///
/// # Panics
/// If there is no ring, or neighbours' facets are neither equal nor doubled.
pub fn loft(nose: f64, rings: &[Ring<'_>], tail: f64) -> Mesh {
    assert!(!rings.is_empty(), "a loft needs a ring");
    let mut mesh = Mesh::default();
    mesh.points.push(Point3::new(nose, 0.0, 0.0));
    let mut previous: Option<(usize, usize)> = None;
    for ring in rings {
        let start = mesh.points.len();
        push_ring(&mut mesh.points, ring);
        let this = (start, 4 * ring.quarter);
        match previous {
            None => {
                for j in 0..this.1 {
                    mesh.triangles
                        .push(triangle(0, at(this, j + 1), at(this, j)));
                }
            }
            Some(before) => push_strip(&mut mesh.triangles, before, this),
        }
        previous = Some(this);
    }
    if let Some(last) = previous {
        let tip = mesh.points.len();
        mesh.points.push(Point3::new(tail, 0.0, 0.0));
        for j in 0..last.1 {
            mesh.triangles
                .push(triangle(at(last, j), at(last, j + 1), tip));
        }
    }
    mesh
}

/// Points of a ring, counter-clockwise seen from the tail, beginning at +y.
fn push_ring(points: &mut Vec<Point3<f64>>, ring: &Ring<'_>) {
    let [back, belly] = ring.section.points(ring.x, ring.quarter);
    let n = ring.quarter;
    for j in 0..4 * n {
        let half = if j <= 2 * n { &back } else { &belly };
        let [a, b] = half[if (j / n).is_multiple_of(2) {
            j % n
        } else {
            n - j % n
        }];
        let y = if j < n || j > 3 * n { a } else { -a };
        let height = if j <= 2 * n { ring.up } else { -ring.down };
        // Adding zero turns −0 into 0, which text formats would otherwise show.
        points.push(Point3::new(
            ring.x,
            y * ring.half_width + 0.0,
            b * height + 0.0,
        ));
    }
}

/// Index of the j-th point of a ring (start, length).
fn at((start, length): (usize, usize), j: usize) -> usize {
    start + j % length
}

fn triangle(a: usize, b: usize, c: usize) -> [u32; 3] {
    // Callers bound the number of triangles well below u32.
    [a as u32, b as u32, c as u32]
}

/// Triangles between two neighbouring rings.
fn push_strip(out: &mut Vec<[u32; 3]>, a: (usize, usize), b: (usize, usize)) {
    if a.1 == b.1 {
        for j in 0..a.1 {
            let corners = [at(a, j), at(a, j + 1), at(b, j + 1), at(b, j)];
            let [p, q, r, s] = corners;
            // The diagonal turns over at each quarter, for symmetry.
            if (4 * j / a.1).is_multiple_of(2) {
                out.extend([triangle(p, q, r), triangle(p, r, s)]);
            } else {
                out.extend([triangle(p, q, s), triangle(q, r, s)]);
            }
        }
    } else if 2 * a.1 == b.1 {
        for j in 0..a.1 {
            let (p, q) = (at(a, j), at(a, j + 1));
            let (s, m, r) = (at(b, 2 * j), at(b, 2 * j + 1), at(b, 2 * j + 2));
            out.extend([triangle(p, q, m), triangle(p, m, s), triangle(q, r, m)]);
        }
    } else {
        assert_eq!(a.1, 2 * b.1, "neighbouring rings differ by more than two");
        for j in 0..b.1 {
            let (p, m, q) = (at(a, 2 * j), at(a, 2 * j + 1), at(a, 2 * j + 2));
            let (s, r) = (at(b, j), at(b, j + 1));
            out.extend([triangle(p, m, s), triangle(m, r, s), triangle(m, q, r)]);
        }
    }
}
