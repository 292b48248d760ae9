//! What a turner works by: the half profile of a round body and its stations.

mod gauge;

pub use crate::body::NotRound;
pub use gauge::{Gauge, GaugeStation, Place};
