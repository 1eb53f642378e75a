//! A small invented season for the tests.

use charts::{Bar, JobKind, JobView, Lane, LaneSet, LoadView, LoadWeek, PlanView};
use jiff::ToSpan;
use jiff::civil::{Date, DateTime, date};

/// Monday 5 January 2032.
pub(crate) const FIRST: Date = date(2032, 1, 5);

/// A moment so many days after the first, at that hour.
pub(crate) fn at(day: i64, hour: i8) -> DateTime {
    FIRST.saturating_add(day.days()).at(hour, 0, 0, 0)
}

/// A job worked from eight to four on each day from one to another.
pub(crate) fn job(key: &str, name: &str, kind: JobKind, days: (i64, i64)) -> JobView {
    JobView {
        key: key.to_owned(),
        name: name.to_owned(),
        pack: "Wings".to_owned(),
        kind,
        item: Some("wing".to_owned()),
        start: at(days.0, 8),
        finish: at(days.1, 16),
        working: (days.0..=days.1).map(|day| (at(day, 8), at(day, 16))).collect(),
        people: vec!["Ada Quill".to_owned(), "Dov Harrow".to_owned()],
        stand: Some("Trestle A".to_owned()),
        place: Some("Slipway hangar".to_owned()),
        firm: None,
        why: format!("because of {key}"),
        slack: Some("3 days".to_owned()),
        driving: false,
        done: false,
        after: Vec::new(),
    }
}

/// A season of twelve jobs, one of each kind, two at a time, with two lane sets.
pub(crate) fn season() -> PlanView {
    let mut jobs: Vec<JobView> = JobKind::ALL
        .iter()
        .enumerate()
        .map(|(n, kind)| {
            let start = (n as i64 / 2) * 7;
            let name = format!("{} wing {n}", kind.word());
            job(&format!("J{n}"), &name, *kind, (start, start + 3))
        })
        .collect();
    jobs[3].driving = true;
    jobs[1].done = true;
    jobs[4].after = vec!["J3".to_owned(), "nowhere".to_owned()];
    // A pause: Tuesday and Wednesday aren't worked.
    jobs[2].working.drain(1..3);
    of_jobs(jobs)
}

/// A plan of these jobs, in one lane and again in one lane each.
pub(crate) fn of_jobs(jobs: Vec<JobView>) -> PlanView {
    let bar =
        |(n, job): (usize, &JobView)| Bar { job: n, from: job.start, until: job.finish };
    let bars: Vec<Bar> = jobs.iter().enumerate().map(bar).collect();
    let lane =
        |name: &str, bars| Lane { name: name.to_owned(), note: String::new(), bars };
    PlanView {
        title: "Heron 7 (invented)".to_owned(),
        subtitle: "winter".to_owned(),
        notices: vec!["Invented example".to_owned()],
        from: FIRST,
        until: date(2032, 3, 31),
        gate: ("Taxi gate".to_owned(), date(2032, 3, 20)),
        complete: jobs.iter().map(|job| job.finish).max(),
        today: Some(date(2032, 1, 14)),
        closed: vec![(at(35, 0), at(40, 0)), (at(2, 20), at(3, 6))],
        warm: vec![(date(2032, 1, 10), date(2032, 2, 20))],
        lanes: vec![
            LaneSet {
                name: "By pack".to_owned(),
                lanes: vec![lane("Wings", bars.clone())],
            },
            LaneSet {
                name: "One by one".to_owned(),
                lanes: bars.iter().map(|bar| lane("Lane", vec![*bar])).collect(),
            },
        ],
        loads: vec![LoadView {
            skill: "Fitter".to_owned(),
            weeks: vec![
                LoadWeek { monday: FIRST, needed: 50.0, there: 40.0 },
                LoadWeek { monday: at(7, 0).date(), needed: 20.5, there: 40.0 },
            ],
        }],
        summary: vec![("Jobs".to_owned(), jobs.len().to_string())],
        made: "Made on Tuesday".to_owned(),
        jobs,
    }
}
