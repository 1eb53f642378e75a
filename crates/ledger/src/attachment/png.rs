//! PNG without what isn't picture (W3C Recommendation, Portable Network Graphics, third
//! edition, sections 5 and 11).
//!
//! A file is a signature and a row of chunks: length, type, data, and a checksum over type
//! and data. Left out are texts, the time of the last change, Exif (of which an orientation
//! stays), every chunk that the standard doesn't name, and what follows the end.

use super::{Broken, exif, slice};

pub(super) const SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";

/// What says how the pixels are to be shown, and the pixels.
const KEPT: [&[u8; 4]; 20] = [
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT",
    b"sRGB", b"cICP", b"mDCV", b"cLLI", b"bKGD", b"hIST", b"pHYs", b"sPLT", b"acTL",
    b"fcTL", b"fdAT",
];

pub(super) fn clean(content: &[u8]) -> Result<Vec<u8>, Broken> {
    let mut file = SIGNATURE.to_vec();
    let mut orientation = None;
    let mut after_header = SIGNATURE.len();
    let mut pixels = false;
    let mut at = SIGNATURE.len();
    loop {
        let head = slice(content, at, 8)?;
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]) as usize;
        let whole = slice(content, at, length.saturating_add(12))?;
        let (kind, data) = (&whole[4..8], &whole[8..8 + length]);
        if whole[8 + length..] != crc(&whole[4..8 + length]).to_be_bytes() {
            return Err(format!("the checksum of the chunk at byte {at} doesn't hold"));
        }
        if at == SIGNATURE.len() && kind != b"IHDR" {
            return Err("it doesn't begin with its header".to_owned());
        }
        if kind == b"eXIf" {
            orientation = orientation.or(exif::orientation(data));
        }
        if KEPT.iter().any(|kept| kept[..] == *kind) {
            file.extend(whole);
        }
        if kind == b"IHDR" {
            after_header = file.len();
        }
        pixels |= kind == b"IDAT";
        if kind == b"IEND" {
            break;
        }
        at += whole.len();
    }
    if !pixels {
        return Err("it holds no picture data".to_owned());
    }
    if let Some(orientation) = orientation {
        let chunk = chunk(b"eXIf", &exif::block(orientation));
        file.splice(after_header..after_header, chunk);
    }
    Ok(file)
}

fn chunk(kind: &[u8], data: &[u8]) -> Vec<u8> {
    let mut chunk = (data.len() as u32).to_be_bytes().to_vec();
    chunk.extend(kind);
    chunk.extend(data);
    chunk.extend(crc(&chunk[4..]).to_be_bytes());
    chunk
}

/// The checksum of annex D of the standard, CRC-32 of ISO 3309, by a table for each byte.
fn crc(bytes: &[u8]) -> u32 {
    const TABLE: [u32; 256] = table();
    !bytes
        .iter()
        .fold(u32::MAX, |crc, &byte| TABLE[usize::from(crc as u8 ^ byte)] ^ (crc >> 8))
}

const fn table() -> [u32; 256] {
    let mut table = [0; 256];
    let mut n = 0;
    while n < 256 {
        let mut value = n as u32;
        let mut bit = 0;
        while bit < 8 {
            value = if value & 1 == 1 { 0xEDB8_8320 ^ (value >> 1) } else { value >> 1 };
            bit += 1;
        }
        table[n] = value;
        n += 1;
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The check value of this CRC in Ross Williams' catalogue.
    #[test]
    fn the_checksum_is_that_of_the_standard() {
        assert_eq!(crc(b"123456789"), 0xCBF4_3926);
    }

    fn file(chunks: &[(&[u8; 4], &[u8])]) -> Vec<u8> {
        let chunks: Vec<u8> =
            chunks.iter().flat_map(|(kind, data)| chunk(*kind, data)).collect();
        [SIGNATURE, &chunks].concat()
    }

    #[test]
    fn only_the_picture_and_its_orientation_stay() {
        let before = file(&[
            (b"IHDR", b"header"),
            (b"tEXt", b"Author\0A. Fitter"),
            (b"iCCP", b"profile"),
            (b"tIME", b"1234567"),
            (b"prVt", b"maker"),
            (b"IDAT", b"pixels"),
            (b"eXIf", &[exif::block(8), b"GPS".to_vec()].concat()),
            (b"iTXt", b"XML:com.adobe.xmp"),
            (b"IEND", b""),
        ]);
        let after = file(&[
            (b"IHDR", b"header"),
            (b"eXIf", &exif::block(8)),
            (b"iCCP", b"profile"),
            (b"IDAT", b"pixels"),
            (b"IEND", b""),
        ]);
        let cleaned = clean(&[before, b"behind the end".to_vec()].concat());
        assert_eq!(cleaned, Ok(after.clone()));
        assert_eq!(clean(&after), Ok(after));
    }

    #[test]
    fn what_is_cut_or_garbled_is_broken_and_never_a_panic() {
        let whole = file(&[(b"IHDR", b"h"), (b"IDAT", b"p"), (b"IEND", b"")]);
        for length in 8..whole.len() {
            assert!(clean(&whole[..length]).is_err(), "{length}");
        }
        for at in 8..whole.len() {
            let mut garbled = whole.clone();
            garbled[at] ^= 0x10;
            assert!(clean(&garbled).is_err(), "{at}");
        }
        let none = file(&[(b"IHDR", b"h"), (b"IEND", b"")]);
        assert_eq!(clean(&none), Err("it holds no picture data".to_owned()));
    }
}
