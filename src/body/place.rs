//! Places on a body's surface.

use nalgebra::{Point3, Unit, Vector3};

use super::Body;

/// A place on the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// The point.
    pub point: Point3<f64>,
    /// Unit normal, outward.
    pub normal: Unit<Vector3<f64>>,
}

/// Sine and cosine of an angle in degrees, exact at quarter turns, so that what is
/// placed on the back, the flank or the belly lies in the parting plane to the last bit.
pub(crate) fn sin_cos(degrees: f64) -> (f64, f64) {
    let turned = degrees - 360.0 * libm::floor(degrees / 360.0);
    match turned {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        _ => libm::sincos(turned.to_radians()),
    }
}

impl Body {
    /// The place at x from the nose and at an angle round the body, in degrees: 0 on the
    /// back, 90 on the left flank, 180 on the belly, 270 on the right flank. The angle is that
    /// of the ray from the axis.
    ///
    /// Within `0 < x < length`; at a step, the side towards the tail.
    pub fn place(&self, x: f64, angle: f64) -> Place {
        let (sin, cos) = sin_cos(angle);
        if let Some(scan) = &self.scan {
            return on_scan(scan, x, sin, cos);
        }
        let height = if cos >= 0.0 { &self.back } else { &self.belly };
        let (w, h) = (self.half_width.height(x), height.height(x));
        let n = self.section.exponent();
        let (a, b) = (libm::pow(sin.abs() / w, n), libm::pow(cos.abs() / h, n));
        let r = libm::pow(a + b, -1.0 / n);
        // On the surface (|y|/w)ⁿ + (|z|/h)ⁿ = 1; the gradient, with w and h following x.
        let (share_y, share_z) = (a / (a + b), b / (a + b));
        let gradient = |share: f64, along: f64| if along == 0.0 { 0.0 } else { share / along };
        let (y, z) = (r * sin, r * cos);
        let lean = share_y * self.half_width.slope(x) / w + share_z * height.slope(x) / h;
        Place {
            point: Point3::new(x, y, z),
            normal: Unit::new_normalize(Vector3::new(
                -lean,
                gradient(share_y, y),
                gradient(share_z, z),
            )),
        }
    }
}

/// The outermost place on a mesh in the direction (sin, cos) from the axis. Where the mesh is
/// not met there, the axis itself.
fn on_scan(scan: &crate::mesh::slice::Sliced, x: f64, sin: f64, cos: f64) -> Place {
    let (axis, ray) = (Point3::new(x, 0.0, 0.0), Vector3::new(0.0, sin, cos));
    let Some(hit) = scan.along(&axis, &ray).pop().filter(|h| h.along > 0.0) else {
        return Place {
            point: axis,
            normal: Unit::new_normalize(ray),
        };
    };
    let [a, b, c] = scan.mesh().corners(hit.triangle as usize);
    let mut normal = (b - a).cross(&(c - a)).normalize();
    // What is placed in a mid-plane stands upright in it, whatever way its one facet leans.
    if sin == 0.0 {
        normal.y = 0.0;
    }
    if cos == 0.0 {
        normal.z = 0.0;
    }
    Place {
        point: axis + ray * hit.along,
        normal: Unit::new_normalize(normal),
    }
}

impl Body {
    /// Whether a point lies inside the body with about `room` millimetres to its surface,
    /// measured across the axis.
    pub(crate) fn holds(&self, p: &Point3<f64>, room: f64) -> bool {
        if p.x <= 0.0 || p.x >= self.length() {
            return false;
        }
        if let Some(scan) = &self.scan {
            let section = scan.section(p.x);
            return section.holds(p.y, p.z) && section.distance(p.y, p.z) >= room;
        }
        let height = if p.z >= 0.0 { &self.back } else { &self.belly };
        let (w, h) = (
            self.half_width.height(p.x) - room,
            height.height(p.x) - room,
        );
        let n = self.section.exponent();
        w > 0.0 && h > 0.0 && libm::pow(p.y.abs() / w, n) + libm::pow(p.z.abs() / h, n) <= 1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{Outline, Section};
    use crate::spec::End;

    fn ellipsoid() -> Body {
        let outline = |b: f64| {
            Outline::fit(100.0, End::Round, End::Round, 1e-10, |x| {
                b / 50.0 * (x * (100.0 - x)).max(0.0).sqrt()
            })
            .unwrap()
        };
        Body {
            back: outline(10.0),
            belly: outline(6.0),
            half_width: outline(8.0),
            section: Section::new(2.0),
            nose: End::Round,
            tail: End::Round,
            collar: Vec::new(),
            scan: None,
        }
    }

    #[test]
    fn lies_on_the_ellipsoid_with_its_normal() {
        let body = ellipsoid();
        for x in [5.0, 30.0, 50.0, 81.0] {
            for angle in [0.0, 20.0, 90.0, 140.0, 180.0, 270.0, 305.0] {
                let Place { point: p, normal } = body.place(x, angle);
                let h = if p.z >= 0.0 { 10.0 } else { 6.0 };
                let u = (x - 50.0) / 50.0;
                let on = u * u + (p.y / 8.0) * (p.y / 8.0) + (p.z / h) * (p.z / h);
                assert!((on - 1.0).abs() < 1e-8, "{on}");
                // Gradient of the ellipsoid.
                let g = Vector3::new(u / 50.0, p.y / 64.0, p.z / (h * h)).normalize();
                assert!((g - normal.into_inner()).norm() < 1e-5, "{g} {normal:?}");
            }
        }
    }

    #[test]
    fn quarter_turns_are_exact() {
        let body = ellipsoid();
        for (angle, y, z) in [
            // Which of y and z is zero, and the sign of the other.
            (0.0, 0.0f64, 1.0f64),
            (90.0, 1.0, 0.0),
            (-90.0, -1.0, 0.0),
            (540.0, 0.0, -1.0),
        ] {
            let p = body.place(40.0, angle).point;
            assert_eq!((p.y == 0.0, p.z == 0.0), (y == 0.0, z == 0.0));
            assert_eq!([p.y * y < 0.0, p.z * z < 0.0], [false; 2]);
        }
    }
}
