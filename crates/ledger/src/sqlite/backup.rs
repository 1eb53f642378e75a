//! A verified copy while the ledger is in use.

use std::fs;
use std::path::Path;
use std::thread;
use std::time::Duration;

use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};

use super::{SqliteStore, files, meta, open, verify};
use crate::entry::Head;
use crate::error::{LedgerError, Result};
use crate::store::Store;

/// Pause before another try where SQLite is busy, and how often it is tried.
const PAUSE: Duration = Duration::from_millis(50);
const TRIES: u32 = 200;

pub(super) fn backup(store: &SqliteStore, path: &Path) -> Result<Head> {
    let file = files::resolve_new(path)?;
    files::refuse_existing(&file)?;
    let lock = files::lock(&file)?;
    let written = write(store, &file);
    // Nobody writes to a backup, so nothing is left beside it. Where the lock file can't be
    // removed, it does no harm.
    drop(lock);
    fs::remove_file(files::beside(&file, ".lock")).ok();
    written
}

fn write(store: &SqliteStore, file: &Path) -> Result<Head> {
    files::refuse_existing(file)?;
    let unfinished = files::beside(file, ".new");
    files::remove_unfinished(&unfinished)?;
    let written = copy(store, &unfinished).and_then(|()| check(store, &unfinished, file));
    let head = match written {
        Ok(head) => head,
        Err(error) => {
            // The error that is told is the one that came first.
            files::remove_unfinished(&unfinished).ok();
            return Err(error);
        }
    };
    files::place(&unfinished, file)?;
    Ok(head)
}

fn copy(store: &SqliteStore, to: &Path) -> Result<()> {
    let err = |source| LedgerError::sqlite(to, "write the backup", source);
    let mut target = Connection::open(to).map_err(err)?;
    let backup = Backup::new(&store.conn, &mut target).map_err(err)?;
    let mut tries = 0;
    // All pages in one step: one snapshot, which in write-ahead mode holds nobody up.
    while backup.step(-1).map_err(err)? != StepResult::Done {
        tries += 1;
        if tries == TRIES {
            return Err(LedgerError::InUse { file: store.file.clone() });
        }
        thread::sleep(PAUSE);
    }
    drop(backup);
    open::close(target, to)
}

fn check(store: &SqliteStore, unfinished: &Path, file: &Path) -> Result<Head> {
    let conn = open::open_private(unfinished)?;
    // The writer is this store or may have moved on since: the copy is held to the head
    // that it carries, and to the ledger's id.
    let copied = meta(&conn, file)?;
    let verdict = verify::verify(&conn, file, None)?;
    open::close(conn, unfinished)?;
    if let Some(fault) = verdict.faults.into_iter().next() {
        return Err(LedgerError::damaged(file, fault));
    }
    if copied.id != store.id()? {
        let why = "the copy has another id than the ledger".to_owned();
        return Err(LedgerError::NotALedger { file: file.to_owned(), why });
    }
    Ok(copied.head)
}
