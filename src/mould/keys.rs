//! Registration keys on the lower half, sockets in the upper.

use nalgebra::{Point3, Vector3};

use super::face::PartingFace;
use super::tools::{stacked, turned_upright};
use crate::mesh::{Bounds, Mesh};
use crate::spec::{
    Design, KEY_LAND as LAND, KEY_TAPER as TAPER, KeyShape, Problem, Problems, cap_radius,
    socket_radius, wall_for_keys,
};

/// How far a key is rooted in its half, so that the two fuse.
const ROOT: f64 = 1.0;
/// Corners of a dome's profile.
const DOME: usize = 12;
/// On a sloping face a key may lose this share of its height on the upper side, where what is
/// left still guides (reasoned); on a steeper one it is lifted.
const LOST: f64 = 0.5;

/// One registration key, standing upright on the parting face.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Key {
    /// What it looks like.
    pub shape: KeyShape,
    /// Where it stands, in the mould's x and y.
    pub at: [f64; 2],
    /// Radius at its foot; half the width of a bar.
    pub radius: f64,
    /// Height.
    pub height: f64,
    /// Gap to its socket, square to every face.
    pub clearance: f64,
    /// Height its foot stands at: that of the parting face in its middle, more on a steep one.
    pub foot: f64,
    /// How far the face falls away below the foot within its reach; there the key's sides go
    /// straight down.
    pub falls: f64,
}

impl Key {
    /// The key with a root below the parting face.
    pub(super) fn rooted(&self, tolerance: f64) -> Mesh {
        self.solid(0.0, self.falls + ROOT, tolerance)
    }

    /// The key alone.
    fn bump(&self, tolerance: f64) -> Mesh {
        self.solid(0.0, 0.0, tolerance)
    }

    /// The socket: the key moved out by the clearance.
    pub(super) fn socket(&self, tolerance: f64) -> Mesh {
        let root = if self.falls > 0.0 {
            self.falls + ROOT
        } else {
            0.0
        };
        self.solid(self.clearance, root, tolerance)
    }

    /// What makes the socket when a half is cast over it, with a root below the parting face.
    pub(super) fn counterpart(&self, tolerance: f64) -> Mesh {
        self.solid(self.clearance, self.falls + ROOT, tolerance)
    }

    /// The key, every face moved out by `out`, with a root of this depth.
    fn solid(&self, out: f64, root: f64, tolerance: f64) -> Mesh {
        self.on_plane(out, root, tolerance)
            .translated(&Vector3::new(0.0, 0.0, self.foot))
    }

    /// The same with its foot at z = 0.
    fn on_plane(&self, out: f64, root: f64, tolerance: f64) -> Mesh {
        let (r, h) = (self.radius, self.height);
        let foot = socket_radius(self.shape, r, h, out);
        let lean = (1.0 - TAPER) * r / h;
        let top = h + out;
        match self.shape {
            KeyShape::Cone => {
                let mut corners = vec![(0.0, foot), (top, foot - lean * top)];
                if root > 0.0 {
                    corners.insert(0, (-root, foot));
                }
                turned_upright(self.at, &corners, tolerance)
            }
            KeyShape::Dome => {
                // A cap of a ball about a middle on or below the parting plane.
                let ball = cap_radius(r, h);
                let (middle, ball) = (h - ball, ball + out);
                let edge = libm::atan2(foot, -middle);
                let mut corners = Vec::new();
                if root > 0.0 {
                    corners.push((-root, foot));
                }
                corners.push((0.0, foot));
                // Its top is cut flat, so that no facet is a needle.
                for i in 1..DOME {
                    let angle = edge * (DOME - i) as f64 / DOME as f64;
                    corners.push((middle + ball * libm::cos(angle), ball * libm::sin(angle)));
                }
                turned_upright(self.at, &corners, tolerance)
            }
            KeyShape::Bar => {
                let level = |z: f64, narrower: f64| {
                    let half = [2.0 * r + foot - r - narrower, foot - narrower];
                    Bounds {
                        min: Point3::new(self.at[0] - half[0], self.at[1] - half[1], z),
                        max: Point3::new(self.at[0] + half[0], self.at[1] + half[1], z),
                    }
                };
                let mut levels = vec![level(0.0, 0.0), level(top, lean * top)];
                if root > 0.0 {
                    levels.insert(0, level(-root, 0.0));
                }
                stacked(&levels)
            }
        }
    }

    /// Radius of the socket at the parting plane; half the width of a bar's.
    pub fn socket_radius(&self) -> f64 {
        socket_radius(self.shape, self.radius, self.height, self.clearance)
    }

    /// How far the socket reaches along the block and across it.
    pub fn reach(&self) -> [f64; 2] {
        let across = self.socket_radius();
        match self.shape {
            KeyShape::Cone | KeyShape::Dome => [across; 2],
            KeyShape::Bar => [across + self.radius, across],
        }
    }

    /// Volume between key and socket, in mm³.
    pub(super) fn gap(&self, tolerance: f64) -> f64 {
        self.socket(tolerance).volume() - self.bump(tolerance).volume()
    }
}

/// Places the keys along both long sides of the block, as far out as they go, one of
/// them drawn in so that the set fits no other way round.
pub(super) fn place(
    design: &Design,
    block: &Bounds,
    face: &PartingFace,
) -> Result<Vec<Key>, Problems> {
    let mould = &design.mould;
    if mould.key_count == 0 {
        return Ok(Vec::new());
    }
    let key = |x: f64, y: f64| Key {
        shape: mould.key_shape,
        at: [x, y],
        radius: mould.key_radius,
        height: mould.key_height,
        clearance: mould.key_clearance,
        foot: 0.0,
        falls: 0.0,
    };
    let [along, reach] = key(0.0, 0.0).reach();
    let mut problems = Vec::new();

    // The rules see to this; a design built by hand may not have passed them.
    let needed = wall_for_keys(
        mould.key_shape,
        mould.key_radius,
        mould.key_height,
        mould.key_clearance,
    );
    if mould.wall < needed - 1e-9 {
        problems.push(
            Problem::new("mould.wall", "the wall is thinner than the keys need")
                .value(design.units.show(mould.wall))
                .limit(format!("at least {}", design.units.show(needed + 0.005))),
        );
    }

    // Ends of the rows, and the least distance between two keys of a row.
    let (from, to) = (block.min.x + LAND + along, block.max.x - LAND - along);
    let pitch = 2.0 * along + LAND;
    let on_left = mould.key_count / 2;
    let on_right = mould.key_count - on_left;
    // The fuller row, plus the room by which its last key is drawn in.
    let room = to - from;
    let needed = pitch * on_right as f64;
    if room < needed {
        let fit = 2 * (room / pitch).floor().max(0.0) as usize;
        let longer = design.units.show(needed - room + 0.005);
        let limit = if fit >= 4 {
            format!("at most {fit}, or a block {longer} longer")
        } else {
            format!("a block {longer} longer")
        };
        problems.push(
            Problem::new("mould.keys.count", "the block is too short for its keys")
                .value(mould.key_count)
                .limit(limit)
                .hint("ask for fewer or smaller keys, or a thicker mould.wall"),
        );
    }
    if !problems.is_empty() {
        return Err(Problems(problems));
    }

    let row = |count: usize, to: f64| {
        (0..count).map(move |i| from + (to - from) * i as f64 / (count - 1) as f64)
    };
    let (left, right) = (block.max.y - LAND - reach, block.min.y + LAND + reach);
    // The right row ends short of the left one by a key's width: turned about any
    // axis, its last key meets no socket.
    let keys = row(on_left, to)
        .map(|x| key(x, left))
        .chain(row(on_right, to - pitch).map(|x| key(x, right)));
    let mut keys: Vec<Key> = keys.collect();
    for key in &mut keys {
        // Facets stand out from it.
        let along = key.reach()[0] + design.tolerance;
        let [low, high] = face.between(key.at[0] - along, key.at[0] + along);
        key.foot = face.along(key.at[0]).max(high - LOST * mould.key_height);
        key.falls = key.foot - low;
    }
    Ok(keys)
}
