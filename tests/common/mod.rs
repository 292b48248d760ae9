//! What several of the test files need.
// Each file is a program of its own and uses its own part of this.
#![allow(dead_code, clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::process::Command;

/// How the command ended, and what it wrote to its two streams.
pub(crate) struct Ran {
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

/// Runs the command in a folder.
pub(crate) fn run(folder: &Path, arguments: &[&str]) -> Ran {
    let done = Command::new(env!("CARGO_BIN_EXE_baitwright"))
        .args(arguments)
        .current_dir(folder)
        .env_remove("CLICOLOR_FORCE")
        .output()
        .unwrap();
    Ran {
        code: done.status.code(),
        out: String::from_utf8(done.stdout).unwrap(),
        err: String::from_utf8(done.stderr).unwrap(),
    }
}

/// The same: whether it went well, and all that it said.
pub(crate) fn outcome(folder: &Path, arguments: &[&str]) -> (bool, String) {
    let ran = run(folder, arguments);
    (ran.code == Some(0), ran.out + &ran.err)
}

/// A bundled spec.
pub(crate) fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("examples")
        .join(name)
}
