//! The vents at the end that is low as the mould is poured.

use nalgebra::Point3;

use super::{BURIED, Form};
use crate::mesh::{Bounds, Mesh};
use crate::mould::beside::Kind;
use crate::mould::keys::Key;
use crate::spec::{BodyEnd, Design, KEY_LAND, Making, Problem, Problems};

/// Vents if the maker says nothing of them (common practice).
const VENTS: usize = 2;

/// Least material between two vents, in mm.
const BETWEEN_VENTS: f64 = 1.5;
/// Least material between a vent and what reaches farther than its beginning, in mm: as thin as
/// masters and moulds print (common practice).
const BESIDE: f64 = 0.8;
/// How far along its way a vent may have less beside it, in mm: beside the round of the end that it
/// begins at, and where there is no better place, as beside a pin (reasoned). Farther, and it webs a
/// slim tail.
const ALONG: [f64; 2] = [3.0, 8.0];
/// What reaches no farther beyond a form than this, in mm, is no more than its end.
const FARTHER: f64 = 0.5;

/// A vent: a shallow straight groove, half of it in each mould half.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Vent {
    /// The groove's outside.
    pub bounds: Bounds,
}

impl Vent {
    /// Whether it leaves material to round places of the parting face.
    fn clears(&self, taken: &[([f64; 2], f64)]) -> bool {
        let (low, high) = (self.bounds.min, self.bounds.max);
        taken.iter().all(|&([x, y], radius)| {
            let dx = (low.x - x).max(x - high.x).max(0.0);
            let dy = (low.y - y).max(y - high.y).max(0.0);
            libm::hypot(dx, dy) >= radius + BETWEEN_VENTS - 0.1
        })
    }

    /// Whether it has material on both sides, after no more than so much of its way out of `end` of a
    /// kind, and all along whatever stands out beyond what it begins at.
    fn leaves(&self, end: BodyEnd, kind: &Kind<'_>, along: f64) -> bool {
        let (low, high) = (self.bounds.min, self.bounds.max);
        let beside = kind.outline.span_between([low.y - BESIDE, high.y + BESIDE]);
        beside.is_none_or(|[from, to]| match end {
            BodyEnd::Nose => high.x - from <= along && from > kind.vented.ends[0] - FARTHER,
            BodyEnd::Tail => to - low.x <= along && to < kind.vented.ends[1] + FARTHER,
        })
    }
}

/// The end that the vents are at.
fn vented_end(design: &Design) -> BodyEnd {
    match design.mould.sprue_end {
        BodyEnd::Nose => BodyEnd::Tail,
        BodyEnd::Tail => BodyEnd::Nose,
    }
}

/// What the vents begin at: the whole master, in the mould's axes, where fins or a tail take it
/// beyond the trunk in the parting plane; otherwise the trunk. The mould's design, and the bait's.
pub(in crate::mould) fn beyond_trunk(
    (design, own): (&Design, &Design),
    form: &Form<'_>,
    master: &Mesh,
) -> Option<Form<'static>> {
    // Pins of bores stand out of a master too, but no air has to leave past them.
    let pins = own.bore.iter().any(|b| b.how == Making::Cast);
    if pins || form.has_collar {
        return None;
    }
    let whole = Form::of_mesh(master.clone());
    let end = vented_end(design);
    let farther = match end {
        BodyEnd::Nose => form.ends[0] - whole.ends[0],
        BodyEnd::Tail => whole.ends[1] - form.ends[1],
    };
    // A tail that lies off the parting plane cannot be reached by a groove in it.
    let reached = whole.holds_somewhere(end, design.mould.vent_depth);
    (farther > FARTHER && reached).then_some(whole)
}

/// The vents of one bait, across the block in its own place.
pub(in crate::mould) fn vents_of(
    design: &Design,
    kind: &Kind<'_>,
    block: &Bounds,
    keys: &[Key],
    alone: bool,
) -> Result<Vec<Vent>, Problems> {
    let mut own = *block;
    own.min.x -= kind.along;
    own.max.x -= kind.along;
    let mut vents = vents(design, kind, &own, keys, alone)?;
    if kind.called.is_some() {
        for vent in &mut vents {
            vent.bounds.min.x += kind.along;
            vent.bounds.max.x += kind.along;
            // Rounding must not keep them from the very face.
            match vented_end(design) {
                BodyEnd::Nose => vent.bounds.min.x = block.min.x,
                BodyEnd::Tail => vent.bounds.max.x = block.max.x,
            }
        }
    }
    Ok(vents)
}

fn vents(
    design: &Design,
    kind: &Kind<'_>,
    block: &Bounds,
    keys: &[Key],
    alone: bool,
) -> Result<Vec<Vent>, Problems> {
    let end = vented_end(design);
    let form = kind.vented;
    // A collar's seat is no way out for the air: vents leave before it, sideways.
    let place = |(count, along): (usize, f64)| {
        if end == BodyEnd::Tail && form.has_collar {
            // Sideways would run into the neighbour. This end is the lowest as the mould is
            // poured: it fills first, and its air rises past the baits to the sprue, or from
            // wherever it is caught by grooves of its own (see `air`).
            if !alone {
                return (count == 0).then(Vec::new);
            }
            sideways(design, form, block, (keys, kind.taken), count)
        } else {
            endways(design, kind, block, (end, along), count)
        }
    };
    // Rather one that leaves at once than two that run beside the tail.
    let fewer = || {
        let mut all = ALONG
            .into_iter()
            .flat_map(|along| (1..=VENTS).rev().map(move |n| (n, along)));
        all.find_map(place).unwrap_or_default()
    };
    let mut vents = match design.mould.vent_count {
        None => fewer(),
        // Those that are asked for may run beside a tail as far as it goes.
        Some(asked) => match place((asked, f64::INFINITY)) {
            Some(vents) => vents,
            None => {
                let fit = (0..asked).rev().find_map(|n| place((n, f64::INFINITY)));
                return Err(no_room(design, asked, fit.map_or(0, |vents| vents.len())).into());
            }
        },
    };
    vents.sort_by(|a, b| a.bounds.min.y.total_cmp(&b.bounds.min.y));
    Ok(vents)
}

fn no_room(design: &Design, asked: usize, fit: usize) -> Problem {
    let mould = &design.mould;
    Problem::new("mould.vents.count", "the body has no room for its vents")
        .value(asked)
        .limit(format!(
            "at most {fit} of {} by {} on this body",
            design.units.show(mould.vent_width),
            design.units.show(mould.vent_depth)
        ))
        .hint("ask for fewer or smaller vents; 0 leaves them out")
}

/// Vents side by side from the end of the body to the end face of the block.
fn endways(
    design: &Design,
    kind: &Kind<'_>,
    block: &Bounds,
    (end, along): (BodyEnd, f64),
    count: usize,
) -> Option<Vec<Vent>> {
    /// Steps aside in which a way is looked for; how many past a seat or a print, and how many
    /// from the middle of an end to its tip.
    const STEP: f64 = 0.25;
    const PAST: i32 = 80;
    const TO_TIP: i32 = 16;
    let (form, taken) = (kind.vented, kind.taken);
    let (width, depth) = (design.mould.vent_width, design.mould.vent_depth);
    let lobes = form.lobes(end);
    let farther = kind.outline.span(0).is_some_and(|[from, to]| match end {
        BodyEnd::Nose => from < form.ends[0] - FARTHER,
        BodyEnd::Tail => to > form.ends[1] + FARTHER,
    });
    let past = if taken.is_empty() && !farther {
        0
    } else {
        PAST
    };
    let mut vents: Vec<Vent> = Vec::new();
    for i in 0..count {
        // Dealt out to the lobes by turns, and side by side within each.
        let lobe = i % lobes.len();
        let (within, of) = (i / lobes.len(), (count - lobe).div_ceil(lobes.len()));
        let aside = within as f64 - 0.5 * (of as f64 - 1.0);
        let wanted = lobes[lobe] + aside * (width + BETWEEN_VENTS);
        let outward = if aside < 0.0 { -STEP } else { STEP };
        // As wide as it is within the form where it begins; on a slim end only by its middle.
        let at = |y: f64, within: f64| {
            let edges = [y - 0.5 * width, y + 0.5 * width];
            let held = [y - 0.5 * within, y + 0.5 * within];
            let fits = |x: f64| held.iter().all(|&y| form.holds(x, y, 0.5 * depth));
            let inside = form.inward(end, form.depth(end, 0.5, fits)? + BURIED);
            let (from, to) = match end {
                BodyEnd::Nose => (block.min.x, inside),
                BodyEnd::Tail => (inside, block.max.x),
            };
            Some(Vent {
                bounds: Bounds {
                    min: Point3::new(from, edges[0], -0.5 * depth),
                    max: Point3::new(to, edges[1], 0.5 * depth),
                },
            })
        };
        let tries = |steps: i32| {
            (0..=steps).flat_map(move |k| [1.0, -1.0].map(|s| wanted + s * f64::from(k) * outward))
        };
        let clear = |vent: &Vent| {
            let apart = |other: &Vent| {
                let (a, b) = (vent.bounds.centre().y, other.bounds.centre().y);
                (a - b).abs() > width + BETWEEN_VENTS - 1e-9
            };
            vent.leaves(end, kind, along) && vent.clears(taken) && vents.iter().all(apart)
        };
        let whole = tries(past).filter_map(|y| at(y, width)).find(clear);
        let middle = || {
            tries(past.max(TO_TIP))
                .filter_map(|y| at(y, 0.0))
                .find(clear)
        };
        vents.push(whole.or_else(middle)?);
    }
    Some(vents)
}

/// Vents from just before the tail to the long sides of the block, right and left by
/// turns, as near to the tail as the keys let them.
fn sideways(
    design: &Design,
    form: &Form<'_>,
    block: &Bounds,
    (keys, taken): (&[Key], &[([f64; 2], f64)]),
    count: usize,
) -> Option<Vec<Vent>> {
    const STEP: f64 = 0.25;
    let mould = &design.mould;
    let (width, depth, length) = (mould.vent_width, mould.vent_depth, form.length());
    let mut next = [length - BURIED - width; 2];
    let mut vents = Vec::new();
    for i in 0..count {
        let leftward = i % 2 == 1;
        let sign = if leftward { 1.0 } else { -1.0 };
        let place = &mut next[i % 2];
        let placed = loop {
            let edges = [*place, *place + width];
            *place -= STEP;
            if edges[0] < 0.5 * length {
                break None;
            }
            let clear = keys.iter().filter(|k| k.at[1] * sign > 0.0).all(|k| {
                let reach = k.reach()[0] + KEY_LAND;
                edges[0] > k.at[0] + reach || edges[1] < k.at[0] - reach
            });
            // Of both edges the one nearer to the middle.
            let inside = edges
                .map(|x| sign * form.spine(x) + 0.85 * form.reach(leftward, x))
                .into_iter()
                .fold(f64::INFINITY, f64::min);
            let past = Vent {
                bounds: Bounds {
                    min: Point3::new(edges[0], if leftward { inside } else { block.min.y }, 0.0),
                    max: Point3::new(edges[1], if leftward { block.max.y } else { -inside }, 0.0),
                },
            };
            if clear
                && past.clears(taken)
                && edges
                    .iter()
                    .all(|&x| form.holds(x, sign * inside, 0.5 * depth))
            {
                break Some((edges, inside));
            }
        };
        let (edges, inside) = placed?;
        *place = edges[0] - BETWEEN_VENTS - width;
        let (from, to) = if leftward {
            (inside, block.max.y)
        } else {
            (block.min.y, -inside)
        };
        vents.push(Vent {
            bounds: Bounds {
                min: Point3::new(edges[0], from, -0.5 * depth),
                max: Point3::new(edges[1], to, 0.5 * depth),
            },
        });
    }
    Some(vents)
}
