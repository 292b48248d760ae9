//! Rules of sizes and allowances.

use std::ops::RangeInclusive;

use super::{BODY_LENGTH, Rules, SAME_PLACE};
use crate::quantity::Length;
use crate::spec::{Allowances, MaterialSpec, Problem};

/// A smaller or larger bait is another design (reasoned).
pub(super) const SCALE: RangeInclusive<f64> = 0.1..=10.0;
/// Percent of length. Flexible PVC shrinks by 0.5 to 2.8, silicones by 0 to 1.2,
/// printed plastics by 0.1 to 1.6 (makers' tables); past 10 it is a slip.
const SHRINKAGE: RangeInclusive<f64> = 0.0..=10.0;
/// Less than this, but none, is a share that was meant as percent: no plastic and no print shrinks
/// by so little (the same tables).
const LEAST_SHRINKAGE: f64 = 0.05;
/// A coat of paint in mm: sprayed thin to brushed thick (reasoned).
const COAT: RangeInclusive<f64> = 0.001..=0.5;
/// Coats of one kind.
const COATS: RangeInclusive<f64> = 1.0..=20.0;
/// All coats together, in mm: more would drown the detail (reasoned).
const COATING: f64 = 1.0;

impl Rules<'_> {
    /// Sizes that kits are asked for besides the one that is drawn.
    pub(super) fn sizes(&mut self, sizes: &[Length], drawn: Option<f64>) {
        const COUNT: RangeInclusive<f64> = 0.0..=20.0;
        self.number("sizes", sizes.len() as f64, &COUNT);
        let mut seen: Vec<f64> = Vec::new();
        for (i, &size) in sizes.iter().enumerate() {
            // Folders are named to a hundredth.
            const ALIKE: f64 = 0.0101;
            let path = format!("sizes[{i}]");
            let limits = match drawn {
                Some(drawn) => {
                    (drawn * SCALE.start()).max(*BODY_LENGTH.start())
                        ..=(drawn * SCALE.end()).min(*BODY_LENGTH.end())
                }
                None => BODY_LENGTH,
            };
            let Some(mm) = self.length(&path, size, &limits) else {
                continue;
            };
            if seen.iter().any(|s| (s - mm).abs() < ALIKE) {
                self.report(Problem::new(path, "this size is there already").value(size));
            }
            seen.push(mm);
        }
    }

    pub(super) fn allowances(&mut self, material: &MaterialSpec) -> Option<Allowances> {
        let s = &material.shrinkage;
        let mut share = |name: &str, percent: f64| {
            let path = format!("material.shrinkage.{name}");
            self.number(&path, percent, &SHRINKAGE).map(|p| p / 100.0)
        };
        let (plastic, silicone) = (share("plastic", s.plastic), share("silicone", s.silicone));
        let print = share("print", s.print);
        for (name, percent) in [("plastic", s.plastic), ("print", s.print)] {
            if percent > 0.0 && percent < LEAST_SHRINKAGE {
                let problem = Problem::new(
                    format!("material.shrinkage.{name}"),
                    "this is next to nothing: shrinkage is written in percent",
                )
                .value(format_args!("{percent} %"))
                .limit(format_args!(
                    "0, or {LEAST_SHRINKAGE} to {} %",
                    SHRINKAGE.end()
                ));
                // Rounded, so that 100 times a decimal reads as one.
                let meant = libm::round(1e6 * percent) / 1e4;
                self.report(problem.hint(format_args!("did you mean {meant}?")));
            }
        }
        let coats = self.each("material.coats", &material.coats, |rules, path, coat| {
            let count = f64::from(coat.count);
            let count = rules.number(&format!("{path}.count"), count, &COATS);
            let thickness = rules.length(&format!("{path}.thickness"), coat.thickness, &COAT);
            count?;
            let name = coat.name.clone().unwrap_or_else(|| "coats".into());
            Some((name, thickness?, coat.count))
        });
        let allowances = Allowances {
            plastic: plastic?,
            silicone: silicone?,
            print: print?,
            coats: coats?,
        };
        if allowances.coating() > COATING + SAME_PLACE {
            self.report(
                Problem::new(
                    "material.coats",
                    "these coats would drown the master's detail",
                )
                .value(self.show(allowances.coating()))
                .limit(format_args!("up to {} in all", self.show(COATING))),
            );
            return None;
        }
        Some(allowances)
    }
}
