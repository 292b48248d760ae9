//! A function of x to an outline within a tolerance.

use super::outline::{Chart, Outline, Piece};
use crate::spec::End;

/// A function could not be fitted.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FitError {
    /// The function gave a value that is not finite, or a negative one, or zero inside.
    #[error("height {height} at x = {at} is not a positive number")]
    Height {
        /// Where.
        at: f64,
        /// What it gave.
        height: f64,
    },
    /// Length or tolerance is not a positive number.
    #[error("length and tolerance must be positive numbers")]
    Size,
}

/// Shortest piece, as a share of the length.
const SHORTEST: f64 = 1e-9;

impl Outline {
    /// The outline of an analytic body: `height(x)` over `0..=length`, met within
    /// `tolerance` (millimetres, checked between the points of interpolation).
    ///
    /// The function must be smooth; it may have an upright tangent at an end that
    /// is said to be [`End::Round`]. At ends that are not [`End::Flat`] its value
    /// there is taken to be zero. The number of pieces grows as tolerance^(−1/4).
    ///
    /// # Errors
    /// A height that is not a positive finite number, or such a length or tolerance.
    pub fn fit(
        length: f64,
        nose: End,
        tail: End,
        tolerance: f64,
        mut height: impl FnMut(f64) -> f64,
    ) -> Result<Self, FitError> {
        let positive = |v: f64| v.is_finite() && v > 0.0;
        if !positive(length) || !positive(tolerance) {
            return Err(FitError::Size);
        }
        let mut sample = |x: f64| {
            if (x <= 0.0 && nose != End::Flat) || (x >= length && tail != End::Flat) {
                return Ok(0.0);
            }
            let y = height(x);
            if positive(y) {
                Ok(y)
            } else {
                Err(FitError::Height { at: x, height: y })
            }
        };
        let mut pieces = Vec::new();
        // Depth first, nose to tail; a stack instead of recursion.
        let mut open = vec![(0.5 * length, length), (0.0, 0.5 * length)];
        while let Some((from, to)) = open.pop() {
            let chart = if from == 0.0 && nose == End::Round {
                Chart::Nose
            } else if to == length && tail == End::Round {
                Chart::Tail
            } else {
                Chart::Even
            };
            let x = |u: f64| match chart {
                Chart::Even => from + (to - from) * u,
                Chart::Nose => to * u * u,
                Chart::Tail => to - (to - from) * u * u,
            };
            let mut y = [0.0; 4];
            for (i, y) in y.iter_mut().enumerate() {
                *y = sample(x(i as f64 / 3.0))?;
            }
            let piece = Piece {
                from,
                to,
                chart,
                poly: through_thirds(y),
                end: y[3],
            };
            let mut off: f64 = 0.0;
            for u in [1.0 / 6.0, 0.5, 5.0 / 6.0] {
                let [a, b, c, d] = piece.poly;
                let fitted = a + u * (b + u * (c + u * d));
                off = off.max((fitted - sample(x(u))?).abs());
            }
            if off <= tolerance || to - from <= SHORTEST * length {
                pieces.push(piece);
                continue;
            }
            // In its own variable the piece is cut in half.
            let cut = x(0.5);
            open.push((cut, to));
            open.push((from, cut));
        }
        Ok(Outline {
            pieces,
            breaks: Vec::new(),
        })
    }
}

/// Cubic through values at u = 0, 1/3, 2/3, 1.
fn through_thirds([a, b, c, d]: [f64; 4]) -> [f64; 4] {
    [
        a,
        (-11.0 * a + 18.0 * b - 9.0 * c + 2.0 * d) / 2.0,
        (18.0 * a - 45.0 * b + 36.0 * c - 9.0 * d) / 2.0,
        (-9.0 * a + 27.0 * b - 27.0 * c + 9.0 * d) / 2.0,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stays_within_its_tolerance() {
        for tolerance in [1e-2, 1e-5, 1e-8] {
            let f = |x: f64| (x * (20.0 - x)).max(0.0).sqrt();
            let o = Outline::fit(20.0, End::Round, End::Round, tolerance, f).unwrap();
            let worst = (1..4000)
                .map(|i| f64::from(i) * 0.005)
                .map(|x| (o.height(x) - f(x)).abs())
                .fold(0.0, f64::max);
            assert!(worst <= 1.5 * tolerance, "{worst} {tolerance}");
            assert!(worst > 0.0);
        }
    }

    #[test]
    fn refuses_what_is_no_height() {
        let fit = |f: fn(f64) -> f64| Outline::fit(10.0, End::Flat, End::Flat, 1e-3, f);
        assert!(matches!(fit(|_| f64::NAN), Err(FitError::Height { .. })));
        assert!(matches!(fit(|x| 1.0 - x), Err(FitError::Height { .. })));
        assert_eq!(
            Outline::fit(0.0, End::Flat, End::Flat, 1e-3, |_| 1.0),
            Err(FitError::Size)
        );
    }
}
