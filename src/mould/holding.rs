//! What holds the halves of a printed block together, what they are opened by and told apart by:
//! bolt holes, grooves for bands, notches for a blade, names. All of it is looked for along the long sides of the
//! block, where most keys stand, clear of them and of whatever reaches there; bolts of a wide block stand
//! at its ends too.

mod bolts;

use nalgebra::Point3;

use self::bolts::{ABOUT, Bolting, no_bolts};
pub use self::bolts::{BoltHole, clearance_hole, washer};
use super::boxes::{ENGRAVED, LETTER};
use super::face::PartingFace;
use super::keys::{self, Key};
use super::lettering;
use super::tools::{together, turned_upright};
use super::{Parting, Problems};
use crate::mesh::{Bounds, Mesh, Solid, SolidError};
use crate::spec::{Design, KEY_LAND as LAND, Problem, Route};

/// Width of a band's groove, and its greatest depth (reasoned).
const GROOVE: (f64, f64) = (8.0, 2.0);
/// A pry notch: along the edge, into the block, and up into the upper half; a screwdriver's
/// blade (reasoned).
const NOTCH: [f64; 3] = [10.0, 2.5, 2.0];
/// Least height of a letter that a print shows clearly (reasoned), and the most of a side's.
const LEAST_LETTER: f64 = 4.0;
const LETTERED: f64 = 0.5;
/// Step in which places are tried.
const STEP: f64 = 0.25;

/// What the halves of a mould are called, upper and lower.
pub(super) fn names(parting: Parting) -> [&'static str; 2] {
    match parting {
        Parting::Flank => ["left", "right"],
        Parting::Waist => ["back", "belly"],
    }
}

/// What lies across the parting face, towards −y and towards +y.
fn across(parting: Parting) -> [&'static str; 2] {
    match parting {
        Parting::Flank => ["back", "belly"],
        Parting::Waist => ["right", "left"],
    }
}

/// The name of a half, sunk into its side towards −y; it reads upright as the closed mould lies.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Name {
    /// The name in capitals.
    pub text: String,
    /// The middle of the line, in the mould's x and z.
    pub at: [f64; 2],
    /// Height of a capital.
    pub height: f64,
}

impl Name {
    fn line(&self, edge: f64) -> lettering::Line<'_> {
        lettering::Line {
            text: &self.text,
            height: self.height,
            face: [edge, self.at[0], self.at[1]],
            depth: ENGRAVED,
        }
    }
}

/// What holds and opens a mould.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Holding {
    /// Holes for bolts.
    pub bolts: Vec<BoltHole>,
    /// Grooves for bands: from and to along x, and how deep.
    pub grooves: Vec<(f64, f64, f64)>,
    /// Notches to pry at, in the upper half: z over the parting face.
    pub notches: Vec<Bounds>,
    /// Names of the halves, upper and lower, where there is room.
    pub names: [Option<Name>; 2],
    /// What the maker should know of them.
    pub notes: Vec<String>,
}

/// Stretches along x that are taken, on the side of −y and of +y.
struct Taken([Vec<[f64; 2]>; 2]);

impl Taken {
    fn is_free(&self, side: usize, from: f64, to: f64) -> bool {
        self.0[side].iter().all(|t| to < t[0] || from > t[1])
    }

    fn take(&mut self, side: usize, from: f64, to: f64) {
        self.0[side].push([from - LAND, to + LAND]);
    }
}

impl Holding {
    /// Finds places for what is asked; `cavity` is everything that is cast.
    pub(super) fn plan(
        design: &Design,
        block: &Bounds,
        keys: &[Key],
        face: &PartingFace,
        cavity: &Mesh,
    ) -> Result<Self, Problems> {
        let mould = &design.mould;
        let mut holding = Holding::default();
        if mould.route != Route::Block {
            return Ok(holding);
        }
        let mut problems = Vec::new();
        let mut taken = Taken([Vec::new(), Vec::new()]);
        let sides = [(0, block.min.y, 1.0), (1, block.max.y, -1.0)];
        for key in keys {
            let ([x, y], [along, across]) = (key.at, key.reach());
            for (side, edge, inward) in sides {
                // Those at the ends stand clear of the sides.
                if (y - edge) * inward - across < NOTCH[1] + LAND {
                    taken.take(side, x - along, x + along);
                }
            }
        }
        let bolting = mould
            .bolts
            .map(|thread| Bolting::new(thread, block, keys, cavity));
        let lies = |bolt: &BoltHole, taken: &mut Taken| {
            let side = usize::from(bolt.at[1] > block.centre().y);
            taken.take(side, bolt.at[0] - bolt.radius, bolt.at[0] + bolt.radius);
        };
        if let (Some(thread), Some(bolting)) = (mould.bolts, &bolting) {
            holding.bolts = bolting.corners();
            if holding.bolts.len() < 4 {
                problems.push(no_bolts(design, thread));
            }
            for bolt in &holding.bolts {
                lies(bolt, &mut taken);
            }
        }
        if mould.bands {
            let length = block.size().x;
            let depth = GROOVE.1.min(mould.wall / 3.0);
            for share in [0.25, 0.75] {
                let wanted = block.min.x + share * length;
                let half = 0.5 * GROOVE.0;
                // A washer lies beside the groove.
                let beside = |bolt: &BoltHole, x: f64| (bolt.at[0] - x).abs() >= half + bolt.washer;
                let place = around(wanted, 0.25 * length).find(|&x| {
                    (0..2).all(|side| taken.is_free(side, x - half, x + half))
                        && holding.bolts.iter().all(|bolt| beside(bolt, x))
                });
                match place {
                    Some(x) => {
                        for side in 0..2 {
                            taken.take(side, x - half, x + half);
                        }
                        holding.grooves.push((x - half, x + half, depth));
                    }
                    None => {
                        problems.push(
                            Problem::new(
                                "mould.bands",
                                "the keys leave no room for a band's groove",
                            )
                            .limit(format!(
                                "{} along the block",
                                design.units.show(GROOVE.0 + 2.0 * LAND)
                            ))
                            .hint("ask for fewer keys, or a thicker mould.wall"),
                        );
                        break;
                    }
                }
            }
        }
        if let (Some(bolting), [_, _, _, _]) = (&bolting, &holding.bolts[..]) {
            for (side, edge) in bolting.edges().into_iter().enumerate() {
                let (between, widest) = bolting.between(&edge, side, &holding);
                if side < 2 {
                    between.iter().for_each(|bolt| lies(bolt, &mut taken));
                }
                holding.bolts.extend(between);
                if widest > ABOUT * keys::MOST_APART {
                    let [upper, lower] = across(mould.parting);
                    let place = [upper, lower, "nose", "tail"][side];
                    holding.notes.push(format!(
                        "Along the block's {} at the {place} two bolts are {} apart, with no room for one between \
                         them: hold the halves together there with a clamp, or the mould gapes and flashes.",
                        if side < 2 { "side" } else { "end" },
                        design.units.show(widest)
                    ));
                }
            }
        }
        if mould.notches != Some(false) {
            for (side, edge, inward) in sides {
                for at in reaching(cavity, 1, edge, inward, NOTCH[1] + LAND) {
                    taken.take(side, at[0], at[1]);
                }
                // The two lie at opposite corners as far as they can.
                let toward = if side == 0 { -1.0 } else { 1.0 };
                let place = ends(block, toward).find_map(|(end, step)| {
                    let (a, b) = (end, end + step * NOTCH[0]);
                    let (from, to) = (a.min(b), a.max(b));
                    let within = from >= block.min.x - 1e-9 && to <= block.max.x + 1e-9;
                    (within && taken.is_free(side, from, to)).then_some((from, to))
                });
                if let Some((from, to)) = place {
                    taken.take(side, from, to);
                    let (a, b) = (edge, edge + inward * NOTCH[1]);
                    holding.notches.push(Bounds {
                        min: Point3::new(from, a.min(b), 0.0),
                        max: Point3::new(to, a.max(b), NOTCH[2]),
                    });
                } else if mould.notches == Some(true) {
                    problems.push(
                        Problem::new("mould.notches", "the keys leave no room to pry at")
                            .limit(format!(
                                "{} along the edge of the block",
                                design.units.show(NOTCH[0] + LAND)
                            ))
                            .hint("ask for fewer keys, or a thicker mould.wall"),
                    );
                    break;
                }
            }
        }
        for at in reaching(cavity, 1, block.min.y, 1.0, ENGRAVED + LAND) {
            taken.take(0, at[0], at[1]);
        }
        holding.names = lettered(block, face, &taken, names(mould.parting));
        if problems.is_empty() {
            Ok(holding)
        } else {
            Err(Problems(problems))
        }
    }

    /// What is cut from the upper half and from the lower, reaching beyond the block, with the
    /// parting face drawn level.
    pub(super) fn tools(
        &self,
        block: &Bounds,
        face: &PartingFace,
        tolerance: f64,
    ) -> Result<[Option<Solid>; 2], SolidError> {
        const BEYOND: f64 = 1.0;
        // Upright holes stay as they are when the parting face is drawn level.
        let [lowest, highest] = face.range();
        let mut through: Vec<Mesh> = self
            .bolts
            .iter()
            .map(|bolt| {
                let ends = [
                    (block.min.z - highest - BEYOND, bolt.radius),
                    (block.max.z - lowest + BEYOND, bolt.radius),
                ];
                turned_upright(bolt.at, &ends, tolerance)
            })
            .collect();
        for &(from, to, depth) in &self.grooves {
            through.push(face.level(ring(block, from, to, depth, BEYOND)?));
        }
        let notches = self.notches.iter().map(|notch| {
            let mut cut = *notch;
            cut.min.z -= BEYOND;
            // Out through the face it lies at, and through the end if it lies there.
            for k in 0..2 {
                if cut.min[k] <= block.min[k] + 1e-9 {
                    cut.min[k] -= BEYOND;
                }
                if cut.max[k] >= block.max[k] - 1e-9 {
                    cut.max[k] += BEYOND;
                }
            }
            cut.to_mesh()
        });
        let mut cuts = [through.iter().cloned().chain(notches).collect(), through];
        for (cut, name) in cuts.iter_mut().zip(&self.names) {
            if let Some(name) = name {
                let letters = name.line(block.min.y).on_front()?;
                cut.extend(letters.iter().map(|letter| face.level(letter.to_mesh())));
            }
        }
        let solid = |meshes: Vec<Mesh>| (!meshes.is_empty()).then(|| together(&meshes)).transpose();
        let [upper, lower] = cuts;
        Ok([solid(upper)?, solid(lower)?])
    }
}

/// Names of the upper and the lower half, as large as there is room for, near the middle.
fn lettered(
    block: &Bounds,
    face: &PartingFace,
    taken: &Taken,
    names: [&'static str; 2],
) -> [Option<Name>; 2] {
    let [lowest, highest] = face.between(block.min.x, block.max.x);
    let sides = [(highest, block.max.z), (block.min.z, lowest)];
    [0, 1].map(|k| {
        let (foot, top) = sides[k];
        let most = LETTER.min(LETTERED * (top - foot));
        let heights = [most, 0.5 * (most + LEAST_LETTER), LEAST_LETTER];
        let at = |height: f64| {
            let mut name = Name {
                text: names[k].to_uppercase(),
                at: [0.0, 0.5 * (foot + top)],
                height,
            };
            let half = 0.5 * name.line(block.min.y).length();
            let within = 0.5 * block.size().x - half - LAND;
            if within < 0.0 {
                return None;
            }
            name.at[0] =
                around(block.centre().x, within).find(|&x| taken.is_free(0, x - half, x + half))?;
            Some(name)
        };
        if most < LEAST_LETTER {
            return None;
        }
        heights.into_iter().find_map(at)
    })
}

/// A frame round the block, for a groove of this depth.
fn ring(block: &Bounds, from: f64, to: f64, depth: f64, beyond: f64) -> Result<Mesh, SolidError> {
    let slice = |grow: f64, lengthen: f64| Bounds {
        min: Point3::new(from - lengthen, block.min.y - grow, block.min.z - grow),
        max: Point3::new(to + lengthen, block.max.y + grow, block.max.z + grow),
    };
    let outer = Solid::try_from(&slice(beyond, 0.0).to_mesh())?;
    let inner = Solid::try_from(&slice(-depth, beyond).to_mesh())?;
    Ok(outer.difference(&inner)?.to_mesh())
}

/// Places from one end of the block inwards, each with the direction it is gone in: from the
/// nose's end (1) or the tail's (−1).
fn ends(block: &Bounds, toward: f64) -> impl Iterator<Item = (f64, f64)> {
    let start = if toward > 0.0 {
        block.min.x
    } else {
        block.max.x
    };
    let length = block.size().x;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let count = (0.5 * length / STEP) as usize;
    (0..=count).map(move |i| (start + toward * STEP * i as f64, toward))
}

/// Places around one, nearest first.
fn around(at: f64, within: f64) -> impl Iterator<Item = f64> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let count = (within / STEP) as usize;
    (0..=count).flat_map(move |i| [1.0, -1.0].map(|s| at + s * STEP * i as f64))
}

/// Stretches along an edge of the block, which lies square to axis `across`, in which the cavity
/// comes within `depth` of it.
fn reaching(cavity: &Mesh, across: usize, edge: f64, inward: f64, depth: f64) -> Vec<[f64; 2]> {
    let limit = edge + inward * depth;
    (0..cavity.triangles.len())
        .filter_map(|t| Bounds::of(&cavity.corners(t)))
        .filter(|b| {
            if inward > 0.0 {
                b.min[across] < limit
            } else {
                b.max[across] > limit
            }
        })
        .map(|b| [b.min[1 - across], b.max[1 - across]])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_left_out_where_a_side_is_too_low_or_taken() {
        let block = |half: f64| Bounds {
            min: Point3::new(-20.0, -15.0, -half),
            max: Point3::new(80.0, 15.0, 2.0 * half),
        };
        let free = || Taken([Vec::new(), Vec::new()]);
        let heights = |half: f64, taken: Taken| {
            let names = lettered(
                &block(half),
                &PartingFace::default(),
                &taken,
                ["back", "belly"],
            );
            names.map(|name| name.map(|n| n.height))
        };
        assert_eq!(heights(7.9, free()), [Some(7.9), None]);
        assert_eq!(heights(8.0, free()), [Some(8.0), Some(4.0)]);
        assert_eq!(heights(30.0, free()), [Some(9.0), Some(9.0)]);
        // Room for BELLY at 4 mm is 16.4 mm long; it shrinks as far as that and no farther.
        let between = |room: f64| Taken([vec![[-20.0, 20.0], [20.0 + room, 80.0]], Vec::new()]);
        assert_eq!(heights(30.0, between(17.0)), [Some(4.0), Some(4.0)]);
        assert_eq!(heights(30.0, between(12.5)), [None, None]);
    }
}
