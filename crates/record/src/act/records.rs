//! Acts about copies of records: attachments and paper.

use jiff::civil::Date;

use super::RecordClass;

/// Discards an attachment or a copy on paper whose time is over. Entries are never
/// discarded.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Discard {
    /// The attachment by its digest, or the copy by its name.
    pub record: String,
    /// What class of records it is.
    pub class: RecordClass,
    /// The day of the work that it records.
    pub made: Date,
    /// Why it is not kept any longer.
    pub reason: String,
    /// How it is destroyed, or to whom it goes.
    pub how: String,
}
