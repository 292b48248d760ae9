//! The casting day: amounts, heat, flow, clamping, the order of work, and the sheet it stands on.
//!
//! [`Day::of`] puts it all together for one design; each part can be used by itself:
//! ```
//! use baitwright::casting::conduct::{Series, Shape, Surface};
//! // A rod of 20 mm, α 0.1 mm²/s, from 170 to 60 °C in a wall that stays at 20 °C: 310 s.
//! let fourier = Series::new(Shape::Cylinder, Surface::Held).fourier(40.0 / 150.0);
//! assert!((fourier * 10.0 * 10.0 / 0.1 - 310.0).abs() < 0.1);
//! ```
//!
//! What is reckoned here is no licence to do it: temperatures carry their source, and the data
//! sheets of plastic, silicone and resin come before all of it.
pub mod amounts;
mod beside;
pub mod clamp;
pub mod conduct;
mod day;
pub mod flow;
pub mod schedule;
pub mod sheet;

pub use beside::BesideAmount;
pub use day::*;
