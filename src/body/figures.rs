//! Exact areas, volumes and centres of a body.

use super::Body;
use crate::curve::integrate;

/// Exact figures of a body, from its curves, not from a mesh. The collar is not
/// counted: it is a core print, no plastic fills it.
///
/// # Units
/// Millimetres and their squares and cubes.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Figures {
    /// Length.
    pub length: f64,
    /// Greatest full height and where it is, as (x, height).
    pub height: (f64, f64),
    /// Greatest full width and where it is, as (x, width).
    pub width: (f64, f64),
    /// Volume.
    pub volume: f64,
    /// Centre of volume, as [x, y, z]; y is zero.
    pub centroid: [f64; 3],
    /// Area seen from the side (along y).
    pub side_area: f64,
    /// Area seen from above (along z).
    pub top_area: f64,
    /// Volume of the collar.
    pub collar_volume: f64,
}

impl Body {
    /// Exact figures.
    pub fn figures(&self) -> Figures {
        let (area, moment) = (self.section.area(), self.section.moment());
        let outlines = [&self.back, &self.belly, &self.half_width];
        let [volume, about_x, about_z, side, top] = integrate(&outlines, |x| {
            let (up, down) = (self.back.height(x), self.belly.height(x));
            let w = self.half_width.height(x);
            let section = 2.0 * area * w * (up + down);
            [
                section,
                section * x,
                2.0 * moment * w * (up * up - down * down),
                up + down,
                2.0 * w,
            ]
        });
        Figures {
            length: self.length(),
            height: self.greatest_height(),
            width: {
                let (x, w) = self.half_width.greatest();
                (x, 2.0 * w)
            },
            volume,
            centroid: [about_x / volume, 0.0, about_z / volume],
            side_area: side,
            top_area: top,
            collar_volume: self
                .collar
                .iter()
                .map(|c| std::f64::consts::PI * c.radius * c.radius * c.length)
                .sum(),
        }
    }

    /// Area of the section at x.
    pub fn section_area(&self, x: f64) -> f64 {
        let height = self.back.height(x) + self.belly.height(x);
        2.0 * self.section.area() * self.half_width.height(x) * height
    }

    /// Greatest full height and where, by comparing the places where either outline
    /// may have it and then narrowing in on the best.
    fn greatest_height(&self) -> (f64, f64) {
        if self.back == self.belly {
            let (x, h) = self.back.greatest();
            return (x, 2.0 * h);
        }
        let full = |x: f64| {
            (self.back.height(x) + self.belly.height(x))
                .max(self.back.height_before(x) + self.belly.height_before(x))
        };
        let mut cuts: Vec<f64> = self.back.knots().chain(self.belly.knots()).collect();
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        let mut best = (0.0, 0.0);
        let mut better = |x: f64| {
            if full(x) > best.1 {
                best = (x, full(x));
            }
        };
        for w in cuts.windows(2) {
            better(w[0]);
            better(w[1]);
            // Golden-section search: between knots the sum has one hill at most.
            let ratio = 0.5 * (5.0_f64.sqrt() - 1.0);
            let (mut a, mut b) = (w[0], w[1]);
            for _ in 0..60 {
                let (c, d) = (b - ratio * (b - a), a + ratio * (b - a));
                if full(c) >= full(d) {
                    b = d;
                } else {
                    a = c;
                }
            }
            better(0.5 * (a + b));
        }
        best
    }
}
