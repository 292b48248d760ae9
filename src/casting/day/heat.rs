//! How a mould fills, cools and presses.

use super::{Clamping, Cooling, Filling, ThinPlace, mould_material, thermal};
use crate::body::{Body, Master};
use crate::casting::beside;
use crate::casting::clamp::{Squeeze, opening_force};
use crate::casting::conduct::{Casting, Outside, Shape, Wall, as_cylinder};
use crate::casting::flow::{Channel, Thin, fill_time, head};
use crate::mesh::Mesh;
use crate::mould::Mould;
use crate::spec::{CastDesign, Design, Parting, Route, TailDesign};

/// A shot that an injector delivers in this time, s, if the spec names none (common practice).
const INJECTION: f64 = 5.0;

/// How many shots it takes until a mould is as warm as it gets (see the tests of `conduct`).
const SETTLED: usize = 10;

/// Pitch of the clamping screw, M6 coarse, mm (ISO 261).
const SCREW_PITCH: f64 = 1.0;

/// How far a soft mould's cavity may be squeezed shut, mm (reasoned: as much as prints are off).
const CLOSED_MOST: f64 = 0.2;

/// How long the mould lies open between two shots, s (common practice).
const OPEN: f64 = 60.0;

/// Still air on the outside, radiation included, W/(m² K) (gases 2 to 25: Çengel).
const AIR: f64 = 10.0;

/// What drives the plastic in, and through what.
pub(super) struct Fill {
    channels: Vec<Channel>,
    /// What a shot takes, mm³.
    volume: f64,
    density: f64,
    /// From the funnel's brim to the gate, mm.
    drop: f64,
    /// x of the brim.
    brim: f64,
    /// What an injector is given, s.
    seconds: f64,
    /// Whether the sprue is a seat for its tip.
    nozzle: bool,
}

impl Fill {
    pub(super) fn of(design: &Design, mould: &Mould, volume: f64, density: f64) -> Self {
        let frusta = |corners: &[(f64, f64)]| -> Vec<Channel> {
            corners
                .windows(2)
                .filter(|w| (w[1].0 - w[0].0).abs() > 1e-9 && w[0].1.min(w[1].1) > 1e-6)
                .map(|w| Channel::Round {
                    length: (w[1].0 - w[0].0).abs(),
                    radii: [w[0].1, w[1].1],
                })
                .collect()
        };
        let sprue = &mould.channels.sprue;
        let mut channels = frusta(&sprue.corners);
        let mut xs: Vec<f64> = sprue.corners.iter().map(|c| c.0).collect();
        if let Some(runner) = &mould.channels.runner {
            let necks = runner.necks.iter();
            channels.push(Channel::Beside(
                necks.map(|n| Channel::Row(frusta(&n.corners))).collect(),
            ));
            xs.extend(runner.necks.iter().flat_map(|n| &n.corners).map(|c| c.0));
            // From the middle out, half of the flow each way and ever less of it.
            let half = 0.25 * (runner.span[1] - runner.span[0]);
            let way = Channel::Round {
                length: half.max(1e-6),
                radii: [runner.radius; 2],
            };
            channels.push(Channel::Beside(vec![way; 2]));
        }
        let low = xs.iter().copied().fold(f64::INFINITY, f64::min);
        let high = xs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (brim, drop) = match sprue.end {
            crate::spec::BodyEnd::Nose => (low, high - low),
            crate::spec::BodyEnd::Tail => (high, high - low),
        };
        Fill {
            channels,
            volume,
            density,
            drop,
            brim,
            seconds: design.mould.fill.unwrap_or(INJECTION),
            nozzle: design.mould.nozzle_radius.is_some(),
        }
    }

    fn injected(&self, cast: &CastDesign) -> bool {
        cast.injector.is_some() || self.nozzle
    }

    pub(super) fn figures(&self, cast: &CastDesign) -> Filling {
        let viscosity = cast.plastic.viscosity.as_ref().map(|v| v.value);
        let pressure = head(self.density, self.drop);
        let time = |mu: f64| fill_time(self.volume, &self.channels, mu, self.density, pressure);
        let resistance: f64 = self.channels.iter().map(Channel::resistance).sum();
        let injected = self.injected(cast).then_some(self.seconds);
        Filling {
            viscosity_pa_s: viscosity,
            poured_s: viscosity
                .filter(|_| injected.is_none())
                .map(|band| band.map(time)),
            pressure_kpa: injected
                .and(viscosity)
                .map(|band| band.map(|mu| mu * resistance * self.volume / self.seconds / 1000.0)),
            injected_s: injected,
        }
    }
}

/// How thick a ring round a cylinder of this radius holds as much as the block does beside the
/// thickest section: its share of the block's own section, corners and all.
fn wall_around(mould: &Mould, radius: f64) -> f64 {
    let size = mould.block.size();
    let section = size.y * size.z / mould.cavities.len().max(1) as f64;
    (section / std::f64::consts::PI).sqrt().max(1.05 * radius) - radius
}

pub(super) fn cooling(design: &Design, body: &Body, mould: &Mould, scale: f64) -> Option<Cooling> {
    let figures = body.figures();
    let wall = mould_material(design);
    let radius = scale * as_cylinder(figures.height.1, figures.width.1);
    let radius = beside::stoutest(mould, radius);
    let casting = casting(design, Shape::Cylinder, radius, wall_around(mould, radius))?;
    let shots = casting.shots(SETTLED, design.cast.pull.value, OPEN);
    let (first, second, tenth) = (shots.first()?, shots.get(1)?, shots.get(SETTLED - 1)?);
    Some(Cooling {
        wall: wall.name.clone(),
        wall_mm: wall_around(mould, radius),
        as_cylinder_mm: 2.0 * radius,
        first_s: first.time,
        second_s: second.time,
        tenth_s: tenth.time,
        shots_s: shots.iter().map(|s| s.time).collect(),
        face_before_tenth_c: tenth.wall_before,
    })
}

fn casting(design: &Design, shape: Shape, size: f64, wall: f64) -> Option<Casting> {
    let cast = &design.cast;
    Some(Casting {
        shape,
        size,
        plastic: thermal(&cast.plastic)?,
        wall: Some(Wall {
            thickness: wall,
            material: thermal(mould_material(design))?,
        }),
        outside: Outside::Film(AIR),
        poured: cast.pour.value,
        room: cast.room,
    })
}

pub(super) fn thin(design: &Design, body: &Body, made: &Master, fill: &Fill) -> Vec<ThinPlace> {
    let cast = &design.cast;
    let Some(band) = cast.plastic.viscosity.as_ref().map(|v| v.value) else {
        return Vec::new();
    };
    let sets = cast
        .plastic
        .sets
        .as_ref()
        .map_or(cast.pull.value, |s| s.value);
    made.thinnest
        .iter()
        .filter_map(|t| {
            let shots = casting(design, Shape::Slab, 0.5 * t.thickness, design.mould.wall)?
                .shots(1, sets, 0.0);
            let seconds = shots.first()?.time;
            // The whole column above the place presses.
            let pressure = head(fill.density, (t.at.x - fill.brim).abs());
            let reach = |mu| Thin::Flat(t.thickness).reach(pressure, mu, seconds);
            let by_weight = [reach(band[1]), reach(band[0])];
            Some(ThinPlace {
                feature: t.path.clone(),
                thickness_mm: t.thickness,
                away_mm: away(body, [t.at.x, t.at.y, t.at.z]).max(along(design, &t.path)),
                sets_s: seconds,
                reach_mm: (!fill.injected(cast)).then_some(by_weight),
                by_weight,
            })
        })
        .collect()
}

/// How far plastic runs along a feature that bends, mm.
fn along(design: &Design, path: &str) -> f64 {
    if let (Some(TailDesign::Curl(curl)), "tail.curl") = (&design.tail, path) {
        return curl.length;
    }
    let mut legs = design.legs.iter().enumerate();
    let named = legs.find(|(i, _)| path == format!("legs[{i}]"));
    named.map_or(0.0, |(_, legs)| legs.length)
}

/// How far a place is from the trunk, mm; 0 within it.
fn away(body: &Body, [x, y, z]: [f64; 3]) -> f64 {
    let length = body.length();
    let beyond = (x - length).max(-x).max(0.0);
    let at = x.clamp(0.0, length);
    let side = y.abs() - body.half_width.height(at);
    // Back and belly are measured from the spine.
    let z = z - body.spine(at);
    let up = (z - body.back.height(at)).max(-z - body.belly.height(at));
    let across = side.max(up).max(0.0);
    libm::hypot(beyond, across)
}

pub(super) fn clamping(
    design: &Design,
    body: &Body,
    mould: &Mould,
    fill: &Fill,
    flow: &Filling,
) -> Clamping {
    let size = mould.block.size();
    let area = projected(&mould.cavity);
    // Plastic to the brim: at the middle of the block half its length of head.
    let standing = opening_force(head(fill.density, 0.5 * size.x), area);
    let figures = body.figures();
    let hollow = match mould.parting {
        Parting::Flank => [figures.width.1, figures.height.1],
        Parting::Waist => [figures.height.1, figures.width.1],
    };
    let hollow = beside::weakest(mould, design.mould_scale(), hollow);
    let squeeze = design
        .cast
        .silicone
        .hardness
        .as_ref()
        .filter(|_| mould.route != Route::Block);
    let squeeze = squeeze.map(|shore| {
        Squeeze::limited(
            CLOSED_MOST,
            hollow,
            size.z,
            size.x * size.y,
            shore.value,
            SCREW_PITCH,
        )
    });
    Clamping {
        area_mm2: area,
        standing_n: standing,
        injected_n: flow
            .pressure_kpa
            .map(|[_, high]| opening_force(high * 1000.0, area)),
        squeeze_mm: squeeze.map(|s| s.most),
        turns_of_m6: squeeze.map(|s| s.turns),
        squeeze_n: squeeze.map(|s| s.force),
    }
}

/// Area of a solid seen along z, hollows not looked into.
fn projected(mesh: &Mesh) -> f64 {
    (0..mesh.triangles.len())
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            (0.5 * (b - a).cross(&(c - a)).z).max(0.0)
        })
        .sum()
}
