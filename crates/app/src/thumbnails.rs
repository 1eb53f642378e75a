//! Photographs made small, so that a list of them does not send megabytes to a phone.
//!
//! The file that was attached is the evidence and stays as it is; what is made here is a view
//! of it that could be made again at any time, and is kept nowhere but in memory.
//!
//! A picture is taken for hostile until it is decoded: its size is looked at before a pixel is,
//! memory is bounded, and a JPEG with more scans than any camera writes is left alone, because
//! each scan may cost a pass over the whole of it. What makes the decoder stumble is as if it
//! could not be read. What can't be made small is said so, and whoever looks has the link to the
//! original.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{
    DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits, RgbImage,
};
use ledger::Place;

use crate::{AppError, Attachment, attachment};

/// The longer side of what is made, in pixels: a list shows it at 160, and a phone has up to
/// three pixels for each of those.
const SIDE: u32 = 400;
/// The quality of what is made, of 100.
const QUALITY: u8 = 72;
/// An original of so many bytes is sent as it is, if it is no larger than what would be made or
/// can't be made smaller.
const SMALL_ENOUGH: usize = 100_000;
/// The greatest picture that is decoded, in pixels: cameras of phones come to fifty million.
const MOST_PIXELS: u64 = 52_000_000;
/// The longest side, in pixels.
const LONGEST: u32 = 16_384;
/// So many bytes the pixels of one may take, as they are decoded.
const MOST_BYTES: u64 = 256_000_000;
/// So many scans a JPEG may have: cameras write one, progressive encoders about ten.
const MOST_SCANS: usize = 64;
/// A JPEG in several scans keeps the coefficients of all pixels until the last one, twice as many
/// bytes again as the pixels take: it may have so many pixels.
const MOST_PIXELS_IN_SCANS: u64 = MOST_PIXELS / 2;
/// So many pixels all scans of a JPEG may pass over.
const MOST_PASSED: u64 = 400_000_000;

/// A photograph, small.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thumbnail {
    /// What it is, as a media type.
    pub media: &'static str,
    /// Its bytes.
    pub content: Vec<u8>,
}

/// What comes of a file that was to be made small.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Small {
    /// It is a photograph, and this is it.
    Made(Thumbnail),
    /// It is no picture, or can't be made small.
    Not,
}

/// A photograph made small, by its digest, turned as the camera was held; nothing if no file
/// has the digest.
///
/// It takes up to some hundred megabytes and some seconds: whoever asks does so a few at a time.
///
/// # Errors
/// If the ledger can't be read.
pub fn thumbnail(ledger: &Place, digest: &str) -> Result<Option<Small>, AppError> {
    let found = attachment(ledger, digest)?;
    Ok(found.map(|file| of(file).map_or(Small::Not, Small::Made)))
}

/// Of a file that was attached.
fn of(file: Attachment) -> Option<Thumbnail> {
    if !file.picture {
        return None;
    }
    match caught(&file.content, file.media) {
        Ok(content) if content.len() < file.content.len() => {
            Some(Thumbnail { media: ImageFormat::Jpeg.to_mime_type(), content })
        }
        // What bursts here would burst on a phone.
        Err(Unmade::TooLarge) => None,
        // It is smaller than what was made of it, or a browser may know what we don't.
        Ok(_) | Err(Unmade::Unreadable) => {
            let mut content = file.content;
            content.shrink_to_fit();
            let small = content.len() <= SMALL_ENOUGH;
            small.then_some(Thumbnail { media: file.media, content })
        }
    }
}

/// Why a picture was not made small.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unmade {
    /// It would take more memory or time than it may.
    TooLarge,
    /// It is broken, or written in a way that is not known here.
    Unreadable,
}

impl From<ImageError> for Unmade {
    fn from(error: ImageError) -> Self {
        match error {
            ImageError::Limits(_) => Self::TooLarge,
            _ => Self::Unreadable,
        }
    }
}

/// A JPEG of a picture, small. Decoders are others' work on bytes from anywhere: a defect in one
/// is caught, so that it is met once and not by everybody who looks.
fn caught(content: &[u8], media: &str) -> Result<Vec<u8>, Unmade> {
    std::panic::catch_unwind(|| made(content, media)).unwrap_or(Err(Unmade::Unreadable))
}

fn made(content: &[u8], media: &str) -> Result<Vec<u8>, Unmade> {
    let (picture, orientation) = decoded(content, media)?;
    let (width, height) = (picture.width(), picture.height());
    // What is small already is not blown up.
    let mut picture =
        if width.max(height) > SIDE { picture.thumbnail(SIDE, SIDE) } else { picture };
    picture.apply_orientation(orientation);
    let picture = on_white(&picture);
    let mut content = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut content, QUALITY);
    encoder.encode_image(&picture)?;
    // It is kept for a while, and counted by its length.
    content.shrink_to_fit();
    Ok(content)
}

/// The pixels of a picture, and how it is to be turned, if it is no larger than what may be.
fn decoded(content: &[u8], media: &str) -> Result<(DynamicImage, Orientation), Unmade> {
    let format = ImageFormat::from_mime_type(media).ok_or(Unmade::Unreadable)?;
    let scans = if format == ImageFormat::Jpeg { scans(content) } else { 1 };
    if scans > MOST_SCANS {
        return Err(Unmade::TooLarge);
    }
    let mut reader = ImageReader::with_format(Cursor::new(content), format);
    let mut limits = Limits::default();
    limits.max_image_width = Some(LONGEST);
    limits.max_image_height = Some(LONGEST);
    limits.max_alloc = Some(MOST_BYTES);
    reader.limits(limits);
    let mut decoder = reader.into_decoder()?;
    let (width, height) = decoder.dimensions();
    let pixels = u64::from(width) * u64::from(height);
    let most = if scans > 1 { MOST_PIXELS_IN_SCANS } else { MOST_PIXELS };
    let passed = pixels.saturating_mul(scans as u64);
    if pixels > most || passed > MOST_PASSED || decoder.total_bytes() > MOST_BYTES {
        return Err(Unmade::TooLarge);
    }
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    Ok((DynamicImage::from_decoder(decoder)?, orientation))
}

/// How many scans a JPEG begins (the marker SOS of ITU-T T.81, B.2.3; within what is coded a
/// byte FF is followed by 00, B.1.1.5).
fn scans(content: &[u8]) -> usize {
    content.windows(2).filter(|pair| *pair == [0xFF, 0xDA]).count()
}

/// A picture without transparency: JPEG has none, and a page may be dark.
fn on_white(picture: &DynamicImage) -> RgbImage {
    if !picture.color().has_alpha() {
        return picture.to_rgb8();
    }
    let seen = picture.to_rgba8();
    RgbImage::from_fn(seen.width(), seen.height(), |x, y| {
        let [red, green, blue, alpha] = seen.get_pixel(x, y).0;
        let over = |value: u8| {
            let (value, alpha) = (u16::from(value), u16::from(alpha));
            // Between two bytes lies a byte.
            ((value * alpha + 255 * (255 - alpha)) / 255) as u8
        };
        image::Rgb([red, green, blue].map(over))
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn file(media: &'static str, content: Vec<u8>) -> Attachment {
        Attachment { media, ending: "", picture: true, content }
    }

    /// A picture of noise, which no encoder makes small, the upper left quarter of it red.
    fn noise(width: u32, height: u32) -> RgbImage {
        let mut state = 1_u32;
        RgbImage::from_fn(width, height, |x, y| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let value = (state >> 24) as u8;
            let red = x < width / 2 && y < height / 2;
            image::Rgb(if red { [255, 0, 0] } else { [value / 8, value, value] })
        })
    }

    fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
        let mut content = Cursor::new(Vec::new());
        picture.write_to(&mut content, format).unwrap();
        content.into_inner()
    }

    fn is_red(picture: &DynamicImage, x: u32, y: u32) -> bool {
        let [red, green, _] = picture.to_rgb8().get_pixel(x, y).0;
        red > 180 && green < 80
    }

    fn looked_at(small: &Thumbnail) -> DynamicImage {
        assert_eq!(small.media, "image/jpeg");
        image::load_from_memory(&small.content).unwrap()
    }

    /// Exif 2.32, 4.6.2 and table 4: the tag 0112 of the first directory, a SHORT, in a JPEG's
    /// APP1 after `Exif`, 0, 0.
    fn turned(jpeg: &[u8], orientation: u8) -> Vec<u8> {
        let mut exif =
            b"Exif\0\0MM\0\x2A\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01".to_vec();
        exif.extend([0, orientation, 0, 0, 0, 0, 0, 0]);
        let mut whole = jpeg[..2].to_vec();
        whole.extend([0xFF, 0xE1]);
        whole.extend(u16::try_from(exif.len() + 2).unwrap().to_be_bytes());
        whole.extend(exif);
        whole.extend(&jpeg[2..]);
        whole
    }

    #[test]
    fn photographs_of_every_kind_become_small() {
        let picture = DynamicImage::ImageRgb8(noise(1600, 1200));
        for (format, media) in [
            (ImageFormat::Jpeg, "image/jpeg"),
            (ImageFormat::Png, "image/png"),
            (ImageFormat::WebP, "image/webp"),
        ] {
            let content = encoded(&picture, format);
            let (large, small) = (content.len(), of(file(media, content)).unwrap());
            let seen = looked_at(&small);
            assert_eq!((seen.width(), seen.height()), (400, 300), "{media}");
            assert!(is_red(&seen, 20, 20) && !is_red(&seen, 380, 280), "{media}");
            assert!(small.content.len() * 5 < large, "{media}");
        }
    }

    /// Exif 2.32, table 4: 3 is turned half about, 6 a quarter, 8 three quarters; by 6 the first
    /// row is the right side and the first column the top.
    #[test]
    fn it_stands_as_the_camera_was_held() {
        let jpeg =
            encoded(&DynamicImage::ImageRgb8(noise(1600, 1200)), ImageFormat::Jpeg);
        let (near, far) = (20, 280);
        for (orientation, size, red) in [
            (1, (400, 300), (near, near)),
            (3, (400, 300), (380, far)),
            (6, (300, 400), (far, near)),
            (8, (300, 400), (near, 380)),
        ] {
            let small = of(file("image/jpeg", turned(&jpeg, orientation))).unwrap();
            let seen = looked_at(&small);
            assert_eq!((seen.width(), seen.height()), size, "{orientation}");
            assert!(is_red(&seen, red.0, red.1), "{orientation}");
            // And nothing of it is left to turn it once more.
            assert!(!small.content.windows(4).any(|part| part == b"Exif"));
        }
    }

    #[test]
    fn what_shines_through_is_white() {
        let clear = image::RgbaImage::from_pixel(900, 900, image::Rgba([0, 0, 0, 0]));
        let mut picture = DynamicImage::ImageRgba8(clear);
        // Noise, so that it is worth making small.
        for (x, y, pixel) in noise(900, 400).enumerate_pixels() {
            let [red, green, blue] = pixel.0;
            image::GenericImage::put_pixel(
                &mut picture,
                x,
                y,
                image::Rgba([red, green, blue, 255]),
            );
        }
        let content = encoded(&picture, ImageFormat::Png);
        let seen = looked_at(&of(file("image/png", content)).unwrap()).to_rgb8();
        assert!(seen.get_pixel(200, 390).0.iter().all(|value| *value > 240));
    }

    /// A PNG whose header claims more than is there (PNG, third edition, 11.2.1).
    fn bomb(width: u32, height: u32) -> Vec<u8> {
        let picture = DynamicImage::ImageRgb8(RgbImage::new(1, 1));
        let mut content = encoded(&picture, ImageFormat::Png);
        content[16..20].copy_from_slice(&width.to_be_bytes());
        content[20..24].copy_from_slice(&height.to_be_bytes());
        let check = crc(&content[12..29]);
        content[29..33].copy_from_slice(&check.to_be_bytes());
        content
    }

    /// PNG, third edition, annex D.
    fn crc(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(u32::MAX, |crc, byte| {
            (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
                if crc & 1 == 1 { 0xEDB8_8320 ^ (crc >> 1) } else { crc >> 1 }
            })
        })
    }

    #[test]
    fn what_claims_to_be_huge_or_is_broken_is_never_decoded() {
        for (width, height) in
            [(16_000, 16_000), (60_000, 800), (u32::MAX >> 1, u32::MAX >> 1)]
        {
            let refused = decoded(&bomb(width, height), "image/png").err();
            assert_eq!(refused, Some(Unmade::TooLarge), "{width}");
        }
        let jpeg = encoded(&DynamicImage::ImageRgb8(noise(64, 64)), ImageFormat::Jpeg);
        let mut many = jpeg.clone();
        for _ in 0..100 {
            many.extend([0xFF, 0xDA, 0, 8, 1, 1, 0, 0, 0x3F, 0]);
        }
        assert!(decoded(&jpeg, "image/jpeg").is_ok());
        assert_eq!(decoded(&many, "image/jpeg").err(), Some(Unmade::TooLarge));
        for (content, media) in [(&b"no picture"[..], "image/webp"), (&jpeg, "a/b")] {
            assert_eq!(decoded(content, media).err(), Some(Unmade::Unreadable));
        }
    }

    /// A header that claims so many pixels, and so many scans behind it; what it would hold is
    /// not there, and nobody looks for it.
    fn in_scans(side: u16, scans: usize) -> Vec<u8> {
        let mut jpeg =
            encoded(&DynamicImage::ImageRgb8(noise(64, 64)), ImageFormat::Jpeg);
        // T.81, B.2.2: the frame's height and width stand after its length and precision.
        let frame = jpeg.windows(2).position(|pair| pair == [0xFF, 0xC0]).unwrap();
        jpeg[frame + 5..frame + 7].copy_from_slice(&side.to_be_bytes());
        jpeg[frame + 7..frame + 9].copy_from_slice(&side.to_be_bytes());
        for _ in 1..scans {
            jpeg.extend([0xFF, 0xDA, 0, 8, 1, 1, 0, 0, 0x3F, 0]);
        }
        jpeg
    }

    #[test]
    fn the_more_scans_a_picture_has_the_smaller_it_must_be() {
        for (side, scans) in [(6000, 2), (4000, 30), (1000, 65), (8000, 1)] {
            let refused = decoded(&in_scans(side, scans), "image/jpeg").err();
            assert_eq!(refused, Some(Unmade::TooLarge), "{side} in {scans}");
        }
        for (side, scans) in [(1000, 1), (1000, 12)] {
            let refused = decoded(&in_scans(side, scans), "image/jpeg").err();
            assert_ne!(refused, Some(Unmade::TooLarge), "{side} in {scans}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        /// Bytes changed or cut off anywhere: a picture, or none, and never a defect.
        #[test]
        fn a_broken_picture_is_made_small_or_not(
            which in 0..3_usize,
            changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..6),
            length in any::<prop::sample::Index>(),
            cut in any::<bool>(),
        ) {
            let picture = DynamicImage::ImageRgb8(noise(90, 70));
            let (format, media) = [
                (ImageFormat::Jpeg, "image/jpeg"),
                (ImageFormat::Png, "image/png"),
                (ImageFormat::WebP, "image/webp"),
            ][which];
            let mut content = encoded(&picture, format);
            if cut {
                content.truncate(length.index(content.len()));
            }
            let length = content.len();
            for (at, by) in changes.iter().filter(|_| length > 0) {
                content[at.index(length)] = *by;
            }
            // Not through what catches defects: there should be none to catch.
            if let Ok(small) = made(&content, media) {
                prop_assert!(image::load_from_memory(&small).is_ok());
            }
        }
    }

    #[test]
    fn what_cannot_be_made_small_is_sent_whole_only_if_it_is_small() {
        let odd = b"RIFF\x04\0\0\0WEBP".to_vec();
        let sent = of(file("image/webp", odd.clone())).unwrap();
        assert_eq!((sent.media, &sent.content), ("image/webp", &odd));
        let large = [odd, vec![0; SMALL_ENOUGH]].concat();
        assert_eq!(of(file("image/webp", large)), None);
        // What would take too much memory is not handed on to a phone either.
        assert_eq!(of(file("image/png", bomb(60_000, 60_000))), None);
        let document = Attachment { picture: false, ..file("application/pdf", vec![1]) };
        assert_eq!(of(document), None);
    }

    #[test]
    fn a_picture_that_is_small_already_stays_as_it_is() {
        let tiny = encoded(&DynamicImage::ImageRgb8(noise(8, 8)), ImageFormat::Png);
        let sent = of(file("image/png", tiny.clone())).unwrap();
        assert_eq!(sent.content, tiny);
    }
}
