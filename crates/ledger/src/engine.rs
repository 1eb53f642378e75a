//! What a ledger does, in terms of any [`Database`]: once for all of them, so that they
//! can't differ in what they refuse, compute or find.

pub(crate) mod append;
pub(crate) mod arrivals;
pub(crate) mod attachments;
pub(crate) mod backups;
pub(crate) mod checkpoints;
pub(crate) mod copy;
mod parts;
pub(crate) mod read;
mod rows;
pub(crate) mod settings;
pub(crate) mod snapshots;
pub(crate) mod verify;

use crate::chain::{Digest, start_digest};
use crate::db::{Database, Value, first};
use crate::entry::{Head, LedgerId};
use crate::error::{LedgerError, Result};
use crate::sql;

/// The row of `meta`.
pub(crate) struct Meta {
    pub(crate) id: LedgerId,
    pub(crate) head: Head,
}

/// The row of `meta`, which every ledger has.
pub(crate) fn meta(db: &dyn Database) -> Result<Meta> {
    let decode = |row: &[Value<'_>]| rows::meta(Some(row));
    match first(db, "read the head", sql::SELECT_META, &[], decode)? {
        Some(meta) => Ok(meta),
        None => match rows::meta(None) {
            Ok(meta) => Ok(meta),
            Err(fault) => Err(LedgerError::damaged(db.place(), fault)),
        },
    }
}

/// Writes the row of `meta` of an empty ledger.
pub(crate) fn found(db: &dyn Database, id: &LedgerId) -> Result<()> {
    let start = start_digest(id);
    let values = [Value::Bytes(id.as_bytes()), Value::Bytes(start.as_bytes())];
    db.execute("create the ledger", sql::INSERT_META, &values)
}

/// The digest of entry `number`; that before the first entry for 0; `None` if there is no
/// such entry.
fn digest_at(db: &dyn Database, meta: &Meta, number: u64) -> Result<Option<Digest>> {
    if number == 0 {
        return Ok(Some(start_digest(&meta.id)));
    }
    let values = [Value::Integer(number as i64)];
    let found = first(db, "read an entry", sql::SELECT_DIGEST, &values, rows::head)?;
    Ok(found.map(|head| head.digest))
}

/// Whether the tables know more than entries: not so in a file of format 1 that is open
/// for reading.
fn has_more_than_entries(db: &dyn Database) -> bool {
    db.format() >= sql::FORMAT_WITH_REQUESTS
}
