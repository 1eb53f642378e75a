//! Plans that people work by: adopted by signature, and compared with what is planned now.

use std::collections::BTreeSet;
use std::fmt::Write;

use jiff::civil::DateTime;
use planner::{JobKind, Plan};
use record::act::{Adopt, DatedJob};
use record::{Act, JobKey, Programme};

use crate::AppError;
use crate::beside::Matters;
use crate::counting::counted;
use crate::season::{Ending, SeasonPlan};

/// How a plan differs from the one that was adopted before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moves {
    /// When the aircraft stood complete, and when it does now.
    pub complete: (DateTime, DateTime),
    /// Jobs that begin on another day: first what sets the date, then what firms have to be
    /// told, and of these the furthest moved first.
    pub moved: Vec<OtherDay>,
    /// Jobs that were not in it.
    pub new: Vec<JobKey>,
    /// Jobs that are no longer there.
    pub gone: Vec<JobKey>,
}

/// A job that begins on another day than by the adopted plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OtherDay {
    /// Its name in the plan.
    pub job: JobKey,
    /// What is done.
    pub name: String,
    /// Why it matters.
    pub matters: Matters,
    /// When it begins by the adopted plan, and when it does now.
    pub begins: (DateTime, DateTime),
}

impl OtherDay {
    /// By how many days it begins later.
    pub fn days(&self) -> i32 {
        (self.begins.1.date() - self.begins.0.date()).get_days()
    }
}

/// How a plan differs from the adopted one; nothing if none was adopted or none was found.
pub fn moves(programme: &Programme, planned: &SeasonPlan) -> Option<Moves> {
    let plan = planned.plan.as_ref()?;
    let season = &planned.draft.season.id;
    let adopted = programme.shop.plans.adopted.get(season)?;
    let before = adopted.jobs();
    let now: BTreeSet<&JobKey> = plan.jobs.iter().map(|job| &job.key).collect();
    let mut moved = Vec::new();
    let mut new = Vec::new();
    let jobs = plan.jobs.iter().zip(&planned.draft.jobs);
    for (at, job) in jobs.filter(|(at, _)| !at.done) {
        match before.get(&at.key) {
            // That the season begins is no job, and no plan that is adopted has it.
            None if job.kind == JobKind::Begin => {}
            None => new.push(at.key.clone()),
            Some(was) if was.from.date() != at.start.date() => moved.push(OtherDay {
                job: at.key.clone(),
                name: job.name.clone(),
                matters: Matters::of(job, at.driving),
                begins: (was.from, at.start),
            }),
            Some(_) => {}
        }
    }
    let far = |one: &OtherDay| one.begins.1.duration_since(one.begins.0).abs();
    moved.sort_by(|a, b| (a.matters, far(b), &a.job).cmp(&(b.matters, far(a), &b.job)));
    let gone = before.keys().filter(|key| !now.contains(*key)).map(|key| (*key).clone());
    let complete = (adopted.plan.complete, plan.complete);
    Some(Moves { complete, moved, new, gone: gone.collect() })
}

impl Moves {
    /// As lines for people.
    pub fn text(&self) -> String {
        let mut text = String::from("\nBeside the adopted plan\n");
        let (was, is) = self.complete;
        let days = (is.date() - was.date()).get_days();
        let many = counted(days.unsigned_abs() as usize, "day", "days");
        let words = match days {
            0 => "complete on the same day".to_owned(),
            1.. => format!("complete {many} later, on {}", is.date()),
            _ => format!("complete {many} earlier, on {}", is.date()),
        };
        let begin = counted(self.moved.len(), "job begins", "jobs begin");
        let _ = writeln!(text, "  {words}; {begin} on another day");
        for OtherDay { job, begins: (was, is), matters, name: _ } in
            self.moved.iter().take(SHOWN)
        {
            let word = matters.word();
            let why = if word.is_empty() { String::new() } else { format!(" ({word})") };
            let _ =
                writeln!(text, "    {job}: {} instead of {}{why}", is.date(), was.date());
        }
        if self.moved.len() > SHOWN {
            let _ = writeln!(text, "    and {} more", self.moved.len() - SHOWN);
        }
        for (what, keys) in [("new", &self.new), ("no longer planned", &self.gone)] {
            if !keys.is_empty() {
                let some: Vec<String> =
                    keys.iter().take(SHOWN).map(ToString::to_string).collect();
                let more = if keys.len() > SHOWN { ", ..." } else { "" };
                let _ =
                    writeln!(text, "  {} {what}: {}{more}", keys.len(), some.join(", "));
            }
        }
        text
    }
}

/// How many jobs of a kind are named.
const SHOWN: usize = 12;

/// The act that adopts a plan.
///
/// # Errors
/// When there is no plan to adopt.
pub fn adoption(
    planned: &SeasonPlan,
    reason: &str,
    engine: &str,
) -> Result<Act, AppError> {
    let Some(plan) = &planned.plan else {
        return Err(AppError::Unknown("there is no plan to adopt".to_owned()));
    };
    let earliest = match planned.ending {
        Ending::Optimal => Some(plan.complete),
        Ending::Feasible { earliest, .. } => Some(earliest),
        Ending::Infeasible(_) | Ending::Nothing { .. } => None,
    };
    let adopt = Adopt {
        season: planned.draft.season.id.clone(),
        complete: plan.complete,
        earliest,
        reason: reason.to_owned(),
        problem: planned.problem.clone(),
        engine: engine.to_owned(),
        seed: planned.seed,
        jobs: dated(planned, plan),
    };
    Ok(adopt.into())
}

fn dated(planned: &SeasonPlan, plan: &Plan) -> Vec<DatedJob> {
    let jobs = plan.jobs.iter().zip(&planned.draft.jobs);
    let jobs = jobs.filter(|(_, job)| job.kind != JobKind::Begin);
    jobs.map(|(planned, _)| DatedJob {
        job: planned.key.clone(),
        from: planned.start,
        until: planned.finish,
        people: planned.people.iter().map(|(person, _)| person.clone()).collect(),
    })
    .collect()
}
