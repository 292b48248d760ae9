//! Shapes of inserts: turned bodies about an axis along x, and bent wire.

use nalgebra::{Point3, Vector3};

use crate::spec::{WeightDesign, WeightShape};

/// A shape in its place.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A body of revolution about a line along x: the outline of half its section as a closed
    /// polygon of (x, distance from the line).
    Turned {
        /// Height of the line.
        height: f64,
        /// The polygon.
        outline: Vec<[f64; 2]>,
    },
    /// Round wire along polylines.
    Strands {
        /// The lines.
        lines: Vec<Vec<Point3<f64>>>,
        /// Half the wire's thickness.
        radius: f64,
    },
}

impl Shape {
    /// The shape of a weight, round parts in chords that stray by less than 0.3 % of the diameter.
    #[must_use]
    pub fn of_weight(weight: &WeightDesign) -> Self {
        const CHORDS: usize = 40;
        let (r, l, h) = (0.5 * weight.diameter, weight.length, 0.5 * weight.hole);
        let x0 = weight.at - 0.5 * l;
        let mut outline: Vec<[f64; 2]> = match weight.shape {
            WeightShape::Cylinder => vec![[0.0, r], [l, r]],
            WeightShape::Cone => vec![[l * h / r, h], [l, r]],
            WeightShape::Ball | WeightShape::Egg => {
                let front = if weight.shape == WeightShape::Egg {
                    0.4 * l
                } else {
                    0.5 * l
                };
                (0..=CHORDS)
                    .map(|i| {
                        let turn = std::f64::consts::PI * i as f64 / CHORDS as f64;
                        let (sin, cos) = libm::sincos(turn);
                        let half = if cos > 0.0 { front } else { l - front };
                        [front - half * cos, r * sin]
                    })
                    .filter(|p| p[1] >= h)
                    .collect()
            }
        };
        // Down to the hole, or the axis, at both ends.
        for end in [0, outline.len()] {
            let at = if end == 0 {
                outline[0][0]
            } else {
                outline[outline.len() - 1][0]
            };
            outline.insert(if end == 0 { 0 } else { outline.len() }, [at, h]);
        }
        outline.dedup();
        for p in &mut outline {
            p[0] += x0;
        }
        Shape::Turned {
            height: weight.height,
            outline,
        }
    }

    /// Distance from a point to the surface, in mm; inside, negative.
    #[must_use]
    pub fn distance(&self, p: &Point3<f64>) -> f64 {
        match self {
            Shape::Turned { height, outline } => {
                let rho = libm::hypot(p.y, p.z - height);
                let (mut square, mut inside) = (f64::INFINITY, false);
                for i in 0..outline.len() {
                    let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
                    if (a[1] > rho) != (b[1] > rho)
                        && p.x < a[0] + (rho - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
                    {
                        inside = !inside;
                    }
                    // The edge along the axis is no surface.
                    if a[1] <= 0.0 && b[1] <= 0.0 {
                        continue;
                    }
                    let (dx, dr) = (b[0] - a[0], b[1] - a[1]);
                    let length = dx * dx + dr * dr;
                    let t = if length > 0.0 {
                        (((p.x - a[0]) * dx + (rho - a[1]) * dr) / length).clamp(0.0, 1.0)
                    } else {
                        0.0
                    };
                    let (ex, er) = (a[0] + t * dx - p.x, a[1] + t * dr - rho);
                    square = square.min(ex * ex + er * er);
                }
                if inside {
                    -square.sqrt()
                } else {
                    square.sqrt()
                }
            }
            Shape::Strands { lines, radius } => {
                let mut square = f64::INFINITY;
                for line in lines {
                    for w in line.windows(2) {
                        let (along, to) = (w[1] - w[0], p - w[0]);
                        let length = along.norm_squared();
                        let t = if length > 0.0 {
                            (to.dot(&along) / length).clamp(0.0, 1.0)
                        } else {
                            0.0
                        };
                        square = square.min((to - along * t).norm_squared());
                    }
                }
                square.sqrt() - radius
            }
        }
    }

    /// Points on the surface, no further apart than about a millimetre.
    #[must_use]
    pub fn samples(&self) -> Vec<Point3<f64>> {
        const AROUND: usize = 24;
        let turn =
            |k: usize, of: usize| libm::sincos(2.0 * std::f64::consts::PI * k as f64 / of as f64);
        let mut found = Vec::new();
        match self {
            Shape::Turned { height, outline } => {
                for i in 0..outline.len() {
                    let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
                    if a[1] <= 0.0 && b[1] <= 0.0 {
                        continue;
                    }
                    for [x, r] in steps(a, b, 0.8) {
                        for k in 0..AROUND {
                            let (sin, cos) = turn(k, AROUND);
                            found.push(Point3::new(x, r * sin, height + r * cos));
                        }
                    }
                }
            }
            Shape::Strands { radius, .. } => {
                const AROUND: usize = 8;
                for (at, along) in self.course(0.8) {
                    let helper = if along.y.abs() < 0.9 {
                        Vector3::y()
                    } else {
                        Vector3::x()
                    };
                    let u = along.cross(&helper).normalize();
                    let v = along.cross(&u);
                    for k in 0..AROUND {
                        let (sin, cos) = turn(k, AROUND);
                        found.push(at + (u * cos + v * sin) * *radius);
                    }
                }
            }
        }
        found
    }

    /// Points along the middle of its wire, with the direction there; none for a turned body.
    #[must_use]
    pub fn course(&self, step: f64) -> Vec<(Point3<f64>, Vector3<f64>)> {
        let Shape::Strands { lines, .. } = self else {
            return Vec::new();
        };
        let mut found = Vec::new();
        for w in lines.iter().flat_map(|line| line.windows(2)) {
            let length = (w[1] - w[0]).norm();
            if length > 0.0 {
                let n = parts(length, step);
                let along = (w[1] - w[0]) / length;
                found
                    .extend((0..=n).map(|i| (w[0] + (w[1] - w[0]) * (i as f64 / n as f64), along)));
            }
        }
        found
    }
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn parts(length: f64, step: f64) -> usize {
    (libm::ceil(length / step) as usize).clamp(1, 4096)
}

fn steps(a: [f64; 2], b: [f64; 2], step: f64) -> impl Iterator<Item = [f64; 2]> {
    let n = parts(libm::hypot(b[0] - a[0], b[1] - a[1]), step);
    // The end of one step is the beginning of the next.
    (0..n).map(move |i| {
        let t = i as f64 / n as f64;
        [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_to_a_bored_cylinder_and_a_ball() {
        let weight = |shape, hole| WeightDesign {
            shape,
            density: 11.34,
            diameter: 8.0,
            length: if shape == WeightShape::Ball {
                8.0
            } else {
                20.0
            },
            hole,
            at: 30.0,
            height: -2.0,
        };
        let bored = Shape::of_weight(&weight(WeightShape::Cylinder, 2.0));
        for (p, distance) in [
            ([30.0, 0.0, -2.0], 1.0),
            ([30.0, 0.0, -4.5], -1.5),
            ([30.0, 0.0, 5.0], 3.0),
            ([15.0, 0.0, 0.5], 5.0),
            ([39.5, 2.5, -2.0], -0.5),
        ] {
            assert!(
                (bored.distance(&p.into()) - distance).abs() < 1e-12,
                "{p:?}"
            );
        }
        let ball = Shape::of_weight(&weight(WeightShape::Ball, 0.0));
        for p in [[30.0, 0.0, -2.0], [33.0, 1.0, -1.0], [40.0, 4.0, 5.0]] {
            let exact = (Point3::from(p) - Point3::new(30.0, 0.0, -2.0)).norm() - 4.0;
            assert!((ball.distance(&p.into()) - exact).abs() < 0.02, "{p:?}");
        }
        for p in ball.samples() {
            assert!(ball.distance(&p).abs() < 0.02);
        }
        let wire = Shape::Strands {
            lines: vec![vec![Point3::origin(), Point3::new(10.0, 0.0, 0.0)]],
            radius: 0.4,
        };
        assert!((wire.distance(&Point3::new(5.0, 3.0, 4.0)) - 4.6).abs() < 1e-12);
        assert!((wire.distance(&Point3::new(-2.0, 0.0, 0.0)) - 1.6).abs() < 1e-12);
    }
}
