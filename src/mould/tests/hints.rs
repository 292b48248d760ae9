//! What hints of seats name is what helps.

use super::seats::said;

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
            if !first.contains("further in: wire.from = ") {
                continue;
            }
            reached += 1;
            assert!(first.contains("sprue"), "{first}");
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
