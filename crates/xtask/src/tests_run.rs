//! Running every test of the workspace, and counting.

use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};

use crate::{python, shell};

/// Tells tests that they are run by the gate, where what they need must be there.
const GATE: &str = "TURNBUCKLE_GATE";

/// How many tests passed and failed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    pub(crate) passed: u64,
    pub(crate) failed: u64,
}

impl Tally {
    fn add(&mut self, other: Self) {
        self.passed += other.passed;
        self.failed += other.failed;
    }
}

/// Runs unit, integration and documentation tests, the reference checks among them, and adds
/// to the tally. All are run, so that the tally is whole, before a failure is returned.
pub(crate) fn run(python: &Path, tally: &mut Tally) -> Result<()> {
    let nextest = shell::output(&mut shell::cargo(&["nextest", "--version"]))?;
    let code = if nextest.status.success() {
        let arguments =
            ["nextest", "run", "--workspace", "--no-fail-fast", "--run-ignored", "all"];
        counted(&mut shell::cargo(&arguments), nextest_summary, python, tally)
    } else {
        println!("cargo-nextest isn't installed; `cargo test` runs the same tests");
        let arguments = [
            "test",
            "--workspace",
            "--tests",
            "--no-fail-fast",
            "--",
            "--include-ignored",
        ];
        counted(&mut shell::cargo(&arguments), libtest_summary, python, tally)
    };
    let mut documents = shell::cargo(&["test", "--workspace", "--doc"]);
    let documents = counted(&mut documents, libtest_summary, python, tally);
    code.and(documents)?;
    if tally.failed > 0 || tally.passed == 0 {
        bail!("{} tests passed and {} failed", tally.passed, tally.failed);
    }
    Ok(())
}

/// Reads a runner's summary line; none for any other line.
type Summary = fn(&str) -> Option<Tally>;

fn counted(
    command: &mut Command,
    summary: Summary,
    python: &Path,
    tally: &mut Tally,
) -> Result<()> {
    let line = shell::shown(command);
    command.env(python::VARIABLE, python).env(GATE, "1");
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().with_context(|| format!("can't start `{line}`"))?;
    let output = child.stdout.take().context("no standard output")?;
    let complaints = child.stderr.take().context("no standard error")?;
    // Both at once: a program whose one stream nobody reads stops when that stream is full.
    let (first, second) = std::thread::scope(|scope| {
        let first = scope.spawn(|| echo(output, summary));
        let second = scope.spawn(|| echo(complaints, summary));
        (first.join(), second.join())
    });
    for counted in [first, second] {
        match counted {
            Ok(counted) => tally.add(counted?),
            Err(_) => bail!("reading what `{line}` printed failed"),
        }
    }
    let status = child.wait().with_context(|| format!("lost track of `{line}`"))?;
    if !status.success() {
        bail!("`{line}` ended with {status}; what failed stands above");
    }
    Ok(())
}

/// Passes every line on and adds up the summaries among them.
fn echo(stream: impl Read, summary: Summary) -> Result<Tally> {
    let mut tally = Tally::default();
    let mut reader = BufReader::new(stream);
    let mut line = Vec::new();
    while reader.read_until(b'\n', &mut line)? > 0 {
        let text = String::from_utf8_lossy(&line);
        print!("{text}");
        if let Some(counts) = summary(&text) {
            tally.add(counts);
        }
        line.clear();
    }
    Ok(tally)
}

/// `Summary [   1.2s] 9 tests run: 7 passed (2 slow), 2 failed, 3 skipped`
///
/// Nextest repeats what a failed test printed, the summary of its one test included; that
/// line must not be counted again.
fn nextest_summary(line: &str) -> Option<Tally> {
    let line = line.trim().strip_prefix("Summary [")?;
    Some(sum(line.split_once("run: ")?.1.split(", ")))
}

/// `test result: FAILED. 1 passed; 2 failed; 0 ignored; 0 measured; 0 filtered out`
fn libtest_summary(line: &str) -> Option<Tally> {
    let line = line.trim().strip_prefix("test result: ")?;
    Some(sum(line.split_once(". ")?.1.split("; ")))
}

fn sum<'a>(parts: impl Iterator<Item = &'a str>) -> Tally {
    let mut tally = Tally::default();
    for part in parts {
        let mut words = part.split_whitespace();
        let Some(number) = words.next().and_then(|word| word.parse::<u64>().ok()) else {
            continue;
        };
        match words.next() {
            Some("passed") => tally.passed += number,
            // A test that hung or couldn't be started has not passed.
            Some("failed" | "timed" | "exec") => tally.failed += number,
            _ => {}
        }
    }
    tally
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counts(tally: Option<Tally>) -> Option<(u64, u64)> {
        tally.map(|tally| (tally.passed, tally.failed))
    }

    #[test]
    fn summaries_of_nextest() {
        for (line, expected) in [
            ("     Summary [   0.005s] 1 test run: 1 passed, 0 skipped", Some((1, 0))),
            (
                "     Summary [   1.2s] 9 tests run: 7 passed (2 slow), 2 failed, 3 skipped\n",
                Some((7, 2)),
            ),
            (
                "     Summary [   1.2s] 4/9 tests run: 1 passed, 2 timed out, 1 exec failed",
                Some((1, 3)),
            ),
            ("        PASS [   0.004s] xtask tests::summary", None),
            ("    test result: FAILED. 0 passed; 1 failed; 0 ignored", None),
        ] {
            assert_eq!(counts(nextest_summary(line)), expected, "{line}");
        }
    }

    #[test]
    fn summaries_of_cargo_test() {
        for (line, expected) in [
            (
                "test result: ok. 12 passed; 0 failed; 1 ignored; 0 measured; 0 filtered out",
                Some((12, 0)),
            ),
            ("test result: FAILED. 1 passed; 2 failed; 0 ignored", Some((1, 2))),
            ("test tests::result ... ok", None),
            ("3 passed, 0 failed", None),
        ] {
            assert_eq!(counts(libtest_summary(line)), expected, "{line}");
        }
    }

    #[test]
    fn a_stream_is_added_up() {
        let stream = "a\ntest result: ok. 1 passed; 0 failed\n\
                      test result: ok. 2 passed; 0 failed";
        let tally = echo(stream.as_bytes(), libtest_summary).unwrap();
        assert_eq!(tally, Tally { passed: 3, failed: 0 });
    }

    #[test]
    fn a_command_is_counted_whatever_its_end() {
        let mut command = Command::new("sh");
        command.args(["-c", "echo 'test result: FAILED. 4 passed; 1 failed'; exit 1"]);
        let mut tally = Tally::default();
        let python = Path::new("python");
        assert!(counted(&mut command, libtest_summary, python, &mut tally).is_err());
        assert_eq!(tally, Tally { passed: 4, failed: 1 });
    }
}
