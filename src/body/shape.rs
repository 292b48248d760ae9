//! From a checked design to a body.

use crate::curve::{Outline, Section};
use crate::spec::{CollarDesign, Design, End};

/// A bait's body, and the collar that stands behind it on the master.
///
/// At every x the section is bounded by (|y|/w)ⁿ + (|z|/h)ⁿ = 1, with w the
/// half-width, h the height of the back (z ≥ 0) or the depth of the belly (z ≤ 0), and
/// n the section's exponent.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// Height above the axis.
    pub back: Outline,
    /// Depth below the axis.
    pub belly: Outline,
    /// Half the width.
    pub half_width: Outline,
    /// Shape of the section.
    pub section: Section,
    /// How the nose closes.
    pub nose: End,
    /// How the tail closes.
    pub tail: End,
    /// Round cylinders behind the tail, a core print; empty for none.
    pub collar: Vec<CollarDesign>,
}

impl Body {
    /// The body of a checked design.
    pub fn from_design(design: &Design) -> Self {
        let b = &design.body;
        let outline = |knots| Outline::through(knots, b.length, b.nose, b.tail);
        Body {
            back: outline(&b.back),
            belly: outline(&b.belly),
            half_width: outline(&b.half_width),
            section: Section::new(b.exponent),
            nose: b.nose,
            tail: b.tail,
            collar: design.collar.clone(),
        }
    }

    /// A body of revolution about the x axis.
    pub fn revolved(radius: Outline, nose: End, tail: End) -> Self {
        Body {
            back: radius.clone(),
            belly: radius.clone(),
            half_width: radius,
            section: Section::new(2.0),
            nose,
            tail,
            collar: Vec::new(),
        }
    }

    /// Length from nose to tail, without the collar.
    pub fn length(&self) -> f64 {
        self.back.length()
    }

    /// Length of the collar behind the tail; zero for none.
    pub fn collar_length(&self) -> f64 {
        self.collar.iter().map(|c| c.length).sum()
    }
}
