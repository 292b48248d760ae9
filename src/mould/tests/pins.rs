//! Pins under and over weights.

use super::holding::{away, trimesh};
use super::seats::{WIRE, problem, read};
use super::*;
use crate::mould::seats::Pin;
use crate::rig::Shape;
use nalgebra::Vector3;

#[test]
fn pins_stand_off_the_weight_by_the_gap_and_leave_it_no_way() {
    for (shape, size) in [
        ("ball", ""),
        ("egg", "length = 9,"),
        ("cylinder", "length = 9,"),
        ("cone", "length = 8,"),
    ] {
        for parting in ["flank", "waist"] {
            for clearance in [0.0, 0.1] {
                let d = read(&format!(
                    "mould = {{ parting = \"{parting}\", seats.clearance = {clearance} }}\n\
                     weight = [{{ shape = \"{shape}\", diameter = 5, {size} at = 30, height = -0.5 }}]"
                ));
                let what = format!("{shape} {parting} {clearance}");
                let mould = build(&d);
                sound(&mould);
                assert!(
                    mould.seats.notes.is_empty(),
                    "{what}: {:?}",
                    mould.seats.notes
                );
                let stops = if matches!(shape, "cylinder" | "cone") {
                    2
                } else {
                    0
                };
                assert_eq!(mould.seats.pins.len(), 6 + stops, "{what}");
                let weight = Shape::of_weight(&d.rig.weights[0]);
                for (upper, half) in [(true, &mould.upper), (false, &mould.lower)] {
                    // Of all of a half, its pins come nearest to the weight.
                    let surface = trimesh(half);
                    let least = weight
                        .samples()
                        .iter()
                        .map(|p| away(&surface, &Mould::turn(mould.parting).apply(p)))
                        .fold(f64::INFINITY, f64::min);
                    assert!(
                        least > clearance - 0.01 && least < clearance + 0.2,
                        "{what}: {least}"
                    );
                    let pins: Vec<&Pin> = mould
                        .seats
                        .pins
                        .iter()
                        .filter(|p| p.upper == upper)
                        .collect();
                    assert_eq!(pins.len(), 3 + stops / 2);
                    // Tips of the half's own mesh, against the shape.
                    for pin in pins {
                        assert!(pin.length < 5.0 * 2.0 * pin.radius + 1e-9);
                        let near = half
                            .points
                            .iter()
                            .filter(|p| (*p - pin.tip).norm() < 1.02 * pin.radius);
                        let gaps = near.map(|p| weight.distance(&mould.in_body(p)));
                        let least = gaps.fold(f64::INFINITY, f64::min);
                        assert!(
                            least > clearance - 0.01 && least < clearance + 0.06,
                            "{what}: {least}"
                        );
                    }
                }
                // The cavity is what it was, less the pins.
                let mut plain = d.clone();
                plain.mould.seats.weights = Some(false);
                let plain = build(&plain);
                assert!(plain.seats.pins.is_empty());
                let taken = mould.seats.pin_solids(&[0.0], d.tolerance).unwrap();
                let whole = Solid::try_from(&plain.cavity).unwrap();
                let taken: f64 = taken
                    .iter()
                    .flatten()
                    .map(|p| whole.intersection(p).unwrap().volume())
                    .sum();
                let off = plain.cavity.volume() - taken - mould.cavity.volume();
                assert!(off.abs() < 1e-9 * plain.cavity.volume(), "{what}: {off}");
            }
        }
    }
}

#[test]
fn a_weight_on_a_seated_wire_needs_no_pins() {
    let strung = "weight = [{ diameter = 5, at = 30, hole = 1 }]\n";
    assert!(
        build(&read(&format!("{WIRE}{strung}")))
            .seats
            .pins
            .is_empty()
    );
    let insisted = format!("{WIRE}{strung}mould.seats.weights = true");
    assert_eq!(build(&read(&insisted)).seats.pins.len(), 6);
    // A wire that is threaded afterwards holds nothing.
    let loose = format!("{WIRE}{strung}mould.seats.wire = false");
    let mould = build(&read(&loose));
    assert_eq!((mould.seats.pins.len(), mould.seats.seats.len()), (6, 0));
}

/// How many pieces a mesh is of.
fn pieces(mesh: &Mesh) -> usize {
    let mut part: Vec<usize> = (0..mesh.points.len()).collect();
    fn root(part: &mut [usize], mut i: usize) -> usize {
        while part[i] != i {
            part[i] = part[part[i]];
            i = part[i];
        }
        i
    }
    for t in &mesh.triangles {
        let [a, b, c] = t.map(|i| root(&mut part, i as usize));
        part[b] = a;
        let c = root(&mut part, c);
        let a = root(&mut part, a);
        part[c] = a;
    }
    let used: std::collections::BTreeSet<u32> = mesh.triangles.iter().flatten().copied().collect();
    let roots = used.iter().map(|&i| root(&mut part, i as usize));
    roots.collect::<std::collections::BTreeSet<_>>().len()
}

#[test]
fn pins_stand_on_their_halves_and_clear_of_cores() {
    // From within the sprue on.
    let mut told = 0;
    for at in [2.0, 2.5, 3.0, 30.0] {
        let mould = build(&read(&format!(
            "weight = [{{ diameter = 2, at = {at}, height = 0 }}]\nmould.sprue.gate = 6"
        )));
        assert_eq!([&mould.upper, &mould.lower].map(pieces), [1, 1], "{at}");
        let notes = mould.seats.notes.join(" ");
        assert_eq!(mould.seats.pins.is_empty(), !notes.is_empty(), "{notes}");
        told += usize::from(notes.contains("where a channel opens"));
    }
    assert!(told > 0, "{told}");
    // A bore above the weight, where pins of the waist's upper half would stand.
    let cored = "weight = [{ diameter = 3, at = 28, height = -4 }]\nbore = [{ diameter = 2 }]\n\
                 mould.parting = \"waist\"";
    let mould = build(&read(cored));
    assert!(mould.seats.pins.is_empty());
    assert!(mould.seats.notes.iter().any(|n| n.contains("weight[0]")));
}

#[test]
fn pins_too_wide_for_a_weight_are_refused_with_what_would_do() {
    let text = "weight = [{ diameter = 4, at = 28 }]\nmould.seats = { weights = true, pin = ";
    let found = problem(&format!("{text}6 }}"));
    assert!(found.hint.unwrap().contains("at most 2.4 mm"));
    let d = read(&format!("{text}2.4 }}"));
    let mould = build(&d);
    let weight = Shape::of_weight(&d.rig.weights[0]);
    let gap = d.mould.seats.clearance;
    // All over the tip, which rings of samples do not see.
    for pin in &mould.seats.pins {
        for i in -40..=40 {
            for j in -40..=40 {
                let [u, v] = [i, j].map(|k| f64::from(k) / 40.0);
                if u * u + v * v <= 1.0 {
                    let p = pin.tip + Vector3::new(u, v, 0.0) * pin.radius;
                    assert!(weight.distance(&mould.in_body(&p)) > gap - 0.01);
                }
            }
        }
    }
}
