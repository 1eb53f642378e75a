//! Notes as they are gathered.

use std::fmt::Display;

use airframe::Note;

use crate::{Named, Register};

/// After so many suggestions about names no more are sought: each costs a look at every name,
/// and nobody reads the thousandth.
const SUGGESTIONS: usize = 200;

/// The notes so far.
#[derive(Debug, Default)]
pub(crate) struct Notes {
    notes: Vec<Note>,
    suggestions: usize,
}

/// A note just made, to which advice can be added.
pub(crate) struct Made<'a>(&'a mut Note);

/// One field of one thing.
#[derive(Clone, Copy)]
pub(crate) struct At<'a> {
    pub(crate) noun: &'static str,
    pub(crate) id: &'a dyn Display,
    pub(crate) field: &'static str,
}

impl Made<'_> {
    /// Adds advice.
    pub(crate) fn hint(self, hint: impl Into<String>) {
        self.0.hint = Some(hint.into());
    }
}

impl<'a> At<'a> {
    pub(crate) const fn new(
        noun: &'static str,
        id: &'a dyn Display,
        field: &'static str,
    ) -> Self {
        Self { noun, id, field }
    }

    /// Another field of the same thing.
    pub(crate) const fn field(self, field: &'static str) -> Self {
        Self { field, ..self }
    }
}

impl Notes {
    pub(crate) fn all(self) -> Vec<Note> {
        self.notes
    }

    pub(crate) fn error(
        &mut self,
        noun: &'static str,
        id: impl Display,
        field: &'static str,
        what: impl Into<String>,
    ) -> Made<'_> {
        self.push(Note::error(noun, id, field, what))
    }

    pub(crate) fn error_at(&mut self, at: At<'_>, what: impl Into<String>) -> Made<'_> {
        self.push(Note::error(at.noun, at.id, at.field, what))
    }

    pub(crate) fn warning_at(&mut self, at: At<'_>, what: impl Into<String>) -> Made<'_> {
        self.push(Note::warning(at.noun, at.id, at.field, what))
    }

    fn push(&mut self, note: Note) -> Made<'_> {
        let last = self.notes.len();
        self.notes.push(note);
        Made(&mut self.notes[last])
    }

    /// Notes each name that is not in a register, and each that is given twice.
    pub(crate) fn refer<'n, T: Named + 'n>(
        &mut self,
        at: At<'_>,
        register: &Register<T>,
        names: impl IntoIterator<Item = &'n T::Name>,
    ) {
        let mut seen = Vec::new();
        for name in names {
            if seen.contains(&name) {
                self.warning_at(at, format!("{name} is named twice"))
                    .hint("once is enough");
                continue;
            }
            seen.push(name);
            if !register.has(name) {
                let known = register.names().map(ToString::to_string);
                let hint = self.advice(&name.to_string(), known, T::NOUN, at.field);
                self.error_at(at, format!("there is no {} {name}", T::NOUN)).hint(hint);
            }
        }
    }

    /// What to do about a name that does not exist.
    pub(crate) fn advice(
        &mut self,
        name: &str,
        known: impl ExactSizeIterator<Item = String>,
        noun: &str,
        field: &str,
    ) -> String {
        if known.len() == 0 {
            return format!("no {noun} is defined at all");
        }
        self.suggestions += 1;
        let near =
            (self.suggestions <= SUGGESTIONS).then(|| nearest(name, known)).flatten();
        match near {
            Some(near) => format!("is {near} meant?"),
            None => format!("define it, or take it out of {field}"),
        }
    }
}

/// The name that is most like another, if one is like enough: capitals do not count, and a
/// third of the letters may differ.
pub(crate) fn nearest(name: &str, known: impl Iterator<Item = String>) -> Option<String> {
    let wanted = name.to_lowercase();
    let length = wanted.chars().count();
    let most = (length / 3).max(1);
    known
        .filter(|other| other.chars().count().abs_diff(length) <= most)
        .map(|other| (strsim::osa_distance(&wanted, &other.to_lowercase()), other))
        .filter(|(distance, _)| *distance <= most)
        .min()
        .map(|(_, other)| other)
}
