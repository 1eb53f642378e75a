//! One call of a solver.

use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};

use super::child::{self, Leash, Usage};
use super::settings::Settings;

/// A solver and how it is called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Solver {
    /// Its name in tables.
    pub(super) name: String,
    /// Which version of it, in words.
    pub(super) version: String,
    /// The program and its first arguments.
    pub(super) command: Vec<String>,
    /// Whether it is told how much processor time it may spend and stops by itself, its own
    /// start not counted. One that is not told is interrupted.
    pub(super) counts: bool,
}

impl Solver {
    /// Runs it on one file and returns what it printed, and what that took.
    pub(super) fn call(
        &self,
        file: &Path,
        settings: &Settings,
    ) -> (Result<String>, Usage) {
        match self.start(file, settings) {
            Ok(begun) => begun,
            Err(error) => (Err(error), Usage::default()),
        }
    }

    fn start(&self, file: &Path, settings: &Settings) -> Result<(Result<String>, Usage)> {
        let (program, first) = self.command.split_first().context("no command")?;
        let mut command = Command::new(program);
        command.args(first).arg(file).args(self.arguments(settings));
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::inherit());
        let mut child =
            command.spawn().with_context(|| format!("can't start `{program}`"))?;
        let mut output = child.stdout.take().context("no standard output")?;
        let reader = std::thread::spawn(move || {
            let mut text = Vec::new();
            output.read_to_end(&mut text).map(|_| text)
        });
        let processor = settings.processor().filter(|_| !self.counts);
        let leash = Leash { patience: settings.patience(), processor };
        let (status, usage) = child::watch(&mut child, leash);
        let printed = status.and_then(|status| {
            let text =
                reader.join().ok().context("reading what was printed failed")??;
            // A solver may well end with 1 where it found nothing, and say so in its answer.
            let silent = text.iter().all(u8::is_ascii_whitespace);
            if silent || !matches!(status.code(), Some(0 | 1)) {
                bail!("the solver ended with {status}");
            }
            String::from_utf8(text).context("the solver's output isn't UTF-8")
        });
        Ok((printed, usage))
    }

    fn arguments(&self, settings: &Settings) -> Vec<String> {
        let told = format!("{}ms", settings.told().as_millis());
        let (threads, seed) = (settings.threads.to_string(), settings.seed.to_string());
        let words = ["--for", &told, "--threads", &threads, "--seed", &seed, "--json"];
        let mut words = words.map(str::to_owned).to_vec();
        if let Some(processor) = settings.processor().filter(|_| self.counts) {
            words.push("--processor".to_owned());
            words.push(format!("{}ms", processor.as_millis()));
        }
        words
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::super::settings::Clock;
    use super::*;

    fn shell(script: &str, clock: Clock, counts: bool) -> Result<String> {
        let command = ["sh", "-c", script].map(str::to_owned).to_vec();
        let (name, version) = (String::new(), String::new());
        let solver = Solver { name, version, command, counts };
        let limit = Duration::from_millis(5);
        let settings = Settings { limit, clock, threads: 2, seed: 7 };
        solver.call(Path::new("x.sm"), &settings).0
    }

    fn wall(script: &str) -> Result<String> {
        shell(script, Clock::Wall, false)
    }

    #[test]
    fn the_arguments_are_passed_on() {
        let printed = wall("echo $0 $@").unwrap();
        assert_eq!(printed.trim(), "x.sm --for 5ms --threads 2 --seed 7 --json");
        let printed = shell("echo $0 $@", Clock::Processor, true).unwrap();
        assert!(printed.contains("--processor 10ms"), "{printed}");
    }

    #[test]
    fn long_output_is_read_whole() {
        let printed = wall("head -c 300000 /dev/zero | tr '\\0' x").unwrap();
        assert_eq!(printed.len(), 300_000);
    }

    #[test]
    fn an_answer_counts_though_the_solver_found_nothing() {
        assert_eq!(wall("echo none; exit 1").unwrap(), "none\n");
    }

    #[test]
    fn failure_is_told() {
        assert!(wall("echo some; exit 4").unwrap_err().to_string().contains('4'));
        assert!(wall("exit 1").unwrap_err().to_string().contains('1'));
        assert!(wall("echo some; kill -9 $$").is_err());
        let command = vec!["no/such/solver".to_owned()];
        let (name, version) = (String::new(), String::new());
        let solver = Solver { name, version, command, counts: false };
        let limit = Duration::from_millis(5);
        let settings = Settings { limit, clock: Clock::Wall, threads: 1, seed: 1 };
        let error = solver.call(Path::new("x"), &settings).0.unwrap_err();
        assert!(error.to_string().contains("no/such/solver"));
    }
}
