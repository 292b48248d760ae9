//! Shapes of tails near their limits, and how they go on from the body.

use proptest::prelude::*;

use crate::body::{Body, Master, MasterError};
use crate::mesh::slice::Sliced;
use crate::spec::{self, Format, Problem};

const ROUND: &str = "body = { length = 70, outline = [{ at = 20, diameter = 16 }, \
                     { at = 50, diameter = 14 }] }\n";

fn built(text: &str) -> Result<(Body, Master), Problem> {
    let design = spec::design(text, Format::Toml).unwrap_or_else(|e| panic!("{e}\n{text}"));
    let body = Body::from_design(&design);
    match Master::build(&design, &body) {
        Ok(master) => {
            let sound = master.mesh.check();
            sound.unwrap_or_else(|e| panic!("{e}\n{text}"));
            Ok((body, master))
        }
        Err(MasterError::Spec(problems)) => Err(problems.0[0].clone()),
        Err(other) => panic!("{other}\n{text}"),
    }
}

fn made(text: &str) -> (Body, Master) {
    built(text).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

/// The number in a limit such as `up to 211.6 degrees`.
fn number(problem: &Problem) -> f64 {
    let limit = problem.limit.as_deref().unwrap_or_default();
    let found = limit.split(' ').find_map(|word| word.parse().ok());
    found.unwrap_or_else(|| panic!("{problem}"))
}

/// The way the inner edge of a curl's blade turns, in degrees from its beginning to where the tip
/// is rounded: of its mesh, whose rings of points begin on one edge and have the other half round.
fn headings(master: &Master, tip: f64, back: bool) -> Vec<f64> {
    let (_, mesh) = master.features.iter().find(|f| f.0 == "tail.curl").unwrap();
    let on = mesh.points.iter().filter(|p| p.y == 0.0);
    let rows: Vec<_> = on.collect();
    // But for the point that the root begins with and the one that the tip ends in.
    let (end, rows) = (rows[rows.len() - 1], &rows[1..rows.len() - 1]);
    let rings: Vec<_> = rows.chunks(2).map(|r| (r[0], r[1])).collect();
    let middles: Vec<_> = rings.iter().map(|(a, b)| nalgebra::center(a, b)).collect();
    let mut along = vec![0.0];
    for pair in middles.windows(2) {
        along.push(along[along.len() - 1] + (pair[1] - pair[0]).norm());
    }
    let last = along.len() - 1;
    let most = along[last] + (end - middles[last]).norm() - tip - 1e-3;
    let edge = rings.iter().zip(&along).filter(|(_, s)| **s <= most);
    let edge: Vec<_> = edge
        .map(|((up, down), _)| if back { up } else { down })
        .collect();
    let ways: Vec<[f64; 2]> = edge
        .windows(2)
        .map(|w| [w[1].x - w[0].x, w[1].z - w[0].z])
        .collect();
    let mut heading = 0.0;
    let mut all = vec![0.0];
    for w in ways.windows(2) {
        let [[a, b], [c, d]] = [w[0], w[1]];
        heading += libm::atan2(a * d - b * c, a * c + b * d).to_degrees();
        all.push(heading);
    }
    all
}

/// How often headings that have risen by more than a degree and a half fall again by as much.
fn falls(headings: &[f64]) -> usize {
    const SEEN: f64 = 1.5;
    let (mut low, mut high, mut rising, mut falls) = (0.0_f64, 0.0_f64, false, 0);
    for &h in headings {
        if rising {
            high = high.max(h);
            if h < high - SEEN {
                (rising, low, falls) = (false, h, falls + 1);
            }
        } else {
            low = low.min(h);
            if h > low + SEEN {
                (rising, high) = (true, h);
            }
        }
    }
    falls
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 20, ..ProptestConfig::default() })]
    /// Found by looking: an inner edge near the centre of its bend had two or three corners in it.
    #[test]
    fn the_inner_edge_of_a_curl_at_its_limit_bends_back_once_at_most(
        (length, height) in (25.0..90.0_f64, 3.0..20.0_f64),
        (thickness, tip) in (0.8..9.0_f64, 0.4..1.0_f64),
        back in any::<bool>(),
    ) {
        let thickness = thickness.min(height);
        let text = |turn: f64, length: f64, height: f64| format!(
            "{ROUND}mesh.tolerance = 0.05\ntail.curl = {{ length = {length}, height = {height}, \
             thickness = {}, tip = {}, turn = {turn}, towards = '{}' }}\n",
            thickness.min(height),
            (tip * thickness).max(0.4).min(height),
            if back { "back" } else { "belly" },
        );
        let (mut turn, mut long, mut high) = (540.0, length, height);
        // What is told is accepted, at once.
        if let Err(problem) = built(&text(turn, long, high)) {
            match problem.path.as_str() {
                "tail.curl.turn" if problem.limit.is_some() => turn = number(&problem),
                "tail.curl.height" => high = number(&problem),
                "tail.curl.length" => long = number(&problem),
                _ => return Ok(()),
            }
        }
        let (_, master) = made(&text(turn, long, high));
        let tip = (tip * thickness).max(0.4).min(high);
        let mut inner = headings(&master, tip, back);
        let curls = inner.last().copied().unwrap_or(0.0).signum();
        inner.iter_mut().for_each(|h| *h *= curls);
        prop_assert!(falls(&inner) <= 1, "{inner:?}\n{}", text(turn, long, high));
        // No step of it turns by much: a corner.
        let corner = inner.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f64::max);
        prop_assert!(corner < 25.0, "{corner} {inner:?}\n{}", text(turn, long, high));
    }
}

#[test]
fn a_curl_that_was_ragged_is_refused_with_one_that_is_not() {
    let text =
        |turn: f64| format!("{ROUND}tail.curl = {{ length = 50, height = 20, turn = {turn} }}\n");
    let problem = built(&text(215.7)).unwrap_err();
    assert_eq!(problem.path, "tail.curl.turn");
    let most = number(&problem);
    assert!((150.0..215.0).contains(&most), "{problem}");
    made(&text(most));
    assert!(built(&text(most + 1.0)).is_err());
}

/// Half the height of a master so far from the nose.
fn half(sliced: &Sliced, x: f64) -> f64 {
    let [low, high] = sliced.section(x).span(1).unwrap_or_default();
    0.5 * (high - low)
}

#[test]
fn a_taper_goes_on_straight_from_where_it_touches_the_body() {
    // The tangents of a round end; and of a flat end its edge, which is what they touch first.
    for (end, least, most) in [("round", 45.0, 60.0), ("flat", 69.9, 70.0)] {
        let text = format!(
            "mesh.tolerance = 0.02\nbody = {{ length = 70, tail = '{end}', outline = [{{ at = 20, diameter = 16 }}, \
             {{ at = 45, diameter = 14.5 }}{}] }}\ntail.taper = {{ length = 40 }}\n",
            if end == "flat" {
                ", { at = 70, diameter = 9 }"
            } else {
                ""
            }
        );
        let (body, master) = made(&text);
        let note = master
            .notes
            .iter()
            .find(|n| n.starts_with("tail.taper.root, left out"));
        let note = note.unwrap_or_else(|| panic!("{:?}", master.notes));
        let begins = note
            .split("begins ")
            .nth(1)
            .unwrap()
            .split(' ')
            .next()
            .unwrap();
        let begins: f64 = begins.parse().unwrap();
        assert!((least..=most).contains(&begins), "{note}");
        let sliced = Sliced::new(master.mesh.clone());
        // Half the tip of 1.5 mm, where it begins to be rounded.
        let (from, tip) = (body.back.height(begins), [110.0 - 0.75, 0.75]);
        for k in 1..20 {
            let share = f64::from(k) / 20.0;
            let x = begins + (tip[0] - begins) * share;
            let line = from + (tip[1] - from) * share;
            let is = half(&sliced, x);
            // The root is a tenth of a millimetre under the surface.
            assert!((is - line).abs() < 0.15, "{x}: {is} {line}\n{text}");
        }
        for k in 1..10 {
            let x = begins - 2.0 * f64::from(k);
            assert!((half(&sliced, x) - body.back.height(x)).abs() < 0.05, "{x}");
        }
        if end == "round" {
            let slope = (tip[1] - from) / (tip[0] - begins);
            assert!((body.back.slope(begins) - slope).abs() < 0.05, "{slope}");
        }
    }
}

#[test]
fn a_taper_that_cannot_go_on_from_the_body_has_a_root_as_before() {
    // Thicker at its tip than the end of the body is near it; or with a root of its own.
    let text = format!("{ROUND}tail.taper = {{ length = 40, root = 8 }}\n");
    let notes = made(&text).1.notes;
    assert!(!notes.iter().any(|n| n.contains("left out")), "{notes:?}");
    let lean = "body = { length = 60, width = 0.5, outline = [{ at = 15, height = 12 }, { at = 50, height = 7 }] }\n";
    for width in [1.0, 0.4, 3.0] {
        let text = format!("{lean}tail.taper = {{ length = 30, tip = 3, width = {width} }}\n");
        if let Err(problem) = built(&text) {
            assert!(problem.limit.is_some() && width == 3.0, "{problem}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 20, ..ProptestConfig::default() })]
    #[test]
    fn random_tapers_make_sound_baits_that_leave_the_stations_as_drawn(
        (slim, aspect) in (6.0..16.0_f64, 0.3..3.0_f64),
        (share, section, uneven) in (0.4..0.95_f64, 1.7..4.0_f64, 0.45..1.0_f64),
        (length, end, bow) in (8.0..90.0_f64, 0usize..3, -4.0..4.0_f64),
    ) {
        let middle = if aspect < 1.0 { slim / aspect } else { slim };
        let end = ["round", "flat", "pointed"][end];
        let last = if end == "flat" { 90 } else { 72 };
        let text = format!(
            "body = {{ length = 90, width = {aspect}, section = {section}, tail = '{end}', camber = {bow}, \
             outline = [{{ at = 25, back = {}, belly = {} }}, {{ at = {last}, back = {}, belly = {} }}] }}\n\
             tail.taper = {{ length = {length} }}\n",
            0.5 * middle, 0.5 * uneven * middle, 0.5 * share * middle, 0.5 * share * uneven * middle
        );
        match built(&text) {
            Ok((body, master)) => {
                let sliced = Sliced::new(master.mesh);
                for x in [30.0, 50.0, 70.0] {
                    let height = body.back.height(x) + body.belly.height(x);
                    let is = 2.0 * half(&sliced, x);
                    prop_assert!((is - height).abs() < 0.12, "{x}: {is} {height}\n{text}");
                }
                // No step where it leaves the body, above, below or aside.
                let mut before: Option<[[f64; 2]; 2]> = None;
                for k in 0..200 {
                    let x = 68.0 + 0.15 * f64::from(k);
                    let section = sliced.section(x);
                    let Some(spans) = section.span(0).zip(section.span(1)) else {
                        break;
                    };
                    let now = [spans.0, spans.1];
                    if let Some(before) = before.replace(now) {
                        let step = now.iter().flatten().zip(before.iter().flatten());
                        let step = step.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
                        // A flat end is a step itself where the tip is thinner.
                        prop_assert!(step < 0.3 || end == "flat", "{step} at {x}\n{text}");
                    }
                }
            }
            Err(problem) => prop_assert!(problem.limit.is_some(), "{problem}\n{text}"),
        }
    }
}

#[test]
fn the_root_of_a_flat_fork_is_hidden_in_the_body() {
    // Found by looking: the square shoulders of its plate came out of a body of elliptic section.
    for (width, section) in [(2.5, 2.0), (4.0, 2.0), (4.0, 4.0)] {
        let text = format!(
            "body = {{ length = 80, width = {width}, section = {section}, outline = [{{ at = 25, height = 8 }}, \
             {{ at = 60, height = 6 }}] }}\ntail.fork = {{ length = 25, span = 34, plane = 'flat', thickness = 3 }}\n"
        );
        let (body, master) = made(&text);
        let (_, plate) = master.features.iter().find(|f| f.0 == "tail.fork").unwrap();
        let first = plate
            .points
            .iter()
            .fold(80.0_f64, |least, p| least.min(p.x));
        let end = plate.points.iter().filter(|p| p.x < first + 1e-6);
        let mut count = 0;
        for p in end {
            assert!(body.holds(p, 0.0), "{p}\n{text}");
            count += 1;
        }
        assert!(count > 1);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 20, ..ProptestConfig::default() })]
    /// Found by looking: the root of a high curl stood out of the flanks before the last station, and
    /// where belly and back differ a step ran along the back.
    #[test]
    fn roots_of_their_own_leave_the_stations_as_drawn(
        (last, size, width) in (52.0..67.0_f64, 5.0..12.0_f64, 0.6..1.8_f64),
        (high_share, uneven, paddle) in (0.6..1.6_f64, 0.45..1.0_f64, any::<bool>()),
    ) {
        let tail = if paddle {
            format!("tail.paddle = {{ diameter = 16, joint = {}, neck = 12 }}\n", 0.4 * high_share * size)
        } else {
            let high = high_share * size;
            format!("tail.curl = {{ length = {}, height = {high}, turn = 200 }}\n", 6.0 * high)
        };
        let text = format!(
            "body = {{ length = 70, width = {width}, outline = [{{ at = 22, back = 7, belly = {} }}, \
             {{ at = {last}, back = {}, belly = {} }}] }}\n{tail}",
            7.0 * uneven, 0.5 * size, 0.5 * uneven * size
        );
        match built(&text) {
            Ok((body, master)) => {
                let sliced = Sliced::new(master.mesh);
                for x in [last - 0.2, last - 3.0, last - 10.0] {
                    let section = sliced.section(x);
                    let ([right, left], [low, high]) = (section.span(0).unwrap(), section.span(1).unwrap());
                    let width = body.half_width.height(x);
                    let wanted = [width, width, body.back.height(x), body.belly.height(x)];
                    for (is, wanted) in [left, -right, high, -low].into_iter().zip(wanted) {
                        // No thinner than a joint, which may be thicker than the belly there.
                        let joint = if paddle { 0.2 * high_share * size } else { 0.0 };
                        prop_assert!(
                            is > wanted - 0.08 && is < wanted.max(joint) + 0.08,
                            "{x} {is} {wanted}\n{text}"
                        );
                    }
                }
            }
            Err(problem) => prop_assert!(problem.limit.is_some(), "{problem}\n{text}"),
        }
    }
}

#[test]
fn a_blade_is_no_higher_than_six_tenths_of_its_length() {
    let text = |length: f64, height: f64| {
        format!("{ROUND}tail.curl = {{ length = {length}, height = {height}, turn = 30 }}\n")
    };
    let what = "too high for so short a curl";
    let problem = built(&text(30.0, 30.0)).unwrap_err();
    assert_eq!(problem.path, "tail.curl.height");
    assert!(problem.what.contains(what), "{problem}");
    assert!((number(&problem) - 18.0).abs() < 0.021, "{problem}");
    made(&text(30.0, number(&problem)));
    made(&text(30.0, 17.99));
    assert!(built(&text(30.0, 18.03)).unwrap_err().what.contains(what));
}

#[test]
fn what_is_told_of_a_root_is_of_the_size_that_is_made() {
    for scale in [0.5, 2.0] {
        let text = format!(
            "scale = {scale}\n{ROUND}tail.taper = {{ length = 40 }}\nmesh.tolerance = 0.05\n"
        );
        let (body, master) = made(&text);
        let note = master
            .notes
            .iter()
            .find(|n| n.starts_with("tail.taper.root"));
        let note = note.unwrap_or_else(|| panic!("{:?}", master.notes));
        let (_, place) = note.split_once("begins ").unwrap();
        let place: f64 = place.split(' ').next().unwrap().parse().unwrap();
        assert!((0.6..0.99).contains(&(place / body.length())), "{note}");
    }
}
