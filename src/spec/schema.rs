//! What an editor and a newcomer start from: the JSON Schema and the starter spec.

use super::Spec;

/// The JSON Schema (2020-12) of a spec, for editors that complete and check while typing.
///
/// It knows names and types; the rules of [`Design::from_spec`](super::Design::from_spec)
/// go further.
#[must_use]
pub fn schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(Spec);
    schema.insert("$id".into(), "urn:baitwright:spec".into());
    schema.insert("title".into(), "Baitwright spec".into());
    schema.to_value()
}

/// A commented spec in TOML to start from; it reads without problems.
#[must_use]
pub fn starter() -> &'static str {
    include_str!("starter.toml")
}
