//! From samples to pixels: light, hollows, lines, colours.

use super::raster::{Band, FAR, Frame, Sample};

/// Where the lights are (right, up, towards the eye; unit vectors) and how
/// strong: a key light from the upper left, a weak fill from the right, and a
/// little from the eye so that hollows facing it never go black.
const LIGHTS: [([f32; 3], f32); 3] = [
    ([-0.48, 0.64, 0.60], 0.62),
    ([0.80, 0.0, 0.60], 0.13),
    ([0.0, 0.0, 1.0], 0.24),
];

/// Light from everywhere: from below, and what the sky adds for a surface that
/// faces up.
const GROUND: f32 = 0.10;
const SKY: f32 = 0.16;

/// Half-way direction between the key light and the eye, for a faint sheen.
const SHEEN: [f32; 3] = [-0.268, 0.358, 0.894];

/// The paper: a warm off-white, sRGB (250, 248, 244) in linear light.
const PAPER: [f32; 3] = [0.956, 0.939, 0.905];

/// How dark a line is, as the share of the surface's light that it takes.
const INK: f32 = 0.85;

/// Two neighbouring samples whose normals differ by more than 28° lie on
/// either side of a sharp edge: 2 - 2 cos 28°.
const CREASE: f32 = 0.234;

/// The bend of depth over three samples, in samples, at which an outline
/// starts, and at which it is at its darkest.
const BEND: (f32, f32) = (2.5, 6.0);

/// A pixel in linear light, before hollows are darkened.
pub(super) struct Pixel {
    /// Light of the parts, times the share of the pixel that they cover.
    surface: [f32; 3],
    /// Share of the pixel that is covered.
    cover: f32,
    /// Mean depth of what covers it, in samples, and its mean normal.
    depth: f32,
    normal: [f32; 3],
}

const EMPTY: Pixel = Pixel {
    surface: [0.0; 3],
    cover: 0.0,
    depth: FAR,
    normal: [0.0, 0.0, 1.0],
};

/// Gathers the samples of a pixel of the band.
pub(super) fn pixel(
    band: &Band,
    row: u32,
    column: u32,
    frame: &Frame,
    colours: &[[f32; 3]],
) -> Pixel {
    let n = frame.samples as usize;
    let (all, stride) = (band.samples(), band.stride);
    let corner = (row as usize * n + 1) * stride + column as usize * n + 1;
    let mut pixel = EMPTY;
    let (mut covered, mut depth, mut normal) = (0_u32, 0.0, [0.0_f32; 3]);
    // Light and ink are gathered part by part; most pixels see one part only.
    let mut part = u32::MAX;
    let (mut mixed, mut ink) = (false, 0.0);
    for j in 0..n {
        for at in corner + j * stride..corner + j * stride + n {
            let sample = &all[at];
            if sample.depth >= FAR {
                continue;
            }
            mixed |= covered > 0 && part != sample.part;
            part = sample.part;
            covered += 1;
            depth += sample.depth;
            for (sum, c) in normal.iter_mut().zip(sample.normal) {
                *sum += c;
            }
            ink += line(all, at, stride);
        }
    }
    if covered == 0 {
        return pixel;
    }
    let (count, total) = (covered as f32, (n * n) as f32);
    pixel.cover = count / total;
    pixel.depth = depth / count;
    let length = normal.iter().map(|c| c * c).sum::<f32>().sqrt().max(1e-6);
    pixel.normal = normal.map(|c| c / length);
    if !mixed && ink == 0.0 {
        let colour = colours[part as usize];
        pixel.surface = shade(pixel.normal, colour).map(|c| c * pixel.cover);
        return pixel;
    }
    for j in 0..n {
        for at in corner + j * stride..corner + j * stride + n {
            let sample = &all[at];
            if sample.depth < FAR {
                let left = (1.0 - INK * line(all, at, stride)) / total;
                let light = shade(sample.normal, colours[sample.part as usize]);
                for (sum, c) in pixel.surface.iter_mut().zip(light) {
                    *sum += c * left;
                }
            }
        }
    }
    pixel
}

/// How much a line covers this sample, 0 to 1.
#[inline]
fn line(all: &[Sample], at: usize, stride: usize) -> f32 {
    let here = &all[at];
    let (west, east) = (&all[at - 1], &all[at + 1]);
    let (north, south) = (&all[at - stride], &all[at + stride]);
    let across = (west.depth + east.depth - 2.0 * here.depth).abs();
    let down = (north.depth + south.depth - 2.0 * here.depth).abs();
    let bend = across.max(down);
    let apart = |other: &Sample| {
        let d = [0, 1, 2].map(|k| other.normal[k] - here.normal[k]);
        d[0] * d[0] + d[1] * d[1] + d[2] * d[2] > CREASE
    };
    if apart(west) || apart(east) || apart(north) || apart(south) {
        return 1.0;
    }
    ((bend - BEND.0) / (BEND.1 - BEND.0)).clamp(0.0, 1.0)
}

/// Light that a surface sends to the eye.
fn shade(normal: [f32; 3], colour: [f32; 3]) -> [f32; 3] {
    let dot = |v: &[f32; 3]| normal[0] * v[0] + normal[1] * v[1] + normal[2] * v[2];
    let mut light = GROUND + SKY * (0.5 + 0.5 * normal[1]);
    for (direction, strength) in &LIGHTS {
        // Wrapped a little past the horizon: a soft, large light.
        light += strength * ((dot(direction) + 0.2) / 1.2).max(0.0);
    }
    // The 16th power by squaring.
    let mut sheen = dot(&SHEEN).max(0.0);
    for _ in 0..4 {
        sheen *= sheen;
    }
    colour.map(|c| c * light + 0.07 * sheen)
}

/// The pixels of the whole picture.
pub(super) struct Canvas {
    width: usize,
    height: usize,
    pixels: Vec<Pixel>,
}

impl Canvas {
    pub(super) fn new(width: usize, height: usize) -> Self {
        Canvas {
            width,
            height,
            pixels: Vec::with_capacity(width * height),
        }
    }

    /// Adds the next pixel, row by row.
    pub(super) fn push(&mut self, pixel: Pixel) {
        self.pixels.push(pixel);
    }

    /// Darkens hollows, lays the parts on the paper, and goes to 8-bit sRGB.
    pub(super) fn finish(self, frame: &Frame) -> Vec<u8> {
        let open = self.openness(frame.samples as f32);
        let code = code_table();
        let mut rgb = Vec::with_capacity(3 * self.pixels.len());
        for (i, pixel) in self.pixels.iter().enumerate() {
            let light = if pixel.cover > 0.0 {
                open.at(i % self.width, i / self.width)
            } else {
                1.0
            };
            for (surface, paper) in pixel.surface.iter().zip(PAPER) {
                let c = surface * light + paper * (1.0 - pixel.cover);
                let step = (c.clamp(0.0, 1.0) * (code.len() - 1) as f32 + 0.5) as usize;
                rgb.push(code[step]);
            }
        }
        rgb
    }

    /// How much of the sky each place sees, at half the resolution.
    ///
    /// In eight directions the steepest rise above the tangent plane within
    /// reach is taken for the horizon: the horizon-based ambient occlusion of
    /// Bavoil, Sainz and Dimitrov (2008), without its random directions, which
    /// would need a blur.
    fn openness(&self, samples: f32) -> Openness {
        const DIAGONAL: f32 = std::f32::consts::FRAC_1_SQRT_2;
        const DIRECTIONS: [(f32, f32); 8] = [
            (1.0, 0.0),
            (DIAGONAL, DIAGONAL),
            (0.0, 1.0),
            (-DIAGONAL, DIAGONAL),
            (-1.0, 0.0),
            (-DIAGONAL, -DIAGONAL),
            (0.0, -1.0),
            (DIAGONAL, -DIAGONAL),
        ];
        let reach = 0.05 * self.width.min(self.height) as f32;
        let width = self.width.div_ceil(2);
        let height = self.height.div_ceil(2);
        let mut open = vec![1.0; width * height];
        for row in 0..height {
            for column in 0..width {
                let (x, y) = (2 * column, 2 * row);
                let here = &self.pixels[y * self.width + x];
                if here.cover == 0.0 {
                    continue;
                }
                // The tangent plane's depth a pixel across and down.
                let steep = here.normal[2].max(0.15);
                let slope = (here.normal[0] / steep, -here.normal[1] / steep);
                let depth = here.depth / samples;
                let mut hidden = 0.0;
                for (dx, dy) in DIRECTIONS {
                    let mut horizon = 0.0_f32;
                    for share in [0.12, 0.3, 0.6, 1.0] {
                        let r = reach * share;
                        let (u, v) = (dx * r, dy * r);
                        let (px, py) = (x as f32 + u + 0.5, y as f32 + v + 0.5);
                        if px < 0.0 || py < 0.0 {
                            continue;
                        }
                        let (px, py) = (px as usize, py as usize);
                        if px >= self.width || py >= self.height {
                            continue;
                        }
                        let there = &self.pixels[py * self.width + px];
                        if there.cover == 0.0 {
                            continue;
                        }
                        let rise = depth + slope.0 * u + slope.1 * v - there.depth / samples;
                        if rise > 0.0 {
                            // What stands far above is another thing: it fades.
                            let far = rise / (4.0 * reach);
                            let sine = rise / (rise * rise + r * r).sqrt();
                            horizon = horizon.max(sine / (1.0 + far * far));
                        }
                    }
                    hidden += (horizon - 0.1).max(0.0);
                }
                open[row * width + column] = 1.0 - 0.75 * hidden / 8.0;
            }
        }
        Openness {
            width,
            height,
            open,
        }
        .softened()
    }
}

struct Openness {
    width: usize,
    height: usize,
    open: Vec<f32>,
}

impl Openness {
    /// Means of three by three places, which take the steps out of the horizons.
    fn softened(mut self) -> Self {
        let mut rows = self.open.clone();
        for (mean, row) in rows
            .chunks_exact_mut(self.width)
            .zip(self.open.chunks_exact(self.width))
        {
            for (mean, three) in mean.iter_mut().skip(1).zip(row.windows(3)) {
                *mean = three.iter().sum::<f32>() / 3.0;
            }
        }
        for row in 1..self.height.saturating_sub(1) {
            for at in row * self.width..(row + 1) * self.width {
                self.open[at] = (rows[at - self.width] + rows[at] + rows[at + self.width]) / 3.0;
            }
        }
        self
    }

    /// Between the four places round a pixel.
    fn at(&self, x: usize, y: usize) -> f32 {
        let (c, r) = (x / 2, y / 2);
        let (d, s) = ((c + 1).min(self.width - 1), (r + 1).min(self.height - 1));
        let row = |r: usize| {
            let (a, b) = (self.open[r * self.width + c], self.open[r * self.width + d]);
            if x.is_multiple_of(2) {
                a
            } else {
                (a + b) / 2.0
            }
        };
        if y.is_multiple_of(2) {
            row(r)
        } else {
            (row(r) + row(s)) / 2.0
        }
    }
}

/// An sRGB colour in linear light (IEC 61966-2-1).
pub(super) fn linear(colour: [u8; 3]) -> [f32; 3] {
    colour.map(|c| {
        let c = f64::from(c) / 255.0;
        let light = if c <= 0.04045 {
            c / 12.92
        } else {
            libm::pow((c + 0.055) / 1.055, 2.4)
        };
        light as f32
    })
}

/// sRGB codes of linear light in even steps (IEC 61966-2-1). With this many
/// steps even the darkest codes are hit to within one.
fn code_table() -> Vec<u8> {
    const STEPS: u32 = 4096;
    (0..=STEPS)
        .map(|i| {
            let c = f64::from(i) / f64::from(STEPS);
            let code = if c <= 0.003_130_8 {
                12.92 * c
            } else {
                1.055 * libm::pow(c, 1.0 / 2.4) - 0.055
            };
            (255.0 * code + 0.5) as u8
        })
        .collect()
}
