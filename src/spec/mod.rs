//! What the maker writes: structs, reading, and every rule.
//!
//! ```text
//! text --read--> Source { spec } --from_spec--> Design
//!   \________________ design ________________/
//! ```
//!
//! [`read()`] and [`design()`] do not stop at the first mistake: they list everything that is
//! wrong, each [`Problem`] with its line, column, field path, value, limit and hint.

mod cast;
mod design;
mod inserts;
mod limbs;
mod model;
mod part;
mod problem;
mod read;
mod rig;
mod rules;
mod schema;
mod slips;
mod structure;
mod text;
mod tree;
mod trunk;

#[cfg(test)]
mod tests;

pub use cast::*;
pub use design::*;
pub use inserts::*;
pub use limbs::*;
pub use model::*;
pub(crate) use part::entry_of;
pub use problem::*;
pub use read::*;
pub use rig::*;
pub(crate) use rules::scale_of;
pub use schema::*;
pub use trunk::*;
