//! What is added to and cut from the trunk, one kind of feature a file.

mod eyes;
mod fins;
mod legs;
mod strand;
mod tails;
#[cfg(test)]
mod tests;

use super::Body;
use super::master::{Effect, Thinnest, Tool};
use crate::curve::Outline;
use crate::mesh::{AxisMap, Mesh};
use crate::spec::{Design, End, Problems};

/// The solids of all features of a design, in the order of its spec, and where those that
/// stand out are thinnest.
pub(super) fn tools(design: &Design, body: &Body) -> Result<(Vec<Tool>, Vec<Thinnest>), Problems> {
    let mut tools = Vec::new();
    let mut thinnest = Vec::new();
    let mut problems = Vec::new();
    for (i, eyes) in design.eyes.iter().enumerate() {
        eyes::tools(
            &format!("eyes[{i}]"),
            eyes,
            body,
            design.tolerance,
            &mut tools,
        );
    }
    let tolerance = design.tolerance;
    for (i, fin) in design.fin.iter().enumerate() {
        let path = format!("fin[{i}]");
        let made = fins::tools(&path, fin, body, tolerance, &mut tools, &mut thinnest);
        problems.extend(made.err().into_iter().flat_map(|p| p.0));
    }
    if let Some(tail) = &design.tail {
        let made = tails::tools(tail, body, tolerance, &mut tools, &mut thinnest);
        problems.extend(made.err().into_iter().flat_map(|p| p.0));
    }
    for (i, legs) in design.legs.iter().enumerate() {
        let path = format!("legs[{i}]");
        let made = legs::tools(&path, legs, body, tolerance, &mut tools, &mut thinnest);
        problems.extend(made.err().into_iter().flat_map(|p| p.0));
    }
    if problems.is_empty() {
        Ok((tools, thinnest))
    } else {
        Err(Problems(problems))
    }
}

/// Adds a solid, and its mirror image in y = 0 if it is one of a pair.
fn push(tools: &mut Vec<Tool>, path: &str, effect: Effect, mesh: Mesh, pair: bool) {
    let tool = |mesh| Tool {
        path: path.to_owned(),
        effect,
        mesh,
    };
    if pair {
        tools.push(tool(mesh.clone().mapped(&AxisMap::MIRROR_Y)));
    }
    tools.push(tool(mesh));
}

/// A ball about the origin, facets straddling its surface.
fn ball(radius: f64, tolerance: f64) -> Mesh {
    let circle = |x: f64| (x * (2.0 * radius - x)).max(0.0).sqrt();
    let mesh = Outline::fit(
        2.0 * radius,
        End::Round,
        End::Round,
        0.01 * tolerance,
        circle,
    )
    .ok()
    .and_then(|o| {
        Body::revolved(o, End::Round, End::Round)
            .mesh(tolerance)
            .ok()
    })
    .unwrap_or_default();
    mesh.translated(&nalgebra::Vector3::new(-radius, 0.0, 0.0))
}
