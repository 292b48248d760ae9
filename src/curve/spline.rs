//! Knots to a smooth outline that does not overshoot.

use super::outline::{Chart, Outline, Piece};
use crate::spec::{End, Knot};

/// Steepest a round end may still be at its first knot, as a share of the slope
/// of the straight line from the end to that knot. At 1 the conic is a cone.
const STEEPEST_ROUND: f64 = 0.9;
/// Least slope at a pointed end, as a share of the first secant: at 0 the point
/// would be a cusp with no thickness to cast.
const LEAST_POINTED: f64 = 0.5;

pub(super) fn through(knots: &[Knot], length: f64, nose: End, tail: End) -> Outline {
    let tip = |at| Knot {
        at,
        before: 0.0,
        after: 0.0,
        corner: false,
    };
    let mut points = knots.to_vec();
    if nose == End::Pointed {
        points.insert(0, tip(0.0));
    }
    if tail == End::Pointed {
        points.push(tip(length));
    }
    let last = points.len() - 1;
    let breaks_at = |i: usize| {
        let k = &points[i];
        (k.corner || k.before != k.after) && k.at > 0.0 && k.at < length
    };
    // A round end runs smoothly into its first knot unless that knot is a break.
    let smooth_nose = nose == End::Round && !breaks_at(0);
    let smooth_tail = tail == End::Round && !breaks_at(last);

    let mut pieces = Vec::with_capacity(points.len() + 1);
    let mut joints = vec![0];
    joints.extend((1..last).filter(|&i| breaks_at(i)));
    joints.push(last);
    for (r, ends) in joints.windows(2).enumerate() {
        let (first_run, last_run) = (r == 0, r + 2 == joints.len());
        let run = &points[ends[0]..=ends[1]];
        let x: Vec<f64> = run.iter().map(|k| k.at).collect();
        let y: Vec<f64> = run
            .iter()
            .enumerate()
            .map(|(j, k)| if j == 0 { k.after } else { k.before })
            .collect();
        let n = x.len() - 1;
        let m = slopes(
            &x,
            &y,
            &RunEnds {
                nose: (first_run && smooth_nose).then(|| y[0] / x[0]),
                tail: (last_run && smooth_tail).then(|| -y[n] / (length - x[n])),
                nose_tip: first_run && nose == End::Pointed,
                tail_tip: last_run && tail == End::Pointed,
            },
        );
        if first_run && nose == End::Round {
            let slope = if smooth_nose { m[0] } else { 0.0 };
            pieces.push(Piece {
                from: 0.0,
                to: x[0],
                chart: Chart::Nose,
                poly: round_end(x[0], points[0].before, slope),
                end: points[0].before,
            });
        }
        for j in 0..n {
            pieces.push(hermite(
                [x[j], x[j + 1]],
                [y[j], y[j + 1]],
                [m[j], m[j + 1]],
            ));
        }
        if last_run && tail == End::Round {
            let slope = if smooth_tail { -m[n] } else { 0.0 };
            pieces.push(Piece {
                from: x[n],
                to: length,
                chart: Chart::Tail,
                poly: round_end(length - x[n], points[last].after, slope),
                end: points[last].after,
            });
        }
    }
    let breaks = (0..=last)
        .filter(|&i| breaks_at(i))
        .map(|i| points[i].at)
        .collect();
    Outline { pieces, breaks }
}

/// What lies beyond the ends of a smooth run of knots.
struct RunEnds {
    /// Slope of the straight line from a round nose to the first knot.
    nose: Option<f64>,
    /// Slope of the straight line from the last knot to a round tail.
    tail: Option<f64>,
    /// The first knot is a pointed nose.
    nose_tip: bool,
    /// The last knot is a pointed tail.
    tail_tip: bool,
}

/// Slopes at the knots of one smooth run.
fn slopes(x: &[f64], y: &[f64], ends: &RunEnds) -> Vec<f64> {
    let n = x.len() - 1;
    let h: Vec<f64> = (0..n).map(|i| x[i + 1] - x[i]).collect();
    let d: Vec<f64> = (0..n).map(|i| (y[i + 1] - y[i]) / h[i]).collect();
    if n == 0 {
        // One knot between two ends: a round end on both sides is level there, a
        // lone one is a quarter of an ellipse.
        return vec![0.0];
    }
    let first = match ends.nose {
        Some(secant) => round_slope(secant, x[0], d[0], h[0]),
        None => free_slope(&d, &h, ends.nose_tip),
    };
    let final_ = match ends.tail {
        Some(secant) => {
            let room = -y[n] / secant;
            -round_slope(-secant, room, -d[n - 1], h[n - 1])
        }
        None => {
            let back = |v: &[f64]| v.iter().rev().copied().collect::<Vec<_>>();
            free_slope(&back(&d), &back(&h), ends.tail_tip)
        }
    };
    let mut m = continuous_curvature(&d, &h, first, final_);
    for i in 1..n {
        m[i] = limited(m[i], d[i - 1], d[i]);
    }
    m
}

/// Slopes at the places of a smooth run with nothing beyond its ends; two places or more.
pub(super) fn free_slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let ends = RunEnds {
        nose: None,
        tail: None,
        nose_tip: false,
        tail_tip: false,
    };
    slopes(x, y, &ends)
}

/// Slope at the first knot after a round end: `secant` leads from the end to the
/// knot over `room`, `next` onward over `h`. Both slopes seen away from the end.
fn round_slope(secant: f64, room: f64, next: f64, h: f64) -> f64 {
    // A parabola, the middle one of the conics, has half its secant's slope there.
    let reach = 0.5 * secant;
    let slope = (h * reach + room * next) / (h + room);
    limited(slope, reach, next).min(STEEPEST_ROUND * secant)
}

/// Slope at the free end of a run: that of the parabola through its first three
/// knots, limited as inside.
fn free_slope(d: &[f64], h: &[f64], tip: bool) -> f64 {
    let slope = if d.len() < 2 {
        d[0]
    } else {
        d[0] + (d[0] - d[1]) * h[0] / (h[0] + h[1])
    };
    let slope = limited(slope, d[0], d[0]);
    if tip && slope.abs() < LEAST_POINTED * d[0].abs() {
        LEAST_POINTED * d[0]
    } else {
        slope
    }
}

/// Slopes of the cubic spline with continuous curvature and given end slopes
/// (the tridiagonal system of de Boor, A Practical Guide to Splines, ch. IV).
fn continuous_curvature(d: &[f64], h: &[f64], first: f64, last: f64) -> Vec<f64> {
    let n = d.len();
    let mut m = vec![0.0; n + 1];
    (m[0], m[n]) = (first, last);
    let mut upper = vec![0.0; n];
    for i in 1..n {
        let (left, right) = (1.0 / h[i - 1], 1.0 / h[i]);
        let mut rhs = 3.0 * (d[i - 1] * left + d[i] * right) - left * m[i - 1];
        let mut diagonal = 2.0 * (left + right);
        if i > 1 {
            diagonal -= left * upper[i - 1];
        }
        if i == n - 1 {
            rhs -= right * last;
        }
        upper[i] = right / diagonal;
        m[i] = rhs / diagonal;
    }
    for i in (1..n.saturating_sub(1)).rev() {
        m[i] -= upper[i] * m[i + 1];
    }
    m
}

/// The slope nearest `m` with which a cubic between secants `left` and `right`
/// stays within its knots: level at a turning point, at most three times the
/// flatter secant elsewhere (de Boor & Swartz, J. Approx. Theory 21 (1977) 411).
fn limited(m: f64, left: f64, right: f64) -> f64 {
    if left * right <= 0.0 {
        return 0.0;
    }
    let most = 3.0 * left.abs().min(right.abs());
    if left > 0.0 {
        m.clamp(0.0, most)
    } else {
        m.clamp(-most, 0.0)
    }
}

/// Cubic with given heights and slopes at both ends.
fn hermite(x: [f64; 2], y: [f64; 2], m: [f64; 2]) -> Piece {
    let h = x[1] - x[0];
    let (rise, a, b) = (y[1] - y[0], m[0] * h, m[1] * h);
    Piece {
        from: x[0],
        to: x[1],
        chart: Chart::Even,
        poly: [y[0], a, 3.0 * rise - 2.0 * a - b, a + b - 2.0 * rise],
        end: y[1],
    }
}

/// Cubic in u = √(distance from the end / room), zero at the end, `y` high with
/// slope `m` (away from the end) at u = 1.
///
/// The conic through the end with an upright tangent there, the same height and
/// the same slope is y² = 2ρx + kx²; its end radius ρ = y²(1 − s)/room, with
/// s = m·room/y, gives the coefficient of u. s < ½ is an ellipse, ½ the
/// parabola, above it a hyperbola.
fn round_end(room: f64, y: f64, m: f64) -> [f64; 4] {
    let s = m * room / y;
    let a = y * (2.0 * (1.0 - s)).max(0.0).sqrt();
    let b = 3.0 * y - 2.0 * a - 2.0 * s * y;
    [0.0, a, b, y - a - b]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn knot(at: f64, y: f64) -> Knot {
        Knot {
            at,
            before: y,
            after: y,
            corner: false,
        }
    }

    #[test]
    fn spline_without_limits_has_continuous_curvature() {
        // Knots of a cubic: the spline with the cubic's own end slopes is that cubic.
        let f = |x: f64| 1.0 + 2.0 * x + 0.3 * x * x + 0.1 * x * x * x;
        let df = |x: f64| 2.0 + 0.6 * x + 0.3 * x * x;
        let x = [0.0, 1.0, 2.5, 3.0, 5.0];
        let h: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
        let d: Vec<f64> = x
            .windows(2)
            .map(|w| (f(w[1]) - f(w[0])) / (w[1] - w[0]))
            .collect();
        let m = continuous_curvature(&d, &h, df(0.0), df(5.0));
        for (x, m) in x.iter().zip(m) {
            assert!((m - df(*x)).abs() < 1e-12);
        }
    }

    #[test]
    fn round_end_keeps_the_radius_and_slope_of_the_conic() {
        // A quarter ellipse 10 long and 4 high has the end radius 4²/10.
        let [_, a, ..] = round_end(10.0, 4.0, 0.0);
        assert!((a * a / (2.0 * 10.0) - 1.6).abs() < 1e-12);
        // A parabola is met exactly.
        let [_, a, b, c] = round_end(9.0, 3.0, 3.0 / 18.0);
        assert!((a - 3.0).abs() < 1e-12 && b.abs() < 1e-12 && c.abs() < 1e-12);
    }

    fn knots() -> impl Strategy<Value = (Vec<Knot>, f64)> {
        prop::collection::vec((0.5f64..30.0, 0.2f64..40.0, 0u8..6), 1..9).prop_map(|steps| {
            let mut at = 0.0;
            let knots = steps
                .iter()
                .map(|&(dx, y, kind)| {
                    at += dx;
                    Knot {
                        at,
                        before: y,
                        after: if kind == 0 { 0.5 * y } else { y },
                        corner: kind <= 1,
                    }
                })
                .collect();
            (knots, at + 3.0)
        })
    }

    proptest! {
        #[test]
        fn passes_through_its_knots_and_never_overshoots(
            (knots, length) in knots(),
            round in any::<[bool; 2]>(),
        ) {
            let end = |r| if r { End::Round } else { End::Pointed };
            let o = Outline::through(&knots, length, end(round[0]), end(round[1]));
            prop_assert_eq!(o.height(0.0), 0.0);
            prop_assert_eq!(o.height(length), 0.0);
            prop_assert_eq!(o.length(), length);
            for k in &knots {
                prop_assert!((o.height_before(k.at) - k.before).abs() < 1e-9 * k.before);
                prop_assert!((o.height(k.at) - k.after).abs() < 1e-9 * k.after);
            }
            let mut ends: Vec<(f64, f64, f64)> = vec![(0.0, 0.0, 0.0)];
            ends.extend(knots.iter().map(|k| (k.at, k.before, k.after)));
            ends.push((length, 0.0, 0.0));
            for w in ends.windows(2) {
                let (low, high) = (w[0].2.min(w[1].1), w[0].2.max(w[1].1));
                let mut previous = w[0].2;
                for i in 1..60 {
                    let x = w[0].0 + (w[1].0 - w[0].0) * f64::from(i) / 60.0;
                    let y = o.height(x);
                    prop_assert!(y > low - 1e-9 && y < high + 1e-9, "{y} not in {low}..{high}");
                    // Monotone from knot to knot.
                    prop_assert!((y - previous) * (w[1].1 - w[0].2) >= -1e-9);
                    previous = y;
                }
            }
        }

        #[test]
        fn tangent_runs_through_except_at_breaks((knots, length) in knots()) {
            let o = Outline::through(&knots, length, End::Round, End::Round);
            let breaks: Vec<f64> = o.breaks().map(|b| b.at).collect();
            for w in o.pieces.windows(2) {
                let x = w[0].to;
                if breaks.contains(&x) {
                    continue;
                }
                let ([ax, ay], _) = w[0].velocity(x);
                let ([bx, by], _) = w[1].velocity(x);
                let (left, right) = (ay / ax, by / bx);
                prop_assert!((left - right).abs() < 1e-9 * (1.0 + left.abs()));
            }
        }

        #[test]
        fn turned_end_for_end_gives_the_turned_outline((knots, length) in knots()) {
            let turned: Vec<Knot> = knots.iter().rev().map(|k| Knot {
                at: length - k.at, before: k.after, after: k.before, corner: k.corner,
            }).collect();
            let a = Outline::through(&knots, length, End::Round, End::Pointed);
            let b = Outline::through(&turned, length, End::Pointed, End::Round);
            for i in 1..200 {
                let x = length * f64::from(i) / 200.0;
                prop_assert!((a.height(x) - b.height_before(length - x)).abs() < 1e-7);
            }
        }

        #[test]
        fn bezier_path_is_the_outline((knots, length) in knots()) {
            use kurbo::ParamCurve;
            let o = Outline::through(&knots, length, End::Round, End::Pointed);
            let breaks: Vec<f64> = o.breaks().map(|b| b.at).collect();
            for segment in o.to_path().segments() {
                if matches!(segment, kurbo::PathSeg::Line(_)) {
                    continue;
                }
                for i in 1..8 {
                    let p = segment.eval(f64::from(i) / 8.0);
                    if breaks.iter().all(|b| (b - p.x).abs() > 1e-9) {
                        prop_assert!((o.height(p.x) - p.y).abs() < 1e-8);
                    }
                }
            }
        }
    }

    #[test]
    fn greatest_height_is_the_stated_one() {
        let knots = [knot(8.0, 5.5), knot(30.0, 9.5), knot(62.0, 6.0)];
        let o = Outline::through(&knots, 90.0, End::Round, End::Pointed);
        let (x, y) = o.greatest();
        assert!((x - 30.0).abs() < 1e-6 && (y - 9.5).abs() < 1e-12);
    }
}
