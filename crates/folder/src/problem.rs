//! What is wrong with a folder.

use std::fmt;

use record::Programme;

use crate::Place;

pub use airframe::Severity;

/// One thing that is wrong, or worth a look.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where; nothing if it is about the folder as a whole.
    pub place: Option<Place>,
    /// How grave it is.
    pub severity: Severity,
    /// What is wrong and why, in a sentence without a full stop.
    pub what: String,
    /// What to do about it.
    pub hint: Option<String>,
}

/// A folder that could be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The programme in it, all of whose parts fit together.
    pub programme: Programme,
    /// What somebody should look at.
    pub warnings: Vec<Problem>,
}

/// A folder that cannot be read as it is: every error in it, at once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Report {
    /// What must be put right, in the order of the files.
    pub errors: Vec<Problem>,
    /// What somebody should look at besides.
    pub warnings: Vec<Problem>,
}

impl Problem {
    pub(crate) fn error(place: &Place, what: impl Into<String>) -> Self {
        let severity = Severity::Error;
        Self { place: Some(place.clone()), severity, what: what.into(), hint: None }
    }

    pub(crate) fn warning(place: &Place, what: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(place, what) }
    }

    #[must_use]
    pub(crate) fn hinting(self, hint: impl Into<String>) -> Self {
        Self { hint: Some(hint.into()), ..self }
    }

    #[must_use]
    pub(crate) fn maybe_hinting(self, hint: Option<String>) -> Self {
        Self { hint: hint.or(self.hint), ..self }
    }
}

impl Report {
    /// How many problems are printed at most; the value keeps all of them.
    pub const SHOWN: usize = 60;
}

impl std::error::Error for Report {}

impl fmt::Display for Problem {
    /// `items.csv:17:4: error: ...`, and what to do on a line of its own.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "{place}: ")?;
        }
        let severity = match self.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
        };
        write!(f, "{severity}: {}", self.what)?;
        match &self.hint {
            Some(hint) => write!(f, "\n  hint: {hint}"),
            None => Ok(()),
        }
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for problem in self.errors.iter().chain(&self.warnings).take(Self::SHOWN) {
            writeln!(f, "{problem}")?;
        }
        let rest = (self.errors.len() + self.warnings.len()).saturating_sub(Self::SHOWN);
        if rest > 0 {
            writeln!(f, "and {rest} more")?;
        }
        write!(
            f,
            "{}, {}",
            count(self.errors.len(), "error"),
            count(self.warnings.len(), "warning")
        )
    }
}

fn count(number: usize, noun: &str) -> String {
    format!("{number} {noun}{}", if number == 1 { "" } else { "s" })
}
