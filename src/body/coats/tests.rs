use super::*;
use crate::body::{Body, Master};
use crate::mesh::shapes::cuboid;
use crate::spec::{self, Format};

/// ½ Σ length × angle of the edges, angles of hollow ones negative: the mean curvature M of
/// Steiner's formula, by which a surface moved inward by t takes A t − M t² from the volume, to
/// second order (J. Steiner, "Über parallele Flächen", 1840).
fn curvature(mesh: &Mesh) -> f64 {
    let mut edges = std::collections::BTreeMap::new();
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t);
        let normal = (b - a).cross(&(c - a)).normalize();
        for k in 0..3 {
            let t = mesh.triangles[t];
            edges.insert((t[k], t[(k + 1) % 3]), normal);
        }
    }
    let mut sum = 0.0;
    for (&(i, j), normal) in edges.iter().filter(|((i, j), _)| i < j) {
        let along = mesh.points[j as usize] - mesh.points[i as usize];
        let other = edges[&(j, i)];
        let cross = normal.cross(&other);
        let angle = libm::atan2(cross.dot(&along) / along.norm(), normal.dot(&other));
        sum += 0.5 * along.norm() * angle;
    }
    sum
}

#[test]
fn every_bundled_bait_takes_ordinary_coats() {
    let mut tried = 0;
    let mut paths: Vec<_> = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/examples"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    paths.sort();
    for path in paths {
        let text = std::fs::read_to_string(&path).unwrap();
        let Ok(design) = spec::design(&text, Format::Toml) else {
            continue;
        };
        let bait = Master::build(&design, &Body::from_design(&design))
            .unwrap()
            .mesh;
        let (area, volume, bend) = (bait.area(), bait.volume(), curvature(&bait));
        for thickness in [0.005, 0.06, 0.1, 0.3] {
            let bare = bare(&bait, thickness, design.tolerance)
                .unwrap_or_else(|| panic!("{} {thickness}", path.display()));
            bare.mesh.check().unwrap();
            let taken = volume - bare.mesh.volume();
            let wanted = area * thickness - bend * thickness * thickness;
            let most = bare.off.iter().map(|o| o.1.abs()).fold(0.0, f64::max);
            // Third order, and what facets of a few tenths make of second.
            let bound = if thickness > 0.1 { 0.02 } else { 0.006 };
            let share = taken / wanted;
            assert!(
                (share - 1.0).abs() < bound,
                "{} {thickness}: {share}",
                path.display()
            );
            // Ordinary coats come off to little more than the tolerance everywhere, thick ones
            // but for a few corners.
            let corners = if thickness > 0.1 { 20 } else { 1 };
            assert!(
                bare.off.len() <= corners,
                "{} {thickness} {:?}",
                path.display(),
                bare.off
            );
            assert!(most <= thickness.max(design.tolerance + 0.01) + 1e-9);
        }
        tried += 1;
    }
    assert!(tried > 10);
}

#[test]
fn a_block_keeps_its_corners_and_a_thin_one_its_sides() {
    let block = cuboid([0.0, 1.0, 0.0], [10.0, 7.0, 4.0]);
    let moved = bare(&block, 0.3, 0.0).unwrap();
    let wanted = cuboid([0.3, 1.3, 0.3], [9.7, 6.7, 3.7]);
    for (p, q) in moved.mesh.points.iter().zip(&wanted.points) {
        assert!((p - q).norm() < 1e-12, "{p} {q}");
    }
    assert!(moved.off.is_empty());
    // Thinner than two coats: sound all the same, and it is said where.
    let leaf = cuboid([0.0, 1.0, 0.0], [10.0, 7.0, 0.5]);
    let moved = bare(&leaf, 0.3, 0.05).unwrap();
    moved.mesh.check().unwrap();
    assert!(moved.mesh.volume() > 0.0);
    assert!(!moved.off.is_empty());
}

#[test]
fn a_fin_thinner_than_its_coats_is_refused_with_those_that_do() {
    use crate::kit::{Kit, KitError};
    let kit = |coat: f64| {
        let text = format!(
            "body = {{ length = 60, outline = [{{ at = 20, height = 14 }}, {{ at = 45, height = 8 }}] }}\n\
             fin = [{{ at = 20, root = 16, thickness = 0.6, outline = [{{ at = 7, height = 6 }}] }}]\n\
             mesh.tolerance = 0.1\nmaterial.coats = [{{ thickness = {coat} }}]\n"
        );
        Kit::build(&spec::read(&text, Format::Toml).unwrap().spec)
    };
    let Err(KitError::Spec(problems)) = kit(0.3) else {
        panic!("a fin of 0.6 mm under two coats of 0.3 mm");
    };
    let problem = &problems.0[0];
    assert_eq!(problem.path, "material.coats");
    assert!(problem.what.contains("fin[0]"), "{problem}");
    assert_eq!(problem.limit.as_deref(), Some("up to 0.25 mm in all"));
    assert!(kit(0.25).is_ok());
}
