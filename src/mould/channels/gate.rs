//! The gate: how wide it is, how far the sprue then covers the body, and how much of it opens into
//! the body.

use super::{Form, GATE, LEAST_GATE, LITTLE, MOST, NECK, ROOM, buried};
use crate::mould::seats::closed_at_tail;
use crate::spec::{BodyEnd, Design, Problem, Problems};

/// The gate: its radius, and how far the sprue then covers the body.
#[derive(Clone, Copy, Debug)]
pub(in crate::mould) struct Gate {
    pub radius: f64,
    pub covers: f64,
    /// See [`Sprue::opens`].
    pub opens: f64,
}

/// Least share of a gate that opens into the body (reasoned: with less, more plastic stands beside
/// the bait than feeds it).
const OPEN: f64 = 0.5;

/// The share of a gate that opens into the body, looked at half as deep as the sprue covers the
/// body, or may without being asked to. See [`Sprue::opens`].
pub(super) fn opens(form: &Form<'_>, end: BodyEnd, gate: f64, covers: f64) -> f64 {
    let x = form.inward(end, 0.5 * covers.min(LITTLE * form.length()));
    let disc = std::f64::consts::PI * gate * gate;
    // A tip slimmer than the gate opens into it with all it has.
    let most = (form.area(x) / disc).min(1.0);
    if most <= 0.0 {
        return 1.0;
    }
    let axis = form.axis(end);
    // Middles of equal shares of the disc's area.
    const RINGS: i32 = 16;
    const AROUND: i32 = 48;
    let inside = (0..RINGS).flat_map(|i| {
        let r = gate * ((f64::from(i) + 0.5) / f64::from(RINGS)).sqrt();
        (0..AROUND).map(move |j| {
            let turn = 2.0 * std::f64::consts::PI * (f64::from(j) + 0.5) / f64::from(AROUND);
            let (sin, cos) = libm::sincos(turn);
            [axis + r * cos, r * sin]
        })
    });
    let section = form.at(x);
    let count = inside.filter(|&[y, z]| section(y, z)).count();
    (count as f64 / f64::from(RINGS * AROUND) / most).min(1.0)
}

/// How deep a sprue with this gate covers the body before it is inside all round, and stays
/// inside.
pub(super) fn covered(form: &Form<'_>, end: BodyEnd, gate: f64, share: f64) -> Option<f64> {
    let axis = form.axis(end);
    form.depth(end, share, |x| form.inscribed(x, axis) >= ROOM * gate)
        .filter(|depth| {
            let within = |i: i32| depth + buried(gate) * f64::from(i) / 8.0;
            (0..=8).all(|i| form.inscribed(form.inward(end, within(i)), axis) >= gate)
        })
}

/// Chooses the gate; `shot` is the volume of one bait.
pub(in crate::mould) fn gate(
    design: &Design,
    form: &Form<'_>,
    shot: f64,
) -> Result<Gate, Problems> {
    let mould = &design.mould;
    let end = mould.sprue_end;
    let open = |gate: f64, covers: f64| opens(form, end, gate, covers);
    let reaches = |gate: f64, share: f64| covered(form, end, gate, share);
    let covered =
        |gate: f64, share: f64| reaches(gate, share).filter(|&covers| open(gate, covers) >= OPEN);
    let least_to_fill = mould.fill.map(|seconds| least_gate(design, shot, seconds));
    let (radius, depth) = match (mould.gate_radius, least_to_fill) {
        (Some(gate), _) => (gate, covered(gate, MOST)),
        (None, Some(least)) if least > LEAST_GATE => {
            let usual = covered(GATE, LITTLE).map_or(least, |_| GATE.max(least));
            (usual, covered(usual, MOST))
        }
        (None, _) => {
            let tenths = |i: i32| f64::from(i) / 20.0;
            let (most, least) = ((20.0 * GATE) as i32, (20.0 * LEAST_GATE) as i32);
            (least..=most)
                .rev()
                .map(tenths)
                .find_map(|gate| Some((gate, Some(covered(gate, LITTLE)?))))
                .unwrap_or((LEAST_GATE, covered(LEAST_GATE, MOST)))
        }
    };
    if let Some(covers) = depth {
        let opens = open(radius, covers);
        return Ok(Gate {
            radius,
            covers,
            opens,
        });
    }
    let fits = (1..=200)
        .rev()
        .map(|i| 0.05 * f64::from(i))
        .find(|&gate| gate >= LEAST_GATE && covered(gate, MOST).is_some());
    if let (None, Some(least), Some(fits)) = (mould.gate_radius, least_to_fill, fits)
        && least > fits
    {
        // The time goes with the inverse of the area.
        let slower = mould.fill.unwrap_or_default() * (least / fits) * (least / fits);
        return Err(Problem::new(
            "mould.sprue.fill",
            "the body is too slim at this end for a gate that fills it so fast",
        )
        .value(format!("{} s", mould.fill.unwrap_or_default()))
        .limit(format!("at least {} s", libm::ceil(100.0 * slower) / 100.0))
        .hint(other_end(design, "allow more time"))
        .into());
    }
    // Inside all round farther in, but beside the end before that.
    let beside = reaches(radius, MOST).map(|covers| 100.0 * open(radius, covers));
    let what = match beside {
        Some(share) => format!(
            "the sprue would run beside this end: {share:.0} % of its gate opens into the body, half is the least"
        ),
        None => {
            "the body is too slim at this end for the gate: the sprue would swallow it".to_owned()
        }
    };
    let problem = Problem::new("mould.sprue.gate", what).value(design.units.show(2.0 * radius));
    Err(match fits {
        Some(fits) => problem
            .limit(format!("at most {}", design.units.show(2.0 * fits)))
            .hint(other_end(design, "make the gate smaller")),
        None => problem.hint(other_end(design, "make this end stouter")),
    }
    .into())
}

/// What helps, and the other end for the sprue unless a collar, a tail or legs stand there.
fn other_end(design: &Design, cure: &str) -> String {
    if design.mould.sprue_end == BodyEnd::Nose && closed_at_tail(design) {
        return cure.to_owned();
    }
    format!("{cure}, or move the sprue to the other end: mould.sprue.end")
}

/// Radius of the least gate that lets the shot through in this time.
///
/// A lower bound: friction, which is most of it in a thick plastic, is left out.
///
/// # References
/// Torricelli: a liquid leaves an opening under a head h at √(2 g h); of the opening's area
/// 0.6 counts (discharge coefficient of a sharp edge, common practice). The head is the full
/// funnel and the neck.
fn least_gate(design: &Design, shot: f64, seconds: f64) -> f64 {
    const GRAVITY: f64 = 9806.65;
    const DISCHARGE: f64 = 0.6;
    let head = design.mould.funnel_depth + NECK;
    let speed = (2.0 * GRAVITY * head).sqrt();
    (shot / (DISCHARGE * speed * seconds) / std::f64::consts::PI).sqrt()
}
