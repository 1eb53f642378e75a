//! What acts say beside words: files that were attached, and places on a drawing.

use std::fmt;

use crate::View;

/// A file that was attached, by the digest of its content: 64 hexadecimal digits in small
/// letters.
#[derive(
    Debug,
    Clone,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    serde::Serialize,
    serde::Deserialize,
)]
pub struct FileDigest(String);

impl FileDigest {
    /// How many digits it has.
    pub const DIGITS: usize = 64;

    /// A digest, unless the text is none. Capitals count as small letters.
    pub fn new(text: &str) -> Option<Self> {
        let text = text.trim();
        let digits = text.len() == Self::DIGITS
            && text.bytes().all(|byte| byte.is_ascii_hexdigit());
        digits.then(|| Self(text.to_ascii_lowercase()))
    }

    /// Its digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for FileDigest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A place on a drawing of the aircraft, in the units of its outlines.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Spot {
    /// On which drawing.
    pub view: View,
    /// How far to the right.
    pub x: f64,
    /// How far down.
    pub y: f64,
}

#[cfg(test)]
mod tests {
    use super::FileDigest;

    #[test]
    fn a_digest_is_64_digits() {
        let digest = "0f".repeat(32);
        assert_eq!(FileDigest::new(&digest).unwrap().as_str(), digest);
        assert_eq!(FileDigest::new(&digest.to_uppercase()).unwrap().as_str(), digest);
        for odd in ["", "0f", &"0g".repeat(32), &"0f".repeat(33), &"ä".repeat(32)] {
            assert!(FileDigest::new(odd).is_none(), "{odd}");
        }
    }
}
