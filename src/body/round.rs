//! Whether a body is round, and if not, where it is least so.

use super::Body;
use crate::quantity::LengthUnit;

/// Run-out that is only rounding of the spec's numbers, mm.
const ROUNDING: f64 = 1e-6;
/// Places looked at between two knots.
const SAMPLES: usize = 64;

/// A body that no lathe can turn, described at the place where its section is
/// farthest from a circle about the axis. Lengths in millimetres.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct NotRound {
    /// Distance of that place from the nose.
    pub at: f64,
    /// Greatest less least distance of the surface from the axis there: the radial run-out.
    pub run_out: f64,
    /// Full width there.
    pub width: f64,
    /// Height above the axis there.
    pub back: f64,
    /// Depth below the axis there.
    pub belly: f64,
    /// Exponents of back and belly; 2 for an ellipse or circle.
    pub exponents: [f64; 2],
    /// Rise of the spine over the axis there; back and belly are measured from the axis.
    pub camber: f64,
}

impl NotRound {
    /// The same in a maker's units.
    pub fn said_in(&self, units: LengthUnit) -> String {
        let differ = |a: f64, b: f64| (a - b).abs() > ROUNDING;
        let show = |mm: f64| units.show(mm);
        let mut said = format!(
            "the body is not round, so it cannot be turned: farthest from a circle {} from the \
             nose, where its surface runs out by {}",
            show(self.at),
            show(self.run_out)
        );
        let height = self.back + self.belly;
        if differ(self.width, height) {
            said += &format!("; width {}, height {}", show(self.width), show(height));
        }
        if differ(self.back, self.belly) {
            said += &format!(
                "; back {} above the middle, belly {} below it",
                show(self.back),
                show(self.belly)
            );
        }
        if differ(self.camber, 0.0) {
            said += &format!("; its spine is {} off the axis", show(self.camber));
        }
        if let Some(n) = self.exponents.into_iter().find(|&n| n != 2.0) {
            let n = libm::round(100.0 * n) / 100.0;
            said += &format!("; section exponent {n}, a circle has 2");
        }
        said
    }
}

impl std::fmt::Display for NotRound {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.said_in(LengthUnit::Mm))
    }
}

impl std::error::Error for NotRound {}

impl Body {
    /// Whether the body can be turned on a lathe: every section a circle about the axis, to
    /// within the rounding of the spec's numbers.
    pub fn is_round(&self) -> bool {
        self.scan.is_none() && self.roundness().is_ok()
    }

    /// The same, with the place where it is least so.
    ///
    /// # Errors
    /// If any section is not a circle about the axis.
    pub fn roundness(&self) -> Result<(), NotRound> {
        check(self)
    }
}

fn check(body: &Body) -> Result<(), NotRound> {
    let at = |x: f64, w: f64, back: f64, belly: f64| {
        let (exponents, camber) = (body.section.exponents(x), body.spine(x));
        // A point has no run-out, wherever it lies.
        let off_axis = if w > 0.0 { 2.0 * camber.abs() } else { 0.0 };
        NotRound {
            at: x,
            run_out: run_out(w, [back, belly], exponents) + off_axis,
            width: 2.0 * w,
            back,
            belly,
            exponents,
            camber,
        }
    };
    let (back, belly, half) = (&body.back, &body.belly, &body.half_width);
    let mut cuts: Vec<f64> = [back, belly, half].iter().flat_map(|o| o.knots()).collect();
    cuts.sort_by(f64::total_cmp);
    cuts.dedup();
    let mut worst = at(0.0, half.height(0.0), back.height(0.0), belly.height(0.0));
    let mut look = |found: NotRound| {
        if found.run_out > worst.run_out {
            worst = found;
        }
    };
    for pair in cuts.windows(2) {
        for i in 0..SAMPLES {
            let x = pair[0] + (pair[1] - pair[0]) * i as f64 / SAMPLES as f64;
            look(at(x, half.height(x), back.height(x), belly.height(x)));
        }
        let x = pair[1];
        let before = [half, back, belly].map(|o| o.height_before(x));
        look(at(x, before[0], before[1], before[2]));
    }
    if worst.run_out <= ROUNDING {
        Ok(())
    } else {
        Err(worst)
    }
}

/// Greatest less least distance of a section from the axis. That distance is
/// (|cos t / w|ⁿ + |sin t / h|ⁿ)^(−1/n) in direction t; it is extreme on the axes and
/// where tan t = (h / w)^(n / (n − 2)).
fn run_out(w: f64, heights: [f64; 2], exponents: [f64; 2]) -> f64 {
    let mut radii = vec![w, heights[0], heights[1]];
    for (h, exponent) in heights.into_iter().zip(exponents) {
        if exponent != 2.0 && h > 0.0 && w > 0.0 {
            let t = libm::atan(libm::pow(h / w, exponent / (exponent - 2.0)));
            let sum = libm::pow(libm::cos(t) / w, exponent) + libm::pow(libm::sin(t) / h, exponent);
            radii.push(libm::pow(sum, -1.0 / exponent));
        }
    }
    let most = radii.iter().copied().fold(0.0, f64::max);
    most - radii.iter().copied().fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{Outline, Section};
    use crate::spec::{End, Knot};

    fn outline(scale: f64) -> Outline {
        let knot = |at: f64, h: f64| Knot {
            at,
            before: scale * h,
            after: scale * h,
            corner: false,
        };
        Outline::through(
            &[knot(15.0, 6.0), knot(40.0, 9.0), knot(70.0, 4.0)],
            90.0,
            End::Round,
            End::Round,
        )
    }

    fn round() -> Body {
        Body::revolved(outline(1.0), End::Round, End::Round)
    }

    #[test]
    fn a_round_body_passes_and_so_does_one_off_by_rounding() {
        assert_eq!(check(&round()), Ok(()));
        let mut body = round();
        body.half_width = outline(1.0 + 1e-12);
        assert_eq!(check(&body), Ok(()));
    }

    #[test]
    fn a_flattened_body_is_refused_at_its_fattest() {
        let mut body = round();
        body.half_width = outline(0.8);
        let refused = check(&body).unwrap_err();
        assert!((refused.at - 40.0).abs() < 0.5, "{refused:?}");
        assert!((refused.run_out - 1.8).abs() < 1e-3);
        let text = refused.to_string();
        assert!(text.contains("width 14.4 mm, height 18 mm"), "{text}");
        assert!(!text.contains("belly") && !text.contains("exponent"));
    }

    #[test]
    fn unequal_back_and_belly_are_refused() {
        let mut body = round();
        body.back = outline(1.1);
        body.belly = outline(0.9);
        let text = check(&body).unwrap_err().to_string();
        assert!(
            text.contains("back 9.9 mm above the middle, belly 8.1 mm below it"),
            "{text}"
        );
        assert!(!text.contains("width"));
    }

    #[test]
    fn a_squarish_section_is_refused_by_its_diagonal() {
        let mut body = round();
        body.section = Section::new(4.0);
        let refused = check(&body).unwrap_err();
        // On the diagonal r = R 2^(1/2 - 1/n), from the superellipse's equation.
        assert!((refused.run_out - 9.0 * (libm::pow(2.0, 0.25) - 1.0)).abs() < 1e-9);
        assert!(refused.to_string().contains("section exponent 4"));
    }

    #[test]
    fn the_extreme_directions_hold_against_a_dense_sweep() {
        for (w, h, n) in [(5.0, 3.0, 2.5), (5.0, 4.9, 4.0), (2.0, 7.0, 1.6)] {
            let (mut most, mut least) = (0.0_f64, f64::INFINITY);
            for i in 0..=100_000 {
                let t = std::f64::consts::FRAC_PI_2 * f64::from(i) / 1e5;
                let sum = libm::pow(libm::cos(t) / w, n) + libm::pow(libm::sin(t) / h, n);
                let r = libm::pow(sum, -1.0 / n);
                (most, least) = (most.max(r), least.min(r));
            }
            assert!((run_out(w, [h, h], [n, n]) - (most - least)).abs() < 1e-7);
        }
    }

    #[test]
    fn a_cambered_body_is_refused_for_its_spine() {
        let mut body = round();
        body.camber = Some(crate::curve::Course::bow(90.0, 3.0));
        let refused = check(&body).unwrap_err();
        // The axis is 3 mm off the middle of the circle: R + 3 less R − 3.
        assert!((refused.run_out - 6.0).abs() < 0.01, "{refused:?}");
        assert!(refused.to_string().contains("mm off the axis"));
    }
}
