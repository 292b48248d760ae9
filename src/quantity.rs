//! Lengths as a maker writes them, and as the maker reads them.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A unit of length.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum LengthUnit {
    /// Millimetre.
    #[default]
    Mm,
    /// Centimetre.
    Cm,
    /// Inch, exactly 25.4 mm.
    In,
}

/// A length as written: a number with its unit, or a bare number in the spec's own unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Length {
    /// The number.
    pub value: f64,
    /// Its unit; `None` for the spec's own.
    pub unit: Option<LengthUnit>,
}
