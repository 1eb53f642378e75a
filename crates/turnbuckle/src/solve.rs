//! The commands about scheduling problems.

use std::path::Path;
use std::time::Instant;

use anyhow::Result;
use app::{Bound, Measures, SolveAnswer, SolveRequest, Stop};
use serde_json::{Value, json};

use crate::arguments::Effort;
use crate::progress::{Bar, problem};
use crate::run::threads;

/// How many tasks of a schedule are listed for people.
const LISTED: usize = 200;

pub(crate) fn solve(file: &Path, stop: Stop, effort: Effort, json: bool) -> Result<bool> {
    let begun = Instant::now();
    let bar = Bar::new(stop.time.unwrap_or_default(), problem)?;
    let request = SolveRequest { stop, threads: threads(effort), seed: effort.seed };
    let answer = app::solve(file, request, &bar);
    bar.clear();
    let answer = answer?;
    let seconds = begun.elapsed().as_secs_f64();
    // What was there before the search could tell was there when it ended.
    let first = answer
        .measures
        .is_some()
        .then(|| answer.first.map_or(seconds, |first| first.as_secs_f64()));
    if json {
        println!("{}", object(&answer, seconds, first));
    } else {
        print(&answer);
        let first = first.map_or_else(String::new, |first| {
            format!(", the first schedule after {first:.3} s")
        });
        println!("{seconds:.2} s, {} schedules tried{first}", answer.steps);
    }
    Ok(answer.measures.is_some())
}

/// Everything, for programs.
fn object(answer: &SolveAnswer, seconds: f64, first: Option<f64>) -> Value {
    let runs = answer.runs.iter().map(|run| {
        json!({
            "task": run.task,
            "mode": run.mode,
            "start": run.start,
            "finish": run.finish,
        })
    });
    json!({
        "status": answer.status,
        "stopped": answer.stopped,
        "makespan": answer.measures.map(|measures| measures.length),
        "bound": answer.bound.map_or(0, |bound| bound.length),
        "measures": answer.measures.map(measured),
        "bounds": answer.bound.map(bounded),
        "starts": answer.starts,
        "modes": answer.modes,
        "assignments": runs.collect::<Vec<_>>(),
        "conflict": answer.conflict,
        "seconds": seconds,
        "first": first,
        "steps": answer.steps,
    })
}

fn measured(measures: Measures) -> Value {
    let Measures { tardiness, cost, drift, length } = measures;
    json!({ "tardiness": tardiness, "cost": cost, "drift": drift, "length": length })
}

fn bounded(bound: Bound) -> Value {
    let Bound { tardiness, cost, length } = bound;
    json!({ "tardiness": tardiness, "cost": cost, "length": length })
}

/// What people want to know.
fn print(answer: &SolveAnswer) {
    match answer.stopped {
        Some(why) => println!("{}: {why}", answer.status),
        None => println!("{}", answer.status),
    }
    if let (Some(measures), Some(bound)) = (answer.measures, answer.bound) {
        let Measures { tardiness, cost, drift, length } = measures;
        // Published instances have lengths alone.
        if tardiness + cost + drift > 0 {
            println!("tardiness {tardiness}, none has less than {}", bound.tardiness);
            println!("cost {cost} and drift {drift}, none has less than {}", bound.cost);
        }
        println!("makespan {length}, no schedule is shorter than {}", bound.length);
        if answer.runs.is_empty() {
            let starts: Vec<String> =
                answer.starts.iter().map(ToString::to_string).collect();
            println!("starts {}", starts.join(" "));
            let modes: Vec<String> =
                answer.modes.iter().map(ToString::to_string).collect();
            if !modes.is_empty() {
                println!("modes {}", modes.join(" "));
            }
        }
        for run in answer.runs.iter().take(LISTED) {
            println!("  {} to {}  {}", run.start, run.finish, run.task);
        }
        if answer.runs.len() > LISTED {
            println!("  and {} more; --json lists all", answer.runs.len() - LISTED);
        }
    }
    for rule in &answer.conflict {
        println!("  {rule}");
    }
}

pub(crate) fn judge(file: &Path, schedule: &Path, json: bool) -> Result<bool> {
    let judgement = app::judge(file, schedule)?;
    let lawful = judgement.breaches.is_empty();
    if json {
        let object = json!({
            "lawful": lawful,
            "measures": measured(judgement.measures),
            "breaches": judgement.breaches,
        });
        println!("{object}");
        return Ok(lawful);
    }
    for breach in &judgement.breaches {
        println!("{breach}");
    }
    let Measures { tardiness, cost, drift, length } = judgement.measures;
    println!("{}", if lawful { "lawful" } else { "NOT lawful" });
    println!("tardiness {tardiness}, cost {cost}, drift {drift}, length {length}");
    Ok(lawful)
}
