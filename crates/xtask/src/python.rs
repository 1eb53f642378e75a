//! A private Python environment with the exact packages that the gate needs.
//!
//! It lies in `.venv` at the root and is made anew whenever `reference/requirements.txt`
//! changes or its Python no longer runs.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::shell;

/// The variable that tells tests which Python holds the reference packages.
pub(crate) const VARIABLE: &str = "TURNBUCKLE_PYTHON";

const REQUIREMENTS: &str = "reference/requirements.txt";
const DEBIAN_PACKAGES: [&str; 2] = ["python3", "python3-venv"];

/// The environment's `python`, after making the environment if need be.
pub(crate) fn ready() -> Result<PathBuf> {
    let root = shell::root();
    let requirements = root.join(REQUIREMENTS);
    let wanted = fs::read_to_string(&requirements)
        .with_context(|| format!("can't read {}", requirements.display()))?;
    pinned(&wanted)?;
    let home = root.join(".venv");
    let stamp = home.join("requirements.stamp");
    let python = program("python");
    let fresh = fs::read_to_string(&stamp).is_ok_and(|have| have == wanted);
    if fresh && runs(&python) {
        println!(".venv is up to date");
        return Ok(python);
    }
    create(&home)?;
    install(&python, &requirements)?;
    fs::write(&stamp, &wanted)
        .with_context(|| format!("can't write {}", stamp.display()))?;
    Ok(python)
}

/// A program that the environment holds.
pub(crate) fn program(name: &str) -> PathBuf {
    let folder = if cfg!(windows) { "Scripts" } else { "bin" };
    let name = format!("{name}{}", std::env::consts::EXE_SUFFIX);
    shell::root().join(".venv").join(folder).join(name)
}

/// Fails unless each requirement names one exact version.
fn pinned(requirements: &str) -> Result<()> {
    for (index, line) in requirements.lines().enumerate() {
        let line = line.split('#').next().unwrap_or_default().trim();
        if !line.is_empty() && !line.contains("==") {
            bail!(
                "{REQUIREMENTS}:{}: `{line}` names no exact version; write `name==version`",
                index + 1
            );
        }
    }
    Ok(())
}

fn runs(python: &Path) -> bool {
    shell::output(Command::new(python).args(["-c", "pass"]))
        .is_ok_and(|output| output.status.success())
}

fn create(home: &Path) -> Result<()> {
    let Err(first) = try_create(home) else { return Ok(()) };
    if !debian_as_root() {
        return Err(first.context(advice()));
    }
    println!("{first:#}");
    println!("installing {} with apt-get", DEBIAN_PACKAGES.join(" and "));
    apt(&["update", "--quiet"])?;
    let mut install = vec!["install", "--yes", "--quiet", "--no-install-recommends"];
    install.extend(DEBIAN_PACKAGES);
    apt(&install)?;
    try_create(home).with_context(advice)
}

fn advice() -> String {
    format!(
        "can't make the Python environment .venv; on Debian, `apt-get install {}` gives what \
         it takes",
        DEBIAN_PACKAGES.join(" ")
    )
}

fn try_create(home: &Path) -> Result<()> {
    // A half-made environment has a Python without pip, which no later step can mend.
    if home.exists() {
        fs::remove_dir_all(home)
            .with_context(|| format!("can't remove {}", home.display()))?;
    }
    shell::capture(Command::new("python3").args(["-m", "venv"]).arg(home))?;
    Ok(())
}

fn debian_as_root() -> bool {
    let id = shell::capture(Command::new("id").arg("-u"));
    id.is_ok_and(|id| id.trim() == "0")
        && shell::capture(Command::new("apt-get").arg("--version")).is_ok()
}

fn apt(arguments: &[&str]) -> Result<()> {
    let mut command = Command::new("apt-get");
    command.args(arguments).env("DEBIAN_FRONTEND", "noninteractive");
    shell::capture(&mut command)
        .context("can't install Debian packages; is the archive reachable?")?;
    Ok(())
}

fn install(python: &Path, requirements: &Path) -> Result<()> {
    let mut command = Command::new(python);
    command
        .args(["-m", "pip", "install", "--disable-pip-version-check", "--quiet"])
        .arg("--requirement")
        .arg(requirements);
    shell::capture(&mut command).with_context(|| {
        format!(
            "can't install what {REQUIREMENTS} names; is the Python package index reachable, \
             and does each version exist there for this Python?"
        )
    })?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_requirement_without_exact_version_is_refused() {
        assert!(pinned("# words >= 1\n\na==1.2 # why\n").is_ok());
        let error = pinned("a==1\nb>=2\n").unwrap_err().to_string();
        assert!(
            error.contains("requirements.txt:2") && error.contains("b>=2"),
            "{error}"
        );
    }

    #[test]
    fn the_committed_requirements_are_pinned() {
        let path = shell::root().join(REQUIREMENTS);
        pinned(&fs::read_to_string(path).unwrap()).unwrap();
    }

    #[test]
    fn a_python_that_is_not_there_does_not_run() {
        assert!(!runs(Path::new("no/such/python")));
    }
}
