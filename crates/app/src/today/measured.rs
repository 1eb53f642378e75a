//! Limits of the air on cards, beside what was read last.
//!
//! A limit is of the air by its unit and its name: a humidity by `%RH`, a temperature by `°C`,
//! `°F` or `K` and a word such as *air*, *surface* or *dew point*. What is measured by the same
//! units and is something else, such as an oven, is shown and held against nothing.

use std::collections::BTreeMap;

use jiff::civil::DateTime;
use record::PlaceId;
use record::act::{Limit, Reading};
use record::shop::{AirState, Card, Mark};

use super::Day;
use super::air::range;

/// A limit of a step that is still to be signed, beside what was measured last.
#[derive(Debug, Clone, PartialEq)]
pub struct AirLimit {
    /// The card.
    pub job: String,
    /// The step.
    pub step: String,
    /// What is measured.
    pub name: String,
    /// Between what it must lie, with its unit.
    pub limits: String,
    /// The last value, by whom and when; nothing if there is none.
    pub last: Option<(f64, String, DateTime)>,
    /// `within`, `outside`, `not measured today` or `never measured`.
    pub state: &'static str,
}

/// What a limit is of the air.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    Air,
    Humidity,
    Surface,
    DewPoint,
    Margin,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Celsius,
    Fahrenheit,
    Kelvin,
    Humidity,
    PerCent,
}

fn unit(text: &str) -> Option<Unit> {
    let text: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    Some(match text.to_lowercase().as_str() {
        "°c" | "℃" | "c" | "degc" => Unit::Celsius,
        "°f" | "℉" | "f" | "degf" => Unit::Fahrenheit,
        "k" => Unit::Kelvin,
        "%rh" | "rh" | "%r.h." => Unit::Humidity,
        "%" => Unit::PerCent,
        _ => return None,
    })
}

impl Sort {
    /// What a limit is of the air; nothing if it is of something else.
    fn of(limit: &Limit) -> Option<Self> {
        let name = limit.name.to_lowercase();
        let words: Vec<&str> = name.split(|c: char| !c.is_alphanumeric()).collect();
        let any = |wanted: &[&str]| words.iter().any(|word| wanted.contains(word));
        match unit(&limit.unit)? {
            Unit::Humidity => Some(Self::Humidity),
            Unit::PerCent => any(&["humidity", "rh"]).then_some(Self::Humidity),
            _ if any(&["margin"]) || (any(&["above", "over"]) && any(&["dew"])) => {
                Some(Self::Margin)
            }
            _ if any(&["dew"]) => Some(Self::DewPoint),
            _ if any(&["surface", "skin", "metal", "substrate"]) => Some(Self::Surface),
            _ if any(&["air", "ambient", "hangar", "booth", "room"]) => Some(Self::Air),
            _ => (name.trim() == "temperature").then_some(Self::Air),
        }
    }

    /// What a reading says of it, in a unit.
    pub(super) fn value(self, reading: &AirState, unit: &str) -> Option<f64> {
        let unit = self::unit(unit)?;
        let celsius = match self {
            Self::Humidity => return Some(reading.humidity),
            Self::Air => reading.temperature,
            Self::Surface => reading.surface?,
            Self::DewPoint => reading.dew_point()?,
            Self::Margin => {
                let fahrenheit = unit == Unit::Fahrenheit;
                return Some(reading.margin()? * if fahrenheit { 1.8 } else { 1.0 });
            }
        };
        Some(match unit {
            Unit::Fahrenheit => celsius * 1.8 + 32.0,
            Unit::Kelvin => celsius + 273.15,
            _ => celsius,
        })
    }
}

/// Whether a value lies between its limits; what a change of unit leaves is no difference.
pub(super) fn within(limit: &Limit, value: f64) -> bool {
    const SLACK: f64 = 1e-6;
    limit.low.is_none_or(|low| value >= low - SLACK)
        && limit.high.is_none_or(|high| value <= high + SLACK)
}

/// What the open steps of a card ask of the air.
pub(super) fn of_card(card: &Card) -> Vec<(String, &Limit, Sort)> {
    let open = card.steps.iter().filter(|step| step.signed.is_none());
    let limits = open.flat_map(|step| {
        let limits = step.spec.limits.iter();
        limits.map(move |limit| (step.spec.id.to_string(), limit))
    });
    let of_air = limits
        .filter_map(|(step, limit)| Some((step, limit, Sort::of(limit)?)))
        .filter(|_| !card.is_finished());
    of_air.collect()
}

/// A value, by whom and when.
struct Last {
    value: f64,
    who: String,
    at: DateTime,
}

pub(super) fn limits(day: &Day<'_>) -> Vec<AirLimit> {
    let signed = last_values(day);
    let mut limits = Vec::new();
    for (job, card) in &day.programme.shop.cards.cards {
        let drafted = day.draft.and_then(|d| d.jobs.iter().find(|one| one.key == *job));
        let place = drafted.and_then(|job| job.place.as_ref());
        let open = card.steps.iter().filter(|step| step.signed.is_none());
        for step in open.filter(|_| !card.is_finished()) {
            let is_of_air = |limit: &&Limit| {
                Sort::of(limit).is_some()
                    || unit(&limit.unit).is_some_and(|unit| unit != Unit::PerCent)
            };
            limits.extend(step.spec.limits.iter().filter(is_of_air).map(|limit| {
                let on_card = signed.get(&key(&limit.name, &limit.unit)).copied();
                let last = last(day, place, limit, on_card);
                AirLimit {
                    job: job.to_string(),
                    step: step.spec.id.to_string(),
                    name: limit.name.clone(),
                    limits: range(limit),
                    state: state(day, limit, last.as_ref()),
                    last: last.map(|last| (last.value, last.who, last.at)),
                }
            }));
        }
    }
    limits
}

/// The later of what was signed on a card and what was read of the air where the job is done.
fn last(
    day: &Day<'_>,
    place: Option<&PlaceId>,
    limit: &Limit,
    on_card: Option<(&Reading, &Mark)>,
) -> Option<Last> {
    let on_card = on_card.map(|(reading, mark)| Last {
        value: reading.value,
        who: day.called(&mark.by),
        at: mark.at,
    });
    let reading = day.programme.shop.air.latest(place);
    let read = reading.and_then(|reading| {
        let value = Sort::of(limit)?.value(reading, &limit.unit)?;
        let value = (value * 10.0).round() / 10.0;
        Some(Last { value, who: day.called(&reading.mark.by), at: reading.at })
    });
    on_card.into_iter().chain(read).max_by_key(|last| last.at)
}

fn state(day: &Day<'_>, limit: &Limit, last: Option<&Last>) -> &'static str {
    match last {
        None => "never measured",
        Some(last) if last.at.date() != day.on() => "not measured today",
        Some(last) if within(limit, last.value) => "within",
        Some(_) => "outside",
    }
}

fn key(name: &str, unit: &str) -> (String, String) {
    (name.trim().to_lowercase(), unit.trim().to_lowercase())
}

/// The last value of each name and unit in the whole record.
fn last_values<'a>(day: &Day<'a>) -> BTreeMap<(String, String), (&'a Reading, &'a Mark)> {
    let mut last: BTreeMap<(String, String), (&Reading, &Mark)> = BTreeMap::new();
    let cards = day.programme.shop.cards.cards.values();
    for step in cards.flat_map(|card| &card.steps) {
        let Some(signed) = &step.signed else { continue };
        for reading in &signed.readings {
            let limit = step.spec.limits.iter().find(|limit| limit.name == reading.name);
            let unit = limit.map_or("", |limit| limit.unit.as_str());
            let found = last.entry(key(&reading.name, unit));
            let found = found.or_insert((reading, &signed.mark));
            if found.1.entry < signed.mark.entry {
                *found = (reading, &signed.mark);
            }
        }
    }
    last
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_is_of_the_air_by_its_unit_and_its_words() {
        for (name, unit, sort) in [
            ("Air temperature", "°C", Some(Sort::Air)),
            ("temperature", "deg F", Some(Sort::Air)),
            ("Ambient", "K", Some(Sort::Air)),
            ("Humidity", "%", Some(Sort::Humidity)),
            ("humidity", "% RH", Some(Sort::Humidity)),
            ("skin temperature", "°F", Some(Sort::Surface)),
            ("surface above dew point", "°C", Some(Sort::Margin)),
            ("margin", "°C", Some(Sort::Margin)),
            ("dew point", "°C", Some(Sort::DewPoint)),
            ("oven", "°C", None),
            ("repair oven temperature", "°C", None),
            ("resin temperature", "°C", None),
            ("solvent share", "%", None),
            ("air pressure", "bar", None),
            ("torque", "lbf·in", None),
        ] {
            let (name, unit) = (name.to_owned(), unit.to_owned());
            let limit = Limit { name, unit, low: None, high: None };
            assert_eq!(Sort::of(&limit), sort, "{limit:?}");
        }
    }
}
