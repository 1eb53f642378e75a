//! Opening and creating.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, params};

use super::migrate::{check_application, migrate};
use super::{Access, SqliteStore, files};
use crate::chain::start_digest;
use crate::entry::LedgerId;
use crate::error::{LedgerError, Result};
use crate::sql;

/// Longest wait for SQLite's own short locks (recovery of a log, a checkpoint's end).
const BUSY: Duration = Duration::from_secs(10);

const MEMORY_ID: LedgerId = LedgerId::from_bytes(*b"ledger in memory");

pub(super) fn open(path: &Path, access: Access) -> Result<SqliteStore> {
    let file = path
        .canonicalize()
        .map_err(|source| LedgerError::io(path, "find the ledger", source))?;
    files::inspect(&file)?;
    match access {
        Access::ReadOnly => open_to_read(file),
        Access::ReadWrite => {
            let lock = files::lock(&file)?;
            open_to_write(file, lock)
        }
    }
}

pub(super) fn create(path: &Path, id: Option<LedgerId>) -> Result<SqliteStore> {
    let file = files::resolve_new(path)?;
    let lock = files::lock(&file)?;
    files::refuse_existing(&file)?;
    // Made under another name, so that a program killed meanwhile leaves no half ledger.
    let unfinished = files::beside(&file, ".new");
    files::remove_unfinished(&unfinished)?;
    make(&unfinished, id)?;
    files::place(&unfinished, &file)?;
    open_to_write(file, lock)
}

pub(super) fn in_memory() -> Result<SqliteStore> {
    let file = PathBuf::from(":memory:");
    let err = |source| LedgerError::sqlite(&file, "make a ledger", source);
    let mut conn = Connection::open_in_memory().map_err(err)?;
    configure(&conn).map_err(err)?;
    fill(&mut conn, &file, Some(MEMORY_ID))?;
    Ok(SqliteStore { conn, file, access: Access::ReadWrite, _lock: None })
}

/// Opens a file that nobody else knows of, such as a fresh copy, without a lock.
pub(super) fn open_private(file: &Path) -> Result<Connection> {
    let mut conn = connect(file, Access::ReadWrite)?;
    check_application(&conn, file)?;
    migrate(&mut conn, file, Access::ReadWrite, sql::MIGRATIONS)?;
    Ok(conn)
}

pub(super) fn close(conn: Connection, file: &Path) -> Result<()> {
    conn.close()
        .map_err(|(_, source)| LedgerError::sqlite(file, "close the ledger", source))
}

fn open_to_write(file: PathBuf, lock: fs::File) -> Result<SqliteStore> {
    let conn = open_private(&file)?;
    use_log(&conn, &file)?;
    Ok(SqliteStore { conn, file, access: Access::ReadWrite, _lock: Some(lock) })
}

fn open_to_read(file: PathBuf) -> Result<SqliteStore> {
    let mut conn = connect(&file, Access::ReadOnly)?;
    let checked = check_application(&conn, &file);
    if let Err(LedgerError::Sqlite { file: _, doing: _, source }) = &checked
        && source.sqlite_error_code() == Some(ErrorCode::CannotOpen)
        && !files::beside(&file, "-wal").exists()
    {
        conn = connect_unchanging(&file)?;
        check_application(&conn, &file)?;
    } else {
        checked?;
    }
    migrate(&mut conn, &file, Access::ReadOnly, sql::MIGRATIONS)?;
    Ok(SqliteStore { conn, file, access: Access::ReadOnly, _lock: None })
}

fn connect(file: &Path, access: Access) -> Result<Connection> {
    let mode = match access {
        Access::ReadOnly => OpenFlags::SQLITE_OPEN_READ_ONLY,
        Access::ReadWrite => OpenFlags::SQLITE_OPEN_READ_WRITE,
    };
    let err = |source| LedgerError::sqlite(file, "open the ledger", source);
    let flags = mode | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(file, flags).map_err(err)?;
    configure(&conn).map_err(err)?;
    Ok(conn)
}

/// For a file in a folder that can't be written and without a log: SQLite then reads the
/// file alone, without the files that it would have to put beside it.
fn connect_unchanging(file: &Path) -> Result<Connection> {
    let err = |source| LedgerError::sqlite(file, "open the ledger", source);
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY
        | OpenFlags::SQLITE_OPEN_NO_MUTEX
        | OpenFlags::SQLITE_OPEN_URI;
    let conn = Connection::open_with_flags(unchanging_uri(file), flags).map_err(err)?;
    configure(&conn).map_err(err)?;
    Ok(conn)
}

fn unchanging_uri(file: &Path) -> String {
    use std::fmt::Write as _;
    let mut uri = String::from("file://");
    let path = file.as_os_str().as_encoded_bytes();
    let (path, windows) = match path.strip_prefix(br"\\?\") {
        Some(path) => (path, true),
        None => (path, false),
    };
    if windows {
        uri.push('/');
    }
    for &byte in path {
        match byte {
            b'\\' if windows => uri.push('/'),
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'_' | b'-' => {
                uri.push(char::from(byte));
            }
            b':' if windows => uri.push(':'),
            // Writing to a string can't fail.
            _ => drop(write!(uri, "%{byte:02X}")),
        }
    }
    uri.push_str("?immutable=1");
    uri
}

fn configure(conn: &Connection) -> rusqlite::Result<()> {
    conn.busy_timeout(BUSY)?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    // On macOS only these make a sync reach the disk; elsewhere they change nothing.
    conn.pragma_update(None, "fullfsync", true)?;
    conn.pragma_update(None, "checkpoint_fullfsync", true)?;
    conn.pragma_update(None, "foreign_keys", true)?;
    // A file may come from anywhere: its schema gets no say, broken cells are looked for.
    conn.pragma_update(None, "cell_size_check", true)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    Ok(())
}

fn use_log(conn: &Connection, file: &Path) -> Result<()> {
    let mode: String = conn
        .pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))
        .map_err(|source| {
            LedgerError::sqlite(file, "start the write-ahead log", source)
        })?;
    if mode == "wal" {
        return Ok(());
    }
    Err(LedgerError::NoLog { file: file.to_owned(), mode })
}

fn make(file: &Path, id: Option<LedgerId>) -> Result<()> {
    let err = |source| LedgerError::sqlite(file, "create the ledger", source);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut conn = Connection::open_with_flags(file, flags).map_err(err)?;
    configure(&conn).map_err(err)?;
    fill(&mut conn, file, id)?;
    use_log(&conn, file)?;
    close(conn, file)
}

fn fill(conn: &mut Connection, file: &Path, id: Option<LedgerId>) -> Result<()> {
    let err = |source| LedgerError::sqlite(file, "create the ledger", source);
    migrate(conn, file, Access::ReadWrite, sql::MIGRATIONS)?;
    let id = match id {
        Some(id) => id,
        None => LedgerId::from_bytes(
            conn.query_row(sql::SQLITE_RANDOM_ID, [], |row| row.get(0)).map_err(err)?,
        ),
    };
    let start = start_digest(&id);
    conn.execute(sql::INSERT_META, params![id.as_bytes(), start.as_bytes()])
        .map_err(err)?;
    Ok(())
}
