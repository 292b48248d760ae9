use super::*;
use crate::mesh::Solid;
use crate::mesh::shapes::{cuboid, sphere};
use nalgebra::Vector3;
use proptest::prelude::*;

fn moved(mesh: Mesh, x: f64, y: f64, z: f64) -> Mesh {
    mesh.translated(&Vector3::new(x, y, z))
}

fn united(meshes: &[Mesh]) -> Mesh {
    let mut solid = Solid::try_from(&meshes[0]).unwrap();
    for mesh in &meshes[1..] {
        solid = solid.union(&Solid::try_from(mesh).unwrap()).unwrap();
    }
    solid.to_mesh()
}

#[test]
fn a_ball_sunk_below_the_plane_is_held_by_what_pythagoras_says() {
    let r = 8.0;
    for sunk in [2.0f64, 3.0, 5.0, 7.0] {
        for up in [-1.0, 1.0] {
            let ball = moved(sphere(r, 200, 256), 3.0, -2.0, up * sunk);
            let all = Undercuts::of(&ball, 0.01);
            assert_eq!(all.found.len(), 1, "{sunk}");
            let found = &all.found[0];
            let half = if up > 0.0 { Half::Upper } else { Half::Lower };
            assert_eq!(found.half, half);
            // By hand: the ball is r wide, its opening in the plane √(r² − d²).
            let open = (r * r - sunk * sunk).sqrt();
            assert!((found.depth - (r - open)).abs() < 1.5 * all.spacing);
            assert!((found.across - 2.0 * r).abs() < 3.0 * all.spacing);
            assert!((found.squeeze() - (r - open) / r).abs() < 0.02);
            assert!((found.stretch() - (r - open) / open).abs() < 0.05);
            // The zone of a sphere: 2π r times its height (Archimedes).
            let zone = 2.0 * std::f64::consts::PI * r * sunk;
            assert!(
                (found.area / zone - 1.0).abs() < 0.02,
                "{}",
                found.area / zone
            );
            assert!(!found.borne_by(Material::Rigid));
            let stretch = (r - open) / open;
            assert_eq!(
                found.borne_by(Material::Silicone),
                stretch < SILICONE_STRETCH
            );
        }
    }
}

#[test]
fn what_lies_to_its_middle_is_free() {
    for mesh in [
        sphere(8.0, 40, 64),
        cuboid([-5.0, -3.0, -2.0], [5.0, 3.0, 7.0]),
    ] {
        assert_eq!(Undercuts::of(&mesh, 0.01), Undercuts::default());
    }
}

#[test]
fn a_ledge_is_as_deep_as_it_overhangs_and_a_bore_across_is_half_its_length() {
    // A stem of 4 mm carries a head that overhangs by 3 mm to one side, 1 mm to the other.
    let stem = cuboid([-2.0, -20.0, -5.0], [2.0, 20.0, 6.0]);
    let head = cuboid([-3.0, -20.0, 5.0], [5.0, 20.0, 9.0]);
    let all = Undercuts::of(&united(&[stem, head]), 0.01);
    let depths: Vec<f64> = all.found.iter().map(|u| u.depth).collect();
    assert_eq!(depths.len(), 2);
    assert!(
        (depths[0] - 3.0).abs() < 0.15 && (depths[1] - 1.0).abs() < 0.15,
        "{depths:?}"
    );
    assert!((all.found[0].across - 8.0).abs() < 0.2);

    // A hole of 2 mm square through a bar 6 mm wide: its middle is 3 mm from either side, and
    // 1 mm of mould stands under more than that.
    let bar = Solid::try_from(&cuboid([-30.0, -3.0, -5.0], [30.0, 3.0, 8.0])).unwrap();
    let hole = Solid::try_from(&cuboid([-1.0, -9.0, 3.0], [1.0, 9.0, 5.0])).unwrap();
    let drilled = bar.difference(&hole).unwrap().to_mesh();
    let all = Undercuts::of(&drilled, 0.01);
    assert_eq!(all.found.len(), 1);
    assert!((all.found[0].depth - 3.0).abs() < 0.15);
}

#[test]
fn a_plate_behind_a_bait_is_as_wide_as_the_plate() {
    // A bar along the body, a neck, and a plate of 6 by 14 mm that stands over the mould; the way
    // out over the plate's end has the whole bar behind it.
    let bar = cuboid([-80.0, -4.0, -5.0], [-20.0, 4.0, 6.0]);
    let neck = cuboid([-21.0, -1.5, 4.0], [-2.0, 1.5, 6.0]);
    let plate = cuboid([-3.0, -7.0, 4.0], [3.0, 7.0, 6.0]);
    for up in [true, false] {
        let mut mesh = united(&[bar.clone(), neck.clone(), plate.clone()]);
        if !up {
            mesh = mesh.mapped(&AxisMap::MIRROR_Z);
        }
        let all = Undercuts::of(&mesh, 0.01);
        assert_eq!(all.found.len(), 1);
        let found = &all.found[0];
        // By hand: the middle of the plate is half its length from its end.
        assert!(found.depth > 2.9 && found.depth < 3.6, "{}", found.depth);
        assert!(
            found.across > 6.0 && found.across < 15.0,
            "{}",
            found.across
        );
        assert!(!found.borne_by(Material::Silicone));
    }
}

#[test]
fn of_pieces_over_each_other_the_one_that_holds_is_named() {
    let stem = cuboid([-1.0, -20.0, -5.0], [1.0, 20.0, 6.5]);
    let plate = |half: f64, z: f64| cuboid([-half, -20.0, z], [half, 20.0, z + 1.0]);
    // A wide plate over a narrow one holds what lies under both.
    let all = Undercuts::of(
        &united(&[stem.clone(), plate(2.0, 2.0), plate(6.0, 6.0)]),
        0.01,
    );
    assert_eq!(all.found.len(), 4);
    for found in &all.found {
        assert!((found.depth - 5.0).abs() < 0.15, "{}", found.depth);
        assert!((found.at.z - 6.0).abs() < 1e-6, "{}", found.at);
    }
    // Under a wide one a narrow one over it has no part in it.
    let all = Undercuts::of(&united(&[stem, plate(6.0, 2.0), plate(2.0, 6.0)]), 0.01);
    let told: Vec<[f64; 2]> = all.found.iter().map(|u| [u.depth, u.at.z]).collect();
    for (told, wanted) in told
        .iter()
        .zip([[5.0, 2.0], [5.0, 2.0], [1.0, 6.0], [1.0, 6.0]])
    {
        assert!((told[0] - wanted[0]).abs() < 0.15, "{told:?}");
        assert!((told[1] - wanted[1]).abs() < 1e-6, "{told:?}");
    }
}

#[test]
fn the_plane_with_the_shallower_undercut_is_proposed_and_a_tie_goes_to_the_flank() {
    let body = sphere(6.0, 40, 64);
    assert_eq!(
        Proposal::of(&body, &PartingFace::default(), 0.01).parting,
        Parting::Flank
    );
    // A knob on a stalk at each side, in the level plane.
    let stalk = cuboid([-1.0, -12.0, -1.0], [1.0, 12.0, 1.0]);
    let knob = |y: f64| moved(sphere(2.5, 40, 48), 0.0, y, 0.0);
    let knobs = united(&[body, stalk, knob(-12.0), knob(12.0)]);
    let proposal = Proposal::of(&knobs, &PartingFace::default(), 0.01);
    assert_eq!(proposal.parting, Parting::Waist);
    assert_eq!(proposal.waist.found, []);
    assert_eq!(proposal.flank.found.len(), 2);
    // The knob over its stalk, at the stalk's side: 2.5 − 1 mm.
    assert!(
        (proposal.flank.depth() - 1.5).abs() < 0.15,
        "{}",
        proposal.flank.depth()
    );
}

/// Heights at which an upright line passes through a mesh: every facet is tried.
fn ray(mesh: &Mesh, x: f64, y: f64) -> Vec<f64> {
    let mut heights: Vec<f64> = (0..mesh.triangles.len())
        .filter_map(|t| {
            let [a, b, c] = mesh.corners(t);
            let turn = |p: &Point3<f64>, q: &Point3<f64>| {
                (q.x - p.x) * (y - p.y) - (q.y - p.y) * (x - p.x)
            };
            let (u, v, w) = (turn(&b, &c), turn(&c, &a), turn(&a, &b));
            let within = u > 0.0 && v > 0.0 && w > 0.0 || u < 0.0 && v < 0.0 && w < 0.0;
            within.then(|| (u * a.z + v * b.z + w * c.z) / (u + v + w))
        })
        .collect();
    heights.sort_by(f64::total_cmp);
    heights
}

/// How far a place must be moved sideways until nothing stands over it.
fn distance_by_rays(mesh: &Mesh, at: [f64; 2], foot: f64, most: f64) -> f64 {
    let free = |x: f64, y: f64| ray(mesh, x, y).last().is_none_or(|&z| z <= foot + 1e-9);
    let step = 0.05;
    let mut out = 0.0;
    while out < most {
        out += step;
        // Finely: the free place may be the tip of a wedge between two shadows.
        for k in 0..240 {
            let turn = std::f64::consts::TAU * f64::from(k) / 240.0;
            if free(at[0] + out * libm::cos(turn), at[1] + out * libm::sin(turn)) {
                return out;
            }
        }
    }
    out
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn agrees_with_rays_for_any_body(
        balls in prop::collection::vec(
            (-6.0f64..6.0, -6.0f64..6.0, -3.0f64..5.0, 2.0f64..5.0), 2..5),
        picks in prop::collection::vec(any::<prop::sample::Index>(), 12),
    ) {
        let meshes: Vec<Mesh> = balls
            .iter()
            .map(|&(x, y, z, r)| moved(sphere(r, 14, 18), x, y, z))
            .collect();
        let mesh = united(&meshes);
        let all = Undercuts::of(&mesh, 0.01);
        let upper: Vec<&Undercut> = all.found.iter().filter(|u| u.half == Half::Upper).collect();
        let deepest = upper.iter().map(|u| u.depth).fold(0.0, f64::max);
        let slack = 2.0 * all.spacing + 0.07;
        // The deepest place is as deep as rays find it.
        for found in &upper {
            let (x, y) = (found.at.x, found.at.y);
            let heights = ray(&mesh, x, y);
            // The piece under it, or, where what holds that stands over others, one farther down.
            let below = heights.iter().copied().filter(|&z| z > 0.0 && z < found.at.z - 1e-6);
            let feet: Vec<f64> = below.chain([0.0]).collect();
            let rays = feet.iter().map(|&foot| distance_by_rays(&mesh, [x, y], foot, 20.0));
            let rays: Vec<f64> = rays.collect();
            let near = |rays: &f64| (rays - found.depth).abs() < slack;
            prop_assert!(rays.iter().any(near), "{rays:?} {}", found.depth);
        }
        // And no facet with mould in the way beside it has it farther to go.
        for pick in picks {
            let t = pick.index(mesh.triangles.len());
            let [a, b, c] = mesh.corners(t);
            let centre = Point3::from((a.coords + b.coords + c.coords) / 3.0);
            let normal = (b - a).cross(&(c - a)).normalize();
            let beside = centre + 1e-4 * normal;
            if beside.z <= 0.0 {
                continue;
            }
            let heights = ray(&mesh, beside.x, beside.y);
            let blocked = heights.iter().any(|&z| z > beside.z);
            if normal.z < -0.01 {
                prop_assert!(blocked);
            }
            if blocked {
                let below = heights.iter().rev().find(|&&z| z < beside.z);
                let foot = below.map_or(0.0, |z| z.max(0.0));
                let rays = distance_by_rays(&mesh, [beside.x, beside.y], foot, 20.0);
                let noise = LEAST_DEPTH.max(slack);
                prop_assert!(rays <= deepest.max(noise) + slack, "{rays} {deepest}");
            }
        }
        // Mirrored in the plane, the halves change places.
        let mirrored = Undercuts::of(&mesh.clone().mapped(&AxisMap::MIRROR_Z), 0.01);
        let lower = |all: &Undercuts, half| {
            all.found.iter().filter(|u| u.half == half).map(|u| u.depth).fold(0.0, f64::max)
        };
        prop_assert_eq!(lower(&mirrored, Half::Lower), lower(&all, Half::Upper));
    }
}
