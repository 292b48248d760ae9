//! How fast a cast body cools: transient conduction in one direction.
//!
//! Two ways to the same answer. [`Series`] is exact for a slab, a cylinder or a sphere of one
//! material in surroundings that stay as they are: what the other is judged by.
//! [`Casting`] follows the body, the wall of its mould and the air outside cell by cell
//! (finite volumes), from shot to shot: what a real mould does.
//!
//! # Units
//! Conductivity in W/(m K), density in g/cm³, specific heat in J/(g K): so diffusivity
//! k/(ρc) comes out in mm²/s. Lengths in mm, times in s, temperatures in °C.

mod fv;
mod series;

pub use fv::{Casting, Cooled, Outside, Wall};
pub use series::{Series, Surface};

use std::f64::consts::{FRAC_PI_2, PI};

/// The direction heat leaves by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Between two faces; measured from the middle.
    Slab,
    /// From an axis outwards.
    Cylinder,
    /// From a point outwards.
    Sphere,
}

/// What conduction asks of a material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thermal {
    /// Conductivity, W/(m K).
    pub conductivity: f64,
    /// Density, g/cm³.
    pub density: f64,
    /// Specific heat, J/(g K).
    pub heat: f64,
}

impl Thermal {
    /// Diffusivity k/(ρc), mm²/s.
    #[must_use]
    pub fn diffusivity(&self) -> f64 {
        self.conductivity / self.capacity()
    }

    /// Heat that a volume takes up, J/(cm³ K).
    #[must_use]
    pub fn capacity(&self) -> f64 {
        self.density * self.heat
    }

    /// Effusivity √(kρc), W s½/(m² K).
    #[must_use]
    pub fn effusivity(&self) -> f64 {
        (self.conductivity * self.capacity() * 1e6).sqrt()
    }
}

/// Temperature of the face where two bodies have just met, °C, as long as neither has
/// cooled through: (e₁T₁ + e₂T₂)/(e₁ + e₂) with the effusivities e.
#[must_use]
pub fn contact(hot: &Thermal, hot_at: f64, cold: &Thermal, cold_at: f64) -> f64 {
    let (a, b) = (hot.effusivity(), cold.effusivity());
    (a * hot_at + b * cold_at) / (a + b)
}

/// Radius of the cylinder that cools as slowly as a long body of elliptic section, given
/// its full height and width, in mm: that of equal first eigenvalue under a cold wall.
///
/// Exact for a circle and for a section that is endlessly wide (a slab); within 1 % between.
///
/// # References
/// Expansion for a thin ellipse: Borisov and Freitas, Ann. Inst. H. Poincaré (C) 26 (2009)
/// 547 (from memory); its last term here is what makes the circle exact.
#[must_use]
pub fn as_cylinder(height: f64, width: f64) -> f64 {
    const J0: f64 = 2.404_825_557_695_773;
    let (b, a) = (0.5 * height.min(width), 0.5 * height.max(width));
    let s = if a > 0.0 { b / a } else { 1.0 };
    let cubic = 11.0 / (8.0 * PI) + PI / 12.0;
    let known = FRAC_PI_2 * FRAC_PI_2 + FRAC_PI_2 * s + 0.75 * s * s + cubic * s * s * s;
    let last = J0 * J0 - FRAC_PI_2 * FRAC_PI_2 - FRAC_PI_2 - 0.75 - cubic;
    b * J0 / (known + last * s * s * s * s).sqrt()
}

#[cfg(test)]
mod tests;
