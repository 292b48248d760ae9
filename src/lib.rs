//! Baitwright.

pub mod body;
pub mod curve;
pub mod drawing;
pub mod export;
pub mod kit;
pub mod lathe;
pub mod mesh;
pub mod mould;
pub mod quantity;
pub mod spec;
