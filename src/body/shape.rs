//! From a checked design to a body.

use super::ribs;
use crate::curve::{Course, Outline, Section};
use crate::mesh::Mesh;
use crate::mesh::slice::Sliced;
use crate::spec::{CamberDesign, CollarDesign, Design, End, RibsDesign, SectionKnot};

/// A bait's body, and the collar that stands behind it on the master.
///
/// At every x the section is bounded by (|y|/w)ⁿ + (|z − c|/h)ⁿ = 1, with c the rise of
/// the spine, w the half-width, h the height of the back (z ≥ c) or the depth of the
/// belly (z ≤ c), and n the exponent of that half. On a straight body c is zero.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// Height above the spine.
    pub back: Outline,
    /// Depth below the spine.
    pub belly: Outline,
    /// Half the width.
    pub half_width: Outline,
    /// Shape of the section.
    pub section: Section,
    /// Rise of the spine over the axis; `None` for a straight body. Sections stay upright
    /// planes, so that a camber moves them without changing them.
    pub camber: Option<Course>,
    /// How the nose closes.
    pub nose: End,
    /// How the tail closes.
    pub tail: End,
    /// Round cylinders behind the tail, a core print; empty for none.
    pub collar: Vec<CollarDesign>,
    /// The ribs that are in the outlines.
    pub ribs: Vec<RibsDesign>,
    /// The mesh of a master that was read from a file. It is the body; the outlines are no more
    /// than its envelope.
    pub scan: Option<Sliced>,
}

impl Body {
    /// The body of a checked design.
    pub fn from_design(design: &Design) -> Self {
        let b = &design.body;
        let plain = [&b.back, &b.belly, &b.half_width]
            .map(|knots| Outline::through(knots, b.length, b.nose, b.tail));
        let knots: Vec<f64> = plain.iter().flat_map(|o| o.knots()).collect();
        let lifts = ribs::lifts(&design.ribs, &knots);
        let [back, belly, half_width] = plain.map(|o| o.lifted(&lifts));
        Body {
            back,
            belly,
            half_width,
            section: match b.section.as_slice() {
                [one] if one.back == one.belly => Section::new(one.back),
                stations => {
                    let course = |n: fn(&SectionKnot) -> f64| {
                        let points: Vec<[f64; 2]> = stations.iter().map(|s| [s.at, n(s)]).collect();
                        Course::levelling(&points)
                    };
                    Section::along(course(|s| s.back), course(|s| s.belly))
                }
            },
            camber: b.camber.as_ref().map(|camber| match camber {
                CamberDesign::Bow(rise) => Course::bow(b.length, *rise),
                CamberDesign::Stations(points) => Course::through(points),
            }),
            nose: b.nose,
            tail: b.tail,
            collar: design.collar.clone(),
            ribs: design.ribs.clone(),
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
            camber: None,
            nose,
            tail,
            collar: Vec::new(),
            ribs: Vec::new(),
            scan: None,
        }
    }

    /// Length from nose to tail, without the collar.
    pub fn length(&self) -> f64 {
        self.back.length()
    }

    /// Length of the collar behind the tail; zero for none.
    pub fn collar_length(&self) -> f64 {
        // An empty sum of floats is −0.
        self.collar.iter().fold(0.0, |sum, c| sum + c.length)
    }

    /// The body enlarged in all directions about the nose, collar and ribs with it.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        if factor == 1.0 {
            return self.clone();
        }
        Body {
            back: self.back.scaled(factor),
            belly: self.belly.scaled(factor),
            half_width: self.half_width.scaled(factor),
            section: self.section.scaled(factor),
            camber: self.camber.as_ref().map(|c| c.scaled(factor, factor)),
            nose: self.nose,
            tail: self.tail,
            collar: self
                .collar
                .iter()
                .map(|c| CollarDesign {
                    length: c.length * factor,
                    radius: c.radius * factor,
                })
                .collect(),
            ribs: self
                .ribs
                .iter()
                .map(|r| RibsDesign {
                    from: r.from * factor,
                    to: r.to * factor,
                    pitch: r.pitch * factor,
                    rise: r.rise * factor,
                    fade: r.fade * factor,
                    profile: r.profile,
                })
                .collect(),
            scan: self
                .scan
                .as_ref()
                .map(|scan| Sliced::new(scan.mesh().clone().scaled(factor))),
        }
    }
}
