//! What was disturbed, and the checks that the disturbance demands.
//!
//! A connection is broken when something that is off carries exactly one of its two ends:
//! what travels together stays connected. The end `to = None` is the airframe at large,
//! which never comes off. Whatever was broken or taken off demands, once it is whole
//! again, the checks that the programme's rules say ([`checks`]).

mod broken;
mod demand;
mod hands;
mod starter;

pub use broken::broken;
pub use demand::{DemandedCheck, checks};
pub use hands::{breaks, makes};
pub use starter::starter_rules;

use quantity::{Estimate, Work};

use crate::{Chapter, CheckId, ConnectionKind, Crew, ItemId};

/// A rule of the programme: when this is disturbed, that must be checked.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckRule {
    /// Its name in the programme.
    pub id: CheckId,
    /// The check, as a job card would head it.
    pub name: String,
    /// What sets it off.
    pub trigger: CheckTrigger,
    /// How often it is done.
    pub scope: CheckScope,
    /// It must be done by somebody who did not do the work.
    pub independent: bool,
    /// Who it takes.
    pub crew: Vec<Crew>,
    /// How long it takes them.
    pub hours: Estimate<Work>,
    /// Checks that come before it where both are demanded.
    pub after: Vec<CheckId>,
    /// Where the rule comes from, in the programme's words.
    pub source: Option<String>,
}

/// What sets a check off. Every part that is given must fit; a trigger without any part
/// fits each removal.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CheckTrigger {
    /// A connection of one of these kinds is broken.
    pub connections: Vec<ConnectionKind>,
    /// The item that came off, or at either end of the connection, is vital.
    pub vital: bool,
    /// The item's chapter is one of these or lies under one of them.
    pub chapters: Vec<Chapter>,
    /// The item is one of these.
    pub items: Vec<ItemId>,
}

/// How often a check is done when it is demanded more than once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CheckScope {
    /// Once for each connection that was broken.
    Connection,
    /// Once for each item that is refitted.
    Item,
    /// Once for each assembly on which something was refitted: the outermost carrier that
    /// came off, or the item itself.
    Unit,
    /// Once, when all that demand it are back.
    Once,
}

impl CheckScope {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Connection, Self::Item, Self::Unit, Self::Once];

    /// The word for it, as files write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Connection => "connection",
            Self::Item => "item",
            Self::Unit => "unit",
            Self::Once => "once",
        }
    }
}
