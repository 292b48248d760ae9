//! Bores.

use nalgebra::{Point3, Unit, Vector3};

use super::recess::dimple;
use super::{Drawn, Feature};
use crate::body::ground::{Frame, Ground, SKIN, round};
use crate::body::master::Effect;
use crate::body::sprue;
use crate::mesh::turned::turned;
use crate::spec::{BodyEnd, BoreDesign, MouldDesign, Parting, Problem};

/// How far the print of a core pin stands out of the body: what holds it in its
/// seat (reasoned).
const PRINT: f64 = 6.0;

/// The thinnest that a spec may ask for, in mm.
const LEAST: f64 = 0.3;
/// Of two ways out, a bore as thick as this share of what was asked for needs no other way.
const MUCH: f64 = 0.6;
/// Places along a bore that are judged, but one.
const PLACES: usize = 64;
/// A bore may take so much of an end that it comes out of, in mm: the tip of a round or pointed
/// one. That, or as large a share of the body's length.
const TIP: (f64, f64) = (1.0, 0.02);
/// Over so much more, in mm, its walls may grow from nothing to the skin, as a round end does.
const LIP: f64 = 8.0;
/// Both are at most these shares of the bore's own length.
const SHARES: [f64; 2] = [0.2, 0.2];
/// The steepest slant of a surface it comes out of that is allowed for: its rise over its run.
const SLANT: f64 = 4.0;
/// Half the width, in mm, over which that is measured.
const BESIDE: f64 = 0.25;
/// The least width of the way that is left for plastic beside a core in the gate, in mm: soft
/// plastic poured by hand fills less wide ones less reliably (common practice).
pub(crate) const WAY: f64 = 1.0;
/// How the problem of a core ends that fills the gate.
pub(crate) const NO_WAY: &str = ", and leaves plastic no way past it";
/// Half the gate that a mould has if none is asked for and the body has room for it.
pub(crate) const USUAL_GATE: f64 = 2.0;

/// A bore as it runs through a solid.
struct Course {
    from: Point3<f64>,
    direction: Unit<Vector3<f64>>,
    /// Where it begins and ends in the solid, as distances from `from`.
    span: [f64; 2],
    /// Whether it comes out there.
    out: [bool; 2],
    /// How far the surface there rises for each mm across, at most: nothing where it is square to
    /// the bore, or round about it.
    slant: [f64; 2],
}

/// How a bore is too near a surface.
#[derive(Clone, Copy)]
enum Near {
    /// It takes an end away.
    Ends(Point3<f64>),
    /// Its wall is too thin.
    Wall(Point3<f64>),
}

impl Course {
    /// `passes` says what else a radius must do.
    fn new(
        feature: &Feature<'_>,
        bore: &BoreDesign,
        passes: impl Fn(&Course, f64) -> bool,
    ) -> Result<Self, Problem> {
        let course = Course::laid(feature, bore)?;
        course.judge(feature, bore, |radius| passes(&course, radius))?;
        Ok(course)
    }

    /// As it runs, whatever is near it.
    fn laid(feature: &Feature<'_>, bore: &BoreDesign) -> Result<Self, Problem> {
        let length = feature.ground.body().length();
        let from = Point3::from(bore.from.unwrap_or([0.0; 3]));
        let to = Point3::from(bore.to.unwrap_or([length, 0.0, 0.0]));
        let mut direction = to - from;
        let far = direction.norm();
        direction /= far;
        let hint = "move its ends: x from the nose, y to the left, z up from the axis";
        let missed = || {
            Problem::new(
                feature.path.clone(),
                "the middle line of this bore does not meet the body",
            )
            .hint(hint)
        };
        let met = feature
            .ground
            .through(&from, &direction)
            .ok_or_else(missed)?;
        // An end that was left out, or lies outside, reaches the surface.
        let inside = |written: bool, p: &Point3<f64>| written && feature.ground.holds(p);
        let blind = [
            inside(bore.from.is_some(), &from),
            inside(bore.to.is_some(), &to),
        ];
        let slant = slants(feature.ground, &from, &direction);
        let course = Course {
            from,
            slant,
            direction: Unit::new_unchecked(direction),
            span: [
                if blind[0] { 0.0 } else { met[0] },
                if blind[1] { far } else { met[1] },
            ],
            out: blind.map(|b| !b),
        };
        // An end outside may also lie short of the body altogether.
        let reaches = (bore.from.is_none() || met[1] > 0.0) && (bore.to.is_none() || met[0] < far);
        if !reaches {
            return Err(missed());
        }
        let within = course.span[1] - course.span[0];
        if within < 2.0 * bore.radius {
            let drawn = feature.drawn.of(&format!("{}.diameter", feature.path));
            let place = feature.drawn.show(course.at(course.span[0]).x);
            return Err(Problem::new(
                feature.path.clone(),
                format!(
                    "this bore only grazes the body, {place} from the nose: less of its way is in it than it is thick"
                ),
            )
            .value(format!(
                "{} of its way in it, {} thick",
                feature.show(within),
                drawn.show(2.0 * bore.radius)
            ))
            .hint(hint));
        }
        if blind == [true; 2] {
            return Err(
                Problem::new(feature.path.clone(), "this bore comes out nowhere")
                    .hint("move one of its ends out of the body, or leave it out"),
            );
        }
        Ok(course)
    }

    fn at(&self, along: f64) -> Point3<f64> {
        self.from + self.direction.into_inner() * along
    }

    /// A skin all round, but where it comes out.
    fn judge(
        &self,
        feature: &Feature<'_>,
        bore: &BoreDesign,
        passes: impl Fn(f64) -> bool,
    ) -> Result<(), Problem> {
        let frame = Frame::new(self.from, self.direction);
        let clear = |radius: f64| self.near(feature.ground, &frame, radius).is_none();
        let Some(close) = self.near(feature.ground, &frame, bore.radius) else {
            return Ok(());
        };
        let show = |mm: f64| feature.drawn.show(mm);
        let (near, what) = match close {
            Near::Ends(p) => (
                None,
                format!(
                    "this bore takes away more than the tip of what it comes out of {} from the nose",
                    show(p.x)
                ),
            ),
            Near::Wall(p) => {
                let near = feature.ground.nearest(&p, bore.radius + 2.0 * SKIN);
                let what = format!(
                    "this bore comes too near {} {} from the nose",
                    near.unwrap_or("the surface along its way"),
                    show(p.x)
                );
                (near, what)
            }
        };
        let field = format!("{}.diameter", feature.path);
        let drawn = feature.drawn.of(&field);
        let value = drawn.show(2.0 * bore.radius);
        let least = LEAST.min(2.0 * bore.radius);
        let fits = drawn.most(least, 2.0 * bore.radius, |d| {
            clear(0.5 * d) && passes(0.5 * d)
        });
        let much = fits.is_some_and(|fits| fits >= MUCH * 2.0 * bore.radius);
        let other = if much {
            None
        } else {
            let bowed = bowed(feature, bore).map(|ends| format!("{ends} runs clear"));
            bowed.or_else(|| {
                let end = shorter(feature, bore, self)?;
                Some(format!("{end} runs clear, a hole that ends in the bait"))
            })
        };
        let hint = match (other, near, close) {
            (Some(other), ..) => other,
            (None, Some(near), _) => format!("make it thinner, or move its ends or {near}"),
            (None, None, Near::Ends(_)) => {
                "make it thinner, or that end stouter or flat".to_owned()
            }
            (None, None, Near::Wall(_)) => "make it thinner, or move its ends".to_owned(),
        };
        Err(match fits {
            Some(fits) => {
                let which = match close {
                    Near::Ends(_) => {
                        let tip = TIP.0.max(TIP.1 * feature.body().length());
                        format!("takes {} of it at most", feature.show(tip))
                    }
                    Near::Wall(_) => format!("leaves {}", feature.show(SKIN)),
                };
                let fits = drawn.at_most(fits);
                Problem::new(field, what)
                    .value(value)
                    .limit(format!("up to {fits}, which {which}"))
            }
            // No wire is thin enough: what is wrong is its way.
            None => Problem::new(feature.path.clone(), what)
                .value(format!("{value} in diameter"))
                .limit(format!("{} all round it", feature.show(SKIN))),
        }
        .hint(hint))
    }

    /// The first place where it is too near the surface. A thicker bore is so at least where a
    /// thinner one is: what is allowed for at its mouths does not grow with it but by their slant.
    fn near(&self, ground: &Ground<'_>, frame: &Frame, radius: f64) -> Option<Near> {
        let [from, to] = self.span;
        let long = to - from;
        let tip = TIP.0.max(TIP.1 * ground.body().length());
        let (tip, lip) = (tip.min(SHARES[0] * long), LIP.min(SHARES[1] * long));
        let end = self.out.map(|out| if out { 0.0 } else { SKIN });
        let (first, last) = (from - end[0], to + end[1]);
        let evenly = (0..=PLACES).map(|i| first + (last - first) * i as f64 / PLACES as f64);
        // Where a mouth's allowance ends, walls are thinnest.
        let slack = self.slant.map(|slant| (slant * radius).min(0.25 * long));
        let mouths = [from + slack[0] + tip, to - slack[1] - tip];
        let lips = [mouths[0] + lip, mouths[1] - lip];
        // What is run through altogether tells more than what is too thin.
        let mut thin = None;
        let pierced = evenly.chain(mouths).chain(lips).find_map(|along| {
            let before = [along - from - slack[0], to - along - slack[1]];
            let share = (0..2)
                .filter(|&k| self.out[k])
                .map(|k| (before[k] - tip) / lip)
                .fold(1.0, f64::min);
            if share < -1e-9 {
                return None;
            }
            let wall = SKIN * share.max(0.0);
            let ring = |reach: f64| {
                round(8)
                    .map(move |[c, s]| frame.at(reach * c, reach * s, along))
                    .find(|p| !ground.holds(p))
            };
            let inside = self.out == [true; 2] || (from..=to).contains(&along);
            match ring(radius) {
                Some(p) if inside && share < 1.0 => Some(Near::Ends(p)),
                Some(p) => Some(Near::Wall(p)),
                None => {
                    thin = thin.or_else(|| ring(radius + wall).map(Near::Wall));
                    None
                }
            }
        });
        pierced.or(thin)
    }
}

/// How steeply the surface is slanted where a line first meets the solid, and where it last leaves
/// it: by lines to both sides of it, so that the tip of a cone is not slanted.
fn slants(ground: &Ground<'_>, from: &Point3<f64>, direction: &Vector3<f64>) -> [f64; 2] {
    let frame = Frame::new(*from, Unit::new_unchecked(*direction));
    let beside: Vec<_> = round(8)
        .map(|[c, s]| ground.through(&frame.at(BESIDE * c, BESIDE * s, 0.0), direction))
        .collect();
    [0, 1].map(|k| {
        (0..4)
            .filter_map(|i| Some((beside[i]?[k] - beside[i + 4]?[k]).abs() / (2.0 * BESIDE)))
            .fold(0.0, f64::max)
            .min(SLANT)
    })
}

/// Whether a bore with other ends would do.
fn runs(feature: &Feature<'_>, bore: &BoreDesign) -> bool {
    Course::laid(feature, bore).is_ok_and(|course| {
        let frame = Frame::new(course.from, course.direction);
        course.near(feature.ground, &frame, bore.radius).is_none()
    })
}

/// A point as it is written in the spec, and as it is made of that.
fn written(feature: &Feature<'_>, p: [f64; 3]) -> ([f64; 3], String) {
    let digit = feature.units.digit() * feature.drawn.scale;
    let made = p.map(|c| libm::round(c / digit) * digit);
    let quoted = made.map(|c| format!("\"{}\"", feature.drawn.show(c)));
    let text = if made[1] == 0.0 {
        format!("[{}, {}]", quoted[0], quoted[2])
    } else {
        format!("[{}]", quoted.join(", "))
    };
    (made, text)
}

/// Ends of a bore that runs clear through a bowed body: those of its chord, moved up or down.
fn bowed(feature: &Feature<'_>, bore: &BoreDesign) -> Option<String> {
    const TRIED: i32 = 30;
    let body = feature.body();
    let in_plane = [bore.from, bore.to].iter().flatten().all(|p| p[1] == 0.0);
    if body.camber.is_none() || !in_plane {
        return None;
    }
    let length = body.length();
    let off = |i: i32| {
        let x = length * f64::from(i) / 32.0;
        let chord = body.spine(0.0) + (body.spine(length) - body.spine(0.0)) * x / length;
        body.spine(x) - chord
    };
    let rise = (1..32)
        .map(off)
        .fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
    (1..=TRIED).find_map(|i| {
        let up = rise * f64::from(i) / f64::from(TRIED);
        let ends = [0.0, length].map(|x| written(feature, [x, 0.0, body.spine(x) + up]));
        let [from, to] = ends;
        let tried = BoreDesign {
            from: Some(from.0),
            to: Some(to.0),
            ..*bore
        };
        runs(feature, &tried).then(|| format!("from = {}, to = {}", from.1, to.1))
    })
}

/// The longest bore from either of its mouths that runs clear, as the other end's field.
fn shorter(feature: &Feature<'_>, bore: &BoreDesign, course: &Course) -> Option<String> {
    const TRIED: i32 = 40;
    let long = course.span[1] - course.span[0];
    (1..TRIED - 2).find_map(|i| {
        let less = long * f64::from(i) / f64::from(TRIED);
        [
            ("to", 0, course.span[1] - less),
            ("from", 1, course.span[0] + less),
        ]
        .into_iter()
        .filter(|&(_, mouth, _)| course.out[mouth])
        .find_map(|(field, _, along)| {
            let (made, text) = written(feature, course.at(along).coords.into());
            let tried = if field == "to" {
                BoreDesign {
                    to: Some(made),
                    ..*bore
                }
            } else {
                BoreDesign {
                    from: Some(made),
                    ..*bore
                }
            };
            runs(feature, &tried).then(|| format!("{field} = {text}"))
        })
    })
}

/// Dimples where the bore comes out.
pub(super) fn mark(feature: &mut Feature<'_>, bore: &BoreDesign) -> Result<(), Problem> {
    let course = Course::new(feature, bore, |_, _| true)?;
    let out = course.direction.into_inner();
    for k in [0, 1] {
        if course.out[k] {
            let outward = if k == 0 { -out } else { out };
            let frame = Frame::new(course.at(course.span[k]), Unit::new_unchecked(outward));
            let dimple = dimple(&frame, feature.tolerance);
            feature.push(Effect::Cuts, dimple, false);
        }
    }
    let note = format!(
        "{}: marked with a dimple where it comes out; to be drilled {} across.",
        feature.path,
        feature.show(2.0 * bore.radius)
    );
    feature.notes.push(note);
    Ok(())
}

/// The pin a bore is cast around, with a print at each mouth.
pub(super) fn core(
    feature: &mut Feature<'_>,
    bore: &BoreDesign,
    mould: &MouldDesign,
) -> Result<(), Problem> {
    let parting = mould.parting;
    let in_gate = |course: &Course| Gate::of(feature, mould, course);
    let course = Course::new(feature, bore, |course, radius| {
        in_gate(course).is_none_or(|gate| gate.passes(radius))
    })?;
    if let Some(gate) = in_gate(&course).filter(|gate| !gate.passes(bore.radius)) {
        return Err(gate.blocked(feature, bore, mould));
    }
    let d = course.direction;
    let across = match parting {
        Parting::Flank => 1,
        Parting::Waist => 2,
    };
    // A pin is straight, the waist of a bowed body is not.
    let bowed = parting == Parting::Waist && feature.ground.body().camber.is_some();
    let lies = !bowed && course.from[across] == 0.0 && d[across] == 0.0;
    let stands = d[across].abs() == 1.0;
    if !lies && !stands {
        let (plane, points) = match parting {
            Parting::Flank => ("the upright mid-plane", "y = 0"),
            Parting::Waist => ("the level plane of the axis", "z = 0"),
        };
        let limit = if bowed {
            "straight up or down: the waist of a bowed body holds no straight pin".to_owned()
        } else {
            format!("both ends in {plane} ({points}), where the mould parts, or straight across it")
        };
        return Err(Problem::new(
            feature.path.clone(),
            "the core pin of this bore can be laid in neither half of the mould",
        )
        .limit(limit)
        .hint("move its ends, change mould.parting, or write how = \"marked\""));
    }
    let prints = course.out.map(|out| if out { PRINT } else { 0.0 });
    let corners = [
        (course.span[0] - prints[0], bore.radius),
        (course.span[1] + prints[1], bore.radius),
    ];
    let mesh = Frame::new(course.from, d).placed(turned(&corners, feature.tolerance));
    // A seat that the sprue takes away holds nothing.
    let poured_round = in_gate(&course).is_some();
    let held = match (course.out, poured_round) {
        ([true, true], false) => "its seats at both ends",
        ([true, true], true) => {
            "its seat at the end away from the sprue; hold its other end in the middle of the sprue"
        }
        (_, false) => "its seat at one end, so it must be stiff",
        (_, true) => "nothing but the sprue it comes out by: better pour at the other end",
    };
    let note = format!(
        "{}: cast around a pin or wire of {} that is laid in before pouring and drawn \
         afterwards; {} long, held by {held}. It is in cores.stl too.",
        feature.path,
        feature.show(2.0 * bore.radius),
        feature.show(corners[1].0 - corners[0].0),
    );
    feature.notes.push(note);
    feature.push(Effect::Core, mesh, false);
    Ok(())
}

/// The gate of a sprue that a core comes out into.
struct Gate {
    radius: f64,
    /// How far the core is from its middle.
    off: f64,
}

impl Gate {
    /// `None` if this bore's core comes out elsewhere. A gate that is left out is chosen with the
    /// mould.
    fn of(feature: &Feature<'_>, mould: &MouldDesign, course: &Course) -> Option<Self> {
        let d = course.direction;
        let mouth = usize::from((mould.sprue_end == BodyEnd::Nose) != (d.x > 0.0));
        if d.x.abs() <= 0.9 || !course.out[mouth] {
            return None;
        }
        let at = course.at(course.span[mouth]);
        let [y, z] = sprue::line(feature.body(), mould.sprue_end, mould.parting);
        Some(Gate {
            radius: mould.gate_radius.unwrap_or(USUAL_GATE),
            off: libm::hypot(at.y - y, at.z - z),
        })
    }

    /// Whether plastic gets past a core: all round one in the middle, on one side of one beside it.
    fn passes(&self, radius: f64) -> bool {
        self.radius - radius + self.off >= WAY - 1e-9
    }

    /// Gate and bore are made as they are written, whatever the scale.
    fn blocked(&self, feature: &Feature<'_>, bore: &BoreDesign, mould: &MouldDesign) -> Problem {
        let path = format!("{}.diameter", feature.path);
        let drawn = feature.drawn.of(&path);
        let most = 2.0 * (self.radius + self.off - WAY);
        let left_out = match mould.gate_radius {
            Some(_) => "",
            None => ", the widest that is made where none is asked for",
        };
        let way = self.radius - bore.radius + self.off;
        let what = if way > 0.0 {
            format!(
                "the core of this bore stands in the gate of the sprue, and leaves plastic a way of {} past it",
                feature.show(way)
            )
        } else {
            format!("the core of this bore stands in the gate of the sprue{NO_WAY}")
        };
        let mut problem = Problem::new(path, what).value(format!(
            "{}, in a gate of {}{left_out}",
            drawn.show(2.0 * bore.radius),
            feature.show(2.0 * self.radius),
        ));
        if most >= LEAST {
            problem = problem.limit(format!(
                "up to {}, which leaves {} beside it",
                drawn.at_most(most),
                feature.show(WAY)
            ));
        }
        let plain = Drawn {
            scale: 1.0,
            ..drawn
        };
        problem.hint(format!(
            "mould.sprue.gate = {}, where the body has room for it, pour at an end where no core \
             comes out, or write how = \"marked\"",
            plain.at_least(2.0 * (bore.radius + WAY - self.off))
        ))
    }
}
