//! What only this database can check: its tables and its pages.

use std::ops::ControlFlow;

use super::SqliteStore;
use super::open;
use crate::db::{Database, Value};
use crate::error::Result;
use crate::sql;
use crate::verdict::{Fault, FaultKind, Verdict};

/// Kind, name and definition of a table, an index or a trigger.
type Part = [String; 3];

/// A trigger or a view could change what is read or written behind our back, so that
/// nothing may be there but what the migrations make.
pub(super) fn schema(store: &SqliteStore, verdict: &mut Verdict) -> Result<()> {
    let wanted = parts(&open::model(store.format)?)?;
    let found = match parts(store) {
        Ok(found) => found,
        Err(error) => {
            let fault = store.finding(error)?;
            verdict.note([Fault::of(FaultKind::Schema(fault.to_string()))]);
            return Ok(());
        }
    };
    let tell = |[kind, name, _]: &Part, how: &str| {
        Fault::of(FaultKind::Schema(format!("the {kind} {name} is {how} or altered")))
    };
    let extra = found.iter().filter(|part| !wanted.contains(part));
    verdict.note(extra.map(|part| tell(part, "unknown")));
    let lost = wanted.iter().filter(|part| !found.contains(part));
    verdict.note(lost.map(|part| tell(part, "missing")));
    Ok(())
}

fn parts(store: &SqliteStore) -> Result<Vec<Part>> {
    let mut parts = Vec::new();
    store.query("read the tables", sql::SQLITE_SCHEMA, &[], &mut |row| {
        let text = |at: usize| match row.get(at) {
            Some(Value::Text(bytes)) => String::from_utf8_lossy(bytes).into_owned(),
            other => format!("{other:?}"),
        };
        parts.push([text(0), text(1), text(2)]);
        ControlFlow::Continue(())
    })?;
    Ok(parts)
}

pub(super) fn pages(store: &SqliteStore, verdict: &mut Verdict) -> Result<()> {
    let checked =
        store.query("check the pages", sql::SQLITE_INTEGRITY, &[], &mut |row| {
            if let Some(Value::Text(line)) = row.first()
                && *line != b"ok"
            {
                let line = String::from_utf8_lossy(line).into_owned();
                verdict.note([Fault::of(FaultKind::Database(line))]);
            }
            ControlFlow::Continue(())
        });
    if let Err(error) = checked {
        verdict.note([store.finding(error)?]);
    }
    Ok(())
}
