//! Walking over a whole ledger.

use std::path::Path;

use rusqlite::Connection;

use super::migrate::migrate;
use super::rows::{self, Row};
use super::{Access, Meta};
use crate::chain::{Chain, Digest, start_digest};
use crate::entry::Head;
use crate::error::{LedgerError, Result};
use crate::sql;
use crate::verdict::{Fault, FaultKind, Verdict};

pub(super) fn verify(
    conn: &Connection,
    file: &Path,
    witness: Option<&Head>,
) -> Result<Verdict> {
    let mut verdict =
        Verdict { ledger: None, head: None, entries: 0, faults: Vec::new(), more: 0 };
    // Everything below reads one snapshot, which this statement holds while it stands on
    // its row. If even this fails, the fault is noted and the rest tried all the same.
    let mut statement = conn.prepare(sql::SELECT_META);
    let mut snapshot = statement.as_mut().ok().and_then(|held| held.query([]).ok());
    let meta = match snapshot.as_mut().map(rusqlite::Rows::next) {
        Some(Ok(row)) => rows::meta(row),
        Some(Err(error)) => Err(Fault::of(FaultKind::Meta(error.to_string()))),
        None => Err(Fault::of(FaultKind::Meta("the table can't be read".to_owned()))),
    };
    let meta = meta.map_err(|fault| verdict.note([fault])).ok();
    verdict.ledger = meta.as_ref().map(|meta| meta.id);
    verdict.head = meta.as_ref().map(|meta| meta.head);
    walk(conn, file, meta.as_ref(), witness, &mut verdict)?;
    check_schema(conn, &mut verdict)?;
    check_database(conn, file, &mut verdict)?;
    Ok(verdict)
}

fn walk(
    conn: &Connection,
    file: &Path,
    meta: Option<&Meta>,
    witness: Option<&Head>,
    verdict: &mut Verdict,
) -> Result<()> {
    let mut chain = Chain::from_start(meta.map(|meta| &meta.id));
    let mut seen = match (witness, meta) {
        (Some(Head { number: 0, digest: _ }), Some(meta)) => Some(start_digest(&meta.id)),
        _ => None,
    };
    let walked = walk_rows(conn, &mut chain, witness, &mut seen, verdict);
    match walked {
        Ok(()) => {
            verdict.note(meta.and_then(|meta| chain.finish(&meta.head)));
        }
        Err(error) => verdict.note([unreadable(file, error)?]),
    }
    if let Some(noted) = witness
        && seen != Some(noted.digest)
    {
        let kind = FaultKind::Witness { noted: *noted, found: seen };
        verdict.note([Fault { entry: (noted.number > 0).then_some(noted.number), kind }]);
    }
    Ok(())
}

fn walk_rows(
    conn: &Connection,
    chain: &mut Chain,
    witness: Option<&Head>,
    seen: &mut Option<Digest>,
    verdict: &mut Verdict,
) -> rusqlite::Result<()> {
    let mut statement = conn.prepare(sql::SELECT_ALL)?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        verdict.entries += 1;
        match rows::entry(row) {
            Row::Sound(link, digest) => {
                if witness.is_some_and(|noted| noted.number == link.number) {
                    *seen = Some(digest);
                }
                verdict.note(chain.check(&link, digest));
            }
            Row::Bad { number, kind } => verdict.note(chain.pass_over(number, kind)),
        }
    }
    Ok(())
}

/// What SQLite can't read is a finding, and what it can't do for other reasons (a lock,
/// memory, rights) an error.
fn unreadable(file: &Path, error: rusqlite::Error) -> Result<Fault> {
    use rusqlite::ErrorCode;
    match error.sqlite_error_code() {
        Some(
            ErrorCode::DatabaseBusy
            | ErrorCode::DatabaseLocked
            | ErrorCode::OutOfMemory
            | ErrorCode::PermissionDenied
            | ErrorCode::CannotOpen
            | ErrorCode::OperationInterrupted,
        ) => Err(LedgerError::sqlite(file, "verify the ledger", error)),
        _ => Ok(Fault::of(FaultKind::Unreadable(error.to_string()))),
    }
}

/// A trigger or a view could change what is read or written behind our back, so that
/// nothing may be there but what the migrations make.
fn check_schema(conn: &Connection, verdict: &mut Verdict) -> Result<()> {
    let memory = Path::new(":memory:");
    let err =
        |source| LedgerError::sqlite(memory, "make a ledger to compare with", source);
    let mut model = Connection::open_in_memory().map_err(err)?;
    migrate(&mut model, memory, Access::ReadWrite, sql::MIGRATIONS)?;
    let wanted = schema(&model).map_err(err)?;
    let found = match schema(conn) {
        Ok(found) => found,
        Err(error) => {
            verdict.note([Fault::of(FaultKind::Schema(error.to_string()))]);
            return Ok(());
        }
    };
    let extra = found.iter().filter(|part| !wanted.contains(part));
    verdict.note(extra.map(|(kind, name, _)| {
        Fault::of(FaultKind::Schema(format!("the {kind} {name} is unknown or altered")))
    }));
    let lost = wanted.iter().filter(|part| !found.contains(part));
    verdict.note(lost.map(|(kind, name, _)| {
        Fault::of(FaultKind::Schema(format!("the {kind} {name} is missing or altered")))
    }));
    Ok(())
}

fn schema(conn: &Connection) -> rusqlite::Result<Vec<(String, String, String)>> {
    let mut statement = conn.prepare(sql::SQLITE_SCHEMA)?;
    let rows =
        statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    rows.collect()
}

fn check_database(conn: &Connection, file: &Path, verdict: &mut Verdict) -> Result<()> {
    let lines = conn.prepare(sql::SQLITE_INTEGRITY).and_then(|mut statement| {
        let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
        rows.collect::<rusqlite::Result<Vec<String>>>()
    });
    match lines {
        Ok(lines) => {
            let complaints = lines.into_iter().filter(|line| line != "ok");
            verdict.note(complaints.map(|line| Fault::of(FaultKind::Database(line))));
        }
        Err(error) => verdict.note([unreadable(file, error)?]),
    }
    Ok(())
}
