//! Edges of a mesh as they are seen along an axis: contours and sharp edges, visible and hidden.

use std::collections::BTreeMap;

use kurbo::BezPath;
use nalgebra::{Point3, Vector3};

use crate::body::Body;
use crate::mesh::Mesh;

/// Cosine of the angle between facets from which their edge is drawn: 35°.
const SHARP: f64 = 0.82;
/// Nearer to the trunk's surface than this, mm, a facet is the trunk's.
const ON_TRUNK: f64 = 0.12;
/// A facet hides an edge if it is in front of it by more than this, mm.
const IN_FRONT: f64 = 0.05;
/// Cells of the grid that facets are found by, each way.
const CELLS: usize = 64;

/// Where the eye is, and how space lies on the paper.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    /// From the body to the eye.
    pub(super) eye: Vector3<f64>,
    /// Across the paper to the right.
    pub(super) right: Vector3<f64>,
    /// Up the paper.
    pub(super) up: Vector3<f64>,
}

impl View {
    pub(super) fn flat(&self, p: &Point3<f64>) -> [f64; 2] {
        [self.right.dot(&p.coords), self.up.dot(&p.coords)]
    }
}

/// Edges of all that is not the trunk, visible and hidden, x to the right and y up.
pub(super) fn contours(mesh: &Mesh, body: &Body, view: &View) -> [BezPath; 2] {
    let trunk: Vec<bool> = (0..mesh.triangles.len())
        .map(|t| body.scan.is_none() && on_trunk(body, &mesh.corners(t)))
        .collect();
    let mut paths = [BezPath::new(), BezPath::new()];
    if trunk.iter().all(|&t| t) {
        return paths;
    }
    let normals: Vec<Vector3<f64>> = (0..mesh.triangles.len())
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            (b - a)
                .cross(&(c - a))
                .try_normalize(0.0)
                .unwrap_or_default()
        })
        .collect();
    let grid = Grid::new(mesh, view);
    let mut edges: BTreeMap<[u32; 2], Vec<usize>> = BTreeMap::new();
    for (t, corners) in mesh.triangles.iter().enumerate() {
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            edges.entry([a.min(b), a.max(b)]).or_default().push(t);
        }
    }
    for ([a, b], sides) in edges {
        let &[s, t] = &sides[..] else { continue };
        if trunk[s] && trunk[t] {
            continue;
        }
        let facing = |t: usize| normals[t].dot(&view.eye) > 1e-9;
        let turns = facing(s) != facing(t);
        let rim = trunk[s] != trunk[t];
        if !turns && !rim && normals[s].dot(&normals[t]) > SHARP {
            continue;
        }
        let (p, q) = (mesh.points[a as usize], mesh.points[b as usize]);
        let ends = [p, q].map(|p| view.flat(&p));
        if libm::hypot(ends[0][0] - ends[1][0], ends[0][1] - ends[1][1]) < 1e-6 {
            continue;
        }
        let middle = nalgebra::center(&p, &q);
        let hidden = (!facing(s) && !facing(t)) || grid.covers(mesh, view, &middle, [s, t]);
        let path = &mut paths[usize::from(hidden)];
        path.move_to((ends[0][0], ends[0][1]));
        path.line_to((ends[1][0], ends[1][1]));
    }
    paths
}

/// Whether all of a facet lies on the trunk or its collar.
fn on_trunk(body: &Body, corners: &[Point3<f64>; 3]) -> bool {
    corners.iter().all(|p| {
        let length = body.length();
        if !body.collar.is_empty() && p.x > length - ON_TRUNK {
            return true;
        }
        if p.x < -ON_TRUNK || p.x > length + ON_TRUNK {
            return false;
        }
        let (y, z) = (p.y, p.z - body.spine(p.x));
        let far = libm::hypot(y, z);
        let angle = libm::atan2(y, z).to_degrees();
        // The surface leans, and ends and shoulders stand upright: any radius near by will do.
        let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
        for x in [p.x - ON_TRUNK, p.x, p.x + ON_TRUNK] {
            let r = if x <= 0.0 || x >= length {
                0.0
            } else {
                let at = body.place(x, angle).point;
                libm::hypot(at.y, at.z - body.spine(x))
            };
            (least, most) = (least.min(r), most.max(r));
        }
        far > least - ON_TRUNK && far < most + ON_TRUNK
    })
}

/// Facets by where they lie on the paper.
struct Grid {
    low: [f64; 2],
    cell: [f64; 2],
    cells: Vec<Vec<u32>>,
}

impl Grid {
    fn new(mesh: &Mesh, view: &View) -> Grid {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in mesh.points.iter().map(|p| view.flat(p)) {
            for i in 0..2 {
                (low[i], high[i]) = (low[i].min(p[i]), high[i].max(p[i]));
            }
        }
        let cell = [0, 1].map(|i| ((high[i] - low[i]) / CELLS as f64).max(1e-9));
        let mut grid = Grid {
            low,
            cell,
            cells: vec![Vec::new(); CELLS * CELLS],
        };
        for t in 0..mesh.triangles.len() {
            let flat = mesh.corners(t).map(|p| grid.find(view.flat(&p)));
            let span = |i: usize| {
                let of = flat.map(|c| c[i]);
                of[0].min(of[1]).min(of[2])..=of[0].max(of[1]).max(of[2])
            };
            for i in span(0) {
                for j in span(1) {
                    grid.cells[i * CELLS + j].push(u32::try_from(t).unwrap_or(0));
                }
            }
        }
        grid
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn find(&self, p: [f64; 2]) -> [usize; 2] {
        [0, 1].map(|i| {
            let at = libm::floor((p[i] - self.low[i]) / self.cell[i]);
            (at.max(0.0) as usize).min(CELLS - 1)
        })
    }

    /// Whether a facet other than these two lies in front of the point.
    fn covers(&self, mesh: &Mesh, view: &View, p: &Point3<f64>, own: [usize; 2]) -> bool {
        let at = view.flat(p);
        let depth = view.eye.dot(&p.coords);
        let [i, j] = self.find(at);
        self.cells[i * CELLS + j].iter().any(|&t| {
            let t = t as usize;
            if own.contains(&t) {
                return false;
            }
            let corners = mesh.corners(t);
            let flat = corners.map(|c| view.flat(&c));
            let cross = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
                (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
            };
            let whole = cross(flat[0], flat[1], flat[2]);
            if whole == 0.0 {
                return false;
            }
            let share = [
                cross(at, flat[1], flat[2]) / whole,
                cross(flat[0], at, flat[2]) / whole,
                cross(flat[0], flat[1], at) / whole,
            ];
            share.iter().all(|s| *s > 1e-6)
                && (0..3)
                    .map(|k| share[k] * view.eye.dot(&corners[k].coords))
                    .sum::<f64>()
                    > depth + IN_FRONT
        })
    }
}
