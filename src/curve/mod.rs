//! Outlines of a body and the shape of its sections.
//!
//! An [`Outline`] is the distance of the surface from the body's axis as a
//! function of x, made of cubic pieces. Its pieces are polynomials, so that
//! areas, volumes and moments are exact by Gauss–Legendre quadrature and the
//! outline converts to Bézier curves without loss. A [`Section`] is the
//! superelliptic shape that three outlines (back, belly, half-width) stretch.

mod course;
mod fit;
mod lift;
mod outline;
mod quadrature;
mod section;
mod spline;

pub use course::Course;
pub use fit::FitError;
pub(crate) use lift::Lift;
pub use outline::{Break, Outline};
pub use quadrature::{integrate, integrate_within};
pub use section::Section;
