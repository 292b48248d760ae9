//! A text as a tree of values that know where they stand, and serde's way into it.
//!
//! Both formats are read into this tree, so that one set of structs, one set of messages
//! and one way of finding a place serve them both. Every error of the deserializer carries
//! its path as child numbers, which lets the reader repair the tree there and go on.

use std::fmt;
use std::ops::Range;

use serde::de::{
    self, DeserializeSeed, Deserializer, Expected, Unexpected, Visitor, value::StrDeserializer,
};

/// A value and the bytes of the text it stands at.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) span: Range<usize>,
    pub(super) value: Value,
}

/// What a text can hold.
#[derive(Clone, Debug)]
pub(super) enum Value {
    Null,
    Bool(bool),
    Number(f64),
    Text(String),
    Date,
    List(Vec<Node>),
    Table(Vec<Entry>),
    /// Stands in for a value that has been reported: it reads as anything.
    Broken,
}

/// A key and its value.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub(super) key: String,
    pub(super) span: Range<usize>,
    pub(super) node: Node,
}

impl Node {
    /// The child with this number.
    pub(super) fn child(&self, index: usize) -> Option<&Node> {
        match &self.value {
            Value::List(items) => items.get(index),
            Value::Table(entries) => entries.get(index).map(|entry| &entry.node),
            _ => None,
        }
    }

    /// The child with this number.
    pub(super) fn child_mut(&mut self, index: usize) -> Option<&mut Node> {
        match &mut self.value {
            Value::List(items) => items.get_mut(index),
            Value::Table(entries) => entries.get_mut(index).map(|entry| &mut entry.node),
            _ => None,
        }
    }

    /// The bytes that a field path such as `body.outline[1].height` stands at, or those of
    /// the nearest thing around it that the text does hold; and the path in the text's own
    /// words, which may name a field by its other name.
    pub(super) fn locate(&self, path: &str) -> (Range<usize>, String) {
        let (mut node, mut own) = (self, path.to_owned());
        let mut done = 0;
        for step in path.split(['.', '[']).filter(|step| !step.is_empty()) {
            let start = done + path[done..].find(step).unwrap_or(0);
            done = start + step.len();
            let next = match &node.value {
                Value::List(items) => step
                    .trim_end_matches(']')
                    .parse::<usize>()
                    .ok()
                    .and_then(|i| items.get(i)),
                Value::Table(entries) => {
                    let find = |key: &str| entries.iter().find(|entry| entry.key == key);
                    let found = find(step).or_else(|| {
                        // The one field with two names.
                        let other = find("diameter").filter(|_| step == "height")?;
                        own = format!("{}diameter{}", &path[..start], &path[done..]);
                        Some(other)
                    });
                    found.map(|entry| &entry.node)
                }
                _ => None,
            };
            match next {
                Some(next) => node = next,
                None => break,
            }
        }
        (node.span.clone(), own)
    }
}

/// Why a node could not be read.
#[derive(Debug)]
pub(super) struct ReadError {
    /// Child numbers from the failing node up to the root.
    pub(super) path: Vec<usize>,
    pub(super) kind: Fault,
}

/// What is the matter with the node at the path.
#[derive(Debug)]
pub(super) enum Fault {
    /// A key that no field has; the known ones.
    UnknownKey(&'static [&'static str]),
    /// A field that must be there.
    Missing(&'static str),
    /// A key that gives a field for the second time; the field.
    Twice(&'static str),
    /// A word that is not one of these.
    UnknownWord(&'static [&'static str]),
    /// Anything else: what is wrong, and what would be accepted.
    Wrong(String, Option<String>),
}

impl ReadError {
    fn new(kind: Fault) -> Self {
        ReadError {
            path: Vec::new(),
            kind,
        }
    }

    fn wrong(what: impl fmt::Display, accepted: impl fmt::Display) -> Self {
        ReadError::new(Fault::Wrong(what.to_string(), Some(accepted.to_string())))
    }

    fn inside(mut self, child: usize) -> Self {
        self.path.push(child);
        self
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.kind)
    }
}

impl std::error::Error for ReadError {}

impl de::Error for ReadError {
    fn custom<T: fmt::Display>(message: T) -> Self {
        ReadError::new(Fault::Wrong(message.to_string(), None))
    }
    fn invalid_type(found: Unexpected<'_>, accepted: &dyn Expected) -> Self {
        let found = match found {
            Unexpected::Bool(_) => "true or false",
            Unexpected::Unsigned(_) | Unexpected::Signed(_) | Unexpected::Float(_) => "a number",
            Unexpected::Str(_) => "text",
            Unexpected::Unit | Unexpected::Option => "nothing",
            Unexpected::Seq => "a list",
            Unexpected::Map => "a table",
            _ => "this",
        };
        ReadError::wrong(format_args!("{found} does not fit here"), accepted)
    }
    fn invalid_value(found: Unexpected<'_>, accepted: &dyn Expected) -> Self {
        match found {
            Unexpected::Other(what) => ReadError::wrong(what, accepted),
            found => ReadError::wrong(format_args!("{found} does not fit here"), accepted),
        }
    }
    fn unknown_variant(_: &str, expected: &'static [&'static str]) -> Self {
        ReadError::new(Fault::UnknownWord(expected))
    }
    fn unknown_field(_: &str, expected: &'static [&'static str]) -> Self {
        ReadError::new(Fault::UnknownKey(expected))
    }
    fn missing_field(field: &'static str) -> Self {
        ReadError::new(Fault::Missing(field))
    }
    fn duplicate_field(field: &'static str) -> Self {
        ReadError::new(Fault::Twice(field))
    }
}

const BROKEN: &Node = &Node {
    span: 0..0,
    value: Value::Broken,
};

impl<'de> Deserializer<'de> for &'de Node {
    type Error = ReadError;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match &self.value {
            Value::Null => visitor.visit_unit(),
            Value::Bool(value) => visitor.visit_bool(*value),
            Value::Number(value) => visitor.visit_f64(*value),
            Value::Text(text) => visitor.visit_str(text),
            Value::Date => Err(de::Error::invalid_type(
                Unexpected::Other("a date"),
                &visitor,
            )),
            Value::List(items) => visitor.visit_seq(Items { items, next: 0 }),
            Value::Table(entries) => visit_table(entries, visitor),
            Value::Broken => visitor.visit_f64(1.0),
        }
    }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match self.value {
            Value::Bool(value) => visitor.visit_bool(value),
            Value::Broken => visitor.visit_bool(false),
            _ => Err(ReadError::wrong("this is not yes or no", "true or false")),
        }
    }

    fn deserialize_f64<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match self.value {
            Value::Number(value) => visitor.visit_f64(value),
            Value::Broken => visitor.visit_f64(1.0),
            _ => Err(ReadError::wrong(
                "a plain number is needed here",
                "a number such as 2 or 2.5, without quotes",
            )),
        }
    }

    fn deserialize_u32<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match self.value {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            Value::Number(value)
                if value.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&value) =>
            {
                visitor.visit_u32(value as u32)
            }
            Value::Broken => visitor.visit_u32(1),
            _ => Err(ReadError::wrong(
                "a count is needed here",
                "a whole number such as 0 or 4, without quotes",
            )),
        }
    }

    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match &self.value {
            Value::Text(text) => visitor.visit_str(text),
            // A unit of length, the only text that is more than text.
            Value::Broken => visitor.visit_str("mm"),
            _ => Err(ReadError::wrong(
                "text is needed here",
                "text in quotes, such as \"mm\"",
            )),
        }
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.deserialize_str(visitor)
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match self.value {
            Value::Null | Value::Broken => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match &self.value {
            Value::List(items) => visitor.visit_seq(Items { items, next: 0 }),
            Value::Broken => visitor.visit_seq(Items {
                items: &[],
                next: 0,
            }),
            Value::Table(_) => Err(ReadError::wrong(
                "there may be several of these, so a list is needed here",
                "a heading in two brackets, such as [[fin]], or a list such as [ { … }, { … } ]",
            )),
            _ => Err(ReadError::wrong(
                "a list is needed here",
                "a list such as [ { … }, { … } ]",
            )),
        }
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        match &self.value {
            Value::Table(entries) => visit_table(entries, visitor),
            // A derived reader takes a sequence as its fields in order.
            Value::Broken => visitor.visit_seq(EndlessBroken),
            _ => Err(ReadError::wrong(
                "a table is needed here",
                "a table: named values in { } or under a [heading]",
            )),
        }
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        match &self.value {
            Value::Text(text) => visitor.visit_enum(StrDeserializer::new(text)),
            Value::Broken => visitor.visit_enum(StrDeserializer::new(variants[0])),
            _ => Err(ReadError::new(Fault::UnknownWord(variants))),
        }
    }

    serde::forward_to_deserialize_any! {
        i8 i16 i32 i64 i128 u8 u16 u64 u128 f32 char bytes byte_buf unit unit_struct
        newtype_struct tuple tuple_struct map identifier ignored_any
    }
}

fn visit_table<'de, V: Visitor<'de>>(
    entries: &'de [Entry],
    visitor: V,
) -> Result<V::Value, ReadError> {
    let mut fields = Fields { entries, next: 0 };
    visitor.visit_map(&mut fields).map_err(|error| {
        // Raised by the struct, which does not know where its keys stand.
        if matches!(error.kind, Fault::Twice(_)) && error.path.is_empty() {
            error.inside(fields.next.saturating_sub(1))
        } else {
            error
        }
    })
}

struct Items<'de> {
    items: &'de [Node],
    next: usize,
}

impl<'de> de::SeqAccess<'de> for Items<'de> {
    type Error = ReadError;
    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, ReadError> {
        let index = self.next;
        let Some(item) = self.items.get(index) else {
            return Ok(None);
        };
        self.next += 1;
        seed.deserialize(item)
            .map(Some)
            .map_err(|error| error.inside(index))
    }
}

struct EndlessBroken;

impl<'de> de::SeqAccess<'de> for EndlessBroken {
    type Error = ReadError;
    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, ReadError> {
        seed.deserialize(BROKEN).map(Some)
    }
}

struct Fields<'de> {
    entries: &'de [Entry],
    next: usize,
}

impl<'de> de::MapAccess<'de> for Fields<'de> {
    type Error = ReadError;
    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, ReadError> {
        let index = self.next;
        let Some(entry) = self.entries.get(index) else {
            return Ok(None);
        };
        self.next += 1;
        seed.deserialize(StrDeserializer::<ReadError>::new(&entry.key))
            .map(Some)
            .map_err(|error| error.inside(index))
    }
    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, ReadError> {
        let index = self.next - 1;
        seed.deserialize(&self.entries[index].node)
            .map_err(|error| error.inside(index))
    }
}
