//! Legs behind the tail and on the back, and the size of tails' meshes.

use std::f64::consts::PI;

use nalgebra::Point3;

use crate::body::{Body, Master};
use crate::mesh::Mesh;
use crate::spec::{self, Format};

const CRAWLER: &str = "
body.length = 80
body.outline = [{ at = 8, height = 12 }, { at = 28, height = 16 }, { at = 70, height = 12 }]
body.width = 1.2
";

fn master(text: &str) -> Master {
    let design = spec::design(text, Format::Toml).unwrap_or_else(|e| panic!("{e}\n{text}"));
    let master = Master::build(&design, &Body::from_design(&design))
        .unwrap_or_else(|e| panic!("{e}\n{text}"));
    master
        .mesh
        .check()
        .unwrap_or_else(|e| panic!("{e}\n{text}"));
    master
}

/// Tips of strands: points behind `end` that are farther from it than all their neighbours.
fn tips(mesh: &Mesh, end: f64) -> Vec<Point3<f64>> {
    let far = |i: u32| (mesh.points[i as usize] - Point3::new(end, 0.0, 0.0)).norm();
    let mut farthest = vec![true; mesh.points.len()];
    for t in &mesh.triangles {
        for k in 0..3 {
            let (i, j) = (t[k], t[(k + 1) % 3]);
            farthest[if far(i) < far(j) { i } else { j } as usize] = false;
        }
    }
    let points = mesh.points.iter().zip(farthest);
    let tips = points.filter(|(p, is)| *is && p.x > end + 1.0);
    tips.map(|(p, _)| *p).collect()
}

#[test]
fn bunches_leave_the_tail_by_their_length() {
    for camber in ["", "body.camber = 3\n"] {
        let body = format!("{CRAWLER}{camber}");
        let design = spec::design(&body, Format::Toml).unwrap();
        let trunk = Body::from_design(&design).mesh(0.005).unwrap();
        let away = |p: &Point3<f64>| {
            let all = trunk.points.iter().map(|q| (q - p).norm());
            all.fold(f64::INFINITY, f64::min)
        };
        for bunch in ["fan", "cone"] {
            for count in [1, 2, 3, 4, 5, 8] {
                for (length, spread) in [(30.0, 60.0), (12.0, 90.0_f64)] {
                    let text = format!(
                        "{body}[[legs]]\ncount = {count}\nlength = {length}\nroot = 2.4\ntip = 1\nspread = {spread}\nbunch = '{bunch}'\n"
                    );
                    let tips = tips(&master(&text).mesh, 80.0);
                    assert_eq!(tips.len(), count, "{text}{tips:?}");
                    for tip in &tips {
                        // It is no farther from the body than the strand is long, and not much
                        // nearer, for none leaves the flank at a slant.
                        let off = away(tip);
                        let near = off <= length + 0.1 && off > 0.7 * length;
                        assert!(near, "{text}{tip}: {off}");
                        let ahead = length * libm::cos(0.5 * spread.to_radians());
                        assert!(tip.x > 80.0 + ahead - 10.0, "{text}{tip}");
                    }
                }
            }
        }
    }
}

#[test]
fn a_cone_of_one_lies_along_the_axis() {
    let legs = "[[legs]]\ncount = 1\nlength = 20\nroot = 3\ntip = 1\nspread = 80\nbunch = 'cone'\n";
    let b = master(&format!("{CRAWLER}{legs}")).mesh.bounds().unwrap();
    assert!((b.max.x - 100.0).abs() < 0.05, "{}", b.max.x);
    assert!(
        master(&format!("{CRAWLER}{legs}"))
            .mesh
            .points
            .iter()
            .filter(|p| p.x > 81.0)
            .all(|p| p.z.abs() < 1.6)
    );
}

#[test]
fn legs_on_back_and_belly_bend_backward_however_they_lean() {
    let fish = "body.length = 80
        body.outline = [{ at = 8, height = 12 }, { at = 28, height = 18 }, { at = 70, height = 7 }]
        body.width = 0.7\n";
    for angle in [0, 10, 180] {
        let mut before = f64::NEG_INFINITY;
        // Leaning further, each comes out further back, by and by.
        for lean in [-20, -10, 0, 10, 14, 15, 20, 30] {
            let legs = format!(
                "[[legs]]\nat = 40\nangle = {angle}\ncount = 1\nlength = 20\nroot = 3\ntip = 1.5\nlean = {lean}\ndroop = "
            );
            let tip = |droop: i32| {
                let design = spec::design(&format!("{fish}{legs}{droop}\n"), Format::Toml).unwrap();
                let master = Master::build(&design, &Body::from_design(&design)).unwrap();
                master.thinnest[0].at
            };
            let (straight, bent) = (tip(0), tip(60));
            assert!(
                bent.x > straight.x + 4.0,
                "{angle} {lean}: {straight} {bent}"
            );
            assert!(bent.x > before && bent.x < before.max(0.0) + 60.0);
            before = bent.x;
        }
    }
}

/// A rod of 12 mm across and 40 mm long.
fn rod(rest: &str, tolerance: f64) -> Master {
    master(&format!(
        "body.length = 40\nbody.outline = [{{ at = 0, height = 12 }}, {{ at = 40, height = 12 }}]\nmesh.tolerance = {tolerance}\n{rest}"
    ))
}

#[test]
fn discs_have_their_closed_volume_at_any_tolerance() {
    // A stadium of half-height a and straight half-width R − a turned about the axis: a disc
    // of 2a (R − a)² π and the outer half of a circle, π a²/2, whose centroid is 4a/(3π)
    // beyond R − a (Pappus).
    for (radius, tolerance) in [(7.0, 0.05), (50.0, 0.02), (50.0, 0.05)] {
        let a = 1.5;
        let inner: f64 = radius - a;
        let rim = 0.5 * PI * a * a * 2.0 * PI * (inner + 4.0 * a / (3.0 * PI));
        let exact = 2.0 * a * PI * inner * inner + rim;
        let outline = super::tails::disc(radius, tolerance);
        let disc = crate::mesh::plate::plate(&outline, 2.0 * a, a, tolerance).unwrap();
        disc.check().unwrap();
        let off = (disc.volume() - exact).abs();
        assert!(
            off < 0.5 * tolerance * disc.area(),
            "{radius} {tolerance}: {off}"
        );
        // And no point of its rim is off by more than that: chords stand in by their sag.
        let farthest = outline
            .iter()
            .fold(0.0, |m: f64, p| m.max(libm::hypot(p[0], p[1])));
        let middle = |k: usize| {
            let (p, q) = (outline[k], outline[(k + 1) % outline.len()]);
            libm::hypot(0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1]))
        };
        assert!(farthest - radius <= tolerance);
        assert!((0..outline.len()).all(|k| radius - middle(k) <= tolerance));
    }
}

#[test]
fn tails_converge_with_the_tolerance() {
    for tail in [
        "[tail.fork]\nlength = 90\nspan = 140\nroot = 10\n",
        "[tail.curl]\nlength = 160\nheight = 14\nturn = 300\nroot = 10\n",
        "[tail.paddle]\nneck = 60\njoint = 6\ndiameter = 100\n",
        "[tail.taper]\nlength = 60\nroot = 11\ntip = 8\n",
    ] {
        let volume = |tolerance: f64| {
            let master = rod(tail, tolerance);
            (master.bait_volume, master.mesh.area())
        };
        let (finest, _) = volume(0.01);
        for tolerance in [0.05, 0.1] {
            let (found, area) = volume(tolerance);
            let off = (found - finest).abs();
            assert!(
                off <= tolerance * area,
                "{tail} {tolerance}: {off} of {}",
                tolerance * area
            );
        }
    }
}
