//! Why a target cannot be reached.

use std::collections::{BTreeMap, BTreeSet};

use super::compile::{Compiled, Start, groups};
use super::{Obstacle, Refusal, Refused, Target};
use crate::rings::rings;
use crate::{Airframe, Item, ItemId, Needs};

/// Every target that cannot be reached, with what was met on the way.
pub(crate) fn refuse(
    airframe: &Airframe,
    start: &Start,
    targets: &[Target],
    compiled: &Compiled,
) -> Refusal {
    let mut refused = Vec::new();
    let mut fine = Vec::new();
    for (place, target) in targets.iter().enumerate() {
        if compiled.unreached.contains(&place) {
            let reasons = reasons(airframe, start, target, compiled);
            refused.push(Refused { target: target.clone(), reasons });
        } else {
            fine.push(target.clone());
        }
    }
    Refusal { refused, fine }
}

/// A walk over what cannot come off, towards the reasons.
struct Walk<'w> {
    airframe: &'w Airframe,
    start: &'w Start,
    can_come_off: &'w [bool],
    /// For each item that was looked at, what it waits for in vain.
    waits: BTreeMap<usize, BTreeSet<usize>>,
    todo: Vec<usize>,
    found: BTreeSet<Obstacle>,
}

fn reasons(
    airframe: &Airframe,
    start: &Start,
    target: &Target,
    compiled: &Compiled,
) -> Vec<Obstacle> {
    let Some(at) = airframe.layout().place(target.item()) else {
        return vec![Obstacle::Unknown { item: target.item().clone() }];
    };
    let mut walk = Walk {
        airframe,
        start,
        can_come_off: &compiled.can_come_off,
        waits: BTreeMap::new(),
        todo: Vec::new(),
        found: BTreeSet::new(),
    };
    match target {
        Target::Free(_) => walk.todo.push(at),
        Target::Expose(_) => {
            walk.look(at, true);
        }
    }
    while let Some(next) = walk.todo.pop() {
        if !walk.waits.contains_key(&next) {
            let waits = walk.item(next);
            walk.waits.insert(next, waits);
        }
    }
    let rings = rings(&walk.waits).into_iter();
    let rings = rings.map(|ring| Obstacle::Ring { items: airframe.names(ring) });
    walk.found.into_iter().chain(rings).collect()
}

impl Walk<'_> {
    fn item(&mut self, at: usize) -> BTreeSet<usize> {
        let item = self.airframe.item_at(at);
        if let Some(why) = &item.fixed {
            self.found
                .insert(Obstacle::Fixed { item: item.id.clone(), why: why.clone() });
            return BTreeSet::new();
        }
        if item.removal.is_none() {
            self.found.insert(Obstacle::NoRemoval { item: item.id.clone() });
            return BTreeSet::new();
        }
        self.look(at, false)
    }

    /// What an item waits for in vain: of each group that no way meets, what would part the
    /// blockers that stay.
    fn look(&mut self, at: usize, expose: bool) -> BTreeSet<usize> {
        let mut waits = BTreeSet::new();
        let comes_off = self.can_come_off;
        let open = |parting: &Vec<usize>| !parting.iter().any(|at| comes_off[*at]);
        for group in groups(self.airframe, at, expose, &self.start.off) {
            if group.iter().any(|way| !way.iter().any(open)) {
                continue;
            }
            for parting in group.iter().flatten().filter(|parting| open(parting)) {
                if parting.is_empty() {
                    self.inseparable(at);
                }
                waits.extend(self.worth_saying(parting));
            }
        }
        self.todo.extend(&waits);
        waits
    }

    /// Of what would part a blocker, what is not fixed, or all of it when nothing else is
    /// left: that a hull never comes off is no news.
    fn worth_saying(&self, parting: &[usize]) -> Vec<usize> {
        let fixed = |at: &usize| self.airframe.item_at(*at).fixed.is_some();
        match parting {
            [blocker, ..] if fixed(blocker) => parting.to_vec(),
            _ if parting.iter().all(fixed) => parting.to_vec(),
            _ => parting.iter().copied().filter(|at| !fixed(at)).collect(),
        }
    }

    fn inseparable(&mut self, at: usize) {
        let item = self.airframe.item_at(at);
        let layout = self.airframe.layout();
        let never = |id: &&ItemId| {
            layout.place(id).is_some_and(|other| layout.parting(other, at).is_empty())
        };
        let blockers = named(item).filter(never);
        self.found.extend(blockers.map(|blocker| Obstacle::Inseparable {
            item: item.id.clone(),
            blocker: blocker.clone(),
        }));
    }
}

fn named(item: &Item) -> impl Iterator<Item = &ItemId> {
    [&item.behind, &item.held_by].into_iter().flat_map(Needs::items)
}

/// The whole refusal, as one sentence for each target.
pub(super) fn sentence(refusal: &Refusal) -> String {
    let lines = refusal.refused.iter().map(|refused| {
        let reasons: Vec<String> =
            refused.reasons.iter().map(ToString::to_string).collect();
        format!("{} cannot be had: {}", refused.target, reasons.join("; "))
    });
    lines.collect::<Vec<_>>().join("\n")
}

impl std::fmt::Display for Obstacle {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Unknown { item } => write!(f, "there is no item {item}"),
            Self::Fixed { item, why } => write!(f, "{item} never comes off ({why})"),
            Self::NoRemoval { item } => {
                write!(f, "off_crew and off_hours of {item} are not given")
            }
            Self::Ring { items } => {
                write!(f, "each waits for the next in a ring: ")?;
                for item in items {
                    write!(f, "{item} → ")?;
                }
                items.first().map_or(Ok(()), |first| write!(f, "{first}"))
            }
            Self::Inseparable { item, blocker } => write!(
                f,
                "{blocker} can never be out of the way of {item}: it carries it"
            ),
        }
    }
}
