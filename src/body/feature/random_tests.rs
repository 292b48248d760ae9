//! Random baits of up to eight features: each is either sound in every way, or refused with a
//! feature named.

use nalgebra::Rotation3;
use proptest::prelude::*;

use crate::body::{Body, Master, MasterError};
use crate::mesh::{AxisMap, Mesh};
use crate::mould::{Mould, MouldError};
use crate::spec::{self, Design, Format, Problems};

/// A number from a range, written plainly.
fn in_range(from: f64, to: f64) -> impl Strategy<Value = f64> {
    (0u32..=1000).prop_map(move |k| from + (to - from) * f64::from(k) / 1000.0)
}

/// The trunk: 60 to 110 mm of two to four stations, with or without a bow, ribs and
/// sections of their own.
fn trunk() -> impl Strategy<Value = (f64, String)> {
    let stations = prop::collection::vec(in_range(8.0, 24.0), 2..5);
    let shape = (in_range(60.0, 110.0), in_range(0.5, 1.3), 0u8..4, 0u8..4);
    (stations, shape).prop_map(|(heights, (length, width, section, more))| {
        let n = heights.len() as f64;
        let outline: Vec<String> = heights
            .iter()
            .zip(1..)
            .map(|(h, i)| format!("{{ at = {:.3}, height = {h} }}", length * f64::from(i) / (n + 1.0)))
            .collect();
        let section = match section {
            0 => "section = 2.6".to_owned(),
            1 => format!(
                "section = [{{ at = 10, back = 1.7, belly = 3 }}, {{ at = {:.2}, back = 2, belly = 2 }}]",
                0.8 * length
            ),
            _ => String::new(),
        };
        let camber = if more == 0 { "camber = 3" } else { "" };
        let ribs = if more == 1 {
            format!(
                "[[ribs]]\nfrom = {:.2}\nto = {:.2}\npitch = 3.5\ndepth = 0.8\nfade = 4\n",
                0.4 * length,
                0.6 * length
            )
        } else {
            String::new()
        };
        let text = format!(
            "[body]\nlength = {length}\nwidth = {width}\n{section}\n{camber}\noutline = [{}]\n{ribs}",
            outline.join(", ")
        );
        (length, text)
    })
}

/// One feature, its place given as a share of the length, and whether it is its own mirror
/// image.
fn feature() -> impl Strategy<Value = (u8, [f64; 5])> {
    (0u8..8, prop::array::uniform5(in_range(0.0, 1.0)))
}

fn written(kind: u8, [a, b, c, d, e]: [f64; 5], length: f64) -> (String, bool) {
    let at = length * (0.15 + 0.6 * a);
    let angle = [0.0, 45.0, 60.0, 90.0, 120.0, 180.0][(5.99 * b) as usize];
    let side = if b < 0.5 { "back" } else { "belly" };
    let text = match kind {
        0 => format!(
            "[[eyes]]\nat = {at:.3}\nangle = {:.2}\ndiameter = {:.3}\ndepth = {:.3}",
            40.0 + 100.0 * b,
            2.0 + 4.0 * c,
            0.4 + d
        ),
        1 => format!(
            "[[eyes]]\nkind = \"ring\"\nat = {at:.3}\nangle = {:.2}\ndiameter = {:.3}\ndepth = {:.3}",
            40.0 + 100.0 * b,
            3.0 + 3.0 * c,
            0.5 + d
        ),
        2 => format!(
            "[[slot]]\nside = \"{side}\"\nfrom = {at:.3}\nto = {:.3}\nwidth = {:.3}\ndepth = {:.3}",
            at + 4.0 + 16.0 * c,
            1.0 + 2.0 * d,
            1.5 + 4.0 * e
        ),
        3 => format!("[[bore]]\ndiameter = {:.3}", 0.6 + 1.2 * c),
        4 => format!(
            "[[pocket]]\nat = {at:.3}\nangle = {angle}\nlength = {:.3}\nwidth = {:.3}\ndepth = {:.3}",
            3.0 + 6.0 * c,
            2.0 + 3.0 * d,
            0.8 + 2.0 * e
        ),
        5 | 6 => format!(
            "[[fin]]\nat = {at:.3}\nangle = {angle}\nroot = {:.3}\nthickness = {:.3}\nsweep = {:.3}\noutline = [{{ at = {:.3}, height = {:.3} }}]",
            5.0 + 12.0 * c,
            1.2 + 1.5 * d,
            40.0 * e,
            2.5 + 6.0 * c,
            3.0 + 9.0 * d
        ),
        _ => format!(
            "[[legs]]\ncount = {}\nat = {at:.3}\nangle = {angle}\nlength = {:.3}\nroot = {:.3}\ntip = 1.2\nlean = {:.3}\ndroop = {:.3}",
            1 + (3.0 * c) as u8,
            5.0 + 15.0 * d,
            2.0 + 1.5 * e,
            60.0 * c - 30.0,
            60.0 * b
        ),
    };
    // A pocket off the mid-plane stands on one side only.
    (text, kind != 4 || angle % 180.0 == 0.0)
}

fn tail(kind: u8, c: f64) -> &'static str {
    match (kind, c < 0.5) {
        (0, true) => "[tail.paddle]\nneck = 16\njoint = 3\ndiameter = 14",
        (0, false) => "[tail.paddle]\nneck = 14\njoint = 3\ndiameter = 12\nangle = 100",
        (1, true) => "[tail.curl]\nlength = 50\nheight = 7",
        (1, false) => "[tail.curl]\nlength = 60\nheight = 8\nturn = 200\ntowards = \"back\"",
        (2, true) => "[tail.fork]\nlength = 18\nspan = 22",
        (2, false) => "[tail.fork]\nlength = 22\nspan = 20\nplane = \"flat\"",
        (3, _) => "[tail.taper]\nlength = 30\nwidth = 0.8",
        (4, _) => {
            "[[legs]]\ncount = 4\nlength = 25\nroot = 2.4\ntip = 1.2\nspread = 30\nbunch = \"cone\""
        }
        _ => "",
    }
}

/// A whole spec, and whether it is its own mirror image.
fn baits() -> impl Strategy<Value = (String, bool)> {
    let features = prop::collection::vec(feature(), 1..8);
    let rest = (0u8..6, in_range(0.0, 1.0), any::<bool>());
    (trunk(), features, rest).prop_map(|((length, trunk), features, (kind, c, waist))| {
        let (mut text, mut even) = (trunk, true);
        for (kind, numbers) in features {
            let (feature, mirrored) = written(kind, numbers, length);
            text += &format!("{feature}\n");
            even &= mirrored;
        }
        text += tail(kind, c);
        let parting = if waist { "waist" } else { "flank" };
        text += &format!("\n[mould]\nparting = \"{parting}\"\n[mesh]\ntolerance = 0.1\n");
        (text, even)
    })
}

/// A refusal says what is refused and what to do about it.
fn is_telling(problems: &Problems) -> Result<(), TestCaseError> {
    const NAMED: [&str; 9] = [
        "eyes", "slot", "bore", "pocket", "fin", "legs", "tail", "mould", "ribs",
    ];
    prop_assert!(!problems.0.is_empty());
    for p in &problems.0 {
        let named = NAMED.iter().any(|n| p.path.starts_with(n)) || p.path.starts_with("body");
        prop_assert!(named, "{p}");
        prop_assert!(p.limit.is_some() || p.hint.is_some(), "{p}");
    }
    Ok(())
}

fn sound(name: &str, mesh: &Mesh) -> Result<(), TestCaseError> {
    mesh.check()
        .map_err(|e| TestCaseError::fail(format!("{name}: {e}")))
}

/// Volume of what is under a coat of 0.1 mm, if there is a sound surface.
fn volume_under_a_coat(mesh: &Mesh) -> Option<f64> {
    let coats = crate::spec::Allowances {
        coats: vec![("primer".into(), 0.1, 1)],
        ..Default::default()
    };
    let bare = coats.bared(mesh, 0.1)?.mesh;
    bare.check().ok()?;
    Some(bare.volume())
}

fn judge(design: &Design, even: bool) -> Result<bool, TestCaseError> {
    let body = Body::from_design(design);
    let master = match Master::build(design, &body) {
        Ok(master) => master,
        Err(MasterError::Spec(problems)) => return is_telling(&problems).map(|()| false),
        Err(other) => return Err(TestCaseError::fail(other.to_string())),
    };
    sound("master", &master.mesh)?;
    prop_assert_eq!(master.mesh.shells().len(), 1);
    for core in &master.cores {
        sound("core", core)?;
    }
    // Turned and mirrored it is as sound, of one volume, and its centre goes with it.
    let volume = master.mesh.volume();
    let centre = |mesh: &Mesh| mesh.mass_properties().map(|m| m.centroid);
    let turn = Rotation3::from_euler_angles(0.3, -1.1, 2.0);
    let mut turned = master.mesh.clone();
    for p in &mut turned.points {
        *p = turn * *p;
    }
    let mirrored = master.mesh.clone().mapped(&AxisMap::MIRROR_Y);
    for other in [&turned, &mirrored] {
        sound("turned", other)?;
        prop_assert!((other.volume() / volume - 1.0).abs() < 1e-9);
    }
    let (here, there) = (centre(&master.mesh).unwrap(), centre(&turned).unwrap());
    prop_assert!((turn * here - there).norm() < 1e-7);
    if even {
        prop_assert!(here.y.abs() < 1e-6, "centre {here}");
    }

    let mould = match Mould::around(design, &body, &master.mesh) {
        Ok(mould) => mould,
        Err(MouldError::Spec(problems)) => return is_telling(&problems).map(|()| false),
        Err(other) => return Err(TestCaseError::fail(other.to_string())),
    };
    let parts = [&mould.upper, &mould.lower, &mould.cavity];
    for (name, mesh) in ["upper", "lower", "cavity"].iter().zip(parts) {
        sound(name, mesh)?;
    }
    let block: f64 = mould.block.size().iter().product();
    let sum: f64 = parts.iter().map(|m| m.volume()).sum::<f64>() + mould.gap;
    prop_assert!((sum - block).abs() < 1e-9 * block, "{sum} {block}");
    // The mirror image of the master has a mould of the same volumes.
    let other = Mould::around(design, &body, &mirrored).unwrap();
    let volumes = |m: &Mould| [m.upper.volume(), m.lower.volume(), m.cavity.volume()];
    let (a, b) = (volumes(&mould), volumes(&other));
    prop_assert!((a[2] - b[2]).abs() < 1e-6 * a[2], "{a:?} {b:?}");
    Ok(true)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, max_shrink_iters: 200, ..ProptestConfig::default() })]
    #[test]
    fn random_baits_are_sound_or_refused((text, even) in baits()) {
        match spec::design(&text, Format::Toml) {
            Ok(design) => { judge(&design, even).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?; }
            Err(problems) => is_telling(&problems)?,
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, max_shrink_iters: 100, ..ProptestConfig::default() })]
    #[test]
    fn random_baits_take_an_ordinary_coat((text, _) in baits()) {
        if let Ok(design) = spec::design(&text, Format::Toml)
            && let Ok(master) = Master::build(&design, &Body::from_design(&design))
        {
            let bare = volume_under_a_coat(&master.mesh);
            prop_assert!(bare.is_some_and(|v| v > 0.0 && v < master.mesh.volume()), "{text}");
        }
    }
}

/// The random baits must not be sound by being refused.
#[test]
fn many_random_baits_are_made() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let mut made = 0;
    for _ in 0..40 {
        let (text, even) = baits().new_tree(&mut runner).unwrap().current();
        if let Ok(design) = spec::design(&text, Format::Toml) {
            made += usize::from(judge(&design, even).unwrap_or_else(|e| panic!("{e}\n{text}")));
        }
    }
    assert!(made >= 12, "{made} of 40");
}

/// Found by random baits: the side of a fork cuts the body along a line so nearly straight that
/// the points on it left a needle with no better triangle to become.
#[test]
fn a_fork_that_cuts_along_a_straight_line() {
    let text = "[body]\nlength = 107.85\nwidth = 1.192\n\
        section = [{ at = 10, back = 1.7, belly = 3 }, { at = 86.28, back = 2, belly = 2 }]\n\
        outline = [{ at = 26.962, height = 20.464 }, { at = 53.925, height = 20.464 }, \
        { at = 80.887, height = 8.032 }]\n\
        [tail.fork]\nlength = 18\nspan = 22\n[mesh]\ntolerance = 0.1\n";
    let design = spec::design(text, Format::Toml).unwrap();
    assert!(judge(&design, true).unwrap());
}
