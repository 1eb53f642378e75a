//! The orientation out of an Exif block, and a block that holds nothing else.
//!
//! A block is a small TIFF file (TIFF 6.0, section 2; Exif 2.32, section 4.5): byte order,
//! 42, and the place of a directory whose entries are a tag, a type, a count and a value.

const ORIENTATION: u16 = 0x0112;
const SHORT: u16 = 3;

/// The orientation that a block states, 2 to 8; `None` where it states none or the usual
/// one (1), or is broken.
pub(super) fn orientation(block: &[u8]) -> Option<u16> {
    let little = match block.get(..4)? {
        b"II*\0" => true,
        b"MM\0*" => false,
        _ => return None,
    };
    let short = |at: usize| {
        let bytes = block.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if little { u16::from_le_bytes(bytes) } else { u16::from_be_bytes(bytes) })
    };
    let bytes: [u8; 4] = block.get(4..8)?.try_into().ok()?;
    let directory =
        if little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) };
    let directory = directory as usize;
    let entries = usize::from(short(directory)?);
    (0..entries)
        .map_while(|entry| directory.checked_add(2 + 12 * entry))
        .find(|&at| short(at) == Some(ORIENTATION) && short(at + 2) == Some(SHORT))
        .and_then(|at| short(at + 8))
        .filter(|orientation| (2..=8).contains(orientation))
}

/// A block that states this orientation alone.
pub(super) fn block(orientation: u16) -> Vec<u8> {
    let mut block = b"MM\0*\0\0\0\x08\0\x01".to_vec();
    block.extend(ORIENTATION.to_be_bytes());
    block.extend(SHORT.to_be_bytes());
    block.extend(1_u32.to_be_bytes());
    block.extend(orientation.to_be_bytes());
    // The rest of the value, and no further directory.
    block.extend([0; 6]);
    block
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn orientations_are_read_in_both_byte_orders() {
        for wanted in 2..=8 {
            assert_eq!(orientation(&block(wanted)), Some(wanted));
        }
        // A maker's name before it, as cameras write it.
        let little = b"II*\0\x08\0\0\0\x02\0\
            \x0f\x01\x02\0\x04\0\0\0abc\0\
            \x12\x01\x03\0\x01\0\0\0\x06\0\0\0\
            \0\0\0\0";
        assert_eq!(orientation(little), Some(6));
        for nothing in [&block(1)[..], &block(9), b"", b"II*\0", b"II*\0\xff\xff\xff\xff"]
        {
            assert_eq!(orientation(nothing), None);
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..80)) {
            let mut block = b"II*\0".to_vec();
            block.extend(bytes);
            let found = orientation(&block);
            prop_assert!(found.is_none_or(|found| (2..=8).contains(&found)));
        }
    }
}
