//! What holds the halves of a printed block together, what they are opened by and told apart by:
//! bolt holes, grooves for bands, notches for a blade, names. All of it is looked for along the long sides of the
//! block, where most keys stand, clear of them and of whatever reaches there; bolts of a wide block stand
//! at its ends too.

use nalgebra::{Point3, Vector3};

use super::boxes::{ENGRAVED, LETTER};
use super::face::PartingFace;
use super::keys::{self, Key};
use super::lettering;
use super::tools::{together, turned_upright};
use super::{Parting, Problems};
use crate::mesh::{Bounds, Mesh, Solid, SolidError};
use crate::spec::{BodyEnd, Design, KEY_LAND as LAND, Problem, Route, Thread};

/// Width of a band's groove, and its greatest depth (reasoned).
const GROOVE: (f64, f64) = (8.0, 2.0);
/// A pry notch: along the edge, into the block, and up into the upper half; a screwdriver's
/// blade (reasoned).
const NOTCH: [f64; 3] = [10.0, 2.5, 2.0];
/// Least height of a letter that a print shows clearly (reasoned), and the most of a side's.
const LEAST_LETTER: f64 = 4.0;
const LETTERED: f64 = 0.5;
/// Least of the block's face beside a washer: the edge of a print is rounded (reasoned).
const RIM: f64 = 1.0;
/// How much thicker a wall is looked for that has room for bolts, and in which steps.
const THICKER: (f64, f64) = (40.0, 0.25);
/// Bolts this many times farther apart than they should be are still well enough (reasoned).
const ABOUT: f64 = 1.1;
/// Step in which places are tried.
const STEP: f64 = 0.25;

/// A bolt through both halves.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct BoltHole {
    /// Where, in the mould's x and y.
    pub at: [f64; 2],
    /// Radius of the hole.
    pub radius: f64,
    /// Radius of the washer under head or nut, which lies wholly on the block.
    pub washer: f64,
}

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

/// Diameter of the clearance hole for a bolt.
///
/// # References
/// ISO 273:1979, medium series (from memory).
pub fn clearance_hole(thread: Thread) -> f64 {
    match thread {
        Thread::M3 => 3.4,
        Thread::M4 => 4.5,
        Thread::M5 => 5.5,
        Thread::M6 => 6.6,
        Thread::M8 => 9.0,
        Thread::M10 => 11.0,
    }
}

/// Outside diameter of the plain washer under a bolt's head.
///
/// # References
/// ISO 7089:2000, normal series (from memory).
pub fn washer(thread: Thread) -> f64 {
    match thread {
        Thread::M3 => 7.0,
        Thread::M4 => 9.0,
        Thread::M5 => 10.0,
        Thread::M6 => 12.0,
        Thread::M8 => 16.0,
        Thread::M10 => 20.0,
    }
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
                problems.push(no_bolts(design, thread, block, face, cavity));
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

/// A line of bolts along an edge of the block.
struct Edge {
    /// The axis it is square to: 1 of the long sides, 0 of the ends.
    across: usize,
    /// Where the middles of the bolts lie along that axis.
    line: f64,
    /// Stretches along it in which the cavity leaves them no room.
    near: Vec<[f64; 2]>,
}

/// What bolts are fitted to: their sizes, and what they keep clear of.
struct Bolting<'a> {
    radius: f64,
    washer: f64,
    block: &'a Bounds,
    keys: &'a [Key],
    cavity: &'a Mesh,
}

impl<'a> Bolting<'a> {
    fn new(thread: Thread, block: &'a Bounds, keys: &'a [Key], cavity: &'a Mesh) -> Self {
        Bolting {
            radius: 0.5 * clearance_hole(thread),
            washer: 0.5 * washer(thread),
            block,
            keys,
            cavity,
        }
    }

    /// How far the middle of a bolt lies from the edge.
    fn inset(&self) -> f64 {
        self.washer + RIM
    }

    fn edge(&self, across: usize, at: f64, inward: f64) -> Edge {
        let inset = self.inset();
        // The cavity must end short of the holes.
        let deep = inset + self.radius + LAND;
        Edge {
            across,
            line: at + inward * inset,
            near: reaching(self.cavity, across, at, inward, deep),
        }
    }

    /// The long sides, −y first, and the ends, the nose first.
    fn edges(&self) -> [Edge; 4] {
        let (min, max) = (self.block.min, self.block.max);
        [
            self.edge(1, min.y, 1.0),
            self.edge(1, max.y, -1.0),
            self.edge(0, min.x, 1.0),
            self.edge(0, max.x, -1.0),
        ]
    }

    /// A bolt at a place along an edge, if there is room for it.
    fn at<'b>(
        &self,
        edge: &Edge,
        along: f64,
        mut others: impl Iterator<Item = &'b BoltHole>,
    ) -> Option<BoltHole> {
        let (radius, washer, block) = (self.radius, self.washer, self.block);
        let mut at = [along; 2];
        at[edge.across] = edge.line;
        let inset = self.inset() - 1e-9;
        let within = (0..2).all(|k| at[k] - inset > block.min[k] && at[k] + inset < block.max[k]);
        let from_cavity = radius + LAND;
        let beside = |t: &[f64; 2]| along + from_cavity < t[0] || along - from_cavity > t[1];
        let clear = |key: &Key| key.left(at, radius) >= LAND - 1e-9;
        let apart =
            |bolt: &BoltHole| libm::hypot(at[0] - bolt.at[0], at[1] - bolt.at[1]) >= 2.0 * washer;
        let has_room = within
            && edge.near.iter().all(beside)
            && self.keys.iter().all(clear)
            && others.all(apart);
        has_room.then_some(BoltHole { at, radius, washer })
    }

    /// Four bolts near the corners, or as many of them as have room: each hole as far out as its
    /// washer still lies on the block. Those of −y come first, and of each side that at the nose.
    fn corners(&self) -> Vec<BoltHole> {
        let mut bolts: Vec<BoltHole> = Vec::new();
        for edge in &self.edges()[..2] {
            for places in [ends(self.block, 1.0), ends(self.block, -1.0)] {
                let mut places = places.map(|(from, step)| from + step * self.inset());
                bolts.extend(places.find_map(|x| self.at(edge, x, bolts.iter())));
            }
        }
        bolts
    }

    /// Further bolts between the two corners of an edge, as evenly as what is in the way lets them,
    /// and how far apart neighbours then are at most.
    fn between(&self, edge: &Edge, side: usize, holding: &Holding) -> (Vec<BoltHole>, f64) {
        let along = 1 - edge.across;
        let corners = [[0, 1], [2, 3], [0, 2], [1, 3]][side];
        let [from, to] = corners.map(|i| holding.bolts[i].at[along]);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let wanted = (((to - from) / keys::MOST_APART - 1e-9).ceil().max(1.0) as usize) - 1;
        let beside = |bolt: &BoltHole| {
            let mut grooves = holding.grooves.iter();
            grooves.all(|&(from, to, _)| {
                bolt.at[0] + bolt.washer <= from || bolt.at[0] - bolt.washer >= to
            })
        };
        let attempt = |count: usize| {
            let pitch = (to - from) / (count + 1) as f64;
            let mut found: Vec<BoltHole> = Vec::new();
            for i in 1..=count {
                let mut places = around(from + pitch * i as f64, 0.5 * pitch);
                found.extend(places.find_map(|place| {
                    let others = holding.bolts.iter().chain(&found);
                    self.at(edge, place, others).filter(beside)
                }));
            }
            let mut places: Vec<f64> = found.iter().map(|bolt| bolt.at[along]).collect();
            places.extend([from, to]);
            places.sort_by(f64::total_cmp);
            let gaps = places.windows(2).map(|w| w[1] - w[0]);
            (found, gaps.fold(0.0, f64::max))
        };
        // One more may find the room that a fewer did not.
        let mut best = attempt(wanted);
        for count in wanted + 1..=2 * wanted + 1 {
            if best.1 <= ABOUT * keys::MOST_APART {
                break;
            }
            let next = attempt(count);
            if next.1 < best.1 - 1e-9 {
                best = next;
            }
        }
        best
    }
}

fn no_bolts(
    design: &Design,
    thread: Thread,
    block: &Bounds,
    face: &PartingFace,
    cavity: &Mesh,
) -> Problem {
    let show = |mm: f64| design.units.show(mm);
    let problem = Problem::new(
        "mould.bolts",
        "there is no room for four bolts with their washers clear of cavity, channels and keys",
    )
    .value(format!(
        "{thread:?}, a hole of {}, a washer of {}",
        show(clearance_hole(thread)),
        show(washer(thread))
    ));
    match wall_for_bolts(design, thread, block, face, cavity) {
        Some(wall) => problem
            .limit(format!("a mould.wall of at least {}", show(wall + 0.005)))
            .hint("take thinner bolts or a thicker wall"),
        None => problem.hint("take thinner bolts, fewer keys or a longer block"),
    }
}

/// The least thicker wall with room for the bolts, found by trying: the block grows by as much on
/// every side, the channels' ends with it.
fn wall_for_bolts(
    design: &Design,
    thread: Thread,
    block: &Bounds,
    face: &PartingFace,
    cavity: &Mesh,
) -> Option<f64> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let steps = (THICKER.0 / THICKER.1) as usize;
    let has_room = |by: f64, at_sprue: f64| {
        let mut design = design.clone();
        design.mould.wall += by;
        let mut grown = *block;
        let [nose, tail] = match design.mould.sprue_end {
            BodyEnd::Nose => [at_sprue, by],
            BodyEnd::Tail => [by, at_sprue],
        };
        grown.min -= Vector3::new(nose, by, 0.0);
        grown.max += Vector3::new(tail, by, 0.0);
        let mut open = cavity.clone();
        for p in &mut open.points {
            for k in 0..2 {
                if p[k] <= block.min[k] + 1e-9 {
                    p[k] = grown.min[k];
                } else if p[k] >= block.max[k] - 1e-9 {
                    p[k] = grown.max[k];
                }
            }
        }
        let all = keys::likely(&design, &grown, face);
        let four = |keys: &Vec<Key>| Bolting::new(thread, &grown, keys, &open).corners().len() == 4;
        !all.is_empty() && all.iter().all(four)
    };
    let thicker = (1..=steps).map(|i| THICKER.1 * i as f64);
    // Beside a deep funnel the wall at the sprue does not grow.
    let mut enough = thicker.filter(|&by| has_room(by, by) && has_room(by, 0.0));
    // The block is a whole number of tenths of a millimetre, which may take one.
    enough.next().map(|by| design.mould.wall + by + 0.1)
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

    #[test]
    fn holes_are_those_of_the_standard() {
        // ISO 273:1979, medium series (from memory); twice within a millimetre and a bit over
        // the thread.
        let table = [
            (Thread::M3, 3.0, 3.4),
            (Thread::M4, 4.0, 4.5),
            (Thread::M5, 5.0, 5.5),
            (Thread::M6, 6.0, 6.6),
            (Thread::M8, 8.0, 9.0),
            (Thread::M10, 10.0, 11.0),
        ];
        for (thread, nominal, hole) in table {
            assert_eq!(clearance_hole(thread), hole);
            assert!(hole / nominal > 1.09 && hole / nominal < 1.14, "{thread:?}");
            // ISO 7089: about twice the thread, and wider than a hexagon head of ISO 4017 across its
            // flats (5.5, 7, 8, 10, 13, 16; both from memory).
            assert!(washer(thread) / nominal >= 2.0 && washer(thread) / nominal < 2.4);
        }
    }
}
