//! A ledger in one SQLite file.
//!
//! The file is in write-ahead mode and every commit is synced before it is acknowledged.
//! Beside it lie, while it is open or after a program was killed, the files `-wal` and
//! `-shm` (they belong to the ledger: whoever copies the file alone may lose its newest
//! entries), and a `.lock` file, which only serves the lock of the one writer and vanishes
//! from the lock's view together with the process that holds it.

mod backup;
mod check;
mod files;
mod migrate;
mod open;
mod restore;

use std::cell::Cell;
use std::path::{Path, PathBuf};

use rusqlite::types::{ToSqlOutput, ValueRef};
use rusqlite::{Connection, ErrorCode, ToSql};

use crate::access::{Access, Existing};
use crate::db::{Database, Purpose, Value, Visit};
use crate::entry::{Head, LedgerId};
use crate::error::{LedgerError, Result};
use crate::store::Backup;
use crate::verdict::{Fault, FaultKind, Verdict};
pub(crate) use backup::backup_of;
use files::WriterLock;

/// A ledger in one SQLite file.
#[derive(Debug)]
pub struct SqliteStore {
    // Closed before the lock is let go: fields are dropped in this order.
    conn: Connection,
    file: PathBuf,
    access: Access,
    format: u32,
    readings: Cell<u32>,
    _lock: Option<WriterLock>,
}

impl SqliteStore {
    /// Opens the ledger at `path`.
    ///
    /// A file of an older format is brought up to date if it is opened for writing, and
    /// read as it is if not. What a killed program left in the write-ahead log is taken up.
    ///
    /// For reading in a folder that can't be written, SQLite needs either both files that
    /// belong to the write-ahead log or neither. With neither, the file is taken as
    /// unchanging for as long as it is open: should a program with more rights start to
    /// write meanwhile, this reader may stumble and must be opened again.
    pub fn open(path: impl AsRef<Path>, access: Access) -> Result<Self> {
        open::open(path.as_ref(), access)
    }

    /// Creates an empty ledger at `path` with a random id, and opens it for writing. The
    /// file appears complete or not at all, and never replaces another.
    pub fn create(path: impl AsRef<Path>) -> Result<Self> {
        open::create(path.as_ref(), None)
    }

    /// Like [`SqliteStore::create`], with an id that the caller chose.
    pub fn create_with_id(path: impl AsRef<Path>, id: LedgerId) -> Result<Self> {
        open::create(path.as_ref(), Some(id))
    }

    /// An empty ledger in memory, for tests. Its id is always the same.
    pub fn in_memory() -> Result<Self> {
        open::in_memory()
    }

    /// Puts a copy of the backup `from` at `path`, once the copy has been verified whole
    /// (chain, checkpoints, attachments), and returns its head. The backup stays as it is.
    ///
    /// A ledger that stands at `path` is left alone, or set aside: its file gets the name
    /// `path.replaced`, or `path.replaced-2` and so on. Until the copy has been verified,
    /// nothing at `path` changes.
    ///
    /// # Errors
    ///
    /// `Exists` if there is a file at `path` and it isn't to be set aside; `InUse` if
    /// somebody has it open for writing; `Damaged` if the backup doesn't verify, and other
    /// errors of [`SqliteStore::open`] if it is no ledger.
    pub fn restore(
        from: impl AsRef<Path>,
        path: impl AsRef<Path>,
        existing: Existing,
    ) -> Result<Head> {
        restore::restore(from.as_ref(), path.as_ref(), existing)
    }

    /// The file, with every link resolved (`:memory:` for a ledger in memory).
    pub fn file(&self) -> &Path {
        &self.file
    }

    fn new(conn: Connection, file: PathBuf, access: Access, format: u32) -> Self {
        Self { conn, file, access, format, readings: Cell::new(0), _lock: None }
    }
}

impl Backup for SqliteStore {
    fn backup(&self, path: &Path) -> Result<Head> {
        backup::backup(self, path)
    }
}

impl Database for SqliteStore {
    fn place(&self) -> &Path {
        &self.file
    }

    fn access(&self) -> Access {
        self.access
    }

    fn format(&self) -> u32 {
        self.format
    }

    fn readings(&self) -> &Cell<u32> {
        &self.readings
    }

    fn page(&self) -> (i64, i64) {
        // Rows come one by one as they are asked for.
        (i64::MAX, i64::MAX)
    }

    fn execute(
        &self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
    ) -> Result<()> {
        let run = || {
            let mut statement = self.conn.prepare_cached(sql)?;
            statement.execute(rusqlite::params_from_iter(values))
        };
        run().map(drop).map_err(|source| LedgerError::sqlite(&self.file, doing, source))
    }

    fn query(
        &self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
        visit: Visit<'_>,
    ) -> Result<()> {
        let mut run = || -> rusqlite::Result<()> {
            let mut statement = self.conn.prepare_cached(sql)?;
            let columns = statement.column_count();
            let mut rows = statement.query(rusqlite::params_from_iter(values))?;
            while let Some(row) = rows.next()? {
                let row: rusqlite::Result<Vec<Value<'_>>> =
                    (0..columns).map(|at| row.get_ref(at).map(Value::from)).collect();
                if visit(&row?).is_break() {
                    break;
                }
            }
            Ok(())
        };
        run().map_err(|source| LedgerError::sqlite(&self.file, doing, source))
    }

    fn begin(&self, purpose: Purpose) -> Result<()> {
        match purpose {
            Purpose::Read => self.execute("begin to read", "BEGIN", &[]),
            Purpose::Write => self.execute("begin to write", "BEGIN IMMEDIATE", &[]),
        }
    }

    fn commit(&self) -> Result<()> {
        self.execute("commit the change", "COMMIT", &[])
    }

    fn rollback(&self) {
        // After some errors SQLite has rolled back itself, and then there is nothing to do.
        if !self.conn.is_autocommit() {
            self.execute("take the change back", "ROLLBACK", &[]).ok();
        }
    }

    fn check_database(&self, verdict: &mut Verdict) -> Result<()> {
        check::schema(self, verdict)?;
        check::pages(self, verdict)
    }

    /// What SQLite can't read is a finding, and what it can't do for other reasons (a
    /// lock, memory, rights) an error.
    fn finding(&self, error: LedgerError) -> Result<Fault> {
        let told = match &error {
            LedgerError::Sqlite { file: _, doing: _, source } => {
                match source.sqlite_error_code() {
                    Some(
                        ErrorCode::DatabaseBusy
                        | ErrorCode::DatabaseLocked
                        | ErrorCode::OutOfMemory
                        | ErrorCode::PermissionDenied
                        | ErrorCode::CannotOpen
                        | ErrorCode::OperationInterrupted,
                    ) => return Err(error),
                    _ => source.to_string(),
                }
            }
            LedgerError::Corrupt { file: _, doing: _, source } => source.to_string(),
            LedgerError::NotALedger { file: _, why } => why.clone(),
            LedgerError::Damaged { file: _, fault } => return Ok((**fault).clone()),
            _ => return Err(error),
        };
        Ok(Fault::of(FaultKind::Unreadable(told)))
    }
}

impl<'a> From<ValueRef<'a>> for Value<'a> {
    fn from(value: ValueRef<'a>) -> Self {
        match value {
            ValueRef::Null => Self::Null,
            ValueRef::Integer(value) => Self::Integer(value),
            ValueRef::Real(_) => Self::Other("a broken number"),
            ValueRef::Text(bytes) => Self::Text(bytes),
            ValueRef::Blob(bytes) => Self::Bytes(bytes),
        }
    }
}

impl ToSql for Value<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match *self {
            Self::Null | Self::Other(_) => ValueRef::Null,
            Self::Integer(value) => ValueRef::Integer(value),
            Self::Text(bytes) => ValueRef::Text(bytes),
            Self::Bytes(bytes) => ValueRef::Blob(bytes),
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::NewEntry;
    use crate::store::Store;

    #[test]
    fn a_full_disk_leaves_the_ledger_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let mut store = SqliteStore::create(folder.path().join("full.ledger")).unwrap();
        let entry = |bytes| NewEntry {
            kind: "note".into(),
            version: 1,
            body: vec![b'x'; bytes],
            at: "2031-01-14T09:30:00Z".into(),
            by: "A. Fitter".into(),
        };
        let before = store.append(0, &[entry(10)]).unwrap();
        let limit = |store: &SqliteStore, pages: u32| {
            store.conn.pragma_update(None, "max_page_count", pages).unwrap();
        };
        limit(&store, 60);

        let error = store.append(1, &[entry(10), entry(500_000)]).unwrap_err();
        assert_eq!(error.hint(), Some("make room on the disk, and repeat"));
        assert_eq!(store.head().unwrap(), before);

        limit(&store, 2000);
        let after = store.append(1, &[entry(10), entry(500_000)]).unwrap();
        assert_eq!(after.number, 3);
        assert!(store.verify(Some(&before)).unwrap().is_sound());
    }
}
