//! A bait and its mould built in memory: no spec text, no files.
//!
//! ```text
//! cargo run --example in_memory
//! ```
//!
//! The stages are those of the whole crate: a [`Spec`] says what is wanted, a
//! [`Design`] is a spec that has passed every rule, a [`Body`] is smooth curves, a
//! mesh is triangles within a tolerance of them, and a [`Mould`] is two blocks that
//! close around the mesh. All lengths that come out are in millimetres.
#![allow(clippy::print_stdout)]

use std::error::Error;

use baitwright::body::Body;
use baitwright::mould::Mould;
use baitwright::quantity::Length;
use baitwright::spec::{BodySpec, Design, End, MouldSpec, Parting, Spec, Station, Width};

/// The body is this high, this far behind the nose; half above the axis, half below.
fn station(at: f64, height: f64) -> Station {
    Station {
        at: Length::mm(at),
        height: Some(Length::mm(height)),
        back: None,
        belly: None,
        corner: false,
        step_to: None,
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let outline = vec![station(6.0, 9.0), station(24.0, 16.0), station(58.0, 7.0)];
    let spec = Spec {
        name: Some("Sedge shad".into()),
        mould: MouldSpec {
            parting: Some(Parting::Flank),
            ..MouldSpec::default()
        },
        ..Spec::new(BodySpec {
            length: Some(Length::mm(75.0)),
            nose: Some(End::Round),
            tail: Some(End::Pointed),
            outline,
            width: Width::OfHeight(0.7),
            ..BodySpec::default()
        })
    };

    // Every rule is checked here, and everything that is wrong comes back at once.
    let design = Design::from_spec(&spec)?;

    // Figures come from the curves and are exact; a mesh follows the curves to a
    // tolerance and holds a little less or a little more.
    let body = Body::from_design(&design);
    let figures = body.figures();
    println!("{}", design.name);
    println!(
        "  {:.1} mm long, {:.1} mm high, {:.1} mm wide",
        figures.length, figures.height.1, figures.width.1
    );
    println!("  volume {:.3} ml", figures.volume / 1000.0);
    println!(
        "  centre of volume {:.1} mm behind the nose",
        figures.centroid[0]
    );

    for tolerance in [0.2, 0.05, 0.01] {
        let mesh = body.mesh(tolerance)?;
        // Closed, facing outward, nowhere crossing itself: what a slicer asks for.
        mesh.check()?;
        println!(
            "  mesh within {tolerance} mm: {} triangles, {:.3} ml",
            mesh.triangles.len(),
            mesh.volume() / 1000.0
        );
    }

    let mould = Mould::build(&design, &body)?;
    let block = mould.block.size();
    println!(
        "Mould of {:.1} x {:.1} x {:.1} mm with {} keys",
        block.x,
        block.y,
        block.z,
        mould.keys.len()
    );
    for (name, half) in mould.names().iter().zip([&mould.upper, &mould.lower]) {
        half.check()?;
        println!(
            "  {name} half: {} triangles, {:.1} ml",
            half.triangles.len(),
            half.volume() / 1000.0
        );
    }
    // What is poured in fills the sprue and the vents too.
    println!("  filled by {:.2} ml", mould.cavity.volume() / 1000.0);
    Ok(())
}
