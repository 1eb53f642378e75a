//! What the hangar asks in the morning: who is in, what can start, and why the rest can't.
//!
//! It is told from the record and from the adopted plan alone. What has no plan is told from
//! its cards. Nothing here allows anything: whoever starts is judged when they sign.

mod air;
#[cfg(test)]
mod air_tests;
mod floor;
mod held;
mod jobs;
mod measured;
mod obstacle;
mod people;
#[cfg(test)]
mod tests;

use jiff::civil::{Date, DateTime};
use planner::{Draft, JobKind};
use record::act::DatedJob;
use record::act::Power;
use record::shop::{Adopted, Custody, Part, Whereabouts};
use record::{PersonId, Programme, Season};

pub use air::{Air, AirAt, AirVerdict, AirWork, FRESH_HOURS, MARGIN};
pub(crate) use air::{counts_until, cut, degrees, range};
pub use floor::{AtWork, ToInspect, Travelling};
pub use held::Held;
pub use jobs::{JobNow, JobToday};
pub use measured::AirLimit;
pub use obstacle::Obstacle;
pub use people::PersonToday;

use crate::season::choose_season;

/// A day in the hangar.
#[derive(Debug, Clone, PartialEq)]
pub struct Today {
    /// The moment of which it is told.
    pub now: DateTime,
    /// The season that lasts, by its name in the programme and what people call it.
    pub season: Option<(String, String)>,
    /// Why nobody is expected, if so: a closure, or a day without a shift.
    pub shut: Option<String>,
    /// Everybody, those who are in first.
    pub people: Vec<PersonToday>,
    /// By whose plan the jobs are told, and since when; nothing if none was adopted.
    pub plan: Option<String>,
    /// Why the plan can't be held against the work, if it can't.
    pub trouble: Option<String>,
    /// What the plan has for today and what it had before and is not done, by its start.
    pub jobs: Vec<JobToday>,
    /// What people are at.
    pub at_work: Vec<AtWork>,
    /// What goes out and comes back today, and what is late.
    pub travelling: Vec<Travelling>,
    /// Steps that wait for somebody who looks at them.
    pub inspections: Vec<ToInspect>,
    /// What the air is like for work that asks for it.
    pub air: Air,
}

impl Today {
    /// The jobs in a state.
    pub fn jobs_that(&self, state: JobNow) -> impl Iterator<Item = &JobToday> {
        self.jobs.iter().filter(move |job| job.now == state)
    }

    /// Those who are in.
    pub fn present(&self) -> impl Iterator<Item = &PersonToday> {
        self.people.iter().filter(|person| person.is_in)
    }
}

/// The moment of a stamp, on the workshop's clock: `2032-01-14T09:30:00+00:00`.
pub fn moment_of(stamp: &str) -> Option<DateTime> {
    stamp.get(..19)?.parse().ok()
}

/// What a day looks like at a moment of it.
pub fn today(programme: &Programme, now: DateTime) -> Today {
    let season = season(programme, now.date());
    let draft = season.map(|season| planner::draft(programme, &season.id));
    let (draft, trouble) = match draft {
        Some(Ok(draft)) => (Some(draft), None),
        Some(Err(error)) => (None, Some(error.to_string())),
        None => (None, None),
    };
    let adopted = season.and_then(|season| programme.shop.plans.adopted.get(&season.id));
    let day = Day { programme, now, season, draft: draft.as_ref(), adopted };
    let jobs = jobs::all(&day);
    Today {
        now,
        season: season.map(|season| (season.id.to_string(), season.name.clone())),
        shut: people::shut(&day),
        people: people::all(&day),
        plan: adopted.map(|adopted| {
            let mark = &adopted.mark;
            format!("{}, adopted by {}", mark.at.strftime("%Y-%m-%d %H:%M"), mark.by)
        }),
        trouble,
        air: air::air(&day, &jobs),
        jobs,
        at_work: floor::at_work(&day),
        travelling: floor::travelling(&day),
        inspections: floor::inspections(&day),
    }
}

/// The season that lasts, or the first to come; none once all are over.
fn season(programme: &Programme, on: Date) -> Option<&Season> {
    let id = choose_season(programme, None, Some(on)).ok()?;
    programme.seasons.get(&id).filter(|season| season.until >= on)
}

/// What all parts of a day are told from.
#[derive(Clone, Copy)]
struct Day<'a> {
    programme: &'a Programme,
    now: DateTime,
    season: Option<&'a Season>,
    draft: Option<&'a Draft>,
    adopted: Option<&'a Adopted>,
}

impl<'a> Day<'a> {
    fn on(&self) -> Date {
        self.now.date()
    }

    /// The planned jobs with their place in the draft, as far as they are in it.
    fn dated(&self) -> impl Iterator<Item = (&'a DatedJob, usize)> {
        let jobs = self.adopted.into_iter().flat_map(|adopted| &adopted.plan.jobs);
        let draft = self.draft;
        jobs.filter_map(move |dated| {
            let draft = draft?;
            let at = draft.jobs.iter().position(|job| job.key == dated.job)?;
            let marks = matches!(draft.jobs[at].kind, JobKind::Begin | JobKind::Complete);
            (!marks).then_some((dated, at))
        })
    }

    fn part(&self, item: &airframe::ItemId) -> Option<&'a Part> {
        self.programme.shop.parts.parts.get(item)
    }

    /// Whether somebody may do something to an item today.
    fn may(
        &self,
        person: &PersonId,
        power: Power,
        item: Option<&airframe::ItemId>,
    ) -> bool {
        let chapter = item.and_then(|item| self.programme.items.get(item)?.chapter);
        let given = &self.programme.shop.authorities;
        given.covers(person, power, chapter, self.on())
    }

    /// What people call somebody.
    fn called(&self, person: &PersonId) -> String {
        let found = self.programme.people.get(person);
        found.map_or_else(|| person.to_string(), |person| person.name.clone())
    }
}

/// What of a part is in a firm's hands.
fn away(part: &Part) -> Option<&Custody> {
    let away = matches!(part.whereabouts, Whereabouts::Away(_));
    part.custody.as_ref().filter(|_| away)
}

/// Days by which something is late: `due 2032-01-12, 2 days late`.
fn due(day: Date, on: Date) -> String {
    match (on - day).get_days() {
        ..=0 => format!("due {day}"),
        1 => format!("due {day}, 1 day late"),
        late => format!("due {day}, {late} days late"),
    }
}
