//! Acts about parts: from removal to refit.

use airframe::ItemId;
use jiff::civil::Date;

use super::{LifeUnit, Medium, PartClass, ScrapReason};
use crate::{FindingId, FirmId, JobKey, PlaceId};

/// Tags a part that came off. What is not known of it is said to be unknown; it counts as
/// unserviceable until somebody entitled to says otherwise.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Tag {
    /// The part.
    pub item: ItemId,
    /// The card on which it came off.
    pub job: Option<JobKey>,
    /// Where it was fitted: frame, station, side.
    pub location: String,
    /// Which way round it was.
    pub orientation: Option<String>,
    /// Shims, washers and packing, with their places.
    pub shims: Option<String>,
    /// Its photograph, by digest or name.
    pub photograph: Option<String>,
    /// Hours, landings or cycles in service, or that they are not known.
    pub service: String,
    /// How it is preserved.
    pub preservation: String,
    /// What is wrong with it, or that nothing is known to be.
    pub defects: String,
    /// What it was exposed to: salt water, heat, shock.
    pub exposure: Option<String>,
    /// It comes from an aircraft that had an accident.
    pub accident: bool,
    /// How a part of limited life is kept from going back unseen.
    pub control: Option<String>,
    /// Where it is put.
    pub place: PlaceId,
}

/// Says where a part is now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Move {
    /// The part.
    pub item: ItemId,
    /// Where it is.
    pub place: PlaceId,
}

/// Says what class a part is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClassPart {
    /// The part.
    pub item: ItemId,
    /// Its class.
    pub class: PartClass,
    /// On what that rests: the card, certificate or inspection.
    pub basis: String,
}

/// Sends a part to a firm.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Despatch {
    /// The part.
    pub item: ItemId,
    /// The firm.
    pub firm: FirmId,
    /// The order.
    pub order: String,
    /// What is to be done, and to which standard with its revision.
    pub scope: String,
    /// The release document that must come back with it.
    pub document: String,
    /// When it is due back.
    pub due: Date,
    /// How it is preserved on the way.
    pub preservation: String,
    /// Who carries it.
    pub carrier: String,
    /// What is dangerous about it on the road, if anything is.
    pub dangerous: Option<Medium>,
    /// The declaration that goes with dangerous goods.
    pub declaration: Option<String>,
}

/// Asks a firm where a part is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chase {
    /// The part.
    pub item: ItemId,
    /// What the firm said.
    pub answer: String,
    /// The new date, if it named one.
    pub due: Option<Date>,
}

/// Takes a part in from a firm. It waits for its receiving check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Receive {
    /// The part.
    pub item: ItemId,
    /// The state of packing, plugs and caps.
    pub packing: String,
    /// Where it is put.
    pub place: PlaceId,
}

/// Accepts a part after its receiving check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accept {
    /// The part.
    pub item: ItemId,
    /// The document that came with it.
    pub certificate: Certificate,
    /// What was done, held against what was ordered.
    pub done: String,
    /// All that was ordered was done.
    pub complete: bool,
}

/// A release document, as it is read and checked. It is no leave to fit the part.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Certificate {
    /// Its form and number.
    pub number: String,
    /// The one status word in it: overhauled, repaired, tested, new.
    pub status: String,
    /// The serial number in it.
    pub serial: Option<String>,
    /// The data that the work followed.
    pub data: String,
    /// The revision of those data.
    pub revision: Option<String>,
}

/// Puts a part into quarantine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quarantine {
    /// The part.
    pub item: ItemId,
    /// Why.
    pub reason: String,
}

/// Releases a part from quarantine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Release {
    /// The part.
    pub item: ItemId,
    /// What was found out, and where it stands.
    pub basis: String,
}

/// Writes a part off. It never comes back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scrap {
    /// The part.
    pub item: ItemId,
    /// Why.
    pub reason: ScrapReason,
    /// How it was made unusable, or where it is kept for display only.
    pub disposal: String,
}

/// Takes a part, tagged when it came off, from one assembly or aircraft for another: one
/// act on both.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rob {
    /// The part.
    pub item: ItemId,
    /// From where: an aircraft, or an assembly that is complete.
    pub donor: String,
    /// What it goes into.
    pub recipient: ItemId,
    /// Why there is no other way.
    pub reason: String,
    /// The finding that the donor gets for what it lacks now.
    pub finding: FindingId,
    /// The item of the donor that lacks it.
    pub lacking: ItemId,
    /// Its history: hours, repairs, events, searched and stated.
    pub history: String,
}

/// Limits the life of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// The part.
    pub item: ItemId,
    /// How much it may have used at most.
    pub limit: f64,
    /// What is counted.
    pub unit: LifeUnit,
    /// How much it has used; nothing if that is not known.
    pub used: Option<f64>,
    /// Where limit and use come from.
    pub basis: String,
}

/// Adds to the life that parts have used.
#[derive(Debug, Clone, PartialEq)]
pub struct Use {
    /// The parts; none means every part that is fitted.
    pub items: Vec<ItemId>,
    /// How much.
    pub amount: f64,
    /// Of what.
    pub unit: LifeUnit,
    /// What it was: a flight, a taxi run, an engine run.
    pub what: String,
    /// On which day.
    pub on: Date,
}

/// Fits a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fit {
    /// The part.
    pub item: ItemId,
    /// The card on which it is fitted.
    pub job: JobKey,
    /// The installer looked at it and at its papers.
    pub checked: bool,
}
