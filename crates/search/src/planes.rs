//! What is free of each resource at each tick, 64 ticks a word.
//!
//! A level is a number in binary, and its bits lie in *planes*: word `w` of plane `b` holds
//! bit `b` of the levels at the ticks `64 w` to `64 w + 63`. To subtract an amount at many
//! ticks at once is school arithmetic on whole words, plane by plane, with a borrow; where
//! the last borrow is set, the level was too low. So one pass over a handful of words
//! tells at which of 64 ticks a task fits, and no step depends on the levels.
//!
//! The planes hold the complements of the bits: the borrow is the majority of the
//! complement, the amount's bit and the borrow before it.
//!
//! Worked case, with two planes at one tick. Level 2 is `10`, kept as `01` (plane 0 holds 1,
//! plane 1 holds 0). Amount 1: in plane 0 the majority of (1, 1, 0) is 1, a borrow; in plane
//! 1 that of (0, 0, 1) is 0, so it fits. The new complements are 1 ^ 1 ^ 0 = 0 and
//! 0 ^ 0 ^ 1 = 1: level `01`.

use timetable::Tick;

/// Resources side by side, so that one instruction may work on several.
const SIDE: usize = 4;

/// What a task uses of a resource.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Need {
    pub(crate) resource: u32,
    pub(crate) amount: u32,
}

/// What a task uses of some resources side by side: each bit of each amount at all ticks.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Block<const P: usize> {
    group: usize,
    amounts: [[u64; SIDE]; P],
}

impl<const P: usize> Block<P> {
    /// The blocks of a task.
    pub(crate) fn of(needs: &[Need]) -> Vec<Self> {
        let mut blocks: Vec<Self> = Vec::new();
        for need in needs {
            let (group, lane) =
                (need.resource as usize / SIDE, need.resource as usize % SIDE);
            let position = blocks.iter().position(|block| block.group == group);
            let position = position.unwrap_or_else(|| {
                blocks.push(Self { group, amounts: [[0; SIDE]; P] });
                blocks.len() - 1
            });
            for (bit, amounts) in blocks[position].amounts.iter_mut().enumerate() {
                amounts[lane] = spread(need.amount, bit);
            }
        }
        blocks
    }
}

/// The levels of all resources, with levels below `2^P`.
#[derive(Debug, Clone)]
pub(crate) struct Planes<const P: usize> {
    /// The planes of all resources, as they are when nothing is used.
    empty: Vec<[[u64; SIDE]; P]>,
    /// For each word of time, the planes of all resources.
    words: Vec<[[u64; SIDE]; P]>,
}

impl<const P: usize> Planes<P> {
    /// Nothing is used.
    pub(crate) fn new(capacities: &[u32]) -> Self {
        let planes = |group: &[u32]| {
            let capacity = |lane: usize| group.get(lane).copied().unwrap_or(0);
            std::array::from_fn(|bit| {
                std::array::from_fn(|lane| !spread(capacity(lane), bit))
            })
        };
        Self { empty: capacities.chunks(SIDE).map(planes).collect(), words: Vec::new() }
    }

    /// Takes everything back.
    pub(crate) fn clear(&mut self) {
        for word in self.words.chunks_exact_mut(self.empty.len().max(1)) {
            word.copy_from_slice(&self.empty);
        }
    }

    /// Takes what is needed at the earliest start, from a tick on, at which it fits for so
    /// many ticks. Each amount must be at most the capacity; `ticks` at least 1.
    pub(crate) fn place(&mut self, needs: &[Block<P>], from: Tick, ticks: Tick) -> Tick {
        let (from, ticks) = (from as usize, ticks as usize);
        let start = if ticks <= 64 {
            self.short(needs, from, ticks)
        } else {
            self.long(needs, from, ticks)
        };
        self.take(needs, start, ticks);
        start as Tick
    }

    /// The earliest start of a task of at most 64 ticks.
    fn short(&mut self, needs: &[Block<P>], from: usize, ticks: usize) -> usize {
        let mut word = from / 64;
        let mut fits = self.fits(needs, word) & (u64::MAX << (from % 64));
        loop {
            let starts = runs(fits, ticks);
            if starts != 0 {
                return word * 64 + starts.trailing_zeros() as usize;
            }
            let next = self.fits(needs, word + 1);
            if fits >> 63 == 1 {
                // What runs on into the next word begins after the last tick that lacks.
                let ahead = fits.leading_ones() as usize;
                if ahead + next.trailing_ones() as usize >= ticks {
                    return word * 64 + 64 - ahead;
                }
            }
            (word, fits) = (word + 1, next);
        }
    }

    /// The earliest start of a task of more than 64 ticks.
    fn long(&mut self, needs: &[Block<P>], from: usize, ticks: usize) -> usize {
        let (mut start, mut word) = (from, from / 64);
        let mut fits = self.fits(needs, word) | !(u64::MAX << (from % 64));
        loop {
            if fits != u64::MAX {
                if word * 64 + fits.trailing_ones() as usize >= start + ticks {
                    return start;
                }
                start = word * 64 + 64 - fits.leading_ones() as usize;
            }
            word += 1;
            if word * 64 >= start + ticks {
                return start;
            }
            fits = self.fits(needs, word);
        }
    }

    /// The ticks of a word at which all needs fit.
    fn fits(&mut self, needs: &[Block<P>], word: usize) -> u64 {
        let width = self.empty.len();
        while self.words.len() < (word + 1) * width {
            self.words.extend_from_slice(&self.empty);
        }
        let mut lacks = [0; SIDE];
        for need in needs {
            let mut borrow = [0; SIDE];
            let planes = &self.words[word * width + need.group];
            for (plane, amounts) in planes.iter().zip(&need.amounts) {
                for lane in 0..SIDE {
                    let (plane, amount, old) = (plane[lane], amounts[lane], borrow[lane]);
                    borrow[lane] = ((plane ^ old) & (amount ^ old)) ^ old;
                }
            }
            for lane in 0..SIDE {
                lacks[lane] |= borrow[lane];
            }
        }
        !(lacks[0] | lacks[1] | lacks[2] | lacks[3])
    }

    fn take(&mut self, needs: &[Block<P>], start: usize, ticks: usize) {
        let (width, end) = (self.empty.len(), start + ticks);
        for word in start / 64..=(end - 1) / 64 {
            let base = word * 64;
            let mut mask = u64::MAX << start.saturating_sub(base);
            if end < base + 64 {
                mask &= !(u64::MAX << (end - base));
            }
            for need in needs {
                let mut borrow = [0; SIDE];
                let planes = &mut self.words[word * width + need.group];
                for (plane, amounts) in planes.iter_mut().zip(&need.amounts) {
                    for lane in 0..SIDE {
                        let old = borrow[lane];
                        let change = (amounts[lane] & mask) ^ old;
                        borrow[lane] = ((plane[lane] ^ old) & change) ^ old;
                        plane[lane] ^= change;
                    }
                }
            }
        }
    }
}

/// A bit of an amount at all ticks of a word.
const fn spread(amount: u32, bit: usize) -> u64 {
    0_u64.wrapping_sub((amount >> bit) as u64 & 1)
}

/// The ticks at which so many (1 to 64) set bits in a row begin.
fn runs(bits: u64, ticks: usize) -> u64 {
    let (mut bits, mut have) = (bits, 1);
    // The same few steps for all lengths that are common: no jump to be guessed wrong.
    for _ in 0..4 {
        let more = have.min(ticks - have);
        bits &= bits >> more;
        have += more;
    }
    while have < ticks {
        let more = have.min(ticks - have);
        bits &= bits >> more;
        have += more;
    }
    bits
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn the_worked_case() {
        let mut planes: Planes<2> = Planes::new(&[2]);
        let needs = Block::of(&[Need { resource: 0, amount: 1 }]);
        assert_eq!(planes.place(&needs, 0, 1), 0);
        assert_eq!(planes.words[0].map(|lanes| lanes[0] & 1), [0, 1]);
        // Level 1 takes one more, level 0 none.
        assert_eq!(planes.place(&needs, 0, 1), 0);
        assert_eq!(planes.place(&needs, 0, 1), 1);
        planes.clear();
        assert_eq!(planes.place(&needs, 0, 1), 0);
    }

    #[test]
    fn runs_are_found_at_every_length() {
        for ticks in 1..=64_usize {
            for from in 0..=64 - ticks {
                let bits = (u64::MAX >> (64 - ticks)) << from;
                assert_eq!(runs(bits, ticks), 1 << from, "{ticks} from {from}");
                assert_eq!(runs(bits & !(1 << from), ticks), 0);
            }
        }
    }

    /// A task: what it uses of six resources, the tick from which it is placed, its ticks.
    fn task() -> impl Strategy<Value = (Vec<u32>, Tick, Tick)> {
        let ticks = prop_oneof![4 => 1..12, 1 => 12..70, 1 => 60..200];
        (prop::collection::vec(0_u32..5, 6), 0..150, ticks)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn tasks_go_where_counting_puts_them(
            capacities in prop::collection::vec(4_u32..16, 6),
            tasks in prop::collection::vec(task(), 1..40),
        ) {
            let mut planes: Planes<4> = Planes::new(&capacities);
            let mut free = vec![capacities.clone(); 10_000];
            for (amounts, from, ticks) in tasks {
                let fits = |start: usize| {
                    free[start..start + ticks as usize].iter().all(|free| {
                        free.iter().zip(&amounts).all(|(free, amount)| free >= amount)
                    })
                };
                let expected = (from as usize..9_000).find(|&start| fits(start)).unwrap();
                let used = amounts.iter().enumerate().filter(|(_, amount)| **amount > 0);
                let needs: Vec<Need> = used
                    .map(|(resource, &amount)| Need { resource: resource as u32, amount })
                    .collect();
                if needs.is_empty() {
                    continue;
                }
                let start = planes.place(&Block::of(&needs), from, ticks);
                prop_assert_eq!(start as usize, expected);
                for tick in &mut free[expected..expected + ticks as usize] {
                    for (free, amount) in tick.iter_mut().zip(&amounts) {
                        *free -= amount;
                    }
                }
            }
        }
    }
}
