//! Drawn seasons of any size: how soon is there a first schedule, how good is a late one, and
//! how long does a repair take?
//!
//! ```text
//! cargo run --release -p search --example season -- TASKS SECONDS [THREADS [SEEDS]]
//! ```
//!
//! `TASKS` may be several numbers with commas between; seeds count from 1. `SECONDS` are
//! seconds of the processor for each thread, where the system tells them: other work on
//! the machine does not count. The repair begins from the schedule that was found, of which
//! one task takes half as long again.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use problems::{Recipe, generate};
use search::{News, Options, Silent, Stop, Watch, replan, solve};
use timetable::{Problem, Published, Schedule, Task};

/// Prints what is new, and ends the search when so much of the processor is spent.
struct Print {
    start: Instant,
    limit: f64,
    over: AtomicBool,
    shown: AtomicBool,
}

impl Print {
    fn new(limit: f64) -> Self {
        let (over, shown) = (AtomicBool::new(false), AtomicBool::new(false));
        Self { start: Instant::now(), limit, over, shown }
    }

    /// Watches the processor's time until the search is over.
    fn keep_time(&self) {
        let begun = processor();
        while !self.over.load(Ordering::Relaxed) {
            std::thread::sleep(Duration::from_millis(2));
            let spent = begun.zip(processor()).map(|(begun, now)| now - begun);
            let spent = spent.unwrap_or_else(|| self.start.elapsed().as_secs_f64());
            if spent >= self.limit {
                self.over.store(true, Ordering::Relaxed);
            }
        }
    }
}

/// Seconds of the processor that this program has used; nothing where it can't be told.
fn processor() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    let fields: Vec<&str> = text.rsplit(')').next()?.split_whitespace().collect();
    let ticks = |at: usize| fields.get(at)?.parse::<f64>().ok();
    Some((ticks(11)? + ticks(12)?) / 100.0)
}

impl Watch for Print {
    fn progress(&self, news: &News) {
        if let Some(best) = news.best
            && !self.shown.swap(true, Ordering::Relaxed)
        {
            let spent = self.start.elapsed().as_secs_f64();
            println!("first after {spent:.3} s: {:?}", best.key());
        }
    }

    fn cancelled(&self) -> bool {
        self.over.load(Ordering::Relaxed)
    }
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, or: u64| {
        arguments.get(at).and_then(|text| text.parse().ok()).unwrap_or(or)
    };
    let seconds = arguments.get(1).and_then(|text| text.parse().ok()).unwrap_or(5.0);
    let sizes = arguments.first().map_or("300", String::as_str);
    for tasks in sizes.split(',').filter_map(|text| text.parse().ok()) {
        for seed in 1..=number(3, 1) {
            let problem = generate(&Recipe::tasks(tasks), seed);
            cancel(&problem);
            print!("{tasks} tasks, seed {seed}: ");
            if let Some(schedule) = run(&problem, seconds, number(2, 1) as usize) {
                repair(&problem, &schedule);
            }
        }
    }
}

/// How long a search takes that is cancelled before it begins.
fn cancel(problem: &Problem) {
    let print = Print::new(0.0);
    print.over.store(true, Ordering::Relaxed);
    let start = Instant::now();
    let _ = solve(problem, &Options::default(), &print);
    println!("  cancelled from the start: back after {:?}", start.elapsed());
}

fn run(problem: &Problem, seconds: f64, threads: usize) -> Option<Schedule> {
    let options = Options { stop: Stop::default(), threads, seed: 1, start_from: None };
    let print = Print::new(seconds * threads as f64);
    let outcome = std::thread::scope(|scope| {
        scope.spawn(|| print.keep_time());
        let outcome = solve(problem, &options, &print);
        print.over.store(true, Ordering::Relaxed);
        outcome
    });
    let Some((schedule, measures)) = outcome.schedule().zip(outcome.measures()) else {
        println!("{outcome:?}");
        return None;
    };
    let start = Instant::now();
    let reasons = search::explain(problem, schedule);
    let chain = search::driving_chain(problem, schedule, &reasons);
    let told = start.elapsed();
    let lawful = verify::check(problem, schedule).is_empty();
    println!(
        "{:?} lawful {lawful}; {} in the chain, told in {told:?}",
        measures.key(),
        chain.len()
    );
    Some(schedule.clone())
}

/// Publishes a schedule, lets a task in the middle take longer, and repairs.
fn repair(problem: &Problem, schedule: &Schedule) {
    let mut tasks: Vec<Task> = problem.tasks().to_vec();
    for (task, run) in tasks.iter_mut().zip(&schedule.assignments) {
        task.published = Some(Published { start: run.start, weight: 1 });
    }
    let worked = |&task: &usize| tasks[task].modes.iter().all(|mode| mode.work > 0);
    let Some(late) = (tasks.len() / 3..tasks.len()).find(worked) else {
        return;
    };
    for mode in &mut tasks[late].modes {
        mode.work += mode.work / 2 + 1;
    }
    let Ok(slipped) = problem.with_tasks(tasks) else {
        return;
    };
    for steps in [0, 40] {
        let options = Options { stop: Stop::after_steps(steps), ..Options::default() };
        let start = Instant::now();
        let outcome = replan(&slipped, schedule, &options, &Silent);
        let spent = start.elapsed();
        let moved = outcome.schedule().map(|repaired| {
            let pairs = repaired.assignments.iter().zip(&schedule.assignments);
            pairs.filter(|(now, before)| now.start != before.start).count()
        });
        let lawful = outcome.schedule().map(|s| verify::check(&slipped, s).is_empty());
        let key = outcome.measures().map(|measures| measures.key());
        println!("  repaired in {spent:?}: {key:?} moved {moved:?} lawful {lawful:?}");
    }
}
