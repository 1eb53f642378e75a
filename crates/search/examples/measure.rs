//! Measures the search on public instances: gap to the best known length, proofs, time.
//!
//! ```text
//! cargo run --release -p search --example measure -- DIR SECONDS [OPTION..]
//!   --threads N     threads (1)
//!   --seed N        seed (1); `--seeds N` runs seeds 1 to N, one after the other
//!   --sample FILE   only the instances that FILE names, one a line
//!   --every N       only every N-th instance, beginning with number `--from N`
//!   --steps N       stop after so many steps as well
//!   --cpu           SECONDS are processor time: stop at SECONDS times the threads
//!   --quiet         summaries only
//! ```
//!
//! `DIR` holds instance files (`.sm`, `.mm`, `.sch`, `.rcp`) and `best_known.csv` with the columns
//! `instance,lower,upper,source`. One line is printed for each instance that is not solved
//! to the best known length with a proof, and a summary for each seed.
//!
//! On a machine that does other work too the wall clock says little; `--cpu` watches what the
//! process has used (`/proc/self/stat`, Linux only).

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use search::{News, Options, Outcome, Stop, Watch, solve};
use timetable::instance::parse;

/// Best known lower and upper bound; nothing where the instance is infeasible or open.
type Known = BTreeMap<String, (Option<i64>, Option<i64>, bool)>;

#[derive(Default)]
struct Tally {
    solved: usize,
    gap: f64,
    worst: f64,
    hit: usize,
    better: usize,
    proven: usize,
    infeasible: usize,
    unknown: usize,
    steps: u64,
    wrong: usize,
}

/// What the command line says.
struct Request {
    dir: PathBuf,
    seconds: f64,
    threads: usize,
    seeds: Vec<u64>,
    sample: Option<BTreeSet<String>>,
    every: usize,
    from: usize,
    steps: Option<u64>,
    cpu: bool,
    quiet: bool,
}

impl Request {
    fn read(arguments: &[String]) -> Result<Self, Box<dyn std::error::Error>> {
        let [dir, seconds, options @ ..] = arguments else {
            return Err("use: measure DIR SECONDS [OPTION..]".into());
        };
        let mut request = Self {
            dir: PathBuf::from(dir),
            seconds: seconds.parse()?,
            threads: 1,
            seeds: vec![1],
            sample: None,
            every: 1,
            from: 0,
            steps: None,
            cpu: false,
            quiet: false,
        };
        let mut options = options.iter();
        while let Some(option) = options.next() {
            let mut value = || options.next().ok_or(format!("{option} needs a value"));
            match option.as_str() {
                "--threads" => request.threads = value()?.parse()?,
                "--seed" => request.seeds = vec![value()?.parse()?],
                "--seeds" => request.seeds = (1..=value()?.parse()?).collect(),
                "--sample" => {
                    let text = std::fs::read_to_string(value()?)?;
                    request.sample = Some(text.lines().map(stem).collect());
                }
                "--every" => request.every = value()?.parse::<usize>()?.max(1),
                "--from" => request.from = value()?.parse()?,
                "--steps" => request.steps = Some(value()?.parse()?),
                "--cpu" => request.cpu = true,
                "--quiet" => request.quiet = true,
                other => return Err(format!("unknown option {other}").into()),
            }
        }
        Ok(request)
    }

    fn files(&self) -> std::io::Result<Vec<PathBuf>> {
        let mut files = files(&self.dir)?;
        if let Some(sample) = &self.sample {
            files.retain(|file| sample.contains(&stem(&file.to_string_lossy())));
        }
        Ok(files.into_iter().skip(self.from).step_by(self.every).collect())
    }
}

/// Ends a search when the process has used so much processor time.
#[derive(Default)]
struct Meter {
    over: AtomicBool,
    done: AtomicBool,
    steps: std::sync::atomic::AtomicU64,
}

impl Watch for Meter {
    fn progress(&self, news: &News) {
        self.steps.store(news.steps, Ordering::Relaxed);
    }

    fn cancelled(&self) -> bool {
        self.over.load(Ordering::Relaxed)
    }
}

impl Meter {
    /// Polls until the time is used or the search is done.
    fn watch(&self, until: f64) {
        while !self.done.load(Ordering::Relaxed) {
            if used().is_none_or(|used| used >= until) {
                self.over.store(true, Ordering::Relaxed);
            }
            std::thread::sleep(Duration::from_millis(4));
        }
    }
}

/// Processor seconds of this process; nothing where the system does not tell.
fn used() -> Option<f64> {
    /// The unit of the file, fixed by the kernel's interface.
    const TICKS: f64 = 100.0;
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    // The name before it is in brackets and may hold anything; state is the first after.
    let mut fields = text.rsplit_once(')')?.1.split_whitespace().skip(11);
    let (user, system): (f64, f64) =
        (fields.next()?.parse().ok()?, fields.next()?.parse().ok()?);
    Some((user + system) / TICKS)
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let request = Request::read(&arguments)?;
    let known = known(&request.dir)?;
    let files = request.files()?;
    for &seed in &request.seeds {
        let mut tally = Tally::default();
        for file in &files {
            measure(file, &request, seed, &known, &mut tally)?;
        }
        println!("seed {seed}: {}", tally.line());
    }
    Ok(())
}

impl Tally {
    fn line(&self) -> String {
        format!(
            "solved {} mean gap {:.3} % worst {:.2} % hit {} better {} proven {} \
             infeasible {} unknown {} steps {} WRONG {}",
            self.solved,
            100.0 * self.gap / self.solved.max(1) as f64,
            100.0 * self.worst,
            self.hit,
            self.better,
            self.proven,
            self.infeasible,
            self.unknown,
            self.steps,
            self.wrong
        )
    }
}

fn files(dir: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(dir)?
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| {
            let ending = path.extension().and_then(|ending| ending.to_str());
            ending.is_some_and(|ending| matches!(ending, "sm" | "mm" | "sch" | "rcp"))
        })
        .collect();
    files.sort();
    Ok(files)
}

fn known(dir: &Path) -> std::io::Result<Known> {
    let text = std::fs::read_to_string(dir.join("best_known.csv"))?;
    let rows = text.lines().skip(1).filter_map(|line| {
        let mut fields = line.split(',');
        let name = stem(fields.next()?);
        let (lower, upper) = (fields.next()?, fields.next()?);
        let infeasible = lower == "infeasible";
        Some((name, (lower.parse().ok(), upper.parse().ok(), infeasible)))
    });
    Ok(rows.collect())
}

fn stem(name: &str) -> String {
    let path = Path::new(name);
    path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().to_lowercase())
}

fn measure(
    file: &Path,
    request: &Request,
    seed: u64,
    known: &Known,
    tally: &mut Tally,
) -> Result<(), Box<dyn std::error::Error>> {
    let name = stem(&file.to_string_lossy());
    let text = std::fs::read_to_string(file)?;
    let instance = parse(&file.to_string_lossy(), &text)
        .map_err(|errors| format!("{}: {}", file.display(), errors[0]))?;
    let meter = Meter::default();
    let start = Instant::now();
    let outcome = std::thread::scope(|scope| {
        let threads = request.threads;
        let mut stop = Stop { time: None, steps: request.steps };
        if request.cpu {
            let until = used().unwrap_or(0.0) + request.seconds * threads as f64;
            let meter = &meter;
            scope.spawn(move || meter.watch(until));
        } else {
            stop.time = Some(Duration::from_secs_f64(request.seconds));
        }
        let options = Options { stop, threads, seed, start_from: None };
        let outcome = solve(&instance.problem, &options, &meter);
        meter.done.store(true, Ordering::Relaxed);
        outcome
    });
    tally.steps += meter.steps.load(Ordering::Relaxed);
    let spent = start.elapsed().as_secs_f64();
    let (lower, upper, infeasible) = known.get(&name).copied().unwrap_or_default();
    let length = outcome.measures().map(|measures| i64::from(measures.length));
    let mut note = String::new();
    match (&outcome, length) {
        (Outcome::Infeasible(_), _) => {
            tally.infeasible += 1;
            if upper.is_some() {
                note = format!("WRONG: infeasible, known {upper:?}");
            }
        }
        (_, None) => {
            tally.unknown += 1;
            note = format!("unknown; known {upper:?} infeasible {infeasible}");
        }
        (_, Some(length)) => {
            tally.solved += 1;
            let proven = matches!(outcome, Outcome::Optimal { .. });
            tally.proven += usize::from(proven);
            let gap = upper.map_or(0.0, |upper| (length - upper) as f64 / upper as f64);
            tally.gap += gap;
            tally.worst = tally.worst.max(gap);
            tally.hit += usize::from(gap <= 0.0);
            tally.better += usize::from(gap < 0.0);
            let wrong = infeasible
                || lower.is_some_and(|lower| length < lower)
                || (proven && upper.is_some_and(|upper| length > upper));
            if wrong || gap != 0.0 || !proven || upper.is_none() {
                let mark = if wrong { "WRONG" } else { "" };
                note =
                    format!("{length} known {lower:?} {upper:?} proven {proven} {mark}");
            }
        }
    }
    let notes = outcome.schedule().map(|s| verify::check(&instance.problem, s));
    if let Some(first) = notes.as_ref().and_then(|notes| notes.first()) {
        note = format!("WRONG: {first}");
    }
    if let Outcome::Feasible { bound, .. } = &outcome {
        use std::fmt::Write as _;
        write!(note, " bound {}", bound.length)?;
    }
    tally.wrong += usize::from(note.contains("WRONG"));
    if !note.is_empty() && (!request.quiet || note.contains("WRONG")) {
        println!("{name}: {note} ({spent:.2} s)");
    }
    Ok(())
}
