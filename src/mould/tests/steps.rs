//! Fins that stand out of the waist. What must hold: the face runs through the middle of their
//! plates, so that they hold neither half; the block is shared out without loss; the face is back
//! on its course at the edges of the block; fins that lie in the face, or stand across it, change
//! nothing.

use super::face::bowed;
use super::routes::{more_on_floor, solid};
use super::*;
use crate::mould::opening::Undercuts;
use nalgebra::Point3;
use proptest::prelude::*;

fn fin(at: f64, angle: f64, root: f64, high: f64) -> FinDesign {
    FinDesign {
        at,
        angle,
        outline: FinOutline::Stations {
            root,
            knots: vec![knot(0.5 * root, high)],
        },
        thickness: 2.0,
        rounding: 1.0,
        sweep: 0.0,
        cant: 0.0,
    }
}

fn finned(fins: &[FinDesign]) -> Design {
    let mut d = design();
    d.mould.parting = Parting::Waist;
    // The wall is for a waist without steps.
    d.mould.bed = [250.0, 250.0, 250.0];
    d.fin = fins.to_vec();
    d
}

/// The mould, its master, and the greatest depth that the face without steps would be held by.
fn made(d: &Design) -> (Mould, Master) {
    let body = Body::from_design(d);
    let master = Master::build(d, &body).unwrap();
    let mould = Mould::around(d, &body, &master.mesh).unwrap();
    (mould, master)
}

#[test]
fn the_face_runs_through_the_middle_of_the_plates() {
    for (angle, cant) in [(110.0, 0.0), (70.0, 0.0), (70.0, -15.0), (112.0, 22.0)] {
        let mut one = fin(30.0, angle, 16.0, 12.0);
        one.cant = cant;
        let d = finned(&[one]);
        let (mould, master) = made(&d);
        sound(&mould);
        assert_eq!(mould.face.followed(), ["fin[0]"]);
        for (path, mesh) in &master.features {
            // The plane of a plate from the mesh itself: where its points spread least.
            let n = mesh.points.len() as f64;
            let middle = mesh.points.iter().map(|p| p.coords).sum::<Vector3<f64>>() / n;
            let spread = mesh
                .points
                .iter()
                .fold(nalgebra::Matrix3::zeros(), |sum, p| {
                    let off = p.coords - middle;
                    sum + off * off.transpose()
                });
            let spread = spread.symmetric_eigen();
            let least = spread.eigenvalues.imin();
            let normal = spread.eigenvectors.column(least).into_owned();
            let reach = mesh.bounds().unwrap();
            let (body, mut seen) = (Body::from_design(&d), 0);
            for i in 1..20 {
                for j in 1..20 {
                    let [x, y] = [0, 1].map(|k| {
                        let share = f64::from([i, j][k]) / 20.0;
                        reach.min[k] + share * (reach.max[k] - reach.min[k])
                    });
                    let z = middle.z
                        - (normal.x * (x - middle.x) + normal.y * (y - middle.y)) / normal.z;
                    let p = Point3::new(x, y, z);
                    // Farther from the rim than that is round.
                    let aside = normal.cross(&Vector3::x()).normalize();
                    let ahead = normal.cross(&aside);
                    let within = (0..8).all(|k| {
                        let (sin, cos) = libm::sincos(f64::from(k) * std::f64::consts::FRAC_PI_4);
                        inside(mesh, &(p + (aside * sin + ahead * cos) * 1.2))
                    });
                    if !body.holds(&p, 0.0) && within {
                        let off = mould.face.height(x, y) - z;
                        assert!(off.abs() < 1e-6, "{path} {angle} {cant}: {p} {off}");
                        seen += 1;
                    }
                }
            }
            assert!(seen > 20, "{seen}");
        }
    }
}

/// Whether a closed surface holds a point: it is seen all round.
fn inside(mesh: &Mesh, p: &Point3<f64>) -> bool {
    let seen = (0..mesh.triangles.len()).map(|t| {
        let [a, b, c] = mesh.corners(t).map(|q| q - p);
        let [la, lb, lc] = [a, b, c].map(|v| v.norm());
        // Van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30 (1983): a triangle's solid angle.
        let under = la * lb * lc + a.dot(&b) * lc + b.dot(&c) * la + c.dot(&a) * lb;
        2.0 * libm::atan2(a.dot(&b.cross(&c)), under)
    });
    seen.sum::<f64>() > 2.0 * std::f64::consts::PI
}

#[test]
fn fins_out_of_the_waist_hold_nothing() {
    for (angle, cant, sweep) in [
        (110.0, 0.0, 0.0),
        (70.0, 0.0, 30.0),
        (60.0, -10.0, 0.0),
        (112.0, 22.0, -20.0),
    ] {
        let mut one = fin(30.0, angle, 16.0, 12.0);
        (one.cant, one.sweep) = (cant, sweep);
        let d = finned(&[one]);
        let (mould, _) = made(&d);
        sound(&mould);
        let flat = Undercuts::of(&mould.master, d.tolerance);
        let stepped = mould.undercuts(d.tolerance);
        // The body's own flank between waist and root is held, and a rim that is no half circle as
        // the half sees it: by less than a fifth of what the fins were held by.
        assert!(flat.depth() > 2.0, "{}", flat.depth());
        assert!(
            stepped.depth() < 0.2 * flat.depth(),
            "{angle}: {} {}",
            stepped.depth(),
            flat.depth()
        );
    }
}

#[test]
fn the_face_is_on_its_course_at_the_edges_of_the_block() {
    let mut d = finned(&[fin(30.0, 115.0, 16.0, 12.0)]);
    for cavities in [1, 3] {
        d.mould.cavities = cavities;
        let (mould, _) = made(&d);
        sound(&mould);
        assert!(mould.face.range()[0] < -4.0);
        let block = mould.block;
        for i in 0..=500 {
            let share = f64::from(i) / 500.0;
            let [x, y] = [0, 1].map(|k| block.min[k] + share * (block.max[k] - block.min[k]));
            for end in [block.min, block.max] {
                assert_eq!(mould.face.height(x, end.y), 0.0);
                assert_eq!(mould.face.height(end.x, y), 0.0);
            }
        }
        // Between two baits as well, and around every key.
        for pair in mould.cavities.windows(2) {
            let y = 0.5 * (pair[0] + pair[1]);
            assert_eq!(mould.face.height(38.0, y), 0.0);
        }
        for key in &mould.keys {
            assert_eq!(mould.face.height(key.at[0], key.at[1]), 0.0);
        }
    }
}

#[test]
fn fins_that_lie_in_the_waist_or_stand_across_it_change_nothing() {
    for fins in [
        vec![fin(30.0, 90.0, 16.0, 12.0)],
        vec![fin(30.0, 0.0, 16.0, 12.0)],
        vec![fin(30.0, 20.0, 12.0, 8.0)],
    ] {
        let (mould, _) = made(&finned(&fins));
        assert!(mould.face.is_flat());
    }
    // Along the flank the two of a pair lie over each other: neither is followed.
    let mut d = finned(&[fin(30.0, 40.0, 16.0, 12.0)]);
    d.mould.parting = Parting::Flank;
    assert!(made(&d).0.face.is_flat());
}

#[test]
fn of_fins_over_each_other_the_larger_pair_is_followed() {
    let d = finned(&[fin(30.0, 65.0, 14.0, 8.0), fin(28.0, 115.0, 18.0, 12.0)]);
    let (mould, _) = made(&d);
    sound(&mould);
    assert_eq!(mould.face.followed(), ["fin[1]"]);
    let left = mould.face.unfollowed();
    assert_eq!(left[0].path, "fin[0]");
    assert_eq!(left[0].why, Why::HoldsMore(Some("fin[1]".to_owned())));
    // One behind the other both are.
    let d = finned(&[fin(14.0, 75.0, 12.0, 8.0), fin(48.0, 115.0, 14.0, 10.0)]);
    let (mould, _) = made(&d);
    sound(&mould);
    assert_eq!(mould.face.followed(), ["fin[0]", "fin[1]"]);
}

#[test]
fn a_fin_that_lies_in_the_face_is_not_left_for_a_smaller_one() {
    // Half under the flat one; beside it both lie free.
    let hanging = |at: f64| fin(at, 112.0, 10.0, 7.0);
    let (mould, _) = made(&finned(&[fin(25.0, 90.0, 20.0, 16.0), hanging(28.0)]));
    sound(&mould);
    assert!(mould.face.is_flat());
    assert_eq!(mould.face.unfollowed()[0].path, "fin[1]");
    let (mould, _) = made(&finned(&[fin(14.0, 90.0, 14.0, 12.0), hanging(50.0)]));
    assert_eq!(mould.face.followed(), ["fin[1]"]);
    assert_eq!(mould.face.unfollowed(), []);
}

#[test]
fn what_is_too_steep_is_told_with_its_angle() {
    let (mould, _) = made(&finned(&[fin(30.0, 25.0, 12.0, 8.0)]));
    assert!(mould.face.is_flat());
    let [fin] = mould.face.unfollowed() else {
        panic!("{:?}", mould.face.unfollowed())
    };
    let Why::TooSteep(steep) = fin.why else {
        panic!("{fin:?}")
    };
    assert!((steep - 65.0).abs() < 2.0, "{steep}");
}

#[test]
fn what_comes_out_unsound_is_told_by_its_pair() {
    let mut d = finned(&[fin(14.0, 90.0, 12.0, 8.0), fin(48.0, 115.0, 14.0, 10.0)]);
    assert_eq!(made(&d).0.face.followed(), ["fin[1]"]);
    d.mould.steps = false;
    let (mould, _) = made(&d);
    let left = mould.face.unfollowed();
    // Not the one that lies in the face as it is.
    assert_eq!(left.len(), 1);
    assert_eq!((&left[0].path[..], &left[0].why), ("fin[1]", &Why::Unsound));
}

#[test]
fn without_steps_every_pair_keeps_the_reason_it_was_left_for() {
    // Two over each other, of which the larger is followed, and one that is too steep.
    let mut d = finned(&[
        fin(30.0, 65.0, 14.0, 8.0),
        fin(28.0, 115.0, 18.0, 12.0),
        fin(58.0, 25.0, 8.0, 5.0),
    ]);
    let body = Body::from_design(&d);
    let master = Master::build(&d, &body).unwrap().mesh;
    let with = PartingFace::waist(&d, &body, &master);
    assert_eq!(with.followed(), ["fin[1]"]);
    let reasons = |face: &PartingFace| -> Vec<(String, Why)> {
        let left = face.unfollowed().iter();
        left.map(|fin| (fin.path.clone(), fin.why.clone()))
            .collect()
    };
    let before = reasons(&with);
    assert_eq!(before.len(), 2, "{before:?}");
    d.mould.steps = false;
    let without = PartingFace::waist(&d, &body, &master);
    assert!(!without.has_steps());
    let after = reasons(&without);
    // Only the pair that was followed comes out unsound.
    assert_eq!(after[..2], before[..]);
    assert_eq!(after[2..], [("fin[1]".to_owned(), Why::Unsound)]);

    // Of another bait the same, by its name, whether it is followed or not.
    let named = |(path, why): &(String, Why)| {
        let path = format!("roach, {path}");
        let why = match why {
            Why::HoldsMore(Some(other)) => Why::HoldsMore(Some(format!("roach, {other}"))),
            why => why.clone(),
        };
        (path, why)
    };
    let over = Why::HoldsMore(Some("fin[1]".to_owned()));
    assert!(before.iter().any(|(_, why)| *why == over), "{before:?}");
    let mut mixed = PartingFace::default();
    mixed.follow_too("roach", &with, 3.0, &[-20.0, 20.0]);
    assert_eq!(mixed.followed(), ["roach, fin[1]"]);
    assert_eq!(
        reasons(&mixed),
        before.iter().map(named).collect::<Vec<_>>()
    );
    let mut left = PartingFace::default();
    left.leave("roach", &with);
    assert!(left.is_flat());
    assert_eq!(reasons(&left), after.iter().map(named).collect::<Vec<_>>());
}

#[test]
fn formers_of_vents_are_as_thick_as_vents_are_deep() {
    // What lies flat and is bent into the trough has its thickness square to the face, on a bow and
    // on a slope; only the trough is measured along the pull.
    let mut d = bowed(CamberDesign::Bow(12.0));
    d.mould.route = Route::Board;
    d.mould.key_clearance = 0.0;
    d.mould.vent_depth = 0.6;
    let body = Body::from_design(&d);
    let master = Master::build(&d, &body).unwrap().mesh;
    let mould = Mould::around(&d, &body, &master).unwrap();
    let parts = mould.parts(&d, &body, &master).unwrap();
    let formers = parts[1].pieces[0].clone();
    let sliced = crate::mesh::slice::Sliced::new(formers.clone());
    // Beside the sprue's, which stands first, all are as low as a vent is deep.
    let sprue = mould.channels.sprue.corners.iter().map(|c| 2.0 * c.1);
    let wide = sprue.fold(0.0, f64::max);
    let (reach, mut seen) = (formers.bounds().unwrap(), 0);
    let heights = formers.points.iter().filter(|p| p.y > wide + 2.0);
    for p in heights {
        assert!(p.z < 0.6 + 1e-6, "{p}");
        seen += 1;
    }
    assert!(seen > 8 && reach.max.y > wide + 2.0, "{seen}");
    // And none is thinner anywhere along it.
    let x = 0.5 * (reach.min.x + reach.max.x).min(4.0);
    assert!(!sliced.section(x).loops.is_empty());
}

#[test]
fn a_shallow_channel_is_as_deep_on_a_step_as_on_the_level() {
    let depth = 0.5;
    for (angle, cant) in [(110.0, 0.0), (70.0, -15.0)] {
        let mut one = fin(30.0, angle, 16.0, 12.0);
        one.cant = cant;
        let (mould, _) = made(&finned(&[one]));
        let face = &mould.face;
        // Along the body and across it, over fin, slope and level.
        for (min, max) in [([-10.0, 11.0], [80.0, 12.5]), ([35.0, 8.0], [36.5, 38.0])] {
            let plain = Bounds {
                min: Point3::new(min[0], min[1], -0.5 * depth),
                max: Point3::new(max[0], max[1], 0.5 * depth),
            };
            let deep = face.deepened(plain.to_mesh());
            deep.check().unwrap();
            // Raised, it is level with nothing: measured square to the face, beside its bends.
            let sliced = crate::mesh::slice::Sliced::new(deep.clone());
            let (mut steep, mut looked) = (0, 0);
            let (mut deepest, mut steepest) = (0.0_f64, 1.0_f64);
            for i in 1..60 {
                for j in 1..6 {
                    let x = min[0] + (max[0] - min[0]) * f64::from(i) / 60.0;
                    let y = min[1] + (max[1] - min[1]) * f64::from(j) / 6.0;
                    let step = 1e-3;
                    let rise = [
                        (face.height(x + step, y) - face.height(x - step, y)) / (2.0 * step),
                        (face.height(x, y + step) - face.height(x, y - step)) / (2.0 * step),
                    ];
                    let cos = 1.0 / libm::hypot(1.0, libm::hypot(rise[0], rise[1]));
                    let section = sliced.section(x);
                    let mut z = 0.0;
                    while section.holds(y, z + 0.01) {
                        z += 0.01;
                    }
                    let square = 2.0 * z * cos;
                    assert!(square > depth - 0.03, "{square} at {x} {y}, {cos}");
                    (deepest, steepest) = (deepest.max(square), steepest.max(1.0 / cos));
                    looked += 1;
                    steep += u32::from(cos < 0.8);
                }
            }
            assert!(steep > 5 && steep < looked, "{steep} of {looked}");
            // Nowhere deeper than on the steepest slope along the pull.
            assert!(deepest < depth * steepest + 0.03, "{deepest} {steepest}");
            // On the level, away from all bends, nothing is added.
            assert!(deep.volume() > plain.size().iter().product::<f64>());
        }
    }
}

#[test]
fn swept_and_canted_fins_take_little_more_room_than_they_are_wide() {
    for (angle, cant, sweep) in [(115.0, -25.0, 20.0), (92.0, -3.0, 60.0), (70.0, 20.0, 40.0)] {
        let mut one = fin(25.0, angle, 16.0, 12.0);
        (one.cant, one.sweep) = (cant, sweep);
        let d = finned(&[one]);
        let (mould, master) = made(&d);
        sound(&mould);
        assert_eq!(mould.face.followed(), ["fin[0]"], "{angle} {cant} {sweep}");
        let deep = mould.face.range().map(f64::abs);
        let wide = master.mesh.bounds().unwrap().max.y + deep[0].max(deep[1]);
        // 45 degrees back to its course, the rim, and whole millimetres.
        let room = mould.block.max.y - d.mould.wall;
        assert!(room < wide + 2.5, "{angle} {cant} {sweep}: {room} {wide}");
    }
}

#[test]
fn the_board_steps_up_and_down_too() {
    for (angle, bow) in [(70.0, 0.0), (110.0, 0.0), (72.0, 4.0)] {
        let mut d = finned(&[fin(30.0, angle, 16.0, 12.0)]);
        if bow != 0.0 {
            d.body.camber = Some(CamberDesign::Bow(bow));
        }
        d.mould.route = Route::Board;
        d.mould.key_clearance = 0.0;
        let body = Body::from_design(&d);
        let master = Master::build(&d, &body).unwrap().mesh;
        let mould = Mould::around(&d, &body, &master).unwrap();
        sound(&mould);
        assert_eq!(mould.face.followed(), ["fin[0]"]);
        let parts = mould.parts(&d, &body, &master).unwrap();
        let board = &parts[0].pieces[0];
        board.check().unwrap();
        let outside = board.bounds().unwrap();
        let flange = 0.5 * (outside.size().x - mould.block.size().x);
        // As it lies in the mould: along z by the corner of its deck, which is the face there.
        let corner = Point3::new(mould.block.max.x - 0.5, mould.block.max.y - 0.5, 0.0);
        let placed = board.clone().translated(&Vector3::new(
            mould.block.min.x - flange,
            mould.block.min.y - flange,
            0.0,
        ));
        let top = |mesh: &Mesh, x: f64, y: f64| highest(mesh, x, y);
        let level = top(&placed, corner.x, corner.y) - mould.face.height(corner.x, corner.y);
        let mut seen = 0;
        for i in 0..=40 {
            for j in 0..=40 {
                let [x, y] = [20.0 + f64::from(i), 10.0 + 0.4 * f64::from(j)];
                let p = Point3::new(x, y, mould.face.height(x, y));
                let stepped = (mould.face.height(x, y) - mould.face.height(x, 60.0)).abs() > 0.5;
                if stepped && master.distance(&p) > d.mould.board_clearance + 1.0 {
                    let off = top(&placed, x, y) - level - p.z;
                    assert!(off.abs() < 0.02, "{angle} {bow} {x} {y}: {off}");
                    seen += 1;
                }
            }
        }
        assert!(seen > 30, "{seen}");
    }
}

/// How high a mesh reaches over a place in plan.
fn highest(mesh: &Mesh, x: f64, y: f64) -> f64 {
    let over = (0..mesh.triangles.len()).filter_map(|t| {
        let [a, b, c] = mesh.corners(t);
        let cross =
            |p: Point3<f64>, q: Point3<f64>| (q.x - p.x) * (y - p.y) - (q.y - p.y) * (x - p.x);
        let [w, u, v] = [cross(a, b), cross(b, c), cross(c, a)];
        let all = w + u + v;
        let inside = all != 0.0 && [w, u, v].iter().all(|s| s / all >= 0.0);
        inside.then(|| (u * a.z + v * b.z + w * c.z) / all)
    });
    over.fold(f64::NEG_INFINITY, f64::max)
}

#[test]
fn a_larger_mould_has_the_same_face_as_much_larger() {
    let d = finned(&[fin(30.0, 110.0, 16.0, 12.0)]);
    let body = Body::from_design(&d);
    let master = Master::build(&d, &body).unwrap().mesh;
    let plain = PartingFace::of(&d, &body, &master);
    let larger = PartingFace::of(&d, &body.scaled(1.05), &master.clone().scaled(1.05));
    let [low, _] = plain.range();
    assert!(low < -5.0);
    assert!(
        (larger.range()[0] / low - 1.05).abs() < 1e-3,
        "{low} {:?}",
        larger.range()
    );
}

#[test]
fn the_mirrored_fins_have_the_mirrored_face() {
    let (up, _) = made(&finned(&[fin(30.0, 70.0, 16.0, 12.0)]));
    let mut d = finned(&[fin(30.0, 110.0, 16.0, 12.0)]);
    std::mem::swap(&mut d.body.back, &mut d.body.belly);
    let (down, _) = made(&d);
    for i in 0..=60 {
        for j in 0..=60 {
            let [x, y] = [20.0 + 0.6 * f64::from(i), -30.0 + f64::from(j)];
            let sum = up.face.height(x, y) + down.face.height(x, y);
            assert!(sum.abs() < 1e-9, "{x} {y}: {sum}");
            let other = up.face.height(x, -y);
            assert!((up.face.height(x, y) - other).abs() < 1e-9);
        }
    }
}

/// What holds the halves, in mm³.
fn held(undercuts: &Undercuts) -> f64 {
    undercuts.found.iter().map(|u| u.depth * u.area).sum()
}

/// A row of legs on each flank.
fn legs(angle: f64, count: usize, [lean, spread, droop]: [f64; 3]) -> LegsDesign {
    LegsDesign {
        stand: LegStand::Row {
            at: 40.0,
            angle,
            pitch: 6.0,
            lean,
        },
        count,
        length: 16.0,
        root: 1.6,
        tip: 0.9,
        flat: 1.0,
        spread,
        droop,
    }
}

fn legged(row: LegsDesign) -> Design {
    let mut d = finned(&[]);
    d.legs = vec![row];
    d
}

#[test]
fn the_face_runs_through_rows_of_legs_that_stand_out_of_the_waist() {
    for (angle, count, ways) in [
        (112.0, 3, [0.0, 0.0, 0.0]),
        (70.0, 4, [15.0, 40.0, 0.0]),
        (112.0, 1, [10.0, 0.0, 0.0]),
        (90.0, 3, [0.0, 0.0, 25.0]),
        (100.0, 3, [10.0, 30.0, 20.0]),
    ] {
        let mut d = legged(legs(angle, count, ways));
        let (mould, master) = made(&d);
        sound(&mould);
        assert_eq!(
            mould.face.followed(),
            ["legs[0]"],
            "{angle} {count} {ways:?}"
        );
        let with = held(&mould.undercuts(d.tolerance));
        d.mould.steps = false;
        let (plain, _) = made(&d);
        let left = plain.face.unfollowed();
        assert_eq!(
            (&left[0].path[..], &left[0].why),
            ("legs[0]", &Why::Unsound)
        );
        let without = held(&plain.undercuts(d.tolerance));
        assert!(
            with < 0.6 * without,
            "{with} {without}: {angle} {count} {ways:?}"
        );
        if ways[2] != 0.0 {
            continue;
        }
        // Straight ones lie in one plane: outside the body the middle of each is in the face.
        for (_, mesh) in &master.features {
            let tip = mesh
                .points
                .iter()
                .max_by(|a, b| a.y.abs().total_cmp(&b.y.abs()))
                .unwrap();
            let near = mesh.points.iter().filter(|p| (*p - tip).norm() < 4.0);
            let bounds = Bounds::of(near).unwrap();
            let middle = bounds.centre();
            let off = mould.face.height(middle.x, middle.y) - middle.z;
            assert!(off.abs() < 0.15, "{off} at {middle}");
        }
    }
    // Level legs lie in the face as it is; a bunch behind the tail has no pair.
    let (mould, _) = made(&legged(legs(90.0, 3, [0.0, 20.0, 0.0])));
    assert!(mould.face.is_flat());
    assert_eq!(mould.face.unfollowed(), []);
}

/// Whether there is one bait, on a straight body, whose face has steps.
fn followed_only(design: &Design, mould: &Mould) -> bool {
    design.body.camber.is_none() && mould.cavities.len() == 1 && !mould.face.followed().is_empty()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_fins_share_out_the_block(
        (at, angle, root, high) in (10.0..50.0, 55.0..125.0, 8.0..18.0, 4.0..14.0),
        (cant, sweep) in (-20.0..20.0, -30.0..40.0),
        // The second pair, half of the time.
        second in prop::option::of((20.0..60.0, 55.0..125.0)),
        bow in prop::option::of(-6.0..6.0),
        (tail, cavities, route) in (any::<bool>(), 1..4usize, 0..3usize),
    ) {
        let mut first = fin(at, angle, root, high);
        (first.cant, first.sweep) = (cant, sweep);
        let mut fins = vec![first];
        fins.extend(second.map(|(at, angle)| fin(at, angle, 10.0, 7.0)));
        let mut d = match bow {
            Some(rise) => bowed(CamberDesign::Bow(rise)),
            None => design(),
        };
        d.mould.parting = Parting::Waist;
        d.fin = fins;
        d.mould.bed = [400.0, 400.0, 400.0];
        d.mould.cavities = cavities;
        if tail {
            d.mould.sprue_end = BodyEnd::Tail;
        }
        d.mould.route = [Route::Block, Route::Boxes, Route::Board][route];
        d.mould.sheet_walls = d.mould.route == Route::Boxes;
        if d.mould.route != Route::Block {
            d.mould.key_clearance = 0.0;
        }
        if d.mould.route == Route::Board {
            d.mould.cavities = 1;
        }
        let body = Body::from_design(&d);
        let made = Master::build(&d, &body).map_err(MouldError::from).and_then(|master| {
            let mould = Mould::around(&d, &body, &master.mesh)?;
            let parts = mould.parts(&d, &body, &master.mesh)?;
            Ok((master, mould, parts))
        });
        match made {
            Ok((master, mould, parts)) => {
                sound(&mould);
                // Either it is followed, or it is told, or it lies in the face.
                for (i, fin) in d.fin.iter().enumerate() {
                    let path = format!("fin[{i}]");
                    let followed = mould.face.followed().contains(&&path[..]);
                    let told = mould.face.unfollowed().iter().any(|fin| fin.path == path);
                    let flat = (fin.angle + fin.cant - 90.0).abs() < 10.0 || fin.cant != 0.0;
                    prop_assert!(followed != told || (flat && !followed), "{}", path);
                }
                if followed_only(&d, &mould) {
                    let without = Undercuts::of(&mould.master, d.tolerance);
                    let with = mould.undercuts(d.tolerance);
                    prop_assert!(held(&with) < held(&without), "{} {}", held(&with), held(&without));
                }
                let mut pieces = parts.iter().flat_map(|p| &p.pieces);
                let all = pieces.all(|piece| piece.check().is_ok());
                if !all {
                    // Rounding closed a cleft: without steps there is none.
                    prop_assert!(mould.face.has_steps());
                    d.mould.steps = false;
                    let mould = Mould::around(&d, &body, &master.mesh).unwrap();
                    for part in mould.parts(&d, &body, &master.mesh).unwrap() {
                        prop_assert!(part.pieces.iter().all(|piece| piece.check().is_ok()));
                    }
                }
                if all && d.mould.route == Route::Boxes {
                    let [lowest, highest] = mould.face.range();
                    let halves = [
                        (&mould.upper, mould.block.max.z - lowest),
                        (&mould.lower, highest - mould.block.min.z),
                    ];
                    for (part, (half, deep)) in parts.iter().zip(halves) {
                        let more =
                            more_on_floor(&part.pieces[0], half, deep, mould.block.size());
                        prop_assert!(more.abs() < 1e-9, "{}: {}", part.name, more);
                    }
                }
                let shared = solid(&mould.upper).intersection(&solid(&mould.lower));
                let shared = shared.map_or(0.0, |s| s.volume());
                let size = mould.block.size();
                prop_assert!(shared < 1e-9 * size.x * size.y * size.z, "{}", shared);
            }
            // The root, or the mould, has no room.
            Err(MouldError::Spec(problems)) => {
                prop_assert!(problems.0.iter().all(|p| p.limit.is_some() || p.hint.is_some()));
            }
            Err(other) => prop_assert!(false, "{other}"),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]
    #[test]
    fn any_legs_share_out_the_block(
        (angle, count) in (50.0..130.0, 1..5usize),
        ways in (-25.0..25.0, 0.0..50.0, -30.0..40.0),
        (length, root) in (6.0..22.0, 1.0..2.2),
        (cavities, boxes) in (1..3usize, any::<bool>()),
    ) {
        let row = LegsDesign { length, root, ..legs(angle, count, [ways.0, ways.1, ways.2]) };
        let mut d = legged(row);
        d.mould.cavities = cavities;
        d.mould.bed = [400.0, 400.0, 400.0];
        if boxes {
            d.mould.route = Route::Boxes;
            d.mould.key_clearance = 0.0;
        }
        let body = Body::from_design(&d);
        let made = Master::build(&d, &body).map_err(MouldError::from).and_then(|master| {
            let mould = Mould::around(&d, &body, &master.mesh)?;
            Ok((mould.parts(&d, &body, &master.mesh)?, mould))
        });
        match made {
            Ok((parts, mould)) => {
                sound(&mould);
                let sound = parts.iter().flat_map(|p| &p.pieces).all(|p| p.check().is_ok());
                prop_assert!(sound || mould.face.has_steps());
                if followed_only(&d, &mould) {
                    let without = Undercuts::of(&mould.master, d.tolerance);
                    let with = mould.undercuts(d.tolerance);
                    prop_assert!(held(&with) < held(&without), "{} {}", held(&with), held(&without));
                }
                let shared = solid(&mould.upper).intersection(&solid(&mould.lower));
                let shared = shared.map_or(0.0, |s| s.volume());
                let size = mould.block.size();
                prop_assert!(shared < 1e-9 * size.x * size.y * size.z, "{}", shared);
            }
            // The root, or the mould, has no room.
            Err(MouldError::Spec(problems)) => {
                prop_assert!(problems.0.iter().all(|p| p.limit.is_some() || p.hint.is_some()));
            }
            Err(other) => prop_assert!(false, "{other}"),
        }
    }
}
