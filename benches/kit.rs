//! How long each stage takes on the 90 mm example, a flattened minnow in a mould
//! with four keys and two vents.
//!
//! ```text
//! cargo bench --bench kit
//! ```
#![allow(missing_docs)]

use baitwright::body::Body;
use baitwright::drawing::picture::{Camera, Part, Size, render};
use baitwright::export::png;
use baitwright::kit::Kit;
use baitwright::mesh::Mesh;
use baitwright::mould::Mould;
use baitwright::spec::{self, Design, Format, Spec};
use divan::{Bencher, black_box, counter::ItemsCount};

const TEXT: &str = include_str!("../examples/reed-minnow.toml");
/// Three orders of fineness around the default tolerance, in mm.
const TOLERANCES: [f64; 3] = [0.1, 0.05, 0.01];

fn main() {
    divan::main();
}

fn minnow() -> Spec {
    spec::read(TEXT, Format::Toml)
        .expect("the example reads")
        .spec
}

fn design_within(tolerance: f64) -> Design {
    let mut design = Design::from_spec(&minnow()).expect("the example keeps the rules");
    design.tolerance = tolerance;
    design
}

fn mesh_within(tolerance: f64) -> Mesh {
    let body = Body::from_design(&design_within(tolerance));
    body.mesh(tolerance).expect("affordable")
}

/// Text to checked design.
#[divan::bench]
fn read_spec() -> Design {
    spec::design(black_box(TEXT), Format::Toml).expect("the example reads")
}

/// Curves to triangles; items are triangles.
#[divan::bench(args = TOLERANCES)]
fn body_mesh(bencher: Bencher<'_, '_>, tolerance: f64) {
    let body = Body::from_design(&design_within(tolerance));
    let triangles = mesh_within(tolerance).triangles.len();
    bencher
        .counter(ItemsCount::new(triangles))
        .bench(|| body.mesh(black_box(tolerance)).expect("affordable"));
}

/// Every invariant of a solid, crossings included; items are triangles.
#[divan::bench(args = TOLERANCES)]
fn check_mesh(bencher: Bencher<'_, '_>, tolerance: f64) {
    let mesh = mesh_within(tolerance);
    bencher
        .counter(ItemsCount::new(mesh.triangles.len()))
        .bench(|| black_box(&mesh).check().expect("sound"));
}

/// Master to both halves: the boolean operations.
#[divan::bench(args = TOLERANCES, sample_count = 20)]
fn mould(bencher: Bencher<'_, '_>, tolerance: f64) {
    let design = design_within(tolerance);
    let body = Body::from_design(&design);
    let master = mesh_within(tolerance);
    bencher
        .counter(ItemsCount::new(master.triangles.len()))
        .bench(|| Mould::around(&design, &body, black_box(&master)).expect("it fits"));
}

/// As many baits in one block; items are baits.
#[divan::bench(args = [1, 6, 24], sample_count = 10)]
fn cavities(bencher: Bencher<'_, '_>, count: usize) {
    let mut design = design_within(0.05);
    design.mould.cavities = count;
    let body = Body::from_design(&design);
    let master = mesh_within(0.05);
    bencher
        .counter(ItemsCount::new(count))
        .bench(|| Mould::around(&design, &body, black_box(&master)).expect("it fits"));
}

/// One picture of the master at the default size.
#[divan::bench(args = TOLERANCES, sample_count = 20)]
fn picture(bencher: Bencher<'_, '_>, tolerance: f64) {
    let mesh = mesh_within(tolerance);
    let part = Part {
        mesh: &mesh,
        colour: [196, 134, 84],
    };
    bencher.bench(|| {
        render(black_box(&[part]), &Camera::THREE_QUARTER, Size::default())
            .expect("it can be drawn")
    });
}

/// That picture as PNG.
#[divan::bench(sample_count = 20)]
fn picture_as_png(bencher: Bencher<'_, '_>) {
    let mesh = mesh_within(0.05);
    let part = Part {
        mesh: &mesh,
        colour: [196, 134, 84],
    };
    let image =
        render(&[part], &Camera::THREE_QUARTER, Size::default()).expect("there is a mesh to draw");
    bencher.bench(|| png::to_bytes(black_box(&image)));
}

/// Everything that `make` does but reading and writing files.
#[divan::bench(args = TOLERANCES, sample_count = 10)]
fn whole_kit(bencher: Bencher<'_, '_>, tolerance: f64) {
    let mut spec = minnow();
    spec.mesh.tolerance = Some(baitwright::quantity::Length::mm(tolerance));
    bencher.bench(|| Kit::build(black_box(&spec)).expect("the example makes a kit"));
}
