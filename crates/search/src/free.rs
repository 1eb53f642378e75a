//! Free capacity while schedules are built: an array as far as plans reach, a list beyond.
//!
//! Building a schedule asks of every resource of every task where enough is free, and takes
//! that away. In a [list of segments](crate::steps) each such use moves what lies behind it; on
//! a season of shifts, where every day begins segments of its own, that takes most of the
//! time. So the ticks up to a border have a cell each, as long as all the cells fit in
//! a fixed memory, and only what lies behind it is a list. The border follows from the
//! problem alone.
//!
//! Worked case. Capacity 3 and a border at 8. A use of 2 in `[6, 10)` leaves 1 in the cells 6
//! and 7 and in the segment `(8, 1)`; a need of 2 in `[5, 9)` lacks from 6 until 10.

use std::ops::Range;

use timetable::Tick;

use crate::steps::{FAR, Steps};

/// So many cells all resources together may have: 16 MB.
const MOST_CELLS: usize = 8 << 20;
/// What a cell may reach, either way, with all uses added up.
const MOST: i64 = 30_000;
/// Ticks that are looked at together.
const BLOCK: usize = 32;

/// Free capacity over time.
#[derive(Debug, Clone)]
pub(crate) struct Free {
    near: Vec<i16>,
    far: Steps,
    /// The cells that may differ from the profile that was copied last, and whether
    /// the list does.
    touched: Range<usize>,
    far_touched: bool,
    /// The profile itself takes more than there is somewhere.
    short: bool,
}

impl PartialEq for Free {
    fn eq(&self, other: &Self) -> bool {
        self.near == other.near && self.far == other.far
    }
}

impl Free {
    /// The profiles of all resources. `uses` has for each the most that all tasks and
    /// occupancies together may take or give back.
    pub(crate) fn all(steps: &[Steps], horizon: Tick, uses: &[i64]) -> Vec<Self> {
        let share = MOST_CELLS / steps.len().max(1);
        let border = usize::try_from(horizon).unwrap_or(0).min(share);
        let one = |(steps, &uses): (&Steps, &i64)| {
            let fits = steps
                .segments()
                .all(|(_, level)| i64::from(level).abs().saturating_add(uses) <= MOST);
            Self::new(steps, if fits { border } else { 0 })
        };
        steps.iter().zip(uses).map(one).collect()
    }

    fn new(steps: &Steps, border: usize) -> Self {
        let mut near = vec![0; border];
        let ends = steps.segments().skip(1).map(|segment| segment.0).chain([FAR]);
        for ((from, level), until) in steps.segments().zip(ends) {
            let (from, until) = (from.max(0) as usize, until.max(0) as usize);
            if from >= border {
                break;
            }
            // Held to the range of a cell by whoever chose the border.
            near[from..until.min(border)].fill(level as i16);
        }
        let short = steps.lack(0, FAR, 0).is_some();
        Self { near, far: steps.clone(), touched: 0..0, far_touched: false, short }
    }

    /// Takes over the profile that this one was made of, or a copy of it.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        let range = self.touched.clone();
        self.near[range.clone()].copy_from_slice(&other.near[range]);
        if self.far_touched {
            self.far.copy_from(&other.far);
        }
        (self.touched, self.far_touched) = (0..0, false);
    }

    /// Adds to what is free in `[from, until)`; `until` may be [`FAR`], meaning for ever.
    pub(crate) fn add(&mut self, from: Tick, until: Tick, amount: i32) {
        if until <= from || amount == 0 {
            return;
        }
        let border = self.near.len();
        let cells = self.cells(from, until);
        if !cells.is_empty() {
            for cell in &mut self.near[cells.clone()] {
                *cell = cell.wrapping_add(amount as i16);
            }
            self.touched = if self.touched.is_empty() {
                cells
            } else {
                self.touched.start.min(cells.start)..self.touched.end.max(cells.end)
            };
        }
        if until as usize > border {
            self.far.add(from.max(border as Tick), until, amount);
            self.far_touched = true;
        }
    }

    /// The first stretch inside `[from, until)` in which less than `need` is free:
    /// where it begins and where it ends ([`FAR`] if never).
    pub(crate) fn lack(
        &self,
        from: Tick,
        until: Tick,
        need: i32,
    ) -> Option<(Tick, Tick)> {
        if until <= from {
            return None;
        }
        let border = self.near.len();
        let cells = self.cells(from, until);
        let least = need.clamp(i32::from(i16::MIN), i32::from(i16::MAX)) as i16;
        if let Some(begins) = first(&self.near, cells, |free| free < least) {
            if let Some(ends) = first(&self.near, begins..border, |free| free >= least) {
                return Some((begins as Tick, ends as Tick));
            }
            let behind = self.far.lack(border as Tick, border as Tick + 1, need);
            return Some((begins as Tick, behind.map_or(border as Tick, |lack| lack.1)));
        }
        if until as usize > border {
            self.far.lack(from.max(border as Tick), until, need)
        } else {
            None
        }
    }

    /// Whether more than there is is taken anywhere.
    pub(crate) fn is_overdrawn(&self) -> bool {
        if self.short {
            return self.lack(0, FAR, 0).is_some();
        }
        let border = self.near.len() as Tick;
        first(&self.near, self.touched.clone(), |free| free < 0).is_some()
            || (self.far_touched && self.far.lack(border, FAR, 0).is_some())
    }

    fn cells(&self, from: Tick, until: Tick) -> Range<usize> {
        let border = self.near.len();
        (from.max(0) as usize).min(border)..(until.max(0) as usize).min(border)
    }
}

/// The first cell of a range of which something holds.
fn first(
    cells: &[i16],
    range: Range<usize>,
    holds: impl Fn(i16) -> bool,
) -> Option<usize> {
    let mut at = range.start;
    let cells = &cells[..range.end.max(at)];
    while let Some(block) = cells.get(at..at + BLOCK) {
        if block.iter().fold(false, |any, &cell| any | holds(cell)) {
            break;
        }
        at += BLOCK;
    }
    cells[at..].iter().position(|&cell| holds(cell)).map(|found| at + found)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use timetable::Profile;

    use super::*;

    #[test]
    fn the_worked_case() {
        let steps = [Steps::new(&Profile::constant(3))];
        let mut free = Free::all(&steps, 8, &[2]).remove(0);
        free.add(6, 10, -2);
        assert_eq!(free.near, [3, 3, 3, 3, 3, 3, 1, 1]);
        assert_eq!(free.far.segments().collect::<Vec<_>>(), [(0, 3), (8, 1), (10, 3)]);
        assert_eq!(free.lack(5, 9, 2), Some((6, 10)));
    }

    #[test]
    fn large_amounts_are_kept_in_a_list() {
        let steps = [Steps::new(&Profile::constant(29_000))];
        assert_eq!(Free::all(&steps, 8, &[1_000])[0].near.len(), 8);
        assert_eq!(Free::all(&steps, 8, &[1_001])[0].near.len(), 0);
    }

    proptest! {
        /// Wherever the border lies, all answers are those of the list alone.
        #[test]
        fn the_border_changes_nothing(
            border in 0_usize..120,
            changes in prop::collection::vec((0_i32..130, 0_i32..70, -4_i32..5), 0..12),
            asked in prop::collection::vec((0_i32..130, 0_i32..90, -3_i32..6), 1..12),
        ) {
            let levels = vec![(0, 3), (20, 1), (64, 4), (90, 0), (110, 2)];
            let capacity = Profile::new(levels).unwrap();
            let mut list = Steps::new(&capacity);
            let fresh = Free::new(&list, border);
            let mut free = fresh.clone();
            for (from, length, amount) in changes {
                let until = if length == 69 { FAR } else { from + length };
                list.add(from, until, amount);
                free.add(from, until, amount);
            }
            for (from, length, need) in asked {
                let until = if length == 89 { FAR } else { from + length };
                prop_assert_eq!(free.lack(from, until, need), list.lack(from, until, need));
            }
            prop_assert_eq!(free.is_overdrawn(), list.lack(0, FAR, 0).is_some());
            free.copy_from(&fresh);
            prop_assert_eq!(free, fresh);
        }
    }
}
