//! Rules of eyes, slots, bores and pockets that need no more than their own numbers and
//! the body's length. What depends on the body's shape is judged where they are made.

use std::ops::RangeInclusive;

use super::{Rules, SAME_PLACE};
use crate::quantity::Length;
use crate::spec::{
    BodyDesign, BoreDesign, BoreSpec, EyeKind, EyeShape, EyesDesign, EyesSpec, PocketDesign,
    PocketSpec, Problem, SlotDesign, SlotSpec,
};

/// Degrees round the body, for a pair and for a single thing.
const PAIR_ANGLE: RangeInclusive<f64> = 0.0..=180.0;
const ANGLE: RangeInclusive<f64> = 0.0..=360.0;
/// From a pinhead to the largest glued-in eyes (reasoned).
const EYE_DIAMETER: RangeInclusive<f64> = 1.0..=40.0;
/// Shallower does not show in plastic (reasoned).
const DEPTH: RangeInclusive<f64> = 0.2..=20.0;
/// What a ring's bead prints and casts at (reasoned).
const RING_WIDTH: RangeInclusive<f64> = 0.4..=10.0;
const RING_HEIGHT: RangeInclusive<f64> = 0.2..=5.0;
/// Narrower is cut better with a blade; wider is no slot (reasoned).
const SLOT_WIDTH: RangeInclusive<f64> = 0.5..=20.0;
const SLOT_DEPTH: RangeInclusive<f64> = 0.5..=100.0;
/// From thin wire to rods (reasoned).
const BORE: RangeInclusive<f64> = 0.3..=20.0;
const POCKET: RangeInclusive<f64> = 1.0..=200.0;
const POCKET_DEPTH: RangeInclusive<f64> = 0.2..=100.0;
/// Features stay this far from round and pointed ends, where the surface has no side.
const FROM_END: f64 = 0.5;

impl Rules<'_> {
    pub(super) fn eyes(
        &mut self,
        path: &str,
        eyes: &EyesSpec,
        body: Option<&BodyDesign>,
    ) -> Option<EyesDesign> {
        let field = |name: &str| format!("{path}.{name}");
        let diameter = self.length(&field("diameter"), eyes.diameter, &EYE_DIAMETER);
        // Past the middle of the ball the socket would narrow again and hold its mould.
        let most = match (eyes.kind, diameter) {
            (EyeKind::Ball, Some(d)) => (0.5 * d).min(*DEPTH.end()),
            _ => *DEPTH.end(),
        };
        let depth = match eyes.depth {
            Some(depth) => self.length(&field("depth"), depth, &(*DEPTH.start()..=most)),
            None if eyes.kind == EyeKind::Ring => Some(0.0),
            None if self.is_broken(&field("depth")) => None,
            None => {
                self.report(
                    Problem::new(field("depth"), "`depth` is missing")
                        .limit("a depth; only a ring may go without"),
                );
                None
            }
        };
        let shape = match eyes.kind {
            EyeKind::Ring => {
                let fifth = diameter.map_or(1.0, |d| (0.2 * d).max(*RING_WIDTH.start()));
                let width =
                    self.length_or(&field("ring_width"), eyes.ring_width, fifth, &RING_WIDTH);
                let half = width.map_or(0.5, |w| (0.5 * w).max(*RING_HEIGHT.start()));
                // A higher bead than it is wide bends over as it leaves the mould.
                let most = width.map_or(*RING_HEIGHT.end(), |w| w.min(*RING_HEIGHT.end()));
                let limits = *RING_HEIGHT.start()..=most;
                let height = self.length_or(&field("ring_height"), eyes.ring_height, half, &limits);
                width
                    .zip(height)
                    .map(|(width, height)| EyeShape::Ring { width, height })
            }
            kind => {
                for (name, written) in [
                    ("ring_width", eyes.ring_width),
                    ("ring_height", eyes.ring_height),
                ] {
                    if written.is_some() {
                        self.report(
                            Problem::new(field(name), "only a ring has this")
                                .hint("write kind = \"ring\", or leave it out"),
                        );
                    }
                }
                Some(match kind {
                    EyeKind::Ball => EyeShape::Ball,
                    EyeKind::Flat => EyeShape::Flat,
                    _ => EyeShape::Mark,
                })
            }
        };
        let reach = match (eyes.kind, diameter, depth) {
            (EyeKind::Mark, ..) => 1.0,
            (EyeKind::Ball, Some(d), Some(depth)) => (depth * (d - depth)).max(0.0).sqrt(),
            (_, Some(d), _) => match shape {
                Some(EyeShape::Ring { width, .. }) => 0.5 * d + width,
                _ => 0.5 * d,
            },
            _ => 0.0,
        };
        // Next to nothing off the back or belly is on it, or the two would be one crooked one.
        let angle = self
            .number(&field("angle"), eyes.angle, &PAIR_ANGLE)
            .map(|a| {
                if (a - a.round()).abs() < 1e-6 {
                    a.round()
                } else {
                    a
                }
            });
        let at = self.along(&field("at"), eyes.at, reach, body);
        Some(EyesDesign {
            at: at?,
            angle: angle?,
            radius: 0.5 * diameter?,
            depth: depth?,
            shape: shape?,
        })
    }

    pub(super) fn slot(
        &mut self,
        path: &str,
        slot: &SlotSpec,
        body: Option<&BodyDesign>,
    ) -> Option<SlotDesign> {
        let field = |name: &str| format!("{path}.{name}");
        let width = self.length(&field("width"), slot.width, &SLOT_WIDTH);
        let depth = self.length(&field("depth"), slot.depth, &SLOT_DEPTH);
        let from = self.along(&field("from"), slot.from, 0.0, body);
        let to = self.along(&field("to"), slot.to, 0.0, body);
        let (from, to, width) = (from?, to?, width?);
        if to - from < width - SAME_PLACE {
            self.report(
                Problem::new(field("to"), "this slot is shorter than it is wide")
                    .value(slot.to)
                    .limit(format_args!("at least {}", self.least(from + width)))
                    .hint("slots run from nose to tail; their ends are half circles"),
            );
            return None;
        }
        Some(SlotDesign {
            side: slot.side,
            from,
            to,
            width,
            depth: depth?,
            how: slot.how,
        })
    }

    pub(super) fn bore(
        &mut self,
        path: &str,
        bore: &BoreSpec,
        body: Option<&BodyDesign>,
    ) -> Option<BoreDesign> {
        let diameter = self.length(&format!("{path}.diameter"), bore.diameter, &BORE);
        let from = self.point(&format!("{path}.from"), bore.from.as_deref());
        let to = self.point(&format!("{path}.to"), bore.to.as_deref());
        let (from, to) = (from?, to?);
        let length = body?.length;
        let ends = [from.unwrap_or([0.0; 3]), to.unwrap_or([length, 0.0, 0.0])];
        let apart = [0, 1, 2].map(|k| ends[1][k] - ends[0][k]);
        let apart = apart.iter().map(|d| d * d).sum::<f64>().sqrt();
        if apart < 1.0 {
            self.report(
                Problem::new(
                    format!("{path}.to"),
                    "both ends of this bore are at one place",
                )
                .limit(format_args!("ends at least {} apart", self.drawn(1.0))),
            );
            return None;
        }
        Some(BoreDesign {
            radius: 0.5 * diameter?,
            from,
            to,
            how: bore.how,
        })
    }

    /// A point given as (x, z) or (x, y, z); `None` if it cannot be read.
    #[allow(clippy::option_option)]
    fn point(&mut self, path: &str, written: Option<&[Length]>) -> Option<Option<[f64; 3]>> {
        if self.is_broken(path) {
            return None;
        }
        let Some(written) = written else {
            return Some(None);
        };
        const FAR: RangeInclusive<f64> = -1500.0..=1500.0;
        let axes: &[usize] = match written.len() {
            2 => &[0, 2],
            3 => &[0, 1, 2],
            n => {
                self.report(
                    Problem::new(path, "a point has two numbers or three")
                        .value(format_args!("{n} of them"))
                        .limit("[x, z] in the upright mid-plane, or [x, y, z]"),
                );
                return None;
            }
        };
        let numbers: Vec<Option<f64>> = written
            .iter()
            .enumerate()
            .map(|(i, &c)| self.length(&format!("{path}[{i}]"), c, &FAR))
            .collect();
        let mut point = [0.0; 3];
        for (&axis, number) in axes.iter().zip(numbers) {
            point[axis] = number?;
        }
        Some(Some(point))
    }

    pub(super) fn pocket(
        &mut self,
        path: &str,
        pocket: &PocketSpec,
        body: Option<&BodyDesign>,
    ) -> Option<PocketDesign> {
        let field = |name: &str| format!("{path}.{name}");
        let size = match (pocket.diameter, pocket.length, pocket.width) {
            (Some(d), None, None) => self
                .length(&field("diameter"), d, &POCKET)
                .map(|d| ([d; 2], true)),
            (None, Some(l), Some(w)) => {
                let length = self.length(&field("length"), l, &POCKET);
                let width = self.length(&field("width"), w, &POCKET);
                length.zip(width).map(|(l, w)| ([l, w], false))
            }
            _ if ["diameter", "length", "width"]
                .iter()
                .any(|name| self.is_broken(&field(name))) =>
            {
                None
            }
            _ => {
                self.report(
                    Problem::new(path, "this pocket's size is not clear")
                        .limit("either `diameter`, or `length` and `width`"),
                );
                None
            }
        };
        let depth = self.length(&field("depth"), pocket.depth, &POCKET_DEPTH);
        let angle = self.number(&field("angle"), pocket.angle, &ANGLE);
        let reach = size.map_or(0.0, |(size, _)| 0.5 * size[0]);
        let at = self.along(&field("at"), pocket.at, reach, body);
        let (size, round) = size?;
        Some(PocketDesign {
            at: at?,
            angle: angle?,
            size,
            round,
            depth: depth?,
            how: pocket.how,
        })
    }

    /// A place along the body, so far from its ends that what reaches out from it keeps clear
    /// of them.
    pub(super) fn along(
        &mut self,
        path: &str,
        at: Length,
        reach: f64,
        body: Option<&BodyDesign>,
    ) -> Option<f64> {
        let length = body?.length;
        let clear = FROM_END + reach;
        if clear > length - clear {
            self.report(
                Problem::new(path, "this is wider than the body is long")
                    .value(self.drawn(2.0 * reach))
                    .limit(format_args!(
                        "less than {}",
                        self.drawn(length - 2.0 * FROM_END)
                    )),
            );
            return None;
        }
        self.length(path, at, &(clear..=length - clear))
    }
}
