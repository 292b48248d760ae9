//! What the maker writes about the casting day.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::materials::MaterialEntry;

/// The casting day. Everything has a default.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct CastSpec {
    /// How many good baits are wanted; 10 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub baits: Option<u32>,
    /// How many such moulds take turns; 1 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub moulds: Option<u32>,
    /// Name of the material the baits are cast of; `soft-plastisol` if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plastic: Option<String>,
    /// Density of that plastic as it is bought, such as `"1.03 g/cm3"`; that of the material if
    /// left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub density: Option<String>,
    /// Name of the silicone that a mould is poured of; `platinum-silicone` if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub silicone: Option<String>,
    /// Name of the material of a printed block's halves; `printed-resin` if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub block: Option<String>,
    /// Percent of the baits that come out badly; 10 if left out (common practice).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scrap: Option<f64>,
    /// Percent of sprues and bad baits that is melted again; 0 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remelt: Option<f64>,
    /// Percent of silicone and plastic that stays in cups; 10 if left out (common practice).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub waste: Option<f64>,
    /// Temperature the plastic is poured at, such as `"170 C"`; that of the plastic if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pour: Option<String>,
    /// Temperature a bait is pulled at; that of the plastic if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pull: Option<String>,
    /// Temperature of the room; 20 °C if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub room: Option<String>,
    /// What the injector holds, such as `"4 fl oz"`; left out, the plastic is poured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub injector: Option<String>,
    /// The vacuum container that silicone rises in, such as `"2 l"`; left out, as large as needed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub container: Option<String>,
    /// What goes into the plastic.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub additives: Vec<AdditiveSpec>,
    /// Materials of your own.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub material: Vec<MaterialEntry>,
    /// A file with more of them, beside the spec; read by the command.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub materials: Option<String>,
}

/// Something that goes into the plastic.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AdditiveSpec {
    /// What it is; the name of a material of kind `additive` brings its density.
    pub name: String,
    /// Parts by weight to 100 of plastic.
    pub parts: f64,
    /// Density, such as `"1.4 g/cm3"`; that of the material of this name, else of the plastic, if
    /// left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density: Option<String>,
}
