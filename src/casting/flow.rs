//! How the plastic gets in: time and pressure through sprue, gate and runners, and how far
//! it reaches into a thin place before that chills.
//!
//! Slow, thick, Newtonian flow (Hagen–Poiseuille); how thick hot plastic is no source tells,
//! so viscosity comes as a band and so does every time.
//!
//! # Units
//! Lengths in mm, viscosity in Pa s, pressure in Pa, density in g/cm³, flow in mm³/s. The
//! resistance of a channel is pressure / (viscosity × flow), in 1/mm³.

use std::f64::consts::PI;

/// Standard gravity, m/s² (exact: NIST SP 811).
const GRAVITY: f64 = 9.80665;
/// Discharge coefficient of a short tube (common practice).
const DISCHARGE: f64 = 0.8;

/// A channel that plastic or air flows through.
#[derive(Clone, Debug, PartialEq)]
pub enum Channel {
    /// Round, its radius going straight from one end's to the other's.
    Round {
        /// Length.
        length: f64,
        /// Radius at one end and the other.
        radii: [f64; 2],
    },
    /// Between two faces much wider than they are apart.
    Slot {
        /// Length.
        length: f64,
        /// Width across the flow.
        width: f64,
        /// Distance of the faces.
        height: f64,
    },
    /// Channels one after the other: each takes the whole flow.
    Row(Vec<Channel>),
    /// Channels beside each other under one pressure, which share the flow.
    Beside(Vec<Channel>),
}

impl Channel {
    /// Resistance, 1/mm³: ΔP = resistance × viscosity × flow.
    ///
    /// # References
    /// 8L/(πr⁴), and its integral along a taper, 8L/(3π) · (r₁² + r₁r₂ + r₂²)/(r₁³r₂³);
    /// 12L/(wh³) between parallel plates. In a row resistances add up, side by side their inverses do.
    #[must_use]
    pub fn resistance(&self) -> f64 {
        match *self {
            Channel::Row(ref row) => row.iter().map(Channel::resistance).sum(),
            Channel::Beside(ref all) => 1.0 / all.iter().map(|c| 1.0 / c.resistance()).sum::<f64>(),
            Channel::Round {
                length,
                radii: [a, b],
            } => {
                let cubes = a * a * a * b * b * b;
                8.0 * length / (3.0 * PI) * (a * a + a * b + b * b) / cubes
            }
            Channel::Slot {
                length,
                width,
                height,
            } => 12.0 * length / (width * height * height * height),
        }
    }

    /// Its narrowest cross-section, mm²; side by side, that of all together.
    #[must_use]
    pub fn narrowest(&self) -> f64 {
        match *self {
            Channel::Row(ref row) => row
                .iter()
                .map(Channel::narrowest)
                .fold(f64::INFINITY, f64::min),
            Channel::Beside(ref all) => all.iter().map(Channel::narrowest).sum(),
            Channel::Round { radii: [a, b], .. } => PI * a.min(b) * a.min(b),
            Channel::Slot { width, height, .. } => width * height,
        }
    }
}

/// Pressure under a column of liquid, Pa: density in g/cm³, height in mm.
#[must_use]
pub fn head(density: f64, height: f64) -> f64 {
    density * GRAVITY * height
}

/// Time in s for a `volume` in mm³ to pass through channels in a row under one pressure: that
/// of thick flow or, if it is longer, that which the weight of the plastic alone sets
/// (Torricelli).
#[must_use]
pub fn fill_time(
    volume: f64,
    channels: &[Channel],
    viscosity: f64,
    density: f64,
    pressure: f64,
) -> f64 {
    let resistance: f64 = channels.iter().map(Channel::resistance).sum();
    let thick = viscosity * resistance * volume / pressure;
    let narrowest = channels
        .iter()
        .map(Channel::narrowest)
        .fold(f64::INFINITY, f64::min);
    // m/s of √(2P/ρ) with ρ in kg/m³, in mm/s.
    let speed = 1e3 * (2.0 * pressure / (density * 1e3)).sqrt();
    thick.max(volume / (DISCHARGE * narrowest * speed))
}

/// Time in s for a cavity of even cross-section that fills from below to rise to a level `to`
/// mm up, fed through channels from a surface that stays `above` mm over its floor.
/// Infinite if it never gets there.
///
/// # References
/// The integral of Hagen–Poiseuille over the falling difference of levels:
/// t = µR·A/(ρg) · ln(H/(H − z)).
#[must_use]
pub fn rise_time(
    area: f64,
    to: f64,
    channels: &[Channel],
    viscosity: f64,
    density: f64,
    above: f64,
) -> f64 {
    if to >= above {
        return f64::INFINITY;
    }
    let resistance: f64 = channels.iter().map(Channel::resistance).sum();
    viscosity * resistance * area / head(density, 1.0) * libm::log(above / (above - to))
}

/// A thin part of the cavity that fills from one end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Thin {
    /// Flat as a fin or a paddle: thickness.
    Flat(f64),
    /// Round as a leg: diameter.
    Round(f64),
}

impl Thin {
    /// How far the plastic gets in `time` seconds under `pressure`, mm, if it stays as thin as
    /// it came: an upper bound, for it thickens as it cools.
    ///
    /// # References
    /// The front of a Hagen–Poiseuille flow under constant pressure: L² = h²Pt/(6µ) between
    /// plates, L² = r²Pt/(4µ) in a tube (both by integrating the mean speed).
    #[must_use]
    pub fn reach(self, pressure: f64, viscosity: f64, time: f64) -> f64 {
        let speed = pressure * time / viscosity;
        match self {
            Thin::Flat(thickness) => thickness * (speed / 6.0).sqrt(),
            Thin::Round(diameter) => 0.5 * diameter * (speed / 4.0).sqrt(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64, share: f64) {
        assert!((found / expected - 1.0).abs() < share, "{found} {expected}");
    }

    fn round(length: f64, d1: f64, d2: f64) -> Channel {
        Channel::Round {
            length,
            radii: [d1 / 2.0, d2 / 2.0],
        }
    }

    #[test]
    fn channels_resist_as_in_the_closed_forms() {
        // 1 Pa s at 1 ml/s: Hagen–Poiseuille, straight and integrated along a taper.
        close(round(30.0, 6.0, 6.0).resistance() * 1000.0, 943.1404, 1e-6);
        close(round(30.0, 12.0, 4.0).resistance() * 1000.0, 766.3016, 1e-6);
        // A vent of 10 x 0.1 x 5 mm under 100 Pa, air of 18.1 µPa s (20 °C) and plastic.
        let vent = Channel::Slot {
            length: 5.0,
            width: 10.0,
            height: 0.1,
        };
        let flow = |viscosity: f64| 100.0 / (viscosity * vent.resistance());
        close(flow(18.1e-6) / 1000.0, 0.92081, 1e-4);
        close(flow(1.0) / 1000.0, 1.6667e-5, 1e-4);
        // A taper is the sum of many short straight pieces.
        let pieces: f64 = (0..10_000)
            .map(|i| 12.0 - 8.0 * (f64::from(i) + 0.5) / 10_000.0)
            .map(|d| round(0.003, d, d).resistance())
            .sum();
        close(pieces, round(30.0, 12.0, 4.0).resistance(), 1e-6);
    }

    #[test]
    fn a_sprue_runs_as_in_the_closed_forms() {
        // Full upright sprue of radius 3 mm under its own weight, 1.05 g/cm³, 1 Pa s:
        // v = ρgR²/(8µ) = 11.5841 mm/s whatever its length.
        for length in [20.0, 70.0] {
            let flow = head(1.05, length) / round(length, 6.0, 6.0).resistance();
            close(flow, 327.533, 1e-5);
        }
        // 20 ml under a constant head of 40 mm, then with hardly any viscosity.
        let sprue = [round(30.0, 6.0, 6.0)];
        let pressure = head(1.05, 40.0);
        close(
            fill_time(20_000.0, &sprue, 1.0, 1.05, pressure),
            45.797,
            1e-4,
        );
        close(
            fill_time(20_000.0, &sprue, 1e-3, 1.05, pressure),
            0.998,
            1e-3,
        );
        // A cavity of 2 cm² rising to 30 mm under a surface held at 50 mm.
        close(
            rise_time(200.0, 30.0, &sprue, 1.0, 1.05, 50.0),
            16.78532,
            1e-5,
        );
        assert_eq!(
            rise_time(200.0, 50.0, &sprue, 1.0, 1.05, 50.0),
            f64::INFINITY
        );
    }

    #[test]
    fn channels_beside_each_other_share_the_flow() {
        // Tubes of 4 and 8 mm, each behind a wider one: flows add up under one pressure, and so do
        // sections under Torricelli's.
        let ways = [4.0, 8.0].map(|d| Channel::Row(vec![round(10.0, 9.0, 9.0), round(20.0, d, d)]));
        let both = Channel::Beside(ways.to_vec());
        let flows: f64 = ways.iter().map(|way| 1.0 / way.resistance()).sum();
        close(1.0 / both.resistance(), flows, 1e-12);
        // 8L/(πr⁴), worked by hand: 0.0621001 + 3.1830989 and 0.0621001 + 0.1989437 in 1/mm³.
        close(flows, 0.308_151_6 + 3.830_774_3, 1e-6);
        close(both.narrowest(), PI * (4.0 + 16.0), 1e-12);
        // Six tubes alike pass thin plastic in a sixth of the time of one, and so thick plastic.
        let one = round(6.0, 4.0, 4.0);
        let six = Channel::Beside(vec![one.clone(); 6]);
        for viscosity in [1e-6, 10.0] {
            let time =
                |c: &Channel| fill_time(6000.0, std::slice::from_ref(c), viscosity, 1.05, 400.0);
            close(time(&one) / time(&six), 6.0, 1e-12);
        }
    }

    #[test]
    fn a_front_moves_as_its_own_resistance_lets_it() {
        // Front by front, against the channel's own resistance.
        for thin in [Thin::Flat(1.2), Thin::Round(2.0)] {
            let (pressure, viscosity, end) = (500.0, 1.0, 4.0);
            let (mut at, steps) = (1e-3, 400_000);
            for _ in 0..steps {
                let (channel, area) = match thin {
                    Thin::Flat(h) => (
                        Channel::Slot {
                            length: at,
                            width: 1.0,
                            height: h,
                        },
                        h,
                    ),
                    Thin::Round(d) => (round(at, d, d), PI * d * d / 4.0),
                };
                let flow = pressure / (viscosity * channel.resistance());
                at += flow / area * end / f64::from(steps);
            }
            close(thin.reach(pressure, viscosity, end), at, 1e-3);
        }
    }
}
