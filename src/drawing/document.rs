//! A build sheet set on pages of paper: text in lines, tables in rows, pictures in pairs, each
//! kept whole, nothing beyond the margins.

use std::sync::Arc;

use kurbo::{BezPath, Point, Rect, Shape};

use super::face;
use super::picture::Image;
use super::sheet::{Align, Mark, Pen, Sheet, TEXT, TITLE, line};
use crate::casting::sheet::{Block, Page, Table};
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
/// Lettering of amounts.
const LARGE: f64 = 4.8;
/// Room round the text of a cell.
const PAD: f64 = 1.4;
/// Shares of a table's width: name, amount, the rest.
const COLUMNS: [f64; 3] = [0.22, 0.26, 0.52];
/// A heading stays with at least this much of what follows it, mm.
const WITH_HEADING: f64 = 26.0;
/// Side of a box to tick.
const TICK: f64 = 3.6;
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
        // A heading stays with the first of the pictures under it.
        if let (Block::Heading(_), Some(Block::Pictures(_))) = (block, page.blocks.get(i + 1)) {
            setter.need(WITH_HEADING + TALL);
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
fn cut(mut rows: Vec<String>, most: f64) -> Vec<String> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let most = most.max(1.0) as usize;
    if rows.len() > most {
        rows.truncate(most);
        if let Some(last) = rows.last_mut() {
            last.pop();
            last.push('…');
        }
    }
    rows
}

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
                self.y += 4.0;
                self.need(WITH_HEADING);
                self.lines(text, 0.0, TITLE, 6.5);
                let (y, right) = (self.y, MARGIN + self.width());
                self.rule(Pen::Wide, (MARGIN, y), (right, y));
                self.y += 2.5;
            }
            Block::Text(text) => {
                self.lines(text, 0.0, TEXT, LEADING);
                self.y += 1.5;
            }
            Block::Caution(text) => self.caution(text),
            Block::Table(table) => self.table(table),
            Block::Pictures(pictures) => {
                let shown = pictures.iter().zip(images);
                let shown: Vec<_> = shown
                    .filter_map(|(picture, image)| Some((picture.title, image.clone()?)))
                    .collect();
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
            Block::Measured(rows) => {
                let mut table = Table {
                    caption: "What came out: reckoned, measured".to_owned(),
                    rows: Vec::new(),
                };
                table.rows.extend(
                    rows.iter()
                        .map(|[what, reckoned]| [what.clone(), reckoned.clone(), String::new()]),
                );
                self.table(&table);
            }
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

    fn caution(&mut self, text: &str) {
        const INSET: f64 = 4.0;
        let rows = wrap(
            &format!("Caution: {text}"),
            TEXT,
            self.width() - 2.0 * INSET,
        );
        let rows = cut(rows, self.most_rows(LEADING));
        let height = rows.len() as f64 * LEADING + 2.0 * PAD;
        self.need(height);
        let (top, right) = (self.y, MARGIN + self.width());
        self.outline(Rect::new(MARGIN, top, right, top + height));
        self.rule(Pen::Bar, (MARGIN + 0.5, top), (MARGIN + 0.5, top + height));
        for (i, row) in rows.into_iter().enumerate() {
            self.text(MARGIN + INSET, top + PAD + i as f64 * LEADING, TEXT, row);
        }
        self.y += height + 2.0;
    }

    fn table(&mut self, table: &Table) {
        self.need(WITH_HEADING);
        self.lines(&table.caption, 0.0, TEXT, LEADING + 0.5);
        let width = self.width();
        let mut at = MARGIN;
        let columns: Vec<(f64, f64)> = COLUMNS
            .iter()
            .map(|share| {
                let from = at;
                at += share * width;
                (from, share * width - 2.0 * PAD)
            })
            .collect();
        let rule = |setter: &mut Self| {
            let y = setter.y;
            setter.rule(Pen::Narrow, (MARGIN, y), (MARGIN + width, y));
        };
        rule(self);
        for cells in &table.rows {
            let set: Vec<(Vec<String>, f64, f64)> = cells
                .iter()
                .zip(&columns)
                .enumerate()
                .map(|(i, (cell, (_, width)))| {
                    let (size, leading) = if i == 1 {
                        (LARGE, 6.0)
                    } else {
                        (TEXT, LEADING)
                    };
                    let rows = cut(wrap(cell, size, *width), self.most_rows(leading));
                    (rows, size, leading)
                })
                .collect();
            let height = set
                .iter()
                .map(|(rows, _, leading)| rows.len() as f64 * leading)
                .fold(LEADING, f64::max)
                + 2.0 * PAD;
            if self.y + height > self.bottom() {
                self.turn();
                rule(self);
            }
            let top = self.y;
            for ((rows, size, leading), (x, _)) in set.into_iter().zip(&columns) {
                for (i, row) in rows.into_iter().enumerate() {
                    self.text(x + PAD, top + PAD + i as f64 * leading, size, row);
                }
            }
            self.y += height;
            rule(self);
        }
        self.y += 3.0;
    }

    fn step(&mut self, text: &str) {
        const INSET: f64 = 7.0;
        let rows = wrap(text, TEXT, self.width() - INSET);
        let rows = cut(rows, self.most_rows(LEADING));
        let height = rows.len() as f64 * LEADING + 1.4;
        self.need(height);
        let top = self.y;
        self.outline(Rect::new(MARGIN, top, MARGIN + TICK, top + TICK));
        for (i, row) in rows.into_iter().enumerate() {
            self.text(MARGIN + INSET, top + i as f64 * LEADING, TEXT, row);
        }
        self.y += height;
    }

    /// Two pictures beside each other, or one.
    fn pictures(&mut self, pair: &[(&str, Arc<Image>)]) {
        const GAP: f64 = 6.0;
        let width = 0.5 * (self.width() - GAP);
        let size = |image: &Image| {
            let [w, h] = [f64::from(image.width()), f64::from(image.height())];
            let scale = (width / w).min(TALL / h);
            [scale * w, scale * h]
        };
        let tall = pair.iter().map(|p| size(&p.1)[1]).fold(0.0, f64::max);
        let captions: Vec<Vec<String>> = pair.iter().map(|p| wrap(p.0, TEXT, width)).collect();
        let most = captions.iter().map(Vec::len).max().unwrap_or(0) as f64;
        self.need(tall + most * LEADING + 5.0);
        let top = self.y;
        for (i, ((_, image), caption)) in pair.iter().zip(captions).enumerate() {
            let x = MARGIN + i as f64 * (width + GAP);
            let [w, h] = size(image);
            let area = Rect::new(x, top, x + w, top + h);
            if let Some(leaf) = self.leaves.last_mut() {
                leaf.pictures.push(Placed {
                    area,
                    image: image.clone(),
                });
            }
            self.outline(area);
            for (i, row) in caption.into_iter().enumerate() {
                self.text(x, top + tall + 1.0 + i as f64 * LEADING, TEXT, row);
            }
        }
        self.y += tall + most * LEADING + 5.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::casting::sheet;
    use proptest::prelude::*;

    fn image(width: u32, height: u32) -> Arc<Image> {
        let pixels = vec![200; 3 * width as usize * height as usize];
        Arc::new(Image::new(width, height, pixels).unwrap())
    }

    /// Lettering and pictures lie within the margins, and no line of text runs into another.
    fn is_well_set(leaves: &[Leaf]) {
        for leaf in leaves {
            let paper = Rect::new(0.0, 0.0, leaf.sheet.width, leaf.sheet.height);
            let within = paper.inset(-(0.5 * MARGIN));
            let mut taken: Vec<(Rect, &str)> = Vec::new();
            for mark in &leaf.sheet.marks {
                match mark {
                    Mark::Line { path, .. } => {
                        let area = path.bounding_box();
                        assert!(within.union(area) == within, "{area:?}");
                    }
                    Mark::Text {
                        at,
                        text,
                        size,
                        align,
                        ..
                    } => {
                        let width = face::width(text, *size);
                        let x = if *align == Align::End {
                            at.x - width
                        } else {
                            at.x
                        };
                        let area = Rect::new(x, at.y - 0.72 * size, x + width, at.y + 0.2 * size);
                        assert!(within.union(area) == within, "{text}: {area:?}");
                        for (other, words) in &taken {
                            let both = other.intersect(area);
                            assert!(
                                both.width() <= 1e-9 || both.height() <= 1e-9,
                                "{text} on {words}"
                            );
                        }
                        taken.push((area, text));
                    }
                }
            }
            for (i, placed) in leaf.pictures.iter().enumerate() {
                assert!(within.union(placed.area) == within);
                let of = &placed.image;
                let aspect = f64::from(of.width()) / f64::from(of.height());
                assert!((placed.area.width() / placed.area.height() / aspect - 1.0).abs() < 1e-9);
                let on = |area: Rect| {
                    let both = placed.area.intersect(area);
                    both.width() > 1e-9 && both.height() > 1e-9
                };
                assert!(!taken.iter().any(|(area, _)| on(*area)));
                assert!(!leaf.pictures[..i].iter().any(|p| on(p.area)));
            }
        }
    }

    fn words() -> impl Strategy<Value = String> {
        prop::collection::vec("[a-zA-Zäß0-9(),.°]{1,14}", 1..60).prop_map(|w| w.join(" "))
    }

    #[test]
    fn what_is_longer_than_a_page_ends_on_it() {
        let long = "reeds and water ".repeat(900);
        let row = [long.clone(), long.clone(), long.clone()];
        let page = Page {
            title: "Long".into(),
            blocks: vec![
                Block::Caution(long.clone()),
                Block::Steps(1, vec![long.clone()]),
                Block::Table(Table {
                    caption: "Amounts".into(),
                    rows: vec![row],
                }),
                Block::Text(long),
            ],
        };
        is_well_set(&document(&page, &[], Paper::A4));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        #[test]
        fn nothing_collides_or_falls_off(
            texts in prop::collection::vec((0..6_usize, words()), 1..60),
            long in "[a-z]{1,300}",
            wide in 1..400_u32,
            tall in 1..400_u32,
            letter in any::<bool>(),
        ) {
            let file: &[u8] = &[];
            let picture = sheet::Picture { title: "A picture", alt: "", file, kind: sheet::Image::Png };
            let mut blocks: Vec<Block<'_>> = texts.iter().map(|(kind, text)| match kind {
                0 => Block::Heading(text.chars().take(40).collect()),
                1 => Block::Caution(text.clone()),
                2 => Block::List(vec![text.clone(), text.clone()]),
                3 => Block::Steps(7, vec![text.clone()]),
                4 => Block::Table(Table {
                    caption: "Amounts".into(),
                    rows: vec![[text.chars().take(60).collect(), "12.3 g (1.23 oz)".into(), text.clone()]],
                }),
                _ => Block::Text(text.clone()),
            }).collect();
            blocks.push(Block::Text(long));
            blocks.push(Block::Pictures(vec![picture; 3]));
            blocks.push(Block::Room("Notes".into()));
            let page = Page { title: "A bait: build sheet".into(), blocks };
            let images = [Some(image(wide, tall)), None, Some(image(tall, wide))];
            let paper = if letter { Paper::Letter } else { Paper::A4 };
            let leaves = document(&page, &images, paper);
            is_well_set(&leaves);
            let shown: usize = leaves.iter().map(|l| l.pictures.len()).sum();
            prop_assert_eq!(shown, 2);
            // Every word is there, in order.
            let mut all = String::new();
            for mark in leaves.iter().flat_map(|l| &l.sheet.marks) {
                if let Mark::Text { text, .. } = mark {
                    all += text;
                }
            }
            let bare = |text: &str| text.split_whitespace().collect::<String>();
            let all = bare(&all);
            for (kind, text) in texts.iter().filter(|(kind, _)| [1, 2, 3, 5].contains(kind)) {
                // A page's foot may stand between two lines, so that words are looked for singly.
                for word in text.split_whitespace() {
                    prop_assert!(all.contains(word), "{kind}: {word}");
                }
            }
        }
    }
}
