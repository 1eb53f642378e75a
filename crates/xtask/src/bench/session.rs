//! What every comparison of solvers shares: who runs, under which limits, in which order, and
//! where the runs are kept.

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::options::Options;
use crate::shell;

use super::answer::Status;
use super::call::Solver;
use super::peer::Peer;
use super::record::{self, Log, Run};
use super::report::{self, Style};
use super::settings::{Clock, Settings, time};
use super::table::Form;
use super::{machine, processes};

/// The part of the help that all comparisons share.
pub(super) const OPTIONS: &str = "\
How they are solved:
  --clock CLOCK   what a limit counts (wall):
                  wall       time that passes: right on an idle machine, and for what a user
                             waits
                  processor  limit x threads seconds of processor time, then the solver is
                             asked to stop: right where other work shares the machine;
                             needs Linux
  --threads N     threads for each instance (2)
  --seed N        seed of the solvers; several: 1,2,3 (1)
  --peer          also OR-Tools CP-SAT, in turns with ours, in an environment of its own
                  (.venv-peer, or the Python named by TURNBUCKLE_PEER_PYTHON)
  --command LINE  run this in place of `turnbuckle solve`; it is given
                  FILE --for TIME --threads N --seed N --json
  --name NAME     call it so in the tables (turnbuckle)

What is kept and shown:
  --out FILE      write one JSON object for each run, a line each, as soon as it is over
  --resume        go on with FILE: what it holds is not run again
  --report FILE   only show the tables of earlier results; may be repeated
  --means         of several seeds, show only the mean
  --markdown      tables in Markdown";

/// The flags among them.
pub(super) const FLAGS: &[&str] = &["peer", "resume", "means", "markdown"];

/// What the command line asks for, as far as all comparisons share it.
pub(super) struct Session {
    reports: Vec<PathBuf>,
    style: Style,
    pub(super) command: Option<Vec<String>>,
    name: String,
    peer: bool,
    out: Option<PathBuf>,
    resume: bool,
}

impl Session {
    /// Takes its options out.
    pub(super) fn read(options: &mut Options) -> Result<Self> {
        let command = options.one("command")?;
        let command: Option<Vec<String>> =
            command.map(|line| line.split_whitespace().map(str::to_owned).collect());
        if command.as_ref().is_some_and(Vec::is_empty) {
            bail!("`--command` names no program");
        }
        let other = if command.is_some() { "command" } else { "turnbuckle" };
        let name = options.one("name")?;
        let session = Self {
            reports: options.all("report").into_iter().map(PathBuf::from).collect(),
            style: Style {
                form: if options.flag("markdown") { Form::Markdown } else { Form::Text },
                means: options.flag("means"),
            },
            command,
            name: name.unwrap_or_else(|| other.to_owned()),
            peer: options.flag("peer"),
            out: options.one("out")?.map(PathBuf::from),
            resume: options.flag("resume"),
        };
        if session.resume && session.out.is_none() {
            bail!("`--resume` goes on with the file that `--out` names; it is missing");
        }
        Ok(session)
    }

    /// Whether nothing is to be run.
    pub(super) fn only_reports(&self) -> bool {
        !self.reports.is_empty()
    }

    /// For each of some scripts of the peer, the solvers that take turns: ours, and the peer
    /// run by that script if it is asked for.
    pub(super) fn solvers<const N: usize>(
        &self,
        scripts: [&[&str]; N],
    ) -> Result<[Vec<Solver>; N]> {
        let (command, version) = match &self.command {
            Some(command) => (command.clone(), "as given".to_owned()),
            None => (vec![built()?, "solve".to_owned()], machine::commit()),
        };
        let ours = Solver { name: self.name.clone(), version, command, counts: false };
        let peer = if self.peer { Some(Peer::ready()?) } else { None };
        eprintln!("{}, {}: {}", ours.name, ours.version, ours.command.join(" "));
        if let Some(peer) = &peer {
            eprintln!("{peer}");
        }
        Ok(scripts.map(|script| {
            let peer = peer.as_ref().map(|peer| peer.solver(script));
            std::iter::once(ours.clone()).chain(peer).collect()
        }))
    }

    /// Runs, or reads the reports; prints the tables, and fails if an answer was wrong.
    pub(super) fn show(&self, solve: impl FnOnce(&mut Runs) -> Result<()>) -> Result<()> {
        let runs = if self.only_reports() {
            let runs = self.reports.iter().map(|file| record::read(file));
            runs.collect::<Result<Vec<_>>>()?.concat()
        } else {
            let mut runs = Runs::open(self.out.as_deref(), self.resume)?;
            solve(&mut runs)?;
            runs.quiet();
            runs.done
        };
        // A reader that has seen enough, such as `head`, is no failure.
        let _ = writeln!(std::io::stdout(), "{}", report::report(&runs, self.style));
        let faults = report::all_faults(&runs);
        if !faults.is_empty() {
            bail!("{} faults, named above", faults.len());
        }
        Ok(())
    }
}

/// Every limit with every seed.
pub(super) fn settings(options: &mut Options, default: &str) -> Result<Vec<Settings>> {
    let mut limits = options.list("limit");
    if limits.is_empty() {
        limits.push(default.to_owned());
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
    if threads == 0 {
        bail!("`--threads 0` runs nothing");
    }
    let seeds = options.numbers("seed", 1)?;
    let each = limits.iter().flat_map(|&limit| {
        seeds.iter().map(move |&seed| Settings { limit, clock, threads, seed })
    });
    Ok(each.collect())
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

/// The runs so far, and the file in which they are kept.
pub(super) struct Runs {
    pub(super) done: Vec<Run>,
    earlier: usize,
    log: Option<Log>,
    shown: bool,
    machine: String,
    date: String,
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
        let shown = std::io::stderr().is_terminal();
        let (machine, date) = (machine::described(), machine::today());
        Ok(Self { earlier: done.len(), done, log, shown, machine, date })
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

    /// Keeps a run with the machine and the day, and shows it on a line that the next
    /// overwrites.
    pub(super) fn add(&mut self, run: Run, place: &str) -> Result<()> {
        let (machine, date) = (self.machine.clone(), self.date.clone());
        let run = Run { machine, date, ..run };
        if let Some(log) = &mut self.log {
            log.add(&run)?;
        }
        if self.shown {
            let status = run.status.map_or("no answer", Status::word);
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
