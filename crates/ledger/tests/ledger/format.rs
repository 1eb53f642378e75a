//! The byte format, held to digests that another program computed.

use ledger::chain::start_digest;
use ledger::{
    Access, Batch, Change, Digest, Evidence, Existing, LedgerError, NewEntry, SettingKey,
    SqliteStore, Store,
};
use tempfile::tempdir;

use crate::stores::Place;
use crate::{ID, entry, raw, read_all};

/// The digests were computed by the Python program in the head of `ledger::chain`, with a
/// BLAKE3 written in Python from its specification, which agreed with the reference
/// implementation on inputs of 0 to 9000 bytes.
#[test]
fn digests_are_those_that_another_program_computes() {
    let folder = tempdir().unwrap();
    let mut store = SqliteStore::create_with_id(folder.path().join("a"), ID).unwrap();
    let entry = |at: &str, by: &str, kind: &str, version, body: &[u8]| NewEntry {
        kind: kind.into(),
        version,
        body: body.to_vec(),
        at: at.into(),
        by: by.into(),
    };
    let text = br#"{"text":"hull bottom opened"}"#;
    let long: Vec<u8> = (0..=255).collect::<Vec<u8>>().repeat(20);
    let second = "2031-01-14T09:31:00.5+01:00";
    store
        .append(0, &[entry("2031-01-14T09:30:00Z", "A. Fitter", "note", 1, text)])
        .unwrap();
    store
        .append(
            1,
            &[
                entry(second, "Ångström, Ö.", "finding", u32::MAX, b""),
                entry(second, "B", "x", 0, &long),
            ],
        )
        .unwrap();

    assert_eq!(
        start_digest(&ID).to_string(),
        "f68d58989e7caa06bc5fab44c66b431dbc52e92d6ea0ac66b883af644aa47f39"
    );
    let digests: Vec<String> = read_all(&store, 0)
        .unwrap()
        .iter()
        .map(|entry| entry.digest.to_string())
        .collect();
    assert_eq!(
        digests,
        [
            "4d298c9ba097c0915b14fb6ffe2610a73701cac7b9c202b69e1c501019a66b7d",
            "f3f98996b7f67bb06e29131a701dc6721c8f3ce9bb78df687b0f737ab239d243",
            "c08293313d11daa4da9b7986abda18fbe9acbc82ba52d53290b93bcd5852ac5c",
        ]
    );
}

/// Computed by `reference/ledger_chain.py`'s rules with Python's `blake3` 1.0.11.
#[test]
fn a_request_id_stands_in_the_digest_of_the_first_entry_of_its_batch() {
    let folder = tempdir().unwrap();
    let mut store = SqliteStore::create_with_id(folder.path().join("a"), ID).unwrap();
    let entry = |at: &str, by: &str, version, body: &[u8]| NewEntry {
        kind: "note".into(),
        version,
        body: body.to_vec(),
        at: at.into(),
        by: by.into(),
    };
    let text = br#"{"text":"hull bottom opened"}"#;
    let first = entry("2031-01-14T09:30:00Z", "A. Fitter", 1, text);
    let second = "2031-01-14T09:31:00Z";
    let group = [
        Batch { request: None, entries: vec![first] },
        Batch {
            request: Some("request 7, Å".parse().unwrap()),
            entries: vec![entry(second, "B", 1, b"x"), entry(second, "B", 2, b"")],
        },
    ];
    store.append_all(0, &group).unwrap();
    let digests: Vec<String> = read_all(&store, 0)
        .unwrap()
        .iter()
        .map(|entry| entry.digest.to_string())
        .collect();
    assert_eq!(
        digests,
        [
            "4d298c9ba097c0915b14fb6ffe2610a73701cac7b9c202b69e1c501019a66b7d",
            "77af67de5151780cd3ce96a045e47de2b1e7e3f7ec28be7c23d49f62da047fe4",
            "9726783b9d511da88dd78b4bdde321c4cdc1dd6453dec2d8d1d2425528e29854",
        ]
    );
}

/// What the module head tells about tables and columns, for whoever reads the file with
/// another program.
#[test]
fn the_file_holds_the_tables_that_the_format_names() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a");
    crate::create(&path, &[2]);
    let conn = raw(&path);
    let columns = |table: &str| -> Vec<String> {
        let statement =
            format!("SELECT name || ' ' || type FROM pragma_table_info('{table}')");
        let mut statement = conn.prepare(&statement).unwrap();
        let names = statement.query_map([], |row| row.get(0)).unwrap();
        names.collect::<Result<_, _>>().unwrap()
    };
    assert_eq!(
        columns("entries"),
        [
            "number BIGINT",
            "batch BIGINT",
            "recorded_at TEXT",
            "recorded_by TEXT",
            "kind TEXT",
            "version BIGINT",
            "body BLOB",
            "digest BLOB",
            "request TEXT",
        ]
    );
    assert_eq!(
        columns("meta"),
        ["only_row BIGINT", "ledger BLOB", "head_number BIGINT", "head_digest BLOB"]
    );
    let pragma = |name: &str| -> i64 {
        conn.pragma_query_value(None, name, |row| row.get(0)).unwrap()
    };
    assert_eq!(pragma("application_id"), i64::from(u32::from_be_bytes(*b"Turn")));
    assert_eq!(pragma("user_version"), 4);
}

/// A file that the version before request ids wrote, with batches of 1, 3 and 2 entries.
const FORMAT_1: &[u8] = include_bytes!("../data/format-1.ledger");

/// The head that it printed.
const FORMAT_1_HEAD: &str =
    "5e28c70da270a1c7bd44200529bee039679e348bff894dbaea623e966adb59ed";

#[test]
fn a_file_of_format_1_is_read_as_it_is_and_written_after_an_update() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("old.ledger");
    std::fs::write(&path, FORMAT_1).unwrap();

    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    let head = store.head().unwrap();
    assert_eq!(head.digest.to_string(), FORMAT_1_HEAD);
    let verdict = store.verify(Some(&head)).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
    assert_eq!(read_all(&store, 0).unwrap().len(), 6);
    assert_eq!(store.receipt(&"r".parse().unwrap()).unwrap(), None);
    assert_eq!(store.attachments().unwrap(), []);
    assert_eq!(store.checkpoints().unwrap(), []);
    assert_eq!(store.last_backup().unwrap(), None);
    assert_eq!(store.snapshot("f").unwrap().snapshot, None);
    let copy = folder.path().join("copy.ledger");
    assert_eq!(store.backup_to(&copy).unwrap(), head);
    drop(store);
    assert_eq!(std::fs::read(&path).unwrap(), FORMAT_1);

    for path in [path, copy] {
        let mut store = SqliteStore::open(&path, Access::ReadWrite).unwrap();
        let batch =
            Batch { request: Some("r".parse().unwrap()), entries: vec![entry(7)] };
        store.append_all(6, &[batch]).unwrap();
        let evidence = Evidence { head: Some(head), ..Evidence::default() };
        let verdict = store.verify_against(&evidence).unwrap();
        assert!(verdict.is_sound(), "{verdict:#?}");
        assert_eq!(read_all(&store, 0).unwrap().len(), 7);
    }
}

/// A file that the version before settings wrote, with the same entries, an attachment and
/// the note of a backup.
const FORMAT_2: &[u8] = include_bytes!("../data/format-2.ledger");

#[test]
fn a_file_of_format_2_is_read_as_it_is_and_has_settings_after_an_update() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("old.ledger");
    std::fs::write(&path, FORMAT_2).unwrap();

    let store = SqliteStore::open(&path, Access::ReadOnly).unwrap();
    let head = store.head().unwrap();
    assert_eq!(head.digest.to_string(), FORMAT_1_HEAD);
    let verdict = store.verify(Some(&head)).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
    assert_eq!(read_all(&store, 0).unwrap().len(), 6);
    assert_eq!(store.attachments().unwrap().len(), 1);
    assert_eq!(store.last_backup().unwrap().unwrap().number, 4);
    assert_eq!(
        (store.settings().unwrap(), store.setting_changes().unwrap()),
        (vec![], 0)
    );
    drop(store);
    assert_eq!(std::fs::read(&path).unwrap(), FORMAT_2);

    let mut store = SqliteStore::open(&path, Access::ReadWrite).unwrap();
    let key = SettingKey::new("OP", "preferences", "all");
    store.change_setting(&key, &mut |_| Change::Put("{}".to_owned())).unwrap();
    assert_eq!(store.settings().unwrap().len(), 1);
    assert_eq!(store.head().unwrap(), head);
    let verdict = store.verify(Some(&head)).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
}

/// A file that the version before arrivals wrote: that of format 2, with an attachment that
/// entry 7 names, another one that no entry names, and a setting.
pub(crate) const FORMAT_3: &[u8] = include_bytes!("../data/format-3.ledger");

/// The same, restored by that version into a schema, as `pg_dump --inserts` wrote it.
pub(crate) const FORMAT_3_SQL: &str = include_str!("../data/format-3.sql");

/// The head that it printed, and the digests of the attachment that entry 7 names, and of those
/// that no entry does.
const FORMAT_3_HEAD: &str =
    "16be1b5882e32201fc84bd1721998b056063c0771a831d2f2e040b330ebda136";
const NAMED: &str = "6fdc0803a63761e30720419c72b4f18e10d58faacd5bb73ae46b88e134dc087f";
const UNNAMED: [&str; 2] = [
    "1b87127d24c48421b091238fe8cf85e6b8693cff3103434c420ee505a6f3359f",
    "c1650d5377974d8285ff68824f74559842f591c6657dea3d6209881bec92ed5d",
];

/// All of it is there, and nothing is wrong with it.
fn is_whole(store: &impl Store) {
    let head = store.head().unwrap();
    assert_eq!((head.number, head.digest.to_string().as_str()), (7, FORMAT_3_HEAD));
    let verdict = store.verify(Some(&head)).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
    assert_eq!((verdict.entries, verdict.attachments), (7, 3));
    assert_eq!(read_all(store, 0).unwrap().len(), 7);
    assert_eq!(store.settings().unwrap().len(), 1);
}

/// The attachments that no entry names, and when they arrived.
fn unnamed(store: &impl Store) -> Vec<(String, Option<String>)> {
    let unnamed = store.unnamed().unwrap().into_iter();
    unnamed.map(|one| (one.attachment.digest.to_string(), one.arrived)).collect()
}

pub(crate) fn a_ledger_of_format_3_is_read_as_it_is_and_notes_arrivals_after_an_update<
    P: Place,
>() {
    const AT: &str = "2031-03-14T09:30:00Z";
    let place = P::vacant();
    place.hold_format_3();
    let arrived =
        |at: Option<&str>| UNNAMED.map(|one| (one.to_owned(), at.map(str::to_owned)));
    for _ in 0..2 {
        // Reading leaves it as it is.
        let mut store = place.open(Access::ReadOnly).unwrap();
        is_whole(&store);
        assert_eq!(unnamed(&store), arrived(None));
        let error = store.clear_unnamed(AT, &mut |_| true).unwrap_err();
        assert!(matches!(error, LedgerError::ReadOnly { .. }), "{error}");
    }
    let mut store = place.open(Access::ReadWrite).unwrap();
    is_whole(&store);
    assert_eq!(unnamed(&store), arrived(None));
    // Nobody knows how old they are: they are young from now on.
    assert_eq!(store.clear_unnamed(AT, &mut |_| true).unwrap(), []);
    assert_eq!(unnamed(&store), arrived(Some(AT)));
    is_whole(&store);
    assert_eq!(store.clear_unnamed(AT, &mut |_| true).unwrap().len(), 2);
    let left: Vec<Digest> =
        store.attachments().unwrap().iter().map(|one| one.digest).collect();
    assert_eq!(left, [NAMED.parse().unwrap()]);
    store.append(7, &[entry(8)]).unwrap();
    let verdict = store.verify(None).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
    drop(store);
    let told = place.meddle("DELETE FROM attachments");
    assert_eq!(told, Err("the ledger is append-only".to_owned()));
}

pub(crate) fn files_of_every_older_format_are_restored_whole<P: Place>() {
    let folder = tempdir().unwrap();
    for (content, entries, attachments) in
        [(FORMAT_1, 6, 0), (FORMAT_2, 6, 1), (FORMAT_3, 7, 3)]
    {
        let path = folder.path().join(format!("{attachments}.ledger"));
        std::fs::write(&path, content).unwrap();
        let place = P::vacant();
        let head = place.restore(&path, Existing::Refuse).unwrap();
        let store = place.open(Access::ReadWrite).unwrap();
        let verdict = store.verify(Some(&head)).unwrap();
        assert!(verdict.is_sound(), "{verdict:#?}");
        assert_eq!((verdict.entries, verdict.attachments), (entries, attachments));
        assert!(unnamed(&store).iter().all(|(_, arrived)| arrived.is_none()));
        assert_eq!(std::fs::read(&path).unwrap(), content, "the backup stays as it is");
    }
}

#[test]
fn a_schema_of_format_2_is_brought_up_to_date() {
    // One that other tests start is enough: whoever has no server is told so by the suite.
    let crate::stores::Found::Server(_) = crate::stores::find_server() else { return };
    let place = crate::stores::Postgres::vacant();
    place.hold_format_3();
    place.tamper("DROP TABLE settings; DROP TABLE setting_changes");
    place.comment("turnbuckle ledger, format 2");
    let mut store = place.open(Access::ReadWrite).unwrap();
    assert_eq!(store.head().unwrap().digest.to_string(), FORMAT_3_HEAD);
    assert_eq!(unnamed(&store).len(), 2);
    store.clear_unnamed("2031-03-14T09:30:00Z", &mut |_| true).unwrap();
    let verdict = store.verify(None).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
    drop(store);
    place.comment("turnbuckle ledger, format 5");
    let error = place.open(Access::ReadOnly).err().unwrap();
    assert!(matches!(error, LedgerError::Newer { found: 5, known: 4, .. }), "{error}");
}
