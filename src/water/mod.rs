//! How a bait hangs and sinks: water, buoyancy, drag.
//!
//! Everything here is a pure function of plain structs; nothing knows of specs or kits.
//!
//! - [`Water`]: density and viscosity from salinity and temperature;
//! - [`Balance`] and [`Hang`]: weights, buoyancy, the angle at rest and how strongly it is held;
//! - [`drag`]: spheres, skin friction, bodies lying across the flow;
//! - [`added_mass`]: the water a body carries with it;
//! - [`Form`] and [`Sinker`]: a hull's measures, its terminal speed and attitude as a [`Band`],
//!   and the time to a depth.
//!
//! # Units and signs
//! Millimetres, grams, seconds, degrees Celsius; densities in g/ml; forces in g·mm/s², which are
//! micronewtons; angles in degrees, **nose down positive**. Axes are those of the body: x from nose
//! to tail, y left, z up.
//!
//! ```
//! use baitwright::water::{Balance, Part, Water};
//! use nalgebra::Point3;
//! let water = Water::fresh(20.0);
//! // A body of 17.2 ml and 1.06 g/ml with 2 g of lead low in its nose, which keeps plastic out.
//! let body = Part { mass: 1.06 * 17.2, centre: Point3::new(38.3, 0.0, 0.0) };
//! let lead = Part { mass: 2.0 * (1.0 - 1.06 / 11.34), centre: Point3::new(20.0, 0.0, -6.0) };
//! let balance = Balance::of(&[body, lead], 17.2e3, Point3::new(38.3, 0.0, 0.0)).unwrap();
//! let hang = balance.free().unwrap();
//! assert!(hang.nose_down > 70.0 && balance.net(&water) > 0.0);
//! ```

mod added;
pub mod drag;
mod fluid;
mod form;
mod hang;
mod sink;

pub use added::{AddedMass, added_mass};
pub use fluid::{SALINITY, TEMPERATURE, Water};
pub use form::{Allowance, Form};
pub use hang::{Balance, Hang, Part};
pub use sink::{Band, Case, Fall, Motion, Sinker, Spread};

/// Standard gravity, in mm/s².
///
/// # References
/// 9.80665 m/s² exactly: NIST SP 811 (2008), appendix B.8.
pub const GRAVITY: f64 = 9806.65;
