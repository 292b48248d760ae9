//! Everything that is printed at 1:1, on pages of the maker's own paper: gauges, station table,
//! blank, index strips, section templates, patterns and a dimensioned drawing.

mod bench;
mod contours;
mod gauges;
mod pages;
mod sink;
mod views;
mod wires;
mod wraps;

#[cfg(test)]
mod tests;

use kurbo::{BezPath, Point};

use self::pages::{Block, Format, Pages, words};
use super::sheet::{
    Align, BARS_HEIGHT, BARS_WIDTH, LEADING, MARGIN, Mark, Pen, Sheet, TEXT, check_bars, line,
    text, text_width,
};
use crate::body::{Body, NotRound};
use crate::lathe::{Blank, Gauge, index_strips};
use crate::mesh::Mesh;
use crate::quantity::LengthUnit;
use crate::rig::Sized;
use crate::spec::{Design, Parting};

/// Stations of a body that is not round are at least this far apart, mm, and this share of it.
const STATIONS_APART: (f64, f64) = (4.0, 0.05);

/// Parts of even length whose borders get a template, where the master was read from a file.
const SLICES: u32 = 10;

/// The sheets for one master.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Paper {
    /// All pages in order, each of exactly the paper's size.
    pub pages: Vec<Sheet>,
    /// Gauge and notches on one sheet as large as they need, for machines that cut; `None` for a
    /// body that is not round.
    pub gauges: Option<Sheet>,
    /// Flat patterns and bent wire likewise; `None` if there is neither.
    pub patterns: Option<Sheet>,
    /// How other sizes and weights would sink, as a chart and in numbers; `None` without a weight.
    pub sink: Option<Sheet>,
    /// Wire and hook by themselves, with check bars; `None` if the bait has none.
    pub wire: Option<Sheet>,
    /// The dimensioned drawing by itself.
    pub drawing: Sheet,
}

/// Lays out all sheets for a design.
///
/// `body` is the body as it is under a mould of silicone, `scale` larger than the design's
/// ([`pattern_scale`](crate::spec::Allowances::pattern_scale)), and `master` the mesh of all of it
/// at that size, in the body's axes. `sizes` are those of [`sizes`](crate::rig::sizes), for the chart
/// of sinking speeds; without any there is none.
pub fn paper(design: &Design, body: &Body, scale: f64, master: &Mesh, sizes: &[Sized]) -> Paper {
    let format = Format::of(&design.lathe);
    let area = format.area();
    let mut pages = Pages::new(format);
    let units = design.units;
    let gauge = if body.scan.is_some() {
        Err(None)
    } else {
        Gauge::of(body).map_err(Some)
    };
    let lathe = &design.lathe;
    let over = lathe.sanding - design.allowances.coating();

    pages.begin("drawing");
    let stations = stations(body, gauge.as_ref().ok());
    let drawing = views::drawing(
        design,
        (body, scale),
        gauge.as_ref().ok(),
        master,
        &stations,
        area,
    );
    pages.put("drawing", drawing.clone());

    let mut to_cut = Vec::new();
    if let Ok(gauge) = &gauge {
        pages.begin("gauges 1:1");
        to_cut.push(gauges::half(gauge, over - 0.5 * lathe.kerf));
        pages.put("half-profile gauge", to_cut[0].clone());
        pages.end_row();
        pages.put("whole profile", gauges::whole(gauge));
        pages.end_row();
        pages.put(
            "notches",
            words("", &[notches_say(lathe.card, units)], area[0].min(250.0)),
        );
        pages.end_row();
        for pair in gauges::notches(gauge, over, lathe.card, lathe.kerf, units) {
            pages.put("notches", pair.clone());
            to_cut.push(pair);
        }
        let blank = Blank::of(gauge, lathe, over, units);
        pages.begin("stations");
        pages.put("story stick", gauges::story_stick(gauge));
        pages.end_row();
        let room = area[1] - 2.0;
        for part in bench::stations(gauge, over, blank.trued, units, room) {
            pages.put("station table", part);
            pages.end_row();
        }
        pages.begin("blank and cuts");
        let half = 0.5 * (area[0] - 8.0);
        let mut parts = bench::advice(&blank, design, half).into_iter();
        if let Some(stock) = parts.next() {
            pages.put(
                "blank",
                stacked(bench::sketch(gauge, &blank, design, half), stock),
            );
        }
        for part in parts {
            pages.put("blank", part);
        }
    }
    if body.scan.is_none() {
        let strips = index_strips(design, body, scale);
        if !strips.is_empty() {
            pages.begin("index strips 1:1");
            let says = "Cut out, wrap round the body at its station with the beginning on the back \
                        and the printed side out; the marks run by way of the left flank, seen with \
                        the nose in front. The end meets the line, the tab goes under it.";
            pages.put("strips", words("", &[says.to_owned()], area[0].min(250.0)));
            pages.end_row();
            for strip in &strips {
                pages.put("index strip", wraps::strip(strip, units));
            }
        }
    }
    if gauge.is_err() {
        pages.begin("section templates 1:1");
        let upright = design.mould.parting == Parting::Flank;
        let mut put = |at: f64, section: &[Vec<[f64; 2]>]| {
            let template = wraps::template(section, at, upright, lathe.kerf, units);
            pages.put("section", template);
        };
        if let Some(scan) = &body.scan {
            for i in 1..SLICES {
                let at = body.length() * f64::from(i) / f64::from(SLICES);
                put(at, &scan.section(at).loops);
            }
        } else {
            for &at in &stations {
                put(at, &wraps::section(body, at));
            }
        }
    }
    let mut patterns = wraps::patterns(design, body, scale);
    // Wire does not shrink: it is that of the bait as cast.
    let wires = wires::plans(&design.rig, body.length() / scale, units);
    if !patterns.is_empty() || !wires.is_empty() {
        pages.begin("patterns 1:1");
        for pattern in &patterns {
            pages.put("pattern", pattern.clone());
        }
        pages.end_row();
    }
    let mut wire_sheet = Vec::new();
    if !wires.is_empty() {
        let says = wires::SAYS.map(str::to_owned);
        let says = words("", &says, area[0].min(190.0));
        pages.put("wire", says.clone());
        pages.end_row();
        for wire in &wires {
            pages.put("wire", wire.clone());
        }
        let bars = Block {
            width: BARS_WIDTH,
            height: BARS_HEIGHT,
            marks: check_bars(0.0, 0.0),
        };
        wire_sheet.push(says);
        wire_sheet.extend(wires.iter().cloned());
        wire_sheet.push(bars);
        patterns.extend(wires);
    }

    let sink = sink::chart(sizes, units, area);
    if let Some(chart) = &sink {
        pages.begin("sinking");
        pages.put("sinking", chart.clone());
    }

    let mut front = Pages::new(format);
    front.begin("read first");
    front_page(
        &mut front,
        design,
        (body, scale),
        &pages,
        gauge.as_ref().err(),
    );
    pages.preceded_by(front);
    let sheet = |what: &str, block: Block| alone(&design.name, what, block);
    Paper {
        gauges: gauge.is_ok().then(|| sheet("gauges", rows(to_cut))),
        patterns: (!patterns.is_empty()).then(|| sheet("patterns", rows(patterns))),
        sink: sink.map(|chart| sheet("sinking", chart)),
        wire: (!wire_sheet.is_empty()).then(|| sheet("wire", rows(wire_sheet))),
        drawing: sheet("drawing", drawing),
        pages: pages.finish(&design.name),
    }
}

/// How the notches are used, and what they allow for.
fn notches_say(card: f64, units: LengthUnit) -> String {
    format!(
        "Notches: at its station \u{201c}go\u{201d} must pass over the stopped work, \u{201c}no go\u{201d} must not. \
         Between them lies what ISO 2768-m allows either way, on the diameter to turn. Hold the card \
         square to the axis with its middle on the station: {} thick as assumed ([lathe] card), it bridges \
         a slope, and the notch is as wide as the work is anywhere under it.",
        units.show(card)
    )
}

/// What is drawn, in a few words: the master, `scale` times the bait.
fn shows(scale: f64) -> String {
    let larger = 100.0 * (scale - 1.0);
    if larger.abs() < 0.005 {
        "master, as large as the bait".to_owned()
    } else if larger > 0.0 {
        format!("master, {larger:.2} % larger than the bait")
    } else {
        format!("master, {:.2} % smaller than the bait", -larger)
    }
}

/// Where sections are shown: the gauge's stations, or the knots of all three outlines.
fn stations(body: &Body, gauge: Option<&Gauge>) -> Vec<f64> {
    let length = body.length();
    let mut all: Vec<f64> = match gauge {
        Some(gauge) => gauge.stations.iter().map(|s| s.at).collect(),
        None => [&body.back, &body.belly, &body.half_width]
            .iter()
            .flat_map(|o| o.knots())
            .chain([body.back.greatest().0, body.half_width.greatest().0])
            .collect(),
    };
    let (least, share) = STATIONS_APART;
    let apart = least.max(share * length);
    all.retain(|at| (1.0..=length - 1.0).contains(at));
    all.sort_by(f64::total_cmp);
    let mut kept: Vec<f64> = Vec::new();
    for at in all {
        if kept.last().is_none_or(|last| at - last >= apart) {
            kept.push(at);
        }
    }
    if kept.is_empty() {
        kept.push(0.5 * length);
    }
    kept
}

/// How to print and to check it, what is where, and why anything is missing.
fn front_page(
    front: &mut Pages,
    design: &Design,
    (body, scale): (&Body, f64),
    pages: &Pages,
    missing: Option<&Option<NotRound>>,
) {
    let [width, _] = front.format.area();
    let half = 0.5 * (width.min(300.0) - 8.0);
    let [across, down] = design.lathe.print_scale;
    let mut print = vec![
        "Print at 100 % (actual size), never fitted to the page, on one kind of paper. Let it lie \
         for an hour: damp paper grows. Then measure both bars of 100 mm, at the page's foot and \
         at its left, with a steel rule."
            .to_owned(),
    ];
    print.push(if across == 1.0 && down == 1.0 {
        "If one is off by more than 0.3 mm, write what you measured below, type the factors into \
         the spec, make the kit again, and print again."
            .to_owned()
    } else {
        format!(
            "These pages were drawn for print_scale = [{across}, {down}]. If a bar is still off, \
             multiply those by the factors below."
        )
    });
    front.put(
        "read first",
        stacked(words("Print, then measure", &print, half), measured(half)),
    );

    let units = design.units;
    let [length, wide, high] = views::extent(body).map(|[a, b]| (b - a) / scale);
    let length = length - body.collar_length() / scale;
    let mut what = vec![if body.scan.is_some() {
        format!("The {}.", shows(scale))
    } else {
        format!(
            "The {}. The bait's body is to be {} long, {} high and {} wide.",
            shows(scale),
            units.show(length),
            units.show(high),
            units.show(wide)
        )
    }];
    if !body.collar.is_empty() {
        what.push(format!(
            "The collar behind the tail, {} long, is a core print: it makes a seat in the mould, and is \
             no part of the bait.",
            units.show(body.collar_length())
        ));
    }
    front.put("read first", words("What is drawn", &what, half));

    let mut contents: Vec<String> = Vec::new();
    let sections: Vec<&str> = pages.sections().collect();
    let mut i = 0;
    while i < sections.len() {
        let same = sections[i..]
            .iter()
            .take_while(|s| **s == sections[i])
            .count();
        // The first page is this one.
        let (from, to) = (i + 2, i + 1 + same);
        contents.push(if from == to {
            format!("{from}: {}", sections[i])
        } else {
            format!("{from} to {to}: {}", sections[i])
        });
        i += same;
    }
    let lines = super::sheet::wrap(
        "Red: cut along the middle. Wide: edges. Narrow: stations, leaders. Long dashes and dots: \
         centre lines. Short dashes: hidden edges.",
        TEXT,
        half,
    );
    front.put("read first", words("Pages", &contents, half));
    front.put("read first", words("Lines", &[lines.join(" ")], half));
    if let Some(missing) = missing {
        let why = match missing {
            None => "the master was read from a file, and gauges and strips are drawn from \
                     outlines. Instead there are templates of its sections."
                .to_owned(),
            Some(not_round) => format!(
                "{}. Instead there are templates of its sections, to carve by, and strips for its \
                 marks.",
                not_round.said_in(design.units)
            ),
        };
        let says = format!("No gauges, station table or blank: {why}");
        front.put("read first", words("What is missing", &[says], half));
    }
    for tiled in &pages.tiled {
        front.put("read first", map(tiled, half));
    }
}

/// The box in which the maker writes what the bars measure.
fn measured(width: f64) -> Block {
    let mut marks = Vec::new();
    let mut y = 0.0;
    for (way, place) in [("across", "at the foot"), ("down", "at the left")] {
        let words = format!("{way} ({place}):");
        marks.push(text((3.0, y + 8.0), Align::Start, words));
        let from = 3.0 + text_width("across (at the foot): ", TEXT);
        let to = (from + 24.0).min(width - 4.0);
        marks.push(line(Pen::Narrow, &[(from, y + 8.6), (to, y + 8.6)]));
        marks.push(text((3.0, y + 15.0), Align::Start, "mm; 100 \u{f7} that ="));
        let from = 3.0 + text_width("mm; 100 \u{f7} that = ", TEXT);
        let to = (from + 24.0).min(width - 4.0);
        marks.push(line(Pen::Narrow, &[(from, y + 15.6), (to, y + 15.6)]));
        y += 16.0;
    }
    let spec = "in the spec: [lathe] print_scale = [across, down]";
    for words in super::sheet::wrap(spec, TEXT, width - 6.0) {
        y += LEADING;
        marks.push(text((3.0, y + 2.0), Align::Start, words));
    }
    y += 5.0;
    marks.push(rectangle(None, Pen::Wide, [0.0, 0.0], [width, y]));
    Block {
        width,
        height: y,
        marks,
    }
}

/// How the tiles of one drawing lie, with their page numbers.
fn map(tiled: &pages::Tiled, width: f64) -> Block {
    let [across, down] = tiled.grid;
    let cell = [(width / across as f64).min(16.0), 8.0];
    let mut block = words(&format!("Join: {}", tiled.what), &[], width);
    let top = block.height;
    for j in 0..down {
        for i in 0..across {
            let at = [cell[0] * i as f64, top + cell[1] * j as f64];
            block.marks.push(rectangle(
                None,
                Pen::Narrow,
                at,
                [at[0] + cell[0], at[1] + cell[1]],
            ));
            // The first page is the map's own. Where nothing is drawn there is no page.
            let page = tiled.pages.get(j * across + i).copied().flatten();
            block.marks.push(text(
                (at[0] + 0.5 * cell[0], at[1] + 5.4),
                Align::Middle,
                page.map_or("\u{2013}".to_owned(), |page| (page + 2).to_string()),
            ));
        }
    }
    let says =
        "Lay crosses with the same letter on each other, against the light; glue.".to_owned();
    let mut under = words("", &[says], width);
    let y = top + cell[1] * down as f64 + 1.5;
    block
        .marks
        .extend(under.marks.drain(..).map(|m| pages::moved(m, [0.0, y])));
    block.height = y + under.height;
    block
}

/// One block above another.
fn stacked(above: Block, below: Block) -> Block {
    let y = above.height + 4.0;
    let mut marks = above.marks;
    marks.extend(below.marks.into_iter().map(|m| pages::moved(m, [0.0, y])));
    Block {
        width: above.width.max(below.width),
        height: y + below.height,
        marks,
    }
}

/// Blocks in one column, as a cutting machine takes them.
fn rows(blocks: Vec<Block>) -> Block {
    blocks.into_iter().reduce(stacked).unwrap_or_default()
}

/// A block as a sheet of its own.
fn alone(name: &str, what: &str, block: Block) -> Sheet {
    let (width, height) = (
        (block.width + 2.0 * MARGIN).ceil(),
        (block.height + 2.0 * MARGIN).ceil(),
    );
    Sheet {
        title: format!("{name}: {what}"),
        width,
        height,
        marks: block
            .marks
            .into_iter()
            .map(|m| pages::moved(m, [MARGIN, MARGIN]))
            .collect(),
    }
}

/// A rectangle between two corners.
fn rectangle(id: Option<&'static str>, pen: Pen, a: [f64; 2], b: [f64; 2]) -> Mark {
    let mut path = BezPath::new();
    path.move_to(Point::new(a[0], a[1]));
    path.line_to((b[0], a[1]));
    path.line_to((b[0], b[1]));
    path.line_to((a[0], b[1]));
    path.close_path();
    Mark::Line { id, path, pen }
}
