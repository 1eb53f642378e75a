//! On which machine, on which day, and which state of the sources.

use std::fs;
use std::process::Command;

use crate::shell;

/// Processor, number of processors and memory, as far as the system tells.
pub(super) fn described() -> String {
    let model = line("/proc/cpuinfo", "model name");
    let model = model.unwrap_or_else(|| std::env::consts::ARCH.to_owned());
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let memory = line("/proc/meminfo", "MemTotal").and_then(|line| {
        let kilobytes: f64 = line.split_whitespace().next()?.parse().ok()?;
        Some(format!(", {:.0} GB", kilobytes / 1024.0 / 1024.0))
    });
    let system = std::env::consts::OS;
    format!("{model}, {cores} processors{}, {system}", memory.unwrap_or_default())
}

/// What stands behind a label and a colon in a file of the system.
fn line(file: &str, label: &str) -> Option<String> {
    let text = fs::read_to_string(file).ok()?;
    let line = text.lines().find(|line| line.starts_with(label))?;
    let (_, value) = line.split_once(':')?;
    Some(value.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// Today by universal time, or what can be said instead.
pub(crate) fn today() -> String {
    let date = shell::capture(Command::new("date").args(["-u", "+%Y-%m-%d"]));
    date.map_or_else(|_| "day unknown".to_owned(), |date| date.trim().to_owned())
}

/// The commit that is checked out, and whether files differ from it.
pub(crate) fn commit() -> String {
    let git = |arguments: &[&str]| {
        shell::capture(Command::new("git").args(arguments).current_dir(shell::root()))
    };
    let Ok(commit) = git(&["rev-parse", "--short=10", "HEAD"]) else {
        return "commit unknown".to_owned();
    };
    let changes = git(&["status", "--porcelain", "--untracked-files=no"]);
    let clean = changes.is_ok_and(|list| list.trim().is_empty());
    let mark = if clean { "" } else { " with changes" };
    format!("commit {}{mark}", commit.trim())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn something_is_said() {
        assert!(described().contains("processors"));
        assert!(!today().is_empty());
        assert!(commit().starts_with("commit"));
        assert_eq!(line("no/such/file", "x"), None);
    }
}
