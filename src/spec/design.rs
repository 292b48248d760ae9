//! A spec that has passed every rule: plain millimetres, every default filled in.

use super::{
    BodyEnd, BoreDesign, End, EyesDesign, FinDesign, KeyShape, LegsDesign, Paper, Parting,
    PocketDesign, RigDesign, Route, SlotDesign, TailDesign, Thread,
};

/// A checked bait design. All lengths in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// Name of the bait.
    pub name: String,
    /// Unit the maker writes and reads.
    pub units: crate::quantity::LengthUnit,
    /// How many times as large as it is drawn the bait is made: the numbers below are those it
    /// is made with.
    pub scale: f64,
    /// The body.
    pub body: BodyDesign,
    /// Collar cylinders behind the tail, first the one that touches it; empty for none.
    pub collar: Vec<CollarDesign>,
    /// Eyes.
    pub eyes: Vec<EyesDesign>,
    /// Slots.
    pub slot: Vec<SlotDesign>,
    /// Bores.
    pub bore: Vec<BoreDesign>,
    /// Pockets.
    pub pocket: Vec<PocketDesign>,
    /// Fins.
    pub fin: Vec<FinDesign>,
    /// Tail behind the body.
    pub tail: Option<TailDesign>,
    /// Legs.
    pub legs: Vec<LegsDesign>,
    /// Sets of ribs, none over another.
    pub ribs: Vec<super::RibsDesign>,
    /// Lathe and paper.
    pub lathe: LatheDesign,
    /// What master and mould are made larger or smaller by; the numbers above are the bait's.
    pub allowances: super::Allowances,
    /// What is cast in or hangs on it, its plastic and its water.
    pub rig: RigDesign,
    /// The mould.
    pub mould: MouldDesign,
    /// The casting day.
    pub cast: super::CastDesign,
    /// Greatest distance between a mesh and the true surface.
    pub tolerance: f64,
}

/// The body's numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyDesign {
    /// Length, nose to tail.
    pub length: f64,
    /// How the nose closes.
    pub nose: End,
    /// How the tail closes.
    pub tail: End,
    /// Height above the spine.
    pub back: Vec<Knot>,
    /// Depth below the spine.
    pub belly: Vec<Knot>,
    /// Half the width.
    pub half_width: Vec<Knot>,
    /// Exponents of the section, by rising `at`; one for the whole body, or more.
    pub section: Vec<super::SectionKnot>,
    /// How the spine bows; `None` for a straight body.
    pub camber: Option<super::CamberDesign>,
    /// What the outlines were measured by, if they were.
    pub measured: Option<super::MeasuredDesign>,
}

/// One knot of an outline: its distance from the axis at one place.
///
/// Knots of one outline have strictly rising `at`, positive heights, and lie
/// within `0..=length`; one lies on an end exactly if that end is flat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Knot {
    /// Distance from the nose.
    pub at: f64,
    /// Distance from the axis, coming from the nose.
    pub before: f64,
    /// Distance from the axis, going on to the tail; differs from `before` at a step.
    pub after: f64,
    /// Whether the outline may turn sharply here (a step always does).
    pub corner: bool,
}

/// One cylinder of the collar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CollarDesign {
    /// Length along the body.
    pub length: f64,
    /// Radius.
    pub radius: f64,
}

/// Numbers of lathe and paper.
#[derive(Clone, Debug, PartialEq)]
pub struct LatheDesign {
    /// The paper.
    pub paper: Paper,
    /// Width of the roll, if the paper is one.
    pub roll: f64,
    /// What prints are enlarged by, across and down the page.
    pub print_scale: [f64; 2],
    /// Diameter or side of the stock at hand; `None`: whatever is needed.
    pub stock: Option<f64>,
    /// Length of the tenon.
    pub tenon: f64,
    /// Waste beyond either end of the work.
    pub waste: f64,
    /// Thickness of the gauges' card.
    pub card: f64,
    /// Width of the cut that gauges and patterns are cut out with.
    pub kerf: f64,
    /// What sanding takes off the surface.
    pub sanding: f64,
    /// Turns of the spindle per minute.
    pub speed: f64,
}

/// The mould's numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct MouldDesign {
    /// How it is made.
    pub route: Route,
    /// Baits side by side in it.
    pub cavities: usize,
    /// From one bait to the next; `None`: as close as their outlines allow.
    pub pitch: Option<f64>,
    /// Bolts through both halves.
    pub bolts: Option<Thread>,
    /// Whether bands hold it together.
    pub bands: bool,
    /// Whether there are notches to pry it open at; `None`: where there is room.
    pub notches: Option<bool>,
    /// The printer's room.
    pub bed: [f64; 3],
    /// Radius of the dowels that join pieces; `None`: the thickest that fit.
    pub dowel_radius: Option<f64>,
    /// Room between a master and its trough.
    pub board_clearance: f64,
    /// Thickness of sheet material.
    pub sheet: f64,
    /// Whether the walls of pour boxes are cut from it.
    pub sheet_walls: bool,
    /// Width of a cut in it.
    pub kerf: f64,
    /// Shape of the keys.
    pub key_shape: KeyShape,
    /// Radius of an injector's tip, if there is one.
    pub nozzle_radius: Option<f64>,
    /// Time in which the shot should run in, in seconds.
    pub fill: Option<f64>,
    /// The plane it opens along.
    pub parting: Parting,
    /// Whether the other plane may be taken if it opens better: the spec names none, and
    /// nothing in it needs this one.
    pub parting_free: bool,
    /// Least material over the body.
    pub wall: f64,
    /// Number of keys; `None`: four, and more on a large block.
    pub key_count: Option<usize>,
    /// Whether the parting face may step aside for fins that stand out of the waist.
    pub steps: bool,
    /// Key radius at the parting face.
    pub key_radius: f64,
    /// Key height.
    pub key_height: f64,
    /// Gap between key and socket.
    pub key_clearance: f64,
    /// End the sprue is at.
    pub sprue_end: BodyEnd,
    /// Radius of the neck where it meets the body; `None`: as the body allows, 0.5 to 2 mm.
    pub gate_radius: Option<f64>,
    /// Radius of the funnel at the block's face.
    pub mouth_radius: f64,
    /// Depth of the funnel.
    pub funnel_depth: f64,
    /// Number of vents; `None`: two, or as many of them as the body has room for.
    pub vent_count: Option<usize>,
    /// Vent width across the parting face.
    pub vent_width: f64,
    /// Vent depth, both halves together.
    pub vent_depth: f64,
    /// Seats for what is cast in.
    pub seats: SeatsDesign,
}

/// Seats for what is cast in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeatsDesign {
    /// Whether the wire is seated where it leaves the body; `None`: where it can be.
    pub wire: Option<bool>,
    /// Whether the hook is; `None`: where it can be.
    pub hook: Option<bool>,
    /// Whether weights stand on pins; `None`: where they can be reached.
    pub weights: Option<bool>,
    /// Whether there is room for a skirt that is cast in.
    pub skirt: bool,
    /// Gap round what is held.
    pub clearance: f64,
    /// Radius of a pin at its tip; `None`: as stout as its length asks for.
    pub pin_radius: Option<f64>,
}

impl Default for SeatsDesign {
    fn default() -> Self {
        SeatsDesign {
            wire: None,
            hook: None,
            weights: None,
            skirt: false,
            clearance: 0.1,
            pin_radius: None,
        }
    }
}

impl Design {
    /// The mould's cavity over the bait: a printed one allows for plastic and print, one of
    /// silicone for plastic and silicone.
    pub fn mould_scale(&self) -> f64 {
        match self.mould.route {
            Route::Block => self.allowances.cavity_scale(),
            Route::Boxes | Route::Board => self.allowances.pattern_scale(),
        }
    }
}

impl Default for MouldDesign {
    /// What a spec that says nothing of its mould comes to.
    fn default() -> Self {
        MouldDesign {
            route: Route::Block,
            cavities: 1,
            pitch: None,
            bolts: None,
            bands: false,
            notches: None,
            bed: [220.0, 220.0, 250.0],
            dowel_radius: None,
            board_clearance: 0.2,
            sheet: 4.0,
            sheet_walls: false,
            kerf: 0.2,
            key_shape: KeyShape::Cone,
            nozzle_radius: None,
            fill: None,
            parting: Parting::Flank,
            parting_free: true,
            wall: 9.5,
            key_count: None,
            steps: true,
            key_radius: 3.0,
            key_height: 4.0,
            key_clearance: 0.2,
            sprue_end: BodyEnd::Nose,
            gate_radius: None,
            mouth_radius: 8.0,
            funnel_depth: 12.0,
            vent_count: None,
            vent_width: 1.5,
            vent_depth: 0.5,
            seats: SeatsDesign::default(),
        }
    }
}

/// Radius at the top of a key, as a share of that at its foot.
pub(crate) const KEY_TAPER: f64 = 0.6;
/// Least material between a socket and the outside of the block, and between a socket and
/// the cavity (common practice: a few print lines).
pub(crate) const KEY_LAND: f64 = 1.5;
/// Least material over a key, where its socket ends within the half (reasoned).
const OVER_KEY: f64 = 2.0;

/// Radius of the ball that a cap of this radius and height is cut from.
pub(crate) fn cap_radius(radius: f64, height: f64) -> f64 {
    (radius * radius + height * height) / (2.0 * height)
}

/// Radius at the parting face of the socket for a key: the key moved out by the clearance,
/// square to its surface. For a bar, half its width.
pub(crate) fn socket_radius(
    shape: KeyShape,
    key_radius: f64,
    key_height: f64,
    clearance: f64,
) -> f64 {
    match shape {
        KeyShape::Cone | KeyShape::Bar => {
            let lean = (1.0 - KEY_TAPER) * key_radius / key_height;
            key_radius + clearance * (1.0 + lean * lean).sqrt()
        }
        KeyShape::Dome => {
            let ball = cap_radius(key_radius, key_height);
            let (middle, ball) = (key_height - ball, ball + clearance);
            (ball * ball - middle * middle).sqrt()
        }
    }
}

/// The thinnest wall that holds such keys: beside the body as well as under them.
pub(crate) fn wall_for_keys(
    shape: KeyShape,
    key_radius: f64,
    key_height: f64,
    clearance: f64,
) -> f64 {
    let beside = 2.0 * (socket_radius(shape, key_radius, key_height, clearance) + KEY_LAND);
    beside.max(key_height + clearance + OVER_KEY)
}
