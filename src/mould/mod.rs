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

mod block;
mod channels;
mod keys;
mod tools;

use nalgebra::Vector3;

use crate::body::{Body, Master, MasterError, TooFine};
use crate::mesh::{AxisMap, Bounds, Mesh, Solid, SolidError};
use crate::spec::{Design, Parting, Problem, Problems};

pub use channels::{Channels, Sprue, Vent};
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

/// Less area than this facing against the pull, in mm², holds nothing.
const LEAST_HOLD: f64 = 0.1;

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
    /// What the halves leave open: master, sprue and vents in one.
    pub cavity: Mesh,
    /// Registration keys.
    pub keys: Vec<Key>,
    /// Sprue and vents.
    pub channels: Channels,
    /// Room between keys and sockets, in mm³.
    pub gap: f64,
}

impl Mould {
    /// The mould of a design around its body.
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
        let (channels, keys, block) = plan(design, &form, &master)?;

        let mut parts = vec![Solid::try_from(&master)?];
        for tool in channels.meshes(design.tolerance) {
            parts.push(Solid::try_from(&tool)?);
        }
        let mut cavity = parts[0].clone();
        for part in &parts[1..] {
            cavity = cavity.union(part)?;
        }

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
            cavity: cavity.to_mesh(),
            keys,
            channels,
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

    /// Area of each half (upper, lower) whose facets face against its pull, in mm², and how
    /// far from the nose the middle of that area is: there something holds, and the soft bait
    /// has to stretch to let go. `None` for a half that comes away freely.
    pub fn holds(&self) -> [Option<(f64, f64)>; 2] {
        let of = |mesh: &Mesh, pull: f64, outside: f64| {
            let (mut area, mut moment) = (0.0, 0.0);
            for t in 0..mesh.triangles.len() {
                let [a, b, c] = mesh.corners(t);
                let cross = (b - a).cross(&(c - a));
                let size = 0.5 * cross.norm();
                // A facet a twentieth of a degree over is upright with rounding.
                let over = cross.z * pull > 2e-3 * size;
                if over && ![a, b, c].iter().all(|p| p.z == outside) {
                    area += size;
                    moment += size * (a.x + b.x + c.x) / 3.0;
                }
            }
            (area > LEAST_HOLD).then(|| (area, moment / area))
        };
        [
            of(&self.upper, 1.0, self.block.max.z),
            of(&self.lower, -1.0, self.block.min.z),
        ]
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
