//! Signed checkpoints: making them, and holding them against the chain.

use super::{has_more_than_entries, meta, rows};
use crate::chain::Digest;
use crate::checkpoint::Checkpoint;
use crate::db::{Database, Reading, Value, Writing, all};
use crate::entry::{Head, LedgerId, is_rfc3339};
use crate::error::{LedgerError, Result};
use crate::key::{PublicKey, SigningKey};
use crate::sql;
use crate::verdict::{Fault, FaultKind};

const DOING: &str = "read the checkpoints";

pub(crate) fn sign(db: &dyn Database, key: &SigningKey, at: &str) -> Result<Checkpoint> {
    if !is_rfc3339(at) {
        let problem = format!(
            "the checkpoint's time is {at:?}, which is no RFC 3339 time such as \
             2031-01-14T09:30:00Z"
        );
        let file = db.place().to_owned();
        return Err(LedgerError::Refused { file, problems: vec![problem] });
    }
    let writing = Writing::begin(db)?;
    let meta = meta(db)?;
    let checkpoint = Checkpoint::sign(key, meta.id, meta.head, at);
    insert(db, &checkpoint)?;
    writing.commit()?;
    Ok(checkpoint)
}

pub(super) fn insert(db: &dyn Database, checkpoint: &Checkpoint) -> Result<()> {
    let values = [
        Value::Integer(checkpoint.head.number as i64),
        Value::Bytes(checkpoint.head.digest.as_bytes()),
        Value::Text(checkpoint.at.as_bytes()),
        Value::Bytes(checkpoint.key.as_bytes()),
        Value::Bytes(&checkpoint.signature),
    ];
    db.execute("store a checkpoint", sql::INSERT_CHECKPOINT, &values)
}

pub(crate) fn list(db: &dyn Database) -> Result<Vec<Checkpoint>> {
    let _reading = Reading::begin(db)?;
    let found = stored(db, &meta(db)?.id)?.into_iter();
    found
        .map(|found| found.map_err(|fault| LedgerError::damaged(db.place(), fault)))
        .collect()
}

/// Those in the ledger, each as far as it can be read.
pub(super) fn stored(
    db: &dyn Database,
    ledger: &LedgerId,
) -> Result<Vec<Result<Checkpoint, Fault>>> {
    if !has_more_than_entries(db) {
        return Ok(Vec::new());
    }
    all(db, DOING, sql::SELECT_CHECKPOINTS, &[], |row| {
        decode(row, *ledger).map_err(|kind| {
            Fault::of(FaultKind::Checkpoint(format!("a stored checkpoint: {kind}")))
        })
    })
}

fn decode(row: &[Value<'_>], ledger: LedgerId) -> rows::Found<Checkpoint> {
    let number = rows::count(row, 0, "number")?;
    let digest = Digest::from_bytes(rows::array(row, 1, "digest")?);
    Ok(Checkpoint {
        ledger,
        head: Head { number, digest },
        at: rows::text(row, 2, "signed_at")?.to_owned(),
        key: PublicKey::from_bytes(rows::array(row, 3, "public_key")?),
        signature: rows::array(row, 4, "signature")?,
    })
}

/// What is wrong with a checkpoint of which the ledger `id` has the digest `found` under
/// its number. With `trusted` keys, it must be signed by one of them.
pub(super) fn judge(
    checkpoint: &Checkpoint,
    id: &LedgerId,
    found: Option<Digest>,
    trusted: &[PublicKey],
) -> Option<Fault> {
    let Head { number, digest } = checkpoint.head;
    let name = format!(
        "the checkpoint of entry {number} (signed {}, key {})",
        checkpoint.at,
        checkpoint.key.fingerprint()
    );
    let tell = |what: String| FaultKind::Checkpoint(format!("{name} {what}"));
    if checkpoint.ledger != *id {
        let what = format!("is of another ledger, {}", checkpoint.ledger);
        return Some(Fault::of(tell(what)));
    }
    if !checkpoint.is_signed() {
        return Some(Fault::of(tell("isn't what its key signed".to_owned())));
    }
    if !trusted.is_empty() && !trusted.contains(&checkpoint.key) {
        let what = "is signed by a key that isn't among those you trust".to_owned();
        return Some(Fault::of(tell(what)));
    }
    let what = match found {
        Some(found) if found == digest => return None,
        Some(found) => format!(
            "states the digest {digest}, the ledger has {found}: history was rewritten"
        ),
        None => "states an entry that isn't in the ledger".to_owned(),
    };
    Some(Fault { entry: (number > 0).then_some(number), kind: tell(what) })
}
