//! Scheduling problems by themselves: published instances, and documents of our own.

use std::path::Path;
use std::sync::Mutex;
use std::time::Duration;

use problems::Recipe;
use search::{Bound, News, Options, Outcome, Stop, Watch};
use timetable::instance::{self, Instance};
use timetable::{Assignment, Measures, ModeId, Problem, Schedule, Tick};

use crate::AppError;
use crate::rules::conflict;
use crate::season::why;

/// How to solve a problem.
#[derive(Debug, Clone, Copy)]
pub struct SolveRequest {
    /// When to stop.
    pub stop: Stop,
    /// How many threads may run.
    pub threads: usize,
    /// Where the random streams begin.
    pub seed: u64,
}

/// The answer to a problem. A schedule in it has passed the checker.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SolveAnswer {
    /// `optimal`, `feasible`, `infeasible` or `unknown`.
    pub status: &'static str,
    /// Why the search ended, where it has not proven all there is to prove.
    pub stopped: Option<&'static str>,
    /// What the schedule measures, if there is one.
    pub measures: Option<Measures>,
    /// What is proven of every schedule; nothing for an infeasible problem.
    pub bound: Option<Bound>,
    /// Starts in the order of the file, with both dummy activities of a published
    /// instance; empty if there is no schedule.
    pub starts: Vec<Tick>,
    /// The number of the mode of each activity of a published instance, counted from 1 as in
    /// the file and in its order; empty where no activity has more than one, and if there is
    /// no schedule.
    pub modes: Vec<usize>,
    /// What runs when and how; empty for a published instance, of which starts and
    /// modes say all, and if there is no schedule.
    pub runs: Vec<Run>,
    /// The rules that can't hold together, where the problem is infeasible.
    pub conflict: Vec<String>,
    /// How long the first schedule took; nothing if there is none, or if it was there
    /// before anything could be told.
    pub first: Option<Duration>,
    /// Schedules tried; 0 where proofs alone gave the answer.
    pub steps: u64,
}

/// A task of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// The name of the task.
    pub task: String,
    /// The position of its mode, counted from 0.
    pub mode: usize,
    /// The first tick.
    pub start: Tick,
    /// The first tick after it.
    pub finish: Tick,
}

/// A file larger than this is refused before it is read.
const LARGEST: u64 = 64 << 20;

/// Reads a problem, solves it, and has the checker pass the schedule. A file whose name
/// ends in `.json`, or whose text begins with a curly bracket, is a document of our own;
/// others are published instances.
pub fn solve(
    file: &Path,
    request: SolveRequest,
    watch: &dyn Watch,
) -> Result<SolveAnswer, AppError> {
    let (name, text) = text_of(file)?;
    let is_ours = is_document(&name, &text);
    let instance = if is_ours { None } else { Some(instance(&name, &text)?) };
    let read = if is_ours { Some(document(&name, &text)?) } else { None };
    let Some(problem) = read.as_ref().or(instance.as_ref().map(|i| &i.problem)) else {
        return Err(AppError::Instance(Vec::new()));
    };
    let options = Options {
        stop: request.stop,
        threads: request.threads,
        seed: request.seed,
        start_from: None,
    };
    let ears = Ears { watch, heard: Mutex::default() };
    let outcome = search::solve(problem, &options, &ears);
    if let Some(schedule) = outcome.schedule() {
        let notes = verify::check(problem, schedule);
        if !notes.is_empty() {
            let notes = notes.iter().map(ToString::to_string).collect();
            return Err(AppError::Unlawful(notes));
        }
    }
    Ok(answer(problem, instance.as_ref(), &outcome, &ears.heard()))
}

/// Draws a problem and writes it as a document.
pub fn draw_problem(size: ProblemSize, seed: u64) -> String {
    let recipe = match size {
        ProblemSize::Small => Recipe::SMALL,
        ProblemSize::Large => Recipe::LARGE,
        ProblemSize::Tasks(count) => Recipe::tasks(count),
    };
    problems::write(&problems::generate(&recipe, seed))
}

/// How large a drawn problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProblemSize {
    /// 8 to 14 tasks, a few dozen ticks.
    Small,
    /// 150 to 1,000 tasks, months of quarter hours.
    Large,
    /// So many tasks.
    Tasks(usize),
}

/// What the checker says of a schedule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judgement {
    /// What it measures.
    pub measures: Measures,
    /// Each rule that it breaks; lawful if there is none.
    pub breaches: Vec<String>,
}

/// Has the checker judge a schedule that came from elsewhere: a JSON object whose
/// `assignments` lists, in the order of the tasks, objects with `mode`, `start` and `finish`.
pub fn judge(problem: &Path, answer: &Path) -> Result<Judgement, AppError> {
    let (name, text) = text_of(problem)?;
    let problem = if is_document(&name, &text) {
        document(&name, &text)?
    } else {
        instance(&name, &text)?.problem
    };
    let (name, text) = text_of(answer)?;
    let schedule = schedule(&text).map_err(|what| {
        AppError::Instance(vec![format!(
            "{name}: {what}; write {{\"assignments\": [{{\"mode\": 0, \"start\": 0, \
             \"finish\": 4}}, ..]}}, one for each task"
        )])
    })?;
    let notes = verify::check(&problem, &schedule);
    let breaches = notes.iter().map(ToString::to_string).collect();
    Ok(Judgement { measures: Measures::of(&problem, &schedule), breaches })
}

fn schedule(text: &str) -> Result<Schedule, String> {
    let value: serde_json::Value =
        serde_json::from_str(text).map_err(|error| format!("it is not JSON: {error}"))?;
    let list = value["assignments"].as_array().ok_or("there are no assignments")?;
    let assignments = list.iter().enumerate().map(|(task, run)| {
        let number = |field: &str| {
            let tick = run[field].as_i64().and_then(|n| Tick::try_from(n).ok());
            tick.ok_or_else(|| format!("assignments[{task}].{field} is no tick"))
        };
        let mode = ModeId(number("mode")?.unsigned_abs());
        Ok(Assignment { mode, start: number("start")?, finish: number("finish")? })
    });
    Ok(Schedule { assignments: assignments.collect::<Result<_, String>>()? })
}

fn text_of(file: &Path) -> Result<(String, String), AppError> {
    let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let failed = |source| AppError::File { doing: "read", file: file.to_owned(), source };
    let size = std::fs::metadata(file).map_err(failed)?.len();
    if size > LARGEST {
        let text =
            format!("{name}: {size} bytes are more than a problem may have (64 MiB)");
        return Err(AppError::Instance(vec![text]));
    }
    let bytes = std::fs::read(file).map_err(failed)?;
    Ok((name, String::from_utf8_lossy(&bytes).into_owned()))
}

fn is_document(name: &str, text: &str) -> bool {
    let json =
        Path::new(name).extension().is_some_and(|e| e.eq_ignore_ascii_case("json"));
    let text = text.trim_start_matches('\u{feff}').trim_start();
    json || instance::Format::of_name(name).is_none() && text.starts_with('{')
}

fn document(name: &str, text: &str) -> Result<Problem, AppError> {
    problems::read(name, text).map_err(|errors| {
        AppError::Instance(errors.iter().map(ToString::to_string).collect())
    })
}

fn instance(name: &str, text: &str) -> Result<Instance, AppError> {
    instance::parse(name, text).map_err(|errors| {
        AppError::Instance(errors.iter().map(|e| format!("{name}, {e}")).collect())
    })
}

fn answer(
    problem: &Problem,
    instance: Option<&Instance>,
    outcome: &Outcome,
    heard: &Heard,
) -> SolveAnswer {
    let schedule = outcome.schedule();
    let assignments = schedule.map_or(&[][..], |schedule| &schedule.assignments);
    let starts = match (instance, schedule) {
        (Some(instance), Some(schedule)) => instance.starts(schedule),
        _ => assignments.iter().map(|assignment| assignment.start).collect(),
    };
    let modes = match (instance, schedule) {
        (Some(instance), Some(schedule)) => instance.modes(schedule),
        _ => Vec::new(),
    };
    let ours = if instance.is_none() { assignments } else { &[] };
    let runs = problem.tasks().iter().zip(ours).map(|(task, run)| Run {
        task: task.name.clone(),
        mode: run.mode.at(),
        start: run.start,
        finish: run.finish,
    });
    let mut answer = SolveAnswer {
        status: "unknown",
        stopped: None,
        measures: outcome.measures(),
        bound: None,
        starts,
        modes,
        runs: runs.collect(),
        conflict: Vec::new(),
        first: heard.first.filter(|_| schedule.is_some()),
        steps: heard.steps,
    };
    match outcome {
        Outcome::Optimal { measures, .. } => {
            answer.status = "optimal";
            let (tardiness, cost, length) = measures.key();
            answer.bound = Some(Bound { tardiness, cost, length });
        }
        Outcome::Feasible { bound, stopped, .. } => {
            answer.status = "feasible";
            (answer.bound, answer.stopped) = (Some(*bound), Some(why(*stopped)));
        }
        Outcome::Infeasible(found) => {
            answer.status = "infeasible";
            answer.conflict = conflict(problem, found);
        }
        Outcome::Unknown { bound, stopped } => {
            (answer.bound, answer.stopped) = (Some(*bound), Some(why(*stopped)));
        }
    }
    answer
}

/// Hears what a search tells, and passes it on.
struct Ears<'a> {
    watch: &'a dyn Watch,
    heard: Mutex<Heard>,
}

/// What was heard of a search.
#[derive(Debug, Clone, Copy, Default)]
struct Heard {
    /// When the first schedule was there.
    first: Option<Duration>,
    steps: u64,
}

impl Ears<'_> {
    fn heard(&self) -> Heard {
        *self.heard.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

impl Watch for Ears<'_> {
    fn progress(&self, news: &News) {
        let mut heard =
            self.heard.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if news.best.is_some() {
            heard.first.get_or_insert(news.elapsed);
        }
        heard.steps = heard.steps.max(news.steps);
        drop(heard);
        self.watch.progress(news);
    }

    fn cancelled(&self) -> bool {
        self.watch.cancelled()
    }
}
