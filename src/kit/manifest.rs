//! `kit.json`: every file of a kit, and every figure of its bait.

use nalgebra::Vector3;
use schemars::JsonSchema;
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::checks::{AirEntry, Checks, OpeningEntry};
use super::{Kind, KitFile, WaterEntry};
use crate::body::{Body, Master};
use crate::casting::Day;
use crate::mesh::Bounds;
use crate::mould::seats::Seats;
use crate::mould::{Beside, Mould};
use crate::rig::Rig;
use crate::spec::{BodyEnd, Design, Parting, Route};

/// The manifest. Units are part of the key names.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Manifest {
    /// What wrote the kit, with its version.
    pub made_by: String,
    /// The bait's name.
    pub name: String,
    /// Greatest distance between a mesh and the true surface.
    pub tolerance_mm: f64,
    /// The bait itself.
    pub bait: BaitEntry,
    /// The mould.
    pub mould: MouldEntry,
    /// Whether the halves open.
    pub opening: OpeningEntry,
    /// Where the mould holds air as it is poured.
    pub air: AirEntry,
    /// Its mass, and how it hangs and sinks.
    pub water: WaterEntry,
    /// Where each fin, tail and kind of leg is thinnest.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub thinnest: Vec<ThinnestEntry>,
    /// Readings the body was measured by, and how far each lies from the curve.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<ReadingEntry>,
    /// What master and mould are larger or smaller by than the bait.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub allowances: Option<AllowanceEntry>,
    /// The casting day: amounts, times, temperatures, forces.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub casting: Option<Day>,
    /// What the maker should know.
    pub notes: Vec<String>,
    /// Every file but this one.
    pub files: Vec<FileEntry>,
}

/// The thinnest place of a feature, the rounding of its rim or tip not counted.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct ThinnestEntry {
    /// The feature's field in the spec.
    pub feature: String,
    /// Thickness there.
    pub thickness_mm: f64,
    /// Thickness there of the finished print of the master, before its coats.
    pub printed_mm: f64,
    /// Where it is: from the nose, to the left, above the axis.
    pub at_mm: [f64; 3],
}

/// One reading of a measured body; the curve's size less what was read.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct ReadingEntry {
    /// Distance from the nose.
    pub at_mm: f64,
    /// Height as it was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height_mm: Option<f64>,
    /// How much more the curve has.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height_off_mm: Option<f64>,
    /// What a curve right through the readings at all other places has there; none near the ends.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height_by_others_mm: Option<f64>,
    /// Width as it was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub width_mm: Option<f64>,
    /// How much more the curve has.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub width_off_mm: Option<f64>,
    /// What a curve right through the readings at all other places has there; none near the ends.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub width_by_others_mm: Option<f64>,
}

/// Allowances, step by step from the bait back to what is printed.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct AllowanceEntry {
    /// Steps to the mould's cavity, as printed or as the silicone is poured.
    pub cavity: Vec<AllowanceStep>,
    /// Size of that cavity over the bait's.
    pub cavity_scale: f64,
    /// Steps to the master's file.
    pub master: Vec<AllowanceStep>,
    /// Size of the master's file over the bait's, coats apart.
    pub master_scale: f64,
    /// What coats take off the master all round, before the print's own step.
    pub master_inset_mm: f64,
}

/// One step of an allowance.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct AllowanceStep {
    /// What it allows for.
    pub what: String,
    /// What sizes are multiplied by.
    pub scale: f64,
    /// What is then taken off the surface.
    pub inset_mm: f64,
}

impl AllowanceEntry {
    fn new(design: &Design) -> Option<Self> {
        let allow = &design.allowances;
        if allow.is_none() {
            return None;
        }
        let step = |what: &str, share: f64| {
            (share > 0.0).then(|| AllowanceStep {
                what: what.to_owned(),
                scale: 1.0 / (1.0 - share),
                inset_mm: 0.0,
            })
        };
        let plastic = step("shrinkage of the plastic", allow.plastic);
        let silicone = step("shrinkage of the silicone", allow.silicone);
        let print = step("shrinkage of the print", allow.print);
        let coats = allow
            .coats
            .iter()
            .map(|(name, thickness, count)| AllowanceStep {
                what: format!("{name}, {count} x {thickness} mm"),
                scale: 1.0,
                inset_mm: thickness * f64::from(*count),
            });
        let plain = plastic.iter().chain(&silicone).cloned();
        let mould = match design.mould.route {
            Route::Block => &print,
            Route::Boxes | Route::Board => &silicone,
        };
        Some(AllowanceEntry {
            cavity: plastic.iter().chain(mould).cloned().collect(),
            cavity_scale: design.mould_scale(),
            master: plain.chain(coats).chain(print.iter().cloned()).collect(),
            master_scale: allow.pattern_scale() * allow.print_scale(),
            master_inset_mm: allow.coating(),
        })
    }
}

/// Figures of the bait. Those of the trunk are exact, from its curves; what fins, tails or
/// sockets add or take is as true as the tolerance.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct BaitEntry {
    /// Length, width and height of the whole bait, fins and tail included, collar not.
    pub overall_mm: [f64; 3],
    /// Length of the trunk.
    pub length_mm: f64,
    /// Greatest full height of the trunk.
    pub height_mm: f64,
    /// Where it is, from the nose.
    pub height_at_mm: f64,
    /// Greatest full width of the trunk.
    pub width_mm: f64,
    /// Where it is, from the nose.
    pub width_at_mm: f64,
    /// Whether every section is a circle about the axis.
    pub round: bool,
    /// Volume of plastic, features included.
    pub volume_ml: f64,
    /// Centre of volume, features included: from the nose, to the left, above the axis.
    pub centroid_mm: [f64; 3],
    /// Area of the trunk seen from the side.
    pub side_area_mm2: f64,
    /// Area of the trunk seen from above.
    pub top_area_mm2: f64,
    /// Length of the collar behind the tail; 0 for none.
    pub collar_length_mm: f64,
    /// Volume of the collar, which no plastic fills.
    pub collar_volume_ml: f64,
}

/// The mould.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct MouldEntry {
    /// How it is made.
    pub route: Route,
    /// The plane it opens along, or follows.
    pub parting: Parting,
    /// Least and greatest height of a bowed or stepped parting face over the body's axis; none where it is
    /// flat.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub face_mm: Option<[f64; 2]>,
    /// Field paths of the fins that the parting face steps aside for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub face_follows: Vec<String>,
    /// End of the body the plastic enters by; the mould stands with it up.
    pub sprue_end: BodyEnd,
    /// Diameter where the sprue meets the body; of several, the widest.
    pub gate_mm: f64,
    /// Baits cast at once.
    pub cavities: usize,
    /// Other baits among them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub beside: Vec<BesideEntry>,
    /// Outside of the closed block.
    pub block: BlockEntry,
    /// Number of registration keys.
    pub keys: usize,
    /// Number of vents, with those from high points.
    pub vents: usize,
    /// Number of bolt holes.
    pub bolts: usize,
    /// Number of notches to pry the halves apart at.
    pub notches: usize,
    /// Seats for what is cast in, of one bait.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub seats: Vec<SeatEntry>,
    /// Baits, sprue and vents: what one filling of the mould takes, once that has shrunk as its
    /// material does, wire, hook and weights laid in. All other sizes here are those of the files.
    pub filling_ml: f64,
    /// Material of both halves, printed solid or cast.
    pub halves_ml: f64,
    /// Silicone of each half, the first poured first; none for a printed block.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub silicone_ml: Option<[f64; 2]>,
}

/// Another bait in the same mould.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct BesideEntry {
    /// Its name.
    pub name: String,
    /// How many are cast at once.
    pub cavities: usize,
    /// The file of its master.
    pub master: String,
    /// The file of its loose cores, if it has any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cores: Option<String>,
    /// Seats for what is cast in one of it, in its own axes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub seats: Vec<SeatEntry>,
}

impl BesideEntry {
    pub(super) fn new(
        other: &super::beside::Made,
        (mould, i): (&Mould, usize),
        scale: f64,
    ) -> Self {
        let beside = mould.beside.get(i);
        let of = |b: &Beside| SeatEntry::of(other.design(), mould, (&b.seats, b.along, scale));
        BesideEntry {
            seats: beside.map(of).unwrap_or_default(),
            name: other.name.clone(),
            cavities: other.neighbour().count,
            master: format!("master-{}.stl", other.slug),
            cores: other.cores_file(),
        }
    }
}

/// A seat in the mould.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct SeatEntry {
    /// Field path of what it holds.
    pub holds: String,
    /// Where that leaves the body, or the middle of a weight: from the nose, to the left, above the axis.
    pub at_mm: [f64; 3],
    /// Gap round what is held.
    pub clearance_mm: f64,
    /// Length of the groove that closes on it before the pocket of an eye, or to its end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub land_mm: Option<f64>,
    /// Whether it leaves within the sprue, where no seat can close on it.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub in_sprue: bool,
    /// Number of pins that hold a weight.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pins: Option<usize>,
    /// Diameter of the holes that the pins leave in the skin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hole_mm: Option<f64>,
}

impl SeatEntry {
    /// Seats of a bait that lies `along` from its own place and is as much larger as `scale`.
    fn of(design: &Design, mould: &Mould, (seats, along, scale): (&Seats, f64, f64)) -> Vec<Self> {
        let plain = |holds: String, at_mm: [f64; 3]| SeatEntry {
            holds,
            at_mm,
            clearance_mm: seats.clearance,
            land_mm: None,
            in_sprue: false,
            pins: None,
            hole_mm: None,
        };
        let mut entries: Vec<SeatEntry> = seats
            .exits
            .iter()
            .filter_map(|exit| {
                let at = exit.at.first()? - Vector3::new(along, 0.0, 0.0);
                let turned = mould.in_own_place(&at);
                Some(SeatEntry {
                    land_mm: (exit.land > 0.0 && !exit.in_sprue).then_some(exit.land),
                    in_sprue: exit.in_sprue,
                    ..plain(exit.path.to_owned(), (turned.coords / scale).into())
                })
            })
            .collect();
        for (i, weight) in design.rig.weights.iter().enumerate() {
            let own = seats.pins.iter().filter(|pin| pin.weight == i);
            let count = own.clone().count();
            if count > 0 {
                let widest = own.map(|pin| pin.foot_radius()).fold(0.0, f64::max);
                entries.push(SeatEntry {
                    pins: Some(count),
                    hole_mm: Some(2.0 * widest),
                    ..plain(format!("weight[{i}]"), [weight.at, 0.0, weight.height])
                });
            }
        }
        entries
    }
}

/// Outside of a block.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct BlockEntry {
    /// Along the body.
    pub length_mm: f64,
    /// Across the parting face.
    pub width_mm: f64,
    /// Along the pull, both halves together.
    pub thickness_mm: f64,
}

/// One file.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct FileEntry {
    /// Name within the folder.
    pub path: String,
    /// What it is.
    pub kind: Kind,
    /// Size.
    pub bytes: usize,
    /// SHA-256 of the content, in hexadecimal.
    pub sha256: String,
    /// Triangles of all solids in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub triangles: Option<usize>,
    /// Volume of all solids in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volume_mm3: Option<f64>,
    /// Lowest and highest corner of the bounding box, in the file's coordinates.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bounds_mm: Option<[[f64; 3]; 2]>,
}

impl Manifest {
    pub(super) fn new(
        design: &Design,
        body: &Body,
        made: &Master,
        mould: &Mould,
        rig: &Rig,
        (checks, water): (Checks, WaterEntry),
        notes: Vec<String>,
    ) -> Self {
        let figures = body.figures();
        let block = mould.block.size();
        // The collar and the cores are in the cavity, but a skirt fills the seat of the one, and
        // the others stand in theirs.
        let scale = design.mould_scale();
        let seats = (figures.collar_volume + made.core_volume) * scale * scale * scale;
        // The mould shrinks too, as a print or as silicone, before anything is poured into it.
        let in_use = 1.0 / (1.0 - design.allowances.plastic) / scale;
        let collars = mould.beside.iter().map(|other| {
            other.count as f64 * (other.body.figures().collar_volume + other.core_volume)
        });
        let filling = mould.cavity.volume() - mould.own() as f64 * seats - collars.sum::<f64>();
        // What is laid in does not grow with the mould.
        let others = mould
            .beside
            .iter()
            .map(|other| other.count as f64 * other.kept_out);
        let kept_out = mould.own() as f64 * mould.kept_out(design, rig) + others.sum::<f64>();
        let filling = filling * in_use * in_use * in_use - kept_out;
        Manifest {
            made_by: concat!("Baitwright ", env!("CARGO_PKG_VERSION")).to_owned(),
            name: design.name.clone(),
            tolerance_mm: design.tolerance,
            bait: BaitEntry {
                overall_mm: made.overall,
                length_mm: figures.length,
                height_mm: figures.height.1,
                height_at_mm: figures.height.0,
                width_mm: figures.width.1,
                width_at_mm: figures.width.0,
                round: body.is_round(),
                volume_ml: ml(made.bait_volume),
                centroid_mm: made.centroid,
                side_area_mm2: figures.side_area,
                top_area_mm2: figures.top_area,
                collar_length_mm: body.collar_length(),
                collar_volume_ml: ml(figures.collar_volume),
            },
            mould: MouldEntry {
                route: mould.route,
                parting: mould.parting,
                face_mm: (!mould.face.is_flat()).then(|| mould.face.range()),
                face_follows: mould
                    .face
                    .followed()
                    .into_iter()
                    .map(str::to_owned)
                    .collect(),
                sprue_end: mould.channels.sprue.end,
                gate_mm: 2.0 * mould.channels.sprue.gate_radius,
                cavities: mould.cavities.len(),
                beside: Vec::new(),
                block: BlockEntry {
                    length_mm: block.x,
                    width_mm: block.y,
                    thickness_mm: block.z,
                },
                keys: mould.keys.len(),
                vents: mould.channels.vents.len() + mould.channels.grooves.len(),
                bolts: mould.holding.bolts.len(),
                notches: mould.holding.notches.len(),
                seats: SeatEntry::of(design, mould, (&mould.seats, 0.0, scale)),
                filling_ml: ml(filling),
                halves_ml: ml(mould.upper.volume() + mould.lower.volume()),
                silicone_ml: (mould.route != Route::Block)
                    .then(|| [ml(mould.upper.volume()), ml(mould.lower.volume())]),
            },
            opening: checks.opening,
            air: checks.air,
            water,
            thinnest: made
                .thinnest
                .iter()
                .map(|t| ThinnestEntry {
                    feature: t.path.clone(),
                    thickness_mm: t.thickness,
                    printed_mm: super::thin::printed(t.thickness, design),
                    at_mm: t.at.coords.into(),
                })
                .collect(),
            readings: design
                .body
                .measured
                .iter()
                .flat_map(|m| &m.readings)
                .map(|r| ReadingEntry {
                    at_mm: r.at,
                    height_mm: r.height.map(|h| h.read),
                    height_off_mm: r.height.map(|h| h.off),
                    height_by_others_mm: r.height.and_then(|h| h.by_others),
                    width_mm: r.width.map(|w| w.read),
                    width_off_mm: r.width.map(|w| w.off),
                    width_by_others_mm: r.width.and_then(|w| w.by_others),
                })
                .collect(),
            allowances: AllowanceEntry::new(design),
            casting: None,
            notes,
            files: Vec::new(),
        }
    }

    /// Lists the kit's files.
    pub(super) fn list(&mut self, files: &[KitFile]) {
        self.files = files.iter().map(FileEntry::new).collect();
    }
}

impl FileEntry {
    fn new(file: &KitFile) -> Self {
        let solid = file.solid;
        FileEntry {
            path: file.path.clone(),
            kind: file.kind,
            bytes: file.bytes.len(),
            sha256: sha256(&file.bytes),
            triangles: solid.map(|s| s.triangles),
            volume_mm3: solid.map(|s| s.volume),
            bounds_mm: solid.map(|s| corners(&s.bounds)),
        }
    }
}

fn ml(mm3: f64) -> f64 {
    mm3 / 1000.0
}

fn corners(bounds: &Bounds) -> [[f64; 3]; 2] {
    [bounds.min.coords.into(), bounds.max.coords.into()]
}

/// SHA-256 in hexadecimal.
pub(super) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect()
}
