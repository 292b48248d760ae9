//! What holds the halves together: how hard the filling pushes them apart, and how far
//! clamping closes a cavity in rubber.
//!
//! # Units
//! Lengths in mm, areas in mm², pressure in Pa or, for rubber, MPa, force in N.

/// Force that pushes the halves apart, N: pressure in Pa on a projected area in mm².
#[must_use]
pub fn opening_force(pressure: f64, area: f64) -> f64 {
    pressure * area * 1e-6
}

/// Young's modulus of rubber from its Shore A hardness, MPa.
///
/// Good to about a quarter between 20 and 80; below that it is an extrapolation.
///
/// # References
/// Gent, Rubber Chem. Technol. 31 (1958) 896:
/// E = 0.0981 (56 + 7.62336 S) / (0.137505 (254 − 2.54 S)).
#[must_use]
pub fn modulus(shore_a: f64) -> f64 {
    0.0981 * (56.0 + 7.623_36 * shore_a) / (0.137_505 * (254.0 - 2.54 * shore_a))
}

/// How far a hollow in a block closes along the squeeze, mm, when the block is squeezed by
/// the share `strain` of its thickness. `along` and `across` are the hollow's full sizes along the
/// squeeze and across it.
///
/// The hollow is taken as a long elliptic one in much rubber about it; with thin walls it
/// closes more.
///
/// # References
/// The ellipse under far-off pressure: Inglis, Trans. Inst. Naval Arch. 55 (1913) 219; a round
/// hole closes by three times the strain (Kirsch 1898), a crack by twice its length times it.
#[must_use]
pub fn closing(strain: f64, along: f64, across: f64) -> f64 {
    strain * (along + 2.0 * across)
}

/// Clamping of a rubber mould between stiff boards by screws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Squeeze {
    /// The most that the mould may be squeezed, mm.
    pub most: f64,
    /// The same in turns of the clamping screws, from where they touch.
    pub turns: f64,
    /// Force of the boards at that, N.
    pub force: f64,
}

impl Squeeze {
    /// The squeeze that closes a hollow by `closed` mm at most: of a mould of `thickness` along
    /// the squeeze and `area` across it (mm, mm²), its rubber of `shore_a`, by screws of `pitch` mm.
    #[must_use]
    pub fn limited(
        closed: f64,
        [along, across]: [f64; 2],
        thickness: f64,
        area: f64,
        shore_a: f64,
        pitch: f64,
    ) -> Self {
        let strain = closed / closing(1.0, along, across);
        Squeeze {
            most: strain * thickness,
            turns: strain * thickness / pitch,
            force: modulus(shore_a) * strain * area,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hand_sums() {
        // 60 mm of 1.05 g/cm³ on 150 x 40 mm: ρgh·A = 617.82 Pa · 6000 mm² = 3.707 N.
        let pressure = crate::casting::flow::head(1.05, 60.0);
        assert!((opening_force(pressure, 6000.0) - 3.707).abs() < 1e-3);
    }

    #[test]
    fn modulus_is_gents() {
        // Gent's relation worked by hand: (56 + 228.70)·0.0981 / (0.137505·177.8) at 30; handbooks
        // give about 1.1 MPa for Shore A 30 and 5.5 for 70 (from memory).
        assert!((modulus(30.0) - 27.9291 / 24.4484).abs() < 1e-3);
        assert!((modulus(70.0) - 5.5).abs() < 0.2);
        assert!((1..90).all(|s| modulus(f64::from(s)) < modulus(f64::from(s + 1))));
    }

    #[test]
    fn hollows_close_as_known_ones() {
        // A round hole: three times the strain (Kirsch); a slit of 10 mm: 2·10·strain.
        assert!((closing(0.01, 10.0, 10.0) - 0.3).abs() < 1e-12);
        assert!((closing(0.01, 0.0, 10.0) - 0.2).abs() < 1e-12);
    }

    #[test]
    fn a_squeeze_comes_back_to_what_it_closes() {
        let s = Squeeze::limited(0.2, [19.0, 12.0], 40.0, 6000.0, 25.0, 1.0);
        assert!((closing(s.most / 40.0, 19.0, 12.0) - 0.2).abs() < 1e-12);
        // 0.2/(19 + 24) of 40 mm is 0.186 mm: less than a fifth of a turn of M6.
        assert!((s.turns - 0.186).abs() < 1e-3);
        assert!((s.force - modulus(25.0) * 0.2 / 43.0 * 6000.0).abs() < 1e-9);
    }
}
