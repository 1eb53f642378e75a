//! The desk: many who read and sign at once.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use app::{Act, AppError, Desk, Place, Secret, Workshop};
use serde_json::json;
use tempfile::TempDir;

use crate::draws::{acts, begin, signed};

const LONG: Duration = Duration::from_secs(20);

pub(crate) fn desk() -> (TempDir, Place, Desk) {
    let dir = TempDir::new().unwrap();
    let place = Place::File(dir.path().join("ledger"));
    place.create().unwrap();
    begin(&place);
    let desk = Desk::open(&place).unwrap();
    (dir, place, desk)
}

fn raise(finding: &str) -> Vec<Act> {
    acts(&json!({
        "act": "raise", "finding": finding, "item": "PROP-P", "what": "a dent",
        "found": "2020-01-01",
    }))
}

fn has(programme: &app::Programme, finding: &str) -> bool {
    programme.open_findings().iter().any(|open| open.as_str() == finding)
}

#[test]
fn what_was_signed_is_in_the_next_snapshot() {
    let (_dir, place, desk) = desk();
    let before = desk.snapshot();
    let kept = desk.act(raise("X-1"), signed("OP", 60), None, None).unwrap();
    let after = desk.snapshot();
    assert_eq!(kept[0].number, after.number);
    assert!(has(&after.programme, "X-1"));
    assert!(!has(&before.programme, "X-1"), "a snapshot never changes");
    assert_eq!(Workshop::read(&place).unwrap().number(), after.number);
}

#[test]
fn what_another_process_enters_is_seen_and_told() {
    let (_dir, place, desk) = desk();
    let told = Arc::new(AtomicU64::new(0));
    let heard = Arc::clone(&told);
    desk.listen(move |number| heard.store(number, Ordering::SeqCst));
    let before = desk.snapshot().number;
    // The desk does not hold the ledger while nobody signs.
    let mut other = Workshop::open(&place).unwrap();
    other.act(&raise("X-2"), &signed("OP", 61), None).unwrap();
    drop(other);
    let after = desk.wait_after(before, LONG);
    assert!(after.number > before && has(&after.programme, "X-2"));
    let begun = Instant::now();
    while told.load(Ordering::SeqCst) != after.number {
        assert!(begun.elapsed() < LONG, "nobody was told");
        std::thread::yield_now();
    }
    // And what the desk signs rests on it.
    let again = desk.act(raise("X-2"), signed("OP", 62), None, None);
    assert!(matches!(again, Err(AppError::Forbidden(_))), "{again:?}");
}

/// What is kept in mind of names leaves nothing out, whoever entered it and whenever.
#[test]
fn a_history_from_the_desk_is_the_whole_one() {
    let (_dir, place, desk) = desk();
    let long = "x".repeat(300);
    let same = |name: &str| {
        let (one, other) =
            (desk.history(name).unwrap(), app::history(&place, name).unwrap());
        assert_eq!(one.json(), other.json(), "{name}");
        one.lists[0].rows.len()
    };
    assert_eq!(same("X-1"), 0);
    desk.act(raise("X-1"), signed("OP", 60), None, None).unwrap();
    assert_eq!(same("X-1"), 1);
    let mut other = Workshop::open(&place).unwrap();
    other.act(&raise("X-2"), &signed("OP", 61), None).unwrap();
    drop(other);
    for (name, least) in [("X-1", 1), ("X-2", 1), ("PROP-P", 3), ("OP", 1), ("a dent", 2)]
    {
        assert!(same(name) >= least, "{name}");
    }
    for nothing in ["X-3", "", "\"", &long] {
        same(nothing);
    }
}

#[test]
fn a_wait_ends_without_a_change_too() {
    let (_dir, _place, desk) = desk();
    let number = desk.snapshot().number;
    assert_eq!(desk.wait_after(number, Duration::from_millis(30)).number, number);
}

#[test]
fn a_request_counts_once_and_whoever_looked_earlier_is_shown_both() {
    let (_dir, _place, desk) = desk();
    let seen = desk.snapshot().number;
    let once = Some("click-1".to_owned());
    let first = desk.act(raise("X-3"), signed("OP", 63), once.clone(), None).unwrap();
    let second = desk.act(raise("X-3"), signed("OP", 64), once, None).unwrap();
    assert_eq!(first[0].number, second[0].number);
    assert!(second[0].repeated);
    let other = desk.act(raise("X-3"), signed("BK", 65), None, Some(seen));
    let Err(AppError::Changed(changed)) = other else { panic!("{other:?}") };
    assert_eq!((changed.seen, changed.since[0].by.as_str()), (seen, "OP"));
}

/// What was typed into a form that was entered before is another act: it is not entered, and
/// nobody is told that it was.
#[test]
fn a_request_that_says_something_else_is_not_taken_for_the_first() {
    let (_dir, _place, desk) = desk();
    let once = Some("click-1".to_owned());
    let first = desk.act(raise("X-3"), signed("OP", 63), once.clone(), None).unwrap();
    let number = desk.snapshot().number;
    let mut both = raise("X-3");
    both.extend(raise("X-4"));
    for (acts, by) in [(raise("X-4"), "OP"), (raise("X-3"), "BK"), (both, "OP")] {
        let spent = desk.act(acts, signed(by, 64), once.clone(), None);
        let Err(AppError::Spent { entry, by }) = spent else { panic!("{spent:?}") };
        assert_eq!((entry, by.as_str()), (first[0].number, "OP"));
    }
    assert_eq!(desk.snapshot().number, number);
    let again = desk.act(raise("X-3"), signed("OP", 65), once, None).unwrap();
    assert!(again[0].repeated && again[0].number == first[0].number);
}

#[test]
fn many_sign_at_once_and_all_of_it_is_kept() {
    let (_dir, place, desk) = desk();
    std::thread::scope(|scope| {
        for hand in 0..6 {
            let desk = &desk;
            scope.spawn(move || {
                for turn in 0..5 {
                    let finding = format!("X-{hand}-{turn}");
                    desk.act(raise(&finding), signed("OP", 70), None, None).unwrap();
                }
            });
        }
    });
    let programme = desk.snapshot().programme;
    for hand in 0..6 {
        for turn in 0..5 {
            assert!(has(&programme, &format!("X-{hand}-{turn}")));
        }
    }
    drop(desk);
    assert!(app::verify(&place, &app::Witnesses::default()).unwrap().faults.is_empty());
}

#[test]
fn a_ledger_that_goes_away_is_told_and_what_was_seen_stays() {
    let (dir, place, desk) = desk();
    let number = desk.snapshot().number;
    let Place::File(file) = &place else { panic!("it is a file") };
    let aside = dir.path().join("aside");
    std::fs::rename(file, &aside).unwrap();
    let gone = desk.act(raise("X-1"), signed("OP", 60), None, None);
    assert!(matches!(gone, Err(AppError::NoLedger(_))), "{gone:?}");
    assert_eq!(desk.snapshot().number, number);
    std::fs::rename(&aside, file).unwrap();
    desk.act(raise("X-1"), signed("OP", 60), None, None).unwrap();
}

#[test]
fn a_secret_is_proven_against_the_record() {
    let (_dir, _place, desk) = desk();
    let secret = Secret::new("four words of hers");
    let least = app::Derivation::LEAST;
    let enrol = app::enrolment_by("OP", &secret, "first", least).unwrap();
    desk.act(vec![enrol], signed("OP", 60), None, None).unwrap();
    let programme = desk.snapshot().programme;
    assert!(app::proves(&programme, "OP", &secret).unwrap());
    assert!(!app::proves(&programme, "OP", &Secret::new("other words")).unwrap());
    // Who has no key, or does not exist, proves nothing.
    assert!(!app::proves(&programme, "BK", &secret).unwrap());
    assert!(!app::proves(&programme, "nobody at all", &secret).unwrap());
}
