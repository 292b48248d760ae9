//! The pictures of a kit.

use nalgebra::{Point3, Vector3};

use super::files::APART;
use crate::drawing::picture::{Camera, Part, PictureError, Size, render};
use crate::export::png;
use crate::mesh::{AxisMap, Bounds, Direction, Mesh};
use crate::mould::Mould;
use crate::mould::opening::Undercuts;
use crate::rig::Plastic;

/// A warm master, mould halves of pale stone.
const MASTER: [u8; 3] = [196, 134, 84];
const HALF: [u8; 3] = [186, 190, 186];

/// From above and a little to the side of the opened halves, sprue to the left.
const OPENED: Camera = Camera {
    towards: Vector3::new(0.25, 0.62, -0.85),
    up: Vector3::new(0.0, 0.0, 1.0),
};

/// The master, three-quarter view.
pub(super) fn master(mesh: &Mesh) -> Result<Vec<u8>, PictureError> {
    picture(&[(mesh, MASTER)], &Camera::THREE_QUARTER, Size::default())
}

/// What holds, and where air stays.
const HOLDS: [u8; 3] = [200, 40, 40];
const AIR: [u8; 3] = [40, 110, 210];
/// Along the pull of one half and of the other, a little from the side, sprue to the left.
const FROM_ABOVE: Camera = Camera {
    towards: Vector3::new(0.12, 0.45, -0.85),
    up: Vector3::new(0.0, 1.0, 0.0),
};

/// The casting as it leaves the mould, sprue and vents on it, seen on its upper side and, below
/// that, on its lower. What holds a half is red, where air stays is blue.
pub(super) fn casting(mould: &Mould, undercuts: &Undercuts) -> Result<Vec<u8>, PictureError> {
    let cavity = &mould.cavity;
    let mut colour = vec![MASTER; cavity.triangles.len()];
    for trap in &mould.air.held {
        for &t in &trap.facets {
            colour[t as usize] = AIR;
        }
    }
    for undercut in &undercuts.found {
        for &t in &undercut.facets {
            colour[t as usize] = HOLDS;
        }
    }
    let drop = cavity.bounds().map_or(0.0, |b| b.size().y + b.size().z) + APART;
    let mut parts = Vec::new();
    for wanted in [MASTER, AIR, HOLDS] {
        let mut mesh = Mesh {
            points: cavity.points.clone(),
            triangles: Vec::new(),
        };
        let drawn = cavity.triangles.iter().zip(&colour);
        mesh.triangles
            .extend(drawn.filter(|(_, c)| **c == wanted).map(|(t, _)| *t));
        let turned = mesh.clone().mapped(&AxisMap::HALF_TURN_X);
        parts.push((mesh, wanted));
        parts.push((turned.translated(&Vector3::new(0.0, -drop, 0.0)), wanted));
    }
    let parts: Vec<(&Mesh, [u8; 3])> = parts
        .iter()
        .filter(|(mesh, _)| !mesh.triangles.is_empty())
        .map(|(mesh, colour)| (mesh, *colour))
        .collect();
    picture(&parts, &FROM_ABOVE, Size::default())
}

/// The parts of the mould, where they are.
pub(super) fn parts(parts: &[Mesh]) -> Result<Vec<u8>, PictureError> {
    let parts: Vec<_> = parts.iter().map(|part| (part, HALF)).collect();
    picture(&parts, &OPENED, Size::default())
}

/// The bait from its right side, from above below that, and from in front of the nose to
/// the right: first-angle projection (ISO 5456-2). One whose belly is not its back's mirror image
/// is seen from below as well, above the side, and one whose left is not its right's from the left,
/// at the far end.
pub(super) fn views(bait: &Mesh) -> Result<Vec<u8>, PictureError> {
    use Direction::{MinusX, MinusY, MinusZ, PlusX, PlusY, PlusZ};
    let turned = |images: [Direction; 3]| {
        let [x, y, z] = images;
        AxisMap::new(x, y, z).map_or_else(Mesh::default, |map| bait.clone().mapped(&map).settled())
    };
    let side = bait.clone().settled();
    let above = turned([PlusX, PlusZ, MinusY]);
    let ahead = turned([PlusY, MinusX, PlusZ]);
    let size = |mesh: &Mesh| {
        mesh.bounds()
            .map_or_else(Vector3::zeros, |b: Bounds| b.size())
    };
    let (side_size, above_size, ahead_size) = (size(&side), size(&above), size(&ahead));
    let up = |z: f64| Vector3::new(0.0, 0.0, z);
    let mut width = side_size.x + APART + ahead_size.x;
    let mut height = side_size.z + APART + above_size.z;
    let mut shown = vec![
        above.translated(&up(-APART - above_size.z)),
        ahead.translated(&Vector3::new(side_size.x + APART, 0.0, 0.0)),
    ];
    if !is_mirrored(bait, 2) {
        let below = turned([PlusX, MinusZ, PlusY]);
        shown.push(below.translated(&up(side_size.z + APART)));
        height += APART + above_size.z;
    }
    if !is_mirrored(bait, 1) {
        let left = turned([MinusX, MinusY, PlusZ]);
        shown.push(left.translated(&Vector3::new(width + APART, 0.0, 0.0)));
        width += APART + side_size.x;
    }
    shown.push(side);
    let pixels = Size::default();
    let across = f64::from(pixels.width);
    let pixels = Size {
        height: (across * height / width).clamp(0.25 * across, 1.5 * across) as u32,
        ..pixels
    };
    let parts: Vec<_> = shown.iter().map(|mesh| (mesh, MASTER)).collect();
    picture(&parts, &Camera::SIDE, pixels)
}

/// Whether the mirror image in the plane y = 0 (1) or z = 0 (2) is the same: every corner has its
/// own, to a thousandth of a millimetre, or lies in the surface as far as a picture shows.
fn is_mirrored(mesh: &Mesh, axis: usize) -> bool {
    const SHOWS: f64 = 0.05;
    let key = |p: &Point3<f64>| [p.x, p.y, p.z].map(|c| (1000.0 * c).round() as i64);
    let mut corners: Vec<[i64; 3]> = mesh.points.iter().map(key).collect();
    corners.sort_unstable();
    let images = mesh.points.iter().map(|p| {
        let mut image = *p;
        image[axis] = -image[axis];
        image
    });
    // A scan has none but such.
    let mut alone = images
        .filter(|image| corners.binary_search(&key(image)).is_err())
        .peekable();
    if alone.peek().is_none() {
        return true;
    }
    let surface = Plastic::new(mesh.clone());
    alone.all(|image| surface.distance(&image) < SHOWS)
}

fn picture(
    parts: &[(&Mesh, [u8; 3])],
    camera: &Camera,
    size: Size,
) -> Result<Vec<u8>, PictureError> {
    let parts: Vec<Part<'_>> = parts
        .iter()
        .map(|&(mesh, colour)| Part { mesh, colour })
        .collect();
    Ok(png::to_bytes(&render(&parts, camera, size)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::body::{Body, Master};
    use crate::spec::{Format, design};

    #[test]
    fn a_side_is_shown_again_where_it_differs() {
        let bait = |more: &str| {
            let text = format!(
                "mesh.tolerance = 0.1\nbody = {{ length = 80, outline = [{{ at = 22, height = 18 }}, \
                 {{ at = 58, height = 9 }}] }}\n{more}"
            );
            let design = design(&text, Format::Toml).unwrap();
            Master::build(&design, &Body::from_design(&design))
                .unwrap()
                .bait
        };
        let mirrored = |more: &str| [1, 2].map(|axis| is_mirrored(&bait(more), axis));
        assert_eq!(mirrored(""), [true, true]);
        let pair = "eyes = [{ kind = 'flat', at = 9, angle = 90, diameter = 4, depth = 1 }]\n";
        assert_eq!(mirrored(pair), [true, true]);
        assert_eq!(mirrored(&pair.replace("90", "60")), [true, false]);
        let one = "pocket = [{ at = 30, angle = 90, diameter = 4, depth = 2 }]\n";
        assert_eq!(mirrored(one), [false, true]);
        assert_eq!(mirrored(&one.replace("90", "0")), [true, false]);
        // No corner of a scan has its image, and yet it is one, but for the pocket.
        let rough = |more: &str| {
            let mut mesh = bait(more);
            for (i, p) in mesh.points.iter_mut().enumerate() {
                *p += Vector3::new(0.002, -0.004, 0.004) * (i % 5) as f64;
            }
            is_mirrored(&mesh, 1)
        };
        assert!(rough("") && !rough(one));
    }
}
