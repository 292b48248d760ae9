//! A kit stage by stage: the masters, the mould around them, the files, what is said of it all.

use nalgebra::Vector3;

use super::beside::{self, Made, Other};
use super::checks::{self, Checks};
use super::files::{APART, Files, laid_out};
use super::{
    BesideEntry, Kind, Kit, KitError, Manifest, WaterEntry, judged, notes, pictures, sheet, thin,
};
use crate::body::{Body, Master, MasterError};
use crate::casting::Day;
use crate::casting::sheet::{Page, Subject};
use crate::drawing::{Paper, document, gauge_sheet, missing, paper, pattern_sheet};
use crate::export::{dxf, pdf, svg};
use crate::lathe::Gauge;
use crate::mesh::Mesh;
use crate::mould::opening::Proposal;
use crate::mould::{Mould, MouldError, Neighbour, PartingFace, Pattern, Printed};
use crate::rig::{self, Bed, Rig};
use crate::spec::{Design, Problems, Route, Spec};

/// Makes a kit of what has been read. `said` is what was said of reading the body.
pub(super) fn assemble(
    spec: &Spec,
    design: Design,
    body: &Body,
    said: Vec<String>,
    mut others: Vec<Other>,
) -> Result<Kit, KitError> {
    let parted = Parted::choose(design, body, &mut others)?;
    let specs = specs(spec, &others);
    let cast = Cast::around(parted, body, others)?;

    let mut files = Files::default();
    masters(&mut files, &cast)?;
    let row = parts(&mut files, &cast)?;
    cores(&mut files, &cast)?;

    let Cast {
        design,
        made,
        mould,
        rig,
        others,
        ..
    } = &cast;
    let checks = Checks::of(design, &cast.proposal, made, (mould, body, others));
    let sizes = rig::sizes(&design.rig, &cast.bed);
    let (water, of_water) = WaterEntry::new(design, &cast.bed, rig, &sizes);
    // Of this bait and this mould; the build sheet has it too.
    let mut own = checks.notes.clone();
    own.extend(notes::of_parts(design, &cast.parts));
    own.extend(made.notes.iter().cloned());
    own.extend(notes::copies_of_cores(made, mould));
    own.extend(notes::in_sprue(made, mould, body.length()));
    own.extend(others.iter().flat_map(|other| other.notes.iter().cloned()));
    own.extend(cast.in_gate.iter().cloned());
    own.extend(thin::thinnest(&made.thinnest, design));
    own.extend(thin::filled_by_coats(design));
    own.extend(cast.coats_off.clone());
    own.extend(of_water);
    let mut notes = notes::of_mould(design, mould);
    notes.extend(notes::of_body(design));
    notes.extend(said);
    notes.extend(own.iter().cloned());
    notes.extend(gauge(&mut files, design, body));

    if let Some(sheet) = pattern_sheet(mould, design) {
        let [drawn, cut] = [svg::to_svg(&sheet), dxf::to_dxf(&sheet)];
        files.add("pattern.svg", Kind::Pattern, drawn.into_bytes());
        files.add("pattern.dxf", Kind::Pattern, cut.into_bytes());
    }
    let scale = design.allowances.pattern_scale();
    let as_made = made.mesh.clone().scaled(scale);
    let sheets = paper(design, &body.scaled(scale), scale, &as_made, &sizes);
    notes.extend(notes::without_shape(&missing(&sheets.pages)));
    on_paper(&mut files, &sheets, &design.name);
    let master = &cast.master;
    files.add("master.png", Kind::Picture, pictures::master(master)?);
    files.add("views.png", Kind::Picture, pictures::views(&made.bait)?);
    files.add("mould.png", Kind::Picture, pictures::parts(&row)?);
    let casting = pictures::casting(mould, &checks.undercuts)?;
    files.add("casting.png", Kind::Picture, casting);
    for (file, spec) in &specs {
        let text = toml::to_string(spec).map_err(|e| KitError::SpecText(e.to_string()))?;
        files.add(file.clone(), Kind::Spec, text.into_bytes());
    }

    let mut manifest = Manifest::new(design, body, made, mould, rig, (checks, water), notes);
    let scale = design.mould_scale();
    let beside = others.iter().enumerate();
    manifest.mould.beside = beside
        .map(|(i, other)| BesideEntry::new(other, (mould, i), scale))
        .collect();
    day(&mut files, &mut manifest, body, &cast, (sheets, own));
    manifest.list(&files.0);
    Ok(Kit {
        design: cast.design,
        files: files.0,
        manifest,
    })
}

/// The kit's own specs, which name each other wherever it is taken.
fn specs(spec: &Spec, others: &[Other]) -> Vec<(String, Spec)> {
    let mut own = spec.clone();
    for (entry, other) in own.mould.beside.iter_mut().zip(others) {
        entry.spec = other.spec_file();
    }
    let others = others.iter().map(|other| (other.spec_file(), other.spec()));
    std::iter::once(("spec.toml".to_owned(), own))
        .chain(others)
        .collect()
}

/// A master, and the plane that its mould parts along.
struct Parted {
    design: Design,
    made: Master,
    proposal: Proposal,
    /// By how much it, or what is made of it, is enlarged at most.
    most: f64,
}

impl Parted {
    fn choose(mut design: Design, body: &Body, others: &mut [Other]) -> Result<Self, KitError> {
        let allow = &design.allowances;
        let most = (design.mould_scale()).max(allow.pattern_scale() * allow.print_scale());
        // What is enlarged afterwards is made finer by as much.
        let finer = Design {
            tolerance: design.tolerance / most,
            ..design.clone()
        };
        let mut made = Master::build(&finer, body).map_err(|error| match error {
            // With what else there is.
            MasterError::Spec(_) => Problems(judged::faults(&finer, body, Vec::new())).into(),
            other => KitError::from(other),
        })?;
        let proposed = |design: &Design, made: &Master| {
            let waist = PartingFace::waist(design, body, &made.mesh);
            Proposal::of(&made.mesh, &waist, design.tolerance)
        };
        let mut proposal = proposed(&design, &made);
        let first = beside::propose(others, &finer, most, &mut proposal);
        let turned = match first.unmade {
            // Of two planes the one that all can be made for, whatever holds there.
            true if finer.mould.parting_free => Some(checks::turned(&finer)),
            _ => checks::other_plane(&finer, &proposal),
        };
        design.mould.parting_free &= first.free;
        if let Some(turned) = turned {
            // A feature that cannot be made for the other plane keeps the mould to this one, and so
            // does one of another bait.
            let other = Master::build(&turned, body).ok().map(|made| {
                let mut proposal = proposed(&turned, &made);
                let all = !beside::propose(others, &turned, most, &mut proposal).unmade;
                (made, proposal, all)
            });
            match other {
                Some((other, theirs, true)) => {
                    made = other;
                    proposal = theirs;
                    design.mould.parting = turned.mould.parting;
                    if first.unmade {
                        proposal.parting = turned.mould.parting;
                    }
                }
                _ => proposal.parting = design.mould.parting,
            }
        }
        Ok(Parted {
            design,
            made,
            proposal,
            most,
        })
    }
}

/// Baits with what is cast in them, and the mould around them.
struct Cast {
    design: Design,
    made: Master,
    proposal: Proposal,
    /// The master as it is printed.
    master: Mesh,
    /// What is said of coats that do not come off evenly.
    coats_off: Option<String>,
    /// What is said of cores in the gate.
    in_gate: Vec<String>,
    bed: Bed,
    rig: Rig,
    mould: Mould,
    parts: Vec<Printed>,
    others: Vec<Made>,
}

impl Cast {
    fn around(parted: Parted, body: &Body, others: Vec<Other>) -> Result<Self, KitError> {
        let Parted {
            mut design,
            made,
            proposal,
            most,
        } = parted;
        thin::thinner_than_coats(&design, &made.thinnest)?;
        let bared = (design.allowances)
            .bared(&made.mesh, design.tolerance)
            .ok_or_else(|| thin::no_room_for_coats(&design))?;
        let scale = design.mould_scale();
        let around = body.scaled(scale);
        let pattern = made.mesh.clone().scaled(scale);
        let others = beside::make(others, &design, scale, most)?;
        let beside: Vec<Neighbour<'_>> = others.iter().map(Made::neighbour).collect();
        let bed = Bed::of(body, &made).map_err(MasterError::from)?;
        let rig = Rig::build(&design, &bed);
        let in_mould: Vec<Mesh> = (made.cores.iter())
            .map(|core| core.clone().scaled(scale))
            .collect();
        let own = Pattern {
            mesh: &pattern,
            cores: &in_mould,
            core_volume: made.core_volume * scale * scale * scale,
        };
        let mould = Mould::around_several(&design, &around, own, &beside)
            .map_err(|error| notes::with_doubt_of_unit(&design, body, error));
        let (rig, mut mould) = match (rig, mould) {
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
        let mut parts = mould.parts(&design, &around, &pattern)?;
        let all = |parts: &[Printed]| {
            let mut pieces = parts.iter().flat_map(|part| &part.pieces);
            pieces.all(|piece| piece.check().is_ok())
        };
        if mould.face.has_steps() && !all(&parts) {
            // As the mould itself does where its halves come out so.
            mould = Mould::without_steps(&design, &around, own, &beside)?;
            design.mould.steps = false;
            parts = mould.parts(&design, &around, &pattern)?;
        }
        for (file, mesh) in [
            ("master.stl", &bared.mesh),
            ("the upper half", &mould.upper),
            ("the lower half", &mould.lower),
        ] {
            mesh.check()
                .map_err(|faults| KitError::Unsound { file, faults })?;
        }
        drop(beside);
        let loose = checks::loose(&design, &made, &mould, &others);
        if !loose.is_empty() {
            return Err(Problems(loose).into());
        }
        Ok(Cast {
            coats_off: thin::coats_off(&design, &made, &bared.off),
            in_gate,
            master: bared.mesh,
            design,
            made,
            proposal,
            bed,
            rig,
            mould,
            parts,
            others,
        })
    }
}

fn masters(files: &mut Files, cast: &Cast) -> Result<(), KitError> {
    let name = &cast.design.name;
    let placed = cast.master.clone().settled();
    let title = format!("{name}, master");
    files.stl("master.stl", Kind::Master, &placed, &title)?;
    let objects = [(name.as_str(), &placed, Vector3::zeros())];
    files.package("master.3mf", Kind::Master, name, &objects)?;
    for other in &cast.others {
        let mesh = other.master.clone().settled();
        mesh.check().map_err(|faults| KitError::Unsound {
            file: "the master of another bait",
            faults,
        })?;
        let file = format!("master-{}.stl", other.slug);
        let title = format!("{}, master", other.name);
        files.stl(file, Kind::Master, &mesh, &title)?;
    }
    Ok(())
}

/// All pieces of the mould, each by itself and in a row like an open book, which comes back.
fn parts(files: &mut Files, cast: &Cast) -> Result<Vec<Mesh>, KitError> {
    let name = &cast.design.name;
    let kind = match cast.mould.route {
        Route::Block => Kind::MouldHalf,
        Route::Boxes | Route::Board => Kind::MouldPart,
    };
    let mut row: Vec<(String, &Mesh, Vector3<f64>)> = Vec::new();
    let mut at = 0.0;
    for part in &cast.parts {
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
    let shown = row
        .iter()
        .map(|(_, mesh, at)| (*mesh).clone().translated(at));
    Ok(shown.collect())
}

/// Loose cores, of each bait in a file.
fn cores(files: &mut Files, cast: &Cast) -> Result<(), KitError> {
    let own = (&cast.design.name, "cores.stl".to_owned(), &cast.made.cores);
    let cored = cast.others.iter().filter_map(|other| {
        let file = other.cores_file()?;
        Some((&other.name, file, &other.made.cores))
    });
    for (name, file, loose) in std::iter::once(own).chain(cored) {
        if loose.is_empty() {
            continue;
        }
        let allow = &cast.design.allowances;
        let cores = laid_out(loose.iter().map(|core| allow.cavity(core)));
        cores.check().map_err(|faults| KitError::Unsound {
            file: "cores.stl",
            faults,
        })?;
        files.stl(file, Kind::Core, &cores, &format!("{name}, cores"))?;
    }
    Ok(())
}

/// The lathe gauge, and what is to be said of it or of there being none.
fn gauge(files: &mut Files, design: &Design, body: &Body) -> Vec<String> {
    if body.scan.is_some() {
        return vec![
            "No lathe gauge: the master was read from a file, and a gauge is drawn from an outline."
                .to_owned(),
        ];
    }
    // The turner makes the master as it is under the silicone, coats and all.
    let scale = design.allowances.pattern_scale();
    let gauge = (body.roundness()).and_then(|()| Gauge::of(&body.scaled(scale)));
    match gauge {
        Ok(gauge) => {
            let title = notes::master_title(design);
            let sheet = svg::to_svg(&gauge_sheet(&gauge, &title, design.units));
            files.add("lathe-gauge.svg", Kind::Gauge, sheet.into_bytes());
            let mut said: Vec<String> = notes::trunk_only(design).into_iter().collect();
            said.extend(notes::coated(design));
            said
        }
        Err(not_round) => vec![format!(
            "No lathe gauge: {}.",
            not_round.said_in(design.units)
        )],
    }
}

fn on_paper(files: &mut Files, sheets: &Paper, name: &str) {
    let title = format!("{name}, paper");
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
}

/// The casting day, with its sheet; `own` are the notes on this bait and this mould.
fn day(
    files: &mut Files,
    manifest: &mut Manifest,
    body: &Body,
    cast: &Cast,
    (sheets, own): (Paper, Vec<String>),
) {
    let Cast {
        design,
        made,
        mould,
        rig,
        ..
    } = cast;
    let filling = 1000.0 * manifest.mould.filling_ml;
    let Some(day) = Day::of(design, body, made, mould, rig, filling) else {
        return;
    };
    let mut notes = notes::at_the_bench(design, mould);
    notes.extend(own);
    let subject = Subject {
        design,
        day: &day,
        mould,
        made,
        rig,
        parts: &cast.parts,
        pictures: &sheet::pictures(mould, &files.0),
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
