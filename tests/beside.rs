//! Different baits in one mould, as a maker asks for them.
#![allow(clippy::unwrap_used)]
#![cfg(feature = "command")]

mod common;

use std::fs;

use baitwright::kit::{Kit, KitError, OtherBait};
use baitwright::spec::{self, Format};
use common::outcome;
use serde_json::Value;
use tempfile::TempDir;

fn example(name: &str) -> String {
    fs::read_to_string(common::example(name)).unwrap()
}

#[test]
fn the_bundled_pair_is_one_kit() {
    let folder = TempDir::new().unwrap();
    fs::create_dir(folder.path().join("beside")).unwrap();
    let text = example("beside/reed-pair.toml");
    fs::write(folder.path().join("beside/reed-pair.toml"), &text).unwrap();
    fs::write(
        folder.path().join("curl-grub.toml"),
        example("curl-grub.toml"),
    )
    .unwrap();
    let (well, said) = outcome(
        folder.path(),
        &["make", "beside/reed-pair.toml", "--out", "kit"],
    );
    assert!(well, "{said}");
    assert!(said.contains("3 baits at once"), "{said}");
    assert!(said.contains("of which 1 Curl grub 42"), "{said}");

    let kit = folder.path().join("kit");
    let manifest: Value =
        serde_json::from_str(&fs::read_to_string(kit.join("kit.json")).unwrap()).unwrap();
    let beside = &manifest["mould"]["beside"][0];
    assert_eq!(beside["master"], "master-curl-grub-42.stl");
    assert_eq!(
        (&manifest["mould"]["cavities"], &beside["cavities"]),
        (&3.into(), &1.into())
    );
    assert!(kit.join("master-curl-grub-42.stl").is_file());
    // Ten of the spec's own bait, two a shot, one in twenty bad: six shots.
    let plastic = &manifest["casting"]["plastic"];
    assert_eq!(plastic["shots"], 6);
    // Each kind weighs what it does in a kit of its own.
    let alone = |text: &str| {
        let text = text.split("[[mould.beside]]").next().unwrap();
        Kit::build(&spec::read(text, Format::Toml).unwrap().spec)
            .unwrap()
            .manifest
    };
    let number = |v: &Value| v.as_f64().unwrap();
    let (own, grub) = (alone(&text), alone(&example("curl-grub.toml")));
    assert!((number(&plastic["bait_ml"]) / own.bait.volume_ml - 1.0).abs() < 1e-9);
    let other = &plastic["beside"][0];
    assert!((number(&other["bait_ml"]) / grub.bait.volume_ml - 1.0).abs() < 0.01);
    let shot = number(&plastic["shot_ml"]);
    let baits = 2.0 * own.bait.volume_ml + grub.bait.volume_ml;
    assert!(shot > baits && shot < 1.4 * baits, "{shot} {baits}");
    // What traps air is named by its bait.
    let air = manifest["air"].to_string();
    assert!(air.contains("Curl grub 42, tail.curl"), "{air}");
    let sheet = fs::read_to_string(kit.join("build-sheet.html")).unwrap();
    assert!(sheet.contains("2 in one shot, and 1 of Curl grub 42"));

    // The kit's own spec makes the same kit, wherever it lies: the others' specs lie beside it.
    let away = TempDir::new().unwrap();
    for entry in fs::read_dir(&kit).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "toml") {
            fs::copy(&path, away.path().join(path.file_name().unwrap())).unwrap();
        }
    }
    assert!(away.path().join("spec-curl-grub-42.toml").is_file());
    let (well, said) = outcome(away.path(), &["make", "spec.toml", "--out", "again"]);
    assert!(well, "{said}");
    for entry in fs::read_dir(&kit).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap();
        let again = fs::read(away.path().join("again").join(name)).unwrap();
        assert!(
            fs::read(&path).unwrap() == again,
            "{} differs",
            path.display()
        );
    }
}

#[test]
fn cores_of_another_bait_come_with_the_kit() {
    let own = "name = \"Plain\"\n[body]\nlength = 80\nwidth = 0.62\noutline = [{ at = 26, height = 20 }]\n\
               [mould]\nparting = \"flank\"\n[cast]\nbaits = 4\n\
               [[mould.beside]]\nspec = \"sedge-perch.toml\"\ncount = 2\n";
    let perch = spec::read(&example("sedge-perch.toml"), Format::Toml)
        .unwrap()
        .spec;
    let alone = Kit::build(&perch).unwrap();
    let other = OtherBait {
        spec: perch,
        master: None,
    };
    let spec = spec::read(own, Format::Toml).unwrap().spec;
    let kit = Kit::build_beside(&spec, None, &[other]).unwrap();
    let file = |kit: &Kit, name: &str| {
        let mut files = kit.files.iter().filter(|f| f.path == name);
        files.next().cloned().unwrap_or_else(|| panic!("{name}"))
    };
    // The same cores as in a kit of its own; the file's header has other words.
    let beside = &kit.manifest.mould.beside[0];
    assert_eq!(beside.cores.as_deref(), Some("cores-sedge-perch-80.stl"));
    let (mixed, single) = (
        file(&kit, "cores-sedge-perch-80.stl"),
        file(&alone, "cores.stl"),
    );
    assert_eq!(mixed.solid, single.solid);
    assert!(!kit.files.iter().any(|f| f.path == "cores.stl"));
    // What they keep out takes no plastic: of the bait, and of the shot.
    let plastic = kit.manifest.casting.clone().unwrap().plastic;
    let bait = plastic.beside[0].bait_ml;
    assert!(
        (bait / alone.manifest.bait.volume_ml - 1.0).abs() < 0.01,
        "{bait}"
    );
    let baits = 2.0 * bait + kit.manifest.bait.volume_ml;
    assert!(plastic.shot_ml > baits, "{} {baits}", plastic.shot_ml);
    // And the sheet says so in its steps and among what is needed.
    let sheet = String::from_utf8(file(&kit, "build-sheet.html").bytes).unwrap();
    for said in [
        "Loose cores of Sedge perch 80, 4 pieces; its file holds those of one bait: print it 2 times",
        "4 of Sedge perch 80",
        "For a pin take straight steel wire of 1.2 mm",
        "cores-sedge-perch-80.stl",
    ] {
        assert!(sheet.contains(said), "{said}");
    }
}

const BAIT: &str = "[body]\nlength = 60\noutline = [{ at = 20, height = 12 }]\n";

#[test]
fn what_is_wrong_with_the_list_is_named() {
    let folder = TempDir::new().unwrap();
    let small = format!("name = \"Small\"\n{BAIT}");
    fs::write(folder.path().join("small.toml"), small).unwrap();
    fs::write(
        folder.path().join("bad.toml"),
        "name = \"Bad\"\n[body]\nlength = 60\noutline = [{ at = 90, height = 12 }]\n",
    )
    .unwrap();
    let bowed = format!("name = \"Bowed\"\n{BAIT}camber = 4\n");
    fs::write(folder.path().join("bowed.toml"), bowed).unwrap();
    for (mould, wanted) in [
        (
            "[[mould.beside]]\nspec = \"gone.toml\"",
            &["mould.beside[0].spec", "cannot read", "gone.toml"][..],
        ),
        (
            "[[mould.beside]]\nspec = \"own.toml\"",
            &["mould.beside[0].spec", "this spec itself"],
        ),
        (
            "[[mould.beside]]\nspec = \"bad.toml\"",
            &["mould.beside[0].spec", "Bad, body.outline[0].at"],
        ),
        (
            "[[mould.beside]]\nspec = \"bowed.toml\"",
            &["mould.beside[0].spec", "Bowed is bowed"],
        ),
        (
            "[[mould.beside]]\nspec = \"small.toml\"\ncount = 25",
            &["mould.beside[0].count", "1 to 24"],
        ),
        (
            "[[mould.beside]]\nspec = \"small.toml\"\ncount = 24",
            &["mould.beside", "at most 24 in all"],
        ),
        (
            "route = \"board\"\n[[mould.beside]]\nspec = \"small.toml\"",
            &["a bedding board holds one master"],
        ),
        ("[[mould.beside]]\ncount = 2", &["spec"]),
    ] {
        let text = format!("name = \"Own\"\n{BAIT}[mould]\nparting = \"flank\"\n{mould}\n");
        fs::write(folder.path().join("own.toml"), text).unwrap();
        let (well, said) = outcome(folder.path(), &["check", "own.toml"]);
        assert!(!well, "{mould}: {said}");
        let plain = said.split_whitespace().collect::<Vec<_>>().join(" ");
        for wanted in wanted {
            assert!(plain.contains(wanted), "{mould}: {wanted}: {said}");
        }
    }
}

#[test]
fn the_library_reads_no_files() {
    let text = format!("{BAIT}[[mould.beside]]\nspec = \"small.toml\"\n");
    let spec = spec::read(&text, Format::Toml).unwrap().spec;
    for found in [Kit::build(&spec), Kit::build_beside(&spec, None, &[])] {
        let Err(KitError::Spec(problems)) = found else {
            panic!("built without the other")
        };
        assert_eq!(problems.0[0].path, "mould.beside");
    }
}

#[test]
fn a_mixed_mould_casts_what_each_spec_says() {
    let own = "name = \"Plain\"\n[body]\nlength = 60\noutline = [{ at = 20, height = 12 }]\n\
               [mould]\nsprue = { end = \"tail\" }\n[cast]\nbaits = 4\n\
               [[mould.beside]]\nspec = \"reed-dart.toml\"\n";
    let spec = spec::read(own, Format::Toml).unwrap().spec;
    let dart = spec::read(&example("reed-dart.toml"), Format::Toml)
        .unwrap()
        .spec;
    let alone = Kit::build(&dart).unwrap();
    let other = OtherBait {
        spec: dart,
        master: None,
    };
    let kit = Kit::build_beside(&spec, None, &[other]).unwrap();
    // The hook in the other keeps both to the flank, in which it lies.
    assert_eq!(kit.design.mould.parting, spec::Parting::Flank);
    let beside = &kit.manifest.mould.beside[0];
    assert!(kit.manifest.mould.seats.is_empty());
    assert_eq!(beside.seats.len(), alone.manifest.mould.seats.len());
    for (seat, own) in beside.seats.iter().zip(&alone.manifest.mould.seats) {
        assert_eq!(seat.holds, own.holds);
        for k in 0..3 {
            assert!(
                (seat.at_mm[k] - own.at_mm[k]).abs() < 0.02,
                "{seat:?} {own:?}"
            );
        }
    }
    // What is laid in takes no plastic, in either mould.
    let cast = |kit: &Kit| kit.manifest.casting.clone().unwrap().plastic;
    let (mixed, single) = (cast(&kit), cast(&alone));
    let plastic = mixed.beside[0].bait_ml;
    let alike = plastic / single.bait_ml - 1.0;
    assert!(alike.abs() < 0.005, "{plastic} {}", single.bait_ml);
    assert!(plastic < alone.manifest.bait.volume_ml, "{plastic}");
    let sheet = kit
        .files
        .iter()
        .find(|f| f.path == "build-sheet.html")
        .unwrap();
    let sheet = String::from_utf8(sheet.bytes.clone()).unwrap();
    assert!(sheet.contains("For Reed dart 75"), "{sheet}");
    // Its hooks are counted by its own baits.
    assert!(
        sheet.contains("of Reed dart 75, and some to spare: "),
        "{sheet}"
    );
    assert!(
        kit.manifest
            .notes
            .iter()
            .any(|n| n.starts_with("Reed dart 75: Into the open mould"))
    );
}

#[test]
fn the_plane_is_turned_only_to_one_that_all_can_be_made_for() {
    // Level legs that spread lie in the waist, and are held along the flank: alone it parts there.
    let legged = "name = \"Legged\"\n[body]\nlength = 80\nwidth = 0.9\n\
                  outline = [{ at = 26, height = 16 }, { at = 60, height = 12 }]\n\
                  [[legs]]\nat = 36\nangle = 90\npitch = 6\ncount = 3\nlength = 14\nroot = 2\ntip = 1.2\n\
                  spread = 40\n";
    let beside = "[mould]\nsprue.end = \"nose\"\n[[mould.beside]]\nspec = \"bored.toml\"\n";
    let bored = |ends: &str| {
        format!(
            "name = \"Bored\"\n[body]\nlength = 70\nwidth = 0.8\n\
             outline = [{{ at = 24, height = 18 }}, {{ at = 50, height = 14 }}]\n\
             [[bore]]\ndiameter = 1.2\nhow = \"cast\"\n{ends}\n"
        )
    };
    // In the upright plane, aslant, out at the tail's side of the back.
    let upright = bored("from = [30, -2]\nto = [70, 2]");
    let read = |text: &str| spec::read(text, Format::Toml).unwrap().spec;
    let parting = |text: &str| {
        let kit = Kit::build(&read(text)).map(|kit| kit.design.mould.parting);
        kit.unwrap_or_else(|e| panic!("{e}"))
    };
    assert_eq!(parting(legged), spec::Parting::Waist);
    assert_eq!(parting(&upright), spec::Parting::Flank);
    let other = OtherBait {
        spec: read(&upright),
        master: None,
    };
    let spec = read(&format!("{legged}{beside}"));
    let kit = Kit::build_beside(&spec, None, &[other]).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(kit.design.mould.parting, spec::Parting::Flank);
    // The plane that cannot be had is not praised.
    let notes = &kit.manifest.notes;
    assert!(
        !notes.iter().any(|n| n.contains("would open better")),
        "{notes:?}"
    );
}

#[test]
fn a_pitch_is_refused_at_once_beside_another_bait() {
    let small = format!("name = \"Small\"\n{BAIT}");
    let text = format!(
        "name = \"Own\"\n{BAIT}[mould]\npitch = 30\n[[mould.beside]]\nspec = \"small.toml\"\n"
    );
    let other = OtherBait {
        spec: spec::read(&small, Format::Toml).unwrap().spec,
        master: None,
    };
    let spec = spec::read(&text, Format::Toml).unwrap().spec;
    let Err(KitError::Spec(problems)) = Kit::build_beside(&spec, None, &[other]) else {
        panic!("built with a pitch")
    };
    assert_eq!(problems.0.len(), 1);
    assert_eq!(problems.0[0].path, "mould.pitch");
    assert!(
        problems.0[0].what.contains("different baits"),
        "{}",
        problems.0[0]
    );
}
