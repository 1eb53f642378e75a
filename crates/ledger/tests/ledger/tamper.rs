//! Each way of tampering, and what the verification says to it.

use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use ledger::{Access, FaultKind, Head, LedgerError, SqliteStore, Store, Verdict};
use tempfile::tempdir;

use crate::{create, entry, image, raw, read_all};

/// A ledger with entries 1 to 6 in batches of 1, 3 and 2, changed by `sql`.
fn tampered(sql: &str, check: impl FnOnce(&Path, &[Head])) {
    static IMAGE: OnceLock<(Vec<u8>, Vec<Head>)> = OnceLock::new();
    let (bytes, heads) = IMAGE.get_or_init(|| image(&[1, 3, 2]));
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    fs::write(&path, bytes).unwrap();
    raw(&path).execute_batch(sql).unwrap();
    check(&path, heads);
}

fn verify(path: &Path, witness: Option<&Head>) -> Verdict {
    SqliteStore::open(path, Access::ReadOnly).unwrap().verify(witness).unwrap()
}

/// Expects exactly these sentences, each at least as far as given.
fn check(sql: &str, expected: &[&str]) {
    tampered(sql, |path, _| {
        let verdict = verify(path, None);
        let told: Vec<String> = verdict.faults.iter().map(ToString::to_string).collect();
        let fits = told.len() == expected.len()
            && told.iter().zip(expected).all(|(told, start)| told.starts_with(start));
        assert!(fits, "{sql}\ntold {told:#?}\nexpected {expected:#?}");
        assert!(verdict.first_bad_entry().is_none_or(|entry| entry <= 7));
    });
}

#[test]
fn an_untouched_ledger_is_sound() {
    check("SELECT 1", &[]);
    tampered("SELECT 1", |path, heads| {
        let verdict = verify(path, Some(&heads[1]));
        assert!(verdict.is_sound());
        assert_eq!((verdict.entries, verdict.head), (6, Some(heads[2])));
    });
}

#[test]
fn a_change_to_any_column_is_found() {
    for column in [
        "recorded_at = '2031-01-05T09:30:01Z'",
        "recorded_by = 'Fitter 5'",
        "kind = 'kind 3'",
        "version = 2",
        "body = CAST('{\"n\":5}' AS BLOB)",
        "kind = kind || ' '",
    ] {
        check(
            &format!("UPDATE entries SET {column} WHERE number = 4"),
            &["entry 4: it, or the digest beside it, was changed"],
        );
    }
    check(
        "UPDATE entries SET batch = 4 WHERE number = 4",
        &["entry 4: it, or the digest beside it, was changed"],
    );
    check(
        "UPDATE entries SET batch = 3 WHERE number = 4",
        &["entry 4: it claims batch 3", "entry 4: it, or the digest beside it"],
    );
    check(
        "UPDATE entries SET digest = randomblob(32) WHERE number = 4",
        &["entry 4: it, or the digest beside it", "entry 5: it, or the digest beside it"],
    );
    check(
        "UPDATE entries SET digest = randomblob(32) WHERE number = 6",
        &[
            "entry 6: it, or the digest beside it",
            "entry 6: the noted head has the digest",
        ],
    );
    check(
        "UPDATE entries SET number = 9 WHERE number = 6",
        &["entries 6 to 8 are missing", "entry 7: it stands after the noted head"],
    );
}

#[test]
fn text_moved_from_one_column_to_the_next_is_found() {
    check(
        "UPDATE entries SET recorded_by = recorded_by || substr(kind, 1, 1), \
         kind = substr(kind, 2) WHERE number = 2",
        &["entry 2: it, or the digest beside it, was changed"],
    );
}

#[test]
fn another_type_in_a_column_is_found() {
    for (column, told) in [
        ("body = CAST(body AS TEXT)", "entry 2: its column body holds text"),
        ("kind = CAST(kind AS BLOB)", "entry 2: its column kind holds bytes"),
        ("version = 'one'", "entry 2: its column version holds text"),
        ("version = 1.5", "entry 2: its column version holds a broken number"),
        ("version = -1", "entry 2: its column version holds -1, below zero"),
        ("version = 4294967296", "entry 2: its column version holds 4294967296, more"),
        ("batch = -2", "entry 2: its column batch holds -2, below zero"),
        ("digest = x'00'", "entry 2: its column digest holds 1 bytes where 32 must be"),
        ("recorded_by = CAST(x'ff41' AS TEXT)", "entry 2: its column recorded_by holds"),
    ] {
        check(&format!("UPDATE entries SET {column} WHERE number = 2"), &[told]);
    }
}

#[test]
fn a_missing_row_is_named_wherever_it_was() {
    check("DELETE FROM entries WHERE number = 1", &["entry 1 is missing"]);
    check("DELETE FROM entries WHERE number = 3", &["entry 3 is missing"]);
    check("DELETE FROM entries WHERE number IN (3, 4)", &["entries 3 to 4 are missing"]);
    check("DELETE FROM entries WHERE number = 6", &["entry 6, the last one, is missing"]);
    check(
        "DELETE FROM entries WHERE number > 4",
        &["the last entries, 5 to 6, are missing"],
    );
    check("DELETE FROM entries", &["the last entries, 1 to 6, are missing"]);
}

#[test]
fn a_gap_closed_by_renumbering_is_found() {
    check(
        "DELETE FROM entries WHERE number = 3;
         UPDATE entries SET number = number - 1 WHERE number > 3;
         UPDATE meta SET head_number = 5",
        &[
            "entry 3: it, or",
            "entry 4: it claims batch 5",
            "entry 4: it, or",
            "entry 5: it, or",
        ],
    );
}

#[test]
fn exchanged_rows_are_found() {
    check(
        "UPDATE entries SET number = 100 WHERE number = 3;
         UPDATE entries SET number = 3 WHERE number = 4;
         UPDATE entries SET number = 4 WHERE number = 100",
        &["entry 3: it, or", "entry 4: it, or", "entry 5: it, or"],
    );
}

#[test]
fn rows_added_behind_the_ledgers_back_are_found() {
    let add = |number: i64| {
        format!(
            "INSERT INTO entries SELECT {number}, batch, recorded_at, recorded_by, kind, \
             version, body, digest FROM entries WHERE number = 6"
        )
    };
    check(
        &add(7),
        &["entry 7: it, or", "entry 7: it stands after the noted head, which is entry 6"],
    );
    check(&add(0), &["a row is numbered 0, which no entry can be"]);
    check(&add(-1), &["its column number holds -1, below zero"]);
}

#[test]
fn a_changed_id_or_head_is_found() {
    check(
        "UPDATE meta SET ledger = randomblob(16)",
        &["entry 1: it, or the digest beside it, was changed"],
    );
    check(
        "UPDATE meta SET head_digest = randomblob(32)",
        &["entry 6: the noted head has the digest"],
    );
    check(
        "UPDATE meta SET head_number = 4",
        &["entry 5: it stands after the noted head, which is entry 4"],
    );
    check("UPDATE meta SET head_number = 8", &["the last entries, 7 to 8, are missing"]);
    check(
        "UPDATE meta SET ledger = 'x'",
        &["the ledger's id and head: its column ledger"],
    );
    check(
        "INSERT INTO meta SELECT 2, ledger, head_number, head_digest FROM meta",
        &["the ledger's id and head: its column count of rows holds 2"],
    );
    check("DELETE FROM meta", &["the ledger's id and head: the row is missing"]);
    check(
        "UPDATE meta SET only_row = 2",
        &["the ledger's id and head: its column only_row holds 2"],
    );
}

#[test]
fn an_empty_ledger_is_covered_too() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[]);
    let head = verify(&path, None).head.unwrap();
    assert!(verify(&path, Some(&head)).is_sound());
    raw(&path).execute_batch("UPDATE meta SET ledger = randomblob(16)").unwrap();
    let told = verify(&path, None).faults[0].to_string();
    assert!(told.starts_with("the noted head has the digest"), "{told}");
    assert_eq!(verify(&path, Some(&head)).faults.len(), 2);
}

#[test]
fn a_foreign_trigger_table_or_index_is_found() {
    check(
        "CREATE TRIGGER t AFTER INSERT ON entries BEGIN
             UPDATE entries SET body = x'00'; END",
        &["the tables differ from what they must be: the trigger t is unknown"],
    );
    check(
        "CREATE TABLE more (x)",
        &["the tables differ from what they must be: the table more is unknown"],
    );
    check(
        "DROP TABLE entries",
        &[
            "the database can't be read any further: no such table",
            "the tables differ from what they must be: the index",
            "the tables differ from what they must be: the table entries is missing",
        ],
    );
}

#[test]
fn only_a_witness_finds_a_cut_that_sets_the_head_back() {
    let cut = "DELETE FROM entries WHERE number > 4;
               UPDATE meta SET head_number = 4,
                   head_digest = (SELECT digest FROM entries WHERE number = 4)";
    tampered(cut, |path, heads| {
        assert!(verify(path, None).is_sound());
        assert!(verify(path, Some(&heads[0])).is_sound());
        assert!(verify(path, Some(&heads[1])).is_sound());
        let verdict = verify(path, Some(&heads[2]));
        assert_eq!(
            verdict.faults[0].kind,
            FaultKind::Witness { noted: heads[2], found: None }
        );
        let store = SqliteStore::open(path, Access::ReadOnly).unwrap();
        let error = read_all(&store, 6).unwrap_err();
        assert!(matches!(error, LedgerError::Beyond { after: 6, head: 4, .. }));
    });
}

#[test]
fn only_a_witness_finds_a_history_written_anew() {
    let folder = tempdir().unwrap();
    let true_one = folder.path().join("a.ledger");
    let heads = create(&true_one, &[3]);
    let forged = folder.path().join("b.ledger");
    let mut store = SqliteStore::create_with_id(&forged, crate::ID).unwrap();
    let head = store.append(0, &[entry(1), entry(2), entry(4)]).unwrap();
    assert!(store.verify(None).unwrap().is_sound());
    let verdict = store.verify(Some(&heads[0])).unwrap();
    let kind = FaultKind::Witness { noted: heads[0], found: Some(head.digest) };
    assert_eq!(verdict.faults[0].kind, kind);
    assert_eq!(verdict.first_bad_entry(), Some(3));
}

#[test]
fn the_list_of_faults_is_bounded_and_the_rest_counted() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    create(&path, &[130]);
    raw(&path).execute_batch("UPDATE entries SET version = 77").unwrap();
    let verdict = verify(&path, None);
    assert_eq!((verdict.faults.len(), verdict.more), (Verdict::FAULT_LIMIT, 30));
}

#[test]
fn nothing_is_built_on_a_damaged_end() {
    for sql in [
        "DELETE FROM entries WHERE number = 6",
        "DELETE FROM entries",
        "UPDATE meta SET head_digest = randomblob(32)",
        "UPDATE entries SET digest = x'00' WHERE number = 6",
        "DELETE FROM meta",
    ] {
        tampered(sql, |path, _| {
            let mut store = SqliteStore::open(path, Access::ReadWrite).unwrap();
            let error = store.append(6, &[entry(7)]).unwrap_err();
            assert!(matches!(error, LedgerError::Damaged { .. }), "{sql}: {error}");
            assert!(error.to_string().contains("a.ledger is damaged: "), "{error}");
            assert!(error.hint().is_some());
        });
    }
}

#[test]
fn reading_stops_before_the_first_entry_that_does_not_fit() {
    tampered("UPDATE entries SET version = 9 WHERE number = 4", |path, _| {
        let store = SqliteStore::open(path, Access::ReadOnly).unwrap();
        for after in 0..4 {
            let mut seen = after;
            let error = store
                .read(after, &mut |entry| {
                    seen = entry.number;
                    std::ops::ControlFlow::Continue(())
                })
                .unwrap_err();
            let LedgerError::Damaged { file: _, fault } = error else {
                panic!("{error}")
            };
            assert_eq!((seen, fault.entry), (3, Some(4)));
        }
        // What lies before `after` is taken on trust.
        assert_eq!(read_all(&store, 4).unwrap().len(), 2);
    });
    for (sql, after) in [
        ("DELETE FROM entries WHERE number = 6", 3),
        ("DELETE FROM entries WHERE number = 3", 3),
        ("DELETE FROM entries WHERE number >= 3", 3),
        ("UPDATE entries SET body = NULL WHERE number = 3", 2),
        ("UPDATE meta SET head_number = 5", 2),
    ] {
        let sql = sql.replace("body = NULL", "body = 7");
        tampered(&sql, |path, _| {
            let store = SqliteStore::open(path, Access::ReadOnly).unwrap();
            let error = read_all(&store, after).unwrap_err();
            assert!(matches!(error, LedgerError::Damaged { .. }), "{sql}: {error}");
        });
    }
}
