//! Acts about the air in the hangar.

use airframe::ItemId;
use jiff::civil::DateTime;
use quantity::{Temperature, Typed};

use crate::{PlaceId, ToolId};

/// States what the air was like, before and while something is painted, sealed or bonded.
#[derive(Debug, Clone, PartialEq)]
pub struct AirReading {
    /// Where it was read; the hangar itself if no place of the list is named.
    pub place: Option<PlaceId>,
    /// When it was read, on the workshop's clock; the moment of signing if nothing is said.
    pub at: Option<DateTime>,
    /// How warm the air was.
    pub temperature: Typed<Temperature>,
    /// Its relative humidity, in per cent.
    pub humidity: f64,
    /// How warm the surface was that is to be painted.
    pub surface: Option<Typed<Temperature>>,
    /// The item whose surface that was; any that is there if none is named.
    pub surface_of: Option<ItemId>,
    /// With what it was read.
    pub instruments: Vec<ToolId>,
    /// What else there is to say.
    pub note: Option<String>,
}
