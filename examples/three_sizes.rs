//! One bait in three sizes: the body grows, the mould's wall, keys and clearance stay.
//!
//! ```text
//! cargo run --example three_sizes
//! ```
//!
//! Scaling finished meshes in a slicer would scale the clearance of the keys with
//! them, and the halves would jam or rattle. Scaling the numbers of the spec and
//! building anew does not.
#![allow(clippy::print_stdout)]

use std::error::Error;

use baitwright::body::Body;
use baitwright::mould::Mould;
use baitwright::quantity::Length;
use baitwright::spec::{self, Design, Format, Spec, Width};

/// The same spec with every length of its body, eyes and collar times `factor`.
fn scaled(spec: &Spec, factor: f64) -> Spec {
    let scale = |length: &mut Length| length.value *= factor;
    let mut spec = spec.clone();
    let body = &mut spec.body;
    body.length.iter_mut().for_each(scale);
    for station in &mut body.outline {
        scale(&mut station.at);
        // Whichever of them the maker gave.
        for given in [
            &mut station.height,
            &mut station.back,
            &mut station.belly,
            &mut station.step_to,
        ] {
            given.iter_mut().for_each(scale);
        }
    }
    // A width that is a share of the height grows by itself.
    if let Width::Stations(stations) = &mut body.width {
        for station in stations {
            scale(&mut station.at);
            scale(&mut station.width);
            station.step_to.iter_mut().for_each(scale);
        }
    }
    for eye in &mut spec.eyes {
        scale(&mut eye.at);
        scale(&mut eye.diameter);
        eye.depth.iter_mut().for_each(scale);
    }
    for step in spec.collar.iter_mut().flat_map(|c| &mut c.steps) {
        scale(&mut step.length);
        scale(&mut step.diameter);
    }
    spec
}

fn main() -> Result<(), Box<dyn Error>> {
    let text = include_str!("reed-minnow.toml");
    let drawn = spec::read(text, Format::Toml)?.spec;
    let length = drawn.body.length.ok_or("no length")?.to_mm(drawn.units);

    println!("length  height  width   bait   filling          block  socket");
    println!("    mm      mm     mm     ml        ml             mm      mm");
    for wanted in [70.0, 90.0, 110.0] {
        let design = Design::from_spec(&scaled(&drawn, wanted / length))?;
        let body = Body::from_design(&design);
        let mould = Mould::build(&design, &body)?;
        let (figures, block) = (body.figures(), mould.block.size());
        println!(
            "{:6.1}  {:6.1} {:6.1} {:6.2}    {:6.2}  {:5.1} x {:4.1} x {:4.1} {:5.1}",
            figures.length,
            figures.height.1,
            figures.width.1,
            figures.volume / 1000.0,
            mould.cavity.volume() / 1000.0,
            block.x,
            block.y,
            block.z,
            2.0 * mould.keys[0].socket_radius(),
        );
    }
    Ok(())
}
