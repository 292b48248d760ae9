//! From a checked design to a body.

use crate::curve::{Outline, Section};
use crate::mesh::Mesh;
use crate::mesh::slice::Sliced;
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
    /// The mesh of a master that was read from a file. It is the body; the outlines are no more
    /// than its envelope.
    pub scan: Option<Sliced>,
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
            scan: None,
        }
    }

    /// The body of a design [around](Design::around) a master from a file: a mesh in the
    /// body's axes that passes [`Mesh::check`].
    pub fn imported(design: &Design, mesh: Mesh) -> Self {
        Body {
            scan: Some(Sliced::new(mesh)),
            ..Body::from_design(design)
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
            scan: None,
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
