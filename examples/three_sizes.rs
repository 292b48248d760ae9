//! One design, three sizes: the same bait drawn at 90 mm, made at 60, 90 and 120.
//!
//! ```text
//! cargo run --example three_sizes
//! ```
//!
//! [`Spec::sized`](baitwright::spec::Spec::sized) scales the bait; what belongs to the mould, to wires and to hooks stays
//! as it is. A spec text says the same with `sizes = [60, 90, 120]`.
#![allow(clippy::print_stdout)]

use std::error::Error;

use baitwright::kit::Kit;
use baitwright::quantity::Length;
use baitwright::spec::{self, Format};

fn main() -> Result<(), Box<dyn Error>> {
    let drawn = spec::read(include_str!("reed-minnow.toml"), Format::Toml)?.spec;
    let length = drawn.body.length.ok_or("the spec draws no length")?;
    for size in [60.0, 90.0, 120.0] {
        let kit = Kit::build(&drawn.sized(Length::mm(size), length))?;
        let (bait, mould) = (&kit.manifest.bait, &kit.manifest.mould);
        println!(
            "{size:5.0} mm: {:6.2} ml of plastic, block {:.0} x {:.0} x {:.0} mm, gate {:.1} mm",
            bait.volume_ml,
            mould.block.length_mm,
            mould.block.width_mm,
            mould.block.thickness_mm,
            mould.gate_mm
        );
    }
    Ok(())
}
