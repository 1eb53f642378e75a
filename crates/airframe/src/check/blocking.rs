//! What blocks what: items that never come off or never show.

use std::collections::{BTreeMap, BTreeSet};

use super::items::path;
use crate::layout::{Layout, OpenGroup};
use crate::rings::{Waits, rings};
use crate::{Group, Item, ItemId, Note};

/// What stays when everything comes off that can.
struct Stuck<'s> {
    items: &'s [Item],
    layout: Layout,
    off: Vec<bool>,
}

pub(super) fn check(items: &[Item], notes: &mut Vec<Note>) {
    let stuck = Stuck::of(items);
    let mut waits: Waits = BTreeMap::new();
    for (at, item) in items.iter().enumerate() {
        let mut vain = BTreeSet::new();
        for (field, needs) in [("behind", &item.behind), ("held_by", &item.held_by)] {
            for group in &needs.groups {
                let open = stuck.layout.open(group, at, &stuck.off);
                if let Some(open) = &open {
                    stuck.obvious(at, field, group, open, notes);
                }
                vain.extend(open.into_iter().flatten().flatten().flatten());
            }
        }
        if !stuck.off[at] && item.fixed.is_none() {
            waits.insert(at, vain);
        }
    }
    let ids: Vec<&ItemId> = items.iter().map(|item| &item.id).collect();
    for ring in rings(&waits) {
        let first = &items[ring[0]];
        let behind = stuck.layout.unmet(&first.behind, ring[0], &stuck.off);
        let field = if behind.is_empty() { "held_by" } else { "behind" };
        let way = path(&ring, &ids);
        let what =
            format!("none can come off, each is blocked by the next in a ring: {way}");
        let note = Note::error("item", &first.id, field, what);
        notes.push(
            note.hinting("one of them must have another way in, or come off first"),
        );
    }
    missing(items, notes);
}

impl<'s> Stuck<'s> {
    /// Takes off everything that can come off, as if nobody lacked removal data: what is
    /// not known yet is not impossible.
    fn of(items: &'s [Item]) -> Self {
        let layout = Layout::of(items);
        let mut off: Vec<bool> = items.iter().map(|item| item.off).collect();
        loop {
            let free = |at: &usize| {
                let item = &items[*at];
                !off[*at]
                    && item.fixed.is_none()
                    && layout.unmet(&item.behind, *at, &off).is_empty()
                    && layout.unmet(&item.held_by, *at, &off).is_empty()
            };
            let more: Vec<usize> = (0..items.len()).filter(free).collect();
            if more.is_empty() {
                return Self { items, layout, off };
            }
            for at in more {
                off[at] = true;
            }
        }
    }

    /// Blockers that nothing at all can part from an item. An error where the item is its
    /// own carrier's prisoner, a warning where everything that would part them is fixed:
    /// a place that never shows may be true.
    fn obvious(
        &self,
        at: usize,
        field: &'static str,
        group: &Group,
        open: &OpenGroup,
        notes: &mut Vec<Note>,
    ) {
        let item = &self.items[at];
        let fixed = |at: &usize| self.items[*at].fixed.is_some();
        let closed =
            |way: &Vec<Vec<usize>>| way.iter().any(|part| part.iter().all(fixed));
        if !open.iter().all(closed) {
            return;
        }
        for name in group.ways.iter().flat_map(|way| &way.items) {
            if *name == item.id {
                continue;
            }
            let Some(blocker) = self.layout.place(name) else { continue };
            let parting = self.layout.parting(blocker, at);
            if parting.is_empty() {
                let what = format!("{name} carries it and can never be out of its way");
                let note = Note::error("item", &item.id, field, what);
                notes.push(note.hinting(format!("name what lies between, not {name}")));
            } else if parting.iter().all(fixed) {
                let what = format!("{name} never comes off, so it is always in the way");
                let note = Note::warning("item", &item.id, field, what);
                notes.push(note.hinting("is there another way in?"));
            }
        }
    }
}

/// Items that stand in the way of others and of which nobody has said how they come off.
fn missing(items: &[Item], notes: &mut Vec<Note>) {
    let mut blocked: BTreeMap<&ItemId, usize> = BTreeMap::new();
    for item in items {
        let named: BTreeSet<_> =
            item.behind.items().chain(item.held_by.items()).collect();
        for id in named {
            *blocked.entry(id).or_default() += 1;
        }
    }
    for item in items {
        let Some(count) = blocked.get(&item.id) else { continue };
        if item.removal.is_none() && item.fixed.is_none() && !item.off {
            let others = if *count == 1 { "1 other" } else { &format!("{count} others") };
            let what =
                format!("it is in the way of {others}, and its removal is not given");
            let note = Note::warning("item", &item.id, "off_crew", what);
            notes.push(note.hinting("give off_crew and off_hours"));
        }
    }
}
