//! The command as a maker meets it, and what bad input gets.
// Helpers here are tests too: a panic is how they fail.
#![allow(clippy::unwrap_used)]
#![cfg(feature = "command")]

mod common;

use std::fs;
use std::path::Path;

use baitwright::body::{Body, MOST_TRIANGLES};
use baitwright::curve::Outline;
use baitwright::kit::{Kit, KitError};
use baitwright::spec::{self, End, Format, Problem};
use common::run;
use proptest::prelude::*;
use tempfile::TempDir;

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

const EXAMPLES: [&str; 3] = [
    include_str!("../examples/leaf-darter.toml"),
    include_str!("../examples/reed-minnow.toml"),
    include_str!("../examples/ribbed-grub.toml"),
];

const SMALL: &str = "
name = \"Test bait\"
[body]
length = 60
outline = [{ at = 20, height = 12 }, { at = 45, height = 7 }]
[mesh]
tolerance = 0.3
";

#[test]
fn make_writes_the_kit_beside_and_says_what_is_in_it() {
    let temp = TempDir::new().unwrap();
    fs::write(temp.path().join("small.toml"), SMALL).unwrap();
    let ran = run(temp.path(), &["make", "small.toml"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""), "{}", ran.out);
    assert_eq!(names(temp.path()), ["small", "small.toml"]);
    let files = names(&temp.path().join("small"));
    assert!(files.contains(&"kit.json".to_owned()));
    for file in &files {
        assert!(ran.out.contains(file.as_str()), "{file} is not told of");
    }
    for told in [
        "Test bait",
        "60 mm",
        "12 mm",
        "ml of plastic",
        "4 keys",
        "triangles",
    ] {
        assert!(ran.out.contains(told), "no {told} in {}", ran.out);
    }
    assert!(!ran.out.contains('\u{1b}'), "colours in a pipe");
    // Again, into the same folder and into another.
    assert_eq!(run(temp.path(), &["make", "small.toml"]).code, Some(0));
    let ran = run(temp.path(), &["make", "small.toml", "--out", "a/b"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert_eq!(names(&temp.path().join("a")), ["b"]);
    for file in files {
        let read = |kit: &str| fs::read(temp.path().join(kit).join(&file)).unwrap();
        assert!(read("small") == read("a/b"), "{file}");
    }
}

#[test]
fn make_writes_over_no_folder_that_is_not_a_kit() {
    let temp = TempDir::new().unwrap();
    fs::write(temp.path().join("small.toml"), SMALL).unwrap();
    fs::create_dir(temp.path().join("small")).unwrap();
    fs::write(temp.path().join("small").join("letter"), "dear friend").unwrap();
    let ran = run(temp.path(), &["make", "small.toml"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.err.contains("--out"), "{}", ran.err);
    assert_eq!(names(&temp.path().join("small")), ["letter"]);
}

#[test]
fn json_is_read_by_its_name() {
    let temp = TempDir::new().unwrap();
    let spec = spec::read(SMALL, Format::Toml).unwrap().spec;
    let text = serde_json::to_string(&spec).unwrap();
    for name in ["one.json", "two.JSON"] {
        fs::write(temp.path().join(name), &text).unwrap();
        let ran = run(temp.path(), &["make", name, "--out", "kit"]);
        assert_eq!(ran.code, Some(0), "{}", ran.err);
    }
    fs::write(
        temp.path().join("bad.json"),
        "{\n \"body\": { \"length\": 60,\n }\n}",
    )
    .unwrap();
    let ran = run(temp.path(), &["make", "bad.json"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.err.contains("bad.json:"), "{}", ran.err);
    assert_eq!(
        names(temp.path()),
        ["bad.json", "kit", "one.json", "two.JSON"]
    );
}

#[test]
fn check_tells_and_writes_nothing() {
    let temp = TempDir::new().unwrap();
    fs::write(temp.path().join("small.toml"), SMALL).unwrap();
    let ran = run(temp.path(), &["check", "small.toml"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(ran.out.contains("nothing was written"), "{}", ran.out);
    assert!(ran.out.contains("Test bait"));
    fs::write(temp.path().join("small.toml"), SMALL.replace("12", "-12")).unwrap();
    let ran = run(temp.path(), &["check", "small.toml"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""));
    assert!(ran.err.contains("small.toml:5:32"), "{}", ran.err);
    assert_eq!(names(temp.path()), ["small.toml"]);
}

#[test]
fn new_writes_a_spec_that_makes_a_kit_and_never_over_another() {
    let temp = TempDir::new().unwrap();
    let ran = run(temp.path(), &["new", "first.toml"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(
        ran.out.contains("baitwright make first.toml"),
        "{}",
        ran.out
    );
    let ran = run(temp.path(), &["make", "first.toml"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert_eq!(names(temp.path()), ["first", "first.toml"]);

    fs::write(temp.path().join("first.toml"), "mine").unwrap();
    let ran = run(temp.path(), &["new", "first.toml"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.err.contains("first.toml"), "{}", ran.err);
    let kept = fs::read_to_string(temp.path().join("first.toml")).unwrap();
    assert_eq!(kept, "mine");
    assert_eq!(run(temp.path(), &["new"]).code, Some(0));
    assert!(temp.path().join("bait.toml").exists());
    assert_eq!(
        run(temp.path(), &["new", "no/such/folder.toml"]).code,
        Some(1)
    );
}

#[test]
fn schema_is_json_and_names_what_specs_hold() {
    let temp = TempDir::new().unwrap();
    let ran = run(temp.path(), &["schema"]);
    assert_eq!(ran.code, Some(0));
    let schema: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    for field in ["name", "units", "body", "collar", "mould", "mesh"] {
        assert!(schema["properties"].get(field).is_some(), "{field}");
    }
    assert!(
        schema["required"]
            .as_array()
            .unwrap()
            .contains(&"body".into())
    );
}

#[test]
fn what_cannot_be_read_is_named() {
    let temp = TempDir::new().unwrap();
    fs::write(temp.path().join("latin.toml"), b"name = \"R\xf6hricht\"\n").unwrap();
    for (arguments, told) in [
        (["make", "gone.toml"], "gone.toml"),
        (["check", "gone.toml"], "gone.toml"),
        (["make", "latin.toml"], "UTF-8: byte 9"),
        // A folder is no spec.
        (["check", "."], "cannot read"),
    ] {
        let ran = run(temp.path(), &arguments);
        assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""), "{arguments:?}");
        assert!(ran.err.contains(told), "{arguments:?}: {}", ran.err);
    }
    // Wrong use of the command itself is told apart from a bad spec.
    assert_eq!(run(temp.path(), &["mkae", "x"]).code, Some(2));
    assert_eq!(run(temp.path(), &[]).code, Some(2));
    assert_eq!(names(temp.path()), ["latin.toml"]);
}

#[test]
fn every_mistake_is_shown_at_once_with_line_column_and_hint() {
    let temp = TempDir::new().unwrap();
    let text = "\
[body]
length = 90
outline = [
  { at = 30, hieght = 19 },
  { at = 60, height = -3 },
]
section = 9
[mold]
parting = \"waist\"
";
    fs::write(temp.path().join("bad.toml"), text).unwrap();
    let ran = run(temp.path(), &["make", "bad.toml"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""));
    for told in [
        "bad.toml:4:14",
        "body.outline[0]",
        "height",
        "bad.toml:5:23",
        "body.outline[1].height",
        "0.5 mm to 300 mm",
        "bad.toml:7:11",
        "body.section",
        "1.5 to 6",
        "bad.toml:8:2",
        "`mould`",
        "4 problems; nothing was written",
    ] {
        assert!(ran.err.contains(told), "no {told} in:\n{}", ran.err);
    }
    assert!(ran.err.matches("hint").count() >= 2, "{}", ran.err);
    assert_eq!(names(temp.path()), ["bad.toml"]);
}

/// What the library says of a text, by the way the command goes: all readable mistakes and
/// broken rules first, then what does not fit.
fn problems(text: &str) -> Vec<Problem> {
    if let Err(problems) = spec::design(text, Format::Toml) {
        return problems.0;
    }
    let spec = spec::read(text, Format::Toml).unwrap().spec;
    match Kit::build(&spec) {
        Ok(_) => Vec::new(),
        Err(KitError::Spec(problems)) => problems.0,
        Err(other) => panic!("{other}"),
    }
}

/// A bad spec, and for each of its problems the field path and what the message must hold.
type Bad<'a> = (&'a str, String, &'a [(&'a str, &'a str)]);

#[test]
fn bad_input_is_refused_with_field_and_limit_and_nothing_is_written() {
    let body = |lines: &str| format!("[body]\n{lines}\n");
    let station = |fields: &str| body(&format!("length = 90\noutline = [{fields}]"));
    let with = |rest: &str| station("{ at = 30, height = 12 }") + rest;
    let cases: Vec<Bad<'_>> = vec![
        ("empty file", String::new(), &[("", "body")]),
        ("only a comment", "# nothing\n".into(), &[("body", "")]),
        (
            "wrong types",
            body("length = true\noutline = [{ at = \"x\", height = [] }]\nsection = \"round\""),
            &[
                ("body.length", "a number such as 60"),
                ("body.outline[0].at", "a number such as 60"),
                ("body.outline[0].height", "a number such as 60"),
                ("body.section", "\"round\""),
            ],
        ),
        ("a list for a table", "body = [1]\n".into(), &[("body", "")]),
        (
            "NaN and infinity",
            body("length = nan\noutline = [{ at = -inf, height = inf }]\nsection = nan"),
            &[
                ("body.length", "nan"),
                ("body.outline[0].at", "-inf"),
                ("body.outline[0].height", "inf"),
                ("body.section", "nan"),
            ],
        ),
        (
            "negative sizes",
            body("length = -90\noutline = [{ at = -3, height = -12 }]"),
            &[
                ("body.length", "5 mm to 1000 mm"),
                ("body.outline[0].at", "0 to the length"),
                ("body.outline[0].height", "0.5 mm to 300 mm"),
            ],
        ),
        (
            "absurd sizes",
            body("length = 1e300\noutline = [{ at = 1e200, height = 1e-200 }]"),
            &[
                ("body.length", "5 mm to 1000 mm"),
                ("body.outline[0].height", "0.5 mm to 300 mm"),
            ],
        ),
        (
            "stations out of order",
            station("{ at = 60, height = 12 }, { at = 30, height = 19 }"),
            &[("body.outline[1].at", "more than 60 mm")],
        ),
        (
            "stations doubled",
            station("{ at = 30, height = 12 }, { at = 30, height = 12 }"),
            &[("body.outline[1].at", "step_to")],
        ),
        (
            "a station beyond the tail",
            station("{ at = 91, height = 12 }"),
            &[("body.outline[0].at", "0 to 90 mm")],
        ),
        (
            "no stations",
            station(""),
            &[("body.outline", "one station")],
        ),
        (
            "a width of zero",
            with("width = 0\n"),
            &[("body.width", "0.1 to 10")],
        ),
        (
            "a width station of zero",
            with("width = [{ at = 30, width = 0 }]\n"),
            &[("body.width[0].width", "0.5 mm to 300 mm")],
        ),
        (
            "a wall thinner than the keys",
            with("[mould]\nwall = 5\n"),
            &[("mould.wall", "at least 9.42 mm")],
        ),
        (
            "keys too large for the wall",
            with("[mould]\nwall = 9.5\nkeys = { diameter = 10, height = 9 }\n"),
            &[("mould.wall", "at least 13.41 mm")],
        ),
        (
            "the same in inches",
            String::from("units = \"in\"\n")
                + &body("length = 3\noutline = [{ at = 1, height = 0.5 }]")
                + "[mould]\nwall = 0.2\n",
            &[("mould.wall", "at least 0.371 in")],
        ),
        (
            "a body of 3 m at 1 µm",
            body("length = 3000\noutline = [{ at = 900, height = 300 }]")
                + "[mesh]\ntolerance = \"0.001 mm\"\n",
            &[("body.length", "5 mm to 1000 mm")],
        ),
        (
            "the longest body at 1 µm",
            body("length = 1000\noutline = [{ at = 300, height = 300 }]")
                + "[mesh]\ntolerance = \"0.001 mm\"\n",
            &[("mesh.tolerance", "0.005 mm would do")],
        ),
    ];
    let temp = TempDir::new().unwrap();
    for (name, text, wanted) in cases {
        let found = problems(&text);
        let paths: Vec<&str> = found.iter().map(|p| p.path.as_str()).collect();
        let want: Vec<&str> = wanted.iter().map(|w| w.0).collect();
        assert_eq!(paths, want, "{name}: {found:#?}");
        for (problem, (_, told)) in found.iter().zip(wanted) {
            let said = problem.to_string();
            assert!(said.contains(told), "{name}: no {told} in {said}");
            assert!(said.chars().count() < 300, "{name}: {said}");
        }
        fs::write(temp.path().join("bad.toml"), &text).unwrap();
        let ran = run(temp.path(), &["make", "bad.toml"]);
        assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""), "{name}");
        for (path, told) in wanted {
            assert!(ran.err.contains(path), "{name}: {}", ran.err);
            assert!(ran.err.contains(told), "{name}: {}", ran.err);
        }
        assert!(!ran.err.contains("panicked"), "{name}: {}", ran.err);
        assert_eq!(names(temp.path()), ["bad.toml"], "{name}");
    }
}

#[test]
fn the_wall_that_is_proposed_is_accepted() {
    let spec = |units: &str, keys: &str, wall: &str| {
        format!(
            "units = \"{units}\"\n[body]\nlength = \"90 mm\"\n\
             outline = [{{ at = \"30 mm\", height = \"12 mm\" }}]\n\
             [mould]\nkeys = {keys}\nwall = {wall}\n[mesh]\ntolerance = \"0.3 mm\"\n"
        )
    };
    for units in ["mm", "cm", "in"] {
        for diameter in ["4 mm", "4.7 mm", "6 mm", "6.01 mm", "7.3 mm"] {
            let keys = format!("{{ diameter = \"{diameter}\" }}");
            let found = problems(&spec(units, &keys, "\"3 mm\""));
            assert_eq!(found.len(), 1, "{found:?}");
            // Such as `at least 0.371 in (9.42 mm), for keys of …`.
            let limit = found[0].limit.as_deref().unwrap();
            let number = limit.split(' ').nth(2).unwrap();
            assert_eq!(problems(&spec(units, &keys, number)), [], "{limit}");
        }
    }
    // Left out, it gives way to large keys.
    let large = spec("mm", "{ diameter = 10, height = 9 }", "9.5");
    assert!(!problems(&large).is_empty());
    assert_eq!(problems(&large.replace("wall = 9.5\n", "")), []);
}

#[test]
fn a_body_of_3_m_at_1_um_is_refused_before_it_is_made_and_the_number_works() {
    let radius = |x: f64| 0.1 * (x * (3000.0 - x)).sqrt();
    let outline = Outline::fit(3000.0, End::Round, End::Round, 1e-6, radius).unwrap();
    let body = Body::revolved(outline, End::Round, End::Round);
    let mut tolerance = 0.001;
    for _ in 0..4 {
        let fine = body.mesh(tolerance).unwrap_err();
        assert_eq!(fine.tolerance, tolerance);
        assert!(fine.triangles > MOST_TRIANGLES);
        assert!(fine.workable > tolerance);
        let mesh = body.mesh(fine.workable).unwrap();
        assert!(mesh.triangles.len() <= MOST_TRIANGLES);
        // Not far coarser than it had to be.
        assert!(
            mesh.triangles.len() > MOST_TRIANGLES / 20,
            "{}",
            fine.workable
        );
        tolerance *= 0.03;
    }
}

#[derive(Clone, Debug)]
enum Change {
    /// Put other text in place of the n-th number.
    Number(usize, &'static str),
    /// Scale the n-th number.
    Scale(usize, f64),
    /// Leave out, or double, the n-th line.
    Drop(usize),
    Double(usize),
    /// Put a word in place of the n-th word in quotation marks or after `=`.
    Byte(usize, u8),
    /// Add a line at the end.
    Add(&'static str),
}

fn numbers(text: &str) -> Vec<std::ops::Range<usize>> {
    let mut found: Vec<std::ops::Range<usize>> = Vec::new();
    for (i, c) in text.char_indices() {
        if c.is_ascii_digit() || c == '.' {
            match found.last_mut() {
                Some(last) if last.end == i => last.end = i + 1,
                _ => found.push(i..i + 1),
            }
        }
    }
    found
}

fn changed(mut text: String, change: &Change) -> String {
    match *change {
        Change::Number(n, by) => {
            let all = numbers(&text);
            if let Some(at) = all.get(n % all.len().max(1)) {
                text.replace_range(at.clone(), by);
            }
        }
        Change::Scale(n, by) => {
            let all = numbers(&text);
            if let Some(at) = all.get(n % all.len().max(1)) {
                let value: f64 = text[at.clone()].parse().unwrap_or(1.0);
                text.replace_range(at.clone(), &format!("{:.3}", value * by));
            }
        }
        Change::Drop(n) | Change::Double(n) => {
            let mut lines: Vec<&str> = text.lines().collect();
            if !lines.is_empty() {
                let n = n % lines.len();
                if matches!(change, Change::Drop(_)) {
                    lines.remove(n);
                } else {
                    lines.insert(n, lines[n]);
                }
            }
            text = lines.join("\n") + "\n";
        }
        Change::Byte(n, by) => {
            let n = n % text.len().max(1);
            if text.is_char_boundary(n) && text.is_char_boundary(n + 1) {
                text.replace_range(n..=n, &char::from(by).to_string());
            }
        }
        Change::Add(line) => text.push_str(line),
    }
    text
}

fn change() -> impl Strategy<Value = Change> {
    let number = prop::sample::select(vec![
        "0", "-1", "nan", "1e9", "0.001", "0.5", "3", "12", "60", "61.9", "1/3", "x",
    ]);
    let line = prop::sample::select(vec![
        "vents = { count = 0 }\n",
        "vents = { count = 8, width = 3 }\n",
        "keys = { count = 12 }\n",
        "keys = { clearance = 0 }\n",
        "sprue = { end = \"tail\" }\n",
        "sprue = { gate = 1 }\n",
        "[mesh]\ntolerance = \"0.02 mm\"\n",
        "[mesh]\ntolerance = \"0.001 mm\"\n",
    ]);
    // Scaling most often: it leaves specs that still make a kit.
    prop_oneof![
        1 => (any::<usize>(), number).prop_map(|(n, by)| Change::Number(n, by)),
        6 => (any::<usize>(), 0.5..2.0).prop_map(|(n, by)| Change::Scale(n, by)),
        1 => any::<usize>().prop_map(Change::Drop),
        1 => any::<usize>().prop_map(Change::Double),
        1 => (any::<usize>(), 32..127u8).prop_map(|(n, by)| Change::Byte(n, by)),
        3 => line.prop_map(Change::Add),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..Default::default() })]

    /// Whatever the text, there is a kit or there are problems; a kit's meshes are sound
    /// (`Kit::build` checks them, and says so if one is not).
    #[test]
    fn changed_examples_make_a_kit_or_are_refused(
        which in 0..EXAMPLES.len(),
        changes in prop::collection::vec(change(), 1..4),
    ) {
        let text = changes
            .iter()
            .fold(EXAMPLES[which].to_owned(), changed);
        match spec::design(&text, Format::Toml) {
            Err(problems) => prop_assert!(!problems.0.is_empty()),
            Ok(_) => {
                let spec = spec::read(&text, Format::Toml).unwrap().spec;
                match Kit::build(&spec) {
                    Ok(kit) => {
                        for file in kit.files.iter().filter(|f| f.path.ends_with(".stl")) {
                            prop_assert!(file.solid.unwrap().volume > 0.0);
                        }
                    }
                    Err(KitError::Spec(problems)) => prop_assert!(!problems.0.is_empty()),
                    // Any other error is ours, not the spec's.
                    Err(other) => prop_assert!(false, "{other}\n{text}"),
                }
            }
        }
    }
}

#[test]
fn a_file_of_materials_is_read_from_beside_the_spec() {
    let folder = TempDir::new().unwrap();
    let at = |name: &str| folder.path().join(name);
    let spec = format!("{SMALL}[cast]\nplastic = \"reed-mix\"\nmaterials = \"cans.toml\"\n");
    fs::write(at("bait.toml"), spec).unwrap();
    let ran = run(folder.path(), &["check", "bait.toml"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.err.contains("cans.toml"), "{}", ran.err);

    let can = "[[material]]\nname = \"reed-mix\"\nkind = \"plastic\"\ndensity = \"1.02 g/cm3\"\n\
               pour = \"165 C\"\npull = \"55 C\"\n";
    // All mistakes at once, each with its line.
    let wrong = can.replace("g/cm3", "g").replace("165 C", "9000 F");
    fs::write(at("cans.toml"), wrong).unwrap();
    let ran = run(folder.path(), &["check", "bait.toml"]);
    assert_eq!(ran.code, Some(1));
    for part in [
        "line 4, \"reed-mix\", density",
        "1.02 g",
        "1.05 g/cm3",
        "line 5, \"reed-mix\", pour",
        "-50 to 1500 C",
    ] {
        assert!(ran.err.contains(part), "{}", ran.err);
    }

    fs::write(at("cans.toml"), can).unwrap();
    let ran = run(folder.path(), &["make", "bait.toml", "--out", "kit"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    // The kit's own spec needs no such file, and makes the same kit.
    fs::create_dir(at("away")).unwrap();
    fs::copy(at("kit/spec.toml"), at("away/bait.toml")).unwrap();
    let ran = run(&at("away"), &["make", "bait.toml", "--out", "kit"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    for file in names(&at("kit")) {
        let [one, other] = ["kit", "away/kit"].map(|k| fs::read(at(k).join(&file)).unwrap());
        assert!(one == other, "{file} differs");
    }
}
