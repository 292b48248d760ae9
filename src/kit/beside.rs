//! Other baits that are cast in the same mould.

use super::{KitError, MouldError};
use crate::body::{Body, Master, MasterError};
use crate::import::Imported;
use crate::mesh::Mesh;
use crate::mould::opening::Proposal;
use crate::mould::{MOST_BAITS, Neighbour, PartingFace, Pattern};
use crate::rig::{Bed, Rig};
use crate::spec::{Design, MouldDesign, MouldSpec, Parting, Problem, Problems, Spec, SprueSpec};

/// Another bait to be cast in the same mould (`mould.beside`).
#[derive(Clone, Debug)]
pub struct OtherBait {
    /// Its spec, of which name, units, scale, body, features, tolerance, and what is cast in with
    /// its seats count: the rest of the mould, materials and casting day are those of the kit's own
    /// bait.
    pub spec: Spec,
    /// Its body, where that comes from a file.
    pub master: Option<Imported>,
}

/// Another bait, checked.
pub(super) struct Other {
    name: String,
    /// What its files are called after.
    pub(super) slug: String,
    design: Design,
    body: Body,
    count: usize,
    said: Vec<String>,
    /// Its spec, as it was handed over.
    spec: Spec,
    /// Its master for the plane that was last thought of.
    made: Option<(Parting, Master)>,
}

impl Other {
    /// Its design in the mould of this one, finer by `most`.
    fn in_mould(&self, own: &Design, most: f64) -> Design {
        Design {
            tolerance: self.design.tolerance / most,
            mould: MouldDesign {
                seats: self.design.mould.seats,
                ..own.mould.clone()
            },
            allowances: own.allowances.clone(),
            ..self.design.clone()
        }
    }

    /// The file of its spec.
    pub(super) fn spec_file(&self) -> String {
        format!("spec-{}.toml", self.slug)
    }

    /// Its spec as it lies in the kit: without what is not its own there.
    pub(super) fn spec(&self) -> Spec {
        let mut spec = self.spec.clone();
        spec.mould.beside.clear();
        spec.cast.materials = None;
        spec
    }
}

/// Another bait, made.
pub(super) struct Made {
    pub(super) name: String,
    pub(super) slug: String,
    pub(super) made: Master,
    /// Its master as it is printed, in the body's axes.
    pub(super) master: Mesh,
    body: Body,
    pattern: Mesh,
    /// Its loose cores, as large as in the mould.
    cores: Vec<Mesh>,
    core_volume: f64,
    count: usize,
    design: Design,
    face: PartingFace,
    rig: Rig,
    pub(super) notes: Vec<String>,
}

impl Made {
    pub(super) fn neighbour(&self) -> Neighbour<'_> {
        Neighbour {
            name: &self.name,
            body: &self.body,
            master: Pattern {
                mesh: &self.pattern,
                cores: &self.cores,
                core_volume: self.core_volume,
            },
            count: self.count,
            face: Some(&self.face),
            rig: Some((&self.design, &self.rig)),
        }
    }

    /// The file of its loose cores, if it has any.
    pub(super) fn cores_file(&self) -> Option<String> {
        (!self.cores.is_empty()).then(|| cores_file(&self.slug))
    }

    /// Its own design, in this mould.
    pub(super) fn design(&self) -> &Design {
        &self.design
    }
}

/// What other baits say to a parting plane.
pub(super) struct Say {
    /// Whether none of them insists on a plane.
    pub(super) free: bool,
    /// Whether one of them cannot be made for it.
    pub(super) unmade: bool,
}

/// Deepens what would hold the mould's own bait along either plane by what holds the others, so
/// that the plane is proposed for all of them, and puts the plane that one of them insists on
/// in its place. What they say to the plane of this design.
pub(super) fn propose(
    others: &mut [Other],
    own: &Design,
    most: f64,
    proposal: &mut Proposal,
) -> Say {
    let mut say = Say {
        free: true,
        unmade: false,
    };
    for other in others.iter_mut() {
        let design = other.in_mould(own, most);
        if !other.design.mould.parting_free {
            say.free = false;
            say.unmade |= other.design.mould.parting != own.mould.parting;
        }
        // Why one cannot be made is told where it is made for the mould.
        let Ok(made) = Master::build(&design, &other.body) else {
            say.unmade = true;
            continue;
        };
        let waist = PartingFace::waist(&design, &other.body, &made.mesh);
        let theirs = Proposal::of(&made.mesh, &waist, other.design.tolerance);
        proposal.deepen(theirs);
        other.made = Some((design.mould.parting, made));
    }
    let insists = others.iter().find(|o| !o.design.mould.parting_free);
    if let (Some(other), true) = (insists, own.mould.parting_free) {
        proposal.parting = other.design.mould.parting;
    }
    say
}

/// Checks the others of a spec, all problems at once.
pub(super) fn read(spec: &Spec, others: &[OtherBait]) -> Result<Vec<Other>, Problems> {
    let listed = &spec.mould.beside;
    if listed.len() != others.len() {
        return Err(
            Problem::new("mould.beside", "every other bait has to be handed over")
                .value(others.len())
                .limit(listed.len())
                .into(),
        );
    }
    let mut problems = Vec::new();
    let mut read: Vec<Other> = Vec::new();
    let mut all = spec.mould.cavities.unwrap_or(1) as usize;
    for (i, (entry, other)) in listed.iter().zip(others).enumerate() {
        let count = entry.count.unwrap_or(1) as usize;
        if count == 0 || count > MOST_BAITS {
            problems.push(
                Problem::new(
                    format!("mould.beside[{i}].count"),
                    "this many baits are not cast at once",
                )
                .value(count)
                .limit(format!("1 to {MOST_BAITS}")),
            );
        }
        all = all.saturating_add(count);
        match design(spec, other) {
            Ok((design, body)) => {
                let name = design.name.clone();
                let taken: Vec<&str> = read.iter().map(|o| o.slug.as_str()).collect();
                let slug = slug(&name, &taken);
                let said: Vec<String> = other.master.iter().flat_map(|m| m.notes.clone()).collect();
                read.push(Other {
                    name,
                    slug,
                    design,
                    body,
                    count,
                    said,
                    spec: other.spec.clone(),
                    made: None,
                });
            }
            Err(found) => problems.extend(named(found, i, other.spec.name.as_deref(), &entry.spec)),
        }
    }
    if all > MOST_BAITS && problems.is_empty() {
        problems.push(
            Problem::new("mould.beside", "there are too many baits for one mould")
                .value(all)
                .limit(format!("at most {MOST_BAITS} in all"))
                .hint("fewer of each"),
        );
    }
    // With several of the spec's own bait the mould itself says so; one alone has no neighbour by the
    // rules, which would send the maker to add cavities.
    if let Some(pitch) = spec.mould.pitch
        && !listed.is_empty()
    {
        problems.push(
            Problem::new("mould.pitch", "different baits are not evenly apart")
                .value(pitch)
                .hint("leave it out: they lie as close as their outlines allow"),
        );
    }
    if !spec.sizes.is_empty() {
        problems.push(
            Problem::new(
                "sizes",
                "baits beside have one size, as their specs draw them",
            )
            .hint("leave the sizes out, and set the scale of each"),
        );
    }
    if problems.is_empty() {
        Ok(read)
    } else {
        Err(Problems(problems))
    }
}

/// Problems of another spec, by its name and field, at the entry that lists it.
fn named<'a>(
    found: Problems,
    i: usize,
    name: Option<&'a str>,
    file: &'a str,
) -> impl Iterator<Item = Problem> + 'a {
    found.0.into_iter().map(move |mut problem| {
        let field = match problem.path.as_str() {
            "" => String::new(),
            path => format!("{path}: "),
        };
        problem.what = format!("{}, {field}{}", name.unwrap_or(file), problem.what);
        problem.path = format!("mould.beside[{i}].spec");
        problem.place = None;
        problem
    })
}

/// The design of another bait: its form, for the mould of this spec.
fn design(spec: &Spec, other: &OtherBait) -> Result<(Design, Body), Problems> {
    let form = Spec {
        // What has no length in it, which would be read in the other's units.
        mould: MouldSpec {
            route: spec.mould.route,
            parting: spec.mould.parting,
            sprue: SprueSpec {
                end: spec.mould.sprue.end,
                ..SprueSpec::default()
            },
            seats: other.spec.mould.seats.clone(),
            ..MouldSpec::default()
        },
        sizes: Vec::new(),
        water: Default::default(),
        lathe: Default::default(),
        material: Default::default(),
        cast: Default::default(),
        ..other.spec.clone()
    };
    match &other.master {
        Some(master) => {
            let design = Design::around(&form, &master.envelope())?;
            let body = Body::imported(&design, master.mesh.clone());
            Ok((design, body))
        }
        None => {
            let design = Design::from_spec(&form)?;
            let body = Body::from_design(&design);
            Ok((design, body))
        }
    }
}

/// Loose cores of another bait.
fn cores_file(slug: &str) -> String {
    format!("cores-{slug}.stl")
}

/// Small letters, digits and dashes; not among those that are taken.
fn slug(name: &str, taken: &[&str]) -> String {
    let letters = name.chars().map(|c| {
        if c.is_ascii_alphanumeric() {
            c.to_ascii_lowercase()
        } else {
            ' '
        }
    });
    let plain: String = letters.collect();
    let words: Vec<&str> = plain.split_whitespace().collect();
    let slug = match words.join("-") {
        none if none.is_empty() => "bait".to_owned(),
        some => some,
    };
    let numbered = (2..).map(|n| format!("{slug}-{n}"));
    std::iter::once(slug.clone())
        .chain(numbered)
        .find(|slug| !taken.contains(&slug.as_str()))
        .unwrap_or(slug)
}

/// Makes the others for the mould of a design, enlarged by `scale`; they are made finer by `most`.
pub(super) fn make(
    others: Vec<Other>,
    design: &Design,
    scale: f64,
    most: f64,
) -> Result<Vec<Made>, KitError> {
    let mut problems = Vec::new();
    let mut all = Vec::new();
    for (i, other) in others.into_iter().enumerate() {
        let finer = other.in_mould(design, most);
        let name = other.name;
        let refused = |what: &str, hint: &str| {
            let path = format!("mould.beside[{i}].spec");
            Problem::new(path, format!("{name} {what}")).hint(hint)
        };
        if !other.design.mould.parting_free && other.design.mould.parting != design.mould.parting {
            problems.push(refused(
                "cannot be parted along the plane of this mould",
                "write mould.parting for the plane that all can be parted along",
            ));
            continue;
        }
        let made = match other.made {
            Some((parting, made)) if parting == design.mould.parting => Ok(made),
            _ => Master::build(&finer, &other.body),
        };
        let made = match made {
            Ok(made) => made,
            Err(MasterError::Spec(found)) => {
                problems.extend(named(found, i, Some(&name), ""));
                continue;
            }
            Err(MasterError::TooFine(fine)) => {
                let KitError::Spec(found) = KitError::from(fine) else {
                    continue;
                };
                problems.extend(named(found, i, Some(&name), ""));
                continue;
            }
            Err(other) => return Err(MouldError::from(other).into()),
        };
        let bed = Bed::of(&other.body, &made).map_err(MasterError::from)?;
        let rig = match Rig::build(&finer, &bed) {
            Ok(rig) => rig,
            Err(found) => {
                problems.extend(named(found, i, Some(&name), ""));
                continue;
            }
        };
        let allow = &design.allowances;
        if let Err(found) = super::thin::thinner_than_coats(&finer, &made.thinnest) {
            problems.extend(named(found, i, Some(&name), ""));
            continue;
        }
        let Some(bared) = allow.bared(&made.mesh, design.tolerance) else {
            problems.push(refused(
                "has detail that the master's coats would fill",
                "fewer or thinner coats, or rounder detail",
            ));
            continue;
        };
        let off = super::thin::coats_off(&finer, &made, &bared.off);
        let notes = other.said.iter().chain(&made.notes).chain(&off);
        let own_file = cores_file(&other.slug);
        let notes = notes
            .map(|note| format!("{name}: {}", note.replace("cores.stl", &own_file)))
            .collect();
        let body = other.body.scaled(scale);
        let pattern = made.mesh.clone().scaled(scale);
        all.push(Made {
            slug: other.slug,
            face: PartingFace::of(&finer, &body, &pattern),
            body,
            pattern,
            cores: made.cores.iter().map(|c| c.clone().scaled(scale)).collect(),
            core_volume: made.core_volume * scale * scale * scale,
            made,
            master: bared.mesh,
            count: other.count,
            design: finer,
            rig,
            notes,
            name,
        });
    }
    if problems.is_empty() {
        Ok(all)
    } else {
        Err(Problems(problems).into())
    }
}
