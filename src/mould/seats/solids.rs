//! Seats as solids.

use nalgebra::{Point3, Vector3};

use super::{DRAFT, Form, Seat, Seats};
use crate::curve::Section;
use crate::mesh::sweep::{Rib, sweep};
use crate::mesh::{AxisMap, Mesh, Solid, SolidError};
use crate::mould::tools::turned_upright;

impl Seats {
    /// Grooves and pockets of one bait, those of each exit as one solid, with room all round.
    pub(in crate::mould) fn by_exit(
        &self,
        room: f64,
        tolerance: f64,
    ) -> Result<Vec<Solid>, SolidError> {
        let mut all = Vec::new();
        for i in 0..self.exits.len() {
            let own = self.seats.iter().filter(|seat| seat.exit == i);
            let roomy = own.map(|seat| seat.roomier(room).mesh(tolerance));
            all.extend(united(roomy, &[0.0])?);
        }
        Ok(all)
    }

    /// All grooves and pockets of every bait of this kind as one solid; `None` if there are none.
    fn solid(&self, cavities: &[f64], tolerance: f64) -> Result<Option<Solid>, SolidError> {
        let meshes = self.seats.iter().map(|seat| seat.mesh(tolerance));
        united(meshes, cavities)
    }

    /// The pins of every bait of this kind on the upper half and on the lower.
    pub(in crate::mould) fn pin_solids(
        &self,
        cavities: &[f64],
        tolerance: f64,
    ) -> Result<[Option<Solid>; 2], SolidError> {
        let of = |upper: bool| {
            let pins = self.pins.iter().filter(move |pin| pin.upper == upper);
            united(pins.map(|pin| pin.mesh(tolerance)), cavities)
        };
        Ok([of(true)?, of(false)?])
    }
}

/// Seats of a kind of bait, and where across the parting face those of that kind lie.
pub(in crate::mould) type Seated<'a> = (&'a Seats, Vec<f64>);

/// Grooves and pockets of all kinds as one solid; `None` if there are none.
pub(in crate::mould) fn all_solid(
    kinds: &[Seated<'_>],
    tolerance: f64,
) -> Result<Option<Solid>, SolidError> {
    let each = kinds.iter().map(|(seats, at)| seats.solid(at, tolerance));
    let each: Result<Vec<Option<Solid>>, SolidError> = each.collect();
    composed(each?)
}

/// The pins of all kinds on the upper half and on the lower.
pub(in crate::mould) fn all_pins(
    kinds: &[Seated<'_>],
    tolerance: f64,
) -> Result<[Option<Solid>; 2], SolidError> {
    let mut halves = [Vec::new(), Vec::new()];
    for (seats, at) in kinds {
        let [upper, lower] = seats.pin_solids(at, tolerance)?;
        halves[0].push(upper);
        halves[1].push(lower);
    }
    let [upper, lower] = halves;
    Ok([composed(upper)?, composed(lower)?])
}

/// Round places that the seats of all kinds take.
pub(in crate::mould) fn all_footprints(kinds: &[Seated<'_>]) -> Vec<([f64; 2], f64)> {
    let each = kinds.iter().flat_map(|(seats, at)| seats.footprints(at));
    each.collect()
}

/// Solids that stand apart, as different baits do.
fn composed(all: Vec<Option<Solid>>) -> Result<Option<Solid>, SolidError> {
    let all: Vec<Solid> = all.into_iter().flatten().collect();
    match &all[..] {
        [] => Ok(None),
        all => Solid::compose(all).map(Some),
    }
}

/// Meshes that may overlap, once for every cavity.
fn united(
    meshes: impl Iterator<Item = Mesh>,
    cavities: &[f64],
) -> Result<Option<Solid>, SolidError> {
    let mut one: Option<Solid> = None;
    for mesh in meshes {
        let next = Solid::try_from(&mesh)?;
        one = Some(match one {
            Some(one) => one.union(&next)?,
            None => next,
        });
    }
    let Some(one) = one else {
        return Ok(None);
    };
    let mesh = one.to_mesh();
    let all: Result<Vec<Solid>, _> = cavities
        .iter()
        .map(|&y| Solid::try_from(&mesh.clone().translated(&Vector3::new(0.0, y, 0.0))))
        .collect();
    Solid::compose(&all?).map(Some)
}

/// A round tube along a line in the parting plane, its facets straddling the true surface
/// within `tolerance`.
fn tube(line: &[Point3<f64>], closed: bool, radius: f64, tolerance: f64) -> Mesh {
    let round = Section::new(2.0);
    // Thin wire wants its gap closer than the tolerance.
    let mut quarter = 6;
    while round.sag(quarter) * radius > tolerance && quarter < 64 {
        quarter += 1;
    }
    let out = radius * (1.0 + 0.5 * round.sag(quarter));
    let circle = Section::circle(quarter);
    let count = line.len() - usize::from(closed);
    let direction = |i: usize| {
        let (a, b) = (line[i], line[(i + 1) % line.len()]);
        (b - a).normalize()
    };
    let rib = |i: usize| {
        let (before, after) = if closed {
            (direction((i + count - 1) % count), direction(i))
        } else {
            (
                direction(i.saturating_sub(1)),
                direction(i.min(line.len() - 2)),
            )
        };
        let along = (before + after).normalize();
        // Mitred: both sides keep the section.
        let wider = 1.0 / along.dot(&after);
        let aside = Vector3::new(-along.y, along.x, 0.0);
        Rib {
            centre: line[i],
            along: aside * (out * wider),
            other: 1.0,
            across: Vector3::new(0.0, 0.0, out),
            quarter: circle.clone(),
        }
    };
    let ribs: Vec<Rib> = (0..count).map(rib).collect();
    let mesh = sweep(line[0], &ribs, line[count - 1]);
    if !closed {
        return mesh;
    }
    // The last ring is joined to the first in place of the end caps.
    let n = 4 * quarter;
    let points = mesh.points[1..=count * n].to_vec();
    let mut triangles: Vec<[u32; 3]> = mesh
        .triangles
        .iter()
        .filter(|t| t.iter().all(|&i| i > 0 && (i as usize) <= count * n))
        .map(|t| t.map(|i| i - 1))
        .collect();
    let at = |ring: usize, j: usize| ((ring % count) * n + j % n) as u32;
    for j in 0..n {
        let [p, q] = [at(count - 1, j), at(count - 1, j + 1)];
        let [s, r] = [at(0, j), at(0, j + 1)];
        triangles.extend([[p, q, r], [p, r, s]]);
    }
    Mesh { points, triangles }
}

impl Seat {
    /// The seat as a solid.
    pub(in crate::mould) fn mesh(&self, tolerance: f64) -> Mesh {
        match &self.form {
            Form::Groove { line, closed } => tube(line, *closed, self.radius, tolerance),
            Form::Pocket {
                centre,
                half,
                upright,
            } => {
                let narrow = self.radius - DRAFT * half;
                let corners = [(-half, narrow), (0.0, self.radius), (*half, narrow)];
                let lying = turned_upright([0.0; 2], &corners, tolerance);
                let placed = if *upright {
                    // z goes to y.
                    lying.mapped(&AxisMap::LEFT_UP)
                } else {
                    lying
                };
                placed.translated(&centre.coords)
            }
        }
    }

    /// The same with room all round.
    fn roomier(&self, room: f64) -> Self {
        let mut roomier = self.clone();
        roomier.radius += room;
        if let Form::Pocket { half, .. } = &mut roomier.form {
            *half += room;
        }
        roomier
    }
}
