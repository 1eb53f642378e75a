//! Text to value and back, and values that remember how they were typed.

use std::fmt;

use crate::error::QuantityError;

/// A quantity that people write down.
pub trait Notation: Copy + PartialEq {
    /// What it is called in an error, with its article, such as `a length`.
    const NOUN: &'static str;

    /// Reads any of the notations in use.
    ///
    /// # Errors
    /// When the text does not say one such quantity; the error says where and what to
    /// write instead.
    fn parse(text: &str) -> Result<Self, QuantityError>;

    /// The canonical notation, which [`parse`](Self::parse) reads back to the same value.
    fn print(self) -> String;
}

/// A value together with the text that somebody typed for it.
///
/// A drawing says `3/16 in`; a report that prints `4.7625 mm` instead is right and yet not
/// what was read. Equality compares both: the same value typed otherwise is another entry.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Typed<Q> {
    text: Box<str>,
    value: Q,
}

impl<Q: Notation> Typed<Q> {
    /// Reads a text and keeps it, without the white space around it.
    ///
    /// # Errors
    /// Those of [`Notation::parse`].
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let value = Q::parse(text)?;
        Ok(Self { text: text.trim().into(), value })
    }

    /// A value that nobody typed, with its canonical notation as the text.
    pub fn from_value(value: Q) -> Self {
        Self { text: value.print().into(), value }
    }

    /// The exact value.
    pub fn value(&self) -> Q {
        self.value
    }
}

impl<Q> Typed<Q> {
    /// What was typed.
    pub fn text(&self) -> &str {
        &self.text
    }
}

impl<Q> fmt::Display for Typed<Q> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}
