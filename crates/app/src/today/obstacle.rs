//! What stands in the way of a job, and what would clear it as far as the plan and the record
//! tell. Where they tell nothing, it is said what usually clears one of its kind.
//!
//! It is advice to whoever runs the floor; what is allowed is judged when somebody signs.

use jiff::civil::{Date, DateTime};
use record::JobKey;

use super::Day;

/// Something that stands in the way of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Obstacle {
    /// What kind it is, in a word or two: `before it`, `part`, `stand`.
    pub kind: &'static str,
    /// What it is, as a sentence without a full stop.
    pub what: String,
    /// What would clear it, as a sentence without a full stop that goes on from `cleared when`.
    pub clears: String,
    /// The job that must be done first, if that is what it is.
    pub after: Option<String>,
}

impl Obstacle {
    /// Whether it is the same reason.
    pub(super) fn is_same(&self, other: &Self) -> bool {
        (self.kind, &self.what) == (other.kind, &other.what)
    }

    /// The same, if something else clears it than what usually does; nothing if that is all
    /// that is known.
    pub(super) fn by(self, clears: impl Into<Option<String>>) -> Self {
        match clears.into() {
            Some(clears) => Self { clears, ..self },
            None => self,
        }
    }

    /// The same, where a rule refuses it and says what to do.
    pub(super) fn by_hint(self, hint: &str) -> Self {
        let clears = format!("what the rule names is put right: {hint}");
        self.by((!hint.is_empty()).then_some(clears))
    }

    /// The same, where another job must be done first.
    pub(super) fn after(self, job: &JobKey) -> Self {
        Self { after: Some(job.to_string()), ..self }
    }
}

pub(super) fn obstacle(kind: &'static str, what: impl Into<String>) -> Obstacle {
    let clears = usually(kind).to_owned();
    Obstacle { kind, what: what.into(), clears, after: None }
}

/// What usually clears an obstacle of a kind.
fn usually(kind: &str) -> &'static str {
    match kind {
        "before it" => "that job is done and its card complete",
        "in the way" => "that job is done: until then this one is not reached",
        "time" => "the time has passed",
        "part" => "what the record says of the part is put right",
        "stand" => "what is on it is moved or fitted again",
        "gear" => "the jobs that use it are done",
        "place" => "a job there is done or moved",
        "air" => "it is warm and dry enough, or the job goes to a place that keeps it so",
        "people" => {
            "somebody who may do it and is in takes it, or the season is planned again"
        }
        "authority" => "somebody who may supervise is in",
        "handover" => "what the rule names is put right at the card",
        "query" => "whoever holds the data answers it",
        "batch" => "an engineer says what becomes of it; draw from a batch that is good",
        "tool" => "an instrument that is in calibration is there",
        _ => "what it names is put right",
    }
}

/// When the plan has a job done, as a moment and in words.
fn end_by_plan(day: &Day<'_>, key: &JobKey) -> Option<(DateTime, String)> {
    let mut jobs = day.adopted.into_iter().flat_map(|adopted| &adopted.plan.jobs);
    let until = jobs.find(|dated| dated.job == *key)?.until;
    let has = if until < day.now { "had" } else { "has" };
    let is_today = until.date() == day.on();
    let told = until.strftime(if is_today { "%H:%M today" } else { "%Y-%m-%d %H:%M" });
    Some((until, format!("which the plan {has} for {told}")))
}

/// The end of a job as the plan has it.
pub(super) fn its_end(day: &Day<'_>, key: &JobKey) -> Option<String> {
    end_by_plan(day, key).map(|(_, end)| format!("it is done, {end}"))
}

/// The first end that frees one of several things in use, each with the job that frees it.
pub(super) fn first_free(
    day: &Day<'_>,
    users: &[(String, Option<JobKey>)],
) -> Option<String> {
    let ends = users.iter().filter_map(|(user, frees)| {
        let frees = frees.as_ref()?;
        let (until, told) = end_by_plan(day, frees)?;
        Some((until, user, frees, told))
    });
    let (_, _, frees, told) = ends.min_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)))?;
    Some(format!("{frees} is done, {told}"))
}

/// Something on a day that is known, or nothing.
pub(super) fn on_a_day(words: &str, day: Option<Date>) -> Option<String> {
    day.map(|day| format!("{words} on {}", day.strftime("%A %Y-%m-%d")))
}
