//! Snapshots: what a caller folded, kept so that it need not fold everything again. They
//! are no part of the record and can be thrown away at any time.

use super::{digest_at, has_more_than_entries, meta, parts, rows};
use crate::chain::{Digest, field};
use crate::db::{Database, Reading, Value, Writing, all, first};
use crate::entry::Head;
use crate::error::{LedgerError, Result};
use crate::snapshot::{FORMAT_LIMIT, Found, SNAPSHOT_TAG, Snapshot};
use crate::sql;
use crate::verdict::Fault;

/// How many are kept: the newest, and one in case that is damaged.
const KEPT: i64 = 2;

const STORING: &str = "store a snapshot";
const READING: &str = "read a snapshot";

struct Row {
    place: u64,
    head: Head,
    size: u64,
    checksum: Digest,
}

pub(crate) fn put(
    db: &dyn Database,
    head: &Head,
    format: &str,
    content: &[u8],
) -> Result<()> {
    let writing = Writing::begin(db)?;
    refuse(db, head, format)?;
    let count = |row: &[Value<'_>]| rows::count(row, 0, "place").map_err(Fault::of);
    let place = first(db, STORING, sql::SELECT_NEXT_SNAPSHOT, &[], count)?.unwrap_or(1);
    let place = Value::Integer(place as i64);
    let checksum = checksum(head, format, content);
    let values = [
        place,
        Value::Integer(head.number as i64),
        Value::Bytes(head.digest.as_bytes()),
        Value::Text(format.as_bytes()),
        Value::Integer(content.len() as i64),
        Value::Bytes(checksum.as_bytes()),
    ];
    db.execute(STORING, sql::INSERT_SNAPSHOT, &values)?;
    parts::write(db, STORING, sql::INSERT_SNAPSHOT_PART, place, content)?;
    keep(db, format, KEPT)?;
    writing.commit()
}

pub(crate) fn clear(db: &dyn Database) -> Result<()> {
    let writing = Writing::begin(db)?;
    keep(db, "", 0)?;
    writing.commit()
}

/// Removes all but the newest few of a format.
fn keep(db: &dyn Database, format: &str, few: i64) -> Result<()> {
    let values = [Value::Text(format.as_bytes()), Value::Integer(few)];
    db.execute(STORING, sql::DELETE_SNAPSHOTS, &values)?;
    db.execute(STORING, sql::DELETE_SNAPSHOT_PARTS, &[])
}

pub(crate) fn newest(db: &dyn Database, format: &str) -> Result<Found> {
    let _reading = Reading::begin(db)?;
    let mut found = Found { snapshot: None, notices: Vec::new() };
    if !has_more_than_entries(db) {
        return Ok(found);
    }
    let values = [Value::Text(format.as_bytes())];
    for row in all(db, READING, sql::SELECT_SNAPSHOTS, &values, decode)? {
        match row.map_err(|fault| fault.to_string()) {
            Ok(row) => match read(db, format, &row)? {
                Ok(content) => {
                    found.snapshot = Some(Snapshot { head: row.head, content });
                    return Ok(found);
                }
                Err(why) => found.notices.push(format!(
                    "the snapshot after entry {} is passed over: {why}",
                    row.head.number
                )),
            },
            Err(why) => found.notices.push(format!("a snapshot is passed over: {why}")),
        }
    }
    Ok(found)
}

fn refuse(db: &dyn Database, head: &Head, format: &str) -> Result<()> {
    let mut problems = Vec::new();
    if format.is_empty() || format.len() > FORMAT_LIMIT {
        let len = format.len();
        problems.push(format!(
            "the snapshot's format has {len} bytes and must have 1 to {FORMAT_LIMIT}"
        ));
    }
    if format.contains('\0') {
        problems.push("the snapshot's format holds a NUL".to_owned());
    }
    if digest_at(db, &meta(db)?, head.number)? != Some(head.digest) {
        problems.push(format!(
            "the snapshot's digest isn't that of entry {} in this ledger",
            head.number
        ));
    }
    if problems.is_empty() {
        return Ok(());
    }
    Err(LedgerError::Refused { file: db.place().to_owned(), problems })
}

fn decode(row: &[Value<'_>]) -> Result<Row, Fault> {
    let read = || {
        let number = rows::count(row, 1, "number")?;
        let digest = Digest::from_bytes(rows::array(row, 2, "digest")?);
        Ok(Row {
            place: rows::count(row, 0, "place")?,
            head: Head { number, digest },
            size: rows::count(row, 3, "size")?,
            checksum: Digest::from_bytes(rows::array(row, 4, "checksum")?),
        })
    };
    read().map_err(Fault::of)
}

/// The content, or why it is of no use.
fn read(db: &dyn Database, format: &str, row: &Row) -> Result<Result<Vec<u8>, String>> {
    if digest_at(db, &meta(db)?, row.head.number)? != Some(row.head.digest) {
        return Ok(Err("its digest isn't that of its entry".to_owned()));
    }
    let mut content = Vec::new();
    let key = Value::Integer(row.place as i64);
    let select = sql::SELECT_SNAPSHOT_PART;
    let read = parts::read(db, READING, select, key, row.size, &mut |part| {
        content.extend(part);
    })?;
    if read.is_ok() && checksum(&row.head, format, &content) != row.checksum {
        return Ok(Err("its content was changed after it was stored".to_owned()));
    }
    Ok(read.map(|()| content))
}

fn checksum(head: &Head, format: &str, content: &[u8]) -> Digest {
    let mut hasher = blake3::Hasher::new();
    field(&mut hasher, SNAPSHOT_TAG.as_bytes());
    field(&mut hasher, &head.number.to_le_bytes());
    field(&mut hasher, head.digest.as_bytes());
    field(&mut hasher, format.as_bytes());
    field(&mut hasher, content);
    Digest::from_bytes(hasher.finalize().into())
}
