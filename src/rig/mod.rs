//! What is cast into a bait or hangs on it: wire, hook, weights, skirt.
//!
//! - [`Plastic`]: the cast body, asked how deep a point lies in it;
//! - [`Insert`]: one thing with its shape, mass and place;
//! - [`Rig`]: all of them in a body, with the [`Balance`] and the
//!   [`Sinker`] that come of it;
//! - [`place_weight`]: the way back, from a wanted sink to the mass and place of a weight.
//!
//! Lengths in millimetres, masses in grams, densities in g/ml, in the body's axes.

mod insert;
mod link;
mod placing;
mod plastic;
mod shape;
mod sizes;
mod wire;

use nalgebra::{Point3, Vector3};

pub use insert::{Insert, InsertKind, Skin};
pub use link::Link;
pub use placing::{NotPlaced, PlacedWeight, StockWeight, Unweighted, place_weight};
pub use plastic::Plastic;
pub use shape::Shape;
pub use sizes::{Sized, sizes};
pub use wire::{Bent, WireCourse, WireEye, WirePlan, hook_course, is_strung};

use crate::body::{Body, Master};
use crate::mesh::{Mesh, SolidError};
use crate::spec::{Design, Problem, Problems, RigDesign, WeightDesign};
use crate::water::{Allowance, Balance, Form, Part, Sinker, Water};

/// Least plastic over an insert that common practice keeps, in mm.
pub const KEPT_SKIN: f64 = 1.5;
/// Inserts may sink into each other by no more than this, in mm, which the sampling of their
/// surfaces does not see.
const TOUCHING: f64 = 0.02;

/// A bait with everything in it.
#[derive(Clone, Debug)]
pub struct Rig {
    /// The cast plastic: its mass and centre, less what the inserts keep out.
    pub plastic: Part,
    /// The inserts, in the order wire, hook, weights, skirt.
    pub inserts: Vec<Insert>,
    /// How the wire is cut and bent.
    pub wire: Option<WirePlan>,
    /// The whole.
    pub balance: Balance,
    /// The water.
    pub water: Water,
    /// Where a line is tied: the middle of the wire's first eye, else the hook's, else none.
    pub eye: Option<Point3<f64>>,
    /// Hull and balance, ready to sink.
    pub sinker: Sinker,
}

/// A body to put inserts into.
#[derive(Clone, Debug)]
pub struct Bed {
    /// Where its plastic is.
    pub plastic: Plastic,
    /// Volume of its plastic, in mm³, and its centre: more exact than the mesh.
    pub volume: f64,
    /// Centre of that volume.
    pub centroid: Point3<f64>,
    /// What the water feels of it.
    pub form: Form,
    /// Length from nose to tail.
    pub length: f64,
}

impl Bed {
    /// The bed of a body and its master: core prints and loose cores are no plastic.
    ///
    /// # Errors
    /// The solid operations failed, which no spec should bring about.
    pub fn of(body: &Body, master: &Master) -> Result<Self, SolidError> {
        let mesh = plastic::cast(body, master)?;
        Ok(Self::of_mesh(
            mesh,
            Some((master.bait_volume, master.centroid.into())),
            body.length(),
        ))
    }

    /// The bed of a mesh; `exact` is its volume and centre if known better than the mesh does.
    #[must_use]
    pub fn of_mesh(mesh: Mesh, exact: Option<(f64, Point3<f64>)>, length: f64) -> Self {
        let measured = mesh
            .mass_properties()
            .map_or((0.0, Point3::origin()), |m| (m.volume, m.centroid));
        let (volume, centroid) = exact.unwrap_or(measured);
        // A checked mesh has a form; a plain spheroid stands in for none.
        let form = Form::of(&mesh).unwrap_or_else(|| Form::spheroid(length, 0.2 * length));
        Bed {
            plastic: Plastic::new(mesh),
            volume,
            centroid,
            form,
            length,
        }
    }

    /// The bed at another size.
    #[must_use]
    pub fn scaled(&self, size: f64) -> Self {
        let (square, cube) = (size * size, size * size * size);
        let f = &self.form;
        Bed {
            plastic: Plastic::new(self.plastic.mesh().clone().scaled(size)),
            volume: cube * self.volume,
            centroid: self.centroid * size,
            form: Form {
                length: size * f.length,
                volume: cube * f.volume,
                wetted: square * f.wetted,
                frontal: square * f.frontal,
                top_area: square * f.top_area,
                side_area: square * f.side_area,
                base: square * f.base,
                centre: f.centre * size,
            },
            length: size * self.length,
        }
    }
}

impl Rig {
    /// Puts a design's inserts into its body.
    ///
    /// # Errors
    /// Inserts that come out of the body where they have no exit, or share space, are named.
    pub fn build(design: &Design, bed: &Bed) -> Result<Self, Problems> {
        let rig = Self::in_bed(&design.rig, bed);
        let problems = rig.problems(design, bed);
        if problems.is_empty() {
            Ok(rig)
        } else {
            Err(Problems(problems))
        }
    }

    /// Puts inserts into a bed, whether they fit or not.
    #[must_use]
    pub fn in_bed(rig: &RigDesign, bed: &Bed) -> Self {
        let mut inserts = Vec::new();
        let mut wire = None;
        if let Some(design) = &rig.wire {
            let (insert, plan) = Insert::wire(design, bed);
            inserts.push(insert);
            wire = Some(plan);
        }
        inserts.extend(rig.hook.iter().map(|hook| Insert::hook(hook, bed)));
        let weights = rig.weights.iter().enumerate();
        inserts.extend(weights.map(|(i, weight)| Insert::weight(i, weight, bed)));
        inserts.extend(rig.skirt.iter().map(|skirt| Insert::skirt(skirt, bed)));
        let eye = wire
            .as_ref()
            .and_then(|plan: &WirePlan| plan.eyes[0])
            .or_else(|| {
                let hook = rig.hook.as_ref()?;
                Some(Point3::new(hook.at, 0.0, hook.height))
            });
        let water = Water {
            salinity: rig.salinity,
            temperature: rig.temperature,
        };
        let density = 1e-3 * rig.plastic_density;
        let moment = |parts: &mut dyn Iterator<Item = (f64, Point3<f64>)>| {
            parts.fold((0.0, Vector3::zeros()), |(sum, moment), (size, at)| {
                (sum + size, moment + at.coords * size)
            })
        };
        // What inserts keep out of the plastic, and what of them lies outside it in the water.
        let kept = moment(&mut inserts.iter().map(|i| i.embedded));
        let outside = moment(&mut inserts.iter().map(|i| i.outside));
        let whole = bed.centroid.coords * bed.volume;
        let left = (bed.volume - kept.0).max(1e-9 * bed.volume);
        let plastic = Part {
            mass: density * left,
            centre: Point3::from((whole - kept.1) / left),
        };
        let displaced = bed.volume + outside.0;
        let parts: Vec<Part> = std::iter::once(plastic)
            .chain(inserts.iter().map(|i| i.part))
            .collect();
        let centre = Point3::from((whole + outside.1) / displaced);
        let balance = Balance::of(&parts, displaced, centre).unwrap_or(Balance {
            mass: plastic.mass,
            centre_of_mass: plastic.centre,
            volume: displaced,
            centre_of_buoyancy: centre,
        });
        let allowances: Vec<Allowance> = inserts.iter().filter_map(|i| i.allowance).collect();
        Rig {
            plastic,
            wire,
            balance,
            water,
            eye,
            sinker: Sinker {
                form: bed.form,
                balance,
                water,
                allowances,
            },
            inserts,
        }
    }

    /// The thinnest plastic over any insert, if any is covered.
    #[must_use]
    pub fn thinnest(&self) -> Option<(&Insert, Skin)> {
        self.inserts
            .iter()
            .filter_map(|insert| Some((insert, insert.skin?)))
            .min_by(|a, b| a.1.thickness.total_cmp(&b.1.thickness))
    }

    /// What inserts keep out of the plastic, in mm³.
    #[must_use]
    pub fn kept_out(&self) -> f64 {
        self.inserts.iter().map(|i| i.embedded.0).sum()
    }

    /// Inserts that share space, as their places in the list and the depth in mm.
    #[must_use]
    pub fn clashes(&self) -> Vec<(usize, usize, f64)> {
        let mut found = Vec::new();
        for j in 1..self.inserts.len() {
            for i in 0..j {
                let depth = self.inserts[i].overlap(&self.inserts[j]);
                if depth > TOUCHING {
                    found.push((i, j, depth));
                }
            }
        }
        found
    }

    fn problems(&self, design: &Design, bed: &Bed) -> Vec<Problem> {
        let show = |mm: f64| design.units.show(mm);
        let mut problems = Vec::new();
        for insert in &self.inserts {
            let Some(out) = insert.comes_out() else {
                continue;
            };
            let (limit, hint) = match self.place_within(design, bed, insert) {
                Some(at) => (
                    format!(
                        "wholly within the plastic, as with at = {}",
                        show(at / design.scale)
                    ),
                    "move it, make it smaller, or take a denser metal",
                ),
                None => (
                    "wholly within the plastic".to_owned(),
                    "move it towards the middle, make it smaller, or take a denser metal",
                ),
            };
            problems.push(
                Problem::new(
                    &insert.path,
                    "this comes out of the body, where it has no seat",
                )
                .value(format!(
                    "{} out at {} from the nose, {}",
                    show(-out.thickness),
                    show(out.at.x),
                    design.units.show_height(out.at.z)
                ))
                .limit(limit)
                .hint(hint),
            );
        }
        for insert in &self.inserts {
            // A hook may hang from the wire's eye in the water; a wire must run through the bait.
            if insert.kind != InsertKind::Wire || insert.embedded.0 > 0.0 {
                continue;
            }
            let at = design.rig.wire.as_ref().map_or(0.0, |wire| wire.height);
            problems.push(
                Problem::new(
                    format!("{}.height", insert.path),
                    "no part of this wire lies in the plastic",
                )
                .value(design.units.show_height(at))
                .limit("within the body between its ends")
                .hint("0 is the axis; bring it nearer to that"),
            );
        }
        // In the water a hook may hang from a wire; from nothing it cannot.
        for insert in &self.inserts {
            let loose = insert.kind == InsertKind::Hook && insert.embedded.0 <= 0.0;
            if let (true, None, Some(hook)) = (loose, &design.rig.wire, &design.rig.hook) {
                problems.push(
                    Problem::new(
                        format!("{}.at", insert.path),
                        "no part of this hook lies in the plastic, nor is there a wire for it to hang from",
                    )
                    .value(show(hook.at / design.scale))
                    .limit(format!(
                        "where its shank runs into the bait, which is {} long",
                        show(bed.length / design.scale)
                    ))
                    .hint("`at` is its eye, the shank runs backward from there"),
                );
            }
        }
        for (i, j, depth) in self.clashes() {
            let (a, b) = (&self.inserts[i], &self.inserts[j]);
            // What a weight shares space with is named with a place where it does not.
            let place = [b, a].into_iter().find_map(|insert| {
                let at = self.place_within(design, bed, insert)?;
                Some(format!(
                    ", as with {} at {}",
                    insert.path,
                    show(at / design.scale)
                ))
            });
            problems.push(
                Problem::new(&b.path, format!("this shares space with `{}`", a.path))
                    .value(format!("{} deep", show(depth)))
                    .limit(format!(
                        "two inserts may touch, no more{}",
                        place.unwrap_or_default()
                    ))
                    .hint("move one of them; a weight on the wire needs a `hole`"),
            );
        }
        problems
    }

    /// The nearest place along the body at which a weight comes out of it nowhere and shares space with
    /// nothing, on its height; `None` if there is none, or this is no weight.
    fn place_within(&self, design: &Design, bed: &Bed, insert: &Insert) -> Option<f64> {
        /// Places tried to either side, in shares of the length.
        const TRIED: i32 = 100;
        let weights = (self.inserts.iter()).filter(|other| other.kind == InsertKind::Weight);
        let i = weights
            .map(|other| &other.path)
            .position(|path| *path == insert.path)?;
        let weight = design.rig.weights.get(i)?;
        // As it is shown, and typed.
        let digit = design.units.digit() * design.scale;
        let apart = bed.length / f64::from(TRIED);
        let places = (1..=TRIED).flat_map(|k| [-k, k]).map(|k| {
            let at = weight.at + apart * f64::from(k);
            libm::round(at / digit) * digit
        });
        places
            .filter(|at| (0.0..=bed.length).contains(at))
            .find(|&at| {
                let moved = Insert::weight(i, &WeightDesign { at, ..*weight }, bed);
                let others = self
                    .inserts
                    .iter()
                    .filter(|other| other.path != insert.path);
                moved.comes_out().is_none()
                    && others
                        .map(|other| other.overlap(&moved).max(moved.overlap(other)))
                        .all(|depth| depth <= TOUCHING)
            })
    }

    /// How a design's hook and the wire's rear eye are joined; `None` without both.
    #[must_use]
    pub fn link(&self, design: &RigDesign) -> Option<Link> {
        let (wire, hook) = (design.wire.as_ref()?, design.hook.as_ref()?);
        let centre = self.wire.as_ref()?.eyes[1]?;
        let inside = self.wire.as_ref()?.inside[1]?;
        Some(Link::of(
            [centre.x, inside, wire.diameter],
            hook,
            hook.height - wire.height,
        ))
    }

    /// How far the angle at rest, free and on the line, moves at most for 0.5 mm (along the body or up,
    /// either way) and for 0.1 g (more or less) of error on the heaviest weight (or, without one, on the
    /// whole), in degrees: `[free, line][mm, g]`.
    #[must_use]
    pub fn sensitivity(&self) -> [[Option<f64>; 2]; 2] {
        const MOVED: f64 = 0.5;
        const MORE: f64 = 0.1;
        let heaviest = self
            .inserts
            .iter()
            .filter(|i| i.kind == InsertKind::Weight)
            .max_by(|a, b| a.part.mass.total_cmp(&b.part.mass));
        // Moving a weight moves plastic the other way.
        let (whole, mass, at) = heaviest.map_or(
            (
                self.balance.mass,
                self.balance.mass,
                self.balance.centre_of_mass,
            ),
            |i| {
                let plastic = self.plastic_density_g_mm3() * i.embedded.0;
                (i.part.mass, i.part.mass - plastic, i.part.centre)
            },
        );
        let along = Vector3::x() * MOVED;
        let up = Vector3::z() * MOVED;
        let moved = [along, -along, up, -up].map(|by| self.balance.with_moved(mass, &by));
        // No more can be missing than there is.
        let heavier = [MORE, -MORE.min(0.5 * whole)].map(|by| self.balance.with_more(by, &at));
        let hangs = |b: &Balance| {
            [
                b.free(),
                self.eye.and_then(|eye| b.on_line(&eye, &self.water)),
            ]
        };
        let home = hangs(&self.balance);
        let most = |changed: &[Balance], how: usize| {
            let home = home[how]?;
            let turns = changed
                .iter()
                .filter_map(|b| Some(home.turn_to(&hangs(b)[how]?)));
            turns.reduce(f64::max)
        };
        [0, 1].map(|how| [most(&moved, how), most(&heavier, how)])
    }

    fn plastic_density_g_mm3(&self) -> f64 {
        let kept = self.kept_out();
        let outside: f64 = self.inserts.iter().map(|i| i.outside.0).sum();
        self.plastic.mass / (self.balance.volume - outside - kept)
    }
}

/// The heaviest of a design's weights that the others stay beside.
pub(crate) fn main_weight(rig: &RigDesign) -> Option<&WeightDesign> {
    rig.weights.first()
}

#[cfg(test)]
mod tests;
