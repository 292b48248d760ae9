//! Grooves in the parting face that let the air out of high points.
//!
//! A groove leaves a high point straight up, passes what is in its way on a slant, never level
//! and never downwards (it would hold air itself), and ends straight at the block's top face.

use nalgebra::Point3;

use super::air::Trap;
use super::keys::Key;
use crate::mesh::slice::{PlaneSection, Sliced};
use crate::mesh::{AxisMap, Bounds, Direction, Mesh};
use crate::spec::{BodyEnd, Design, KEY_LAND};

/// Least material between a groove and the cavity, a channel, or another groove, in mm
/// (common practice: a few print lines).
const LAND: f64 = 1.2;
/// Least material between a groove and the side of the block, in mm.
const FROM_SIDE: f64 = 3.0;
/// Grid that routes are found on, in mm.
const CELL: f64 = 0.5;
/// A groove ends straight over this length, in mm.
const STRAIGHT: f64 = 1.0;
/// Cells to the side in a step up: straight, and on a slant either way.
const TURNS: [i64; 3] = [0, -1, 1];
/// Over this height, in mm, a groove may run beside the high point that it leaves.
const SHELTER: f64 = 4.0;
/// What a slanting cell costs, a straight one being 1, and a bend.
const SLANT: f64 = 1.5;
const BEND: f64 = 2.0;
/// How far a groove is sunk into the cavity beyond where it fits whole, and how far down that
/// is looked for, in mm.
const BURIED: f64 = 0.3;
const DOWN: f64 = 2.0;

/// A shallow groove with bends, half of it in each mould half.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Groove {
    /// Its middle line in the parting plane, as (x, y): from within the cavity to the outside of
    /// the block.
    pub path: Vec<[f64; 2]>,
    /// Width across the parting face.
    pub width: f64,
    /// Depth, both halves together.
    pub depth: f64,
}

impl Groove {
    /// Gives it room on every side, and at both ends.
    pub(super) fn widen(&mut self, clearance: f64) {
        self.width += 2.0 * clearance;
        self.depth += 2.0 * clearance;
        let last = self.path.len() - 1;
        for (end, next) in [(0, 1), (last, last - 1)] {
            let out = self.path[end][0] - self.path[next][0];
            // Both ends run along x.
            self.path[end][0] += clearance * out.signum();
        }
    }

    /// The groove as a solid.
    pub(super) fn mesh(&self) -> Mesh {
        let count = self.path.len();
        let along = |i: usize| {
            let ([ax, ay], [bx, by]) = (self.path[i], self.path[i + 1]);
            let length = libm::hypot(bx - ax, by - ay);
            [(bx - ax) / length, (by - ay) / length]
        };
        let mut mesh = Mesh::default();
        for (i, &[x, y]) in self.path.iter().enumerate() {
            let before = along(i.saturating_sub(1));
            let after = along(i.min(count - 2));
            // Mitred: both sides keep the groove's width.
            let dot = before[0] * after[0] + before[1] * after[1];
            let reach = 0.5 * self.width / (1.0 + dot);
            let side = [
                -(before[1] + after[1]) * reach,
                (before[0] + after[0]) * reach,
            ];
            for (s, z) in [(1.0, -0.5), (-1.0, -0.5), (-1.0, 0.5), (1.0, 0.5)] {
                let z = z * self.depth;
                mesh.points
                    .push(Point3::new(x + s * side[0], y + s * side[1], z));
            }
        }
        let at = |i: usize, k: usize| (4 * i + k % 4) as u32;
        let last = count - 1;
        for i in 0..last {
            for k in 0..4 {
                let (a, b) = (at(i, k), at(i, k + 1));
                let (c, d) = (at(i + 1, k), at(i + 1, k + 1));
                mesh.triangles.extend([[a, b, d], [a, d, c]]);
            }
        }
        mesh.triangles.extend([
            [at(0, 0), at(0, 2), at(0, 1)],
            [at(0, 0), at(0, 3), at(0, 2)],
        ]);
        mesh.triangles.extend([
            [at(last, 0), at(last, 1), at(last, 2)],
            [at(last, 0), at(last, 2), at(last, 3)],
        ]);
        if mesh.volume() < 0.0 {
            mesh.flipped()
        } else {
            mesh
        }
    }
}

/// What the grooves of one mould are routed between.
pub(super) struct Face<'a> {
    block: &'a Bounds,
    keys: &'a [Key],
    /// Round places that seats take.
    taken: &'a [([f64; 2], f64)],
    cavity: Sliced,
    /// The cavity in the parting plane, as loops of (x, y).
    plane: PlaneSection,
    /// +1 where the top face is that of greatest x.
    up: f64,
    width: f64,
    depth: f64,
}

impl<'a> Face<'a> {
    pub(super) fn new(
        design: &Design,
        block: &'a Bounds,
        (keys, taken): (&'a [Key], &'a [([f64; 2], f64)]),
        cavity: &Mesh,
        up: BodyEnd,
    ) -> Option<Self> {
        // z takes the place of x.
        let turn = AxisMap::new(Direction::PlusY, Direction::PlusZ, Direction::PlusX)?;
        let plane = Sliced::new(cavity.clone().mapped(&turn)).section(0.0);
        Some(Face {
            block,
            keys,
            taken,
            cavity: Sliced::new(cavity.clone()),
            plane,
            up: if up == BodyEnd::Nose { -1.0 } else { 1.0 },
            width: design.mould.vent_width,
            depth: design.mould.vent_depth,
        })
    }

    /// A groove from a trap's high point to the top face, clear of everything and of the grooves
    /// that are there; `None` if there is no way.
    pub(super) fn groove(&self, trap: &Trap, others: &[Groove]) -> Option<Groove> {
        let [x, y] = trap.in_plane?;
        let peak = [self.up * x, y];
        let mut path = vec![[self.foot(peak), y]];
        path.extend(self.route(peak, others)?);
        // Back from heights to x.
        for p in &mut path {
            p[0] *= self.up;
        }
        Some(Groove {
            path,
            width: self.width,
            depth: self.depth,
        })
    }

    fn top(&self) -> f64 {
        self.up
            * if self.up < 0.0 {
                self.block.min.x
            } else {
                self.block.max.x
            }
    }

    /// How far down in the cavity a groove begins that leaves it at `peak`.
    fn foot(&self, [peak, y]: [f64; 2]) -> f64 {
        let fits = |height: f64| {
            let section = self.cavity.section(self.up * height);
            [-0.5, 0.5].iter().all(|s| {
                let y = y + s * self.width;
                section.holds(y, 0.5 * self.depth) && section.holds(y, -0.5 * self.depth)
            })
        };
        let steps = (1..=20).map(|i| DOWN * f64::from(i) / 20.0);
        let down = steps.map(|d| peak - d).find(|&height| fits(height));
        down.unwrap_or(peak - 0.5 * self.width) - BURIED
    }

    /// Edges of the cavity in the parting plane, as (height, y).
    fn edges(&self) -> impl Iterator<Item = [[f64; 2]; 2]> {
        self.plane.loops.iter().flat_map(move |points| {
            (0..points.len()).map(move |i| {
                [points[i], points[(i + 1) % points.len()]].map(|[x, y]| [self.up * x, y])
            })
        })
    }

    /// How many rows above a peak a groove that leaves it straight or on a slant comes free of
    /// all that is there, if it does so before it runs into the cavity again.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn shelter(&self, [peak, y]: [f64; 2], turn: i64, map: &Map) -> Option<usize> {
        const FINE: usize = 4;
        let slant = turn as f64;
        let half = 0.5 * self.width;
        // Square to the groove's run.
        let length = libm::hypot(1.0, slant);
        let side = [-slant * half / length, half / length];
        for row in 1..=((SHELTER / CELL) as usize).min(map.rows.saturating_sub(1)) {
            for fine in 1..=FINE {
                let up = (row as f64 - 1.0 + fine as f64 / FINE as f64) * CELL;
                let middle = [peak + up, y + slant * up];
                let within = |s: f64| {
                    let [h, y] = [middle[0] + s * side[0], middle[1] + s * side[1]];
                    h > peak && self.plane.holds(self.up * h, y)
                };
                if [-1.0, 0.0, 1.0].into_iter().any(within) {
                    return None;
                }
            }
            let cell = map.column as i64 + turn * row as i64;
            if !(0..map.width as i64).contains(&cell) {
                return None;
            }
            if map.free(row, cell as usize) {
                return Some(row);
            }
        }
        None
    }

    /// Corners of the way from above a peak to the top face, as (height, y).
    fn route(&self, peak: [f64; 2], others: &[Groove]) -> Option<Vec<[f64; 2]>> {
        let map = self.map(peak, others);
        // Out of the shelter of the high point itself, then along the cheapest way.
        let cells = TURNS
            .iter()
            .enumerate()
            .filter_map(|(k, &turn)| {
                let start = self.shelter(peak, turn, &map)?;
                let cell = (map.column as i64 + turn * start as i64) as usize;
                let (cells, cost) = map.climb(start, cell, k)?;
                Some(([vec![(0, map.column)], cells].concat(), cost))
            })
            .min_by(|a, b| a.1.total_cmp(&b.1))?
            .0;
        // From row to row the way runs on or bends.
        let slope = |i: usize| {
            let ((low, from), (high, to)) = (cells[i], cells[i + 1]);
            (to as f64 - from as f64) / (high as f64 - low as f64)
        };
        let mut path: Vec<[f64; 2]> = Vec::new();
        for (i, &(row, cell)) in cells.iter().enumerate() {
            let bends = i == 0 && slope(0) != 0.0
                || i > 0 && (i + 1 == cells.len() || slope(i - 1) != slope(i));
            if bends {
                path.push([peak[0] + row as f64 * CELL, map.y(cell)]);
            }
        }
        if let Some(last) = path.last_mut() {
            last[0] = self.top();
        }
        Some(path)
    }

    /// The face above a peak, with what is in the way.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn map(&self, [peak, y]: [f64; 2], others: &[Groove]) -> Map {
        let (low, high) = (self.block.min.y, self.block.max.y);
        let to_right = ((y - low) / CELL).floor() as usize;
        let to_left = ((high - y) / CELL).floor() as usize;
        let mut map = Map {
            rows: ((self.top() - peak) / CELL).floor() as usize + 1,
            width: to_right + to_left + 1,
            column: to_right,
            from: [peak, y - to_right as f64 * CELL],
            taken: Vec::new(),
        };
        map.taken = vec![false; map.rows * map.width];
        for cell in 0..map.width {
            let y = map.y(cell);
            if y - low < FROM_SIDE || high - y < FROM_SIDE {
                (0..map.rows).for_each(|row| map.taken[row * map.width + cell] = true);
            }
        }
        let half = 0.5 * self.width;
        for edge in self.edges() {
            map.take(edge, half + LAND);
        }
        for key in self.keys {
            let at = [self.up * key.at[0], key.at[1]];
            let [along, across] = key.reach();
            let ends = [-1.0, 1.0].map(|s| [at[0] + s * (along - across), at[1]]);
            map.take(ends, across + KEY_LAND + half);
        }
        for &([x, y], radius) in self.taken {
            map.take([[self.up * x, y]; 2], radius + LAND + half);
        }
        for other in others {
            for pair in other.path.windows(2) {
                let edge = [pair[0], pair[1]].map(|[x, y]| [self.up * x, y]);
                map.take(edge, 0.5 * other.width + LAND + half);
            }
        }
        map
    }
}

/// A grid over the face, rows by height.
struct Map {
    rows: usize,
    width: usize,
    /// The column over the peak.
    column: usize,
    /// Height and y of the first cell.
    from: [f64; 2],
    taken: Vec<bool>,
}

impl Map {
    fn y(&self, cell: usize) -> f64 {
        self.from[1] + cell as f64 * CELL
    }

    fn free(&self, row: usize, cell: usize) -> bool {
        !self.taken[row * self.width + cell]
    }

    /// Takes all cells closer to an edge than some distance.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn take(&mut self, [a, b]: [[f64; 2]; 2], distance: f64) {
        let range = |k: usize, count: usize| {
            let low = (a[k].min(b[k]) - distance - self.from[k]) / CELL;
            let high = (a[k].max(b[k]) + distance - self.from[k]) / CELL;
            (low.ceil().max(0.0) as usize)..((high.floor() + 1.0).max(0.0) as usize).min(count)
        };
        let (rows, cells) = (range(0, self.rows), range(1, self.width));
        let step = [b[0] - a[0], b[1] - a[1]];
        let square = step[0] * step[0] + step[1] * step[1];
        for row in rows {
            for cell in cells.clone() {
                let to = [self.from[0] + row as f64 * CELL - a[0], self.y(cell) - a[1]];
                let t = if square > 0.0 {
                    ((to[0] * step[0] + to[1] * step[1]) / square).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                if libm::hypot(to[0] - t * step[0], to[1] - t * step[1]) < distance {
                    self.taken[row * self.width + cell] = true;
                }
            }
        }
    }

    /// The cheapest way up from a cell reached by a turn, and its cost: one row a step, straight
    /// or on a slant.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn climb(
        &self,
        start: usize,
        column: usize,
        turn: usize,
    ) -> Option<(Vec<(usize, usize)>, f64)> {
        let straight_from = self.rows.saturating_sub((STRAIGHT / CELL) as usize);
        // Cost by cell and turn, and the turn before, a row each.
        let mut costs = vec![[f64::INFINITY; 3]; self.width];
        costs[column][turn] = 0.0;
        let mut before: Vec<Vec<[u8; 3]>> = Vec::new();
        for row in start + 1..self.rows {
            let mut next = vec![[f64::INFINITY; 3]; self.width];
            let mut turns = vec![[0u8; 3]; self.width];
            for cell in (0..self.width).filter(|&cell| self.free(row, cell)) {
                for (k, turn) in TURNS.iter().enumerate() {
                    let from = cell as i64 - turn;
                    if (k > 0 && row >= straight_from) || !(0..self.width as i64).contains(&from) {
                        continue;
                    }
                    for (j, &cost) in costs[from as usize].iter().enumerate() {
                        let step = if k == 0 { 1.0 } else { SLANT };
                        let bend = if j == k { 0.0 } else { BEND };
                        if cost + step + bend < next[cell][k] {
                            next[cell][k] = cost + step + bend;
                            turns[cell][k] = j as u8;
                        }
                    }
                }
            }
            costs = next;
            before.push(turns);
        }
        let (mut cell, cost) = costs
            .iter()
            .map(|c| c[0])
            .enumerate()
            .min_by(|a, b| a.1.total_cmp(&b.1))?;
        if !cost.is_finite() {
            return None;
        }
        let mut turn = 0;
        let mut way = vec![(self.rows - 1, cell)];
        for (i, turns) in before.iter().enumerate().rev() {
            let earlier = turns[cell][turn] as usize;
            cell = (cell as i64 - TURNS[turn]) as usize;
            turn = earlier;
            way.push((start + i, cell));
        }
        way.reverse();
        Some((way, cost))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bent_groove_is_a_sound_solid_as_wide_all_along() {
        let groove = Groove {
            path: vec![[5.0, 0.0], [0.0, 0.0], [-4.0, 4.0], [-9.0, 4.0]],
            width: 1.5,
            depth: 0.5,
        };
        let mesh = groove.mesh();
        mesh.check().unwrap();
        // Mitred, so the volume is that of the middle line times the section.
        let length = 5.0 + 32.0f64.sqrt() + 5.0;
        assert!((mesh.volume() - 0.75 * length).abs() < 1e-9);
        assert_eq!(mesh.bounds().unwrap().min.x, -9.0);
    }

    #[test]
    fn the_way_up_leads_round_what_is_taken_and_is_none_if_all_is() {
        let mut map = Map {
            rows: 40,
            width: 41,
            column: 20,
            from: [0.0, -10.0],
            taken: vec![false; 40 * 41],
        };
        map.take([[10.0, -3.0], [10.0, 1.0]], 1.0);
        let (way, _) = map.climb(0, 20, 0).unwrap();
        assert_eq!((way[0], way[way.len() - 1].0), ((0, 20), 39));
        assert!(way.windows(2).all(|w| w[1].0 == w[0].0 + 1));
        assert!(way.iter().all(|&(row, cell)| map.free(row, cell)));
        // Round the nearer end of the bar, to the left.
        assert!(way[39].1 > 20);
        map.take([[12.0, -10.0], [12.0, 10.0]], 1.0);
        assert_eq!(map.climb(0, 20, 0), None);
    }
}
