//! Items by themselves and in the tree of carriers.

use std::collections::{BTreeMap, BTreeSet};

use super::Parts;
use crate::rings::{Waits, rings};
use crate::{Item, ItemId, Note};

pub(super) fn check(parts: &Parts, notes: &mut Vec<Note>) {
    parts.items.iter().for_each(|item| alone(item, notes));
    let items = &parts.items;
    let ids: Vec<&ItemId> = items.iter().map(|item| &item.id).collect();
    let carriers = carrier_rings(items);
    // A ring of one is told of the item alone.
    for ring in carriers.iter().filter(|ring| ring.len() > 1) {
        let field =
            if items[ring[0]].mounted_on.is_some() { "mounted_on" } else { "part_of" };
        let what = format!("each is carried by the next in a ring: {}", path(ring, &ids));
        notes.push(Note::error("item", ids[ring[0]], field, what));
    }
    let parts_of = waits(&ids, |at| items[at].part_of.iter());
    let told = |ring: &&Vec<usize>| ring.len() == 1 || carriers.contains(ring);
    for ring in rings(&parts_of).iter().filter(|ring| !told(ring)) {
        let what = format!("each is part of the next in a ring: {}", path(ring, &ids));
        notes.push(Note::error("item", ids[ring[0]], "part_of", what));
    }
    let refits = waits(&ids, |at| items[at].refit_after.iter());
    for ring in rings(&refits).iter().filter(|ring| ring.len() > 1) {
        let what =
            format!("each goes back after the next in a ring: {}", path(ring, &ids));
        notes.push(Note::error("item", ids[ring[0]], "refit_after", what));
    }
    let zones: Vec<_> = parts.zones.iter().map(|zone| &zone.id).collect();
    for ring in rings(&waits(&zones, |at| parts.zones[at].within.iter())) {
        let what =
            format!("each lies within the next in a ring: {}", path(&ring, &zones));
        notes.push(Note::error("zone", zones[ring[0]], "within", what));
    }
}

/// Rings of carriers, of two items or more.
pub(super) fn carrier_rings(items: &[Item]) -> Vec<Vec<usize>> {
    let ids: Vec<_> = items.iter().map(|item| &item.id).collect();
    let carriers = waits(&ids, |at| items[at].carrier().into_iter());
    rings(&carriers)
}

/// What each thing names, by place.
pub(super) fn waits<'w, I: Ord + 'w, N: Iterator<Item = &'w I>>(
    ids: &[&'w I],
    named: impl Fn(usize) -> N,
) -> Waits {
    let place: BTreeMap<&I, usize> =
        ids.iter().enumerate().map(|(at, id)| (*id, at)).collect();
    (0..ids.len())
        .map(|at| (at, named(at).filter_map(|id| place.get(id)).copied().collect()))
        .collect()
}

/// A ring in words, back to its beginning.
pub(super) fn path<I: std::fmt::Display>(ring: &[usize], ids: &[&I]) -> String {
    let there = ring.iter().chain(ring.first());
    there.map(|at| ids[*at].to_string()).collect::<Vec<_>>().join(" → ")
}

fn alone(item: &Item, notes: &mut Vec<Note>) {
    let mut error = |field, what: &str, hint: &str| {
        notes.push(Note::error("item", &item.id, field, what).hinting(hint));
    };
    if item.part_of.as_ref() == Some(&item.id) {
        error("part_of", "it is part of itself", "name the assembly that it belongs to");
    }
    if item.mounted_on.as_ref() == Some(&item.id) {
        error("mounted_on", "it is mounted on itself", "name what it is fixed to");
    }
    for (field, needs) in [("behind", &item.behind), ("held_by", &item.held_by)] {
        if needs.items().any(|id| *id == item.id) {
            error(field, "it blocks itself", "take its own name out");
        }
    }
    if item.refit_after.contains(&item.id) {
        error("refit_after", "it waits for itself", "take its own name out");
    }
    if item.removal.is_some() && item.refit.is_none() {
        error(
            "on_crew",
            "its removal is given and its refit is not",
            "give on_crew and on_hours",
        );
    }
    let mut warn = |field, what: &str, hint: &str| {
        notes.push(Note::warning("item", &item.id, field, what).hinting(hint));
    };
    if item.fixed.is_some() && item.removal.is_some() {
        warn(
            "fixed",
            "it never comes off, and yet its removal is given",
            "drop one of the two",
        );
    }
    if item.fixed.is_some() && item.off {
        warn("off", "it never comes off, and yet it is off", "drop one of the two");
    }
    if item.vital && item.removal.is_none() && item.fixed.is_none() {
        warn(
            "off_crew",
            "it is vital, and nobody has said what its removal takes",
            "give off_crew and off_hours, or say in `fixed` why it never comes off",
        );
    }
    repeats(item, notes);
}

fn repeats(item: &Item, notes: &mut Vec<Note>) {
    let mut seen = BTreeSet::new();
    for id in item.refit_after.iter().filter(|id| !seen.insert(*id)) {
        let what = format!("{id} is named twice");
        notes.push(Note::warning("item", &item.id, "refit_after", what));
    }
}
