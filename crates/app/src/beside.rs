//! Two plans beside each other.

use std::collections::BTreeMap;

use jiff::civil::DateTime;

use crate::SeasonPlan;
use crate::driving::{DrivingJob, driving};
use crate::season::ending_told;

/// One of two plans.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Side {
    /// When the aircraft stands complete; nothing if it found no plan.
    pub complete: Option<DateTime>,
    /// Days from then to the gate date.
    pub margin: Option<i64>,
    /// How sure it is, in words.
    pub sure: String,
    /// How many jobs it has.
    pub jobs: usize,
    /// The jobs that set its date, in order.
    pub driving: Vec<DrivingJob>,
}

/// Why it matters that a job moves, the gravest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Matters {
    /// It is what must be done by the gate date: that the aircraft stands complete.
    Gate,
    /// It is one of the jobs that set the date.
    SetsDate,
    /// It is a firm's, who has to be told.
    Firm,
    /// It is a job like any other.
    Work,
}

impl Matters {
    /// As people say it; nothing for a job like any other.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Gate => "the gate",
            Self::SetsDate => "sets the date",
            Self::Firm => "a firm",
            Self::Work => "",
        }
    }

    /// Why a job matters that sets the date or does not.
    pub(crate) fn of(job: &planner::Job, sets_date: bool) -> Self {
        use planner::JobKind;
        match job.kind {
            JobKind::Complete => Self::Gate,
            _ if sets_date => Self::SetsDate,
            JobKind::Despatch | JobKind::AtFirm | JobKind::Return => Self::Firm,
            JobKind::Remove
            | JobKind::Refit
            | JobKind::Check
            | JobKind::Step(_)
            | JobKind::Wait
            | JobKind::Begin => match job.lasting {
                planner::Lasting::FirmHere(_) => Self::Firm,
                _ => Self::Work,
            },
        }
    }
}

/// A job that begins at another time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MovedJob {
    /// Its name in the plan.
    pub job: String,
    /// What is done.
    pub name: String,
    /// Why it matters.
    pub matters: Matters,
    /// When it begins in either.
    pub begins: (DateTime, DateTime),
    /// When it ends in either.
    pub ends: (DateTime, DateTime),
    /// By how many days it begins later in the second.
    pub days: i32,
    /// Who does it in either, where that differs.
    pub people: Option<(String, String)>,
}

impl BesideEachOther {
    /// How many jobs lie at another time, and how many others do at the same time.
    pub fn moves(&self) -> (usize, usize) {
        let moves = self.moved.iter().filter(|job| job.moves()).count();
        (moves, self.moved.len() - moves)
    }
}

impl MovedJob {
    /// Whether it lies at another time; if not, it is done by others at the same time.
    pub fn moves(&self) -> bool {
        self.begins.0 != self.begins.1 || self.ends.0 != self.ends.1
    }
}

/// Two plans, and what differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BesideEachOther {
    /// The first.
    pub one: Side,
    /// The second.
    pub other: Side,
    /// Days by which the second is complete later.
    pub days: Option<i32>,
    /// Jobs that begin or end at another time or are done by others: first what sets the date,
    /// then what firms have to be told, and of these the furthest moved first; last those that
    /// others do at the same time.
    pub moved: Vec<MovedJob>,
    /// Jobs that only the first has.
    pub only_one: Vec<(String, String)>,
    /// Jobs that only the second has.
    pub only_other: Vec<(String, String)>,
    /// How many jobs lie alike.
    pub alike: usize,
}

type Placed<'a> = BTreeMap<&'a str, (&'a planner::Job, &'a planner::PlannedJob)>;

fn placed(planned: &SeasonPlan) -> Placed<'_> {
    let jobs =
        planned.plan.iter().flat_map(|plan| plan.jobs.iter().zip(&planned.draft.jobs));
    jobs.filter(|(_, job)| job.kind != planner::JobKind::Begin)
        .map(|(at, job)| (at.key.0.as_str(), (job, at)))
        .collect()
}

fn side(planned: &SeasonPlan) -> Side {
    Side {
        complete: planned.plan.as_ref().map(|plan| plan.complete),
        margin: planned.plan.as_ref().map(|plan| plan.margin_days),
        sure: ending_told(planned).0,
        jobs: placed(planned).len().saturating_sub(1),
        driving: driving(planned),
    }
}

/// Holds two plans against each other.
pub fn beside(one: &SeasonPlan, other: &SeasonPlan) -> BesideEachOther {
    let (first, second) = (placed(one), placed(other));
    let mut moved = Vec::new();
    let mut alike = 0;
    for (key, (job, was)) in &first {
        let Some((_, is)) = second.get(key) else { continue };
        let people = |at: &planner::PlannedJob| {
            let names = at.people.iter().map(|(person, _)| person.to_string());
            names.collect::<Vec<_>>().join(", ")
        };
        let who = (people(was), people(is));
        if (was.start, was.finish) == (is.start, is.finish) && who.0 == who.1 {
            alike += 1;
            continue;
        }
        moved.push(MovedJob {
            job: (*key).to_owned(),
            name: job.name.clone(),
            matters: Matters::of(job, was.driving || is.driving),
            begins: (was.start, is.start),
            ends: (was.finish, is.finish),
            days: (is.start.date() - was.start.date()).get_days(),
            people: (who.0 != who.1).then_some(who),
        });
    }
    let far = |job: &MovedJob| {
        let begins = job.begins.1.duration_since(job.begins.0).abs();
        begins.max(job.ends.1.duration_since(job.ends.0).abs())
    };
    moved.sort_by(|a, b| {
        let others = |job: &MovedJob| !job.moves();
        (others(a), a.matters, far(b), &a.job).cmp(&(
            others(b),
            b.matters,
            far(a),
            &b.job,
        ))
    });
    let only = |these: &Placed<'_>, those: &Placed<'_>| {
        let lone = these.iter().filter(|(key, _)| !those.contains_key(*key));
        lone.map(|(key, (job, _))| ((*key).to_owned(), job.name.clone())).collect()
    };
    let complete = |side: &Side| side.complete.map(DateTime::date);
    let (one, other) = (side(one), side(other));
    let days = complete(&one).zip(complete(&other)).map(|(a, b)| (b - a).get_days());
    BesideEachOther {
        days,
        moved,
        only_one: only(&first, &second),
        only_other: only(&second, &first),
        alike,
        one,
        other,
    }
}
