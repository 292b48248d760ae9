//! Length round a section, and the section as a line to draw.

use super::Body;
use super::place::sin_cos;

/// Panels over a quarter, each with five points of Gauss.
const PANELS: usize = 48;
/// Points and weights of Gauss–Legendre on −1..=1 (Abramowitz & Stegun, table 25.4).
const GAUSS: [(f64, f64); 5] = [
    (0.0, 0.568_888_888_888_888_9),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
];

impl Body {
    /// Length once round the section at x, in mm; at a step that of the side towards the tail.
    /// Of a body whose master was read from a file, that of its envelope.
    pub fn girth(&self, x: f64) -> f64 {
        2.0 * self.girth_to(x, 180.0)
    }

    /// Length round the section at x, from the back by way of the left flank to an angle in
    /// degrees as in [`Body::place`], 0 to 360.
    pub fn girth_to(&self, x: f64, angle: f64) -> f64 {
        let w = self.half_width.height(x);
        let (back, belly) = (self.back.height(x), self.belly.height(x));
        let [n, m] = self.section.exponents(x);
        let upper = |angle| arc(w, back, n, angle);
        let lower = |angle| arc(w, belly, m, 180.0 - angle);
        let to = |angle: f64| {
            if angle <= 90.0 {
                upper(angle)
            } else {
                upper(90.0) + lower(90.0) - lower(angle)
            }
        };
        if angle <= 180.0 {
            to(angle)
        } else {
            2.0 * to(180.0) - to(360.0 - angle)
        }
    }

    /// The section at x as a closed polygon of (y, z) about the spine, counter-clockwise with
    /// y to the right, its chords off the curve by no more than `sag`. In mm.
    pub fn section_polygon(&self, x: f64, sag: f64) -> Vec<[f64; 2]> {
        const MOST: usize = 1024;
        let w = self.half_width.height(x);
        let (back, belly) = (self.back.height(x), self.belly.height(x));
        let size = w.max(back).max(belly);
        let mut count = 16;
        while count < MOST && self.section.sag(count) * size > sag {
            count *= 2;
        }
        let [upper, lower] = self.section.points(x, count);
        let mut ring: Vec<[f64; 2]> = upper.iter().map(|p| [w * p[0], back * p[1]]).collect();
        ring.extend(upper.iter().rev().skip(1).map(|p| [-w * p[0], back * p[1]]));
        ring.extend(lower.iter().skip(1).map(|p| [-w * p[0], -belly * p[1]]));
        ring.extend(
            lower
                .iter()
                .rev()
                .skip(1)
                .map(|p| [w * p[0], -belly * p[1]]),
        );
        ring.pop();
        ring
    }
}

/// Length of the superellipse (|y|/w)ⁿ + (|z|/h)ⁿ = 1 from the z axis to a ray at an angle of
/// 0 to 90 degrees from it.
///
/// The variable is the polar angle f of the unit superellipse, in which stretched sections are
/// as smooth as round ones: with r = (sinⁿ f + cosⁿ f)^(−1/n), y = w r sin f, z = h r cos f.
/// Panels are finest towards both axes, where a small exponent bends most.
fn arc(w: f64, h: f64, n: f64, angle: f64) -> f64 {
    if w <= 0.0 || h <= 0.0 {
        return 0.0;
    }
    let (sin, cos) = sin_cos(angle);
    let end = libm::atan2(sin.abs() * h, cos.abs() * w);
    let full = std::f64::consts::FRAC_PI_2;
    let graded = |u: f64| full * u * u * (3.0 - 2.0 * u);
    let speed = |f: f64| {
        let (s, c) = libm::sincos(f);
        let sum = libm::pow(s, n) + libm::pow(c, n);
        let r = libm::pow(sum, -1.0 / n);
        let turn = libm::pow(s, n - 1.0) * c - libm::pow(c, n - 1.0) * s;
        let dr = -r / sum * turn;
        libm::hypot(w * (dr * s + r * c), h * (dr * c - r * s))
    };
    let mut length = 0.0;
    for k in 0..PANELS {
        let [a, b] = [k, k + 1].map(|k| graded(k as f64 / PANELS as f64).min(end));
        let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
        for (at, weight) in GAUSS {
            length += half * weight * speed(middle + half * at);
        }
    }
    length
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Perimeter of an ellipse by the arithmetic-geometric mean: 2π (a² − Σ 2ⁿ⁻¹ cₙ²) / M, the
    /// complete elliptic integral of the second kind (Abramowitz & Stegun, 17.6).
    fn ellipse(a: f64, b: f64) -> f64 {
        let (mut x, mut y, mut sum, mut power) = (a, b, 0.5 * (a * a - b * b), 1.0);
        for _ in 0..40 {
            let c = 0.5 * (x - y);
            (x, y) = (0.5 * (x + y), (x * y).sqrt());
            sum += power * c * c;
            power *= 2.0;
        }
        2.0 * PI * (a * a - sum) / x
    }

    #[test]
    fn ellipses_against_the_complete_elliptic_integral() {
        // E(k² = 3/4) = 1.2110560275684594 (Abramowitz & Stegun, table 17.1): half-axes 2 and 1
        // have the perimeter 8 E = 9.688448220547676.
        assert!((ellipse(2.0, 1.0) - 9.688_448_220_547_676).abs() < 1e-12);
        for (w, h) in [
            (1.0, 1.0),
            (2.0, 1.0),
            (0.9, 9.0),
            (150.0, 15.0),
            (7.0, 8.0),
        ] {
            let quarter = arc(w, h, 2.0, 90.0);
            let exact = 0.25 * ellipse(f64::max(w, h), f64::min(w, h));
            assert!(
                (quarter / exact - 1.0).abs() < 1e-11,
                "{w} {h}: {quarter} {exact}"
            );
        }
    }

    #[test]
    fn other_exponents_against_a_fine_polygon() {
        for n in [1.5, 2.5, 4.0, 6.0] {
            let (w, h) = (9.0, 5.0);
            // Parametric, so unlike the integral, from both axes to the diagonal: y = w cos^(2/n) t,
            // z = h sin^(2/n) t.
            let mut sum = 0.0;
            for (a, b) in [(w, h), (h, w)] {
                let point = |k: u32| {
                    let u = f64::from(k) / 1e6;
                    let (s, c) = libm::sincos(0.25 * PI * u * u * u);
                    [a * libm::pow(c, 2.0 / n), b * libm::pow(s, 2.0 / n)]
                };
                let mut last = point(0);
                for k in 1..=1_000_000 {
                    let p = point(k);
                    sum += libm::hypot(p[0] - last[0], p[1] - last[1]);
                    last = p;
                }
            }
            assert!(
                (arc(w, h, n, 90.0) / sum - 1.0).abs() < 1e-8,
                "{n}: {} {sum}",
                arc(w, h, n, 90.0)
            );
        }
    }

    #[test]
    fn angles_divide_a_circle_evenly() {
        use crate::curve::Outline;
        use crate::spec::{End, Knot};
        let knot = Knot {
            at: 20.0,
            before: 8.0,
            after: 8.0,
            corner: false,
        };
        let outline = Outline::through(&[knot], 60.0, End::Round, End::Round);
        let body = Body::revolved(outline, End::Round, End::Round);
        assert!((body.girth(20.0) - 16.0 * PI).abs() < 1e-10);
        for angle in [0.0, 30.0, 90.0, 135.0, 180.0, 222.0, 270.0, 360.0] {
            let along = body.girth_to(20.0, angle);
            assert!((along - 8.0 * angle.to_radians()).abs() < 1e-10, "{angle}");
        }
        let ring = body.section_polygon(20.0, 0.005);
        assert!(
            ring.iter()
                .all(|p| (libm::hypot(p[0], p[1]) - 8.0).abs() < 1e-12)
        );
        assert!(ring.len() > 60);
    }
}
