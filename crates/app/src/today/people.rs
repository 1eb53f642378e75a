//! Who is in, by the list of people, the season's shifts and what is known of absences.

use std::collections::BTreeSet;

use jiff::civil::{Date, Time};
use record::{JobKey, Person, PersonId, Season, Shift, Standing};

use super::Day;

/// So many days ahead it is looked when somebody is in again: who stays away longer has left.
const AHEAD: i64 = 60;

/// Somebody on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PersonToday {
    /// Their name in the programme.
    pub person: String,
    /// Their full name.
    pub name: String,
    /// `staff`, `volunteer` or `contract`.
    pub standing: &'static str,
    /// Whether they are expected today, or are at work whatever was expected.
    pub is_in: bool,
    /// From when until when, or why they are not expected.
    pub why: String,
    /// The cards that they are at.
    pub at: Vec<String>,
    /// What the plan has for them today.
    pub planned: Vec<String>,
}

pub(super) fn all(day: &Day<'_>) -> Vec<PersonToday> {
    // Observers read and do no work.
    let people = day.programme.people.iter();
    let people = people.filter(|person| person.standing != Standing::Observer);
    let mut all: Vec<PersonToday> = people.map(|person| one(day, person)).collect();
    all.sort_by_key(|person| (!person.is_in, person.person.clone()));
    all
}

fn one(day: &Day<'_>, person: &Person) -> PersonToday {
    let at = at_cards(day, &person.id);
    let (expected, why) = match hours(day, person) {
        Ok(hours) => (true, hours),
        Err(why) if at.is_empty() => (false, why),
        Err(why) => (false, format!("at work, though {why}")),
    };
    PersonToday {
        person: person.id.to_string(),
        name: person.name.clone(),
        standing: person.standing.word(),
        is_in: expected || !at.is_empty(),
        why,
        at,
        planned: planned(day, &person.id),
    }
}

fn at_cards(day: &Day<'_>, person: &PersonId) -> Vec<String> {
    let cards = &day.programme.shop.cards;
    let at = |job: &&JobKey| cards.cards.get(*job).is_some_and(|card| card.is_at(person));
    cards.open.iter().filter(at).map(ToString::to_string).collect()
}

fn planned(day: &Day<'_>, person: &PersonId) -> Vec<String> {
    let on = day.on();
    let today = day.dated().filter(|(dated, _)| {
        let lasts = dated.from.date() <= on && on <= dated.until.date();
        lasts && dated.people.contains(person)
    });
    today.map(|(dated, _)| dated.job.to_string()).collect()
}

/// Whether somebody is in by what was written down; nobody checks the door.
pub(super) fn is_in(day: &Day<'_>, person: &PersonId) -> bool {
    let expected = |person: &Person| hours(day, person).is_ok();
    day.programme.people.get(person).is_some_and(expected)
        || !at_cards(day, person).is_empty()
}

/// Everybody who is in.
pub(super) fn present<'a>(day: &Day<'a>) -> Vec<&'a PersonId> {
    day.programme.people.names().filter(|person| is_in(day, person)).collect()
}

/// The next day on which something holds, within sixty days and the season.
pub(super) fn next(day: &Day<'_>, holds: impl Fn(&Day<'_>) -> bool) -> Option<Date> {
    let days = (1..=AHEAD).map_while(|days| {
        let now = day.now.checked_add(jiff::Span::new().days(days)).ok()?;
        let within = day.season.is_none_or(|season| now.date() <= season.until);
        within.then_some(Day { now, ..*day })
    });
    days.into_iter().find(holds).map(|day| day.on())
}

/// Why a person is not in today; nothing if they are.
pub(super) fn absent(day: &Day<'_>, person: &PersonId) -> Option<String> {
    if is_in(day, person) {
        return None;
    }
    let Some(known) = day.programme.people.get(person) else {
        return Some(format!("{person} is nobody whom the list of people names"));
    };
    let why = hours(day, known).err().unwrap_or_default();
    Some(format!("{} is not in: {why}", known.name))
}

/// Their hours of the day, or why there are none.
fn hours(day: &Day<'_>, person: &Person) -> Result<String, String> {
    let on = day.on();
    if let Some(from) = person.from.filter(|from| on < *from) {
        return Err(format!("comes from {from} on"));
    }
    if let Some(until) = person.until.filter(|until| *until < on) {
        return Err(format!("left on {until}"));
    }
    if let Some(away) = person.away.iter().find(|away| away.holds(on)) {
        return Err(format!("away until {}", away.until));
    }
    if !person.days.holds(on.weekday()) {
        return Err(format!("comes {}", person.days));
    }
    if let Some(shut) = shut(day) {
        return Err(shut);
    }
    let spans = spans(day.season, person.hours, on);
    if spans.is_empty() {
        return Err("no shift falls into the hours that they come".to_owned());
    }
    let told = spans.iter().map(|(from, until)| {
        format!("{}-{}", from.strftime("%H:%M"), until.strftime("%H:%M"))
    });
    Ok(told.collect::<Vec<_>>().join(", "))
}

/// The season's shifts of a day, within somebody's own hours.
fn spans(season: Option<&Season>, own: Option<Shift>, on: Date) -> Vec<(Time, Time)> {
    let shifts = season.into_iter().flat_map(|season| &season.shifts);
    let today = shifts.filter(|shift| shift.days.holds(on.weekday()));
    let within = today.filter_map(|shift| match own {
        None => Some((shift.from, shift.until)),
        Some(own) if !own.days.holds(on.weekday()) => None,
        Some(own) => {
            let (from, until) = (shift.from.max(own.from), shift.until.min(own.until));
            (from < until).then_some((from, until))
        }
    });
    let spans: BTreeSet<(Time, Time)> = within.collect();
    spans.into_iter().collect()
}

/// Why nobody is expected on the day.
pub(super) fn shut(day: &Day<'_>) -> Option<String> {
    let on = day.on();
    let Some(season) = day.season else {
        return Some("no season is under way or to come".to_owned());
    };
    if on < season.from {
        return Some(format!("{} begins on {}", season.name, season.from));
    }
    if let Some(closed) = season.closed.iter().find(|closed| closed.holds(on)) {
        return Some(format!("the workshop is closed until {}", closed.until));
    }
    let works = season.shifts.iter().any(|shift| shift.days.holds(on.weekday()));
    (!works).then(|| format!("no shift on a {}", on.strftime("%A")))
}
