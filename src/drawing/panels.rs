//! The pattern that the frame's walls and the backing plates are cut from sheet material by.

use kurbo::BezPath;

use super::sheet::{
    Align, BARS_HEIGHT, BARS_WIDTH, LEADING, MARGIN, Mark, Pen, Sheet, check_bars, line, page, text,
};
use crate::mould::Mould;
use crate::quantity::LengthUnit;
use crate::spec::{Design, Route};

/// From one panel to the next, with room for dimensions.
const APART: f64 = 14.0;
/// Fingers are about this many thicknesses long, and no shorter than this (common practice).
const FINGER: (f64, f64) = (2.0, 6.0);
/// Notches in a plate that a band lies in: width and depth (reasoned).
const NOTCH: (f64, f64) = (8.0, 3.0);

/// A panel: what it is, how many of it, its finished outline.
struct Panel {
    title: String,
    size: [f64; 2],
    /// Corners of a shape with sides along x and y only, clockwise on paper, where y is down.
    outline: Vec<[f64; 2]>,
}

/// The pattern for a mould, at 1:1; `None` if nothing of it is cut from sheet.
///
/// Lines are where the middle of the cut goes: half the kerf outside the finished part, so that
/// parts come out at their size and fingers fill their gaps.
pub fn pattern_sheet(mould: &Mould, design: &Design) -> Option<Sheet> {
    let panels = panels(mould, design);
    if panels.is_empty() {
        return None;
    }
    let (kerf, units) = (design.mould.kerf, design.units);
    let title = format!("{}, cutting pattern", design.name);
    let mut marks = Vec::new();
    let (left, mut top) = (MARGIN + 8.0, MARGIN + 6.0);
    let rows = [
        title.clone(),
        format!(
            "Sheet of {} thickness, cut of {} width: the lines are the middle of the cut, all parts \
             come out at the size written.",
            units.show(design.mould.sheet),
            units.show(kerf)
        ),
    ];
    for row in rows {
        marks.push(text((MARGIN, top), Align::Start, row));
        top += LEADING;
    }
    top += LEADING;
    let mut widest: f64 = BARS_WIDTH;
    for panel in &panels {
        marks.push(text((left, top), Align::Start, panel.title.as_str()));
        top += 3.0;
        marks.push(Mark::Line {
            id: None,
            path: cut(&panel.outline, kerf, [left, top]),
            pen: Pen::Cut,
        });
        let [width, height] = panel.size;
        marks.extend(dimensions([left, top], panel.size, units));
        widest = widest.max(width + left - MARGIN);
        top += height + APART;
    }
    marks.extend(check_bars(MARGIN, top));
    top += BARS_HEIGHT;
    let (width, height) = page(widest, top - MARGIN, units);
    Some(Sheet {
        title,
        width,
        height,
        marks,
    })
}

fn panels(mould: &Mould, design: &Design) -> Vec<Panel> {
    let size = mould.block.size();
    let t = design.mould.sheet;
    let mut panels = Vec::new();
    if mould.route == Route::Board {
        for (name, inner, first) in [("long", size.x, true), ("short", size.y, false)] {
            for number in 1..=2 {
                panels.push(Panel {
                    title: format!("{name} wall {number} of 2"),
                    size: [inner + 2.0 * t, size.z],
                    outline: wall(inner, size.z, t, first),
                });
            }
        }
    }
    if mould.route != Route::Block && design.mould.bands {
        for name in mould.names() {
            panels.push(Panel {
                title: format!("backing plate, {name} half"),
                size: [size.x, size.y],
                outline: plate(size.x, size.y),
            });
        }
    }
    panels
}

/// A wall with fingers at both ends; those of `first` and the others fill each other's gaps.
fn wall(inner: f64, height: f64, t: f64, first: bool) -> Vec<[f64; 2]> {
    let count = fingers(height, t);
    let step = height / count as f64;
    let full = inner + 2.0 * t;
    // Whether the finger reaches to the outside.
    let out = |i: usize| i.is_multiple_of(2) == first;
    let mut right = Vec::new();
    let mut left = Vec::new();
    for i in 0..count {
        let (from, to) = (step * i as f64, step * (i + 1) as f64);
        let inset = if out(i) { 0.0 } else { t };
        right.extend([[full - inset, from], [full - inset, to]]);
        left.extend([[inset, from], [inset, to]]);
    }
    left.reverse();
    right.extend(left);
    right
}

/// An odd number of fingers, so that walls are the same either way up.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn fingers(height: f64, t: f64) -> usize {
    let finger = (FINGER.0 * t).max(FINGER.1);
    let count = (height / finger).floor() as usize;
    if count < 3 { 3 } else { (count - 1) | 1 }
}

fn plate(width: f64, height: f64) -> Vec<[f64; 2]> {
    let (half, depth) = (0.5 * NOTCH.0, NOTCH.1);
    let at = [0.25 * width, 0.75 * width];
    let mut outline = vec![[0.0, 0.0]];
    for x in at {
        outline.extend([
            [x - half, 0.0],
            [x - half, depth],
            [x + half, depth],
            [x + half, 0.0],
        ]);
    }
    outline.extend([[width, 0.0], [width, height]]);
    for x in at.into_iter().rev() {
        let (a, b) = (height, height - depth);
        outline.extend([[x + half, a], [x + half, b], [x - half, b], [x - half, a]]);
    }
    outline.push([0.0, height]);
    outline
}

/// The path of the cut's middle: every side moved out by half the kerf.
fn cut(outline: &[[f64; 2]], kerf: f64, at: [f64; 2]) -> BezPath {
    let n = outline.len();
    // The side from a to b runs clockwise on paper: outside is to its left.
    let outward = |a: [f64; 2], b: [f64; 2]| {
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let sign = |c: f64| if c == 0.0 { 0.0 } else { c.signum() };
        [sign(dy), -sign(dx)]
    };
    let mut path = BezPath::new();
    for i in 0..n {
        let (before, here, after) = (outline[(i + n - 1) % n], outline[i], outline[(i + 1) % n]);
        let (p, q) = (outward(before, here), outward(here, after));
        let moved = [0, 1].map(|k| {
            // Two sides in one line move as one.
            let out = if p == q { p[k] } else { p[k] + q[k] };
            at[k] + here[k] + 0.5 * kerf * out
        });
        if i == 0 {
            path.move_to((moved[0], moved[1]));
        } else {
            path.line_to((moved[0], moved[1]));
        }
    }
    path.close_path();
    path
}

/// Finished width below and height to the left, with ticks.
fn dimensions(at: [f64; 2], size: [f64; 2], units: LengthUnit) -> Vec<Mark> {
    let ([x, y], [w, h]) = (at, size);
    let (below, beside) = (y + h + 3.0, x - 3.0);
    let tick = |a: (f64, f64), b: (f64, f64)| line(Pen::Narrow, &[a, b]);
    vec![
        tick((x, below), (x + w, below)),
        tick((x, below - 1.5), (x, below + 1.5)),
        tick((x + w, below - 1.5), (x + w, below + 1.5)),
        text((x + 0.5 * w, below + 4.2), Align::Middle, units.show(w)),
        tick((beside, y), (beside, y + h)),
        tick((beside - 1.5, y), (beside + 1.5, y)),
        tick((beside - 1.5, y + h), (beside + 1.5, y + h)),
        Mark::Text {
            at: kurbo::Point::new(beside - 1.8, y + 0.5 * h),
            text: units.show(h),
            size: super::sheet::TEXT,
            align: Align::Middle,
            upright: true,
        },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Shape;

    fn area(outline: &[[f64; 2]]) -> f64 {
        let n = outline.len();
        let twice = |i: usize| {
            let (a, b) = (outline[i], outline[(i + 1) % n]);
            a[0] * b[1] - b[0] * a[1]
        };
        0.5 * (0..n).map(twice).sum::<f64>()
    }

    #[test]
    fn fingers_fill_each_others_gaps() {
        for (height, t) in [(30.0, 4.0), (31.7, 3.0), (61.0, 6.0), (12.0, 5.0)] {
            let (one, other) = (wall(100.0, height, t, true), wall(40.0, height, t, false));
            // Without its fingers a wall is as long as the inside; at each end the fingers of
            // both walls together make one full post of t by t.
            let fingers = area(&one) - 100.0 * height + area(&other) - 40.0 * height;
            assert!((fingers - 2.0 * t * height).abs() < 1e-9);
            // Both ways up the same.
            for outline in [&one, &other] {
                for p in outline {
                    let turned = [p[0], height - p[1]];
                    let near =
                        |q: &&[f64; 2]| libm::hypot(q[0] - turned[0], q[1] - turned[1]) < 1e-9;
                    assert!(outline.iter().any(|q| near(&q)));
                }
            }
        }
    }

    #[test]
    fn the_cut_leaves_the_part_at_its_size() {
        let outline = wall(100.0, 30.0, 4.0, true);
        let (kerf, part) = (0.3, area(&outline));
        let path = cut(&outline, kerf, [7.0, 9.0]);
        let around: f64 = (0..outline.len())
            .map(|i| {
                let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
                (a[0] - b[0]).abs() + (a[1] - b[1]).abs()
            })
            .sum();
        // Steiner's formula for a shape with four corners more outward than inward.
        let grown = part + 0.5 * kerf * around + 4.0 * 0.25 * kerf * kerf;
        assert!((path.area().abs() - grown).abs() < 1e-9);
        let bounds = path.bounding_box();
        assert!((bounds.width() - 108.3).abs() < 1e-9);
        assert!((bounds.x0 - 6.85).abs() < 1e-9);
    }
}
