//! The parting face: flat, or, at the waist, ruled along a cambered body and stepped to fins.
//!
//! # The course
//! z = h(x), straight across the mould: h runs through the spine at the rings of the master, with
//! straight lines between them, goes on as the spine leaves the tail under whatever stands behind
//! it, and is level beyond, so that sprue and vents leave the block on a level strip.
//!
//! # Steps
//! Where a pair of fins stands out of it, it leaves its course and follows them: see [`steps`].
//!
//! # Drawn level
//! Taking the face out, z' = z − F(x, y), shears a body upright: lines along the pull stay where they
//! are, so the opening is judged as before; sections square to x only move; volumes stay. What
//! is cut into halves, keys and channels included, is made of solids *drawn level*, whose
//! parting face is exactly z' = 0, and raised again when done. Between the knots of h and the
//! lines of the steps both ways are affine, so meshes divided there are exact.

mod steps;

use nalgebra::Point3;

use self::steps::{Left, Step};
use crate::body::{Body, paired_planes};
use crate::mesh::solid::MENDED;
use crate::mesh::{Bounds, Mesh, Solid, SolidError};
use crate::spec::{BodyEnd, Design, Parting};

/// Least distance between two knots, in mm: nearer, strips would be needles.
const APART: f64 = 1e-3;
/// A point of the master this near to the spine's height, in mm, lies on the waist.
const ON_SPINE: f64 = 1e-9;
/// Points this near to the face, in mm, lie in it once it is drawn level: the spine bends by
/// less between the rings of the master and the knots.
const ON_FACE: f64 = 1e-6;

/// Where a bend of the face runs beside a point that mending has moved, two lines are cut as near to
/// each other: triangles slimmer than this, in mm, are taken away. It is as fine as single precision,
/// in which files are written, holds apart at a hundred millimetres.
const SLIM: f64 = 10.0 * MENDED;
/// A step is made if it takes away more than this share of what holds the halves (reasoned).
const WORTH: f64 = 0.05;

/// The face along which a mould parts, in the mould's axes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PartingFace {
    /// Knots (x, z) of its course by rising x; none where that is the plane z = 0.
    knots: Vec<[f64; 2]>,
    /// Where it leaves its course for a fin.
    steps: Vec<Step>,
    /// Pairs of fins that stand out of it all the same.
    left: Vec<Unfollowed>,
}

/// A pair of fins that the parting face does not follow, though they stand out of it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Unfollowed {
    /// Field path of the fin.
    pub path: String,
    /// Why.
    pub why: Why,
}

impl Unfollowed {
    /// The same of another bait, by its name.
    fn of(&self, name: &str) -> Self {
        let named = |path: &str| format!("{name}, {path}");
        Unfollowed {
            path: named(&self.path),
            why: match &self.why {
                Why::HoldsMore(Some(other)) => Why::HoldsMore(Some(named(other))),
                why => why.clone(),
            },
        }
    }
}

/// Why the parting face does not follow a pair of fins.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Why {
    /// It stands so many degrees out of the waist.
    TooSteep(f64),
    /// The face would hold more by following it than it frees: in the way is the step to this
    /// other pair, if it is one.
    HoldsMore(Option<String>),
    /// The body is too slim there, or the step would not come back to its course.
    NoRoom,
    /// With a step to it the mould did not come out sound.
    Unsound,
}

impl PartingFace {
    /// The face of the waist around a body: flat, unless the body is cambered or fins stand out of
    /// the waist. `master` is in the body's axes, as the body is.
    pub fn waist(design: &Design, body: &Body, master: &Mesh) -> Self {
        let mut face = PartingFace {
            knots: Self::course(design, body, master),
            ..Self::default()
        };
        let mut fins = paired_planes(design, body);
        // The larger of two that cannot both be followed.
        fins.sort_by(|a, b| b.area().total_cmp(&a.area()));
        let held = |face: &Self| {
            let undercuts = face.undercuts(face.divided(master.clone()), design.tolerance);
            let held = undercuts.found.iter().map(|u| u.depth * u.area);
            held.sum::<f64>()
        };
        let mut least = None;
        for fin in &fins {
            let left = |why| Unfollowed {
                path: fin.path.clone(),
                why,
            };
            let pair = match Step::pair(fin, &|x| face.along(x), design.tolerance) {
                Ok(pair) => pair,
                Err(Left::Lies) => continue,
                Err(Left::Steep(degrees)) => {
                    face.left.push(left(Why::TooSteep(degrees)));
                    continue;
                }
                Err(Left::NoRoom) => {
                    face.left.push(left(Why::NoRoom));
                    continue;
                }
            };
            let mut with = face.clone();
            with.steps.extend(pair);
            // Not if the face would leave another fin, or come out of the body beside this one.
            let before = *least.get_or_insert_with(|| held(&face));
            if before <= 0.0 {
                // A spine between two bends, a slight lean: nothing is held all the same.
                continue;
            }
            let now = held(&with);
            if now < (1.0 - WORTH) * before {
                (face, least) = (with, Some(now));
            } else {
                let own = &with.steps[face.steps.len()..];
                let crossed = face.steps.iter().find(|s| own.iter().any(|o| o.meets(s)));
                let crossed = crossed.map(|step| step.path.clone());
                face.left.push(left(Why::HoldsMore(crossed)));
            }
        }
        if design.mould.steps {
            face
        } else {
            face.unstepped()
        }
    }

    /// The same without its steps, since the mould did not come out sound with them.
    fn unstepped(mut self) -> Self {
        let left = self.followed().into_iter().map(|path| Unfollowed {
            path: path.to_owned(),
            why: Why::Unsound,
        });
        let left: Vec<Unfollowed> = left.collect();
        self.left.extend(left);
        self.steps.clear();
        self
    }

    /// The knots of the course around a body.
    fn course(design: &Design, body: &Body, master: &Mesh) -> Vec<[f64; 2]> {
        if body.camber.is_none() {
            return Vec::new();
        }
        let length = body.length();
        let on_waist = |p: &&Point3<f64>| {
            p.y != 0.0
                && p.x > APART
                && p.x < length - APART
                && (p.z - body.spine(p.x)).abs() < ON_SPINE
        };
        let rings = master.points.iter().filter(on_waist).map(|p| p.x);
        let mut places: Vec<f64> = rings.collect();
        places.sort_by(f64::total_cmp);
        let mut knots = vec![[0.0, body.spine(0.0)]];
        for to in places.into_iter().chain([length]) {
            let from = knots[knots.len() - 1];
            if to - from[0] >= APART {
                let to = [to, body.spine(to)];
                follow(body, from, to, design.tolerance, &mut knots);
            }
        }
        let behind = master.bounds().map_or(length, |b| b.max.x);
        // The sprue leaves level; so does a collar.
        let level = design.mould.sprue_end == BodyEnd::Tail || !body.collar.is_empty();
        if behind > length + APART && !level {
            let rise = body.spine(length) + body.slope_behind() * (behind - length);
            knots.push([behind, rise]);
        }
        if knots.iter().all(|k| k[1] == 0.0) {
            knots.clear();
        }
        knots
    }

    /// The face of a mould that parts as the design says: [`PartingFace::waist`], or the plane of
    /// the flank.
    pub fn of(design: &Design, body: &Body, master: &Mesh) -> Self {
        match design.mould.parting {
            Parting::Waist => Self::waist(design, body, master),
            Parting::Flank => Self::default(),
        }
    }

    /// The same around several baits, so far across from the body's own place.
    pub(super) fn around(&self, offsets: &[f64]) -> Self {
        let mut face = PartingFace {
            steps: Vec::new(),
            ..self.clone()
        };
        for &aside in offsets {
            let moved = self.steps.iter().map(|step| step.moved([0.0, aside]));
            face.steps.extend(moved);
        }
        face
    }

    /// Takes on the steps of the face of another bait, so far along and across.
    pub(super) fn follow_too(&mut self, name: &str, other: &Self, along: f64, offsets: &[f64]) {
        for &aside in offsets {
            let moved = other.steps.iter().map(|step| {
                let path = format!("{name}, {}", step.path);
                step.moved([along, aside]).called(path)
            });
            self.steps.extend(moved);
        }
        self.left
            .extend(other.left.iter().map(|left| left.of(name)));
    }

    /// Tells that the fins of another bait are not followed: each for its own reason, and those that
    /// its face follows since the mould did not come out sound.
    pub(super) fn leave(&mut self, name: &str, other: &Self) {
        let other = other.clone().unstepped();
        self.left
            .extend(other.left.iter().map(|left| left.of(name)));
    }

    /// Whether it is the plane z = 0.
    pub fn is_flat(&self) -> bool {
        self.knots.is_empty() && self.steps.is_empty()
    }

    /// Whether it steps aside for fins.
    pub fn has_steps(&self) -> bool {
        !self.steps.is_empty()
    }

    /// Whether its course is bowed, apart from any steps.
    pub fn is_bowed(&self) -> bool {
        !self.knots.is_empty()
    }

    /// Field paths of the fins it steps aside for; those of other baits come after their names.
    pub fn followed(&self) -> Vec<&str> {
        let mut all: Vec<&str> = self.steps.iter().map(|step| &step.path[..]).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// Pairs of fins that stand out of it all the same.
    pub fn unfollowed(&self) -> &[Unfollowed] {
        &self.left
    }

    /// Boxes round where it may be off its course in plan, as high as the plates there.
    pub(super) fn stepped(&self) -> Mesh {
        let mut all = Mesh::default();
        for step in &self.steps {
            all.append(&step.bounds().to_mesh());
        }
        all
    }

    /// Whether it is off its course within a round place.
    pub(super) fn is_stepped(&self, [x, y]: [f64; 2], radius: f64) -> bool {
        (0..8).any(|k| {
            let (sin, cos) = libm::sincos(f64::from(k) * std::f64::consts::FRAC_PI_4);
            let x = x + radius * cos;
            (self.height(x, y + radius * sin) - self.along(x)).abs() > ON_FACE
        })
    }

    /// Its height over z = 0.
    pub fn height(&self, x: f64, y: f64) -> f64 {
        let course = self.along(x);
        course + steps::adds(&self.steps, [x, y], course)
    }

    /// The height of its course.
    pub(super) fn along(&self, x: f64) -> f64 {
        let i = self.knots.partition_point(|k| k[0] <= x);
        match (i.checked_sub(1).map(|i| self.knots[i]), self.knots.get(i)) {
            (Some([from, low]), Some([to, high])) => low + (x - from) / (to - from) * (high - low),
            (Some([_, z]), None) | (None, Some(&[_, z])) => z,
            (None, None) => 0.0,
        }
    }

    /// The face of the same mould turned upside down about x.
    pub(super) fn turned(&self) -> Self {
        PartingFace {
            knots: self.knots.iter().map(|&[x, z]| [x, 0.0 - z]).collect(),
            steps: self.steps.iter().map(Step::turned).collect(),
            left: self.left.clone(),
        }
    }

    /// Its course from one place along x to another, as it is along the block's sides: corners
    /// (x, z), both ends among them.
    pub(crate) fn profile(&self, from: f64, to: f64) -> Vec<[f64; 2]> {
        let inside = |k: &&[f64; 2]| k[0] > from + APART && k[0] < to - APART;
        std::iter::once([from, self.along(from)])
            .chain(self.knots.iter().filter(inside).copied())
            .chain([[to, self.along(to)]])
            .collect()
    }

    /// Least and greatest height of its course between two places along x.
    pub(super) fn between(&self, from: f64, to: f64) -> [f64; 2] {
        let within = self.knots.iter().filter(|k| k[0] > from && k[0] < to);
        let ends = [self.along(from), self.along(to)];
        within
            .map(|k| k[1])
            .fold([ends[0].min(ends[1]), ends[0].max(ends[1])], |[l, h], z| {
                [l.min(z), h.max(z)]
            })
    }

    /// Its least and its greatest height.
    pub fn range(&self) -> [f64; 2] {
        let course = self.between(f64::NEG_INFINITY, f64::INFINITY);
        // Where it bends are its lowest and its highest places.
        let plans = self.steps.iter().map(Step::plan);
        let bends = plans.flat_map(|plan| self.divided(plan).points);
        bends.fold(course, |[low, high], p| {
            let z = self.height(p.x, p.y);
            [low.min(z), high.max(z)]
        })
    }

    /// A mesh in the mould's axes with the face drawn level: divided where it bends and sheared
    /// upright, which keeps volumes and what lies over what.
    pub fn level(&self, mesh: Mesh) -> Mesh {
        if self.is_flat() {
            return mesh;
        }
        self.lowered(self.divided(mesh)).without_needles(MENDED)
    }

    /// A shallow channel, drawn level, as much deeper as the face is steep: square to the face it is
    /// as deep as it was drawn, or a little deeper next to a bend. A bow alone is too gentle to
    /// matter, and as many depths as it has bends would leave slivers at each.
    pub(super) fn deepened(&self, channel: Mesh) -> Mesh {
        if !self.has_steps() {
            return channel;
        }
        let mut channel = self.divided(channel);
        for p in &mut channel.points {
            p.z *= self.stretch(p.x, p.y);
        }
        channel.without_needles(MENDED)
    }

    /// How much longer it is than its plan, at most, close to a place.
    fn stretch(&self, x: f64, y: f64) -> f64 {
        /// How near, in mm, and the step of differences.
        const NEAR: (f64, f64) = (1e-3, 1e-4);
        let steepest = (0..8).map(|k| {
            let (sin, cos) = libm::sincos(f64::from(k) * std::f64::consts::FRAC_PI_4);
            let (x, y) = (x + NEAR.0 * cos, y + NEAR.0 * sin);
            let rise = [
                self.height(x + NEAR.1, y) - self.height(x - NEAR.1, y),
                self.height(x, y + NEAR.1) - self.height(x, y - NEAR.1),
            ];
            libm::hypot(rise[0], rise[1]) / (2.0 * NEAR.1)
        });
        libm::hypot(1.0, steepest.fold(0.0, f64::max))
    }

    /// A mesh divided where the face bends.
    pub(super) fn divided(&self, mesh: Mesh) -> Mesh {
        let places: Vec<f64> = self.knots.iter().map(|k| k[0]).collect();
        steps::divided(&self.steps, mesh.split_along_x(&places), |x| self.along(x))
    }

    /// A mesh drawn level made ready to be raised point by point.
    pub(super) fn ready(&self, mesh: Mesh) -> Mesh {
        if self.is_flat() {
            return mesh;
        }
        // Needles are taken away where it will be: drawn level a needle that lies along a bend of
        // the face could be turned across it at no cost.
        self.lowered(self.raised(self.divided(mesh)).without_needles(SLIM))
    }

    /// The points of a divided mesh with the face drawn level.
    pub(super) fn lowered(&self, mut mesh: Mesh) -> Mesh {
        if self.is_flat() {
            return mesh;
        }
        for p in &mut mesh.points {
            p.z -= self.height(p.x, p.y);
            if p.z.abs() < ON_FACE {
                p.z = 0.0;
            }
        }
        mesh
    }

    /// The points of a mesh that is [`PartingFace::ready`] back in the mould's axes.
    pub(super) fn raised(&self, mut mesh: Mesh) -> Mesh {
        if self.is_flat() {
            return mesh;
        }
        for p in &mut mesh.points {
            p.z += self.height(p.x, p.y);
        }
        mesh
    }

    /// A solid drawn level back in the mould's axes; what was level at the top and foot of `block`
    /// is so again to the last bit, from as far as mending moves a point.
    pub(super) fn restored(&self, mesh: Mesh, block: &Bounds) -> Mesh {
        let mut mesh = self.raised(self.ready(mesh));
        for p in &mut mesh.points {
            for face in [block.min.z, block.max.z] {
                if (p.z - face).abs() < MENDED {
                    p.z = face;
                }
            }
        }
        mesh
    }

    /// The part of a box above (1) or below (−1) the face, drawn level.
    pub(super) fn half(&self, block: &Bounds, side: f64) -> Result<Solid, SolidError> {
        let mut half = *block;
        if side > 0.0 {
            half.min.z = 0.0;
        } else {
            half.max.z = 0.0;
        }
        if self.is_flat() {
            return Solid::try_from(&half.to_mesh());
        }
        const BEYOND: f64 = 1.0;
        let [low, high] = self.range();
        for k in 0..2 {
            half.min[k] -= BEYOND;
            half.max[k] += BEYOND;
        }
        if side > 0.0 {
            half.max.z += BEYOND - low;
        } else {
            half.min.z -= BEYOND + high;
        }
        // Whatever the block ends at on the other side, the face is within it.
        let mut whole = *block;
        if side > 0.0 {
            whole.min.z = whole.min.z.min(low - BEYOND);
        } else {
            whole.max.z = whole.max.z.max(high + BEYOND);
        }
        let drawn = Solid::try_from(&self.level(whole.to_mesh()))?;
        drawn.intersection(&Solid::try_from(&half.to_mesh())?)
    }
}

/// Knots after `from` up to `to`, as many as follow the spine. Between two rings of the master
/// none: there its own facets run straight.
fn follow(body: &Body, from: [f64; 2], to: [f64; 2], stray: f64, knots: &mut Vec<[f64; 2]>) {
    let at = |share: f64| from[0] + share * (to[0] - from[0]);
    let off = |share: f64| {
        let chord = from[1] + share * (to[1] - from[1]);
        (body.spine(at(share)) - chord).abs()
    };
    if to[0] - from[0] > 0.05 && [0.25, 0.5, 0.75].into_iter().any(|s| off(s) > stray) {
        let middle = [at(0.5), body.spine(at(0.5))];
        follow(body, from, middle, stray, knots);
        follow(body, middle, to, stray, knots);
    } else {
        knots.push(to);
    }
}
