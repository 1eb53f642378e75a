//! The general-purpose solver with which the engine is compared, in an environment of its own.

use std::path::PathBuf;
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::{python, shell};

use super::call::Solver;

/// Names a Python that has the packages; none is made then.
const VARIABLE: &str = "TURNBUCKLE_PEER_PYTHON";

/// The peer, run by one of the scripts of `reference/`.
pub(super) fn solver(script: &str) -> Result<Solver> {
    let python = interpreter()?;
    let mut asked = Command::new(&python);
    asked.args(["-c", "import ortools; print(ortools.__version__)"]);
    let version = shell::capture(&mut asked).with_context(|| {
        format!("the Python `{}` can't run the peer's model", python.display())
    })?;
    let script = shell::root().join("reference").join(script);
    let command = [python, script].map(|path| path.to_string_lossy().into_owned());
    Ok(Solver {
        name: "CP-SAT".to_owned(),
        version: format!("OR-Tools {}", version.trim()),
        command: command.to_vec(),
        counts: true,
    })
}

fn interpreter() -> Result<PathBuf> {
    let Some(named) = std::env::var_os(VARIABLE) else {
        return python::PEER.ready();
    };
    let named = PathBuf::from(named);
    if !python::runs(&named) {
        bail!("{VARIABLE} names `{}`, which is no Python that runs", named.display());
    }
    Ok(named)
}
