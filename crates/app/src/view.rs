//! A plan as the values that charts show.

use std::collections::BTreeMap;

use charts::{Bar, DayView, Lane, LaneSet, LoadView, LoadWeek, PersonDays, PlanView};
use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use planner::{Job, JobKind, Lasting, Plan, PlannedJob, Stretch};
use record::{Programme, StepKind};

use crate::season::{Ending, SeasonPlan};

/// The chart of a plan.
pub(crate) fn plan_view(
    programme: &Programme,
    planned: &SeasonPlan,
    plan: &Plan,
    made: &str,
) -> PlanView {
    let season = &planned.draft.season;
    let gate = programme.gates.get(&season.gate);
    let gate = gate.map_or_else(|| season.gate.to_string(), |gate| gate.name.clone());
    let info = programme.info.as_deref();
    let follows = follows(planned);
    let jobs: Vec<JobView> = planned
        .draft
        .jobs
        .iter()
        .zip(&plan.jobs)
        .zip(follows)
        .map(|((job, at), after)| job_view(programme, planned, job, at, after))
        .collect();
    PlanView {
        title: info
            .map_or_else(String::new, |info| format!("{}: {}", info.name, info.aircraft)),
        subtitle: format!("{} ({})", season.name, season.id),
        notices: notices(info),
        from: season.from,
        until: season.until.max(plan.complete.date()),
        gate: (gate, season.until),
        complete: Some(plan.complete),
        today: None,
        closed: planned.closed.clone(),
        warm: season
            .heating
            .iter()
            .map(|period| (period.days.from, period.days.until))
            .collect(),
        lanes: lanes(programme, planned, plan),
        loads: loads(plan),
        summary: figures(planned, plan),
        jobs,
        made: made.to_owned(),
    }
}

use charts::JobView;

fn notices(info: Option<&record::Info>) -> Vec<String> {
    let invented = info.is_some_and(|info| info.invented);
    let mut notices = Vec::new();
    if invented {
        notices.push(
            "Invented example: no such aircraft, people, firms or places".to_owned(),
        );
    }
    notices.push(
        "Supports, and never replaces, approved data, licensed engineers and the authority"
            .to_owned(),
    );
    notices
}

fn figures(planned: &SeasonPlan, plan: &Plan) -> Vec<(String, String)> {
    let sure = match &planned.ending {
        Ending::Optimal => "proven the best".to_owned(),
        Ending::Feasible { earliest, .. } => {
            format!("none before {}", earliest.strftime("%-d %b %Y"))
        }
        _ => String::new(),
    };
    vec![
        ("Proof".to_owned(), sure),
        ("Jobs".to_owned(), (plan.jobs.len() - 1).to_string()),
        ("Items off".to_owned(), planned.draft.opening.removals.len().to_string()),
    ]
}

fn kind(job: &Job, planned: &SeasonPlan) -> charts::JobKind {
    match job.kind {
        JobKind::Remove => {
            let stripped = planned
                .draft
                .opening
                .removals
                .iter()
                .any(|r| Some(&r.item) == job.item.as_ref() && r.on_unit.is_some());
            if stripped { charts::JobKind::Strip } else { charts::JobKind::Remove }
        }
        JobKind::Refit => charts::JobKind::Refit,
        JobKind::Check => charts::JobKind::Check,
        JobKind::Step(StepKind::Clean) => charts::JobKind::Clean,
        JobKind::Step(StepKind::Inspect) => charts::JobKind::Inspect,
        JobKind::Step(StepKind::Repair) => charts::JobKind::Repair,
        JobKind::Step(StepKind::Finish) => charts::JobKind::Finish,
        JobKind::Step(StepKind::Assemble) => charts::JobKind::Assemble,
        JobKind::AtFirm => match job.lasting {
            Lasting::FirmHere(_) => charts::JobKind::Inspect,
            _ => charts::JobKind::Away,
        },
        JobKind::Wait => charts::JobKind::Wait,
        JobKind::Step(StepKind::Other)
        | JobKind::Despatch
        | JobKind::Return
        | JobKind::Begin
        | JobKind::Complete => charts::JobKind::Other,
    }
}

fn firm_of(job: &Job) -> Option<&record::FirmId> {
    match &job.lasting {
        Lasting::AtFirm(firm) | Lasting::FirmHere(firm) | Lasting::Collection(firm) => {
            Some(firm)
        }
        _ => None,
    }
}

/// The keys that each job follows.
fn follows(planned: &SeasonPlan) -> Vec<Vec<String>> {
    let mut after = vec![Vec::new(); planned.draft.jobs.len()];
    for link in &planned.draft.links {
        after[link.to].push(planned.draft.jobs[link.from].key.to_string());
    }
    after
}

fn job_view(
    programme: &Programme,
    planned: &SeasonPlan,
    job: &Job,
    at: &PlannedJob,
    after: Vec<String>,
) -> JobView {
    let pack = job.pack.as_ref().and_then(|pack| programme.packs.get(pack));
    let people = at.people.iter().map(|(id, _)| {
        programme.people.get(id).map_or_else(|| id.to_string(), |p| p.name.clone())
    });
    let occupied = planned
        .draft
        .occupations
        .iter()
        .find(|o| job.kind == JobKind::Remove && Some(&o.item) == job.item.as_ref());
    let stand = job.stand.as_ref().or(occupied.map(|o| &o.stand));
    let name = |id: &airframe::StandId| {
        programme.stands.get(id).map_or_else(|| id.to_string(), |s| s.name.clone())
    };
    JobView {
        key: job.key.to_string(),
        name: job.name.clone(),
        pack: pack.map_or_else(String::new, |pack| format!("{} {}", pack.id, pack.name)),
        kind: kind(job, planned),
        item: job.item.as_ref().map(ToString::to_string),
        start: at.start,
        finish: at.finish,
        working: at.worked.iter().map(|s| (s.from, s.until)).collect(),
        people: people.collect(),
        stand: stand.map(name),
        place: job
            .place
            .as_ref()
            .and_then(|p| programme.places.get(p))
            .map(|p| p.name.clone()),
        firm: firm_of(job).and_then(|f| programme.firms.get(f)).map(|f| f.name.clone()),
        why: at.why.clone(),
        slack: Some(match at.slack_days {
            0 => "none".to_owned(),
            1 => "1 day".to_owned(),
            days => format!("{days} days"),
        }),
        driving: at.driving,
        done: at.done,
        after,
    }
}

type Lanes = BTreeMap<String, Vec<Bar>>;

fn lanes(programme: &Programme, planned: &SeasonPlan, plan: &Plan) -> Vec<LaneSet> {
    let (mut packs, mut firms, mut people): (Lanes, Lanes, Lanes) = Default::default();
    for (number, (job, at)) in planned.draft.jobs.iter().zip(&plan.jobs).enumerate() {
        let bar = |from, until| Bar { job: number, from, until };
        let pack = job.pack.as_ref().map_or_else(
            || "Whole season".to_owned(),
            |id| {
                let name = programme.packs.get(id).map_or("", |pack| pack.name.as_str());
                format!("{id} {name}")
            },
        );
        packs.entry(pack).or_default().push(bar(at.start, at.finish));
        if let Some(firm) = firm_of(job).and_then(|firm| programme.firms.get(firm)) {
            firms.entry(firm.name.clone()).or_default().push(bar(at.start, at.finish));
        }
        for (id, stretches) in &at.people {
            let name = programme
                .people
                .get(id)
                .map_or_else(|| id.to_string(), |p| p.name.clone());
            let (first, last) = (stretches.first(), stretches.last());
            if let (Some(first), Some(last)) = (first, last) {
                people.entry(name).or_default().push(bar(first.from, last.until));
            }
        }
    }
    let stands = stands(programme, planned, plan);
    [("By pack", packs), ("By stand", stands), ("By person", people), ("By firm", firms)]
        .into_iter()
        .filter(|(_, lanes)| !lanes.is_empty())
        .map(|(name, lanes)| LaneSet { name: name.to_owned(), lanes: laid(lanes) })
        .collect()
}

fn laid(lanes: Lanes) -> Vec<Lane> {
    let mut lanes: Vec<Lane> = lanes
        .into_iter()
        .map(|(name, bars)| Lane { name, note: String::new(), bars })
        .collect();
    // What begins first stands on top: the chart then reads as a fall to the right.
    lanes.sort_by_key(|lane| lane.bars.iter().map(|bar| bar.from).min());
    lanes
}

fn stands(programme: &Programme, planned: &SeasonPlan, plan: &Plan) -> Lanes {
    let mut lanes = Lanes::new();
    for held in &planned.draft.occupations {
        let from = held.from;
        let until = held.to.map_or(plan.complete, |to| plan.jobs[to].finish);
        let stand = programme.stands.get(&held.stand);
        let name = stand.map_or_else(|| held.stand.to_string(), |s| s.name.clone());
        let bar = Bar { job: from, from: plan.jobs[from].start, until };
        lanes.entry(name).or_default().push(bar);
    }
    for (number, job) in planned.draft.jobs.iter().enumerate() {
        let stand = job.stand.as_ref().and_then(|stand| programme.stands.get(stand));
        if let Some(stand) = stand {
            let at = &plan.jobs[number];
            let bar = Bar { job: number, from: at.start, until: at.finish };
            lanes.entry(stand.name.clone()).or_default().push(bar);
        }
    }
    lanes
}

fn loads(plan: &Plan) -> Vec<LoadView> {
    let used = plan.loads.iter().filter(|load| load.weeks.iter().any(|w| w.needed > 0.0));
    used.map(|load| LoadView {
        skill: load.name.clone(),
        weeks: load
            .weeks
            .iter()
            .map(|w| LoadWeek { monday: w.monday, needed: w.needed, there: w.there })
            .collect(),
    })
    .collect()
}

/// What somebody does, day by day.
type Days = BTreeMap<Date, Vec<(Stretch, String)>>;

/// Each person's days, for their calendar.
pub(crate) fn people_days(
    programme: &Programme,
    planned: &SeasonPlan,
    plan: &Plan,
    made: Timestamp,
) -> Vec<(String, PersonDays)> {
    let mut days: BTreeMap<&record::PersonId, Days> = BTreeMap::new();
    for (job, at) in planned.draft.jobs.iter().zip(&plan.jobs) {
        for (person, stretches) in &at.people {
            for stretch in stretches.iter().flat_map(|stretch| by_day(*stretch)) {
                let place =
                    job.place.as_ref().map_or_else(String::new, |p| format!(" [{p}]"));
                let line = format!("{} {}{place}", job.key, job.name);
                let own = days.entry(person).or_default();
                own.entry(stretch.from.date()).or_default().push((stretch, line));
            }
        }
    }
    let season = &planned.draft.season.id;
    days.into_iter()
        .map(|(id, days)| {
            let name = programme
                .people
                .get(id)
                .map_or_else(|| id.to_string(), |p| p.name.clone());
            let uid_base = format!("{season}-{id}");
            let days =
                days.into_iter().map(|(date, work)| day_view(date, work)).collect();
            (id.to_string(), PersonDays { name, uid_base, days, made })
        })
        .collect()
}

fn day_view(date: Date, mut work: Vec<(Stretch, String)>) -> DayView {
    work.sort();
    let from = work.iter().map(|(s, _)| s.from).min();
    let until = work.iter().map(|(s, _)| s.until).max();
    let mut jobs: Vec<String> = Vec::new();
    for (stretch, line) in work {
        let clock = |at: DateTime| at.strftime("%H:%M").to_string();
        jobs.push(format!("{}-{} {line}", clock(stretch.from), clock(stretch.until)));
    }
    let midnight = jiff::civil::Time::midnight();
    DayView {
        date,
        from: from.map_or(midnight, DateTime::time),
        until: until.map_or(midnight, DateTime::time),
        jobs,
    }
}

fn by_day(stretch: Stretch) -> Vec<Stretch> {
    let mut parts = Vec::new();
    let mut from = stretch.from;
    while from.date() < stretch.until.date() {
        let Ok(next) = from.date().tomorrow() else { break };
        let midnight = next.to_datetime(jiff::civil::Time::midnight());
        parts.push(Stretch { from, until: midnight });
        from = midnight;
    }
    if from < stretch.until {
        parts.push(Stretch { from, until: stretch.until });
    }
    parts
}
