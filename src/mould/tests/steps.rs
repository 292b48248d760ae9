//! Fins that stand out of the waist. What must hold: the face runs through the middle of their
//! plates, so that they hold neither half; the block is shared out without loss; the face is back
//! on its course at the edges of the block; fins that lie in the face, or stand across it, change
//! nothing.

use super::face::bowed;
use super::routes::{more_on_floor, solid};
use super::*;
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
    // One behind the other both are.
    let d = finned(&[fin(14.0, 75.0, 12.0, 8.0), fin(48.0, 115.0, 14.0, 10.0)]);
    let (mould, _) = made(&d);
    sound(&mould);
    assert_eq!(mould.face.followed(), ["fin[0]", "fin[1]"]);
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
        let made = Master::build(&d, &body).map_err(MouldError::from).and_then(|made| {
            let mould = Mould::around(&d, &body, &made.mesh)?;
            let parts = mould.parts(&d, &body, &made.mesh)?;
            Ok((mould, parts))
        });
        match made {
            Ok((mould, parts)) => {
                sound(&mould);
                for piece in parts.iter().flat_map(|p| &p.pieces) {
                    prop_assert_eq!(piece.check(), Ok(()));
                }
                if d.mould.route == Route::Boxes {
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
