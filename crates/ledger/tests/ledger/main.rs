//! The ledger seen from outside: used as it is meant to be, tampered with, and killed.

#![expect(clippy::unwrap_used, reason = "a helper that fails must fail its test")]

mod backup;
mod crash;
mod format;
mod open;
mod tamper;
mod tamper_at_random;
mod using;

use std::ops::ControlFlow;
use std::path::Path;

use ledger::{Entry, Head, LedgerError, LedgerId, NewEntry, SqliteStore, Store};

const ID: LedgerId = LedgerId::from_bytes(*b"test of a ledger");

/// An entry whose every field depends on `n`.
fn entry(n: u64) -> NewEntry {
    NewEntry {
        kind: format!("kind {}", n % 5),
        version: (n % 3) as u32,
        body: format!("{{\"n\":{n}}}").into_bytes(),
        at: format!("2031-01-{:02}T09:30:00Z", n % 28 + 1),
        by: format!("Fitter {}", n % 7),
    }
}

/// Creates a ledger with batches of the given sizes, and returns its heads after each.
fn create(path: &Path, batches: &[u64]) -> Vec<Head> {
    let mut store = SqliteStore::create_with_id(path, ID).unwrap();
    let mut number = 0;
    batches
        .iter()
        .map(|&size| {
            let batch: Vec<NewEntry> = (number + 1..=number + size).map(entry).collect();
            let head = store.append(number, &batch).unwrap();
            number = head.number;
            head
        })
        .collect()
}

fn read_all(store: &SqliteStore, after: u64) -> Result<Vec<Entry>, LedgerError> {
    let mut entries = Vec::new();
    store.read(after, &mut |entry| {
        entries.push(entry);
        ControlFlow::Continue(())
    })?;
    Ok(entries)
}

/// The bytes of a ledger with such batches, and its heads, for tests that need many copies.
fn image(batches: &[u64]) -> (Vec<u8>, Vec<Head>) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    let heads = create(&path, batches);
    (std::fs::read(path).unwrap(), heads)
}

/// The database behind the ledger's back, with its constraints off.
fn raw(path: &Path) -> rusqlite::Connection {
    let conn = rusqlite::Connection::open(path).unwrap();
    conn.pragma_update(None, "ignore_check_constraints", true).unwrap();
    conn.pragma_update(None, "synchronous", "OFF").unwrap();
    conn
}

/// The names of the files in a folder.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|found| found.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}
