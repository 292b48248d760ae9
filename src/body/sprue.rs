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
pub(super) fn line(body: &Body, end: BodyEnd, parting: Parting) -> [f64; 2] {
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
    let adding = || tools.iter().filter(|t| t.effect == Effect::Adds);
    if adding().next().is_none() {
        return Vec::new();
    }
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
    for tool in adding() {
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
