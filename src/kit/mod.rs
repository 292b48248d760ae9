//! The whole set of files for one bait, with its manifest.
//!
//! [`Kit::build`] makes everything in memory and touches no disk;
//! [`Kit::write`] (with the feature `command`) puts it into a folder, whole or not
//! at all.

mod assemble;
mod beside;
mod checks;
mod files;
#[cfg(feature = "command")]
mod folder;
mod judged;
mod manifest;
mod notes;
mod pictures;
mod sheet;
mod thin;
mod water;

pub use beside::OtherBait;
pub use checks::{AirEntry, OpeningEntry, TrapEntry, UndercutEntry};
#[cfg(feature = "command")]
pub use folder::FolderError;
pub use manifest::{
    AllowanceEntry, AllowanceStep, BaitEntry, BesideEntry, BlockEntry, FileEntry, Manifest,
    MouldEntry, ReadingEntry, SeatEntry, ThinnestEntry,
};
pub use water::*;

use crate::body::{Body, MasterError, TooFine};
use crate::drawing::picture::PictureError;
use crate::export::UnfitMesh;
use crate::export::three_mf::PackageError;
use crate::import::Imported;
use crate::mesh::Bounds;
use crate::mould::MouldError;
use crate::spec::{Design, Problem, Problems, Spec};

/// Name of the manifest within a kit.
pub const MANIFEST: &str = "kit.json";

/// A kit could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum KitError {
    /// The spec breaks a rule, or asks for what does not fit.
    #[error("{0}")]
    Spec(Problems),
    /// The mould could not be made, through no fault of the spec.
    #[error(transparent)]
    Mould(MouldError),
    /// A mesh of ours is unsound. This is a defect in Baitwright, not in the spec.
    #[error("{file}: {faults}")]
    Unsound {
        /// The file the mesh was meant for.
        file: &'static str,
        /// What the checker found.
        faults: crate::mesh::check::MeshFaults,
    },
    /// A mesh could not be written as STL.
    #[error(transparent)]
    Stl(#[from] UnfitMesh),
    /// A mesh could not be written as 3MF.
    #[error(transparent)]
    Package(#[from] PackageError),
    /// A picture could not be drawn.
    #[error(transparent)]
    Picture(#[from] PictureError),
    /// The spec cannot be written back as TOML.
    #[error("the spec cannot be written as TOML: {0}")]
    SpecText(String),
}

impl From<Problems> for KitError {
    fn from(problems: Problems) -> Self {
        KitError::Spec(problems)
    }
}

impl From<MasterError> for KitError {
    fn from(error: MasterError) -> Self {
        MouldError::from(error).into()
    }
}

impl From<MouldError> for KitError {
    fn from(error: MouldError) -> Self {
        match error {
            MouldError::Spec(problems) => KitError::Spec(problems),
            MouldError::TooFine(too_fine) => too_fine.into(),
            other => KitError::Mould(other),
        }
    }
}

impl From<TooFine> for KitError {
    fn from(fine: TooFine) -> Self {
        let problem = Problem::new("mesh.tolerance", "the tolerance is too fine for this body")
            .value(format!(
                "{} mm, about {} triangles",
                fine.tolerance, fine.triangles
            ))
            .limit(format!("up to {} triangles", crate::body::MOST_TRIANGLES))
            .hint(format!("{} mm would do", fine.workable));
        KitError::Spec(problem.into())
    }
}

/// What a file of a kit is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Kind {
    /// The master: bait and core prints in one solid.
    Master,
    /// Loose cores that are laid in the mould, side by side.
    Core,
    /// One half of the mould, parting face up.
    MouldHalf,
    /// A printed part that a silicone mould is cast in or over.
    MouldPart,
    /// Everything printed for the mould, side by side.
    Mould,
    /// A pattern to cut sheet material by, at 1:1.
    Pattern,
    /// A sheet to print on paper, or to cut card by, at 1:1.
    Gauge,
    /// Pages and drawings to print.
    Paper,
    /// A picture.
    Picture,
    /// The build sheet: a page of everything, in the order of work.
    BuildSheet,
    /// The spec the kit was made from, every value as it was read.
    Spec,
}

/// One file of a kit.
#[derive(Clone, Debug, PartialEq)]
pub struct KitFile {
    /// Name within the kit's folder.
    pub path: String,
    /// What it is.
    pub kind: Kind,
    /// Its content.
    pub bytes: Vec<u8>,
    /// What the solids in it measure; `None` for sheets, pictures and texts.
    pub solid: Option<SolidFacts>,
}

/// What the solids in a file measure, in the file's own coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SolidFacts {
    /// Triangles.
    pub triangles: usize,
    /// Volume, in mm³.
    pub volume: f64,
    /// Bounding box, in mm.
    pub bounds: Bounds,
}

/// Everything made for one bait.
#[derive(Clone, Debug)]
pub struct Kit {
    /// The design it was made from.
    pub design: Design,
    /// The files, [`MANIFEST`] not among them.
    pub files: Vec<KitFile>,
    /// What the manifest says.
    pub manifest: Manifest,
}

impl Kit {
    /// Makes the whole kit.
    ///
    /// # Errors
    /// Whatever is wrong with the spec, all of it at once as far as it can be told apart.
    pub fn build(spec: &Spec) -> Result<Self, KitError> {
        let design = Self::design(spec, None)?;
        let body = Body::from_design(&design);
        assemble::assemble(spec, design, &body, Vec::new(), Vec::new())
    }

    /// Makes the whole kit of a spec whose body comes from a file (`body.from`), around what was
    /// read from it.
    ///
    /// # Errors
    /// As [`Kit::build`].
    pub fn build_with_master(spec: &Spec, master: &Imported) -> Result<Self, KitError> {
        let design = Self::design(spec, Some(master))?;
        let body = Body::imported(&design, master.mesh.clone());
        assemble::assemble(spec, design, &body, master.notes.clone(), Vec::new())
    }

    /// Makes the whole kit of a spec that lists other baits for the same mould
    /// (`mould.beside`): theirs come in the order of that list. `master` is what was read of this
    /// spec's own body, where that comes from a file.
    ///
    /// # Errors
    /// As [`Kit::build`]; what is wrong with another bait is named by it.
    pub fn build_beside(
        spec: &Spec,
        master: Option<&Imported>,
        others: &[OtherBait],
    ) -> Result<Self, KitError> {
        let mut alone = spec.clone();
        alone.mould.beside.clear();
        if !others.is_empty() {
            // Told of the list itself.
            alone.mould.pitch = None;
        }
        let own = Self::design(&alone, master);
        let (design, others) = match (own, beside::read(spec, others)) {
            (Ok(design), Ok(others)) => (design, others),
            (own, others) => {
                let found = [own.err(), others.err()].into_iter().flatten();
                return Err(Problems(found.flat_map(|p| p.0).collect()).into());
            }
        };
        let body = match master {
            Some(master) => Body::imported(&design, master.mesh.clone()),
            None => Body::from_design(&design),
        };
        let said = master.map_or_else(Vec::new, |master| master.notes.clone());
        assemble::assemble(spec, design, &body, said, others)
    }

    /// The manifest as it is written, JSON.
    pub fn manifest_text(&self) -> String {
        let mut text = serde_json::to_string_pretty(&self.manifest).unwrap_or_default();
        text.push('\n');
        text
    }
}
