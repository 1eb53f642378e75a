//! What is wrong with a document, and where.

/// How many mistakes are listed one by one.
const LISTED: usize = 200;

/// How many wrong names are held against all that exist, to find the nearest: a document
/// may hold very many of both.
const COMPARED: usize = 50;

/// A mistake in a document.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{name}, line {line}, {path}: {what}; {remedy}")]
pub struct Error {
    /// The name of the document, as the caller gave it.
    pub name: String,
    /// The line, counted from 1.
    pub line: usize,
    /// The way to it from the top, such as `tasks[3].modes[0].work`; positions are counted
    /// from 0.
    pub path: String,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

/// The mistakes found so far.
pub(crate) struct Findings<'a> {
    name: &'a str,
    /// Where each line begins.
    lines: Vec<usize>,
    errors: Vec<Error>,
    unlisted: usize,
    compared: usize,
}

impl<'a> Findings<'a> {
    pub(crate) fn new(name: &'a str, text: &str) -> Self {
        let breaks = text.bytes().enumerate().filter(|&(_, byte)| byte == b'\n');
        let lines = std::iter::once(0).chain(breaks.map(|(at, _)| at + 1)).collect();
        Self { name, lines, errors: Vec::new(), unlisted: 0, compared: 0 }
    }

    /// How many there are.
    pub(crate) const fn count(&self) -> usize {
        self.errors.len() + self.unlisted
    }

    /// Adds one, about the byte at a position of the text.
    pub(crate) fn add(
        &mut self,
        at: usize,
        path: &str,
        what: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let line = self.lines.partition_point(|&begin| begin <= at);
        self.add_on_line(line, path, what, remedy);
    }

    /// Adds one, about a line counted from 1.
    pub(crate) fn add_on_line(
        &mut self,
        line: usize,
        path: &str,
        what: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        if self.errors.len() >= LISTED {
            self.unlisted += 1;
            return;
        }
        let path = if path.is_empty() { "the document" } else { path };
        self.errors.push(Error {
            name: self.name.to_owned(),
            line: line.max(1),
            path: path.to_owned(),
            what: what.into(),
            remedy: remedy.into(),
        });
    }

    /// The nearest of some names to one that is none of them, if one is near.
    pub(crate) fn nearest<'n>(
        &mut self,
        wanted: &str,
        names: impl IntoIterator<Item = &'n str>,
    ) -> Option<&'n str> {
        let length = wanted.chars().count();
        self.compared += 1;
        if length == 0 || length > 64 || self.compared > COMPARED {
            return None;
        }
        // A slip or two; another word is not one.
        let allowed = (length / 3).clamp(1, 3);
        let near = names.into_iter().filter(|name| {
            !name.is_empty() && name.chars().count().abs_diff(length) <= allowed
        });
        let measured = near.map(|name| (strsim::osa_distance(wanted, name), name));
        measured.filter(|&(far, _)| far <= allowed).min().map(|(_, name)| name)
    }

    /// All of them, in the order of the document.
    pub(crate) fn into_errors(self) -> Vec<Error> {
        let Self { name, mut errors, unlisted, .. } = self;
        errors.sort_by_key(|error| error.line);
        if unlisted > 0 {
            let line = errors.last().map_or(1, |last| last.line);
            errors.push(Error {
                name: name.to_owned(),
                line,
                path: "rest of the document".to_owned(),
                what: format!("{unlisted} more mistakes are not listed"),
                remedy: "mend those above and read it again".to_owned(),
            });
        }
        errors
    }
}

/// A text as it is shown in a message: a document may hold one of any length.
pub(crate) fn shorten(text: &str) -> String {
    const SHOWN: usize = 32;
    let shown: String = text.chars().take(SHOWN).flat_map(char::escape_debug).collect();
    if text.chars().nth(SHOWN).is_some() { shown + "…" } else { shown }
}
