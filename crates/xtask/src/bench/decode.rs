//! The benchmark program of `search`, that solves one made-up problem with a budget of
//! steps: run under a clock, or under a tool that counts instructions.

use std::fs;
use std::process::{Command, Stdio};
use std::time::Duration;

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::shell;

use super::child::{self, Leash, Usage};

/// What one run measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Measure {
    /// Instructions, by callgrind: the same on a busy machine.
    Instructions,
    /// Processor nanoseconds.
    Processor,
}

/// The built program.
pub(super) struct Decode {
    program: String,
}

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

    /// Runs it under one of the measures.
    pub(super) fn measured(&self, words: &[&str], measure: Measure) -> Result<f64> {
        match measure {
            Measure::Instructions => self.instructions(words),
            Measure::Processor => {
                let seconds = self.watched(words)?.processor;
                let seconds =
                    seconds.context("the system does not tell processor time")?;
                Ok(seconds * 1e9)
            }
        }
    }

    fn instructions(&self, words: &[&str]) -> Result<f64> {
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
        total(&text).context("callgrind's file has no total")
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
    fn the_total_of_callgrind() {
        assert_eq!(
            total("version: 1\nevents: Ir\nsummary: 123456\n1 2\n"),
            Some(123_456.0)
        );
        assert_eq!(total("fn=(1)\n0 5\ntotals: 77 3\n"), Some(77.0));
        assert_eq!(total("events: Ir\n"), None);
    }
}
