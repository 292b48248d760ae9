use super::*;
use crate::spec::*;

fn knot(at: f64, y: f64) -> Knot {
    Knot {
        at,
        before: y,
        after: y,
        corner: false,
    }
}

fn exponents(back: f64, belly: f64) -> SectionKnot {
    SectionKnot {
        at: 0.0,
        back,
        belly,
    }
}

/// What a spec that says nothing of it comes to.
fn usual_day() -> CastDesign {
    let text = "body.length = 60\nbody.outline = [{ at = 20, height = 12 }]";
    crate::spec::design(text, Format::Toml).unwrap().cast
}

/// A flattened fish of 90 mm.
fn design() -> Design {
    let side = |f: f64| {
        [(8.0, 5.5), (30.0, 9.5), (62.0, 6.0), (78.0, 3.0)]
            .map(|(at, y)| knot(at, y * f))
            .to_vec()
    };
    Design {
        scale: 1.0,
        name: "test".into(),
        units: Default::default(),
        body: BodyDesign {
            length: 90.0,
            nose: End::Round,
            tail: End::Round,
            back: side(1.0),
            belly: side(0.9),
            half_width: side(0.62),
            section: vec![exponents(2.0, 2.0)],
            camber: None,
            measured: None,
        },
        collar: Vec::new(),
        eyes: Vec::new(),
        slot: Vec::new(),
        bore: Vec::new(),
        pocket: Vec::new(),
        rig: crate::spec::RigDesign::default(),
        fin: Vec::new(),
        tail: None,
        legs: Vec::new(),
        ribs: Vec::new(),
        lathe: LatheDesign {
            paper: Paper::A4,
            roll: 297.0,
            print_scale: [1.0; 2],
            stock: None,
            tenon: 25.0,
            waste: 10.0,
            card: 0.5,
            kerf: 0.0,
            sanding: 0.0,
            speed: 1000.0,
        },
        allowances: Allowances::default(),
        cast: usual_day(),
        mould: MouldDesign {
            parting: Parting::Flank,
            parting_free: false,
            wall: 9.5,
            key_count: Some(4),
            steps: true,
            key_radius: 3.0,
            key_height: 4.0,
            key_clearance: 0.2,
            sprue_end: BodyEnd::Nose,
            gate_radius: None,
            mouth_radius: 8.0,
            funnel_depth: 12.0,
            vent_count: Some(2),
            vent_width: 1.5,
            vent_depth: 0.5,
            ..MouldDesign::default()
        },
        tolerance: 0.05,
    }
}

fn with_collar() -> Design {
    let mut d = design();
    d.body.tail = End::Flat;
    for side in [&mut d.body.back, &mut d.body.belly, &mut d.body.half_width] {
        side.push(knot(90.0, 6.0));
    }
    d.collar = vec![
        CollarDesign {
            length: 4.0,
            radius: 3.0,
        },
        CollarDesign {
            length: 6.0,
            radius: 4.0,
        },
    ];
    d
}

fn build(design: &Design) -> Mould {
    Mould::build(design, &Body::from_design(design)).unwrap()
}

fn sound(mould: &Mould) {
    for (name, mesh) in [
        ("upper", &mould.upper),
        ("lower", &mould.lower),
        ("cavity", &mould.cavity),
    ] {
        mesh.check().unwrap_or_else(|e| panic!("{name}: {e}"));
    }
    let block: f64 = mould.block.size().iter().product();
    let held = mould.gap + mould.seats.volume;
    let sum = mould.upper.volume() + mould.lower.volume() + mould.cavity.volume() + held;
    assert!((sum - block).abs() < 1e-9 * block, "{sum} {block}");
}

#[test]
fn block_is_shared_out_without_loss() {
    for parting in [Parting::Flank, Parting::Waist] {
        for end in [BodyEnd::Nose, BodyEnd::Tail] {
            let mut d = design();
            d.mould.parting = parting;
            d.mould.sprue_end = end;
            sound(&build(&d));
        }
    }
    sound(&build(&with_collar()));
}

/// No facet of a half looks against the way the half is pulled, but those of its outside.
fn lets_go(mould: &Mould) {
    for (mesh, pull, outside) in [
        (&mould.upper, 1.0, mould.block.max.z),
        (&mould.lower, -1.0, mould.block.min.z),
    ] {
        for t in 0..mesh.triangles.len() {
            let [a, b, c] = mesh.corners(t);
            // Letters are sunk sideways.
            let name = mould.block.min.y + 0.9;
            if [a, b, c].iter().all(|p| p.z == outside || p.y < name) {
                continue;
            }
            let normal = (b - a).cross(&(c - a)).normalize();
            assert!(normal.z * pull < 1e-6, "{a} {normal}");
        }
    }
}

#[test]
fn nothing_holds_a_rigid_half() {
    for d in [design(), with_collar()] {
        lets_go(&build(&d));
    }
}

#[test]
fn parting_face_and_outside_are_flat() {
    let mould = build(&design());
    let bounds = mould.upper.bounds().unwrap();
    assert_eq!(bounds.min.z, 0.0);
    assert_eq!(bounds.max, mould.block.max);
    // The keys alone stand over the lower half's face.
    let bounds = mould.lower.bounds().unwrap();
    assert_eq!(bounds.min, mould.block.min);
    assert_eq!(bounds.max.z, design().mould.key_height);
}

/// Where the keys land when one half is put on turned or mirrored.
fn turned_keys(mould: &Mould) -> [Vec<[f64; 2]>; 3] {
    let mid = mould.block.centre();
    [[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0]].map(|[sx, sy]| {
        let land = |k: &Key| {
            [
                mid.x + sx * (k.at[0] - mid.x),
                mid.y + sy * (k.at[1] - mid.y),
            ]
        };
        mould.keys.iter().map(land).collect()
    })
}

#[test]
fn halves_go_together_one_way_only() {
    for count in 4..=9 {
        let mut d = design();
        d.mould.key_count = Some(count);
        let mould = build(&d);
        assert_eq!(mould.keys.len(), count);
        for landed in turned_keys(&mould) {
            let stopped = landed.iter().any(|p| {
                mould.keys.iter().all(|k| {
                    let off = libm::hypot(p[0] - k.at[0], p[1] - k.at[1]);
                    // This key meets the face beside every socket.
                    off > k.radius
                })
            });
            assert!(stopped, "{count} keys also fit turned");
        }
    }
}

#[test]
fn keys_have_their_clearance_on_every_side() {
    let mould = build(&design());
    let key = mould.keys[0];
    let (bump, socket) = (key.rooted(0.01), key.socket(0.01));
    // Distance of the bump's corners above the face from the socket's flank and floor.
    let lean = 0.4 * key.radius / key.height;
    let cos = 1.0 / (1.0 + lean * lean).sqrt();
    let depth = socket.bounds().unwrap().max.z;
    for p in bump.points.iter().filter(|p| p.z >= 0.0) {
        let r = libm::hypot(p.x - key.at[0], p.y - key.at[1]);
        if r == 0.0 {
            continue;
        }
        let flank = (key.socket_radius() - lean * p.z - r) * cos;
        assert!((flank - key.clearance).abs() < 0.01, "{flank}");
        assert!(depth - p.z >= key.clearance - 1e-12);
    }
}

#[test]
fn wall_is_kept_over_the_body() {
    for parting in [Parting::Flank, Parting::Waist] {
        let mut d = design();
        d.mould.parting = parting;
        let body = Body::from_design(&d);
        let mould = Mould::build(&d, &body).unwrap();
        let master = body.mesh(0.05).unwrap().mapped(&Mould::turn(parting));
        let inside = master.bounds().unwrap();
        // Facets stand out by up to the tolerance.
        let least = d.mould.wall - d.tolerance;
        for k in 0..3 {
            assert!(inside.min[k] - mould.block.min[k] >= least);
            assert!(mould.block.max[k] - inside.max[k] >= least);
        }
    }
}

#[test]
fn channels_reach_the_outside() {
    for end in [BodyEnd::Nose, BodyEnd::Tail] {
        let mut d = design();
        d.mould.sprue_end = end;
        let mould = build(&d);
        let cavity = mould.cavity.bounds().unwrap();
        assert_eq!(cavity.min.x, mould.block.min.x);
        assert_eq!(cavity.max.x, mould.block.max.x);
    }
}

#[test]
fn what_does_not_fit_is_named_with_the_number_that_would() {
    let problems = |d: &Design| match Mould::build(d, &Body::from_design(d)) {
        Err(MouldError::Spec(problems)) => problems.0,
        other => panic!("{other:?}"),
    };
    let mut d = design();
    d.mould.wall = 8.0;
    d.mould.gate_radius = Some(9.0);
    d.mould.vent_count = Some(8);
    let found = problems(&d);
    let paths: Vec<&str> = found.iter().map(|p| p.path.as_str()).collect();
    assert_eq!(
        paths,
        ["mould.sprue.gate", "mould.vents.count", "mould.wall"]
    );

    // The numbers named do fit.
    d.mould.wall = 9.43;
    assert_eq!(found[2].limit.as_deref(), Some("at least 9.42 mm"));
    let number = |text: &Option<String>| -> f64 {
        let words = text.as_deref().unwrap().split(' ');
        words
            .filter_map(|w| w.trim_matches(',').parse().ok())
            .next()
            .unwrap()
    };
    d.mould.gate_radius = Some(0.499 * number(&found[0].limit));
    d.mould.vent_count = Some(number(&found[1].limit) as usize);
    assert!(d.mould.vent_count > Some(0));
    sound(&build(&d));

    let mut d = design();
    d.mould.key_count = Some(40);
    let found = problems(&d);
    assert_eq!(found[0].path, "mould.keys.count");
    d.mould.key_count = Some(number(&found[0].limit) as usize);
    sound(&build(&d));
}

#[test]
fn vents_begin_at_the_tips_of_what_reaches_beyond_the_trunk() {
    // A forked plate behind the trunk, in the parting plane, 20 mm beyond it.
    let d = design();
    let body = Body::from_design(&d);
    let mut solid = Solid::try_from(&body.mesh(0.05).unwrap()).unwrap();
    for z in [-6.0, 6.0] {
        let (low, high) = (z - 2.0, z + 2.0);
        let prong = Bounds {
            min: nalgebra::Point3::new(80.0, -1.0, low),
            max: nalgebra::Point3::new(110.0, 1.0, high),
        }
        .to_mesh();
        solid = solid.union(&Solid::try_from(&prong).unwrap()).unwrap();
    }
    let bridge = Bounds {
        min: nalgebra::Point3::new(78.0, -1.0, -7.0),
        max: nalgebra::Point3::new(86.0, 1.0, 7.0),
    }
    .to_mesh();
    let master = solid
        .union(&Solid::try_from(&bridge).unwrap())
        .unwrap()
        .to_mesh();
    let mould = Mould::around(&d, &body, &master).unwrap();
    sound(&mould);
    let vents = &mould.channels.vents;
    assert_eq!(vents.len(), 2);
    for (vent, y) in vents.iter().zip([-6.0, 6.0]) {
        let from = vent.bounds.min.x;
        assert!((109.0..110.0).contains(&from), "{from}");
        assert!((vent.bounds.centre().y - y).abs() < 0.1);
    }
    // Off the parting plane no groove reaches it: the trunk is vented.
    let mut d = d;
    d.mould.parting = Parting::Waist;
    let mould = Mould::around(&d, &body, &master).unwrap();
    assert!(mould.channels.vents.iter().all(|v| v.bounds.min.x < 90.0));
}

#[test]
fn a_high_point_in_the_parting_face_is_vented_to_the_sprues_face_clear_of_all() {
    // Horns that point ahead, one on each side of a bar across the body.
    for end in [BodyEnd::Nose, BodyEnd::Tail] {
        let mut d = design();
        d.mould.sprue_end = end;
        let body = Body::from_design(&d);
        let mut solid = Solid::try_from(&body.mesh(0.05).unwrap()).unwrap();
        let boxes = [
            ([40.0, -1.0, -16.0], [46.0, 1.0, 17.0]),
            ([30.0, -1.0, 14.0], [56.0, 1.0, 17.0]),
            ([34.0, -1.0, -16.0], [52.0, 1.0, -13.0]),
        ];
        for (min, max) in boxes {
            let part = Bounds {
                min: min.into(),
                max: max.into(),
            }
            .to_mesh();
            solid = solid.union(&Solid::try_from(&part).unwrap()).unwrap();
        }
        let master = solid.to_mesh();
        let mould = Mould::around(&d, &body, &master).unwrap();
        sound(&mould);
        assert_eq!(mould.air.held, []);
        // Above the bar: 10 and 6 mm, both ways up, of 3 mm by 2.
        let mut held: Vec<[f64; 2]> = mould
            .air
            .relieved
            .iter()
            .map(|t| [t.height, t.volume])
            .collect();
        held.sort_by(|a, b| a[0].total_cmp(&b[0]));
        assert_eq!(held.len(), 2);
        for (held, height) in held.iter().zip([6.0, 10.0]) {
            assert!((held[0] - height).abs() < 1e-6 && (held[1] - 6.0 * height).abs() < 1e-5);
        }
        let top = match end {
            BodyEnd::Nose => mould.block.min.x,
            BodyEnd::Tail => mould.block.max.x,
        };
        for groove in &mould.channels.grooves {
            assert_eq!(groove.path.last().unwrap()[0], top);
            for pair in groove.path.windows(2) {
                // Never level, never down.
                let rise = (pair[1][0] - pair[0][0]) * (top - pair[0][0]).signum();
                assert!(rise > 0.9 * (pair[1][1] - pair[0][1]).abs());
                for i in 0..=20 {
                    let t = f64::from(i) / 20.0;
                    let at = [0, 1].map(|k| pair[0][k] + t * (pair[1][k] - pair[0][k]));
                    for key in &mould.keys {
                        let off = libm::hypot(at[0] - key.at[0], at[1] - key.at[1]);
                        assert!(off > key.socket_radius() + 0.5 * groove.width);
                    }
                }
            }
        }
        d.mould.vent_count = Some(0);
        let closed = Mould::around(&d, &body, &master).unwrap();
        assert_eq!(
            (closed.air.held.len(), closed.channels.grooves.len()),
            (2, 0)
        );
    }
}

#[test]
fn a_gate_beside_a_low_blunt_end_is_refused_and_one_partly_beside_is_told() {
    // A flat nose that lies wholly under the axis but for `over`; the back rises behind it.
    let low = |over: f64, gate: f64| {
        let mut d = design();
        d.mould.parting = Parting::Waist;
        d.body.nose = End::Flat;
        let side = |nose: f64| {
            let mut side = vec![knot(0.0, nose), knot(10.0, 8.0), knot(60.0, 6.0)];
            side.insert(1, knot(3.0, nose));
            side
        };
        d.body.back = side(over);
        d.body.belly = side(7.0);
        // Narrow and deep: the disc of the gate stands out on both sides as well.
        d.body.half_width = side(if over < 0.2 { 1.2 } else { 6.0 });
        d.mould.gate_radius = Some(gate);
        d
    };
    let opens = |d: &Design| match Mould::build(d, &Body::from_design(d)) {
        Ok(mould) => Ok(mould.channels.sprue.opens),
        Err(MouldError::Spec(problems)) => Err(Box::new(problems.0[0].clone())),
        Err(other) => panic!("{other}"),
    };
    // Half a disc under the axis, and a strip of it above.
    let share = opens(&low(0.5, 2.0)).unwrap();
    assert!(share > 0.5 && share < 0.9, "{share}");
    // All of it where the end is as high as the gate.
    assert_eq!(opens(&low(5.0, 2.0)).unwrap(), 1.0);
    let refused = opens(&low(0.1, 2.0)).unwrap_err();
    assert_eq!(refused.path, "mould.sprue.gate");
    assert!(refused.what.contains("beside"), "{}", refused.what);
    let limit = refused.limit.clone().unwrap();
    let fits: f64 = limit.split(' ').nth(2).unwrap().parse().unwrap();
    let share = opens(&low(0.1, 0.5 * fits)).unwrap();
    assert!(share >= 0.5, "{share}");
    // Left to itself, the gate is one that opens.
    let mut free = low(0.1, 2.0);
    free.mould.gate_radius = None;
    assert!(opens(&free).unwrap() >= 0.5);
}

mod beside;
mod cavities;
mod face;
mod hints;
mod holding;
mod pins;
mod routes;
mod seats;
mod steps;
mod vents;

mod any_body {
    use super::*;
    use proptest::prelude::*;

    pub(super) fn designs() -> impl Strategy<Value = Design> {
        let stations = prop::collection::vec((4.0f64..25.0, 2.0f64..14.0, 0u8..8), 2..6);
        let bow = prop::option::of(-0.1f64..0.1);
        let shape = (0.3f64..1.4, 0.5f64..1.5, 0usize..5, bow);
        let ends = any::<[bool; 2]>();
        let making = (0usize..3, 1usize..4, 0usize..3, any::<[bool; 3]>());
        let mould = (any::<[bool; 3]>(), 0usize..4, 4usize..8, making);
        (stations, shape, ends, mould).prop_map(
            |(stations, (wide, deep, n, bow), round, (flags, vents, keys, making))| {
                let mut d = design();
                let mut at = 0.0;
                let mut back = Vec::new();
                for (dx, y, kind) in stations {
                    at += dx;
                    let after = if kind == 0 { 0.6 * y } else { y };
                    back.push(Knot {
                        at,
                        before: y,
                        after,
                        corner: kind < 2,
                    });
                }
                let scaled = |f: f64| -> Vec<Knot> {
                    let scale = |k: &Knot| Knot {
                        before: k.before * f,
                        after: k.after * f,
                        ..*k
                    };
                    back.iter().map(scale).collect()
                };
                let end = |r| if r { End::Round } else { End::Pointed };
                d.body = BodyDesign {
                    length: at + 6.0,
                    nose: end(round[0]),
                    tail: end(round[1]),
                    belly: scaled(deep),
                    half_width: scaled(wide),
                    section: vec![
                        [
                            exponents(2.0, 2.0),
                            exponents(1.6, 1.6),
                            exponents(2.5, 2.5),
                            exponents(4.0, 4.0),
                            exponents(1.8, 4.5),
                        ][n],
                    ],
                    camber: bow.map(|b| CamberDesign::Bow(b * (at + 6.0))),
                    measured: None,
                    back,
                };
                if flags[0] {
                    d.mould.parting = Parting::Waist;
                }
                if flags[1] {
                    d.mould.sprue_end = BodyEnd::Tail;
                }
                if flags[2] {
                    d.tolerance = 0.02;
                }
                d.mould.vent_count = (vents > 0).then_some(vents);
                d.mould.key_count = Some(keys);
                let (route, cavities, shape, [bolts, bands, small]) = making;
                d.mould.route = [Route::Block, Route::Boxes, Route::Board][route];
                d.mould.key_shape = [KeyShape::Cone, KeyShape::Dome, KeyShape::Bar][shape];
                d.mould.key_height = [4.0, 2.5, 3.0][shape];
                if d.mould.route == Route::Block {
                    d.mould.bolts = bolts.then_some(Thread::M4);
                } else {
                    d.mould.key_clearance = 0.0;
                }
                d.mould.sheet_walls = bolts && d.mould.route == Route::Boxes;
                d.mould.bands = bands;
                if d.mould.route != Route::Board {
                    d.mould.cavities = if cavities == 3 { 6 } else { cavities };
                }
                if small {
                    d.mould.bed = [70.0, 90.0, 120.0];
                }
                d
            },
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn gives_a_sound_mould_or_a_named_problem(d in designs()) {
            let body = Body::from_design(&d);
            let made = Master::build(&d, &body).map_err(MouldError::from).and_then(|made| {
                let mould = Mould::around(&d, &body, &made.mesh)?;
                let parts = mould.parts(&d, &body, &made.mesh)?;
                Ok((mould, parts))
            });
            match made {
                Ok((mould, parts)) => {
                    sound(&mould);
                    for (name, mesh) in parts.iter().flat_map(|p| p.pieces.iter().map(|m| (&p.name, m))) {
                        mesh.check().unwrap_or_else(|e| panic!("{name}: {e}"));
                        crate::export::stl::to_bytes(mesh, "test").unwrap();
                    }
                    if d.mould.sheet_walls && parts.iter().all(|p| p.pieces.len() == 1) {
                        for (part, half) in parts.iter().zip([&mould.upper, &mould.lower]) {
                            let size = mould.block.size();
                            let more = routes::more_on_floor(&part.pieces[0], half, 0.0, size);
                            prop_assert!(more.abs() < 1e-9, "{}", more);
                        }
                    }
                }
                Err(MouldError::Spec(problems)) => {
                    prop_assert!(problems.0.iter().all(|p| p.path.starts_with("mould.")));
                }
                Err(other) => prop_assert!(false, "{other}"),
            }
        }
    }
}
