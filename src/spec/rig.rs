//! Checked numbers of wire, hook, weights, skirt, plastic and water. Millimetres, grams, seconds,
//! degrees Celsius, g/ml.

use std::f64::consts::PI;

use super::{Metal, PointSide, WeightShape};

impl Metal {
    /// Density in g/ml at 20 °C.
    ///
    /// # References
    /// CRC Handbook of Chemistry and Physics: bismuth 9.79, tungsten 19.3; handbooks for
    /// lead 11.34 and plain steel 7.85; white tin 7.29 and free-cutting brass 8.49 from memory.
    #[must_use]
    pub const fn density(self) -> f64 {
        match self {
            Metal::Lead => 11.34,
            Metal::Bismuth => 9.79,
            Metal::Tin => 7.29,
            Metal::Tungsten => 19.3,
            Metal::Brass => 8.49,
            Metal::Steel => 7.85,
        }
    }
}

/// Everything of a design that has to do with mass and water.
#[derive(Clone, Debug, PartialEq)]
pub struct RigDesign {
    /// The wire.
    pub wire: Option<WireDesign>,
    /// The hook.
    pub hook: Option<HookDesign>,
    /// The weights.
    pub weights: Vec<WeightDesign>,
    /// The skirt.
    pub skirt: Option<SkirtDesign>,
    /// Density of the cast plastic.
    pub plastic_density: f64,
    /// Practical salinity of the water.
    pub salinity: f64,
    /// Its temperature.
    pub temperature: f64,
    /// What is wanted.
    pub wanted: Option<WantedDesign>,
}

impl Default for RigDesign {
    /// Plastisol alone, in fresh water of 15 °C, and nothing in it.
    fn default() -> Self {
        RigDesign {
            wire: None,
            hook: None,
            weights: Vec::new(),
            skirt: None,
            plastic_density: 1.05,
            salinity: 0.0,
            temperature: 15.0,
            wanted: None,
        }
    }
}

/// A straight wire with its eyes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WireDesign {
    /// Diameter.
    pub diameter: f64,
    /// Height above the axis.
    pub height: f64,
    /// Where the straight run begins and ends; `None`: at nose and tail.
    pub ends: [Option<f64>; 2],
    /// Inside diameters of the eyes before and behind it; `None` for no eye.
    pub eyes: [Option<f64>; 2],
    /// Turns that close each eye.
    pub twists: u32,
    /// Density.
    pub density: f64,
}

/// A hook.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HookDesign {
    /// Middle of its eye.
    pub at: f64,
    /// Height of the shank.
    pub height: f64,
    /// Diameter of its wire.
    pub wire: f64,
    /// Shank, from the eye to where the bend begins.
    pub shank: f64,
    /// Clear width between shank and point.
    pub gap: f64,
    /// From the point to the back of the bend.
    pub bend: f64,
    /// Inside diameter of its eye.
    pub eye: f64,
    /// Where the point looks.
    pub point: PointSide,
    /// Mass, if weighed.
    pub mass: Option<f64>,
}

/// A weight, its axis along the body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeightDesign {
    /// Its shape.
    pub shape: WeightShape,
    /// Density.
    pub density: f64,
    /// Greatest diameter.
    pub diameter: f64,
    /// Length.
    pub length: f64,
    /// Diameter of the hole along its axis; 0 for none.
    pub hole: f64,
    /// Middle of its length.
    pub at: f64,
    /// Height of its axis.
    pub height: f64,
}

/// A skirt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SkirtDesign {
    /// Where it is gathered; `None`: at the tail.
    pub at: Option<f64>,
    /// Number of strands.
    pub strands: u32,
    /// Length of a strand.
    pub length: f64,
    /// Thickness of a strand.
    pub thickness: f64,
    /// Density.
    pub density: f64,
}

/// A wanted sink.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WantedDesign {
    /// Depth.
    pub depth: f64,
    /// Seconds to it.
    pub time: f64,
    /// Degrees of the nose below the horizontal.
    pub hang: f64,
}

impl WeightDesign {
    /// Volume of its metal, in mm³. A hole takes with it what is no wider than itself.
    #[must_use]
    pub fn volume(&self) -> f64 {
        let (d, l) = (self.diameter, self.length);
        let hole = (self.hole / d).clamp(0.0, 1.0);
        // What is left of half an ellipsoid round a hole: ∫ (r² − h²) from its middle to where it
        // is as wide as the hole, and the like.
        let round = 1.0 - hole * hole;
        let share = match self.shape {
            WeightShape::Ball | WeightShape::Egg => 2.0 / 3.0 * round * round.sqrt(),
            WeightShape::Cylinder => round,
            WeightShape::Cone => (1.0 - 3.0 * hole * hole + 2.0 * hole * hole * hole) / 3.0,
        };
        0.25 * PI * d * d * l * share
    }

    /// Mass, in g.
    #[must_use]
    pub fn mass(&self) -> f64 {
        1e-3 * self.density * self.volume()
    }

    /// How far its centre of mass lies behind the middle of its length.
    #[must_use]
    pub fn centre_behind(&self) -> f64 {
        let hole = (self.hole / self.diameter).clamp(0.0, 1.0);
        let round = 1.0 - hole * hole;
        match self.shape {
            WeightShape::Ball | WeightShape::Cylinder => 0.0,
            // Halves of 0.4 and 0.6 of the length, joined 0.1 before its middle.
            WeightShape::Egg => self.length * (0.375 * 0.2 * round.sqrt() - 0.1),
            WeightShape::Cone => {
                let volume = (1.0 - 3.0 * hole * hole + 2.0 * hole * hole * hole) / 3.0;
                self.length * (0.25 * round * round / volume - 0.5)
            }
        }
    }

    /// The same with another mass and the same proportions (and the same hole), in g. `None` if it
    /// would have to be lighter than a hole allows.
    #[must_use]
    pub fn with_mass(&self, mass: f64) -> Option<Self> {
        let slimness = self.length / self.diameter;
        let sized = |diameter: f64| WeightDesign {
            diameter,
            length: slimness * diameter,
            ..*self
        };
        let (mut low, mut high) = (self.hole, 1000.0);
        if mass.is_nan() || mass <= 0.0 || sized(high).mass() < mass {
            return None;
        }
        for _ in 0..100 {
            let middle = 0.5 * (low + high);
            if middle > 0.0 && sized(middle).mass() >= mass {
                high = middle;
            } else {
                low = middle;
            }
        }
        Some(sized(high))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weight(shape: WeightShape, diameter: f64, length: f64, hole: f64) -> WeightDesign {
        WeightDesign {
            shape,
            density: Metal::Lead.density(),
            diameter,
            length,
            hole,
            at: 0.0,
            height: 0.0,
        }
    }

    #[test]
    fn lead_balls_by_the_table() {
        // πd³ρ/6 with 11.34 g/ml.
        for (d, grams) in [(2.0, 0.0475), (5.0, 0.7422), (8.0, 3.0401), (12.0, 10.2602)] {
            let ball = weight(WeightShape::Ball, d, d, 0.0);
            assert!((ball.mass() - grams).abs() < 6e-5, "{d}");
        }
        // 1/8 oz is a ball of 8.4194 mm.
        let ball = weight(WeightShape::Ball, 1.0, 1.0, 0.0)
            .with_mass(28.349523125 / 8.0)
            .unwrap();
        assert!((ball.diameter - 8.4194).abs() < 5e-5);
    }

    #[test]
    fn volumes_and_centres_by_quadrature() {
        for hole in [0.0, 1.5] {
            for (shape, l) in [
                (WeightShape::Ball, 6.0),
                (WeightShape::Cylinder, 11.0),
                (WeightShape::Cone, 9.0),
                (WeightShape::Egg, 10.0),
            ] {
                let w = weight(shape, 6.0, l, hole);
                const N: usize = 200_000;
                let (mut volume, mut moment) = (0.0, 0.0);
                for i in 0..N {
                    let x = l * (i as f64 + 0.5) / N as f64;
                    let square = match shape {
                        WeightShape::Ball => x * (l - x),
                        WeightShape::Cylinder => 9.0,
                        WeightShape::Cone => 9.0 * x * x / (l * l),
                        WeightShape::Egg => {
                            let (u, a) = (x - 0.4 * l, if x < 0.4 * l { 0.4 * l } else { 0.6 * l });
                            9.0 * (1.0 - u * u / (a * a))
                        }
                    };
                    let ring = PI * (square - 0.25 * hole * hole).max(0.0) * l / N as f64;
                    volume += ring;
                    moment += ring * (x - 0.5 * l);
                }
                assert!((w.volume() / volume - 1.0).abs() < 1e-6, "{shape:?} {hole}");
                assert!(
                    (w.centre_behind() - moment / volume).abs() < 1e-5,
                    "{shape:?} {hole}"
                );
                let again = weight(shape, 1.0, l / 6.0, hole)
                    .with_mass(w.mass())
                    .unwrap();
                assert!((again.diameter - 6.0).abs() < 1e-9, "{shape:?}");
            }
        }
    }
}
