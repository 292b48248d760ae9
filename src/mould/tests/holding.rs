//! Keys of every shape, bolts, grooves and notches.

use super::*;
use crate::mesh::Bounds;
use crate::spec::{KeyShape, Thread};
use nalgebra::Point3;
use parry3d_f64::query::PointQuery;
use parry3d_f64::shape::TriMesh;

pub(super) fn trimesh(mesh: &Mesh) -> TriMesh {
    let points = mesh.points.iter().map(|p| [p.x, p.y, p.z].into());
    TriMesh::new(points.collect(), mesh.triangles.clone()).unwrap()
}

pub(super) fn away(from: &TriMesh, p: &Point3<f64>) -> f64 {
    from.distance_to_local_point([p.x, p.y, p.z].into(), false)
}

#[test]
fn closed_halves_leave_exactly_the_gap_at_the_keys() {
    for shape in [KeyShape::Cone, KeyShape::Dome, KeyShape::Bar] {
        for clearance in [0.1, 0.2, 0.5] {
            let mut d = design();
            d.tolerance = 0.02;
            d.mould.key_shape = shape;
            d.mould.key_height = 3.0;
            d.mould.key_clearance = clearance;
            // Wide enough for the largest.
            d.mould.wall = 12.0;
            let mould = build(&d);
            sound(&mould);
            let upper = trimesh(&mould.upper);
            let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
            // All of the lower half that stands over the parting plane, on its facets too.
            for t in 0..mould.lower.triangles.len() {
                let corners = mould.lower.corners(t);
                let middle =
                    nalgebra::center(&nalgebra::center(&corners[0], &corners[1]), &corners[2]);
                for p in corners.iter().chain([&middle]) {
                    if p.z > 1e-6 {
                        let gap = away(&upper, p);
                        least = least.min(gap);
                        most = most.max(gap);
                    }
                }
            }
            // Facets of both straddle their surfaces within the tolerance.
            assert!(least > clearance - 0.021, "{shape:?} {clearance}: {least}");
            assert!(most < clearance + 0.021, "{shape:?} {clearance}: {most}");
        }
    }
}

#[test]
fn keys_can_be_left_out() {
    let mut d = design();
    d.mould.key_count = Some(0);
    let mould = build(&d);
    sound(&mould);
    assert_eq!(mould.lower.bounds().unwrap().max.z, 0.0);
}

#[test]
fn bolts_keep_clear_of_everything() {
    for parting in [Parting::Flank, Parting::Waist] {
        for shape in [KeyShape::Cone, KeyShape::Bar] {
            let mut d = design();
            d.mould.parting = parting;
            d.mould.key_shape = shape;
            d.mould.bolts = Some(Thread::M5);
            let mould = build(&d);
            sound(&mould);
            let cavity = trimesh(&mould.cavity);
            assert_eq!(mould.holding.bolts.len(), 4);
            for bolt in &mould.holding.bolts {
                assert_eq!(bolt.radius, 2.75);
                let [x, y] = bolt.at;
                for i in 0..=40 {
                    let z = mould.block.min.z + mould.block.size().z * f64::from(i) / 40.0;
                    let land = away(&cavity, &Point3::new(x, y, z)) - bolt.radius;
                    assert!(land > 1.45, "{land}");
                }
                for key in &mould.keys {
                    let [along, across] = key.reach();
                    let dx = ((x - key.at[0]).abs() - along).max(0.0);
                    let dy = ((y - key.at[1]).abs() - across).max(0.0);
                    assert!(libm::hypot(dx, dy) > bolt.radius + 1.0);
                }
                let edge = [x - mould.block.min.x, mould.block.max.x - x]
                    .into_iter()
                    .chain([y - mould.block.min.y, mould.block.max.y - y])
                    .fold(f64::INFINITY, f64::min);
                // ISO 7089, M5 (from memory): a washer of 10 mm, wholly on the block with a land.
                assert_eq!(bolt.washer, 5.0);
                assert!(edge >= 5.0 + 1.0 - 1e-9);
            }
        }
    }
}

#[test]
fn names_are_sunk_into_the_front_clear_of_everything() {
    let makings = [(None, false), (Some(Thread::M5), false), (None, true)];
    for parting in [Parting::Flank, Parting::Waist] {
        for (bolts, bands) in makings {
            let mut d = design();
            d.mould.parting = parting;
            (d.mould.bolts, d.mould.bands) = (bolts, bands);
            let mould = build(&d);
            sound(&mould);
            let cavity = trimesh(&mould.cavity);
            for (name, half) in mould.holding.names.iter().zip([&mould.upper, &mould.lower]) {
                let name = name.as_ref().unwrap();
                assert!(name.height >= 4.0);
                let half_length = 0.5 * name.height * 0.85 * name.text.len() as f64;
                let [x, z] = name.at;
                let floor = mould.block.min.y + 0.8;
                // The bottoms of the letters are faces of the half, sunk by as much as is said.
                let sunk = |p: &&Point3<f64>| (p.y - floor).abs() < 1e-9;
                let sunk: Vec<&Point3<f64>> = half.points.iter().filter(sunk).collect();
                assert!(sunk.len() > 20, "{}", sunk.len());
                for p in sunk {
                    assert!((p.x - x).abs() < half_length && (p.z - z).abs() < 0.6 * name.height);
                    assert!(away(&cavity, p) > 1.49);
                    for key in &mould.keys {
                        let to = libm::hypot(p.x - key.at[0], p.y - key.at[1]);
                        assert!(to > key.reach()[0] + 1.0, "{to}");
                    }
                    for bolt in &mould.holding.bolts {
                        let to = libm::hypot(p.x - bolt.at[0], p.y - bolt.at[1]);
                        assert!(to > bolt.radius + 1.0, "{to}");
                    }
                    for (from, to, _) in &mould.holding.grooves {
                        assert!(p.x < from - 1.0 || p.x > to + 1.0);
                    }
                    for notch in &mould.holding.notches {
                        let beside = p.x < notch.min.x - 1.0 || p.x > notch.max.x + 1.0;
                        assert!(beside || p.y < notch.min.y - 1.0 || p.y > notch.max.y + 1.0);
                    }
                }
            }
        }
    }
}

#[test]
fn letters_are_counted_in_the_gap() {
    let mut d = design();
    d.mould.notches = Some(false);
    d.mould.key_count = Some(0);
    let mould = build(&d);
    sound(&mould);
    let block = Solid::try_from(&mould.block.to_mesh()).unwrap();
    let mut sunk = 0.0;
    for name in mould.holding.names.iter().flatten() {
        let line = lettering::Line {
            text: &name.text,
            height: name.height,
            face: [mould.block.min.y, name.at[0], name.at[1]],
            depth: 0.8,
        };
        for letter in line.on_front().unwrap() {
            sunk += letter.intersection(&block).unwrap().volume();
        }
    }
    assert!(sunk > 10.0);
    let block: f64 = mould.block.size().iter().product();
    assert!(
        (mould.gap - sunk).abs() < 1e-9 * block,
        "{} {sunk}",
        mould.gap
    );
}

/// Short and stout, so that no end is slim enough to pass beside.
fn stout() -> Design {
    let mut d = design();
    d.body.length = 40.0;
    let side = |y: f64| vec![knot(3.0, y), knot(20.0, 1.2 * y), knot(37.0, y)];
    (d.body.back, d.body.belly, d.body.half_width) = (side(12.0), side(12.0), side(12.0));
    d
}

#[test]
fn bolts_and_keys_without_room_are_told_at_once() {
    let mut d = stout();
    d.mould.key_count = Some(24);
    d.mould.bolts = Some(Thread::M10);
    let Err(MouldError::Spec(problems)) = Mould::build(&d, &Body::from_design(&d)) else {
        panic!("no room")
    };
    let paths: Vec<&str> = problems.0.iter().map(|p| p.path.as_str()).collect();
    assert_eq!(paths, ["mould.keys.count", "mould.bolts"]);
}

#[test]
fn what_holding_takes_is_what_it_says() {
    let mut d = design();
    d.mould.notches = Some(false);
    let plain = build(&d);
    let keys = plain.gap;
    // A hole through the block: π r² h, with the polygon's share of the circle's area.
    d.mould.bolts = Some(Thread::M4);
    let bolted = build(&d);
    let hole = std::f64::consts::PI * 2.25 * 2.25 * bolted.block.size().z;
    let off = (bolted.gap - keys) / (4.0 * hole) - 1.0;
    assert!(off.abs() < 0.01, "{off}");
    // Grooves: a frame 8 mm wide and 2 mm deep.
    d.mould.bolts = None;
    d.mould.bands = true;
    let banded = build(&d);
    sound(&banded);
    let size = banded.block.size();
    let frame = 8.0 * (size.y * size.z - (size.y - 4.0) * (size.z - 4.0));
    assert!(((banded.gap - keys) / (2.0 * frame) - 1.0).abs() < 1e-9);
    // Notches: 10 by 2.5 by 2 in the upper half.
    d.mould.bands = false;
    d.mould.notches = None;
    let notched = build(&d);
    sound(&notched);
    assert_eq!(notched.holding.notches.len(), 2);
    assert!((notched.gap - keys - 100.0).abs() < 1e-9);
    let lower: Bounds = notched.lower.bounds().unwrap();
    assert_eq!(lower, plain.lower.bounds().unwrap());
}

#[test]
fn no_room_for_bolts_is_named_with_the_wall_that_has_it() {
    let mut wide = stout();
    wide.mould.cavities = 3;
    wide.mould.key_count = Some(8);
    let mut low = stout();
    low.mould.sprue_end = BodyEnd::Tail;
    for mut d in [stout(), wide, low] {
        for thread in [Thread::M5, Thread::M8, Thread::M10] {
            d.mould.wall = 9.5;
            d.mould.bolts = Some(thread);
            let Err(MouldError::Spec(problems)) = Mould::build(&d, &Body::from_design(&d)) else {
                panic!("no room")
            };
            assert_eq!(problems.0[0].path, "mould.bolts");
            let limit = problems.0[0].limit.as_deref().unwrap();
            d.mould.wall = limit.split(' ').nth(3).unwrap().parse().unwrap();
            match Mould::build(&d, &Body::from_design(&d)) {
                Ok(mould) => sound(&mould),
                Err(error) => panic!("{thread:?}, {}: {error}", d.mould.cavities),
            }
            // Nor is it much too thick.
            let needed = 0.5 * washer(thread) + 1.0 + 0.5 * clearance_hole(thread) + 1.5;
            assert!(d.mould.wall < needed + 12.0, "{} {needed}", d.mould.wall);
        }
    }
}

#[test]
fn washers_lie_beside_grooves_and_on_the_block() {
    for bands in [false, true] {
        for (thread, across) in [(Thread::M3, 7.0), (Thread::M4, 9.0), (Thread::M6, 12.0)] {
            let mut d = design();
            (d.mould.bolts, d.mould.bands) = (Some(thread), bands);
            let mould = build(&d);
            sound(&mould);
            let cavity = trimesh(&mould.cavity);
            for bolt in &mould.holding.bolts {
                let [x, y] = bolt.at;
                let block = &mould.block;
                for i in 0..32 {
                    let (sin, cos) = libm::sincos(f64::from(i) * std::f64::consts::PI / 16.0);
                    let rim = [x + 0.5 * across * cos, y + 0.5 * across * sin];
                    for (k, c) in rim.into_iter().enumerate() {
                        assert!(c > block.min[k] + 0.99 && c < block.max[k] - 0.99);
                    }
                    for (from, to, _) in &mould.holding.grooves {
                        assert!(rim[0] < from + 1e-9 || rim[0] > to - 1e-9);
                    }
                }
                for i in 0..=40 {
                    let z = block.min.z + block.size().z * f64::from(i) / 40.0;
                    assert!(away(&cavity, &Point3::new(x, y, z)) - bolt.radius > 1.45);
                }
            }
        }
    }
}

#[test]
fn crowded_sides_have_no_notches_unless_they_are_asked_for() {
    let mut d = design();
    // As many keys as go in.
    d.mould.key_radius = 5.0;
    d.mould.wall = 14.0;
    d.mould.key_count = Some(24);
    let Err(MouldError::Spec(problems)) = Mould::build(&d, &Body::from_design(&d)) else {
        panic!("too many")
    };
    let limit = problems.0[0].limit.as_deref().unwrap();
    let fits = limit.split([' ', ',']).nth(2).unwrap();
    d.mould.key_count = Some(fits.parse().unwrap());
    let mould = build(&d);
    sound(&mould);
    if mould.holding.notches.len() < 2 {
        d.mould.notches = Some(true);
        let Err(MouldError::Spec(problems)) = Mould::build(&d, &Body::from_design(&d)) else {
            panic!("no room")
        };
        assert_eq!(problems.0[0].path, "mould.notches");
    }
}

mod bolts_between {
    use super::*;
    use proptest::prelude::*;

    /// Sides on which neighbouring bolts stand farther apart than they should.
    fn wide_gaps(mould: &Mould) -> Vec<(usize, f64)> {
        let block = &mould.block;
        let bolts = &mould.holding.bolts;
        let mut wide = Vec::new();
        for (side, across, edge) in [
            (0, 1, block.min.y),
            (1, 1, block.max.y),
            (2, 0, block.min.x),
            (3, 0, block.max.x),
        ] {
            // The corners of −y come first, and of each side that at the nose.
            let corners = [[0, 1], [2, 3], [0, 2], [1, 3]][side];
            let inset = bolts[0].washer + 1.0;
            let on_line = |at: [f64; 2]| ((at[across] - edge).abs() - inset).abs() < 1e-9;
            let mut at: Vec<f64> = (bolts.iter().enumerate())
                .filter(|(i, b)| corners.contains(i) || (*i > 3 && on_line(b.at)))
                .map(|(_, b)| b.at[1 - across])
                .collect();
            at.sort_by(f64::total_cmp);
            let widest = at.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
            if widest > 1.1 * 120.0 {
                wide.push((side, widest));
            }
        }
        wide
    }

    fn clear_of_everything(mould: &Mould) {
        let cavity = trimesh(&mould.cavity);
        let block = &mould.block;
        for (i, bolt) in mould.holding.bolts.iter().enumerate() {
            let [x, y] = bolt.at;
            for k in 0..2 {
                let rim = [bolt.at[k] - bolt.washer, bolt.at[k] + bolt.washer];
                assert!(rim[0] > block.min[k] + 0.99 && rim[1] < block.max[k] - 0.99);
            }
            for i in 0..=20 {
                let z = block.min.z + block.size().z * f64::from(i) / 20.0;
                let land = away(&cavity, &Point3::new(x, y, z)) - bolt.radius;
                assert!(land > 1.45, "{land}");
            }
            for key in &mould.keys {
                let off = |k: usize| ((bolt.at[k] - key.at[k]).abs() - key.reach()[k]).max(0.0);
                assert!(libm::hypot(off(0), off(1)) > bolt.radius + 1.0);
            }
            for (from, to, _) in &mould.holding.grooves {
                assert!(x + bolt.washer < from + 1e-9 || x - bolt.washer > to - 1e-9);
            }
            for other in &mould.holding.bolts[..i] {
                let apart = libm::hypot(x - other.at[0], y - other.at[1]);
                assert!(apart > 2.0 * bolt.washer - 1e-9);
            }
        }
    }

    /// The same fish, as long as this, so many of them.
    fn wide(length: f64, count: usize, thread: Thread) -> Design {
        let mut d = design();
        let longer = length / d.body.length;
        d.body.length = length;
        for side in [&mut d.body.back, &mut d.body.belly, &mut d.body.half_width] {
            side.iter_mut().for_each(|knot| knot.at *= longer);
        }
        d.mould.cavities = count;
        d.mould.wall = 14.0;
        d.mould.key_count = None;
        d.mould.bolts = Some(thread);
        d.tolerance = 0.2;
        d
    }

    #[test]
    fn stand_a_hands_breadth_apart_along_a_long_block_and_across_a_wide_one() {
        let long = build(&wide(560.0, 1, Thread::M5));
        sound(&long);
        // 570 between the corners takes five gaps: four bolts between them on each side.
        assert!(long.block.size().x > 580.0);
        assert!(long.holding.bolts.len() >= 12, "{:?}", long.holding.bolts);
        assert!(wide_gaps(&long).is_empty() && long.holding.notes.is_empty());
        clear_of_everything(&long);
        let broad = build(&wide(110.0, 14, Thread::M5));
        assert!(broad.block.size().y > 250.0, "{}", broad.block.size());
        let ends = broad.holding.bolts[4..].iter();
        let [nose, tail] = [broad.block.min.x, broad.block.max.x].map(|end| {
            let near = |b: &&crate::mould::BoltHole| (b.at[0] - end).abs() < 10.0;
            ends.clone().filter(near).count()
        });
        assert!(nose > 0 && tail > 0, "{nose} {tail}");
        clear_of_everything(&broad);
        // A short one has its four.
        assert_eq!(build(&wide(90.0, 1, Thread::M5)).holding.bolts.len(), 4);
    }

    #[test]
    fn are_left_out_where_there_is_no_room_and_that_is_told() {
        // Washers of 20, behind which the runner lies at the sprue's end.
        let mut d = wide(110.0, 14, Thread::M10);
        d.mould.wall = 20.0;
        let mould = build(&d);
        sound(&mould);
        clear_of_everything(&mould);
        let wide = wide_gaps(&mould);
        assert!(!wide.is_empty());
        assert_eq!(mould.holding.notes.len(), wide.len());
        let note = &mould.holding.notes[0];
        assert!(
            note.contains("end at the nose") && note.contains("clamp"),
            "{note}"
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(10))]
        #[test]
        fn on_any_block_are_near_enough_or_told(
            length in 60.0..500.0_f64,
            count in 1..9_usize,
            wall in 11.0..22.0_f64,
            thread in 0..5_usize,
            (bands, waist) in (any::<bool>(), any::<bool>()),
        ) {
            let threads = [Thread::M3, Thread::M4, Thread::M5, Thread::M6, Thread::M8];
            let mut d = wide(length, count, threads[thread]);
            d.mould.wall = wall;
            d.mould.bands = bands;
            d.mould.parting = if waist { Parting::Waist } else { Parting::Flank };
            match Mould::build(&d, &Body::from_design(&d)) {
                Ok(mould) => {
                    sound(&mould);
                    clear_of_everything(&mould);
                    prop_assert_eq!(wide_gaps(&mould).len(), mould.holding.notes.len());
                }
                Err(MouldError::Spec(problems)) => {
                    prop_assert!(problems.0.iter().all(|p| p.path.starts_with("mould.")));
                }
                Err(other) => prop_assert!(false, "{other}"),
            }
        }
    }
}
