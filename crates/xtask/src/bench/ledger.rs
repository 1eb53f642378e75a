//! The store: how fast it is beside plain SQLite, and whether it survives being killed more
//! often than the tests kill it.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};

use super::machine;
use crate::options::Options;
use crate::shell;

const USAGE: &str = "\
Usage: cargo xtask bench ledger [options]

  --entries N         how many entries are appended, read and verified (500000)
  --seconds N         how long 64 writers wait together (10)
  --folder DIR        where the ledger is written: the disk counts (target)
  --postgres TEXT     a connection string; the ledger is measured on that server too
  --kills N           instead, kill a writer N times on each store, and check each time";

/// Measures, or kills.
pub(super) fn run(words: &[&str]) -> Result<()> {
    if matches!(words, ["--help" | "-h"]) {
        println!("{USAGE}");
        return Ok(());
    }
    let mut options = Options::read(words, &[])?;
    let entries = options.number("entries", 500_000)?;
    let seconds = options.number("seconds", 10)?;
    let folder = options.one("folder")?.map(PathBuf::from);
    let server = options.one("postgres")?;
    let kills = options.number("kills", 0)?;
    options.finish(USAGE)?;
    if kills > 0 {
        return kill(kills);
    }
    let folder = folder.unwrap_or_else(|| shell::root().join("target"));
    let folder = folder.join(format!("bench-ledger-{}", std::process::id()));
    fs::create_dir_all(&folder)
        .with_context(|| format!("can't make the folder {}", folder.display()))?;
    let measured = measure(&folder, entries, seconds, server.as_deref());
    // A ledger of half a million entries is nothing to leave behind.
    fs::remove_dir_all(&folder)
        .with_context(|| format!("can't remove {}", folder.display()))?;
    measured
}

fn measure(
    folder: &Path,
    entries: u64,
    seconds: u64,
    server: Option<&str>,
) -> Result<()> {
    println!("{}\n{}, {}\n", machine::described(), machine::today(), machine::commit());
    let mut command = shell::cargo(&[
        "run",
        "--release",
        "--quiet",
        "--package=ledger",
        "--example=measure",
        "--",
    ]);
    command.arg(folder).args([entries.to_string(), seconds.to_string()]).args(server);
    shell::run(&mut command)
}

/// The tests that kill a writer, with a count of their own.
fn kill(kills: u64) -> Result<()> {
    let mut command = shell::cargo(&["test", "--package=ledger"]);
    command
        .args(["--test=ledger", "--", "--nocapture"])
        .args(["killed_writer", "the_whole_suite"]);
    shell::run(command.env("TURNBUCKLE_KILLS", kills.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_is_refused_before_anything_runs() {
        for words in [&["--entry", "9"][..], &["--entries", "many"], &["9"]] {
            assert!(run(words).is_err(), "{words:?}");
        }
    }
}
