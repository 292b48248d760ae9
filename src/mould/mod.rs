//! The printed-block mould: two half-blocks that close around the master.
//!
//! # The mould's own axes
//! A mould lies with its parting face level: x as on the body, y across the
//! parting face, z along the pull, with the parting plane at z = 0. With the waist
//! parting these are the body's own axes; with the flank parting the body is
//! turned a quarter about x, its left side up ([`Mould::turn`]).
//!
//! # What is guaranteed
//! With everything in the mould's axes and `gap` the volume of the sockets less that
//! of the keys, volume(upper) + volume(lower) + volume(cavity) = volume(block) − gap.
//! Every key has its socket; no turning over or round of one half lets the keys in.

pub mod air;
mod block;
mod channels;
mod grooves;
mod keys;
pub mod opening;
mod sets;
mod tools;

use nalgebra::{Point3, Vector3};
use opening::Undercuts;

use crate::body::{Body, Master, MasterError, TooFine};
use crate::mesh::{AxisMap, Bounds, Mesh, Solid, SolidError};
use crate::spec::{Design, Parting, Problem, Problems};

pub use air::Air;
pub use channels::{Channels, Sprue, Vent};
pub use grooves::Groove;
pub use keys::Key;

/// A mould could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MouldError {
    /// The spec asks for what does not fit.
    #[error("{0}")]
    Spec(Problems),
    /// The tolerance is too fine.
    #[error(transparent)]
    TooFine(#[from] TooFine),
    /// A solid operation failed, which no spec should bring about.
    #[error("the mould's solids could not be made: {0}")]
    Solid(#[from] SolidError),
}

impl From<MasterError> for MouldError {
    fn from(error: MasterError) -> Self {
        match error {
            MasterError::Spec(problems) => MouldError::Spec(problems),
            MasterError::TooFine(too_fine) => MouldError::TooFine(too_fine),
            MasterError::Solid(solid) => MouldError::Solid(solid),
        }
    }
}

impl From<Problems> for MouldError {
    fn from(problems: Problems) -> Self {
        MouldError::Spec(problems)
    }
}

impl From<Problem> for MouldError {
    fn from(problem: Problem) -> Self {
        MouldError::Spec(problem.into())
    }
}

/// A printed-block mould, closed, in its own axes (see the module's text).
#[derive(Clone, Debug)]
pub struct Mould {
    /// The plane it opens along.
    pub parting: Parting,
    /// Outside of the closed block.
    pub block: Bounds,
    /// The half above the parting plane, with the sockets.
    pub upper: Mesh,
    /// The half below, with the keys.
    pub lower: Mesh,
    /// The master alone, in the mould's axes.
    pub master: Mesh,
    /// What the halves leave open: master, sprue and vents in one.
    pub cavity: Mesh,
    /// Registration keys.
    pub keys: Vec<Key>,
    /// Sprue and vents.
    pub channels: Channels,
    /// Where it would hold air, and where it still does.
    pub air: Air,
    /// Room between keys and sockets, in mm³.
    pub gap: f64,
}

impl Mould {
    /// The mould of a design around its body, along the plane that the design names
    /// ([`opening::Proposal`] tells which is the better).
    ///
    /// # Errors
    /// What does not fit is named with the spec's field and the number that would.
    pub fn build(design: &Design, body: &Body) -> Result<Self, MouldError> {
        let master = Master::build(design, body)?;
        Self::around(design, body, &master.mesh)
    }

    /// The same around a master that has been made already.
    ///
    /// # Errors
    /// As [`Mould::build`].
    pub fn around(design: &Design, body: &Body, master: &Mesh) -> Result<Self, MouldError> {
        let spec = &design.mould;
        let form = channels::Form::new(body, spec.parting);
        let master = master.clone().mapped(&Mould::turn(spec.parting));
        let (mut channels, keys, block) = plan(design, &form, &master)?;

        let mut parts = vec![Solid::try_from(&master)?];
        for tool in channels.meshes(design.tolerance) {
            parts.push(Solid::try_from(&tool)?);
        }
        let mut cavity = parts[0].clone();
        for part in &parts[1..] {
            cavity = cavity.union(part)?;
        }
        let (cavity, air) = air::relieve(design, &block, &keys, &mut channels, cavity)?;

        let half = |min: f64, max: f64| {
            let mut bounds = block;
            (bounds.min.z, bounds.max.z) = (min, max);
            Solid::try_from(&bounds.to_mesh())
        };
        let solids = |meshes: Vec<Mesh>| -> Result<Solid, SolidError> {
            let solids: Result<Vec<Solid>, _> = meshes.iter().map(Solid::try_from).collect();
            Solid::compose(&solids?)
        };
        let socket = |key: &Key| key.socket(design.tolerance);
        let sockets = solids(keys.iter().map(socket).collect())?;
        let bumps = solids(keys.iter().map(|k| k.rooted(design.tolerance)).collect())?;
        let upper = half(0.0, block.max.z)?
            .difference(&cavity)?
            .difference(&sockets)?;
        let lower = half(block.min.z, 0.0)?.difference(&cavity)?.union(&bumps)?;
        let gap = keys.iter().map(|k| k.gap(design.tolerance)).sum();
        Ok(Mould {
            parting: spec.parting,
            block,
            upper: upper.to_mesh(),
            lower: lower.to_mesh(),
            master,
            cavity: cavity.to_mesh(),
            keys,
            channels,
            air,
            gap,
        })
    }

    /// The turn from the body's axes to the mould's.
    pub fn turn(parting: Parting) -> AxisMap {
        match parting {
            Parting::Waist => AxisMap::AS_IS,
            // Left, +y, comes up; the back, +z, goes to the right of it.
            Parting::Flank => AxisMap::LEFT_UP,
        }
    }

    /// What the halves are called, upper and lower.
    pub fn names(&self) -> [&'static str; 2] {
        match self.parting {
            Parting::Flank => ["left", "right"],
            Parting::Waist => ["back", "belly"],
        }
    }

    /// The halves, upper and lower, as they are printed: parting face up, standing on z = 0,
    /// in the positive octant.
    pub fn printed(&self) -> [Mesh; 2] {
        [
            self.upper.clone().mapped(&AxisMap::HALF_TURN_X).settled(),
            self.lower.clone().settled(),
        ]
    }

    /// What holds the halves as they are drawn, with the facets of [`Mould::cavity`].
    pub fn undercuts(&self, tolerance: f64) -> Undercuts {
        Undercuts::of(&self.cavity, tolerance)
    }

    /// A point of the mould's axes in the body's own.
    pub fn in_body(&self, point: &Point3<f64>) -> Point3<f64> {
        match self.parting {
            Parting::Waist => *point,
            Parting::Flank => Point3::new(point.x, point.z, -point.y),
        }
    }

    /// Moves that lay the printed halves side by side like an open book, `gap`
    /// millimetres apart.
    pub fn side_by_side(&self, gap: f64) -> [Vector3<f64>; 2] {
        [
            Vector3::zeros(),
            Vector3::new(0.0, self.block.size().y + gap, 0.0),
        ]
    }
}

type Plan = (Channels, Vec<Key>, Bounds);

/// Everything that can go wrong with the numbers, before any solid is made.
fn plan(design: &Design, form: &channels::Form<'_>, master: &Mesh) -> Result<Plan, Problems> {
    let block = block::around(design, master, form.axis(design.mould.sprue_end));
    let mut problems = Vec::new();
    let keys = keys::place(design, &block);
    let whole = channels::beyond_trunk(design, form, master);
    let vented = whole.as_ref().unwrap_or(form);
    let placed = keys.as_deref().unwrap_or_default();
    let channels = Channels::plan(design, form, vented, &block, placed);
    match (channels, keys) {
        (Ok(channels), Ok(keys)) => return Ok((channels, keys, block)),
        (channels, keys) => {
            problems.extend(channels.err().into_iter().flat_map(|p| p.0));
            problems.extend(keys.err().into_iter().flat_map(|p| p.0));
        }
    }
    Err(Problems(problems))
}

#[cfg(test)]
mod tests;
