//! The whole set of files for one bait, with its manifest.
//!
//! [`Kit::build`] makes everything in memory and touches no disk;
//! [`Kit::write`] (with the feature `command`) puts it into a folder, whole or not
//! at all.

mod beside;
mod checks;
#[cfg(feature = "command")]
mod folder;
mod judged;
mod manifest;
mod notes;
mod pictures;
mod sheet;
mod thin;
mod water;

use nalgebra::Vector3;

pub use beside::OtherBait;
pub use checks::{AirEntry, OpeningEntry, TrapEntry, UndercutEntry};
#[cfg(feature = "command")]
pub use folder::FolderError;
pub use manifest::{
    AllowanceEntry, AllowanceStep, BaitEntry, BesideEntry, BlockEntry, FileEntry, Manifest,
    MouldEntry, ReadingEntry, SeatEntry, ThinnestEntry,
};
pub use water::*;

use crate::body::{Body, Master, MasterError, TooFine};
use crate::casting::Day;
use crate::casting::sheet::{Page, Subject};
use crate::drawing::picture::PictureError;
use crate::drawing::{document, gauge_sheet, missing, paper, pattern_sheet};
use crate::export::three_mf::{Object, PackageError};
use crate::export::{UnfitMesh, dxf, pdf, stl, svg, three_mf};
use crate::import::Imported;
use crate::lathe::Gauge;
use crate::mesh::{Bounds, Mesh};
use crate::mould::opening::Proposal;
use crate::mould::{Mould, MouldError, Neighbour, PartingFace, Printed};
use crate::rig::{self, Bed, Rig};
use crate::spec::{Design, Problem, Problems, Route, Spec};
use checks::Checks;

/// Name of the manifest within a kit.
pub const MANIFEST: &str = "kit.json";

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
        Self::assemble(spec, design, &body, Vec::new(), Vec::new())
    }

    /// Makes the whole kit of a spec whose body comes from a file (`body.from`), around what was
    /// read from it.
    ///
    /// # Errors
    /// As [`Kit::build`].
    pub fn build_with_master(spec: &Spec, master: &Imported) -> Result<Self, KitError> {
        let design = Self::design(spec, Some(master))?;
        let body = Body::imported(&design, master.mesh.clone());
        Self::assemble(spec, design, &body, master.notes.clone(), Vec::new())
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
        Self::assemble(spec, design, &body, said, others)
    }

    fn assemble(
        spec: &Spec,
        design: Design,
        body: &Body,
        said: Vec<String>,
        others: Vec<beside::Other>,
    ) -> Result<Self, KitError> {
        let mut design = design;
        let allow = &design.allowances.clone();
        let scale = design.mould_scale();
        let most = scale.max(allow.pattern_scale() * allow.print_scale());
        // What is enlarged afterwards is made finer by as much.
        let mut finer = Design {
            tolerance: design.tolerance / most,
            ..design.clone()
        };
        let mut made = Master::build(&finer, body)?;
        let proposed = |design: &Design, made: &Master| {
            let waist = PartingFace::waist(design, body, &made.mesh);
            Proposal::of(&made.mesh, &waist, design.tolerance)
        };
        let mut proposal = proposed(&design, &made);
        design.mould.parting_free &= beside::propose(&others, &finer, &mut proposal);
        if let Some(turned) = checks::other_plane(&finer, &proposal)
            // A feature that cannot be made for the other plane keeps the mould to this one.
            && let Ok(other) = Master::build(&turned, body)
        {
            (finer, made) = (turned, other);
            design.mould.parting = finer.mould.parting;
            proposal = proposed(&design, &made);
            beside::propose(&others, &finer, &mut proposal);
        }
        thin::thinner_than_coats(&design, &made.thinnest)?;
        let bared = allow
            .bared(&made.mesh, design.tolerance)
            .ok_or_else(|| thin::no_room_for_coats(&design))?;
        let master = &bared.mesh;
        let around = body.scaled(scale);
        let pattern = made.mesh.clone().scaled(scale);
        let others = beside::make(others, &design, scale, most)?;
        let beside: Vec<Neighbour<'_>> = others.iter().map(beside::Made::neighbour).collect();
        let bed = Bed::of(body, &made).map_err(MasterError::from)?;
        let rig = Rig::build(&design, &bed);
        let mould = Mould::around_several(&design, &around, &pattern, &beside)
            .map_err(|error| notes::with_doubt_of_unit(&design, body, error));
        let (rig, mould) = match (rig, mould) {
            // A thing in a wrong place has no seat either: its place is the fault to tell.
            (Err(Problems(mut all)), Err(MouldError::Spec(Problems(more)))) => {
                all.extend(
                    more.into_iter()
                        .filter(|p| !p.path.starts_with("mould.seats")),
                );
                return Err(Problems(all).into());
            }
            (rig, mould) => (rig?, mould?),
        };
        // Cores were judged by the widest gate that the mould might choose.
        let in_gate = match checks::narrower_gate(&design, &mould) {
            Some(told) => notes::in_gate(Master::build(&told, body))?,
            None => Vec::new(),
        };
        for (file, mesh) in [
            ("master.stl", master),
            ("the upper half", &mould.upper),
            ("the lower half", &mould.lower),
        ] {
            mesh.check()
                .map_err(|faults| KitError::Unsound { file, faults })?;
        }

        let mut files = Files::default();
        let name = &design.name;
        let mut mould = mould;
        let mut parts = mould.parts(&design, &around, &pattern)?;
        let all = |parts: &[Printed]| {
            let mut pieces = parts.iter().flat_map(|part| &part.pieces);
            pieces.all(|piece| piece.check().is_ok())
        };
        if mould.face.has_steps() && !all(&parts) {
            // As the mould itself does where its halves come out so.
            let beside: Vec<Neighbour<'_>> = others.iter().map(beside::Made::level).collect();
            design.mould.steps = false;
            mould = Mould::around_several(&design, &around, &pattern, &beside)?;
            parts = mould.parts(&design, &around, &pattern)?;
        }
        let placed = master.clone().settled();

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
        for other in &others {
            let mesh = other.master.clone().settled();
            mesh.check().map_err(|faults| KitError::Unsound {
                file: "the master of another bait",
                faults,
            })?;
            let file = format!("master-{}.stl", other.slug);
            files.stl(
                file,
                Kind::Master,
                &mesh,
                &format!("{}, master", other.name),
            )?;
        }
        // All pieces in a row, like an open book.
        let mut row: Vec<(String, &Mesh, Vector3<f64>)> = Vec::new();
        let mut at = 0.0;
        for part in &parts {
            let kind = match mould.route {
                Route::Block => Kind::MouldHalf,
                Route::Boxes | Route::Board => Kind::MouldPart,
            };
            let count = part.pieces.len();
            for (i, piece) in part.pieces.iter().enumerate() {
                let (file, title) = if count == 1 {
                    (
                        format!("{}.stl", part.name),
                        format!("{name}, {}", part.title),
                    )
                } else {
                    (
                        format!("{}-{}.stl", part.name, i + 1),
                        format!("{name}, {}, piece {} of {count}", part.title, i + 1),
                    )
                };
                piece.check().map_err(|faults| KitError::Unsound {
                    file: "a part of the mould",
                    faults,
                })?;
                files.stl(file, kind, piece, &title)?;
                row.push((title, piece, Vector3::new(0.0, at, 0.0)));
                at += piece.bounds().map_or(0.0, |b| b.size().y) + APART;
            }
        }
        let objects: Vec<(&str, &Mesh, Vector3<f64>)> = row
            .iter()
            .map(|(title, mesh, at)| (title.as_str(), *mesh, *at))
            .collect();
        files.package("mould.3mf", Kind::Mould, name, &objects)?;

        if !made.cores.is_empty() {
            let mut cores = Mesh::default();
            let mut at = 0.0;
            for core in &made.cores {
                // Side by side: cores that cross in the mould are apart on the printer.
                let core = allow
                    .cavity(core)
                    .settled()
                    .translated(&Vector3::new(0.0, at, 0.0));
                at = core.bounds().map_or(at, |b| b.max.y) + APART;
                cores.append(&core);
            }
            cores.check().map_err(|faults| KitError::Unsound {
                file: "cores.stl",
                faults,
            })?;
            let title = format!("{name}, cores");
            files.stl("cores.stl", Kind::Core, &cores, &title)?;
        }

        let checks = Checks::of(&design, &proposal, &made, (&mould, &others));
        let sizes = rig::sizes(&design.rig, &bed);
        let (water, of_water) = WaterEntry::new(&design, &bed, &rig, &sizes);
        // Of this bait and this mould; the build sheet has it too.
        let mut own = checks.notes.clone();
        own.extend(notes::of_parts(&design, &parts));
        own.extend(made.notes.iter().cloned());
        own.extend(others.iter().flat_map(|other| other.notes.iter().cloned()));
        own.extend(in_gate);
        own.extend(thin::thinnest(&made.thinnest, &design));
        own.extend(thin::filled_by_coats(&design));
        own.extend(thin::coats_off(&design, &made, &bared.off));
        own.extend(of_water);
        let mut notes = notes::of_mould(&design, &mould);
        notes.extend(notes::of_body(&design));
        notes.extend(said);
        notes.extend(own.iter().cloned());
        if body.scan.is_some() {
            notes.push(
                "No lathe gauge: the master was read from a file, and a gauge is drawn from an \
                 outline."
                    .to_owned(),
            );
        }
        match body.roundness().and_then(|()| {
            // The turner makes the master as it is under the silicone, coats and all.
            Gauge::of(&body.scaled(allow.pattern_scale()))
        }) {
            _ if body.scan.is_some() => {}
            Ok(gauge) => {
                notes.extend(notes::trunk_only(&design));
                notes.extend(notes::coated(&design));
                let title = notes::master_title(&design);
                let sheet = gauge_sheet(&gauge, &title, design.units);
                files.add(
                    "lathe-gauge.svg",
                    Kind::Gauge,
                    svg::to_svg(&sheet).into_bytes(),
                );
            }
            Err(not_round) => {
                notes.push(format!(
                    "No lathe gauge: {}.",
                    not_round.said_in(design.units)
                ));
            }
        }

        if let Some(sheet) = pattern_sheet(&mould, &design) {
            files.add(
                "pattern.svg",
                Kind::Pattern,
                svg::to_svg(&sheet).into_bytes(),
            );
            files.add(
                "pattern.dxf",
                Kind::Pattern,
                dxf::to_dxf(&sheet).into_bytes(),
            );
        }

        let pattern_scale = allow.pattern_scale();
        let sheets = paper(
            &design,
            &body.scaled(pattern_scale),
            pattern_scale,
            &made.mesh.clone().scaled(pattern_scale),
            &sizes,
        );
        let title = format!("{name}, paper");
        notes.extend(notes::without_shape(&missing(&sheets.pages)));
        files.add("paper.pdf", Kind::Paper, pdf::to_pdf(&sheets.pages, &title));
        if let Some(wire) = &sheets.wire {
            files.add("wire.svg", Kind::Pattern, svg::to_svg(wire).into_bytes());
        }
        if let Some(sink) = &sheets.sink {
            files.add("sink.svg", Kind::Paper, svg::to_svg(sink).into_bytes());
        }
        let drawing = svg::to_svg(&sheets.drawing).into_bytes();
        files.add("drawing.svg", Kind::Paper, drawing);
        for (file, kind, sheet) in [
            ("gauges.dxf", Kind::Gauge, &sheets.gauges),
            ("shapes.dxf", Kind::Pattern, &sheets.patterns),
        ] {
            if let Some(sheet) = sheet {
                files.add(file, kind, dxf::to_dxf(sheet).into_bytes());
            }
        }

        files.add("master.png", Kind::Picture, pictures::master(master)?);
        files.add("views.png", Kind::Picture, pictures::views(master)?);
        let shown: Vec<Mesh> = row
            .iter()
            .map(|(_, mesh, at)| (*mesh).clone().translated(at))
            .collect();
        files.add("mould.png", Kind::Picture, pictures::parts(&shown)?);
        let casting = pictures::casting(&mould, &checks.undercuts)?;
        files.add("casting.png", Kind::Picture, casting);

        let text = toml::to_string(spec).map_err(|e| KitError::SpecText(e.to_string()))?;
        files.add("spec.toml", Kind::Spec, text.into_bytes());

        let mut manifest =
            Manifest::new(&design, body, &made, &mould, &rig, (checks, water), notes);
        manifest.mould.beside = others
            .iter()
            .enumerate()
            .map(|(i, other)| BesideEntry::new(other, (&mould, i), scale))
            .collect();
        let filling = 1000.0 * manifest.mould.filling_ml;
        if let Some(day) = Day::of(&design, body, &made, &mould, &rig, filling) {
            let mut notes = notes::at_the_bench(&design, &mould);
            notes.extend(own);
            let subject = Subject {
                design: &design,
                day: &day,
                mould: &mould,
                made: &made,
                rig: &rig,
                parts: &parts,
                pictures: &sheet::pictures(&mould, &files.0),
                notes: &notes,
            };
            let page = Page::of(&subject);
            let images = sheet::images(&subject);
            let leaves = document(&page, &images, design.lathe.paper);
            let lettered = missing(&sheets.pages);
            let mut unset = missing(leaves.iter().map(|leaf| &leaf.sheet));
            unset.retain(|c| !lettered.contains(c));
            manifest.notes.extend(notes::without_shape(&unset));
            let mut drawn = vec![sheets.drawing];
            drawn.extend(sheets.wire.into_iter().chain(sheets.sink));
            let printed = pdf::document(&leaves, &drawn, &page.title);
            let page = page.to_html();
            files.add("build-sheet.html", Kind::BuildSheet, page.into_bytes());
            files.add("build-sheet.pdf", Kind::BuildSheet, printed);
            manifest.casting = Some(day);
        }
        manifest.list(&files.0);
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

/// Files as they are made.
#[derive(Default)]
struct Files(Vec<KitFile>);

impl Files {
    fn add(&mut self, path: impl Into<String>, kind: Kind, bytes: Vec<u8>) {
        self.0.push(KitFile {
            path: path.into(),
            kind,
            bytes,
            solid: None,
        });
    }

    fn stl(
        &mut self,
        path: impl Into<String>,
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
