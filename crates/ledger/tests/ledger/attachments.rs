//! Attachments.

use ledger::{
    ATTACHMENT_LIMIT, Accepted, Access, Digest, Existing, LedgerError, Media, NewEntry,
    Store, Unfit, Unnamed,
};

use proptest::prelude::*;

use crate::stores::Place;
use crate::{entry, filled};

/// What files of each kind begin with.
const BEGINNINGS: [&[u8]; 5] = [
    b"\xff\xd8\xff\xe1\0\x10Exif\0\0II*\0",
    b"\xff\xd8\xff\xda\0\x02\x01",
    b"\x89PNG\r\n\x1a\n\0\0\0\x01IHDR",
    b"RIFF\xff\0\0\0WEBPVP8X\x0a\0\0\0",
    b"RIFF\x20\0\0\0WEBPEXIF",
];

proptest! {
    #[test]
    fn any_bytes_are_taken_or_refused_and_cleaning_again_changes_nothing(
        beginning in 0..BEGINNINGS.len(),
        rest in prop::collection::vec(
            prop_oneof![any::<u8>(), Just(0), Just(0xFF), Just(0xD9), Just(2)],
            0..60,
        ),
    ) {
        let content = [BEGINNINGS[beginning], &rest].concat();
        if let Ok(cleaned) = Accepted::new(&content, ATTACHMENT_LIMIT) {
            let again = Accepted::new(cleaned.content(), ATTACHMENT_LIMIT).unwrap();
            prop_assert_eq!(again.content(), cleaned.content());
        }
    }
}

const AT: &str = "2031-01-14T09:30:00Z";
const LATER: &str = "2031-03-14T09:30:00Z";

/// Takes away what no entry names and arrived before a time.
fn clear(store: &mut impl Store, before: &str) -> Vec<Digest> {
    let mut goes =
        |one: &Unnamed| one.arrived.as_deref().is_some_and(|arrived| arrived < before);
    let gone = store.clear_unnamed(LATER, &mut goes).unwrap();
    gone.into_iter().map(|one| one.attachment.digest).collect()
}

fn naming(number: u64, body: &str) -> NewEntry {
    NewEntry { body: body.as_bytes().to_vec(), ..entry(number) }
}

pub(crate) fn what_no_entry_names_is_told_and_cleared_once_it_is_old<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
    let long = "0123456789\n".repeat(200_000);
    let old = store.put_attachment(&text(&long), AT).unwrap();
    let young = store.put_attachment(&text("rib 5"), LATER).unwrap();
    let named = store.put_attachment(&text("rib 6"), AT).unwrap();
    store.append(0, &[naming(1, &format!("see {}", named.digest))]).unwrap();
    let unnamed = store.unnamed().unwrap();
    let mut told: Vec<(Digest, Option<&str>)> = unnamed
        .iter()
        .map(|one| (one.attachment.digest, one.arrived.as_deref()))
        .collect();
    told.sort_by_key(|(_, arrived)| *arrived);
    assert_eq!(told, [(old.digest, Some(AT)), (young.digest, Some(LATER))]);
    assert_eq!(clear(&mut store, LATER), [old.digest]);
    assert_eq!(clear(&mut store, LATER), []);
    assert_eq!(store.attachment(&old.digest).unwrap(), None);
    assert!(store.attachment(&young.digest).unwrap().is_some());
    assert!(store.attachment(&named.digest).unwrap().is_some());
    let verdict = store.verify(None).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
    assert_eq!(verdict.attachments, 2);
    // The door is shut again behind it, and what went can be sent once more.
    drop(store);
    let told = place.meddle("DELETE FROM attachment_parts");
    assert_eq!(told, Err("the ledger is append-only".to_owned()));
    assert_eq!(
        place.meddle("DELETE FROM attachments"),
        Err("the ledger is append-only".to_owned())
    );
    let mut store = place.open(Access::ReadWrite).unwrap();
    assert_eq!(store.put_attachment(&text(&long), LATER).unwrap(), old);
    let (_, found) = store.attachment(&old.digest).unwrap().unwrap();
    assert_eq!(found, long.as_bytes());
}

pub(crate) fn what_any_entry_names_is_never_cleared<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
    let of = |at: usize| text(&format!("photograph {at}"));
    let digests: Vec<Digest> =
        (0..4).map(|at| store.put_attachment(&of(at), AT).unwrap().digest).collect();
    let upper = digests[1].to_string().to_uppercase();
    let bodies = [
        format!("{{\"photographs\":[\"{}\"]}}", digests[0]),
        format!("words that name {upper} in capitals"),
        format!("two in a row {}{}", digests[2], digests[3]),
    ];
    let entries: Vec<NewEntry> =
        (1..).zip(&bodies).map(|(number, body)| naming(number, body)).collect();
    store.append(0, &entries).unwrap();
    assert_eq!(store.unnamed().unwrap(), []);
    assert_eq!(clear(&mut store, "9999"), []);
    assert_eq!(store.attachments().unwrap().len(), 4);
    let mut reader = place.open(Access::ReadOnly).unwrap();
    let error = reader.clear_unnamed(AT, &mut |_| true).unwrap_err();
    assert!(matches!(error, LedgerError::ReadOnly { .. }), "{error}");
    let error = store.clear_unnamed("yesterday", &mut |_| true).unwrap_err();
    assert!(matches!(error, LedgerError::Refused { .. }), "{error}");
}

pub(crate) fn what_is_sent_again_is_young_again<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
    let rib = store.put_attachment(&text("rib 4"), AT).unwrap();
    store.put_attachment(&text("rib 4"), LATER).unwrap();
    assert_eq!(clear(&mut store, LATER), []);
    // Of what an older version took it is not known: it is young from the first look on.
    drop(store);
    place.tamper("DELETE FROM arrivals");
    let mut store = place.open(Access::ReadWrite).unwrap();
    assert_eq!(store.unnamed().unwrap()[0].arrived, None);
    assert_eq!(store.clear_unnamed(LATER, &mut |_| true).unwrap(), []);
    assert_eq!(store.unnamed().unwrap()[0].arrived.as_deref(), Some(LATER));
    let error = store.put_attachment(&text("rib 5"), "now").unwrap_err();
    assert!(matches!(error, LedgerError::Refused { .. }), "{error}");
    assert_eq!(clear(&mut store, "9999"), [rib.digest]);
}

/// The entry that can't be read may be the one that names it.
pub(crate) fn a_ledger_that_cannot_be_read_is_not_cleared<P: Place>() {
    let (place, _) = filled::<P>(&[3]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    let rib = store.put_attachment(&text("rib 4"), AT).unwrap();
    drop(store);
    place.tamper(&format!(
        "UPDATE entries SET body = {} WHERE number = 2",
        P::bytes("7269622035")
    ));
    let mut store = place.open(Access::ReadWrite).unwrap();
    let error = store.clear_unnamed(LATER, &mut |_| true).unwrap_err();
    assert!(matches!(error, LedgerError::Damaged { .. }), "{error}");
    assert!(store.attachment(&rib.digest).unwrap().is_some());
}

/// Whoever marks one could delete it and leave no trace in the tables: the mark is the trace.
pub(crate) fn a_mark_that_lets_attachments_go_is_found<P: Place>() {
    let (place, _) = filled::<P>(&[3]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    let rib = store.put_attachment(&text("rib 4"), AT).unwrap();
    store.append(3, &[naming(4, &rib.digest.to_string())]).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let backup = folder.path().join("b.ledger");
    store.backup_to(&backup).unwrap();
    drop(store);
    let mark = "INSERT INTO clearing SELECT digest FROM attachments";
    place.meddle(mark).unwrap();
    let mut store = place.open(Access::ReadWrite).unwrap();
    let verdict = store.verify(None).unwrap();
    let told = verdict.faults.iter().map(ToString::to_string).collect::<String>();
    assert!(verdict.faults.len() == 1 && told.contains("`clearing`"), "{verdict:#?}");
    // Nor does clearing take along what somebody else marked.
    store.put_attachment(&text("rib 5"), AT).unwrap();
    let error = store.clear_unnamed(LATER, &mut |_| true).unwrap_err();
    assert!(matches!(error, LedgerError::Damaged { .. }), "{error}");
    assert_eq!(store.attachments().unwrap().len(), 2);
    crate::raw(&backup).execute_batch(mark).unwrap();
    let error = P::vacant().restore(&backup, Existing::Refuse).unwrap_err();
    assert!(matches!(error, LedgerError::Damaged { .. }), "{error}");
}

pub(crate) fn arrivals_go_along_with_a_backup_and_its_restoring<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
    for (words, at) in [("rib 4", AT), ("rib 5", LATER), ("rib 6", AT)] {
        store.put_attachment(&text(words), at).unwrap();
    }
    let unnamed = store.unnamed().unwrap();
    assert!(unnamed.len() == 3 && unnamed.iter().all(|one| one.arrived.is_some()));
    let folder = tempfile::tempdir().unwrap();
    let backup = folder.path().join("b.ledger");
    store.backup_to(&backup).unwrap();
    let copy = ledger::SqliteStore::open(&backup, Access::ReadOnly).unwrap();
    assert_eq!(copy.unnamed().unwrap(), unnamed);
    drop(copy);
    let other = P::vacant();
    other.restore(&backup, Existing::Refuse).unwrap();
    let mut other = other.open(Access::ReadWrite).unwrap();
    assert_eq!(other.unnamed().unwrap(), unnamed);
    assert_eq!(clear(&mut other, LATER).len(), 2);
}

fn text(content: &str) -> Accepted {
    Accepted::new(content.as_bytes(), ATTACHMENT_LIMIT).unwrap()
}

#[test]
fn what_cannot_be_attached_is_refused_with_the_reason() {
    for (content, limit, told) in [
        (&b""[..], 9, "the file is empty; look whether it was copied whole"),
        (b"ten bytes!", 9, "the file has 10 bytes, more than the 9 that are allowed; "),
        (b"GIF89a", 9, "the file looks like a GIF picture; what can be attached is JPEG"),
        (b"\xff\xd8\xff\xe0", 9, "the JPEG picture is broken: it ends at byte 4"),
        (b"%PDF-1.7", 9, "the PDF document is broken: no end mark"),
    ] {
        let error: Unfit = Accepted::new(content, limit).unwrap_err();
        assert!(error.to_string().starts_with(told), "{error}");
    }
}

pub(crate) fn an_attachment_is_stored_once_and_read_back<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
    let rib = store.put_attachment(&text("rib 4: 2 mm"), AT).unwrap();
    assert_eq!((rib.media, rib.size), (Media::Text, 11));
    assert_eq!(rib.digest, Digest::from_bytes(blake3::hash(b"rib 4: 2 mm").into()));
    assert_eq!(store.put_attachment(&text("rib 4: 2 mm"), AT).unwrap(), rib);
    let other = store.put_attachment(&text("rib 5"), AT).unwrap();
    let mut all = [rib, other];
    all.sort_by_key(|attachment| attachment.digest);
    assert_eq!(store.attachments().unwrap(), all);
    assert_eq!(
        store.attachment(&rib.digest).unwrap(),
        Some((rib, b"rib 4: 2 mm".to_vec()))
    );
    assert_eq!(store.attachment(&Digest::from_bytes([0; 32])).unwrap(), None);
    store.append(0, &[entry(1)]).unwrap();

    let mut reader = place.open(Access::ReadOnly).unwrap();
    let verdict = reader.verify(None).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
    assert_eq!(verdict.attachments, 2);
    let error = reader.put_attachment(&text("rib 6"), AT).unwrap_err();
    assert!(matches!(error, LedgerError::ReadOnly { .. }), "{error}");
}

pub(crate) fn an_attachment_in_several_parts_is_read_back<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
    for size in [1 << 20, (1 << 20) + 1, 3 << 20] {
        let content: String = "0123456789\n".chars().cycle().take(size).collect();
        let stored = store.put_attachment(&text(&content), AT).unwrap();
        let (_, found) = store.attachment(&stored.digest).unwrap().unwrap();
        assert_eq!(found, content.as_bytes());
    }
    assert!(store.verify(None).unwrap().is_sound());
}

pub(crate) fn damage_to_an_attachment_is_found<P: Place>() {
    let (bytes, zero) = (P::bytes("7269622035"), P::bytes(&"00".repeat(32)));
    for (sql, told) in [
        (
            format!("UPDATE attachment_parts SET content = {bytes}"),
            "its content was changed after it was stored",
        ),
        ("DELETE FROM attachment_parts".to_owned(), "part 1 of it is missing"),
        (
            "UPDATE attachments SET size = 4".to_owned(),
            "part 1 of it has 5 bytes where 4 must be",
        ),
        (
            "UPDATE attachments SET media = 'text/html'".to_owned(),
            "its column media holds \"text/html\", which is no kind of attachment",
        ),
        (format!("UPDATE attachments SET digest = {zero}"), "part 1 of it is missing"),
        (
            "DELETE FROM attachments".to_owned(),
            "there are 1 parts of attachments where 0 must be",
        ),
    ] {
        let (place, _) = filled::<P>(&[1]);
        let mut store = place.open(Access::ReadWrite).unwrap();
        let stored = store.put_attachment(&text("rib 4"), AT).unwrap();
        drop(store);
        place.tamper(&sql);
        let store = place.open(Access::ReadOnly).unwrap();
        let faults = store.verify(None).unwrap().faults;
        assert_eq!(faults.len(), 1, "{sql}: {faults:?}");
        assert!(faults[0].to_string().contains(told), "{sql}: {faults:?}");
        // Never wrong content: none, or an error.
        let found = store.attachment(&stored.digest);
        assert!(!matches!(found, Ok(Some(_))), "{sql}: {found:?}");
    }
}
