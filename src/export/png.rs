//! Pictures as PNG.

use crate::drawing::picture::Image;

/// The picture in a PNG of 8-bit RGB; `None` for any other.
#[must_use]
pub fn from_bytes(bytes: &[u8]) -> Option<Image> {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .ok()?;
    let mut rgb = vec![0; reader.output_buffer_size()?];
    let info = reader.next_frame(&mut rgb).ok()?;
    if (info.color_type, info.bit_depth) != (png::ColorType::Rgb, png::BitDepth::Eight) {
        return None;
    }
    rgb.truncate(info.buffer_size());
    Image::new(info.width, info.height, rgb)
}

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back() {
        let pixels: Vec<u8> = (0..3 * 5 * 4).map(|i| (i * 7 % 251) as u8).collect();
        let image = Image::new(5, 4, pixels).unwrap();
        assert_eq!(from_bytes(&to_bytes(&image)).as_ref(), Some(&image));
        assert_eq!(from_bytes(b"no picture"), None);
        assert_eq!(Image::new(5, 4, vec![0; 59]), None);
        assert_eq!(Image::new(0, 4, Vec::new()), None);
    }
}
