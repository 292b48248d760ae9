//! Rules of a measured body: readings in, a fair outline out.

use std::ops::RangeInclusive;

use super::fair::{by_others, doubted, fairest};
use super::{HALF_THICKNESS, Rules, SAME_PLACE, STATION_GAP, THICKNESS};
use crate::quantity::Length;
use crate::spec::{
    BodySpec, DoubtDesign, End, Knot, MeasuredDesign, MeasuredSpec, Problem, ReadingDesign,
    SizeDesign, Width,
};

/// From a micrometer to a ruler (reasoned).
const UNCERTAINTY: RangeInclusive<f64> = 0.005..=3.0;
/// A reading that stands off by less than this many times the uncertainty is no slip.
const SLIP: f64 = 4.0;
/// Readings at most: more take too long to smooth, and no hand takes them.
const MOST: usize = 100;

/// A reading in order along the body.
#[derive(Clone, Copy)]
struct Reading {
    /// Its place in the spec's list.
    index: usize,
    at: f64,
    height: Option<f64>,
    width: Option<f64>,
    /// Whether both were read as one diameter.
    round: bool,
}

impl Reading {
    /// What the spec calls the size that was read.
    fn field(&self, what: &'static str) -> &'static str {
        if self.round { "diameter" } else { what }
    }
}

/// Checked readings from nose to tail.
pub(super) struct Readings {
    list: Vec<Reading>,
    uncertainty: f64,
}

/// What came of readings.
pub(super) struct Measured {
    /// Knots of back and belly, alike.
    pub(super) height: Vec<Knot>,
    /// Knots of the half-width, if widths were read.
    pub(super) half_width: Option<Vec<Knot>>,
    pub(super) design: MeasuredDesign,
}

/// A curve through readings of one size.
struct Smoothed {
    knots: Vec<Knot>,
    /// By knot, half of what all other readings make of its place.
    others: Vec<Option<f64>>,
    doubt: Option<DoubtDesign>,
}

impl Smoothed {
    /// What is told of a size that was read, in the size that was measured.
    fn told(&self, reading: &Reading, size: Option<f64>, scale: f64) -> Option<SizeDesign> {
        let knots = self.knots.iter();
        let i = knots
            .map(|k| (k.at - reading.at).abs())
            .position(|off| off <= SAME_PLACE)?;
        let read = size?;
        Some(SizeDesign {
            read: read / scale,
            off: (2.0 * self.knots[i].before - read) / scale,
            by_others: self.others[i].map(|half| 2.0 * half / scale),
        })
    }
}

impl Readings {
    /// Whether a reading stands on a place.
    pub(super) fn stand_on(&self, at: f64) -> bool {
        self.list.iter().any(|r| r.at == at)
    }
}

impl Rules<'_> {
    /// The readings, each by itself and beside its neighbours.
    pub(super) fn readings(
        &mut self,
        body: &BodySpec,
        measured: &MeasuredSpec,
        length: Option<f64>,
    ) -> Option<Readings> {
        const LIST: &str = "body.measured.readings";
        if self.is_broken("body.measured") || self.is_broken(LIST) {
            return None;
        }
        let before = self.problems.len();
        if !body.outline.is_empty() {
            self.report(
                Problem::new("body.measured", "this body is both drawn and measured")
                    .limit("either `outline`, or `measured`"),
            );
        }
        let count = measured.readings.len() as f64;
        if !(2..=MOST).contains(&measured.readings.len()) {
            self.report(
                Problem::new(LIST, "this is no number of readings to lay a curve through")
                    .value(format_args!("{count} of them"))
                    .limit(format_args!("2 to {MOST} readings")),
            );
        }
        let path = "body.measured.uncertainty";
        let uncertainty = self.length(path, measured.uncertainty, &UNCERTAINTY);
        let mut list = Vec::new();
        for (index, reading) in measured.readings.iter().enumerate() {
            let field = |name: &str| format!("{LIST}[{index}].{name}");
            let mut size = |name: &str, size: Option<Length>| {
                size.and_then(|size| self.length(&field(name), size, &THICKNESS))
            };
            let diameter = size("diameter", reading.diameter);
            let (height, width) = (size("height", reading.height), size("width", reading.width));
            match (reading.diameter, reading.height, reading.width) {
                (Some(_), None, None) | (None, Some(_), _) | (None, None, Some(_)) => {}
                _ => self.report(
                    Problem::new(
                        format!("{LIST}[{index}]"),
                        "what was read here is not clear",
                    )
                    .limit("either `diameter`, or `height`, `width` or both"),
                ),
            }
            let at = length.and_then(|length| {
                let at = self.length(&field("at"), reading.at, &(0.0..=length))?;
                // On an end exactly, if it is meant to be.
                let at = if at <= SAME_PLACE { 0.0 } else { at };
                Some(if length - at <= SAME_PLACE {
                    length
                } else {
                    at
                })
            });
            let thick = [reading.diameter, reading.height, reading.width];
            for (name, written) in ["diameter", "height", "width"].into_iter().zip(thick) {
                if let (Some(written), Some(length)) = (written, length)
                    && self.is_thick(written.to_mm(self.units) * self.scale, length)
                {
                    let path = format!("{LIST}[{index}].{name}");
                    self.thick(&path, written.to_string(), length, Some(written));
                }
            }
            if let Some(at) = at {
                list.push(Reading {
                    index,
                    at,
                    height: diameter.or(height),
                    width: diameter.or(width),
                    round: reading.diameter.is_some(),
                });
            }
        }
        list.sort_by(|a, b| a.at.total_cmp(&b.at));
        let (uncertainty, length) = (uncertainty?, length?);
        for (i, b) in list.iter().enumerate() {
            for a in &list[..i] {
                self.beside(a, b, uncertainty);
            }
            let to_end = b.at.min(length - b.at);
            if to_end > 0.0 && to_end < super::END_GAP - SAME_PLACE {
                self.report(
                    Problem::new(
                        format!("{LIST}[{}].at", b.index),
                        "this reading is too close to the end of the body",
                    )
                    .value(self.drawn(b.at))
                    .limit(format_args!(
                        "on the end, or at least {} from it",
                        self.drawn(super::END_GAP)
                    )),
                );
            }
        }
        (self.problems.len() == before).then_some(Readings { list, uncertainty })
    }

    /// Two readings at one place must agree; others must be apart.
    fn beside(&mut self, a: &Reading, b: &Reading, uncertainty: f64) {
        let apart = b.at - a.at;
        let path = format!("body.measured.readings[{}]", b.index);
        if apart > SAME_PLACE {
            if apart < STATION_GAP - SAME_PLACE {
                self.report(
                    Problem::new(
                        format!("{path}.at"),
                        format!("this is too close to readings[{}]", a.index),
                    )
                    .value(self.drawn(b.at))
                    .limit(format_args!(
                        "the same place as it, {}, or at least {} from it",
                        self.drawn(a.at),
                        self.drawn(STATION_GAP)
                    )),
                );
            }
            return;
        }
        for (what, a_size, b_size) in [("height", a.height, b.height), ("width", a.width, b.width)]
        {
            let (what, other) = (b.field(what), a.field(what));
            let of = if what == other {
                "that".to_owned()
            } else {
                format!("the {other}")
            };
            if let (Some(a_size), Some(b_size)) = (a_size, b_size)
                && (a_size - b_size).abs() > 2.0 * uncertainty + SAME_PLACE
            {
                self.report(
                    Problem::new(
                        &path,
                        format!("this {what} contradicts {of} of readings[{}]", a.index),
                    )
                    .value(format_args!(
                        "{} and {} at the same place",
                        self.drawn(a_size),
                        self.drawn(b_size)
                    ))
                    .limit(format_args!(
                        "not more than {} apart, twice the uncertainty",
                        self.drawn(2.0 * uncertainty)
                    ))
                    .hint("measure again, or state a larger uncertainty"),
                );
                return;
            }
        }
    }

    /// The fair outlines through checked readings.
    pub(super) fn measured(
        &mut self,
        body: &BodySpec,
        readings: &Readings,
        length: f64,
        nose: End,
        tail: End,
    ) -> Option<Measured> {
        let tall = self.smoothed("height", readings, length, [nose, tail], |r| r.height)?;
        let any_width = readings.list.iter().any(|r| r.width.is_some());
        if any_width && body.width != Width::default() {
            self.report(
                Problem::new("body.width", "the width is both given and measured")
                    .hint("take `width` out of the body, or the widths out of the readings"),
            );
            return None;
        }
        let wide = match any_width {
            true => Some(self.smoothed("width", readings, length, [nose, tail], |r| r.width)?),
            false => None,
        };
        // One slip in a diameter shows in both.
        let in_width = wide.as_ref().and_then(|wide| wide.doubt);
        let in_width =
            in_width.filter(|w| tall.doubt.as_ref().is_none_or(|t| t.reading != w.reading));
        let mut found = readings.list.clone();
        found.sort_by_key(|r| r.index);
        // Told as it was read, whatever size is made of it.
        let scale = self.scale;
        let design = MeasuredDesign {
            uncertainty: readings.uncertainty / scale,
            doubts: tall.doubt.into_iter().chain(in_width).collect(),
            readings: found
                .iter()
                .map(|r| ReadingDesign {
                    at: r.at / scale,
                    height: tall.told(r, r.height, scale),
                    width: wide.as_ref().and_then(|w| w.told(r, r.width, scale)),
                })
                .collect(),
        };
        let (height, half_width) = (tall.knots, wide.map(|wide| wide.knots));
        Some(Measured {
            height,
            half_width,
            design,
        })
    }

    fn smoothed(
        &mut self,
        what: &'static str,
        readings: &Readings,
        length: f64,
        [nose, tail]: [End; 2],
        size: impl Fn(&Reading) -> Option<f64>,
    ) -> Option<Smoothed> {
        // Half sizes: places with the band that all readings there leave open.
        let mut bands: Vec<[f64; 3]> = Vec::new();
        for r in &readings.list {
            let Some(size) = size(r) else { continue };
            let (low, high) = (
                0.5 * (size - readings.uncertainty),
                0.5 * (size + readings.uncertainty),
            );
            match bands.last_mut() {
                Some([at, l, h]) if r.at - *at <= SAME_PLACE => {
                    (*l, *h) = (l.max(low), h.min(high));
                    if *l > *h {
                        // Within rounding of each other, or it had been reported.
                        let middle = 0.5 * (*l + *h);
                        (*l, *h) = (middle, middle);
                    }
                }
                _ => bands.push([r.at, low.max(*HALF_THICKNESS.start()), high]),
            }
        }
        let before = self.problems.len();
        // As the maker calls it.
        let all_round = readings.list.iter().all(|r| r.round);
        let called = if all_round { "diameter" } else { what };
        for (name, end, place) in [("nose", nose, 0.0), ("tail", tail, length)] {
            if end == End::Flat && !bands.iter().any(|b| b[0] == place) {
                self.report(
                    Problem::new(
                        "body.measured.readings",
                        format!("the {name} is flat, but no {called} was read there"),
                    )
                    .hint(format_args!("add a reading at {}", self.drawn(place))),
                );
            }
        }
        if bands.is_empty() {
            self.report(Problem::new(
                "body.measured.readings",
                format!("no {called} was read"),
            ));
        }
        if self.problems.len() > before {
            return None;
        }
        // A round end closes as the root of the distance from it; in these variables an
        // ellipse, and whatever ends like one, is a smooth curve with its ends on the axis.
        let unroll = |x: f64| {
            let x = x / length;
            match (nose, tail) {
                (End::Round, End::Round) => {
                    libm::acos((1.0 - 2.0 * x).clamp(-1.0, 1.0)) / std::f64::consts::PI
                }
                (End::Round, _) => x.sqrt(),
                (_, End::Round) => 1.0 - (1.0 - x).max(0.0).sqrt(),
                _ => x,
            }
        };
        let mut all = bands.clone();
        if nose != End::Flat {
            all.insert(0, [0.0; 3]);
        }
        if tail != End::Flat {
            all.push([length, 0.0, 0.0]);
        }
        let t: Vec<f64> = all.iter().map(|b| unroll(b[0])).collect();
        let (low, high): (Vec<f64>, Vec<f64>) = all.iter().map(|b| (b[1], b[2])).unzip();
        let fair = fairest(&t, &low, &high);
        let skipped = usize::from(nose != End::Flat);
        let doubt =
            doubted(&t, &low, &high, SLIP * 0.5 * readings.uncertainty).and_then(|(i, wanted)| {
                let at = all[i][0];
                let reading = readings
                    .list
                    .iter()
                    .find(|r| r.at == at && size(r).is_some())?;
                Some(DoubtDesign {
                    reading: reading.index,
                    field: reading.field(what),
                    off: (size(reading)? - 2.0 * wanted) / self.scale,
                })
            });
        let knots = bands.iter().zip(&fair[skipped..]).map(|(band, &y)| Knot {
            at: band[0],
            before: y,
            after: y,
            corner: false,
        });
        let others = by_others(&t, &low, &high);
        Some(Smoothed {
            knots: knots.collect(),
            others: others[skipped..][..bands.len()].to_vec(),
            doubt,
        })
    }
}
