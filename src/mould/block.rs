//! The outside of the block.

use nalgebra::Point3;

use super::channels::Form;
use crate::mesh::Bounds;
use crate::spec::{BodyEnd, Design};

/// Least length of the sprue's neck between funnel and body.
pub(super) const NECK: f64 = 3.0;
/// Least material beside the funnel, towards the outside of a half.
const BESIDE_FUNNEL: f64 = 4.0;

/// The closed block: the wall over the body on every side, more where the sprue's
/// funnel needs it. Keys stand beside whatever is widest, so the wall holds them too.
pub(super) fn around(design: &Design, form: &Form<'_>) -> Bounds {
    let mould = &design.mould;
    let (wall, mouth) = (mould.wall, mould.mouth_radius);
    let over_sprue = wall.max(mould.funnel_depth + NECK);
    let (nose, tail) = match mould.sprue_end {
        BodyEnd::Nose => (over_sprue, wall),
        BodyEnd::Tail => (wall, over_sprue),
    };
    let along = |size: f64| (size + wall).max(mouth + BESIDE_FUNNEL);
    let across = |size: f64| size.max(mouth) + wall;
    Bounds {
        min: Point3::new(
            -nose,
            -across(form.right.greatest().1.max(form.collar_radius())),
            -along(form.below.greatest().1.max(form.collar_radius())),
        ),
        max: Point3::new(
            form.whole_length() + tail,
            across(form.left.greatest().1.max(form.collar_radius())),
            along(form.above.greatest().1.max(form.collar_radius())),
        ),
    }
}
