//! The general-purpose solver with which the engine is compared, in an environment of its own.

use std::fmt;
use std::path::PathBuf;
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::{python, shell};

use super::call::Solver;

/// Names a Python that has the packages; none is made then.
const VARIABLE: &str = "TURNBUCKLE_PEER_PYTHON";

/// The peer, ready to be called.
pub(super) struct Peer {
    python: PathBuf,
    version: String,
}

impl Peer {
    /// Makes its environment if need be, and asks for its version.
    pub(super) fn ready() -> Result<Self> {
        let python = interpreter()?;
        let mut asked = Command::new(&python);
        asked.args(["-c", "import ortools; print(ortools.__version__)"]);
        let version = shell::capture(&mut asked).with_context(|| {
            format!("the Python `{}` can't run the peer's model", python.display())
        })?;
        Ok(Self { python, version: format!("OR-Tools {}", version.trim()) })
    }

    /// It, run by one of the scripts of `reference/`, with the script's own arguments.
    pub(super) fn solver(&self, script: &[&str]) -> Solver {
        let folder = shell::root().join("reference");
        let words = script.iter().enumerate().map(|(place, word)| match place {
            0 => folder.join(word).to_string_lossy().into_owned(),
            _ => (*word).to_owned(),
        });
        let python = self.python.to_string_lossy().into_owned();
        Solver {
            name: "CP-SAT".to_owned(),
            version: self.version.clone(),
            command: std::iter::once(python).chain(words).collect(),
            counts: true,
        }
    }
}

impl fmt::Display for Peer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "CP-SAT, {}: {}", self.version, self.python.display())
    }
}

fn interpreter() -> Result<PathBuf> {
    let Some(named) = std::env::var_os(VARIABLE) else {
        return python::PEER.ready();
    };
    let named = PathBuf::from(named);
    if !python::runs(&named) {
        bail!(
            "{VARIABLE} names `{}`, which is no Python that runs; without it, one is made",
            named.display()
        );
    }
    Ok(named)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_script_keeps_its_arguments() {
        let peer = Peer { python: PathBuf::from("py"), version: "1".to_owned() };
        let command = peer.solver(&["model.py", "--exact"]).command;
        let script = shell::root().join("reference").join("model.py");
        assert_eq!(command, ["py", &script.to_string_lossy(), "--exact"]);
    }

    #[test]
    fn the_scripts_are_there() {
        for script in ["peer_clock.py", "peer_published.py", "peer_problem.py"] {
            assert!(shell::root().join("reference").join(script).is_file(), "{script}");
        }
    }
}
