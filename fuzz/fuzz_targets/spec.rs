//! Any bytes, read as a spec in either format: an answer comes, never a panic.
#![no_main]

use baitwright::spec::{self, Format};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    for format in [Format::Toml, Format::Json] {
        if let Err(problems) = spec::design(text, format) {
            assert!(!problems.0.is_empty());
            for problem in &problems.0 {
                let place = problem
                    .place
                    .as_ref()
                    .expect("a problem of a text has a place");
                assert!(text.get(place.span.clone()).is_some());
            }
        }
    }
});
