//! A build sheet set on pages of paper: text in lines, tables in rows, pictures in pairs, each
//! kept whole, nothing beyond the margins.

use std::sync::Arc;

use kurbo::{BezPath, Point, Rect, Shape};

use super::face;
use super::picture::Image;
use super::sheet::{Align, Mark, Pen, Sheet, TEXT, TITLE, line};
use crate::casting::sheet::{Block, Page, Picture, Table};
use crate::spec::Paper;

/// A page with pictures on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaf {
    /// Lines and lettering.
    pub sheet: Sheet,
    /// Pictures, under them.
    pub pictures: Vec<Placed>,
}

/// A picture on a page.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// Where it lies, in mm from the page's top left corner.
    pub area: Rect,
    /// What it shows.
    pub image: Arc<Image>,
}

/// White round a page that is read, filed and written on, mm.
const MARGIN: f64 = 16.0;
/// From line to line of [`TEXT`].
const LEADING: f64 = 5.0;
/// Room over a heading, from line to line of it, and from its rule to what follows.
const HEADING: [f64; 3] = [4.0, 6.5, 2.5];
/// Lettering of amounts.
const LARGE: f64 = 4.8;
/// Room round the text of a cell.
const PAD: f64 = 1.4;
/// Shares of a table's width: name, amount, the rest.
const COLUMNS: [f64; 3] = [0.22, 0.26, 0.52];
/// Least room for a heading and what follows it, mm.
const WITH_HEADING: f64 = 26.0;
/// From line to line of a table's caption.
const CAPTION: f64 = 5.5;
/// Side of a box to tick.
const TICK: f64 = 3.6;
/// How far the text beside it is set in, and the text within a box.
const TICKED: f64 = 7.0;
const BOXED: f64 = 4.0;
/// Room between two pictures.
const GAP: f64 = 6.0;
/// Greatest height of a picture, so that three rows go on a page.
const TALL: f64 = 70.0;
/// Room for notes, at least.
const NOTES: f64 = 60.0;

/// Sets a build sheet on A4 or Letter, standing. `images` are those of its pictures, in order; a
/// picture without one is left out.
#[must_use]
pub fn document(page: &Page<'_>, images: &[Option<Arc<Image>>], paper: Paper) -> Vec<Leaf> {
    let (width, height) = match paper {
        Paper::Letter => (215.9, 279.4),
        Paper::A4 | Paper::A3 | Paper::Roll => (210.0, 297.0),
    };
    let mut setter = Setter {
        size: [width, height],
        title: &page.title,
        leaves: Vec::new(),
        y: 0.0,
    };
    setter.turn();
    setter.lines(&page.title, 0.0, 7.0, 9.0);
    setter.y += 2.0;
    for (i, block) in page.blocks.iter().enumerate() {
        if let Block::Heading(_) = block {
            let kept = setter.kept(&page.blocks[i..], images);
            setter.need(kept.max(WITH_HEADING));
        }
        setter.block(block, images);
    }
    let count = setter.leaves.len();
    for (i, leaf) in setter.leaves.iter_mut().enumerate() {
        let foot = height - 0.6 * MARGIN;
        let place = |x, align, text: String| Mark::Text {
            at: Point::new(x, foot),
            text,
            size: 3.0,
            align,
            upright: false,
        };
        let marks = &mut leaf.sheet.marks;
        marks.push(place(MARGIN, Align::Start, page.title.clone()));
        let number = format!("{} of {count}", i + 1);
        marks.push(place(width - MARGIN, Align::End, number));
    }
    setter.leaves
}

/// Lines of at most `width`, broken at spaces; a word that is wider by itself is broken where it
/// has to be.
fn wrap(text: &str, size: f64, width: f64) -> Vec<String> {
    let mut rows = Vec::new();
    let mut row = String::new();
    for word in text.split_whitespace() {
        let longer = if row.is_empty() {
            word.to_owned()
        } else {
            format!("{row} {word}")
        };
        if face::width(&longer, size) <= width {
            row = longer;
            continue;
        }
        if !row.is_empty() {
            rows.push(std::mem::take(&mut row));
        }
        for c in word.chars() {
            if !row.is_empty() && face::width(&format!("{row}{c}"), size) > width {
                rows.push(std::mem::take(&mut row));
            }
            row.push(c);
        }
    }
    if !row.is_empty() {
        rows.push(row);
    }
    rows
}

/// Rows of a block that is kept whole: no more than a page holds; the page on the screen has all.
fn cut(mut rows: Vec<String>, most: f64, size: f64, width: f64) -> Vec<String> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let most = most.max(1.0) as usize;
    if rows.len() > most {
        rows.truncate(most);
        if let Some(last) = rows.last_mut() {
            last.pop();
            // The mark is wider than many a letter that it stands for.
            while !last.is_empty() && face::width(&format!("{last}…"), size) > width {
                last.pop();
            }
            last.push('…');
        }
    }
    rows
}

/// The table of what is measured.
fn measured(rows: &[[String; 2]]) -> Table {
    let row = |[what, reckoned]: &[String; 2]| [what.clone(), reckoned.clone(), String::new()];
    Table {
        caption: "What came out: reckoned, measured".to_owned(),
        rows: rows.iter().map(row).collect(),
    }
}

/// Pictures that there is an image of, with their titles.
fn shown<'a>(
    pictures: &[Picture<'a>],
    images: &[Option<Arc<Image>>],
) -> Vec<(&'a str, Arc<Image>)> {
    let pictures = pictures.iter().zip(images);
    pictures
        .filter_map(|(picture, image)| Some((picture.title, image.clone()?)))
        .collect()
}

/// Lines of a cell, their size, and from line to line.
type Cell = (Vec<String>, f64, f64);

struct Setter<'a> {
    size: [f64; 2],
    title: &'a str,
    leaves: Vec<Leaf>,
    /// Where the next line's top is.
    y: f64,
}

impl Setter<'_> {
    fn width(&self) -> f64 {
        self.size[0] - 2.0 * MARGIN
    }

    /// Rows that a block of their own may have.
    fn most_rows(&self, leading: f64) -> f64 {
        (self.size[1] - 2.0 * MARGIN - 4.0 * PAD) / leading - 1.0
    }

    fn bottom(&self) -> f64 {
        self.size[1] - MARGIN
    }

    /// A new page.
    fn turn(&mut self) {
        self.y = MARGIN;
        self.leaves.push(Leaf {
            sheet: Sheet {
                title: self.title.to_owned(),
                width: self.size[0],
                height: self.size[1],
                marks: Vec::new(),
            },
            pictures: Vec::new(),
        });
    }

    /// Turns the page if less than this is left of it.
    fn need(&mut self, height: f64) {
        if self.y + height > self.bottom() && self.y > MARGIN {
            self.turn();
        }
    }

    fn push(&mut self, mark: Mark) {
        if let Some(leaf) = self.leaves.last_mut() {
            leaf.sheet.marks.push(mark);
        }
    }

    /// One line whose top is `y`.
    fn text(&mut self, x: f64, y: f64, size: f64, text: String) {
        self.push(Mark::Text {
            at: Point::new(x, y + 0.8 * size),
            text,
            size,
            align: Align::Start,
            upright: false,
        });
    }

    fn rule(&mut self, pen: Pen, from: (f64, f64), to: (f64, f64)) {
        self.push(line(pen, &[from, to]));
    }

    fn outline(&mut self, area: Rect) {
        let path: BezPath = area.to_path(0.1);
        self.push(Mark::Line {
            id: None,
            path,
            pen: Pen::Narrow,
        });
    }

    /// Text in lines, page after page.
    fn lines(&mut self, text: &str, inset: f64, size: f64, leading: f64) {
        for row in wrap(text, size, self.width() - inset) {
            self.need(leading);
            let y = self.y;
            self.text(MARGIN + inset, y, size, row);
            self.y += leading;
        }
    }

    fn block(&mut self, block: &Block<'_>, images: &[Option<Arc<Image>>]) {
        match block {
            Block::Heading(text) => {
                let [over, leading, under] = HEADING;
                // None is needed at a page's top.
                self.y += if self.y > MARGIN { over } else { 0.0 };
                self.lines(text, 0.0, TITLE, leading);
                let (y, right) = (self.y, MARGIN + self.width());
                self.rule(Pen::Wide, (MARGIN, y), (right, y));
                self.y += under;
            }
            Block::Text(text) => {
                self.lines(text, 0.0, TEXT, LEADING);
                self.y += 1.5;
            }
            Block::Caution(text) => self.caution(text),
            Block::Table(table) => self.table(table),
            Block::Pictures(pictures) => {
                let shown = shown(pictures, images);
                for pair in shown.chunks(2) {
                    self.pictures(pair);
                }
            }
            Block::Steps(first, steps) => {
                for (i, step) in steps.iter().enumerate() {
                    self.step(&format!("{}. {step}", first + i));
                }
                self.y += 1.5;
            }
            Block::List(items) => {
                for item in items {
                    self.need(LEADING);
                    let y = self.y;
                    self.text(MARGIN + 1.0, y, TEXT, "–".to_owned());
                    self.lines(item, 5.0, TEXT, LEADING);
                    self.y += 0.8;
                }
            }
            Block::Measured(rows) => self.table(&measured(rows)),
            Block::Room(what) => {
                self.need(NOTES);
                self.lines(what, 0.0, TEXT, LEADING);
                let right = MARGIN + self.width();
                let mut y = self.y + 8.0;
                while y < self.bottom() {
                    self.rule(Pen::Narrow, (MARGIN, y), (right, y));
                    y += 8.0;
                }
                self.y = self.bottom();
            }
        }
    }

    /// Height of what is kept together at the beginning of these blocks: a heading and the first of
    /// what it stands over.
    fn kept(&self, blocks: &[Block<'_>], images: &[Option<Arc<Image>>]) -> f64 {
        let Some(block) = blocks.first() else {
            return 0.0;
        };
        let first_row = |table: &Table| {
            let caption = wrap(&table.caption, TEXT, self.width()).len() as f64 * CAPTION;
            caption + table.rows.first().map_or(0.0, |row| self.row(row).1)
        };
        match block {
            Block::Heading(text) => {
                let [over, leading, under] = HEADING;
                let rows = wrap(text, TITLE, self.width()).len() as f64;
                over + rows * leading + under + self.kept(&blocks[1..], images)
            }
            Block::Text(_) | Block::List(_) => LEADING,
            Block::Caution(text) => self.cautioned(text).1,
            Block::Table(table) => first_row(table),
            Block::Measured(rows) => first_row(&measured(rows)),
            Block::Pictures(pictures) => match shown(pictures, images).chunks(2).next() {
                Some(pair) => self.pair(pair).2,
                None => self.kept(&blocks[1..], images),
            },
            Block::Steps(first, steps) => steps
                .first()
                .map_or(0.0, |step| self.stepped(&format!("{first}. {step}")).1),
            Block::Room(_) => NOTES,
        }
    }

    /// Lines of a caution, and the height of its box.
    fn cautioned(&self, text: &str) -> (Vec<String>, f64) {
        let width = self.width() - 2.0 * BOXED;
        let rows = wrap(&format!("Caution: {text}"), TEXT, width);
        let rows = cut(rows, self.most_rows(LEADING), TEXT, width);
        let height = rows.len() as f64 * LEADING + 2.0 * PAD;
        (rows, height)
    }

    fn caution(&mut self, text: &str) {
        let (rows, height) = self.cautioned(text);
        self.need(height);
        let (top, right) = (self.y, MARGIN + self.width());
        self.outline(Rect::new(MARGIN, top, right, top + height));
        self.rule(Pen::Bar, (MARGIN + 0.5, top), (MARGIN + 0.5, top + height));
        for (i, row) in rows.into_iter().enumerate() {
            self.text(MARGIN + BOXED, top + PAD + i as f64 * LEADING, TEXT, row);
        }
        self.y += height + 2.0;
    }

    /// The columns of a table: where each begins, and its width.
    fn columns(&self) -> [(f64, f64); 3] {
        let mut at = MARGIN;
        COLUMNS.map(|share| {
            let (from, width) = (at, share * self.width());
            at += width;
            (from, width)
        })
    }

    /// The cells of a table's row, and its height.
    fn row(&self, cells: &[String; 3]) -> (Vec<Cell>, f64) {
        let cells = cells.iter().zip(self.columns()).enumerate();
        let set: Vec<Cell> = cells
            .map(|(i, (cell, (_, width)))| {
                let (size, leading) = if i == 1 {
                    (LARGE, 6.0)
                } else {
                    (TEXT, LEADING)
                };
                let width = width - 2.0 * PAD;
                let rows = wrap(cell, size, width);
                let rows = cut(rows, self.most_rows(leading), size, width);
                (rows, size, leading)
            })
            .collect();
        let height = set
            .iter()
            .map(|(rows, _, leading)| rows.len() as f64 * leading)
            .fold(LEADING, f64::max);
        (set, height + 2.0 * PAD)
    }

    fn table(&mut self, table: &Table) {
        // The caption stays with the first row.
        let rows = wrap(&table.caption, TEXT, self.width()).len() as f64;
        let first = table.rows.first().map_or(0.0, |row| self.row(row).1);
        self.need((rows * CAPTION + first).max(WITH_HEADING));
        self.lines(&table.caption, 0.0, TEXT, CAPTION);
        let width = self.width();
        let rule = |setter: &mut Self| {
            let y = setter.y;
            setter.rule(Pen::Narrow, (MARGIN, y), (MARGIN + width, y));
        };
        rule(self);
        for cells in &table.rows {
            let (set, height) = self.row(cells);
            if self.y + height > self.bottom() {
                self.turn();
                rule(self);
            }
            let top = self.y;
            for ((rows, size, leading), (x, _)) in set.into_iter().zip(self.columns()) {
                for (i, row) in rows.into_iter().enumerate() {
                    self.text(x + PAD, top + PAD + i as f64 * leading, size, row);
                }
            }
            self.y += height;
            rule(self);
        }
        self.y += 3.0;
    }

    /// Lines of a step, and its height.
    fn stepped(&self, text: &str) -> (Vec<String>, f64) {
        let width = self.width() - TICKED;
        let rows = cut(
            wrap(text, TEXT, width),
            self.most_rows(LEADING),
            TEXT,
            width,
        );
        let height = rows.len() as f64 * LEADING + 1.4;
        (rows, height)
    }

    fn step(&mut self, text: &str) {
        let (rows, height) = self.stepped(text);
        self.need(height);
        let top = self.y;
        self.outline(Rect::new(MARGIN, top, MARGIN + TICK, top + TICK));
        for (i, row) in rows.into_iter().enumerate() {
            self.text(MARGIN + TICKED, top + i as f64 * LEADING, TEXT, row);
        }
        self.y += height;
    }

    /// Width of one of two pictures beside each other.
    fn half(&self) -> f64 {
        0.5 * (self.width() - GAP)
    }

    /// Sizes of one or two pictures, the height of the taller, and that of both with what stands under
    /// them.
    fn pair(&self, pair: &[(&str, Arc<Image>)]) -> (Vec<[f64; 2]>, f64, f64) {
        let size = |(_, image): &(&str, Arc<Image>)| {
            let [w, h] = [f64::from(image.width()), f64::from(image.height())];
            let scale = (self.half() / w).min(TALL / h);
            [scale * w, scale * h]
        };
        let sizes: Vec<[f64; 2]> = pair.iter().map(size).collect();
        let tall = sizes.iter().map(|s| s[1]).fold(0.0, f64::max);
        let captions = pair.iter().map(|p| wrap(p.0, TEXT, self.half()).len());
        let rows = captions.max().unwrap_or(0) as f64;
        (sizes, tall, tall + rows * LEADING + 5.0)
    }

    /// Two pictures beside each other, or one.
    fn pictures(&mut self, pair: &[(&str, Arc<Image>)]) {
        let (sizes, tall, height) = self.pair(pair);
        self.need(height);
        let (top, width) = (self.y, self.half());
        for (i, ((title, image), [w, h])) in pair.iter().zip(sizes).enumerate() {
            let x = MARGIN + i as f64 * (width + GAP);
            let area = Rect::new(x, top, x + w, top + h);
            if let Some(leaf) = self.leaves.last_mut() {
                leaf.pictures.push(Placed {
                    area,
                    image: image.clone(),
                });
            }
            self.outline(area);
            for (i, row) in wrap(title, TEXT, width).into_iter().enumerate() {
                self.text(x, top + tall + 1.0 + i as f64 * LEADING, TEXT, row);
            }
        }
        self.y += height;
    }
}

#[cfg(test)]
#[path = "document_tests.rs"]
mod tests;
