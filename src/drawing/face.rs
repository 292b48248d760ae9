//! The face that all lettering is set in, so that it looks the same in every program: Liberation
//! Sans, under the SIL Open Font License (`assets/LiberationSans-OFL.txt`). It covers Latin, Greek
//! and Cyrillic.

use std::sync::OnceLock;

use kurbo::BezPath;
use ttf_parser::{Face, GlyphId, OutlineBuilder};

use super::{Mark, Sheet};

/// The font file, whole and as released.
pub(crate) static FILE: &[u8] = include_bytes!("../../assets/LiberationSans-Regular.ttf");

/// The face as read; `None` would mean that the bundled file is broken, which a test rules out.
pub(crate) fn face() -> Option<&'static Face<'static>> {
    static FACE: OnceLock<Option<Face<'static>>> = OnceLock::new();
    FACE.get_or_init(|| Face::parse(FILE, 0).ok()).as_ref()
}

/// Font units to the em.
pub(crate) fn units_per_em() -> f64 {
    face().map_or(2048.0, |f| f64::from(f.units_per_em()))
}

/// The glyph of a letter, if the face has one that stands by itself. Scripts that run from right
/// to left or join their letters take more than one glyph after another.
fn glyph(c: char) -> Option<GlyphId> {
    if ('\u{590}'..='\u{8ff}').contains(&c) {
        return None;
    }
    face()?.glyph_index(c).filter(|id| id.0 > 0)
}

/// The glyph of a letter, the box of [`missing`] letters among them, and its advance in font units.
/// Control characters are spaces.
pub(crate) fn set(c: char) -> (GlyphId, f64) {
    let c = if c.is_control() { ' ' } else { c };
    let id = glyph(c).unwrap_or(GlyphId(0));
    let advance = face().and_then(|f| f.glyph_hor_advance(id)).unwrap_or(0);
    (id, f64::from(advance))
}

/// Width of a line of lettering whose em is `size`.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    size / units_per_em() * text.chars().map(|c| set(c).1).sum::<f64>()
}

/// The outlines of a line of lettering, in font units from the beginning of its base line, y up.
pub(crate) fn outlines(text: &str) -> BezPath {
    struct Pen {
        path: BezPath,
        from: f64,
    }
    impl Pen {
        fn at(&self, x: f32, y: f32) -> (f64, f64) {
            (self.from + f64::from(x), f64::from(y))
        }
    }
    impl OutlineBuilder for Pen {
        fn move_to(&mut self, x: f32, y: f32) {
            self.path.move_to(self.at(x, y));
        }
        fn line_to(&mut self, x: f32, y: f32) {
            self.path.line_to(self.at(x, y));
        }
        fn quad_to(&mut self, a: f32, b: f32, x: f32, y: f32) {
            self.path.quad_to(self.at(a, b), self.at(x, y));
        }
        fn curve_to(&mut self, a: f32, b: f32, c: f32, d: f32, x: f32, y: f32) {
            self.path
                .curve_to(self.at(a, b), self.at(c, d), self.at(x, y));
        }
        fn close(&mut self) {
            self.path.close_path();
        }
    }
    let mut pen = Pen {
        path: BezPath::new(),
        from: 0.0,
    };
    for c in text.chars() {
        let (id, advance) = set(c);
        // A space has no outline.
        let _ = face().and_then(|f| f.outline_glyph(id, &mut pen));
        pen.from += advance;
    }
    pen.path
}

/// Letters on these sheets that the face has not, in the order in which they come: an empty box
/// stands for each.
pub fn missing<'s>(sheets: impl IntoIterator<Item = &'s Sheet>) -> Vec<char> {
    let mut found = Vec::new();
    for mark in sheets.into_iter().flat_map(|sheet| &sheet.marks) {
        let Mark::Text { text, .. } = mark else {
            continue;
        };
        for c in text.chars().filter(|c| !c.is_control()) {
            if glyph(c).is_none() && !found.contains(&c) {
                found.push(c);
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Shape;

    #[test]
    fn the_face_covers_latin_greek_and_cyrillic() {
        let face = face().unwrap();
        assert_eq!(face.units_per_em(), 2048);
        let letters = "Åse Kovačević, Žluťoučký kůň, ğışİ, Ελληνικά ώ, Щука ёж їґ, Tiếng ắ";
        assert!(letters.chars().all(|c| glyph(c).is_some()));
        // And what the sheets' own words need.
        let signs = "\u{d8}\u{d7}\u{f7}\u{b0}\u{2013}\u{2014}\u{201c}\u{201d}\u{2026}\u{2212}\u{2248}\u{3c0}\u{221a}\u{b2}";
        assert!(signs.chars().all(|c| glyph(c).is_some()));
    }

    #[test]
    fn outlines_stand_on_the_base_line() {
        // Height of capitals and advances as those of the common sans-serif whose metrics this
        // face shares: H 0.716 em high (0.688 drawn in TrueType), M 0.833 wide.
        let bounds = outlines("HM").bounding_box();
        assert!(bounds.y0.abs() < 1e-9 && (bounds.y1 / 2048.0 - 0.688).abs() < 0.001);
        assert!((width("M", 1.0) - 0.833).abs() < 0.001);
        assert!(outlines(" ").elements().is_empty());
    }

    #[test]
    fn what_the_face_has_not_is_named_once() {
        let text = |words: &str| Mark::Text {
            at: kurbo::Point::ZERO,
            text: words.into(),
            size: 3.0,
            align: super::super::Align::Start,
            upright: false,
        };
        let sheet = Sheet {
            title: String::new(),
            width: 1.0,
            height: 1.0,
            marks: vec![text("字 а\u{7}"), text("字 שלום")],
        };
        assert_eq!(missing([&sheet]), ['字', 'ש', 'ל', 'ו', 'ם']);
    }
}
