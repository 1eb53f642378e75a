//! Running other programs, with errors that say which program, why, and what it printed.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use anyhow::{Context, Result, bail};

/// The root of the workspace.
pub(crate) fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).unwrap_or(here).to_owned()
}

/// `cargo` with these arguments, to be run at the root of the workspace.
pub(crate) fn cargo(arguments: &[&str]) -> Command {
    let mut command = Command::new("cargo");
    command.args(arguments).current_dir(root());
    command
}

/// Runs with the terminal as its output; anything but success is an error.
pub(crate) fn run(command: &mut Command) -> Result<()> {
    let line = shown(command);
    let status = command
        .status()
        .with_context(|| format!("can't start `{line}`: is it installed?"))?;
    if !status.success() {
        bail!("`{line}` ended with {status}; what it found stands above");
    }
    Ok(())
}

/// Runs and returns what it printed; the error carries what it complained of.
pub(crate) fn capture(command: &mut Command) -> Result<String> {
    let line = shown(command);
    let output = output(command)?;
    if !output.status.success() {
        let complaint = String::from_utf8_lossy(&output.stderr);
        bail!("`{line}` ended with {}:\n{}", output.status, complaint.trim());
    }
    String::from_utf8(output.stdout)
        .with_context(|| format!("`{line}` printed something that isn't UTF-8"))
}

/// Runs with both streams kept, whatever the outcome.
pub(crate) fn output(command: &mut Command) -> Result<Output> {
    let line = shown(command);
    command
        .stdin(Stdio::null())
        .output()
        .with_context(|| format!("can't start `{line}`: is it installed?"))
}

/// What `cargo metadata` says of the workspace. With `alone`, of its members only.
pub(crate) fn metadata(alone: bool) -> Result<serde_json::Value> {
    let mut command = cargo(&["metadata", "--format-version", "1"]);
    if alone {
        command.arg("--no-deps");
    }
    serde_json::from_str(&capture(&mut command)?)
        .context("`cargo metadata` printed something that isn't JSON")
}

/// The command as one would type it.
pub(crate) fn shown(command: &Command) -> String {
    let words = std::iter::once(command.get_program()).chain(command.get_args());
    words.map(|word| word.to_string_lossy()).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn root_holds_the_workspace_manifest() {
        let text = std::fs::read_to_string(root().join("Cargo.toml")).unwrap();
        assert!(text.contains("[workspace]"));
    }

    #[test]
    fn a_missing_program_is_named() {
        let error = run(&mut Command::new("no-such-program-here")).unwrap_err();
        assert!(error.to_string().contains("no-such-program-here"), "{error}");
    }

    #[test]
    fn a_failure_carries_what_was_printed() {
        let mut command = Command::new("sh");
        command.args(["-c", "echo because >&2; exit 3"]);
        let error = capture(&mut command).unwrap_err().to_string();
        assert!(error.contains("because") && error.contains('3'), "{error}");
    }
}
