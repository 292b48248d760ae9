//! Somebody else's master: a mesh that was not made here becomes a whole kit.
//!
//!     cargo run --example from_a_scan
//!
//! Writes `scan.stl`, a stand-in for a scan (an egg-shaped lump with its nose to +y, in
//! inches), and `scan.toml` beside it into a folder, then does in Rust what
//! `baitwright make scan.toml` does there.

#![allow(clippy::print_stdout)]

use std::error::Error;
use std::path::PathBuf;

use baitwright::export::stl;
use baitwright::import::Imported;
use baitwright::kit::Kit;
use baitwright::mesh::Mesh;
use baitwright::spec::{self, Format};
use nalgebra::Point3;

const SPEC: &str = r#"name = "Scanned shad"
units = "in"              # an STL file knows no unit: it is read in this one

[body]
from = { file = "scan.stl", nose = "+y", up = "+z" }

[[eyes]]
kind = "flat"
at = 0.4
diameter = "3/16"
depth = "1/32"
"#;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os()
        .nth(1)
        .map_or_else(std::env::temp_dir, PathBuf::from);
    std::fs::write(folder.join("scan.stl"), stl::to_bytes(&lump(), "scan")?)?;
    std::fs::write(folder.join("scan.toml"), SPEC)?;

    let spec = spec::read(SPEC, Format::Toml)?.spec;
    let bytes = std::fs::read(folder.join("scan.stl"))?;
    let master = Imported::read(&spec, &bytes)?;
    let kit = Kit::build_with_master(&spec, &master)?;
    let bait = &kit.manifest.bait;
    println!(
        "{:.1} mm long, {:.1} high, {:.1} wide, {:.2} ml; {} files",
        bait.length_mm,
        bait.height_mm,
        bait.width_mm,
        bait.volume_ml,
        kit.files.len()
    );
    Ok(())
}

/// Rings of points about the y axis, a little uneven, as no lathe would leave them.
fn lump() -> Mesh {
    const RINGS: u32 = 40;
    const AROUND: u32 = 36;
    let mut mesh = Mesh::default();
    mesh.points.push(Point3::new(0.0, -1.5, 0.0));
    for ring in 1..RINGS {
        let (sin, cos) = libm::sincos(std::f64::consts::PI * f64::from(ring) / f64::from(RINGS));
        for step in 0..AROUND {
            let turn = 2.0 * std::f64::consts::PI * f64::from(step) / f64::from(AROUND);
            let (s, c) = libm::sincos(turn);
            // Fuller towards the nose, and never quite smooth.
            let full = sin * (1.0 - 0.35 * cos);
            let uneven = 1.0 + 0.01 * libm::sin(7.0 * turn + f64::from(ring));
            mesh.points.push(Point3::new(
                0.22 * full * c * uneven,
                -1.5 * cos,
                0.36 * full * s * uneven,
            ));
        }
    }
    mesh.points.push(Point3::new(0.0, 1.5, 0.0));
    let last = (RINGS - 1) * AROUND + 1;
    let at = |ring: u32, step: u32| 1 + (ring - 1) * AROUND + step % AROUND;
    for step in 0..AROUND {
        mesh.triangles.push([0, at(1, step), at(1, step + 1)]);
        mesh.triangles
            .push([last, at(RINGS - 1, step + 1), at(RINGS - 1, step)]);
        for ring in 1..RINGS - 1 {
            let (a, b) = (at(ring, step), at(ring, step + 1));
            let (c, d) = (at(ring + 1, step + 1), at(ring + 1, step));
            mesh.triangles.extend([[a, c, b], [a, d, c]]);
        }
    }
    mesh
}
