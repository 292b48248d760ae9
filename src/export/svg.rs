//! Scalable Vector Graphics, at exactly the size drawn.
//!
//! One user unit is one millimetre: width and height are given in mm and the view box
//! has the same numbers. In print, mm are physical millimetres (W3C, CSS Values and
//! Units Level 3, "Absolute lengths").

use kurbo::{BezPath, PathEl, Point};
use svg::Document;
use svg::node::element::{Path, Text, Title};

use crate::drawing::{Align, Mark, Pen, Sheet};

/// The sheet as SVG text. Coordinates are rounded to a thousandth of a millimetre.
pub fn to_svg(sheet: &Sheet) -> String {
    let (width, height) = (round(sheet.width), round(sheet.height));
    let mut document = Document::new()
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .set("viewBox", format!("0 0 {width} {height}"))
        .set("font-family", "sans-serif")
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
                let (x, y) = (round(at.x), round(at.y));
                let mut node = Text::new(clean(text))
                    .set("x", x)
                    .set("y", y)
                    .set("font-size", round(*size))
                    .set(
                        "text-anchor",
                        match align {
                            Align::Start => "start",
                            Align::Middle => "middle",
                            Align::End => "end",
                        },
                    );
                if *upright {
                    node = node.set("transform", format!("rotate(-90 {x} {y})"));
                }
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
