//! Eye recesses, slots, bores and pockets.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::Length;

/// A pair of eyes, exactly opposite each other; a single one on back or belly.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EyesSpec {
    /// What stands or is sunk there.
    #[serde(default)]
    pub kind: EyeKind,
    /// Distance from the nose.
    pub at: Length,
    /// Degrees round the body: 0 on the back, 90 (if left out) on the flanks, 180 on the belly.
    #[serde(default = "flank")]
    pub angle: f64,
    /// Diameter of the ball, of the recess at its floor, of the ring on its inside, or of the drill.
    pub diameter: Length,
    /// Depth below the surface. A ring may go without: nothing is sunk inside it then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
    /// Width of a raised ring across its bead; a fifth of the diameter if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ring_width: Option<Length>,
    /// Height of a raised ring over the body; half its width if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ring_height: Option<Length>,
}

fn flank() -> f64 {
    90.0
}

/// Kinds of eyes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum EyeKind {
    /// A socket in the shape of a ball.
    #[default]
    Ball,
    /// A round recess with a flat floor, square to the surface.
    Flat,
    /// A raised ring, round a flat recess if a depth is given.
    Ring,
    /// A small dimple only, that shows where to drill.
    Mark,
}

/// How a hollow comes about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Making {
    /// The bait is cast with it: a core stands in the mould.
    #[default]
    Cast,
    /// A shallow mark on the master shows where to cut or drill afterwards.
    Marked,
}

/// The side of the body that lies in the upright mid-plane.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Edge {
    /// Above, z > 0.
    Back,
    /// Below, z < 0.
    Belly,
}

/// A slot along back or belly in the upright mid-plane, with rounded ends and floor: room
/// for a hook's shank. Its floor follows the surface.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SlotSpec {
    /// Back or belly.
    pub side: Edge,
    /// Where it begins, from the nose.
    pub from: Length,
    /// Where it ends, from the nose.
    pub to: Length,
    /// Width across.
    pub width: Length,
    /// Depth below the surface.
    pub depth: Length,
    /// Cast in, or only marked.
    #[serde(default)]
    pub how: Making,
}

/// A straight round bore, for a wire or a pin.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoreSpec {
    /// Diameter.
    pub diameter: Length,
    /// One end: [x, z] in the upright mid-plane or [x, y, z]; left out, it comes out of the nose
    /// on the axis. An end that is outside the body only gives the direction; one
    /// inside makes a blind bore.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Vec<Length>>,
    /// The other end; left out, it comes out of the tail on the axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<Vec<Length>>,
    /// Cast in, or only marked.
    #[serde(default)]
    pub how: Making,
}

/// A round or rectangular recess, square to the surface. Give `diameter`, or `length` and
/// `width`; they are measured at its floor.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PocketSpec {
    /// Distance of its middle from the nose.
    pub at: Length,
    /// Degrees round the body: 0 on the back, 90 on the left flank (seen from the nose towards the tail), 180 (if left out) on the
    /// belly, 270 on the right flank.
    #[serde(default = "belly")]
    pub angle: f64,
    /// Diameter of a round pocket.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Length>,
    /// Length of a rectangular pocket, along the body.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
    /// Width of a rectangular pocket, across.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Length>,
    /// Depth below the surface at its middle.
    pub depth: Length,
    /// Cast in, or only marked.
    #[serde(default)]
    pub how: Making,
}

fn belly() -> f64 {
    180.0
}
