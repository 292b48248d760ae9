//! The pattern that walls of frame or boxes and the backing plates are cut from sheet material by.

use kurbo::BezPath;

use super::sheet::{
    Align, BARS_HEIGHT, BARS_WIDTH, LEADING, MARGIN, Mark, Pen, Sheet, check_bars, line, page, text,
};
use crate::mould::Mould;
use crate::quantity::LengthUnit;
use crate::spec::{Design, Route};

/// From one panel to the next, with room for dimensions.
const APART: f64 = 14.0;
/// Fingers are about this many thicknesses long, and no shorter than this (common practice).
const FINGER: (f64, f64) = (2.0, 6.0);
/// Notches in a plate that a band lies in: width and depth (reasoned).
const NOTCH: (f64, f64) = (8.0, 3.0);

/// A panel: what it is, how many of it, its finished outline.
struct Panel {
    title: String,
    size: [f64; 2],
    /// Corners, clockwise on paper, where y is down.
    outline: Vec<[f64; 2]>,
}

/// The pattern for a mould, at 1:1; `None` if nothing of it is cut from sheet.
///
/// Lines are where the middle of the cut goes: half the kerf outside the finished part, so that
/// parts come out at their size and fingers fill their gaps.
pub fn pattern_sheet(mould: &Mould, design: &Design) -> Option<Sheet> {
    let panels = panels(mould, design);
    if panels.is_empty() {
        return None;
    }
    let (kerf, units) = (design.mould.kerf, design.units);
    let title = format!("{}, cutting pattern", design.name);
    let mut marks = Vec::new();
    let (left, mut top) = (MARGIN + 8.0, MARGIN + 6.0);
    let rows = [
        title.clone(),
        format!(
            "Sheet of {} thickness, cut of {} width: the lines are the middle of the cut, all parts \
             come out at the size written.",
            units.show(design.mould.sheet),
            units.show(kerf)
        ),
    ];
    for row in rows {
        marks.push(text((MARGIN, top), Align::Start, row));
        top += LEADING;
    }
    top += LEADING;
    let mut widest: f64 = BARS_WIDTH;
    for panel in &panels {
        marks.push(text((left, top), Align::Start, panel.title.as_str()));
        top += 3.0;
        marks.push(Mark::Line {
            id: None,
            path: cut(&panel.outline, kerf, [left, top]),
            pen: Pen::Cut,
        });
        let [width, height] = panel.size;
        marks.extend(dimensions([left, top], panel.size, units));
        widest = widest.max(width + left - MARGIN);
        top += height + APART;
    }
    marks.extend(check_bars(MARGIN, top));
    top += BARS_HEIGHT;
    let (width, height) = page(widest, top - MARGIN, units);
    Some(Sheet {
        title,
        width,
        height,
        marks,
    })
}

fn panels(mould: &Mould, design: &Design) -> Vec<Panel> {
    let size = mould.block.size();
    let t = design.mould.sheet;
    let mut panels = Vec::new();
    if mould.route == Route::Board {
        for (name, inner, first) in [("long", size.x, true), ("short", size.y, false)] {
            for number in 1..=2 {
                panels.push(Panel {
                    title: format!("{name} wall {number} of 2"),
                    size: [inner + 2.0 * t, size.z],
                    outline: wall(&level(inner, size.z), t, first),
                });
            }
        }
    }
    if mould.route == Route::Boxes && design.mould.sheet_walls {
        for (name, walls) in mould.names().into_iter().zip(box_walls(mould)) {
            for (title, depths, first) in walls {
                let (inner, _) = ends(&depths);
                let deepest = depths.iter().map(|d| d[1]).fold(0.0, f64::max);
                panels.push(Panel {
                    title: format!("{name} box, {title}"),
                    size: [inner + 2.0 * t, deepest],
                    outline: wall(&depths, t, first),
                });
            }
        }
    }
    if mould.route != Route::Block && design.mould.bands {
        for name in mould.names() {
            panels.push(Panel {
                title: format!("backing plate, {name} half"),
                size: [size.x, size.y],
                outline: plate(size.x, size.y),
            });
        }
    }
    panels
}

/// Depths of a wall under its upper edge: corners (along, depth) from one end of the inside to
/// the other, by its lower edge.
type Depths = Vec<[f64; 2]>;

fn level(inner: f64, height: f64) -> Depths {
    vec![[0.0, height], [inner, height]]
}

/// How long a wall is, and how high at both ends.
fn ends(depths: &[[f64; 2]]) -> (f64, [f64; 2]) {
    let (first, last) = (depths[0], depths[depths.len() - 1]);
    (last[0], [first[1], last[1]])
}

/// Walls of the upper and the lower half's box as they stand on their floors: title, depths from
/// brim to floor, and whether they are the first to have a finger.
fn box_walls(mould: &Mould) -> [Vec<(String, Depths, bool)>; 2] {
    let (block, width) = (mould.block, mould.block.size().y);
    let course = mould.face.profile(block.min.x, block.max.x);
    [1.0, -1.0].map(|side| {
        let brim = if side > 0.0 {
            block.max.z
        } else {
            -block.min.z
        };
        let depth = |c: &[f64; 2]| [c[0] - block.min.x, brim - side * c[1]];
        let long: Depths = course.iter().map(depth).collect();
        let (_, [nose, tail]) = ends(&long);
        let mut walls = Vec::new();
        for number in 1..=2 {
            walls.push((format!("long wall {number} of 2"), long.clone(), true));
        }
        for (title, height) in [("wall at the nose", nose), ("wall at the tail", tail)] {
            walls.push((title.to_owned(), level(width, height), false));
        }
        walls
    })
}

/// A wall with fingers at both ends; those of `first` and the others fill each other's gaps.
fn wall(depths: &[[f64; 2]], t: f64, first: bool) -> Vec<[f64; 2]> {
    let (inner, [at_left, at_right]) = ends(depths);
    let full = inner + 2.0 * t;
    // How far in the side is, from the upper edge to the lower; fingers reach to the outside.
    let side = |height: f64| {
        let count = fingers(height, t);
        let step = height / count as f64;
        (0..count).flat_map(move |i| {
            let inset = if i.is_multiple_of(2) == first { 0.0 } else { t };
            [[inset, step * i as f64], [inset, step * (i + 1) as f64]]
        })
    };
    let right = side(at_right).map(|[inset, y]| [full - inset, y]);
    let below = depths[1..depths.len() - 1].iter().rev();
    let below = below.map(|&[x, y]| [x + t, y]);
    let mut left: Vec<[f64; 2]> = side(at_left).collect();
    left.reverse();
    right.chain(below).chain(left).collect()
}

/// An odd number of fingers, so that walls are the same either way up.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn fingers(height: f64, t: f64) -> usize {
    let finger = (FINGER.0 * t).max(FINGER.1);
    let count = (height / finger).floor() as usize;
    if count < 3 { 3 } else { (count - 1) | 1 }
}

fn plate(width: f64, height: f64) -> Vec<[f64; 2]> {
    let (half, depth) = (0.5 * NOTCH.0, NOTCH.1);
    let at = [0.25 * width, 0.75 * width];
    let mut outline = vec![[0.0, 0.0]];
    for x in at {
        outline.extend([
            [x - half, 0.0],
            [x - half, depth],
            [x + half, depth],
            [x + half, 0.0],
        ]);
    }
    outline.extend([[width, 0.0], [width, height]]);
    for x in at.into_iter().rev() {
        let (a, b) = (height, height - depth);
        outline.extend([[x + half, a], [x + half, b], [x - half, b], [x - half, a]]);
    }
    outline.push([0.0, height]);
    outline
}

/// The path of the cut's middle: every side moved out by half the kerf.
fn cut(outline: &[[f64; 2]], kerf: f64, at: [f64; 2]) -> BezPath {
    let n = outline.len();
    // The side from a to b runs clockwise on paper: outside is to its left.
    let outward = |a: [f64; 2], b: [f64; 2]| {
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = libm::hypot(dx, dy);
        [dy / length, -dx / length]
    };
    let mut path = BezPath::new();
    for i in 0..n {
        let (before, here, after) = (outline[(i + n - 1) % n], outline[i], outline[(i + 1) % n]);
        let (p, q) = (outward(before, here), outward(here, after));
        // Where both moved sides meet.
        let share = 0.5 * kerf / (1.0 + p[0] * q[0] + p[1] * q[1]);
        let moved = [0, 1].map(|k| at[k] + here[k] + share * (p[k] + q[k]));
        if i == 0 {
            path.move_to((moved[0], moved[1]));
        } else {
            path.line_to((moved[0], moved[1]));
        }
    }
    path.close_path();
    path
}

/// Finished width below and height to the left, with ticks.
fn dimensions(at: [f64; 2], size: [f64; 2], units: LengthUnit) -> Vec<Mark> {
    let ([x, y], [w, h]) = (at, size);
    let (below, beside) = (y + h + 3.0, x - 3.0);
    let tick = |a: (f64, f64), b: (f64, f64)| line(Pen::Narrow, &[a, b]);
    vec![
        tick((x, below), (x + w, below)),
        tick((x, below - 1.5), (x, below + 1.5)),
        tick((x + w, below - 1.5), (x + w, below + 1.5)),
        text((x + 0.5 * w, below + 4.2), Align::Middle, units.show(w)),
        tick((beside, y), (beside, y + h)),
        tick((beside - 1.5, y), (beside + 1.5, y)),
        tick((beside - 1.5, y + h), (beside + 1.5, y + h)),
        Mark::Text {
            at: kurbo::Point::new(beside - 1.8, y + 0.5 * h),
            text: units.show(h),
            size: super::sheet::TEXT,
            align: Align::Middle,
            upright: true,
        },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::body::{Body, Master};
    use crate::mesh::{Bounds, Mesh, Solid};
    use crate::mould::Printed;
    use kurbo::Shape;
    use nalgebra::Point3;

    fn area(outline: &[[f64; 2]]) -> f64 {
        let n = outline.len();
        let twice = |i: usize| {
            let (a, b) = (outline[i], outline[(i + 1) % n]);
            a[0] * b[1] - b[0] * a[1]
        };
        0.5 * (0..n).map(twice).sum::<f64>()
    }

    #[test]
    fn fingers_fill_each_others_gaps() {
        for (height, t) in [(30.0, 4.0), (31.7, 3.0), (61.0, 6.0), (12.0, 5.0)] {
            let one = wall(&level(100.0, height), t, true);
            let other = wall(&level(40.0, height), t, false);
            // Without its fingers a wall is as long as the inside; at each end the fingers of
            // both walls together make one full post of t by t.
            let fingers = area(&one) - 100.0 * height + area(&other) - 40.0 * height;
            assert!((fingers - 2.0 * t * height).abs() < 1e-9);
            // Both ways up the same.
            for outline in [&one, &other] {
                for p in outline {
                    let turned = [p[0], height - p[1]];
                    let near =
                        |q: &&[f64; 2]| libm::hypot(q[0] - turned[0], q[1] - turned[1]) < 1e-9;
                    assert!(outline.iter().any(|q| near(&q)));
                }
            }
        }
    }

    #[test]
    fn the_cut_leaves_the_part_at_its_size() {
        let outline = wall(&level(100.0, 30.0), 4.0, true);
        let (kerf, part) = (0.3, area(&outline));
        let path = cut(&outline, kerf, [7.0, 9.0]);
        let around: f64 = (0..outline.len())
            .map(|i| {
                let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
                (a[0] - b[0]).abs() + (a[1] - b[1]).abs()
            })
            .sum();
        // Steiner's formula for a shape with four corners more outward than inward.
        let grown = part + 0.5 * kerf * around + 4.0 * 0.25 * kerf * kerf;
        assert!((path.area().abs() - grown).abs() < 1e-9);
        let bounds = path.bounding_box();
        assert!((bounds.width() - 108.3).abs() < 1e-9);
        assert!((bounds.x0 - 6.85).abs() < 1e-9);
    }

    /// A solid between the same quadrilateral in (x, z) at two places along y.
    fn slab(corners: [[f64; 2]; 4], y: [f64; 2]) -> Solid {
        let ring = |y: f64| corners.map(|[x, z]| Point3::new(x, y, z));
        let mut mesh = Mesh {
            points: [ring(y[0]), ring(y[1])].concat(),
            triangles: vec![[0, 1, 2], [0, 2, 3], [4, 6, 5], [4, 7, 6]],
        };
        for i in 0..4_u32 {
            let j = (i + 1) % 4;
            mesh.triangles.extend([[i, i + 4, j + 4], [i, j + 4, j]]);
        }
        mesh.check().unwrap();
        Solid::try_from(&mesh).unwrap()
    }

    const STRAIGHT: &str = "[mould]\nroute = \"boxes\"\nsheet = { walls = true, thickness = 3 }\n";

    /// Flat faces, and a bowed one whose ends lie at different heights.
    fn moulds() -> Vec<(Design, Mould, Vec<Printed>)> {
        let texts = [
            "",
            "",
            "camber = [{ at = 0, rise = 0 }, { at = 40, rise = 5 }, { at = 70, rise = -4 }]\n",
        ];
        let moulds = [
            "",
            "sprue.end = \"tail\"\nparting = \"waist\"\n",
            "parting = \"waist\"\n",
        ];
        let made = texts.iter().zip(moulds).map(|(body, mould)| {
            let text = format!(
                "[body]\nlength = 70\n{body}outline = [{{ at = 8, height = 8 }}, {{ at = 30, height = 15 }}, \
                 {{ at = 62, height = 5 }}]\nwidth = [{{ at = 10, width = 9 }}, {{ at = 60, width = 6 }}]\n\
                 {STRAIGHT}{mould}"
            );
            let design = crate::spec::design(&text, crate::spec::Format::Toml).unwrap();
            let body = Body::from_design(&design);
            let master = Master::build(&design, &body).unwrap().mesh;
            let mould = Mould::around(&design, &body, &master).unwrap();
            let parts = mould.parts(&design, &body, &master).unwrap();
            (design, mould, parts)
        });
        made.collect()
    }

    #[test]
    fn floor_and_walls_of_a_box_hold_the_half_and_nothing_else() {
        for (design, mould, parts) in moulds() {
            let t = design.mould.sheet;
            let names: Vec<String> = mould.names().iter().map(|n| format!("floor-{n}")).collect();
            assert_eq!([&parts[0].name, &parts[1].name], [&names[0], &names[1]]);
            let halves = [&mould.upper, &mould.lower];
            for ((part, half), walls) in parts.iter().zip(halves).zip(box_walls(&mould)) {
                let floor = &part.pieces[0];
                floor.check().unwrap();
                let size = mould.block.size();
                // The floor as it is printed: as far from the mould on all sides.
                let outside = floor.bounds().unwrap();
                let out = 0.5 * (outside.size() - size);
                assert!((out.x - out.y).abs() < 1e-9 && out.x > t + 3.0, "{out}");
                // A half lies as in its box: on its parting face, the lowest of it a floor's
                // thickness over the foot.
                let depth = half.bounds().unwrap().size().z;
                let brim = 4.0 + depth;
                assert!(outside.max.z < brim, "{} {brim}", outside.max.z);
                // The walls, corner posts with the long ones, from brim to parting face.
                let mut frame: Option<Solid> = None;
                let mut put = |solid: Solid| {
                    frame = Some(match &frame {
                        Some(so_far) => so_far.union(&solid).unwrap(),
                        None => solid,
                    });
                };
                for (k, (_, depths, first)) in walls.iter().enumerate() {
                    let (inner, _) = ends(depths);
                    assert_eq!(*first, k < 2);
                    let mut edge = depths.clone();
                    if *first {
                        // Level to the outside of the corners.
                        edge.insert(0, [-t, edge[0][1]]);
                        edge.push([inner + t, edge[edge.len() - 1][1]]);
                    }
                    for pair in edge.windows(2) {
                        let [a, b] = [pair[0], pair[1]];
                        let corners = [
                            [a[0], brim - a[1]],
                            [b[0], brim - b[1]],
                            [b[0], brim],
                            [a[0], brim],
                        ];
                        let at = if k % 2 == 0 { [-t, 0.0] } else { [0.0, t] };
                        if *first {
                            let y = if k == 0 { 0.0 } else { size.y };
                            let at = at.map(|d| y + d);
                            put(slab(
                                corners.map(|[x, z]| [out.x + x, z]),
                                at.map(|y| out.y + y),
                            ));
                        } else {
                            // The lower edge of an end's wall is level.
                            assert_eq!(a[1], b[1]);
                            let x = if k == 2 { 0.0 } else { size.x };
                            let at = at.map(|d| out.x + x + d);
                            let z = brim - a[1];
                            let corners = [[at[0], z], [at[1], z], [at[1], brim], [at[0], brim]];
                            put(slab(corners, [out.y, out.y + size.y]));
                        }
                    }
                }
                let frame = frame.unwrap();
                let floor = Solid::try_from(floor).unwrap();
                let shared = floor.intersection(&frame).map_or(0.0, |s| s.volume());
                assert!(
                    shared < 1e-6,
                    "{}: {shared} of walls in the floor",
                    part.name
                );
                let box_outside = Bounds {
                    min: Point3::new(out.x - t, out.y - t, 0.0),
                    max: Point3::new(out.x + size.x + t, out.y + size.y + t, brim),
                };
                let left = Solid::try_from(&box_outside.to_mesh()).unwrap();
                let left = left.difference(&floor).unwrap().difference(&frame).unwrap();
                // Under a chamfer nothing is left: it lies outside the walls.
                let off = left.volume() / half.volume() - 1.0;
                assert!(off.abs() < 1e-9, "{}: {off}", part.name);
            }
        }
    }

    #[test]
    fn bowed_walls_meet_at_their_corners_and_are_cut_at_their_size() {
        let (design, mould, _) = moulds().remove(2);
        let t = design.mould.sheet;
        for walls in box_walls(&mould) {
            let (_, heights) = ends(&walls[0].1);
            assert!((heights[0] - heights[1]).abs() > 3.9, "{heights:?}");
            let long = wall(&walls[0].1, t, true);
            // Under the inside: trapezia; what is beyond it are fingers.
            let under: f64 = walls[0]
                .1
                .windows(2)
                .map(|p| 0.5 * (p[0][1] + p[1][1]) * (p[1][0] - p[0][0]))
                .sum();
            let mut posts = area(&long) - under;
            let width = mould.block.size().y;
            for (_, depths, _) in &walls[2..] {
                // Half of the fingers of each end's wall are at this long wall.
                posts += 0.5 * (area(&wall(depths, t, false)) - width * depths[0][1]);
            }
            assert!((posts - t * (heights[0] + heights[1])).abs() < 1e-9);
            // The cut is that of an independent offset.
            let path = cut(&long, 0.3, [0.0, 0.0]);
            let moved = crate::mesh::solid::moved_out(&long, 0.15).unwrap();
            assert!((path.area().abs() - area(&moved).abs()).abs() < 1e-3);
        }
    }
}
