use super::super::shapes::{cuboid, prism, sphere, spindle};
use super::super::{AxisMap, Direction};
use super::*;

#[test]
fn explore() {
    use libm::{cos, sin};
    let _ = (sin as fn(f64) -> f64, cos as fn(f64) -> f64);
    let report = |name: &str, s: Result<Solid, SolidError>| {
        let s = match s {
            Ok(s) => s,
            Err(e) => {
                println!("{name}: ERR {e}");
                return;
            }
        };
        let m = s.to_mesh();
        let raw = s.raw();
        let m4 = raw.clone().without_needles(1e-4);
        if raw.check().is_err() || m4 != raw {
            println!(
                "{name}: raw {} tri vol {} | tidy {} dv {:e} {} | 1e-4 {} dv {:e} {}",
                raw.triangles.len(),
                raw.volume(),
                m.triangles.len(),
                m.volume() / raw.volume() - 1.0,
                m.check().map_or_else(|f| f.to_string(), |()| "ok".into()),
                m4.triangles.len(),
                m4.volume() / raw.volume() - 1.0,
                m4.check().map_or_else(|f| f.to_string(), |()| "ok".into())
            );
        }
        let mut short = [0usize; 4];
        let mut least = f64::INFINITY;
        for t in 0..m.triangles.len() {
            let [a, b, c] = m.corners(t);
            for (p, q) in [(a, b), (b, c), (c, a)] {
                let l = (q - p).norm();
                least = least.min(l);
                for (k, lim) in [1e-3, 1e-4, 1e-5, 1e-6].into_iter().enumerate() {
                    if l < lim {
                        short[k] += 1;
                    }
                }
            }
        }
        let mut round = m.clone();
        for p in &mut round.points {
            for k in 0..3 {
                p[k] = p[k] as f32 as f64;
            }
        }
        let say = |r: Result<(), crate::mesh::check::MeshFaults>| {
            r.map_or_else(|f| f.to_string(), |()| "ok".into())
        };
        println!(
            "{name}: vol {:.12} {} tri, least edge {least:.2e} short {short:?} | {} | f32: {}",
            m.volume(),
            m.triangles.len(),
            say(m.check()),
            say(round.check())
        );
    };
    let solid = |m: &Mesh| Solid::try_from(m).unwrap();
    let block = solid(&cuboid([-20.0, -20.0, -20.0], [20.0, 20.0, 20.0]));
    let half = solid(&cuboid([-20.0, -20.0, -20.0], [20.0, 20.0, 0.0]));
    let ball = sphere(10.0, 16, 32);
    report("block - ball", block.difference(&solid(&ball)));
    report("half - ball rows on plane", half.difference(&solid(&ball)));
    let fine = sphere(10.0, 100, 128);
    report("half - fine ball", half.difference(&solid(&fine)));
    let turned = fine
        .clone()
        .mapped(&AxisMap::new(Direction::PlusY, Direction::PlusZ, Direction::PlusX).unwrap());
    report(
        "half - fine ball turned (pole line in plane)",
        half.difference(&solid(&turned)),
    );
    let sprue = solid(&spindle(&[(3.0, 5.0), (5.0, 20.0)], (5.0, 20.0), 48));
    report(
        "block - (ball + sprue)",
        solid(&fine)
            .union(&sprue)
            .and_then(|c| block.difference(&c)),
    );
    let key = solid(&cuboid([12.0, 12.0, 0.0], [16.0, 16.0, 4.0]));
    report("half + key", half.union(&key));
    report(
        "half - ball + key",
        half.difference(&solid(&fine)).and_then(|h| h.union(&key)),
    );
    let mut exact = fine.clone();
    for p in &mut exact.points {
        if p.z.abs() < 1e-12 {
            p.z = 0.0;
        }
    }
    report(
        "EXACT half - ball + key",
        half.difference(&solid(&exact)).and_then(|h| h.union(&key)),
    );
    report(
        "EXACT half + key - ball",
        half.union(&key).and_then(|h| h.difference(&solid(&exact))),
    );
    for k in 0..6 {
        let r = nalgebra::Rotation3::from_scaled_axis(nalgebra::Vector3::new(k as f64, 0.3, 0.7));
        let by =
            nalgebra::Isometry3::from_parts(nalgebra::Vector3::new(0.1, 0.2, 0.3).into(), r.into());
        let b = solid(&fine.clone().transformed(&by));
        report(
            &format!("TILT half - ball + key {k}"),
            half.difference(&b).and_then(|h| h.union(&key)),
        );
        report(
            &format!("TILT half + key - ball {k}"),
            half.union(&key).and_then(|h| h.difference(&b)),
        );
        let turn = |m: Mesh| solid(&m.transformed(&by));
        report(
            &format!("TURNED half + key {k}"),
            turn(half.raw()).union(&turn(key.raw())),
        );
    }
    let mut seed = 1u64;
    let mut rnd = || {
        seed = seed
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (seed >> 33) as f64 / 2f64.powi(31)
    };
    for i in 0..300 {
        let mut any = |fine: bool| {
            let m = if rnd() < 0.5 && !fine {
                cuboid([-4.0 - rnd(), -4.0 - rnd(), -3.0], [4.0, 3.0 + rnd(), 4.0])
            } else {
                sphere(
                    5.0 + rnd(),
                    if fine { 64 } else { 12 },
                    if fine { 96 } else { 16 },
                )
            };
            let r = nalgebra::Rotation3::from_scaled_axis(nalgebra::Vector3::new(
                rnd() * 6.0,
                rnd() * 6.0,
                rnd(),
            ));
            m.transformed(&nalgebra::Isometry3::from_parts(
                nalgebra::Vector3::new(rnd() * 6.0, rnd() * 6.0, rnd() * 6.0).into(),
                r.into(),
            ))
        };
        let (a, b) = (any(i % 2 == 0), any(i % 2 == 0));
        let (a, b) = (solid(&a), solid(&b));
        report(&format!("u{i}"), a.union(&b));
        report(&format!("d{i}"), a.difference(&b));
        report(&format!("i{i}"), a.intersection(&b));
    }
}
