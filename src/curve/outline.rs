//! Distance of the surface from the axis along the body.

use kurbo::{BezPath, CubicBez, Point};

use super::spline;
use crate::spec::{End, Knot};

/// How x runs within a piece, in terms of the piece's own variable u in 0..=1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Chart {
    /// x = from + (to − from) u.
    Even,
    /// x = to u²: a round nose, from = 0.
    Nose,
    /// x = to − (to − from) u²: a round tail, to = length; u runs backwards.
    Tail,
}

/// One piece: the height is the cubic `poly[0] + poly[1] u + poly[2] u² + poly[3] u³`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Piece {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) chart: Chart,
    pub(super) poly: [f64; 4],
    /// Height at u = 1, which the polynomial meets only to rounding.
    pub(super) end: f64,
}

impl Piece {
    fn u(&self, x: f64) -> f64 {
        let u = match self.chart {
            Chart::Even => (x - self.from) / (self.to - self.from),
            Chart::Nose => (x / self.to).max(0.0).sqrt(),
            Chart::Tail => ((self.to - x) / (self.to - self.from)).max(0.0).sqrt(),
        };
        u.clamp(0.0, 1.0)
    }

    fn height(&self, x: f64) -> f64 {
        let u = self.u(x);
        if u == 1.0 {
            return self.end;
        }
        let [a, b, c, d] = self.poly;
        a + u * (b + u * (c + u * d))
    }

    /// First and second derivative of the plane curve (x, y) by u.
    pub(super) fn velocity(&self, x: f64) -> ([f64; 2], [f64; 2]) {
        let u = self.u(x);
        let [_, b, c, d] = self.poly;
        let dy = b + u * (2.0 * c + u * 3.0 * d);
        let ddy = 2.0 * c + 6.0 * d * u;
        let span = self.to - self.from;
        match self.chart {
            Chart::Even => ([span, dy], [0.0, ddy]),
            Chart::Nose => ([2.0 * span * u, dy], [2.0 * span, ddy]),
            Chart::Tail => ([-2.0 * span * u, dy], [-2.0 * span, ddy]),
        }
    }

    fn bezier(&self) -> CubicBez {
        let [a, b, c, _] = self.poly;
        let ys = [a, a + b / 3.0, a + (2.0 * b + c) / 3.0, self.end];
        let (from, to) = (self.from, self.to);
        let span = to - from;
        let xs = match self.chart {
            Chart::Even => [from, from + span / 3.0, to - span / 3.0, to],
            Chart::Nose => [from, from, from + span / 3.0, to],
            Chart::Tail => [to, to, to - span / 3.0, from],
        };
        let p: Vec<Point> = xs.iter().zip(ys).map(|(&x, y)| Point::new(x, y)).collect();
        match self.chart {
            Chart::Tail => CubicBez::new(p[3], p[2], p[1], p[0]),
            _ => CubicBez::new(p[0], p[1], p[2], p[3]),
        }
    }

    /// Places within the piece where the height has a level tangent.
    fn level(&self) -> impl Iterator<Item = f64> {
        let [_, b, c, d] = self.poly;
        let (from, to, chart) = (self.from, self.to, self.chart);
        kurbo::common::solve_quadratic(b, 2.0 * c, 3.0 * d)
            .into_iter()
            .filter(|u| (0.0..=1.0).contains(u))
            .map(move |u| match chart {
                Chart::Even => from + (to - from) * u,
                Chart::Nose => to * u * u,
                Chart::Tail => to - (to - from) * u * u,
            })
    }
}

/// A place where an outline is not smooth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Break {
    /// Distance from the nose.
    pub at: f64,
    /// Height coming from the nose.
    pub before: f64,
    /// Height going on to the tail; differs from `before` at a step.
    pub after: f64,
}

/// Distance of the surface from the axis as a function of x, over `0..=length`.
///
/// # Units
/// Millimetres. Heights are never negative, and positive except at round and
/// pointed ends, where they are exactly zero.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    pub(super) pieces: Vec<Piece>,
    /// Joints at which the tangent or the height jumps; their x, ascending.
    pub(super) breaks: Vec<f64>,
}

impl Outline {
    /// The smooth outline through `knots`.
    ///
    /// Between corners the outline is the cubic spline with continuous curvature,
    /// its slopes then limited so that it rises where the knots rise, falls
    /// where they fall, and is level at their highest and lowest: it never
    /// leaves the span of the two knots it runs between (Fritsch & Carlson, SIAM
    /// J. Numer. Anal. 17 (1980) 238; the filter is that of Dougherty, Edelman &
    /// Hyman, Math. Comp. 52 (1989) 471). Where the filter acts, curvature
    /// jumps; the tangent does not. A round end is the cubic, in the root of the
    /// distance from the end, that has the end radius of the conic through the
    /// same knot with the same slope there.
    ///
    /// `knots` must satisfy what [`Knot`] promises (a checked
    /// [`Design`](crate::spec::Design) does).
    pub fn through(knots: &[Knot], length: f64, nose: End, tail: End) -> Self {
        spline::through(knots, length, nose, tail)
    }

    /// Length of the body.
    pub fn length(&self) -> f64 {
        self.pieces.last().map_or(0.0, |p| p.to)
    }

    /// Height at x (at a step the one towards the tail; clamped to the ends).
    pub fn height(&self, x: f64) -> f64 {
        self.after(x).height(x).max(0.0)
    }

    /// Height just before x, coming from the nose.
    pub fn height_before(&self, x: f64) -> f64 {
        self.before(x).height(x).max(0.0)
    }

    /// Slope dy/dx at x, infinite at a round end; at a joint the one towards the tail.
    pub fn slope(&self, x: f64) -> f64 {
        let ([dx, dy], _) = self.after(x).velocity(x);
        dy / dx
    }

    /// First and second derivative of the plane curve (x, y) by its own variable, at a
    /// joint those towards the tail.
    pub(crate) fn motion(&self, x: f64) -> ([f64; 2], [f64; 2]) {
        self.after(x).velocity(x)
    }

    /// The outline stretched in both directions.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let piece = |p: &Piece| Piece {
            from: p.from * factor,
            to: p.to * factor,
            chart: p.chart,
            poly: p.poly.map(|c| c * factor),
            end: p.end * factor,
        };
        Outline {
            pieces: self.pieces.iter().map(piece).collect(),
            breaks: self.breaks.iter().map(|x| x * factor).collect(),
        }
    }

    /// Places where the outline is not smooth, ends not counted, ascending.
    pub fn breaks(&self) -> impl Iterator<Item = Break> + '_ {
        self.breaks.iter().map(|&at| Break {
            at,
            before: self.height_before(at),
            after: self.height(at),
        })
    }

    /// Ends of all pieces, ascending, both ends of the body included.
    pub fn knots(&self) -> impl Iterator<Item = f64> + '_ {
        std::iter::once(0.0).chain(self.pieces.iter().map(|p| p.to))
    }

    /// Greatest height and where it is reached (first place of several).
    pub fn greatest(&self) -> (f64, f64) {
        let mut best = (0.0, 0.0);
        for piece in &self.pieces {
            for x in [piece.from, piece.to].into_iter().chain(piece.level()) {
                let y = piece.height(x);
                if y > best.1 {
                    best = (x, y);
                }
            }
        }
        best
    }

    /// The outline as Bézier curves, exactly, from (0, height) to (length, height);
    /// steps as upright lines.
    pub fn to_path(&self) -> BezPath {
        let mut path = BezPath::new();
        for piece in &self.pieces {
            let c = piece.bezier();
            match path.elements().last().and_then(|e| e.end_point()) {
                None => path.move_to(c.p0),
                // A step leaves the old height at the same x.
                Some(p) if p.y != c.p0.y => path.line_to(c.p0),
                Some(_) => {}
            }
            path.curve_to(c.p1, c.p2, c.p3);
        }
        path
    }

    pub(super) fn rounds_nose_at(&self, x: f64) -> bool {
        self.after(x).chart == Chart::Nose
    }

    pub(super) fn rounds_tail_at(&self, x: f64) -> bool {
        self.after(x).chart == Chart::Tail
    }

    /// The piece that holds x, at a joint the one towards the tail.
    fn after(&self, x: f64) -> &Piece {
        let i = self.pieces.partition_point(|p| p.to <= x);
        &self.pieces[i.min(self.pieces.len() - 1)]
    }

    /// The piece that holds x, at a joint the one towards the nose.
    fn before(&self, x: f64) -> &Piece {
        let i = self.pieces.partition_point(|p| p.to < x);
        &self.pieces[i.min(self.pieces.len() - 1)]
    }
}
