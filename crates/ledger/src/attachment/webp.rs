//! WebP without what isn't picture (RFC 9649, section 2).
//!
//! A file is a RIFF container: chunks of a name, a length, the data, and a filling byte
//! where the length is odd. Left out are Exif (of which an orientation stays), XMP, chunks
//! of names that the standard doesn't have, and what follows the end; the flags of the
//! extended header are set to fit.

use super::{Broken, exif, slice};

const KEPT: [&[u8; 4]; 7] =
    [b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP"];

/// Flags of the extended header.
const HAS_EXIF: u8 = 0x08;
const HAS_XMP: u8 = 0x04;

pub(super) fn clean(content: &[u8]) -> Result<Vec<u8>, Broken> {
    let length = u32_at(content, 4)? as usize;
    // The length counts from behind itself, so that the name is in it.
    let content = slice(content, 0, length.saturating_add(8))?;
    let mut body = b"WEBP".to_vec();
    let mut flags_at = None;
    let mut orientation = None;
    let mut pixels = false;
    let mut at = 12;
    while at < content.len() {
        let kind = slice(content, at, 4)?;
        let length = u32_at(content, at + 4)? as usize;
        let data = slice(content, at + 8, length)?;
        match kind {
            b"EXIF" => {
                // Some writers put the mark of JPEG before the block.
                let block = data.strip_prefix(b"Exif\0\0").unwrap_or(data);
                orientation = orientation.or(exif::orientation(block));
            }
            kind if KEPT.iter().any(|kept| kept[..] == *kind) => {
                if kind == b"VP8X" && length > 0 && flags_at.is_none() {
                    flags_at = Some(body.len() + 8);
                }
                pixels |= matches!(kind, b"VP8 " | b"VP8L" | b"ANMF");
                push(&mut body, kind, data);
            }
            _ => {}
        }
        at = at.saturating_add(8 + length + length % 2);
    }
    if !pixels {
        return Err("it holds no picture data".to_owned());
    }
    // Without the extended header there is no place for an orientation, nor was there.
    if let Some(flags) = flags_at.and_then(|at| body.get_mut(at)) {
        *flags &= !(HAS_EXIF | HAS_XMP);
        if let Some(orientation) = orientation {
            *flags |= HAS_EXIF;
            push(&mut body, b"EXIF", &exif::block(orientation));
        }
    }
    Ok([b"RIFF", &(body.len() as u32).to_le_bytes()[..], &body].concat())
}

fn u32_at(content: &[u8], at: usize) -> Result<u32, Broken> {
    let bytes = slice(content, at, 4)?;
    Ok(u32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]))
}

fn push(body: &mut Vec<u8>, kind: &[u8], data: &[u8]) {
    body.extend(kind);
    body.extend((data.len() as u32).to_le_bytes());
    body.extend(data);
    if data.len() % 2 == 1 {
        body.push(0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(chunks: &[(&[u8; 4], &[u8])]) -> Vec<u8> {
        let mut body = b"WEBP".to_vec();
        for (kind, data) in chunks {
            push(&mut body, *kind, data);
        }
        [b"RIFF", &(body.len() as u32).to_le_bytes()[..], &body].concat()
    }

    #[test]
    fn only_the_picture_and_its_orientation_stay() {
        let exif = [b"Exif\0\0".to_vec(), exif::block(3), b"GPS".to_vec()].concat();
        let before = file(&[
            (b"VP8X", b"\x3c\0\0\0wwwhhh"),
            (b"ICCP", b"odd"),
            (b"VP8 ", b"pixels"),
            (b"EXIF", &exif),
            (b"XMP ", b"<x/>"),
            (b"JUNK", b"maker"),
        ]);
        let after = file(&[
            (b"VP8X", b"\x38\0\0\0wwwhhh"),
            (b"ICCP", b"odd"),
            (b"VP8 ", b"pixels"),
            (b"EXIF", &exif::block(3)),
        ]);
        let cleaned = clean(&[before, b"behind the end".to_vec()].concat());
        assert_eq!(cleaned, Ok(after.clone()));
        assert_eq!(clean(&after), Ok(after));
        let plain = file(&[(b"VP8L", b"pixels")]);
        assert_eq!(clean(&plain), Ok(plain));
    }

    #[test]
    fn what_is_cut_or_garbled_is_broken_and_never_a_panic() {
        let whole = file(&[(b"VP8X", b"\0\0\0\0wwwhhh"), (b"VP8 ", b"pixels")]);
        for length in 0..whole.len() {
            assert!(clean(&whole[..length]).is_err(), "{length}");
        }
        let mut long = whole.clone();
        long[16..20].fill(0xFF);
        assert!(clean(&long).is_err());
        assert_eq!(
            clean(&file(&[(b"VP8X", b"\0\0\0\0wwwhhh")])),
            Err("it holds no picture data".to_owned())
        );
    }
}
