//! Forked tails: flat plates, upright or lying.

use nalgebra::{Point3, Vector3};

use super::root::{ROOT, bar_burial, flush};
use super::tails::{LEAST_PLATE, SHARE, Site};
use super::{Effect, Tool, push};
use crate::body::Body;
use crate::body::ground::most;
use crate::mesh::plate::plate;
use crate::spec::{ForkDesign, Plane, Problem};

impl Site<'_> {
    pub(super) fn fork(
        &self,
        t: &ForkDesign,
        tools: &mut Vec<Tool>,
    ) -> Result<(f64, Point3<f64>), Problem> {
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

    /// The same of a fork's root, which may be the one that it chose.
    pub(super) fn fork_stands_out(&self, t: &ForkDesign) -> Option<String> {
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
        Some(self.told_out(root, root, axis, Some(fits)))
    }

    /// Whether the belly is slimmer than the back where a root would be.
    fn slimmer_belly(&self) -> bool {
        let x = self.end() - ROOT;
        self.body.belly.height(x) < self.body.back.height(x)
    }
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
