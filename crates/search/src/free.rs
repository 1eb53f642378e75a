//! Free capacity while schedules are built: an array as far as plans reach, a list beyond.
//!
//! Building a schedule asks of every resource of every task where enough is free, and takes
//! that away. In a [list of segments](crate::steps) each such use moves what lies behind it; on
//! a season of shifts, where every day begins segments of its own, that takes most of the
//! time. So the ticks up to a border have a cell each, as long as all the cells fit in
//! a fixed memory, and only what lies behind it is a list. The border follows from the
//! problem alone.
//!
//! Cells come in blocks. A block knows the least and the most that is free in it, and what
//! holds for all of it is said once: a stand that is kept for months costs one step a block.
//!
//! Worked case. Capacity 3 and a border at 64. A use of 2 in `[62, 66)` leaves 1 in the cells
//! 62 and 63 and in the segment `(64, 1)`; a need of 2 in `[61, 65)` lacks from 62 until 66.

use timetable::Tick;

use crate::steps::{FAR, Steps};

/// So many cells all resources together may have: 16 MB.
const MOST_CELLS: usize = 8 << 20;
/// What a cell may reach, either way, with all uses added up.
const MOST: i64 = 15_000;
/// Cells in a block.
const BLOCK: usize = 64;

/// Free capacity over time.
#[derive(Debug, Clone)]
pub(crate) struct Free {
    /// What is free at each tick, less what its block says of all its cells.
    cells: Vec<i16>,
    shift: Vec<i16>,
    least: Vec<i16>,
    most: Vec<i16>,
    far: Steps,
    /// Blocks of which cells may differ from the profile that was copied last; whether what
    /// blocks say may; whether the list may.
    dirty: Vec<u32>,
    is_dirty: Vec<bool>,
    moved: bool,
    far_moved: bool,
}

impl PartialEq for Free {
    fn eq(&self, other: &Self) -> bool {
        let at = |free: &Self, cell: usize| free.cells[cell] + free.shift[cell / BLOCK];
        self.cells.len() == other.cells.len()
            && (0..self.cells.len()).all(|cell| at(self, cell) == at(other, cell))
            && self.far == other.far
    }
}

impl Free {
    /// The profiles of all resources. `uses` has for each the most that all tasks and
    /// occupancies together may take or give back.
    pub(crate) fn all(
        steps: &[Steps],
        horizon: Tick,
        uses: &[i64],
        in_cells: impl Fn(usize) -> bool,
    ) -> Vec<Self> {
        let share = MOST_CELLS / steps.len().max(1);
        let border = usize::try_from(horizon).unwrap_or(0).min(share);
        let one = |(number, (steps, &uses)): (usize, (&Steps, &i64))| {
            let fits = steps
                .segments()
                .all(|(_, level)| i64::from(level).abs().saturating_add(uses) <= MOST);
            Self::new(steps, if fits && in_cells(number) { border } else { 0 })
        };
        steps.iter().zip(uses).enumerate().map(one).collect()
    }

    /// With a border at a tick or, so that blocks are whole, a little before it.
    fn new(steps: &Steps, border: usize) -> Self {
        let blocks = border / BLOCK;
        let border = blocks * BLOCK;
        let mut cells = vec![0; border];
        let ends = steps.segments().skip(1).map(|segment| segment.0).chain([FAR]);
        for ((from, level), until) in steps.segments().zip(ends) {
            let (from, until) = (from.max(0) as usize, until.max(0) as usize);
            if from >= border {
                break;
            }
            // Held to the range of a cell by whoever chose the border.
            cells[from..until.min(border)].fill(level as i16);
        }
        let mut free = Self {
            cells,
            shift: vec![0; blocks],
            least: vec![0; blocks],
            most: vec![0; blocks],
            far: steps.clone(),
            dirty: Vec::new(),
            is_dirty: vec![false; blocks],
            moved: false,
            far_moved: false,
        };
        (0..blocks).for_each(|block| free.sum_up(block));
        free
    }

    /// Takes over the profile that this one was made of, or a copy of it.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        for block in std::mem::take(&mut self.dirty) {
            let block = block as usize;
            let range = block * BLOCK..(block + 1) * BLOCK;
            self.cells[range.clone()].copy_from_slice(&other.cells[range]);
            self.is_dirty[block] = false;
        }
        if std::mem::take(&mut self.moved) {
            self.shift.copy_from_slice(&other.shift);
            self.least.copy_from_slice(&other.least);
            self.most.copy_from_slice(&other.most);
        }
        if std::mem::take(&mut self.far_moved) {
            self.far.copy_from(&other.far);
        }
    }

    /// Adds to what is free in `[from, until)`; `until` may be [`FAR`], meaning for ever.
    pub(crate) fn add(&mut self, from: Tick, until: Tick, amount: i32) {
        if until <= from || amount == 0 {
            return;
        }
        let border = self.cells.len();
        let (begin, end) = self.range(from, until);
        if begin < end {
            self.moved = true;
            // Cells are held to the range by whoever chose the border.
            self.add_cells(begin, end, amount as i16);
        }
        if until as usize > border {
            self.far.add(from.max(border as Tick), until, amount);
            self.far_moved = true;
        }
    }

    fn add_cells(&mut self, begin: usize, end: usize, amount: i16) {
        let (first, last) = (begin.div_ceil(BLOCK), end / BLOCK);
        if first > last {
            return self.add_part(begin, end, amount);
        }
        for all in [&mut self.shift, &mut self.least, &mut self.most] {
            all[first..last].iter_mut().for_each(|value| *value += amount);
        }
        self.add_part(begin, first * BLOCK, amount);
        self.add_part(last * BLOCK, end, amount);
    }

    /// Adds to cells of one block.
    fn add_part(&mut self, begin: usize, end: usize, amount: i16) {
        if begin == end {
            return;
        }
        self.cells[begin..end].iter_mut().for_each(|cell| *cell += amount);
        let block = begin / BLOCK;
        if !std::mem::replace(&mut self.is_dirty[block], true) {
            self.dirty.push(block as u32);
        }
        self.sum_up(block);
    }

    fn sum_up(&mut self, block: usize) {
        let cells = &self.cells[block * BLOCK..(block + 1) * BLOCK];
        let bounds = cells.iter().fold((i16::MAX, i16::MIN), |(least, most), &cell| {
            (least.min(cell), most.max(cell))
        });
        self.least[block] = bounds.0 + self.shift[block];
        self.most[block] = bounds.1 + self.shift[block];
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
        let border = self.cells.len();
        let (begin, end) = self.range(from, until);
        let need_here = need.clamp(-2 * MOST as i32, 2 * MOST as i32) as i16;
        if let Some(begins) = self.first(begin, end, &self.least, |free| free < need_here)
        {
            let ends = self.first(begins, border, &self.most, |free| free >= need_here);
            if let Some(ends) = ends {
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

    /// The first cell of a range of which something holds; of a block it may hold only where
    /// it holds of its bound.
    fn first(
        &self,
        begin: usize,
        end: usize,
        bounds: &[i16],
        holds: impl Fn(i16) -> bool,
    ) -> Option<usize> {
        let mut at = begin;
        while at < end {
            let block = at / BLOCK;
            if holds(bounds[block]) {
                let shift = self.shift[block];
                let stop = end.min((block + 1) * BLOCK);
                let found = position(&self.cells[at..stop], |cell| holds(cell + shift));
                if let Some(found) = found {
                    return Some(at + found);
                }
            }
            let next = block + 1;
            // Whole blocks are passed by their bounds alone.
            let rest = bounds.get(next..end.div_ceil(BLOCK))?;
            at = (next + rest.iter().position(|&bound| holds(bound))?) * BLOCK;
        }
        None
    }

    /// Whether more than there is is taken anywhere.
    pub(crate) fn is_overdrawn(&self) -> bool {
        self.least.iter().any(|&free| free < 0)
            || self.far.lack(self.cells.len() as Tick, FAR, 0).is_some()
    }

    fn range(&self, from: Tick, until: Tick) -> (usize, usize) {
        let border = self.cells.len();
        ((from.max(0) as usize).min(border), (until.max(0) as usize).min(border))
    }
}

/// The first cell of which something holds, looked for in several cells at a time.
fn position(cells: &[i16], holds: impl Fn(i16) -> bool) -> Option<usize> {
    const AT_ONCE: usize = 16;
    let mut at = 0;
    while let Some(some) = cells.get(at..at + AT_ONCE) {
        if some.iter().fold(false, |any, &cell| any | holds(cell)) {
            break;
        }
        at += AT_ONCE;
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
        let mut free = Free::all(&steps, 70, &[2], |_| true).remove(0);
        assert_eq!((free.cells.len(), free.least[0], free.most[0]), (64, 3, 3));
        free.add(62, 66, -2);
        assert_eq!(free.cells[60..], [3, 3, 1, 1]);
        assert_eq!((free.least[0], free.most[0]), (1, 3));
        assert_eq!(free.far.segments().collect::<Vec<_>>(), [(0, 3), (64, 1), (66, 3)]);
        assert_eq!(free.lack(61, 65, 2), Some((62, 66)));
    }

    #[test]
    fn large_amounts_are_kept_in_a_list() {
        let steps = [Steps::new(&Profile::constant(14_000))];
        assert_eq!(Free::all(&steps, 64, &[1_000], |_| true)[0].cells.len(), 64);
        assert_eq!(Free::all(&steps, 64, &[1_001], |_| true)[0].cells.len(), 0);
    }

    proptest! {
        /// Wherever the border lies, all answers are those of the list alone.
        #[test]
        fn the_border_changes_nothing(
            border in 0_usize..400,
            changes in prop::collection::vec((0_i32..430, 0_i32..270, -4_i32..5), 0..12),
            asked in prop::collection::vec((0_i32..430, 0_i32..290, -3_i32..6), 1..12),
        ) {
            let levels = vec![(0, 3), (20, 1), (64, 4), (90, 0), (310, 2)];
            let capacity = Profile::new(levels).unwrap();
            let mut list = Steps::new(&capacity);
            let fresh = Free::new(&list, border);
            let mut free = fresh.clone();
            for (from, length, amount) in changes {
                let until = if length == 269 { FAR } else { from + length };
                list.add(from, until, amount);
                free.add(from, until, amount);
            }
            for (from, length, need) in asked {
                let until = if length == 289 { FAR } else { from + length };
                prop_assert_eq!(free.lack(from, until, need), list.lack(from, until, need));
            }
            prop_assert_eq!(free.is_overdrawn(), list.lack(0, FAR, 0).is_some());
            free.copy_from(&fresh);
            prop_assert_eq!(free, fresh);
        }
    }
}
