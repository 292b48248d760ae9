use super::*;
use crate::export;
use crate::export::tests::{cuboid, ellipsoid};
use nalgebra::Point3;

const WARM: [u8; 3] = [214, 150, 110];
const CAMERAS: [Camera; 4] = [
    Camera::SIDE,
    Camera::TOP,
    Camera::NOSE_ON,
    Camera::THREE_QUARTER,
];

fn part(mesh: &Mesh) -> Part<'_> {
    Part { mesh, colour: WARM }
}

fn size(width: u32, height: u32) -> Size {
    Size {
        width,
        height,
        ..Size::default()
    }
}

fn at(image: &Image, x: u32, y: u32) -> [u8; 3] {
    let i = 3 * (y * image.width() + x) as usize;
    [image.rgb[i], image.rgb[i + 1], image.rgb[i + 2]]
}

/// Samples that hold something, with the frame that they were drawn in.
fn covered(mesh: &Mesh, camera: &Camera, size: Size) -> (Vec<bool>, Frame) {
    let parts = [part(mesh)];
    let frame = Frame::new(&parts, camera, size).unwrap();
    let facets = raster::facets(&parts, &frame);
    let mut band = raster::Band::new(&frame, size.height);
    band.start(0, size.samples);
    for facet in &facets {
        band.fill(facet);
    }
    let rows = band.samples().chunks(band.stride);
    let inner = (size.height * size.samples) as usize;
    let seen = rows
        .skip(1)
        .take(inner)
        .flat_map(|row| &row[1..row.len() - 1])
        .map(|s| s.part != u32::MAX)
        .collect();
    (seen, frame)
}

#[test]
fn a_sphere_covers_pi_r_squared() {
    // 200 rings: the outline is a polygon at most 0.02 % smaller than its circle.
    let ball = ellipsoid([10.0; 3], 200, 200);
    let size = size(300, 260);
    // 260 pixels less a margin of 6 % of the shorter side above and below.
    let radius = 0.5 * 260.0 * (1.0 - 0.12) * f64::from(size.samples);
    for camera in &CAMERAS {
        let (seen, _) = covered(&ball, camera, size);
        let area = seen.iter().filter(|&&s| s).count() as f64;
        let expected = std::f64::consts::PI * radius * radius;
        assert!(
            (area / expected - 1.0).abs() < 1e-3,
            "{area} samples, not {expected}"
        );
    }
}

#[test]
fn neighbours_share_their_edge_without_gap_or_overlap() {
    // A fan of thin triangles that together make up one face of a box.
    let mut mesh = cuboid([0.0; 3], [40.0, 1.0, 30.0]);
    mesh.triangles
        .retain(|t| !(t.iter().all(|&i| mesh.points[i as usize].y == 0.0)));
    let around: Vec<u32> = {
        let rim = |x: f64, z: f64| Point3::new(x, 0.0, z);
        let first = mesh.points.len() as u32;
        let steps = 37;
        let side = |n: u32| f64::from(n) / f64::from(steps);
        mesh.points
            .extend((0..steps).map(|n| rim(40.0 * side(n), 0.0)));
        mesh.points
            .extend((0..steps).map(|n| rim(40.0, 30.0 * side(n))));
        mesh.points
            .extend((0..steps).map(|n| rim(40.0 - 40.0 * side(n), 30.0)));
        mesh.points
            .extend((0..steps).map(|n| rim(0.0, 30.0 - 30.0 * side(n))));
        (first..mesh.points.len() as u32).collect()
    };
    let hub = mesh.points.len() as u32;
    mesh.points.push(Point3::new(13.7, 0.0, 8.3));
    for (i, &a) in around.iter().enumerate() {
        mesh.triangles
            .push([a, around[(i + 1) % around.len()], hub]);
    }
    let (whole, _) = covered(
        &cuboid([0.0; 3], [40.0, 1.0, 30.0]),
        &Camera::SIDE,
        size(301, 211),
    );
    let (fan, _) = covered(&mesh, &Camera::SIDE, size(301, 211));
    assert!(whole.iter().any(|&s| s));
    assert_eq!(whole, fan);
}

#[test]
fn a_mirror_symmetric_body_has_a_mirror_symmetric_outline() {
    let bait = ellipsoid([45.0, 9.0, 14.0], 60, 64);
    let (width, height, n) = (211, 160, Size::default().samples);
    for camera in [Camera::TOP, Camera::NOSE_ON, Camera::SIDE] {
        let (seen, _) = covered(&bait, &camera, size(width, height));
        let row = (width * n) as usize;
        let pairs = seen.chunks(row).flat_map(|r| r.iter().zip(r.iter().rev()));
        let unlike = pairs.filter(|(a, b)| a != b).count();
        // Only rounding at samples that lie on the outline itself may differ.
        assert!(unlike <= 4, "{unlike} samples differ");
    }
}

/// A bar along x whose section is a regular polygon.
fn bar(sides: u32) -> Mesh {
    let mut mesh = Mesh::default();
    for x in [0.0, 60.0] {
        for i in 0..sides {
            let turn = f64::from(i) / f64::from(sides);
            let (sin, cos) = libm::sincos(2.0 * std::f64::consts::PI * turn);
            mesh.points.push(Point3::new(x, 20.0 * cos, 20.0 * sin));
        }
    }
    for i in 0..sides {
        let j = (i + 1) % sides;
        mesh.triangles
            .extend([[i, i + sides, j + sides], [i, j + sides, j]]);
        if 0 < i && j > 0 {
            mesh.triangles
                .extend([[0, i, j], [sides, j + sides, i + sides]]);
        }
    }
    for t in &mut mesh.triangles {
        t.swap(1, 2);
    }
    mesh
}

#[test]
fn blunt_edges_are_smooth_and_sharp_ones_are_flat_and_marked() {
    // Down the middle of a bar seen from the side: 15 degrees between facets
    // is below the limit of 30, 45 is above.
    let column = |sides: u32| {
        let image = render(&[part(&bar(sides))], &Camera::SIDE, size(240, 240)).unwrap();
        (50..190).map(|y| at(&image, 120, y)).collect::<Vec<_>>()
    };
    let largest_step = |column: &[[u8; 3]]| {
        let steps = column.windows(2).map(|w| w[0][0].abs_diff(w[1][0]));
        steps.max().unwrap()
    };
    let smooth = column(24);
    assert!(largest_step(&smooth) <= 6, "a smooth bar shows its facets");
    let flat = column(8);
    assert!(largest_step(&flat) > 20, "a sharp edge is not marked");
    let level = |column: &[[u8; 3]]| column.windows(2).filter(|w| w[0] == w[1]).count();
    assert!(level(&flat) > 100, "flat facets are shaded unevenly");
    assert!(level(&smooth) < 80, "a smooth bar has flat facets");
}

#[test]
fn light_comes_from_the_upper_left() {
    let ball = ellipsoid([10.0; 3], 40, 40);
    let image = render(&[part(&ball)], &Camera::SIDE, size(200, 200)).unwrap();
    assert!(at(&image, 70, 60)[0] > at(&image, 130, 60)[0]);
    assert!(at(&image, 70, 60)[0] > at(&image, 70, 140)[0] + 20);
}

#[test]
fn what_is_nearer_hides_what_is_behind_in_any_order() {
    let near = cuboid([0.0, 0.0, 0.0], [10.0, 1.0, 10.0]);
    let behind = cuboid([-10.0, 5.0, -10.0], [20.0, 6.0, 20.0]);
    let red = Part {
        mesh: &near,
        colour: [200, 40, 40],
    };
    let blue = Part {
        mesh: &behind,
        colour: [40, 40, 200],
    };
    let one = render(&[red, blue], &Camera::SIDE, size(200, 200)).unwrap();
    let two = render(&[blue, red], &Camera::SIDE, size(200, 200)).unwrap();
    assert_eq!(one, two);
    let [r, _, b] = at(&one, 100, 100);
    assert!(r > 2 * b, "the nearer box is hidden");
    let [r, _, b] = at(&one, 30, 100);
    assert!(b > 2 * r, "the larger box is missing");
}

#[test]
fn the_standard_views_put_the_nose_and_back_where_they_say() {
    // A small marker at the nose, the back or the left of a long body.
    let body = cuboid([0.0, -5.0, -5.0], [90.0, 5.0, 5.0]);
    let marked = |marker: &Mesh, camera: &Camera| {
        let parts = [
            part(&body),
            Part {
                mesh: marker,
                colour: [20, 20, 255],
            },
        ];
        let image = render(&parts, camera, size(200, 140)).unwrap();
        let mut sum = [0.0; 3];
        for y in 0..140 {
            for x in 0..200 {
                let [r, _, b] = at(&image, x, y);
                if u32::from(b) > 80 + u32::from(r) {
                    sum = [sum[0] + f64::from(x), sum[1] + f64::from(y), sum[2] + 1.0];
                }
            }
        }
        assert!(sum[2] > 10.0, "the marker is not seen");
        (sum[0] / sum[2] - 100.0, sum[1] / sum[2] - 70.0)
    };
    let nose = cuboid([-8.0, -4.0, -4.0], [-1.0, 4.0, 4.0]);
    let back = cuboid([40.0, -4.0, 6.0], [50.0, 4.0, 12.0]);
    let left = cuboid([40.0, 6.0, -4.0], [50.0, 12.0, 4.0]);
    assert!(marked(&nose, &Camera::SIDE).0 < -50.0);
    assert!(marked(&nose, &Camera::TOP).0 < -50.0);
    assert!(marked(&nose, &Camera::THREE_QUARTER).0 < -30.0);
    assert!(marked(&back, &Camera::SIDE).1 < -5.0);
    assert!(marked(&back, &Camera::NOSE_ON).1 < -5.0);
    assert!(marked(&back, &Camera::THREE_QUARTER).1 < 0.0);
    assert!(marked(&left, &Camera::TOP).1 < -5.0);
    assert!(marked(&left, &Camera::NOSE_ON).0 < -5.0);
}

#[test]
fn the_same_picture_has_the_same_bytes_and_reads_back() {
    let bait = ellipsoid([45.0, 9.0, 14.0], 30, 32);
    let draw = || render(&[part(&bait)], &Camera::THREE_QUARTER, size(120, 90)).unwrap();
    let bytes = export::png::to_bytes(&draw());
    assert_eq!(bytes, export::png::to_bytes(&draw()));
    let mut reader = ::png::Decoder::new(std::io::Cursor::new(&bytes))
        .read_info()
        .unwrap();
    let mut rgb = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut rgb).unwrap();
    assert_eq!((info.width, info.height), (120, 90));
    assert_eq!(rgb, draw().rgb());
}

#[test]
fn what_cannot_be_drawn_is_refused() {
    let good = cuboid([0.0; 3], [10.0; 3]);
    let parts = [part(&good)];
    let draw = |camera: Camera| render(&parts, &camera, size(20, 20));
    let up = Vector3::z();
    for towards in [Vector3::zeros(), up, Vector3::repeat(f64::NAN)] {
        assert_eq!(draw(Camera { towards, up }), Err(PictureError::Camera));
    }
    for bad in [
        size(0, 20),
        size(20, 20_000),
        Size {
            samples: 0,
            ..size(20, 20)
        },
        Size {
            margin: f64::NAN,
            ..size(20, 20)
        },
    ] {
        assert_eq!(render(&parts, &Camera::SIDE, bad), Err(PictureError::Size));
    }
    assert_eq!(
        render(&[], &Camera::SIDE, size(20, 20)),
        Err(PictureError::Empty)
    );
    let mut bad = good.clone();
    bad.triangles[0][0] = 99;
    let refused = render(&[parts[0], part(&bad)], &Camera::SIDE, size(20, 20));
    assert_eq!(refused, Err(PictureError::Part { part: 1 }));
    let mut bad = good.clone();
    bad.points[3].z = f64::INFINITY;
    let refused = render(&[part(&bad)], &Camera::SIDE, size(20, 20));
    assert_eq!(refused, Err(PictureError::Part { part: 0 }));
}

#[test]
fn the_smallest_and_flattest_scenes_draw() {
    let needle = cuboid([0.0; 3], [1e-9, 1e-9, 50.0]);
    let plate = cuboid([0.0; 3], [50.0, 50.0, 1e-12]);
    let dot = cuboid([0.0; 3], [0.0; 3]);
    for mesh in [&needle, &plate, &dot] {
        for camera in &CAMERAS {
            for pixels in [1, 2, 33] {
                render(&[part(mesh)], camera, size(pixels, pixels)).unwrap();
            }
        }
    }
}
