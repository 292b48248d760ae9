//! Gauss–Legendre quadrature over the pieces of several outlines at once.

use super::outline::Outline;

/// Abscissae and weights of the 12-point rule on [-1, 1], positive half
/// (Abramowitz & Stegun, Table 25.4). Exact for polynomials up to degree 23.
const RULE: [(f64, f64); 6] = [
    (0.125_233_408_511_468_9, 0.249_147_045_813_402_8),
    (0.367_831_498_998_180_2, 0.233_492_536_538_354_8),
    (0.587_317_954_286_617_5, 0.203_167_426_723_065_9),
    (0.769_902_674_194_304_7, 0.160_078_328_543_346_23),
    (0.904_117_256_370_474_9, 0.106_939_325_995_318_43),
    (0.981_560_634_246_719_3, 0.047_175_336_386_511_83),
];

/// Integral over [a, b] of K functions at once.
fn gauss<const K: usize>(a: f64, b: f64, f: &mut impl FnMut(f64) -> [f64; K]) -> [f64; K] {
    let (mid, half) = (0.5 * (a + b), 0.5 * (b - a));
    let mut sum = [0.0; K];
    for (x, w) in RULE {
        let (left, right) = (f(mid - half * x), f(mid + half * x));
        for k in 0..K {
            sum[k] += w * (left[k] + right[k]);
        }
    }
    sum.map(|s| s * half)
}

/// Halvings of an interval at most.
const DEEPEST: u32 = 24;

/// As [`gauss`], halving the interval until the halves agree with the whole within
/// `enough`.
fn halving<const K: usize>(
    a: f64,
    b: f64,
    f: &mut impl FnMut(f64) -> [f64; K],
    enough: &[f64; K],
    whole: [f64; K],
    depth: u32,
) -> [f64; K] {
    let mid = 0.5 * (a + b);
    let (left, right) = (gauss(a, mid, f), gauss(mid, b, f));
    let sum: [f64; K] = std::array::from_fn(|k| left[k] + right[k]);
    if depth == 0 || (0..K).all(|k| (sum[k] - whole[k]).abs() <= enough[k]) {
        return sum;
    }
    let left = halving(a, mid, f, enough, left, depth - 1);
    let right = halving(mid, b, f, enough, right, depth - 1);
    std::array::from_fn(|k| left[k] + right[k])
}

/// Integrals over the whole length of K functions of x that are polynomials in
/// the heights of `outlines` and in x.
///
/// Between two knots an outline is a cubic in x, at a round nose a cubic in √x
/// and at a round tail a cubic in √(L − x). Where a round end is involved the
/// integration variable is that root, in which every outline is a polynomial;
/// the rule is then exact (to rounding) for integrands of total degree three in
/// the heights times x². Only where a nose rounding of one outline overlaps a
/// tail rounding of another is no such variable to be had; there the interval is
/// cut finely, which leaves less than 1e-12 of it.
///
/// `joints` are further places where an integrand is not smooth.
pub fn integrate<const K: usize>(
    outlines: &[&Outline],
    joints: &[f64],
    f: impl FnMut(f64) -> [f64; K],
) -> [f64; K] {
    over(outlines, joints, None, f)
}

/// As [`integrate`], for functions that are smooth between the joints but no polynomials:
/// intervals are halved until each agrees with its halves within `share` of the
/// whole integral of the absolute value.
///
/// The 12-point rule's error falls by 2⁻²⁴ with each halving of a smooth integrand, so that
/// what is left is far below `share`; rounding is about 1e-15.
pub fn integrate_within<const K: usize>(
    outlines: &[&Outline],
    joints: &[f64],
    share: f64,
    mut f: impl FnMut(f64) -> [f64; K],
) -> [f64; K] {
    let size = over(outlines, joints, None, |x| f(x).map(f64::abs));
    over(outlines, joints, Some(size.map(|s| s * share)), f)
}

fn over<const K: usize>(
    outlines: &[&Outline],
    joints: &[f64],
    enough: Option<[f64; K]>,
    mut f: impl FnMut(f64) -> [f64; K],
) -> [f64; K] {
    let mut total = [0.0; K];
    let mut add = |a: f64, b: f64, f: &mut dyn FnMut(f64) -> [f64; K]| {
        let mut f = f;
        let mut part = gauss(a, b, &mut f);
        if let Some(enough) = &enough {
            part = halving(a, b, &mut f, enough, part, DEEPEST);
        }
        for k in 0..K {
            total[k] += part[k];
        }
    };
    let length = outlines.first().map_or(0.0, |o| o.length());
    let mut cuts: Vec<f64> = outlines.iter().flat_map(|o| o.knots()).collect();
    cuts.extend(joints.iter().filter(|&&x| x > 0.0 && x < length));
    cuts.sort_by(f64::total_cmp);
    cuts.dedup();
    for pair in cuts.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let mid = 0.5 * (a + b);
        let nose = outlines.iter().any(|o| o.rounds_nose_at(mid));
        let tail = outlines.iter().any(|o| o.rounds_tail_at(mid));
        match (nose, tail) {
            (false, false) => add(a, b, &mut f),
            (true, false) => add(a.sqrt(), b.sqrt(), &mut |v| f(v * v).map(|y| 2.0 * v * y)),
            (false, true) => add((length - b).sqrt(), (length - a).sqrt(), &mut |v| {
                f(length - v * v).map(|y| 2.0 * v * y)
            }),
            (true, true) => {
                // x = L sin²(φ/2) takes the root out of both ends.
                let phase = |x: f64| 2.0 * libm::asin((x / length).clamp(0.0, 1.0).sqrt());
                let (from, to) = (phase(a), phase(b));
                const CUTS: usize = 16;
                for i in 0..CUTS {
                    let at = |i: usize| from + (to - from) * i as f64 / CUTS as f64;
                    add(at(i), at(i + 1), &mut |phi| {
                        let s = libm::sin(0.5 * phi);
                        let slope = 0.5 * length * libm::sin(phi);
                        f(length * s * s).map(|y| slope * y)
                    });
                }
            }
        }
    }
    total
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rule_is_exact_to_degree_23() {
        for degree in 0..=23 {
            let got = gauss(0.0, 1.0, &mut |x| [x.powi(degree)])[0];
            let want = 1.0 / f64::from(degree + 1);
            assert!((got - want).abs() < 1e-15, "degree {degree}: {got} {want}");
        }
        let got = gauss(0.0, 1.0, &mut |x| [x.powi(26)])[0];
        assert!((got - 1.0 / 27.0).abs() > 1e-16, "the test can fail");
    }
}
