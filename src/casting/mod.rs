//! The casting day: materials, amounts, heat, flow, clamping, and the order of work.
pub mod amounts;
pub mod clamp;
pub mod conduct;
mod day;
pub mod flow;
pub mod schedule;
pub mod sheet;

pub use day::*;
