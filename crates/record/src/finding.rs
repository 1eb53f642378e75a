//! Findings: what is wrong, and what was decided about it.

use airframe::{ItemId, ZoneId};
use jiff::civil::Date;

use crate::{FindingId, GateId, PackId, PersonId, RouteId};

/// Something that the survey, or later work, found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Its name in the programme; it never changes.
    pub id: FindingId,
    /// The item on which it was found.
    pub item: ItemId,
    /// Where on it, closer than the item's zone.
    pub zone: Option<ZoneId>,
    /// What was seen.
    pub what: String,
    /// What was measured, as it was written down.
    pub measured: Option<String>,
    /// How bad it is.
    pub condition: Condition,
    /// The day on which it was found; it never moves.
    pub found: Option<Date>,
    /// Who found it.
    pub by: Option<PersonId>,
    /// A photograph, as a path within the folder.
    pub photograph: Option<String>,
    /// What was decided.
    pub disposition: Option<Disposition>,
    /// The pack that its work belongs to.
    pub pack: Option<PackId>,
}

/// How bad a finding is.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    serde::Serialize,
    serde::Deserialize,
)]
pub enum Condition {
    /// It endangers the aircraft.
    Hazard,
    /// It is outside limits.
    OutsideLimits,
    /// It is within limits, and noted.
    WithinLimits,
    /// Nobody can tell yet. It is never clear.
    Unknown,
}

impl Condition {
    /// All of them.
    pub const ALL: [Self; 4] =
        [Self::Hazard, Self::OutsideLimits, Self::WithinLimits, Self::Unknown];

    /// The words for it, as files write them.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hazard => "hazard",
            Self::OutsideLimits => "outside limits",
            Self::WithinLimits => "within limits",
            Self::Unknown => "unknown",
        }
    }
}

/// What was decided about a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Disposition {
    /// The decision.
    pub decision: Decision,
    /// The route by which it is carried out, where work is needed.
    pub route: Option<RouteId>,
    /// The highest gate that the aircraft may pass with the finding as it stands; nothing
    /// means that it may pass none until the work is done.
    pub allows: Option<GateId>,
    /// Who decided.
    pub by: Option<PersonId>,
    /// The limit or data that it rests on.
    pub basis: Option<String>,
}

/// Decisions about a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Decision {
    /// It stays as it is.
    Accept,
    /// It is blended out within limits.
    Blend,
    /// It is repaired.
    Repair,
    /// The part is replaced.
    Replace,
    /// More must be known: measure, test, strip.
    Investigate,
    /// It is dealt with when the item is next off.
    NextOff,
}

impl Decision {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Accept,
        Self::Blend,
        Self::Repair,
        Self::Replace,
        Self::Investigate,
        Self::NextOff,
    ];

    /// The words for it, as files write them.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Accept => "accept",
            Self::Blend => "blend",
            Self::Repair => "repair",
            Self::Replace => "replace",
            Self::Investigate => "investigate",
            Self::NextOff => "next off",
        }
    }
}

/// How an item must be got at for a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reach {
    /// It must be off.
    Off,
    /// It stays where it is, and what it is behind must be out of the way.
    Exposed,
    /// Nothing needs to be opened.
    AsItIs,
}

impl Reach {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Off, Self::Exposed, Self::AsItIs];

    /// The words for it, as files write them.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Exposed => "exposed",
            Self::AsItIs => "as it is",
        }
    }
}

impl crate::Named for Finding {
    type Name = FindingId;
    const NOUN: &'static str = "finding";

    fn name(&self) -> &FindingId {
        &self.id
    }
}
