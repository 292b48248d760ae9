//! The superelliptic shape of a body's cross-section.

use libm::tgamma;

/// A quarter of the unit superellipse |y|ⁿ + |z|ⁿ = 1, from which every section of
/// a body is stretched: y by the half-width, z by the height above or below the axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    exponent: f64,
    /// Polar angles of fine samples from 0 to 45°, and the share of the quarter's
    /// facets that lie before each; empty for the ellipse, whose facets are even.
    spread: Vec<(f64, f64)>,
}

/// Samples over half a quarter.
const SAMPLES: usize = 1024;

impl Section {
    /// The section with this exponent, which must be above 1.
    pub fn new(exponent: f64) -> Self {
        let mut section = Section {
            exponent,
            spread: Vec::new(),
        };
        if exponent != 2.0 {
            section.spread = section.spread();
        }
        section
    }

    /// The exponent n.
    pub fn exponent(&self) -> f64 {
        self.exponent
    }

    /// ∬ yᵖ⁻¹ zᵠ⁻¹ dy dz over the unit quarter (Dirichlet's integral).
    fn dirichlet(&self, p: f64, q: f64) -> f64 {
        let n = self.exponent;
        tgamma(p / n) * tgamma(q / n) / (n * n * tgamma(1.0 + (p + q) / n))
    }

    /// Area of the unit quarter; π/4 for the ellipse.
    pub fn area(&self) -> f64 {
        self.dirichlet(1.0, 1.0)
    }

    /// First moment ∬ z dy dz of the unit quarter; 1/3 for the ellipse.
    pub fn moment(&self) -> f64 {
        self.dirichlet(1.0, 2.0)
    }

    /// `count + 1` points of the unit quarter from (1, 0) to (0, 1), symmetric about
    /// the diagonal, spread so that all facets between them stand off about
    /// equally. The points for 2·count hold those for count.
    pub fn points(&self, count: usize) -> Vec<[f64; 2]> {
        (0..=count).map(|i| self.point(i, count)).collect()
    }

    fn point(&self, i: usize, count: usize) -> [f64; 2] {
        match 2 * i {
            0 => [1.0, 0.0],
            j if j == 2 * count => [0.0, 1.0],
            j if j == count => [libm::pow(0.5, 1.0 / self.exponent); 2],
            j if j > count => {
                let [y, z] = self.point(count - i, count);
                [z, y]
            }
            _ => self.at(self.angle(i as f64 / count as f64)),
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

    /// The point of the unit quarter at a polar angle.
    fn at(&self, angle: f64) -> [f64; 2] {
        let (sin, cos) = libm::sincos(angle);
        if self.exponent == 2.0 {
            return [cos, sin];
        }
        let n = self.exponent;
        let r = libm::pow(libm::pow(cos, n) + libm::pow(sin, n), -1.0 / n);
        [r * cos, r * sin]
    }

    /// Facets of equal stand-off follow ∫√κ ds, which over a short chord is
    /// √(turn · length), finite even where the curvature is not.
    fn spread(&self) -> Vec<(f64, f64)> {
        let step = std::f64::consts::FRAC_PI_4 / SAMPLES as f64;
        let p: Vec<[f64; 2]> = (0..=SAMPLES).map(|i| self.at(i as f64 * step)).collect();
        let chord = |i: usize| [p[i + 1][0] - p[i][0], p[i + 1][1] - p[i][1]];
        let mut heading = std::f64::consts::FRAC_PI_2;
        let mut sum = 0.0;
        let mut spread = vec![(0.0, 0.0)];
        for i in 0..SAMPLES {
            let [dy, dz] = chord(i);
            let next = libm::atan2(dz, dy);
            let length = libm::hypot(dy, dz);
            // A floor under the curvature keeps flat sides from going without points.
            let turn = (next - heading).max(0.05 * length);
            sum += (turn * length).sqrt();
            heading = next;
            spread.push(((i + 1) as f64 * step, sum));
        }
        for s in &mut spread {
            s.1 *= 0.5 / sum;
        }
        spread
    }

    /// Greatest distance between the unit quarter and its `count` facets.
    pub fn sag(&self, count: usize) -> f64 {
        if self.exponent == 2.0 {
            return 1.0 - libm::cos(std::f64::consts::FRAC_PI_4 / count as f64);
        }
        let mut worst: f64 = 0.0;
        // The quarter is symmetric about its diagonal.
        for i in 0..count.div_ceil(2) {
            let ([ay, az], [by, bz]) = (self.point(i, count), self.point(i + 1, count));
            let length = libm::hypot(by - ay, bz - az);
            let (from, to) = (libm::atan2(az, ay), libm::atan2(bz, by));
            const WITHIN: usize = 16;
            for j in 1..WITHIN {
                let [y, z] = self.at(from + (to - from) * j as f64 / WITHIN as f64);
                let off = ((y - ay) * (bz - az) - (z - az) * (by - ay)).abs() / length;
                worst = worst.max(off);
            }
        }
        worst
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ellipse_and_diamond_have_their_closed_forms() {
        let ellipse = Section::new(2.0);
        assert!((ellipse.area() - std::f64::consts::FRAC_PI_4).abs() < 1e-14);
        assert!((ellipse.moment() - 1.0 / 3.0).abs() < 1e-14);
        let diamond = Section::new(1.0 + 1e-9);
        assert!((diamond.area() - 0.5).abs() < 1e-7);
        assert!((diamond.moment() - 1.0 / 6.0).abs() < 1e-7);
    }

    #[test]
    fn area_and_moment_agree_with_the_polygon_of_many_points() {
        for n in [1.5, 1.8, 2.5, 3.0, 4.0, 6.0] {
            let section = Section::new(n);
            let points = section.points(2048);
            let (mut area, mut moment) = (0.0, 0.0);
            for w in points.windows(2) {
                let cross = 0.5 * (w[0][0] * w[1][1] - w[0][1] * w[1][0]);
                area += cross;
                moment += cross * (w[0][1] + w[1][1]) / 3.0;
            }
            assert!((area - section.area()).abs() < 1e-5, "{n}: {area}");
            assert!((moment - section.moment()).abs() < 1e-5, "{n}: {moment}");
        }
    }

    #[test]
    fn points_lie_on_the_curve_symmetric_and_nested() {
        for n in [1.5, 2.0, 3.0, 6.0] {
            let section = Section::new(n);
            let points = section.points(12);
            for (i, [y, z]) in points.iter().enumerate() {
                assert!((libm::pow(*y, n) + libm::pow(*z, n) - 1.0).abs() < 1e-12);
                assert_eq!(points[12 - i], [*z, *y]);
            }
            let finer = section.points(24);
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
}
