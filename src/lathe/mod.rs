//! What a turner works by: the half profile of a round body and its stations.

mod gauge;
mod round;

pub use gauge::{Gauge, GaugeStation, Place};
pub use round::NotRound;
