//! From civil time to the horizontal place on the chart.
//!
//! Every day has the same width, weekends and closures too, so that a length on paper is
//! a length of the calendar. Within a day only the hours in which somebody works are
//! drawn: with a day from 08:00 to 16:30, 16:30 on Monday and 08:00 on Tuesday are the
//! same place. A job that runs for three days is one bar and not three ticks.

use jiff::ToSpan;
use jiff::civil::{Date, DateTime, Time, Weekday};

use crate::kind::JobKind;
use crate::timeline::Window;
use crate::view::{JobView, PlanView};

/// The most days that are drawn; what lies beyond is drawn at the edge.
const MOST_DAYS: i32 = 3660;
const DAY_MINUTES: i32 = 24 * 60;

/// The horizontal scale of one chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    /// The first day drawn.
    pub first: Date,
    /// How many days are drawn, at least one.
    pub days: i32,
    /// Width of the plot.
    pub width: f64,
    /// Minute of the day at which the drawn part of a day begins and ends.
    hours: (i32, i32),
}

impl Scale {
    /// A scale on which the season, the gate and every job have their place.
    pub(crate) fn of(view: &PlanView, width: f64) -> Self {
        let whole = Window::whole(view);
        Self::over(whole.from, whole.days(), width, &view.jobs)
    }

    /// A scale over so many days from one on; what lies beyond them is at their edge.
    pub(crate) fn over(first: Date, days: i32, width: f64, jobs: &[JobView]) -> Self {
        Self { first, days: days.clamp(1, MOST_DAYS), width, hours: worked_hours(jobs) }
    }

    /// Width of one day.
    pub(crate) fn day_width(&self) -> f64 {
        self.width / f64::from(self.days)
    }

    /// The place of a moment, from 0 to the width.
    pub(crate) fn x(&self, at: DateTime) -> f64 {
        let minute = i32::from(at.hour()) * 60 + i32::from(at.minute());
        let (open, shut) = self.hours;
        let within = f64::from(minute.clamp(open, shut) - open) / f64::from(shut - open);
        self.place(f64::from(days_between(self.first, at.date())) + within)
    }

    /// The place at which a day begins.
    pub(crate) fn day_start(&self, date: Date) -> f64 {
        self.place(f64::from(days_between(self.first, date)))
    }

    /// The place at which a day ends.
    pub(crate) fn day_end(&self, date: Date) -> f64 {
        self.place(f64::from(days_between(self.first, date)) + 1.0)
    }

    /// Whether the day is drawn.
    pub(crate) fn holds(&self, date: Date) -> bool {
        (0..self.days).contains(&days_between(self.first, date))
    }

    /// The days drawn, in order.
    pub(crate) fn dates(&self) -> impl Iterator<Item = Date> + use<> {
        let mut next = Some(self.first);
        let count = self.days as usize;
        std::iter::from_fn(move || {
            let date = next?;
            next = date.tomorrow().ok();
            Some(date)
        })
        .take(count)
    }

    /// The first day of each month drawn, the first day drawn included.
    pub(crate) fn months(&self) -> Vec<Date> {
        let first = self.first;
        self.dates().filter(|date| date.day() == 1 || *date == first).collect()
    }

    /// The Mondays drawn.
    pub(crate) fn mondays(&self) -> Vec<Date> {
        self.dates().filter(|date| date.weekday() == Weekday::Monday).collect()
    }

    fn place(&self, days: f64) -> f64 {
        (days * self.day_width()).clamp(0.0, self.width)
    }
}

/// Whole days from one date to another, negative if the second is earlier.
pub(crate) fn days_between(from: Date, until: Date) -> i32 {
    (until - from).get_days()
}

/// The day on which something that ends at that moment is last seen: midnight belongs to
/// the day that it ends.
pub(crate) fn last_day(finish: DateTime) -> Date {
    if finish.time() == Time::midnight() {
        finish.date().saturating_sub(1.day())
    } else {
        finish.date()
    }
}

/// The hours of the day in which people work, from the stretches of the jobs themselves.
fn worked_hours(jobs: &[JobView]) -> (i32, i32) {
    let (mut open, mut shut) = (DAY_MINUTES, 0);
    let mut see = |from: DateTime, until: DateTime, one_stretch: bool| {
        let over_night = one_stretch && days_between(from.date(), last_day(until)) > 0;
        if over_night {
            (open, shut) = (0, DAY_MINUTES);
            return;
        }
        open = open.min(minute(from));
        let end = minute(until);
        shut = shut.max(if end == 0 { DAY_MINUTES } else { end });
    };
    for job in jobs {
        if matches!(job.kind, JobKind::Away | JobKind::Wait) {
            continue;
        }
        for &(from, until) in &job.working {
            see(from, until, true);
        }
        if job.working.is_empty() {
            see(job.start, job.finish, false);
        }
    }
    if shut - open < 60 { (0, DAY_MINUTES) } else { (open, shut) }
}

fn minute(at: DateTime) -> i32 {
    i32::from(at.hour()) * 60 + i32::from(at.minute())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn scale(hours: (i32, i32)) -> Scale {
        // Monday 5 January 2032, four weeks of 10 pixels a day.
        Scale { first: date(2032, 1, 5), days: 28, width: 280.0, hours }
    }

    #[test]
    fn nights_take_no_room_and_days_are_alike() {
        let scale = scale((480, 960));
        let at = |day, hour| scale.x(date(2032, 1, day).at(hour, 0, 0, 0));
        assert_eq!(at(5, 16), at(6, 8));
        assert_eq!(at(5, 23), at(6, 3));
        assert_eq!(at(5, 12), 5.0);
        // Saturday and Sunday have the width of any day.
        assert_eq!(at(12, 8) - at(9, 16), 20.0);
    }

    #[test]
    fn what_lies_outside_is_put_at_the_edge() {
        let scale = scale((0, DAY_MINUTES));
        assert_eq!(scale.x(date(-1000, 1, 1).at(0, 0, 0, 0)), 0.0);
        assert_eq!(scale.x(date(9999, 1, 1).at(0, 0, 0, 0)), 280.0);
        assert!(scale.holds(date(2032, 2, 1)) && !scale.holds(date(2032, 2, 2)));
    }

    #[test]
    fn months_and_weeks_are_found() {
        let scale = scale((0, DAY_MINUTES));
        assert_eq!(scale.months(), [date(2032, 1, 5), date(2032, 2, 1)]);
        let mondays = [5, 12, 19, 26].map(|day| date(2032, 1, day));
        assert_eq!(scale.mondays(), mondays);
    }
}
