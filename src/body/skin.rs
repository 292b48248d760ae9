//! A body's surface as triangles.
//!
//! # How close
//! With the tolerance ε, [`Body::mesh`] lays rings across the body so that the
//! chords between rings and the facets around a ring each stand off the true
//! surface by at most β = ¾ε ("sag"), and then moves every ring outward by half
//! of both sags. The middle of a facet then lies inside by about as much as its
//! corners lie outside: at most β, and near ends and corners, where points stay
//! where the maker put them, at most 1¼β < ε.

use super::Body;
use crate::curve::{Course, Outline, Section};
use crate::mesh::{Mesh, Ring, loft, triangle_count};
use crate::spec::End;

/// Most triangles of a master. A kit of this size still takes under a gigabyte.
pub const MOST_TRIANGLES: usize = 1_000_000;

/// A tolerance in millimetres finer than any body can have, far above rounding.
const NOTHING: f64 = 1e-9;
/// Share of the tolerance that one direction's sag may take.
const SHARE: f64 = 0.75;
/// Longest a facet may be along the body, in lengths of the facet's edge around it:
/// keeps straight runs and cones from becoming slivers.
const ASPECT: f64 = 4.0;
/// Share of the sag that a change of the section's exponent may add to a chord: what is
/// left of the tolerance beside both sags.
const DRIFT: f64 = 1.0 / 12.0;
/// Share of the sag that is used where the section's exponent changes: chords are judged on
/// back, belly, flank and diagonals only (found by random bodies, which went 5 % beyond).
const CHANGING: f64 = 0.95;
/// Facets of a quarter beyond which none is tried: no affordable body has them.
const FINEST: usize = 2048;
/// Share of the sag that samples along a chord may show: they miss its very peak.
const SAMPLED: f64 = 0.95;
/// Samples for laying rings, for each piece of an outline.
const SAMPLES: usize = 64;

/// The tolerance asks for more triangles than [`MOST_TRIANGLES`].
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error(
    "a tolerance of {tolerance} mm would take {triangles} triangles, more than {MOST_TRIANGLES}; \
     {workable} mm would do"
)]
#[non_exhaustive]
pub struct TooFine {
    /// The tolerance asked for.
    pub tolerance: f64,
    /// How many triangles it would take, about.
    pub triangles: usize,
    /// A tolerance that keeps within the limit.
    pub workable: f64,
}

impl Body {
    /// The master's surface: body and collar as one closed mesh, within `tolerance`
    /// (millimetres) of the true surface. The points at the ends, the planes of
    /// flat ends, steps and corners, and the rows on y = 0 and z = 0 are exact.
    ///
    /// # Errors
    /// If the tolerance would take too many triangles; that is known before any of
    /// them is made. One that is zero, negative or not a number is too fine for any
    /// body; none is coarser than the body is long.
    pub fn mesh(&self, tolerance: f64) -> Result<Mesh, TooFine> {
        if let Some(scan) = &self.scan {
            return Ok(scan.mesh().clone());
        }
        let asked = tolerance;
        // Written so that NaN is too fine.
        let tolerance = if asked > NOTHING {
            asked.min(self.length())
        } else {
            NOTHING
        };
        // Where the section changes, lines between back and flank bend by themselves.
        let share = match self.section.exponent() {
            Some(_) => SHARE,
            None => CHANGING * SHARE,
        };
        let sag = share * tolerance;
        let runs = self.runs(sag);
        self.afford(&runs, tolerance).map_err(|fine| TooFine {
            tolerance: asked,
            ..fine
        })?;
        let facets = Facets::new(&self.section, self.widest(), sag);
        let round = Section::new(2.0);
        let disc = Facets::of_family(&round, facets.family, self.widest(), sag);

        let mut rings: Vec<Ring<'_>> = Vec::new();
        for run in &runs {
            self.lay(run, sag, &mut rings);
        }
        for ring in &mut rings {
            ring.quarter = facets.needed(ring);
        }
        self.lay_collar(&round, &disc, &mut rings);
        even_out(&mut rings);
        for ring in &mut rings {
            let of = if std::ptr::eq(ring.section, &round) {
                &disc
            } else {
                &facets
            };
            *ring = ring.scaled(1.0 + 0.5 * of.sag(ring.quarter));
        }
        if self.nose == End::Flat {
            let rim = rings[0];
            let mut inner = face(rim, facets.family);
            inner.reverse();
            inner.append(&mut rings);
            rings = inner;
        }
        if self.tail == End::Flat {
            let rim = rings[rings.len() - 1];
            rings.extend(face(rim, facets.family));
        }
        let tail = self.length() + self.collar_length();
        let mut mesh = loft(0.0, &rings, tail);
        if self.camber.is_some() {
            for p in &mut mesh.points {
                p.z += self.spine(p.x);
            }
        }
        Ok(mesh)
    }

    fn outlines(&self) -> [&Outline; 3] {
        [&self.back, &self.belly, &self.half_width]
    }

    /// The surface's lines along the body that meshing goes by: on the back, the belly
    /// and the flank.
    fn lines(&self) -> [Line<'_>; 3] {
        let line = |outline, sign| Line {
            outline,
            sway: self.camber.as_ref().map(|c| (c, sign)),
        };
        [
            line(&self.back, 1.0),
            line(&self.belly, -1.0),
            Line {
                outline: &self.half_width,
                sway: None,
            },
        ]
    }

    /// How far the surface leaves the chords between two rings through the change of the
    /// section's exponent alone, on the diagonals of back and belly.
    fn drift(&self, x: [f64; 2], heights: [[f64; 3]; 2]) -> f64 {
        if self.section.exponent().is_some() {
            return 0.0;
        }
        let diagonal = |x: f64| self.section.exponents(x).map(|n| libm::pow(0.5, 1.0 / n));
        let ends = x.map(diagonal);
        let mut most: f64 = 0.0;
        for part in [0.1, 0.3, 0.5, 0.7, 0.9] {
            let between = |a: f64, b: f64| a + part * (b - a);
            let at = between(x[0], x[1]);
            let q = diagonal(at);
            let w = self.half_width.height(at);
            for (k, outline) in [&self.back, &self.belly].into_iter().enumerate() {
                let off = |size: f64, sizes: [f64; 2]| {
                    let chord = between(ends[0][k] * sizes[0], ends[1][k] * sizes[1]);
                    q[k] * size - chord - q[k] * (size - between(sizes[0], sizes[1]))
                };
                let across = off(w, [heights[0][2], heights[1][2]]);
                let up = off(outline.height(at), [heights[0][k], heights[1][k]]);
                most = most.max(libm::hypot(across, up));
            }
        }
        most
    }

    /// Greatest distance of the master's surface from its axis.
    fn widest(&self) -> f64 {
        let body = self.outlines().map(|o| o.greatest().1);
        body.into_iter()
            .chain(self.collar.iter().map(|c| c.radius))
            .fold(0.0, f64::max)
    }

    /// Refuses before anything is made if there would be too many triangles.
    fn afford(&self, runs: &[Run], tolerance: f64) -> Result<(), TooFine> {
        let facets = Facets::new(&self.section, self.widest(), SHARE * tolerance);
        let rings: f64 = runs.iter().map(|r| 2.0 * r.total() + 6.0).sum();
        // Not all rings are as fine as the widest: this is the most it can be.
        let triangles = triangle_count([1]) as f64 * facets.finest_wanted() * rings;
        if triangles <= MOST_TRIANGLES as f64 {
            return Ok(());
        }
        // Triangles go as 1/tolerance, facets around by jumps of up to 1½.
        let enough = 1.6 * tolerance * triangles / MOST_TRIANGLES as f64;
        let digit = libm::pow(10.0, libm::floor(libm::log10(enough)));
        Err(TooFine {
            tolerance,
            triangles: triangles as usize,
            workable: libm::ceil(enough / digit) * digit,
        })
    }

    /// The smooth runs between ends, corners and steps, with their costs.
    fn runs(&self, sag: f64) -> Vec<Run> {
        let mut cuts = vec![0.0, self.length()];
        cuts.extend(
            self.outlines()
                .iter()
                .flat_map(|o| o.breaks())
                .map(|b| b.at),
        );
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        cuts.windows(2)
            .map(|w| Run::new(self, w[0], w[1], sag))
            .collect()
    }

    /// Adds the rings of one run, moved outward by half the sag of the chords
    /// between them; `quarter` and the facets' own sag are settled later.
    fn lay<'a>(&'a self, run: &Run, sag: f64, rings: &mut Vec<Ring<'a>>) {
        let xs = run.places(self, sag);
        let end = xs[xs.len() - 1];
        let heights = |i: usize| heights(self, xs[i], end);
        for i in 0..xs.len() {
            let mut h = heights(i);
            if h.iter().all(|&h| h == 0.0) {
                continue; // the point of a round or pointed end
            }
            if i > 0 && i + 1 < xs.len() {
                for (k, line) in self.lines().into_iter().enumerate() {
                    let ends = |j: usize| ([xs[j], xs[j + 1]], [heights(j)[k], heights(j + 1)[k]]);
                    let (left, right) = (ends(i - 1), ends(i));
                    let off = 0.5 * (line.stand_off(left) + line.stand_off(right));
                    // Moving along the radius has to make up for the surface's slope.
                    let upright = line.upright(xs[i]).max(0.5);
                    h[k] += 0.5 * off.clamp(-sag, sag) / upright;
                }
            } else if let Some(last) = rings.last()
                && last.x == xs[i]
                && [last.up, last.down, last.half_width] == h
            {
                continue; // a corner: the run before ended with this ring
            }
            let [up, down, half_width] = h;
            rings.push(Ring {
                x: xs[i],
                up,
                down,
                half_width,
                quarter: 0,
                section: &self.section,
            });
        }
    }

    /// Adds the rings of the collar's cylinders.
    fn lay_collar<'a>(&self, round: &'a Section, facets: &Facets, rings: &mut Vec<Ring<'a>>) {
        let mut x = self.length();
        for cylinder in &self.collar {
            let mut ring = Ring {
                x,
                up: cylinder.radius,
                down: cylinder.radius,
                half_width: cylinder.radius,
                quarter: 0,
                section: round,
            };
            ring.quarter = facets.needed(&ring);
            let edge = cylinder.radius * std::f64::consts::FRAC_PI_2 / ring.quarter as f64;
            let parts = libm::ceil(cylinder.length / (ASPECT * edge)).max(1.0) as usize;
            for i in 0..=parts {
                ring.x = x + cylinder.length * i as f64 / parts as f64;
                rings.push(ring);
            }
            x += cylinder.length;
        }
    }
}

/// How many facets a quarter of a ring takes.
struct Facets {
    /// 2 or 3: the facets of a quarter are this times a power of two, so that every
    /// ring's points are among those of the next finer one.
    family: usize,
    /// Facets of a quarter of the widest ring.
    finest: usize,
    /// Sag of the unit section for `family`, 2·`family`, 4·`family` …
    sags: Vec<f64>,
    /// Sag wanted.
    wanted: f64,
    /// Half-axis of the widest ring.
    widest: f64,
}

impl Facets {
    fn new(section: &Section, widest: f64, wanted: f64) -> Self {
        let of = |family| Self::of_family(section, family, widest, wanted);
        let (two, three) = (of(2), of(3));
        if two.finest < three.finest {
            two
        } else {
            three
        }
    }

    fn of_family(section: &Section, family: usize, widest: f64, wanted: f64) -> Self {
        let mut sags = Vec::new();
        let mut finest = family;
        loop {
            sags.push(section.sag(finest));
            if sags[sags.len() - 1] * widest <= wanted || finest >= FINEST {
                break;
            }
            finest *= 2;
        }
        Facets {
            family,
            finest,
            sags,
            wanted,
            widest,
        }
    }

    /// Facets of a quarter of the widest ring, also past [`FINEST`], where sag goes as
    /// the inverse square.
    fn finest_wanted(&self) -> f64 {
        let over = self.sags[self.sags.len() - 1] * self.widest / self.wanted;
        self.finest as f64 * over.sqrt().max(1.0)
    }

    fn level(&self, quarter: usize) -> usize {
        (quarter / self.family).trailing_zeros() as usize
    }

    /// Sag of a unit ring with this many facets a quarter.
    fn sag(&self, quarter: usize) -> f64 {
        self.sags[self.level(quarter).min(self.sags.len() - 1)]
    }

    /// Facets of a quarter of this ring.
    fn needed(&self, ring: &Ring<'_>) -> usize {
        let size = ring.up.max(ring.down).max(ring.half_width);
        let level = self.sags.partition_point(|s| s * size > self.wanted);
        self.family << level.min(self.sags.len() - 1)
    }
}

/// A line along the surface: an outline, and the spine that carries it.
#[derive(Clone, Copy)]
struct Line<'a> {
    outline: &'a Outline,
    /// The spine's rise, and whether it lifts this line outward (1) or inward (−1).
    sway: Option<(&'a Course, f64)>,
}

impl Line<'_> {
    fn sway(&self, x: f64) -> f64 {
        self.sway
            .map_or(0.0, |(course, sign)| sign * course.value(x))
    }

    /// First and second derivative of the plane curve by its own variable.
    fn motion(&self, x: f64) -> ([f64; 2], [f64; 2]) {
        let ([dx, dy], [ddx, ddy]) = self.outline.motion(x);
        let Some((course, sign)) = self.sway else {
            return ([dx, dy], [ddx, ddy]);
        };
        let [c, cc] = course.slopes(x).map(|c| sign * c);
        ([dx, dy + c * dx], [ddx, ddy + cc * dx * dx + c * ddx])
    }

    /// How sharply the line bends at x, either way: |curvature| in 1/mm.
    fn bend(&self, x: f64) -> f64 {
        let ([dx, dy], [ddx, ddy]) = self.motion(x);
        let speed = libm::hypot(dx, dy);
        if speed == 0.0 {
            return 0.0;
        }
        (dy * ddx - dx * ddy).abs() / (speed * speed * speed)
    }

    /// Cosine of the angle between the line's normal and the section plane at x:
    /// 1 where it runs level, 0 at a round end.
    fn upright(&self, x: f64) -> f64 {
        let ([dx, dy], _) = self.motion(x);
        let speed = libm::hypot(dx, dy);
        if speed == 0.0 { 1.0 } else { dx.abs() / speed }
    }

    /// Greatest distance between the line and the chord of it between two places with
    /// these heights over the spine, positive where the line bulges out over the chord.
    fn stand_off(&self, (x, y): ([f64; 2], [f64; 2])) -> f64 {
        let along = x[1] - x[0];
        let y = [y[0] + self.sway(x[0]), y[1] + self.sway(x[1])];
        let level = along / libm::hypot(along, y[1] - y[0]);
        let mut most: f64 = 0.0;
        for part in [0.1, 0.3, 0.5, 0.7, 0.9] {
            let chord = y[0] + part * (y[1] - y[0]);
            let at = x[0] + part * along;
            let off = (self.outline.height(at) + self.sway(at) - chord) * level;
            if off.abs() > most.abs() {
                most = off;
            }
        }
        most
    }
}

/// Raises facets until neighbouring rings differ by no more than two.
fn even_out(rings: &mut [Ring<'_>]) {
    for i in 1..rings.len() {
        rings[i].quarter = rings[i].quarter.max(rings[i - 1].quarter / 2);
    }
    for i in (1..rings.len()).rev() {
        rings[i - 1].quarter = rings[i - 1].quarter.max(rings[i].quarter / 2);
    }
}

/// Rings within a flat end face, from its rim inward, with fewer facets each, so
/// that the fan in the middle is of stout triangles.
fn face<'a>(rim: Ring<'a>, family: usize) -> Vec<Ring<'a>> {
    let mut rings = Vec::new();
    let mut ring = rim;
    while ring.quarter > family {
        ring = ring.scaled(0.6);
        ring.quarter /= 2;
        rings.push(ring);
    }
    rings
}

/// Heights of the outlines at x, coming from the nose at the end of a run.
fn heights(body: &Body, x: f64, end: f64) -> [f64; 3] {
    body.outlines().map(|o| {
        if x == end {
            o.height_before(x)
        } else {
            o.height(x)
        }
    })
}

/// A smooth run of the body and how finely it has to be divided.
struct Run {
    /// Sample places, from the run's beginning to its end.
    samples: Vec<f64>,
    /// Chords needed up to each sample.
    cost: Vec<f64>,
}

impl Run {
    fn new(body: &Body, from: f64, to: f64, sag: f64) -> Self {
        let lines = body.lines();
        // Pieces are sampled one by one, since curvature jumps between them.
        let mut joints = vec![from, to];
        let inner = lines.iter().flat_map(|l| l.outline.knots());
        let inner = inner.chain(body.section.knots());
        let inner = inner.chain(body.camber.iter().flat_map(Course::knots));
        joints.extend(inner.filter(|&x| x > from && x < to));
        joints.sort_by(f64::total_cmp);
        joints.dedup();
        let mut samples = vec![from];
        for w in joints.windows(2) {
            samples.extend((1..=SAMPLES).map(|i| {
                if i == SAMPLES {
                    return w[1];
                }
                // Bunched at both ends, as a half circle seen from its diameter.
                let s = libm::sin(std::f64::consts::FRAC_PI_2 * i as f64 / SAMPLES as f64);
                w[0] + (w[1] - w[0]) * s * s
            }));
        }
        let heights = |x: f64| heights(body, x, to);
        let mut before = heights(from);
        let mut cost = vec![0.0];
        for w in samples.windows(2) {
            let mid = 0.5 * (w[0] + w[1]);
            let after = heights(w[1]);
            let widest = heights(mid).into_iter().fold(0.0, f64::max);
            // The edge around a circle of that size whose sag is the wanted one.
            let edge = (8.0 * sag * widest).sqrt();
            // A chord of n samples stands off n² times as far as one of them.
            let drift = body.drift([w[0], w[1]], [before, after]);
            let mut most = (drift / (DRIFT * sag)).sqrt();
            for (k, line) in lines.iter().enumerate() {
                let rise = after[k] + line.sway(w[1]) - before[k] - line.sway(w[0]);
                let step = libm::hypot(w[1] - w[0], rise);
                let bend = line.bend(mid);
                // A chord c of a curve bent by κ stands off κc²/8.
                let smooth = (bend / (8.0 * sag)).sqrt();
                most = most.max(step * smooth.max(1.0 / (ASPECT * edge)));
            }
            cost.push(cost[cost.len() - 1] + most);
            before = after;
        }
        Run { samples, cost }
    }

    /// Chords needed.
    fn total(&self) -> f64 {
        self.cost[self.cost.len() - 1]
    }

    /// Ends of the chords, both ends of the run included.
    fn places(&self, body: &Body, sag: f64) -> Vec<f64> {
        let last = self.samples[self.samples.len() - 1];
        let lines = body.lines();
        let stands_off = |w: &[f64]| {
            let x = [w[0], w[1]];
            let y = x.map(|x| heights(body, x, last));
            let off = |k: usize, line: &Line<'_>| line.stand_off((x, [y[0][k], y[1][k]])).abs();
            lines
                .iter()
                .enumerate()
                .any(|(k, line)| off(k, line) > SAMPLED * sag)
                || body.drift(x, y) > DRIFT * sag
        };
        let mut count = (libm::ceil(self.total()) as usize).max(2);
        // Equal cost is equal sag where curvature changes slowly; a chord that spans a
        // jump of it may stand off up to 2¼ times as far, which half as many chords
        // again cure, or a few more where jumps crowd.
        let most = 2 * count + 4;
        loop {
            let places = self.divided(count);
            if count >= most || !places.windows(2).any(stands_off) {
                return places;
            }
            count += 1 + count / 16;
        }
    }

    /// Ends of `count` chords of equal cost.
    fn divided(&self, count: usize) -> Vec<f64> {
        let last = self.samples.len() - 1;
        let total = self.total();
        let mut i = 0;
        (0..=count)
            .map(|j| {
                if j == count {
                    return self.samples[last];
                }
                let wanted = total * j as f64 / count as f64;
                while i + 2 <= last && self.cost[i + 1] <= wanted {
                    i += 1;
                }
                let (a, b) = (self.samples[i], self.samples[i + 1]);
                let part = (wanted - self.cost[i]) / (self.cost[i + 1] - self.cost[i]);
                a + (b - a) * part
            })
            .collect()
    }
}

#[cfg(test)]
mod tests;
