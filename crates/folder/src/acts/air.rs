//! Acts about the air in the hangar.

use airframe::ItemId;
use jiff::civil::DateTime;
use quantity::{Temperature, Typed};
use record::{PlaceId, ToolId};

use crate::acts::table::declare;

declare! {
    act AirReading "air-reading" "States what the air was like, before and while something is painted, sealed or bonded." {
        may place: PlaceId, "Where it was read; the hangar itself if no place is named.", "BOOTH";
        may at: DateTime, "When it was read, on the workshop's clock; the moment of signing if nothing is said.", "2032-01-14 09:30";
        must temperature: Typed<Temperature>, "How warm the air was.", "18.5 °C";
        must humidity: f64, "Its relative humidity, in per cent.", "62";
        may surface: Typed<Temperature>, "How warm the surface was that is to be painted.", "16 °C";
        may surface_of: ItemId, "The item whose surface that was; any that is there if none is named.", "HULL";
        list instruments: ToolId, "With what it was read.", "TH-1; ST-2";
        may note: String, "What else there is to say.", "Doors shut for an hour";
    }
}
