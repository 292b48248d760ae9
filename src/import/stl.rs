//! STL, binary or text. The format knows no unit.

use std::io::Cursor;

use nalgebra::Point3;

use crate::mesh::Mesh;

const HEADER: usize = 84;
const FACET: usize = 50;

/// Every facet with corners of its own; or what is wrong with the file, as a phrase.
pub(super) fn read(bytes: &[u8]) -> Result<Mesh, String> {
    let counted = bytes
        .get(80..HEADER)
        .and_then(|b| b.try_into().ok())
        .map(|b| u32::from_le_bytes(b) as usize);
    let fits = counted.is_some_and(|n| bytes.len() == HEADER + FACET * n);
    let text = bytes.trim_ascii_start().starts_with(b"solid");
    // Some programs begin binary files with `solid` as well: the length tells.
    if !fits && !text {
        return Err(match counted {
            Some(n) => format!(
                "as a binary STL it announces {n} facets, which take {} bytes, but it has {}; \
                 as a text it would begin with `solid`",
                HEADER + FACET * n,
                bytes.len()
            ),
            None => "it is neither STL nor 3MF".into(),
        });
    }
    if fits && text {
        // Hidden from the reader, which goes by the first word.
        let mut plain = bytes.to_vec();
        plain[..80].fill(b' ');
        return facets(&plain);
    }
    facets(bytes)
}

fn facets(bytes: &[u8]) -> Result<Mesh, String> {
    let mut cursor = Cursor::new(bytes);
    let reader = stl_io::create_stl_reader(&mut cursor).map_err(|e| e.to_string())?;
    let mut mesh = Mesh::default();
    for (i, facet) in reader.enumerate() {
        let facet = facet.map_err(|e| format!("facet {i} cannot be read: {e}"))?;
        let first = mesh.points.len() as u32;
        for vertex in facet.vertices {
            let [x, y, z] = vertex.0.map(f64::from);
            mesh.points.push(Point3::new(x, y, z));
        }
        mesh.triangles.push([first, first + 1, first + 2]);
    }
    if mesh.triangles.is_empty() {
        return Err("it has no facets".into());
    }
    Ok(mesh)
}
