//! Seats: what holds wire, hook and weights in their places while the plastic is poured.
//!
//! Wire and hook lie in grooves of the parting face from where they leave the body (`course`), so they
//! must lie in the parting plane. A groove is the wire's own round section with the
//! clearance all round, half of it in each half of the mould, and closes on the wire so that no plastic
//! runs out. Weights stand on pins of both halves, along the pull (`pins`).

mod course;
mod cures;
mod judged;
mod near;
mod pins;
mod room;
mod solids;

use nalgebra::{Point3, Vector3};

use super::{Mould, PartingFace, Problems};
use crate::body::Body;
use crate::mesh::Mesh;
use crate::mesh::slice::Sliced;
use crate::rig::Rig;
use crate::spec::{Design, Parting, Problem, Route};

pub(super) use judged::Stranger;
pub use pins::Pin;
pub(super) use solids::{all_footprints, all_pins, all_solid};

/// Least material between a seat and the cavity it does not open into, a channel or a key, in mm:
/// two print lines, and rubber that is not torn (reasoned).
pub(super) const LAND: f64 = 1.0;
/// The same between the pocket of an eye and the body it stands before, round which plastic
/// would have to run along the wire (reasoned).
const EYE_LAND: f64 = 0.4;
/// The same between the foot of a pin and a channel (reasoned).
const FOOT_LAND: f64 = 0.4;
/// Least material between a seat and the outside of the block (reasoned).
const EDGE: f64 = 3.0;
/// Distance between the places at which seats are looked at, in mm.
const STEP: f64 = 0.25;
/// A gap above this share of the wire's thickness lets it lie beside its place by all of its
/// thickness, and plastic runs on in one above so many mm (reasoned; it chills in a few tenths, common
/// practice).
const LOOSE: (f64, f64) = (0.5, 0.5);
/// Depth of the wall of an eye's pocket per drawn-in width: a draft of about 6°.
const DRAFT: f64 = 0.1;

/// What part of an insert a seat holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Held {
    /// Straight wire.
    Wire,
    /// Wire with its end wrapped round it.
    Wrapped,
    /// The eye of the wire.
    Eye,
    /// The hook's wire.
    Hook,
    /// A skirt's strands, gathered.
    Skirt,
}

/// The shape of a seat, in the mould's axes.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Form {
    /// A round groove along a line.
    Groove {
        /// Its middle line.
        line: Vec<Point3<f64>>,
        /// Whether the line's end is its beginning.
        closed: bool,
    },
    /// A round pocket for a loop.
    Pocket {
        /// Its middle.
        centre: Point3<f64>,
        /// Half its depth, square to the loop.
        half: f64,
        /// Whether the loop stands across the parting face.
        upright: bool,
    },
}

/// One seat of the bait in the body's own place, half of it in each half of the mould.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Seat {
    /// What it holds.
    pub held: Held,
    /// Its shape.
    pub form: Form,
    /// Radius of a groove's section, or of a pocket.
    pub radius: f64,
    /// Which of [`Seats::exits`] it belongs to.
    pub exit: usize,
}

/// A place where an insert leaves the body.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Exit {
    /// Field path of the insert.
    pub path: &'static str,
    /// Where its middle line crosses the surface, in the mould's axes.
    pub at: Vec<Point3<f64>>,
    /// Length of its groove up to the pocket of an eye, or to its end: what closes on it. 0 for a
    /// groove that comes back into the body.
    pub land: f64,
    /// Whether it leaves within the sprue, which no groove can close on.
    pub in_sprue: bool,
    /// What is to be said of it if it does not.
    note: Option<String>,
}

/// The seats of a mould.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Seats {
    /// Grooves and pockets, of one bait.
    pub seats: Vec<Seat>,
    /// Where the inserts leave the body.
    pub exits: Vec<Exit>,
    /// Pins under and over the weights, of one bait.
    pub pins: Vec<Pin>,
    /// Gap round what is held.
    pub clearance: f64,
    /// What the seats take out of both halves beside the cavity, in mm³, of all baits.
    pub volume: f64,
    /// What the maker should know of them.
    pub notes: Vec<String>,
    /// How far along the block they lie from the body's own place.
    along: f64,
}

/// What cannot be seated: why, and what would help.
struct Unseated {
    path: &'static str,
    what: String,
    value: String,
    hint: String,
}

impl Unseated {
    /// An error if the seat was insisted on, else a note.
    fn told(self, asked: Option<bool>, notes: &mut Vec<String>, problems: &mut Vec<Problem>) {
        if asked == Some(true) {
            let mut problem = Problem::new(self.path, self.what).hint(self.hint);
            if !self.value.is_empty() {
                problem = problem.value(self.value);
            }
            problems.push(problem);
        } else {
            let value = if self.value.is_empty() {
                String::new()
            } else {
                format!(" ({})", self.value)
            };
            let mut note = format!("No seat: {}{value}; {}.", self.what, self.hint);
            note.truncate(note.trim_end_matches('.').len());
            notes.push(note + ".");
        }
    }
}

/// What seats are planned around.
struct Site<'a> {
    design: &'a Design,
    face: &'a PartingFace,
    /// One master in the mould's axes, in the body's own place.
    master: &'a Sliced,
    /// How much larger the cavity is than the bait. Wire, hook and weights are not: their middles
    /// are where they are in the bait, and they have their own size.
    size: f64,
}

impl Site<'_> {
    fn clearance(&self) -> f64 {
        self.design.mould.seats.clearance
    }

    /// From the body's axes.
    fn placed(&self, p: &Point3<f64>) -> Point3<f64> {
        Mould::turn(self.design.mould.parting)
            .apply(p)
            .map(|c| c + 0.0)
    }

    /// "12 mm from the nose" of a point in the mould's axes.
    fn along(&self, p: &Point3<f64>) -> String {
        format!("{} from the nose", self.design.units.show(p.x / self.size))
    }
}

impl Seats {
    /// Finds the seats of one bait; whether they clear channels, keys and neighbours is for
    /// [`Seats::judge`].
    pub(super) fn plan(
        design: &Design,
        body: &Body,
        face: &PartingFace,
        master: &Mesh,
    ) -> Result<Self, Problems> {
        let asked = design.mould.seats;
        let rig = &design.rig;
        let mut seats = Seats {
            clearance: asked.clearance,
            ..Seats::default()
        };
        let wanted = rig.wire.is_some() && asked.wire != Some(false)
            || rig.hook.is_some() && asked.hook != Some(false)
            || !rig.weights.is_empty() && asked.weights != Some(false)
            || rig.skirt.is_some() && asked.skirt;
        if !wanted {
            return Ok(seats);
        }
        if face.is_bowed() {
            let insisted = [
                ("wire", asked.wire),
                ("hook", asked.hook),
                ("weights", asked.weights),
                ("skirt", asked.skirt.then_some(true)),
            ];
            let mut problems = Vec::new();
            for (key, insisted) in insisted {
                if insisted == Some(true) {
                    let what = "the parting face is bowed, and makes no seats";
                    problems.push(
                        Problem::new(format!("mould.seats.{key}"), what)
                            .value("parting = \"waist\"")
                            .hint("part it along the flank: parting = \"flank\""),
                    );
                }
            }
            if problems.is_empty() {
                seats.notes.push(
                    "No seats: the parting face is bowed. Along the flank (parting = \"flank\") it is flat, and \
                     holds wire, hook and weights."
                        .to_owned(),
                );
                return Ok(seats);
            }
            return Err(Problems(problems));
        }
        let sliced = Sliced::new(master.clone());
        let site = Site {
            design,
            face,
            master: &sliced,
            size: body.length() / design.body.length,
        };
        let mut problems = Vec::new();
        course::wire(&site, &mut seats, &mut problems);
        course::hook(&site, &mut seats, &mut problems);
        course::skirt(&site, body, &mut seats, &mut problems);
        pins::place(&site, body, &mut seats, &mut problems);
        problems.extend(seats.on_steps(face));
        seats.notes.extend(seats.loose(design));
        if design.mould.route == Route::Board && !seats.seats.is_empty() {
            seats.notes.push(
                "The bedding board has a groove for each seat. A turned master has no wire in it: lay the former of \
                 each seat, or the wire or hook itself, into its groove against the master, and leave it there for \
                 both pours, or the second silicone fills the groove of the first."
                    .to_owned(),
            );
        }
        if problems.is_empty() {
            Ok(seats)
        } else {
            Err(Problems(problems))
        }
    }

    /// Seats that lie where the parting face is no plane: what lies in them is straight.
    fn on_steps(&self, face: &PartingFace) -> Option<Problem> {
        let stepped = |seat: &&Seat| {
            let mut places = seat.footprint().into_iter();
            places.any(|(at, radius)| face.is_stepped(at, radius))
        };
        let seat = self.seats.iter().find(stepped)?;
        let (key, what) = match seat.held {
            Held::Wire | Held::Wrapped | Held::Eye => ("wire", "the wire"),
            Held::Hook => ("hook", "the hook"),
            Held::Skirt => ("skirt", "the skirt"),
        };
        let what =
            format!("the seat of {what} would lie where the parting face steps aside for a fin");
        let hint = format!(
            "move the fin, part along the flank (mould.parting), or leave the seat out: mould.seats.{key} = false"
        );
        Some(Problem::new(format!("mould.seats.{key}"), what).hint(hint))
    }

    /// What is to be said of a gap that holds nothing.
    fn loose(&self, design: &Design) -> Option<String> {
        let wire = design.rig.wire.as_ref().map(|wire| ("wire", wire.diameter));
        let hook = design.rig.hook.as_ref().map(|hook| ("hook", hook.wire));
        let seated = [wire, hook].into_iter().flatten();
        let slimmest = seated
            .filter(|(path, _)| self.holds(path))
            .min_by(|a, b| a.1.total_cmp(&b.1))?;
        let (path, diameter) = slimmest;
        let most = (LOOSE.0 * diameter).min(LOOSE.1);
        let show = |mm: f64| design.units.show(mm);
        (self.clearance > most + 1e-9).then(|| {
            format!(
                "A gap of {} (mould.seats.clearance) does not hold a {path} of {}: it lies askew, and plastic runs out \
                 along it. Up to {} it is held.",
                show(self.clearance),
                show(diameter),
                show(most)
            )
        })
    }

    /// What is laid into the open mould before each pour, in that order; `None` if there is nothing.
    pub fn laid_in(&self, lower: &str) -> Option<String> {
        let mut weights: Vec<usize> = self.pins.iter().map(|pin| pin.weight).collect();
        weights.sort_unstable();
        weights.dedup();
        let mut laid: Vec<String> = weights
            .iter()
            .map(|w| format!("weight[{w}] onto its pins in the {lower} half"))
            .collect();
        let dry = |s: &&Seat| !self.exits[s.exit].in_sprue;
        let holds = |held: &[Held]| {
            let mut dry = self.seats.iter().filter(dry);
            dry.any(|s| held.contains(&s.held))
        };
        let mut wires = self.exits.iter().filter(|exit| exit.path == "wire");
        let in_sprue = wires.clone().any(|exit| exit.in_sprue);
        let seated = holds(&[Held::Eye, Held::Wire, Held::Wrapped]);
        if holds(&[Held::Eye]) {
            laid.push("the wire with its eye into groove and pocket".to_owned());
        } else if seated {
            laid.push("the wire into its groove".to_owned());
        } else if wires.next().is_some() {
            laid.push("the wire, held in the middle of the sprue".to_owned());
        }
        if seated && in_sprue {
            laid.push("its end at the sprue held in the middle".to_owned());
        }
        if holds(&[Held::Hook]) {
            laid.push("the hook into its groove".to_owned());
        }
        if holds(&[Held::Skirt]) {
            laid.push(
                "the skirt, its strands drawn together and trailing out of the block".to_owned(),
            );
        }
        (!laid.is_empty()).then(|| laid.join(", then "))
    }

    /// Whether it holds an insert of this path, `wire` or `hook`.
    pub fn holds(&self, path: &str) -> bool {
        self.exits.iter().any(|exit| exit.path == path)
    }

    /// Whether it has pins for the i-th weight.
    pub fn holds_weight(&self, i: usize) -> bool {
        self.pins.iter().any(|pin| pin.weight == i)
    }

    /// See [`Mould::lays_in`].
    pub(super) fn lays_in(&self, design: &Design, path: &str) -> bool {
        let weights = design.rig.weights.iter().enumerate();
        let mut weights = weights.filter(|(i, _)| path == format!("weight[{i}]"));
        match weights.next() {
            None => self.holds(path),
            Some((i, _)) if self.holds_weight(i) => true,
            Some((_, weight)) => design.rig.wire.as_ref().is_some_and(|wire| {
                crate::rig::is_strung(wire, weight, design.body.length) && self.holds("wire")
            }),
        }
    }

    /// See [`Mould::kept_out`].
    pub(super) fn kept_out(&self, design: &Design, rig: &Rig) -> f64 {
        let laid_in = rig.inserts.iter().filter(|i| self.lays_in(design, &i.path));
        laid_in.map(|i| i.embedded.0).sum()
    }

    /// The same for a bait that lies farther along the block.
    pub(super) fn moved(mut self, along: f64) -> Self {
        let by = Vector3::new(along, 0.0, 0.0);
        for seat in &mut self.seats {
            match &mut seat.form {
                Form::Groove { line, .. } => line.iter_mut().for_each(|p| *p += by),
                Form::Pocket { centre, .. } => *centre += by,
            }
        }
        for p in self.exits.iter_mut().flat_map(|exit| &mut exit.at) {
            *p += by;
        }
        self.pins.iter_mut().for_each(|pin| pin.tip += by);
        self.along += along;
        self
    }

    /// Whether there are any.
    pub fn is_empty(&self) -> bool {
        self.seats.is_empty() && self.pins.is_empty()
    }
}

/// Whether something of the bait keeps the sprue from its tail.
pub(super) fn closed_at_tail(design: &Design) -> bool {
    !design.collar.is_empty() || design.tail.is_some() || !design.legs.is_empty()
}

/// Whether the mould parts along the upright plane of the body, in which hook and loops lie.
fn parts_upright(parting: Parting) -> bool {
    parting == Parting::Flank
}
