//! Appending, and telling a repeated request from a new one.

use std::collections::BTreeMap;

use super::{Meta, digest_at, has_more_than_entries, meta, rows};
use crate::batch::{Batch, Receipt, RequestId};
use crate::chain::{Chain, Digest, Link, entry_digest, start_digest};
use crate::db::{Database, EntryRow, Reading, Value, Writing, first};
use crate::entry::{Head, NewEntry};
use crate::error::{LedgerError, Result};
use crate::sql;
use crate::verdict::Fault;

pub(crate) fn append(
    db: &dyn Database,
    expected: u64,
    entries: &[NewEntry],
) -> Result<Head> {
    refuse(db, &[entries])?;
    let writing = Writing::begin(db)?;
    let head = meta(db)?.head;
    check_end(db, &head, expected)?;
    if entries.is_empty() {
        return Ok(head);
    }
    let head = insert(db, head, entries, None)?;
    set_head(db, &head)?;
    writing.commit()?;
    Ok(head)
}

pub(crate) fn append_all(
    db: &dyn Database,
    expected: u64,
    batches: &[Batch],
) -> Result<Vec<Receipt>> {
    let entries: Vec<&[NewEntry]> = batches.iter().map(|batch| &*batch.entries).collect();
    refuse(db, &entries)?;
    let writing = Writing::begin(db)?;
    let meta = meta(db)?;
    let mut known = known(db, &meta, batches)?;
    let repeated = |batch: &Batch| {
        batch.request.as_ref().is_some_and(|request| known.contains_key(request))
    };
    // An answer that was lost is given again, whatever has been appended since.
    if batches.is_empty() || !batches.iter().all(repeated) {
        check_end(db, &meta.head, expected)?;
    }
    let mut head = meta.head;
    let mut receipts = Vec::with_capacity(batches.len());
    for batch in batches {
        let request = batch.request.as_ref();
        if let Some(receipt) = request.and_then(|request| known.get(request)) {
            receipts.push(*receipt);
            continue;
        }
        let first = head.number + 1;
        head = insert(db, head, &batch.entries, request)?;
        let receipt = Receipt { first, head, repeated: false };
        receipts.push(receipt);
        if let (Some(request), false) = (request, batch.entries.is_empty()) {
            known.insert(request, Receipt { repeated: true, ..receipt });
        }
    }
    if head != meta.head {
        set_head(db, &head)?;
        writing.commit()?;
    }
    Ok(receipts)
}

/// What the request led to, if it is in the ledger.
pub(crate) fn receipt(db: &dyn Database, request: &RequestId) -> Result<Option<Receipt>> {
    let _reading = Reading::begin(db)?;
    if !has_more_than_entries(db) {
        return Ok(None);
    }
    find(db, &meta(db)?, request)
}

fn known<'a>(
    db: &dyn Database,
    meta: &Meta,
    batches: &'a [Batch],
) -> Result<BTreeMap<&'a RequestId, Receipt>> {
    let mut known = BTreeMap::new();
    for request in batches.iter().filter_map(|batch| batch.request.as_ref()) {
        if let Some(receipt) = find(db, meta, request)? {
            known.insert(request, receipt);
        }
    }
    Ok(known)
}

fn find(db: &dyn Database, meta: &Meta, request: &RequestId) -> Result<Option<Receipt>> {
    let doing = "look for a request";
    let values = [Value::Text(request.as_str().as_bytes())];
    let opened = first(db, doing, sql::SELECT_REQUEST, &values, rows::head)?;
    let Some(Head { number: opening, digest: _ }) = opened else { return Ok(None) };
    let values = [Value::Integer(opening as i64); 2];
    let next = first(db, doing, sql::SELECT_NEXT_BATCH, &values, rows::head)?;
    let last = next.map_or(meta.head.number, |next| next.number - 1);
    let Some(digest) = digest_at(db, meta, last)? else {
        let kind = crate::verdict::FaultKind::Missing { until: last };
        return Err(LedgerError::damaged(db.place(), Fault::at(last, kind)));
    };
    let head = Head { number: last, digest };
    Ok(Some(Receipt { first: opening, head, repeated: true }))
}

fn refuse(db: &dyn Database, batches: &[&[NewEntry]]) -> Result<()> {
    let mut problems = Vec::new();
    for (batch, entries) in (1..).zip(batches) {
        let which = match batches.len() {
            1 => "the batch".to_owned(),
            _ => format!("batch {batch}"),
        };
        for (place, entry) in (1..).zip(*entries) {
            let tell = |problem| format!("entry {place} of {which}: {problem}");
            problems.extend(entry.problems().into_iter().map(tell));
        }
    }
    if problems.is_empty() {
        return Ok(());
    }
    Err(LedgerError::Refused { file: db.place().to_owned(), problems })
}

/// Refuses whoever comes late, and to build on an end that doesn't fit the head: it would
/// bury the damage.
fn check_end(db: &dyn Database, head: &Head, expected: u64) -> Result<()> {
    if head.number != expected {
        return Err(LedgerError::Moved { expected, actual: head.number });
    }
    let last = first(db, "read the last entry", sql::SELECT_LAST, &[], rows::head)?;
    let last = match last {
        Some(last) => last,
        None => Head { number: 0, digest: start_digest(&meta(db)?.id) },
    };
    match Chain::after(last, last.number).finish(head) {
        Some(fault) => Err(LedgerError::damaged(db.place(), fault)),
        None => Ok(()),
    }
}

fn insert(
    db: &dyn Database,
    mut head: Head,
    entries: &[NewEntry],
    request: Option<&RequestId>,
) -> Result<Head> {
    let first = head.number + 1;
    let links: Vec<Link<'_>> = (first..)
        .zip(entries)
        .map(|(number, entry)| {
            let request = request.filter(|_| number == first).map(RequestId::as_str);
            entry.link(number, first, request)
        })
        .collect();
    let digests: Vec<Digest> = links
        .iter()
        .map(|link| {
            let digest = entry_digest(&head.digest, link);
            head = Head { number: link.number, digest };
            digest
        })
        .collect();
    let rows: Vec<EntryRow<'_>> = links
        .iter()
        .zip(&digests)
        .map(|(link, digest)| rows::values(link, digest))
        .collect();
    db.insert_entries("append entries", &rows)?;
    Ok(head)
}

fn set_head(db: &dyn Database, head: &Head) -> Result<()> {
    let values =
        [Value::Integer(head.number as i64), Value::Bytes(head.digest.as_bytes())];
    db.execute("append entries", sql::UPDATE_HEAD, &values)
}
