//! Somebody's days by the adopted plans, as a calendar.

use std::collections::BTreeMap;

use charts::{DayView, PersonDays};
use jiff::Timestamp;
use jiff::civil::{Date, Time};
use record::{PersonId, Programme};

use crate::AppError;

/// The jobs of a person by the plans that were adopted, as an iCalendar file: a day is one
/// event, with all of its jobs. A job that takes several days stands on each.
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
    for adopted in programme.shop.plans.adopted.values() {
        for job in adopted.plan.jobs.iter().filter(|job| job.people.contains(&id)) {
            let mut day = job.from.date();
            while day <= job.until.date() {
                let from = if day == job.from.date() {
                    job.from.time()
                } else {
                    Time::midnight()
                };
                let until = if day == job.until.date() {
                    job.until.time()
                } else {
                    Time::constant(23, 59, 59, 0)
                };
                // What ends at midnight does not stand on the day that begins then.
                if from < until {
                    days.entry(day).or_default().push((from, until, job.job.to_string()));
                }
                let Ok(next) = day.tomorrow() else { break };
                day = next;
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
