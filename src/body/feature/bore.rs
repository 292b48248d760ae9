//! Bores.

use nalgebra::{Point3, Unit, Vector3};

use super::Feature;
use super::recess::dimple;
use crate::body::ground::{Frame, Ground, SKIN, round};
use crate::body::master::Effect;
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
const PLACES: usize = 16;

/// A bore as it runs through a solid.
struct Course {
    from: Point3<f64>,
    direction: Unit<Vector3<f64>>,
    /// Where it begins and ends in the solid, as distances from `from`.
    span: [f64; 2],
    /// Whether it comes out there.
    out: [bool; 2],
}

impl Course {
    fn new(feature: &Feature<'_>, bore: &BoreDesign) -> Result<Self, Problem> {
        let course = Course::laid(feature, bore)?;
        course.judge(feature, bore)?;
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
        let missed = || {
            Problem::new(feature.path.clone(), "this bore does not meet the body")
                .hint("move its ends: x from the nose, y to the left, z up from the axis")
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
        let course = Course {
            from,
            direction: Unit::new_unchecked(direction),
            span: [
                if blind[0] { 0.0 } else { met[0] },
                if blind[1] { far } else { met[1] },
            ],
            out: blind.map(|b| !b),
        };
        // An end outside may also lie short of the body altogether.
        let reaches = (bore.from.is_none() || met[1] > 0.0) && (bore.to.is_none() || met[0] < far);
        if course.span[1] - course.span[0] < 2.0 * bore.radius || !reaches {
            return Err(missed());
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
    fn judge(&self, feature: &Feature<'_>, bore: &BoreDesign) -> Result<(), Problem> {
        let frame = Frame::new(self.from, self.direction);
        let clear = |radius: f64| self.is_clear(feature.ground, &frame, radius, PLACES);
        if clear(bore.radius) {
            return Ok(());
        }
        let show = |mm: f64| feature.drawn.show(mm);
        let close = self.close(feature.ground, &frame, bore.radius, PLACES);
        let (near, place) = match close {
            Some(p) => (
                feature.ground.nearest(&p, bore.radius + 2.0 * SKIN),
                format!(" {} from the nose", show(p.x)),
            ),
            None => (None, String::new()),
        };
        let what = format!(
            "this bore comes too near {}{place}",
            near.unwrap_or("the surface along its way")
        );
        let field = format!("{}.diameter", feature.path);
        let drawn = feature.drawn.of(&field);
        let value = drawn.show(2.0 * bore.radius);
        let least = LEAST.min(2.0 * bore.radius);
        let fits = drawn.most(least, 2.0 * bore.radius, |d| clear(0.5 * d));
        let much = fits.is_some_and(|fits| fits >= MUCH * 2.0 * bore.radius);
        let other = if much {
            None
        } else {
            bowed(feature, bore).or_else(|| shorter(feature, bore, self))
        };
        let hint = match (other, near) {
            (Some(other), _) => format!("{other} runs clear"),
            (None, Some(near)) => format!("make it thinner, or move its ends or {near}"),
            (None, None) => "make it thinner, or move its ends".to_owned(),
        };
        Err(match fits {
            Some(fits) => Problem::new(field, what).value(value).limit(format_args!(
                "up to {}, which leaves {}",
                drawn.at_most(fits),
                feature.show(SKIN)
            )),
            // No wire is thin enough: what is wrong is its way.
            None => Problem::new(feature.path.clone(), what)
                .value(format!("{value} in diameter"))
                .limit(format!("{} all round it", feature.show(SKIN))),
        }
        .hint(hint))
    }

    /// The first place where it is too near the surface.
    fn close(
        &self,
        ground: &Ground<'_>,
        frame: &Frame,
        radius: f64,
        places: usize,
    ) -> Option<Point3<f64>> {
        let [from, to] = self.judged(radius)?;
        (0..=places).find_map(|i| {
            let along = from + (to - from) * i as f64 / places as f64;
            let reach = radius + SKIN;
            round(8)
                .map(|[c, s]| frame.at(reach * c, reach * s, along))
                .find(|p| !ground.holds(p))
        })
    }

    fn is_clear(&self, ground: &Ground<'_>, frame: &Frame, radius: f64, places: usize) -> bool {
        self.close(ground, frame, radius, places).is_none()
    }

    /// From where to where it is judged.
    fn judged(&self, radius: f64) -> Option<[f64; 2]> {
        let reach = radius + SKIN;
        // Near its mouths it must come close; how far in depends on the slant, which rarely
        // is more than this.
        let slack = [0, 1].map(|k| if self.out[k] { 5.0 * reach } else { 0.0 });
        let (from, to) = (self.span[0] + slack[0], self.span[1] - slack[1]);
        let end = [0, 1].map(|k| if self.out[k] { 0.0 } else { SKIN });
        let (from, to) = (from - end[0], to + end[1]);
        (from < to).then_some([from, to])
    }
}

/// Whether a bore with other ends would do.
fn runs(feature: &Feature<'_>, bore: &BoreDesign) -> bool {
    Course::laid(feature, bore).is_ok_and(|course| {
        let frame = Frame::new(course.from, course.direction);
        course.is_clear(feature.ground, &frame, bore.radius, PLACES)
    })
}

/// A point as it is written in the spec, and as it is made of that.
fn written(feature: &Feature<'_>, p: [f64; 3]) -> ([f64; 3], String) {
    let digit = super::digit(feature.units) * feature.drawn.scale;
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
    let course = Course::new(feature, bore)?;
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
    let course = Course::new(feature, bore)?;
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
    let to_sprue = if (mould.sprue_end == BodyEnd::Nose) == (d.x > 0.0) {
        0
    } else {
        1
    };
    let poured_round = d.x.abs() > 0.9 && course.out[to_sprue];
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
