//! Scripts of the folder `reference`, for tests.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

/// A script of the folder `reference`, to be run by the Python that has what it needs.
pub(crate) fn script(name: &str) -> Command {
    let python = std::env::var_os("TURNBUCKLE_PYTHON")
        .expect("TURNBUCKLE_PYTHON names a Python that has the reference libraries");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference");
    let mut command = Command::new(python);
    command.arg(folder.join(name));
    command
}

/// The lines of JSON that a command prints, which gets a text to read.
pub(crate) fn lines(mut command: Command, text: &str) -> Vec<Value> {
    let pipes =
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = pipes.spawn().expect("TURNBUCKLE_PYTHON names a Python that runs");
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let lines = String::from_utf8(output.stdout).unwrap();
    lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}
