//! Work that pauses, moved along the windows of its calendar without looking any of them up.

use timetable::{Calendar, Tick, Window};

/// Work from a start on.
#[derive(Debug)]
pub(super) struct Walk<'w> {
    windows: &'w [Window],
    /// The window of the start.
    first: usize,
    pub(super) start: Tick,
    /// The window that was reached last, and open ticks from the start to its end.
    last: usize,
    open: Tick,
}

impl<'w> Walk<'w> {
    /// From the first open tick at or after a tick.
    pub(super) fn new(calendar: &'w Calendar, tick: Tick) -> Option<Self> {
        let windows = calendar.windows();
        let first = calendar.position_at_or_after(tick);
        let window = windows.get(first)?;
        let start = window.from.max(tick);
        Some(Self { windows, first, start, last: first, open: window.until - start })
    }

    /// Where so much work ends.
    pub(super) fn finish(&mut self, work: Tick) -> Option<Tick> {
        while self.open < work {
            self.last += 1;
            let window = self.windows.get(self.last)?;
            self.open += window.until - window.from;
        }
        Some(self.windows[self.last].until - (self.open - work))
    }

    /// The last tick of a stretch of the work, which [ends](Self::finish) at its finish, for which
    /// `last` finds something: its window, and what was found.
    pub(super) fn find_last(
        &self,
        (from, until): (Tick, Tick),
        last: impl Fn((Tick, Tick)) -> Option<Tick>,
    ) -> Option<(usize, Tick)> {
        let numbers = (self.first..=self.last).rev();
        let inside = |number: usize| {
            let Window { from: opens, until: closes } = self.windows[number];
            (number, opens.max(from), closes.min(until))
        };
        numbers
            .map(inside)
            .take_while(|&(number, ..)| self.windows[number].until > from)
            .filter(|&(_, from, until)| from < until)
            .find_map(|(number, from, until)| last((from, until)).map(|at| (number, at)))
    }

    /// Starts at a tick of a window or, if that is its end, with the next one.
    pub(super) fn start_at(&mut self, number: usize, tick: Tick) -> Option<()> {
        let (number, tick) = if tick < self.windows[number].until {
            (number, tick)
        } else {
            (number + 1, self.windows.get(number + 1)?.from)
        };
        if number > self.last {
            self.last = number;
            self.open = self.windows[number].until - tick;
        } else {
            for window in &self.windows[self.first..number] {
                self.open -= window.until - window.from.max(self.start);
            }
            self.open -= tick - self.windows[number].from.max(self.start);
        }
        (self.first, self.start) = (number, tick);
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// Wherever it starts, the work ends where the calendar says, and its last tick with
        /// some property is found as by looking at each.
        #[test]
        fn it_agrees_with_the_calendar(
            lengths in prop::collection::vec((1_i32..5, 1_i32..7), 1..12),
            from in 0_i32..40,
            work in 1_i32..20,
            marks in prop::collection::vec(any::<bool>(), 100),
        ) {
            let mut tick = 0;
            let windows = lengths.iter().map(|&(closed, open)| {
                let window = Window { from: tick + closed, until: tick + closed + open };
                tick = window.until;
                window
            });
            let calendar = Calendar::new("c", windows.collect()).unwrap();
            let Some(mut walk) = Walk::new(&calendar, from) else {
                prop_assert_eq!(calendar.next_open(from), None);
                return Ok(());
            };
            loop {
                prop_assert_eq!(calendar.next_open(walk.start), Some(walk.start));
                let finish = walk.finish(work);
                prop_assert_eq!(finish, calendar.finish_of(walk.start, work));
                let Some(finish) = finish else {
                    break;
                };
                let marked = |&tick: &Tick| marks[tick as usize];
                let plain = (walk.start..finish).rev().filter(|&tick| calendar.is_open(tick));
                let plain = plain.clone().find(marked);
                let last = |(from, until): (Tick, Tick)| (from..until).rev().find(marked);
                let found = walk.find_last((walk.start, finish), last);
                prop_assert_eq!(found.map(|found| found.1), plain);
                let Some((number, tick)) = found else {
                    break;
                };
                let next = calendar.next_open(tick + 1);
                let moved = walk.start_at(number, tick + 1);
                prop_assert_eq!(moved.map(|()| walk.start), next);
                if moved.is_none() {
                    break;
                }
            }
        }
    }
}
