//! What the maker writes, as plain structs.
//!
//! TOML and JSON are read into the same structs; they can as well be built in
//! Rust. Nothing here is checked: [`Design::from_spec`](super::Design::from_spec)
//! holds the rules and turns a spec into numbers.

use std::fmt;

mod cast;
mod from;
mod inserts;
mod lathe;
mod limbs;
mod mould;
mod rig;
mod shape;

pub use cast::*;
pub use from::*;
pub use inserts::*;
pub use lathe::*;
pub use limbs::*;
pub use mould::*;
pub use rig::*;
pub use shape::*;

use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, de};

use crate::quantity::{Length, LengthUnit};

/// A whole bait spec. Everything but the body has a default.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Spec {
    /// What the maker calls this bait; printed on sheets and written into the files.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Unit of every bare number in this spec.
    #[serde(default)]
    pub units: LengthUnit,
    /// Enlarges or shrinks the bait, but not what belongs to the mould; 1 if left out.
    #[serde(default = "full_size", skip_serializing_if = "is_full_size")]
    pub scale: f64,
    /// Sizes of this bait by the length of the body: a kit for each of them instead of one as drawn.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sizes: Vec<Length>,
    /// The shape of the bait.
    pub body: BodySpec,
    /// A stepped stub behind the tail: a core print, seat for a skirt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub collar: Option<CollarSpec>,
    /// Eyes, each entry a pair.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub eyes: Vec<EyesSpec>,
    /// Slots along back or belly.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub slot: Vec<SlotSpec>,
    /// Bores for wire or pins.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bore: Vec<BoreSpec>,
    /// Recesses at a place.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pocket: Vec<PocketSpec>,
    /// Fins and wings, each entry a single one or a pair.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fin: Vec<FinSpec>,
    /// The tail behind the body.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tail: Option<TailSpec>,
    /// Legs or tentacles, each entry a row, a pair of rows or a bunch.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub legs: Vec<LegsSpec>,
    /// Ribs and rings round the body, each entry a set.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ribs: Vec<RibsSpec>,
    /// The wire through the body.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire: Option<WireSpec>,
    /// The hook.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hook: Option<HookSpec>,
    /// Weights.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub weight: Vec<WeightSpec>,
    /// The skirt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skirt: Option<SkirtSpec>,
    /// The water it swims in, and what is wanted of it there.
    #[serde(default, skip_serializing_if = "is_dry")]
    pub water: WaterSpec,
    /// The mould around the bait.
    #[serde(default)]
    pub mould: MouldSpec,
    /// The lathe, and the paper of everything at 1:1.
    #[serde(default, skip_serializing_if = "is_bare")]
    pub lathe: LatheSpec,
    /// What materials do to sizes.
    #[serde(default, skip_serializing_if = "is_plain")]
    pub material: MaterialSpec,
    /// The casting day.
    #[serde(default, skip_serializing_if = "is_any_day")]
    pub cast: CastSpec,
    /// How finely surfaces become triangles.
    #[serde(default)]
    pub mesh: MeshSpec,
}

impl Spec {
    /// A spec of this body and nothing else: every other field at its default.
    #[must_use]
    pub fn new(body: BodySpec) -> Self {
        Spec {
            name: None,
            units: LengthUnit::default(),
            scale: 1.0,
            sizes: Vec::new(),
            body,
            collar: None,
            eyes: Vec::new(),
            slot: Vec::new(),
            bore: Vec::new(),
            pocket: Vec::new(),
            fin: Vec::new(),
            tail: None,
            legs: Vec::new(),
            ribs: Vec::new(),
            wire: None,
            hook: None,
            weight: Vec::new(),
            skirt: None,
            water: WaterSpec::default(),
            mould: MouldSpec::default(),
            lathe: LatheSpec::default(),
            material: MaterialSpec::default(),
            cast: CastSpec::default(),
            mesh: MeshSpec::default(),
        }
    }

    /// The spec of one size: scaled so that the body, which is drawn `drawn` long, comes out
    /// `length` long, and named after it.
    #[must_use]
    pub fn sized(&self, length: Length, drawn: Length) -> Self {
        let (drawn, wanted) = (drawn.to_mm(self.units), length.to_mm(self.units));
        let name = self.name.as_deref().unwrap_or("bait");
        Spec {
            name: Some(format!("{name}, {}", self.units.show(wanted))),
            scale: wanted / drawn,
            sizes: Vec::new(),
            ..self.clone()
        }
    }
}

fn full_size() -> f64 {
    1.0
}

#[allow(clippy::trivially_copy_pass_by_ref)]
fn is_full_size(scale: &f64) -> bool {
    *scale == 1.0
}

fn is_dry(water: &WaterSpec) -> bool {
    *water == WaterSpec::default()
}

fn is_bare(lathe: &LatheSpec) -> bool {
    *lathe == LatheSpec::default()
}

fn is_any_day(cast: &CastSpec) -> bool {
    *cast == CastSpec::default()
}

fn is_plain(material: &MaterialSpec) -> bool {
    *material == MaterialSpec::default()
}

/// The body: outlines along its length and the shape of its sections.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BodySpec {
    /// A mesh file that is the master, instead of `length` and `outline`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<FromSpec>,
    /// Length from nose to tail, collar not counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
    /// How the nose ends. Left out: flat if the outline has a station at 0, else round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nose: Option<End>,
    /// How the tail ends. Left out: flat if the outline has a station at the length, else round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tail: Option<End>,
    /// Height of the body at stations along its length, nose to tail.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outline: Vec<Station>,
    /// Width of the body: a share of the height, or stations of its own.
    #[serde(default)]
    pub width: Width,
    /// Exponent of the superelliptic section (2 is an ellipse, above it squarer, below it
    /// leaner), or exponents of back and belly at stations.
    #[serde(default)]
    pub section: SectionSpec,
    /// Rise of the spine: the middle of a bow, or stations. Left out, the body is straight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub camber: Option<CamberSpec>,
    /// Readings of callipers, instead of an outline.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<MeasuredSpec>,
}

/// How one end of the body closes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum End {
    /// Blunt, with a vertical tangent: part of an ellipse, parabola or hyperbola.
    Round,
    /// Comes to a point.
    Pointed,
    /// Cut off square, at the height of the station there.
    Flat,
}

/// Height of the body at one place. Give `height` (or `diameter`, the same thing),
/// or `back` and `belly`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(transform = diameter_is_height)]
pub struct Station {
    /// Distance from the nose.
    pub at: Length,
    /// Full height there, half of it above the axis and half below.
    #[serde(default, alias = "diameter", skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Height above the axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back: Option<Length>,
    /// Depth below the axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub belly: Option<Length>,
    /// The outline turns sharply here instead of running through smoothly.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub corner: bool,
    /// The outline jumps here to this full height (a shoulder); back and belly in proportion.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step_to: Option<Length>,
}

/// The derived schema leaves out other names of a field.
fn diameter_is_height(schema: &mut schemars::Schema) {
    if let Some(fields) = schema
        .get_mut("properties")
        .and_then(|fields| fields.as_object_mut())
        && let Some(height) = fields.get("height").cloned()
    {
        fields.insert("diameter".into(), height);
    }
}

/// Width of the body.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Width {
    /// Full width as a share of full height, everywhere. 1 with section 2 and equal
    /// back and belly is a round body.
    OfHeight(f64),
    /// Stations of its own.
    Stations(Vec<WidthStation>),
}

impl Default for Width {
    fn default() -> Self {
        Width::OfHeight(1.0)
    }
}

impl<'de> Deserialize<'de> for Width {
    // The derived reader of untagged enums would say only that neither form fits, and lose
    // the place inside the list.
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl<'de> de::Visitor<'de> for Visitor {
            type Value = Width;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(
                    "a share of the height such as 0.7, or a list such as \
                     [ { at = 30, width = 12 } ]",
                )
            }
            fn visit_f64<E: de::Error>(self, share: f64) -> Result<Width, E> {
                Ok(Width::OfHeight(share))
            }
            fn visit_i64<E: de::Error>(self, share: i64) -> Result<Width, E> {
                self.visit_f64(share as f64)
            }
            fn visit_u64<E: de::Error>(self, share: u64) -> Result<Width, E> {
                self.visit_f64(share as f64)
            }
            fn visit_seq<A: de::SeqAccess<'de>>(self, stations: A) -> Result<Width, A::Error> {
                Vec::deserialize(de::value::SeqAccessDeserializer::new(stations))
                    .map(Width::Stations)
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

/// Width of the body at one place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WidthStation {
    /// Distance from the nose.
    pub at: Length,
    /// Full width there.
    pub width: Length,
    /// The outline turns sharply here.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub corner: bool,
    /// The outline jumps here to this full width.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step_to: Option<Length>,
}

/// A stepped round stub behind the tail's flat face. It is not part of the bait:
/// it makes the seat in the mould that a skirt is gathered into.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CollarSpec {
    /// Cylinders one behind the other, first the one that touches the tail.
    pub steps: Vec<CollarStep>,
}

/// One cylinder of a collar.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CollarStep {
    /// Length along the body.
    pub length: Length,
    /// Diameter.
    pub diameter: Length,
}

/// Meshing.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct MeshSpec {
    /// Greatest distance between a mesh and the true surface; 0.05 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Length>,
}
