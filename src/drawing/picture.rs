//! Shaded pictures of meshes: parallel projection, drawn in software.
//!
//! A depth buffer at several samples a pixel, worked in narrow bands so that it
//! stays in cache. Surfaces are lit softly, hollows are darkened by how much of
//! the sky their rims hide, and thin lines mark outlines and sharp edges.
//! Colours are mixed in linear light.

mod light;
mod raster;

use nalgebra::Vector3;

use crate::mesh::Mesh;
use raster::{Facet, Frame};

/// From where a mesh is seen. Parallel projection: nothing shrinks with distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// From the eye into the scene; any length but zero.
    pub towards: Vector3<f64>,
    /// What is up in the picture; any direction that is not along `towards`.
    pub up: Vector3<f64>,
}

impl Camera {
    /// From the side, nose to the left of the picture, back up.
    pub const SIDE: Camera = Camera {
        towards: Vector3::new(0.0, 1.0, 0.0),
        up: Vector3::new(0.0, 0.0, 1.0),
    };
    /// From above, nose to the left of the picture.
    pub const TOP: Camera = Camera {
        towards: Vector3::new(0.0, 0.0, -1.0),
        up: Vector3::new(0.0, 1.0, 0.0),
    };
    /// From in front of the nose, back up.
    pub const NOSE_ON: Camera = Camera {
        towards: Vector3::new(1.0, 0.0, 0.0),
        up: Vector3::new(0.0, 0.0, 1.0),
    };
    /// From the side, a little above and ahead of it, nose to the left.
    pub const THREE_QUARTER: Camera = Camera {
        towards: Vector3::new(0.45, 0.75, -0.5),
        up: Vector3::new(0.0, 0.0, 1.0),
    };
}

/// A mesh and the colour that it is drawn in.
#[derive(Clone, Copy, Debug)]
pub struct Part<'a> {
    /// A closed surface; facets that face away are not drawn.
    pub mesh: &'a Mesh,
    /// Red, green and blue in sRGB.
    pub colour: [u8; 3],
}

/// How large a picture is, and how finely it is sampled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Samples a pixel in each direction, 1 to 8. Time grows with its square.
    pub samples: u32,
    /// Share of the shorter side left free all round, 0 to 0.4.
    pub margin: f64,
}

impl Default for Size {
    fn default() -> Self {
        Size {
            width: 1200,
            height: 800,
            samples: 3,
            margin: 0.06,
        }
    }
}

/// A finished picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Image {
    width: u32,
    height: u32,
    rgb: Vec<u8>,
}

impl Image {
    /// A picture of these pixels, as [`Image::rgb`] gives them; `None` unless there are three bytes
    /// for each.
    #[must_use]
    pub fn new(width: u32, height: u32, rgb: Vec<u8>) -> Option<Image> {
        let bytes = u64::from(width) * u64::from(height) * 3;
        (bytes > 0 && bytes == rgb.len() as u64).then_some(Image { width, height, rgb })
    }

    /// Pixels across.
    #[must_use]
    pub fn width(&self) -> u32 {
        self.width
    }
    /// Pixels down.
    #[must_use]
    pub fn height(&self) -> u32 {
        self.height
    }
    /// Three bytes a pixel (red, green, blue in sRGB), rows from the top.
    #[must_use]
    pub fn rgb(&self) -> &[u8] {
        &self.rgb
    }
}

/// Why a picture cannot be drawn.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PictureError {
    /// Width, height, samples or margin are out of range.
    #[error(
        "a picture is 1 to 16384 pixels each way, with 1 to 8 samples a pixel and a margin of 0 to 0.4"
    )]
    Size,
    /// The camera's directions are zero, not finite or along one line.
    #[error("the camera's `towards` and `up` must be finite and not along one line")]
    Camera,
    /// There are no triangles in any part.
    #[error("there is nothing to draw")]
    Empty,
    /// A part has a point that is not finite, or a triangle that names none.
    #[error("part {part}: a triangle names a point that is missing or not finite")]
    Part {
        /// Index of the part, from 0.
        part: usize,
    },
}

/// Draws the parts, fitted to the picture.
///
/// Facets that meet at less than 30 degrees are shaded as one smooth surface.
///
/// # Errors
/// Refuses sizes out of range, cameras without a direction and unusable meshes.
pub fn render(parts: &[Part], camera: &Camera, size: Size) -> Result<Image, PictureError> {
    let frame = Frame::new(parts, camera, size)?;
    let facets = raster::facets(parts, &frame);
    Ok(paint(parts, &frame, &facets))
}

/// Output rows worked at a time: few enough that their samples stay in cache.
const BAND: u32 = 8;

fn paint(parts: &[Part], frame: &Frame, facets: &[Facet]) -> Image {
    let (width, height) = (frame.width as usize, frame.height as usize);
    let colours: Vec<_> = parts.iter().map(|p| light::linear(p.colour)).collect();
    let mut canvas = light::Canvas::new(width, height);
    let mut band = raster::Band::new(frame, BAND);
    let bins = raster::bins(facets, frame, BAND);
    for (index, bin) in bins.iter().enumerate() {
        let first = index as u32 * BAND;
        band.start(first, frame.samples);
        for &facet in bin {
            band.fill(&facets[facet as usize]);
        }
        for row in first..(first + BAND).min(frame.height) {
            for column in 0..frame.width {
                canvas.push(light::pixel(&band, row - first, column, frame, &colours));
            }
        }
    }
    Image {
        width: frame.width,
        height: frame.height,
        rgb: canvas.finish(frame),
    }
}

#[cfg(test)]
mod tests;
