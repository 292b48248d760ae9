//! Ribs, camber, sections along the body and measured bodies, from their specs.

use std::f64::consts::PI;

use super::{Body, Master};
use crate::curve::{Course, Section};
use crate::mould::Mould;
use crate::spec::{self, Design, Format, TailDesign};

fn design(text: &str) -> Design {
    match spec::design(text, Format::Toml) {
        Ok(design) => design,
        Err(problems) => panic!("{problems}"),
    }
}

fn said(text: &str) -> String {
    spec::design(text, Format::Toml).unwrap_err().to_string()
}

/// Master and both halves of the mould pass the checker; shares add up.
fn sound(design: &Design) -> Body {
    let body = Body::from_design(design);
    let master = Master::build(design, &body).unwrap();
    master.mesh.check().unwrap();
    let bound = design.tolerance * master.mesh.area();
    let collar = body.figures().collar_volume;
    assert!((master.mesh.volume() - collar - master.bait_volume).abs() < bound);
    let mould = Mould::build(design, &body).unwrap();
    mould.upper.check().unwrap();
    mould.lower.check().unwrap();
    let size = mould.block.size();
    let block = size.x * size.y * size.z;
    let parts = mould.upper.volume() + mould.lower.volume() + mould.cavity.volume();
    assert!((parts + mould.gap - block).abs() < 1e-9 * block);
    body
}

fn close(found: f64, exact: f64, share: f64) {
    let off = (found - exact).abs() / exact.abs();
    assert!(off < share, "{found} against {exact}: {off:e}");
}

/// A plain cylinder 60 long and 20 across.
const CYLINDER: &str = "[body]\nlength = 60\noutline = [{ at = 0, diameter = 20 }, \
                        { at = 60, diameter = 20 }]\n";

#[test]
fn ribs_on_a_cylinder_have_their_closed_form() {
    // ∫ (R + d f)² over one rib of pitch p, with the means of f and f² over it.
    let means = [("round", 2.0 / 3.0, 8.0 / 15.0), ("vee", 0.5, 1.0 / 3.0)];
    // A square rib: land 3/8 at 1; both flanks 1/8 with means 1/2 and 1/3.
    let square = ("square", 0.375 + 0.125, 0.375 + 0.25 / 3.0);
    for (profile, mean, square_mean) in means.into_iter().chain([square]) {
        for grooved in [false, true] {
            let text = format!(
                "{CYLINDER}[[ribs]]\nfrom = 10\nto = 46\npitch = 4\ndepth = 1.5\n\
                 profile = \"{profile}\"\ngrooved = {grooved}\n"
            );
            let body = sound(&design(&text));
            let d = if grooved { -1.5 } else { 1.5 };
            let added = 2.0 * 10.0 * d * mean + d * d * square_mean;
            close(
                body.figures().volume,
                PI * (100.0 * 60.0 + 36.0 * added),
                1e-12,
            );
            assert!(body.is_round());
        }
    }
}

#[test]
fn faded_ribs_rise_in_step_and_lie_in_the_middle_of_their_run() {
    let text =
        format!("{CYLINDER}[[ribs]]\nfrom = 10\nto = 31\npitch = 4\ndepth = 1.6\nfade = 8\n");
    let body = sound(&design(&text));
    // Five ribs of 4 in a run of 21: the first from 10.5, its middle 2.5 inside.
    for (i, share) in [2.5, 6.5, 8.0, 6.5, 2.5].into_iter().enumerate() {
        let crest = body.back.height(12.5 + 4.0 * i as f64);
        close(crest, 10.0 + 1.6 * share / 8.0, 1e-12);
    }
    assert_eq!(body.back.height(10.2), 10.0);
}

#[test]
fn ribs_that_do_not_fit_are_named_with_what_would() {
    let body =
        "[body]\nlength = 60\noutline = [{ at = 10, height = 8 }, { at = 50, height = 6 }]\n";
    let with = |ribs: &str| said(&format!("{body}[[ribs]]\n{ribs}"));
    let all = |from, to, pitch, depth, more: &str| {
        with(&format!(
            "from = {from}\nto = {to}\npitch = {pitch}\ndepth = {depth}\n{more}"
        ))
    };
    let deep = all(10, 50, 6, 1.6, "grooved = true\n");
    assert!(
        deep.contains("ribs[0].depth") && deep.contains("up to 1.5 mm"),
        "{deep}"
    );
    let high = all(10, 50, 3, 1.6, "");
    assert!(
        high.contains("ribs[0].depth") && high.contains("up to 1.5 mm"),
        "{high}"
    );
    let fine = all(10, 50, 1, 0.4, "[mesh]\ntolerance = 0.2\n");
    assert!(
        fine.contains("ribs[0].pitch") && fine.contains("at least 1.6 mm"),
        "{fine}"
    );
    let low = all(10, 50, 4, 0.3, "[mesh]\ntolerance = 0.1\n");
    assert!(
        low.contains("ribs[0].depth") && low.contains("at least 0.4 mm"),
        "{low}"
    );
    let beyond = all(4, 50, 4, 1.0, "");
    assert!(
        beyond.contains("ribs[0].from") && beyond.contains("10 mm to 50 mm"),
        "{beyond}"
    );
    let none = all(20, 22, 4, 1.0, "");
    assert!(
        none.contains("ribs[0].to") && none.contains("at least 24 mm"),
        "{none}"
    );
    let over = all(
        12,
        30,
        4,
        1.0,
        "[[ribs]]\nfrom = 26\nto = 40\npitch = 4\ndepth = 1\n",
    );
    assert!(
        over.contains("ribs[1].from") && over.contains("`to` up to 12 mm, or `from` 30 mm or more"),
        "{over}"
    );
    // Side by side is well.
    let beside = format!(
        "{body}[[ribs]]\nfrom = 12\nto = 28\npitch = 4\ndepth = 1\n\
         [[ribs]]\nfrom = 28\nto = 40\npitch = 2\ndepth = 0.5\ngrooved = true\nprofile = \"vee\"\n"
    );
    sound(&design(&beside));
}

#[test]
fn the_gauge_of_a_ribbed_body_has_no_station_among_the_ribs() {
    let text = format!("{CYLINDER}[[ribs]]\nfrom = 10\nto = 46\npitch = 2\ndepth = 1\n");
    let gauge = crate::lathe::Gauge::of(&Body::from_design(&design(&text))).unwrap();
    let inside = gauge.stations.iter().filter(|s| s.at > 10.0 && s.at < 46.0);
    // One, for the greatest diameter.
    assert_eq!(inside.count(), 1);
    assert_eq!(gauge.ribs.len(), 1);
    assert_eq!(gauge.ribs[0].count(), 18);
}

const FISH: &str = "[body]\nlength = 90\nwidth = 0.62\noutline = [{ at = 8, height = 11 }, \
                    { at = 30, height = 19 }, { at = 62, height = 12 }]\n";

#[test]
fn camber_leaves_the_volume_and_moves_the_centroid_by_the_mean_rise() {
    let straight = Body::from_design(&design(CYLINDER)).figures();
    let bowed = sound(&design(&format!("{CYLINDER}camber = 6\n"))).figures();
    assert_eq!(bowed.volume, straight.volume);
    // The mean of the parabola is 2/3 of its rise.
    close(bowed.centroid[2], 4.0, 1e-12);
    close(bowed.centroid[0], 30.0, 1e-12);
    close(bowed.reach[1], 16.0, 1e-9);
    close(bowed.reach[0], -10.0, 1e-9);

    // A round-ended body, against a fine sum over its own sections.
    let body = sound(&design(&format!(
        "{FISH}camber = [{{ at = 30, rise = 4 }}, {{ at = 90, rise = -5 }}]\n"
    )));
    let (mut volume, mut about) = (0.0, 0.0);
    let steps = 400_000;
    for i in 0..steps {
        let x = 90.0 * (f64::from(i) + 0.5) / f64::from(steps);
        let area = body.section_area(x);
        volume += area;
        about += area * body.spine(x);
    }
    close(body.figures().centroid[2], about / volume, 1e-7);
    close(
        body.figures().volume,
        Body::from_design(&design(FISH)).figures().volume,
        1e-14,
    );
}

#[test]
fn the_sprue_starts_at_the_height_of_a_cambered_end() {
    let text = format!("{FISH}camber = [{{ at = 0, rise = 7 }}, {{ at = 45, rise = 0 }}]\n");
    for end in ["nose", "tail"] {
        let d = design(&format!("{text}[mould]\nsprue = {{ end = \"{end}\" }}\n"));
        let body = sound(&d);
        let mould = Mould::build(&d, &body).unwrap();
        // The mould's y runs against the body's z.
        let axis = if end == "nose" { -7.0 } else { 0.0 };
        assert_eq!(mould.channels.sprue.axis, axis);
        let top = mould.block.min.y;
        assert!(axis - d.mould.mouth_radius - d.mould.wall >= top - 1e-9);
    }
    let steep = said(&format!("{FISH}camber = [{{ at = 10, rise = 7 }}]\n"));
    assert!(
        steep.contains("body.camber[0].rise") && steep.contains("up to 5 mm"),
        "{steep}"
    );
    let bow = said(&format!("{FISH}camber = -12\n"));
    assert!(
        bow.contains("body.camber") && bow.contains("-11.25 mm to 11.25 mm"),
        "{bow}"
    );
}

#[test]
fn one_exponent_along_the_body_is_that_exponent() {
    let mut body = Body::from_design(&design(&format!("{FISH}section = 2.5\n")));
    let exact = body.figures();
    let same = Course::through(&[[0.0, 2.5], [90.0, 2.5]]);
    body.section = Section::along(same.clone(), same);
    let found = body.figures();
    close(found.volume, exact.volume, 1e-12);
    close(found.centroid[0], exact.centroid[0], 1e-12);
}

#[test]
fn a_flat_belly_and_a_ridged_back_have_the_area_of_their_sections() {
    let text = format!(
        "{CYLINDER}section = [{{ at = 0, back = 2, belly = 2 }}, \
         {{ at = 60, back = 1.6, belly = 5 }}]\n"
    );
    let body = sound(&design(&text));
    assert!(!body.is_round());
    // Two stations: the exponents follow the cubic that is level at both. Simpson's rule over
    // Dirichlet's integral.
    let area = |x: f64| {
        let quarter = |n: f64| {
            libm::tgamma(1.0 / n) * libm::tgamma(1.0 / n) / (n * n * libm::tgamma(1.0 + 2.0 / n))
        };
        let s = x / 60.0;
        let s = s * s * (3.0 - 2.0 * s);
        200.0 * (quarter(2.0 - 0.4 * s) + quarter(2.0 + 3.0 * s))
    };
    let n = 2000;
    let h = 60.0 / f64::from(n);
    let sum: f64 = (0..n)
        .map(|i| h * f64::from(i))
        .map(|x| (area(x) + 4.0 * area(x + 0.5 * h) + area(x + h)) * h / 6.0)
        .sum();
    close(body.figures().volume, sum, 1e-12);
    close(body.section_area(45.0), area(45.0), 1e-12);
    let rules = said(&format!(
        "{FISH}section = [{{ at = 20, back = 2, belly = 7 }}, {{ at = 21, back = 2, belly = 2 }}]\n"
    ));
    assert!(rules.contains("body.section[0].belly") && rules.contains("body.section[1].at"));
}

/// Readings of a spheroid 80 long and 20 across with errors up to 0.1 mm: ones that a
/// small generator gives, in no order.
fn readings(count: u32) -> (String, Vec<[f64; 2]>) {
    let mut state = 12_345_u32;
    let mut random = || {
        // Numerical Recipes' quick generator (from memory).
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(state >> 8) / f64::from(1 << 24)
    };
    let mut list = Vec::new();
    for i in 0..count {
        let x = 2.0 + 76.0 * (f64::from(i) + 0.6 * random()) / f64::from(count);
        let true_size = 2.0 * 10.0 / 40.0 * (x * (80.0 - x)).sqrt();
        list.push([x, true_size + 0.2 * (random() - 0.5)]);
    }
    let half = list.len() / 2;
    let mixed: Vec<[f64; 2]> = (0..list.len())
        .map(|i| list[(i * 7 + half) % list.len()])
        .collect();
    let lines: Vec<String> = mixed
        .iter()
        .map(|[at, d]| format!("{{ at = {at}, diameter = {d} }}"))
        .collect();
    let text = format!(
        "[body]\nlength = 80\n[body.measured]\nuncertainty = 0.1\nreadings = [{}]\n",
        lines.join(", ")
    );
    (text, list)
}

#[test]
fn a_measured_spheroid_is_fair_within_the_band_and_near_the_truth() {
    let (text, mut list) = readings(29);
    let d = design(&text);
    let body = sound(&d);
    assert!(body.is_round());
    let measured = d.body.measured.as_ref().unwrap();
    assert_eq!(measured.readings.len(), 29);
    for r in &measured.readings {
        let (read, off) = (r.height.unwrap().read, r.height.unwrap().off);
        assert!(off.abs() <= 0.1 + 1e-9, "{off}");
        assert!((2.0 * body.back.height(r.at) - read - off).abs() < 1e-9);
    }
    // Against the curve right through the readings: bending between the first and the last
    // of them, and error of the volume.
    let drawn: Vec<String> = {
        list.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let station = |[at, d]: &[f64; 2]| format!("{{ at = {at}, diameter = {d} }}");
        list.iter().map(station).collect()
    };
    let text = format!("[body]\nlength = 80\noutline = [{}]\n", drawn.join(", "));
    let through = Body::from_design(&design(&text));
    let bending = |body: &Body| {
        // Away from the ends, where the spheroid itself bends more than any wobble.
        let (from, to, n) = (12.0, 68.0, 20_000);
        let h = (to - from) / f64::from(n);
        (1..n)
            .map(|i| {
                let y = |k: i32| body.back.height(from + h * f64::from(i + k));
                let second = (y(1) - 2.0 * y(0) + y(-1)) / (h * h);
                second * second * h
            })
            .sum::<f64>()
    };
    let (fair, rough) = (bending(&body), bending(&through));
    assert!(fair < 0.5 * rough, "{fair} {rough}");
    // 4/3 π a b².
    let exact = 4.0 / 3.0 * PI * 40.0 * 100.0;
    close(body.figures().volume, exact, 0.005);
}

#[test]
fn readings_that_contradict_each_other_are_named() {
    let text = "[body]\nlength = 80\n[body.measured]\nuncertainty = 0.1\nreadings = [\
                { at = 60, height = 9 }, { at = 20, height = 12, width = 8 }, \
                { at = 20, height = 12.3 }, { at = 20.1, height = 12 }]\n";
    let problems = said(text);
    assert!(problems.contains("body.measured.readings[2]"), "{problems}");
    assert!(
        problems.contains("contradicts that of readings[1]"),
        "{problems}"
    );
    assert!(
        problems.contains("body.measured.readings[3].at"),
        "{problems}"
    );
    let both = said(&format!(
        "{FISH}[body.measured]\nuncertainty = 0.1\nreadings = []\n"
    ));
    assert!(both.contains("both drawn and measured"), "{both}");
    // Two that agree within their bands are one.
    let agree = text
        .replace("12.3", "12.15")
        .replace(", { at = 20.1, height = 12 }", "");
    let d = design(&agree);
    assert_eq!(d.body.back.len(), 2);
    assert_eq!(d.body.half_width.len(), 1);
    sound(&d);
}

#[test]
fn scale_leaves_the_mould_and_the_tolerance_alone() {
    let text = format!(
        "scale = 0.5\nsizes = [30, \"40 mm\"]\n{CYLINDER}camber = 4\n[[ribs]]\nfrom = 10\n\
         to = 46\npitch = 4\ndepth = 1.5\n[[eyes]]\nat = 6\ndiameter = 4\ndepth = 1\n\
         [material]\ncoats = [{{ thickness = 0.1 }}]\n[mesh]\ntolerance = 0.04\n"
    );
    let half = design(&text);
    let full = design(&text.replace("scale = 0.5\n", ""));
    assert_eq!((&half.mould, half.tolerance), (&full.mould, full.tolerance));
    assert_eq!(half.allowances, full.allowances);
    let (small, large) = (sound(&half), sound(&full));
    close(small.figures().volume, large.figures().volume / 8.0, 1e-12);
    close(
        small.figures().centroid[2],
        large.figures().centroid[2] / 2.0,
        1e-12,
    );
    assert_eq!(half.eyes[0].radius, 1.0);
    close(
        large.scaled(0.5).figures().volume,
        small.figures().volume,
        1e-12,
    );
    // One of its sizes, by the length wanted.
    let source = spec::read(&text, Format::Toml).unwrap();
    let sized = Design::from_spec(
        &source
            .spec
            .sized(source.spec.sizes[1], source.spec.body.length.unwrap()),
    )
    .unwrap();
    assert_eq!(
        (sized.body.length, sized.name.as_str()),
        (40.0, "bait, 40 mm")
    );
    // Limits are those of the size that is made, said in the sizes that are written.
    let thin = said(&text.replace("depth = 1.5", "depth = 0.3"));
    assert!(
        thin.contains("ribs[0].depth") && thin.contains("0.4 mm to 40 mm"),
        "{thin}"
    );
    let twice = said(&text.replace("\"40 mm\"", "\"3 cm\""));
    assert!(
        twice.contains("sizes[1]: this size is there already"),
        "{twice}"
    );
    let huge = said(&text.replace("[30,", "[700,"));
    assert!(
        huge.contains("sizes[0]") && huge.contains("6 mm to 600 mm"),
        "{huge}"
    );
}

#[test]
fn volumes_agree_with_other_kernels() {
    // tests/readers/trunk_volumes.py: a revolution by Manifold, SciPy's quadrature over its
    // own beta function.
    let ribbed = format!(
        "{CYLINDER}[[ribs]]\nfrom = 10\nto = 46\npitch = 4\ndepth = 1.5\nprofile = \"vee\"\n"
    );
    close(
        Body::from_design(&design(&ribbed)).figures().volume,
        20_630.838_956,
        1e-9,
    );
    let belly = "[body]\nlength = 60\noutline = [{ at = 0, back = 8, belly = 6 }, \
        { at = 60, back = 8, belly = 6 }]\nwidth = [{ at = 0, width = 14 }, \
        { at = 60, width = 14 }]\ncamber = 6\nsection = [{ at = 0, back = 2, belly = 2 }, \
        { at = 60, back = 1.6, belly = 5 }]\n";
    let figures = sound(&design(belly)).figures();
    close(figures.volume, 9_522.965_143_474, 1e-12);
    close(figures.centroid[0], 30.172_363_761, 1e-10);
}

#[test]
fn plates_and_wires_stay_as_they_are_when_a_bait_is_scaled() {
    let design = design(
        "scale = 3\n[body]\nlength = 40\noutline = [{ at = 15, height = 10 }]\n\
         [tail.curl]\nlength = 30\nheight = 6\nthickness = 2.4\ntip = 1.2\n\
         [[fin]]\nat = 12\nroot = 8\nthickness = 2\noutline = [{ at = 3, height = 4 }]\n\
         [[bore]]\ndiameter = 0.8\n",
    );
    let Some(TailDesign::Curl(curl)) = &design.tail else {
        panic!("no curl")
    };
    assert_eq!(
        (curl.length, curl.half_height, curl.thickness, curl.tip),
        (90.0, 9.0, 2.4, 1.2)
    );
    assert_eq!((design.fin[0].at, design.fin[0].thickness), (36.0, 2.0));
    assert_eq!(design.bore[0].radius, 0.4);
}

#[test]
fn readings_are_told_as_they_were_read() {
    let text = "scale = 0.5\n[body]\nlength = 60\n[body.measured]\nuncertainty = 0.2\n\
                readings = [{ at = 20, diameter = 14 }, { at = 40, diameter = 11 }]\n";
    let measured = design(text).body.measured.unwrap();
    assert_eq!((measured.uncertainty, measured.readings[0].at), (0.2, 20.0));
    assert_eq!(measured.readings[1].height.unwrap().read, 11.0);
    let thick = said(&text.replace("diameter = 14", "diameter = 140"));
    assert!(thick.contains("thicker than it is long"), "{thick}");
}

#[test]
fn a_slip_among_readings_is_named() {
    let doubts_of = |length: f64, readings: &[(f64, f64)]| {
        let list: Vec<String> = readings
            .iter()
            .map(|(at, height)| format!("{{ at = {at}, height = {height} }}"))
            .collect();
        let text = format!(
            "[body]\nlength = {length}\n[body.measured]\nuncertainty = 0.2\nreadings = [{}]\n",
            list.join(", ")
        );
        design(&text).body.measured.unwrap().doubts
    };
    let doubts = |readings: &[(f64, f64)]| doubts_of(75.0, readings);
    let named = |doubts: &[spec::DoubtDesign]| -> Vec<(usize, &'static str)> {
        doubts.iter().map(|d| (d.reading, d.field)).collect()
    };
    let perch = [
        (40.0, 15.1),
        (6.0, 9.8),
        (20.0, 17.2),
        (30.0, 17.1),
        (60.0, 9.0),
        (70.0, 5.2),
        (12.0, 14.1),
        (50.0, 12.2),
        (25.0, 17.6),
    ];
    assert_eq!(doubts(&perch), []);
    // Digits swapped, a hump and a dent; a slip next to another reading's place.
    for (slip, off) in [(22.5, 5.4), (11.7, -5.4)] {
        let mut slipped = perch;
        slipped[3].1 = slip;
        let found = doubts(&slipped);
        assert_eq!(found.len(), 1, "{slip}");
        assert_eq!((found[0].reading, found[0].field), (3, "height"));
        assert!((found[0].off - off).abs() < 0.3, "{found:?}");
    }
    // Among few, between 13.9 and 11.7; beside another reading; and the last of all, which turns
    // the way of its neighbours round, at a round end and by a collar.
    let mut few = vec![
        (5.0, 8.3),
        (20.0, 13.9),
        (30.0, 18.0),
        (40.0, 11.7),
        (56.0, 6.1),
    ];
    assert_eq!(named(&doubts_of(64.0, &few)), [(2, "height")]);
    few[2].1 = 13.4;
    assert_eq!(doubts_of(64.0, &few), []);
    let mut stub = vec![
        (5.0, 8.3),
        (12.0, 12.1),
        (20.0, 13.9),
        (30.0, 13.4),
        (35.0, 18.0),
        (40.0, 11.7),
        (56.0, 6.1),
    ];
    assert_eq!(named(&doubts_of(64.0, &stub)), [(4, "height")]);
    stub[4].1 = 12.4;
    assert_eq!(doubts_of(64.0, &stub), []);
    // A slip of nine times the uncertainty at any of a bait's many places, but the two next to its ends.
    let many = [
        (5.0, 8.3),
        (12.0, 12.1),
        (16.0, 13.4),
        (20.0, 13.9),
        (25.0, 14.1),
        (30.0, 13.4),
        (35.0, 12.4),
        (40.0, 11.7),
        (48.0, 9.2),
        (56.0, 6.1),
        (61.0, 3.6),
    ];
    assert_eq!(doubts_of(64.0, &many), []);
    // Nor is more said of it, or of fewer, than how far the curve is off; of one that stands out it is.
    let farther = |readings: &[(f64, f64)]| {
        let list = readings
            .iter()
            .map(|(at, d)| format!("{{ at = {at}, diameter = {d} }}"));
        let list: Vec<String> = list.collect();
        let text = format!(
            "body = {{ length = 64, measured = {{ uncertainty = 0.2, readings = [{}] }} }}\n\
             mesh.tolerance = 0.1\n",
            list.join(", ")
        );
        let kit = crate::kit::Kit::build(&spec::read(&text, spec::Format::Toml).unwrap().spec);
        let notes = kit.unwrap().manifest.notes;
        notes
            .iter()
            .any(|note| note.contains("stands farthest from what all others"))
    };
    let spheroid = [(6.0, 10.0), (32.0, 20.0), (58.0, 10.0)];
    for honest in [&many[..], &stub, &few, &spheroid] {
        assert!(!farther(honest), "{honest:?}");
    }
    let mut wide = many;
    wide[4].1 += 0.8;
    assert!(farther(&wide));
    for i in 1..many.len() - 1 {
        for slip in [-1.8, 1.8] {
            let mut slipped = many;
            slipped[i].1 += slip;
            assert_eq!(named(&doubts_of(64.0, &slipped)), [(i, "height")], "{slip}");
        }
    }
    for end in [56.0, 64.0] {
        let mut last = stub.clone();
        *last.last_mut().unwrap() = (end, 14.5);
        assert_eq!(named(&doubts_of(64.0, &last)), [(6, "height")], "{end}");
        // No more than its neighbour, nothing is known of it.
        last[6].1 = 11.9;
        assert_eq!(doubts_of(64.0, &last), [], "{end}");
    }
    // A few sparse stations of a stout body, and one with a waist, are what they are.
    for plain in [
        &[(8.0, 11.0), (30.0, 24.0), (62.0, 9.0)][..],
        &[
            (5.0, 9.0),
            (15.0, 16.0),
            (25.0, 22.0),
            (35.0, 17.0),
            (50.0, 10.0),
            (65.0, 6.0),
        ],
        &[
            (6.0, 10.0),
            (15.0, 14.0),
            (26.0, 10.0),
            (36.0, 8.5),
            (48.0, 10.0),
            (60.0, 12.0),
            (70.0, 8.0),
        ],
    ] {
        assert_eq!(doubts(plain), []);
    }
}

#[test]
fn a_diameter_is_called_a_diameter() {
    let text = |readings: &str| {
        format!(
            "[body]\nlength = 75\n[body.measured]\nuncertainty = 0.1\nreadings = [{readings}]\n"
        )
    };
    let slipped = "{ at = 6, diameter = 9.8 }, { at = 12, diameter = 14.1 }, { at = 20, diameter = 17.2 }, \
                   { at = 30, diameter = 11.7 }, { at = 40, diameter = 15.1 }, { at = 50, diameter = 12.2 }, \
                   { at = 60, diameter = 9 }";
    let doubts = design(&text(slipped)).body.measured.unwrap().doubts;
    assert_eq!(
        (doubts.len(), doubts[0].field),
        (1, "diameter"),
        "{doubts:?}"
    );
    let twice = said(&text(
        "{ at = 20, diameter = 14 }, { at = 20, diameter = 15 }",
    ));
    assert!(
        twice.contains("this diameter contradicts that of readings[0]"),
        "{twice}"
    );
    let both = said(&text(
        "{ at = 20, height = 14 }, { at = 20, diameter = 15 }",
    ));
    assert!(
        both.contains("this diameter contradicts the height of readings[0]"),
        "{both}"
    );
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig { cases: 64, ..Default::default() })]
    /// Two powers of half ellipses, which joined are what most baits are about.
    #[test]
    fn honest_readings_of_random_fair_baits_raise_no_doubt(
        (length, slim, place) in (50.0..120.0_f64, 0.12..0.3_f64, 0.25..0.55_f64),
        (nose, tail, count) in (0.6..1.0_f64, 0.6..1.1_f64, 6usize..13),
        off in proptest::collection::vec(-0.2..0.2_f64, 13),
    ) {
        let half = |far: f64, power: f64| libm::pow((1.0 - far * far).max(0.0), power);
        let readings: Vec<String> = (1..=count)
            .map(|i| {
                let x = i as f64 / (count + 1) as f64;
                let share = if x < place {
                    half((place - x) / place, nose)
                } else {
                    half((x - place) / (1.0 - place), tail)
                };
                let size = (slim * length * share + off[i - 1]).max(0.6);
                format!("{{ at = {}, diameter = {size} }}", x * length)
            })
            .collect();
        let text = format!(
            "[body]\nlength = {length}\n[body.measured]\nuncertainty = 0.2\nreadings = [{}]\n",
            readings.join(", ")
        );
        let doubts = design(&text).body.measured.unwrap().doubts;
        proptest::prop_assert!(doubts.is_empty(), "{doubts:?}\n{text}");
    }
}
