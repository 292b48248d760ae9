//! The exact curves of a bait as points, in JSON, for a program that draws or checks them.
//!
//! ```text
//! cargo run --example exact_curves examples/leaf-darter.toml
//! ```
//!
//! Without a spec it takes one of its own. All lengths are in millimetres, those of the master as
//! paper shows it: enlarged by what plastic and silicone shrink.
#![allow(clippy::print_stdout)]

use std::error::Error;

use baitwright::body::Body;
use baitwright::curve::Outline;
use baitwright::spec::{self, End, FinOutline, Format};
use serde_json::{Value, json};

const PLAIN: &str = "body.length = 90\nbody.outline = [{ at = 30, height = 19 }]";
/// Points along the body.
const POINTS: u32 = 1000;

/// Places from 0 to `length`, close together at its ends, where curves are steep.
fn places(length: f64) -> Vec<f64> {
    (0..=POINTS)
        .map(|i| {
            let turn = std::f64::consts::PI * f64::from(i) / f64::from(POINTS);
            0.5 * length * (1.0 - libm::cos(turn))
        })
        .collect()
}

/// An outline as points, both sides of a step among them.
fn points(outline: &Outline, length: f64) -> Vec<[f64; 2]> {
    let mut at = places(length);
    at.extend(outline.knots());
    at.sort_by(f64::total_cmp);
    at.into_iter()
        .flat_map(|x| [[x, outline.height_before(x)], [x, outline.height(x)]])
        .collect()
}

fn main() -> Result<(), Box<dyn Error>> {
    let text = match std::env::args().nth(1) {
        Some(path) => std::fs::read_to_string(path)?,
        None => PLAIN.to_owned(),
    };
    let design = spec::design(&text, Format::Toml)?;
    let scale = design.allowances.pattern_scale();
    let body = Body::from_design(&design).scaled(scale);
    let length = body.length();
    let x = places(length);
    let heights =
        |outline: &Outline| -> Vec<f64> { x.iter().map(|&x| outline.height(x)).collect() };
    let exponents =
        |half: usize| -> Vec<f64> { x.iter().map(|&x| body.section.exponents(x)[half]).collect() };
    let fins: Vec<Value> = design
        .fin
        .iter()
        .map(|fin| match &fin.outline {
            FinOutline::Path(path) => json!({ "sweep_degrees": fin.sweep, "path": path.to_svg() }),
            FinOutline::Stations { root, knots } => {
                let end = |at: f64, knot: Option<&spec::Knot>| match knot {
                    Some(knot) if knot.at == at => End::Flat,
                    _ => End::Pointed,
                };
                let (front, rear) = (end(0.0, knots.first()), end(*root, knots.last()));
                let edge = Outline::through(knots, *root, front, rear);
                json!({ "sweep_degrees": fin.sweep, "edge": points(&edge, *root) })
            }
        })
        .collect();
    let curves = json!({
        "scale": scale,
        "length": length,
        "round": body.roundness().is_ok(),
        "profile": points(&body.back, length),
        "x": x,
        "back": heights(&body.back),
        "belly": heights(&body.belly),
        "half_width": heights(&body.half_width),
        "exponents": [exponents(0), exponents(1)],
        // What gauges are wider by all round than the profile, and the cut.
        "over": design.lathe.sanding - design.allowances.coating(),
        "kerf": design.lathe.kerf,
        "fins": fins,
    });
    println!("{curves}");
    Ok(())
}
