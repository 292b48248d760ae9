//! Bores.

use nalgebra::{Point3, Unit, Vector3};

use super::Feature;
use super::recess::dimple;
use crate::body::ground::{Frame, Ground, SKIN, most, round};
use crate::body::master::Effect;
use crate::mesh::turned::turned;
use crate::spec::{BodyEnd, BoreDesign, MouldDesign, Parting, Problem};

/// How far the print of a core pin stands out of the body: what holds it in its
/// seat (reasoned).
const PRINT: f64 = 6.0;

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
        course.judge(feature, bore)?;
        Ok(course)
    }

    fn at(&self, along: f64) -> Point3<f64> {
        self.from + self.direction.into_inner() * along
    }

    /// A skin all round, but where it comes out.
    fn judge(&self, feature: &Feature<'_>, bore: &BoreDesign) -> Result<(), Problem> {
        const PLACES: usize = 16;
        let frame = Frame::new(self.from, self.direction);
        let clear = |radius: f64| self.is_clear(feature.ground, &frame, radius, PLACES);
        if clear(bore.radius) {
            return Ok(());
        }
        let mut problem = Problem::new(
            format!("{}.diameter", feature.path),
            "this bore comes too near the surface along its way",
        )
        .value(feature.show(2.0 * bore.radius));
        if let Some(fits) = most(0.05, bore.radius, clear) {
            problem = problem.limit(format_args!(
                "up to {}, which leaves {}",
                feature.at_most(2.0 * fits),
                feature.show(SKIN)
            ));
        }
        Err(problem.hint(if feature.ground.body().camber.is_some() {
            "the body is bowed: give the bore's ends heights of their own, or make it thinner"
        } else {
            "make it thinner, or move its ends"
        }))
    }

    fn is_clear(&self, ground: &Ground<'_>, frame: &Frame, radius: f64, places: usize) -> bool {
        let reach = radius + SKIN;
        // Near its mouths it must come close; how far in depends on the slant, which rarely
        // is more than this.
        let slack = [0, 1].map(|k| if self.out[k] { 5.0 * reach } else { 0.0 });
        let (from, to) = (self.span[0] + slack[0], self.span[1] - slack[1]);
        let end = [0, 1].map(|k| if self.out[k] { 0.0 } else { SKIN });
        let (from, to) = (from - end[0], to + end[1]);
        if from >= to {
            return true;
        }
        (0..=places).all(|i| {
            let along = from + (to - from) * i as f64 / places as f64;
            round(8).all(|[c, s]| ground.holds(&frame.at(reach * c, reach * s, along)))
        })
    }
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
