//! Pages as they would be measured with a ruler: where every line stands, in which order, and why a
//! page ends.

use super::*;
use crate::casting::sheet;
use proptest::prelude::*;

fn image(width: u32, height: u32) -> Arc<Image> {
    let pixels = vec![200; 3 * width as usize * height as usize];
    Arc::new(Image::new(width, height, pixels).unwrap())
}

/// A line of lettering on its page.
struct Row {
    leaf: usize,
    area: Rect,
    text: String,
}

/// All lettering of a page, its foot last.
fn lettering(i: usize, leaf: &Leaf) -> Vec<Row> {
    let rows = leaf.sheet.marks.iter().filter_map(|mark| {
        let Mark::Text {
            at,
            text,
            size,
            align,
            upright: false,
        } = mark
        else {
            return None;
        };
        let width = face::width(text, *size);
        let x = match align {
            Align::End => at.x - width,
            _ => at.x,
        };
        Some(Row {
            leaf: i,
            area: Rect::new(x, at.y - 0.72 * size, x + width, at.y + 0.2 * size),
            text: text.clone(),
        })
    });
    rows.collect()
}

/// What stands between the margins, in the order it was set.
fn body(leaves: &[Leaf]) -> Vec<Row> {
    let pages = leaves.iter().enumerate().map(|(i, leaf)| {
        let mut rows = lettering(i, leaf);
        rows.truncate(rows.len() - 2);
        rows
    });
    pages.flatten().collect()
}

fn overlap(a: Rect, b: Rect) -> bool {
    let both = a.intersect(b);
    both.width() > 1e-9 && both.height() > 1e-9
}

/// Everything lies within margins of 16 mm of the paper, the foot below them, and nothing on
/// anything else: no text on text or pictures, no line through either.
fn is_well_set(leaves: &[Leaf], [width, height]: [f64; 2]) {
    let within = Rect::new(16.0, 16.0, width - 16.0, height - 16.0).inset(1e-9);
    let inside = |area: Rect| within.union(area) == within;
    for (i, leaf) in leaves.iter().enumerate() {
        assert_eq!([leaf.sheet.width, leaf.sheet.height], [width, height]);
        let mut rows = lettering(i, leaf);
        let foot = rows.split_off(rows.len() - 2);
        assert_eq!(foot[0].text, leaf.sheet.title);
        assert_eq!(foot[1].text, format!("{} of {}", i + 1, leaves.len()));
        assert!((foot[0].area.x0 - 16.0).abs() < 1e-9);
        assert!((foot[1].area.x1 - (width - 16.0)).abs() < 1e-9);
        for row in &foot {
            // Off the edge by what office printers leave white (common practice).
            assert!(row.area.y0 > height - 16.0 && row.area.y1 < height - 5.0);
        }
        assert!(!overlap(foot[0].area, foot[1].area));
        assert!(!rows.is_empty() || !leaf.pictures.is_empty(), "empty page");
        for (k, row) in rows.iter().enumerate() {
            assert!(inside(row.area), "{}: {:?}", row.text, row.area);
            for other in &rows[..k] {
                assert!(
                    !overlap(row.area, other.area),
                    "{} on {}",
                    row.text,
                    other.text
                );
            }
        }
        for (k, placed) in leaf.pictures.iter().enumerate() {
            assert!(inside(placed.area), "{:?}", placed.area);
            let of = &placed.image;
            let aspect = f64::from(of.width()) / f64::from(of.height());
            assert!((placed.area.width() / placed.area.height() / aspect - 1.0).abs() < 1e-9);
            assert!(rows.iter().all(|row| !overlap(row.area, placed.area)));
            assert!(
                leaf.pictures[..k]
                    .iter()
                    .all(|p| !overlap(p.area, placed.area))
            );
        }
        for mark in &leaf.sheet.marks {
            let Mark::Line { path, .. } = mark else {
                continue;
            };
            for stroke in path.segments() {
                // A straight one, as broad as a hair.
                let stroke = stroke.bounding_box().inset(1e-6);
                assert!(inside(stroke.inset(-1e-6)), "{stroke:?}");
                for row in &rows {
                    assert!(!overlap(stroke, row.area), "a line through {}", row.text);
                }
                for placed in &leaf.pictures {
                    assert!(!overlap(stroke, placed.area.inset(-1e-3)));
                }
            }
        }
    }
}

/// A piece of a block: its text without spaces, and whether it stays on one page.
type Piece = (String, bool);

fn bare(text: &str) -> String {
    text.split_whitespace().collect()
}

fn pieces(block: &Block<'_>, images: &[Option<Arc<Image>>]) -> Vec<Piece> {
    let one = |text: String, whole: bool| vec![(bare(&text), whole)];
    match block {
        Block::Heading(text) => one(text.clone(), true),
        Block::Text(text) => one(text.clone(), false),
        Block::Caution(text) => one(format!("Caution: {text}"), true),
        Block::Steps(first, steps) => {
            let steps = steps.iter().enumerate();
            steps
                .flat_map(|(i, step)| one(format!("{}. {step}", first + i), true))
                .collect()
        }
        Block::List(items) => items
            .iter()
            .flat_map(|item| one(format!("– {item}"), false))
            .collect(),
        Block::Table(table) => {
            // The caption goes with the first row.
            let mut rows: Vec<String> = table.rows.iter().map(|row| row.concat()).collect();
            rows[0].insert_str(0, &table.caption);
            rows.into_iter().flat_map(|row| one(row, true)).collect()
        }
        Block::Pictures(pictures) => {
            let shown = shown(pictures, images);
            shown
                .chunks(2)
                .flat_map(|pair| one(pair.iter().map(|p| p.0).collect(), true))
                .collect()
        }
        Block::Room(what) => one(what.clone(), true),
        Block::Measured(_) => unreachable!(),
    }
}

/// Where a piece came to stand: its block, and its rows.
struct Stands<'a> {
    block: usize,
    rows: &'a [Row],
    whole: bool,
}

/// Every piece of every block, letter by letter in the order of the page.
fn stands<'a>(
    page: &Page<'_>,
    images: &[Option<Arc<Image>>],
    mut rows: &'a [Row],
) -> Vec<Stands<'a>> {
    let mut found = Vec::new();
    let title = (bare(&page.title), true);
    let of = |(i, block)| pieces(block, images).into_iter().map(move |p| (i + 1, p));
    let all = std::iter::once((0, title)).chain(page.blocks.iter().enumerate().flat_map(of));
    for (block, (wanted, whole)) in all {
        let mut read = String::new();
        let mut count = 0;
        while read.len() < wanted.len() {
            read += &bare(&rows[count].text);
            count += 1;
        }
        assert_eq!(read, wanted);
        let (own, rest) = rows.split_at(count);
        rows = rest;
        found.push(Stands {
            block,
            rows: own,
            whole,
        });
    }
    assert!(rows.is_empty(), "{} was not asked for", rows[0].text);
    found
}

/// Blocks stand one below the other in their order; what is kept whole is; a heading is never the last
/// on its page, if that is asked; no page ends before what comes next is too high for it.
fn is_in_order(
    page: &Page<'_>,
    images: &[Option<Arc<Image>>],
    leaves: &[Leaf],
    with_headings: bool,
) {
    let rows = body(leaves);
    let found = stands(page, images, &rows);
    let heading =
        |s: &Stands<'_>| s.block > 0 && matches!(page.blocks[s.block - 1], Block::Heading(_));
    let pictured =
        |s: &Stands<'_>| s.block > 0 && matches!(page.blocks[s.block - 1], Block::Pictures(_));
    // What a piece takes of a page, with the pictures over their titles.
    let area = |s: &Stands<'_>, leaf: usize| {
        let own = s.rows.iter().filter(|r| r.leaf == leaf).map(|r| r.area);
        let own = own.reduce(|a, b| a.union(b)).unwrap();
        let over = leaves[leaf].pictures.iter().filter(|_| pictured(s));
        over.fold(own, |all, p| all.union(p.area))
    };
    for s in &found {
        if s.whole {
            assert!(s.rows.iter().all(|r| r.leaf == s.rows[0].leaf));
        }
        assert!(s.rows.is_sorted_by_key(|r| r.leaf));
    }
    for pair in found.windows(2) {
        let [before, after] = pair else { continue };
        let (last, first) = (before.rows.last().unwrap(), &after.rows[0]);
        assert!(last.leaf <= first.leaf && first.leaf <= last.leaf + 1);
        if last.leaf == first.leaf {
            let (low, high) = (area(before, last.leaf).y1, area(after, first.leaf).y0);
            assert!(low <= high, "{} over {}", first.text, last.text);
        } else {
            assert!(!with_headings || !heading(before), "{} is alone", last.text);
        }
    }
    for (i, after) in found.iter().enumerate().skip(1) {
        let (last, first) = (found[i - 1].rows.last().unwrap(), &after.rows[0]);
        if last.leaf == first.leaf {
            continue;
        }
        // What had to stay together, down from the new page's top.
        let group = found[i..].iter().position(|s| !heading(s)).unwrap_or(0);
        let end = &found[i + group];
        let low = match end.whole {
            true => area(end, first.leaf).y1,
            false => end.rows[0].area.y1,
        };
        let asked = match page.blocks.get(end.block.wrapping_sub(1)) {
            Some(Block::Room(_)) => NOTES,
            Some(Block::Table(_)) => WITH_HEADING,
            _ if group > 0 => WITH_HEADING,
            _ => 0.0,
        };
        // Room over a heading, and what a block leaves below itself.
        let spare = 16.0;
        let needs = (low - 16.0).max(asked) + spare;
        let left = leaves[0].sheet.height - 16.0 - area(&found[i - 1], last.leaf).y1;
        assert!(left < needs, "{left} mm left for {} of {needs}", first.text);
    }
}

fn words() -> impl Strategy<Value = String> {
    prop::collection::vec("[a-zA-Zäß0-9(),.°]{1,14}", 1..60).prop_map(|w| w.join(" "))
}

/// ISO 216, and 8.5 × 11 in (ANSI/ASME Y14.1).
const SIZES: [(Paper, [f64; 2]); 2] =
    [(Paper::A4, [210.0, 297.0]), (Paper::Letter, [215.9, 279.4])];

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
            Block::Text(long.clone()),
        ],
    };
    for (paper, size) in SIZES {
        let leaves = document(&page, &[], paper);
        is_well_set(&leaves, size);
        // The caution, the step and the row are cut, each with a mark that there was more; the text is not.
        let rows = body(&leaves);
        let cut = rows.iter().filter(|r| r.text.ends_with('…')).count();
        assert_eq!(
            cut, 5,
            "one for the caution and the step each, three for the cells"
        );
        let all: String = rows.iter().map(|r| bare(&r.text)).collect();
        assert!(all.ends_with(&bare(&long)));
    }
}

#[test]
fn a_page_holds_as_many_lines_as_fit() {
    // From margin to margin 265 and 247.4 mm, 5 mm a line; the title takes 9 and 2 of the first.
    for ((paper, size), [first, next]) in SIZES.into_iter().zip([[50, 53], [47, 49]]) {
        let page = Page {
            title: "Lines".into(),
            blocks: vec![Block::Text("reed ".repeat(6000))],
        };
        let leaves = document(&page, &[], paper);
        is_well_set(&leaves, size);
        let count = |leaf: usize| body(&leaves).iter().filter(|r| r.leaf == leaf).count();
        assert_eq!((count(0), count(1)), (first + 1, next));
        let rows = body(&leaves);
        let second: Vec<&Row> = rows.iter().filter(|r| r.leaf == 1).collect();
        assert!(second.iter().all(|r| (r.area.x0 - 16.0).abs() < 1e-9));
        for two in second.windows(2) {
            assert!((two[1].area.y0 - two[0].area.y0 - 5.0).abs() < 1e-9);
        }
    }
}

#[test]
fn a_heading_goes_with_what_it_stands_over() {
    let long = "hot plastic sticks to skin ".repeat(30);
    let file: &[u8] = &[];
    let picture = || {
        Block::Pictures(vec![sheet::Picture {
            title: "A picture",
            alt: "",
            file,
            kind: sheet::Image::Png,
        }])
    };
    let images = [Some(image(40, 30))];
    // Wherever on the page it would come to stand.
    for lines in 30..56 {
        for under in [
            Block::Caution(long.clone()),
            Block::Steps(1, vec![long.clone()]),
            picture(),
            Block::Table(Table {
                caption: "Amounts".into(),
                rows: vec![["Plastic".into(), "12 g".into(), long.clone()]],
            }),
            Block::Text(long.clone()),
        ] {
            let mut blocks: Vec<Block<'_>> = vec![Block::List(vec!["reed".to_owned(); lines])];
            blocks.extend([Block::Heading("Under it".into()), under]);
            let page = Page {
                title: "Kept".into(),
                blocks,
            };
            for (paper, size) in SIZES {
                let leaves = document(&page, &images, paper);
                is_well_set(&leaves, size);
                is_in_order(&page, &images, &leaves, true);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn nothing_collides_falls_off_or_changes_places(
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
            3 => Block::Steps(7, vec![text.clone(), text.clone()]),
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
        let (paper, size) = SIZES[usize::from(letter)];
        let leaves = document(&page, &images, paper);
        is_well_set(&leaves, size);
        let shown: usize = leaves.iter().map(|l| l.pictures.len()).sum();
        prop_assert_eq!(shown, 2);
        // Nonsense may hold more headings in a row than a page keeps together.
        is_in_order(&page, &images, &leaves, false);
    }
}
