//! A photograph from the bytes of a file.

use std::io::Cursor;

use image::{DynamicImage, ImageDecoder, ImageError, ImageReader, Limits, Rgb, RgbImage};
use oddment_core::shape::{Point, Space};

/// The coordinates of a photograph as it is looked at: pixels from its upper left corner, y down. The
/// middle of the first pixel is at (0.5, 0.5).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PixelSpace;

impl Space for PixelSpace {}

/// More pixels than this are refused: no camera in a shop makes them, and each takes 20 bytes here.
pub const MOST_PIXELS: u64 = 120_000_000;
/// A photograph narrower than this (pixels) shows nothing.
const LEAST_SIDE: u32 = 64;

/// Why bytes are no photograph.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PhotoFault {
    /// Neither JPEG nor PNG.
    #[error("this is no JPEG or PNG; save the photograph as one of them")]
    Format,
    /// Damaged, or cut short.
    #[error("the photograph can't be read ({0}); copy it from the camera again")]
    Broken(String),
    /// Too many pixels.
    #[error(
        "the photograph has {0} × {1} pixels, which is more than {most} million; make it smaller",
        most = MOST_PIXELS / 1_000_000
    )]
    TooLarge(u32, u32),
    /// Too few pixels.
    #[error("the photograph has only {0} × {1} pixels; take the camera's own file")]
    TooSmall(u32, u32),
}

/// A photograph, the way up that it is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Photograph {
    colours: RgbImage,
    /// Lightness of each pixel, 0 to 255, row by row.
    grey: Vec<f32>,
}

impl Photograph {
    /// Reads a JPEG or PNG, turned as its EXIF orientation says.
    ///
    /// # Errors
    /// [`PhotoFault`]; a file that is larger than it can be good for is refused before its pixels are read.
    pub fn read(bytes: &[u8]) -> Result<Self, PhotoFault> {
        let mut reader = ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .map_err(|why| PhotoFault::Broken(why.to_string()))?;
        if reader.format().is_none() {
            return Err(PhotoFault::Format);
        }
        let mut limits = Limits::default();
        // A colour of 16 bits for each of three or four channels.
        limits.max_alloc = Some(MOST_PIXELS * 8);
        reader.limits(limits);
        let mut decoder = reader.into_decoder().map_err(fault)?;
        let (width, height) = decoder.dimensions();
        if u64::from(width) * u64::from(height) > MOST_PIXELS {
            return Err(PhotoFault::TooLarge(width, height));
        }
        // A bad orientation is none.
        let orientation = decoder.orientation().ok();
        let mut picture = DynamicImage::from_decoder(decoder).map_err(fault)?;
        if let Some(orientation) = orientation {
            picture.apply_orientation(orientation);
        }
        Self::of(picture.into_rgb8())
    }

    /// A photograph of these colours.
    ///
    /// # Errors
    /// [`PhotoFault`] where it has too few or too many pixels.
    pub fn of(colours: RgbImage) -> Result<Self, PhotoFault> {
        let (width, height) = colours.dimensions();
        if width.min(height) < LEAST_SIDE {
            return Err(PhotoFault::TooSmall(width, height));
        }
        if u64::from(width) * u64::from(height) > MOST_PIXELS {
            return Err(PhotoFault::TooLarge(width, height));
        }
        let lightness = |p: &Rgb<u8>| {
            0.299 * f32::from(p[0]) + 0.587 * f32::from(p[1]) + 0.114 * f32::from(p[2])
        };
        let grey = colours.pixels().map(lightness).collect();
        Ok(Self { colours, grey })
    }

    /// Its colours.
    pub fn colours(&self) -> &RgbImage {
        &self.colours
    }

    /// Width, pixels.
    pub fn width(&self) -> f64 {
        f64::from(self.colours.width())
    }

    /// Height, pixels.
    pub fn height(&self) -> f64 {
        f64::from(self.colours.height())
    }

    /// Whether a place is in the picture.
    pub fn holds(&self, at: Point<PixelSpace>) -> bool {
        (0.0..=self.width()).contains(&at.x) && (0.0..=self.height()).contains(&at.y)
    }

    /// Lightness at a place, 0 to 255, between pixels by straight lines; beyond the border as on it.
    pub fn lightness(&self, at: Point<PixelSpace>) -> f64 {
        let [a, b, c, d] = self.around(at).map(|(i, share)| f64::from(self.grey[i]) * share);
        a + b + c + d
    }

    /// Colour at a place, as [`lightness`](Self::lightness).
    pub fn colour(&self, at: Point<PixelSpace>) -> [u8; 3] {
        let mut sum = [0.0; 3];
        for (i, share) in self.around(at) {
            let pixel = &self.colours.as_raw()[3 * i..3 * i + 3];
            for (s, v) in sum.iter_mut().zip(pixel) {
                *s += share * f64::from(*v);
            }
        }
        sum.map(|s| s.round() as u8)
    }

    /// The four pixels about a place, each with its share.
    fn around(&self, at: Point<PixelSpace>) -> [(usize, f64); 4] {
        let (w, h) = (self.colours.width() as usize, self.colours.height() as usize);
        let part = |v: f64, n: usize| {
            // Not a number becomes 0 here.
            let v = (v - 0.5).clamp(0.0, (n - 1) as f64);
            let low = v as usize;
            (low, (low + 1).min(n - 1), v - low as f64)
        };
        let ((x, x1, fx), (y, y1, fy)) = (part(at.x, w), part(at.y, h));
        let fx = if fx.is_finite() { fx } else { 0.0 };
        let fy = if fy.is_finite() { fy } else { 0.0 };
        [
            (y * w + x, (1.0 - fx) * (1.0 - fy)),
            (y * w + x1, fx * (1.0 - fy)),
            (y1 * w + x, (1.0 - fx) * fy),
            (y1 * w + x1, fx * fy),
        ]
    }
}

fn fault(why: ImageError) -> PhotoFault {
    match why {
        ImageError::Unsupported(_) => PhotoFault::Format,
        other => PhotoFault::Broken(other.to_string()),
    }
}
