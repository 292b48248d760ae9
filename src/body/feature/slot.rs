//! Slots along back or belly.

use nalgebra::{Point3, Vector3};

use super::Feature;
use crate::body::ground::{Ground, SKIN, round};
use crate::body::master::Effect;
use crate::body::ribs;
use crate::mesh::{AxisMap, Mesh};
use crate::spec::{Edge, Making, Problem, RibsDesign, SlotDesign};

/// Least width and depth that a spec may ask for, in mm.
const LEAST: f64 = 0.5;
/// The greatest depth that it may ask for, in mm.
const DEEPEST: f64 = 100.0;
/// How far a cut reaches over the surface, in mm.
const OVER: f64 = 1.0;
/// How far the print of a blade core stands out: what holds it in its seat (reasoned).
const PRINT: f64 = 5.0;
/// Ends whose middles are nearer to each other than this, in mm, are one.
const ROUND: f64 = 1e-6;
/// Parts of a slot that are judged.
const PLACES: usize = 24;
/// Width and depth of the groove that marks a slot, in mm: seen, and no deeper than a cut
/// that is started with (reasoned).
const MARK: (f64, f64) = (0.8, 0.4);

/// Cut into the master: a cast slot that the parting lets go of, or the mark of one.
pub(super) fn cut(feature: &mut Feature<'_>, slot: &SlotDesign) -> Result<(), Problem> {
    judge(feature, slot)?;
    let groove = if slot.how == Making::Marked {
        let note = format!(
            "{}: marked with a groove; to be cut {} wide and {} deep.",
            feature.path,
            feature.show(slot.width),
            feature.show(slot.depth)
        );
        feature.notes.push(note);
        SlotDesign {
            width: slot.width.min(MARK.0),
            depth: slot.depth.min(MARK.1),
            ..*slot
        }
    } else {
        *slot
    };
    let mesh = groove_mesh(feature.ground, &groove, OVER, feature.tolerance);
    feature.push(Effect::Cuts, mesh, false);
    Ok(())
}

/// The blade that a slot is cast around, with its print outside the body.
pub(super) fn core(feature: &mut Feature<'_>, slot: &SlotDesign) -> Result<(), Problem> {
    judge(feature, slot)?;
    open_above(feature, slot)?;
    let mesh = groove_mesh(feature.ground, slot, PRINT, feature.tolerance);
    let note = format!(
        "{}: the halves open across this slot, so it is cast around a loose blade, which is in \
         cores.stl. Its tongue lies in the seat in the parting face; put it in before \
         every casting, and fit it with a file where it is tight.",
        feature.path
    );
    feature.notes.push(note);
    feature.push(Effect::Core, mesh, false);
    Ok(())
}

/// Nothing may close over a blade, which could not be drawn then: a fin along the same edge would.
fn open_above(feature: &Feature<'_>, slot: &SlotDesign) -> Result<(), Problem> {
    let ground = feature.ground;
    let out = Vector3::z() * sign(slot.side);
    let over = |x: f64| {
        let foot = Point3::from(out * level(ground, slot, x)) + Vector3::x() * x;
        let reach = ground.through(&foot, &out)?[1];
        (reach > PRINT).then(|| foot + out * reach)
    };
    let mut places =
        (0..=PLACES).map(|i| slot.from + (slot.to - slot.from) * i as f64 / PLACES as f64);
    let Some(closed) = places.find_map(over) else {
        return Ok(());
    };
    let by = ground.nearest(&closed, SKIN).unwrap_or("the bait");
    Err(Problem::new(
        &feature.path,
        format!("{by} closes over this slot, whose blade could not be drawn out of it"),
    )
    .value(format!(
        "its surface {} over the slot, {} from the nose",
        feature.show(closed.z.abs() - level(ground, slot, closed.x)),
        feature.show(closed.x)
    ))
    .limit(format!(
        "nothing farther than {} over a slot",
        feature.show(PRINT)
    ))
    .hint("end the slot before it, or move one of the two"))
}

fn judge(feature: &Feature<'_>, slot: &SlotDesign) -> Result<(), Problem> {
    let ground = feature.ground;
    let sign = sign(slot.side);
    let places: Vec<f64> = (0..=PLACES)
        .map(|i| slot.from + (slot.to - slot.from) * i as f64 / PLACES as f64)
        .collect();
    let edge = |x: f64| level(ground, slot, x);
    let deep = |depth: f64| {
        places
            .iter()
            .all(|&x| ground.holds(&Point3::new(x, 0.0, sign * (edge(x) - depth - SKIN))))
    };
    if !deep(slot.depth) {
        let mut problem = Problem::new(
            format!("{}.depth", feature.path),
            "this slot is so deep that too little is left behind it",
        )
        .value(feature.drawn.show(slot.depth));
        if let Some(fits) = feature.most(LEAST, slot.depth, deep) {
            problem = problem.limit(format_args!(
                "up to {}, which leaves {}",
                feature.drawn.at_most(fits),
                feature.show(SKIN)
            ));
        }
        return Err(problem.hint("make it shallower, or end it where the body is thicker"));
    }
    // As wide as it gets just over the round of its floor.
    let has_room = |width: f64, depth: f64| {
        let height = (0.5 * width).min(0.5 * depth);
        places.iter().all(|&x| {
            let in_cap = (x - slot.from).min(slot.to - x) < 0.5 * width;
            let z = sign * (edge(x) - depth + height);
            in_cap || ground.holds(&Point3::new(x, 0.5 * width + SKIN, z))
        })
    };
    let wide = |width: f64| has_room(width, slot.depth);
    if !wide(slot.width) {
        let path = format!("{}.width", feature.path);
        let drawn = feature.drawn.of(&path);
        let by_depth = |depth: f64| deep(depth) && has_room(slot.width, depth);
        let mut problem = Problem::new(path, "this slot is wider than the body allows")
            .value(drawn.show(slot.width));
        let narrower = drawn.most(LEAST, slot.width, wide);
        if let Some(fits) = narrower {
            problem = problem.limit(format_args!(
                "up to {}, which leaves {} on both sides",
                drawn.at_most(fits),
                feature.show(SKIN)
            ));
        }
        let shown = feature.drawn;
        let shallower = shown.most(LEAST, slot.depth, by_depth);
        // Near a narrow back, a floor farther down is where the body is wider.
        let deeper = || shown.least(slot.depth, DEEPEST, by_depth);
        let or = if narrower.is_some() {
            "or with"
        } else {
            "with"
        };
        let way = match shallower {
            Some(fits) => format!(
                "{or} a depth of at most {} this width would do",
                shown.at_most(fits)
            ),
            None => match (deeper(), narrower) {
                (Some(fits), _) => format!(
                    "{or} a depth of at least {} this width would do",
                    shown.at_least(fits)
                ),
                (None, Some(_)) => "make it narrower".to_owned(),
                (None, None) => "move it to where the body is wider".to_owned(),
            },
        };
        return Err(problem.hint(way));
    }
    Ok(())
}

fn sign(side: Edge) -> f64 {
    match side {
        Edge::Back => 1.0,
        Edge::Belly => -1.0,
    }
}

/// Height of what a slot's depth counts from. A cast slot lies in the body as it is without its
/// ribs: its blade would else be as wavy. A mark is too shallow for that, and follows them.
fn level(ground: &Ground<'_>, slot: &SlotDesign, x: f64) -> f64 {
    let edge = ground.edge(x, slot.side == Edge::Back);
    match slot.how {
        Making::Cast => edge - ribs::rise(&ground.body().ribs, x),
        Making::Marked => edge,
    }
}

/// The slot as a solid, from its floor to `over` above the surface. Built with its opening up,
/// layer upon layer from a row of points on y = 0; every layer is moved up and down with the
/// floor, which follows the surface.
fn groove_mesh(ground: &Ground<'_>, slot: &SlotDesign, over: f64, tolerance: f64) -> Mesh {
    let radius = 0.5 * slot.width;
    let (a, b) = (slot.from + radius, slot.to - radius);
    // One as long as it is wide is round: no sliver between its two ends.
    let b = if b - a < ROUND { a } else { b };
    let floor = |x: f64| level(ground, slot, x) - slot.depth;
    let highest = |most: f64, ribs: &RibsDesign| most.max(ribs.rise);
    let over = over + ground.body().ribs.iter().fold(0.0, highest);
    // Facets in a quarter turn, as many as the tolerance asks for.
    let sag = |n: usize| radius * (1.0 - libm::cos(std::f64::consts::FRAC_PI_4 / n as f64));
    let quarter = (3..24).find(|&n| sag(n) <= tolerance).unwrap_or(24);
    let along = straight_parts(&floor, a, b, tolerance);
    let count = along.len();

    let arc = slot.depth.min(radius);
    // Points of round parts stand outside by half their sag; those on the flat sides do not.
    let out = 1.0 + 0.5 * sag(quarter) / radius;
    let mut layers: Vec<(f64, f64)> = round(4 * quarter)
        .take(quarter + 1)
        .skip(1)
        .map(|[cos, sin]| {
            let out = if cos == 0.0 { 1.0 } else { out };
            (out * radius * sin, arc * (1.0 - out * cos))
        })
        .collect();
    layers.push((radius, slot.depth + over));

    let mut mesh = Mesh::default();
    let push = |mesh: &mut Mesh, x: f64, y: f64, up: f64| {
        mesh.points.push(Point3::new(x, y, floor(x) + up));
    };
    // Clockwise seen from above, beginning at x = a on the left: (x, share of y, row point).
    let cap = |centre: f64, forward: f64, row: usize| {
        round(4 * quarter)
            .take(2 * quarter)
            .skip(1)
            .map(move |[cos, sin]| (centre, out * forward * sin, out * forward * cos, row))
    };
    let mut ring: Vec<(f64, f64, f64, usize)> = Vec::new();
    ring.extend(along.iter().enumerate().map(|(i, &x)| (x, 0.0, 1.0, i)));
    ring.extend(cap(b, 1.0, count - 1));
    ring.extend(
        along
            .iter()
            .enumerate()
            .rev()
            .map(|(i, &x)| (x, 0.0, -1.0, i)),
    );
    ring.extend(cap(a, -1.0, 0));

    for &x in &along {
        push(&mut mesh, x, 0.0, arc * (1.0 - out));
    }
    for &(rho, up) in &layers {
        for &(x, ahead, aside, _) in &ring {
            push(&mut mesh, x + rho * ahead, rho * aside + 0.0, up);
        }
    }
    let top = mesh.points.len();
    for &x in &along {
        push(&mut mesh, x, 0.0, slot.depth + over);
    }
    let n = ring.len();
    let index = |layer: usize, k: usize| -> u32 {
        let k = k % n;
        (if layer == 0 {
            ring[k].3
        } else if layer > layers.len() {
            top + ring[k].3
        } else {
            count + (layer - 1) * n + k
        }) as u32
    };
    for layer in 0..=layers.len() {
        for k in 0..n {
            let [p, q] = [index(layer, k), index(layer, k + 1)];
            let [s, r] = [index(layer + 1, k), index(layer + 1, k + 1)];
            for t in [[p, s, r], [p, r, q]] {
                if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
                    mesh.triangles.push(t);
                }
            }
        }
    }
    match slot.side {
        Edge::Back => mesh,
        Edge::Belly => mesh.mapped(&AxisMap::MIRROR_Z),
    }
}

/// Places from a to b between which a curve strays from its chords by the tolerance at most.
fn straight_parts(curve: &impl Fn(f64) -> f64, a: f64, b: f64, tolerance: f64) -> Vec<f64> {
    const MOST: usize = 256;
    /// Shares of a part where it is looked at: in no simple ratio, so that none of them falls into
    /// step with ribs.
    const LOOKED_AT: [f64; 7] = [0.09, 0.236, 0.382, 0.5, 0.618, 0.764, 0.91];
    let mut parts = 1;
    loop {
        let at = |i: f64| a + (b - a) * i / parts as f64;
        let strays = (0..parts).any(|i| {
            let i = i as f64;
            let (from, to) = (curve(at(i)), curve(at(i + 1.0)));
            let off = |u: f64| (curve(at(i + u)) - from - u * (to - from)).abs();
            LOOKED_AT.into_iter().any(|u| off(u) > tolerance)
        });
        if !strays || parts >= MOST || b - a < 0.2 {
            let mut places: Vec<f64> = (0..=parts).map(|i| at(i as f64)).collect();
            places.dedup();
            return places;
        }
        parts *= 2;
    }
}
