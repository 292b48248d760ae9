//! The exact series.

use std::f64::consts::PI;

use super::Shape;

/// What the surface of the body meets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Surface {
    /// A wall that stays at its temperature: the fastest cooling there can be.
    Held,
    /// A film, by its Biot number hL/k with L the half thickness or radius.
    Film(f64),
}

/// Terms at most. With so many the series is good from Fourier number 1e-4 on.
const TERMS: usize = 220;

/// Cooling of one body as a sum of decaying modes. Temperatures are shares θ of the first
/// difference to the surroundings; times are Fourier numbers Fo = αt/L² with L the
/// half thickness or radius.
///
/// # References
/// Carslaw and Jaeger, Conduction of Heat in Solids; Çengel, Heat Transfer, table 4-2.
#[derive(Clone, Debug)]
pub struct Series {
    shape: Shape,
    /// Eigenvalue ζ and coefficient C of each mode.
    modes: Vec<(f64, f64)>,
}

impl Series {
    /// The series for a shape and its surface. A Biot number below 1e-9 is taken as that.
    #[must_use]
    pub fn new(shape: Shape, surface: Surface) -> Self {
        let modes = (0..TERMS).map(|n| {
            let root = root(shape, surface, n);
            (root, coefficient(shape, root))
        });
        Series {
            shape,
            modes: modes.collect(),
        }
    }

    /// The first eigenvalue and coefficient, all that is left after about Fo = 0.2.
    #[must_use]
    pub fn first(&self) -> (f64, f64) {
        self.modes[0]
    }

    /// θ at a share `at` (0 the middle, 1 the surface) of the half thickness or radius.
    #[must_use]
    pub fn at(&self, fourier: f64, at: f64) -> f64 {
        self.sum(fourier, |zeta| mode(self.shape, zeta * at))
    }

    /// θ averaged over the body: the heat that is left in it.
    #[must_use]
    pub fn mean(&self, fourier: f64) -> f64 {
        self.sum(fourier, |zeta| mean(self.shape, zeta))
    }

    /// The Fourier number at which the middle has come down to θ.
    /// 0 for θ of 1 or more; infinite for θ of 0 or less.
    #[must_use]
    pub fn fourier(&self, theta: f64) -> f64 {
        if theta >= 1.0 {
            return 0.0;
        }
        if theta <= 0.0 {
            return f64::INFINITY;
        }
        let (mut low, mut high) = (0.0, 1.0);
        while self.at(high, 0.0) > theta {
            low = high;
            high *= 2.0;
        }
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if self.at(middle, 0.0) > theta {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    fn sum(&self, fourier: f64, weight: impl Fn(f64) -> f64) -> f64 {
        if fourier <= 0.0 {
            return 1.0;
        }
        let terms = self.modes.iter().map(|&(zeta, c)| {
            let decay = libm::exp(-zeta * zeta * fourier);
            if decay == 0.0 {
                0.0
            } else {
                c * decay * weight(zeta)
            }
        });
        terms.sum::<f64>().clamp(0.0, 1.0)
    }
}

/// The mode of eigenvalue ζ at ζr.
fn mode(shape: Shape, x: f64) -> f64 {
    match shape {
        Shape::Slab => libm::cos(x),
        Shape::Cylinder => libm::j0(x),
        Shape::Sphere if x.abs() < 1e-6 => 1.0,
        Shape::Sphere => libm::sin(x) / x,
    }
}

fn mean(shape: Shape, z: f64) -> f64 {
    match shape {
        Shape::Slab => libm::sin(z) / z,
        Shape::Cylinder => 2.0 * libm::j1(z) / z,
        Shape::Sphere => 3.0 * (libm::sin(z) - z * libm::cos(z)) / (z * z * z),
    }
}

fn coefficient(shape: Shape, z: f64) -> f64 {
    match shape {
        Shape::Slab => 4.0 * libm::sin(z) / (2.0 * z + libm::sin(2.0 * z)),
        Shape::Cylinder => {
            let (j0, j1) = (libm::j0(z), libm::j1(z));
            2.0 * j1 / (z * (j0 * j0 + j1 * j1))
        }
        Shape::Sphere => 4.0 * (libm::sin(z) - z * libm::cos(z)) / (2.0 * z - libm::sin(2.0 * z)),
    }
}

/// Eigenvalue `n`, counted from 0.
fn root(shape: Shape, surface: Surface, n: usize) -> f64 {
    let k = n as f64;
    let biot = match surface {
        Surface::Held => {
            return match shape {
                Shape::Slab => (k + 0.5) * PI,
                Shape::Cylinder => zero_of_j0(k),
                Shape::Sphere => (k + 1.0) * PI,
            };
        }
        Surface::Film(biot) => biot.max(1e-9),
    };
    // Each bracket holds exactly one root, and its ends have opposite signs.
    match shape {
        Shape::Slab => bisect(k * PI, (k + 0.5) * PI, |z| {
            z * libm::sin(z) - biot * libm::cos(z)
        }),
        Shape::Cylinder => {
            let from = if n == 0 { 0.0 } else { zero_of_j1(k) };
            bisect(from, zero_of_j0(k), |z| {
                z * libm::j1(z) - biot * libm::j0(z)
            })
        }
        Shape::Sphere => {
            let from = if n == 0 { 1e-7 } else { k * PI };
            bisect(from, (k + 1.0) * PI, |z| {
                (1.0 - biot) * libm::sin(z) - z * libm::cos(z)
            })
        }
    }
}

/// Zero number k + 1 of J₀: between (k + ½)π and (k + 1)π.
fn zero_of_j0(k: f64) -> f64 {
    bisect((k + 0.5) * PI, (k + 1.0) * PI, libm::j0)
}

/// Zero number k of J₁ (k from 1): between kπ and (k + ½)π.
fn zero_of_j1(k: f64) -> f64 {
    bisect(k * PI, (k + 0.5) * PI, libm::j1)
}

fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let rises = f(high) > 0.0;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if (f(middle) > 0.0) == rises {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}
