//! What the maker writes about the mould.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::Length;

/// The mould.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct MouldSpec {
    /// The plane the mould opens along.
    pub parting: Parting,
    /// Least material over the body on every side; 9.5 mm if left out (common practice).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wall: Option<Length>,
    /// Registration keys.
    pub keys: KeySpec,
    /// The channel the plastic enters by.
    pub sprue: SprueSpec,
    /// The channels the air leaves by, at the end away from the sprue.
    pub vents: VentSpec,
}

/// The plane the mould opens along.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Parting {
    /// The upright mid-plane y = 0: a left and a right half.
    #[default]
    Flank,
    /// The flat plane z = 0: a back and a belly half.
    Waist,
}

/// Registration keys. Defaults are common practice.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct KeySpec {
    /// How many, four or more; 4 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// Diameter at the parting face; 6 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Length>,
    /// Height above the parting face; 4 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Gap between key and socket, on every side; 0.2 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance: Option<Length>,
}

/// The sprue: a funnel at the block's end face and a neck down to the body.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct SprueSpec {
    /// The end of the body the plastic enters by. The mould stands with this end up.
    pub end: BodyEnd,
    /// Diameter where the neck meets the body; 4 mm if left out, less on a thin body.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gate: Option<Length>,
    /// Diameter of the funnel at the block's end face; 16 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mouth: Option<Length>,
    /// Depth of the funnel; 12 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
}

/// One end of the body.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum BodyEnd {
    /// x = 0.
    #[default]
    Nose,
    /// x = length.
    Tail,
}

/// Vents: shallow grooves in the parting face. Defaults are common practice.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct VentSpec {
    /// How many; 2 if left out, 0 for none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// Width across the parting face; 1.5 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub width: Option<Length>,
    /// Full depth, half of it in each mould half; 0.5 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
}
