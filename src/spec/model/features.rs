//! What is added to and cut from the body.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::Length;

/// A pair of eye sockets, exactly opposite each other; a single one on back or belly.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EyesSpec {
    /// Distance from the nose.
    pub at: Length,
    /// Degrees round the body: 0 on the back, 90 (if left out) on the flanks, 180 on the belly.
    #[serde(default = "flank")]
    pub angle: f64,
    /// Diameter of the ball that makes the socket.
    pub diameter: Length,
    /// Depth of the socket below the surface.
    pub depth: Length,
}

fn flank() -> f64 {
    90.0
}
