//! Registration keys: cones on the lower half, sockets in the upper.

use super::tools::turned_upright;
use crate::mesh::{Bounds, Mesh};
use crate::spec::{
    Design, KEY_LAND as LAND, KEY_TAPER as TAPER, Problem, Problems, socket_radius, wall_for_keys,
};

/// How far a key is rooted in its half, so that the two fuse.
const ROOT: f64 = 1.0;
/// One registration key, a cone standing on the parting plane.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Key {
    /// Where it stands, in the mould's x and y.
    pub at: [f64; 2],
    /// Radius at its foot.
    pub radius: f64,
    /// Height.
    pub height: f64,
    /// Gap to its socket, square to every face.
    pub clearance: f64,
}

impl Key {
    /// The cone with a root below the parting plane.
    pub(super) fn rooted(&self, tolerance: f64) -> Mesh {
        let (r, h) = (self.radius, self.height);
        turned_upright(self.at, &[(-ROOT, r), (0.0, r), (h, TAPER * r)], tolerance)
    }

    /// The cone alone.
    fn bump(&self, tolerance: f64) -> Mesh {
        let (r, h) = (self.radius, self.height);
        turned_upright(self.at, &[(0.0, r), (h, TAPER * r)], tolerance)
    }

    /// The socket: the cone moved out by the clearance.
    pub(super) fn socket(&self, tolerance: f64) -> Mesh {
        let lean = (1.0 - TAPER) * self.radius / self.height;
        let (foot, depth) = (self.socket_radius(), self.height + self.clearance);
        let corners = [(0.0, foot), (depth, foot - lean * depth)];
        turned_upright(self.at, &corners, tolerance)
    }

    /// What makes the socket when a half is cast over it, with a root below the parting plane.
    pub(super) fn counterpart(&self, tolerance: f64) -> Mesh {
        let lean = (1.0 - TAPER) * self.radius / self.height;
        let (foot, depth) = (self.socket_radius(), self.height + self.clearance);
        let corners = [(-ROOT, foot), (0.0, foot), (depth, foot - lean * depth)];
        turned_upright(self.at, &corners, tolerance)
    }

    /// Radius of the socket at the parting plane.
    pub fn socket_radius(&self) -> f64 {
        socket_radius(self.radius, self.height, self.clearance)
    }

    /// Volume between key and socket, in mm³.
    pub(super) fn gap(&self, tolerance: f64) -> f64 {
        self.socket(tolerance).volume() - self.bump(tolerance).volume()
    }
}

/// Places the keys along both long sides of the block, as far out as they go, one of
/// them drawn in so that the set fits no other way round.
pub(super) fn place(design: &Design, block: &Bounds) -> Result<Vec<Key>, Problems> {
    let mould = &design.mould;
    if mould.key_count == 0 {
        return Ok(Vec::new());
    }
    let key = |x: f64, y: f64| Key {
        at: [x, y],
        radius: mould.key_radius,
        height: mould.key_height,
        clearance: mould.key_clearance,
    };
    let reach = key(0.0, 0.0).socket_radius();
    let mut problems = Vec::new();

    // The rules see to this; a design built by hand may not have passed them.
    let needed = wall_for_keys(mould.key_radius, mould.key_height, mould.key_clearance);
    if mould.wall < needed - 1e-9 {
        problems.push(
            Problem::new("mould.wall", "the wall is thinner than the keys need")
                .value(design.units.show(mould.wall))
                .limit(format!("at least {}", design.units.show(needed + 0.005))),
        );
    }

    // Ends of the rows, and the least distance between two keys of a row.
    let (from, to) = (block.min.x + LAND + reach, block.max.x - LAND - reach);
    let pitch = 2.0 * reach + LAND;
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
    Ok(keys.collect())
}
