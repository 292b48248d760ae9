//! Legs and tentacles: tapered strands.

use nalgebra::{Point3, Vector3};

use super::strand::{Size, Strand, Tip};
use super::tails::{Behind, burial};
use super::{Effect, Feature};
use crate::body::place::sin_cos;
use crate::spec::{Bunch, LegStand, LegsDesign, Problem};

/// A root is at least this deep in the body, in mm.
const ROOT: f64 = 1.0;
/// Room round a root's hidden end, in mm.
const ROOM: f64 = 0.1;

/// One strand to be: where it leaves the body and which way.
struct Seat {
    surface: Point3<f64>,
    direction: Vector3<f64>,
    /// How far it goes on into the body.
    root: f64,
    /// Whether its mirror image is wanted too.
    pair: bool,
}

pub(super) fn add(feature: &mut Feature<'_>, legs: &LegsDesign) -> Result<(), Problem> {
    let seats = match legs.stand {
        LegStand::Row {
            at,
            angle,
            pitch,
            lean,
        } => row(feature, legs, [at, angle, pitch, lean])?,
        LegStand::Tail(bunch) => behind(feature, legs, bunch)?,
    };
    let behind = match legs.stand {
        LegStand::Row { .. } => None,
        LegStand::Tail(_) => Some(Behind::new(feature.body())),
    };
    for seat in &seats {
        let mut mesh = strand(legs, seat, feature.tolerance);
        if let Some(behind) = behind {
            mesh = behind.mesh(mesh);
        }
        feature.push(Effect::Adds, mesh, seat.pair);
    }
    if let Some(seat) = seats.first() {
        let at = seat.surface + spine(legs, seat, legs.length - legs.tip);
        let at = behind.map_or(at, |behind| behind.point(at));
        feature.thinnest(2.0 * legs.tip * legs.flat, at);
    }
    Ok(())
}

/// Degrees of the i-th strand from the middle of a fan.
fn fanned(legs: &LegsDesign, i: usize) -> f64 {
    if legs.count < 2 {
        return 0.0;
    }
    legs.spread * (i as f64 / (legs.count - 1) as f64 - 0.5)
}

fn row(
    feature: &Feature<'_>,
    legs: &LegsDesign,
    [at, angle, pitch, lean]: [f64; 4],
) -> Result<Vec<Seat>, Problem> {
    let body = feature.body();
    let reach = 0.5 * pitch * (legs.count - 1) as f64 + legs.root;
    if at - reach < ROOT || at + reach > body.length() - ROOT {
        return Err(Problem::new(
            &feature.path,
            "this row of legs is longer than the body has room for",
        )
        .value(format!(
            "{} to either side of {}",
            feature.show(reach),
            feature.show(at)
        ))
        .hint("fewer or thinner legs, less pitch, or another place"));
    }
    (0..legs.count)
        .map(|i| {
            let x = at + pitch * (i as f64 - 0.5 * (legs.count - 1) as f64);
            let surface = body.place(x, angle).point;
            let (sin, cos) = sin_cos(angle);
            let ray = Vector3::new(0.0, sin, cos);
            let (back, out) = sin_cos(lean + fanned(legs, i));
            let direction = Vector3::x() * back + ray * out;
            let root = depth(feature, legs, surface, direction)?;
            Ok(Seat {
                surface,
                direction,
                root,
                pair: angle % 180.0 != 0.0,
            })
        })
        .collect()
}

/// How deep below the surface the whole of a root's end is inside.
fn depth(
    feature: &Feature<'_>,
    legs: &LegsDesign,
    surface: Point3<f64>,
    direction: Vector3<f64>,
) -> Result<f64, Problem> {
    const STEP: f64 = 0.1;
    let body = feature.body();
    let axes = axes(&direction);
    let inside = |depth: f64| {
        (0..12).all(|k| {
            let (s, c) = sin_cos(30.0 * f64::from(k));
            let across = axes.0 * (legs.root * s) + axes.1 * (legs.root * legs.flat * c);
            body.holds(&(surface - direction * depth + across), ROOM)
        })
    };
    let most = 2.0 * body.back.greatest().1.max(body.half_width.greatest().1);
    let first = (0..=libm::ceil(most / STEP) as usize)
        .map(|k| STEP * k as f64)
        .find(|&d| inside(d));
    let problem = |what: &str| {
        Problem::new(format!("{}.root", feature.path), what)
            .value(format!(
                "{}, {} from the nose",
                feature.show(2.0 * legs.root),
                feature.show(surface.x)
            ))
            .hint("make the root thinner, lean it less, or move the row where the body is thicker")
    };
    let first =
        first.ok_or_else(|| problem("the root of this leg is thicker than the body is here"))?;
    let depth = first.max(ROOT) + 2.0 * STEP;
    if inside(depth) {
        Ok(depth)
    } else {
        Err(problem(
            "the root of this leg would come out of the other side of the body",
        ))
    }
}

fn behind(feature: &Feature<'_>, legs: &LegsDesign, bunch: Bunch) -> Result<Vec<Seat>, Problem> {
    let body = feature.body();
    let n = legs.count;
    let thick = legs.root * legs.flat;
    // The roots side by side, as far as the body has room; then they overlap.
    let mut reach = match (bunch, n) {
        (_, 1) => 0.0,
        (Bunch::Fan, n) => 1.1 * legs.root * (n - 1) as f64,
        (Bunch::Cone, n) => 1.1 * legs.root / libm::sin(std::f64::consts::PI / n as f64),
    };
    let depth = loop {
        let (height, width) = match bunch {
            Bunch::Fan => (thick, reach + legs.root),
            Bunch::Cone => (reach + legs.root, reach + legs.root),
        };
        match burial(body, height, width) {
            Ok(depth) => break depth,
            Err(_) if reach > 0.05 * legs.root => {
                reach = if reach > 0.1 * legs.root {
                    0.85 * reach
                } else {
                    0.0
                }
            }
            Err(share) => {
                return Err(Problem::new(
                    format!("{}.root", feature.path),
                    "the root of these legs is thicker than the body is near its tail",
                )
                .value(feature.show(2.0 * legs.root))
                .limit(format!(
                    "at most {} on this body",
                    feature.show(2.0 * legs.root * share)
                ))
                .hint("make the roots thinner or the body's end thicker"));
            }
        }
    };
    let seat = |[y, z]: [f64; 2], direction: Vector3<f64>, pair: bool| Seat {
        surface: Point3::new(body.length(), y, z),
        direction,
        root: depth,
        pair,
    };
    // Seats are at the hidden ends, so that leaning roots stay inside.
    let hidden = |s: Seat| Seat {
        surface: s.surface - Vector3::x() * depth + s.direction * depth,
        ..s
    };
    let seats = match bunch {
        // From the middle to the left; the right is the mirror image.
        Bunch::Fan => (n / 2..n)
            .map(|i| {
                let turn = fanned(legs, i);
                let (sin, cos) = sin_cos(turn);
                let part = if n > 1 {
                    2.0 * i as f64 / (n - 1) as f64 - 1.0
                } else {
                    0.0
                };
                let middle = 2 * i + 1 == n;
                let y = if middle { 0.0 } else { reach * part };
                let direction = if middle {
                    Vector3::x()
                } else {
                    Vector3::new(cos, sin, 0.0)
                };
                seat([y, 0.0], direction, !middle)
            })
            .collect::<Vec<_>>(),
        Bunch::Cone => {
            let (open, along) = sin_cos(0.5 * legs.spread);
            (0..=n / 2)
                .map(|i| 360.0 * i as f64 / n as f64)
                .filter(|turn| *turn <= 180.0)
                .map(|turn| {
                    let (sin, cos) = sin_cos(turn);
                    let direction = Vector3::new(along, open * sin, open * cos);
                    seat([reach * sin, reach * cos], direction, turn % 180.0 != 0.0)
                })
                .collect()
        }
    };
    Ok(seats.into_iter().map(hidden).collect())
}

/// Across a strand: level, and the way it droops from.
fn axes(direction: &Vector3<f64>) -> (Vector3<f64>, Vector3<f64>) {
    // Upright strands bend backward instead of down.
    let up = if direction.z.abs() > 0.97 {
        -Vector3::x()
    } else {
        Vector3::z()
    };
    let up = (up - direction * up.dot(direction)).normalize();
    (up.cross(direction), up)
}

/// The spine of a strand in (along, up), and its heading.
fn bent(legs: &LegsDesign, s: f64) -> ([f64; 2], [f64; 2]) {
    let droop = legs.droop.to_radians();
    if s <= 0.0 || droop == 0.0 {
        return ([s, 0.0], [1.0, 0.0]);
    }
    let turn = droop * s / legs.length;
    let radius = legs.length / droop;
    let (sin, cos) = libm::sincos(turn);
    ([radius * sin, -radius * (1.0 - cos)], [cos, -sin])
}

fn spine(legs: &LegsDesign, seat: &Seat, s: f64) -> Vector3<f64> {
    let (_, up) = axes(&seat.direction);
    let ([x, z], _) = bent(legs, s);
    seat.direction * x + up * z
}

fn strand(legs: &LegsDesign, seat: &Seat, tolerance: f64) -> crate::mesh::Mesh {
    let mut mesh = Strand {
        root: seat.root,
        length: legs.length,
        spine: &|s| bent(legs, s),
        size: &|s| {
            let part = (s / (legs.length - legs.tip)).clamp(0.0, 1.0);
            let r = legs.root + (legs.tip - legs.root) * part;
            Size {
                along: r * legs.flat,
                across: r,
                lens: 0.0,
            }
        },
        tip: Tip::Round(legs.tip),
    }
    .mesh(tolerance);
    let (level, up) = axes(&seat.direction);
    for p in &mut mesh.points {
        let q = seat.surface + seat.direction * p.x + level * p.y + up * p.z;
        *p = q.map(|c| c + 0.0);
    }
    mesh
}
