//! The one checker of what a mesh must be to bound a solid.
//!
//! [`Mesh::check`] looks for every [`FaultKind`] and gives all of them, each
//! with its place. It serves the unit, property and fuzz tests and the program
//! itself, which checks every mesh it hands out.
//!
//! # What holds of a mesh that passes
//! - All coordinates are finite and at most [`LARGEST_COORDINATE`]; every index
//!   is in range and every point is used; no two points coincide.
//! - Every triangle has three corners and no altitude below [`NEEDLE`].
//! - Every edge joins two triangles that run along it in opposite directions;
//!   the triangles at every point form one closed fan. So each shell (connected
//!   piece) is a closed surface without boundary.
//! - No two triangles meet but in a common corner or a common edge.
//! - Shells are told apart by how many others they lie in. An even number: an
//!   outer surface, which faces outwards. An odd number: the wall of a void,
//!   which faces into the void. (A body with a void, and a loose part inside
//!   that void, are legal.)
//!
//! # Limits
//! Points that lie close together, but not at the same place, are no fault as
//! long as the triangles between them are no needles. Triangles without an area
//! are reported as needles and left out of the search for crossings; corners
//! at the same place are reported as coincident and count as one in it.
//! When an index is out of range nothing further is looked at. A mesh that is
//! not closed is not judged inside or outside, and one with several shells only
//! when nothing crosses.
//!
//! # Cost
//! O(n log n) for n triangles of a reasonable surface.

use super::crossing::{self, crossings, drop_axis, orient_flat};
use super::{Bounds, LARGEST_COORDINATE, Mesh};
use nalgebra::{Point2, Point3};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

#[cfg(test)]
mod tests;

/// Smallest altitude of a sound triangle, in mm: a nanometre. Below, the normal
/// of a triangle on a body of some 100 mm is mostly rounding error.
pub const NEEDLE: f64 = 1.0e-6;

/// How many faults of each kind are listed in full.
pub const LISTED: usize = 8;

/// The search for crossings stops after this many.
pub const MOST_CROSSINGS: usize = 1000;

/// Ways in which a mesh can fail to bound a solid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum FaultKind {
    /// There is no triangle. Names nothing.
    Empty,
    /// A coordinate is not finite or larger than [`LARGEST_COORDINATE`]. Names the point.
    PointOutOfRange,
    /// A triangle names a point that is not there. Names the triangle.
    IndexOutOfRange,
    /// No triangle uses the point. Names the point.
    UnusedPoint,
    /// Two points at the same place. Names both.
    CoincidentPoints,
    /// A triangle names a point twice. Names the triangle and that point.
    RepeatedCorner,
    /// A triangle with an altitude below [`NEEDLE`]. Names the triangle.
    Needle,
    /// An edge of one triangle only. Names the edge and the triangle.
    OpenEdge,
    /// An edge of more than two triangles. Names the edge and the triangles.
    CrowdedEdge,
    /// An edge whose two triangles run along it in the same direction: one of
    /// them faces the wrong way. Names the edge and the triangles.
    OneWayEdge,
    /// A point whose triangles form more than one fan. Names the point and one
    /// triangle of each fan.
    PinchedPoint,
    /// Two triangles meet elsewhere than in a common corner or edge. Names both.
    Crossing,
    /// A shell that faces the wrong way. Names its first triangle.
    InsideOut,
}

impl fmt::Display for FaultKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Empty => "no triangles",
            Self::PointOutOfRange => "coordinate not finite or out of range",
            Self::IndexOutOfRange => "index out of range",
            Self::UnusedPoint => "point not used",
            Self::CoincidentPoints => "two points at the same place",
            Self::RepeatedCorner => "triangle with the same corner twice",
            Self::Needle => "triangle with no height",
            Self::OpenEdge => "edge of one triangle only",
            Self::CrowdedEdge => "edge of more than two triangles",
            Self::OneWayEdge => "edge between triangles that face opposite ways",
            Self::PinchedPoint => "point where surfaces touch",
            Self::Crossing => "triangles that cross or touch",
            Self::InsideOut => "surface inside out",
        })
    }
}

/// One fault and its place. What is named depends on the [`FaultKind`].
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Indices of the triangles concerned, in increasing order, at most [`LISTED`].
    pub triangles: Vec<u32>,
    /// Indices of the points concerned, in increasing order.
    pub points: Vec<u32>,
    /// Where it is, in mm.
    pub at: Option<Point3<f64>>,
}

/// The faults of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultGroup {
    /// What is wrong.
    pub kind: FaultKind,
    /// How many there are. For crossings at least so many: the search stops at
    /// [`MOST_CROSSINGS`].
    pub count: usize,
    /// The first of them, at most [`LISTED`].
    pub first: Vec<Fault>,
}

/// Everything that is wrong with a mesh.
#[derive(Clone, Debug, PartialEq)]
pub struct MeshFaults {
    /// One group for each kind that occurs, in the order of [`FaultKind`].
    pub groups: Vec<FaultGroup>,
}

impl MeshFaults {
    /// How many faults there are of a kind.
    pub fn count(&self, kind: FaultKind) -> usize {
        self.groups
            .iter()
            .find(|g| g.kind == kind)
            .map_or(0, |g| g.count)
    }
}

impl fmt::Display for MeshFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, group) in self.groups.iter().enumerate() {
            let gap = if i == 0 { "" } else { "; " };
            write!(f, "{gap}{} ({})", group.kind, group.count)?;
            if let Some(first) = group.first.first() {
                for (what, indices) in [("point", &first.points), ("triangle", &first.triangles)] {
                    for index in indices {
                        write!(f, " {what} {index}")?;
                    }
                }
                if let Some(at) = first.at {
                    write!(f, " at ({:.4}, {:.4}, {:.4}) mm", at.x, at.y, at.z)?;
                }
            }
        }
        Ok(())
    }
}

impl std::error::Error for MeshFaults {}

#[derive(Default)]
struct Record(BTreeMap<FaultKind, FaultGroup>);

impl Record {
    fn add(&mut self, kind: FaultKind, triangles: &[u32], points: &[u32], at: Option<Point3<f64>>) {
        let group = self.0.entry(kind).or_insert(FaultGroup {
            kind,
            count: 0,
            first: Vec::new(),
        });
        group.count += 1;
        if group.first.len() < LISTED {
            let sorted = |indices: &[u32]| {
                let mut indices = indices.to_vec();
                indices.sort_unstable();
                indices
            };
            let mut triangles = sorted(triangles);
            triangles.truncate(LISTED);
            group.first.push(Fault {
                triangles,
                points: sorted(points),
                at,
            });
        }
    }

    fn has(&self, kind: FaultKind) -> bool {
        self.0.contains_key(&kind)
    }

    fn result(self) -> Result<(), MeshFaults> {
        if self.0.is_empty() {
            return Ok(());
        }
        Err(MeshFaults {
            groups: self.0.into_values().collect(),
        })
    }
}

impl Mesh {
    /// Looks for everything that keeps the mesh from bounding a solid; see the
    /// [module](self).
    ///
    /// # Errors
    /// All faults found, grouped by kind.
    pub fn check(&self) -> Result<(), MeshFaults> {
        let mut record = Record::default();
        if self.triangles.is_empty() {
            record.add(FaultKind::Empty, &[], &[], None);
        }
        self.check_points(&mut record);
        if record.has(FaultKind::IndexOutOfRange) {
            return record.result();
        }
        self.check_edges_and_fans(&mut record);
        if record.has(FaultKind::PointOutOfRange) {
            return record.result();
        }
        self.check_geometry(&mut record);
        let open = [
            FaultKind::OpenEdge,
            FaultKind::CrowdedEdge,
            FaultKind::OneWayEdge,
        ];
        if !open.iter().any(|&kind| record.has(kind)) {
            self.check_orientation(&mut record);
        }
        record.result()
    }

    /// Every triangle that meets another where it must not, of a mesh without needles.
    pub(crate) fn crossing_triangles(&self) -> Vec<u32> {
        let all: Vec<u32> = (0..self.triangles.len() as u32).collect();
        let mut found = Vec::new();
        crossings(&self.points, &self.triangles, &all, |t, u, _| {
            found.extend([t, u]);
            found.len() < 2 * MOST_CROSSINGS
        });
        found.sort_unstable();
        found.dedup();
        found
    }

    fn check_points(&self, record: &mut Record) {
        for (i, p) in self.points.iter().enumerate() {
            // Written so that NaN fails.
            if !p.iter().all(|c| c.abs() <= LARGEST_COORDINATE) {
                record.add(FaultKind::PointOutOfRange, &[], &[i as u32], Some(*p));
            }
        }
        let mut used = vec![false; self.points.len()];
        for (t, triangle) in self.triangles.iter().enumerate() {
            for &i in triangle {
                match used.get_mut(i as usize) {
                    Some(used) => *used = true,
                    None => {
                        record.add(FaultKind::IndexOutOfRange, &[t as u32], &[], None);
                        break;
                    }
                }
            }
        }
        for (i, p) in self.points.iter().enumerate() {
            if !used[i] {
                record.add(FaultKind::UnusedPoint, &[], &[i as u32], Some(*p));
            }
        }
    }

    /// Each triangle abc links, around its corner a, the spokes ab and ac. All
    /// is well at a point when every spoke is left once and reached once and the
    /// links form a single cycle.
    fn check_edges_and_fans(&self, record: &mut Record) {
        let mut start = vec![0u32; self.points.len() + 1];
        let whole = |t: &[u32; 3]| t[0] != t[1] && t[1] != t[2] && t[2] != t[0];
        for (t, triangle) in self.triangles.iter().enumerate() {
            if whole(triangle) {
                for &i in triangle {
                    start[i as usize + 1] += 1;
                }
            } else {
                let [a, b, c] = *triangle;
                let twice = if a == b || a == c { a } else { b };
                let at = self.points[twice as usize];
                record.add(FaultKind::RepeatedCorner, &[t as u32], &[twice], Some(at));
            }
        }
        for i in 1..start.len() {
            start[i] += start[i - 1];
        }
        let mut links = vec![Link::default(); start.last().copied().unwrap_or(0) as usize];
        let mut next = start.clone();
        for (t, triangle) in self.triangles.iter().enumerate() {
            // A triangle that folds to an edge joins its two neighbours there.
            if !whole(triangle) {
                continue;
            }
            for k in 0..3 {
                let slot = &mut next[triangle[k] as usize];
                links[*slot as usize] = Link {
                    from: triangle[(k + 1) % 3],
                    to: triangle[(k + 2) % 3],
                    triangle: t as u32,
                };
                *slot += 1;
            }
        }
        for i in 0..self.points.len() {
            let around = &mut links[start[i] as usize..start[i + 1] as usize];
            around.sort_unstable_by_key(|link| (link.from, link.to, link.triangle));
            if !one_cycle(around) {
                self.report_fans(i as u32, around, record);
            }
        }
    }

    /// Takes apart what is wrong around a point.
    fn report_fans(&self, centre: u32, links: &[Link], record: &mut Record) {
        let mut rim: Vec<u32> = links.iter().flat_map(|l| [l.from, l.to]).collect();
        rim.sort_unstable();
        rim.dedup();
        let mut groups = Groups::new(rim.len());
        let place = |i: u32| rim.partition_point(|&r| r < i) as u32;
        for link in links {
            groups.join(place(link.from), place(link.to));
        }
        let mut fans: BTreeMap<u32, u32> = BTreeMap::new();
        for link in links {
            fans.entry(groups.find(place(link.from)))
                .or_insert(link.triangle);
        }
        let here = self.points[centre as usize];
        if fans.len() > 1 {
            let triangles: Vec<u32> = fans.into_values().collect();
            record.add(FaultKind::PinchedPoint, &triangles, &[centre], Some(here));
        }
        // Every edge is seen from both its ends: report it from the lower.
        for &other in rim.iter().filter(|&&other| other > centre) {
            let out = links.iter().filter(|l| l.from == other).count();
            let triangles: Vec<u32> = links
                .iter()
                .filter(|l| l.from == other || l.to == other)
                .map(|l| l.triangle)
                .collect();
            let kind = match (triangles.len(), out) {
                (1, _) => FaultKind::OpenEdge,
                (2, 1) => continue,
                (2, _) => FaultKind::OneWayEdge,
                _ => FaultKind::CrowdedEdge,
            };
            let middle = nalgebra::center(&here, &self.points[other as usize]);
            record.add(kind, &triangles, &[centre, other], Some(middle));
        }
    }

    fn check_geometry(&self, record: &mut Record) {
        let welded = self.weld(record);
        let mut sound = Vec::with_capacity(self.triangles.len());
        for t in 0..self.triangles.len() {
            let [a, b, c] = welded[t];
            if a == b || b == c || c == a {
                // Already reported where an index is there twice.
                let [a, b, c] = self.triangles[t];
                if a != b && b != c && c != a {
                    let at = self.points[a as usize];
                    record.add(FaultKind::Needle, &[t as u32], &[], Some(at));
                }
                continue;
            }
            let corners = self.corners(t);
            let [a, b, c] = corners;
            let longest = (b - a).norm_squared().max((c - b).norm_squared());
            let longest = longest.max((a - c).norm_squared());
            let twice_area = (b - a).cross(&(c - a)).norm_squared();
            let needle = twice_area < NEEDLE * NEEDLE * longest;
            if needle {
                let at = nalgebra::center(&nalgebra::center(&a, &b), &c);
                record.add(FaultKind::Needle, &[t as u32], &[], Some(at));
            }
            if !needle || crossing::widest_axis(&corners).is_some() {
                sound.push(t as u32);
            }
        }
        let mut count = 0;
        crossings(&self.points, &welded, &sound, |t, u, at| {
            record.add(FaultKind::Crossing, &[t, u], &[], Some(at));
            count += 1;
            count < MOST_CROSSINGS
        });
    }

    /// The triangles with coincident points, which are reported, taken as one.
    fn weld(&self, record: &mut Record) -> Cow<'_, [[u32; 3]]> {
        let mut keyed: Vec<(u64, u32)> = self
            .points
            .iter()
            .enumerate()
            .map(|(i, p)| (hash(p), i as u32))
            .collect();
        keyed.sort_unstable();
        let mut pairs = Vec::new();
        for run in keyed
            .chunk_by(|a, b| a.0 == b.0)
            .filter(|run| run.len() > 1)
        {
            // Equal hashes of different points are rare, not impossible.
            let mut firsts: Vec<u32> = Vec::new();
            for &(_, i) in run {
                let same = |&&first: &&u32| self.points[first as usize] == self.points[i as usize];
                match firsts.iter().find(same) {
                    Some(&first) => pairs.push((i, first)),
                    None => firsts.push(i),
                }
            }
        }
        if pairs.is_empty() {
            return Cow::Borrowed(&self.triangles);
        }
        pairs.sort_unstable();
        let mut target: Vec<u32> = (0..self.points.len() as u32).collect();
        for (i, first) in pairs {
            target[i as usize] = first;
            let at = self.points[i as usize];
            record.add(FaultKind::CoincidentPoints, &[], &[first, i], Some(at));
        }
        Cow::Owned(
            self.triangles
                .iter()
                .map(|t| t.map(|i| target[i as usize]))
                .collect(),
        )
    }

    fn check_orientation(&self, record: &mut Record) {
        let shells = self.shells();
        if shells.len() > 1 && record.has(FaultKind::Crossing) {
            return;
        }
        let boxes: Vec<Option<Bounds>> = shells
            .iter()
            .map(|shell| {
                let corners = shell.iter().flat_map(|&t| self.triangles[t as usize]);
                Bounds::of(corners.map(|i| &self.points[i as usize]))
            })
            .collect();
        for (s, shell) in shells.iter().enumerate() {
            let first = shell[0];
            let at = self.corners(first as usize)[0];
            let within = |outer: &Option<Bounds>, inner: &Option<Bounds>| match (outer, inner) {
                (Some(o), Some(i)) => (0..3).all(|k| o.min[k] <= i.min[k] && i.max[k] <= o.max[k]),
                _ => false,
            };
            let depth = (0..shells.len())
                .filter(|&o| {
                    o != s && within(&boxes[o], &boxes[s]) && self.encloses(&shells[o], &at)
                })
                .count();
            let volume: f64 = shell
                .iter()
                .map(|&t| {
                    let [a, b, c] = self.corners(t as usize).map(|p| p - at);
                    a.dot(&b.cross(&c))
                })
                .sum();
            let sound = if depth % 2 == 0 {
                volume > 0.0
            } else {
                volume < 0.0
            };
            if !sound {
                record.add(FaultKind::InsideOut, &[first], &[], Some(at));
            }
        }
    }

    /// The triangles of each connected piece, in the order of their first triangles.
    pub(crate) fn shells(&self) -> Vec<Vec<u32>> {
        let mut groups = Groups::new(self.points.len());
        for [a, b, c] in &self.triangles {
            groups.join(*a, *b);
            groups.join(*b, *c);
        }
        let mut number = vec![u32::MAX; self.points.len()];
        let mut shells: Vec<Vec<u32>> = Vec::new();
        for (t, [a, ..]) in self.triangles.iter().enumerate() {
            let number = &mut number[groups.find(*a) as usize];
            if *number == u32::MAX {
                *number = shells.len() as u32;
                shells.push(Vec::new());
            }
            shells[*number as usize].push(t as u32);
        }
        shells
    }

    /// Whether a point that is not on a closed shell lies inside it: whether the
    /// ray from it along +x meets the shell an odd number of times. Exact. Where
    /// the ray meets an edge or a corner, the half-open rule of crossing numbers
    /// counts as if the ray lay a little to the side.
    fn encloses(&self, shell: &[u32], point: &Point3<f64>) -> bool {
        let flat = drop_axis(point, 0);
        let hits = shell.iter().filter(|&&t| {
            let corners = self.corners(t as usize);
            if corners.iter().all(|c| c.x < point.x) {
                return false;
            }
            let turns = turns_around(&corners.map(|c| drop_axis(&c, 0)), &flat);
            let side = crossing::side(&corners, point);
            (turns > 0 && side > 0.0) || (turns < 0 && side < 0.0)
        });
        hits.count() % 2 == 1
    }
}

/// Winding number of a triangle about a point of its plane.
fn turns_around(t: &[Point2<f64>; 3], p: &Point2<f64>) -> i32 {
    let mut turns = 0;
    for k in 0..3 {
        let (a, b) = (&t[k], &t[(k + 1) % 3]);
        if (a.y <= p.y) == (b.y <= p.y) {
            continue;
        }
        let side = orient_flat(a, b, p);
        if a.y <= p.y && side > 0.0 {
            turns += 1;
        } else if b.y <= p.y && side < 0.0 {
            turns -= 1;
        }
    }
    turns
}

/// Around the corner of a triangle: from one of its other corners to the next.
#[derive(Clone, Copy, Default)]
struct Link {
    from: u32,
    to: u32,
    triangle: u32,
}

/// Whether links in the order of `from` form a single cycle.
fn one_cycle(links: &[Link]) -> bool {
    if links.is_empty() {
        return true;
    }
    if links.windows(2).any(|pair| pair[0].from == pair[1].from) {
        return false;
    }
    let follow = |to: u32| links.binary_search_by_key(&to, |l| l.from).ok();
    let mut at = 0;
    for step in 1..=links.len() {
        match follow(links[at].to) {
            Some(next) => at = next,
            None => return false,
        }
        if at == 0 {
            return step == links.len();
        }
    }
    // Entered a cycle that does not come back to the start.
    false
}

/// Disjoint sets of numbered things.
struct Groups(Vec<u32>);

impl Groups {
    fn new(n: usize) -> Self {
        Self((0..n as u32).collect())
    }

    fn find(&mut self, mut i: u32) -> u32 {
        while self.0[i as usize] != i {
            let up = self.0[self.0[i as usize] as usize];
            self.0[i as usize] = up;
            i = up;
        }
        i
    }

    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.find(a), self.find(b));
        // The lower number stays the head, whatever the order of joining.
        self.0[a.max(b) as usize] = a.min(b);
    }
}

/// Equal for equal points: adding 0 makes -0 and 0 the same bits.
fn hash(p: &Point3<f64>) -> u64 {
    let mut h = 0u64;
    for c in p.iter() {
        h = (h ^ (c + 0.0).to_bits()).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        h ^= h >> 29;
    }
    h
}
