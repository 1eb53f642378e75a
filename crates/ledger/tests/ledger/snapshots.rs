//! Snapshots.

use ledger::{Access, LedgerError, Store};

use crate::filled;
use crate::stores::Place;

pub(crate) fn the_newest_snapshot_that_holds_is_found<P: Place>() {
    let content = P::bytes("00");
    for (sql, number, notices) in [
        ("SELECT 1".to_owned(), Some(6), 0),
        (
            format!("UPDATE snapshot_parts SET content = {content} WHERE place = 2"),
            Some(4),
            1,
        ),
        (format!("UPDATE snapshot_parts SET content = {content}"), None, 2),
        ("DELETE FROM snapshot_parts WHERE place = 2".to_owned(), Some(4), 1),
        ("UPDATE snapshots SET number = 5 WHERE place = 2".to_owned(), Some(4), 1),
        ("UPDATE snapshots SET size = -1 WHERE place = 2".to_owned(), Some(4), 1),
        ("UPDATE snapshots SET format = 'other' WHERE place = 2".to_owned(), Some(4), 0),
        ("DELETE FROM snapshots".to_owned(), None, 0),
    ] {
        let (place, heads) = filled::<P>(&[1, 3, 2]);
        let mut store = place.open(Access::ReadWrite).unwrap();
        assert_eq!(store.snapshot("fold 1").unwrap().snapshot, None);
        store.put_snapshot(&heads[1], "fold 1", b"the programme after 4").unwrap();
        store.put_snapshot(&heads[2], "fold 1", b"the programme after 6").unwrap();
        drop(store);
        place.tamper(&sql);
        let store = place.open(Access::ReadOnly).unwrap();
        let found = store.snapshot("fold 1").unwrap();
        assert_eq!(found.notices.len(), notices, "{sql}: {found:?}");
        let got = found.snapshot.map(|snapshot| (snapshot.head, snapshot.content));
        let wanted = number.map(|number: u64| {
            let head = *heads.iter().find(|head| head.number == number).unwrap();
            (head, format!("the programme after {number}").into_bytes())
        });
        assert_eq!(got, wanted, "{sql}");
        assert_eq!(store.snapshot("fold 2").unwrap().snapshot, None);
        // No part of the record.
        assert!(store.verify(None).unwrap().is_sound(), "{sql}");
    }
}

pub(crate) fn all_snapshots_can_be_thrown_away<P: Place>() {
    let (place, heads) = filled::<P>(&[1, 1]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    for head in &heads {
        store.put_snapshot(head, "fold 1", b"content").unwrap();
    }
    store.drop_snapshots().unwrap();
    assert_eq!(store.snapshot("fold 1").unwrap().snapshot, None);
    let mut reader = place.open(Access::ReadOnly).unwrap();
    let error = reader.drop_snapshots().unwrap_err();
    assert!(matches!(error, LedgerError::ReadOnly { .. }), "{error}");
}

pub(crate) fn old_snapshots_go<P: Place>() {
    let (place, heads) = filled::<P>(&[1, 1, 1, 1]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    let large = vec![7; (2 << 20) + 5];
    for head in &heads {
        store.put_snapshot(head, "fold 1", &large).unwrap();
    }
    let found = store.snapshot("fold 1").unwrap().snapshot.unwrap();
    assert_eq!((found.head, found.content.len()), (heads[3], large.len()));
    store.put_snapshot(&heads[0], "fold 2", b"").unwrap();
    // Another version of the program has no use for them.
    assert_eq!(store.snapshot("fold 1").unwrap().snapshot, None);
    assert_eq!(store.snapshot("fold 2").unwrap().snapshot.unwrap().head, heads[0]);
}

pub(crate) fn a_snapshot_of_another_history_is_refused<P: Place>() {
    let (place, heads) = filled::<P>(&[1, 1]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    let mut foreign = heads[0];
    foreign.digest = heads[1].digest;
    let mut beyond = heads[1];
    beyond.number = 3;
    for (head, format) in
        [(foreign, "f"), (beyond, "f"), (heads[0], ""), (heads[0], "\0")]
    {
        let error = store.put_snapshot(&head, format, b"x").unwrap_err();
        assert!(matches!(error, LedgerError::Refused { .. }), "{error}");
    }
}
