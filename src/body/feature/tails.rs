//! Tails: paddle, fork, taper; curls have a file of their own.

use nalgebra::{Point3, Vector3};

use super::curls::slimmest_stem;
use super::root::{
    Half, ROOT, Root, Tangent, bar_burial, burial, drawn_end, flattened, flush, leaves, tangent,
};
use super::strand::{Size, Strand, Tip};
use super::{Drawn, Effect, Feature, Tool, push};
use crate::body::Body;
use crate::body::ground::most;
use crate::body::place::sin_cos;
use crate::mesh::Mesh;
use crate::mesh::plate::plate;
use crate::spec::{ForkDesign, PaddleDesign, Plane, Problem, TailDesign, TaperDesign};

/// A root that the body chooses is this share of the body there.
const EASY: f64 = 0.85;
/// Least gap between a tail and the body it comes back to, in mm (reasoned).
pub(super) const GAP: f64 = 0.5;
/// The least thickness that a spec may ask for.
const LEAST_PLATE: f64 = 0.4;
/// Share of the tolerance that chords of an outline may stand off.
const SHARE: f64 = 0.5;

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
            let drawn = drawn_end(self.body);
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
        let told = self.told_out(root, leaves(self.body, half, axis), axis, fits);
        Some(told + " Left out, it is made as flat as the body.")
    }

    /// That a root comes out of the back (axis 0), the belly (1) or the sides (2) so deep before the
    /// body's end, and the greatest that does not.
    fn told_out(&self, root: f64, depth: Option<f64>, axis: usize, fits: Option<f64>) -> String {
        let body = self.body;
        let alike = body.back == body.belly;
        let at = match axis {
            0 | 1 if alike => "its back and belly",
            0 => "its back",
            1 => "its belly",
            _ => "its sides",
        };
        let place = depth.map_or(String::new(), |depth| {
            format!(" {} from the nose", self.drawn.show(self.end() - depth))
        });
        let limit = fits.map_or(String::new(), |fits| {
            let fits = self.drawn.at_most(2.0 * fits);
            format!("; one of at most {fits} does not")
        });
        format!(
            "{}.root: with {} the root comes out of {at}{place}, before the body ends{limit}.",
            self.path,
            self.drawn.show(2.0 * root)
        )
    }

    /// The same of a fork's root, which may be the one that it chose.
    fn fork_stands_out(&self, t: &ForkDesign) -> Option<String> {
        let half = 0.5 * t.thickness;
        let (root, _) = fork_root(self.body, t)?;
        let axes = |size: f64| fork_axes(t.plane, size, half);
        let least = slimmest(half).min(root);
        let fits = flush(self.body, [least, root], axes)?;
        if root - fits <= self.tolerance {
            return None;
        }
        let axis = match t.plane {
            Plane::Upright if self.slimmer_belly() => 1,
            Plane::Upright => 0,
            Plane::Flat => 2,
        };
        Some(self.told_out(root, leaves(self.body, root, axis), axis, Some(fits)))
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

    /// Whether the belly is slimmer than the back where a root would be.
    fn slimmer_belly(&self) -> bool {
        let x = self.end() - ROOT;
        self.body.belly.height(x) < self.body.back.height(x)
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

    fn fork(&self, t: &ForkDesign, tools: &mut Vec<Tool>) -> Result<(f64, Point3<f64>), Problem> {
        let half = 0.5 * t.thickness;
        let (root, depth) = fork_root(self.body, t).ok_or_else(|| self.fork_is_too_large(t))?;
        let x = self.end();
        let tip = 0.5 * t.span;
        let outline = fork_plate(t, (root, depth), self.tolerance);
        let mut mesh = plate(&outline, t.thickness, half, self.tolerance)
            .map_err(|_| self.fork_is_too_narrow(t))?;
        mesh = mesh.translated(&Vector3::new(x, 0.0, 0.0));
        if t.plane == Plane::Flat {
            for p in &mut mesh.points {
                *p = Point3::new(p.x, -p.z + 0.0, p.y);
            }
        }
        push(tools, self.path, Effect::Adds, mesh, false);
        let [a, b] = [x + t.length, tip];
        let at = match t.plane {
            Plane::Upright => Point3::new(a, 0.0, b),
            Plane::Flat => Point3::new(a, b, 0.0),
        };
        Ok((t.thickness.min(2.0 * root), at))
    }

    /// A fork whose plate is narrower somewhere than its round rim, most often between root and
    /// notch: with the one of its sizes that would do.
    fn fork_is_too_narrow(&self, t: &ForkDesign) -> Problem {
        let does = |t: ForkDesign| {
            fork_root(self.body, &t).is_some_and(|found| {
                let outline = fork_plate(&t, found, self.tolerance);
                plate(&outline, t.thickness, 0.5 * t.thickness, self.tolerance).is_ok()
            })
        };
        let problem = |field: &str, value: f64, limit: String| {
            let path = format!("tail.fork.{field}");
            let value = self.drawn.of(&path).show(value);
            let what =
                "this fork is too narrow somewhere for its round rim, half as wide as it is thick";
            Problem::new(path, what)
                .value(value)
                .limit(limit)
                .hint("a shallower notch, a larger root, or a thinner fork")
        };
        let root = t.root.and_then(|root| {
            let more = |half: f64| {
                let root = Some(half);
                does(ForkDesign { root, ..*t })
            };
            let least = self.drawn.least(root, 0.5 * t.span, more)?;
            Some((root, least))
        });
        let shallower = || {
            self.drawn
                .most(0.0, t.notch, |notch| does(ForkDesign { notch, ..*t }))
        };
        let plate = self.drawn.of("tail.fork.thickness");
        let thinner = || {
            let fits = |thickness| does(ForkDesign { thickness, ..*t });
            plate.most(LEAST_PLATE, t.thickness, fits)
        };
        if let Some((root, least)) = root {
            let limit = format!(
                "at least {} with this notch",
                self.drawn.at_least(2.0 * least)
            );
            problem("root", 2.0 * root, limit)
        } else if let Some(notch) = shallower() {
            let limit = format!("up to {} with this thickness", self.drawn.at_most(notch));
            problem("notch", t.notch, limit)
        } else if let Some(thickness) = thinner() {
            let limit = format!("up to {} with this span", plate.at_most(thickness));
            problem("thickness", t.thickness, limit)
        } else {
            let limit = format!("more than {}", self.drawn.show(t.span));
            problem("span", t.span, limit)
        }
    }

    /// A fork whose root the body does not hold: the root is too large, or, if none is small
    /// enough, the plate too thick.
    fn fork_is_too_large(&self, t: &ForkDesign) -> Problem {
        /// Half the smallest root that a spec may ask for.
        const LEAST: f64 = 0.5;
        let half = 0.5 * t.thickness;
        let held = |size: f64, half: f64| fork_burial(self.body, t.plane, size, half).is_some();
        let larger = t.root.and_then(|root| {
            let fits = most(LEAST, root, |size| held(size, half))?;
            Some((root, fits))
        });
        let (field, value, fits) = match larger {
            Some((root, fits)) => ("root", root, Some(fits)),
            None => {
                let fits = most(0.0, half, |half| {
                    let least = if t.root.is_some() {
                        LEAST
                    } else {
                        slimmest(half)
                    };
                    held(least, half)
                });
                ("thickness", half, fits)
            }
        };
        let path = format!("tail.fork.{field}");
        let drawn = self.drawn.of(&path);
        let what = "the root of this tail is larger than the body is near its end";
        let mut problem = Problem::new(path, what).value(drawn.show(2.0 * value));
        if let Some(fits) = fits {
            problem = problem.limit(format!(
                "at most {} on this body",
                drawn.at_most(2.0 * fits)
            ));
        }
        problem.hint("make root or thickness smaller or the body's end thicker")
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
        let show = |mm: f64| self.drawn.show(mm);
        let [up, down, aside] = found.leaves.map(|depth| self.end() - depth);
        let [height, width] =
            [found.half[0] + found.half[1], 2.0 * found.half[2]].map(|size| show(size));
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

/// How deep the body holds a fork's root of half this height and thickness: the section is a
/// flat bar.
fn fork_burial(body: &Body, plane: Plane, size: f64, half: f64) -> Option<f64> {
    let [height, width] = fork_axes(plane, size, half);
    bar_burial(body, height, width)
}

/// Half-axes of a fork's root of half this height and thickness.
fn fork_axes(plane: Plane, size: f64, half: f64) -> [f64; 2] {
    match plane {
        Plane::Upright => [size, half],
        Plane::Flat => [half, size],
    }
}

/// Half the height of the slimmest root that a fork chooses for half its thickness: no less
/// than the round rim of its plate.
fn slimmest(half: f64) -> f64 {
    (1.1 * half).max(0.7)
}

/// Half the height and the depth of a fork's root: as asked for, or as the body allows. `None`
/// if it holds none.
fn fork_root(body: &Body, t: &ForkDesign) -> Option<(f64, f64)> {
    let half = 0.5 * t.thickness;
    let held = |size: f64| Some((size, fork_burial(body, t.plane, size, half)?));
    if let Some(root) = t.root {
        return held(root);
    }
    let least = slimmest(half);
    let mut root = (t.span / 6.0).max(least);
    loop {
        if let Some(found) = held(root) {
            return Some(found);
        }
        if root <= least {
            return None;
        }
        root = (0.9 * root).max(least);
    }
}

/// The outline of a fork's plate with its root and how deep that is, from the body's end.
fn fork_plate(t: &ForkDesign, (root, depth): (f64, f64), tolerance: f64) -> Vec<[f64; 2]> {
    let tip = 0.5 * t.span;
    // Upper half, from the root to the notch; the lower is its mirror image.
    let blunt = (0.06 * t.span).max(0.6 * t.thickness).min(0.25 * t.length);
    let deep = t.length - t.notch;
    let lead = curve(
        [0.0, root],
        [0.45 * t.length, root],
        [t.length - blunt, tip],
        tolerance,
    );
    let round = curve(
        [t.length - blunt, tip],
        [t.length, tip + 0.15 * blunt],
        [t.length, tip - blunt],
        tolerance,
    );
    let trail = curve(
        [t.length, tip - blunt],
        [deep + 0.25 * t.notch, 0.3 * tip],
        [deep, 0.0],
        tolerance,
    );
    let mut upper: Vec<[f64; 2]> = vec![[-depth, root], [0.0, root]];
    for part in [lead, round, trail] {
        upper.extend(&part[1..]);
    }
    let mut outline = upper.clone();
    outline.extend(upper.iter().rev().skip(1).map(|p| [p[0], -p[1]]));
    outline
}

/// The outline of a forked tail as it is cut from flat stock, root and all: backward from the
/// body's end, and across; chords within the tolerance. `None` if its root does not fit the
/// body.
pub(crate) fn fork_outline(body: &Body, t: &ForkDesign, tolerance: f64) -> Option<Vec<[f64; 2]>> {
    let found = fork_root(body, t)?;
    Some(fork_plate(t, found, tolerance))
}

/// Points of a quadratic Bézier curve, both ends included.
fn curve(a: [f64; 2], b: [f64; 2], c: [f64; 2], tolerance: f64) -> Vec<[f64; 2]> {
    const LEAST: f64 = 16.0;
    // A chord over a step h of a curve with |p″| = m stands off m h²/8 at most.
    let [x, z] = [0, 1].map(|i| 2.0 * (a[i] - 2.0 * b[i] + c[i]));
    let bend = (x * x + z * z).sqrt();
    let count = libm::ceil((bend / (8.0 * SHARE * tolerance)).sqrt()).max(LEAST) as usize;
    (0..=count)
        .map(|k| {
            let t = k as f64 / count as f64;
            let (u, v, w) = ((1.0 - t) * (1.0 - t), 2.0 * t * (1.0 - t), t * t);
            [0, 1].map(|i| u * a[i] + v * b[i] + w * c[i])
        })
        .collect()
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
