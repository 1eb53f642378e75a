//! Several batches in one transaction, and requests that are sent again.

use std::thread;

use ledger::{Access, Batch, LedgerError, NewEntry, Receipt, Store};

use crate::stores::Place;
use crate::{batch, entry, filled, read_all};

pub(crate) fn batches_of_a_group_stand_one_behind_the_other<P: Place>() {
    let (place, heads) = filled::<P>(&[2]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    let group = [
        batch(Some("a"), 3, 4),
        batch(None, 5, 5),
        batch(Some("nothing"), 1, 0),
        batch(Some("b"), 6, 8),
    ];
    let receipts = store.append_all(2, &group).unwrap();
    let told: Vec<(u64, u64, bool)> = receipts
        .iter()
        .map(|receipt| (receipt.first, receipt.head.number, receipt.repeated))
        .collect();
    assert_eq!(told, [(3, 4, false), (5, 5, false), (6, 5, false), (6, 8, false)]);
    assert_eq!(store.head().unwrap(), receipts[3].head);

    let entries = read_all(&store, 0).unwrap();
    let batches: Vec<u64> = entries.iter().map(|entry| entry.batch).collect();
    assert_eq!(batches, [1, 1, 3, 3, 5, 6, 6, 6]);
    let requests: Vec<Option<&str>> =
        entries.iter().map(|entry| entry.request.as_deref()).collect();
    let (none, a, b) = (None, Some("a"), Some("b"));
    assert_eq!(requests, [none, none, a, none, none, b, none, none]);
    assert_eq!(entries[3].digest, receipts[0].head.digest);
    assert!(store.verify(Some(&heads[0])).unwrap().is_sound());
    assert!(store.verify(Some(&receipts[0].head)).unwrap().is_sound());
    // A batch without entries leaves no trace.
    assert_eq!(store.receipt(&"nothing".parse().unwrap()).unwrap(), None);
}

pub(crate) fn a_request_counts_once_however_often_it_is_sent<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
    let first = store.append_all(0, &[batch(Some("a"), 1, 2)]).unwrap()[0];
    let again = Receipt { repeated: true, ..first };
    store.append(2, &[entry(3)]).unwrap();
    let head = store.head().unwrap();

    // A retry knows nothing of what was appended since, and may hold other entries.
    for (expected, entries) in [(0, 1..=2), (3, 1..=2), (9, 8..=9)] {
        let retry = batch(Some("a"), *entries.start(), *entries.end());
        assert_eq!(store.append_all(expected, &[retry]).unwrap(), [again]);
    }
    assert_eq!(store.head().unwrap(), head);
    assert_eq!(store.receipt(&"a".parse().unwrap()).unwrap(), Some(again));
    assert_eq!(store.receipt(&"b".parse().unwrap()).unwrap(), None);

    // In one group with others, and twice in it. Then `expected` counts.
    let group = [batch(Some("a"), 1, 2), batch(Some("b"), 4, 4), batch(Some("b"), 4, 4)];
    let error = store.append_all(2, &group).unwrap_err();
    assert!(matches!(error, LedgerError::Moved { expected: 2, actual: 3 }), "{error}");
    let receipts = store.append_all(3, &group).unwrap();
    assert_eq!(receipts[0], again);
    assert_eq!((receipts[1].first, receipts[1].repeated), (4, false));
    assert_eq!(receipts[2], Receipt { repeated: true, ..receipts[1] });

    drop(store);
    let mut store = place.open(Access::ReadWrite).unwrap();
    assert_eq!(store.append_all(0, &[batch(Some("a"), 1, 2)]).unwrap(), [again]);
    assert_eq!(read_all(&store, 0).unwrap().len(), 4);
    assert!(store.verify(None).unwrap().is_sound());
}

pub(crate) fn a_bad_entry_refuses_the_whole_group<P: Place>() {
    let (place, heads) = filled::<P>(&[2]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    let bad = NewEntry { kind: String::new(), ..entry(4) };
    let group =
        [batch(None, 3, 3), Batch { request: None, entries: vec![entry(4), bad] }];
    let error = store.append_all(2, &group).unwrap_err();
    let LedgerError::Refused { file: _, problems } = error else { panic!("{error}") };
    assert_eq!(problems, ["entry 2 of batch 2: its kind is empty"]);
    let error = store.append_all(1, &[]).unwrap_err();
    assert!(matches!(error, LedgerError::Moved { .. }), "{error}");
    assert_eq!(store.append_all(2, &[]).unwrap(), []);
    assert_eq!(store.head().unwrap(), heads[0]);
}

pub(crate) fn a_changed_request_is_found<P: Place>() {
    for (sql, entry) in [
        ("UPDATE entries SET request = 'b' WHERE number = 1", 1),
        ("UPDATE entries SET request = NULL WHERE number = 1", 1),
        ("UPDATE entries SET request = 'c' WHERE number = 2", 2),
        ("UPDATE entries SET request = 'c' WHERE number = 3", 3),
    ] {
        let place = P::vacant();
        let mut store = place.create().unwrap();
        store.append_all(0, &[batch(Some("a"), 1, 2), batch(None, 3, 3)]).unwrap();
        drop(store);
        place.tamper(sql);
        let store = place.open(Access::ReadOnly).unwrap();
        let verdict = store.verify(None).unwrap();
        assert_eq!(verdict.first_bad_entry(), Some(entry), "{sql}: {verdict:#?}");
        assert!(read_all(&store, 0).is_err());
    }
}

/// Many writers who open, append and close in turns: whoever gets in finds what the others
/// left, and nothing is lost or doubled.
pub(crate) fn two_writers_never_append_at_once<P: Place>() {
    let (place, _) = filled::<P>(&[1]);
    thread::scope(|scope| {
        let writers = ["a", "b"].map(|name| {
            let place = &place;
            scope.spawn(move || {
                let mut left: Vec<u64> = (0..10).collect();
                while let Some(n) = left.pop() {
                    let mut store = loop {
                        match place.open(Access::ReadWrite) {
                            Ok(store) => break store,
                            Err(LedgerError::InUse { .. }) => thread::yield_now(),
                            Err(error) => panic!("{error}"),
                        }
                    };
                    let head = store.head().unwrap().number;
                    let request = format!("{name}{n}");
                    let twice =
                        [batch(Some(&request), n, n), batch(Some(&request), n, n)];
                    store.append_all(head, &twice).unwrap();
                }
            })
        });
        for writer in writers {
            writer.join().unwrap();
        }
    });
    let store = place.open(Access::ReadOnly).unwrap();
    assert_eq!(store.head().unwrap().number, 21);
    assert!(store.verify(None).unwrap().is_sound());
}
