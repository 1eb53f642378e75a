//! The program, serving, as a process of its own.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

pub(crate) struct Served {
    child: Child,
    pub(crate) base: String,
    pub(crate) started: Duration,
    log: PathBuf,
}

impl Served {
    pub(crate) fn start(program: &Path, ledger: &Path, dir: &Path) -> Self {
        let (begun, log) = (Instant::now(), dir.join("requests.log"));
        let mut child = Command::new(program)
            .args(["serve", "--listen", "127.0.0.1:0", "--ledger"])
            .arg(ledger)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(File::create(&log).unwrap())
            .spawn()
            .expect("the program starts");
        let told = BufReader::new(child.stdout.take().unwrap());
        let line = "open this in a browser: ";
        let base = told.lines().map_while(Result::ok).find_map(|told| {
            Some(told.strip_prefix(line)?.trim_end_matches('/').to_owned())
        });
        let base = base.unwrap_or_else(|| {
            panic!("it serves nothing:\n{}", std::fs::read_to_string(&log).unwrap())
        });
        Self { child, base, started: begun.elapsed(), log }
    }

    /// Resident memory, in bytes.
    pub(crate) fn memory(&self) -> u64 {
        let status = format!("/proc/{}/status", self.child.id());
        let status = std::fs::read_to_string(status).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
        let kilobytes = line.and_then(|line| line.trim().strip_suffix("kB"));
        kilobytes.and_then(|text| text.trim().parse::<u64>().ok()).unwrap_or(0) * 1024
    }

    /// How far the log has come.
    pub(crate) fn mark(&self) -> usize {
        std::fs::read_to_string(&self.log).unwrap_or_default().len()
    }

    /// How many milliseconds each answer took within the server, by its own log, which stops
    /// before the answer is packed and sent: the path, and the time.
    pub(crate) fn answered(&self, mark: usize) -> Vec<(String, f64)> {
        let log = std::fs::read_to_string(&self.log).unwrap_or_default();
        let lines = log[mark..].lines().filter_map(|line| {
            let words: Vec<&str> = line.split_whitespace().collect();
            let [.., "GET", path, _status, took, "ms"] = words[..] else { return None };
            Some((path.to_owned(), took.parse().ok()?))
        });
        lines.collect()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
