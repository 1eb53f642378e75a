//! Acts about findings.

use airframe::{ItemId, ZoneId};
use jiff::civil::Date;

use super::attached::{FileDigest, Spot};
use crate::{Condition, FindingId, GateId, JobKey, PackId, RouteId, SeasonId};

/// Raises a finding. Its day never moves.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Raise {
    /// The finding's name in the programme.
    pub finding: FindingId,
    /// The item on which it was found.
    pub item: ItemId,
    /// Where on it.
    pub zone: Option<ZoneId>,
    /// What was seen.
    pub what: String,
    /// What was measured, as it was written down.
    pub measured: Option<String>,
    /// The day on which it was found.
    pub found: Date,
    /// What may have caused it.
    pub cause: Option<String>,
    /// The card on which it turned up.
    pub job: Option<JobKey>,
    /// Where else to look: the other side, sister parts.
    pub also: Vec<ItemId>,
    /// Photographs of it.
    pub photographs: Vec<FileDigest>,
    /// Where it is on a drawing of the aircraft.
    pub mark: Option<Spot>,
}

/// Says how bad a finding is. Until then nobody knows, and no gate is clear of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Classify {
    /// Which.
    pub finding: FindingId,
    /// How bad it is.
    pub condition: Condition,
    /// The highest gate that the aircraft may pass with it as it stands.
    pub allows: Option<GateId>,
    /// The limit, with its source; or that there is none and who was asked.
    pub basis: String,
    /// What it could lead to.
    pub effect: Option<String>,
}

/// Says in which pack a finding is worked on, and by which route. What the survey's list says
/// of it no longer counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assign {
    /// Which.
    pub finding: FindingId,
    /// The pack; its season is the finding's.
    pub pack: PackId,
    /// The chain of jobs by which it is put right.
    pub route: RouteId,
    /// Why this way, and why then.
    pub reason: String,
}

/// Carries a finding forward, under a limitation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Defer {
    /// Which.
    pub finding: FindingId,
    /// The highest gate that the aircraft may pass meanwhile.
    pub allows: GateId,
    /// The limitation, as it is printed on every release until then.
    pub limitation: String,
    /// The season by the end of which it must be dealt with.
    pub until: SeasonId,
    /// Why it can wait, and beside which others it was weighed.
    pub reason: String,
}

/// Puts a temporary repair in place: the finding is dealt with, and a new one asks for the
/// lasting repair.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Temporary {
    /// Which.
    pub finding: FindingId,
    /// The card on which it was done.
    pub job: JobKey,
    /// What was done.
    pub what: String,
    /// The name of the finding that asks for the lasting repair.
    pub follow_up: FindingId,
    /// By when that is due.
    pub due: Option<Date>,
}

/// Records what a look at another place gave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AlsoChecked {
    /// The finding that asked for it.
    pub finding: FindingId,
    /// The item that was looked at.
    pub item: ItemId,
    /// What was seen there.
    pub result: String,
    /// The finding that it became, if it did.
    pub raised: Option<FindingId>,
}

/// Clears a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clear {
    /// Which.
    pub finding: FindingId,
    /// The card on which it was put right; nothing if it was accepted as it is.
    pub job: Option<JobKey>,
    /// Why the item is at least equal to its original condition, and by which data.
    pub statement: String,
}

/// Opens a finding again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revive {
    /// Which.
    pub finding: FindingId,
    /// Why.
    pub reason: String,
}
