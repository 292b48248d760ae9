//! A solid as columns along the pull: how deep what holds it reaches.

use nalgebra::Point3;

use super::Undercut;
use crate::mesh::{Bounds, Mesh};

/// Columns of the grid: memory and time go with them.
const COLUMNS: f64 = 600_000.0;
/// Finest spacing of the columns, in mm.
const FINEST: f64 = 0.04;
/// What stands no more than this, in mm, over the foot of a piece in the way does not hold it: the
/// flat of a fin under it is level but for rounding.
const LEVEL: f64 = 1e-4;

/// Where a column passes through the surface.
#[derive(Clone, Copy)]
struct Pass {
    z: f64,
    facet: u32,
    /// Into the solid, going up.
    into: bool,
}

/// Where a patch reaches deepest.
struct Deepest {
    cell: usize,
    /// How low the material in the way reaches, and the surface over it.
    foot: f64,
    z: f64,
    /// The shortest way out, in columns.
    towards: [i64; 2],
}

/// Columns along the pull, on a grid in x and y with a free border of one.
pub(super) struct Columns {
    /// From one to the next, in mm.
    pub(super) spacing: f64,
    from: [f64; 2],
    size: [usize; 2],
    /// Where the passes of each column begin; one more at the end.
    starts: Vec<u32>,
    /// By column, and rising within each.
    passes: Vec<Pass>,
    /// How high the solid reaches in each column; nothing below the plane counts.
    top: Vec<f64>,
}

impl Columns {
    /// Columns through a mesh, as far as this box reaches in plan.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub(super) fn of(mesh: &Mesh, bounds: &Bounds) -> Self {
        let size = bounds.size();
        let spacing = (size.x * size.y / COLUMNS).sqrt().max(FINEST);
        let count = |length: f64| (length / spacing).ceil() as usize + 3;
        let mut columns = Columns {
            spacing,
            from: [bounds.min.x - spacing, bounds.min.y - spacing],
            size: [count(size.x), count(size.y)],
            starts: Vec::new(),
            passes: Vec::new(),
            top: Vec::new(),
        };
        let cells = columns.size[0] * columns.size[1];
        let mut found: Vec<(u32, Pass)> = Vec::new();
        for t in 0..mesh.triangles.len() {
            columns.pass_facet(mesh, t, &mut found);
        }
        let mut starts = vec![0u32; cells + 1];
        for (cell, _) in &found {
            starts[*cell as usize + 1] += 1;
        }
        for i in 0..cells {
            starts[i + 1] += starts[i];
        }
        let mut next = starts.clone();
        let blank = Pass {
            z: 0.0,
            facet: 0,
            into: true,
        };
        columns.passes = vec![blank; found.len()];
        for (cell, pass) in found {
            let slot = &mut next[cell as usize];
            columns.passes[*slot as usize] = pass;
            *slot += 1;
        }
        columns.top = vec![f64::NEG_INFINITY; cells];
        for cell in 0..cells {
            let passes = &mut columns.passes[starts[cell] as usize..starts[cell + 1] as usize];
            passes.sort_by(|a, b| a.z.total_cmp(&b.z));
            if let Some(last) = passes.last() {
                columns.top[cell] = last.z;
            }
        }
        columns.starts = starts;
        columns
    }

    /// Passes of all columns through one facet. Rows and cells are half-open, and an edge is
    /// met at the same x from both its facets, so that no column slips between two of them.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn pass_facet(&self, mesh: &Mesh, t: usize, found: &mut Vec<(u32, Pass)>) {
        let [a, b, c] = mesh.corners(t);
        let normal = (b - a).cross(&(c - a));
        if normal.z == 0.0 {
            return;
        }
        let (low, high) = (a.y.min(b.y).min(c.y), a.y.max(b.y).max(c.y));
        let index = |v: f64, from: f64| ((v - from) / self.spacing).floor().max(0.0) as usize;
        let upto = |v: f64, k: usize| (index(v, self.from[k]) + 1).min(self.size[k] - 1);
        for row in index(low, self.from[1])..=upto(high, 1) {
            let y = self.from[1] + row as f64 * self.spacing;
            let mut span = [f64::INFINITY, f64::NEG_INFINITY];
            for [p, q] in [[a, b], [b, c], [c, a]] {
                if (p.y > y) == (q.y > y) {
                    continue;
                }
                let (p, q) = if (p.y, p.x, p.z) < (q.y, q.x, q.z) {
                    (p, q)
                } else {
                    (q, p)
                };
                let x = p.x + (y - p.y) / (q.y - p.y) * (q.x - p.x);
                span = [span[0].min(x), span[1].max(x)];
            }
            if span[0] >= span[1] {
                continue;
            }
            for i in index(span[0], self.from[0])..=upto(span[1], 0) {
                let x = self.from[0] + i as f64 * self.spacing;
                if x < span[0] || x >= span[1] {
                    continue;
                }
                let z = a.z - ((x - a.x) * normal.x + (y - a.y) * normal.y) / normal.z;
                found.push((
                    (row * self.size[0] + i) as u32,
                    Pass {
                        z,
                        facet: t as u32,
                        into: normal.z < 0.0,
                    },
                ));
            }
        }
    }

    /// Material above the plane with the solid over it: column, how low it reaches, and the pass
    /// over it.
    fn in_the_way(&self) -> Vec<(usize, f64, Pass)> {
        let mut gaps = Vec::new();
        for cell in 0..self.top.len() {
            if self.top[cell] <= 0.0 {
                continue;
            }
            let (mut inside, mut foot) = (0i32, 0.0f64);
            let range = self.starts[cell] as usize..self.starts[cell + 1] as usize;
            for &pass in &self.passes[range] {
                if pass.into {
                    if inside == 0 && pass.z > foot {
                        gaps.push((cell, foot, pass));
                    }
                    inside += 1;
                } else {
                    inside -= 1;
                    foot = foot.max(pass.z);
                }
            }
        }
        gaps
    }

    /// Fills in depth, width and place of the patches.
    pub(super) fn measure(&self, mesh: &Mesh, patches: &mut [Undercut]) {
        let mut patch_of = vec![usize::MAX; mesh.triangles.len()];
        for (i, patch) in patches.iter().enumerate() {
            for &t in &patch.facets {
                patch_of[t as usize] = i;
            }
        }
        let reach = self.to_free();
        let mut gaps = self.in_the_way();
        // The shadow of what lies beyond a place is part of the whole shadow, so the way out of
        // that is at least as far: with the farthest first few have to be looked into.
        gaps.sort_by(|a, b| reach[b.0].total_cmp(&reach[a.0]).then(a.0.cmp(&b.0)));
        let mut deepest: Vec<Option<Deepest>> = patches.iter().map(|_| None).collect();
        for (cell, foot, pass) in gaps {
            let (patch, found) = match patch_of[pass.facet as usize] {
                usize::MAX => continue,
                patch => (&mut patches[patch], &mut deepest[patch]),
            };
            if reach[cell] <= patch.depth {
                continue;
            }
            let (depth, towards) = self.way_out(cell, foot, reach[cell]);
            if depth > patch.depth {
                patch.depth = depth;
                *found = Some(Deepest {
                    cell,
                    foot,
                    towards,
                    z: pass.z,
                });
            }
        }
        for (patch, found) in patches.iter_mut().zip(deepest) {
            let Some(found) = found else {
                continue;
            };
            patch.across = self.narrowest(&found);
            let [x, y] = self.middle(found.cell);
            patch.at = Point3::new(x, y, self.holder(&found, patch.depth));
        }
    }

    /// How high what holds a piece begins: of all that stands over it the farthest that would hold
    /// it nearly as deep alone.
    fn holder(&self, found: &Deepest, depth: f64) -> f64 {
        /// Nearly, as a share of the depth.
        const NEARLY: f64 = 0.9;
        let cell = found.cell;
        let range = self.starts[cell] as usize..self.starts[cell + 1] as usize;
        let (mut inside, mut foot) = (0i32, 0.0f64);
        let mut farther = Vec::new();
        for pass in &self.passes[range] {
            if pass.into {
                if inside == 0 && pass.z > found.z {
                    farther.push((foot, pass.z));
                }
                inside += 1;
            } else {
                inside -= 1;
                foot = foot.max(pass.z);
            }
        }
        let alone = |foot: f64| self.way_out(cell, foot, depth).0;
        let holds = farther
            .iter()
            .rev()
            .find(|(foot, _)| alone(*foot) >= NEARLY * depth);
        holds.map_or(found.z, |&(_, z)| z)
    }

    /// Width of the shadow where a patch is deepest, the shortest way out. A way that is hardly
    /// longer counts instead if the shadow is much narrower there: out over the end of a disc behind
    /// the tail the shortest way has the whole bait behind it.
    fn narrowest(&self, found: &Deepest) -> f64 {
        /// Directions that are tried, how much longer a way may be, and how much narrower the
        /// shadow then is.
        const TURNS: i32 = 72;
        const LONGER: f64 = 1.1;
        const NARROWER: f64 = 0.5;
        let Deepest { cell, foot, .. } = *found;
        let shortest = found.towards.map(|s| s as f64);
        let length = libm::hypot(shortest[0], shortest[1]);
        let width = self.width(cell, foot, found.towards);
        let ways = (1..TURNS).filter_map(|k| {
            let turn = std::f64::consts::TAU * f64::from(k) / f64::from(TURNS);
            let (sin, cos) = libm::sincos(turn);
            let most = LONGER * length + 1.0;
            let out = self.free_after(cell, foot, [cos, sin], most)?;
            let back = self.free_after(cell, foot, [-cos, -sin], width / self.spacing)?;
            Some((out + back) * self.spacing)
        });
        let least = ways.fold(f64::INFINITY, f64::min);
        if least < NARROWER * width {
            least
        } else {
            width
        }
    }

    /// How many columns from one the first is free beyond `foot`, going this way, if it is no more
    /// than `most`.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn free_after(&self, cell: usize, foot: f64, unit: [f64; 2], most: f64) -> Option<f64> {
        let [i, j] = [(cell % self.size[0]) as f64, (cell / self.size[0]) as f64];
        let mut gone = 0.0;
        while gone < most {
            gone += 1.0;
            let [x, y] = [(i + gone * unit[0]).round(), (j + gone * unit[1]).round()];
            let within =
                x >= 0.0 && y >= 0.0 && (x as usize) < self.size[0] && (y as usize) < self.size[1];
            if !within || self.top[y as usize * self.size[0] + x as usize] <= foot + LEVEL {
                return Some(gone);
            }
        }
        None
    }

    fn middle(&self, cell: usize) -> [f64; 2] {
        [cell % self.size[0], cell / self.size[0]]
            .map(|i| i as f64)
            .into_iter()
            .zip(self.from)
            .map(|(i, from)| from + i * self.spacing)
            .collect::<Vec<_>>()
            .try_into()
            .unwrap_or_default()
    }

    /// Distance from a column to the nearest that is free beyond `foot`, at most `most` away, and
    /// the step there in columns.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn way_out(&self, cell: usize, foot: f64, most: f64) -> (f64, [i64; 2]) {
        let [wide, tall] = self.size.map(|n| n as i64);
        let [i, j] = [cell as i64 % wide, cell as i64 / wide];
        let most = (most / self.spacing).ceil() as i64;
        let (mut best, mut step) = (i64::MAX, [0, 0]);
        for dy in 0..=most {
            if dy * dy >= best {
                break;
            }
            for dy in [dy, -dy] {
                if !(0..tall).contains(&(j + dy)) {
                    continue;
                }
                for dx in 0..=most {
                    if dx * dx + dy * dy >= best {
                        break;
                    }
                    for dx in [dx, -dx] {
                        let inside = (0..wide).contains(&(i + dx));
                        if inside && self.top[((j + dy) * wide + i + dx) as usize] <= foot + LEVEL {
                            (best, step) = (dx * dx + dy * dy, [dx, dy]);
                        }
                    }
                }
            }
        }
        ((best as f64).sqrt() * self.spacing, step)
    }

    /// Length of the shadow beyond `foot` through a column, in the line of a step from it.
    fn width(&self, cell: usize, foot: f64, step: [i64; 2]) -> f64 {
        let length = ((step[0] * step[0] + step[1] * step[1]) as f64).sqrt();
        let back = step.map(|s| -(s as f64) / length.max(1.0));
        let back = self.free_after(cell, foot, back, f64::INFINITY);
        (length + back.unwrap_or_default()) * self.spacing
    }

    /// Distance of every column to the nearest free one, in mm.
    ///
    /// # References
    /// P. F. Felzenszwalb, D. P. Huttenlocher, "Distance transforms of sampled functions",
    /// Theory of Computing 8, 2012: lower envelopes of parabolas, first along x, then along y.
    fn to_free(&self) -> Vec<f64> {
        let [wide, tall] = self.size;
        let far = (wide * wide + tall * tall) as f64;
        let mut squares: Vec<f64> = self
            .top
            .iter()
            .map(|&top| if top <= 0.0 { 0.0 } else { far })
            .collect();
        let mut line = Vec::new();
        for j in 0..tall {
            line.clear();
            line.extend_from_slice(&squares[j * wide..(j + 1) * wide]);
            envelope(&line, |i, v| squares[j * wide + i] = v);
        }
        for i in 0..wide {
            line.clear();
            line.extend((0..tall).map(|j| squares[j * wide + i]));
            envelope(&line, |j, v| squares[j * wide + i] = v);
        }
        squares.iter().map(|s| s.sqrt() * self.spacing).collect()
    }
}

/// For each place the least of values plus squared distances.
fn envelope(values: &[f64], mut set: impl FnMut(usize, f64)) {
    let mut lowest: Vec<(usize, f64)> = Vec::new();
    for (q, &v) in values.iter().enumerate() {
        let place = q as f64;
        loop {
            let Some(&(p, from)) = lowest.last() else {
                lowest.push((q, f64::NEG_INFINITY));
                break;
            };
            let other = p as f64;
            let meet =
                ((v + place * place) - (values[p] + other * other)) / (2.0 * (place - other));
            if meet > from {
                lowest.push((q, meet));
                break;
            }
            lowest.pop();
        }
    }
    let mut k = 0;
    for i in 0..values.len() {
        while k + 1 < lowest.len() && lowest[k + 1].1 < i as f64 {
            k += 1;
        }
        let off = i as f64 - lowest[k].0 as f64;
        set(i, values[lowest[k].0] + off * off);
    }
}
