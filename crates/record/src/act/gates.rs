//! Acts about gates and evidence, and about entries themselves.

use jiff::civil::Date;

use super::EvidenceKind;
use crate::{GateId, RequirementId};

/// Gives evidence for a requirement of a gate.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Evidence {
    /// The requirement.
    pub requirement: RequirementId,
    /// What kind of evidence it is.
    pub kind: EvidenceKind,
    /// Where it is: a card, a document with its number, an attachment by digest.
    pub reference: String,
    /// What it shows.
    pub shows: String,
    /// The last day on which it counts.
    pub until: Option<Date>,
}

/// Opens a gate: the aircraft may do this from now on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenGate {
    /// Which.
    pub gate: GateId,
    /// Limitations, as they are printed on the release. Each finding that is carried
    /// forward must be among them.
    pub limitations: Vec<String>,
    /// The last day on which it is open.
    pub until: Option<Date>,
}

/// Shuts a gate by decision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShutGate {
    /// Which.
    pub gate: GateId,
    /// Why.
    pub reason: String,
}

/// Strikes an entry through: it stays legible and no longer counts. What it should have
/// said is entered anew.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strike {
    /// The number of the entry.
    pub entry: u64,
    /// Why.
    pub reason: String,
}

/// Says that entries are dated ahead of time, because a clock was wrong, and that time counts
/// from now. They stand as they are and stay legible.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RightClock {
    /// Which clock was wrong, since when, and by how much.
    pub reason: String,
}

/// Rebuilds what a lost record said, as well as it can be known.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Reconstruct {
    /// What was lost: which record, of what, from when to when.
    pub lost: String,
    /// What it must have said.
    pub content: String,
    /// What that rests on: other records, people, the aircraft itself.
    pub evidence: Vec<String>,
    /// How sure that is, in words, and what cannot be known.
    pub confidence: String,
}
