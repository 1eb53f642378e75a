//! Somebody's days by the adopted plans, as a calendar.

use std::collections::BTreeMap;

use charts::{DayView, PersonDays};
use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Time};
use record::{Person, PersonId, Programme, Season, Shift};

use crate::AppError;

/// The jobs of a person by the plans that were adopted, as an iCalendar file: a day is one
/// event, with all of its jobs. A job that takes several days stands on each on which they are
/// in, in the hours in which they are: nights, closed days and days away are no work.
///
/// # Errors
/// If there is no such person.
pub fn calendar_of(
    programme: &Programme,
    person: &str,
    made: Timestamp,
) -> Result<String, AppError> {
    let unknown = || AppError::Unknown(format!("there is no person {person}"));
    let id = PersonId::new(person).map_err(|_| unknown())?;
    let found = programme.people.get(&id).ok_or_else(unknown)?;
    let mut days: BTreeMap<Date, Vec<(Time, Time, String)>> = BTreeMap::new();
    for (season, adopted) in &programme.shop.plans.adopted {
        let season = programme.seasons.get(season);
        for job in adopted.plan.jobs.iter().filter(|job| job.people.contains(&id)) {
            for (date, from, until) in stretches(season, found, (job.from, job.until)) {
                days.entry(date).or_default().push((from, until, job.job.to_string()));
            }
        }
    }
    let days = days.into_iter().map(|(date, mut jobs)| {
        jobs.sort();
        let from = jobs.iter().map(|(from, _, _)| *from).min();
        let until = jobs.iter().map(|(_, until, _)| *until).max();
        let line = |(from, until, job): &(Time, Time, String)| {
            format!("{}-{} {job}", from.strftime("%H:%M"), until.strftime("%H:%M"))
        };
        DayView {
            date,
            from: from.unwrap_or_else(Time::midnight),
            until: until.unwrap_or_else(Time::midnight),
            jobs: jobs.iter().map(line).collect(),
        }
    });
    let days = PersonDays {
        name: found.name.clone(),
        uid_base: format!("adopted-{id}"),
        days: days.collect(),
        made,
    };
    Ok(charts::calendar(&days))
}

/// When somebody works on a job that lasts from one moment to another, day by day.
fn stretches(
    season: Option<&Season>,
    person: &Person,
    (from, until): (DateTime, DateTime),
) -> Vec<(Date, Time, Time)> {
    let mut found = Vec::new();
    let mut day = from.date();
    while day <= until.date() {
        let first = if day == from.date() { from.time() } else { Time::midnight() };
        let last = if day == until.date() { until.time() } else { Time::MAX };
        for (open, shut) in hours(season, person, day) {
            let (open, shut) = (open.max(first), shut.min(last));
            if open < shut {
                found.push((day, open, shut));
            }
        }
        let Ok(next) = day.tomorrow() else { break };
        day = next;
    }
    if found.is_empty() {
        // Their hours are others than when the plan was adopted: it stands where it begins.
        let same = from.date() == until.date();
        let last = if same { until.time() } else { Time::constant(23, 59, 59, 0) };
        found.push((from.date(), from.time(), last));
    }
    found
}

/// The hours of a day in which somebody is in, as far as it is written down.
fn hours(season: Option<&Season>, person: &Person, day: Date) -> Vec<(Time, Time)> {
    let Some(season) = season else { return Vec::new() };
    let on = day.weekday();
    let there = person.days.holds(on)
        && person.from.is_none_or(|from| from <= day)
        && person.until.is_none_or(|until| day <= until)
        && !person.away.iter().chain(&season.closed).any(|span| span.holds(day))
        && person.hours.is_none_or(|own| own.days.holds(on));
    let shifts = season.shifts.iter().filter(|shift| there && shift.days.holds(on));
    let own = |shift: &Shift| match person.hours {
        Some(own) => (shift.from.max(own.from), shift.until.min(own.until)),
        None => (shift.from, shift.until),
    };
    shifts.map(own).collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use record::DateSpan;
    use testkit::skiff;

    use super::*;

    #[test]
    fn a_job_of_several_days_is_no_work_at_night_on_closed_days_or_away() {
        let programme = skiff();
        let mut season = programme.seasons.iter().next().unwrap().clone();
        let mut person = programme.people.iter().next().unwrap().clone();
        let time = |hour| Time::constant(hour, 0, 0, 0);
        let days = record::Weekdays::ALL;
        season.shifts = vec![Shift { days, from: time(8), until: time(16) }];
        season.closed =
            vec![DateSpan { from: date(2032, 1, 7), until: date(2032, 1, 7) }];
        (person.days, person.hours) = (days, None);
        (person.from, person.until) = (None, None);
        person.away = vec![DateSpan { from: date(2032, 1, 9), until: date(2032, 1, 10) }];
        let at = |day, hour| date(2032, 1, day).at(hour, 0, 0, 0);
        let lasts = (at(5, 14), at(11, 10));
        let told = |found: Vec<(Date, Time, Time)>| -> Vec<(i8, i8, i8)> {
            let one = |(day, from, until): (Date, Time, Time)| {
                (day.day(), from.hour(), until.hour())
            };
            found.into_iter().map(one).collect()
        };
        let found = told(stretches(Some(&season), &person, lasts));
        assert_eq!(found, [(5, 14, 16), (6, 8, 16), (8, 8, 16), (11, 8, 10)]);
        person.hours = Some(Shift { days, from: time(9), until: time(12) });
        let found = told(stretches(Some(&season), &person, lasts));
        assert_eq!(found, [(6, 9, 12), (8, 9, 12), (11, 9, 10)]);
        // Whoever left since: nothing that was planned is lost.
        person.until = Some(date(2032, 1, 1));
        let found = told(stretches(Some(&season), &person, lasts));
        assert_eq!(found, [(5, 14, 23)]);
    }
}
