//! Acts of the programme as a whole: letters, directives, modifications, origins, samples,
//! what is due in service, money.

use airframe::ItemId;
use jiff::civil::Date;
use quantity::Money;

use super::{DirectiveState, LifeUnit, MoneyKind, Origin, Verdict};
use crate::{
    DirectiveId, DutyId, JobKey, LetterId, ModificationId, PackId, SampleId, SeasonId,
};

/// Files a letter to or from the authority, an owner, a designer.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Letter {
    /// The letter's name in the programme.
    pub letter: LetterId,
    /// With whom.
    pub with: String,
    /// It was sent, not received.
    pub sent: bool,
    /// Its date.
    pub on: Date,
    /// Its own reference.
    pub reference: String,
    /// What it says, in short.
    pub subject: String,
    /// The letter that it answers.
    pub answers: Option<LetterId>,
    /// By when an answer is due.
    pub due: Option<Date>,
}

/// Says how a directive, or what counts like one, stands for this aircraft.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Directive {
    /// The directive's name in the programme.
    pub directive: DirectiveId,
    /// Who issued it, its number and revision.
    pub source: String,
    /// What it asks for.
    pub subject: String,
    /// How it stands.
    pub state: DirectiveState,
    /// How it was met, or why it does not apply.
    pub method: Option<String>,
    /// The card on which it was met.
    pub job: Option<JobKey>,
    /// By when it is due, or due again.
    pub due: Option<Date>,
}

/// Records a modification or repair that changes the design.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Modification {
    /// Its name in the programme.
    pub modification: ModificationId,
    /// The item that it changes.
    pub item: ItemId,
    /// Where on it, and what changed: dimensions, material, what is left of it.
    pub what: String,
    /// The data that it follows, with their revision.
    pub data: String,
    /// Who approved it, and by which reference.
    pub approval: String,
    /// The card on which it was done.
    pub job: JobKey,
}

/// Says where an item comes from.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Provenance {
    /// The item.
    pub item: ItemId,
    /// Where it comes from.
    pub origin: Origin,
    /// What shows that: a plate, a drawing, a photograph, a published source.
    pub evidence: String,
}

/// Sets up a sample of structure to be looked at for all of it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Sample {
    /// The sample's name in the programme.
    pub sample: SampleId,
    /// What it stands for: all rivets of a lap, all ribs of a wing.
    pub of: String,
    /// How many there are of them.
    pub all: u32,
    /// How many are to be looked at.
    pub size: u32,
    /// The data by which the size was chosen.
    pub basis: String,
}

/// Records a look at one of a sample.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Sampled {
    /// The sample.
    pub sample: SampleId,
    /// Which one.
    pub which: String,
    /// What came out. One that fails widens the sample to all.
    pub verdict: Verdict,
    /// The card or report.
    pub reference: String,
}

/// Sets up something that is due in service again and again.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Duty {
    /// The duty's name in the programme.
    pub duty: DutyId,
    /// What is to be done.
    pub what: String,
    /// The item on which it is done.
    pub item: Option<ItemId>,
    /// After how much.
    pub every: f64,
    /// Of what.
    pub unit: LifeUnit,
    /// Where that comes from.
    pub source: String,
}

/// Records that it was done.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct DutyDone {
    /// Which.
    pub duty: DutyId,
    /// The card on which it was done.
    pub job: JobKey,
}

/// States what the aircraft had flown, run or landed before the record began. A later
/// statement takes the place of an earlier one.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Total {
    /// Of what.
    pub unit: LifeUnit,
    /// How much, by the worst that can be read from what there is.
    pub amount: f64,
    /// What that rests on: logs, other records, the aircraft itself.
    pub basis: String,
    /// How sure that is.
    pub confidence: String,
}

/// Counts money for a pack.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Spend {
    /// The pack.
    pub pack: PackId,
    /// The season.
    pub season: SeasonId,
    /// Whether it is estimated, committed or paid.
    pub kind: MoneyKind,
    /// How much, in the programme's currency; less than nothing takes back.
    pub amount: Money,
    /// For what.
    pub what: String,
}
