//! Items and zones.

use quantity::{Length, Mass, Typed};

use crate::{Chapter, Handling, ItemId, Needs, StandId, ZoneId};

/// A part of the aircraft that can be named, judged and, mostly, taken off.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Its name in the programme.
    pub id: ItemId,
    /// What people call it.
    pub name: String,
    /// The assembly that it belongs to in the breakdown.
    pub part_of: Option<ItemId>,
    /// Where on the aircraft it is.
    pub zone: Option<ZoneId>,
    /// Its system or structure, by the public chapter list.
    pub chapter: Option<Chapter>,
    /// Part number, as on its plate or drawing.
    pub part_number: Option<String>,
    /// Serial number, as on its plate.
    pub serial: Option<String>,
    /// What it is made of.
    pub material: Option<String>,
    /// Mass of the item alone, without what is mounted on it.
    pub mass: Option<Typed<Mass>>,
    /// Where its mass acts, aft of the datum.
    pub arm: Option<Typed<Length>>,
    /// Where its mass acts, to starboard of the centre line.
    pub side: Option<Typed<Length>>,
    /// What it is fixed to, if that is not what it is a part of.
    pub mounted_on: Option<ItemId>,
    /// What must be out of the way to see it and work on it where it is.
    pub behind: Needs,
    /// What must be out of the way, besides, to take it off.
    pub held_by: Needs,
    /// Why it never comes off, where that is so: it is the structure that the rest hangs
    /// on.
    pub fixed: Option<String>,
    /// What it takes to take it off.
    pub removal: Option<Handling>,
    /// What it takes to put it back.
    pub refit: Option<Handling>,
    /// What it occupies while it is off.
    pub stand: Option<StandId>,
    /// Items that must be fitted before it goes back, where that is more than the removal
    /// reversed.
    pub refit_after: Vec<ItemId>,
    /// A mistake in its assembly could lose the aircraft.
    pub vital: bool,
    /// It was off already when the survey was made.
    pub off: bool,
}

impl Item {
    /// An item of which nothing is known but its names.
    pub fn new(id: ItemId, name: impl Into<String>) -> Self {
        Self {
            id,
            name: name.into(),
            part_of: None,
            zone: None,
            chapter: None,
            part_number: None,
            serial: None,
            material: None,
            mass: None,
            arm: None,
            side: None,
            mounted_on: None,
            behind: Needs::NONE,
            held_by: Needs::NONE,
            fixed: None,
            removal: None,
            refit: None,
            stand: None,
            refit_after: Vec::new(),
            vital: false,
            off: false,
        }
    }

    /// What carries it: what it is mounted on or else what it is a part of. It travels
    /// with its carrier unless it comes off first.
    pub fn carrier(&self) -> Option<&ItemId> {
        self.mounted_on.as_ref().or(self.part_of.as_ref())
    }
}

/// A region of the aircraft.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Zone {
    /// Its name in the programme.
    pub id: ZoneId,
    /// What people call it.
    pub name: String,
    /// The greater zone that it lies in.
    pub within: Option<ZoneId>,
}
