//! Rules of the seats in the mould for what is cast in. Whether they fit is judged where the
//! mould is made.

use super::*;
use crate::spec::SeatsDesign;

/// Less than the lower end, other than none at all, is finer than any print; more than the upper
/// lets plastic past (reasoned).
const CLEARANCE: RangeInclusive<f64> = 0.02..=1.0;
/// What prints or casts as a pin at all, to what leaves a hole that shows (reasoned).
const PIN: RangeInclusive<f64> = 0.6..=6.0;

impl Rules<'_> {
    pub(super) fn seats(&mut self, spec: &Spec) -> Option<SeatsDesign> {
        let seats = &spec.mould.seats;
        let clearance = match seats.clearance {
            Some(none) if none.value == 0.0 && !self.is_broken("mould.seats.clearance") => {
                Some(0.0)
            }
            // Rubber closes on what it holds.
            None if spec.mould.route != Route::Block => Some(0.0),
            written => self.length_or("mould.seats.clearance", written, 0.1, &CLEARANCE),
        };
        let pin = match seats.pin {
            Some(pin) => self.length("mould.seats.pin", pin, &PIN).map(Some),
            None if self.is_broken("mould.seats.pin") => None,
            None => Some(None),
        };
        for (name, what, asked, there) in [
            (
                "wire",
                "wire",
                seats.wire == Some(true),
                spec.wire.is_some(),
            ),
            (
                "hook",
                "hook",
                seats.hook == Some(true),
                spec.hook.is_some(),
            ),
            (
                "weights",
                "weight",
                seats.weights == Some(true),
                !spec.weight.is_empty(),
            ),
            ("skirt", "skirt", seats.skirt, spec.skirt.is_some()),
        ] {
            let path = format!("mould.seats.{name}");
            let unknown = self.is_broken(&path) || self.broken.iter().any(|p| p.starts_with(what));
            if asked && !there && !unknown {
                self.report(
                    Problem::new(path, format!("there is no {what} to make this seat for"))
                        .value("true")
                        .hint(format!("describe the {what}, or leave this out")),
                );
            }
        }
        let path = "mould.seats.weights";
        let on_board = spec.mould.route == Route::Board;
        if seats.weights == Some(true) && on_board && !self.is_broken(path) {
            self.report(
                Problem::new(
                    path,
                    "pins stand within the bait, and silicone that is poured over a master has none",
                )
                .value("true")
                .limit("with route = \"block\" or \"boxes\"")
                .hint("leave this out, and string weights on the wire: weight.hole"),
            );
        }
        Some(SeatsDesign {
            wire: seats.wire,
            hook: seats.hook,
            weights: seats.weights,
            skirt: seats.skirt,
            clearance: clearance?,
            pin_radius: pin?.map(|d| 0.5 * d),
        })
    }

    /// Whether what is to be seated lies in the upright mid-plane and off the axis, so that the mould has
    /// to part there.
    pub(super) fn seated_upright(spec: &Spec) -> bool {
        let seats = &spec.mould.seats;
        let high = |wire: &crate::spec::WireSpec| wire.height.is_some_and(|h| h.value != 0.0);
        (spec.hook.is_some() && seats.hook != Some(false))
            || (spec.wire.as_ref().is_some_and(high) && seats.wire != Some(false))
    }
}

#[cfg(test)]
mod tests {
    use crate::spec::{Design, Format, Problems, design};

    const BODY: &str = "body = { length = 90, outline = [{ at = 30, height = 19 }] }\n";

    fn read(text: &str) -> Result<Design, Problems> {
        design(&format!("{BODY}{text}\n"), Format::Toml)
    }

    #[test]
    fn limits_and_defaults() {
        let seats = |text: &str| read(text).unwrap().mould.seats;
        assert_eq!(seats("").clearance, 0.1);
        assert_eq!(seats("mould.route = \"boxes\"").clearance, 0.0);
        assert_eq!(seats("mould.seats.clearance = 0").clearance, 0.0);
        assert_eq!(seats("mould.seats.clearance = 0.02").clearance, 0.02);
        assert_eq!(seats("mould.seats.pin = 0.6").pin_radius, Some(0.3));
        for (text, path) in [
            ("mould.seats.clearance = 0.01", "mould.seats.clearance"),
            ("mould.seats.clearance = 1.1", "mould.seats.clearance"),
            ("mould.seats.pin = 0.5", "mould.seats.pin"),
            ("mould.seats.pin = 6.1", "mould.seats.pin"),
            ("mould.seats.wire = true", "mould.seats.wire"),
            ("mould.seats.hook = true", "mould.seats.hook"),
            ("mould.seats.weights = true", "mould.seats.weights"),
            ("mould.seats.skirt = true", "mould.seats.skirt"),
            (
                "weight = [{ diameter = 3, at = 30 }]\nmould = { route = \"board\", seats.weights = true }",
                "mould.seats.weights",
            ),
        ] {
            let problems = read(text).unwrap_err();
            assert_eq!(problems.0.len(), 1, "{text}: {problems}");
            assert_eq!(problems.0[0].path, path, "{text}");
        }
        // A board has grooves, but no pins.
        let board = "wire.awg = 20\nmould = { route = \"board\", seats.wire = true }";
        assert_eq!(seats(board).wire, Some(true));
        // A larger bait's seats close as tightly.
        assert_eq!(
            seats("scale = 2\nmould.seats.clearance = 0.2").clearance,
            0.2
        );
    }

    #[test]
    fn what_stands_upright_keeps_the_plane_it_lies_in() {
        let free = |text: &str| read(text).unwrap().mould.parting_free;
        let hook = "hook = { at = 40, wire = 1, shank = 20, gap = 9 }";
        assert!(free("wire.awg = 20"));
        assert!(!free("wire = { awg = 20, height = 2 }"));
        assert!(!free(hook));
        assert!(free(&format!("{hook}\nmould.seats.hook = false")));
    }
}
