//! Baitwright.

pub mod drawing;
pub mod export;
pub mod mesh;
pub mod quantity;
pub mod spec;
