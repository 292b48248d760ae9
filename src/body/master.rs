//! The master: trunk, features and core prints as one solid.

use super::{Body, TooFine, feature};
use crate::mesh::{Mesh, Solid, SolidError};
use crate::spec::{Design, Problem, Problems};

/// What a feature does to the master.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Effect {
    /// Joins it: a fin, a tail.
    Adds,
    /// Is taken out of it: an eye socket, a slot.
    Cuts,
}

/// A feature as a solid.
pub(super) struct Tool {
    /// Field path of the feature in the spec.
    pub(super) path: String,
    /// What it does.
    pub(super) effect: Effect,
    /// Its solid, in the body's axes.
    pub(super) mesh: Mesh,
}

/// The thinnest place of a fin, tail or leg.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Thinnest {
    /// Field path of the feature.
    pub path: String,
    /// Thickness there, in mm; the rounding of a rim or tip not counted.
    pub thickness: f64,
    /// Where it is, in the body's axes.
    pub at: nalgebra::Point3<f64>,
}

/// A master could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MasterError {
    /// A feature does not fit the body.
    #[error("{0}")]
    Spec(Problems),
    /// The tolerance is too fine.
    #[error(transparent)]
    TooFine(#[from] TooFine),
    /// A solid operation failed, which no spec should bring about.
    #[error("the master's solid could not be made: {0}")]
    Solid(#[from] SolidError),
}

impl From<Problems> for MasterError {
    fn from(problems: Problems) -> Self {
        MasterError::Spec(problems)
    }
}

/// A master: the bait with all its features, and its core prints.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Master {
    /// The surface, closed and in one piece.
    pub mesh: Mesh,
    /// Volume of the bait (core prints not counted), in mm³: that of the trunk exact, that of
    /// features as far as the tolerance goes.
    pub bait_volume: f64,
    /// Where each fin, tail and kind of leg is thinnest, in the order of the spec.
    pub thinnest: Vec<Thinnest>,
}

/// Coordinates nearer to the planes y = 0 and z = 0 than this, in mm, are on them: cuts
/// leave points a rounding error off the plane the mould parts along.
const ON_PLANE: f64 = 1e-9;
/// Less overlap than this share of a feature's volume is none.
const OVERLAP: f64 = 1e-6;

impl Master {
    /// The master of a design around its body.
    ///
    /// # Errors
    /// A feature that does not touch the body, lies wholly within it, or cuts it apart is named.
    pub fn build(design: &Design, body: &Body) -> Result<Self, MasterError> {
        let trunk = body.mesh(design.tolerance)?;
        let exact = body.figures().volume;
        let (tools, thinnest) = feature::tools(design, body)?;
        if tools.is_empty() {
            return Ok(Master {
                mesh: trunk,
                bait_volume: exact,
                thinnest,
            });
        }
        let mut solid = Solid::try_from(&trunk)?;
        let mut problems = Vec::new();
        // Cuts come last, so that no fin fills a socket again.
        let by_effect = |effect| tools.iter().filter(move |t| t.effect == effect);
        for tool in by_effect(Effect::Adds).chain(by_effect(Effect::Cuts)) {
            match join(&solid, tool)? {
                Ok(joined) => solid = joined,
                Err(problem) => problems.push(problem),
            }
        }
        if !problems.is_empty() {
            return Err(Problems(problems).into());
        }
        let mut mesh = solid.to_mesh();
        for p in &mut mesh.points {
            for k in [1, 2] {
                if p[k].abs() < ON_PLANE {
                    p[k] = 0.0;
                }
            }
        }
        let bait_volume = exact + mesh.volume() - trunk.volume();
        Ok(Master {
            mesh,
            bait_volume,
            thinnest,
        })
    }
}

/// Joins one tool to the solid, or says why that makes no sense.
fn join(solid: &Solid, tool: &Tool) -> Result<Result<Solid, Problem>, SolidError> {
    let part = Solid::try_from(&tool.mesh)?;
    let problem =
        |what: &str, hint: &str| Ok(Err(Problem::new(tool.path.clone(), what).hint(hint)));
    let small = OVERLAP * part.volume();
    let (joined, grows) = match tool.effect {
        Effect::Adds => (solid.union(&part)?, true),
        Effect::Cuts => match solid.difference(&part) {
            Ok(cut) => (cut, false),
            Err(SolidError::NothingLeft { .. }) => {
                return problem("this cut takes the whole bait away", "make it smaller");
            }
            Err(e) => return Err(e),
        },
    };
    let change = (joined.volume() - solid.volume()).abs();
    if change <= small {
        return if grows {
            problem(
                "this lies wholly within the body",
                "move it outward or make it larger",
            )
        } else {
            problem(
                "this does not reach the body",
                "move it towards the body or make it larger",
            )
        };
    }
    if grows && change >= part.volume() - small {
        return problem("this does not reach the body", "move it towards the body");
    }
    if joined.to_mesh().shells().len() > 1 {
        return if grows {
            problem(
                "this encloses a hollow together with the body",
                "move it or change its outline",
            )
        } else {
            problem(
                "this cuts the bait into pieces, or leaves a hollow in it",
                "make it shallower or move it",
            )
        };
    }
    Ok(Ok(joined))
}
