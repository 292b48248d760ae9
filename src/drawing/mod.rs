//! Figures and sheets, as lists of drawn things that know no file format.

mod gauge;
mod labels;
mod sheet;

pub use gauge::gauge_sheet;
pub use sheet::{Align, Mark, Pen, Sheet};
