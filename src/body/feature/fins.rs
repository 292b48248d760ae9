//! Fins and wings: plates on a straight root line.
//!
//! The root line runs from the surface at the fin's front to the surface at its rear, both at
//! the fin's angle round the body. Below it the plate goes on, straight down, until all of it
//! is inside the body.

use kurbo::{BezPath, ParamCurve, ParamCurveDeriv, PathEl, PathSeg};
use nalgebra::{Point3, Vector3};

use super::{Effect, Feature, FinPlane, degrees};
use crate::body::Body;
use crate::body::place::sin_cos;
use crate::curve::Outline;
use crate::mesh::Mesh;
use crate::mesh::plate::{PlateError, plate};
use crate::spec::{Design, End, FinDesign, FinOutline, Problem};

/// How far below the lowest place of the surface along it a root reaches, in mm (reasoned: a
/// rim rounded off by as much as that still has its full thickness at the surface).
const ROOT: f64 = 1.0;
/// Least material between a root and the other side of the body, in mm (reasoned).
const BEHIND_ROOT: f64 = 0.2;
/// The root's rear stays this far from the tail's end, in mm, as its front does from the nose's.
const FROM_END: f64 = 0.5;
/// The shortest root and the thinnest plate that a spec may ask for, in mm.
const LEAST_ROOT: f64 = 2.0;
const LEAST_PLATE: f64 = 0.4;
/// The least rounding of a rim that a spec may ask for, but none, in mm.
const LEAST_ROUNDING: f64 = 0.1;
/// Share of the tolerance that a chord of an outline may stand off.
const SHARE: f64 = 0.5;
/// Outline points are put on a grid this fine, in mm, so that no platform's rounding of a
/// curve shows.
const GRID: f64 = 1.0 / 1_048_576.0;

pub(super) fn add(feature: &mut Feature<'_>, fin: &FinDesign) -> Result<(), Problem> {
    let (path, tolerance) = (&feature.path, feature.tolerance);
    let above = above_root(path, fin, tolerance)?;
    let root = above[above.len() - 1][0];
    let (frame, depth) =
        stand(feature, fin, root).map_err(|misfit| misfit.problem(feature, fin, root))?;

    let lean = libm::tan(fin.sweep.to_radians());
    let mut outline = vec![[root, -depth], [root, 0.0]];
    outline.extend(above.iter().rev().map(|&[u, v]| [u + lean * v, v]));
    outline.extend([[0.0, 0.0], [0.0, -depth]]);
    for p in &mut outline {
        *p = p.map(|c| libm::round(c / GRID) * GRID);
    }
    let rounded = |rounding: f64| plate(&outline, fin.thickness, rounding, tolerance);
    let mesh = rounded(fin.rounding).map_err(|e| match e {
        PlateError::Narrow { .. } => {
            let least = LEAST_ROUNDING.min(fin.rounding);
            let path = format!("{path}.rounding");
            let drawn = feature.drawn.of(&path);
            let fits = drawn.most(least, fin.rounding, |r| rounded(r).is_ok());
            let limit = match fits {
                Some(fits) => format!("up to {}, or 0 for a sharp rim", drawn.at_most(fits)),
                None => "0, a sharp rim".to_owned(),
            };
            Problem::new(path, "this fin is too narrow somewhere for its rounded rim")
                .value(drawn.show(fin.rounding))
                .limit(limit)
                .hint("make the rounding smaller, the fin thinner, or its outline wider")
        }
        other => Problem::new(path, format!("this fin cannot be made: {other}"))
            .limit("one simple outline, with distances from the root's front")
            .hint("look for stations or points that make it cross itself; less sweep may do"),
    })?;
    apart(feature, fin, &frame, &above)?;
    let tip = above
        .iter()
        .copied()
        .fold([0.0; 2], |a, b| if b[1] > a[1] { b } else { a });
    let tip = frame.point([tip[0] + lean * tip[1], 0.0, tip[1]]);
    feature.thinnest(fin.thickness, tip);
    let sunk = sunk(feature, &frame, &above);
    feature.notes.extend(sunk);
    feature.push(Effect::Adds, frame.placed(mesh), fin.angle % 180.0 != 0.0);
    Ok(())
}

/// The two of a pair must not run into each other outside the body.
fn apart(
    feature: &Feature<'_>,
    fin: &FinDesign,
    frame: &Frame,
    above: &[[f64; 2]],
) -> Result<(), Problem> {
    let paired = fin.angle % 180.0 != 0.0;
    let lean = libm::tan(fin.sweep.to_radians());
    let meet = |frame: &Frame| {
        let half = 0.5 * fin.thickness;
        above.iter().any(|&[u, v]| {
            let p = |w: f64| frame.point([u + lean * v, w, v]).y;
            p(-half).min(p(half)) < 0.0
        })
    };
    if !paired || !meet(frame) {
        return Ok(());
    }
    let root = above[above.len() - 1][0];
    let clear = |angle: f64| {
        let turned = FinDesign {
            angle,
            ..fin.clone()
        };
        stand(feature, &turned, root).is_ok_and(|(frame, _)| !meet(&frame))
    };
    let mut problem = Problem::new(
        format!("{}.angle", feature.path),
        "the two of this pair run into each other",
    )
    .value(format!("{} degrees", fin.angle));
    // Towards the flank they are the farthest apart.
    if fin.angle < 90.0 {
        if let Some(least) = degrees().least(fin.angle, 90.0, clear) {
            problem = problem.limit(format!("at least {least:.2} degrees"));
        }
    } else if let Some(most) = degrees().most(90.0, fin.angle, clear) {
        problem = problem.limit(format!("at most {most:.2} degrees"));
    }
    Err(problem.hint(
        "turn them towards the flanks, lean them outward, make them thinner, or write 0 or 180 for a single one",
    ))
}

/// That much of an outline lies in a body which bulges over the straight root line.
fn sunk(feature: &Feature<'_>, frame: &Frame, above: &[[f64; 2]]) -> Option<String> {
    /// Told from this on, in mm and as a share of the fin's height (reasoned).
    const TOLD: f64 = 1.0;
    const SHARE: f64 = 0.25;
    const STEP: f64 = 0.25;
    const COLUMNS: usize = 24;
    let root = above[above.len() - 1][0];
    let height = above.iter().fold(0.0, |most: f64, p| most.max(p[1]));
    // Of the outline, where it is highest over a place of the root.
    let over = |u: f64| {
        let edges = above
            .windows(2)
            .filter(|e| (e[0][0] <= u) != (e[1][0] <= u));
        edges
            .map(|e| e[0][1] + (u - e[0][0]) / (e[1][0] - e[0][0]) * (e[1][1] - e[0][1]))
            .fold(0.0, f64::max)
    };
    let risen = |k: usize| {
        let u = root * k as f64 / COLUMNS as f64;
        let inside = |i: &usize| {
            let p = frame.point([u, 0.0, STEP * *i as f64]);
            feature.body().holds(&p, 0.0)
        };
        let (most, steps) = (over(u), libm::ceil(height / STEP) as usize);
        let rise = STEP * (1..=steps).take_while(inside).count() as f64;
        (rise.min(most), most, u)
    };
    let columns = (1..COLUMNS).map(risen);
    let (most, of, u) = columns.max_by(|a, b| a.0.total_cmp(&b.0))?;
    (most > TOLD && most > SHARE * height).then(|| {
        let x = frame.point([u, 0.0, 0.0]).x;
        format!(
            "{}: its root line is straight, and about {} from the nose the body bulges {} over it: so much \
             of the {} that its outline has there does not show. A shorter root lies closer.",
            feature.path,
            feature.show(x),
            feature.show(most),
            feature.show(of)
        )
    })
}

/// The middle plane of a design's fin on its body, which may be larger than the design says; none
/// for a fin that cannot be made.
pub(super) fn plane(design: &Design, body: &Body, i: usize) -> Option<FinPlane> {
    let fin = &design.fin[i];
    let larger = body.length() / design.body.length;
    let above = above_root("", fin, design.tolerance).ok()?;
    let root = above[above.len() - 1][0] * larger;
    let at = FinDesign {
        at: fin.at * larger,
        ..fin.clone()
    };
    let frame = Frame::new(body, &at, root).ok()?;
    let lean = libm::tan(fin.sweep.to_radians());
    let outline = above
        .iter()
        .map(|&[u, v]| [u + lean * v, v].map(|c| c * larger));
    Some(FinPlane {
        path: format!("fin[{i}]"),
        front: frame.origin,
        along: frame.u,
        out: frame.v,
        root,
        outline: outline.collect(),
        thickness: fin.thickness * larger,
    })
}

/// The outline above the root line, from (0, 0) or above it to (root, 0) or above it.
fn above_root(path: &str, fin: &FinDesign, tolerance: f64) -> Result<Vec<[f64; 2]>, Problem> {
    match &fin.outline {
        FinOutline::Stations { root, knots } => {
            let end = |at: f64, knot: Option<&crate::spec::Knot>| match knot {
                Some(k) if k.at == at => End::Flat,
                _ => End::Pointed,
            };
            let (front, rear) = (end(0.0, knots.first()), end(*root, knots.last()));
            let outline = Outline::through(knots, *root, front, rear);
            Ok(flat(&outline.to_path(), SHARE * tolerance))
        }
        FinOutline::Path(drawn) => rooted(&format!("{path}.path"), &flat(drawn, SHARE * tolerance)),
    }
}

/// A closed outline turned so that it begins at the front of its root, on y = 0, and
/// ends at the rear.
fn rooted(path: &str, outline: &[[f64; 2]]) -> Result<Vec<[f64; 2]>, Problem> {
    const ON_ROOT: f64 = 1e-6;
    let problem = |what: &str| {
        Problem::new(path, what)
            .limit("a closed outline with one straight edge on y = 0, 2 mm long or more, and all else above it")
            .hint("such as M0,0 L4,9 Q12,12 18,0 Z")
    };
    let mut points = outline.to_vec();
    if points.len() > 1 && points[0] == points[points.len() - 1] {
        points.pop();
    }
    let n = points.len();
    if points.iter().any(|p| p[1] < -ON_ROOT) {
        return Err(problem("this path goes below its root line"));
    }
    let low = |i: usize| points[i % n][1] <= ON_ROOT;
    let runs: Vec<usize> = (0..n).filter(|&i| low(i) && !low(i + 1)).collect();
    let &[end] = &runs[..] else {
        return Err(problem("this path has no root, or stands on several"));
    };
    // From the last point of the root round the outline to the root's first.
    let mut above: Vec<[f64; 2]> = Vec::with_capacity(n);
    for k in 0..n {
        let p = points[(end + k) % n];
        above.push([p[0], p[1].max(0.0)]);
        if k > 0 && low(end + k) {
            break;
        }
    }
    let (first, last) = (above[0][0], above[above.len() - 1][0]);
    if (first - last).abs() < 2.0 {
        return Err(problem("the root of this path is too short"));
    }
    if first > last {
        above.reverse();
    }
    let front = first.min(last);
    Ok(above.into_iter().map(|[x, y]| [x - front, y]).collect())
}

/// Corners of a path whose chords stand off at most `sag`. Only sums, products and roots:
/// the same everywhere.
fn flat(path: &BezPath, sag: f64) -> Vec<[f64; 2]> {
    const MOST: f64 = 512.0;
    let mut points: Vec<[f64; 2]> = Vec::new();
    if let Some(PathEl::MoveTo(p)) = path.elements().first() {
        points.push([p.x, p.y]);
    }
    for segment in path.segments() {
        // A chord over a step h of a curve with |p″| ≤ m stands off m h²/8 at most.
        let bend = match segment {
            PathSeg::Line(_) => 0.0,
            PathSeg::Quad(q) => q.deriv().deriv().start().to_vec2().hypot(),
            PathSeg::Cubic(c) => {
                let second = c.deriv().deriv();
                let size = |p: kurbo::Point| p.to_vec2().hypot2().sqrt();
                size(second.p0).max(size(second.p1))
            }
        };
        let count = libm::ceil((bend / (8.0 * sag)).sqrt()).clamp(1.0, MOST) as usize;
        for k in 1..=count {
            let p = if k == count {
                segment.end()
            } else {
                segment.eval(k as f64 / count as f64)
            };
            points.push([p.x, p.y]);
        }
    }
    points
}

/// A fin's own axes on the body: u along the root, w across the plate, v outward.
struct Frame {
    origin: Point3<f64>,
    u: Vector3<f64>,
    v: Vector3<f64>,
    w: Vector3<f64>,
}

impl Frame {
    fn new(body: &Body, fin: &FinDesign, root: f64) -> Result<Self, Misfit> {
        let front = body.place(fin.at, fin.angle).point;
        let reach = |x: f64| (body.place(x, fin.angle).point - front).norm();
        let last = body.length() - FROM_END;
        if reach(last) < root || last <= fin.at {
            return Err(Misfit::PastEnd);
        }
        let (mut a, mut b) = (fin.at, last);
        for _ in 0..60 {
            let middle = 0.5 * (a + b);
            if reach(middle) < root {
                a = middle;
            } else {
                b = middle;
            }
        }
        let rear = body.place(b, fin.angle).point;
        // Both ends are on rays at the same angle, so the plate's plane holds the axis of a
        // straight body, to the last bit.
        let (sin, cos) = sin_cos(fin.angle);
        let ray = Vector3::new(0.0, sin, cos);
        let along = b - fin.at;
        let rise = (rear - front).dot(&ray);
        let length = libm::hypot(along, rise);
        let x = Vector3::x();
        let mut u = (x * along + ray * rise) / length;
        let mut v = (ray * along - x * rise) / length;
        let mut w = Vector3::new(0.0, cos, -sin);
        // On a bowed body the root line leaves that plane sideways, and the plate goes with it.
        let aside = (rear - front).dot(&w);
        if aside != 0.0 {
            let length = libm::hypot(length, aside);
            (u, w) = (
                (rear - front) / length,
                (w * libm::hypot(along, rise) - u * aside) / length,
            );
            v = u.cross(&w);
        }
        let (sin, cos) = sin_cos(fin.cant);
        Ok(Frame {
            origin: front,
            u,
            v: v * cos - w * sin,
            w: w * cos + v * sin,
        })
    }

    /// The point at (u, w, v).
    fn point(&self, [u, w, v]: [f64; 3]) -> Point3<f64> {
        self.origin + self.u * u + self.w * w + self.v * v
    }

    /// A mesh in (u, w, v) moved to the body.
    fn placed(&self, mut mesh: Mesh) -> Mesh {
        for p in &mut mesh.points {
            // Adding zero turns −0 into 0.
            *p = self.point([p.x, p.y, p.z]).map(|c| c + 0.0);
        }
        mesh
    }

    /// How deep below the root line the plate has to go.
    fn depth(&self, body: &Body, fin: &FinDesign, root: f64) -> Result<f64, Misfit> {
        const STEP: f64 = 0.1;
        let columns = (libm::ceil(root / 0.5) as usize).clamp(16, 400);
        let half = 0.5 * fin.thickness;
        let most = body
            .back
            .greatest()
            .1
            .max(body.belly.greatest().1)
            .max(body.half_width.greatest().1);
        let steps = libm::ceil(2.0 * most / STEP) as usize;
        let mut needed: f64 = 0.0;
        let mut room = f64::INFINITY;
        // The rear first: there bodies are slim.
        for i in (0..=columns).rev() {
            let u = root * i as f64 / columns as f64;
            for w in [-half, 0.0, half] {
                let inside =
                    |k: usize| body.holds(&self.point([u, w, -STEP * k as f64]), BEHIND_ROOT);
                let Some(first) = (0..=steps).find(|&k| inside(k)) else {
                    return Err(Misfit::Wide(self.point([u, 0.0, 0.0]).x));
                };
                let last = (first..=steps).find(|&k| !inside(k)).unwrap_or(steps);
                needed = needed.max(STEP * first as f64);
                room = room.min(STEP * (last - 1) as f64);
            }
        }
        let depth = needed + ROOT;
        if depth > room {
            return Err(Misfit::Through { depth, room });
        }
        Ok(depth)
    }
}

/// Why the body does not hold a root.
enum Misfit {
    /// It runs past the end.
    PastEnd,
    /// The body is thinner than the plate, at this x.
    Wide(f64),
    /// It would have to go deeper than the body has room.
    Through { depth: f64, room: f64 },
}

/// Where a fin stands and how deep, or why it does not.
fn stand(feature: &Feature<'_>, fin: &FinDesign, root: f64) -> Result<(Frame, f64), Misfit> {
    let frame = Frame::new(feature.body(), fin, root)?;
    let depth = frame.depth(feature.body(), fin, root)?;
    Ok((frame, depth))
}

impl Misfit {
    fn problem(self, feature: &Feature<'_>, fin: &FinDesign, root: f64) -> Problem {
        let path = &feature.path;
        let show = |mm: f64| feature.drawn.show(mm);
        let plate = feature.drawn.of(&format!("{path}.thickness"));
        let problem = match self {
            Misfit::PastEnd => Problem::new(
                format!("{path}.at"),
                "the root of this fin runs past the end of the body",
            )
            .value(format!("{}, with a root of {}", show(fin.at), show(root)))
            .hint("move it forward or make its root shorter"),
            Misfit::Wide(at) => {
                Problem::new(path, "the root of this fin is wider than the body is here")
                    .value(format!(
                        "{} thick, {} from the nose{}",
                        plate.show(fin.thickness),
                        show(at),
                        if fin.cant == 0.0 {
                            String::new()
                        } else {
                            format!(", with a cant of {} degrees", fin.cant)
                        }
                    ))
                    .hint("make the fin thinner, its root shorter, or move it")
            }
            Misfit::Through { depth, room } => Problem::new(
                path,
                "the root of this fin would come out of the other side of the body",
            )
            .value(format!(
                "{} deep, {} below the lowest place along the root; the body has room for {}",
                show(depth),
                show(ROOT),
                show(room)
            ))
            .hint("make the root shorter or the fin thinner, or move it where the body is thicker"),
        };
        // A plate that is turned far about its root leaves the body beneath it.
        let stands = |cant: f64| {
            let turned = FinDesign {
                cant,
                ..fin.clone()
            };
            stand(feature, &turned, root).is_ok()
        };
        let less = (fin.cant != 0.0)
            .then(|| degrees().most(0.0, fin.cant.abs(), |cant| stands(cant.copysign(fin.cant))))
            .flatten();
        if let Some(less) = less {
            return problem
                .limit(format!(
                    "a cant between 0 and {:.2} degrees with this root",
                    less.copysign(fin.cant)
                ))
                .hint("turn it less, or make the fin thinner or its root shorter");
        }
        let longest = feature.most(LEAST_ROOT, root, |root| stand(feature, fin, root).is_ok());
        let forward = || {
            let stands = |at: f64| stand(feature, &FinDesign { at, ..fin.clone() }, root).is_ok();
            feature.most(FROM_END, fin.at, stands)
        };
        let limit = longest
            .map(|root| format!("a root of at most {} here", feature.drawn.at_most(root)))
            .or_else(|| {
                let thin = |thickness| FinDesign {
                    thickness,
                    ..fin.clone()
                };
                let thickest = plate.most(LEAST_PLATE, fin.thickness, |thickness| {
                    stand(feature, &thin(thickness), root).is_ok()
                })?;
                let thickest = plate.at_most(thickest);
                Some(format!("a thickness of at most {thickest} with this root"))
            })
            .or_else(|| {
                let at = feature.drawn.at_most(forward()?);
                Some(format!("at most {at} with this root"))
            });
        match limit {
            Some(limit) => problem.limit(limit),
            None => problem,
        }
    }
}
