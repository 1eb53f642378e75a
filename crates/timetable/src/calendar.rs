//! Calendars: when work can go on.

use crate::Tick;

/// A half-open stretch of time, `[from, until)`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Window {
    /// The first tick of it.
    pub from: Tick,
    /// The first tick after it.
    pub until: Tick,
}

/// The windows in which something is open. Before the first and after the last one it is
/// closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Calendar {
    name: String,
    windows: Vec<Window>,
    /// Open ticks before each window, and after all of them: turns counting into a search.
    before: Vec<Tick>,
    /// For each bucket of `2^grain` ticks the first window that ends after it begins: a
    /// window is looked up so often that a binary search for it is too slow.
    index: Vec<u32>,
    grain: u32,
}

/// What is wrong with the windows of a calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CalendarFault {
    /// A window ends before or where it begins.
    #[error("the window from tick {} ends at tick {}, not after it", .0.from, .0.until)]
    Empty(Window),
    /// A window begins before the one before it ends.
    #[error("the window from tick {} begins before the one before it ends", .0.from)]
    Overlap(Window),
    /// A window begins before tick 0.
    #[error("the window from tick {} begins before tick 0", .0.from)]
    BeforeOrigin(Window),
}

impl Calendar {
    /// A calendar from windows in order of time. Windows that touch are joined.
    pub fn new(
        name: impl Into<String>,
        windows: Vec<Window>,
    ) -> Result<Self, CalendarFault> {
        let mut joined: Vec<Window> = Vec::with_capacity(windows.len());
        for window in windows {
            if window.from < 0 {
                return Err(CalendarFault::BeforeOrigin(window));
            }
            if window.until <= window.from {
                return Err(CalendarFault::Empty(window));
            }
            match joined.last_mut() {
                Some(last) if window.from < last.until => {
                    return Err(CalendarFault::Overlap(window));
                }
                Some(last) if window.from == last.until => last.until = window.until,
                _ => joined.push(window),
            }
        }
        let mut before = Vec::with_capacity(joined.len() + 1);
        let mut sum = 0;
        before.push(sum);
        for window in &joined {
            sum += window.until - window.from;
            before.push(sum);
        }
        let (index, grain) = index_of(&joined);
        Ok(Self { name: name.into(), windows: joined, before, index, grain })
    }

    /// A name for people.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The windows, in order of time, none touching the next.
    pub fn windows(&self) -> &[Window] {
        &self.windows
    }

    /// Whether a tick is open.
    pub fn is_open(&self, tick: Tick) -> bool {
        self.window_at_or_after(tick).is_some_and(|window| window.from <= tick)
    }

    /// The first open tick at or after a tick, if there is one.
    pub fn next_open(&self, tick: Tick) -> Option<Tick> {
        self.window_at_or_after(tick).map(|window| window.from.max(tick))
    }

    /// The window that holds a tick or, if it is closed, the next one.
    pub fn window_at_or_after(&self, tick: Tick) -> Option<Window> {
        self.windows.get(self.position_at_or_after(tick)).copied()
    }

    /// The position in [`windows`](Self::windows) of the window that holds a tick or, if
    /// it is closed, of the next one; the number of windows if there is none.
    pub fn position_at_or_after(&self, tick: Tick) -> usize {
        let bucket = (tick.max(0) >> self.grain) as usize;
        let Some(&first) = self.index.get(bucket) else {
            return self.windows.len();
        };
        let rest = &self.windows[first as usize..];
        let passed = rest.iter().position(|window| window.until > tick);
        first as usize + passed.unwrap_or(rest.len())
    }

    /// How many open ticks lie before a tick.
    pub fn open_before(&self, tick: Tick) -> Tick {
        let position = self.position_at_or_after(tick);
        let inside =
            self.windows.get(position).map_or(0, |window| (tick - window.from).max(0));
        self.before[position] + inside
    }

    /// How many open ticks lie in `[from, until)`; 0 if `until` is not after `from`.
    pub fn open_between(&self, from: Tick, until: Tick) -> Tick {
        if until <= from { 0 } else { self.open_before(until) - self.open_before(from) }
    }

    /// The least tick `finish >= start` for which `[start, finish)` holds `work` open
    /// ticks; `start` itself if `work` is 0; nothing if the calendar ends too soon.
    pub fn finish_of(&self, start: Tick, work: Tick) -> Option<Tick> {
        const NEAR: usize = 8;
        if work <= 0 {
            return Some(start);
        }
        let target = self.open_before(start) + work;
        // Most work ends a few windows later.
        let position = self.position_at_or_after(start);
        let near = &self.before[position..self.before.len().min(position + NEAR)];
        let after = match near.iter().position(|&sum| sum >= target) {
            Some(found) => position + found,
            None => self.before.partition_point(|&sum| sum < target),
        };
        let window = self.windows.get(after.checked_sub(1)?)?;
        (after < self.before.len())
            .then(|| window.from + (target - self.before[after - 1]))
    }

    /// The greatest open tick `start <= finish` for which `[start, finish)` holds at least
    /// `work` open ticks, counting back; `finish` itself if `work` is 0; nothing if there
    /// are not so many before it.
    pub fn start_of(&self, finish: Tick, work: Tick) -> Option<Tick> {
        if work <= 0 {
            return Some(finish);
        }
        let target = self.open_before(finish) - work;
        if target < 0 {
            return None;
        }
        let position = self.before.partition_point(|&sum| sum <= target) - 1;
        self.windows.get(position).map(|w| w.from + (target - self.before[position]))
    }
}

/// The index of windows, and its grain: about two buckets for each window.
fn index_of(windows: &[Window]) -> (Vec<u32>, u32) {
    let Some(last) = windows.last() else {
        return (Vec::new(), 0);
    };
    let wide = last.until as usize / (2 * windows.len());
    let grain = (wide + 1).next_power_of_two().trailing_zeros();
    let buckets = ((last.until - 1) >> grain) as usize + 1;
    let mut position = 0;
    let first = |bucket: usize| {
        let begins = (bucket as Tick) << grain;
        while windows[position].until <= begins {
            position += 1;
        }
        position as u32
    };
    ((0..buckets).map(first).collect(), grain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_are_found_as_by_looking_at_each() {
        for windows in [
            vec![(0, 1)],
            vec![(8, 12), (20, 24)],
            vec![(0, 3), (4, 5), (1_000, 1_001), (40_000, 90_000)],
            (0..50).map(|day| (96 * day + 32, 96 * day + 48 + day)).collect(),
        ] {
            let windows: Vec<Window> =
                windows.into_iter().map(|(from, until)| Window { from, until }).collect();
            let calendar = Calendar::new("c", windows.clone()).unwrap();
            let end = windows.last().unwrap().until;
            for tick in (-5..5_000.min(end + 9)).chain(end - 9..end + 9) {
                let plain = windows.iter().position(|window| window.until > tick);
                let found = calendar.position_at_or_after(tick);
                assert_eq!(found, plain.unwrap_or(windows.len()), "{tick}");
            }
            for start in (0..end).step_by(7).take(900) {
                for work in [1, 5, 40, 300, 5_000] {
                    let finish = calendar.finish_of(start, work);
                    let open = |until| calendar.open_between(start, until);
                    match finish {
                        Some(at) => assert!(open(at) == work && open(at - 1) < work),
                        None => assert!(open(end) < work),
                    }
                }
            }
        }
    }

    fn shifts() -> Calendar {
        let windows = vec![Window { from: 8, until: 12 }, Window { from: 20, until: 24 }];
        Calendar::new("shifts", windows).unwrap()
    }

    #[test]
    fn counts_open_ticks() {
        let calendar = shifts();
        for (tick, open) in [(0, 0), (8, 0), (10, 2), (12, 4), (19, 4), (24, 8), (99, 8)]
        {
            assert_eq!(calendar.open_before(tick), open, "before {tick}");
        }
        assert_eq!(calendar.open_between(11, 21), 2);
        assert_eq!(calendar.open_between(21, 11), 0);
    }

    #[test]
    fn work_pauses_and_resumes() {
        let calendar = shifts();
        for (start, work, finish) in [
            (8, 4, Some(12)),
            (8, 5, Some(21)),
            (10, 6, Some(24)),
            (10, 7, None),
            (0, 1, Some(9)),
            (12, 0, Some(12)),
            (30, 1, None),
        ] {
            assert_eq!(calendar.finish_of(start, work), finish, "{start} + {work}");
        }
    }

    #[test]
    fn work_counts_back() {
        let calendar = shifts();
        for (finish, work, start) in [
            (12, 4, Some(8)),
            (21, 5, Some(8)),
            (24, 4, Some(20)),
            (99, 8, Some(8)),
            (99, 9, None),
            (24, 5, Some(11)),
        ] {
            assert_eq!(calendar.start_of(finish, work), start, "{finish} - {work}");
        }
    }

    #[test]
    fn touching_windows_join_and_bad_ones_are_refused() {
        let join = vec![Window { from: 0, until: 2 }, Window { from: 2, until: 4 }];
        assert_eq!(Calendar::new("c", join).unwrap().windows().len(), 1);
        let empty = Window { from: 3, until: 3 };
        assert_eq!(Calendar::new("c", vec![empty]), Err(CalendarFault::Empty(empty)));
    }
}
