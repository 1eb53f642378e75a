//! What the areas of the domain have in common: registers of named things, and changes.

use std::collections::BTreeMap;
use std::sync::Arc;

/// A thing that has a name in the programme.
pub trait Named: Clone + PartialEq {
    /// The type of the name.
    type Name: Clone + Ord + std::fmt::Display + std::fmt::Debug;

    /// What people call such a thing, in the singular.
    const NOUN: &'static str;

    /// Its name.
    fn name(&self) -> &Self::Name;
}

/// All things of one kind, by name. Cheap to clone: a snapshot shares what did not change.
#[derive(Debug, Clone, PartialEq)]
pub struct Register<T: Named> {
    things: BTreeMap<T::Name, Arc<T>>,
}

/// What can happen to a thing: it is put down in a new state, or taken away. Nothing is
/// lost by it, the entries before it stay.
#[derive(Debug, Clone, PartialEq)]
pub enum Change<T: Named> {
    /// From now on it is as this says.
    Define(Arc<T>),
    /// From now on it is no longer part of the programme.
    Retire(T::Name),
}

impl<T: Named> Change<T> {
    /// The name of the thing that changes.
    pub fn name(&self) -> &T::Name {
        match self {
            Self::Define(thing) => thing.name(),
            Self::Retire(name) => name,
        }
    }

    /// The noun of the thing, its name, and whether it is taken away.
    pub(crate) fn about(&self) -> (&'static str, String, bool) {
        (T::NOUN, self.name().to_string(), matches!(self, Self::Retire(_)))
    }
}

impl<T: Named> Default for Register<T> {
    fn default() -> Self {
        Self { things: BTreeMap::new() }
    }
}

impl<T: Named> Register<T> {
    /// The thing of a name.
    pub fn get(&self, name: &T::Name) -> Option<&T> {
        self.things.get(name).map(AsRef::as_ref)
    }

    /// Whether there is a thing of a name.
    pub fn has(&self, name: &T::Name) -> bool {
        self.things.contains_key(name)
    }

    /// All of them, by name.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = &T> + Clone {
        self.things.values().map(AsRef::as_ref)
    }

    /// The names.
    pub fn names(&self) -> impl ExactSizeIterator<Item = &T::Name> + Clone {
        self.things.keys()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.things.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.things.is_empty()
    }

    /// Folds a change into it.
    pub fn apply(&mut self, change: &Change<T>) {
        match change {
            Change::Define(thing) => {
                self.things.insert(thing.name().clone(), Arc::clone(thing));
            }
            Change::Retire(name) => {
                self.things.remove(name);
            }
        }
    }

    /// The changes that turn this register into another: first what is new or different,
    /// then what is gone.
    pub fn changes_to(&self, other: &Self) -> Vec<Change<T>> {
        let changed = other
            .things
            .iter()
            .filter(|(name, thing)| self.things.get(*name) != Some(*thing))
            .map(|(_, thing)| Change::Define(Arc::clone(thing)));
        let gone = self
            .things
            .keys()
            .filter(|name| !other.things.contains_key(*name))
            .map(|name| Change::Retire(name.clone()));
        changed.chain(gone).collect()
    }
}

impl<T: Named> FromIterator<T> for Register<T> {
    fn from_iter<I: IntoIterator<Item = T>>(things: I) -> Self {
        let things =
            things.into_iter().map(|t| (t.name().clone(), Arc::new(t))).collect();
        Self { things }
    }
}

impl Named for airframe::Zone {
    type Name = airframe::ZoneId;
    const NOUN: &'static str = "zone";

    fn name(&self) -> &Self::Name {
        &self.id
    }
}

impl Named for airframe::Item {
    type Name = airframe::ItemId;
    const NOUN: &'static str = "item";

    fn name(&self) -> &Self::Name {
        &self.id
    }
}

impl Named for airframe::Connection {
    type Name = airframe::ConnectionId;
    const NOUN: &'static str = "connection";

    fn name(&self) -> &Self::Name {
        &self.id
    }
}

impl Named for airframe::CheckRule {
    type Name = airframe::CheckId;
    const NOUN: &'static str = "check";

    fn name(&self) -> &Self::Name {
        &self.id
    }
}

impl Named for airframe::Gear {
    type Name = airframe::GearId;
    const NOUN: &'static str = "lifting gear";

    fn name(&self) -> &Self::Name {
        &self.id
    }
}

impl Named for airframe::Arrangement {
    type Name = airframe::ArrangementId;
    const NOUN: &'static str = "arrangement";

    fn name(&self) -> &Self::Name {
        &self.id
    }
}
