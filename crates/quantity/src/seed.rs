//! Seeds that form a tree, so that one more stream moves no other draw.
//!
//! A child is found by mixing the parent with a label. The mixing is the output function
//! of `SplitMix64` (Steele, Lea and Flood, *Fast splittable pseudorandom number generators*,
//! 2014), which spreads every bit of the state over the whole word.

use std::fmt;

/// The seed of one stream of random numbers.
///
/// ```
/// use quantity::Seed;
///
/// let season = Seed(7).child("season");
/// assert_eq!(season.child(3), Seed(7).child("season").child(3));
/// assert_ne!(season.child(3), season.child("3"));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Seed(pub u64);

impl Seed {
    /// The bare number, for a generator to start from.
    pub const fn value(self) -> u64 {
        self.0
    }

    /// The seed of the stream with this label below this one.
    ///
    /// The same label gives the same child for ever, on every machine; a number and a text
    /// never stand for one label.
    #[must_use]
    pub fn child<L: Label>(self, label: L) -> Self {
        label.below(self)
    }
}

impl fmt::Display for Seed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

/// What can tell the children of a [`Seed`] apart: a text or a number.
pub trait Label: sealed::Sealed {
    #[doc(hidden)]
    fn below(self, parent: Seed) -> Seed;
}

impl Label for u64 {
    fn below(self, parent: Seed) -> Seed {
        Seed(absorb(absorb(parent.0, NUMBER), self))
    }
}

impl Label for &str {
    fn below(self, parent: Seed) -> Seed {
        // The length is taken in, so that padding of the last chunk is not ambiguous.
        let start = absorb(absorb(parent.0, TEXT), self.len() as u64);
        let chunks = self.as_bytes().chunks(8).map(|chunk| {
            let mut bytes = [0; 8];
            bytes[..chunk.len()].copy_from_slice(chunk);
            u64::from_le_bytes(bytes)
        });
        Seed(chunks.fold(start, absorb))
    }
}

impl Label for &String {
    fn below(self, parent: Seed) -> Seed {
        self.as_str().below(parent)
    }
}

mod sealed {
    pub trait Sealed {}
    impl Sealed for u64 {}
    impl Sealed for &str {}
    impl Sealed for &String {}
}

/// Tells labels that are numbers from labels that are texts.
const NUMBER: u64 = 1;
const TEXT: u64 = 2;

/// 2^64 divided by the golden ratio, made odd: the step of `SplitMix64`.
const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

/// One word taken into the state.
fn absorb(state: u64, word: u64) -> u64 {
    mix(state.wrapping_add(STEP) ^ mix(word.wrapping_add(STEP)))
}

/// The output function of `SplitMix64`.
fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}
