//! Acts about job cards: the work on the bench, step by step.

use airframe::{ConnectionId, ItemId};
use jiff::civil::Date;
use quantity::Work;

use super::attached::FileDigest;
use super::{StepWork, Verdict};
use crate::{FindingId, JobKey, PackId, PersonId, QueryId, StepId, ToolId};

/// Issues the card of a job: from then on work is signed on it.
#[derive(Debug, Clone, PartialEq)]
pub struct IssueCard {
    /// The job.
    pub job: JobKey,
    /// What is done, as the card heads it.
    pub title: String,
    /// The item on which it is done.
    pub item: Option<ItemId>,
    /// The pack that it belongs to.
    pub pack: Option<PackId>,
    /// Its steps, in order.
    pub steps: Vec<CardStep>,
}

/// One step of a card.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct CardStep {
    /// Its name on the card.
    pub id: StepId,
    /// What is to be done.
    pub text: String,
    /// What kind of work it is.
    pub work: StepWork,
    /// The document that it follows.
    pub data: Option<String>,
    /// The revision of that document.
    pub revision: Option<String>,
    /// A mistake in it could endanger the aircraft.
    pub critical: bool,
    /// It must be inspected before the next step.
    pub inspected: bool,
    /// It must be inspected twice, the second time by somebody who had no part in it.
    pub independent: bool,
    /// What is measured, and between which limits it must lie.
    pub limits: Vec<Limit>,
    /// Connections that are whole again once it is done.
    pub makes: Vec<ConnectionId>,
}

/// What a measured value must lie between, both ends allowed.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Limit {
    /// What is measured.
    pub name: String,
    /// The least.
    pub low: Option<f64>,
    /// The greatest.
    pub high: Option<f64>,
    /// The unit, as it is written.
    pub unit: String,
}

/// A measured value.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Reading {
    /// What was measured: the name of a limit.
    pub name: String,
    /// The value, in the unit of the limit.
    pub value: f64,
    /// The instrument.
    pub instrument: Option<ToolId>,
}

/// Adds a step to a card, on an extra sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct AddStep {
    /// The card.
    pub job: JobKey,
    /// The step that it follows; the last one if none is named.
    pub after: Option<StepId>,
    /// The step.
    pub step: CardStep,
    /// Why.
    pub reason: String,
}

/// Begins or resumes work on a card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Start {
    /// The card.
    pub job: JobKey,
}

/// Leaves a card for now, to be resumed by the same person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pause {
    /// The card.
    pub job: JobKey,
    /// How it stands.
    pub left: String,
}

/// Offers a card to the next person. It is theirs once they take it over.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct HandOver {
    /// The card.
    pub job: JobKey,
    /// Who takes it.
    pub to: PersonId,
    /// What is done.
    pub done: String,
    /// What comes next.
    pub next: String,
    /// What is loose or only finger-tight; `nothing` if nothing is.
    pub loose: String,
    /// What is off and where it lies; `nothing` if nothing is.
    pub off: String,
    /// What is dangerous; `nothing` if nothing is.
    pub hazards: String,
    /// Tools that stay at the job.
    pub tools: Vec<ToolId>,
}

/// Takes a card that was handed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakeOver {
    /// The card.
    pub job: JobKey,
    /// Both talked about it at the job.
    pub spoken: bool,
}

/// Signs that one step is done, and only that.
#[derive(Debug, Clone, PartialEq)]
pub struct SignStep {
    /// The card.
    pub job: JobKey,
    /// The step.
    pub step: StepId,
    /// What was measured.
    pub readings: Vec<Reading>,
    /// Who supervised, where the signer works under supervision.
    pub supervisor: Option<PersonId>,
    /// What else there is to say.
    pub note: Option<String>,
    /// Photographs of it, each by the digest under which it was attached.
    pub photographs: Vec<FileDigest>,
}

/// Signs for the step of somebody who worked under supervision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Countersign {
    /// The card.
    pub job: JobKey,
    /// The step.
    pub step: StepId,
}

/// Inspects a step: the first time or, where the card asks for it, the second.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inspect {
    /// The card.
    pub job: JobKey,
    /// The step.
    pub step: StepId,
    /// What was looked at, item by item: assembly, locking, range, sense.
    pub checked: Vec<String>,
    /// What came out.
    pub verdict: Verdict,
    /// The finding that a failed inspection raised.
    pub finding: Option<FindingId>,
    /// Why the same person inspects twice: what could not be foreseen.
    pub alone: Option<String>,
    /// Who allowed that.
    pub allowed_by: Option<PersonId>,
}

/// Says that steps which were signed were disturbed: they are done and inspected again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Disturb {
    /// The card.
    pub job: JobKey,
    /// The steps.
    pub steps: Vec<StepId>,
    /// What happened.
    pub reason: String,
}

/// Asks the author of a step's data about it. The step waits for the answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Query {
    /// The query's name in the programme.
    pub query: QueryId,
    /// The card.
    pub job: JobKey,
    /// The step.
    pub step: StepId,
    /// Who is asked.
    pub to: String,
    /// What is wrong or not clear.
    pub question: String,
}

/// Answers a query.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// Which.
    pub query: QueryId,
    /// What was answered.
    pub answer: String,
    /// The letter, amendment or concession that says so.
    pub reference: String,
    /// Nobody answered, and engineering decided.
    pub conceded: bool,
}

/// States hours that were not counted while the work went on.
#[derive(Debug, Clone, PartialEq)]
pub struct Hours {
    /// The card.
    pub job: JobKey,
    /// Who worked.
    pub person: PersonId,
    /// On which day.
    pub on: Date,
    /// How long.
    pub hours: Work,
    /// Why it was not counted.
    pub reason: String,
}

/// Certifies that a card is complete: all of its steps, their inspections, and the place
/// clear of tools and loose parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finish {
    /// The card.
    pub job: JobKey,
    /// The place was looked over and is clear of tools, rags and loose parts.
    pub clear: bool,
}

/// Opens a card again that was finished.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reopen {
    /// The card.
    pub job: JobKey,
    /// Steps to be done again; none means that only steps to be added are missing.
    pub steps: Vec<StepId>,
    /// Why.
    pub reason: String,
}
