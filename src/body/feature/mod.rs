//! What is added to and cut from the trunk, one kind of feature a file.

mod eyes;

use super::Body;
use super::master::{Effect, Tool};
use crate::curve::Outline;
use crate::mesh::{AxisMap, Mesh};
use crate::spec::{Design, End, Problems};

/// The solids of all features of a design, in the order of its spec.
pub(super) fn tools(design: &Design, body: &Body) -> Result<Vec<Tool>, Problems> {
    let mut tools = Vec::new();
    for (i, eyes) in design.eyes.iter().enumerate() {
        eyes::tools(
            &format!("eyes[{i}]"),
            eyes,
            body,
            design.tolerance,
            &mut tools,
        );
    }
    Ok(tools)
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
