//! Files that no entry names, and what is never cleared away: what somebody is about to name.

use std::sync::atomic::{AtomicBool, Ordering};

use app::{AppError, Desk, LeftBehind, Place, Witnesses};
use jiff::Timestamp;
use serde_json::json;

use crate::desk::desk;
use crate::draws::{acts, signed};

const SENT: &str = "2032-01-14T12:00:00+00:00";

fn attach(place: &Place, words: &str) -> String {
    let fit = app::fit(words.as_bytes(), 1000).unwrap();
    app::attach_all(place, &[fit], SENT).unwrap().remove(0).digest
}

fn raise(desk: &Desk, finding: &str, digest: &str) -> Result<(), AppError> {
    let act = json!({
        "act": "raise", "finding": finding, "item": "PROP-P", "what": "a dent",
        "found": "2020-01-01", "photographs": [digest],
    });
    desk.act(acts(&act), signed("OP", 60), None, None).map(drop)
}

fn days_later(days: i64) -> Timestamp {
    let sent: Timestamp = SENT.parse().unwrap();
    sent + jiff::SignedDuration::from_hours(24 * days)
}

fn is_there(place: &Place, digest: &str) -> bool {
    app::attachment(place, digest).unwrap().is_some()
}

#[test]
fn only_what_is_old_and_never_named_goes() {
    let (_dir, place, desk) = desk();
    let (named, left) = (attach(&place, "named"), attach(&place, "left behind"));
    raise(&desk, "X-1", &named).unwrap();
    let found = app::left_behind(&place).unwrap();
    let one = LeftBehind { count: 1, bytes: 11, oldest: Some(SENT.to_owned()) };
    assert_eq!(found, one);
    let proof = app::verify(&place, &Witnesses::default()).unwrap();
    assert_eq!(proof.left.as_ref(), Some(&one));
    let sheet = app::proof_sheet(&desk.snapshot().programme, &proof).text();
    assert!(sheet.contains("1 file, 11 bytes, the oldest of 2032-01-14"), "{sheet}");
    // Uploaded now, named a moment later: nobody may take it away in between.
    let soon = app::clear_left_behind(&place, days_later(0), 1).unwrap();
    assert_eq!((soon.gone.count, soon.stays), (0, one.clone()));
    let error = app::clear_left_behind(&place, days_later(90), 0).unwrap_err();
    assert!(error.to_string().contains("a day at least"), "{error}");
    let tried = app::would_clear(&place, days_later(31), 30).unwrap();
    assert_eq!(tried.gone, one);
    assert!(is_there(&place, &left));
    let cleared = app::clear_left_behind(&place, days_later(31), 30).unwrap();
    assert_eq!((cleared.gone, cleared.stays.count), (one, 0));
    assert!(is_there(&place, &named) && !is_there(&place, &left));
    let proof = app::verify(&place, &Witnesses::default()).unwrap();
    assert!(proof.is_sound() && proof.verdict.attachments == 1, "{proof:?}");
    // A form that still had it says so, and takes the file again.
    let error = raise(&desk, "X-2", &left).unwrap_err();
    let AppError::Act(problems) = error else { panic!("{error}") };
    assert!(problems[0].what.contains("no file is attached under the digest"));
    assert_eq!(attach(&place, "left behind"), left);
    raise(&desk, "X-2", &left).unwrap();
}

#[test]
fn what_was_struck_through_or_put_right_still_names_its_file() {
    let (_dir, place, desk) = desk();
    let named = attach(&place, "named");
    // In words, as evidence names what it rests on, and not in a field for files.
    let evidence = json!({
        "act": "evidence", "requirement": "SD-1", "kind": "statement",
        "reference": format!("the photograph {}", named.to_uppercase()), "shows": "so",
        "until": "2033-01-01",
    });
    desk.act(acts(&evidence), signed("TR", 60), None, None).unwrap();
    let entry = desk.snapshot().number;
    let strike = json!({"act": "strike", "entry": entry, "reason": "another part"});
    desk.act(acts(&strike), signed("TR", 61), None, None).unwrap();
    let cleared = app::clear_left_behind(&place, days_later(9000), 1).unwrap();
    assert_eq!((cleared.gone.count, is_there(&place, &named)), (0, true));
}

/// The same chain without the file, as whoever deletes it by hand leaves it: the chain is whole.
#[test]
fn a_file_that_an_entry_names_and_that_is_gone_is_found() {
    use ledger::{NewEntry, SqliteStore, Store as _};
    let (dir, place, desk) = desk();
    let named = attach(&place, "named");
    raise(&desk, "X-1", &named).unwrap();
    let entry = desk.snapshot().number;
    let Place::File(path) = &place else { panic!() };
    let whole = SqliteStore::open(path, ledger::Access::ReadOnly).unwrap();
    let without = dir.path().join("without");
    let mut copy = SqliteStore::create_with_id(&without, whole.id().unwrap()).unwrap();
    let mut batches: Vec<Vec<NewEntry>> = Vec::new();
    let mut visit = |entry: ledger::Entry| {
        if entry.batch == entry.number {
            batches.push(Vec::new());
        }
        let (kind, version, body) = (entry.kind, entry.version, entry.body);
        let new = NewEntry { kind, version, body, at: entry.at, by: entry.by };
        batches.last_mut().unwrap().push(new);
        std::ops::ControlFlow::Continue(())
    };
    whole.read(0, &mut visit).unwrap();
    let mut number = 0;
    for batch in &batches {
        number = copy.append(number, batch).unwrap().number;
    }
    drop(copy);
    let proof = app::verify(&Place::File(without), &Witnesses::default()).unwrap();
    assert!(proof.verdict.is_sound() && !proof.is_sound(), "{proof:?}");
    let told =
        format!("the file that entry {entry} names in `photographs` is not in the");
    assert!(proof.faults.len() == 1 && proof.faults[0].starts_with(&told), "{proof:?}");
    assert!(app::verify(&place, &Witnesses::default()).unwrap().is_sound());
}

/// Says that it is over when it is dropped.
struct Ends<'a>(&'a AtomicBool);

impl Drop for Ends<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::SeqCst);
    }
}

/// One clears as if all were old, others attach and sign: an entry that was acknowledged has its
/// file, and what went was refused.
#[test]
fn whoever_clears_never_takes_what_an_entry_names() {
    let (_dir, place, desk) = desk();
    let over = AtomicBool::new(false);
    let named: Vec<String> = std::thread::scope(|scope| {
        // Whatever fails, the other thread ends.
        let _ends = Ends(&over);
        scope.spawn(|| {
            while !over.load(Ordering::SeqCst) {
                // It may wait for the ledger in vain once; it tries again.
                let _ = app::clear_left_behind(&place, days_later(9000), 1);
                // Whoever waits for the ledger looks every twenty milliseconds.
                std::thread::sleep(std::time::Duration::from_millis(30));
            }
        });
        let mut named = Vec::new();
        for number in 0..40 {
            let digest = attach(&place, &format!("photograph {number}"));
            match raise(&desk, &format!("X-{number}"), &digest) {
                Ok(()) => named.push(digest),
                Err(AppError::Act(problems)) => {
                    assert!(problems[0].what.contains("no file is attached"));
                }
                Err(other) => panic!("{other}"),
            }
        }
        named
    });
    for digest in &named {
        assert!(is_there(&place, digest), "{digest}");
    }
    let proof = app::verify(&place, &Witnesses::default()).unwrap();
    assert!(proof.is_sound(), "{proof:?}");
}
