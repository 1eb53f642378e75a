//! What the ledger writes, held against programs that share no code with it: its chain by
//! the format's own description with the BLAKE3 of Python's package, its cleaned pictures by
//! Pillow.

#![expect(clippy::unwrap_used, reason = "in a test, failing is the way to say so")]

use std::fs;
use std::path::Path;
use std::process::Command;

use ledger::{ATTACHMENT_LIMIT, Accepted, Batch, NewEntry, SqliteStore, Store};

/// What a script of `reference/` prints.
fn printed(script: &str, arguments: &[&Path]) -> String {
    let python = std::env::var_os("TURNBUCKLE_PYTHON")
        .expect("TURNBUCKLE_PYTHON names a Python that has the reference packages");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference");
    let mut command = Command::new(python);
    command.arg(folder.join(script)).args(arguments);
    let output = command.output().expect("TURNBUCKLE_PYTHON names a Python that runs");
    let wrong = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{wrong}");
    String::from_utf8(output.stdout).unwrap().trim().to_owned()
}

#[test]
#[ignore = "reference check: run by `cargo xtask ci`"]
fn the_chain_is_what_its_description_says() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    let mut store = SqliteStore::create(&path).unwrap();
    let entry = |n: u32| NewEntry {
        kind: format!("Änderung {n}"),
        version: n.wrapping_mul(1_000_000_007),
        body: vec![n as u8; n as usize * 37],
        at: "2031-01-14T09:30:00Z".into(),
        by: "A. Fitter".into(),
    };
    let mut last = 0;
    for n in 0..60 {
        let request = (n % 3 > 0).then(|| format!("request Å {n}").parse().unwrap());
        let batch =
            Batch { request, entries: (0..n % 4).map(|m| entry(n + m)).collect() };
        last = store.append_all(last, &[batch]).unwrap()[0].head.number;
    }
    let head = store.head().unwrap();
    drop(store);
    let told = printed("ledger_chain.py", &[&path]);
    assert_eq!(told, format!("{} {}", head.number, head.digest));
}

#[test]
#[ignore = "reference check: run by `cargo xtask ci`"]
fn a_cleaned_picture_shows_the_same_and_says_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    printed("pictures.py", &[Path::new("make"), folder.path()]);
    let mut cleaned = 0;
    for picture in fs::read_dir(folder.path()).unwrap() {
        let picture = picture.unwrap().path();
        let accepted = Accepted::new(&fs::read(&picture).unwrap(), ATTACHMENT_LIMIT);
        let accepted = accepted.unwrap_or_else(|why| panic!("{picture:?}: {why}"));
        assert!(accepted.removed() > 0, "{picture:?}");
        let mut name = picture.into_os_string();
        name.push(".clean");
        fs::write(name, accepted.content()).unwrap();
        cleaned += 1;
    }
    let compared = printed("pictures.py", &[Path::new("compare"), folder.path()]);
    assert_eq!((cleaned, compared.as_str()), (13, "13"));
}
