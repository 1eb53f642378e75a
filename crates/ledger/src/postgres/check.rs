//! What only this database can check: its tables, constraints and triggers.

use std::collections::BTreeSet;
use std::ops::ControlFlow;

use super::PostgresStore;
use crate::db::{Database, Value};
use crate::error::Result;
use crate::sql;
use crate::verdict::{Fault, FaultKind, Verdict};

/// What the server tells of the tables of the newest format, one line each.
const WANTED: &str = include_str!("schema.txt");

/// A trigger, a rule or a view could change what is read or written behind our back, and a
/// trigger of ours that is off lets history be changed: nothing may be there but what the
/// migrations make, and all of that.
pub(super) fn schema(store: &PostgresStore, verdict: &mut Verdict) -> Result<()> {
    if store.format() < sql::MIGRATIONS.len() as u32 {
        return Ok(());
    }
    let found = match lines(store) {
        Ok(found) => found,
        Err(error) => {
            let fault = store.finding(error)?;
            verdict.note([Fault::of(FaultKind::Schema(fault.to_string()))]);
            return Ok(());
        }
    };
    let wanted: BTreeSet<String> = WANTED.lines().map(str::to_owned).collect();
    let tell = |line: &String, how: &str| {
        Fault::of(FaultKind::Schema(format!("the {line} is {how} or altered")))
    };
    verdict.note(found.difference(&wanted).map(|line| tell(line, "unknown")));
    verdict.note(wanted.difference(&found).map(|line| tell(line, "missing")));
    Ok(())
}

fn lines(store: &PostgresStore) -> Result<BTreeSet<String>> {
    let mut lines = BTreeSet::new();
    let values = [Value::Integer(store.schema)];
    store.query("read the tables", sql::POSTGRES_SCHEMA, &values, &mut |row| {
        lines.insert(match row.first() {
            Some(Value::Text(line)) => String::from_utf8_lossy(line).into_owned(),
            other => format!("{other:?}"),
        });
        ControlFlow::Continue(())
    })?;
    Ok(lines)
}
