//! How sizes and weights of the bait sink: a chart with bands, and the numbers.

use super::super::labels;
use super::super::sheet::{Align, LEADING, Mark, Pen, TEXT, line, text, text_width};
use super::pages::{Block, table, words};
use super::rectangle;
use crate::quantity::LengthUnit;
use crate::rig::Sized;

/// Size of the chart's frame, mm.
const FRAME: [f64; 2] = [110.0, 78.0];
/// Between the bars of two sizes at one weight.
const BESIDE: f64 = 2.6;
/// Lines of the sizes, from the smallest: told apart without colour.
const PENS: [Pen; 3] = [Pen::Hidden, Pen::Wide, Pen::Centre];

/// The chart and its table, the frame as much smaller as it takes to fit into `area`; `None` if nothing
/// sinks.
pub(super) fn chart(sizes: &[Sized], units: LengthUnit, area: [f64; 2]) -> Option<Block> {
    const LEAST: f64 = 45.0;
    let full = framed(sizes, units, FRAME)?;
    let over = [full.width - area[0], full.height - area[1]];
    if over[0] <= 0.0 && over[1] <= 0.0 {
        return Some(full);
    }
    let smaller = [0, 1].map(|k| (FRAME[k] - over[k].max(0.0)).clamp(LEAST, FRAME[k]));
    framed(sizes, units, smaller)
}

fn framed(sizes: &[Sized], units: LengthUnit, frame: [f64; 2]) -> Option<Block> {
    let (per_second, unit) = match units {
        LengthUnit::In => (25.4, "in/s"),
        LengthUnit::Cm | LengthUnit::Mm => (10.0, "cm/s"),
    };
    let fastest = sizes
        .iter()
        .filter_map(|s| Some(s.speeds?[2] / per_second))
        .fold(0.0, f64::max);
    if fastest <= 0.0 {
        return None;
    }
    let heaviest = sizes.iter().map(|s| s.mass).fold(0.0, f64::max);
    let step = [fastest, heaviest].map(round_step);
    let most = [
        // Room for the bars beside the last weight.
        step[1] * (1.06 * heaviest / step[1]).ceil(),
        step[0] * (fastest / step[0]).ceil(),
    ];
    let heads = words(
        "How sizes and weights would sink",
        &[
            "Speed at the end of the fall. Each upright bar runs from the least to the most of the drag \
             model, over the attitudes that go with it; the sign on it is the middle, and a line joins \
             the middles of one size. Bars of sizes at one weight stand side by side. \
             Body and places are in proportion; wire, hook and skirt keep their size."
                .to_owned(),
        ],
        frame[0] + 60.0,
    );
    let mut marks = heads.marks;
    let left = 16.0;
    let (top, foot) = (heads.height + 6.0, heads.height + 6.0 + frame[1]);
    let x = |mass: f64| left + frame[0] * mass / most[0];
    let y = |speed: f64| foot - frame[1] * speed / most[1];
    marks.push(rectangle(
        None,
        Pen::Narrow,
        [left, top],
        [left + frame[0], foot],
    ));
    let ticks = |most: f64, step: f64| {
        (0..)
            .map(move |k| step * f64::from(k))
            .take_while(move |v| *v <= most * 1.0001)
    };
    let decimals = |step: f64| usize::from(step < 1.0) + usize::from(step < 0.1);
    for v in ticks(most[0], step[1]) {
        marks.push(line(Pen::Narrow, &[(x(v), foot), (x(v), foot + 1.5)]));
        let words = format!("{v:.*}", decimals(step[1]));
        marks.push(text((x(v), foot + 2.0 + 0.8 * TEXT), Align::Middle, words));
    }
    for v in ticks(most[1], step[0]) {
        marks.push(line(Pen::Narrow, &[(left - 1.5, y(v)), (left, y(v))]));
        let words = format!("{v:.*}", decimals(step[0]));
        marks.push(text((left - 2.5, y(v) + 0.3 * TEXT), Align::End, words));
    }
    marks.push(text((left, top - 1.8), Align::Start, unit));
    let beneath = foot + 2.0 + LEADING + 0.8 * TEXT;
    marks.push(text(
        (left + 0.5 * frame[0], beneath),
        Align::Middle,
        "mass of the first weight, g",
    ));

    let mut lengths: Vec<f64> = Vec::new();
    for s in sizes {
        if !lengths.contains(&s.length) {
            lengths.push(s.length);
        }
    }
    // Where lines end, for their names.
    let mut ends = Vec::new();
    for (i, length) in lengths.iter().enumerate() {
        let off = BESIDE * (i as f64 - 0.5 * (lengths.len() - 1) as f64);
        let points: Vec<(f64, [f64; 3])> = sizes
            .iter()
            .filter(|s| s.length == *length)
            .filter_map(|s| {
                let speeds = s.speeds?;
                Some((x(s.mass) + off, speeds.map(|v| y(v / per_second))))
            })
            .collect();
        for &(at, [slow, _, fast]) in &points {
            marks.push(line(Pen::Narrow, &[(at, slow), (at, fast)]));
            for end in [slow, fast] {
                marks.push(line(Pen::Narrow, &[(at - 0.9, end), (at + 0.9, end)]));
            }
        }
        let middles: Vec<(f64, f64)> = points.iter().map(|p| (p.0, p.1[1])).collect();
        marks.extend(middles.iter().map(|p| sign(i, p.0, p.1)));
        if middles.len() > 1 {
            marks.push(line(PENS[i % PENS.len()], &middles));
        }
        if let Some(&(at, end)) = middles.last() {
            ends.push((end, at, units.show(*length)));
        }
    }
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let wanted: Vec<f64> = ends.iter().map(|e| e.0).collect();
    let heights = vec![LEADING; ends.len()];
    let beside = left + frame[0] + 7.0;
    let mut width = beside;
    let places = labels::spread(&wanted, &heights, top, foot);
    for ((end, at, name), place) in ends.into_iter().zip(places) {
        marks.push(line(
            Pen::Narrow,
            &[
                (at + 1.4, end),
                (left + frame[0] + 2.0, place),
                (beside - 1.0, place),
            ],
        ));
        width = width.max(beside + text_width(&name, TEXT));
        marks.push(text((beside, place + 0.3 * TEXT), Align::Start, name));
    }

    // Beside the chart, the numbers.
    let mut rows: Vec<Vec<String>> = Vec::new();
    for s in sizes {
        let mut row = vec![units.show(s.length), format!("{:.2} g", s.mass)];
        match (s.speeds, s.nose_down) {
            (Some(speeds), Some(angles)) => {
                row.extend(speeds.map(|v| format!("{:.1}", v / per_second)));
                // Adding zero turns −0 into 0.
                let [least, _, most] = angles.map(|a| a.round() + 0.0);
                row.push(if least == most {
                    format!("{least:.0}\u{b0}")
                } else {
                    format!("{least:.0}\u{b0} to {most:.0}\u{b0}")
                });
            }
            _ => row.push("floats".to_owned()),
        }
        rows.push(row);
    }
    let heads: Vec<[String; 2]> = [
        ["length", ""],
        ["weight", ""],
        ["least", unit],
        ["middle", unit],
        ["most", unit],
        ["nose", "down"],
    ]
    .map(|h| h.map(str::to_owned))
    .to_vec();
    let mut bottom = beneath + 2.0;
    let mut right = width + 10.0;
    for block in table(&heads, &rows, 1e3) {
        let by = [right, top];
        marks.extend(block.marks.into_iter().map(|m| super::pages::moved(m, by)));
        right += block.width;
        bottom = bottom.max(top + block.height);
    }
    Some(Block {
        width: right.max(frame[0] + 60.0),
        height: bottom,
        marks,
    })
}

/// A sign for a size at a point, told apart without colour: a diamond, a square, a triangle.
fn sign(i: usize, x: f64, y: f64) -> Mark {
    const HALF: f64 = 0.9;
    let corners: &[(f64, f64)] = match i % 3 {
        0 => &[
            (0.0, -1.3),
            (1.3, 0.0),
            (0.0, 1.3),
            (-1.3, 0.0),
            (0.0, -1.3),
        ],
        1 => &[
            (-1.0, -1.0),
            (1.0, -1.0),
            (1.0, 1.0),
            (-1.0, 1.0),
            (-1.0, -1.0),
        ],
        _ => &[(0.0, -1.3), (1.2, 0.9), (-1.2, 0.9), (0.0, -1.3)],
    };
    let placed: Vec<(f64, f64)> = corners
        .iter()
        .map(|(a, b)| (x + HALF * a, y + HALF * b))
        .collect();
    line(Pen::Wide, &placed)
}

/// A step of 1, 2 or 5 times a power of ten that divides an axis up to `most` into four to ten.
fn round_step(most: f64) -> f64 {
    let rough = most / 4.0;
    let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|k| k * power)
        .find(|step| *step <= rough * 1.000_001)
        .unwrap_or(power)
}

#[cfg(test)]
mod tests {
    use super::round_step;

    #[test]
    fn steps_are_round_and_not_too_many() {
        for (most, step) in [(4.0, 1.0), (9.0, 2.0), (21.0, 5.0), (0.9, 0.2), (35.0, 5.0)] {
            assert!((round_step(most) - step).abs() < 1e-12, "{most}");
        }
    }
}
