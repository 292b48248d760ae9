//! Checked numbers of eyes, slots, bores and pockets. Lengths in millimetres, angles in
//! degrees from the back round the left side.

use super::{Edge, Making};

/// A pair of eyes; a single one where the angle is 0 or 180.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EyesDesign {
    /// Distance from the nose.
    pub at: f64,
    /// Angle round the body.
    pub angle: f64,
    /// Radius of the ball, the recess's floor, the ring's inside or the drill.
    pub radius: f64,
    /// Depth below the surface; 0 for a ring round nothing.
    pub depth: f64,
    /// What stands or is sunk there.
    pub shape: EyeShape,
}

/// What an eye is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EyeShape {
    /// A socket in the shape of a ball.
    Ball,
    /// A flat-bottomed recess.
    Flat,
    /// A raised ring.
    Ring {
        /// Width across the bead.
        width: f64,
        /// Height over the body.
        height: f64,
    },
    /// A dimple to drill at.
    Mark,
}

/// A slot in the upright mid-plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlotDesign {
    /// Back or belly.
    pub side: Edge,
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// Width across.
    pub width: f64,
    /// Depth below the surface.
    pub depth: f64,
    /// Cast in, or marked.
    pub how: Making,
}

/// A straight bore.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoreDesign {
    /// Radius.
    pub radius: f64,
    /// One end, [x, y, z]; `None`: on the axis, out of the nose.
    pub from: Option<[f64; 3]>,
    /// The other end; `None`: on the axis, out of the tail.
    pub to: Option<[f64; 3]>,
    /// Cast in, or marked.
    pub how: Making,
}

/// A recess.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PocketDesign {
    /// Distance from the nose.
    pub at: f64,
    /// Angle round the body.
    pub angle: f64,
    /// Length along the body and width across, at the floor; equal if round.
    pub size: [f64; 2],
    /// Round rather than rectangular.
    pub round: bool,
    /// Depth below the surface.
    pub depth: f64,
    /// Cast in, or marked.
    pub how: Making,
}
