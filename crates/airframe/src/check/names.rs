//! Names that must exist.

use std::collections::BTreeSet;
use std::fmt::Display;

use quantity::{Id, Kind};

use super::Parts;
use crate::{Crew, Handling, Item, ItemId, Kinds, Note, SkillId};

/// The names that exist, by kind.
struct Known<'k> {
    items: BTreeSet<&'k ItemId>,
    zones: BTreeSet<&'k crate::ZoneId>,
    checks: BTreeSet<&'k crate::CheckId>,
    gear: BTreeSet<&'k crate::GearId>,
    skills: BTreeSet<&'k SkillId>,
    stands: BTreeSet<&'k crate::StandId>,
}

/// The field of one thing that names something.
struct Place<'p> {
    noun: &'static str,
    id: &'p dyn Display,
    field: &'static str,
}

pub(super) fn check(parts: &Parts, kinds: &Kinds, notes: &mut Vec<Note>) {
    let known = Known {
        items: parts.items.iter().map(|item| &item.id).collect(),
        zones: parts.zones.iter().map(|zone| &zone.id).collect(),
        checks: parts.checks.iter().map(|rule| &rule.id).collect(),
        gear: parts.gear.iter().map(|gear| &gear.id).collect(),
        skills: kinds.skills.iter().collect(),
        stands: kinds.stands.iter().collect(),
    };
    parts.items.iter().for_each(|item| check_item(item, &known, notes));
    for zone in &parts.zones {
        let place = Place { noun: "zone", id: &zone.id, field: "within" };
        place.all(&zone.within, &known.zones, notes);
    }
    for connection in &parts.connections {
        let place = |field| Place { noun: "connection", id: &connection.id, field };
        place("from").all([&connection.from], &known.items, notes);
        place("to").all(&connection.to, &known.items, notes);
    }
    for rule in &parts.checks {
        let place = |field| Place { noun: "check", id: &rule.id, field };
        place("items").all(&rule.trigger.items, &known.items, notes);
        place("after").all(&rule.after, &known.checks, notes);
        place("crew").all(skills(&rule.crew), &known.skills, notes);
    }
}

fn check_item(item: &Item, known: &Known<'_>, notes: &mut Vec<Note>) {
    let place = |field| Place { noun: "item", id: &item.id, field };
    place("part_of").all(&item.part_of, &known.items, notes);
    place("mounted_on").all(&item.mounted_on, &known.items, notes);
    place("zone").all(&item.zone, &known.zones, notes);
    place("behind").all(item.behind.items(), &known.items, notes);
    place("held_by").all(item.held_by.items(), &known.items, notes);
    place("refit_after").all(&item.refit_after, &known.items, notes);
    place("stand").all(&item.stand, &known.stands, notes);
    let handling = |handling: &Option<Handling>, crew, gear, notes: &mut Vec<Note>| {
        if let Some(handling) = handling {
            place(crew).all(skills(&handling.crew), &known.skills, notes);
            place(gear).all(&handling.gear, &known.gear, notes);
        }
    };
    handling(&item.removal, "off_crew", "off_gear", notes);
    handling(&item.refit, "on_crew", "on_gear", notes);
}

fn skills(crew: &[Crew]) -> impl Iterator<Item = &SkillId> {
    crew.iter().map(|crew| &crew.skill)
}

impl Place<'_> {
    /// Notes each name that does not exist.
    fn all<'n, K: Kind + 'n>(
        &self,
        names: impl IntoIterator<Item = &'n Id<K>>,
        known: &BTreeSet<&Id<K>>,
        notes: &mut Vec<Note>,
    ) {
        for name in names {
            if known.contains(name) {
                continue;
            }
            let what = format!("there is no {} {name}", K::NOUN);
            let note = Note::error(self.noun, self.id, self.field, what);
            let names = known.iter().map(|id| id.as_str());
            let seek = notes.len() < SOUGHT;
            notes.push(match seek.then(|| nearest(name.as_str(), names)).flatten() {
                Some(near) => note.hinting(format!("is {near} meant?")),
                None if known.is_empty() => {
                    note.hinting(format!("no {} is defined at all", K::NOUN))
                }
                None => {
                    note.hinting(format!("define it, or take it out of {}", self.field))
                }
            });
        }
    }
}

/// After so many notes no near name is sought for the next: each search looks at every
/// name, and nobody reads the thousandth advice.
const SOUGHT: usize = 200;

/// The name that is most like another, if one is like enough: capitals do not count, and
/// a third of the letters may differ.
fn nearest<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let folded = name.to_lowercase();
    let most = (name.chars().count() / 3).max(1);
    known
        .map(|other| (strsim::osa_distance(&folded, &other.to_lowercase()), other))
        .filter(|(distance, _)| *distance <= most)
        .min()
        .map(|(_, other)| other)
}
