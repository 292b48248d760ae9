//! One casting day: every figure of it, from a design, its body and its mould.

mod heat;
mod warn;

use heat::{Fill, clamping, cooling, thin};
use schemars::JsonSchema;
use serde::Serialize;

use super::amounts::{Additive, Part, Plastic, Run, Silicone};
use super::beside::{self, BesideAmount};
use super::conduct::Thermal;
use super::schedule::{Shots, Step};
use crate::body::{Body, Master};
use crate::materials::{By, Material, OUNCE};
use crate::mesh::Mesh;
use crate::mould::Mould;
use crate::rig::Rig;
use crate::spec::{CastDesign, Design, Route};

/// Hands on one shot: closing, filling, later opening and pulling, s (common practice).
const HANDS_PER_SHOT: f64 = 180.0;
/// Hands on a trial of silicone, s (reasoned).
const TRIAL: f64 = 600.0;

/// The figures of a casting day. Units are part of the names.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Day {
    /// Good baits that are wanted.
    pub baits: usize,
    /// Moulds that take turns.
    pub moulds: usize,
    /// Temperatures, each with its source.
    pub temperatures: Vec<Temperature>,
    /// Silicone of each pour, in their order; none for a printed block.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub silicone: Vec<SiliconeAmount>,
    /// Plastic of the run.
    pub plastic: PlasticAmount,
    /// How it fills.
    pub filling: Filling,
    /// How it cools; none if a material does not say how it takes up heat.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cooling: Option<Cooling>,
    /// Thin places, the thinnest of each feature.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub thin: Vec<ThinPlace>,
    /// What holds the mould together.
    pub clamping: Clamping,
    /// Steps before the first bait, then the run.
    pub schedule: Vec<ScheduleStep>,
    /// All of them one after the other.
    pub total_s: f64,
    /// What plastic and silicone of all moulds cost, with its money, as far as they have a price.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<String>,
    /// Whether nothing lets the air out while an injector's tip closes the sprue.
    pub sealed: bool,
    /// Whether a pour would soften the mould: it is not to be cast in.
    pub melts_the_mould: bool,
    /// What is to be known before the pour, in sentences.
    pub warnings: Vec<String>,
}

/// A temperature and where it is from.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Temperature {
    /// Of what, such as `pour at`.
    pub what: String,
    /// In °C.
    pub celsius: f64,
    /// Where it is from.
    pub source: String,
}

/// Silicone of one pour.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct SiliconeAmount {
    /// The half it makes.
    pub half: String,
    /// Material and mix.
    pub material: String,
    /// What the mould takes.
    pub exact_ml: f64,
    /// What is mixed, with what stays in the cup.
    pub mixed_ml: f64,
    /// The same on the scale.
    pub mixed_g: f64,
    /// Part A and part B on the scale.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parts_g: Option<[f64; 2]>,
    /// Part A and part B in the measuring cup.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parts_ml: Option<[f64; 2]>,
    /// Whether the parts are measured by volume, not weighed.
    pub by_volume: bool,
    /// Batches it is mixed in.
    pub batches: usize,
    /// Cup to stir a batch in.
    pub cup_ml: f64,
    /// Container for a batch under vacuum, from and to.
    pub vacuum_ml: [f64; 2],
    /// The container that a batch rises in, if the spec names it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub container_ml: Option<f64>,
    /// Time from mixing until it thickens.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pot_life_s: Option<f64>,
    /// Hands on one batch.
    pub hands_s: f64,
    /// Whether that is within the pot life.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_pot_life: Option<bool>,
    /// Cost, with its money.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<String>,
}

/// Plastic of a run.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct PlasticAmount {
    /// The material.
    pub material: String,
    /// With everything in it.
    pub density_g_per_ml: f64,
    /// Plastic of one bait.
    pub bait_ml: f64,
    /// The same.
    pub bait_g: f64,
    /// The same.
    pub bait_oz: f64,
    /// Other baits that a shot gives besides.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub beside: Vec<BesideAmount>,
    /// What is laid in for one bait keeps out of it, if anything is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inserts_ml: Option<f64>,
    /// One bait with everything in and on it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rigged_g: Option<f64>,
    /// One shot with sprue, runners and vents.
    pub shot_ml: f64,
    /// The same.
    pub shot_g: f64,
    /// Shots, bad baits included.
    pub shots: usize,
    /// All that is heated.
    pub poured_ml: f64,
    /// The same.
    pub poured_g: f64,
    /// Of it fresh, if sprues and bad baits are melted again as asked for.
    pub fresh_ml: f64,
    /// The same.
    pub fresh_g: f64,
    /// Plastic without additives in the fresh.
    pub base_g: f64,
    /// Additives in the fresh.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub additives: Vec<AdditiveAmount>,
    /// Fillings of the injector for one shot.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strokes_per_shot: Option<usize>,
    /// Cost of one bait's share of the fresh plastic, with its money; additives not counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost_per_bait: Option<String>,
}

/// An additive.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct AdditiveAmount {
    /// What it is.
    pub name: String,
    /// Mass.
    pub mass_g: f64,
}

/// How the mould fills. Ranges are from the thinnest to the thickest plastic.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Filling {
    /// Viscosity that is reckoned with, from and to; none if the plastic does not say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub viscosity_pa_s: Option<[f64; 2]>,
    /// Poured, the funnel kept full: how long a shot takes; none where it is injected.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub poured_s: Option<[f64; 2]>,
    /// With an injector: pressure that drives a shot in within `injected_s`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pressure_kpa: Option<[f64; 2]>,
    /// With an injector: the time that goes with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub injected_s: Option<f64>,
}

/// How a shot cools in its mould, outside in still air.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Cooling {
    /// Material of the mould's wall.
    pub wall: String,
    /// Thickness of a ring that holds as much of it as the block does.
    pub wall_mm: f64,
    /// Diameter of the cylinder that the thickest section cools like.
    pub as_cylinder_mm: f64,
    /// Until the middle is down to where the bait may be pulled, in a cold mould.
    pub first_s: f64,
    /// The second shot, into a mould that lay open for a minute.
    pub second_s: f64,
    /// The tenth.
    pub tenth_s: f64,
    /// The first ten one after the other; those that follow are as the tenth.
    pub shots_s: Vec<f64>,
    /// How warm the mould's face is before the tenth shot.
    pub face_before_tenth_c: f64,
}

/// The thinnest place of a feature.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct ThinPlace {
    /// The feature's field in the spec.
    pub feature: String,
    /// Thickness.
    pub thickness_mm: f64,
    /// How far the plastic runs to it from the body.
    pub away_mm: f64,
    /// Until it sets in a cold mould.
    pub sets_s: f64,
    /// Poured, how far the plastic runs into such a slit before, from the thickest to the thinnest; none
    /// where it is injected, since that hangs on how hard the injector is pressed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reach_mm: Option<[f64; 2]>,
    /// The same under the weight of the plastic alone, however it gets in: the least it runs.
    #[serde(skip)]
    by_weight: [f64; 2],
}

/// Forces on the mould.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Clamping {
    /// What the plastic presses on: the cavity seen along the pull.
    pub area_mm2: f64,
    /// Force that parts the halves while plastic stands to the brim.
    pub standing_n: f64,
    /// With an injector, at the highest pressure of the filling.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub injected_n: Option<f64>,
    /// The most a silicone mould may be squeezed between boards, all its thickness together.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub squeeze_mm: Option<f64>,
    /// The same as turns of an M6 screw.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turns_of_m6: Option<f64>,
    /// Force of the boards at that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub squeeze_n: Option<f64>,
}

/// A step of the schedule.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct ScheduleStep {
    /// What is done.
    pub what: String,
    /// Time that hands are on it.
    pub hands_s: f64,
    /// Time that it waits by itself.
    pub waits_s: f64,
    /// Whether it is left overnight.
    pub overnight: bool,
}

/// The mould's material: that of the halves themselves.
fn mould_material(design: &Design) -> &Material {
    match design.mould.route {
        Route::Block => &design.cast.block,
        Route::Boxes | Route::Board => &design.cast.silicone,
    }
}

fn thermal(material: &Material) -> Option<Thermal> {
    Some(Thermal {
        conductivity: material.conductivity.as_ref()?.value,
        density: material.density.as_ref()?.value,
        heat: material.heat.as_ref()?.value,
    })
}

impl Day {
    /// The day of a design. `body` is the bait's, not enlarged; `filling` is what one shot
    /// takes with sprue, runners and vents around what is laid in, in mm³. `None` for a plastic without density, which
    /// no checked design has.
    #[must_use]
    pub fn of(
        design: &Design,
        body: &Body,
        made: &Master,
        mould: &Mould,
        rig: &Rig,
        filling: f64,
    ) -> Option<Self> {
        let cast = &design.cast;
        let scale = design.mould_scale();
        let cavities = mould.own().max(1);
        let beside = beside::amounts(mould, scale);
        let others = beside.iter().map(|b| b.cavities as f64 * b.bait_ml);
        // As the bait is when it is cold: what the mould holds more shrinks away, and is topped up.
        let kept = mould.kept_out(design, rig);
        let bait = (made.bait_volume - kept) / 1000.0;
        let run = Run {
            baits: cast.baits,
            cavities,
            bait: bait * cavities as f64 + others.sum::<f64>(),
            shot: filling / 1000.0,
            scrap: cast.scrap,
            remelt: cast.remelt,
            residue: cast.waste,
            additives: cast
                .additives
                .iter()
                .map(|(name, parts, density)| Additive {
                    name: name.clone(),
                    parts: *parts,
                    density: *density,
                })
                .collect(),
            injector: cast.injector,
        };
        let mut plastic = Plastic::of(&run, &cast.plastic)?;
        if !beside.is_empty() {
            // Of a shot's baits the one that the run is counted in.
            plastic.bait = Part {
                volume: bait,
                mass: bait * plastic.density,
            };
        }
        let (silicone, silicone_cost) = silicone(cast, mould);
        let fill = Fill::of(design, mould, filling, plastic.density);
        let flow = fill.figures(cast);
        let cooling = cooling(design, body, mould, scale);
        let thin = thin(design, body, made, &fill);
        let clamping = clamping(design, body, mould, &fill, &flow);
        let mut day = Day {
            baits: cast.baits,
            moulds: cast.moulds,
            temperatures: temperatures(cast, mould_material(design)),
            plastic: PlasticAmount::new(&plastic, cast, (rig, kept), beside),
            silicone,
            filling: flow,
            cooling,
            thin,
            clamping,
            schedule: Vec::new(),
            total_s: 0.0,
            cost: total_cost(cast, &plastic, &silicone_cost),
            sealed: design.mould.nozzle_radius.is_some()
                && mould.channels.vents.is_empty()
                && mould.channels.grooves.is_empty(),
            melts_the_mould: mould_material(design)
                .softens
                .as_ref()
                .is_some_and(|s| s.value < cast.pour.value),
            warnings: Vec::new(),
        };
        day.plan(design);
        day.warn(design);
        Some(day)
    }

    fn plan(&mut self, design: &Design) {
        let cast = &design.cast;
        let mut steps = Vec::new();
        let cure = cast.silicone.cure.as_ref().map_or(0.0, |c| c.value);
        let batches = |s: &SiliconeAmount| s.hands_s * s.batches as f64 * cast.moulds as f64;
        // One set of prints: moulds are poured one after the other in it.
        let moulds = cast.moulds as f64;
        let (all, again) = match cast.moulds {
            1 => (String::new(), String::new()),
            n => (
                format!(" of {n} moulds, one mould after the other"),
                format!(", {n} times"),
            ),
        };
        if design.mould.route != Route::Block {
            steps.push(Step::new(
                "try a thimbleful of silicone on the print",
                TRIAL,
                cure,
            ));
        }
        match design.mould.route {
            Route::Block => {}
            Route::Boxes => {
                // Both halves on one day: they cure side by side.
                let hands = self.silicone.iter().map(batches).sum();
                let what = format!("pour both silicone halves{all}; they cure{again}");
                steps.push(Step::new(what, hands, moulds * cure));
            }
            Route::Board => {
                for (i, s) in self.silicone.iter().enumerate() {
                    let which = ["first", "second"][i.min(1)];
                    let what = format!("pour the {which} half ({}){all}; it cures{again}", s.half);
                    steps.push(Step::new(what, batches(s), moulds * cure));
                }
            }
        }
        // The mean over the shots of one mould, which warms as they follow each other.
        let rounds = self.plastic.shots.div_ceil(cast.moulds).max(1);
        let cools = self.cooling.as_ref().map(|c| {
            let shots = c.shots_s.iter().copied();
            let all = shots.chain(std::iter::repeat(c.tenth_s)).take(rounds);
            all.sum::<f64>() / rounds as f64
        });
        let shots = Shots {
            count: self.plastic.shots,
            moulds: cast.moulds,
            hands: HANDS_PER_SHOT,
            cools: cools.unwrap_or(0.0),
        };
        let what = format!(
            "cast {} shots in {} for {} good baits",
            shots.count,
            if shots.moulds == 1 {
                "one mould".to_owned()
            } else {
                format!("{} moulds in turn", shots.moulds)
            },
            cast.baits
        );
        let hands = HANDS_PER_SHOT * shots.count as f64;
        steps.push(Step::new(what, hands, (shots.time() - hands).max(0.0)));
        self.total_s = super::schedule::total(&steps);
        self.schedule = steps
            .iter()
            .map(|s| ScheduleStep {
                what: s.what.clone(),
                hands_s: s.hands,
                waits_s: s.waits,
                overnight: s.overnight(),
            })
            .collect();
    }
}

fn temperatures(cast: &CastDesign, mould: &Material) -> Vec<Temperature> {
    let own = [("pour at", &cast.pour), ("pull at or below", &cast.pull)];
    let known = [
        ("never hotter than", &cast.plastic.most),
        ("mould stands", &mould.service),
        ("mould softens at", &mould.softens),
    ];
    let known = known
        .into_iter()
        .filter_map(|(what, k)| Some((what, k.as_ref()?)));
    own.into_iter()
        .chain(known)
        .map(|(what, known)| Temperature {
            what: what.to_owned(),
            celsius: known.value,
            source: known.source.clone(),
        })
        .collect()
}

/// The pours, and what each costs if the silicone has a price.
fn silicone(cast: &CastDesign, mould: &Mould) -> (Vec<SiliconeAmount>, Vec<Option<f64>>) {
    if mould.route == Route::Block {
        return (Vec::new(), Vec::new());
    }
    let material = &cast.silicone;
    let halves = [&mould.upper, &mould.lower];
    let name = match &material.mix {
        Some(mix) => format!("{}, {} ({})", material.name, mix.value, mix.source),
        None => material.name.clone(),
    };
    let of = |(half, mesh): (&str, &Mesh)| {
        let s = Silicone::of(mesh.volume() / 1000.0, cast.waste, cast.container, material)?;
        let both = |get: fn(&Part) -> f64| s.parts.map(|p| [get(&p[0]), get(&p[1])]);
        let amount = SiliconeAmount {
            half: half.to_owned(),
            material: name.clone(),
            exact_ml: s.exact,
            mixed_ml: s.mixed.volume,
            mixed_g: s.mixed.mass,
            parts_g: both(|p| p.mass),
            parts_ml: both(|p| p.volume),
            by_volume: material
                .mix
                .as_ref()
                .is_some_and(|m| m.value.by == By::Volume),
            batches: s.batches,
            cup_ml: s.cup,
            vacuum_ml: s.vacuum,
            container_ml: cast.container,
            pot_life_s: material.pot_life.as_ref().map(|p| p.value),
            hands_s: s.hands,
            in_pot_life: s.in_pot_life,
            cost: money(material, s.cost),
        };
        Some((amount, s.cost))
    };
    let halves = mould.names().into_iter().zip(halves);
    halves.filter_map(of).unzip()
}

/// Everything that has a price, if all of it is in one money.
fn total_cost(cast: &CastDesign, plastic: &Plastic, silicone: &[Option<f64>]) -> Option<String> {
    let of = |m: &Material| m.price.as_ref().map(|p| p.value.money.clone());
    let each: f64 = silicone.iter().flatten().sum();
    let priced = [
        (of(&cast.plastic), plastic.cost),
        (
            of(&cast.silicone),
            (each > 0.0).then_some(each * cast.moulds as f64),
        ),
    ];
    let mut priced = priced
        .into_iter()
        .filter_map(|(money, cost)| Some((money?, cost?)));
    let (money, first) = priced.next()?;
    let mut total = first;
    for (other, cost) in priced {
        if other != money {
            return None;
        }
        total += cost;
    }
    Some(format!("{total:.2} {money}"))
}

fn money(material: &Material, amount: Option<f64>) -> Option<String> {
    let price = material.price.as_ref()?;
    Some(format!("{:.2} {}", amount?, price.value.money))
}

impl PlasticAmount {
    fn new(
        plastic: &Plastic,
        cast: &CastDesign,
        (rig, kept): (&Rig, f64),
        mut beside: Vec<BesideAmount>,
    ) -> Self {
        for other in &mut beside {
            other.bait_g = other.bait_ml * plastic.density;
        }
        let each = plastic.cost.map(|c| c / cast.baits as f64);
        PlasticAmount {
            material: cast.plastic.name.clone(),
            density_g_per_ml: plastic.density,
            bait_ml: plastic.bait.volume,
            bait_g: plastic.bait.mass,
            bait_oz: plastic.bait.mass / OUNCE,
            beside,
            inserts_ml: (kept > 0.0).then_some(kept / 1000.0),
            rigged_g: (!rig.inserts.is_empty()).then_some(rig.balance.mass),
            shot_ml: plastic.shot.volume,
            shot_g: plastic.shot.mass,
            shots: plastic.shots,
            poured_ml: plastic.poured.volume,
            poured_g: plastic.poured.mass,
            fresh_ml: plastic.fresh.volume,
            fresh_g: plastic.fresh.mass,
            base_g: plastic.base,
            additives: plastic
                .additives
                .iter()
                .map(|(name, mass)| AdditiveAmount {
                    name: name.clone(),
                    mass_g: *mass,
                })
                .collect(),
            strokes_per_shot: plastic.strokes,
            cost_per_bait: money(&cast.plastic, each),
        }
    }
}
