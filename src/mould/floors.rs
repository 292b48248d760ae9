//! Floors of pour boxes whose walls are cut from sheet: the parting face with half the master,
//! half the channels and the keys' counterparts, as in a tray, on a plate that the walls stand on.
//! A rim round their foot keeps them where they belong. The plate is the parting face under the
//! walls too, so their lower edges close on it, straight or bowed.

use nalgebra::Point3;

use super::boxes::{CHAMFER, ENGRAVED, FLOOR, LETTER, on_feet};
use super::face::PartingFace;
use super::lettering;
use crate::mesh::{Bounds, Mesh, Solid, SolidError};

/// The rim: how wide, and how high over the parting face at most (reasoned).
const RIM: [f64; 2] = [3.0, 4.0];
/// Room between wall and rim: sheet is seldom as thick as it is sold for (reasoned).
const SLIDE: f64 = 0.3;
/// Share of the front's height that its lettering takes.
const LETTERED: f64 = 0.6;

/// The floor on which a half is cast, within walls of a sheet of this thickness. `half` lies on
/// its parting face, `face`.
pub(super) fn floor(
    half: &Mesh,
    face: &PartingFace,
    sheet: f64,
    label: &str,
) -> Result<Mesh, SolidError> {
    /// How far what is cut away reaches beyond what is kept.
    const BEYOND: f64 = 1.0;
    let inside = half.bounds().ok_or(SolidError::Empty)?;
    let brim = inside.max.z;
    let [lowest, highest] = face.range();
    let rim = RIM[1].min(0.5 * (brim - highest));
    let grown = |out: f64, from: f64, to: f64| Bounds {
        min: Point3::new(inside.min.x - out, inside.min.y - out, from),
        max: Point3::new(inside.max.x + out, inside.max.y + out, to),
    };
    let solid = |bounds: Bounds| Solid::try_from(&bounds.to_mesh());

    // All of it with the parting face drawn level.
    let foot = inside.min.z.min(lowest) - FLOOR;
    let out = sheet + SLIDE + RIM[0];
    let outside = grown(out, foot, brim);
    let below = face.half(&grown(out + BEYOND, foot - BEYOND, brim), -1.0)?;
    let hole = solid(grown(sheet + SLIDE, -2.0 * BEYOND, rim + BEYOND))?;
    let ring = solid(grown(out + 2.0 * BEYOND, -BEYOND, rim))?.difference(&hole)?;
    let plate =
        Solid::try_from(&face.level(on_feet(&outside)))?.intersection(&below.union(&ring)?)?;
    // What stands on it is the rest of the half's own room; nothing of it comes near the brim.
    let room = face.level(grown(0.0, lowest - BEYOND, brim - 0.5 * BEYOND).to_mesh());
    let cast = Solid::try_from(&face.level(half.clone()))?;
    let floor = plate.union(&Solid::try_from(&room)?)?.difference(&cast)?;
    let floor = Solid::try_from(&face.restored(floor.to_mesh(), &outside))?;

    let front = [foot + CHAMFER, lowest + rim];
    let letters = lettering::Line {
        text: label,
        height: LETTER.min(LETTERED * (front[1] - front[0])),
        face: [
            outside.min.y,
            outside.centre().x,
            0.5 * (front[0] + front[1]),
        ],
        depth: ENGRAVED,
    };
    let letters = Solid::compose(&letters.on_front()?)?;
    Ok(floor.difference(&letters)?.to_mesh())
}
