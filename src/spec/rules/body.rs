//! Rules of the body: its stations, ends and width.

use super::*;
use crate::spec::{CamberDesign, MeasuredSpec, SectionSpec};

/// A station of either list, checked as far as it can be on its own.
struct Checked {
    at: Option<f64>,
    /// Distances from the axis coming from the nose: one each for the outlines of the list.
    before: Option<[f64; 2]>,
    /// How much larger they are going on to the tail; 1 without a step.
    step: Option<f64>,
    corner: bool,
}

impl Rules<'_> {
    /// A body whose shape comes from a file leaves nothing to say of its outline.
    pub(super) fn imported_body(&mut self, body: &BodySpec, shape: &BodyDesign) -> BodyDesign {
        let written = [
            ("length", body.length.is_some()),
            ("outline", !body.outline.is_empty()),
            ("nose", body.nose.is_some()),
            ("tail", body.tail.is_some()),
            ("width", body.width != Width::default()),
            ("section", body.section != SectionSpec::default()),
            ("camber", body.camber.is_some()),
            ("measured", body.measured.is_some()),
        ];
        for (name, written) in written {
            if written {
                self.report(
                    Problem::new(
                        format!("body.{name}"),
                        "the shape of this body comes from its file already",
                    )
                    .limit("either `from`, or an outline")
                    .hint("take one of them out"),
                );
            }
        }
        shape.clone()
    }

    pub(super) fn body(&mut self, body: &BodySpec) -> Option<BodyDesign> {
        if body.from.is_some() {
            // A value that cannot be read has been told of: its file was not looked for.
            if !self.broken.iter().any(|path| path.starts_with("body.from")) {
                self.report(
                    Problem::new("body.from", "the file of this master has not been read")
                        .hint("in a program, read it and use `Design::around`"),
                );
            }
            return None;
        }
        let mut length = match body.length {
            Some(length) => self.length("body.length", length, &BODY_LENGTH),
            None if self.is_broken("body.length") => None,
            None => {
                self.report(
                    Problem::new("body.length", "`length` is missing")
                        .hint("give length and outline, or a mesh file: from = \"scan.stl\""),
                );
                None
            }
        };
        if let Some(measured) = &body.measured {
            return self.measured_body(body, measured, length);
        }
        if let (None, Some(written), Some(unit)) = (length, body.length, self.unit_meant(body)) {
            // The one slip is told; the rest is judged by what was meant.
            self.units = unit;
            length = Some(written.to_mm(unit) * self.scale);
        }
        let outline = self.outline(body);
        let at = self.positions("body.outline", &outline, length);
        let on = |end: f64| at.as_ref().map(|at| at.contains(&end));
        let (at_nose, at_tail) = (on(0.0), length.and_then(on));
        let nose = self.end("nose", ("station", "outline", "0"), body.nose, at_nose);
        let end = ("station", "outline", "the length");
        let tail = self.end("tail", end, body.tail, at_tail);
        self.steps_off_ends("body.outline", &outline, at.as_deref(), length);
        if let Some(length) = length {
            self.outline_not_thick(body, &outline, length);
        }
        let back = knots(&outline, at.as_deref(), 0);
        let belly = knots(&outline, at.as_deref(), 1);
        let half_width = match &body.width {
            Width::OfHeight(share) => {
                let share = self.number("body.width", *share, &WIDTH_RATIO);
                self.width_of_height(share, back.as_deref(), belly.as_deref(), length)
            }
            Width::Stations(_) => {
                let mut width = self.width_stations(body, length, nose, tail);
                if let (Some(back), Some(width)) = (&back, &mut width) {
                    self.shoulders(back, width);
                }
                width
            }
        };
        let section = self.section(&body.section, length);
        let camber = self.camber_of(body, length);
        Some(BodyDesign {
            length: length?,
            nose: nose?,
            tail: tail?,
            back: back?,
            belly: belly?,
            half_width: half_width?,
            section: section?,
            camber: camber?,
            measured: None,
        })
    }

    /// `None` if it is wrong, `Some(None)` if there is none.
    #[allow(clippy::option_option)]
    fn camber_of(&mut self, body: &BodySpec, length: Option<f64>) -> Option<Option<CamberDesign>> {
        match &body.camber {
            _ if self.is_broken("body.camber") => None,
            Some(camber) => self.camber(camber, length).map(Some),
            None => Some(None),
        }
    }

    /// A body whose outlines come from readings.
    fn measured_body(
        &mut self,
        body: &BodySpec,
        measured: &MeasuredSpec,
        length: Option<f64>,
    ) -> Option<BodyDesign> {
        let readings = self.readings(body, measured, length);
        let on = |end: f64| readings.as_ref().map(|r| r.stand_on(end));
        let (at_nose, at_tail) = (on(0.0), length.and_then(on));
        let nose = self.end("nose", ("reading", "readings", "0"), body.nose, at_nose);
        let end = ("reading", "readings", "the length");
        let tail = self.end("tail", end, body.tail, at_tail);
        let section = self.section(&body.section, length);
        let camber = self.camber_of(body, length);
        let (length, nose, tail) = (length?, nose?, tail?);
        let found = self.measured(body, &readings?, length, nose, tail)?;
        let half_width = match (found.half_width, &body.width) {
            (Some(knots), _) => Some(knots),
            (None, Width::OfHeight(share)) => {
                let share = self.number("body.width", *share, &WIDTH_RATIO);
                self.width_of_height(
                    share,
                    Some(&found.height),
                    Some(&found.height),
                    Some(length),
                )
            }
            (None, Width::Stations(_)) => {
                self.width_stations(body, Some(length), Some(nose), Some(tail))
            }
        };
        Some(BodyDesign {
            length,
            nose,
            tail,
            belly: found.height.clone(),
            back: found.height,
            half_width: half_width?,
            section: section?,
            camber: camber?,
            measured: Some(found.design),
        })
    }

    /// The outline's stations with back and belly.
    fn outline(&mut self, body: &BodySpec) -> Vec<Checked> {
        if body.outline.is_empty() && !self.is_broken("body.outline") {
            self.report(
                Problem::new("body.outline", "the outline has no stations")
                    .limit("one station or more")
                    .hint("add one such as outline = [{ at = 30, height = 19 }]"),
            );
        }
        let mut checked = Vec::with_capacity(body.outline.len());
        for (i, station) in body.outline.iter().enumerate() {
            let path = format!("body.outline[{i}]");
            let field = |name: &str| format!("{path}.{name}");
            let known = !["", ".height", ".diameter", ".back", ".belly"]
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

    fn outline_not_thick(&mut self, body: &BodySpec, outline: &[Checked], length: f64) {
        for (i, (station, checked)) in body.outline.iter().zip(outline).enumerate() {
            let given = [("height", station.height), ("step_to", station.step_to)];
            self.not_thick(&format!("body.outline[{i}]"), checked, given, length);
        }
    }

    /// No bait is thicker than it is long (reasoned: one that is comes of a slipped decimal
    /// point). `given` has the fields of the size before and behind the step.
    fn not_thick(
        &mut self,
        path: &str,
        station: &Checked,
        given: [(&str, Option<Length>); 2],
        length: f64,
    ) {
        let Some(before) = station.before.map(|[above, below]| above + below) else {
            return;
        };
        let sizes = [before, before * station.step.unwrap_or(1.0)];
        for (size, (name, written)) in sizes.into_iter().zip(given) {
            if !self.is_thick(size, length) {
                continue;
            }
            let (path, value) = match written {
                Some(written) => (format!("{path}.{name}"), written.to_string()),
                // Back and belly together.
                None => (path.to_owned(), self.drawn(size)),
            };
            self.thick(&path, value, length, written);
            return;
        }
    }

    pub(super) fn is_thick(&self, size: f64, length: f64) -> bool {
        size > length * (1.0 + SAME_PLACE)
    }

    pub(super) fn thick(
        &mut self,
        path: &str,
        value: String,
        length: f64,
        written: Option<Length>,
    ) {
        let problem = Problem::new(path, "this makes the bait thicker than it is long")
            .value(value)
            .limit(format_args!("up to {}, the length", self.drawn(length)));
        let hint = written.map_or("is the length right?".into(), |written| {
            self.slipped_point(written)
        });
        self.report(problem.hint(hint));
    }

    /// A station's place, before it is known how long the body is.
    fn at(&mut self, path: &str, at: Length) -> Option<f64> {
        if self.is_unknown(path, at) {
            return None;
        }
        let mm = at.to_mm(self.units) * self.scale_of(path);
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
                        self.drawn(LEAST_STEP),
                        self.drawn(full)
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
                            .value(self.drawn(at))
                            .limit(format_args!("0 to {}", self.drawn(length))),
                    );
                    places.push(None);
                    continue;
                }
                if to_end > 0.0 && to_end < END_GAP - SAME_PLACE {
                    self.report(
                        Problem::new(&path, "this station is too close to the end of the body")
                            .value(self.drawn(at))
                            .limit(format_args!(
                                "on the end, or at least {} from it",
                                self.drawn(END_GAP)
                            ))
                            .hint("for a flat end put the station right on it"),
                    );
                }
            }
            if let Some(&Some(last)) = places.last() {
                let problem = if (at - last).abs() <= SAME_PLACE {
                    Problem::new(&path, format!("two stations at {}", self.drawn(at)))
                        .limit("each station farther from the nose than the one before")
                        .hint("mark a jump with step_to")
                } else if at < last {
                    Problem::new(&path, "stations must run from nose to tail")
                        .value(self.drawn(at))
                        .limit(format_args!("more than {}", self.drawn(last)))
                        .hint("put the stations in order of `at`")
                } else if at - last < STATION_GAP - SAME_PLACE {
                    Problem::new(&path, "this station is too close to the one before")
                        .value(self.drawn(at))
                        .limit(format_args!(
                            "at least {} after {}",
                            self.drawn(STATION_GAP),
                            self.drawn(last)
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

    /// How the body closes at one end; `on_end` says whether a station stands there: `one` of a
    /// list, at a place.
    fn end(
        &mut self,
        name: &str,
        (one, list, place): (&str, &str, &str),
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
                    Problem::new(path, format!("a flat {name} needs a {one} on it"))
                        .value("\"flat\"")
                        .hint(format_args!(
                            "add a {one} at {place} to the {list}, or make the {name} \
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
                    Problem::new(path, format!("a {word} {name} has no {one} on it"))
                        .value(format_args!("\"{word}\""))
                        .hint(format_args!(
                            "take the {one} at {place} out of the {list}, or make the {name} \
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
        length: Option<f64>,
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
        let sizes = || {
            let knots = half_width.iter();
            knots.flat_map(|knot| [2.0 * knot.before, 2.0 * knot.after])
        };
        // Shares with which all of them would do, as they are written.
        let [least, most] = sizes().fold([f64::INFINITY, 0.0_f64], |[least, most], size| {
            [least.min(size), most.max(size)]
        });
        let shares = || {
            let most_size = length.map_or(*THICKNESS.end(), |length| THICKNESS.end().min(length));
            let low = libm::ceil(100.0 * share * THICKNESS.start() / least - 1e-9) / 100.0;
            let high = libm::floor(100.0 * share * most_size / most + 1e-9) / 100.0;
            (low <= high).then(|| format!("a share of {low} to {high} with these heights"))
        };
        for size in sizes() {
            if size < THICKNESS.start() - SAME_PLACE || size > THICKNESS.end() + SAME_PLACE {
                self.report(
                    Problem::new("body.width", "this makes the body too thin or too wide")
                        .value(format_args!(
                            "{share}, which comes to {} at one station",
                            self.drawn(size)
                        ))
                        .limit(shares().unwrap_or_else(|| {
                            format!("widths of {}", self.show_limits(&THICKNESS))
                        })),
                );
                return None;
            }
            // A height beyond the length is told at its own place.
            let told = length.is_none_or(|length| size > share * length + SAME_PLACE);
            if let (false, Some(length)) = (told, length)
                && self.is_thick(size, length)
            {
                let value = format!(
                    "{share}, which comes to {} at one station",
                    self.drawn(size)
                );
                let limit =
                    shares().unwrap_or_else(|| format!("up to {}, the length", self.drawn(length)));
                self.report(
                    Problem::new("body.width", "this makes the bait thicker than it is long")
                        .value(value)
                        .limit(limit)
                        .hint("it is a share of the height, 1 is round"),
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
            if let Some(length) = length {
                let given = [("width", Some(station.width)), ("step_to", station.step_to)];
                self.not_thick(&format!("body.width[{i}]"), &checked[i], given, length);
            }
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
