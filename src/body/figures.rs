//! Exact areas, volumes and centres of a body.

use super::Body;
use crate::curve::{integrate, integrate_within};
use crate::mesh::slice::Sliced;

/// What quadrature may leave where exponents change along the body, as a share of the
/// whole.
const SHARE: f64 = 1e-13;

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
    /// Lowest and highest point, as z.
    pub reach: [f64; 2],
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
    /// Exact figures: polynomials are integrated to rounding; where the section's exponent
    /// changes along the body, to 1e-12 of the whole.
    pub fn figures(&self) -> Figures {
        if let Some(scan) = &self.scan {
            return of_scan(scan);
        }
        let outlines = [&self.back, &self.belly, &self.half_width];
        let mut joints = self.section.knots();
        joints.extend(self.camber.iter().flat_map(|c| c.knots()));
        let of = |x: f64, area: [f64; 2], moment: [f64; 2]| {
            let (up, down) = (self.back.height(x), self.belly.height(x));
            let w = self.half_width.height(x);
            let section = 2.0 * w * (area[0] * up + area[1] * down);
            let about_spine = 2.0 * w * (moment[0] * up * up - moment[1] * down * down);
            [
                section,
                section * x,
                about_spine + section * self.spine(x),
                up + down,
                2.0 * w,
            ]
        };
        let [volume, about_x, about_z, side, top] = if self.section.exponent().is_some() {
            let (area, moment) = (self.section.areas(0.0), self.section.moments(0.0));
            integrate(&outlines, &joints, |x| of(x, area, moment))
        } else {
            integrate_within(&outlines, &joints, SHARE, |x| {
                of(x, self.section.areas(x), self.section.moments(x))
            })
        };
        Figures {
            length: self.length(),
            height: self.greatest_height(),
            reach: self.reach(),
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
        let [back, belly] = self.section.areas(x);
        let heights = back * self.back.height(x) + belly * self.belly.height(x);
        2.0 * self.half_width.height(x) * heights
    }

    /// Greatest full height and where. Where back and belly differ, by a fine search
    /// between their knots.
    fn greatest_height(&self) -> (f64, f64) {
        if self.back == self.belly {
            let (x, h) = self.back.greatest();
            return (x, 2.0 * h);
        }
        self.highest(|x| {
            (self.back.height(x) + self.belly.height(x))
                .max(self.back.height_before(x) + self.belly.height_before(x))
        })
    }

    /// Lowest and highest point of the surface, as z. Where back and belly are not
    /// the whole story because the spine rises, by a fine search.
    fn reach(&self) -> [f64; 2] {
        let [top, bottom] = [(&self.back, 1.0), (&self.belly, -1.0)].map(|(outline, sign)| {
            if self.camber.is_none() {
                return outline.greatest().1;
            }
            self.highest(|x| outline.height(x).max(outline.height_before(x)) + sign * self.spine(x))
                .1
        });
        [-bottom, top]
    }

    /// Where a function of the outlines is greatest, and how great.
    fn highest(&self, full: impl Fn(f64) -> f64) -> (f64, f64) {
        const BETWEEN: usize = 64;
        let mut cuts: Vec<f64> = self.back.knots().chain(self.belly.knots()).collect();
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        let mut places = cuts.clone();
        for w in cuts.windows(2) {
            let inner = (1..BETWEEN).map(|i| w[0] + (w[1] - w[0]) * i as f64 / BETWEEN as f64);
            places.extend(inner);
        }
        places.sort_by(f64::total_cmp);
        let highest = (0..places.len()).max_by(|&i, &j| {
            // The first of equals wins.
            full(places[i]).total_cmp(&full(places[j])).then(j.cmp(&i))
        });
        let Some(i) = highest else {
            return (0.0, 0.0);
        };
        // Golden-section search between the neighbours of the highest place.
        let ratio = 0.5 * (5.0_f64.sqrt() - 1.0);
        let (mut a, mut b) = (
            places[i.saturating_sub(1)],
            places[(i + 1).min(places.len() - 1)],
        );
        for _ in 0..60 {
            let (c, d) = (b - ratio * (b - a), a + ratio * (b - a));
            if full(c) >= full(d) {
                b = d;
            } else {
                a = c;
            }
        }
        // A knot with a corner or a step is not found by narrowing in.
        [places[i], 0.5 * (a + b)]
            .map(|x| (x, full(x)))
            .into_iter()
            .fold((0.0, f64::NEG_INFINITY), |best, next| {
                if next.1 > best.1 { next } else { best }
            })
    }
}

/// Figures of a mesh: volume and centre exact, sizes and areas from many sections.
fn of_scan(scan: &Sliced) -> Figures {
    const SECTIONS: usize = 512;
    let mesh = scan.mesh();
    let length = mesh.bounds().map_or(0.0, |b| b.max.x);
    let step = length / SECTIONS as f64;
    let mut figures = Figures {
        length,
        height: (0.0, 0.0),
        reach: mesh.bounds().map_or([0.0; 2], |b| [b.min.z, b.max.z]),
        width: (0.0, 0.0),
        volume: mesh.volume(),
        centroid: mesh
            .mass_properties()
            .map_or([0.0; 3], |m| m.centroid.coords.into()),
        side_area: 0.0,
        top_area: 0.0,
        collar_volume: 0.0,
    };
    for i in 0..SECTIONS {
        let x = step * (i as f64 + 0.5);
        let section = scan.section(x);
        figures.side_area += step * section.shadow(1);
        figures.top_area += step * section.shadow(0);
        for (axis, most) in [(1, &mut figures.height), (0, &mut figures.width)] {
            if let Some([a, b]) = section.span(axis)
                && b - a > most.1
            {
                *most = (x, b - a);
            }
        }
    }
    figures
}
