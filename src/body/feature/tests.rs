use std::f64::consts::PI;

use nalgebra::Point3;
use proptest::prelude::*;

use crate::body::{Body, Master, MasterError};
use crate::mould::{Mould, MouldError};
use crate::spec::{self, Design, Format, Parting, Problem};

/// A flattened fish, 90 long, 20 high and 14 wide at x = 40, with more text behind it.
fn design(more: &str) -> Design {
    let text = format!(
        "[body]\nlength = 90\nwidth = 0.7\nsection = 2.2\noutline = [\n\
         {{ at = 10, height = 12 }}, {{ at = 40, height = 20 }}, {{ at = 75, height = 8 }}]\n{more}"
    );
    spec::design(&text, Format::Toml).unwrap()
}

/// A cylinder of radius 10 with flat ends, 80 long.
fn cylinder(more: &str) -> Design {
    let text = format!(
        "[body]\nlength = 80\noutline = [{{ at = 0, height = 20 }}, {{ at = 80, height = 20 }}]\n\
         [mesh]\ntolerance = 0.01\n{more}"
    );
    spec::design(&text, Format::Toml).unwrap()
}

fn master(design: &Design) -> Master {
    Master::build(design, &Body::from_design(design)).unwrap_or_else(|e| panic!("{e}"))
}

/// Volume that the features take from the bait (negative: add to it).
fn taken(design: &Design) -> f64 {
    Body::from_design(design).figures().volume - master(design).bait_volume
}

fn problem(design: &Design) -> Problem {
    match Master::build(design, &Body::from_design(design)) {
        Err(MasterError::Spec(problems)) => problems.0[0].clone(),
        other => panic!("{other:?}"),
    }
}

fn sound(design: &Design) {
    let body = Body::from_design(design);
    let master = master(design);
    master
        .mesh
        .check()
        .unwrap_or_else(|e| panic!("master: {e}"));
    for core in &master.cores {
        core.check().unwrap_or_else(|e| panic!("core: {e}"));
    }
    let mould = Mould::around(design, &body, &master.mesh).unwrap();
    for (name, mesh) in [
        ("upper", &mould.upper),
        ("lower", &mould.lower),
        ("cavity", &mould.cavity),
    ] {
        mesh.check().unwrap_or_else(|e| panic!("{name}: {e}"));
    }
    let block: f64 = mould.block.size().iter().product();
    let sum = mould.upper.volume() + mould.lower.volume() + mould.cavity.volume() + mould.gap;
    assert!((sum - block).abs() < 1e-9 * block, "{sum} {block}");
}

const EYES: [&str; 5] = [
    "[[eyes]]\nat = 15\ndiameter = 5\ndepth = 1",
    "[[eyes]]\nkind = \"flat\"\nat = 16\nangle = 75\ndiameter = 4\ndepth = 1",
    "[[eyes]]\nkind = \"ring\"\nat = 18\nangle = 70\ndiameter = 4\ndepth = 0.8",
    "[[eyes]]\nkind = \"ring\"\nat = 18\ndiameter = 4\nring_width = 1.2",
    "[[eyes]]\nkind = \"mark\"\nat = 18\ndiameter = 4\ndepth = 1",
];

#[test]
fn every_kind_of_eye_is_sound_in_both_partings() {
    for parting in ["flank", "waist"] {
        for eyes in EYES {
            sound(&design(&format!(
                "{eyes}\n[mould]\nparting = \"{parting}\""
            )));
        }
    }
    // Single ones astride the mid-plane.
    for eyes in EYES {
        let at = eyes.split("at = ").next().unwrap().to_owned();
        sound(&design(&format!(
            "{}at = 25\nangle = 0\n{}",
            at,
            eyes.lines()
                .filter(|l| !l.starts_with('[')
                    && !l.starts_with("kind")
                    && !l.starts_with("at")
                    && !l.starts_with("angle"))
                .collect::<Vec<_>>()
                .join("\n")
        )));
    }
}

#[test]
fn pairs_mirror_each_other() {
    for eyes in EYES {
        let mesh = master(&design(eyes)).mesh;
        let half = mesh.points.iter().map(|p| p.y).sum::<f64>();
        assert!(half.abs() < 1e-6, "{half}");
    }
}

#[test]
fn a_flat_recess_takes_a_frustum_less_its_cap() {
    // On the flat end of nothing curved there is none; on a cylinder of radius R the surface
    // falls from the tangent plane by R − √(R² − v²) on the way round.
    let (r, depth, big) = (2.0, 1.5, 10.0);
    let d = cylinder("[[eyes]]\nkind = \"flat\"\nat = 40\ndiameter = 4\ndepth = 1.5");
    let tan = libm::tan(3.0f64.to_radians());
    // Two frusta of height `depth`, less what stands over the curved surface.
    let (a, b) = (r, r + tan * depth);
    let frustum = PI * depth / 3.0 * (a * a + a * b + b * b);
    // ∬ fall over the rim's circle ≈ ∬ v²/2R + v⁴/8R³ = π b⁴/8R + π b⁶/64R³.
    let b2 = b * b;
    let cap = PI * b2 * b2 / (8.0 * big) + PI * b2 * b2 * b2 / (64.0 * big * big * big);
    let exact = 2.0 * (frustum - cap);
    let found = taken(&d);
    // Facets stray by 0.01 mm; what the draft takes off between rim and plane is second order.
    assert!(
        (found - exact).abs() < 0.01 * exact + 0.3,
        "{found} {exact}"
    );
}

#[test]
fn a_slot_takes_a_stadium() {
    // A belly slot in the waist parting is cut; on a cylinder its floor is level.
    let (w, depth, length) = (3.0, 6.0, 30.0);
    let more = "[[slot]]\nside = \"belly\"\nfrom = 20\nto = 50\nwidth = 3\ndepth = 6\n\
                [mould]\nparting = \"waist\"";
    let found = taken(&cylinder(more));
    let r = 0.5 * w;
    let straight = length - w;
    // Walls above the round floor, the half cylinder and the half ball below, less what the
    // round of the body lacks beside the mid-plane: ∬ y²/2R over the stadium.
    let walls = (straight * w + PI * r * r) * (depth - r);
    let floor = 0.5 * PI * r * r * straight + 2.0 / 3.0 * PI * r * r * r;
    let lack = (straight * w * w * w / 12.0 + PI * r * r * r * r / 4.0) / 20.0;
    let exact = walls + floor - lack;
    assert!((found / exact - 1.0).abs() < 2e-3, "{found} {exact}");
    // Laid in as a blade in the flank parting, it takes the same from the bait, and the
    // master has it whole.
    let flank = cylinder(&more.replace("waist", "flank"));
    assert!((taken(&flank) / exact - 1.0).abs() < 2e-3);
    let made = master(&flank);
    assert_eq!(made.cores.len(), 1);
    let trunk = Body::from_design(&flank).mesh(0.01).unwrap().volume();
    assert!(made.mesh.volume() > trunk);
    let plastic = made.mesh.volume() - made.core_volume;
    assert!((plastic - made.bait_volume).abs() < 1e-3 * plastic);
}

#[test]
fn a_bore_takes_its_cylinder() {
    let d = cylinder("[[bore]]\ndiameter = 2");
    let exact = PI * 80.0;
    assert!((taken(&d) / exact - 1.0).abs() < 5e-3, "{}", taken(&d));
    sound(&d);
    // Blind, from the nose to x = 30.
    let d = cylinder("[[bore]]\ndiameter = 2\nto = [30, 0]");
    assert!((taken(&d) / (PI * 30.0) - 1.0).abs() < 5e-3);
    sound(&d);
    // Straight across the parting.
    let d = cylinder("[[bore]]\ndiameter = 2\nfrom = [40, -15, 0]\nto = [40, 15, 0]");
    // Two cylinders crossing at right angles, r = 1, R = 10: 2π R (1 − 1/8R² …) of it.
    assert!((taken(&d) / (PI * 20.0) - 1.0).abs() < 8e-3);
    sound(&d);
}

#[test]
fn a_pocket_takes_its_frustum() {
    let more =
        "[[pocket]]\nat = 40\nlength = 8\nwidth = 4\ndepth = 3\n[mould]\nparting = \"waist\"";
    let found = taken(&cylinder(more));
    // Between floor and rim, corners of radius 1 mm growing with the draft.
    let t = libm::tan(3.0f64.to_radians());
    let area = |h: f64| {
        let (l, w, c) = (8.0 + 2.0 * t * h, 4.0 + 2.0 * t * h, 1.0 + t * h);
        l * w - (4.0 - PI) * c * c
    };
    let frustum = 3.0 / 6.0 * (area(0.0) + 4.0 * area(1.5) + area(3.0));
    let (l, w) = (8.0 + 6.0 * t, 4.0 + 6.0 * t);
    let lack = l * w * w * w / 12.0 / 20.0;
    assert!(
        (found / (frustum - lack) - 1.0).abs() < 5e-3,
        "{found} {frustum} {lack}"
    );
    sound(&design("[[pocket]]\nat = 40\ndiameter = 6\ndepth = 4"));
    sound(&design(
        "[[pocket]]\nat = 40\nangle = 250\nlength = 6\nwidth = 3\ndepth = 2",
    ));
}

/// Volumes by the Manifold engine 3.x (C++) from its own primitives, as
/// tests/readers/insert_volumes.py makes them: nothing of ours is in them.
#[test]
fn another_engine_takes_the_same_away() {
    for (more, exact) in [
        (
            "[[eyes]]\nkind = \"flat\"\nat = 40\ndiameter = 4\ndepth = 1.5",
            2.0 * 18.868_006,
        ),
        (
            "[[slot]]\nside = \"belly\"\nfrom = 20\nto = 50\nwidth = 3\ndepth = 6",
            495.548_376,
        ),
        (
            "[[bore]]\ndiameter = 2\nfrom = [40, -15, 0]\nto = [40, 15, 0]",
            62.752_021,
        ),
    ] {
        let found = taken(&cylinder(more));
        assert!(
            (found / exact - 1.0).abs() < 6e-3,
            "{more}: {found} {exact}"
        );
    }
}

#[test]
fn slots_and_marks_are_sound_in_both_partings() {
    for parting in ["flank", "waist"] {
        for how in ["cast", "marked"] {
            for (side, from, to) in [("belly", 20, 60), ("back", 15, 45)] {
                sound(&design(&format!(
                    "[[slot]]\nside = \"{side}\"\nfrom = {from}\nto = {to}\nwidth = 2\ndepth = 4\n\
                     how = \"{how}\"\n[[bore]]\ndiameter = 1\nhow = \"{how}\"\n\
                     [[pocket]]\nat = 68\ndiameter = 3\ndepth = 2\nhow = \"{how}\"\n\
                     [mould]\nparting = \"{parting}\""
                )));
            }
        }
    }
}

#[test]
fn what_does_not_fit_is_named_with_a_limit_that_does() {
    let cases = [
        (
            "[[eyes]]\nkind = \"flat\"\nat = 30\ndiameter = 16\ndepth = @",
            "eyes[0].diameter",
            "1",
        ),
        (
            "[[eyes]]\nkind = \"flat\"\nat = 15\ndiameter = 3\ndepth = @",
            "eyes[0].depth",
            "19",
        ),
        (
            "[[eyes]]\nkind = \"flat\"\nat = 30\nangle = 5\ndiameter = 3\ndepth = @",
            "eyes[0].angle",
            "1",
        ),
        (
            "[[eyes]]\nkind = \"ring\"\nat = 30\ndiameter = @",
            "eyes[0].diameter",
            "22",
        ),
        (
            "[[slot]]\nside = \"belly\"\nfrom = 20\nto = 60\nwidth = 2\ndepth = @",
            "slot[0].depth",
            "30",
        ),
        (
            "[[slot]]\nside = \"belly\"\nfrom = 20\nto = 60\ndepth = 4\nwidth = @",
            "slot[0].width",
            "14",
        ),
        ("[[bore]]\ndiameter = @", "bore[0].diameter", "8"),
        (
            "[[bore]]\nfrom = [-5, 40]\nto = [95, 40]\ndiameter = @",
            "bore[0]",
            "1",
        ),
        (
            "[[bore]]\nfrom = [30, 0]\nto = [40, 0]\ndiameter = @",
            "bore[0]",
            "1",
        ),
        (
            "[[bore]]\nfrom = [30, 9, 9]\nto = [40, -9, -9]\ndiameter = @",
            "bore[0]",
            "1",
        ),
        (
            "[[pocket]]\nat = 40\ndiameter = 4\ndepth = @",
            "pocket[0].depth",
            "25",
        ),
    ];
    for (text, path, value) in cases {
        let found = problem(&design(&text.replace('@', value)));
        assert_eq!(found.path, path, "{found}");
        // Where a limit is a number of the field, it does.
        let Some(limit) = found
            .limit
            .as_deref()
            .and_then(|l| l.strip_prefix("up to "))
        else {
            continue;
        };
        let fits: f64 = limit.split(' ').next().unwrap().parse().unwrap();
        let (name, rest) = (path.rsplit('.').next().unwrap(), text);
        if rest.contains(&format!("{name} = @")) {
            let fits = format!("{}", fits - 0.02);
            sound(&design(&text.replace('@', &fits)));
        }
    }
}

#[test]
fn what_holds_the_mould_is_measured_and_named() {
    use crate::mould::opening::Undercuts;
    let held = |more: &str| {
        let design = design(more);
        let made = master(&design);
        let turn = Mould::turn(design.mould.parting);
        let found = Undercuts::of(&made.mesh.clone().mapped(&turn), design.tolerance).found;
        found.first().map_or((0.0, String::new()), |u| {
            let at = match design.mould.parting {
                Parting::Waist => u.at,
                Parting::Flank => Point3::new(u.at.x, u.at.z, -u.at.y),
            };
            (
                u.depth,
                made.feature_at(&at, 0.2).unwrap_or("body").to_owned(),
            )
        })
    };
    let flat = "[[eyes]]\nkind = \"flat\"\nat = 20\ndiameter = 3\ndepth = 1";
    assert!(held(flat).0 < 0.2);
    // Drawn across its depth, a recess of 1 mm holds by about that.
    let (depth, name) = held(&format!("{flat}\n[mould]\nparting = \"waist\""));
    assert!((0.6..1.2).contains(&depth), "{depth}");
    assert_eq!(name, "eyes[0]");
    let pocket = "[[pocket]]\nat = 40\ndiameter = 4\ndepth = 4";
    let (depth, name) = held(&format!("{pocket}\n[mould]\nparting = \"flank\""));
    assert!((2.5..4.5).contains(&depth), "{depth}");
    assert_eq!(name, "pocket[0]");
    assert!(held(&format!("{pocket}\n[mould]\nparting = \"waist\"")).0 < 0.2);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_mix_is_sound_or_named(
        eyes in (0usize..4, 2.0f64..40.0, 0.0f64..180.0, 1.0f64..9.0, 0.2f64..4.0),
        slot in (any::<bool>(), 5.0f64..50.0, 5.0f64..40.0, 0.5f64..8.0, 0.5f64..14.0),
        bore in (0.3f64..6.0, 0usize..3),
        pocket in (5.0f64..85.0, 0.0f64..360.0, 1.0f64..12.0, 1.0f64..12.0, 0.3f64..8.0),
        waist in any::<bool>(),
    ) {
        let kind = ["ball", "flat", "ring", "mark"][eyes.0];
        let depth = if eyes.0 == 0 { eyes.4.min(0.5 * eyes.3) } else { eyes.4 };
        let side = if slot.0 { "back" } else { "belly" };
        let bore_to = ["", "to = [40, 0]", "to = [50, -20]"][bore.1];
        let parting = if waist { "waist" } else { "flank" };
        let text = format!(
            "body = {{ length = 90, width = 0.7, outline = [{{ at = 10, height = 12 }}, \
             {{ at = 40, height = 20 }}, {{ at = 75, height = 8 }}] }}\n\
             [[eyes]]\nkind = \"{kind}\"\nat = {}\nangle = {}\ndiameter = {}\ndepth = {depth}\n\
             [[slot]]\nside = \"{side}\"\nfrom = {}\nto = {}\nwidth = {}\ndepth = {}\n\
             [[bore]]\ndiameter = {}\n{bore_to}\n\
             [[pocket]]\nat = {}\nangle = {}\nlength = {}\nwidth = {}\ndepth = {}\n\
             [mould]\nparting = \"{parting}\"",
            eyes.1, eyes.2, eyes.3, slot.1, slot.1 + slot.2, slot.3, slot.4, bore.0,
            pocket.0, pocket.1, pocket.2, pocket.3, pocket.4,
        );
        let Ok(whole) = spec::design(&text, Format::Toml) else { return Ok(()) };
        // One at a time, then all that fit together.
        let mut kept = whole.clone();
        let fits = |d: &Design| -> Result<bool, TestCaseError> {
            match Mould::build(d, &Body::from_design(d)) {
                Ok(mould) => {
                    for mesh in [&mould.upper, &mould.lower, &mould.cavity] {
                        prop_assert_eq!(mesh.check(), Ok(()));
                    }
                    Ok(true)
                }
                Err(MouldError::Spec(problems)) => {
                    prop_assert!(!problems.0[0].path.is_empty());
                    Ok(false)
                }
                Err(other) => Err(TestCaseError::fail(format!("{other}\n{text}"))),
            }
        };
        let clear = |d: &Design, keep: usize| {
            let mut d = d.clone();
            if keep != 0 { d.eyes.clear(); }
            if keep != 1 { d.slot.clear(); }
            if keep != 2 { d.bore.clear(); }
            if keep != 3 { d.pocket.clear(); }
            d
        };
        if !fits(&clear(&whole, 0))? { kept.eyes.clear(); }
        if !fits(&clear(&whole, 1))? { kept.slot.clear(); }
        if !fits(&clear(&whole, 2))? { kept.bore.clear(); }
        if !fits(&clear(&whole, 3))? { kept.pocket.clear(); }
        fits(&kept)?;
    }
}

/// The blade follows the body as it is without its ribs: from rib to rib its floor was laid
/// straight or not by where they fell, and its tongue had a spur where an end met a groove.
#[test]
fn the_blade_of_a_slot_is_not_as_ribbed_as_the_body() {
    let core = |ribs: &str| {
        let text = format!(
            "body.length = 70\nbody.tail = \"flat\"\nbody.outline = [{{ at = 6, height = 11 }}, \
             {{ at = 20, height = 14 }}, {{ at = 50, height = 10 }}, {{ at = 70, height = 7 }}]\n{ribs}\n\
             [[slot]]\nside = \"belly\"\nfrom = 30\nto = 50\nwidth = 2\ndepth = 3\n\
             [mould]\nparting = \"flank\"\n"
        );
        let design = spec::design(&text, Format::Toml).unwrap_or_else(|e| panic!("{e}"));
        let master = Master::build(&design, &Body::from_design(&design)).unwrap();
        master.mesh.check().unwrap();
        master.cores[0].clone()
    };
    let plain = core("");
    let ribs = "[[ribs]]\nfrom = 24\nto = 60\npitch = 3\ndepth = 0.8\nfade = 6\n";
    let profiles = ["round", "vee", "square"];
    for profile in profiles {
        let ribs = format!("{ribs}grooved = true\nprofile = \"{profile}\"");
        let ribbed = core(&ribs);
        assert_eq!(ribbed.triangles, plain.triangles);
        for (p, q) in ribbed.points.iter().zip(&plain.points) {
            assert!((p - q).norm() < 0.03, "{profile}: {p} {q}");
        }
    }
    // Beads do not take any of its tongue.
    let beaded = core(ribs).bounds().unwrap().size();
    assert!((beaded.z - plain.bounds().unwrap().size().z - 0.8).abs() < 0.03);
}
