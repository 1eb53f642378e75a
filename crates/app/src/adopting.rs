//! Plans that people work by: adopted by signature, and compared with what is planned now.

use std::collections::BTreeSet;
use std::fmt::Write;

use jiff::civil::DateTime;
use planner::{JobKind, Plan};
use record::act::{Adopt, DatedJob};
use record::{Act, JobKey, Programme};

use crate::AppError;
use crate::season::{Ending, SeasonPlan};

/// How a plan differs from the one that was adopted before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moves {
    /// When the aircraft stood complete, and when it does now.
    pub complete: (DateTime, DateTime),
    /// Jobs that begin on another day, with when they began and begin: the furthest moved
    /// first.
    pub moved: Vec<(JobKey, DateTime, DateTime)>,
    /// Jobs that were not in it.
    pub new: Vec<JobKey>,
    /// Jobs that are no longer there.
    pub gone: Vec<JobKey>,
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
    for job in plan.jobs.iter().filter(|job| !job.done) {
        match before.get(&job.key) {
            None => new.push(job.key.clone()),
            Some(was) if was.from.date() != job.start.date() => {
                moved.push((job.key.clone(), was.from, job.start));
            }
            Some(_) => {}
        }
    }
    let far = |from: DateTime, to: DateTime| to.duration_since(from).abs();
    moved.sort_by_key(|(key, was, is)| (std::cmp::Reverse(far(*was, *is)), key.clone()));
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
        let words = match days {
            0 => "complete on the same day".to_owned(),
            1.. => format!("complete {days} days later, on {}", is.date()),
            _ => format!("complete {} days earlier, on {}", -days, is.date()),
        };
        let _ =
            writeln!(text, "  {words}; {} jobs begin on another day", self.moved.len());
        for (key, was, is) in self.moved.iter().take(SHOWN) {
            let _ = writeln!(text, "    {key}: {} instead of {}", is.date(), was.date());
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
