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
const FACE: f64 = 0.01;

/// Half-axes of a root's section, and how deep it is buried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Root {
    pub(super) height: f64,
    pub(super) width: f64,
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

    fn holds_rim(&self, height: f64, width: f64) -> bool {
        (0..16).all(|k| {
            let (s, c) = sin_cos(22.5 * f64::from(k));
            self.holds(width * s, height * c)
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

    /// Whether a section of these half-axes is held up and down, and to the sides.
    fn holds_axes(&self, height: f64, width: f64) -> [bool; 2] {
        let to = |y: f64, z: f64| self.holds(y, z) && self.holds(-y, -z);
        [to(0.0, height), to(width, 0.0)]
    }

    /// The half-axes of a section as they fit: each no larger than asked for, then both made
    /// smaller where the body is not as full as an ellipse.
    fn fit(&self, height: f64, width: f64) -> (f64, f64) {
        let axis = |size: f64, k: usize| {
            let held = |size: f64| self.holds_axes(size, size)[k];
            if held(size) {
                size
            } else {
                most(0.0, size, held).unwrap_or(0.0)
            }
        };
        let (height, width) = (axis(height, 0), axis(width, 1));
        let rim = |part: f64| self.holds_rim(part * height, part * width);
        let part = if rim(1.0) {
            1.0
        } else {
            most(0.0, 1.0, rim).unwrap_or(0.0)
        };
        (part * height, part * width)
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

/// How deep before its end the body holds a section of these half-axes, at least
/// [`ROOT`].
pub(super) fn burial(body: &Body, height: f64, width: f64) -> Option<f64> {
    first(body, ROOT, |cut| cut.holds_rim(height, width))
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
pub(super) fn flattened(body: &Body, wanted: [f64; 2], least: [f64; 2]) -> Option<Root> {
    const SAMPLES: usize = 8;
    let [height, width] = wanted;
    let least = [least[0].min(height), least[1].min(width)];
    // An end that is no less thick is what the root comes out of. Any other it swallows,
    // from where it leaves the wider way of the body.
    let leaves = if Cut::new(body, FACE).holds_rim(least[0], least[1]) {
        FACE
    } else {
        first(body, FACE, |cut| {
            cut.holds_axes(height, width).contains(&true)
        })?
    };
    let mut fit = [height, width];
    for k in 0..=SAMPLES {
        let more = (ROOT - leaves).max(0.0) * k as f64 / SAMPLES as f64;
        let (h, w) = Cut::new(body, leaves + more).fit(fit[0], fit[1]);
        fit = [h, w];
    }
    let [height, width] = [0, 1].map(|k| fit[k].max(least[k]));
    let depth = first(body, leaves.max(ROOT), |cut| cut.holds_rim(height, width))?;
    Some(Root {
        height,
        width,
        depth,
    })
}

/// The root of a strand that goes on straight where the body's outline ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tangent {
    /// Half-axes of its section, up and aside, as deep as it is straight.
    pub(super) half: [f64; 2],
    /// How deep before the body's end it begins to thin, up and aside: there it touches the
    /// surface from within.
    pub(super) leaves: [f64; 2],
    /// How deep it is buried.
    pub(super) depth: f64,
}

/// The root whose flanks run straight from where the body closes, between its last station and its
/// end, to half-axes `tip` at this distance behind its end. `None` if the body is no thicker than the
/// tip, too lean to hide the root's end, or a scan, which has no stations.
///
/// Of all lines from the tip to an outline that closes, the one that touches it is the steepest, and
/// has all of the body behind that place within. What is drawn by stations is kept as it is drawn.
pub(super) fn tangent(body: &Body, straight: f64, tip: [f64; 2]) -> Option<Tangent> {
    /// Depths that are looked at.
    const PLACES: usize = 60;
    if body.scan.is_some() {
        return None;
    }
    let stations = [&body.back, &body.belly, &body.half_width].map(|outline| outline.knots());
    let last = stations
        .into_iter()
        .flatten()
        .filter(|&x| x < body.length() - FACE);
    let closes = match body.tail {
        End::Flat => FACE,
        End::Round | End::Pointed => body.length() - last.fold(0.0, f64::max),
    };
    let deepest = deepest(body).min(closes.max(FACE));
    // Closer together towards the end, where a round one is steep.
    let depth = |k: usize| {
        let part = k as f64 / PLACES as f64;
        FACE + (deepest - FACE) * part * part
    };
    let cuts: Vec<(f64, Cut<'_>)> = (0..=PLACES)
        .map(|k| (depth(k), Cut::new(body, depth(k))))
        .collect();
    let most_half = |cut: &Cut<'_>, axis: usize| {
        let greatest = [
            body.back.greatest().1.max(body.belly.greatest().1),
            body.half_width.greatest().1,
        ];
        most(0.0, greatest[axis], |half| cut.holds_axes(half, half)[axis])
    };
    let touch = |axis: usize| {
        let steep = |(depth, cut): &(f64, Cut<'_>)| {
            let half = most_half(cut, axis)?;
            Some(((half - tip[axis]) / (straight + depth), *depth, half))
        };
        let best = cuts.iter().filter_map(steep);
        let best = best.max_by(|a, b| a.0.total_cmp(&b.0))?;
        (best.0 > 0.0).then_some(best)
    };
    let (up, aside) = (touch(0)?, touch(1)?);
    let leaves = [up.1, aside.1];
    let from = leaves[0].max(leaves[1]);
    // A section leaner than an ellipse holds less than both its axes do.
    let full = |part: f64| {
        let half = [up.2, aside.2].map(|half| part * half);
        first(body, from + ROOT, |cut| cut.holds_rim(half[0], half[1]))
    };
    let part = (0..10)
        .map(|k| 1.0 - 0.05 * f64::from(k))
        .find(|&part| full(part).is_some())?;
    let half = [up.2, aside.2].map(|half| part * half);
    let thicker = (0..2).all(|k| half[k] > tip[k]);
    thicker.then_some(())?;
    Some(Tangent {
        half,
        leaves,
        depth: full(part)?,
    })
}

/// How deep before its end a body is as thick as a section of these half-axes: up and down (0) or
/// to the sides (1).
pub(super) fn leaves(body: &Body, [height, width]: [f64; 2], axis: usize) -> Option<f64> {
    first(body, FACE, |cut| cut.holds_axes(height, width)[axis])
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
        cut.holds_rim(height, width)
    };
    if held(greatest) {
        return Some(greatest);
    }
    most(least, greatest, held)
}
