//! Settings beside the record.

use ledger::{Access, Change, Existing, LedgerError, Setting, SettingKey, Store};
use tempfile::tempdir;

use crate::filled;
use crate::stores::Place;

fn put(store: &mut impl Store, key: &SettingKey, content: &str) {
    store.change_setting(key, &mut |_| Change::Put(content.to_owned())).unwrap();
}

pub(crate) fn a_setting_is_kept_changed_and_taken_away<P: Place>() {
    let (place, heads) = filled::<P>(&[1, 2]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    let reader = place.open(Access::ReadOnly).unwrap();
    let keys = [("OP", "token", "b"), ("OP", "token", "a"), ("Å; '\"", "view", "all")]
        .map(|(owner, kind, name)| SettingKey::new(owner, kind, name));
    assert_eq!(store.setting_changes().unwrap(), 0);
    for (number, key) in keys.iter().enumerate() {
        put(&mut store, key, &format!("{{\"n\":{number}}}"));
    }
    let all = |store: &P::Store| -> Vec<(String, String)> {
        let all = store.settings().unwrap().into_iter();
        all.map(|Setting { key, content }| (key.name, content)).collect()
    };
    let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
    let expected =
        [pair("a", "{\"n\":1}"), pair("b", "{\"n\":0}"), pair("all", "{\"n\":2}")];
    assert_eq!(all(&store), expected);
    assert_eq!(all(&reader), expected, "whoever reads sees them");

    put(&mut store, &keys[0], "other");
    store.change_setting(&keys[1], &mut |_| Change::Remove).unwrap();
    store
        .change_setting(&keys[1], &mut |found| {
            assert_eq!(found, None);
            Change::Keep
        })
        .unwrap();
    assert_eq!(all(&reader), [pair("b", "other"), pair("all", "{\"n\":2}")]);
    assert_eq!(reader.setting_changes().unwrap(), 5);
    // The record knows nothing of it.
    assert_eq!(store.head().unwrap(), heads[1]);
    let mut reader = reader;
    let error = reader.change_setting(&keys[0], &mut |_| Change::Remove).unwrap_err();
    assert!(matches!(error, LedgerError::ReadOnly { .. }), "{error}");
}

pub(crate) fn a_setting_that_is_too_long_is_refused<P: Place>() {
    let (place, _) = filled::<P>(&[1]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    let long = "x".repeat(ledger::setting::NAME_LIMIT + 1);
    for key in [
        SettingKey::new("", "k", "n"),
        SettingKey::new("o", &*long, "n"),
        SettingKey::new("o", "k", "a\0b"),
    ] {
        let error = store.change_setting(&key, &mut |_| Change::Remove).unwrap_err();
        assert!(matches!(error, LedgerError::Refused { .. }), "{error}");
    }
    let key = SettingKey::new("o", "k", "n");
    put(&mut store, &key, "stays");
    for content in ["x".repeat(ledger::setting::CONTENT_LIMIT + 1), "a\0b".to_owned()] {
        let mut change = |_: Option<&str>| Change::Put(content.clone());
        let error = store.change_setting(&key, &mut change).unwrap_err();
        assert!(matches!(error, LedgerError::Refused { .. }), "{error}");
    }
    assert_eq!(store.settings().unwrap()[0].content, "stays");
    assert_eq!(store.setting_changes().unwrap(), 1);
}

pub(crate) fn nobody_changes_a_setting_while_it_is_decided_on<P: Place>() {
    let (place, _) = filled::<P>(&[1]);
    let key = SettingKey::new("OP", "count", "all");
    // One after another opens it for writing, and each adds one.
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                for _ in 0..5 {
                    let mut store = loop {
                        match place.open(Access::ReadWrite) {
                            Err(LedgerError::InUse { .. }) => std::thread::yield_now(),
                            opened => break opened.unwrap(),
                        }
                    };
                    let mut add = |found: Option<&str>| {
                        let found: u32 = found.map_or(0, |text| text.parse().unwrap());
                        Change::Put((found + 1).to_string())
                    };
                    store.change_setting(&key, &mut add).unwrap();
                }
            });
        }
    });
    let store = place.open(Access::ReadOnly).unwrap();
    assert_eq!(store.settings().unwrap()[0].content, "20");
}

pub(crate) fn settings_are_in_a_backup_and_no_part_of_the_record<P: Place>() {
    let (place, heads) = filled::<P>(&[1, 2]);
    let key = SettingKey::new("OP", "view", "all");
    let mut store = place.open(Access::ReadWrite).unwrap();
    put(&mut store, &key, "metric");
    let folder = tempdir().unwrap();
    let backup = folder.path().join("backup.ledger");
    store.backup_to(&backup).unwrap();
    put(&mut store, &key, "imperial");
    drop(store);
    // Changed behind the ledger's back: nobody vouches for it.
    place.tamper("UPDATE settings SET content = 'else'");
    let store = place.open(Access::ReadOnly).unwrap();
    assert!(store.verify(Some(&heads[1])).unwrap().is_sound());
    assert_eq!(store.settings().unwrap()[0].content, "else");
    drop(store);
    place.restore(&backup, Existing::SetAside).unwrap();
    let store = place.open(Access::ReadOnly).unwrap();
    assert_eq!(
        store.settings().unwrap(),
        [Setting { key, content: "metric".to_owned() }]
    );
    assert!(store.verify(Some(&heads[1])).unwrap().is_sound());
}
