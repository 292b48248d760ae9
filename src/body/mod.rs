//! The bait's body: three outlines and a section, and its exact figures.

mod feature;
mod figures;
mod ground;
mod master;
mod place;
mod round;
mod shape;
mod skin;

pub use figures::Figures;
pub use master::{Master, MasterError, Thinnest};
pub use place::Place;
pub use round::NotRound;
pub use shape::Body;
pub use skin::{MOST_TRIANGLES, TooFine};
