//! Different baits in one block.

use super::holding::{away, trimesh};
use super::seats::overlap_at;
use super::*;
use crate::mould::runner::Runner;
use crate::mould::seats::Form;
use crate::rig::{Bed, Rig};
use nalgebra::Point3;
use parry3d_f64::math::Pose;
use parry3d_f64::query;
use proptest::prelude::*;

/// The flattened fish at other sizes.
fn fish(length: f64, height: f64, width: f64) -> Design {
    let mut d = design();
    let (along, f) = (length / 90.0, height / 19.0);
    d.name = format!("fish {length}");
    d.body.length = length;
    for (side, f) in [
        (&mut d.body.back, f),
        (&mut d.body.belly, f),
        (&mut d.body.half_width, width / 11.8),
    ] {
        for k in side {
            *k = knot(k.at * along, k.before * f);
        }
    }
    d
}

fn cast(main: &Design, others: &[(&Design, usize)]) -> Result<Mould, MouldError> {
    let made = |d: &Design| {
        let body = Body::from_design(d);
        let turned = Design {
            mould: main.mould.clone(),
            ..d.clone()
        };
        let master = Master::build(&turned, &body).unwrap();
        (body, master)
    };
    fn pattern(master: &Master) -> Pattern<'_> {
        Pattern {
            mesh: &master.mesh,
            cores: &master.cores,
            core_volume: master.core_volume,
        }
    }
    let (body, master) = made(main);
    let made: Vec<_> = others.iter().map(|(d, _)| made(d)).collect();
    let rigs: Vec<Rig> = others
        .iter()
        .zip(&made)
        .map(|((d, _), (body, _))| {
            let bed = Bed::of(body, &Master::build(d, body).unwrap()).unwrap();
            Rig::build(d, &bed).unwrap()
        })
        .collect();
    let neighbours: Vec<Neighbour<'_>> = others
        .iter()
        .zip(&made)
        .zip(&rigs)
        .map(|(((d, count), (body, master)), rig)| Neighbour {
            name: &d.name,
            body,
            master: pattern(master),
            count: *count,
            face: None,
            rig: Some((*d, rig)),
        })
        .collect();
    Mould::around_several(main, &body, pattern(&master), &neighbours)
}

/// The masters where they lie.
fn placed(mould: &Mould) -> Vec<Mesh> {
    let all = mould.cavities.iter().zip(&mould.kinds);
    all.map(|(&y, &kind)| {
        let master = match kind {
            0 => &mould.master,
            k => &mould.beside[k - 1].master,
        };
        master.clone().translated(&Vector3::new(0.0, y, 0.0))
    })
    .collect()
}

/// Five millimetres of wall between any two, whatever they are.
fn apart(mould: &Mould) {
    let meshes: Vec<_> = placed(mould).iter().map(trimesh).collect();
    let here = Pose::translation(0.0, 0.0, 0.0);
    for (i, a) in meshes.iter().enumerate() {
        for b in &meshes[i + 1..] {
            let off = query::distance(&here, a, &here, b).unwrap().distance;
            assert!(off > 5.0 - 1e-6, "{off}");
        }
    }
}

/// What the runner takes of the pressure up to each bait, by the solids as they are cut: flows as
/// the volumes, the header stretch by stretch, each neck in thin slices.
fn drops(mould: &Mould, runner: &Runner) -> Vec<f64> {
    let flows: Vec<f64> = placed(mould).iter().map(|m| m.volume() / 1000.0).collect();
    let ys = &mould.cavities;
    let each = runner.necks.iter().enumerate().map(|(i, neck)| {
        let header: f64 = (0..ys.len())
            .filter(|&j| ys[j] * ys[i] > 0.0)
            .map(|j| flows[j] * ys[j].abs().min(ys[i].abs()) / runner.radius.powi(4))
            .sum();
        // Within the header a neck is no channel of its own.
        let (near, far) = match mould.channels.sprue.end {
            BodyEnd::Nose => (neck.corners[0], neck.corners[1]),
            BodyEnd::Tail => (neck.corners[1], neck.corners[0]),
        };
        let outside = (far.0 - runner.at).abs() - runner.radius;
        let slices = 1000;
        let taken: f64 = (0..slices)
            .map(|k| {
                let along = (f64::from(k) + 0.5) / f64::from(slices) * outside;
                let share = along / (far.0 - near.0).abs();
                let r = far.1 + (near.1 - far.1) * share;
                outside / f64::from(slices) / r.powi(4)
            })
            .sum();
        header + flows[i] * taken
    });
    each.collect()
}

#[test]
fn pairs_and_triples_are_sound_apart_and_fill_together() {
    let (a, b, c) = (design(), fish(60.0, 14.0, 9.0), fish(75.0, 26.0, 13.0));
    for end in [BodyEnd::Nose, BodyEnd::Tail] {
        for parting in [Parting::Flank, Parting::Waist] {
            for others in [vec![(&b, 1)], vec![(&b, 2), (&c, 1)]] {
                let mut main = a.clone();
                main.mould.sprue_end = end;
                main.mould.parting = parting;
                let mould = cast(&main, &others).unwrap();
                sound(&mould);
                apart(&mould);
                let runner = mould.channels.runner.as_ref().unwrap();
                let drops = drops(&mould, runner);
                // As cut, necks end a little deeper in the body than they are reckoned to.
                for drop in &drops {
                    assert!((drop / drops[0] - 1.0).abs() < 0.25, "{drops:?}");
                }
                // The ends at the sprue are in a row, and every bait reaches the air.
                let ends = placed(&mould).into_iter().map(|m| {
                    let b = m.bounds().unwrap();
                    match end {
                        BodyEnd::Nose => b.min.x,
                        BodyEnd::Tail => b.max.x,
                    }
                });
                let ends: Vec<f64> = ends.collect();
                assert!(ends.iter().all(|x| (x - ends[0]).abs() < 1e-6), "{ends:?}");
                assert_eq!(mould.channels.vents.len(), 2 * mould.cavities.len());
            }
        }
    }
}

#[test]
fn a_bait_beside_itself_is_two_cavities() {
    let d = design();
    let mut twice = d.clone();
    twice.mould.cavities = 2;
    let twice = build(&twice);
    let mould = cast(&d, &[(&d, 1)]).unwrap();
    for (a, b) in [
        (&mould.cavity, &twice.cavity),
        (&mould.upper, &twice.upper),
        (&mould.lower, &twice.lower),
    ] {
        assert!((a.volume() / b.volume() - 1.0).abs() < 1e-9);
    }
    let gates = |m: &Mould| -> Vec<f64> {
        let necks = &m.channels.runner.as_ref().unwrap().necks;
        necks.iter().map(|n| n.gate_radius).collect()
    };
    for (a, b) in gates(&mould).iter().zip(gates(&twice)) {
        assert!((a / b - 1.0).abs() < 1e-9);
    }
    assert_eq!(mould.block, twice.block);
}

#[test]
fn the_order_of_the_list_does_not_matter() {
    let (b, c) = (fish(60.0, 14.0, 9.0), fish(75.0, 26.0, 13.0));
    let one = cast(&design(), &[(&b, 2), (&c, 1)]).unwrap();
    let other = cast(&design(), &[(&c, 1), (&b, 2)]).unwrap();
    assert_eq!(one.block, other.block);
    assert_eq!(one.cavities, other.cavities);
    assert!((one.cavity.volume() / other.cavity.volume() - 1.0).abs() < 1e-12);
}

#[test]
fn places_are_of_the_bait_they_lie_on() {
    let b = fish(60.0, 14.0, 9.0);
    for end in [BodyEnd::Nose, BodyEnd::Tail] {
        let mut main = design();
        main.mould.sprue_end = end;
        let mould = cast(&main, &[(&b, 2)]).unwrap();
        let own = [&main, &b].map(|d| {
            let body = Body::from_design(d);
            trimesh(&Master::build(d, &body).unwrap().mesh)
        });
        for (i, master) in placed(&mould).iter().enumerate() {
            for p in master.points.iter().step_by(97) {
                assert_eq!(mould.bait_at(p), i);
                let there: Point3<f64> = mould.in_body(p);
                let off = away(&own[mould.kinds[i]], &there);
                assert!(off < 1e-6, "{there} is {off} off the bait");
            }
        }
    }
}

#[test]
fn what_does_not_go_together_is_named() {
    let refused = |main: &Design, others: &[(&Design, usize)]| match cast(main, others) {
        Err(MouldError::Spec(problems)) => problems.0,
        other => panic!("{:?}", other.map(|m| m.block)),
    };
    let b = fish(60.0, 14.0, 9.0);
    let mut bowed = b.clone();
    bowed.body.camber = Some(CamberDesign::Bow(4.0));
    let found = refused(&design(), &[(&b, 1), (&bowed, 1)]);
    assert_eq!(found[0].path, "mould.beside[1].spec");
    assert!(found[0].what.contains("fish 60"), "{}", found[0].what);

    let found = refused(&design(), &[(&b, 23), (&b, 1)]);
    assert_eq!(found[0].path, "mould.beside");
    assert_eq!(found[0].value.as_deref(), Some("25"));
    let found = refused(&design(), &[(&b, 0)]);
    assert_eq!(found[0].path, "mould.beside[0].count");

    let mut main = design();
    main.mould.route = Route::Board;
    main.mould.pitch = Some(30.0);
    let found = refused(&main, &[(&b, 1)]);
    let paths: Vec<&str> = found.iter().map(|p| p.path.as_str()).collect();
    assert_eq!(paths, ["mould.beside", "mould.pitch"]);

    // A speck beside a whale would be fed through a hair.
    let found = refused(&fish(300.0, 60.0, 40.0), &[(&fish(12.0, 3.0, 2.4), 1)]);
    assert!(found[0].what.contains("fish"), "{}", found[0].what);

    // Higher than the printer prints.
    let main = design();
    let mut low = main.clone();
    low.mould.bed = [400.0, 400.0, 60.0];
    let mould = cast(&low, &[(&fish(200.0, 150.0, 130.0), 1)]).unwrap();
    let body = Body::from_design(&low);
    match mould.parts(&low, &body, &Mesh::default()) {
        Err(MouldError::Spec(problems)) => assert_eq!(problems.0[0].path, "mould.bed[2]"),
        other => panic!("{:?}", other.map(|parts| parts.len())),
    }
}

fn seated(text: &str) -> Design {
    let body = "body = { length = 80, width = 0.7, outline = [\n\
        { at = 8, height = 13 }, { at = 28, height = 20 }, { at = 58, height = 13 }] }\n\
        mould.sprue.end = \"tail\"\n";
    crate::spec::design(&format!("{body}{text}\n"), Format::Toml).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn every_kind_has_the_seats_of_its_own_spec_where_it_lies() {
    let wired =
        seated("wire = { diameter = 0.8, from = -2, to = 60 }\nmould.seats.clearance = 0.15");
    let mut hooked = seated(
        "hook = { at = 16, height = 2, wire = 1, shank = 26, gap = 12, bend = 14 }\n\
         weight = [{ diameter = 5, at = 30, height = -4 }]",
    );
    hooked.name = "hooked".into();
    let mut plain = fish(60.0, 14.0, 9.0);
    plain.mould = wired.mould.clone();
    for boxes in [false, true] {
        let mut main = [plain.clone(), wired.clone()];
        if boxes {
            for d in &mut main {
                d.mould.route = Route::Boxes;
                d.mould.key_clearance = 0.0;
            }
        }
        // In a mould of its own the second casts the same.
        for main in &main {
            let mould = cast(main, &[(&wired, 2), (&hooked, 1)]).unwrap();
            sound(&mould);
            apart(&mould);
            let mut total = mould.seats.volume;
            for (i, (d, holds)) in [(&wired, "wire"), (&hooked, "hook")]
                .into_iter()
                .enumerate()
            {
                let beside = &mould.beside[i];
                assert!(beside.seats.holds(holds), "{:?}", beside.seats.notes);
                let other = ["hook", "wire"][i];
                assert!(!beside.seats.holds(other));
                let at: Vec<f64> = (0..mould.cavities.len())
                    .filter(|&k| mould.kinds[k] == i + 1)
                    .map(|k| mould.cavities[k])
                    .collect();
                assert_eq!(overlap_at(d, &mould, (beside.along, &at)), 0.0);
                let mut own = d.clone();
                own.mould = main.mould.clone();
                own.mould.seats = d.mould.seats;
                let alone = cast(&own, &[]).unwrap();
                assert_eq!(alone.seats.seats.len(), beside.seats.seats.len());
                assert_eq!(alone.seats.pins.len(), beside.seats.pins.len());
                for (a, b) in alone.seats.exits.iter().zip(&beside.seats.exits) {
                    for (p, q) in a.at.iter().zip(&b.at) {
                        let moved = p + Vector3::new(beside.along, 0.0, 0.0);
                        assert!((q - moved).norm() < 1e-6);
                    }
                }
                total -= alone.seats.volume * at.len() as f64;
                if main.rig.wire.is_some() && i == 0 {
                    // The mould's own bait is such a one as well.
                    total -= alone.seats.volume;
                }
                // What is laid in keeps plastic out, by its own volume or a little less.
                assert!(beside.kept_out > 10.0, "{}", beside.kept_out);
            }
            assert!(total.abs() < 0.5, "{total}");
        }
    }
}

#[test]
fn cores_of_every_kind_stand_in_the_halves() {
    let cored = |name: &str| {
        let mut d = seated(
            "slot = [{ side = \"belly\", from = 26, to = 52, width = 1.8, depth = 5 }]\n\
             bore = [{ diameter = 1.2, to = [34, 0] }]",
        );
        d.name = name.to_owned();
        d
    };
    let plain = fish(60.0, 14.0, 9.0);
    for (main, others) in [(&plain, [(&cored("a"), 2)]), (&cored("a"), [(&plain, 1)])] {
        for parting in [Parting::Flank, Parting::Waist] {
            let mut main = main.clone();
            main.mould.parting = parting;
            main.mould.sprue_end = BodyEnd::Tail;
            let mould = cast(&main, &others).unwrap();
            sound(&mould);
            apart(&mould);
            let halves = [&mould.upper, &mould.lower].map(|h| Solid::try_from(h).unwrap());
            for (y, &kind) in mould.cavities.iter().zip(&mould.kinds) {
                let (d, along) = match kind {
                    0 => (&main, 0.0),
                    k => (others[k - 1].0, mould.beside[k - 1].along),
                };
                let mut d = d.clone();
                d.mould = main.mould.clone();
                let made = Master::build(&d, &Body::from_design(&d)).unwrap();
                // Along the waist the halves make the slot themselves.
                let count = match (d.bore.len(), parting) {
                    (0, _) => 0,
                    (_, Parting::Flank) => 2,
                    (_, Parting::Waist) => 1,
                };
                assert_eq!(made.cores.len(), count);
                if kind > 0 {
                    let beside = &mould.beside[kind - 1];
                    assert_eq!(beside.cores, count);
                    assert_eq!(beside.pins.len(), d.bore.len());
                    // Plastic is what the bait has, without cores and their prints.
                    let off = beside.plastic() / made.bait_volume - 1.0;
                    assert!(off.abs() < 5e-3, "{off}");
                }
                for core in &made.cores {
                    let placed = core.clone().mapped(&Mould::turn(parting));
                    let laid = placed.translated(&Vector3::new(along, *y, 0.0));
                    let laid = Solid::try_from(&laid).unwrap();
                    // It lies in the closed mould, and is held beyond the bait in both halves.
                    for half in &halves {
                        let shared = laid.intersection(half).map_or(0.0, |both| both.volume());
                        assert!(shared < 1e-6, "{shared}");
                    }
                    let bait = Solid::try_from(&made.mesh).unwrap();
                    let bare = Body::from_design(&d).mesh(d.tolerance).unwrap();
                    let bare = Solid::try_from(&bare).unwrap();
                    let print = Solid::try_from(core).unwrap().difference(&bare).unwrap();
                    assert!(print.volume() > 5.0);
                    // Half in one, half in the other.
                    let deep = print
                        .to_mesh()
                        .mapped(&Mould::turn(parting))
                        .bounds()
                        .unwrap();
                    assert!(deep.min.z < -0.4 && deep.max.z > 0.4, "{deep:?}");
                    assert!((deep.min.z + deep.max.z).abs() < 0.1, "{deep:?}");
                    let missing = print.difference(&bait).map_or(0.0, |rest| rest.volume());
                    assert!(missing < 1e-6, "{missing}");
                }
            }
        }
    }
}

#[test]
fn a_core_in_a_gate_that_is_narrowed_for_the_others_is_named() {
    // Alone it has a gate of 4 mm round a pin of 1.2 mm; beside a large bait the gate is narrower.
    let mut pinned = fish(60.0, 14.0, 9.0);
    pinned.bore = vec![BoreDesign {
        radius: 0.6,
        from: None,
        to: Some([40.0, 0.0, 0.0]),
        how: Making::Cast,
    }];
    let gated = |mut d: Design| {
        d.mould.gate_radius = Some(2.0);
        d
    };
    let large = gated(fish(200.0, 60.0, 44.0));
    let found = match cast(&large, &[(&pinned, 1)]) {
        Err(MouldError::Spec(problems)) => problems.0,
        other => panic!("{:?}", other.map(|m| m.channels.runner)),
    };
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].path, "mould.beside[0].spec");
    assert!(found[0].what.contains("stands in the gate"), "{}", found[0]);
    // Beside one as large as itself there is a way.
    let mould = cast(&gated(fish(62.0, 15.0, 10.0)), &[(&pinned, 1)]).unwrap();
    sound(&mould);
    let necks = &mould.channels.runner.as_ref().unwrap().necks;
    assert!(necks.iter().all(|neck| neck.gate_radius > 1.6), "{necks:?}");
}

#[test]
fn a_core_in_a_gate_that_is_narrowed_for_its_own_kind_is_named() {
    // In a row of one kind the gates near the funnel are narrower than those far from it.
    let mut d = fish(60.0, 14.0, 9.0);
    d.mould.bed = [600.0, 600.0, 600.0];
    d.mould.gate_radius = Some(2.0);
    let row = |radius: f64, cavities: usize| {
        let mut d = d.clone();
        d.mould.cavities = cavities;
        d.bore = vec![BoreDesign {
            radius,
            from: None,
            to: Some([40.0, 0.0, 0.0]),
            how: Making::Cast,
        }];
        cast(&d, &[])
    };
    let least = |mould: &Mould| {
        let necks = &mould.channels.runner.as_ref().unwrap().necks;
        let radii = necks.iter().map(|n| n.gate_radius);
        radii.fold(f64::INFINITY, f64::min)
    };
    let slim = row(0.4, 8).unwrap();
    let least = least(&slim);
    assert!(least < 1.95, "{least}");
    // As thick as the outermost gates let past, and a little thinner than the least does.
    assert!(row(1.0, 1).is_ok());
    assert!(row(least - 1.02, 8).is_ok());
    match row(1.0, 8) {
        Err(MouldError::Spec(problems)) => {
            assert_eq!(problems.0.len(), 1);
            let problem = &problems.0[0];
            assert_eq!(problem.path, "mould.sprue.gate");
            let told = problem.value.as_deref().unwrap();
            let way: f64 = told.split(' ').next().unwrap().parse().unwrap();
            // The narrowest of them.
            assert!((way - (least - 1.0)).abs() < 0.04, "{told} {least}");
        }
        other => panic!("{:?}", other.map(|m| m.channels.runner)),
    }
}

#[test]
fn a_gate_that_fills_in_time_goes_by_the_plastic_alone() {
    // Torricelli: the least gate's area goes with the volume; what cores keep out is none.
    let mut d = fish(90.0, 24.0, 16.0);
    d.mould.parting = Parting::Flank;
    d.mould.sprue_end = BodyEnd::Tail;
    d.mould.fill = Some(2.5);
    d.slot = vec![SlotDesign {
        side: Edge::Belly,
        from: 20.0,
        to: 60.0,
        width: 4.0,
        depth: 8.0,
        how: Making::Cast,
    }];
    let body = Body::from_design(&d);
    let master = Master::build(&d, &body).unwrap();
    assert!(!master.cores.is_empty());
    let gate = |core_volume: f64| {
        let pattern = Pattern {
            mesh: &master.mesh,
            cores: &master.cores,
            core_volume,
        };
        let mould = Mould::around_several(&d, &body, pattern, &[]).unwrap();
        mould.channels.sprue.gate_radius
    };
    let shares = 1.0 - master.core_volume / master.mesh.volume();
    let areas = (gate(master.core_volume) / gate(0.0)).powi(2);
    assert!(shares < 0.95, "{shares}");
    assert!((areas / shares - 1.0).abs() < 1e-9, "{areas} {shares}");
}

#[test]
fn the_gate_of_every_kind_is_judged() {
    // A flat nose that lies mostly under the axis: a strip of the gate runs beside it.
    let mut low = fish(60.0, 14.0, 9.0);
    low.body.nose = End::Flat;
    let side = |nose: f64| {
        let at = [(0.0, nose), (3.0, nose), (10.0, 8.0), (40.0, 6.0)];
        at.map(|(at, y)| knot(at, y)).to_vec()
    };
    low.body.back = side(0.6);
    (low.body.belly, low.body.half_width) = (side(7.0), side(6.0));
    let mut main = low.clone();
    main.body.back = side(5.0);
    main.mould.gate_radius = Some(2.0);
    main.mould.parting = Parting::Waist;
    let mould = cast(&main, &[(&low, 1)]).unwrap();
    sound(&mould);
    let runner = mould.channels.runner.as_ref().unwrap();
    let opens = |kind: usize| {
        let necks = runner.necks.iter().zip(&mould.kinds);
        let own = necks.filter(|(_, of)| **of == kind);
        own.map(|(neck, _)| neck.opens).fold(1.0, f64::min)
    };
    assert_eq!(opens(0), 1.0);
    assert!(opens(1) > 0.5 && opens(1) < 0.95, "{}", opens(1));
    assert_eq!(mould.channels.sprue.opens, opens(1));
}

#[test]
fn what_trails_out_of_the_block_keeps_clear_of_longer_neighbours() {
    let mut skirted = with_collar();
    skirted.name = "skirted".into();
    let skirt = "skirt = { strands = 60, strand_length = 50, strand_thickness = 0.8 }";
    skirted.rig.skirt = seated(skirt).rig.skirt;
    skirted.mould.seats.skirt = true;
    let long = fish(200.0, 40.0, 30.0);
    let main = Design {
        mould: MouldDesign {
            vent_count: Some(0),
            ..design().mould
        },
        ..long
    };
    let mut own = skirted.clone();
    own.mould = MouldDesign {
        seats: skirted.mould.seats,
        ..main.mould.clone()
    };
    for mould in [
        cast(&main, &[(&skirted, 1)]).unwrap(),
        cast(&own, &[(&main, 1)]).unwrap(),
    ] {
        sound(&mould);
        let (skirt, y) = (0..2)
            .map(|i| {
                let seats = match mould.kinds[i] {
                    0 => &mould.seats,
                    k => &mould.beside[k - 1].seats,
                };
                (seats, mould.cavities[i])
            })
            .find(|(seats, _)| !seats.seats.is_empty())
            .unwrap();
        let seat = &skirt.seats[0];
        let Form::Groove { line, .. } = &seat.form else {
            panic!()
        };
        assert_eq!(line[1].x, mould.block.max.x);
        let other = placed(&mould)
            .into_iter()
            .max_by(|a, b| a.volume().total_cmp(&b.volume()));
        let other = trimesh(&other.unwrap());
        for i in 0..=200 {
            let at = line[0] + (line[1] - line[0]) * (f64::from(i) / 200.0);
            let off = away(&other, &(at + Vector3::new(0.0, y, 0.0))) - seat.radius;
            assert!(off > 5.0 - 0.1, "{off} at {at}");
        }
    }
}

#[test]
fn a_seat_too_near_another_kind_is_told() {
    use crate::mould::seats::Stranger;
    let d = seated("wire = { diameter = 0.8, from = -2, to = 60 }");
    let mould = build(&d);
    let other = fish(60.0, 14.0, 9.0);
    let master = Body::from_design(&other).mesh(0.05).unwrap();
    let master = master.mapped(&Mould::turn(Parting::Flank));
    // Before the nose the wire's groove has half a millimetre of its own. How much of a wall is
    // left to one beside it goes down with where that lies.
    let wide = master.bounds().unwrap();
    let judged = |gap: f64| {
        let seat = &mould.seats;
        let reach = seat.seats.iter().map(|s| s.radius).fold(0.0, f64::max);
        let moved = master.clone().translated(&Vector3::new(-12.0, 0.0, 0.0));
        let beside = Stranger::new(&moved, &Seats::default(), vec![reach + gap - wide.min.y]);
        let own = mould.master.clone();
        let around = (&mould.channels, &mould.keys[..], &mould.block);
        seat.clone().judge(&d, &own, around, (&[0.0], &[beside]))
    };
    judged(3.0).unwrap();
    let found = judged(-4.0).unwrap_err();
    assert_eq!(found.0[0].path, "mould.seats.wire");
    assert!(found.0[0].what.contains("bait beside it"), "{found}");
}

#[test]
fn what_cannot_be_seated_in_another_bait_is_named_by_it() {
    let mut other = seated("wire = { diameter = 0.8, from = -2, to = 60, height = 2 }");
    other.name = "high wire".into();
    other.mould.seats.wire = Some(true);
    let mut main = fish(60.0, 14.0, 9.0);
    main.mould.parting = Parting::Waist;
    let found = match cast(&main, &[(&other, 1)]) {
        Err(MouldError::Spec(problems)) => problems.0,
        other => panic!("{:?}", other.map(|m| m.block)),
    };
    assert_eq!(found[0].path, "mould.beside[0].spec");
    assert!(
        found[0].what.starts_with("high wire, mould.seats.wire: "),
        "{}",
        found[0].what
    );
}

#[test]
fn the_plane_is_proposed_for_the_worst_of_all() {
    use crate::mould::opening::Proposal;
    // A plate that lies in the waist holds along the flank, one that stands the other way round.
    let plate = |reach: [f64; 2]| {
        let body = crate::mesh::shapes::cuboid([0.0, -4.0, -4.0], [60.0, 4.0, 4.0]);
        let lip =
            crate::mesh::shapes::cuboid([20.0, -reach[0], -reach[1]], [40.0, reach[0], reach[1]]);
        let [a, b] = [body, lip].map(|m| Solid::try_from(&m).unwrap());
        let up = crate::mesh::shapes::cuboid([20.0, reach[0] - 1.0, -6.0], [40.0, reach[0], 6.0]);
        let whole = a.union(&b).unwrap();
        if reach[0] > reach[1] {
            whole
                .union(&Solid::try_from(&up).unwrap())
                .unwrap()
                .to_mesh()
        } else {
            whole.to_mesh()
        }
    };
    let of = |mesh: &Mesh| Proposal::of(mesh, &PartingFace::default(), 0.05);
    let (held, free) = (of(&plate([10.0, 2.0])), of(&plate([2.0, 10.0])));
    assert_eq!(free.waist.depth().max(free.flank.depth()), 0.0);
    assert!(held.waist.depth() > 1.0 || held.flank.depth() > 1.0);
    let mut all = free.clone();
    all.deepen(held.clone());
    assert_eq!(
        (all.flank.depth(), all.waist.depth(), all.parting),
        (held.flank.depth(), held.waist.depth(), held.parting)
    );
    let mut same = held.clone();
    same.deepen(free);
    assert_eq!(same, held);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]

    #[test]
    fn random_baits_in_one_block_share_it_out(
        mut drawn in prop::collection::vec(any_body::designs(), 2..4),
        tail: bool, boxes: bool,
    ) {
        let mould = MouldDesign {
            parting: drawn[0].mould.parting,
            sprue_end: if tail { BodyEnd::Tail } else { BodyEnd::Nose },
            route: if boxes { Route::Boxes } else { Route::Block },
            key_clearance: if boxes { 0.0 } else { 0.2 },
            ..design().mould
        };
        let mould = MouldDesign { vent_count: None, ..mould };
        for d in &mut drawn {
            d.body.camber = None;
            d.mould = mould.clone();
        }
        let others: Vec<(&Design, usize)> = drawn[1..].iter().map(|d| (d, 1)).collect();
        match cast(&drawn[0], &others) {
            Ok(mould) => {
                sound(&mould);
                apart(&mould);
            }
            // Slim ends, or baits too unlike.
            Err(MouldError::Spec(problems)) => {
                let path = &problems.0[0].path;
                prop_assert!(path == "mould.sprue.gate" || path.starts_with("mould.beside"), "{}", problems);
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }
}
