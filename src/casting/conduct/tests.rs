//! Against tables and worked examples of Çengel, Heat Transfer (A Practical Approach), and
//! Incropera, Fundamentals of Heat and Mass Transfer (examples as remembered, figures
//! computed again from their data); against the series for the cells.

// Figures of a table that happen to lie near π/2 or 1/√2.
#![allow(clippy::approx_constant)]

use super::*;

fn close(found: f64, expected: f64, share: f64) {
    assert!(
        (found / expected - 1.0).abs() <= share,
        "{found} is not {expected}"
    );
}

const SHAPES: [Shape; 3] = [Shape::Slab, Shape::Cylinder, Shape::Sphere];

/// The plastic of the figures below: α = 9.838e-8 m²/s.
const SOFT: Thermal = Thermal {
    conductivity: 0.17,
    density: 1.08,
    heat: 1.6,
};
const RUBBER: Thermal = Thermal {
    conductivity: 0.2,
    density: 1.15,
    heat: 1.3,
};
const ALUMINIUM: Thermal = Thermal {
    conductivity: 167.0,
    density: 2.7,
    heat: 0.896,
};

#[test]
fn first_eigenvalues_are_those_of_the_table() {
    // Çengel, table 4-2: Bi, then ζ₁ and C₁ of slab, cylinder, sphere.
    let table = [
        (0.01, [0.0998, 1.0017, 0.1412, 1.0025, 0.1730, 1.0030]),
        (0.1, [0.3111, 1.0161, 0.4417, 1.0246, 0.5423, 1.0298]),
        (0.5, [0.6533, 1.0701, 0.9408, 1.1143, 1.1656, 1.1441]),
        (1.0, [0.8603, 1.1191, 1.2558, 1.2071, 1.5708, 1.2732]),
        (5.0, [1.3138, 1.2403, 1.9898, 1.5029, 2.5704, 1.7870]),
        (10.0, [1.4289, 1.2620, 2.1795, 1.5677, 2.8363, 1.9249]),
    ];
    for (biot, row) in table {
        for (i, shape) in SHAPES.into_iter().enumerate() {
            let (zeta, c) = Series::new(shape, Surface::Film(biot)).first();
            assert!(
                (zeta - row[2 * i]).abs() < 1.01e-4,
                "{shape:?} {biot} {zeta}"
            );
            assert!((c - row[2 * i + 1]).abs() < 1.01e-4, "{shape:?} {biot} {c}");
        }
    }
    let held = SHAPES.map(|s| Series::new(s, Surface::Held).first());
    let pi = std::f64::consts::PI;
    let exact = [
        (pi / 2.0, 4.0 / pi),
        (2.404_825_557_7, 1.601_974_696_9),
        (pi, 2.0),
    ];
    for (found, exact) in held.into_iter().zip(exact) {
        close(found.0, exact.0, 1e-9);
        close(found.1, exact.1, 1e-9);
    }
}

#[test]
fn series_gives_known_temperatures() {
    // 60 terms of the series, computed apart from this code.
    let middle = [
        (0.05, [0.996869, 0.987099, 0.965999]),
        (0.1, [0.949305, 0.848355, 0.707100]),
        (0.3, [0.606804, 0.282487, 0.103532]),
        (1.0, [0.107977, 0.004932, 0.000103]),
    ];
    let mean = [
        (0.05, [0.747687, 0.547879, 0.393060]),
        (0.2, [0.495912, 0.217852, 0.084504]),
    ];
    for (i, shape) in SHAPES.into_iter().enumerate() {
        let held = Series::new(shape, Surface::Held);
        for (fo, row) in middle {
            assert!((held.at(fo, 0.0) - row[i]).abs() < 1e-6, "{shape:?} {fo}");
        }
        for (fo, row) in mean {
            assert!((held.mean(fo) - row[i]).abs() < 1e-6, "{shape:?} {fo}");
        }
        let film = Series::new(shape, Surface::Film(1.0));
        let row = [
            (0.950642, 0.643391),
            (0.870174, 0.570228),
            (0.772312, 0.495912),
        ][i];
        assert!((film.at(0.2, 0.0) - row.0).abs() < 1e-6);
        assert!((film.at(0.2, 1.0) - row.1).abs() < 1e-6);
        let fourier = [0.633589, 0.309981, 0.203910][i];
        close(held.fourier(4.0 / 15.0), fourier, 3e-6);
    }
}

#[test]
fn worked_examples_come_out() {
    // Çengel example 4-4, an egg: 5 to 70 °C in water of 95; the book says 865 s by one term.
    let egg = Series::new(Shape::Sphere, Surface::Film(47.84689));
    let theta = (95.0 - 70.0) / (95.0 - 5.0);
    let seconds = egg.fourier(theta) * 25.0 * 25.0 / 0.151;
    close(seconds, 865.0, 0.005);
    close(seconds, 861.47, 1e-4);
    // Çengel example 4-6, a steel shaft after 45 minutes.
    let shaft = Series::new(Shape::Cylinder, Surface::Film(0.536913));
    let fo = 3.95e-6 * 2700.0 / 0.01;
    close(200.0 + 400.0 * shaft.at(fo, 0.0), 364.298, 1e-4);
    close(1.0 - shaft.mean(fo), 0.635764, 1e-4);
    // Incropera example 5.5, a pipe's wall as a slab; the book rounds to 42.9 and 45.2 °C.
    let wall = Series::new(Shape::Slab, Surface::Film(0.312989));
    let at = |x| 60.0 - 80.0 * wall.at(5.64, x);
    close(at(0.0), 42.9, 0.005);
    close(at(1.0), 45.2, 0.005);
}

fn casting(shape: Shape, wall: Option<(f64, Thermal)>, outside: Outside) -> Casting {
    Casting {
        shape,
        size: 10.0,
        plastic: SOFT,
        wall: wall.map(|(thickness, material)| Wall {
            thickness,
            material,
        }),
        outside,
        poured: 170.0,
        room: 20.0,
    }
}

fn first(casting: &Casting) -> f64 {
    casting.shots(1, 60.0, 0.0)[0].time
}

#[test]
fn cells_agree_with_the_series() {
    for shape in SHAPES {
        for (outside, surface) in [
            (Outside::Held, Surface::Held),
            (Outside::Film(17.0), Surface::Film(1.0)),
            (Outside::Film(1.7), Surface::Film(0.1)),
        ] {
            let cells = first(&casting(shape, None, outside));
            let fo = Series::new(shape, surface).fourier(40.0 / 150.0);
            close(cells, fo * 100.0 / SOFT.diffusivity(), 5e-4);
        }
        let state = casting(shape, None, Outside::Film(17.0)).after(203.3);
        let series = Series::new(shape, Surface::Film(1.0));
        let fo = 203.3 * SOFT.diffusivity() / 100.0;
        close(state.mean, 20.0 + 150.0 * series.mean(fo), 1e-3);
        close(state.face, 20.0 + 150.0 * series.at(fo, 1.0), 1e-3);
    }
}

#[test]
fn real_moulds_agree_with_other_cells() {
    // Finite volumes of another program, Crank–Nicolson at 200 cells, but for the first from
    // the series.
    use Outside::{Film, Held};
    for (shape, wall, outside, seconds) in [
        (Shape::Cylinder, None, Held, 315.087),
        (Shape::Cylinder, Some((10.0, ALUMINIUM)), Film(10.0), 424.5),
        (Shape::Cylinder, Some((10.0, RUBBER)), Held, 696.05),
        (Shape::Cylinder, Some((10.0, RUBBER)), Film(10.0), 918.845),
        (Shape::Cylinder, Some((20.0, RUBBER)), Film(10.0), 785.07),
        (Shape::Cylinder, Some((30.0, RUBBER)), Film(10.0), 783.36),
        (Shape::Slab, Some((10.0, RUBBER)), Film(10.0), 4068.45),
        (Shape::Sphere, Some((10.0, RUBBER)), Film(10.0), 386.29),
    ] {
        close(first(&casting(shape, wall, outside)), seconds, 1e-3);
    }
    let state = casting(Shape::Cylinder, Some((10.0, RUBBER)), Film(10.0)).after(300.0);
    close(state.middle, 104.980, 5e-4);
    close(state.mean, 85.510, 5e-4);
    close(state.face, 69.351, 5e-4);
}

#[test]
fn a_warm_mould_is_slower_until_it_settles() {
    let shots =
        casting(Shape::Cylinder, Some((10.0, RUBBER)), Outside::Film(10.0)).shots(10, 60.0, 60.0);
    assert_eq!(shots.len(), 10);
    assert!(shots[1].time > 1.05 * shots[0].time, "{shots:?}");
    assert!(shots[9].time >= shots[1].time);
    close(shots[9].time, shots[8].time, 0.01);
    assert!(shots[1].wall_before > 25.0 && shots[1].wall_before < 60.0);
    // A mould that lies open for a day is as cold as a new one.
    let rested = casting(Shape::Cylinder, Some((10.0, RUBBER)), Outside::Film(10.0))
        .shots(2, 60.0, 86_400.0);
    close(rested[1].time, rested[0].time, 1e-6);
}

#[test]
fn a_room_as_warm_as_the_goal_never_gets_there() {
    let warm = Casting {
        room: 60.0,
        ..casting(Shape::Cylinder, None, Outside::Film(10.0))
    };
    assert!(warm.shots(1, 60.0, 0.0).is_empty());
}

#[test]
fn contact_temperatures() {
    // (e₁T₁ + e₂T₂)/(e₁ + e₂), worked by hand for plastic of 170 °C on 20 °C.
    assert!((contact(&SOFT, 170.0, &RUBBER, 20.0) - 94.67).abs() < 0.01);
    assert!((contact(&SOFT, 170.0, &ALUMINIUM, 20.0) - 23.94).abs() < 0.01);
}

#[test]
fn flat_sections_lie_between_cylinder_and_slab() {
    close(as_cylinder(20.0, 20.0), 10.0, 1e-12);
    close(
        as_cylinder(20.0, 1e9),
        10.0 * 2.404_825_557_7 / (0.5 * PI),
        1e-6,
    );
    assert_eq!(as_cylinder(30.0, 12.0), as_cylinder(12.0, 30.0));
    // First eigenvalue of the ellipse of half axes 1 and 2 by another way.
    close(
        as_cylinder(2.0, 4.0),
        2.404_825_557_7 / ELLIPSE.sqrt(),
        0.01,
    );
}

/// First Dirichlet eigenvalue of the ellipse of half axes 1 and 2: Rayleigh–Ritz with 21
/// polynomials, computed apart from this code.
const ELLIPSE: f64 = 3.566_727;
