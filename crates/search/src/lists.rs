//! Lists of tasks as parents of other lists.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;

/// A list from two parents. Some tasks in a row come in the order of the mother, the rest in that
/// of the father; or, boldly, the other way round. What is before what in both parents is so in the
/// child. `part` is memory for each task; afterwards [`is_of_mother`] tells whose order it has.
pub(crate) fn cross(
    list: &mut Vec<u32>,
    part: &mut [u8],
    (father, mother): (&[u32], &[u32]),
    rng: &mut Pcg64Mcg,
) {
    let count = father.len();
    let (p, q) = (rng.random_range(0..=count), rng.random_range(0..=count));
    let (p, q) = (p.min(q), p.max(q));
    let bold = rng.random_ratio(boldness(count), 8);
    let parts = if bold { [0, STAYS, 2] } else { [STAYS, 1, STAYS] };
    for (range, of) in [0..p, p..q, q..count].into_iter().zip(parts) {
        for &task in &father[range] {
            part[task as usize] = of;
        }
    }
    list.clear();
    list.extend_from_slice(father);
    let mut places = [0, p, q];
    for &task in mother {
        if let Some(place) = places.get_mut(usize::from(part[task as usize])) {
            list[*place] = task;
            *place += 1;
        }
    }
}

/// What stays in the order of the father.
const STAYS: u8 = 3;

/// Whether a task has the order of the mother, by its part in a [cross].
pub(crate) const fn is_of_mother(part: u8) -> bool {
    part != STAYS
}

/// Of eight children, how many are bold. Large problems see few generations, and bold
/// children bring them forward faster; up to 150 tasks a population lives long enough to
/// suffer from what they do to its variety.
const fn boldness(count: usize) -> u32 {
    match count {
        ..=150 => 0,
        151..270 => 2,
        270.. => 4,
    }
}

/// A sum in which the start of each task has a weight of its own: it tells starts apart, but for
/// rare accidents.
pub(crate) fn mark(starts: impl Iterator<Item = timetable::Tick>) -> u64 {
    const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;
    let weighted = starts.enumerate().map(|(task, start)| {
        let weight = GOLDEN.wrapping_mul(2 * task as u64 + 1);
        weight.wrapping_mul(start as u64)
    });
    weighted.fold(0, u64::wrapping_add)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use rand::SeedableRng;

    use super::*;

    proptest! {
        /// A child has each task once, and keeps what its parents agree on.
        #[test]
        fn a_child_keeps_what_its_parents_agree_on(
            seed: u64,
            father in Just((0_u32..300).collect::<Vec<_>>()).prop_shuffle(),
            mother in Just((0_u32..300).collect::<Vec<_>>()).prop_shuffle(),
            count in 1_u32..300,
        ) {
            let of = |list: &[u32]| -> Vec<u32> {
                list.iter().copied().filter(|&task| task < count).collect()
            };
            let (father, mother) = (of(&father), of(&mother));
            let mut rng = Pcg64Mcg::seed_from_u64(seed);
            let (mut list, mut part) = (Vec::new(), vec![0; count as usize]);
            cross(&mut list, &mut part, (&father, &mother), &mut rng);
            let place = |list: &[u32]| {
                let mut place = vec![usize::MAX; count as usize];
                list.iter().enumerate().for_each(|(at, &task)| place[task as usize] = at);
                place
            };
            let (list, father, mother) = (place(&list), place(&father), place(&mother));
            prop_assert!(list.iter().all(|&at| at < count as usize));
            for a in 0..count as usize {
                for b in 0..count as usize {
                    if father[a] < father[b] && mother[a] < mother[b] {
                        prop_assert!(list[a] < list[b]);
                    }
                }
                if !is_of_mother(part[a]) {
                    prop_assert_eq!(list[a], father[a]);
                }
            }
        }
    }

    #[test]
    fn marks_tell_starts_apart() {
        let of = |starts: &[i32]| mark(starts.iter().copied());
        assert_ne!(of(&[1, 2]), of(&[2, 1]));
        assert_ne!(of(&[0, 0, 1]), of(&[0, 1, 0]));
        assert_eq!(of(&[3, 4]), of(&[3, 4]));
    }
}
