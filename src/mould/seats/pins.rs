//! Pins of both halves that hold a weight off the skin, along the pull.

use nalgebra::{Point3, Vector3};

use super::{Seats, Site, Unseated};
use crate::body::{Body, Master};
use crate::mesh::Mesh;
use crate::mould::tools::turned_upright;
use crate::rig::{Plastic, Shape, WireCourse, hook_course};
use crate::spec::{BodyEnd, Design, Making, Parting, Problem, Route, WeightDesign, WeightShape};

/// Radius at the tip if nothing is said, and the most that is tried for a long pin (reasoned: what
/// leaves no more than a small hole).
const TIP: f64 = 0.6;
const MOST_TIP: f64 = 1.25;
/// A flat tip wider than twice this share of the weight's diameter holds it by its rim (reasoned).
const WIDEST: f64 = 0.3;
/// The widest tip that a spec may ask for, by the rules.
const MOST_ASKED: f64 = 6.0;
/// A pin of this many diameters at its tip stands: hard print or metal, rubber (reasoned: more bends as the
/// weight is laid on it).
const STOUT: [f64; 2] = [5.0, 3.0];
/// Widening a millimetre of length: a draft of 3° a side.
const DRAFT: f64 = 0.0524;
/// How far a pin is rooted in its half.
const ROOT: f64 = 0.5;
/// Where pins touch: this share of the weight's half-thickness off its axis. Steep enough to cradle it.
const ASIDE: f64 = 0.55;
/// A pin's end stands before the end of a weight over at most this height.
const STOP: f64 = 1.0;

/// A pin of one half.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Pin {
    /// Which weight it holds, by its place in the spec.
    pub weight: usize,
    /// Whether it stands on the upper half.
    pub upper: bool,
    /// Middle of its tip, in the mould's axes.
    pub tip: Point3<f64>,
    /// Radius of the tip.
    pub radius: f64,
    /// Its length from the tip to the wall of the cavity.
    pub length: f64,
    /// Length with its root.
    whole: f64,
}

impl Pin {
    /// Radius at a distance from the tip.
    fn radius_at(&self, distance: f64) -> f64 {
        self.radius + DRAFT * distance
    }

    /// Radius at the wall of the cavity: that of the hole in the bait.
    pub fn foot_radius(&self) -> f64 {
        self.radius_at(self.length)
    }

    /// Points of its foot, from the wall of the cavity to the end of its root.
    pub(super) fn foot(&self) -> impl Iterator<Item = Point3<f64>> {
        let (pin, out) = (*self, if self.upper { 1.0 } else { -1.0 });
        [pin.length, pin.whole].into_iter().flat_map(move |from| {
            let z = pin.tip.z + out * from;
            rim(pin.tip.x, pin.tip.y, z, pin.radius_at(from), 16)
        })
    }

    /// The pin with its root, as a solid.
    pub(super) fn mesh(&self, tolerance: f64) -> Mesh {
        let z = self.tip.z;
        let foot = self.radius_at(self.whole);
        let corners = if self.upper {
            [(z, self.radius), (z + self.whole, foot)]
        } else {
            [(z - self.whole, foot), (z, self.radius)]
        };
        // Round enough for so thin a thing.
        let fine = tolerance.min(0.05 * self.radius);
        turned_upright([self.tip.x, self.tip.y], &corners, fine)
    }
}

/// A weight in its place.
struct Weight<'a> {
    site: &'a Site<'a>,
    index: usize,
    design: WeightDesign,
    shape: Shape,
    /// What else is cast in.
    others: Vec<Shape>,
    /// Loose cores that stand in the mould, in the body's axes.
    cores: &'a [Plastic],
}

/// Where a pin goes: off the weight's middle in x and y, and whether it stands beside the end.
#[derive(Clone, Copy)]
struct Place {
    upper: bool,
    along: f64,
    aside: f64,
    stop: bool,
}

/// Why a pin cannot be had.
enum Cannot {
    /// There is more than the wall over the weight.
    Blocked,
    /// Something else is in the way.
    Crowded,
    /// The parting face steps aside there, and the pin with it.
    Stepped,
    /// It would be this long.
    Slender(f64),
    /// A tip of the radius that is asked for; the most is this.
    Wide(f64),
}

pub(super) fn place(site: &Site<'_>, body: &Body, seats: &mut Seats, problems: &mut Vec<Problem>) {
    let design = site.design;
    let asked = design.mould.seats.weights;
    if asked == Some(false) {
        return;
    }
    let rig = &design.rig;
    let length = design.body.length;
    if design.mould.route == Route::Board {
        on_board(design, seats, problems);
        return;
    }
    // Each rigid thing keeps its size; its middle is where it is in the bait.
    let moved = |shape: Shape, middle: Point3<f64>| match shape {
        Shape::Strands { lines, radius } => Shape::Strands {
            lines: lines
                .into_iter()
                .map(|l| {
                    l.into_iter()
                        .map(|p| p + middle.coords * (site.size - 1.0))
                        .collect()
                })
                .collect(),
            radius,
        },
        turned => turned,
    };
    let mut strands = Vec::new();
    let wire = rig
        .wire
        .as_ref()
        .map(|wire| (wire, WireCourse::of(wire, length)));
    if let Some((wire, course)) = &wire {
        let shape = Shape::Strands {
            lines: vec![course.run.to_vec()],
            radius: 0.5 * wire.diameter,
        };
        strands.push(moved(
            shape,
            nalgebra::center(&course.run[0], &course.run[1]),
        ));
    }
    if let Some(hook) = &rig.hook {
        let middle = hook.at + 0.5 * (hook.eye + hook.wire + hook.shank);
        let shape = Shape::Strands {
            lines: hook_course(hook).to_vec(),
            radius: 0.5 * hook.wire,
        };
        strands.push(moved(shape, Point3::new(middle, 0.0, hook.height)));
    }
    // Eyes and turns are beside the straight run, and so beside a weight that is strung on it.
    let mut ends = Vec::new();
    if let Some((wire, course)) = &wire {
        let middle = nalgebra::center(&course.run[0], &course.run[1]);
        for (end, eye) in course.run.iter().zip(course.eyes) {
            let Some(eye) = eye else { continue };
            let around = rim(0.0, 0.0, 0.0, eye.radius, 24).skip(1);
            let mut line: Vec<Point3<f64>> = around
                .map(|p| Point3::new(eye.centre.x + p.x, 0.0, eye.centre.z + p.y))
                .collect();
            line.extend(line.first().copied());
            let radius = 0.5 * wire.diameter;
            let turns = if wire.twists > 0 {
                3.0 * radius
            } else {
                radius
            };
            for (line, radius) in [(line, radius), (vec![*end, eye.root], turns)] {
                let lines = vec![line];
                ends.push(moved(Shape::Strands { lines, radius }, middle));
            }
        }
    }
    let cores = cores(site, body);
    let placed: Vec<WeightDesign> = rig
        .weights
        .iter()
        .map(|w| WeightDesign {
            at: w.at * site.size,
            height: w.height * site.size,
            ..*w
        })
        .collect();
    let seated = seats.exits.iter().any(|e| e.path == "wire");
    let mut weights = Vec::new();
    for (index, weight) in placed.iter().enumerate() {
        let strung = wire.as_ref().is_some_and(|(wire, course)| {
            let half = 0.5 * weight.length;
            let ends = course.run.map(|p| p.x);
            (wire.height * site.size - weight.height).abs() <= 0.5 * weight.hole
                && ends[0] <= weight.at - half
                && weight.at + half <= ends[1]
        });
        if strung && seated && asked != Some(true) {
            continue;
        }
        let mut others = ends.clone();
        if !strung {
            others.extend(strands.iter().cloned());
        }
        let rest = placed.iter().enumerate().filter(|(i, _)| *i != index);
        others.extend(rest.map(|(_, w)| Shape::of_weight(w)));
        weights.push(Weight {
            site,
            index,
            design: *weight,
            shape: Shape::of_weight(weight),
            others,
            cores: &cores,
        });
    }
    let found: Vec<_> = weights.iter().map(Weight::pins).collect();
    let slender = found.iter().filter_map(|found| match found {
        Err(Cannot::Slender(length)) => Some(*length),
        _ => None,
    });
    let longest = slender.fold(0.0, f64::max);
    let thicker = (longest > 0.0)
        .then(|| serving(&weights, longest))
        .flatten();
    for (weight, found) in weights.iter().zip(found) {
        match found {
            Ok(pins) => seats.pins.extend(pins),
            Err(cannot) => {
                weight
                    .unseated(&cannot, thicker)
                    .told(asked, &mut seats.notes, problems)
            }
        }
    }
}

/// The least diameter at the tip with which the pins of every weight stand, found by trying from
/// that which is stout enough for this length; thicker pins also end farther from a round weight's
/// middle.
fn serving(weights: &[Weight<'_>], longest: f64) -> Option<f64> {
    const STEP: f64 = 0.05;
    let slimmest = weights.iter().map(|w| w.design.diameter);
    let most = (2.0 * WIDEST * slimmest.fold(f64::INFINITY, f64::min)).min(MOST_ASKED);
    let least = libm::ceil(100.0 * longest / weights.first()?.stout()) / 100.0;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let steps = ((most - least + 1e-9).max(0.0) / STEP) as usize;
    let mut tries = (0..=steps).map(|i| least + STEP * i as f64);
    tries.find(|&tip| tip <= most + 1e-9 && weights.iter().all(|w| w.all_pins(0.5 * tip).is_ok()))
}

/// A master that the silicone is poured over shows it no pins.
fn on_board(design: &Design, seats: &mut Seats, problems: &mut Vec<Problem>) {
    let wired = seats.exits.iter().any(|e| e.path == "wire");
    for (i, weight) in design.rig.weights.iter().enumerate() {
        let strung =
            design.rig.wire.as_ref().is_some_and(|wire| {
                wired && crate::rig::is_strung(wire, weight, design.body.length)
            });
        if strung && design.mould.seats.weights != Some(true) {
            continue;
        }
        let unseated = Unseated {
            path: "mould.seats.weights",
            what: format!(
                "weight[{i}] would stand on pins within the bait, and silicone that is poured over a master has none"
            ),
            value: "route = \"board\"".to_owned(),
            hint: "take route = \"boxes\", or string it on a wire: weight.hole".to_owned(),
        };
        unseated.told(design.mould.seats.weights, &mut seats.notes, problems);
    }
}

/// Loose cores of bores, slots and pockets that are cast.
fn cores(site: &Site<'_>, body: &Body) -> Vec<Plastic> {
    if site.design.rig.weights.is_empty() || !has_cores(site.design) {
        return Vec::new();
    }
    // A master that cannot be made is told where it is made for the mould.
    let master = Master::build(site.design, body);
    let cores = master.map(|master| master.cores).unwrap_or_default();
    cores.into_iter().map(Plastic::new).collect()
}

fn has_cores(design: &Design) -> bool {
    let mut how = (design.bore.iter().map(|b| b.how))
        .chain(design.slot.iter().map(|s| s.how))
        .chain(design.pocket.iter().map(|p| p.how));
    how.any(|how| how == Making::Cast)
}

impl Weight<'_> {
    /// Stout enough, as diameters.
    fn stout(&self) -> f64 {
        STOUT[usize::from(self.site.design.mould.route != Route::Block)]
    }

    fn pins(&self) -> Result<Vec<Pin>, Cannot> {
        let asked = self.site.design.mould.seats.pin_radius;
        let widest = WIDEST * self.design.diameter;
        if asked.is_some_and(|radius| radius > widest + 1e-9) {
            return Err(Cannot::Wide(widest));
        }
        let mut tip = asked.unwrap_or(TIP.min(widest));
        let most = MOST_TIP.min(0.2 * self.design.diameter).max(tip);
        loop {
            let found = self.all_pins(tip);
            match found {
                Err(Cannot::Slender(_)) if asked.is_none() && tip + 0.05 < most => tip += 0.05,
                found => return found,
            }
        }
    }

    /// All its pins with tips of this radius. What is in the way of one of them is told before that
    /// another is too long: thicker pins would not help.
    fn all_pins(&self, tip: f64) -> Result<Vec<Pin>, Cannot> {
        let found = self.places().into_iter().map(|place| self.pin(place, tip));
        let (mut pins, mut slender) = (Vec::new(), None::<f64>);
        for found in found {
            match found {
                Ok(pin) => pins.push(pin),
                Err(Cannot::Slender(length)) => {
                    slender = Some(slender.map_or(length, |longest| longest.max(length)));
                }
                Err(other) => return Err(other),
            }
        }
        slender.map_or(Ok(pins), |length| Err(Cannot::Slender(length)))
    }

    /// Three pins under it and three over it, turned against each other, so that together
    /// they leave it no way; and two beside the end that it could slide out by.
    fn places(&self) -> Vec<Place> {
        let (r, l) = (0.5 * self.design.diameter, self.design.length);
        let mut places = Vec::new();
        for upper in [false, true] {
            let sign = if upper { -1.0 } else { 1.0 };
            let mut at = |along: f64, aside: f64| {
                places.push(Place {
                    upper,
                    along,
                    aside,
                    stop: false,
                });
            };
            if self.design.shape == WeightShape::Ball {
                let (far, near) = (ASIDE * r, 0.5 * ASIDE * r);
                at(sign * far, 0.0);
                at(-sign * near, near * 3.0_f64.sqrt());
                at(-sign * near, -near * 3.0_f64.sqrt());
            } else {
                let stations = match self.design.shape {
                    WeightShape::Cone => [0.0, 0.3 * l],
                    _ => [-0.25 * l, 0.25 * l],
                };
                let [pair, single] = if upper {
                    [stations[1], stations[0]]
                } else {
                    stations
                };
                let aside = ASIDE * self.radius_at(pair);
                at(pair, aside);
                at(pair, -aside);
                at(single, 0.0);
            }
            // The end that is low as the mould stands.
            let down = match self.site.design.mould.sprue_end {
                BodyEnd::Nose => 1.0,
                BodyEnd::Tail => -1.0,
            };
            let slides = match self.design.shape {
                WeightShape::Cylinder => true,
                WeightShape::Cone => down > 0.0,
                _ => false,
            };
            if slides {
                places.push(Place {
                    upper,
                    along: down * 0.5 * l,
                    aside: 0.0,
                    stop: true,
                });
            }
        }
        places
    }

    /// Half its thickness at a distance behind the middle of its length.
    fn radius_at(&self, along: f64) -> f64 {
        let r = 0.5 * self.design.diameter;
        let x = self.design.at + along;
        const STEPS: i32 = 400;
        (0..=STEPS)
            .map(|i| r * (1.0 - f64::from(i) / f64::from(STEPS)))
            .find(|&rho| {
                self.shape
                    .distance(&Point3::new(x, 0.0, self.design.height + rho))
                    <= 1e-9
            })
            .unwrap_or(0.0)
    }

    /// From the mould's axes.
    fn in_body(&self, p: &Point3<f64>) -> Point3<f64> {
        match self.site.design.mould.parting {
            Parting::Waist => *p,
            Parting::Flank => Point3::new(p.x, p.z, -p.y),
        }
    }

    fn middle(&self) -> Point3<f64> {
        self.site
            .placed(&Point3::new(self.design.at, 0.0, self.design.height))
    }

    fn pin(&self, place: Place, radius: f64) -> Result<Pin, Cannot> {
        let clearance = self.site.clearance();
        let middle = self.middle();
        let out = if place.upper { 1.0 } else { -1.0 };
        let half = 0.5 * self.design.diameter;
        let (mut x, y) = (middle.x + place.along, middle.y + place.aside);
        let z = if place.stop {
            let over = STOP.min(0.4 * half);
            // Its flank is wider by its draft where the weight's edge is.
            x += place.along.signum() * (clearance + radius + DRAFT * over);
            middle.z + out * (half - over)
        } else {
            let gap = |z: f64| {
                disc(x, y, z, radius)
                    .map(|p| self.shape.distance(&self.in_body(&p)))
                    .fold(f64::INFINITY, f64::min)
            };
            let (mut near, mut far) = (0.0, half + clearance + 1.0);
            for _ in 0..60 {
                let mid = 0.5 * (near + far);
                if gap(middle.z + out * mid) >= clearance {
                    far = mid;
                } else {
                    near = mid;
                }
            }
            middle.z + out * far
        };
        let tip = Point3::new(x, y, z);
        let up = Vector3::new(0.0, 0.0, out);
        let mut length: f64 = 0.0;
        // The wall is looked for round the foot, which the middle's wall tells the size of.
        for ring in 0..2 {
            let around = if ring == 0 {
                0.0
            } else {
                radius + DRAFT * (length + ROOT)
            };
            for p in rim(x, y, z, around, 8) {
                // Off any edge of the master's rows.
                let from = p + Vector3::new(1.3e-7, 1.7e-7, 0.0);
                let mut hits: Vec<f64> = self
                    .site
                    .master
                    .along(&from, &up)
                    .into_iter()
                    .map(|hit| hit.along)
                    .filter(|&along| along > 0.0)
                    .collect();
                hits.dedup_by(|a, b| (*a - *b).abs() < 1e-7);
                let [wall] = hits[..] else {
                    return Err(Cannot::Blocked);
                };
                length = length.max(wall);
            }
        }
        let pin = Pin {
            weight: self.index,
            upper: place.upper,
            tip,
            radius,
            length,
            whole: length + ROOT,
        };
        if self.site.face.is_stepped([tip.x, tip.y], pin.foot_radius()) {
            return Err(Cannot::Stepped);
        }
        const ALONG: i32 = 24;
        for i in 0..=ALONG {
            let from_tip = length * f64::from(i) / f64::from(ALONG);
            let p = self.in_body(&(tip + up * from_tip));
            let needed = pin.radius_at(from_tip) + clearance;
            if self.others.iter().any(|other| other.distance(&p) < needed)
                || self.cores.iter().any(|core| core.depth(&p) > -needed)
            {
                return Err(Cannot::Crowded);
            }
        }
        if length > self.stout() * 2.0 * radius {
            return Err(Cannot::Slender(length));
        }
        Ok(pin)
    }

    /// What to say; `thicker` is a diameter of the tips that serves all weights.
    fn unseated(&self, cannot: &Cannot, thicker: Option<f64>) -> Unseated {
        let design = self.site.design;
        let show = |mm: f64| design.units.show(mm);
        let at = self.site.along(&self.middle());
        let (what, value, hint) = match cannot {
            Cannot::Blocked => (
                format!(
                    "the mould's wall cannot reach weight[{}] along the pull",
                    self.index
                ),
                at,
                "move the weight away from the edge of the body, from fins and hollows, or part the mould the other \
                 way: mould.parting"
                    .to_owned(),
            ),
            Cannot::Crowded => (
                format!(
                    "something else that is cast in, or a core, stands between weight[{}] and the wall",
                    self.index
                ),
                at,
                "move one of them, or string the weight on the wire: weight.hole".to_owned(),
            ),
            Cannot::Stepped => (
                format!(
                    "the parting face steps aside for a fin where a pin to weight[{}] would stand",
                    self.index
                ),
                at,
                "move the weight or the fin, string it on the wire (weight.hole), or part the mould along the \
                 flank: mould.parting"
                    .to_owned(),
            ),
            Cannot::Slender(length) => (
                format!(
                    "pins to weight[{}] would be more than {} times as long as they are thick",
                    self.index,
                    self.stout()
                ),
                format!("{} long, {at}", show(*length)),
                format!(
                    "{}the other parting (mould.parting), a larger weight, or string it on the wire with weight.hole",
                    thicker.map_or(String::new(), |tip| {
                        // Rounded up, so that what is read is enough.
                        let tip = libm::ceil(100.0 * tip - 1e-6) / 100.0;
                        format!("thicker pins (mould.seats.pin at least {}), ", show(tip))
                    })
                ),
            ),
            Cannot::Wide(most) => (
                format!("pins are too wide at their tips to hold weight[{}]", self.index),
                at,
                format!("thinner pins: mould.seats.pin at most {}", show(2.0 * most)),
            ),
        };
        Unseated {
            path: "mould.seats.weights",
            what,
            value,
            hint,
        }
    }
}

/// Points round a level circle, on the chords of `corners` too, and its middle.
fn rim(x: f64, y: f64, z: f64, radius: f64, corners: i32) -> impl Iterator<Item = Point3<f64>> {
    let round = move |i: i32| {
        let turn = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(corners);
        let (sin, cos) = libm::sincos(turn);
        Point3::new(x + radius * cos, y + radius * sin, z)
    };
    std::iter::once(Point3::new(x, y, z)).chain((0..corners).map(round))
}

/// Points over a level circle, close enough for what rounds under it.
#[allow(clippy::cast_possible_truncation)]
fn disc(x: f64, y: f64, z: f64, radius: f64) -> impl Iterator<Item = Point3<f64>> {
    const APART: f64 = 0.2;
    let rings = libm::ceil(radius / APART).clamp(1.0, 20.0) as i32;
    let at = move |i: i32| radius * f64::from(i) / f64::from(rings);
    (1..=rings).flat_map(move |i| rim(x, y, z, at(i), 24))
}
