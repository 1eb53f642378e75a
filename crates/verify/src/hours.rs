//! Counting open ticks, from the windows of a calendar alone.

use timetable::{Calendar, Window};

/// The open windows of a calendar.
#[derive(Clone, Copy)]
pub(crate) struct Hours<'a> {
    windows: &'a [Window],
}

impl<'a> Hours<'a> {
    pub(crate) fn of(calendar: &'a Calendar) -> Self {
        Self { windows: calendar.windows() }
    }

    /// The open stretches of `[from, until)`, in order of time; none if it is empty.
    pub(crate) fn within(
        self,
        from: i64,
        until: i64,
    ) -> impl Iterator<Item = (i64, i64)> + use<'a> {
        let first =
            self.windows.partition_point(|window| i64::from(window.until) <= from);
        let stretches = self.windows[first..].iter().map(move |window| {
            (i64::from(window.from).max(from), i64::from(window.until).min(until))
        });
        stretches.take_while(|(from, until)| from < until)
    }

    /// How many ticks of `[from, until)` are open.
    pub(crate) fn count(self, from: i64, until: i64) -> i64 {
        self.within(from, until).map(|(from, until)| until - from).sum()
    }

    /// The first tick of `[from, until)` that is closed.
    pub(crate) fn first_closed(self, from: i64, until: i64) -> Option<i64> {
        let mut tick = from;
        for (opens, closes) in self.within(from, until) {
            if opens > tick {
                break;
            }
            tick = closes;
        }
        (tick < until).then_some(tick)
    }

    /// The least tick `finish` for which `[start, finish)` holds `work` open ticks.
    pub(crate) fn finish(self, start: i64, work: i64) -> Option<i64> {
        let mut left = work;
        if left == 0 {
            return Some(start);
        }
        for (opens, closes) in self.within(start, i64::MAX) {
            if left <= closes - opens {
                return Some(opens + left);
            }
            left -= closes - opens;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_ticks_are_counted_by_windows() {
        let windows = vec![Window { from: 2, until: 4 }, Window { from: 7, until: 9 }];
        let calendar = Calendar::new("c", windows).unwrap();
        let hours = Hours::of(&calendar);
        for (from, until, count, closed) in [
            (0, 2, 0, Some(0)),
            (2, 4, 2, None),
            (2, 5, 2, Some(4)),
            (3, 8, 2, Some(4)),
            (7, 7, 0, None),
            (8, 3, 0, None),
            (-5, 99, 4, Some(-5)),
        ] {
            assert_eq!(hours.count(from, until), count, "{from}..{until}");
            assert_eq!(hours.first_closed(from, until), closed, "{from}..{until}");
        }
        for (start, work, finish) in [
            (2, 2, Some(4)),
            (2, 3, Some(8)),
            (5, 1, Some(8)),
            (5, 0, Some(5)),
            (3, 3, Some(9)),
            (3, 4, None),
        ] {
            assert_eq!(hours.finish(start, work), finish, "{start} + {work}");
        }
    }
}
