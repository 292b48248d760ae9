//! A spec that has passed every rule: plain millimetres, every default filled in.

use super::{BodyEnd, End, Parting};

/// A checked bait design. All lengths in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// Name of the bait.
    pub name: String,
    /// Unit the maker writes and reads.
    pub units: crate::quantity::LengthUnit,
    /// The body.
    pub body: BodyDesign,
    /// Collar cylinders behind the tail, first the one that touches it; empty for none.
    pub collar: Vec<CollarDesign>,
    /// Eye sockets.
    pub eyes: Vec<EyesDesign>,
    /// Sets of ribs, none over another.
    pub ribs: Vec<super::RibsDesign>,
    /// What master and mould are made larger or smaller by; the numbers above are the bait's.
    pub allowances: super::Allowances,
    /// The mould.
    pub mould: MouldDesign,
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

/// A pair of eye sockets; a single one where the angle is 0 or 180.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EyesDesign {
    /// Distance from the nose.
    pub at: f64,
    /// Degrees from the back round the left side.
    pub angle: f64,
    /// Radius of the ball.
    pub radius: f64,
    /// Depth below the surface.
    pub depth: f64,
}

/// The mould's numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct MouldDesign {
    /// The plane it opens along.
    pub parting: Parting,
    /// Least material over the body.
    pub wall: f64,
    /// Number of keys.
    pub key_count: usize,
    /// Key radius at the parting face.
    pub key_radius: f64,
    /// Key height.
    pub key_height: f64,
    /// Gap between key and socket.
    pub key_clearance: f64,
    /// End the sprue is at.
    pub sprue_end: BodyEnd,
    /// Radius of the neck where it meets the body; `None`: as the body allows, at most 2 mm.
    pub gate_radius: Option<f64>,
    /// Radius of the funnel at the block's face.
    pub mouth_radius: f64,
    /// Depth of the funnel.
    pub funnel_depth: f64,
    /// Number of vents.
    pub vent_count: usize,
    /// Vent width across the parting face.
    pub vent_width: f64,
    /// Vent depth, both halves together.
    pub vent_depth: f64,
}
