//! What the maker writes about the mould.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::Length;

/// The mould.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct MouldSpec {
    /// How the mould is made.
    pub route: Route,
    /// The plane the mould opens along; if left out, the one with the shallower undercut,
    /// the flank where both are alike.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parting: Option<Parting>,
    /// Least material over the body on every side; 9.5 mm if left out (common practice).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wall: Option<Length>,
    /// How many baits one mould casts, side by side; 1 if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cavities: Option<u32>,
    /// From one bait to the next; left out, as close as their outlines allow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pitch: Option<Length>,
    /// Bolts through both halves at the corners, by their ISO metric thread.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bolts: Option<Thread>,
    /// Grooves round a printed block for rubber bands; for silicone, backing plates with notches.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub bands: bool,
    /// Notches to pry a printed block open at; left out, wherever there is room.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub notches: Option<bool>,
    /// The printer's room in x, y and z; 220, 220 and 250 mm if left out (common practice).
    /// What is larger is printed in pieces with bores for dowels.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bed: Option<[Length; 3]>,
    /// Diameter of the dowels that join the pieces; 4, 3 or 2 mm, as fits, if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dowel: Option<Length>,
    /// Registration keys.
    pub keys: KeySpec,
    /// The channel the plastic enters by.
    pub sprue: SprueSpec,
    /// The channels the air leaves by, at the end away from the sprue.
    pub vents: VentSpec,
    /// What holds wire, hook and weights while the plastic is poured.
    pub seats: SeatSpec,
    /// The bedding board.
    pub board: BoardSpec,
    /// The sheet material that walls and backing plates are cut from.
    pub sheet: SheetSpec,
    /// Other baits that are cast in the same mould, which is made as this spec says.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub beside: Vec<BesideSpec>,
}

/// Another bait in the same mould.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BesideSpec {
    /// The bait's own spec, of which the body and its features count; a relative name is looked
    /// for beside this spec. The library reads no files: see
    /// [`Kit::build_beside`](crate::kit::Kit::build_beside).
    pub spec: String,
    /// How many of it; 1 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
}

/// How the mould is made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Route {
    /// Two rigid halves are printed and cast in.
    #[default]
    Block,
    /// Two open boxes are printed; silicone poured into each is one half.
    Boxes,
    /// A board is printed that the master lies in up to its parting line, for two pours of
    /// silicone in a frame.
    Board,
}

/// A metric bolt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[allow(missing_docs)]
pub enum Thread {
    M3,
    M4,
    M5,
    M6,
    M8,
    M10,
}

/// Seats in the halves for what is cast in. Wire, hook and weights are left out or get theirs
/// wherever it can be had, and a note where it cannot; `true` insists.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct SeatSpec {
    /// Grooves for the wire and its eyes where they leave the body; `false` for a bait that is
    /// threaded afterwards.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wire: Option<bool>,
    /// A groove along the hook where it stands out of the body.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hook: Option<bool>,
    /// Pins that hold each weight off the skin, but for one that is strung on a seated wire.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weights: Option<bool>,
    /// Room for a skirt that is cast in, gathered behind the tail or the collar. Skirts are usually pulled on
    /// afterwards (common practice), so there is none unless it is asked for.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub skirt: bool,
    /// Gap round what is held; left out, 0.1 mm in a printed block, none in silicone, which
    /// grips.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance: Option<Length>,
    /// Diameter of a pin at its tip; left out, 1.2 mm, more where it is long.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pin: Option<Length>,
}

/// The bedding board.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct BoardSpec {
    /// Room between the master and its trough, square to the surface; 0.2 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance: Option<Length>,
}

/// Sheet material, cut along the lines of a pattern.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct SheetSpec {
    /// Thickness; 4 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thickness: Option<Length>,
    /// Width of the cut, half of it taken from the part; 0.2 mm if left out (a laser's,
    /// common practice).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kerf: Option<Length>,
    /// Whether the walls of pour boxes are cut from it: only their floors are printed then.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub walls: bool,
}

/// What the mould opens along.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Parting {
    /// The upright mid-plane y = 0: a left and a right half.
    #[default]
    Flank,
    /// The flat plane z = 0, on a cambered body the ruled face through its spine, with steps to fins out of it: a back and a
    /// belly half.
    Waist,
}

/// Registration keys. Defaults are common practice.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct KeySpec {
    /// What they look like.
    pub shape: KeyShape,
    /// How many, four or more, 0 for none at all; if left out 4, more on a large block: no two neighbours stand
    /// farther apart than 120 mm then.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// Diameter at the parting face; 6 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Length>,
    /// Height above the parting face; 4 mm if left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Gap between key and socket, on every side; left out, 0.2 mm where both are printed and
    /// none where both are silicone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance: Option<Length>,
}

/// What a registration key looks like.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum KeyShape {
    /// A blunt cone.
    #[default]
    Cone,
    /// A round cap, highest in the middle.
    Dome,
    /// A bar with sloping sides, twice as long as wide, along the block.
    Bar,
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
    /// Diameter of an injector's tip: the sprue gets a conical seat for it instead of a funnel.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nozzle: Option<Length>,
    /// Time in which the shot should run in, in seconds: the least gate for it is used where
    /// none is written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fill: Option<f64>,
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
