//! One call of the solver, ended by force if it doesn't end by itself.

use std::fmt;
use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};

/// How the solver is called.
pub(super) struct Call {
    /// The program and its first arguments.
    pub(super) command: Vec<String>,
    /// The time limit as it is passed on.
    pub(super) limit: String,
    /// The same as a duration.
    pub(super) duration: Duration,
    pub(super) threads: u64,
    pub(super) seed: u64,
}

/// Beyond its limit, a solver gets as much again and this.
const GRACE: Duration = Duration::from_secs(10);

impl Call {
    /// Runs it on one file and returns what it printed.
    pub(super) fn make(&self, file: &Path) -> Result<String> {
        let (program, first) = self.command.split_first().context("no command")?;
        let mut command = Command::new(program);
        command.args(first).arg(file).args(["--for", &self.limit]);
        command.args(["--threads", &self.threads.to_string()]);
        command.args(["--seed", &self.seed.to_string(), "--json"]);
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::inherit());
        let mut child =
            command.spawn().with_context(|| format!("can't start `{program}`"))?;
        let mut output = child.stdout.take().context("no standard output")?;
        let reader = std::thread::spawn(move || {
            let mut text = Vec::new();
            output.read_to_end(&mut text).map(|_| text)
        });
        let status = wait(&mut child, self.duration * 2 + GRACE)?;
        if !status.success() {
            bail!("the solver ended with {status}");
        }
        let text = reader.join().ok().context("reading the solver's output failed")??;
        String::from_utf8(text).context("the solver's output isn't UTF-8")
    }
}

impl fmt::Display for Call {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} FILE --for {} --threads {} --seed {} --json",
            self.command.join(" "),
            self.limit,
            self.threads,
            self.seed
        )
    }
}

fn wait(child: &mut Child, patience: Duration) -> Result<std::process::ExitStatus> {
    let begun = Instant::now();
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(status);
        }
        if begun.elapsed() > patience {
            child.kill()?;
            child.wait()?;
            bail!("the solver was stopped after {:.1} s", patience.as_secs_f64());
        }
        std::thread::sleep(Duration::from_millis(2));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shell(script: &str) -> Result<String> {
        let command = ["sh", "-c", script].map(str::to_owned).to_vec();
        let duration = Duration::from_millis(5);
        let call =
            Call { command, limit: "5ms".to_owned(), duration, threads: 2, seed: 7 };
        call.make(Path::new("x.sm"))
    }

    #[test]
    fn the_arguments_are_passed_on() {
        let printed = shell("echo $0 $@").unwrap();
        assert_eq!(printed.trim(), "x.sm --for 5ms --threads 2 --seed 7 --json");
    }

    #[test]
    fn long_output_is_read_whole() {
        let printed = shell("head -c 300000 /dev/zero | tr '\\0' x").unwrap();
        assert_eq!(printed.len(), 300_000);
    }

    #[test]
    fn failure_is_told() {
        assert!(shell("exit 4").unwrap_err().to_string().contains('4'));
    }

    #[test]
    fn a_child_that_does_not_end_is_ended() {
        let mut child = Command::new("sleep").arg("600").spawn().unwrap();
        let error = wait(&mut child, Duration::from_millis(20)).unwrap_err();
        assert!(error.to_string().contains("stopped"), "{error}");
        assert!(child.try_wait().unwrap().is_some());
    }
}
