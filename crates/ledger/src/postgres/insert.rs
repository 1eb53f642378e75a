//! Many entries in one statement: each statement waits for an answer, and that wait is most
//! of what an entry by itself would take.

use postgres::types::ToSql;

use super::Parameter;
use crate::db::{EntryRow, Value};

/// Entries and bytes of one statement, at most; a single entry may have more bytes.
const ROWS: usize = 1000;
const BYTES: usize = 4 << 20;

/// The columns of `POSTGRES_INSERT_ENTRIES`, one list each.
pub(super) struct Columns<'a> {
    number: Vec<Option<i64>>,
    batch: Vec<Option<i64>>,
    at: Vec<Option<&'a str>>,
    by: Vec<Option<&'a str>>,
    kind: Vec<Option<&'a str>>,
    version: Vec<Option<i64>>,
    body: Vec<Option<&'a [u8]>>,
    digest: Vec<Option<&'a [u8]>>,
    request: Vec<Option<&'a str>>,
}

impl<'a> Columns<'a> {
    pub(super) fn new(rows: &[EntryRow<'a>]) -> Self {
        let integers = |at: usize| rows.iter().map(|row| integer(row[at])).collect();
        let texts = |at: usize| rows.iter().map(|row| text(row[at])).collect();
        let bytes = |at: usize| rows.iter().map(|row| bytes(row[at])).collect();
        Self {
            number: integers(0),
            batch: integers(1),
            at: texts(2),
            by: texts(3),
            kind: texts(4),
            version: integers(5),
            body: bytes(6),
            digest: bytes(7),
            request: texts(8),
        }
    }

    pub(super) fn refer(&self) -> [&(dyn ToSql + Sync); 9] {
        [
            &self.number,
            &self.batch,
            &self.at,
            &self.by,
            &self.kind,
            &self.version,
            &self.body,
            &self.digest,
            &self.request,
        ]
    }
}

/// The rows in lots, each small enough for one statement.
pub(super) fn lots<'r, 'a>(
    rows: &'r [EntryRow<'a>],
) -> impl Iterator<Item = &'r [EntryRow<'a>]> {
    let mut rest = rows;
    std::iter::from_fn(move || {
        let mut size = 0;
        let fit = rest.iter().take(ROWS).take_while(|row| {
            size += row.iter().map(|&value| length(value)).sum::<usize>();
            size <= BYTES
        });
        let count = fit.count().max(1).min(rest.len());
        let (lot, left) = rest.split_at(count);
        rest = left;
        (!lot.is_empty()).then_some(lot)
    })
}

fn length(value: Value<'_>) -> usize {
    match value {
        Value::Text(bytes) | Value::Bytes(bytes) => bytes.len(),
        Value::Null | Value::Integer(_) | Value::Other(_) => 8,
    }
}

fn integer(value: Value<'_>) -> Option<i64> {
    match value {
        Value::Integer(value) => Some(value),
        _ => None,
    }
}

fn text(value: Value<'_>) -> Option<&str> {
    match Parameter::from(value) {
        Parameter::Text(text) => text,
        Parameter::Integer(_) | Parameter::Bytes(_) => None,
    }
}

fn bytes(value: Value<'_>) -> Option<&[u8]> {
    match value {
        Value::Bytes(bytes) => Some(bytes),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sizes(bodies: &[usize]) -> Vec<usize> {
        let longest = vec![0; bodies.iter().copied().max().unwrap_or(0)];
        let rows: Vec<EntryRow<'_>> = bodies
            .iter()
            .map(|&size| {
                let mut row = [Value::Null; 9];
                row[6] = Value::Bytes(&longest[..size]);
                row
            })
            .collect();
        lots(&rows).map(<[_]>::len).collect()
    }

    #[test]
    fn lots_are_bounded_in_rows_and_bytes() {
        assert_eq!(sizes(&[]), [0; 0]);
        assert_eq!(sizes(&vec![10; 2500]), [1000, 1000, 500]);
        assert_eq!(sizes(&[10, BYTES, 10, BYTES / 2, BYTES / 2]), [1, 1, 2, 1]);
    }
}
