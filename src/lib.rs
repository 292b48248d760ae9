//! Baitwright.

pub mod body;
pub mod curve;
pub mod mesh;
pub mod mould;
pub mod quantity;
pub mod spec;
