//! Free capacity as a step function of time.
//!
//! A resource's profile is a sorted list of segments, each `(from, free)`, the last one
//! reaching for ever. Placing a task cuts at most two segments and lowers those between;
//! equal neighbours are joined again, so that the list stays about twice as long as the
//! number of uses. This is for what is asked now and then and for any horizon; where schedules
//! are built there are cells for ticks (see [`free`](crate::free)), and short plain problems have
//! profiles of their own (see [`planes`](crate::planes)).
//!
//! Worked case. Capacity 3, a use of 2 in `[4, 7)`: segments `(0, 3) (4, 1) (7, 3)`. A
//! need of 2 in `[5, 9)` lacks until 7.

use timetable::{Profile, Tick};

/// Later than anything that happens; half of the range, so that sums stay inside it.
pub(crate) const FAR: Tick = Tick::MAX / 2;

/// Free capacity over time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Steps {
    at: Vec<Tick>,
    free: Vec<i32>,
}

impl Steps {
    /// All of a capacity is free. Levels above the range of `i32` count as its end.
    pub(crate) fn new(capacity: &Profile) -> Self {
        let (at, free) = capacity
            .steps()
            .iter()
            .map(|&(from, level)| (from, i32::try_from(level).unwrap_or(i32::MAX)))
            .unzip();
        Self { at, free }
    }

    /// Takes over another profile without a new allocation.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.at.clone_from(&other.at);
        self.free.clone_from(&other.free);
    }

    /// The segments, as `(from, free)`.
    pub(crate) fn segments(&self) -> impl Iterator<Item = (Tick, i32)> + '_ {
        self.at.iter().copied().zip(self.free.iter().copied())
    }

    /// Adds to what is free in `[from, until)`; `until` may be [`FAR`], meaning for ever.
    pub(crate) fn add(&mut self, from: Tick, until: Tick, amount: i32) {
        if until <= from || amount == 0 {
            return;
        }
        let first = self.cut(from);
        let last = if until >= FAR { self.at.len() } else { self.cut(until) };
        for free in &mut self.free[first..last] {
            *free = free.saturating_add(amount);
        }
        self.join(last);
        self.join(first);
    }

    /// Takes what is overdrawn for used up.
    pub(crate) fn forgive(&mut self) {
        for free in &mut self.free {
            *free = (*free).max(0);
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
        let mut position = self.position(from);
        while position < self.at.len() && self.at[position] < until {
            if self.free[position] < need {
                let begins = self.at[position].max(from);
                while position < self.at.len() && self.free[position] < need {
                    position += 1;
                }
                return Some((begins, self.at.get(position).copied().unwrap_or(FAR)));
            }
            position += 1;
        }
        None
    }

    /// The last stretch inside `[from, until)` in which less than `need` is free, cut to it.
    pub(crate) fn last_lack(
        &self,
        from: Tick,
        until: Tick,
        need: i32,
    ) -> Option<(Tick, Tick)> {
        if until <= from {
            return None;
        }
        let first = self.position(from);
        let mut position = self.at.partition_point(|&at| at < until);
        while position > first {
            position -= 1;
            if self.free[position] < need {
                let ends = self.at.get(position + 1).copied().unwrap_or(FAR).min(until);
                while position > first && self.free[position - 1] < need {
                    position -= 1;
                }
                return Some((self.at[position].max(from), ends));
            }
        }
        None
    }

    /// The least that is free anywhere in `[from, until)`; the greatest number if it is empty.
    pub(crate) fn least(&self, from: Tick, until: Tick) -> i32 {
        let first = self.position(from);
        let last = self.at.partition_point(|&at| at < until).max(first);
        self.free[first..last].iter().copied().min().unwrap_or(i32::MAX)
    }

    /// The most that is free anywhere in `[from, until)`; the least number if it is empty.
    pub(crate) fn most(&self, from: Tick, until: Tick) -> i32 {
        let first = self.position(from);
        let last = self.at.partition_point(|&at| at < until).max(first);
        self.free[first..last].iter().copied().max().unwrap_or(i32::MIN)
    }

    /// What is free at a tick.
    pub(crate) fn level(&self, tick: Tick) -> i32 {
        self.free[self.position(tick)]
    }

    /// The segment that holds a tick; the first one for ticks before all of them.
    fn position(&self, tick: Tick) -> usize {
        self.at.partition_point(|&from| from <= tick).saturating_sub(1)
    }

    /// Makes a segment begin at a tick, and returns its position.
    fn cut(&mut self, tick: Tick) -> usize {
        let position = self.position(tick);
        if self.at[position] >= tick {
            return position;
        }
        self.at.insert(position + 1, tick);
        self.free.insert(position + 1, self.free[position]);
        position + 1
    }

    /// Joins the segment at a position to the one before it, if they are equal.
    fn join(&mut self, position: usize) {
        if (1..self.at.len()).contains(&position)
            && self.free[position - 1] == self.free[position]
        {
            self.at.remove(position);
            self.free.remove(position);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worked_case() {
        let mut steps = Steps::new(&Profile::constant(3));
        steps.add(4, 7, -2);
        assert_eq!(steps.segments().collect::<Vec<_>>(), [(0, 3), (4, 1), (7, 3)]);
        assert_eq!(steps.lack(5, 9, 2), Some((5, 7)));
        assert_eq!(steps.lack(7, 99, 3), None);
        steps.add(4, 7, 2);
        assert_eq!(steps.segments().collect::<Vec<_>>(), [(0, 3)]);
    }

    #[test]
    fn stretches_are_found_from_the_back() {
        let mut steps = Steps::new(&Profile::constant(3));
        steps.add(4, 7, -2);
        steps.add(9, 12, -3);
        steps.add(12, 13, -2);
        assert_eq!(steps.last_lack(0, 20, 2), Some((9, 13)));
        assert_eq!(steps.last_lack(0, 11, 2), Some((9, 11)));
        assert_eq!(steps.last_lack(5, 9, 2), Some((5, 7)));
        assert_eq!(steps.last_lack(7, 9, 3), None);
        assert_eq!((steps.level(3), steps.level(4), steps.level(12)), (3, 1, 1));
    }

    #[test]
    fn a_use_for_ever_lacks_for_ever() {
        let mut steps = Steps::new(&Profile::constant(1));
        steps.add(5, FAR, -1);
        assert_eq!(steps.lack(0, 6, 1), Some((5, FAR)));
        assert_eq!(steps.lack(0, 5, 1), None);
    }
}
