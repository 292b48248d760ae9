//! A kit on disk, whole or not at all.
//!
//! The files are written into a hidden folder beside the target and synced; only
//! then does that folder take the target's place, by one rename where there was
//! none, and by one exchange of names where there was an older kit (Linux and
//! macOS; elsewhere by two renames, with the older kit put back if the second
//! fails). Killed at any moment, the target is the old kit or the new one, never a
//! mixture; at worst a hidden folder is left behind.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::manifest::sha256;
use super::{Kit, MANIFEST};

/// A kit could not be put on disk. What was there before is untouched (unless the very last
/// step failed, which only makes the new kit's names last through a power cut).
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FolderError {
    /// The target exists and is no folder.
    #[error("{0} is there already and is not a folder; choose another place with --out")]
    NotAFolder(PathBuf),
    /// The target is the folder the program runs in, or one around it.
    #[error(
        "{0} is the folder you are in, or one around it, and cannot be replaced; name a folder \
         of its own with --out, such as --out kit"
    )]
    Here(PathBuf),
    /// The target is a folder with something in it, but no kit.
    #[error(
        "{0} holds files but no {MANIFEST}, so it is no kit of ours and stays as it is; choose \
         another place with --out"
    )]
    NotAKit(PathBuf),
    /// The target is an older kit with files in it that no kit put there.
    #[error(
        "{folder} holds {} beside the older kit, which replacing it would lose; move {} out, or \
         choose another place with --out",
        .strangers.join(", "), if .strangers.len() == 1 { "it" } else { "them" }
    )]
    Strangers {
        /// The folder.
        folder: PathBuf,
        /// Names of what does not belong to the kit, in order.
        strangers: Vec<String>,
    },
    /// Files of the older kit are no longer as they were written.
    #[error(
        "{folder} holds {}, changed since the kit was made, which replacing it would lose; move \
         {} out, or choose another place with --out",
        .changed.join(", "), if .changed.len() == 1 { "it" } else { "them" }
    )]
    Changed {
        /// The folder.
        folder: PathBuf,
        /// Names of what was changed, in the order of the manifest.
        changed: Vec<String>,
    },
    /// The disk refused.
    #[error("{doing} {path}: {source}")]
    Disk {
        /// What was being done.
        doing: &'static str,
        /// With what.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// Adds what was being done, and with what, to what the system said.
fn during<T>(doing: &'static str, path: &Path, result: io::Result<T>) -> Result<T, FolderError> {
    result.map_err(|source| FolderError::Disk {
        doing,
        path: path.to_owned(),
        source,
    })
}

impl Kit {
    /// Writes the kit as the folder `target`. An older kit there is replaced whole.
    ///
    /// # Errors
    /// If the folder cannot be written, or holds anything that is not an older kit's:
    /// then it is left exactly as it was.
    pub fn write(&self, target: &Path) -> Result<(), FolderError> {
        let replaces = replaceable(target)?;
        let parent = match target.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        during("cannot make folder", parent, fs::create_dir_all(parent))?;
        let staging = tempfile::Builder::new()
            .prefix(".baitwright-")
            .tempdir_in(parent);
        let staging = during("cannot write in", parent, staging)?;
        let kit = staging.path().join("kit");
        during("cannot make folder", &kit, fs::create_dir(&kit))?;
        for file in &self.files {
            put(&kit.join(&file.path), &file.bytes)?;
        }
        put(&kit.join(MANIFEST), self.manifest_text().as_bytes())?;
        sync(&kit)?;
        if replaces {
            exchange(&kit, target, staging)?;
        } else {
            during("cannot put in place", target, fs::rename(&kit, target))?;
        }
        sync(parent)
    }
}

/// Whether there is an older kit at `target` (or an empty folder) to take the place of.
fn replaceable(target: &Path) -> Result<bool, FolderError> {
    match fs::symlink_metadata(target) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(false),
        Err(e) => return during("cannot look at", target, Err(e)),
        Ok(meta) if !meta.is_dir() => return Err(FolderError::NotAFolder(target.to_owned())),
        Ok(_) => {}
    }
    // Compared by their full names, since `.` and `..` stand for others.
    if let (Ok(full), Ok(here)) = (fs::canonicalize(target), std::env::current_dir())
        && fs::canonicalize(&here).unwrap_or(here).starts_with(full)
    {
        return Err(FolderError::Here(target.to_owned()));
    }
    let (mut found, mut folders) = (BTreeSet::new(), BTreeSet::new());
    for entry in during("cannot read", target, fs::read_dir(target))? {
        let entry = during("cannot read", target, entry)?;
        let name = entry.file_name().to_string_lossy().into_owned();
        // No kit holds a folder: one is the maker's, whatever its name.
        if during("cannot look at", &entry.path(), entry.file_type())?.is_dir() {
            folders.insert(name);
        } else {
            found.insert(name);
        }
    }
    if found.is_empty() && folders.is_empty() {
        return Ok(true);
    }
    let manifest = fs::read(target.join(MANIFEST)).unwrap_or_default();
    let manifest: serde_json::Value = serde_json::from_slice(&manifest).unwrap_or_default();
    let ours = manifest["made_by"]
        .as_str()
        .is_some_and(|by| by.starts_with("Baitwright "));
    if !ours {
        return Err(FolderError::NotAKit(target.to_owned()));
    }
    found.remove(MANIFEST);
    let mut changed = Vec::new();
    for file in manifest["files"].as_array().into_iter().flatten() {
        let name = file["path"].as_str().unwrap_or_default();
        if found.remove(name) {
            let path = target.join(name);
            let bytes = during("cannot read", &path, fs::read(&path))?;
            if file["sha256"].as_str() != Some(&sha256(&bytes)) {
                changed.push(name.to_owned());
            }
        }
    }
    found.append(&mut folders);
    if !changed.is_empty() {
        return Err(FolderError::Changed {
            folder: target.to_owned(),
            changed,
        });
    }
    if found.is_empty() {
        return Ok(true);
    }
    Err(FolderError::Strangers {
        folder: target.to_owned(),
        strangers: found.into_iter().collect(),
    })
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), FolderError> {
    let write = || {
        let mut file = File::create(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    };
    during("cannot write", path, write())
}

/// Makes the names in a folder last through a power cut, where the system can.
fn sync(folder: &Path) -> Result<(), FolderError> {
    if cfg!(unix) {
        during(
            "cannot sync",
            folder,
            File::open(folder).and_then(|f| f.sync_all()),
        )
    } else {
        Ok(())
    }
}

/// Puts `kit` at `target`, where an older kit is; that goes with the staging folder.
fn exchange(kit: &Path, target: &Path, staging: TempDir) -> Result<(), FolderError> {
    #[cfg(any(target_os = "linux", target_os = "macos"))]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        use rustix::io::Errno;
        match renameat_with(CWD, kit, CWD, target, RenameFlags::EXCHANGE) {
            Ok(()) => return Ok(()),
            // Some file systems cannot exchange names.
            Err(Errno::INVAL | Errno::NOSYS | Errno::NOTSUP) => {}
            Err(e) => return during("cannot replace", target, Err(e.into())),
        }
    }
    let older = staging.path().join("older");
    during("cannot move aside", target, fs::rename(target, &older))?;
    let placed = fs::rename(kit, target);
    if placed.is_err() && fs::rename(&older, target).is_err() {
        // The older kit must not go with the staging folder.
        let kept = staging.keep().join("older");
        return during("cannot put in place; the older kit is now", &kept, placed);
    }
    during("cannot put in place", target, placed)
}
