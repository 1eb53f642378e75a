//! What somebody may sign: `airframe, wooden structure (LAE-114) until 2032-05-01`.
//!
//! A backslash before `;`, `(`, `)` or another backslash makes it part of the words.

use record::Authority;

use crate::fields::{Out, Shape};
use crate::notation::{Fault, Listed, Notated, quoted};

impl Notated for Authority {
    const SHAPE: Shape = Shape::Authorities;

    fn parse(text: &str) -> Result<Self, Fault> {
        let text = text.trim();
        let (rest, until) = match text.rsplit_once(" until ") {
            Some((rest, date)) if !date.trim_end().ends_with(')') => {
                (rest.trim_end(), Some(jiff::civil::Date::parse(date)?))
            }
            _ => (text, None),
        };
        let (scope, reference) = bracketed(rest)?;
        let scope = plain(scope.trim());
        if scope.is_empty() {
            return Err(Fault::new(format!(
                "{} does not say what it covers",
                quoted(text)
            ))
            .hint("write `what it covers (reference) until 2032-05-01`"));
        }
        let reference = reference.map(|r| plain(r.trim())).filter(|r| !r.is_empty());
        Ok(Self { scope, reference, until })
    }

    fn print(&self) -> Out {
        let mut text = escaped(&self.scope);
        match &self.reference {
            Some(reference) => text = format!("{text} ({})", escaped(reference)),
            // Words that look like a date of expiry are closed off by an empty reference.
            None if text.contains(" until ") => text += " ()",
            None => {}
        }
        if let Some(until) = self.until {
            text = format!("{text} until {until}");
        }
        Out::Text(text)
    }
}

impl Listed for Authority {
    const LIST: Shape = Shape::Authorities;
}

/// The words before the brackets, and those within them.
fn bracketed(text: &str) -> Result<(&str, Option<&str>), Fault> {
    let fault = |what: &str| {
        Fault::new(format!("{what} in {}", quoted(text)))
            .hint("write one reference in brackets; a bracket within the words needs a `\\` before it")
    };
    let (Some(open), Some(close)) = (bare(text, '('), bare(text, ')')) else {
        return match bare(text, '(').or(bare(text, ')')) {
            Some(_) => Err(fault("a bracket is missing")),
            None => Ok((text, None)),
        };
    };
    if close + 1 != text.len() || open > close {
        return Err(fault("something follows the reference"));
    }
    let within = &text[open + 1..close];
    match bare(within, '(') {
        Some(_) => Err(fault("there are brackets within brackets")),
        None => Ok((&text[..open], Some(within))),
    }
}

/// The first place of a character that no backslash stands before.
fn bare(text: &str, wanted: char) -> Option<usize> {
    let mut escaped = false;
    for (at, c) in text.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            c if c == wanted => return Some(at),
            _ => {}
        }
    }
    None
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if matches!(c, '\\' | ';' | '(' | ')') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        match c {
            '\\' => out.extend(chars.next()),
            c => out.push(c),
        }
    }
    out
}
