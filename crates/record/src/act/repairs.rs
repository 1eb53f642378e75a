//! Acts about repairs: what they left, what was put in place of a material, what was made
//! in-house.

use airframe::ItemId;

use super::{Limit, Reading};
use crate::{BatchId, DutyId, FindingId, JobKey, RepairId, ReportId, SubstitutionId};

/// Enters a repair into the register of the aircraft.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Repair {
    /// The repair's name in the programme.
    pub repair: RepairId,
    /// The finding that it puts right.
    pub finding: FindingId,
    /// Where: frame, stringer, station, side.
    pub location: String,
    /// What was done.
    pub what: String,
    /// Its dimensions.
    pub dimensions: String,
    /// Material was taken away: blended, reamed, cut out.
    pub removed: bool,
    /// The least that must be left of it, place by place.
    pub limits: Vec<Limit>,
    /// What is left of it.
    pub remains: Vec<Reading>,
    /// The data that it follows.
    pub data: String,
    /// Their revision.
    pub revision: Option<String>,
    /// It is a major one.
    pub major: bool,
    /// The criterion by which it is major or not.
    pub criterion: String,
    /// Who approved it, and by which reference.
    pub approval: String,
    /// The card on which it was done.
    pub job: JobKey,
    /// The inspection that it asks for again and again.
    pub duty: Option<DutyId>,
}

/// Puts one material in place of another.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Substitute {
    /// The substitution's name in the programme.
    pub substitution: SubstitutionId,
    /// The item in which it is used.
    pub item: ItemId,
    /// What the drawing asks for, with its specification.
    pub original: String,
    /// What is used instead, with its specification.
    pub proposed: String,
    /// How their strengths compare.
    pub strength: String,
    /// How their thicknesses or sizes compare.
    pub thickness: String,
    /// How their heat treatments compare.
    pub treatment: String,
    /// How they stand against corrosion, and against what they touch.
    pub corrosion: String,
    /// Why the original is not used.
    pub reason: String,
    /// The data that show it.
    pub data: String,
    /// Who approved it, and by which reference.
    pub approval: String,
}

/// Records a part that was made in-house.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Make {
    /// The item.
    pub item: ItemId,
    /// The drawing or the sample that it was made to.
    pub drawing: String,
    /// The revision of the drawing; for a sample, who accepted it as one.
    pub revision: Option<String>,
    /// Batches of the material, drawn for the card.
    pub batches: Vec<BatchId>,
    /// Heat and surface treatment, with where it was done.
    pub treatment: String,
    /// How the first one was held against the drawing, and by whom.
    pub first: String,
    /// How it is marked.
    pub mark: String,
    /// The report of its examination, if it was examined.
    pub report: Option<ReportId>,
    /// The card on which it was made.
    pub job: JobKey,
}
