//! The master: trunk, features and core prints as one solid.

use nalgebra::Vector3;

use super::ground::Ground;
use super::{Body, TooFine, feature, overlap, sprue};
use crate::mesh::{Bounds, Mesh, Solid, SolidError};
use crate::spec::{Design, Problem, Problems};

/// What a feature does to the master.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Effect {
    /// Joins it: a fin, a tail.
    Adds,
    /// Is taken out of it: an eye socket, a slot.
    Cuts,
    /// Stands in the mould while the bait is cast, and is drawn out of it: a bore's pin. The
    /// master has it whole, with the prints that make its seats.
    Core,
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

impl Tool {
    fn named(&self) -> (&str, &Mesh) {
        (&self.path, &self.mesh)
    }
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
    /// The surface of the bait as it comes from the mould: no core prints, and hollows where the
    /// cores stood. The same as `mesh` where there are no cores.
    pub bait: Mesh,
    /// Volume of the bait (core prints not counted), in mm³: that of the trunk exact, that of
    /// features as far as the tolerance goes.
    pub bait_volume: f64,
    /// Loose cores that stand in the mould, each with its prints, in the body's axes.
    pub cores: Vec<Mesh>,
    /// Volume of all cores together, in mm³: what they keep plastic out of.
    pub core_volume: f64,
    /// Where each fin, tail and kind of leg is thinnest, in the order of the spec.
    pub thinnest: Vec<Thinnest>,
    /// What the maker should know of the features.
    pub notes: Vec<String>,
    /// The solid of every feature with its field path, in the body's axes.
    pub features: Vec<(String, Mesh)>,
    /// Centre of that volume, as [x, y, z].
    pub centroid: [f64; 3],
    /// Size of the bait with all its features, core prints not counted, along x, y and z.
    pub overall: [f64; 3],
}

/// Coordinates nearer to the planes y = 0 and z = 0 than this, in mm, are on them: cuts
/// leave points a rounding error off the plane the mould parts along.
const ON_PLANE: f64 = 1e-9;
/// A cut other than a bore, which takes the tip of a round end, that shortens the bait by more
/// than this, in mm, or by a fiftieth, was not meant.
const LOST: f64 = 1.0;
/// Less overlap than this share of a feature's volume is none.
const OVERLAP: f64 = 1e-6;

impl Master {
    /// The master of a design around its body.
    ///
    /// # Errors
    /// A feature that does not touch the body, lies wholly within it, or cuts it apart is named.
    pub fn build(design: &Design, body: &Body) -> Result<Self, MasterError> {
        Self::without(design, body, &[])
    }

    /// The same without the features at these paths, whatever is wrong with them.
    pub(crate) fn without(
        design: &Design,
        body: &Body,
        left_out: &[String],
    ) -> Result<Self, MasterError> {
        let trunk = body.mesh(design.tolerance)?;
        let exact = body.figures();
        let mut master = Master {
            bait_volume: exact.volume,
            centroid: exact.centroid,
            overall: [exact.length, exact.width.1, exact.reach[1] - exact.reach[0]],
            cores: Vec::new(),
            core_volume: 0.0,
            thinnest: Vec::new(),
            notes: Vec::new(),
            features: Vec::new(),
            bait: trunk.clone(),
            mesh: trunk,
        };
        let ground = Ground::new(body, master.mesh.clone());
        let made = feature::tools(design, &ground, left_out)?;
        if made.tools.is_empty() && !feature::has_cores(design) {
            return Ok(master);
        }
        let bare = Solid::try_from(&master.mesh)?;
        let mut solid = bare.clone();
        let mut problems = sprue::clear_of(design, body, &made.tools);
        // Cuts come last, so that no fin fills a socket again.
        let by_effect = |effect| made.tools.iter().filter(move |t| t.effect == effect);
        for tool in by_effect(Effect::Adds).chain(by_effect(Effect::Cuts)) {
            match join(&solid, tool)? {
                Ok(joined) => solid = joined,
                Err(problem) => {
                    let all = made.tools.iter().map(Tool::named);
                    let problem = with_others(problem, tool, all)?;
                    // Both of a pair fail alike; once is enough.
                    if problems.last() != Some(&problem) {
                        problems.push(problem);
                    }
                }
            }
        }
        if !problems.is_empty() {
            return Err(Problems(problems).into());
        }
        let named = |tool: &Tool| (tool.path.clone(), tool.mesh.clone());
        master.features = made.tools.iter().map(named).collect();
        master.notes = made.notes;
        master.thinnest = made.thinnest;
        let mut plastic = solid.clone();
        let mut cores = Vec::new();
        if feature::has_cores(design) {
            (solid, plastic, cores) = master.set_cores(design, body, solid, left_out)?;
        }
        let all: Vec<&Tool> = made.tools.iter().chain(&cores).collect();
        let shared = overlap::notes(&bare, &all, design.units)?;
        master.notes.extend(shared);
        master.bait = plastic.to_mesh();
        let trunk = std::mem::replace(&mut master.mesh, solid.to_mesh());
        for mesh in [&mut master.mesh, &mut master.bait] {
            onto_planes(mesh);
        }
        // What the features change is measured on meshes, which share the trunk's facets.
        let moments = |mesh: &Mesh| match mesh.mass_properties() {
            Some(m) => (m.volume, m.centroid.coords * m.volume),
            None => (0.0, Vector3::zeros()),
        };
        let (with, without) = (moments(&master.bait), moments(&trunk));
        master.bait_volume = exact.volume + with.0 - without.0;
        let moment = Vector3::from(exact.centroid) * exact.volume + with.1 - without.1;
        master.centroid = (moment / master.bait_volume).into();
        let adds: Vec<&Mesh> = by_effect(Effect::Adds).map(|t| &t.mesh).collect();
        master.grow(design, body, &trunk, &adds)?;
        Ok(master)
    }

    /// Makes `overall` that of the bait's mesh where features stand out from the trunk; the
    /// trunk's own figures are exact.
    fn grow(
        &mut self,
        design: &Design,
        body: &Body,
        trunk: &Mesh,
        adds: &[&Mesh],
    ) -> Result<(), TooFine> {
        let (was, is) = if body.collar.is_empty() {
            (trunk.bounds(), self.bait.bounds())
        } else {
            // The bait's mesh has the collar in it: what stands on the trunk goes for it.
            let bare = Body {
                collar: Vec::new(),
                ..body.clone()
            };
            let was = bare.mesh(design.tolerance)?.bounds();
            let is = adds.iter().filter_map(|mesh| mesh.bounds());
            (was, is.fold(was, |all, one| Some(around(all?, one))))
        };
        let (Some(was), Some(is)) = (was, is) else {
            return Ok(());
        };
        for k in 0..3 {
            if is.min[k] < was.min[k] - ON_PLANE || is.max[k] > was.max[k] + ON_PLANE {
                self.overall[k] = is.max[k] - is.min[k];
            }
        }
        Ok(())
    }

    /// Field path of the feature that made a place of the master's surface, in the body's axes:
    /// the one whose own surface is nearest and no farther than `within`; `None` for the trunk.
    pub fn feature_at(&self, place: &nalgebra::Point3<f64>, within: f64) -> Option<&str> {
        let near = |mesh: &Mesh| {
            let bounds = mesh.bounds()?;
            let close = (0..3)
                .all(|k| place[k] > bounds.min[k] - within && place[k] < bounds.max[k] + within);
            close.then(|| mesh.distance(place)).filter(|&d| d <= within)
        };
        self.features
            .iter()
            .filter_map(|(path, mesh)| Some((near(mesh)?, path.as_str())))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, path)| path)
    }

    /// Puts the cores into the finished bait: cut out of it as far as plastic goes (second),
    /// and standing in the master with their prints (first). The third are the cores.
    fn set_cores(
        &mut self,
        design: &Design,
        body: &Body,
        bait: Solid,
        left_out: &[String],
    ) -> Result<(Solid, Solid, Vec<Tool>), MasterError> {
        let ground = Ground::new(body, bait.to_mesh()).with(&self.features);
        let made = feature::cores(design, &ground, left_out)?;
        self.notes.extend(made.notes);
        overlap::cores(&made.tools, design.units, design.scale)??;
        let (mut left, mut whole) = (bait.clone(), bait);
        let mut problems = Vec::new();
        for tool in &made.tools {
            match join(&left, tool)? {
                Ok(cut) => left = cut,
                Err(problem) => {
                    let made = made.tools.iter().map(Tool::named);
                    let others = self
                        .features
                        .iter()
                        .map(|(path, mesh)| (path.as_str(), mesh));
                    problems.push(with_others(problem, tool, made.chain(others))?);
                }
            }
        }
        if !problems.is_empty() {
            return Err(Problems(problems).into());
        }
        for tool in &made.tools {
            whole = whole.union(&Solid::try_from(&tool.mesh)?)?;
        }
        self.core_volume = whole.volume() - left.volume();
        let named = |tool: &Tool| (tool.path.clone(), tool.mesh.clone());
        self.features.extend(made.tools.iter().map(named));
        self.cores = made.tools.iter().map(|tool| tool.mesh.clone()).collect();
        Ok((whole, left, made.tools))
    }
}

/// Puts points that a cut left a rounding error off the planes y = 0 and z = 0 onto them.
fn onto_planes(mesh: &mut Mesh) {
    for p in &mut mesh.points {
        for k in [1, 2] {
            if p[k].abs() < ON_PLANE {
                p[k] = 0.0;
            }
        }
    }
}

/// The box around two.
fn around(a: Bounds, b: Bounds) -> Bounds {
    Bounds {
        min: a.min.inf(&b.min),
        max: a.max.sup(&b.max),
    }
}

/// A problem that names the other features as well that this one overlaps: one of them may
/// be the cause.
fn with_others<'a>(
    mut problem: Problem,
    tool: &Tool,
    all: impl Iterator<Item = (&'a str, &'a Mesh)>,
) -> Result<Problem, SolidError> {
    let part = Solid::try_from(&tool.mesh)?;
    let mut others: Vec<&str> = Vec::new();
    for (path, mesh) in all.filter(|(path, _)| *path != tool.path) {
        if others.contains(&path) {
            continue;
        }
        match part.intersection(&Solid::try_from(mesh)?) {
            Ok(common) if common.volume() > OVERLAP * part.volume() => others.push(path),
            Ok(_) | Err(SolidError::NothingLeft { .. }) => {}
            Err(e) => return Err(e),
        }
    }
    if !others.is_empty() {
        problem.what += &format!(", together with {}", others.join(" and "));
    }
    Ok(problem)
}

/// Joins one tool to the solid, or says why that makes no sense.
fn join(solid: &Solid, tool: &Tool) -> Result<Result<Solid, Problem>, SolidError> {
    let part = Solid::try_from(&tool.mesh)?;
    let problem =
        |what: &str, hint: &str| Ok(Err(Problem::new(tool.path.clone(), what).hint(hint)));
    let small = OVERLAP * part.volume();
    let (joined, grows) = match tool.effect {
        Effect::Adds => (solid.union(&part)?, true),
        Effect::Cuts | Effect::Core => match solid.difference(&part) {
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
    let mesh = joined.to_mesh();
    let (was, is) = (solid.bounds(), joined.bounds());
    let lost = (is.min.x - was.min.x).max(was.max.x - is.max.x);
    if !grows && !tool.path.starts_with("bore") && lost > LOST.max(0.02 * was.size().x) {
        return problem(
            "this cut takes an end of the bait away",
            "move it from the end, or make it smaller",
        );
    }
    if mesh.shells().len() > 1 {
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
