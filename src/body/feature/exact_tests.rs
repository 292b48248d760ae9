//! Features against an exact-solid kernel.
//!
//! The volumes and areas come from Open CASCADE, on true cylinders, cones, balls and planes, by
//! tests/readers/exact_volumes.py, which knows nothing of this crate's meshes.

use crate::body::{Body, Master};
use crate::spec::{self, Format};

const TOLERANCE: f64 = 0.01;

/// Volume that features add to a rod of 20 mm across and 80 mm long; negative what they take.
fn added(features: &str) -> f64 {
    let text = format!(
        "[body]\nlength = 80\noutline = [{{ at = 0, height = 20 }}, {{ at = 80, height = 20 }}]\n\
         {features}\n[mesh]\ntolerance = {TOLERANCE}\n"
    );
    let design = spec::design(&text, Format::Toml).unwrap_or_else(|e| panic!("{e}"));
    let body = Body::from_design(&design);
    let master = Master::build(&design, &body).unwrap_or_else(|e| panic!("{e}"));
    master.mesh.check().unwrap_or_else(|e| panic!("{e}"));
    master.bait_volume - body.figures().volume
}

/// A surface within the tolerance is off by the tolerance times its area at most; facets that
/// straddle it use less than half of that.
#[track_caller]
fn agrees(features: &str, exact: f64, area: f64) {
    let found = added(features);
    let off = (found - exact).abs();
    assert!(
        off <= 0.5 * TOLERANCE * area,
        "{found} for {exact}: off by {off}"
    );
}

#[test]
fn eyes() {
    agrees(
        "[[eyes]]\nat = 40\ndiameter = 6\ndepth = 1.5",
        -32.1186,
        90.4,
    );
}

#[test]
fn pockets() {
    let pocket = "[[pocket]]\nat = 30\nangle = 30\ndiameter = 6\ndepth = 4";
    agrees(pocket, -117.0153, 133.7);
}

#[test]
fn slots() {
    let slot = "[[slot]]\nside = \"belly\"\nfrom = 20\nto = 50\nwidth = 3\ndepth = 6";
    // Cut by the halves of a waist mould, cast around a blade in a flank mould.
    for parting in ["waist", "flank"] {
        let mould = format!("{slot}\n[mould]\nparting = \"{parting}\"");
        agrees(&mould, -495.5559, 508.5);
    }
}

#[test]
fn bores() {
    let bore = "[[bore]]\ndiameter = 2\nfrom = [20, -14]\nto = [50, 14]";
    agrees(bore, -91.9706, 192.9);
}

#[test]
fn fins() {
    let fins = "[[fin]]\nangle = 60\nat = 14\nroot = 12\nthickness = 2\nrounding = 0\n\
                sweep = 30\ncant = 20\n\
                outline = [{ at = 0, height = 5 }, { at = 12, height = 5 }]";
    agrees(fins, 240.9669, 388.4);
}

#[test]
fn tails() {
    let taper = "[tail.taper]\nlength = 20\nroot = 8\ntip = 2\nwidth = 0.6";
    agrees(taper, 251.9557, 279.0);
}

#[test]
fn legs() {
    let legs = "[[legs]]\ncount = 3\nat = 40\nangle = 90\npitch = 5\nlength = 12\nroot = 3\n\
                tip = 1.5\nlean = 20";
    agrees(legs, 285.0156, 547.7);
}
