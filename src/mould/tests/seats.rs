//! Seats of wire, hook, skirt and weights, against shapes that are made and measured by other means.

use super::*;
use crate::mesh::turned::{band, turned};
use crate::mould::seats::{Form, Held};
use crate::rig::{Shape, WireCourse, hook_course};
use nalgebra::{Isometry3, Point3, UnitQuaternion, Vector3};
use parry3d_f64::query::PointQuery;
use parry3d_f64::shape::TriMesh;
use proptest::prelude::*;

const FISH: &str = "body = { length = 80, width = 0.7, outline = [\n\
    { at = 8, height = 13 }, { at = 28, height = 20 }, { at = 58, height = 13 }] }\n";

pub(super) fn read(text: &str) -> Design {
    crate::spec::design(&format!("{FISH}{text}\n"), Format::Toml).unwrap_or_else(|e| panic!("{e}"))
}

pub(super) fn problem(text: &str) -> Problem {
    let d = read(text);
    match Mould::build(&d, &Body::from_design(&d)) {
        Err(MouldError::Spec(problems)) => {
            assert_eq!(problems.0.len(), 1, "{problems}");
            problems.0[0].clone()
        }
        Ok(_) => panic!("{text} was made"),
        Err(other) => panic!("{other}"),
    }
}

fn trimesh(mesh: &Mesh) -> TriMesh {
    let points = mesh.points.iter().map(|p| [p.x, p.y, p.z].into());
    TriMesh::new(points.collect(), mesh.triangles.clone()).unwrap()
}

fn away(from: &TriMesh, p: &Point3<f64>) -> f64 {
    from.distance_to_local_point([p.x, p.y, p.z].into(), false)
}

/// A stiff round piece of wire from one point to another.
pub(super) fn rod(a: &Point3<f64>, b: &Point3<f64>, radius: f64) -> Mesh {
    let turn = UnitQuaternion::rotation_between(&Vector3::x(), &(b - a)).unwrap_or_else(|| {
        UnitQuaternion::from_axis_angle(&Vector3::z_axis(), std::f64::consts::PI)
    });
    let at = Isometry3::from_parts(a.coords.into(), turn);
    turned(&[(0.0, radius), ((b - a).norm(), radius)], 0.005).transformed(&at)
}

/// A ring of wire in the plane y = 0 of the body, round `centre`.
fn ring(centre: &Point3<f64>, radius: f64, wire: f64) -> Mesh {
    let section: Vec<(f64, f64)> = (0..24)
        .map(|i| {
            let (s, c) = libm::sincos(2.0 * std::f64::consts::PI * f64::from(i) / 24.0);
            (wire * c, radius + wire * s)
        })
        .collect();
    band(&section, 24, |_| 0.0)
        .mapped(&AxisMap::Y_ALONG)
        .translated(&centre.coords)
}

/// Wire and hook as solids in the body's axes, with their turns as a rod three wires thick.
fn inserts(d: &Design) -> Vec<Mesh> {
    let mut meshes = Vec::new();
    if let Some(wire) = &d.rig.wire {
        let course = WireCourse::of(wire, d.body.length);
        meshes.push(rod(&course.run[0], &course.run[1], 0.5 * wire.diameter));
        for (end, eye) in course.run.iter().zip(course.eyes) {
            let Some(eye) = eye else { continue };
            if wire.twists > 0 {
                meshes.push(rod(end, &eye.root, 1.5 * wire.diameter));
            }
            meshes.push(ring(&eye.centre, eye.radius, 0.5 * wire.diameter));
        }
    }
    if let Some(hook) = &d.rig.hook {
        let [_, rest] = hook_course(hook);
        meshes.extend(rest.windows(2).map(|w| rod(&w[0], &w[1], 0.5 * hook.wire)));
        let at = Point3::new(hook.at, 0.0, hook.height);
        meshes.push(ring(&at, 0.5 * (hook.eye + hook.wire), 0.5 * hook.wire));
    }
    meshes
}

/// What of the inserts, laid in the closed mould, is where the halves are, in mm³.
pub(super) fn overlap(d: &Design, mould: &Mould) -> f64 {
    overlap_at(d, mould, (0.0, &mould.cavities))
}

/// The same of a bait that lies `along` from its own place, at some cavities.
pub(super) fn overlap_at(d: &Design, mould: &Mould, (along, at): (f64, &[f64])) -> f64 {
    let halves = [&mould.upper, &mould.lower].map(|half| Solid::try_from(half).unwrap());
    let mut total = 0.0;
    for mesh in inserts(d) {
        let placed = mesh.mapped(&Mould::turn(mould.parting));
        placed.check().unwrap();
        for &y in at {
            let laid = placed.clone().translated(&Vector3::new(along, y, 0.0));
            let laid = Solid::try_from(&laid).unwrap();
            for half in &halves {
                total += laid.intersection(half).map_or(0.0, |both| both.volume());
            }
        }
    }
    total
}

pub(super) const WIRE: &str =
    "mould.sprue.end = \"tail\"\nwire = { diameter = 0.8, from = -2, to = 60 }\n";
pub(super) const HOOK: &str =
    "hook = { at = 16, height = 2, wire = 1, shank = 26, gap = 12, bend = 14 }\n";
pub(super) const WEIGHT: &str = "weight = [{ diameter = 5, at = 30, height = -4 }]\n";

#[test]
fn wire_and_hook_lie_in_the_closed_mould_with_their_gap() {
    for clearance in [0.05, 0.1, 0.3] {
        let d = read(&format!("{WIRE}{HOOK}mould.seats.clearance = {clearance}"));
        let mould = build(&d);
        sound(&mould);
        assert!(overlap(&d, &mould) == 0.0, "{}", overlap(&d, &mould));
        assert!(mould.seats.volume > 10.0);
        // All round straight wire, and round the hook's bend, the halves are as far as they should be.
        let halves = [&mould.upper, &mould.lower].map(trimesh);
        let turn = Mould::turn(mould.parting);
        let bend = hook_course(&d.rig.hook.unwrap())[1].clone();
        let mut looked = 0;
        for (line, radius) in [
            (
                vec![Point3::new(-1.8, 0.0, 0.0), Point3::new(-0.8, 0.0, 0.0)],
                0.4,
            ),
            (bend, 0.5),
        ] {
            let shape = Shape::Strands {
                lines: vec![line],
                radius,
            };
            let cavity = crate::rig::Plastic::new(mould.cavity.clone());
            for (p, _) in shape.course(0.5) {
                let p = turn.apply(&p);
                // Clear of where it goes into the body, and of its own end.
                if radius > 0.4 && cavity.depth(&p) > -2.0 * radius - clearance {
                    continue;
                }
                let least = halves
                    .iter()
                    .map(|h| away(h, &p))
                    .fold(f64::INFINITY, f64::min);
                assert!((least - radius - clearance).abs() < 0.01, "{p} {least}");
                looked += 1;
            }
        }
        assert!(looked > 30, "{looked}");
    }
}

#[test]
fn eyes_and_turns_have_room_and_no_more_than_that() {
    for parting in ["flank", "waist"] {
        for (twists, eye) in [(3, 3.0), (6, 1.5), (2, 5.0)] {
            let d = read(&format!(
                "mould = {{ parting = \"{parting}\", sprue.end = \"tail\" }}\n\
                 wire = {{ diameter = 0.9, to = 50, eye = {eye}, twists = {twists} }}"
            ));
            let mould = build(&d);
            sound(&mould);
            assert_eq!(overlap(&d, &mould), 0.0, "{parting} {twists}");
            let kinds: Vec<Held> = mould.seats.seats.iter().map(|s| s.held).collect();
            assert!(kinds.contains(&Held::Wrapped) && kinds.contains(&Held::Eye));
            // A pocket is wider than the loop by the gap and what hand-bent loops need.
            let pocket = mould
                .seats
                .seats
                .iter()
                .find(|s| s.held == Held::Eye)
                .unwrap();
            assert!((pocket.radius - (0.5 * eye + 0.9 + 0.1 + 0.3)).abs() < 1e-9);
            let Form::Pocket { half, .. } = pocket.form else {
                panic!()
            };
            assert!((half - 0.55).abs() < 1e-9);
            // Its turns are what closes on it.
            let land = mould.seats.exits[0].land;
            assert!(
                (land - (0.9 * f64::from(twists) - 0.85)).abs() < 0.02,
                "{land}"
            );
            assert!(
                mould.seats.notes[0].contains("wire.from"),
                "{:?}",
                mould.seats.notes
            );
        }
    }
}

#[test]
fn nothing_of_a_seat_holds_a_rigid_half() {
    let d = read(&format!("{WIRE}{HOOK}{WEIGHT}"));
    lets_go(&build(&d));
}

#[test]
fn what_cannot_be_seated_is_a_note_or_an_error_if_insisted_on() {
    for (text, key, words) in [
        (
            format!("{HOOK}mould.parting = \"waist\""),
            "hook",
            "parting = \"flank\"",
        ),
        (
            format!(
                "{}mould.parting = \"waist\"",
                WIRE.replace("from", "height = 1.5, from")
            ),
            "wire",
            "1.5 mm above the parting face",
        ),
        (
            "wire = { diameter = 0.8, to = 60 }".to_owned(),
            "wire",
            "mould.sprue.end = \"tail\"",
        ),
        (
            format!("{WIRE}bore = [{{ diameter = 1, to = [\"60 mm\", 0] }}]"),
            "wire",
            "threaded afterwards",
        ),
        (
            "weight = [{ diameter = 2, at = 28, height = 0 }]\nmould.seats.pin = 0.8".to_owned(),
            "weights",
            "times as long as they are thick",
        ),
    ] {
        let mould = build(&read(&text));
        sound(&mould);
        let notes = mould.seats.notes.join("\n");
        assert!(notes.contains(words), "{text}: {notes}");
        let found = problem(&format!("{text}\nmould.seats.{key} = true"));
        assert_eq!(found.path, format!("mould.seats.{key}"));
        let said = format!("{found}");
        assert!(
            said.contains(words) || found.hint.unwrap().contains(words),
            "{said}"
        );
    }
}

#[test]
fn a_seat_that_opens_into_the_cavity_is_named_with_the_number_that_closes_it() {
    // No turns: the pocket of the eye lies against the nose.
    let text = "mould.sprue.end = \"tail\"\nwire = { diameter = 0.8, to = 60, twists = 0, from = ";
    let found = problem(&format!("{text}0 }}"));
    assert_eq!(found.path, "mould.seats.wire");
    assert_eq!(found.limit.as_deref(), Some("at least 0.4 mm"));
    let hint = found.hint.unwrap();
    let (_, from) = hint.split_once("further out: wire.from = ").unwrap();
    let from: f64 = from.split(' ').next().unwrap().parse().unwrap();
    let d = read(&format!("{text}{from} }}"));
    let mould = build(&d);
    sound(&mould);
    assert_eq!(overlap(&d, &mould), 0.0);
    // It is told to half a millimetre.
    let short = from + 0.5;
    problem(&format!("{text}{short} }}"));

    // A shank that lies half in the skin of the back opens along it.
    let found = problem("hook = { at = 16, height = 9.4, wire = 1, shank = 26, gap = 9 }");
    assert_eq!(found.path, "mould.seats.hook");
    assert!(found.what.contains("opens into the cavity"), "{found}");
    assert!(found.value.unwrap().contains("from the nose"));
}

#[test]
fn a_bare_end_has_its_room_however_short_it_is() {
    // Found among the random ones: it stood out by less than can be held, and had no room at all.
    for to in [76.873, 79.0, 81.0] {
        let d = read(&format!(
            "mould = {{ parting = \"flank\", seats.clearance = 0.287 }}\n\
             wire = {{ diameter = 0.4, height = 2.7067, from = 0, to = {to}, twists = 2, eye = 1 }}"
        ));
        let mould = build(&d);
        sound(&mould);
        assert_eq!(overlap(&d, &mould), 0.0, "{to}");
        let told = mould
            .seats
            .notes
            .iter()
            .any(|n| n.contains("nothing can hold"));
        assert_eq!(told, to < 77.0, "{to}");
    }
}

#[test]
fn vents_sprue_and_keys_keep_clear_of_seats() {
    let d = read(&format!("{WIRE}{HOOK}mould.bolts = \"M4\""));
    let mould = build(&d);
    assert_eq!(mould.channels.vents.len(), 2);
    let taken = mould.seats.footprint();
    for vent in &mould.channels.vents {
        let (a, b) = (vent.bounds.min, vent.bounds.max);
        for &([x, y], radius) in &taken {
            let dx = (a.x - x).max(x - b.x).max(0.0);
            let dy = (a.y - y).max(y - b.y).max(0.0);
            assert!(libm::hypot(dx, dy) > radius + 1.0);
        }
    }
    for key in &mould.keys {
        for &([x, y], radius) in &taken {
            assert!(libm::hypot(x - key.at[0], y - key.at[1]) > key.socket_radius() + radius + 1.0);
        }
    }
    // The hook lies well within the block.
    let bounds = mould.block;
    for &([x, y], radius) in &taken {
        assert!(y - radius - bounds.min.y > 9.4 && bounds.max.y - y - radius > 9.4);
        assert!(x - radius - bounds.min.x > 2.9);
    }
}

#[test]
fn every_cavity_and_every_route_has_its_seats() {
    let text = format!("{WIRE}{HOOK}{WEIGHT}");
    let three = read(&format!("{text}mould.cavities = 3"));
    let mould = build(&three);
    sound(&mould);
    assert_eq!(overlap(&three, &mould), 0.0);
    let one = build(&read(&text));
    assert!((mould.seats.volume - 3.0 * one.seats.volume).abs() < 1e-6);

    // Silicone grips what it holds: no gap, and next to no overlap.
    let d = read(&format!("{text}mould.route = \"boxes\""));
    assert_eq!(d.mould.seats.clearance, 0.0);
    let body = Body::from_design(&d);
    let mould = build(&d);
    sound(&mould);
    let master = Master::build(&d, &body).unwrap();
    for part in mould.parts(&d, &body, &master.mesh).unwrap() {
        for piece in &part.pieces {
            piece.check().unwrap();
        }
    }

    let board = read(&format!("{text}mould.route = \"board\""));
    let mould = build(&board);
    sound(&mould);
    // Both silicones show the grooves, and the board half of each with its room: what is laid into it
    // is clear of the board by that.
    assert!(mould.seats.holds("wire") && mould.seats.holds("hook"));
    assert!(mould.seats.pins.is_empty());
    let said = mould.seats.notes.join(" ");
    assert!(
        said.contains("weight[0]") && said.contains("bedding board"),
        "{said}"
    );
    let body = Body::from_design(&board);
    let master = Master::build(&board, &body).unwrap();
    let parts = mould.parts(&board, &body, &master.mesh).unwrap();
    let plain = read(&format!(
        "{text}mould.route = \"board\"\nmould.seats = {{ wire = false, hook = false }}"
    ));
    let without = build(&plain);
    let plain = without.parts(&plain, &body, &master.mesh).unwrap();
    let volume = |parts: &[parts::Printed], name: &str| -> f64 {
        let part = parts.iter().find(|part| part.name == name).unwrap();
        part.pieces
            .iter()
            .map(|piece| {
                piece.check().unwrap();
                piece.volume()
            })
            .sum()
    };
    // Each former is what the seats take beside master and channels, which are as long as the block.
    let channels = mould.cavity.volume() - without.cavity.volume();
    let more = volume(&parts, "formers") - volume(&plain, "formers") - channels;
    assert!(
        (more - mould.seats.volume).abs() < 0.01,
        "{more} {}",
        mould.seats.volume
    );
    // Half of it and its room is taken from the board.
    let area = |m: &Mould| m.block.size().x * m.block.size().y;
    if area(&mould) == area(&without) {
        let less = volume(&plain, "board") - volume(&parts, "board");
        assert!(less > 0.5 * more && less < 1.2 * more, "{less} {more}");
    }
    // Pins that are insisted on cannot be had.
    let mut asked = board.clone();
    asked.mould.seats.weights = Some(true);
    let Err(MouldError::Spec(refused)) = Mould::build(&asked, &body) else {
        panic!("pins on a board")
    };
    assert_eq!(refused.0[0].path, "mould.seats.weights");
    assert!(refused.0[0].hint.as_ref().unwrap().contains("boxes"));
    let text = format!("{FISH}{text}mould.route = \"board\"\nmould.seats.weights = true");
    let refused = crate::spec::design(&text, Format::Toml).unwrap_err();
    assert_eq!(refused.0[0].path, "mould.seats.weights");
    assert!(refused.0[0].limit.as_ref().unwrap().contains("boxes"));
}

#[test]
fn a_skirt_that_is_cast_in_trails_out_of_the_block() {
    let skirt = "skirt = { strands = 40, strand_length = 50, strand_thickness = 0.8 }\n";
    let plain = build(&read(skirt));
    assert!(plain.seats.is_empty());
    let mould = build(&read(&format!(
        "{skirt}mould.seats.skirt = true\nmould.vents.count = 0"
    )));
    sound(&mould);
    // Strands of 0.8 mm that fill seven tenths of the channel's section.
    let seat = &mould.seats.seats[0];
    assert!((seat.radius.powi(2) * 0.7 / (40.0 * 0.16) - 1.0).abs() < 1e-9);
    let Form::Groove { line, .. } = &seat.form else {
        panic!()
    };
    assert_eq!(line[1].x, mould.block.max.x);
    let found = problem(&format!(
        "{skirt}mould = {{ seats.skirt = true, sprue.end = \"tail\" }}"
    ));
    assert_eq!(found.path, "mould.seats.skirt");
}

#[test]
fn a_wire_out_at_the_sprue_is_told_with_every_number_of_cavities() {
    for cavities in 1..=4 {
        let text = format!("wire = {{ diameter = 0.8, to = 60 }}\nmould.cavities = {cavities}");
        let mould = build(&read(&text));
        sound(&mould);
        assert!(mould.seats.exits[0].in_sprue, "{cavities}");
        let told = mould.seats.notes.iter();
        assert_eq!(told.filter(|n| n.contains("within the sprue")).count(), 1);
        let found = problem(&format!("{text}\nmould.seats.wire = true"));
        assert_eq!(found.path, "mould.seats.wire");
        assert!(found.what.contains("within the sprue"), "{found}");
    }
}

#[test]
fn grooves_for_air_keep_clear_of_the_seats_of_every_cavity() {
    // A horn of the back that points ahead, behind a hook that points up.
    for cavities in [1, 2] {
        let d = read(&format!(
            "hook = {{ at = 8, height = 2, wire = 1, shank = 18, gap = 13, bend = 14, point = \"up\" }}\n\
             mould = {{ parting = \"flank\", cavities = {cavities} }}"
        ));
        let body = Body::from_design(&d);
        let mut solid = Solid::try_from(&Master::build(&d, &body).unwrap().mesh).unwrap();
        for (min, max) in [
            ([48.0, -1.0, 0.0], [54.0, 1.0, 17.0]),
            ([42.0, -1.0, 14.0], [54.0, 1.0, 17.0]),
        ] {
            let horn = crate::mesh::cuboid(min, max);
            solid = solid.union(&Solid::try_from(&horn).unwrap()).unwrap();
        }
        let mould = Mould::around(&d, &body, &solid.to_mesh()).unwrap();
        sound(&mould);
        // Of two the runner bars the way of one.
        assert_eq!(mould.channels.grooves.len(), 1);
        let taken = mould.seats.footprints(&mould.cavities);
        for groove in &mould.channels.grooves {
            let [x, y] = groove.path[0];
            let before = |([sx, sy], r): &([f64; 2], f64)| *sx < x && (sy - y).abs() < r + 0.75;
            assert!(taken.iter().any(before), "no seat lies before {x} {y}");
            for pair in groove.path.windows(2) {
                for i in 0..=100 {
                    let t = f64::from(i) / 100.0;
                    let at = [0, 1].map(|k| pair[0][k] + t * (pair[1][k] - pair[0][k]));
                    for (seat, radius) in &taken {
                        let off = libm::hypot(at[0] - seat[0], at[1] - seat[1]);
                        assert!(off > radius + 0.5 * groove.width + 1.0, "{at:?} {seat:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn a_wire_that_only_nears_the_skin_on_its_way_needs_no_seat_there() {
    let waist = |height: f64| {
        let text = format!(
            "body = {{ length = 80, width = 0.7, outline = [\n\
             {{ at = 20, height = 16 }}, {{ at = 40, height = 6 }}, {{ at = 60, height = 16 }}] }}\n\
             wire = {{ diameter = 0.4, height = {height}, from = 20, to = 60 }}\n\
             mould = {{ parting = \"waist\", seats.clearance = 0.3 }}"
        );
        let d = crate::spec::design(&text, Format::Toml).unwrap();
        build(&d)
    };
    // Its middle 0.4 mm deep, then 0.1 mm: less than its own radius.
    let deep = waist(2.6);
    assert!(
        deep.seats.is_empty() && deep.seats.notes.is_empty(),
        "{:?}",
        deep.seats
    );
    let shallow = waist(2.9);
    assert!(
        shallow.seats.notes[0].contains("2.9 mm above the parting face (at "),
        "{:?}",
        shallow.seats.notes
    );
}

#[test]
fn a_hook_has_an_exit_for_each_place_where_it_leaves_the_body() {
    for (hook, count) in [
        (HOOK.to_owned(), 1),
        // Its eye out before the nose, its bend below the belly.
        (HOOK.replace("at = 16", "at = -4"), 2),
    ] {
        let mould = build(&read(&format!("mould.sprue.end = \"tail\"\n{hook}")));
        let exits = &mould.seats.exits;
        assert_eq!(exits.len(), count, "{exits:?}");
        for (i, exit) in exits.iter().enumerate() {
            assert!(!exit.at.is_empty());
            assert!(mould.seats.seats.iter().any(|seat| seat.exit == i));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn random_rigs_are_seated_soundly_or_named(
        wire in (0.4..1.5, -3.0..3.0, -6.0..4.0, 50.0..90.0, 0u32..7),
        eyes in (1.0..6.0, proptest::option::of(1.0..5.0)),
        hook in proptest::option::of((2.0..60.0, -6.0..6.0, 0.6..1.6, 8.0..40.0, 4.0..16.0, any::<bool>())),
        weight in (2.0..8.0, 15.0..60.0, -5.0..3.0, 0usize..4),
        mould in (any::<bool>(), any::<bool>(), 0.0..0.3, any::<bool>()),
    ) {
        let (diameter, height, from, to, twists) = wire;
        let (waist, tail, clearance, boxes) = mould;
        let clearance = if clearance < 0.02 { 0.0 } else { clearance };
        let mut text = format!(
            "wire = {{ diameter = {diameter}, height = {height}, from = {from}, to = {to}, \
             twists = {twists}, eye = {}{} }}\n",
            eyes.0,
            eyes.1.map_or(String::new(), |e| format!(", tail_eye = {e}")),
        );
        if let Some((at, height, wire, shank, gap, up)) = hook {
            let point = if up { "up" } else { "down" };
            text += &format!(
                "hook = {{ at = {at}, height = {height}, wire = {wire}, shank = {shank}, gap = {gap}, bend = {gap}, \
                 point = \"{point}\" }}\n"
            );
        }
        let shape = ["ball", "egg", "cylinder", "cone"][weight.3];
        text += &format!(
            "weight = [{{ shape = \"{shape}\", diameter = {}, at = {}, height = {} }}]\n\
             mould = {{ parting = \"{}\", sprue.end = \"{}\", route = \"{}\", seats.clearance = {clearance} }}",
            weight.0, weight.1, weight.2,
            if waist { "waist" } else { "flank" },
            if tail { "tail" } else { "nose" },
            if boxes { "boxes" } else { "block" },
        );
        let d = read(&text);
        match Mould::build(&d, &Body::from_design(&d)) {
            Ok(mould) => {
                sound(&mould);
                // What is seated whole lies in the mould; the wire may be a note, and go nowhere.
                let whole = mould.seats.notes.iter().all(|n| !n.starts_with("No seat"));
                if whole && clearance >= 0.02 {
                    let volume = overlap(&d, &mould);
                    prop_assert!(volume < 0.02, "{volume} mm³\n{text}");
                }
            }
            Err(MouldError::Spec(problems)) => {
                for problem in &problems.0 {
                    prop_assert!(problem.path.starts_with("mould."), "{problem}");
                    prop_assert!(problem.hint.is_some() || problem.limit.is_some(), "{problem}");
                }
            }
            Err(other) => return Err(TestCaseError::fail(format!("{other}\n{text}"))),
        }
    }
}
