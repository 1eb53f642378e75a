//! What has to come off to reach given places, in which order, and the way back.
//!
//! # What it means
//!
//! - The **carrier** of an item is what it is mounted on or else what it is a part of. The
//!   **chain** of an item is the item, its carrier, its carrier's carrier, and so on.
//! - An item that comes off takes along everything that it carries and that is not off yet:
//!   it travels as one unit, and may be stripped further off the aircraft.
//! - Two items are **parted** once something that is off lies in exactly one of their two
//!   chains. A blocker is **out of the way** of an item once they are parted by something
//!   other than that item's own removal. So once its carrier is off, blockers that stay on
//!   the airframe no longer matter to an item, and blockers that travel with it still do.
//!   An item that was off *from the start* is parted from everything that it does not carry.
//! - An item is **exposed** when of each group of `behind` some way has all its items out of
//!   the way. It can be **taken off** when it is exposed, each group of `held_by` is met in
//!   the same sense, it is not `fixed`, and its removal data are there.
//! - Items that are recorded as off, and those the caller names, are off from the start and
//!   cost nothing.
//!
//! Taking something off never closes a way, so an order only has to respect what comes
//! before what. The cheapest set is found exactly: see [`open`].
//!
//! # What it does not know
//!
//! Whether a person would rather strip a unit on the bench or on the aircraft. Where both
//! are lawful, [`Removal::after`] leaves it open; [`Removal::on_unit`],
//! [`Removal::travels`] and [`Removal::lifted_mass`] describe the order as listed.

mod compile;
mod hitting;
mod least;
mod lift;
mod net;
mod order;
mod refuse;
mod relax;
mod tally;
#[cfg(test)]
mod tests;
mod way;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use quantity::Mass;

use crate::support::StageOptions;
use crate::{Airframe, ArrangementId, GearId, ItemId, SkillId, StandId};

/// What somebody wants to get at.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Target {
    /// The item is to be off.
    Free(ItemId),
    /// The item is to be seen and worked on where it is.
    Expose(ItemId),
}

/// What else counts when something is opened.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// How the aircraft stands meanwhile. With it, the order keeps the best margin against
    /// tipping where it would tip otherwise.
    pub arrangement: Option<ArrangementId>,
    /// Items off from the start that go back together with what comes off now.
    pub put_back: BTreeSet<ItemId>,
    /// After how many steps to stop proving that a set is the cheapest. A step is a small
    /// piece of work, some tens of microseconds; the count is the same on every machine. The
    /// default is 100 000, far more than an aircraft takes on which most items have one way in.
    pub steps: u64,
    /// The margin that is asked for, and where ballast can go.
    pub stage: StageOptions,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            arrangement: None,
            put_back: BTreeSet::new(),
            steps: 100_000,
            stage: StageOptions::default(),
        }
    }
}

/// What comes off, in which order, and how it goes back.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// What was off already.
    pub off: BTreeSet<ItemId>,
    /// What comes off, in a lawful order.
    pub removals: Vec<Removal>,
    /// What goes back, in a lawful order: the removals, and what was asked to go back with
    /// them.
    pub refits: Vec<Refit>,
    /// For each target, in the order asked: the removals that reach it.
    pub reached: Vec<Reached>,
    /// Person-minutes of removal and refit by the likely hours, at least 1 for each item.
    pub cost: u64,
    /// No lawful set costs less than this.
    pub bound: u64,
    /// Whether the cost is proven to be the least.
    pub optimal: bool,
    /// Person-minutes by skill.
    pub hours: BTreeMap<SkillId, SkillHours>,
    /// Stands that are taken up, each by one item from its removal to its refit.
    pub stands: Vec<StandUse>,
    /// Lifting gear that is used.
    pub gear: Vec<GearUse>,
    /// What somebody should look at before it is done.
    pub warnings: Vec<Warning>,
}

/// One item that comes off.
#[derive(Debug, Clone, PartialEq)]
pub struct Removal {
    /// The item.
    pub item: ItemId,
    /// The removals that must be done before it: the way in that is used, none of which
    /// could be left out, and strips that a lifting limit asks for.
    pub after: Vec<ItemId>,
    /// The unit from which it is stripped off the aircraft, in the order as listed.
    pub on_unit: Option<ItemId>,
    /// What goes along with it, in the order as listed.
    pub travels: Vec<ItemId>,
    /// What it comes off for.
    pub why: Vec<Why>,
    /// What is lifted, in the order as listed; nothing if no mass is known at all.
    pub lifted_mass: Option<Mass>,
    /// Items among those lifted whose mass is not known.
    pub unknown_masses: Vec<ItemId>,
}

/// What a removal is for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// It reaches a target.
    Target(Target),
    /// Another item that comes off cannot do so before.
    Item(ItemId),
    /// A unit is stripped of it before it is lifted, to keep within a lifting limit.
    Lightens(ItemId),
}

/// One item that goes back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refit {
    /// The item.
    pub item: ItemId,
    /// The refits that must be done before it.
    pub after: Vec<ItemId>,
}

/// A target, and what had to come off for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reached {
    /// The target.
    pub target: Target,
    /// The removals after which it is reached; none if it was from the start.
    pub after: Vec<ItemId>,
    /// What must not go back before the work on it is done: those removals, and what was
    /// off from the start and goes back.
    pub holds: Vec<ItemId>,
}

/// Person-minutes of one skill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct SkillHours {
    /// Of removal.
    pub removal: Minutes,
    /// Of refit.
    pub refit: Minutes,
}

/// Three figures in minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Minutes {
    /// At least.
    pub low: i64,
    /// Most likely.
    pub likely: i64,
    /// At most.
    pub high: i64,
}

/// One stand that is taken up.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct StandUse {
    /// The class of stand.
    pub stand: StandId,
    /// The item that takes it up, from its removal to its refit.
    pub item: ItemId,
}

/// What a piece of lifting gear is used for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct GearUse {
    /// The gear.
    pub gear: GearId,
    /// The removals.
    pub removals: Vec<ItemId>,
    /// The refits.
    pub refits: Vec<ItemId>,
}

/// What somebody should look at before an opening is carried out.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// A lift may exceed the safe working load even when all that can be stripped first is
    /// stripped.
    OverLimit {
        /// What is lifted.
        item: ItemId,
        /// By what.
        gear: GearId,
        /// How much it is.
        mass: Mass,
        /// How much the gear may bear.
        limit: Mass,
    },
    /// A lift has a limit, and masses within it are not known.
    UnknownLift {
        /// What is lifted.
        item: ItemId,
        /// By what.
        gear: GearId,
        /// The items without a mass.
        unknown: Vec<ItemId>,
    },
    /// `refit_after` asks for a ring; its demands within the ring were dropped.
    RefitRing(Vec<ItemId>),
    /// `refit_after` names an item that is off and does not go back now.
    RefitWaits {
        /// What should wait.
        item: ItemId,
        /// For what.
        absent: ItemId,
    },
}

/// Why something cannot be opened.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", refuse::sentence(self))]
pub struct Refusal {
    /// Every target that cannot be reached, with what is in its way.
    pub refused: Vec<Refused>,
    /// The targets that can be.
    pub fine: Vec<Target>,
}

/// A target that cannot be reached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// The target.
    pub target: Target,
    /// Each obstacle that was met on the way to it; never empty.
    pub reasons: Vec<Obstacle>,
}

/// Why a target cannot be reached.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Obstacle {
    /// There is no such item.
    Unknown {
        /// The name.
        item: ItemId,
    },
    /// The item never comes off.
    Fixed {
        /// The item.
        item: ItemId,
        /// Why it never does.
        why: String,
    },
    /// Nobody has said what its removal takes.
    NoRemoval {
        /// The item; its `off_crew` and `off_hours` are missing.
        item: ItemId,
    },
    /// Each waits for the next, and the last for the first.
    Ring {
        /// The items.
        items: Vec<ItemId>,
    },
    /// A blocker that is the item itself or carries it: nothing can part the two.
    Inseparable {
        /// The item that is blocked.
        item: ItemId,
        /// What blocks it.
        blocker: ItemId,
    },
}

impl Target {
    /// The item that is meant.
    pub const fn item(&self) -> &ItemId {
        match self {
            Self::Free(item) | Self::Expose(item) => item,
        }
    }
}

impl Minutes {
    pub(crate) fn add(&mut self, heads: i64, hours: &quantity::Estimate<quantity::Work>) {
        self.low += heads * hours.low().minutes();
        self.likely += heads * hours.likely().minutes();
        self.high += heads * hours.high().minutes();
    }
}

impl fmt::Display for Target {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Free(item) => write!(f, "{item} off"),
            Self::Expose(item) => write!(f, "{item} exposed"),
        }
    }
}

/// The cheapest lawful set of removals that reaches all targets, with its order and the way
/// back.
///
/// `off` are the items that are off from the start, besides those recorded as off. The
/// cost of a removal is its person-minutes and those of its refit by the likely hours, at
/// least 1. The set is the cheapest one; only when [`Options::steps`] ran out is it the best
/// found so far, with the bound that was proven by then. Names in `off` or
/// [`Options::put_back`] that are no items are ignored.
///
/// # Method
/// A set of removals that no lawful set can do without entirely is a *landmark*. The
/// cheapest set that takes something from each known landmark costs no more than the
/// cheapest lawful one; when it is lawful, it is that one, and when it is not, whatever
/// it still fails to reach gives a new landmark (Haslum, Slaney and Thiébaux, "Minimal
/// landmarks for optimal delete-free planning", 2012; the method from memory).
pub fn open(
    airframe: &Airframe,
    off: &BTreeSet<ItemId>,
    targets: &[Target],
    options: &Options,
) -> Result<Opening, Refusal> {
    let start = compile::Start::new(airframe, off, options);
    let compiled = compile::compile(airframe, &start, targets);
    if !compiled.unreached.is_empty() {
        return Err(refuse::refuse(airframe, &start, targets, &compiled));
    }
    let found = compiled.least(options.steps);
    let plan = way::choose(airframe, &start, &found.chosen, targets);
    Ok(order::opening(airframe, &start, plan, &found, options))
}

/// The lawful way to put back what is off, for items that were taken off earlier, and what
/// would have come before what had they been taken off now.
///
/// The same as [`open`] without targets, with `back` to go back.
pub fn refit(
    airframe: &Airframe,
    off: &BTreeSet<ItemId>,
    back: &BTreeSet<ItemId>,
    options: &Options,
) -> Result<Opening, Refusal> {
    let options = Options { put_back: back.clone(), ..options.clone() };
    open(airframe, &off.union(back).cloned().collect(), &[], &options)
}

/// What goes along when an item comes off while `off` is off: all that it carries, at any
/// depth, and that is not off. Nothing for an unknown item.
pub fn travels(
    airframe: &Airframe,
    off: &BTreeSet<ItemId>,
    item: &ItemId,
) -> Vec<ItemId> {
    let layout = airframe.layout();
    let off = airframe.marked(off);
    let Some(at) = layout.place(item) else { return Vec::new() };
    airframe.names(layout.travels(at, &off))
}
