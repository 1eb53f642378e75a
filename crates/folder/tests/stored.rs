//! Stored entries: those of every version stay readable, and what is not one is refused.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

use std::path::Path;

use folder::stored::{StoredError, decode, encode};
use record::{Change, Entry, Performer};

/// Bodies as version 1 writes them, one file for each kind. They never change: a ledger
/// that was written then is read now.
fn golden() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/1");
    let mut files: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let read = |path: &std::path::PathBuf| {
        let kind = path.file_stem().unwrap().to_string_lossy().into_owned();
        (kind, std::fs::read_to_string(path).unwrap().trim_end().to_owned())
    };
    // Those of acts have tests of their own.
    let entry = |(kind, _): &(String, String)| !kind.starts_with("act.");
    files.iter().map(read).filter(entry).collect()
}

#[test]
fn version_1_is_read_and_written_as_it_was() {
    let golden = golden();
    assert_eq!(golden.len(), 27);
    for (kind, body) in golden {
        let entry = decode(&kind, 1, &body).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(encode(&entry), (kind, 1, body));
    }
}

#[test]
fn every_field_of_every_kind_is_in_it() {
    let golden = golden();
    for (name, schema) in folder::schemas() {
        let kind = name.trim_end_matches(".schema.json");
        let Some((_, body)) = golden.iter().find(|(stored, _)| stored == kind) else {
            assert_eq!(kind, "toml");
            continue;
        };
        let schema: serde_json::Value = serde_json::from_str(&schema).unwrap();
        for field in schema["properties"].as_object().unwrap().keys() {
            // An item is either fixed or taken off; a job is started or finished, and done
            // by one of three; the route shows all three.
            let other = [
                "fixed",
                "left",
                "or",
                "unbroken",
                "firm",
                "turnaround",
                "takes",
                "place",
            ];
            let other = other.contains(&field.as_str())
                || ["stand", "warm", "dry", "hold_at_most"].contains(&field.as_str())
                    && kind == "job";
            assert!(other || body.contains(&format!("\"{field}\":")), "{kind} {field}");
        }
    }
}

#[test]
fn what_it_says_is_what_was_meant() {
    let golden = golden();
    let entry = |wanted: &str| {
        let (kind, body) = golden.iter().find(|(kind, _)| kind == wanted).unwrap();
        decode(kind, 1, body).unwrap()
    };
    let Entry::Route(Change::Define(route)) = entry("route") else { panic!("no route") };
    assert_eq!(route.steps[0].after, Some(vec![]));
    assert_eq!(route.steps[2].after, None);
    assert_eq!(route.steps[1].branch.as_ref().unwrap().chance, 0.15);
    assert!(
        matches!(&route.steps[0].by, Performer::Crew { or, unbroken: true, .. } if or.len() == 2)
    );
    let Entry::Person(Change::Define(person)) = entry("person") else {
        panic!("no person")
    };
    assert_eq!(person.authority[0].scope, "structure (wood)");
    assert_eq!(person.authority[0].reference.as_deref(), Some("X-114"));
    assert_eq!(person.hours.unwrap().days.to_string(), "Sat");
    let Entry::Item(Change::Retire(name)) = entry("item.retired") else {
        panic!("not retired")
    };
    assert_eq!(name.as_str(), "ENG-P");
}

#[test]
fn what_is_no_entry_is_refused() {
    let error =
        |kind: &str, version: u32, body: &str| decode(kind, version, body).unwrap_err();
    assert!(matches!(error("wing", 1, "{}"), StoredError::Kind(_)));
    assert!(matches!(error("programme.retired", 1, "{}"), StoredError::Kind(_)));
    assert!(matches!(error("item", 2, "{}"), StoredError::Version { .. }));
    assert!(matches!(error("item", 0, "{}"), StoredError::Version { .. }));
    assert!(matches!(error("item", 1, "id"), StoredError::Json { .. }));
    assert!(matches!(error("item", 1, "[]"), StoredError::Json { .. }));
    for body in [
        "{}",
        r#"{"id":"A"}"#,
        r#"{"id":"A","name":"B","wings":"2"}"#,
        r#"{"id":"A","name":null}"#,
        r#"{"id":"A","name":"B","mass":"2"}"#,
        r#"{"id":"A","name":"B","refit_after":[{}]}"#,
        r#"{"id":"A","name":"B","vital":2}"#,
    ] {
        assert!(matches!(error("item", 1, body), StoredError::Body { .. }), "{body}");
    }
    assert!(matches!(
        error("route", 1, r#"{"id":"A","name":"B","reach":"off","step":["x"]}"#),
        StoredError::Body { .. }
    ));
    assert_eq!(
        error("gate", 3, "{}").to_string(),
        "an entry of the kind `gate` has version 3, and 1 is the latest that is known: it comes \
         from a newer version of the program"
    );
}
