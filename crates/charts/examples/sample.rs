//! Writes the charts of an invented season, to be looked at.
//!
//! `cargo run -p charts --example sample -- FOLDER [ITEMS]` writes `season.svg`,
//! `season.html`, `season.csv`, `season.xlsx` and `person.ics`. ITEMS is how many items
//! come off (13 gives about 120 jobs, 330 about 3 000). Aircraft, people, firms and
//! places are invented.

use std::collections::BTreeMap;
use std::error::Error;

use charts::{
    Bar, DayView, JobKind, JobView, Lane, LaneSet, LoadView, LoadWeek, PersonDays,
    PlanView, SvgOptions,
};
use jiff::ToSpan;
use jiff::civil::{Date, DateTime, Weekday, date, time};

/// Kind, verb, half days of work, skill; away and wait count calendar days.
type Step = (JobKind, &'static str, i32, usize);

const SKILLS: [&str; 4] = ["Fitter", "Sheet metal worker", "Inspector", "Engine fitter"];
const PEOPLE: [(&str, usize); 9] = [
    ("Ada Quill", 0),
    ("Bram Oster", 0),
    ("Cleo Varga", 0),
    ("Dov Harrow", 1),
    ("Esme Tarn", 1),
    ("Finn Corrie", 2),
    ("Greta Lund", 2),
    ("Hari Moss", 3),
    ("Ines Falk", 3),
];
const ITEMS: [(&str, &str, Option<&str>); 13] = [
    ("port engine", "Power units", Some("Engine stand 1")),
    ("starboard engine", "Power units", Some("Engine stand 2")),
    ("port propeller", "Power units", Some("Propeller rack")),
    ("starboard propeller", "Power units", Some("Propeller rack")),
    ("rudder", "Tail", Some("Tail cradle")),
    ("port elevator", "Tail", Some("Tail cradle")),
    ("fin leading edge", "Tail", None),
    ("port outer wing", "Wings", Some("Wing trestle A")),
    ("starboard aileron", "Wings", Some("Wing trestle B")),
    ("centre section fuel tank", "Fuel", Some("Tank bench")),
    ("port main leg", "Landing gear", Some("Leg jig")),
    ("tail wheel", "Landing gear", None),
    ("keel plate 14", "Hull & planing bottom", None),
];

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let folder = args.next().unwrap_or_else(|| ".".to_owned());
    let items = args.next().map_or(Ok(ITEMS.len()), |count| count.parse())?;
    let view = season(items);
    let path = |name: &str| std::path::Path::new(&folder).join(name);
    std::fs::write(path("season.svg"), charts::svg(&view, 0, SvgOptions::default()))?;
    std::fs::write(path("season.html"), charts::html(&view))?;
    std::fs::write(path("season.csv"), charts::jobs_csv(&view))?;
    std::fs::write(path("season.xlsx"), charts::jobs_xlsx(&view)?)?;
    std::fs::write(path("person.ics"), charts::calendar(&person(&view)))?;
    Ok(())
}

fn season(items: usize) -> PlanView {
    let mut jobs = Vec::new();
    for at in 0..items {
        item_jobs(&mut jobs, at);
    }
    let last = jobs.iter().map(|job| job.finish).max();
    drive(&mut jobs);
    let from = date(2031, 10, 6);
    PlanView {
        title: "Heron 7 amphibian, winter season 2031/32".to_owned(),
        subtitle: "Open the hull and both power units, taxi by spring".to_owned(),
        notices: vec![
            "Invented example: no such aircraft, people or firms exist.".to_owned(),
            "A plan is not an approval: work to approved data, under a licensed engineer."
                .to_owned(),
        ],
        from,
        until: date(2032, 4, 30),
        gate: ("Taxi gate".to_owned(), date(2032, 4, 17)),
        complete: last,
        today: Some(date(2031, 11, 12)),
        closed: closed(),
        warm: vec![(date(2031, 11, 3), date(2032, 3, 26))],
        lanes: lane_sets(&jobs),
        loads: loads(&jobs, from),
        summary: vec![
            ("Jobs".to_owned(), jobs.len().to_string()),
            ("Longest wait".to_owned(), "Kessel & Daughters, crankshaft".to_owned()),
            ("Chance of the date".to_owned(), "71 in 100 (± 2)".to_owned()),
        ],
        made: "Made Wed 12 Nov 2031 08:05 from plan 14, seed 7".to_owned(),
        jobs,
    }
}

/// The usual chain of jobs for one item.
fn item_jobs(jobs: &mut Vec<JobView>, at: usize) {
    let (name, pack, stand) = ITEMS[at % ITEMS.len()];
    let numbered = if at < ITEMS.len() {
        name.to_owned()
    } else {
        format!("{name} no. {}", at / ITEMS.len() + 1)
    };
    let big = i32::from(pack == "Power units") * 4 + (at as i32 * 5) % 4;
    let skill = if pack == "Power units" { 3 } else { 0 };
    let steps: [Step; 9] = [
        (JobKind::Remove, "Remove", 1 + big, skill),
        (JobKind::Strip, "Strip", 3 + big, skill),
        (JobKind::Clean, "Clean", 2, 0),
        (JobKind::Inspect, "Inspect", 2 + big / 2, 2),
        middle(at),
        (JobKind::Finish, "Prime and paint", 2, 1),
        (JobKind::Wait, "Paint cures on", 4, 0),
        (JobKind::Assemble, "Assemble", 3 + big, skill),
        (JobKind::Refit, "Refit", 2 + big, skill),
    ];
    let mut next = working(date(2031, 10, 6), at as i32 % 13 * 6);
    let mut after: Vec<String> = Vec::new();
    for (step, &(kind, verb, length, skill)) in steps.iter().enumerate() {
        let key =
            format!("{}:{}", kind.word().to_uppercase(), numbered.replace(' ', "-"));
        let mut job = blank(key.clone(), format!("{verb} {numbered}"), kind, next);
        pack.clone_into(&mut job.pack);
        job.item = Some(numbered.clone());
        job.stand = (step < 8).then(|| stand.map(str::to_owned)).flatten();
        job.after = std::mem::replace(&mut after, vec![key]);
        job.why = why(&job, step);
        fill(&mut job, next, length, skill, at + step);
        job.done = job.finish < date(2031, 11, 12).at(0, 0, 0, 0);
        job.slack = Some(format!("{} days", (at * 3) % 17));
        next = later(job.finish, (at as i32 + step as i32) % 3);
        jobs.push(job);
    }
    if at.is_multiple_of(3) {
        let mut check = blank(
            format!("CHECK:FUNCTION:{}", numbered.replace(' ', "-")),
            format!("Function check of {numbered}"),
            JobKind::Check,
            next,
        );
        pack.clone_into(&mut check.pack);
        check.after = after;
        check.why =
            String::from("Its refit has to be finished; first free day of an inspector");
        fill(&mut check, next, 1, 2, at);
        jobs.push(check);
    }
}

fn middle(at: usize) -> Step {
    match at % 3 {
        0 => (JobKind::Away, "Overhaul", 24 + (at as i32 * 7) % 19, 0),
        1 => (JobKind::Repair, "Repair corrosion on", 6 + at as i32 % 5, 1),
        _ => (JobKind::Other, "Make new bushes for", 4, 0),
    }
}

fn why(job: &JobView, step: usize) -> String {
    match (job.after.first(), step % 3) {
        (None, _) => "The season opens".to_owned(),
        (Some(key), 0) => format!("Waits for {key}"),
        (Some(key), 1) => {
            format!("{key} ends, then the first day on which a fitter is free")
        }
        (Some(_), _) => "The stand is taken until the day before".to_owned(),
    }
}

fn blank(key: String, name: String, kind: JobKind, start: DateTime) -> JobView {
    JobView {
        key,
        name,
        kind,
        place: Some("Slipway hangar".to_owned()),
        ..JobView::between(start, start)
    }
}

/// Gives the job its time, and somebody who does it.
fn fill(job: &mut JobView, start: DateTime, length: i32, skill: usize, turn: usize) {
    if matches!(job.kind, JobKind::Away | JobKind::Wait) {
        job.finish = start.saturating_add(length.days());
        if job.kind == JobKind::Away {
            job.firm =
                Some(["Kessel & Daughters", "Northquay Plating"][turn % 2].to_owned());
            job.place = None;
        }
        return;
    }
    let people: Vec<&str> =
        PEOPLE.iter().filter(|person| person.1 == skill).map(|person| person.0).collect();
    job.people = vec![people[turn % people.len()].to_owned()];
    if job.kind == JobKind::Refit && people.len() > 1 {
        job.people.push(people[(turn + 1) % people.len()].to_owned());
    }
    let mut at = start;
    for half in 0..length {
        let (from, until) = half_day(at);
        job.working.push((from, until));
        job.finish = until;
        // Now and then other work comes first for a few days.
        at = later(until, if half == 2 && turn.is_multiple_of(4) { 6 } else { 0 });
    }
    job.start = job.working.first().map_or(start, |stretch| stretch.0);
}

/// The longest chain to the last job drives the date.
fn drive(jobs: &mut [JobView]) {
    let keys: BTreeMap<String, usize> =
        jobs.iter().enumerate().map(|(at, job)| (job.key.clone(), at)).collect();
    let mut next = (0..jobs.len()).max_by_key(|at| (jobs[*at].finish, *at));
    while let Some(at) = next {
        jobs[at].driving = true;
        next = jobs[at].after.first().and_then(|key| keys.get(key).copied());
    }
}

fn half_day(at: DateTime) -> (DateTime, DateTime) {
    let day = at.date();
    if at.hour() < 12 {
        (day.at(8, 0, 0, 0), day.at(12, 0, 0, 0))
    } else {
        (day.at(12, 30, 0, 0), day.at(16, 30, 0, 0))
    }
}

/// The start of the next half day in which somebody works, and some half days on.
fn later(at: DateTime, half_days: i32) -> DateTime {
    let afternoon = at.time() > time(8, 0, 0, 0) && at.time() <= time(12, 30, 0, 0);
    let first = if afternoon { at.date().at(12, 30, 0, 0) } else { next_morning(at) };
    let mut out = open_day(first);
    for _ in 0..half_days {
        out = open_day(if out.hour() < 12 {
            out.date().at(12, 30, 0, 0)
        } else {
            next_morning(out)
        });
    }
    out
}

fn next_morning(at: DateTime) -> DateTime {
    if at.time() <= time(8, 0, 0, 0) {
        return at.date().at(8, 0, 0, 0);
    }
    at.date().saturating_add(1.day()).at(8, 0, 0, 0)
}

fn open_day(at: DateTime) -> DateTime {
    let mut out = at;
    while matches!(out.date().weekday(), Weekday::Saturday | Weekday::Sunday)
        || closed().iter().any(|(from, until)| *from <= out && out < *until)
    {
        out = out.date().saturating_add(1.day()).at(8, 0, 0, 0);
    }
    out
}

fn working(day: Date, half_days: i32) -> DateTime {
    later(day.at(8, 0, 0, 0), half_days)
}

fn closed() -> Vec<(DateTime, DateTime)> {
    vec![
        (date(2031, 12, 20).at(0, 0, 0, 0), date(2032, 1, 5).at(0, 0, 0, 0)),
        (date(2032, 3, 26).at(0, 0, 0, 0), date(2032, 3, 30).at(0, 0, 0, 0)),
    ]
}

fn lane_sets(jobs: &[JobView]) -> Vec<LaneSet> {
    let one = |value: &Option<String>| value.iter().cloned().collect::<Vec<_>>();
    let mut stands = lanes(jobs, |job| one(&job.stand));
    for lane in &mut stands {
        hold(lane, jobs);
    }
    vec![
        LaneSet {
            name: "By pack".to_owned(),
            lanes: lanes(jobs, |job| vec![job.pack.clone()]),
        },
        LaneSet { name: "By stand".to_owned(), lanes: stands },
        LaneSet {
            name: "By person".to_owned(),
            lanes: lanes(jobs, |job| job.people.clone()),
        },
        LaneSet { name: "By firm".to_owned(), lanes: lanes(jobs, |job| one(&job.firm)) },
    ]
}

fn lanes(jobs: &[JobView], of: impl Fn(&JobView) -> Vec<String>) -> Vec<Lane> {
    let mut names: Vec<String> = Vec::new();
    let mut out: Vec<Lane> = Vec::new();
    for (at, job) in jobs.iter().enumerate() {
        for name in of(job) {
            let lane =
                names.iter().position(|known| *known == name).unwrap_or_else(|| {
                    names.push(name.clone());
                    out.push(Lane { name, note: String::new(), bars: Vec::new() });
                    out.len() - 1
                });
            out[lane].bars.push(Bar { job: at, from: job.start, until: job.finish });
        }
    }
    for lane in &mut out {
        lane.note = format!("{} jobs", lane.bars.len());
    }
    out
}

/// A stand stays taken until the next job of the same item.
fn hold(lane: &mut Lane, jobs: &[JobView]) {
    for at in 1..lane.bars.len() {
        let (this, next) = (lane.bars[at - 1], lane.bars[at]);
        if jobs[this.job].item == jobs[next.job].item && next.from > this.until {
            lane.bars[at - 1].until = next.from;
        }
    }
}

fn loads(jobs: &[JobView], from: Date) -> Vec<LoadView> {
    let mut out = Vec::new();
    for (skill, name) in SKILLS.iter().enumerate() {
        let hands: Vec<&str> = PEOPLE
            .iter()
            .filter(|person| person.1 == skill)
            .map(|person| person.0)
            .collect();
        let weeks = (0..29)
            .map(|week| {
                let monday = from.saturating_add((week * 7).days());
                let until = monday.saturating_add(7.days());
                let needed = jobs
                    .iter()
                    .flat_map(|job| {
                        let many =
                            job.people.iter().filter(|p| hands.contains(&p.as_str()));
                        std::iter::repeat_n(&job.working, many.count())
                    })
                    .flatten()
                    .filter(|(from, _)| from.date() >= monday && from.date() < until)
                    .count() as f64
                    * 4.0;
                let days = (0..5)
                    .map(|day| monday.saturating_add(day.days()))
                    .filter(|day| {
                        let at = day.at(8, 0, 0, 0);
                        !closed().iter().any(|(from, until)| *from <= at && at < *until)
                    })
                    .count() as f64;
                LoadWeek { monday, needed, there: days * 6.5 * hands.len() as f64 }
            })
            .collect();
        out.push(LoadView { skill: (*name).to_owned(), weeks });
    }
    out
}

fn person(view: &PlanView) -> PersonDays {
    let name = PEOPLE[0].0;
    let mut days: BTreeMap<Date, Vec<String>> = BTreeMap::new();
    for job in view.jobs.iter().filter(|job| job.people.iter().any(|p| p == name)) {
        for (from, _) in &job.working {
            let lines = days.entry(from.date()).or_default();
            if !lines.contains(&job.name) {
                lines.push(job.name.clone());
            }
        }
    }
    PersonDays {
        name: name.to_owned(),
        uid_base: "heron-7-ada-quill".to_owned(),
        days: days
            .into_iter()
            .map(|(date, jobs)| DayView {
                date,
                from: time(8, 0, 0, 0),
                until: time(16, 30, 0, 0),
                jobs,
            })
            .collect(),
        made: jiff::Timestamp::UNIX_EPOCH,
    }
}
