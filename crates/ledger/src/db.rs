//! What a database must be able to do to keep a ledger: carry out statements, hand out
//! rows, and hold transactions. All that the statements mean is in [`crate::engine`], once
//! for every database.

use std::cell::Cell;
use std::ops::ControlFlow;
use std::path::Path;

use crate::access::Access;
use crate::error::{LedgerError, Result};
use crate::sql;
use crate::verdict::{Fault, Verdict};

/// A value in a row, borrowed. Text is bytes because SQLite keeps text that isn't UTF-8.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Value<'a> {
    /// NULL.
    Null,
    /// `BIGINT`.
    Integer(i64),
    /// `TEXT`.
    Text(&'a [u8]),
    /// `BLOB` in SQLite, `BYTEA` in PostgreSQL.
    Bytes(&'a [u8]),
    /// Something that no column may hold, in words.
    Other(&'static str),
}

/// The values of `INSERT_ENTRY`, in its order.
pub(crate) type EntryRow<'a> = [Value<'a>; 9];

/// Takes one row; breaking off ends the query.
pub(crate) type Visit<'a> = &'a mut dyn FnMut(&[Value<'_>]) -> ControlFlow<()>;

/// What a transaction is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Purpose {
    /// One snapshot for several queries.
    Read,
    /// Changes, by one writer at a time.
    Write,
}

/// A database that holds one ledger.
pub(crate) trait Database {
    /// Where it is: the file, or the schema and its server.
    fn place(&self) -> &Path;

    /// What it was opened for.
    fn access(&self) -> Access;

    /// The format of its tables; below the newest only where it is open for reading.
    fn format(&self) -> u32;

    /// How many readings are under way on this connection, one inside another.
    fn readings(&self) -> &Cell<u32>;

    /// How many entries are asked for at once, and at most.
    fn page(&self) -> (i64, i64);

    /// Carries out a statement.
    fn execute(
        &self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
    ) -> Result<()>;

    /// Inserts entries; a database that is slow to answer may take many at a time.
    fn insert_entries(&self, doing: &'static str, rows: &[EntryRow<'_>]) -> Result<()> {
        rows.iter().try_for_each(|row| self.execute(doing, sql::INSERT_ENTRY, row))
    }

    /// Shows the rows of a query.
    fn query(
        &self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
        visit: Visit<'_>,
    ) -> Result<()>;

    /// Begins a transaction.
    fn begin(&self, purpose: Purpose) -> Result<()>;

    /// Ends a transaction; when this returns `Ok`, its changes are on disk.
    fn commit(&self) -> Result<()>;

    /// Ends a transaction without its changes.
    fn rollback(&self);

    /// Notes where the tables differ from what the migrations make, and what the
    /// database's own check complains of.
    fn check_database(&self, verdict: &mut Verdict) -> Result<()>;

    /// What somebody should know who relies on this database, a sentence each.
    fn notices(&self) -> Result<Vec<String>> {
        Ok(Vec::new())
    }

    /// The error as a finding, if it shows that something can't be read, and else the error.
    fn finding(&self, error: LedgerError) -> Result<Fault>;
}

/// One snapshot, held for as long as this lives; readings inside it share it.
pub(crate) struct Reading<'a>(&'a dyn Database);

/// A transaction that is undone unless it is committed.
pub(crate) struct Writing<'a> {
    db: &'a dyn Database,
    open: bool,
}

impl<'a> Reading<'a> {
    pub(crate) fn begin(db: &'a dyn Database) -> Result<Self> {
        if db.readings().get() == 0 {
            db.begin(Purpose::Read)?;
        }
        db.readings().set(db.readings().get() + 1);
        Ok(Self(db))
    }
}

impl Drop for Reading<'_> {
    fn drop(&mut self) {
        let left = self.0.readings().get() - 1;
        self.0.readings().set(left);
        if left == 0 {
            self.0.rollback();
        }
    }
}

impl<'a> Writing<'a> {
    /// Fails with `ReadOnly` where the ledger was opened for reading.
    pub(crate) fn begin(db: &'a dyn Database) -> Result<Self> {
        if db.access() == Access::ReadOnly {
            return Err(LedgerError::ReadOnly { file: db.place().to_owned() });
        }
        db.begin(Purpose::Write)?;
        // What is read within it is read as it stands in it.
        db.readings().set(db.readings().get() + 1);
        Ok(Self { db, open: true })
    }

    pub(crate) fn commit(mut self) -> Result<()> {
        self.db.commit()?;
        self.open = false;
        Ok(())
    }
}

impl Drop for Writing<'_> {
    fn drop(&mut self) {
        self.db.readings().set(self.db.readings().get() - 1);
        if self.open {
            self.db.rollback();
        }
    }
}

/// The first row of a query, decoded; `None` if there is none.
pub(crate) fn first<T>(
    db: &dyn Database,
    doing: &'static str,
    sql: &'static str,
    values: &[Value<'_>],
    decode: impl Fn(&[Value<'_>]) -> Result<T, Fault>,
) -> Result<Option<T>> {
    let mut found = None;
    db.query(doing, sql, values, &mut |row| {
        found = Some(decode(row));
        ControlFlow::Break(())
    })?;
    found.transpose().map_err(|fault| LedgerError::damaged(db.place(), fault))
}

/// All rows of a query, decoded.
pub(crate) fn all<T>(
    db: &dyn Database,
    doing: &'static str,
    sql: &'static str,
    values: &[Value<'_>],
    decode: impl Fn(&[Value<'_>]) -> Result<T, Fault>,
) -> Result<Vec<Result<T, Fault>>> {
    let mut found = Vec::new();
    db.query(doing, sql, values, &mut |row| {
        found.push(decode(row));
        ControlFlow::Continue(())
    })?;
    Ok(found)
}
