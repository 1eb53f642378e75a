//! Proven optima of small problems with every feature, against a model of the same
//! documents in OR-Tools CP-SAT that shares no code with us
//! (`reference/problem_cpsat.py --exact`).

#![expect(clippy::unwrap_used, reason = "in a test, failing is the way to say so")]

mod python;

use std::path::Path;

use problems::{Recipe, generate, write};
use python::{lines, script};
use search::{Options, Outcome, Silent, Stop, solve};
use serde_json::Value;
use timetable::{Assignment, Measures, ModeId, Problem, Schedule};

/// The problems are those of these seeds.
const SEEDS: std::ops::RangeInclusive<u64> = 1..=60;

/// Far more than any of them needs. One that is not settled within it is a failure.
const STEPS: u64 = 200_000;

/// What the model says of each file, in their order.
fn reference(dir: &Path, files: &[String]) -> Vec<Value> {
    let mut command = script("problem_cpsat.py");
    command.current_dir(dir).arg("--exact").args(files);
    lines(command, "")
}

/// The schedule of an answer.
fn schedule(answer: &Value) -> Schedule {
    let number = |run: &Value, field: &str| run[field].as_i64().unwrap() as i32;
    let runs = answer["assignments"].as_array().unwrap().iter();
    let assignments = runs.map(|run| Assignment {
        mode: ModeId(number(run, "mode").unsigned_abs()),
        start: number(run, "start"),
        finish: number(run, "finish"),
    });
    Schedule { assignments: assignments.collect() }
}

/// What is wrong, if our answer and the model's differ.
fn difference(problem: &Problem, model: &Value) -> Option<String> {
    let options =
        Options { stop: Stop::after_steps(STEPS), threads: 1, seed: 1, start_from: None };
    let ours = solve(problem, &options, &Silent);
    let status = model["status"].as_str().unwrap();
    if status == "infeasible" {
        let agrees = matches!(ours, Outcome::Infeasible(_));
        return (!agrees).then(|| format!("the model finds it infeasible, we {ours:?}"));
    }
    assert_eq!(status, "optimal", "{model}");
    let theirs = schedule(model);
    // A model that breaks a rule is no yardstick.
    let notes = verify::check(problem, &theirs);
    assert!(notes.is_empty(), "{notes:?}");
    let theirs = Measures::of(problem, &theirs);
    let told = ["tardiness", "cost", "drift", "length"].map(|name| model[name].as_i64());
    let Measures { tardiness, cost, drift, length } = theirs;
    assert_eq!(told, [tardiness, cost, drift, i64::from(length)].map(Some));
    let Outcome::Optimal { schedule, measures } = &ours else {
        return Some(format!("not settled: {ours:?}; the optimum is {theirs:?}"));
    };
    let notes = verify::check(problem, schedule);
    if !notes.is_empty() {
        return Some(format!("our schedule is unlawful: {notes:?}"));
    }
    let same = measures.key() == theirs.key();
    (!same).then(|| format!("we prove {measures:?}, the model {theirs:?}"))
}

#[test]
#[ignore = "reference check: run by `cargo xtask ci`"]
fn small_problems_are_settled_as_the_model_settles_them() {
    let dir = tempfile::TempDir::new().unwrap();
    let mut problems = Vec::new();
    for seed in SEEDS {
        let problem = generate(&Recipe::SMALL, seed);
        let file = format!("{seed}.json");
        std::fs::write(dir.path().join(&file), write(&problem)).unwrap();
        problems.push((file, problem));
    }
    let files: Vec<String> = problems.iter().map(|(file, _)| file.clone()).collect();
    let answers = reference(dir.path(), &files);
    assert_eq!(answers.len(), problems.len());
    let infeasible = answers.iter().filter(|answer| answer["status"] == "infeasible");
    assert!((1..20).contains(&infeasible.count()), "hardly any may be infeasible");
    let differences: Vec<String> = problems
        .iter()
        .zip(&answers)
        .filter_map(|((file, problem), model)| {
            difference(problem, model).map(|what| format!("{file}: {what}"))
        })
        .collect();
    assert!(differences.is_empty(), "{}", differences.join("\n"));
}
