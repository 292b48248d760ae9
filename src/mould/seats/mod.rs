//! Seats: what holds wire, hook and weights in their places while the plastic is poured.
//!
//! Wire and hook lie in grooves of the parting face from where they leave the body (`course`), so they
//! must lie in the parting plane. A groove is the wire's own round section with the
//! clearance all round, half of it in each half of the mould, and closes on the wire so that no plastic
//! runs out. Weights stand on pins of both halves, along the pull (`pins`).

mod course;
mod cures;
mod near;
mod pins;

use nalgebra::{Point3, Vector3};

use super::channels::Channels;
use super::keys::Key;
use super::tools::turned_upright;
use super::{Mould, PartingFace, Problems};
use crate::body::Body;
use crate::curve::Section;
use crate::mesh::slice::{PlaneSection, Sliced};
use crate::mesh::sweep::{Rib, sweep};
use crate::mesh::{AxisMap, Bounds, Direction, Mesh, Solid, SolidError};
use crate::rig::{Plastic, Rig};
use crate::spec::{BodyEnd, Design, Parting, Problem, Route};

pub(super) use near::outlines;
pub use pins::Pin;

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

    /// Box around the grooves and pockets of one bait, but for the strands of a skirt, which leave
    /// the block.
    fn bounds(&self) -> Option<Bounds> {
        let mut all: Option<Bounds> = None;
        for seat in self.seats.iter().filter(|s| s.held != Held::Skirt) {
            let own = seat.bounds();
            all = Some(all.map_or(own, |all| Bounds {
                min: all.min.inf(&own.min),
                max: all.max.sup(&own.max),
            }));
        }
        all
    }

    /// The box around a master and its seats that the wall goes round; along x the wall holds the
    /// seats.
    pub(super) fn around(&self, inside: &Bounds) -> Bounds {
        let mut all = *inside;
        if let Some(own) = self.bounds() {
            for k in 1..3 {
                all.min[k] = all.min[k].min(own.min[k]);
                all.max[k] = all.max[k].max(own.max[k]);
            }
        }
        all
    }

    /// Lengthens a block that its seats would come out of.
    pub(super) fn held_by(&self, block: &mut Bounds) {
        let even = |size: f64| libm::ceil(10.0 * size - 1e-6) / 10.0;
        if let Some(own) = self.bounds() {
            block.min.x = block.min.x.min(-even(EDGE - own.min.x));
            block.max.x = block.max.x.max(even(own.max.x + EDGE));
        }
    }

    /// A master with its seats on it, for the layout: not one solid.
    pub(super) fn outline(&self, master: &Mesh, tolerance: f64) -> Mesh {
        let mut all = master.clone();
        for seat in &self.seats {
            all.append(&seat.mesh(tolerance));
        }
        all
    }

    /// Where what goes out of the block runs on beside longer neighbours, as boxes out to the end
    /// of `all`.
    pub(super) fn ways(&self, all: &Bounds) -> Mesh {
        let mut ways = Mesh::default();
        for seat in self.seats.iter().filter(|s| s.held == Held::Skirt) {
            let mut way = seat.bounds();
            way.max.x = way.max.x.max(all.max.x);
            ways.append(&way.to_mesh());
        }
        ways
    }

    /// Round places of the parting face that the seats of one bait take: middle and radius.
    pub(super) fn footprint(&self) -> Vec<([f64; 2], f64)> {
        self.seats.iter().flat_map(Seat::footprint).collect()
    }

    /// The same of every bait, where it lies, with the pins that stand by the parting face.
    pub(super) fn footprints(&self, cavities: &[f64]) -> Vec<([f64; 2], f64)> {
        let mut one = self.footprint();
        let low = |pin: &&Pin| pin.foot().any(|p| p.z.abs() < 2.0 * LAND);
        let pins = self.pins.iter().filter(low);
        one.extend(pins.map(|pin| ([pin.tip.x, pin.tip.y], pin.foot_radius())));
        let moved = |&y: &f64| one.iter().map(move |&([x, own], r)| ([x, own + y], r));
        cavities.iter().flat_map(moved).collect()
    }

    /// Leads what goes out of the block to its face, and looks whether every seat opens only where
    /// it should.
    pub(super) fn judge(
        &mut self,
        design: &Design,
        master: &Mesh,
        (channels, keys, block): (&Channels, &[Key], &Bounds),
        (cavities, others): (&[f64], &[Stranger]),
    ) -> Result<(), Problems> {
        let mut problems = Vec::new();
        self.judge_feet(design, channels, cavities, &mut problems);
        for seat in &mut self.seats {
            if let (Held::Skirt, Form::Groove { line, .. }) = (seat.held, &mut seat.form) {
                line[1].x = block.max.x;
            }
        }
        let (sprue, vents) = outlines(channels);
        let fallen = sprue.holds_any(&self.exits, cavities);
        for (exit, inside) in self.exits.iter_mut().zip(fallen) {
            exit.in_sprue = inside;
        }
        let plane = in_plane(master);
        let size = design.mould_scale();
        for (i, exit) in self.exits.iter().enumerate() {
            // One problem for each is enough.
            let found = self
                .seats
                .iter()
                .filter(|seat| seat.exit == i)
                .find_map(|seat| {
                    let ways = (&sprue, &vents[..]);
                    seat.too_near(exit, &plane, ways, keys, (cavities, others))
                });
            if let Some(near) = found {
                let cures = if near.is_sprue() {
                    let around = (channels, keys);
                    let rows = (cavities, others);
                    self.past_sprue(design, master, around, rows, (i, &plane))
                } else {
                    Vec::new()
                };
                problems.push(near.problem(design, exit, (size, self.along), &cures));
            }
        }
        let dry = self.exits.iter().filter(|exit| !exit.in_sprue);
        let said: Vec<String> = dry.filter_map(|exit| exit.note.clone()).collect();
        self.notes.extend(said);
        let sprue_radius = channels.sprue.gate_radius;
        for exit in self.exits.iter().filter(|exit| exit.in_sprue) {
            let (here, there) = match channels.sprue.end {
                BodyEnd::Nose => ("nose", "tail"),
                BodyEnd::Tail => ("tail", "nose"),
            };
            let (what, asked) = match exit.path {
                "wire" => ("the wire", design.mould.seats.wire),
                "hook" => ("the hook", design.mould.seats.hook),
                _ => ("the skirt", Some(true)),
            };
            let key = match channels.sprue.end {
                BodyEnd::Nose => "from",
                BodyEnd::Tail => "to",
            };
            let cure = match exit.path {
                _ if !self.other_end_taken(design, channels, master) => {
                    format!("pour at the other end: mould.sprue.end = \"{there}\"")
                }
                "wire" => {
                    format!("end the wire, eye and all, within the plastic here (wire.{key})")
                }
                path => format!(
                    "move the {path} into the plastic here, or leave its seat out: mould.seats.{path} = false"
                ),
            };
            if asked == Some(true) {
                problems.push(
                    Problem::new(
                        format!("mould.seats.{}", exit.path),
                        format!(
                            "{what} leaves the body within the sprue, so no seat can close on it"
                        ),
                    )
                    .value(format!(
                        "at the {here}, within the gate of {}",
                        design.units.show(2.0 * sprue_radius)
                    ))
                    .hint(cure),
                );
            } else {
                self.notes.push(format!(
                    "At the {here} {what} leaves the body within the sprue: no seat can close on it, the \
                     plastic of the sprue is cut off round it, and it has to be held in the middle while \
                     you pour. Better {cure}."
                ));
            }
        }
        if problems.is_empty() {
            Ok(())
        } else {
            Err(Problems(problems))
        }
    }

    /// Leaves out the pins of weights of which one would stand where a channel opens: it would be no
    /// part of its half.
    fn judge_feet(
        &mut self,
        design: &Design,
        channels: &Channels,
        cavities: &[f64],
        problems: &mut Vec<Problem>,
    ) {
        if self.pins.is_empty() {
            return;
        }
        let tools = channels.meshes(&PartingFace::default(), design.tolerance);
        let ways: Vec<Plastic> = tools.into_iter().map(Plastic::new).collect();
        let open = |pin: &Pin| {
            cavities.iter().any(|&y| {
                pin.foot().any(|p| {
                    let there = p + Vector3::new(0.0, y, 0.0);
                    ways.iter().any(|way| way.depth(&there) > -FOOT_LAND)
                })
            })
        };
        let mut lost: Vec<(usize, f64)> = Vec::new();
        for pin in self.pins.iter().filter(|pin| open(pin)) {
            if lost.last().is_none_or(|(weight, _)| *weight != pin.weight) {
                lost.push((pin.weight, pin.tip.x));
            }
        }
        for (weight, x) in lost {
            self.pins.retain(|pin| pin.weight != weight);
            let along = design.units.show((x - self.along) / design.mould_scale());
            let unseated = Unseated {
                path: "mould.seats.weights",
                what: format!("a pin to weight[{weight}] would stand where a channel opens"),
                value: format!("at {along} from the nose"),
                hint: if closed_at_tail(design) && channels.sprue.end == BodyEnd::Nose {
                    "move the weight away from sprue and vents".to_owned()
                } else {
                    "move the weight away from sprue and vents, or pour at the other end: mould.sprue.end".to_owned()
                },
            };
            unseated.told(design.mould.seats.weights, &mut self.notes, problems);
        }
    }

    /// Grooves and pockets of one bait, those of each exit as one solid, with room all round.
    pub(super) fn by_exit(&self, room: f64, tolerance: f64) -> Result<Vec<Solid>, SolidError> {
        let mut all = Vec::new();
        for i in 0..self.exits.len() {
            let own = self.seats.iter().filter(|seat| seat.exit == i);
            let roomy = own.map(|seat| seat.roomier(room).mesh(tolerance));
            all.extend(united(roomy, &[0.0])?);
        }
        Ok(all)
    }

    /// All grooves and pockets of every bait of this kind as one solid; `None` if there are none.
    fn solid(&self, cavities: &[f64], tolerance: f64) -> Result<Option<Solid>, SolidError> {
        let meshes = self.seats.iter().map(|seat| seat.mesh(tolerance));
        united(meshes, cavities)
    }

    /// The pins of every bait of this kind on the upper half and on the lower.
    pub(super) fn pin_solids(
        &self,
        cavities: &[f64],
        tolerance: f64,
    ) -> Result<[Option<Solid>; 2], SolidError> {
        let of = |upper: bool| {
            let pins = self.pins.iter().filter(move |pin| pin.upper == upper);
            united(pins.map(|pin| pin.mesh(tolerance)), cavities)
        };
        Ok([of(true)?, of(false)?])
    }
}

/// Another kind of bait in the block, as its neighbours' seats see it.
pub(super) struct Stranger {
    /// It in the parting plane, where it lies along the block.
    plane: PlaneSection,
    /// Where across the parting face those of its kind lie.
    across: Vec<f64>,
    /// Round places that the seats of one of it take.
    taken: Vec<([f64; 2], f64)>,
}

impl Stranger {
    pub(super) fn new(master: &Mesh, seats: &Seats, across: Vec<f64>) -> Self {
        Stranger {
            plane: in_plane(master),
            across,
            taken: seats.footprint(),
        }
    }
}

/// The section of a master, in the mould's axes, in the parting plane.
fn in_plane(master: &Mesh) -> PlaneSection {
    // z takes the place of x.
    AxisMap::new(Direction::PlusY, Direction::PlusZ, Direction::PlusX)
        .map(|turn| Sliced::new(master.clone().mapped(&turn)).section(0.0))
        .unwrap_or_default()
}

/// Seats of a kind of bait, and where across the parting face those of that kind lie.
pub(super) type Placed<'a> = (&'a Seats, Vec<f64>);

/// Grooves and pockets of all kinds as one solid; `None` if there are none.
pub(super) fn all_solid(kinds: &[Placed<'_>], tolerance: f64) -> Result<Option<Solid>, SolidError> {
    let each = kinds.iter().map(|(seats, at)| seats.solid(at, tolerance));
    let each: Result<Vec<Option<Solid>>, SolidError> = each.collect();
    composed(each?)
}

/// The pins of all kinds on the upper half and on the lower.
pub(super) fn all_pins(
    kinds: &[Placed<'_>],
    tolerance: f64,
) -> Result<[Option<Solid>; 2], SolidError> {
    let mut halves = [Vec::new(), Vec::new()];
    for (seats, at) in kinds {
        let [upper, lower] = seats.pin_solids(at, tolerance)?;
        halves[0].push(upper);
        halves[1].push(lower);
    }
    let [upper, lower] = halves;
    Ok([composed(upper)?, composed(lower)?])
}

/// Round places that the seats of all kinds take.
pub(super) fn all_footprints(kinds: &[Placed<'_>]) -> Vec<([f64; 2], f64)> {
    let each = kinds.iter().flat_map(|(seats, at)| seats.footprints(at));
    each.collect()
}

/// Solids that stand apart, as different baits do.
fn composed(all: Vec<Option<Solid>>) -> Result<Option<Solid>, SolidError> {
    let all: Vec<Solid> = all.into_iter().flatten().collect();
    match &all[..] {
        [] => Ok(None),
        all => Solid::compose(all).map(Some),
    }
}

/// Whether something of the bait keeps the sprue from its tail.
pub(super) fn closed_at_tail(design: &Design) -> bool {
    !design.collar.is_empty() || design.tail.is_some() || !design.legs.is_empty()
}

/// Meshes that may overlap, once for every cavity.
fn united(
    meshes: impl Iterator<Item = Mesh>,
    cavities: &[f64],
) -> Result<Option<Solid>, SolidError> {
    let mut one: Option<Solid> = None;
    for mesh in meshes {
        let next = Solid::try_from(&mesh)?;
        one = Some(match one {
            Some(one) => one.union(&next)?,
            None => next,
        });
    }
    let Some(one) = one else {
        return Ok(None);
    };
    let mesh = one.to_mesh();
    let all: Result<Vec<Solid>, _> = cavities
        .iter()
        .map(|&y| Solid::try_from(&mesh.clone().translated(&Vector3::new(0.0, y, 0.0))))
        .collect();
    Solid::compose(&all?).map(Some)
}

impl Seat {
    /// The seat as a solid.
    pub(super) fn mesh(&self, tolerance: f64) -> Mesh {
        match &self.form {
            Form::Groove { line, closed } => tube(line, *closed, self.radius, tolerance),
            Form::Pocket {
                centre,
                half,
                upright,
            } => {
                let narrow = self.radius - DRAFT * half;
                let corners = [(-half, narrow), (0.0, self.radius), (*half, narrow)];
                let lying = turned_upright([0.0; 2], &corners, tolerance);
                let placed = if *upright {
                    // z goes to y.
                    lying.mapped(&AxisMap::LEFT_UP)
                } else {
                    lying
                };
                placed.translated(&centre.coords)
            }
        }
    }

    /// The same with room all round.
    fn roomier(&self, room: f64) -> Self {
        let mut roomier = self.clone();
        roomier.radius += room;
        if let Form::Pocket { half, .. } = &mut roomier.form {
            *half += room;
        }
        roomier
    }

    fn bounds(&self) -> Bounds {
        let (points, reach) = match &self.form {
            Form::Groove { line, .. } => (line.clone(), Vector3::repeat(self.radius)),
            Form::Pocket {
                centre,
                half,
                upright,
            } => {
                let mut reach = Vector3::repeat(self.radius);
                reach[if *upright { 1 } else { 2 }] = *half;
                (vec![*centre], reach)
            }
        };
        let around = Bounds::of(&points).unwrap_or(Bounds {
            min: Point3::origin(),
            max: Point3::origin(),
        });
        Bounds {
            min: around.min - reach,
            max: around.max + reach,
        }
    }

    /// Round places of the parting face that it takes.
    fn footprint(&self) -> Vec<([f64; 2], f64)> {
        match &self.form {
            Form::Groove { line, .. } => course::dense(line, STEP)
                .iter()
                .map(|p| ([p.x, p.y], self.radius))
                .collect(),
            Form::Pocket {
                centre,
                half,
                upright: true,
            } => {
                let ends = [-1.0, 1.0].map(|s| centre + Vector3::new(s * self.radius, 0.0, 0.0));
                let places = course::dense(&ends, STEP);
                places.iter().map(|p| ([p.x, p.y], *half)).collect()
            }
            Form::Pocket { centre, .. } => vec![([centre.x, centre.y], self.radius)],
        }
    }
}

/// A round tube along a line in the parting plane, its facets straddling the true surface
/// within `tolerance`.
fn tube(line: &[Point3<f64>], closed: bool, radius: f64, tolerance: f64) -> Mesh {
    let round = Section::new(2.0);
    // Thin wire wants its gap closer than the tolerance.
    let mut quarter = 6;
    while round.sag(quarter) * radius > tolerance && quarter < 64 {
        quarter += 1;
    }
    let out = radius * (1.0 + 0.5 * round.sag(quarter));
    let circle = Section::circle(quarter);
    let count = line.len() - usize::from(closed);
    let direction = |i: usize| {
        let (a, b) = (line[i], line[(i + 1) % line.len()]);
        (b - a).normalize()
    };
    let rib = |i: usize| {
        let (before, after) = if closed {
            (direction((i + count - 1) % count), direction(i))
        } else {
            (
                direction(i.saturating_sub(1)),
                direction(i.min(line.len() - 2)),
            )
        };
        let along = (before + after).normalize();
        // Mitred: both sides keep the section.
        let wider = 1.0 / along.dot(&after);
        let aside = Vector3::new(-along.y, along.x, 0.0);
        Rib {
            centre: line[i],
            along: aside * (out * wider),
            across: Vector3::new(0.0, 0.0, out),
            quarter: circle.clone(),
        }
    };
    let ribs: Vec<Rib> = (0..count).map(rib).collect();
    let mesh = sweep(line[0], &ribs, line[count - 1]);
    if !closed {
        return mesh;
    }
    // The last ring is joined to the first in place of the end caps.
    let n = 4 * quarter;
    let points = mesh.points[1..=count * n].to_vec();
    let mut triangles: Vec<[u32; 3]> = mesh
        .triangles
        .iter()
        .filter(|t| t.iter().all(|&i| i > 0 && (i as usize) <= count * n))
        .map(|t| t.map(|i| i - 1))
        .collect();
    let at = |ring: usize, j: usize| ((ring % count) * n + j % n) as u32;
    for j in 0..n {
        let [p, q] = [at(count - 1, j), at(count - 1, j + 1)];
        let [s, r] = [at(0, j), at(0, j + 1)];
        triangles.extend([[p, q, r], [p, r, s]]);
    }
    Mesh { points, triangles }
}

/// Whether the mould parts along the upright plane of the body, in which hook and loops lie.
fn parts_upright(parting: Parting) -> bool {
    parting == Parting::Flank
}
