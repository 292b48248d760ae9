//! Terminal speed and attitude, and the way there.
//!
//! # The model
//! The body sinks in its upright mid-plane. Its motion is split into one along the axis and one
//! across it (the cross-flow principle: H. J. Allen, E. W. Perkins, NACA Report 1048, 1951), each with
//! its own drag (as far as the body is slender: one as thick as long feels its whole speed); the attitude is the one in which the moments of weight, buoyancy, both drags and the
//! water that is carried along (M. M. Munk, NACA Report 184, 1924: it turns a slender body across its
//! path) are in balance.
//!
//! *Along*: friction times Hoerner's form factor, [laminar](super::drag::laminar) at the least and
//! [turbulent](super::drag::turbulent) at the most, and a flat tail's suction. A body thicker than a quarter of
//! its length passes over, in proportion, to the drag of a sphere, which it has when it is as thick as
//! long (reasoned).
//!
//! *Across*: published drag of spheroids lying across the flow is thin. At the least a sphere's, raised by
//! 15 % at three and more times as long as thick; at the most a cylinder's of the same proportions; times
//! width over depth of the section, 0.5 to 1.7 (S. F. Hoerner, "Fluid-Dynamic Drag", 1965, chapter 3, ellipses
//! across the flow below the drag crisis).
//!
//! *Turning*: separated flow takes away some of the turning moment of the carried water, how much is not
//! known for such bodies: half at the least of drag, nothing at the most (reasoned).
//!
//! The middle case is half-way between the two drags. Swinging and spinning on the way down, and waves of
//! soft parts, are not modelled.

use nalgebra::Point3;

use super::drag;
use super::{Allowance, Balance, Form, GRAVITY, Water, added_mass};

/// Share of the ideal turning moment of the carried water: with the least drag, and with the most.
const TURNING: [f64; 2] = [0.5, 1.0];

/// Which end of the band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Case {
    /// The most drag: sinks slowest.
    Slow,
    /// Half-way between.
    Middle,
    /// The least drag: sinks fastest.
    Fast,
}

/// The same figure in all three cases.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band<T> {
    /// With the most drag.
    pub slow: T,
    /// Half-way between the drags.
    pub middle: T,
    /// With the least drag.
    pub fast: T,
}

impl<T> Band<T> {
    /// Something for each case.
    pub fn each(mut of: impl FnMut(Case) -> T) -> Self {
        Band {
            slow: of(Case::Slow),
            middle: of(Case::Middle),
            fast: of(Case::Fast),
        }
    }

    /// Something of each.
    pub fn map<U>(&self, mut of: impl FnMut(&T) -> U) -> Band<U> {
        Band {
            slow: of(&self.slow),
            middle: of(&self.middle),
            fast: of(&self.fast),
        }
    }
}

/// A steady sinking motion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Downward speed, in mm/s.
    pub sink: f64,
    /// Horizontal speed, nose first, in mm/s; negative tail first.
    pub glide: f64,
    /// Degrees of the nose below the horizontal.
    pub nose_down: f64,
    /// Speed along the axis and across it, in mm/s.
    pub along_and_across: [f64; 2],
}

/// Everything a body may do on its way down: any drag of the band, at any attitude between those
/// that go with it. The cases lie at different angles, so the one of least drag need not sink fastest.
#[derive(Clone, Debug)]
pub struct Spread<'s> {
    sinker: &'s Sinker,
    /// The attitude of each case, in degrees of the nose below the horizontal.
    attitudes: Band<f64>,
}

/// The way from rest towards the terminal speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fall {
    /// Seconds.
    pub time: f64,
    /// Depth, in mm.
    pub depth: f64,
    /// Downward speed reached, in mm/s.
    pub speed: f64,
}

/// A body ready to sink.
#[derive(Clone, Debug, PartialEq)]
pub struct Sinker {
    /// The hull.
    pub form: Form,
    /// Its masses and buoyancy.
    pub balance: Balance,
    /// The water.
    pub water: Water,
    /// What sticks out of the hull.
    pub allowances: Vec<Allowance>,
}

/// What is needed at every step.
struct Flow<'s> {
    sinker: &'s Sinker,
    case: Case,
    /// g/mm³.
    density: f64,
    /// mm²/s.
    viscosity: f64,
    diameter: f64,
    /// 0 slender, 1 as thick as long.
    bluff: f64,
    /// Span of the area seen from above, for its Reynolds number.
    width: f64,
    /// Greatest and least factor on a sphere's drag, across.
    across: [f64; 2],
}

impl Sinker {
    fn flow(&self, case: Case) -> Flow<'_> {
        let form = &self.form;
        let fineness = form.fineness().max(1e-3);
        // From a sphere to a slender body (reasoned).
        let slender = (0.5 * (fineness - 1.0)).clamp(0.0, 1.0);
        // What a sphere has at the Reynolds numbers the cylinders were measured at.
        const SPHERE: f64 = 0.45;
        let section = (form.top_area / form.side_area).clamp(0.5, 1.7);
        let least = section * (1.0 + 0.15 * slender);
        let most = section * (1.0 + slender * (drag::cylinder_across(fineness) / SPHERE - 1.0));
        Flow {
            sinker: self,
            case,
            density: self.water.density() / 1000.0,
            viscosity: self.water.kinematic(),
            diameter: form.diameter(),
            bluff: ((1.0 / fineness - 0.25) / 0.75).clamp(0.0, 1.0),
            width: 4.0 / std::f64::consts::PI * form.top_area / form.length,
            across: [least, most],
        }
    }

    /// Weight in the water, in g·mm/s².
    fn force(&self) -> f64 {
        self.balance.net(&self.water) * GRAVITY
    }

    /// The terminal motion in each case; `None` if it does not sink.
    #[must_use]
    pub fn terminal(&self) -> Option<Band<Motion>> {
        let [slow, middle, fast] =
            [Case::Slow, Case::Middle, Case::Fast].map(|case| self.terminal_in(case));
        Some(Band {
            slow: slow?,
            middle: middle?,
            fast: fast?,
        })
    }

    /// What it may do in all; `None` if it does not sink.
    #[must_use]
    pub fn spread(&self) -> Option<Spread<'_>> {
        let attitudes = self.terminal()?.map(|motion| motion.nose_down);
        Some(Spread {
            sinker: self,
            attitudes,
        })
    }

    /// The terminal motion in one case; `None` if it does not sink.
    #[must_use]
    pub fn terminal_in(&self, case: Case) -> Option<Motion> {
        // Less than a hundredth of a milligram is afloat for all the maker knows.
        const AFLOAT: f64 = 1e-5;
        if self.balance.net(&self.water) < AFLOAT {
            return None;
        }
        Some(self.held_at(self.attitude(case), case))
    }

    /// The motion of one held at an attitude, in degrees of the nose below the horizontal.
    #[must_use]
    pub fn held_at(&self, nose_down: f64, case: Case) -> Motion {
        let flow = self.flow(case);
        let (sin, cos) = libm::sincos(nose_down.to_radians());
        let [u, w] = flow.speeds(sin, cos, self.force());
        Motion {
            sink: u * sin + w * cos,
            glide: u * cos - w * sin,
            nose_down,
            along_and_across: [u, w],
        }
    }

    /// The stable attitude nearest the one at rest, in degrees of the nose below the horizontal.
    fn attitude(&self, case: Case) -> f64 {
        const STEP: usize = 2;
        const STEPS: usize = 180 / STEP;
        // One that floats back down is looked at in a mirror.
        let upright = self.moment_at(90.0, case) <= 1e-9;
        let moment = |angle: f64| {
            if upright {
                self.moment_at(angle, case)
            } else {
                self.mirrored().moment_at(angle, case)
            }
        };
        let rest = self.balance.free().map_or(0.0, |hang| hang.nose_down);
        let mut best: Option<f64> = None;
        let mut before = (-90.0, moment(-90.0));
        for i in 1..=STEPS {
            let angle = (STEP * i) as f64 - 90.0;
            let here = (angle, moment(angle));
            // Stable where turning the nose further down turns it back up.
            if before.1 >= 0.0 && here.1 < 0.0 {
                let (mut low, mut high) = (before.0, here.0);
                for _ in 0..48 {
                    let middle = 0.5 * (low + high);
                    if moment(middle) >= 0.0 {
                        low = middle;
                    } else {
                        high = middle;
                    }
                }
                let root = 0.5 * (low + high);
                if best.is_none_or(|b| (root - rest).abs() < (b - rest).abs()) {
                    best = Some(root);
                }
            }
            before = here;
        }
        best.unwrap_or(rest)
    }

    /// With back and belly changed over.
    fn mirrored(&self) -> Self {
        let flip = |p: Point3<f64>| Point3::new(p.x, p.y, -p.z);
        let mut other = self.clone();
        other.form.centre = flip(other.form.centre);
        other.balance.centre_of_mass = flip(other.balance.centre_of_mass);
        other.balance.centre_of_buoyancy = flip(other.balance.centre_of_buoyancy);
        for allowance in &mut other.allowances {
            allowance.centre = flip(allowance.centre);
        }
        other
    }

    /// Moment that turns the nose further down while it sinks steadily at an attitude, in
    /// g·mm²/s².
    #[must_use]
    pub fn moment_at(&self, nose_down: f64, case: Case) -> f64 {
        let flow = self.flow(case);
        let (sin, cos) = libm::sincos(nose_down.to_radians());
        let [u, w] = flow.speeds(sin, cos, self.force());
        let arm = |p: &Point3<f64>| p.x * cos - p.z * sin;
        let weight = self.balance.mass * GRAVITY;
        let lift = self.balance.displaced(&self.water) * GRAVITY;
        let mut sum = lift * arm(&self.balance.centre_of_buoyancy)
            - weight * arm(&self.balance.centre_of_mass);
        let mut at = |p: &Point3<f64>, along: f64, across: f64| sum += p.x * across - p.z * along;
        let [along, across] = flow.hull([u, w]);
        at(&self.form.centre, along, across);
        for a in &self.allowances {
            let [along, across] = flow.sticking_out(a, [u, w]);
            at(&a.centre, along, across);
        }
        let carried = added_mass(self.form.fineness());
        let water = flow.of(TURNING) * flow.density * self.form.volume;
        sum - water * (carried.across - carried.along) * u * w
    }

    /// Falls from rest at the terminal attitude to a depth in mm, or to a share of the terminal
    /// speed, whichever comes first. `None` if it does not sink.
    #[must_use]
    pub fn fall(&self, depth: f64, share: f64, case: Case) -> Option<Fall> {
        let angle = match case {
            _ if self.force() <= 0.0 => return None,
            case => self.attitude(case),
        };
        self.fall_at(angle, depth, share, case)
    }

    /// As [`Sinker::fall`], held at an attitude.
    #[must_use]
    pub fn fall_at(&self, nose_down: f64, depth: f64, share: f64, case: Case) -> Option<Fall> {
        let force = self.force();
        if force.is_nan() || force <= 0.0 {
            return None;
        }
        let flow = self.flow(case);
        let (sin, cos) = libm::sincos(nose_down.to_radians());
        let carried = added_mass(self.form.fineness());
        let water = flow.density * self.form.volume;
        let mass = [
            self.balance.mass + carried.along * water,
            self.balance.mass + carried.across * water,
        ];
        let end = flow.speeds(sin, cos, force);
        let goal = end[0] * sin + end[1] * cos;
        // Each way has its own time to gather speed; the steps follow the shorter one that matters.
        let pull = [force * sin, force * cos];
        let scale = (0..2)
            .filter(|&k| pull[k].abs() > 1e-3 * force)
            .map(|k| mass[k] * (end[k] / pull[k]).abs())
            .fold(f64::INFINITY, f64::min);
        let step = scale / 32.0;
        const MOST_STEPS: usize = 100_000;
        const SETTLED: f64 = 1.0 - 1e-7;
        let rate = |v: [f64; 2]| {
            let drags = flow.drags(v);
            [0, 1].map(|k| (pull[k] - drags[k]) / mass[k])
        };
        let (mut v, mut now) = (
            [0.0; 2],
            Fall {
                time: 0.0,
                depth: 0.0,
                speed: 0.0,
            },
        );
        for _ in 0..MOST_STEPS {
            if now.depth >= depth || now.speed >= share * goal || now.speed >= SETTLED * goal {
                break;
            }
            // The classic Runge-Kutta step; depth by Simpson's rule, which is the same.
            let plus = |a: [f64; 2], b: [f64; 2], h: f64| [a[0] + h * b[0], a[1] + h * b[1]];
            let k1 = rate(v);
            let k2 = rate(plus(v, k1, 0.5 * step));
            let k3 = rate(plus(v, k2, 0.5 * step));
            let k4 = rate(plus(v, k3, step));
            let next =
                [0, 1].map(|k| v[k] + step / 6.0 * (k1[k] + 2.0 * k2[k] + 2.0 * k3[k] + k4[k]));
            let down = |v: [f64; 2]| v[0] * sin + v[1] * cos;
            let middle = 0.5 * (down(plus(v, k1, 0.5 * step)) + down(plus(v, k2, 0.5 * step)));
            let further = step / 6.0 * (down(v) + 4.0 * middle + down(next));
            let after = Fall {
                time: now.time + step,
                depth: now.depth + further,
                speed: down(next),
            };
            let part = [
                (depth - now.depth) / (after.depth - now.depth),
                (share * goal - now.speed) / (after.speed - now.speed),
            ]
            .into_iter()
            .filter(|part| (0.0..1.0).contains(part))
            .fold(1.0, f64::min);
            if part < 1.0 {
                return Some(between(&now, &after, part));
            }
            (v, now) = (next, after);
        }
        if now.depth < depth && share >= SETTLED {
            now.time += (depth - now.depth) / goal;
            now.depth = depth;
            now.speed = goal;
        }
        Some(now)
    }
}

impl Spread<'_> {
    /// Least, middle and most of a figure, given an attitude in degrees of the nose below the
    /// horizontal and a case. The middle is that of the middle case at its own attitude.
    #[must_use]
    pub fn of(&self, figure: impl Fn(f64, Case) -> f64) -> [f64; 3] {
        // Finer than any figure turns between two attitudes. At any one of them the middle drag lies
        // between the others.
        const STEP: f64 = 4.0;
        let [least, middle_angle, most] = self.nose_down();
        let middle = figure(middle_angle, Case::Middle);
        let steps = ((most - least) / STEP).ceil() as usize;
        let between = (0..=steps)
            .map(|i| least + (most - least) * i as f64 / steps.max(1) as f64)
            .chain([middle_angle]);
        let mut ends = [middle; 2];
        for angle in between {
            for case in [Case::Slow, Case::Fast] {
                let here = figure(angle, case);
                ends = [ends[0].min(here), ends[1].max(here)];
            }
        }
        [ends[0], middle, ends[1]]
    }

    /// Least, middle and most of the attitude, in degrees of the nose below the horizontal.
    #[must_use]
    pub fn nose_down(&self) -> [f64; 3] {
        let Band { slow, middle, fast } = self.attitudes;
        [
            slow.min(middle).min(fast),
            middle,
            slow.max(middle).max(fast),
        ]
    }

    /// Least, middle and most of the terminal speed downwards, in mm/s.
    #[must_use]
    pub fn speed(&self) -> [f64; 3] {
        self.of(|angle, case| self.sinker.held_at(angle, case).sink)
    }
}

fn between(a: &Fall, b: &Fall, part: f64) -> Fall {
    let mix = |a: f64, b: f64| a + part * (b - a);
    Fall {
        time: mix(a.time, b.time),
        depth: mix(a.depth, b.depth),
        speed: mix(a.speed, b.speed),
    }
}

impl Flow<'_> {
    fn of(&self, [least, most]: [f64; 2]) -> f64 {
        match self.case {
            Case::Slow => most,
            Case::Middle => 0.5 * (least + most),
            Case::Fast => least,
        }
    }

    /// Drag of the hull along its axis, at such a speed, of which `u` is along it.
    fn along(&self, u: f64, speed: f64) -> f64 {
        let form = &self.sinker.form;
        let reynolds = speed * form.length / self.viscosity;
        let thickness = self.diameter / form.length;
        let factor = drag::form_factor(thickness) * form.wetted * (1.0 - self.bluff);
        let round = if self.bluff > 0.0 {
            let cd = drag::sphere(speed * self.diameter / self.viscosity);
            self.bluff * cd * form.frontal
        } else {
            0.0
        };
        let area = [drag::laminar(reynolds), drag::turbulent(reynolds)].map(|friction| {
            let fore = factor * friction + round;
            let base = if form.base > 0.0 {
                form.base * drag::base(fore / form.base)
            } else {
                0.0
            };
            fore + base
        });
        0.5 * self.density * u * speed * self.of(area)
    }

    /// Drag of the hull across its axis, at such a speed, of which `w` is across it.
    fn across(&self, w: f64, speed: f64) -> f64 {
        let cd = drag::sphere(speed * self.width / self.viscosity) * self.of(self.across);
        0.5 * self.density * w * speed * cd * self.sinker.form.top_area
    }

    /// The speeds that drag along and across goes with. Across a slender body it is the speed across
    /// alone; a ball feels its whole speed whichever way it goes.
    fn felt(&self, [u, w]: [f64; 2]) -> [f64; 2] {
        [u * u + self.bluff * w * w, w * w + self.bluff * u * u].map(f64::sqrt)
    }

    /// Drag of the hull along and across.
    fn hull(&self, [u, w]: [f64; 2]) -> [f64; 2] {
        let felt = self.felt([u, w]);
        let along = if u == 0.0 {
            0.0
        } else {
            self.along(u, felt[0])
        };
        let across = if w == 0.0 {
            0.0
        } else {
            self.across(w, felt[1])
        };
        [along, across]
    }

    fn sticking_out(&self, allowance: &Allowance, [u, w]: [f64; 2]) -> [f64; 2] {
        let half = 0.5 * self.density;
        [
            half * u * u.abs() * self.of(allowance.along),
            half * w * w.abs() * self.of(allowance.across),
        ]
    }

    /// Drag of hull and allowances, along and across.
    fn drags(&self, v: [f64; 2]) -> [f64; 2] {
        self.sinker
            .allowances
            .iter()
            .map(|a| self.sticking_out(a, v))
            .fold(self.hull(v), |sum, more| {
                [sum[0] + more[0], sum[1] + more[1]]
            })
    }

    /// Steady speeds along and across at an attitude.
    fn speeds(&self, sin: f64, cos: f64, force: f64) -> [f64; 2] {
        // Closer to square than this, in parts of the weight, is square.
        const NONE: f64 = 1e-12;
        let push = [force * sin, force * cos];
        let still = push.map(|p| p.abs() <= NONE * force.abs());
        let mut v = [0, 1].map(|k| if still[k] { 0.0 } else { push[k].signum() });
        // Drag goes with the first to the second power of the speed: this closes in from any start.
        for _ in 0..200 {
            let drags = self.drags(v);
            let mut off: f64 = 0.0;
            for k in 0..2 {
                if !still[k] {
                    let ratio = push[k] / drags[k];
                    v[k] *= libm::pow(ratio, 0.6);
                    off = off.max((ratio - 1.0).abs());
                }
            }
            if off < 1e-13 {
                break;
            }
        }
        v
    }
}

#[cfg(test)]
mod tests;
