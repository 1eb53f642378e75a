//! Plans that were adopted.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{Act, Adopt, DatedJob, Power, Stamp};
use crate::{JobKey, Programme, RuleKey, SeasonId};

/// The plans that people work by.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Plans {
    /// By season: the one that was adopted last.
    pub adopted: BTreeMap<SeasonId, Adopted>,
}

/// A plan that was adopted.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Adopted {
    /// The plan.
    pub plan: Adopt,
    /// By whom and when it was adopted.
    pub mark: Mark,
    /// How many were adopted for the season before it.
    pub before: u32,
}

impl Adopted {
    /// Its jobs, by name.
    pub fn jobs(&self) -> BTreeMap<&JobKey, &DatedJob> {
        self.plan.jobs.iter().map(|job| (&job.job, job)).collect()
    }
}

impl Judge<'_> {
    pub(super) fn adopt(&mut self, act: &Adopt) {
        let Adopt {
            season,
            complete: _,
            earliest: _,
            reason,
            problem,
            engine,
            seed: _,
            jobs,
        } = act;
        self.power(Power::Plan, None);
        self.season(season);
        self.all_stated(&[("reason", reason), ("problem", problem), ("engine", engine)]);
        self.hold(
            !jobs.is_empty(),
            RuleKey::Stated,
            || format!("the plan of {season} has no job"),
            "adopt a plan that was made of the season",
        );
        let mut names = BTreeSet::new();
        for job in jobs {
            if !names.insert(&job.job) {
                self.taken("planned job", &job.job);
            }
            self.hold(
                job.from <= job.until,
                RuleKey::Stated,
                || format!("{} ends before it begins", job.job),
                "give its dates in order",
            );
            for person in &job.people {
                let people = &self.programme.people;
                self.known(people, person);
            }
        }
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let Act::Adopt(plan) = act else { return };
    let plans = Arc::make_mut(&mut programme.shop.plans);
    let before = plans.adopted.get(&plan.season).map_or(0, |adopted| adopted.before + 1);
    let adopted = Adopted { plan: plan.clone(), mark: Mark::of(stamp), before };
    plans.adopted.insert(plan.season.clone(), adopted);
}
