//! Every page of every example and of random bodies: nothing overlaps or falls off, and what is
//! drawn is the body's own curve.

use kurbo::{BezPath, Line, ParamCurve, ParamCurveArclen, Rect, Shape};
use proptest::prelude::*;

use super::super::sheet::{MARGIN, Mark, Sheet};
use super::*;
use crate::body::Master;
use crate::rig::{Bed, sizes};
use crate::spec::{self, Format as TextFormat};

fn made(text: &str) -> (Design, Body, Paper) {
    let design = spec::design(text, TextFormat::Toml).unwrap();
    let scale = design.allowances.pattern_scale();
    let plain = Body::from_design(&design);
    let master = Master::build(&design, &plain).unwrap();
    let bed = Bed::of(&plain, &master).unwrap();
    let body = plain.scaled(scale);
    let sizes = sizes(&design.rig, &bed);
    let mesh = master.mesh.scaled(scale);
    let paper = paper(&design, &body, scale, &mesh, &sizes);
    (design, body, paper)
}

fn crosses(path: &BezPath, area: Rect) -> bool {
    if path.bounding_box().intersect(area).is_zero_area()
        && !path.bounding_box().inflate(1e-6, 1e-6).overlaps(area)
    {
        return false;
    }
    let sides = [
        (area.x0, area.y0, area.x1, area.y0),
        (area.x1, area.y0, area.x1, area.y1),
        (area.x1, area.y1, area.x0, area.y1),
        (area.x0, area.y1, area.x0, area.y0),
    ];
    path.segments().any(|s| {
        area.contains(s.start())
            || sides
                .iter()
                .any(|&(a, b, c, d)| !s.intersect_line(Line::new((a, b), (c, d))).is_empty())
    })
}

/// What overlaps, or is off the page's border; empty if all is well.
fn faults(sheet: &Sheet, margin: f64) -> Vec<String> {
    let within =
        Rect::new(margin, margin, sheet.width - margin, sheet.height - margin).inflate(0.6, 0.6);
    let areas: Vec<(Rect, &Mark)> = sheet
        .marks
        .iter()
        .filter_map(|m| m.lettering().map(|r| (r, m)))
        .collect();
    let mut faults = Vec::new();
    let words = |m: &Mark| match m {
        Mark::Text { text, .. } => text.clone(),
        Mark::Line { path, .. } => format!("line at {:?}", path.bounding_box()),
    };
    for (i, (a, mark)) in areas.iter().enumerate() {
        if !within.contains_rect(*a) {
            faults.push(format!("{}: off the page: {}", sheet.title, words(mark)));
        }
        for (b, other) in &areas[..i] {
            if a.intersect(*b).area() > 1e-6 {
                let (a, b) = (words(mark), words(other));
                faults.push(format!("{}: {a} on {b}", sheet.title));
            }
        }
    }
    for m in &sheet.marks {
        let Mark::Line { path, .. } = m else { continue };
        let reach = path.bounding_box();
        if !within.contains(reach.origin()) || !within.contains(Point::new(reach.x1, reach.y1)) {
            faults.push(format!("{}: off the page: {}", sheet.title, words(m)));
        }
        for (area, mark) in &areas {
            if crosses(path, *area) {
                faults.push(format!(
                    "{}: {} through {}",
                    sheet.title,
                    words(m),
                    words(mark)
                ));
            }
        }
    }
    faults
}

fn check(paper: &Paper, margin: f64) {
    let mut all: Vec<String> = paper.pages.iter().flat_map(|p| faults(p, margin)).collect();
    let alone = [&paper.gauges, &paper.patterns, &paper.wire, &paper.sink];
    all.extend(alone.into_iter().flatten().flat_map(|s| faults(s, MARGIN)));
    assert!(
        all.is_empty(),
        "{} faults:\n{}",
        all.len(),
        all[..all.len().min(12)].join("\n")
    );
}

#[test]
fn nothing_overlaps_on_any_page_of_any_example() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        if text.contains("from =") {
            continue;
        }
        for lathe in [
            "",
            "\n[lathe]\npaper = \"a3\"\n",
            "\n[lathe]\nroll = \"600 mm\"\nkerf = \"0.3 mm\"\n",
        ] {
            let (design, _, paper) = made(&format!("{text}{lathe}"));
            check(&paper, MARGIN);
            assert_eq!(paper.wire.is_some(), design.rig.wire.is_some());
            assert_eq!(paper.sink.is_some(), !design.rig.weights.is_empty());
            seen += 1;
        }
    }
    assert!(seen > 8);
}

#[test]
fn long_bodies_are_cut_into_tiles_that_hold_all_of_it() {
    let text =
        "body.length = 520\nbody.outline = [{ at = 90, height = 60 }, { at = 400, height = 25 }]";
    let (_, body, paper) = made(text);
    check(&paper, MARGIN);
    // ISO 216.
    assert!(
        paper
            .pages
            .iter()
            .all(|p| (p.width, p.height) == (297.0, 210.0))
    );
    // The drawing is as large as it can be: ISO 5455 has nothing between 1:2 and 1:5.
    let scale = paper.drawing.marks.iter().find_map(|m| match m {
        Mark::Text { text, .. } if text.starts_with("SCALE") => Some(text.as_str()),
        _ => None,
    });
    assert!(scale.unwrap().starts_with("SCALE 1:5,"), "{scale:?}");
    let joined = paper
        .pages
        .iter()
        .flat_map(|p| &p.marks)
        .any(|m| matches!(m, Mark::Text { text, .. } if text.starts_with("Join")));
    assert!(joined, "no map of pages");
    // Tiles overlap: together they hold more than the profile's length, and none of it is lost.
    let length: f64 = paper
        .pages
        .iter()
        .flat_map(|p| &p.marks)
        .filter_map(|m| match m {
            Mark::Line {
                id: Some("profile"),
                path,
                ..
            } => Some(path),
            _ => None,
        })
        .flat_map(|path| path.segments())
        .map(|s| s.arclen(1e-3))
        .sum();
    let whole: f64 = body.back.to_path().segments().map(|s| s.arclen(1e-3)).sum();
    assert!(
        length > 2.0 * whole && length < 3.0 * whole,
        "{length} {whole}"
    );
}

#[test]
fn the_print_scale_stretches_the_drawing_and_not_the_page() {
    let text = "body.length = 90\nbody.outline = [{ at = 30, height = 19 }]\n\
                [lathe]\nprint_scale = [1.02, 0.97]\npaper = \"letter\"";
    let (_, _, paper) = made(text);
    check(&paper, MARGIN * 0.97);
    for page in &paper.pages {
        // ASME Y14.1 size A.
        assert_eq!((page.width, page.height), (279.4, 215.9));
        for (id, wanted) in [
            ("check-100mm-x", [102.0, 0.0]),
            ("check-100mm-y", [0.0, 97.0]),
        ] {
            let bar = page.marks.iter().find_map(|m| match m {
                Mark::Line {
                    id: Some(i), path, ..
                } if *i == id => Some(path.bounding_box()),
                _ => None,
            });
            let bar = bar.unwrap();
            assert!(
                (bar.width() - wanted[0]).abs() < 1e-9 && (bar.height() - wanted[1]).abs() < 1e-9
            );
        }
    }
}

#[test]
fn gauges_of_the_page_are_the_bodys_curve() {
    let text =
        "body.length = 90\nbody.outline = [{ at = 22, height = 13 }, { at = 60, height = 8 }]";
    let (_, body, paper) = made(text);
    let mut seen = 0;
    for (wanted, both) in [("gauge-cut", false), ("profile", true)] {
        let path = paper
            .pages
            .iter()
            .flat_map(|p| &p.marks)
            .find_map(|m| match m {
                Mark::Line {
                    id: Some(i), path, ..
                } if *i == wanted => Some(path.clone()),
                _ => None,
            });
        let path = path.unwrap();
        let area = path.bounding_box();
        let (axis, nose) = if both {
            (0.5 * (area.y0 + area.y1), area.x0)
        } else {
            (area.y1, 0.5 * (area.x0 + area.x1) - 45.0)
        };
        for p in path
            .segments()
            .flat_map(|s| (1..20).map(move |i| s.eval(f64::from(i) / 20.0)))
        {
            let (x, r) = (p.x - nose, (p.y - axis).abs());
            // Edges of the card are not the profile's.
            if !(0.5..=89.5).contains(&x) || r < 0.05 || (!both && p.y < area.y0 + 1.0) {
                continue;
            }
            assert!((body.back.height(x) - r).abs() < 0.02, "{wanted} at {x}");
            seen += 1;
        }
    }
    assert!(seen > 100);
}

#[test]
fn a_strip_is_as_long_as_the_girth() {
    let text = "body.length = 90\nbody.width = 0.6\nbody.outline = [{ at = 30, height = 20 }]\n\
                eyes = [{ at = 30, angle = 60, diameter = 3, depth = 1 }]";
    let (_, _, paper) = made(text);
    let girth = paper
        .pages
        .iter()
        .flat_map(|p| &p.marks)
        .find_map(|m| match m {
            Mark::Line {
                id: Some("girth"),
                path,
                ..
            } => Some(path.bounding_box().width()),
            _ => None,
        });
    // Half-axes 10 and 6: Ramanujan's second approximation is exact to 1e-8 here
    // (Ramanujan 1914): h = 1/16, π (a + b)(1 + 3h / (10 + √(4 − 3h))).
    let h = 1.0 / 16.0_f64;
    let exact = std::f64::consts::PI * 16.0 * (1.0 + 3.0 * h / (10.0 + (4.0 - 3.0 * h).sqrt()));
    assert!((girth.unwrap() - exact).abs() < 1e-5);
}

/// The line with this name.
fn named(sheet: &Sheet, wanted: &str) -> Vec<BezPath> {
    let lines = sheet.marks.iter().filter_map(|m| match m {
        Mark::Line {
            id: Some(id), path, ..
        } if *id == wanted => Some(path.clone()),
        _ => None,
    });
    lines.collect()
}

const RIGGED: &str = "body.length = 90\nbody.width = 0.6\nbody.outline = [{ at = 30, height = 20 }]\n\
    wire = { diameter = 0.8, eye = 3, tail_eye = 2, twists = 4 }\n\
    hook = { at = 97, wire = 1, shank = 20, gap = 9 }\n\
    weight = [{ mass = \"3 g\", at = 30, height = -3 }]\n";

#[test]
fn wire_and_hook_are_drawn_as_long_as_they_are_cut() {
    let (_, _, paper) = made(RIGGED);
    check(&paper, MARGIN);
    let sheet = paper.wire.unwrap();
    let cuts = named(&sheet, "wire-cut");
    // Straight run, loops on their mean diameter (EN 13906-1, from memory), turns as helices.
    let turn = |n: f64| n * (libm::hypot(std::f64::consts::PI * 1.6, 0.8) + 0.8);
    let eyes = std::f64::consts::PI * (3.8 + 2.8);
    let wire = 90.0 + 2.0 * turn(4.0) + eyes;
    assert!((cuts[0].bounding_box().width() - wire).abs() < 1e-9);
    // An eye of two wires inside, the shank, half a turn of the bend, and as far back as the gap.
    let pi = std::f64::consts::PI;
    let hook = pi * 3.0 + 20.0 + pi * 5.0 + (9.0 - 5.0);
    assert!((cuts[1].bounding_box().width() - hook).abs() < 1e-9);
    // Bent, the wire reaches from eye to eye: run, wraps, and both eyes with their wire.
    let bent = named(&sheet, "wire-bent");
    let long = 90.0 + 2.0 * 4.0 * 0.8 + 3.0 + 2.0 + 2.0 * 0.8 + 2.0 * 0.4;
    assert!((bent[0].bounding_box().width() - long).abs() < 1e-6);
    // The mean of both edges of all pieces of the hook is its length: ends are square.
    let lines: f64 = bent[1].segments().map(|s| s.arclen(1e-6)).sum();
    let ends = 2.0 * 2.0 * 1.0;
    assert!((0.5 * (lines - ends) - hook).abs() < 1e-3);
    // The master's size does not matter to it.
    let (_, _, larger) = made(&format!("{RIGGED}material.shrinkage.plastic = 2\n"));
    assert_eq!(
        named(&larger.wire.unwrap(), "wire-cut")[0]
            .bounding_box()
            .width(),
        cuts[0].bounding_box().width()
    );
}

#[test]
fn the_kerf_lies_outside_of_fins_and_inside_of_templates() {
    let text = |kerf: &str| {
        format!(
            "{RIGGED}fin = [{{ at = 30, root = 20, thickness = 1, outline = [{{ at = 8, height = 7 }}, {{ at = 20, height = 4 }}] }}]\n\
             lathe.kerf = {kerf}\n"
        )
    };
    let [plain, cut] = ["0", "0.4"].map(|kerf| made(&text(kerf)).2);
    check(&cut, MARGIN);
    // The drawing has sections of its own.
    let shape = |paper: &Paper, id: &str| {
        paper
            .pages
            .iter()
            .filter(|p| !p.title.contains("drawing"))
            .flat_map(|p| named(p, id))
            .next()
            .unwrap()
    };
    for (id, out) in [("pattern", 0.2), ("section", -0.2)] {
        let (a, b) = (shape(&plain, id), shape(&cut, id));
        let around: f64 = a.segments().map(|s| s.arclen(1e-4)).sum();
        // Steiner's formula, but for the corners.
        let grown = b.area().abs() - a.area().abs();
        assert!(
            (grown - out * around).abs() < 4.0 * out * out,
            "{id}: {grown}"
        );
        let (a, b) = (a.bounding_box(), b.bounding_box());
        assert!((b.height() - a.height() - 2.0 * out).abs() < 0.01, "{id}");
    }
}

#[test]
fn tiles_with_nothing_on_them_get_no_page() {
    let (design, ..) = made(RIGGED);
    let mut pages = Pages::new(Format::of(&design.lathe));
    pages.begin("long");
    // Two short lines at the ends of a metre of nothing.
    let marks = [0.0, 1000.0].map(|x| line(Pen::Cut, &[(x, 0.0), (x, 20.0)]));
    let block = Block {
        width: 1000.0,
        height: 20.0,
        marks: marks.to_vec(),
    };
    pages.put("a metre", block);
    assert_eq!(pages.tiled[0].grid, [4, 1]);
    assert_eq!(pages.tiled[0].pages, [Some(0), None, None, Some(1)]);
    assert_eq!(pages.finish("long").len(), 2);
}

#[test]
fn a_master_from_a_file_gets_templates_of_its_own_sections() {
    let (plain, body, _) =
        made("body.length = 90\nbody.width = 0.6\nbody.outline = [{ at = 30, height = 20 }]");
    let mesh = body.mesh(0.005).unwrap();
    let text = "body.from = \"scan.stl\"\nlathe.kerf = 0.2\nmould.parting = \"flank\"\n\
                wire = { diameter = 0.8, twists = 3 }\nmaterial.shrinkage.plastic = 1";
    let spec = spec::read(text, TextFormat::Toml).unwrap().spec;
    let read = crate::import::Imported::from_mesh(&spec, mesh).unwrap();
    let design = Design::around(&spec, &read.envelope()).unwrap();
    let scale = design.allowances.pattern_scale();
    assert!(scale > 1.005);
    let scan = Body::imported(&design, read.mesh.clone());
    let master = Master::build(&design, &scan).unwrap();
    let scaled = scan.scaled(scale);
    let paper = paper(&design, &scaled, scale, &master.mesh.scaled(scale), &[]);
    check(&paper, MARGIN);
    assert!(paper.gauges.is_none() && paper.wire.is_some());
    let sections: Vec<BezPath> = paper
        .pages
        .iter()
        .flat_map(|p| named(p, "section"))
        .collect();
    assert_eq!(sections.len(), 9);
    assert_eq!(plain.units, design.units);
    for (i, path) in (1..).zip(&sections) {
        // The outline that the mesh was made of, larger for the plastic, less the cut.
        let at = 9.0 * f64::from(i);
        let (w, h) = (
            body.half_width.height(at),
            body.back.height(at) + body.belly.height(at),
        );
        let area = path.bounding_box();
        assert!(
            (area.width() - (2.0 * scale * w - 0.2)).abs() < 0.03,
            "{at}: {area:?}"
        );
        assert!(
            (area.height() - (scale * h - 0.2)).abs() < 0.03,
            "{at}: {area:?}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn nothing_overlaps_whatever_the_body(
        gaps in proptest::collection::vec((1.0..40.0_f64, 1.0..40.0_f64), 1..14),
        last in 1.0..40.0_f64,
        width in prop_oneof![Just(1.0), 0.3..2.0_f64],
        eyes in 0..3_usize,
        (inches, flat, finned, wired) in any::<(bool, bool, bool, bool)>(),
        paper in prop::sample::select(vec!["a4", "a3", "letter", "roll"]),
    ) {
        let mut at = 0.0;
        let mut outline = Vec::new();
        for (gap, height) in gaps {
            at += gap;
            outline.push(format!("{{ at = {at}, height = \"{height} mm\" }}"));
        }
        let length = at + last;
        let mut more = String::new();
        if flat {
            outline.push(format!("{{ at = {length}, height = \"9 mm\" }}"));
            more += "[collar]\nsteps = [{ length = \"3 mm\", diameter = \"4 mm\" }, \
                     { length = \"3 mm\", diameter = \"7 mm\" }]\n";
        }
        if finned {
            let root = 0.2 * length;
            more += &format!(
                "[[fin]]\nat = \"{} mm\"\nangle = 90\nroot = \"{root} mm\"\nthickness = \"1 mm\"\n\
                 outline = [{{ at = \"{} mm\", height = \"{} mm\" }}]\n",
                0.4 * length, 0.5 * root, 0.4 * root,
            );
        }
        if wired {
            more += "[wire]\ndiameter = \"1 mm\"\ntwists = 5\ntail_eye = \"20 mm\"\n\
                     [hook]\nat = \"50 mm\"\nwire = \"1 mm\"\nshank = \"30 mm\"\ngap = \"15 mm\"\n";
        }
        let eyes: Vec<String> = (0..eyes)
            .map(|i| format!(
                "{{ at = \"{} mm\", angle = {}, diameter = \"1 mm\", depth = \"0.3 mm\" }}",
                length * (0.3 + 0.2 * i as f64),
                60 + 20 * i,
            ))
            .collect();
        let outline = outline.join(", ").replace("at = ", "at = \"").replace(", height", " mm\", height");
        let text = format!(
            "units = \"{}\"\neyes = [{}]\nbody.length = \"{length} mm\"\nbody.width = {width}\n\
             body.outline = [{outline}]\nlathe.paper = \"{paper}\"\n{more}",
            if inches { "in" } else { "mm" },
            eyes.join(", "),
        );
        // Not every random body is a bait.
        let Ok(design) = spec::design(&text, TextFormat::Toml) else { return Ok(()) };
        let body = Body::from_design(&design);
        let Ok(master) = Master::build(&design, &body) else { return Ok(()) };
        check(&super::paper(&design, &body, 1.0, &master.mesh, &[]), MARGIN);
    }
}

fn lettering(sheet: &Sheet) -> Vec<&str> {
    let words = |mark: &'_ Mark| matches!(mark, Mark::Text { .. });
    let texts = sheet.marks.iter().filter(|m| words(m));
    texts
        .filter_map(|m| match m {
            Mark::Text { text, .. } => Some(text.as_str()),
            Mark::Line { .. } => None,
        })
        .collect()
}

#[test]
fn sizes_on_the_drawing_are_the_bodys_whatever_the_mesh() {
    for tolerance in [0.02, 0.4] {
        let text = format!(
            "[body]\nlength = 60\noutline = [{{ at = 20, diameter = 13 }}]\n\
             [mesh]\ntolerance = {tolerance}"
        );
        let (.., paper) = made(&text);
        let words = lettering(&paper.drawing);
        for wanted in ["\u{d8} 13.00", "60.00", "master, as large as the bait"] {
            assert!(words.contains(&wanted), "{tolerance}: {words:?}");
        }
    }
}

#[test]
fn a_master_that_is_larger_is_said_to_be() {
    let (.., paper) = made(
        "[body]\nlength = 60\noutline = [{ at = 20, diameter = 13 }]\n\
         [material]\nshrinkage = { plastic = 2 }",
    );
    let words = lettering(&paper.drawing);
    // 1 / 0.98, to two decimals.
    let says = "master, 2.04 % larger than the bait";
    assert!(words.contains(&says), "{words:?}");
    let first = lettering(&paper.pages[0]).join(" ");
    assert!(
        first.contains("2.04 % larger") && first.contains("60 mm long"),
        "{first}"
    );
}

#[test]
fn a_notch_at_a_tapering_end_lets_a_correct_master_pass() {
    // A cone frustum's end: 4 at the face and 4.5 a card's half of 1.5 mm further in.
    let text = "[body]\nlength = 62\ntail = \"flat\"\noutline = [{ at = 10, diameter = 12 }, \
                { at = 50, diameter = 8, corner = true }, { at = 62, diameter = 4 }]";
    let design = spec::design(text, TextFormat::Toml).unwrap();
    let gauge = Gauge::of(&Body::from_design(&design)).unwrap();
    let blocks = gauges::notches(&gauge, 0.0, 3.0, 0.0, LengthUnit::Mm);
    let mut ends = blocks
        .iter()
        .flat_map(|b| &b.marks)
        .filter_map(|m| match m {
            Mark::Text { text, .. } => text.strip_prefix("go ")?.strip_suffix(" mm")?.parse().ok(),
            Mark::Line { .. } => None,
        });
    let go: f64 = ends.by_ref().last().unwrap();
    let under = 2.0 * gauge.greatest_within(60.5, 62.0);
    assert!(under > 4.3, "{under}");
    // Within the rounding of what is shown.
    assert!(go >= under - 0.006, "{go} for {under}");
}

#[test]
fn the_chart_is_whole_on_one_page_of_letter() {
    let text = "[body]\nlength = 75\noutline = [{ at = 26, diameter = 15 }]\n\
                [[weight]]\nmass = 0.8\nat = 30\nheight = -2\n[lathe]\npaper = \"letter\"";
    let (.., paper) = made(text);
    let pages = paper.pages.iter().filter(|p| p.title.contains(": sinking"));
    assert_eq!(pages.count(), 1);
}
