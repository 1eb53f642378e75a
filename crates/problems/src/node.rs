//! One value of a JSON document, with its place.
//!
//! A value stays the slice of the text that it is until somebody asks what it holds, so
//! that its place is known without a parser of our own.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;

use crate::errors::{Findings, shorten};

/// A value, its place in the text and its path.
#[derive(Debug, Clone)]
pub(crate) struct Node<'a> {
    raw: &'a str,
    at: usize,
    path: String,
}

impl<'a> Node<'a> {
    /// The whole document; one mistake is reported if the text is not JSON.
    pub(crate) fn document(text: &'a str, findings: &mut Findings<'_>) -> Option<Self> {
        match serde_json::from_str::<&'a RawValue>(text) {
            Ok(raw) => {
                let at = offset(text, raw.get());
                Some(Self { raw: raw.get(), at, path: String::new() })
            }
            Err(error) => {
                let what = format!("the text is not JSON: {error}");
                let remedy = "put the punctuation right there, or just before";
                findings.add_on_line(error.line(), "", what, remedy);
                None
            }
        }
    }

    pub(crate) fn is_null(&self) -> bool {
        self.raw == "null"
    }

    pub(crate) fn is_text(&self) -> bool {
        self.raw.starts_with('"')
    }

    pub(crate) fn is_number(&self) -> bool {
        self.raw.starts_with(|c: char| c == '-' || c.is_ascii_digit())
    }

    pub(crate) fn is_list(&self) -> bool {
        self.raw.starts_with('[')
    }

    /// The value as a message shows it.
    pub(crate) fn shown(&self) -> String {
        shorten(self.raw)
    }

    /// Reports something about the value.
    pub(crate) fn wrong(
        &self,
        findings: &mut Findings<'_>,
        what: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        findings.add(self.at, &self.path, what, remedy);
    }

    /// The values of a list.
    pub(crate) fn list(
        &self,
        wanted: &str,
        findings: &mut Findings<'_>,
    ) -> Option<Vec<Self>> {
        let list =
            self.is_list().then(|| serde_json::from_str::<Vec<&RawValue>>(self.raw));
        let Some(Ok(list)) = list else {
            self.wrong(
                findings,
                format!("`{}` is not a list", self.shown()),
                format!("write {wanted} in square brackets"),
            );
            return None;
        };
        let items = list.into_iter().enumerate();
        Some(
            items
                .map(|(n, raw)| self.within(raw, format!("{}[{n}]", self.path)))
                .collect(),
        )
    }

    /// The names and values of an object, in the order of the text.
    pub(crate) fn pairs(
        &self,
        wanted: &str,
        findings: &mut Findings<'_>,
    ) -> Option<Vec<(String, Self)>> {
        let is_object = self.raw.starts_with('{');
        let pairs = is_object.then(|| serde_json::from_str::<Pairs<'a>>(self.raw));
        match pairs {
            Some(Ok(Pairs(pairs))) => {
                let dot = if self.path.is_empty() { "" } else { "." };
                let named = pairs.into_iter().map(|(name, raw)| {
                    let path = format!("{}{dot}{}", self.path, shorten(&name));
                    (name, self.within(raw, path))
                });
                Some(named.collect())
            }
            Some(Err(error)) => {
                let what = format!("a name in it can't be read: {error}");
                self.wrong(findings, what, "write the name in plain characters");
                None
            }
            None => {
                self.wrong(
                    findings,
                    format!("`{}` is not an object", self.shown()),
                    format!("write {wanted} in curly brackets"),
                );
                None
            }
        }
    }

    /// A text.
    pub(crate) fn text(&self, findings: &mut Findings<'_>) -> Option<String> {
        let text = self.is_text().then(|| serde_json::from_str(self.raw));
        match text {
            Some(Ok(text)) => return Some(text),
            Some(Err(error)) => {
                let what = format!("the text can't be read: {error}");
                self.wrong(findings, what, "write it in plain characters");
            }
            None => {
                let what = format!("`{}` is not a text", self.shown());
                self.wrong(findings, what, "write a text in quotes");
            }
        }
        None
    }

    /// A whole number within bounds.
    pub(crate) fn number(
        &self,
        (least, greatest): (i64, i64),
        findings: &mut Findings<'_>,
    ) -> Option<i64> {
        let digits = self.raw.strip_prefix('-').unwrap_or(self.raw);
        let is_whole = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
        let value = self.raw.parse::<i64>().ok().filter(|_| is_whole);
        if let Some(value) = value.filter(|value| (least..=greatest).contains(value)) {
            return Some(value);
        }
        let fault = if is_whole { "is out of range" } else { "is not a whole number" };
        self.wrong(
            findings,
            format!("`{}` {fault}", self.shown()),
            format!("write a whole number from {least} to {greatest}"),
        );
        None
    }

    fn within(&self, raw: &'a RawValue, path: String) -> Self {
        let at = self.at + offset(self.raw, raw.get());
        Self { raw: raw.get(), at, path }
    }
}

/// Where a part of a text begins in it. The parts are borrowed from the text itself.
fn offset(text: &str, part: &str) -> usize {
    part.as_ptr().addr().saturating_sub(text.as_ptr().addr())
}

/// The members of an object in their order, those of the same name too.
struct Pairs<'a>(Vec<(String, &'a RawValue)>);

impl<'de> Deserialize<'de> for Pairs<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Members;

        impl<'de> Visitor<'de> for Members {
            type Value = Vec<(String, &'de RawValue)>;

            fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
                formatter.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(
                self,
                mut members: A,
            ) -> Result<Self::Value, A::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = members.next_entry()? {
                    pairs.push(pair);
                }
                Ok(pairs)
            }
        }

        deserializer.deserialize_map(Members).map(Pairs)
    }
}
