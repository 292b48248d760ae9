//! Wire gauge numbers.

/// A numbered wire size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WireGauge {
    /// American wire gauge (of non-ferrous wire).
    Awg(u32),
    /// British standard wire gauge.
    Swg(u32),
    /// Music wire, the numbers of its American makers.
    Music(u32),
}

/// SWG 10 to 30, in thousandths of an inch (BS 3737, withdrawn).
const SWG: [f64; 21] = [
    128.0, 116.0, 104.0, 92.0, 80.0, 72.0, 64.0, 56.0, 48.0, 40.0, 36.0, 32.0, 28.0, 24.0, 22.0,
    20.0, 18.0, 16.4, 14.8, 13.6, 12.4,
];
/// Music wire 1 to 30, in thousandths of an inch (sizes of ASTM A228 wire).
const MUSIC: [f64; 30] = [
    10.0, 11.0, 12.0, 13.0, 14.0, 16.0, 18.0, 20.0, 22.0, 24.0, 26.0, 29.0, 31.0, 33.0, 35.0, 37.0,
    39.0, 41.0, 43.0, 45.0, 47.0, 49.0, 51.0, 55.0, 59.0, 63.0, 67.0, 71.0, 75.0, 80.0,
];

impl WireGauge {
    /// Diameter, in mm; `None` for a number this gauge does not have here: AWG 0 to 40, SWG 10 to 30,
    /// music wire 1 to 30.
    ///
    /// # References
    /// AWG by its formula, 0.005 in × 92^((36 − n) / 39) (ASTM B258); SWG by the table of BS 3737; music
    /// wire by its printed table, the odd numbers of it from memory.
    #[must_use]
    pub fn diameter(self) -> Option<f64> {
        let listed = |table: &[f64], first: u32, n: u32| {
            let i = usize::try_from(n.checked_sub(first)?).ok()?;
            Some(table.get(i)? * 0.0254)
        };
        match self {
            WireGauge::Awg(n) if n <= 40 => {
                Some(0.127 * libm::pow(92.0, (36.0 - f64::from(n)) / 39.0))
            }
            WireGauge::Awg(_) => None,
            WireGauge::Swg(n) => listed(&SWG, 10, n),
            WireGauge::Music(n) => listed(&MUSIC, 1, n),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printed_tables() {
        let mm = |gauge: WireGauge| gauge.diameter().unwrap();
        // Millimetres as printed, or inches.
        for (n, d) in [(18, 1.02369), (20, 0.81182), (22, 0.64380)] {
            assert!((mm(WireGauge::Awg(n)) - d).abs() < 6e-6);
        }
        for (n, d) in [(10, 0.101897), (36, 0.005), (30, 0.010025)] {
            assert!((mm(WireGauge::Awg(n)) / 25.4 - d).abs() < 6e-7);
        }
        for (n, d) in [
            (10, 3.251),
            (12, 2.642),
            (14, 2.032),
            (16, 1.626),
            (18, 1.219),
            (20, 0.914),
            (22, 0.711),
            (24, 0.559),
            (26, 0.457),
            (28, 0.376),
            (30, 0.315),
        ] {
            assert!((mm(WireGauge::Swg(n)) - d).abs() < 6e-4, "{n}");
        }
        for (n, inches) in [
            (1, 0.010),
            (2, 0.011),
            (4, 0.013),
            (6, 0.016),
            (8, 0.020),
            (10, 0.024),
            (12, 0.029),
            (14, 0.033),
            (16, 0.037),
            (18, 0.041),
            (20, 0.045),
            (22, 0.049),
            (24, 0.055),
            (26, 0.063),
            (28, 0.071),
            (30, 0.080),
        ] {
            assert!(
                (mm(WireGauge::Music(n)) / 25.4 - inches).abs() < 1e-9,
                "{n}"
            );
        }
    }

    #[test]
    fn numbers_that_do_not_exist() {
        for gauge in [
            WireGauge::Awg(41),
            WireGauge::Swg(9),
            WireGauge::Swg(31),
            WireGauge::Music(0),
            WireGauge::Music(31),
            WireGauge::Music(u32::MAX),
        ] {
            assert_eq!(gauge.diameter(), None);
        }
    }
}
