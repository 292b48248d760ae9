//! Pour boxes: open trays that silicone is poured into, up to the brim. The floor of a tray is
//! the parting face; half the master, half the channels and the keys' counterparts stand on it.
//!
//! A tray is its outside less the half of the mould, nothing else: so what is poured into the
//! two trays is the two halves. Where walls are cut from sheet, see `floors`.

use nalgebra::Point3;

use super::lettering;
use super::tools::stacked;
use crate::mesh::{Bounds, Mesh, Solid, SolidError};

/// Walls that stand upright under the weight of silicone, and print in a few lines (reasoned).
const WALL: f64 = 4.0;
/// Least floor, and least material under a key's recess (reasoned).
pub(super) const FLOOR: f64 = 4.0;
/// The foot is drawn in by this, so that the first layer's bulge stays within the outside
/// (common practice).
pub(super) const CHAMFER: f64 = 0.8;
/// Depth of the grips at the ends; their sides slope by 45°, which prints without support.
const GRIP: f64 = 1.6;
/// Depth of lettering, and its greatest height.
pub(super) const ENGRAVED: f64 = 0.8;
pub(super) const LETTER: f64 = 9.0;

/// The tray in which a half is cast, standing on its floor, with the parting face where it is.
/// `half` lies on its parting face, what fills the tray.
pub(super) fn tray(half: &Mesh, label: &str) -> Result<Mesh, SolidError> {
    let inside = half.bounds().ok_or(SolidError::Empty)?;
    // Keys reach below the parting face, which may itself lie off z = 0.
    let floor = FLOOR - inside.min.z;
    let outside = Bounds {
        min: Point3::new(inside.min.x - WALL, inside.min.y - WALL, -floor),
        max: Point3::new(inside.max.x + WALL, inside.max.y + WALL, inside.max.z),
    };
    let mut tools = vec![Solid::try_from(half)?];
    let height = outside.size().z;
    let letters = lettering::Line {
        text: label,
        height: LETTER.min(0.5 * height),
        face: [outside.min.y, outside.centre().x, outside.centre().z],
        depth: ENGRAVED,
    };
    tools.extend(letters.on_front()?);
    if height > 8.0 * GRIP {
        let width = 0.6 * outside.size().y;
        tools.push(Solid::try_from(&grip(
            &outside,
            outside.min.x,
            -1.0,
            width,
        ))?);
        tools.push(Solid::try_from(&grip(&outside, outside.max.x, 1.0, width))?);
    }
    let whole = Solid::try_from(&on_feet(&outside))?;
    Ok(whole.difference(&Solid::compose(&tools)?)?.to_mesh())
}

/// A box with its foot chamfered.
pub(super) fn on_feet(outside: &Bounds) -> Mesh {
    let rectangle = |inset: f64, z: f64| Bounds {
        min: Point3::new(outside.min.x + inset, outside.min.y + inset, z),
        max: Point3::new(outside.max.x - inset, outside.max.y - inset, z),
    };
    let z = outside.min.z;
    stacked(&[
        rectangle(CHAMFER, z),
        rectangle(0.0, z + CHAMFER),
        rectangle(0.0, outside.max.z),
    ])
}

/// A wedge across an end face at x, to be cut from it: the fingers' hold.
pub(super) fn grip(outside: &Bounds, x: f64, out: f64, width: f64) -> Mesh {
    const BEYOND: f64 = 1.0;
    let mid = outside.centre();
    let z = outside.max.z - 4.0 * GRIP;
    let level = |half: f64, z: f64| {
        let ends = [x - out * half, x + out * BEYOND];
        Bounds {
            min: Point3::new(ends[0].min(ends[1]), mid.y - 0.5 * width, z),
            max: Point3::new(ends[0].max(ends[1]), mid.y + 0.5 * width, z),
        }
    };
    // A blunt edge rather than a sharp one.
    let blunt = 0.5;
    stacked(&[
        level(-0.5 * BEYOND, z - GRIP - 0.5 * BEYOND - blunt),
        level(GRIP, z - blunt),
        level(GRIP, z + blunt),
        level(-0.5 * BEYOND, z + GRIP + 0.5 * BEYOND + blunt),
    ])
}
