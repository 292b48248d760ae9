//! Kits on disk: the folder is whole or untouched, whatever happens.
// Helpers here are tests too: a panic is how they fail.
#![allow(clippy::unwrap_used)]
#![cfg(feature = "command")]

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;
use std::thread::sleep;
use std::time::{Duration, Instant};

use baitwright::kit::{FolderError, Kit};
use baitwright::spec::{self, Format};
use common::example;
use serde_json::Value;
use sha2::{Digest, Sha256};
use tempfile::TempDir;

/// Two kits that differ in every file, and in which files they have: the minnow has no
/// lathe gauge, and its halves go by other names.
fn kits() -> &'static [Kit; 2] {
    static KITS: OnceLock<[Kit; 2]> = OnceLock::new();
    KITS.get_or_init(|| {
        ["reed-minnow.toml", "leaf-darter.toml"].map(|name| {
            let text = fs::read_to_string(example(name)).unwrap();
            Kit::build(&spec::read(&text, Format::Toml).unwrap().spec).unwrap()
        })
    })
}

/// Content of everything below a folder, by path within it; folders hold nothing.
fn content(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut all = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(at) = open.pop() {
        for entry in fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(folder).unwrap().to_owned();
            if path.is_dir() && !path.is_symlink() {
                all.insert(name, Vec::new());
                open.push(path);
            } else {
                all.insert(name, fs::read(&path).unwrap());
            }
        }
    }
    all
}

/// The name of the kit in a folder, after making sure that it is complete: exactly the
/// manifest and the files it names, each with the hash it gives.
fn complete(folder: &Path) -> String {
    let content = content(folder);
    let manifest: Value = serde_json::from_slice(&content[Path::new("kit.json")]).unwrap();
    let mut wanted = BTreeSet::from([PathBuf::from("kit.json")]);
    for entry in manifest["files"].as_array().unwrap() {
        let path = PathBuf::from(entry["path"].as_str().unwrap());
        let hash: String = Sha256::digest(&content[&path])
            .iter()
            .map(|b| format!("{b:02x}"))
            .collect();
        assert_eq!(entry["sha256"], hash, "{}", path.display());
        wanted.insert(path);
    }
    assert!(wanted.len() > 5);
    assert_eq!(content.keys().cloned().collect::<BTreeSet<_>>(), wanted);
    manifest["name"].as_str().unwrap().to_owned()
}

fn make(spec: &str, out: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_baitwright"));
    command.arg("make").arg(example(spec)).arg("--out").arg(out);
    command
}

#[test]
fn a_new_folder_is_the_whole_kit_and_nothing_stays_beside_it() {
    let temp = TempDir::new().unwrap();
    let target = temp.path().join("deep").join("down").join("kit");
    kits()[0].write(&target).unwrap();
    assert_eq!(complete(&target), "Reed minnow 90");
    assert_eq!(fs::read_dir(target.parent().unwrap()).unwrap().count(), 1);
    for file in &kits()[0].files {
        assert!(fs::read(target.join(&file.path)).unwrap() == file.bytes);
    }
}

#[test]
fn an_older_kit_is_replaced_whole() {
    let temp = TempDir::new().unwrap();
    let target = temp.path().join("kit");
    for kit in [&kits()[0], &kits()[1], &kits()[1], &kits()[0]] {
        kit.write(&target).unwrap();
        // Also no file of the older kit is left, or `complete` would find it.
        assert_eq!(complete(&target), kit.manifest.name);
        assert_eq!(fs::read_dir(temp.path()).unwrap().count(), 1);
    }
}

#[test]
fn an_empty_folder_is_filled() {
    let temp = TempDir::new().unwrap();
    let target = temp.path().join("kit");
    fs::create_dir(&target).unwrap();
    kits()[1].write(&target).unwrap();
    assert_eq!(complete(&target), "Leaf darter");
}

/// Writes a kit to where it must be refused, and makes sure that nothing changed anywhere.
#[track_caller]
fn refused(temp: &TempDir, target: &Path) -> FolderError {
    let before = content(temp.path());
    let error = kits()[1].write(target).unwrap_err();
    assert!(content(temp.path()) == before, "something changed: {error}");
    error
}

#[test]
fn a_folder_that_is_no_kit_is_refused() {
    for (name, text) in [
        ("letter.txt", "dear friend"),
        // A manifest of something else, one that cannot be read, one that is no object.
        ("kit.json", r#"{ "files": [] }"#),
        ("kit.json", r#"{ "made_by": "Hand", "files": [] }"#),
        ("kit.json", r#"{ "made_by": "Baitwright 0.1.0", "fil"#),
        ("kit.json", "[1]"),
    ] {
        let temp = TempDir::new().unwrap();
        let target = temp.path().join("letters");
        fs::create_dir(&target).unwrap();
        fs::write(target.join(name), text).unwrap();
        let error = refused(&temp, &target);
        assert!(matches!(error, FolderError::NotAKit(_)), "{text}: {error}");
        assert!(error.to_string().contains("--out"), "{error}");
    }
}

#[test]
fn a_kit_with_strangers_is_refused_and_they_are_named() {
    let temp = TempDir::new().unwrap();
    let target = temp.path().join("kit");
    kits()[0].write(&target).unwrap();
    fs::write(target.join("notes.txt"), "poured on Sunday").unwrap();
    fs::create_dir(target.join("photos")).unwrap();
    match refused(&temp, &target) {
        FolderError::Strangers { strangers, .. } => {
            assert_eq!(strangers, ["notes.txt", "photos"]);
        }
        other => panic!("{other}"),
    }
}

#[test]
fn a_file_changed_since_is_not_lost() {
    let temp = TempDir::new().unwrap();
    let target = temp.path().join("kit");
    kits()[0].write(&target).unwrap();
    let spec = target.join("spec.toml");
    let mut text = fs::read_to_string(&spec).unwrap();
    text.push_str("# poured on a cold day\n");
    fs::write(&spec, &text).unwrap();
    match kits()[1].write(&target).unwrap_err() {
        FolderError::Changed { changed, .. } => assert_eq!(changed, ["spec.toml"]),
        other => panic!("{other}"),
    }
    assert_eq!(fs::read_to_string(&spec).unwrap(), text);
}

#[test]
fn a_folder_of_the_makers_under_a_files_name_is_a_stranger() {
    let temp = TempDir::new().unwrap();
    let target = temp.path().join("kit");
    kits()[0].write(&target).unwrap();
    fs::remove_file(target.join("master.png")).unwrap();
    fs::create_dir(target.join("master.png")).unwrap();
    fs::write(target.join("master.png").join("mine.png"), "a photo").unwrap();
    let error = refused(&temp, &target);
    assert!(matches!(error, FolderError::Strangers { .. }), "{error}");
}

#[test]
fn a_file_in_the_way_is_refused() {
    let temp = TempDir::new().unwrap();
    let target = temp.path().join("kit");
    fs::write(&target, "a file").unwrap();
    assert!(matches!(
        refused(&temp, &target),
        FolderError::NotAFolder(_)
    ));
    // Below a file there is no room either; this fails for every user, root too.
    let error = refused(&temp, &target.join("kit"));
    assert!(matches!(error, FolderError::Disk { .. }), "{error}");
    let error = refused(&temp, &target.join("deep").join("kit"));
    assert!(matches!(error, FolderError::Disk { .. }), "{error}");
}

#[cfg(unix)]
#[test]
fn a_link_to_a_folder_is_left_alone() {
    let temp = TempDir::new().unwrap();
    let (there, link) = (temp.path().join("there"), temp.path().join("link"));
    fs::create_dir(&there).unwrap();
    std::os::unix::fs::symlink(&there, &link).unwrap();
    let error = kits()[0].write(&link).unwrap_err();
    assert!(matches!(error, FolderError::NotAFolder(_)), "{error}");
    assert!(link.is_symlink());
    assert_eq!(fs::read_dir(&there).unwrap().count(), 0);
}

#[cfg(unix)]
#[test]
fn where_nothing_may_be_written_the_older_kit_stays() {
    use std::os::unix::fs::PermissionsExt;
    let temp = TempDir::new().unwrap();
    let shelf = temp.path().join("shelf");
    let target = shelf.join("kit");
    kits()[0].write(&target).unwrap();
    let mode = |bits| fs::set_permissions(&shelf, fs::Permissions::from_mode(bits)).unwrap();
    mode(0o555);
    if fs::write(shelf.join("probe"), "").is_ok() {
        // The superuser may write anywhere; the path below a file covers that case.
        eprintln!("skipped: this user cannot be refused");
        return;
    }
    let error = refused(&temp, &target);
    mode(0o755);
    assert!(matches!(error, FolderError::Disk { .. }), "{error}");
}

/// A write that fails half way, by a limit on the size of files, which stands in for a full
/// disk. Ignoring the limit's signal makes the write return an error; otherwise the signal
/// ends the process on the spot.
#[cfg(unix)]
#[test]
fn a_write_cut_short_leaves_the_older_kit() {
    let temp = TempDir::new().unwrap();
    let target = temp.path().join("kit");
    kits()[0].write(&target).unwrap();
    let before = content(temp.path());
    let limited = |first: &str| -> Output {
        Command::new("sh")
            .arg("-c")
            // In blocks of 512 or 1024 bytes; the first STL alone is larger.
            .arg(format!("{first} ulimit -f 16; exec \"$@\""))
            .arg("sh")
            .arg(env!("CARGO_BIN_EXE_baitwright"))
            .arg("make")
            .arg(example("leaf-darter.toml"))
            .arg("--out")
            .arg(&target)
            .output()
            .unwrap()
    };
    let out = limited("trap '' XFSZ;");
    let told = String::from_utf8(out.stderr).unwrap();
    assert_eq!(out.status.code(), Some(1), "{told}");
    assert!(told.contains("cannot write"), "{told}");
    assert!(content(temp.path()) == before, "nothing may change: {told}");

    // Ended on the spot it may leave the hidden folder; the kit is the older one.
    assert!(!limited("").status.success());
    for (path, bytes) in &before {
        assert!({
            let now = temp.path().join(path);
            now.is_dir() || fs::read(now).unwrap() == *bytes
        });
    }
    assert_eq!(complete(&target), "Reed minnow 90");
}

#[test]
fn killed_at_any_moment_the_folder_is_one_kit_or_the_other() {
    let temp = TempDir::new().unwrap();
    let target = temp.path().join("kit");
    let specs = ["reed-minnow.toml", "leaf-darter.toml"];
    let names = ["Reed minnow 90", "Leaf darter"];
    let start = Instant::now();
    assert!(make(specs[0], &target).output().unwrap().status.success());
    let whole = start.elapsed();
    let hidden = || {
        fs::read_dir(temp.path())
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .find(|path| *path != target)
    };
    let (mut caught, mut older, mut newer) = (0, 0, 0);
    let mut now = 0;
    for round in 0..36u32 {
        if start.elapsed() > Duration::from_secs(20) {
            break;
        }
        let next = 1 - now;
        let mut child = make(specs[next], &target)
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        if round < 6 {
            // At any moment of the run …
            sleep(whole * round / 5);
        } else {
            // … and soon after writing began, a little later each time.
            while hidden().is_none() && child.try_wait().unwrap().is_none() {
                sleep(Duration::from_micros(50));
            }
            sleep(Duration::from_micros(60) * (round - 6) * (round - 6));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        let found = complete(&target);
        assert!(names.contains(&found.as_str()), "{found}");
        if found == names[next] {
            newer += 1;
            now = next;
        } else {
            older += 1;
        }
        // A kill may leave the hidden folder, and no more than that.
        if let Some(left) = hidden() {
            caught += 1;
            fs::remove_dir_all(left).unwrap();
        }
        assert_eq!(fs::read_dir(temp.path()).unwrap().count(), 1);
    }
    eprintln!("older {older}, newer {newer}, killed while writing {caught}");
    assert!(
        caught > 0,
        "no kill fell into the writing: the test shows nothing"
    );
    // What a kill left behind is no hindrance.
    assert!(make(specs[0], &target).output().unwrap().status.success());
    assert_eq!(complete(&target), names[0]);
}
