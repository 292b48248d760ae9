//! Fins, tails and legs.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::Length;

/// A flat fin or wing: a single one on back or belly, else a pair exactly opposite each other.
///
/// Its outline is given by `root` and `outline`, or by `path`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FinSpec {
    /// Distance from the nose to the front of the root.
    pub at: Length,
    /// Degrees round the body: 0 (if left out) on the back, 90 on the flanks, 180 on the belly.
    #[serde(default)]
    pub angle: f64,
    /// Length of the root, along the straight line from its front to its rear on the body.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub root: Option<Length>,
    /// Height above the root line at stations along it, front to rear.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outline: Vec<FinStation>,
    /// The outline as SVG path data instead, in the spec's unit: x backward along the root,
    /// y outward, closed, with a straight edge on y = 0 as its root.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
    /// Thickness; 2 mm if left out (common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<Length>,
    /// Radius of the rim's edges, 0 for sharp ones; half the thickness if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rounding: Option<Length>,
    /// Degrees the fin leans backward; its height above the root stays.
    #[serde(default)]
    pub sweep: f64,
    /// Degrees each fin of a pair is turned about its root line, tips towards the back.
    #[serde(default)]
    pub cant: f64,
}

/// Height of a fin at one place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FinStation {
    /// Distance from the front of the root.
    pub at: Length,
    /// Height above the root line. A station on either end of the root makes an upright
    /// edge there; without one the outline comes down to the root.
    pub height: Length,
    /// The outline turns sharply here.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub corner: bool,
}

/// A tail behind the body: exactly one of the kinds.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct TailSpec {
    /// A disc across the body on a tapered neck, that kicks.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub paddle: Option<PaddleSpec>,
    /// A blade, lens-shaped in section, that curls in the upright mid-plane.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub curl: Option<CurlSpec>,
    /// A flat plate with two lobes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fork: Option<ForkSpec>,
    /// A straight strand that thins to its tip.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taper: Option<TaperSpec>,
}

/// A kicking tail.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PaddleSpec {
    /// Length of the neck, from the body's end to the middle of the disc.
    pub neck: Length,
    /// Diameter of the neck at the body; one and a half joints, less on a thin body, if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub root: Option<Length>,
    /// Diameter of the neck at the disc: its thinnest place, where it bends.
    pub joint: Length,
    /// Diameter of the disc.
    pub diameter: Length,
    /// Thickness of the disc; 2.5 mm if left out (common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<Length>,
    /// Degrees between disc and axis: 90 stands square across, less leans its upper edge
    /// backward; 60 if left out (common practice).
    #[serde(default = "disc_angle")]
    pub angle: f64,
}

fn disc_angle() -> f64 {
    60.0
}

/// A curled tail. Its spine bends ever more tightly towards the tip (a clothoid).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CurlSpec {
    /// Length along the middle of the blade, from the body's end to the tip.
    pub length: Length,
    /// Degrees the blade turns through from body to tip; 270 if left out.
    #[serde(default = "curl_turn")]
    pub turn: f64,
    /// Which way it curls; towards the belly if left out.
    #[serde(default)]
    pub towards: Side,
    /// Diameter of the round stem at the body; as the body allows, at most the blade's height,
    /// if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub root: Option<Length>,
    /// Greatest height of the blade, in the plane it curls in.
    pub height: Length,
    /// Thickness of the blade in its middle; 2.5 mm if left out (common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<Length>,
    /// Thickness at the tip; 1 mm if left out (common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tip: Option<Length>,
}

fn curl_turn() -> f64 {
    270.0
}

/// Back or belly.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Upward.
    Back,
    /// Downward.
    #[default]
    Belly,
}

/// A forked tail.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ForkSpec {
    /// Length from the body's end to the tips of the lobes.
    pub length: Length,
    /// Distance between the tips.
    pub span: Length,
    /// Depth of the notch between the lobes, 0 for none; two fifths of the length if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notch: Option<Length>,
    /// Height (width, if flat) at the body; as the body allows, at most a third of the span, if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub root: Option<Length>,
    /// Thickness; 2 mm if left out (common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<Length>,
    /// Which plane the lobes lie in; upright if left out.
    #[serde(default)]
    pub plane: Plane,
}

/// One of the body's mid-planes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Plane {
    /// y = 0, as on a fish.
    #[default]
    Upright,
    /// z = 0.
    Flat,
}

/// A straight tail.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TaperSpec {
    /// Length from the body's end to the tip.
    pub length: Length,
    /// Height at the body; as the body allows if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub root: Option<Length>,
    /// Height at the tip, which is rounded; 1.5 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tip: Option<Length>,
    /// Width as a share of the height; 1 if left out.
    #[serde(default = "one")]
    pub width: f64,
}

/// Legs or tentacles: tapered strands with round tips.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LegsSpec {
    /// Distance of the middle of the row from the nose; left out, they stand behind the tail.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Length>,
    /// Degrees round the body, for those that have `at`: 0 back, 90 (if left out) a row on each flank, 180 belly.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle: Option<f64>,
    /// How many: in each row, or in all behind the tail.
    pub count: u32,
    /// Length of each, from the surface of the body.
    pub length: Length,
    /// Width at the root.
    pub root: Length,
    /// Width at the tip.
    pub tip: Length,
    /// Thickness as a share of the width; 1 (round) if left out.
    #[serde(default = "one")]
    pub flat: f64,
    /// Distance between roots along a row; one and a half root widths if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pitch: Option<Length>,
    /// Degrees between the first and the last of a row, or across the whole bunch behind the tail.
    #[serde(default)]
    pub spread: f64,
    /// Degrees a row leans backward from square to the body.
    #[serde(default)]
    pub lean: f64,
    /// Degrees each strand bends downward on its way to the tip; those that stand on back or
    /// belly bend backward.
    #[serde(default)]
    pub droop: f64,
    /// Behind the tail: side by side in a level fan (if left out), or round the axis in a cone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bunch: Option<Bunch>,
}

/// How strands stand behind the tail.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Bunch {
    /// Side by side, level.
    #[default]
    Fan,
    /// Evenly round the axis.
    Cone,
}

fn one() -> f64 {
    1.0
}
