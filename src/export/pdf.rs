//! Portable Document Format: sheets as pages, at exactly the size drawn.
//!
//! Drawing is in millimetres under one transformation; a point is 1/72 in. Lettering is
//! Helvetica, one of the 14 faces that every reader brings, in the encoding of Western
//! Europe; letters outside of it appear as `?`.
//!
//! # References
//! ISO 32000-1:2008, 8.3.2 (user space), 9.6.2.2 (standard faces), annex D.2 (WinAnsiEncoding).
//! Widths of Helvetica's letters: Adobe Font Metrics of the standard faces (from memory).

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use kurbo::{BezPath, PathEl, Point};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

use crate::drawing::{Align, Mark, Pen, Sheet};

/// Points in a millimetre.
const POINTS: f64 = 72.0 / 25.4;
/// What the pages call their face.
const FACE: Name<'static> = Name(b"F");
/// A control point this share of the radius out makes a quadratic curve a cubic one.
const CUBIC: f64 = 2.0 / 3.0;

/// The sheets as one document of as many pages, called `title`.
///
/// Coordinates are rounded to a thousandth of a millimetre. Without dates and keys: the same
/// sheets give the same bytes.
pub fn to_pdf(sheets: &[Sheet], title: &str) -> Vec<u8> {
    let mut pdf = Pdf::new();
    let mut next = 0;
    let mut fresh = || {
        next += 1;
        Ref::new(next)
    };
    let (catalog, tree, face, info) = (fresh(), fresh(), fresh(), fresh());
    let pages: Vec<(Ref, Ref)> = sheets.iter().map(|_| (fresh(), fresh())).collect();

    pdf.catalog(catalog).pages(tree);
    pdf.document_info(info).title(TextStr(title));
    pdf.pages(tree)
        .kids(pages.iter().map(|(page, _)| *page))
        .count(i32::try_from(pages.len()).unwrap_or(i32::MAX));
    pdf.type1_font(face)
        .base_font(Name(b"Helvetica"))
        .encoding_predefined(Name(b"WinAnsiEncoding"));
    for (sheet, &(id, content)) in sheets.iter().zip(&pages) {
        let mut page = pdf.page(id);
        let [w, h] = [sheet.width, sheet.height].map(|mm| single(mm * POINTS));
        page.media_box(Rect::new(0.0, 0.0, w, h));
        page.parent(tree);
        page.contents(content);
        page.resources().fonts().pair(FACE, face);
        page.finish();
        let drawn = draw(sheet);
        let mut packer = ZlibEncoder::new(Vec::new(), Compression::default());
        // Writing into memory cannot fail; were it to, the page stays as it is.
        match packer.write_all(&drawn).and_then(|()| packer.finish()) {
            Ok(packed) => {
                pdf.stream(content, &packed).filter(Filter::FlateDecode);
            }
            Err(_) => {
                pdf.stream(content, &drawn);
            }
        }
    }
    pdf.finish()
}

fn draw(sheet: &Sheet) -> Vec<u8> {
    let mut content = Content::new();
    let scale = single(POINTS);
    content.transform([scale, 0.0, 0.0, -scale, 0.0, single(sheet.height * POINTS)]);
    for mark in &sheet.marks {
        match mark {
            Mark::Line { path, pen, .. } => {
                let [r, g, b] = colour(*pen);
                content.set_stroke_rgb(r, g, b);
                content.set_line_width(single(pen.width()));
                let dashes = pen.dashes().map_or(Vec::new(), |d| d.map(single).to_vec());
                content.set_dash_pattern(dashes, 0.0);
                outline(&mut content, path);
                content.stroke();
            }
            Mark::Text {
                at,
                text,
                size,
                align,
                upright,
            } => {
                let bytes: Vec<u8> = text.chars().map(western).collect();
                let width: f64 = bytes.iter().map(|&b| size * em(b)).sum();
                let back = match align {
                    Align::Start => 0.0,
                    Align::Middle => 0.5 * width,
                    Align::End => width,
                };
                let [x, y] = if *upright {
                    [at.x, at.y + back]
                } else {
                    [at.x - back, at.y]
                }
                .map(thousandth);
                content.begin_text();
                content.set_font(FACE, single(*size));
                // The page's y runs down; letters stand up.
                content.set_text_matrix(if *upright {
                    [0.0, -1.0, -1.0, 0.0, x, y]
                } else {
                    [1.0, 0.0, 0.0, -1.0, x, y]
                });
                content.show(Str(&bytes));
                content.end_text();
            }
        }
    }
    content.finish().into_vec()
}

fn outline(content: &mut Content, path: &BezPath) {
    let pair = |p: Point| (thousandth(p.x), thousandth(p.y));
    let mut last = Point::ZERO;
    for el in path.elements() {
        match *el {
            PathEl::MoveTo(p) => {
                content.move_to(pair(p).0, pair(p).1);
            }
            PathEl::LineTo(p) => {
                content.line_to(pair(p).0, pair(p).1);
            }
            PathEl::QuadTo(c, p) => {
                let ((ax, ay), (bx, by)) = (pair(last.lerp(c, CUBIC)), pair(p.lerp(c, CUBIC)));
                content.cubic_to(ax, ay, bx, by, pair(p).0, pair(p).1);
            }
            PathEl::CurveTo(a, b, p) => {
                let ((ax, ay), (bx, by)) = (pair(a), pair(b));
                content.cubic_to(ax, ay, bx, by, pair(p).0, pair(p).1);
            }
            PathEl::ClosePath => {
                content.close_path();
            }
        }
        if let Some(p) = el.end_point() {
            last = p;
        }
    }
}

fn colour(pen: Pen) -> [f32; 3] {
    match pen {
        Pen::Cut => [0.75, 0.0, 0.0],
        _ => [0.0; 3],
    }
}

/// Numbers in a page description are single precision: 1e-4 mm on a page of a metre.
#[allow(clippy::cast_possible_truncation)]
fn single(v: f64) -> f32 {
    v as f32
}

/// To a thousandth, without a negative zero.
fn thousandth(v: f64) -> f32 {
    single((v * 1000.0).round() / 1000.0 + 0.0)
}

/// The byte of a letter in WinAnsiEncoding.
fn western(c: char) -> u8 {
    match c {
        ' '..='~' => c as u8,
        '\u{a0}'..='\u{ff}' => u8::try_from(u32::from(c)).unwrap_or(b'?'),
        '\u{20ac}' => 0x80,
        '\u{2026}' => 0x85,
        '\u{2018}' => 0x91,
        '\u{2019}' => 0x92,
        '\u{201c}' => 0x93,
        '\u{201d}' => 0x94,
        '\u{2022}' => 0x95,
        '\u{2013}' => 0x96,
        '\u{2014}' => 0x97,
        '\u{2212}' => b'-',
        c if c.is_control() => b' ',
        _ => b'?',
    }
}

/// Width of a letter of Helvetica, in ems.
fn em(byte: u8) -> f64 {
    /// From the space to the tilde, in thousandths.
    const PLAIN: [u16; 95] = [
        278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556,
        556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722,
        722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722,
        667, 944, 667, 667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556,
        556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500,
        500, 334, 260, 334, 584,
    ];
    let thousandths = match byte {
        b' '..=b'~' => PLAIN[usize::from(byte - b' ')],
        0x85 | 0x97 | 0xc6 => 1000,
        0x91 | 0x92 => 222,
        0x93 | 0x94 | 0xa8 | 0xad | 0xaf | 0xb2 | 0xb3 | 0xb4 | 0xb8 | 0xb9 => 333,
        0x95 => 350,
        0xa0 | 0xb7 | 0xcc..=0xcf | 0xec..=0xef => 278,
        0xa1 => 333,
        0xa6 => 260,
        0xa9 | 0xae => 737,
        0xaa => 370,
        0xba => 365,
        0xb0 => 400,
        0xb1 | 0xac | 0xd7 | 0xf7 => 584,
        0xb6 => 537,
        0xbc..=0xbe => 834,
        0xc0..=0xc5 | 0xc8..=0xcb | 0xdd | 0xde => 667,
        0xc7 | 0xd0 | 0xd1 | 0xd9..=0xdc => 722,
        0xd2..=0xd6 | 0xd8 => 778,
        0xdf | 0xbf | 0xf8 => 611,
        0xe6 => 889,
        0xe7 | 0xfd | 0xff => 500,
        _ => 556,
    };
    f64::from(thousandths) / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(width: f64, height: f64) -> Sheet {
        let mut path = BezPath::new();
        path.move_to((10.0, 10.0));
        path.quad_to((20.0, 0.0), (30.0, 10.0));
        path.close_path();
        Sheet {
            title: "one".into(),
            width,
            height,
            marks: vec![
                Mark::Line {
                    id: None,
                    path,
                    pen: Pen::Centre,
                },
                Mark::Text {
                    at: Point::new(15.0, 30.0),
                    text: "\u{d8} 12 (reed) \u{5b57}".into(),
                    size: 3.6,
                    align: Align::Middle,
                    upright: true,
                },
            ],
        }
    }

    #[test]
    fn pages_have_the_size_of_their_paper() {
        // ISO 216 A4 and ASME Y14.1 Letter in points: 210/25.4*72 = 595.2756, 11 in = 792.
        let bytes = to_pdf(&[sheet(297.0, 210.0), sheet(279.4, 215.9)], "pages");
        let text = String::from_utf8_lossy(&bytes);
        assert!(text.contains("/MediaBox [0 0 841.8898 595.2756]"), "{text}");
        assert!(text.contains("/MediaBox [0 0 792 612]"));
        assert!(text.contains("/Count 2"));
        assert_eq!(
            bytes,
            to_pdf(&[sheet(297.0, 210.0), sheet(279.4, 215.9)], "pages")
        );
    }

    #[test]
    fn lettering_is_encoded_and_measured() {
        assert_eq!(western('\u{d8}'), 0xd8);
        assert_eq!(western('\u{5b57}'), b'?');
        // Adobe's metrics of Helvetica: digits 556, M 833, slashed O 778.
        assert_eq!([b'0', b'M', 0xd8].map(em), [0.556, 0.833, 0.778]);
    }
}
