//! What a turner works by: the half profile of a round body and its stations, the blank and
//! the order of cuts; and strips that put marks at their angles on any body.

mod blank;
mod gauge;
mod strips;
mod turned;

pub use crate::body::NotRound;
pub(crate) use blank::up_to_step;
pub use blank::{Blank, surface_speed};
pub use gauge::{Gauge, GaugeStation, Place};
pub(crate) use strips::root_of;
pub use strips::{IndexStrip, StripMark, index_strips};
pub use turned::general_tolerance;
