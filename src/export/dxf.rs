//! Drawing Exchange Format, release 12, which every program that cuts by drawings reads.
//!
//! The format has no unit: one unit is one millimetre here. Cut lines are on layer CUT, all else
//! on layer NOTE.
//!
//! # References
//! AutoCAD DXF reference, release 12 (group codes of HEADER, LAYER, POLYLINE and TEXT; from
//! memory).

use std::fmt::Write;

use kurbo::{BezPath, PathEl, Point};

use crate::drawing::{Align, Mark, Pen, Sheet};

/// Largest distance of a flattened curve from itself, in mm.
const FLAT: f64 = 0.005;

/// The sheet as DXF text, y up from its lower edge. Coordinates are rounded to a
/// ten-thousandth of a millimetre.
pub fn to_dxf(sheet: &Sheet) -> String {
    let mut out = String::new();
    let place = |p: Point| (p.x, sheet.height - p.y);
    pair(&mut out, 0, "SECTION");
    pair(&mut out, 2, "HEADER");
    pair(&mut out, 9, "$ACADVER");
    pair(&mut out, 1, "AC1009");
    pair(&mut out, 0, "ENDSEC");
    pair(&mut out, 0, "SECTION");
    pair(&mut out, 2, "TABLES");
    pair(&mut out, 0, "TABLE");
    pair(&mut out, 2, "LAYER");
    pair(&mut out, 70, "2");
    for (name, colour) in [("CUT", "1"), ("NOTE", "7")] {
        pair(&mut out, 0, "LAYER");
        pair(&mut out, 2, name);
        pair(&mut out, 70, "0");
        pair(&mut out, 62, colour);
        pair(&mut out, 6, "CONTINUOUS");
    }
    pair(&mut out, 0, "ENDTAB");
    pair(&mut out, 0, "ENDSEC");
    pair(&mut out, 0, "SECTION");
    pair(&mut out, 2, "ENTITIES");
    for mark in &sheet.marks {
        match mark {
            Mark::Line { path, pen, .. } => {
                let layer = if *pen == Pen::Cut { "CUT" } else { "NOTE" };
                for (points, closed) in runs(path) {
                    polyline(&mut out, layer, points.into_iter().map(place), closed);
                }
            }
            Mark::Text {
                at,
                text,
                size,
                align,
                upright,
            } => {
                let at = place(*at);
                pair(&mut out, 0, "TEXT");
                pair(&mut out, 8, "NOTE");
                point(&mut out, 0, at);
                // Height of capitals, about 0.7 of the em.
                pair(&mut out, 40, &number(0.7 * size));
                pair(&mut out, 1, &ascii(text));
                if *upright {
                    pair(&mut out, 50, "90");
                }
                let align = match align {
                    Align::Start => "0",
                    Align::Middle => "1",
                    Align::End => "2",
                };
                pair(&mut out, 72, align);
                point(&mut out, 1, at);
            }
        }
    }
    pair(&mut out, 0, "ENDSEC");
    pair(&mut out, 0, "EOF");
    out
}

fn pair(out: &mut String, code: u32, value: &str) {
    // Writing into a string cannot fail.
    let _ = writeln!(out, "{code:>3}\n{value}");
}

fn number(value: f64) -> String {
    // Adding zero turns −0 into 0.
    let rounded = (value * 10_000.0).round() / 10_000.0 + 0.0;
    format!("{rounded:.4}")
}

/// The `k`-th point of an entity.
fn point(out: &mut String, k: u32, (x, y): (f64, f64)) {
    pair(out, 10 + k, &number(x));
    pair(out, 20 + k, &number(y));
    pair(out, 30 + k, "0.0");
}

fn polyline(out: &mut String, layer: &str, points: impl Iterator<Item = (f64, f64)>, closed: bool) {
    pair(out, 0, "POLYLINE");
    pair(out, 8, layer);
    pair(out, 66, "1");
    point(out, 0, (0.0, 0.0));
    pair(out, 70, if closed { "1" } else { "0" });
    for p in points {
        pair(out, 0, "VERTEX");
        pair(out, 8, layer);
        point(out, 0, p);
    }
    pair(out, 0, "SEQEND");
    pair(out, 8, layer);
}

/// The path as straight runs, and whether each is closed.
fn runs(path: &BezPath) -> Vec<(Vec<Point>, bool)> {
    let mut runs: Vec<(Vec<Point>, bool)> = Vec::new();
    kurbo::flatten(path, FLAT, |element| match element {
        PathEl::MoveTo(p) => runs.push((vec![p], false)),
        PathEl::LineTo(p) => {
            if let Some((points, _)) = runs.last_mut() {
                points.push(p);
            }
        }
        PathEl::ClosePath => {
            if let Some((_, closed)) = runs.last_mut() {
                *closed = true;
            }
        }
        // Flattening leaves no curves.
        PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
    });
    runs
}

/// Release 12 is plain ASCII; its own escape stands for anything else.
fn ascii(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if c.is_ascii_graphic() || c == ' ' {
            out.push(c);
        } else if !c.is_control() {
            let _ = write!(out, "\\U+{:04X}", u32::from(c));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_of_codes_and_values() {
        let mut path = BezPath::new();
        path.move_to((1.0, 2.0));
        path.line_to((31.0, 2.0));
        path.line_to((31.0, 12.0));
        path.close_path();
        let sheet = Sheet {
            title: "t".into(),
            width: 40.0,
            height: 20.0,
            marks: vec![
                Mark::Line {
                    id: None,
                    path,
                    pen: Pen::Cut,
                },
                Mark::Text {
                    at: Point::new(5.0, 5.0),
                    text: "Å 4\n".into(),
                    size: 3.6,
                    align: Align::Middle,
                    upright: false,
                },
            ],
        };
        let text = to_dxf(&sheet);
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        assert_eq!(lines.len() % 2, 0);
        let pairs: Vec<(i32, &str)> = lines
            .chunks_exact(2)
            .map(|c| (c[0].parse().unwrap(), c[1]))
            .collect();
        assert_eq!(pairs.iter().filter(|p| **p == (0, "VERTEX")).count(), 3);
        // y counts from the lower edge.
        let vertex = pairs.iter().position(|p| *p == (0, "VERTEX")).unwrap();
        assert_eq!(
            pairs[vertex + 2..vertex + 4],
            [(10, "1.0000"), (20, "18.0000")]
        );
        assert!(pairs.contains(&(1, "\\U+00C5 4")));
        assert_eq!(pairs.last(), Some(&(0, "EOF")));
    }
}
