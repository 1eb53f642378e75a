//! `cargo xtask bench timetable`: the solver over published instances.
//!
//! Runs `turnbuckle solve`, or any other command with the same output, on every instance of
//! a folder, judges each schedule with a reader and a checker of its own, and compares with
//! the best known values.
//!
//! The instances are published by their makers and are not part of this repository: PSPLIB
//! (Kolisch & Sprecher 1996), RCPSP/max (Kolisch, Schwindt & Sprecher 1999), RG300
//! (instances of the generator `RanGen`).
//! A folder holds the instance files (`.sm`, `.sch`, `.rcp`), `best_known.csv` with the
//! columns instance, lower, upper, and perhaps `cpm.csv` with instance, cpm (the length of the
//! critical path, worked out here where the table is missing).

mod answer;
mod call;
mod instance;
mod judge;
mod report;
mod sets;

use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};

use crate::options::Options;
use crate::shell;

use call::Call;
use report::Row;
use sets::{Case, Set};

const OPTIONS: &str = "\
Usage: cargo xtask bench timetable --data DIR [options]

  --data DIR      folder that holds the sets, at any depth
  --set NAME      only this set, by its folder's name or its path below DIR; may be repeated
  --sample FILE   only the instances named in FILE, one a line
  --limit TIME    time for each instance, such as 500ms, 1s, 2m (1s)
  --threads N     threads for each instance (2)
  --seed N        seed (1)
  --command LINE  run this in place of `turnbuckle solve`; it is given
                  FILE --for TIME --threads N --seed N --json
  --out FILE      write one JSON object for each instance";

/// What the command line asks for.
struct Request {
    data: PathBuf,
    sets: Vec<String>,
    sample: Option<BTreeSet<String>>,
    call: Call,
    out: Option<PathBuf>,
}

/// Runs the instances, prints a table, and fails if an answer was wrong.
pub(crate) fn run(words: &[&str]) -> Result<()> {
    if matches!(words, ["--help" | "-h"]) {
        println!("{OPTIONS}");
        return Ok(());
    }
    let request = read(words)?;
    let sets = sets::find(&request.data, &request.sets, request.sample.as_ref())?;
    let mut out = request.out.as_deref().map(create).transpose()?;
    println!("{}", request.call);
    println!("{}", report::heading());
    let mut wrong = Vec::new();
    for set in &sets {
        let begun = Instant::now();
        let rows = rows(set, &request.call, out.as_mut())?;
        println!("{}", report::line(&set.name, &rows, begun.elapsed()));
        wrong.extend(rows.iter().flat_map(|row| report::faults(&set.name, row)));
        for row in rows.iter().filter(|row| row.beats_best_known()) {
            println!("{}", report::news(&set.name, row));
        }
    }
    for fault in &wrong {
        eprintln!("{fault}");
    }
    if !wrong.is_empty() {
        bail!("{} faults, named above", wrong.len());
    }
    Ok(())
}

fn read(words: &[&str]) -> Result<Request> {
    let mut options = Options::read(words)?;
    let data = options.one("data")?;
    let data = data.with_context(|| format!("`--data DIR` is missing\n\n{OPTIONS}"))?;
    let sets = options.all("set");
    let sample = options.one("sample")?.map(|file| names(Path::new(&file)));
    let limit = options.one("limit")?.unwrap_or_else(|| "1s".to_owned());
    let duration = time(&limit)?;
    let threads = options.number("threads", 2)?;
    let seed = options.number("seed", 1)?;
    let command = options.one("command")?;
    let out = options.one("out")?.map(PathBuf::from);
    options.finish(OPTIONS)?;
    let command: Vec<String> = match command {
        Some(line) => line.split_whitespace().map(str::to_owned).collect(),
        None => vec![built()?, "solve".to_owned()],
    };
    if command.is_empty() {
        bail!("`--command` names no program");
    }
    let sample = sample.transpose()?;
    let call = Call { command, limit, duration, threads, seed };
    Ok(Request { data: PathBuf::from(data), sets, sample, call, out })
}

/// Builds the release binary and says where it lies.
fn built() -> Result<String> {
    shell::run(&mut shell::cargo(&["build", "--release", "--package", "turnbuckle"]))?;
    let metadata = shell::metadata(true)?;
    let target = metadata["target_directory"]
        .as_str()
        .context("`cargo metadata` names no target folder")?;
    let name = format!("turnbuckle{}", std::env::consts::EXE_SUFFIX);
    Ok(Path::new(target).join("release").join(name).to_string_lossy().into_owned())
}

fn names(file: &Path) -> Result<BTreeSet<String>> {
    let text = fs::read_to_string(file)
        .with_context(|| format!("can't read the sample {}", file.display()))?;
    let names: BTreeSet<String> = text
        .lines()
        .map(|line| line.trim().to_owned())
        .filter(|line| !line.is_empty())
        .collect();
    if names.is_empty() {
        bail!("the sample {} names no instance", file.display());
    }
    Ok(names)
}

fn create(file: &Path) -> Result<fs::File> {
    fs::File::create(file).with_context(|| format!("can't write {}", file.display()))
}

/// Reads `500ms`, `1.5s`, `2m`; seconds where no unit is given.
fn time(text: &str) -> Result<Duration> {
    let (number, unit) = match text.find(|letter: char| letter.is_ascii_alphabetic()) {
        Some(at) => text.split_at(at),
        None => (text, "s"),
    };
    let factor = match unit {
        "ms" => 0.001,
        "s" => 1.0,
        "m" | "min" => 60.0,
        _ => bail!("`{text}` is no time; write 500ms, 1s or 2m"),
    };
    let seconds = number.parse::<f64>().ok().map(|number| number * factor);
    seconds
        .filter(|seconds| seconds.is_finite() && (0.001..=86_400.0).contains(seconds))
        .map(Duration::from_secs_f64)
        .with_context(|| format!("`{text}` is no time from 1 ms to a day"))
}

fn rows(set: &Set, call: &Call, mut out: Option<&mut fs::File>) -> Result<Vec<Row>> {
    let mut rows = Vec::with_capacity(set.cases.len());
    for case in &set.cases {
        let row = row(case, call)?;
        if let Some(out) = &mut out {
            writeln!(out, "{}", report::json(&set.name, &row))
                .context("can't write the results")?;
        }
        rows.push(row);
    }
    Ok(rows)
}

fn row(case: &Case, call: &Call) -> Result<Row> {
    // A file that can't be read is a fault of the data, not of the solver: stop.
    let instance = instance::read(&case.file)?;
    let begun = Instant::now();
    let printed = call.make(&case.file);
    let wall = begun.elapsed();
    let answer = printed.and_then(|text| answer::read(&text));
    let (answer, faults) = match answer {
        Ok(answer) => {
            let faults = judge::answer(&instance, &answer, case.best);
            (Some(answer), faults)
        }
        Err(error) => (None, vec![format!("{error:#}")]),
    };
    Ok(Row {
        name: case.name.clone(),
        best: case.best,
        path: case.critical_path.or_else(|| instance.critical_path()),
        answer,
        wall,
        faults,
    })
}

#[cfg(test)]
mod tests;
