//! Lines, sizes and lettering of the drawing.

use kurbo::{Affine, BezPath, Shape};

use super::super::super::labels;
use super::super::super::sheet::{
    Align, LEADING, Mark, Pen, TEXT, TITLE, fit, line, text, text_width,
};
use super::super::bench::bare;
use super::super::pages::letters;
use super::super::{rectangle, shows};
use super::{Sizes, TITLE_BLOCK, section_size};
use crate::body::Body;
use crate::quantity::LengthUnit;
use crate::spec::Design;

/// Draws views, their lines of sizes and the title block, at one scale.
pub(super) struct Draughtsman {
    pub(super) marks: Vec<Mark>,
    /// Millimetres on paper a millimetre of the body.
    pub(super) s: f64,
    pub(super) units: LengthUnit,
}

impl Draughtsman {
    /// A path with y up, its origin at `at`.
    pub(super) fn path(&mut self, at: [f64; 2], path: BezPath, pen: Pen, id: Option<&'static str>) {
        if path.is_empty() {
            return;
        }
        let path = Affine::new([self.s, 0.0, 0.0, -self.s, at[0], at[1]]) * path;
        self.marks.push(Mark::Line { id, path, pen });
    }

    pub(super) fn line(&mut self, pen: Pen, points: &[(f64, f64)]) {
        self.marks.push(line(pen, points));
    }

    pub(super) fn centres(
        &mut self,
        sizes: &Sizes,
        front: [f64; 2],
        plan: [f64; 2],
        end: [f64; 2],
    ) {
        let [l, w, h] = sizes.size.map(|v| self.s * v);
        let [x, y, z] = sizes.low.map(|v| self.s * v);
        for at in [front, plan] {
            let from = at[0] + x;
            self.line(Pen::Centre, &[(from - 4.0, at[1]), (from + l + 4.0, at[1])]);
        }
        let (left, right) = (end[0] - y - w, end[0] - y);
        self.line(Pen::Centre, &[(left - 3.0, end[1]), (right + 3.0, end[1])]);
        let (top, foot) = (end[1] - z - h, end[1] - z);
        self.line(Pen::Centre, &[(end[0], top - 3.0), (end[0], foot + 3.0)]);
    }

    fn arrow(&mut self, x: f64, y: f64, [dx, dy]: [f64; 2]) {
        // Open, 30°, about as long as lettering is high.
        let (a, b) = (2.5, 0.67);
        self.line(
            Pen::Narrow,
            &[
                (x - a * dx + b * dy, y - a * dy + b * dx),
                (x, y),
                (x - a * dx - b * dy, y - a * dy - b * dx),
            ],
        );
    }

    /// A length across the paper, its line at `y` and its extension lines from `foot`.
    pub(super) fn across(&mut self, from: f64, to: f64, foot: f64, y: f64, mm: f64) {
        for x in [from, to] {
            self.line(Pen::Narrow, &[(x, foot + 1.0), (x, y + 1.5)]);
        }
        let words = bare(mm, self.units);
        let room = to - from;
        if room > text_width(&words, TEXT) + 1.0 && room > 8.0 {
            self.line(Pen::Narrow, &[(from, y), (to, y)]);
            self.arrow(from, y, [-1.0, 0.0]);
            self.arrow(to, y, [1.0, 0.0]);
            self.marks
                .push(text((0.5 * (from + to), y - 1.8), Align::Middle, words));
        } else {
            // Too short: arrows from outside, the number beside them.
            let end = to + 7.0;
            self.line(Pen::Narrow, &[(from - 6.0, y), (end, y)]);
            self.arrow(from, y, [1.0, 0.0]);
            self.arrow(to, y, [-1.0, 0.0]);
            self.marks
                .push(text((end + 1.0, y + 0.35 * TEXT), Align::Start, words));
        }
    }

    /// A length down the paper, its line at `x` and its extension lines from `side`.
    pub(super) fn down(&mut self, top: f64, foot: f64, side: f64, x: f64, mm: f64, round: bool) {
        for y in [top, foot] {
            self.line(Pen::Narrow, &[(side + 1.0, y), (x + 1.5, y)]);
        }
        let sign = if round { "\u{d8} " } else { "" };
        let words = format!("{sign}{}", bare(mm, self.units));
        if foot - top > 8.0 {
            self.line(Pen::Narrow, &[(x, top), (x, foot)]);
            self.arrow(x, top, [0.0, -1.0]);
            self.arrow(x, foot, [0.0, 1.0]);
        } else {
            self.line(Pen::Narrow, &[(x, top - 6.0), (x, foot + 6.0)]);
            self.arrow(x, top, [0.0, 1.0]);
            self.arrow(x, foot, [0.0, -1.0]);
        }
        self.marks.push(text(
            (x + 2.5, 0.5 * (top + foot) + 0.35 * TEXT),
            Align::Start,
            words,
        ));
    }

    /// Running dimensions: distance from the nose and size of every station, upright over the view.
    pub(super) fn running(
        &mut self,
        stations: &[f64],
        lettering: &[String],
        front: [f64; 2],
        low: f64,
        height: f64,
    ) {
        let top = front[1] - low - height;
        let row = top - 8.0;
        let wanted: Vec<f64> = stations.iter().map(|at| front[0] + self.s * at).collect();
        // A line of upright lettering is as wide as it is high.
        let widths = vec![TEXT * 1.1; stations.len()];
        let room = labels::row_width(&widths);
        let middle = 0.5 * (wanted[0] + wanted[wanted.len() - 1]);
        let from = (middle - 0.5 * room).max(0.0).min(wanted[0] - 4.0).max(0.0);
        let to = (from + room).max(wanted[wanted.len() - 1] + 4.0);
        let middles = labels::spread(&wanted, &widths, from, to);
        for (i, words) in lettering.iter().enumerate() {
            let x = wanted[i];
            self.line(
                Pen::Narrow,
                &[(x, top - 1.0), (x, top - 2.0), (middles[i], row)],
            );
            self.marks.push(Mark::Text {
                at: kurbo::Point::new(middles[i] + 0.28 * TEXT, row - 1.0),
                text: words.clone(),
                size: TEXT,
                align: Align::Start,
                upright: true,
            });
        }
    }

    /// Where sections are taken: short wide lines under the view, and their letters in a row.
    pub(super) fn letters(&mut self, shown: &[f64], nose: f64, tail: f64, under: f64) {
        let wanted: Vec<f64> = shown.iter().map(|at| nose + self.s * at).collect();
        let names: Vec<String> = (0..shown.len()).map(letters).collect();
        let widths: Vec<f64> = names.iter().map(|n| text_width(n, TEXT)).collect();
        // Between the extension lines of the body's length.
        let middles = labels::spread(&wanted, &widths, nose + 0.6, tail - 0.6);
        for (i, name) in names.into_iter().enumerate() {
            let x = wanted[i];
            self.line(Pen::Wide, &[(x, under + 0.8), (x, under + 3.0)]);
            self.line(Pen::Narrow, &[(x, under + 3.0), (middles[i], under + 5.0)]);
            self.marks.push(text(
                (middles[i], under + 5.6 + 0.8 * TEXT),
                Align::Middle,
                name,
            ));
        }
    }

    /// A section over its lettering; `foot` is the middle of the lowest line's lower edge.
    pub(super) fn section(
        &mut self,
        body: &Body,
        at: f64,
        letter: &str,
        foot: [f64; 2],
        round: bool,
    ) {
        let s = self.s;
        let size = section_size(body, at, round, self.units);
        let [x, base] = foot;
        self.marks
            .push(text((x, base - 0.3 * TEXT), Align::Middle, size));
        let name = format!("{letter}-{letter}");
        self.marks
            .push(text((x, base - 0.3 * TEXT - LEADING), Align::Middle, name));
        let axis = base - 2.0 * LEADING - 2.0 - s * body.belly.height(at);
        let mut path = BezPath::new();
        for (i, p) in body.section_polygon(at, 0.004).iter().enumerate() {
            if i == 0 {
                path.move_to((p[0], p[1]));
            } else {
                path.line_to((p[0], p[1]));
            }
        }
        path.close_path();
        let bounds = path.bounding_box();
        self.path([x, axis], path, Pen::Wide, Some("section"));
        let (w, up, down) = (s * bounds.x1, s * bounds.y1, -s * bounds.y0);
        self.line(Pen::Centre, &[(x - w, axis), (x + w, axis)]);
        self.line(Pen::Centre, &[(x, axis - up), (x, axis + down)]);
    }

    pub(super) fn title(
        &mut self,
        design: &Design,
        (larger, scale): (f64, &str),
        round: bool,
        area: [f64; 2],
    ) {
        let [w, h] = TITLE_BLOCK;
        let (x, y) = (area[0] - w, area[1] - h);
        self.marks
            .push(rectangle(None, Pen::Wide, [x, y], [x + w, y + h]));
        self.line(Pen::Narrow, &[(x, y + 9.0), (x + w, y + 9.0)]);
        self.line(Pen::Narrow, &[(x, y + 17.5), (x + w, y + 17.5)]);
        self.line(Pen::Narrow, &[(x + 74.0, y + 9.0), (x + 74.0, y + h)]);
        let shows = shows(larger);
        self.marks
            .push(text((x + w - 3.0, y + 6.4), Align::End, shows.clone()));
        self.marks.push(Mark::Text {
            at: kurbo::Point::new(x + 3.0, y + 6.4),
            text: fit(&design.name, TITLE, w - 10.0 - text_width(&shows, TEXT)),
            size: TITLE,
            align: Align::Start,
            upright: false,
        });
        let units = match design.units {
            LengthUnit::Mm => "mm",
            LengthUnit::Cm => "cm",
            LengthUnit::In => "inches",
        };
        let small = |x: f64, y: f64, words: String| text((x, y), Align::Start, words);
        self.marks.push(small(
            x + 3.0,
            y + 14.8,
            format!("SCALE {scale}, sizes in {units}"),
        ));
        self.marks
            .push(small(x + 3.0, y + 23.2, "tolerances ISO 2768-m".to_owned()));
        let what = if round { "turned" } else { "not round" };
        self.marks.push(small(x + 77.0, y + 23.2, what.to_owned()));
        // First angle (ISO 5456-2): a cone from the side, and from its thin end at the right.
        let (cx, cy) = (x + 84.0, y + 13.2);
        let mut cone = BezPath::new();
        cone.move_to((cx - 4.0, cy - 1.3));
        cone.line_to((cx + 3.0, cy - 2.6));
        cone.line_to((cx + 3.0, cy + 2.6));
        cone.line_to((cx - 4.0, cy + 1.3));
        cone.close_path();
        self.marks.push(Mark::Line {
            id: None,
            path: cone,
            pen: Pen::Narrow,
        });
        for r in [1.3, 2.6] {
            self.marks.push(Mark::Line {
                id: None,
                path: kurbo::Circle::new((cx + 10.0, cy), r).to_path(1e-3),
                pen: Pen::Narrow,
            });
        }
        self.line(Pen::Centre, &[(cx - 5.5, cy), (cx + 4.5, cy)]);
        self.line(Pen::Centre, &[(cx + 6.5, cy), (cx + 13.5, cy)]);
        self.line(Pen::Centre, &[(cx + 10.0, cy - 3.5), (cx + 10.0, cy + 3.5)]);
    }
}
