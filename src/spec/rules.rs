//! Every rule a spec must keep, and the numbers that come of one that does.
//!
//! Each value is checked on its own first; a rule that compares values runs only if every
//! one of them stood, so that one mistake is reported once. Limits are in millimetres of
//! full height, width or diameter.

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

use super::{
    BodyDesign, BodyEnd, BodySpec, CollarDesign, CollarSpec, Design, End, Knot, MouldDesign,
    MouldSpec, Problem, Problems, Spec, Width,
};
use crate::quantity::{Length, LengthUnit};

/// From the smallest bait worth casting to the largest mould a bench can hold (reasoned).
const BODY_LENGTH: RangeInclusive<f64> = 5.0..=1000.0;
/// Heights, widths and diameters: a hair that still casts, to a body of 300 mm (reasoned).
const THICKNESS: RangeInclusive<f64> = 0.5..=300.0;
/// Back and belly may be half of that each.
const HALF_THICKNESS: RangeInclusive<f64> = 0.25..=150.0;
/// Ten times as high as wide, to ten times as wide as high (reasoned).
const WIDTH_RATIO: RangeInclusive<f64> = 0.1..=10.0;
/// Below 1.5 the section's edges get too sharp to demould, above 6 it is a box (reasoned).
const EXPONENT: RangeInclusive<f64> = 1.5..=6.0;
/// Closer stations cannot be told apart on the bench, and make slivers in the mesh.
const STATION_GAP: f64 = 0.2;
/// The same towards an end, which a round or pointed body has yet to close over.
const END_GAP: f64 = 0.5;
/// Places closer than this are the same: far below any tolerance, far above rounding.
const SAME_PLACE: f64 = 1e-6;
/// A smaller step vanishes in printing (reasoned).
const LEAST_STEP: f64 = 0.2;
/// Collar cylinders in a row.
const COLLAR_STEPS: RangeInclusive<f64> = 1.0..=6.0;
/// Length of a collar cylinder: what prints, to what still is a stub (reasoned).
const COLLAR_LENGTH: RangeInclusive<f64> = 0.5..=100.0;
/// A smaller difference between neighbouring diameters leaves too thin a shoulder.
const COLLAR_SHOULDER: f64 = 0.4;
/// Material over the body: rubber thinner than 3 mm tears (common practice).
const WALL: RangeInclusive<f64> = 3.0..=100.0;
/// Material between a key's socket and the outside (reasoned).
const WALL_BEHIND_KEY: f64 = 2.0;
/// Fewer than four keys cannot lock both ways and both ends.
const KEY_COUNT: RangeInclusive<f64> = 4.0..=24.0;
/// What prints cleanly, to what fits beside a bait (reasoned).
const KEY_DIAMETER: RangeInclusive<f64> = 3.0..=30.0;
/// A lower key slides out of its socket (reasoned).
const KEY_LEAST_HEIGHT: f64 = 1.0;
/// Less than the lower end, other than none at all, is finer than any print (reasoned).
const KEY_CLEARANCE: RangeInclusive<f64> = 0.05..=1.0;
/// Where the plastic enters: thick plastic will not pass less than 1 mm (reasoned).
const GATE: RangeInclusive<f64> = 1.0..=20.0;
/// What can be poured into, to what a hand can hold (reasoned).
const MOUTH: RangeInclusive<f64> = 5.0..=60.0;
/// Depth of the funnel (reasoned).
const FUNNEL: RangeInclusive<f64> = 2.0..=100.0;
/// Number of vents.
const VENT_COUNT: RangeInclusive<f64> = 0.0..=8.0;
/// Wide enough to print, narrow enough to trim off (reasoned).
const VENT_WIDTH: RangeInclusive<f64> = 0.5..=5.0;
/// Deep enough for air, too shallow for much plastic (common practice at the default).
const VENT_DEPTH: RangeInclusive<f64> = 0.1..=3.0;
/// From finer than any printer to coarser than any use.
const TOLERANCE: RangeInclusive<f64> = 0.001..=1.0;
/// A tolerance is this share of the smallest radius at most, or facets show as flats.
const TOLERANCE_SHARE: f64 = 0.1;
/// Characters in a name.
const NAME_LENGTH: usize = 80;

impl Design {
    /// Checks a spec by every rule, fills in every default and turns it into millimetres.
    ///
    /// # Errors
    /// Everything that is wrong, in the order of the spec's fields, without places: use
    /// [`Source::design`](super::Source::design) for a spec that came from a text.
    pub fn from_spec(spec: &Spec) -> Result<Design, Problems> {
        check(spec, &BTreeSet::new()).map_err(Problems)
    }
}

/// As [`Design::from_spec`]; nothing is said of values at the broken paths, nor of rules
/// that hang on them.
pub(super) fn check(spec: &Spec, broken: &BTreeSet<String>) -> Result<Design, Vec<Problem>> {
    let mut rules = Rules {
        units: spec.units,
        broken,
        problems: Vec::new(),
    };
    let name = rules.name(spec.name.as_deref());
    let body = rules.body(&spec.body);
    let before = rules.problems.len();
    let tolerance = rules.tolerance(spec.mesh.tolerance, body.as_ref());
    // The collar needs the tolerance, but the mesh comes last in a spec.
    let of_mesh = rules.problems.split_off(before);
    let collar = match &spec.collar {
        Some(collar) => rules.collar(collar, body.as_ref(), tolerance),
        None => Some(Vec::new()),
    };
    let mould = rules.mould(&spec.mould, spec.collar.is_some());
    rules.problems.extend(of_mesh);
    match (name, body, collar, mould, tolerance) {
        (Some(name), Some(body), Some(collar), Some(mould), Some(tolerance))
            if rules.problems.is_empty() =>
        {
            Ok(Design {
                name,
                units: spec.units,
                body,
                collar,
                mould,
                tolerance,
            })
        }
        _ => Err(rules.problems),
    }
}

/// A station of either list, checked as far as it can be on its own.
struct Checked {
    at: Option<f64>,
    /// Distances from the axis coming from the nose: one each for the outlines of the list.
    before: Option<[f64; 2]>,
    /// How much larger they are going on to the tail; 1 without a step.
    step: Option<f64>,
    corner: bool,
}

struct Rules<'s> {
    units: LengthUnit,
    broken: &'s BTreeSet<String>,
    problems: Vec<Problem>,
}

impl Rules<'_> {
    fn report(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Whether the value at the path, or one around it, is a stand-in.
    fn is_broken(&self, path: &str) -> bool {
        self.broken.iter().any(|broken| {
            path.strip_prefix(broken.as_str())
                .is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        })
    }

    /// A length for the maker to read, in millimetres too if other units are written.
    fn show(&self, mm: f64) -> String {
        let shown = if mm.abs() < 0.1 {
            format!("{mm} mm")
        } else {
            LengthUnit::Mm.show(mm)
        };
        match self.units {
            LengthUnit::Mm => shown,
            units => format!("{} ({shown})", units.show(mm)),
        }
    }

    fn show_limits(&self, limits: &RangeInclusive<f64>) -> String {
        format!(
            "{} to {}",
            self.show(*limits.start()),
            self.show(*limits.end())
        )
    }

    /// Whether this length cannot be judged: a stand-in, or a bare number where the unit is one.
    fn is_unknown(&self, path: &str, length: Length) -> bool {
        self.is_broken(path) || (length.unit.is_none() && self.is_broken("units"))
    }

    /// The number, if it is within its limits.
    fn number(&mut self, path: &str, value: f64, limits: &RangeInclusive<f64>) -> Option<f64> {
        if self.is_broken(path) {
            return None;
        }
        let shown = format!("{} to {}", limits.start(), limits.end());
        self.within(path, value, limits, value.to_string(), shown)
    }

    /// The length in millimetres, if it is within its limits.
    fn length(&mut self, path: &str, length: Length, limits: &RangeInclusive<f64>) -> Option<f64> {
        if self.is_unknown(path, length) {
            return None;
        }
        let (mm, shown) = (length.to_mm(self.units), self.show_limits(limits));
        self.within(path, mm, limits, length.to_string(), shown)
    }

    /// As [`Rules::length`], in millimetres if left out.
    fn length_or(
        &mut self,
        path: &str,
        length: Option<Length>,
        default: f64,
        limits: &RangeInclusive<f64>,
    ) -> Option<f64> {
        self.length(path, length.unwrap_or(Length::mm(default)), limits)
    }

    fn within(
        &mut self,
        path: &str,
        value: f64,
        limits: &RangeInclusive<f64>,
        written: String,
        shown: String,
    ) -> Option<f64> {
        // A limit written in another unit may come out a rounding beyond it.
        const ROUNDING: f64 = 1e-9;
        let what = if !value.is_finite() {
            "this is not a number that can be worked with"
        } else if value <= 0.0 && *limits.start() > 0.0 {
            "this must be more than zero"
        } else if value < limits.start() * (1.0 - ROUNDING) {
            "this is too small"
        } else if value > limits.end() * (1.0 + ROUNDING) {
            "this is too large"
        } else {
            return Some(value.clamp(*limits.start(), *limits.end()));
        };
        self.report(Problem::new(path, what).value(written).limit(shown));
        None
    }

    fn name(&mut self, name: Option<&str>) -> Option<String> {
        let name = name.unwrap_or("bait");
        if self.is_broken("name") {
            return None;
        }
        let count = name.chars().count();
        let what = if !name.chars().any(char::is_alphanumeric) {
            "a name needs a letter or a digit, since the kit folder is named after it"
        } else if count > NAME_LENGTH {
            "this name is too long"
        } else if name.chars().any(char::is_control) {
            "a name is one line of plain text"
        } else {
            return Some(name.to_owned());
        };
        let short: String = name.escape_debug().take(40).collect();
        self.report(
            Problem::new("name", what)
                .value(format_args!("\"{short}\""))
                .limit(format_args!("1 to {NAME_LENGTH} characters")),
        );
        None
    }

    fn body(&mut self, body: &BodySpec) -> Option<BodyDesign> {
        let length = self.length("body.length", body.length, &BODY_LENGTH);
        let outline = self.outline(body);
        let at = self.positions("body.outline", &outline, length);
        let on = |end: f64| at.as_ref().map(|at| at.contains(&end));
        let (at_nose, at_tail) = (on(0.0), length.and_then(on));
        let nose = self.end("nose", "0", body.nose, at_nose);
        let tail = self.end("tail", "the length", body.tail, at_tail);
        self.steps_off_ends("body.outline", &outline, at.as_deref(), length);
        let back = knots(&outline, at.as_deref(), 0);
        let belly = knots(&outline, at.as_deref(), 1);
        let half_width = match &body.width {
            Width::OfHeight(share) => {
                let share = self.number("body.width", *share, &WIDTH_RATIO);
                self.width_of_height(share, back.as_deref(), belly.as_deref())
            }
            Width::Stations(_) => self.width_stations(body, length, nose, tail),
        };
        let exponent = self.number("body.section", body.section, &EXPONENT);
        Some(BodyDesign {
            length: length?,
            nose: nose?,
            tail: tail?,
            back: back?,
            belly: belly?,
            half_width: half_width?,
            exponent: exponent?,
        })
    }

    /// The outline's stations with back and belly.
    fn outline(&mut self, body: &BodySpec) -> Vec<Checked> {
        if body.outline.is_empty() && !self.is_broken("body.outline") {
            self.report(
                Problem::new("body.outline", "the outline has no stations")
                    .limit("one station or more")
                    .hint("add one such as { at = 30, height = 19 }"),
            );
        }
        let mut checked = Vec::with_capacity(body.outline.len());
        for (i, station) in body.outline.iter().enumerate() {
            let path = format!("body.outline[{i}]");
            let field = |name: &str| format!("{path}.{name}");
            let known = !["", ".height", ".back", ".belly"]
                .iter()
                .any(|name| self.is_broken(&format!("{path}{name}")));
            let before = match (station.height, station.back, station.belly) {
                _ if !known => None,
                (Some(height), None, None) => self
                    .length(&field("height"), height, &THICKNESS)
                    .map(|height| [height / 2.0; 2]),
                (None, Some(back), Some(belly)) => {
                    let back = self.length(&field("back"), back, &HALF_THICKNESS);
                    let belly = self.length(&field("belly"), belly, &HALF_THICKNESS);
                    back.zip(belly).map(|(back, belly)| [back, belly])
                }
                (Some(_), _, _) => {
                    self.report(
                        Problem::new(&path, "this station gives its height twice over")
                            .limit("either `height`, or `back` and `belly`")
                            .hint("keep `height` for a body alike above and below the axis"),
                    );
                    None
                }
                (None, None, None) => {
                    self.report(
                        Problem::new(&path, "this station has no height")
                            .limit("either `height`, or `back` and `belly`")
                            .hint("add height = …"),
                    );
                    None
                }
                (None, back, _) => {
                    let (given, lacks) = match back {
                        Some(_) => ("back", "belly"),
                        None => ("belly", "back"),
                    };
                    let what = format!("this station gives `{given}` but no `{lacks}`");
                    self.report(
                        Problem::new(&path, what)
                            .limit("either `height`, or `back` and `belly`")
                            .hint(format_args!("add {lacks} = …")),
                    );
                    None
                }
            };
            let full = before.map(|[back, belly]| back + belly);
            checked.push(Checked {
                at: self.at(&field("at"), station.at),
                before,
                step: self.step(&field("step_to"), station.step_to, full),
                corner: station.corner,
            });
        }
        checked
    }

    /// A station's place, before it is known how long the body is.
    fn at(&mut self, path: &str, at: Length) -> Option<f64> {
        if self.is_unknown(path, at) {
            return None;
        }
        let mm = at.to_mm(self.units);
        let what = if !mm.is_finite() {
            "this is not a number that can be worked with"
        } else if mm < -SAME_PLACE {
            "a station cannot stand before the nose"
        } else {
            return Some(mm.max(0.0));
        };
        self.report(Problem::new(path, what).value(at).limit("0 to the length"));
        None
    }

    /// How much larger the station's outlines are behind the step.
    fn step(&mut self, path: &str, step_to: Option<Length>, full: Option<f64>) -> Option<f64> {
        if self.is_broken(path) {
            return None;
        }
        let Some(step_to) = step_to else {
            return Some(1.0);
        };
        let behind = self.length(path, step_to, &THICKNESS)?;
        let full = full?;
        if (behind - full).abs() < LEAST_STEP - SAME_PLACE {
            self.report(
                Problem::new(path, "this step is too small to make")
                    .value(step_to)
                    .limit(format_args!(
                        "at least {} more or less than {}",
                        self.show(LEAST_STEP),
                        self.show(full)
                    ))
                    .hint("leave `step_to` out, or use corner = true"),
            );
            return None;
        }
        Some(behind / full)
    }

    /// The places of the stations, those on an end exactly on it; `None` if any is wrong.
    fn positions(
        &mut self,
        list: &str,
        stations: &[Checked],
        length: Option<f64>,
    ) -> Option<Vec<f64>> {
        let before = self.problems.len();
        let mut places: Vec<Option<f64>> = Vec::with_capacity(stations.len());
        for (i, station) in stations.iter().enumerate() {
            let path = format!("{list}[{i}].at");
            let Some(mut at) = station.at else {
                places.push(None);
                continue;
            };
            if at <= SAME_PLACE {
                at = 0.0;
            }
            if let Some(length) = length {
                if (at - length).abs() <= SAME_PLACE {
                    at = length;
                }
                let to_end = at.min(length - at);
                if to_end < 0.0 {
                    self.report(
                        Problem::new(&path, "this station lies beyond the tail")
                            .value(self.show(at))
                            .limit(format_args!("0 to {}", self.show(length))),
                    );
                    places.push(None);
                    continue;
                }
                if to_end > 0.0 && to_end < END_GAP - SAME_PLACE {
                    self.report(
                        Problem::new(&path, "this station is too close to the end of the body")
                            .value(self.show(at))
                            .limit(format_args!(
                                "on the end, or at least {} from it",
                                self.show(END_GAP)
                            ))
                            .hint("for a flat end put the station right on it"),
                    );
                }
            }
            if let Some(&Some(last)) = places.last() {
                let problem = if (at - last).abs() <= SAME_PLACE {
                    Problem::new(&path, format!("two stations at {}", self.show(at)))
                        .limit("each station farther from the nose than the one before")
                        .hint("mark a jump with step_to")
                } else if at < last {
                    Problem::new(&path, "stations must run from nose to tail")
                        .value(self.show(at))
                        .limit(format_args!("more than {}", self.show(last)))
                        .hint("put the stations in order of `at`")
                } else if at - last < STATION_GAP - SAME_PLACE {
                    Problem::new(&path, "this station is too close to the one before")
                        .value(self.show(at))
                        .limit(format_args!(
                            "at least {} after {}",
                            self.show(STATION_GAP),
                            self.show(last)
                        ))
                        .hint("mark a jump with step_to")
                } else {
                    places.push(Some(at));
                    continue;
                };
                self.report(problem);
            }
            places.push(Some(at));
        }
        if self.problems.len() > before || self.is_broken(list) || places.is_empty() {
            return None;
        }
        places.into_iter().collect()
    }

    /// How the body closes at one end; `on_end` says whether a station stands there.
    fn end(
        &mut self,
        name: &str,
        place: &str,
        written: Option<End>,
        on_end: Option<bool>,
    ) -> Option<End> {
        let path = format!("body.{name}");
        if self.is_broken(&path) {
            return None;
        }
        match (written, on_end) {
            (Some(End::Flat), Some(false)) => {
                self.report(
                    Problem::new(path, format!("a flat {name} needs a station on it"))
                        .value("\"flat\"")
                        .hint(format_args!(
                            "add a station at {place} to the outline, or make the {name} \
                             \"round\" or \"pointed\""
                        )),
                );
                None
            }
            (Some(end @ (End::Round | End::Pointed)), Some(true)) => {
                let word = match end {
                    End::Round => "round",
                    _ => "pointed",
                };
                self.report(
                    Problem::new(path, format!("a {word} {name} has no station on it"))
                        .value(format_args!("\"{word}\""))
                        .hint(format_args!(
                            "take the station at {place} out of the outline, or make the {name} \
                             \"flat\""
                        )),
                );
                None
            }
            (Some(end), _) => Some(end),
            (None, Some(true)) => Some(End::Flat),
            (None, Some(false)) => Some(End::Round),
            (None, None) => None,
        }
    }

    fn steps_off_ends(
        &mut self,
        list: &str,
        stations: &[Checked],
        at: Option<&[f64]>,
        length: Option<f64>,
    ) {
        let (Some(at), Some(length)) = (at, length) else {
            return;
        };
        for (i, (station, &at)) in stations.iter().zip(at).enumerate() {
            let steps = station.step.is_some_and(|step| step != 1.0);
            if steps && (at == 0.0 || at == length) {
                self.report(
                    Problem::new(format!("{list}[{i}].step_to"), "a step cannot be on an end")
                        .hint("leave `step_to` out and give the size the end has"),
                );
            }
        }
    }

    fn width_of_height(
        &mut self,
        share: Option<f64>,
        back: Option<&[Knot]>,
        belly: Option<&[Knot]>,
    ) -> Option<Vec<Knot>> {
        let (share, back, belly) = (share?, back?, belly?);
        let half_width: Vec<Knot> = back
            .iter()
            .zip(belly)
            .map(|(back, belly)| Knot {
                before: share * (back.before + belly.before) / 2.0,
                after: share * (back.after + belly.after) / 2.0,
                ..*back
            })
            .collect();
        for size in half_width
            .iter()
            .flat_map(|knot| [2.0 * knot.before, 2.0 * knot.after])
        {
            if size < THICKNESS.start() - SAME_PLACE || size > THICKNESS.end() + SAME_PLACE {
                self.report(
                    Problem::new("body.width", "this makes the body too thin or too wide")
                        .value(format_args!(
                            "{share}, which comes to {} at one station",
                            self.show(size)
                        ))
                        .limit(format_args!("widths of {}", self.show_limits(&THICKNESS))),
                );
                return None;
            }
        }
        Some(half_width)
    }

    fn width_stations(
        &mut self,
        body: &BodySpec,
        length: Option<f64>,
        nose: Option<End>,
        tail: Option<End>,
    ) -> Option<Vec<Knot>> {
        let Width::Stations(stations) = &body.width else {
            return None;
        };
        if stations.is_empty() {
            self.report(
                Problem::new("body.width", "the width has no stations")
                    .limit("one station or more, or a share of the height such as 0.7"),
            );
            return None;
        }
        let mut checked = Vec::with_capacity(stations.len());
        for (i, station) in stations.iter().enumerate() {
            let field = |name: &str| format!("body.width[{i}].{name}");
            let width = self.length(&field("width"), station.width, &THICKNESS);
            checked.push(Checked {
                at: self.at(&field("at"), station.at),
                before: width.map(|width| [width / 2.0; 2]),
                step: self.step(&field("step_to"), station.step_to, width),
                corner: station.corner,
            });
        }
        let at = self.positions("body.width", &checked, length);
        self.steps_off_ends("body.width", &checked, at.as_deref(), length);
        if let (Some(at), Some(length)) = (&at, length) {
            let ends = [
                ("nose", nose, 0.0, "0"),
                ("tail", tail, length, "the length"),
            ];
            for (name, end, place, words) in ends {
                let problem = match (end, at.iter().position(|&at| at == place)) {
                    (Some(End::Flat), None) => Problem::new(
                        "body.width",
                        format!("the {name} is flat, but no width is given there"),
                    )
                    .hint(format_args!("add a width at {words}")),
                    (Some(End::Round | End::Pointed), Some(i)) => Problem::new(
                        format!("body.width[{i}].at"),
                        format!("the {name} is not flat, so it has no width"),
                    )
                    .hint(format_args!(
                        "take this width out, or put a station at {words} into the outline"
                    )),
                    _ => continue,
                };
                self.report(problem);
            }
        }
        knots(&checked, at.as_deref(), 0)
    }

    fn tolerance(&mut self, written: Option<Length>, body: Option<&BodyDesign>) -> Option<f64> {
        const PATH: &str = "mesh.tolerance";
        let tolerance = self.length_or(PATH, written, 0.05, &TOLERANCE)?;
        if let Some(body) = body {
            let smallest = [&body.back, &body.belly, &body.half_width]
                .into_iter()
                .flatten()
                .flat_map(|knot| [knot.before, knot.after])
                .fold(f64::INFINITY, f64::min);
            let most = smallest * TOLERANCE_SHARE;
            if tolerance > most * (1.0 + SAME_PLACE) {
                // Rounded down, so that what is proposed is accepted.
                let proposed = ((most * 1000.0).floor() / 1000.0).max(*TOLERANCE.start());
                self.report(
                    Problem::new(PATH, "the tolerance is too coarse for so thin a body")
                        .value(format_args!("{tolerance} mm"))
                        .limit(format_args!(
                            "a tenth of the smallest radius, which is {}",
                            self.show(smallest)
                        ))
                        .hint(format_args!(
                            "write tolerance = \"{proposed} mm\" under [mesh]"
                        )),
                );
                return None;
            }
        }
        Some(tolerance)
    }

    fn collar(
        &mut self,
        collar: &CollarSpec,
        body: Option<&BodyDesign>,
        tolerance: Option<f64>,
    ) -> Option<Vec<CollarDesign>> {
        if self.is_broken("collar") || self.is_broken("collar.steps") {
            return None;
        }
        let before = self.problems.len();
        if body.is_some_and(|body| body.tail != End::Flat) {
            self.report(
                Problem::new("collar", "a collar needs a flat tail to stand on")
                    .hint("add a station at the length to the outline"),
            );
        }
        let count = collar.steps.len() as f64;
        self.number("collar.steps", count, &COLLAR_STEPS);
        let mut cylinders = Vec::new();
        let mut last: Option<f64> = None;
        for (i, step) in collar.steps.iter().enumerate() {
            let path = format!("collar.steps[{i}]");
            let length = self.length(&format!("{path}.length"), step.length, &COLLAR_LENGTH);
            let path = format!("{path}.diameter");
            let diameter = self.length(&path, step.diameter, &THICKNESS);
            if let (Some(last), Some(diameter)) = (last, diameter)
                && (diameter - last).abs() < COLLAR_SHOULDER - SAME_PLACE
            {
                self.report(
                    Problem::new(path, "this step of the collar is too slight")
                        .value(step.diameter)
                        .limit(format_args!(
                            "at least {} more or less than {}",
                            self.show(COLLAR_SHOULDER),
                            self.show(last)
                        ))
                        .hint("join the two cylinders into one"),
                );
            }
            last = diameter;
            if let (Some(length), Some(diameter)) = (length, diameter) {
                let radius = diameter / 2.0;
                cylinders.push(CollarDesign { length, radius });
            }
        }
        if self.problems.len() > before {
            return None;
        }
        self.collar_on_face(&cylinders, collar, body?, tolerance?)?;
        Some(cylinders)
    }

    /// The ring between the tail's face and the first cylinder must not cross itself.
    fn collar_on_face(
        &mut self,
        cylinders: &[CollarDesign],
        collar: &CollarSpec,
        body: &BodyDesign,
        tolerance: f64,
    ) -> Option<()> {
        let radius = cylinders.first()?.radius;
        let (back, belly, half_width) = (
            body.back.last()?.after,
            body.belly.last()?.after,
            body.half_width.last()?.after,
        );
        let (above, below) = (
            face_radii(half_width, back, body.exponent),
            face_radii(half_width, belly, body.exponent),
        );
        let (least, most) = (above.0.min(below.0), above.1.max(below.1));
        // Facets of either may stray by the tolerance, inwards or outwards.
        let margin = (COLLAR_SHOULDER / 2.0).max(4.0 * tolerance);
        let fits = radius <= least - margin + SAME_PLACE || radius >= most + margin - SAME_PLACE;
        if fits {
            return Some(());
        }
        let (inner, outer) = (2.0 * (least - margin), 2.0 * (most + margin));
        let within = (inner >= *THICKNESS.start())
            .then(|| format!("up to {}, within the tail's face, or ", self.show(inner)))
            .unwrap_or_default();
        self.report(
            Problem::new(
                "collar.steps[0].diameter",
                "this cylinder crosses the edge of the tail's face",
            )
            .value(collar.steps[0].diameter)
            .limit(format_args!(
                "{within}from {}, all around it",
                self.show(outer)
            ))
            .hint("or change the station at the tail"),
        );
        None
    }

    fn mould(&mut self, mould: &MouldSpec, has_collar: bool) -> Option<MouldDesign> {
        let wall = self.length_or("mould.wall", mould.wall, 9.5, &WALL);

        let keys = &mould.keys;
        let count = f64::from(keys.count.unwrap_or(4));
        let key_count = self.number("mould.keys.count", count, &KEY_COUNT);
        let diameter = self.length_or("mould.keys.diameter", keys.diameter, 6.0, &KEY_DIAMETER);
        let most = diameter.unwrap_or(*KEY_DIAMETER.end());
        let height = self.length_or(
            "mould.keys.height",
            keys.height,
            4.0,
            &(KEY_LEAST_HEIGHT..=most),
        );
        let key_clearance = match keys.clearance {
            Some(none) if none.value == 0.0 && !self.is_broken("mould.keys.clearance") => Some(0.0),
            written => self.length_or("mould.keys.clearance", written, 0.2, &KEY_CLEARANCE),
        };
        if let (Some(wall), Some(height)) = (wall, height)
            && wall < height + WALL_BEHIND_KEY - SAME_PLACE
        {
            let problem = if mould.wall.is_some() {
                Problem::new("mould.wall", "the wall is thinner than the keys need")
                    .value(self.show(wall))
                    .limit(format_args!(
                        "at least {}, which is {} over a key",
                        self.show(height + WALL_BEHIND_KEY),
                        self.show(WALL_BEHIND_KEY)
                    ))
                    .hint("make the wall thicker or the keys lower")
            } else {
                Problem::new("mould.keys.height", "the keys are too high for the wall")
                    .value(self.show(height))
                    .limit(format_args!(
                        "up to {}, with a wall of {}",
                        self.show(wall - WALL_BEHIND_KEY),
                        self.show(wall)
                    ))
                    .hint("make the wall thicker or the keys lower")
            };
            self.report(problem);
        }

        let sprue = &mould.sprue;
        let gate = match sprue.gate {
            Some(gate) => self
                .length("mould.sprue.gate", gate, &GATE)
                .map(|gate| Some(gate / 2.0)),
            None if self.is_broken("mould.sprue.gate") => None,
            None => Some(None),
        };
        let mouth = self.length_or("mould.sprue.mouth", sprue.mouth, 16.0, &MOUTH);
        let funnel_depth = self.length_or("mould.sprue.depth", sprue.depth, 12.0, &FUNNEL);
        if let (Some(Some(gate)), Some(mouth)) = (gate, mouth)
            && mouth <= 2.0 * gate
        {
            let path = match sprue.mouth {
                Some(_) => "mould.sprue.mouth",
                None => "mould.sprue.gate",
            };
            self.report(
                Problem::new(path, "the funnel must be wider than the gate")
                    .value(format_args!(
                        "mouth {}, gate {}",
                        self.show(mouth),
                        self.show(2.0 * gate)
                    ))
                    .hint("make the mouth wider or the gate narrower"),
            );
        }
        if has_collar
            && sprue.end == BodyEnd::Tail
            && !self.is_broken("mould.sprue.end")
            && !self.is_broken("collar")
        {
            self.report(
                Problem::new("mould.sprue.end", "the collar is in the way of this sprue")
                    .value("\"tail\"")
                    .hint("pour at the nose: end = \"nose\""),
            );
        }

        let vents = &mould.vents;
        let count = f64::from(vents.count.unwrap_or(2));
        let vent_count = self.number("mould.vents.count", count, &VENT_COUNT);
        let vent_width = self.length_or("mould.vents.width", vents.width, 1.5, &VENT_WIDTH);
        let vent_depth = self.length_or("mould.vents.depth", vents.depth, 0.5, &VENT_DEPTH);

        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Some(MouldDesign {
            parting: mould.parting,
            wall: wall?,
            key_count: key_count? as usize,
            key_radius: diameter? / 2.0,
            key_height: height?,
            key_clearance: key_clearance?,
            sprue_end: sprue.end,
            gate_radius: gate?,
            mouth_radius: mouth? / 2.0,
            funnel_depth: funnel_depth?,
            vent_count: vent_count? as usize,
            vent_width: vent_width?,
            vent_depth: vent_depth?,
        })
    }
}

/// One of the outlines of checked stations.
fn knots(stations: &[Checked], at: Option<&[f64]>, which: usize) -> Option<Vec<Knot>> {
    let stations = stations.iter().zip(at?).map(|(station, &at)| {
        let (before, step) = (station.before?[which], station.step?);
        Some(Knot {
            at,
            before,
            after: before * step,
            corner: station.corner || step != 1.0,
        })
    });
    stations.collect()
}

/// The least and the greatest distance from the axis to the quarter of a superellipse
/// |y/w|^n + |z/h|^n = 1.
///
/// With u = |y/w|^n the squared distance is w² u^p + h² (1 − u)^p, p = 2/n: one extreme is
/// at the axes, the other by Lagrange's rule at (w^q + h^q)^(2/q), q = 2/(1 − p), which is
/// Hölder's inequality with equality. For the ellipse, n = 2, both are at the axes.
pub(super) fn face_radii(w: f64, h: f64, n: f64) -> (f64, f64) {
    let (small, large) = (w.min(h), w.max(h));
    let p = 2.0 / n;
    if (p - 1.0).abs() < 1e-9 {
        return (small, large);
    }
    let between = libm::pow(small / large, 2.0 / (1.0 - p).abs());
    let bulge = libm::pow(1.0 + between, (1.0 - p) / 2.0);
    if p < 1.0 {
        (small, large * bulge)
    } else {
        (small * bulge, large)
    }
}
