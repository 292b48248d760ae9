//! Mass, hang and sink in the manifest.

use schemars::JsonSchema;
use serde::Serialize;

use crate::quantity::LengthUnit;
use crate::rig::{Bed, KEPT_SKIN, NotPlaced, PlacedWeight, Rig, Sized, place_weight};
use crate::spec::{Design, Metal};
use crate::water::{Band, Case, Motion};

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
    /// How far the angle moves if the heaviest weight is 0.5 mm out of place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub moved_by_half_mm_degrees: Option<f64>,
    /// How far the angle moves if that weight is 0.1 g heavier.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub moved_by_tenth_g_degrees: Option<f64>,
}

/// How it sinks: the least, middle and most of a band, from the most drag to the least.
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
    /// Terminal speed: least, middle and most of the band; not there if it floats.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed_mm_s: Option<[f64; 3]>,
    /// Attitude on the way, middle of the band.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nose_down_degrees: Option<f64>,
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
            sink: sinker.terminal().map(|band| sink(design, rig, &band)),
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
        if let Some(wanted) = &design.rig.wanted {
            match place_weight(&design.rig, wanted, bed) {
                Ok(found) => entry.wanted_weight = Some(placed(&found)),
                Err(why) => notes.push(said(&why, design.units)),
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

fn three(band: &Band<f64>) -> [f64; 3] {
    [band.slow, band.middle, band.fast]
}

fn sink(design: &Design, rig: &Rig, band: &Band<Motion>) -> SinkEntry {
    let sinker = &rig.sinker;
    let cases = Band::each(|case| case);
    let angle = |case: Case| match case {
        Case::Slow => band.slow.nose_down,
        Case::Middle => band.middle.nose_down,
        Case::Fast => band.fast.nose_down,
    };
    let fall =
        |depth: f64, share: f64| cases.map(|&case| sinker.fall_at(angle(case), depth, share, case));
    let time = |depth: f64| three(&fall(depth, 1.0).map(|f| f.map_or(0.0, |f| f.time)));
    // Deeper than any terminal speed takes to be reached.
    const DEEP: f64 = 1e7;
    let settled = fall(DEEP, 0.95);
    SinkEntry {
        model: MODEL.to_owned(),
        speed_mm_s: three(&band.map(|m| m.sink)),
        nose_down_degrees: three(&band.map(|m| m.nose_down)),
        glide_mm_s: three(&band.map(|m| m.glide)),
        settles_in_s: three(&settled.map(|f| f.map_or(0.0, |f| f.time))),
        settles_by_mm: three(&settled.map(|f| f.map_or(0.0, |f| f.depth))),
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
        speed_mm_s: s.speeds(),
        nose_down_degrees: s.motion.map(|band| band.middle.nose_down),
    };
    sizes.iter().map(entry).collect()
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

/// Why no weight brings about what is wanted, and what would help.
fn said(why: &NotPlaced, units: LengthUnit) -> String {
    let lighter = |density: &Option<f64>, by: &str| match density {
        Some(d) => format!(" Plastic of {d:.3} g/ml would sink as wanted without one: {by}."),
        None => String::new(),
    };
    match why {
        NotPlaced::TooHeavy { plastic_density } => format!(
            "Wanted sink: even without the weight it sinks sooner than that.{}",
            lighter(plastic_density, "glass beads make it lighter")
        ),
        NotPlaced::NoPlace {
            mass,
            at,
            skin,
            metals,
            plastic_density,
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
                lighter(plastic_density, "salt makes it denser")
            )
        }
        NotPlaced::Unsteady { mass, nose_down } => format!(
            "Wanted sink: {mass:.2} g would do it, but the bait would not stay so: it would tip to \
             {nose_down:.0} degrees nose down."
        ),
    }
}
