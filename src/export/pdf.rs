//! Portable Document Format: sheets as pages, at exactly the size drawn.
//!
//! Drawing is in millimetres under one transformation; a point is 1/72 in. Lettering is set in
//! the bundled face, of which the letters used are embedded: it prints the same everywhere, and
//! can be searched and copied. What the face has not appears as an empty box
//! ([`missing`](crate::drawing::missing) names it).
//!
//! # References
//! ISO 32000-1:2008, 8.3.2 (user space), 9.7.4 and 9.7.6 (CIDFonts, Type 0 fonts), 9.9 (embedded
//! font programs), 9.10.3 (ToUnicode).

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use kurbo::{BezPath, PathEl, Point};
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use sha2::{Digest, Sha256};
use subsetter::GlyphRemapper;

use crate::drawing::{Align, Mark, Pen, Sheet, face};

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
    let (catalog, tree, info) = (fresh(), fresh(), fresh());
    let fonts = [fresh(), fresh(), fresh(), fresh(), fresh()];
    let pages: Vec<(Ref, Ref)> = sheets.iter().map(|_| (fresh(), fresh())).collect();

    pdf.catalog(catalog).pages(tree);
    pdf.document_info(info).title(TextStr(title));
    pdf.pages(tree)
        .kids(pages.iter().map(|(page, _)| *page))
        .count(i32::try_from(pages.len()).unwrap_or(i32::MAX));
    let letters = Letters::of(sheets);
    letters.embed(&mut pdf, fonts);
    for (sheet, &(id, content)) in sheets.iter().zip(&pages) {
        let mut page = pdf.page(id);
        let [w, h] = [sheet.width, sheet.height].map(|mm| single(mm * POINTS));
        page.media_box(Rect::new(0.0, 0.0, w, h));
        page.parent(tree);
        page.contents(content);
        page.resources().fonts().pair(FACE, fonts[0]);
        page.finish();
        let drawn = draw(sheet, &letters);
        let (bytes, filter) = packed(drawn);
        let mut stream = pdf.stream(content, &bytes);
        if let Some(filter) = filter {
            stream.filter(filter);
        }
    }
    pdf.finish()
}

/// The bytes, compressed.
fn packed(bytes: Vec<u8>) -> (Vec<u8>, Option<Filter>) {
    let mut packer = ZlibEncoder::new(Vec::new(), Compression::default());
    // Writing into memory cannot fail; were it to, the bytes stay as they are.
    match packer.write_all(&bytes).and_then(|()| packer.finish()) {
        Ok(packed) => (packed, Some(Filter::FlateDecode)),
        Err(_) => (bytes, None),
    }
}

/// The letters that a document uses, in the order in which they come.
struct Letters {
    /// Glyphs of the face to glyphs of the embedded part.
    glyphs: GlyphRemapper,
    /// A letter for each glyph of the embedded part, and its advance in thousandths of an em.
    set: Vec<(char, f32)>,
}

impl Letters {
    fn of(sheets: &[Sheet]) -> Letters {
        let advance = |c| single(face::set(c).1 * 1000.0 / face::units_per_em());
        let mut letters = Letters {
            glyphs: GlyphRemapper::new(),
            // The box of letters that are missing comes first in every font.
            set: vec![('\u{fffd}', advance('\u{fffd}'))],
        };
        for mark in sheets.iter().flat_map(|sheet| &sheet.marks) {
            let Mark::Text { text, .. } = mark else {
                continue;
            };
            for c in text.chars() {
                let new = letters.glyphs.remap(face::set(c).0.0);
                if usize::from(new) == letters.set.len() {
                    let shown = if c.is_control() { ' ' } else { c };
                    letters.set.push((shown, advance(c)));
                }
            }
        }
        letters
    }

    /// A line of lettering as codes of two bytes.
    fn codes(&self, text: &str) -> Vec<u8> {
        text.chars()
            .flat_map(|c| {
                let glyph = self.glyphs.get(face::set(c).0.0);
                glyph.unwrap_or(0).to_be_bytes()
            })
            .collect()
    }

    /// Writes the font under the first of these references, its parts under the others.
    fn embed(&self, pdf: &mut Pdf, [font, cid, descriptor, unicode, file]: [Ref; 5]) {
        let Some(face) = face::face() else { return };
        // Only a broken font file fails here, and the whole one serves as well.
        let part =
            subsetter::subset(face::FILE, 0, &self.glyphs).unwrap_or_else(|_| face::FILE.to_vec());
        // Six letters that differ where the parts do (ISO 32000-1, 9.6.4).
        let mark = Sha256::digest(&part);
        let tag = mark[..6].iter().map(|b| char::from(b'A' + b % 26));
        let name = tag.chain("+LiberationSans".chars()).collect::<String>();
        let name = Name(name.as_bytes());
        let info = SystemInfo {
            registry: Str(b"Adobe"),
            ordering: Str(b"Identity"),
            supplement: 0,
        };
        pdf.type0_font(font)
            .base_font(name)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(unicode);
        let mut inner = pdf.cid_font(cid);
        inner
            .subtype(CidFontType::Type2)
            .base_font(name)
            .system_info(info)
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let widths = self.set.iter().map(|(_, advance)| *advance);
        inner.widths().consecutive(0, widths);
        inner.finish();
        let em = 1000.0 / face::units_per_em();
        let thousandths = |v: i16| single(f64::from(v) * em);
        let all = face.global_bounding_box();
        pdf.font_descriptor(descriptor)
            .name(name)
            .flags(FontFlags::SYMBOLIC)
            .bbox(Rect::new(
                thousandths(all.x_min),
                thousandths(all.y_min),
                thousandths(all.x_max),
                thousandths(all.y_max),
            ))
            .italic_angle(0.0)
            .ascent(thousandths(face.ascender()))
            .descent(thousandths(face.descender()))
            .cap_height(thousandths(face.capital_height().unwrap_or(0)))
            // Of its upright strokes, as readers take it where they have no font (typical).
            .stem_v(88.0)
            .font_file2(file);
        let mut map = UnicodeCmap::new(Name(b"Letters"), info);
        for (code, (letter, _)) in (0_u16..).zip(&self.set) {
            map.pair(code, *letter);
        }
        pdf.cmap(unicode, &map.finish());
        let length = i32::try_from(part.len()).unwrap_or(i32::MAX);
        let (bytes, filter) = packed(part);
        let mut stream = pdf.stream(file, &bytes);
        stream.pair(Name(b"Length1"), length);
        if let Some(filter) = filter {
            stream.filter(filter);
        }
    }
}

fn draw(sheet: &Sheet, letters: &Letters) -> Vec<u8> {
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
                let width = face::width(text, *size);
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
                content.show(Str(&letters.codes(text)));
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
    fn letters_are_embedded_once_in_the_order_they_come() {
        let letters = Letters::of(&[sheet(10.0, 10.0)]);
        let set: String = letters.set.iter().map(|(c, _)| *c).collect();
        // The box for what is missing, then "\u{d8} 12 (reed) \u{5b57}" without repeats.
        assert_eq!(set, "\u{fffd}\u{d8} 12(red)");
        assert_eq!(letters.codes("1\u{5b57}"), [0, 3, 0, 0]);
        // A digit of this face is as wide as Helvetica's: 0.556 em (Adobe's metrics).
        assert!((letters.set[3].1 - 556.0).abs() < 0.2);
        let part = subsetter::subset(face::FILE, 0, &letters.glyphs).unwrap();
        assert!(part.len() < 10_000, "{}", part.len());
    }
}
