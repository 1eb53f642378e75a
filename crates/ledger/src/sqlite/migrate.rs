//! Bringing a file from one format to the next.

use std::path::Path;

use rusqlite::{Connection, TransactionBehavior};

use crate::access::Access;
use crate::error::{LedgerError, Result};
use crate::sql::Migration;

/// Marks an SQLite file as a ledger (the bytes of "Turn").
pub(super) const APPLICATION_ID: i32 = i32::from_be_bytes(*b"Turn");

/// Refuses a file of another program.
pub(super) fn check_application(conn: &Connection, file: &Path) -> Result<()> {
    let found: i32 = conn
        .pragma_query_value(None, "application_id", |row| row.get(0))
        .map_err(|source| LedgerError::sqlite(file, "read the file's mark", source))?;
    if found == APPLICATION_ID {
        return Ok(());
    }
    let why = "it is an SQLite database of another program".to_owned();
    Err(LedgerError::NotALedger { file: file.to_owned(), why })
}

/// Carries out those of `steps` that the file hasn't seen, each in a transaction, where it
/// is open for writing, and returns the format that it then has.
pub(super) fn migrate(
    conn: &mut Connection,
    file: &Path,
    access: Access,
    steps: &[Migration],
) -> Result<u32> {
    let known = steps.len() as u32;
    let found = format(conn, file)?;
    if found > known {
        return Err(LedgerError::Newer { file: file.to_owned(), found, known });
    }
    if found == 0 && access == Access::ReadOnly {
        let why = "its format is 0".to_owned();
        return Err(LedgerError::NotALedger { file: file.to_owned(), why });
    }
    if access == Access::ReadOnly {
        return Ok(found);
    }
    for (step, format) in steps.iter().zip(1..).skip(found as usize) {
        apply(conn, step, format).map_err(|source| {
            LedgerError::sqlite(file, "bring the file up to date", source)
        })?;
    }
    Ok(known)
}

fn format(conn: &Connection, file: &Path) -> Result<u32> {
    let found: i32 = conn
        .pragma_query_value(None, "user_version", |row| row.get(0))
        .map_err(|source| LedgerError::sqlite(file, "read the file's format", source))?;
    u32::try_from(found).map_err(|_| LedgerError::NotALedger {
        file: file.to_owned(),
        why: format!("its format is {found}"),
    })
}

fn apply(conn: &mut Connection, step: &Migration, format: u32) -> rusqlite::Result<()> {
    let transaction = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    for statement in step.statements.iter().chain(step.sqlite) {
        transaction.execute(statement, [])?;
    }
    transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    transaction.pragma_update(None, "user_version", format)?;
    transaction.commit()
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: Migration = step(&["CREATE TABLE a (x BIGINT)"]);
    const TWO: Migration =
        step(&["INSERT INTO a VALUES (7)", "CREATE TABLE b (x BIGINT)"]);
    const BROKEN: Migration =
        step(&["INSERT INTO a VALUES (8)", "CREATE TABLE a (x BIGINT)"]);

    const fn step(statements: &'static [&'static str]) -> Migration {
        Migration { statements, sqlite: &[], postgres: &[] }
    }

    fn run(conn: &mut Connection, access: Access, steps: &[Migration]) -> Result<u32> {
        migrate(conn, Path::new("f"), access, steps)
    }

    fn seen(conn: &Connection) -> (u32, i64) {
        let rows =
            conn.query_row("SELECT count(*) FROM a", [], |row| row.get(0)).unwrap();
        (format(conn, Path::new("f")).unwrap(), rows)
    }

    #[test]
    fn each_step_runs_once_and_in_order() {
        let mut conn = Connection::open_in_memory().unwrap();
        run(&mut conn, Access::ReadWrite, &[ONE]).unwrap();
        assert_eq!(seen(&conn), (1, 0));
        run(&mut conn, Access::ReadWrite, &[ONE, TWO]).unwrap();
        run(&mut conn, Access::ReadWrite, &[ONE, TWO]).unwrap();
        assert_eq!(seen(&conn), (2, 1));
        check_application(&conn, Path::new("f")).unwrap();
    }

    #[test]
    fn a_step_that_fails_leaves_nothing_behind() {
        let mut conn = Connection::open_in_memory().unwrap();
        run(&mut conn, Access::ReadWrite, &[ONE]).unwrap();
        assert!(run(&mut conn, Access::ReadWrite, &[ONE, BROKEN]).is_err());
        assert_eq!(seen(&conn), (1, 0));
    }

    #[test]
    fn newer_files_are_refused_and_older_ones_read_as_they_are() {
        let mut conn = Connection::open_in_memory().unwrap();
        run(&mut conn, Access::ReadWrite, &[ONE, TWO]).unwrap();
        let error = run(&mut conn, Access::ReadWrite, &[ONE]).unwrap_err();
        assert!(matches!(error, LedgerError::Newer { found: 2, known: 1, file: _ }));
        let format = run(&mut conn, Access::ReadOnly, &[ONE, TWO, ONE]).unwrap();
        assert_eq!((format, seen(&conn)), (2, (2, 1)));
        let mut empty = Connection::open_in_memory().unwrap();
        let error = run(&mut empty, Access::ReadOnly, &[ONE]).unwrap_err();
        assert!(matches!(error, LedgerError::NotALedger { .. }));
    }
}
