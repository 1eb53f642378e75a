//! Single bytes changed at random, in columns and in the file.

use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use ledger::{
    Accepted, Access, Attachment, Checkpoint, Entry, Head, NewEntry, Receipt,
    SqliteStore, Store,
};
use proptest::prelude::*;
use proptest::sample::Index;
use rusqlite::types::{Value, ValueRef};
use tempfile::tempdir;

use crate::{ID, batch, checkpoints, create, raw, read_all};

const COLUMNS: [&str; 8] = [
    "number",
    "batch",
    "recorded_at",
    "recorded_by",
    "kind",
    "version",
    "body",
    "digest",
];

fn any_entry() -> impl Strategy<Value = NewEntry> {
    let body = prop::collection::vec(any::<u8>(), 1..60);
    ("[a-z]{1,8}", any::<u32>(), body, "\\PC{1,12}").prop_map(
        |(kind, version, body, by)| NewEntry {
            kind,
            version,
            body,
            at: "2031-01-14T09:30:00Z".into(),
            by,
        },
    )
}

/// The value with one byte changed; `None` for a type that no column has.
fn flip(value: ValueRef<'_>, at: Index, by: u8) -> Option<Value> {
    let changed = |bytes: &[u8]| {
        let mut bytes = bytes.to_vec();
        let at = at.index(bytes.len());
        bytes[at] ^= by;
        bytes
    };
    match value {
        ValueRef::Integer(number) => {
            let bytes = changed(&number.to_le_bytes());
            Some(Value::Integer(i64::from_le_bytes(bytes.try_into().ok()?)))
        }
        ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
            Some(Value::Blob(changed(bytes)))
        }
        ValueRef::Null | ValueRef::Real(_) => None,
    }
}

/// One byte to change: which row, which column, which byte, and by what.
#[derive(Debug, Clone)]
struct Change {
    row: Index,
    column: &'static str,
    at: Index,
    by: u8,
}

fn any_change() -> impl Strategy<Value = Change> {
    let column = prop::sample::select(COLUMNS.to_vec());
    (any::<Index>(), column, any::<Index>(), 1_u8..)
        .prop_map(|(row, column, at, by)| Change { row, column, at, by })
}

/// Makes the change in the file; false where it isn't possible, because the changed number
/// is that of another entry.
fn tamper(path: &Path, row: u64, change: &Change) -> bool {
    let column = change.column;
    let conn = raw(path);
    let changed = conn
        .query_row(
            &format!("SELECT {column} FROM entries WHERE number = {row}"),
            [],
            |found| Ok(flip(found.get_ref(0)?, change.at, change.by)),
        )
        .unwrap()
        .unwrap();
    let text = ["recorded_at", "recorded_by", "kind"].contains(&column);
    let value = if text { "CAST($1 AS TEXT)" } else { "$1" };
    let update = format!("UPDATE entries SET {column} = {value} WHERE number = {row}");
    let updated = conn.execute(&update, [changed]);
    assert!(updated.is_ok() || column == "number", "{updated:?}");
    updated.is_ok()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_byte_changed_in_a_column_is_found_and_its_entry_named(
        batches in prop::collection::vec(prop::collection::vec(any_entry(), 1..5), 1..6),
        changes in prop::collection::vec(any_change(), 12),
    ) {
        let folder = tempdir().unwrap();
        let path = folder.path().join("a.ledger");
        let mut store = SqliteStore::create_with_id(&path, ID).unwrap();
        let mut last = 0;
        for batch in &batches {
            last = store.append(last, batch).unwrap().number;
        }
        drop(store);
        let bytes = fs::read(&path).unwrap();

        for (change, n) in changes.iter().zip(0..) {
            let path = folder.path().join(format!("{n}.ledger"));
            fs::write(&path, &bytes).unwrap();
            let row = change.row.index(last as usize) as u64 + 1;
            if !tamper(&path, row, change) {
                continue;
            }
            let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
            let verdict = store.verify(None).unwrap();
            let named = verdict.first_bad_entry();
            let fits = named == Some(row) || named == Some(row + 1);
            prop_assert!(fits, "row {row}, {change:?}: {verdict:#?}");
            prop_assert!(read_all(&store, 0).is_err());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Bytes that nothing is read from (free space in pages, counters) may change unseen;
    /// then everything that is read must be what was written.
    #[test]
    fn a_byte_changed_anywhere_in_the_file_is_found_or_without_effect(
        at in any::<Index>(),
        by in 1_u8..,
    ) {
        let (bytes, head, contents) = everything();
        let folder = tempdir().unwrap();
        let path = folder.path().join("a.ledger");
        let mut bytes = bytes.clone();
        let at = at.index(bytes.len());
        bytes[at] ^= by;
        fs::write(&path, bytes).unwrap();

        let opened = SqliteStore::open(&path, Access::ReadOnly);
        if let Ok(store) = &opened
            && store.verify(Some(head)).unwrap().is_sound()
        {
            prop_assert_eq!(&Contents::of(store), contents);
        }
        if let Err(error) = &opened {
            prop_assert!(error.to_string().contains("a.ledger"), "{error}");
        }
    }

    /// A file that lost its end, as a copy that was broken off.
    #[test]
    fn a_file_cut_anywhere_is_refused(length in any::<Index>()) {
        let (bytes, _, _) = everything();
        let folder = tempdir().unwrap();
        let path = folder.path().join("a.ledger");
        fs::write(&path, &bytes[..length.index(bytes.len())]).unwrap();
        for access in [Access::ReadOnly, Access::ReadWrite] {
            let error = SqliteStore::open(&path, access).err();
            prop_assert!(error.is_some_and(|error| error.hint().is_some()));
        }
    }
}

/// All that can be read of a ledger and is part of the record.
#[derive(Debug, PartialEq)]
struct Contents {
    entries: Vec<Entry>,
    checkpoints: Vec<Checkpoint>,
    attachments: Vec<(Attachment, Vec<u8>)>,
    receipt: Option<Receipt>,
}

impl Contents {
    fn of(store: &SqliteStore) -> Self {
        let attachments = store.attachments().unwrap().into_iter();
        Self {
            entries: read_all(store, 0).unwrap(),
            checkpoints: store.checkpoints().unwrap(),
            attachments: attachments
                .map(|one| store.attachment(&one.digest).unwrap().unwrap())
                .collect(),
            receipt: store.receipt(&"request 1".parse().unwrap()).unwrap(),
        }
    }
}

/// The bytes of a ledger that holds one of each, its head, and its contents.
fn everything() -> &'static (Vec<u8>, Head, Contents) {
    static EVERYTHING: OnceLock<(Vec<u8>, Head, Contents)> = OnceLock::new();
    EVERYTHING.get_or_init(|| {
        let folder = tempdir().unwrap();
        let path = folder.path().join("a.ledger");
        create(&path, &[40, 1, 60]);
        let mut store = SqliteStore::open(&path, Access::ReadWrite).unwrap();
        store.append_all(101, &[batch(Some("request 1"), 102, 105)]).unwrap();
        store.sign_checkpoint(&checkpoints::key(), "2031-01-14T18:00:00Z").unwrap();
        let text = "rib 4: 2 mm of wear\n".repeat(500);
        let text = Accepted::new(text.as_bytes(), 50_000).unwrap();
        store.put_attachment(&text, "2031-01-14T18:00:00Z").unwrap();
        let (head, contents) = (store.head().unwrap(), Contents::of(&store));
        drop(store);
        (fs::read(path).unwrap(), head, contents)
    })
}
