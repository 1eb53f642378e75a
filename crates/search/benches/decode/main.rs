//! What a decoded schedule costs, on made-up problems.
//!
//! ```text
//! cargo bench -p search                      every kind, measured by time
//! cargo bench -p search --bench decode -- one plain 120 5000
//! ```
//!
//! The second form makes one problem of a kind, solves it with a budget of steps on one
//! thread and ends: something for a profiler, for a count of instructions, or for a clock from
//! outside. `once plain 120` only makes the problem, so that this can be taken off.
//!
//! A step is a schedule that was decoded, a repair or a conflict of the exact search, as
//! [`search::Stop`] counts them; what is measured is the mix that a search really does, its
//! preparation included.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

mod made;

use std::hint::black_box;
use std::time::Duration;

use criterion::{BenchmarkId, Criterion, Throughput};
use search::{Options, Outcome, Silent, Stop, solve};
use timetable::Problem;

/// Plain problems of the sizes of published sets, and seasons with every feature.
const KINDS: [(&str, usize, u64); 5] = [
    ("plain", 30, 4000),
    ("plain", 60, 3000),
    ("plain", 120, 2000),
    ("plain", 300, 800),
    ("season", 1000, 200),
];

fn main() -> Result<(), String> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["one", kind, size, steps, ..] => {
            let steps = number(steps)?;
            let outcome = run(&problem(kind, size)?, steps);
            if steps > 0 && !matches!(outcome, Outcome::Feasible { .. }) {
                let length = outcome.measures().map(|measures| measures.length);
                return Err(format!(
                    "{kind} {size} was proven before {steps} steps were done, length \
                     {length:?}: ask for fewer"
                ));
            }
            println!("{kind} {size}: {steps} steps");
        }
        ["once", kind, size, ..] => {
            println!("{kind} {size}: {} tasks", problem(kind, size)?.tasks().len());
        }
        _ => throughput(),
    }
    Ok(())
}

fn problem(kind: &str, size: &str) -> Result<Problem, String> {
    let tasks = number(size)? as usize;
    match kind {
        "plain" => Ok(made::plain(tasks)),
        "season" => Ok(made::season(tasks)),
        _ => Err(format!("`{kind}` is no kind of problem; there are plain and season")),
    }
}

fn number(word: &str) -> Result<u64, String> {
    word.parse().map_err(|_| format!("`{word}` is no whole number"))
}

fn run(problem: &Problem, steps: u64) -> Outcome {
    let stop = Stop::after_steps(steps);
    let options = Options { stop, threads: 1, seed: 1, start_from: None };
    solve(black_box(problem), &options, &Silent)
}

fn throughput() {
    let mut criterion = Criterion::default()
        .sample_size(10)
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(3))
        .configure_from_args();
    let mut group = criterion.benchmark_group("steps");
    for (kind, tasks, steps) in KINDS {
        let problem = match kind {
            "plain" => made::plain(tasks),
            _ => made::season(tasks),
        };
        group.throughput(Throughput::Elements(steps));
        group.bench_with_input(
            BenchmarkId::new(kind, tasks),
            &problem,
            |bencher, problem| {
                bencher.iter(|| run(problem, steps));
            },
        );
    }
    group.finish();
    criterion.final_summary();
}
