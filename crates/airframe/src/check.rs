//! The parts of an airframe, and whether they fit together.

mod blocking;
mod checks;
mod figures;
mod items;
mod names;
mod stands;

use std::collections::{BTreeMap, BTreeSet};

use crate::layout::Layout;
use crate::{
    Arrangement, ArrangementId, CheckId, CheckRule, Connection, ConnectionId, Gear,
    GearId, Item, ItemId, Kinds, Note, Severity, Weighed, Zone,
};

/// Everything that makes up an airframe, as it was recorded.
#[derive(Debug, Clone, Default)]
pub struct Parts {
    /// Zones.
    pub zones: Vec<Zone>,
    /// Items.
    pub items: Vec<Item>,
    /// Connections.
    pub connections: Vec<Connection>,
    /// Rules for checks.
    pub checks: Vec<CheckRule>,
    /// Lifting gear.
    pub gear: Vec<Gear>,
    /// Ways in which the aircraft can be supported.
    pub arrangements: Vec<Arrangement>,
    /// The last weighing, if there is one.
    pub weighed: Option<Weighed>,
}

/// An airframe whose parts fit together, with what the engines look up.
#[derive(Debug, Clone)]
pub struct Airframe {
    parts: Parts,
    layout: Layout,
    connections: BTreeMap<ConnectionId, usize>,
    checks: BTreeMap<CheckId, usize>,
    gear: BTreeMap<GearId, usize>,
    arrangements: BTreeMap<ArrangementId, usize>,
}

/// Everything that is wrong with the parts of an airframe, or that somebody should look at:
/// names that do not exist, rings, figures that cannot be, and items that never come off.
///
/// Errors come before warnings; within each, things in order of noun and name.
pub fn check(parts: &Parts, kinds: &Kinds) -> Vec<Note> {
    let mut notes = Vec::new();
    names::check(parts, kinds, &mut notes);
    items::check(parts, &mut notes);
    figures::check(parts, &mut notes);
    checks::check(parts, &mut notes);
    stands::check(parts, &mut notes);
    // What blocks what can only be followed where carriers form no ring.
    if items::carrier_rings(&parts.items).is_empty() {
        blocking::check(&parts.items, &mut notes);
    }
    notes.sort();
    notes.dedup();
    notes
}

impl Airframe {
    /// Puts an airframe together, or says everything that does not fit. Warnings do not
    /// stand in the way; [`check`] tells them.
    pub fn new(parts: Parts, kinds: &Kinds) -> Result<Self, Vec<Note>> {
        let notes = check(&parts, kinds);
        if notes.iter().any(|note| note.severity == Severity::Error) {
            return Err(notes);
        }
        Ok(Self::of(parts))
    }

    /// An airframe of parts that fit; engines bear rings of blocking, none of carriers.
    pub(crate) fn of(parts: Parts) -> Self {
        Self {
            layout: Layout::of(&parts.items),
            connections: places(parts.connections.iter().map(|c| &c.id)),
            checks: places(parts.checks.iter().map(|c| &c.id)),
            gear: places(parts.gear.iter().map(|g| &g.id)),
            arrangements: places(parts.arrangements.iter().map(|a| &a.id)),
            parts,
        }
    }

    /// The parts that it was made from.
    pub const fn parts(&self) -> &Parts {
        &self.parts
    }

    /// An item by its name.
    pub fn item(&self, id: &ItemId) -> Option<&Item> {
        self.layout.place(id).map(|at| &self.parts.items[at])
    }

    /// A connection by its name.
    pub fn connection(&self, id: &ConnectionId) -> Option<&Connection> {
        self.connections.get(id).map(|at| &self.parts.connections[*at])
    }

    /// A rule for a check by its name.
    pub fn check_rule(&self, id: &CheckId) -> Option<&CheckRule> {
        self.checks.get(id).map(|at| &self.parts.checks[*at])
    }

    /// A piece of lifting gear by its name.
    pub fn gear(&self, id: &GearId) -> Option<&Gear> {
        self.gear.get(id).map(|at| &self.parts.gear[*at])
    }

    /// A way of supporting the aircraft by its name.
    pub fn arrangement(&self, id: &ArrangementId) -> Option<&Arrangement> {
        self.arrangements.get(id).map(|at| &self.parts.arrangements[*at])
    }

    /// What an item carries itself, in the order of the list; nothing for an unknown name.
    pub fn carried_by(&self, id: &ItemId) -> Vec<&Item> {
        let carried = self.layout.place(id).map(|at| self.layout.carried(at));
        carried.unwrap_or_default().iter().map(|at| &self.parts.items[*at]).collect()
    }

    /// The item, its carrier, its carrier's carrier, and so on; nothing for an unknown name.
    pub fn chain(&self, id: &ItemId) -> Vec<&Item> {
        let chain =
            self.layout.place(id).into_iter().flat_map(|at| self.layout.chain(at));
        chain.map(|at| &self.parts.items[at]).collect()
    }

    pub(crate) const fn layout(&self) -> &Layout {
        &self.layout
    }

    pub(crate) fn item_at(&self, at: usize) -> &Item {
        &self.parts.items[at]
    }

    /// What is off: what is recorded so, and the items named. Other names are ignored.
    pub(crate) fn marked(&self, off: &BTreeSet<ItemId>) -> Vec<bool> {
        let mut marked: Vec<bool> =
            self.parts.items.iter().map(|item| item.off).collect();
        off.iter()
            .filter_map(|id| self.layout.place(id))
            .for_each(|at| marked[at] = true);
        marked
    }

    pub(crate) fn names(&self, places: impl IntoIterator<Item = usize>) -> Vec<ItemId> {
        places.into_iter().map(|at| self.parts.items[at].id.clone()).collect()
    }
}

fn places<'i, I: Ord + Clone + 'i>(
    ids: impl Iterator<Item = &'i I>,
) -> BTreeMap<I, usize> {
    ids.enumerate().map(|(at, id)| (id.clone(), at)).collect()
}
