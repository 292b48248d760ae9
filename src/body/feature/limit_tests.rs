//! A limit that an error names is accepted when it is typed as it is shown.

use crate::body::{Body, Master, MasterError};
use crate::spec::{self, Format, Problem};

const FISH: &str = "
body.length = 80
body.outline = [{ at = 8, height = 12 }, { at = 28, height = 18 }, { at = 70, height = 7 }]
body.width = 0.7
";

/// What is wrong, if anything.
fn judged(text: &str) -> Vec<Problem> {
    let design = match spec::design(text, Format::Toml) {
        Ok(design) => design,
        Err(problems) => return problems.0,
    };
    match Master::build(&design, &Body::from_design(&design)) {
        Ok(_) => Vec::new(),
        Err(MasterError::Spec(problems)) => problems.0,
        Err(other) => panic!("{other}\n{text}"),
    }
}

/// The first length that a limit names.
fn number(limit: &str) -> f64 {
    let digits = limit
        .split_whitespace()
        .find(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    digits.unwrap_or_else(|| panic!("{limit}")).parse().unwrap()
}

/// The problem that `text` with `value` in place of `{}` has, at `path`, and that its limit
/// has none there.
#[track_caller]
fn holds(text: &str, value: f64, path: &str) -> f64 {
    let with = |value: f64| format!("{FISH}{}", text.replace("{}", &value.to_string()));
    let found = judged(&with(value));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].path, path, "{}", found[0]);
    let limit = number(
        found[0]
            .limit
            .as_deref()
            .unwrap_or_else(|| panic!("{}", found[0])),
    );
    let after = judged(&with(limit));
    assert!(after.is_empty(), "{limit}: {after:?}");
    limit
}

#[test]
fn of_recesses_slots_and_bores() {
    for units in ["mm", "cm", "in"] {
        let mm = match units {
            "mm" => 1.0,
            "cm" => 10.0,
            _ => 25.4,
        };
        let text = |key: &str| format!("{key}\n").replace("{}", &format!("\"{{}} {units}\""));
        let shown = |key: &str, value: f64, path: &str| {
            let text = format!("units = '{units}'\n{}", text(key));
            let fish = FISH
                .replace("length = 80", "length = '80 mm'")
                .replace("height = 12", "height = '12 mm'")
                .replace("height = 18", "height = '18 mm'")
                .replace("height = 7", "height = '7 mm'")
                .replace("at = 8", "at = '8 mm'")
                .replace("at = 28", "at = '28 mm'")
                .replace("at = 70", "at = '70 mm'");
            let with = |value: f64| {
                let (units, rest) = text.split_once('\n').unwrap();
                format!("{units}\n{fish}{}", rest.replace("{}", &value.to_string()))
            };
            let found = judged(&with(value / mm));
            assert_eq!(found.len(), 1, "{}{found:?}", with(value / mm));
            assert_eq!(found[0].path, path, "{}", found[0]);
            let limit = number(found[0].limit.as_deref().unwrap());
            let after = judged(&with(limit));
            assert!(after.is_empty(), "{limit} {units}: {after:?}");
        };
        shown(
            "[[slot]]\nside = 'belly'\nfrom = '30 mm'\nto = '60 mm'\nwidth = '2 mm'\ndepth = {}",
            11.0,
            "slot[0].depth",
        );
        shown(
            "[[eyes]]\nat = '20 mm'\nangle = 70\ndiameter = '3 mm'\ndepth = {}",
            6.0,
            "eyes[0].depth",
        );
        shown(
            "[[pocket]]\nat = '40 mm'\nangle = 0\ndepth = '2 mm'\ndiameter = {}",
            10.0,
            "pocket[0].diameter",
        );
        shown("[[bore]]\ndiameter = {}", 5.0, "bore[0].diameter");
    }
}

#[test]
fn of_tails() {
    holds(
        "[tail.taper]\nlength = 20\nroot = {}",
        30.0,
        "tail.taper.root",
    );
    holds(
        "[tail.taper]\nlength = 40\ntip = {}",
        20.0,
        "tail.taper.tip",
    );
    holds(
        "[tail.curl]\nlength = 60\nheight = 6\nroot = {}",
        30.0,
        "tail.curl.root",
    );
    holds(
        "[tail.fork]\nlength = 20\nspan = 40\nroot = {}",
        40.0,
        "tail.fork.root",
    );
    // The disc leans over a stout end.
    let stout = "[[ribs]]\nfrom = 30\nto = 60\npitch = 4\ndepth = 0.5\nfade = 4\n";
    for rest in ["", stout] {
        let paddle = "[tail.paddle]\njoint = 2\ndiameter = 20\nangle = 30\nneck = {}\n";
        holds(&format!("{paddle}{rest}"), 2.0, "tail.paddle.neck");
    }
}

#[test]
fn of_thick_forks() {
    let fork = |thickness: f64| {
        format!("{FISH}[tail.fork]\nlength = 30\nspan = 40\nthickness = {thickness}\n")
    };
    let found = judged(&fork(19.0));
    assert_eq!(found[0].path, "tail.fork.thickness", "{}", found[0]);
    let limit = number(found[0].limit.as_deref().unwrap());
    assert!(limit > 2.0, "{limit}");
    // That the body holds; a plate so thick may still be too narrow for its rim.
    for problem in judged(&fork(limit)) {
        assert!(problem.path != "tail.fork.thickness", "{limit}: {problem}");
    }
}

#[test]
fn of_paddle_joints() {
    let paddle = "[tail.paddle]\nneck = 40\ndiameter = 40\n";
    // The joint it is, root given or not.
    holds(
        &format!("{paddle}joint = {{}}\n"),
        20.0,
        "tail.paddle.joint",
    );
    let text = format!("{FISH}{paddle}joint = 20\nroot = 30\n");
    assert_eq!(judged(&text)[0].path, "tail.paddle.joint");
    // With a joint that fits, the root is what is too thick.
    holds(
        &format!("{paddle}joint = 3\nroot = {{}}\n"),
        30.0,
        "tail.paddle.root",
    );
}

#[test]
fn of_fins() {
    let fin = "[[fin]]\nat = 70\nroot = {}\noutline = [{ at = 1, height = 8 }]\n";
    let most = holds(fin, 20.0, "fin[0].at");
    // The next error, of a root that ends where the body is too slim, says the same.
    let again = holds(fin, 9.85, "fin[0]");
    assert!(
        again < 9.85 && (most - again).abs() < 0.03,
        "{most} {again}"
    );
    let thick = "[[fin]]\nat = 30\nroot = 12\nrounding = 0\nthickness = {}\noutline = [{ at = 6, height = 8 }]\n";
    holds(thick, 14.0, "fin[0]");
}

#[test]
fn of_legs() {
    let legs = "[[legs]]\nlength = 60\nroot = {}\ntip = 1\ncount = 1\n";
    holds(legs, 20.0, "legs[0].root");
    let many = "[[legs]]\nlength = 12\nroot = 2.5\ntip = 1.5\ncount = {}\nspread = 10\n";
    for bunch in ["fan", "cone"] {
        holds(&format!("{many}bunch = '{bunch}'\n"), 24.0, "legs[0].count");
    }
}

#[test]
fn causes_are_named_with_the_problem() {
    // The fin lies within a thicker one.
    let fin = |thickness: f64, height: f64| {
        format!(
            "[[fin]]\nat = 30\nroot = 14\nrounding = 0\nthickness = {thickness}\noutline = [{{ at = 0, height = {height} }}, {{ at = 14, height = {height} }}]\n"
        )
    };
    let found = judged(&format!("{FISH}{}{}", fin(4.0, 8.0), fin(2.0, 6.0)));
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].path, "fin[1]");
    assert!(
        found[0].what.ends_with("together with fin[0]"),
        "{}",
        found[0]
    );
    // Alone, a feature that fails names no other.
    let found = judged(&format!("{FISH}{}", fin(20.0, 8.0)));
    assert!(!found[0].what.contains("together"), "{}", found[0]);
}

#[test]
fn nothing_stands_in_the_way_of_the_sprue() {
    let fin = "[[fin]]\nat = 2\npath = 'M0,0 L-13,2 L-13,7 L10,7 L10,0 Z'\n";
    let found = judged(&format!("{FISH}{fin}"));
    assert_eq!(found[0].path, "fin[0]");
    assert!(found[0].what.contains("sprue"), "{}", found[0]);
    // Poured at the other end, or far above the line, it may stand there.
    let tail = "[mould]\nsprue = { end = 'tail' }\n";
    assert!(judged(&format!("{FISH}{fin}{tail}")).is_empty());
    let high = "[[fin]]\nat = 20\npath = 'M0,0 L-30,10 L-30,14 L10,14 L10,0 Z'\n";
    assert!(judged(&format!("{FISH}{high}")).is_empty());
}

#[test]
fn a_collar_does_not_hide_what_reaches_past_it() {
    let text = "body.length = 80
        body.outline = [{ at = 8, height = 12 }, { at = 28, height = 18 }, { at = 70, height = 12 }, { at = 80, height = 10 }]
        collar.steps = [{ length = 5, diameter = 8 }]
        [[fin]]\nat = 60\nroot = 18\nsweep = 65
        outline = [{ at = 0, height = 14 }, { at = 18, height = 14 }]\n";
    let build = |text: &str| {
        let design = spec::design(text, Format::Toml).unwrap_or_else(|e| panic!("{e}"));
        Master::build(&design, &Body::from_design(&design)).unwrap_or_else(|e| panic!("{e}"))
    };
    let with = build(text);
    let without = build(&text.replace("collar.steps = [{ length = 5, diameter = 8 }]", ""));
    assert!(without.overall[0] > 100.0);
    for k in 0..3 {
        assert!(
            (with.overall[k] - without.overall[k]).abs() < 0.05,
            "{:?} {:?}",
            with.overall,
            without.overall
        );
    }
    // With a fin that stays in front of it, it is the trunk's length.
    assert_eq!(
        build(&text.replace("sweep = 65", "sweep = 0")).overall[0],
        80.0
    );
}

#[test]
fn of_an_eye_that_is_too_wide_for_its_place() {
    // A ball's rim depends on its depth too: told by a share of its width it was wrong.
    let minnow = "body = { length = 90, width = 0.62, outline = [{ at = 8, height = 11 }, { at = 30, height = 19 }, { at = 62, height = 12 }] }\n";
    let with = |d: f64, depth: f64| {
        judged(&format!(
            "{minnow}[[eyes]]\nat = 8\ndiameter = {d}\ndepth = {depth}\n"
        ))
    };
    let found = with(14.0, 2.0);
    assert_eq!(found[0].path, "eyes[0].diameter", "{}", found[0]);
    let limit = number(found[0].limit.as_deref().unwrap());
    assert!(
        with(limit, 2.0).is_empty(),
        "{limit}: {:?}",
        with(limit, 2.0)
    );
    // It is the greatest, but for a digit or two of the surface's facets.
    assert!(!with(limit + 0.1, 2.0).is_empty(), "{limit}");
    // So deep that no width will do: less of both.
    let found = with(14.0, 3.0);
    let hint = found[0].hint.as_deref().unwrap();
    let (depth, size) = hint
        .split_once(" with ")
        .unwrap_or_else(|| panic!("{}", found[0]));
    let (depth, size) = (number(depth), number(size));
    assert!(
        with(size, depth).is_empty(),
        "{hint}: {:?}",
        with(size, depth)
    );
}

#[test]
fn of_what_is_only_marked() {
    for (mark, path) in [
        (
            "[[eyes]]\nkind = 'mark'\nat = 12\ndiameter = 4\ndepth = {}\n",
            "eyes[0].depth",
        ),
        (
            "[[pocket]]\nat = 36\nangle = 90\ndiameter = 4\ndepth = {}\nhow = 'marked'\n",
            "pocket[0].depth",
        ),
    ] {
        holds(mark, 20.0, path);
    }
}

#[test]
fn of_an_eye_over_a_bore() {
    let eye =
        "[[bore]]\ndiameter = 2\n[[eyes]]\nkind = 'flat'\nat = 24\ndiameter = 4\ndepth = {}\n";
    holds(eye, 5.0, "eyes[0].depth");
    let found = judged(&format!("{FISH}{}", eye.replace("{}", "5")));
    assert!(found[0].what.contains("bore[0]"), "{}", found[0]);
}

#[test]
fn bores_that_come_too_near_name_what_and_a_way_that_is_clear() {
    // A thin fork behind the tail; a bowed body.
    let fork = "[tail.fork]\nlength = 20\nspan = 22\n[[bore]]\ndiameter = 2\n";
    let found = judged(&format!("{FISH}{fork}"));
    assert_eq!(found[0].path, "bore[0].diameter", "{}", found[0]);
    assert!(found[0].what.contains("tail.fork"), "{}", found[0]);
    let typed = |problem: &Problem| {
        let hint = problem.hint.as_deref().unwrap();
        let (ends, _) = hint
            .split_once(" runs clear")
            .unwrap_or_else(|| panic!("{problem}"));
        ends.replace(", to", "\nto")
    };
    let again = judged(&format!("{FISH}{fork}{}\n", typed(&found[0])));
    assert!(again.is_empty(), "{again:?}");

    let bowed = format!("{FISH}body.camber = 8\n[[bore]]\ndiameter = 1.5\n");
    let found = judged(&bowed);
    assert!(found[0].path.starts_with("bore[0]"), "{}", found[0]);
    let again = judged(&format!("{bowed}{}\n", typed(&found[0])));
    assert!(again.is_empty(), "{again:?}");
}

#[test]
fn of_forks_fins_and_curls_that_are_too_narrow_or_tight() {
    holds(
        "[tail.fork]\nlength = 20\nspan = 22\nnotch = {}\n",
        16.0,
        "tail.fork.notch",
    );
    holds(
        "[tail.fork]\nlength = 20\nspan = 22\nroot = {}\n",
        1.0,
        "tail.fork.root",
    );
    holds(
        "[[fin]]\nat = 26\nroot = 22\noutline = [{ at = 10, height = 0.5 }]\nrounding = {}\n",
        1.0,
        "fin[0].rounding",
    );
    holds(
        "[tail.curl]\nlength = 60\nheight = 9\nturn = {}\n",
        500.0,
        "tail.curl.turn",
    );
    let tight = "[tail.curl]\nlength = 10\nheight = {}\nturn = 60\n";
    holds(tight, 80.0, "tail.curl.height");
}

#[test]
fn in_the_size_that_is_drawn() {
    let slot = |scale: f64, depth: f64| {
        format!(
            "scale = {scale}\n{FISH}[[slot]]\nside = 'belly'\nfrom = 30\nto = 60\nwidth = 2\ndepth = {depth}\n"
        )
    };
    for scale in [0.6, 2.0] {
        let found = judged(&slot(scale, 17.0));
        assert_eq!(found[0].value.as_deref(), Some("17 mm"), "{}", found[0]);
        let limit = number(found[0].limit.as_deref().unwrap());
        assert!(judged(&slot(scale, limit)).is_empty(), "{limit}");
    }
}

mod random {
    use proptest::prelude::*;

    use super::{judged, number};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn limits_of_hollows_are_accepted_on_random_bodies(
            (length, height, width) in (40.0..120.0f64, 0.12..0.3f64, 0.5..1.4f64),
            (at, angle) in (0.15..0.85f64, 20.0..160.0f64),
            (size, depth) in (2.0..16.0f64, 0.4..12.0f64),
            kind in 0..5usize,
            bored in any::<bool>(),
        ) {
            let height = height * length;
            let at = at * length;
            let body = format!(
                "body = {{ length = {length}, width = {width}, outline = [{{ at = {}, height = {} }}, {{ at = {}, height = {height} }}, {{ at = {}, height = {} }}] }}\n{}",
                0.1 * length, 0.6 * height, 0.35 * length, 0.8 * length, 0.5 * height,
                if bored { "[[bore]]\ndiameter = 1\n" } else { "" },
            );
            let with = |size: f64, depth: f64| {
                let what = match kind {
                    0 => format!("[[eyes]]\nkind = 'ball'\nangle = {angle}\ndiameter = {size}\ndepth = {depth}"),
                    1 => format!("[[eyes]]\nkind = 'flat'\nangle = {angle}\ndiameter = {size}\ndepth = {depth}"),
                    2 => format!("[[eyes]]\nkind = 'ring'\nangle = {angle}\ndiameter = {size}\ndepth = {depth}\nring_width = 0.6\nring_height = 0.4"),
                    3 => format!("[[pocket]]\nangle = {angle}\ndiameter = {size}\ndepth = {depth}"),
                    _ => format!("[[pocket]]\nangle = {angle}\ndiameter = {size}\ndepth = {depth}\nhow = 'marked'"),
                };
                judged(&format!("{body}{what}\nat = {at}\n"))
            };
            let found = with(size, depth);
            let told = found.first().and_then(|p| {
                // Not a range, which the rules of single numbers tell.
                let hollow = !p.path.starts_with("bore");
                let limit = p.limit.as_deref().filter(|limit| hollow && limit.starts_with("up to"))?;
                Some((p.path.clone(), number(limit)))
            });
            if let Some((path, limit)) = told {
                let after = if path.ends_with(".diameter") {
                    with(limit, depth)
                } else if path.ends_with(".depth") {
                    with(size, limit)
                } else {
                    return Ok(());
                };
                let others = after.iter().all(|p| p.path.starts_with("bore"));
                prop_assert!(others, "{path} {limit}: {after:?}\nafter {found:?}");
            }
        }
    }
}

/// Plates, bores and the width of slots are made as they are written, whatever the scale: so
/// are their values and limits told. All else is told in the size that it is drawn in.
#[test]
fn of_what_a_scale_leaves_as_it_is_and_of_what_it_enlarges() {
    for (text, value, path) in [
        (
            "[[slot]]\nside = 'belly'\nfrom = 20\nto = 40\nwidth = {}\ndepth = 4",
            19.5,
            "slot[0].width",
        ),
        (
            "[[slot]]\nside = 'belly'\nfrom = 20\nto = 40\nwidth = 4\ndepth = {}",
            19.5,
            "slot[0].depth",
        ),
        (
            "mould.sprue = { gate = 18, mouth = 40 }\n[[bore]]\ndiameter = {}",
            11.5,
            "bore[0].diameter",
        ),
        (
            "[[fin]]\nat = 68\nroot = 1\nrounding = 0\noutline = [{ at = 0.5, height = 2 }]\nthickness = {}",
            18.5,
            "fin[0]",
        ),
        (
            "[[fin]]\nat = 30\nroot = 20\nthickness = 6\noutline = [{ at = 3, height = 20 }, { at = 10, height = 1 }, { at = 17, height = 20 }]\nrounding = {}",
            3.0,
            "fin[0].rounding",
        ),
        (
            "[tail.fork]\nlength = 20\nspan = 30\nnotch = 2\nthickness = {}",
            19.5,
            "tail.fork.thickness",
        ),
        (
            "[tail.paddle]\nneck = 30\njoint = 3\ndiameter = 20\nroot = {}",
            15.5,
            "tail.paddle.root",
        ),
    ] {
        let text = format!("scale = 2\n{text}");
        let whole = format!("{FISH}{}", text.replace("{}", &value.to_string()));
        let shown = judged(&whole)[0].value.clone().unwrap();
        assert!(shown.starts_with(&format!("{value} mm")), "{path}: {shown}");
        let limit = holds(&text, value, path);
        assert!(limit > 0.3 * value && limit < value, "{path}: {limit}");
    }
}

#[test]
fn a_slot_in_a_narrow_back_is_told_how_deep_it_must_be() {
    let thin = "body = { length = 60, width = 0.2, outline = [{ at = 15, height = 24 }, { at = 50, height = 14 }] }\n";
    let slot = |depth: f64| {
        judged(&format!(
            "{thin}[[slot]]\nside = 'back'\nfrom = 40\nto = 50\nwidth = 1\ndepth = {depth}\n"
        ))
    };
    let found = slot(2.0);
    assert_eq!(found[0].path, "slot[0].width", "{}", found[0]);
    let hint = found[0].hint.as_deref().unwrap();
    let least = number(hint.strip_prefix("with a depth of at least ").unwrap());
    assert!(least > 2.0, "{hint}");
    assert!(slot(least).is_empty(), "{hint}");
    assert!(!slot(least - 0.3).is_empty(), "{hint}");
}

#[test]
fn a_fin_turned_too_far_names_its_cant() {
    let fin = |cant: f64| {
        format!(
            "[[fin]]\nat = 20\nangle = 90\nroot = 15\ncant = {cant}\noutline = [{{ at = 5, height = 8 }}]\n"
        )
    };
    let thin =
        "body = { length = 60, outline = [{ at = 15, height = 12 }, { at = 50, height = 7 }] }\n";
    for cant in [60.0, -60.0] {
        let found = judged(&format!("{thin}{}", fin(cant)));
        assert!(!found.is_empty());
        let limit = found[0].limit.as_deref().unwrap();
        assert!(
            found[0].value.as_deref().unwrap().contains("cant of"),
            "{}",
            found[0]
        );
        let most: f64 = limit
            .split(' ')
            .nth(5)
            .unwrap()
            .parse()
            .unwrap_or_else(|_| panic!("{limit}"));
        assert!(most * cant >= 0.0 && most.abs() < 60.0, "{limit}");
        assert!(
            judged(&format!("{thin}{}", fin(most))).is_empty(),
            "{limit}"
        );
    }
}

#[test]
fn an_eye_that_does_not_stand_on_ribs_names_them() {
    let ribs = "[[ribs]]\nfrom = 10\nto = 40\npitch = 6\ndepth = 2\n";
    let eye = "[[eyes]]\nkind = 'flat'\nat = 24\ndiameter = 6\ndepth = 0.8\n";
    let found = judged(&format!("{FISH}{ribs}{eye}"));
    assert!(
        found[0].hint.as_deref().unwrap().contains("ribs[0]"),
        "{}",
        found[0]
    );
}

#[test]
fn of_rows_of_legs() {
    let row = |more: &str| format!("[[legs]]\nlength = 9\ntip = 1\n{more}");
    // Where the body is long enough for the row, its place; else its pitch, then its count.
    let at = row("root = 2\ncount = 4\npitch = 8\nat = {}");
    let least = holds(&at, 6.0, "legs[0].at");
    assert!((least - 14.0).abs() < 0.02, "{least}");
    holds(
        &row("root = 2\ncount = 6\nat = 40\npitch = {}"),
        17.0,
        "legs[0].pitch",
    );
    holds(
        &row("root = 2\nat = 10\npitch = 3\ncount = {}"),
        30.0,
        "legs[0].count",
    );
    // As thick as the body is there.
    holds(&row("at = 66\ncount = 1\nroot = {}"), 9.0, "legs[0].root");
    holds(&row("at = 40\ncount = 3\nroot = {}"), 12.0, "legs[0].root");
    // Nothing thinner does, but another place.
    let text = format!("{FISH}[[legs]]\nlength = 9\ntip = 6\nroot = 6\ncount = 1\nat = 75\n");
    let found = judged(&text);
    assert_eq!(found[0].path, "legs[0].root");
    let hint = found[0].hint.clone().unwrap();
    let at = number(
        hint.strip_prefix("at = ")
            .unwrap_or_else(|| panic!("{hint}")),
    );
    assert!(
        judged(&text.replace("at = 75", &format!("at = {at}"))).is_empty(),
        "{hint}"
    );
}

#[test]
fn of_pairs_that_meet() {
    for (given, kind) in [(4.0, "flat"), (176.0, "flat"), (4.0, "ball"), (8.0, "ring")] {
        let eyes =
            format!("[[eyes]]\nkind = '{kind}'\nat = 26\ndiameter = 4\ndepth = 0.9\nangle = {{}}");
        let fits = holds(&eyes, given, "eyes[0].angle");
        assert_eq!(fits > given, given < 90.0, "{fits}");
    }
}

#[test]
fn of_bores_that_only_graze_the_body() {
    let bore = |z: f64| {
        judged(&format!(
            "{FISH}[[bore]]\ndiameter = 2\nhow = 'marked'\nfrom = [28, -20, {z}]\nto = [28, 20, {z}]\n"
        ))
    };
    let grazing = &bore(8.97)[0];
    assert!(
        grazing
            .what
            .contains("only grazes the body, 28 mm from the nose"),
        "{grazing}"
    );
    let value = grazing.value.as_deref().unwrap();
    assert!(
        value.ends_with(" mm of its way in it, 2 mm thick"),
        "{value}"
    );
    let missed = &bore(9.5)[0];
    assert!(
        missed
            .what
            .contains("middle line of this bore does not meet the body"),
        "{missed}"
    );
    // With more of it in the body its walls are judged instead.
    let near = &bore(8.0)[0];
    assert!(near.path.ends_with("diameter"), "{near}");
    assert!(bore(0.0).is_empty());
}

#[test]
fn of_what_was_found_by_following_limits() {
    // As long as it is wide, to the last bit or not: round.
    for (from, to, width) in [
        (26, 27.8, 1.8),
        (30, 31.2, 1.2),
        (40, 40.9, 0.9),
        (20, 21.6, 1.6),
    ] {
        for parting in ["flank", "waist"] {
            let text = format!(
                "{FISH}mould.parting = '{parting}'\n\
                 slot = [{{ side = 'belly', from = {from}, to = {to}, width = {width}, depth = 4 }}]\n"
            );
            let design = spec::design(&text, Format::Toml).unwrap();
            let master = Master::build(&design, &Body::from_design(&design)).unwrap();
            master
                .mesh
                .check()
                .unwrap_or_else(|e| panic!("{e}\n{text}"));
            for core in &master.cores {
                core.check().unwrap_or_else(|e| panic!("{e}\n{text}"));
            }
        }
    }
    let fin = "fin = [{ at = 26, angle = {}, root = 20, outline = [{ at = 8, height = 6 }], thickness = 1.6 }]";
    let least = holds(fin, 3.0, "fin[0].angle");
    assert!((4.0..12.0).contains(&least), "{least}");
    holds(fin, 177.0, "fin[0].angle");
    let rear = "fin = [{ at = {}, angle = 90, root = 8, outline = [{ at = 4, height = 5 }] }]";
    holds(rear, 79.5, "fin[0].at");
    // Walls towards the flanks, and a drill that passes a bore with its tip.
    let pocket = "pocket = [{ at = 28, diameter = {}, depth = 11 }]";
    let most = holds(pocket, 10.8, "pocket[0].diameter");
    assert!(most > 6.0, "{most}");
    let over = "bore = [{ diameter = 1.5 }]\n\
                pocket = [{ at = 36, angle = 90, diameter = 3, depth = {}, how = 'marked' }]";
    let most = holds(over, 8.5, "pocket[0].depth");
    assert!(most < 5.5, "{most}");
}

#[test]
fn of_shares_tolerances_and_scaled_tips() {
    let told = |text: &str| {
        let problems = judged(text);
        assert_eq!(problems.len(), 1, "{problems:?}");
        problems[0].clone()
    };
    let wide = |share: f64| FISH.replace("width = 0.7", &format!("width = {share}"));
    let problem = told(&wide(7.5));
    let limit = problem.limit.unwrap();
    let share: f64 = limit.split(' ').nth(5).unwrap().parse().unwrap();
    assert!(
        limit.starts_with("a share of ") && judged(&wide(share)).is_empty(),
        "{limit}"
    );
    let thin = "body.length = 80\nbody.outline = [{ at = 30, height = 0.8 }]\n";
    let problem = told(thin);
    assert_eq!(problem.path, "mesh.tolerance");
    let limit = number(problem.limit.as_deref().unwrap());
    assert!(judged(&format!("{thin}mesh.tolerance = {limit}\n")).is_empty());
    for scale in [0.7, 1.0, 1.4, 1.9] {
        let text = format!(
            "scale = {scale}\nbody = {{ length = 90, outline = [{{ at = 30, height = 30 }}, {{ at = 80, height = 26 }}] }}\n\
             tail.taper = {{ length = 24, tip = 16 }}\n"
        );
        assert!(judged(&text).is_empty(), "{scale}: {:?}", judged(&text));
    }
}
