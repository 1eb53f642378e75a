//! The tasks of the workshop behind the program: the gate, the layer check, generated
//! documents and benchmarks.
//!
//! Knows `cargo`, `python3` and the shape of the workspace. Never knows any other crate of
//! it: what it checks, it checks from outside, so that a fault in a crate can't hide itself
//! here. The benchmark reads instances and judges schedules with code of its own for the
//! same reason.

#![expect(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a developer's tool talks to the terminal; nothing links it"
)]

mod bench;
mod browser;
mod ci;
mod debian;
mod docs;
mod layers;
mod licences;
mod node;
mod options;
mod pages;
mod python;
mod server;
mod shell;
mod tests_run;

use std::process::ExitCode;

use anyhow::{Result, bail};

const USAGE: &str = "\
Usage: cargo xtask TASK

Tasks:
  ci [STEP]...     the whole gate, or only the steps named; the same locally and in CI
  layers           crate dependencies against the table in ARCHITECTURE.md, both ways
  licences         permissive licences only, over every package of the lock file
  docs [--check]   write the generated documents, or only say which are stale
  pages            hold every page against WCAG 2.2 AA in a browser, write docs/PAGES.md
  tour             go through the example in a browser, write the pictures of docs/TOUR.md
  bench WHAT       the solver over published instances, over generated problems, the cost
                   of its steps, and the ledger (--help tells which there are)";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match run(&arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{}", told(&error));
            ExitCode::FAILURE
        }
    }
}

/// The whole chain of causes, one a line, and no backtrace: the words must suffice.
fn told(error: &anyhow::Error) -> String {
    let causes = error.chain().skip(1).map(|cause| format!("\n  because: {cause}"));
    format!("error: {error}{}", causes.collect::<String>())
}

fn run(arguments: &[String]) -> Result<()> {
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["ci", steps @ ..] => ci::run(steps),
        ["layers"] => layers::run(),
        ["licences"] => licences::run(),
        ["docs"] => docs::write(),
        ["docs", "--check"] => docs::check(),
        ["pages"] => pages::report(),
        ["tour"] => pages::tour(),
        ["bench", rest @ ..] => bench::run(rest),
        ["--help" | "-h" | "help"] => {
            println!("{USAGE}");
            Ok(())
        }
        [] => bail!("no task named\n\n{USAGE}"),
        other => bail!("`{}` is no task\n\n{USAGE}", other.join(" ")),
    }
}
