//! Files of photographs: whole, turned, damaged and hostile.
#![cfg(test)]

use std::io::Cursor;

use image::{ImageFormat, Rgb, RgbImage};
use oddment_core::shape::Point;
use oddment_photo::{PhotoFault, Photograph};
use proptest::prelude::*;

/// Dark but for its upper left corner.
fn picture() -> RgbImage {
    let light = |x, y| x < 40 && y < 30;
    RgbImage::from_fn(120, 90, |x, y| Rgb(if light(x, y) { [220, 200, 180] } else { [30; 3] }))
}

fn file(format: ImageFormat) -> Vec<u8> {
    let mut bytes = Vec::new();
    picture().write_to(&mut Cursor::new(&mut bytes), format).unwrap();
    bytes
}

/// A JPEG whose EXIF says that it is to be turned.
fn turned(orientation: u8) -> Vec<u8> {
    let jpeg = file(ImageFormat::Jpeg);
    // One entry, the orientation, in the first directory of a little-endian TIFF.
    let mut exif = b"Exif\0\0II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0".to_vec();
    exif.extend([orientation, 0, 0, 0, 0, 0, 0, 0]);
    let length = (exif.len() + 2) as u16;
    [&jpeg[..2], &[0xff, 0xe1], &length.to_be_bytes(), &exif, &jpeg[2..]].concat()
}

#[test]
fn the_picture_stands_as_it_was_taken() {
    let light = |bytes: &[u8], x: f64, y: f64| {
        let photo = Photograph::read(bytes).unwrap();
        (photo.width(), photo.height(), photo.lightness(Point::new(x, y)) > 120.0)
    };
    assert_eq!(light(&file(ImageFormat::Png), 10.0, 10.0), (120.0, 90.0, true));
    assert_eq!(light(&turned(1), 10.0, 10.0), (120.0, 90.0, true));
    assert_eq!(light(&turned(3), 110.0, 80.0), (120.0, 90.0, true));
    // Held upright: the light corner comes to the upper right, or to the lower left.
    assert_eq!(light(&turned(6), 80.0, 10.0), (90.0, 120.0, true));
    assert_eq!(light(&turned(8), 10.0, 110.0), (90.0, 120.0, true));
    // What means nothing turns nothing.
    assert_eq!(light(&turned(77), 10.0, 10.0), (120.0, 90.0, true));
}

#[test]
fn files_that_are_none_are_refused() {
    assert_eq!(Photograph::read(b""), Err(PhotoFault::Format));
    assert_eq!(Photograph::read(b"0\nSECTION\n"), Err(PhotoFault::Format));
    assert_eq!(Photograph::read(b"GIF89a\x01\0\x01\0\0\0\0;"), Err(PhotoFault::Format));
    for format in [ImageFormat::Png, ImageFormat::Jpeg] {
        let bytes = file(format);
        let cut = Photograph::read(&bytes[..60]);
        assert!(matches!(cut, Err(PhotoFault::Broken(_))), "{cut:?}");
    }
    let small = RgbImage::new(20, 20);
    assert_eq!(Photograph::of(small), Err(PhotoFault::TooSmall(20, 20)));
    // A few bytes that say they are a picture of ten thousand million pixels.
    let mut huge = file(ImageFormat::Png);
    huge[16..24].copy_from_slice(&[0, 1, 0x86, 0xa0, 0, 1, 0x86, 0xa0]);
    let crc = crc(&huge[12..29]);
    huge[29..33].copy_from_slice(&crc.to_be_bytes());
    let refused = Photograph::read(&huge).unwrap_err();
    assert!(matches!(refused, PhotoFault::TooLarge(100_000, 100_000)), "{refused:?}");
}

/// The check that PNG puts behind each piece.
fn crc(bytes: &[u8]) -> u32 {
    let step = |crc: u32| if crc & 1 == 1 { 0xedb8_8320 ^ (crc >> 1) } else { crc >> 1 };
    !bytes.iter().fold(!0, |crc, b| (0..8).fold(crc ^ u32::from(*b), |crc, _| step(crc)))
}

proptest! {
    /// Whatever is wrong with the bytes, there is an answer.
    #[test]
    fn damaged_files_are_answered(
        is_png: bool,
        damage in prop::collection::vec((0usize..4000, any::<u8>()), 1..12),
        cut in 20usize..6000,
    ) {
        let format = if is_png { ImageFormat::Png } else { ImageFormat::Jpeg };
        let mut bytes = if is_png { file(format) } else { turned(6) };
        for (at, to) in damage {
            let at = at % bytes.len();
            bytes[at] = to;
        }
        bytes.truncate(cut);
        if let Ok(photo) = Photograph::read(&bytes) {
            prop_assert!(photo.lightness(Point::new(3.0, f64::NAN)).is_finite());
        }
    }
}
