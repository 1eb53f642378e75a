//! JPEG without what isn't picture (ITU-T T.81, annex B).
//!
//! A file is a row of segments, each a marker and most with a length, and after each start
//! of scan the compressed data up to the next marker. Kept are the tables, frames and
//! scans, JFIF's header without its thumbnail, the colour profile (ICC in APP2) and Adobe's
//! note on the colour transform (APP14), without which colours would come out wrong. Left
//! out is every other application segment (Exif, XMP, IPTC, previews, makers' own), every
//! comment, and what follows the end.

use super::{Broken, exif, slice};

const START: u8 = 0xD8;
const END: u8 = 0xD9;
const SCAN: u8 = 0xDA;
const APP0: u8 = 0xE0;
const APP1: u8 = 0xE1;
const APP2: u8 = 0xE2;
const APP14: u8 = 0xEE;
const APP15: u8 = 0xEF;
const COMMENT: u8 = 0xFE;

const EXIF: &[u8] = b"Exif\0\0";

pub(super) fn clean(content: &[u8]) -> Result<Vec<u8>, Broken> {
    let mut orientation = None;
    let mut header = Vec::new();
    let mut picture = Vec::with_capacity(content.len());
    let mut at = 2;
    let mut scans = 0;
    loop {
        let (marker, next) = marker(content, at)?;
        at = next;
        if marker == END {
            break;
        }
        // Stand-alone markers: restarts and TEM.
        if matches!(marker, 0x01 | 0xD0..=0xD7) {
            picture.extend([0xFF, marker]);
            continue;
        }
        let body = segment(content, at)?;
        at += 2 + body.len();
        match marker {
            APP0 if body.starts_with(b"JFIF\0") && header.is_empty() => {
                header = jfif(body);
            }
            APP1 if body.starts_with(EXIF) => {
                orientation = orientation.or(exif::orientation(&body[EXIF.len()..]));
            }
            APP2 if body.starts_with(b"ICC_PROFILE\0") => {
                push(&mut picture, marker, body);
            }
            APP14 if body.starts_with(b"Adobe") => push(&mut picture, marker, body),
            APP0..=APP15 | COMMENT => {}
            START => return Err(format!("a second picture begins at byte {at}")),
            SCAN => {
                push(&mut picture, marker, body);
                let end = scan_end(content, at)?;
                picture.extend(&content[at..end]);
                at = end;
                scans += 1;
            }
            _ => push(&mut picture, marker, body),
        }
    }
    if scans == 0 {
        return Err("it holds no picture data".to_owned());
    }
    Ok(assemble(&header, orientation, &picture))
}

fn assemble(header: &[u8], orientation: Option<u16>, picture: &[u8]) -> Vec<u8> {
    let mut file = vec![0xFF, START];
    if !header.is_empty() {
        push(&mut file, APP0, header);
    }
    if let Some(orientation) = orientation {
        push(&mut file, APP1, &[EXIF, &exif::block(orientation)].concat());
    }
    file.extend(picture);
    file.extend([0xFF, END]);
    file
}

/// The marker at `at`, which any number of bytes FF may precede, and where it ends.
fn marker(content: &[u8], at: usize) -> Result<(u8, usize), Broken> {
    if slice(content, at, 2)?[0] != 0xFF {
        return Err(format!("no segment begins at byte {at}"));
    }
    let fill = content[at..].iter().take_while(|&&byte| byte == 0xFF).count();
    Ok((slice(content, at + fill, 1)?[0], at + fill + 1))
}

/// What a segment holds behind its length, which counts itself.
fn segment(content: &[u8], at: usize) -> Result<&[u8], Broken> {
    let length = slice(content, at, 2)?;
    let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
    match length.checked_sub(2) {
        Some(length) => slice(content, at + 2, length),
        None => Err(format!("the segment at byte {at} has a length of {length}")),
    }
}

fn push(file: &mut Vec<u8>, marker: u8, body: &[u8]) {
    file.extend([0xFF, marker]);
    // A body is never longer than it was read with, or a few bytes of our own.
    file.extend((body.len() as u16 + 2).to_be_bytes());
    file.extend(body);
}

/// The header without the small picture that it may hold, whose size is in the last two
/// bytes.
fn jfif(body: &[u8]) -> Vec<u8> {
    let mut header = body[..body.len().min(14)].to_vec();
    if let Some(thumbnail) = header.get_mut(12..14) {
        thumbnail.fill(0);
    }
    header
}

/// Where the next marker stands behind compressed data, in which a byte FF is followed by 0
/// or a restart.
fn scan_end(content: &[u8], from: usize) -> Result<usize, Broken> {
    let pairs = content[from..].windows(2).position(|pair| {
        pair[0] == 0xFF && !matches!(pair[1], 0x00 | 0xFF | 0xD0..=0xD7)
    });
    match pairs {
        Some(offset) => Ok(from + offset),
        None => Err(format!("it ends at byte {}, within picture data", content.len())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(segments: &[(u8, &[u8])], tail: &[u8]) -> Vec<u8> {
        let mut file = vec![0xFF, START];
        for (marker, body) in segments {
            push(&mut file, *marker, body);
        }
        file.extend(tail);
        file
    }

    const DATA: &[u8] = b"\x12\xFF\x00\x34\xFF\xD3\x56";

    #[test]
    fn only_the_picture_and_its_orientation_stay() {
        let exif = [EXIF, &exif::block(6), b"GPS 47.1"].concat();
        let scan: (u8, &[u8]) = (SCAN, b"\x01\x01\0\0\x3f\0");
        let before = file(
            &[
                (APP0, b"JFIF\0\x01\x02\x01\0\x48\0\x48\x01\x01abc"),
                (APP0, b"JFXX\0preview"),
                (APP1, &exif),
                (APP1, b"http://ns.adobe.com/xap/1.0/\0<x/>"),
                (APP2, b"ICC_PROFILE\0\x01\x01icc"),
                (APP2, b"MPF\0second picture"),
                (0xED, b"Photoshop 3.0\08BIM"),
                (APP14, b"Adobe\0\x64"),
                (COMMENT, b"taken by A. Fitter"),
                (0xDB, b"\0tables"),
                scan,
            ],
            &[DATA, b"\xFF\xD9and a film behind it"].concat(),
        );
        let after = file(
            &[
                (APP0, b"JFIF\0\x01\x02\x01\0\x48\0\x48\0\0"),
                (APP1, &[EXIF, &exif::block(6)].concat()),
                (APP2, b"ICC_PROFILE\0\x01\x01icc"),
                (APP14, b"Adobe\0\x64"),
                (0xDB, b"\0tables"),
                scan,
            ],
            &[DATA, b"\xFF\xD9"].concat(),
        );
        assert_eq!(clean(&before), Ok(after.clone()));
        assert_eq!(clean(&after), Ok(after));
    }

    #[test]
    fn comments_between_scans_are_found() {
        let scan: (u8, &[u8]) = (SCAN, b"s");
        let mut before = file(&[scan], DATA);
        let mut after = before.clone();
        push(&mut before, COMMENT, b"secret");
        for file in [&mut before, &mut after] {
            push(file, SCAN, b"t");
            file.extend(b"\x01\xFF\xD9");
        }
        assert_eq!(clean(&before), Ok(after));
    }

    #[test]
    fn what_is_cut_or_garbled_is_broken_and_never_a_panic() {
        let whole = file(&[(0xDB, b"\0tables"), (SCAN, b"s")], b"\x12\xFF\xD9");
        assert!(clean(&whole).is_ok());
        for length in 3..whole.len() {
            assert!(clean(&whole[..length]).is_err(), "{length}");
        }
        for (content, why) in [
            (file(&[(0xDB, b"t")], b"\xFF\xD9"), "it holds no picture data"),
            (file(&[], b"\xFF\xDB\0\x01"), "the segment at byte 4 has a length of 1"),
            (file(&[], b"plain"), "no segment begins at byte 2"),
        ] {
            assert_eq!(clean(&content), Err(why.to_owned()));
        }
    }
}
