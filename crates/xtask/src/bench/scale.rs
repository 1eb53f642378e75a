//! `cargo xtask bench scale`: how the cost of a schedule grows with the number of tasks.

use std::fs;
use std::path::PathBuf;

use anyhow::{Context, Result, bail};

use crate::options::Options;
use crate::shell;

use super::chart::{Chart, Point};
use super::decode::{self, Decode};
use super::table::{Form, Table, number};
use super::{machine, processes};

const OPTIONS: &str = "\
Usage: cargo xtask bench scale [options]

Measures what it costs to decode a schedule on made-up seasons of 100 to 5,000 tasks, writes
a chart, and tells with which power of the number of tasks the cost grows.

  --by MEASURE    instructions to decode a schedule, by valgrind's callgrind: the same on a
                               busy machine (instructions)
                  processor    microseconds of processor time of a step of the search: a
                               decoded schedule, a repair, a conflict of the exact search
  --sizes LIST    numbers of tasks (100,200,500,1000,2000,5000)
  --repeat N      of processor time, the cheapest of N measurements counts (3)
  --chart FILE    where to write the chart (docs/scale.svg)
  --markdown      the table in Markdown";

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Measure {
    /// Instructions to decode a schedule.
    Instructions,
    /// Processor time of a step.
    Processor,
}

/// What one size came to.
struct Row {
    tasks: u64,
    each: f64,
    /// Processor seconds from the problem to its first schedule.
    first: Option<f64>,
    peak: Option<u64>,
}

/// Measures, shows a table and writes the chart.
pub(super) fn run(words: &[&str]) -> Result<()> {
    if words.iter().any(|word| matches!(*word, "--help" | "-h")) {
        println!("{OPTIONS}");
        return Ok(());
    }
    let mut options = Options::read(words, &["markdown"])?;
    let form = if options.flag("markdown") { Form::Markdown } else { Form::Text };
    let measure = measure(options.one("by")?.as_deref())?;
    let mut sizes = options.list("sizes");
    if sizes.is_empty() {
        sizes = ["100", "200", "500", "1000", "2000", "5000"].map(str::to_owned).to_vec();
    }
    let repeat = options.number("repeat", 3)?.max(1);
    let chart = options.one("chart")?.map(PathBuf::from);
    let chart = chart.unwrap_or_else(|| shell::root().join("docs/scale.svg"));
    options.finish(OPTIONS)?;
    let decode = Decode::build()?;
    let rows = sizes.iter().map(|size| row(&decode, size, measure, repeat));
    let rows = rows.collect::<Result<Vec<_>>>()?;
    println!("{}\n{}\n", machine::described(), machine::today());
    println!("{}", table(&rows, measure).show(form));
    let points: Vec<Point> =
        rows.iter().map(|row| Point { x: row.tasks as f64, y: row.each }).collect();
    if let Some(power) = power(&points) {
        println!("\nthe cost grows with the power {power:.2} of the number of tasks");
    }
    let drawn = Chart { points, unit: unit(measure) };
    fs::write(&chart, drawn.svg())
        .with_context(|| format!("can't write {}", chart.display()))?;
    println!("the chart is in {}", chart.display());
    Ok(())
}

fn measure(word: Option<&str>) -> Result<Measure> {
    match word {
        None | Some("instructions") => decode::valgrind().map(|_| Measure::Instructions),
        Some("processor") if processes::known() => Ok(Measure::Processor),
        Some("processor") => {
            bail!(
                "processor time is read from /proc, as Linux has it; try `--by instructions`"
            )
        }
        Some(other) => {
            bail!("`{other}` is no measure; there are `processor` and `instructions`")
        }
    }
}

fn unit(measure: Measure) -> &'static str {
    match measure {
        Measure::Instructions => "instructions for one schedule",
        Measure::Processor => "microseconds for one step",
    }
}

fn row(decode: &Decode, size: &str, measure: Measure, repeat: u64) -> Result<Row> {
    let tasks: u64 =
        size.parse().ok().with_context(|| format!("`{size}` is no number of tasks"))?;
    let each = match measure {
        Measure::Instructions => decoded(decode, size)?,
        Measure::Processor => step(decode, size, repeat)?,
    };
    eprintln!("{tasks} tasks: {each:.1} {}", unit(measure));
    let made = decode.watched(&["once", "season", size])?;
    let first = decode.watched(&["one", "season", size, "1"])?;
    let longer = decode.watched(&["one", "season", size, "256"])?;
    Ok(Row {
        tasks,
        each,
        first: first
            .processor
            .zip(made.processor)
            .map(|(all, made)| (all - made).max(0.0)),
        peak: longer.peak,
    })
}

/// The first budget of steps that is tried, and the greatest.
const STEPS: [u64; 2] = [128, 8192];

/// Instructions to decode a schedule. A search begins with other work, so that a short one
/// may decode none: the budget is doubled until one does.
fn decoded(decode: &Decode, size: &str) -> Result<f64> {
    let [mut steps, most] = STEPS;
    while steps <= most {
        let profile = decode.profile(&["one", "season", size, &steps.to_string()])?;
        if let Some(decoded) = profile.decoded {
            return Ok(decoded);
        }
        steps *= 2;
    }
    bail!(
        "no call of a decoder was counted in {most} steps; crates/xtask/src/bench/decode.rs \
         must know its name"
    )
}

/// The system counts processor time in hundredths of a second: measure long enough.
const LONG: f64 = 0.8;

/// Microseconds of a step: the difference between a budget and twice that.
fn step(decode: &Decode, size: &str, repeat: u64) -> Result<f64> {
    let run = |steps: u64| {
        let words = ["one", "season", size, &steps.to_string()];
        decode.processor(&words)
    };
    let mut steps = 16;
    let mut few = run(steps)?;
    loop {
        let many = run(2 * steps)?;
        if many - few >= LONG {
            let mut each = many - few;
            for _ in 1..repeat {
                each = each.min(run(2 * steps)? - run(steps)?);
            }
            return Ok(1e6 * each / steps as f64);
        }
        (steps, few) = (2 * steps, many);
    }
}

fn table(rows: &[Row], measure: Measure) -> Table {
    let mut table =
        Table::new(&["tasks", unit(measure), "each task", "first s", "peak MB"]);
    for row in rows {
        table.add(vec![
            row.tasks.to_string(),
            number(Some(row.each), 1),
            number(Some(row.each / row.tasks as f64), 3),
            number(row.first, 2),
            number(row.peak.map(|bytes| bytes as f64 / 1e6), 1),
        ]);
    }
    table
}

/// The slope of the straight line that lies closest to the points on logarithmic scales
/// (least squares); 1 is linear growth.
fn power(points: &[Point]) -> Option<f64> {
    let count = points.len() as f64;
    let logs: Vec<(f64, f64)> = points.iter().map(|p| (p.x.ln(), p.y.ln())).collect();
    let mean = |pick: fn(&(f64, f64)) -> f64| logs.iter().map(pick).sum::<f64>() / count;
    let (x, y) = (mean(|log| log.0), mean(|log| log.1));
    let across: f64 = logs.iter().map(|log| (log.0 - x) * (log.1 - y)).sum();
    let along: f64 = logs.iter().map(|log| (log.0 - x).powi(2)).sum();
    (along > 0.0).then(|| across / along)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_power_of_growth() {
        let points = |power: f64| -> Vec<Point> {
            [100.0_f64, 500.0, 5000.0]
                .map(|x| Point { x, y: 3.0 * x.powf(power) })
                .to_vec()
        };
        for expected in [1.0, 1.5, 2.0] {
            let found = power(&points(expected)).unwrap();
            assert!((found - expected).abs() < 1e-9, "{found}");
        }
        assert_eq!(power(&points(1.0)[..1]), None);
        assert_eq!(power(&[]), None);
    }

    #[test]
    fn measures_have_names() {
        assert!(measure(Some("sand")).is_err());
        let row = Row { tasks: 100, each: 50.0, first: None, peak: Some(2_500_000) };
        let shown = table(&[row], Measure::Processor).show(Form::Text);
        assert!(shown.contains("microseconds for one step"), "{shown}");
        assert!(
            shown.contains("50.0") && shown.contains("0.500") && shown.contains("2.5")
        );
    }
}
