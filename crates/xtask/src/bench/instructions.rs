//! `cargo xtask bench instructions`: what a step costs in instructions, against counts that
//! are kept in the repository.
//!
//! A clock lies on a machine that does other work; a count of instructions hardly moves. Each
//! problem is solved twice, with a budget and with twice that budget: the difference is what
//! the steps cost, without the start of the program and the preparation of the search. What
//! a schedule costs is the mean over the calls of the decoder in the longer run.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::options::Options;
use crate::shell;

use super::decode::{self, Decode};
use super::table::{Form, Table, number};

const OPTIONS: &str = "\
Usage: cargo xtask bench instructions [options]

Counts the instructions to decode a schedule, and of a step of the search as a budget counts
steps (a decoded schedule, a repair, a conflict of the exact search), on made-up problems, by
valgrind's callgrind. Fails where one costs more than recorded by more than the tolerance.

  --tolerance P   percent that a count may exceed the recorded one (5)
  --record        record what is counted now: after a change that is meant to cost more or
                  less, or with another compiler
  --counts FILE   the recorded counts (crates/search/benches/counts.csv)
  --markdown      the table in Markdown";

const COUNTS: &str = "crates/search/benches/counts.csv";

/// Kinds and sizes of problems, and the smaller budget of steps.
const CASES: [Case; 6] = [
    Case { kind: "plain", tasks: 30, steps: 4000 },
    Case { kind: "plain", tasks: 60, steps: 3000 },
    Case { kind: "plain", tasks: 120, steps: 2000 },
    Case { kind: "plain", tasks: 300, steps: 600 },
    Case { kind: "season", tasks: 200, steps: 600 },
    Case { kind: "season", tasks: 1000, steps: 150 },
];

struct Case {
    kind: &'static str,
    tasks: u64,
    steps: u64,
}

/// One line of the file.
#[derive(Debug, Clone, PartialEq)]
struct Count {
    kind: String,
    tasks: u64,
    /// Instructions of a step.
    step: f64,
    /// Instructions to decode a schedule.
    decoded: f64,
}

/// Counts, shows a table, and fails where a step has become dearer.
pub(super) fn run(words: &[&str]) -> Result<()> {
    if words.iter().any(|word| matches!(*word, "--help" | "-h")) {
        println!("{OPTIONS}");
        return Ok(());
    }
    let mut options = Options::read(words, &["record", "markdown"])?;
    let tolerance = options.number("tolerance", 5)? as f64;
    let record = options.flag("record");
    let form = if options.flag("markdown") { Form::Markdown } else { Form::Text };
    let file = options.one("counts")?.map(PathBuf::from);
    let file = file.unwrap_or_else(|| shell::root().join(COUNTS));
    options.finish(OPTIONS)?;
    let tools = format!("{}, {}", compiler()?, decode::valgrind()?);
    let (recorded_by, recorded) = if record { Default::default() } else { kept(&file)? };
    let counts = count(&Decode::build()?)?;
    println!("{}", table(&counts, &recorded).show(form));
    if record {
        fs::write(&file, text(&tools, &counts))
            .with_context(|| format!("can't write {}", file.display()))?;
        println!("recorded in {}", file.display());
        return Ok(());
    }
    if recorded_by != tools {
        println!(
            "recorded by {recorded_by}, counted by {tools}: a difference may be the tools'"
        );
    }
    let dearer = dearer(&counts, &recorded, tolerance);
    if !dearer.is_empty() {
        bail!(
            "{}\n\nIf that is meant, `cargo xtask bench instructions --record` records it.",
            dearer.join("\n")
        );
    }
    println!("nothing costs more than recorded by more than {tolerance} %");
    Ok(())
}

fn compiler() -> Result<String> {
    Ok(shell::capture(Command::new("rustc").arg("--version"))?.trim().to_owned())
}

fn count(decode: &Decode) -> Result<Vec<Count>> {
    CASES.iter().map(|case| one(decode, case)).collect()
}

fn one(decode: &Decode, case: &Case) -> Result<Count> {
    let Case { kind, tasks, steps } = *case;
    let size = tasks.to_string();
    let profile = |steps: u64| decode.profile(&["one", kind, &size, &steps.to_string()]);
    let (once, twice) = (profile(steps)?, profile(2 * steps)?);
    let decoded = twice.decoded.with_context(|| {
        format!(
            "{kind} {tasks}: no call of a decoder was counted; crates/xtask/src/bench/\
             decode.rs must know its name"
        )
    })?;
    let step = (twice.total - once.total) / steps as f64;
    eprintln!("{kind} {tasks}: {step:.0} instructions a step, {decoded:.0} a schedule");
    Ok(Count { kind: kind.to_owned(), tasks, step, decoded })
}

fn find<'a>(counts: &'a [Count], count: &Count) -> Option<&'a Count> {
    counts.iter().find(|other| other.kind == count.kind && other.tasks == count.tasks)
}

fn change(now: f64, before: f64) -> f64 {
    100.0 * (now / before - 1.0)
}

fn table(counts: &[Count], recorded: &[Count]) -> Table {
    let mut table = Table::new(&[
        "problem",
        "tasks",
        "a schedule",
        "each task",
        "recorded",
        "change %",
        "a step",
        "recorded",
        "change %",
    ]);
    for count in counts {
        let before = find(recorded, count);
        let mut row = vec![count.kind.clone(), count.tasks.to_string()];
        let cells = |now: f64, before: Option<f64>| {
            let change = before.map(|before| change(now, before));
            [number(before, 0), number(change, 2)]
        };
        row.push(number(Some(count.decoded), 0));
        row.push(number(Some(count.decoded / count.tasks as f64), 1));
        row.extend(cells(count.decoded, before.map(|before| before.decoded)));
        row.push(number(Some(count.step), 0));
        row.extend(cells(count.step, before.map(|before| before.step)));
        table.add(row);
    }
    table
}

fn dearer(counts: &[Count], recorded: &[Count], tolerance: f64) -> Vec<String> {
    let mut dearer = Vec::new();
    for count in counts {
        let Count { kind, tasks, step, decoded } = count;
        let Some(before) = find(recorded, count) else {
            dearer.push(format!("{kind} {tasks}: no count is recorded"));
            continue;
        };
        for (what, now, before) in
            [("a schedule", decoded, before.decoded), ("a step", step, before.step)]
        {
            let change = change(*now, before);
            if change > tolerance {
                dearer.push(format!(
                    "{kind} {tasks}: {what} costs {now:.0} instructions, {change:.1} % more \
                     than the recorded {before:.0}"
                ));
            }
        }
    }
    dearer
}

const HEADING: [&str; 4] = ["problem", "tasks", "schedule", "step"];

fn text(tools: &str, counts: &[Count]) -> String {
    let mut text = format!(
        "# Instructions to decode a schedule, and of a step of the search; written by \
         `cargo xtask bench instructions --record`.\n# {tools}\n{}\n",
        HEADING.join(",")
    );
    for Count { kind, tasks, step, decoded } in counts {
        // Writing to a string can't fail.
        let _ = writeln!(text, "{kind},{tasks},{decoded:.0},{step:.0}");
    }
    text
}

/// The recorded counts, and the tools that counted.
fn kept(file: &Path) -> Result<(String, Vec<Count>)> {
    let text = fs::read_to_string(file).with_context(|| {
        format!("can't read {}; `--record` makes it anew", file.display())
    })?;
    let mut tools = String::new();
    let mut counts = Vec::new();
    for (index, line) in text.lines().enumerate() {
        if let Some(words) = line.strip_prefix("# ") {
            words.clone_into(&mut tools);
            continue;
        }
        let cells: Vec<&str> = line.split(',').collect();
        if cells == HEADING || line.trim().is_empty() {
            continue;
        }
        let count = of_cells(&cells).with_context(|| {
            format!("{}:{}: `{line}` is no count", file.display(), index + 1)
        })?;
        counts.push(count);
    }
    Ok((tools, counts))
}

fn of_cells(cells: &[&str]) -> Option<Count> {
    let [kind, tasks, decoded, step] = *cells else { return None };
    let number = |cell: &str| {
        cell.parse().ok().filter(|number: &f64| number.is_finite() && *number > 0.0)
    };
    let (decoded, step) = (number(decoded)?, number(step)?);
    Some(Count { kind: kind.to_owned(), tasks: tasks.parse().ok()?, step, decoded })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counted(kind: &str, each: f64) -> Count {
        Count { kind: kind.to_owned(), tasks: 30, step: each, decoded: 50.0 }
    }

    #[test]
    fn what_is_recorded_is_read_back() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("counts.csv");
        let counts = [counted("plain", 1234.0), counted("season", 99.0)];
        fs::write(&file, text("a compiler, a counter", &counts)).unwrap();
        let (tools, read) = kept(&file).unwrap();
        assert_eq!(
            (tools.as_str(), read.as_slice()),
            ("a compiler, a counter", &counts[..])
        );
        fs::write(&file, "problem,tasks,schedule,step\nplain,30,7,-1\n").unwrap();
        assert!(kept(&file).unwrap_err().to_string().contains("counts.csv:2"));
    }

    #[test]
    fn only_dearer_steps_beyond_the_tolerance_fail() {
        let recorded = [counted("plain", 100.0)];
        assert!(dearer(&[counted("plain", 104.9)], &recorded, 5.0).is_empty());
        assert!(dearer(&[counted("plain", 10.0)], &recorded, 5.0).is_empty());
        let failed = dearer(&[counted("plain", 106.0)], &recorded, 5.0);
        assert!(failed[0].contains("6.0 % more"), "{failed:?}");
        let unknown = dearer(&[counted("season", 1.0)], &recorded, 5.0);
        assert!(unknown[0].contains("no count"), "{unknown:?}");
        let slow = Count { decoded: 60.0, ..counted("plain", 100.0) };
        let failed = dearer(&[slow], &recorded, 5.0);
        assert!(failed[0].contains("a schedule costs 60"), "{failed:?}");
    }

    #[test]
    fn the_kept_counts_cover_every_case() {
        let (_, counts) = kept(&shell::root().join(COUNTS)).unwrap();
        for case in CASES {
            let known =
                counts.iter().any(|c| c.kind == case.kind && c.tasks == case.tasks);
            assert!(known, "{} {}", case.kind, case.tasks);
        }
    }
}
