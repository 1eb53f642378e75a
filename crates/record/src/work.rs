//! Packs, jobs, and what has happened of them.

use airframe::{ItemId, StandId};
use jiff::civil::DateTime;
use quantity::Work;

use crate::{GateId, Hold, JobId, PackId, Performer, PlaceId, Reach, SeasonId};

/// Work that belongs together and is done in one season.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pack {
    /// Its name in the programme.
    pub id: PackId,
    /// What people call it.
    pub name: String,
    /// The season in which it is done; nothing while that is open.
    pub season: Option<SeasonId>,
    /// The gate for which it is needed; nothing means the season's own.
    pub gate: Option<GateId>,
    /// Items that come off for it whatever else is in it.
    pub off: Vec<ItemId>,
    /// Items that are to be exposed for it whatever else is in it.
    pub exposed: Vec<ItemId>,
}

/// A job that somebody wrote down: one that does not follow from a finding's route.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Its name in the programme.
    pub id: JobId,
    /// What is done, as a job card would head it.
    pub name: String,
    /// The pack that it belongs to.
    pub pack: PackId,
    /// The item on which it is done.
    pub item: Option<ItemId>,
    /// How that item must be got at.
    pub reach: Reach,
    /// Who does it.
    pub by: Performer,
    /// Where it is done, if it needs a place.
    pub place: Option<PlaceId>,
    /// A stand that it needs while it runs.
    pub stand: Option<StandId>,
    /// What the air must be like.
    pub conditions: Conditions,
    /// Jobs that it follows.
    pub after: Vec<JobKey>,
    /// The time between those jobs and this one.
    pub hold: Option<Hold>,
}

/// What the air must be like for a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Conditions {
    /// Warm: within a heating period, or in a heated place.
    pub warm: bool,
    /// Dry: not on a day given as wet, or in a dry place.
    pub dry: bool,
}

/// The name of any job of the plan, written or derived: `OFF:item`, `ON:item`,
/// `CHECK:check:thing`, `finding:step`, or the name of a written job.
///
/// It is a text and not a structure: people write it in actuals and in `after`, and what a
/// job derives from may change while its name stays.
#[derive(
    Debug,
    Clone,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    serde::Serialize,
    serde::Deserialize,
)]
pub struct JobKey(pub String);

/// What has happened of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Actual {
    /// Which job.
    pub job: JobKey,
    /// How far it is.
    pub state: State,
}

/// How far a job is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum State {
    /// It is being worked on.
    Started {
        /// When it started.
        at: DateTime,
        /// How much work is left, as people on the job see it; for a job that takes its
        /// time by itself or at a firm, how much elapsed time.
        left: Work,
    },
    /// It is finished.
    Done {
        /// When it started.
        from: DateTime,
        /// When it was finished.
        until: DateTime,
    },
}

impl crate::Named for Pack {
    type Name = PackId;
    const NOUN: &'static str = "pack";

    fn name(&self) -> &PackId {
        &self.id
    }
}

impl crate::Named for Job {
    type Name = JobId;
    const NOUN: &'static str = "job";

    fn name(&self) -> &JobId {
        &self.id
    }
}

impl crate::Named for Actual {
    type Name = JobKey;
    const NOUN: &'static str = "actual";

    fn name(&self) -> &JobKey {
        &self.job
    }
}

impl std::fmt::Display for JobKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}
