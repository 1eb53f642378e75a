//! Backups.

use std::fs;

use ledger::{Access, LedgerError, NewEntry, SqliteStore, Store};
use tempfile::tempdir;

use crate::{ID, create, entry, names, raw, read_all};

#[test]
fn a_backup_is_the_same_ledger_in_another_file() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[3, 2]);
    let copies = folder.path().join("copies");
    fs::create_dir(&copies).unwrap();
    // What an interrupted backup may have left.
    fs::write(copies.join("b.ledger.new"), "half").unwrap();

    let mut store = SqliteStore::open(&path, Access::ReadWrite).unwrap();
    store.append(5, &[entry(6)]).unwrap();
    let head = store.backup_to(copies.join("b.ledger")).unwrap();
    assert_eq!(head, store.head().unwrap());
    assert_eq!(names(&copies), ["b.ledger"]);

    let mut copy = SqliteStore::open(copies.join("b.ledger"), Access::ReadWrite).unwrap();
    assert_eq!(copy.id().unwrap(), ID);
    assert_eq!(read_all(&copy, 0).unwrap(), read_all(&store, 0).unwrap());
    assert_eq!(
        copy.append(6, &[entry(7)]).unwrap(),
        store.append(6, &[entry(7)]).unwrap()
    );
}

#[test]
fn a_backup_never_replaces_a_file() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[3]);
    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    let other = folder.path().join("other");
    fs::write(&other, "precious").unwrap();
    for taken in [&other, &path] {
        let error = store.backup_to(taken).unwrap_err();
        assert!(matches!(error, LedgerError::Exists { .. }), "{error}");
    }
    assert_eq!(fs::read(&other).unwrap(), b"precious");
    assert!(store.verify(None).unwrap().is_sound());
    store.backup_to(folder.path().join("no/such/folder/b")).unwrap_err();
}

#[test]
fn a_damaged_ledger_gives_no_backup() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[3]);
    raw(&path).execute_batch("UPDATE entries SET kind = 'x' WHERE number = 2").unwrap();
    let copies = tempdir().unwrap();
    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    let error = store.backup_to(copies.path().join("b")).unwrap_err();
    let LedgerError::Damaged { file: _, fault } = error else { panic!("{error}") };
    assert_eq!(fault.entry, Some(2));
    assert_eq!(names(copies.path()), [""; 0]);
}

#[test]
fn a_backup_taken_while_someone_writes_holds_whole_batches() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[4]);
    std::thread::scope(|scope| {
        let mut writer = SqliteStore::open(&path, Access::ReadWrite).unwrap();
        scope.spawn(move || {
            for round in 1..80 {
                let batch: Vec<NewEntry> = (0..4).map(entry).collect();
                writer.append(4 * round, &batch).unwrap();
            }
        });
        let reader = SqliteStore::open(&path, Access::ReadOnly).unwrap();
        for n in 0..5 {
            let head = reader.backup_to(folder.path().join(format!("b{n}"))).unwrap();
            assert_eq!(head.number % 4, 0);
        }
    });
}

#[test]
fn a_ledger_in_memory_can_be_kept() {
    let folder = tempdir().unwrap();
    let mut store = SqliteStore::in_memory().unwrap();
    let head = store.append(0, &[entry(1)]).unwrap();
    let path = folder.path().join("kept.ledger");
    assert_eq!(store.backup_to(&path).unwrap(), head);
    let mut kept = SqliteStore::open(&path, Access::ReadWrite).unwrap();
    kept.append(1, &[entry(2)]).unwrap();
}
