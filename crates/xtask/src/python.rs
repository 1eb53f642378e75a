//! Private Python environments with exact packages.
//!
//! Each lies in a folder of its own at the root and is made anew whenever its requirements
//! change or its Python no longer runs.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::{debian, shell};

/// The variable that tells tests which Python holds the reference packages.
pub(crate) const VARIABLE: &str = "TURNBUCKLE_PYTHON";

/// What the gate needs.
pub(crate) const GATE: Environment =
    Environment { home: ".venv", requirements: "reference/requirements.txt" };

/// What the solver needs with which the benchmarks compare.
pub(crate) const PEER: Environment =
    Environment { home: ".venv-peer", requirements: "reference/peer-requirements.txt" };

const DEBIAN_PACKAGES: [&str; 2] = ["python3", "python3-venv"];

/// A folder that holds a Python and packages, and the file that names them; both below the
/// root.
pub(crate) struct Environment {
    home: &'static str,
    requirements: &'static str,
}

impl Environment {
    /// The environment's `python`, after making the environment if need be.
    pub(crate) fn ready(&self) -> Result<PathBuf> {
        let requirements = shell::root().join(self.requirements);
        let wanted = fs::read_to_string(&requirements)
            .with_context(|| format!("can't read {}", requirements.display()))?;
        self.pinned(&wanted)?;
        let home = shell::root().join(self.home);
        let stamp = home.join("requirements.stamp");
        let python = self.program("python");
        let fresh = fs::read_to_string(&stamp).is_ok_and(|have| have == wanted);
        if fresh && runs(&python) {
            println!("{} is up to date", self.home);
            return Ok(python);
        }
        create(&home)?;
        self.install(&python)?;
        fs::write(&stamp, &wanted)
            .with_context(|| format!("can't write {}", stamp.display()))?;
        Ok(python)
    }

    /// A program that the environment holds.
    pub(crate) fn program(&self, name: &str) -> PathBuf {
        let folder = if cfg!(windows) { "Scripts" } else { "bin" };
        let name = format!("{name}{}", std::env::consts::EXE_SUFFIX);
        shell::root().join(self.home).join(folder).join(name)
    }

    /// Fails unless each requirement names one exact version.
    fn pinned(&self, requirements: &str) -> Result<()> {
        for (index, line) in requirements.lines().enumerate() {
            let line = line.split('#').next().unwrap_or_default().trim();
            if !line.is_empty() && !line.contains("==") {
                bail!(
                    "{}:{}: `{line}` names no exact version; write `name==version`",
                    self.requirements,
                    index + 1
                );
            }
        }
        Ok(())
    }

    fn install(&self, python: &Path) -> Result<()> {
        let mut command = Command::new(python);
        command
            .args(["-m", "pip", "install", "--disable-pip-version-check", "--quiet"])
            .arg("--requirement")
            .arg(shell::root().join(self.requirements));
        shell::capture(&mut command).with_context(|| {
            format!(
                "can't install what {} names; is the Python package index reachable, and \
                 does each version exist there for this Python?",
                self.requirements
            )
        })?;
        Ok(())
    }
}

/// Whether this Python starts.
pub(crate) fn runs(python: &Path) -> bool {
    shell::output(Command::new(python).args(["-c", "pass"]))
        .is_ok_and(|output| output.status.success())
}

fn create(home: &Path) -> Result<()> {
    let Err(first) = try_create(home) else { return Ok(()) };
    if !debian::can_install() {
        return Err(first.context(advice(home)));
    }
    println!("{first:#}");
    debian::install(&DEBIAN_PACKAGES)?;
    try_create(home).with_context(|| advice(home))
}

fn advice(home: &Path) -> String {
    format!(
        "can't make the Python environment {}; on Debian, `apt-get install {}` gives what \
         it takes",
        home.display(),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_requirement_without_exact_version_is_refused() {
        assert!(GATE.pinned("# words >= 1\n\na==1.2 # why\n").is_ok());
        let error = GATE.pinned("a==1\nb>=2\n").unwrap_err().to_string();
        assert!(
            error.contains("requirements.txt:2") && error.contains("b>=2"),
            "{error}"
        );
    }

    #[test]
    fn the_committed_requirements_are_pinned() {
        for environment in [GATE, PEER] {
            let path = shell::root().join(environment.requirements);
            environment.pinned(&fs::read_to_string(path).unwrap()).unwrap();
        }
    }

    #[test]
    fn a_python_that_is_not_there_does_not_run() {
        assert!(!runs(Path::new("no/such/python")));
    }
}
