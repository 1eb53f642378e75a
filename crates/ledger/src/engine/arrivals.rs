//! Attachments that no entry names: when each arrived, and how those that stayed behind go.
//!
//! A form attaches its files before its act is judged, so that nobody chooses them twice. What
//! is refused and never sent again leaves files behind that belong to no record. Whether an
//! entry names a file is told by its body alone, as it was written: anywhere in it the digest
//! may stand, in small letters or capitals, be it in force still or long since put right.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

use super::{attachments, read, rows};
use crate::attachment::Unnamed;
use crate::chain::Digest;
use crate::db::{Database, Reading, Value, Writing, all, first};
use crate::entry::is_rfc3339;
use crate::error::{LedgerError, Result};
use crate::sql;
use crate::verdict::{Fault, FaultKind, Verdict};

const READING: &str = "read when attachments arrived";
const NOTING: &str = "note when an attachment arrived";
const CLEARING: &str = "clear attachments away";

/// How many digits a digest has in a body.
const DIGITS: usize = 64;

pub(super) fn refuse_odd_time(db: &dyn Database, at: &str) -> Result<()> {
    if is_rfc3339(at) {
        return Ok(());
    }
    let problem = format!("the attachment's time is {at:?}, no RFC 3339 time");
    Err(LedgerError::Refused { file: db.place().to_owned(), problems: vec![problem] })
}

/// Notes when something arrived, in a transaction that is open.
pub(super) fn put(db: &dyn Database, digest: &Digest, at: &str) -> Result<()> {
    let values = [Value::Bytes(digest.as_bytes()), Value::Text(at.as_bytes())];
    db.execute(NOTING, sql::PUT_ARRIVAL, &values)
}

/// All arrivals of one ledger into another.
pub(super) fn copy(from: &dyn Database, to: &dyn Database) -> Result<()> {
    list(from)?.iter().try_for_each(|(digest, at)| put(to, digest, at))
}

/// When each arrived, as far as it was noted. What can't be read is passed over: it is no record.
fn list(db: &dyn Database) -> Result<BTreeMap<Digest, String>> {
    if db.format() < sql::FORMAT_WITH_ARRIVALS {
        return Ok(BTreeMap::new());
    }
    let decode = |row: &[Value<'_>]| {
        let read = || {
            let digest = Digest::from_bytes(rows::array(row, 0, "digest")?);
            Ok((digest, rows::text(row, 1, "arrived_at")?.to_owned()))
        };
        read().map_err(|kind: FaultKind| Fault::of(kind))
    };
    let found = all(db, READING, sql::SELECT_ARRIVALS, &[], decode)?;
    Ok(found.into_iter().flatten().collect())
}

/// The attachments that no entry names, by their digests.
pub(crate) fn unnamed(db: &dyn Database) -> Result<Vec<Unnamed>> {
    let _reading = Reading::begin(db)?;
    find(db)
}

fn find(db: &dyn Database) -> Result<Vec<Unnamed>> {
    let mut left: BTreeMap<Digest, _> = BTreeMap::new();
    for attachment in attachments::list(db)? {
        left.insert(attachment.digest, attachment);
    }
    read::read(db, 0, &mut |entry| {
        for digest in digests(&entry.body) {
            left.remove(&digest);
        }
        if left.is_empty() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    })?;
    let mut arrived = list(db)?;
    let unnamed = left.into_values().map(|attachment| Unnamed {
        arrived: arrived.remove(&attachment.digest),
        attachment,
    });
    Ok(unnamed.collect())
}

/// Everything in a body that could be a digest: every 64 digits in a row, wherever they begin.
fn digests(body: &[u8]) -> BTreeSet<Digest> {
    let mut found = BTreeSet::new();
    for run in body.split(|byte| !byte.is_ascii_hexdigit()) {
        for digits in run.windows(DIGITS) {
            let text = String::from_utf8_lossy(digits).to_ascii_lowercase();
            found.extend(text.parse::<Digest>().ok());
        }
    }
    found
}

/// Takes those away that no entry names and of which `goes` says that they go; those of which
/// it isn't known when they arrived are noted as of `at`. One transaction: nobody enters
/// anything in between.
pub(crate) fn clear(
    db: &dyn Database,
    at: &str,
    goes: &mut dyn FnMut(&Unnamed) -> bool,
) -> Result<Vec<Unnamed>> {
    refuse_odd_time(db, at)?;
    let writing = Writing::begin(db)?;
    // What somebody else marked would go with them, whatever names it.
    if let Some(fault) = marked(db)? {
        return Err(LedgerError::damaged(db.place(), fault));
    }
    let mut gone = Vec::new();
    for one in find(db)? {
        if one.arrived.is_none() {
            put(db, &one.attachment.digest, at)?;
        } else if goes(&one) {
            let digest = Value::Bytes(one.attachment.digest.as_bytes());
            db.execute(CLEARING, sql::INSERT_CLEARING, &[digest])?;
            gone.push(one);
        }
    }
    if !gone.is_empty() {
        for statement in [
            sql::DELETE_CLEARED_PARTS,
            sql::DELETE_CLEARED,
            sql::DELETE_CLEARED_ARRIVALS,
            sql::DELETE_CLEARING,
        ] {
            db.execute(CLEARING, statement, &[])?;
        }
    }
    writing.commit()?;
    Ok(gone)
}

/// Notes if attachments are marked to go: outside of [`clear`] none ever is, for whatever is
/// marked any program may delete.
pub(super) fn verify(db: &dyn Database, verdict: &mut Verdict) -> Result<()> {
    if db.format() >= sql::FORMAT_WITH_ARRIVALS {
        verdict.note(marked(db)?);
    }
    Ok(())
}

fn marked(db: &dyn Database) -> Result<Option<Fault>> {
    let count = |row: &[Value<'_>]| rows::count(row, 0, "count").map_err(Fault::of);
    let count = first(db, CLEARING, sql::COUNT_CLEARING, &[], count)?.unwrap_or(0);
    Ok((count > 0).then(|| {
        let what = format!(
            "{count} of the attachments may be deleted by anybody: table `clearing` names them, \
             and must be empty"
        );
        Fault::of(FaultKind::Attachment(what))
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_digest_is_found_wherever_it_stands() {
        let digest = Digest::of(b"rib 4");
        let text = digest.to_string();
        for body in [
            format!("{{\"photographs\":[\"{text}\"]}}"),
            format!("see {} in the red folder", text.to_uppercase()),
            format!("ab{text}"),
            format!("{text}{text}"),
            format!("ä{text}ä"),
        ] {
            assert!(digests(body.as_bytes()).contains(&digest), "{body}");
        }
        for body in [&text[1..], "", "photographs"] {
            assert!(digests(body.as_bytes()).is_empty(), "{body}");
        }
    }
}
