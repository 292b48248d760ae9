//! Recesses square to the surface: eyes and pockets.

use nalgebra::Point3;

use super::Feature;
use crate::body::ground::{Frame, SKIN, round};
use crate::body::master::Effect;
use crate::curve::Section;
use crate::mesh::Mesh;
use crate::mesh::turned::{band, turned};
use crate::spec::{BoreDesign, EyeShape, EyesDesign, Making, PocketDesign, Problem, RibsDesign};

use super::{ball, degrees};

/// Walls open outward by 3° a side, so that what is cast in a recess lets go (common practice).
const DRAFT: f64 = 3.0;
/// How far cuts reach over the surface, in mm.
const OVER: f64 = 1.0;
/// How far what is added is rooted, in mm.
const ROOT: f64 = 1.0;
/// The surface may fall away at the rim of a recess by this share of its depth: the rest
/// is wall.
const FALL: f64 = 0.75;
/// Added to the skin round a bore, in mm: what facets may stand off.
const CLEAR: f64 = 0.02;
/// The least width and depth of a recess that a spec may ask for, in mm.
const LEAST_SIZE: f64 = 1.0;
const LEAST_DEPTH: f64 = 0.2;
/// Radius and depth of a dimple that a drill is set in: a cone of 90° (common practice).
const DIMPLE: f64 = 0.6;
/// Corners of a rectangular pocket are rounded by this, in mm, less in a small one.
const CORNER: f64 = 1.0;

pub(super) fn draft() -> f64 {
    libm::tan(DRAFT.to_radians())
}

/// A dimple about a frame: a cone, its tip below the surface.
pub(super) fn dimple(frame: &Frame, tolerance: f64) -> Mesh {
    // The tip is a small flat rather than a point, which the mesh would not straddle.
    let corners = [(-DIMPLE, 0.1 * DIMPLE), (0.5 * DIMPLE, 1.6 * DIMPLE)];
    frame.placed(turned(&corners, tolerance))
}

/// A hollow as seen along its frame.
#[derive(Clone)]
struct Hollow {
    /// Points round its rim.
    rim: Vec<[f64; 2]>,
    /// Points round its floor, which a ball has smaller.
    floor: Vec<[f64; 2]>,
    depth: f64,
    pair: bool,
    /// Whether it is cut now, and needs walls: what is only marked is drilled by hand.
    walls: bool,
}

/// What is wrong with a hollow.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Misfit {
    /// The two of a pair meet at the surface.
    Pair,
    /// Its rim hangs over.
    Wide,
    /// Too little is left beside it, deep beneath its rim.
    Thin,
    /// Too little is left beneath it.
    Deep,
    /// It comes too near a bore, of this number.
    Bore(usize),
}

impl Hollow {
    fn misfit(&self, feature: &Feature<'_>, frame: &Frame) -> Option<Misfit> {
        let ground = feature.ground;
        let apart = |p: &Point3<f64>| !self.pair || p.y >= 0.5 * SKIN;
        if !self.rim.iter().all(|&[u, v]| apart(&frame.at(u, v, 0.0))) {
            return Some(Misfit::Pair);
        }
        // The surface may fall away at the rim by less than the walls are high.
        let falls = |&[u, v]: &[f64; 2]| {
            let fall = ground.below(frame, u, v);
            fall.is_none_or(|fall| fall.abs() > FALL * self.depth)
        };
        if self.walls && self.rim.iter().any(falls) {
            return Some(Misfit::Wide);
        }
        let floor = || self.floor.iter().chain(&[[0.0; 2]]);
        let holds = |&[u, v]: &[f64; 2]| {
            apart(&frame.at(u, v, -self.depth)) && ground.holds(&frame.at(u, v, -self.depth - SKIN))
        };
        if !floor().all(holds) {
            return Some(Misfit::Deep);
        }
        // Nor may a wall be thin where it stands deep beneath its rim, towards a flank.
        let flank = |i: usize| {
            const PARTS: i32 = 6;
            let (rim, floor) = (self.rim[i], self.floor[i % self.floor.len()]);
            let fall = ground.below(frame, rim[0], rim[1]).map_or(0.0, f64::abs);
            (1..=PARTS).any(|k| {
                let share = f64::from(k) / f64::from(PARTS);
                let deep = share * self.depth;
                let [u, v] = [0, 1].map(|k| rim[k] + share * (floor[k] - rim[k]));
                let more = 1.0 + SKIN / libm::hypot(u, v).max(SKIN);
                deep >= fall + SKIN && !ground.holds(&frame.at(more * u, more * v, -deep))
            })
        };
        if self.walls && self.rim.len() == self.floor.len() && (0..self.rim.len()).any(flank) {
            return Some(Misfit::Thin);
        }
        feature.bores.iter().enumerate().find_map(|(i, bore)| {
            let cast = bore.how == Making::Cast;
            let clear = bore.radius + SKIN + CLEAR;
            let near = |p: Point3<f64>| {
                let mirrored = Point3::new(p.x, -p.y, p.z);
                let far = |p| from_bore(feature, bore, &p);
                far(p).min(if self.pair { far(mirrored) } else { far(p) }) < clear
            };
            // All the way down: a deep one may pass a bore with its floor.
            const PARTS: i32 = 8;
            let depths = (0..=PARTS).map(|k| f64::from(k) / f64::from(PARTS) * self.depth);
            let mut all = depths.flat_map(|deep| {
                let walls = self.rim.iter().filter(move |_| deep < self.depth);
                let beneath = floor();
                walls
                    .chain(beneath)
                    .map(move |&[u, v]| frame.at(u, v, -deep))
            });
            (cast && all.any(near)).then_some(Misfit::Bore(i))
        })
    }
}

/// How far a place is from a bore's axis.
fn from_bore(feature: &Feature<'_>, bore: &BoreDesign, place: &Point3<f64>) -> f64 {
    let from = Point3::from(bore.from.unwrap_or([0.0; 3]));
    let to = Point3::from(bore.to.unwrap_or([feature.body().length(), 0.0, 0.0]));
    let along = to - from;
    let share = (place - from).dot(&along) / along.norm_squared();
    (place - from - along * share.clamp(0.0, 1.0)).norm()
}

/// Sizes of a recess that the spec asks for.
struct Asked<'a> {
    /// The field of its width, and that as text, times a factor.
    field: &'a str,
    shown: &'a dyn Fn(f64) -> String,
    /// The width.
    size: f64,
    depth: f64,
    /// The least and the greatest depth that its width allows, by the rules of the spec.
    depths: &'a dyn Fn(f64) -> [f64; 2],
    /// The hollow of a width and a depth.
    hollow: &'a dyn Fn(f64, f64) -> Hollow,
    /// What else a width must fit.
    also: &'a dyn Fn(f64) -> bool,
    /// Where it stands, from the nose and round the body.
    stands: [f64; 2],
}

impl Asked<'_> {
    /// What is wrong with it, with sizes that have been tried by the same rules.
    fn judge(&self, feature: &Feature<'_>, frame: &Frame) -> Result<(), Problem> {
        let fits = |size: f64, depth: f64| {
            let [least, most] = (self.depths)(size);
            (least..=most).contains(&depth)
                && (self.also)(size)
                && (self.hollow)(size, depth).misfit(feature, frame).is_none()
        };
        let Some(misfit) = (self.hollow)(self.size, self.depth).misfit(feature, frame) else {
            return Ok(());
        };
        let path = |field: &str| format!("{}.{field}", feature.path);
        let narrower = || {
            let least = LEAST_SIZE.min(self.size);
            feature.most(least, self.size, |size| fits(size, self.depth))
        };
        let shallower = || {
            let least = LEAST_DEPTH.min(self.depth);
            feature.most(least, self.depth, |depth| fits(self.size, depth))
        };
        // Less of both, where neither alone will do.
        let both = || {
            const TRIED: i32 = 12;
            (1..TRIED).find_map(|i| {
                let depth = self.depth * (1.0 - f64::from(i) / f64::from(TRIED));
                let depth = feature.most(LEAST_DEPTH.min(depth), depth, |_| true)?;
                let least = LEAST_SIZE.min(self.size);
                let size = feature.most(least, self.size, |size| fits(size, depth))?;
                Some(format!(
                    "a depth of {} with {} {} would do",
                    feature.drawn.at_most(depth),
                    self.field,
                    (self.shown)(size / self.size)
                ))
            })
        };
        let by_depth = |what: String, hint: &str| {
            let mut problem =
                Problem::new(path("depth"), what).value(feature.drawn.show(self.depth));
            let hint = match (shallower(), narrower()) {
                (Some(fits), _) => {
                    problem = problem.limit(format_args!(
                        "up to {}, which leaves {}",
                        feature.drawn.at_most(fits),
                        feature.show(SKIN)
                    ));
                    hint.to_owned()
                }
                (None, Some(fits)) => format!(
                    "with {} {} this depth would do",
                    self.field,
                    (self.shown)(fits / self.size)
                ),
                _ => format!(
                    "no depth does with this {}: make it smaller too",
                    self.field
                ),
            };
            problem.hint(hint)
        };
        Err(match misfit {
            Misfit::Pair => {
                let [at, angle] = self.stands;
                let mut problem =
                    Problem::new(path("angle"), "the two of this pair run into each other")
                        .value(format!("{angle} degrees"));
                let turned = |angle: f64| {
                    let frame = feature.ground.frame(at, angle);
                    let hollow = (self.hollow)(self.size, self.depth);
                    hollow.misfit(feature, &frame).is_none()
                };
                // Towards the flank they are the farthest apart.
                if angle < 90.0 {
                    if let Some(fits) = degrees().least(angle, 90.0, turned) {
                        problem = problem.limit(format!("at least {fits:.2} degrees"));
                    }
                } else if let Some(fits) = degrees().most(90.0, angle, turned) {
                    problem = problem.limit(format!("at most {fits:.2} degrees"));
                }
                if problem.limit.is_none()
                    && let Some(fits) = narrower()
                {
                    problem = problem.limit(format!(
                        "with {} up to {} this angle would do",
                        self.field,
                        (self.shown)(fits / self.size)
                    ));
                }
                problem.hint("turn them towards the flanks, make them smaller, or write 0 or 180 for a single one")
            }
            Misfit::Wide | Misfit::Thin => {
                let what = match misfit {
                    Misfit::Wide => "this is wider than the body allows here: its rim hangs over",
                    _ => "this is so wide that too little is left beside it",
                };
                let mut problem = Problem::new(path(self.field), what).value((self.shown)(1.0));
                let ribs = on_ribs(feature, frame.origin.x, 0.5 * self.size);
                let mut hint = match (misfit, ribs) {
                    (Misfit::Thin, _) => "make it smaller or shallower, or move it".to_owned(),
                    (_, Some(i)) => {
                        format!("it stands on ribs[{i}]: make it deeper, or move it off them")
                    }
                    (_, None) => "make it smaller or deeper, or move it".to_owned(),
                };
                if let Some(fits) = narrower() {
                    problem =
                        problem.limit(format_args!("up to {}", (self.shown)(fits / self.size)));
                } else if let Some(less) = both() {
                    hint = less;
                }
                problem.hint(hint)
            }
            Misfit::Deep => {
                let hollow = (self.hollow)(self.size, self.depth);
                let left = if hollow.pair {
                    "between the two of the pair"
                } else {
                    "behind it"
                };
                by_depth(
                    format!("this is so deep that too little is left {left}"),
                    "make it shallower or smaller",
                )
            }
            Misfit::Bore(i) => by_depth(
                format!("this comes too near bore[{i}], which runs beneath it"),
                "make it shallower or smaller, or move one of the two",
            ),
        })
    }
}

pub(super) fn eyes(feature: &mut Feature<'_>, eyes: &EyesDesign) -> Result<(), Problem> {
    let frame = feature.ground.frame(eyes.at, eyes.angle);
    let pair = eyes.angle % 180.0 != 0.0;
    let (radius, depth) = (eyes.radius, eyes.depth);
    let drawn = feature.drawn;
    let shown = |by: f64| drawn.sized(2.0 * radius, by);
    let hollow = |size: f64, depth: f64| {
        let flat = circle(0.5 * size);
        match eyes.shape {
            EyeShape::Ball => {
                let rim = (depth * (size - depth)).max(0.0).sqrt();
                Hollow {
                    rim: circle(rim),
                    // Its floor is round: half as wide at three quarters of the depth.
                    floor: circle(0.5 * rim),
                    depth,
                    pair,
                    walls: true,
                }
            }
            _ => Hollow {
                rim: flat.clone(),
                floor: flat,
                depth,
                pair,
                walls: eyes.shape != EyeShape::Mark,
            },
        }
    };
    // Past the middle of a ball it would narrow again.
    let depths = |size: f64| match eyes.shape {
        EyeShape::Ball => [0.0, 0.5 * size],
        _ => [0.0, f64::INFINITY],
    };
    let place = &*feature;
    let ring = |size: f64| match eyes.shape {
        EyeShape::Ring { width, .. } => ring_stands(place, &frame, 0.5 * size + width),
        _ => true,
    };
    let asked = Asked {
        field: "diameter",
        shown: &shown,
        size: 2.0 * radius,
        depth,
        depths: &depths,
        hollow: &hollow,
        also: &ring,
        stands: [eyes.at, eyes.angle],
    };
    if depth > 0.0 {
        asked.judge(place, &frame)?;
    }
    match eyes.shape {
        EyeShape::Mark => {
            let dimple = dimple(&frame, feature.tolerance);
            let note = format!(
                "{}: marked with a dimple, to be drilled {} across and {} deep, square to the surface.",
                feature.path,
                feature.show(2.0 * radius),
                feature.show(depth)
            );
            feature.notes.push(note);
            feature.push(Effect::Cuts, dimple, pair);
        }
        EyeShape::Ball => {
            let centre = frame.at(0.0, 0.0, radius - depth);
            let ball = ball(radius, feature.tolerance).translated(&centre.coords);
            feature.push(Effect::Cuts, ball, pair);
        }
        EyeShape::Flat => {
            let cut = disc(&frame, radius, depth, OVER, feature.tolerance);
            feature.push(Effect::Cuts, cut, pair);
        }
        EyeShape::Ring { width, height } => {
            let sunk = depth > 0.0;
            let bead = bead(feature, &frame, radius, width, height, sunk)?;
            feature.push(Effect::Adds, bead, pair);
            if sunk {
                let cut = disc(&frame, radius, depth, height + OVER, feature.tolerance);
                feature.push(Effect::Cuts, cut, pair);
            }
        }
    }
    Ok(())
}

/// The set of ribs that a place is on, as far as `beside` it along the body.
fn on_ribs(feature: &Feature<'_>, x: f64, beside: f64) -> Option<usize> {
    let met = |ribs: &RibsDesign| x + beside > ribs.from && x - beside < ribs.to;
    feature.body().ribs.iter().position(met)
}

fn circle(radius: f64) -> Vec<[f64; 2]> {
    round(16).map(|p| p.map(|c| c * radius)).collect()
}

pub(super) fn pocket(feature: &mut Feature<'_>, pocket: &PocketDesign) -> Result<(), Problem> {
    let frame = feature.ground.frame(pocket.at, pocket.angle);
    let [length, width] = pocket.size;
    let shown = |by: f64| {
        if pocket.round {
            feature.drawn.sized(length, by)
        } else {
            format!(
                "{} by {}",
                feature.drawn.sized(length, by),
                feature.drawn.sized(width, by)
            )
        }
    };
    let hollow = |size: f64, depth: f64| {
        let outline = if pocket.round {
            circle(0.5 * size)
        } else {
            rectangle(pocket.size.map(|s| s * size / length), 0.0, 2)
        };
        Hollow {
            rim: outline.clone(),
            floor: outline,
            depth,
            pair: false,
            walls: pocket.how == Making::Cast,
        }
    };
    let asked = Asked {
        field: if pocket.round { "diameter" } else { "length" },
        shown: &shown,
        size: length,
        depth: pocket.depth,
        depths: &|_| [0.0, f64::INFINITY],
        hollow: &hollow,
        also: &|_| true,
        stands: [pocket.at, pocket.angle],
    };
    asked.judge(feature, &frame)?;
    if pocket.how == Making::Marked {
        let note = format!(
            "{}: its middle is marked with a dimple; to be cut {} wide and {} deep.",
            feature.path,
            shown(1.0),
            feature.show(pocket.depth)
        );
        feature.notes.push(note);
        let dimple = dimple(&frame, feature.tolerance);
        feature.push(Effect::Cuts, dimple, false);
        return Ok(());
    }
    let cut = if pocket.round {
        disc(&frame, 0.5 * length, pocket.depth, OVER, feature.tolerance)
    } else {
        let wider = 2.0 * draft() * (pocket.depth + OVER);
        let round = Section::new(2.0);
        let mut quarter = 2;
        while round.sag(quarter) * (CORNER + wider) > feature.tolerance && quarter < 32 {
            quarter += 1;
        }
        let corner = CORNER.min(0.25 * length.min(width));
        frame.placed(stack(&[
            (-pocket.depth, rectangle(pocket.size, corner, quarter)),
            (
                OVER,
                rectangle(
                    pocket.size.map(|s| s + wider),
                    corner + 0.5 * wider,
                    quarter,
                ),
            ),
        ]))
    };
    feature.push(Effect::Cuts, cut, false);
    Ok(())
}

/// A round recess with its draft.
fn disc(frame: &Frame, radius: f64, depth: f64, over: f64, tolerance: f64) -> Mesh {
    let corners = [(-depth, radius), (over, radius + draft() * (depth + over))];
    frame.placed(turned(&corners, tolerance))
}

/// Whether the surface falls away so little that a ring of this outer radius stands on it:
/// more steeply than half from the middle, it would stand on edge.
fn ring_stands(feature: &Feature<'_>, frame: &Frame, outer: f64) -> bool {
    round(16).all(|[c, s]| {
        let fall = feature.ground.below(frame, outer * c, outer * s);
        fall.is_some_and(|fall| fall.abs() <= 0.5 * outer)
    })
}

/// The bead of a raised ring, following the surface. With a recess inside, it begins within
/// that, whose wall then cuts it.
fn bead(
    feature: &Feature<'_>,
    frame: &Frame,
    radius: f64,
    width: f64,
    height: f64,
    sunk: bool,
) -> Result<Mesh, Problem> {
    let inner = if sunk { radius - 0.5 * width } else { radius };
    let outer = radius + width;
    let middle = 0.5 * (inner + outer);
    let fall = |r: f64, [c, s]: [f64; 2]| feature.ground.below(frame, r * c, r * s);
    let fits = |size: f64| ring_stands(feature, frame, 0.5 * size + width);
    if !fits(2.0 * radius) {
        let mut problem = Problem::new(
            format!("{}.diameter", feature.path),
            "this ring is wider than the body allows here",
        )
        .value(feature.drawn.show(2.0 * radius));
        let least = LEAST_SIZE.min(2.0 * radius);
        if let Some(fits) = feature.most(least, 2.0 * radius, fits) {
            problem = problem.limit(format_args!("up to {}", feature.drawn.at_most(fits)));
        }
        let hint = match on_ribs(feature, frame.origin.x, outer) {
            Some(i) => format!("it stands on ribs[{i}]: make it smaller or move it off them"),
            None => "make it smaller or move it".to_owned(),
        };
        return Err(problem.hint(hint));
    }
    let slope = round(16)
        .filter_map(|p| Some((fall(outer, p)? - fall(inner, p)?).abs()))
        .fold(0.0, f64::max);
    let root = -(ROOT + slope);
    const ARC: usize = 8;
    // Counter-clockwise with x to the right and the radius up.
    let mut profile = vec![(root, inner)];
    for (i, [c, s]) in round(2 * ARC).take(ARC + 1).enumerate() {
        let out = if i == 0 || i == ARC { 0.0 } else { height * s };
        profile.push((out, middle - 0.5 * (outer - inner) * c));
    }
    profile.push((root, outer));
    let section = Section::new(2.0);
    let mut quarter = 4;
    while section.sag(quarter) * outer > feature.tolerance && quarter < 64 {
        quarter += 1;
    }
    let mesh = band(&profile, quarter, |p| -fall(middle, p).unwrap_or(0.0));
    Ok(frame.placed(mesh))
}

/// A rectangle with rounded corners about the origin, counter-clockwise, with points on
/// both its axes.
fn rectangle(size: [f64; 2], corner: f64, quarter: usize) -> Vec<[f64; 2]> {
    let [a, b] = size.map(|s| 0.5 * s);
    let mut first = vec![[a, 0.0]];
    if corner > 0.0 {
        let arc = Section::circle(quarter);
        first.extend(
            arc.iter()
                .map(|[c, s]| [a - corner + corner * c, b - corner + corner * s]),
        );
    } else {
        first.push([a, b]);
    }
    first.push([0.0, b]);
    let inner = first.len() - 1;
    let mut points = first[..inner].to_vec();
    points.extend(first[1..].iter().rev().map(|[u, v]| [-u + 0.0, *v]));
    points.extend(first[..inner].iter().map(|[u, v]| [-u + 0.0, -v + 0.0]));
    points.extend(first[1..].iter().rev().map(|[u, v]| [*u, -v + 0.0]));
    points
}

/// Outlines one over the other as a solid about the x axis, (x, [y, z]) counter-clockwise
/// seen from +x, by rising x; closed by flat faces.
fn stack(layers: &[(f64, Vec<[f64; 2]>)]) -> Mesh {
    let mut mesh = Mesh::default();
    let n = layers[0].1.len();
    for (x, outline) in layers {
        mesh.points
            .extend(outline.iter().map(|[y, z]| Point3::new(*x, *y, *z)));
    }
    let at = |layer: usize, k: usize| (layer * n + k % n) as u32;
    for layer in 1..layers.len() {
        for k in 0..n {
            let [p, q] = [at(layer - 1, k), at(layer - 1, k + 1)];
            let [r, s] = [at(layer, k + 1), at(layer, k)];
            mesh.triangles.extend([[p, q, r], [p, r, s]]);
        }
    }
    let last = layers.len() - 1;
    for (layer, up) in [(0, false), (last, true)] {
        let centre = mesh.points.len() as u32;
        mesh.points.push(Point3::new(layers[layer].0, 0.0, 0.0));
        for k in 0..n {
            let (p, q) = (at(layer, k), at(layer, k + 1));
            mesh.triangles
                .push(if up { [centre, p, q] } else { [centre, q, p] });
        }
    }
    mesh
}
