//! Several baits in one block.

use super::*;

fn several(count: usize) -> Design {
    let mut d = design();
    d.mould.cavities = count;
    d
}

#[test]
fn every_number_of_cavities_is_sound() {
    for count in [2, 3, 5, 24] {
        for end in [BodyEnd::Nose, BodyEnd::Tail] {
            let mut d = several(count);
            d.mould.sprue_end = end;
            let mould = build(&d);
            sound(&mould);
            assert_eq!(mould.cavities.len(), count);
            let runner = mould.channels.runner.as_ref().unwrap();
            assert_eq!(runner.necks.len(), count);
            // One hollow, reaching the outside at both ends: all are fed.
            let cavity = mould.cavity.bounds().unwrap();
            assert_eq!(cavity.min.x, mould.block.min.x);
            assert_eq!(cavity.max.x, mould.block.max.x);
            let one = build(&design()).cavity.volume();
            assert!(mould.cavity.volume() > 0.8 * count as f64 * one);
            for neck in &runner.necks {
                assert!(neck.gate_radius <= mould.channels.sprue.gate_radius + 1e-12);
            }
        }
    }
}

#[test]
fn cavities_are_one_connected_hollow() {
    let mould = build(&several(5));
    // Union-find over shared points.
    let mesh = &mould.cavity;
    let mut root: Vec<usize> = (0..mesh.points.len()).collect();
    fn find(root: &mut [usize], mut i: usize) -> usize {
        while root[i] != i {
            root[i] = root[root[i]];
            i = root[i];
        }
        i
    }
    for t in &mesh.triangles {
        let a = find(&mut root, t[0] as usize);
        for &i in &t[1..] {
            let b = find(&mut root, i as usize);
            root[b] = a;
        }
    }
    let first = find(&mut root, mesh.triangles[0][0] as usize);
    for t in &mesh.triangles {
        assert_eq!(find(&mut root, t[0] as usize), first);
    }
}

#[test]
fn too_close_a_pitch_is_named_with_one_that_fits() {
    let mut d = several(4);
    d.mould.pitch = Some(12.0);
    let Err(MouldError::Spec(problems)) = Mould::build(&d, &Body::from_design(&d)) else {
        panic!("too close")
    };
    assert_eq!(problems.0[0].path, "mould.pitch");
    let limit = problems.0[0].limit.as_deref().unwrap();
    let fits: f64 = limit.split(' ').nth(2).unwrap().parse().unwrap();
    d.mould.pitch = Some(fits);
    sound(&build(&d));
    let closest = fits;
    d.mould.pitch = None;
    let mould = build(&d);
    let pitch = mould.cavities[1] - mould.cavities[0];
    assert!(
        pitch >= closest - 0.01 && pitch < closest + 0.11,
        "{pitch} {closest}"
    );
}

#[test]
fn boxes_of_several_cavities_are_sound() {
    let mut d = several(3);
    d.mould.route = Route::Boxes;
    d.mould.key_clearance = 0.0;
    let body = Body::from_design(&d);
    let master = Master::build(&d, &body).unwrap().mesh;
    let mould = Mould::around(&d, &body, &master).unwrap();
    for part in mould.parts(&d, &body, &master).unwrap() {
        for piece in &part.pieces {
            piece.check().unwrap();
        }
    }
}

#[test]
fn a_stated_time_asks_for_a_gate() {
    // Torricelli by hand: 7 ml in 2 s under 15 mm of head: 542 mm/s; 0.6 of it counts;
    // 10.8 mm², 3.7 mm across. Ours is wider already.
    let mut d = design();
    d.mould.fill = Some(2.0);
    assert_eq!(build(&d).channels.sprue.gate_radius, 2.0);
    d.mould.fill = Some(1.0);
    let gate = build(&d).channels.sprue.gate_radius;
    let shot = Body::from_design(&d).mesh(0.05).unwrap().volume();
    let by_hand = (shot / (0.6 * (2.0 * 9806.65 * 15.0f64).sqrt()) / std::f64::consts::PI).sqrt();
    assert!((gate - by_hand).abs() < 1e-6, "{gate} {by_hand}");
    d.mould.fill = Some(0.2);
    let Err(MouldError::Spec(problems)) = Mould::build(&d, &Body::from_design(&d)) else {
        panic!("too fast")
    };
    assert_eq!(problems.0[0].path, "mould.sprue.fill");
    let limit = problems.0[0].limit.as_deref().unwrap();
    d.mould.fill = Some(limit.split(' ').nth(2).unwrap().parse().unwrap());
    sound(&build(&d));
}

/// Sideways there are the neighbours, and the collars' end is the lowest: air leaves upwards.
#[test]
fn several_with_collars_need_no_vents_at_the_collar() {
    let mut d = with_collar();
    d.mould.cavities = 3;
    d.mould.vent_count = None;
    let mould = build(&d);
    sound(&mould);
    assert_eq!(mould.channels.vents, []);
    assert_eq!(mould.air.held, []);
}

#[test]
fn keys_of_a_wide_block_stand_at_its_ends_too_clear_of_all_that_is_cast() {
    for (count, end, shape) in [
        (24, BodyEnd::Nose, KeyShape::Cone),
        (12, BodyEnd::Tail, KeyShape::Bar),
        (6, BodyEnd::Nose, KeyShape::Dome),
    ] {
        let mut d = several(count);
        d.mould.sprue_end = end;
        d.mould.key_shape = shape;
        d.mould.key_height = 3.0;
        d.mould.key_count = None;
        let mould = build(&d);
        sound(&mould);
        let (block, size) = (mould.block, mould.block.size());
        assert!(size.y > size.x, "{size}");
        // A hand's breadth from one to the next, on every side of the block.
        let near = |key: &&Key, k: usize, edge: f64| (key.at[k] - edge).abs() < 12.0;
        for (k, edge) in [
            (0, block.min.x),
            (0, block.max.x),
            (1, block.min.y),
            (1, block.max.y),
        ] {
            let side = mould.keys.iter().filter(|key| near(key, k, edge));
            let mut at: Vec<f64> = side.map(|key| key.at[1 - k]).collect();
            at.sort_by(f64::total_cmp);
            at.insert(0, block.min[1 - k]);
            at.push(block.max[1 - k]);
            for pair in at.windows(2) {
                assert!(pair[1] - pair[0] < 200.0, "{count}: {at:?} of {size}");
            }
        }
        assert!(mould.keys.len() > 4);
        let cavity = holding::trimesh(&mould.cavity);
        for key in &mould.keys {
            let [along, across] = key.reach();
            for i in 0..64 {
                let (sin, cos) = libm::sincos(f64::from(i) * std::f64::consts::PI / 32.0);
                let (x, y) = match shape {
                    KeyShape::Bar => (along * cos.signum(), across * sin),
                    _ => (along * cos, across * sin),
                };
                let p = nalgebra::Point3::new(key.at[0] + x, key.at[1] + y, 0.0);
                let off = holding::away(&cavity, &p);
                assert!(off > 1.4, "{count} {key:?}: {off}");
            }
        }
        for landed in turned_keys(&mould) {
            let stopped = landed.iter().any(|p| {
                mould
                    .keys
                    .iter()
                    .all(|k| libm::hypot(p[0] - k.at[0], p[1] - k.at[1]) > k.radius)
            });
            assert!(stopped, "{count}");
        }
    }
}

#[test]
fn baits_that_are_alike_are_held_alike() {
    // Fins that stand out of the waist hold one half; without steps all of them do.
    let mut d = several(3);
    d.mould.parting = Parting::Waist;
    d.mould.steps = false;
    d.mould.bed = [300.0, 300.0, 300.0];
    d.fin = vec![FinDesign {
        at: 30.0,
        angle: 110.0,
        outline: FinOutline::Stations {
            root: 16.0,
            knots: vec![knot(8.0, 12.0)],
        },
        thickness: 2.0,
        rounding: 1.0,
        sweep: 0.0,
        cant: 0.0,
    }];
    let mut one = |count: usize| {
        d.mould.cavities = count;
        let mould = build(&d);
        sound(&mould);
        let all = mould.undercuts(d.tolerance);
        let own = |u: &crate::mould::opening::Undercut| {
            let p = u.at.y - mould.cavities[mould.bait_at(&u.at)];
            ([u.depth, u.across, u.area, u.at.x, u.at.z], p)
        };
        let all: Vec<_> = all.found.iter().map(own).collect();
        (mould, all)
    };
    let (_, alone) = one(1);
    assert!(alone.len() >= 2, "{alone:?}");
    for count in [2, 3, 5] {
        let (_, all) = one(count);
        assert_eq!(all.len(), count * alone.len(), "{all:?}");
        for (numbers, y) in &all {
            let like = |(other, p): &&([f64; 5], f64)| other == numbers && (p - y).abs() < 1e-9;
            assert_eq!(all.iter().filter(like).count(), count, "{numbers:?}");
        }
        // And as deep as one alone, within the spacing of the columns.
        for (one, other) in alone.iter().zip(all.iter().step_by(count)) {
            assert!((one.0[0] - other.0[0]).abs() < 0.2, "{one:?} {other:?}");
        }
    }
}
