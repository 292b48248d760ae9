//! The casting day, checked.

use crate::materials::{Known, Material, mixture};

/// What a casting day goes by. Temperatures in °C, volumes in ml, shares as fractions of one.
#[derive(Clone, Debug, PartialEq)]
pub struct CastDesign {
    /// Good baits that are wanted.
    pub baits: usize,
    /// Moulds that take turns.
    pub moulds: usize,
    /// What the baits are cast of.
    pub plastic: Material,
    /// What a silicone mould is poured of.
    pub silicone: Material,
    /// What a printed block's halves are of.
    pub block: Material,
    /// Share of baits that come out badly.
    pub scrap: f64,
    /// Share of sprues and bad baits that is melted again.
    pub remelt: f64,
    /// Share of silicone and plastic that stays in cups.
    pub waste: f64,
    /// Temperature it is poured at, with its source.
    pub pour: Known<f64>,
    /// Temperature it is pulled at, with its source.
    pub pull: Known<f64>,
    /// Temperature of the room.
    pub room: f64,
    /// What the injector holds.
    pub injector: Option<f64>,
    /// What the vacuum container holds.
    pub container: Option<f64>,
    /// Name, parts to 100 of plastic by weight, and density of what goes into it; that of the
    /// plastic if it is not known.
    pub additives: Vec<(String, f64, Option<f64>)>,
}

impl CastDesign {
    /// Density of the plastic with everything in it, in g/cm³.
    #[must_use]
    pub fn density(&self) -> f64 {
        // The rules see to it that every material has one.
        let plain = self.plastic.density.as_ref().map_or(1.0, |d| d.value);
        let added = self.additives.iter();
        let added = added.map(|(_, parts, density)| (*parts, density.unwrap_or(plain)));
        mixture([(100.0, plain)].into_iter().chain(added))
    }
}
