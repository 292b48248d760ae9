//! What the documents say is there, is there.
#![allow(clippy::unwrap_used)]

use std::path::Path;

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

#[test]
fn specs_in_the_readme_are_sound() {
    use baitwright::kit::Kit;
    use baitwright::spec::{self, Format};
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(root.join("README.md")).unwrap();
    let blocks = text.split("```toml\n").skip(1);
    let specs: Vec<&str> = blocks
        .filter_map(|rest| rest.split("```").next())
        .filter(|block| block.contains("[body]"))
        .collect();
    assert!(!specs.is_empty());
    for text in specs {
        let spec = spec::read(text, Format::Toml).unwrap().spec;
        Kit::build(&spec).unwrap();
    }
}
