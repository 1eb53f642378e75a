//! How long records are kept.
//!
//! The entries of the ledger are kept for ever, whatever stands here. This is about copies:
//! attachments, and paper. What a programme does not say is kept for the life of the
//! aircraft.

use jiff::civil::Date;

use crate::Programme;
use crate::act::RecordClass;

/// How long a class of records is kept.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Retention {
    /// Which.
    pub id: RecordClass,
    /// For how many years after the work; nothing for the life of the aircraft.
    pub years: Option<u32>,
    /// The publication or approval that says so, as it is to be printed.
    pub citation: Option<String>,
    /// What else there is to say.
    pub note: Option<String>,
}

impl crate::Named for Retention {
    type Name = RecordClass;
    const NOUN: &'static str = "class of records";

    fn name(&self) -> &RecordClass {
        &self.id
    }
}

/// Until when a record is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Keep {
    /// Until the end of a day.
    Until(Date),
    /// For the life of the aircraft.
    Life,
}

impl Keep {
    /// Whether it is still to be kept on a day.
    pub fn holds(self, on: Date) -> bool {
        match self {
            Self::Until(day) => on <= day,
            Self::Life => true,
        }
    }
}

impl std::fmt::Display for Keep {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Until(day) => write!(f, "until {day}"),
            Self::Life => f.write_str("for the life of the aircraft"),
        }
    }
}

impl std::fmt::Display for RecordClass {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}

impl Programme {
    /// Until when a record of a class is kept that was made on a day. A period that no
    /// calendar holds is the life of the aircraft.
    pub fn keeps(&self, class: RecordClass, made: Date) -> Keep {
        let years = self.retention.get(&class).and_then(|retention| retention.years);
        let end = years.and_then(|years| {
            let span = jiff::Span::new().try_years(years).ok()?;
            made.checked_add(span).ok()
        });
        end.map_or(Keep::Life, Keep::Until)
    }
}
