//! The plan that people work by, held against what the cards and the parts say happened.
//!
//! The slip of a job is counted in days of the calendar: of one that is done, from the day on
//! which it was planned to be done to the day on which it was; of one that is not, from its
//! planned end to today if that is over, or else from its planned begin to when it began, or to
//! today if it should have begun. A job that was done early has a slip below nought.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};
use planner::{JobKind, Past, SoFar};
use quantity::{Notation, Work};
use record::act::DatedJob;
use record::{Programme, SeasonId};

use crate::AppError;
use crate::season::choose_season;

/// How a job of the plan stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum JobStands {
    /// Nothing was signed of it.
    NotBegun,
    /// It was begun, and nobody is at it now.
    Begun,
    /// Somebody is at it now.
    AtWork,
    /// It is at a firm.
    Away,
    /// It is done.
    Done,
}

impl JobStands {
    /// In a word or two.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotBegun => "not begun",
            Self::Begun => "begun",
            Self::AtWork => "at work now",
            Self::Away => "away",
            Self::Done => "done",
        }
    }
}

/// A job of the plan, and what happened of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobHeld {
    /// Its name in the plan.
    pub job: String,
    /// What is done; empty if the season has no such job any more.
    pub name: String,
    /// The pack that it belongs to; empty for none.
    pub pack: String,
    /// From when until when it was planned.
    pub planned: (DateTime, DateTime),
    /// When it began.
    pub began: Option<DateTime>,
    /// When it was done.
    pub ended: Option<DateTime>,
    /// How it stands.
    pub stands: JobStands,
    /// Who is at it now.
    pub at_it: Vec<String>,
    /// Hours booked on its card; empty if there are none.
    pub hours: String,
    /// What is expected, in words: when it comes back, or how much is left.
    pub expected: String,
    /// Days by which it is later than planned; nothing if it need not have begun yet.
    pub slip: Option<i32>,
}

impl JobHeld {
    /// Whether it is later than planned and not done.
    pub fn is_behind(&self) -> bool {
        self.stands != JobStands::Done && self.slip.is_some_and(|slip| slip > 0)
    }
}

/// A pack of the plan, or the plan in all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PackHeld {
    /// The pack; empty for what belongs to none.
    pub pack: String,
    /// How many jobs it has, how many are done, and how many are behind.
    pub jobs: usize,
    /// How many are done.
    pub done: usize,
    /// How many are later than planned and not done.
    pub behind: usize,
    /// The greatest slip of its jobs.
    pub most: Option<i32>,
    /// The slip of the jobs of which there is one, on average, in tenths of a day.
    pub average: Option<i32>,
    /// When its last job was planned to be done.
    pub until: DateTime,
}

/// A plan that was adopted, and what happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanHeld {
    /// The season.
    pub season: String,
    /// By whom and when it was adopted, and why.
    pub adopted: (String, DateTime, String),
    /// When the aircraft was planned to stand complete.
    pub complete: DateTime,
    /// The gate date.
    pub gate: Date,
    /// Its jobs, the greatest slip first.
    pub jobs: Vec<JobHeld>,
    /// By pack, the greatest slip first.
    pub packs: Vec<PackHeld>,
    /// All of it.
    pub all: PackHeld,
    /// Jobs that came up since: their name in the plan, and what is done.
    pub since: Vec<(String, String)>,
}

/// The adopted plan of a season against what happened until a day; nothing if none was adopted.
///
/// # Errors
/// If there is no such season, or it can't be drafted.
pub fn plan_held(
    programme: &Programme,
    season: Option<&str>,
    on: Date,
) -> Result<Option<PlanHeld>, AppError> {
    let season = choose_season(programme, season, Some(on))?;
    let Some(adopted) = programme.shop.plans.adopted.get(&season) else {
        return Ok(None);
    };
    let draft = planner::draft(programme, &season).map_err(AppError::Draft)?;
    let places: BTreeMap<&str, usize> =
        draft.jobs.iter().enumerate().map(|(at, job)| (job.key.0.as_str(), at)).collect();
    let mut jobs = Vec::new();
    for dated in &adopted.plan.jobs {
        let at = places.get(dated.job.0.as_str()).copied();
        let job = at.map(|at| &draft.jobs[at]);
        // The moment at which all is complete is no job.
        if job.is_some_and(|job| job.kind == JobKind::Complete) {
            continue;
        }
        let past = at.and_then(|at| draft.past.get(&at));
        let name = job.map_or("", |job| job.name.as_str());
        let pack = job.and_then(|job| job.pack.as_ref()).map(ToString::to_string);
        jobs.push(held(programme, dated, past, (name, pack), on));
    }
    jobs.sort_by(|one, other| {
        let late = |job: &JobHeld| std::cmp::Reverse(job.slip);
        (late(one), one.planned, &one.job).cmp(&(late(other), other.planned, &other.job))
    });
    let known = |key: &str| adopted.plan.jobs.iter().any(|job| job.job.0 == key);
    let new = draft.jobs.iter().filter(|job| {
        !matches!(job.kind, JobKind::Begin | JobKind::Complete) && !known(&job.key.0)
    });
    let since = new.map(|job| (job.key.to_string(), job.name.clone())).collect();
    let mark = &adopted.mark;
    Ok(Some(PlanHeld {
        adopted: (mark.by.to_string(), mark.at, adopted.plan.reason.clone()),
        complete: adopted.plan.complete,
        gate: gate_date(programme, &season, adopted.plan.complete.date()),
        packs: packs(&jobs),
        all: summed("in all", &jobs.iter().collect::<Vec<_>>()),
        season: season.to_string(),
        jobs,
        since,
    }))
}

fn gate_date(programme: &Programme, season: &SeasonId, otherwise: Date) -> Date {
    programme.seasons.get(season).map_or(otherwise, |season| season.until)
}

fn held(
    programme: &Programme,
    dated: &DatedJob,
    past: Option<&Past>,
    (name, pack): (&str, Option<String>),
    on: Date,
) -> JobHeld {
    let card = programme.shop.cards.cards.get(&dated.job);
    let people = card.into_iter().flat_map(|card| &card.sessions);
    let at_it: Vec<String> = people
        .filter(|session| session.until.is_none())
        .map(|session| {
            let person = programme.people.get(&session.person);
            person
                .map_or_else(|| session.person.to_string(), |person| person.name.clone())
        })
        .collect();
    let minutes: i64 = card.map_or(0, |card| {
        let people = card.involved().into_iter();
        people.map(|person| card.hours_of(person).minutes()).sum()
    });
    let so_far = past.map(|past| past.so_far);
    let (stands, ended, expected) = match so_far {
        None => (JobStands::NotBegun, None, String::new()),
        Some(SoFar::Done(at)) => (JobStands::Done, Some(at), String::new()),
        Some(SoFar::Due(day)) => (JobStands::Away, None, format!("due {day}")),
        Some(SoFar::Left(left)) => {
            let stands =
                if at_it.is_empty() { JobStands::Begun } else { JobStands::AtWork };
            (stands, None, format!("{} left", Work::from_minutes(left).print()))
        }
    };
    JobHeld {
        job: dated.job.to_string(),
        name: name.to_owned(),
        pack: pack.unwrap_or_default(),
        planned: (dated.from, dated.until),
        began: past.map(|past| past.from),
        ended,
        stands,
        at_it,
        hours: if minutes > 0 {
            Work::from_minutes(minutes).print()
        } else {
            String::new()
        },
        expected,
        slip: slip(dated, past, on),
    }
}

/// Days by which a job is later than planned.
fn slip(dated: &DatedJob, past: Option<&Past>, on: Date) -> Option<i32> {
    let (from, until) = (dated.from.date(), dated.until.date());
    let days = |planned: Date, is: Date| (is - planned).get_days();
    match past {
        Some(Past { so_far: SoFar::Done(at), .. }) => Some(days(until, at.date())),
        Some(Past { so_far: SoFar::Due(day), .. }) => Some(days(until, (*day).max(on))),
        Some(Past { from: began, .. }) if on <= until => Some(days(from, began.date())),
        None if on < from => None,
        // It should have begun by its day's end, and been done by its last.
        None => Some(days(from, on).max(0)),
        Some(_) => Some(days(until, on)),
    }
}

fn packs(jobs: &[JobHeld]) -> Vec<PackHeld> {
    let mut by: BTreeMap<&str, Vec<&JobHeld>> = BTreeMap::new();
    for job in jobs {
        by.entry(&job.pack).or_default().push(job);
    }
    let mut packs: Vec<PackHeld> =
        by.iter().map(|(pack, jobs)| summed(pack, jobs)).collect();
    packs.sort_by(|one, other| (other.most, &one.pack).cmp(&(one.most, &other.pack)));
    packs
}

fn summed(pack: &str, jobs: &[&JobHeld]) -> PackHeld {
    let slips: Vec<i32> = jobs.iter().filter_map(|job| job.slip).collect();
    let sum: i32 = slips.iter().sum();
    PackHeld {
        pack: pack.to_owned(),
        jobs: jobs.len(),
        done: jobs.iter().filter(|job| job.stands == JobStands::Done).count(),
        behind: jobs.iter().filter(|job| job.is_behind()).count(),
        most: slips.iter().copied().max(),
        average: (!slips.is_empty()).then(|| sum * 10 / slips.len() as i32),
        until: jobs.iter().map(|job| job.planned.1).max().unwrap_or_default(),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use record::JobKey;

    use super::*;

    fn dated() -> DatedJob {
        DatedJob {
            job: JobKey("OFF:X".to_owned()),
            from: date(2031, 10, 6).at(8, 0, 0, 0),
            until: date(2031, 10, 8).at(16, 0, 0, 0),
            people: Vec::new(),
        }
    }

    fn past(began: i8, so_far: SoFar) -> Past {
        let from = date(2031, 10, began).at(9, 0, 0, 0);
        Past { from, so_far, sessions: Vec::new() }
    }

    #[test]
    fn a_slip_is_counted_from_what_was_planned() {
        let done = |day: i8| SoFar::Done(date(2031, 10, day).at(12, 0, 0, 0));
        let cases = [
            ("not due yet", None, 5, None),
            ("should begin today", None, 6, Some(0)),
            ("should have begun", None, 9, Some(3)),
            ("begun in time", Some(past(6, SoFar::Left(60))), 7, Some(0)),
            ("begun late", Some(past(8, SoFar::Left(60))), 8, Some(2)),
            ("begun early", Some(past(3, SoFar::Left(60))), 7, Some(-3)),
            ("begun and overdue", Some(past(6, SoFar::Left(60))), 10, Some(2)),
            ("done in time", Some(past(6, done(8))), 20, Some(0)),
            ("done late", Some(past(6, done(13))), 20, Some(5)),
            ("done early", Some(past(6, done(7))), 20, Some(-1)),
            ("at a firm", Some(past(6, SoFar::Due(date(2031, 10, 12)))), 7, Some(4)),
            (
                "at a firm, overdue",
                Some(past(6, SoFar::Due(date(2031, 10, 9)))),
                15,
                Some(7),
            ),
        ];
        for (what, past, on, expected) in cases {
            let on = date(2031, 10, on);
            assert_eq!(slip(&dated(), past.as_ref(), on), expected, "{what}");
        }
    }

    fn job(pack: &str, slip: Option<i32>, stands: JobStands) -> JobHeld {
        JobHeld {
            job: "J".to_owned(),
            name: String::new(),
            pack: pack.to_owned(),
            planned: (dated().from, dated().until),
            began: None,
            ended: None,
            stands,
            at_it: Vec::new(),
            hours: String::new(),
            expected: String::new(),
            slip,
        }
    }

    #[test]
    fn packs_are_summed_and_the_latest_comes_first() {
        let jobs = [
            job("A", Some(2), JobStands::Done),
            job("A", Some(-1), JobStands::Done),
            job("B", Some(5), JobStands::Begun),
            job("B", None, JobStands::NotBegun),
        ];
        let packs = packs(&jobs);
        assert_eq!(packs.iter().map(|p| p.pack.as_str()).collect::<Vec<_>>(), ["B", "A"]);
        let (b, a) = (&packs[0], &packs[1]);
        assert_eq!(
            (b.jobs, b.done, b.behind, b.most, b.average),
            (2, 0, 1, Some(5), Some(50))
        );
        assert_eq!(
            (a.jobs, a.done, a.behind, a.most, a.average),
            (2, 2, 0, Some(2), Some(5))
        );
    }
}
