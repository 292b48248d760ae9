//! Rules of ribs and rings.

use std::ops::RangeInclusive;

use super::{Rules, SAME_PLACE};
use crate::spec::{BodyDesign, Problem, RibsDesign, RibsSpec};

/// A finer rib is two widths of a common print nozzle (common practice).
const PITCH: RangeInclusive<f64> = 1.0..=100.0;
/// A lower rib vanishes in printing, a higher one is a fin (reasoned).
const DEPTH: RangeInclusive<f64> = 0.2..=20.0;
/// Ribs of all sets together, which bounds the mesh.
const MOST: usize = 200;
/// Sets at most, which bounds the notes on the gauge sheet.
const SETS: RangeInclusive<f64> = 0.0..=6.0;
/// A rib may be this share of its pitch high: steeper flanks tear when the bait is
/// pulled out (reasoned).
const STEEPEST: f64 = 0.5;
/// A groove may take this share of the distance from the surface to the axis: the core
/// that is left has to hold a fish (reasoned).
const CORE: f64 = 0.5;
/// A rib is at least this many tolerances high, or facets swallow it.
const TOLERANCES: f64 = 4.0;

impl Rules<'_> {
    /// Every set by itself, then all of them beside each other.
    pub(super) fn ribs(
        &mut self,
        ribs: &[RibsSpec],
        body: Option<&BodyDesign>,
        tolerance: Option<f64>,
    ) -> Option<Vec<RibsDesign>> {
        self.number("ribs", ribs.len() as f64, &SETS)?;
        let sets = self.each("ribs", ribs, |rules, path, ribs| {
            rules.rib_set(path, ribs, body?, tolerance?)
        })?;
        let before = self.problems.len();
        for (j, set) in sets.iter().enumerate() {
            let other = sets[..j]
                .iter()
                .position(|o| set.from < o.to - SAME_PLACE && o.from < set.to - SAME_PLACE);
            if let Some(i) = other {
                self.report(
                    Problem::new(
                        format!("ribs[{j}].from"),
                        format!("these ribs overlap those of ribs[{i}]"),
                    )
                    .value(format_args!(
                        "{} to {}",
                        self.drawn(set.from),
                        self.drawn(set.to)
                    ))
                    .limit(format_args!(
                        "`to` up to {}, or `from` {} or more",
                        self.drawn(sets[i].from),
                        self.drawn(sets[i].to)
                    )),
                );
            }
        }
        let count: usize = sets.iter().map(RibsDesign::count).sum();
        if count > MOST {
            let run: f64 = sets.iter().map(|s| s.to - s.from).sum();
            self.report(
                Problem::new("ribs", "these are too many ribs to mesh")
                    .value(count)
                    .limit(format_args!("up to {MOST} in all"))
                    .hint(format_args!(
                        "a pitch of {} would do",
                        self.drawn(libm::ceil(10.0 * run / MOST as f64) / 10.0)
                    )),
            );
        }
        (self.problems.len() == before).then_some(sets)
    }

    fn rib_set(
        &mut self,
        path: &str,
        ribs: &RibsSpec,
        body: &BodyDesign,
        tolerance: f64,
    ) -> Option<RibsDesign> {
        let field = |name: &str| format!("{path}.{name}");
        let outlines = [&body.back, &body.belly, &body.half_width];
        // Before the first station a round or pointed end closes.
        let first = outlines.iter().filter_map(|o| o.first()).map(|k| k.at);
        let last = outlines.iter().filter_map(|o| o.last()).map(|k| k.at);
        let run = first.fold(0.0, f64::max)..=last.fold(body.length, f64::min);
        let from = self.between_stations(&field("from"), ribs.from, &run);
        let to = self.between_stations(&field("to"), ribs.to, &run);
        let pitch = self.length(&field("pitch"), ribs.pitch, &PITCH);
        let depth = self.length(&field("depth"), ribs.depth, &DEPTH);
        let (from, to, pitch, depth) = (from?, to?, pitch?, depth?);

        let least_pitch = TOLERANCES * tolerance / STEEPEST;
        if pitch < least_pitch - SAME_PLACE {
            self.report(
                Problem::new(field("pitch"), "this pitch is too fine for the tolerance")
                    .value(ribs.pitch)
                    .limit(format_args!("at least {}", self.least(least_pitch)))
                    .hint(format_args!(
                        "or a tolerance of {} under [mesh]",
                        self.show(self.rounded_down(pitch * STEEPEST / TOLERANCES))
                    )),
            );
            return None;
        }
        if to <= from {
            self.report(
                Problem::new(field("to"), "these ribs end before they begin")
                    .value(ribs.to)
                    .limit(format_args!("more than `from`, {}", self.drawn(from)))
                    .hint("ribs run from nose to tail: exchange `from` and `to`"),
            );
            return None;
        }
        if to < from + pitch - SAME_PLACE {
            self.report(
                Problem::new(field("to"), "not one rib fits in here")
                    .value(ribs.to)
                    .limit(format_args!("at least {}", self.least(from + pitch))),
            );
            return None;
        }
        let mut most = (STEEPEST * pitch, "half the pitch");
        if ribs.grooved {
            let core = CORE
                * outlines
                    .iter()
                    .map(|o| least(o, from, to))
                    .fold(f64::INFINITY, f64::min);
            if core < most.0 {
                most = (
                    core,
                    "half the distance from the axis at the thinnest station beside or under them",
                );
            }
        }
        let least = TOLERANCES * tolerance;
        if depth > most.0 + SAME_PLACE || depth < least - SAME_PLACE {
            let (what, limit) = if depth < least - SAME_PLACE {
                (
                    "these ribs are lower than the tolerance can show",
                    format!("at least {}, four times the tolerance", self.least(least)),
                )
            } else if ribs.grooved {
                (
                    "these grooves are too deep",
                    format!("up to {}, {}", self.most(most.0), most.1),
                )
            } else {
                (
                    "these ribs are too high",
                    format!("up to {}, {}", self.most(most.0), most.1),
                )
            };
            self.report(
                Problem::new(field("depth"), what)
                    .value(ribs.depth)
                    .limit(limit),
            );
            return None;
        }
        let fade = match ribs.fade {
            Some(fade) => self.length(&field("fade"), fade, &(0.0..=0.5 * (to - from)))?,
            None => 0.0,
        };
        Some(RibsDesign {
            from,
            to,
            pitch,
            rise: if ribs.grooved { -depth } else { depth },
            profile: ribs.profile,
            fade,
        })
    }

    fn between_stations(
        &mut self,
        path: &str,
        at: crate::quantity::Length,
        run: &RangeInclusive<f64>,
    ) -> Option<f64> {
        let before = self.problems.len();
        // The nose itself is a place too, where it is flat.
        let found = self.length(path, at, run);
        if let Some(problem) = self.problems.get_mut(before) {
            problem.what = "ribs must lie between the first and the last station".into();
            problem.hint = Some("a station nearer to the end makes room for them".into());
        }
        found
    }
}

/// Least height that an outline through these knots can have between two places: it
/// does not leave the span of the knots it runs between.
fn least(knots: &[crate::spec::Knot], from: f64, to: f64) -> f64 {
    let first = knots.partition_point(|k| k.at <= from).saturating_sub(1);
    let last = knots.partition_point(|k| k.at < to).min(knots.len() - 1);
    knots[first..=last]
        .iter()
        .flat_map(|k| [k.before, k.after])
        .fold(f64::INFINITY, f64::min)
}
