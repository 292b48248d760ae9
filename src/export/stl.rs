//! Binary STL, in millimetres.
//!
//! The format knows no unit and no names; the unit goes into the header text,
//! which readers show or ignore.

use stl_io::{Normal, Triangle, Vertex};

use super::{UnfitMesh, normal, single_precision};
use crate::mesh::Mesh;

/// Bytes before the triangle count.
const HEADER: usize = 80;

/// A mesh as binary STL: an 80-byte header, the count, then 50 bytes a facet.
///
/// The header reads `Baitwright: <title>; unit mm`, padded with spaces. What is
/// not printable ASCII in the title becomes `?`, and a long title is cut.
///
/// # Units
/// Millimetres, rounded once from `f64` to `f32`.
///
/// # Errors
/// Refuses a mesh that would not arrive whole; see [`UnfitMesh`].
pub fn to_bytes(mesh: &Mesh, title: &str) -> Result<Vec<u8>, UnfitMesh> {
    let points = single_precision(mesh, u32::MAX)?;
    let facets = mesh.triangles.iter().map(|corners| {
        let corners = corners.map(|c| points[c as usize]);
        #[allow(clippy::cast_possible_truncation)]
        let normal: [f32; 3] =
            normal(corners).map_or([0.0; 3], |n| n.map(|c| c as f32 + 0.0).into());
        Triangle {
            normal: Normal::new(normal),
            vertices: corners.map(Vertex::new),
        }
    });
    let mut bytes = Vec::with_capacity(HEADER + 4 + 50 * mesh.triangles.len());
    stl_io::write_stl(&mut bytes, facets).expect("memory takes every write");
    bytes[..HEADER].copy_from_slice(&header(title));
    Ok(bytes)
}

/// The header text. It begins with our name and never with `solid`, by which
/// readers tell the text form of STL.
fn header(title: &str) -> [u8; HEADER] {
    const BEFORE: &str = "Baitwright: ";
    const AFTER: &str = "; unit mm";
    let room = HEADER - BEFORE.len() - AFTER.len();
    let title = title.chars().take(room).map(|c| match c {
        ' '..='~' => c as u8,
        _ => b'?',
    });
    let mut header = [b' '; HEADER];
    for (slot, byte) in header
        .iter_mut()
        .zip(BEFORE.bytes().chain(title).chain(AFTER.bytes()))
    {
        *slot = byte;
    }
    header
}

#[cfg(test)]
mod tests {
    use super::super::tests::{cuboid, ellipsoid};
    use super::*;
    use nalgebra::Vector3;
    use std::io::Cursor;

    /// Box: 12 facets, 684 bytes; layout after the published description of
    /// binary STL (80-byte header, u32 count, 12 f32 and a u16 a facet).
    #[test]
    fn the_bytes_are_laid_out_as_published() {
        let mesh = ellipsoid([45.0, 9.0, 12.0], 20, 24);
        let bytes = to_bytes(&mesh, "Reed minnow").unwrap();
        assert_eq!(bytes.len(), 84 + 50 * mesh.triangles.len());
        assert!(bytes.starts_with(b"Baitwright: Reed minnow; unit mm "));
        let count = u32::from_le_bytes(bytes[80..84].try_into().unwrap());
        assert_eq!(count as usize, mesh.triangles.len());
        for (facet, corners) in bytes[84..].chunks_exact(50).zip(&mesh.triangles) {
            let number = |i: usize| f32::from_le_bytes(facet[4 * i..4 * i + 4].try_into().unwrap());
            let vector = |i: usize| {
                Vector3::new(number(3 * i), number(3 * i + 1), number(3 * i + 2)).cast::<f64>()
            };
            let (n, a, b, c) = (vector(0), vector(1), vector(2), vector(3));
            let expected = (b - a).cross(&(c - a)).normalize();
            assert!((n - expected).norm() < 2e-7);
            assert!(n.dot(&(a + b + c)) > 0.0, "normal points inwards");
            let exact = mesh.points[corners[0] as usize].coords;
            assert!((a - exact).norm() < 5e-6);
            assert_eq!(facet[48..], [0, 0]);
        }
        let cube = to_bytes(&cuboid([0.0; 3], [1.0; 3]), "").unwrap();
        assert_eq!(cube.len(), 684);
    }

    #[test]
    fn another_reader_finds_a_closed_solid() {
        let mesh = ellipsoid([45.0, 9.0, 12.0], 20, 24);
        let bytes = to_bytes(&mesh, "solid").unwrap();
        let read = stl_io::read_stl(&mut Cursor::new(&bytes)).unwrap();
        read.validate().unwrap();
        assert_eq!(read.faces.len(), mesh.triangles.len());
        assert_eq!(read.vertices.len(), mesh.points.len());
        assert_eq!(bytes, to_bytes(&mesh, "solid").unwrap());
    }

    #[test]
    fn odd_titles_stay_ascii_and_keep_the_unit() {
        for title in [
            "",
            "solid",
            "Örtchen am Röhricht",
            &"x".repeat(500),
            "a\nb\0c",
        ] {
            let header = header(title);
            assert!(header.iter().all(|b| (b' '..=b'~').contains(b)));
            assert!(!header.starts_with(b"solid"));
            assert!(String::from_utf8_lossy(&header).contains("; unit mm"));
        }
    }
}
