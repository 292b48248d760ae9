//! Eye sockets.

use super::{Effect, Tool, ball, push};
use crate::body::Body;
use crate::spec::EyesDesign;

pub(super) fn tools(
    path: &str,
    eyes: &EyesDesign,
    body: &Body,
    tolerance: f64,
    tools: &mut Vec<Tool>,
) {
    let place = body.place(eyes.at, eyes.angle);
    let centre = place.point + place.normal.into_inner() * (eyes.radius - eyes.depth);
    let ball = ball(eyes.radius, tolerance).translated(&centre.coords);
    push(tools, path, Effect::Cuts, ball, eyes.pair());
}
