//! The air, as it was read.

use jiff::civil::Date;
use record::shop::AirState;
use record::{PlaceId, Programme};

use super::{joined, mark, name, none, or_dash};
use crate::today::{MARGIN, counts_until, cut, degrees};
use crate::{AppError, Sheet};

/// What a word stands for where no place is named.
const HANGAR: &str = "hangar";

const WHAT_IT_IS: &str = "by the Magnus formula with the coefficients of WMO-No. 8 (17.62 and 243.12 °C, over water)";

const NEAR: &str = "a surface less than 3 °C (5 °F) above the dew point is too near, where no data say \
     otherwise, and a reading counts for 4 hours: common practice; the product data sheet and the \
     approved data decide";

pub(super) fn all(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Air on {on}"));
    let rows = programme.shop.air.all_latest().map(|(place, reading)| {
        let mut row =
            vec![or_dash(place), reading.at.strftime("%Y-%m-%d %H:%M").to_string()];
        row.extend(figures(reading));
        row.push(state(reading, on));
        row
    });
    let columns = [
        "place",
        "read",
        "air",
        "humidity, %",
        "dew point",
        "surface",
        "above dew point, degrees",
        "state",
    ];
    sheet.list("last readings", &columns, rows.collect());
    sheet.fact("dew point", WHAT_IT_IS);
    sheet.fact("how near", NEAR);
    sheet
}

/// Whether a reading counts on a day, and what it says of the surface while it does: what is old
/// must not look like what is now.
fn state(reading: &AirState, on: Date) -> String {
    let until = counts_until(reading);
    let age = (on - reading.at.date()).get_days();
    if until.date() < on {
        let days = if age == 1 { "1 day".to_owned() } else { format!("{age} days") };
        return format!("{days} old: counts no longer, read it again");
    }
    let surface = match reading.margin().map(cut) {
        None => "the surface was not read; ",
        Some(margin) if margin < MARGIN => "the surface is too near the dew point; ",
        Some(_) => "",
    };
    format!("{surface}counts until {}", until.strftime("%Y-%m-%d %H:%M"))
}

/// All readings of a place, or of the hangar itself, the last one first.
pub(super) fn one(programme: &Programme, place: &str) -> Result<Sheet, AppError> {
    let id: PlaceId = name(place)?;
    let found = programme.places.get(&id);
    if found.is_none() && place != HANGAR {
        let known = programme.places.names().map(ToString::to_string);
        return Err(none("place", place, known.chain([HANGAR.to_owned()])));
    }
    let key = found.map(|found| found.id.clone());
    let called = found.map_or("the hangar itself", |found| found.name.as_str());
    let mut sheet = Sheet::new(format!("Air of {place}: {called}"));
    let readings = programme.shop.air.readings.get(&key).into_iter().flatten();
    let rows = readings.rev().map(|reading| {
        let mut row = vec![reading.at.strftime("%Y-%m-%d %H:%M").to_string()];
        row.extend(figures(reading));
        row.push(joined(reading.instruments.iter()));
        row.push(or_dash(reading.note.as_ref()));
        row.push(mark(&reading.mark));
        row.push(if reading.struck { "struck through" } else { "" }.to_owned());
        row
    });
    let columns = [
        "read",
        "air",
        "humidity, %",
        "dew point",
        "surface",
        "above dew point, degrees",
        "instruments",
        "note",
        "signed",
        "state",
    ];
    sheet.list("readings", &columns, rows.collect());
    sheet.fact("dew point", WHAT_IT_IS);
    Ok(sheet)
}

fn figures(reading: &AirState) -> [String; 5] {
    let surface = reading.surface.map(|surface| {
        let of = reading.surface_of.as_ref();
        let of = of.map_or_else(String::new, |item| format!(", of {item}"));
        format!("{}{of}", degrees(surface))
    });
    [
        degrees(reading.temperature),
        reading.humidity.to_string(),
        or_dash(reading.dew_point().map(degrees)),
        or_dash(surface),
        or_dash(reading.margin().map(|margin| format!("{:.1}", cut(margin)))),
    ]
}
