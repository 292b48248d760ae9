//! The bedding board: what the master lies in up to its parting line while the first half is
//! poured over it, in place of clay; the frame both stand in; and loose formers for the
//! channels and for the seats of what is cast in.
//!
//! The board's deck is the lower half of the mould with room around the master and the channels,
//! and with the sockets' counterparts as keys. So the frame, as high as both halves together,
//! is filled to the brim twice: over the board, then over the first half. Where the parting face
//! is no plane the deck follows it.

use nalgebra::{Point3, Vector3};

use super::tools::together;
use super::{Mould, PartingFace, boxes, tools};
use crate::body::inset;
use crate::mesh::{AxisMap, Bounds, Mesh, Solid, SolidError};
use crate::spec::{BodyEnd, Design, Problem, Problems};

/// The flange that the frame stands on.
const FLANGE: f64 = 4.0;
/// Walls of the printed frame.
const WALL: f64 = 4.0;
/// How far the flange stands out beyond the frame.
const BEYOND: f64 = 2.0;
/// Room between the deck and the frame on every side: a slide fit of prints (common practice).
const SLIDE: f64 = 0.2;

/// What is printed for this route.
pub(super) struct Bedding {
    /// The board, deck up, in the mould's axes.
    pub board: Mesh,
    /// The frame, standing.
    pub frame: Mesh,
    /// Whether all of the master has room in the trough, not its trunk alone.
    pub roomy: bool,
    /// Formers, each standing as it is printed: the sprue's, the vents', the seats'.
    pub formers: Vec<Mesh>,
}

/// Makes them around a closed mould; its master and the trunk of that are in the body's axes.
pub(super) fn bed(
    design: &Design,
    mould: &Mould,
    master: &Mesh,
    trunk: &Mesh,
) -> Result<Bedding, BedError> {
    let clearance = design.mould.board_clearance;
    let block = mould.block;
    let deck = Bounds {
        min: block.min + Vector3::new(SLIDE, SLIDE, 0.0),
        max: Point3::new(block.max.x - SLIDE, block.max.y - SLIDE, 0.0),
    };
    let out = WALL.max(design.mould.sheet) + BEYOND;
    let flange = Bounds {
        min: block.min - Vector3::new(out, out, FLANGE),
        // Sunk into the deck, so that the two fuse.
        max: Point3::new(block.max.x + out, block.max.y + out, block.min.z),
    };
    let face = &mould.face;
    let slab = if face.is_flat() {
        Solid::try_from(&tools::stepped(&flange, &deck, boxes::CHAMFER))?
    } else {
        let mut foot = deck;
        foot.min.z = 0.5 * (flange.min.z + boxes::CHAMFER + flange.max.z);
        let flange = Solid::try_from(&face.level(boxes::on_feet(&flange)))?;
        face.half(&foot, -1.0)?.union(&flange)?
    };

    let turn = Mould::turn(mould.parting);
    let drawn_level = |mesh: Mesh| Solid::try_from(&face.level(mesh));
    let placed = face.level(master.clone().mapped(&turn));
    let made = Solid::try_from(&placed)?;
    let whole = roomier(master, clearance);
    let roomy = whole.is_some();
    let mut room = match (whole, roomier(trunk, clearance)) {
        (Some(trough), _) => drawn_level(trough.mapped(&turn))?,
        // Fine features cross themselves when moved out; the trunk alone has the room then.
        (None, Some(trough)) => drawn_level(trough.mapped(&turn))?.union(&made)?,
        (None, None) => return Err(BedError::Spec(no_room(design, trunk).into())),
    };
    for channel in mould
        .channels
        .roomier(clearance)
        .meshes(face, design.tolerance)
    {
        room = room.union(&Solid::try_from(&channel)?)?;
    }
    for seat in mould.seats.by_exit(clearance, design.tolerance)? {
        room = room.union(&seat)?;
    }
    let mut board = slab.difference(&room)?;
    let keys: Vec<Mesh> = mould
        .keys
        .iter()
        .map(|key| face.level(key.counterpart(design.tolerance)))
        .collect();
    if !keys.is_empty() {
        board = board.union(&together(&keys)?)?;
    }

    let frame = Solid::try_from(
        &Bounds {
            min: block.min - Vector3::new(WALL, WALL, 0.0),
            max: block.max + Vector3::new(WALL, WALL, 0.0),
        }
        .to_mesh(),
    )?;
    let mut through = block;
    through.min.z -= 1.0;
    through.max.z += 1.0;
    let frame = frame.difference(&Solid::try_from(&through.to_mesh())?)?;

    Ok(Bedding {
        roomy,
        board: face.restored(board.to_mesh(), &flange),
        frame: frame.to_mesh(),
        formers: formers(design, mould, &placed)?,
    })
}

/// What can go wrong.
pub(super) enum BedError {
    Spec(Problems),
    Solid(SolidError),
}

impl From<SolidError> for BedError {
    fn from(error: SolidError) -> Self {
        BedError::Solid(error)
    }
}

/// Less of a seat's former than this, in mm³, is left of one that the sprue's takes the place of.
const CRUMB: f64 = 0.5;

/// The channels less the master, and the seats less both. The master comes drawn level, each standing on its flat end.
fn formers(design: &Design, mould: &Mould, master: &Mesh) -> Result<Vec<Mesh>, SolidError> {
    let channels = &mould.channels;
    let master = Solid::try_from(master)?;
    let upright = match channels.sprue.end {
        // The funnel's mouth down.
        BodyEnd::Nose => AxisMap::X_UP,
        BodyEnd::Tail => AxisMap::X_DOWN,
    };
    let mut formers = Vec::new();
    // On a slope the trough is deeper, square to itself as deep as drawn; what lies flat and is bent
    // into it has that thickness.
    let flat = PartingFace::default();
    for (i, channel) in channels.meshes(&flat, design.tolerance).iter().enumerate() {
        let former = Solid::try_from(channel)?.difference(&master)?.to_mesh();
        formers.push(match i {
            0 => mould.face.raised(mould.face.ready(former)).mapped(&upright),
            // Vents lie flat; thin as they are, they take the bow of a bowed face.
            _ => former,
        });
    }
    let mut taken = master;
    for channel in channels.meshes(&mould.face, design.tolerance) {
        taken = taken.union(&Solid::try_from(&channel)?)?;
    }
    for seat in mould.seats.by_exit(0.0, design.tolerance)? {
        match seat.difference(&taken) {
            Ok(former) if former.volume() > CRUMB => formers.push(former.to_mesh()),
            // Where it leaves within the sprue, that has its place.
            Ok(_) | Err(SolidError::NothingLeft { .. }) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(formers)
}

/// The master, in the body's axes, with every facet moved out by `clearance`, see [`inset`].
/// `None` where the result crosses itself: the master has hollows narrower than that.
pub(super) fn roomier(master: &Mesh, clearance: f64) -> Option<Mesh> {
    let mut moved = inset(master.clone(), -clearance);
    for (p, from) in moved.points.iter_mut().zip(&master.points) {
        // What lies in the waist by symmetry stays in it exactly.
        if from.z == 0.0 && p.z.abs() < 1e-6 {
            p.z = 0.0;
        }
    }
    moved.check().is_ok().then_some(moved)
}

fn no_room(design: &Design, master: &Mesh) -> Problem {
    let fits = (1..=10)
        .rev()
        .map(|i| 0.05 * f64::from(i) * design.mould.board_clearance / 0.5)
        .find(|&c| roomier(master, c).is_some());
    let problem = Problem::new(
        "mould.board.clearance",
        "the master has hollows too narrow for this much room around it",
    )
    .value(design.units.show(design.mould.board_clearance));
    match fits {
        Some(fits) => problem.limit(format!("at most {}", design.units.show(fits))),
        None => problem.hint("take route = \"boxes\" for this master"),
    }
}
