//! Pictures of sheets, made ready to be shown.

use std::io::Cursor;

use image::{ImageReader, Limits};

/// No picture is shown larger, pixels.
const LARGEST: u32 = 900;

/// A picture with more pixels to a side than any camera's is not unpacked.
const MOST_PIXELS: u32 = 20_000;

/// Nor is one that would take more memory, bytes.
const MOST_MEMORY: u64 = 400_000_000;

/// A picture as it is shown: rows from the top, four bytes (red, green, blue, alpha) for each pixel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Width and height, pixels.
    pub size: [usize; 2],
    /// The pixels.
    pub rgba: Vec<u8>,
}

impl Picture {
    /// Unpacks the file of a picture (PNG or JPEG); `None` where it can't be, or is too large.
    pub(super) fn read(file: &[u8]) -> Option<Self> {
        // A file that its reader has not reckoned with must not end the thread that keeps the shop.
        std::panic::catch_unwind(|| Self::unpack(file)).ok().flatten()
    }

    fn unpack(file: &[u8]) -> Option<Self> {
        let mut limits = Limits::default();
        limits.max_image_width = Some(MOST_PIXELS);
        limits.max_image_height = Some(MOST_PIXELS);
        limits.max_alloc = Some(MOST_MEMORY);
        let mut reader = ImageReader::new(Cursor::new(file)).with_guessed_format().ok()?;
        reader.limits(limits);
        let shown = reader.decode().ok()?.thumbnail(LARGEST, LARGEST).into_rgba8();
        let size = [shown.width() as usize, shown.height() as usize];
        Some(Self { size, rgba: shown.into_raw() })
    }
}

#[cfg(test)]
mod tests {
    use image::{ImageFormat, RgbaImage};

    use super::*;

    #[test]
    fn pictures_are_unpacked_no_larger_than_they_are_shown() {
        let of = |width, height| {
            let mut file = Cursor::new(Vec::new());
            let red = RgbaImage::from_pixel(width, height, image::Rgba([200, 10, 20, 255]));
            red.write_to(&mut file, ImageFormat::Png).unwrap();
            file.into_inner()
        };
        let small = Picture::read(&of(30, 20)).unwrap();
        assert_eq!(small.size[0] * 20, small.size[1] * 30);
        let large = Picture::read(&of(1800, 900)).unwrap();
        assert_eq!(large.size, [900, 450]);
        assert_eq!(large.rgba.len(), 900 * 450 * 4);
        assert_eq!(large.rgba[..4], [200, 10, 20, 255]);
        let mut broken = of(30, 20);
        broken.truncate(40);
        assert_eq!(Picture::read(&broken), None);
        assert_eq!(Picture::read(b"no picture"), None);
    }
}
