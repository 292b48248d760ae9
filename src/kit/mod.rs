//! The whole set of files for one bait, with its manifest.
//!
//! [`Kit::build`] makes everything in memory and touches no disk;
//! [`Kit::write`] (with the feature `command`) puts it into a folder, whole or not
//! at all.

#[cfg(feature = "command")]
mod folder;
mod manifest;

use nalgebra::Vector3;

#[cfg(feature = "command")]
pub use folder::FolderError;
pub use manifest::{
    AllowanceEntry, AllowanceStep, BaitEntry, BlockEntry, FileEntry, Manifest, MouldEntry,
    ReadingEntry,
};

use crate::body::{Body, Master, MasterError, TooFine};
use crate::drawing::gauge_sheet;
use crate::drawing::picture::{Camera, Part, PictureError, Size, render};
use crate::export::three_mf::{Object, PackageError};
use crate::export::{UnfitMesh, png, stl, svg, three_mf};
use crate::lathe::Gauge;
use crate::mesh::{Bounds, Mesh};
use crate::mould::{Mould, MouldError};
use crate::spec::{Design, Parting, Problem, Problems, Spec};

/// Name of the manifest within a kit.
pub const MANIFEST: &str = "kit.json";

/// Colours of the pictures: a warm master, mould halves of pale stone.
const MASTER: [u8; 3] = [196, 134, 84];
const HALF: [u8; 3] = [186, 190, 186];
/// Room between parts that are shown or laid out side by side, in mm.
const APART: f64 = 10.0;

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
            .limit(format!("{} triangles", crate::body::MOST_TRIANGLES))
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
    /// One half of the mould, parting face up.
    MouldHalf,
    /// Both halves of the mould side by side.
    Mould,
    /// A sheet to print on paper at 1:1.
    Gauge,
    /// A picture.
    Picture,
    /// The spec the kit was made from, every value as it was read.
    Spec,
}

/// One file of a kit.
#[derive(Clone, Debug, PartialEq)]
pub struct KitFile {
    /// Name within the kit's folder.
    pub path: &'static str,
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
        let design = Design::from_spec(spec)?;
        let body = Body::from_design(&design);
        let allow = &design.allowances;
        let most = allow
            .cavity_scale()
            .max(allow.pattern_scale() * allow.print_scale());
        // What is enlarged afterwards is made finer by as much.
        let finer = Design {
            tolerance: design.tolerance / most,
            ..design.clone()
        };
        let made = Master::build(&finer, &body)?;
        let master = allow.master(&made.mesh);
        let around = body.scaled(allow.cavity_scale());
        let mould = Mould::around(&design, &around, &allow.cavity(&made.mesh))?;
        if allow.coating() > 0.0 && (master.check().is_err() || master.volume() <= 0.0) {
            let problem = Problem::new(
                "material.coats",
                "these coats are thicker than the finest detail of the master can take",
            )
            .value(design.units.show(allow.coating()))
            .hint("fewer or thinner coats, or rounder detail");
            return Err(Problems::from(problem).into());
        }
        for (file, mesh) in [
            ("master.stl", &master),
            ("the upper half", &mould.upper),
            ("the lower half", &mould.lower),
        ] {
            mesh.check()
                .map_err(|faults| KitError::Unsound { file, faults })?;
        }

        let mut files = Files::default();
        let name = &design.name;
        let [upper, lower] = mould.printed();
        let moves = mould.side_by_side(APART);
        let [first, second] = mould.names();
        let placed = settled(&master);

        files.stl(
            "master.stl",
            Kind::Master,
            &placed,
            &format!("{name}, master"),
        )?;
        files.package(
            "master.3mf",
            Kind::Master,
            name,
            &[(name, &placed, Vector3::zeros())],
        )?;
        let [upper_file, lower_file] = match mould.parting {
            Parting::Flank => ["mould-left.stl", "mould-right.stl"],
            Parting::Waist => ["mould-back.stl", "mould-belly.stl"],
        };
        for (file, half, mesh) in [(upper_file, first, &upper), (lower_file, second, &lower)] {
            files.stl(
                file,
                Kind::MouldHalf,
                mesh,
                &format!("{name}, mould half, {half}"),
            )?;
        }
        files.package(
            "mould.3mf",
            Kind::Mould,
            name,
            &[
                (&format!("{name}, {first} half"), &upper, moves[0]),
                (&format!("{name}, {second} half"), &lower, moves[1]),
            ],
        )?;

        let mut notes = notes(&design, &mould);
        // The turner makes the master as it is under the silicone, coats and all.
        match Gauge::of(&body.scaled(allow.pattern_scale())) {
            Ok(gauge) => {
                let sheet = gauge_sheet(&gauge, name, design.units);
                files.add(
                    "lathe-gauge.svg",
                    Kind::Gauge,
                    svg::to_svg(&sheet).into_bytes(),
                );
            }
            Err(not_round) => notes.push(format!("No lathe gauge: {not_round}.")),
        }

        let picture = |parts: &[Part<'_>], camera: &Camera| -> Result<Vec<u8>, KitError> {
            Ok(png::to_bytes(&render(parts, camera, Size::default())?))
        };
        let part = Part {
            mesh: &master,
            colour: MASTER,
        };
        files.add(
            "master.png",
            Kind::Picture,
            picture(&[part], &Camera::THREE_QUARTER)?,
        );
        let lower_shown = lower.clone().translated(&moves[1]);
        let halves = [&upper, &lower_shown].map(|mesh| Part { mesh, colour: HALF });
        files.add("mould.png", Kind::Picture, picture(&halves, &OPENED)?);

        let text = toml::to_string(spec).map_err(|e| KitError::SpecText(e.to_string()))?;
        files.add("spec.toml", Kind::Spec, text.into_bytes());

        let manifest = Manifest::new(&design, &body, made.bait_volume, &mould, &files.0, notes);
        Ok(Kit {
            design,
            files: files.0,
            manifest,
        })
    }

    /// The manifest as it is written, JSON.
    pub fn manifest_text(&self) -> String {
        let mut text = serde_json::to_string_pretty(&self.manifest).unwrap_or_default();
        text.push('\n');
        text
    }
}

/// From above and a little to the side of the opened halves, sprue to the left.
const OPENED: Camera = Camera {
    towards: Vector3::new(0.25, 0.62, -0.85),
    up: Vector3::new(0.0, 0.0, 1.0),
};

/// The mesh moved so that its bounding box begins at the origin (STL and 3MF want
/// the positive octant).
fn settled(mesh: &Mesh) -> Mesh {
    match mesh.bounds() {
        Some(bounds) => mesh.clone().translated(&-bounds.min.coords),
        None => mesh.clone(),
    }
}

/// What the maker should know that no file says.
fn notes(design: &Design, mould: &Mould) -> Vec<String> {
    let mut notes = vec![
        "Cast only in a mould that stands the heat: common printed plastics soften far below \
         the temperature soft plastic is poured at. Follow the data sheets of plastic and mould \
         material; hot plastic burns, its fumes harm, and water in the mould turns to steam."
            .to_owned(),
    ];
    if !mould.channels.vents.is_empty() {
        notes.push(
            "The vents are at the end away from the sprue. Whether any other place traps air is \
             not looked into yet."
                .to_owned(),
        );
    }
    if design.allowances.coating() > 0.0 {
        notes.push(format!(
            "Coats of {} in all are taken off the printed master's surface. The lathe gauge shows \
             the master with them on: turn it smaller by that much all round.",
            design.units.show(design.allowances.coating())
        ));
    }
    if let Some(measured) = &design.body.measured {
        let offs = measured.readings.iter();
        let offs = offs.flat_map(|r| [r.height, r.width].into_iter().flatten());
        let most = offs.map(|[_, off]| off.abs()).fold(0.0, f64::max);
        notes.push(format!(
            "The fair curve passes {} readings at up to {most:.3} mm from them, within {:.3} mm; \
             {MANIFEST} lists each.",
            measured.readings.len(),
            measured.uncertainty
        ));
    }
    if !design.collar.is_empty() {
        notes.push(
            "The collar on the master is a core print: it makes the seat for the skirt in the \
             mould, and is not counted as plastic."
                .to_owned(),
        );
    }
    notes
}

/// Files as they are made.
#[derive(Default)]
struct Files(Vec<KitFile>);

impl Files {
    fn add(&mut self, path: &'static str, kind: Kind, bytes: Vec<u8>) {
        self.0.push(KitFile {
            path,
            kind,
            bytes,
            solid: None,
        });
    }

    fn stl(
        &mut self,
        path: &'static str,
        kind: Kind,
        mesh: &Mesh,
        title: &str,
    ) -> Result<(), KitError> {
        self.add(path, kind, stl::to_bytes(mesh, title)?);
        self.measure(std::iter::once(mesh.clone()));
        Ok(())
    }

    fn package(
        &mut self,
        path: &'static str,
        kind: Kind,
        title: &str,
        objects: &[(&str, &Mesh, Vector3<f64>)],
    ) -> Result<(), KitError> {
        let packed: Vec<Object<'_>> = objects
            .iter()
            .map(|&(name, mesh, at)| Object { name, mesh, at })
            .collect();
        self.add(path, kind, three_mf::to_bytes(title, &packed)?);
        self.measure(
            objects
                .iter()
                .map(|(_, mesh, at)| (*mesh).clone().translated(at)),
        );
        Ok(())
    }

    /// Measures the solids of the file added last.
    fn measure(&mut self, solids: impl Iterator<Item = Mesh>) {
        let mut all = Mesh::default();
        for mesh in solids {
            all.append(&mesh);
        }
        if let (Some(file), Some(bounds)) = (self.0.last_mut(), all.bounds()) {
            file.solid = Some(SolidFacts {
                triangles: all.triangles.len(),
                volume: all.volume(),
                bounds,
            });
        }
    }
}
