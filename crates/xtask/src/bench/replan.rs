//! How soon a plan is mended when a task slips: the example's first season, and others on demand.

use anyhow::{Context, Result};

use crate::shell;

const USAGE: &str = "\
Usage: cargo xtask bench replan [options] [FILE.json ...]

Without a file, the first season of the invented example is taken.

  --drawn         seasons that are drawn at random instead
  --tasks N       how many tasks those have (1000)
  --plan STEPS    steps that the plan is searched with which then is published (8000)
  --slips N       how many tasks slip, one at a time (20)
  --by TICKS      by how much (16)
  --more SECONDS  how long a mended plan is bettered, and a new one searched (1)
  --tight         whatever ends later than published is late";

/// Measures.
pub(super) fn run(words: &[&str]) -> Result<()> {
    if matches!(words, ["--help" | "-h"]) {
        println!("{USAGE}");
        return Ok(());
    }
    let drawn = words.contains(&"--drawn");
    let mut words: Vec<String> =
        words.iter().filter(|w| **w != "--drawn").map(ToString::to_string).collect();
    if !drawn
        && !words.iter().any(|word| std::path::Path::new(word).extension().is_some())
    {
        let season = ["problem", "season", "--folder", "examples/amphibian"];
        let program = ["run", "--release", "--quiet", "--package=turnbuckle", "--"];
        let words_of = [&program[..], &season[..]].concat();
        let text = shell::capture(&mut shell::cargo(&words_of))?;
        let metadata = shell::metadata(true)?;
        let target = metadata["target_directory"].as_str();
        let folder = std::path::Path::new(target.context("no target directory")?);
        let file = folder.join("season.json");
        std::fs::write(&file, text)
            .with_context(|| format!("can't write {}", file.display()))?;
        words.push(file.display().to_string());
    }
    let example =
        ["run", "--release", "--quiet", "--package=problems", "--example=slip", "--"];
    shell::run(shell::cargo(&example).args(&words))
}
