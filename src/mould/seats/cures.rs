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
        /// Steps in which a narrower mouth (radius) and a wire that begins farther in are tried,
        /// and how far in at most.
        const NARROWER: f64 = 0.25;
        const INWARD: (f64, i32) = (0.5, 60);
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
        if let ("wire", Some(wire)) = (exit.path, &design.rig.wire) {
            let sliced = Sliced::new(master.clone().translated(&Vector3::new(
                -self.along,
                0.0,
                0.0,
            )));
            let length = design.body.length;
            let (k, key, inward) = match end {
                BodyEnd::Nose => (0, "from", 1.0),
                BodyEnd::Tail => (1, "to", -1.0),
            };
            let from = wire.ends[k].unwrap_or([0.0, length][k]);
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
                let (sprue, _) = outlines(channels);
                let fallen = near::fallen(&sprue, &trial.exits, cavities);
                let dry = !fallen.contains(&true);
                for (exit, inside) in trial.exits.iter_mut().zip(fallen) {
                    exit.in_sprue = inside;
                }
                problems.is_empty()
                    && dry
                    && !trial.exits.is_empty()
                    && (0..trial.exits.len()).all(|i| clear(&trial, channels, i))
            };
            // To halves of a millimetre, as a maker writes it.
            let first = libm::floor(inward * from / INWARD.0) * INWARD.0 * inward;
            let tries = (1..=INWARD.1).map(|n| first + inward * INWARD.0 * f64::from(n));
            if let Some(to) = tries.into_iter().find(fits) {
                let way = match end {
                    BodyEnd::Nose => "begin",
                    BodyEnd::Tail => "end",
                };
                cures.push(format!(
                    "let the wire {way} {} further in: wire.{key} = {}",
                    show((to - from).abs()),
                    show(to)
                ));
            }
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

    /// Whether the sprue cannot go to the other end, or something leaves the body there that it
    /// would take in.
    pub(super) fn other_end_taken(
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
