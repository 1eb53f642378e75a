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

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// The first five numbers for the seed 1234567, as the "Pseudo-random
    /// numbers/Splitmix64" task of Rosetta Code prints them.
    #[test]
    fn mixing_is_that_of_splitmix64() {
        let mut state: u64 = 1_234_567;
        let published = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        for number in published {
            state = state.wrapping_add(STEP);
            assert_eq!(mix(state), number);
        }
    }

    /// Plans are stored with their seed: a change of these numbers breaks every repeat.
    #[test]
    fn children_are_the_same_for_ever() {
        let root = Seed(42);
        let children = [root.child(0), root.child(1), root.child(""), root.child("odds")];
        assert_eq!(children.map(Seed::value), PINNED);
    }

    const PINNED: [u64; 4] = [
        12_044_803_214_649_501_755,
        15_656_174_361_004_841_510,
        15_945_306_607_915_731_007,
        2_105_718_463_438_617_722,
    ];

    #[test]
    fn labels_and_paths_do_not_meet() {
        let mut seen = BTreeSet::new();
        let texts = ["", "a", "b", "ab", "a\0", "abcdefgh", "abcdefgh\0", "1", "season"];
        for root in (0..50).map(Seed) {
            assert!(seen.insert(root.child(1).child(2)));
            assert!(seen.insert(root.child(2).child(1)));
            for text in texts {
                assert!(seen.insert(root.child(text)), "{text:?} below {root}");
            }
            for number in 0..50 {
                assert!(seen.insert(root.child(number)), "{number} below {root}");
            }
        }
        assert_eq!(Seed(3).child(&"x".to_owned()), Seed(3).child("x"));
    }

    /// One flipped bit of parent or label flips about half of the child: 32 of 64, within
    /// 3 on the mean of 64 flips (its standard deviation is 0.5 for independent bits).
    #[test]
    fn every_bit_of_parent_and_label_spreads() {
        let base = Seed(7).child(7).value();
        let mean = |flipped: &dyn Fn(u64) -> u64| {
            let bits: u32 =
                (0..64).map(|bit| (flipped(7 ^ (1 << bit)) ^ base).count_ones()).sum();
            f64::from(bits) / 64.0
        };
        let by_parent = mean(&|parent| Seed(parent).child(7).value());
        let by_label = mean(&|label| Seed(7).child(label).value());
        for mean in [by_parent, by_label] {
            assert!((29.0..=35.0).contains(&mean), "{mean}");
        }
    }
}
