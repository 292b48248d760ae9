//! The bait's body: three outlines and a section, and its exact figures.

mod allowance;
pub(crate) use allowance::inset;
mod coats;
mod feature;
mod figures;
mod girth;
mod ground;
mod master;
mod overlap;
mod place;
mod ribs;
mod round;
mod shape;
mod skin;
mod sprue;

#[cfg(test)]
mod tests;

pub(crate) use feature::{FinPlane, NO_WAY, USUAL_GATE, WAY, at_most, fork_outline, paired_planes};
pub use figures::Figures;
pub use master::{Master, MasterError, Thinnest};
pub use place::Place;
pub use round::NotRound;
pub use shape::Body;
pub use skin::{MOST_TRIANGLES, TooFine};
pub(crate) use sprue::foremost;
