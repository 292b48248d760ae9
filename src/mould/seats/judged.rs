//! Whether every seat opens only where it should, once channels, keys and neighbours are known.

use nalgebra::Vector3;

use super::{FOOT_LAND, Form, Held, Pin, Seats, Unseated, closed_at_tail, near};
use crate::mesh::slice::{PlaneSection, Sliced};
use crate::mesh::{AxisMap, Bounds, Direction, Mesh};
use crate::mould::channels::{Channels, outlines};
use crate::mould::keys::Key;
use crate::mould::{PartingFace, Problems};
use crate::rig::Plastic;
use crate::spec::{BodyEnd, Design, Problem};

/// Another kind of bait in the block, as its neighbours' seats see it.
pub(in crate::mould) struct Stranger {
    /// It in the parting plane, where it lies along the block.
    pub(super) plane: PlaneSection,
    /// Where across the parting face those of its kind lie.
    pub(super) across: Vec<f64>,
    /// Round places that the seats of one of it take.
    pub(super) taken: Vec<([f64; 2], f64)>,
}

impl Stranger {
    pub(in crate::mould) fn new(master: &Mesh, seats: &Seats, across: Vec<f64>) -> Self {
        Stranger {
            plane: in_plane(master),
            across,
            taken: seats.footprint(),
        }
    }
}

/// The section of a master, in the mould's axes, in the parting plane.
pub(super) fn in_plane(master: &Mesh) -> PlaneSection {
    // z takes the place of x.
    AxisMap::new(Direction::PlusY, Direction::PlusZ, Direction::PlusX)
        .map(|turn| Sliced::new(master.clone().mapped(&turn)).section(0.0))
        .unwrap_or_default()
}

impl Seats {
    /// Leads what goes out of the block to its face, and looks whether every seat opens only where
    /// it should.
    pub(in crate::mould) fn judge(
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
        let fallen = near::fallen(&sprue, &self.exits, cavities);
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
                let (around, rows) = ((channels, keys), (cavities, others));
                let cures = if near.is_sprue() {
                    self.past_sprue(design, master, around, rows, (i, &plane))
                } else if let Some(end) = near.eye_at(exit) {
                    let found = self.wire_cure(design, master, around, rows, end);
                    let mut cures: Vec<String> = found.into_iter().collect();
                    if end != channels.sprue.end {
                        cures.push("give more wire.twists".to_owned());
                    }
                    cures.push("leave its seat out: mould.seats.wire = false".to_owned());
                    cures
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
                    let (around, rows) = ((channels, keys), (cavities, others));
                    let end = channels.sprue.end;
                    match self.wire_cure(design, master, around, rows, end) {
                        Some(cure) => cure,
                        None => format!(
                            "end the wire, eye and all, within the plastic here (wire.{key}), or leave its seat \
                             out: mould.seats.wire = false"
                        ),
                    }
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
}
