//! What is wrong with a file, and the reading of single numbers.

use std::fmt;

use super::InstanceError;

/// The greatest duration, lag, demand or capacity that is read. Far beyond any published
/// instance; sums of a few such numbers stay within a tick.
pub(super) const GREATEST: i64 = 100_000_000;

/// How many faults are listed one by one.
const LISTED: usize = 200;

/// A word of a file and the line that it stands on, counted from 1.
#[derive(Debug, Clone, Copy)]
pub(super) struct Word<'a> {
    pub line: usize,
    pub text: &'a str,
}

/// The words of a line.
pub(super) fn words(line: usize, text: &str) -> impl Iterator<Item = Word<'_>> {
    text.split_whitespace().map(move |text| Word { line, text })
}

/// The lines of a text that hold something, with their numbers.
pub(super) fn lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let numbered = text.lines().enumerate().map(|(position, line)| (position + 1, line));
    numbered.filter(|(_, line)| !line.trim().is_empty())
}

/// The faults found so far.
#[derive(Debug, Default)]
pub(super) struct Findings {
    errors: Vec<InstanceError>,
    unlisted: usize,
}

impl Findings {
    pub(super) const fn is_empty(&self) -> bool {
        self.errors.is_empty()
    }

    pub(super) fn into_errors(mut self) -> Vec<InstanceError> {
        if self.unlisted > 0 {
            let line = self.errors.last().map_or(1, |last| last.line);
            self.errors.push(InstanceError {
                line,
                field: "rest of the file".to_owned(),
                reason: format!("{} more faults are not listed", self.unlisted),
                expected: "a file without them".to_owned(),
            });
        }
        self.errors
    }

    pub(super) fn add(
        &mut self,
        line: usize,
        field: fmt::Arguments<'_>,
        reason: String,
        expected: impl Into<String>,
    ) {
        if self.errors.len() >= LISTED {
            self.unlisted += 1;
            return;
        }
        let (field, expected) = (field.to_string(), expected.into());
        self.errors.push(InstanceError { line, field, reason, expected });
    }

    /// A whole number within bounds, or a fault and nothing.
    pub(super) fn number(
        &mut self,
        word: Word<'_>,
        field: fmt::Arguments<'_>,
        (least, greatest): (i64, i64),
    ) -> Option<i64> {
        let digits = word.text.strip_prefix('-').unwrap_or(word.text);
        let is_number = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
        let value = word.text.parse::<i64>().ok().filter(|_| is_number);
        let shown = shorten(word.text);
        let expected = || format!("a whole number from {least} to {greatest}");
        match value {
            Some(value) if (least..=greatest).contains(&value) => Some(value),
            Some(_) => {
                self.add(
                    word.line,
                    field,
                    format!("{shown} is out of range"),
                    expected(),
                );
                None
            }
            None if is_number => {
                self.add(
                    word.line,
                    field,
                    format!("{shown} is far too large"),
                    expected(),
                );
                None
            }
            None => {
                let reason = format!("`{shown}` is not a whole number");
                self.add(word.line, field, reason, expected());
                None
            }
        }
    }

    /// A number of things that the rest of the file lists, each in at least one word.
    pub(super) fn count(
        &mut self,
        word: Word<'_>,
        field: fmt::Arguments<'_>,
        least: i64,
        words_left: usize,
    ) -> Option<usize> {
        let value = self.number(word, field, (least, i64::from(u32::MAX)))?;
        if value as usize > words_left {
            let reason = format!("{value} is more than the file can hold");
            let expected = format!("no more than the {words_left} words that follow");
            self.add(word.line, field, reason, expected);
            return None;
        }
        Some(value as usize)
    }
}

/// A word as it is shown in a message: a file may hold one of any length.
pub(super) fn shorten(text: &str) -> String {
    const SHOWN: usize = 24;
    let shown: String = text.chars().take(SHOWN).flat_map(char::escape_debug).collect();
    if text.chars().nth(SHOWN).is_some() { shown + "…" } else { shown }
}
