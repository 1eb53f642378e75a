//! Copying a ledger from one database to another, byte by byte as far as the chain goes.

use std::ops::ControlFlow;

use super::rows::{self, Row};
use super::{arrivals, attachments, checkpoints, meta, read, settings};
use crate::chain::Chain;
use crate::db::{Database, Reading, Value, Writing};
use crate::error::{LedgerError, Result};
use crate::sql;
use crate::verdict::Fault;

/// Fills the empty ledger `to`, which has the id of `from`, with the entries, checkpoints,
/// attachments and settings of `from`. Snapshots and the note of the last backup stay behind.
pub(crate) fn copy(from: &dyn Database, to: &dyn Database) -> Result<()> {
    let _reading = Reading::begin(from)?;
    let writing = Writing::begin(to)?;
    let meta = meta(from)?;
    let mut chain = Chain::from_start(Some(&meta.id));
    let mut outcome = Ok(());
    read::rows(from, "read entries", i64::MIN, &mut |row| {
        outcome = take(row, &mut chain, from, to);
        if outcome.is_ok() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    })?;
    outcome?;
    if let Some(fault) = chain.finish(&meta.head) {
        return Err(LedgerError::damaged(from.place(), fault));
    }
    let values = [
        Value::Integer(meta.head.number as i64),
        Value::Bytes(meta.head.digest.as_bytes()),
    ];
    to.execute("copy the head", sql::UPDATE_HEAD, &values)?;
    for checkpoint in checkpoints::list(from)? {
        checkpoints::insert(to, &checkpoint)?;
    }
    for attachment in attachments::list(from)? {
        if let Some((attachment, content)) = attachments::get(from, &attachment.digest)? {
            attachments::insert(to, &attachment, &content)?;
        }
    }
    arrivals::copy(from, to)?;
    settings::copy(from, to)?;
    writing.commit()
}

fn take(
    row: Row<'_>,
    chain: &mut Chain,
    from: &dyn Database,
    to: &dyn Database,
) -> Result<()> {
    let (link, digest) = match row {
        Row::Sound(link, digest) => (link, digest),
        Row::Bad { number, kind } => {
            return Err(LedgerError::damaged(
                from.place(),
                Fault { entry: number, kind },
            ));
        }
    };
    if let Some(fault) = chain.check(&link, digest).into_iter().next() {
        return Err(LedgerError::damaged(from.place(), fault));
    }
    to.execute("copy entries", sql::INSERT_ENTRY, &rows::values(&link, &digest))
}
