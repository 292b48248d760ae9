//! Outlines with cubics laid on them.

use super::outline::{Chart, Outline, Piece};

/// What is added to an outline's height between two places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Lift {
    /// Where it begins.
    pub(crate) from: f64,
    /// Where it ends.
    pub(crate) to: f64,
    /// The cubic that is added, in (x − from)/(to − from).
    pub(crate) poly: [f64; 4],
}

impl Outline {
    /// The outline with lifts added, exactly: a cubic and a cubic make a cubic. Both ends of
    /// every lift become breaks. Lifts run from nose to tail without overlap, and not
    /// into a round end, whose height is no cubic in x.
    pub(crate) fn lifted(&self, lifts: &[Lift]) -> Outline {
        let mut pieces = Vec::with_capacity(self.pieces.len() + 2 * lifts.len());
        for piece in &self.pieces {
            if piece.chart != Chart::Even {
                pieces.push(*piece);
                continue;
            }
            let within = |x: &f64| *x > piece.from && *x < piece.to;
            let mut cuts = vec![piece.from];
            cuts.extend(lifts.iter().flat_map(|l| [l.from, l.to]).filter(within));
            cuts.push(piece.to);
            cuts.sort_by(f64::total_cmp);
            cuts.dedup();
            for w in cuts.windows(2) {
                let mid = 0.5 * (w[0] + w[1]);
                let mut part = piece.part(w[0], w[1]);
                if let Some(lift) = lifts.iter().find(|l| l.from < mid && mid < l.to) {
                    let span = lift.to - lift.from;
                    let u = w.iter().map(|x| (x - lift.from) / span);
                    let u: Vec<f64> = u.collect();
                    let add = shifted(lift.poly, u[0], u[1] - u[0]);
                    for (c, a) in part.poly.iter_mut().zip(add) {
                        *c += a;
                    }
                    part.end += value(lift.poly, u[1]);
                }
                pieces.push(part);
            }
        }
        let mut breaks = self.breaks.clone();
        breaks.extend(lifts.iter().flat_map(|l| [l.from, l.to]));
        breaks.retain(|&x| x > 0.0 && x < self.length());
        breaks.sort_by(f64::total_cmp);
        breaks.dedup();
        Outline { pieces, breaks }
    }
}

impl Piece {
    /// The piece of an even one between two places of it.
    fn part(&self, from: f64, to: f64) -> Piece {
        let u = |x: f64| (x - self.from) / (self.to - self.from);
        let end = if to == self.to {
            self.end
        } else {
            value(self.poly, u(to))
        };
        Piece {
            from,
            to,
            chart: Chart::Even,
            poly: shifted(self.poly, u(from), u(to) - u(from)),
            end,
        }
    }
}

fn value([a, b, c, d]: [f64; 4], u: f64) -> f64 {
    a + u * (b + u * (c + u * d))
}

/// The cubic in s that `poly` is in u = start + step·s.
fn shifted(poly: [f64; 4], start: f64, step: f64) -> [f64; 4] {
    let [_, b, c, d] = poly;
    [
        value(poly, start),
        step * (b + start * (2.0 * c + start * 3.0 * d)),
        step * step * (c + 3.0 * d * start),
        step * step * step * d,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::{End, Knot};

    #[test]
    fn is_the_sum_everywhere_and_breaks_at_the_edges() {
        let knot = |at: f64, y: f64| Knot {
            at,
            before: y,
            after: y,
            corner: false,
        };
        let knots = [knot(8.0, 5.5), knot(30.0, 9.5), knot(62.0, 6.0)];
        let plain = Outline::through(&knots, 90.0, End::Round, End::Pointed);
        let lifts: Vec<Lift> = (0..8)
            .map(|i| Lift {
                from: 20.0 + 3.0 * f64::from(i),
                to: 23.0 + 3.0 * f64::from(i),
                poly: [0.0, 4.0, -4.0, 0.0],
            })
            .collect();
        let ribbed = plain.lifted(&lifts);
        for i in 1..9000 {
            let x = 0.01 * f64::from(i);
            let t = ((x - 20.0) / 3.0).fract();
            let add = if !(20.0..44.0).contains(&x) {
                0.0
            } else {
                4.0 * t * (1.0 - t)
            };
            let off = ribbed.height(x) - plain.height(x) - add;
            assert!(off.abs() < 1e-11, "{x}: {off}");
        }
        let breaks: Vec<f64> = ribbed.breaks().map(|b| b.at).collect();
        assert_eq!(breaks.len(), 9);
        assert!(ribbed.breaks().all(|b| (b.before - b.after).abs() < 1e-12));
        // Joints within do not move the outline either.
        for w in ribbed.pieces.windows(2) {
            assert!((w[0].end - w[1].poly[0]).abs() < 1e-12);
        }
    }
}
