//! `cargo xtask bench timetable`: solvers over published instances.

use std::collections::BTreeSet;
use std::fs;
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::options::Options;
use crate::shell;

use super::answer::{self, Answer};
use super::call::Solver;
use super::record::{self, Log, Run, Score};
use super::report;
use super::sets::{self, Case, Set};
use super::settings::{Clock, Settings, time};
use super::table::Form;
use super::{instance, judge, machine, peer, processes};

pub(super) const OPTIONS: &str = "\
Usage: cargo xtask bench timetable --data DIR [options]
       cargo xtask bench timetable --report FILE... [--markdown]

Which instances:
  --data DIR      folder that holds the sets, at any depth
  --set NAME      only this set, by its folder's name or its path below DIR; may be repeated
  --sample FILE   only the instances named in FILE, one a line
  --every N       only every N-th instance of each set (1)
  --from K        beginning with the K-th, counted from 0 (0)

How they are solved:
  --limit TIME    time for each instance, such as 500ms, 1s, 2m; several: 2s,10s (1s)
  --clock CLOCK   what the limit counts (wall):
                  wall       time that passes: right on an idle machine, and for what a user
                             waits
                  processor  limit x threads seconds of processor time, then the solver is
                             asked to stop: right where other work shares the machine;
                             needs Linux
  --threads N     threads for each instance (2)
  --seed N        seed; several: 1,2,3 (1)
  --peer          also OR-Tools CP-SAT, in turns with ours, in an environment of its own
                  (.venv-peer, or the Python named by TURNBUCKLE_PEER_PYTHON)
  --command LINE  run this in place of `turnbuckle solve`; it is given
                  FILE --for TIME --threads N --seed N --json
  --name NAME     call it so in the tables (turnbuckle)

What is kept and shown:
  --out FILE      write one JSON object for each run, a line each, as soon as it is over
  --resume        go on with FILE: what it holds is not run again
  --report FILE   only show the tables of earlier results
  --markdown      tables in Markdown";

const FLAGS: &[&str] = &["peer", "resume", "markdown", "help"];

/// What the command line asks for.
pub(super) struct Request {
    reports: Vec<PathBuf>,
    form: Form,
    data: Option<PathBuf>,
    sets: Vec<String>,
    sample: Option<PathBuf>,
    every: u64,
    from: u64,
    pub(super) settings: Vec<Settings>,
    pub(super) command: Option<Vec<String>>,
    name: String,
    peer: bool,
    out: Option<PathBuf>,
    resume: bool,
}

/// Runs the instances, prints the tables, and fails if an answer was wrong.
pub(super) fn run(words: &[&str]) -> Result<()> {
    if words.iter().any(|word| matches!(*word, "--help" | "-h")) {
        println!("{OPTIONS}");
        return Ok(());
    }
    let request = read(words)?;
    let runs = if request.reports.is_empty() {
        let mut log = Runs::open(request.out.as_deref(), request.resume)?;
        solve(&request, &mut log)?;
        log.done
    } else {
        let runs = request.reports.iter().map(|file| record::read(file));
        runs.collect::<Result<Vec<_>>>()?.concat()
    };
    println!("{}", report::report(&runs, request.form));
    let faults = report::all_faults(&runs);
    if !faults.is_empty() {
        bail!("{} faults, named above", faults.len());
    }
    Ok(())
}

/// Reads the command line.
pub(super) fn read(words: &[&str]) -> Result<Request> {
    let mut options = Options::read(words, FLAGS)?;
    let paths = |names: Vec<String>| names.into_iter().map(PathBuf::from).collect();
    let command = options.one("command")?;
    let command: Option<Vec<String>> =
        command.map(|line| line.split_whitespace().map(str::to_owned).collect());
    let other = if command.is_some() { "command" } else { "turnbuckle" };
    let request = Request {
        reports: paths(options.all("report")),
        form: if options.flag("markdown") { Form::Markdown } else { Form::Text },
        data: options.one("data")?.map(PathBuf::from),
        sets: options.list("set"),
        sample: options.one("sample")?.map(PathBuf::from),
        every: options.number("every", 1)?,
        from: options.number("from", 0)?,
        settings: settings(&mut options)?,
        name: options.one("name")?.unwrap_or_else(|| other.to_owned()),
        command,
        peer: options.flag("peer"),
        out: options.one("out")?.map(PathBuf::from),
        resume: options.flag("resume"),
    };
    options.finish(OPTIONS)?;
    sound(&request)?;
    Ok(request)
}

/// Every limit with every seed.
pub(super) fn settings(options: &mut Options) -> Result<Vec<Settings>> {
    let mut limits = options.list("limit");
    if limits.is_empty() {
        limits.push("1s".to_owned());
    }
    let limits = limits.iter().map(|text| time(text)).collect::<Result<Vec<_>>>()?;
    let clock = options.one("clock")?.unwrap_or_else(|| "wall".to_owned());
    let clock = Clock::of(&clock)?;
    if clock == Clock::Processor && !processes::known() {
        bail!(
            "`--clock processor` needs /proc, as Linux has it; `--clock wall` works here"
        );
    }
    let threads = options.number("threads", 2)?;
    let seeds = options.numbers("seed", 1)?;
    let each = limits.iter().flat_map(|&limit| {
        seeds.iter().map(move |&seed| Settings { limit, clock, threads, seed })
    });
    Ok(each.collect())
}

fn sound(request: &Request) -> Result<()> {
    if request.data.is_none() && request.reports.is_empty() {
        bail!("`--data DIR` is missing\n\n{OPTIONS}");
    }
    if request.every == 0 {
        bail!("`--every 0` takes no instance; 1 takes all");
    }
    if request.settings.iter().any(|settings| settings.threads == 0) {
        bail!("`--threads 0` runs nothing");
    }
    if request.command.as_ref().is_some_and(Vec::is_empty) {
        bail!("`--command` names no program");
    }
    if request.resume && request.out.is_none() {
        bail!("`--resume` goes on with the file that `--out` names; it is missing");
    }
    Ok(())
}

fn solve(request: &Request, log: &mut Runs) -> Result<()> {
    let data = request.data.as_deref().context("no data")?;
    let sample = request.sample.as_deref().map(names).transpose()?;
    let mut sets = sets::find(data, &request.sets, sample.as_ref())?;
    for set in &mut sets {
        thin(&mut set.cases, request.from, request.every);
    }
    let mut solvers = vec![ours(request)?];
    if request.peer {
        solvers.push(peer::solver("peer_published.py")?);
    }
    for solver in &solvers {
        eprintln!(
            "{}, {}: {} FILE ...",
            solver.name,
            solver.version,
            solver.command.join(" ")
        );
    }
    let (machine, date) = (machine::described(), machine::today());
    let mut turns = Turns::default();
    for set in &sets {
        for (place, case) in set.cases.iter().enumerate() {
            // A file that can't be read is a fault of the data, not of a solver: stop.
            let instance = instance::read(&case.file)?;
            for settings in &request.settings {
                for solver in turns.next(&solvers) {
                    if log.has(&set.name, &case.name, &solver.name, settings) {
                        continue;
                    }
                    let run = one(set, case, &instance, solver, settings);
                    let run = Run { machine: machine.clone(), date: date.clone(), ..run };
                    log.add(run, &format!("{}/{}", place + 1, set.cases.len()))?;
                }
            }
        }
    }
    log.quiet();
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

/// Whose turn it is first: each solver in its turn, so that none always runs on a machine
/// that another has warmed.
#[derive(Debug, Default)]
pub(super) struct Turns {
    made: usize,
}

impl Turns {
    pub(super) fn next<'a>(
        &mut self,
        solvers: &'a [Solver],
    ) -> impl Iterator<Item = &'a Solver> {
        let first = self.made % solvers.len().max(1);
        self.made += 1;
        solvers[first..].iter().chain(&solvers[..first])
    }
}

fn ours(request: &Request) -> Result<Solver> {
    let (command, version) = match &request.command {
        Some(command) => (command.clone(), "as given".to_owned()),
        None => (vec![built()?, "solve".to_owned()], machine::commit()),
    };
    Ok(Solver { name: request.name.clone(), version, command, counts: false })
}

/// Builds the release binary and says where it lies.
pub(super) fn built() -> Result<String> {
    shell::run(&mut shell::cargo(&["build", "--release", "--package", "turnbuckle"]))?;
    let metadata = shell::metadata(true)?;
    let target = metadata["target_directory"]
        .as_str()
        .context("`cargo metadata` names no target folder")?;
    let name = format!("turnbuckle{}", std::env::consts::EXE_SUFFIX);
    Ok(Path::new(target).join("release").join(name).to_string_lossy().into_owned())
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

/// The runs so far, and the file in which they are kept.
pub(super) struct Runs {
    pub(super) done: Vec<Run>,
    earlier: usize,
    log: Option<Log>,
    shown: bool,
}

impl Runs {
    /// Begins, or goes on with a file.
    pub(super) fn open(out: Option<&Path>, resume: bool) -> Result<Self> {
        let (log, done) = match out {
            None => (None, Vec::new()),
            Some(file) if resume => {
                let (log, done) = Log::resume(file)?;
                (Some(log), done)
            }
            Some(file) => (Some(Log::begin(file)?), Vec::new()),
        };
        if !done.is_empty() {
            eprintln!("{} runs are there already", done.len());
        }
        Ok(Self {
            earlier: done.len(),
            done,
            log,
            shown: std::io::stderr().is_terminal(),
        })
    }

    /// Whether a run was made earlier.
    pub(super) fn has(
        &self,
        set: &str,
        instance: &str,
        solver: &str,
        settings: &Settings,
    ) -> bool {
        let earlier = &self.done[..self.earlier];
        earlier.iter().any(|run| run.is_of(set, instance, solver, settings))
    }

    /// Keeps a run, and shows it on a line that the next overwrites.
    pub(super) fn add(&mut self, run: Run, place: &str) -> Result<()> {
        if let Some(log) = &mut self.log {
            log.add(&run)?;
        }
        if self.shown {
            let status = run.status.map_or("no answer", super::answer::Status::word);
            let line = format!(
                "{} {place} {}, {}, seed {}: {status}",
                run.set, run.instance, run.solver, run.settings.seed
            );
            eprint!("\r\x1b[K{line}");
            std::io::stderr().flush().context("can't write to the terminal")?;
        }
        self.done.push(run);
        Ok(())
    }

    /// Takes the last such line away.
    pub(super) fn quiet(&self) {
        if self.shown {
            eprint!("\r\x1b[K");
        }
    }
}
