//! What shapes the trunk itself, beyond its outlines.

use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, de};

use crate::quantity::Length;

/// A set of ribs or rings round the body, side by side: as many whole ones as fit
/// between `from` and `to`, in the middle of that run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RibsSpec {
    /// Where the set begins, from the nose; not before the first station.
    pub from: Length,
    /// Where it ends; not beyond the last station.
    pub to: Length,
    /// From the middle of one rib to the middle of the next.
    pub pitch: Length,
    /// Height of a rib over the body, or depth of a groove.
    pub depth: Length,
    /// Shape of one rib.
    #[serde(default)]
    pub profile: RibProfile,
    /// Cut into the body instead of standing on it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub grooved: bool,
    /// Length at both ends of the set over which the ribs grow to their full height; 0 if
    /// left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fade: Option<Length>,
}

/// Shape of one rib along the body.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum RibProfile {
    /// A bead: a parabola over the whole pitch.
    #[default]
    Round,
    /// Straight up to an edge and straight down, over the whole pitch.
    Vee,
    /// A flat land with sloping flanks: land, gap and both flanks take 3/8, 3/8 and
    /// 1/8 each of the pitch.
    Square,
}

/// Shape of the sections: one exponent for the whole body, or stations.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum SectionSpec {
    /// The same superelliptic exponent everywhere: 2 is an ellipse, above it squarer,
    /// below it leaner.
    Same(f64),
    /// Exponents at stations, back and belly each with its own, smooth in between.
    Stations(Vec<SectionStation>),
}

impl Default for SectionSpec {
    fn default() -> Self {
        SectionSpec::Same(2.0)
    }
}

/// Exponents of the section at one place. Before the first station and behind the last
/// they stay as they are there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SectionStation {
    /// Distance from the nose.
    pub at: Length,
    /// Exponent of the half above the waist; low for a ridge.
    pub back: f64,
    /// Exponent of the half below; high for a flat belly.
    pub belly: f64,
}

/// How the spine bows: one rise for the middle of a plain bow, or stations.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum CamberSpec {
    /// Rise in the middle over both ends, a parabola; negative bows down.
    Bow(Length),
    /// Rise at stations; zero at an end that has none.
    Stations(Vec<CamberStation>),
}

/// Rise of the spine at one place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CamberStation {
    /// Distance from the nose.
    pub at: Length,
    /// Height of the spine over the axis; negative below it.
    pub rise: Length,
}

/// A body measured with callipers instead of drawn: a fair curve is laid through the
/// readings that leaves none of them by more than the uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasuredSpec {
    /// How far a reading of a diameter, height or width may be off, either way.
    pub uncertainty: Length,
    /// The readings, in any order.
    pub readings: Vec<ReadingSpec>,
}

/// What callipers said at one place: a diameter, or height or width or both.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingSpec {
    /// Distance from the nose.
    pub at: Length,
    /// Height and width, alike.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Length>,
    /// Full height.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Full width.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Length>,
}

/// What a value is that may also be a list.
struct OneOrList<F, O> {
    expecting: &'static str,
    one: F,
    list: std::marker::PhantomData<O>,
}

/// Reads one value (a number or a text, handed to `one`) or a list. The derived reader of
/// untagged enums would say only that neither form fits, and lose the place in the list.
impl<'de, T, O, F> de::Visitor<'de> for OneOrList<F, O>
where
    O: Deserialize<'de>,
    F: FnOnce(Length) -> Option<T>,
{
    type Value = Result<T, Vec<O>>;
    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.expecting)
    }
    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Self::Value, E> {
        let length = Length::deserialize(de::value::F64Deserializer::<E>::new(value))?;
        (self.one)(length)
            .map(Ok)
            .ok_or_else(|| E::custom("this is not a number that can be worked with"))
    }
    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Self::Value, E> {
        self.visit_f64(value as f64)
    }
    fn visit_u64<E: de::Error>(self, value: u64) -> Result<Self::Value, E> {
        self.visit_f64(value as f64)
    }
    fn visit_str<E: de::Error>(self, text: &str) -> Result<Self::Value, E> {
        let length = Length::deserialize(de::value::StrDeserializer::<E>::new(text))?;
        let expecting = self.expecting;
        (self.one)(length)
            .map(Ok)
            .ok_or_else(|| E::invalid_type(de::Unexpected::Str(text), &expecting))
    }
    fn visit_seq<A: de::SeqAccess<'de>>(self, list: A) -> Result<Self::Value, A::Error> {
        Vec::deserialize(de::value::SeqAccessDeserializer::new(list)).map(Err)
    }
}

impl<'de> Deserialize<'de> for SectionSpec {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let read = deserializer.deserialize_any(OneOrList {
            expecting: "an exponent such as 2, or a list such as \
                        [ { at = 30, back = 1.8, belly = 4 } ]",
            one: |length: Length| length.unit.is_none().then_some(length.value),
            list: std::marker::PhantomData,
        });
        read.map(|read| read.map_or_else(SectionSpec::Stations, SectionSpec::Same))
    }
}

impl<'de> Deserialize<'de> for CamberSpec {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let read = deserializer.deserialize_any(OneOrList {
            expecting: "a length such as 4, or a list such as [ { at = 30, rise = 4 } ]",
            one: Some,
            list: std::marker::PhantomData,
        });
        read.map(|read| read.map_or_else(CamberSpec::Stations, CamberSpec::Bow))
    }
}

/// What the plastic and the moulds do to sizes between the drawing and the bait.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct MaterialSpec {
    /// How much materials shrink, in percent of length.
    #[serde(skip_serializing_if = "is_default")]
    pub shrinkage: ShrinkageSpec,
    /// Coats that the printed or turned master gets.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub coats: Vec<CoatSpec>,
}

fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

/// Linear shrinkage in percent: mould less part, over mould, at room temperature.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct ShrinkageSpec {
    /// Of the soft plastic from cavity to bait.
    pub plastic: f64,
    /// Of the silicone, if the mould is made of it; plays no part in a printed mould.
    pub silicone: f64,
    /// Of prints, from the file to what comes off the printer.
    pub print: f64,
}

/// Coats of one paint on the master.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoatSpec {
    /// What it is, such as `primer`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Thickness of one coat when dry.
    pub thickness: Length,
    /// Number of coats; 1 if left out.
    #[serde(default = "one")]
    pub count: u32,
}

fn one() -> u32 {
    1
}
