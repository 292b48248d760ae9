//! Baitwright.

pub mod mesh;
pub mod quantity;
pub mod spec;
