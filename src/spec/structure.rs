//! Which key belongs under which heading, as the schema has it.

use serde_json::{Map, Value};

type Fields = Map<String, Value>;

/// The headings that `key` goes under: tables of the spec itself, and of the table `owner`
/// (`mould.keys` for `mould`). Lists of tables, such as stations, are not among them.
pub(super) fn homes(schema: &Value, key: &str, owner: &str) -> Vec<String> {
    let root = &schema["properties"];
    let mut homes = Vec::new();
    for (table, fields) in tables(schema, root.as_object()) {
        if fields.contains_key(key) {
            homes.push(table.to_owned());
        }
        if table == owner {
            homes.extend(
                tables(schema, Some(fields))
                    .filter(|(_, fields)| fields.contains_key(key))
                    .map(|(inner, _)| format!("{table}.{inner}")),
            );
        }
    }
    homes
}

/// The key of any table of the spec that is nearest to a word: its distance, at most `within`,
/// its table and itself.
pub(super) fn nearest_key(
    schema: &Value,
    word: &str,
    within: usize,
) -> Option<(usize, String, String)> {
    let keys = tables(schema, schema["properties"].as_object())
        .flat_map(|(table, fields)| fields.keys().map(move |key| (table, key)));
    keys.map(|(table, key)| (strsim::damerau_levenshtein(word, key), table, key))
        .filter(|(distance, ..)| *distance <= within)
        .min_by_key(|(distance, ..)| *distance)
        .map(|(distance, table, key)| (distance, table.to_owned(), key.clone()))
}

/// Those of the fields that are tables, with their own fields.
fn tables<'s>(
    schema: &'s Value,
    fields: Option<&'s Fields>,
) -> impl Iterator<Item = (&'s str, &'s Fields)> {
    fields.into_iter().flatten().filter_map(|(name, field)| {
        // An optional field is written as a choice of its type or null.
        let choices = field["anyOf"].as_array().into_iter().flatten();
        let reference = std::iter::once(field)
            .chain(choices)
            .find_map(|choice| choice["$ref"].as_str())?;
        let definition = schema.pointer(reference.strip_prefix('#')?)?;
        Some((name.as_str(), definition["properties"].as_object()?))
    })
}

#[cfg(test)]
mod tests {
    use super::homes;

    #[test]
    fn every_key_has_its_heading() {
        let schema = crate::spec::schema();
        for (key, owner, expected) in [
            ("length", "", vec!["body"]),
            ("parting", "collar", vec!["mould"]),
            ("steps", "body", vec!["collar"]),
            ("tolerance", "mould", vec!["mesh"]),
            ("gate", "mould", vec!["mould.sprue"]),
            ("count", "mould", vec!["mould.keys", "mould.vents"]),
            ("gate", "", vec![]),
            ("colour", "body", vec![]),
        ] {
            assert_eq!(homes(&schema, key, owner), expected, "{key}");
        }
    }
}
