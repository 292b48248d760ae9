//! What is cast, as the channels see it.

use crate::body::{Body, foremost};
use crate::curve::Outline;
use crate::mesh::slice::{PlaneSection, Sliced};
use crate::mesh::{AxisMap, Direction, Mesh};
use crate::mould::Mould;
use crate::spec::{BodyEnd, Parting};

/// Parts of a form that end within this of its farthest reach, in mm, are vented each.
const LOBE: f64 = 4.0;

/// What is cast, as the mould sees it.
pub(in crate::mould) struct Form<'a> {
    shape: Shape<'a>,
    /// Where it begins and ends along x.
    pub(super) ends: [f64; 2],
    pub(super) has_collar: bool,
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

/// The section of a mesh in the parting plane, as loops of (x, y): z takes the place of x.
pub(in crate::mould) fn in_parting_plane(mesh: &Mesh) -> PlaneSection {
    AxisMap::new(Direction::PlusY, Direction::PlusZ, Direction::PlusX)
        .map(|turn| Sliced::new(mesh.clone().mapped(&turn)).section(0.0))
        .unwrap_or_default()
}

impl<'a> Form<'a> {
    pub(in crate::mould) fn new(body: &'a Body, parting: Parting) -> Self {
        if let Some(scan) = &body.scan {
            return Form::of_mesh(scan.mesh().clone().mapped(&Mould::turn(parting)));
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
    pub(in crate::mould) fn of_mesh(mesh: Mesh) -> Self {
        let ends = mesh.bounds().map_or([0.0; 2], |b| [b.min.x, b.max.x]);
        Form {
            shape: Shape::Mesh(Sliced::new(mesh)),
            ends,
            has_collar: false,
        }
    }

    pub(super) fn length(&self) -> f64 {
        self.ends[1] - self.ends[0]
    }

    /// Distance of x from an end of the body, turned into x.
    pub(super) fn inward(&self, end: BodyEnd, depth: f64) -> f64 {
        match end {
            BodyEnd::Nose => self.ends[0] + depth,
            BodyEnd::Tail => self.ends[1] - depth,
        }
    }

    /// Where it begins or ends along x.
    pub(in crate::mould) fn end(&self, end: BodyEnd) -> f64 {
        self.inward(end, 0.0)
    }

    /// How far it reaches from its spine in the parting plane, to +y or to −y.
    pub(super) fn reach(&self, leftward: bool, x: f64) -> f64 {
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
    pub(super) fn spine(&self, x: f64) -> f64 {
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
    pub(in crate::mould) fn axis(&self, end: BodyEnd) -> f64 {
        match &self.shape {
            Shape::Trunk { .. } => self.spine(self.inward(end, 0.0)),
            Shape::Mesh(mesh) => foremost(mesh, self.ends, end),
        }
    }

    /// Radius of the largest circle about `axis`, a line along x, within the section at x.
    pub(super) fn inscribed(&self, x: f64, axis: f64) -> f64 {
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
    pub(super) fn at(&self, x: f64) -> Box<dyn Fn(f64, f64) -> bool + '_> {
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
    pub(super) fn area(&self, x: f64) -> f64 {
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
    pub(super) fn holds(&self, x: f64, y: f64, z: f64) -> bool {
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
    pub(super) fn holds_somewhere(&self, end: BodyEnd, depth: f64) -> bool {
        let lobes = self.lobes(end);
        self.depth(end, 0.25, |x| {
            lobes.iter().any(|&y| self.holds(x, y, 0.5 * depth))
        })
        .is_some()
    }

    /// Where, across the parting plane, the form reaches farthest towards an end: the middle
    /// of each of its lobes there, the spine of a plain trunk.
    pub(super) fn lobes(&self, end: BodyEnd) -> Vec<f64> {
        let Shape::Mesh(mesh) = &self.shape else {
            let back = LOBE.min(0.25 * self.length());
            return vec![self.spine(self.inward(end, back))];
        };
        let section = in_parting_plane(mesh.mesh());
        let Some([from, to]) = section.span(0) else {
            return vec![0.0];
        };
        let back = LOBE.min(0.25 * (to - from));
        // The middles of what the outline has so far from the end.
        let middles = |back: f64| -> Vec<f64> {
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
            let pairs = crossed.chunks_exact(2);
            pairs.map(|pair| 0.5 * (pair[0] + pair[1])).collect()
        };
        let mut lobes = middles(back);
        // Out to the tips of those that lie aslant, as those of a fork do.
        for share in [0.75, 0.5, 0.25, 0.125] {
            let farther = middles(share * back);
            for lobe in &mut lobes {
                let off = |y: &f64| (y - *lobe).abs();
                let nearest = farther.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
                *lobe = nearest
                    .copied()
                    .filter(|y| off(y) < 0.5 * LOBE)
                    .unwrap_or(*lobe);
            }
        }
        if lobes.is_empty() {
            lobes.push(0.0);
        }
        lobes
    }

    /// Shallowest depth from an end at which something fits, up to a share of the length.
    pub(super) fn depth(
        &self,
        end: BodyEnd,
        share: f64,
        fits: impl Fn(f64) -> bool,
    ) -> Option<f64> {
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
