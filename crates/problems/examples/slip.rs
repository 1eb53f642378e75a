//! How soon a plan is mended when a task slips, and how close the mended one stays.
//!
//! ```text
//! cargo run --release -p problems --example slip -- [--tasks N] [--plan STEPS] [--slips N]
//!     [--by TICKS] [--more SECONDS] [--tight] [FILE.json ...]
//! ```
//!
//! Each file is a problem of our own form; without one, seasons with `--tasks` tasks are drawn.
//! A problem is solved with `--plan` steps, and what comes out is published. Then, `--slips` times,
//! one task that is still to begin starts `--by` ticks later than published, and the rest
//! is mended: at once, with `--more` seconds to better it, and by a new search of the
//! same time that knows the published plan. What was late before does not count; with `--tight`
//! due dates are where the published plan keeps them, so that whatever is later is late.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::time::{Duration, Instant};

use problems::Recipe;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use search::{Options, Silent, Stop};
use timetable::{Measures, Problem, Progress, Published, Schedule, Tick};

struct Asked {
    tasks: usize,
    plan: u64,
    slips: usize,
    by: Tick,
    more: f64,
    tight: bool,
    files: Vec<String>,
}

fn asked() -> Result<Asked, Box<dyn Error>> {
    let mut asked = Asked {
        tasks: 1_000,
        plan: 8_000,
        slips: 20,
        by: 16,
        more: 1.0,
        tight: false,
        files: Vec::new(),
    };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        if word == "--tight" {
            asked.tight = true;
            continue;
        }
        let mut value = || words.next().ok_or(format!("{word} wants a value"));
        match word.as_str() {
            "--tasks" => asked.tasks = value()?.parse()?,
            "--plan" => asked.plan = value()?.parse()?,
            "--slips" => asked.slips = value()?.parse()?,
            "--by" => asked.by = value()?.parse()?,
            "--more" => asked.more = value()?.parse()?,
            _ => asked.files.push(word),
        }
    }
    Ok(asked)
}

fn main() -> Result<(), Box<dyn Error>> {
    let asked = asked()?;
    println!(
        "| problem | tasks | way | ms, median | ms, most | moved, mean | drift, mean | \
         later, mean | later, most | late, mean | unlawful |"
    );
    println!("|---|--:|---|--:|--:|--:|--:|--:|--:|--:|--:|");
    for file in &asked.files {
        let text = std::fs::read_to_string(file)?;
        let read = problems::read(file, &text);
        let problem =
            read.map_err(|errors| format!("{file}: {} mistakes", errors.len()))?;
        let name = std::path::Path::new(file).file_stem().unwrap_or_default();
        measure(&name.to_string_lossy(), &problem, &asked);
    }
    if asked.files.is_empty() {
        for seed in 1..=3 {
            let problem = problems::generate(&Recipe::tasks(asked.tasks), seed);
            measure(&format!("drawn {seed}"), &problem, &asked);
        }
    }
    Ok(())
}

/// The same problem with other tasks.
fn with(problem: &Problem, change: impl Fn(usize, &mut timetable::Task)) -> Problem {
    let mut tasks = problem.tasks().to_vec();
    for (number, task) in tasks.iter_mut().enumerate() {
        change(number, task);
    }
    problem.with_tasks(tasks).expect("other dates make as much sense")
}

/// What the ways of mending came to.
#[derive(Default)]
struct Tally {
    milliseconds: Vec<f64>,
    moved: usize,
    drift: i64,
    later: i64,
    latest: i64,
    late: i64,
    unlawful: usize,
}

fn measure(name: &str, problem: &Problem, asked: &Asked) {
    let seconds = Duration::from_secs_f64;
    let options = |stop, threads| Options { stop, threads, seed: 1, start_from: None };
    let solved =
        search::solve(problem, &options(Stop::after_steps(asked.plan), 2), &Silent);
    let Some(before) = solved.schedule() else {
        println!("| {name} | {} | no plan | | | | | | | | |", problem.tasks().len());
        return;
    };
    let published = with(problem, |number, task| {
        let run = before.assignments[number];
        task.published = Some(Published { start: run.start, weight: 1 });
        if let Some(due) = &mut task.due {
            due.at = if asked.tight { run.finish } else { due.at.max(run.finish) };
        }
    });
    let loose: Vec<usize> = (0..problem.tasks().len())
        .filter(|&task| problem.tasks()[task].progress == Progress::Todo)
        .filter(|&task| before.assignments[task].finish > before.assignments[task].start)
        .collect();
    let mut rng = Pcg64Mcg::seed_from_u64(1);
    let (mut at_once, mut bettered, mut anew) =
        (Tally::default(), Tally::default(), Tally::default());
    for _ in 0..asked.slips {
        let slips = loose[rng.random_range(0..loose.len())];
        let changed = with(&published, |number, task| {
            if number == slips {
                task.release = before.assignments[number].start + asked.by;
            }
        });
        let begun = Instant::now();
        let outcome =
            search::replan(&changed, before, &options(Stop::after_steps(0), 1), &Silent);
        at_once.count(begun, &changed, before, outcome.schedule());
        let begun = Instant::now();
        let stop = Stop::after(seconds(asked.more));
        let outcome = search::replan(&changed, before, &options(stop, 1), &Silent);
        bettered.count(begun, &changed, before, outcome.schedule());
        let begun = Instant::now();
        let from = Options { start_from: Some(before.clone()), ..options(stop, 1) };
        let outcome = search::solve(&changed, &from, &Silent);
        anew.count(begun, &changed, before, outcome.schedule());
    }
    let tasks = problem.tasks().len();
    at_once.show(name, tasks, "mended at once");
    bettered.show(name, tasks, "bettered");
    anew.show(name, tasks, "searched anew");
}

impl Tally {
    fn count(
        &mut self,
        begun: Instant,
        problem: &Problem,
        before: &Schedule,
        after: Option<&Schedule>,
    ) {
        self.milliseconds.push(begun.elapsed().as_secs_f64() * 1_000.0);
        let Some(after) = after.filter(|s| verify::check(problem, s).is_empty()) else {
            self.unlawful += 1;
            return;
        };
        let measures = Measures::of(problem, after);
        let pairs = before.assignments.iter().zip(&after.assignments);
        self.moved += pairs.filter(|(a, b)| a.start != b.start).count();
        self.drift += measures.drift;
        let was = Measures::of(problem, before).length;
        let later = i64::from(measures.length - was);
        self.later += later;
        self.latest = self.latest.max(later);
        self.late += measures.tardiness;
    }

    fn show(&mut self, name: &str, tasks: usize, way: &str) {
        self.milliseconds.sort_by(f64::total_cmp);
        let runs = self.milliseconds.len();
        let lawful = (runs - self.unlawful).max(1) as f64;
        println!(
            "| {name} | {tasks} | {way} | {:.0} | {:.0} | {:.1} | {:.0} | {:.1} | {} | {:.1} | {} |",
            self.milliseconds[runs / 2],
            self.milliseconds[runs - 1],
            self.moved as f64 / lawful,
            self.drift as f64 / lawful,
            self.later as f64 / lawful,
            self.latest,
            self.late as f64 / lawful,
            self.unlawful,
        );
    }
}
