//! The water that a body carries with it as it speeds up or turns.

/// Shares of the displaced mass that a spheroid carries with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AddedMass {
    /// Moving along its axis.
    pub along: f64,
    /// Moving across it.
    pub across: f64,
    /// Turning about an axis across: share of the moment of inertia of the displaced water.
    pub turning: f64,
}

/// Added mass of a prolate spheroid so many times as long as thick; a sphere at 1 and below.
///
/// # References
/// H. Lamb, "Hydrodynamics", 6th edition, articles 114 and 115.
#[must_use]
pub fn added_mass(fineness: f64) -> AddedMass {
    // Close to a sphere the closed form loses all its digits.
    const NEAR_SPHERE: f64 = 1.0 + 1e-3;
    if fineness.is_nan() || fineness <= NEAR_SPHERE {
        return AddedMass {
            along: 0.5,
            across: 0.5,
            turning: 0.0,
        };
    }
    let square = 1.0 - 1.0 / (fineness * fineness);
    let e = square.sqrt();
    // ½ ln((1 + e) / (1 − e)) is artanh e.
    let half_log = libm::atanh(e);
    let alpha = 2.0 * (1.0 - square) / (square * e) * (half_log - e);
    let beta = 1.0 / square - (1.0 - square) / (square * e) * half_log;
    let turn = 2.0 - square;
    AddedMass {
        along: alpha / (2.0 - alpha),
        across: beta / (2.0 - beta),
        turning: square * square * (beta - alpha) / (turn * (2.0 * square - turn * (beta - alpha))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_lamb_has_them() {
        // Lamb, "Hydrodynamics", the table of article 115.
        for (fineness, along, across, turning) in [
            (1.0, 0.5, 0.5, 0.0),
            (2.0, 0.2100, 0.7042, 0.2394),
            (2.99, 0.1225, 0.8032, 0.4639),
            (5.0, 0.0591, 0.8943, 0.6999),
            (6.01, 0.0451, 0.9173, 0.7628),
            (10.0, 0.0207, 0.9602, 0.8835),
        ] {
            let k = added_mass(fineness);
            for (found, expected) in [(k.along, along), (k.across, across), (k.turning, turning)] {
                assert!(
                    (found - expected).abs() < 1e-4,
                    "{fineness}: {found}, not {expected}"
                );
            }
        }
    }

    #[test]
    fn a_sphere_is_the_limit() {
        let k = added_mass(1.0011);
        assert!((k.along - 0.5).abs() < 1e-3 && (k.across - 0.5).abs() < 1e-3);
        assert!(k.turning.abs() < 1e-3);
    }
}
