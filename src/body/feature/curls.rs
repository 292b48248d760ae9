//! Tails that curl.

use nalgebra::Point3;

use super::root::Root;
use super::strand::{Size, Strand, Tip};
use super::tails::{Behind, GAP, Site};
use super::{Effect, Tool, degrees, push};
use crate::spec::{CurlDesign, Problem, Side};

/// The least turn and half height and the greatest length that a spec may ask for.
const LEAST_TURN: f64 = 20.0;
const LEAST_HALF: f64 = 0.5;
const LONGEST: f64 = 400.0;
/// Half the thinnest stem that a curl chooses.
const LEAST_STEM: f64 = 0.4;
/// Share of its length at which a curl has become a flat blade, and at which it is highest.
const FLAT: f64 = 0.3;
const HIGHEST: f64 = 0.45;
/// Half a blade's height as a share of the radius that it is bent to, at most: nearer to the
/// centre of the bend its inner edge crumples (reasoned, from drawings of many).
const TIGHTEST: f64 = 0.65;
/// A blade is no higher than this share of its length (reasoned: a higher one is a paddle on a stub).
const STOUT: f64 = 0.6;
/// An edge that turns back by less than this, in radians, has not: 1°.
const STRAIGHT: f64 = 0.0175;

impl Site<'_> {
    pub(super) fn curl(
        &self,
        t: &CurlDesign,
        tools: &mut Vec<Tool>,
    ) -> Result<(f64, Point3<f64>), Problem> {
        let root = self.curl_root(t)?;
        self.clear(t, root)?;
        let (placed, size) = (self.bent(t), blade(t, root));
        let strand = Strand {
            root: root.depth,
            length: t.length,
            spine: &placed,
            size: &size,
            tip: Tip::Round(t.tip.min(t.half_height)),
        };
        push(
            tools,
            self.path,
            Effect::Adds,
            strand.mesh(self.tolerance),
            false,
        );
        let ([a, b], _) = placed(t.length);
        let stem = (root.half[0] + root.half[1]).min(2.0 * root.half[2]);
        let thin = t.tip.min(t.thickness).min(stem);
        Ok((thin, Point3::new(a, 0.0, b)))
    }

    fn curl_root(&self, t: &CurlDesign) -> Result<Root, Problem> {
        let least = LEAST_STEM.min(t.half_height);
        let (wanted, easy) = (t.half_height, slimmest_stem(t));
        self.root(t.root, wanted, ("height", least), easy, [1.0, 1.0])
    }

    /// A curl's spine: places and headings, in x and z, by distance from the end of the body.
    fn bent(&self, t: &CurlDesign) -> impl Fn(f64) -> ([f64; 2], [f64; 2]) {
        let sign = match t.towards {
            Side::Back => 1.0,
            Side::Belly => -1.0,
        };
        let x = self.end();
        let spine = Clothoid::new(t.length, t.turn.to_radians());
        move |s| {
            if s <= 0.0 {
                return ([x + s, 0.0], [1.0, 0.0]);
            }
            let ([a, b], [cos, sin]) = spine.at(s);
            ([x + a, sign * b], [cos, sign * sin])
        }
    }

    /// The blade must neither meet itself, nor bend more tightly than it is high, nor reach the body.
    fn clear(&self, t: &CurlDesign, root: Root) -> Result<(), Problem> {
        let Some(what) = self.misfit(t, root) else {
            return Ok(());
        };
        // The root is as thick as the blade is high, where the body allows it.
        let does = |t: CurlDesign| {
            let root = self.curl_root(&t);
            root.is_ok_and(|root| self.misfit(&t, root).is_none())
        };
        let problem = |field: &str, value: String| {
            Problem::new(format!("tail.curl.{field}"), what).value(value)
        };
        let degrees = degrees();
        let turned = |turn: f64| does(CurlDesign { turn, ..*t });
        let high = |half_height: f64| does(CurlDesign { half_height, ..*t });
        let long = |length: f64| does(CurlDesign { length, ..*t });
        let value = format!("{} degrees", t.turn);
        let least = LEAST_HALF.max(0.5 * t.thickness).min(t.half_height);
        Err(
            if let Some(turn) = degrees.most(LEAST_TURN, t.turn, turned) {
                problem("turn", value).limit(format!("up to {turn:.2} degrees"))
            } else if let Some(fits) = self.drawn.most(least, t.half_height, high) {
                problem("height", self.drawn.show(2.0 * t.half_height)).limit(format!(
                    "up to {} with this length",
                    self.drawn.at_most(2.0 * fits)
                ))
            } else if let Some(fits) = self.drawn.least(t.length, LONGEST, long) {
                problem("length", self.drawn.show(t.length)).limit(format!(
                    "at least {} with this height",
                    self.drawn.at_least(fits)
                ))
            } else {
                problem("turn", value)
            }
            .hint("make it longer, its height smaller or its turn less"),
        )
    }

    /// What is wrong with a curl's blade.
    fn misfit(&self, t: &CurlDesign, root: Root) -> Option<&'static str> {
        const SAMPLES: usize = 160;
        let (spine, size) = (self.bent(t), blade(t, root));
        let at = |k: usize| t.length * k as f64 / SAMPLES as f64;
        let turn = t.turn.to_radians();
        let points: Vec<([f64; 2], [f64; 2])> = (0..=SAMPLES)
            .map(|k| (spine(at(k)).0, size(at(k)).along))
            .collect();
        let behind = Behind::new(self.body);
        // Its edges, square to the spine: up where it runs level (0), and down.
        let edge = |k: usize, side: usize| {
            let ([x, z], [cos, sin]) = spine(at(k));
            let half = [1.0, -1.0][side] * points[k].1[side];
            Point3::new(x - sin * half, 0.0, z + cos * half)
        };
        let inner = match t.towards {
            Side::Back => 0,
            Side::Belly => 1,
        };
        if 2.0 * t.half_height > STOUT * t.length {
            return Some("the blade is too high for so short a curl");
        }
        let bend = |s: f64| 2.0 * turn * s / (t.length * t.length);
        if (0..=SAMPLES).any(|k| bend(at(k)) * points[k].1[inner] > TIGHTEST) {
            return Some("the blade is too high for so tight a curl");
        }
        let inner: Vec<Point3<f64>> = (0..=SAMPLES).map(|k| edge(k, inner)).collect();
        if turns_back(&inner) > 1 {
            return Some("the inner edge of so high a blade in so tight a curl would be wavy");
        }
        let meets = (0..=SAMPLES).any(|i| {
            (i + 1..=SAMPLES).any(|j| {
                // A quarter turn on, the blade may come back.
                let between = turn * (at(j) * at(j) - at(i) * at(i)) / (t.length * t.length);
                let ((p, a), (q, b)) = (points[i], points[j]);
                let [a, b] = [a, b].map(|half| half[0].max(half[1]));
                between > 1.5 && libm::hypot(p[0] - q[0], p[1] - q[1]) < a + b + 0.5
            })
        });
        if meets {
            return Some("the blade curls into itself");
        }
        let reaches = (SAMPLES / 4 + 1..=SAMPLES).any(|k| {
            [0, 1].iter().any(|&side| {
                let p = edge(k, side);
                p.x < self.end() + GAP || !self.is_clear(&behind, p)
            })
        });
        reaches.then_some("the blade curls back into the body")
    }
}

/// Half the thinnest stem that a curl chooses where the body allows it: as thick as its blade.
pub(super) fn slimmest_stem(t: &CurlDesign) -> f64 {
    (0.5 * t.thickness).max(LEAST_STEM).min(t.half_height)
}

/// A curl's section by distance from the end of the body.
fn blade(t: &CurlDesign, root: Root) -> impl Fn(f64) -> Size {
    let t = *t;
    move |s| {
        let part = (s / t.length).clamp(0.0, 1.0);
        let rise = smooth(part / FLAT);
        // No run of even height between: its inner edge would have two corners more.
        let grown = smooth(part / HIGHEST);
        let fall = smooth((part - HIGHEST) / (1.0 - HIGHEST));
        let [up, down, aside] = root.half;
        let along = [up, down].map(|root| {
            let stem = root + (t.half_height - root) * grown;
            // Twice as high as thick at the tip, which keeps it a blade.
            stem + (t.tip.min(t.half_height) - stem) * fall
        });
        let blade = 0.5 * t.thickness + (0.5 * t.tip - 0.5 * t.thickness) * part;
        let across = aside + (blade - aside) * rise;
        Size {
            along,
            across,
            lens: rise,
        }
    }
}

/// How often an edge that has turned one way turns back the other, from the side first seen on:
/// a stem that widens into a blade brings one such bend.
fn turns_back(edge: &[Point3<f64>]) -> usize {
    let ways: Vec<[f64; 2]> = edge
        .windows(2)
        .map(|w| [w[1].x - w[0].x, w[1].z - w[0].z])
        .collect();
    let turns: Vec<f64> = ways
        .windows(2)
        .map(|w| {
            let [[a, b], [c, d]] = [w[0], w[1]];
            libm::atan2(a * d - b * c, a * c + b * d)
        })
        .collect();
    // Which way the edge curls in the end.
    let curls = turns.iter().sum::<f64>().signum();
    let (mut heading, mut extreme, mut rising, mut back) = (0.0, 0.0, false, 0);
    for turn in turns {
        heading += curls * turn;
        if rising {
            extreme = f64::max(extreme, heading);
            if heading < extreme - STRAIGHT {
                (rising, extreme, back) = (false, heading, back + 1);
            }
        } else {
            extreme = f64::min(extreme, heading);
            if heading > extreme + STRAIGHT {
                (rising, extreme) = (true, heading);
            }
        }
    }
    back
}

/// From 0 to 1 between 0 and 1, level at both.
fn smooth(part: f64) -> f64 {
    let p = part.clamp(0.0, 1.0);
    p * p * (3.0 - 2.0 * p)
}

/// A curve whose curvature rises with its length: heading = turn (s/length)².
struct Clothoid {
    length: f64,
    turn: f64,
    points: Vec<[f64; 2]>,
}

impl Clothoid {
    const STEPS: usize = 2048;

    fn new(length: f64, turn: f64) -> Self {
        let mut clothoid = Clothoid {
            length,
            turn,
            points: vec![[0.0, 0.0]],
        };
        let h = length / Self::STEPS as f64;
        let mut p = [0.0; 2];
        for k in 0..Self::STEPS {
            // Simpson's rule on the heading.
            let [a, b, c] = [0.0, 0.5, 1.0].map(|part| clothoid.heading(h * (k as f64 + part)));
            for i in 0..2 {
                p[i] += h / 6.0 * (a[i] + 4.0 * b[i] + c[i]);
            }
            clothoid.points.push(p);
        }
        clothoid
    }

    fn heading(&self, s: f64) -> [f64; 2] {
        let part = s / self.length;
        let (sin, cos) = libm::sincos(self.turn * part * part);
        [cos, sin]
    }

    fn at(&self, s: f64) -> ([f64; 2], [f64; 2]) {
        let heading = self.heading(s);
        let k = (s / self.length * Self::STEPS as f64).clamp(0.0, Self::STEPS as f64);
        let i = (k as usize).min(Self::STEPS - 1);
        let part = k - i as f64;
        let (p, q) = (self.points[i], self.points[i + 1]);
        ([0, 1].map(|j| p[j] + part * (q[j] - p[j])), heading)
    }
}
