//! A number that changes smoothly along the body: rise of the spine, exponent of a section.

use super::spline;

/// A number as a function of x: cubic pieces with a continuous tangent. Beyond its first
/// and last place it stays as it is there.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// Ends of the pieces, ascending.
    x: Vec<f64>,
    /// Cubic of each piece in its own variable from 0 to 1.
    polys: Vec<[f64; 4]>,
    /// Values at the ends of the pieces.
    y: Vec<f64>,
}

impl Course {
    /// The smooth course through places and values; it does not leave the span of the two
    /// values it runs between (see [`Outline::through`](super::Outline::through)).
    ///
    /// Places are strictly ascending. None at all is zero everywhere.
    pub fn through(points: &[[f64; 2]]) -> Self {
        Self::with_slopes(points, spline::free_slopes)
    }

    /// As [`Course::through`], and level at both ends, so that it runs on beyond them without
    /// a crease.
    pub fn levelling(points: &[[f64; 2]]) -> Self {
        Self::with_slopes(points, |x, y| {
            let mut slopes = spline::free_slopes(x, y);
            let last = slopes.len() - 1;
            (slopes[0], slopes[last]) = (0.0, 0.0);
            slopes
        })
    }

    fn with_slopes(points: &[[f64; 2]], slopes: impl Fn(&[f64], &[f64]) -> Vec<f64>) -> Self {
        let (x, y): (Vec<f64>, Vec<f64>) = points.iter().map(|p| (p[0], p[1])).unzip();
        if points.len() < 2 {
            return Course {
                x,
                polys: Vec::new(),
                y,
            };
        }
        let m = slopes(&x, &y);
        let polys = (0..x.len() - 1)
            .map(|i| {
                let h = x[i + 1] - x[i];
                let (rise, a, b) = (y[i + 1] - y[i], m[i] * h, m[i + 1] * h);
                [y[i], a, 3.0 * rise - 2.0 * a - b, a + b - 2.0 * rise]
            })
            .collect();
        Course { x, polys, y }
    }

    /// The parabola that is zero at both ends of a length and `rise` in the middle.
    pub fn bow(length: f64, rise: f64) -> Self {
        Course {
            x: vec![0.0, length],
            polys: vec![[0.0, 4.0 * rise, -4.0 * rise, 0.0]],
            y: vec![0.0, 0.0],
        }
    }

    /// Value, and first and second derivative by x; at a joint those towards the tail.
    fn jet(&self, x: f64) -> [f64; 3] {
        let (Some(&first), Some(&last)) = (self.x.first(), self.x.last()) else {
            return [0.0; 3];
        };
        if x < first || self.polys.is_empty() {
            return [self.y[0], 0.0, 0.0];
        }
        if x >= last {
            return [self.y[self.y.len() - 1], 0.0, 0.0];
        }
        let i = self.x.partition_point(|&k| k <= x) - 1;
        let span = self.x[i + 1] - self.x[i];
        let u = (x - self.x[i]) / span;
        let [a, b, c, d] = self.polys[i];
        [
            a + u * (b + u * (c + u * d)),
            (b + u * (2.0 * c + u * 3.0 * d)) / span,
            (2.0 * c + 6.0 * d * u) / (span * span),
        ]
    }

    /// Value at x.
    pub fn value(&self, x: f64) -> f64 {
        self.jet(x)[0]
    }

    /// Derivative by x.
    pub fn slope(&self, x: f64) -> f64 {
        self.jet(x)[1]
    }

    /// First and second derivative by x.
    pub(crate) fn slopes(&self, x: f64) -> [f64; 2] {
        let [_, first, second] = self.jet(x);
        [first, second]
    }

    /// Ends of its pieces, ascending.
    pub fn knots(&self) -> impl Iterator<Item = f64> + '_ {
        self.x.iter().copied()
    }

    /// Least and greatest value.
    pub fn range(&self) -> [f64; 2] {
        let mut range = [f64::INFINITY, f64::NEG_INFINITY];
        let mut look = |y: f64| range = [range[0].min(y), range[1].max(y)];
        self.y.iter().for_each(|&y| look(y));
        // Only a bow leaves the span of its ends.
        for w in self.x.windows(2) {
            look(self.value(0.5 * (w[0] + w[1])));
        }
        range
    }

    /// Stretched along the body by `along`, and its values by `across`.
    #[must_use]
    pub fn scaled(&self, along: f64, across: f64) -> Self {
        Course {
            x: self.x.iter().map(|x| x * along).collect(),
            polys: self.polys.iter().map(|p| p.map(|c| c * across)).collect(),
            y: self.y.iter().map(|y| y * across).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passes_its_points_smoothly_and_stays_between_them() {
        let points = [[0.0, 2.0], [20.0, 4.0], [30.0, 4.0], [70.0, 1.6]];
        let course = Course::through(&points);
        for [x, y] in points {
            assert!((course.value(x) - y).abs() < 1e-12);
            let (left, right) = (course.slope(x - 1e-7), course.slope(x + 1e-7));
            assert!(x == 0.0 || x == 70.0 || (left - right).abs() < 1e-6);
        }
        for i in 0..700 {
            let x = 0.1 * f64::from(i);
            let v = course.value(x);
            assert!((1.6..=4.0 + 1e-12).contains(&v), "{x}: {v}");
            let numeric = (course.value(x + 1e-6) - course.value(x)) / 1e-6;
            assert!((numeric - course.slope(x)).abs() < 1e-5);
        }
        assert_eq!(course.value(-3.0), 2.0);
        assert_eq!(course.value(99.0), 1.6);
        assert_eq!(Course::through(&[[5.0, 3.0]]).value(80.0), 3.0);
    }

    #[test]
    fn levelling_leaves_no_crease_at_the_ends() {
        let course = Course::levelling(&[[10.0, 5.0], [40.0, 2.5]]);
        for x in [10.0, 40.0] {
            assert!(course.slope(x - 1e-6).abs() < 1e-6 && course.slope(x + 1e-6).abs() < 1e-6);
        }
        assert_eq!(
            [10.0, 25.0, 40.0].map(|x| course.value(x)),
            [5.0, 3.75, 2.5]
        );
    }

    #[test]
    fn a_bow_is_a_parabola() {
        let bow = Course::bow(80.0, 5.0);
        assert_eq!(
            [0.0, 20.0, 40.0, 80.0].map(|x| bow.value(x)),
            [0.0, 3.75, 5.0, 0.0]
        );
        assert_eq!(bow.range(), [0.0, 5.0]);
    }
}
