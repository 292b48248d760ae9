//! Scalable Vector Graphics, at exactly the size drawn.
//!
//! One user unit is one millimetre: width and height are given in mm and the view box
//! has the same numbers. In print, mm are physical millimetres (W3C, CSS Values and
//! Units Level 3, "Absolute lengths").
//!
//! Lettering is drawn as outlines, so that it looks the same in every program; readers find the
//! words in `aria-label` (W3C, SVG 2, 5.13, "WAI-ARIA").

use kurbo::{BezPath, PathEl, Point};
use svg::Document;
use svg::node::element::{Path, Title};

use crate::drawing::{Align, Mark, Pen, Sheet, face};

/// The sheet as SVG text. Coordinates are rounded to a thousandth of a millimetre.
pub fn to_svg(sheet: &Sheet) -> String {
    let (width, height) = (round(sheet.width), round(sheet.height));
    let mut document = Document::new()
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .set("viewBox", format!("0 0 {width} {height}"))
        .add(Title::new(clean(&sheet.title)));
    for mark in &sheet.marks {
        document = match mark {
            Mark::Line { id, path, pen } => {
                let mut node = Path::new()
                    .set("d", round_path(path).to_svg())
                    .set("fill", "none")
                    .set("stroke", colour(*pen))
                    .set("stroke-width", pen.width())
                    .set("stroke-linejoin", "miter");
                if let Some(id) = id {
                    node = node.set("id", *id);
                }
                if let Some(dashes) = pen.dashes() {
                    let list: Vec<String> = dashes.iter().map(f64::to_string).collect();
                    node = node.set("stroke-dasharray", list.join(" "));
                }
                document.add(node)
            }
            Mark::Text {
                at,
                text,
                size,
                align,
                upright,
            } => {
                let outlines = face::outlines(text);
                if outlines.elements().is_empty() {
                    continue;
                }
                let width = face::width(text, *size);
                let back = match align {
                    Align::Start => 0.0,
                    Align::Middle => 0.5 * width,
                    Align::End => width,
                };
                let (x, y, turn) = if *upright {
                    (round(at.x), round(at.y + back), " rotate(-90)")
                } else {
                    (round(at.x - back), round(at.y), "")
                };
                // Font units are whole numbers, y up.
                let scale = size / face::units_per_em();
                let node = Path::new()
                    .set("d", relative(&outlines))
                    .set("role", "img")
                    .set("aria-label", clean(text))
                    .set(
                        "transform",
                        format!("translate({x} {y}){turn} scale({scale:.8} -{scale:.8})"),
                    );
                document.add(node)
            }
        };
    }
    let mut text = document.to_string();
    text.push('\n');
    text
}

fn colour(pen: Pen) -> &'static str {
    match pen {
        Pen::Cut => "#c00000",
        _ => "#000000",
    }
}

/// To a thousandth, without a negative zero.
fn round(v: f64) -> f64 {
    (v * 1000.0).round() / 1000.0 + 0.0
}

fn round_path(path: &BezPath) -> BezPath {
    let point = |p: Point| Point::new(round(p.x), round(p.y));
    path.elements()
        .iter()
        .map(|el| match *el {
            PathEl::MoveTo(p) => PathEl::MoveTo(point(p)),
            PathEl::LineTo(p) => PathEl::LineTo(point(p)),
            PathEl::QuadTo(a, p) => PathEl::QuadTo(point(a), point(p)),
            PathEl::CurveTo(a, b, p) => PathEl::CurveTo(point(a), point(b), point(p)),
            PathEl::ClosePath => PathEl::ClosePath,
        })
        .collect()
}

/// A path of whole numbers, in relative coordinates, which are short.
fn relative(path: &BezPath) -> String {
    let mut out = String::new();
    let (mut here, mut start) = (Point::ZERO, Point::ZERO);
    let mut say = |letter: char, here: Point, points: &[Point]| {
        out.push(letter);
        for (i, p) in points.iter().enumerate() {
            let by = *p - here;
            if i > 0 && by.x >= 0.0 {
                out.push(' ');
            }
            // Adding zero turns −0 into 0.
            let (x, y) = (by.x + 0.0, by.y + 0.0);
            let gap = if y < 0.0 { "" } else { " " };
            out.push_str(&format!("{x}{gap}{y}"));
        }
    };
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => {
                say('m', here, &[p]);
                start = p;
            }
            PathEl::LineTo(p) => say('l', here, &[p]),
            PathEl::QuadTo(a, p) => say('q', here, &[a, p]),
            PathEl::CurveTo(a, b, p) => say('c', here, &[a, b, p]),
            PathEl::ClosePath => {
                say('z', here, &[]);
                here = start;
            }
        }
        here = element.end_point().unwrap_or(here);
    }
    out
}

/// XML 1.0 has no way to write most control characters, nor U+FFFE and U+FFFF
/// (section 2.2, production `Char`).
fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
            c if c.is_control() => ' ',
            c => c,
        })
        .collect()
}
