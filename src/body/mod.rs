//! The bait's body: three outlines and a section, and its exact figures.

mod figures;
mod shape;

pub use figures::Figures;
pub use shape::Body;
