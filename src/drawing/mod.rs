//! Drawings and pictures of what was made.

pub mod picture;
