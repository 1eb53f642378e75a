//! References: by name where a name is one thing's alone, else by position.

use std::collections::BTreeMap;

use crate::errors::{Findings, shorten};
use crate::node::Node;

/// The names of the things of one list, which others refer to.
#[derive(Debug)]
pub(crate) struct Names {
    noun: &'static str,
    all: Vec<String>,
    /// The first position of each name, and how many things have it.
    places: BTreeMap<String, (usize, usize)>,
}

impl Names {
    pub(crate) fn new(noun: &'static str, names: Vec<String>) -> Self {
        let mut places = BTreeMap::new();
        for (position, name) in names.iter().enumerate() {
            places.entry(name.clone()).or_insert((position, 0)).1 += 1;
        }
        Self { noun, all: names, places }
    }

    /// The name by which the thing at a position can be referred to.
    pub(crate) fn reference(&self, position: usize) -> Option<&str> {
        let name = self.all.get(position).filter(|name| !name.is_empty())?;
        (self.places.get(name)?.1 == 1).then_some(name)
    }

    /// The position that a reference means: a name, or a position counted from 0.
    pub(crate) fn resolve(
        &self,
        node: &Node<'_>,
        findings: &mut Findings<'_>,
    ) -> Option<usize> {
        let noun = self.noun;
        if node.is_number() {
            let last = self.all.len() as i64 - 1;
            if last < 0 {
                node.wrong(
                    findings,
                    format!("there is no {noun}"),
                    format!("list one {noun}"),
                );
                return None;
            }
            return node.number((0, last), findings).map(|position| position as usize);
        }
        if !node.is_text() {
            let what = format!("`{}` is neither a name nor a position", node.shown());
            node.wrong(findings, what, format!("write the name of a {noun} in quotes"));
            return None;
        }
        let name = node.text(findings)?;
        match self.places.get(&name) {
            Some(&(position, 1)) => Some(position),
            Some(&(first, count)) => {
                let what = format!("`{}` is the name of {count} things", shorten(&name));
                let remedy =
                    format!("write the position instead; the first of them is {first}");
                node.wrong(findings, what, remedy);
                None
            }
            None => {
                let near =
                    findings.nearest(&name, self.places.keys().map(String::as_str));
                let remedy = near.map_or_else(
                    || format!("write the name of a {noun} that is listed"),
                    |near| format!("the nearest is `{near}`"),
                );
                node.wrong(
                    findings,
                    format!("`{}` is no {noun}", shorten(&name)),
                    remedy,
                );
                None
            }
        }
    }
}
