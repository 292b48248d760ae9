//! What hints of seats name is what helps.

use super::seats::{HOOK, WIRE, read};
use super::*;

/// What is said of a spec's seats: an error, or the notes.
pub(super) fn said(text: &str) -> String {
    let d = read(text);
    match Mould::build(&d, &Body::from_design(&d)) {
        Ok(mould) => mould.seats.notes.join("\n"),
        Err(MouldError::Spec(problems)) => problems.to_string(),
        Err(other) => panic!("{other}"),
    }
}

fn number(said: &str, after: &str) -> String {
    let (_, rest) = said
        .split_once(after)
        .unwrap_or_else(|| panic!("{after}: {said}"));
    let number = |c: char| !(c.is_ascii_digit() || c == '.' || c == '-');
    rest.trim_start().split(number).next().unwrap().to_owned()
}

#[test]
fn what_stands_in_the_way_of_a_pin_is_told_before_its_length() {
    // Below the wire that runs through the bait, the upper pins would be too long as well.
    let text = |pin: &str| {
        format!(
            "wire = {{ diameter = 0.8, height = 5 }}\n\
             weight = [{{ diameter = 3, at = 28, height = 0 }}]\n\
             mould = {{ parting = \"waist\"{pin} }}"
        )
    };
    let first = said(&text(", seats.pin = 0.6"));
    if first.contains("stands between") {
        assert!(!first.contains("thicker pins"), "{first}");
    }
    // Two weights, one of them slimmer: one value for both, which serves both, or none.
    for diameters in [[4.0, 5.0], [5.0, 4.0], [4.0, 1.5]] {
        let with = |pin: &str| {
            said(&format!(
                "weight = [{{ diameter = {}, at = 28, height = 0 }}, {{ diameter = {}, at = 45, height = 0 }}]\n\
                 mould.seats.pin = {pin}",
                diameters[0], diameters[1]
            ))
        };
        let first = with("0.7");
        if first.contains("thicker pins") {
            let values: Vec<&str> = first.split("mould.seats.pin at least ").skip(1).collect();
            let value = number(&first, "mould.seats.pin at least");
            assert!(values.iter().all(|v| v.starts_with(&value)), "{first}");
            assert!(!with(&value).contains("pins"), "{}", with(&value));
        }
    }
}

#[test]
fn a_wire_too_near_the_funnel_is_told_how_far_in_to_begin() {
    let mut reached = 0;
    for height in [3.0, 4.5, 5.5] {
        for from in [-8.0, -5.0, -2.0] {
            let with = |from: &str| {
                said(&format!(
                    "wire = {{ diameter = 0.8, height = {height}, from = {from}, to = 60, twists = 0, eye = 1.5 }}\n\
                     mould = {{ parting = \"flank\", sprue.mouth = 20 }}"
                ))
            };
            let first = with(&from.to_string());
            if !first.contains("sprue") || !first.contains("further in: wire.from = ") {
                continue;
            }
            reached += 1;
            let to = number(&first, "further in: wire.from =");
            let by: f64 = number(&first, "let the wire begin").parse().unwrap();
            assert!(
                (to.parse::<f64>().unwrap() - from - by).abs() < 0.01,
                "{first}"
            );
            let then = with(&to);
            assert!(!then.contains("sprue"), "{first}\n{then}");
            // Half a millimetre less would not do.
            let less = with(&(to.parse::<f64>().unwrap() - 0.5).to_string());
            assert!(less.contains("sprue"), "{first}\n{less}");
        }
    }
    assert!(reached > 0);
}

#[test]
fn a_gap_that_holds_nothing_is_told() {
    let with = |gap: f64| {
        said(&format!(
            "wire = {{ diameter = 0.8, from = 20, to = 86 }}\nmould.seats.clearance = {gap}"
        ))
    };
    assert!(
        with(1.0).contains("does not hold a wire of 0.8 mm"),
        "{}",
        with(1.0)
    );
    assert!(!with(0.1).contains("does not hold"));
    // What is named as held is.
    let most = number(&with(1.0), "Up to");
    assert_eq!(most, "0.4");
    assert!(!with(most.parse().unwrap()).contains("does not hold"));
}

#[test]
fn every_hint_that_is_followed_leads_on() {
    // Where the sprue goes there is no way back.
    let wire =
        |from: f64, to: f64| format!("wire = {{ diameter = 0.8, from = {from}, to = {to} }}\n");
    let through = "hook = { at = -6, height = 0, wire = 1, shank = 84, gap = 5, bend = 6 }\n";
    let tailed = "tail = { paddle = { neck = 16, joint = 3.2, diameter = 14 } }\n";
    for (text, moved) in [
        (wire(-2.0, 60.0), true),
        (wire(-2.0, 82.0), false),
        (format!("{}{tailed}", wire(-2.0, 60.0)), false),
        (format!("{}{through}", wire(-2.0, 40.0)), false),
        (through.to_owned(), false),
    ] {
        let first = said(&text);
        let (cure, other) = (
            "pour at the other end: mould.sprue.end = \"tail\"",
            "pour at the other end",
        );
        assert_eq!(first.contains(cure), moved, "{text}: {first}");
        assert!(moved || !first.contains(other), "{first}");
        if !text.contains("paddle") {
            let at_tail = said(&format!("{text}mould.sprue.end = \"tail\""));
            assert!(!at_tail.contains(other), "{text}: {at_tail}");
        }
    }
    // The wire that ends within the plastic, eye and all, is no longer told.
    let first = said(&wire(-2.0, 82.0));
    let from: f64 = number(&first, "further in: wire.from =").parse().unwrap();
    let inside = said(&wire(from, 82.0));
    assert!(!inside.contains("within the sprue"), "{inside}");
    // A hook without its seat is not told either.
    assert!(said(through).contains("mould.seats.hook = false"));
    assert_eq!(said(&format!("{through}mould.seats.hook = false")), "");

    // Pins: too slender, thicker by the number, and neither too wide nor too slender then.
    for (diameter, pin, boxes) in [
        (4.0, 0.8, false),
        (5.0, 0.7, true),
        (3.0, 0.6, false),
        (2.0, 0.8, false),
    ] {
        let route = if boxes { "boxes" } else { "block" };
        let with = |pin: &str| {
            said(&format!(
                "weight = [{{ diameter = {diameter}, at = 28, height = 0 }}]\n\
                 mould = {{ route = \"{route}\", seats.pin = {pin} }}"
            ))
        };
        let first = with(&pin.to_string());
        assert!(first.contains("times as long as they are thick"), "{first}");
        if first.contains("thicker pins") {
            let then = with(&number(&first, "mould.seats.pin at least"));
            assert!(!then.contains("pins"), "{diameter}: {first}\n{then}");
        } else {
            // As wide as the weight bears they would still be too slender.
            let wide = with("3");
            let most = number(&wide, "mould.seats.pin at most");
            assert!(with(&most).contains("times as long as they are thick"));
        }
    }
    // Too wide: what is named as the most is not too wide.
    let with = |pin: &str| {
        said(&format!(
            "weight = [{{ diameter = 7, at = 28, height = 0 }}]\nmould.seats.pin = {pin}"
        ))
    };
    let most = number(&with("6"), "mould.seats.pin at most");
    assert!(!with(&most).contains("too wide"));
    // The gap that a bend has room for.
    let hook = "hook = { at = 16, height = 2, wire = 1, shank = 26, gap = 2, bend = 2 }\nmould.seats.clearance = ";
    let found = said(&format!("{hook}1"));
    let most = number(&found, "at most");
    assert!(
        !said(&format!("{hook}{most}")).contains("too tight"),
        "{found}"
    );
    // Across the waist: along the flank it is seated, and there is no way back.
    for text in [HOOK.to_owned(), WIRE.replace("from", "height = 1.5, from")] {
        let first = said(&format!("{text}mould.parting = \"waist\""));
        assert!(first.contains("parting = \"flank\""), "{first}");
        assert!(!said(&format!("{text}mould.parting = \"flank\"")).contains("waist"));
    }
}

#[test]
fn a_wire_at_the_sprue_is_told_one_place_to_begin_at_wherever_it_began() {
    let with = |from: &str| {
        said(&format!(
            "wire = {{ diameter = 0.8, height = 2, from = {from} }}\nmould.seats.wire = true"
        ))
    };
    // Out of the nose, with its eye in the skin, and just within the sprue.
    let mut refused = 0;
    for from in ["-1", "2.21", "4", "6"] {
        let first = with(from);
        if !first.contains("mould.seats.wire") {
            continue;
        }
        refused += 1;
        assert!(!first.contains("further out"), "{from}: {first}");
        let to = number(&first, "further in: wire.from =");
        let then = with(&to);
        assert!(!then.contains("wire.from"), "{from}, {to}: {then}");
    }
    assert!(refused >= 2, "{refused}");
}
