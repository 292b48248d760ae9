//! The fairest curve within a band.

use nalgebra::{Cholesky, DMatrix, DVector};

/// Pull towards the middles of the bands, as a share of the bending energy's scale: settles
/// what bending leaves open (a straight line has none) and nothing else.
const PULL: f64 = 1e-10;

/// Values at places `t` (strictly ascending, two or more), each within its band, such that the
/// natural cubic spline through them bends least: ∫ f″² is as small as it can be.
///
/// The energy of that spline is gᵀKg with K = Q R⁻¹ Qᵀ (Green & Silverman, Nonparametric
/// Regression and Generalized Linear Models, 1994, section 2.1), and no other curve that
/// stays within the bands at `t` has less. What is left is a convex quadratic programme
/// with bounds, solved by the primal active-set method (Nocedal & Wright, Numerical
/// Optimization, 2nd ed. 2006, algorithm 16.3): it starts at the middles of the bands and
/// never leaves them.
pub(super) fn fairest(t: &[f64], low: &[f64], high: &[f64]) -> Vec<f64> {
    let n = t.len();
    let middle = DVector::from_fn(n, |i, _| 0.5 * (low[i] + high[i]));
    if n < 3 {
        return middle.iter().copied().collect();
    }
    let mut energy = bending(t);
    let pull = PULL * energy.trace() / n as f64;
    for i in 0..n {
        energy[(i, i)] += pull;
    }
    let mut g = middle.clone();
    // Which band edge a value is held at: −1, 0 for none, 1; fixed ones have no band.
    let fixed = |i: usize| low[i] >= high[i];
    let mut held: Vec<i8> = vec![0; n];
    // Each round adds or drops one edge; this is far more than it ever takes.
    for _ in 0..50 * n {
        let gradient = &energy * &g - &middle * pull;
        let free: Vec<usize> = (0..n).filter(|&i| held[i] == 0 && !fixed(i)).collect();
        let mut step = DVector::zeros(free.len());
        if !free.is_empty() {
            let matrix =
                DMatrix::from_fn(free.len(), free.len(), |i, j| energy[(free[i], free[j])]);
            let Some(factor) = Cholesky::new(matrix) else {
                break;
            };
            step = factor.solve(&DVector::from_fn(free.len(), |i, _| -gradient[free[i]]));
        }
        // As far as the first band edge.
        let mut reach = (1.0, None);
        for (&i, &s) in free.iter().zip(step.iter()) {
            let room = if s > 0.0 {
                high[i] - g[i]
            } else {
                low[i] - g[i]
            };
            if s != 0.0 && room / s < reach.0 {
                reach = (room / s, Some((i, if s > 0.0 { 1 } else { -1 })));
            }
        }
        for (&i, &s) in free.iter().zip(step.iter()) {
            g[i] = (g[i] + reach.0 * s).clamp(low[i], high[i]);
        }
        if let Some((i, edge)) = reach.1 {
            held[i] = edge;
            g[i] = if edge > 0 { high[i] } else { low[i] };
            continue;
        }
        // At the least energy for what is held: let go of what pulls inward most.
        let gradient = &energy * &g - &middle * pull;
        let inward = |i: usize| f64::from(held[i]) * gradient[i];
        let worst = (0..n)
            .filter(|&i| held[i] != 0)
            .max_by(|&i, &j| inward(i).total_cmp(&inward(j)));
        match worst {
            Some(i) if inward(i) > 1e-12 * pull.max(gradient.amax()) => held[i] = 0,
            _ => break,
        }
    }
    g.iter().copied().collect()
}

/// The one value that is a slip of the hand, perhaps, with what the curve through all others has
/// there: one that stands alone, else one in a hump or dent of its own, else one at an end that
/// turns the way of its neighbours round. It stands off by more than `least`.
pub(super) fn doubted(t: &[f64], low: &[f64], high: &[f64], least: f64) -> Option<(usize, f64)> {
    alone(t, low, high, least)
        .or_else(|| humped(t, low, high, least))
        .or_else(|| turned(t, low, high, least))
}

/// Values on each side of one that is judged by them.
const BESIDE: usize = 2;

fn middles(low: &[f64], high: &[f64]) -> DVector<f64> {
    DVector::from_fn(low.len(), |i, _| 0.5 * (low[i] + high[i]))
}

/// The value that stands off the spline through all others by far more than any other does once it
/// is left out. Where the others follow no fair curve of their own, none is named.
///
/// What the natural spline through the others has at a place is the value of least energy gᵀKg there:
/// it is off by (Kg)ᵢ/Kᵢᵢ. With two left out, two such equations hold.
fn alone(t: &[f64], low: &[f64], high: &[f64], least: f64) -> Option<(usize, f64)> {
    /// So many times as far off as any other, at least (tried, as below).
    const FARTHER: f64 = 2.5;
    /// Share of what others make of it that it stands off at least. Of honest readings of random baits
    /// this names one in sixty (tried).
    const OFF: f64 = 0.08;
    let n = t.len();
    let (energy, middle) = (bending(t), middles(low, high));
    let pull = &energy * &middle;
    let fixed = |j: usize| low[j] >= high[j];
    let made = by_others(t, low, high).into_iter().enumerate();
    let candidates = made.filter_map(|(i, wanted)| {
        let wanted = wanted?;
        let off = middle[i] - wanted;
        if off.abs() <= least.max(OFF * wanted) {
            return None;
        }
        let others = (0..n).filter(|&j| j != i && !fixed(j)).map(|j| {
            let [a, b, d] = [energy[(i, i)], energy[(i, j)], energy[(j, j)]];
            ((a * pull[j] - b * pull[i]) / (a * d - b * b)).abs()
        });
        let farthest = others.fold(0.5 * least, f64::max);
        (off.abs() > FARTHER * farthest).then_some((i, wanted, off.abs()))
    });
    let worst = candidates.max_by(|a, b| a.2.total_cmp(&b.2))?;
    Some((worst.0, worst.1))
}

/// What the natural spline through the middles of all other bands has at each place; `None` near ends
/// and among few, where it would be a guess, and where it is none that a size could have.
pub(super) fn by_others(t: &[f64], low: &[f64], high: &[f64]) -> Vec<Option<f64>> {
    let n = t.len();
    if n < 2 * BESIDE + 2 {
        return vec![None; n];
    }
    let (energy, middle) = (bending(t), middles(low, high));
    let pull = &energy * &middle;
    let inner = |i: usize| (BESIDE..n - BESIDE).contains(&i);
    (0..n)
        .map(|i| inner(i).then(|| middle[i] - pull[i] / energy[(i, i)]))
        .map(|value| value.filter(|&value| value > 0.0))
        .collect()
}

/// The value within whose band the curve has to bend most for it alone, in a hump or dent of its own:
/// to both sides of it the values bend the other way. And most of the bending must be gone without
/// it. Ends, and lists too short to know better, give none.
fn humped(t: &[f64], low: &[f64], high: &[f64], least: f64) -> Option<(usize, f64)> {
    /// Share of what others make of it that a value stands off at least: a body drawn by few
    /// stations has some of half as much (reasoned).
    const OFF: f64 = 0.15;
    /// Share of the bending that may be left without it (reasoned).
    const LEFT: f64 = 0.3;
    /// How far its neighbours stand the other way, as a share of what it does: half of it where a
    /// straight line has one slip, none at the top of a stout body (reasoned).
    const BENT: f64 = 0.25;
    let n = t.len();
    if n < 2 * BESIDE + 2 {
        return None;
    }
    let middle: Vec<f64> = low.iter().zip(high).map(|(l, h)| 0.5 * (l + h)).collect();
    // What a value stands over the line between its neighbours.
    let over = |i: usize| {
        let share = (t[i] - t[i - 1]) / (t[i + 1] - t[i - 1]);
        middle[i] - middle[i - 1] - share * (middle[i + 1] - middle[i - 1])
    };
    let bend = |low: &[f64], high: &[f64]| {
        let g = DVector::from_vec(fairest(t, low, high));
        ((g.transpose() * bending(t) * &g)[(0, 0)], g)
    };
    let mut with_all = None;
    let top = high.iter().copied().fold(0.0, f64::max);
    (BESIDE..n - BESIDE)
        .filter(|&i| {
            let here = over(i);
            let hollow = |j: usize| -over(j) * here.signum() > BENT * here.abs();
            here.abs() > least && hollow(i - 1) && hollow(i + 1)
        })
        .filter_map(|i| {
            let all = *with_all.get_or_insert_with(|| bend(low, high).0);
            let (mut low, mut high) = (low.to_vec(), high.to_vec());
            (low[i], high[i]) = (0.0, 2.0 * top);
            let (without, g) = bend(&low, &high);
            let off = (middle[i] - g[i]).abs();
            (off > least.max(OFF * g[i]) && without < LEFT * all).then_some((i, g[i], off))
        })
        .max_by(|a, b| a.2.total_cmp(&b.2))
        .map(|(i, wanted, _)| (i, wanted))
}

/// A value at an end that is more than its neighbour although its neighbours fall towards it. At a
/// flat nose, which is the first of all places, that may be a cupped one.
fn turned(t: &[f64], low: &[f64], high: &[f64], least: f64) -> Option<(usize, f64)> {
    /// Share of its neighbour that it stands over that at least (reasoned).
    const OFF: f64 = 0.15;
    let free: Vec<usize> = (0..t.len()).filter(|&i| low[i] < high[i]).collect();
    let &[first, second, third, .., before, next, last] = &free[..] else {
        return None;
    };
    let (energy, middle) = (bending(t), middles(low, high));
    let pull = &energy * &middle;
    let rises = |[from, to, end]: [usize; 3]| {
        let falls = middle[from] - middle[to] > 0.25 * least;
        let over = middle[end] - middle[to];
        let wanted = middle[end] - pull[end] / energy[(end, end)];
        (falls && over > least.max(OFF * middle[to]))
            .then_some((end, wanted.clamp(0.0, middle[to])))
    };
    let at_nose = (first > 0).then(|| rises([third, second, first])).flatten();
    rises([before, next, last]).or(at_nose)
}

/// K of the natural cubic spline's bending energy.
fn bending(t: &[f64]) -> DMatrix<f64> {
    let n = t.len();
    let h: Vec<f64> = t.windows(2).map(|w| w[1] - w[0]).collect();
    let mut q = DMatrix::zeros(n, n - 2);
    let mut r = DMatrix::zeros(n - 2, n - 2);
    for j in 0..n - 2 {
        q[(j, j)] = 1.0 / h[j];
        q[(j + 1, j)] = -1.0 / h[j] - 1.0 / h[j + 1];
        q[(j + 2, j)] = 1.0 / h[j + 1];
        r[(j, j)] = (h[j] + h[j + 1]) / 3.0;
        if j + 3 < n {
            r[(j, j + 1)] = h[j + 1] / 6.0;
            r[(j + 1, j)] = h[j + 1] / 6.0;
        }
    }
    let inner = Cholesky::new(r).map(|c| c.solve(&q.transpose()));
    inner.map_or_else(|| DMatrix::zeros(n, n), |inner| q * inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn energy(t: &[f64], g: &[f64]) -> f64 {
        let g = DVector::from_column_slice(g);
        (g.transpose() * bending(t) * &g)[(0, 0)]
    }

    #[test]
    fn energy_is_that_of_the_natural_spline() {
        // A lone peak over three even knots: f″ is a tent of height −3·peak/h², so that
        // ∫f″² = 2/3 h (3/h²)² = 6/h³.
        let h = 2.0;
        let found = energy(&[0.0, h, 2.0 * h], &[0.0, 1.0, 0.0]);
        assert!((found - 6.0 / (h * h * h)).abs() < 1e-12);
    }

    #[test]
    fn others_make_of_a_place_what_bends_least_without_it() {
        let t = [0.0, 1.0, 2.5, 3.0, 4.5, 6.0];
        let values = [0.0, 2.0, 3.1, 2.4, 2.2, 0.0];
        for (i, found) in by_others(&t, &values, &values).into_iter().enumerate() {
            if !(2..4).contains(&i) {
                assert_eq!(found, None);
                continue;
            }
            let (mut low, mut high) = (values, values);
            (low[i], high[i]) = (0.0, 20.0);
            let fair = fairest(&t, &low, &high)[i];
            assert!((found.unwrap() - fair).abs() < 1e-5, "{found:?} {fair}");
        }
        assert_eq!(by_others(&t[..5], &values[..5], &values[..5]), [None; 5]);
    }

    #[test]
    fn a_line_within_the_bands_is_found() {
        let t: Vec<f64> = (0..20).map(f64::from).collect();
        let line = |x: f64| 3.0 + 0.25 * x;
        let wobble = |i: usize| 0.05 * (((i * 7) % 5) as f64 - 2.0) / 2.0;
        let low: Vec<f64> = (0..20).map(|i| line(t[i]) + wobble(i) - 0.06).collect();
        let high: Vec<f64> = low.iter().map(|l| l + 0.12).collect();
        let g = fairest(&t, &low, &high);
        assert!(energy(&t, &g) < 1e-9, "{}", energy(&t, &g));
    }

    #[test]
    fn no_neighbour_within_the_bands_bends_less() {
        let t: Vec<f64> = (0..15)
            .map(|i| 3.0 * f64::from(i) + 0.2 * f64::from(i % 3))
            .collect();
        let y = |i: usize| libm::sin(0.2 * t[i]) * 5.0 + 0.2 * (((i * 11) % 7) as f64 / 3.0 - 1.0);
        let low: Vec<f64> = (0..15).map(|i| y(i) - 0.1).collect();
        let high: Vec<f64> = (0..15).map(|i| y(i) + 0.1).collect();
        let g = fairest(&t, &low, &high);
        let best = energy(&t, &g);
        assert!(
            g.iter()
                .zip(&low)
                .zip(&high)
                .all(|((g, l), h)| g >= l && g <= h)
        );
        assert!(g.iter().zip(&low).any(|(g, l)| g == l), "the bands bind");
        for i in 0..15 {
            for d in [-1e-4, 1e-4] {
                let mut other = g.clone();
                other[i] = (other[i] + d).clamp(low[i], high[i]);
                assert!(energy(&t, &other) >= best * (1.0 - 1e-9));
            }
        }
    }
}
