//! A dimensioned drawing in three views with sections at stations.
//!
//! # References
//! ISO 128-2 (line types), ISO 128-3 (views), ISO 129-1 (dimensions), ISO 5455 (scales), ISO 5456-2
//! (first angle), ISO 2768-1 (general tolerances); from memory but for the last.

mod draughtsman;

use kurbo::{Affine, BezPath};
use nalgebra::Vector3;

use self::draughtsman::Draughtsman;
use super::super::sheet::{LEADING, Pen, TEXT, text_width};
use super::bench::bare;
use super::contours::{View, contours};
use super::pages::{Block, letters};
use crate::body::Body;
use crate::curve::Outline;
use crate::lathe::Gauge;
use crate::mesh::Mesh;
use crate::quantity::LengthUnit;
use crate::spec::Design;

/// Scales of ISO 5455, largest first.
const SCALES: [(f64, &str); 10] = [
    (10.0, "10:1"),
    (5.0, "5:1"),
    (2.0, "2:1"),
    (1.0, "1:1"),
    (0.5, "1:2"),
    (0.2, "1:5"),
    (0.1, "1:10"),
    (0.05, "1:20"),
    (0.02, "1:50"),
    (0.01, "1:100"),
];
/// Width and height of the title block.
const TITLE_BLOCK: [f64; 2] = [106.0, 26.0];
/// Row of sections' letters under the side view.
const LETTERS: f64 = 10.0;
/// From a view to its first dimension line, and between dimension lines.
const TO_LINE: f64 = 9.0;
/// Sections shown.
const SECTIONS: usize = 4;
/// From one view to the next.
const APART: f64 = 12.0;
/// Chords along a bowed outline, which has no exact Bézier form.
const PIECES: usize = 600;

/// Sizes that the layout needs, at 1:1: along x, y and z, and least x, y and z.
struct Sizes {
    low: [f64; 3],
    size: [f64; 3],
}

impl Sizes {
    /// Of a mesh that strays from the body by up to `tolerance`: as the body has them exactly wherever it
    /// is the trunk or the collar that reaches furthest.
    fn of(master: &Mesh, body: &Body, tolerance: f64) -> Self {
        let Some(mesh) = master.bounds() else {
            return Sizes {
                low: [0.0; 3],
                size: [1.0; 3],
            };
        };
        let mut ends = [
            [mesh.min.x, mesh.max.x],
            [mesh.min.y, mesh.max.y],
            [mesh.min.z, mesh.max.z],
        ];
        if body.scan.is_none() {
            let trunk = extent(body);
            for (mesh, trunk) in ends.iter_mut().zip(trunk) {
                for (k, sign) in [(0, -1.0), (1, 1.0)] {
                    if sign * (mesh[k] - trunk[k]) < tolerance {
                        mesh[k] = trunk[k];
                    }
                }
            }
        }
        Sizes {
            low: ends.map(|e| e[0]),
            size: ends.map(|e| e[1] - e[0]),
        }
    }
}

/// How far the trunk and its collar reach along x, y and z.
pub(super) fn extent(body: &Body) -> [[f64; 2]; 3] {
    let length = body.length();
    let thick = body.collar.iter().map(|c| c.radius).fold(0.0, f64::max);
    let half = body.half_width.greatest().1.max(thick);
    let mut up = [f64::INFINITY, f64::NEG_INFINITY];
    let outlines = [&body.back, &body.belly];
    let even = (0..=PIECES).map(|k| length * k as f64 / PIECES as f64);
    let knots = outlines.iter().flat_map(|o| o.knots());
    for x in even
        .chain(knots)
        .chain(outlines.iter().map(|o| o.greatest().0))
    {
        let axis = body.spine(x);
        let reach = |o: &Outline| o.height(x).max(o.height_before(x));
        up[0] = up[0].min(axis - reach(&body.belly));
        up[1] = up[1].max(axis + reach(&body.back));
    }
    let end = body.spine(length);
    if thick > 0.0 {
        up = [up[0].min(end - thick), up[1].max(end + thick)];
    }
    [[0.0, length + body.collar_length()], [-half, half], up]
}

/// The drawing, exactly as large as `area`.
pub(super) fn drawing(
    design: &Design,
    (body, scale): (&Body, f64),
    gauge: Option<&Gauge>,
    master: &Mesh,
    stations: &[f64],
    area: [f64; 2],
) -> Block {
    let sizes = Sizes::of(master, body, design.tolerance * scale);
    let units = design.units;
    let scan = body.scan.is_some();
    let shown: Vec<f64> = if scan {
        Vec::new()
    } else {
        spread_out(stations, SECTIONS)
    };
    let labels: Vec<String> = stations
        .iter()
        .map(|&at| size_at(body, at, gauge.is_some(), units))
        .collect();
    let above = if scan {
        0.0
    } else {
        let lettering = labels.iter().map(|l| text_width(l, TEXT));
        lettering.fold(0.0, f64::max) + 10.0
    };
    let tall = shown
        .iter()
        .map(|&at| body.back.height(at) + body.belly.height(at))
        .fold(0.0, f64::max);
    let below = LETTERS + 2.0 * TO_LINE + 3.0;
    let [l, w, h] = sizes.size;
    let left = 12.0;
    // Sections stand over the title block, to the right of the view from above, or under it.
    let beside = |s: f64| left + s * l + 2.0 * APART;
    let over_title = area[1] - TITLE_BLOCK[1] - 6.0;
    let fits = |s: f64| -> Option<bool> {
        let rows = above + s * h + below + s * w + APART;
        let across = s * (l + w) + 2.0 * APART + 56.0;
        if across > area[0] {
            return None;
        }
        let clear = beside(s) + TITLE_BLOCK[0] <= area[0] || rows <= over_title;
        let top = over_title - 2.0 * LEADING - 4.0 - s * tall;
        let widest = shown
            .iter()
            .map(|&at| section_width(body, at, s, units) + 4.0)
            .fold(0.0, f64::max);
        if rows <= area[1]
            && clear
            && top >= above + s * h + TO_LINE + 6.0
            && beside(s) + 3.0 * widest <= area[0]
        {
            return Some(true);
        }
        let foot = (s * tall + 2.0 * LEADING + 4.0).max(TITLE_BLOCK[1]);
        (rows + foot + 4.0 <= area[1]).then_some(false)
    };
    let (s, shown_at, aside) = SCALES
        .iter()
        .find_map(|&(s, name)| fits(s).map(|aside| (s, name, aside)))
        .unwrap_or((0.01, "1:100", false));
    let (sections_from, sections_foot) = if aside {
        (beside(s), over_title)
    } else {
        (0.0, area[1])
    };

    // A letter under each, between the extension lines of the body's length.
    let letters_fit = libm::floor((s * body.length() - 2.0) / 5.5).max(0.0) as usize;
    // And sections beside the title block.
    let room = if aside {
        area[0] - sections_from
    } else {
        area[0] - TITLE_BLOCK[0] - 6.0
    };
    let row = |shown: &[f64]| -> f64 {
        let each = shown
            .iter()
            .map(|&at| section_width(body, at, s, units) + 4.0);
        each.sum()
    };
    let shown = (0..=shown.len().min(letters_fit))
        .rev()
        .map(|count| spread_out(&shown, count))
        .find(|few| row(few) <= room)
        .unwrap_or_default();

    let mut sheet = Draughtsman {
        marks: Vec::new(),
        s,
        units,
    };
    let front = [left - s * sizes.low[0], above + s * (h + sizes.low[2])];
    let top_view = above + s * h + below + 2.0;
    let plan = [front[0], top_view - s * sizes.low[1]];
    let side_left = left + s * l + 2.0 * APART + 4.0;
    let end = [side_left + s * (w + sizes.low[1]), front[1]];

    // First angle: seen from the right flank, nose to the left, below it from above, to its right from the nose.
    let views = [
        (
            front,
            View {
                eye: Vector3::y() * -1.0,
                right: Vector3::x(),
                up: Vector3::z(),
            },
        ),
        (
            plan,
            View {
                eye: Vector3::z(),
                right: Vector3::x(),
                up: Vector3::y(),
            },
        ),
        (
            end,
            View {
                eye: Vector3::x() * -1.0,
                right: Vector3::y() * -1.0,
                up: Vector3::z(),
            },
        ),
    ];
    let ids = ["view-side", "view-above", "view-front"];
    for ((at, view), id) in views.into_iter().zip(ids) {
        let [visible, hidden] = contours(master, body, &view);
        sheet.path(at, visible, Pen::Wide, None);
        sheet.path(at, hidden, Pen::Hidden, None);
        if !scan {
            for (path, first) in trunk(body, id) {
                sheet.path(at, path, Pen::Wide, first.then_some(id));
            }
        }
    }
    sheet.centres(&sizes, front, plan, end);

    // Lengths under the side view, height and width at the view from in front.
    let under = front[1] - s * sizes.low[2];
    let body_end = front[0] + s * body.length();
    let (from, to) = (
        front[0] + s * sizes.low[0],
        front[0] + s * (sizes.low[0] + l),
    );
    let mut y = under + TO_LINE + if scan { 0.0 } else { LETTERS };
    if !scan && (body.length() - l).abs() > 0.01 {
        sheet.across(front[0], body_end, under, y, body.length());
        y += TO_LINE;
    }
    sheet.across(from, to, under, y, l);
    let (right, foot) = (end[0] - s * sizes.low[1], end[1] - s * sizes.low[2]);
    let round = gauge.is_some() && (w - h).abs() < 0.01;
    if !round {
        sheet.across(right - s * w, right, foot, foot + TO_LINE, w);
    }
    sheet.down(foot - s * h, foot, right, right + TO_LINE, h, round);
    if !scan {
        sheet.running(stations, &labels, front, s * sizes.low[2], s * h);
    }

    let mut x = sections_from;
    let base = sections_foot;
    for (i, &at) in shown.iter().enumerate() {
        let width = section_width(body, at, s, units);
        sheet.section(
            body,
            at,
            &letters(i),
            [x + 0.5 * width, base],
            gauge.is_some(),
        );
        x += width + 4.0;
    }
    sheet.letters(&shown, front[0], body_end, under);
    sheet.title(design, (scale, shown_at), gauge.is_some(), area);
    Block {
        width: area[0],
        height: area[1],
        marks: sheet.marks,
    }
}

/// A few stations, far enough apart.
fn spread_out(stations: &[f64], most: usize) -> Vec<f64> {
    let count = stations.len().min(most);
    (0..count)
        .map(|i| {
            stations[(i * (stations.len() - 1))
                .div_ceil(count.max(2) - 1)
                .min(stations.len() - 1)]
        })
        .collect()
}

/// A station's distance from the nose and its size, as lettered.
fn size_at(body: &Body, at: f64, round: bool, units: LengthUnit) -> String {
    format!(
        "{} \u{b7} {}",
        bare(at, units),
        section_size(body, at, round, units)
    )
}

fn section_size(body: &Body, at: f64, round: bool, units: LengthUnit) -> String {
    let width = 2.0 * body.half_width.height(at);
    let height = body.back.height(at) + body.belly.height(at);
    if round {
        format!("\u{d8} {}", bare(height, units))
    } else {
        format!("{} \u{d7} {}", bare(width, units), bare(height, units))
    }
}

fn section_width(body: &Body, at: f64, s: f64, units: LengthUnit) -> f64 {
    let lettering = text_width(&section_size(body, at, false, units), TEXT);
    (2.0 * s * body.half_width.height(at)).max(lettering) + 4.0
}

/// The trunk's outlines and edges in a view, exact where it has Bézier form; the first is the
/// outline that readers look for.
fn trunk(body: &Body, view: &str) -> Vec<(BezPath, bool)> {
    let length = body.length();
    let mut paths = Vec::new();
    let collar = |path: &mut BezPath, sign: f64, mut r: f64| {
        let mut at = length;
        for step in &body.collar {
            path.line_to((at, sign * step.radius));
            at += step.length;
            path.line_to((at, sign * step.radius));
            r = step.radius;
        }
        if r > 0.0 {
            path.line_to((at, 0.0));
        }
    };
    let edge = |outline: &Outline, sign: f64, upright: bool| {
        let mut path = BezPath::new();
        let start = if upright { body.spine(0.0) } else { 0.0 };
        path.move_to((0.0, start));
        if upright && body.camber.is_some() {
            for k in 0..=PIECES {
                // Closer together towards both ends.
                let u = k as f64 / PIECES as f64;
                let x = length * u * u * (3.0 - 2.0 * u);
                let z = |h: f64| body.spine(x) + sign * h;
                path.line_to((x, z(outline.height_before(x))));
                path.line_to((x, z(outline.height(x))));
            }
            path.line_to((length, body.spine(length)));
        } else {
            path.line_to((0.0, sign * outline.height(0.0)));
            let turned = Affine::new([1.0, 0.0, 0.0, sign, 0.0, 0.0]) * outline.to_path();
            path.extend(turned.elements().iter().skip(1).copied());
            collar(&mut path, sign, outline.height_before(length));
        }
        path
    };
    match view {
        "view-side" => {
            paths.push((edge(&body.back, 1.0, true), true));
            paths.push((edge(&body.belly, -1.0, true), true));
        }
        "view-above" => {
            paths.push((edge(&body.half_width, 1.0, false), true));
            paths.push((edge(&body.half_width, -1.0, false), true));
        }
        _ => paths.push((envelope(body), true)),
    }
    if view != "view-front" {
        let upright = view == "view-side";
        let (upper, lower) = if upright {
            (&body.back, &body.belly)
        } else {
            (&body.half_width, &body.half_width)
        };
        for b in upper.breaks() {
            let c = if upright { body.spine(b.at) } else { 0.0 };
            let low = lower.height(b.at).min(lower.height_before(b.at));
            let mut path = BezPath::new();
            path.move_to((b.at, c + b.before.min(b.after)));
            path.line_to((b.at, c - low));
            paths.push((path, false));
        }
    }
    paths
}

/// All sections behind each other, seen along the axis.
fn envelope(body: &Body) -> BezPath {
    const AROUND: u32 = 360;
    const ALONG: u32 = 240;
    let length = body.length();
    let mut path = BezPath::new();
    for k in 0..AROUND {
        let angle = f64::from(k);
        let (sin, cos) = libm::sincos(angle.to_radians());
        let mut most = body.collar.iter().map(|c| c.radius).fold(0.0, f64::max);
        let knots = [&body.back, &body.belly, &body.half_width];
        let greatest = knots.iter().map(|o| o.greatest().0);
        let even = (1..ALONG).map(|i| length * f64::from(i) / f64::from(ALONG));
        for x in even.chain(greatest).filter(|x| (1e-6..length).contains(x)) {
            let p = body.place(x, angle).point;
            // Along the ray from the axis; on a cambered body, near enough to it.
            most = most.max(p.y * sin + p.z * cos);
        }
        let p = (-most * sin, most * cos);
        if k == 0 {
            path.move_to(p);
        } else {
            path.line_to(p);
        }
    }
    path.close_path();
    path
}
