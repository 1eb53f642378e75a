//! The same entries in a plain table, without a chain and without a check, synced in the
//! same way: what the disk and SQLite cost by themselves.

use std::path::Path;
use std::time::{Duration, Instant};

use ledger::NewEntry;
use rusqlite::{Connection, params};

use crate::{BATCH, Outcome, SINGLES, Waits, entry};

pub(crate) fn measure(path: &Path, entries: u64) -> Outcome<(Duration, Waits)> {
    let mut conn = Connection::open(path)?;
    conn.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(()))?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.execute_batch(
        "CREATE TABLE entries (
            number BIGINT NOT NULL PRIMARY KEY, recorded_at TEXT, recorded_by TEXT,
            kind TEXT, version BIGINT, body BLOB
        )",
    )?;
    let begun = Instant::now();
    let mut last = 0;
    while last < entries {
        let batch: Vec<NewEntry> =
            (last + 1..=(last + BATCH).min(entries)).map(entry).collect();
        last = insert(&mut conn, last, &batch)?;
    }
    let appended = begun.elapsed();
    let mut waits = Vec::new();
    for n in 0..SINGLES {
        let batch = [entry(n)];
        let begun = Instant::now();
        last = insert(&mut conn, last, &batch)?;
        waits.push(begun.elapsed());
    }
    Ok((appended, Waits::new(waits)))
}

fn insert(conn: &mut Connection, last: u64, batch: &[NewEntry]) -> Outcome<u64> {
    let transaction = conn.transaction()?;
    {
        let mut statement = transaction
            .prepare_cached("INSERT INTO entries VALUES ($1, $2, $3, $4, $5, $6)")?;
        for (number, entry) in (last + 1..).zip(batch) {
            statement.execute(params![
                number as i64,
                entry.at,
                entry.by,
                entry.kind,
                entry.version,
                entry.body,
            ])?;
        }
    }
    transaction.commit()?;
    Ok(last + batch.len() as u64)
}
