//! Strands along a planar spine: what tails and legs are swept from.

use nalgebra::{Point3, Vector3};

use crate::curve::Section;
use crate::mesh::Mesh;
use crate::mesh::sweep::{Rib, sweep};

/// Share of the tolerance that chords along a strand, and facets around it, may stand off.
const SHARE: f64 = 0.75;
/// Ribs of a strand: enough to look smooth; more than the longest at the finest tolerance needs.
const RIBS: std::ops::RangeInclusive<usize> = 8..=1600;
/// Facets of a section's quarter, likewise.
const QUARTER: std::ops::RangeInclusive<usize> = 3..=160;
/// Least ribs of a round tip.
const TIP: usize = 5;

/// The half-axes of a section and how far it is a lens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Size {
    /// In the plane of the spine: to the side that is up where it runs level, and to the other.
    pub(super) along: [f64; 2],
    /// Across it.
    pub(super) across: f64,
    /// 0: an ellipse; 1: a lens of two parabolas, its edges in the plane of the spine.
    pub(super) lens: f64,
}

impl Size {
    fn widest(&self) -> f64 {
        self.along[0].max(self.along[1]).max(self.across)
    }
}

/// How a strand ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tip {
    /// Rounded over this length.
    Round(f64),
    /// Flat, in the plane across this direction within the plane of the spine.
    Flat([f64; 2]),
}

/// A strand in its own plane: spine through (x, z), heading as (cos, sin) from x to z.
pub(super) struct Strand<'a> {
    /// From −`root` inside the body to the strand's length.
    pub(super) root: f64,
    pub(super) length: f64,
    pub(super) spine: &'a dyn Fn(f64) -> ([f64; 2], [f64; 2]),
    pub(super) size: &'a dyn Fn(f64) -> Size,
    pub(super) tip: Tip,
}

impl Strand<'_> {
    /// The surface, mirror image of itself in y = 0.
    pub(super) fn mesh(&self, tolerance: f64) -> Mesh {
        let sag = SHARE * tolerance;
        let round = match self.tip {
            Tip::Round(r) => r,
            Tip::Flat(_) => 0.0,
        };
        let straight = self.length - round;
        let count = self.ribs(straight, sag);
        let mut places = self.places(straight, count);
        let shrink = |s: f64| {
            if s <= straight {
                return 1.0;
            }
            let t = (s - straight) / round;
            (1.0 - t * t).max(0.0).sqrt()
        };
        let ellipse = Section::new(2.0);
        let facets = |radius: f64| {
            let mut n = *QUARTER.start();
            while ellipse.sag(n) * radius > sag && n < *QUARTER.end() {
                n += 1;
            }
            n
        };
        if round > 0.0 {
            let end = (self.size)(straight);
            let count = facets(round.max(end.widest())).max(TIP);
            for k in 1..count {
                let part = std::f64::consts::FRAC_PI_2 * k as f64 / count as f64;
                places.push(straight + round * libm::sin(part));
            }
        }
        let widest = places
            .iter()
            .map(|&s| (self.size)(s))
            .fold(0.0, |most: f64, size| most.max(size.widest()));
        let n = facets(widest);
        let out = 1.0 + 0.5 * ellipse.sag(n);
        let ribs: Vec<Rib> = places
            .iter()
            .map(|&s| {
                let ([x, z], [cos, sin]) = (self.spine)(s);
                let size = (self.size)(s);
                let grow = out * shrink(s);
                let mut level = [-sin, cos];
                if let Tip::Flat(direction) = self.tip {
                    // The last section lies in the plane asked for, those before turn into it.
                    let part = ((s + self.root) / (straight + self.root)).clamp(0.0, 1.0);
                    let share = part * part * part;
                    for i in 0..2 {
                        level[i] += share * (direction[i] - level[i]);
                    }
                }
                Rib {
                    centre: Point3::new(x, 0.0, z),
                    // Level × across has to point along the spine: z × (−y) = x.
                    along: Vector3::new(level[0], 0.0, level[1]) * (size.along[0] * grow),
                    other: size.along[1] / size.along[0],
                    across: Vector3::new(0.0, -size.across * grow, 0.0),
                    quarter: quarter(n, size.lens),
                }
            })
            .collect();
        let at = |s: f64| {
            let ([x, z], _) = (self.spine)(s);
            Point3::new(x, 0.0, z)
        };
        sweep(at(-self.root), &ribs, at(self.length))
    }

    /// Places of about so many equal chords up to where the tip begins, one of them at the end of
    /// the body, where a straight strand has a corner.
    fn places(&self, straight: f64, count: usize) -> Vec<f64> {
        let step = (straight + self.root) / count as f64;
        let mut places = vec![-self.root];
        for [from, to] in [[-self.root, 0.0], [0.0, straight]] {
            let parts = libm::round((to - from) / step).max(1.0) as usize;
            let part = |k: usize| from + (to - from) * k as f64 / parts as f64;
            if to > from {
                places.extend((1..parts).map(part));
                places.push(to);
            }
        }
        places
    }

    /// Chords along the strand that keep both its edges and its thickness within `sag`.
    fn ribs(&self, straight: f64, sag: f64) -> usize {
        const SAMPLES: usize = 400;
        let span = straight + self.root;
        let h = span / SAMPLES as f64;
        let edges = |k: usize| {
            let s = -self.root + h * k as f64;
            let ([x, z], [cos, sin]) = (self.spine)(s);
            let a = (self.size)(s);
            [
                x - sin * a.along[0],
                z + cos * a.along[0],
                x + sin * a.along[1],
                z - cos * a.along[1],
                a.across,
            ]
        };
        let mut most: f64 = 0.0;
        for k in 1..SAMPLES {
            let (p, q, r) = (edges(k - 1), edges(k), edges(k + 1));
            let second = [0, 1, 2, 3, 4].map(|i| (p[i] - 2.0 * q[i] + r[i]) / (h * h));
            for pair in [
                [second[0], second[1]],
                [second[2], second[3]],
                [second[4], 0.0],
            ] {
                most = most.max(libm::hypot(pair[0], pair[1]));
            }
        }
        let count = libm::ceil(span * (most / (8.0 * sag)).sqrt()) as usize;
        count.clamp(*RIBS.start(), *RIBS.end())
    }
}

/// A quarter of a section between ellipse and lens: (cos a, (1 − l) sin a + l sin² a).
fn quarter(count: usize, lens: f64) -> Vec<[f64; 2]> {
    Section::circle(count)
        .into_iter()
        .map(|[c, s]| [c, (1.0 - lens) * s + lens * s * s])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn straight(s: f64) -> ([f64; 2], [f64; 2]) {
        ([s, 0.0], [1.0, 0.0])
    }

    #[test]
    fn a_long_taper_has_its_corner_where_it_leaves_the_body() {
        let radius = |s: f64| 20.0 - 0.05 * s.clamp(0.0, 399.0);
        let taper = Strand {
            root: 7.3,
            length: 400.0,
            spine: &straight,
            size: &|s| Size {
                along: [radius(s); 2],
                across: 3.0 * radius(s),
                lens: 0.0,
            },
            tip: Tip::Round(1.0),
        }
        .mesh(0.01);
        taper.check().unwrap();
        for x in [-1.0, -0.5, -0.1, 0.0, 0.1, 0.5, 1.0, 2.0] {
            for p in [
                Point3::new(x, 0.0, radius(x)),
                Point3::new(x, 3.0 * radius(x), 0.0),
            ] {
                assert!(taper.distance(&p) < 0.01, "{p}: {}", taper.distance(&p));
            }
        }
    }

    #[test]
    fn cone_with_round_tip_and_lens_have_their_closed_volumes() {
        // A frustum and half a spheroid; the lens between two parabolas has 4/3 of its
        // half-axes' rectangle… times two for both sides: 8/3 a b.
        let cone = Strand {
            root: 2.0,
            length: 20.0,
            spine: &straight,
            size: &|s| {
                let r = 3.0 - 2.0 * ((s + 2.0) / 21.0).min(1.0);
                Size {
                    along: [r; 2],
                    across: r,
                    lens: 0.0,
                }
            },
            tip: Tip::Round(1.0),
        }
        .mesh(0.002);
        cone.check().unwrap();
        let exact = PI * 21.0 * (9.0 + 3.0 + 1.0) / 3.0 + 2.0 / 3.0 * PI;
        assert!(
            (cone.volume() / exact - 1.0).abs() < 3e-3,
            "{} {exact}",
            cone.volume()
        );
        let lens = Strand {
            root: 0.0,
            length: 10.0,
            spine: &straight,
            size: &|_| Size {
                along: [4.0; 2],
                across: 1.0,
                lens: 1.0,
            },
            tip: Tip::Flat([0.0, 1.0]),
        }
        .mesh(0.002);
        lens.check().unwrap();
        let exact = 8.0 / 3.0 * 4.0 * 10.0;
        assert!(
            (lens.volume() / exact - 1.0).abs() < 5e-3,
            "{} {exact}",
            lens.volume()
        );
    }
}
