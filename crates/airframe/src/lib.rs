//! The aircraft as something to be taken apart and put together again.
//!
//! The breakdown into items, what is mounted on what, what stands in front of what, what
//! is connected to what, and what a disturbance demands. From these the engines answer:
//!
//! - [`access`]: the cheapest set of items that frees or exposes given targets, in an
//!   order that respects what blocks what, and the way back;
//! - [`support`]: the reactions of wheels, jacks and trestles at each stage, and the margin
//!   before the aircraft tips or a support is overloaded;
//! - [`disturbance`]: the connections that were broken and the checks that they demand.
//!
//! **Knows** quantities. **Never knows** time, dates, people by name, storage, files, or
//! how anything is scheduled.

pub mod access;
mod chapter;
mod check;
mod connection;
pub mod disturbance;
mod handling;
mod item;
mod layout;
mod needs;
mod note;
mod rings;
pub mod support;

pub use chapter::{Chapter, ChapterError};
pub use check::{Airframe, Parts, check};
pub use connection::{Connection, ConnectionKind};
pub use disturbance::{CheckRule, CheckScope, CheckTrigger};
pub use handling::{Crew, Gear, Handling, Kinds};
pub use item::{Item, Zone};
pub use needs::{Group, Needs, NeedsError, Way};
pub use note::{Note, Severity, Subject};
pub use support::{Arrangement, SupportKind, SupportPoint, Weighed};

use quantity::kind;

kind!(
    /// The name of an item of the aircraft.
    ItemKind, ItemId, "item"
);
kind!(
    /// The name of a zone of the aircraft.
    ZoneKind, ZoneId, "zone"
);
kind!(
    /// The name of a connection between two items.
    ConnectionName, ConnectionId, "connection"
);
kind!(
    /// The name of a skill.
    SkillKind, SkillId, "skill"
);
kind!(
    /// The name of a class of stands, jigs, cradles or trestles that are as good as each
    /// other for what they hold.
    StandKind, StandId, "stand"
);
kind!(
    /// The name of a piece of lifting gear.
    GearKind, GearId, "lifting gear"
);
kind!(
    /// The name of a rule that says which check a disturbance demands.
    CheckKind, CheckId, "check"
);
kind!(
    /// The name of a way in which the aircraft is supported.
    ArrangementKind, ArrangementId, "arrangement"
);
