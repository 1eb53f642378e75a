//! Between the workshop's clock and the ticks of a scheduling problem.

use jiff::SignedDuration;
use jiff::civil::{Date, DateTime, Time};
use timetable::Tick;

/// Quarter hours from the midnight before the season's first day. Civil time: a season
/// that spans a change of the clocks gains or loses an hour at night, when nobody works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grid {
    first: Date,
    days: i32,
}

/// Ticks in an hour.
pub(crate) const HOUR: Tick = 4;
/// Ticks in a day.
pub(crate) const DAY: Tick = 24 * HOUR;
/// Minutes in a tick.
pub(crate) const MINUTES: i64 = 15;

impl Grid {
    /// A grid of so many days from a first day.
    pub const fn new(first: Date, days: i32) -> Self {
        Self { first, days }
    }

    /// How many days it spans.
    pub const fn days(&self) -> i32 {
        self.days
    }

    /// Its end.
    pub const fn horizon(&self) -> Tick {
        self.days * DAY
    }

    /// A day of it, counted from 0; days past the calendar's end stay at its end.
    pub fn day(&self, number: i32) -> Date {
        self.first.saturating_add(jiff::Span::new().days(number))
    }

    /// The tick at which a day begins; negative before the first day.
    pub fn midnight(&self, day: Date) -> Tick {
        let days = day.duration_since(self.first).as_hours() / 24;
        Tick::try_from(days).unwrap_or(Tick::MAX / 16 / DAY) * DAY
    }

    /// The tick of a moment, rounded down.
    pub fn tick(&self, at: DateTime) -> Tick {
        self.midnight(at.date()) + time_of_day(at.time())
    }

    /// The moment of a tick.
    pub fn moment(&self, tick: Tick) -> DateTime {
        let minutes = i64::from(tick) * MINUTES;
        let origin = self.first.to_datetime(Time::midnight());
        origin.saturating_add(SignedDuration::from_mins(minutes))
    }
}

/// Ticks since midnight, rounded down.
pub(crate) fn time_of_day(time: Time) -> Tick {
    Tick::from(time.hour()) * HOUR + Tick::from(time.minute()) / 15
}

/// Ticks since midnight, rounded up.
pub(crate) fn time_of_day_up(time: Time) -> Tick {
    let down = time_of_day(time);
    let exact = time.minute() % 15 == 0 && time.second() == 0;
    if exact { down } else { down + 1 }
}

/// Minutes as ticks, rounded up; more than a grid can hold stays at its limit.
pub(crate) fn ticks(minutes: i64) -> Tick {
    let ticks = minutes.max(0).saturating_add(MINUTES - 1) / MINUTES;
    Tick::try_from(ticks).unwrap_or(Tick::MAX).min(Tick::MAX / 16)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn there_and_back() {
        let grid = Grid::new(date(2031, 10, 6), 200);
        for at in [date(2031, 10, 6).at(8, 0, 0, 0), date(2032, 2, 29).at(16, 45, 0, 0)] {
            assert_eq!(grid.moment(grid.tick(at)), at);
        }
        assert_eq!(grid.tick(date(2031, 10, 7).at(0, 15, 0, 0)), DAY + 1);
        assert_eq!(grid.midnight(date(2031, 10, 5)), -DAY);
    }

    #[test]
    fn part_ticks_round_away_from_trouble() {
        assert_eq!(ticks(1), 1);
        assert_eq!(ticks(15), 1);
        assert_eq!(ticks(16), 2);
        assert_eq!(ticks(i64::MAX), Tick::MAX / 16);
    }
}
