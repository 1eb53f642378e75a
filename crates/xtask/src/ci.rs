//! The gate: one command, the same on a desk and in continuous integration.

use std::path::PathBuf;
use std::process::Command;
use std::time::Instant;

use anyhow::{Context, Result, bail};

use crate::tests_run::{self, Tally};
use crate::{browser, docs, layers, licences, node, python, server, shell};

/// What one step leaves for another.
#[derive(Default)]
struct Gate {
    python: Option<PathBuf>,
    tally: Tally,
}

impl Gate {
    fn python(&mut self) -> Result<PathBuf> {
        if let Some(python) = &self.python {
            return Ok(python.clone());
        }
        let python = python::GATE.ready()?;
        self.python = Some(python.clone());
        Ok(python)
    }
}

struct Step {
    name: &'static str,
    what: &'static str,
    run: fn(&mut Gate) -> Result<()>,
}

/// Cheapest to fail first, as far as what they need allows.
const STEPS: &[Step] = &[
    Step { name: "fmt", what: "formatting", run: |_| format() },
    Step { name: "clippy", what: "lints, warnings are errors", run: |_| lints() },
    Step {
        name: "layers",
        what: "dependencies as ARCHITECTURE.md has them",
        run: |_| layers::run(),
    },
    Step { name: "docs", what: "generated documents are fresh", run: |_| docs::check() },
    Step { name: "rustdoc", what: "documentation builds", run: |_| rustdoc() },
    Step { name: "licences", what: "permissive licences only", run: |_| licences::run() },
    Step {
        name: "python",
        what: "reference packages in .venv",
        run: |gate| gate.python().map(|_| ()),
    },
    Step {
        name: "node",
        what: "reference packages in reference/node_modules",
        run: |_| node::ready(),
    },
    Step { name: "spelling", what: "British spelling", run: spelling },
    Step { name: "tests", what: "all tests, reference checks among them", run: tests },
];

/// Runs the named steps, or all, and stops at the first that fails.
pub(crate) fn run(names: &[&str]) -> Result<()> {
    let steps = chosen(names)?;
    let begun = Instant::now();
    let mut gate = Gate::default();
    let mut outcome = Ok(());
    for (index, step) in steps.iter().enumerate() {
        let clock = Instant::now();
        println!("\n== {}/{} {}: {}", index + 1, steps.len(), step.name, step.what);
        outcome = (step.run)(&mut gate);
        let seconds = clock.elapsed().as_secs_f64();
        if outcome.is_err() {
            println!("== {} FAILED after {seconds:.1} s", step.name);
            outcome = outcome.with_context(|| failure(step));
            break;
        }
        println!("== {} ok, {seconds:.1} s", step.name);
    }
    if outcome.is_ok() {
        let seconds = begun.elapsed().as_secs_f64();
        let (ran, all) = (steps.len(), STEPS.len());
        let verdict = if ran == all { "the gate is open" } else { "not the whole gate" };
        println!("\n{verdict}: {ran} of {all} steps passed, {seconds:.1} s");
    }
    if gate.tally != Tally::default() {
        println!("{} passed, {} failed", gate.tally.passed, gate.tally.failed);
    }
    outcome
}

fn chosen(names: &[&str]) -> Result<Vec<&'static Step>> {
    if names.is_empty() {
        return Ok(STEPS.iter().collect());
    }
    for name in names {
        if !STEPS.iter().any(|step| step.name == *name) {
            let known: Vec<&str> = STEPS.iter().map(|step| step.name).collect();
            bail!("`{name}` is no step of the gate; the steps are {}", known.join(", "));
        }
    }
    Ok(STEPS.iter().filter(|step| names.contains(&step.name)).collect())
}

fn failure(step: &Step) -> String {
    format!("step `{0}` failed; `cargo xtask ci {0}` runs it alone", step.name)
}

fn format() -> Result<()> {
    shell::run(&mut shell::cargo(&["fmt", "--all", "--check"]))
        .context("the formatting differs; `cargo fmt --all` puts it right")
}

fn lints() -> Result<()> {
    let arguments = ["clippy", "--workspace", "--all-targets", "--", "-D", "warnings"];
    shell::run(&mut shell::cargo(&arguments))
}

fn rustdoc() -> Result<()> {
    let arguments = ["doc", "--workspace", "--no-deps", "--document-private-items"];
    shell::run(shell::cargo(&arguments).env("RUSTDOCFLAGS", "-D warnings"))
}

fn spelling(gate: &mut Gate) -> Result<()> {
    gate.python()?;
    let mut command = Command::new(python::GATE.program("typos"));
    command.args(["--config", "typos.toml"]).current_dir(shell::root());
    shell::run(&mut command).context(
        "words are misspelt; mend them, or add one to typos.toml with the reason why it is right",
    )
}

fn tests(gate: &mut Gate) -> Result<()> {
    let python = gate.python()?;
    server::ready()?;
    browser::ready()?;
    node::ready()?;
    tests_run::run(&python, &mut gate.tally)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(steps: &[&Step]) -> Vec<&'static str> {
        steps.iter().map(|step| step.name).collect()
    }

    #[test]
    fn steps_are_chosen_in_their_own_order() {
        assert_eq!(chosen(&[]).unwrap().len(), STEPS.len());
        assert_eq!(names(&chosen(&["tests", "fmt"]).unwrap()), ["fmt", "tests"]);
    }

    #[test]
    fn an_unknown_step_is_refused_and_the_known_are_listed() {
        let Err(error) = chosen(&["fmt", "spell"]) else { panic!("accepted") };
        let error = error.to_string();
        assert!(error.contains("`spell`") && error.contains("spelling"), "{error}");
    }
}
