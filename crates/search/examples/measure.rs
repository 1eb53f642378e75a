//! Measures the search on public instances: gap to the best known length, proofs, time.
//!
//! ```text
//! cargo run --release -p search --example measure -- DIR SECONDS [THREADS [EVERY [FROM]]]
//! ```
//!
//! `DIR` holds instance files (`.sm`, `.sch`, `.rcp`) and `best_known.csv` with the columns
//! `instance,lower,upper,source`. Every `EVERY`-th file is solved, beginning with number
//! `FROM`; one line is printed for each that is not solved to the best known length with
//! a proof, and a summary.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use search::{Options, Outcome, Silent, Stop, solve};
use timetable::instance::parse;

/// Best known lower and upper bound; nothing where the instance is infeasible or open.
type Known = BTreeMap<String, (Option<i64>, Option<i64>, bool)>;

#[derive(Default)]
struct Tally {
    solved: usize,
    gap: f64,
    worst: f64,
    hit: usize,
    better: usize,
    proven: usize,
    infeasible: usize,
    unknown: usize,
    wrong: usize,
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, or: usize| {
        arguments.get(at).and_then(|text| text.parse().ok()).unwrap_or(or)
    };
    let dir = PathBuf::from(arguments.first().map_or(".", String::as_str));
    let seconds = arguments.get(1).and_then(|text| text.parse().ok()).unwrap_or(1.0);
    let (threads, every, from) = (number(2, 1), number(3, 1), number(4, 0));
    let known = known(&dir)?;
    let mut tally = Tally::default();
    for file in files(&dir)?.iter().skip(from).step_by(every.max(1)) {
        measure(file, seconds, threads, &known, &mut tally)?;
    }
    let measured = tally.solved.max(1) as f64;
    println!(
        "solved {} mean gap {:.3} % worst {:.2} % hit {} better {} proven {} infeasible {} unknown {} WRONG {}",
        tally.solved,
        100.0 * tally.gap / measured,
        100.0 * tally.worst,
        tally.hit,
        tally.better,
        tally.proven,
        tally.infeasible,
        tally.unknown,
        tally.wrong
    );
    Ok(())
}

fn files(dir: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(dir)?
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| {
            let ending = path.extension().and_then(|ending| ending.to_str());
            ending.is_some_and(|ending| matches!(ending, "sm" | "sch" | "rcp"))
        })
        .collect();
    files.sort();
    Ok(files)
}

fn known(dir: &Path) -> std::io::Result<Known> {
    let text = std::fs::read_to_string(dir.join("best_known.csv"))?;
    let rows = text.lines().skip(1).filter_map(|line| {
        let mut fields = line.split(',');
        let name = stem(fields.next()?);
        let (lower, upper) = (fields.next()?, fields.next()?);
        let infeasible = lower == "infeasible";
        Some((name, (lower.parse().ok(), upper.parse().ok(), infeasible)))
    });
    Ok(rows.collect())
}

fn stem(name: &str) -> String {
    let path = Path::new(name);
    path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().to_lowercase())
}

fn measure(
    file: &Path,
    seconds: f64,
    threads: usize,
    known: &Known,
    tally: &mut Tally,
) -> Result<(), Box<dyn std::error::Error>> {
    let name = stem(&file.to_string_lossy());
    let text = std::fs::read_to_string(file)?;
    let instance = parse(&file.to_string_lossy(), &text)
        .map_err(|errors| format!("{}: {}", file.display(), errors[0]))?;
    let stop = Stop::after(Duration::from_secs_f64(seconds));
    let options = Options { stop, threads, seed: 1, start_from: None };
    let start = Instant::now();
    let outcome = solve(&instance.problem, &options, &Silent);
    let spent = start.elapsed().as_secs_f64();
    let (lower, upper, infeasible) = known.get(&name).copied().unwrap_or_default();
    let length = outcome.measures().map(|measures| i64::from(measures.length));
    let mut note = String::new();
    match (&outcome, length) {
        (Outcome::Infeasible(_), _) => {
            tally.infeasible += 1;
            if upper.is_some() {
                note = format!("WRONG: infeasible, known {upper:?}");
            }
        }
        (_, None) => {
            tally.unknown += 1;
            note = format!("unknown; known {upper:?} infeasible {infeasible}");
        }
        (_, Some(length)) => {
            tally.solved += 1;
            let proven = matches!(outcome, Outcome::Optimal { .. });
            tally.proven += usize::from(proven);
            let gap = upper.map_or(0.0, |upper| (length - upper) as f64 / upper as f64);
            tally.gap += gap;
            tally.worst = tally.worst.max(gap);
            tally.hit += usize::from(gap <= 0.0);
            tally.better += usize::from(gap < 0.0);
            let wrong = infeasible
                || lower.is_some_and(|lower| length < lower)
                || (proven && upper.is_some_and(|upper| length > upper));
            if wrong || gap != 0.0 || !proven {
                let mark = if wrong { "WRONG" } else { "" };
                note =
                    format!("{length} known {lower:?} {upper:?} proven {proven} {mark}");
            }
        }
    }
    let notes = outcome.schedule().map(|s| verify::check(&instance.problem, s));
    if let Some(first) = notes.as_ref().and_then(|notes| notes.first()) {
        note = format!("WRONG: {first}");
    }
    if let Outcome::Feasible { bound, .. } = &outcome {
        use std::fmt::Write as _;
        write!(note, " bound {}", bound.length)?;
    }
    tally.wrong += usize::from(note.contains("WRONG"));
    if !note.is_empty() {
        println!("{name}: {note} ({spent:.2} s)");
    }
    Ok(())
}
