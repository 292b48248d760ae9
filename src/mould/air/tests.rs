use super::*;
use crate::mesh::Solid;
use crate::mesh::shapes::{cuboid, sphere};
use nalgebra::Vector3;
use proptest::prelude::*;
use std::collections::BTreeSet;

/// A block whose lid, at x = −30, is where the cavities here are open.
fn block() -> Bounds {
    Bounds {
        min: Point3::new(-30.0, -40.0, -40.0),
        max: Point3::new(40.0, 40.0, 40.0),
    }
}

fn solid(mesh: &Mesh) -> Solid {
    Solid::try_from(mesh).unwrap()
}

/// A box with a chimney to the lid.
fn room() -> Solid {
    let chimney = solid(&cuboid([-30.0, -1.0, -1.0], [1.0, 1.0, 1.0]));
    let room = solid(&cuboid([0.0, -20.0, -10.0], [20.0, 20.0, 10.0]));
    room.union(&chimney).unwrap()
}

#[test]
fn a_room_with_a_chimney_breathes_and_its_shaft_does_not() {
    assert_eq!(traps(&room().to_mesh(), &block(), BodyEnd::Nose, 0.3), []);
    // A shaft of 2 by 3 mm stands 7 mm over the ceiling.
    let shaft = solid(&cuboid([-7.0, 10.0, -1.5], [1.0, 12.0, 1.5]));
    let cavity = room().union(&shaft).unwrap().to_mesh();
    let found = traps(&cavity, &block(), BodyEnd::Nose, 0.3);
    assert_eq!(found.len(), 1);
    assert!((found[0].height - 7.0).abs() < 1e-12);
    assert!((found[0].volume - 42.0).abs() < 1e-9);
    assert_eq!(found[0].in_plane.unwrap()[0], -7.0);
    // The other way up the shaft is low, and everything else is high.
    let found = traps(&cavity, &block(), BodyEnd::Tail, 0.3);
    assert_eq!(found.len(), 1);
    assert!((found[0].height - 50.0).abs() < 1e-12);
    assert!((found[0].volume - cavity.volume()).abs() < 1e-9 * cavity.volume());
}

#[test]
fn a_dome_beside_the_chimney_holds_its_cap() {
    // A ball of 6 mm whose middle is 2 mm under the ceiling stands 4 mm above it; a cap of a
    // sphere is π h² (3 r − h) / 3.
    let ball = sphere(6.0, 120, 160).translated(&Vector3::new(2.0, 12.0, 0.0));
    let cavity = room().union(&solid(&ball)).unwrap().to_mesh();
    for mirrored in [false, true] {
        let (cavity, up, outside) = if mirrored {
            let turned = cavity.clone().mapped(&AxisMap::MIRROR_X);
            let (mut outside, block) = (block(), block());
            (outside.min.x, outside.max.x) = (-block.max.x, -block.min.x);
            (turned, BodyEnd::Tail, outside)
        } else {
            (cavity.clone(), BodyEnd::Nose, block())
        };
        let found = traps(&cavity, &outside, up, 0.3);
        assert_eq!(found.len(), 1);
        assert!((found[0].height - 4.0).abs() < 0.01);
        let cap = std::f64::consts::PI * 16.0 * (18.0 - 4.0) / 3.0;
        assert!((found[0].volume / cap - 1.0).abs() < 2e-3);
        assert!((found[0].in_plane.unwrap()[1] - 12.0).abs() < 0.3);
    }
}

#[test]
fn a_trap_within_a_trap_is_told_apart_and_nothing_is_counted_twice() {
    // A hood 10 mm high that has two horns, 5 and 3 mm above it.
    let hood = solid(&cuboid([-10.0, 8.0, -5.0], [1.0, 18.0, 5.0]));
    let tall = solid(&cuboid([-15.0, 9.0, -1.0], [-9.0, 11.0, 1.0]));
    let short = solid(&cuboid([-13.0, 15.0, -1.0], [-9.0, 17.0, 1.0]));
    let mut cavity = room();
    for part in [hood, tall, short] {
        cavity = cavity.union(&part).unwrap();
    }
    let found = traps(&cavity.to_mesh(), &block(), BodyEnd::Nose, 0.3);
    let told: Vec<[f64; 2]> = found.iter().map(|t| [t.height, t.volume]).collect();
    assert_eq!(told.len(), 2);
    for (told, expected) in told.iter().zip([[15.0, 1020.0], [3.0, 12.0]]) {
        assert!((told[0] - expected[0]).abs() < 1e-9 && (told[1] - expected[1]).abs() < 1e-6);
    }
}

#[test]
fn a_part_that_joins_its_outlet_inside_only_is_no_trap() {
    // A lump of mould hangs free in the room (no mould could, but a core may): its surface is
    // another shell, and only the air between joins the two.
    let lump = sphere(4.0, 24, 32).translated(&Vector3::new(8.0, 10.0, 0.0));
    let hollow = room().difference(&solid(&lump)).unwrap().to_mesh();
    assert_eq!(hollow.shells().len(), 2);
    assert_eq!(traps(&hollow, &block(), BodyEnd::Nose, 0.3), []);
    // Under a shaft it takes its share of what is held.
    let shaft = solid(&cuboid([-20.0, 5.0, -5.0], [1.0, 15.0, 5.0]));
    let lump = sphere(4.0, 24, 32).translated(&Vector3::new(-10.0, 10.0, 0.0));
    let less = solid(&lump).volume();
    let cavity = room()
        .union(&shaft)
        .unwrap()
        .difference(&solid(&lump))
        .unwrap();
    let found = traps(&cavity.to_mesh(), &block(), BodyEnd::Nose, 0.3);
    assert_eq!(found.len(), 1);
    assert!((found[0].volume - (2000.0 - less)).abs() < 1e-6);
}

#[test]
fn what_has_no_outlet_holds_everything() {
    let ball = sphere(5.0, 24, 32);
    let found = traps(&ball, &block(), BodyEnd::Nose, 0.3);
    assert_eq!(found.len(), 1);
    assert!((found[0].volume / ball.volume() - 1.0).abs() < 1e-9);
}

/// Volume of the voxels from which air finds no way out that never dips below where it is: by
/// level from the top, flooding down from the outlets and then within each layer and those above.
fn held_by_flood(cavity: &Mesh, outside: &Bounds, pitch: f64) -> f64 {
    let bounds = cavity.bounds().unwrap();
    let count = |k: usize| (bounds.size()[k] / pitch).ceil() as usize + 1;
    let [nx, ny, nz] = [count(0), count(1), count(2)];
    let sliced = crate::mesh::slice::Sliced::new(cavity.clone());
    // Off the middle, so that voxels do not lie in faces.
    let place = |k: usize, i: usize| bounds.min[k] + (i as f64 + 0.37) * pitch;
    let index = |i: usize, j: usize, k: usize| (i * ny + j) * nz + k;
    let mut inside = vec![false; nx * ny * nz];
    for i in 0..nx {
        let section = sliced.section(place(0, i));
        for k in 0..nz {
            // The crossings of a row, by parity.
            let z = place(2, k);
            let mut crossed: Vec<f64> = Vec::new();
            for points in &section.loops {
                for n in 0..points.len() {
                    let (a, b) = (points[n], points[(n + 1) % points.len()]);
                    if (a[1] > z) != (b[1] > z) {
                        crossed.push(a[0] + (z - a[1]) / (b[1] - a[1]) * (b[0] - a[0]));
                    }
                }
            }
            for j in 0..ny {
                let y = place(1, j);
                inside[index(i, j, k)] = crossed.iter().filter(|&&c| c > y).count() % 2 == 1;
            }
        }
    }
    // Flood level by level: once a voxel is free at a level it stays so at all lower ones.
    let mut free = vec![false; inside.len()];
    let mut held = 0usize;
    for level in 0..nx {
        let mut queue: Vec<[usize; 3]> = Vec::new();
        for j in 0..ny {
            for k in 0..nz {
                let at = index(level, j, k);
                let from_above = level > 0 && free[index(level - 1, j, k)];
                let out = level == 0 && bounds.min.x <= outside.min.x;
                if inside[at] && (from_above || out) {
                    free[at] = true;
                    queue.push([level, j, k]);
                }
            }
        }
        // Spreading may climb into voxels that were held at a higher level.
        let mut climbed: BTreeSet<usize> = BTreeSet::new();
        while let Some([i, j, k]) = queue.pop() {
            let mut next = Vec::new();
            if i > 0 {
                next.push([i - 1, j, k]);
            }
            if i < level {
                next.push([i + 1, j, k]);
            }
            if j > 0 {
                next.push([i, j - 1, k]);
            }
            if j + 1 < ny {
                next.push([i, j + 1, k]);
            }
            if k > 0 {
                next.push([i, j, k - 1]);
            }
            if k + 1 < nz {
                next.push([i, j, k + 1]);
            }
            for [i, j, k] in next {
                let at = index(i, j, k);
                if inside[at] && !free[at] {
                    free[at] = true;
                    if i < level {
                        climbed.insert(at);
                    }
                    queue.push([i, j, k]);
                }
            }
        }
        held += climbed.len();
    }
    held += (0..inside.len()).filter(|&i| inside[i] && !free[i]).count();
    held as f64 * pitch * pitch * pitch
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]
    #[test]
    fn agrees_with_a_flood_of_voxels_for_any_body(
        balls in prop::collection::vec(
            (-8.0f64..18.0, -15.0f64..15.0, -8.0f64..8.0, 2.0f64..6.0), 2..7),
        holes in prop::collection::vec(
            (2.0f64..18.0, -15.0f64..15.0, -8.0f64..8.0, 2.0f64..6.0), 0..3),
    ) {
        let ball = |&(x, y, z, r): &(f64, f64, f64, f64)| {
            solid(&sphere(r, 12, 16).translated(&Vector3::new(x, y, z)))
        };
        let mut cavity = room();
        for part in &balls {
            cavity = cavity.union(&ball(part)).unwrap();
        }
        for part in &holes {
            cavity = cavity.difference(&ball(part)).unwrap();
        }
        let chimney = solid(&cuboid([-30.0, -1.0, -1.0], [10.0, 1.0, 1.0]));
        let cavity = cavity.union(&chimney).unwrap().to_mesh();
        let pitch = 0.4;
        let flood = held_by_flood(&cavity, &block(), pitch);
        let found = traps(&cavity, &block(), BodyEnd::Nose, 0.0);
        let total: f64 = found.iter().map(|t| t.volume).sum();
        // Voxels miss by a share of those on the walls and on the level of the outlet.
        let walls: f64 = found
            .iter()
            .flat_map(|t| &t.facets)
            .map(|&t| {
                let [a, b, c] = cavity.corners(t as usize);
                0.5 * (b - a).cross(&(c - a)).norm()
            })
            .sum();
        let slack = 0.5 * pitch * walls + 0.02 * total + 1.0;
        prop_assert!((total - flood).abs() < slack, "{total} {flood} {slack}");
        // Heights that count are the only difference a threshold makes.
        let high = traps(&cavity, &block(), BodyEnd::Nose, 1.0);
        prop_assert_eq!(high.len(), found.iter().filter(|t| t.height >= 1.0).count());
    }
}
