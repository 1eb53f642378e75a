//! The schema of documents, read by the library `jsonschema` (`reference/schema_check.py`), against
//! the reader.

#![expect(clippy::unwrap_used, reason = "in a test, failing is the way to say so")]

#[path = "../fuzz/damage.rs"]
#[expect(dead_code, reason = "nothing is solved here")]
mod damage;
mod python;

use damage::{Damage, corpus, is_document};
use problems::{Recipe, generate, write};
use python::{lines, script};

/// What the schema says of each text.
fn by_schema(texts: &[String]) -> Vec<String> {
    let dir = tempfile::TempDir::new().unwrap();
    let schema = dir.path().join("problem.schema.json");
    std::fs::write(&schema, problems::SCHEMA).unwrap();
    let mut command = script("schema_check.py");
    command.arg(schema);
    let verdicts = lines(command, &serde_json::to_string(texts).unwrap());
    assert_eq!(verdicts.len(), texts.len());
    verdicts.iter().map(|verdict| verdict.as_str().unwrap().to_owned()).collect()
}

/// Changes of the document of the example that its form alone forbids: what stands there, what
/// instead, and the place that the schema must name.
const MISTAKES: &[(&str, &str, &str)] = &[
    ("\"format\": 1", "\"format\": 2", "$.format"),
    ("\"horizon\"", "\"horizont\"", "$"),
    ("[32, 48]", "[32]", "$.calendars[0].windows[0]"),
    ("[32, 48]", "[32, 48, 50]", "$.calendars[0].windows[0]"),
    ("[32, 48]", "[-1, 48]", "$.calendars[0].windows[0][0]"),
    ("[[0, 2], [96, 3]]", "[]", "$.resources[0].capacity"),
    ("\"capacity\": 1", "\"capacity\": 1.5", "$.resources[1].capacity"),
    ("\"amount\": 2", "\"amount\": 0", "$.tasks[0].modes[0].uses[0].amount"),
    (
        "\"during\": \"working\"",
        "\"during\": \"always\"",
        "$.tasks[0].modes[0].uses[0].during",
    ),
    ("\"pace\": \"pausing\", ", "", "$.tasks[0].modes[0].calendar"),
    ("\"calendar\": \"day shift\",", "", "$.tasks[0].modes[0]"),
    ("\"modes\": [{\"work\": 48}]", "\"modes\": []", "$.tasks[1].modes"),
    ("\"weight\": 3", "\"weight\": 0", "$.tasks[2].due"),
    ("{\"start\": \"cure\"}", "{\"start\": \"cure\", \"finish\": 1}", "$.links[0].to"),
    ("{\"start\": \"cure\"}", "{}", "$.links[0].to"),
    ("{\"start\": \"cure\"}", "{\"start\": -1}", "$.links[0].to.start"),
    (", \"least\": 0}", "}", "$.links[0]"),
];

/// The document that `docs/PROBLEMS.md` shows.
fn example() -> String {
    let page = include_str!("../../../docs/PROBLEMS.md");
    let (_, rest) = page.split_once("```json\n").unwrap();
    rest.split_once("```").unwrap().0.to_owned()
}

#[test]
#[ignore = "reference check: run by `cargo xtask ci`"]
fn the_schema_sees_what_the_form_alone_forbids() {
    let changed = MISTAKES.iter().map(|&(old, new, _)| {
        assert!(example().contains(old), "{old}");
        example().replacen(old, new, 1)
    });
    let texts: Vec<String> = changed.collect();
    for (text, (verdict, mistake)) in
        texts.iter().zip(by_schema(&texts).iter().zip(MISTAKES))
    {
        let place = verdict.strip_prefix("invalid ");
        assert!(
            place.is_some_and(|place| place.starts_with(mistake.2)),
            "{mistake:?}: {verdict}"
        );
        assert!(problems::read("week.json", text).is_err(), "{mistake:?}");
    }
}

/// Every document that the reader takes is one by the schema, and of those that it refuses the
/// schema refuses a good part.
#[test]
#[ignore = "reference check: run by `cargo xtask ci`"]
fn the_schema_takes_what_the_reader_takes() {
    let drawn = |size: usize, seed| write(&generate(&Recipe::tasks(size), seed));
    let mut texts = vec![example(), drawn(200, 1)];
    texts.extend((1..=60).map(|seed| write(&generate(&Recipe::SMALL, seed))));
    texts.extend(
        corpus().into_iter().filter(|(name, _)| is_document(name)).map(|(_, text)| text),
    );
    let whole = texts.len();
    let mut damage = Damage::new(7, None);
    while texts.len() < whole + 3_000 {
        let (name, text) = damage.next();
        if is_document(name) {
            texts.push(text);
        }
    }
    let (mut taken, mut seen, mut unseen) = (0, 0, 0);
    for (number, (text, verdict)) in texts.iter().zip(by_schema(&texts)).enumerate() {
        if problems::read("d.json", text).is_ok() {
            assert_eq!(verdict, "valid", "text {number}:\n{text}");
            taken += 1;
        } else {
            assert!(number >= whole, "text {number}:\n{text}");
            seen += usize::from(verdict.starts_with("invalid"));
            unseen += usize::from(verdict == "valid");
        }
    }
    assert!(
        taken > whole + 100 && seen > unseen && seen > 200,
        "{taken} {seen} {unseen}"
    );
}
