//! A master from a file.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, de};

/// A mesh file that is the master: the text `"scan.stl"`, or a table that says more.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FromSpec {
    /// The file, STL or 3MF; a relative name is looked for beside the spec. The library
    /// reads no files: see [`Imported`](crate::import::Imported).
    pub file: String,
    /// Where the nose points in the file; `-x` if left out.
    pub nose: FileAxis,
    /// Where the back points in the file; `+z` if left out.
    pub up: FileAxis,
    /// Where the axis runs, in which the planes y = 0 and z = 0 meet.
    pub origin: Origin,
}

/// A direction in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum FileAxis {
    /// Towards larger x.
    #[serde(rename = "+x")]
    PlusX,
    /// Towards smaller x.
    #[serde(rename = "-x")]
    MinusX,
    /// Towards larger y.
    #[serde(rename = "+y")]
    PlusY,
    /// Towards smaller y.
    #[serde(rename = "-y")]
    MinusY,
    /// Towards larger z.
    #[serde(rename = "+z")]
    PlusZ,
    /// Towards smaller z.
    #[serde(rename = "-z")]
    MinusZ,
}

/// Where the axis of a master from a file runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Origin {
    /// In the middle of its bounding box.
    #[default]
    Middle,
    /// Midway between its flanks, at the height of its foremost point: where the axis of a
    /// bait with unlike back and belly runs, and so that of a `master.stl` of ours.
    Nose,
    /// Where the file has it.
    File,
}

impl FromSpec {
    /// A file with its nose to −x and its back to +z.
    #[must_use]
    pub fn new(file: impl Into<String>) -> Self {
        FromSpec {
            file: file.into(),
            nose: FileAxis::MinusX,
            up: FileAxis::PlusZ,
            origin: Origin::Middle,
        }
    }
}

impl<'de> Deserialize<'de> for FromSpec {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Table {
            file: String,
            #[serde(default)]
            nose: Option<FileAxis>,
            #[serde(default)]
            up: Option<FileAxis>,
            #[serde(default)]
            origin: Origin,
        }
        struct Visitor;
        impl<'de> de::Visitor<'de> for Visitor {
            type Value = FromSpec;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a file such as \"scan.stl\", or a table such as { file = \"scan.stl\", nose = \"-x\" }")
            }
            fn visit_str<E: de::Error>(self, file: &str) -> Result<FromSpec, E> {
                Ok(FromSpec::new(file))
            }
            fn visit_map<A: de::MapAccess<'de>>(self, table: A) -> Result<FromSpec, A::Error> {
                let table = Table::deserialize(de::value::MapAccessDeserializer::new(table))?;
                let plain = FromSpec::new(table.file);
                Ok(FromSpec {
                    nose: table.nose.unwrap_or(plain.nose),
                    up: table.up.unwrap_or(plain.up),
                    origin: table.origin,
                    file: plain.file,
                })
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}
