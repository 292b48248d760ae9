//! The way back: from a wanted sink to the mass and place of one weight.

use nalgebra::Point3;

use super::insert::skin_above;
use super::{Bed, KEPT_SKIN, Rig, Shape, Skin, TOUCHING};
use crate::quantity::OUNCE;
use crate::spec::{Metal, RigDesign, WantedDesign, WeightDesign, WeightShape};
use crate::water::{Case, Sinker};

/// A weight that brings about what is wanted, in the middle case of the drag band.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedWeight {
    /// The weight, in its place.
    pub weight: WeightDesign,
    /// Its mass, in g.
    pub mass: f64,
    /// Least plastic over it.
    pub skin: Skin,
    /// What the whole does with it: seconds to the wanted depth and degrees nose down.
    pub time: f64,
    /// Degrees of the nose below the horizontal as it sinks.
    pub nose_down: f64,
    /// The stock sizes next below and above, in ounces and in grams, at the same place.
    pub stock: Vec<StockWeight>,
}

/// A weight as sold.
#[derive(Clone, Debug, PartialEq)]
pub struct StockWeight {
    /// As it is called: `1/8 oz`, `3.5 g`.
    pub name: String,
    /// Mass, in g.
    pub mass: f64,
    /// Seconds to the wanted depth with it; `None` if the bait does not sink.
    pub time: Option<f64>,
    /// Degrees nose down; `None` if the bait does not sink.
    pub nose_down: Option<f64>,
}

/// Plastic that by itself, without a weight, brings the bait down as soon as wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unweighted {
    /// Its density, in g/ml.
    pub density: f64,
    /// Seconds to the wanted depth at the attitude it then takes.
    pub time: f64,
    /// That attitude, in degrees of the nose below the horizontal.
    pub nose_down: f64,
    /// Whether both are as wanted.
    pub as_wanted: bool,
}

/// Why there is no such weight, and what would help.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum NotPlaced {
    /// Without any weight it sinks sooner than wanted already.
    TooHeavy {
        /// Plastic with which it would sink so soon without a weight; lighter by beads or softener.
        plastic: Option<Unweighted>,
    },
    /// No metal is dense enough: a weight that brings it down so soon is larger than the bait.
    Impossible {
        /// Plastic with which it would sink so soon without a weight: salt makes it denser.
        plastic: Option<Unweighted>,
    },
    /// The mass is right, but there is no place for it that keeps its skin and gives the hang.
    NoPlace {
        /// The mass it would take, in g.
        mass: f64,
        /// Where along the body it would have to be, at the height it comes nearest at.
        at: f64,
        /// The most plastic that is left over it there, in mm; negative where it comes out.
        skin: f64,
        /// Metals with which there is a place.
        metals: Vec<Metal>,
        /// Plastic with which it would sink so soon without a weight: salt makes it denser.
        plastic: Option<Unweighted>,
    },
    /// It would lie there, but not stay: the balance tips over.
    Unsteady {
        /// The mass, in g.
        mass: f64,
        /// Degrees nose down it would really take up.
        nose_down: f64,
    },
}

/// Finds mass and place of a design's first weight (its shape, metal and hole are kept, its mass and
/// place are not; without one, a ball of lead), so that the whole sinks to the wanted depth in the
/// wanted time at the wanted attitude, in the middle case of the drag band.
///
/// The mass follows from the time; the place along the body from the moments at that attitude; the
/// height is the lowest that keeps [`KEPT_SKIN`] and clears the other inserts, which holds the attitude
/// best.
///
/// # Errors
/// Why there is none.
pub fn place_weight(
    design: &RigDesign,
    wanted: &WantedDesign,
    bed: &Bed,
) -> Result<PlacedWeight, NotPlaced> {
    let start = super::main_weight(design).copied().unwrap_or(WeightDesign {
        shape: WeightShape::Ball,
        density: Metal::Lead.density(),
        diameter: 5.0,
        length: 5.0,
        hole: 0.0,
        at: 0.5 * bed.length,
        height: 0.0,
    });
    let search = Search {
        rest: RigDesign {
            weights: design.weights.iter().skip(1).copied().collect(),
            ..design.clone()
        },
        wanted,
        bed,
    };
    search.solve(start)
}

struct Search<'s> {
    /// Everything but the weight that is looked for.
    rest: RigDesign,
    wanted: &'s WantedDesign,
    bed: &'s Bed,
}

impl Search<'_> {
    fn with(&self, weight: WeightDesign) -> RigDesign {
        let mut rig = self.rest.clone();
        rig.weights.insert(0, weight);
        rig
    }

    /// Seconds to the wanted depth of one held at the wanted attitude; infinite if it floats.
    fn time(&self, sinker: &Sinker) -> f64 {
        sinker
            .fall_at(self.wanted.hang, self.wanted.depth, 1.0, Case::Middle)
            .filter(|fall| fall.depth >= self.wanted.depth * (1.0 - 1e-9))
            .map_or(f64::INFINITY, |fall| fall.time)
    }

    fn solve(&self, start: WeightDesign) -> Result<PlacedWeight, NotPlaced> {
        let rest = Rig::in_bed(&self.rest, self.bed);
        let excess = 1.0 - self.rest.plastic_density / start.density;
        let timed = |more: f64| {
            // The time depends on the whole mass only: where it lies is looked for next.
            let mut sinker = rest.sinker.clone();
            sinker.balance.mass += more;
            self.time(&sinker)
        };
        if timed(0.0) <= self.wanted.time {
            return Err(NotPlaced::TooHeavy {
                plastic: self.without_weight(&rest),
            });
        }
        // Mass beyond that of the plastic it keeps out.
        let mut high = 1.0;
        while timed(high) > self.wanted.time && high < 1e6 {
            high *= 2.0;
        }
        let impossible = || NotPlaced::Impossible {
            plastic: self.without_weight(&rest),
        };
        if timed(high) > self.wanted.time {
            return Err(impossible());
        }
        let high = self.meeting(timed, [0.0, high]);
        // The smallest it can be, of the densest metal.
        let volume = 1000.0 * high / (Metal::Tungsten.density() - self.rest.plastic_density);
        if volume > self.bed.volume {
            return Err(impossible());
        }
        let mass = high / excess;
        let no_place = |at: f64, skin: f64, metals: Vec<Metal>| NotPlaced::NoPlace {
            mass,
            at,
            skin,
            metals,
            plastic: self.without_weight(&rest),
        };
        let Some(sized) = start.with_mass(mass) else {
            return Err(no_place(start.at, f64::NEG_INFINITY, Vec::new()));
        };
        match self.lowest(sized, &rest, high) {
            Ok((weight, skin)) => self.finished(weight, mass, skin),
            Err((at, skin)) => {
                let metals = [Metal::Tungsten, Metal::Lead, Metal::Bismuth]
                    .into_iter()
                    .filter(|metal| metal.density() > start.density)
                    .filter(|metal| {
                        let density = metal.density();
                        let excess = 1.0 - self.rest.plastic_density / density;
                        let other = WeightDesign { density, ..start };
                        let sized = other.with_mass(high / excess);
                        sized.is_some_and(|sized| self.lowest(sized, &rest, high).is_ok())
                    })
                    .collect();
                Err(no_place(at, skin, metals))
            }
        }
    }

    /// Plastic with which the rest alone sinks so soon, if there is a sensible one.
    fn without_weight(&self, rest: &Rig) -> Option<Unweighted> {
        let of = |density: f64| {
            let mut sinker = rest.sinker.clone();
            let more = rest.plastic.mass * (density / self.rest.plastic_density - 1.0);
            sinker.balance = sinker.balance.with_more(more, &rest.plastic.centre);
            sinker
        };
        let timed = |density: f64| self.time(&of(density));
        // What beads and salt can make of plastisol (reasoned).
        let [low, high] = [0.7, 1.4];
        if timed(low) <= self.wanted.time || timed(high) > self.wanted.time {
            return None;
        }
        let density = self.meeting(timed, [low, high]);
        // It was held as wanted so far: left alone it takes an attitude of its own.
        let sinker = of(density);
        let nose_down = sinker.terminal_in(Case::Middle)?.nose_down;
        let time = sinker
            .fall_at(nose_down, self.wanted.depth, 1.0, Case::Middle)?
            .time;
        Some(Unweighted {
            density,
            time,
            nose_down,
            as_wanted: (nose_down - self.wanted.hang).abs() < 1.0
                && (time / self.wanted.time - 1.0).abs() < 0.02,
        })
    }

    /// Where a time that falls from above the wanted one to below it meets it.
    fn meeting(&self, timed: impl Fn(f64) -> f64, [mut low, mut high]: [f64; 2]) -> f64 {
        // How far off, by the reciprocal, which is finite where it floats; false position with the
        // Illinois rule of M. Dowell, P. Jarratt, BIT 11, 1971.
        let off = |x: f64| self.wanted.time / timed(x) - 1.0;
        let (mut below, mut above) = (off(low), off(high));
        let mut kept = 0;
        for _ in 0..60 {
            let x = (low * above - high * below) / (above - below);
            let here = off(x);
            if here.abs() < 1e-10 {
                return x;
            }
            if here < 0.0 {
                (low, below) = (x, here);
                if kept == -1 {
                    above *= 0.5;
                }
                kept = -1;
            } else {
                (high, above) = (x, here);
                if kept == 1 {
                    below *= 0.5;
                }
                kept = 1;
            }
        }
        high
    }

    /// The lowest place that keeps the skin, with the x that gives the hang there; or the best there
    /// is, as (x, skin).
    fn lowest(
        &self,
        weight: WeightDesign,
        rest: &Rig,
        excess: f64,
    ) -> Result<(WeightDesign, Skin), (f64, f64)> {
        const STEP: f64 = 0.25;
        let (sin, cos) = libm::sincos(self.wanted.hang.to_radians());
        // The moment of everything with the excess mass at the origin; where it lies adds
        // −(x cos − z sin) times its weight.
        let mut sinker = rest.sinker.clone();
        sinker.balance = sinker.balance.with_more(excess, &Point3::origin());
        let left =
            sinker.moment_at(self.wanted.hang, Case::Middle) / (excess * crate::water::GRAVITY);
        let placed = |height: f64| {
            let centre = (left + height * sin) / cos;
            WeightDesign {
                at: centre - weight.centre_behind(),
                height,
                ..weight
            }
        };
        let bounds = self.bed.plastic.mesh().bounds();
        let (low, high) = bounds.map_or((0.0, 0.0), |b| (b.min.z, b.max.z));
        let mut best = (placed(0.0).at, f64::NEG_INFINITY);
        let mut height = libm::floor(low / STEP) * STEP;
        while height < high {
            let here = placed(height);
            height += STEP;
            // Its middle alone rules most places out.
            let middle = Point3::new(here.at, 0.0, here.height);
            let room = self.bed.plastic.depth(&middle) - 0.5 * here.diameter;
            if room < KEPT_SKIN {
                if room > best.1 {
                    best = (here.at, room);
                }
                continue;
            }
            let shape = Shape::of_weight(&here);
            let Some(found) = skin_above(&shape, &self.bed.plastic, KEPT_SKIN) else {
                continue;
            };
            if found.thickness < KEPT_SKIN {
                if found.thickness > best.1 {
                    best = (here.at, found.thickness);
                }
                continue;
            }
            let insert = super::Insert::weight(0, &here, self.bed);
            let clear = rest
                .inserts
                .iter()
                .all(|other| other.overlap(&insert) <= TOUCHING);
            if clear {
                return Ok((here, found));
            }
        }
        Err(best)
    }

    fn finished(
        &self,
        weight: WeightDesign,
        mass: f64,
        skin: Skin,
    ) -> Result<PlacedWeight, NotPlaced> {
        let run = |weight: WeightDesign| {
            let rig = Rig::in_bed(&self.with(weight), self.bed);
            let motion = rig.sinker.terminal_in(Case::Middle)?;
            let time = rig
                .sinker
                .fall_at(motion.nose_down, self.wanted.depth, 1.0, Case::Middle)
                .filter(|fall| fall.depth >= self.wanted.depth * (1.0 - 1e-9))?
                .time;
            Some((time, motion.nose_down))
        };
        // What it really does, put back into the whole.
        let (time, nose_down) = run(weight).unwrap_or((f64::INFINITY, f64::NAN));
        let steady = (nose_down - self.wanted.hang).abs() < 0.1
            && (time / self.wanted.time - 1.0).abs() < 0.01;
        if !steady {
            return Err(NotPlaced::Unsteady { mass, nose_down });
        }
        let stock = nearest_stock(mass)
            .into_iter()
            .filter_map(|(name, mass)| {
                let done = run(weight.with_mass(mass)?);
                Some(StockWeight {
                    name,
                    mass,
                    time: done.map(|(time, _)| time),
                    nose_down: done.map(|(_, angle)| angle),
                })
            })
            .collect();
        Ok(PlacedWeight {
            weight,
            mass,
            skin,
            time,
            nose_down,
            stock,
        })
    }
}

/// Weights are sold in halvings of the ounce and multiples of them, and in half grams (common
/// practice): the next below and above of both.
fn nearest_stock(mass: f64) -> Vec<(String, f64)> {
    const OUNCES: [(u32, u32); 17] = [
        (1, 64),
        (1, 32),
        (3, 64),
        (1, 16),
        (3, 32),
        (1, 8),
        (3, 16),
        (1, 4),
        (5, 16),
        (3, 8),
        (1, 2),
        (5, 8),
        (3, 4),
        (1, 1),
        (3, 2),
        (2, 1),
        (3, 1),
    ];
    let ounces = OUNCES.map(|(a, b)| {
        let name = match (a, b) {
            (3, 2) => "1 1/2 oz".to_owned(),
            (a, 1) => format!("{a} oz"),
            (a, b) => format!("{a}/{b} oz"),
        };
        (name, OUNCE * f64::from(a) / f64::from(b))
    });
    let below = ounces.iter().rev().find(|(_, grams)| *grams <= mass);
    let above = ounces.iter().find(|(_, grams)| *grams > mass);
    let step = if mass < 10.0 { 0.5 } else { 1.0 };
    let floor = libm::floor(mass / step) * step;
    let grams = [floor, floor + step]
        .into_iter()
        .filter(|grams| *grams > 0.0)
        .map(|grams| (format!("{grams} g"), grams));
    let mut found: Vec<(String, f64)> = below.into_iter().chain(above).cloned().collect();
    found.extend(grams);
    found
}
