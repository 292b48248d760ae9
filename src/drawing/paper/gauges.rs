//! Gauges for a round master, at 1:1: to hold against the work, to lay it on, to pass over it.

use kurbo::{Affine, BezPath};

use super::super::labels;
use super::super::sheet::{Align, LEADING, Mark, Pen, TEXT, line, text, text_width};
use super::pages::Block;
use crate::lathe::{Gauge, Place, general_tolerance};
use crate::quantity::LengthUnit;

/// Card beyond both ends of the profile.
const WING: f64 = 20.0;
/// Centre line beyond what it is the centre of.
const BEYOND: f64 = 6.0;
/// From the profile to where leaders may turn.
const CLEAR: f64 = 2.0;
/// Between the mouths of a pair of notches: holds three lines of lettering.
const WEB: f64 = 19.0;
/// Card beside a notch, and beyond its floor.
const CHEEK: f64 = 8.0;
/// Narrowest piece with notches: holds its lettering.
const PIECE: f64 = 38.0;

/// Numbers in a row at `base`, with leaders that leave their places upright and slant above `turn`.
/// `places` are x and where the leader begins. A row too long for `from..=to` runs over it: see
/// [`row_length`].
pub(super) fn numbers(
    places: &[(f64, f64)],
    turn: f64,
    base: f64,
    (from, to): (f64, f64),
) -> Vec<Mark> {
    let names: Vec<String> = (1..=places.len()).map(|n| n.to_string()).collect();
    let widths: Vec<f64> = names.iter().map(|n| text_width(n, TEXT)).collect();
    let wanted: Vec<f64> = places.iter().map(|p| p.0).collect();
    let middles = labels::spread(&wanted, &widths, from, to);
    let mut marks = Vec::new();
    for (i, name) in names.into_iter().enumerate() {
        let (x, foot) = places[i];
        marks.push(line(
            Pen::Narrow,
            &[(x, foot), (x, turn), (middles[i], base + 1.4)],
        ));
        marks.push(text((middles[i], base), Align::Middle, name));
    }
    marks
}

/// Length of a row of the numbers from 1 to `count`.
pub(super) fn row_length(count: usize) -> f64 {
    let widths: Vec<f64> = (1..=count)
        .map(|n| text_width(&n.to_string(), TEXT))
        .collect();
    labels::row_width(&widths)
}

/// Height for slanting leaders to a row that is this long, from places this far apart in all.
fn slant(row: f64, places: f64) -> f64 {
    (0.12 * (row - places).max(0.0)).clamp(3.0, 14.0)
}

fn radius(gauge: &Gauge, i: usize) -> f64 {
    0.5 * diameter(gauge, i)
}

/// What callipers meet at a station.
pub(super) fn diameter(gauge: &Gauge, i: usize) -> f64 {
    let s = &gauge.stations[i];
    s.before.max(s.after)
}

/// The half profile cut out of a card's lower edge: the negative, to hold against the work.
/// `over` is how much larger than the profile the opening is.
pub(super) fn half(gauge: &Gauge, over: f64) -> Block {
    let count = gauge.stations.len();
    let row = row_length(count);
    let slant = slant(row, gauge.total);
    let width = (gauge.total + 2.0 * WING)
        .max(row + 4.0)
        .max(text_width(HALF, TEXT) + 4.0);
    let (left, right) = (BEYOND, BEYOND + width);
    let nose = left + 0.5 * (width - gauge.total);
    let base = 2.0 + LEADING + 0.8 * TEXT;
    let turn = base + 1.4 + slant;
    let axis = turn + CLEAR + gauge.radius + over.max(0.0);

    let half = Affine::new([1.0, 0.0, 0.0, -1.0, nose, axis]) * gauge.moved(over);
    let mut cut = BezPath::new();
    cut.move_to((left, axis));
    let mut elements = half.elements().iter();
    if let Some(start) = elements.next().and_then(|e| e.end_point()) {
        cut.line_to(start);
    }
    cut.extend(elements.copied());
    cut.line_to((right, axis));
    cut.line_to((right, 0.0));
    cut.line_to((left, 0.0));
    cut.close_path();

    let mut marks = vec![
        line(Pen::Centre, &[(left - BEYOND, axis), (left - 0.5, axis)]),
        line(Pen::Centre, &[(nose, axis), (nose + gauge.total, axis)]),
        line(Pen::Centre, &[(right + 0.5, axis), (right + BEYOND, axis)]),
        text((left + 2.0, 1.2 + 0.8 * TEXT), Align::Start, HALF),
    ];
    let places: Vec<(f64, f64)> = (0..count)
        .map(|i| (nose + gauge.stations[i].at, axis - radius(gauge, i) - over))
        .collect();
    marks.extend(numbers(&places, turn, base, (left + 2.0, right - 2.0)));
    marks.push(Mark::Line {
        id: Some("gauge-cut"),
        path: cut,
        pen: Pen::Cut,
    });
    Block {
        width: width + 2.0 * BEYOND,
        height: axis + 1.0,
        marks,
    }
}

const HALF: &str = "half-profile gauge: hold it against the work";

/// The whole profile at its finished size, to lay the work on.
pub(super) fn whole(gauge: &Gauge) -> Block {
    let count = gauge.stations.len();
    let row = row_length(count);
    let slant = slant(row, gauge.total);
    let width = (gauge.total + 4.0 * BEYOND).max(row);
    let nose = 0.5 * (width - gauge.total);
    let base = 0.8 * TEXT;
    let turn = base + 1.4 + slant;
    let axis = turn + CLEAR + gauge.radius;
    let placed = |sign: f64| Affine::new([1.0, 0.0, 0.0, sign, nose, axis]) * gauge.profile.clone();
    let mut path = placed(-1.0);
    path.extend(
        placed(1.0)
            .reverse_subpaths()
            .elements()
            .iter()
            .skip(1)
            .copied(),
    );
    path.close_path();
    let mut marks = vec![line(
        Pen::Centre,
        &[
            (nose - 2.0 * BEYOND, axis),
            (nose + gauge.total + 2.0 * BEYOND, axis),
        ],
    )];
    for &(at, r) in &gauge.edges {
        marks.push(line(
            Pen::Wide,
            &[(nose + at, axis - r), (nose + at, axis + r)],
        ));
    }
    marks.push(Mark::Line {
        id: Some("profile"),
        path,
        pen: Pen::Wide,
    });
    let places: Vec<(f64, f64)> = (0..count)
        .map(|i| (nose + gauge.stations[i].at, axis - radius(gauge, i)))
        .collect();
    marks.extend(numbers(&places, turn, base, (0.0, width)));
    Block {
        width,
        height: axis + gauge.radius + 1.0,
        marks,
    }
}

/// A pair of notches for every diameter: one that passes over the work when it is small enough,
/// one that must not pass. `over` is how much larger in radius the work is to be turned, `kerf` the
/// width of the cut. A thick card bridges a slope, so notches are as wide as the
/// work is anywhere under it; at an end as well, where half of it stands over.
pub(super) fn notches(
    gauge: &Gauge,
    over: f64,
    card: f64,
    kerf: f64,
    units: LengthUnit,
) -> Vec<Block> {
    let mut known: Vec<f64> = Vec::new();
    let mut blocks = Vec::new();
    for (i, station) in gauge.stations.iter().enumerate() {
        let plain = diameter(gauge, i);
        let bare = match station.place {
            // A cylinder does not taper: it is what callipers meet, all along.
            Place::Nose | Place::Tail | Place::Along => {
                let half = 0.5 * card;
                2.0 * gauge.greatest_within(station.at - half, station.at + half)
            }
            Place::Collar { .. } => plain,
        };
        let size = bare.max(plain) + 2.0 * over;
        // A round or pointed end has no diameter to measure.
        if plain + 2.0 * over <= 1.0 || known.iter().any(|k| (k - size).abs() < 0.02) {
            continue;
        }
        known.push(size);
        let play = general_tolerance(size);
        blocks.push(pair(i + 1, size + play, size - play, kerf, units));
    }
    blocks
}

fn pair(number: usize, go: f64, stop: f64, kerf: f64, units: LengthUnit) -> Block {
    let lines = [
        format!("go {}", units.show(go)),
        format!("no. {number}"),
        format!("no go {}", units.show(stop)),
    ];
    let lettering = lines
        .iter()
        .map(|l| text_width(l, TEXT))
        .fold(0.0, f64::max);
    let width = (go + 2.0 * CHEEK).max(PIECE).max(lettering + 4.0);
    let deep = |size: f64| 0.5 * size + 2.0;
    let (upper, lower) = (deep(go), deep(stop));
    let height = upper + WEB + lower;
    let middle = 0.5 * width;
    let (a, b) = (0.5 * (go - kerf), 0.5 * (stop - kerf));
    let mut path = BezPath::new();
    let corners = [
        (0.0, 0.0),
        (middle - a, 0.0),
        (middle - a, upper),
        (middle + a, upper),
        (middle + a, 0.0),
        (width, 0.0),
        (width, height),
        (middle + b, height),
        (middle + b, height - lower),
        (middle - b, height - lower),
        (middle - b, height),
        (0.0, height),
    ];
    for (i, p) in corners.into_iter().enumerate() {
        if i == 0 {
            path.move_to(p);
        } else {
            path.line_to(p);
        }
    }
    path.close_path();
    let mut marks = vec![Mark::Line {
        id: Some("notches"),
        path,
        pen: Pen::Cut,
    }];
    for (k, words) in lines.into_iter().enumerate() {
        let base = upper + 2.4 + LEADING * k as f64 + 0.8 * TEXT;
        marks.push(text((middle, base), Align::Middle, words));
    }
    Block {
        width,
        height,
        marks,
    }
}

/// A strip to lay on the tool rest, with a tick at every station.
pub(super) fn story_stick(gauge: &Gauge) -> Block {
    const HIGH: f64 = 14.0;
    let count = gauge.stations.len();
    let row = row_length(count);
    let slant = slant(row, gauge.total);
    let width = (gauge.total + 2.0 * WING).max(row + 4.0);
    let nose = 0.5 * (width - gauge.total);
    let base = 1.2 + 0.8 * TEXT;
    let turn = base + 1.4 + slant;
    let height = turn + HIGH;
    let places: Vec<(f64, f64)> = gauge
        .stations
        .iter()
        .map(|s| (nose + s.at, height))
        .collect();
    let mut marks = numbers(&places, turn, base, (2.0, width - 2.0));
    marks.push(super::rectangle(
        Some("story-stick"),
        Pen::Cut,
        [0.0, 0.0],
        [width, height],
    ));
    marks.push(text(
        (0.0, height + 1.5 + 0.8 * TEXT),
        Align::Start,
        "story stick: strike the stations off on the turning work",
    ));
    Block {
        width: width.max(text_width(
            "story stick: strike the stations off on the turning work",
            TEXT,
        )),
        height: height + LEADING + 2.0,
        marks,
    }
}
