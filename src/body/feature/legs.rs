//! Legs and tentacles: tapered strands.

use nalgebra::{Point3, Vector3};

use super::root::burial;
use super::strand::{Size, Strand, Tip};
use super::tails::Behind;
use super::{Effect, Feature, FinPlane};
use crate::body::Body;
use crate::body::place::sin_cos;
use crate::spec::{Bunch, Design, LegStand, LegsDesign, Problem};

/// A root is at least this deep in the body, in mm.
const ROOT: f64 = 1.0;
/// Room round a root's hidden end, in mm.
const ROOM: f64 = 0.1;
/// A row so near to back or belly bends backward instead of down: cosine of its angle.
const UPRIGHT: f64 = 0.97;

/// Clear plastic between the tips of a bunch, in mm: closer, strands are one (reasoned).
const APART: f64 = 0.5;
/// How much deeper than a single strand a bunch is rooted at most, in widths of a root: all of
/// it then leaves the body near its end (reasoned).
const DEEPER: f64 = 1.0;

/// One strand to be: where it leaves the body and which way.
struct Seat {
    surface: Point3<f64>,
    direction: Vector3<f64>,
    /// Square to the direction: what it droops away from.
    up: Vector3<f64>,
    /// How far it goes on into the body.
    root: f64,
    /// Whether its mirror image is wanted too.
    pair: bool,
}

pub(super) fn add(feature: &mut Feature<'_>, legs: &LegsDesign) -> Result<(), Problem> {
    let (seats, behind) = match legs.stand {
        LegStand::Row {
            at,
            angle,
            pitch,
            lean,
        } => (row(feature, legs, [at, angle, pitch, lean])?, None),
        LegStand::Tail(bunch) => (
            behind(feature, legs, bunch)?,
            Some(Behind::new(feature.body())),
        ),
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
    if let Some(problem) = too_long(feature, legs, [at, pitch]) {
        return Err(problem);
    }
    let stands = Row {
        at,
        angle,
        pitch,
        lean,
    };
    (0..legs.count)
        .map(|i| {
            let (surface, ways) = stands.leg(body, legs, i);
            let root = depth(body, legs, surface, ways)
                .map_err(|misfit| stands.told(feature, legs, surface, misfit))?;
            let (direction, up) = ways;
            Ok(Seat {
                surface,
                direction,
                up,
                root,
                pair: angle % 180.0 != 0.0,
            })
        })
        .collect()
}

/// The plane through the middles of a row of legs, or as near to them as one lies, with what all of
/// them take of it for the outline of a plate. `None` for a bunch behind the tail.
pub(super) fn plane(design: &Design, body: &Body, i: usize) -> Option<FinPlane> {
    /// Places along a leg, and round each.
    const PLACES: usize = 16;
    const AROUND: usize = 16;
    let larger = body.length() / design.body.length;
    let LegStand::Row {
        at,
        angle,
        pitch,
        lean,
    } = design.legs[i].stand
    else {
        return None;
    };
    let legs = LegsDesign {
        length: design.legs[i].length * larger,
        root: design.legs[i].root * larger,
        tip: design.legs[i].tip * larger,
        ..design.legs[i]
    };
    let stands = Row {
        at: at * larger,
        angle,
        pitch: pitch * larger,
        lean,
    };
    let seats: Vec<Seat> = (0..legs.count)
        .map(|k| {
            let (surface, (direction, up)) = stands.leg(body, &legs, k);
            Seat {
                surface,
                direction,
                up,
                root: 0.0,
                pair: angle % 180.0 != 0.0,
            }
        })
        .collect();
    let way = seats.last()?.surface - seats.first()?.surface;
    let along = way.try_normalize(1e-9).unwrap_or_else(Vector3::x);
    // Middles with the half-width there.
    let straight = legs.length - legs.tip;
    let middles: Vec<(Point3<f64>, f64)> = seats
        .iter()
        .flat_map(|seat| {
            (0..=PLACES).map(|k| {
                let s = straight * k as f64 / PLACES as f64;
                let half = legs.root + (legs.tip - legs.root) * s / straight;
                (seat.surface + spine(&legs, seat, s), half)
            })
        })
        .collect();
    // Seen along the row they lie on a line, or about one: the one of least squares.
    let first = level(&along);
    let second = along.cross(&first);
    let count = middles.len() as f64;
    let mean = middles.iter().map(|(p, _)| p.coords).sum::<Vector3<f64>>() / count;
    let (mut twice, mut less) = (0.0, 0.0);
    for (p, _) in &middles {
        let off = p.coords - mean;
        let (a, b) = (off.dot(&first), off.dot(&second));
        twice += 2.0 * a * b;
        less += a * a - b * b;
    }
    let (sin, cos) = libm::sincos(0.5 * libm::atan2(twice, less));
    let mut out = first * cos + second * sin;
    if out.dot(&seats[0].direction) < 0.0 {
        out = -out;
    }
    let flat = |p: &Point3<f64>| {
        let off = p.coords - mean;
        [off.dot(&along), off.dot(&out)]
    };
    let roots: Vec<[f64; 2]> = seats.iter().map(|seat| flat(&seat.surface)).collect();
    let low = roots.iter().map(|r| r[1]).fold(f64::INFINITY, f64::min);
    let from = roots.iter().map(|r| r[0]).fold(f64::INFINITY, f64::min) - legs.root;
    let to = roots.iter().map(|r| r[0]).fold(f64::NEG_INFINITY, f64::max) + legs.root;
    let mut rim = vec![[0.0, 0.0], [to - from, 0.0]];
    for (p, half) in &middles {
        let [u, v] = flat(p);
        rim.extend((0..AROUND).map(|k| {
            let (sin, cos) = sin_cos(360.0 * k as f64 / AROUND as f64);
            [u - from + half * cos, (v - low + half * sin).max(0.0)]
        }));
    }
    rim.retain(|p| p[1] > 0.0 || p[0] == 0.0 || p[0] == to - from);
    Some(FinPlane {
        path: format!("legs[{i}]"),
        front: Point3::from(mean + along * from + out * low),
        along,
        out,
        root: to - from,
        outline: round(rim),
        thickness: 2.0 * legs.tip * legs.flat,
    })
}

/// The convex outline of points above a root line from its front, the first of them, over all of them to its
/// rear, the second (A. M. Andrew, "Another efficient algorithm for convex hulls in two
/// dimensions", Information Processing Letters 9, 1979, turned about the front).
fn round(mut points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let [front, rear] = [points[0], points[1]];
    let turn = |p: &[f64; 2]| libm::atan2(p[1] - front[1], p[0] - front[0]);
    let far = |p: &[f64; 2]| libm::hypot(p[0] - front[0], p[1] - front[1]);
    points.retain(|p| *p != front && *p != rear);
    // From the front's own side round to the rear's.
    points.sort_by(|a, b| {
        let turned = turn(b).total_cmp(&turn(a));
        turned.then(far(a).total_cmp(&far(b)))
    });
    points.push(rear);
    let mut outline: Vec<[f64; 2]> = vec![front];
    for p in points {
        while outline.len() > 1 {
            let [a, b] = [outline[outline.len() - 2], outline[outline.len() - 1]];
            let right = (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
            if right < 0.0 {
                break;
            }
            outline.pop();
        }
        outline.push(p);
    }
    outline
}

/// A row that has no room along the body, with what of it would have.
fn too_long(feature: &Feature<'_>, legs: &LegsDesign, [at, pitch]: [f64; 2]) -> Option<Problem> {
    let length = feature.body().length();
    let gaps = (legs.count - 1) as f64;
    let reach = 0.5 * pitch * gaps + legs.root;
    if at - reach >= ROOT && at + reach <= length - ROOT {
        return None;
    }
    let drawn = feature.drawn;
    // Half of what is free round the place, but for the roots at both ends.
    let room = at.min(length - at) - ROOT - legs.root;
    let what = "this row of legs is longer than the body has room for";
    let told = |field: &str| Problem::new(format!("{}.{field}", feature.path), what);
    let to_either_side = format!("{} to either side of {}", drawn.show(reach), drawn.show(at));
    let least_pitch = 2.0 * legs.root;
    Some(if 2.0 * (reach + ROOT) <= length {
        told("at")
            .value(to_either_side)
            .limit(format!(
                "{} to {} for so long a row",
                drawn.at_least(reach + ROOT),
                drawn.at_most(length - reach - ROOT)
            ))
            .hint("fewer legs, or less pitch, stand here")
    } else if room >= 0.5 * least_pitch * gaps && gaps > 0.0 {
        told("pitch")
            .value(drawn.show(pitch))
            .limit(format!("up to {} here", drawn.at_most(2.0 * room / gaps)))
            .hint("fewer or thinner legs, or another place")
    } else if room >= 0.0 {
        told("count")
            .value(legs.count)
            .limit(format!(
                "up to {} here with this pitch",
                1 + libm::floor(2.0 * room / pitch + 1e-9) as usize
            ))
            .hint("fewer or thinner legs, less pitch, or another place")
    } else {
        told("root")
            .value(drawn.show(2.0 * legs.root))
            .limit(format!(
                "up to {} at this place",
                drawn.at_most(2.0 * (room + legs.root).max(0.0))
            ))
            .hint("thinner legs, or a place nearer to the middle")
    })
}

/// Where a row stands.
#[derive(Clone, Copy)]
struct Row {
    at: f64,
    angle: f64,
    pitch: f64,
    lean: f64,
}

impl Row {
    /// Where the i-th leg leaves the surface, which way, and what it droops away from.
    fn leg(
        &self,
        body: &Body,
        legs: &LegsDesign,
        i: usize,
    ) -> (Point3<f64>, (Vector3<f64>, Vector3<f64>)) {
        let x = self.at + self.pitch * (i as f64 - 0.5 * (legs.count - 1) as f64);
        let surface = body.place(x, self.angle).point;
        let (sin, cos) = sin_cos(self.angle);
        let ray = Vector3::new(0.0, sin, cos);
        let (back, out) = sin_cos(self.lean + fanned(legs, i));
        let direction = Vector3::x() * back + ray * out;
        // One way for the whole row, however its strands lean.
        let up = if cos.abs() > UPRIGHT {
            ray * back - Vector3::x() * out
        } else {
            level(&direction)
        };
        (surface, (direction, up))
    }

    /// Whether the body has room for the row and holds the roots of all its legs.
    fn stands(&self, body: &Body, legs: &LegsDesign) -> bool {
        let reach = 0.5 * self.pitch * (legs.count - 1) as f64 + legs.root;
        self.at - reach >= ROOT
            && self.at + reach <= body.length() - ROOT
            && (0..legs.count).all(|i| {
                let (surface, ways) = self.leg(body, legs, i);
                depth(body, legs, surface, ways).is_ok()
            })
    }

    /// A leg whose root does not fit, with the root or the place that would do.
    fn told(
        &self,
        feature: &Feature<'_>,
        legs: &LegsDesign,
        surface: Point3<f64>,
        misfit: &str,
    ) -> Problem {
        /// Places along the body that are tried.
        const PLACES: u32 = 60;
        let (body, drawn) = (feature.body(), feature.drawn);
        let thinner = |root: f64| {
            // A pitch that was left out goes with the root.
            let left_out = (self.pitch - 3.0 * legs.root).abs() < 1e-9;
            let pitch = if left_out { 3.0 * root } else { self.pitch };
            Row { pitch, ..*self }.stands(body, &LegsDesign { root, ..*legs })
        };
        let mut problem = Problem::new(format!("{}.root", feature.path), misfit).value(format!(
            "{}, {} from the nose",
            drawn.show(2.0 * legs.root),
            drawn.show(surface.x)
        ));
        let mut hint =
            "make the root thinner, lean it less, or move the row where the body is thicker"
                .to_owned();
        let whole = |root: f64| thinner(0.5 * root);
        if let Some(fits) = drawn.most(2.0 * legs.tip, 2.0 * legs.root, whole) {
            problem = problem.limit(format!("up to {} here", drawn.at_most(fits)));
        } else {
            let moved = |at: f64| Row { at, ..*self }.stands(body, legs);
            let step = body.length() / f64::from(PLACES);
            let places = (1..PLACES).flat_map(|k| {
                let far = step * f64::from(k);
                [self.at - far, self.at + far]
            });
            // As it is shown, which is what will be written.
            let digit = drawn.units.digit() * drawn.scale;
            let shown = |at: f64| libm::round(at / digit) * digit;
            if let Some(at) = places.map(shown).find(|&at| moved(at)) {
                hint = format!("at = {} would do", drawn.show(at));
            }
        }
        problem.hint(hint)
    }
}

/// How deep below the surface the whole of a root's end is inside.
fn depth(
    body: &Body,
    legs: &LegsDesign,
    surface: Point3<f64>,
    (direction, up): (Vector3<f64>, Vector3<f64>),
) -> Result<f64, &'static str> {
    const STEP: f64 = 0.1;
    let inside = |depth: f64| {
        let hidden = surface - direction * depth;
        rim(legs, hidden, (direction, up)).all(|p| body.holds(&p, ROOM))
    };
    let most = 2.0 * body.back.greatest().1.max(body.half_width.greatest().1);
    let first = (0..=libm::ceil(most / STEP) as usize)
        .map(|k| STEP * k as f64)
        .find(|&d| inside(d))
        .ok_or("the root of this leg is thicker than the body is here")?;
    let depth = first.max(ROOT) + 2.0 * STEP;
    if inside(depth) {
        Ok(depth)
    } else {
        Err("the root of this leg would come out of the other side of the body")
    }
}

/// Points round the end of a root.
fn rim(
    legs: &LegsDesign,
    centre: Point3<f64>,
    (direction, up): (Vector3<f64>, Vector3<f64>),
) -> impl Iterator<Item = Point3<f64>> {
    let aside = up.cross(&direction) * legs.root;
    let up = up * (legs.root * legs.flat);
    (0..12).map(move |k| {
        let (s, c) = sin_cos(30.0 * f64::from(k));
        centre + aside * s + up * c
    })
}

/// A bunch behind the tail, in the axes of a straight body.
fn behind(feature: &Feature<'_>, legs: &LegsDesign, bunch: Bunch) -> Result<Vec<Seat>, Problem> {
    let body = feature.body();
    let single = |root: f64| burial(body, root * legs.flat, root);
    let Some(depth) = single(legs.root) else {
        let mut problem = Problem::new(
            format!("{}.root", feature.path),
            "the root of these legs is thicker than the body is near its tail",
        )
        .value(feature.drawn.show(2.0 * legs.root));
        if let Some(fits) = feature.most(0.2, legs.root, |root| single(root).is_some()) {
            problem = problem.limit(format_args!(
                "at most {} on this body",
                feature.drawn.at_most(2.0 * fits)
            ));
        }
        return Err(problem.hint("make the roots thinner or the body's end thicker"));
    };
    let deepest = depth + DEEPER * 2.0 * legs.root;
    let of = |count: usize| {
        let legs = LegsDesign { count, ..*legs };
        bunched(body, &legs, bunch, [depth, deepest])
    };
    if let Some(seats) = of(legs.count) {
        return Ok(seats);
    }
    let mut problem = Problem::new(
        format!("{}.count", feature.path),
        "so many of these legs do not come apart from so thin a tail",
    )
    .value(legs.count);
    if let Some(fits) = (1..legs.count).rev().find(|&count| of(count).is_some()) {
        problem = problem.limit(format_args!("at most {fits} on this body"));
    }
    Err(problem.hint("fewer or thinner legs, more spread, or a thicker end of the body"))
}

/// The seats of a bunch rooted between these depths, if its strands then come apart.
fn bunched(
    body: &Body,
    legs: &LegsDesign,
    bunch: Bunch,
    [least, deepest]: [f64; 2],
) -> Option<Vec<Seat>> {
    const STEPS: usize = 24;
    let n = legs.count;
    let end = Behind::new(body);
    // Where a strand stands in a bunch that reaches 1 to its outermost, and which way it goes.
    let ways: Vec<([f64; 2], Vector3<f64>, bool)> = match bunch {
        _ if n == 1 => vec![([0.0, 0.0], Vector3::x(), false)],
        // From the middle to the left; the right is the mirror image.
        Bunch::Fan => (n / 2..n)
            .map(|i| {
                let (sin, cos) = sin_cos(fanned(legs, i));
                let part = 2.0 * i as f64 / (n - 1) as f64 - 1.0;
                if 2 * i + 1 == n {
                    ([0.0, 0.0], Vector3::x(), false)
                } else {
                    ([part, 0.0], Vector3::new(cos, sin, 0.0), true)
                }
            })
            .collect(),
        Bunch::Cone => {
            let (open, along) = sin_cos(0.5 * legs.spread);
            (0..=n / 2)
                .map(|i| {
                    let turn = 360.0 * i as f64 / n as f64;
                    let (sin, cos) = sin_cos(turn);
                    let direction = Vector3::new(along, open * sin, open * cos);
                    ([sin, cos], direction, turn % 180.0 != 0.0)
                })
                .collect()
        }
    };
    let hidden = |[y, z]: [f64; 2], reach: f64, depth: f64| {
        Point3::new(body.length() - depth, reach * y, reach * z)
    };
    let held = |reach: f64, depth: f64| {
        // The outermost fails first.
        ways.iter().rev().all(|&(side, direction, _)| {
            rim(
                legs,
                hidden(side, reach, depth),
                (direction, level(&direction)),
            )
            .all(|p| body.holds(&end.point(p), ROOM))
        })
    };
    // Side by side, as far as the body has room; then the roots overlap.
    let mut reach = match (bunch, n) {
        (_, 1) => 0.0,
        (Bunch::Fan, n) => 1.1 * legs.root * (n - 1) as f64,
        (Bunch::Cone, n) => 1.1 * legs.root / libm::sin(std::f64::consts::PI / n as f64),
    };
    let depth = loop {
        let found = (0..=STEPS)
            .map(|k| least + (deepest - least) * k as f64 / STEPS as f64)
            .find(|&depth| held(reach, depth));
        if let Some(depth) = found {
            break depth;
        }
        if reach == 0.0 {
            return None;
        }
        reach = if reach > 0.1 * legs.root {
            0.85 * reach
        } else {
            0.0
        };
    };
    let seats: Vec<Seat> = ways
        .iter()
        .map(|&(side, direction, pair)| {
            let from = hidden(side, reach, depth);
            let root = way_out(depth, |s| body.holds(&end.point(from + direction * s), 0.0));
            Seat {
                surface: from + direction * root,
                direction,
                up: level(&direction),
                root,
                pair,
            }
        })
        .collect();
    let mut tips: Vec<Point3<f64>> = Vec::new();
    for seat in &seats {
        let tip = seat.surface + spine(legs, seat, legs.length - legs.tip);
        tips.push(tip);
        if seat.pair {
            tips.push(Point3::new(tip.x, -tip.y, tip.z));
        }
    }
    let apart = (1..tips.len())
        .all(|i| (0..i).all(|j| (tips[i] - tips[j]).norm() >= 2.0 * legs.tip + APART));
    apart.then_some(seats)
}

/// How far it is to where a line first leaves the body, which holds its beginning. `near` is
/// about how far.
fn way_out(near: f64, inside: impl Fn(f64) -> bool) -> f64 {
    let step = 0.05 * near;
    let (mut a, mut b) = (0.0, step);
    while inside(b) {
        (a, b) = (b, b + step);
    }
    for _ in 0..40 {
        let middle = 0.5 * (a + b);
        if inside(middle) {
            a = middle;
        } else {
            b = middle;
        }
    }
    b
}

/// Square to a direction, in the upright plane through it.
fn level(direction: &Vector3<f64>) -> Vector3<f64> {
    let up = Vector3::z();
    (up - direction * up.dot(direction)).normalize()
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
    let ([x, z], _) = bent(legs, s);
    seat.direction * x + seat.up * z
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
                along: [r * legs.flat; 2],
                across: r,
                lens: 0.0,
            }
        },
        tip: Tip::Round(legs.tip),
    }
    .mesh(tolerance);
    let (up, level) = (seat.up, seat.up.cross(&seat.direction));
    for p in &mut mesh.points {
        let q = seat.surface + seat.direction * p.x + level * p.y + up * p.z;
        *p = q.map(|c| c + 0.0);
    }
    mesh
}
