//! The whole programme as values, and the entries that change it.

use std::sync::Arc;

use airframe::{Airframe, Arrangement, CheckRule, Connection, Gear, Item, Note, Zone};

use crate::{
    Actual, Change, Finding, Firm, Gate, Info, Job, Outline, Pack, Person, Place,
    Register, Requirement, Retention, Route, Rule, Season, Skill, Stand, Tool,
};

/// Declares the areas of the domain once: the fields of [`Programme`], the variants of
/// [`Entry`], and the three functions that must treat every area alike. A new area is a
/// new module and one line below.
macro_rules! areas {
    ($($(#[$doc:meta])* $variant:ident $field:ident: $thing:ty,)*) => {
        /// The whole return to flight of one aircraft.
        ///
        /// Cheap to clone; a clone is a snapshot.
        #[derive(Debug, Clone, PartialEq, Default)]
        pub struct Programme {
            /// What it is about; nothing in a programme that is still empty.
            pub info: Option<Arc<Info>>,
            $($(#[$doc])* pub $field: Register<$thing>,)*
            /// What the acts of people came to.
            pub shop: crate::Shop,
        }

        /// Something that changed, as it is kept for ever.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Entry {
            /// What the programme is about.
            Info(Arc<Info>),
            $($(#[$doc])* $variant(Change<$thing>),)*
        }

        impl Programme {
            /// Folds an entry into the programme.
            pub fn apply(&mut self, entry: &Entry) {
                match entry {
                    Entry::Info(info) => self.info = Some(Arc::clone(info)),
                    $(Entry::$variant(change) => self.$field.apply(change),)*
                }
            }

            /// The entries that turn this programme into another.
            pub fn changes_to(&self, other: &Self) -> Vec<Entry> {
                let mut entries = Vec::new();
                if let Some(info) = &other.info && self.info != other.info {
                    entries.push(Entry::Info(Arc::clone(info)));
                }
                $(
                    let changes = self.$field.changes_to(&other.$field);
                    entries.extend(changes.into_iter().map(Entry::$variant));
                )*
                entries
            }
        }

        impl Entry {
            /// The noun of what it is about, its name, and whether it was taken away.
            pub fn about(&self) -> (&'static str, String, bool) {
                match self {
                    Self::Info(_) => ("programme", String::new(), false),
                    $(Self::$variant(change) => change.about(),)*
                }
            }
        }

        impl Programme {
            /// Whether what an entry is about is in the programme.
            pub fn has(&self, entry: &Entry) -> bool {
                match entry {
                    Entry::Info(_) => self.info.is_some(),
                    $(Entry::$variant(change) => self.$field.has(change.name()),)*
                }
            }
        }
    };
}

areas! {
    /// Gates.
    Gate gates: Gate,
    /// Skills.
    Skill skills: Skill,
    /// Zones of the aircraft.
    Zone zones: Zone,
    /// Stands.
    Stand stands: Stand,
    /// Places.
    Place places: Place,
    /// Lifting gear.
    Gear gear: Gear,
    /// Ways to support the aircraft.
    Arrangement arrangements: Arrangement,
    /// Items of the aircraft.
    Item items: Item,
    /// Connections between items.
    Connection connections: Connection,
    /// Rules for checks.
    Check checks: CheckRule,
    /// People.
    Person people: Person,
    /// Outside firms.
    Firm firms: Firm,
    /// Routes.
    Route routes: Route,
    /// Seasons.
    Season seasons: Season,
    /// Packs.
    Pack packs: Pack,
    /// Findings.
    Finding findings: Finding,
    /// Written jobs.
    Job jobs: Job,
    /// What has happened of jobs.
    Actual actuals: Actual,
    /// Tools and instruments.
    Tool tools: Tool,
    /// What gates ask for.
    Requirement requirements: Requirement,
    /// What the programme says about the rules.
    Rule rules: Rule,
    /// How long classes of records are kept.
    Retention retention: Retention,
    /// Outlines of zones in the drawings.
    Outline outlines: Outline,
}

impl Programme {
    /// The airframe of the programme, or what does not fit together in it.
    pub fn airframe(&self) -> Result<Airframe, Vec<Note>> {
        Airframe::new(self.airframe_parts(), &self.kinds())
    }

    /// The airframe as it stood when a day began: what was off then is off.
    pub fn airframe_on(&self, day: jiff::civil::Date) -> Result<Airframe, Vec<Note>> {
        let mut parts = self.airframe_parts();
        for item in &mut parts.items {
            item.off = self.was_off(&item.id, day);
        }
        Airframe::new(parts, &self.kinds())
    }
}
