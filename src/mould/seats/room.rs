//! The room that seats take: in the block, and in the parting face.

use nalgebra::{Point3, Vector3};

use super::{EDGE, Form, Held, LAND, Pin, STEP, Seat, Seats, course};
use crate::mesh::{Bounds, Mesh};

impl Seats {
    /// Box around the grooves and pockets of one bait, but for the strands of a skirt, which leave
    /// the block.
    pub(super) fn bounds(&self) -> Option<Bounds> {
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
    pub(in crate::mould) fn around(&self, inside: &Bounds) -> Bounds {
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
    pub(in crate::mould) fn held_by(&self, block: &mut Bounds) {
        let even = |size: f64| libm::ceil(10.0 * size - 1e-6) / 10.0;
        if let Some(own) = self.bounds() {
            block.min.x = block.min.x.min(-even(EDGE - own.min.x));
            block.max.x = block.max.x.max(even(own.max.x + EDGE));
        }
    }

    /// A master with its seats on it, for the layout: not one solid.
    pub(in crate::mould) fn outline(&self, master: &Mesh, tolerance: f64) -> Mesh {
        let mut all = master.clone();
        for seat in &self.seats {
            all.append(&seat.mesh(tolerance));
        }
        all
    }

    /// Where what goes out of the block runs on beside longer neighbours, as boxes out to the end
    /// of `all`.
    pub(in crate::mould) fn ways(&self, all: &Bounds) -> Mesh {
        let mut ways = Mesh::default();
        for seat in self.seats.iter().filter(|s| s.held == Held::Skirt) {
            let mut way = seat.bounds();
            way.max.x = way.max.x.max(all.max.x);
            ways.append(&way.to_mesh());
        }
        ways
    }

    /// Round places of the parting face that the seats of one bait take: middle and radius.
    pub(in crate::mould) fn footprint(&self) -> Vec<([f64; 2], f64)> {
        self.seats.iter().flat_map(Seat::footprint).collect()
    }

    /// The same of every bait, where it lies, with the pins that stand by the parting face.
    pub(in crate::mould) fn footprints(&self, cavities: &[f64]) -> Vec<([f64; 2], f64)> {
        let mut one = self.footprint();
        let low = |pin: &&Pin| pin.foot().any(|p| p.z.abs() < 2.0 * LAND);
        let pins = self.pins.iter().filter(low);
        one.extend(pins.map(|pin| ([pin.tip.x, pin.tip.y], pin.foot_radius())));
        let moved = |&y: &f64| one.iter().map(move |&([x, own], r)| ([x, own + y], r));
        cavities.iter().flat_map(moved).collect()
    }
}

impl Seat {
    pub(super) fn bounds(&self) -> Bounds {
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
    pub(super) fn footprint(&self) -> Vec<([f64; 2], f64)> {
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
