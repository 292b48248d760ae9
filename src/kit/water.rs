//! Mass, hang and sink in the manifest.

use schemars::JsonSchema;
use serde::Serialize;

use crate::quantity::LengthUnit;
use crate::rig::{Bed, KEPT_SKIN, NotPlaced, PlacedWeight, Rig, Sized, Unweighted, place_weight};
use crate::spec::{Design, Metal};
use crate::water::{Fall, Sinker, Spread};

/// Mass, hang and sink of the bait as cast, with what is in it. Angles are of the nose below the
/// horizontal.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct WaterEntry {
    /// Practical salinity of the water.
    pub salinity: f64,
    /// Its temperature.
    pub temperature_celsius: f64,
    /// Its density.
    pub density_g_ml: f64,
    /// Density of the plastic.
    pub plastic_density_g_ml: f64,
    /// Mass of the plastic.
    pub plastic_g: f64,
    /// Mass of everything.
    pub mass_g: f64,
    /// Centre of mass, as [x, y, z].
    pub centre_of_mass_mm: [f64; 3],
    /// Volume of water displaced.
    pub displaced_ml: f64,
    /// Centre of buoyancy, as [x, y, z].
    pub centre_of_buoyancy_mm: [f64; 3],
    /// Weight in the water, as the mass that weighs as much; negative if it floats.
    pub weight_in_water_g: f64,
    /// Angle at rest without a line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hang_free: Option<HangEntry>,
    /// Angle at rest on the line, tied at the eye.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hang_on_line: Option<HangEntry>,
    /// How it sinks; not there if it floats.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sink: Option<SinkEntry>,
    /// What is cast in or hangs on it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub inserts: Vec<InsertEntry>,
    /// How the wire is cut and bent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wire: Option<WireEntry>,
    /// The weight that brings about the wanted sink, if there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wanted_weight: Option<WeightEntry>,
    /// Sizes of the bait and weights beside one another.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sizes: Vec<SizeEntry>,
}

/// An attitude at rest.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct HangEntry {
    /// Nose below the horizontal.
    pub nose_down_degrees: f64,
    /// Whether the back is below.
    pub belly_up: bool,
    /// Moment that rights it, for each degree.
    pub righting_micro_newton_m_per_degree: f64,
    /// How far the angle moves at most if the heaviest weight is 0.5 mm out of place, along or up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub moved_by_half_mm_degrees: Option<f64>,
    /// How far the angle moves at most if that weight is 0.1 g heavier or lighter.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub moved_by_tenth_g_degrees: Option<f64>,
}

/// How it sinks. Of every figure the least, the middle and the most: over the band of the drag
/// model, and over the attitudes between those that go with it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct SinkEntry {
    /// What was reckoned with.
    pub model: String,
    /// Terminal speed.
    pub speed_mm_s: [f64; 3],
    /// Attitude on the way.
    pub nose_down_degrees: [f64; 3],
    /// Horizontal speed, nose first.
    pub glide_mm_s: [f64; 3],
    /// Time from rest to 95 % of the terminal speed.
    pub settles_in_s: [f64; 3],
    /// Depth by then.
    pub settles_by_mm: [f64; 3],
    /// Time from rest to half a metre.
    pub time_to_half_metre_s: [f64; 3],
    /// Time to one metre.
    pub time_to_one_metre_s: [f64; 3],
    /// Time to two metres.
    pub time_to_two_metres_s: [f64; 3],
    /// Time to the wanted depth.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_to_wanted_s: Option<[f64; 3]>,
}

/// One insert.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct InsertEntry {
    /// Field path in the spec.
    pub path: String,
    /// Mass.
    pub mass_g: f64,
    /// Volume.
    pub volume_ml: f64,
    /// Centre, as [x, y, z].
    pub centre_mm: [f64; 3],
    /// Least plastic over it, where it is covered.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub skin_mm: Option<f64>,
    /// Where that is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub skin_at_mm: Option<[f64; 3]>,
}

/// The wire, straight.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct WireEntry {
    /// Diameter.
    pub diameter_mm: f64,
    /// Length to cut.
    pub cut_mm: f64,
    /// Marks along it, from its front end.
    pub marks: Vec<MarkEntry>,
}

/// One mark on a wire.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct MarkEntry {
    /// From the front end.
    pub at_mm: f64,
    /// What happens there.
    pub what: String,
}

/// A weight found for a wanted sink.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct WeightEntry {
    /// Mass.
    pub mass_g: f64,
    /// Greatest diameter.
    pub diameter_mm: f64,
    /// Length.
    pub length_mm: f64,
    /// Middle of its length, from the nose.
    pub at_mm: f64,
    /// Above the axis.
    pub height_mm: f64,
    /// Least plastic over it.
    pub skin_mm: f64,
    /// The next sizes as sold.
    pub stock: Vec<StockEntry>,
}

/// A stock size.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct StockEntry {
    /// As it is called.
    pub name: String,
    /// Mass.
    pub mass_g: f64,
    /// Time to the wanted depth in its place; not there if the bait floats.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_s: Option<f64>,
    /// Attitude on the way.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nose_down_degrees: Option<f64>,
}

/// One weight in one size of the bait.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct SizeEntry {
    /// Length of the bait; places of what is in it in proportion, wire, hook and skirt as they are.
    pub length_mm: f64,
    /// Mass of the first weight, at the same place in proportion.
    pub weight_g: f64,
    /// Terminal speed, least, middle and most; not there if it floats.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed_mm_s: Option<[f64; 3]>,
    /// Attitude on the way, likewise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nose_down_degrees: Option<[f64; 3]>,
}

/// What the numbers of [`SinkEntry`] come from.
const MODEL: &str = "Along the axis: laminar (Blasius) to turbulent (ITTC 1957) skin friction with Hoerner's form \
     factor. Across it: from a sphere's drag (Clift, Grace, Weber) to a short cylinder's. Attitude: \
     moments of weight, buoyancy, drag and carried water (Munk) in balance. Hook, wire and skirt: \
     stated allowances. Not modelled: swinging, spinning, soft parts that wave.";

impl WaterEntry {
    /// The figures, and what the maker should know of them.
    pub(super) fn new(
        design: &Design,
        bed: &Bed,
        rig: &Rig,
        sizes: &[Sized],
    ) -> (Self, Vec<String>) {
        let mut notes = Vec::new();
        let sinker = &rig.sinker;
        let water = &rig.water;
        let sensitivity = rig.sensitivity();
        let hang = |hang: Option<crate::water::Hang>, moved: [Option<f64>; 2]| {
            hang.map(|h| HangEntry {
                nose_down_degrees: h.nose_down,
                belly_up: h.list.abs() > 90.0,
                righting_micro_newton_m_per_degree: h.righting,
                moved_by_half_mm_degrees: moved[0],
                moved_by_tenth_g_degrees: moved[1],
            })
        };
        let on_line = rig.eye.and_then(|eye| rig.balance.on_line(&eye, water));
        let mut entry = WaterEntry {
            salinity: water.salinity,
            temperature_celsius: water.temperature,
            density_g_ml: water.density(),
            plastic_density_g_ml: design.rig.plastic_density,
            plastic_g: rig.plastic.mass,
            mass_g: rig.balance.mass,
            centre_of_mass_mm: rig.balance.centre_of_mass.into(),
            displaced_ml: rig.balance.volume / 1000.0,
            centre_of_buoyancy_mm: rig.balance.centre_of_buoyancy.into(),
            weight_in_water_g: rig.balance.net(water),
            hang_free: hang(rig.balance.free(), sensitivity[0]),
            hang_on_line: hang(on_line, sensitivity[1]),
            sink: sinker.spread().map(|spread| sink(design, sinker, &spread)),
            inserts: inserts(rig),
            wire: rig.wire.as_ref().map(|plan| WireEntry {
                diameter_mm: plan.diameter,
                cut_mm: plan.cut,
                marks: plan
                    .marks
                    .iter()
                    .map(|&(at_mm, what)| MarkEntry {
                        at_mm,
                        what: what.to_owned(),
                    })
                    .collect(),
            }),
            wanted_weight: None,
            sizes: sized(sizes),
        };
        skin_notes(design, rig, &mut notes);
        notes.extend(link_note(design, rig));
        notes.extend(bare_note(design, bed.length));
        if let Some(wanted) = &design.rig.wanted {
            match place_weight(&design.rig, wanted, bed) {
                Ok(found) => entry.wanted_weight = Some(placed(&found)),
                Err(why) => notes.push(said(&why, wanted.hang, design.units)),
            }
        }
        let lead = Metal::Lead.density();
        let proposed = entry.wanted_weight.is_some() && design.rig.weights.is_empty();
        if proposed || design.rig.weights.iter().any(|w| w.density == lead) {
            notes.push(
                "Lead is poisonous: wash your hands, keep it from children, file it wet; cast it only \
                 outdoors or under extraction. Some places forbid lead tackle: ask first. Bismuth, tin \
                 and tungsten are the usual stand-ins."
                    .to_owned(),
            );
        }
        (entry, notes)
    }
}

fn sink(design: &Design, sinker: &Sinker, spread: &Spread<'_>) -> SinkEntry {
    let fall = |depth: f64, share: f64, of: fn(Fall) -> f64| {
        spread.of(|angle, case| sinker.fall_at(angle, depth, share, case).map_or(0.0, of))
    };
    let time = |depth: f64| fall(depth, 1.0, |f| f.time);
    // Deeper than any terminal speed takes to be reached.
    const DEEP: f64 = 1e7;
    SinkEntry {
        model: MODEL.to_owned(),
        speed_mm_s: spread.speed(),
        nose_down_degrees: spread.nose_down(),
        glide_mm_s: spread.of(|angle, case| sinker.held_at(angle, case).glide),
        settles_in_s: fall(DEEP, 0.95, |f| f.time),
        settles_by_mm: fall(DEEP, 0.95, |f| f.depth),
        time_to_half_metre_s: time(500.0),
        time_to_one_metre_s: time(1000.0),
        time_to_two_metres_s: time(2000.0),
        time_to_wanted_s: design.rig.wanted.map(|wanted| time(wanted.depth)),
    }
}

fn inserts(rig: &Rig) -> Vec<InsertEntry> {
    rig.inserts
        .iter()
        .map(|insert| InsertEntry {
            path: insert.path.clone(),
            mass_g: insert.part.mass,
            volume_ml: (insert.embedded.0 + insert.outside.0) / 1000.0,
            centre_mm: insert.part.centre.into(),
            skin_mm: insert.skin.map(|s| s.thickness),
            skin_at_mm: insert.skin.map(|s| s.at.into()),
        })
        .collect()
}

fn placed(found: &PlacedWeight) -> WeightEntry {
    WeightEntry {
        mass_g: found.mass,
        diameter_mm: found.weight.diameter,
        length_mm: found.weight.length,
        at_mm: found.weight.at,
        height_mm: found.weight.height,
        skin_mm: found.skin.thickness,
        stock: found
            .stock
            .iter()
            .map(|s| StockEntry {
                name: s.name.clone(),
                mass_g: s.mass,
                time_s: s.time,
                nose_down_degrees: s.nose_down,
            })
            .collect(),
    }
}

fn sized(sizes: &[Sized]) -> Vec<SizeEntry> {
    let entry = |s: &Sized| SizeEntry {
        length_mm: s.length,
        weight_g: s.mass,
        speed_mm_s: s.speeds,
        nose_down_degrees: s.nose_down,
    };
    sizes.iter().map(entry).collect()
}

/// Why the hook does not hang in the wire's rear eye, where it nearly does.
fn link_note(design: &Design, rig: &Rig) -> Option<String> {
    // Further apart than this, in mm, they are not meant to be joined (reasoned).
    const NEAR: f64 = 5.0;
    let show = |mm: f64| design.units.show(mm);
    let hook = design.rig.hook.as_ref()?;
    let link = rig.link(&design.rig)?;
    // A hook that begins before the wire's eye ends by more than both eyes is elsewhere altogether.
    let across = 2.0 * (hook.eye + 2.0 * hook.wire) + 10.0;
    if link.linked || !(-across..NEAR).contains(&link.apart) {
        return None;
    }
    let how = if link.apart >= 0.0 {
        format!("its own eye begins {} behind it", show(link.apart))
    } else {
        "the wires of both run into each other".to_owned()
    };
    let cure = match link.places {
        Some([least, most]) => format!(
            "hook.at from {} to {} on the wire's height links them, one eye turned a quarter to the other",
            show(least),
            show(most)
        ),
        None => "neither eye is wide enough for the other's wire".to_owned(),
    };
    Some(format!(
        "The hook does not hang in the wire's rear eye: {how}; {cure}."
    ))
}

/// Wire that runs far out of the bait: its ends are places from the nose, not lengths.
fn bare_note(design: &Design, length: f64) -> Option<String> {
    /// Told from this share of the bait's length on (reasoned).
    const FAR: f64 = 0.5;
    let [from, to] = design.rig.wire.as_ref()?.ends;
    let bare = [
        (-from.unwrap_or(0.0), "before"),
        (to.unwrap_or(length) - length, "behind"),
    ];
    let (bare, side) = bare.into_iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    (bare > FAR * length).then(|| {
        format!(
            "wire: {} of it run bare {side} the bait; `from` and `to` count from the nose.",
            design.units.show(bare)
        )
    })
}

fn skin_notes(design: &Design, rig: &Rig, notes: &mut Vec<String>) {
    let show = |mm: f64| design.units.show(mm);
    for insert in &rig.inserts {
        let Some(skin) = insert.skin.filter(|s| s.thickness < KEPT_SKIN) else {
            continue;
        };
        let what = if skin.thickness <= 0.0 {
            "breaks through the surface".to_owned()
        } else {
            format!("has only {} of plastic over it", show(skin.thickness))
        };
        notes.push(format!(
            "{} {what} at {} from the nose, {}; {} is commonly kept.",
            insert.path,
            show(skin.at.x),
            design.units.show_height(skin.at.z),
            show(KEPT_SKIN)
        ));
    }
}

/// An attitude in words.
fn attitude(nose_down: f64) -> String {
    match nose_down {
        d if d.abs() < 0.5 => "level".to_owned(),
        d if d > 0.0 => format!("{d:.0} degrees nose down"),
        d => format!("{:.0} degrees tail down", -d),
    }
}

/// Why no weight brings about what is wanted, and what would help.
fn said(why: &NotPlaced, hang: f64, units: LengthUnit) -> String {
    let lighter = |plastic: &Option<Unweighted>, by: &str| match plastic {
        Some(p) if p.as_wanted => format!(
            " Plastic of {:.3} g/ml would sink as wanted without one: {by}.",
            p.density
        ),
        Some(p) => format!(
            " Without one, plastic of {:.3} g/ml ({by}) would be there in {:.1} s, but {} instead of {}.",
            p.density,
            p.time,
            attitude(p.nose_down),
            attitude(hang)
        ),
        None => String::new(),
    };
    match why {
        NotPlaced::TooHeavy { plastic } => format!(
            "Wanted sink: even without the weight it sinks sooner than that.{}",
            lighter(plastic, "glass beads make it lighter")
        ),
        NotPlaced::Impossible { plastic } => format!(
            "Wanted sink: it cannot be had. A weight that brings the bait down so soon would be larger \
             than the bait, of any metal.{}",
            lighter(plastic, "salt makes it denser")
        ),
        NotPlaced::NoPlace {
            mass,
            at,
            skin,
            metals,
            plastic,
        } => {
            let names: Vec<&str> = metals
                .iter()
                .map(|metal| match metal {
                    Metal::Lead => "lead",
                    Metal::Bismuth => "bismuth",
                    _ => "tungsten",
                })
                .collect();
            let other = if names.is_empty() {
                String::new()
            } else {
                format!(" It would fit in {}.", names.join(" or "))
            };
            let left = if skin.is_finite() && *skin > 0.0 {
                format!("leaves {} of plastic there at best", units.show(*skin))
            } else {
                "does not fit in there".to_owned()
            };
            format!(
                "Wanted sink: it takes {mass:.2} g at {} from the nose, which {left}; {} is commonly \
                 kept.{other}{}",
                units.show(*at),
                units.show(KEPT_SKIN),
                lighter(plastic, "salt makes it denser")
            )
        }
        NotPlaced::Unsteady { mass, nose_down } => format!(
            "Wanted sink: {mass:.2} g would do it, but the bait would not stay so: it would tip to \
             {nose_down:.0} degrees nose down."
        ),
    }
}
