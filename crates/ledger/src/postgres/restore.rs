//! Putting a backup in the place of a ledger, after it has proved to be whole.

use std::path::Path;

use super::PostgresStore;
use super::connect::{self, Schema};
use crate::access::{Access, Existing};
use crate::db::Database;
use crate::engine::copy;
use crate::entry::Head;
use crate::error::{LedgerError, Result};
use crate::sqlite::SqliteStore;
use crate::store::Store;

pub(super) fn restore(
    from: &Path,
    connection: &str,
    schema: &str,
    existing: Existing,
) -> Result<Head> {
    let backup = SqliteStore::open(from, Access::ReadOnly)?;
    if let Some(fault) = backup.verify(None)?.faults.into_iter().next() {
        return Err(LedgerError::damaged(backup.file(), fault));
    }
    // Held until the end, so that nobody writes to what is set aside.
    let standing = standing(connection, schema, existing)?;
    let unfinished = format!("{schema}_new");
    clear(connection, &unfinished)?;
    let mut copied =
        PostgresStore::create_with_id(connection, &unfinished, backup.id()?)?;
    connect::mark_unfinished(&copied, &unfinished)?;
    let head = fill(&backup, &mut copied).and_then(|head| {
        let aside = standing.as_ref().map(|_| free_name(&copied, schema)).transpose()?;
        connect::place_finished(&copied, &unfinished, schema, aside.as_deref())?;
        Ok(head)
    });
    if head.is_err() {
        drop(copied);
        // The error that is told is the one that came first.
        clear(connection, &unfinished).ok();
    }
    head
}

/// The ledger that stands in the place, open for writing so that nobody else is.
fn standing(
    connection: &str,
    schema: &str,
    existing: Existing,
) -> Result<Option<PostgresStore>> {
    let (mut client, place) = connect::connect(connection, schema)?;
    match (connect::look(&mut client, &place, schema)?, existing) {
        (Schema::Absent, _) => Ok(None),
        (Schema::Ledger { .. }, Existing::SetAside) => {
            PostgresStore::open(connection, schema, Access::ReadWrite).map(Some)
        }
        (_, Existing::Refuse | Existing::SetAside) => {
            Err(LedgerError::Exists { file: place })
        }
    }
}

/// Removes what an interrupted restoration left, and nothing else.
fn clear(connection: &str, schema: &str) -> Result<()> {
    let (mut client, place) = connect::connect(connection, schema)?;
    match connect::look(&mut client, &place, schema)? {
        Schema::Absent => Ok(()),
        Schema::Foreign | Schema::Ledger { .. } => {
            Err(LedgerError::Exists { file: place })
        }
        Schema::Unfinished => client
            .batch_execute(&format!("DROP SCHEMA {} CASCADE", connect::quoted(schema)))
            .map_err(|source| LedgerError::postgres(&place, "clear the schema", source)),
    }
}

fn fill(backup: &SqliteStore, copied: &mut PostgresStore) -> Result<Head> {
    copy::copy(backup, copied)?;
    let verdict = copied.verify(Some(&backup.head()?))?;
    if let Some(fault) = verdict.faults.into_iter().next() {
        return Err(LedgerError::damaged(copied.place(), fault));
    }
    copied.head()
}

fn free_name(store: &PostgresStore, schema: &str) -> Result<String> {
    let mut name = format!("{schema}_replaced");
    let mut tries = 1;
    loop {
        let mut client = store.client.borrow_mut();
        match connect::look(&mut client, store.place(), &name)? {
            Schema::Absent => return Ok(name),
            Schema::Foreign | Schema::Unfinished | Schema::Ledger { .. } => {
                tries += 1;
                name = format!("{schema}_replaced_{tries}");
            }
        }
    }
}
