//! Masses as a maker writes them.

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Unexpected};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{LengthError, parse_number, spell_out};

/// Grams in an avoirdupois ounce, exactly: NIST Handbook 44, appendix C.
pub const OUNCE: f64 = 28.349_523_125;
/// Grams in a grain, exactly: 1/7000 of the pound.
pub const GRAIN: f64 = 0.064_798_91;

/// A unit of mass.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MassUnit {
    /// Gram.
    Gram,
    /// Avoirdupois ounce.
    Ounce,
    /// Grain.
    Grain,
}

impl MassUnit {
    /// Grams in one of this unit.
    #[must_use]
    pub const fn in_grams(self) -> f64 {
        match self {
            MassUnit::Gram => 1.0,
            MassUnit::Ounce => OUNCE,
            MassUnit::Grain => GRAIN,
        }
    }

    const fn symbol(self) -> &'static str {
        match self {
            MassUnit::Gram => "g",
            MassUnit::Ounce => "oz",
            MassUnit::Grain => "gr",
        }
    }
}

/// A mass as written: a number with its unit, or a bare number of grams.
///
/// Reads `3.5`, `3.5 g`, `1/8 oz`, `1 1/2 oz`, `54 gr`; serialised as a number if it has no unit,
/// else as text that reads back to the same mass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mass {
    /// The number.
    pub value: f64,
    /// Its unit; `None` for grams.
    pub unit: Option<MassUnit>,
}

impl Mass {
    /// A mass in grams.
    #[must_use]
    pub const fn grams(value: f64) -> Self {
        Mass { value, unit: None }
    }

    /// The mass in grams.
    #[must_use]
    pub fn to_grams(self) -> f64 {
        self.value * self.unit.unwrap_or(MassUnit::Gram).in_grams()
    }
}

impl fmt::Display for Mass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.value)?;
        match self.unit {
            Some(unit) => write!(f, " {}", unit.symbol()),
            None => Ok(()),
        }
    }
}

/// What the reader of a mass accepts.
const ACCEPTED: &str = "a number of grams such as 3.5, or text such as \"3.5 g\" or \"1/8 oz\"";

const PATTERN: &str = r"^\s*([0-9]+([ -]+[0-9]+\s*[/⁄]\s*[0-9]+|\s*[/⁄]\s*[0-9]+)|([0-9]+[ -]*)?[½¼¾⅛⅜⅝⅞]|([0-9]+\.?[0-9]*|\.[0-9]+))\s*([gG]|[oO][zZ]|[gG][rR])?\s*$";

impl FromStr for Mass {
    type Err = LengthError;

    fn from_str(text: &str) -> Result<Self, LengthError> {
        let text = spell_out(text.trim());
        let end = text
            .rfind(|c: char| c.is_ascii_digit() || c == '.')
            .map_or(0, |i| i + 1);
        let (number, unit) = (text[..end].trim(), text[end..].trim());
        let value = parse_number(number)?;
        if !value.is_finite() {
            return Err(LengthError::TooLarge);
        }
        let unit = match unit.to_ascii_lowercase().as_str() {
            "" => None,
            "g" => Some(MassUnit::Gram),
            "oz" => Some(MassUnit::Ounce),
            "gr" => Some(MassUnit::Grain),
            other => return Err(LengthError::Unit(other.to_owned())),
        };
        Ok(Mass { value, unit })
    }
}

impl Serialize for Mass {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.unit {
            Some(_) => serializer.collect_str(self),
            None => serializer.serialize_f64(self.value),
        }
    }
}

impl<'de> Deserialize<'de> for Mass {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl de::Visitor<'_> for Visitor {
            type Value = Mass;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(ACCEPTED)
            }
            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Mass, E> {
                if value.is_finite() {
                    Ok(Mass::grams(value))
                } else {
                    let what = Unexpected::Other("this is not a number that can be worked with");
                    Err(E::invalid_value(what, &self))
                }
            }
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Mass, E> {
                self.visit_f64(value as f64)
            }
            fn visit_u64<E: de::Error>(self, value: u64) -> Result<Mass, E> {
                self.visit_f64(value as f64)
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Mass, E> {
                text.parse()
                    .map_err(|_| E::invalid_value(Unexpected::Other("this is not a mass"), &self))
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

impl JsonSchema for Mass {
    fn schema_name() -> Cow<'static, str> {
        "Mass".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A mass: a bare number of grams, or text with its unit, g, oz or gr.",
            "anyOf": [{ "type": "number" }, { "type": "string", "pattern": PATTERN }]
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grams_ounces_and_grains() {
        // Fractions of the ounce, 28.349523125 g exactly (NIST Handbook 44, appendix C).
        for (text, grams) in [
            ("3.5", 3.5),
            ("3.5 g", 3.5),
            ("1/64 oz", 0.442961299),
            ("1/8 oz", 3.543690391),
            ("⅜ OZ", 10.631071172),
            ("1 1/2 oz", 42.524284688),
            ("437.5 gr", 28.349523125),
        ] {
            let mass: Mass = text.parse().unwrap();
            assert!((mass.to_grams() - grams).abs() < 1e-9, "{text}");
            let again: Mass = mass.to_string().parse().unwrap();
            assert_eq!(again, mass);
        }
        for text in ["", "heavy", "3 kg", "1/0 oz", "oz", "1e5 g"] {
            assert!(text.parse::<Mass>().is_err(), "{text}");
        }
    }
}
