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
        let mut window = Self { from: view.from, until: view.until.max(view.gate.1) };
        let complete = view.complete.map(DateTime::date);
        window.until = window.until.max(complete.unwrap_or(window.until));
        for job in &view.jobs {
            window.from = window.from.min(job.start.date());
            window.until = window.until.max(job.finish.date());
        }
        window
    }

    /// Whether anything of a job lies in it.
    pub fn holds(&self, job: &JobView) -> bool {
        job.start.date() <= self.until && job.finish.date() >= self.from
    }

    /// How many days it has, one at least.
    pub fn days(&self) -> i32 {
        ((self.until - self.from).get_days() + 1).max(1)
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
    let days = i64::from((at.date() - first).get_days());
    days * 1_440 + i64::from(at.hour()) * 60 + i64::from(at.minute())
}
