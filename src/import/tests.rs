use super::*;
use crate::body::{Body, Master};
use crate::export::{stl, three_mf as package};
use crate::kit::{Kit, KitError};
use crate::mesh::shapes::{cuboid, sphere};
use crate::mesh::slice::Sliced;
use crate::mould::Mould;
use crate::spec::{self, BodySpec, Design, Format};

const FISH: &str = "[body]\nlength = 60\nwidth = 0.6\noutline = [{ at = 8, height = 9 }, \
                    { at = 25, height = 14 }, { at = 50, height = 6 }]\n[mesh]\ntolerance = 0.1\n";

fn fish() -> Mesh {
    let design = spec::design(FISH, Format::Toml).unwrap();
    Body::from_design(&design).mesh(0.1).unwrap()
}

fn from(more: &str) -> Spec {
    let text = format!("[body]\nfrom = {{ file = \"scan.stl\"{more} }}\n");
    spec::read(&text, Format::Toml).unwrap().spec
}

/// As text: every facet's corners, by the book.
fn ascii(mesh: &Mesh) -> String {
    let mut out = String::from("solid fish\n");
    for t in 0..mesh.triangles.len() {
        out.push_str("facet normal 0 0 0\nouter loop\n");
        for p in mesh.corners(t) {
            out.push_str(&format!(
                "vertex {:e} {:e} {:e}\n",
                p.x as f32, p.y as f32, p.z as f32
            ));
        }
        out.push_str("endloop\nendfacet\n");
    }
    out.push_str("endsolid fish\n");
    out
}

#[test]
fn stl_comes_in_in_every_form() {
    let mesh = fish();
    let binary = stl::to_bytes(&mesh, "fish").unwrap();
    let mut solid = binary.clone();
    solid[..5].copy_from_slice(b"solid");
    let text = ascii(&mesh).into_bytes();
    for bytes in [binary, solid, text] {
        let read = Imported::read(&from(""), &bytes).unwrap();
        assert_eq!(read.mesh.triangles.len(), mesh.triangles.len());
        assert_eq!(read.mesh.points.len(), mesh.points.len());
        assert!((read.mesh.volume() / mesh.volume() - 1.0).abs() < 1e-6);
        assert_eq!(read.mesh.check(), Ok(()));
        assert_eq!(read.mesh.bounds().unwrap().min.x, 0.0);
    }
}

#[test]
fn units_and_axes_are_honoured() {
    // In inches, nose to +z, back to +y.
    let turn = AxisMap::new(Direction::MinusZ, Direction::PlusX, Direction::PlusY).unwrap();
    let mesh = fish();
    let mut other = mesh.clone().mapped(&turn);
    assert!(other.volume() > 0.0);
    for p in &mut other.points {
        p.coords /= 25.4;
    }
    let mut spec = from(", nose = \"+z\", up = \"+y\", origin = \"file\"");
    spec.units = crate::quantity::LengthUnit::In;
    let bytes = stl::to_bytes(&other, "").unwrap();
    let read = Imported::read(&spec, &bytes).unwrap();
    let (found, wanted) = (read.mesh.bounds().unwrap(), mesh.bounds().unwrap());
    assert!(
        (found.min - wanted.min).norm() < 1e-4,
        "{found:?} {wanted:?}"
    );
    assert!((found.max - wanted.max).norm() < 1e-4);
    let problem = Imported::read(&from(", nose = \"+z\", up = \"-z\""), &bytes)
        .unwrap_err()
        .0
        .remove(0);
    assert!(problem.what.contains("two different axes"));
    // Read as millimetres it is far too small.
    let problem = Imported::read(&from(", nose = \"+z\", up = \"+y\""), &bytes)
        .unwrap_err()
        .0
        .remove(0);
    assert!(problem.hint.unwrap().contains("units"));
}

#[test]
fn a_package_comes_in_with_its_unit_and_places() {
    let mesh = fish();
    let place = nalgebra::Vector3::new(5.0, -3.0, 2.0);
    let object = package::Object {
        name: "fish",
        mesh: &mesh,
        at: place,
    };
    let bytes = package::to_bytes("fish", &[object]).unwrap();
    let read = Imported::read(&from(", origin = \"file\""), &bytes).unwrap();
    let (found, wanted) = (read.mesh.bounds().unwrap(), mesh.bounds().unwrap());
    assert!((found.min.y - wanted.min.y + 3.0).abs() < 1e-5);
    assert!((found.max.z - wanted.max.z - 2.0).abs() < 1e-5);

    // Written by hand after §3 and §4: inches, a component turned upside down, one mirrored.
    let model = |build: &str| {
        let mut xml = String::from(
            "<model unit=\"inch\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\"><resources><object id=\"1\"><mesh><vertices>",
        );
        let cube = cuboid([0.0; 3], [2.0, 0.5, 0.25]);
        for p in &cube.points {
            xml.push_str(&format!(
                "<vertex x=\"{}\" y=\"{}\" z=\"{}\"/>",
                p.x, p.y, p.z
            ));
        }
        xml.push_str("</vertices><triangles>");
        for [a, b, c] in &cube.triangles {
            xml.push_str(&format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>"));
        }
        xml.push_str("</triangles></mesh></object><object id=\"2\"><components><component objectid=\"1\" transform=\"1 0 0 0 -1 0 0 0 1 0 0.5 0\"/></components></object></resources><build>");
        xml.push_str(build);
        xml.push_str("</build></model>");
        three_mf::parse(&xml)
    };
    let parsed = model("<item objectid=\"2\"/>").unwrap();
    assert_eq!(parsed.unit, 25.4);
    let mut mesh = Mesh::default();
    parsed
        .gather(2, &[three_mf::UNMOVED], &mut mesh, &mut 0)
        .unwrap();
    // A mirrored box is the same box, still facing outwards.
    assert!((mesh.volume() - 0.25).abs() < 1e-12);
    assert!(model("<item objectid=\"1\" transform=\"1 2\"/>").is_err());
    let missing = model("<item objectid=\"7\"/>").unwrap();
    assert!(
        missing
            .gather(7, &[three_mf::UNMOVED], &mut Mesh::default(), &mut 0)
            .is_err()
    );
}

#[test]
fn what_is_unambiguous_is_mended_and_said() {
    let read = |mesh: Mesh| Imported::from_mesh(&from(""), mesh).unwrap();
    let good = fish();
    let inside_out = read(good.clone().flipped());
    assert!((inside_out.mesh.volume() - good.volume()).abs() < 1e-9);
    assert!(inside_out.notes[0].contains("faced inwards"));
    let mut folded = good.clone();
    folded.triangles.push([3, 3, 4]);
    assert!(read(folded).notes[0].contains("no area"));
    assert!(read(good).notes.is_empty());
}

#[test]
fn what_is_not_is_refused_with_its_place() {
    let refused = |mesh: Mesh| {
        Imported::from_mesh(&from(""), mesh)
            .unwrap_err()
            .to_string()
    };
    let good = fish();
    let mut open = good.clone();
    open.triangles.remove(100);
    let said = refused(open);
    assert!(
        said.contains("edge of one triangle only") && said.contains("at ("),
        "{said}"
    );
    let mut turned = good.clone();
    turned.triangles[50].swap(0, 1);
    assert!(refused(turned).contains("face opposite ways"));
    let mut hollow = good.clone();
    hollow.append(
        &sphere(1.0, 6, 8)
            .flipped()
            .translated(&Vector3::new(25.0, 0.0, 0.0)),
    );
    assert!(refused(hollow).contains("one piece"));
    let mut crossed = good.clone();
    crossed.points[200] += Vector3::new(0.0, 60.0, 0.0);
    crossed.points[201] -= Vector3::new(0.0, 60.0, 0.0);
    assert!(refused(crossed).contains("does not bound a solid"));
    let aside = Imported::from_mesh(
        &from(", origin = \"file\""),
        good.translated(&Vector3::new(0.0, 40.0, 0.0)),
    );
    assert!(
        aside.unwrap_err().0[0]
            .what
            .contains("does not run through")
    );
    for bytes in [
        &b""[..],
        b"PK\x03\x04rubbish",
        b"solid",
        b"solid x\nfacet",
        &[0; 84],
        &[7; 200],
    ] {
        assert!(Imported::read(&from(""), bytes).is_err());
    }
}

#[test]
fn a_spec_gives_an_outline_or_a_file() {
    let both = FISH.replace("[body]\n", "[body]\nfrom = \"scan.stl\"\n");
    let spec = spec::read(&both, Format::Toml).unwrap().spec;
    let master = Imported::from_mesh(&spec, fish()).unwrap();
    let Err(KitError::Spec(problems)) = Kit::build_with_master(&spec, &master) else {
        panic!("not refused");
    };
    let paths: Vec<&str> = problems.0.iter().map(|p| p.path.as_str()).collect();
    assert_eq!(paths, ["body.length", "body.outline", "body.width"]);
    let neither = spec::design("[body]\nsection = 2\n", Format::Toml).unwrap_err();
    assert!(
        neither
            .0
            .iter()
            .any(|p| p.path == "body.length" && p.what.contains("missing"))
    );
    // A file that nobody has read yet.
    let Err(KitError::Spec(problems)) = Kit::build(&from("")) else {
        panic!("not refused");
    };
    assert_eq!(problems.0[0].path, "body.from");
    assert!(
        Imported::from_mesh(
            &Spec::new(BodySpec {
                from: None,
                ..spec.body
            }),
            fish()
        )
        .is_err()
    );
}

/// A body with every point moved a little, as a scan has it: no row in any plane.
fn scan(seed: u64) -> Mesh {
    let mut mesh = fish();
    let mut state = seed;
    let mut noise = || {
        // Numerical Recipes' linear congruential generator.
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64 - 0.5
    };
    for p in &mut mesh.points {
        *p += Vector3::new(noise(), noise(), noise()) * 0.03;
    }
    mesh
}

#[test]
fn a_scan_becomes_a_whole_kit_in_both_partings() {
    for (seed, parting) in [(1, "flank"), (2, "waist"), (3, "flank"), (4, "waist")] {
        let text = format!(
            "body.from = \"scan.stl\"\n[[eyes]]\nkind = \"flat\"\nat = 14\ndiameter = 3\ndepth = 0.8\n\
             [[slot]]\nside = \"belly\"\nfrom = 18\nto = 38\nwidth = 1.6\ndepth = 4\n\
             [[bore]]\ndiameter = 1\n[mould]\nparting = \"{parting}\""
        );
        let spec = spec::read(&text, Format::Toml).unwrap().spec;
        let mesh = scan(seed);
        let master = Imported::from_mesh(&spec, mesh.clone()).unwrap();
        let design = Design::around(&spec, &master.envelope()).unwrap();
        let body = Body::imported(&design, master.mesh.clone());
        let figures = body.figures();
        assert!((figures.volume - mesh.volume()).abs() < 1e-6);
        let plain = Body::from_design(&spec::design(FISH, Format::Toml).unwrap()).figures();
        for (found, wanted) in [
            (figures.side_area, plain.side_area),
            (figures.top_area, plain.top_area),
            (figures.height.1, plain.height.1),
            (figures.width.1, plain.width.1),
            (figures.centroid[0], plain.centroid[0]),
        ] {
            assert!((found / wanted - 1.0).abs() < 0.02, "{found} {wanted}");
        }
        let made = Master::build(&design, &body).unwrap_or_else(|e| panic!("{e}"));
        made.mesh.check().unwrap();
        let mould = Mould::around(&design, &body, &made.mesh).unwrap();
        for half in [&mould.upper, &mould.lower, &mould.cavity] {
            half.check()
                .unwrap_or_else(|e| panic!("{parting} {seed}: {e}"));
        }
        let block: f64 = mould.block.size().iter().product();
        let sum = mould.upper.volume() + mould.lower.volume() + mould.cavity.volume() + mould.gap;
        assert!((sum - block).abs() < 1e-9 * block);
        if seed < 3 {
            let kit = Kit::build_with_master(&spec, &master).unwrap_or_else(|e| panic!("{e}"));
            assert!(kit.files.iter().all(|f| f.path != "lathe-gauge.svg"));
            assert!(kit.files.iter().any(|f| f.path == "cores.stl"));
            assert!(
                kit.manifest
                    .notes
                    .iter()
                    .any(|n| n.starts_with("No lathe gauge"))
            );
            // The nose is too slim for the widest gate, by which cores are judged before.
            let gate = "leaves plastic a way of 0.";
            let notes = &kit.manifest.notes;
            assert!(notes.iter().any(|n| n.contains(gate)), "{notes:?}");
        }
    }
}

#[test]
fn tails_go_on_from_a_scan_as_from_what_it_was_taken_of() {
    let text = "body.from = \"scan.stl\"\n";
    let drawn = Body::from_design(&spec::design(FISH, Format::Toml).unwrap());
    for (tail, before) in [
        ("tail.taper = { length = 40, tip = 2 }\n", 12.0),
        (
            "tail.curl = { length = 60, height = 14, turn = 200 }\n",
            12.0,
        ),
    ] {
        for seed in [5, 6] {
            let spec = spec::read(&format!("{text}{tail}"), Format::Toml)
                .unwrap()
                .spec;
            let master = Imported::from_mesh(&spec, scan(seed)).unwrap();
            let design = Design::around(&spec, &master.envelope()).unwrap();
            let body = Body::imported(&design, master.mesh.clone());
            let made = Master::build(&design, &body).unwrap_or_else(|e| panic!("{e}\n{tail}"));
            made.mesh.check().unwrap();
            // Nothing of it shows before the body begins to close.
            let (bare, with) = (Sliced::new(master.mesh), Sliced::new(made.mesh));
            let last = drawn.length() - before;
            for x in [last, last - 6.0, last - 12.0] {
                for axis in [0, 1] {
                    let size = |sliced: &Sliced| {
                        let [low, high] = sliced.section(x).span(axis).unwrap();
                        high - low
                    };
                    assert!(
                        (size(&bare) - size(&with)).abs() < 0.02,
                        "{x} {axis} {tail}"
                    );
                }
            }
        }
    }
}

/// A fish whose nose is far from mid-height, as STL keeps it.
fn hanging() -> (Mesh, Vec<u8>) {
    let text = "[body]\nlength = 75\nwidth = 0.6\noutline = [{ at = 6, back = 3, belly = 7 }, \
                { at = 25, back = 4, belly = 14 }, { at = 60, back = 2, belly = 6 }]\n[mesh]\ntolerance = 0.1\n";
    let design = spec::design(text, Format::Toml).unwrap();
    let mesh = Body::from_design(&design).mesh(0.1).unwrap();
    let bytes = stl::to_bytes(&mesh.clone().settled(), "master").unwrap();
    (mesh, bytes)
}

#[test]
fn a_master_of_ours_comes_back_on_its_axis() {
    let (mesh, bytes) = hanging();
    let read = Imported::read(&from(", origin = \"nose\""), &bytes).unwrap();
    let (was, is) = (mesh.bounds().unwrap(), read.mesh.bounds().unwrap());
    // As far as single precision goes, and the nose's own facets.
    assert!((was.max - is.max).amax() < 1e-3, "{} {}", was.max, is.max);
    let middle = Imported::read(&from(""), &bytes).unwrap().mesh;
    assert!((middle.bounds().unwrap().max.z - was.max.z).abs() > 4.0);
}

#[test]
fn the_sprue_leads_to_the_nose_wherever_that_is() {
    let (_, bytes) = hanging();
    let mut off = Vec::new();
    for origin in ["middle", "nose"] {
        let spec = from(&format!(", origin = \"{origin}\""));
        let master = Imported::read(&spec, &bytes).unwrap();
        let design = Design::around(&spec, &master.envelope()).unwrap();
        let body = Body::imported(&design, master.mesh.clone());
        let mould = Mould::around(&design, &body, &master.mesh).unwrap();
        let sprue = &mould.channels.sprue;
        assert!(sprue.covers < 3.0, "{origin}: {}", sprue.covers);
        assert!(sprue.gate_radius > 1.0, "{origin}: {}", sprue.gate_radius);
        off.push(sprue.axis);
    }
    // Five above the middle, towards −y in the mould.
    assert!((off[0] + 5.0).abs() < 1.5, "{off:?}");
    assert!(off[1].abs() < 1.0, "{off:?}");
}

#[test]
fn a_fin_keeps_out_of_the_way_of_the_sprue_wherever_that_is() {
    let (_, bytes) = hanging();
    let horn = "[[fin]]\nat = 4\npath = \"M0,0 L-9,1 L-9,3 L8,4 L8,0 Z\"\n";
    let text = format!("body.length = 75\n{horn}");
    let horn = spec::read(&text, Format::Toml).unwrap().spec;
    for origin in ["middle", "nose"] {
        let mut spec = from(&format!(", origin = \"{origin}\""));
        spec.fin = horn.fin.clone();
        let master = Imported::read(&spec, &bytes).unwrap();
        let design = Design::around(&spec, &master.envelope()).unwrap();
        let body = Body::imported(&design, master.mesh.clone());
        let problem = Master::build(&design, &body).unwrap_err().to_string();
        assert!(
            problem.contains("the way of the sprue"),
            "{origin}: {problem}"
        );
        // Less than four over the nose, along its back; eight over the middle.
        let far = problem.split("from the line").next().unwrap();
        let far = far.rsplit(' ').nth(2).unwrap().parse::<f64>().unwrap();
        assert!(far > 2.0 && far < 6.0, "{origin}: {problem}");
    }
}

#[test]
fn a_master_in_another_unit_is_told_which_and_how_to_say_so() {
    let hint = |unit: f64, units: crate::quantity::LengthUnit| {
        let mut mesh = fish();
        mesh.points.iter_mut().for_each(|p| p.coords *= unit);
        let mut spec = from("");
        spec.units = units;
        let bytes = stl::to_bytes(&mesh, "").unwrap();
        match Imported::read(&spec, &bytes) {
            Ok(read) => read.notes.join("\n"),
            Err(problems) => {
                assert_eq!(problems.0.len(), 1, "{problems}");
                let problem = &problems.0[0];
                assert!(problem.what.contains("too small or too large"), "{problem}");
                assert!(
                    problem.limit.as_ref().unwrap().contains("1000 mm"),
                    "{problem}"
                );
                problem.hint.clone().unwrap()
            }
        }
    };
    use crate::quantity::LengthUnit::{Cm, In, Mm};
    let long = fish().bounds().unwrap().size().x;
    // Metres, of which single precision leaves facets of no height: the unit is told first.
    let metres = hint(0.001, Mm);
    assert!(
        metres.contains(&format!(
            "In metres it is {long:.1} mm long (save it in millimetres)"
        )),
        "{metres}"
    );
    // Micrometres.
    assert!(
        hint(1000.0, Mm).contains("n micrometres it is"),
        "{}",
        hint(1000.0, Mm)
    );
    // Inches read as millimetres, and the other way round.
    let inches = hint(1.0 / 25.4, Mm);
    assert!(
        inches.contains("nches it is") && inches.contains("units = \"in\""),
        "{inches}"
    );
    let millimetres = hint(1.0, In);
    assert!(
        millimetres.contains("In millimetres it is") && millimetres.contains("units = \"mm\""),
        "{millimetres}"
    );
    assert!(
        hint(0.1, Mm).contains("n centimetres it is"),
        "{}",
        hint(0.1, Mm)
    );
    // What is as long as baits are is asked nothing.
    assert!(!hint(1.0, Mm).contains("unit"), "{}", hint(1.0, Mm));
    assert!(!hint(0.1, Cm).contains("unit"), "{}", hint(0.1, Cm));
}

#[test]
fn a_small_or_large_master_is_asked_for_its_unit() {
    for (length, asked) in [(19.9, true), (20.1, false), (499.0, false), (501.0, true)] {
        let mut mesh = fish();
        let by = length / mesh.bounds().unwrap().size().x;
        mesh.points.iter_mut().for_each(|p| p.coords *= by);
        let notes = Imported::from_mesh(&from(""), mesh).unwrap().notes;
        let told = notes.iter().any(|n| n.contains("is the unit right?"));
        assert_eq!(told, asked, "{length} {notes:?}");
    }
}
