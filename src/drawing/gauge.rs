//! The lathe gauge sheet: a card gauge to cut out, and the whole profile to lay the work on.

use kurbo::{Affine, BezPath, Point};

use super::labels;
use super::sheet::{
    self, Align, BARS_HEIGHT, BARS_WIDTH, LEADING, MARGIN, Mark, Pen, Sheet, TEXT, TITLE, line,
    text, text_width,
};
use crate::lathe::{Gauge, GaugeStation, Place};
use crate::quantity::{InchFraction, LengthUnit};
use crate::spec::RibProfile;

/// Card beyond both ends of the profile: enough to hold on a centre line.
const WING: f64 = 24.0;
/// Lines of text go no farther across a long page than across A4.
const WIDEST: f64 = 297.0;
/// Card over the greatest radius: stiff enough, and holds two lines of lettering.
const STRIP: f64 = 16.0;
/// Centre line beyond what it is the centre of.
const BEYOND: f64 = 6.0;
/// From the profile to where leaders may turn.
const CLEAR: f64 = 3.0;

/// A row of labels on one side of the profile.
struct Row<'a> {
    stations: Vec<(&'a GaugeStation, Vec<String>)>,
    widths: Vec<f64>,
    lines: usize,
}

impl<'a> Row<'a> {
    fn new(stations: Vec<(&'a GaugeStation, Vec<String>)>) -> Self {
        let widest = |lines: &Vec<String>| {
            let each = lines.iter().map(|l| text_width(l, TEXT));
            each.fold(0.0, f64::max)
        };
        Row {
            widths: stations.iter().map(|(_, l)| widest(l)).collect(),
            lines: stations.iter().map(|(_, l)| l.len()).max().unwrap_or(0),
            stations,
        }
    }

    fn height(&self) -> f64 {
        LEADING * self.lines as f64
    }

    /// Middles of the labels and the ends of their leaders, for a profile whose nose is
    /// at `nose` on a page this wide.
    fn place(&self, nose: f64, page: f64) -> (Vec<f64>, Vec<f64>) {
        let wanted: Vec<f64> = self.stations.iter().map(|(s, _)| nose + s.at).collect();
        let middles = labels::spread(&wanted, &self.widths, MARGIN, page - MARGIN);
        // A leader stays upright as long as it meets the middle half of its label.
        let ends = (0..wanted.len())
            .map(|i| {
                let reach = 0.25 * self.widths[i];
                wanted[i].clamp(middles[i] - reach, middles[i] + reach)
            })
            .collect();
        (middles, ends)
    }

    /// Height in which leaders slant: more for labels farther off, so that none lies flat.
    fn slant(&self, nose: f64, page: f64) -> f64 {
        let (_, ends) = self.place(nose, page);
        let far = self.stations.iter().zip(ends);
        let far = far.map(|((s, _), end)| (nose + s.at - end).abs());
        (0.2 * far.fold(0.0, f64::max)).clamp(2.0, 25.0)
    }
}

/// The sheet that a round master is turned by, at scale 1:1: a half-profile gauge to cut
/// from card, the whole profile with its centre line and stations, check bars and a key.
///
/// The page is A4 lying (Letter for makers who write inches) if that holds it all, otherwise as much longer or higher as it
/// must be. Sizes are lettered in mm, or in inches to the nearest 1/64 with mm in
/// brackets if the maker's `units` are inches. In [`Sheet::marks`], `gauge-cut` is the
/// outline of the card, `profile` the whole profile, `check-…` are the bars.
pub fn gauge_sheet(gauge: &Gauge, name: &str, units: LengthUnit) -> Sheet {
    let mut up = Vec::new();
    let mut down = Vec::new();
    for (i, station) in gauge.stations.iter().enumerate() {
        let side = if i % 2 == 0 { &mut up } else { &mut down };
        side.push((station, label(station, units)));
    }
    let (up, down) = (Row::new(up), Row::new(down));

    let width = (gauge.total + 2.0 * (WING + BEYOND))
        .max(labels::row_width(&up.widths))
        .max(labels::row_width(&down.widths));
    let (page_width, _) = sheet::page(width, 0.0, units);
    let nose = 0.5 * (page_width - gauge.total);
    let radius = gauge.radius;

    // Down the page: title, card, upper labels, profile, lower labels, foot.
    let head = MARGIN + 13.0;
    let axis_of_card = (head + STRIP + radius).ceil();
    let labels_top = axis_of_card + LEADING + 3.0;
    let up_top = labels_top + up.height() + 1.0;
    let up_slant = up.slant(nose, page_width);
    let axis = (up_top + up_slant + CLEAR + radius).ceil();
    let down_slant = down.slant(nose, page_width);
    let down_top = axis + radius + CLEAR + down_slant;
    let foot = down_top + 1.0 + down.height() + 4.0;
    // Each further set of ribs adds two lines to the key beside the bars.
    let more = gauge.ribs.len().saturating_sub(1) as f64;
    let foot_height = BARS_HEIGHT + 2.0 * LEADING * more;
    let (_, page_height) = sheet::page(width, foot + foot_height - MARGIN, units);
    let foot = page_height - MARGIN - foot_height;

    let mut marks = title(name, units, page_width);
    marks.extend(card(gauge, name, nose, axis_of_card));
    marks.extend(profile(gauge, nose, axis));
    let sides = [(&up, -1.0, up_slant), (&down, 1.0, down_slant)];
    for (row, sign, slant) in sides {
        let (middles, ends) = row.place(nose, page_width);
        for (i, (station, lines)) in row.stations.iter().enumerate() {
            let x = nose + station.at;
            let r = 0.5 * station.before.max(station.after);
            let turn = axis + sign * (radius + CLEAR);
            let end = turn + sign * slant;
            marks.push(line(
                Pen::Narrow,
                &[(x, axis - sign * r), (x, turn), (ends[i], end)],
            ));
            // The first line of a label stands on the leader above, hangs from it below.
            let top = if sign < 0.0 {
                end - 1.0 - LEADING * lines.len() as f64
            } else {
                end + 1.0
            };
            for (k, l) in lines.iter().enumerate() {
                let base = top + LEADING * k as f64 + 0.8 * TEXT;
                marks.push(text((middles[i], base), Align::Middle, l.as_str()));
            }
        }
    }
    marks.extend(sheet::check_bars(MARGIN, foot));
    let beside = MARGIN + BARS_WIDTH + 10.0;
    marks.extend(key(gauge, units, beside, foot, page_width));
    Sheet {
        title: format!("{name}: lathe gauge, 1:1"),
        width: page_width,
        height: page_height,
        marks,
    }
}

fn title(name: &str, units: LengthUnit, page_width: f64) -> Vec<Mark> {
    let room = page_width - 2.0 * MARGIN;
    let what = "Lathe gauge  1:1";
    let end = text_width(what, TITLE) + 8.0;
    let note = match units {
        LengthUnit::In => {
            "Sizes in inches to the nearest 1/64 (mm in brackets). \u{d8} is the diameter, \
             \u{201c}at\u{201d} the distance from the nose."
        }
        LengthUnit::Cm => {
            "Sizes in cm. \u{d8} is the diameter, \u{201c}at\u{201d} the distance from the nose."
        }
        LengthUnit::Mm => {
            "Sizes in mm. \u{d8} is the diameter, \u{201c}at\u{201d} the distance from the nose."
        }
    };
    let large = |x: f64, align, words: String| Mark::Text {
        at: Point::new(x, MARGIN + 0.8 * TITLE),
        text: words,
        size: TITLE,
        align,
        upright: false,
    };
    vec![
        large(MARGIN, Align::Start, sheet::fit(name, TITLE, room - end)),
        large(page_width - MARGIN, Align::End, what.into()),
        text((MARGIN, MARGIN + 10.0), Align::Start, note),
    ]
}

/// The card: straight edges, the half profile cut out of the lower one.
fn card(gauge: &Gauge, name: &str, nose: f64, axis: f64) -> Vec<Mark> {
    let (left, right) = (nose - WING, nose + gauge.total + WING);
    let top = axis - gauge.radius - STRIP;
    let mut cut = BezPath::new();
    cut.move_to((left, axis));
    let half = placed(gauge, nose, axis, -1.0);
    cut.line_to((nose, axis));
    cut.extend(half.elements().iter().skip(1).copied());
    cut.line_to((right, axis));
    cut.line_to((right, top));
    cut.line_to((left, top));
    cut.close_path();

    let mut marks = vec![
        line(Pen::Centre, &[(left - BEYOND, axis), (left - 0.5, axis)]),
        line(Pen::Centre, &[(nose, axis), (nose + gauge.total, axis)]),
        line(Pen::Centre, &[(right + 0.5, axis), (right + BEYOND, axis)]),
    ];
    // Marks to strike the stations off on the turning work.
    for station in &gauge.stations {
        let at = nose + station.at;
        let r = 0.5 * station.before.max(station.after);
        if station.place == Place::Along {
            marks.push(line(Pen::Narrow, &[(at, axis - r), (at, axis - r - 3.0)]));
        }
    }
    for at in [nose, nose + gauge.length] {
        let r = if at == nose {
            0.5 * gauge.stations.first().map_or(0.0, |s| s.after)
        } else {
            let at_tail = |s: &&GaugeStation| s.place == Place::Tail;
            0.5 * gauge
                .stations
                .iter()
                .find(at_tail)
                .map_or(0.0, |s| s.before)
        };
        marks.push(line(
            Pen::Narrow,
            &[(at, axis - r), (at, top + LEADING + 2.0)],
        ));
    }
    marks.push(Mark::Line {
        id: Some("gauge-cut"),
        path: cut,
        pen: Pen::Cut,
    });
    let room = right - left - 4.0;
    let what = "half-profile gauge";
    let short = sheet::fit(
        name,
        TEXT,
        room - text_width(": ", TEXT) - text_width(what, TEXT),
    );
    marks.push(text(
        (0.5 * (left + right), top + 1.5 + 0.8 * TEXT),
        Align::Middle,
        format!("{short}: {what}"),
    ));
    let row = top + 2.0 + LEADING + 0.8 * TEXT;
    marks.push(text((nose - 1.5, row), Align::End, "nose"));
    marks.push(text((nose + gauge.length + 1.5, row), Align::Start, "tail"));
    marks.push(text(
        (nose + 0.5 * gauge.total, axis + 1.5 + 0.8 * TEXT),
        Align::Middle,
        "centre line of the lathe",
    ));
    marks
}

/// The whole profile, its edges and its centre line.
fn profile(gauge: &Gauge, nose: f64, axis: f64) -> Vec<Mark> {
    let mut path = placed(gauge, nose, axis, -1.0);
    let lower = placed(gauge, nose, axis, 1.0).reverse_subpaths();
    path.extend(lower.elements().iter().skip(1).copied());
    path.close_path();
    let ends = [
        (nose - 2.0 * BEYOND, axis),
        (nose + gauge.total + 2.0 * BEYOND, axis),
    ];
    let mut marks = vec![line(Pen::Centre, &ends)];
    for &(at, r) in &gauge.edges {
        let x = nose + at;
        marks.push(line(Pen::Wide, &[(x, axis - r), (x, axis + r)]));
    }
    marks.push(Mark::Line {
        id: Some("profile"),
        path,
        pen: Pen::Wide,
    });
    marks
}

/// The half profile on the page, above the axis for `sign` −1, below it for 1.
fn placed(gauge: &Gauge, nose: f64, axis: f64, sign: f64) -> BezPath {
    Affine::new([1.0, 0.0, 0.0, sign, nose, axis]) * gauge.profile.clone()
}

/// What the lines mean and how the card is used.
fn key(gauge: &Gauge, units: LengthUnit, x: f64, y: f64, page_width: f64) -> Vec<Mark> {
    let mut entries = vec![
        (Pen::Cut, "cut along the middle of this line"),
        (Pen::Wide, "the master's profile: lay the work on it"),
        (Pen::Centre, "centre line"),
        (Pen::Narrow, "stations: strike off and calliper here"),
    ];
    if gauge.total > gauge.length {
        entries[1].1 = "the master's profile, with the collar";
    }
    let mut marks = Vec::new();
    let mut base = y + 0.8 * TEXT;
    for (pen, words) in entries {
        let middle = base - 0.35 * TEXT;
        marks.push(line(pen, &[(x, middle), (x + 16.0, middle)]));
        marks.push(text((x + 19.0, base), Align::Start, words));
        base += LEADING + 0.6;
    }
    let mut notes = String::from(
        "Glue to card and cut it out. Stop the lathe before you hold the card to the work: cut \
         edge against its side, straight tongues on the centre line. Take wood away until no \
         light shows between. While a tenon still holds the work, trim the card off at the \
         nose mark, or where the profile ends.",
    );
    if gauge.total > gauge.length {
        notes.push_str(
            " The collar is a core print: part of the master, not of the bait; it makes the \
             seat in the mould.",
        );
    }
    for ribs in &gauge.ribs {
        let size = |mm: f64| length(mm, units);
        let what = match (ribs.profile, ribs.rise > 0.0) {
            (RibProfile::Round, true) => "round ribs",
            (RibProfile::Round, false) => "round grooves",
            (RibProfile::Vee, true) => "ribs with an edge",
            (RibProfile::Vee, false) => "vee grooves",
            (RibProfile::Square, true) => "square ribs",
            (RibProfile::Square, false) => "square grooves",
        };
        notes.push_str(&format!(
            " From {} to {}: {} {what}, pitch {}, {} {}.",
            size(ribs.from),
            size(ribs.to),
            ribs.count(),
            size(ribs.pitch),
            size(ribs.rise.abs()),
            if ribs.rise > 0.0 { "high" } else { "deep" },
        ));
        if ribs.fade > 0.0 {
            notes.push_str(&format!(
                " They fade over {} at both ends.",
                size(ribs.fade)
            ));
        }
    }
    base += 1.0;
    for row in sheet::wrap(&notes, TEXT, page_width.min(WIDEST) - MARGIN - x) {
        marks.push(text((x, base), Align::Start, row));
        base += LEADING;
    }
    marks
}

/// A station's lettering, line by line.
fn label(station: &GaugeStation, units: LengthUnit) -> Vec<String> {
    let size = |mm: f64| length(mm, units);
    let diameter = |mm: f64| format!("\u{d8} {}", size(mm));
    let mut lines = Vec::new();
    let what = match station.place {
        Place::Nose => "nose",
        Place::Tail => "tail",
        Place::Collar { .. } => "collar, core print",
        Place::Along => "",
    };
    match (what, station.greatest) {
        ("", false) => {}
        ("", true) => lines.push("greatest".into()),
        (what, false) => lines.push(what.into()),
        (what, true) => lines.push(format!("{what}, greatest")),
    }
    let (before, after) = (station.before, station.after);
    match station.place {
        Place::Nose if after > 0.0 => lines.push(diameter(after)),
        Place::Tail if before > 0.0 => lines.push(diameter(before)),
        Place::Nose | Place::Tail => {}
        _ if before != after => {
            lines.push(format!("shoulder {}", diameter(before)));
            lines.push(format!("to {}", diameter(after)));
        }
        _ => lines.push(diameter(after)),
    }
    match station.place {
        Place::Collar { from, to } => {
            lines.push(format!("from {}", size(from)));
            lines.push(format!("to {}", size(to)));
        }
        _ => lines.push(format!("at {}", size(station.at))),
    }
    lines
}

/// A length in the maker's units: inches as the nearest fraction, millimetres behind it.
fn length(mm: f64, units: LengthUnit) -> String {
    match units {
        LengthUnit::In => format!("{} ({})", InchFraction::nearest(mm), number(mm)),
        LengthUnit::Cm => format!("{:.2}", mm / units.in_mm()),
        LengthUnit::Mm => number(mm),
    }
}

/// Millimetres to 0.01, without a trailing zero in the second place.
fn number(mm: f64) -> String {
    let digits = format!("{mm:.2}");
    digits
        .strip_suffix('0')
        .map(str::to_owned)
        .unwrap_or(digits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::body::Body;
    use crate::curve::Outline;
    use crate::spec::{CollarDesign, End, Knot};
    use kurbo::{Line, ParamCurve, Rect, Shape};
    use proptest::prelude::*;

    #[test]
    fn inches_are_in_lowest_terms_with_mm_behind() {
        for (mm, inches) in [
            (19.05, "3/4 in (19.05)"),
            (60.325, "2 3/8 in (60.33)"),
            (25.4, "1 in (25.4)"),
            (0.0, "0 in (0.0)"),
            // 1/64 in = 0.396875 mm.
            (10.0, "25/64 in (10.0)"),
        ] {
            assert_eq!(length(mm, LengthUnit::In), inches);
        }
        assert_eq!(length(19.05, LengthUnit::Mm), "19.05");
    }

    /// Round bodies with stations as close as 0.3 mm, shoulders, corners and collars.
    fn bodies() -> impl Strategy<Value = Body> {
        let knot = (0.3..25.0_f64, 0.5..20.0_f64, 0.3..1.0_f64, 0..4_u8);
        (
            proptest::collection::vec(knot, 1..16),
            0..3_u8,
            0..3_u8,
            proptest::collection::vec((0.5..8.0_f64, 0.5..12.0_f64), 0..4),
            0.3..30.0_f64,
        )
            .prop_map(|(steps, nose, tail, collar, last)| {
                let end = |n| [End::Round, End::Pointed, End::Flat][usize::from(n)];
                let (nose, tail) = (
                    end(nose),
                    if collar.is_empty() {
                        end(tail)
                    } else {
                        End::Flat
                    },
                );
                let mut at = 0.0;
                let mut knots: Vec<Knot> = Vec::new();
                for (gap, h, shoulder, kind) in steps {
                    if !(knots.is_empty() && nose == End::Flat) {
                        at += gap;
                    }
                    knots.push(Knot {
                        at,
                        before: h,
                        after: if kind == 0 && at > 0.0 {
                            h * shoulder
                        } else {
                            h
                        },
                        corner: kind <= 1 && at > 0.0,
                    });
                }
                let length = at + last;
                if tail == End::Flat {
                    let h = 0.5 * knots[knots.len() - 1].after + 0.2;
                    knots.push(Knot {
                        at: length,
                        before: h,
                        after: h,
                        corner: false,
                    });
                }
                let outline = Outline::through(&knots, length, nose, tail);
                let mut body = Body::revolved(outline, nose, tail);
                let cylinder = |(length, radius)| CollarDesign { length, radius };
                body.collar = collar.into_iter().map(cylinder).collect();
                body
            })
    }

    fn crosses(path: &BezPath, area: Rect) -> bool {
        let sides = [
            (area.x0, area.y0, area.x1, area.y0),
            (area.x1, area.y0, area.x1, area.y1),
            (area.x1, area.y1, area.x0, area.y1),
            (area.x0, area.y1, area.x0, area.y0),
        ];
        path.segments().any(|s| {
            area.contains(s.start())
                || sides
                    .iter()
                    .any(|&(a, b, c, d)| !s.intersect_line(Line::new((a, b), (c, d))).is_empty())
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(150))]
        #[test]
        fn lettering_meets_neither_lettering_nor_lines_nor_the_margin(
            body in bodies(),
            inches in any::<bool>(),
            name in "[A-Za-z0-9 <&\u{e9}]{0,60}",
        ) {
            let gauge = Gauge::of(&body).unwrap();
            let units = if inches { LengthUnit::In } else { LengthUnit::Mm };
            let sheet = gauge_sheet(&gauge, &name, units);
            let within = Rect::new(
                MARGIN, MARGIN, sheet.width - MARGIN, sheet.height - MARGIN,
            ).inflate(1e-9, 1e-9);
            let areas: Vec<(Rect, &Mark)> = sheet
                .marks
                .iter()
                .filter_map(|m| m.lettering().map(|r| (r, m)))
                .collect();
            for (i, (a, mark)) in areas.iter().enumerate() {
                prop_assert!(within.contains_rect(*a), "{mark:?} in the margin");
                for (b, other) in &areas[..i] {
                    prop_assert!(
                        a.intersect(*b).area() <= 1e-9,
                        "{mark:?} on {other:?}"
                    );
                }
            }
            for m in &sheet.marks {
                let Mark::Line { path, .. } = m else { continue };
                let reach = path.bounding_box();
                prop_assert!(within.contains(reach.origin()), "{m:?}");
                prop_assert!(within.contains(Point::new(reach.x1, reach.y1)), "{m:?}");
                for (area, words) in &areas {
                    prop_assert!(!crosses(path, *area), "{m:?} through {words:?}");
                }
            }
            if sheet.width > 297.0 {
                // No longer than its drawing needs.
                let longest = gauge.total + 2.0 * (WING + BEYOND + MARGIN);
                let crowded = sheet.marks.len() > 40;
                prop_assert!(crowded || sheet.width <= longest.ceil());
            }
        }
    }
}
