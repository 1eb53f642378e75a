//! When the season's work can go on: shifts, people, warmth, weather, firms.

use jiff::civil::Time;
use record::{DateSpan, Firm, Person, Season, Shift, Weekdays};
use timetable::{Tick, Window};

use crate::grid::{DAY, Grid, time_of_day, time_of_day_up};
use crate::spans::{Spans, both, tidy, without};

/// The hours in which anybody works: the season's shifts, less the days on which it is
/// closed. After the gate date the shifts go on, so that a plan that is late can say how
/// late.
pub(crate) fn shifts(grid: Grid, season: &Season) -> Spans {
    let windows = season.shifts.iter().flat_map(|shift| hours(grid, *shift)).collect();
    without(&tidy(windows), &days(grid, &season.closed))
}

/// The hours of a person within the shifts.
pub(crate) fn presence(grid: Grid, person: &Person, shifts: &Spans) -> Spans {
    let mut there = both(shifts, &weekdays(grid, person.days));
    if let Some(own) = person.hours {
        there = both(&there, &tidy(hours(grid, own)));
    }
    if let Some(from) = person.from {
        let all = Window { from: grid.midnight(from), until: grid.horizon() };
        there = both(&there, &[all]);
    }
    if let Some(until) = person.until {
        let all = Window { from: 0, until: grid.midnight(until).saturating_add(DAY) };
        there = both(&there, &[all]);
    }
    without(&there, &days(grid, &person.away))
}

/// When the hangar is warm.
pub(crate) fn warm(grid: Grid, season: &Season) -> Spans {
    let windows = season.heating.iter().flat_map(|period| {
        let days = days(grid, &[period.days]);
        match period.hours {
            None => days,
            Some((from, until)) => both(&days, &tidy(daily(grid, from, until))),
        }
    });
    tidy(windows.collect())
}

/// When the weather is dry.
pub(crate) fn dry(grid: Grid, season: &Season) -> Spans {
    let all = [Window { from: 0, until: grid.horizon() }];
    without(&all, &days(grid, &season.wet))
}

/// When a firm collects, delivers or comes: on its days, in shift hours.
pub(crate) fn collection(grid: Grid, firm: &Firm, shifts: &Spans) -> Spans {
    let on = if firm.collects.is_empty() { Weekdays::ALL } else { firm.collects };
    let there = both(shifts, &weekdays(grid, on));
    without(&there, &days(grid, &firm.closed))
}

/// When a firm works on what it has in hand.
pub(crate) fn open_for_work(grid: Grid, firm: &Firm) -> Spans {
    let all = [Window { from: 0, until: grid.horizon() }];
    without(&all, &days(grid, &firm.closed))
}

/// Whole days.
pub(crate) fn days(grid: Grid, spans: &[DateSpan]) -> Spans {
    let windows = spans.iter().map(|span| Window {
        from: grid.midnight(span.from).max(0),
        until: grid.midnight(span.until).saturating_add(DAY).min(grid.horizon()),
    });
    tidy(windows.collect())
}

fn weekdays(grid: Grid, on: Weekdays) -> Spans {
    let windows = (0..grid.days())
        .filter(|&number| on.holds(grid.day(number).weekday()))
        .map(|number| Window { from: number * DAY, until: (number + 1) * DAY });
    tidy(windows.collect())
}

fn hours(grid: Grid, shift: Shift) -> Spans {
    let all = daily(grid, shift.from, shift.until);
    both(&tidy(all), &weekdays(grid, shift.days))
}

/// The same hours on each day. A part of a quarter hour at either end is not used.
fn daily(grid: Grid, from: Time, until: Time) -> Spans {
    let (first, last): (Tick, Tick) = (time_of_day_up(from), time_of_day(until));
    let day =
        |number: i32| Window { from: number * DAY + first, until: number * DAY + last };
    (0..grid.days()).map(day).filter(|w| w.from < w.until).collect()
}
