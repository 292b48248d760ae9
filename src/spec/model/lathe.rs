//! What the maker writes about paper, card and lathe.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, de};

use crate::quantity::Length;

/// The lathe, and the paper that everything at 1:1 is printed on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct LatheSpec {
    /// The printer's paper; A4 if left out, Letter if the spec is in inches, a roll if its width is
    /// given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub paper: Option<Paper>,
    /// Width of the roll; 297 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub roll: Option<Length>,
    /// What prints are enlarged by because the printer shrinks them: the factor from the check
    /// page, one for both ways or one across and one down the page.
    #[serde(skip_serializing_if = "PrintScale::is_true")]
    pub print_scale: PrintScale,
    /// Diameter of the round stock, or side of the square stock, that you have.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stock: Option<Length>,
    /// Length of the tenon that the chuck holds; 25 mm if left out (common practice).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tenon: Option<Length>,
    /// Waste beyond either end of the work; 10 mm if left out (common practice).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub waste: Option<Length>,
    /// Thickness of the gauges' card; 0.5 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub card: Option<Length>,
    /// Width of the cut that gauges and patterns are cut out with; 0 (a knife) if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kerf: Option<Length>,
    /// What sanding will take off the surface; 0 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sanding: Option<Length>,
    /// Speed of the spindle in turns per minute; 1000 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed: Option<f64>,
}

/// Paper, lying.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 297 by 210 mm.
    A4,
    /// 420 by 297 mm.
    A3,
    /// 11 by 8.5 in.
    Letter,
    /// From a roll: pages as long as they need to be.
    Roll,
}

/// Factors across and down the page.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum PrintScale {
    /// The same both ways.
    Both(f64),
    /// Across and down.
    Each([f64; 2]),
}

impl PrintScale {
    /// Factors across and down the page.
    pub fn factors(self) -> [f64; 2] {
        match self {
            PrintScale::Both(factor) => [factor; 2],
            PrintScale::Each(factors) => factors,
        }
    }

    fn is_true(&self) -> bool {
        self.factors() == [1.0; 2]
    }
}

impl Default for PrintScale {
    fn default() -> Self {
        PrintScale::Both(1.0)
    }
}

impl<'de> Deserialize<'de> for PrintScale {
    // Says what is wanted, where a derived reader would say only that neither form fits.
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl<'de> de::Visitor<'de> for Visitor {
            type Value = PrintScale;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a factor such as 1.008, or one across and one down: [1.008, 1.003]")
            }
            fn visit_f64<E: de::Error>(self, factor: f64) -> Result<PrintScale, E> {
                Ok(PrintScale::Both(factor))
            }
            fn visit_i64<E: de::Error>(self, factor: i64) -> Result<PrintScale, E> {
                self.visit_f64(factor as f64)
            }
            fn visit_u64<E: de::Error>(self, factor: u64) -> Result<PrintScale, E> {
                self.visit_f64(factor as f64)
            }
            fn visit_seq<A: de::SeqAccess<'de>>(self, factors: A) -> Result<PrintScale, A::Error> {
                <[f64; 2]>::deserialize(de::value::SeqAccessDeserializer::new(factors))
                    .map(PrintScale::Each)
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}
