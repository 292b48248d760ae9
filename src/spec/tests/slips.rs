//! What makers new to the format get wrong, and what they are told.

use super::*;

/// Line, message and hint of every problem.
fn told(text: &str) -> Vec<String> {
    told_of(text, Format::Toml)
}

fn told_of(text: &str, format: Format) -> Vec<String> {
    let problems = match design(text, format) {
        Ok(_) => return Vec::new(),
        Err(problems) => problems.0,
    };
    problems
        .iter()
        .map(|p| {
            let line = p.place.as_ref().map_or(0, |place| place.line);
            let hint = p.hint.as_deref().unwrap_or("-");
            format!("{line}: {} | {hint}", p.what)
        })
        .collect()
}

#[test]
fn word_processor_quotes() {
    const SAID: &str = "these are word-processor quotes | use plain quotes: write";
    let text = "units = “in”\nname = ‘Reed’s minnow’\n[body]\nlength = „3 1/4 in“\n\
                outline = [{ at = “1”, height = “0.5” }, { at = 2, height = ‘3/8\"’ }]\nnose = \"“round”\"\n";
    assert_eq!(
        told(text),
        [
            format!("1: {SAID} \"in\""),
            format!("2: {SAID} \"Reed’s minnow\""),
            format!("4: {SAID} \"3 1/4 in\""),
            format!("5: {SAID} \"1\""),
            format!("5: {SAID} \"0.5\""),
            format!("5: {SAID} '3/8\"'"),
            format!("6: {SAID} \"round\""),
        ]
    );
    // As said, it reads.
    let mended = "units = \"in\"\nname = \"Reed’s minnow\"\n[body]\nlength = \"3 1/4 in\"\n\
                  outline = [{ at = \"1\", height = \"0.5\" }, { at = 2, height = '3/8\"' }]\nnose = \"round\"\n";
    assert_eq!(told(mended), [] as [&str; 0]);
    // The rest of the text is read as well.
    assert_eq!(
        told(
            "units = “in”\n[body]\nlength = 3\noutline = [{ at = 1, height = 0.5 }]\nsection = 9\n"
        ),
        [
            format!("1: {SAID} \"in\""),
            "5: this is too large | -".to_owned()
        ]
    );
    // What the quotes hold may be wrong besides.
    assert_eq!(
        told(&format!("units = “feet”\n{BODY}")),
        [
            format!("1: {SAID} \"feet\""),
            "1: this is not a unit of length | -".to_owned()
        ]
    );
    // One that closes a plain quote.
    assert_eq!(
        told(&BODY.replace("60", "\"60 mm”")),
        ["2: this quote is closed by a word-processor quote | use plain quotes: write \"60 mm\""]
    );
    // Once a place within a character, which made it panic.
    assert!(!told("\"\"[‘'=\"‘").is_empty());
    // A name may hold them; inch marks are no quotes.
    assert_eq!(
        told(&format!("name = \"“Big” one\"\n{BODY}")),
        [] as [&str; 0]
    );
    assert_eq!(
        told(&BODY.replace("60", "\"3 1/4”\"").replace("30", "'1″'")),
        [] as [&str; 0]
    );
    assert_eq!(
        told_of("{ “body”: 3 }", Format::Json),
        ["1: these are word-processor quotes | use plain quotes: \""]
    );
}

#[test]
fn a_forgotten_heading() {
    let bare = BODY.replace("[body]\n", "") + "nose = \"round\"\nwidth = 0.8\n";
    assert_eq!(
        told(&bare),
        [
            "1: this belongs under [body] | put [body] on a line of its own above it; \
          the same holds for `outline`, `nose`, `width`"
        ]
    );
    assert_eq!(told(&format!("[body]\n{bare}")), [] as [&str; 0]);
    // What is wrong there is told as well.
    assert_eq!(
        told(&bare.replace("0.8", "80"))[1],
        "4: this is too large | -"
    );
    let full = full().replace("[mould]", "");
    assert_eq!(
        told(&full),
        [
            "16: this belongs under [mould] | put [mould] on a line of its own above it; \
          the same holds for `keys`, `sprue`, `vents`"
        ]
    );
    assert_eq!(
        told(&format!("wall = 12\n{BODY}[mould]\nparting = \"waist\"\n")),
        ["1: this belongs under [mould] | move it under [mould]"]
    );
    assert_eq!(
        told(&format!("{BODY}[mould]\ncount = 4\n")),
        [
            "5: this belongs under [mould.keys] or [mould.vents] | put [mould.keys] on a line of \
          its own above it"
        ]
    );
    assert_eq!(
        told_of(
            r#"{"length": 60, "outline": [{"at": 30, "height": 9}]}"#,
            Format::Json
        ),
        ["1: this belongs under [body] | write it inside `body`; the same holds for `outline`"]
    );
}

#[test]
fn the_wrong_unit() {
    const INCHES: &str = "did you mean inches? write";
    let inches = "[body]\nlength = \"3 1/4\"\noutline = [{ at = 1, height = \"7/16\" }]\n";
    assert_eq!(
        told(inches),
        [format!(
            "2: this is too small | {INCHES} units = \"in\" at the top, or \"3 1/4 in\" here"
        )]
    );
    assert_eq!(told(&format!("units = \"in\"\n{inches}")), [] as [&str; 0]);
    // What is wrong besides is judged in inches.
    assert_eq!(
        told(&inches.replace("at = 1", "at = 4"))[1],
        "3: this station lies beyond the tail | -"
    );
    assert_eq!(
        told(&inches.replace("3 1/4", "3 1/4 in")),
        [format!("3: this is too small | {INCHES} \"7/16 in\"")]
    );
    assert_eq!(
        told("units = \"in\"\n[body]\nlength = 82.5\noutline = [{ at = 30, height = 11 }]\n"),
        [
            "3: this is too large | did you mean millimetres? write units = \"mm\" at the top, or \
          \"82.5 mm\" here"
        ]
    );
    // What a rule in inches shows may be meant so, in a spec that is in millimetres.
    let fin = |root: &str| {
        format!("{BODY}[[fin]]\nat = 20\nroot = {root}\noutline = [{{ at = 0.5, height = 5 }}]\n")
    };
    assert!(
        told(&fin("0.75"))[0].ends_with(&format!("{INCHES} \"3/4 in\"")),
        "{:?}",
        told(&fin("0.75"))
    );
    assert!(
        !told(&fin("0.2"))[0].contains(INCHES),
        "{:?}",
        told(&fin("0.2"))
    );
    // A fit is no length of a bait.
    assert_eq!(
        told(&format!("{BODY}[mesh]\ntolerance = 0.0005\n")),
        ["5: this is too small | -"]
    );
}

#[test]
fn thicker_than_long() {
    const SAID: &str = "this makes the bait thicker than it is long";
    let slipped =
        "units = \"in\"\n[body]\nlength = 3.25\noutline = [{ at = 1, diameter = 7.16 }]\n";
    let problems = toml(slipped).unwrap_err();
    assert_eq!(
        problems.to_string(),
        format!(
            "line 4, column 33: body.outline[0].diameter: {SAID}; found 7.16; accepted: up to \
             3.25 in (82.55 mm), the length; hint: did you mean \"7/16 in\", or 0.716 in?"
        )
    );
    for (from, to, at, hint) in [
        (
            "height = 12",
            "height = 120",
            "height",
            "is the decimal point in its place? a tenth of it is 12 mm",
        ),
        (
            "height = 12",
            "back = 40, belly = 21",
            "",
            "is the length right?",
        ),
        (
            "height = 12",
            "height = 12, step_to = 61",
            "step_to",
            "is the decimal point in its place? a tenth of it is 6.1 mm",
        ),
    ] {
        let problems = toml(&BODY.replace(from, to)).unwrap_err();
        let problem = &problems.0[0];
        assert_eq!(
            (problems.0.len(), problem.what.as_str()),
            (1, SAID),
            "{problems}"
        );
        assert!(problem.path.ends_with(at), "{problem}");
        assert_eq!(problem.hint.as_deref(), Some(hint));
    }
    assert_eq!(
        said(toml(&format!("{BODY}width = 5.1\n"))),
        [format!("body.width: {SAID}")]
    );
    assert_eq!(
        said(toml(&format!(
            "{BODY}width = [{{ at = 30, width = 61 }}]\n"
        ))),
        [format!("body.width[0].width: {SAID}")]
    );
    // As thick as long is a ball; the largest size of all still has its own limit.
    assert!(toml(&BODY.replace("12", "60")).is_ok());
    assert!(toml(&format!("{BODY}width = 5\n")).is_ok());
    let long = |height: &str| BODY.replace("60", "1000").replace("12", height);
    assert!(toml(&long("300")).is_ok());
    assert_eq!(
        said(toml(&long("300.1"))),
        ["body.outline[0].height: this is too large"]
    );
}

#[test]
fn brackets_and_commas() {
    let body = |lines: &str| told(&format!("[body]\nlength = 60\n{lines}"));
    let stations = "outline = [\n  { at = 30, height = 11 },\n  { at = 40, height = 11 },\n";
    assert_eq!(
        body(&format!("{stations}\n[mould]\nwall = 12\n")),
        ["3: this [ is not closed | put ] where the list ends, above the line `[mould]`"]
    );
    assert_eq!(
        body(&format!("{stations}nose = \"round\"\n")),
        ["3: this [ is not closed | put ] where the list ends, above the line `nose = \"round\"`"]
    );
    assert_eq!(
        body(stations),
        ["3: this [ is not closed | put ] where the list ends"]
    );
    assert_eq!(
        body("outline = [ at = 30, height = 11 ]\n"),
        ["3: these values need { } around them | write { at = 30, height = 11 }"]
    );
    assert_eq!(
        body("outline = [\n  at = 30, height = 11\n  { at = 40, height = 11 },\n]\n"),
        ["4: these values need { } around them | write { at = 30, height = 11 }"]
    );
    assert_eq!(
        body("outline = [\n  { at = 30, height = 11 },\n  at = 40, height = 11 },\n]\n"),
        ["5: these values need { } around them | put { before them"]
    );
    assert_eq!(
        body("outline = [\n  { at = 30, height = 11\n  { at = 40, height = 11 },\n]\n"),
        [
            "4: this { is not closed | put } where the values end, above the line `{ at = 40, height = 11 },`"
        ]
    );
    assert_eq!(
        body("outline = [{ at = 30, height = 11 ]\n"),
        ["3: this { is not closed | put } where the values end"]
    );
    assert_eq!(
        body("outline = [{ at = 30  height = 11 }]\nsection = 9\n"),
        [
            "3: a comma is missing before this | write , height = …",
            "4: this is too large | -"
        ]
    );
    assert_eq!(
        body("outline = [{ at = 30, height = 11 } { at = 40, height = 11 }]\n"),
        ["3: a comma is missing before this | entries of a list have commas between them"]
    );
    assert_eq!(
        body("outline = [{ at = 30, height = 11 }]]\n"),
        ["3: this ] closes nothing | take it out, or put the [ that is missing"]
    );
}

#[test]
fn commas_colons_and_quotes() {
    const POINT: &str = "a number is written with a decimal point | decimal comma: write";
    assert_eq!(
        told("[body]\nlength = 60,5 mm\noutline = [{ at = 2,5, height = 1,5 }]\nsection = 9\n"),
        [
            format!("2: {POINT} \"60.5 mm\""),
            format!("3: {POINT} 2.5"),
            format!("3: {POINT} 1.5"),
            "4: this is too large | -".to_owned(),
        ]
    );
    const COLON: &str = "a name and its value are joined by =, not by a colon | use = instead of :";
    assert_eq!(
        told("[body]\nlength: \"60 mm\"\noutline : [{ at: 30, height:11 }]\n\"section\": 9\n"),
        [
            format!("2: {COLON}"),
            format!("3: {COLON}"),
            format!("4: {COLON}"),
            "4: this is too large | -".to_owned()
        ]
    );
    assert_eq!(
        told("body:\n  length: 60\n"),
        [
            "1: a heading stands in brackets | write [body]".to_owned(),
            format!("2: {COLON}")
        ]
    );
    const OPEN: &str = "a quote is not closed on this line | put \" at the end of the text";
    assert_eq!(
        told(
            "name = \"Reed minnow\n[body]\nlength = \"60 mm\noutline = [{ at = \"30 mm, height = 11 }]\n"
        ),
        [
            format!("1: {OPEN}"),
            format!("3: {OPEN}"),
            format!("4: {OPEN}")
        ]
    );
    assert_eq!(
        told("// mine\n[body]\nlength = 60;\noutline = [{ at = 30, height = 11 }]\n"),
        [
            "1: a remark does not start with // | start it with #",
            "3: a line does not end in ; | take it out"
        ]
    );
    // Words without quotes that would not fit with them either.
    assert_eq!(
        told(&BODY.replace("60", "long")),
        ["2: this is not a length | -"]
    );
    for (line, said) in [
        ("length 60", "this name has no value"),
        ("[collar", "a ] is missing here"),
        ("length = 060", "a number does not start with 0"),
        ("nose@ = 3", "a name cannot hold this character"),
    ] {
        let told = told(&format!("[body]\n{line}\n"));
        assert!(
            told[0].starts_with(&format!("2: {said}")),
            "{line}: {told:?}"
        );
        assert_eq!(told.len(), 1, "{told:?}");
    }
}

#[test]
fn one_format_under_the_name_of_the_other() {
    let json = r#"{ "body": { "length": 60, "outline": [{ "at": 30, "height": 11 }] } }"#;
    assert_eq!(
        told(json),
        ["1: this text is JSON, not TOML | rename the file so that its name ends in .json"]
    );
    for text in [
        BODY.to_owned(),
        format!("# mine\n{BODY}"),
        format!("name = \"x\"\n{BODY}"),
        starter().to_owned(),
    ] {
        assert_eq!(
            told_of(&text, Format::Json)[0].split_once(": ").unwrap().1,
            "this text is TOML, not JSON | rename the file so that its name ends in .toml"
        );
    }
}

#[test]
fn a_limit_in_inches_names_a_fraction_that_keeps_it() {
    let spec = |wall: &str| {
        toml(&format!(
            "units = \"in\"\n[body]\nlength = 3\noutline = [{{ at = 1, height = 0.5 }}]\n\
             [mould]\nwall = {wall}\n"
        ))
    };
    let problems = spec("0.2").unwrap_err();
    assert_eq!(
        problems.0[0].limit.as_deref(),
        Some("at least 0.371 in (9.42 mm), for keys of 0.236 in (6 mm); 3/8 in will do")
    );
    assert!(spec("\"3/8 in\"").is_ok());
}

#[test]
fn hints_lead_where_it_works() {
    // Misspelt at the top, where a key of another table is farther than the one it lacks.
    let lost = told("lenght = 4\n[body]\nlength = 60\noutline = [{ at = 30, height = 9 }]\n");
    assert_eq!(
        lost,
        [
            "1: there is no such key | did you mean `length` under [body]? keys stand below their heading"
        ]
    );
    assert_eq!(
        told("[body]\nlength = 60\nsizes = [40]\noutline = [{ at = 30, height = 9 }]\n"),
        ["3: there is no such key | it belongs at the top of the spec, outside every table"]
    );
    // A reading, not a station of an outline that is not there.
    let flat = "[body]\nlength = 60\ntail = \"flat\"\n[body.measured]\nuncertainty = 0.2\n\
                readings = [{ at = 20, diameter = 12 }, { at = 40, diameter = 9 }]\n";
    assert_eq!(
        told(flat),
        [
            "3: a flat tail needs a reading on it | add a reading at the length to the readings, or make the tail \"round\" or \"pointed\""
        ]
    );
    let ribs = "[body]\nlength = 60\noutline = [{ at = 10, height = 9 }, { at = 50, height = 8 }]\n\
                [[ribs]]\nfrom = 40\nto = 20\npitch = 3\ndepth = 0.5\n";
    assert_eq!(
        told(ribs),
        [
            "6: these ribs end before they begin | ribs run from nose to tail: exchange `from` and `to`"
        ]
    );
    let marks = told("[body]\nlength = 3.5\"\noutline = [{ at = 1, height = 0.5 }]\n");
    assert!(
        marks.contains(&"2: text needs quotes around it | write \"3.5 in\"".to_owned()),
        "{marks:?}"
    );
    // Shares in place of percent.
    assert_eq!(
        told(&format!(
            "{BODY}[material]\nshrinkage = {{ plastic = 0.015, silicone = 0.01 }}\n"
        )),
        ["5: this is next to nothing: shrinkage is written in percent | did you mean 1.5?"]
    );
    // A whole number of millimetres is not a number of inches.
    assert_eq!(
        told(&format!(
            "{BODY}[tail.fork]\nlength = 20\nspan = 20\nroot = 0\n"
        )),
        ["7: this must be more than zero | -"]
    );
    assert_eq!(
        told(&format!(
            "{BODY}[tail.paddle]\nneck = 16\njoint = 3\ndiameter = 4\n"
        )),
        ["7: this is too small | -"]
    );
    // A number without its unit is told so, with the units that would do.
    let bare = toml(&format!("{BODY}[cast]\npour = \"170\"\n"))
        .unwrap_err()
        .to_string();
    assert!(bare.contains("cast.pour: the unit is missing"), "{bare}");
    assert!(bare.contains("accepted: C, °C, F, °F"), "{bare}");
    // Coats have no inches that show.
    let inches = BODY.replace("[body]", "units = \"in\"\n[body]");
    let inches = inches.replace("60", "\"60 mm\"").replace("30", "\"30 mm\"");
    let coats = toml(&format!(
        "{inches}[material]\ncoats = [{{ thickness = 1 }}]\n"
    ))
    .unwrap_err();
    assert!(!coats.to_string().contains(" 0 in"), "{coats}");
    // A value of `from` that cannot be read has no file that was not looked for.
    let from = told("[body]\nfrom = { file = \"a.stl\", origin = \"centre\" }\n");
    assert_eq!(from.len(), 1, "{from:?}");
}

#[test]
fn a_number_without_a_digit_on_one_side_of_its_point() {
    for (written, meant) in [(".5", "0.5"), ("-.5", "-0.5"), ("5.", "5.0")] {
        let text = format!("body.length = 60\n[[eyes]]\nat = 10\ndepth={written}\ndiameter = 3\n");
        let told = told(&text);
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(
            told[0].contains(&format!("write {meant} in place")),
            "{told:?}"
        );
    }
}

#[test]
fn a_heading_misspelt_is_told_as_one() {
    let told = told(
        "body = { length = 60, outline = [{ at = 15, height = 12 }] }\n[[eye]]\nat = 10\n\
         diameter = 3\ndepth = 0.5\n",
    );
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].contains("did you mean `eyes`?"), "{told:?}");
}
