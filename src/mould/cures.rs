//! What helps, tried as far as it can be: another end for the sprue, a thicker wall.

use nalgebra::Vector3;

use super::beside::{Lying, Neighbour, Pattern};
use super::{Holding, Mould, MouldError, PartingFace, channels, plan};
use crate::body::Body;
use crate::mesh::Mesh;
use crate::quantity::LengthUnit;
use crate::spec::Design;

/// How much thicker walls are tried that may have room for what holds the halves, in mm; between the
/// first that seems to and the one before it, by halves down to the finest step: in inches a
/// hundredth of one, so that what is told is what was built.
const THICKER: [f64; 11] = [0.0, 1.0, 2.0, 3.0, 4.5, 6.5, 9.0, 13.0, 18.0, 27.0, 40.0];
const FINE: [f64; 2] = [0.25, 0.254];
/// Walls that seem to do are built in earnest, which takes its time: no more than so many.
const BUILT: usize = 3;

impl Mould {
    /// Whether a sprue has room at the end that a design names, which is not this mould's, and
    /// nothing is in its way there.
    pub(crate) fn could_pour_at(&self, design: &Design, body: &Body) -> bool {
        let form = channels::Form::new(body, self.parting);
        let taken = (self.seats).other_end_taken(design, &self.channels, &self.master);
        !taken && channels::gate(design, &form, self.master.volume()).is_ok()
    }

    /// Names, in problems of what holds the halves, a wall that has room for it, found by trying.
    pub(super) fn with_walls(
        design: &Design,
        body: &Body,
        pattern: Pattern<'_>,
        others: &[Neighbour<'_>],
        mut error: MouldError,
    ) -> MouldError {
        let held = [
            "mould.bolts",
            "mould.bands",
            "mould.notches",
            "mould.keys.count",
        ];
        let MouldError::Spec(problems) = &mut error else {
            return error;
        };
        let of_holding = |path: &str| held.contains(&path);
        if !problems.0.iter().any(|p| of_holding(&p.path)) {
            return error;
        }
        // With other faults it is too early to say.
        if !problems.0.iter().all(|p| of_holding(&p.path)) {
            return error;
        }
        let wall = enough(design, body, pattern, others);
        for problem in &mut problems.0 {
            let Some(wall) = wall else {
                continue;
            };
            let wall = design.units.show(wall);
            problem.limit = Some(match &problem.limit {
                Some(limit) => format!("{limit}, as with a mould.wall of {wall}"),
                None => format!("a mould.wall of {wall} has room"),
            });
        }
        error
    }
}

/// A thicker wall with room for all, as thin as trying finds it.
fn enough(
    design: &Design,
    body: &Body,
    pattern: Pattern<'_>,
    others: &[Neighbour<'_>],
) -> Option<f64> {
    let with = |wall: f64| {
        let mut design = design.clone();
        design.mould.wall = wall;
        design
    };
    // A face with steps takes long, and says little of the walls.
    let face = PartingFace::of(design, body, pattern.mesh);
    let seems = |wall: f64| holds(&with(wall), body, &face, pattern, others);
    let builds = |wall: f64| Mould::cut(&with(wall), body, pattern, others).is_ok();
    // Written as a round number.
    let fine = FINE[usize::from(design.units == LengthUnit::In)];
    let even = |wall: f64| libm::ceil(wall / fine - 1e-6) * fine;
    let mut from = even(design.mould.wall + 1e-3);
    for _ in 0..BUILT {
        let tried = THICKER.map(|by| even(from + by));
        let i = (0..tried.len()).find(|&i| seems(tried[i]))?;
        let (mut least, mut wall) = (tried[i.saturating_sub(1)], tried[i]);
        while wall - least > 1.5 * fine {
            let middle = even(0.5 * (least + wall));
            *(if seems(middle) { &mut wall } else { &mut least }) = middle;
        }
        if builds(wall) {
            return Some(wall);
        }
        from = even(wall + fine);
    }
    None
}

/// Whether what holds the halves has room, as far as can be told before anything is cut.
fn holds(
    design: &Design,
    body: &Body,
    face: &PartingFace,
    pattern: Pattern<'_>,
    others: &[Neighbour<'_>],
) -> bool {
    let form = channels::Form::new(body, design.mould.parting);
    let master = pattern
        .mesh
        .clone()
        .mapped(&Mould::turn(design.mould.parting));
    let level = face.level(master.clone());
    let lying = others.iter().map(|&of| Lying::new(design, &form, of));
    let mut lying: Vec<Lying<'_>> = lying.collect();
    let found = plan(
        (design, body),
        &form,
        face,
        (pattern, [&master, &level]),
        &mut lying,
    );
    let Ok(found) = found else {
        return false;
    };
    let mut open = Mesh::default();
    for (&y, &kind) in found.layout.offsets.iter().zip(&found.layout.kinds) {
        let one = kind.checked_sub(1).map_or(&level, |i| &lying[i].master);
        open.append(&one.clone().translated(&Vector3::new(0.0, y, 0.0)));
    }
    for tool in found.channels.meshes(face, design.tolerance) {
        open.append(&tool);
    }
    Holding::plan(design, &found.block, &found.keys, face, &open).is_ok()
}
