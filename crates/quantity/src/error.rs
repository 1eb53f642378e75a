//! What can go wrong when text or a bare number is to become a quantity.

use std::ops::Range;

/// A bare number that cannot be the quantity: it was infinite, was not a number, left the
/// range of `f64` in the canonical unit, or was a temperature below absolute zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{noun} {rule}")]
pub struct NotFinite {
    noun: &'static str,
    rule: &'static str,
}

impl NotFinite {
    pub(crate) const fn new(noun: &'static str) -> Self {
        Self { noun, rule: "must be a finite number" }
    }

    pub(crate) const fn too_cold(noun: &'static str) -> Self {
        Self { noun, rule: "cannot lie below absolute zero" }
    }

    /// The quantity that was to be made, with its article, such as `a length`.
    pub fn noun(&self) -> &'static str {
        self.noun
    }
}

/// The three figures of an estimate were not in rising order.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("an estimate rises from low to high, but {first} comes before {second}")]
pub struct OutOfOrder {
    pub(crate) first: String,
    pub(crate) second: String,
}

/// Text that could not be read as a quantity.
///
/// `Display` gives one sentence without the advice; the advice is in [`hint`](Self::hint),
/// so that a form can show the two apart.
///
/// ```
/// use quantity::{Length, Notation};
///
/// let error = Length::parse("1,2 mm").unwrap_err();
/// assert_eq!(error.hint(), Some("write 1.2 mm"));
/// assert_eq!(error.offending(), "1,2");
/// ```
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{sentence}")]
pub struct QuantityError {
    expected: &'static str,
    text: String,
    range: Range<usize>,
    sentence: String,
    hint: Option<String>,
}

impl QuantityError {
    /// What was expected, with its article, such as `a length`.
    pub fn expected(&self) -> &'static str {
        self.expected
    }

    /// The whole text that was refused.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Where in [`text`](Self::text) it went wrong, in bytes. Empty when something is
    /// missing at that place. Always on character boundaries.
    pub fn range(&self) -> Range<usize> {
        self.range.clone()
    }

    /// The part of the text that was at fault; empty when something is missing.
    pub fn offending(&self) -> &str {
        self.text.get(self.range.clone()).unwrap_or_default()
    }

    /// What to write instead, when there is something to say.
    pub fn hint(&self) -> Option<&str> {
        self.hint.as_deref()
    }

    pub(crate) fn new(expected: &'static str, text: &str, fault: Fault) -> Self {
        let Fault { range, sentence, hint } = fault;
        Self { expected, text: text.to_owned(), range, sentence, hint }
    }

    /// The same error for a larger text, of which the refused text begins at `offset`.
    pub(crate) fn within(
        self,
        expected: &'static str,
        whole: &str,
        offset: usize,
    ) -> Self {
        let Range { start, end } = self.range;
        let range = start + offset..end + offset;
        Self { expected, text: whole.to_owned(), range, ..self }
    }
}

/// A fault found in a text, before it is known which quantity the text was to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fault {
    pub(crate) range: Range<usize>,
    pub(crate) sentence: String,
    pub(crate) hint: Option<String>,
}

impl Fault {
    pub(crate) fn new(range: Range<usize>, sentence: impl Into<String>) -> Self {
        Self { range, sentence: sentence.into(), hint: None }
    }

    pub(crate) fn hint(self, hint: impl Into<String>) -> Self {
        Self { hint: Some(hint.into()), ..self }
    }
}

/// The text as an error quotes it: a pasted page must not become the message.
pub(crate) fn quoted(text: &str) -> String {
    const LONGEST: usize = 40;
    if text.chars().count() <= LONGEST {
        return format!("`{}`", text.escape_debug());
    }
    let start: String = text.chars().take(LONGEST).collect();
    format!("`{}…`", start.escape_debug())
}
