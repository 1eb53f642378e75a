//! Putting a backup in the place of a ledger, after it has proved to be whole.

use std::path::Path;

use super::connect::{self, Schema};
use super::{PostgresStore, Server};
use crate::access::{Access, Existing};
use crate::db::Database;
use crate::engine::copy;
use crate::entry::Head;
use crate::error::{LedgerError, Result};
use crate::sqlite::SqliteStore;
use crate::store::Store;

pub(super) fn restore(from: &Path, server: &Server, existing: Existing) -> Result<Head> {
    let backup = SqliteStore::open(from, Access::ReadOnly)?;
    if let Some(fault) = backup.verify(None)?.faults.into_iter().next() {
        return Err(LedgerError::damaged(backup.file(), fault));
    }
    // Held until the end, so that nobody writes to what is set aside.
    let standing = standing(server, existing)?;
    let (schema, new) = (server.schema(), server.beside("_new"));
    let unfinished = new.schema();
    clear(&new)?;
    let mut copied = connect::create(&new, Some(backup.id()?))?;
    connect::mark_unfinished(&copied, unfinished)?;
    let head = fill(&backup, &mut copied).and_then(|head| {
        let aside = standing.as_ref().map(|_| free_name(&copied, schema)).transpose()?;
        connect::place_finished(&copied, unfinished, schema, aside.as_deref())?;
        Ok(head)
    });
    if head.is_err() {
        drop(copied);
        // The error that is told is the one that came first.
        clear(&new).ok();
    }
    head
}

/// The ledger that stands in the place, open for writing so that nobody else is.
fn standing(server: &Server, existing: Existing) -> Result<Option<PostgresStore>> {
    let (mut client, place) = (server.connect()?, server.place());
    match (connect::look(&mut client, &place, server.schema())?, existing) {
        (Schema::Absent, _) => Ok(None),
        (Schema::Ledger { .. }, Existing::SetAside) => {
            connect::open(server, Access::ReadWrite).map(Some)
        }
        (_, Existing::Refuse | Existing::SetAside) => {
            Err(LedgerError::Exists { file: place })
        }
    }
}

/// Removes what an interrupted restoration left, and nothing else.
fn clear(server: &Server) -> Result<()> {
    let (mut client, place, schema) =
        (server.connect()?, server.place(), server.schema());
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
