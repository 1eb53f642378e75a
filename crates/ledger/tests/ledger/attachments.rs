//! Attachments.

use ledger::{
    ATTACHMENT_LIMIT, Accepted, Access, Digest, LedgerError, Media, Store, Unfit,
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
    let rib = store.put_attachment(&text("rib 4: 2 mm")).unwrap();
    assert_eq!((rib.media, rib.size), (Media::Text, 11));
    assert_eq!(rib.digest, Digest::from_bytes(blake3::hash(b"rib 4: 2 mm").into()));
    assert_eq!(store.put_attachment(&text("rib 4: 2 mm")).unwrap(), rib);
    let other = store.put_attachment(&text("rib 5")).unwrap();
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
    let error = reader.put_attachment(&text("rib 6")).unwrap_err();
    assert!(matches!(error, LedgerError::ReadOnly { .. }), "{error}");
}

pub(crate) fn an_attachment_in_several_parts_is_read_back<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
    for size in [1 << 20, (1 << 20) + 1, 3 << 20] {
        let content: String = "0123456789\n".chars().cycle().take(size).collect();
        let stored = store.put_attachment(&text(&content)).unwrap();
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
        let stored = store.put_attachment(&text("rib 4")).unwrap();
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
