//! Roots of what stands behind a body: how deep they are buried, and what of them fits.

use nalgebra::Point3;

use super::tails::Behind;
use crate::body::Body;
use crate::body::ground::most;
use crate::body::place::sin_cos;
use crate::mesh::slice::PlaneSection;
use crate::spec::End;

/// A root is at least this deep in the body, in mm.
pub(super) const ROOT: f64 = 1.0;
/// Room round a root's hidden end, in mm.
const ROOM: f64 = 0.1;
/// A bar's end so far under the surface does not show, in mm.
const SHOWS: f64 = 0.02;
/// A root may reach this far into the body, as a share of its length.
const DEEPEST: f64 = 0.3;
/// Depths that are tried.
const STEPS: usize = 300;
/// What counts as the end of a body, in mm before it.
pub(super) const FACE: f64 = 0.01;

/// Half-axes of a root's section: up, down and aside. A body's back and belly differ, its sides do
/// not.
pub(super) type Half = [f64; 3];

/// A root's section, and how deep it is buried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Root {
    pub(super) half: Half,
    pub(super) depth: f64,
}

/// The body in a plane square to its axis, so far before its end.
struct Cut<'a> {
    body: &'a Body,
    behind: Behind,
    x: f64,
    /// Scans are straight, and slow to cut: once is enough for all points.
    section: Option<PlaneSection>,
}

impl<'a> Cut<'a> {
    fn new(body: &'a Body, depth: f64) -> Self {
        let x = body.length() - depth;
        Cut {
            body,
            behind: Behind::new(body),
            x,
            section: body.scan.as_ref().map(|scan| scan.section(x)),
        }
    }

    fn holds(&self, y: f64, z: f64) -> bool {
        self.holds_with(y, z, ROOM)
    }

    fn holds_with(&self, y: f64, z: f64, room: f64) -> bool {
        match &self.section {
            Some(section) => section.holds(y, z) && section.distance(y, z) >= room,
            None => {
                let p = self.behind.point(Point3::new(self.x, y, z));
                self.body.holds(&p, room)
            }
        }
    }

    fn holds_rim(&self, [up, down, aside]: Half) -> bool {
        (0..16).all(|k| {
            let (s, c) = sin_cos(22.5 * f64::from(k));
            self.holds(aside * s, if c < 0.0 { down } else { up } * c)
        })
    }

    /// The same of a flat bar with round edges, as high and wide.
    fn holds_bar(&self, height: f64, width: f64, room: f64) -> bool {
        let round = height.min(width);
        let (up, aside) = (height - round, width - round);
        (0..=4).all(|k| {
            let (s, c) = sin_cos(22.5 * f64::from(k));
            let (y, z) = (aside + round * s, up + round * c);
            [(y, z), (-y, z), (y, -z), (-y, -z)]
                .iter()
                .all(|&(y, z)| self.holds_with(y, z, room))
        })
    }

    /// Whether a half-axis is held: up (0), down (1), to both sides (2).
    fn holds_axis(&self, half: f64, axis: usize) -> bool {
        match axis {
            0 => self.holds(0.0, half),
            1 => self.holds(0.0, -half),
            _ => self.holds(half, 0.0) && self.holds(-half, 0.0),
        }
    }

    /// The greatest half-axis that is held.
    fn most_half(&self, axis: usize) -> Option<f64> {
        let body = self.body;
        // On a bowed body the line of a tail leaves the spine, towards the back or the belly.
        let greatest = match axis {
            0 | 1 => body.back.greatest().1 + body.belly.greatest().1,
            _ => body.half_width.greatest().1,
        };
        most(0.0, greatest, |half| self.holds_axis(half, axis))
    }

    /// The half-axes of a section as they fit: each no larger than asked for, then all made
    /// smaller where the body is not as full as an ellipse.
    fn fit(&self, wanted: Half) -> Half {
        let axis = |k: usize| {
            let held = |half: f64| self.holds_axis(half, k);
            if held(wanted[k]) {
                wanted[k]
            } else {
                most(0.0, wanted[k], held).unwrap_or(0.0)
            }
        };
        let half = [0, 1, 2].map(axis);
        let rim = |part: f64| self.holds_rim(half.map(|half| part * half));
        let part = if rim(1.0) {
            1.0
        } else {
            most(0.0, 1.0, rim).unwrap_or(0.0)
        };
        half.map(|half| part * half)
    }
}

/// The greatest depth of a root in a body.
fn deepest(body: &Body) -> f64 {
    (DEEPEST * body.length())
        .max(1.5 * ROOT)
        .min(0.9 * body.length())
}

/// The least of the depths from `from` on, of which a body's cut there is as wanted.
fn first(body: &Body, from: f64, wanted: impl Fn(&Cut<'_>) -> bool) -> Option<f64> {
    let deepest = deepest(body);
    (0..=STEPS)
        .map(|k| from + (deepest - from) * k as f64 / STEPS as f64)
        .find(|&depth| wanted(&Cut::new(body, depth)))
}

/// How deep before its end the body holds a section of this half height and width, at least
/// [`ROOT`].
pub(super) fn burial(body: &Body, height: f64, width: f64) -> Option<f64> {
    first(body, ROOT, |cut| cut.holds_rim([height, height, width]))
}

/// The same of a flat bar with round edges: deeper where that is fuller than the body, so that its
/// end does not show.
pub(super) fn bar_burial(body: &Body, height: f64, width: f64) -> Option<f64> {
    let depth = burial(body, height, width)?;
    if Cut::new(body, depth).holds_bar(height, width, SHOWS) {
        return Some(depth);
    }
    let hides = |cut: &Cut<'_>| cut.holds_bar(height, width, ROOM);
    first(body, depth, hides).or(Some(depth))
}

/// A root that comes out of the body at its end only, or all round it at one place: its section
/// is flattened to the body's, but to no less than `least`, half-axes too. `None` if the
/// body is nowhere as thick as it or as `least`.
///
/// A round root in a flat body would come out of back and belly long before it leaves the sides.
pub(super) fn flattened(body: &Body, wanted: Half, least: Half) -> Option<Root> {
    const SAMPLES: usize = 8;
    let least = [0, 1, 2].map(|k| least[k].min(wanted[k]));
    // An end that is no less thick is what the root comes out of. Any other it swallows,
    // from where it leaves the widest way of the body.
    let leaves = if Cut::new(body, FACE).holds_rim(least) {
        FACE
    } else {
        first(body, FACE, |cut| {
            (0..3).any(|axis| cut.holds_axis(wanted[axis], axis))
        })?
    };
    let mut half = wanted;
    for k in 0..=SAMPLES {
        let more = (ROOT - leaves).max(0.0) * k as f64 / SAMPLES as f64;
        half = Cut::new(body, leaves + more).fit(half);
    }
    let half = [0, 1, 2].map(|k| half[k].max(least[k]));
    let depth = first(body, leaves.max(ROOT), |cut| cut.holds_rim(half))?;
    Some(Root { half, depth })
}

/// How far before its end a body begins to close: behind its last station.
fn closes(body: &Body) -> f64 {
    if body.tail == End::Flat {
        return FACE;
    }
    if body.scan.is_some() {
        return scan_closes(body);
    }
    let outlines = [&body.back, &body.belly, &body.half_width];
    let stations = outlines.into_iter().flat_map(|outline| outline.knots());
    let before_end = stations.filter(|&x| x < body.length() - FACE);
    body.length() - before_end.fold(0.0, f64::max)
}

/// The same of a scan, which has no stations: from where on its outline falls to the axis steeply,
/// above, below or aside.
fn scan_closes(body: &Body) -> f64 {
    /// Depths that are looked at, and those that a fall is taken over, about a fiftieth of the
    /// length: more than a scan is rough.
    const PLACES: usize = 60;
    const OVER: usize = 4;
    /// An end falls by more than this, 11°, and than so many times its flank does (reasoned).
    const STEEP: f64 = 0.2;
    const STEEPER: f64 = 1.25;
    let deepest = deepest(body);
    let step = (deepest - FACE) / PLACES as f64;
    let cuts: Vec<Cut<'_>> = (0..=PLACES)
        .map(|k| Cut::new(body, FACE + step * k as f64))
        .collect();
    let closes = |axis: usize| {
        let half = |cut: &Cut<'_>| cut.most_half(axis).unwrap_or(0.0);
        let halves: Vec<f64> = cuts.iter().map(half).collect();
        let fall =
            |from: usize, over: usize| (halves[from + over] - halves[from]) / (step * over as f64);
        let steep = STEEP.max(STEEPER * fall(PLACES / 2, PLACES / 2));
        let flank = (0..=PLACES - OVER).find(|&k| fall(k, OVER) < steep);
        flank.map_or(deepest, |k| FACE + step * k as f64)
    };
    closes(0).max(closes(1)).max(closes(2))
}

/// The half-axes of a body where it begins to close: what its roots of a size of their own stay
/// within. Nothing where that is deeper than roots reach.
pub(super) fn drawn_end(body: &Body) -> Half {
    let closes = closes(body);
    if closes >= deepest(body) {
        return [f64::INFINITY; 3];
    }
    let cut = Cut::new(body, closes.max(FACE));
    // A little less, so that what looks for it on a grid of depths finds it held.
    [0, 1, 2].map(|axis| {
        cut.most_half(axis)
            .map_or(f64::INFINITY, |half| 0.995 * half)
    })
}

/// The root of a strand that goes on straight where the body's outline ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tangent {
    /// Half-axes of its section, as deep as it is straight.
    pub(super) half: Half,
    /// How deep before the body's end each begins to thin: there it touches the surface from
    /// within.
    pub(super) leaves: Half,
    /// How deep it is buried.
    pub(super) depth: f64,
}

/// The root whose flanks run straight from where the body closes, between its last station and its
/// end, to half-axes `tip` at this distance behind its end. `None` if the body is no thicker than the
/// tip, or too lean to hide the root's end.
///
/// Of all lines from the tip to an outline that closes, the one that touches it is the steepest, and
/// has all of the body behind that place within. What is drawn by stations is kept as it is drawn.
pub(super) fn tangent(body: &Body, straight: f64, tip: Half) -> Option<Tangent> {
    /// Depths that are looked at.
    const PLACES: usize = 60;
    let closes = closes(body);
    let deepest = deepest(body).min(closes.max(FACE));
    // Closer together towards the end, where a round one is steep.
    let depth = |k: usize| {
        let part = k as f64 / PLACES as f64;
        FACE + (deepest - FACE) * part * part
    };
    let cuts: Vec<(f64, Cut<'_>)> = (0..=PLACES)
        .map(|k| (depth(k), Cut::new(body, depth(k))))
        .collect();
    let touch = |axis: usize| {
        let steep = |(depth, cut): &(f64, Cut<'_>)| {
            let half = cut.most_half(axis)?;
            Some(((half - tip[axis]) / (straight + depth), *depth, half))
        };
        let best = cuts.iter().filter_map(steep);
        let best = best.max_by(|a, b| a.0.total_cmp(&b.0))?;
        (best.0 > 0.0).then_some(best)
    };
    let touches = [touch(0)?, touch(1)?, touch(2)?];
    let leaves = touches.map(|(_, depth, _)| depth);
    let from = leaves.into_iter().fold(0.0, f64::max);
    // A section leaner than an ellipse holds less than its axes do.
    let full = |part: f64| {
        let half = touches.map(|(_, _, half)| part * half);
        first(body, from + ROOT, |cut| cut.holds_rim(half))
    };
    let part = (0..10)
        .map(|k| 1.0 - 0.05 * f64::from(k))
        .find(|&part| full(part).is_some())?;
    let half = touches.map(|(_, _, half)| part * half);
    let thicker = (0..3).all(|k| half[k] > tip[k]);
    thicker.then_some(())?;
    Some(Tangent {
        half,
        leaves,
        depth: full(part)?,
    })
}

/// How deep before its end a body holds a half-axis.
pub(super) fn leaves(body: &Body, half: f64, axis: usize) -> Option<f64> {
    first(body, FACE, |cut| cut.holds_axis(half, axis))
}

/// The greatest of sizes from `least` to `most` that comes out of the body no farther from its end
/// than the least does; `axes` makes half-axes of a size.
pub(super) fn flush(
    body: &Body,
    [least, greatest]: [f64; 2],
    axes: impl Fn(f64) -> [f64; 2],
) -> Option<f64> {
    let [height, width] = axes(least);
    let depth = burial(body, height, width)?;
    let cut = Cut::new(body, depth);
    let held = |size: f64| {
        let [height, width] = axes(size);
        cut.holds_rim([height, height, width])
    };
    if held(greatest) {
        return Some(greatest);
    }
    most(least, greatest, held)
}
