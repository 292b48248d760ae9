//! Weights, buoyancy, and the angle at rest of a body wholly under water.

use nalgebra::{Point3, Vector3};

use super::{GRAVITY, Water};

/// Something with mass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Mass, in g.
    pub mass: f64,
    /// Its centre.
    pub centre: Point3<f64>,
}

/// Mass and displaced volume of a whole bait, with their centres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// Mass, in g.
    pub mass: f64,
    /// Centre of mass.
    pub centre_of_mass: Point3<f64>,
    /// Displaced volume, in mm³.
    pub volume: f64,
    /// Centre of the displaced volume.
    pub centre_of_buoyancy: Point3<f64>,
}

/// An attitude at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hang {
    /// Which way is up, as a unit vector in the body's axes.
    pub up: Vector3<f64>,
    /// Degrees of the nose below the horizontal; −90 to 90.
    pub nose_down: f64,
    /// Degrees the back leans over to the right; 180 is belly up.
    pub list: f64,
    /// Moment that brings it back when it is turned out of rest by one degree, in µN·m.
    pub righting: f64,
}

impl Balance {
    /// The balance of parts that displace a volume together. A part that keeps out another, such as
    /// lead in plastic, is entered less the mass of what it keeps out. `None` if there is no mass.
    #[must_use]
    pub fn of(parts: &[Part], volume: f64, centre_of_buoyancy: Point3<f64>) -> Option<Self> {
        let mass: f64 = parts.iter().map(|part| part.mass).sum();
        let moment: Vector3<f64> = parts
            .iter()
            .map(|part| part.centre.coords * part.mass)
            .sum();
        (mass > 0.0).then(|| Balance {
            mass,
            centre_of_mass: Point3::from(moment / mass),
            volume,
            centre_of_buoyancy,
        })
    }

    /// Mass of the water displaced, in g.
    #[must_use]
    pub fn displaced(&self, water: &Water) -> f64 {
        self.volume * water.density() / 1000.0
    }

    /// What it weighs in the water, in g: negative if it floats.
    #[must_use]
    pub fn net(&self, water: &Water) -> f64 {
        self.mass - self.displaced(water)
    }

    /// Density of the whole, in g/ml.
    #[must_use]
    pub fn density(&self) -> f64 {
        1000.0 * self.mass / self.volume
    }

    /// How it lies when it hovers or sinks slowly: the centre of mass below the centre of
    /// buoyancy. `None` where the two coincide and every attitude is one of rest.
    ///
    /// # References
    /// Statics; for example J. Christ, R. Wernli, "The ROV Manual", 2nd edition, p. 117: the
    /// righting moment is the weight times the distance of the centres times the sine of the angle.
    #[must_use]
    pub fn free(&self) -> Option<Hang> {
        Hang::of((self.centre_of_buoyancy - self.centre_of_mass) * self.mass)
    }

    /// How it hangs at rest in the water on a line tied at `point`.
    #[must_use]
    pub fn on_line(&self, point: &Point3<f64>, water: &Water) -> Option<Hang> {
        Hang::of(
            (point - self.centre_of_mass) * self.mass
                - (point - self.centre_of_buoyancy) * self.displaced(water),
        )
    }

    /// The same with one mass moved.
    #[must_use]
    pub fn with_moved(&self, mass: f64, by: &Vector3<f64>) -> Self {
        Balance {
            centre_of_mass: self.centre_of_mass + by * (mass / self.mass),
            ..*self
        }
    }

    /// The same with some mass more at a place, the displaced volume unchanged.
    #[must_use]
    pub fn with_more(&self, mass: f64, at: &Point3<f64>) -> Self {
        let whole = self.mass + mass;
        let moment = self.centre_of_mass.coords * self.mass + at.coords * mass;
        Balance {
            mass: whole,
            centre_of_mass: Point3::from(moment / whole),
            ..*self
        }
    }
}

impl Hang {
    /// At rest with the moment arm `lever` (g·mm from the weights up to the support) upright.
    fn of(lever: Vector3<f64>) -> Option<Self> {
        // Less than the rounding of the centres, in g·mm, has no direction.
        const NONE: f64 = 1e-9;
        let size = lever.norm();
        if !(size > NONE && size.is_finite()) {
            return None;
        }
        let up = lever / size;
        let across = libm::hypot(up.y, up.z);
        Some(Hang {
            up,
            nose_down: libm::atan2(up.x, across).to_degrees(),
            list: if across < 1e-9 {
                0.0
            } else {
                // Adding zero turns −0 into 0.
                libm::atan2(up.y, up.z).to_degrees() + 0.0
            },
            righting: size * GRAVITY * libm::sin(1.0_f64.to_radians()) * 1e-3,
        })
    }

    /// Degrees between this attitude and another.
    #[must_use]
    pub fn turn_to(&self, other: &Hang) -> f64 {
        let sine = self.up.cross(&other.up).norm();
        libm::atan2(sine, self.up.dot(&other.up)).to_degrees()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::body::Body;
    use crate::curve::Outline;
    use crate::mesh::{AxisMap, Mesh};
    use crate::spec::End;
    use nalgebra::{Isometry3, Rotation3};
    use std::f64::consts::PI;

    fn close(found: f64, expected: f64, within: f64) {
        assert!(
            (found - expected).abs() <= within,
            "{found}, not {expected}"
        );
    }

    #[test]
    fn the_worked_body_with_a_lead() {
        // NACA 4-digit profile with closed tail, 100 x 20 mm (exact volume and centre), 1.06 g/ml,
        // 2 g of lead (11.34 g/ml) at x 20, z −6, in the place of plastic: by hand.
        let (volume, x) = (17212.094459, 38.346077);
        let centre = Point3::new(x, 0.0, 0.0);
        let parts = [
            Part {
                mass: 1.06e-3 * volume,
                centre,
            },
            Part {
                mass: 2.0 * (1.0 - 1.06 / 11.34),
                centre: Point3::new(20.0, 0.0, -6.0),
            },
        ];
        let balance = Balance::of(&parts, volume, centre).unwrap();
        close(balance.mass, 20.057871, 1e-6);
        close(balance.centre_of_mass.x, 36.687757, 1e-6);
        close(balance.centre_of_mass.z, -0.542346, 1e-6);
        close(balance.density(), 1.165336, 1e-6);
        let hang = balance.free().unwrap();
        close(hang.nose_down, 71.8899, 1e-4);
        close(balance.net(&Water::fresh(20.0)), 2.876635, 5e-5);
        close(balance.net(&Water::sea(20.0)), 2.419502, 1e-4);
        // On a line tied where the buoyancy acts it hangs as it does free.
        let tied = balance.on_line(&centre, &Water::fresh(20.0)).unwrap();
        close(tied.nose_down, hang.nose_down, 1e-9);
        // Tied elsewhere, the net weight hangs below the knot: x 26.7831, z −3.7816.
        let eye = Point3::new(0.0, 0.0, 0.0);
        let tied = balance.on_line(&eye, &Water::fresh(20.0)).unwrap();
        close(
            tied.nose_down,
            libm::atan2(-26.7831, 3.7816).to_degrees(),
            2e-3,
        );
    }

    #[test]
    fn textbook_trim_and_righting_moment() {
        // 1.5 mm ahead and 3 mm below: arctan 0.5. 0.17 N with 3 mm at 10 degrees: 88.5606 µN·m.
        let mass = 0.17e6 / GRAVITY;
        let at = |x, z| Balance {
            mass,
            centre_of_mass: Point3::new(x, 0.0, z),
            volume: 1.0,
            centre_of_buoyancy: Point3::new(40.0, 0.0, 0.0),
        };
        close(at(38.5, -3.0).free().unwrap().nose_down, 26.565051177, 1e-9);
        let righting = at(40.0, -3.0).free().unwrap().righting;
        let sines = libm::sin(10.0_f64.to_radians()) / libm::sin(1.0_f64.to_radians());
        close(righting * sines, 88.5606, 1e-4);
        // Belly up when the weight is above, and nothing to say where the centres coincide.
        close(at(40.0, 2.0).free().unwrap().list, 180.0, 0.0);
        assert_eq!(at(40.0, 0.0).free(), None);
    }

    /// An ellipsoid of revolution 100 x 20 with a ball of lead inside; masses in closed form.
    fn loaded(ball: Point3<f64>, radius: f64, volume: f64, centre: Point3<f64>) -> Balance {
        let lead = 4.0 / 3.0 * PI * radius * radius * radius;
        let plastic = volume - lead;
        let plastic_centre = (centre.coords * volume - ball.coords * lead) / plastic;
        let parts = [
            Part {
                mass: 1.05e-3 * plastic,
                centre: Point3::from(plastic_centre),
            },
            Part {
                mass: 11.34e-3 * lead,
                centre: ball,
            },
        ];
        Balance::of(&parts, volume, centre).unwrap()
    }

    #[test]
    fn an_ellipsoid_with_a_ball_inside_is_exact() {
        let outline = Outline::fit(100.0, End::Round, End::Round, 1e-10, |x| {
            0.2 * (x * (100.0 - x)).max(0.0).sqrt()
        })
        .unwrap();
        let figures = Body::revolved(outline, End::Round, End::Round).figures();
        let ball = Point3::new(44.0, 0.0, -3.0);
        let found = loaded(ball, 2.5, figures.volume, figures.centroid.into());
        // In closed form: the excess mass of the ball alone moves the centre.
        let (volume, lead) = (4.0 / 3.0 * PI * 50.0 * 100.0, 4.0 / 3.0 * PI * 15.625);
        let excess = (11.34e-3 - 1.05e-3) * lead;
        let mass = 1.05e-3 * volume + excess;
        close(found.mass / mass, 1.0, 1e-9);
        close(found.centre_of_mass.x, 50.0 - 6.0 * excess / mass, 1e-7);
        close(found.centre_of_mass.z, -3.0 * excess / mass, 1e-9);
        // 6 mm ahead and 3 mm below, whatever the mass.
        let hang = found.free().unwrap();
        close(hang.nose_down, libm::atan2(6.0, 3.0).to_degrees(), 1e-6);
        let exact = loaded(ball, 2.5, volume, Point3::new(50.0, 0.0, 0.0));
        close(
            exact.free().unwrap().nose_down,
            libm::atan2(6.0, 3.0).to_degrees(),
            1e-9,
        );
        let water = Water::fresh(12.0);
        let net = mass - volume * water.density() / 1000.0;
        close(exact.net(&water) / net, 1.0, 1e-9);
        let arm = 45.0_f64.sqrt() * excess * GRAVITY * libm::sin(1.0_f64.to_radians()) * 1e-3;
        close(hang.righting / arm, 1.0, 1e-6);
        close(exact.free().unwrap().righting / arm, 1.0, 1e-9);
    }

    fn of_mesh(mesh: &Mesh, ball: Point3<f64>) -> Balance {
        let m = mesh.mass_properties().unwrap();
        loaded(ball, 2.5, m.volume, m.centroid)
    }

    #[test]
    fn a_mesh_turned_or_mirrored_hangs_the_same() {
        let mesh = crate::mesh::shapes::sphere(10.0, 24, 32);
        let stretch =
            |p: Point3<f64>| Point3::new(5.0 * p.x + 50.0, p.y, 0.8 * p.z + 0.003 * p.x * p.x);
        let mesh = Mesh {
            points: mesh.points.into_iter().map(stretch).collect(),
            ..mesh
        };
        let ball = Point3::new(44.0, 1.0, -3.0);
        let eye = Point3::new(-2.0, 0.0, 1.0);
        let water = Water::sea(8.0);
        let home = of_mesh(&mesh, ball);
        let hangs =
            |b: &Balance, eye: &Point3<f64>| [b.free().unwrap(), b.on_line(eye, &water).unwrap()];

        let by = Isometry3::from_parts(
            Vector3::new(7.0, -3.0, 11.0).into(),
            Rotation3::from_euler_angles(0.4, -1.1, 2.3).into(),
        );
        let turned = of_mesh(&mesh.clone().transformed(&by), by * ball);
        close(turned.mass / home.mass, 1.0, 1e-12);
        for (was, is) in hangs(&home, &eye).iter().zip(hangs(&turned, &(by * eye))) {
            close((by * was.up - is.up).norm(), 0.0, 1e-9);
            close(is.righting / was.righting, 1.0, 1e-9);
        }

        let map = AxisMap::MIRROR_Y;
        let mirrored = of_mesh(&mesh.mapped(&map), map.apply(&ball));
        for (was, is) in hangs(&home, &eye)
            .iter()
            .zip(hangs(&mirrored, &map.apply(&eye)))
        {
            close(is.nose_down, was.nose_down, 1e-9);
            close(is.list, -was.list, 1e-9);
            close(is.righting / was.righting, 1.0, 1e-9);
        }
    }

    #[test]
    fn a_small_distance_between_centres_makes_it_sensitive() {
        // δθ ≈ δx / BG: 0.1 mm at 1.744754 mm is 3.3 degrees (small-angle estimate).
        let balance = Balance {
            mass: 20.0,
            centre_of_mass: Point3::new(40.0, 0.0, -1.744754),
            volume: 18000.0,
            centre_of_buoyancy: Point3::new(40.0, 0.0, 0.0),
        };
        let moved = balance.with_moved(20.0, &Vector3::new(0.1, 0.0, 0.0));
        let turn = balance.free().unwrap().turn_to(&moved.free().unwrap());
        close(turn, 3.28, 0.02);
        let more = balance.with_more(0.1, &Point3::new(20.0, 0.0, 0.0));
        assert!(more.free().unwrap().nose_down > 0.0);
    }
}
