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

mod columns;

use nalgebra::{Point3, Vector3};

use self::columns::Columns;
use super::{Mould, PartingFace};
use crate::mesh::{AxisMap, Bounds, Mesh};
use crate::spec::Parting;

/// A facet leans against the pull if its normal does by more than this (the sine of a twentieth
/// of a degree): less is upright with rounding.
const LEAN: f64 = 1e-3;
/// Less area against the pull than this, in mm², holds nothing.
const LEAST_AREA: f64 = 0.05;
/// Least depth that counts, in mm; facets alone stand off their surface by the tolerance.
const LEAST_DEPTH: f64 = 0.1;
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
    /// Width of the casting's shadow across the deepest place, the way it yields, in mm: out by the
    /// shortest way, or by one that is hardly longer where the shadow is much narrower.
    pub across: f64,
    /// Surface that faces against the pull, in mm².
    pub area: f64,
    /// Over the material that lies deepest in the way, on the surface of what holds it there.
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
            let spacing = if baits.len() < 2 {
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
            // The coarser of both halves bounds the error.
            all.spacing = all.spacing.max(spacing);
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
