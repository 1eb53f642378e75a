//! Public scheduling instances.

use std::path::Path;

use search::{Options, Outcome, Stop, Watch};
use timetable::Tick;
use timetable::instance;

use crate::AppError;

/// How to solve an instance.
#[derive(Debug, Clone, Copy)]
pub struct SolveRequest {
    /// When to stop.
    pub stop: Stop,
    /// How many threads may run.
    pub threads: usize,
    /// Where the random streams begin.
    pub seed: u64,
}

/// The answer to an instance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SolveAnswer {
    /// `optimal`, `feasible`, `infeasible` or `unknown`.
    pub status: &'static str,
    /// The length of the schedule, if there is one.
    pub makespan: Option<Tick>,
    /// No schedule is shorter.
    pub bound: Tick,
    /// Starts in the order of the file, with both dummy activities.
    pub starts: Vec<Tick>,
}

/// An instance larger than this is refused before it is read.
const LARGEST: u64 = 64 << 20;

/// Reads an instance, solves it, and has the checker pass the schedule.
pub fn solve(
    file: &Path,
    request: SolveRequest,
    watch: &dyn Watch,
) -> Result<SolveAnswer, AppError> {
    let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let failed = |source| AppError::File { doing: "read", file: file.to_owned(), source };
    let size = std::fs::metadata(file).map_err(failed)?.len();
    if size > LARGEST {
        let text =
            format!("{name}: {size} bytes are more than an instance may have (64 MiB)");
        return Err(AppError::Instance(vec![text]));
    }
    let bytes = std::fs::read(file).map_err(failed)?;
    let text = String::from_utf8_lossy(&bytes);
    let instance = instance::parse(&name, &text).map_err(|errors| {
        AppError::Instance(errors.iter().map(|e| format!("{name}:{e}")).collect())
    })?;
    let options = Options {
        stop: request.stop,
        threads: request.threads,
        seed: request.seed,
        start_from: None,
    };
    let outcome = search::solve(&instance.problem, &options, watch);
    if let Some(schedule) = outcome.schedule() {
        let notes = verify::check(&instance.problem, schedule);
        if !notes.is_empty() {
            return Err(AppError::Unlawful(
                notes.iter().map(ToString::to_string).collect(),
            ));
        }
    }
    let starts = outcome.schedule().map_or_else(Vec::new, |s| instance.starts(s));
    let makespan = outcome.measures().map(|measures| measures.length);
    let (status, bound) = match outcome {
        Outcome::Optimal { measures, .. } => ("optimal", measures.length),
        Outcome::Feasible { bound, .. } => ("feasible", bound.length),
        Outcome::Infeasible(_) => ("infeasible", 0),
        Outcome::Unknown { bound, .. } => ("unknown", bound.length),
    };
    Ok(SolveAnswer { status, makespan, bound, starts })
}
