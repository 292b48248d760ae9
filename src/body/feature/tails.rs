//! Tails: paddle and taper; curls and forks have files of their own.

use std::cell::OnceCell;

use nalgebra::{Point3, Vector3};

use super::curls::slimmest_stem;
use super::root::{FACE, Half, Root, Tangent, burial, drawn_end, flattened, leaves, tangent};
use super::strand::{Size, Strand, Tip};
use super::{Drawn, Effect, Feature, Tool, push};
use crate::body::Body;
use crate::body::ground::most;
use crate::body::place::sin_cos;
use crate::mesh::Mesh;
use crate::mesh::plate::plate;
use crate::spec::{PaddleDesign, Problem, TailDesign, TaperDesign};

/// A root that the body chooses is this share of the body there.
const EASY: f64 = 0.85;
/// Least gap between a tail and the body it comes back to, in mm (reasoned).
pub(super) const GAP: f64 = 0.5;
/// The least thickness that a spec may ask for.
pub(super) const LEAST_PLATE: f64 = 0.4;
/// Share of the tolerance that chords of an outline may stand off.
pub(super) const SHARE: f64 = 0.5;

/// The axes of what stands behind a body: at the end of its spine, and along it.
#[derive(Clone, Copy)]
pub(super) struct Behind {
    end: Point3<f64>,
    /// Cosine and sine of the spine's rise there.
    heading: [f64; 2],
}

impl Behind {
    pub(super) fn new(body: &Body) -> Self {
        let length = body.length();
        let rise = body.spine(length);
        let slope = body.slope_behind();
        let along = libm::hypot(1.0, slope);
        Behind {
            end: Point3::new(length, 0.0, rise),
            heading: [1.0 / along, slope / along],
        }
    }

    /// A point that was laid out behind a straight body.
    pub(super) fn point(&self, p: Point3<f64>) -> Point3<f64> {
        let [cos, sin] = self.heading;
        if sin == 0.0 && self.end.z == 0.0 {
            return p;
        }
        let x = p.x - self.end.x;
        Point3::new(
            self.end.x + cos * x - sin * p.z,
            p.y,
            self.end.z + sin * x + cos * p.z,
        )
    }

    pub(super) fn mesh(&self, mut mesh: Mesh) -> Mesh {
        for p in &mut mesh.points {
            *p = self.point(*p);
        }
        mesh
    }
}

/// What a tail is added to.
pub(super) struct Site<'a> {
    pub(super) path: &'a str,
    pub(super) body: &'a Body,
    pub(super) tolerance: f64,
    pub(super) drawn: Drawn,
    /// Found once: a scan is slow to cut.
    drawn_end: OnceCell<Half>,
}

/// Where a tail's kind stands in the spec.
pub(super) fn path(tail: &TailDesign) -> &'static str {
    match tail {
        TailDesign::Paddle(_) => "tail.paddle",
        TailDesign::Curl(_) => "tail.curl",
        TailDesign::Fork(_) => "tail.fork",
        TailDesign::Taper(_) => "tail.taper",
    }
}

pub(super) fn add(feature: &mut Feature<'_>, tail: &TailDesign) -> Result<(), Problem> {
    let mut tools = Vec::new();
    let site = Site {
        path: path(tail),
        body: feature.body(),
        tolerance: feature.tolerance,
        drawn: feature.drawn,
        drawn_end: OnceCell::new(),
    };
    let (thickness, at) = match tail {
        TailDesign::Paddle(t) => site.paddle(t, &mut tools)?,
        TailDesign::Curl(t) => site.curl(t, &mut tools)?,
        TailDesign::Fork(t) => site.fork(t, &mut tools)?,
        TailDesign::Taper(t) => site.taper(t, &mut tools)?,
    };
    let behind = Behind::new(feature.body());
    let note = site.root_stands_out(tail);
    feature.notes.extend(note);
    for tool in tools {
        feature.push(Effect::Adds, behind.mesh(tool.mesh), false);
    }
    feature.thinnest(thickness, behind.point(at));
    Ok(())
}

impl Site<'_> {
    /// A root as asked for, or as the body allows up to `wanted`: then it is flattened to the
    /// body, as far as `easy`. Sizes are halves of heights; the field named is the one that
    /// roots are no thinner than. `stretch` makes height and width of a size.
    pub(super) fn root(
        &self,
        asked: Option<f64>,
        wanted: f64,
        (field, least): (&str, f64),
        easy: f64,
        stretch: [f64; 2],
    ) -> Result<Root, Problem> {
        let of = |size: f64| half_axes(size, stretch);
        let held = |size: f64| {
            let half = of(size);
            let depth = burial(self.body, half[0], half[2])?;
            Some(Root { half, depth })
        };
        if let Some(root) = asked.and_then(held) {
            return Ok(root);
        }
        let thinnest = [easy, least]
            .into_iter()
            .find(|&thin| held(thin / EASY).is_some());
        if asked.is_none()
            && let Some(thinnest) = thinnest
        {
            let thinnest = thinnest.min(wanted);
            // What is drawn by stations is kept as it is drawn: the root comes out behind the last.
            let drawn = self.drawn_end.get_or_init(|| drawn_end(self.body));
            let fits = |size: f64| {
                let (wanted, least) = (of(size), of(thinnest));
                let kept = [0, 1, 2].map(|k| wanted[k].min(drawn[k]).max(least[k]));
                flattened(self.body, kept, least)
            };
            let chosen = fits(wanted).or_else(|| {
                let most = most(thinnest, wanted, |size| fits(size).is_some())?;
                fits((EASY * most).max(thinnest))
            });
            if let Some(root) = chosen {
                return Ok(root);
            }
        }
        let size = asked.unwrap_or(wanted);
        let most = most(0.0, size, |size| held(size).is_some()).unwrap_or(0.0);
        let (field, size, fits) = match asked {
            Some(size) if most >= least => ("root", size, most),
            // Whatever the root, it is no thinner than this.
            _ => (field, least, EASY * most),
        };
        let what = if field == "root" {
            "the root of this tail is thicker than the body is near its end"
        } else {
            "this needs a root that is thicker than the body is near its end"
        };
        Err(Problem::new(format!("{}.{field}", self.path), what)
            .value(self.drawn.show(2.0 * size))
            .limit(format!(
                "at most {} on this body",
                self.drawn.at_most(2.0 * fits)
            ))
            .hint("make the tail thinner or the body's end thicker"))
    }

    /// What the maker of a spec should know of a tail's root: where one of theirs comes out of the
    /// body's back and belly, or its sides, before it is all out; and where a taper that chose its
    /// own begins.
    fn root_stands_out(&self, tail: &TailDesign) -> Option<String> {
        if let TailDesign::Taper(t) = tail
            && let Some(found) = self.grown(t)
        {
            return Some(self.told_grown(&found));
        }
        let (asked, least, stretch) = match tail {
            TailDesign::Paddle(t) => (t.root, t.joint, [1.0, 1.0]),
            TailDesign::Curl(t) => (t.root, slimmest_stem(t), [1.0, 1.0]),
            TailDesign::Taper(t) => (t.root, t.tip, [1.0, t.width]),
            TailDesign::Fork(t) => return self.fork_stands_out(t),
        };
        let root = asked?;
        // Where it does by most, and by how much.
        let out = |size: f64| {
            let wanted = half_axes(size, stretch);
            let least = half_axes(least.min(size), stretch);
            let fit = flattened(self.body, wanted, least)?;
            let out = (0..3).map(|k| (k, wanted[k] - fit.half[k]));
            let most = out.max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))?;
            (most.1 > self.tolerance).then_some(most.0)
        };
        let axis = out(root)?;
        let fits = self.drawn.most(least, root, |size| out(size).is_none());
        let half = half_axes(root, stretch)[axis];
        let told = self.told_out(root, half, axis, fits);
        Some(told + " Left out, it is made as flat as the body.")
    }

    /// That a root comes out of the back (axis 0), the belly (1) or the sides (2) so deep before the
    /// body's end, and the greatest that does not.
    pub(super) fn told_out(&self, root: f64, half: f64, axis: usize, fits: Option<f64>) -> String {
        let [up, down] = [0, 1].map(|axis| leaves(self.body, half, axis));
        let alike = up
            .zip(down)
            .is_some_and(|(a, b)| (a - b).abs() < self.tolerance);
        let at = match axis {
            0 | 1 if alike => "its back and belly",
            0 => "its back",
            1 => "its belly",
            _ => "its sides",
        };
        let place = leaves(self.body, half, axis).map_or(String::new(), |depth| {
            let at = self.drawn.units.show(self.end() - depth);
            format!(" {at} from the nose")
        });
        let drawn = if self.drawn.scale == 1.0 {
            ""
        } else {
            " as drawn"
        };
        let limit = fits.map_or(String::new(), |fits| {
            let fits = self.drawn.at_most(2.0 * fits);
            format!("; one of at most {fits}{drawn} does not")
        });
        format!(
            "{}.root: with {}{drawn} the root comes out of {at}{place}, before the body ends{limit}.",
            self.path,
            self.drawn.show(2.0 * root)
        )
    }

    /// Whether a point laid out behind a straight body keeps its gap to the body.
    pub(super) fn is_clear(&self, behind: &Behind, p: Point3<f64>) -> bool {
        let p = behind.point(p);
        [
            [0.0, 0.0, 0.0],
            [-GAP, 0.0, 0.0],
            [0.0, GAP, 0.0],
            [0.0, -GAP, 0.0],
            [0.0, 0.0, GAP],
            [0.0, 0.0, -GAP],
        ]
        .iter()
        .all(|&d| !self.body.holds(&(p + Vector3::from(d)), 0.0))
    }

    /// Where the body ends.
    pub(super) fn end(&self) -> f64 {
        self.body.length()
    }

    fn paddle(
        &self,
        t: &PaddleDesign,
        tools: &mut Vec<Tool>,
    ) -> Result<(f64, Point3<f64>), Problem> {
        let joint = t.joint;
        let root = self.root(t.root, 1.5 * joint, ("joint", joint), joint, [1.0, 1.0])?;
        let (sin, cos) = sin_cos(t.angle);
        // The disc's plane, from its lower to its upper edge.
        let plane = [cos, sin];
        self.disc_is_clear(t, plane)?;
        let x = self.end();
        let neck = Strand {
            root: root.depth,
            length: t.neck,
            spine: &|s| ([x + s, 0.0], [1.0, 0.0]),
            size: &|s| {
                let part = (s / t.neck).clamp(0.0, 1.0);
                // Smooth from root to joint, level at both.
                let part = part * part * (3.0 - 2.0 * part);
                let [up, down, aside] = root.half.map(|root| root + (joint - root) * part);
                Size {
                    along: [up, down],
                    across: aside,
                    lens: 0.0,
                }
            },
            tip: Tip::Flat(plane),
        };
        push(
            tools,
            self.path,
            Effect::Adds,
            neck.mesh(self.tolerance),
            false,
        );

        // A round plate, turned so that its own z runs up the disc's plane.
        let rim = disc(t.radius, self.tolerance);
        let mut disc = plate(&rim, t.thickness, 0.5 * t.thickness, self.tolerance)
            .map_err(|e| Problem::new(self.path, format!("this disc cannot be made: {e}")))?;
        let (up, back) = (
            Vector3::new(plane[0], 0.0, plane[1]),
            Vector3::new(plane[1], 0.0, -plane[0]),
        );
        let middle = Point3::new(x + t.neck, 0.0, 0.0);
        for p in &mut disc.points {
            // In the plate the disc lies in x and z: x becomes y, z up, y backward.
            let q = middle + up * p.z + back * p.y;
            *p = Point3::new(q.x, -p.x + 0.0, q.z);
        }
        push(tools, self.path, Effect::Adds, disc, false);
        let joint = Point3::new(x + t.neck - 0.5 * t.thickness, 0.0, 0.0);
        Ok(if t.thickness < 2.0 * t.joint {
            let edge = middle + up * t.radius;
            (t.thickness, edge)
        } else {
            (2.0 * t.joint, joint)
        })
    }

    /// The disc must keep clear of the body, to which it may lean.
    fn disc_is_clear(&self, t: &PaddleDesign, plane: [f64; 2]) -> Result<(), Problem> {
        // Bands from the middle of the disc to its rim, where the body may come through it.
        const BANDS: usize = 6;
        let behind = Behind::new(self.body);
        let clear = |neck: f64| {
            (1..=BANDS).all(|band| {
                let share = band as f64 / BANDS as f64;
                (0..32).all(|k| {
                    let (s, c) = sin_cos(11.25 * f64::from(k));
                    let (side, up) = (share * t.radius * c, share * t.radius * s);
                    // Its rim is round: half as thick there.
                    let half = 0.5 * t.thickness * if band == BANDS { 0.5 } else { 1.0 };
                    [-half, half].iter().all(|d| {
                        let p = Point3::new(
                            self.end() + neck + up * plane[0] + d * plane[1],
                            side,
                            up * plane[1] - d * plane[0],
                        );
                        p.x > self.end() + FAR || self.is_clear(&behind, p)
                    })
                })
            })
        };
        // On a bowed body what lies behind the end of a straight one may still meet it.
        const FAR: f64 = 50.0;
        if clear(t.neck) {
            return Ok(());
        }
        let mut problem = Problem::new(
            "tail.paddle.neck",
            "the disc would stand in the body, or too near it",
        )
        .value(self.drawn.show(t.neck));
        let longest = t.neck + 2.0 * t.radius + t.thickness + GAP;
        // From the longest down.
        if let Some(less) = most(0.0, longest - t.neck, |less| clear(longest - less)) {
            problem = problem.limit(format!(
                "at least {} for this disc",
                self.drawn.at_least(longest - less)
            ));
        }
        Err(problem.hint("make the neck longer, the disc smaller or steeper"))
    }

    /// The root of a taper that goes on as the body ends, where it may choose one and there is one.
    fn grown(&self, t: &TaperDesign) -> Option<Tangent> {
        if t.root.is_some() {
            return None;
        }
        tangent(
            self.body,
            t.length - t.tip,
            half_axes(t.tip, [1.0, t.width]),
        )
    }

    /// Where a taper leaves the body that it goes on from.
    fn told_grown(&self, found: &Tangent) -> String {
        // As it is made, as all that is told of a bait.
        let show = |mm: f64| self.drawn.units.show(mm);
        // At a flat end it begins at that.
        let place = |depth: f64| if depth <= FACE { 0.0 } else { depth };
        let [up, down, aside] = found.leaves.map(|depth| self.end() - place(depth));
        let [height, width] = [found.half[0] + found.half[1], 2.0 * found.half[2]].map(show);
        let alike = |a: f64, b: f64| (a - b).abs() < self.tolerance;
        let begins = match (alike(up, down), alike(up, aside)) {
            (true, true) => format!("begins {} from the nose", show(up)),
            (true, false) => format!(
                "leaves back and belly {} from the nose and the sides {}",
                show(up),
                show(aside)
            ),
            (false, _) => format!(
                "leaves the back {} from the nose, the belly {} and the sides {}",
                show(up),
                show(down),
                show(aside)
            ),
        };
        format!(
            "{}.root, left out, is where straight lines from the tip touch the body: the taper {begins}, \
             {height} high and {width} wide.",
            self.path
        )
    }

    fn taper(&self, t: &TaperDesign, tools: &mut Vec<Tool>) -> Result<(f64, Point3<f64>), Problem> {
        let (straight, tip) = (t.length - t.tip, half_axes(t.tip, [1.0, t.width]));
        let found = match self.grown(t) {
            Some(found) => found,
            None => {
                let greatest = self
                    .body
                    .back
                    .greatest()
                    .1
                    .max(self.body.belly.greatest().1);
                let stretch = [1.0, t.width];
                let root = self.root(t.root, greatest, ("tip", t.tip), t.tip, stretch)?;
                Tangent {
                    half: root.half,
                    leaves: [0.0; 3],
                    depth: root.depth,
                }
            }
        };
        let x = self.end();
        let strand = Strand {
            root: found.depth,
            length: t.length,
            spine: &|s| ([x + s, 0.0], [1.0, 0.0]),
            size: &|s| {
                let [up, down, across] = [0, 1, 2].map(|k| {
                    let (from, to, before) = (found.half[k], tip[k], found.leaves[k]);
                    let part = ((s + before) / (straight + before)).clamp(0.0, 1.0);
                    from + (to - from) * part
                });
                Size {
                    along: [up, down],
                    across,
                    lens: 0.0,
                }
            },
            tip: Tip::Round(t.tip),
        };
        push(
            tools,
            self.path,
            Effect::Adds,
            strand.mesh(self.tolerance),
            false,
        );
        let thin = 2.0 * t.tip * t.width.min(1.0);
        Ok((thin, Point3::new(x + t.length - t.tip, 0.0, 0.0)))
    }
}

/// The half-axes of a section by a size and what its height and width are times as large.
fn half_axes(size: f64, [height, width]: [f64; 2]) -> Half {
    [size * height, size * height, size * width]
}

/// The rim of a disc; its chords straddle the circle.
pub(super) fn disc(radius: f64, tolerance: f64) -> Vec<[f64; 2]> {
    const LEAST: f64 = 12.0;
    let share = (SHARE * tolerance / radius).min(1.0);
    let half = libm::acos(1.0 - share);
    let quarter = libm::ceil(0.25 * std::f64::consts::PI / half).max(LEAST) as u32;
    let n = 4 * quarter;
    let out = 1.0 + 0.25 * (1.0 - libm::cos(std::f64::consts::PI / f64::from(n)));
    (0..n)
        .map(|k| {
            let (s, c) = sin_cos(360.0 * f64::from(k) / f64::from(n));
            [out * radius * c, out * radius * s]
        })
        .collect()
}
