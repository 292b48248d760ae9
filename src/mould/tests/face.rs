//! The waist of cambered bodies. What must hold: the block is shared out without loss, with the
//! same parting face on both halves; nothing of a round body holds a half; keys keep their
//! clearance; a body that is straight after all has the very mould it had.

use super::holding::{away, trimesh};
use super::routes::{more_on_floor, poured, solid};
use super::*;
use crate::mesh::Bounds;
use crate::mould::opening::Proposal;
use nalgebra::Point3;
use proptest::prelude::*;

pub(super) fn bowed(camber: CamberDesign) -> Design {
    let mut d = design();
    d.mould.parting = Parting::Waist;
    d.body.camber = Some(camber);
    d
}

fn cambers() -> [CamberDesign; 4] {
    [
        CamberDesign::Bow(6.0),
        CamberDesign::Bow(-3.0),
        CamberDesign::Stations(vec![[0.0, 4.0], [30.0, -2.0], [90.0, 1.0]]),
        CamberDesign::Stations(vec![[0.0, 0.0], [50.0, 5.0], [90.0, -6.0]]),
    ]
}

/// Facets of a half that look against the way it is pulled, but those of its outside.
fn held(mould: &Mould) -> Vec<Point3<f64>> {
    let mut held = Vec::new();
    for (mesh, pull, outside) in [
        (&mould.upper, 1.0, mould.block.max.z),
        (&mould.lower, -1.0, mould.block.min.z),
    ] {
        for t in 0..mesh.triangles.len() {
            let [a, b, c] = mesh.corners(t);
            let cross = (b - a).cross(&(c - a));
            // The normal of a needle is noise, so that its shadow counts as well: in mm².
            let leans = cross.z * pull > 1e-6 * cross.norm() && cross.z * pull > 1e-6;
            // Letters are sunk sideways.
            let name = mould.block.min.y + 0.9;
            let within = |p: &Point3<f64>| p.z != outside && p.y > name;
            if [a, b, c].iter().any(within) && leans {
                held.push(a);
            }
        }
    }
    held
}

#[test]
fn the_block_is_shared_out_along_the_bowed_waist_and_nothing_holds() {
    for camber in cambers() {
        for (end, cavities) in [(BodyEnd::Nose, 1), (BodyEnd::Tail, 1), (BodyEnd::Nose, 3)] {
            let mut d = bowed(camber.clone());
            d.mould.sprue_end = end;
            d.mould.cavities = cavities;
            let mould = build(&d);
            sound(&mould);
            assert_eq!(held(&mould), []);
            assert_eq!(mould.undercuts(d.tolerance).found, []);
            // The halves are those of the same face: they do not overlap.
            let shared = solid(&mould.upper).intersection(&solid(&mould.lower));
            let shared = shared.map_or(0.0, |s| s.volume());
            assert!(shared < 1e-6, "{shared}");
            for (half, k) in [(&mould.upper, true), (&mould.lower, false)] {
                let bounds = half.bounds().unwrap();
                assert_eq!(
                    [bounds.min.x, bounds.max.x],
                    [mould.block.min.x, mould.block.max.x]
                );
                let outside = if k { bounds.max.z } else { bounds.min.z };
                let block = if k {
                    mould.block.max.z
                } else {
                    mould.block.min.z
                };
                assert_eq!(outside, block);
            }
            // The wall is kept over the body, bowed as it is.
            let inside = mould.master.bounds().unwrap();
            for (wall, k) in [
                (inside.min - mould.block.min, 1),
                (mould.block.max - inside.max, 1),
            ] {
                assert!(
                    wall.z > d.mould.wall - d.tolerance && wall[k] > d.mould.wall - d.tolerance
                );
            }
        }
    }
}

#[test]
fn the_face_follows_the_spine_and_is_level_beyond_both_ends() {
    for camber in cambers() {
        let d = bowed(camber);
        let body = Body::from_design(&d);
        let mould = Mould::build(&d, &body).unwrap();
        for i in 0..=900 {
            let x = 0.1 * f64::from(i);
            let off = mould.face.height(x, 0.0) - body.spine(x);
            assert!(off.abs() <= d.tolerance, "{x}: {off}");
        }
        assert_eq!(mould.face.height(-5.0, 0.0), body.spine(0.0));
        assert_eq!(mould.face.height(95.0, 0.0), body.spine(90.0));
        // Where the halves have no cavity nor keys, a corner of the block, they end in the face.
        let near = |mesh: &Mesh, end: f64, rise: f64| {
            let at = |p: &&Point3<f64>| p.x == end && p.y == mould.block.max.y;
            mesh.points.iter().filter(at).any(|p| p.z == rise)
        };
        for half in [&mould.upper, &mould.lower] {
            assert!(near(half, mould.block.min.x, body.spine(0.0)));
            assert!(near(half, mould.block.max.x, body.spine(90.0)));
        }
    }
}

#[test]
fn a_body_that_is_straight_after_all_has_the_very_same_mould() {
    let mut d = design();
    d.mould.parting = Parting::Waist;
    let straight = build(&d);
    let level = build(&bowed(CamberDesign::Bow(0.0)));
    assert!(level.face.is_flat());
    assert_eq!(
        (level.upper, level.lower, level.cavity, level.gap),
        (
            straight.upper,
            straight.lower,
            straight.cavity,
            straight.gap
        )
    );
}

#[test]
fn the_mirrored_bow_has_the_mirrored_mould() {
    let made = |rise: f64| {
        let mut d = bowed(CamberDesign::Bow(rise));
        // Back and belly alike.
        d.body.belly = d.body.back.clone();
        d.mould.key_count = Some(0);
        d.mould.notches = Some(false);
        build(&d)
    };
    let (up, down) = (made(5.0), made(-5.0));
    assert_eq!(up.block.max.z, -down.block.min.z);
    for (a, b) in [(&up.upper, &down.lower), (&up.lower, &down.upper)] {
        // Their names differ.
        let unnamed = |half: &Mesh| {
            let mut inside = up.block;
            inside.min.y += 0.9;
            inside.min.z -= 50.0;
            inside.max.z += 50.0;
            let inside = solid(&inside.to_mesh());
            solid(half).intersection(&inside).unwrap().volume()
        };
        assert!((unnamed(a) / unnamed(b) - 1.0).abs() < 1e-9);
    }
    assert!((up.cavity.volume() / down.cavity.volume() - 1.0).abs() < 1e-9);
}

#[test]
fn a_bow_moves_no_plastic_and_takes_no_more_of_the_flank() {
    // Sections only move along the pull: what fills the mould is what fills the straight one.
    let mut d = design();
    d.mould.parting = Parting::Waist;
    let straight = build(&d).cavity.volume();
    let mould = build(&bowed(CamberDesign::Bow(6.0)));
    assert!((mould.cavity.volume() / straight - 1.0).abs() < 2e-3);
    let channels = build(&d).channels;
    assert!((mould.channels.sprue.covers - channels.sprue.covers).abs() < 1e-6);
}

#[test]
fn keys_on_the_slope_stand_upright_with_their_clearance() {
    for shape in [KeyShape::Cone, KeyShape::Dome, KeyShape::Bar] {
        for camber in cambers() {
            let mut d = bowed(camber);
            d.tolerance = 0.02;
            d.mould.key_shape = shape;
            d.mould.key_count = Some(8);
            d.mould.key_radius = 2.0;
            d.mould.key_height = 2.0 + 2.0 * f64::from(u8::from(shape == KeyShape::Bar));
            let mould = build(&d);
            sound(&mould);
            assert!(mould.keys.iter().any(|k| k.falls > 0.2));
            let clearance = d.mould.key_clearance;
            let upper = trimesh(&mould.upper);
            let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
            // All of the lower half that stands over the parting face.
            for p in &mould.lower.points {
                if p.z > mould.face.height(p.x, p.y) + 1e-6 {
                    let gap = away(&upper, p);
                    least = least.min(gap);
                    most = most.max(gap);
                }
            }
            // Facets of both straddle their surfaces within the tolerance. Where the face falls
            // away the sides are upright, so that the gap there is not square to the taper.
            assert!(least > clearance - 0.021, "{shape:?}: {least}");
            assert!(most < 1.2 * clearance + 0.021, "{shape:?}: {most}");
        }
    }
}

#[test]
fn keys_stand_out_of_a_steep_face_by_half_their_height() {
    let mut d = bowed(CamberDesign::Bow(-11.0));
    d.mould.key_shape = KeyShape::Bar;
    d.mould.key_height = 2.0;
    d.mould.key_count = Some(8);
    let mould = build(&d);
    sound(&mould);
    assert_eq!(held(&mould), []);
    for key in &mould.keys {
        let [along, _] = key.reach();
        let highest = [-along, 0.0, along].map(|dx| mould.face.height(key.at[0] + dx, key.at[1]));
        let top = key.foot + key.height;
        assert!(highest.iter().all(|h| top - h >= 1.0 - 1e-9), "{key:?}");
        assert!(top + key.clearance < mould.block.max.z - 3.0);
    }
}

#[test]
fn a_high_point_on_the_bowed_waist_is_vented_as_on_a_flat_one() {
    // A horn that points ahead at each side, at the height of the spine there.
    let d = bowed(CamberDesign::Bow(6.0));
    let body = Body::from_design(&d);
    let z = body.spine(38.0);
    let mut made = solid(&body.mesh(d.tolerance).unwrap());
    for (min, max) in [
        ([40.0, -16.0, z - 1.0], [46.0, 17.0, z + 1.0]),
        ([30.0, 14.0, z - 1.0], [46.0, 17.0, z + 1.0]),
        ([34.0, -16.0, z - 1.0], [46.0, -13.0, z + 1.0]),
    ] {
        let part = Bounds {
            min: min.into(),
            max: max.into(),
        };
        made = made.union(&solid(&part.to_mesh())).unwrap();
    }
    let mould = Mould::around(&d, &body, &made.to_mesh()).unwrap();
    sound(&mould);
    assert_eq!(mould.air.held, []);
    assert_eq!(
        (mould.air.relieved.len(), mould.channels.grooves.len()),
        (2, 2)
    );
    for trap in &mould.air.relieved {
        assert!((trap.peak.z - z).abs() < 1.0 + 1e-6, "{}", trap.peak);
    }
    // Everything of the cavity is open to the sprue's face along the way the air goes.
    let found = air::traps(&mould.cavity, &mould.block, BodyEnd::Nose, 0.3);
    assert_eq!(found, []);
}

#[test]
fn the_waist_is_proposed_where_the_flank_holds_the_bowed_body() {
    // Side fins of a sort: bars that only the waist lets go of.
    let d = bowed(CamberDesign::Bow(5.0));
    let body = Body::from_design(&d);
    let mut made = solid(&body.mesh(d.tolerance).unwrap());
    let z = body.spine(45.0);
    let bar = |half: f64, y: [f64; 2]| Bounds {
        min: Point3::new(45.0 - half, y[0], z - 1.5),
        max: Point3::new(45.0 + half, y[1], z + 1.5),
    };
    for part in [
        bar(1.0, [-14.0, 14.0]),
        bar(4.0, [-16.0, -12.0]),
        bar(4.0, [12.0, 16.0]),
    ] {
        made = made.union(&solid(&part.to_mesh())).unwrap();
    }
    let master = made.to_mesh();
    let waist = PartingFace::waist(&d, &body, &master);
    let proposal = Proposal::of(&master, &waist, d.tolerance);
    assert_eq!(proposal.parting, Parting::Waist);
    assert_eq!(proposal.waist.found, []);
    assert!(proposal.flank.depth() > 1.0);
    // Along the flat plane of the axis instead, the body itself would hold.
    let flat = Proposal::of(&master, &PartingFace::default(), d.tolerance);
    assert!(flat.waist.depth() > 0.5);
}

#[test]
fn boxes_and_board_follow_the_face() {
    for camber in cambers() {
        for route in [Route::Boxes, Route::Board] {
            let mut d = bowed(camber.clone());
            d.mould.route = route;
            d.mould.key_clearance = 0.0;
            let body = Body::from_design(&d);
            let master = Master::build(&d, &body).unwrap().mesh;
            let mould = Mould::around(&d, &body, &master).unwrap();
            sound(&mould);
            let parts = mould.parts(&d, &body, &master).unwrap();
            for piece in parts.iter().flat_map(|p| &p.pieces) {
                piece.check().unwrap();
            }
            if route == Route::Boxes {
                for (part, half) in parts.iter().zip([&mould.upper, &mould.lower]) {
                    let cast = poured(&part.pieces[0], mould.block.size());
                    assert!((cast.volume() / half.volume() - 1.0).abs() < 1e-9);
                }
                continue;
            }
            // With the master the formers are the cavity, but for what vents are deeper there where the
            // face is steep: they are bent into it as thick as they are drawn.
            let formers = parts[1].pieces[0].volume();
            let mut drawn = solid(&mould.face.level(mould.master.clone()));
            for channel in mould.channels.meshes(&PartingFace::default(), d.tolerance) {
                drawn = drawn.union(&solid(&channel)).unwrap();
            }
            let off = (formers + master.volume()) / drawn.volume() - 1.0;
            assert!(off.abs() < 1e-9, "{off}");
            let more = mould.cavity.volume() / drawn.volume() - 1.0;
            assert!(more > -1e-9 && more < 0.01, "{more}");
            // The master lies in the board up to its waist, with its room, as far as facets stray.
            let board = &parts[0].pieces[0];
            let flange = 0.5 * (board.bounds().unwrap().size().x - mould.block.size().x);
            let down = Vector3::new(
                mould.block.min.x - flange,
                mould.block.min.y - flange,
                mould.block.min.z - 4.0,
            );
            let placed = board.clone().translated(&down);
            let near = trimesh(&placed);
            for p in &master.points {
                let gap = away(&near, p);
                assert!(
                    gap > d.mould.board_clearance - 2.5 * d.tolerance,
                    "{p}: {gap}"
                );
            }
            let apart = solid(&placed).intersection(&solid(&master));
            assert!(apart.is_err());
            // Its deck is the face: no point of the first half's face lies farther from it than
            // the slide fit at the edges.
            let at = Point3::new(45.0, mould.block.max.y - 2.0, body.spine(45.0));
            assert!(away(&near, &at) < d.tolerance);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_bowed_body_opens_along_its_waist(
        mut d in any_body::designs(),
        rise in -0.12f64..0.12,
        // Whether it has stations, too.
        tail in prop::option::of(-0.2f64..0.2),
    ) {
        let length = d.body.length;
        d.mould.parting = Parting::Waist;
        d.mould.route = Route::Block;
        // Their grooves face the pull on the block's outside.
        d.mould.bands = false;
        d.mould.bed = [220.0, 220.0, 250.0];
        d.mould.sheet_walls = tail.is_some();
        if d.mould.sheet_walls {
            d.mould.route = Route::Boxes;
            (d.mould.bolts, d.mould.key_clearance) = (None, 0.0);
        }
        d.body.camber = Some(match tail {
            None => CamberDesign::Bow(rise * length),
            Some(tail) => CamberDesign::Stations(vec![
                [0.0, 0.0],
                [0.5 * length, rise * length],
                [length, tail * length],
            ]),
        });
        let body = Body::from_design(&d);
        let made = Master::build(&d, &body).map_err(MouldError::from).and_then(|made| {
            let mould = Mould::around(&d, &body, &made.mesh)?;
            let parts = mould.parts(&d, &body, &made.mesh)?;
            Ok((mould, parts))
        });
        match made {
            Ok((mould, parts)) => {
                if d.mould.sheet_walls && parts.iter().all(|p| p.pieces.len() == 1) {
                    let [lowest, highest] = mould.face.range();
                    let halves = [
                        (&mould.upper, mould.block.max.z - lowest),
                        (&mould.lower, highest - mould.block.min.z),
                    ];
                    for (part, (half, deep)) in parts.iter().zip(halves) {
                        part.pieces[0].check().unwrap();
                        let more =
                            more_on_floor(&part.pieces[0], half, deep, mould.block.size());
                        prop_assert!(more.abs() < 1e-9, "{}: {}", part.name, more);
                    }
                }
                sound(&mould);
                prop_assert_eq!(held(&mould), vec![]);
                let shared = solid(&mould.upper).intersection(&solid(&mould.lower));
                let shared = shared.map_or(0.0, |s| s.volume());
                let size = mould.block.size();
                prop_assert!(shared < 1e-9 * size.x * size.y * size.z, "{}", shared);
            }
            Err(MouldError::Spec(problems)) => {
                prop_assert!(problems.0.iter().all(|p| p.path.starts_with("mould.")));
            }
            Err(other) => prop_assert!(false, "{other}"),
        }
    }
}
