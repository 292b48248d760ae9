use super::super::AxisMap;
use super::super::shapes::{cuboid, prism, sphere, torus};
use super::*;
use nalgebra::{Isometry3, Rotation3, Vector3};
use proptest::prelude::*;

fn faults(mesh: &Mesh) -> MeshFaults {
    mesh.check().expect_err("a fault was made on purpose")
}

/// The mesh has faults of this one kind alone; returns them.
fn only(mesh: &Mesh, kind: FaultKind) -> FaultGroup {
    let faults = faults(mesh);
    assert_eq!(faults.groups.len(), 1, "{faults}");
    assert_eq!(faults.groups[0].kind, kind, "{faults}");
    faults.groups[0].clone()
}

fn good() -> Vec<(&'static str, Mesh)> {
    let unit = || cuboid([0.0; 3], [1.0; 3]);
    let mut two = unit();
    two.append(&unit().translated(&Vector3::new(1.5, 0.0, 0.0)));
    let mut void = cuboid([-5.0; 3], [5.0; 3]);
    void.append(&sphere(3.0, 8, 12).flipped());
    let mut island = void.clone();
    island.append(&sphere(1.0, 6, 8));
    let mut linked = torus(10.0, 2.0, 24, 12);
    let across = AxisMap::new(
        super::super::Direction::PlusX,
        super::super::Direction::PlusZ,
        super::super::Direction::MinusY,
    );
    linked.append(
        &torus(10.0, 2.0, 24, 12)
            .mapped(&across.unwrap())
            .translated(&Vector3::new(10.0, 0.0, 0.0)),
    );
    vec![
        ("box", unit()),
        ("sphere", sphere(10.0, 16, 32)),
        ("prism with flat ends", prism(10.0, 40.0, 32)),
        ("torus", torus(20.0, 5.0, 48, 24)),
        ("two boxes", two),
        ("box with a void", void),
        ("loose part inside a void", island),
        ("two links of a chain", linked),
    ]
}

#[test]
fn good_meshes_pass_however_they_lie() {
    let turn = Rotation3::from_scaled_axis(Vector3::new(0.3, -1.1, 2.0));
    let by = Isometry3::from_parts(Vector3::new(-40.0, 7.0, 300.0).into(), turn.into());
    for (name, mesh) in good() {
        assert_eq!(mesh.check(), Ok(()), "{name}");
        assert_eq!(
            mesh.clone().mapped(&AxisMap::MIRROR_Z).check(),
            Ok(()),
            "{name} mirrored"
        );
        assert_eq!(
            mesh.clone().transformed(&by).check(),
            Ok(()),
            "{name} turned"
        );
        let inside_out = faults(&mesh.flipped());
        assert_eq!(inside_out.groups[0].kind, FaultKind::InsideOut, "{name}");
    }
}

#[test]
fn an_empty_mesh_is_a_fault() {
    assert_eq!(only(&Mesh::default(), FaultKind::Empty).count, 1);
}

#[test]
fn bad_coordinates_are_named() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1.0e300, 1.1e6] {
        let mut mesh = sphere(1.0, 6, 8);
        mesh.points[17].y = bad;
        let group = only(&mesh, FaultKind::PointOutOfRange);
        assert_eq!((group.count, &group.first[0].points), (1, &vec![17]));
    }
}

#[test]
fn a_bad_index_is_named() {
    let mut mesh = cuboid([0.0; 3], [1.0; 3]);
    mesh.triangles[5] = [9, 10, 2];
    let group = only(&mesh, FaultKind::IndexOutOfRange);
    assert_eq!((group.count, &group.first[0].triangles), (1, &vec![5]));
}

#[test]
fn an_unused_point_is_named() {
    let mut mesh = cuboid([0.0; 3], [1.0; 3]);
    mesh.points.push(Point3::new(4.0, 5.0, 6.0));
    let group = only(&mesh, FaultKind::UnusedPoint);
    assert_eq!(group.first[0].points, [8]);
    assert_eq!(group.first[0].at, Some(Point3::new(4.0, 5.0, 6.0)));
}

#[test]
fn a_repeated_corner_is_named_alone() {
    let mut mesh = cuboid([0.0; 3], [1.0; 3]);
    mesh.triangles.push([1, 5, 5]);
    let group = only(&mesh, FaultKind::RepeatedCorner);
    assert_eq!(
        (&group.first[0].triangles, &group.first[0].points),
        (&vec![12], &vec![5])
    );
}

#[test]
fn triangles_without_height_are_named() {
    // A point on an edge of the box, or a little off it: the edge is split for
    // the triangle on one side, and a sliver fills the gap.
    for (off, is_needle) in [(0.0, true), (0.9 * NEEDLE, true), (1.1 * NEEDLE, false)] {
        let mut mesh = cuboid([0.0; 3], [1.0; 3]);
        // Edge 0-1 between [0, 2, 1] and [0, 1, 4].
        mesh.points.push(Point3::new(0.5, off, 0.0));
        mesh.triangles[0] = [0, 2, 8];
        mesh.triangles.push([8, 2, 1]);
        mesh.triangles.push([0, 8, 1]);
        if is_needle {
            // Exactly on the edge it also touches the triangle on the other side.
            let found = faults(&mesh);
            let group = found
                .groups
                .iter()
                .find(|g| g.kind == FaultKind::Needle)
                .unwrap();
            assert_eq!((group.count, &group.first[0].triangles), (1, &vec![13]));
            assert_eq!(found.groups.len() == 1, off > 0.0, "{found}");
        } else {
            assert_eq!(mesh.check(), Ok(()));
        }
    }
}

#[test]
fn coincident_points_are_named_in_pairs() {
    let mut mesh = cuboid([0.0; 3], [1.0; 3]);
    // Touches the first at the corner (1, 1, 1), by an own point.
    mesh.append(&cuboid([1.0; 3], [2.0; 3]));
    let group = only(&mesh, FaultKind::CoincidentPoints);
    assert_eq!((group.count, &group.first[0].points), (1, &vec![7, 8]));
    // -0 and 0 are the same place.
    let mut mesh = cuboid([-1.0; 3], [0.0; 3]);
    mesh.append(&cuboid([-0.0; 3], [1.0; 3]));
    only(&mesh, FaultKind::CoincidentPoints);
}

#[test]
fn a_missing_triangle_opens_three_edges() {
    let mut mesh = sphere(5.0, 8, 12);
    let gone = mesh.triangles.remove(40);
    let group = only(&mesh, FaultKind::OpenEdge);
    assert_eq!(group.count, 3);
    for fault in &group.first {
        assert!(fault.points.iter().all(|p| gone.contains(p)));
        assert_eq!(fault.triangles.len(), 1);
        let [a, b] = [0, 1].map(|k| mesh.points[fault.points[k] as usize]);
        assert_eq!(fault.at, Some(nalgebra::center(&a, &b)));
    }
}

#[test]
fn a_crowded_edge_is_named() {
    // Two boxes that share an edge, welded.
    let mut mesh = cuboid([0.0; 3], [1.0; 3]);
    let other = cuboid([1.0, 1.0, 0.0], [2.0, 2.0, 1.0]);
    // The other box's corners 0 and 4 are this one's 3 and 7.
    let welded = [3, 8, 9, 10, 7, 11, 12, 13];
    for (i, p) in other.points.iter().enumerate() {
        if i != 0 && i != 4 {
            mesh.points.push(*p);
        }
    }
    mesh.triangles.extend(
        other
            .triangles
            .iter()
            .map(|t| t.map(|i| welded[i as usize])),
    );
    let group = only(&mesh, FaultKind::CrowdedEdge);
    assert_eq!((group.count, &group.first[0].points), (1, &vec![3, 7]));
    assert_eq!(group.first[0].triangles.len(), 4);
}

#[test]
fn a_triangle_facing_the_wrong_way_is_named() {
    let mut mesh = sphere(5.0, 8, 12);
    mesh.triangles[40].swap(0, 1);
    let group = only(&mesh, FaultKind::OneWayEdge);
    assert_eq!(group.count, 3);
    assert!(
        group
            .first
            .iter()
            .all(|fault| fault.triangles.contains(&40))
    );
}

#[test]
fn a_pinched_point_is_named() {
    let mut mesh = cuboid([0.0; 3], [1.0; 3]);
    mesh.append(&cuboid([1.0; 3], [2.0; 3]));
    mesh.points.remove(8);
    for t in &mut mesh.triangles[12..] {
        *t = t.map(|i| i - 1);
    }
    let group = only(&mesh, FaultKind::PinchedPoint);
    assert_eq!((group.count, &group.first[0].points), (1, &vec![7]));
    assert_eq!(group.first[0].triangles.len(), 2);
    assert_eq!(group.first[0].at, Some(Point3::new(1.0, 1.0, 1.0)));
}

#[test]
fn shells_inside_out_are_named() {
    // A solid box in a solid box, a void outside, two voids in one another.
    let big = || cuboid([-5.0; 3], [5.0; 3]);
    let small = || cuboid([-1.0; 3], [1.0; 3]);
    let mut mesh = big();
    mesh.append(&small());
    let group = only(&mesh, FaultKind::InsideOut);
    assert_eq!((group.count, &group.first[0].triangles), (1, &vec![12]));
    let mut mesh = big();
    mesh.append(&small().flipped().translated(&Vector3::new(8.0, 0.0, 0.0)));
    assert_eq!(only(&mesh, FaultKind::InsideOut).first[0].triangles, [12]);
    let mut mesh = big();
    mesh.append(&small().flipped());
    mesh.append(&cuboid([-0.5; 3], [0.5; 3]).flipped());
    assert_eq!(only(&mesh, FaultKind::InsideOut).first[0].triangles, [24]);
    // In the hollow of a ring, but not inside it.
    let mut mesh = torus(10.0, 2.0, 24, 12);
    mesh.append(&small());
    assert_eq!(mesh.check(), Ok(()));
}

#[test]
fn everything_that_crosses_or_touches_is_named() {
    let unit = || cuboid([0.0; 3], [1.0; 3]);
    let ways: [(&str, [f64; 3], [f64; 3]); 6] = [
        ("pierces a face", [0.3, 0.3, 0.5], [0.6, 0.6, 2.0]),
        ("lies on a face", [0.3, 0.3, 1.0], [0.6, 0.6, 2.0]),
        ("edge across edge", [0.5, 1.0, 1.0], [2.0, 2.0, 2.0]),
        ("larger face on a face", [-1.0, -1.0, 1.0], [2.0, 2.0, 2.0]),
        ("through the whole", [0.3, 0.3, -1.0], [0.6, 0.6, 2.0]),
        ("flush inside", [0.3, 0.3, 0.0], [0.6, 0.6, 0.5]),
    ];
    for (name, min, max) in ways {
        for flip in [false, true] {
            let other = cuboid(min, max);
            let mut mesh = unit();
            mesh.append(&if flip { other.flipped() } else { other });
            let group = only(&mesh, FaultKind::Crossing);
            for fault in group.first {
                assert!(
                    fault.triangles[0] < 12 && fault.triangles[1] >= 12,
                    "{name}"
                );
                let at = fault.at.unwrap();
                let near = Bounds {
                    min: min.into(),
                    max: max.into(),
                };
                for k in 0..3 {
                    assert!(at[k] >= near.min[k].max(0.0) - 1e-12, "{name}: {at}");
                    assert!(at[k] <= near.max[k].min(1.0) + 1e-12, "{name}: {at}");
                }
            }
        }
    }
    // A corner that just touches a face, and one that misses it by one bit.
    let mut spike = cuboid([0.2; 3], [0.4; 3]);
    let turn = Rotation3::from_scaled_axis(Vector3::new(0.7, 0.6, 0.0));
    spike = spike.transformed(&Isometry3::from_parts(Vector3::zeros().into(), turn.into()));
    let lowest = spike.bounds().unwrap().min.z;
    for (z, touches) in [(1.0, true), (1.0_f64.next_up(), false)] {
        let mut other = spike.clone();
        for p in &mut other.points {
            p.z = if p.z == lowest { z } else { p.z - lowest + 1.0 };
        }
        let mut mesh = cuboid([-2.0, -2.0, 0.0], [2.0, 2.0, 1.0]);
        mesh.append(&other);
        if touches {
            // With all triangles at that corner, and nothing else.
            let tip = mesh.points.iter().skip(8).position(|p| p.z == 1.0).unwrap() as u32 + 8;
            for fault in only(&mesh, FaultKind::Crossing).first {
                assert!(mesh.triangles[fault.triangles[1] as usize].contains(&tip));
                assert_eq!(fault.at, Some(mesh.points[tip as usize]));
            }
        } else {
            assert_eq!(mesh.check(), Ok(()));
        }
    }
}

#[test]
fn folded_flat_is_a_crossing() {
    // A box whose corner 7 is pulled down onto the face below it, so that some
    // faces lie on one another: in the plane z = 0 around the corner 3.
    let mut mesh = cuboid([0.0; 3], [1.0; 3]);
    mesh.points[7] = Point3::new(0.75, 0.75, 0.0);
    let found = faults(&mesh);
    assert!(found.count(FaultKind::Crossing) > 0, "{found}");
    // The same triangle from both sides.
    let sheet = Mesh {
        points: vec![
            Point3::origin(),
            Point3::new(1.0, 0.0, 0.0),
            Point3::new(0.0, 1.0, 0.0),
        ],
        triangles: vec![[0, 1, 2], [0, 2, 1]],
    };
    let found = faults(&sheet);
    assert_eq!(found.count(FaultKind::Crossing), 1);
    assert_eq!(found.count(FaultKind::InsideOut), 1);
}

#[test]
fn all_kinds_at_once_and_the_first_few_of_each() {
    let mut mesh = sphere(5.0, 16, 16);
    mesh.triangles.drain(100..200);
    mesh.points.push(Point3::new(0.0, 0.0, 0.25));
    let found = faults(&mesh);
    let open = found
        .groups
        .iter()
        .find(|g| g.kind == FaultKind::OpenEdge)
        .unwrap();
    assert!(open.count > LISTED);
    assert_eq!(open.first.len(), LISTED);
    assert!(found.count(FaultKind::UnusedPoint) >= 1);
    let text = found.to_string();
    assert!(text.starts_with("point not used (") && text.contains("; edge of one triangle only ("));
}

// ---- an independent judge of crossings: integers, separating axes ----

type I3 = [i128; 3];

fn sub(a: I3, b: I3) -> I3 {
    [0, 1, 2].map(|k| a[k] - b[k])
}
fn dot(a: I3, b: I3) -> i128 {
    (0..3).map(|k| a[k] * b[k]).sum()
}
fn cross(a: I3, b: I3) -> I3 {
    [0, 1, 2].map(|k| {
        let (i, j) = ((k + 1) % 3, (k + 2) % 3);
        a[i] * b[j] - a[j] * b[i]
    })
}

/// Separating axis theorem for two convex figures in space, closed sets:
/// `t` a triangle or a segment, `u` a triangle. S. Gottschalk et al., 1996.
fn meet_by_axes(t: &[I3], u: &[I3; 3]) -> bool {
    let edges = |f: &[I3]| -> Vec<I3> {
        (0..f.len())
            .map(|k| sub(f[(k + 1) % f.len()], f[k]))
            .collect()
    };
    let (te, ue) = (edges(t), edges(u));
    let un = cross(ue[0], ue[1]);
    let tn = cross(te[0], te[1 % te.len()]);
    let mut axes = vec![un, tn];
    for &e in &te {
        axes.push(cross(un, e));
        axes.push(cross(tn, e));
        axes.extend(ue.iter().map(|&f| cross(e, f)));
    }
    axes.extend(ue.iter().map(|&f| cross(un, f)));
    axes.iter().all(|&axis| {
        let range = |f: &[I3]| {
            let d: Vec<i128> = f.iter().map(|&p| dot(axis, p)).collect();
            (*d.iter().min().unwrap(), *d.iter().max().unwrap())
        };
        let (a, b) = (range(t), range(u));
        a.0 <= b.1 && b.0 <= a.1
    })
}

fn judge(points: &[I3], t: [u32; 3], u: [u32; 3]) -> bool {
    let at = |i: u32| points[i as usize];
    let shared: Vec<u32> = t.into_iter().filter(|i| u.contains(i)).collect();
    let rest = |f: [u32; 3]| {
        f.into_iter()
            .filter(|i| !shared.contains(i))
            .collect::<Vec<_>>()
    };
    match shared[..] {
        [] => meet_by_axes(&t.map(at), &u.map(at)),
        [a] => {
            // Near a the triangles are cones with their tips there, and meet
            // beside the tip exactly when the opposite side of one meets the
            // cone of the other: the other triangle, blown up far enough.
            let a = at(a);
            let side: Vec<I3> = rest(t).into_iter().map(|i| sub(at(i), a)).collect();
            let far: Vec<I3> = rest(u)
                .into_iter()
                .map(|i| sub(at(i), a).map(|x| x * 1_000_000))
                .collect();
            meet_by_axes(&side, &[[0; 3], far[0], far[1]])
        }
        [a, b] => {
            let ab = sub(at(b), at(a));
            let [n, m] = [t, u].map(|f| cross(ab, sub(at(rest(f)[0]), at(a))));
            cross(n, m) == [0; 3] && dot(n, m) > 0
        }
        _ => true,
    }
}

fn found_and_judged(points: &[I3], triangles: &[[u32; 3]]) -> (Vec<[u32; 2]>, Vec<[u32; 2]>) {
    let real: Vec<Point3<f64>> = points
        .iter()
        .map(|p| Point3::from(p.map(|x| x as f64)))
        .collect();
    let flat = |t: &[u32; 3]| {
        let [a, b, c] = t.map(|i| points[i as usize]);
        cross(sub(b, a), sub(c, a)) == [0; 3]
    };
    let which: Vec<u32> = (0..triangles.len() as u32)
        .filter(|&t| !flat(&triangles[t as usize]))
        .collect();
    let mut found = Vec::new();
    crossings(&real, triangles, &which, |t, u, _| {
        found.push([t, u]);
        true
    });
    found.sort_unstable();
    let mut judged = Vec::new();
    for &t in &which {
        for &u in which.iter().filter(|&&u| u > t) {
            if judge(points, triangles[t as usize], triangles[u as usize]) {
                judged.push([t, u]);
            }
        }
    }
    (found, judged)
}

fn with_duplicates_dropped(points: &[[i8; 3]]) -> Vec<I3> {
    let mut seen: Vec<I3> = Vec::new();
    for p in points {
        let p = p.map(i128::from);
        if !seen.contains(&p) {
            seen.push(p);
        }
    }
    seen
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]
    /// On a grid so coarse that most pairs are degenerate in some way.
    #[test]
    fn crossings_of_random_triangles_are_exact(
        points in prop::collection::vec(prop::array::uniform3(0i8..4), 6..14),
        picks in prop::collection::vec(prop::array::uniform3(0usize..1000), 2..24),
    ) {
        let points = with_duplicates_dropped(&points);
        let triangles: Vec<[u32; 3]> =
            picks.iter().map(|t| t.map(|i| (i % points.len()) as u32)).collect();
        let (found, judged) = found_and_judged(&points, &triangles);
        prop_assert_eq!(found, judged);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]
    /// A ball with some of its points moved: what breaks is found, and nothing else.
    #[test]
    fn crossings_of_a_dented_ball_are_exact(
        moves in prop::collection::vec((0usize..98, prop::array::uniform3(-60i128..60)), 0..8),
    ) {
        let mut ball = sphere(100.0, 8, 14);
        let mut points: Vec<I3> =
            ball.points.iter().map(|p| [p.x, p.y, p.z].map(|x| x.round() as i128)).collect();
        for (i, by) in moves {
            points[i] = [0, 1, 2].map(|k| points[i][k] + by[k]);
        }
        let (found, judged) = found_and_judged(&points, &ball.triangles);
        prop_assert_eq!(&found, &judged);
        ball.points = points.iter().map(|p| Point3::from(p.map(|x| x as f64))).collect();
        let counted = ball.check().map_or_else(|f| f.count(FaultKind::Crossing), |()| 0);
        // The checker also drops triangles without area, and joins points that
        // happened to meet; then it may not count the same.
        let clean = ball.check().map_or_else(|f| f.count(FaultKind::CoincidentPoints) == 0, |()| true);
        if clean {
            prop_assert_eq!(counted, judged.len().min(MOST_CROSSINGS));
        }
        let image = ball.clone().mapped(&AxisMap::MIRROR_X);
        let again = image.check().map_or_else(|f| f.count(FaultKind::Crossing), |()| 0);
        prop_assert_eq!(counted, again);
    }

    /// Whatever the bytes, an answer and no panic.
    #[test]
    fn any_rubbish_is_answered(
        points in prop::collection::vec(prop::array::uniform3(prop::num::f64::ANY), 0..9),
        triangles in prop::collection::vec(prop::array::uniform3(0u32..10), 0..20),
    ) {
        let mesh = Mesh { points: points.into_iter().map(Point3::from).collect(), triangles };
        let _ = mesh.check();
        let small: Vec<Point3<f64>> =
            mesh.points.iter().map(|p| p.map(|x| if x.is_finite() { x % 3.0 } else { 0.0 })).collect();
        let _ = Mesh { points: small, ..mesh }.check();
    }
}

/// Timing, by hand: `cargo test --release -- --ignored --nocapture time_to_check`.
#[test]
#[ignore = "prints timings"]
#[allow(clippy::print_stdout)]
fn time_to_check() {
    for (stacks, around) in [(50, 50), (158, 158), (500, 500)] {
        let n = stacks * around;
        for (name, mesh) in [
            ("ball", sphere(50.0, stacks, around)),
            ("ring", torus(50.0, 20.0, stacks, around)),
        ] {
            let mut times: Vec<f64> = (0..7)
                .map(|_| {
                    let start = std::time::Instant::now();
                    assert_eq!(mesh.check(), Ok(()));
                    start.elapsed().as_secs_f64() * 1e3
                })
                .collect();
            times.sort_by(f64::total_cmp);
            println!("{name} {} triangles: {:.1} ms", 2 * n, times[3]);
        }
    }
}
