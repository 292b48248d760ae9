use proptest::prelude::*;

use super::*;
use crate::quantity::{Length, LengthUnit};

mod random;
mod slips;

fn toml(text: &str) -> Result<Design, Problems> {
    design(text, Format::Toml)
}

/// Paths and messages, for short assertions.
fn said(result: Result<Design, Problems>) -> Vec<String> {
    match result {
        Ok(_) => Vec::new(),
        Err(problems) => problems
            .0
            .iter()
            .map(|problem| format!("{}: {}", problem.path, problem.what))
            .collect(),
    }
}

const BODY: &str = "[body]\nlength = 60\noutline = [{ at = 30, height = 12 }]\n";

/// A spec whose every kind of value can be changed.
fn full() -> String {
    r#"
        name = "Leaf darter"
        [body]
        length = 60
        outline = [
          { at = 10, height = 12 },
          { at = 30, back = 8, belly = 7 },
          { at = 45, height = 12, step_to = 10 },
          { at = 60, height = 8 },
        ]
        width = [{ at = 10, width = 9 }, { at = 30, width = 12 }, { at = 45, width = 11, step_to = 9 }, { at = 60, width = 8 }]
        section = 2
        [collar]
        steps = [{ length = 3, diameter = 5 }, { length = 2, diameter = 7 }]
        [mould]
        wall = 12
        keys = { count = 4, diameter = 6, height = 4, clearance = 0.2 }
        sprue = { end = "nose", gate = 4, mouth = 16, depth = 12 }
        vents = { count = 2, width = 1.5, depth = 0.5 }
        [mesh]
        tolerance = 0.02
    "#
    .to_owned()
}

#[test]
fn a_dozen_mistakes_are_listed_at_once() {
    let text = r#"name = "Reed minnow"
unit = "mm"

[body]
lenght = 60
nose = "rond"
outline = [
  { at = 8, height = "1l mm" },
  { at = 30, height = 19, colour = "red" },
  { at = 30, height = -12 },
  { at = 25, back = 4 },
  { height = 5 },
]
width = "wide"
section = 9.5

[mould]
wall = 5 mm
keys = { count = 2.5, height = 4 }
sprue = { gate = nan }
vents = 3

[mesh]
tolerance = "2 in"
tolerance = 0.05
"#;
    insta::assert_snapshot!(toml(text).unwrap_err(), @r##"
    line 2, column 1: unit: there is no such key; accepted: name, units, scale, sizes, body, collar, eyes, slot, bore, pocket, fin, tail, legs, ribs, wire, hook, weight, skirt, water, mould, lathe, material, cast, mesh; hint: did you mean `units`?
    line 5, column 1: body.lenght: there is no such key; accepted: from, length, nose, tail, outline, width, section, camber, measured; hint: did you mean `length`?
    line 6, column 8: body.nose: this word is not known here; found "rond"; accepted: "round", "pointed", "flat"; hint: did you mean "round"?
    line 8, column 22: body.outline[0].height: `l mm` is not a unit of length; found "1l mm"; accepted: a number such as 60, or text such as "60 mm", "2.5 cm", "2.375 in" or "2 3/8 in"
    line 9, column 27: body.outline[1].colour: there is no such key; accepted: at, diameter, height, back, belly, corner, step_to
    line 10, column 10: body.outline[2].at: two stations at 30 mm; accepted: each station farther from the nose than the one before; hint: mark a jump with step_to
    line 10, column 23: body.outline[2].height: this must be more than zero; found -12; accepted: 0.5 mm to 300 mm
    line 11, column 3: body.outline[3]: this station gives `back` but no `belly`; accepted: either `height`, or `back` and `belly`; hint: add belly = …
    line 11, column 10: body.outline[3].at: stations must run from nose to tail; found 25 mm; accepted: more than 30 mm; hint: put the stations in order of `at`
    line 12, column 3: body.outline[4].at: `at` is missing
    line 14, column 9: body.width: text does not fit here; found "wide"; accepted: a share of the height such as 0.7, or a list such as [ { at = 30, width = 12 } ]
    line 15, column 11: body.section: this is too large; found 9.5; accepted: 1.5 to 6
    line 18, column 8: mould.wall: text needs quotes around it; hint: write "5 mm"
    line 18, column 8: mould.wall: the wall is thinner than the keys need; found 5 mm; accepted: at least 9.42 mm, for keys of 6 mm; hint: make the wall thicker or the keys smaller; left out, it fits the keys
    line 19, column 18: mould.keys.count: a count is needed here; found 2.5; accepted: a whole number such as 0 or 4, without quotes
    line 20, column 18: mould.sprue.gate: this is not a number that can be worked with; found nan; accepted: an ordinary number such as 60 or 2.5
    line 21, column 9: mould.vents: a table is needed here; found 3; accepted: a table: named values in { } or under a [heading]
    line 24, column 13: mesh.tolerance: this is too large; found 2 in; accepted: 0.001 mm to 1 mm
    line 25, column 1: `tolerance` is given twice; hint: keep one of them
    "##);
}

#[test]
fn one_mistake_is_reported_once() {
    let unit = format!("units = \"feet\"\n{}", BODY.replace("60", "2"));
    assert_eq!(said(toml(&unit)), ["units: this is not a unit of length"]);
    // Lengths with a unit of their own are judged all the same.
    let own = unit.replace("height = 12", "height = \"0 mm\"");
    assert_eq!(said(toml(&own)).len(), 2);
    // Station and end rules wait for the length.
    let length = BODY.replace("60", "\"long\"") + "nose = \"flat\"\ntail = \"flat\"\n";
    assert_eq!(
        said(toml(&length)),
        [
            "body.length: this is not a length",
            "body.nose: a flat nose needs a station on it"
        ]
    );
    let late = format!("{BODY}units = \"in\"");
    let problems = toml(&late).unwrap_err();
    assert_eq!(
        problems.0[0].hint.as_deref(),
        Some("it belongs at the top of the spec, outside every table")
    );
}

#[test]
fn a_bad_diameter_is_not_a_missing_height() {
    // `diameter` is the other name of `height`: it is there, and bad.
    for bad in ["\"about 7/16\"", "true", "[]", "\"\""] {
        let text = BODY.replace("height = 12", &format!("diameter = {bad}"));
        let problems = toml(&text).unwrap_err();
        assert_eq!(problems.0.len(), 1, "{problems}");
        assert_eq!(problems.0[0].path, "body.outline[0].diameter");
    }
}

#[test]
fn the_starter_reads_without_problems() {
    assert_eq!(said(toml(starter())), [] as [&str; 0]);
    let source = read(starter(), Format::Toml).unwrap();
    assert_eq!(source.design().unwrap().mould.wall, 9.5);
}

#[test]
fn defaults_are_those_of_the_docs() {
    let design = toml(BODY).unwrap();
    assert_eq!(design.name, "bait");
    assert_eq!(
        (design.body.nose, design.body.tail),
        (End::Round, End::Round)
    );
    assert_eq!(design.body.section[0].belly, 2.0);
    assert_eq!(design.tolerance, 0.05);
    let knot = Knot {
        at: 30.0,
        before: 6.0,
        after: 6.0,
        corner: false,
    };
    assert_eq!(design.body.back, [knot]);
    assert_eq!(design.body.belly, [knot]);
    assert_eq!(design.body.half_width, [knot]);
    assert_eq!(design.mould, MouldDesign::default());
}

#[test]
fn a_full_spec_becomes_numbers() {
    let design = toml(&full()).unwrap();
    assert_eq!(design.body.tail, End::Flat);
    assert_eq!(design.body.nose, End::Round);
    let step = design.body.back[2];
    assert_eq!((step.before, step.after, step.corner), (6.0, 5.0, true));
    assert_eq!(
        (design.body.back[1].before, design.body.belly[1].before),
        (8.0, 7.0)
    );
    assert_eq!(design.body.half_width[1].before, 6.0);
    assert_eq!(design.collar[1].radius, 3.5);
    assert_eq!(design.mould.gate_radius, Some(2.0));
    // Width as a share follows back and belly, and the step.
    let share = full().replace(
        "width = [{ at = 10, width = 9 }, { at = 30, width = 12 }, { at = 45, width = 11, step_to = 9 }, { at = 60, width = 8 }]",
        "width = 0.8",
    );
    let body = toml(&share).unwrap().body;
    assert!((body.half_width[1].before - 0.8 * 7.5).abs() < 1e-12);
    assert!((body.half_width[2].after - 4.0).abs() < 1e-12);
}

#[test]
fn inches_reach_the_end_exactly() {
    let text = "units = \"in\"\n[body]\nlength = \"3 3/5 in\"\noutline = [{ at = 1, height = \"1/2\" }, { at = \"91.44 mm\", height = 0.4 }]\n";
    let design = toml(text).unwrap();
    assert_eq!(design.body.tail, End::Flat);
    assert_eq!(design.body.back[1].at, design.body.length);
    assert!((design.body.back[0].before - 6.35).abs() < 1e-12);
}

/// Each limit from both sides: what is replaced in the full spec, values that pass, values
/// that are refused, and the path that is then named.
#[test]
fn limits_hold_from_both_sides() {
    type Case<'a> = (&'a str, &'a str, &'a [&'a str], &'a [&'a str], &'a str);
    let cases: &[Case<'_>] = &[
        (
            "section = 2",
            "section = #",
            &["1.5", "6"],
            &["1.49", "6.01", "0", "-2"],
            "body.section",
        ),
        (
            "height = 12 }",
            "height = # }",
            &["0.5", "60"],
            &["0.49", "60.1", "300.1", "0", "-1"],
            "body.outline[0].height",
        ),
        (
            "back = 8",
            "back = #",
            &["0.25", "53"],
            &["0.24", "150.1", "0"],
            "body.outline[1].back",
        ),
        (
            "belly = 7",
            "belly = #",
            &["0.25", "52"],
            &["0.24", "150.1", "0"],
            "body.outline[1].belly",
        ),
        (
            "at = 10, height",
            "at = #, height",
            &["0.5", "29.8"],
            &["0.49", "-1", "0.1", "60.1"],
            "body.outline[0].at",
        ),
        (
            "at = 30, back",
            "at = #, back",
            &["10.2", "44.8"],
            &["10.19", "10", "9", "70"],
            "body.outline[1].at",
        ),
        (
            "step_to = 10",
            "step_to = #",
            &["11.8", "0.5"],
            &["11.81", "12.19", "12", "0.4", "301"],
            "body.outline[2].step_to",
        ),
        (
            "width = 12",
            "width = #",
            &["0.5", "60"],
            &["0.49", "60.1", "300.1", "0"],
            "body.width[1].width",
        ),
        (
            "at = 30, width",
            "at = #, width",
            &["10.2", "44.8"],
            &["10.1", "10", "5"],
            "body.width[1].at",
        ),
        (
            "length = 3",
            "length = #",
            &["0.5", "100"],
            &["0.4", "101", "0"],
            "collar.steps[0].length",
        ),
        (
            "diameter = 7",
            "diameter = #",
            &["5.4", "4.6", "0.5", "300"],
            &["5.3", "4.7", "0.4", "301"],
            "collar.steps[1].diameter",
        ),
        (
            "diameter = 5",
            "diameter = #",
            &["7.6", "8.4", "0.5"],
            &["7.7", "8", "8.3"],
            "collar.steps[0].diameter",
        ),
        (
            "wall = 12",
            "wall = #",
            &["9.42", "100"],
            &["9.41", "101", "0", "2.9"],
            "mould.wall",
        ),
        (
            "count = 4",
            "count = #",
            &["4", "24", "0"],
            &["3", "25"],
            "mould.keys.count",
        ),
        (
            "diameter = 6",
            "diameter = #",
            &["4", "8"],
            &["2.9", "30.1"],
            "mould.keys.diameter",
        ),
        (
            "height = 4",
            "height = #",
            &["1", "6"],
            &["0.9", "6.1"],
            "mould.keys.height",
        ),
        (
            "clearance = 0.2",
            "clearance = #",
            &["0", "0.05", "1"],
            &["0.04", "1.01", "-0.1"],
            "mould.keys.clearance",
        ),
        (
            "gate = 4",
            "gate = #",
            &["1", "15.9"],
            &["0.9", "20.1"],
            "mould.sprue.gate",
        ),
        (
            "mouth = 16",
            "mouth = #",
            &["5", "60", "4.99999999999"],
            &["4.9", "60.1"],
            "mould.sprue.mouth",
        ),
        (
            "gate = 4, mouth = 16",
            "gate = 10, mouth = #",
            &["10.1"],
            &["10", "9"],
            "mould.sprue.mouth",
        ),
        (
            "depth = 12",
            "depth = #",
            &["2", "100"],
            &["1.9", "101"],
            "mould.sprue.depth",
        ),
        (
            "count = 2",
            "count = #",
            &["0", "8"],
            &["9"],
            "mould.vents.count",
        ),
        (
            "width = 1.5",
            "width = #",
            &["0.5", "5"],
            &["0.4", "5.1"],
            "mould.vents.width",
        ),
        (
            "depth = 0.5",
            "depth = #",
            &["0.1", "3"],
            &["0.09", "3.1"],
            "mould.vents.depth",
        ),
        (
            "tolerance = 0.02",
            "tolerance = #",
            &["0.001"],
            &["0.0009", "1.01", "0"],
            "mesh.tolerance",
        ),
        (
            "name = \"Leaf darter\"",
            "name = \"#\"",
            &["7", "Åse"],
            &["", " - ", "a\\nb", &"x".repeat(81)],
            "name",
        ),
    ];
    for (old, new, good, bad, path) in cases {
        assert_eq!(full().matches(old).count().min(1), 1, "{old}");
        let with = |value: &str| toml(&full().replacen(old, &new.replace('#', value), 1));
        for value in *good {
            assert_eq!(said(with(value)), [] as [&str; 0], "{old} -> {value}");
        }
        for value in *bad {
            let problems = with(value).unwrap_err();
            assert_eq!(problems.0.len(), 1, "{old} -> {value}: {problems}");
            assert_eq!(&problems.0[0].path, path, "{old} -> {value}: {problems}");
            assert!(problems.0[0].place.is_some());
        }
    }
}

#[test]
fn limits_that_hang_on_the_whole_body() {
    let body = |length: &str, rest: &str| {
        toml(&format!(
            "[body]\nlength = {length}\noutline = [{{ at = 2.5, height = 4 }}]\n{rest}"
        ))
    };
    assert!(body("5", "").is_ok());
    assert!(body("1000", "").is_ok());
    assert_eq!(said(body("4.9", "")), ["body.length: this is too small"]);
    assert_eq!(
        said(body("\"3 yd\"", ""))[0],
        "body.length: `yd` is not a unit of length"
    );
    assert_eq!(said(body("3000", "")), ["body.length: this is too large"]);
    for (length, good) in [("5", "0.125"), ("40", "10")] {
        assert_eq!(
            said(body(
                length,
                &format!("width = {good}\n[mesh]\ntolerance = 0.02")
            )),
            [] as [&str; 0]
        );
    }
    for bad in ["0.09", "10.1", "0", "0.12"] {
        let all = body("5", &format!("width = {bad}\n[mesh]\ntolerance = 0.01")).unwrap_err();
        assert_eq!(
            (all.0.len(), all.0[0].path.as_str()),
            (1, "body.width"),
            "{all}"
        );
    }
    let coarse = |tolerance: &str| body("5", &format!("[mesh]\ntolerance = {tolerance}"));
    assert!(coarse("0.2").is_ok());
    assert_eq!(
        said(coarse("0.21")),
        ["mesh.tolerance: the tolerance is too coarse for so thin a body"]
    );
    let seven = "{ length = 1, diameter = 3 }, { length = 1, diameter = 2 },".repeat(4);
    let many = full().replace("steps = [", &format!("steps = [{seven}"));
    assert_eq!(said(toml(&many)), ["collar.steps: this is too large"]);
    let none = full().replace(
        "steps = [{ length = 3, diameter = 5 }, { length = 2, diameter = 7 }]",
        "steps = []",
    );
    assert_eq!(
        said(toml(&none)),
        ["collar.steps: this must be more than zero"]
    );
}

#[test]
fn ends_and_stations_must_agree() {
    let with = |ends: &str, outline: &str| {
        said(toml(&format!(
            "[body]\nlength = 60\n{ends}\noutline = [{outline}]\n"
        )))
    };
    let mid = "{ at = 30, height = 9 }";
    let flat = "{ at = 0, height = 9 }, { at = 60, height = 9 }";
    assert!(with("nose = \"pointed\"\ntail = \"round\"", mid).is_empty());
    assert!(with("nose = \"flat\"\ntail = \"flat\"", flat).is_empty());
    assert!(with("", flat).is_empty());
    assert_eq!(
        with("nose = \"flat\"", mid),
        ["body.nose: a flat nose needs a station on it"]
    );
    assert_eq!(
        with("tail = \"flat\"", mid),
        ["body.tail: a flat tail needs a station on it"]
    );
    assert_eq!(
        with("nose = \"round\"", flat),
        ["body.nose: a round nose has no station on it"]
    );
    assert_eq!(
        with("tail = \"pointed\"", flat),
        ["body.tail: a pointed tail has no station on it"]
    );
    assert_eq!(with("", ""), ["body.outline: the outline has no stations"]);
    assert_eq!(
        with(
            "",
            "{ at = 0, height = 9, step_to = 7 }, { at = 60, height = 9 }"
        ),
        ["body.outline[0].step_to: a step cannot be on an end"]
    );
    let width = |width: &str| with(&format!("width = [{width}]"), flat);
    assert!(width("{ at = 0, width = 9 }, { at = 60, width = 9 }").is_empty());
    assert_eq!(
        width("{ at = 0, width = 9 }"),
        ["body.width: the tail is flat, but no width is given there"]
    );
    assert_eq!(width(""), ["body.width: the width has no stations"]);
    assert_eq!(
        with("width = [{ at = 0, width = 9 }]", mid),
        ["body.width[0].at: the nose is not flat, so it has no width"]
    );
}

#[test]
fn a_station_gives_its_height_once() {
    let with = |station: &str| {
        said(toml(&format!(
            "[body]\nlength = 60\noutline = [{{ at = 30, {station} }}]\n"
        )))
    };
    assert!(with("diameter = 9").is_empty());
    assert_eq!(
        with("corner = true"),
        ["body.outline[0]: this station has no height"]
    );
    assert_eq!(
        with("back = 3"),
        ["body.outline[0]: this station gives `back` but no `belly`"]
    );
    assert_eq!(
        with("belly = 3"),
        ["body.outline[0]: this station gives `belly` but no `back`"]
    );
    assert_eq!(
        with("height = 9, back = 3"),
        ["body.outline[0]: this station gives its height twice over"]
    );
    assert_eq!(
        with("height = 9, diameter = 9"),
        ["body.outline[0].diameter: `diameter` says again what `height` says"]
    );
    // The maker's own word is used.
    assert_eq!(
        with("diameter = -9"),
        ["body.outline[0].diameter: this must be more than zero"]
    );
    let doubled = "{ at = 30, height = 9 }, { at = \"3 cm\", height = 8 }";
    let problems = toml(&format!("[body]\nlength = 60\noutline = [{doubled}]")).unwrap_err();
    assert_eq!(problems.0[0].what, "two stations at 30 mm");
    assert_eq!(
        problems.0[0].hint.as_deref(),
        Some("mark a jump with step_to")
    );
}

#[test]
fn collar_and_sprue_rules() {
    let tail = full().replace("end = \"nose\"", "end = \"tail\"");
    assert_eq!(
        said(toml(&tail)),
        ["mould.sprue.end: the collar is in the way of this sprue"]
    );
    let round = full()
        .replace("{ at = 60, height = 8 },", "")
        .replace(", { at = 60, width = 8 }", "");
    assert_eq!(
        said(toml(&round)),
        ["collar: a collar needs a flat tail to stand on"]
    );
    // An elliptic face is compared with both half-axes.
    for (diameter, fits) in [("3.6", true), ("3.7", false), ("8.3", false), ("8.4", true)] {
        let text = full()
            .replace("{ at = 60, height = 8 }", "{ at = 60, height = 4 }")
            .replace("diameter = 5", &format!("diameter = {diameter}"));
        assert_eq!(toml(&text).is_ok(), fits, "{diameter}");
    }
    // A wall that is left out gives way to large keys; one that is written does not.
    let large = full().replace("diameter = 6, height = 4", "diameter = 9, height = 8");
    assert_eq!(
        said(toml(&large)),
        ["mould.wall: the wall is thinner than the keys need"]
    );
    let wall = toml(&large.replace("wall = 12\n", "\n"))
        .unwrap()
        .mould
        .wall;
    assert!(wall > 12.0 && wall < 13.0, "{wall}");
    let wide = full().replace("gate = 4, mouth = 16", "gate = 17");
    assert_eq!(
        said(toml(&wide)),
        ["mould.sprue.gate: the funnel must be wider than the gate"]
    );
}

#[test]
fn specs_built_in_rust_are_checked_alike() {
    let good = read(&full(), Format::Toml).unwrap().spec;
    assert!(Design::from_spec(&good).is_ok());
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0] {
        let mut spec = good.clone();
        spec.body.length = Some(Length::mm(bad));
        spec.body.section = SectionSpec::Same(bad);
        spec.body.outline[0].at = Length::bare(bad);
        spec.body.outline[1].back = Some(Length::cm(bad));
        spec.body.outline[2].step_to = Some(Length::inches(bad));
        spec.mould.wall = Some(Length::mm(bad));
        spec.mould.keys.clearance = Some(Length::mm(bad));
        spec.mesh.tolerance = Some(Length::mm(bad));
        let problems = Design::from_spec(&spec).unwrap_err();
        assert_eq!(problems.0.len(), 8, "{problems}");
        assert!(problems.0.iter().all(|problem| problem.place.is_none()));
        spec = good.clone();
        spec.body.width = Width::OfHeight(bad);
        let problems = Design::from_spec(&spec).unwrap_err();
        assert_eq!(problems.0[0].path, "body.width");
    }
}

#[test]
fn texts_that_are_no_spec() {
    assert_eq!(said(toml("")), [": the spec is empty"]);
    assert_eq!(
        said(design("\u{feff} \n", Format::Json)),
        [": the spec is empty"]
    );
    assert_eq!(
        said(design("3", Format::Json))[0],
        ": a table is needed here"
    );
    assert_eq!(
        said(toml(&"#".repeat(1 << 21))),
        [": this text is too long to be a spec"]
    );
    assert_eq!(
        said(toml("name = 3")),
        ["body: `body` is missing", "name: text is needed here"]
    );
    let inf = design(
        "{\"body\": {\"length\": 1e999, \"outline\": []}}",
        Format::Json,
    );
    assert_eq!(
        said(inf),
        [
            "body.length: this is not a number that can be worked with",
            "body.outline: the outline has no stations"
        ]
    );
    let twice = r#"{"body": {"length": 60, "length": 61, "outline": [{"at": 30, "height": 9}]}}"#;
    assert_eq!(
        said(design(twice, Format::Json)),
        ["body: `length` is given twice"]
    );
    for text in [
        "{\"body\": // note\n1}",
        "{\"a\": 1,}",
        "{a: 1}",
        "{\"a\": 'b'}",
        "[1 2]",
        "{",
    ] {
        let problems = said(design(text, Format::Json));
        assert_eq!(problems.len(), 1, "{text}");
        assert!(
            problems[0].starts_with(": this is not JSON"),
            "{problems:?}"
        );
    }
}

#[test]
fn slips_of_toml_get_a_hint() {
    for (line, hint) in [
        ("length = 60 mm", "write \"60 mm\""),
        ("length = 2 3/8 in", "write \"2 3/8 in\""),
        ("length = 60,5", "decimal comma: write 60.5"),
        ("length = 2 3/8\"", "write '2 3/8\"' or \"2 3/8 in\""),
    ] {
        let text = BODY.replace("length = 60", line);
        let problems = toml(&text).unwrap_err();
        assert_eq!(problems.0.len(), 1, "{problems}");
        assert_eq!(problems.0[0].hint.as_deref(), Some(hint));
        assert_eq!(problems.0[0].place.as_ref().unwrap().line, 2);
    }
}

#[test]
fn places_count_characters() {
    let text = "\u{feff}[body]\r\nlength = 60\r\noutline = [{ at = 30, height = 9 }]\r\nwidth = [ { at = 30, width = 5 } ] # ½\r\n'ßö' = { \"é\" = 3 }\r\n";
    let problems = toml(text).unwrap_err();
    let place = problems.0[0].place.clone().unwrap();
    assert_eq!((place.line, place.column), (5, 1));
    assert_eq!(&text[place.span], "'ßö'");
    let source_text = text.replace("'ßö' = { \"é\" = 3 }", "");
    let source = read(&source_text, Format::Toml).unwrap();
    assert_eq!(&source_text[source.place("body.width[0].width").span], "5");
    assert_eq!(
        &source_text[source.place("body.outline[0].belly").span],
        "{ at = 30, height = 9 }"
    );
}

#[test]
fn deep_and_long_texts_end_soon() {
    for text in [
        "[".repeat(1 << 19),
        format!("a = {}", "[".repeat(1 << 19)),
        format!("a = {}", "{a=".repeat(1 << 18)),
        format!("{} = 1", "a.".repeat(1 << 19)),
        format!("{}a = 1", "a.".repeat((1 << 19) - 10)),
        "{\"a\":".repeat(200_000),
        "nan,".repeat(1 << 18),
        format!("a = [{}]", "nan,".repeat(1 << 17)),
        "a = 1\n".repeat(1 << 17),
        "a: 1\n".repeat(1 << 17),
        "a = “1”\n".repeat(1 << 16),
        "a = \"1\n".repeat(1 << 17),
        "[{a=1 ".repeat(1 << 17),
        format!("x = [{}", "{a=1 b=2},".repeat(1 << 16)),
        (0..50_000)
            .map(|i| format!("length{i} = 1\nlength = 2\n"))
            .collect(),
        (0..50_000).map(|i| format!("k{i} = 1\n")).collect(),
        format!("{BODY}width = [{}]", "{at=1},".repeat(100_000)),
    ] {
        for format in [Format::Toml, Format::Json] {
            let problems = design(&text, format).unwrap_err();
            assert!((1..=66).contains(&problems.0.len()));
        }
    }
}

#[test]
fn json_and_toml_give_the_same_design() {
    let spec = read(&full(), Format::Toml).unwrap().spec;
    let json = serde_json::to_string_pretty(&spec).unwrap();
    assert_eq!(design(&json, Format::Json), toml(&full()));
}

#[test]
fn face_of_a_superellipse() {
    for (w, h, n) in [
        (4.0, 4.0, 2.0),
        (4.0, 2.0, 2.0),
        (4.0, 4.0, 1.5),
        (2.0, 5.0, 1.7),
        (4.0, 4.0, 6.0),
        (5.0, 3.0, 3.0),
        (40.0, 1.0, 2.01),
    ] {
        // The same by walking along the curve in small steps.
        let radii = (0..=20_000).map(|i| {
            let u = f64::from(i) / 20_000.0;
            let (y, z) = (libm::pow(u, 1.0 / n), libm::pow(1.0 - u, 1.0 / n));
            libm::hypot(w * y, h * z)
        });
        let (least, most) = radii.fold((f64::INFINITY, 0.0_f64), |(least, most), r| {
            (least.min(r), most.max(r))
        });
        let found = rules::face_radii(w, h, n);
        assert!(
            (found.0 - least).abs() < 1e-5,
            "{w} {h} {n}: {found:?} {least}"
        );
        assert!(
            (found.1 - most).abs() < 1e-5,
            "{w} {h} {n}: {found:?} {most}"
        );
    }
}

#[test]
fn the_schema_knows_both_names_of_a_height() {
    let schema = schema();
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    let station = &schema["$defs"]["Station"]["properties"];
    assert!(station["diameter"].is_object() && station["height"]["description"].is_string());
}

#[test]
fn width_steps_where_the_outline_steps() {
    let spec = |outline: &str, width: &str| {
        let text = format!(
            "[body]\nlength = 60\n\
             outline = [{{ at = 10, height = 12 }}, {{ at = 30, height = 12{outline} }}, {{ at = 50, height = 6 }}]\n\
             width = [{{ at = 10, width = 8 }}, {width} {{ at = 50, width = 4 }}]\n"
        );
        said(toml(&text))
    };
    let none: [&str; 0] = [];
    let step = ", step_to = 8";
    assert_eq!(
        spec(step, ""),
        ["body.outline[1].step_to: the height steps at 30 mm, but the width does not step with it"]
    );
    // The other way: the two rings would cross.
    assert_eq!(spec(step, "{ at = 30, width = 8, step_to = 10 },").len(), 2);
    assert_eq!(spec(step, "{ at = 30, width = 8, step_to = 6 },"), none);
    // Written in another unit, a rounding away, is the same place.
    assert_eq!(
        spec(step, "{ at = 30.0000005, width = 8, step_to = 6 },"),
        none
    );
    assert_eq!(
        spec(
            ", corner = true",
            "{ at = 30.00002, width = 8, corner = true },"
        ),
        ["body.width[1].at: this break is a hair away from one of the outline"]
    );
    assert_eq!(spec("", "{ at = 30.1, width = 8 },"), none);
}

#[test]
fn only_boxes_have_walls_of_sheet() {
    let spec = |route: &str| {
        let text = format!(
            "[body]\nlength = 60\noutline = [{{ at = 30, height = 12 }}]\nwidth = [{{ at = 30, width = 8 }}]\n\
             [mould]\nroute = \"{route}\"\nsheet.walls = true\n"
        );
        said(toml(&text))
    };
    let none: [&str; 0] = [];
    assert_eq!(spec("boxes"), none);
    for route in ["block", "board"] {
        assert_eq!(
            spec(route),
            ["mould.sheet.walls: only pour boxes have such walls"]
        );
    }
}
