//! Recesses square to the surface: eyes and pockets.

use super::Feature;
use crate::body::ground::{Frame, Ground, SKIN, most, round};
use crate::body::master::Effect;
use crate::curve::Section;
use crate::mesh::Mesh;
use crate::mesh::turned::{band, turned};
use crate::spec::{EyeShape, EyesDesign, Making, PocketDesign, Problem};

use super::ball;

/// Walls open outward by 3° a side, so that what is cast in a recess lets go (common practice).
const DRAFT: f64 = 3.0;
/// How far cuts reach over the surface, in mm.
const OVER: f64 = 1.0;
/// How far what is added is rooted, in mm.
const ROOT: f64 = 1.0;
/// The surface may fall away at the rim of a recess by this share of its depth: the rest
/// is wall.
const FALL: f64 = 0.75;
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

/// A hollow as seen along its frame: points of its floor's outline.
struct Hollow {
    outline: Vec<[f64; 2]>,
    depth: f64,
    pair: bool,
}

impl Hollow {
    fn scaled(&self, by: f64) -> Self {
        Hollow {
            outline: self.outline.iter().map(|p| p.map(|c| c * by)).collect(),
            ..*self
        }
    }

    /// Whether the surface falls away at the rim by less than the walls are high.
    fn has_walls(&self, ground: &Ground<'_>, frame: &Frame) -> bool {
        self.outline.iter().all(|&[u, v]| {
            ground
                .below(frame, u, v)
                .is_some_and(|fall| fall.abs() <= FALL * self.depth)
        })
    }

    /// Whether enough is left beneath a floor this deep, and between the two of a pair.
    fn leaves_skin(&self, ground: &Ground<'_>, frame: &Frame, depth: f64) -> bool {
        self.outline.iter().chain(&[[0.0; 2]]).all(|&[u, v]| {
            let floor = frame.at(u, v, -depth);
            let apart = !self.pair || floor.y >= 0.5 * SKIN;
            apart && ground.holds(&frame.at(u, v, -depth - SKIN))
        })
    }

    /// Whether the rims of a pair keep clear of each other.
    fn keeps_apart(&self, frame: &Frame) -> bool {
        !self.pair
            || self
                .outline
                .iter()
                .all(|&[u, v]| frame.at(u, v, 0.0).y >= 0.5 * SKIN)
    }

    /// What is wrong with it; `size` names the field and shows the size times a factor.
    fn judge(
        &self,
        feature: &Feature<'_>,
        frame: &Frame,
        field: &str,
        size: impl Fn(f64) -> String,
    ) -> Result<(), Problem> {
        let ground = feature.ground;
        if !self.keeps_apart(frame) {
            return Err(Problem::new(
                format!("{}.angle", feature.path),
                "the two of this pair run into each other",
            )
            .hint("turn them towards the flanks, make them smaller, or write 0 or 180 for a single one"));
        }
        if !self.has_walls(ground, frame) {
            let fits = most(0.02, 1.0, |by| self.scaled(by).has_walls(ground, frame));
            let mut problem = Problem::new(
                format!("{}.{field}", feature.path),
                "this is wider than the body allows here: its rim hangs over",
            )
            .value(size(1.0));
            if let Some(fits) = fits {
                problem = problem.limit(format_args!("up to {}", size(fits)));
            }
            return Err(problem.hint("make it smaller or deeper, or move it"));
        }
        if !self.leaves_skin(ground, frame, self.depth) {
            let fits = most(0.0, self.depth, |d| self.leaves_skin(ground, frame, d));
            let what = if self.pair {
                "this is so deep that too little is left between the two of the pair"
            } else {
                "this is so deep that too little is left behind it"
            };
            let mut problem = Problem::new(format!("{}.depth", feature.path), what)
                .value(feature.show(self.depth));
            if let Some(fits) = fits {
                problem = problem.limit(format_args!(
                    "up to {}, which leaves {}",
                    feature.show(fits),
                    feature.show(SKIN)
                ));
            }
            return Err(problem.hint("make it shallower or smaller"));
        }
        Ok(())
    }
}

pub(super) fn eyes(feature: &mut Feature<'_>, eyes: &EyesDesign) -> Result<(), Problem> {
    let frame = feature.ground.frame(eyes.at, eyes.angle);
    let pair = eyes.angle % 180.0 != 0.0;
    let (radius, depth) = (eyes.radius, eyes.depth);
    let circle = |r: f64| -> Vec<[f64; 2]> { round(16).map(|p| p.map(|c| c * r)).collect() };
    let size = |by: f64| feature.show(2.0 * radius * by);
    let hollow = |r: f64| Hollow {
        outline: circle(r),
        depth,
        pair,
    };
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
            let rim = (depth * (2.0 * radius - depth)).sqrt();
            // Its floor is round: half as wide at three quarters of the depth.
            let mut floor = hollow(0.5 * rim);
            hollow(rim).judge_rim(feature, &frame, rim / radius)?;
            floor.depth = depth;
            floor.judge(feature, &frame, "diameter", size)?;
            let centre = frame.at(0.0, 0.0, radius - depth);
            let ball = ball(radius, feature.tolerance).translated(&centre.coords);
            feature.push(Effect::Cuts, ball, pair);
        }
        EyeShape::Flat => {
            hollow(radius).judge(feature, &frame, "diameter", size)?;
            let cut = disc(&frame, radius, depth, OVER, feature.tolerance);
            feature.push(Effect::Cuts, cut, pair);
        }
        EyeShape::Ring { width, height } => {
            let sunk = depth > 0.0;
            if sunk {
                hollow(radius).judge(feature, &frame, "diameter", size)?;
            }
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

impl Hollow {
    /// For a ball: the surface must not fall away further than the ball's own wall does.
    fn judge_rim(&self, feature: &Feature<'_>, frame: &Frame, share: f64) -> Result<(), Problem> {
        let size = |by: f64| feature.show(2.0 * self.outline[0][0] / share * by);
        let rim = Hollow {
            outline: self.outline.clone(),
            ..*self
        };
        if rim.keeps_apart(frame) && rim.has_walls(feature.ground, frame) {
            return Ok(());
        }
        // Only what concerns the rim comes out of this.
        rim.judge(feature, frame, "diameter", size)
    }
}

pub(super) fn pocket(feature: &mut Feature<'_>, pocket: &PocketDesign) -> Result<(), Problem> {
    let frame = feature.ground.frame(pocket.at, pocket.angle);
    let [length, width] = pocket.size;
    let size = |by: f64| {
        if pocket.round {
            feature.show(length * by)
        } else {
            format!(
                "{} by {}",
                feature.show(length * by),
                feature.show(width * by)
            )
        }
    };
    if pocket.how == Making::Marked {
        let note = format!(
            "{}: its middle is marked with a dimple; to be cut {} wide and {} deep.",
            feature.path,
            size(1.0),
            feature.show(pocket.depth)
        );
        feature.notes.push(note);
        let dimple = dimple(&frame, feature.tolerance);
        feature.push(Effect::Cuts, dimple, false);
        return Ok(());
    }
    let (outline, field) = if pocket.round {
        let outline = round(16).map(|p| p.map(|c| 0.5 * c * length)).collect();
        (outline, "diameter")
    } else {
        (rectangle(pocket.size, 0.0, 2), "length")
    };
    let hollow = Hollow {
        outline,
        depth: pocket.depth,
        pair: false,
    };
    hollow.judge(feature, &frame, field, size)?;
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
    // Steeper than this from the middle, the ring would stand on edge.
    let fits = |by: f64| {
        round(16).all(|p| fall(outer * by, p).is_some_and(|f| f.abs() <= 0.5 * outer * by))
    };
    if !fits(1.0) {
        let mut problem = Problem::new(
            format!("{}.diameter", feature.path),
            "this ring is wider than the body allows here",
        )
        .value(feature.show(2.0 * radius));
        if let Some(by) = most(0.02, 1.0, fits) {
            problem = problem.limit(format_args!("up to {}", feature.show(2.0 * radius * by)));
        }
        return Err(problem.hint("make it smaller or move it"));
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
    use nalgebra::Point3;
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
