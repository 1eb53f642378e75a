//! What is kept for a fast start: with it, the same programme; without it or with a bad one,
//! the same programme too.

use app::{Place, Programme, SNAPSHOT_FORMAT, Witnesses, Workshop};
use ledger::{Access, Head, LedgerError};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use serde_json::json;
use tempfile::TempDir;

use crate::draws::{acts, begin, enter, lists, signed};

fn opened(place: &Place) -> Programme {
    Workshop::read(place).unwrap().programme().clone()
}

/// The bytes that are kept, and for which entry.
fn kept(place: &Place) -> (Head, Vec<u8>) {
    let store = place.open(Access::ReadOnly).unwrap();
    let found = store.snapshot(SNAPSHOT_FORMAT).unwrap().snapshot.unwrap();
    (found.head, found.content)
}

fn put(place: &Place, head: &Head, content: &[u8]) {
    let mut store = place.open(Access::ReadWrite).unwrap();
    store.put_snapshot(head, SNAPSHOT_FORMAT, content).unwrap();
}

#[test]
fn a_snapshot_and_what_came_after_it_are_all_entries_folded() {
    let mut runner = TestRunner::new(ProptestConfig {
        cases: 12,
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    let cut = 0..70_usize;
    let check = |(lists, cut): (Vec<_>, usize)| {
        let folder = TempDir::new().unwrap();
        let place = Place::from(folder.path().join("a.ledger"));
        let mut workshop = begin(&place);
        let (before, after) = lists.split_at(cut.min(lists.len()));
        enter(&mut workshop, before);
        prop_assert!(workshop.keep_snapshot(1).unwrap());
        prop_assert!(!workshop.keep_snapshot(1).unwrap());
        let at_the_cut = workshop.programme().clone();
        drop(workshop);
        prop_assert_eq!(&opened(&place), &at_the_cut);
        let mut workshop = Workshop::open(&place).unwrap();
        enter(&mut workshop, after);
        let end = workshop.programme().clone();
        drop(workshop);
        prop_assert_eq!(&opened(&place), &end);
        let proof = app::verify(&place, &Witnesses::default()).unwrap();
        prop_assert!(proof.is_sound() && proof.notices.is_empty(), "{:#?}", proof);
        app::forget_snapshots(&place).unwrap();
        prop_assert_eq!(&opened(&place), &end);
        Ok(())
    };
    runner.run(&(lists(), cut), check).unwrap();
}

#[test]
fn what_is_no_snapshot_of_this_shape_is_passed_over() {
    let folder = TempDir::new().unwrap();
    let place = Place::from(folder.path().join("a.ledger"));
    let mut workshop = begin(&place);
    let true_one = workshop.programme().clone();
    workshop.keep_snapshot(1).unwrap();
    drop(workshop);
    let (head, content) = kept(&place);
    let longer = [&content[..], b"x"].concat();
    let bad = [&content[..content.len() / 2], &content[1..], b"", &longer, &[0xff; 64]];
    for content in bad {
        put(&place, &head, content);
        assert!(opened(&place) == true_one);
        let proof = app::verify(&place, &Witnesses::default()).unwrap();
        assert!(proof.faults[0].contains("is not what the entries come to"));
    }
    // One of another version is not even looked at.
    let mut store = place.open(Access::ReadWrite).unwrap();
    store.put_snapshot(&head, "programme of another version", &content).unwrap();
    assert_eq!(store.snapshot(SNAPSHOT_FORMAT).unwrap().snapshot, None);
    drop(store);
    assert!(opened(&place) == true_one);
    assert!(app::verify(&place, &Witnesses::default()).unwrap().is_sound());
    // A changed byte is found by the checksum that the ledger keeps with it.
    put(&place, &head, &content);
    let file = folder.path().join("a.ledger");
    let mut bytes = std::fs::read(&file).unwrap();
    let part = &content[content.len() - 200..content.len() - 100];
    let at = bytes.windows(part.len()).position(|found| found == part).unwrap();
    bytes[at] ^= 1;
    std::fs::write(&file, bytes).unwrap();
    assert!(opened(&place) == true_one);
    let proof = app::verify(&place, &Witnesses::default()).unwrap();
    assert!(proof.is_sound() && proof.notices.len() == 1, "{proof:#?}");
}

#[test]
fn a_doctored_snapshot_is_named_and_can_be_thrown_away() {
    let folder = TempDir::new().unwrap();
    let [place, other] =
        ["a.ledger", "b.ledger"].map(|name| Place::from(folder.path().join(name)));
    let mut workshops = [&place, &other].map(begin);
    // In one of them a step more was signed away; its bytes are put in the other's place.
    let raise = |what: &str| {
        acts(&json!({
            "act": "raise", "finding": "X-1", "item": "HULL", "what": what,
            "found": "2032-01-10",
        }))
    };
    for (workshop, what) in workshops.iter_mut().zip(["a crack", "a scratch"]) {
        workshop.act(&raise(what), &signed("BK", 5), None).unwrap();
        workshop.keep_snapshot(1).unwrap();
    }
    drop(workshops);
    let (head, _) = kept(&place);
    put(&place, &head, &kept(&other).1);
    assert!(opened(&place) == opened(&other), "it is taken up as it is");
    let proof = app::verify(&place, &Witnesses::default()).unwrap();
    assert!(proof.verdict.is_sound() && !proof.is_sound());
    let told = &proof.faults[0];
    let entry = format!("after entry {}", head.number);
    assert!(told.contains(&entry) && told.contains("--forget"), "{told}");
    app::forget_snapshots(&place).unwrap();
    assert!(app::verify(&place, &Witnesses::default()).unwrap().is_sound());
    assert!(opened(&place) != opened(&other));
}

#[test]
fn little_is_not_kept_and_a_reader_keeps_nothing() {
    let folder = TempDir::new().unwrap();
    let place = Place::from(folder.path().join("a.ledger"));
    begin(&place).rest();
    let store = place.open(Access::ReadOnly).unwrap();
    assert_eq!(store.snapshot(SNAPSHOT_FORMAT).unwrap().snapshot, None);
    let mut reader = Workshop::read(&place).unwrap();
    reader.rest();
    let error = reader.keep_snapshot(1).unwrap_err();
    let app::AppError::Ledger(error) = error else { panic!("{error}") };
    assert!(matches!(error, LedgerError::ReadOnly { .. }), "{error}");
}
