//! Each way of tampering, and what the verification says to it.

use ledger::{Access, FaultKind, Head, LedgerError, Store, Verdict};

use crate::stores::{Place, Sqlite};
use crate::{entry, filled, read_all};

/// A ledger with entries 1 to 6 in batches of 1, 3 and 2, changed by `sql`.
fn tampered<P: Place>(sql: &str, check: impl FnOnce(&P, &[Head])) {
    let (place, heads) = filled::<P>(&[1, 3, 2]);
    place.tamper(sql);
    check(&place, &heads);
}

fn verify(place: &impl Place, witness: Option<&Head>) -> Verdict {
    place.open(Access::ReadOnly).unwrap().verify(witness).unwrap()
}

/// Some 32 bytes.
fn digest<P: Place>() -> String {
    P::bytes(&"5a".repeat(32))
}

/// Expects exactly these sentences, each at least as far as given.
fn check<P: Place>(sql: &str, expected: &[&str]) {
    tampered::<P>(sql, |place, _| {
        let verdict = verify(place, None);
        let told: Vec<String> = verdict.faults.iter().map(ToString::to_string).collect();
        let fits = told.len() == expected.len()
            && told.iter().zip(expected).all(|(told, start)| told.starts_with(start));
        assert!(fits, "{sql}\ntold {told:#?}\nexpected {expected:#?}");
        assert!(verdict.first_bad_entry().is_none_or(|entry| entry <= 7));
    });
}

pub(crate) fn an_untouched_ledger_is_sound<P: Place>() {
    check::<P>("SELECT 1", &[]);
    tampered::<P>("SELECT 1", |place, heads| {
        let verdict = verify(place, Some(&heads[1]));
        assert!(verdict.is_sound());
        assert_eq!((verdict.entries, verdict.head), (6, Some(heads[2])));
    });
}

pub(crate) fn a_change_to_any_column_is_found<P: Place>() {
    for column in [
        "recorded_at = '2031-01-05T09:30:01Z'",
        "recorded_by = 'Fitter 5'",
        "kind = 'kind 3'",
        "version = 2",
        "kind = kind || ' '",
    ] {
        check::<P>(
            &format!("UPDATE entries SET {column} WHERE number = 4"),
            &["entry 4: it, or the digest beside it, was changed"],
        );
    }
    let body = P::bytes("7b7d");
    check::<P>(
        &format!("UPDATE entries SET body = {body} WHERE number = 4"),
        &["entry 4: it, or the digest beside it, was changed"],
    );
    check::<P>(
        "UPDATE entries SET batch = 4 WHERE number = 4",
        &["entry 4: it, or the digest beside it, was changed"],
    );
    check::<P>(
        "UPDATE entries SET batch = 3 WHERE number = 4",
        &["entry 4: it claims batch 3", "entry 4: it, or the digest beside it"],
    );
    check::<P>(
        &format!("UPDATE entries SET digest = {} WHERE number = 4", digest::<P>()),
        &["entry 4: it, or the digest beside it", "entry 5: it, or the digest beside it"],
    );
    check::<P>(
        &format!("UPDATE entries SET digest = {} WHERE number = 6", digest::<P>()),
        &[
            "entry 6: it, or the digest beside it",
            "entry 6: the noted head has the digest",
        ],
    );
    check::<P>(
        "UPDATE entries SET number = 9 WHERE number = 6",
        &["entries 6 to 8 are missing", "entry 7: it stands after the noted head"],
    );
}

pub(crate) fn text_moved_from_one_column_to_the_next_is_found<P: Place>() {
    check::<P>(
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
        check::<Sqlite>(
            &format!("UPDATE entries SET {column} WHERE number = 2"),
            &[told],
        );
    }
}

pub(crate) fn a_missing_row_is_named_wherever_it_was<P: Place>() {
    check::<P>("DELETE FROM entries WHERE number = 1", &["entry 1 is missing"]);
    check::<P>("DELETE FROM entries WHERE number = 3", &["entry 3 is missing"]);
    check::<P>(
        "DELETE FROM entries WHERE number IN (3, 4)",
        &["entries 3 to 4 are missing"],
    );
    check::<P>(
        "DELETE FROM entries WHERE number = 6",
        &["entry 6, the last one, is missing"],
    );
    check::<P>(
        "DELETE FROM entries WHERE number > 4",
        &["the last entries, 5 to 6, are missing"],
    );
    check::<P>("DELETE FROM entries", &["the last entries, 1 to 6, are missing"]);
}

pub(crate) fn a_gap_closed_by_renumbering_is_found<P: Place>() {
    check::<P>(
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

pub(crate) fn exchanged_rows_are_found<P: Place>() {
    check::<P>(
        "UPDATE entries SET number = 100 WHERE number = 3;
         UPDATE entries SET number = 3 WHERE number = 4;
         UPDATE entries SET number = 4 WHERE number = 100",
        &["entry 3: it, or", "entry 4: it, or", "entry 5: it, or"],
    );
}

pub(crate) fn rows_added_behind_the_ledgers_back_are_found<P: Place>() {
    let add = |number: i64| {
        format!(
            "INSERT INTO entries \
                 (number, batch, recorded_at, recorded_by, kind, version, body, digest) \
             SELECT {number}, batch, recorded_at, recorded_by, kind, version, body, digest \
             FROM entries WHERE number = 6"
        )
    };
    check::<P>(
        &add(7),
        &["entry 7: it, or", "entry 7: it stands after the noted head, which is entry 6"],
    );
    // PostgreSQL's constraints hold for whoever turns triggers off too.
    if P::SQLITE {
        check::<P>(&add(0), &["a row is numbered 0, which no entry can be"]);
        check::<P>(&add(-1), &["its column number holds -1, below zero"]);
    }
}

pub(crate) fn a_changed_id_or_head_is_found<P: Place>() {
    check::<P>(
        &format!("UPDATE meta SET ledger = {}", P::bytes(&"5a".repeat(16))),
        &["entry 1: it, or the digest beside it, was changed"],
    );
    check::<P>(
        &format!("UPDATE meta SET head_digest = {}", digest::<P>()),
        &["entry 6: the noted head has the digest"],
    );
    check::<P>(
        "UPDATE meta SET head_number = 4",
        &["entry 5: it stands after the noted head, which is entry 4"],
    );
    check::<P>(
        "UPDATE meta SET head_number = 8",
        &["the last entries, 7 to 8, are missing"],
    );
    check::<P>(
        "UPDATE meta SET ledger = 'x'",
        &["the ledger's id and head: its column ledger"],
    );
    check::<P>("DELETE FROM meta", &["the ledger's id and head: the row is missing"]);
    if P::SQLITE {
        check::<P>(
            "INSERT INTO meta SELECT 2, ledger, head_number, head_digest FROM meta",
            &["the ledger's id and head: its column count of rows holds 2"],
        );
        check::<P>(
            "UPDATE meta SET only_row = 2",
            &["the ledger's id and head: its column only_row holds 2"],
        );
    }
}

pub(crate) fn an_empty_ledger_is_covered_too<P: Place>() {
    let (place, _) = filled::<P>(&[]);
    let head = verify(&place, None).head.unwrap();
    assert!(verify(&place, Some(&head)).is_sound());
    place.tamper(&format!("UPDATE meta SET ledger = {}", P::bytes(&"5a".repeat(16))));
    let told = verify(&place, None).faults[0].to_string();
    assert!(told.starts_with("the noted head has the digest"), "{told}");
    assert_eq!(verify(&place, Some(&head)).faults.len(), 2);
}

#[test]
fn a_foreign_trigger_table_or_index_is_found() {
    check::<Sqlite>(
        "CREATE TRIGGER t AFTER INSERT ON entries BEGIN
             UPDATE entries SET body = x'00'; END",
        &["the tables differ from what they must be: the trigger t is unknown"],
    );
    check::<Sqlite>(
        "CREATE TABLE more (x)",
        &["the tables differ from what they must be: the table more is unknown"],
    );
    check::<Sqlite>(
        "DROP TABLE entries",
        &[
            "the database can't be read any further: no such table",
            "the tables differ from what they must be: the index entries_request",
            "the tables differ from what they must be: the index sqlite_autoindex",
            "the tables differ from what they must be: the table entries is missing",
            "the tables differ from what they must be: the trigger entries_delete",
            "the tables differ from what they must be: the trigger entries_update",
        ],
    );
}

pub(crate) fn only_a_witness_finds_a_cut_that_sets_the_head_back<P: Place>() {
    let cut = "DELETE FROM entries WHERE number > 4;
               UPDATE meta SET head_number = 4,
                   head_digest = (SELECT digest FROM entries WHERE number = 4)";
    tampered::<P>(cut, |place, heads| {
        assert!(verify(place, None).is_sound());
        assert!(verify(place, Some(&heads[0])).is_sound());
        assert!(verify(place, Some(&heads[1])).is_sound());
        let verdict = verify(place, Some(&heads[2]));
        assert_eq!(
            verdict.faults[0].kind,
            FaultKind::Witness { noted: heads[2], found: None }
        );
        let store = place.open(Access::ReadOnly).unwrap();
        let error = read_all(&store, 6).unwrap_err();
        assert!(matches!(error, LedgerError::Beyond { after: 6, head: 4, .. }));
    });
}

pub(crate) fn only_a_witness_finds_a_history_written_anew<P: Place>() {
    let (_true_one, heads) = filled::<P>(&[3]);
    let forged = P::vacant();
    let mut store = forged.create().unwrap();
    let head = store.append(0, &[entry(1), entry(2), entry(4)]).unwrap();
    assert!(store.verify(None).unwrap().is_sound());
    let verdict = store.verify(Some(&heads[0])).unwrap();
    let kind = FaultKind::Witness { noted: heads[0], found: Some(head.digest) };
    assert_eq!(verdict.faults[0].kind, kind);
    assert_eq!(verdict.first_bad_entry(), Some(3));
}

pub(crate) fn the_list_of_faults_is_bounded_and_the_rest_counted<P: Place>() {
    let (place, _) = filled::<P>(&[130]);
    place.tamper("UPDATE entries SET version = 77");
    let verdict = verify(&place, None);
    assert_eq!((verdict.faults.len(), verdict.more), (Verdict::FAULT_LIMIT, 30));
}

pub(crate) fn nothing_is_built_on_a_damaged_end<P: Place>() {
    for sql in [
        "DELETE FROM entries WHERE number = 6",
        "DELETE FROM entries",
        &format!("UPDATE meta SET head_digest = {}", digest::<P>()),
        &format!("UPDATE entries SET digest = {} WHERE number = 6", P::bytes("00")),
        "DELETE FROM meta",
    ] {
        tampered::<P>(sql, |place, _| {
            let mut store = place.open(Access::ReadWrite).unwrap();
            let error = store.append(6, &[entry(7)]).unwrap_err();
            assert!(matches!(error, LedgerError::Damaged { .. }), "{sql}: {error}");
            assert!(error.to_string().contains(" is damaged: "), "{error}");
            assert!(error.hint().is_some());
        });
    }
}

pub(crate) fn reading_stops_before_the_first_entry_that_does_not_fit<P: Place>() {
    tampered::<P>("UPDATE entries SET version = 9 WHERE number = 4", |place, _| {
        let store = place.open(Access::ReadOnly).unwrap();
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
        ("UPDATE entries SET version = -1 WHERE number = 3", 2),
        ("UPDATE meta SET head_number = 5", 2),
    ] {
        tampered::<P>(sql, |place, _| {
            let store = place.open(Access::ReadOnly).unwrap();
            let error = read_all(&store, after).unwrap_err();
            assert!(matches!(error, LedgerError::Damaged { .. }), "{sql}: {error}");
        });
    }
}

pub(crate) fn other_programs_cannot_change_what_is_recorded<P: Place>() {
    let (place, heads) = filled::<P>(&[3]);
    let rib = ledger::Accepted::new(b"rib 4", 100).unwrap();
    let mut store = place.open(Access::ReadWrite).unwrap();
    store.put_attachment(&rib, "2031-01-14T09:30:00Z").unwrap();
    drop(store);
    for sql in [
        "UPDATE entries SET version = 9 WHERE number = 2",
        "DELETE FROM entries WHERE number = 3",
        "DELETE FROM entries",
        "DELETE FROM meta",
        "UPDATE checkpoints SET number = 2",
        "UPDATE attachments SET size = 4",
        "UPDATE attachment_parts SET part = 2",
        "DELETE FROM attachments",
        "DELETE FROM attachment_parts",
    ] {
        // SQLite's triggers fire for rows, and this table is empty.
        let told = place.meddle(sql);
        let empty = sql.contains("checkpoints");
        if !(P::SQLITE && empty) {
            assert_eq!(told, Err("the ledger is append-only".to_owned()), "{sql}");
        }
    }
    if !P::SQLITE {
        assert!(place.meddle("TRUNCATE entries").is_err());
    }
    assert!(verify(&place, Some(&heads[0])).is_sound());
}

pub(crate) fn a_trigger_taken_away_or_put_in_is_found<P: Place>() {
    let (drop, told) = if P::SQLITE {
        ("DROP TRIGGER entries_delete", "the trigger entries_delete is missing")
    } else {
        ("ALTER TABLE entries DISABLE TRIGGER ALL", "the trigger entries_change")
    };
    tampered::<P>(drop, |place, _| {
        let faults = verify(place, None).faults;
        assert!(
            faults.iter().any(|fault| fault.to_string().contains(told)),
            "{faults:?}"
        );
    });
    let add = if P::SQLITE {
        "CREATE TRIGGER t AFTER INSERT ON entries BEGIN UPDATE meta SET only_row = 1; END"
    } else {
        "CREATE FUNCTION f() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NULL; END';
         CREATE TRIGGER t BEFORE INSERT ON entries FOR EACH ROW EXECUTE FUNCTION f()"
    };
    tampered::<P>(add, |place, _| {
        let faults = verify(place, None).faults;
        let told = |fault: &ledger::Fault| fault.to_string().contains("the trigger t ");
        assert!(faults.iter().any(told), "{faults:?}");
    });
}
