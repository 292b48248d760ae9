//! What is cast into the bait or hangs on it: wire, hook, weights, skirt.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::{Length, Mass};

/// A metal, for its density.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Metal {
    /// Lead, 11.34 g/ml. Forbidden as tackle in some places.
    Lead,
    /// Bismuth, 9.79 g/ml.
    Bismuth,
    /// Tin, 7.29 g/ml.
    Tin,
    /// Tungsten, solid, 19.3 g/ml; sintered weights are lighter: give their density.
    Tungsten,
    /// Brass, 8.49 g/ml.
    Brass,
    /// Steel, 7.85 g/ml.
    Steel,
}

/// The straight wire through the body, with an eye at its ends. Its size is given by
/// `diameter` or one gauge number.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct WireSpec {
    /// Diameter.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Length>,
    /// American wire gauge number, 0 to 40.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub awg: Option<u32>,
    /// British standard wire gauge number, 10 to 30.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub swg: Option<u32>,
    /// Music wire number, 1 to 30: larger is thicker.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub music: Option<u32>,
    /// Height above the axis; 0 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Where the straight run begins; at the nose if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<Length>,
    /// Where it ends; at the tail if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<Length>,
    /// Inside diameter of the eye before the straight run; 3 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub eye: Option<Length>,
    /// Inside diameter of the eye behind it; no eye there if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tail_eye: Option<Length>,
    /// Turns of the end round the wire, that close each eye; 3 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub twists: Option<u32>,
    /// Density in g/ml; that of steel, 7.85, if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub density: Option<f64>,
}

/// The hook, by its maker's measurements, or yours.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HookSpec {
    /// Where the middle of its eye is, from the nose.
    pub at: Length,
    /// Height of its shank above the axis; 0 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Diameter of its wire.
    pub wire: Length,
    /// Length of the shank, from the eye to where the bend begins.
    pub shank: Length,
    /// Gap between shank and point.
    pub gap: Length,
    /// From the point to the back of the bend, along the shank; the gap if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bend: Option<Length>,
    /// Inside diameter of its eye; twice its wire if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eye: Option<Length>,
    /// Where the point looks.
    #[serde(default)]
    pub point: PointSide,
    /// Its mass, if weighed; else worked out of its wire.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass: Option<Mass>,
}

/// Where a hook's point looks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum PointSide {
    /// To the back.
    #[default]
    Up,
    /// To the belly.
    Down,
}

/// A weight, in the upright mid-plane, its axis along the body. Give `mass` or `diameter`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WeightSpec {
    /// Its shape.
    #[serde(default)]
    pub shape: WeightShape,
    /// Its metal.
    #[serde(default = "lead")]
    pub metal: Metal,
    /// Its density in g/ml, instead of that of the metal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density: Option<f64>,
    /// Its mass: a number of grams, or text such as "1/8 oz".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass: Option<Mass>,
    /// Its greatest diameter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Length>,
    /// Its length, but for a ball; left out, twice the diameter for a cylinder, one and a half times for
    /// cone and egg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
    /// Diameter of a hole along its axis, for the wire; none if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hole: Option<Length>,
    /// Where the middle of its length is, from the nose.
    pub at: Length,
    /// Height of its axis above that of the body; 0 if left out, below it negative.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
}

fn lead() -> Metal {
    Metal::Lead
}

/// Shapes of weights.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum WeightShape {
    /// A ball.
    #[default]
    Ball,
    /// A cylinder.
    Cylinder,
    /// A cone, its point to the nose.
    Cone,
    /// An egg, its blunt end, two fifths of its length, to the nose.
    Egg,
}

/// A skirt of round strands, gathered at one place and trailing behind it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SkirtSpec {
    /// Where it is gathered, from the nose; at the tail if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Length>,
    /// How many strands.
    pub strands: u32,
    /// Length of a strand.
    pub strand_length: Length,
    /// Thickness of a strand.
    pub strand_thickness: Length,
    /// Density in g/ml; 1.1, of silicone rubber, if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density: Option<f64>,
}

/// Water and what is wanted of the bait in it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct WaterSpec {
    /// Its kind; fresh if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<WaterKind>,
    /// Grams of salt a kilogram, 0 to 42, instead of a kind.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub salinity: Option<f64>,
    /// Temperature in °C; 15 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub temperature: Option<f64>,
    /// Wanted: a depth to reach in `time`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
    /// Wanted: seconds to `depth`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time: Option<f64>,
    /// Wanted: degrees of the nose below the horizontal as it sinks; 0, level, if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hang: Option<f64>,
}

/// Kinds of water.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum WaterKind {
    /// No salt.
    Fresh,
    /// Lagoons and river mouths: salinity 10.
    Brackish,
    /// The open sea: salinity 35.
    Sea,
}
