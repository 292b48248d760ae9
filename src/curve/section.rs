//! The superelliptic shape of a body's cross-section.

use libm::tgamma;

use super::Course;

/// A quarter of the unit superellipse |y|ⁿ + |z|ⁿ = 1, from which every section of
/// a body is stretched: y by the half-width, z by the height above or below the axis.
/// The exponent is the same everywhere, or follows x with its own course for back and
/// belly. Both halves stand upright where they meet, whatever their exponents.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    exponents: Exponents,
    /// Polar angles of fine samples from 0 to 45°, and the share of the quarter's
    /// facets that lie before each; empty for the ellipse, whose facets are even.
    spread: Vec<(f64, f64)>,
}

#[derive(Clone, Debug, PartialEq)]
enum Exponents {
    Same(f64),
    Along { back: Course, belly: Course },
}

/// Samples over half a quarter.
const SAMPLES: usize = 1024;

/// ∬ yᵖ⁻¹ zᵠ⁻¹ dy dz over the unit quarter (Dirichlet's integral).
fn dirichlet(n: f64, p: f64, q: f64) -> f64 {
    tgamma(p / n) * tgamma(q / n) / (n * n * tgamma(1.0 + (p + q) / n))
}

impl Section {
    /// The section with this exponent, which must be above 1.
    pub fn new(exponent: f64) -> Self {
        let spread = if exponent == 2.0 {
            Vec::new()
        } else {
            spread(&[exponent])
        };
        Section {
            exponents: Exponents::Same(exponent),
            spread,
        }
    }

    /// Sections whose exponents, all above 1, follow x: one course for the half above
    /// the spine, one for that below.
    pub fn along(back: Course, belly: Course) -> Self {
        let ([a, b], [c, d]) = (back.range(), belly.range());
        Section {
            // The same polar angles at every x, so that rows run straight along the body.
            spread: spread(&[a, b, c, d]),
            exponents: Exponents::Along { back, belly },
        }
    }

    /// Exponents of the back and of the belly at x.
    pub fn exponents(&self, x: f64) -> [f64; 2] {
        match &self.exponents {
            Exponents::Same(n) => [*n; 2],
            Exponents::Along { back, belly } => [back.value(x), belly.value(x)],
        }
    }

    /// The exponent, if it is the same everywhere.
    pub fn exponent(&self) -> Option<f64> {
        match &self.exponents {
            Exponents::Same(n) => Some(*n),
            Exponents::Along { .. } => None,
        }
    }

    /// Derivatives by x of the exponents of back and belly.
    pub(crate) fn slopes(&self, x: f64) -> [f64; 2] {
        match &self.exponents {
            Exponents::Same(_) => [0.0; 2],
            Exponents::Along { back, belly } => [back.slope(x), belly.slope(x)],
        }
    }

    /// Places where the exponents are not smooth functions of x.
    pub(crate) fn knots(&self) -> Vec<f64> {
        match &self.exponents {
            Exponents::Same(_) => Vec::new(),
            Exponents::Along { back, belly } => back.knots().chain(belly.knots()).collect(),
        }
    }

    /// The sections of a body stretched along its length.
    #[must_use]
    pub(crate) fn scaled(&self, factor: f64) -> Self {
        let exponents = match &self.exponents {
            Exponents::Same(n) => Exponents::Same(*n),
            Exponents::Along { back, belly } => Exponents::Along {
                back: back.scaled(factor, 1.0),
                belly: belly.scaled(factor, 1.0),
            },
        };
        Section {
            exponents,
            spread: self.spread.clone(),
        }
    }

    /// Areas of the unit quarters of back and belly at x; π/4 for the ellipse.
    pub fn areas(&self, x: f64) -> [f64; 2] {
        self.exponents(x).map(|n| dirichlet(n, 1.0, 1.0))
    }

    /// First moments ∬ z dy dz of the unit quarters of back and belly at x; 1/3 for the
    /// ellipse.
    pub fn moments(&self, x: f64) -> [f64; 2] {
        self.exponents(x).map(|n| dirichlet(n, 1.0, 2.0))
    }

    /// `count + 1` points of the unit quarter of the back and as many of that of the belly,
    /// from (1, 0) to (0, 1), spread so that all facets between them stand off about
    /// equally. The polar angles are symmetric about the diagonal and the same at every x; the
    /// points for 2·count hold those for count.
    pub fn points(&self, x: f64, count: usize) -> [Vec<[f64; 2]>; 2] {
        let of = |n| (0..=count).map(|i| self.point(n, i, count)).collect();
        let [back, belly] = self.exponents(x);
        let first: Vec<[f64; 2]> = of(back);
        let second = if belly == back {
            first.clone()
        } else {
            of(belly)
        };
        [first, second]
    }

    /// `count + 1` points of a quarter of the unit circle, from (1, 0) to (0, 1).
    pub(crate) fn circle(count: usize) -> Vec<[f64; 2]> {
        let [quarter, _] = Section::new(2.0).points(0.0, count);
        quarter
    }

    fn point(&self, n: f64, i: usize, count: usize) -> [f64; 2] {
        match 2 * i {
            0 => [1.0, 0.0],
            j if j == 2 * count => [0.0, 1.0],
            j if j == count => [libm::pow(0.5, 1.0 / n); 2],
            j if j > count => {
                let [y, z] = self.point(n, count - i, count);
                [z, y]
            }
            _ => at(n, self.angle(i as f64 / count as f64)),
        }
    }

    /// Polar angle before which the share `part` (at most a half) of the facets lies.
    fn angle(&self, part: f64) -> f64 {
        if self.spread.is_empty() {
            return part * std::f64::consts::FRAC_PI_2;
        }
        let i = self.spread.partition_point(|s| s.1 < part);
        let ((a, p), (b, q)) = (self.spread[i - 1], self.spread[i]);
        a + (b - a) * (part - p) / (q - p)
    }

    /// Greatest distance between a unit quarter, of back or belly, and its `count` facets.
    pub fn sag(&self, count: usize) -> f64 {
        match &self.exponents {
            Exponents::Same(n) => self.sag_of(*n, count),
            Exponents::Along { back, belly } => {
                // Between these the sag changes smoothly and little.
                const BETWEEN: usize = 4;
                let ([a, b], [c, d]) = (back.range(), belly.range());
                let (low, high) = (a.min(c), b.max(d));
                (0..=BETWEEN)
                    .map(|i| low + (high - low) * i as f64 / BETWEEN as f64)
                    .map(|n| self.sag_of(n, count))
                    .fold(0.0, f64::max)
            }
        }
    }

    fn sag_of(&self, n: f64, count: usize) -> f64 {
        if self.spread.is_empty() {
            return 1.0 - libm::cos(std::f64::consts::FRAC_PI_4 / count as f64);
        }
        let mut worst: f64 = 0.0;
        // The quarter is symmetric about its diagonal.
        for i in 0..count.div_ceil(2) {
            let ([ay, az], [by, bz]) = (self.point(n, i, count), self.point(n, i + 1, count));
            let length = libm::hypot(by - ay, bz - az);
            let (from, to) = (libm::atan2(az, ay), libm::atan2(bz, by));
            const WITHIN: usize = 16;
            for j in 1..WITHIN {
                let [y, z] = at(n, from + (to - from) * j as f64 / WITHIN as f64);
                let off = ((y - ay) * (bz - az) - (z - az) * (by - ay)).abs() / length;
                worst = worst.max(off);
            }
        }
        worst
    }
}

/// The point of the unit quarter with exponent n at a polar angle.
fn at(n: f64, angle: f64) -> [f64; 2] {
    let (sin, cos) = libm::sincos(angle);
    if n == 2.0 {
        return [cos, sin];
    }
    let r = libm::pow(libm::pow(cos, n) + libm::pow(sin, n), -1.0 / n);
    [r * cos, r * sin]
}

/// Spread of the facets over half a quarter for one exponent, or a mean spread for
/// several. Facets of equal stand-off follow ∫√κ ds, which over a short chord is
/// √(turn · length), finite even where the curvature is not.
fn spread(exponents: &[f64]) -> Vec<(f64, f64)> {
    let step = std::f64::consts::FRAC_PI_4 / SAMPLES as f64;
    let mut parts = vec![0.0; SAMPLES];
    for &n in exponents {
        let p: Vec<[f64; 2]> = (0..=SAMPLES).map(|i| at(n, i as f64 * step)).collect();
        let mut heading = std::f64::consts::FRAC_PI_2;
        for (i, part) in parts.iter_mut().enumerate() {
            let [dy, dz] = [p[i + 1][0] - p[i][0], p[i + 1][1] - p[i][1]];
            let next = libm::atan2(dz, dy);
            let length = libm::hypot(dy, dz);
            // A floor under the curvature keeps flat sides from going without points.
            let turn = (next - heading).max(0.05 * length);
            *part += (turn * length).sqrt();
            heading = next;
        }
    }
    let mut sum = 0.0;
    let mut spread = vec![(0.0, 0.0)];
    for (i, part) in parts.iter().enumerate() {
        sum += part;
        spread.push(((i + 1) as f64 * step, sum));
    }
    for s in &mut spread {
        s.1 *= 0.5 / sum;
    }
    spread
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ellipse_and_diamond_have_their_closed_forms() {
        let ellipse = Section::new(2.0);
        assert!((ellipse.areas(0.0)[0] - std::f64::consts::FRAC_PI_4).abs() < 1e-14);
        assert!((ellipse.moments(0.0)[0] - 1.0 / 3.0).abs() < 1e-14);
        let diamond = Section::new(1.0 + 1e-9);
        assert!((diamond.areas(0.0)[0] - 0.5).abs() < 1e-7);
        assert!((diamond.moments(0.0)[0] - 1.0 / 6.0).abs() < 1e-7);
    }

    #[test]
    fn area_and_moment_agree_with_the_polygon_of_many_points() {
        for n in [1.5, 1.8, 2.5, 3.0, 4.0, 6.0] {
            let section = Section::new(n);
            let [points, _] = section.points(0.0, 2048);
            let (mut area, mut moment) = (0.0, 0.0);
            for w in points.windows(2) {
                let cross = 0.5 * (w[0][0] * w[1][1] - w[0][1] * w[1][0]);
                area += cross;
                moment += cross * (w[0][1] + w[1][1]) / 3.0;
            }
            assert!((area - section.areas(0.0)[0]).abs() < 1e-5, "{n}: {area}");
            assert!(
                (moment - section.moments(0.0)[0]).abs() < 1e-5,
                "{n}: {moment}"
            );
        }
    }

    #[test]
    fn points_lie_on_the_curve_symmetric_and_nested() {
        for n in [1.5, 2.0, 3.0, 6.0] {
            let section = Section::new(n);
            let [points, _] = section.points(0.0, 12);
            for (i, [y, z]) in points.iter().enumerate() {
                assert!((libm::pow(*y, n) + libm::pow(*z, n) - 1.0).abs() < 1e-12);
                assert_eq!(points[12 - i], [*z, *y]);
            }
            let [finer, _] = section.points(0.0, 24);
            assert!(points.iter().enumerate().all(|(i, p)| finer[2 * i] == *p));
        }
    }

    #[test]
    fn facets_stand_off_evenly_and_less_with_more_of_them() {
        for n in [1.5, 2.0, 2.5, 4.0, 6.0] {
            let section = Section::new(n);
            let (few, many) = (section.sag(8), section.sag(32));
            // Halving a chord of a smooth curve quarters its sag.
            assert!(few / many > 8.0 && few / many < 24.0, "{n}: {few} {many}");
            assert!(many < 0.005, "{n}: {many}");
        }
    }

    #[test]
    fn halves_follow_their_own_courses_on_the_same_rows() {
        let back = Course::through(&[[0.0, 1.6], [50.0, 2.0]]);
        let belly = Course::through(&[[0.0, 5.0], [50.0, 3.0]]);
        let section = Section::along(back, belly);
        for x in [0.0, 21.0, 50.0] {
            let n = section.exponents(x);
            let halves = section.points(x, 16);
            for (n, half) in n.into_iter().zip(&halves) {
                for [y, z] in half {
                    assert!((libm::pow(*y, n) + libm::pow(*z, n) - 1.0).abs() < 1e-12);
                }
                assert_eq!((half[0], half[16]), ([1.0, 0.0], [0.0, 1.0]));
            }
            // The same polar angle on both halves.
            for (a, b) in halves[0].iter().zip(&halves[1]) {
                let angle = |p: &[f64; 2]| libm::atan2(p[1], p[0]);
                assert!((angle(a) - angle(b)).abs() < 1e-12);
            }
        }
        assert!(section.sag(64) < 0.005);
    }
}
