//! Attachments: kept once under the digest of their content, and read back checked.

use super::{arrivals, has_more_than_entries, parts, rows};
use crate::attachment::{Accepted, Attachment, Media};
use crate::chain::Digest;
use crate::db::{Database, Reading, Value, Writing, all, first};
use crate::error::{LedgerError, Result};
use crate::sql;
use crate::verdict::{Fault, FaultKind, Verdict};

const READING: &str = "read an attachment";
const STORING: &str = "store an attachment";

pub(crate) fn put(
    db: &dyn Database,
    accepted: &Accepted,
    at: &str,
) -> Result<Attachment> {
    arrivals::refuse_odd_time(db, at)?;
    let content = accepted.content();
    let attachment = Attachment {
        digest: Digest::from_bytes(blake3::hash(content).into()),
        media: accepted.media(),
        size: content.len() as u64,
    };
    let writing = Writing::begin(db)?;
    // The same content again is the same attachment, and is as young as if it were new:
    // whoever sent it is about to name it.
    let found = find(db, &attachment.digest)?;
    if found.is_none() {
        insert(db, &attachment, content)?;
    }
    arrivals::put(db, &attachment.digest, at)?;
    writing.commit()?;
    Ok(found.unwrap_or(attachment))
}

pub(super) fn insert(
    db: &dyn Database,
    attachment: &Attachment,
    content: &[u8],
) -> Result<()> {
    let digest = Value::Bytes(attachment.digest.as_bytes());
    let media = Value::Text(attachment.media.name().as_bytes());
    let values = [digest, media, Value::Integer(attachment.size as i64)];
    db.execute(STORING, sql::INSERT_ATTACHMENT, &values)?;
    parts::write(db, STORING, sql::INSERT_ATTACHMENT_PART, digest, content)
}

/// The attachment and its content, checked against its digest.
pub(crate) fn get(
    db: &dyn Database,
    digest: &Digest,
) -> Result<Option<(Attachment, Vec<u8>)>> {
    let _reading = Reading::begin(db)?;
    if !has_more_than_entries(db) {
        return Ok(None);
    }
    let Some(attachment) = find(db, digest)? else { return Ok(None) };
    let mut content = Vec::new();
    match check(db, &attachment, &mut |part| content.extend(part))? {
        None => Ok(Some((attachment, content))),
        Some(fault) => Err(LedgerError::damaged(db.place(), fault)),
    }
}

pub(crate) fn list(db: &dyn Database) -> Result<Vec<Attachment>> {
    let _reading = Reading::begin(db)?;
    let found = stored(db)?.into_iter();
    found
        .map(|found| found.map_err(|fault| LedgerError::damaged(db.place(), fault)))
        .collect()
}

/// Reads every attachment through.
pub(super) fn verify(db: &dyn Database, verdict: &mut Verdict) -> Result<()> {
    if !has_more_than_entries(db) {
        return Ok(());
    }
    let (mut parts_due, mut whole) = (0, true);
    for found in stored(db)? {
        match found {
            Ok(attachment) => {
                verdict.attachments += 1;
                parts_due += parts::count(attachment.size);
                let fault = check(db, &attachment, &mut |_| {})?;
                whole &= fault.is_none();
                verdict.note(fault);
            }
            Err(fault) => {
                whole = false;
                verdict.note([fault]);
            }
        }
    }
    let count = |row: &[Value<'_>]| rows::count(row, 0, "count").map_err(Fault::of);
    let parts = first(db, READING, sql::COUNT_ATTACHMENT_PARTS, &[], count)?;
    // A part that is missing has been named by now.
    if whole && parts.is_some_and(|parts| parts != parts_due) {
        let what = format!(
            "there are {} parts of attachments where {parts_due} must be",
            parts.unwrap_or(0)
        );
        verdict.note([Fault::of(FaultKind::Attachment(what))]);
    }
    Ok(())
}

fn find(db: &dyn Database, digest: &Digest) -> Result<Option<Attachment>> {
    let values = [Value::Bytes(digest.as_bytes())];
    first(db, READING, sql::SELECT_ATTACHMENT, &values, decode)
}

fn stored(db: &dyn Database) -> Result<Vec<Result<Attachment, Fault>>> {
    if !has_more_than_entries(db) {
        return Ok(Vec::new());
    }
    all(db, READING, sql::SELECT_ATTACHMENTS, &[], decode)
}

fn decode(row: &[Value<'_>]) -> Result<Attachment, Fault> {
    let read = || {
        let digest = Digest::from_bytes(rows::array(row, 0, "digest")?);
        let media = rows::text(row, 1, "media")?;
        let known = Media::by_name(media);
        let media = known.ok_or_else(|| FaultKind::Column {
            column: "media",
            found: format!("{media:?}, which is no kind of attachment"),
        })?;
        Ok(Attachment { digest, media, size: rows::count(row, 2, "size")? })
    };
    read().map_err(|kind: FaultKind| {
        Fault::of(FaultKind::Attachment(format!("an attachment: {kind}")))
    })
}

fn check(
    db: &dyn Database,
    attachment: &Attachment,
    take: &mut dyn FnMut(&[u8]),
) -> Result<Option<Fault>> {
    let mut hasher = blake3::Hasher::new();
    let key = Value::Bytes(attachment.digest.as_bytes());
    let select = sql::SELECT_ATTACHMENT_PART;
    let read = parts::read(db, READING, select, key, attachment.size, &mut |part| {
        hasher.update(part);
        take(part);
    })?;
    let what = match read {
        Err(what) => what,
        Ok(()) if Digest::from_bytes(hasher.finalize().into()) == attachment.digest => {
            return Ok(None);
        }
        Ok(()) => "its content was changed after it was stored".to_owned(),
    };
    let what = format!("attachment {}: {what}", attachment.digest);
    Ok(Some(Fault::of(FaultKind::Attachment(what))))
}
