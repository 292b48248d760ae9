//! Slips at the command line itself, and what it says of them.
#![cfg(feature = "command")]
#![allow(clippy::unwrap_used)]

mod common;

use std::fs;

use common::outcome;
use tempfile::TempDir;

const SMALL: &str =
    "[body]\nlength = 60\noutline = [{ at = 20, height = 12 }]\n[mesh]\ntolerance = 0.3\n";

#[test]
fn new_writes_json_under_a_name_of_json() {
    let temp = TempDir::new().unwrap();
    for name in ["one.json", "two.JSON", "three.toml"] {
        assert!(outcome(temp.path(), &["new", name]).0);
        let (good, said) = outcome(temp.path(), &["check", name]);
        assert!(good, "{said}");
        // Everything that `make` writes is listed.
        assert!(
            said.contains("kit.json") && said.contains("spec.toml"),
            "{said}"
        );
    }
    let text = fs::read_to_string(temp.path().join("one.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert!(json["body"]["outline"].is_array());
}

#[test]
fn a_folder_is_no_spec() {
    let temp = TempDir::new().unwrap();
    fs::create_dir(temp.path().join("specs")).unwrap();
    let (good, said) = outcome(temp.path(), &["check", "specs"]);
    assert!(
        !good && said.contains("cannot read specs: it is a folder; name the spec file in it"),
        "{said}"
    );
}

#[test]
fn files_that_cannot_be_read_are_told_with_all_else() {
    let temp = TempDir::new().unwrap();
    let spec = format!(
        "{SMALL}[mould]\nwall = 1\n[[mould.beside]]\nspec = \"none.toml\"\n\
         [cast]\nmaterials = \"gone.toml\"\nplastic = \"of that file\"\n"
    );
    fs::write(temp.path().join("small.toml"), spec).unwrap();
    let (good, said) = outcome(temp.path(), &["check", "small.toml"]);
    assert!(!good);
    for wanted in ["none.toml", "gone.toml", "mould.wall"] {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
    // Not its plastic, which may well stand in the file.
    assert_eq!(said.matches("error:").count(), 3, "{said}");

    // Without its master a spec cannot be judged, but its other files can.
    let spec = "[body]\nfrom = { file = \"none.stl\" }\n[cast]\nmaterials = \"gone.toml\"\n";
    fs::write(temp.path().join("scan.toml"), spec).unwrap();
    let (good, said) = outcome(temp.path(), &["check", "scan.toml"]);
    assert!(
        !good && said.contains("none.stl") && said.contains("gone.toml"),
        "{said}"
    );
    assert_eq!(said.matches("error:").count(), 2, "{said}");
}

#[test]
fn the_folder_one_is_in_is_not_replaced() {
    let temp = TempDir::new().unwrap();
    let inner = temp.path().join("a").join("b");
    fs::create_dir_all(&inner).unwrap();
    fs::write(temp.path().join("small.toml"), SMALL).unwrap();
    for out in [".", "..", "../../a/b", "../../a", "./."] {
        let (good, said) = outcome(&inner, &["make", "../../small.toml", "--out", out]);
        assert!(
            !good && said.contains("the folder you are in"),
            "{out}: {said}"
        );
    }
    assert!(fs::read_dir(&inner).unwrap().next().is_none());
    // An empty folder beside it is filled.
    fs::create_dir(inner.join("kit")).unwrap();
    let (good, said) = outcome(&inner, &["make", "../../small.toml", "--out", "kit"]);
    assert!(good, "{said}");
}
