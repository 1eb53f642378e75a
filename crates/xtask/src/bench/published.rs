//! `cargo xtask bench timetable`: solvers over published instances.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::options::Options;

use super::answer::{self, Answer};
use super::call::Solver;
use super::record::{Run, Score};
use super::session::{self, Runs, Session, Turns, settings};
use super::sets::{self, Case, Set};
use super::settings::Settings;
use super::{instance, judge};

const OPTIONS: &str = "\
Usage: cargo xtask bench timetable --data DIR [options]
       cargo xtask bench timetable --report FILE... [--markdown]

Which instances:
  --data DIR      folder that holds the sets, at any depth
  --set NAME      only this set, by its folder's name or its path below DIR; may be repeated
  --sample FILE   only the instances named in FILE, one a line
  --every N       only every N-th instance of each set (1)
  --from K        beginning with the K-th, counted from 0 (0)
  --limit TIME    time for each instance, such as 500ms, 1s, 2m; several: 2s,10s (1s)
";

/// What the command line asks for.
pub(super) struct Request {
    data: Option<PathBuf>,
    sets: Vec<String>,
    sample: Option<PathBuf>,
    every: u64,
    from: u64,
    pub(super) settings: Vec<Settings>,
    pub(super) session: Session,
}

/// Runs the instances, prints the tables, and fails if an answer was wrong.
pub(super) fn run(words: &[&str]) -> Result<()> {
    if words.iter().any(|word| matches!(*word, "--help" | "-h")) {
        println!("{OPTIONS}\n{}", session::OPTIONS);
        return Ok(());
    }
    let request = read(words)?;
    request.session.show(|runs| solve(&request, runs))
}

/// Reads the command line.
pub(super) fn read(words: &[&str]) -> Result<Request> {
    let mut options = Options::read(words, session::FLAGS)?;
    let request = Request {
        data: options.one("data")?.map(PathBuf::from),
        sets: options.list("set"),
        sample: options.one("sample")?.map(PathBuf::from),
        every: options.number("every", 1)?,
        from: options.number("from", 0)?,
        settings: settings(&mut options, "1s")?,
        session: Session::read(&mut options)?,
    };
    options.finish(&format!("{OPTIONS}\n{}", session::OPTIONS))?;
    if request.data.is_none() && !request.session.only_reports() {
        bail!("`--data DIR` is missing; `--help` tells what there is");
    }
    if request.every == 0 {
        bail!("`--every 0` takes no instance; 1 takes all");
    }
    Ok(request)
}

fn solve(request: &Request, runs: &mut Runs) -> Result<()> {
    let data = request.data.as_deref().context("no data")?;
    let sample = request.sample.as_deref().map(names).transpose()?;
    let mut sets = sets::find(data, &request.sets, sample.as_ref())?;
    for set in &mut sets {
        thin(&mut set.cases, request.from, request.every);
    }
    let [solvers] = request.session.solvers([&["peer_published.py"]])?;
    let mut turns = Turns::default();
    for set in &sets {
        for (place, case) in set.cases.iter().enumerate() {
            // A file that can't be read is a fault of the data, not of a solver: stop.
            let instance = instance::read(&case.file)?;
            for settings in &request.settings {
                for solver in turns.next(&solvers) {
                    if runs.has(&set.name, &case.name, &solver.name, settings) {
                        continue;
                    }
                    let run = one(set, case, &instance, solver, settings);
                    runs.add(run, &format!("{}/{}", place + 1, set.cases.len()))?;
                }
            }
        }
    }
    Ok(())
}

/// Every so many, beginning with one of them.
pub(super) fn thin<T>(cases: &mut Vec<T>, from: u64, every: u64) {
    let mut place = 0_u64;
    cases.retain(|_| {
        let taken = place >= from && (place - from).is_multiple_of(every);
        place += 1;
        taken
    });
}

fn names(file: &Path) -> Result<BTreeSet<String>> {
    let text = fs::read_to_string(file)
        .with_context(|| format!("can't read the sample {}", file.display()))?;
    let names: BTreeSet<String> = text
        .lines()
        .map(|line| line.trim().to_owned())
        .filter(|line| !line.is_empty())
        .collect();
    if names.is_empty() {
        bail!("the sample {} names no instance", file.display());
    }
    Ok(names)
}

fn one(
    set: &Set,
    case: &Case,
    instance: &instance::Instance,
    solver: &Solver,
    settings: &Settings,
) -> Run {
    let (printed, usage) = solver.call(&case.file, settings);
    let answer = printed.and_then(|text| answer::read(&text));
    let (answer, faults) = match answer {
        Ok(answer) => {
            let faults = judge::answer(instance, &answer, case.best);
            (Some(answer), faults)
        }
        Err(error) => (None, vec![format!("{error:#}")]),
    };
    let path = case.critical_path.or_else(|| instance.critical_path());
    let said = |number: fn(&Answer) -> Option<i64>| answer.as_ref().and_then(number);
    Run {
        set: set.name.clone(),
        instance: case.name.clone(),
        solver: solver.name.clone(),
        version: solver.version.clone(),
        machine: String::new(),
        date: String::new(),
        settings: *settings,
        status: answer.as_ref().map(|answer| answer.status),
        effort: answer.as_ref().map(|answer| answer.effort),
        usage,
        score: Score::Length {
            makespan: said(|answer| answer.makespan),
            bound: said(|answer| answer.bound),
            best: case.best,
            path,
        },
        faults,
    }
}
