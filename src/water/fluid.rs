//! Density and viscosity of fresh, brackish and sea water.

use std::ops::RangeInclusive;

/// Temperatures the equations here are made for, in °C.
pub const TEMPERATURE: RangeInclusive<f64> = 0.0..=40.0;
/// Practical salinities the equations here are made for.
pub const SALINITY: RangeInclusive<f64> = 0.0..=42.0;

/// Grams of salt a kilogram of standard sea water, for each unit of practical salinity.
///
/// # References
/// F. J. Millero et al., "The composition of standard seawater and the definition of the
/// reference-composition salinity scale", Deep-Sea Research I 55, 2008: 35.16504 / 35.
const GRAMS_A_UNIT: f64 = 35.165_04 / 35.0;

/// Water at the pressure of the air: at 10 m of depth sea water is denser by no more than 0.005 %.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Practical salinity: grams of salt a kilogram, nearly; 0 is fresh, 35 the open sea.
    pub salinity: f64,
    /// Temperature, in °C.
    pub temperature: f64,
}

impl Water {
    /// Fresh water.
    #[must_use]
    pub const fn fresh(temperature: f64) -> Self {
        Water {
            salinity: 0.0,
            temperature,
        }
    }

    /// Water of the open sea, of practical salinity 35.
    #[must_use]
    pub const fn sea(temperature: f64) -> Self {
        Water {
            salinity: 35.0,
            temperature,
        }
    }

    /// Density, in g/ml. Outside [`TEMPERATURE`] and [`SALINITY`] that of the nearest limit.
    ///
    /// # References
    /// EOS-80 at atmospheric pressure: N. P. Fofonoff, R. C. Millard, "Algorithms for computation of
    /// fundamental properties of seawater", UNESCO Technical Papers in Marine Science 44, 1983.
    #[must_use]
    pub fn density(&self) -> f64 {
        let (s, t90) = self.clamped();
        // The equation is in degrees of the scale of 1968.
        let t = 1.000_24 * t90;
        let pure = poly(
            t,
            &[
                999.842_594,
                6.793_952e-2,
                -9.095_290e-3,
                1.001_685e-4,
                -1.120_083e-6,
                6.536_332e-9,
            ],
        );
        let a = poly(
            t,
            &[8.244_93e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9],
        );
        let b = poly(t, &[-5.724_66e-3, 1.0227e-4, -1.6546e-6]);
        (pure + a * s + b * s * s.sqrt() + 4.8314e-4 * s * s) / 1000.0
    }

    /// Dynamic viscosity, in Pa·s (which is g/(mm·s)). Outside [`TEMPERATURE`] and
    /// [`SALINITY`] that of the nearest limit.
    ///
    /// # References
    /// Pure water at 0.1 MPa: J. Pátek et al., "Reference correlations for thermophysical properties of
    /// liquid water at 0.1 MPa", Journal of Physical and Chemical Reference Data 38, 2009. Salt: M. H. Sharqawy,
    /// J. H. Lienhard, S. M. Zubair, "Thermophysical properties of seawater", Desalination and
    /// Water Treatment 16, 2010, equation 22.
    #[must_use]
    pub fn viscosity(&self) -> f64 {
        let (s, t) = self.clamped();
        let reduced = (t + 273.15) / 300.0;
        let pure: f64 = [
            (280.68, -1.9),
            (511.45, -7.7),
            (61.131, -19.6),
            (0.459_03, -40.0),
        ]
        .iter()
        .map(|&(a, power)| a * libm::pow(reduced, power))
        .sum();
        let salt = s * GRAMS_A_UNIT / 1000.0;
        let a = poly(t, &[1.541, 1.998e-2, -9.52e-5]);
        let b = poly(t, &[7.974, -7.561e-2, 4.724e-4]);
        1e-6 * pure * (1.0 + a * salt + b * salt * salt)
    }

    /// Kinematic viscosity, in mm²/s.
    #[must_use]
    pub fn kinematic(&self) -> f64 {
        1000.0 * self.viscosity() / self.density()
    }

    fn clamped(&self) -> (f64, f64) {
        let within =
            |value: f64, limits: &RangeInclusive<f64>| value.clamp(*limits.start(), *limits.end());
        (
            within(self.salinity, &SALINITY),
            within(self.temperature, &TEMPERATURE),
        )
    }
}

/// Σ cᵢ xⁱ.
fn poly(x: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64, within: f64) {
        assert!(
            (found - expected).abs() <= within,
            "{found}, not {expected}"
        );
    }

    fn water(salinity: f64, temperature: f64) -> Water {
        Water {
            salinity,
            temperature,
        }
    }

    #[test]
    fn check_values_of_the_equation_of_state() {
        // UNESCO Technical Paper 44, p. 19: practical salinity, temperature on the scale of
        // 1968, density at atmospheric pressure.
        for (s, t68, density) in [
            (0.0, 5.0, 999.96675),
            (0.0, 25.0, 997.04796),
            (35.0, 5.0, 1027.67547),
            (35.0, 25.0, 1023.34306),
        ] {
            close(1000.0 * water(s, t68 / 1.00024).density(), density, 6e-6);
        }
    }

    #[test]
    fn fresh_water_as_the_reference_equation_has_it() {
        // IAPWS-95 at 101.325 kPa, two independent programs agreeing; kg/m³.
        for (t, density) in [
            (4.0, 999.9749),
            (10.0, 999.7025),
            (15.0, 999.1026),
            (20.0, 998.2072),
            (25.0, 997.0476),
            (30.0, 995.6495),
            (40.0, 992.2164),
        ] {
            close(1000.0 * Water::fresh(t).density(), density, 6e-3);
        }
        // Measured: 998.9468 ± 0.0006 kg/m³ at 16 °C (National Research Laboratory of
        // Metrology, Japan).
        close(1000.0 * Water::fresh(16.0).density(), 998.9468, 5e-3);
    }

    #[test]
    fn salt_water_as_the_newer_standard_has_it() {
        // TEOS-10 (GSW), in kg/m³: sea water at 0 to 30 °C, then brackish water at 20 °C.
        for (s, t, density) in [
            (35.0, 0.0, 1028.1072),
            (35.0, 10.0, 1026.9541),
            (35.0, 20.0, 1024.7660),
            (35.0, 30.0, 1021.7261),
            (10.0, 20.0, 1005.7939),
            (20.0, 20.0, 1013.3643),
        ] {
            close(1000.0 * water(s, t).density(), density, 0.01);
        }
    }

    #[test]
    fn viscosities() {
        // IAPWS R12-08, mPa·s.
        for (t, mu) in [
            (5.0, 1.5182),
            (10.0, 1.3059),
            (15.0, 1.1376),
            (20.0, 1.0016),
            (25.0, 0.8900),
            (30.0, 0.7972),
        ] {
            close(1000.0 * Water::fresh(t).viscosity(), mu, 2e-4 * mu);
        }
        // Sharqawy, Lienhard and Zubair (2010) at 35.165 g/kg, mPa·s.
        for (t, mu) in [
            (5.0, 1.61985),
            (10.0, 1.39725),
            (20.0, 1.07702),
            (25.0, 0.95919),
        ] {
            close(1000.0 * Water::sea(t).viscosity(), mu, 2e-3 * mu);
        }
        // ITTC: sea water at 15 °C, 1.189e-6 m²/s; fresh 1.1386e-6.
        close(Water::sea(15.0).kinematic(), 1.189, 3e-3);
        close(Water::fresh(15.0).kinematic(), 1.13859, 1e-3);
    }
}
