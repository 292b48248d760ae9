//! 3MF: several named solids in millimetres, in one compressed package.
//!
//! Sections in the comments are those of the 3MF Core Specification 1.4.

use std::fmt::Write as _;
use std::io::{Cursor, Write as _};

use nalgebra::Vector3;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::{UnfitMesh, single_precision};
use crate::mesh::Mesh;

/// One solid of a package.
#[derive(Clone, Copy, Debug)]
pub struct Object<'a> {
    /// What a slicer shows in its list of parts.
    pub name: &'a str,
    /// Its surface, closed, in millimetres.
    pub mesh: &'a Mesh,
    /// Where the origin of its mesh stands on the build plate, in millimetres.
    /// §3.3 recommends that all of it come to lie where x, y and z are positive.
    pub at: Vector3<f64>,
}

/// Why a package cannot be written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PackageError {
    /// There is nothing to pack.
    #[error("a 3MF package needs at least one object")]
    NoObjects,
    /// One object's mesh is unfit.
    #[error("object `{name}`: {why}")]
    Object {
        /// The name of the object.
        name: String,
        /// What is wrong with its mesh.
        why: UnfitMesh,
    },
    /// One object's place is not finite.
    #[error("object `{name}` is placed at ({}, {}, {}): not finite in single precision", at[0], at[1], at[2])]
    Placement {
        /// The name of the object.
        name: String,
        /// Where it was put, in millimetres.
        at: [f64; 3],
    },
    /// The parts do not fit the package format.
    #[error("the package cannot be put together: {0}")]
    Package(String),
}

/// Open Packaging Conventions: what kind of thing each part is (Appendix C.1).
const CONTENT_TYPES: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"#;

/// Open Packaging Conventions: where the model is (§2.1.1, Appendix C.2: the StartPart).
const RELATIONSHIPS: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/3dmodel.model"/>
</Relationships>
"#;

/// Indices into a mesh stay below 2^31 (schema type `ST_ResourceIndex`); a
/// closed surface has no more points than triangles.
const MOST_TRIANGLES: u32 = (1 << 31) - 1;

/// The objects as one 3MF package, in the order given.
///
/// Coordinates are rounded to `f32`, as in the STL, and written with the fewest
/// digits that give the same `f32` back: at most 9 significant digits (IEEE 754
/// §5.12.2 for binary32). Readers commonly hold single precision, so further
/// digits would be lost there, unseen, and two points could fall together; here
/// the mesh is refused instead.
///
/// # Errors
/// Refuses an empty list, unfit meshes and places that are not finite.
pub fn to_bytes(title: &str, objects: &[Object]) -> Result<Vec<u8>, PackageError> {
    let model = model(title, objects)?;
    package(&model).map_err(|e| PackageError::Package(e.to_string()))
}

/// The three parts (§1.1: deflated, plain zip), always in the same order and
/// with the same time stamp.
fn package(model: &str) -> zip::result::ZipResult<Vec<u8>> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(6))
        .last_modified_time(DateTime::default())
        .system(zip::System::Unix)
        .unix_permissions(0o644);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in [
        ("[Content_Types].xml", CONTENT_TYPES),
        ("_rels/.rels", RELATIONSHIPS),
        ("3D/3dmodel.model", model),
    ] {
        zip.start_file(name, options)?;
        zip.write_all(text.as_bytes())?;
    }
    Ok(zip.finish()?.into_inner())
}

/// The model part (§3.4; metadata §3.4.1, build items §3.4.3).
fn model(title: &str, objects: &[Object]) -> Result<String, PackageError> {
    if objects.is_empty() {
        return Err(PackageError::NoObjects);
    }
    let size = objects
        .iter()
        .map(|o| 60 * o.mesh.points.len() + 50 * o.mesh.triangles.len());
    let mut xml = String::with_capacity(1000 + size.sum::<usize>());
    xml.push_str(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <model unit=\"millimeter\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n\
         <metadata name=\"Title\">",
    );
    escape(&mut xml, title);
    xml.push_str("</metadata>\n<metadata name=\"Application\">Baitwright ");
    xml.push_str(env!("CARGO_PKG_VERSION"));
    xml.push_str("</metadata>\n<resources>\n");
    for (i, object) in objects.iter().enumerate() {
        add_object(&mut xml, i + 1, object)?;
    }
    xml.push_str("</resources>\n<build>\n");
    for (i, object) in objects.iter().enumerate() {
        #[allow(clippy::cast_possible_truncation)]
        let at = object.at.map(|c| c as f32 + 0.0);
        if !at.iter().all(|c| c.is_finite()) {
            return Err(PackageError::Placement {
                name: object.name.to_owned(),
                at: object.at.into(),
            });
        }
        // Row vectors: the translation is the last row (§3.3).
        put(
            &mut xml,
            format_args!(
                "<item objectid=\"{}\" transform=\"1 0 0 0 1 0 0 0 1 {} {} {}\"/>\n",
                i + 1,
                at.x,
                at.y,
                at.z
            ),
        );
    }
    xml.push_str("</build>\n</model>\n");
    Ok(xml)
}

/// An object resource and its mesh (§4, §4.1).
fn add_object(xml: &mut String, id: usize, object: &Object) -> Result<(), PackageError> {
    let points =
        single_precision(object.mesh, MOST_TRIANGLES).map_err(|why| PackageError::Object {
            name: object.name.to_owned(),
            why,
        })?;
    put(
        xml,
        format_args!("<object id=\"{id}\" type=\"model\" name=\""),
    );
    escape(xml, object.name);
    xml.push_str("\">\n<mesh>\n<vertices>\n");
    for [x, y, z] in points {
        put(
            xml,
            format_args!("<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>\n"),
        );
    }
    xml.push_str("</vertices>\n<triangles>\n");
    for [a, b, c] in &object.mesh.triangles {
        put(
            xml,
            format_args!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>\n"),
        );
    }
    xml.push_str("</triangles>\n</mesh>\n</object>\n");
    Ok(())
}

fn put(xml: &mut String, text: std::fmt::Arguments) {
    xml.write_fmt(text).expect("a string takes every write");
}

/// Text for an element or a quoted attribute. Characters that XML 1.0 cannot
/// hold at all (§2.2 there) become U+FFFD.
fn escape(xml: &mut String, text: &str) {
    for c in text.chars() {
        match c {
            '&' => xml.push_str("&amp;"),
            '<' => xml.push_str("&lt;"),
            '>' => xml.push_str("&gt;"),
            '"' => xml.push_str("&quot;"),
            '\t' | '\n' | '\r' => xml.push(' '),
            '\0'..='\x1f' | '\u{fffe}' | '\u{ffff}' => xml.push('\u{fffd}'),
            _ => xml.push(c),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{cuboid, ellipsoid};
    use super::*;
    use std::collections::HashMap;
    use std::io::Read;

    fn unpack(bytes: &[u8]) -> Vec<(String, String)> {
        let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
        (0..zip.len())
            .map(|i| {
                let mut file = zip.by_index(i).unwrap();
                let stamp = file.last_modified().unwrap();
                assert_eq!((stamp.year(), stamp.month(), stamp.day()), (1980, 1, 1));
                let mut text = String::new();
                file.read_to_string(&mut text).unwrap();
                (file.name().unwrap().into_owned(), text)
            })
            .collect()
    }

    /// The values of the attributes of every element of that name, in order.
    fn attributes<'a>(xml: &'a str, element: &str) -> Vec<Vec<&'a str>> {
        xml.split(&format!("<{element} "))
            .skip(1)
            .map(|rest| {
                let inside = rest.split('>').next().unwrap();
                inside.split('"').skip(1).step_by(2).collect()
            })
            .collect()
    }

    #[test]
    fn a_package_holds_its_objects_closed_and_in_place() {
        let bait = ellipsoid([45.0, 9.0, 12.0], 20, 24);
        let block = cuboid([0.0; 3], [100.0, 30.0, 1.0 / 3.0]);
        let objects = [
            Object {
                name: "half <A> & \"B\"",
                mesh: &bait,
                at: Vector3::new(45.0, 9.0, 12.5),
            },
            Object {
                name: "block",
                mesh: &block,
                at: Vector3::new(0.0, 40.0, 0.0),
            },
        ];
        let bytes = to_bytes("Reed & rush", &objects).unwrap();
        assert_eq!(bytes, to_bytes("Reed & rush", &objects).unwrap());
        let parts = unpack(&bytes);
        let names: Vec<_> = parts.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(
            names,
            ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        );
        let xml = &parts[2].1;
        assert!(xml.contains("unit=\"millimeter\""));
        assert!(xml.contains("<metadata name=\"Title\">Reed &amp; rush</metadata>"));
        assert!(xml.contains("name=\"half &lt;A&gt; &amp; &quot;B&quot;\""));
        let items = attributes(xml, "item");
        assert_eq!(items[0], ["1", "1 0 0 0 1 0 0 0 1 45 9 12.5"]);
        assert_eq!(items[1], ["2", "1 0 0 0 1 0 0 0 1 0 40 0"]);

        for (text, mesh) in xml.split("<object ").skip(1).zip([&bait, &block]) {
            let points = attributes(text, "vertex");
            assert_eq!(points.len(), mesh.points.len());
            for (read, p) in points.iter().zip(&mesh.points) {
                for (read, exact) in read.iter().zip(p.iter()) {
                    assert_eq!(read.parse::<f32>().unwrap(), *exact as f32);
                }
            }
            // §4.1: each edge is shared by exactly two triangles, in opposite order.
            let mut edges: HashMap<(usize, usize), usize> = HashMap::new();
            let triangles = attributes(text, "triangle");
            assert_eq!(triangles.len(), mesh.triangles.len());
            for t in &triangles {
                let t: Vec<usize> = t.iter().map(|i| i.parse().unwrap()).collect();
                assert!(t.iter().all(|&i| i < points.len()));
                for k in 0..3 {
                    *edges.entry((t[k], t[(k + 1) % 3])).or_default() += 1;
                }
            }
            assert_eq!(edges.len(), 3 * triangles.len());
            assert!(edges.keys().all(|&(a, b)| edges.contains_key(&(b, a))));
        }
    }

    #[test]
    fn numbers_match_the_schema_and_stay_different() {
        // §B.1, ST_Number: digits with one optional point and exponent.
        let mesh = cuboid([-1e-7, 16.0, 1e4], [1.0, 16.000_002, 1.000_001e4]);
        let at = Vector3::zeros();
        let name = "\u{1}\u{fffe}";
        let xml = model(
            "",
            &[Object {
                name,
                mesh: &mesh,
                at,
            }],
        )
        .unwrap();
        assert!(xml.contains("name=\"\u{fffd}\u{fffd}\""));
        let points = attributes(&xml, "vertex");
        let allowed = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
        assert!(points.iter().flatten().all(|n| n.chars().all(allowed)));
        assert_ne!(points[0][1], points[7][1]);
        let far = Vector3::new(0.0, f64::NAN, 0.0);
        assert!(matches!(
            to_bytes(
                "",
                &[Object {
                    name,
                    mesh: &mesh,
                    at: far
                }]
            ),
            Err(PackageError::Placement { .. })
        ));
        assert_eq!(to_bytes("", &[]), Err(PackageError::NoObjects));
        let empty = Mesh::default();
        let found = to_bytes(
            "",
            &[Object {
                name: "bed",
                mesh: &empty,
                at,
            }],
        );
        assert_eq!(
            found.unwrap_err().to_string(),
            "object `bed`: the mesh has no triangles"
        );
    }
}
