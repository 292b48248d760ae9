//! 3MF: the solids that its build lists, where it puts them. Sections in the comments are
//! those of the 3MF Core Specification 1.4.

use std::collections::BTreeMap;
use std::io::{Cursor, Read};

use nalgebra::Point3;
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;

use super::Raw;
use crate::mesh::Mesh;

/// No model part is unpacked beyond this: some 2 million triangles.
const MOST_BYTES: u64 = 400 << 20;
/// Components within components, and pieces put together in all: far more than any bait has.
const DEEPEST: usize = 16;
const MOST_PIECES: usize = 1000;

/// Row vectors: 3 rows of the linear part, then the translation (§3.3).
pub(super) type Transform = [f64; 12];
pub(super) const UNMOVED: Transform = [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0];

#[derive(Default)]
struct Object {
    mesh: Mesh,
    components: Vec<(u32, Transform)>,
}

pub(super) fn read(bytes: &[u8]) -> Result<Raw, String> {
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| e.to_string())?;
    let name = model_part(&mut zip)?;
    let text = part(&mut zip, &name)?;
    let model = parse(&text)?;
    let mut mesh = Mesh::default();
    let mut pieces = 0;
    for (id, transform) in &model.build {
        model.gather(*id, &[*transform], &mut mesh, &mut pieces)?;
    }
    if mesh.triangles.is_empty() {
        return Err("its build lists no mesh".into());
    }
    Ok(Raw {
        mesh,
        unit: model.unit,
    })
}

type Archive<'b> = zip::ZipArchive<Cursor<&'b [u8]>>;

fn part(zip: &mut Archive<'_>, name: &str) -> Result<String, String> {
    let file = zip.by_name(name).map_err(|e| format!("{name}: {e}"))?;
    let mut text = String::new();
    file.take(MOST_BYTES + 1)
        .read_to_string(&mut text)
        .map_err(|e| format!("{name}: {e}"))?;
    if text.len() as u64 > MOST_BYTES {
        return Err(format!("{name} is larger than {} MB", MOST_BYTES >> 20));
    }
    Ok(text)
}

/// The part that the package starts at (§2.1.1).
fn model_part(zip: &mut Archive<'_>) -> Result<String, String> {
    let rels = part(zip, "_rels/.rels")?;
    let mut reader = Reader::from_str(&rels);
    loop {
        match reader.read_event().map_err(|e| e.to_string())? {
            Event::Start(e) | Event::Empty(e) if e.local_name().as_ref() == "Relationship" => {
                let kind = attribute(&e, "Type")?.unwrap_or_default();
                if kind.ends_with("/3dmodel")
                    && let Some(target) = attribute(&e, "Target")?
                {
                    return Ok(target.trim_start_matches('/').to_owned());
                }
            }
            Event::Eof => return Err("it is a zip file, but no 3MF package".into()),
            _ => {}
        }
    }
}

#[derive(Default)]
pub(super) struct Model {
    pub(super) unit: f64,
    objects: BTreeMap<u32, Object>,
    build: Vec<(u32, Transform)>,
}

impl Model {
    /// Adds an object to the mesh, moved by the transforms from the innermost out.
    pub(super) fn gather(
        &self,
        id: u32,
        moves: &[Transform],
        mesh: &mut Mesh,
        pieces: &mut usize,
    ) -> Result<(), String> {
        *pieces += 1;
        if moves.len() > DEEPEST || *pieces > MOST_PIECES {
            return Err("it is put together from too many pieces".into());
        }
        let Some(object) = self.objects.get(&id) else {
            return Err(format!("object {id} is not in it"));
        };
        for (part, transform) in &object.components {
            let mut inner = vec![*transform];
            inner.extend_from_slice(moves);
            self.gather(*part, &inner, mesh, pieces)?;
        }
        if object.mesh.triangles.is_empty() {
            return Ok(());
        }
        let mut placed = object.mesh.clone();
        for m in moves {
            for p in &mut placed.points {
                let at = |k: usize| p.x * m[k] + p.y * m[3 + k] + p.z * m[6 + k] + m[9 + k];
                *p = Point3::new(at(0), at(1), at(2));
            }
            let determinant = m[0] * (m[4] * m[8] - m[5] * m[7])
                - m[1] * (m[3] * m[8] - m[5] * m[6])
                + m[2] * (m[3] * m[7] - m[4] * m[6]);
            // A mirroring transform turns the outside in.
            if determinant < 0.0 {
                placed = placed.flipped();
            }
        }
        mesh.append(&placed);
        Ok(())
    }
}

pub(super) fn parse(text: &str) -> Result<Model, String> {
    let mut reader = Reader::from_str(text);
    let mut model = Model {
        unit: 1.0,
        ..Model::default()
    };
    let mut object: Option<(u32, Object)> = None;
    loop {
        let event = reader
            .read_event()
            .map_err(|e| format!("byte {} of its model: {e}", reader.error_position()))?;
        match event {
            Event::Start(e) | Event::Empty(e) => match e.local_name().as_ref() {
                "model" => {
                    // §3.4: millimetres if it says nothing.
                    model.unit = match attribute(&e, "unit")?.as_deref().unwrap_or("millimeter") {
                        "micron" => 0.001,
                        "millimeter" => 1.0,
                        "centimeter" => 10.0,
                        "inch" => 25.4,
                        "foot" => 304.8,
                        "meter" => 1000.0,
                        other => return Err(format!("its unit `{other}` is not one of 3MF")),
                    };
                }
                "object" => {
                    finish(&mut model, &mut object);
                    object = Some((number(&e, "id")?, Object::default()));
                }
                "vertex" => {
                    if let Some((_, o)) = &mut object {
                        let p = [number(&e, "x")?, number(&e, "y")?, number(&e, "z")?];
                        o.mesh.points.push(Point3::from(p));
                    }
                }
                "triangle" => {
                    if let Some((_, o)) = &mut object {
                        o.mesh.triangles.push([
                            number(&e, "v1")?,
                            number(&e, "v2")?,
                            number(&e, "v3")?,
                        ]);
                    }
                }
                "component" => {
                    if let Some((_, o)) = &mut object {
                        o.components.push((number(&e, "objectid")?, transform(&e)?));
                    }
                }
                "item" => model.build.push((number(&e, "objectid")?, transform(&e)?)),
                _ => {}
            },
            Event::Eof => break,
            _ => {}
        }
    }
    finish(&mut model, &mut object);
    for (id, o) in &model.objects {
        let points = o.mesh.points.len();
        if let Some(t) = o
            .mesh
            .triangles
            .iter()
            .position(|t| t.iter().any(|&i| i as usize >= points))
        {
            return Err(format!(
                "triangle {t} of object {id} names a point that is not there"
            ));
        }
    }
    Ok(model)
}

fn finish(model: &mut Model, object: &mut Option<(u32, Object)>) {
    if let Some((id, object)) = object.take() {
        model.objects.insert(id, object);
    }
}

fn attribute(e: &BytesStart<'_>, name: &str) -> Result<Option<String>, String> {
    let found = e.try_get_attribute(name).map_err(|e| e.to_string())?;
    found
        .map(|a| {
            a.normalized_value(quick_xml::XmlVersion::Implicit1_0)
                .map(std::borrow::Cow::into_owned)
                .map_err(|e| e.to_string())
        })
        .transpose()
}

fn number<T: std::str::FromStr>(e: &BytesStart<'_>, name: &str) -> Result<T, String> {
    let text = attribute(e, name)?.unwrap_or_default();
    text.trim().parse().map_err(|_| {
        let tag = e.local_name();
        format!(
            "`{name}` of a <{}> is no number: \"{text:.20}\"",
            tag.as_ref()
        )
    })
}

fn transform(e: &BytesStart<'_>) -> Result<Transform, String> {
    let Some(text) = attribute(e, "transform")? else {
        return Ok(UNMOVED);
    };
    let numbers: Result<Vec<f64>, _> = text.split_whitespace().map(str::parse).collect();
    numbers
        .ok()
        .and_then(|n| Transform::try_from(n).ok())
        .ok_or_else(|| format!("a transform needs 12 numbers, this is \"{text:.60}\""))
}
