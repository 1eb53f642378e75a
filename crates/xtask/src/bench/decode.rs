//! The benchmark program of `search`, that solves one made-up problem with a budget of
//! steps: run under a clock, or under a tool that counts instructions.

use std::collections::BTreeSet;
use std::fs;
use std::process::{Command, Stdio};
use std::time::Duration;

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::shell;

use super::child::{self, Leash, Usage};

/// The built program.
pub(super) struct Decode {
    program: String,
}

/// What callgrind counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Profile {
    /// All instructions.
    pub(super) total: f64,
    /// Instructions to decode one schedule, on average; none if no decoder was called, or
    /// none by the names known here.
    pub(super) decoded: Option<f64>,
}

/// The functions that decode one schedule: for problems with every feature, and for plain
/// ones.
const DECODERS: [&str; 3] = [
    "search::decode::Decoder::decode_while",
    "search::board::Board::build",
    "search::plain::Sgs::decode",
];

/// The longest that one run may take.
const PATIENCE: Duration = Duration::from_mins(30);

impl Decode {
    /// Builds it.
    pub(super) fn build() -> Result<Self> {
        let arguments = ["bench", "--package", "search", "--bench", "decode", "--no-run"];
        let mut command = shell::cargo(&arguments);
        command.arg("--message-format=json").stderr(Stdio::inherit());
        let output = command.output().context("can't start `cargo`")?;
        if !output.status.success() {
            bail!("`{}` failed; what it found stands above", shell::shown(&command));
        }
        let text = String::from_utf8_lossy(&output.stdout);
        let program =
            executable(&text).context("`cargo` names no program of `decode`")?;
        Ok(Self { program })
    }

    /// Runs it under a clock.
    pub(super) fn watched(&self, words: &[&str]) -> Result<Usage> {
        let mut command = Command::new(&self.program);
        command.args(words).stdout(Stdio::null());
        let line = shell::shown(&command);
        let mut child =
            command.spawn().with_context(|| format!("can't start `{line}`"))?;
        let leash = Leash { patience: PATIENCE, processor: None };
        let (ended, usage) = child::watch(&mut child, leash);
        let status = ended.with_context(|| format!("`{line}` did not end"))?;
        if !status.success() {
            bail!("`{line}` ended with {status}; its reason stands above");
        }
        Ok(usage)
    }

    /// The processor seconds of a run.
    pub(super) fn processor(&self, words: &[&str]) -> Result<f64> {
        let seconds = self.watched(words)?.processor;
        seconds.context("the system does not tell processor time")
    }

    /// Runs it under callgrind.
    pub(super) fn profile(&self, words: &[&str]) -> Result<Profile> {
        let name = format!("turnbuckle-callgrind-{}.out", std::process::id());
        let file = std::env::temp_dir().join(name);
        let mut command = Command::new("valgrind");
        command.args(["--tool=callgrind", "--quiet"]);
        command.arg(format!("--callgrind-out-file={}", file.display()));
        command.arg(&self.program).args(words);
        shell::capture(&mut command)?;
        let text = fs::read_to_string(&file)
            .with_context(|| format!("callgrind left no {}", file.display()))?;
        fs::remove_file(&file)?;
        let total = total(&text).context("callgrind's file has no total")?;
        Ok(Profile { total, decoded: each_call(&text, &DECODERS) })
    }
}

/// Which valgrind there is; a message that helps where there is none.
pub(super) fn valgrind() -> Result<String> {
    let version = shell::capture(Command::new("valgrind").arg("--version"));
    let version = version.context(
        "instructions are counted by valgrind, which does not run here; on Debian, \
         `apt-get install valgrind` gives it",
    )?;
    Ok(version.trim().to_owned())
}

/// The program among the messages of `cargo`, one JSON object a line.
fn executable(messages: &str) -> Option<String> {
    let of_line = |line: &str| {
        let message: Value = serde_json::from_str(line).ok()?;
        let found = message["target"]["name"] == "decode";
        message["executable"].as_str().filter(|_| found).map(str::to_owned)
    };
    messages.lines().find_map(of_line)
}

fn total(text: &str) -> Option<f64> {
    let line = text.lines().find_map(|line| {
        line.strip_prefix("totals:").or_else(|| line.strip_prefix("summary:"))
    })?;
    line.split_whitespace().next()?.parse().ok()
}

/// Instructions of each call of some functions, with all that they call in turn.
///
/// Callgrind's file gives a function a number where it first names it: `cfn=(7) name`, then
/// `cfn=(7)`. Behind it stand `calls=COUNT ..` and, on the next line, a position and the
/// instructions of all these calls (Valgrind's manual, "Callgrind Format Specification").
fn each_call(text: &str, functions: &[&str]) -> Option<f64> {
    let mut wanted = BTreeSet::new();
    let (mut calls, mut cost) = (0.0, 0.0);
    let mut here = false;
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if let Some((_, function)) = line.split_once("fn=(") {
            let (number, name) = function.split_once(')')?;
            if functions.contains(&name.trim()) {
                wanted.insert(number);
            }
            if line.starts_with("cfn=") {
                here = wanted.contains(number);
            }
        } else if let Some(counts) = line.strip_prefix("calls=")
            && here
        {
            calls += counts.split_whitespace().next()?.parse::<f64>().ok()?;
            cost += lines.next()?.split_whitespace().nth(1)?.parse::<f64>().ok()?;
        }
    }
    (calls > 0.0).then(|| cost / calls)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_program_is_found_among_messages() {
        let messages = "\
            {\"target\":{\"name\":\"search\"},\"executable\":null}\n\
            no json\n\
            {\"target\":{\"name\":\"decode\"},\"executable\":\"/t/decode-1\"}\n";
        assert_eq!(executable(messages).as_deref(), Some("/t/decode-1"));
        assert_eq!(executable(""), None);
    }

    #[test]
    fn the_cost_of_a_call() {
        let text = "fn=(1) main\n3 10\ncfn=(2) decode\ncalls=2 40\n4 100\n\
                    cfn=(3) other\ncalls=9 1\n5 900\n\
                    fn=(4) again\n+1 5\ncfi=(8) f.rs\ncfn=(2)\ncalls=1 40\n* 50\n\
                    fn=(2)\n1 149\ncfn=(3)\ncalls=1 1\n+2 1\n";
        assert_eq!(each_call(text, &["decode", "unknown"]), Some(50.0));
        assert_eq!(each_call(text, &["other"]), Some(90.1));
        assert_eq!(each_call(text, &["unknown"]), None);
    }

    #[test]
    fn the_total_of_callgrind() {
        assert_eq!(
            total("version: 1\nevents: Ir\nsummary: 123456\n1 2\n"),
            Some(123_456.0)
        );
        assert_eq!(total("fn=(1)\n0 5\ntotals: 77 3\n"), Some(77.0));
        assert_eq!(total("events: Ir\n"), None);
    }
}
