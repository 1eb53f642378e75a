//! Opening what is a ledger, and refusing what isn't.

use std::error::Error as _;
use std::fs;
use std::path::Path;

use ledger::{Access, LedgerError, SqliteStore, Store};
use tempfile::tempdir;

use crate::{ID, create, entry, names, raw, read_all};

/// Both ways of opening must fail with a sentence that ends like this, and give advice.
fn refused(path: &Path, end: &str) {
    for access in [Access::ReadOnly, Access::ReadWrite] {
        let error = SqliteStore::open(path, access).unwrap_err();
        let told = error.to_string();
        let name = path.file_name().unwrap().to_str().unwrap();
        assert!(told.contains(name), "{told}");
        assert!(told.ends_with(end), "{told}");
        assert!(error.hint().is_some(), "{told}");
        assert_eq!(told.matches(name).count(), 1, "{told}");
    }
}

#[test]
fn what_is_no_ledger_is_refused_with_the_reason() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    let error = SqliteStore::open(&path, Access::ReadOnly).unwrap_err();
    assert_eq!(error.to_string(), format!("there is no ledger at {}", path.display()));
    assert_eq!(names(folder.path()), [""; 0]);

    fs::create_dir(&path).unwrap();
    refused(&path, "is not a ledger: it is a folder");
    fs::remove_dir(&path).unwrap();

    fs::write(&path, "").unwrap();
    refused(&path, "is not a ledger: it is empty");
    fs::write(&path, "item;zone\n1;hull\n").unwrap();
    refused(&path, "is not a ledger: it is no SQLite database");
    fs::write(&path, b"SQLite format 3\0and then something else").unwrap();
    refused(&path, "is cut short: it has 39 bytes and must have 100");
    let mut noise = b"SQLite format 3\0".to_vec();
    noise.extend(std::iter::repeat_n(0xA5, 5000));
    fs::write(&path, noise).unwrap();
    refused(&path, "is not a ledger: SQLite can't read it");

    fs::remove_file(&path).unwrap();
    raw(&path).execute_batch("CREATE TABLE entries (number BIGINT)").unwrap();
    refused(&path, "is not a ledger: it is an SQLite database of another program");
}

#[test]
fn a_refused_file_is_left_as_it_was() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("other.db");
    raw(&path).execute_batch("CREATE TABLE t (x); INSERT INTO t VALUES (1)").unwrap();
    let before = fs::read(&path).unwrap();
    SqliteStore::open(&path, Access::ReadWrite).unwrap_err();
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn a_ledger_of_a_newer_version_is_refused() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[2]);
    raw(&path).pragma_update(None, "user_version", 5).unwrap();
    refused(
        &path,
        "was made by a newer version: its format is 5, the newest known here is 4",
    );
    raw(&path).pragma_update(None, "user_version", -1).unwrap();
    refused(&path, "is not a ledger: its format is -1");
}

#[test]
fn a_ledger_cut_anywhere_is_refused_or_found_damaged() {
    let folder = tempdir().unwrap();
    let whole = folder.path().join("whole.ledger");
    create(&whole, &[200, 100]);
    let bytes = fs::read(&whole).unwrap();
    let path = folder.path().join("a.ledger");
    let page = 4096;
    for length in [16, 99, 100, 101, page - 1, page, page + 1, bytes.len() - 1] {
        fs::write(&path, &bytes[..length]).unwrap();
        let expected = if length < 100 { 100 } else { bytes.len() };
        refused(
            &path,
            &format!("is cut short: it has {length} bytes and must have {expected}"),
        );
    }
}

#[test]
fn there_is_one_writer_and_readers_never_wait() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[2]);
    let mut writer = SqliteStore::open(&path, Access::ReadWrite).unwrap();
    let error = SqliteStore::open(&path, Access::ReadWrite).unwrap_err();
    assert!(matches!(error, LedgerError::InUse { .. }));
    assert!(error.to_string().ends_with("a.ledger is open for writing elsewhere"));
    let error = SqliteStore::create(&path).unwrap_err();
    assert!(matches!(error, LedgerError::InUse { .. }));

    let mut reader = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    writer.append(2, &[entry(3)]).unwrap();
    assert_eq!(reader.head().unwrap().number, 3);
    let error = reader.append(3, &[entry(4)]).unwrap_err();
    assert!(matches!(error, LedgerError::ReadOnly { .. }));

    drop(writer);
    SqliteStore::open(&path, Access::ReadWrite).unwrap().append(3, &[entry(4)]).unwrap();
    assert_eq!(read_all(&reader, 0).unwrap().len(), 4);
}

#[test]
fn creating_never_replaces_a_file() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[2]);
    let error = SqliteStore::create(&path).unwrap_err();
    assert_eq!(error.to_string(), format!("{} exists already", path.display()));
    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    assert_eq!(store.head().unwrap().number, 2);

    let error = SqliteStore::create(folder.path().join("no/such/folder")).unwrap_err();
    assert!(matches!(error, LedgerError::NotFound { .. }), "{error}");
    for bad in ["", "/", ".."] {
        assert!(SqliteStore::create(bad).is_err(), "{bad}");
    }
}

#[test]
fn what_an_interrupted_creation_left_is_cleared_away() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    for suffix in ["", "-journal", "-wal", "-shm"] {
        fs::write(folder.path().join(format!("a.ledger.new{suffix}")), "half").unwrap();
    }
    create(&path, &[1]);
    assert_eq!(names(folder.path()), ["a.ledger", "a.ledger.lock"]);
}

#[test]
fn a_closed_ledger_is_one_file_and_its_lock() {
    let folder = tempdir().unwrap();
    create(&folder.path().join("a.ledger"), &[3, 4]);
    assert_eq!(names(folder.path()), ["a.ledger", "a.ledger.lock"]);
}

#[test]
fn new_ledgers_differ_in_their_ids() {
    let folder = tempdir().unwrap();
    let id =
        |name: &str| SqliteStore::create(folder.path().join(name)).unwrap().id().unwrap();
    assert_ne!(id("a.ledger"), id("b.ledger"));
}

#[test]
fn errors_keep_their_cause_apart() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[2]);
    raw(&path).execute_batch("DROP TABLE meta").unwrap();
    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    let error = store.head().unwrap_err();
    assert!(error.to_string().starts_with("could not read the head in "), "{error}");
    assert!(error.source().unwrap().to_string().contains("no such table"));
    assert!(!store.verify(None).unwrap().is_sound());
}

#[cfg(unix)]
mod unix {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt as _;
    use std::os::unix::fs::{PermissionsExt as _, symlink};

    use super::*;

    #[test]
    fn a_second_name_for_the_file_does_not_let_a_second_writer_in() {
        let folder = tempdir().unwrap();
        let path = folder.path().join("a.ledger");
        create(&path, &[2]);
        let other = folder.path().join("link");
        symlink(&path, &other).unwrap();
        let store = SqliteStore::open(&other, Access::ReadWrite).unwrap();
        assert_eq!(store.file(), path.canonicalize().unwrap());
        let error = SqliteStore::open(&path, Access::ReadWrite).unwrap_err();
        assert!(matches!(error, LedgerError::InUse { .. }));

        let nowhere = folder.path().join("nowhere");
        symlink(folder.path().join("not there"), &nowhere).unwrap();
        let error = SqliteStore::create(&nowhere).unwrap_err();
        assert!(matches!(error, LedgerError::Exists { .. }));
    }

    #[test]
    fn a_name_that_is_no_text_works() {
        let folder = tempdir().unwrap();
        let path = folder.path().join(OsStr::from_bytes(b"a\xff?#% .ledger"));
        let heads = create(&path, &[2]);
        let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
        assert!(store.verify(Some(&heads[0])).unwrap().is_sound());
    }

    /// Like a folder in which a program was killed while it wrote: the newest entries are
    /// in the log alone. For the superuser, who may write anyway, this is less of a test.
    #[test]
    fn newest_entries_are_never_overlooked_in_a_folder_without_write_permission() {
        let folder = tempdir().unwrap();
        let path = folder.path().join("a.ledger");
        create(&path, &[2]);
        let mut writer = SqliteStore::open(&path, Access::ReadWrite).unwrap();
        writer.append(2, &[entry(3)]).unwrap();

        for suffixes in [&["", "-wal", "-shm"][..], &["", "-wal"]] {
            let left = tempdir().unwrap();
            for suffix in suffixes {
                let name = format!("a.ledger{suffix}");
                fs::copy(folder.path().join(&name), left.path().join(&name)).unwrap();
            }
            let mode = |mode| fs::Permissions::from_mode(mode);
            fs::set_permissions(left.path(), mode(0o555)).unwrap();
            let head = SqliteStore::open(left.path().join("a.ledger"), Access::ReadOnly)
                .and_then(|store| store.head());
            fs::set_permissions(left.path(), mode(0o755)).unwrap();
            match head {
                Ok(head) => assert_eq!(head.number, 3),
                // Without the third file SQLite can't read the log in such a folder.
                Err(error) => {
                    assert_eq!(suffixes.len(), 2, "{error}");
                    assert!(error.hint().unwrap().contains("-wal"), "{error}");
                }
            }
        }
    }

    /// For the superuser, who may write anyway, this only shows that reading works.
    #[test]
    fn a_ledger_in_a_folder_without_write_permission_can_be_read() {
        let folder = tempdir().unwrap();
        let path = folder.path().join("a.ledger");
        let heads = create(&path, &[2]);
        let mode = |mode| fs::Permissions::from_mode(mode);
        fs::set_permissions(&path, mode(0o444)).unwrap();
        fs::set_permissions(folder.path(), mode(0o555)).unwrap();
        let read = SqliteStore::open(&path, Access::ReadOnly)
            .and_then(|store| Ok((store.id()?, store.verify(heads.last())?)));
        fs::set_permissions(folder.path(), mode(0o755)).unwrap();
        let (id, verdict) = read.unwrap();
        assert_eq!(id, ID);
        assert!(verdict.is_sound());
    }
}
