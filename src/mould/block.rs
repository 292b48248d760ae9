//! The outside of the block.

use nalgebra::Point3;

use super::face::PartingFace;
use crate::mesh::Bounds;
use crate::spec::{BodyEnd, Design};

/// Least length of the sprue's neck between funnel and body.
pub(super) const NECK: f64 = 3.0;
/// Least material beside the funnel, towards the outside of a half.
const BESIDE_FUNNEL: f64 = 4.0;

/// The closed block around a master in the mould's axes: the wall over it on every side,
/// more where the sprue's funnel needs it. Keys stand beside whatever is widest, so the wall
/// holds them too. `inside` is the box around all masters; a header of this radius lies between
/// them and the funnel; `axis` is where the sprue's line lies across the parting face.
pub(super) fn around(
    design: &Design,
    inside: &Bounds,
    header: f64,
    axis: f64,
    face: &PartingFace,
) -> Bounds {
    let mould = &design.mould;
    let (wall, mouth) = (mould.wall, mould.mouth_radius);
    let over_sprue = wall.max(mould.funnel_depth + 2.0 * header + NECK);
    let (nose, tail) = match mould.sprue_end {
        BodyEnd::Nose => (over_sprue, wall),
        BodyEnd::Tail => (wall, over_sprue),
    };
    let across = |size: f64, aside: f64| size.max(mouth + aside) + wall;
    let beside = mouth.max(header) + BESIDE_FUNNEL;
    // The sprue leaves by the level strip of the parting face.
    let rise = face.along(match mould.sprue_end {
        BodyEnd::Nose => f64::NEG_INFINITY,
        BodyEnd::Tail => f64::INFINITY,
    });
    let along = |size: f64, rise: f64| (size + wall).max(beside + rise);
    // Up to the next tenth of a millimetre: facets stand out by odd amounts.
    let even = |size: f64| libm::ceil(10.0 * size - 1e-6) / 10.0;
    Bounds {
        min: Point3::new(
            -even(nose - inside.min.x),
            -even(across(-inside.min.y, -axis)),
            -even(along(-inside.min.z, -rise)),
        ),
        max: Point3::new(
            even(inside.max.x + tail),
            even(across(inside.max.y, axis)),
            even(along(inside.max.z, rise)),
        ),
    }
}
