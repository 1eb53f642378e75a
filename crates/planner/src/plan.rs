//! A schedule as a plan: dated jobs, people by name, and the reason for each date.

use std::collections::BTreeMap;

use airframe::Crew;
use airframe::support::{Event, Stage, StageOptions, history};
use jiff::civil::DateTime;
use record::{JobKey, PersonId};
use timetable::{Measures, Schedule, TaskId, Tick};

use crate::crew::{staff, stretches};
use crate::draft::{Job, JobKind, Lasting};
use crate::load::{WeekLoad, loads};
use crate::model::Model;
use crate::spans::Spans;
use crate::words::Words;

/// A season's plan.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The jobs, in the order of the draft; the last one says that all is done.
    pub jobs: Vec<PlannedJob>,
    /// When the aircraft stands complete.
    pub complete: DateTime,
    /// Days from then to the end of the gate date; negative if it is late.
    pub margin_days: i64,
    /// The jobs that drive the date, from the first to the last.
    pub driving: Vec<usize>,
    /// Weekly load.
    pub loads: Vec<WeekLoad>,
    /// The aircraft on its supports as things come off and go back; empty if the season
    /// names no arrangement.
    pub stages: Vec<Stage>,
    /// What somebody should look at.
    pub warnings: Vec<String>,
    /// What the schedule measures.
    pub measures: Measures,
}

/// A job with its dates.
#[derive(Debug, Clone)]
pub struct PlannedJob {
    /// Its name in the plan.
    pub key: JobKey,
    /// When it starts.
    pub start: DateTime,
    /// When it is done.
    pub finish: DateTime,
    /// When it is worked on.
    pub worked: Vec<Stretch>,
    /// Who does it, and when.
    pub people: Vec<(PersonId, Vec<Stretch>)>,
    /// The crew of the way that was chosen.
    pub crew: Vec<Crew>,
    /// Why it starts when it does, a sentence without a full stop.
    pub why: String,
    /// What would let it begin earlier, besides the job before it: noun phrases.
    pub levers: Vec<String>,
    /// Working days, roughly, by which it could slip alone without moving the end.
    pub slack_days: i64,
    /// It is one of those that drive the date.
    pub driving: bool,
    /// It has been done.
    pub done: bool,
}

/// From one moment to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stretch {
    /// From when.
    pub from: DateTime,
    /// Until when.
    pub until: DateTime,
}

impl Plan {
    /// Reads a lawful schedule of the model.
    pub fn new(model: &Model<'_>, schedule: &Schedule) -> Self {
        let reasons = search::explain(&model.problem, schedule);
        let chain = search::driving_chain(&model.problem, schedule, &reasons);
        let mut driving: Vec<usize> = chain.into_iter().map(TaskId::at).collect();
        driving.sort_by_key(|&job| (schedule.assignments[job].start, job));
        let staffing = staff(model, schedule);
        let words = Words { model, schedule };
        let slack = slack(model, schedule);
        let jobs: Vec<PlannedJob> = model
            .draft
            .jobs
            .iter()
            .enumerate()
            .map(|(number, job)| PlannedJob {
                why: reasons.get(number).map_or_else(String::new, |r| words.reason(r)),
                levers: reasons.get(number).map_or_else(Vec::new, |r| words.levers(r)),
                slack_days: i64::from(slack[number] / crate::grid::DAY),
                driving: driving.contains(&number),
                people: people(model, number, &staffing.jobs[number]),
                ..dated(model, schedule, number, job)
            })
            .collect();
        let complete = jobs.last().map_or_else(|| model.grid.moment(0), |job| job.finish);
        let end = schedule.assignments.last().map_or(0, |at| at.finish);
        let crews = crews(model, schedule);
        let mut warnings = model.draft.warnings.clone();
        warnings.extend(model.warnings.iter().cloned());
        warnings.extend(staffing.warnings);
        Self {
            complete,
            margin_days: i64::from((model.gate() - end).div_euclid(crate::grid::DAY)),
            driving,
            loads: loads(model, &crews, end),
            stages: support(model, schedule),
            warnings,
            measures: Measures::of(&model.problem, schedule),
            jobs,
        }
    }

    /// The jobs with their draft, by start.
    pub fn by_start<'p>(&'p self, jobs: &'p [Job]) -> Vec<(&'p PlannedJob, &'p Job)> {
        let mut both: Vec<_> = self.jobs.iter().zip(jobs).collect();
        both.sort_by_key(|(planned, _)| (planned.start, planned.finish));
        both
    }
}

fn dated(model: &Model<'_>, schedule: &Schedule, number: usize, job: &Job) -> PlannedJob {
    let at = schedule.assignments[number];
    let crew = model.way(number, at.mode).map_or_else(Vec::new, |way| way.crew.clone());
    let progress = model.problem.tasks()[number].progress;
    PlannedJob {
        key: job.key.clone(),
        start: model.grid.moment(at.start),
        finish: model.grid.moment(at.finish),
        worked: moments(model, &stretches(model, schedule, number)),
        people: Vec::new(),
        crew,
        why: String::new(),
        levers: Vec::new(),
        slack_days: 0,
        driving: false,
        done: matches!(progress, timetable::Progress::Done { .. }),
    }
}

fn moments(model: &Model<'_>, spans: &Spans) -> Vec<Stretch> {
    let moment = |tick| model.grid.moment(tick);
    spans
        .iter()
        .map(|w| Stretch { from: moment(w.from), until: moment(w.until) })
        .collect()
}

fn people(
    model: &Model<'_>,
    job: usize,
    staffed: &BTreeMap<usize, Spans>,
) -> Vec<(PersonId, Vec<Stretch>)> {
    let mut all: BTreeMap<PersonId, Vec<Stretch>> = BTreeMap::new();
    let now = model.grid.moment(model.now);
    let past = model.draft.past.get(&job);
    for session in past.into_iter().flat_map(|past| &past.sessions) {
        let until = session.until.unwrap_or(now).max(session.from);
        let was = Stretch { from: session.from, until };
        all.entry(session.person.clone()).or_default().push(was);
    }
    for (&number, spans) in staffed {
        let person = model.people[number].0.id.clone();
        all.entry(person).or_default().extend(moments(model, spans));
    }
    all.into_iter().collect()
}

type Crewed = (Spans, Vec<(u32, airframe::SkillId)>);

fn crews(model: &Model<'_>, schedule: &Schedule) -> Vec<Crewed> {
    let jobs = model.draft.jobs.iter().enumerate();
    jobs.filter(|(_, job)| matches!(job.lasting, Lasting::Worked { .. }))
        .map(|(number, _)| {
            let way = model.way(number, schedule.assignments[number].mode);
            let crew = way.map_or(&[][..], |way| &way.crew);
            let crew = crew.iter().map(|c| (c.count, c.skill.clone())).collect();
            (stretches(model, schedule, number), crew)
        })
        .collect()
}

/// How far each job could slip before something that follows it by a link would have to
/// move, or the end would: elapsed ticks, hands and stands left aside.
fn slack(model: &Model<'_>, schedule: &Schedule) -> Vec<Tick> {
    let end = schedule.assignments.last().map_or(0, |at| at.finish);
    let end = end.max(model.gate());
    let mut latest: Vec<Tick> = vec![end; schedule.assignments.len()];
    let mut order: Vec<usize> = (0..latest.len()).collect();
    order.sort_by_key(|&job| std::cmp::Reverse((schedule.assignments[job].start, job)));
    let mut after: Vec<Vec<(usize, Tick)>> = vec![Vec::new(); latest.len()];
    for link in &model.draft.links {
        after[link.from].push((link.to, crate::grid::ticks(link.at_least)));
    }
    for job in order {
        let own = schedule.assignments[job];
        for &(to, lag) in &after[job] {
            let next = schedule.assignments[to];
            let allowed = latest[to] - (next.finish - next.start) - lag;
            latest[job] = latest[job].min(allowed);
        }
        latest[job] = latest[job].max(own.finish);
    }
    let spans = latest.iter().zip(&schedule.assignments);
    spans.map(|(latest, at)| latest - at.finish).collect()
}

/// The stages of support, in the order of the plan.
fn support(model: &Model<'_>, schedule: &Schedule) -> Vec<Stage> {
    let arrangement = model.draft.season.arrangement.as_ref();
    let arrangement = arrangement.and_then(|id| model.programme.arrangements.get(id));
    let (Some(arrangement), Ok(airframe)) =
        (arrangement, model.programme.airframe_on(model.draft.season.from))
    else {
        return Vec::new();
    };
    let jobs = model.draft.jobs.iter().zip(&schedule.assignments).enumerate();
    let mut events: Vec<(Tick, usize, Event)> = jobs
        .filter_map(|(number, (job, at))| {
            let item = job.item.clone()?;
            // An item bears on the supports until its removal is done, and again from the
            // moment at which it is hung on.
            match job.kind {
                JobKind::Remove => Some((at.finish, number, Event::Off(item))),
                JobKind::Refit => Some((at.start, number, Event::On(item))),
                _ => None,
            }
        })
        .collect();
    events.sort_by_key(|&(tick, number, _)| (tick, number));
    let events: Vec<Event> = events.into_iter().map(|(_, _, event)| event).collect();
    let (off, options) = (&model.draft.opening.off, StageOptions::default());
    history(&airframe, off, &events, arrangement, &options)
}
