//! What holds up today's jobs, each reason once.
//!
//! Many jobs wait for the same thing: a cowl that is still on, a stand, somebody who is not
//! in. Told job by job it is read twenty times; told once, with all that waits for it, it says
//! what to see to first.
//!
//! Two obstacles are one reason if their kinds and words are the same. A job with several
//! reasons stands under each of them, because it begins when the last one is gone. Behind the
//! jobs that a reason holds up there may be others, which wait for those jobs to be done; they
//! count in the order, not in the number: a reason that holds up one job with ten behind it
//! comes before one that holds up three.

use std::collections::{BTreeMap, BTreeSet};

use super::{JobNow, JobToday, Today};

/// One reason for which jobs can't start.
#[derive(Debug, Clone, PartialEq)]
pub struct Held<'a> {
    /// What kind it is, in a word or two: `before it`, `part`, `stand`.
    pub kind: &'static str,
    /// What it is, as a sentence without a full stop.
    pub what: &'a str,
    /// What would clear it, as a sentence without a full stop that goes on from `cleared when`.
    pub clears: &'a str,
    /// How the job stands that must be done first, if it is one of today's.
    pub first: Option<&'a JobToday>,
    /// The jobs that it holds up, by their start.
    pub jobs: Vec<&'a JobToday>,
    /// How many of them nothing else holds up.
    pub alone: usize,
    /// How many more of today's jobs wait for those.
    pub behind: usize,
}

impl Today {
    /// The reasons for which jobs can't start, what holds up most first.
    pub fn held(&self) -> Vec<Held<'_>> {
        let mut places: BTreeMap<(&str, &str), usize> = BTreeMap::new();
        let mut all: Vec<Held<'_>> = Vec::new();
        for job in self.jobs_that(JobNow::Waits) {
            for obstacle in job.reasons() {
                let key = (obstacle.kind, obstacle.what.as_str());
                let place = *places.entry(key).or_insert_with(|| {
                    all.push(Held {
                        kind: obstacle.kind,
                        what: &obstacle.what,
                        clears: &obstacle.clears,
                        first: obstacle.after.as_deref().and_then(|key| self.job(key)),
                        jobs: Vec::new(),
                        alone: 0,
                        behind: 0,
                    });
                    all.len() - 1
                });
                all[place].jobs.push(job);
            }
        }
        let after = self.after();
        for held in &mut all {
            let alone = held.jobs.iter().filter(|job| job.reasons().count() == 1);
            held.alone = alone.count();
            held.behind = behind(&after, &held.jobs);
        }
        // Equal ones stay in the order of the jobs, which is that of the plan.
        all.sort_by_key(|held| {
            std::cmp::Reverse((held.jobs.len() + held.behind, held.jobs.len()))
        });
        all
    }

    fn job(&self, key: &str) -> Option<&JobToday> {
        self.jobs.iter().find(|job| job.job == key)
    }

    /// The waiting jobs that name a job as what must be done first.
    fn after(&self) -> BTreeMap<&str, Vec<&str>> {
        let mut after: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for job in self.jobs_that(JobNow::Waits) {
            for first in job.obstacles.iter().filter_map(|one| one.after.as_deref()) {
                after.entry(first).or_default().push(&job.job);
            }
        }
        after
    }
}

/// How many jobs wait for these, at any remove, and are none of them.
fn behind(after: &BTreeMap<&str, Vec<&str>>, jobs: &[&JobToday]) -> usize {
    let held: BTreeSet<&str> = jobs.iter().map(|job| job.job.as_str()).collect();
    let mut seen = held.clone();
    let mut next: Vec<&str> = held.iter().copied().collect();
    while let Some(job) = next.pop() {
        for &waits in after.get(job).into_iter().flatten() {
            if seen.insert(waits) {
                next.push(waits);
            }
        }
    }
    seen.len() - held.len()
}
