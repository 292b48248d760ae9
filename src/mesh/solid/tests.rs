use super::super::check::FaultKind;
use super::super::shapes::{cuboid, prism, sphere, spindle};
use super::super::{AxisMap, Direction};
use super::*;
use nalgebra::{Isometry3, Rotation3, Vector3};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::collections::BTreeSet;

fn solid(mesh: &Mesh) -> Solid {
    Solid::try_from(mesh).unwrap()
}

/// The result as a mesh that passes the checker.
fn sound(result: Result<Solid, SolidError>) -> Mesh {
    let mesh = result.unwrap().to_mesh();
    assert_eq!(mesh.check(), Ok(()));
    mesh
}

fn same(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * b.abs(), "{a} against {b}");
}

fn bits(mesh: &Mesh) -> BTreeSet<[u64; 3]> {
    mesh.points
        .iter()
        .map(|p| [p.x, p.y, p.z].map(f64::to_bits))
        .collect()
}

/// A ball with a row of points exactly on z = 0.
fn ball() -> Mesh {
    let mut mesh = sphere(10.0, 32, 48);
    for p in &mut mesh.points {
        if p.z.abs() < 1e-12 {
            p.z = 0.0;
        }
    }
    mesh
}

fn halves() -> (Mesh, Mesh) {
    (
        cuboid([-20.0; 3], [20.0, 20.0, 0.0]),
        cuboid([-20.0, -20.0, 0.0], [20.0; 3]),
    )
}

#[test]
fn broken_operands_are_refused() {
    let refused = |mesh: &Mesh| Solid::try_from(mesh).err().unwrap();
    assert_eq!(refused(&Mesh::default()), SolidError::Empty);
    for bad in [f64::NAN, f64::INFINITY, 1.0e300, -1.1e6] {
        let mut mesh = ball();
        mesh.points[7].z = bad;
        assert_eq!(refused(&mesh), SolidError::PointOutOfRange { point: 7 });
    }
    let mut mesh = ball();
    mesh.triangles[3][1] = 100_000;
    assert_eq!(refused(&mesh), SolidError::IndexOutOfRange { triangle: 3 });
    let volume = -ball().volume();
    match refused(&ball().flipped()) {
        SolidError::InsideOut { volume: found } => same(found, volume),
        other => panic!("{other}"),
    }
    let mut open = ball();
    open.triangles.remove(200);
    assert_eq!(refused(&open), SolidError::NotClosed);
    let mut twice = ball();
    twice.triangles.push(twice.triangles[200]);
    assert_eq!(refused(&twice), SolidError::NotClosed);
    let mut one_wrong = ball();
    one_wrong.triangles[200].swap(0, 1);
    assert_eq!(refused(&one_wrong), SolidError::NotClosed);
}

#[test]
fn nothing_left_is_an_error() {
    let small = solid(&ball());
    let big = solid(&cuboid([-20.0; 3], [20.0; 3]));
    let far = solid(&ball().translated(&Vector3::new(50.0, 0.0, 0.0)));
    let nothing = |result: Result<Solid, SolidError>, operation| {
        assert_eq!(result.err(), Some(SolidError::NothingLeft { operation }));
    };
    nothing(small.difference(&big), Operation::Difference);
    nothing(small.difference(&small), Operation::Difference);
    nothing(small.intersection(&far), Operation::Intersection);
    // Faces that touch have no volume in common.
    let (lower, upper) = halves();
    nothing(
        solid(&lower).intersection(&solid(&upper)),
        Operation::Intersection,
    );
}

#[test]
fn a_void_keeps_every_bit_of_its_points() {
    let (block, ball) = (cuboid([-20.0; 3], [20.0; 3]), ball());
    let result = sound(solid(&block).difference(&solid(&ball)));
    let mut expected = bits(&block);
    expected.extend(bits(&ball));
    assert_eq!(bits(&result), expected);
    assert_eq!(
        result.triangles.len(),
        block.triangles.len() + ball.triangles.len()
    );
    same(result.volume(), block.volume() - ball.volume());
    // A void is a legal operand: fill it again.
    same(
        sound(solid(&result).union(&solid(&ball))).volume(),
        block.volume(),
    );
}

#[test]
fn two_halves_along_a_row_of_points() {
    // Poles on z, and poles in the parting plane.
    let across = AxisMap::new(Direction::PlusY, Direction::PlusZ, Direction::PlusX).unwrap();
    let mut lying = sphere(10.0, 32, 48).mapped(&across);
    for p in &mut lying.points {
        if p.z.abs() < 1e-12 {
            p.z = 0.0;
        }
    }
    for body in [ball(), lying] {
        let (lower, upper) = halves();
        let a = sound(solid(&lower).difference(&solid(&body)));
        let b = sound(solid(&upper).difference(&solid(&body)));
        same(
            a.volume() + b.volume() + body.volume(),
            lower.volume() + upper.volume(),
        );
        // The cut runs along points that were there: those below it come back
        // bit for bit, those in it to the last bit or two.
        let mut there = bits(&lower);
        there.extend(bits(&body));
        for p in &a.points {
            let near = |q: &Point3<f64>| (p - q).norm() < 1e-14;
            let kept = there.contains(&[p.x, p.y, p.z].map(f64::to_bits));
            assert!(kept || (p.z == 0.0 && body.points.iter().any(near)), "{p}");
        }
        let below = body.points.iter().filter(|p| p.z <= 0.0).count();
        assert_eq!(a.points.len(), 8 + below);
    }
}

#[test]
fn flush_keys_before_and_after_the_cavity() {
    let (lower, _) = halves();
    let key = cuboid([12.0, 12.0, 0.0], [16.0, 16.0, 4.0]);
    let (half, pin, body) = (solid(&lower), solid(&key), solid(&ball()));
    let before = sound(half.union(&pin).and_then(|h| h.difference(&body)));
    let after = sound(half.difference(&body).and_then(|h| h.union(&pin)));
    same(before.volume(), after.volume());
    same(
        after.volume(),
        lower.volume() + key.volume() - ball().volume() / 2.0,
    );
    // One piece: the faces were joined, not laid on one another.
    assert_eq!(after.shells().len(), 1);
    // The same with a cavity whose rows do not lie on the face.
    let turn = Rotation3::from_scaled_axis(Vector3::new(0.4, 1.3, 0.7));
    let by = Isometry3::from_parts(Vector3::new(0.1, 0.2, 0.3).into(), turn.into());
    let body = solid(&ball().transformed(&by));
    let before = sound(half.union(&pin).and_then(|h| h.difference(&body)));
    let after = sound(half.difference(&body).and_then(|h| h.union(&pin)));
    same(before.volume(), after.volume());
}

#[test]
fn a_tapered_sprue_to_the_outer_face() {
    let block = solid(&cuboid([-20.0; 3], [20.0; 3]));
    // Frustum from z = 5, inside the ball, to the top face.
    let sprue_mesh = spindle(&[(3.0, 5.0), (5.0, 20.0)], (5.0, 20.0), 48);
    let (body, sprue) = (solid(&ball()), solid(&sprue_mesh));
    let cavity = body.union(&sprue).unwrap();
    let common = sound(body.intersection(&sprue));
    same(
        cavity.volume(),
        body.volume() + sprue.volume() - common.volume(),
    );
    let mould = sound(block.difference(&cavity));
    same(mould.volume(), block.volume() - cavity.volume());
    // The way in is open: one surface from outside to the cavity.
    assert_eq!(mould.shells().len(), 1);
    // Untouched corners of the ball are still there, bit for bit.
    let there = bits(&mould);
    for p in ball().points.iter().filter(|p| p.z < 4.9) {
        assert!(there.contains(&[p.x, p.y, p.z].map(f64::to_bits)));
    }
}

#[test]
fn pieces_apart_are_composed_and_pieces_that_touch_are_joined() {
    let cube = |x: f64| cuboid([x, 0.0, 0.0], [x + 1.0, 1.0, 1.0]);
    let compose = |meshes: &[Mesh]| {
        let solids: Vec<Solid> = meshes.iter().map(solid).collect();
        Solid::compose(&solids)
    };
    let apart = sound(compose(&[cube(0.0), cube(2.0), cube(4.0)]));
    same(apart.volume(), 3.0);
    assert_eq!(apart.shells().len(), 3);
    // The middle one touches both ends, which are apart; the order is the worst.
    let row = sound(compose(&[cube(0.0), cube(2.0), cube(1.0), cube(5.0)]));
    same(row.volume(), 4.0);
    assert_eq!(row.shells().len(), 2);
    let overlap = sound(compose(&[cube(0.0), cube(0.5)]));
    same(overlap.volume(), 1.5);
    same(sound(compose(&[cube(0.0)])).volume(), 1.0);
    assert_eq!(compose(&[]).err(), Some(SolidError::Empty));
    // A loose part in a void: boxes touch, surfaces do not.
    let mut hollow = cuboid([-20.0; 3], [20.0; 3]);
    hollow.append(&ball().flipped());
    let part = cuboid([-1.0; 3], [1.0; 3]);
    let both = sound(compose(&[hollow.clone(), part.clone()]));
    same(both.volume(), hollow.volume() + part.volume());
    assert_eq!(both.shells().len(), 3);
}

#[test]
fn the_same_operands_give_the_same_bits() {
    let once = || {
        let a = solid(&ball()).union(&solid(&prism(4.0, 30.0, 24))).unwrap();
        let b = a
            .difference(&solid(&cuboid([-3.0, 0.5, -30.0], [2.0, 30.0, 7.0])))
            .unwrap();
        b.to_mesh()
    };
    assert_eq!(once(), once());
}

#[test]
fn a_failure_names_what_was_done() {
    let error = SolidError::Failed {
        operation: Operation::Union,
        reason: "no".into(),
    };
    assert_eq!(error.to_string(), "union failed: no");
    let body = || solid(&ball()).body;
    // What the engine would give for a broken operand: empty, or the wrong volume.
    let judged = |body: Manifold, low: f64, high: f64| {
        Solid::accept(body, Operation::Difference, low..=high, 5000.0).err()
    };
    assert!(matches!(
        judged(Manifold::empty(), 1.0, 2.0),
        Some(SolidError::Failed { .. })
    ));
    assert!(matches!(
        judged(body(), 1.0, 2.0),
        Some(SolidError::Failed { .. })
    ));
    let broken = Manifold::make_empty(Status::NotManifold);
    assert!(matches!(
        judged(broken, 0.0, 2.0),
        Some(SolidError::Failed { .. })
    ));
    assert_eq!(judged(body(), 0.0, 5000.0), None);
}

#[test]
fn an_operand_that_crosses_itself_is_for_the_checker_to_find() {
    // Two overlapping balls in one mesh: closed, so the engine takes it.
    let mut mesh = ball();
    mesh.append(&ball().translated(&Vector3::new(5.0, 0.0, 0.0)));
    assert!(Solid::try_from(&mesh).is_ok());
    assert!(mesh.check().unwrap_err().count(FaultKind::Crossing) > 0);
}

fn any_body() -> impl Strategy<Value = Mesh> {
    let number = |low: f64, high: f64| low..high;
    (
        any::<bool>(),
        prop::array::uniform3(number(4.0, 9.0)),
        prop::array::uniform3(number(-3.0, 3.0)),
        prop::array::uniform3(number(0.0, 6.0)),
    )
        .prop_map(|(square, size, turn, shift)| {
            let mesh = if square {
                cuboid([-4.0, -5.0, -3.0], size)
            } else {
                let mut ball = sphere(1.0, 18, 24);
                for p in &mut ball.points {
                    *p = Point3::new(p.x * size[0], p.y * size[1], p.z * size[2]);
                }
                ball
            };
            let turn = Rotation3::from_scaled_axis(Vector3::from(turn));
            mesh.transformed(&Isometry3::from_parts(
                Vector3::from(shift).into(),
                turn.into(),
            ))
        })
}

/// The volume, or 0 if nothing is left.
fn volume(result: Result<Solid, SolidError>) -> f64 {
    match result {
        Err(SolidError::NothingLeft { .. }) => 0.0,
        result => sound(result).volume(),
    }
}

proptest! {
    // The same bodies on every run: one result in some thousands can hold a
    // needle that cannot be mended.
    #![proptest_config(ProptestConfig {
        rng_seed: RngSeed::Fixed(20_26),
        ..ProptestConfig::with_cases(150)
    })]
    #[test]
    fn volumes_add_up(a in any_body(), b in any_body()) {
        let (va, vb) = (a.volume(), b.volume());
        let (a, b) = (solid(&a), solid(&b));
        let union = volume(a.union(&b));
        let common = volume(a.intersection(&b));
        same(union + common, va + vb);
        same(volume(a.difference(&b)) + common, va);
        same(volume(b.difference(&a)) + common, vb);
    }
}
