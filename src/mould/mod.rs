//! The mould: two half-blocks that close around the master. They are printed, or cast in
//! silicone in what is printed for it ([`Mould::parts`]).
//!
//! # The mould's own axes
//! A mould lies with its parting face level: x as on the body, y across the
//! parting face, z along the pull, with the parting plane at z = 0. With the waist
//! parting these are the body's own axes; with the flank parting the body is
//! turned a quarter about x, its left side up ([`Mould::turn`]). The waist of a cambered body
//! is no plane: the parting face follows it then, see [`PartingFace`].
//!
//! # What is guaranteed
//! With everything in the mould's axes and `gap` the volume of the sockets less that
//! of the keys, and of bolt holes, grooves, notches and names, volume(upper) + volume(lower) + volume(cavity) +
//! volume of the [`seats`] = volume(block) − gap.
//! Every key has its socket; no turning over or round of one half lets the keys in.

pub mod air;
mod bed;
mod beside;
mod block;
mod board;
mod boxes;
mod channels;
mod cures;
mod face;
mod floors;
mod grooves;
mod holding;
mod keys;
mod layout;
mod lettering;
pub mod opening;
mod parts;
mod runner;
pub mod seats;
mod sets;
mod tools;

use nalgebra::{Point3, Vector3};

use beside::{Fed, Kind, Lying};
use layout::Layout;
use seats::{Seats, Stranger};

use crate::body::{Body, Master, MasterError, TooFine};
use crate::mesh::{AxisMap, Bounds, Mesh, Solid, SolidError};
use crate::spec::{Design, Parting, Problem, Problems, Route};

pub use air::Air;
pub(crate) use beside::MOST as MOST_BAITS;
pub use beside::{Beside, Neighbour, Pattern};
pub use channels::{Channels, Sprue, Vent};
pub use face::{PartingFace, Unfollowed, Why};
pub use grooves::Groove;
pub use holding::{BoltHole, Holding, Name, clearance_hole, washer};
pub use keys::Key;
pub use parts::Printed;
pub use runner::{Neck, Runner};

/// A mould could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MouldError {
    /// The spec asks for what does not fit.
    #[error("{0}")]
    Spec(Problems),
    /// The tolerance is too fine.
    #[error(transparent)]
    TooFine(#[from] TooFine),
    /// A solid operation failed, which no spec should bring about.
    #[error("the mould's solids could not be made: {0}")]
    Solid(#[from] SolidError),
}

impl From<MasterError> for MouldError {
    fn from(error: MasterError) -> Self {
        match error {
            MasterError::Spec(problems) => MouldError::Spec(problems),
            MasterError::TooFine(too_fine) => MouldError::TooFine(too_fine),
            MasterError::Solid(solid) => MouldError::Solid(solid),
        }
    }
}

impl From<Problems> for MouldError {
    fn from(problems: Problems) -> Self {
        MouldError::Spec(problems)
    }
}

impl From<Problem> for MouldError {
    fn from(problem: Problem) -> Self {
        MouldError::Spec(problem.into())
    }
}

/// A printed-block mould, closed, in its own axes (see the module's text).
#[derive(Clone, Debug)]
pub struct Mould {
    /// How it is made: whether the halves themselves are printed, or cast in silicone.
    pub route: Route,
    /// The plane it opens along, or follows.
    pub parting: Parting,
    /// Outside of the closed block.
    pub block: Bounds,
    /// The face it opens along, as far as it is not the plane z = 0.
    pub face: PartingFace,
    /// The half above the parting face, with the sockets.
    pub upper: Mesh,
    /// The half below, with the keys.
    pub lower: Mesh,
    /// One master alone, in the mould's axes and the body's own place.
    pub master: Mesh,
    /// What the halves leave open: master, sprue and vents in one.
    pub cavity: Mesh,
    /// Registration keys.
    pub keys: Vec<Key>,
    /// Sprue and vents.
    pub channels: Channels,
    /// Where it would hold air, and where it still does.
    pub air: Air,
    /// How far across the parting face each bait lies from the body's own place, by rising y.
    pub cavities: Vec<f64>,
    /// Which kind each of them is: 0 the mould's own bait, from 1 those of [`Mould::beside`].
    pub kinds: Vec<usize>,
    /// Other baits that are cast in it.
    pub beside: Vec<Beside>,
    /// Bolt holes, grooves, notches and names of a printed block.
    pub holding: Holding,
    /// Grooves, pockets and pins for what is cast in.
    pub seats: Seats,
    /// Room between keys and sockets, and what the holding takes, in mm³.
    pub gap: f64,
}

impl Mould {
    /// The mould of a design around its body, along the plane that the design names
    /// ([`opening::Proposal`] tells which is the better).
    ///
    /// # Errors
    /// What does not fit is named with the spec's field and the number that would.
    pub fn build(design: &Design, body: &Body) -> Result<Self, MouldError> {
        let master = Master::build(design, body)?;
        Self::around(design, body, &master.mesh)
    }

    /// The same around a master that has been made already.
    ///
    /// # Errors
    /// As [`Mould::build`].
    pub fn around(design: &Design, body: &Body, master: &Mesh) -> Result<Self, MouldError> {
        Self::around_several(design, body, master.into(), &[])
    }

    /// The same with other baits in the block, their ends at the sprue in a row. Route, plane,
    /// wall, keys, sprue and vents are the design's. Each bait is fed through a gate of its own
    /// so that all fill together: in slow flow each takes plastic in proportion to its volume.
    ///
    /// # Errors
    /// As [`Mould::build`]; a bowed body, and the bedding board, are for one kind of bait.
    pub fn around_several(
        design: &Design,
        body: &Body,
        master: Pattern<'_>,
        others: &[Neighbour<'_>],
    ) -> Result<Self, MouldError> {
        let mould = Self::cut(design, body, master, others)
            .map_err(|error| Self::with_walls(design, body, master, others, error))?;
        let sound = || {
            let meshes = [&mould.upper, &mould.lower, &mould.cavity];
            meshes.iter().all(|mesh| mesh.check().is_ok())
        };
        if !mould.face.has_steps() || sound() {
            return Ok(mould);
        }
        Self::without_steps(design, body, master, others)
    }

    /// The same without steps to fins: raising a solid moves its points by rounding, which may close
    /// a cleft as thin as that.
    pub(crate) fn without_steps(
        design: &Design,
        body: &Body,
        master: Pattern<'_>,
        others: &[Neighbour<'_>],
    ) -> Result<Self, MouldError> {
        let mut level = design.clone();
        level.mould.steps = false;
        let plain: Vec<Neighbour<'_>> = others
            .iter()
            .map(|&other| Neighbour {
                face: None,
                ..other
            })
            .collect();
        let mut mould = Self::cut(&level, body, master, &plain)?;
        for other in others {
            if let Some(face) = other.face {
                mould.face.leave(other.name, face);
            }
        }
        Ok(mould)
    }

    fn cut(
        design: &Design,
        body: &Body,
        pattern: Pattern<'_>,
        others: &[Neighbour<'_>],
    ) -> Result<Self, MouldError> {
        beside::judge(design, body, others)?;
        let spec = &design.mould;
        let form = channels::Form::new(body, spec.parting);
        let face = PartingFace::of(design, body, pattern.mesh);
        let master = pattern.mesh.clone().mapped(&Mould::turn(spec.parting));
        // Everything is cut with the parting face drawn level.
        let level = face.level(master.clone());
        let lying = others.iter().map(|&of| Lying::new(design, &form, of));
        let mut lying: Vec<Lying<'_>> = lying.collect();
        let Plan {
            mut channels,
            keys,
            block,
            layout,
            mut seats,
        } = plan(
            (design, body),
            &form,
            &face,
            (pattern, [&master, &level]),
            &mut lying,
        )?;

        let mut seated = vec![(&seats, layout.of_kind(0))];
        for (i, other) in lying.iter().enumerate() {
            seated.push((&other.seats, layout.of_kind(i + 1)));
        }
        let mut face = face.around(&layout.of_kind(0));
        for (i, other) in lying.iter().enumerate() {
            other.step(&mut face, &layout.of_kind(i + 1));
        }
        let cavities = layout.offsets;
        let masters: Vec<Mesh> = cavities
            .iter()
            .zip(&layout.kinds)
            .map(|(&y, &kind)| {
                let master = kind.checked_sub(1).map_or(&level, |i| &lying[i].master);
                master.clone().translated(&Vector3::new(0.0, y, 0.0))
            })
            .collect();
        let mut cavity = tools::together(&masters)?;
        let tools = channels.meshes(&face, design.tolerance);
        if cavities.len() == 1 {
            for tool in &tools {
                cavity = cavity.union(&Solid::try_from(tool)?)?;
            }
        } else {
            // All at once: the masters stand apart, and the channels are one tree and vents.
            cavity = cavity.union(&tools::together(&tools)?)?;
        }
        let pins = seats::all_pins(&seated, design.tolerance)?;
        let bare = cavity.clone();
        for pins in pins.iter().flatten() {
            cavity = cavity.difference(pins)?;
        }
        let around = (&keys[..], &seats::all_footprints(&seated)[..]);
        let (cavity, air) = air::relieve(design, &block, around, &face, &mut channels, cavity)?;
        // What is cast, and what the halves are cut with before the pins stand on them.
        let mut hollow = cavity.clone();
        if seated.iter().any(|(seats, _)| !seats.is_empty()) {
            hollow = bare;
            for groove in &channels.grooves {
                hollow = hollow.union(&Solid::try_from(&face.deepened(groove.mesh()))?)?;
            }
        }
        if let Some(solid) = seats::all_solid(&seated, design.tolerance)? {
            let without = hollow.volume();
            hollow = hollow.union(&solid)?;
            seats.volume = hollow.volume() - without;
        }

        let mut upper = face.half(&block, 1.0)?.difference(&hollow)?;
        let mut lower = face.half(&block, -1.0)?.difference(&hollow)?;
        for (half, pins) in [&mut upper, &mut lower].into_iter().zip(&pins) {
            if let Some(pins) = pins {
                *half = half.union(pins)?;
            }
        }
        let mut gap: f64 = keys.iter().map(|k| k.gap(design.tolerance)).sum();
        if !keys.is_empty() {
            let all = |mesh: &dyn Fn(&Key) -> Mesh| {
                let keys = keys.iter().map(|key| face.level(mesh(key)));
                tools::together(&keys.collect::<Vec<_>>())
            };
            let whole = [upper.volume(), lower.volume()];
            upper = upper.difference(&all(&|key| key.socket(design.tolerance))?)?;
            lower = lower.union(&all(&|key| key.rooted(design.tolerance))?)?;
            if !face.is_flat() {
                // On a slope neither key nor socket ends at its foot.
                gap = (whole[0] - upper.volume()) - (lower.volume() - whole[1]);
            }
        }
        let open = face.ready(cavity.to_mesh());
        let cut = face.ready(hollow.to_mesh());
        let holding = Holding::plan(design, &block, &keys, &face, &cut)?;
        let cuts = holding.tools(&block, &face, design.tolerance)?;
        for (half, cut) in [&mut upper, &mut lower].into_iter().zip(cuts) {
            if let Some(cut) = cut {
                let less = half.difference(&cut)?;
                gap += half.volume() - less.volume();
                *half = less;
            }
        }
        Ok(Mould {
            route: spec.route,
            parting: spec.parting,
            block,
            upper: face.restored(upper.to_mesh(), &block),
            lower: face.restored(lower.to_mesh(), &block),
            master,
            air,
            cavity: face.raised(open),
            face,
            keys,
            channels,
            cavities,
            kinds: layout.kinds,
            beside: lying.into_iter().map(Lying::beside).collect(),
            holding,
            seats,
            gap,
        })
    }

    /// Whether what stands at this path of the spec (`wire`, `hook`, `weight[1]`) is laid in before the
    /// pour: a seat or pins hold it, or it is strung on a wire that is held.
    pub fn lays_in(&self, design: &Design, path: &str) -> bool {
        self.seats.lays_in(design, path)
    }

    /// What is laid into one cavity keeps out of the plastic, in mm³.
    pub fn kept_out(&self, design: &Design, rig: &crate::rig::Rig) -> f64 {
        self.seats.kept_out(design, rig)
    }

    /// The turn from the body's axes to the mould's.
    pub fn turn(parting: Parting) -> AxisMap {
        match parting {
            Parting::Waist => AxisMap::AS_IS,
            // Left, +y, comes up; the back, +z, goes to the right of it.
            Parting::Flank => AxisMap::LEFT_UP,
        }
    }

    /// What the halves are called, upper and lower.
    pub fn names(&self) -> [&'static str; 2] {
        holding::names(self.parting)
    }

    /// The halves, upper and lower, as they are printed: parting face up, standing on z = 0,
    /// in the positive octant.
    pub fn printed(&self) -> [Mesh; 2] {
        [
            self.upper.clone().mapped(&AxisMap::HALF_TURN_X).settled(),
            self.lower.clone().settled(),
        ]
    }

    /// How many of the mould's own bait it casts at once.
    pub fn own(&self) -> usize {
        self.kinds.iter().filter(|&&kind| kind == 0).count()
    }

    /// Which of [`Mould::cavities`] lies nearest to a point of the mould's axes.
    pub fn bait_at(&self, point: &Point3<f64>) -> usize {
        let all = 0..self.cavities.len();
        if self.beside.is_empty() {
            let off = |&i: &usize| (point.y - self.cavities[i]).abs();
            return all
                .min_by(|a, b| off(a).total_cmp(&off(b)))
                .unwrap_or_default();
        }
        let mut nearest = (f64::INFINITY, 0);
        for i in all {
            let kind = self.kinds[i].checked_sub(1);
            let master = kind.map_or(&self.master, |k| &self.beside[k].master);
            let there = Point3::new(point.x, point.y - self.cavities[i], point.z);
            let beyond = master.bounds().map_or(f64::INFINITY, |b| {
                (there.y - b.max.y).max(b.min.y - there.y)
            });
            if beyond < nearest.0 {
                let off = master.distance(&there);
                if off < nearest.0 {
                    nearest = (off, i);
                }
            }
        }
        nearest.1
    }

    /// A point of the mould's axes in the body's own, of the bait that lies nearest.
    pub fn in_body(&self, point: &Point3<f64>) -> Point3<f64> {
        let i = self.bait_at(point);
        let across = self.cavities.get(i).copied().unwrap_or(0.0);
        let kind = self.kinds.get(i).and_then(|kind| kind.checked_sub(1));
        let along = kind.map_or(0.0, |k| self.beside[k].along);
        self.in_own_place(&Point3::new(point.x - along, point.y - across, point.z))
    }

    /// A point of the mould's axes, of a bait in the body's own place, in the body's axes.
    pub fn in_own_place(&self, point: &Point3<f64>) -> Point3<f64> {
        match self.parting {
            Parting::Waist => *point,
            Parting::Flank => Point3::new(point.x, point.z, 0.0 - point.y),
        }
    }
}

struct Plan {
    channels: Channels,
    keys: Vec<Key>,
    block: Bounds,
    layout: Layout,
    seats: Seats,
}

/// Everything that can go wrong with the numbers, before any solid is made.
/// The master comes as it lies in the mould, and with the parting face drawn level.
fn plan(
    (design, body): (&Design, &Body),
    form: &channels::Form<'_>,
    face: &PartingFace,
    (pattern, [lying, master]): (Pattern<'_>, [&Mesh; 2]),
    others: &mut [Lying<'_>],
) -> Result<Plan, Problems> {
    let mut problems = Vec::new();
    let mut sound = |found: Problems| problems.extend(found.0);
    let inside = lying.bounds().unwrap_or(Bounds {
        min: Point3::origin(),
        max: Point3::origin(),
    });
    let seats = Seats::plan(design, body, face, master).map_err(&mut sound);
    let mut seats = seats.unwrap_or_default();
    for (i, other) in others.iter_mut().enumerate() {
        other.seat(i).unwrap_or_else(&mut sound);
    }
    let taken = seats.footprint();
    let mut outline = seats.outline(master, design.tolerance);
    let mut inside = seats.around(&inside);
    // The face is back on its course before the wall begins, or another bait.
    let stepped = face.stepped();
    if let Some(round) = stepped.bounds() {
        outline.append(&stepped);
        inside = Bounds::of(&[inside.min, inside.max, round.min, round.max]).unwrap_or(inside);
    }
    // Without a gate of its own, one of no size stands in, to find what else is wrong.
    let stand_in = channels::Gate {
        radius: 0.5,
        covers: 0.0,
        opens: 1.0,
    };
    let volume = beside::plastic(body, master, pattern.core_volume);
    let gate = channels::gate(design, form, volume);
    let gate = gate.map_err(&mut sound).ok();
    let mut all_gated = gate.is_some();
    let whole = channels::beyond_trunk((design, design), form, master);
    let cores = beside::sliced(pattern.cores, design.mould.parting);
    let section = channels::in_parting_plane(master);
    let mut kinds = vec![Kind {
        called: None,
        form,
        vented: whole.as_ref().unwrap_or(form),
        gate: gate.unwrap_or(stand_in),
        volume,
        along: 0.0,
        taken: &taken,
        cores: &cores,
        outline: &section,
    }];
    for (i, other) in others.iter().enumerate() {
        let mut kind = other.kind(i, stand_in);
        match channels::gate(design, &other.form, other.volume) {
            Ok(gate) => kind.gate = gate,
            Err(problems) => {
                all_gated = false;
                sound(kind.named(problems));
            }
        }
        kinds.push(kind);
    }
    let boxes = others.iter().filter_map(Lying::bounds);
    let boxes: Vec<Bounds> = std::iter::once(inside).chain(boxes).collect();
    let mut outlines = vec![(outline, design.mould.cavities, kinds[0].volume)];
    for other in others.iter() {
        let outline = other.outline(design.tolerance);
        outlines.push((outline, other.of.count, other.volume));
    }
    if !others.is_empty() {
        let corners: Vec<_> = boxes.iter().flat_map(|b| [b.min, b.max]).collect();
        let all = Bounds::of(&corners).unwrap_or(inside);
        let seated = std::iter::once(&seats).chain(others.iter().map(|other| &other.seats));
        for (((outline, ..), kind), seats) in outlines.iter_mut().zip(&kinds).zip(seated) {
            outline.append(&kind.ways(design, &all));
            outline.append(&seats.ways(&all));
        }
    }
    let layout = Layout::plan(design, &outlines).map_err(&mut sound).ok();
    let (across, kind) = match &layout {
        Some(layout) if all_gated => (&layout.offsets[..], &layout.kinds[..]),
        _ => (&[0.0][..], &[0][..]),
    };
    let header = (across.len() > 1)
        .then(|| channels::header(&kinds, (across, kind), design.mould.mouth_radius));
    let axis = form.axis(design.mould.sprue_end);
    let mut inside = layout.as_ref().map_or(inside, |l| l.around(&boxes));
    if let Some(radius) = header {
        // The header's ends may stand out beyond slim baits.
        inside.min.y = inside.min.y.min(axis + across[0] - radius);
        inside.max.y = inside.max.y.max(axis + across[across.len() - 1] + radius);
    }
    let mut block = block::around(design, &inside, header.unwrap_or(0.0), axis, face);
    let held = std::iter::once(&seats).chain(others.iter().map(|other| &other.seats));
    held.clone().for_each(|seats| seats.held_by(&mut block));
    let of_kind = |k: usize| layout.as_ref().map_or(vec![0.0], |l| l.of_kind(k));
    let seated: Vec<_> = held
        .enumerate()
        .map(|(k, seats)| (seats, of_kind(k)))
        .collect();
    let everywhere = seats::all_footprints(&seated);
    let fed = Fed {
        kinds: &kinds,
        across,
        kind,
        header,
    };
    let (keys, channels) = keys::place(design, &block, face, &everywhere, |keys| {
        Channels::plan(design, &fed, &block, keys)
    });
    let channels = channels.map_err(&mut sound).ok();
    let keys = keys.map_err(&mut sound).ok();
    if let (Some(channels), Some(keys), Some(layout)) = (&channels, &keys, &layout) {
        let around = (channels, &keys[..], &block);
        // Each kind as the others see it.
        let strangers = |but: usize, others: &[Lying<'_>], seats: &Seats| -> Vec<Stranger> {
            let own = std::iter::once((master, seats));
            let all = own.chain(others.iter().map(|other| (&other.master, &other.seats)));
            let all = all.enumerate().filter(|(k, _)| *k != but);
            all.map(|(k, (master, seats))| Stranger::new(master, seats, layout.of_kind(k)))
                .collect()
        };
        let rest = strangers(0, others, &seats);
        let judged = seats.judge(design, master, around, (&layout.of_kind(0), &rest));
        judged.unwrap_or_else(&mut sound);
        for i in 0..others.len() {
            let rest = strangers(i + 1, others, &seats);
            let judged = others[i].judge_seats(i, around, (&layout.of_kind(i + 1), &rest));
            judged.unwrap_or_else(&mut sound);
        }
    }
    if let (Some(layout), false) = (&layout, problems.is_empty()) {
        // What holds the halves has its say as well, as far as there is something to judge it by.
        let mut open = Mesh::default();
        for &y in &layout.offsets {
            open.append(&master.clone().translated(&Vector3::new(0.0, y, 0.0)));
        }
        let tools = channels.as_ref().map(|c| c.meshes(face, design.tolerance));
        tools.iter().flatten().for_each(|tool| open.append(tool));
        let keys = keys.as_deref().unwrap_or_default();
        let holding = Holding::plan(design, &block, keys, face, &open);
        problems.extend(holding.err().into_iter().flat_map(|found| found.0));
    }
    match (channels, keys, layout) {
        (Some(channels), Some(keys), Some(layout)) if problems.is_empty() => Ok(Plan {
            channels,
            keys,
            block,
            layout,
            seats,
        }),
        _ => Err(Problems(problems)),
    }
}

#[cfg(test)]
mod tests;
