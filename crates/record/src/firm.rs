//! Outside firms.

use quantity::{Elapsed, Estimate};

use crate::{DateSpan, FirmId, Weekdays};

/// A firm that takes work in: NDT, plating, machining, overhaul, paint.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Firm {
    /// Its name in the programme.
    pub id: FirmId,
    /// What people call it.
    pub name: String,
    /// What it does, in the programme's words.
    pub does: String,
    /// Days of the week on which it collects and delivers; none means any working day.
    pub collects: Weekdays,
    /// How long it keeps things, unless a step says otherwise.
    pub turnaround: Estimate<Elapsed>,
    /// How many pieces it takes in at once; nothing if it never says no.
    pub at_once: Option<u32>,
    /// When it is shut, both days included; things in hand there wait.
    pub closed: Vec<DateSpan>,
    /// Whether it comes to the aircraft or the parts go to it.
    pub takes_on: TakesOn,
}

/// Where a firm does its work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TakesOn {
    /// Parts are despatched to it and come back.
    Away,
    /// It comes to the hangar, on the days on which it collects.
    Here,
}

impl TakesOn {
    /// The word for it, as files write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Away => "away",
            Self::Here => "here",
        }
    }
}

impl crate::Named for Firm {
    type Name = FirmId;
    const NOUN: &'static str = "firm";

    fn name(&self) -> &FirmId {
        &self.id
    }
}
