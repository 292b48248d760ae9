//! Rules of lathe and paper.

use std::ops::RangeInclusive;

use super::Rules;
use crate::quantity::LengthUnit;
use crate::spec::{LatheDesign, LatheSpec, Paper, PrintScale, Problem};

/// Printers are off by 1 to 3 %; past 10 % the page was fitted, not printed (reasoned).
const PRINT_SCALE: RangeInclusive<f64> = 0.9..=1.1;
/// An office roll to the widest plotter, in mm; no narrower than A4 is high, for the bars.
const ROLL: RangeInclusive<f64> = 210.0..=1600.0;
/// Stock that a bench lathe takes, in mm (reasoned).
const STOCK: RangeInclusive<f64> = 5.0..=400.0;
/// A shorter tenon does not hold, a longer one only whips (reasoned).
const TENON: RangeInclusive<f64> = 5.0..=100.0;
/// Room for the parting tool, to more than any work needs (reasoned).
const WASTE: RangeInclusive<f64> = 3.0..=100.0;
/// Paper to plywood, in mm.
const CARD: RangeInclusive<f64> = 0.05..=6.0;
/// A knife to a coarse saw, in mm.
const KERF: RangeInclusive<f64> = 0.0..=2.0;
/// What sanding takes, in mm (reasoned).
const SANDING: RangeInclusive<f64> = 0.0..=1.0;
/// Turns per minute of bench lathes.
const SPEED: RangeInclusive<f64> = 50.0..=6000.0;

impl Rules<'_> {
    pub(super) fn lathe(&mut self, lathe: &LatheSpec) -> Option<LatheDesign> {
        let print_scale = match lathe.print_scale {
            PrintScale::Both(factor) => self
                .number("lathe.print_scale", factor, &PRINT_SCALE)
                .map(|f| [f; 2]),
            PrintScale::Each([across, down]) => {
                let across = self.number("lathe.print_scale[0]", across, &PRINT_SCALE);
                let down = self.number("lathe.print_scale[1]", down, &PRINT_SCALE);
                across.zip(down).map(|(a, d)| [a, d])
            }
        };
        let roll = self.length_or("lathe.roll", lathe.roll, 297.0, &ROLL);
        let on_roll = lathe.paper.is_none_or(|paper| paper == Paper::Roll);
        if lathe.roll.is_some() && !on_roll && !self.is_broken("lathe.roll") {
            self.report(
                Problem::new("lathe.roll", "only a roll has this width")
                    .hint("paper = \"roll\", or leave this out"),
            );
        }
        let stock = match lathe.stock {
            Some(stock) => self.length("lathe.stock", stock, &STOCK).map(Some),
            None => Some(None),
        };
        let tenon = self.length_or("lathe.tenon", lathe.tenon, 25.0, &TENON);
        let waste = self.length_or("lathe.waste", lathe.waste, 10.0, &WASTE);
        let card = self.length_or("lathe.card", lathe.card, 0.5, &CARD);
        let kerf = self.length_or("lathe.kerf", lathe.kerf, 0.0, &KERF);
        let sanding = self.length_or("lathe.sanding", lathe.sanding, 0.0, &SANDING);
        let speed = self.number("lathe.speed", lathe.speed.unwrap_or(1000.0), &SPEED);
        Some(LatheDesign {
            paper: lathe.paper.unwrap_or(match self.units {
                _ if lathe.roll.is_some() => Paper::Roll,
                LengthUnit::In => Paper::Letter,
                LengthUnit::Mm | LengthUnit::Cm => Paper::A4,
            }),
            roll: roll?,
            print_scale: print_scale?,
            stock: stock?,
            tenon: tenon?,
            waste: waste?,
            card: card?,
            kerf: kerf?,
            sanding: sanding?,
            speed: speed?,
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::spec::{self, Format, Paper};

    fn design(lathe: &str) -> Result<spec::Design, spec::Problems> {
        let text = format!(
            "body.length = 90\nbody.outline = [{{ at = 30, height = 19 }}]\n[lathe]\n{lathe}\n"
        );
        spec::design(&text, Format::Toml)
    }

    #[test]
    fn either_side_of_every_limit() {
        for (key, good, bad) in [
            ("print_scale", ["0.9", "1.1"], ["0.899", "1.101"]),
            ("roll", ["210", "1600"], ["209", "1601"]),
            ("stock", ["5", "400"], ["4.9", "401"]),
            ("tenon", ["5", "100"], ["4.9", "101"]),
            ("waste", ["3", "100"], ["2.9", "101"]),
            ("card", ["0.05", "6"], ["0.04", "6.1"]),
            ("kerf", ["0", "2"], ["-0.1", "2.1"]),
            ("sanding", ["0", "1"], ["-0.1", "1.1"]),
            ("speed", ["50", "6000"], ["49", "6001"]),
        ] {
            for value in good {
                assert!(design(&format!("{key} = {value}")).is_ok(), "{key} {value}");
            }
            for value in bad {
                let problems = design(&format!("{key} = {value}")).unwrap_err();
                assert_eq!(problems.0.len(), 1);
                assert_eq!(problems.0[0].path, format!("lathe.{key}"), "{value}");
            }
        }
    }

    #[test]
    fn a_width_of_the_roll_is_a_roll() {
        let lathe = design("roll = 610").unwrap().lathe;
        assert_eq!((lathe.paper, lathe.roll), (Paper::Roll, 610.0));
        let both = design("paper = \"a3\"\nroll = 610").unwrap_err();
        assert_eq!(both.0.len(), 1);
        assert_eq!(both.0[0].path, "lathe.roll");
    }

    #[test]
    fn one_factor_or_two() {
        let both = design("print_scale = 1.008").unwrap().lathe;
        assert_eq!(both.print_scale, [1.008; 2]);
        let each = design("print_scale = [1.008, 1]\npaper = \"roll\"")
            .unwrap()
            .lathe;
        assert_eq!((each.print_scale, each.paper), ([1.008, 1.0], Paper::Roll));
        let problems = design("print_scale = [1.008, 2]").unwrap_err();
        assert_eq!(problems.0[0].path, "lathe.print_scale[1]");
        assert!(design("print_scale = \"fit\"").is_err());
        assert!(design("paper = \"a5\"").is_err());
    }
}
