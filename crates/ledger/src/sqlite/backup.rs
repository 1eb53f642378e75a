//! A verified copy while the ledger is in use.

use std::fs;
use std::path::Path;
use std::thread;
use std::time::Duration;

use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};

use super::{SqliteStore, files, open};
use crate::db::Database;
use crate::engine::{self, copy};
use crate::entry::Head;
use crate::error::{LedgerError, Result};
use crate::store::Store;

/// Pause before another try where SQLite is busy, and how often it is tried.
const PAUSE: Duration = Duration::from_millis(50);
const TRIES: u32 = 200;

/// One in so many pages of a copy may be empty.
const WORTH: i64 = 20;

pub(super) fn backup(store: &SqliteStore, path: &Path) -> Result<Head> {
    write(path, |unfinished, file| verified_copy(store, unfinished, file))
}

/// Writes a ledger of another database to a file.
pub(crate) fn backup_of(db: &(impl Database + Store), path: &Path) -> Result<Head> {
    write(path, |unfinished, file| {
        let written = open::make(unfinished, Some(db.id()?), |new| copy::copy(db, new))
            .and_then(|()| check(unfinished, file, |copied| Ok(copied.id == db.id()?)));
        if written.is_err() {
            files::remove_unfinished(unfinished).ok();
        }
        written
    })
}

fn write(path: &Path, make: impl FnOnce(&Path, &Path) -> Result<Head>) -> Result<Head> {
    let file = files::resolve_new(path)?;
    files::refuse_existing(&file)?;
    let lock = files::lock(&file)?;
    let unfinished = files::beside(&file, ".new");
    let written = files::refuse_existing(&file)
        .and_then(|()| files::remove_unfinished(&unfinished))
        .and_then(|()| make(&unfinished, &file))
        .and_then(|head| files::place(&unfinished, &file).map(|()| head));
    // Nobody writes to a backup, so nothing is left beside it. Where the lock file can't be
    // removed, it does no harm.
    drop(lock);
    fs::remove_file(files::beside(&file, ".lock")).ok();
    written
}

/// Copies the ledger to the file `unfinished`, which shall become `file`, and verifies the
/// copy. After an error there is no such file.
pub(super) fn verified_copy(
    store: &SqliteStore,
    unfinished: &Path,
    file: &Path,
) -> Result<Head> {
    files::remove_unfinished(unfinished)?;
    // The writer is this store or may have moved on since: the copy is held to the head
    // that it carries, and to the ledger's id.
    let written = copy_pages(store, unfinished)
        .and_then(|()| check(unfinished, file, |copied| Ok(copied.id == store.id()?)));
    if written.is_err() {
        // The error that is told is the one that came first.
        files::remove_unfinished(unfinished).ok();
    }
    written
}

fn copy_pages(store: &SqliteStore, to: &Path) -> Result<()> {
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
    leave_room_behind(&target).map_err(err)?;
    open::close(target, to)
}

/// Leaves pages that nothing is on out of a copy, where they are worth it: attachments that were
/// cleared away had them. In the ledger itself they wait for what comes, and nobody waits for
/// them to go.
fn leave_room_behind(copy: &Connection) -> rusqlite::Result<()> {
    let count = |name| copy.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    if count("freelist_count")? > count("page_count")? / WORTH {
        copy.execute_batch("VACUUM")?;
    }
    Ok(())
}

fn check(
    unfinished: &Path,
    file: &Path,
    is_same: impl FnOnce(&engine::Meta) -> Result<bool>,
) -> Result<Head> {
    let copy = open::open_private(unfinished, file)?;
    let copied = engine::meta(&copy)?;
    let verdict = copy.verify(None)?;
    open::close(copy.conn, unfinished)?;
    if let Some(fault) = verdict.faults.into_iter().next() {
        return Err(LedgerError::damaged(file, fault));
    }
    if !is_same(&copied)? {
        let why = "the copy has another id than the ledger".to_owned();
        return Err(LedgerError::NotALedger { file: file.to_owned(), why });
    }
    Ok(copied.head)
}
