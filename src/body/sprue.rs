//! Where the line of the sprue meets a body, and what keeps out of its way.

use super::Body;
use super::master::{Effect, Tool};
use crate::mesh::slice::{PlaneSection, Sliced};
use crate::mesh::{AxisMap, Mesh};
use crate::spec::{BodyEnd, Design, Parting, Problem};

/// How far from the end of a mesh its foremost part is taken, in mm.
const FOREMOST: f64 = 2.0;

/// The middle of the widest part of a section in the parting plane; the axis if that is as good
/// as in the middle, or no part lies there.
fn tip(section: &PlaneSection) -> f64 {
    /// Near enough to the middle, as a share of the room there.
    const AS_GOOD: f64 = 0.9;
    let widest = section.across().into_iter().max_by(|a, b| {
        let [a, b] = [a, b].map(|part| part[1] - part[0]);
        a.total_cmp(&b)
    });
    let Some(part) = widest else {
        return 0.0;
    };
    let middle = 0.5 * (part[0] + part[1]);
    let as_good = section.holds(0.0, 0.0)
        && section.distance(0.0, 0.0) >= AS_GOOD * section.distance(middle, 0.0);
    if as_good { 0.0 } else { middle }
}

/// Where the line lies that the sprue of a mesh is turned about, across the parting plane: the middle
/// of its foremost part, or rearmost. The mesh is in the mould's axes, with these ends along x.
pub(crate) fn foremost(mesh: &Sliced, [from, to]: [f64; 2], end: BodyEnd) -> f64 {
    let depth = FOREMOST.min(0.05 * (to - from));
    tip(&mesh.section(match end {
        BodyEnd::Nose => from + depth,
        BodyEnd::Tail => to - depth,
    }))
}

/// The line of the sprue in the body's axes, as [y, z].
fn line(body: &Body, end: BodyEnd, parting: Parting) -> [f64; 2] {
    let Some(scan) = &body.scan else {
        return [
            0.0,
            body.spine(match end {
                BodyEnd::Nose => 0.0,
                BodyEnd::Tail => body.length(),
            }),
        ];
    };
    let across = |turn: &AxisMap| {
        let mesh = scan.mesh().clone().mapped(turn);
        let ends = mesh.bounds().map_or([0.0; 2], |b| [b.min.x, b.max.x]);
        foremost(&Sliced::new(mesh), ends, end)
    };
    match parting {
        Parting::Waist => [across(&AxisMap::AS_IS), 0.0],
        // Its +y is downward.
        Parting::Flank => [0.0, 0.0 - across(&AxisMap::LEFT_UP)],
    }
}

/// Fins and legs that reach past the sprue's end of the body so near to the line of the sprue
/// that they would run into it.
pub(super) fn clear_of(design: &Design, body: &Body, tools: &[Tool]) -> Vec<Problem> {
    /// Least material between them and the sprue's mouth, in mm (reasoned).
    const APART: f64 = 1.0;
    /// What reaches beyond the end by no more than this, in mm, ends there.
    const ROUNDING: f64 = 1e-9;
    let mould = &design.mould;
    let (end, beyond) = match mould.sprue_end {
        BodyEnd::Nose => (0.0, -1.0),
        BodyEnd::Tail => (body.length(), 1.0),
    };
    let [aside, line] = line(body, mould.sprue_end, mould.parting);
    let clear = mould.mouth_radius + APART;
    let nearest = |mesh: &Mesh| {
        let mut nearest = f64::INFINITY;
        for t in 0..mesh.triangles.len() {
            let corners = mesh.corners(t);
            for k in 0..3 {
                let (p, q) = (corners[k], corners[(k + 1) % 3]);
                let [a, b] = [p, q].map(|p| beyond * (p.x - end));
                if a.max(b) <= ROUNDING {
                    continue;
                }
                // The part of this edge that lies beyond the end, seen along the axis.
                let on = |share: f64| p + (q - p) * share;
                let cut = a / (a - b);
                let from = if a < 0.0 { on(cut) } else { p };
                let to = if b < 0.0 { on(cut) } else { q };
                let [fy, fz] = [from.y - aside, from.z - line];
                let [dy, dz] = [to.y - from.y, to.z - from.z];
                let square = dy * dy + dz * dz;
                let share = if square > 0.0 {
                    (-(fy * dy + fz * dz) / square).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                nearest = nearest.min(libm::hypot(fy + share * dy, fz + share * dz));
            }
        }
        nearest
    };
    // The mould does not grow with the bait.
    let made = if design.scale == 1.0 {
        ""
    } else {
        ", as large as it is made"
    };
    let mut problems: Vec<Problem> = Vec::new();
    for tool in tools.iter().filter(|t| t.effect == Effect::Adds) {
        let found = nearest(&tool.mesh);
        if found >= clear || problems.last().is_some_and(|p| p.path == tool.path) {
            continue;
        }
        let problem = Problem::new(
            tool.path.clone(),
            "this reaches past the end of the body into the way of the sprue",
        )
        .value(format!(
            "{} from the line of the sprue{made}",
            design.units.show(found)
        ))
        .limit(format!(
            "at least {} from it: half of mould.sprue.mouth and {}",
            design.units.show(clear),
            design.units.show(APART)
        ));
        problems.push(problem.hint("move it away from that end, or the sprue to the other"));
    }
    problems
}

/// A problem that names the other features as well that this one overlaps: one of them may
/// be the cause.
fn with_others(mut problem: Problem, tool: &Tool, all: &[Tool]) -> Result<Problem, SolidError> {
    let part = Solid::try_from(&tool.mesh)?;
    let mut others: Vec<&str> = Vec::new();
    for other in all.iter().filter(|t| t.path != tool.path) {
        if others.contains(&other.path.as_str()) {
            continue;
        }
        match part.intersection(&Solid::try_from(&other.mesh)?) {
            Ok(common) if common.volume() > OVERLAP * part.volume() => others.push(&other.path),
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
