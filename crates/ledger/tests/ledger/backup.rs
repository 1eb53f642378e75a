//! Backups, and putting them back.

use std::fs;

use ledger::{
    Access, BackupNote, Evidence, Existing, LedgerError, NewEntry, SqliteStore, Store,
};
use tempfile::tempdir;

use crate::stores::Place;
use crate::{ID, batch, checkpoints, entry, filled, names, read_all};

pub(crate) fn a_backup_is_the_same_ledger_in_another_file<P: Place>() {
    let (place, _) = filled::<P>(&[3, 2]);
    let copies = tempdir().unwrap();
    // What an interrupted backup may have left.
    fs::write(copies.path().join("b.ledger.new"), "half").unwrap();

    let mut store = place.open(Access::ReadWrite).unwrap();
    store.append_all(5, &[batch(Some("six"), 6, 6)]).unwrap();
    let key = checkpoints::key();
    let checkpoint = store.sign_checkpoint(&key, "2031-01-14T18:00:00Z").unwrap();
    let text = ledger::Accepted::new(b"rib 4: 2 mm", 100).unwrap();
    let attachment = store.put_attachment(&text, "2031-01-14T09:30:00Z").unwrap();
    let head = store.backup_to(&copies.path().join("b.ledger")).unwrap();
    assert_eq!(head, store.head().unwrap());
    assert_eq!(names(copies.path()), ["b.ledger"]);

    let path = copies.path().join("b.ledger");
    let mut copy = SqliteStore::open(path, Access::ReadWrite).unwrap();
    assert_eq!(copy.id().unwrap(), ID);
    assert_eq!(read_all(&copy, 0).unwrap(), read_all(&store, 0).unwrap());
    assert_eq!(copy.checkpoints().unwrap(), [checkpoint]);
    assert_eq!(copy.attachment(&attachment.digest).unwrap().unwrap().1, b"rib 4: 2 mm");
    assert!(copy.append_all(0, &[batch(Some("six"), 6, 6)]).unwrap()[0].repeated);
    assert_eq!(
        copy.append(6, &[entry(7)]).unwrap(),
        store.append(6, &[entry(7)]).unwrap()
    );
}

pub(crate) fn a_backup_never_replaces_a_file<P: Place>() {
    let (place, _) = filled::<P>(&[3]);
    let store = place.open(Access::ReadOnly).unwrap();
    let folder = tempdir().unwrap();
    let other = folder.path().join("other");
    fs::write(&other, "precious").unwrap();
    let error = store.backup_to(&other).unwrap_err();
    assert!(matches!(error, LedgerError::Exists { .. }), "{error}");
    assert_eq!(fs::read(&other).unwrap(), b"precious");
    assert!(store.verify(None).unwrap().is_sound());
    store.backup_to(&folder.path().join("no/such/folder/b")).unwrap_err();
}

pub(crate) fn a_damaged_ledger_gives_no_backup<P: Place>() {
    let (place, _) = filled::<P>(&[3]);
    place.tamper("UPDATE entries SET kind = 'x' WHERE number = 2");
    let copies = tempdir().unwrap();
    let store = place.open(Access::ReadOnly).unwrap();
    let error = store.backup_to(&copies.path().join("b")).unwrap_err();
    let LedgerError::Damaged { file: _, fault } = error else { panic!("{error}") };
    assert_eq!(fault.entry, Some(2));
    assert_eq!(names(copies.path()), [""; 0]);
}

pub(crate) fn a_backup_taken_while_someone_writes_holds_whole_batches<P: Place>() {
    let (place, _) = filled::<P>(&[4]);
    let folder = tempdir().unwrap();
    std::thread::scope(|scope| {
        let mut writer = place.open(Access::ReadWrite).unwrap();
        scope.spawn(move || {
            for round in 1..80 {
                let batch: Vec<NewEntry> = (0..4).map(entry).collect();
                writer.append(4 * round, &batch).unwrap();
            }
        });
        let reader = place.open(Access::ReadOnly).unwrap();
        for n in 0..5 {
            let head = reader.backup_to(&folder.path().join(format!("b{n}"))).unwrap();
            assert_eq!(head.number % 4, 0);
        }
    });
}

pub(crate) fn a_backup_is_restored_and_what_stood_there_set_aside<P: Place>() {
    let (place, heads) = filled::<P>(&[3, 2]);
    let folder = tempdir().unwrap();
    let backup = folder.path().join("b.ledger");
    let mut store = place.open(Access::ReadWrite).unwrap();
    let key = checkpoints::key();
    let checkpoint = store.sign_checkpoint(&key, "2031-01-14T18:00:00Z").unwrap();
    store.backup_to(&backup).unwrap();
    store.append(5, &[entry(6)]).unwrap();

    let error = place.restore(&backup, Existing::Refuse).unwrap_err();
    let in_use_or_there =
        matches!(error, LedgerError::Exists { .. } | LedgerError::InUse { .. });
    assert!(in_use_or_there, "{error}");
    let error = place.restore(&backup, Existing::SetAside).unwrap_err();
    assert!(matches!(error, LedgerError::InUse { .. }), "{error}");
    drop(store);
    let error = place.restore(&backup, Existing::Refuse).unwrap_err();
    assert!(matches!(error, LedgerError::Exists { .. }), "{error}");
    assert_eq!(place.open(Access::ReadOnly).unwrap().head().unwrap().number, 6);

    for _ in 0..2 {
        assert_eq!(place.restore(&backup, Existing::SetAside).unwrap(), heads[1]);
        let mut store = place.open(Access::ReadWrite).unwrap();
        assert_eq!(store.checkpoints().unwrap(), std::slice::from_ref(&checkpoint));
        let trusted = [key.public()];
        let evidence = Evidence { trusted: &trusted, ..Evidence::default() };
        assert!(store.verify_against(&evidence).unwrap().is_sound());
        store.append(5, &[entry(9)]).unwrap();
    }
    let vacant = P::vacant();
    assert_eq!(vacant.restore(&backup, Existing::Refuse).unwrap(), heads[1]);
}

pub(crate) fn a_damaged_backup_is_never_restored<P: Place>() {
    let (place, _) = filled::<P>(&[3]);
    let folder = tempdir().unwrap();
    let backup = folder.path().join("b.ledger");
    place.open(Access::ReadOnly).unwrap().backup_to(&backup).unwrap();
    crate::raw(&backup)
        .execute_batch("UPDATE entries SET kind = 'x' WHERE number = 2")
        .unwrap();
    let vacant = P::vacant();
    for place in [&place, &vacant] {
        let error = place.restore(&backup, Existing::SetAside).unwrap_err();
        let LedgerError::Damaged { file: _, fault } = error else { panic!("{error}") };
        assert_eq!(fault.entry, Some(2));
    }
    assert!(place.open(Access::ReadWrite).unwrap().verify(None).unwrap().is_sound());
    let error = vacant.open(Access::ReadOnly).err().unwrap();
    assert!(matches!(error, LedgerError::NotFound { .. }), "{error}");
}

pub(crate) fn the_last_backup_is_noted<P: Place>() {
    let (place, _) = filled::<P>(&[3]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    assert_eq!(store.last_backup().unwrap(), None);
    for (number, at) in [(3, "2031-01-14T18:00:00Z"), (3, "2031-01-15T18:00:00Z")] {
        let note = BackupNote { number, at: at.into() };
        store.note_backup(&note).unwrap();
        assert_eq!(store.last_backup().unwrap(), Some(note));
    }
    let note = BackupNote { number: 3, at: "yesterday".into() };
    let error = store.note_backup(&note).unwrap_err();
    assert!(matches!(error, LedgerError::Refused { .. }), "{error}");
    assert!(store.verify(None).unwrap().is_sound());
}

#[test]
fn the_ledger_itself_is_never_replaced_by_its_backup() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    crate::create(&path, &[3]);
    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    let error = store.backup_to(&path).unwrap_err();
    assert!(matches!(error, LedgerError::Exists { .. }), "{error}");
}

#[test]
fn what_is_set_aside_keeps_its_newest_entries() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    crate::create(&path, &[3]);
    let backup = folder.path().join("b.ledger");
    let mut store = SqliteStore::open(&path, Access::ReadWrite).unwrap();
    store.backup_to(&backup).unwrap();
    // A reader that stays keeps the newest entry in the log.
    let reader = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    reader.head().unwrap();
    store.append(3, &[entry(4)]).unwrap();
    drop(store);
    SqliteStore::restore(&backup, &path, Existing::SetAside).unwrap();
    drop(reader);
    let aside = folder.path().join("a.ledger.replaced");
    let aside = SqliteStore::open(aside, Access::ReadWrite).unwrap();
    assert_eq!(read_all(&aside, 0).unwrap().len(), 4);
    let restored = SqliteStore::open(&path, Access::ReadWrite).unwrap();
    assert_eq!(restored.head().unwrap().number, 3);
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

#[test]
fn a_backup_has_no_room_for_what_was_cleared_away() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    crate::create(&path, &[3]);
    let mut store = SqliteStore::open(&path, Access::ReadWrite).unwrap();
    let text =
        ledger::Accepted::new(&b"rib 4: 2 mm\n".repeat(200_000), 10_000_000).unwrap();
    store.put_attachment(&text, "2031-01-14T09:30:00Z").unwrap();
    let size = |name: &str| fs::metadata(folder.path().join(name)).unwrap().len();
    store.backup_to(&folder.path().join("before")).unwrap();
    let gone = store.clear_unnamed("2031-03-14T09:30:00Z", &mut |_| true).unwrap();
    assert_eq!(gone.len(), 1);
    let head = store.backup_to(&folder.path().join("after")).unwrap();
    assert!(size("after") * 10 < size("before"));
    let mut copy =
        SqliteStore::open(folder.path().join("after"), Access::ReadWrite).unwrap();
    assert!(copy.verify(Some(&head)).unwrap().is_sound());
    copy.append(3, &[entry(4)]).unwrap();
    // The next one takes the room that it left.
    drop(store);
    let full = size("a.ledger");
    let mut store = SqliteStore::open(&path, Access::ReadWrite).unwrap();
    store.put_attachment(&text, "2031-03-14T09:30:00Z").unwrap();
    drop(store);
    assert!(size("a.ledger") < full + 200_000);
}
