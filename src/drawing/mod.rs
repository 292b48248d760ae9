//! Drawings and pictures of what was made, as lists of drawn things and as pixels
//! that know no file format.

mod document;
pub(crate) mod face;
mod gauge;
mod labels;
mod panels;
mod paper;
pub mod picture;
mod sheet;

pub use document::{Leaf, Placed, document};
pub use face::missing;
pub use gauge::gauge_sheet;
pub use panels::pattern_sheet;
pub use paper::{Paper, paper};
pub use sheet::{Align, Mark, Pen, Sheet};
