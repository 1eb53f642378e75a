//! Rows as they come out of the database, where nothing is taken on trust: SQLite keeps
//! any type in any column, and damage may leave anything.

use super::Meta;
use crate::chain::{Digest, Link};
use crate::db::{EntryRow, Value};
use crate::entry::{Head, LedgerId};
use crate::verdict::{Fault, FaultKind};

/// A row of `entries`.
pub(super) enum Row<'a> {
    /// Every column holds what it must.
    Sound(Link<'a>, Digest),
    /// Some column doesn't.
    Bad {
        /// The number, where that could be read.
        number: Option<u64>,
        /// What is wrong.
        kind: FaultKind,
    },
}

impl Row<'_> {
    /// The number, where it could be read.
    pub(super) fn number(&self) -> Option<u64> {
        match self {
            Self::Sound(link, _) => Some(link.number),
            Self::Bad { number, kind: _ } => *number,
        }
    }
}

pub(super) type Found<T> = Result<T, FaultKind>;

/// Decodes a row of `SELECT_PAGE`.
pub(super) fn entry<'a>(row: &[Value<'a>]) -> Row<'a> {
    let number = match count(row, 0, "number") {
        Ok(number) => number,
        Err(kind) => return Row::Bad { number: None, kind },
    };
    match columns(row, number) {
        Ok((link, digest)) => Row::Sound(link, digest),
        Err(kind) => Row::Bad { number: Some(number), kind },
    }
}

/// The values of `INSERT_ENTRY`.
pub(super) fn values<'a>(link: &Link<'a>, digest: &'a Digest) -> EntryRow<'a> {
    [
        Value::Integer(link.number as i64),
        Value::Integer(link.batch as i64),
        Value::Text(link.at.as_bytes()),
        Value::Text(link.by.as_bytes()),
        Value::Text(link.kind.as_bytes()),
        Value::Integer(i64::from(link.version)),
        Value::Bytes(link.body),
        Value::Bytes(digest.as_bytes()),
        link.request.map_or(Value::Null, |request| Value::Text(request.as_bytes())),
    ]
}

/// Decodes a row of number and digest.
pub(super) fn head(row: &[Value<'_>]) -> Result<Head, Fault> {
    let number = count(row, 0, "number").map_err(Fault::of)?;
    let digest = array(row, 1, "digest").map_err(|kind| Fault::at(number, kind))?;
    Ok(Head { number, digest: Digest::from_bytes(digest) })
}

/// Decodes the row of `SELECT_META`; `None` is a table without a row.
pub(super) fn meta(row: Option<&[Value<'_>]>) -> Result<Meta, Fault> {
    let Some(row) = row else {
        return Err(Fault::of(FaultKind::Meta("the row is missing".to_owned())));
    };
    let read = || {
        let id = LedgerId::from_bytes(array(row, 0, "ledger")?);
        let number = count(row, 1, "head_number")?;
        let digest = Digest::from_bytes(array(row, 2, "head_digest")?);
        // SQLite's own check looks at constraints only where it may write.
        for (at, column) in [(3, "only_row"), (4, "count of rows")] {
            let found = count(row, at, column)?;
            if found != 1 {
                return Err(bad(column, format!("{found} where 1 must be")));
            }
        }
        Ok(Meta { id, head: Head { number, digest } })
    };
    read().map_err(|kind: FaultKind| Fault::of(FaultKind::Meta(kind.to_string())))
}

fn columns<'a>(row: &[Value<'a>], number: u64) -> Found<(Link<'a>, Digest)> {
    let version = count(row, 5, "version")?;
    let link = Link {
        number,
        batch: count(row, 1, "batch")?,
        at: text(row, 2, "recorded_at")?,
        by: text(row, 3, "recorded_by")?,
        kind: text(row, 4, "kind")?,
        version: u32::try_from(version)
            .map_err(|_| bad("version", format!("{version}, more than 32 bits")))?,
        body: bytes(row, 6, "body")?,
        request: match value(row, 8, "request")? {
            Value::Null => None,
            _ => Some(text(row, 8, "request")?),
        },
    };
    Ok((link, Digest::from_bytes(array(row, 7, "digest")?)))
}

pub(super) fn count(row: &[Value<'_>], at: usize, column: &'static str) -> Found<u64> {
    match value(row, at, column)? {
        Value::Integer(value) => {
            u64::try_from(value).map_err(|_| bad(column, format!("{value}, below zero")))
        }
        other => Err(bad(column, describe(other))),
    }
}

pub(super) fn text<'a>(
    row: &[Value<'a>],
    at: usize,
    column: &'static str,
) -> Found<&'a str> {
    match value(row, at, column)? {
        Value::Text(bytes) => std::str::from_utf8(bytes)
            .map_err(|_| bad(column, "text that isn't UTF-8".to_owned())),
        other => Err(bad(column, describe(other))),
    }
}

pub(super) fn bytes<'a>(
    row: &[Value<'a>],
    at: usize,
    column: &'static str,
) -> Found<&'a [u8]> {
    match value(row, at, column)? {
        Value::Bytes(bytes) => Ok(bytes),
        other => Err(bad(column, describe(other))),
    }
}

pub(super) fn array<const N: usize>(
    row: &[Value<'_>],
    at: usize,
    column: &'static str,
) -> Found<[u8; N]> {
    let found = bytes(row, at, column)?;
    found
        .try_into()
        .map_err(|_| bad(column, format!("{} bytes where {N} must be", found.len())))
}

fn value<'a>(row: &[Value<'a>], at: usize, column: &'static str) -> Found<Value<'a>> {
    row.get(at).copied().ok_or_else(|| bad(column, "nothing".to_owned()))
}

fn bad(column: &'static str, found: String) -> FaultKind {
    FaultKind::Column { column, found }
}

fn describe(value: Value<'_>) -> String {
    match value {
        Value::Null => "nothing",
        Value::Integer(_) => "a whole number",
        Value::Other(what) => what,
        Value::Text(_) => "text",
        Value::Bytes(_) => "bytes",
    }
    .to_owned()
}
