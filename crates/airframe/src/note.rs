//! What a check has to say about one field of one thing.

use std::fmt;

/// A remark about the programme that somebody should act on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Note {
    /// How grave it is.
    pub severity: Severity,
    /// What it is about.
    pub subject: Subject,
    /// What is wrong and why, as one sentence without a full stop.
    pub what: String,
    /// What to do about it.
    pub hint: Option<String>,
}

/// How grave a note is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// It cannot stand: nothing is taken in while it is there.
    Error,
    /// It can stand, but somebody should look.
    Warning,
}

/// One field of one thing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Subject {
    /// The kind of thing, by its noun (`item`, `finding`, ...).
    pub noun: &'static str,
    /// Its name; empty for what there is only one of.
    pub id: String,
    /// The field, by the name that files give it; empty for the thing as a whole.
    pub field: &'static str,
}

impl Note {
    /// An error.
    pub fn error(
        noun: &'static str,
        id: impl fmt::Display,
        field: &'static str,
        what: impl Into<String>,
    ) -> Self {
        let subject = Subject { noun, id: id.to_string(), field };
        Self { severity: Severity::Error, subject, what: what.into(), hint: None }
    }

    /// A warning.
    pub fn warning(
        noun: &'static str,
        id: impl fmt::Display,
        field: &'static str,
        what: impl Into<String>,
    ) -> Self {
        Self { severity: Severity::Warning, ..Self::error(noun, id, field, what) }
    }

    /// The same note with advice.
    #[must_use]
    pub fn hinting(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self_subject}: {}", self.what, self_subject = self.subject)
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.noun)?;
        if !self.id.is_empty() {
            write!(f, " {}", self.id)?;
        }
        if !self.field.is_empty() {
            write!(f, ", {}", self.field)?;
        }
        Ok(())
    }
}
