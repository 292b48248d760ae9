//! Pictures as PNG.

use crate::drawing::picture::Image;

/// A picture as PNG: 8-bit RGB, sRGB, fixed compression, no time stamp.
#[must_use]
pub fn to_bytes(image: &Image) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, image.width(), image.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
    encoder.set_compression(png::Compression::Balanced);
    encoder.set_filter(png::Filter::Adaptive);
    encoder
        .write_header()
        .and_then(|mut writer| {
            writer.write_image_data(image.rgb())?;
            writer.finish()
        })
        .expect("memory takes every write, and an image has as many bytes as it says");
    bytes
}
