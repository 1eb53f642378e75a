//! Planning a season: draft, model, search, check.

use jiff::civil::{Date, DateTime};
use planner::{Draft, Model, Plan};
use record::{Act, JobKey, Programme, SeasonId};
use search::{Bound, Options, Outcome, Stop, Stopped, Watch};
use timetable::{Assignment, Measures, ModeId, Problem, Schedule};

use crate::AppError;

/// What to plan, and how long to try.
#[derive(Debug, Clone)]
pub struct PlanRequest {
    /// The season; nothing means the first that has not ended.
    pub season: Option<String>,
    /// When to stop.
    pub stop: Stop,
    /// How many threads may run.
    pub threads: usize,
    /// Where the random streams begin.
    pub seed: u64,
    /// Today, for a season that is under way; nothing means that none of it has begun.
    pub now: Option<DateTime>,
    /// Plan as if no plan had been adopted.
    pub anew: bool,
    /// Multiply estimates by what work of the same kind took so far.
    pub measured: bool,
}

/// How the search for a plan ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ending {
    /// No plan is better.
    Optimal,
    /// A lawful plan; no plan is complete before the date.
    Feasible {
        /// No lawful plan is complete earlier than this.
        earliest: DateTime,
        /// Why the search ended.
        stopped: &'static str,
    },
    /// There is no lawful plan; the sentences say which rules cannot hold together.
    Infeasible(Vec<String>),
    /// Neither a plan nor a proof that there is none.
    Nothing {
        /// Why the search ended.
        stopped: &'static str,
    },
}

/// A season's plan that the checker has passed.
#[derive(Debug, Clone)]
pub struct SeasonPlan {
    /// The work.
    pub draft: Draft,
    /// The plan; nothing if there is none.
    pub plan: Option<Plan>,
    /// How the search ended.
    pub ending: Ending,
    /// The spans in which somebody works, for shading what is closed.
    pub closed: Vec<(DateTime, DateTime)>,
    /// The digest of the problem that was solved.
    pub problem: String,
    /// The schedule that the plan was read from.
    pub schedule: Option<Schedule>,
    /// Where the random streams began.
    pub seed: u64,
}

/// The season that is asked for, or the first one that has not ended by `today`.
pub fn choose_season(
    programme: &Programme,
    wanted: Option<&str>,
    today: Option<Date>,
) -> Result<SeasonId, AppError> {
    let known = || {
        let names: Vec<String> =
            programme.seasons.names().map(ToString::to_string).collect();
        if names.is_empty() { "none".to_owned() } else { names.join(", ") }
    };
    if let Some(wanted) = wanted {
        let found = programme.seasons.names().find(|name| name.as_str() == wanted);
        return found.cloned().ok_or_else(|| {
            AppError::Unknown(format!(
                "there is no season {wanted}; there are {}",
                known()
            ))
        });
    }
    let mut seasons: Vec<_> = programme.seasons.iter().collect();
    seasons.sort_by_key(|season| (season.from, season.id.clone()));
    let open = seasons.iter().find(|s| today.is_none_or(|today| s.until >= today));
    let season = open.or(seasons.last());
    let season = season.map(|season| season.id.clone());
    season.ok_or_else(|| AppError::Unknown("the programme has no season".to_owned()))
}

/// The seasons, by their names and what people call them.
pub fn season_names(programme: &Programme) -> Vec<(String, String)> {
    let seasons = programme.seasons.iter();
    seasons.map(|season| (season.id.to_string(), season.name.clone())).collect()
}

/// Days from ticks of a quarter of an hour.
pub(crate) fn days(ticks: timetable::Tick) -> f64 {
    f64::from(ticks) / 96.0
}

/// The day on which something ends so many days after a season begins.
pub(crate) fn day_after(begins: Date, days: f64) -> Option<Date> {
    // What ends with a day ends on it.
    let whole = (days.ceil() as i64 - 1).max(0);
    begins.checked_add(jiff::Span::new().try_days(whole).ok()?).ok()
}

/// How a search for a plan of a season stands, in words; `begins` is the first day of the
/// season.
pub fn news_told(news: &search::News, begins: Option<Date>) -> String {
    let on = |days: f64| {
        let day = begins.and_then(|begins| day_after(begins, days));
        day.map_or_else(String::new, |day| format!(" ({})", day.strftime("%a %-d %b %Y")))
    };
    let best = news.best.map_or_else(
        || "none yet".to_owned(),
        |best| {
            let late = if best.tardiness > 0 { ", late for the gate" } else { "" };
            let days = days(best.length);
            format!("complete after {days:.1} days{}{late}", on(days))
        },
    );
    let (bound, seconds) = (days(news.bound.length), news.elapsed.as_secs());
    let tried = crate::counted(news.steps as usize, "plan", "plans");
    format!(
        "Best so far: {best}. Proven: not before {bound:.1} days{}. {tried} tried in {seconds} s.",
        on(bound)
    )
}

/// How sure a plan is, in words, and the moment before which none is complete.
pub fn ending_told(planned: &SeasonPlan) -> (String, Option<DateTime>) {
    match &planned.ending {
        Ending::Optimal => ("no plan is better (proven)".to_owned(), None),
        Ending::Feasible { earliest, stopped } => {
            // What no plan can undercut anyway proves nothing.
            let begins =
                planned.draft.season.from.to_datetime(jiff::civil::Time::midnight());
            let proven = Some(*earliest).filter(|earliest| *earliest > begins);
            (format!("the search ended because {stopped}"), proven)
        }
        Ending::Infeasible(_) => ("proven: there is no plan".to_owned(), None),
        Ending::Nothing { stopped } => {
            (format!("nothing was found; the search ended because {stopped}"), None)
        }
    }
}

/// The rules that cannot hold together, a sentence each; none unless it is proven that there is
/// no plan.
pub fn conflict_told(planned: &SeasonPlan) -> Vec<String> {
    match &planned.ending {
        Ending::Infeasible(reasons) => reasons.clone(),
        Ending::Optimal | Ending::Feasible { .. } | Ending::Nothing { .. } => Vec::new(),
    }
}

/// From when on a season is to be planned that nobody said it of: the next quarter of an hour
/// from `now`, if the season has begun and is not over; nothing before it begins, and long after
/// it. Nobody begins in the afternoon what a plan has for the morning.
pub fn under_way(
    programme: &Programme,
    wanted: Option<&str>,
    now: DateTime,
) -> Result<Option<DateTime>, AppError> {
    let today = now.date();
    let season = choose_season(programme, wanted, Some(today))?;
    let season = programme.seasons.get(&season);
    let lasts = season.is_some_and(|s| (s.from..=s.until).contains(&today));
    Ok(lasts.then(|| next_quarter(now)))
}

/// The next whole quarter of an hour, which may be this one.
fn next_quarter(now: DateTime) -> DateTime {
    let quarters = jiff::civil::DateTimeRound::new()
        .smallest(jiff::Unit::Minute)
        .increment(15)
        .mode(jiff::RoundMode::Ceil);
    // At the end of the calendar there is no next one.
    now.round(quarters).unwrap_or(now)
}

/// Plans a season. What comes back has passed the checker.
pub fn plan_season(
    programme: &Programme,
    request: &PlanRequest,
    watch: &dyn Watch,
) -> Result<SeasonPlan, AppError> {
    let today = request.now.map(DateTime::date);
    let season = choose_season(programme, request.season.as_deref(), today)?;
    let mut draft = planner::draft(programme, &season).map_err(AppError::Draft)?;
    if request.anew {
        draft.published.clear();
    }
    if request.measured {
        let sentences = draft.measure(programme);
        draft.warnings.extend(sentences);
    }
    let model = Model::new(programme, &draft, request.now).map_err(AppError::Model)?;
    let problem = problems::write(&model.problem);
    let problem = ledger::Digest::of(problem.as_bytes()).to_string();
    let options = Options {
        stop: request.stop,
        threads: request.threads,
        seed: request.seed,
        start_from: None,
    };
    let outcome = search::solve(&model.problem, &options, watch);
    let read = Read { problem, seed: request.seed };
    planned(programme, &draft, &model, &outcome, read)
}

/// Plans a season again near a plan that was made of it, with jobs that begin no earlier than
/// so. What is nearest comes at once; the time is spent on making it better.
///
/// # Errors
/// If the plan found none, a job is not in it or has begun, or the checker rejects what was
/// found.
pub fn what_if(
    programme: &Programme,
    upon: &SeasonPlan,
    request: &PlanRequest,
    delays: &[(JobKey, DateTime)],
    within: std::time::Duration,
    watch: &dyn Watch,
) -> Result<SeasonPlan, AppError> {
    let Some(before) = &upon.schedule else {
        return Err(AppError::Unknown(
            "there is no plan to try anything upon".to_owned(),
        ));
    };
    let mut draft = upon.draft.clone();
    // What is tried keeps to the plan that it is tried upon, so that only what must move does.
    let plan = upon.plan.iter().flat_map(|plan| &plan.jobs);
    draft.published = plan.map(|job| job.start).enumerate().collect();
    let mut wrong = Vec::new();
    for (key, from) in delays {
        let at = draft.jobs.iter().position(|job| job.key == *key);
        match at.filter(|at| !draft.past.contains_key(at)) {
            Some(at) => {
                draft.not_before.insert(at, *from);
            }
            None => wrong.push(format!("{key} is no job that is still to begin")),
        }
    }
    if !wrong.is_empty() {
        return Err(AppError::Unknown(wrong.join("\n")));
    }
    let model = Model::new(programme, &draft, request.now).map_err(AppError::Model)?;
    let problem = problems::write(&model.problem);
    let problem = ledger::Digest::of(problem.as_bytes()).to_string();
    let options = Options {
        stop: Stop::after(within),
        threads: 1,
        seed: request.seed,
        start_from: None,
    };
    let forgiven = forgiving(&model.problem, before);
    let outcome = search::replan(&forgiven, before, &options, watch);
    let outcome = measured_by(&model.problem, outcome);
    let read = Read { problem, seed: request.seed };
    planned(programme, &draft, &model, &outcome, read)
}

/// The problem with due dates no earlier than a schedule keeps them: what was late before
/// is no reason to move anything, and what becomes late besides is.
fn forgiving(problem: &Problem, before: &Schedule) -> Problem {
    let mut tasks = problem.tasks().to_vec();
    for (task, run) in tasks.iter_mut().zip(&before.assignments) {
        if let Some(due) = &mut task.due {
            due.at = due.at.max(run.finish);
        }
    }
    problem.with_tasks(tasks).unwrap_or_else(|_| problem.clone())
}

/// An outcome with the measures that a problem itself gives to its schedule. What was proven
/// with other due dates is not claimed of it.
fn measured_by(problem: &Problem, outcome: Outcome) -> Outcome {
    let stopped = match &outcome {
        Outcome::Feasible { stopped, .. } => *stopped,
        _ => Stopped::Steps,
    };
    match outcome {
        Outcome::Feasible { schedule, .. } | Outcome::Optimal { schedule, .. } => {
            let measures = Measures::of(problem, &schedule);
            Outcome::Feasible { schedule, measures, bound: Bound::default(), stopped }
        }
        other => other,
    }
}

/// The plan that was adopted for a season, as it stands: what has happened is where it
/// happened, and what is left keeps to the plan where it can. Nothing if none was adopted.
///
/// # Errors
/// If the season cannot be drafted, or the checker rejects what was found.
pub(crate) fn adopted_plan(
    programme: &Programme,
    season: &SeasonId,
    request: &PlanRequest,
    watch: &dyn Watch,
) -> Result<Option<SeasonPlan>, AppError> {
    let Some(adopted) = programme.shop.plans.adopted.get(season) else { return Ok(None) };
    let draft = planner::draft(programme, season).map_err(AppError::Draft)?;
    let model = Model::new(programme, &draft, request.now).map_err(AppError::Model)?;
    let problem = problems::write(&model.problem);
    let problem = ledger::Digest::of(problem.as_bytes()).to_string();
    let before = as_adopted(&model, adopted);
    let options =
        Options { stop: request.stop, threads: 1, seed: request.seed, start_from: None };
    let outcome = search::replan(&model.problem, &before, &options, watch);
    let read = Read { problem, seed: request.seed };
    planned(programme, &draft, &model, &outcome, read).map(Some)
}

/// Where an adopted plan has the tasks of a model. What it did not have yet comes after what it
/// follows.
fn as_adopted(model: &Model<'_>, adopted: &record::shop::Adopted) -> Schedule {
    let dated = adopted.jobs();
    let place = |at: DateTime| model.grid.tick(at).clamp(0, model.grid.horizon());
    let mut assignments: Vec<Assignment> = Vec::new();
    for (number, job) in model.draft.jobs.iter().enumerate() {
        let assignment = dated.get(&job.key).map_or(
            Assignment { mode: ModeId(0), start: model.now, finish: model.now },
            |known| {
                let (start, finish) = (place(known.from), place(known.until));
                let mode = adopted_mode(model, number, known.people.len());
                Assignment { mode, start, finish: finish.max(start) }
            },
        );
        assignments.push(assignment);
    }
    for link in &model.draft.links {
        if !dated.contains_key(&model.draft.jobs[link.to].key) {
            let after = assignments[link.from].finish;
            let to = &mut assignments[link.to];
            to.start = to.start.max(after);
            to.finish = to.finish.max(to.start);
        }
    }
    Schedule { assignments }
}

/// The way in which a job was planned, as far as the number of its people tells.
fn adopted_mode(model: &Model<'_>, job: usize, people: usize) -> ModeId {
    let modes = model.problem.tasks().get(job).map_or(1, |task| task.modes.len());
    let far = |mode: &ModeId| {
        let crew = model
            .way(job, *mode)
            .map_or(0, |way| way.crew.iter().map(|crew| i64::from(crew.count)).sum());
        (crew - people as i64).abs()
    };
    let all = (0..modes as u32).map(ModeId);
    all.min_by_key(far).unwrap_or(ModeId(0))
}

/// What a plan says of how it was made.
struct Read {
    problem: String,
    seed: u64,
}

/// Reads what a search came to, once the checker has passed it.
fn planned(
    programme: &Programme,
    draft: &Draft,
    model: &Model<'_>,
    outcome: &Outcome,
    Read { problem, seed }: Read,
) -> Result<SeasonPlan, AppError> {
    let schedule = outcome.schedule();
    if let Some(schedule) = schedule {
        let notes = verify::check(&model.problem, schedule);
        if !notes.is_empty() {
            let notes = notes.iter().take(10).map(ToString::to_string).collect();
            return Err(AppError::Unlawful(notes));
        }
    }
    Ok(SeasonPlan {
        plan: schedule.map(|schedule| Plan::new(model, schedule)),
        schedule: schedule.cloned(),
        ending: ending(model, outcome),
        closed: closed(programme, draft),
        draft: draft.clone(),
        problem,
        seed,
    })
}

/// Which cards to draft, and by which data.
#[derive(Debug, Clone, Default)]
pub struct CardRequest {
    /// The season; nothing means the first that has not ended.
    pub season: Option<String>,
    /// The jobs; none means all that have no card yet.
    pub jobs: Vec<String>,
    /// Only those of this pack.
    pub pack: Option<String>,
    /// The document that the steps follow.
    pub document: Option<String>,
    /// Its revision.
    pub revision: Option<String>,
}

/// Drafts job cards: acts that issue them, as a document that [`acts_of_file`] reads once
/// somebody has gone over it; and what has no card, with why.
///
/// [`acts_of_file`]: crate::acts_of_file()
pub fn draft_cards(
    programme: &Programme,
    request: &CardRequest,
    today: Date,
) -> Result<(String, Vec<String>), AppError> {
    let season = choose_season(programme, request.season.as_deref(), Some(today))?;
    let draft = planner::draft(programme, &season).map_err(AppError::Draft)?;
    let data = planner::Data {
        document: request.document.clone(),
        revision: request.revision.clone(),
    };
    let named = !request.jobs.is_empty();
    let (mut acts, mut without) = (Vec::<Act>::new(), Vec::new());
    for job in wanted_jobs(programme, &draft, request) {
        match planner::card(programme, &draft, &job, &data) {
            Ok(card) => acts.push(card.into()),
            Err(planner::CardError::NoCard { .. }) if !named => {}
            Err(error) => without.push(error.to_string()),
        }
    }
    Ok((folder::acts::to_json(&acts), without))
}

/// The jobs that are named, or else all of the season without a card, of one pack or of all.
fn wanted_jobs(
    programme: &Programme,
    draft: &Draft,
    request: &CardRequest,
) -> Vec<JobKey> {
    if !request.jobs.is_empty() {
        return request.jobs.iter().cloned().map(JobKey).collect();
    }
    let cards = &programme.shop.cards.cards;
    let open = draft.jobs.iter().filter(|job| {
        let pack = job.pack.as_ref().map(ToString::to_string);
        let meant = request.pack.is_none() || pack == request.pack;
        meant && !cards.contains_key(&job.key)
    });
    open.map(|job| job.key.clone()).collect()
}

/// A season as a scheduling problem, written as a document that [`solve`](crate::solve())
/// takes: what [`plan_season`] hands to the search.
pub fn season_problem(
    programme: &Programme,
    season: Option<&str>,
    now: Option<DateTime>,
) -> Result<String, AppError> {
    let season = choose_season(programme, season, now.map(DateTime::date))?;
    let draft = planner::draft(programme, &season).map_err(AppError::Draft)?;
    let model = Model::new(programme, &draft, now).map_err(AppError::Model)?;
    Ok(problems::write(&model.problem))
}

fn ending(model: &Model<'_>, outcome: &Outcome) -> Ending {
    match outcome {
        Outcome::Optimal { .. } => Ending::Optimal,
        Outcome::Feasible { bound, stopped, .. } => {
            Ending::Feasible { earliest: earliest(model, *bound), stopped: why(*stopped) }
        }
        Outcome::Infeasible(conflict) => {
            Ending::Infeasible(planner::conflict(model, conflict))
        }
        Outcome::Unknown { stopped, .. } => Ending::Nothing { stopped: why(*stopped) },
    }
}

/// The aircraft is complete no earlier than the length allows, nor than the tardiness
/// against the gate does.
fn earliest(model: &Model<'_>, bound: Bound) -> DateTime {
    let late = i32::try_from(bound.tardiness).unwrap_or(0);
    let by_gate = if late > 0 { model.gate().saturating_add(late) } else { 0 };
    model.grid.moment(bound.length.max(by_gate))
}

pub(crate) const fn why(stopped: Stopped) -> &'static str {
    match stopped {
        Stopped::Time => "the time was over",
        Stopped::Steps => "the steps were spent",
        Stopped::Cancelled => "it was cancelled",
    }
}

/// Closures of the season, as moments.
fn closed(programme: &Programme, draft: &Draft) -> Vec<(DateTime, DateTime)> {
    let midnight = jiff::civil::Time::midnight();
    let next = |day: Date| day.tomorrow().unwrap_or(day);
    let season = programme.seasons.get(&draft.season.id);
    let spans = season.into_iter().flat_map(|season| &season.closed);
    spans
        .map(|span| {
            (span.from.to_datetime(midnight), next(span.until).to_datetime(midnight))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use testkit::skiff;

    use super::{day_after, under_way};

    #[test]
    fn a_season_under_way_is_planned_from_the_next_quarter_of_an_hour() {
        let programme = skiff();
        let at = |day, hour, minute| date(2031, 10, day).at(hour, minute, 0, 0);
        let asked = |now| under_way(&programme, Some("S1"), now).unwrap();
        for (now, from) in [
            (at(5, 9, 0), None),
            (at(6, 0, 0), Some(at(6, 0, 0))),
            (at(7, 12, 0), Some(at(7, 12, 0))),
            (at(7, 12, 1), Some(at(7, 12, 15))),
            (at(7, 23, 50), Some(at(8, 0, 0))),
            (
                date(2031, 11, 28).at(16, 31, 0, 0),
                Some(date(2031, 11, 28).at(16, 45, 0, 0)),
            ),
            (date(2031, 11, 29).at(9, 0, 0, 0), None),
        ] {
            assert_eq!(asked(now), from, "{now}");
        }
    }

    #[test]
    fn a_day_is_counted_from_the_first_one_and_midnight_belongs_to_the_day_before() {
        let begins = date(2031, 10, 6);
        for (days, day) in [
            (0.0, begins),
            (0.4, begins),
            (1.0, begins),
            (1.4, date(2031, 10, 7)),
            // Over the change of the clocks: days are days of the calendar.
            (30.5, date(2031, 11, 5)),
        ] {
            assert_eq!(day_after(begins, days), Some(day), "{days}");
        }
        assert_eq!(day_after(begins, f64::MAX), None);
    }
}
