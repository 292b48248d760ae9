//! Reads arguments and files, calls the library, prints what came of it.

mod account;
mod beside;
mod report;

use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use baitwright::import::Imported;
use baitwright::kit::{Kit, KitError, OtherBait};
use baitwright::materials::MaterialFile;
use baitwright::quantity::Length;
use baitwright::spec::{self, Design, Format, FromSpec, MouldSpec, Problem, Problems, Spec};
use clap::{Parser, Subcommand};

/// From a short bait spec to a printable kit: a meshed master, a two-part mould,
/// a lathe gauge on paper at 1:1, and the figures that go with them.
#[derive(Parser)]
#[command(version, about)]
struct Arguments {
    #[command(subcommand)]
    task: Task,
}

#[derive(Subcommand)]
enum Task {
    /// Make the kit of a spec: a folder of files to print, cut and turn by
    Make {
        /// The spec, TOML (or JSON if its name ends in .json)
        spec: PathBuf,
        /// The folder to write; by default named after the spec, in the folder you are in
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
    },
    /// Say what is wrong with a spec, or what it will become; writes nothing
    Check {
        /// The spec, TOML (or JSON if its name ends in .json)
        spec: PathBuf,
    },
    /// Write a commented spec to start from (as JSON, without comments, if its name ends in .json)
    New {
        /// The file to write; one that is there already stays as it is
        #[arg(default_value = "bait.toml")]
        file: PathBuf,
    },
    /// Print the JSON Schema of specs, for editors
    Schema,
}

/// What stops the command, ready to print.
struct Stop(String);

impl<T: std::fmt::Display> From<T> for Stop {
    fn from(error: T) -> Self {
        Stop(format!("{error}\n"))
    }
}

pub(crate) fn run() -> ExitCode {
    let done = match Arguments::parse().task {
        Task::Make { spec, out } => make(&spec, out),
        Task::Check { spec } => load(&spec).map(|kits| {
            let accounts = kits.iter().map(|(_, kit)| account::of(kit, None));
            accounts.collect::<String>()
        }),
        Task::New { file } => new(&file),
        Task::Schema => Ok(format!("{:#}\n", spec::schema())),
    };
    match done {
        Ok(text) => {
            // A reader that goes away (a pager, `head`) is no failure of ours.
            let _ = anstream::stdout().write_all(text.as_bytes());
            ExitCode::SUCCESS
        }
        Err(Stop(text)) => {
            let _ = anstream::stderr().write_all(text.as_bytes());
            ExitCode::FAILURE
        }
    }
}

fn make(path: &Path, out: Option<PathBuf>) -> Result<String, Stop> {
    let target = match (out, path.file_stem()) {
        (Some(out), _) => out,
        (None, Some(stem)) => PathBuf::from(stem),
        (None, None) => return Err("name a spec file, or a folder with --out".into()),
    };
    let kits = load(path)?;
    let mut text = String::new();
    for (size, kit) in &kits {
        let target = match size {
            Some(mm) => {
                let mut name = target.clone().into_os_string();
                name.push(format!("-{}mm", (mm * 100.0).round() / 100.0));
                PathBuf::from(name)
            }
            None => target.clone(),
        };
        kit.write(&target)?;
        text.push_str(&account::of(kit, Some(&target)));
    }
    Ok(text)
}

/// Reads a spec and makes its kit in memory, or those of all its sizes, each with the
/// body's length in mm: either all of them are made or none.
fn load(path: &Path) -> Result<Vec<(Option<f64>, Kit)>, Stop> {
    let shown = path.display();
    if path.is_dir() {
        return Err(
            format!("cannot read {shown}: it is a folder; name the spec file in it").into(),
        );
    }
    let mut bytes = Vec::new();
    // One byte past the limit is enough for the reader to refuse it.
    fs::File::open(path)
        .and_then(|file| {
            file.take(spec::MAX_BYTES as u64 + 1)
                .read_to_end(&mut bytes)
        })
        .map_err(|e| format!("cannot read {shown}: {e}"))?;
    let text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        format!("{shown} is not text in UTF-8: byte {at} cannot be read; save it as plain text")
    })?;
    let format = format_of(path);
    let report = |problems: Problems| Stop(report::of(&problems, &text, &shown.to_string()));
    // What cannot be read and what breaks a rule are reported together.
    let source = match spec::read(&text, format) {
        Ok(source) => source,
        Err(unread) => return Err(report(spec::design(&text, format).err().unwrap_or(unread))),
    };
    let stop = |error: KitError| match error {
        KitError::Spec(problems) => report(source.placed(problems)),
        other => other.into(),
    };
    let read = read_files(&source.spec, path).map_err(|p| report(source.placed(p)))?;
    let (spec, others, file) = (&read.spec, read.others, read.master);
    let imported = |spec: &Spec| match &file {
        Some(bytes) => Imported::read(spec, bytes).map(Some),
        None => Ok(None),
    };
    let build = |spec: &Spec| match imported(spec)? {
        own if !others.is_empty() => Kit::build_beside(spec, own.as_ref(), &others),
        Some(master) => Kit::build_with_master(spec, &master),
        None => Kit::build(spec),
    };
    // Other baits have one size, which the kit then says.
    if spec.sizes.is_empty() || !others.is_empty() {
        let blamed = |error| match Kit::scale_to_blame(spec) {
            Some(problem) if others.is_empty() => stop(Problems::from(problem).into()),
            _ => stop(error),
        };
        return Ok(vec![(None, build(spec).map_err(blamed)?)]);
    }
    // The drawn size is checked with its sizes before any of them is made.
    let own = imported(spec).map_err(|problems| stop(problems.into()))?;
    let drawn = Kit::design(spec, own.as_ref()).map_err(|problems| stop(problems.into()))?;
    let length = Length::mm(drawn.body.length / spec.scale);
    let sized = |&size: &Length| {
        let named = |error: KitError| match error {
            KitError::Spec(mut problems) => {
                for problem in &mut problems.0 {
                    problem.what = format!("at the size of {size}: {}", problem.what);
                }
                KitError::Spec(problems)
            }
            other => other,
        };
        let kit = build(&spec.sized(size, length)).map_err(|e| stop(named(e)))?;
        Ok((Some(size.to_mm(spec.units)), kit))
    };
    spec.sizes.iter().map(sized).collect()
}

/// What a spec and the files that it names say.
struct Given {
    /// The spec, with the materials of its file.
    spec: Spec,
    others: Vec<OtherBait>,
    /// The bytes of its master.
    master: Option<Vec<u8>>,
}

/// Reads the files that a spec names. What is wrong with any of them is told together with what is
/// wrong with the spec, as far as that can be judged without them.
fn read_files(spec: &Spec, path: &Path) -> Result<Given, Problems> {
    let mut problems = Vec::new();
    let mut sound = |found: Problems| problems.extend(found.0);
    let mut spec = spec.clone();
    let listed = spec.cast.materials.take();
    let own = listed.map(|file| read_materials(&file, path)).transpose();
    let own = own.map_err(&mut sound);
    if let Ok(Some(own)) = &own {
        // What stands in the spec itself comes last, and so before what the file says.
        spec.cast.material.splice(0..0, own.material.clone());
    }
    let others = beside::read(&spec, path).map_err(&mut sound);
    let from = spec.body.from.as_ref();
    let master = from.map(|from| read_master(from, path)).transpose();
    let master = master.map_err(&mut sound);
    if let (Ok(_), Ok(others), Ok(master)) = (&own, others, master) {
        return Ok(Given {
            spec,
            others,
            master,
        });
    }
    if spec.body.from.is_none() {
        let alone = Spec {
            mould: MouldSpec {
                beside: Vec::new(),
                ..spec.mould
            },
            ..spec
        };
        let rest = Design::from_spec(&alone).err();
        // Materials that were not read cannot be missed.
        let known = |p: &Problem| own.is_ok() || !p.path.starts_with("cast");
        problems.extend(rest.into_iter().flat_map(|p| p.0).filter(known));
    }
    Err(Problems(problems))
}

/// Reads the mesh file of a spec, which is looked for beside the spec.
fn read_master(from: &FromSpec, spec_file: &Path) -> Result<Vec<u8>, Problems> {
    let file = spec_file.with_file_name(&from.file);
    fs::read(&file).map_err(|e| {
        let what = format!("cannot read {}: {e}", file.display());
        Problem::new("body.from", what).into()
    })
}

/// Reads the file of materials of a spec, which is looked for beside the spec.
fn read_materials(file: &str, spec_file: &Path) -> Result<MaterialFile, Problems> {
    let file = spec_file.with_file_name(file);
    let shown = file.display();
    let problem = |what: String| Problem::new("cast.materials", what);
    let refused = |what: String| Problems::from(problem(what));
    let mut text = String::new();
    fs::File::open(&file)
        .and_then(|f| f.take(spec::MAX_BYTES as u64).read_to_string(&mut text))
        .map_err(|e| refused(format!("cannot read {shown}: {e}")))?;
    let read = MaterialFile::read(&text)
        .map_err(|e| refused(format!("{shown} is no file of materials: {}", e.trim_end())))?;
    // By its own name, key and line, since the spec's text does not hold it.
    let mut problems = Vec::new();
    for (i, entry) in read.material.iter().enumerate() {
        for wrong in entry.read().err().into_iter().flatten() {
            let line =
                line_of(&text, i, wrong.key).map_or(String::new(), |n| format!(" line {n},"));
            let what = format!(
                "{shown},{line} \"{}\", {}: {}",
                entry.name, wrong.key, wrong.error
            );
            let found = problem(what).value(format_args!("\"{}\"", wrong.written));
            let found = match wrong.error.accepted() {
                Some(limits) => found.limit(limits),
                None => found,
            };
            problems.push(found.hint(format_args!("such as \"{}\"", wrong.example)));
        }
    }
    if !problems.is_empty() {
        return Err(Problems(problems));
    }
    Ok(read)
}

/// The format that a file's name stands for.
fn format_of(path: &Path) -> Format {
    match path.extension() {
        Some(e) if e.eq_ignore_ascii_case("json") => Format::Json,
        _ => Format::Toml,
    }
}

fn new(file: &Path) -> Result<String, Stop> {
    let shown = file.display();
    let text = match format_of(file) {
        Format::Toml => spec::starter().to_owned(),
        Format::Json => {
            let spec = spec::read(spec::starter(), Format::Toml)?.spec;
            serde_json::to_string_pretty(&spec)? + "\n"
        }
    };
    let mut target = fs::File::create_new(file).map_err(|e| match e.kind() {
        std::io::ErrorKind::AlreadyExists => {
            format!("{shown} is there already and stays as it is; name another file")
        }
        _ => format!("cannot write {shown}: {e}"),
    })?;
    target
        .write_all(text.as_bytes())
        .map_err(|e| format!("cannot write {shown}: {e}"))?;
    Ok(format!(
        "Wrote {shown}. Change its numbers, then:\n  baitwright make {shown}\n"
    ))
}

/// The line, from 1, on which the i-th material of a file has this key; `None` where it is written in
/// a way that lines do not tell.
fn line_of(text: &str, i: usize, key: &str) -> Option<usize> {
    let mut lines = (1..).zip(text.lines().map(str::trim));
    lines
        .by_ref()
        .filter(|(_, line)| line.starts_with("[[material]]"))
        .nth(i)?;
    lines
        .take_while(|(_, line)| !line.starts_with("[["))
        .find(|(_, line)| {
            let rest = line.strip_prefix(key).map(str::trim_start);
            rest.is_some_and(|rest| rest.starts_with(['=', '.']))
        })
        .map(|(n, _)| n)
}
