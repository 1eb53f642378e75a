//! Opening and creating.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags};

use super::migrate::{check_application, migrate};
use super::{SqliteStore, files};
use crate::access::Access;
use crate::engine;
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
            open_to_write(&file, lock)
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
    make(&unfinished, id, |_| Ok(()))?;
    files::place(&unfinished, &file)?;
    open_to_write(&file, lock)
}

pub(super) fn in_memory() -> Result<SqliteStore> {
    let file = PathBuf::from(":memory:");
    let err = |source| LedgerError::sqlite(&file, "make a ledger", source);
    let conn = Connection::open_in_memory().map_err(err)?;
    configure(&conn).map_err(err)?;
    fill(conn, file, Some(MEMORY_ID))
}

/// An empty database with the tables of this format, to compare with.
pub(super) fn model(format: u32) -> Result<SqliteStore> {
    let file = PathBuf::from(":memory:");
    let err = |source| LedgerError::sqlite(&file, "make tables to compare with", source);
    let mut conn = Connection::open_in_memory().map_err(err)?;
    let steps = &sql::MIGRATIONS[..format as usize];
    let format = migrate(&mut conn, &file, Access::ReadWrite, steps)?;
    Ok(SqliteStore::new(conn, file, Access::ReadWrite, format))
}

/// Opens a file that nobody else knows of, such as a fresh copy, without a lock. In errors
/// it goes by `name`.
pub(super) fn open_private(file: &Path, name: &Path) -> Result<SqliteStore> {
    let mut conn = connect(file, Access::ReadWrite)?;
    let format = migrate(&mut conn, name, Access::ReadWrite, sql::MIGRATIONS)?;
    Ok(SqliteStore::new(conn, name.to_owned(), Access::ReadWrite, format))
}

pub(super) fn close(conn: Connection, file: &Path) -> Result<()> {
    conn.close()
        .map_err(|(_, source)| LedgerError::sqlite(file, "close the ledger", source))
}

fn open_to_write(file: &Path, lock: files::WriterLock) -> Result<SqliteStore> {
    let store = open_private(file, file)?;
    use_log(&store.conn, file)?;
    Ok(SqliteStore { _lock: Some(lock), ..store })
}

fn open_to_read(file: PathBuf) -> Result<SqliteStore> {
    let mut conn = match connect(&file, Access::ReadOnly) {
        Err(error) if wants_files_beside(&error, &file) => connect_unchanging(&file)?,
        other => other?,
    };
    let format = migrate(&mut conn, &file, Access::ReadOnly, sql::MIGRATIONS)?;
    Ok(SqliteStore::new(conn, file, Access::ReadOnly, format))
}

/// Whether SQLite failed because it may not put its files beside a ledger without a log.
fn wants_files_beside(error: &LedgerError, file: &Path) -> bool {
    let LedgerError::Sqlite { file: _, doing: _, source } = error else { return false };
    let refused = matches!(
        source.sqlite_error_code(),
        Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly)
    );
    refused && !files::has_log(file)
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
    check_application(&conn, file)?;
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
    check_application(&conn, file)?;
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

/// Makes a ledger at `file`, which nobody else knows of yet, and lets `fill_in` put
/// something in.
pub(super) fn make(
    file: &Path,
    id: Option<LedgerId>,
    fill_in: impl FnOnce(&SqliteStore) -> Result<()>,
) -> Result<()> {
    let err = |source| LedgerError::sqlite(file, "create the ledger", source);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(file, flags).map_err(err)?;
    configure(&conn).map_err(err)?;
    let store = fill(conn, file.to_owned(), id)?;
    use_log(&store.conn, file)?;
    fill_in(&store)?;
    close(store.conn, file)
}

fn fill(
    mut conn: Connection,
    file: PathBuf,
    id: Option<LedgerId>,
) -> Result<SqliteStore> {
    let err = |source| LedgerError::sqlite(&file, "create the ledger", source);
    let format = migrate(&mut conn, &file, Access::ReadWrite, sql::MIGRATIONS)?;
    let id = match id {
        Some(id) => id,
        None => LedgerId::from_bytes(
            conn.query_row(sql::SQLITE_RANDOM_ID, [], |row| row.get(0)).map_err(err)?,
        ),
    };
    let store = SqliteStore::new(conn, file, Access::ReadWrite, format);
    engine::found(&store, &id)?;
    Ok(store)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chain::start_digest;
    use crate::entry::Head;
    use crate::store::Store;

    #[test]
    fn a_file_is_read_alone_whatever_its_name() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["plain.ledger", "a b%41?c=d#e&f.ledger", "Flügel 50%.ledger"] {
            let path = folder.path().join(name);
            let id = LedgerId::from_bytes([7; 16]);
            drop(create(&path, Some(id)).unwrap());
            let file = path.canonicalize().unwrap();
            let conn = connect_unchanging(&file).unwrap();
            assert!(!files::beside(&file, "-shm").exists(), "{name}");
            let store = SqliteStore::new(conn, file, Access::ReadOnly, 2);
            let empty = Head { number: 0, digest: start_digest(&id) };
            assert_eq!(store.head().unwrap(), empty, "{name}");
        }
    }
}
