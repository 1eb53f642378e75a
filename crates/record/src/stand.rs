//! Stands and places.

use airframe::StandId;

use crate::PlaceId;

/// A class of stands: any fixture that an item occupies while it is off. Those of one
/// class are as good as each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stand {
    /// Its name in the programme.
    pub id: StandId,
    /// What people call it.
    pub name: String,
    /// How many there are.
    pub count: u32,
}

/// A bay, booth or bench in which jobs are done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Its name in the programme.
    pub id: PlaceId,
    /// What people call it.
    pub name: String,
    /// How many jobs it holds at once.
    pub room: u32,
    /// It is warm all the time, whatever the season's heating.
    pub heated: bool,
    /// It keeps the weather out, whatever the day.
    pub dry: bool,
}

impl crate::Named for Stand {
    type Name = StandId;
    const NOUN: &'static str = "stand";

    fn name(&self) -> &StandId {
        &self.id
    }
}

impl crate::Named for Place {
    type Name = PlaceId;
    const NOUN: &'static str = "place";

    fn name(&self) -> &PlaceId {
        &self.id
    }
}
