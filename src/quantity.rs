//! Lengths and masses as a maker writes them, and as the maker reads them; wire gauges.
//!
//! ```
//! use baitwright::quantity::{InchFraction, Length, LengthUnit};
//! let length: Length = "2 3/8 in".parse()?;
//! assert_eq!(length.to_mm(LengthUnit::Mm), 60.325);
//! assert_eq!(InchFraction::nearest(60.3).to_string(), "2 3/8 in");
//! # Ok::<(), baitwright::quantity::LengthError>(())
//! ```

mod gauge;
mod mass;

pub use gauge::WireGauge;
pub use mass::{GRAIN, Mass, MassUnit, OUNCE};

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Unexpected};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A unit of length.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
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

/// Every way a unit may be written; the first of each is how it is printed.
const UNIT_NAMES: [(&str, LengthUnit); 5] = [
    ("mm", LengthUnit::Mm),
    ("cm", LengthUnit::Cm),
    ("in", LengthUnit::In),
    ("inch", LengthUnit::In),
    ("inches", LengthUnit::In),
];

impl LengthUnit {
    /// The last digit that is shown, in millimetres.
    pub(crate) fn digit(self) -> f64 {
        match self {
            LengthUnit::Mm => 0.01,
            LengthUnit::Cm | LengthUnit::In => 0.001 * self.in_mm(),
        }
    }

    /// Millimetres in one of this unit.
    ///
    /// # References
    /// The inch is 25.4 mm exactly: NIST SP 811 (2008), appendix B.8.
    #[must_use]
    pub const fn in_mm(self) -> f64 {
        match self {
            LengthUnit::Mm => 1.0,
            LengthUnit::Cm => 10.0,
            LengthUnit::In => 25.4,
        }
    }

    /// Its symbol: `mm`, `cm` or `in`.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            LengthUnit::Mm => "mm",
            LengthUnit::Cm => "cm",
            LengthUnit::In => "in",
        }
    }

    /// A height over the bait's axis in words: `3 mm above the axis`, `on the axis`.
    #[must_use]
    pub fn show_height(self, mm: f64) -> String {
        let shown = self.show(mm.abs());
        match mm {
            _ if shown == self.show(0.0) => "on the axis".to_owned(),
            mm if mm > 0.0 => format!("{shown} above the axis"),
            _ => format!("{shown} below the axis"),
        }
    }

    /// A length of `mm` millimetres as decimal text in this unit, such as `37.25 mm` or
    /// `2.375 in`: rounded to 0.01 mm, 0.001 cm or 0.001 in, what callipers resolve,
    /// without trailing zeros.
    #[must_use]
    pub fn show(self, mm: f64) -> String {
        let decimals = match self {
            LengthUnit::Mm => 2,
            LengthUnit::Cm | LengthUnit::In => 3,
        };
        let mut digits = format!("{:.decimals$}", mm / self.in_mm());
        if digits.contains('.') {
            digits.truncate(digits.trim_end_matches('0').trim_end_matches('.').len());
        }
        if digits == "-0" {
            digits.remove(0);
        }
        format!("{digits} {}", self.symbol())
    }

    fn named(name: &str) -> Option<Self> {
        UNIT_NAMES
            .iter()
            .find(|(known, _)| known.eq_ignore_ascii_case(name))
            .map(|&(_, unit)| unit)
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

impl<'de> Deserialize<'de> for LengthUnit {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl de::Visitor<'_> for Visitor {
            type Value = LengthUnit;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("\"mm\", \"cm\" or \"in\"")
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<LengthUnit, E> {
                LengthUnit::named(text.trim()).ok_or_else(|| {
                    E::invalid_value(Unexpected::Other("this is not a unit of length"), &self)
                })
            }
        }
        deserializer.deserialize_str(Visitor)
    }
}

impl JsonSchema for LengthUnit {
    fn schema_name() -> Cow<'static, str> {
        "LengthUnit".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A unit of length.",
            "enum": UNIT_NAMES.map(|(name, _)| name)
        })
    }
}

/// A length as written: a number with its unit, or a bare number in the spec's own unit.
///
/// Reads `60`, `60 mm`, `2.5 cm`, `2 3/8 in`, `2-3/8"`, `2⅜ in`, `2.375"`; serialised as a
/// number if it has no unit, else as text that reads back to the same length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Length {
    /// The number.
    pub value: f64,
    /// Its unit; `None` for the spec's own.
    pub unit: Option<LengthUnit>,
}

impl Length {
    /// A length in millimetres.
    #[must_use]
    pub const fn mm(value: f64) -> Self {
        Length {
            value,
            unit: Some(LengthUnit::Mm),
        }
    }

    /// A length in centimetres.
    #[must_use]
    pub const fn cm(value: f64) -> Self {
        Length {
            value,
            unit: Some(LengthUnit::Cm),
        }
    }

    /// A length in inches.
    #[must_use]
    pub const fn inches(value: f64) -> Self {
        Length {
            value,
            unit: Some(LengthUnit::In),
        }
    }

    /// A bare number, in the spec's own unit.
    #[must_use]
    pub const fn bare(value: f64) -> Self {
        Length { value, unit: None }
    }

    /// The length in millimetres; a bare number is taken in `default_unit`.
    #[must_use]
    pub fn to_mm(self, default_unit: LengthUnit) -> f64 {
        match self.unit.unwrap_or(default_unit) {
            LengthUnit::Mm => self.value,
            LengthUnit::Cm => self.value * 10.0,
            // 25.4 has no exact binary form: this way common fractions such as 3/8 in come
            // out as the same number as their millimetres written in decimals.
            LengthUnit::In => self.value * 127.0 / 5.0,
        }
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.value)?;
        match self.unit {
            Some(unit) => write!(f, " {unit}"),
            None => Ok(()),
        }
    }
}

/// Why a text is not a length. Its display is a short sentence for the maker.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LengthError {
    /// Nothing was written.
    #[error("a length is missing here")]
    Empty,
    /// The text does not start with a number.
    #[error("this is not a length")]
    NotANumber,
    /// A comma stands where a decimal point should.
    #[error("a length is written with a decimal point, not a comma")]
    Comma,
    /// A fraction with nothing below the line.
    #[error("a fraction cannot have 0 below the line")]
    ZeroDenominator,
    /// The number is too large for a computer to hold.
    #[error("this number is too large")]
    TooLarge,
    /// What follows the number is no unit.
    #[error("`{0}` is not a unit of length")]
    Unit(String),
}

/// What the reader of a length accepts.
const ACCEPTED: &str =
    "a number such as 60, or text such as \"60 mm\", \"2.5 cm\", \"2.375 in\" or \"2 3/8 in\"";

/// The texts that [`Length`] reads, as a regular expression for the schema.
const PATTERN: &str = r#"^\s*[+-]?([0-9]+([ -]+[0-9]+\s*[/⁄]\s*[0-9]+|\s*[/⁄]\s*[0-9]+)|([0-9]+[ -]*)?[½¼¾⅛⅜⅝⅞]|([0-9]+\.?[0-9]*|\.[0-9]+))\s*([mM][mM]?|[cC][mM]|[iI][nN]([cC][hH]([eE][sS])?)?|"|″|”|'')?\s*$"#;

/// Fractions that are one character; keyboards and word processors put them in unasked.
const VULGAR: [(char, &str); 7] = [
    ('½', "1/2"),
    ('¼', "1/4"),
    ('¾', "3/4"),
    ('⅛', "1/8"),
    ('⅜', "3/8"),
    ('⅝', "5/8"),
    ('⅞', "7/8"),
];

/// The text with such fractions, and the fraction slash, in plain digits.
fn spell_out(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match VULGAR.iter().find(|(vulgar, _)| *vulgar == c) {
            Some((_, plain)) => {
                if out.ends_with(|last: char| last.is_ascii_digit()) {
                    out.push(' ');
                }
                out.push_str(plain);
            }
            None if c == '\u{2044}' => out.push('/'),
            None => out.push(c),
        }
    }
    out
}

impl FromStr for Length {
    type Err = LengthError;

    fn from_str(text: &str) -> Result<Self, LengthError> {
        let text = spell_out(text.trim());
        if text.is_empty() {
            return Err(LengthError::Empty);
        }
        let end = text
            .rfind(|c: char| c.is_ascii_digit() || c == '.')
            .map_or(0, |i| i + 1);
        let (number, unit) = (text[..end].trim(), text[end..].trim());
        if number.contains(',') {
            return Err(LengthError::Comma);
        }
        let value = parse_number(number)?;
        if !value.is_finite() {
            return Err(LengthError::TooLarge);
        }
        let (value, unit) = match unit {
            // No unit to write a spec in, but a depth of water comes in it.
            "m" | "M" => (1000.0 * value, "mm"),
            other => (value, other),
        };
        let unit = match unit {
            "" => None,
            "\"" | "″" | "”" | "''" => Some(LengthUnit::In),
            name => {
                Some(LengthUnit::named(name).ok_or_else(|| LengthError::Unit(name.to_owned()))?)
            }
        };
        Ok(Length { value, unit })
    }
}

/// `2.375`, `3/8`, `2 3/8` or `2-3/8`, with an optional sign.
fn parse_number(text: &str) -> Result<f64, LengthError> {
    let (sign, text) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let digits = |text: &str| -> Result<f64, LengthError> {
        if text.is_empty() || !text.bytes().all(|b| b.is_ascii_digit()) {
            return Err(LengthError::NotANumber);
        }
        text.parse().map_err(|_| LengthError::NotANumber)
    };
    let magnitude = match text.split_once('/') {
        Some((above, below)) => {
            let above = above.trim_end();
            let (whole, above) = match above.rfind([' ', '-']) {
                Some(i) => (
                    digits(above[..i].trim_end_matches([' ', '-']))?,
                    &above[i + 1..],
                ),
                None => (0.0, above),
            };
            let (above, below) = (digits(above)?, digits(below.trim_start())?);
            if below == 0.0 {
                return Err(LengthError::ZeroDenominator);
            }
            whole + above / below
        }
        None => {
            // Rust's own reader would also take `inf`, `nan` and `1e5`.
            if !text.bytes().all(|b| b.is_ascii_digit() || b == b'.') {
                return Err(LengthError::NotANumber);
            }
            text.parse().map_err(|_| LengthError::NotANumber)?
        }
    };
    Ok(sign * magnitude)
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        // Whole numbers without a point, as a maker would write them; below 2^53 they are exact.
        const EXACT: f64 = 9_007_199_254_740_992.0;
        match self.unit {
            Some(_) => serializer.collect_str(self),
            None if self.value.fract() == 0.0
                && self.value.abs() < EXACT
                && !(self.value == 0.0 && self.value.is_sign_negative()) =>
            {
                #[allow(clippy::cast_possible_truncation)]
                serializer.serialize_i64(self.value as i64)
            }
            None => serializer.serialize_f64(self.value),
        }
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl de::Visitor<'_> for Visitor {
            type Value = Length;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(ACCEPTED)
            }
            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Length, E> {
                if value.is_finite() {
                    Ok(Length::bare(value))
                } else {
                    Err(E::invalid_value(Unexpected::Float(value), &self))
                }
            }
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Length, E> {
                self.visit_f64(value as f64)
            }
            fn visit_u64<E: de::Error>(self, value: u64) -> Result<Length, E> {
                self.visit_f64(value as f64)
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Length, E> {
                text.parse().map_err(|error: LengthError| {
                    E::invalid_value(Unexpected::Other(&error.to_string()), &self)
                })
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

impl JsonSchema for Length {
    fn schema_name() -> Cow<'static, str> {
        "Length".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A length: a bare number in the spec's own unit, or text with its unit such as \"60 mm\", \"2.5 cm\", \"2.375 in\" or \"2 3/8 in\".",
            "type": ["number", "string"],
            "pattern": PATTERN
        })
    }
}

/// A length to the nearest 1/64 in, with what the rounding costs. Displays as `2 3/8 in`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InchFraction {
    /// The length in 64ths of an inch.
    pub sixty_fourths: i64,
    /// The fraction less the length asked for, in millimetres; at most 1/128 in = 0.198 mm
    /// either way.
    pub error: f64,
}

impl InchFraction {
    /// The fraction nearest to `mm` millimetres.
    #[must_use]
    pub fn nearest(mm: f64) -> Self {
        let rounded = (mm / LengthUnit::In.in_mm() * 64.0).round();
        #[allow(clippy::cast_possible_truncation)]
        InchFraction {
            sixty_fourths: rounded as i64,
            error: rounded / 64.0 * LengthUnit::In.in_mm() - mm,
        }
    }
}

impl fmt::Display for InchFraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts = self.sixty_fourths.unsigned_abs();
        let (whole, mut above, mut below) = (parts / 64, parts % 64, 64);
        while above > 0 && above % 2 == 0 {
            above /= 2;
            below /= 2;
        }
        if self.sixty_fourths < 0 {
            f.write_str("-")?;
        }
        match (whole, above) {
            (whole, 0) => write!(f, "{whole} in"),
            (0, above) => write!(f, "{above}/{below} in"),
            (whole, above) => write!(f, "{whole} {above}/{below} in"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn reads_what_makers_write() {
        for (text, expected) in [
            ("60", Length::bare(60.0)),
            ("60 mm", Length::mm(60.0)),
            (" 60MM ", Length::mm(60.0)),
            ("2.5 cm", Length::cm(2.5)),
            (".5cm", Length::cm(0.5)),
            ("2 3/8 in", Length::inches(2.375)),
            ("2.375\"", Length::inches(2.375)),
            ("5/8 in", Length::inches(0.625)),
            ("2-3/8\"", Length::inches(2.375)),
            ("2 - 3/8 inches", Length::inches(2.375)),
            ("3 / 8 inch", Length::inches(0.375)),
            ("1½ in", Length::inches(1.5)),
            ("3¼", Length::bare(3.25)),
            ("⅜\"", Length::inches(0.375)),
            ("2-⅝ in", Length::inches(2.625)),
            ("2 ⅞ in", Length::inches(2.875)),
            ("-⅛ in", Length::inches(-0.125)),
            ("1 3⁄4 in", Length::inches(1.75)),
            ("-3 mm", Length::mm(-3.0)),
            ("1 m", Length::mm(1000.0)),
            ("1.5m", Length::mm(1500.0)),
            ("5/8", Length::bare(0.625)),
        ] {
            assert_eq!(text.parse(), Ok(expected), "{text}");
            let json = serde_json::Value::from(text);
            assert_eq!(serde_json::from_value::<Length>(json).unwrap(), expected);
        }
    }

    #[test]
    fn says_why_a_text_is_no_length() {
        for (text, expected) in [
            ("", LengthError::Empty),
            ("  ", LengthError::Empty),
            ("mm", LengthError::NotANumber),
            ("6O mm", LengthError::Unit("O mm".into())),
            ("60 furlongs", LengthError::Unit("furlongs".into())),
            ("2,5 cm", LengthError::Comma),
            ("3/0 in", LengthError::ZeroDenominator),
            ("nan", LengthError::NotANumber),
            ("inf mm", LengthError::NotANumber),
            ("1e3 mm", LengthError::NotANumber),
            ("1.2.3", LengthError::NotANumber),
            ("2.5 3/8 in", LengthError::NotANumber),
            ("/8 in", LengthError::NotANumber),
            ("3/ in", LengthError::Unit("/ in".into())),
            ("--3", LengthError::NotANumber),
            (&"9".repeat(400), LengthError::TooLarge),
            ("∞", LengthError::NotANumber),
            ("½½", LengthError::NotANumber),
            ("2.5½", LengthError::NotANumber),
            ("½ furlong", LengthError::Unit("furlong".into())),
        ] {
            assert_eq!(text.parse::<Length>(), Err(expected), "{text}");
        }
    }

    #[test]
    fn inch_is_exact() {
        // NIST SP 811 (2008) App. B.8: 1 in = 25.4 mm exactly; 16 CFR 500.19: 1 in = 2.54 cm.
        assert_eq!(Length::inches(1.0).to_mm(LengthUnit::Mm), 25.4);
        assert_eq!(Length::cm(2.54).to_mm(LengthUnit::Mm), 25.4);
        assert_eq!(Length::bare(0.375).to_mm(LengthUnit::In), 9.525);
        assert_eq!(Length::inches(1.0 / 64.0).to_mm(LengthUnit::Mm), 0.396875);
    }

    #[test]
    fn shows_sensible_decimals() {
        assert_eq!(LengthUnit::Mm.show(60.0), "60 mm");
        assert_eq!(LengthUnit::Mm.show(100.0), "100 mm");
        assert_eq!(LengthUnit::Mm.show(37.254), "37.25 mm");
        assert_eq!(LengthUnit::Mm.show(-0.001), "0 mm");
        assert_eq!(LengthUnit::Cm.show(25.4), "2.54 cm");
        assert_eq!(LengthUnit::In.show(60.325), "2.375 in");
        assert_eq!(LengthUnit::Mm.show_height(-7.5), "7.5 mm below the axis");
        assert_eq!(LengthUnit::Mm.show_height(2.0), "2 mm above the axis");
        assert_eq!(LengthUnit::In.show_height(-0.001), "on the axis");
    }

    #[test]
    fn nearest_fraction_and_its_error() {
        let cases = [
            (60.325, "2 3/8 in", 0.0),
            (9.525, "3/8 in", 0.0),
            (25.4, "1 in", 0.0),
            (0.0, "0 in", 0.0),
            // 10 mm is 25.197/64 in; 25/64 in is 9.921875 mm.
            (10.0, "25/64 in", -0.078125),
            (-10.0, "-25/64 in", 0.078125),
        ];
        for (mm, text, error) in cases {
            let fraction = InchFraction::nearest(mm);
            assert_eq!(fraction.to_string(), text);
            assert!((fraction.error - error).abs() < 1e-12, "{fraction:?}");
        }
    }

    fn any_length() -> impl Strategy<Value = Length> {
        let unit = prop::option::of(prop::sample::select(vec![
            LengthUnit::Mm,
            LengthUnit::Cm,
            LengthUnit::In,
        ]));
        (prop::num::f64::NORMAL | prop::num::f64::ZERO, unit)
            .prop_map(|(value, unit)| Length { value, unit })
    }

    proptest! {
        #[test]
        fn display_reads_back(length in any_length()) {
            prop_assert_eq!(length.to_string().parse(), Ok(length));
        }

        #[test]
        fn json_reads_back(length in any_length()) {
            let text = serde_json::to_string(&length).unwrap();
            prop_assert_eq!(serde_json::from_str::<Length>(&text).unwrap(), length);
        }

        #[test]
        fn fraction_is_the_nearest(mm in -2000.0..2000.0f64) {
            let fraction = InchFraction::nearest(mm);
            prop_assert!(fraction.error.abs() <= 25.4 / 128.0 + 1e-9);
            let read: Length = fraction.to_string().parse().unwrap();
            prop_assert!((read.to_mm(LengthUnit::Mm) - mm - fraction.error).abs() < 1e-9);
        }

        #[test]
        fn any_text_is_read_or_refused(text in "\\PC*") {
            let _ = text.parse::<Length>();
        }
    }
}
