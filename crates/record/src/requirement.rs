//! What gates ask for.

use airframe::ItemId;

use crate::act::EvidenceKind;
use crate::{GateId, JobKey, RequirementId};

/// Something that a gate asks for, besides what every gate asks for: no finding in its
/// way, no tool out, everything that came off accounted for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Requirement {
    /// Its name in the programme.
    pub id: RequirementId,
    /// The gate.
    pub gate: GateId,
    /// What must be so.
    pub what: String,
    /// The kind of evidence that satisfies it; nothing means any kind.
    pub kind: Option<EvidenceKind>,
    /// The card whose completion is the evidence.
    pub job: Option<JobKey>,
    /// The item that must be fitted.
    pub fitted: Option<ItemId>,
    /// The condition, letter or publication that asks for it, as it is to be printed.
    pub citation: Option<String>,
}

impl crate::Named for Requirement {
    type Name = RequirementId;
    const NOUN: &'static str = "requirement";

    fn name(&self) -> &RequirementId {
        &self.id
    }
}
