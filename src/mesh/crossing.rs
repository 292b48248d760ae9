//! Which triangles of a mesh meet where they must not.
//!
//! Two triangles of a sound mesh have nothing in common, or one corner, or one
//! edge. With corners told apart by position, the number of corners in common
//! leaves four cases, each decided exactly (all triangles have an area):
//!
//! - **Three**: the same triangle twice. Always a fault.
//! - **Two**, an edge ab with the other corners c and d: the planes of the
//!   triangles meet in the line ab, so there is a fault only if c and d lie in
//!   one plane with ab *and* on the same side of it: folded flat.
//! - **One**, a: suppose both triangles contain another point q. Each
//!   contains the whole piece of the ray from a through q up to where the ray
//!   leaves it, and it leaves a triangle through the edge opposite to a. So the
//!   nearer of the two exits lies on one opposite edge and in the other
//!   triangle: it is enough to test each opposite edge against the other
//!   triangle. This also covers triangles in one plane.
//! - **None**: the common part is convex. If it is not empty it has an
//!   extreme point, and that lies on an edge of one of the two. So six tests of
//!   an edge against the other triangle decide, in one plane or not. Closed
//!   sets: a corner that touches a face is a fault, as is edge through edge.
//!
//! An edge pq against a triangle abc: if p and q lie strictly on one side of
//! the plane, they do not meet. If both lie in the plane, the question is one of
//! the plane: p or q inside, or pq meets a side; answered in a projection
//! along an axis (dropping a coordinate loses no bit) in which abc has an area.
//! Otherwise the line pq meets the plane in one point, which is inside exactly
//! when the volumes pqab, pqbc and pqca have no two opposite signs.
//!
//! # References
//! Every decision is the sign of a determinant, taken exactly by the crate
//! `robust`: J. R. Shewchuk, "Adaptive precision floating-point arithmetic and
//! fast robust geometric predicates", Discrete & Computational Geometry 18,
//! 1997. Exact as long as nothing underflows: differences of coordinates that
//! are neither 0 nor below about 1e-100 mm.

use nalgebra::{Point2, Point3};
use robust::{Coord, Coord3D};

type Triangle = [Point3<f64>; 3];

/// Six times the volume of the tetrahedron abcd, right in sign: positive when
/// d lies below the plane in which a, b, c run counter-clockwise seen from above.
fn orient(a: &Point3<f64>, b: &Point3<f64>, c: &Point3<f64>, d: &Point3<f64>) -> f64 {
    // Faces along an axis are common, and the adaptive predicate would take its
    // slowest path to find the zero.
    if (0..3).any(|k| a[k] == b[k] && b[k] == c[k] && c[k] == d[k]) {
        return 0.0;
    }
    let [a, b, c, d] = [a, b, c, d].map(|p| Coord3D {
        x: p.x,
        y: p.y,
        z: p.z,
    });
    robust::orient3d(a, b, c, d)
}

/// Twice the area of abc, right in sign: positive when counter-clockwise.
pub(super) fn orient_flat(a: &Point2<f64>, b: &Point2<f64>, c: &Point2<f64>) -> f64 {
    let [a, b, c] = [a, b, c].map(|p| Coord { x: p.x, y: p.y });
    robust::orient2d(a, b, c)
}

pub(super) fn drop_axis(p: &Point3<f64>, axis: usize) -> Point2<f64> {
    Point2::new(p[(axis + 1) % 3], p[(axis + 2) % 3])
}

/// The axis along which the triangle is seen as large as can be; `None` when
/// its corners lie on one line, exactly.
pub(super) fn widest_axis(t: &Triangle) -> Option<usize> {
    let normal = (t[1] - t[0]).cross(&(t[2] - t[0]));
    let mut axes = [0, 1, 2];
    axes.sort_by(|&i, &j| normal[j].abs().total_cmp(&normal[i].abs()));
    axes.into_iter().find(|&axis| {
        let [a, b, c] = t.map(|p| drop_axis(&p, axis));
        orient_flat(&a, &b, &c) != 0.0
    })
}

/// Side of the plane of `t` on which `p` lies, as the sign of the result.
pub(super) fn side(t: &Triangle, p: &Point3<f64>) -> f64 {
    orient(&t[0], &t[1], &t[2], p)
}

fn opposite(signs: [f64; 3]) -> bool {
    signs.iter().any(|&s| s > 0.0) && signs.iter().any(|&s| s < 0.0)
}

/// A point near the middle of what edge and triangle share; `sides` are those
/// of p and q.
fn edge_meets(
    p: &Point3<f64>,
    q: &Point3<f64>,
    sides: [f64; 2],
    t: &Triangle,
) -> Option<Point3<f64>> {
    let [sp, sq] = sides;
    if (sp > 0.0 && sq > 0.0) || (sp < 0.0 && sq < 0.0) {
        return None;
    }
    if sp == 0.0 && sq == 0.0 {
        return edge_meets_flat(p, q, t);
    }
    let [a, b, c] = t;
    if opposite([orient(p, q, a, b), orient(p, q, b, c), orient(p, q, c, a)]) {
        return None;
    }
    Some(p + (q - p) * (sp / (sp - sq)))
}

/// As [`edge_meets`], with everything in one plane.
fn edge_meets_flat(p: &Point3<f64>, q: &Point3<f64>, t: &Triangle) -> Option<Point3<f64>> {
    let axis = widest_axis(t)?;
    let flat = t.map(|c| drop_axis(&c, axis));
    let [fp, fq] = [p, q].map(|c| drop_axis(c, axis));
    let inside = |x: &Point2<f64>| {
        !opposite([0, 1, 2].map(|k| orient_flat(&flat[k], &flat[(k + 1) % 3], x)))
    };
    if inside(&fp) {
        return Some(*p);
    }
    if inside(&fq) {
        return Some(*q);
    }
    // With both ends outside, the edge enters and leaves through two sides; a
    // side along the line pq is met together with its neighbours.
    for k in 0..3 {
        let (a, b) = (&flat[k], &flat[(k + 1) % 3]);
        let (sa, sb) = (orient_flat(&fp, &fq, a), orient_flat(&fp, &fq, b));
        let (sp, sq) = (orient_flat(a, b, &fp), orient_flat(a, b, &fq));
        let apart = |x: f64, y: f64| (x > 0.0 && y > 0.0) || (x < 0.0 && y < 0.0);
        if apart(sa, sb) || apart(sp, sq) || (sp == 0.0 && sq == 0.0) {
            continue;
        }
        return Some(p + (q - p) * (sp / (sp - sq)));
    }
    None
}

/// Whether two triangles of one plane are told apart by a side of one of them: all corners of the
/// other but the one they share (`shared`, as the corner's number in each) lie strictly beyond it.
/// Convex, they have nothing more in common then. Flat faces are full of such pairs, and this is the
/// shortest way to settle them; where it says no, the exact tests decide.
fn apart_flat(t: &Triangle, u: &Triangle, shared: Option<[usize; 2]>) -> bool {
    let Some(axis) = widest_axis(t) else {
        return false;
    };
    let [t, u] = [t, u].map(|corners| corners.map(|p| drop_axis(&p, axis)));
    let beyond = |t: &[Point2<f64>; 3], u: &[Point2<f64>; 3], shared: Option<[usize; 2]>| {
        let way = orient_flat(&t[0], &t[1], &t[2]);
        (0..3).any(|k| {
            let n = (k + 1) % 3;
            let of_both = shared.is_none_or(|[own, _]| own == k || own == n);
            of_both
                && (0..3).all(|j| {
                    let outside = || way * orient_flat(&t[k], &t[n], &u[j]) < 0.0;
                    shared.is_some_and(|[_, other]| other == j) || outside()
                })
        })
    };
    beyond(&t, &u, shared) || beyond(&u, &t, shared.map(|[a, b]| [b, a]))
}

/// Where two triangles meet although they must not; `None` when they are
/// sound neighbours or apart. `ids` tell the corners apart by position.
/// Triangles without an area (exactly) must not be passed in.
pub(super) fn contact(
    t: &Triangle,
    t_ids: [u32; 3],
    u: &Triangle,
    u_ids: [u32; 3],
) -> Option<Point3<f64>> {
    let partner = t_ids.map(|id| u_ids.iter().position(|&other| other == id));
    let shared = partner.iter().flatten().count();
    match shared {
        0 => {
            let t_sides = [0, 1, 2].map(|k| side(u, &t[k]));
            if t_sides == [0.0; 3] && apart_flat(t, u, None) {
                return None;
            }
            if t_sides.iter().all(|&s| s > 0.0) || t_sides.iter().all(|&s| s < 0.0) {
                return None;
            }
            let u_sides = [0, 1, 2].map(|k| side(t, &u[k]));
            if u_sides.iter().all(|&s| s > 0.0) || u_sides.iter().all(|&s| s < 0.0) {
                return None;
            }
            (0..3).find_map(|k| {
                let n = (k + 1) % 3;
                edge_meets(&t[k], &t[n], [t_sides[k], t_sides[n]], u)
                    .or_else(|| edge_meets(&u[k], &u[n], [u_sides[k], u_sides[n]], t))
            })
        }
        1 => {
            let k = partner.iter().position(Option::is_some)?;
            let m = partner[k]?;
            let (b, c) = (&t[(k + 1) % 3], &t[(k + 2) % 3]);
            let (d, e) = (&u[(m + 1) % 3], &u[(m + 2) % 3]);
            // Strictly on one side of the other's plane, all but a is out of reach.
            let clear = |s: [f64; 2]| (s[0] > 0.0 && s[1] > 0.0) || (s[0] < 0.0 && s[1] < 0.0);
            let t_sides = [side(u, b), side(u, c)];
            if clear(t_sides) || (t_sides == [0.0; 2] && apart_flat(t, u, Some([k, m]))) {
                return None;
            }
            let u_sides = [side(t, d), side(t, e)];
            if clear(u_sides) {
                return None;
            }
            edge_meets(b, c, t_sides, u).or_else(|| edge_meets(d, e, u_sides, t))
        }
        2 => {
            let k = partner.iter().position(Option::is_none)?;
            let m = (0..3).find(|m| !partner.contains(&Some(*m)))?;
            let (a, b, c) = (&t[(k + 1) % 3], &t[(k + 2) % 3], &t[k]);
            let d = &u[m];
            if orient(a, b, c, d) != 0.0 {
                return None;
            }
            let axis = widest_axis(t)?;
            let [fa, fb, fc, fd] = [a, b, c, d].map(|p| drop_axis(p, axis));
            let (sc, sd) = (orient_flat(&fa, &fb, &fc), orient_flat(&fa, &fb, &fd));
            ((sc > 0.0) == (sd > 0.0)).then(|| nalgebra::center(a, b))
        }
        _ => Some(nalgebra::center(&nalgebra::center(&t[0], &t[1]), &t[2])),
    }
}

/// Box as lowest and highest coordinates.
#[derive(Clone, Copy)]
struct Bin {
    min: [f64; 3],
    max: [f64; 3],
}

impl Bin {
    const EMPTY: Self = Self {
        min: [f64::INFINITY; 3],
        max: [f64::NEG_INFINITY; 3],
    };

    fn of(t: &Triangle) -> Self {
        let [a, b, c] = t;
        Self {
            min: [0, 1, 2].map(|k| a[k].min(b[k]).min(c[k])),
            max: [0, 1, 2].map(|k| a[k].max(b[k]).max(c[k])),
        }
    }

    fn join(&self, other: &Self) -> Self {
        Self {
            min: [0, 1, 2].map(|k| self.min[k].min(other.min[k])),
            max: [0, 1, 2].map(|k| self.max[k].max(other.max[k])),
        }
    }

    /// Touching counts: comparisons of coordinates are exact.
    fn meets(&self, other: &Self) -> bool {
        (self.min[0] <= other.max[0] && other.min[0] <= self.max[0])
            & (self.min[1] <= other.max[1] && other.min[1] <= self.max[1])
            & (self.min[2] <= other.max[2] && other.min[2] <= self.max[2])
    }
}

/// Triangles a leaf.
const LEAF: usize = 4;

/// Calls `found` with the two (lower first) and a place for every pair among
/// `which` that meets where it must not, until it answers `false`.
///
/// Broad phase: the triangles in Morton order of their middles, under a
/// complete binary tree of boxes, walked against itself. The order of the calls
/// depends on the mesh alone.
pub(super) fn crossings(
    points: &[Point3<f64>],
    triangles: &[[u32; 3]],
    which: &[u32],
    mut found: impl FnMut(u32, u32, Point3<f64>) -> bool,
) {
    let corners = |t: u32| triangles[t as usize].map(|i| points[i as usize]);
    let order = morton_order(which, &corners);
    let bins: Vec<Bin> = order.iter().map(|&t| Bin::of(&corners(t))).collect();
    let leaves = order.len().div_ceil(LEAF).max(1).next_power_of_two();
    let mut tree = vec![Bin::EMPTY; 2 * leaves];
    for (i, bin) in bins.iter().enumerate() {
        let node = &mut tree[leaves + i / LEAF];
        *node = node.join(bin);
    }
    for i in (1..leaves).rev() {
        tree[i] = tree[2 * i].join(&tree[2 * i + 1]);
    }
    let mut stack = vec![(1, 1)];
    while let Some((a, b)) = stack.pop() {
        if a < leaves {
            let (a, b) = ((2 * a, 2 * a + 1), (2 * b, 2 * b + 1));
            let mut push = |i: usize, j: usize| {
                if tree[i].meets(&tree[j]) {
                    stack.push((i, j));
                }
            };
            push(a.0, b.0);
            push(a.1, b.1);
            push(a.0, b.1);
            if a != b {
                push(a.1, b.0);
            }
            continue;
        }
        let range = |leaf: usize| {
            let start = (leaf - leaves) * LEAF;
            start.min(order.len())..(start + LEAF).min(order.len())
        };
        for i in range(a) {
            if a != b && !bins[i].meets(&tree[b]) {
                continue;
            }
            for j in range(b) {
                if (a == b && j <= i) || !bins[i].meets(&bins[j]) {
                    continue;
                }
                let (t, u) = (order[i].min(order[j]), order[i].max(order[j]));
                let place = contact(
                    &corners(t),
                    triangles[t as usize],
                    &corners(u),
                    triangles[u as usize],
                );
                if let Some(place) = place
                    && !found(t, u, place)
                {
                    return;
                }
            }
        }
    }
}

/// The triangles along a Z-order curve through a cube of 2^16 cells a side.
fn morton_order(which: &[u32], corners: &impl Fn(u32) -> Triangle) -> Vec<u32> {
    let middle = |t: u32| {
        let bin = Bin::of(&corners(t));
        [0, 1, 2].map(|k| 0.5 * (bin.min[k] + bin.max[k]))
    };
    let mut low = [f64::INFINITY; 3];
    let mut high = [f64::NEG_INFINITY; 3];
    let middles: Vec<[f64; 3]> = which.iter().map(|&t| middle(t)).collect();
    for m in &middles {
        for k in 0..3 {
            low[k] = low[k].min(m[k]);
            high[k] = high[k].max(m[k]);
        }
    }
    let side = (0..3).map(|k| high[k] - low[k]).fold(0.0, f64::max);
    let scale = if side > 0.0 { 65535.0 / side } else { 0.0 };
    let mut keyed: Vec<(u64, u32)> = which
        .iter()
        .zip(&middles)
        .map(|(&t, m)| {
            let cell = [0, 1, 2].map(|k| spread(((m[k] - low[k]) * scale) as u64));
            (cell[0] | cell[1] << 1 | cell[2] << 2, t)
        })
        .collect();
    keyed.sort_unstable();
    keyed.into_iter().map(|(_, t)| t).collect()
}

/// Puts two zero bits between the bits of a 16-bit number.
fn spread(x: u64) -> u64 {
    let x = (x | x << 16) & 0x0000_0000_ff00_00ff;
    let x = (x | x << 8) & 0x100f_00f0_0f00_f00f;
    let x = (x | x << 4) & 0x10c3_0c30_c30c_30c3;
    (x | x << 2) & 0x1249_2492_4924_9249
}
