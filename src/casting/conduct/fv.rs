//! Body, wall and air by finite volumes.

use std::f64::consts::PI;

use super::{Shape, Thermal};

/// Cells across the body, and across the wall.
const CELLS: usize = 80;
/// First time step, as a share of the body's own time L²/α ...
const FIRST: f64 = 2e-5;
/// ... the growth from step to step, ...
const GROWTH: f64 = 1.05;
/// ... and the longest, as a share of the same.
const LONGEST: f64 = 4e-3;
/// Nobody waits longer for a bait, in s.
const A_DAY: f64 = 86_400.0;

/// The wall of the mould round the body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wall {
    /// Thickness, mm.
    pub thickness: f64,
    /// What it is made of.
    pub material: Thermal,
}

/// What the outside of the mould meets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outside {
    /// Kept at the room's temperature, as in running water.
    Held,
    /// A film, W/(m² K): still air about 10 with radiation, a fan 25, water from 200.
    Film(f64),
}

/// A body being cast: the cold wall it is poured into, and what that stands in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Casting {
    /// The direction heat leaves by.
    pub shape: Shape,
    /// Half thickness or radius of the body, mm.
    pub size: f64,
    /// The plastic.
    pub plastic: Thermal,
    /// The mould's wall; `None` for a body that meets the outside itself.
    pub wall: Option<Wall>,
    /// What the outside of the wall meets.
    pub outside: Outside,
    /// Temperature the plastic is poured at, °C.
    pub poured: f64,
    /// Temperature of the room, and of the wall before the first shot, °C.
    pub room: f64,
}

/// One shot as it came down to a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooled {
    /// Time since it was poured, s.
    pub time: f64,
    /// Temperature of the middle, °C.
    pub middle: f64,
    /// Mean temperature of the body, °C.
    pub mean: f64,
    /// Temperature of the face between body and wall, °C.
    pub face: f64,
    /// Temperature of the face the shot was poured against, before it was, °C.
    pub wall_before: f64,
}

impl Casting {
    /// Casts shot after shot into the same mould: each is left until its middle has come down
    /// to `until`, then the mould lies open for `open` seconds, losing heat from its face to
    /// still air, before the next. Ends early with the shot that would take more than a day.
    ///
    /// # Units
    /// `until` in °C, `open` in s.
    #[must_use]
    pub fn shots(&self, count: usize, until: f64, open: f64) -> Vec<Cooled> {
        let mut field = Field::new(self);
        let mut shots = Vec::new();
        for shot in 0..count {
            if shot > 0 {
                field.rest(open);
            }
            let Some(cooled) = field.cool(self.poured, |f| f.middle() <= until) else {
                break;
            };
            shots.push(cooled);
        }
        shots
    }

    /// The state of the first shot after `time` seconds.
    #[must_use]
    pub fn after(&self, time: f64) -> Cooled {
        let mut field = Field::new(self);
        field.pour(self.poured);
        let before = field.wall_face();
        field.run(time, |_| false);
        field.state(time, before)
    }
}

/// A measure of a shell by its radius.
type OfRadius = fn(f64) -> f64;

/// Temperatures cell by cell, middle of the body first.
struct Field<'a> {
    casting: &'a Casting,
    /// Where the wall's cells begin.
    body: usize,
    /// Heat that each cell takes up per kelvin.
    capacity: Vec<f64>,
    /// Heat that flows between each cell and the next per kelvin; the last one is to the room.
    conductance: Vec<f64>,
    /// Conductance from the wall's first cell to still air, with the mould open.
    opened: f64,
    temperature: Vec<f64>,
}

/// Still air on an open mould's face, W/(m² K) (free convection in gases is 2 to 25: Çengel).
const STILL_AIR: f64 = 10.0;

impl<'a> Field<'a> {
    fn new(casting: &'a Casting) -> Self {
        let mut faces: Vec<f64> = (0..=CELLS)
            .map(|i| casting.size * i as f64 / CELLS as f64)
            .collect();
        if let Some(wall) = casting.wall {
            let steps = (1..=CELLS).map(|i| i as f64 / CELLS as f64);
            faces.extend(steps.map(|s| casting.size + wall.thickness * s));
        }
        let cells = faces.len() - 1;
        let stuff = |cell: usize| match casting.wall {
            Some(wall) if cell >= CELLS => wall.material,
            _ => casting.plastic,
        };
        // Per unit of area of a slab, of length of a cylinder, for a whole sphere. In mm and s,
        // with k in W/(m K) and ρc in J/(cm³ K), both sides lack the same factor 1000.
        let (volume, area): (OfRadius, OfRadius) = match casting.shape {
            Shape::Slab => (|r| r, |_| 1.0),
            Shape::Cylinder => (|r| PI * r * r, |r| 2.0 * PI * r),
            Shape::Sphere => (|r| 4.0 / 3.0 * PI * r * r * r, |r| 4.0 * PI * r * r),
        };
        // Resistance of a material between two radii.
        let between = |from: f64, to: f64, k: f64| match casting.shape {
            Shape::Slab => (to - from) / k,
            Shape::Cylinder => libm::log(to / from) / (2.0 * PI * k),
            Shape::Sphere => (1.0 / from - 1.0 / to) / (4.0 * PI * k),
        };
        let middle = |cell: usize| 0.5 * (faces[cell] + faces[cell + 1]);
        let film = |h: f64, r: f64| 1.0 / (h * 1e-3 * area(r));
        let capacity = (0..cells)
            .map(|c| stuff(c).capacity() * (volume(faces[c + 1]) - volume(faces[c])))
            .collect();
        let conductance = (0..cells)
            .map(|c| {
                let face = faces[c + 1];
                let inner = between(middle(c), face, stuff(c).conductivity);
                let outer = if c + 1 < cells {
                    between(face, middle(c + 1), stuff(c + 1).conductivity)
                } else {
                    match casting.outside {
                        Outside::Held => 0.0,
                        Outside::Film(h) => film(h, face),
                    }
                };
                1.0 / (inner + outer)
            })
            .collect();
        let opened = match casting.wall {
            Some(wall) => {
                let inner = between(faces[CELLS], middle(CELLS), wall.material.conductivity);
                1.0 / (film(STILL_AIR, faces[CELLS]) + inner)
            }
            None => 0.0,
        };
        Field {
            casting,
            body: CELLS,
            capacity,
            conductance,
            opened,
            temperature: vec![casting.room; cells],
        }
    }

    fn pour(&mut self, at: f64) {
        self.temperature[..self.body].fill(at);
    }

    fn cool(&mut self, poured: f64, done: impl Fn(&Self) -> bool) -> Option<Cooled> {
        let before = self.wall_face();
        self.pour(poured);
        let time = self.run(A_DAY, done)?;
        Some(self.state(time, before))
    }

    /// The middle, from the first two cells by the parabola that is level there.
    fn middle(&self) -> f64 {
        let (a, b) = (self.temperature[0], self.temperature[1]);
        a + (a - b) / 8.0
    }

    fn wall_face(&self) -> f64 {
        self.temperature
            .get(self.body)
            .copied()
            .unwrap_or(self.casting.room)
    }

    fn state(&self, time: f64, wall_before: f64) -> Cooled {
        let body = 0..self.body;
        let heat: f64 = body
            .clone()
            .map(|c| self.capacity[c] * self.temperature[c])
            .sum();
        let capacity: f64 = body.map(|c| self.capacity[c]).sum();
        // What flows out of the last cell of the body flows through half of that cell.
        let last = self.body - 1;
        let next = self
            .temperature
            .get(self.body)
            .copied()
            .unwrap_or(self.casting.room);
        let flow = self.conductance[last] * (self.temperature[last] - next);
        let (outer, inner) = (
            self.casting.size,
            self.casting.size * (1.0 - 0.5 / CELLS as f64),
        );
        let k = self.casting.plastic.conductivity;
        let half = match self.casting.shape {
            Shape::Slab => (outer - inner) / k,
            Shape::Cylinder => libm::log(outer / inner) / (2.0 * PI * k),
            Shape::Sphere => (1.0 / inner - 1.0 / outer) / (4.0 * PI * k),
        };
        Cooled {
            time,
            middle: self.middle(),
            mean: heat / capacity,
            face: self.temperature[last] - flow * half,
            wall_before,
        }
    }

    /// Runs until it is done, or `most` seconds have passed; the time it took, `None` if it
    /// was not done by then.
    fn run(&mut self, most: f64, done: impl Fn(&Self) -> bool) -> Option<f64> {
        let own = self.casting.size * self.casting.size / self.casting.plastic.diffusivity();
        let (mut time, mut step) = (0.0, FIRST * own);
        if done(self) {
            return Some(0.0);
        }
        while time < most {
            let taken = step.min(most - time);
            let before = self.temperature.clone();
            self.step(taken, 0, 0.0);
            if done(self) {
                // Within the step the course is as good as straight: the share that was needed.
                let (mut low, mut high) = (0.0, taken);
                for _ in 0..30 {
                    let tried = 0.5 * (low + high);
                    self.temperature.clone_from(&before);
                    self.step(tried, 0, 0.0);
                    if done(self) {
                        high = tried;
                    } else {
                        low = tried;
                    }
                }
                return Some(time + high);
            }
            time += taken;
            step = (step * GROWTH).min(LONGEST * own);
        }
        None
    }

    /// The mould lies open.
    fn rest(&mut self, seconds: f64) {
        const STEPS: usize = 50;
        if self.casting.wall.is_none() {
            return;
        }
        for _ in 0..STEPS {
            self.step(seconds / STEPS as f64, self.body, self.opened);
        }
    }

    /// One step of the method TR-BDF2, of second order and without ringing however stiff the
    /// wall, over the cells from `from` on; `inward` is what leaves the first of them to the
    /// room.
    ///
    /// # References
    /// Hosea and Shampine, Appl. Numer. Math. 20 (1996) 21.
    fn step(&mut self, dt: f64, from: usize, inward: f64) {
        let gamma = 2.0 - std::f64::consts::SQRT_2;
        let n = self.temperature.len();
        let room = self.casting.room;
        let start = self.temperature[from..].to_vec();
        let weight = 0.5 * gamma * dt;
        let flow = |t: &[f64], i: usize| {
            let cell = from + i;
            let out = match t.get(i + 1) {
                Some(next) => self.conductance[cell] * (t[i] - next),
                None => self.conductance[cell] * (t[i] - room),
            };
            let back = if i > 0 {
                self.conductance[cell - 1] * (t[i] - t[i - 1])
            } else {
                inward * (t[i] - room)
            };
            -(out + back)
        };
        let count = n - from;
        // Trapezoid to γ dt, then the backward formula through both to dt: the same matrix.
        let right: Vec<f64> = (0..count)
            .map(|i| self.capacity[from + i] * start[i] + weight * flow(&start, i))
            .collect();
        let between = self.solve(from, inward, weight, &right);
        let (a, b) = (
            1.0 / (gamma * (2.0 - gamma)),
            (1.0 - gamma) * (1.0 - gamma) / (gamma * (2.0 - gamma)),
        );
        let right: Vec<f64> = (0..count)
            .map(|i| self.capacity[from + i] * (a * between[i] - b * start[i]))
            .collect();
        let end = self.solve(from, inward, (1.0 - gamma) / (2.0 - gamma) * dt, &right);
        self.temperature[from..].copy_from_slice(&end);
    }

    /// (capacity + weight · conduction) T = right, by elimination along the row of cells.
    fn solve(&self, from: usize, inward: f64, weight: f64, right: &[f64]) -> Vec<f64> {
        let count = right.len();
        let room = self.casting.room;
        let (mut upper, mut value) = (vec![0.0; count], vec![0.0; count]);
        for i in 0..count {
            let cell = from + i;
            let (out, back) = (
                weight * self.conductance[cell],
                weight
                    * if i > 0 {
                        self.conductance[cell - 1]
                    } else {
                        inward
                    },
            );
            let mut diagonal = self.capacity[cell] + out + back;
            let mut r = right[i];
            if i + 1 == count {
                r += out * room;
            }
            if i == 0 {
                r += back * room;
            } else {
                diagonal += back * upper[i - 1];
                r += back * value[i - 1];
            }
            upper[i] = if i + 1 < count { -out / diagonal } else { 0.0 };
            value[i] = r / diagonal;
        }
        for i in (0..count - 1).rev() {
            value[i] -= upper[i] * value[i + 1];
        }
        value
    }
}
