//! Whether the halves open: undercuts, how deep they are, and what bears them.
//!
//! # What an undercut is
//! With the mould's axes (parting plane z = 0, a bowed or stepped face drawn level, see [`PartingFace`]) the upper
//! half is drawn along +z and the lower
//! along −z. Mould material of a half *lies in the way* where, further along its own pull,
//! the casting stands over it. It lies under facets of the casting that face against the pull;
//! facets that share an edge make one undercut.
//!
//! # How deep it is
//! For a piece of material in the way at height z, let S be the shadow, square to the pull, of all
//! of the casting in that half beyond z. The piece comes free once it has yielded sideways out of
//! S, or the casting has shrunk sideways from it as much. The depth of an undercut is the
//! greatest such distance of its material: the overlap of the lip and what it holds. A ball
//! of radius r sunk below the parting plane by d is held by r − √(r² − d²).
//!
//! It is measured on a grid of columns along the pull, whose spacing (see [`Undercuts::spacing`])
//! bounds the error: at most one and a half spacings.

use nalgebra::{Point3, Vector3};

use super::{Mould, PartingFace};
use crate::mesh::{AxisMap, Bounds, Mesh};
use crate::spec::Parting;

/// A facet leans against the pull if its normal does by more than this (the sine of a twentieth
/// of a degree): less is upright with rounding.
const LEAN: f64 = 1e-3;
/// Less area against the pull than this, in mm², holds nothing.
const LEAST_AREA: f64 = 0.05;
/// Columns of the grid: memory and time go with them.
const COLUMNS: f64 = 600_000.0;
/// Finest spacing of the columns, in mm.
const FINEST: f64 = 0.04;
/// Least depth that counts, in mm; facets alone stand off their surface by the tolerance.
const LEAST_DEPTH: f64 = 0.1;
/// What stands no more than this, in mm, over the foot of a piece in the way does not hold it: the
/// flat of a fin under it is level but for rounding.
const LEVEL: f64 = 1e-4;
/// Depths closer than this, in mm, are the same when planes are compared.
pub const SAME_DEPTH: f64 = 0.25;
/// What a silicone lip bears: the share by which it may stretch each time the mould is opened. A
/// tenth of the 300 % at which mould silicones break by their data sheets, or more (reasoned).
pub const SILICONE_STRETCH: f64 = 0.3;

/// What a half is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// A printed or metal half: it yields nothing.
    Rigid,
    /// A cast silicone half: its lip may stretch by [`SILICONE_STRETCH`].
    Silicone,
}

/// Which half of a mould.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Half {
    /// Above the parting plane, drawn along +z.
    Upper,
    /// Below it, drawn along −z.
    Lower,
}

/// One connected patch of the casting that holds a half.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Undercut {
    /// The half that it holds.
    pub half: Half,
    /// How far mould or casting must yield sideways, in mm.
    pub depth: f64,
    /// Width of the casting's shadow across the deepest place, the way it yields, in mm.
    pub across: f64,
    /// Surface that faces against the pull, in mm².
    pub area: f64,
    /// On the surface, over the material that lies deepest in the way.
    pub at: Point3<f64>,
    /// The facets.
    pub facets: Vec<u32>,
}

impl Undercut {
    /// The share by which the casting must give way if the mould does not: of its width there,
    /// both of its sides yielding.
    pub fn squeeze(&self) -> f64 {
        (2.0 * self.depth / self.across).min(1.0)
    }

    /// The share by which the mould's lip must stretch if the casting does not give way;
    /// infinite where no lip is left.
    pub fn stretch(&self) -> f64 {
        let open = 0.5 * self.across - self.depth;
        if open > 0.0 {
            self.depth / open
        } else {
            f64::INFINITY
        }
    }

    /// Whether a half of this material lets go of a casting that yields nothing.
    pub fn borne_by(&self, material: Material) -> bool {
        material == Material::Silicone && self.stretch() <= SILICONE_STRETCH
    }
}

/// What holds the halves of a mould, deepest first.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Undercuts {
    /// The undercuts.
    pub found: Vec<Undercut>,
    /// Distance between the columns they were measured by, in mm; 0 where none was needed.
    pub spacing: f64,
}

impl Undercuts {
    /// Undercuts of a closed surface in the mould's axes, whose facets lie within
    /// `tolerance` of the true surface.
    pub fn of(surface: &Mesh, tolerance: f64) -> Self {
        Self::of_each(surface, tolerance, &[], |_| 0)
    }

    /// The same of a surface with several baits, of which `nearest` tells the one that a place
    /// belongs to. Those alike are measured once, so that they are told alike.
    pub(super) fn of_each(
        surface: &Mesh,
        tolerance: f64,
        baits: &[Cast],
        nearest: impl Fn(&Point3<f64>) -> usize,
    ) -> Self {
        let mut all = Undercuts::default();
        for half in [Half::Upper, Half::Lower] {
            let mirrored;
            let drawn_up = match half {
                Half::Upper => surface,
                Half::Lower => {
                    mirrored = surface.clone().mapped(&AxisMap::MIRROR_Z);
                    &mirrored
                }
            };
            let mut patches = patches(drawn_up);
            if patches.is_empty() {
                continue;
            }
            all.spacing = if baits.len() < 2 {
                let Some(columns) = drawn_up.bounds().map(|b| Columns::of(drawn_up, &b)) else {
                    continue;
                };
                columns.measure(drawn_up, &mut patches);
                columns.spacing
            } else {
                let upright = if half == Half::Upper { 1.0 } else { -1.0 };
                let of: Vec<usize> = (patches.iter())
                    .map(|p| nearest(&Point3::new(p.at.x, p.at.y, upright * p.at.z)))
                    .collect();
                by_bait(drawn_up, &mut patches, baits, &of)
            };
            for mut found in patches {
                if found.depth < LEAST_DEPTH.max(2.0 * tolerance) {
                    continue;
                }
                found.half = half;
                if half == Half::Lower {
                    found.at.z = -found.at.z;
                }
                all.found.push(found);
            }
        }
        // Those of both halves alternate where they are alike, whatever rounding says.
        let rank = |u: &Undercut| (u.depth / 0.01).round();
        all.found.sort_by(|a, b| rank(b).total_cmp(&rank(a)));
        all
    }

    /// The greatest depth, in mm; 0 if nothing holds.
    pub fn depth(&self) -> f64 {
        self.found.first().map_or(0.0, |u| u.depth)
    }
}

/// The plane a mould had best open along.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Proposal {
    /// The plane with the shallower undercut, the flank where both are alike.
    pub parting: Parting,
    /// What would hold with the flank parting.
    pub flank: Undercuts,
    /// What would hold with the waist parting.
    pub waist: Undercuts,
}

impl Proposal {
    /// Compares both planes on the master (in the body's axes) alone: no mould is made. The
    /// waist may be bowed and stepped.
    pub fn of(master: &Mesh, waist: &PartingFace, tolerance: f64) -> Self {
        let flank = master.clone().mapped(&Mould::turn(Parting::Flank));
        let flank = Undercuts::of(&flank, tolerance);
        let waist = waist.undercuts(waist.divided(master.clone()), tolerance);
        Proposal {
            parting: Self::better(&flank, &waist),
            flank,
            waist,
        }
    }
}

impl Proposal {
    /// Takes another bait of the same mould into account: of each plane what holds deeper.
    pub fn deepen(&mut self, other: Proposal) {
        let pairs = [
            (&mut self.flank, other.flank),
            (&mut self.waist, other.waist),
        ];
        for (own, other) in pairs {
            if other.depth() > own.depth() {
                *own = other;
            }
        }
        self.parting = Self::better(&self.flank, &self.waist);
    }

    fn better(flank: &Undercuts, waist: &Undercuts) -> Parting {
        if waist.depth() < flank.depth() - SAME_DEPTH {
            Parting::Waist
        } else {
            Parting::Flank
        }
    }
}

impl PartingFace {
    /// Undercuts of a surface in the mould's axes that is divided where this face bends.
    pub(super) fn undercuts(&self, surface: Mesh, tolerance: f64) -> Undercuts {
        let all = Undercuts::of(&self.lowered(surface), tolerance);
        self.with_heights(all)
    }

    /// Undercuts that were found drawn level, where they are.
    fn with_heights(&self, mut all: Undercuts) -> Undercuts {
        for undercut in &mut all.found {
            undercut.at.z += self.height(undercut.at.x, undercut.at.y);
        }
        all
    }
}

impl Mould {
    /// What holds the halves as they are drawn, with the facets of [`Mould::cavity`].
    pub fn undercuts(&self, tolerance: f64) -> Undercuts {
        let cast = (self.cavities.iter().zip(&self.kinds)).filter_map(|(&across, &kind)| {
            let beside = kind.checked_sub(1).and_then(|k| self.beside.get(k));
            let master = beside.map_or(&self.master, |other| &other.master);
            let mut around = master.bounds()?;
            around.min.y += across;
            around.max.y += across;
            Some(Cast {
                kind,
                across,
                around,
            })
        });
        let cast: Vec<Cast> = cast.collect();
        let surface = self.face.lowered(self.cavity.clone());
        let all = Undercuts::of_each(&surface, tolerance, &cast, |p| {
            let z = p.z + self.face.height(p.x, p.y);
            self.bait_at(&Point3::new(p.x, p.y, z))
        });
        self.face.with_heights(all)
    }
}

/// A bait of a mould with several.
pub(super) struct Cast {
    /// Which kind it is of.
    pub kind: usize,
    /// How far across it lies.
    pub across: f64,
    /// The box round it.
    pub around: Bounds,
}

/// Measures the patches of each bait among its own columns, or takes over what was found for one
/// like it that has been measured. The widest spacing of columns.
fn by_bait(mesh: &Mesh, patches: &mut [Undercut], baits: &[Cast], of: &[usize]) -> f64 {
    /// Room round a bait, in mm: within half of what lies between two there is a column that is
    /// free.
    const ROOM: f64 = 2.5;
    /// How far middles and sizes of what is alike are off by rounding and by what meets a channel.
    const ALIKE: (f64, f64) = (0.1, 0.01);
    let mut spacing: f64 = 0.0;
    let middles: Vec<Point3<f64>> = patches.iter().map(|p| p.middle(mesh)).collect();
    let mut measured: Vec<usize> = Vec::new();
    for (i, bait) in baits.iter().enumerate() {
        let mut new = Vec::new();
        for k in (0..patches.len()).filter(|&k| of[k] == i) {
            let like = |&&j: &&usize| {
                let other = &baits[of[j]];
                let aside = Vector3::new(0.0, bait.across - other.across, 0.0);
                let (a, b) = (patches[j].area, patches[k].area);
                other.kind == bait.kind
                    && (a - b).abs() <= ALIKE.1 * a.max(b)
                    && (middles[k] - middles[j] - aside).norm() < ALIKE.0
            };
            match measured.iter().find(like) {
                Some(&j) => {
                    let aside = bait.across - baits[of[j]].across;
                    let like = patches[j].clone();
                    let own = &mut patches[k];
                    (own.depth, own.across, own.area) = (like.depth, like.across, like.area);
                    own.at = like.at;
                    own.at.y += aside;
                }
                None => new.push(k),
            }
        }
        if new.is_empty() {
            continue;
        }
        let mut window = bait.around;
        for k in 0..2 {
            window.min[k] -= ROOM;
            window.max[k] += ROOM;
        }
        let columns = Columns::of(mesh, &window);
        let mut own: Vec<Undercut> = new.iter().map(|&k| patches[k].clone()).collect();
        columns.measure(mesh, &mut own);
        spacing = spacing.max(columns.spacing);
        for (k, own) in new.iter().zip(own) {
            patches[*k] = own;
        }
        measured.extend(new);
    }
    spacing
}

/// Facets above the plane that face down, by patches; depths are yet to be measured.
fn patches(mesh: &Mesh) -> Vec<Undercut> {
    let leans: Vec<u32> = (0..mesh.triangles.len() as u32)
        .filter(|&t| {
            let [a, b, c] = mesh.corners(t as usize);
            let cross = (b - a).cross(&(c - a));
            cross.z < -LEAN * cross.norm() && [a, b, c].iter().any(|p| p.z > 1e-9)
        })
        .collect();
    let mut edges: Vec<([u32; 2], usize)> = Vec::with_capacity(3 * leans.len());
    for (i, &t) in leans.iter().enumerate() {
        let [a, b, c] = mesh.triangles[t as usize];
        for [a, b] in [[a, b], [b, c], [c, a]] {
            // An edge on the plane or below joins nothing above it.
            let above = [a, b].iter().any(|&p| mesh.points[p as usize].z > 1e-9);
            if above {
                edges.push(([a.min(b), a.max(b)], i));
            }
        }
    }
    edges.sort_unstable();
    let mut sets = super::sets::Sets::new(leans.len());
    for pair in edges.windows(2) {
        if pair[0].0 == pair[1].0 {
            sets.join(pair[0].1, pair[1].1);
        }
    }
    let mut patch_of = vec![usize::MAX; leans.len()];
    let mut patches: Vec<Undercut> = Vec::new();
    for (i, &t) in leans.iter().enumerate() {
        let root = sets.root(i);
        if patch_of[root] == usize::MAX {
            patch_of[root] = patches.len();
            patches.push(Undercut {
                half: Half::Upper,
                depth: 0.0,
                across: 0.0,
                area: 0.0,
                at: mesh.corners(t as usize)[0],
                facets: Vec::new(),
            });
        }
        let patch = &mut patches[patch_of[root]];
        patch.area += area_above(&mesh.corners(t as usize));
        patch.facets.push(t);
    }
    patches.retain(|p| p.area > LEAST_AREA);
    patches
}

/// Area of the part of a triangle above z = 0.
fn area_above(corners: &[Point3<f64>; 3]) -> f64 {
    let mut kept: Vec<Point3<f64>> = Vec::with_capacity(4);
    for k in 0..3 {
        let (a, b) = (corners[k], corners[(k + 1) % 3]);
        if a.z >= 0.0 {
            kept.push(a);
        }
        if (a.z > 0.0) != (b.z > 0.0) && a.z != b.z {
            kept.push(a + (b - a) * (a.z / (a.z - b.z)));
        }
    }
    let fan = (1..kept.len().saturating_sub(1)).map(|i| {
        let (ab, ac) = (kept[i] - kept[0], kept[i + 1] - kept[0]);
        0.5 * ab.cross(&ac).norm()
    });
    fan.sum()
}

/// Where a column passes through the surface.
#[derive(Clone, Copy)]
struct Pass {
    z: f64,
    facet: u32,
    /// Into the solid, going up.
    into: bool,
}

/// Columns along the pull, on a grid in x and y with a free border of one.
struct Columns {
    spacing: f64,
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
    fn of(mesh: &Mesh, bounds: &Bounds) -> Self {
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
    fn measure(&self, mesh: &Mesh, patches: &mut [Undercut]) {
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
        for (cell, foot, pass) in gaps {
            let patch = match patch_of[pass.facet as usize] {
                usize::MAX => continue,
                patch => &mut patches[patch],
            };
            if reach[cell] <= patch.depth {
                continue;
            }
            let (depth, towards) = self.way_out(cell, foot, reach[cell]);
            if depth > patch.depth {
                patch.depth = depth;
                patch.across = self.width(cell, foot, towards);
                let [x, y] = self.middle(cell);
                patch.at = Point3::new(x, y, pass.z);
            }
        }
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
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn width(&self, cell: usize, foot: f64, step: [i64; 2]) -> f64 {
        let length = ((step[0] * step[0] + step[1] * step[1]) as f64).sqrt();
        let unit = step.map(|s| s as f64 / length.max(1.0));
        let [i, j] = [(cell % self.size[0]) as f64, (cell / self.size[0]) as f64];
        let mut back = 0.0;
        loop {
            back += 1.0;
            let [x, y] = [(i - back * unit[0]).round(), (j - back * unit[1]).round()];
            let within =
                x >= 0.0 && y >= 0.0 && (x as usize) < self.size[0] && (y as usize) < self.size[1];
            if !within || self.top[y as usize * self.size[0] + x as usize] <= foot + LEVEL {
                return (length + back) * self.spacing;
            }
        }
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

impl Undercut {
    /// The middle of its facets, by their area.
    fn middle(&self, mesh: &Mesh) -> Point3<f64> {
        let (mut sum, mut area) = (Vector3::zeros(), 0.0);
        for &t in &self.facets {
            let [a, b, c] = mesh.corners(t as usize);
            let own = (b - a).cross(&(c - a)).norm();
            sum += (a.coords + b.coords + c.coords) * (own / 3.0);
            area += own;
        }
        Point3::from(sum / f64::max(area, f64::MIN_POSITIVE))
    }

    /// From where to where along the body it reaches on a surface.
    pub fn span(&self, surface: &Mesh) -> Option<[f64; 2]> {
        let points = self
            .facets
            .iter()
            .flat_map(|&t| surface.triangles[t as usize])
            .map(|p| &surface.points[p as usize]);
        Bounds::of(points).map(|b| [b.min.x, b.max.x])
    }
}

#[cfg(test)]
mod tests;
