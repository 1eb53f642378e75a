//! Acts about non-destructive testing and other examinations: what is asked for, and what
//! came out.

use airframe::{ItemId, ZoneId};
use jiff::civil::Date;

use super::{Level, Method, Outcome, Rank};
use crate::{BatchId, ExaminationId, FindingId, FirmId, ReportId, ToolId};

/// Asks for an examination of a part or a place.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct RequestNdt {
    /// The examination's name in the programme.
    pub examination: ExaminationId,
    /// The item that is to be examined.
    pub item: ItemId,
    /// Where on the aircraft.
    pub zone: Option<ZoneId>,
    /// Where on the item: station, frame, side, and from which datum.
    pub location: String,
    /// A drawing or sketch, by number or digest.
    pub sketch: Option<String>,
    /// The finding that asks for it.
    pub finding: Option<FindingId>,
    /// What else asks for it: a routine, a fatigue item, a directive.
    pub why: Option<String>,
    /// What the item is made of, with its heat treatment.
    pub material: String,
    /// Its form: forging, sheet, tube, casting.
    pub form: String,
    /// What is on its surface, in layers.
    pub finish: String,
    /// How thick it is where it is to be examined.
    pub thickness: String,
    /// What kind of defect is sought, and which way it would run.
    pub sought: String,
    /// The least defect that must be found.
    pub least: String,
    /// The method that is proposed.
    pub method: Method,
    /// Methods that would do as well.
    pub or: Vec<Method>,
    /// The technique sheet; nothing if one is to be developed.
    pub technique: Option<String>,
    /// The revision of the sheet.
    pub revision: Option<String>,
    /// A technique is to be developed.
    pub develop: bool,
    /// How the surface is prepared and what access is given, and by whom.
    pub preparation: String,
    /// Who restores the finish.
    pub restores: String,
    /// The standard by which it is accepted.
    pub acceptance: String,
    /// Who rules where that standard is silent.
    pub rules: String,
    /// By when the report is needed.
    pub needed_by: Date,
    /// Who closes the access again.
    pub closes: String,
    /// What is cleaned or demagnetised afterwards, and by whom.
    pub cleaning: String,
}

/// Reports an examination that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct ReportNdt {
    /// The report's name in the programme, by which evidence refers to it.
    pub report: ReportId,
    /// The examination.
    pub examination: ExaminationId,
    /// The day on which it was made.
    pub on: Date,
    /// The firm that made it, if it was an outside one.
    pub firm: Option<FirmId>,
    /// The procedure or technique sheet.
    pub procedure: String,
    /// Its revision.
    pub revision: Option<String>,
    /// The method.
    pub method: Method,
    /// Its actual parameters: frequency, probe, current, exposure, gain.
    pub parameters: String,
    /// What it was made with.
    pub equipment: Vec<Equipment>,
    /// The reference standard or image quality indicator.
    pub standard: String,
    /// What was examined.
    pub examined: String,
    /// All that was asked for was examined.
    pub whole: bool,
    /// What was not examined.
    pub missed: Vec<Missed>,
    /// What responded; none is a negative result.
    pub indications: Vec<Indication>,
    /// The least defect that would have been found.
    pub detectable: Option<String>,
    /// The standard by which it was accepted or rejected.
    pub acceptance: String,
    /// What came out.
    pub outcome: Outcome,
    /// The finding that a report raises which does not accept.
    pub finding: Option<FindingId>,
    /// Who examined.
    pub examiner: String,
    /// Their level; nothing if the method knows none.
    pub level: Option<Level>,
    /// The methods in which they are qualified.
    pub qualified_in: Vec<Method>,
    /// The certificate of qualification, or the assessment after training.
    pub qualification: String,
    /// The last day on which it is valid.
    pub qualified_until: Option<Date>,
    /// Batches of consumables that were used.
    pub batches: Vec<BatchId>,
    /// How long penetrant and developer stood, and how warm it was.
    pub dwell: Option<String>,
    /// The light by which it was looked at.
    pub lighting: Option<String>,
    /// What was done afterwards: cleaned, demagnetised.
    pub afterwards: Option<String>,
    /// The report itself, by digest or number.
    pub document: Option<String>,
}

/// An instrument of an examination, from the list of tools or by its name.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Equipment {
    /// What it is called.
    pub name: String,
    /// Its name in the list of tools, if it is ours.
    pub tool: Option<ToolId>,
    /// The last day of its calibration, if it is not ours.
    pub until: Option<Date>,
}

/// A place that was not examined.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Missed {
    /// Where.
    pub place: String,
    /// Why not.
    pub why: String,
}

/// Something that responded.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Indication {
    /// Where.
    pub place: String,
    /// How large it is.
    pub size: String,
    /// What it looks like.
    pub what: String,
    /// What it was found to be.
    pub rank: Rank,
}
