//! Where a mould holds air as it is poured.
//!
//! # What a trap is
//! The mould stands with its sprue up, and plastic rises in the cavity to one level everywhere.
//! The cavity above a level falls into parts. A part with a way to the outside of the block is
//! open; the air in any other stays. As the level falls, parts grow, meet and join:
//! a part that has joined an open one breathes. A *trap* is a high point of the cavity together
//! with what lies above the level at which it joins an open part, or a higher part that is not
//! open itself. Its *height* is how far it stands above that level: its outlet
//! (H. Edelsbrunner, D. Letscher, A. Zomorodian, "Topological persistence and
//! simplification", Discrete & Computational Geometry 28, 2002, with the outlets as eldest).
//! High points of little height are noise of the facets, or hold next to nothing.
//!
//! # How it is found
//! Exactly, for the mesh: corners of the surface are swept from the top down and joined along
//! its edges. Two pieces of the surface above a level may also bound one part of the cavity
//! without touching: a hollow's ceiling, at its birth, lies within a part, whose wall the nearest
//! crossing of a level line finds. From then on they are joined; when parts meet otherwise, their
//! walls meet. The volume follows from Gauss's theorem over the facets above the level.

use nalgebra::Point3;

use super::channels::Channels;
use super::face::PartingFace;
use super::grooves::{Face, Groove};
use super::keys::Key;
use super::sets::Sets;
use crate::mesh::{AxisMap, Bounds, Mesh, Solid, SolidError};
use crate::spec::{BodyEnd, Design};

/// Least height of a trap, in mm: less air than that spreads along the wall or is taken up by
/// the plastic's skin (reasoned).
pub const LEAST_HEIGHT: f64 = 0.3;
/// The same in tolerances: two facets stand off by one each, and twice that is sure.
const LEAST_TOLERANCES: f64 = 4.0;

/// A groove in the parting face is worth while if it leaves no more than this share of a trap's
/// height.
const MOST_LEFT: f64 = 0.5;

/// A place where air stays.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Trap {
    /// Its highest point, in the mould's axes.
    pub peak: Point3<f64>,
    /// How far that stands above the outlet, in mm.
    pub height: f64,
    /// Air it holds, in mm³; what other traps within it hold once it is vented is
    /// counted there.
    pub volume: f64,
    /// Facets of the cavity with a corner in it.
    pub facets: Vec<u32>,
    /// Its highest point in the parting plane, if it reaches there: (x, y).
    pub in_plane: Option<[f64; 2]>,
}

impl Trap {
    /// How much of its height is left if it is vented at its highest point in the parting plane.
    pub(super) fn left_by_vent(&self) -> f64 {
        self.in_plane
            .map_or(self.height, |[x, _]| (x - self.peak.x).abs())
    }
}

/// Least height of a trap in meshes of this tolerance, in mm.
pub fn least_height(tolerance: f64) -> f64 {
    LEAST_HEIGHT.max(LEAST_TOLERANCES * tolerance)
}

/// Where a mould would hold air.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Air {
    /// Traps that a groove was routed from, in the order of the grooves; their facets are
    /// those of the cavity before.
    pub relieved: Vec<Trap>,
    /// Traps that are left, by falling volume, with facets of the finished cavity.
    pub held: Vec<Trap>,
}

/// Routes a groove from every trap that reaches the parting face, as far as there is a way clear of
/// keys and of round places that are taken, and cuts them into the cavity, which is drawn level;
/// places found are in the mould's axes.
pub(super) fn relieve(
    design: &Design,
    block: &Bounds,
    (keys, taken): (&[Key], &[([f64; 2], f64)]),
    parting: &PartingFace,
    channels: &mut Channels,
    cavity: Solid,
) -> Result<(Solid, Air), SolidError> {
    let least = least_height(design.tolerance);
    let up = channels.sprue.end;
    let raised = |mut traps: Vec<Trap>| {
        for trap in &mut traps {
            trap.peak.z += parting.height(trap.peak.x, trap.peak.y);
        }
        traps
    };
    let mesh = parting.ready(cavity.to_mesh());
    let found = traps(&mesh, block, up, least);
    let mut air = Air::default();
    if !found.is_empty()
        && design.mould.vent_count != Some(0)
        && let Some(face) = Face::new(design, block, (keys, taken), &mesh, up)
    {
        for trap in &found {
            if trap.left_by_vent() < least.max(MOST_LEFT * trap.height)
                && let Some(groove) = face.groove(trap, &channels.grooves)
            {
                channels.grooves.push(groove);
                air.relieved.push(trap.clone());
            }
        }
    }
    if channels.grooves.is_empty() {
        air.held = raised(found);
        return Ok((cavity, air));
    }
    let grooves: Result<Vec<Solid>, _> = channels
        .grooves
        .iter()
        .map(|groove| Solid::try_from(&parting.deepened(Groove::mesh(groove))))
        .collect();
    let cavity = cavity.union(&Solid::compose(&grooves?)?)?;
    air.relieved = raised(air.relieved);
    air.held = raised(traps(&parting.ready(cavity.to_mesh()), block, up, least));
    Ok((cavity, air))
}

/// Every trap of a cavity of at least that height, largest volume first, when the block
/// stands with the end `up` above. The cavity is open where it meets the outside of the block.
pub fn traps(cavity: &Mesh, block: &Bounds, up: BodyEnd, least: f64) -> Vec<Trap> {
    let mut found = match up {
        BodyEnd::Nose => Sweep::new(cavity, block, least).run(),
        BodyEnd::Tail => {
            let turned = cavity.clone().mapped(&AxisMap::MIRROR_X);
            let mut outside = *block;
            (outside.min.x, outside.max.x) = (-block.max.x, -block.min.x);
            let mut found = Sweep::new(&turned, &outside, least).run();
            for trap in &mut found {
                trap.peak.x = -trap.peak.x;
                if let Some(p) = &mut trap.in_plane {
                    p[0] = -p[0];
                }
            }
            found
        }
    };
    let rank = |t: &Trap| (t.volume / 1e-3).round();
    found.sort_by(|a, b| {
        rank(b)
            .total_cmp(&rank(a))
            .then(a.peak.x.total_cmp(&b.peak.x))
            .then(a.peak.y.total_cmp(&b.peak.y))
            .then(a.peak.z.total_cmp(&b.peak.z))
    });
    found
}

/// A part of the cavity above the level.
#[derive(Clone, Default)]
struct Part {
    /// Whether it has a way out.
    open: bool,
    /// Its highest corner.
    peak: u32,
    /// Its corners; not kept of an open part.
    corners: Vec<u32>,
    /// What traps within it hold.
    told: f64,
}

/// The sweep from the least x, which is up, to the greatest.
struct Sweep<'a> {
    mesh: &'a Mesh,
    block: &'a Bounds,
    least: f64,
    /// Triangles of every corner.
    starts: Vec<u32>,
    around: Vec<u32>,
    done: Vec<bool>,
    sets: Sets,
    parts: Vec<Part>,
    found: Vec<Trap>,
}

impl<'a> Sweep<'a> {
    fn new(mesh: &'a Mesh, block: &'a Bounds, least: f64) -> Self {
        let count = mesh.points.len();
        let mut starts = vec![0u32; count + 1];
        for p in mesh.triangles.iter().flatten() {
            starts[*p as usize + 1] += 1;
        }
        for i in 0..count {
            starts[i + 1] += starts[i];
        }
        let mut next = starts.clone();
        let mut around = vec![0u32; 3 * mesh.triangles.len()];
        for (t, triangle) in mesh.triangles.iter().enumerate() {
            for p in triangle {
                around[next[*p as usize] as usize] = t as u32;
                next[*p as usize] += 1;
            }
        }
        Sweep {
            mesh,
            block,
            least,
            starts,
            around,
            done: vec![false; count],
            sets: Sets::new(count),
            parts: vec![Part::default(); count],
            found: Vec::new(),
        }
    }

    fn triangles_at(&self, corner: usize) -> std::ops::Range<usize> {
        self.starts[corner] as usize..self.starts[corner + 1] as usize
    }

    fn run(mut self) -> Vec<Trap> {
        let mut order: Vec<u32> = (0..self.mesh.points.len() as u32)
            .filter(|&p| !self.triangles_at(p as usize).is_empty())
            .collect();
        let x = |p: u32| self.mesh.points[p as usize].x;
        order.sort_by(|&a, &b| x(a).total_cmp(&x(b)).then(a.cmp(&b)));
        for &corner in &order {
            self.reach(corner as usize);
        }
        // A cavity with no outlet at all holds everything.
        if let Some(&last) = order.last() {
            let level = x(last);
            for &corner in &order {
                let root = self.sets.root(corner as usize);
                if root == corner as usize && !self.parts[root].open {
                    self.close(root, level);
                }
            }
        }
        self.found
    }

    /// The level falls to a corner.
    fn reach(&mut self, corner: usize) {
        let level = self.mesh.points[corner].x;
        let mut met: Vec<usize> = Vec::new();
        for k in self.triangles_at(corner) {
            for p in self.mesh.triangles[self.around[k] as usize] {
                let p = p as usize;
                if p != corner && self.done[p] {
                    met.push(self.sets.root(p));
                }
            }
        }
        if met.is_empty()
            && let Some(wall) = self.wall_around(corner)
        {
            met.push(self.sets.root(wall));
        }
        met.sort_unstable();
        met.dedup();

        self.done[corner] = true;
        let at = &self.mesh.points[corner];
        let (low, high) = (&self.block.min, &self.block.max);
        let outlet = at.x <= low.x || at.x >= high.x || at.y <= low.y || at.y >= high.y;
        let opens = outlet || met.iter().any(|&root| self.parts[root].open);
        // The highest part lives on, unless all of them find the way out.
        let eldest = met.iter().copied().min_by(|&a, &b| {
            let [a, b] = [a, b].map(|root| self.mesh.points[self.parts[root].peak as usize].x);
            a.total_cmp(&b)
        });
        for &root in &met {
            if !self.parts[root].open && (opens || Some(root) != eldest) {
                self.close(root, level);
            }
        }
        let mut whole = Part {
            open: opens,
            peak: eldest.map_or(corner as u32, |root| self.parts[root].peak),
            corners: vec![corner as u32],
            told: 0.0,
        };
        let mut root = corner;
        for other in met {
            let part = std::mem::take(&mut self.parts[other]);
            whole.told += part.told;
            let (mut more, less) = if part.corners.len() > whole.corners.len() {
                (part.corners, whole.corners)
            } else {
                (whole.corners, part.corners)
            };
            more.extend(less);
            whole.corners = more;
            root = self.sets.join(root, other);
        }
        if whole.open {
            whole.corners = Vec::new();
        }
        self.parts[root] = whole;
    }

    /// A corner on the wall of the part that a hollow begins in; `None` where the corner is a
    /// high point of the cavity itself.
    ///
    /// A line along +y in the level just above the corner is followed to the first facet. An odd
    /// number of crossings says that the corner is inside.
    fn wall_around(&self, corner: usize) -> Option<usize> {
        let at = self.mesh.points[corner];
        let (mut odd, mut nearest) = (false, (f64::INFINITY, 0));
        for triangle in &self.mesh.triangles {
            let points = triangle.map(|p| &self.mesh.points[p as usize]);
            let above = points.map(|p| p.x < at.x);
            if above == [true; 3] || above == [false; 3] {
                continue;
            }
            let mut ends = [[0.0; 2]; 2];
            let mut count = 0;
            for k in 0..3 {
                let (mut a, mut b) = (k, (k + 1) % 3);
                if above[a] == above[b] {
                    continue;
                }
                // The same to the last bit from both triangles of an edge.
                if triangle[a] > triangle[b] {
                    (a, b) = (b, a);
                }
                let (a, b) = (points[a], points[b]);
                let t = (at.x - a.x) / (b.x - a.x);
                ends[count.min(1)] = [a.y + t * (b.y - a.y), a.z + t * (b.z - a.z)];
                count += 1;
            }
            let [a, b] = ends;
            if (a[1] > at.z) == (b[1] > at.z) {
                continue;
            }
            let y = a[0] + (at.z - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
            if y > at.y {
                odd = !odd;
                if y < nearest.0 {
                    let upper = (0..3).find(|&k| above[k]).unwrap_or(0);
                    nearest = (y, triangle[upper] as usize);
                }
            }
        }
        odd.then_some(nearest.1)
    }

    /// A part that is not open ends at a level.
    fn close(&mut self, root: usize, level: f64) {
        let peak = self.mesh.points[self.parts[root].peak as usize];
        if level - peak.x < self.least {
            return;
        }
        let corners = std::mem::take(&mut self.parts[root].corners);
        let mut facets: Vec<u32> = corners
            .iter()
            .flat_map(|&p| &self.around[self.triangles_at(p as usize)])
            .copied()
            .collect();
        facets.sort_unstable();
        facets.dedup();
        let mut volume = 0.0;
        let mut in_plane: Option<[f64; 2]> = None;
        for &t in &facets {
            let triangle = self.mesh.corners(t as usize);
            volume += above(&triangle, level);
            for k in 0..3 {
                let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
                if (a.z > 0.0) == (b.z > 0.0) && a.z != 0.0 {
                    continue;
                }
                let t = if a.z == b.z { 0.0 } else { a.z / (a.z - b.z) };
                let p = a + t * (b - a);
                if p.x < level && in_plane.is_none_or(|[x, _]| p.x < x) {
                    in_plane = Some([p.x, p.y]);
                }
            }
        }
        self.parts[root].corners = corners;
        let own = volume - self.parts[root].told;
        self.parts[root].told = volume;
        self.found.push(Trap {
            peak,
            height: level - peak.x,
            volume: own,
            facets,
            in_plane,
        });
    }
}

/// ∫ (x − level) dy dz over the part of a facet above the level, which is where x is less: summed
/// over all facets of a part of the cavity, the volume above the level.
fn above(corners: &[Point3<f64>; 3], level: f64) -> f64 {
    let mut kept: Vec<Point3<f64>> = Vec::with_capacity(4);
    for k in 0..3 {
        let (a, b) = (corners[k], corners[(k + 1) % 3]);
        if a.x < level {
            kept.push(a);
        }
        if (a.x < level) != (b.x < level) {
            kept.push(a + (b - a) * ((level - a.x) / (b.x - a.x)));
        }
    }
    let fan = (1..kept.len().saturating_sub(1)).map(|i| {
        let (a, b, c) = (kept[0], kept[i], kept[i + 1]);
        // Twice the area as seen along x, outward counted towards +x.
        let area = (b.y - a.y) * (c.z - a.z) - (b.z - a.z) * (c.y - a.y);
        area / 2.0 * ((a.x + b.x + c.x) / 3.0 - level)
    });
    fan.sum()
}

#[cfg(test)]
mod tests;
