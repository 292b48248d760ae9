//! Reads the specs of other baits for the same mould, which are looked for beside the spec.

use std::fs;
use std::io::Read;
use std::path::Path;

use baitwright::import::Imported;
use baitwright::kit::OtherBait;
use baitwright::spec::{self, Problem, Problems, Spec};

/// The other baits of a spec, in its order.
pub(super) fn read(spec: &Spec, spec_file: &Path) -> Result<Vec<OtherBait>, Problems> {
    let mut problems = Vec::new();
    let mut others = Vec::new();
    for (i, entry) in spec.mould.beside.iter().enumerate() {
        let file = spec_file.with_file_name(&entry.spec);
        let path = format!("mould.beside[{i}].spec");
        match one(&file, spec_file) {
            Ok(other) => others.push(other),
            Err(whats) => {
                let found = whats
                    .into_iter()
                    .map(|what| Problem::new(path.clone(), what));
                problems.extend(found);
            }
        }
    }
    if problems.is_empty() {
        Ok(others)
    } else {
        Err(Problems(problems))
    }
}

fn one(file: &Path, spec_file: &Path) -> Result<OtherBait, Vec<String>> {
    let shown = file.display();
    let real = |path: &Path| fs::canonicalize(path).ok();
    if real(file).is_some() && real(file) == real(spec_file) {
        return Err(vec![format!(
            "{shown} is this spec itself: mould.cavities says how many of its own bait"
        )]);
    }
    let mut text = String::new();
    fs::File::open(file)
        .and_then(|f| f.take(spec::MAX_BYTES as u64 + 1).read_to_string(&mut text))
        .map_err(|e| vec![format!("cannot read {shown}: {e}")])?;
    // By their own places, since this spec's text does not hold them.
    let said = |problems: Problems| -> Vec<String> {
        let said = problems
            .0
            .iter()
            .map(|problem| format!("{shown}, {problem}"));
        said.collect()
    };
    let source = spec::read(&text, super::format_of(file)).map_err(said)?;
    let master = match &source.spec.body.from {
        None => None,
        Some(from) => {
            let mesh = file.with_file_name(&from.file);
            let bytes = fs::read(&mesh)
                .map_err(|e| vec![format!("{shown}: cannot read {}: {e}", mesh.display())])?;
            let read = Imported::read(&source.spec, &bytes);
            Some(read.map_err(|p| said(source.placed(p)))?)
        }
    };
    Ok(OtherBait {
        spec: source.spec,
        master,
    })
}
