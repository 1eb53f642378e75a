//! JSON on its way out, with members in the order in which they are put.
//!
//! The library for JSON keeps members in an order that depends on how other crates build
//! it; what is stored and what is generated must not.

use std::fmt::{self, Write};

/// A JSON value.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Json {
    Text(String),
    Whole(i128),
    Flag(bool),
    List(Vec<Self>),
    Object(Vec<(String, Self)>),
}

impl Json {
    pub(crate) fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    pub(crate) fn object<const N: usize>(members: [(&str, Self); N]) -> Self {
        Self::Object(
            members.into_iter().map(|(name, value)| (name.to_owned(), value)).collect(),
        )
    }

    pub(crate) fn texts<'a>(texts: impl IntoIterator<Item = &'a str>) -> Self {
        Self::List(texts.into_iter().map(Self::text).collect())
    }

    /// In lines, two blanks a level, for people.
    pub(crate) fn pretty(&self) -> String {
        let mut text = String::new();
        self.lines(&mut text, 0);
        text.push('\n');
        text
    }

    fn lines(&self, text: &mut String, level: usize) {
        let indent = "  ".repeat(level + 1);
        let (open, close, count) = match self {
            Self::Object(members) => ('{', '}', members.len()),
            Self::List(items) if items.iter().any(|item| !item.is_plain()) => {
                ('[', ']', items.len())
            }
            plain => return text.push_str(&plain.to_string()),
        };
        text.push(open);
        for at in 0..count {
            text.push_str(if at == 0 { "\n" } else { ",\n" });
            text.push_str(&indent);
            match self {
                Self::Object(members) => {
                    text.push_str(&quoted(&members[at].0));
                    text.push_str(": ");
                    members[at].1.lines(text, level + 1);
                }
                Self::List(items) => items[at].lines(text, level + 1),
                _ => {}
            }
        }
        if count > 0 {
            text.push('\n');
            text.push_str(&"  ".repeat(level));
        }
        text.push(close);
    }

    const fn is_plain(&self) -> bool {
        !matches!(self, Self::List(_) | Self::Object(_))
    }
}

impl fmt::Display for Json {
    /// In one line, without blanks where none are needed.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Text(text) => f.write_str(&quoted(text)),
            Self::Whole(number) => write!(f, "{number}"),
            Self::Flag(flag) => write!(f, "{flag}"),
            Self::List(items) => {
                f.write_char('[')?;
                for (at, item) in items.iter().enumerate() {
                    f.write_str(if at == 0 { "" } else { "," })?;
                    write!(f, "{item}")?;
                }
                f.write_char(']')
            }
            Self::Object(members) => {
                f.write_char('{')?;
                for (at, (name, value)) in members.iter().enumerate() {
                    f.write_str(if at == 0 { "" } else { "," })?;
                    write!(f, "{}:{value}", quoted(name))?;
                }
                f.write_char('}')
            }
        }
    }
}

fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c < ' ' => {
                // Writing to a text cannot fail.
                let _ = write!(out, "\\u{:04x}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
