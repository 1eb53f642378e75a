//! Acts about plans.

use jiff::civil::DateTime;

use crate::{JobKey, PersonId, SeasonId};

/// Adopts a plan: from now on it is the one that people work by.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Adopt {
    /// The season.
    pub season: SeasonId,
    /// When the aircraft stands complete by it.
    pub complete: DateTime,
    /// No plan that keeps the due dates as well is complete earlier; nothing if that was not
    /// proven.
    pub earliest: Option<DateTime>,
    /// Why this plan, and what of the one before it changes.
    pub reason: String,
    /// The digest of the problem that was solved.
    pub problem: String,
    /// The program that solved it, with its version.
    pub engine: String,
    /// Where its random streams began.
    pub seed: u64,
    /// The jobs with their dates.
    pub jobs: Vec<DatedJob>,
}

/// A job with its dates in a plan.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct DatedJob {
    /// The job.
    pub job: JobKey,
    /// When it begins.
    pub from: DateTime,
    /// When it is done.
    pub until: DateTime,
    /// Who is meant to do it.
    pub people: Vec<PersonId>,
}
