//! The definition, step by step, without any cleverness.

use std::collections::{BTreeMap, BTreeSet};

use crate::access::Target;
use crate::{Item, ItemId, Needs};

pub(super) type Off = BTreeSet<ItemId>;

pub(super) struct Naive {
    items: BTreeMap<ItemId, Item>,
    pub(super) start: Off,
}

impl Naive {
    pub(super) fn new(items: &[Item], off: &Off) -> Self {
        let recorded = items.iter().filter(|item| item.off).map(|item| item.id.clone());
        let start = recorded.chain(off.iter().cloned()).collect();
        let items = items.iter().map(|item| (item.id.clone(), item.clone())).collect();
        Self { items, start }
    }

    fn chain(&self, id: &ItemId) -> BTreeSet<ItemId> {
        let mut chain = BTreeSet::from([id.clone()]);
        let item = &self.items[id];
        if let Some(carrier) = item.mounted_on.clone().or(item.part_of.clone()) {
            chain.extend(self.chain(&carrier));
        }
        chain
    }

    fn out_of_the_way(&self, blocker: &ItemId, of: &ItemId, off: &Off) -> bool {
        let (one, other) = (self.chain(blocker), self.chain(of));
        one.symmetric_difference(&other)
            .any(|id| off.contains(id) && (id != of || self.start.contains(of)))
    }

    fn met(&self, needs: &Needs, of: &ItemId, off: &Off) -> bool {
        needs.groups.iter().all(|group| {
            group
                .ways
                .iter()
                .any(|way| way.items.iter().all(|b| self.out_of_the_way(b, of, off)))
        })
    }

    pub(super) fn exposed(&self, id: &ItemId, off: &Off) -> bool {
        self.met(&self.items[id].behind, id, off)
    }

    pub(super) fn can_come_off(&self, id: &ItemId, off: &Off) -> bool {
        let item = &self.items[id];
        !off.contains(id)
            && item.fixed.is_none()
            && item.removal.is_some()
            && self.exposed(id, off)
            && self.met(&item.held_by, id, off)
    }

    pub(super) fn reached(&self, target: &Target, off: &Off) -> bool {
        match target {
            Target::Free(id) => off.contains(id),
            Target::Expose(id) => self.exposed(id, off),
        }
    }

    /// The cheapest cost over all orders, by going through every state that can be reached
    /// one removal at a time; nothing if no state reaches the targets.
    pub(super) fn cheapest(&self, targets: &[Target]) -> Option<u64> {
        let mut best: BTreeMap<Off, u64> = BTreeMap::new();
        let mut queue = BTreeSet::from([(0, self.start.clone())]);
        while let Some((spent, off)) = queue.pop_first() {
            if best.get(&off).is_some_and(|known| *known <= spent) {
                continue;
            }
            best.insert(off.clone(), spent);
            if targets.iter().all(|target| self.reached(target, &off)) {
                return Some(spent);
            }
            for id in self.items.keys().filter(|id| self.can_come_off(id, &off)) {
                let mut next = off.clone();
                next.insert(id.clone());
                queue.insert((spent + self.cost(id), next));
            }
        }
        None
    }

    pub(super) fn cost(&self, id: &ItemId) -> u64 {
        let item = &self.items[id];
        let minutes = |h: &Option<crate::Handling>| {
            h.as_ref().map_or(0, crate::Handling::person_minutes)
        };
        (minutes(&item.removal) + minutes(&item.refit)).max(1) as u64
    }
}
