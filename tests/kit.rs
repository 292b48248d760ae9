//! Kits of the bundled specs, as an outside reader finds them.
// Helpers here are tests too: a panic is how they fail.
#![allow(clippy::unwrap_used)]

use std::collections::HashMap;
use std::fs;
use std::io::{Cursor, Read};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use baitwright::body::Body;
use baitwright::kit::{Kind, Kit, KitError, KitFile};
use baitwright::mesh::Mesh;
use baitwright::mould::Mould;
use baitwright::spec::{self, Allowances, Design, Format, Route, Spec};
use nalgebra::Point3;
use serde_json::Value;
use sha2::{Digest, Sha256};

struct Example {
    name: String,
    spec: Spec,
    kit: Kit,
}

/// Every bundled spec with its kit, made once for all tests here.
fn examples() -> &'static [Example] {
    static EXAMPLES: OnceLock<Vec<Example>> = OnceLock::new();
    EXAMPLES.get_or_init(|| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
        let mut paths: Vec<PathBuf> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|e| e == "toml"))
            .collect();
        paths.sort();
        assert!(paths.len() >= 3, "the bundled specs are gone");
        paths
            .iter()
            .map(|path| {
                let text = fs::read_to_string(path).unwrap();
                let spec = spec::read(&text, Format::Toml).unwrap().spec;
                let kit = Kit::build(&spec).unwrap();
                let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
                Example { name, spec, kit }
            })
            .collect()
    })
}

fn file<'k>(kit: &'k Kit, name: &str) -> &'k KitFile {
    kit.files.iter().find(|f| f.path == name).unwrap()
}

fn manifest(kit: &Kit) -> Value {
    serde_json::from_str(&kit.manifest_text()).unwrap()
}

/// A binary STL as another reader takes it: corners are one point if their coordinates
/// are the same.
fn read_stl(bytes: &[u8]) -> Mesh {
    let read = stl_io::read_stl(&mut Cursor::new(bytes)).unwrap();
    let mut points = Vec::new();
    let mut index = HashMap::new();
    let mut weld = |v: &stl_io::Vertex| {
        let at: [f32; 3] = [v[0], v[1], v[2]];
        *index.entry(at.map(f32::to_bits)).or_insert_with(|| {
            points.push(Point3::from(at.map(f64::from)));
            u32::try_from(points.len() - 1).unwrap()
        })
    };
    let triangles = read
        .faces
        .iter()
        .map(|face| face.vertices.map(|v| weld(&read.vertices[v])))
        .collect();
    Mesh { points, triangles }
}

#[test]
fn the_manifest_names_every_file_with_its_hash_and_size() {
    for Example { name, kit, .. } in examples() {
        let manifest = manifest(kit);
        let entries = manifest["files"].as_array().unwrap();
        assert_eq!(entries.len(), kit.files.len(), "{name}");
        for (entry, file) in entries.iter().zip(&kit.files) {
            assert_eq!(entry["path"], file.path, "{name}");
            assert_eq!(entry["bytes"], file.bytes.len(), "{name}: {}", file.path);
            let hash: String = Sha256::digest(&file.bytes)
                .iter()
                .map(|b| format!("{b:02x}"))
                .collect();
            assert_eq!(entry["sha256"], hash, "{name}: {}", file.path);
            let solid = file.path.ends_with(".stl") || file.path.ends_with(".3mf");
            assert_eq!(entry.get("triangles").is_some(), solid, "{}", file.path);
        }
        let mut paths: Vec<&str> = kit.files.iter().map(|f| f.path.as_str()).collect();
        paths.sort_unstable();
        paths.dedup();
        assert_eq!(paths.len(), kit.files.len(), "{name}: a name twice");
        for wanted in [
            "master.stl",
            "master.3mf",
            "paper.pdf",
            "drawing.svg",
            "mould.3mf",
            "master.png",
            "views.png",
            "casting.png",
        ] {
            assert!(paths.contains(&wanted), "{name}: no {wanted}");
        }
        // A gauge for what can be turned, and only for that.
        for pattern in ["pattern.svg", "pattern.dxf"] {
            let sheet = kit.design.mould.bands && kit.design.mould.route != Route::Block;
            let walls = kit.design.mould.sheet_walls;
            let wanted = kit.design.mould.route == Route::Board || sheet || walls;
            assert_eq!(paths.contains(&pattern), wanted, "{name}: {pattern}");
        }
        assert_eq!(
            paths.contains(&"gauges.dxf"),
            kit.manifest.bait.round,
            "{name}"
        );
        assert_eq!(
            paths.contains(&"lathe-gauge.svg"),
            kit.manifest.bait.round,
            "{name}"
        );
    }
}

#[test]
fn stl_files_are_sound_solids_of_the_volume_the_manifest_gives() {
    for Example { name, kit, .. } in examples() {
        let mut count = 0;
        for (entry, file) in kit.manifest.files.iter().zip(&kit.files) {
            if !file.path.ends_with(".stl") {
                continue;
            }
            count += 1;
            let what = format!("{name}, {}", file.path);
            let mesh = read_stl(&file.bytes);
            mesh.check().unwrap_or_else(|e| panic!("{what}: {e}"));
            assert_eq!(Some(mesh.triangles.len()), entry.triangles, "{what}");
            assert_eq!(
                file.bytes.len(),
                84 + 50 * mesh.triangles.len(),
                "{what}: size"
            );
            // Single precision moves each corner by half a step: below 200 mm under 1e-5 mm.
            let volume = entry.volume_mm3.unwrap();
            assert!(
                (mesh.volume() - volume).abs() <= 1e-5 * mesh.area(),
                "{what}: {} for {volume}",
                mesh.volume()
            );
            let bounds = mesh.bounds().unwrap();
            let [min, max] = entry.bounds_mm.unwrap();
            for k in 0..3 {
                assert!(min[k] >= 0.0, "{what}: outside the positive octant");
                assert!((bounds.min[k] - min[k]).abs() < 1e-5, "{what}");
                assert!((bounds.max[k] - max[k]).abs() < 1e-5, "{what}");
            }
        }
        let cores = usize::from(has_cores(kit));
        assert_eq!(
            count,
            1 + parts(kit).count() + cores,
            "{name}: master, parts of the mould and what cores there are"
        );
    }
}

#[test]
fn packages_are_in_millimetres_and_hold_the_triangles_the_manifest_gives() {
    for Example { name, kit, .. } in examples() {
        let parts = parts(kit).count();
        for (path, objects) in [("master.3mf", 1), ("mould.3mf", parts)] {
            let found = file(kit, path);
            let mut package = zip::ZipArchive::new(Cursor::new(&found.bytes)).unwrap();
            let mut model = String::new();
            // The part's usual place: 3MF Core 1.4, §2.1 and §3.4 (`unit`).
            package
                .by_name("3D/3dmodel.model")
                .unwrap()
                .read_to_string(&mut model)
                .unwrap();
            assert!(model.contains("unit=\"millimeter\""), "{name}, {path}");
            assert_eq!(model.matches("<object ").count(), objects, "{name}, {path}");
            assert_eq!(
                model.matches("<triangle ").count(),
                found.solid.unwrap().triangles,
                "{name}, {path}"
            );
        }
    }
}

/// What is printed for the mould.
fn parts(kit: &Kit) -> impl Iterator<Item = &KitFile> {
    let printed = |f: &&KitFile| matches!(f.kind, Kind::MouldHalf | Kind::MouldPart);
    kit.files.iter().filter(printed)
}

fn has_cores(kit: &Kit) -> bool {
    kit.files.iter().any(|file| file.path == "cores.stl")
}

#[test]
fn the_master_is_the_body_and_its_collar_within_the_tolerance() {
    for Example { name, kit, spec } in examples() {
        let design = Design::from_spec(spec).unwrap();
        if has_cores(kit) {
            continue; // their prints stand on the master beyond the bait
        }
        let (bait, tolerance) = (&kit.manifest.bait, kit.manifest.tolerance_mm);
        if design.allowances != Allowances::default() {
            continue; // larger than the bait, on purpose
        }
        let mesh = read_stl(&file(kit, "master.stl").bytes);
        let exact = 1000.0 * (bait.volume_ml + bait.collar_volume_ml);
        let off = (mesh.volume() - exact).abs();
        // Straddling facets use up to a fifth of the bound; see the closed forms' tests.
        assert!(off <= 0.25 * tolerance * mesh.area(), "{name}: {off} mm³");
        let size = mesh.bounds().unwrap().size();
        let [length, width, height] = bait.overall_mm;
        let length = length + bait.collar_length_mm;
        assert!((size.x - length).abs() < 1e-5, "{name}: {} long", size.x);
        assert!((size.y - width).abs() <= 2.0 * tolerance, "{name}");
        assert!((size.z - height).abs() <= 2.0 * tolerance, "{name}");
        // Without fins or a tail the whole is the trunk.
        let limbs = !design.fin.is_empty() || design.tail.is_some() || !design.legs.is_empty();
        if !limbs {
            let [low, high] = Body::from_design(&design).figures().reach;
            let trunk = [bait.length_mm, bait.width_mm, high - low];
            assert_eq!(bait.overall_mm, trunk, "{name}");
        }
    }
}

#[test]
fn halves_and_cavity_share_out_the_block() {
    for Example { name, kit, spec } in examples() {
        // With the plane that the kit was made for.
        let mut design = Design::from_spec(spec).unwrap();
        design.mould.parting = kit.manifest.mould.parting;
        if design.allowances != Allowances::default() {
            continue; // the mould is made around a larger master
        }
        let body = Body::from_design(&design);
        let mould = Mould::build(&design, &body).unwrap();
        let size = mould.block.size();
        let block = size.x * size.y * size.z;
        let sum = mould.upper.volume() + mould.lower.volume() + mould.cavity.volume();
        let off = (sum + mould.gap + mould.seats.volume - block).abs() / block;
        assert!(off < 1e-9, "{name}: off by {off}");
        let mould_volume = mould.upper.volume() + mould.lower.volume();
        if mould.route == Route::Block {
            assert!(mould.gap > 0.0, "{name}");
            // The kit's own halves are these.
            let halves: f64 = parts(kit).map(|f| f.solid.unwrap().volume).sum();
            assert!((halves / mould_volume - 1.0).abs() < 1e-9, "{name}");
            assert_eq!(kit.manifest.mould.silicone_ml, None);
        } else {
            // Silicone against silicone leaves no gap.
            assert!(mould.gap.abs() < 1e-9, "{name}");
            let [one, other] = kit.manifest.mould.silicone_ml.unwrap();
            assert!(
                (1000.0 * (one + other) / mould_volume - 1.0).abs() < 1e-9,
                "{name}"
            );
        }
        let told = 1000.0 * kit.manifest.mould.halves_ml;
        assert!((told / mould_volume - 1.0).abs() < 1e-9, "{name}");
        let filling = 1000.0 * kit.manifest.mould.filling_ml;
        assert!(filling > 1000.0 * kit.manifest.bait.volume_ml, "{name}");
        assert!(filling < mould.cavity.volume() + 1e-6, "{name}");
        assert!(kit.manifest.mould.keys >= 4, "{name}");
    }
}

/// Every number of the manifest with the key it stands under.
fn numbers(key: &str, value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Number(_) => found.push(key.to_owned()),
        Value::Array(items) => items.iter().for_each(|item| numbers(key, item, found)),
        Value::Object(fields) => fields.iter().for_each(|(key, v)| numbers(key, v, found)),
        _ => {}
    }
}

#[test]
fn every_number_of_the_manifest_has_its_unit_in_its_key() {
    // Counts have none, nor has practical salinity.
    let counts = [
        "keys",
        "vents",
        "bytes",
        "triangles",
        "cavities",
        "bolts",
        "notches",
        "pins",
        "salinity",
        "baits",
        "moulds",
        "batches",
        "shots",
        "strokes_per_shot",
        "turns_of_m6",
    ];
    for Example { name, kit, .. } in examples() {
        let mut found = Vec::new();
        numbers("", &manifest(kit), &mut found);
        assert!(found.len() > 40, "{name}: {} numbers", found.len());
        for key in found {
            let units = [
                "_mm",
                "_mm2",
                "_mm3",
                "_ml",
                "_g",
                "_g_ml",
                "_s",
                "_mm_s",
                "_celsius",
                "_degrees",
                "_oz",
                "_pa_s",
                "_kpa",
                "_n",
                "_c",
                "_micro_newton_m_per_degree",
            ];
            let unit = units.iter().any(|u| key.ends_with(u));
            let ratio = key == "scale" || key.ends_with("_scale") || key.ends_with("_share");
            let plain = ratio || key == "celsius" || counts.contains(&key.as_str());
            assert!(unit || plain, "{name}: {key}");
        }
    }
}

/// That two kits hold the same bytes, named one by one so that a failure is short.
#[track_caller]
fn same(what: &str, one: &Kit, other: &Kit) {
    let paths = |kit: &Kit| -> Vec<String> { kit.files.iter().map(|f| f.path.clone()).collect() };
    assert_eq!(paths(one), paths(other), "{what}");
    for (a, b) in one.files.iter().zip(&other.files) {
        assert!(a.bytes == b.bytes, "{what}: {} differs", a.path);
    }
    assert_eq!(one.manifest_text(), other.manifest_text(), "{what}");
}

#[test]
fn the_same_spec_gives_the_same_bytes() {
    for Example { name, kit, spec } in examples() {
        same(name, kit, &Kit::build(spec).unwrap());
    }
}

#[test]
fn the_spec_in_the_kit_gives_the_kit_back() {
    for Example { name, kit, spec } in examples() {
        let text = std::str::from_utf8(&file(kit, "spec.toml").bytes).unwrap();
        let read = spec::read(text, Format::Toml).unwrap().spec;
        assert_eq!(&read, spec, "{name}");
        same(name, kit, &Kit::build(&read).unwrap());
    }
}

#[test]
fn json_and_toml_of_one_spec_give_one_kit() {
    for Example { name, kit, spec } in examples() {
        let text = serde_json::to_string_pretty(spec).unwrap();
        let read = spec::read(&text, Format::Json).unwrap().spec;
        assert_eq!(&read, spec, "{name}");
        same(name, kit, &Kit::build(&read).unwrap());
    }
}

#[test]
fn a_print_that_shrinks_takes_no_more_plastic() {
    let filling = |print: u32| {
        let text = format!(
            "[body]\nlength = 80\noutline = [{{ at = 28, height = 18 }}]\nwidth = 0.7\n\
             [material]\nshrinkage = {{ print = {print} }}\n"
        );
        let spec = spec::read(&text, Format::Toml).unwrap().spec;
        Kit::build(&spec).unwrap().manifest.mould.filling_ml
    };
    // Sprue and vents, which are not enlarged in the file, come out a little smaller.
    let (plain, shrinks) = (filling(0), filling(5));
    assert!(
        shrinks < plain && shrinks > 0.95 * plain,
        "{plain} {shrinks}"
    );
}

fn example(name: &str) -> &'static Example {
    examples().iter().find(|e| e.name == name).unwrap()
}

#[test]
fn a_spec_without_a_plane_gets_the_one_its_fins_lie_in() {
    let Example { spec, kit, .. } = example("winged-darter");
    assert_eq!(spec.mould.parting, None);
    let manifest = manifest(kit);
    assert_eq!(manifest["mould"]["parting"], "waist");
    let opening = &manifest["opening"];
    assert!(opening["undercuts"].as_array().unwrap().is_empty());
    // Along the flank half of a fin's thickness would stand in the way.
    assert!(opening["flank_mm"].as_f64().unwrap() > 0.5);
    assert!(
        kit.manifest
            .notes
            .iter()
            .any(|n| n.contains("chosen since"))
    );

    // Asked for, the flank is kept, and what it costs is said, feature by feature.
    let mut spec = spec.clone();
    spec.mould.parting = Some(spec::Parting::Flank);
    let kit = Kit::build(&spec).unwrap();
    let opening = &kit.manifest.opening;
    let named: Vec<&str> = opening
        .undercuts
        .iter()
        .map(|u| u.feature.as_str())
        .collect();
    assert!(
        named.contains(&"fin[0]") && named.contains(&"tail.fork"),
        "{named:?}"
    );
    assert!(opening.undercuts.iter().all(|u| !u.silicone_bears_it));
    let advice = "mould.parting = \"waist\" would open better";
    assert!(kit.manifest.notes.iter().any(|n| n.contains(advice)));
}

#[test]
fn legs_that_reach_forward_are_vented_and_named_and_without_vents_a_cure_is() {
    let Example { spec, kit, .. } = example("mud-crawler");
    let air = &kit.manifest.air;
    assert_eq!(air.held.len(), 0);
    let named: Vec<&str> = air.vented.iter().map(|t| t.feature.as_str()).collect();
    assert_eq!(named, ["legs[0]"; 2]);
    // Mirror images of each other, tips ahead of where they root.
    assert!((air.vented[0].at_mm[1] + air.vented[1].at_mm[1]).abs() < 0.01);
    assert_eq!(kit.manifest.mould.vents, 4);

    let mut spec = spec.clone();
    spec.mould.vents.count = Some(0);
    let kit = Kit::build(&spec).unwrap();
    let air = &kit.manifest.air;
    assert_eq!(
        (air.vented.len(), air.held.len(), kit.manifest.mould.vents),
        (0, 2, 0)
    );
    assert!(
        air.held
            .iter()
            .all(|t| t.cure.as_ref().unwrap().contains("mould.vents.count"))
    );
}

#[test]
fn boxes_with_walls_of_sheet_come_as_floors_and_a_pattern() {
    let mut spec = example("reed-minnow-boxes").spec.clone();
    spec.mould.sheet.walls = true;
    let kit = Kit::build(&spec).unwrap();
    let parts: Vec<&str> = kit
        .files
        .iter()
        .filter(|f| f.kind == Kind::MouldPart)
        .map(|f| f.path.as_str())
        .collect();
    assert_eq!(parts, ["floor-left.stl", "floor-right.stl"]);
    let text = |path: &str| {
        let file = kit.files.iter().find(|f| f.path == path).unwrap();
        String::from_utf8(file.bytes.clone()).unwrap()
    };
    let pattern = text("pattern.svg");
    let page = text("build-sheet.html");
    // Four walls to a box, and a backing plate to a half.
    assert_eq!(pattern.matches("#c00000").count(), 10);
    assert!(page.contains("inside the rim"));
    assert!(
        kit.manifest
            .notes
            .iter()
            .any(|n| n.contains("Only the floors"))
    );
}

#[test]
fn things_in_wrong_places_are_told_although_seats_are_insisted_on() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/reed-dart.toml");
    let text = fs::read_to_string(path).unwrap();
    assert!(text.contains("weights = true"));
    // Half out of the belly, and another within the first.
    let text = text.replace("height = -3.5", "height = -7.5").replace(
        "[[weight]]",
        "[[weight]]\ndiameter = 3\nat = 46\nheight = -7\n\n[[weight]]",
    );
    let spec = spec::read(&text, Format::Toml).unwrap().spec;
    let Err(KitError::Spec(problems)) = Kit::build(&spec) else {
        panic!("built");
    };
    let said = problems.to_string();
    for wanted in ["comes out of the body", "shares space with `weight[0]`"] {
        assert!(said.contains(wanted), "{said}");
    }
    assert!(!said.contains("mould.seats"), "{said}");
}

#[test]
fn a_plane_that_holds_alike_is_not_said_to_be_chosen() {
    for Example { kit, name, .. } in examples() {
        let [flank, waist] = [kit.manifest.opening.flank_mm, kit.manifest.opening.waist_mm];
        let chosen = kit
            .manifest
            .notes
            .iter()
            .find(|n| n.contains("chosen since"));
        if let Some(note) = chosen {
            let better = match kit.manifest.mould.parting {
                spec::Parting::Flank => flank < waist,
                spec::Parting::Waist => waist < flank,
            };
            assert!(better, "{name}: {flank} {waist}: {note}");
        }
    }
}

#[test]
fn the_hook_of_the_reed_dart_hangs_in_its_wire() {
    let unlinked = "does not hang in the wire's rear eye";
    let Example { spec, kit, .. } = example("reed-dart");
    let told = |kit: &Kit| kit.manifest.notes.iter().any(|n| n.contains(unlinked));
    assert!(!told(kit));
    let sink = kit.manifest.water.sink.as_ref().unwrap();
    for [least, middle, most] in [
        sink.speed_mm_s,
        sink.nose_down_degrees,
        sink.time_to_one_metre_s,
        sink.time_to_wanted_s.unwrap(),
    ] {
        assert!(least <= middle && middle <= most, "{least} {middle} {most}");
    }
    // The chart's row of the bait itself is what the manifest says.
    let sizes = &kit.manifest.water.sizes;
    let own = &sizes[sizes.len() / 2];
    for (a, b) in own.speed_mm_s.unwrap().into_iter().zip(sink.speed_mm_s) {
        assert!((a / b - 1.0).abs() < 1e-6, "{a} {b}");
    }
    let mut spec = spec.clone();
    spec.hook.as_mut().unwrap().at = baitwright::quantity::Length::mm(33.0);
    spec.mould.seats = Default::default();
    assert!(told(&Kit::build(&spec).unwrap()));
}

#[test]
fn a_band_holds_though_its_cases_sink_at_angles_far_apart() {
    // Heavy in the nose, a skirt behind: the case of least drag glides, and sinks slower than the middle one.
    let text = "[body]\nlength = 80\ntail = \"flat\"\noutline = [{ at = 10, diameter = 20, corner = true }, \
                { at = 60, diameter = 20, corner = true }, { at = 80, diameter = 10 }]\n\
                [wire]\nawg = 18\neye = 3\ntail_eye = 4\ntwists = 2\n\
                [[weight]]\nshape = \"cylinder\"\nmetal = \"tungsten\"\nmass = \"1/8 oz\"\nhole = 1.5\nat = 30\n\
                [[weight]]\nmetal = \"lead\"\ndiameter = 4\nat = 50\nheight = -6\n\
                [skirt]\nstrands = 40\nstrand_length = 60\nstrand_thickness = 1\n\
                [cast]\nadditives = [{ name = \"salt\", parts = 20 }, { name = \"glass-beads\", parts = 3 }]\n\
                [water]\nkind = \"sea\"\ntemperature = 20\n[mould]\nseats = { wire = false }\n";
    let spec = spec::read(text, Format::Toml).unwrap().spec;
    let kit = Kit::build(&spec).unwrap();
    let sink = kit.manifest.water.sink.as_ref().unwrap();
    for [least, middle, most] in [
        sink.speed_mm_s,
        sink.nose_down_degrees,
        sink.time_to_one_metre_s,
    ] {
        assert!(least <= middle && middle <= most, "{least} {middle} {most}");
    }
    assert!(sink.nose_down_degrees[2] - sink.nose_down_degrees[0] > 10.0);
    for size in &kit.manifest.water.sizes {
        let [least, middle, most] = size.speed_mm_s.unwrap();
        assert!(least <= middle && middle <= most, "{least} {middle} {most}");
    }
}

#[test]
fn likely_slips_are_told_with_the_kit() {
    let notes = |more: &str| {
        let text = format!(
            "mesh.tolerance = 0.1\nbody = {{ length = 90, width = 0.62, outline = [{{ at = 30, height = 19 }}, \
             {{ at = 62, height = 12 }}] }}\n{more}"
        );
        let spec = spec::read(&text, Format::Toml).unwrap().spec;
        Kit::build(&spec).unwrap().manifest.notes
    };
    let has = |more: &str, what: &str| notes(more).iter().any(|note| note.contains(what));
    // 24.0 without its point.
    let bare = "150 mm of it run bare behind the bait";
    assert!(has("wire = { diameter = 0.8, to = 240 }\n", bare));
    assert!(!has("wire = { diameter = 0.8, to = 110 }\n", "run bare"));
    let eye = |at: f64| {
        format!("eyes = [{{ kind = 'flat', at = {at}, angle = 90, diameter = 3, depth = 0.8 }}]\n")
    };
    assert!(has(&eye(2.4), "eyes[0] reaches into what is trimmed off"));
    assert!(!has(&eye(12.0), "trimmed off with the sprue: move"));
}

#[test]
fn no_piece_of_a_half_is_loose() {
    let refused = |more: &str| {
        let text = format!(
            "mesh.tolerance = 0.1\nbody = {{ length = 80, width = 0.35, outline = [{{ at = 7, height = 9 }}, \
             {{ at = 26, height = 15 }}, {{ at = 60, height = 6 }}] }}\n{more}"
        );
        match Kit::build(&spec::read(&text, Format::Toml).unwrap().spec) {
            Err(KitError::Spec(problems)) => Some(problems.0),
            Err(other) => panic!("{other}"),
            Ok(_) => None,
        }
    };
    // Deeper than to the plane, and just as deep.
    let pocket = |depth: f64, shape: &str| {
        format!("pocket = [{{ at = 30, angle = 90, {shape}, depth = {depth} }}]\n")
    };
    for route in ["block", "boxes"] {
        for shape in ["length = 12, width = 4", "diameter = 4"] {
            let flank = format!("mould = {{ parting = 'flank', route = '{route}' }}\n");
            let problems = refused(&(pocket(3.6, shape) + &flank)).unwrap();
            assert_eq!(problems[0].path, "pocket[0]", "{problems:?}");
            assert!(refused(&(pocket(1.5, shape) + &flank)).is_none());
        }
    }
}
