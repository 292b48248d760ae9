//! Roots of tails in flat bodies.

use proptest::prelude::*;

use crate::body::{Body, Master, MasterError};
use crate::spec::{self, Format};

const TOLERANCE: f64 = 0.05;
/// Half of what every tail here is no thinner than.
const SLIM: f64 = 0.8;

const TAILS: [&str; 3] = [
    "tail.paddle = { neck = 16, joint = 1.6, diameter = 8",
    "tail.curl = { length = 50, height = 6, thickness = 1.6",
    "tail.taper = { length = 30, tip = 1.6",
];

fn spec(width: f64, [middle, end]: [f64; 2], flat: bool, tail: &str) -> String {
    let at = if flat { 90 } else { 75 };
    format!(
        "body.length = 90\nbody.width = {width}\nmesh.tolerance = {TOLERANCE}\n\
         body.outline = [{{ at = 25, height = {middle} }}, {{ at = {at}, height = {end} }}]\n{tail}"
    )
}

fn built(text: &str) -> Result<(Body, Master), MasterError> {
    let design = spec::design(text, Format::Toml).unwrap_or_else(|e| panic!("{e}\n{text}"));
    let body = Body::from_design(&design);
    let master = Master::build(&design, &body)?;
    master
        .mesh
        .check()
        .unwrap_or_else(|e| panic!("{e}\n{text}"));
    Ok((body, master))
}

fn notes(text: &str) -> Vec<String> {
    let notes = built(text)
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
        .1
        .notes;
    notes
        .into_iter()
        .filter(|n| n.contains(".root: "))
        .collect()
}

/// What is wrong with the part of the tail that is within the body's length.
fn stands_out(body: &Body, master: &Master) -> Option<String> {
    let (_, neck) = master
        .features
        .iter()
        .find(|(path, _)| path.starts_with("tail"))?;
    let end = body.length();
    let within: Vec<_> = neck.points.iter().filter(|p| p.x <= end - 0.02).collect();
    let reach = |k: usize| within.iter().fold(0.0, |most: f64, p| most.max(p[k].abs()));
    let [wide, high] = [reach(1), reach(2)];
    let face = end - 0.02;
    let (h, w) = (body.back.height(face), body.half_width.height(face));
    let strict = h.min(w) > SLIM + 0.2;
    // Its section does not change within the body.
    let first = within.iter().fold(end, |least, p| least.min(p.x));
    for k in 0..=400 {
        let x = first + (face - first) * f64::from(k) / 400.0;
        let (h, w) = (body.back.height(x), body.half_width.height(x));
        let out = (high - h).max(wide - w);
        if out <= TOLERANCE {
            continue;
        }
        // All round, or where the body is thinner than the tail is anywhere.
        let round = high > h - 0.5 && wide > w - 0.5;
        let slim = (high <= h + TOLERANCE || high <= SLIM + TOLERANCE)
            && (wide <= w + TOLERANCE || wide <= SLIM + TOLERANCE);
        if strict || !(round || slim) {
            return Some(format!("{high} x {wide} in {h} x {w}, {x} from the nose"));
        }
    }
    if strict {
        let trunk = body.mesh(TOLERANCE).unwrap();
        for p in within {
            if body.level(p.x, p.y, p.z) > 1.0 && trunk.distance(p) > TOLERANCE {
                return Some(format!("{p} is out of the trunk"));
            }
        }
    }
    None
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 60, ..ProptestConfig::default() })]
    #[test]
    fn random_bodies_keep_the_roots_of_their_tails(
        (slim, aspect) in (6.0..16.0_f64, 0.25..4.0_f64),
        (share, section) in (0.3..0.95_f64, 1.7..4.0_f64),
        // A taper that may choose its root goes on from the body instead.
        (flat, kind) in (any::<bool>(), 0usize..2),
    ) {
        let middle = if aspect < 1.0 { slim / aspect } else { slim };
        let tail = format!("body.section = {section}\n{} }}", TAILS[kind]);
        let text = spec(aspect, [middle, share * middle], flat, &tail);
        match built(&text) {
            Ok((body, master)) => {
                let wrong = stands_out(&body, &master);
                prop_assert!(wrong.is_none(), "{wrong:?}\n{text}");
                prop_assert!(!master.notes.iter().any(|n| n.contains(".root: ")), "{text}");
            }
            Err(MasterError::Spec(problems)) => prop_assert!(
                problems.0.iter().all(|p| p.path.starts_with("tail") && p.hint.is_some()),
                "{problems}\n{text}"
            ),
            Err(other) => return Err(TestCaseError::fail(format!("{other}\n{text}"))),
        }
    }
}

#[test]
fn roots_of_flat_bodies_are_flattened() {
    // Both ways three times as wide as thick, with flat ends and round ones.
    for (aspect, sizes) in [(3.0, [7.0, 4.0]), (1.0 / 3.0, [21.0, 12.0])] {
        for flat in [true, false] {
            for tail in &TAILS[..2] {
                let text = spec(aspect, sizes, flat, &format!("{tail} }}"));
                let (body, master) = built(&text).unwrap_or_else(|e| panic!("{e}\n{text}"));
                assert_eq!(stands_out(&body, &master), None, "{text}");
            }
        }
    }
}

#[test]
fn a_root_that_is_asked_for_is_made_and_told_where_it_stands_out() {
    for tail in TAILS {
        let text = |root: &str| spec(3.0, [9.0, 4.0], true, &format!("{tail}, root = {root} }}"));
        // 6 mm are held 25 mm before the end; the end itself is 4 mm thick.
        let [note] = &notes(&text("6"))[..] else {
            panic!("{tail}")
        };
        assert!(
            note.contains("with 6 mm") && note.contains("back and belly"),
            "{note}"
        );
        let limit = note
            .split("at most ")
            .nth(1)
            .unwrap()
            .split(' ')
            .next()
            .unwrap();
        let fits: f64 = limit.parse().unwrap();
        assert!((3.6..4.0).contains(&fits), "{note}");
        assert_eq!(notes(&text(limit)), [""; 0], "{tail}");
        let upright = spec(
            1.0 / 3.0,
            [27.0, 12.0],
            true,
            &format!("{tail}, root = 6 }}"),
        );
        assert!(notes(&upright)[0].contains("sides"), "{tail}");
    }
}

#[test]
fn roots_of_forks_that_stand_out_are_told_with_the_place_and_what_does_not() {
    let round = |tail: &str| {
        format!(
            "body = {{ length = 60, outline = [{{ at = 15, height = 12 }}, \
             {{ at = 50, height = 7 }}] }}\nmesh.tolerance = {TOLERANCE}\n\
             tail.fork = {{ length = 20, span = 22, {tail} }}\n"
        )
    };
    // 7 mm high the body is 50 mm from the nose.
    let [note] = &notes(&round("root = 6.7"))[..] else {
        panic!()
    };
    assert!(note.contains("back and belly 5"), "{note}");
    let place: f64 = note
        .split("belly ")
        .nth(1)
        .unwrap()
        .split(' ')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    assert!((50.0..53.0).contains(&place), "{note}");
    let limit = note
        .split("at most ")
        .nth(1)
        .unwrap()
        .split(' ')
        .next()
        .unwrap();
    assert_eq!(notes(&round(&format!("root = {limit}"))), [""; 0]);
    // The one that is left out keeps the tail on, and is told as well.
    let told = notes(&round("plane = 'flat'"));
    assert!(told[0].contains("comes out of its sides"), "{told:?}");
}

#[test]
fn a_fin_that_sinks_into_a_bulge_is_told_how_far() {
    let text = |root: f64| {
        format!(
            "body = {{ length = 80, outline = [{{ at = 22, height = 18 }}, {{ at = 58, height = 9 }}] }}\n\
             fin = [{{ at = 5, root = {root}, outline = [{{ at = {}, height = 5 }}] }}]\n",
            0.3 * root
        )
    };
    let told = |text: &str| {
        let (body, master) = built(text).unwrap();
        let note = master.notes.iter().find(|n| n.contains("bulges")).cloned();
        note.map(|note| (body, note))
    };
    let (body, note) = told(&text(63.5)).unwrap();
    let number = |before: &str, after: &str| -> f64 {
        let (_, rest) = note.split_once(before).unwrap();
        rest.split(after).next().unwrap().parse().unwrap()
    };
    let (x, over) = (number("about ", " mm"), number("bulges ", " mm"));
    // The chord from the back at 5 mm to the back behind.
    let (front, rear) = (body.back.height(5.0), body.back.height(68.3));
    let chord = front + (rear - front) * (x - 5.0) / 63.3;
    assert!((body.back.height(x) - chord - over).abs() < 0.4, "{note}");
    assert!(told(&text(20.0)).is_none());
}
