//! Appending and reading as they are meant to be.

use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use ledger::{Access, LedgerError, NewEntry, SqliteStore, Store};
use proptest::prelude::*;
use tempfile::tempdir;

use crate::{ID, create, entry, read_all};

#[test]
fn what_was_appended_is_read_back_with_its_batches() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    let heads = create(&path, &[1, 3, 2]);

    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    let entries = read_all(&store, 0).unwrap();
    let places: Vec<(u64, u64)> =
        entries.iter().map(|entry| (entry.number, entry.batch)).collect();
    assert_eq!(places, [(1, 1), (2, 2), (3, 2), (4, 2), (5, 5), (6, 5)]);
    for stored in &entries {
        let given = entry(stored.number);
        assert_eq!(stored.kind, given.kind);
        assert_eq!(stored.version, given.version);
        assert_eq!(stored.body, given.body);
        assert_eq!(stored.at, given.at);
        assert_eq!(stored.by, given.by);
    }
    assert_eq!(store.id().unwrap(), ID);
    assert_eq!(store.head().unwrap(), heads[2]);
    assert_eq!(entries[5].digest, heads[2].digest);
    for head in &heads {
        assert!(store.verify(Some(head)).unwrap().is_sound());
    }
}

#[test]
fn reading_goes_on_after_any_entry_and_stops_when_told() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[2, 2, 2]);
    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    let all = read_all(&store, 0).unwrap();
    for after in 0..=6 {
        assert_eq!(read_all(&store, after).unwrap(), all[after as usize..]);
    }

    let mut seen = Vec::new();
    store
        .read(1, &mut |entry| {
            seen.push(entry.number);
            if entry.number == 3 {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        })
        .unwrap();
    assert_eq!(seen, [2, 3]);

    for after in [7, u64::MAX] {
        let error = read_all(&store, after).unwrap_err();
        assert!(matches!(error, LedgerError::Beyond { head: 6, .. }), "{error}");
    }
}

#[test]
fn reading_inside_reading_is_harmless() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[3]);
    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    let mut seen = 0;
    store
        .read(0, &mut |_| {
            seen += read_all(&store, 0).unwrap().len();
            assert!(store.verify(None).unwrap().is_sound());
            ControlFlow::Continue(())
        })
        .unwrap();
    assert_eq!(seen, 9);
}

#[test]
fn whoever_comes_late_is_told_and_nothing_is_written() {
    let mut store = SqliteStore::in_memory().unwrap();
    let head = store.append(0, &[entry(1), entry(2)]).unwrap();
    for expected in [0, 1, 3, u64::MAX] {
        for batch in [&[entry(3)][..], &[]] {
            let error = store.append(expected, batch).unwrap_err();
            let LedgerError::Moved { expected: told, actual: 2 } = error else {
                panic!("{error}");
            };
            assert_eq!(told, expected);
        }
    }
    assert_eq!(store.append(2, &[]).unwrap(), head);
    assert_eq!(store.head().unwrap(), head);
    assert_eq!(read_all(&store, 0).unwrap().len(), 2);
}

#[test]
fn one_bad_entry_refuses_the_batch_and_all_problems_are_told() {
    let mut store = SqliteStore::in_memory().unwrap();
    let mut batch = [entry(1), entry(2), entry(3)];
    batch[1].at = "14 Jan".into();
    batch[2].kind = String::new();
    batch[2].by = "x".repeat(401);
    let error = store.append(0, &batch).unwrap_err();
    let LedgerError::Refused { file: _, problems } = error else { panic!("{error}") };
    assert_eq!(
        problems,
        [
            "entry 2 of the batch: its at is \"14 Jan\", which is no RFC 3339 time such as \
             2031-01-14T09:30:00Z",
            "entry 3 of the batch: its kind is empty",
            "entry 3 of the batch: its by has 401 bytes, more than 400",
        ]
    );
    assert_eq!(store.head().unwrap().number, 0);
}

#[test]
fn readers_see_whole_batches_while_the_writer_appends() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[5]);
    let done = AtomicBool::new(false);
    thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
                let mut last = 0;
                while !done.load(Ordering::Relaxed) {
                    let len = read_all(&store, 0).unwrap().len();
                    assert_eq!(len % 5, 0);
                    assert!(len >= last);
                    last = len;
                    assert!(store.verify(None).unwrap().is_sound());
                }
            });
        }
        let mut store = SqliteStore::open(&path, Access::ReadWrite).unwrap();
        for round in 1..60 {
            let batch: Vec<NewEntry> = (0..5).map(entry).collect();
            store.append(5 * round, &batch).unwrap();
        }
        done.store(true, Ordering::Relaxed);
    });
    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    assert_eq!(store.head().unwrap().number, 300);
}

fn any_entry() -> impl Strategy<Value = NewEntry> {
    let body = prop::collection::vec(any::<u8>(), 0..300);
    ("[^\\p{Cc}]{1,20}", any::<u32>(), body, "[^\\p{Cc}]{1,40}").prop_map(
        |(kind, version, body, by)| NewEntry {
            kind,
            version,
            body,
            at: "2031-01-14T09:30:00.125+01:00".into(),
            by,
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn anything_that_is_taken_comes_back_unchanged(
        batches in prop::collection::vec(prop::collection::vec(any_entry(), 1..6), 1..6),
    ) {
        let mut store = SqliteStore::in_memory().unwrap();
        let mut number = 0;
        for batch in &batches {
            number = store.append(number, batch).unwrap().number;
        }
        let stored: Vec<NewEntry> = read_all(&store, 0)
            .unwrap()
            .into_iter()
            .map(|entry| NewEntry {
                kind: entry.kind,
                version: entry.version,
                body: entry.body,
                at: entry.at,
                by: entry.by,
            })
            .collect();
        prop_assert_eq!(stored, batches.concat());
        prop_assert!(store.verify(None).unwrap().is_sound());
    }
}
