//! What it takes to take an item off or to put it back.

use quantity::{Estimate, Mass, Typed, Work};

use crate::{GearId, SkillId};

/// The hands, hours and gear for one removal or one refit.
#[derive(Debug, Clone, PartialEq)]
pub struct Handling {
    /// Who it takes, all of them for the whole of it.
    pub crew: Vec<Crew>,
    /// How long it takes them.
    pub hours: Estimate<Work>,
    /// Lifting gear in use for the whole of it.
    pub gear: Vec<GearId>,
}

impl Handling {
    /// Person-minutes, by the likely duration.
    pub fn person_minutes(&self) -> i64 {
        let heads: i64 = self.crew.iter().map(|crew| i64::from(crew.count)).sum();
        heads * self.hours.likely().minutes()
    }
}

/// So many people of one skill.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Crew {
    /// How many; at least 1.
    pub count: u32,
    /// What they must be able to do.
    pub skill: SkillId,
}

/// A crane, hoist, sling or dolly.
#[derive(Debug, Clone, PartialEq)]
pub struct Gear {
    /// Its name in the programme.
    pub id: GearId,
    /// What people call it.
    pub name: String,
    /// How many there are.
    pub count: u32,
    /// The safe working load, if it lifts.
    pub limit: Option<Typed<Mass>>,
}

/// The names that an airframe refers to and that are kept by others.
#[derive(Debug, Clone, Default)]
pub struct Kinds {
    /// The skills that exist.
    pub skills: std::collections::BTreeSet<SkillId>,
    /// The stands that exist.
    pub stands: std::collections::BTreeSet<crate::StandId>,
}
