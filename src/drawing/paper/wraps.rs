//! Index strips, section templates and flat patterns, at 1:1.

use kurbo::{Affine, BezPath, Shape};

use super::super::labels;
use super::super::sheet::{Align, LEADING, Mark, Pen, TEXT, fit, line, text, text_width};
use super::pages::Block;
use super::rectangle;
use crate::body::{Body, fork_outline};
use crate::curve::Outline;
use crate::lathe::{IndexStrip, root_of};
use crate::mesh::solid;
use crate::quantity::LengthUnit;
use crate::spec::{Design, End, FinDesign, FinOutline, TailDesign};

/// Paper beyond the girth, to glue the strip's end on.
const TAB: f64 = 10.0;
/// Width of a strip.
const STRIP: f64 = 10.0;
/// Card round a section's template.
const FRAME: f64 = 12.0;
/// Which way a template is held.
const UP: &str = "back up";
/// Chords of a section stand off by no more than this.
const SAG: f64 = 0.004;

/// A strip of paper to wrap round the body, marks at their angles.
pub(super) fn strip(strip: &IndexStrip, units: LengthUnit) -> Block {
    let lettering: Vec<String> = strip
        .marks
        .iter()
        .map(|m| format!("{} {:.0}\u{b0}", m.what, m.angle))
        .collect();
    let high = lettering
        .iter()
        .map(|l| text_width(l, TEXT))
        .fold(0.0, f64::max);
    let title = format!(
        "strip at {} from the nose, girth {}",
        units.show(strip.at),
        units.show(strip.girth)
    );
    // Upright lettering: a line of it takes as much of the row as of a column.
    let widths = vec![LEADING; lettering.len()];
    let length = strip.girth + TAB;
    let width = length
        .max(labels::row_width(&widths))
        .max(text_width(&title, TEXT));
    let left = 0.5 * (width - length);
    let wanted: Vec<f64> = strip.marks.iter().map(|m| left + m.along).collect();
    let middles = labels::spread(&wanted, &widths, 0.0, width);
    let slant = 5.0;
    let top = high + 1.0 + slant + 2.0;
    let mut marks = Vec::new();
    for (i, words) in lettering.into_iter().enumerate() {
        let x = wanted[i];
        marks.push(line(
            Pen::Narrow,
            &[(x, top + STRIP), (x, top - 1.5), (middles[i], high + 1.0)],
        ));
        marks.push(Mark::Text {
            at: kurbo::Point::new(middles[i] + 0.28 * TEXT, high),
            text: words,
            size: TEXT,
            align: Align::Start,
            upright: true,
        });
    }
    marks.push(rectangle(
        Some("girth"),
        Pen::Narrow,
        [left, top],
        [left + strip.girth, top + STRIP],
    ));
    marks.push(rectangle(
        Some("index-strip"),
        Pen::Cut,
        [left, top],
        [left + length, top + STRIP],
    ));
    // At the beginning, where it is whole on one page however long the strip.
    marks.push(text(
        (0.0, top + STRIP + 1.5 + 0.8 * TEXT),
        Align::Start,
        title,
    ));
    Block {
        width,
        height: top + STRIP + LEADING + 2.0,
        marks,
    }
}

/// The body's section at a station, as [`template`] takes it.
pub(super) fn section(body: &Body, at: f64) -> Vec<Vec<[f64; 2]>> {
    vec![body.section_polygon(at, SAG)]
}

/// Least and greatest of the other coordinate where closed polygons cross the line on which
/// coordinate `k` is 0.
fn across(rings: &[Vec<[f64; 2]>], k: usize) -> Option<[f64; 2]> {
    let mut reach: Option<[f64; 2]> = None;
    for ring in rings {
        for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            if (a[k] < 0.0) == (b[k] < 0.0) {
                continue;
            }
            let at = a[1 - k] + (b[1 - k] - a[1 - k]) * a[k] / (a[k] - b[k]);
            let [low, high] = reach.unwrap_or([at; 2]);
            reach = Some([low.min(at), high.max(at)]);
        }
    }
    reach
}

/// A card with the section, closed polygons of y to the right and z up, as a hole, to be cut apart
/// along the parting line.
pub(super) fn template(
    section: &[Vec<[f64; 2]>],
    at: f64,
    upright: bool,
    kerf: f64,
    units: LengthUnit,
) -> Block {
    // Down to the middle of the cut: the hole grows by half of it all round.
    let rings: Vec<Vec<[f64; 2]>> = section
        .iter()
        .map(|ring| {
            let cut = (kerf > 0.0).then(|| solid::moved_out(ring, -0.5 * kerf));
            cut.flatten().unwrap_or_else(|| ring.clone())
        })
        .collect();
    let mut bounds = kurbo::Rect::new(0.0, 0.0, 0.0, 0.0);
    for p in section.iter().flatten() {
        bounds = bounds.union_pt((p[0], p[1]));
    }
    let size = format!(
        "{} \u{d7} {}",
        units.show(bounds.width()),
        units.show(bounds.height())
    );
    let place = format!("at {}", units.show(at));
    let lettering = text_width(&size, TEXT).max(text_width(&place, TEXT));
    let width = (bounds.width() + 2.0 * FRAME)
        .max(lettering + 2.0)
        .max(2.0 * (text_width(UP, TEXT) + 3.0));
    let height = bounds.height() + 2.0 * FRAME;
    // Where y and z are 0.
    let middle = 0.5 * width - 0.5 * (bounds.x0 + bounds.x1);
    let axis = FRAME + bounds.y1;
    let mut hole = BezPath::new();
    for ring in &rings {
        for (i, p) in ring.iter().enumerate() {
            let p = (middle + p[0], axis - p[1]);
            if i == 0 {
                hole.move_to(p);
            } else {
                hole.line_to(p);
            }
        }
        hole.close_path();
    }
    let split = if upright {
        across(&rings, 0).map(|[low, high]| {
            [
                [(middle, 0.0), (middle, axis - high)],
                [(middle, axis - low), (middle, height)],
            ]
        })
    } else {
        across(&rings, 1).map(|[low, high]| {
            [
                [(0.0, axis), (middle + low, axis)],
                [(middle + high, axis), (width, axis)],
            ]
        })
    };
    let mut marks = vec![
        line(
            Pen::Centre,
            &[(middle + bounds.x0, axis), (middle + bounds.x1, axis)],
        ),
        line(
            Pen::Centre,
            &[(middle, axis - bounds.y1), (middle, axis - bounds.y0)],
        ),
        rectangle(None, Pen::Cut, [0.0, 0.0], [width, height]),
        Mark::Line {
            id: Some("section"),
            path: hole,
            pen: Pen::Cut,
        },
    ];
    // A card is no mirror image of itself upside down.
    marks.push(text((1.5, 1.2 + 0.8 * TEXT), Align::Start, UP));
    let ends = split.iter().flatten();
    marks.extend(ends.map(|ends| line(Pen::Cut, ends)));
    for (k, words) in [place, size].into_iter().enumerate() {
        let base = height + 1.2 + LEADING * k as f64 + 0.8 * TEXT;
        marks.push(text((middle, base), Align::Middle, words));
    }
    Block {
        width,
        height: height + 2.0 * LEADING + 2.0,
        marks,
    }
}

/// The outline of a fin above its root line, x backward and y outward, in mm: closed along the
/// root.
pub(super) fn fin_outline(fin: &FinDesign, scale: f64) -> BezPath {
    let mut path = match &fin.outline {
        FinOutline::Stations { root, knots } => {
            let end = |at: f64, knot: Option<&crate::spec::Knot>| match knot {
                Some(k) if k.at == at => End::Flat,
                _ => End::Pointed,
            };
            let (front, rear) = (end(0.0, knots.first()), end(*root, knots.last()));
            let edge = Outline::through(knots, *root, front, rear).to_path();
            let mut path = BezPath::new();
            path.move_to((0.0, 0.0));
            let mut elements = edge.elements().iter();
            if let Some(start) = elements.next().and_then(|e| e.end_point())
                && start.y > 0.0
            {
                path.line_to(start);
            }
            path.extend(elements.copied());
            path.line_to((*root, 0.0));
            path.close_path();
            path
        }
        FinOutline::Path(path) => path.clone(),
    };
    let lean = libm::tan(fin.sweep.to_radians());
    path.apply_affine(Affine::new([scale, 0.0, scale * lean, scale, 0.0, 0.0]));
    path
}

/// Where the middle of a cut goes that leaves a part of this outline.
fn cut(outline: BezPath, kerf: f64) -> BezPath {
    if kerf <= 0.0 {
        return outline;
    }
    let mut ring: Vec<[f64; 2]> = Vec::new();
    kurbo::flatten(&outline, SAG, |element| {
        if let Some(p) = element.end_point() {
            ring.push([p.x, p.y]);
        }
    });
    let Some(ring) = solid::moved_out(&ring, 0.5 * kerf) else {
        return outline;
    };
    let mut path = BezPath::new();
    for (i, p) in ring.into_iter().enumerate() {
        if i == 0 {
            path.move_to((p[0], p[1]));
        } else {
            path.line_to((p[0], p[1]));
        }
    }
    path.close_path();
    path
}

/// Every flat fin or tail that has a pattern, with its name, how many, how thick.
pub(super) fn patterns(design: &Design, body: &Body, scale: f64) -> Vec<Block> {
    let units = design.units;
    let cut = |outline| cut(outline, design.lathe.kerf);
    let mut blocks = Vec::new();
    for (i, fin) in design.fin.iter().enumerate() {
        let name = if design.fin.len() == 1 {
            "fin".to_owned()
        } else {
            format!("fin {}", i + 1)
        };
        let count = if fin.angle % 180.0 == 0.0 { 1 } else { 2 };
        let lines = [
            format!("{name}: cut {count}"),
            format!("{} thick", units.show(scale * fin.thickness)),
            format!("root {}", units.show(scale * root_of(&fin.outline))),
        ];
        blocks.push(pattern(cut(fin_outline(fin, scale)), &lines, true));
    }
    if let Some(TailDesign::Fork(fork)) = &design.tail
        && let Some(outline) = fork_outline(&body.scaled(1.0 / scale), fork, design.tolerance)
    {
        let mut path = BezPath::new();
        for (i, &[x, y]) in outline.iter().enumerate() {
            let p = (scale * x, scale * y);
            if i == 0 {
                path.move_to(p);
            } else {
                path.line_to(p);
            }
        }
        path.close_path();
        let lines = [
            "tail: cut 1".to_owned(),
            format!("{} thick", units.show(scale * fork.thickness)),
            format!("{} in the body", units.show(-scale * outline[0][0])),
        ];
        blocks.push(pattern(cut(path), &lines, true));
    }
    if let Some(TailDesign::Paddle(paddle)) = &design.tail {
        let disc = kurbo::Circle::new((0.0, 0.0), scale * paddle.radius).to_path(1e-4);
        let lines = [
            "tail disc: cut 1".to_owned(),
            format!("{} thick", units.show(scale * paddle.thickness)),
            format!("\u{d8} {}", units.show(2.0 * scale * paddle.radius)),
        ];
        blocks.push(pattern(cut(disc), &lines, false));
    }
    blocks
}

/// An outline with y up, its lettering and, if it stands on a root, an arrow to the tail.
fn pattern(outline: BezPath, lines: &[String], rooted: bool) -> Block {
    let bounds = outline.bounding_box();
    let widest = lines
        .iter()
        .map(|l| text_width(l, TEXT))
        .fold(0.0, f64::max);
    let width = bounds.width().max(widest);
    let shift = 0.5 * (width - bounds.width());
    let place = Affine::new([1.0, 0.0, 0.0, -1.0, shift - bounds.x0, bounds.y1]);
    let mut marks = vec![Mark::Line {
        id: Some("pattern"),
        path: place * outline,
        pen: Pen::Cut,
    }];
    let mut y = bounds.height() + 2.0;
    if rooted {
        // Which way the tail is: fins that lean are no mirror images of themselves.
        let (from, to) = (shift, shift + bounds.width().min(12.0));
        marks.push(line(Pen::Narrow, &[(from, y + 1.0), (to, y + 1.0)]));
        marks.push(line(
            Pen::Narrow,
            &[(to - 2.0, y + 0.3), (to, y + 1.0), (to - 2.0, y + 1.7)],
        ));
        y += 3.5;
    }
    for words in lines {
        marks.push(text(
            (0.5 * width, y + 0.8 * TEXT),
            Align::Middle,
            fit(words, TEXT, width),
        ));
        y += LEADING;
    }
    Block {
        width,
        height: y,
        marks,
    }
}
