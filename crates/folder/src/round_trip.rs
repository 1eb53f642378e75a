//! What is written reads back the same: every kind of thing, through files and through
//! stored entries, with whatever texts people type.

mod acts;
mod strategy;

pub(crate) use strategy::programme;

use std::sync::Arc;

use proptest::prelude::*;
use record::Programme;

use crate::read::parts;
use crate::{stored, write};

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn through_a_folder(programme in strategy::programme()) {
        let folder = tempfile::tempdir().unwrap();
        write(&programme, folder.path()).unwrap();
        let (again, problems) = parts(folder.path(), false);
        prop_assert_eq!(problems, vec![]);
        prop_assert_eq!(again, programme);
    }

    #[test]
    fn through_stored_entries(programme in strategy::programme()) {
        let mut again = Programme::default();
        let there = again.changes_to(&programme);
        let mut back = programme.changes_to(&again);
        // What a programme is about is never taken away, only restated.
        back.retain(|entry| entry.about().2);
        for entry in there.iter().chain(&back) {
            let (kind, version, body) = stored::encode(entry);
            prop_assert_eq!(&stored::decode(&kind, version, &body), &Ok(entry.clone()));
            // The body is JSON to any reader of it.
            let value: serde_json::Value = serde_json::from_str(&body).unwrap();
            prop_assert!(value.is_object());
        }
        for entry in &there {
            again.apply(entry);
        }
        prop_assert_eq!(&again, &programme);
    }

    /// Our CSV is CSV to a reader that we did not write: the crate `csv`.
    #[test]
    fn csv_is_read_by_others(programme in strategy::programme()) {
        let folder = tempfile::tempdir().unwrap();
        write(&programme, folder.path()).unwrap();
        let mut reader = csv::Reader::from_path(folder.path().join("items.csv")).unwrap();
        let name = reader.headers().unwrap().iter().position(|head| head == "name").unwrap();
        let read: Vec<(String, String)> = reader
            .records()
            .map(|record| record.unwrap())
            .map(|record| (record[0].to_owned(), record[name].to_owned()))
            .collect();
        let written: Vec<(String, String)> =
            programme.items.iter().map(|item| (item.id.to_string(), item.name.clone())).collect();
        prop_assert_eq!(read, written);
    }

    /// CSV that others write, with the crate `csv`, reads as they meant it.
    #[test]
    fn csv_of_others_is_read(
        names in prop::collection::vec(strategy::text(), 1..6),
        sign in prop::sample::select(vec![b',', b';', b'\t']),
        quotes in prop::sample::select(vec![csv::QuoteStyle::Necessary, csv::QuoteStyle::Always]),
        ends in prop::sample::select(vec![csv::Terminator::CRLF, csv::Terminator::Any(b'\n'), csv::Terminator::Any(b'\r')]),
        mark in any::<bool>(),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let bytes = if mark { b"\xEF\xBB\xBF".to_vec() } else { Vec::new() };
        let mut writer = csv::WriterBuilder::new()
            .delimiter(sign)
            .quote_style(quotes)
            .terminator(ends)
            .from_writer(bytes);
        writer.write_record(["ID", " Name "]).unwrap();
        for (at, name) in names.iter().enumerate() {
            writer.write_record([&format!("S{at}"), name]).unwrap();
        }
        std::fs::write(folder.path().join("skills.csv"), writer.into_inner().unwrap()).unwrap();
        let (programme, problems) = parts(folder.path(), false);
        let read: Vec<String> = programme.skills.iter().map(|skill| skill.name.clone()).collect();
        prop_assert_eq!(read, names);
        // Nothing is wrong but that there is no programme.toml.
        prop_assert_eq!(problems.len(), 1);
    }

    /// No file makes the reader panic, and everything it finds has a place.
    #[test]
    fn any_bytes_are_survived(
        bytes in prop::collection::vec(any::<u8>(), 0..200),
        text in "(\\[\\[item\\]\\]|id|name|=|\"|,|\n|#|;|\\[|\\]|A|[0-9]|é| ){0,60}",
    ) {
        let folder = tempfile::tempdir().unwrap();
        let put = |name: &str, content: &[u8]| {
            std::fs::write(folder.path().join(name), content).unwrap();
        };
        put("items.csv", &bytes);
        put("findings.xlsx", &[b"PK\x03\x04".as_slice(), &bytes].concat());
        put("packs.csv", format!("id,name\n{text}").as_bytes());
        put("gates.toml", &bytes);
        put("zones.toml", text.as_bytes());
        put("programme.toml", text.as_bytes());
        let (_, problems) = parts(folder.path(), true);
        prop_assert!(problems.iter().all(|problem| problem.place.is_some()));
    }
}

#[test]
fn a_snapshot_shares_what_is_read() {
    // An entry of the programme itself carries the whole of it.
    let (kind, version, body) =
        ("programme", 1, r#"{"name":"A","aircraft":"B","currency":"EUR"}"#);
    let record::Entry::Info(info) = stored::decode(kind, version, body).unwrap() else {
        panic!("another entry")
    };
    assert_eq!((info.name.as_str(), Arc::strong_count(&info)), ("A", 1));
}
