//! What things are made of, as data: plastics, silicones, resins and metals, each number with
//! its unit and where it is from.
//!
//! The bundled ones are generic. A maker writes others, or the same names anew, in the spec or
//! in a file of the same form:
//! ```toml
//! [[material]]
//! name = "my-rubber"
//! kind = "silicone"
//! density = "1.18 g/cm3"
//! mix = { is = "10:1 by weight", source = "data sheet of March" }
//! ```

mod unit;

pub use unit::{By, FactError, Kind, Mix, Price, band, quantity};

use std::borrow::Cow;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, MapAccess};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// US fluid ounce in ml, exact: 231/128 in³ (NIST HB 44, appendix C).
pub const FLUID_OUNCE: f64 = 29.573_529_562_5;
/// Avoirdupois ounce in g, exact (NIST HB 44, appendix C).
pub const OUNCE: f64 = 28.349_523_125;

/// The materials that come with the crate, as text.
const BUNDLED: &str = include_str!("bundled.toml");
/// Where a number is from that names no source.
const MAKERS_OWN: &str = "your own figure";

/// A fact as it is written: `"1.05 g/cm3"`, or `{ is = "1.05 g/cm3", source = "data sheet" }`.
#[derive(Clone, Debug, PartialEq)]
pub struct Fact {
    /// The number with its unit.
    pub is: String,
    /// Where it is from.
    pub source: Option<String>,
}

impl<'de> Deserialize<'de> for Fact {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl<'de> de::Visitor<'de> for Visitor {
            type Value = Fact;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(
                    "text with a unit such as \"1.05 g/cm3\", or \
                     { is = \"1.05 g/cm3\", source = \"data sheet\" }",
                )
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Fact, E> {
                Ok(Fact {
                    is: text.to_owned(),
                    source: None,
                })
            }
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Fact, A::Error> {
                #[derive(Deserialize)]
                #[serde(deny_unknown_fields)]
                struct Table {
                    is: String,
                    #[serde(default)]
                    source: Option<String>,
                }
                let Table { is, source } =
                    Table::deserialize(de::value::MapAccessDeserializer::new(map))?;
                Ok(Fact { is, source })
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

impl Serialize for Fact {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeMap;
        let Some(source) = &self.source else {
            return serializer.serialize_str(&self.is);
        };
        let mut map = serializer.serialize_map(Some(2))?;
        map.serialize_entry("is", &self.is)?;
        map.serialize_entry("source", source)?;
        map.end()
    }
}

impl JsonSchema for Fact {
    fn schema_name() -> Cow<'static, str> {
        "Fact".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A number with its unit, alone or with where it is from.",
            "anyOf": [
                { "type": "string" },
                {
                    "type": "object",
                    "properties": { "is": { "type": "string" }, "source": { "type": "string" } },
                    "required": ["is"],
                    "additionalProperties": false
                }
            ]
        })
    }
}

/// What a material is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Class {
    /// What baits are cast of.
    Plastic,
    /// What moulds are poured of.
    Silicone,
    /// What is printed or cast hard.
    Resin,
    /// Moulds and weights.
    Metal,
    /// What is stirred into the plastic.
    Additive,
}

/// A material as it is written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MaterialEntry {
    /// What it is called in the spec; the name of a bundled one takes its place.
    pub name: String,
    /// What it is for: `plastic`, `silicone`, `resin`, `metal` or `additive`.
    pub kind: Class,
    /// Density, such as `1.05 g/cm3`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density: Option<Fact>,
    /// Linear shrinkage, such as `1.5 %`; shown on the sheet, sizes follow
    /// `material.shrinkage`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shrinkage: Option<Fact>,
    /// Parts A and B, such as `10:1 by weight` or `1:1 by volume`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mix: Option<Fact>,
    /// Density of part A, if it is not that of the mixture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density_a: Option<Fact>,
    /// Density of part B, if it is not that of the mixture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density_b: Option<Fact>,
    /// Time from mixing until it thickens, such as `45 min`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pot_life: Option<Fact>,
    /// Time until it may be demoulded, such as `16 h`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cure: Option<Fact>,
    /// Hardness, such as `25 Shore A`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hardness: Option<Fact>,
    /// Heat conductivity, such as `0.2 W/mK`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conductivity: Option<Fact>,
    /// Specific heat, such as `1.3 J/gK`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heat: Option<Fact>,
    /// How thick the hot plastic is, such as `0.3 to 5 Pa.s`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub viscosity: Option<Fact>,
    /// Temperature it is poured at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pour: Option<Fact>,
    /// Temperature it is never to pass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most: Option<Fact>,
    /// Temperature it stops flowing at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sets: Option<Fact>,
    /// Temperature it may be pulled at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pull: Option<Fact>,
    /// Temperature that a mould of it stands up to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub service: Option<Fact>,
    /// Temperature that it softens at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub softens: Option<Fact>,
    /// Price, such as `24.50 EUR/kg`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Fact>,
}

/// A value and where it is from.
#[derive(Clone, Debug, PartialEq)]
pub struct Known<T> {
    /// The value, in the units of [`Kind`].
    pub value: T,
    /// Where it is from.
    pub source: String,
}

/// A material that can be worked with. Units are those of [`Kind`].
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // Each field is that of `MaterialEntry`.
pub struct Material {
    pub name: String,
    pub class: Class,
    pub density: Option<Known<f64>>,
    pub shrinkage: Option<Known<f64>>,
    pub mix: Option<Known<Mix>>,
    pub density_a: Option<Known<f64>>,
    pub density_b: Option<Known<f64>>,
    pub pot_life: Option<Known<f64>>,
    pub cure: Option<Known<f64>>,
    pub hardness: Option<Known<f64>>,
    pub conductivity: Option<Known<f64>>,
    pub heat: Option<Known<f64>>,
    pub viscosity: Option<Known<[f64; 2]>>,
    pub pour: Option<Known<f64>>,
    pub most: Option<Known<f64>>,
    pub sets: Option<Known<f64>>,
    pub pull: Option<Known<f64>>,
    pub service: Option<Known<f64>>,
    pub softens: Option<Known<f64>>,
    pub price: Option<Known<Price>>,
}

/// What is wrong with one key of a material.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrong {
    /// The key.
    pub key: &'static str,
    /// What was written.
    pub written: String,
    /// What is wrong.
    pub error: FactError,
    /// How it would be written.
    pub example: &'static str,
}

impl MaterialEntry {
    /// Reads every fact.
    ///
    /// # Errors
    /// Every fact that cannot be read.
    pub fn read(&self) -> Result<Material, Vec<Wrong>> {
        let mut wrong = Vec::new();
        let mut of = |key, fact: &Option<Fact>, kind: Kind| {
            known(key, fact, kind.example(), |t| quantity(kind, t), &mut wrong)
        };
        let density = of("density", &self.density, Kind::Density);
        let shrinkage = of("shrinkage", &self.shrinkage, Kind::Share);
        let density_a = of("density_a", &self.density_a, Kind::Density);
        let density_b = of("density_b", &self.density_b, Kind::Density);
        let pot_life = of("pot_life", &self.pot_life, Kind::Time);
        let cure = of("cure", &self.cure, Kind::Time);
        let hardness = of("hardness", &self.hardness, Kind::Hardness);
        let conductivity = of("conductivity", &self.conductivity, Kind::Conductivity);
        let heat = of("heat", &self.heat, Kind::Heat);
        let pour = of("pour", &self.pour, Kind::Temperature);
        let most = of("most", &self.most, Kind::Temperature);
        let sets = of("sets", &self.sets, Kind::Temperature);
        let pull = of("pull", &self.pull, Kind::Temperature);
        let service = of("service", &self.service, Kind::Temperature);
        let softens = of("softens", &self.softens, Kind::Temperature);
        let mix = known("mix", &self.mix, "10:1 by weight", Mix::read, &mut wrong);
        let viscosity = known(
            "viscosity",
            &self.viscosity,
            "0.3 to 5 Pa.s",
            |t| band(Kind::Viscosity, t),
            &mut wrong,
        );
        let price = known(
            "price",
            &self.price,
            "24.50 EUR/kg",
            Price::read,
            &mut wrong,
        );
        if !wrong.is_empty() {
            return Err(wrong);
        }
        Ok(Material {
            name: self.name.clone(),
            class: self.kind,
            density,
            shrinkage,
            mix,
            density_a,
            density_b,
            pot_life,
            cure,
            hardness,
            conductivity,
            heat,
            viscosity,
            pour,
            most,
            sets,
            pull,
            service,
            softens,
            price,
        })
    }
}

fn known<T>(
    key: &'static str,
    fact: &Option<Fact>,
    example: &'static str,
    read: impl Fn(&str) -> Result<T, FactError>,
    wrong: &mut Vec<Wrong>,
) -> Option<Known<T>> {
    let fact = fact.as_ref()?;
    match read(&fact.is) {
        Ok(value) => Some(Known {
            value,
            source: fact.source.clone().unwrap_or_else(|| MAKERS_OWN.to_owned()),
        }),
        Err(error) => {
            wrong.push(Wrong {
                key,
                written: fact.is.clone(),
                error,
                example,
            });
            None
        }
    }
}

/// A file of materials.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MaterialFile {
    /// The materials.
    #[serde(default)]
    pub material: Vec<MaterialEntry>,
}

impl MaterialFile {
    /// Reads a file of materials, TOML. Facts are not read yet.
    ///
    /// # Errors
    /// If it is no TOML, or has other keys; says where.
    pub fn read(text: &str) -> Result<Self, String> {
        toml::from_str(text).map_err(|e| e.to_string())
    }
}

/// Density of a mixture by the rule that volumes add: `parts` are (mass, density).
///
/// Real mixes contract slightly, so that this is a little low.
#[must_use]
pub fn mixture(parts: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    let (mass, volume) = parts
        .into_iter()
        .fold((0.0, 0.0), |(mass, volume), (m, density)| {
            (mass + m, volume + m / density)
        });
    mass / volume
}

/// The materials that come with the crate.
#[must_use]
pub fn bundled() -> Vec<Material> {
    // A test reads every one of them.
    let file = MaterialFile::read(BUNDLED).unwrap_or_default();
    file.material.iter().filter_map(|m| m.read().ok()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_bundled_number_has_its_source() {
        let file = MaterialFile::read(BUNDLED).unwrap();
        assert_eq!(file.material.len(), bundled().len());
        for line in BUNDLED.lines().filter(|l| l.contains(" is = ")) {
            assert!(line.contains("source = \""), "{line}");
        }
        for m in &file.material {
            assert!(m.read().is_ok(), "{:?}", m.read());
            assert!(m.price.is_none(), "a bundled price would soon be wrong");
        }
        let names: std::collections::BTreeSet<_> = bundled().into_iter().map(|m| m.name).collect();
        assert_eq!(names.len(), file.material.len());
    }

    #[test]
    fn units_are_turned_and_checked() {
        let q = |kind, text| quantity(kind, text);
        // Exact by definition: 340 °F, 1 fl oz.
        assert!((q(Kind::Temperature, "340 F").unwrap() - 171.111_111).abs() < 1e-6);
        assert_eq!(q(Kind::Volume, "1 fl oz"), Ok(29.573_529_562_5));
        assert_eq!(q(Kind::Density, "1050 kg/m3"), Ok(1.05));
        assert_eq!(q(Kind::Time, "0.5 h"), Ok(1800.0));
        assert_eq!(band(Kind::Viscosity, "300 to 5000 mPa.s"), Ok([0.3, 5.0]));
        assert_eq!(band(Kind::Viscosity, "5 to 3 Pa.s"), Err(FactError::Order));
        let units = "min, h, s, d".to_owned();
        assert_eq!(q(Kind::Time, "45"), Err(FactError::NoUnit(units.clone())));
        let other = FactError::Unit {
            unit: "C".into(),
            accepted: units,
        };
        assert_eq!(q(Kind::Time, "45 C"), Err(other));
        assert_eq!(
            band(Kind::Viscosity, "0.3 to 5").unwrap_err().to_string(),
            "the unit is missing"
        );
        assert_eq!(q(Kind::Density, "g/cm3"), Err(FactError::NotANumber));
        assert_eq!(
            q(Kind::Density, "99 g/cm3"),
            Err(FactError::Bounds("0.05 to 25 g/cm3".into()))
        );
        assert_eq!(Mix::read("10:1 by hand"), Err(FactError::Mix));
        assert_eq!(Mix::read("10:0 by weight"), Err(FactError::Mix));
        let pound = Price::read("10 USD/lb").unwrap();
        // 1000 g are 2.2046226 lb.
        assert!((pound.of(1000.0, 0.0) - 22.046_226).abs() < 1e-6);
        assert_eq!(Price::read("10 USD"), Err(FactError::Price));
    }

    #[test]
    fn mixtures_by_additive_volumes() {
        // 1/ρ = Σ w/ρ with PVC 1.40: parts of plasticiser to 100, density of the mix.
        for (phr, plasticiser, density) in [
            (60.0, 0.973, 1.202),
            (100.0, 0.973, 1.148),
            (300.0, 0.973, 1.053),
            (100.0, 0.984, 1.156),
            (400.0, 0.984, 1.046),
        ] {
            let found = mixture([(100.0, 1.40), (phr, plasticiser)]);
            assert!((found - density).abs() < 6e-4, "{phr}: {found}");
        }
        // 1.06 g/ml to 1.20 takes 0.228582 of the mass as salt, to 0.95 0.0154799 as beads of 0.125.
        let salted = mixture([(1.0 - 0.228582, 1.06), (0.228582, 2.165)]);
        assert!((salted - 1.20).abs() < 1e-5);
        let light = mixture([(1.0 - 0.0154799, 1.06), (0.0154799, 0.125)]);
        assert!((light - 0.95).abs() < 1e-5);
    }

    #[test]
    fn every_wrong_fact_of_a_material_is_named() {
        let text = "[[material]]\nname = \"x\"\nkind = \"silicone\"\n\
                    density = \"1.2 kg\"\nmix = \"ten to one\"\ncure = { is = \"0 h\" }";
        let wrong = MaterialFile::read(text).unwrap().material[0]
            .read()
            .unwrap_err();
        let keys: Vec<_> = wrong.iter().map(|w| w.key).collect();
        assert_eq!(keys, ["density", "cure", "mix"]);
        assert!(MaterialFile::read("[[material]]\nname = \"x\"\nkind = \"glue\"").is_err());
    }
}
