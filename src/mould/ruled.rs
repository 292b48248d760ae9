//! The parting face: flat, or, for a cambered body that parts at the waist, ruled.
//!
//! # The ruled face
//! z = h(x), straight across the mould: h runs through the spine at the rings of the master, with
//! straight lines between them, goes on as the spine leaves the tail under whatever stands behind
//! it, and is level beyond, so that sprue and vents leave the block on a level strip.
//!
//! # Drawn level
//! Taking h out, z' = z − h(x), shears a body upright: lines along the pull stay where they
//! are, so the opening is judged as before; sections square to x only move; volumes stay. What
//! is cut into halves, keys and channels included, is made of solids *drawn level*, whose
//! parting face is exactly z' = 0, and raised again when done. Between the knots of h both ways
//! are affine, so meshes divided there are exact.

use nalgebra::Point3;

use super::tools::joined;
use crate::body::Body;
use crate::mesh::solid::MENDED;
use crate::mesh::{Bounds, Mesh};
use crate::spec::{BodyEnd, Design, Parting};

/// Least distance between two knots, in mm: nearer, strips would be needles.
const APART: f64 = 1e-3;
/// A point of the master this near to the spine's height, in mm, lies on the waist.
const ON_SPINE: f64 = 1e-9;
/// Points this near to the face, in mm, lie in it once it is drawn level: the spine bends by
/// less between the rings of the master and the knots.
const ON_FACE: f64 = 1e-6;

/// The face along which a mould parts, in the mould's axes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ruled {
    /// Knots (x, z) by rising x; none where the face is the plane z = 0.
    knots: Vec<[f64; 2]>,
}

impl Ruled {
    /// The face of the waist around a body: flat, unless it is cambered. `master` is in the body's
    /// axes, as the body is.
    pub fn waist(design: &Design, body: &Body, master: &Mesh) -> Self {
        if body.camber.is_none() {
            return Self::default();
        }
        let length = body.length();
        let on_waist = |p: &&Point3<f64>| {
            p.y != 0.0
                && p.x > APART
                && p.x < length - APART
                && (p.z - body.spine(p.x)).abs() < ON_SPINE
        };
        let rings = master.points.iter().filter(on_waist).map(|p| p.x);
        let mut places: Vec<f64> = rings.collect();
        places.sort_by(f64::total_cmp);
        let mut knots = vec![[0.0, body.spine(0.0)]];
        for to in places.into_iter().chain([length]) {
            let from = knots[knots.len() - 1];
            if to - from[0] >= APART {
                let to = [to, body.spine(to)];
                follow(body, from, to, design.tolerance, &mut knots);
            }
        }
        let behind = master.bounds().map_or(length, |b| b.max.x);
        // The sprue leaves level; so does a collar.
        let level = design.mould.sprue_end == BodyEnd::Tail || !body.collar.is_empty();
        if behind > length + APART && !level {
            let rise = body.spine(length) + body.slope_behind() * (behind - length);
            knots.push([behind, rise]);
        }
        if knots.iter().all(|k| k[1] == 0.0) {
            knots.clear();
        }
        Ruled { knots }
    }

    /// The face of a mould that parts so.
    pub(super) fn of(design: &Design, body: &Body, master: &Mesh) -> Self {
        match design.mould.parting {
            Parting::Waist => Self::waist(design, body, master),
            Parting::Flank => Self::default(),
        }
    }

    /// Whether it is the plane z = 0.
    pub fn is_flat(&self) -> bool {
        self.knots.is_empty()
    }

    /// Its height over z = 0.
    pub fn height(&self, x: f64) -> f64 {
        let i = self.knots.partition_point(|k| k[0] <= x);
        match (i.checked_sub(1).map(|i| self.knots[i]), self.knots.get(i)) {
            (Some([from, low]), Some([to, high])) => low + (x - from) / (to - from) * (high - low),
            (Some([_, z]), None) | (None, Some(&[_, z])) => z,
            (None, None) => 0.0,
        }
    }

    /// The face of the same mould turned upside down about x.
    pub(super) fn turned(&self) -> Self {
        Ruled {
            knots: self.knots.iter().map(|&[x, z]| [x, 0.0 - z]).collect(),
        }
    }

    /// Its course from one place along x to another: corners (x, z), both ends among them.
    pub(crate) fn profile(&self, from: f64, to: f64) -> Vec<[f64; 2]> {
        let inside = |k: &&[f64; 2]| k[0] > from + APART && k[0] < to - APART;
        std::iter::once([from, self.height(from)])
            .chain(self.knots.iter().filter(inside).copied())
            .chain([[to, self.height(to)]])
            .collect()
    }

    /// Its least and its greatest height between two places along x.
    pub(super) fn between(&self, from: f64, to: f64) -> [f64; 2] {
        let within = self.knots.iter().filter(|k| k[0] > from && k[0] < to);
        let ends = [self.height(from), self.height(to)];
        within
            .map(|k| k[1])
            .fold([ends[0].min(ends[1]), ends[0].max(ends[1])], |[l, h], z| {
                [l.min(z), h.max(z)]
            })
    }

    /// Its least and its greatest height.
    pub fn range(&self) -> [f64; 2] {
        self.between(f64::NEG_INFINITY, f64::INFINITY)
    }

    /// A mesh in the mould's axes with the face drawn level: divided at the knots and sheared
    /// upright, which keeps volumes and what lies over what.
    pub fn level(&self, mesh: Mesh) -> Mesh {
        if self.is_flat() {
            return mesh;
        }
        self.lowered(self.divided(mesh)).without_needles(MENDED)
    }

    /// A mesh divided at the knots.
    pub(super) fn divided(&self, mesh: Mesh) -> Mesh {
        let places: Vec<f64> = self.knots.iter().map(|k| k[0]).collect();
        mesh.split_along_x(&places)
    }

    /// A mesh drawn level made ready to be raised point by point.
    pub(super) fn ready(&self, mesh: Mesh) -> Mesh {
        if self.is_flat() {
            return mesh;
        }
        self.divided(mesh).without_needles(MENDED)
    }

    /// The points of a divided mesh with the face drawn level.
    pub(super) fn lowered(&self, mut mesh: Mesh) -> Mesh {
        if self.is_flat() {
            return mesh;
        }
        for p in &mut mesh.points {
            p.z -= self.height(p.x);
            if p.z.abs() < ON_FACE {
                p.z = 0.0;
            }
        }
        mesh
    }

    /// The points of a mesh that is [`Ruled::ready`] back in the mould's axes.
    pub(super) fn raised(&self, mut mesh: Mesh) -> Mesh {
        if self.is_flat() {
            return mesh;
        }
        for p in &mut mesh.points {
            p.z += self.height(p.x);
        }
        mesh
    }

    /// A solid drawn level back in the mould's axes; what was level at the top and foot of `block`
    /// is so again to the last bit.
    pub(super) fn restored(&self, mesh: Mesh, block: &Bounds) -> Mesh {
        const ROUNDING: f64 = 1e-9;
        let mut mesh = self.raised(self.ready(mesh));
        for p in &mut mesh.points {
            for face in [block.min.z, block.max.z] {
                if (p.z - face).abs() < ROUNDING {
                    p.z = face;
                }
            }
        }
        mesh
    }

    /// The part of a box above (1) or below (−1) the face, drawn level.
    pub(super) fn half(&self, block: &Bounds, side: f64) -> Mesh {
        let mut half = *block;
        if side > 0.0 {
            half.min.z = 0.0;
        } else {
            half.max.z = 0.0;
        }
        if self.is_flat() {
            return half.to_mesh();
        }
        let inside = |x: &f64| *x > block.min.x + APART && *x < block.max.x - APART;
        let ring = |x: f64| {
            let low = if side > 0.0 {
                0.0
            } else {
                block.min.z - self.height(x)
            };
            let high = if side > 0.0 {
                block.max.z - self.height(x)
            } else {
                0.0
            };
            let (right, left) = (block.min.y, block.max.y);
            // Counter-clockwise seen from where x is greater.
            [[right, low], [left, low], [left, high], [right, high]]
                .map(|[y, z]| Point3::new(x, y, z))
                .to_vec()
        };
        let rings: Vec<Vec<Point3<f64>>> = std::iter::once(block.min.x)
            .chain(self.knots.iter().map(|k| k[0]).filter(inside))
            .chain([block.max.x])
            .map(ring)
            .collect();
        joined(&rings)
    }
}

/// Knots after `from` up to `to`, as many as follow the spine. Between two rings of the master
/// none: there its own facets run straight.
fn follow(body: &Body, from: [f64; 2], to: [f64; 2], stray: f64, knots: &mut Vec<[f64; 2]>) {
    let at = |share: f64| from[0] + share * (to[0] - from[0]);
    let off = |share: f64| {
        let chord = from[1] + share * (to[1] - from[1]);
        (body.spine(at(share)) - chord).abs()
    };
    if to[0] - from[0] > 0.05 && [0.25, 0.5, 0.75].into_iter().any(|s| off(s) > stray) {
        let middle = [at(0.5), body.spine(at(0.5))];
        follow(body, from, middle, stray, knots);
        follow(body, middle, to, stray, knots);
    } else {
        knots.push(to);
    }
}
