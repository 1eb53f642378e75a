//! What somebody typed who wants to get at something: read, and held against the programme.

use std::collections::BTreeSet;

use airframe::ArrangementId;
use jiff::civil::Date;
use record::Programme;

use super::{Reaching, reaching};
use crate::{AppError, near};

/// What is wanted, as it was typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReachAsked {
    /// Items that are to come off.
    pub free: Vec<String>,
    /// Items that are to be seen and worked on where they are.
    pub expose: Vec<String>,
    /// On what the aircraft stands; blank for the way of the season.
    pub arrangement: String,
}

/// Something wrong with a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AskedWrong {
    /// The field: `free`, `expose` or `arrangement`.
    pub field: &'static str,
    /// What was typed.
    pub typed: String,
    /// What is wrong, and what to do.
    pub what: String,
}

/// What can be chosen: items and arrangements, name and what people call them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReachChoices {
    /// Items that come off.
    pub free: Vec<(String, String)>,
    /// Items that can be worked on where they are.
    pub expose: Vec<(String, String)>,
    /// Ways to support the aircraft.
    pub arrangements: Vec<(String, String)>,
}

impl ReachAsked {
    /// Names out of what was typed: several may stand in one field, parted by `;`, `,` or
    /// blanks. A name that stands twice counts once.
    pub fn names(typed: &[&str]) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        let apart = |c: char| c.is_whitespace() || matches!(c, ';' | ',');
        for name in typed.iter().flat_map(|typed| typed.split(apart)) {
            if !name.is_empty() && !names.iter().any(|known| known == name) {
                names.push(name.to_owned());
            }
        }
        names
    }

    /// Whether nothing is wanted yet.
    pub fn is_blank(&self) -> bool {
        self.free.is_empty() && self.expose.is_empty()
    }

    /// Everything that is wrong with it.
    pub fn wrong(&self, programme: &Programme) -> Vec<AskedWrong> {
        let mut wrong = Vec::new();
        let mut note = |field, typed: &str, what: String| {
            wrong.push(AskedWrong { field, typed: typed.to_owned(), what });
        };
        let known: Vec<&str> = programme.items.names().map(|id| id.as_str()).collect();
        for (field, names) in [("free", &self.free), ("expose", &self.expose)] {
            for name in names {
                let item = programme.items.iter().find(|item| item.id.as_str() == name);
                let Some(item) = item else {
                    let what = near::no_such("item", name, known.iter().copied());
                    note(field, name, what);
                    continue;
                };
                let fixed = item.fixed.as_ref().filter(|_| field == "free");
                if let Some(why) = fixed {
                    let what = format!(
                        "{name} never comes off ({why}): expose it instead, to work on it where \
                         it is"
                    );
                    note(field, name, what);
                }
                if field == "expose" && self.free.contains(name) {
                    let what = format!("{name} is to come off already: name it once");
                    note(field, name, what);
                }
            }
        }
        let arrangement = self.arrangement.as_str();
        let known = programme.arrangements.names().map(ArrangementId::as_str);
        if !arrangement.is_empty() && !known.clone().any(|id| id == arrangement) {
            note(
                "arrangement",
                arrangement,
                near::no_such("arrangement", arrangement, known),
            );
        }
        wrong
    }

    /// What must come off, if nothing is wrong with what is wanted.
    ///
    /// # Errors
    /// Those of [`reaching`].
    pub fn answer(&self, programme: &Programme, on: Date) -> Result<Reaching, AppError> {
        let arrangement = Some(self.arrangement.as_str()).filter(|name| !name.is_empty());
        reaching(programme, (&self.free, &self.expose), arrangement, on)
    }
}

/// What there is to choose from.
pub fn reach_choices(programme: &Programme) -> ReachChoices {
    let called = |item: &airframe::Item| (item.id.to_string(), item.name.clone());
    let all: BTreeSet<_> = programme.items.iter().map(called).collect();
    let loose = programme.items.iter().filter(|item| item.fixed.is_none());
    let arrangements = programme.arrangements.iter();
    ReachChoices {
        free: loose.map(called).collect(),
        expose: all.into_iter().collect(),
        arrangements: arrangements
            .map(|one| (one.id.to_string(), one.name.clone()))
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_that_is_wrong_is_said_at_once() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");
        let programme = crate::read_folder(folder.as_ref()).unwrap().programme;
        let asked = ReachAsked {
            free: ReachAsked::names(&["HULL; PROP-P", "PROPP-P PROP-P"]),
            expose: ReachAsked::names(&["PROP-P"]),
            arrangement: "NONE".to_owned(),
        };
        assert_eq!(asked.free, ["HULL", "PROP-P", "PROPP-P"]);
        let wrong = asked.wrong(&programme);
        let fields: Vec<(&str, &str)> =
            wrong.iter().map(|wrong| (wrong.field, wrong.typed.as_str())).collect();
        assert_eq!(
            fields,
            [
                ("free", "HULL"),
                ("free", "PROPP-P"),
                ("expose", "PROP-P"),
                ("arrangement", "NONE")
            ]
        );
        assert!(wrong[1].what.contains("PROP-P"), "{:?}", wrong[1]);
        let fine =
            ReachAsked { free: vec!["PROP-P".to_owned()], ..ReachAsked::default() };
        assert_eq!(fine.wrong(&programme), []);
        let on = jiff::civil::date(2032, 1, 14);
        let answer = fine.answer(&programme, on).unwrap();
        assert!(answer.steps.iter().any(|step| step.item == "PROP-P"));
    }
}
