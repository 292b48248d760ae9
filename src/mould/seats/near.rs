//! What a seat, or a key, leaves of the material to cavity, channels, keys and neighbours.

use nalgebra::Point3;

use super::{EYE_LAND, Exit, Form, Held, LAND, Seat, Stranger};
use crate::mesh::slice::PlaneSection;
use crate::mould::channels::{Outline, left};
use crate::mould::keys::Key;
use crate::spec::{BodyEnd, Design, KEY_LAND, Problem};

/// What a seat comes too near to.
pub(super) struct Near {
    /// Material that is left; negative where it runs into it.
    left: f64,
    needed: f64,
    at: [f64; 2],
    to: &'static str,
    held: Held,
    outward: f64,
}

impl Near {
    /// Whether it is the sprue, or its runner, that is too near.
    pub(super) fn is_sprue(&self) -> bool {
        self.to == "sprue"
    }

    /// Of a wire's eye that opens into the cavity, the end of the body it is at.
    pub(super) fn eye_at(&self, exit: &Exit) -> Option<BodyEnd> {
        let eye = (exit.path, self.held, self.to) == ("wire", Held::Eye, "cavity");
        eye.then_some(match self.outward < 0.0 {
            true => BodyEnd::Nose,
            false => BodyEnd::Tail,
        })
    }

    /// What to say; `cures` are what helps against the sprue, or for a wire's eye.
    pub(super) fn problem(
        &self,
        design: &Design,
        exit: &Exit,
        (size, along): (f64, f64),
        cures: &[String],
    ) -> Problem {
        let show = |mm: f64| design.units.show(mm);
        let place = format!("{} from the nose", show((self.at[0] - along) / size));
        let short = show(self.needed - self.left + 0.005);
        let what = match self.to {
            "cavity" => "a seat opens into the cavity beside where it is meant to".to_owned(),
            other if self.left < 0.0 => {
                format!("a seat runs {} into the {other}", show(-self.left))
            }
            other => format!("a seat comes too near the {other}"),
        };
        let hint = match (exit.path, self.held, self.to) {
            ("wire", Held::Eye, "cavity") => cures.join(", or "),
            (_, _, "cavity") => format!(
                "move the {} by {short} or a little more, or leave its seat out: mould.seats.{} = false",
                exit.path, exit.path
            ),
            (_, _, "neighbour") => format!("a mould.pitch larger by {short}"),
            (path, _, "bait beside it") => format!(
                "cast them in moulds of their own, or leave its seat out: mould.seats.{path} = false"
            ),
            (_, _, "sprue") => cures.join(", or "),
            (_, _, "key") => "a thicker mould.wall, or fewer keys".to_owned(),
            _ => format!("move it by {short}, or leave the vents out: mould.vents.count = 0"),
        };
        Problem::new(format!("mould.seats.{}", exit.path), what)
            .value(if self.left < 0.0 {
                format!("no material left, {place}")
            } else {
                format!("{} of material, {place}", show(self.left))
            })
            .limit(format!("at least {}", show(self.needed)))
            .hint(hint)
    }
}

/// Of each exit, whether it lies within the sprue in any cavity.
pub(super) fn fallen(sprue: &Outline, exits: &[Exit], cavities: &[f64]) -> Vec<bool> {
    let within = |p: &Point3<f64>| {
        cavities
            .iter()
            .any(|y| sprue.left([p.x, p.y + y], 0.0) < LAND)
    };
    exits.iter().map(|e| e.at.iter().any(within)).collect()
}

impl Seat {
    /// The place at which it leaves too little material, if there is one.
    pub(super) fn too_near(
        &self,
        exit: &Exit,
        own: &PlaneSection,
        (sprue, others): (&Outline, &[Outline]),
        keys: &[Key],
        (cavities, strangers): (&[f64], &[Stranger]),
    ) -> Option<Near> {
        let pocket = matches!(self.form, Form::Pocket { .. });
        // A wire that leaves at a slant takes this much longer to be clear of the surface: down to
        // about 20°.
        let slack = 3.0 * (LAND + self.radius);
        let middle = exit.at.first().map_or(0.0, |p| p.x);
        for (at, radius) in self.footprint() {
            let near = |left: f64, needed: f64, to: &'static str| {
                (left < needed - 1e-6).then_some(Near {
                    left,
                    needed,
                    at,
                    to,
                    held: self.held,
                    outward: at[0] - middle,
                })
            };
            let beyond = exit
                .at
                .iter()
                .all(|p| libm::hypot(p.x - at[0], p.y - at[1]) > slack);
            if !exit.in_sprue {
                let found = if pocket {
                    near(left(own, at, radius), EYE_LAND, "cavity")
                } else if beyond {
                    near(left(own, at, radius), LAND, "cavity")
                } else {
                    None
                };
                if found.is_some() {
                    return found;
                }
            }
            // Channels, keys and neighbours, as seen from this bait's place in each cavity.
            for (i, here) in cavities.iter().enumerate() {
                let y = at[1] + here;
                let there = [at[0], y];
                let to_sprue = (!exit.in_sprue).then_some(sprue);
                for other in others.iter().chain(to_sprue) {
                    if let Some(found) = near(other.left(there, radius), LAND, other.name) {
                        return Some(found);
                    }
                }
                for (j, other) in cavities.iter().enumerate() {
                    let from = [at[0], y - other];
                    if i != j
                        && let Some(found) = near(left(own, from, radius), LAND, "neighbour")
                    {
                        return Some(found);
                    }
                }
                for other in strangers {
                    for across in &other.across {
                        let from = [at[0], y - across];
                        let apart = |&([x, y], r): &([f64; 2], f64)| {
                            libm::hypot(from[0] - x, from[1] - y) - r - radius
                        };
                        let seats = other.taken.iter().map(apart);
                        let to_body = left(&other.plane, from, radius);
                        let least = seats.fold(to_body, f64::min);
                        if let Some(found) = near(least, LAND, "bait beside it") {
                            return Some(found);
                        }
                    }
                }
                for key in keys {
                    if let Some(found) = near(key.left(there, radius), KEY_LAND, "key") {
                        return Some(found);
                    }
                }
            }
        }
        None
    }
}
