//! How quickly pages come, and how many can look at once: the built program over a long
//! ledger that `web` makes and looks at from outside.

use std::fs;

use anyhow::{Context, Result};

use super::machine;
use crate::options::Options;
use crate::shell;

const USAGE: &str = "\
Usage: cargo xtask bench web [options]

  --entries N         how long the ledger is (100000)
  --people N          how many look at once (50)
  --seconds N         for how long (30)
  --soak MINUTES      how long memory is watched while they go on (2)
  --record            put what came out into docs/BENCHMARKS.md";

const DOCUMENT: &str = "docs/BENCHMARKS.md";
const HEADING: &str = "### The pages, under load";

/// Measures.
pub(super) fn run(words: &[&str]) -> Result<()> {
    if matches!(words, ["--help" | "-h"]) {
        println!("{USAGE}");
        return Ok(());
    }
    let mut options = Options::read(words, &["record"])?;
    let record = options.flag("record");
    let mut asked = Vec::new();
    for (name, default) in
        [("entries", 100_000), ("people", 50), ("seconds", 30), ("soak", 2)]
    {
        asked.extend([format!("--{name}"), options.number(name, default)?.to_string()]);
    }
    options.finish(USAGE)?;
    shell::run(&mut shell::cargo(&["build", "--release", "--package=turnbuckle"]))?;
    let mut command = shell::cargo(&[
        "run",
        "--release",
        "--quiet",
        "--package=web",
        "--example=measure",
        "--",
    ]);
    let told = shell::capture(command.arg(program()?).args(&asked))?;
    let section = format!(
        "{HEADING}\n\n{}; {}, {}; `cargo xtask bench web {}`. The people and the browser run on \
         the same machine.\n\n{}\n",
        machine::described(),
        machine::today(),
        machine::commit(),
        asked.join(" "),
        told.trim()
    );
    println!("{section}");
    if record { keep(&section) } else { Ok(()) }
}

/// Where the program was built.
fn program() -> Result<std::path::PathBuf> {
    let metadata = shell::metadata(true)?;
    let target = metadata["target_directory"].as_str().context("no target directory")?;
    let name = format!("turnbuckle{}", std::env::consts::EXE_SUFFIX);
    Ok(std::path::Path::new(target).join("release").join(name))
}

fn keep(section: &str) -> Result<()> {
    let path = shell::root().join(DOCUMENT);
    let text = fs::read_to_string(&path)
        .with_context(|| format!("can't read {}", path.display()))?;
    fs::write(&path, with(&text, section))
        .with_context(|| format!("can't write {}", path.display()))
}

/// A document with a section in place of the one that it had, or at its end.
fn with(text: &str, section: &str) -> String {
    let Some((before, old)) = text.split_once(HEADING) else {
        return format!("{}\n\n{section}", text.trim_end());
    };
    let rest = old.find("\n### ").map_or("", |at| &old[at..]);
    format!("{before}{section}{rest}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_section_takes_the_place_of_the_old_one() {
        let new = format!("{HEADING}\n\nnew\n");
        assert_eq!(with("# t\n\ntext\n", &new), format!("# t\n\ntext\n\n{new}"));
        let old = format!("# t\n\n{HEADING}\n\nold\n\n### Next\n\nmore\n");
        assert_eq!(with(&old, &new), format!("# t\n\n{new}\n### Next\n\nmore\n"));
        assert_eq!(with(&with(&old, &new), &new), with(&old, &new));
    }

    #[test]
    fn what_is_not_known_is_refused_before_anything_runs() {
        for words in [&["--entry", "9"][..], &["--entries", "many"], &["9"]] {
            assert!(run(words).is_err(), "{words:?}");
        }
    }
}
