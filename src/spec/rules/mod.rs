//! Every rule a spec must keep, and the numbers that come of one that does.
//!
//! Each value is checked on its own first; a rule that compares values runs only if every
//! one of them stood, so that one mistake is reported once. Limits are in millimetres of
//! full height, width or diameter.

mod allowances;
mod body;
mod cast;
mod fair;
mod holding;
mod inserts;
mod lathe;
mod limbs;
mod measured;
mod mould;
mod ribs;
mod rig;
mod seats;
mod shoulders;
mod trunk;
mod units;

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

use super::design::wall_for_keys;
use super::{
    BodyDesign, BodyEnd, BodySpec, CastDesign, CollarDesign, CollarSpec, Design, End, KeyShape,
    Knot, MouldDesign, MouldSpec, Problem, Problems, Route, Spec, Width,
};
use crate::quantity::{Length, LengthUnit};

/// From the smallest bait worth casting to the largest mould a bench can hold (reasoned).
const BODY_LENGTH: RangeInclusive<f64> = 5.0..=1000.0;
/// Heights, widths and diameters: a hair that still casts, to a body of 300 mm (reasoned).
const THICKNESS: RangeInclusive<f64> = 0.5..=300.0;
/// Back and belly may be half of that each.
const HALF_THICKNESS: RangeInclusive<f64> = 0.25..=150.0;
/// Ten times as high as wide, to ten times as wide as high (reasoned).
const WIDTH_RATIO: RangeInclusive<f64> = 0.1..=10.0;
/// Below 1.5 the section's edges get too sharp to demould, above 6 it is a box (reasoned).
const EXPONENT: RangeInclusive<f64> = 1.5..=6.0;
/// Closer stations cannot be told apart on the bench, and make slivers in the mesh.
const STATION_GAP: f64 = 0.2;
/// The same towards an end, which a round or pointed body has yet to close over.
const END_GAP: f64 = 0.5;
/// Places closer than this are the same: far below any tolerance, far above rounding.
const SAME_PLACE: f64 = 1e-6;
/// A smaller step vanishes in printing (reasoned).
const LEAST_STEP: f64 = 0.2;
/// Collar cylinders in a row.
const COLLAR_STEPS: RangeInclusive<f64> = 1.0..=6.0;
/// Length of a collar cylinder: what prints, to what still is a stub (reasoned).
const COLLAR_LENGTH: RangeInclusive<f64> = 0.5..=100.0;
/// A smaller difference between neighbouring diameters leaves too thin a shoulder.
const COLLAR_SHOULDER: f64 = 0.4;
/// Material over the body: rubber thinner than 3 mm tears (common practice).
const WALL: RangeInclusive<f64> = 3.0..=100.0;
/// 3/8 in over the body (common practice).
const WALL_DEFAULT: f64 = 9.5;
/// Fewer than four keys cannot lock both ways and both ends.
const KEY_COUNT: RangeInclusive<f64> = 4.0..=24.0;
/// What prints cleanly, to what fits beside a bait (reasoned).
const KEY_DIAMETER: RangeInclusive<f64> = 3.0..=30.0;
/// A lower key slides out of its socket (reasoned).
const KEY_LEAST_HEIGHT: f64 = 1.0;
/// Less than the lower end, other than none at all, is finer than any print (reasoned).
const KEY_CLEARANCE: RangeInclusive<f64> = 0.05..=1.0;
/// Where the plastic enters: thick plastic will not pass less than 1 mm (reasoned).
const GATE: RangeInclusive<f64> = 1.0..=20.0;
/// What can be poured into, to what a hand can hold (reasoned).
const MOUTH: RangeInclusive<f64> = 5.0..=60.0;
/// Depth of the funnel (reasoned).
const FUNNEL: RangeInclusive<f64> = 2.0..=100.0;
/// Number of vents.
const VENT_COUNT: RangeInclusive<f64> = 0.0..=8.0;
/// Wide enough to print, narrow enough to trim off (reasoned).
const VENT_WIDTH: RangeInclusive<f64> = 0.5..=5.0;
/// Deep enough for air, too shallow for much plastic (common practice at the default).
const VENT_DEPTH: RangeInclusive<f64> = 0.1..=3.0;
/// From finer than any printer to coarser than any use.
const TOLERANCE: RangeInclusive<f64> = 0.001..=1.0;
/// A tolerance is this share of the smallest radius at most, or facets show as flats.
const TOLERANCE_SHARE: f64 = 0.1;
/// Entries of a list of features: more than any bait has, few enough to stay quick (reasoned).
const MOST_ENTRIES: usize = 16;
/// Characters in a name.
const NAME_LENGTH: usize = 80;

#[cfg(test)]
pub(super) use mould::face_radii;

impl Design {
    /// Checks a spec by every rule, fills in every default and turns it into millimetres.
    ///
    /// # Errors
    /// Everything that is wrong, in the order of the spec's fields, without places: use
    /// [`Source::design`](super::Source::design) for a spec that came from a text.
    pub fn from_spec(spec: &Spec) -> Result<Design, Problems> {
        check(spec, &BTreeSet::new(), None).map_err(Problems)
    }

    /// As [`Design::from_spec`], for a spec whose body comes from a file (`body.from`): `body`
    /// are the outlines of what was read, see
    /// [`Imported::envelope`](crate::import::Imported::envelope).
    ///
    /// # Errors
    /// As [`Design::from_spec`]; an outline beside the file is one.
    pub fn around(spec: &Spec, body: &BodyDesign) -> Result<Design, Problems> {
        check(spec, &BTreeSet::new(), Some(body)).map_err(Problems)
    }
}

/// As [`Design::from_spec`]; nothing is said of values at the broken paths, nor of rules
/// that hang on them.
pub(super) fn check(
    spec: &Spec,
    broken: &BTreeSet<String>,
    imported: Option<&BodyDesign>,
) -> Result<Design, Vec<Problem>> {
    let mut rules = Rules {
        units: spec.units,
        scale: 1.0,
        broken,
        problems: Vec::new(),
    };
    let name = rules.name(spec.name.as_deref());
    let scale = rules.number("scale", spec.scale, &allowances::SCALE);
    rules.scale = scale.unwrap_or(1.0);
    let before = rules.problems.len();
    let body = match imported {
        Some(shape) => Some(rules.imported_body(&spec.body, shape)),
        None => rules.body(&spec.body),
    };
    let of_body = rules.problems.split_off(before);
    let drawn = body.as_ref().map(|body| body.length / rules.scale);
    rules.sizes(&spec.sizes, drawn);
    rules.problems.extend(of_body);
    let before = rules.problems.len();
    // The facets of a file are what they are.
    let of_body = body.as_ref().filter(|_| imported.is_none());
    let tolerance = rules.tolerance(spec.mesh.tolerance, of_body);
    // The collar needs the tolerance, but the mesh comes last in a spec.
    let of_mesh = rules.problems.split_off(before);
    let collar = match &spec.collar {
        Some(_) if imported.is_some() => {
            rules.report(
                Problem::new("collar", "a master from a file brings its own tail")
                    .hint("leave the collar out, or have it in the file"),
            );
            None
        }
        Some(collar) => rules.collar(collar, body.as_ref(), tolerance),
        None => Some(Vec::new()),
    };
    let eyes = rules.each("eyes", &spec.eyes, |rules, path, eyes| {
        rules.eyes(path, eyes, body.as_ref())
    });
    let ribs = if imported.is_some() && !spec.ribs.is_empty() {
        rules.report(
            Problem::new("ribs", "a master from a file brings its own ribs")
                .hint("leave the ribs out, or have them in the file"),
        );
        None
    } else {
        rules.ribs(&spec.ribs, body.as_ref(), tolerance)
    };
    let slot = rules.each("slot", &spec.slot, |rules, path, slot| {
        rules.slot(path, slot, body.as_ref())
    });
    let bore = rules.each("bore", &spec.bore, |rules, path, bore| {
        rules.bore(path, bore, body.as_ref())
    });
    let pocket = rules.each("pocket", &spec.pocket, |rules, path, pocket| {
        rules.pocket(path, pocket, body.as_ref())
    });
    let fin = rules.each("fin", &spec.fin, |rules, path, fin| {
        rules.fin(path, fin, body.as_ref())
    });
    let has_collar = spec.collar.is_some();
    let tail = match &spec.tail {
        Some(tail) => rules.tail(tail, has_collar).map(Some),
        None => Some(None),
    };
    let legs = rules.each("legs", &spec.legs, |rules, path, legs| {
        rules.legs(path, legs, body.as_ref(), has_collar)
    });
    rules.clear_of_sprue(spec);
    let cast = rules.cast(&spec.cast);
    let rig = rules.rig(spec, cast.as_ref().map(CastDesign::density));
    let mut mould = rules.mould(&spec.mould, spec.collar.is_some());
    let seats = rules.seats(spec);
    let bowed = body.as_ref().is_some_and(|body| body.camber.is_some());
    let rigged = spec.wire.is_some() || spec.hook.is_some() || !spec.weight.is_empty();
    let moulded = |how: super::Making| how == super::Making::Cast;
    // Slots, bores and seats are made as the plane asks; a bowed face makes no seats.
    if let Some(mould) = &mut mould
        && (Rules::seated_upright(spec)
            || bowed && rigged
            || spec.slot.iter().any(|s| moulded(s.how))
            || spec.bore.iter().any(|b| moulded(b.how)))
    {
        mould.parting_free = false;
    }
    let lathe = rules.lathe(&spec.lathe);
    let allowances = rules.allowances(&spec.material);
    rules.problems.extend(of_mesh);
    let design = || {
        Some(Design {
            name: name?,
            units: spec.units,
            scale: rules.scale,
            body: body?,
            collar: collar?,
            eyes: eyes?,
            ribs: ribs?,
            slot: slot?,
            bore: bore?,
            pocket: pocket?,
            fin: fin?,
            tail: tail?,
            legs: legs?,
            rig: rig?,
            lathe: lathe?,
            allowances: allowances?,
            mould: MouldDesign {
                seats: seats?,
                ..mould?
            },
            cast: cast?,
            tolerance: tolerance?,
        })
    };
    match design() {
        Some(design) if rules.problems.is_empty() => Ok(design),
        _ => Err(rules.problems),
    }
}

struct Rules<'s> {
    units: LengthUnit,
    /// How much larger the bait is made than it is drawn.
    scale: f64,
    broken: &'s BTreeSet<String>,
    problems: Vec<Problem>,
}

/// How much larger than written a length is made, with the `scale` of a spec: what belongs to the
/// mould, the mesh or the materials stays as it is, and so do plates, wires and hooks.
pub(crate) fn scale_of(path: &str, scale: f64) -> f64 {
    const OWN: [&str; 6] = ["mould.", "mesh.", "material.", "lathe.", "sizes[", "water."];
    const STAY: [(&str, &[&str]); 8] = [
        ("fin[", &[".thickness", ".rounding"]),
        ("tail.", &[".thickness", "curl.tip"]),
        ("bore[", &[".diameter"]),
        ("slot[", &[".width"]),
        ("wire.", &[".diameter", "eye"]),
        ("hook.", &[".wire", ".shank", ".gap", ".bend", ".eye"]),
        ("weight[", &[".diameter", ".length", ".hole"]),
        ("skirt.", &[".strand_length", ".strand_thickness"]),
    ];
    let stays = STAY
        .iter()
        .any(|(start, ends)| path.starts_with(start) && ends.iter().any(|end| path.ends_with(end)));
    if stays || OWN.iter().any(|own| path.starts_with(own)) {
        1.0
    } else {
        scale
    }
}

impl Rules<'_> {
    /// Every entry of a list by its own rules.
    fn each<S, D>(
        &mut self,
        list: &str,
        entries: &[S],
        mut rule: impl FnMut(&mut Self, &str, &S) -> Option<D>,
    ) -> Option<Vec<D>> {
        if entries.len() > MOST_ENTRIES && !self.is_broken(list) {
            self.report(
                Problem::new(list, "there are too many of these")
                    .value(entries.len())
                    .limit(format_args!("at most {MOST_ENTRIES}")),
            );
            return None;
        }
        let checked: Vec<Option<D>> = entries
            .iter()
            .enumerate()
            .map(|(i, entry)| rule(self, &format!("{list}[{i}]"), entry))
            .collect();
        checked.into_iter().collect()
    }

    fn report(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Whether the value at the path, or one around it, is a stand-in.
    fn is_broken(&self, path: &str) -> bool {
        self.broken.iter().any(|broken| {
            path.strip_prefix(broken.as_str())
                .is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        })
    }

    /// A length for the maker to read, in millimetres too if other units are written.
    fn show(&self, mm: f64) -> String {
        let shown = if mm.abs() < 0.1 {
            format!("{mm} mm")
        } else {
            LengthUnit::Mm.show(mm)
        };
        match self.units {
            LengthUnit::Mm => shown,
            // Where no digit of it is left it is told in millimetres.
            _ if mm != 0.0 && mm.abs() < self.digit() => shown,
            units => format!("{} ({shown})", units.show(mm)),
        }
    }

    /// A length of the bait as it is made, shown in the size that it is drawn in.
    fn drawn(&self, mm: f64) -> String {
        self.show(mm / self.scale)
    }

    /// As [`Rules::drawn`], for a lower limit: what is shown is accepted when it is written.
    fn least(&self, mm: f64) -> String {
        self.show(self.rounded_up(mm / self.scale))
    }

    /// As [`Rules::least`], for an upper limit.
    fn most(&self, mm: f64) -> String {
        self.show(self.rounded_down(mm / self.scale))
    }

    /// The last digit that [`Rules::show`] shows.
    fn digit(&self) -> f64 {
        match self.units {
            LengthUnit::Mm | LengthUnit::Cm => 0.01,
            LengthUnit::In => 0.0254,
        }
    }

    /// The least length not below this one that [`Rules::show`] shows to its last digit.
    fn rounded_up(&self, mm: f64) -> f64 {
        libm::ceil(mm / self.digit() - 1e-6) * self.digit()
    }

    /// The greatest length not above this one that [`Rules::show`] shows to its last digit.
    fn rounded_down(&self, mm: f64) -> f64 {
        libm::floor(mm / self.digit() + 1e-6) * self.digit()
    }

    fn show_limits(&self, limits: &RangeInclusive<f64>) -> String {
        format!(
            "{} to {}",
            self.show(*limits.start()),
            self.show(*limits.end())
        )
    }

    /// Whether this length cannot be judged: a stand-in, or a bare number where the unit is one.
    fn is_unknown(&self, path: &str, length: Length) -> bool {
        self.is_broken(path) || (length.unit.is_none() && self.is_broken("units"))
    }

    /// The number, if it is within its limits.
    fn number(&mut self, path: &str, value: f64, limits: &RangeInclusive<f64>) -> Option<f64> {
        if self.is_broken(path) {
            return None;
        }
        let shown = format!("{} to {}", limits.start(), limits.end());
        self.within(path, value, limits, value.to_string(), shown)
    }

    fn scale_of(&self, path: &str) -> f64 {
        scale_of(path, self.scale)
    }

    /// The length in millimetres at the size it is made, if that is within its limits.
    fn length(&mut self, path: &str, length: Length, limits: &RangeInclusive<f64>) -> Option<f64> {
        if self.is_unknown(path, length) {
            return None;
        }
        let scale = self.scale_of(path);
        // Said in the sizes that the maker writes.
        let limits = limits.start() / scale..=limits.end() / scale;
        let (mut mm, shown) = (length.to_mm(self.units), self.show_limits(&limits));
        // A limit that was shown, and is written as it was shown, is meant exactly.
        for limit in [*limits.start(), *limits.end()] {
            if limit.abs() >= 0.1 && (mm - limit).abs() <= 0.5 * self.digit() * (1.0 + 1e-6) {
                mm = mm.clamp(*limits.start(), *limits.end());
            }
        }
        let passed = self.within(path, mm, &limits, length.to_string(), shown);
        if passed.is_none()
            && let Some(hint) = self.unit_hint(path, length, &limits)
            && let Some(problem) = self.problems.last_mut()
        {
            problem.hint = Some(hint);
        }
        passed.map(|mm| mm * scale)
    }

    /// As [`Rules::length`], in millimetres if left out.
    fn length_or(
        &mut self,
        path: &str,
        length: Option<Length>,
        default: f64,
        limits: &RangeInclusive<f64>,
    ) -> Option<f64> {
        match length {
            Some(length) => self.length(path, length, limits),
            // A default is of the size that is made, and no slip of the maker's.
            None if self.is_broken(path) => None,
            None => {
                let (value, shown) = (self.show(default), self.show_limits(limits));
                self.within(path, default, limits, value, shown)
            }
        }
    }

    fn within(
        &mut self,
        path: &str,
        value: f64,
        limits: &RangeInclusive<f64>,
        written: String,
        shown: String,
    ) -> Option<f64> {
        // A limit written in another unit may come out a rounding beyond it.
        const ROUNDING: f64 = 1e-9;
        let what = if !value.is_finite() {
            "this is not a number that can be worked with"
        } else if value <= 0.0 && *limits.start() > 0.0 {
            "this must be more than zero"
        } else if value < limits.start() - ROUNDING * limits.start().abs() {
            "this is too small"
        } else if value > limits.end() + ROUNDING * limits.end().abs() {
            "this is too large"
        } else {
            return Some(value.clamp(*limits.start(), *limits.end()));
        };
        self.report(Problem::new(path, what).value(written).limit(shown));
        None
    }

    fn name(&mut self, name: Option<&str>) -> Option<String> {
        let name = name.unwrap_or("bait");
        if self.is_broken("name") {
            return None;
        }
        let count = name.chars().count();
        let what = if !name.chars().any(char::is_alphanumeric) {
            "a name needs a letter or a digit, to be told from others"
        } else if count > NAME_LENGTH {
            "this name is too long"
        } else if name.chars().any(char::is_control) {
            "a name is one line of plain text"
        } else {
            return Some(name.to_owned());
        };
        let short: String = name.escape_debug().take(40).collect();
        self.report(
            Problem::new("name", what)
                .value(format_args!("\"{short}\""))
                .limit(format_args!("1 to {NAME_LENGTH} characters")),
        );
        None
    }

    fn tolerance(&mut self, written: Option<Length>, body: Option<&BodyDesign>) -> Option<f64> {
        const PATH: &str = "mesh.tolerance";
        let tolerance = self.length_or(PATH, written, 0.05, &TOLERANCE)?;
        if let Some(body) = body {
            let smallest = [&body.back, &body.belly, &body.half_width]
                .into_iter()
                .flatten()
                .flat_map(|knot| [knot.before, knot.after])
                .fold(f64::INFINITY, f64::min);
            let most = smallest * TOLERANCE_SHARE;
            if tolerance > most * (1.0 + SAME_PLACE) {
                // Rounded down, so that what is proposed is accepted.
                let proposed = ((most * 1000.0).floor() / 1000.0).max(*TOLERANCE.start());
                self.report(
                    Problem::new(PATH, "the tolerance is too coarse for so thin a body")
                        .value(format_args!("{tolerance} mm"))
                        .limit(format_args!(
                            "up to {proposed} mm, a tenth of the smallest radius, {}",
                            self.show(smallest)
                        ))
                        .hint(format_args!(
                            "write tolerance = \"{proposed} mm\" under [mesh]"
                        )),
                );
                return None;
            }
        }
        Some(tolerance)
    }
}
