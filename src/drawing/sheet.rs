//! A page at scale 1:1 and what every page carries: lines, lettering, check bars.

use super::face;
use crate::quantity::LengthUnit;
use kurbo::{BezPath, Point};

/// White border that printers cannot be trusted to reach, mm (common practice).
pub(super) const MARGIN: f64 = 10.0;
/// Lettering. Sans-serif capitals are 0.7 of the size or more, so these are letters of
/// 2.5 mm and 3.5 mm, two of the heights of ISO 3098-1 (from memory).
pub(super) const TEXT: f64 = 3.6;
/// Lettering of titles.
pub(super) const TITLE: f64 = 5.0;
/// From one line of [`TEXT`] to the next.
pub(super) const LEADING: f64 = 4.8;
/// A4 lying, ISO 216, mm.
const A4: (f64, f64) = (297.0, 210.0);
/// Letter lying, ASME Y14.1 size A, 11 by 8.5 in, mm.
const LETTER: (f64, f64) = (279.4, 215.9);

/// A page: its size and all that is drawn on it, first things first.
///
/// # Units
/// Millimetres of paper, from the top left corner, x to the right and y down.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// What the page is called, for readers that show it.
    pub title: String,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// The drawing.
    pub marks: Vec<Mark>,
}

/// One drawn thing.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A line or outline.
    Line {
        /// Name by which a reader may find it.
        id: Option<&'static str>,
        /// Where it runs.
        path: BezPath,
        /// What it is drawn with.
        pen: Pen,
    },
    /// One line of lettering.
    Text {
        /// End or middle of its base line, as `align` says.
        at: Point,
        /// The words.
        text: String,
        /// Em size.
        size: f64,
        /// Which part of the base line `at` is.
        align: Align,
        /// Whether it runs upwards, to be read from the right.
        upright: bool,
    },
}

/// Which part of a line of text its place refers to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// Kinds of line. Widths and patterns are those of ISO 128-2.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Pen {
    /// Continuous wide line: visible edges.
    Wide,
    /// Continuous narrow line: stations, leaders, ticks.
    Narrow,
    /// Long-dashed dotted narrow line: the axis.
    Centre,
    /// Dashed narrow line: edges that something hides.
    Hidden,
    /// Where to cut; narrow, because the knife follows its middle.
    Cut,
    /// A check bar: as thick as shows its square ends.
    Bar,
}

impl Pen {
    /// Width of the line.
    pub fn width(self) -> f64 {
        match self {
            Pen::Wide => 0.5,
            Pen::Narrow | Pen::Centre | Pen::Hidden | Pen::Cut => 0.25,
            Pen::Bar => 1.0,
        }
    }

    /// Lengths of dashes and gaps in turn; `None` for a continuous line.
    ///
    /// # References
    /// ISO 128-2, line 04: long dash 24 d, gaps 3 d, dot 0.5 d, d the line's width; line 02:
    /// dash 12 d, gap 3 d (from memory).
    pub fn dashes(self) -> Option<[f64; 4]> {
        match self {
            Pen::Centre => Some([6.0, 0.75, 0.125, 0.75]),
            Pen::Hidden => Some([3.0, 0.75, 3.0, 0.75]),
            _ => None,
        }
    }
}

impl Mark {
    /// Paper that a line of lettering may cover, whatever sans-serif face it is shown in;
    /// `None` for a drawn line.
    pub(super) fn lettering(&self) -> Option<kurbo::Rect> {
        let Mark::Text {
            at,
            text,
            size,
            align,
            upright,
        } = self
        else {
            return None;
        };
        let width = text_width(text, *size);
        let from = match align {
            Align::Start => 0.0,
            Align::Middle => -0.5 * width,
            Align::End => -width,
        };
        let (up, down) = (0.8 * size, 0.25 * size);
        Some(if *upright {
            kurbo::Rect::new(at.x - up, at.y - from - width, at.x + down, at.y - from)
        } else {
            kurbo::Rect::new(at.x + from, at.y - up, at.x + from + width, at.y + down)
        })
    }
}

/// Width of `text`, no less than in the face of our own or in any common sans-serif one, in which
/// programs show the lettering of a DXF: DejaVu Sans and Verdana, the widest in use, have digits of
/// 0.64 em (from memory).
pub(super) fn text_width(text: &str, size: f64) -> f64 {
    let em = |c: char| -> f64 {
        match c {
            'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' => 0.4,
            'm' | 'w' | 'M' | 'W' | '%' | '@' => 1.0,
            'f' | 'r' | 't' | '(' | ')' | '/' | '-' | '[' | ']' => 0.46,
            'a'..='z' | '0'..='9' => 0.64,
            _ if c.is_ascii() => 0.83,
            // Letters with accents are as wide as capitals; anything else may fill its em.
            '\u{a0}'..='\u{24f}' | '\u{2248}' => 0.85,
            _ => 1.1,
        }
    };
    let own = |c: char| face::set(c).1 / face::units_per_em();
    size * text.chars().map(|c| em(c).max(own(c))).sum::<f64>()
}

/// `text` cut to `width`, with an ellipsis if anything is lost.
pub(super) fn fit(text: &str, size: f64, width: f64) -> String {
    if text_width(text, size) <= width {
        return text.to_string();
    }
    let mut kept = String::new();
    for c in text.chars() {
        kept.push(c);
        if text_width(&kept, size) + text_width("\u{2026}", size) > width {
            kept.pop();
            break;
        }
    }
    kept.truncate(kept.trim_end().len());
    kept.push('\u{2026}');
    kept
}

/// `text` in lines no wider than `width`, broken at spaces.
pub(super) fn wrap(text: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), size) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(fit(word, size, width)),
        }
    }
    lines
}

/// The page that holds a drawing of this size within its margins: A4 lying, or Letter for
/// makers who write inches, and only as much longer or higher, in whole millimetres, as it
/// must be.
pub(super) fn page(width: f64, height: f64, units: LengthUnit) -> (f64, f64) {
    let paper = match units {
        LengthUnit::In => LETTER,
        LengthUnit::Mm | LengthUnit::Cm => A4,
    };
    let side = |need: f64, least: f64| {
        let need = need + 2.0 * MARGIN;
        if need <= least { least } else { need.ceil() }
    };
    (side(width, paper.0), side(height, paper.1))
}

/// A straight or bent line.
pub(super) fn line(pen: Pen, points: &[(f64, f64)]) -> Mark {
    named(None, pen, points)
}

fn named(id: Option<&'static str>, pen: Pen, points: &[(f64, f64)]) -> Mark {
    let mut path = BezPath::new();
    for (i, &p) in points.iter().enumerate() {
        if i == 0 {
            path.move_to(p);
        } else {
            path.line_to(p);
        }
    }
    Mark::Line { id, path, pen }
}

/// Lettering of the usual size.
pub(super) fn text(at: (f64, f64), align: Align, text: impl Into<String>) -> Mark {
    Mark::Text {
        at: at.into(),
        text: text.into(),
        size: TEXT,
        align,
        upright: false,
    }
}

/// Height of the check bars with their lettering.
pub(super) const BARS_HEIGHT: f64 = 51.0;
/// Width of the check bars with their lettering.
pub(super) const BARS_WIDTH: f64 = 87.0;

/// Check bars of 50 mm and 2 in along both axes, their square ends exactly that far
/// apart, with a tick every 10 mm and every 1/4 in; `(x, y)` is their top left corner.
pub(super) fn check_bars(x: f64, y: f64) -> Vec<Mark> {
    let mut marks = Vec::new();
    let bars = [
        (50.0, 5, ["check-50mm-x", "check-50mm-y"], "50 mm"),
        (50.8, 8, ["check-2in-x", "check-2in-y"], "2 in"),
    ];
    for (i, (length, parts, ids, label)) in bars.into_iter().enumerate() {
        let ticks = (0..=parts).map(|k| {
            let inset = 0.5 * Pen::Narrow.width();
            // End ticks lie within the bar's ends, so that the ends stay true.
            (length * f64::from(k) / f64::from(parts)).clamp(inset, length - inset)
        });
        let step = i as f64;
        let (left, row) = (x + 30.0, y + 8.0 + 13.0 * step);
        let (column, foot) = (x + 6.0 + 13.0 * step, y + BARS_HEIGHT);
        let (on_x, on_y) = (
            [(left, row), (left + length, row)],
            [(column, foot), (column, foot - length)],
        );
        marks.push(named(Some(ids[0]), Pen::Bar, &on_x));
        marks.push(named(Some(ids[1]), Pen::Bar, &on_y));
        for t in ticks {
            marks.push(line(Pen::Narrow, &[(left + t, row), (left + t, row + 2.5)]));
            marks.push(line(
                Pen::Narrow,
                &[(column, foot - t), (column + 2.5, foot - t)],
            ));
        }
        marks.push(text((left + 0.5 * length, row - 1.8), Align::Middle, label));
        marks.push(Mark::Text {
            at: Point::new(column - 1.8, foot - 0.5 * length),
            text: label.into(),
            size: TEXT,
            align: Align::Middle,
            upright: true,
        });
    }
    let note = "Print at 100 % (actual size), never fitted to the page. Then measure all \
                four bars end to end: if one is off, do not cut.";
    for (i, row) in wrap(note, TEXT, BARS_WIDTH - 30.0).into_iter().enumerate() {
        marks.push(text(
            (x + 30.0, y + 29.0 + LEADING * i as f64),
            Align::Start,
            row,
        ));
    }
    marks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_exactly_as_long_as_they_say() {
        // 1 in = 25.4 mm exactly: international yard and pound agreement, 1959.
        for (id, length) in [
            ("check-50mm-x", 50.0),
            ("check-50mm-y", 50.0),
            ("check-2in-x", 2.0 * 25.4),
            ("check-2in-y", 2.0 * 25.4),
        ] {
            let marks = check_bars(12.0, 140.0);
            let path = marks
                .iter()
                .find_map(|m| match m {
                    Mark::Line {
                        id: Some(i), path, ..
                    } if *i == id => Some(path),
                    _ => None,
                })
                .unwrap();
            let (w, h) = (path.control_box().width(), path.control_box().height());
            let (along, across) = if id.ends_with('x') { (w, h) } else { (h, w) };
            assert!((along - length).abs() < 1e-12 && across == 0.0, "{id}");
        }
    }

    #[test]
    fn the_page_is_a4_while_that_holds_the_drawing() {
        assert_eq!(page(100.0, 50.0, LengthUnit::Mm), (297.0, 210.0));
        assert_eq!(page(100.0, 50.0, LengthUnit::In), (279.4, 215.9));
        assert_eq!(page(277.0, 190.0, LengthUnit::Cm), (297.0, 210.0));
        assert_eq!(page(277.1, 190.0, LengthUnit::Mm), (298.0, 210.0));
    }

    #[test]
    fn text_is_cut_and_broken_to_a_width() {
        assert_eq!(fit("reed", TEXT, 100.0), "reed");
        let cut = fit("a very long name for so small a bait", TEXT, 30.0);
        assert!(cut.ends_with('\u{2026}') && text_width(&cut, TEXT) <= 30.0);
        let lines = wrap("one two three four five six", TEXT, 25.0);
        assert!(lines.len() > 1 && lines.iter().all(|l| text_width(l, TEXT) <= 25.0));
        assert_eq!(lines.join(" "), "one two three four five six");
    }
}
