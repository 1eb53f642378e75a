//! The record on the command line: acts that are kept and acts that are refused, what the
//! record says, and bundles that prove it elsewhere.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

mod acts;
mod plans;
mod proofs;
mod sheets;
mod together;

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::{Value, json};
use tempfile::TempDir;

const EXAMPLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");

pub(crate) fn run(dir: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
    command.current_dir(dir).args(arguments).output().expect("the program starts")
}

pub(crate) fn said(output: &Output) -> (String, String) {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (text(&output.stdout), text(&output.stderr))
}

/// Runs what must go well, and gives what was printed.
pub(crate) fn well(dir: &Path, arguments: &[&str]) -> String {
    let output = run(dir, arguments);
    let (out, wrong) = said(&output);
    assert!(output.status.success(), "{arguments:?}\n{out}\n{wrong}");
    out
}

/// Runs what must be refused, and gives what was said.
pub(crate) fn refused(dir: &Path, arguments: &[&str]) -> String {
    let output = run(dir, arguments);
    let (out, wrong) = said(&output);
    assert_eq!(output.status.code(), Some(1), "{arguments:?}\n{out}\n{wrong}");
    assert!(!wrong.contains("panicked"), "{wrong}");
    format!("{out}{wrong}")
}

/// Acts of one person, in one file.
pub(crate) fn acts(dir: &Path, by: &str, acts: &Value) -> String {
    fs::write(dir.join("acts.json"), acts.to_string()).unwrap();
    well(dir, &["act", "--file", "acts.json", "--by", by])
}

pub(crate) fn grant(name: &str, person: &str, power: &str) -> Value {
    json!({
        "act": "grant", "authority": name, "person": person, "power": power,
        "reference": "invented approval 1", "from": "2020-01-01",
    })
}

/// A ledger with the example in it, and people who may do their work.
pub(crate) fn workshop() -> TempDir {
    let dir = TempDir::new().unwrap();
    well(dir.path(), &["load", EXAMPLE]);
    acts(dir.path(), "OP", &grant("A-1", "OP", "appoint"));
    acts(
        dir.path(),
        "OP",
        &json!([
            grant("A-2", "TR", "plan"),
            grant("A-3", "TR", "certify"),
            grant("A-4", "BK", "inspect"),
            grant("A-5", "MS", "inspect"),
            grant("A-6", "MS", "classify"),
            grant("A-7", "JC", "stores"),
            grant("A-8", "IV", "release"),
        ]),
    );
    dir
}

pub(crate) fn card() -> Value {
    let step = |id: &str, critical: bool| {
        json!({
            "id": id, "text": "do it", "work": "task", "data": "WI-7", "revision": "2",
            "critical": critical, "independent": critical,
        })
    };
    json!({
        "act": "issue-card", "job": "ON:PROP-P", "title": "Fit the port propeller",
        "item": "PROP-P", "steps": [step("10", false), step("20", true)],
    })
}

/// The small folder to start from in a ledger, and `jo` with every authority, given by `sam`.
pub(crate) fn small() -> TempDir {
    let dir = TempDir::new().unwrap();
    well(dir.path(), &["new", "folder"]);
    well(dir.path(), &["check", "folder"]);
    well(dir.path(), &["load", "folder"]);
    acts(dir.path(), "jo", &grant("A-1", "sam", "appoint"));
    let powers =
        ["plan", "certify", "inspect", "classify", "engineer", "stores", "release"];
    let each = powers.iter().enumerate();
    let each: Vec<Value> =
        each.map(|(at, power)| grant(&format!("B-{at}"), "jo", power)).collect();
    acts(dir.path(), "sam", &json!(each));
    dir
}

/// What was printed as JSON, whatever the end.
pub(crate) fn json_of(output: &Output) -> Value {
    let (out, wrong) = said(output);
    let line = out.lines().next().unwrap_or_else(|| panic!("nothing: {wrong}"));
    serde_json::from_str(line).unwrap()
}
