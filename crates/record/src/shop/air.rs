//! The air, place by place, reading after reading.

use std::collections::BTreeMap;
use std::sync::Arc;

use airframe::ItemId;
use jiff::civil::DateTime;
use quantity::{Temperature, Typed};

use super::cards::Mark;
use super::judge::{APART_MINUTES, Judge};
use crate::act::{Act, AirReading, Stamp};
use crate::{PlaceId, Programme, RuleKey, ToolId, air};

/// What the air was like.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Airs {
    /// Readings by place, in the order of their time; those without a place are the
    /// hangar's.
    pub readings: BTreeMap<Option<PlaceId>, Vec<AirState>>,
}

/// A reading of the air.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct AirState {
    /// When it was read.
    pub at: DateTime,
    /// The temperature of the air, in °C.
    pub temperature: f64,
    /// The relative humidity, in per cent.
    pub humidity: f64,
    /// The temperature of the surface, in °C.
    pub surface: Option<f64>,
    /// Whose surface that was.
    pub surface_of: Option<ItemId>,
    /// With what it was read.
    pub instruments: Vec<ToolId>,
    /// What else was said.
    pub note: Option<String>,
    /// By whom it was signed and when.
    pub mark: Mark,
    /// Its entry was struck through.
    pub struck: bool,
}

impl AirState {
    /// The dew point, in °C.
    pub fn dew_point(&self) -> Option<f64> {
        air::dew_point(self.temperature, self.humidity)
    }

    /// By how many kelvins the surface lies above the dew point; below it is negative.
    pub fn margin(&self) -> Option<f64> {
        Some(self.surface? - self.dew_point()?)
    }
}

impl Airs {
    /// The last reading at a place, or in the hangar, that was not struck through.
    pub fn latest(&self, place: Option<&PlaceId>) -> Option<&AirState> {
        let all = self.readings.get(&place.cloned())?;
        all.iter().rev().find(|reading| !reading.struck)
    }

    /// Every place with a reading that counts, and its last one.
    pub fn all_latest(&self) -> impl Iterator<Item = (Option<&PlaceId>, &AirState)> {
        let places = self.readings.keys().map(Option::as_ref);
        places.filter_map(|place| Some((place, self.latest(place)?)))
    }

    pub(super) fn strike(&mut self, entry: u64) {
        let all = self.readings.values_mut().flatten();
        all.filter(|reading| reading.mark.entry == entry)
            .for_each(|reading| reading.struck = true);
    }
}

impl Judge<'_> {
    pub(super) fn air_reading(&mut self, act: &AirReading) {
        let AirReading {
            place,
            at,
            temperature,
            humidity,
            surface,
            surface_of,
            instruments,
            note: _,
        } = act;
        if let Some(place) = place {
            self.place(place);
        }
        if let Some(item) = surface_of {
            self.item(item);
            self.hold(
                surface.is_some(),
                RuleKey::Stated,
                || {
                    format!(
                        "`surface_of` names {item}, and no temperature of it is given"
                    )
                },
                "give `surface` too, or leave both out",
            );
        }
        self.can_be("temperature", celsius(temperature), &air::HOLDS, "°C");
        self.can_be("humidity", *humidity, &air::HUMIDITIES, "%");
        if let Some(surface) = surface {
            self.can_be("surface", celsius(surface), &air::SURFACES, "°C");
        }
        let on = self.read_on(*at);
        for tool in instruments {
            // A past day asks for what was known of the instrument on that day.
            if on < self.today() {
                self.instrument_on(tool, on);
            } else {
                self.instrument(tool);
            }
        }
    }

    /// A figure that such a thing can have.
    fn can_be(
        &mut self,
        field: &str,
        value: f64,
        range: &std::ops::RangeInclusive<f64>,
        unit: &str,
    ) {
        self.hold(
            range.contains(&value),
            RuleKey::Stated,
            || {
                let (low, high) = (range.start(), range.end());
                format!("`{field}` is {value} {unit}, which is not from {low} to {high} {unit}")
            },
            "read it again, and look at the unit and the point",
        );
    }

    /// The day of a reading, which is not to come.
    fn read_on(&mut self, at: Option<DateTime>) -> jiff::civil::Date {
        let now = self.stamp.at;
        let Some(at) = at else { return now.date() };
        let apart = jiff::Span::new().minutes(APART_MINUTES);
        let latest = now.checked_add(apart).unwrap_or(now);
        self.hold(
            at <= latest,
            RuleKey::Clock,
            || {
                let (at, now) =
                    (at.strftime("%Y-%m-%d %H:%M"), now.strftime("%Y-%m-%d %H:%M"));
                format!("`at` is {at}, and now is {now}")
            },
            "give the time at which it was read, or leave it out",
        );
        at.date().min(now.date())
    }
}

/// Degrees Celsius without the last digits that a change of unit leaves.
fn celsius(typed: &Typed<Temperature>) -> f64 {
    (typed.value().in_c() * 1e6).round() / 1e6
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let Act::AirReading(act) = act else { return };
    let reading = AirState {
        at: act.at.unwrap_or(stamp.at),
        temperature: celsius(&act.temperature),
        humidity: act.humidity,
        surface: act.surface.as_ref().map(celsius),
        surface_of: act.surface_of.clone(),
        instruments: act.instruments.clone(),
        note: act.note.clone(),
        mark: Mark::of(stamp),
        struck: false,
    };
    let all = Arc::make_mut(&mut programme.shop.air);
    let place = all.readings.entry(act.place.clone()).or_default();
    let at = place.partition_point(|before| before.at <= reading.at);
    place.insert(at, reading);
}
