//! Registration keys on the lower half, sockets in the upper.

use nalgebra::{Point3, Vector3};

use super::channels::{Channels, outlines};
use super::face::PartingFace;

use super::tools::{stacked, turned_upright};
use crate::mesh::{Bounds, Mesh};
use crate::spec::{
    BodyEnd, Design, KEY_LAND as LAND, KEY_TAPER as TAPER, KeyShape, Problem, Problems, cap_radius,
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
    /// Whether a bar lies across the block.
    pub turned: bool,
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
                    let mut half = [2.0 * r + foot - r - narrower, foot - narrower];
                    if self.turned {
                        half.reverse();
                    }
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
            KeyShape::Bar if self.turned => [across, across + self.radius],
            KeyShape::Bar => [across + self.radius, across],
        }
    }

    /// Material left between its socket and a round place of the parting face; none is negative.
    pub(super) fn left(&self, at: [f64; 2], radius: f64) -> f64 {
        let reach = self.reach();
        let off = |k: usize| ((at[k] - self.at[k]).abs() - reach[k]).max(0.0);
        libm::hypot(off(0), off(1)) - radius
    }

    /// Discs that cover its socket at the parting plane.
    fn discs(&self) -> Vec<([f64; 2], f64)> {
        let ([x, y], [along, across]) = (self.at, self.reach());
        let radius = match self.shape {
            KeyShape::Cone | KeyShape::Dome => return vec![(self.at, along)],
            // Out to the corners of its ends.
            KeyShape::Bar => along.min(across) * std::f64::consts::SQRT_2,
        };
        let [dx, dy] = [along, across].map(|reach| reach - along.min(across));
        let places = [-1.0, -0.5, 0.0, 0.5, 1.0];
        places.map(|s| ([x + s * dx, y + s * dy], radius)).to_vec()
    }

    /// Whether there is material left between its socket and another's.
    fn clears(&self, other: &Key) -> bool {
        let [a, b] = [self.reach(), other.reach()];
        (0..2).any(|k| (self.at[k] - other.at[k]).abs() >= a[k] + b[k] + LAND - 1e-9)
    }

    /// Sets its foot on the parting face.
    fn stand(&mut self, design: &Design, face: &PartingFace) {
        // Facets stand out from it.
        let along = self.reach()[0] + design.tolerance;
        let [low, high] = face.between(self.at[0] - along, self.at[0] + along);
        self.foot = face.along(self.at[0]).max(high - LOST * self.height);
        self.falls = self.foot - low;
    }

    /// Volume between key and socket, in mm³.
    pub(super) fn gap(&self, tolerance: f64) -> f64 {
        self.socket(tolerance).volume() - self.bump(tolerance).volume()
    }
}

/// Fewest keys, if any are wanted: one in each corner, or drawn in from it.
const FEWEST: usize = 4;

/// Keys in both rows and at both ends; the channels that they were placed around.
pub(super) type Found = (Result<Vec<Key>, Problems>, Result<Channels, Problems>);

/// Places the keys round the block as far out as they go: one in each corner, the others where
/// the gap between neighbours is widest, along the rows beside the baits and at both ends. One
/// corner stays empty, its key drawn in along its row: whatever way the set is turned or
/// mirrored onto the block, a key of another corner meets the face there.
///
/// The channels are planned around the rows, and the keys at the ends stand clear of channels and
/// of round places of the parting face that are `taken`.
pub(super) fn place(
    design: &Design,
    block: &Bounds,
    face: &PartingFace,
    taken: &[([f64; 2], f64)],
    channels: impl Fn(&[Key]) -> Result<Channels, Problems>,
) -> Found {
    let mould = &design.mould;
    if mould.key_count == Some(0) {
        return (Ok(Vec::new()), channels(&[]));
    }
    // The rules see to this; a design built by hand may not have passed them.
    let needed = wall_for_keys(
        mould.key_shape,
        mould.key_radius,
        mould.key_height,
        mould.key_clearance,
    );
    let mut problems = Vec::new();
    if mould.wall < needed - 1e-9 {
        problems.push(
            Problem::new("mould.wall", "the wall is thinner than the keys need")
                .value(design.units.show(mould.wall))
                .limit(format!("at least {}", design.units.show(needed + 0.005))),
        );
    }
    let rim = Rim::new(design, block);
    let least = mould.key_count.unwrap_or(FEWEST);
    let wanted = mould.key_count.unwrap_or_else(|| rim.usual().max(FEWEST));
    let attempt = |count: usize| rim.place(count, taken, &channels);
    let found = (least..=wanted).rev().find_map(attempt);
    if let (Some((mut keys, channels)), []) = (found, &problems[..]) {
        for key in &mut keys {
            key.stand(design, face);
        }
        return (Ok(keys), channels);
    }
    if problems.is_empty() {
        let fewer = (FEWEST..least).rev().find_map(|n| Some((n, attempt(n)?.0)));
        // What stands at the ends needs no length.
        let at_ends = fewer.as_ref().map_or(0, |(n, keys)| {
            let rows = keys.iter().filter(|key| rim.in_row(key));
            n - rows.count()
        });
        let longer = rim.pitch * (least - at_ends).div_ceil(2) as f64 - rim.room();
        let longer = design.units.show(longer + 0.005);
        let limit = match fewer {
            Some((fit, _)) => format!("at most {fit}, or a block {longer} longer"),
            None => format!("a block {longer} longer"),
        };
        problems.push(
            Problem::new("mould.keys.count", "the block is too short for its keys")
                .value(least)
                .limit(limit)
                .hint("ask for fewer or smaller keys, or a thicker mould.wall"),
        );
    }
    (Err(Problems(problems)), channels(&[]))
}

/// Neighbours stand no farther apart if no count is asked for (reasoned: about a hand's breadth;
/// between them halves of rubber bulge as they are clamped).
pub(super) const MOST_APART: f64 = 120.0;
/// More keys than this no spec asks for.
const MOST: usize = 24;
/// Step in which places at an end are tried.
const STEP: f64 = 0.25;

/// Where keys can stand: two rows along the block and the two ends between them.
struct Rim {
    /// A key at the origin.
    key: Key,
    /// Middles of the outermost keys of a row.
    row: [f64; 2],
    /// Where the rows are across the block, −y first.
    across: [f64; 2],
    /// Where the ends' keys stand along it, the sprue's end last.
    ends: [f64; 2],
    /// Least distance between two keys of a row.
    pitch: f64,
}

impl Rim {
    fn new(design: &Design, block: &Bounds) -> Self {
        let mould = &design.mould;
        let key = Key {
            shape: mould.key_shape,
            at: [0.0; 2],
            radius: mould.key_radius,
            height: mould.key_height,
            clearance: mould.key_clearance,
            turned: false,
            foot: 0.0,
            falls: 0.0,
        };
        let [along, across] = key.reach();
        let within = |by: f64| [block.min.x + LAND + by, block.max.x - LAND - by];
        let [nose, tail] = within(across);
        Rim {
            key,
            row: within(along),
            across: [block.min.y + LAND + across, block.max.y - LAND - across],
            ends: match mould.sprue_end {
                BodyEnd::Nose => [tail, nose],
                BodyEnd::Tail => [nose, tail],
            },
            pitch: 2.0 * along + LAND,
        }
    }

    /// Length of a row.
    fn room(&self) -> f64 {
        self.row[1] - self.row[0]
    }

    fn in_row(&self, key: &Key) -> bool {
        !key.turned && self.across.contains(&key.at[1])
    }

    /// How far apart neighbours stand with so many keys in a row, corners included, or between
    /// the corners of an end: of the sides −y, +y, away from the sprue, at the sprue.
    fn gap(&self, side: usize, count: usize) -> f64 {
        if side < 2 {
            self.room() / (count - 1) as f64
        } else {
            (self.across[1] - self.across[0]) / (count + 1) as f64
        }
    }

    /// How many keys go to each side so that the widest gap is as narrow as can be; `most` is
    /// what the ends hold. `None` if there is no room for so many.
    fn dealt(&self, count: usize, most: [usize; 2]) -> Option<[usize; 4]> {
        let mut dealt = [2, 2, 0, 0];
        let has_room = |side: usize, n: usize| match side {
            // The row's last key is drawn in.
            0 => n as f64 * self.pitch <= self.room(),
            1 => (n - 1) as f64 * self.pitch <= self.room(),
            _ => n <= most[side - 2] && self.gap(side, n) >= self.pitch,
        };
        if !(0..2).all(|side| has_room(side, 2)) {
            return None;
        }
        for _ in 4..count {
            let mut widest: Option<(f64, usize)> = None;
            for (side, &n) in dealt.iter().enumerate() {
                let gap = self.gap(side, n);
                if has_room(side, n + 1) && widest.is_none_or(|(w, _)| gap > w + 1e-9) {
                    widest = Some((gap, side));
                }
            }
            dealt[widest?.1] += 1;
        }
        Some(dealt)
    }

    /// How many there are if nothing is said: as few as keep neighbours near enough, or as near as
    /// they come.
    fn usual(&self) -> usize {
        let mut best = (f64::INFINITY, 4);
        for count in 4..=MOST {
            let Some(dealt) = self.dealt(count, [MOST; 2]) else {
                break;
            };
            let sides = dealt.iter().enumerate();
            let widest = sides.map(|(side, &n)| self.gap(side, n));
            let widest = widest.fold(0.0, f64::max);
            if widest <= MOST_APART {
                return count;
            }
            if widest < best.0 - 1e-9 {
                best = (widest, count);
            }
        }
        best.1
    }

    fn at(&self, x: f64, y: f64, turned: bool) -> Key {
        Key {
            at: [x, y],
            turned,
            ..self.key
        }
    }

    /// The rows, of which the −y row ends short of the other by a key's width.
    fn in_rows(&self, right: usize, left: usize) -> Vec<Key> {
        let row = |count: usize, to: f64, y: f64| {
            let from = self.row[0];
            (0..count)
                .map(move |i| from + (to - from) * i as f64 / (count - 1) as f64)
                .map(move |x| self.at(x, y, false))
        };
        let mut keys: Vec<Key> = row(left, self.row[1], self.across[1]).collect();
        keys.extend(row(right, self.row[1] - self.pitch, self.across[0]));
        keys
    }

    /// So many keys, with the channels that they clear; `None` if they have no room.
    fn place(
        &self,
        count: usize,
        taken: &[([f64; 2], f64)],
        channels: impl Fn(&[Key]) -> Result<Channels, Problems>,
    ) -> Option<(Vec<Key>, Result<Channels, Problems>)> {
        let mut most = [MOST; 2];
        loop {
            let [right, left, ends @ ..] = self.dealt(count, most)?;
            let mut keys = self.in_rows(right, left);
            let around = channels(&keys);
            let Ok(ways) = &around else {
                return Some((keys, around));
            };
            let (sprue, others) = outlines(ways);
            let clear = |key: &Key| {
                key.discs().iter().all(|&(at, r)| {
                    others
                        .iter()
                        .chain([&sprue])
                        .all(|way| way.left(at, r) >= LAND)
                        && taken.iter().all(|([x, y], radius)| {
                            libm::hypot(at[0] - x, at[1] - y) >= r + radius + LAND
                        })
                })
            };
            let mut short = None;
            for (k, &count) in ends.iter().enumerate() {
                let found = self.at_end(self.ends[k], count, &keys, clear);
                if found.len() < count {
                    short = Some((k, found.len()));
                    break;
                }
                keys.extend(found);
            }
            match short {
                None => return Some((keys, around)),
                Some((k, held)) => most[k] = held,
            }
        }
    }

    /// Keys between the corners of an end, as evenly as what is in the way lets them.
    fn at_end(
        &self,
        x: f64,
        count: usize,
        placed: &[Key],
        clear: impl Fn(&Key) -> bool,
    ) -> Vec<Key> {
        let gap = self.gap(2, count);
        // The corner that must stay empty counts as one that has its key.
        let mut others = placed.to_vec();
        others.push(self.at(self.row[1], self.across[0], false));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let steps = (0.5 * gap / STEP) as usize;
        let mut found = Vec::new();
        for i in 1..=count {
            let wanted = self.across[0] + gap * i as f64;
            let tries = (0..=steps).flat_map(|k| [1.0, -1.0].map(|s| wanted + s * STEP * k as f64));
            let mut keys = tries.map(|y| self.at(x, y, true));
            let free = |key: &Key| others.iter().all(|other| key.clears(other)) && clear(key);
            if let Some(key) = keys.find(free) {
                others.push(key);
                found.push(key);
            }
        }
        found
    }
}

#[cfg(test)]
mod tests;
