//! What the air is like: for work that asks for warm or dry, and as it was last measured.
//!
//! The season says when the hangar is heated and which days are wet; places keep warmth in
//! and weather out; cards say between which limits the air of a process must lie, and the
//! record has what was measured on any card. A value is set beside limits of the same name.

use std::collections::BTreeMap;

use jiff::civil::DateTime;
use record::Season;
use record::act::{Limit, Reading};
use record::shop::Mark;

use super::Day;

/// The air on a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Air {
    /// When the hangar is warm today, in words.
    pub warm: String,
    /// Whether weather is kept in mind today, in words.
    pub dry: String,
    /// Today's work that asks for warm or dry air.
    pub work: Vec<AirWork>,
    /// Limits of temperature and humidity that open steps ask for, beside the last value.
    pub readings: Vec<AirReading>,
}

/// A job that asks for warm or dry air.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AirWork {
    /// The job.
    pub job: String,
    /// What it asks for: `warm`, `dry`, `warm and dry`.
    pub asks: &'static str,
    /// Where it is done.
    pub place: Option<String>,
    /// What speaks against it now; nothing if the air will do.
    pub against: Vec<String>,
}

/// A limit of a step that is still to be signed, beside what was measured last.
#[derive(Debug, Clone, PartialEq)]
pub struct AirReading {
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

pub(super) fn air(day: &Day<'_>) -> Air {
    Air {
        warm: day.season.map_or_else(String::new, |season| heated(day, season)),
        dry: day.season.map_or_else(String::new, |season| weather(day, season)),
        work: work(day),
        readings: readings(day),
    }
}

fn heated(day: &Day<'_>, season: &Season) -> String {
    let today = season.heating.iter().filter(|period| period.days.holds(day.on()));
    let hours: Vec<String> = today
        .map(|period| match period.hours {
            None => "day and night".to_owned(),
            Some((from, until)) => {
                format!("{}-{}", from.strftime("%H:%M"), until.strftime("%H:%M"))
            }
        })
        .collect();
    if hours.is_empty() {
        "the hangar is not heated today".to_owned()
    } else {
        format!("the hangar is heated {}", hours.join(", "))
    }
}

fn weather(day: &Day<'_>, season: &Season) -> String {
    match season.wet.iter().find(|wet| wet.holds(day.on())) {
        Some(wet) => format!("counted as wet until {}", wet.until),
        None => "not counted as wet".to_owned(),
    }
}

/// What speaks against a job's air at a moment.
pub(super) fn against(day: &Day<'_>, job: &planner::Job) -> Vec<String> {
    let place = job.place.as_ref().and_then(|place| day.programme.places.get(place));
    let mut against = Vec::new();
    let Some(season) = day.season else { return against };
    if job.conditions.warm && !place.is_some_and(|place| place.heated) {
        let time = day.now.time();
        let warm = season.heating.iter().any(|period| {
            let hours = period.hours;
            period.days.holds(day.on())
                && hours.is_none_or(|(from, until)| from <= time && time < until)
        });
        if !warm {
            against.push(format!("it asks for warmth: {}", heated(day, season)));
        }
    }
    let wet = season.wet.iter().any(|wet| wet.holds(day.on()));
    if job.conditions.dry && wet && !place.is_some_and(|place| place.dry) {
        against.push(format!("it asks for dry air: {}", weather(day, season)));
    }
    against
}

fn work(day: &Day<'_>) -> Vec<AirWork> {
    let Some(draft) = day.draft else { return Vec::new() };
    let asks = day.dated().filter_map(|(dated, at)| {
        let job = &draft.jobs[at];
        let asks = match (job.conditions.warm, job.conditions.dry) {
            (true, true) => "warm and dry",
            (true, false) => "warm",
            (false, true) => "dry",
            (false, false) => return None,
        };
        let done = draft.past.get(&at).is_some_and(planner::Past::is_done);
        let today = dated.from.date() <= day.on() && day.on() <= dated.until.date();
        let place = job.place.as_ref().map(|place| {
            let known = day.programme.places.get(place);
            known.map_or_else(|| place.to_string(), |place| place.name.clone())
        });
        let against = against(day, job);
        (today && !done).then(|| AirWork {
            job: dated.job.to_string(),
            asks,
            place,
            against,
        })
    });
    asks.collect()
}

/// Whether a unit is one of temperature or of relative humidity.
fn is_of_air(unit: &str) -> bool {
    let unit: String = unit.chars().filter(|c| !c.is_whitespace()).collect();
    matches!(
        unit.to_lowercase().as_str(),
        "°c" | "℃"
            | "c"
            | "degc"
            | "°f"
            | "℉"
            | "f"
            | "degf"
            | "k"
            | "%rh"
            | "rh"
            | "%r.h."
    )
}

fn readings(day: &Day<'_>) -> Vec<AirReading> {
    let last = last_values(day);
    let mut readings = Vec::new();
    for (job, card) in &day.programme.shop.cards.cards {
        let open = card.steps.iter().filter(|step| step.signed.is_none());
        for step in open.filter(|_| !card.is_finished()) {
            let limits = step.spec.limits.iter().filter(|limit| is_of_air(&limit.unit));
            readings.extend(limits.map(|limit| {
                let found = last.get(&key(&limit.name, &limit.unit)).copied();
                AirReading {
                    job: job.to_string(),
                    step: step.spec.id.to_string(),
                    name: limit.name.clone(),
                    limits: range(limit),
                    last: found.map(|(reading, mark)| {
                        (reading.value, day.called(&mark.by), mark.at)
                    }),
                    state: state(day, limit, found),
                }
            }));
        }
    }
    readings
}

fn state(day: &Day<'_>, limit: &Limit, found: Option<(&Reading, &Mark)>) -> &'static str {
    let Some((reading, mark)) = found else { return "never measured" };
    if mark.at.date() != day.on() {
        return "not measured today";
    }
    let within = limit.low.is_none_or(|low| reading.value >= low)
        && limit.high.is_none_or(|high| reading.value <= high);
    if within { "within" } else { "outside" }
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

/// Between what a value must lie: `40 to 45 lbf·in`, `at most 1.5 mm`.
pub(crate) fn range(limit: &Limit) -> String {
    let unit =
        if limit.unit.is_empty() { String::new() } else { format!(" {}", limit.unit) };
    match (limit.low, limit.high) {
        (Some(low), Some(high)) => format!("{low} to {high}{unit}"),
        (Some(low), None) => format!("at least {low}{unit}"),
        (None, Some(high)) => format!("at most {high}{unit}"),
        (None, None) => format!("any value{unit}"),
    }
}
