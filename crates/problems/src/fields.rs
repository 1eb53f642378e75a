//! The named values of one object.

use crate::errors::Findings;
use crate::node::Node;

/// Any object may say something to people under this name; it is passed over.
const NOTE: &str = "note";

/// The fields of an object that are known, each at most once.
#[derive(Debug)]
pub(crate) struct Fields<'a> {
    node: Node<'a>,
    pairs: Vec<(String, Node<'a>)>,
}

impl<'a> Fields<'a> {
    /// Reads an object. Fields that are not known and fields that stand there twice are
    /// reported.
    pub(crate) fn of(
        node: &Node<'a>,
        known: &[&str],
        findings: &mut Findings<'_>,
    ) -> Option<Self> {
        let wanted = format!("the fields {}", known.join(", "));
        let mut pairs: Vec<(String, Node<'a>)> = Vec::new();
        for (name, value) in node.pairs(&wanted, findings)? {
            if pairs.iter().any(|(other, _)| *other == name) {
                value.wrong(findings, "the field stands there twice", "leave one out");
            } else if known.contains(&name.as_str()) {
                pairs.push((name, value));
            } else if name != NOTE {
                let near = findings.nearest(&name, known.iter().copied());
                let remedy = near.map_or_else(
                    || format!("leave it out; the fields here are {}", known.join(", ")),
                    |near| format!("the nearest is `{near}`"),
                );
                value.wrong(findings, "there is no such field", remedy);
            }
        }
        Some(Self { node: node.clone(), pairs })
    }

    pub(crate) const fn node(&self) -> &Node<'a> {
        &self.node
    }

    /// A field that may be absent; `null` counts as absent.
    pub(crate) fn get(&self, name: &str) -> Option<&Node<'a>> {
        let pair = self.pairs.iter().find(|(other, _)| other == name);
        pair.map(|(_, node)| node).filter(|node| !node.is_null())
    }

    /// A field that must be there.
    pub(crate) fn need(
        &self,
        name: &str,
        meaning: &str,
        findings: &mut Findings<'_>,
    ) -> Option<&Node<'a>> {
        let found = self.get(name);
        if found.is_none() {
            let what = format!("the field `{name}` is missing");
            self.node.wrong(findings, what, format!("write {meaning}"));
        }
        found
    }

    /// A whole number that may be absent.
    pub(crate) fn number(
        &self,
        name: &str,
        bounds: (i64, i64),
        findings: &mut Findings<'_>,
    ) -> Option<i64> {
        self.get(name)?.number(bounds, findings)
    }

    /// A whole number that must be there.
    pub(crate) fn need_number(
        &self,
        name: &str,
        meaning: &str,
        bounds: (i64, i64),
        findings: &mut Findings<'_>,
    ) -> Option<i64> {
        self.need(name, meaning, findings)?.number(bounds, findings)
    }

    /// A text, empty if absent.
    pub(crate) fn text(&self, name: &str, findings: &mut Findings<'_>) -> String {
        self.get(name).and_then(|node| node.text(findings)).unwrap_or_default()
    }

    /// The values of a list, none if absent.
    pub(crate) fn list(&self, name: &str, findings: &mut Findings<'_>) -> Vec<Node<'a>> {
        let node = self.get(name);
        node.and_then(|node| node.list(name, findings)).unwrap_or_default()
    }

    /// One of a few words.
    pub(crate) fn word<T: Copy>(
        &self,
        name: &str,
        words: &[(&str, T)],
        findings: &mut Findings<'_>,
    ) -> Option<T> {
        let node = self.get(name)?;
        let text = node.text(findings)?;
        let found = words.iter().find(|(word, _)| *word == text);
        if found.is_none() {
            let all: Vec<String> =
                words.iter().map(|(word, _)| format!("`{word}`")).collect();
            let what = format!("`{}` is not known here", crate::errors::shorten(&text));
            node.wrong(findings, what, format!("write one of {}", all.join(", ")));
        }
        found.map(|&(_, value)| value)
    }
}
