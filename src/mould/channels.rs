//! The sprue the plastic enters by, and the vents the air leaves by.

mod gate;

use nalgebra::{Point3, Vector3};

use super::beside::{Fed, Kind};
use super::block::NECK;
use super::face::PartingFace;
use super::grooves::Groove;
use super::keys::Key;
use super::runner::{Neck, Runner, Taker, balanced, freely_fed};
use super::tools::turned;
use gate::covered;
pub(super) use gate::{Gate, gate};

use crate::body::{Body, foremost};
use crate::curve::Outline;
use crate::mesh::slice::Sliced;
use crate::mesh::{AxisMap, Bounds, Direction, Mesh};
use crate::spec::{BodyEnd, Design, KEY_LAND, Making, Parting, Problem, Problems};

/// Gate radius if the maker names none: 4 mm across (common practice for baits of this
/// size) where the sprue then covers little of the body, less where the body is slim there.
const GATE: f64 = 2.0;
/// The least gate radius: thick plastic will not pass less than 1 mm (reasoned).
pub(super) const LEAST_GATE: f64 = 0.5;
/// How much of the body's length the sprue may cover, for a gate of [`GATE`] that is not
/// asked for, ...
const LITTLE: f64 = 0.04;
/// ... and at all: what lies within the sprue is not moulded.
const MOST: f64 = 0.15;
/// Vents if the maker says nothing of them (common practice).
const VENTS: usize = 2;
/// Room round the gate where it ends within the body, so that they fuse.
const ROOM: f64 = 1.15;
/// How much further a channel is buried once it is inside the body, in mm.
const BURIED: f64 = 0.3;
/// Parts of a form that end within this of its farthest reach, in mm, are vented each.
const LOBE: f64 = 4.0;
/// The neck widens from the gate to the funnel by this factor: a cast neck pulls out.
pub(super) const NECK_TAPER: f64 = 1.25;
/// Least material between two vents, in mm.
const BETWEEN_VENTS: f64 = 1.5;

/// What is cast, as the mould sees it.
pub(super) struct Form<'a> {
    shape: Shape<'a>,
    /// Where it begins and ends along x.
    ends: [f64; 2],
    has_collar: bool,
}

/// Where the surface of a form comes from.
enum Shape<'a> {
    /// The trunk's curves.
    Trunk {
        body: &'a Body,
        parting: Parting,
        /// Its outlines towards +y of the mould, −y, +z and −z.
        sides: [&'a Outline; 4],
    },
    /// A mesh in the mould's axes.
    Mesh(Sliced),
}

/// (|y|/w)ⁿ + (|z|/h)ⁿ of a point in the mould's axes, drawn level.
fn level(body: &Body, parting: Parting, [x, y, z]: [f64; 3]) -> f64 {
    match parting {
        Parting::Waist => body.level(x, y, z + body.spine(x)),
        Parting::Flank => body.level(x, z, -y),
    }
}

/// Room that a channel keeps to the surface of a mesh it ends in, in mm.
const MARGIN: f64 = 0.1;

impl<'a> Form<'a> {
    pub(super) fn new(body: &'a Body, parting: Parting) -> Self {
        if let Some(scan) = &body.scan {
            return Form::of_mesh(scan.mesh().clone().mapped(&super::Mould::turn(parting)));
        }
        let (back, belly, flank) = (&body.back, &body.belly, &body.half_width);
        let sides = match parting {
            Parting::Waist => [flank, flank, back, belly],
            Parting::Flank => [belly, back, flank, flank],
        };
        Form {
            shape: Shape::Trunk {
                body,
                parting,
                sides,
            },
            ends: [0.0, body.length()],
            has_collar: !body.collar.is_empty(),
        }
    }

    /// A mesh in the mould's axes.
    pub(super) fn of_mesh(mesh: Mesh) -> Self {
        let ends = mesh.bounds().map_or([0.0; 2], |b| [b.min.x, b.max.x]);
        Form {
            shape: Shape::Mesh(Sliced::new(mesh)),
            ends,
            has_collar: false,
        }
    }

    fn length(&self) -> f64 {
        self.ends[1] - self.ends[0]
    }

    /// Distance of x from an end of the body, turned into x.
    fn inward(&self, end: BodyEnd, depth: f64) -> f64 {
        match end {
            BodyEnd::Nose => self.ends[0] + depth,
            BodyEnd::Tail => self.ends[1] - depth,
        }
    }

    /// Where it begins or ends along x.
    pub(super) fn end(&self, end: BodyEnd) -> f64 {
        self.inward(end, 0.0)
    }

    /// How far it reaches from its spine in the parting plane, to +y or to −y.
    fn reach(&self, leftward: bool, x: f64) -> f64 {
        match &self.shape {
            Shape::Trunk { sides, .. } => sides[usize::from(!leftward)].height(x),
            Shape::Mesh(mesh) => {
                let [from, to] = mesh.section(x).span(0).unwrap_or_default();
                if leftward { to } else { -from }
            }
        }
    }

    /// Where the spine lies across the parting face at x: on the axis, unless the body is
    /// cambered. It rises only in the upright plane, which is the parting plane of the flank;
    /// that of the waist follows it.
    fn spine(&self, x: f64) -> f64 {
        match &self.shape {
            Shape::Trunk {
                body,
                parting: Parting::Flank,
                ..
            } => 0.0 - body.spine(x),
            _ => 0.0,
        }
    }

    /// Where the line lies that the sprue is turned about: the spine at an end; on a mesh
    /// [`foremost`].
    pub(super) fn axis(&self, end: BodyEnd) -> f64 {
        match &self.shape {
            Shape::Trunk { .. } => self.spine(self.inward(end, 0.0)),
            Shape::Mesh(mesh) => foremost(mesh, self.ends, end),
        }
    }

    /// Radius of the largest circle about `axis`, a line along x, within the section at x.
    fn inscribed(&self, x: f64, axis: f64) -> f64 {
        let (body, parting, sides) = match &self.shape {
            Shape::Trunk {
                body,
                parting,
                sides,
            } => (body, *parting, sides),
            Shape::Mesh(mesh) => {
                let section = mesh.section(x);
                return if section.holds(axis, 0.0) {
                    section.distance(axis, 0.0)
                } else {
                    0.0
                };
            }
        };
        let least = sides
            .iter()
            .map(|o| o.height(x).min(o.height_before(x)))
            .fold(f64::INFINITY, f64::min);
        if let (Some(n), true) = (body.section.exponent(), self.spine(x) == axis) {
            // A lean superellipse comes closest to the axis on its diagonal.
            return least * libm::pow(2.0, (0.5 - 1.0 / n).min(0.0));
        }
        // Off the spine, or with unlike halves: by trying.
        const AROUND: i32 = 48;
        let holds = |r: f64| {
            (0..AROUND).all(|i| {
                let turn = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(AROUND);
                let (sin, cos) = libm::sincos(turn);
                level(body, parting, [x, axis + r * cos, r * sin]) <= 1.0
            })
        };
        let (mut inside, mut out) = (0.0, least);
        for _ in 0..24 {
            let mid = 0.5 * (inside + out);
            if holds(mid) {
                inside = mid;
            } else {
                out = mid;
            }
        }
        inside
    }

    /// Tells whether a point (y, z) lies in the section at x.
    fn at(&self, x: f64) -> Box<dyn Fn(f64, f64) -> bool + '_> {
        match &self.shape {
            Shape::Trunk { body, parting, .. } => {
                Box::new(move |y, z| level(body, *parting, [x, y, z]) <= 1.0)
            }
            Shape::Mesh(mesh) => {
                let section = mesh.section(x);
                Box::new(move |y, z| section.holds(y, z))
            }
        }
    }

    /// Area of the section at x, by a grid.
    fn area(&self, x: f64) -> f64 {
        const CELLS: i32 = 40;
        let (low, high) = match &self.shape {
            Shape::Trunk { sides, .. } => {
                let [left, right, up, down] = sides.map(|o| o.height(x).max(o.height_before(x)));
                let middle = self.spine(x);
                ([middle - right, -down], [middle + left, up])
            }
            Shape::Mesh(mesh) => {
                let section = mesh.section(x);
                let span = |k: usize| section.span(k).unwrap_or_default();
                let [y, z] = [span(0), span(1)];
                ([y[0], z[0]], [y[1], z[1]])
            }
        };
        let size = [high[0] - low[0], high[1] - low[1]];
        let place = |k: usize, i: i32| low[k] + size[k] * (f64::from(i) + 0.5) / f64::from(CELLS);
        let inside = self.at(x);
        let cells = (0..CELLS * CELLS).filter(|i| inside(place(0, i / CELLS), place(1, i % CELLS)));
        cells.count() as f64 * size[0] * size[1] / f64::from(CELLS * CELLS)
    }

    /// Whether the section at x holds the points (y, z) and (y, −z) with some room.
    fn holds(&self, x: f64, y: f64, z: f64) -> bool {
        match &self.shape {
            Shape::Trunk { body, parting, .. } => [z, -z]
                .into_iter()
                .all(|z| level(body, *parting, [x, y, z]) < 0.9),
            Shape::Mesh(mesh) => {
                let section = mesh.section(x);
                [z, -z]
                    .iter()
                    .all(|&z| section.holds(y, z) && section.distance(y, z) > MARGIN)
            }
        }
    }

    /// Whether a vent of some depth can begin close to an end.
    fn holds_somewhere(&self, end: BodyEnd, depth: f64) -> bool {
        let lobes = self.lobes(end);
        self.depth(end, 0.25, |x| {
            lobes.iter().any(|&y| self.holds(x, y, 0.5 * depth))
        })
        .is_some()
    }

    /// Where, across the parting plane, the form reaches farthest towards an end: the middle
    /// of each of its lobes there, the spine of a plain trunk.
    fn lobes(&self, end: BodyEnd) -> Vec<f64> {
        let Shape::Mesh(mesh) = &self.shape else {
            let back = LOBE.min(0.25 * self.length());
            return vec![self.spine(self.inward(end, back))];
        };
        // The section in the parting plane, as loops of (x, y): z takes the place of x.
        let Some(turn) = AxisMap::new(Direction::PlusY, Direction::PlusZ, Direction::PlusX) else {
            return vec![0.0];
        };
        let section = Sliced::new(mesh.mesh().clone().mapped(&turn)).section(0.0);
        let Some([from, to]) = section.span(0) else {
            return vec![0.0];
        };
        let back = LOBE.min(0.25 * (to - from));
        let x = match end {
            BodyEnd::Nose => from + back,
            BodyEnd::Tail => to - back,
        };
        let mut crossed: Vec<f64> = Vec::new();
        for points in &section.loops {
            for (i, a) in points.iter().enumerate() {
                let b = points[(i + 1) % points.len()];
                if (a[0] >= x) != (b[0] >= x) {
                    crossed.push(a[1] + (x - a[0]) / (b[0] - a[0]) * (b[1] - a[1]));
                }
            }
        }
        crossed.sort_by(f64::total_cmp);
        let mut lobes: Vec<f64> = crossed
            .chunks_exact(2)
            .map(|pair| 0.5 * (pair[0] + pair[1]))
            .collect();
        if lobes.is_empty() {
            lobes.push(0.0);
        }
        lobes
    }

    /// Shallowest depth from an end at which something fits, up to a share of the length.
    fn depth(&self, end: BodyEnd, share: f64, fits: impl Fn(f64) -> bool) -> Option<f64> {
        const STEPS: usize = 256;
        let at = |i: usize| share * self.length() * i as f64 / STEPS as f64;
        let fits = |depth: f64| fits(self.inward(end, depth));
        let i = (0..=STEPS).find(|&i| fits(at(i)))?;
        if i == 0 {
            return Some(0.0);
        }
        let (mut out, mut inside) = (at(i - 1), at(i));
        for _ in 0..30 {
            let mid = 0.5 * (out + inside);
            if fits(mid) {
                inside = mid;
            } else {
                out = mid;
            }
        }
        Some(inside)
    }
}

/// The sprue: a turned channel about a line along x in the parting plane.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Sprue {
    /// End of the body it leads to.
    pub end: BodyEnd,
    /// Where its line lies across the parting face: zero, the axis, unless the body is
    /// cambered and its spine ends elsewhere.
    pub axis: f64,
    /// Radius where it meets the body.
    pub gate_radius: f64,
    /// How far from that end the body lies within the sprue, in mm: that much is cut off
    /// with it.
    pub covers: f64,
    /// The share of its gate that opens into the body where that begins; the rest runs beside a
    /// blunt end. 1 where the end is slimmer than the gate: its tip lies within the sprue. The least
    /// of several gates.
    pub opens: f64,
    /// Corners (x, radius) by rising x.
    pub corners: Vec<(f64, f64)>,
}

/// A vent: a shallow straight groove, half of it in each mould half.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Vent {
    /// The groove's outside.
    pub bounds: Bounds,
}

impl Vent {
    /// Whether it leaves material to round places of the parting face.
    fn clears(&self, taken: &[([f64; 2], f64)]) -> bool {
        let (low, high) = (self.bounds.min, self.bounds.max);
        taken.iter().all(|&([x, y], radius)| {
            let dx = (low.x - x).max(x - high.x).max(0.0);
            let dy = (low.y - y).max(y - high.y).max(0.0);
            libm::hypot(dx, dy) >= radius + BETWEEN_VENTS - 0.1
        })
    }
}

/// Sprue and vents: where a parting face is no plane, heights are those over it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Channels {
    /// The sprue.
    pub sprue: Sprue,
    /// What several cavities are fed by.
    pub runner: Option<Runner>,
    /// The vents, from one side of the body to the other.
    pub vents: Vec<Vent>,
    /// Grooves that let the air out of high points.
    pub grooves: Vec<Groove>,
}

/// The end that the vents are at.
fn vented_end(design: &Design) -> BodyEnd {
    match design.mould.sprue_end {
        BodyEnd::Nose => BodyEnd::Tail,
        BodyEnd::Tail => BodyEnd::Nose,
    }
}

/// What the vents begin at: the whole master, in the mould's axes, where fins or a tail take it
/// beyond the trunk in the parting plane; otherwise the trunk. The mould's design, and the bait's.
pub(super) fn beyond_trunk(
    (design, own): (&Design, &Design),
    form: &Form<'_>,
    master: &Mesh,
) -> Option<Form<'static>> {
    const FARTHER: f64 = 0.5;
    // Pins of bores stand out of a master too, but no air has to leave past them.
    let pins = own.bore.iter().any(|b| b.how == Making::Cast);
    if pins || form.has_collar {
        return None;
    }
    let whole = Form::of_mesh(master.clone());
    let end = vented_end(design);
    let farther = match end {
        BodyEnd::Nose => form.ends[0] - whole.ends[0],
        BodyEnd::Tail => whole.ends[1] - form.ends[1],
    };
    // A tail that lies off the parting plane cannot be reached by a groove in it.
    let reached = whole.holds_somewhere(end, design.mould.vent_depth);
    (farther > FARTHER && reached).then_some(whole)
}

impl Channels {
    /// The sprue leads to the trunks; the vents of each keep clear of keys and of its seats.
    pub(super) fn plan(
        design: &Design,
        fed: &Fed<'_>,
        block: &Bounds,
        keys: &[Key],
    ) -> Result<Self, Problems> {
        let (sprue, runner) = sprue(design, block, fed)?;
        let mut of_kind = Vec::new();
        let alone = fed.kinds.len() == 1 && design.mould.cavities == 1;
        for kind in fed.kinds {
            let found = vents_of(design, kind, block, keys, alone);
            of_kind.push(found.map_err(|problems| kind.named(problems))?);
        }
        let vents = fed
            .across
            .iter()
            .zip(fed.kind)
            .flat_map(|(&y, &kind)| {
                of_kind[kind].iter().map(move |vent| {
                    let mut vent = *vent;
                    vent.bounds.min.y += y;
                    vent.bounds.max.y += y;
                    vent
                })
            })
            .collect();
        Ok(Channels {
            sprue,
            runner,
            vents,
            grooves: Vec::new(),
        })
    }

    /// The channels with room on every side.
    pub(super) fn roomier(&self, clearance: f64) -> Self {
        let mut roomier = self.clone();
        // An end at the block's face goes on through it.
        for (_, r) in &mut roomier.sprue.corners {
            *r += clearance;
        }
        for vent in &mut roomier.vents {
            for k in 0..3 {
                vent.bounds.min[k] -= clearance;
                vent.bounds.max[k] += clearance;
            }
        }
        for groove in &mut roomier.grooves {
            groove.widen(clearance);
        }
        roomier
    }

    /// The channels as solids, drawn level.
    pub(super) fn meshes(&self, face: &PartingFace, tolerance: f64) -> Vec<Mesh> {
        let aside = Vector3::new(0.0, self.sprue.axis, 0.0);
        let mut meshes = vec![turned(&self.sprue.corners, tolerance).translated(&aside)];
        meshes.extend(self.runner.iter().flat_map(|r| r.meshes(tolerance)));
        let vents = self.vents.iter().map(|v| v.bounds.to_mesh());
        let shallow = vents.chain(self.grooves.iter().map(Groove::mesh));
        meshes.extend(shallow.map(|channel| face.deepened(channel)));
        meshes
    }
}

/// Radius of the header for cavities at these places: twice the widest gate, more where the
/// innermost gates would otherwise be much narrower than the header lets them be.
pub(super) fn header(kinds: &[Kind<'_>], (across, kind): (&[f64], &[usize]), mouth: f64) -> f64 {
    const MUCH: f64 = 0.7;
    let takers = takers(kinds, (across, kind), 0.0);
    let free = freely_fed(&takers);
    let narrow = |radius: f64| {
        let radii = balanced(&takers, radius);
        radii.iter().zip(&free).any(|(r, free)| *r < MUCH * free)
    };
    let mut radius = 2.0 * free.iter().copied().fold(0.0, f64::max);
    while narrow(radius) && 1.05 * radius < mouth {
        radius *= 1.05;
    }
    radius
}

/// What the runner feeds: `farther` is how much longer the necks are than they have to be.
fn takers(kinds: &[Kind<'_>], (across, kind): (&[f64], &[usize]), farther: f64) -> Vec<Taker> {
    let of = |(&across, &kind): (&f64, &usize)| Taker {
        across,
        flow: kinds[kind].volume / kinds[0].volume,
        length: NECK + kinds[kind].gate.covers + farther,
        gate: kinds[kind].gate.radius,
    };
    across.iter().zip(kind).map(of).collect()
}

/// The sprue down to the body, or to the header with its necks.
fn sprue(
    design: &Design,
    block: &Bounds,
    fed: &Fed<'_>,
) -> Result<(Sprue, Option<Runner>), Problems> {
    let mould = &design.mould;
    let end = mould.sprue_end;
    let Kind { form, gate, .. } = fed.kinds[0];
    let axis = form.axis(end);
    // From the face inwards.
    let (face, inward) = match end {
        BodyEnd::Nose => (block.min.x, 1.0),
        BodyEnd::Tail => (block.max.x, -1.0),
    };
    let rising = |mut corners: Vec<(f64, f64)>| {
        if end == BodyEnd::Tail {
            corners.reverse();
        }
        debug_assert!(corners.windows(2).all(|w| w[1].0 > w[0].0));
        corners
    };
    let funnel = |neck: f64| {
        let neck = neck.min(mould.mouth_radius);
        [
            (face, mould.mouth_radius),
            (face + inward * mould.funnel_depth, neck),
        ]
    };
    let Some(radius) = fed.header else {
        let inside = form.inward(end, gate.covers + buried(gate.radius));
        let [mouth, neck] = funnel(NECK_TAPER * gate.radius);
        let sprue = Sprue {
            end,
            axis,
            gate_radius: gate.radius,
            covers: gate.covers,
            opens: gate.opens,
            corners: rising(vec![mouth, neck, (inside, gate.radius)]),
        };
        return Ok((sprue, None));
    };
    let at = face + inward * (mould.funnel_depth + radius);
    // Both reach a little past the header's axis, so that no two ends are flush.
    let past = 0.2 * radius * inward;
    let mixed = fed.kinds.len() > 1;
    let places = (fed.across, fed.kind);
    // Necks that differ share the pressure by their true lengths.
    let farther = match mixed {
        true => ((form.end(end) - at) * inward - radius - NECK).max(0.0),
        false => 0.0,
    };
    let radii = balanced(&takers(fed.kinds, places, farther), radius);
    let slightest = radii.iter().zip(fed.kind).min_by(|a, b| a.0.total_cmp(b.0));
    if let (true, Some((&least, &kind))) = (mixed, slightest)
        && least < LEAST_GATE
    {
        return Err(fed.kinds[kind].too_slight(design, least));
    }
    let widest = match mixed {
        true => radii.iter().copied().fold(0.0, f64::max),
        false => gate.radius,
    };
    let mut blocked: Vec<Problem> = Vec::new();
    let necks: Vec<Neck> = fed
        .across
        .iter()
        .zip(fed.kind)
        .zip(radii)
        .map(|((&across, &kind), gate_radius)| {
            let Kind {
                form, gate, along, ..
            } = fed.kinds[kind];
            let gate_radius = gate_radius.max(LEAST_GATE);
            let covers = covered(form, end, gate_radius, MOST).unwrap_or(gate.covers);
            let opens = gate::opens(form, end, gate_radius, covers);
            if mixed {
                let kind = &fed.kinds[kind];
                blocked.extend(kind.blocked(design, form.inward(end, covers), (axis, gate_radius)));
            }
            let inside = form.inward(end, covers + buried(gate_radius)) + along;
            Neck {
                across: across + axis,
                gate_radius,
                covers,
                opens,
                corners: rising(vec![
                    (at - past, NECK_TAPER * gate_radius),
                    (inside, gate_radius),
                ]),
            }
        })
        .collect();
    // Those of one kind fail alike; once is enough.
    blocked.dedup_by(|a, b| a.path == b.path);
    if !blocked.is_empty() {
        return Err(Problems(blocked));
    }
    let [mouth, neck] = funnel(0.9 * radius);
    let sprue = Sprue {
        end,
        axis,
        gate_radius: widest,
        covers: gate.covers,
        opens: necks.iter().map(|n| n.opens).fold(1.0, f64::min),
        corners: rising(vec![
            mouth,
            neck,
            (at + past, 0.9 * radius.min(neck.1 / 0.9)),
        ]),
    };
    let beyond = 1.2 * NECK_TAPER * widest;
    let span = [
        axis + fed.across.first().copied().unwrap_or_default() - beyond,
        axis + fed.across.last().copied().unwrap_or_default() + beyond,
    ];
    let runner = Runner {
        at,
        radius,
        span,
        necks,
    };
    Ok((sprue, Some(runner)))
}

/// The vents of one bait, across the block in its own place.
pub(super) fn vents_of(
    design: &Design,
    kind: &Kind<'_>,
    block: &Bounds,
    keys: &[Key],
    alone: bool,
) -> Result<Vec<Vent>, Problems> {
    let mut own = *block;
    own.min.x -= kind.along;
    own.max.x -= kind.along;
    let mut vents = vents(design, kind.vented, &own, (keys, kind.taken), alone)?;
    if kind.called.is_some() {
        for vent in &mut vents {
            vent.bounds.min.x += kind.along;
            vent.bounds.max.x += kind.along;
            // Rounding must not keep them from the very face.
            match vented_end(design) {
                BodyEnd::Nose => vent.bounds.min.x = block.min.x,
                BodyEnd::Tail => vent.bounds.max.x = block.max.x,
            }
        }
    }
    Ok(vents)
}

/// How far a sprue is sunk into the body beyond where it is inside all round.
fn buried(gate: f64) -> f64 {
    BURIED.max(0.5 * gate)
}

fn vents(
    design: &Design,
    form: &Form<'_>,
    block: &Bounds,
    clear: (&[Key], &[([f64; 2], f64)]),
    alone: bool,
) -> Result<Vec<Vent>, Problems> {
    let end = vented_end(design);
    // A collar's seat is no way out for the air: vents leave before it, sideways.
    let place = |count: usize| {
        if end == BodyEnd::Tail && form.has_collar {
            // Sideways would run into the neighbour. This end is the lowest as the mould is
            // poured: it fills first, and its air rises past the baits to the sprue, or from
            // wherever it is caught by grooves of its own (see `air`).
            if !alone {
                return (count == 0).then(Vec::new);
            }
            sideways(design, form, block, clear, count)
        } else {
            endways(design, form, block, clear.1, (end, count))
        }
    };
    let most = design.mould.vent_count.unwrap_or(VENTS);
    let mut vents = match place(most) {
        Some(vents) => vents,
        None => {
            let fewer = (0..most).rev().find_map(place).unwrap_or_default();
            if let Some(asked) = design.mould.vent_count {
                return Err(no_room(design, asked, fewer.len()).into());
            }
            fewer
        }
    };
    vents.sort_by(|a, b| a.bounds.min.y.total_cmp(&b.bounds.min.y));
    Ok(vents)
}

fn no_room(design: &Design, asked: usize, fit: usize) -> Problem {
    let mould = &design.mould;
    Problem::new("mould.vents.count", "the body has no room for its vents")
        .value(asked)
        .limit(format!(
            "at most {fit} of {} by {} on this body",
            design.units.show(mould.vent_width),
            design.units.show(mould.vent_depth)
        ))
        .hint("ask for fewer or smaller vents; 0 leaves them out")
}

/// Vents side by side from the end of the body to the end face of the block.
fn endways(
    design: &Design,
    form: &Form<'_>,
    block: &Bounds,
    taken: &[([f64; 2], f64)],
    (end, count): (BodyEnd, usize),
) -> Option<Vec<Vent>> {
    /// Steps aside in which a way past a seat is looked for, and how many.
    const STEP: f64 = 0.25;
    const STEPS: i32 = 80;
    let (width, depth) = (design.mould.vent_width, design.mould.vent_depth);
    let lobes = form.lobes(end);
    let steps = if taken.is_empty() { 0 } else { STEPS };
    let mut vents: Vec<Vent> = Vec::new();
    for i in 0..count {
        // Dealt out to the lobes by turns, and side by side within each.
        let lobe = i % lobes.len();
        let (within, of) = (i / lobes.len(), (count - lobe).div_ceil(lobes.len()));
        let aside = within as f64 - 0.5 * (of as f64 - 1.0);
        let wanted = lobes[lobe] + aside * (width + BETWEEN_VENTS);
        let outward = if aside < 0.0 { -STEP } else { STEP };
        let at = |y: f64| {
            let edges = [y - 0.5 * width, y + 0.5 * width];
            let fits = |x: f64| edges.iter().all(|&y| form.holds(x, y, 0.5 * depth));
            let inside = form.inward(end, form.depth(end, 0.5, fits)? + BURIED);
            let (from, to) = match end {
                BodyEnd::Nose => (block.min.x, inside),
                BodyEnd::Tail => (inside, block.max.x),
            };
            Some(Vent {
                bounds: Bounds {
                    min: Point3::new(from, edges[0], -0.5 * depth),
                    max: Point3::new(to, edges[1], 0.5 * depth),
                },
            })
        };
        let tries =
            (0..=steps).flat_map(|k| [1.0, -1.0].map(|s| wanted + s * f64::from(k) * outward));
        let beside = |vent: &Vent| {
            let apart = |other: &Vent| {
                let (a, b) = (vent.bounds.centre().y, other.bounds.centre().y);
                (a - b).abs() > width + BETWEEN_VENTS - 1e-9
            };
            steps == 0 || vent.clears(taken) && vents.iter().all(apart)
        };
        let vent = tries.filter_map(at).find(beside)?;
        vents.push(vent);
    }
    Some(vents)
}

/// Vents from just before the tail to the long sides of the block, right and left by
/// turns, as near to the tail as the keys let them.
fn sideways(
    design: &Design,
    form: &Form<'_>,
    block: &Bounds,
    (keys, taken): (&[Key], &[([f64; 2], f64)]),
    count: usize,
) -> Option<Vec<Vent>> {
    const STEP: f64 = 0.25;
    let mould = &design.mould;
    let (width, depth, length) = (mould.vent_width, mould.vent_depth, form.length());
    let mut next = [length - BURIED - width; 2];
    let mut vents = Vec::new();
    for i in 0..count {
        let leftward = i % 2 == 1;
        let sign = if leftward { 1.0 } else { -1.0 };
        let place = &mut next[i % 2];
        let placed = loop {
            let edges = [*place, *place + width];
            *place -= STEP;
            if edges[0] < 0.5 * length {
                break None;
            }
            let clear = keys.iter().filter(|k| k.at[1] * sign > 0.0).all(|k| {
                let reach = k.reach()[0] + KEY_LAND;
                edges[0] > k.at[0] + reach || edges[1] < k.at[0] - reach
            });
            // Of both edges the one nearer to the middle.
            let inside = edges
                .map(|x| sign * form.spine(x) + 0.85 * form.reach(leftward, x))
                .into_iter()
                .fold(f64::INFINITY, f64::min);
            let past = Vent {
                bounds: Bounds {
                    min: Point3::new(edges[0], if leftward { inside } else { block.min.y }, 0.0),
                    max: Point3::new(edges[1], if leftward { block.max.y } else { -inside }, 0.0),
                },
            };
            if clear
                && past.clears(taken)
                && edges
                    .iter()
                    .all(|&x| form.holds(x, sign * inside, 0.5 * depth))
            {
                break Some((edges, inside));
            }
        };
        let (edges, inside) = placed?;
        *place = edges[0] - BETWEEN_VENTS - width;
        let (from, to) = if leftward {
            (inside, block.max.y)
        } else {
            (block.min.y, -inside)
        };
        vents.push(Vent {
            bounds: Bounds {
                min: Point3::new(edges[0], from, -0.5 * depth),
                max: Point3::new(edges[1], to, 0.5 * depth),
            },
        });
    }
    Some(vents)
}
