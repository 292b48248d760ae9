//! The stock a round master is turned from, and the order of the cuts.

use super::{Gauge, Place};
use crate::spec::{BodyEnd, LatheDesign};

use crate::quantity::LengthUnit;

/// Over the diameter that stock is trued to, mm and in (common practice).
const TRUING: [f64; 2] = [3.0, 0.125];
/// Steps of the diameters that stock is trued to, mm and in: what callipers are set to.
const STEP: [f64; 2] = [1.0, 1.0 / 16.0];
/// Work longer than this many of its least diameters wants a steady (common practice: ten).
const SLENDER: f64 = 10.0;
/// The end that is cut last carries no load: this much of it, in greatest diameters (reasoned).
const TIP: f64 = 1.0;

/// The stock, where things are on it, and in which order it is cut. Millimetres; places are
/// distances from the nose.
#[derive(Clone, Debug, PartialEq)]
pub struct Blank {
    /// Diameter the stock is turned true to, from which depths of cut count: the greatest to be turned, up
    /// to the next millimetre or sixteenth of an inch.
    pub trued: f64,
    /// Least diameter of round stock: that, and what truing takes.
    pub round: f64,
    /// Least side of square stock: the same, for its flats have to vanish.
    pub square: f64,
    /// Length of the stock: tenon, waste, work, waste.
    pub length: f64,
    /// Diameter of the tenon.
    pub tenon: f64,
    /// The end that is thinner, and is kept for last; the tenon is at the other.
    pub thin: BodyEnd,
    /// Where a steady goes; `None` for work that is stiff enough.
    pub steady: Option<f64>,
    /// Indices into the gauge's stations, in the order in which they are cut: from the
    /// thickest to the thinnest, the thin end last.
    pub order: Vec<usize>,
    /// Speed of the surface at the stock's diameter, m/s.
    pub surface_speed: f64,
    /// Whether the stock at hand is large enough; `true` if none was named.
    pub stock_fits: bool,
}

impl Blank {
    /// The blank for a gauge, whose radii are to be turned larger by `over`; sizes of stock are round in
    /// `units`.
    pub fn of(gauge: &Gauge, lathe: &LatheDesign, over: f64, units: LengthUnit) -> Blank {
        let greatest = 2.0 * (gauge.radius + over);
        let trued = up_to_step(greatest, units);
        let round = trued
            + match units {
                LengthUnit::In => TRUING[1] * LengthUnit::In.in_mm(),
                LengthUnit::Mm | LengthUnit::Cm => TRUING[0],
            };
        let half = 0.5 * gauge.total;
        // The mean of the diameters in either half, each station by itself.
        let mean = |of: &dyn Fn(f64) -> bool| {
            let thick: Vec<f64> = gauge
                .stations
                .iter()
                .filter(|s| of(s.at))
                .map(|s| s.before.max(s.after))
                .collect();
            thick.iter().sum::<f64>() / thick.len().max(1) as f64
        };
        let thin = if mean(&|x| x < half) < mean(&|x| x >= half) {
            BodyEnd::Nose
        } else {
            BodyEnd::Tail
        };
        let diameter = |i: usize| {
            let s = &gauge.stations[i];
            match s.place {
                Place::Nose => s.after,
                Place::Tail => s.before,
                _ => s.before.max(s.after),
            }
        };
        let mut order: Vec<usize> = (0..gauge.stations.len())
            .filter(|&i| diameter(i) > 0.0)
            .collect();
        let from_thick_end = |i: usize| match thin {
            BodyEnd::Nose => gauge.total - gauge.stations[i].at,
            BodyEnd::Tail => gauge.stations[i].at,
        };
        order.sort_by(|&a, &b| {
            diameter(b)
                .total_cmp(&diameter(a))
                .then(from_thick_end(a).total_cmp(&from_thick_end(b)))
        });
        let inner = order
            .iter()
            .copied()
            .filter(|&i| gauge.stations[i].place == Place::Along);
        // What little stands beyond the last cuts of the thin end carries no load; a collar at the chuck
        // carries all of it.
        let beyond = |i: usize| {
            let s = &gauge.stations[i];
            match (thin, s.place) {
                (BodyEnd::Nose, Place::Collar { to, .. }) => to,
                (BodyEnd::Nose, _) => s.at,
                (BodyEnd::Tail, Place::Collar { from, .. }) => gauge.total - from,
                (BodyEnd::Tail, _) => gauge.total - s.at,
            }
        };
        let least = order
            .iter()
            .copied()
            .filter(|&i| beyond(i) > TIP * greatest)
            .map(diameter)
            .fold(greatest, f64::min);
        // A steady runs on a true round near the middle.
        let steady = (gauge.total > SLENDER * least).then(|| {
            inner
                .map(|i| gauge.stations[i].at)
                .min_by(|a, b| (a - half).abs().total_cmp(&(b - half).abs()))
                .unwrap_or(half)
        });
        let stock = lathe.stock.unwrap_or(round);
        Blank {
            trued,
            round,
            square: round,
            length: lathe.tenon + 2.0 * lathe.waste + gauge.total,
            // Most of the stock, so that a shoulder is left for the jaws.
            tenon: 0.8 * stock,
            thin,
            steady,
            order,
            surface_speed: surface_speed(stock.max(round), lathe.speed),
            stock_fits: stock >= round - 1e-9,
        }
    }
}

/// The next size above that stock is measured by, mm: a millimetre, or a sixteenth of an inch.
pub(crate) fn up_to_step(mm: f64, units: LengthUnit) -> f64 {
    let step = match units {
        LengthUnit::In => STEP[1] * LengthUnit::In.in_mm(),
        LengthUnit::Mm | LengthUnit::Cm => STEP[0],
    };
    // A rounding above a step is that step.
    step * libm::ceil(mm / step - 1e-6)
}

/// Speed of the surface in m/s at a diameter in mm and turns per minute: π d n.
pub fn surface_speed(diameter: f64, turns: f64) -> f64 {
    std::f64::consts::PI * diameter * turns / 60_000.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::body::Body;
    use crate::spec::{self, Format};

    fn blank(lathe: &str) -> (Gauge, Blank) {
        let text = format!(
            "body.length = 120\nbody.outline = [{{ at = 30, height = 18 }}, {{ at = 60, height = 10 }}, \
             {{ at = 110, height = 5 }}]\n[lathe]\n{lathe}\n"
        );
        let design = spec::design(&text, Format::Toml).unwrap();
        let gauge = Gauge::of(&Body::from_design(&design)).unwrap();
        let blank = Blank::of(&gauge, &design.lathe, 0.0, LengthUnit::Mm);
        (gauge, blank)
    }

    #[test]
    fn stock_holds_work_tenon_and_waste() {
        let (_, b) = blank("tenon = 30\nwaste = 12");
        assert!((b.round - 21.0).abs() < 1e-9 && b.square == b.round);
        assert!((b.length - (30.0 + 24.0 + 120.0)).abs() < 1e-9);
        assert!(!blank("stock = 20").1.stock_fits && blank("stock = 22").1.stock_fits);
    }

    #[test]
    fn the_thin_end_comes_last() {
        let (gauge, b) = blank("");
        assert_eq!(b.thin, BodyEnd::Tail);
        let at: Vec<f64> = b.order.iter().map(|&i| gauge.stations[i].at).collect();
        assert_eq!((at[0], at[at.len() - 1]), (30.0, 110.0));
        // 120 mm long and 5 mm at its thinnest.
        assert_eq!(b.steady, Some(60.0));
    }

    #[test]
    fn a_thin_tip_wants_no_steady_and_a_thin_collar_does() {
        let of = |body: &str| {
            let design = spec::design(body, Format::Toml).unwrap();
            let gauge = Gauge::of(&Body::from_design(&design)).unwrap();
            Blank::of(&gauge, &design.lathe, 0.0, LengthUnit::Mm)
        };
        // 48 mm, 11 mm thick; 3 mm at 2 mm from the tail, which is cut last.
        let outline =
            "[{ at = 18, height = 11 }, { at = 36, height = 7 }, { at = 46, height = 3 }]";
        let tip = format!("body.length = 48\nbody.outline = {outline}");
        assert_eq!(of(&tip).steady, None);
        // The nose is the thin end: the work is held by a tenon behind a collar of 4 mm.
        let outline =
            "[{ at = 10, height = 5 }, { at = 36, height = 14 }, { at = 48, height = 13 }]";
        let collar = format!(
            "body.length = 48\nbody.tail = \"flat\"\nbody.outline = {outline}\n\
             [collar]\nsteps = [{{ length = 6, diameter = 4 }}]"
        );
        let blank = of(&collar);
        assert_eq!(blank.thin, BodyEnd::Nose);
        assert!(blank.steady.is_some(), "{blank:?}");
    }

    #[test]
    fn stock_is_trued_to_what_callipers_are_set_to() {
        let design = spec::design(
            "body.length = 60\nbody.outline = [{ at = 20, height = 12.3 }]",
            Format::Toml,
        );
        let design = design.unwrap();
        let gauge = Gauge::of(&Body::from_design(&design)).unwrap();
        let blank = |units| Blank::of(&gauge, &design.lathe, 0.0, units);
        let mm = blank(LengthUnit::Mm);
        assert!((mm.trued - 13.0).abs() < 1e-9 && (mm.round - 16.0).abs() < 1e-9);
        // 12.3 mm is 0.484 in: half an inch, and an eighth for truing.
        let inch = blank(LengthUnit::In);
        assert!((inch.trued - 12.7).abs() < 1e-9 && (inch.round - 15.875).abs() < 1e-9);
    }

    #[test]
    fn speed_of_the_surface() {
        // π d n: 100 mm at 600 turns a minute is π m/s.
        assert!((surface_speed(100.0, 600.0) - std::f64::consts::PI).abs() < 1e-12);
    }
}
