//! What the maker writes: structs, reading, and every rule.

mod design;
mod model;
mod problem;

pub use design::*;
pub use model::*;
pub use problem::*;
