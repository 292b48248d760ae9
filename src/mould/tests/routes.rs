//! What is printed for silicone moulds, and what comes of it.

use super::*;
use crate::spec::Route;
use nalgebra::{Point3, Vector3};
use parry3d_f64::shape::TriMesh;

fn designs(route: Route) -> Vec<Design> {
    let mut designs = Vec::new();
    for parting in [Parting::Flank, Parting::Waist] {
        for end in [BodyEnd::Nose, BodyEnd::Tail] {
            let mut d = design();
            d.mould.route = route;
            d.mould.parting = parting;
            d.mould.sprue_end = end;
            d.mould.key_clearance = 0.0;
            designs.push(d);
        }
    }
    let mut d = with_collar();
    d.mould.route = route;
    d.mould.key_clearance = 0.0;
    designs.push(d);
    designs
}

fn made(design: &Design) -> (Mould, Mesh, Vec<Printed>) {
    let body = Body::from_design(design);
    let master = Master::build(design, &body).unwrap().mesh;
    let mould = Mould::around(design, &body, &master).unwrap();
    let parts = mould.parts(design, &body, &master).unwrap();
    (mould, master, parts)
}

pub(super) fn solid(mesh: &Mesh) -> Solid {
    Solid::try_from(mesh).unwrap()
}

/// What a tray holds when it is filled to the brim: all within its walls that is not tray.
pub(super) fn poured(tray: &Mesh, size: Vector3<f64>) -> Mesh {
    let outside = tray.bounds().unwrap();
    let wall = 0.5 * (outside.size() - size);
    let mut inside = outside;
    for k in 0..2 {
        inside.min[k] += wall[k];
        inside.max[k] -= wall[k];
    }
    solid(&inside.to_mesh())
        .difference(&solid(tray))
        .unwrap()
        .to_mesh()
}

/// By how much of itself what a floor holds within walls up to the brim is more than the half. The
/// face of the half is at most so deep below the brim.
pub(super) fn more_on_floor(floor: &Mesh, half: &Mesh, face: f64, size: Vector3<f64>) -> f64 {
    let top = floor.bounds().unwrap().max.z;
    // A floor's thickness lies under the lowest of a half, and of its face within the cavity.
    let brim = 4.0 + half.bounds().unwrap().size().z.max(face);
    let over = size.x * size.y * (brim - top);
    let mut within = size;
    within.z = floor.bounds().unwrap().size().z;
    (poured(floor, within).volume() + over) / half.volume() - 1.0
}

#[test]
fn silicone_from_the_boxes_closed_leaves_master_and_channels() {
    for d in designs(Route::Boxes) {
        let (mould, master, parts) = made(&d);
        let names: Vec<&str> = parts.iter().map(|p| p.name.as_str()).collect();
        let expected = match d.mould.parting {
            Parting::Flank => ["box-left", "box-right"],
            Parting::Waist => ["box-back", "box-belly"],
        };
        assert_eq!(names, expected);
        let mut silicone = 0.0;
        for (part, half) in parts.iter().zip([&mould.upper, &mould.lower]) {
            let [tray] = &part.pieces[..] else {
                panic!("{} in pieces", part.name)
            };
            tray.check().unwrap();
            let cast = poured(tray, mould.block.size());
            cast.check().unwrap();
            let off = cast.volume() / half.volume() - 1.0;
            assert!(off.abs() < 1e-9, "{}: {off}", part.name);
            silicone += cast.volume();
        }
        // Their own channels and the master, from the design and not from the halves.
        let mut open = solid(&master.mapped(&Mould::turn(d.mould.parting)));
        for channel in mould.channels.meshes(&mould.face, d.tolerance) {
            open = open.union(&solid(&channel)).unwrap();
        }
        let block: f64 = mould.block.size().iter().product();
        let left = block - silicone;
        assert!((left / open.volume() - 1.0).abs() < 1e-8, "{left}");
        assert!((silicone + open.volume() - block).abs() < 1e-9 * block);
    }
}

#[test]
fn both_silicones_laid_on_each_other_mate_and_leave_the_cavity() {
    let mut all = designs(Route::Boxes);
    // And one whose face steps aside for a pair of fins.
    let mut stepped = all.remove(2);
    stepped.fin = vec![FinDesign {
        at: 30.0,
        angle: 110.0,
        outline: FinOutline::Stations {
            root: 16.0,
            knots: vec![knot(8.0, 12.0)],
        },
        thickness: 2.0,
        rounding: 1.0,
        sweep: 0.0,
        cant: 0.0,
    }];
    stepped.mould.bed = [250.0, 250.0, 250.0];
    for (d, steps) in [(&all[0], false), (&all[1], false), (&stepped, true)] {
        let (mould, _, parts) = made(d);
        assert_eq!(mould.face.has_steps(), steps);
        let cast: Vec<Mesh> = parts
            .iter()
            .map(|part| poured(&part.pieces[0], mould.block.size()))
            .collect();
        // As they come out of their boxes, brim up; the second is turned over onto the first by
        // its own size alone, as they are laid on each other by their edges.
        let on_block = |mesh: Mesh, top: f64| {
            let to = mould.block.min - mesh.bounds().unwrap().min;
            let mesh = mesh.translated(&Vector3::new(to.x, to.y, 0.0));
            let up = top - mesh.bounds().unwrap().max.z;
            solid(&mesh.translated(&Vector3::new(0.0, 0.0, up)))
        };
        let upper = on_block(cast[0].clone(), mould.block.max.z);
        let turned = cast[1].clone().mapped(&AxisMap::HALF_TURN_X);
        let lower = on_block(
            turned.clone(),
            mould.block.min.z + turned.bounds().unwrap().size().z,
        );
        let block: f64 = mould.block.size().iter().product();
        let shared = upper.intersection(&lower).map_or(0.0, |both| both.volume());
        assert!(shared < 1e-9 * block, "{shared}");
        // Together they are the block but for the cavity: they mate all over the face.
        let together = upper.union(&lower).unwrap();
        let left = block - together.volume();
        let off = left / mould.cavity.volume() - 1.0;
        assert!(off.abs() < 1e-6, "{off}");
        let cavity = solid(&mould.cavity);
        let filled = together
            .intersection(&cavity)
            .map_or(0.0, |both| both.volume());
        assert!(filled < 1e-6 * mould.cavity.volume(), "{filled}");
    }
}

#[test]
fn the_silicones_touch_and_do_not_overlap() {
    let d = &designs(Route::Boxes)[0];
    let (mould, _, parts) = made(d);
    let cast = |i: usize| poured(&parts[i].pieces[0], mould.block.size());
    // Back to where they were: the tray stands on its floor, the parting face above it.
    let brim = parts[0].pieces[0].bounds().unwrap().max.z;
    let walls = 0.5 * (parts[0].pieces[0].bounds().unwrap().size() - mould.block.size());
    let to = Vector3::new(
        mould.block.min.x - walls.x,
        mould.block.min.y - walls.y,
        mould.block.max.z - brim,
    );
    let upper = cast(0).translated(&to);
    let bounds = upper.bounds().unwrap();
    assert!((bounds.min - Point3::new(mould.block.min.x, mould.block.min.y, 0.0)).norm() < 1e-9);
    let overlap = solid(&upper).intersection(&solid(&mould.lower));
    let shared = overlap.map_or(0.0, |s| s.volume());
    assert!(shared < 1e-6, "{shared}");
}

#[test]
fn the_board_holds_the_master_with_room_and_the_formers_complete_it() {
    for d in designs(Route::Board) {
        let (mould, master, parts) = made(&d);
        let names: Vec<&str> = parts.iter().map(|p| p.name.as_str()).collect();
        assert_eq!(names, ["board", "formers", "frame"]);
        for piece in parts.iter().flat_map(|p| &p.pieces) {
            piece.check().unwrap();
        }
        let master = master.mapped(&Mould::turn(d.mould.parting));
        // Formers are the channels less the master, so with it they are the cavity.
        let formers = parts[1].pieces[0].volume();
        let off = (formers + master.volume()) / mould.cavity.volume() - 1.0;
        assert!(off.abs() < 1e-9, "{off}");
        // The frame takes both halves, to the brim.
        let frame = &parts[2].pieces[0];
        let outside = frame.bounds().unwrap();
        assert!((outside.size().z - mould.block.size().z).abs() < 1e-9);
        let hole: f64 = outside.size().iter().product::<f64>() - frame.volume();
        let block: f64 = mould.block.size().iter().product();
        assert!((hole / block - 1.0).abs() < 1e-9);

        // How far the master lies from the board, by another library's distance queries: nowhere
        // closer than the clearance less what facets stray, and on flat flanks exactly it.
        let board = parts[0].pieces[0].clone();
        let top = board.bounds().unwrap().max.z - d.mould.key_height;
        let at = board.bounds().unwrap();
        let mid = at.centre() - mould.block.centre();
        let board = board.translated(&Vector3::new(-mid.x, -mid.y, -top));
        let trimesh = TriMesh::new(
            board
                .points
                .iter()
                .map(|p| [p.x, p.y, p.z].into())
                .collect(),
            board.triangles.clone(),
        )
        .unwrap();
        use parry3d_f64::query::PointQuery;
        let clearance = d.mould.board_clearance;
        let near = |p: &Point3<f64>| trimesh.distance_to_local_point([p.x, p.y, p.z].into(), false);
        let below: Vec<f64> = master
            .points
            .iter()
            .filter(|p| p.z < -0.5)
            .map(near)
            .collect();
        assert!(!below.is_empty());
        // Inside a channel's trough it is farther.
        let least = below.iter().copied().fold(f64::INFINITY, f64::min);
        assert!(least > 0.93 * clearance, "{least}");
        let close = below.iter().filter(|d| **d < 1.07 * clearance).count();
        assert!(close * 10 > below.len() * 7, "{close} of {}", below.len());
    }
}

#[test]
fn a_trough_is_wider_by_its_clearance() {
    use crate::mesh::shapes::{cuboid, sphere};
    // A ball becomes a larger ball, to its facets.
    let ball = sphere(10.0, 40, 80);
    let roomy = super::super::board::roomier(&ball, 0.3).unwrap();
    for p in &roomy.points {
        let r = p.coords.norm();
        assert!((r - 10.3).abs() < 0.002, "{r}");
    }
    // A box becomes a box, edges and all.
    let roomy =
        super::super::board::roomier(&cuboid([0.0, -3.0, 1.0], [5.0, 3.0, 8.0]), 0.5).unwrap();
    let b = roomy.bounds().unwrap();
    assert!(
        (b.size() - Vector3::new(6.0, 7.0, 8.0)).norm() < 0.01,
        "{b:?}"
    );
}

#[test]
fn no_room_round_a_hollow_is_named() {
    let mut d = designs(Route::Board).remove(4);
    // Half the gap between two cylinders of the collar.
    d.collar[1].radius = 7.0;
    d.collar.push(crate::spec::CollarDesign {
        length: 2.0,
        radius: 3.0,
    });
    d.collar.push(crate::spec::CollarDesign {
        length: 5.0,
        radius: 7.0,
    });
    d.mould.board_clearance = 1.2;
    let body = Body::from_design(&d);
    let master = Master::build(&d, &body).unwrap().mesh;
    let mould = Mould::around(&d, &body, &master).unwrap();
    match mould.parts(&d, &body, &master) {
        Err(MouldError::Spec(problems)) => {
            assert_eq!(problems.0[0].path, "mould.board.clearance");
            let limit = problems.0[0].limit.clone().unwrap();
            let fits: f64 = limit.split(' ').nth(2).unwrap().parse().unwrap();
            d.mould.board_clearance = fits;
            mould.parts(&d, &body, &master).unwrap();
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_small_bed_gets_pieces_and_a_low_one_an_answer() {
    for route in [Route::Block, Route::Boxes, Route::Board] {
        let mut d = designs(route).remove(0);
        d.mould.bed = [80.0, 80.0, 100.0];
        let (_, _, parts) = made(&d);
        for part in &parts {
            if part.name != "formers" {
                assert!(part.pieces.len() > 1, "{}", part.name);
            }
            for piece in &part.pieces {
                piece.check().unwrap();
                let size = piece.bounds().unwrap().size();
                assert!(size.x <= 80.0 && size.y <= 80.0, "{} {size}", part.name);
            }
        }
        d.mould.bed = [220.0, 220.0, 10.0];
        let body = Body::from_design(&d);
        let master = Master::build(&d, &body).unwrap().mesh;
        let mould = Mould::around(&d, &body, &master).unwrap();
        match mould.parts(&d, &body, &master) {
            Err(MouldError::Spec(problems)) => assert_eq!(problems.0[0].path, "mould.bed[2]"),
            other => panic!("{other:?}"),
        }
    }
}

/// Found by random bodies: where many cuts meet on a board, a needle could be mended only after
/// its neighbours had been.
#[test]
fn boards_whose_needles_wait_for_their_neighbours() {
    let stepped = r#"
[body]
length = 52.679779081321456
nose = "round"
tail = "pointed"
section = 2.5
outline = [
 { at = 18.083892376159312, back = 3.498236037523303, belly = 3.738421413168448 },
 { at = 33.616457770837414, back = 5.4496335991853355, belly = 5.823799973068851 },
 { at = 42.679779081321456, back = 2.0, belly = 2.1373179928791726 },
 { at = 46.679779081321456, back = 13.659194486161182, belly = 14.597021071754138, corner = true, step_to = 16.9539089447 },
]
width = [
 { at = 18.083892376159312, width = 6.1274457962 },
 { at = 33.616457770837414, width = 9.545537815099250 },
 { at = 42.679779081321456, width = 3.503163154501323 },
 { at = 46.679779081321456, width = 23.925193422043744, corner = true, step_to = 14.355116053226244 },
]
[mould]
route = "board"
parting = "waist"
keys = { clearance = 0 }
sprue = { end = "tail" }
vents = { count = 1 }
"#;
    let lean = r#"
[body]
length = 62.18784935646079
nose = "round"
tail = "pointed"
section = 1.6
outline = [
 { at = 14.104935790355603, back = 7.778136359117978, belly = 3.889068179558989 },
 { at = 28.537017720313592, back = 13.679142810297702, belly = 6.839571405148851 },
 { at = 37.874897796405385, back = 12.506071187368805, belly = 6.253035593684403 },
 { at = 56.18784935646079, back = 13.221928048325477, belly = 6.6109640241627385 },
]
width = [
 { at = 14.104935790355603, width = 4.666881815470787 },
 { at = 28.537017720313592, width = 8.20748568617862 },
 { at = 37.874897796405385, width = 7.503642712421129 },
 { at = 56.18784935646079, width = 7.933156828995286 },
]
[mould]
route = "board"
parting = "waist"
keys = { clearance = 0 }
"#;
    for text in [stepped, lean] {
        let design = crate::spec::design(text, crate::spec::Format::Toml).unwrap();
        let body = Body::from_design(&design);
        let master = Master::build(&design, &body).unwrap();
        let mould = Mould::around(&design, &body, &master.mesh).unwrap();
        let parts = mould.parts(&design, &body, &master.mesh).unwrap();
        assert_eq!(parts.len(), 3);
        for mesh in parts.iter().flat_map(|part| &part.pieces) {
            mesh.check().unwrap();
        }
    }
}
