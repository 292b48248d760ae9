//! The bait's body: three outlines and a section, and its exact figures.

mod figures;
mod shape;
mod skin;

pub use figures::Figures;
pub use shape::Body;
pub use skin::{MOST_TRIANGLES, TooFine};
