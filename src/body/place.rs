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
    /// Rise of the spine over the axis at x; zero on a straight body.
    pub fn spine(&self, x: f64) -> f64 {
        self.camber.as_ref().map_or(0.0, |c| c.value(x))
    }

    /// How steeply the spine rises where it leaves the tail's end.
    pub(crate) fn slope_behind(&self) -> f64 {
        const STEP: f64 = 1e-3;
        let length = self.length();
        (self.spine(length) - self.spine(length - STEP)) / STEP
    }

    /// (|y|/w)ⁿ + (|z − c|/h)ⁿ at a point, c being the spine's rise: below 1 inside the
    /// section at x, 1 on its edge, above 1 outside.
    pub fn level(&self, x: f64, y: f64, z: f64) -> f64 {
        let z = z - self.spine(x);
        let [back, belly] = self.section.exponents(x);
        let (height, n) = if z >= 0.0 {
            (&self.back, back)
        } else {
            (&self.belly, belly)
        };
        let (w, h) = (self.half_width.height(x), height.height(x));
        libm::pow(y.abs() / w, n) + libm::pow(z.abs() / h, n)
    }

    /// The place at x from the nose and at an angle round the body, in degrees: 0 on the
    /// back, 90 on the left flank, 180 on the belly, 270 on the right flank. The angle is that
    /// of the ray from the spine.
    ///
    /// Within `0 < x < length`; at a step, the side towards the tail.
    pub fn place(&self, x: f64, angle: f64) -> Place {
        let (sin, cos) = sin_cos(angle);
        if let Some(scan) = &self.scan {
            return on_scan(scan, x, sin, cos);
        }
        let half = usize::from(cos < 0.0);
        let height = [&self.back, &self.belly][half];
        let (w, h) = (self.half_width.height(x), height.height(x));
        let n = self.section.exponents(x)[half];
        let (a, b) = (libm::pow(sin.abs() / w, n), libm::pow(cos.abs() / h, n));
        let r = libm::pow(a + b, -1.0 / n);
        // On the surface (|y|/w)ⁿ + (|z|/h)ⁿ = 1; the gradient, with w, h, n and the spine
        // following x, all of it divided by n.
        let (share_y, share_z) = (a / (a + b), b / (a + b));
        let gradient = |share: f64, along: f64| if along == 0.0 { 0.0 } else { share / along };
        let (y, z) = (r * sin, r * cos);
        // |y|/w to the power n is its share: t ln t goes to nothing with t.
        let bent = |share: f64| {
            if share == 0.0 {
                0.0
            } else {
                share * libm::log(share) / n
            }
        };
        let up = gradient(share_z, z);
        let lean = share_y * self.half_width.slope(x) / w + share_z * height.slope(x) / h
            - self.section.slopes(x)[half] / n * (bent(share_y) + bent(share_z));
        let rise = self.camber.as_ref().map_or(0.0, |c| c.slope(x));
        Place {
            point: Point3::new(x, y, z + self.spine(x)),
            normal: Unit::new_normalize(Vector3::new(-lean - rise * up, gradient(share_y, y), up)),
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
            return scan.holds_with(p, room);
        }
        let z = p.z - self.spine(p.x);
        let half = usize::from(z < 0.0);
        let height = [&self.back, &self.belly][half];
        let (w, h) = (
            self.half_width.height(p.x) - room,
            height.height(p.x) - room,
        );
        let n = self.section.exponents(p.x)[half];
        w > 0.0 && h > 0.0 && libm::pow(p.y.abs() / w, n) + libm::pow(z.abs() / h, n) <= 1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{Course, Outline, Section};
    use crate::spec::End;

    fn ellipsoid() -> Body {
        let outline = |b: f64| {
            Outline::fit(100.0, End::Round, End::Round, 1e-10, |x| {
                b / 50.0 * (x * (100.0 - x)).max(0.0).sqrt()
            })
            .unwrap()
        };
        Body {
            belly: outline(6.0),
            half_width: outline(8.0),
            ..Body::revolved(outline(10.0), End::Round, End::Round)
        }
    }

    #[test]
    fn normals_are_the_gradient_of_the_level_with_camber_and_changing_sections() {
        let body = Body {
            camber: Some(Course::bow(100.0, 6.0)),
            section: Section::along(
                Course::through(&[[10.0, 1.6], [80.0, 2.2]]),
                Course::through(&[[20.0, 5.0], [70.0, 2.5]]),
            ),
            ..ellipsoid()
        };
        for x in [15.0, 40.0, 66.0] {
            for angle in [0.0, 35.0, 90.0, 130.0, 180.0, 250.0] {
                let Place { point: p, normal } = body.place(x, angle);
                assert!((body.level(p.x, p.y, p.z) - 1.0).abs() < 1e-12);
                let e = 1e-5;
                // To the power 1/n it is as smooth across the waist as the surface is.
                let radius = |p: Point3<f64>| {
                    let half = usize::from(p.z < body.spine(p.x));
                    let n = body.section.exponents(p.x)[half];
                    libm::pow(body.level(p.x, p.y, p.z), 1.0 / n)
                };
                let slope = |d: Vector3<f64>| {
                    let (a, b) = (p + d * e, p - d * e);
                    radius(a) - radius(b)
                };
                let g = Vector3::new(
                    slope(Vector3::x()),
                    slope(Vector3::y()),
                    slope(Vector3::z()),
                );
                let off = (g.normalize() - normal.into_inner()).norm();
                assert!(off < 1e-4, "{x} {angle}: {off}");
            }
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
