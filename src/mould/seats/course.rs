//! Grooves along wire and hook where they are out of the body, and the channel of a skirt's
//! strands.

use nalgebra::Point3;

use super::{Exit, Form, Held, LAND, STEP, Seat, Seats, Site, Unseated, parts_upright};
use crate::body::Body;
use crate::mesh::slice::Sliced;
use crate::rig::{Plastic, WireCourse, hook_course};
use crate::spec::{BodyEnd, Making, Parting, Problem};

/// Room in an eye's pocket for a loop bent by hand, in mm and in wire's thicknesses, whichever is less
/// (reasoned).
const BY_HAND: (f64, f64) = (0.3, 0.5);
/// How far a groove is sunk into the cavity beyond where it is buried whole, in mm.
const BURIED: f64 = 0.1;
/// How far wrapped wire's groove reaches over the straight wire's, so that they fuse.
const OVERLAP: f64 = 0.3;
/// Off the parting plane by less than this is in it.
const FLAT: f64 = 1e-6;
/// Share of a pinched bundle's section that its strands fill (reasoned: round strands packed at random
/// fill about seven tenths).
const PACKED: f64 = 0.7;
/// A bare end that stands out by less is not held by a groove of its length (reasoned).
const STUB: f64 = 2.0;
/// Least radius inside a groove's bend, and least width of the land within a loop.
const BEND: f64 = 0.15;

/// Points along a line, no further apart than `step`, its corners among them.
pub(super) fn dense(line: &[Point3<f64>], step: f64) -> Vec<Point3<f64>> {
    let mut points = Vec::new();
    for w in line.windows(2) {
        let length = (w[1] - w[0]).norm();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let n = (libm::ceil(length / step) as usize).clamp(1, 8192);
        points.extend((0..n).map(|i| w[0] + (w[1] - w[0]) * (i as f64 / n as f64)));
    }
    points.extend(line.last());
    points
}

/// A stretch of a line over which it is not wholly buried in the body.
struct Stretch {
    line: Vec<Point3<f64>>,
    /// Whether it begins and ends buried.
    buried: [bool; 2],
    /// Where it crosses the surface.
    crossings: Vec<Point3<f64>>,
    /// Whether all of a closed line is out.
    closed: bool,
    /// How deep it lies where it is least so, and where that is.
    shallowest: (f64, Point3<f64>),
}

impl Stretch {
    /// Where it leaves the body; where it only stands a little out of the skin, the middle of that.
    fn at(&self) -> Vec<Point3<f64>> {
        let (depth, place) = self.shallowest;
        if self.crossings.is_empty() && depth >= 0.0 {
            vec![place]
        } else {
            self.crossings.clone()
        }
    }
}

/// Stretches of a line that are not buried by `radius` with its gap at least. Those that are
/// buried by the insert's own radius all along are left out: nothing of it is in the halves' way.
fn emerging(
    line: &[Point3<f64>],
    closed: bool,
    (radius, clearance): (f64, f64),
    plastic: &Plastic,
) -> Vec<Stretch> {
    // A closed line begins where it is deepest, so that no stretch runs over its end.
    let mut line = line.to_vec();
    if closed {
        line.pop();
        let depths: Vec<f64> = line.iter().map(|p| plastic.depth(p)).collect();
        let deepest = (0..line.len()).max_by(|&a, &b| depths[a].total_cmp(&depths[b]));
        line.rotate_left(deepest.unwrap_or(0));
        line.push(line[0]);
    }
    let mut found: Vec<Stretch> = Vec::new();
    let mut open = false;
    let points = dense(&line, STEP);
    let depths: Vec<f64> = points.iter().map(|p| plastic.depth(p)).collect();
    let limit = radius + BURIED;
    let corner = |p: &Point3<f64>| line.contains(p);
    for i in 0..points.len() {
        let p = points[i];
        let out = depths[i] < limit;
        if out && !open {
            // Begins at the buried place before.
            let buried = i > 0;
            let start = if buried { points[i - 1] } else { p };
            found.push(Stretch {
                line: vec![start],
                buried: [buried, false],
                crossings: Vec::new(),
                closed: false,
                shallowest: (f64::INFINITY, p),
            });
        }
        if let Some(stretch) = found.last_mut()
            && (out || open)
        {
            if depths[i] < stretch.shallowest.0 {
                stretch.shallowest = (depths[i], p);
            }
            if i > 0 && (depths[i] > 0.0) != (depths[i - 1] > 0.0) {
                let t = depths[i - 1] / (depths[i - 1] - depths[i]);
                stretch
                    .crossings
                    .push(points[i - 1] + (p - points[i - 1]) * t);
            }
            // Corners a little away from the ends are kept, so that no piece is too short to mitre.
            let apart = stretch
                .line
                .last()
                .is_some_and(|q| (p - q).norm() > 0.4 * STEP);
            let ends = !out || i + 1 == points.len();
            if ends {
                if !apart && stretch.line.len() > 1 {
                    stretch.line.pop();
                }
                stretch.line.push(p);
                stretch.buried[1] = !out;
            } else if apart && corner(&p) {
                stretch.line.push(p);
            }
        }
        open = out;
    }
    if closed
        && let [one] = &mut found[..]
        && one.buried == [false; 2]
    {
        one.closed = true;
        one.line.clone_from(&line);
    }
    let own = radius - clearance;
    found.retain(|s| s.shallowest.0 < own || !s.crossings.is_empty());
    found.retain(|s| {
        s.closed || s.line.len() > 1 && (s.line[0] - s.line[s.line.len() - 1]).norm() > 1e-6
    });
    found
}

/// Lengthens a line beyond one of its ends.
fn lengthen(line: &mut [Point3<f64>], end: usize, by: f64) {
    let (at, next) = if end == 0 {
        (0, 1)
    } else {
        (line.len() - 1, line.len() - 2)
    };
    let out = (line[at] - line[next]).normalize();
    line[at] += out * by;
}

/// Where a stretch at a wire's end comes out of the body, as x; its own end if it does not.
fn crossing_of(stretch: &Stretch, outward: f64) -> f64 {
    let ends = stretch.crossings.iter().map(|p| p.x);
    let first = ends.min_by(|a, b| (outward * a).total_cmp(&(outward * b)));
    let last = stretch.line.iter().map(|p| p.x);
    first.unwrap_or_else(|| outward * last.map(|x| outward * x).fold(f64::NEG_INFINITY, f64::max))
}

/// How far a point lies off the parting plane.
fn off(p: &Point3<f64>) -> f64 {
    p.z.abs()
}

pub(super) fn wire(site: &Site<'_>, seats: &mut Seats, problems: &mut Vec<Problem>) {
    let design = site.design;
    let asked = design.mould.seats.wire;
    let Some(wire) = &design.rig.wire else { return };
    if asked == Some(false) {
        return;
    }
    let units = design.units;
    // A bore that is cast where the wire runs is what the wire is threaded through.
    let threaded = design.bore.iter().position(|bore| {
        let line = [
            bore.from.unwrap_or_default(),
            bore.to.unwrap_or([1.0, 0.0, 0.0]),
        ];
        let along =
            line[0][1] == 0.0 && line[1][1] == 0.0 && (line[0][2] - line[1][2]).abs() < 1e-9;
        let apart = (line[0][2] - wire.height).abs();
        bore.how == Making::Cast && along && apart + 0.5 * wire.diameter <= bore.radius + 1e-9
    });
    if let Some(i) = threaded {
        let unseated = Unseated {
            path: "mould.seats.wire",
            what: format!(
                "bore[{i}] is cast where the wire runs, so that the wire is threaded afterwards"
            ),
            value: String::new(),
            hint: format!("without bore[{i}] the wire is laid in its seats and cast in"),
        };
        unseated.told(asked, &mut seats.notes, problems);
        return;
    }
    // Its middle is where it is in the bait; its length is the wire's own.
    let length = design.body.length;
    let course = WireCourse::of(wire, length);
    let middle = nalgebra::center(&course.run[0], &course.run[1]);
    let shift = middle.coords * (site.size - 1.0);
    let placed = |p: &Point3<f64>| site.placed(&(p + shift));
    let clearance = site.clearance();
    let radius = 0.5 * wire.diameter + clearance;
    let plastic = Plastic::new(site.master.mesh().clone());
    let run = course.run.map(|p| placed(&p));
    let mut stretches = emerging(&run, false, (radius, clearance), &plastic);
    let mut made: Vec<Seat> = Vec::new();
    let mut exits: Vec<Exit> = Vec::new();
    let mut flush: Vec<String> = Vec::new();
    for k in 0..2 {
        let end = run[k];
        let outward = if k == 0 { -1.0 } else { 1.0 };
        let mine = stretches
            .iter()
            .position(|s| (s.line[if k == 0 { 0 } else { s.line.len() - 1 }] - end).norm() < 1e-9);
        let eye = course.eyes[k].map(|eye| (placed(&eye.root), placed(&eye.centre), eye.radius));
        let mut own: Vec<Seat> = Vec::new();
        let mut at: Vec<Point3<f64>> = Vec::new();
        let seat = |held, form, radius| Seat {
            held,
            form,
            radius,
            exit: 0,
        };
        if let Some(i) = mine {
            let mut stretch = stretches.remove(i);
            let out = -outward * (crossing_of(&stretch, outward) - end.x);
            if eye.is_none() && out < STUB {
                let (name, key) = [("nose", "from"), ("tail", "to")][k];
                flush.push(format!(
                    "At the {name} the wire stands out of the body by {} only, which nothing can hold: let it stand \
                     out further (wire.{key}), and cut it off after casting.",
                    units.show(out.max(0.0))
                ));
            }
            if eye.is_none() {
                let last = if k == 0 { 0 } else { 1 };
                lengthen(&mut stretch.line, last, radius);
            }
            at.clone_from(&stretch.crossings);
            let form = Form::Groove {
                line: stretch.line,
                closed: false,
            };
            own.push(seat(Held::Wire, form, radius));
        }
        if let Some((root, centre, loop_radius)) = eye {
            let wide = 1.5 * wire.diameter + clearance;
            if wire.twists > 0 {
                let parts = emerging(&[end, root], false, (wide, clearance), &plastic);
                for mut part in parts {
                    at.extend(&part.crossings);
                    if !part.buried[0] {
                        lengthen(&mut part.line, 0, OVERLAP);
                    }
                    let form = Form::Groove {
                        line: part.line,
                        closed: false,
                    };
                    own.push(seat(Held::Wrapped, form, wide));
                }
            }
            const AROUND: i32 = 24;
            let upright = !parts_upright(design.mould.parting);
            let is_out = (0..AROUND).any(|i| {
                let turn = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(AROUND);
                let (sin, cos) = libm::sincos(turn);
                let mut p = centre;
                p.x += loop_radius * cos;
                p[if upright { 2 } else { 1 }] += loop_radius * sin;
                plastic.depth(&p) < radius
            });
            if is_out {
                let room = BY_HAND.0.min(BY_HAND.1 * wire.diameter);
                let form = Form::Pocket {
                    centre,
                    half: radius,
                    upright,
                };
                own.push(seat(Held::Eye, form, loop_radius + radius + room));
            }
        }
        if own.is_empty() {
            continue;
        }
        if at.is_empty() {
            // It leaves with its very end, or within the eye.
            at.push(end);
        }
        let far = eye.map_or(end.x, |(root, ..)| root.x);
        let first = at
            .iter()
            .map(|p| outward * p.x)
            .fold(f64::INFINITY, f64::min);
        let pocket = own.iter().find(|s| s.held == Held::Eye);
        let edge = match pocket {
            Some(Seat {
                form: Form::Pocket { centre, .. },
                radius,
                ..
            }) => outward * centre.x - radius,
            _ => outward * far,
        };
        exits.push(Exit {
            path: "wire",
            at,
            land: (edge - first).max(0.0),
            in_sprue: false,
            note: None,
        });
        own.iter_mut().for_each(|s| s.exit = exits.len() - 1);
        made.extend(own);
    }
    // Where it comes out and goes in again on its way.
    for stretch in stretches {
        exits.push(Exit {
            path: "wire",
            at: stretch.at(),
            land: 0.0,
            in_sprue: false,
            note: None,
        });
        let form = Form::Groove {
            line: stretch.line,
            closed: false,
        };
        made.push(Seat {
            held: Held::Wire,
            form,
            radius,
            exit: exits.len() - 1,
        });
    }
    seats.notes.extend(flush);
    if made.is_empty() {
        if asked == Some(true) {
            problems.push(
                Problem::new("mould.seats.wire", "the wire comes out of the body nowhere")
                    .hint("let it reach further: wire.from, wire.to"),
            );
        }
        return;
    }
    let lifted = off(&run[0]);
    if lifted > FLAT {
        let unseated = Unseated {
            path: "mould.seats.wire",
            what: format!(
                "the wire leaves the body {} {} the parting face",
                units.show(lifted),
                if run[0].z > 0.0 { "above" } else { "below" }
            ),
            value: exits
                .iter()
                .find_map(|exit| exit.at.first())
                .map_or(String::new(), |at| format!("at {}", site.along(at))),
            hint: "in the waist only a wire at wire.height = 0 is seated; mould.parting = \"flank\" seats it at \
                   any height"
                .to_owned(),
        };
        unseated.told(asked, &mut seats.notes, problems);
        return;
    }
    for (i, exit) in exits.iter_mut().enumerate() {
        let straight = made.iter().any(|s| {
            s.held == Held::Wire
                && s.exit == i
                && matches!(&s.form, Form::Groove { line, .. } if {
                    let out = exit.at.iter().map(|p| p.x);
                    let crossing = out.fold(f64::NAN, f64::min);
                    line.iter().any(|p| (p.x - crossing).abs() > LAND && plastic.depth(p) < 0.0)
                })
        });
        let wrapped = made.iter().any(|s| s.held == Held::Wrapped && s.exit == i);
        if wrapped
            && !straight
            && let Some(at) = exit.at.first()
        {
            let (key, way) = if at.x < middle.x {
                ("wire.from", "before")
            } else {
                ("wire.to", "behind")
            };
            exit.note = Some(format!(
                "The wire leaves the body at {} with its end wrapped round it, and its groove closes on the turns: a \
                 little plastic may run between them. With {key} 2 mm {way} the body it closes on straight wire.",
                site.along(at)
            ));
        }
    }
    take(seats, exits, made);
}

/// Adds exits with their seats.
fn take(seats: &mut Seats, exits: Vec<Exit>, made: Vec<Seat>) {
    let first = seats.exits.len();
    seats.exits.extend(exits);
    seats.seats.extend(made.into_iter().map(|mut seat| {
        seat.exit += first;
        seat
    }));
}

pub(super) fn hook(site: &Site<'_>, seats: &mut Seats, problems: &mut Vec<Problem>) {
    let design = site.design;
    let asked = design.mould.seats.hook;
    let Some(hook) = &design.rig.hook else { return };
    if asked == Some(false) {
        return;
    }
    let units = design.units;
    let clearance = site.clearance();
    let radius = 0.5 * hook.wire + clearance;
    let most = 0.5 * hook.gap - BEND;
    if clearance > most {
        problems.push(
            Problem::new(
                "mould.seats.clearance",
                "the hook's bend is too tight for a groove with this gap",
            )
            .value(units.show(clearance))
            .limit(format!("at most {}", units.show(most.max(0.0))))
            .hint("a closer gap, a hook with more of it (hook.gap), or leave its seat out: mould.seats.hook = false"),
        );
        return;
    }
    // The middle of its shank is where it is in the bait; the hook is no larger.
    let along = hook.at + 0.5 * (hook.eye + hook.wire) + 0.5 * hook.shank;
    let shift = Point3::new(along, 0.0, hook.height).coords * (site.size - 1.0);
    let placed = |line: &[Point3<f64>]| -> Vec<Point3<f64>> {
        line.iter().map(|p| site.placed(&(p + shift))).collect()
    };
    let [eye, rest] = hook_course(hook);
    let (mut eye, rest) = (placed(&eye), placed(&rest));
    let plastic = Plastic::new(site.master.mesh().clone());
    let mut made: Vec<Seat> = Vec::new();
    let mut exits: Vec<Exit> = Vec::new();
    let mut push = |form: Form, radius: f64, at: Vec<Point3<f64>>, land: f64| {
        exits.push(Exit {
            path: "hook",
            at,
            land,
            in_sprue: false,
            note: None,
        });
        made.push(Seat {
            held: Held::Hook,
            form,
            radius,
            exit: exits.len() - 1,
        });
    };
    // To the last bit, so that the ring closes.
    if let (Some(first), Some(last)) = (eye.first().copied(), eye.last_mut()) {
        *last = first;
    }
    let loop_radius = 0.5 * (hook.eye + hook.wire);
    for stretch in emerging(&eye, true, (radius, clearance), &plastic) {
        let at = stretch.at();
        if loop_radius - radius < BEND {
            // Too tight for a land within.
            let centre = site.placed(&(Point3::new(hook.at, 0.0, hook.height) + shift));
            let form = Form::Pocket {
                centre,
                half: radius,
                upright: false,
            };
            push(form, loop_radius + radius, at, 0.0);
        } else {
            let form = Form::Groove {
                line: stretch.line,
                closed: stretch.closed,
            };
            push(form, radius, at, 0.0);
        }
    }
    for mut stretch in emerging(&rest, false, (radius, clearance), &plastic) {
        for end in 0..2 {
            if !stretch.buried[end] && end == 1 {
                lengthen(&mut stretch.line, end, radius);
            }
        }
        let ends = !(stretch.buried[0] && stretch.buried[1]);
        let length: f64 = stretch.line.windows(2).map(|w| (w[1] - w[0]).norm()).sum();
        let at = stretch.at();
        let form = Form::Groove {
            line: stretch.line,
            closed: false,
        };
        push(form, radius, at, if ends { length } else { 0.0 });
    }
    if made.is_empty() {
        if asked == Some(true) {
            problems.push(
                Problem::new("mould.seats.hook", "the hook comes out of the body nowhere")
                    .hint("leave this out: it lies wholly in plastic"),
            );
        }
        return;
    }
    if !parts_upright(design.mould.parting) {
        let highest = made
            .iter()
            .flat_map(|s| match &s.form {
                Form::Groove { line, .. } => line.clone(),
                Form::Pocket { centre, .. } => vec![*centre],
            })
            .max_by(|a, b| off(a).total_cmp(&off(b)));
        let highest = highest.unwrap_or_default();
        let unseated = Unseated {
            path: "mould.seats.hook",
            what: "the hook stands out of the body across the waist, where the mould parts: it cannot lie in the \
                   parting face"
                .to_owned(),
            value: format!("{} off it {}", units.show(off(&highest)), site.along(&highest)),
            hint: "mould.parting = \"flank\" seats it, or leave room for it with a slot and put it in afterwards"
                .to_owned(),
        };
        unseated.told(asked, &mut seats.notes, problems);
        return;
    }
    // Eye and shank that lie out together leave the body as one.
    join(&mut exits, &mut made);
    seats.notes.push(
        "The hook's groove follows the wire: ease it with a file for a barb or a forged bend, and press no point \
         into rubber."
            .to_owned(),
    );
    take(seats, exits, made);
}

/// Seats that touch share an exit.
fn join(exits: &mut Vec<Exit>, made: &mut [Seat]) {
    let prints: Vec<_> = made.iter().map(Seat::footprint).collect();
    let touch = |i: usize, j: usize| {
        prints[i].iter().any(|(a, ra)| {
            let near = |(b, rb): &([f64; 2], f64)| libm::hypot(a[0] - b[0], a[1] - b[1]) < ra + rb;
            prints[j].iter().any(near)
        })
    };
    // Each exit goes by the first of those that it is joined to.
    let mut first: Vec<usize> = (0..exits.len()).collect();
    for i in 0..made.len() {
        for j in 0..i {
            let [a, b] = [i, j].map(|k| first[made[k].exit]);
            if a != b && touch(i, j) {
                let of_later = first.iter_mut().filter(|f| **f == a.max(b));
                of_later.for_each(|f| *f = a.min(b));
            }
        }
    }
    let mut places = Vec::with_capacity(first.len());
    let mut joined: Vec<Exit> = Vec::new();
    for (i, exit) in exits.drain(..).enumerate() {
        if first[i] == i {
            places.push(joined.len());
            joined.push(exit);
        } else {
            let place: usize = places[first[i]];
            places.push(place);
            let whole: &mut Exit = &mut joined[place];
            whole.at.extend(exit.at);
            whole.land = whole.land.max(exit.land);
        }
    }
    made.iter_mut().for_each(|s| s.exit = places[s.exit]);
    *exits = joined;
}

pub(super) fn skirt(site: &Site<'_>, body: &Body, seats: &mut Seats, problems: &mut Vec<Problem>) {
    let design = site.design;
    let (Some(skirt), true) = (&design.rig.skirt, design.mould.seats.skirt) else {
        return;
    };
    let path = "mould.seats.skirt";
    let units = design.units;
    if design.mould.sprue_end == BodyEnd::Tail {
        problems.push(
            Problem::new(
                path,
                "a skirt that is cast in trails out where the sprue is",
            )
            .value("true")
            .hint("pour at the nose: mould.sprue.end = \"nose\""),
        );
        return;
    }
    let end = body.length() + body.collar_length();
    let beyond = site.master.mesh().bounds().map_or(end, |b| b.max.x) - end;
    if beyond > 2.0 * LAND {
        problems.push(
            Problem::new(
                path,
                "what stands behind the body is in the way of a skirt that is cast in",
            )
            .value(format!("{} behind it", units.show(beyond)))
            .hint("pull the skirt on afterwards: leave this out"),
        );
        return;
    }
    let at = skirt.at.unwrap_or(design.body.length);
    if at < design.body.length - 1e-6 {
        problems.push(
            Problem::new(
                "skirt.at",
                "a skirt that is cast in is gathered behind the body",
            )
            .value(units.show(at))
            .limit(format!("at least {}", units.show(design.body.length)))
            .hint("strands over the body would be buried in it; pull the skirt on afterwards"),
        );
        return;
    }
    let bundle = 0.5 * skirt.thickness * (f64::from(skirt.strands) / PACKED).sqrt();
    let across = match design.mould.parting {
        Parting::Flank => 0.0 - tail_spine(body),
        Parting::Waist => 0.0,
    };
    // Sunk until it fuses with the cavity.
    let start = section_end(site.master, across, end) - OVERLAP;
    let at = Point3::new(start, across, 0.0);
    let line = vec![at, Point3::new(end + 10.0, across, 0.0)];
    let crossing = Point3::new(end, across, 0.0);
    take(
        seats,
        vec![Exit {
            path: "skirt",
            at: vec![crossing],
            land: 0.0,
            in_sprue: false,
            note: None,
        }],
        vec![Seat {
            held: Held::Skirt,
            form: Form::Groove {
                line,
                closed: false,
            },
            radius: bundle,
            exit: 0,
        }],
    );
}

fn tail_spine(body: &Body) -> f64 {
    body.spine(body.length())
}

/// Where a master ends along a line in the parting plane.
fn section_end(master: &Sliced, across: f64, usual: f64) -> f64 {
    let from = Point3::new(usual - 1000.0, across + 1e-7, 1e-7);
    let hits = master.along(&from, &nalgebra::Vector3::x());
    hits.last().map_or(usual, |hit| from.x + hit.along)
}
