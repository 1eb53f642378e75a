//! Content that may be long, kept in parts, so that no row is large.

use std::ops::ControlFlow;

use super::rows;
use crate::db::{Database, Value};
use crate::error::Result;
use crate::verdict::FaultKind;

/// Bytes in a part; the last one may have fewer.
const PART: usize = 1 << 20;

/// How many parts content of `size` bytes has.
pub(super) fn count(size: u64) -> u64 {
    size.div_ceil(PART as u64)
}

pub(super) fn write(
    db: &dyn Database,
    doing: &'static str,
    insert: &'static str,
    key: Value<'_>,
    content: &[u8],
) -> Result<()> {
    for (part, content) in (1..).zip(content.chunks(PART)) {
        let values = [key, Value::Integer(part), Value::Bytes(content)];
        db.execute(doing, insert, &values)?;
    }
    Ok(())
}

/// Shows the parts of content of `size` bytes one by one; the inner error says which part
/// is missing or has another length.
pub(super) fn read(
    db: &dyn Database,
    doing: &'static str,
    select: &'static str,
    key: Value<'_>,
    size: u64,
    take: &mut dyn FnMut(&[u8]),
) -> Result<Result<(), String>> {
    for part in 1..=count(size) {
        let due = (size - (part - 1) * PART as u64).min(PART as u64);
        let mut outcome = Err(format!("part {part} of it is missing"));
        db.query(doing, select, &[key, Value::Integer(part as i64)], &mut |row| {
            outcome = match rows::bytes(row, 0, "content") {
                Ok(content) if content.len() as u64 == due => {
                    take(content);
                    Ok(())
                }
                Ok(content) => Err(format!(
                    "part {part} of it has {} bytes where {due} must be",
                    content.len()
                )),
                Err(kind) => Err(told(&kind, part)),
            };
            ControlFlow::Break(())
        })?;
        if outcome.is_err() {
            return Ok(outcome);
        }
    }
    Ok(Ok(()))
}

fn told(kind: &FaultKind, part: u64) -> String {
    format!("part {part} of it can't be read: {kind}")
}
