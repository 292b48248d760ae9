//! Pages of one paper, filled with blocks row by row; what is larger is cut into tiles.

use kurbo::{Affine, BezPath, Line, ParamCurve, PathEl, Point, Rect, Shape};

use super::super::sheet::{
    Align, LEADING, MARGIN, Mark, Pen, Sheet, TEXT, TITLE, fit, line, text, text_width,
};
use crate::spec::{LatheDesign, Paper};

/// Length of the bars that every page carries both ways, mm.
pub(super) const BAR: f64 = 100.0;
/// Head of a page, above its drawing.
const HEAD: f64 = 11.0;
/// Bars with their lettering, beside and under the drawing.
const EDGE: f64 = 11.0;
/// Between blocks.
const GAP: f64 = 6.0;
/// Least overlap of tiles.
const OVERLAP: f64 = 15.0;
/// Lettering longer than this, mm, is no reason for a larger overlap.
const LONG: f64 = 60.0;
/// Band for match marks along the edges of a drawing that is cut into tiles.
const BAND: f64 = 7.0;
/// Least width of a page from a roll.
const ROLL: f64 = 420.0;

/// A drawing of a known size, from its top left corner.
#[derive(Clone, Debug, Default)]
pub(super) struct Block {
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) marks: Vec<Mark>,
}

/// Where the tiles of one drawing are.
#[derive(Clone, Debug)]
pub(super) struct Tiled {
    pub(super) what: String,
    /// Tiles across and down.
    pub(super) grid: [usize; 2],
    /// Index of the page of each, across first; none where nothing is drawn.
    pub(super) pages: Vec<Option<usize>>,
}

/// Paper that pages are laid out on: what is left of it when the print's scale is taken out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Format {
    width: f64,
    height: f64,
    scale: [f64; 2],
    roll: bool,
}

impl Format {
    pub(super) fn of(lathe: &LatheDesign) -> Format {
        let (width, height) = match lathe.paper {
            Paper::A4 => (297.0, 210.0),
            Paper::A3 => (420.0, 297.0),
            Paper::Letter => (279.4, 215.9),
            Paper::Roll => (ROLL, lathe.roll),
        };
        let [across, down] = lathe.print_scale;
        Format {
            width: width / across,
            height: height / down,
            scale: lathe.print_scale,
            roll: lathe.paper == Paper::Roll,
        }
    }

    /// Room for drawings on a page.
    pub(super) fn area(&self) -> [f64; 2] {
        [
            self.width - 2.0 * MARGIN - EDGE,
            self.height - 2.0 * MARGIN - HEAD - EDGE,
        ]
    }
}

struct Page {
    section: &'static str,
    width: f64,
    marks: Vec<Mark>,
}

/// Pages as they fill.
pub(super) struct Pages {
    pub(super) format: Format,
    pages: Vec<Page>,
    /// Next place in the row, the row's top and its bottom.
    x: f64,
    top: f64,
    bottom: f64,
    pub(super) tiled: Vec<Tiled>,
}

impl Pages {
    pub(super) fn new(format: Format) -> Pages {
        Pages {
            format,
            pages: Vec::new(),
            x: 0.0,
            top: 0.0,
            bottom: 0.0,
            tiled: Vec::new(),
        }
    }

    /// Starts a page of a section.
    pub(super) fn begin(&mut self, section: &'static str) {
        (self.x, self.top, self.bottom) = (0.0, 0.0, 0.0);
        self.pages.push(Page {
            section,
            width: self.format.width,
            marks: Vec::new(),
        });
    }

    /// The section of each page.
    pub(super) fn sections(&self) -> impl Iterator<Item = &'static str> + '_ {
        self.pages.iter().map(|p| p.section)
    }

    /// Puts all pages of `others` first.
    pub(super) fn preceded_by(&mut self, others: Pages) {
        self.pages.splice(0..0, others.pages);
    }

    fn here(&self) -> [f64; 2] {
        [MARGIN + EDGE, MARGIN + HEAD]
    }

    /// Puts a block in the row, in a new row, on a new page, or in tiles on pages of its own.
    pub(super) fn put(&mut self, what: &str, block: Block) {
        let section = self.pages.last().map_or("", |p| p.section);
        let [mut width, height] = self.format.area();
        if self.format.roll {
            width = width.max(block.width);
        }
        if block.width > width + 1e-9 || block.height > height + 1e-9 {
            self.tile(what, block, section);
            return;
        }
        if self.x > 0.0 && self.x + block.width > width {
            (self.x, self.top) = (0.0, self.bottom + GAP);
        }
        if self.top > 0.0 && self.top + block.height > height {
            self.begin(section);
        }
        let [left, top] = self.here();
        let by = [left + self.x, top + self.top];
        let edge = self.x + block.width + 2.0 * MARGIN + EDGE;
        if let Some(page) = self.pages.last_mut() {
            page.width = page.width.max(edge);
            page.marks
                .extend(block.marks.into_iter().map(|m| moved(m, by)));
        }
        self.x += block.width + GAP;
        self.bottom = self.bottom.max(self.top + block.height);
    }

    /// Ends the row.
    pub(super) fn end_row(&mut self) {
        if self.x > 0.0 {
            (self.x, self.top) = (0.0, self.bottom + GAP);
        }
    }

    fn tile(&mut self, what: &str, block: Block, section: &'static str) {
        let [mut width, height] = self.format.area();
        let block = banded(block);
        if self.format.roll {
            width = width.max(block.width);
        }
        let widest = block.marks.iter().filter_map(Mark::lettering);
        // Longer lines begin at a drawing's beginning, and are whole on its first page.
        let widest = widest
            .map(|r| [r.width(), r.height()])
            .map(|size| size.map(|s| if s > LONG { 0.0 } else { s }));
        let [wide, high] = widest.fold([0.0_f64; 2], |[a, b], [w, h]| [a.max(w), b.max(h)]);
        let cuts = |size: f64, room: f64, lettering: f64| {
            // A line of lettering is whole on one of two tiles.
            let overlap = OVERLAP.max(lettering + 1.0).min(0.6 * room);
            if size <= room {
                (1, room)
            } else {
                let count = ((size - overlap) / (room - overlap)).ceil();
                (count as usize, (size - room) / (count - 1.0))
            }
        };
        let (across, step_x) = cuts(block.width, width, wide);
        let (down, step_y) = cuts(block.height, height, high);
        if self.x > 0.0 || self.top > 0.0 {
            self.begin(section);
        }
        let marks = match_marks(&block, [across, down], [width, height], [step_x, step_y]);
        let [left, top] = self.here();
        let mut pages = Vec::new();
        let mut first = true;
        for j in 0..down {
            for i in 0..across {
                let from = Point::new(step_x * i as f64, step_y * j as f64);
                let window = Rect::from_origin_size(from, (width, height));
                let by = [left - from.x, top - from.y];
                let cut = |of: &[Mark]| -> Vec<Mark> {
                    let within = of.iter().filter_map(|m| clipped(m, window));
                    within.map(|m| moved(m, by)).collect()
                };
                let drawn = cut(&block.marks);
                if drawn.is_empty() {
                    pages.push(None);
                    continue;
                }
                if !first {
                    self.begin(section);
                }
                first = false;
                pages.push(Some(self.pages.len() - 1));
                if let Some(page) = self.pages.last_mut() {
                    page.width = page.width.max(width + 2.0 * MARGIN + EDGE);
                    page.marks.extend(drawn);
                    page.marks.extend(cut(&marks));
                }
            }
        }
        self.tiled.push(Tiled {
            what: what.to_owned(),
            grid: [across, down],
            pages,
        });
        // The last tile is rarely full, but its match marks want the page for themselves.
        self.bottom = height;
        self.x = width;
    }

    /// The finished sheets, each with its head, its number and its bars.
    pub(super) fn finish(self, name: &str) -> Vec<Sheet> {
        let count = self.pages.len();
        let format = self.format;
        let sheets = self.pages.into_iter().enumerate().map(|(i, page)| {
            let width = if format.roll {
                // In whole millimetres, however the print is scaled.
                (page.width * format.scale[0]).ceil() / format.scale[0]
            } else {
                page.width
            };
            let mut marks = head(name, page.section, i + 1, count, width);
            marks.extend(bars(format.height));
            marks.extend(page.marks);
            let sheet = Sheet {
                title: format!("{name}: {}, page {} of {count}", page.section, i + 1),
                width,
                height: format.height,
                marks,
            };
            scaled(sheet, format.scale)
        });
        sheets.collect()
    }
}

/// Room round a drawing for the marks by which its tiles are joined.
fn banded(block: Block) -> Block {
    Block {
        width: block.width + 2.0 * BAND,
        height: block.height + 2.0 * BAND,
        marks: block
            .marks
            .into_iter()
            .map(|m| moved(m, [BAND, BAND]))
            .collect(),
    }
}

/// Crosses with letters where neighbouring tiles overlap, the same on both.
fn match_marks(block: &Block, grid: [usize; 2], room: [f64; 2], step: [f64; 2]) -> Vec<Mark> {
    let mut places = Vec::new();
    let seam = |k: usize, i: usize| step[i] * k as f64 + 0.5 * (room[i] - step[i]);
    let (low, high) = (0.5 * BAND, block.height - 0.5 * BAND);
    let (near, far) = (0.5 * BAND, block.width - 0.5 * BAND);
    for k in 1..grid[0] {
        let x = seam(k, 0);
        places.extend([[x, low], [x, high]]);
    }
    for k in 1..grid[1] {
        let y = seam(k, 1);
        places.extend([[near, y], [far, y]]);
    }
    let mut marks = Vec::new();
    for (i, [x, y]) in places.into_iter().enumerate() {
        marks.push(line(Pen::Narrow, &[(x - 2.5, y), (x + 2.5, y)]));
        marks.push(line(Pen::Narrow, &[(x, y - 2.5), (x, y + 2.5)]));
        // Letters lie along the band, never into the drawing.
        let letter = letters(i);
        let size = 0.8 * TEXT;
        let at = if x < BAND || x > block.width - BAND {
            Point::new(x - 0.4 * text_width(&letter, size), y - 3.5)
        } else {
            Point::new(x + 3.5, y + 0.4 * size)
        };
        marks.push(Mark::Text {
            at,
            text: letter,
            size,
            align: Align::Start,
            upright: false,
        });
    }
    marks
}

/// A, B … Z, A1, B1 …
pub(super) fn letters(i: usize) -> String {
    let letter = char::from(b'A' + u8::try_from(i % 26).unwrap_or(0));
    match i / 26 {
        0 => letter.to_string(),
        turn => format!("{letter}{turn}"),
    }
}

fn head(name: &str, section: &str, page: usize, count: usize, width: f64) -> Vec<Mark> {
    let base = MARGIN + 0.8 * TITLE;
    let right = format!("{section}   {page} / {count}");
    let room = width - 2.0 * MARGIN - text_width(&right, TITLE) - 6.0;
    let title = |x, align, text| Mark::Text {
        at: Point::new(x, base),
        text,
        size: TITLE,
        align,
        upright: false,
    };
    vec![
        title(MARGIN, Align::Start, fit(name, TITLE, room)),
        title(width - MARGIN, Align::End, right),
        line(
            Pen::Narrow,
            &[(MARGIN, MARGIN + 7.0), (width - MARGIN, MARGIN + 7.0)],
        ),
    ]
}

/// Bars of 100 mm both ways, their square ends exactly that far apart, ticks every 10 mm.
fn bars(height: f64) -> Vec<Mark> {
    let mut marks = Vec::new();
    let inset = 0.5 * Pen::Narrow.width();
    let (left, low) = (MARGIN + EDGE, height - MARGIN - 5.0);
    let (column, foot) = (MARGIN + 2.0, height - MARGIN - EDGE);
    let mut bar = |id, a: (f64, f64), b: (f64, f64)| {
        let mut path = BezPath::new();
        path.move_to(a);
        path.line_to(b);
        marks.push(Mark::Line {
            id: Some(id),
            path,
            pen: Pen::Bar,
        });
    };
    bar("check-100mm-x", (left, low), (left + BAR, low));
    bar("check-100mm-y", (column, foot), (column, foot - BAR));
    for k in 0..=10 {
        // End ticks lie within the bar's ends, so that the ends stay true.
        let t = (0.1 * BAR * f64::from(k)).clamp(inset, BAR - inset);
        marks.push(line(Pen::Narrow, &[(left + t, low), (left + t, low + 2.5)]));
        marks.push(line(
            Pen::Narrow,
            &[(column, foot - t), (column + 2.5, foot - t)],
        ));
    }
    marks.push(text(
        (left + BAR + 3.0, low + 1.2),
        Align::Start,
        "100 mm both ways: measure before you cut",
    ));
    marks.push(Mark::Text {
        at: Point::new(column + 1.2, foot - BAR - 3.0),
        text: "100 mm".into(),
        size: TEXT,
        align: Align::Start,
        upright: true,
    });
    marks
}

fn scaled(sheet: Sheet, [across, down]: [f64; 2]) -> Sheet {
    if [across, down] == [1.0; 2] {
        return sheet;
    }
    let by = Affine::scale_non_uniform(across, down);
    let marks = sheet.marks.into_iter().map(|mark| match mark {
        Mark::Line { id, path, pen } => Mark::Line {
            id,
            path: by * path,
            pen,
        },
        Mark::Text {
            at,
            text,
            size,
            align,
            upright,
        } => Mark::Text {
            at: by * at,
            text,
            size: size * across.min(down),
            align,
            upright,
        },
    });
    // Back to the paper's own numbers, free of rounding.
    let whole = |v: f64| (v * 1e6).round() / 1e6;
    Sheet {
        width: whole(sheet.width * across),
        height: whole(sheet.height * down),
        marks: marks.collect(),
        ..sheet
    }
}

/// The mark, moved.
pub(super) fn moved(mark: Mark, [x, y]: [f64; 2]) -> Mark {
    match mark {
        Mark::Line { id, path, pen } => Mark::Line {
            id,
            path: Affine::translate((x, y)) * path,
            pen,
        },
        Mark::Text {
            at,
            text,
            size,
            align,
            upright,
        } => Mark::Text {
            at: Point::new(at.x + x, at.y + y),
            text,
            size,
            align,
            upright,
        },
    }
}

/// What of the mark is within the window: curves cut exactly, lettering only if it is whole.
fn clipped(mark: &Mark, window: Rect) -> Option<Mark> {
    let Mark::Line { id, path, pen } = mark else {
        let area = mark.lettering()?;
        return window.contains_rect(area).then(|| mark.clone());
    };
    let area = path.bounding_box();
    if window.contains(area.origin()) && window.contains(Point::new(area.x1, area.y1)) {
        return Some(mark.clone());
    }
    let far = 1e5;
    let sides = [
        Line::new((window.x0, -far), (window.x0, far)),
        Line::new((window.x1, -far), (window.x1, far)),
        Line::new((-far, window.y0), (far, window.y0)),
        Line::new((-far, window.y1), (far, window.y1)),
    ];
    let within = window.inflate(1e-9, 1e-9);
    let mut kept = BezPath::new();
    let mut last: Option<Point> = None;
    for segment in path.segments() {
        let mut cuts = vec![0.0, 1.0];
        for side in sides {
            cuts.extend(segment.intersect_line(side).iter().map(|hit| hit.segment_t));
        }
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2) {
            if pair[1] - pair[0] < 1e-12
                || !within.contains(segment.eval(0.5 * (pair[0] + pair[1])))
            {
                continue;
            }
            let piece = segment.subsegment(pair[0]..pair[1]);
            if last.is_none_or(|p| p.distance(piece.start()) > 1e-9) {
                kept.push(PathEl::MoveTo(piece.start()));
            }
            kept.push(piece.as_path_el());
            last = Some(piece.end());
        }
    }
    (!kept.is_empty()).then_some(Mark::Line {
        id: *id,
        path: kept,
        pen: *pen,
    })
}

/// Paragraphs under a heading, in lines no wider than `width`.
pub(super) fn words(heading: &str, paragraphs: &[String], width: f64) -> Block {
    let mut marks = Vec::new();
    let mut y = 0.0;
    if !heading.is_empty() {
        marks.push(Mark::Text {
            at: Point::new(0.0, 0.8 * TITLE),
            text: fit(heading, TITLE, width),
            size: TITLE,
            align: Align::Start,
            upright: false,
        });
        y += 7.5;
    }
    for paragraph in paragraphs {
        for row in super::super::sheet::wrap(paragraph, TEXT, width) {
            marks.push(text((0.0, y + 0.8 * TEXT), Align::Start, row));
            y += LEADING;
        }
        y += 1.2;
    }
    Block {
        width,
        height: y,
        marks,
    }
}

/// A table in as many blocks as it takes to keep each within `height`; cells are set to the
/// right but for the first two columns.
pub(super) fn table(heads: &[[String; 2]], rows: &[Vec<String>], height: f64) -> Vec<Block> {
    let wide = |words: &str| text_width(words, TEXT);
    let widths: Vec<f64> = (0..heads.len())
        .map(|i| {
            let cells = rows.iter().filter_map(|r| r.get(i)).map(|c| wide(c));
            let heads = heads[i].iter().map(|h| wide(h));
            cells.chain(heads).fold(0.0, f64::max) + 4.0
        })
        .collect();
    let width: f64 = widths.iter().sum();
    let head = 2.0 * LEADING + 2.0;
    let most = (((height - head - 2.0) / LEADING).floor()).max(1.0) as usize;
    rows.chunks(most)
        .map(|chunk| {
            let mut marks = Vec::new();
            let mut cell = |i: usize, base: f64, words: &str| {
                let left: f64 = widths[..i].iter().sum();
                let (x, align) = if i < 2 {
                    (left + 2.0, Align::Start)
                } else {
                    (left + widths[i] - 2.0, Align::End)
                };
                if !words.is_empty() {
                    marks.push(text((x, base), align, words));
                }
            };
            for (i, [first, second]) in heads.iter().enumerate() {
                cell(i, 0.8 * TEXT, first);
                cell(i, LEADING + 0.8 * TEXT, second);
            }
            for (k, row) in chunk.iter().enumerate() {
                for (i, words) in row.iter().enumerate() {
                    let base = head + LEADING * k as f64 + 0.8 * TEXT + 0.6;
                    cell(i, base, words);
                }
            }
            let total = head + LEADING * chunk.len() as f64 + 1.6;
            for y in [head - 0.8, total] {
                marks.push(line(Pen::Narrow, &[(0.0, y), (width, y)]));
            }
            Block {
                width,
                height: total + 0.5,
                marks,
            }
        })
        .collect()
}
