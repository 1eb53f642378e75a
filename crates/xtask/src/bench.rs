//! Benchmarks: the solver over published instances, over generated problems, what one of its
//! steps costs, the ledger, and the pages.
//!
//! Solvers are programs that print one JSON object: `turnbuckle solve`, any other with the
//! same output, and a general-purpose solver to compare with. They run in turns on each
//! instance within one run, so that all see the same machine; each schedule is judged by a
//! reader and a checker of this tool's own, and compared with the best known values.
//!
//! The instances are published by their makers and are not part of this repository: PSPLIB
//! (Kolisch & Sprecher 1996), RCPSP/max (Kolisch, Schwindt & Sprecher 1999), RG300
//! (instances of the generator `RanGen`).
//! A folder holds the instance files (`.sm`, `.sch`, `.rcp`), `best_known.csv` with the
//! columns instance, lower, upper, and perhaps `cpm.csv` with instance, cpm (the length of the
//! critical path, worked out here where the table is missing).

mod answer;
mod call;
mod chart;
mod child;
mod decode;
mod full;
mod instance;
mod instructions;
mod judge;
mod ledger;
mod machine;
mod peer;
mod processes;
mod published;
mod record;
mod replan;
mod report;
mod scale;
mod session;
mod sets;
mod settings;
mod summary;
mod table;
mod web;

use anyhow::{Result, bail};

pub(crate) use machine::{commit, today};

const USAGE: &str = "\
Usage: cargo xtask bench WHAT [options]      (--help behind WHAT tells the options)

  timetable      the solver over published instances, beside a peer if asked
  full           the solver over generated problems with every feature, beside a peer if
                 asked
  instructions   what a schedule and a step of the search cost, against recorded counts
  replan         how soon a plan is mended when a task slips, and how near it stays
  scale          how that cost grows with the number of tasks, with a chart
  ledger         the store beside plain SQLite, or killed again and again
  web            pages of a long ledger, many people at once, a phone, memory";

/// Runs one kind of benchmark.
pub(crate) fn run(words: &[&str]) -> Result<()> {
    match words {
        ["timetable", rest @ ..] => published::run(rest),
        ["full", rest @ ..] => full::run(rest),
        ["instructions", rest @ ..] => instructions::run(rest),
        ["replan", rest @ ..] => replan::run(rest),
        ["scale", rest @ ..] => scale::run(rest),
        ["ledger", rest @ ..] => ledger::run(rest),
        ["web", rest @ ..] => web::run(rest),
        ["--help" | "-h"] => {
            println!("{USAGE}");
            Ok(())
        }
        [] => bail!("no benchmark named\n\n{USAGE}"),
        [other, ..] => bail!("`{other}` is no benchmark\n\n{USAGE}"),
    }
}

#[cfg(test)]
mod tests;
