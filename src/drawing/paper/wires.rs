//! Wire and hook at 1:1: straight with a mark at every bend, and as they are bent.

use kurbo::{Arc, BezPath, Point, Shape};

use super::super::sheet::{Align, LEADING, Mark, Pen, TEXT, text, text_width, wrap};
use super::gauges::{numbers, row_length};
use super::pages::Block;
use crate::quantity::LengthUnit;
use crate::rig::{Bent, WirePlan};
use crate::spec::RigDesign;

/// Arcs stray by no more than this, mm.
const TRUE: f64 = 1e-4;
/// Wire thinner than this shows no single turns.
const SHOWS_TURNS: f64 = 0.6;
/// Lines of text go no farther than this.
const WIDEST: f64 = 150.0;

/// How lengths and caution are told, once for all plans.
pub(super) const SAYS: [&str; 2] = [
    "Marks are from the left end of the straight wire. Lengths are along its middle: \u{3c0} times inside and \
     wire for an eye, \u{221a}((2\u{3c0} wire)\u{b2} + wire\u{b2}) for each wrapped turn. Wires differ in how they \
     spring back: bend one by hand first, lay it on its shape, and cut the others to what that took.",
    "Cut ends fly: eye protection, and hold both ends.",
];

/// The plans of a rig for a bait of this length.
pub(super) fn plans(rig: &RigDesign, length: f64, units: LengthUnit) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(wire) = &rig.wire {
        blocks.push(plan("wire", &WirePlan::of_wire(wire, length), units));
    }
    if let Some(hook) = &rig.hook {
        blocks.push(plan("hook", &WirePlan::of_hook(hook), units));
    }
    blocks
}

fn plan(name: &str, plan: &WirePlan, units: LengthUnit) -> Block {
    let d = plan.diameter;
    let show = |mm: f64| units.show(mm);
    let bought = if name == "hook" {
        "; lay one as bought on its shape"
    } else {
        ""
    };
    let title = format!(
        "{name} of \u{d8} {}: cut {}{bought}",
        show(d),
        show(plan.cut)
    );
    let mut says: Vec<String> = (1..)
        .zip(&plan.marks)
        .map(|(n, (at, what))| format!("{n} at {}: {what}", show(*at)))
        .collect();
    let turns = plan.pieces.iter().find_map(|p| match p {
        Bent::Wrapped(.., turns) => Some(format!(", {turns} turns close to it")),
        _ => None,
    });
    for (end, inside) in ["front eye", "rear eye"].iter().zip(plan.inside) {
        let end = if name == "hook" { "eye" } else { end };
        let turns = turns.as_deref().unwrap_or("");
        says.extend(inside.map(|inside| format!("{end}: {} inside{turns}", show(inside))));
    }
    let edges = edges(plan);
    let bounds = edges.bounding_box();
    let says: Vec<String> = std::iter::once(title)
        .chain(says)
        .flat_map(|row| wrap(&row, TEXT, WIDEST))
        .collect();
    let lettering = says.iter().map(|l| text_width(l, TEXT));
    let width = lettering
        .fold(0.0, f64::max)
        .max(plan.cut)
        .max(row_length(plan.marks.len()) + 4.0)
        .max(bounds.width());

    let mut marks = Vec::new();
    let mut y = 0.0;
    let mut rows = says.into_iter();
    let letter = |marks: &mut Vec<Mark>, y: &mut f64, words: String| {
        marks.push(text((0.0, *y + 0.8 * TEXT), Align::Start, words));
        *y += LEADING;
    };
    if let Some(title) = rows.next() {
        letter(&mut marks, &mut y, title);
    }
    // Numbers over the straight wire.
    let base = y + 0.8 * TEXT + 1.0;
    let top = base + 12.0;
    let places: Vec<(f64, f64)> = plan.marks.iter().map(|m| (m.0, top + d)).collect();
    marks.extend(numbers(&places, top - 2.0, base, (0.0, width)));
    marks.push(super::rectangle(
        Some("wire-cut"),
        Pen::Narrow,
        [0.0, top],
        [plan.cut, top + d],
    ));
    y = top + d + 3.0;
    marks.push(Mark::Line {
        id: Some("wire-bent"),
        path: kurbo::Affine::translate((-bounds.x0, y - bounds.y0)) * edges,
        pen: Pen::Narrow,
    });
    y += bounds.height() + 2.0;
    for row in rows {
        letter(&mut marks, &mut y, row);
    }
    Block {
        width,
        height: y,
        marks,
    }
}

/// Both edges of the bent wire, y down.
fn edges(plan: &WirePlan) -> BezPath {
    let half = 0.5 * plan.diameter;
    let mut path = BezPath::new();
    // A run between two places, `by` off its middle on both sides.
    let run = |path: &mut BezPath, a: [f64; 2], b: [f64; 2], by: f64| {
        let long = libm::hypot(b[0] - a[0], b[1] - a[1]).max(1e-9);
        let off = [-(b[1] - a[1]) / long * by, (b[0] - a[0]) / long * by];
        path.move_to((a[0] + off[0], -(a[1] + off[1])));
        path.line_to((b[0] + off[0], -(b[1] + off[1])));
        path.line_to((b[0] - off[0], -(b[1] - off[1])));
        path.line_to((a[0] - off[0], -(a[1] - off[1])));
        path.close_path();
    };
    for piece in &plan.pieces {
        match *piece {
            Bent::Straight(a, b) => run(&mut path, a, b, half),
            Bent::Wrapped(a, b, turns) => {
                run(&mut path, a, b, 3.0 * half);
                let shown = plan.diameter >= SHOWS_TURNS;
                for i in 1..if shown { turns } else { 0 } {
                    let share = f64::from(i) / f64::from(turns);
                    let x = a[0] + share * (b[0] - a[0]);
                    path.move_to((x, -(a[1] - 3.0 * half)));
                    path.line_to((x, -(a[1] + 3.0 * half)));
                }
            }
            Bent::Arc {
                centre: [x, z],
                radius,
                turn: [from, to],
            } => {
                for by in [-half, half] {
                    // The page's y runs down: angles turn the other way.
                    let arc = Arc::new(
                        Point::new(x, -z),
                        (radius + by, radius + by),
                        -from.to_radians(),
                        -(to - from).to_radians(),
                        0.0,
                    );
                    path.extend(arc.path_elements(TRUE));
                }
            }
        }
    }
    path
}
