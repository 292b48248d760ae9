//! Rules between the two lists of stations: where the outline steps, the width steps too.

use super::*;

impl Rules<'_> {
    /// Checks the breaks of a width list against those of the outline, and puts those that
    /// are meant to be at one place there exactly.
    ///
    /// A shoulder is a flat ring between two sections, so one must lie within the other.
    /// Breaks a hair apart would leave slivers between them.
    pub(super) fn shoulders(&mut self, outline: &[Knot], width: &mut [Knot]) {
        for (i, knot) in outline.iter().enumerate() {
            for (j, wide) in width.iter_mut().enumerate() {
                let apart = (knot.at - wide.at).abs();
                if apart < SAME_PLACE {
                    wide.at = knot.at;
                } else if apart < STATION_GAP && is_break(knot) && is_break(wide) {
                    let problem = Problem::new(
                        format!("body.width[{j}].at"),
                        "this break is a hair away from one of the outline",
                    )
                    .value(self.drawn(wide.at))
                    .limit(format_args!(
                        "the same place, {}, or {} away from it",
                        self.drawn(knot.at),
                        self.drawn(STATION_GAP)
                    ));
                    self.report(problem);
                }
            }
            if knot.before != knot.after && !width.iter().any(|wide| steps_with(wide, knot)) {
                let at = self.drawn(knot.at);
                self.report(
                    Problem::new(
                        format!("body.outline[{i}].step_to"),
                        format!("the height steps at {at}, but the width does not step with it"),
                    )
                    .hint(format_args!(
                        "give the width a station at {at} with a step_to that goes the same way"
                    )),
                );
            }
        }
        for (j, wide) in width.iter().enumerate() {
            if wide.before != wide.after && !outline.iter().any(|knot| steps_with(knot, wide)) {
                let at = self.drawn(wide.at);
                self.report(
                    Problem::new(
                        format!("body.width[{j}].step_to"),
                        format!("the width steps at {at}, but the height does not step with it"),
                    )
                    .hint(format_args!(
                        "give the outline a station at {at} with a step_to that goes the same way"
                    )),
                );
            }
        }
    }
}

fn is_break(knot: &Knot) -> bool {
    knot.corner || knot.before != knot.after
}

/// Whether one knot steps at the same place and the same way as the other.
fn steps_with(knot: &Knot, other: &Knot) -> bool {
    let rise = |k: &Knot| k.after - k.before;
    knot.at == other.at && rise(knot) * rise(other) > 0.0
}
