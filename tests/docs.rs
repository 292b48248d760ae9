//! What the documents say is there, is there.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::path::Path;

use baitwright::body::{Body, Master};
use baitwright::kit::Kit;
use baitwright::mould::Mould;
use baitwright::spec::{self, Format};

/// Words in back quotes or link targets that name a file or folder of this repository.
fn named_paths(text: &str) -> Vec<String> {
    let quoted = text.split('`').skip(1).step_by(2);
    let linked = text
        .split("](")
        .skip(1)
        .filter_map(|rest| rest.split(')').next());
    quoted
        .chain(linked)
        .filter(|word| {
            let roots = [
                "src/",
                "tests/",
                "examples/",
                "docs/",
                "benches/",
                "fuzz/",
                ".ci/",
            ];
            let pages = ["README.md", "DEVELOPERS.md", "CHANGELOG.md"];
            roots.iter().any(|root| word.starts_with(root)) || pages.contains(word)
        })
        .filter(|word| !word.contains([' ', '*', '<']))
        .map(str::to_owned)
        .collect()
}

#[test]
fn every_path_named_in_the_documents_exists() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = 0;
    for page in ["README.md", "DEVELOPERS.md", "CHANGELOG.md", "docs/spec.md"] {
        let text = std::fs::read_to_string(root.join(page)).unwrap();
        for path in named_paths(&text) {
            found += 1;
            assert!(root.join(&path).exists(), "{page} names {path}");
        }
    }
    assert!(
        found > 10,
        "only {found} paths seen: does the search still work?"
    );
}

/// The blocks of TOML on a page.
fn toml_blocks(page: &str) -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(root.join(page)).unwrap();
    let blocks = text.split("```toml\n").skip(1);
    blocks
        .filter_map(|rest| rest.split("```").next())
        .map(str::to_owned)
        .collect()
}

#[test]
fn examples_of_every_key_are_sound() {
    let blocks = toml_blocks("docs/spec.md");
    assert!(blocks.len() > 6);
    let readme = toml_blocks("README.md");
    let body = readme.iter().find(|b| b.contains("[body]")).unwrap();
    for block in &blocks {
        let whole = if block.contains("[body]") {
            block.clone()
        } else {
            format!("{body}\n{block}")
        };
        let design = spec::design(&whole, Format::Toml).unwrap_or_else(|e| panic!("{e}\n{block}"));
        let trunk = Body::from_design(&design);
        Master::build(&design, &trunk).unwrap_or_else(|e| panic!("{e}\n{block}"));
        Mould::build(&design, &trunk).unwrap_or_else(|e| panic!("{e}\n{block}"));
    }
}

#[test]
fn every_key_of_the_schema_is_explained() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(root.join("docs/spec.md")).unwrap();
    let prose: Vec<&str> = text.split("```").step_by(2).collect();
    let words: BTreeSet<&str> = prose
        .iter()
        .flat_map(|part| part.split('`').skip(1).step_by(2))
        .flat_map(|code| code.split(|c: char| !c.is_alphanumeric() && c != '_'))
        .collect();
    let mut keys = BTreeSet::new();
    collect_keys(&spec::schema(), &mut keys);
    assert!(keys.len() > 60, "only {} keys seen", keys.len());
    let missing: Vec<_> = keys
        .iter()
        .filter(|k| !words.contains(k.as_str()))
        .collect();
    assert!(missing.is_empty(), "docs/spec.md does not name {missing:?}");
}

/// The names of all properties in a schema.
fn collect_keys(schema: &serde_json::Value, keys: &mut BTreeSet<String>) {
    match schema {
        serde_json::Value::Object(fields) => {
            if let Some(serde_json::Value::Object(properties)) = fields.get("properties") {
                keys.extend(properties.keys().cloned());
            }
            fields.values().for_each(|field| collect_keys(field, keys));
        }
        serde_json::Value::Array(items) => items.iter().for_each(|item| collect_keys(item, keys)),
        _ => {}
    }
}

#[test]
fn specs_in_the_readme_are_sound() {
    let mut specs = toml_blocks("README.md");
    specs.retain(|block| block.contains("[body]"));
    assert!(!specs.is_empty());
    for text in specs {
        let spec = spec::read(&text, Format::Toml).unwrap().spec;
        Kit::build(&spec).unwrap();
    }
}
