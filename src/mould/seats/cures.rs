//! What helps a seat that the sprue is in the way of.

use nalgebra::{Point3, Vector3};

use super::{LAND, PartingFace, STEP, Seats, Site, Stranger, closed_at_tail, course, near};
use crate::mesh::Mesh;
use crate::mesh::slice::{PlaneSection, Sliced};
use crate::mould::channels::{Channels, outlines};
use crate::mould::keys::Key;
use crate::spec::{BodyEnd, Design};

impl Seats {
    /// What helps a seat that the sprue is too near to, tried as far as it can be here. Last comes to
    /// do without.
    pub(super) fn past_sprue(
        &self,
        design: &Design,
        master: &Mesh,
        (channels, keys): (&Channels, &[Key]),
        (cavities, strangers): (&[f64], &[Stranger]),
        (i, plane): (usize, &PlaneSection),
    ) -> Vec<String> {
        /// Steps in which a narrower mouth (radius) is tried.
        const NARROWER: f64 = 0.25;
        /// The least radius of a mouth, by the rules.
        const LEAST: f64 = 2.5;
        let show = |mm: f64| design.units.show(mm);
        let exit = &self.exits[i];
        let mut cures = Vec::new();
        let clear = |seats: &Seats, channels: &Channels, i: usize| {
            let (sprue, vents) = outlines(channels);
            let mut own = seats.seats.iter().filter(|seat| seat.exit == i);
            own.all(|seat| {
                let ways = (&sprue, &vents[..]);
                let rows = (cavities, strangers);
                let near = seat.too_near(&seats.exits[i], plane, ways, keys, rows);
                near.is_none()
            })
        };
        let end = channels.sprue.end;
        if exit.path == "wire" {
            let rows = (cavities, strangers);
            cures.extend(self.wire_cure(design, master, (channels, keys), rows, end));
        }
        let sprue = &channels.sprue;
        let mouth = design.mould.mouth_radius;
        let corner = match end {
            BodyEnd::Nose => 0,
            BodyEnd::Tail => sprue.corners.len() - 1,
        };
        let beyond = match end {
            BodyEnd::Nose => 1,
            BodyEnd::Tail => corner - 1,
        };
        let least = sprue.corners[beyond].1.max(LEAST);
        #[allow(clippy::cast_possible_truncation)]
        let steps = ((mouth - least) / NARROWER + 1e-9) as i32;
        let narrower = (1..=steps).map(|n| mouth - NARROWER * f64::from(n));
        let wide = |&mouth: &f64| {
            let mut channels = channels.clone();
            channels.sprue.corners[corner].1 = mouth;
            clear(self, &channels, i)
        };
        if let Some(mouth) = narrower.into_iter().find(wide) {
            cures.push(format!(
                "make the funnel narrower: mould.sprue.mouth at most {}",
                show(2.0 * mouth)
            ));
        }
        if !self.other_end_taken(design, channels, master) {
            cures.push("pour at the other end: mould.sprue.end".to_owned());
        }
        cures.push(format!(
            "leave its seat out: mould.seats.{} = false",
            exit.path
        ));
        cures
    }

    /// Where the wire has to begin, or end, for its seats to have room at that end of the body, found
    /// by trying: farther in; or farther out, but not into the sprue.
    pub(super) fn wire_cure(
        &self,
        design: &Design,
        master: &Mesh,
        (channels, keys): (&Channels, &[Key]),
        (cavities, strangers): (&[f64], &[Stranger]),
        end: BodyEnd,
    ) -> Option<String> {
        /// The step, in mm, and how many of them at most.
        const TRIED: (f64, i32) = (0.5, 60);
        let show = |mm: f64| design.units.show(mm);
        let wire = design.rig.wire.as_ref()?;
        let back = Vector3::new(-self.along, 0.0, 0.0);
        let sliced = Sliced::new(master.clone().translated(&back));
        let plane = super::judged::in_plane(master);
        let length = design.body.length;
        let (k, key, inward) = match end {
            BodyEnd::Nose => (0, "from", 1.0),
            BodyEnd::Tail => (1, "to", -1.0),
        };
        let from = wire.ends[k].unwrap_or([0.0, length][k]);
        let (sprue, vents) = outlines(channels);
        let fits = |&to: &f64| {
            let mut design = design.clone();
            let Some(wire) = &mut design.rig.wire else {
                return false;
            };
            wire.ends[k] = Some(to);
            let run = [wire.ends[0].unwrap_or(0.0), wire.ends[1].unwrap_or(length)];
            if run[1] - run[0] < STEP * 4.0 {
                return false;
            }
            // Where the wire runs, the face has no say.
            let face = PartingFace::default();
            let site = Site {
                design: &design,
                face: &face,
                master: &sliced,
                size: design.mould_scale(),
            };
            let mut trial = Seats {
                clearance: self.clearance,
                ..Seats::default()
            };
            let mut problems = Vec::new();
            course::wire(&site, &mut trial, &mut problems);
            let mut trial = trial.moved(self.along);
            let fallen = near::fallen(&sprue, &trial.exits, cavities);
            // At the other end it may be as it is.
            let here = |exit: &super::Exit| {
                let middle = 0.5 * length * design.mould_scale() + self.along;
                exit.at.iter().any(|p| (p.x - middle) * inward < 0.0)
            };
            let mut exits = trial.exits.iter().zip(&fallen);
            let dry = exits.all(|(exit, &inside)| !inside || !here(exit));
            for (exit, inside) in trial.exits.iter_mut().zip(fallen) {
                exit.in_sprue = inside;
            }
            problems.is_empty()
                && dry
                && !trial.exits.is_empty()
                && trial.seats.iter().all(|seat| {
                    let exit = &trial.exits[seat.exit];
                    let rows = (cavities, strangers);
                    !here(exit)
                        || (seat.too_near(exit, &plane, (&sprue, &vents[..]), keys, rows)).is_none()
                })
        };
        // To halves of a millimetre, as a maker writes it.
        let tries = |towards: f64| {
            let first = libm::floor(towards * from / TRIED.0) * TRIED.0 * towards;
            (1..=TRIED.1).map(move |n| first + towards * TRIED.0 * f64::from(n))
        };
        let way = match end {
            BodyEnd::Nose => "begin",
            BodyEnd::Tail => "end",
        };
        let told = |to: f64, where_to: &str| {
            format!(
                "let the wire {way} {} further {where_to}: wire.{key} = {}",
                show((to - from).abs()),
                show(to)
            )
        };
        let farther_out = || {
            let to = (end != channels.sprue.end).then(|| tries(-inward).find(fits))??;
            Some(told(to, "out"))
        };
        farther_out().or_else(|| Some(told(tries(inward).find(fits)?, "in")))
    }

    /// Whether the sprue cannot go to the other end, or something leaves the body there that it
    /// would take in.
    pub(in crate::mould) fn other_end_taken(
        &self,
        design: &Design,
        channels: &Channels,
        master: &Mesh,
    ) -> bool {
        /// Share of the length that a sprue reaches along at most, and its mouth in gates.
        const NEAR: (f64, f64) = (0.15, 2.0);
        let Some(bounds) = master.bounds() else {
            return false;
        };
        let (sprue, near) = (&channels.sprue, NEAR.0 * bounds.size().x);
        let reach = NEAR.1 * sprue.gate_radius + LAND;
        let taken = |p: &Point3<f64>| {
            let at_end = match sprue.end {
                BodyEnd::Nose => p.x > bounds.max.x - near,
                BodyEnd::Tail => p.x < bounds.min.x + near,
            };
            at_end && (p.y - sprue.axis).abs() < reach
        };
        closed_at_tail(design) && sprue.end == BodyEnd::Nose
            || self.exits.iter().flat_map(|exit| &exit.at).any(taken)
    }
}
