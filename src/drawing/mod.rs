//! Drawings and pictures of what was made, as lists of drawn things and as pixels
//! that know no file format.

mod gauge;
mod labels;
mod panels;
pub mod picture;
mod sheet;

pub use gauge::gauge_sheet;
pub use panels::pattern_sheet;
pub use sheet::{Align, Mark, Pen, Sheet};
