//! Drag coefficients: spheres, skin friction, bodies lying across the flow.
//!
//! Drag is ½ ρ v² times a coefficient times the area that the coefficient is of.

/// Drag coefficient of a smooth sphere, of its frontal area, for Reynolds numbers (of the
/// diameter) up to 10⁶. Within 8 % of measured values below the drop at 2·10⁵.
///
/// # References
/// The recommended piecewise fit of R. Clift, J. R. Grace, M. E. Weber, "Bubbles, Drops, and
/// Particles", 1978, table 5.2.
#[must_use]
pub fn sphere(reynolds: f64) -> f64 {
    let re = reynolds.clamp(1e-9, 1e6);
    let w = libm::log10(re);
    let power = |a: f64| libm::pow(10.0, a);
    if re < 0.01 {
        24.0 / re + 3.0 / 16.0 * 24.0
    } else if re < 20.0 {
        24.0 / re * (1.0 + 0.1315 * libm::pow(re, 0.82 - 0.05 * w))
    } else if re < 260.0 {
        24.0 / re * (1.0 + 0.1935 * libm::pow(re, 0.6305))
    } else if re < 1500.0 {
        power(1.6435 - 1.1242 * w + 0.1558 * w * w)
    } else if re < 1.2e4 {
        power(-2.4571 + 2.5558 * w - 0.9295 * w * w + 0.1049 * w * w * w)
    } else if re < 4.4e4 {
        power(-1.9181 + 0.6370 * w - 0.0636 * w * w)
    } else if re < 3.38e5 {
        power(-4.3390 + 1.5809 * w - 0.1546 * w * w)
    } else if re < 4e5 {
        29.78 - 5.3 * w
    } else {
        0.1 * w - 0.49
    }
}

/// Skin friction of a smooth plate in laminar flow, of its wetted area, by the Reynolds
/// number of its length.
///
/// # References
/// H. Blasius, "Grenzschichten in Flüssigkeiten mit kleiner Reibung", Zeitschrift für
/// Mathematik und Physik 56, 1908.
#[must_use]
pub fn laminar(reynolds: f64) -> f64 {
    1.328_229_345 / reynolds.max(1e-9).sqrt()
}

/// Below this Reynolds number the turbulent line means nothing.
const TURBULENT_FROM: f64 = 1e4;

/// Skin friction in turbulent flow, of the wetted area. Below a Reynolds number of 10⁴, where the line
/// was never meant for, it goes on in a fixed proportion to [`laminar`], so that it is an upper limit
/// there too.
///
/// # References
/// The model-ship correlation line of the 8th International Towing Tank Conference, Madrid,
/// 1957.
#[must_use]
pub fn turbulent(reynolds: f64) -> f64 {
    let line = |re: f64| {
        let w = libm::log10(re) - 2.0;
        0.075 / (w * w)
    };
    if reynolds >= TURBULENT_FROM {
        line(reynolds)
    } else {
        line(TURBULENT_FROM) * laminar(reynolds) / laminar(TURBULENT_FROM)
    }
}

/// By how much the drag of a streamlined body of revolution exceeds the friction of a plate of
/// the same wetted area; `thickness` is diameter over length.
///
/// # References
/// S. F. Hoerner, "Fluid-Dynamic Drag", 1965, chapter 6.
#[must_use]
pub fn form_factor(thickness: f64) -> f64 {
    1.0 + 1.5 * thickness * thickness.sqrt() + 7.0 * thickness * thickness * thickness
}

/// Drag of a flat tail, of its own area; `fore` is the drag coefficient of all that lies before it,
/// of that same area.
///
/// # References
/// S. F. Hoerner, "Fluid-Dynamic Drag", 1965, chapter 3 (from memory); for base areas smaller than
/// the body the value is an upper estimate.
#[must_use]
pub fn base(fore: f64) -> f64 {
    // A base cannot suck more than one behind a body with no boundary layer to speak of.
    const MOST: f64 = 0.3;
    (0.029 / fore.max(1e-6).sqrt()).min(MOST)
}

/// Drag coefficient of a short cylinder with flat ends across the flow, below the drag crisis, of
/// its side area, by its length over its diameter; between the printed values by the logarithm.
///
/// # References
/// C. Matthews, "Aeronautical Engineer's Data Book", 2002, p. 95.
#[must_use]
pub fn cylinder_across(fineness: f64) -> f64 {
    const TABLE: [(f64, f64); 5] = [
        (1.0, 0.63),
        (2.0, 0.68),
        (5.0, 0.74),
        (10.0, 0.82),
        (40.0, 0.98),
    ];
    let f = fineness.clamp(TABLE[0].0, TABLE[TABLE.len() - 1].0);
    let i = TABLE[1..TABLE.len() - 1]
        .iter()
        .take_while(|(at, _)| *at < f)
        .count();
    let ((a, low), (b, high)) = (TABLE[i], TABLE[i + 1]);
    low + (high - low) * libm::log(f / a) / libm::log(b / a)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spheres_as_measured() {
        // Measured drag of spheres, Reynolds number to coefficient.
        for (re, cd) in [
            (0.05875, 492.0),
            (0.1585, 169.8),
            (3.020, 10.86),
            (15.49, 3.388),
            (57.54, 1.479),
            (144.5, 0.9204),
            (512.9, 0.5623),
            (1000.0, 0.4786),
            (1862.0, 0.4365),
            (4764.0, 0.3890),
            (8375.0, 0.3981),
            (15560.0, 0.4395),
            (34670.0, 0.4775),
            (1.0e5, 0.4624),
        ] {
            let found = sphere(re);
            assert!(
                (found / cd - 1.0).abs() < 0.18,
                "{re}: {found}, measured {cd}"
            );
            // Those a bait can reach.
            if re > 1.0 && re < 5e4 {
                assert!(
                    (found / cd - 1.0).abs() < 0.08,
                    "{re}: {found}, measured {cd}"
                );
            }
        }
    }

    #[test]
    fn the_fit_as_another_program_has_it() {
        for (re, cd) in [
            (0.1, 244.26),
            (1.0, 27.156),
            (10.0, 4.2584),
            (100.0, 1.0870),
            (1e3, 0.47109),
            (5e3, 0.38728),
            (1e4, 0.40523),
            (1e5, 0.50176),
        ] {
            assert!((sphere(re) / cd - 1.0).abs() < 1e-3, "{re}: {}", sphere(re));
        }
    }

    #[test]
    fn friction_lines() {
        // ITTC 1957, as printed in "Basic Ship Theory" and NPL Ship Report 142.
        for (re, cf) in [
            (1e5, 8.333333e-3),
            (1e6, 4.6875e-3),
            (5.62e6, 3.324469e-3),
            (1e7, 3.0e-3),
            (1e9, 1.530612e-3),
        ] {
            assert!((turbulent(re) / cf - 1.0).abs() < 1e-6);
        }
        // Blasius.
        for (re, cf) in [
            (1e4, 0.013280),
            (5e4, 0.005939),
            (1e5, 0.004200),
            (5e5, 0.001878),
        ] {
            assert!((laminar(re) - cf).abs() < 3e-6);
        }
        // Without a jump, and never below the laminar line.
        assert!((turbulent(9999.9) / turbulent(1e4) - 1.0).abs() < 1e-4);
        for re in [1.0, 30.0, 1e3, 9e3, 2e4, 1e5, 1e6] {
            assert!(turbulent(re) > laminar(re));
        }
    }

    #[test]
    fn form_factors() {
        // Hoerner's formula, evaluated.
        for (t, factor) in [
            (0.10, 1.05443),
            (0.15, 1.11077),
            (0.20, 1.19016),
            (0.30, 1.43548),
        ] {
            assert!((form_factor(t) - factor).abs() < 1e-5);
        }
    }

    #[test]
    fn cylinders_pass_through_the_table() {
        for (f, cd) in [
            (0.5, 0.63),
            (1.0, 0.63),
            (2.0, 0.68),
            (5.0, 0.74),
            (10.0, 0.82),
            (40.0, 0.98),
            (99.0, 0.98),
        ] {
            assert!((cylinder_across(f) - cd).abs() < 1e-12, "{f}");
        }
        assert!(cylinder_across(7.0) > 0.74 && cylinder_across(7.0) < 0.82);
    }
}
