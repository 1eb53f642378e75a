//! A season's time chart for a screen: a still part of it, and all of it as data.
//!
//! A still chart is one lane set over some days, as a table that needs no script. Where these
//! days hold more jobs than can be told apart, each lane shows when anything goes on in it and
//! how much. The data is what a page draws from by itself when it zooms: lists of numbers and
//! texts by place, because three thousand objects with names are ten times as long.

mod data;
mod still;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::{Date, DateTime};

use crate::scale::{days_between, last_day};
use crate::view::{JobView, PlanView};

pub use data::timeline_json;
pub use still::still;

/// Days of a season that are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// The first.
    pub from: Date,
    /// The last.
    pub until: Date,
}

impl Window {
    /// All days on which a plan has anything.
    pub fn whole(view: &PlanView) -> Self {
        let (one, other) = (view.from, view.until);
        let mut window =
            Self { from: one.min(other), until: one.max(other).max(view.gate.1) };
        if let Some(complete) = view.complete {
            window.until = window.until.max(last_day(complete));
        }
        for job in &view.jobs {
            window.from = window.from.min(job.start.date());
            window.until = window.until.max(last_day(job.finish));
        }
        window
    }

    /// Whether anything of a job lies in it.
    pub fn holds(&self, job: &JobView) -> bool {
        self.meets(job.start, job.finish)
    }

    /// Whether anything of a stretch lies in it; what ends at midnight ends on the day before.
    pub(crate) fn meets(self, from: DateTime, until: DateTime) -> bool {
        from.date() <= self.until && last_day(until).max(from.date()) >= self.from
    }

    /// How many days it has, one at least.
    pub fn days(&self) -> i32 {
        (days_between(self.from, self.until) + 1).max(1)
    }
}

/// What the data says beside the plan.
#[derive(Debug, Clone, Default)]
pub struct Beside {
    /// What [`Beside::was`] shows, e.g. "the adopted plan"; empty for nothing.
    pub of: String,
    /// Where jobs lie there, by their key.
    pub was: BTreeMap<String, (DateTime, DateTime)>,
    /// Hours of work by the day of the week from Monday: minutes of the day.
    pub hours: [Vec<(u16, u16)>; 7],
    /// Keys of the jobs that have begun, and so can't be put off.
    pub begun: BTreeSet<String>,
}

/// Minutes from midnight of a day to a moment.
fn minutes(first: Date, at: DateTime) -> i64 {
    let days = i64::from(days_between(first, at.date()));
    days * 1_440 + i64::from(at.hour()) * 60 + i64::from(at.minute())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn midnight_belongs_to_the_day_that_it_ends() {
        let (from, until) = (date(2032, 1, 5), date(2032, 1, 9));
        let window = Window { from, until };
        let at = |day, hour| date(2032, 1, day).at(hour, 0, 0, 0);
        for (begins, ends, meets) in [
            (at(4, 8), at(5, 0), false),
            (at(4, 8), at(5, 1), true),
            // A moment is where it is.
            (at(5, 0), at(5, 0), true),
            (at(9, 23), at(12, 0), true),
            (at(10, 0), at(12, 0), false),
        ] {
            let job = JobView::between(begins, ends);
            assert_eq!(window.holds(&job), meets, "{begins} {ends}");
        }
    }
}
