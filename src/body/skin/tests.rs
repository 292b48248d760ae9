use super::*;
use crate::spec::{Knot, RibProfile};
use proptest::prelude::*;
use std::collections::HashMap;

fn signed_volume(mesh: &Mesh) -> f64 {
    mesh.triangles
        .iter()
        .map(|t| t.map(|i| mesh.points[i as usize].coords))
        .map(|[a, b, c]| a.dot(&b.cross(&c)) / 6.0)
        .sum()
}

fn area(mesh: &Mesh) -> f64 {
    mesh.triangles
        .iter()
        .map(|t| t.map(|i| mesh.points[i as usize].coords))
        .map(|[a, b, c]| 0.5 * (b - a).cross(&(c - a)).norm())
        .sum()
}

fn assert_closed(mesh: &Mesh) {
    let mut edges: HashMap<(u32, u32), i32> = HashMap::new();
    for t in &mesh.triangles {
        for k in 0..3 {
            *edges.entry((t[k], t[(k + 1) % 3])).or_default() += 1;
        }
    }
    for (&(a, b), &n) in &edges {
        assert_eq!(n, 1);
        assert_eq!(edges.get(&(b, a)), Some(&1), "{a} {b}");
    }
}

/// Distance of a point from the body's side, to first order.
fn off_surface(body: &Body, p: [f64; 3]) -> f64 {
    let f = |p: [f64; 3]| {
        let half = usize::from(p[2] < body.spine(p[0]));
        let n = body.section.exponents(p[0])[half];
        libm::pow(body.level(p[0], p[1], p[2]), 1.0 / n) - 1.0
    };
    let e = 1e-5;
    let slope = |k: usize| {
        let (mut a, mut b) = (p, p);
        a[k] -= e;
        b[k] += e;
        (f(b) - f(a)) / (2.0 * e)
    };
    f(p) / libm::hypot(libm::hypot(slope(0), slope(1)), slope(2))
}

fn bodies() -> impl Strategy<Value = Body> {
    let stations = prop::collection::vec((4.0f64..25.0, 1.5f64..15.0, 0u8..8), 1..6);
    let turns = (
        any::<[bool; 2]>(),
        prop::option::of(-0.1f64..0.1),
        0usize..6,
        0u8..4,
    );
    (stations, 0.4f64..1.6, 0.5f64..1.5, turns).prop_map(
        |(stations, wide, deep, (round, bow, n, ribbed))| {
            let mut at = 0.0;
            let mut knots = Vec::new();
            for (dx, y, kind) in stations {
                at += dx;
                knots.push(Knot {
                    at,
                    before: y,
                    after: if kind == 0 { 0.6 * y } else { y },
                    corner: kind < 2,
                });
            }
            let length = at + 6.0;
            let end = |r| if r { End::Round } else { End::Pointed };
            let scale = |f: f64| -> Vec<Knot> {
                knots
                    .iter()
                    .map(|k| Knot {
                        before: k.before * f,
                        after: k.after * f,
                        ..*k
                    })
                    .collect()
            };
            let (first, last) = (knots[0].at, at);
            let lifts = match last - first {
                run if ribbed == 0 && run > 4.0 => crate::body::ribs::lifts(
                    &[crate::spec::RibsDesign {
                        from: first,
                        to: last,
                        pitch: 3.0,
                        rise: if deep > 1.0 { 0.6 } else { -0.2 },
                        profile: [RibProfile::Round, RibProfile::Vee, RibProfile::Square][n % 3],
                        fade: 0.3 * run,
                    }],
                    &knots.iter().map(|k| k.at).collect::<Vec<f64>>(),
                ),
                _ => Vec::new(),
            };
            let outline = |k: &[Knot]| {
                Outline::through(k, length, end(round[0]), end(round[1])).lifted(&lifts)
            };
            let course = |a, b| Course::levelling(&[[0.2 * length, a], [0.7 * length, b]]);
            Body {
                belly: outline(&scale(deep)),
                half_width: outline(&scale(wide)),
                section: match n {
                    4 => Section::along(course(1.6, 2.0), course(5.0, 2.5)),
                    5 => Section::along(course(2.0, 3.0), course(2.0, 2.0)),
                    n => Section::new([2.0, 1.6, 2.5, 4.0][n]),
                },
                camber: bow.map(|b| match wide > 1.0 {
                    true => Course::bow(length, b * length),
                    false => Course::through(&[
                        [0.0, 0.0],
                        [0.3 * length, b * length],
                        [0.6 * length, -0.4 * b * length],
                        [length, 0.5 * b * length],
                    ]),
                }),
                ..Body::revolved(outline(&knots), end(round[0]), end(round[1]))
            }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn every_facet_lies_within_the_tolerance(body in bodies(), fine in 0.0f64..1.0) {
        let tolerance = libm::pow(10.0, -1.0 - 1.5 * fine);
        let mesh = body.mesh(tolerance).unwrap();
        assert_closed(&mesh);
        let exact = body.figures().volume;
        let off = (signed_volume(&mesh) - exact).abs();
        prop_assert!(off <= tolerance * area(&mesh), "{off} of {exact}");
        let breaks: Vec<f64> = body.outlines().iter().flat_map(|o| o.breaks()).map(|b| b.at).collect();
        for t in &mesh.triangles {
            let [a, b, c] = t.map(|i| mesh.points[i as usize].coords);
            for (u, v) in [(1.0, 0.0), (0.5, 0.5), (0.0, 0.5), (1.0 / 3.0, 1.0 / 3.0)] {
                let p = a * u + b * v + c * (1.0 - u - v);
                // First-order distance means little next to the points, where the
                // section shrinks to nothing, and on the flat rings of steps.
                let near = |x: f64| (p.x - x).abs() < 4.0 * tolerance.sqrt();
                if near(0.0) || near(body.length()) || breaks.iter().any(|&x| near(x)) {
                    continue;
                }
                let off = off_surface(&body, [p.x, p.y, p.z]);
                prop_assert!(off.abs() <= 1.05 * tolerance, "{off} at {p} tol {tolerance}");
            }
        }
    }
}
