//! A ledger in one SQLite file.
//!
//! The file is in write-ahead mode and every commit is synced before it is acknowledged.
//! Beside it lie, while it is open or after a program was killed, the files `-wal` and
//! `-shm` (they belong to the ledger: whoever copies the file alone may lose its newest
//! entries), and a `.lock` file, which only serves the lock of the one writer and vanishes
//! from the lock's view together with the process that holds it.

mod backup;
mod files;
mod migrate;
mod open;
mod rows;
mod verify;

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, TransactionBehavior, params};

use crate::chain::Chain;
use crate::entry::{Entry, Head, LedgerId, NewEntry};
use crate::error::{LedgerError, Result};
use crate::sql;
use crate::store::Store;
use crate::verdict::{Fault, FaultKind, Verdict};
use files::WriterLock;
use rows::Row;

/// What a ledger is opened for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// For reading only; any number of programs can at any time.
    ReadOnly,
    /// For appending too; one program at a time.
    ReadWrite,
}

/// A ledger in one SQLite file.
#[derive(Debug)]
pub struct SqliteStore {
    // Closed before the lock is let go: fields are dropped in this order.
    conn: Connection,
    file: PathBuf,
    access: Access,
    _lock: Option<WriterLock>,
}

/// The row of `meta`.
struct Meta {
    id: LedgerId,
    head: Head,
}

impl SqliteStore {
    /// Opens the ledger at `path`.
    ///
    /// A file of an older format is brought up to date if it is opened for writing. What a
    /// killed program left in the write-ahead log is taken up.
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

    /// The file, with every link resolved (`:memory:` for a ledger in memory).
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// Writes a copy of the ledger as it is now to `path`, which must not exist, verifies
    /// the copy, and returns its head. Readers and the writer go on meanwhile. The copy
    /// appears complete or not at all.
    ///
    /// # Errors
    ///
    /// `Exists` if there is a file at `path`; `Damaged` if the copy doesn't verify, and
    /// then nothing is left at `path`.
    pub fn backup_to(&self, path: impl AsRef<Path>) -> Result<Head> {
        backup::backup(self, path.as_ref())
    }

    fn err(&self, doing: &'static str) -> impl Fn(rusqlite::Error) -> LedgerError + '_ {
        move |source| LedgerError::sqlite(&self.file, doing, source)
    }
}

impl Store for SqliteStore {
    fn id(&self) -> Result<LedgerId> {
        Ok(meta(&self.conn, &self.file)?.id)
    }

    fn head(&self) -> Result<Head> {
        Ok(meta(&self.conn, &self.file)?.head)
    }

    fn append(&mut self, expected: u64, batch: &[NewEntry]) -> Result<Head> {
        let file = &self.file;
        if self.access == Access::ReadOnly {
            return Err(LedgerError::ReadOnly { file: file.clone() });
        }
        refuse(file, batch)?;
        let err = |source| LedgerError::sqlite(file, "append entries", source);
        let transaction = self
            .conn
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(err)?;
        let head = meta(&transaction, file)?.head;
        if head.number != expected {
            return Err(LedgerError::Moved { expected, actual: head.number });
        }
        check_tail(&transaction, file, &head)?;
        if batch.is_empty() {
            return Ok(head);
        }
        let head = insert(&transaction, head, batch).map_err(err)?;
        transaction.commit().map_err(err)?;
        Ok(head)
    }

    fn read(
        &self,
        after: u64,
        visit: &mut dyn FnMut(Entry) -> ControlFlow<()>,
    ) -> Result<()> {
        let err = self.err("read entries");
        // While this statement stands on its row, SQLite holds one snapshot for all that is
        // read on this connection: head and entries belong together.
        let mut snapshot = self.conn.prepare(sql::SELECT_META).map_err(&err)?;
        let mut snapshot = snapshot.query([]).map_err(&err)?;
        let meta = rows::meta(snapshot.next().map_err(&err)?);
        let meta = meta.map_err(|fault| LedgerError::damaged(&self.file, fault))?;
        if after > meta.head.number {
            let file = self.file.clone();
            return Err(LedgerError::Beyond { file, after, head: meta.head.number });
        }
        read_on(self, after, &meta, visit)
    }

    fn verify(&self, witness: Option<&Head>) -> Result<Verdict> {
        verify::verify(&self.conn, &self.file, witness)
    }
}

fn meta(conn: &Connection, file: &Path) -> Result<Meta> {
    let err = |source| LedgerError::sqlite(file, "read the head", source);
    let mut statement = conn.prepare_cached(sql::SELECT_META).map_err(err)?;
    let mut rows = statement.query([]).map_err(err)?;
    rows::meta(rows.next().map_err(err)?)
        .map_err(|fault| LedgerError::damaged(file, fault))
}

fn refuse(file: &Path, batch: &[NewEntry]) -> Result<()> {
    let problems: Vec<String> = batch
        .iter()
        .zip(1..)
        .flat_map(|(entry, place)| {
            let tell = move |problem| format!("entry {place} of the batch: {problem}");
            entry.problems().into_iter().map(tell)
        })
        .collect();
    if problems.is_empty() {
        return Ok(());
    }
    Err(LedgerError::Refused { file: file.to_owned(), problems })
}

/// Refuses to build on an end that doesn't fit the head: it would bury the damage.
fn check_tail(conn: &Connection, file: &Path, head: &Head) -> Result<()> {
    let err = |source| LedgerError::sqlite(file, "read the last entry", source);
    let mut statement = conn.prepare_cached(sql::SELECT_LAST).map_err(err)?;
    let mut rows = statement.query([]).map_err(err)?;
    let chain = match rows.next().map_err(err)? {
        Some(row) => rows::last(row),
        None => Ok(Head { number: 0, digest: head.digest }),
    };
    let chain = chain.map_err(|fault| LedgerError::damaged(file, fault))?;
    match Chain::after(chain, chain.number).finish(head) {
        Some(fault) => Err(LedgerError::damaged(file, fault)),
        None => Ok(()),
    }
}

fn insert(
    conn: &Connection,
    mut head: Head,
    batch: &[NewEntry],
) -> rusqlite::Result<Head> {
    let first = head.number + 1;
    let mut statement = conn.prepare_cached(sql::INSERT_ENTRY)?;
    for entry in batch {
        let link = entry.link(head.number + 1, first);
        let digest = crate::chain::entry_digest(&head.digest, &link);
        statement.execute(params![
            link.number as i64,
            link.batch as i64,
            link.at,
            link.by,
            link.kind,
            link.version,
            link.body,
            digest.as_bytes(),
        ])?;
        head = Head { number: link.number, digest };
    }
    let mut update = conn.prepare_cached(sql::UPDATE_HEAD)?;
    update.execute(params![head.number as i64, head.digest.as_bytes()])?;
    Ok(head)
}

fn read_on(
    store: &SqliteStore,
    after: u64,
    meta: &Meta,
    visit: &mut dyn FnMut(Entry) -> ControlFlow<()>,
) -> Result<()> {
    let err = store.err("read entries");
    let damaged = |fault| LedgerError::damaged(&store.file, fault);
    let mut chain = Chain::from_start(Some(&meta.id));
    let mut skip_first = after > 0;
    // From `after` itself, whose digest the next entry is checked against.
    let sql = if after == 0 { sql::SELECT_ALL } else { sql::SELECT_FROM };
    let mut statement = store.conn.prepare(sql).map_err(&err)?;
    let mut found = match after {
        0 => statement.query([]),
        _ => statement.query([after as i64]),
    }
    .map_err(&err)?;
    while let Some(row) = found.next().map_err(&err)? {
        let (link, digest) = match rows::entry(row) {
            Row::Sound(link, digest) => (link, digest),
            Row::Bad { number, kind } => {
                return Err(damaged(Fault { entry: number, kind }));
            }
        };
        if std::mem::take(&mut skip_first) {
            if link.number != after {
                let kind = FaultKind::Missing { until: link.number - 1 };
                return Err(damaged(Fault::at(after, kind)));
            }
            chain = Chain::after(Head { number: after, digest }, link.batch);
            continue;
        }
        if let Some(fault) = chain.check(&link, digest).into_iter().next() {
            return Err(damaged(fault));
        }
        if visit(Entry::from_link(&link, digest)).is_break() {
            return Ok(());
        }
    }
    match chain.finish(&meta.head) {
        Some(fault) => Err(damaged(fault)),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
        store.conn.pragma_update(None, "max_page_count", 20).unwrap();

        let error = store.append(1, &[entry(10), entry(500_000)]).unwrap_err();
        assert_eq!(error.hint(), Some("make room on the disk, and repeat"));
        assert_eq!(store.head().unwrap(), before);

        store.conn.pragma_update(None, "max_page_count", 2000).unwrap();
        let after = store.append(1, &[entry(10), entry(500_000)]).unwrap();
        assert_eq!(after.number, 3);
        assert!(store.verify(Some(&before)).unwrap().is_sound());
    }
}
