//! Appending and reading as they are meant to be.

use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use ledger::{Access, LedgerError, NewEntry, Store};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

use crate::stores::Place;
use crate::{ID, entry, filled, read_all};

pub(crate) fn what_was_appended_is_read_back_with_its_batches<P: Place>() {
    let (place, heads) = filled::<P>(&[1, 3, 2]);

    let store = place.open(Access::ReadOnly).unwrap();
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

pub(crate) fn reading_goes_on_after_any_entry_and_stops_when_told<P: Place>() {
    let (place, _) = filled::<P>(&[2, 2, 2]);
    let store = place.open(Access::ReadOnly).unwrap();
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

pub(crate) fn reading_inside_reading_is_harmless<P: Place>() {
    let (place, _) = filled::<P>(&[3]);
    let store = place.open(Access::ReadOnly).unwrap();
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

pub(crate) fn whoever_comes_late_is_told_and_nothing_is_written<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
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

pub(crate) fn one_bad_entry_refuses_the_batch_and_all_problems_are_told<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
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

pub(crate) fn readers_see_whole_batches_while_the_writer_appends<P: Place>() {
    let (place, _) = filled::<P>(&[5]);
    let done = AtomicBool::new(false);
    thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                let store = place.open(Access::ReadOnly).unwrap();
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
        let mut store = place.open(Access::ReadWrite).unwrap();
        for round in 1..60 {
            let batch: Vec<NewEntry> = (0..5).map(entry).collect();
            store.append(5 * round, &batch).unwrap();
        }
        done.store(true, Ordering::Relaxed);
    });
    let store = place.open(Access::ReadOnly).unwrap();
    assert_eq!(store.head().unwrap().number, 300);
}

/// More than fit in one answer of a server.
pub(crate) fn long_ledgers_are_read_whole<P: Place>() {
    let (place, heads) = filled::<P>(&[255, 1, 1, 600]);
    let store = place.open(Access::ReadOnly).unwrap();
    for after in [0, 1, 255, 256, 257, 856, 857] {
        let numbers: Vec<u64> =
            read_all(&store, after).unwrap().iter().map(|entry| entry.number).collect();
        assert_eq!(numbers, (after + 1..=857).collect::<Vec<_>>());
    }
    let verdict = store.verify(heads.last()).unwrap();
    assert!(verdict.is_sound());
    assert_eq!(verdict.entries, 857);
}

pub(crate) fn there_is_one_writer_and_readers_never_wait<P: Place>() {
    let (place, _) = filled::<P>(&[2]);
    let mut writer = place.open(Access::ReadWrite).unwrap();
    let error = place.open(Access::ReadWrite).err().unwrap();
    assert!(matches!(error, LedgerError::InUse { .. }), "{error}");
    assert!(error.to_string().ends_with(" is open for writing elsewhere"));

    let mut reader = place.open(Access::ReadOnly).unwrap();
    writer.append(2, &[entry(3)]).unwrap();
    assert_eq!(reader.head().unwrap().number, 3);
    let error = reader.append(3, &[entry(4)]).unwrap_err();
    assert!(matches!(error, LedgerError::ReadOnly { .. }));

    drop(writer);
    place.open(Access::ReadWrite).unwrap().append(3, &[entry(4)]).unwrap();
    assert_eq!(read_all(&reader, 0).unwrap().len(), 4);
}

pub(crate) fn creating_never_replaces_a_ledger<P: Place>() {
    let (place, heads) = filled::<P>(&[2]);
    let error = place.create().err().unwrap();
    assert!(matches!(error, LedgerError::Exists { .. }), "{error}");
    assert_eq!(place.open(Access::ReadOnly).unwrap().head().unwrap(), heads[0]);
    let nowhere = P::vacant();
    let error = nowhere.open(Access::ReadOnly).err().unwrap();
    assert!(matches!(error, LedgerError::NotFound { .. }), "{error}");
}

pub(crate) fn anything_that_is_taken_comes_back_unchanged<P: Place>() {
    let batches = prop::collection::vec(prop::collection::vec(any_entry(), 1..6), 1..6);
    let mut runner = TestRunner::new(ProptestConfig {
        cases: if P::SQLITE { 48 } else { 8 },
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    let check = |batches: Vec<Vec<NewEntry>>| {
        let place = P::vacant();
        let mut store = place.create().unwrap();
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
        Ok(())
    };
    runner.run(&batches, check).unwrap();
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
