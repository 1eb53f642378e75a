//! Names of things.

use std::collections::BTreeMap;

use quantity::{Id, IdError, Kind};

#[derive(Debug)]
struct Item;

impl Kind for Item {
    const NOUN: &'static str = "item";
}

fn name(text: &str) -> Result<Id<Item>, IdError> {
    Id::new(text)
}

#[test]
fn names_of_any_alphabet() {
    for text in ["A", "WING-L/1.2_b", "Flügel-3", "крыло", "翼/左", "7", &"x".repeat(64)]
    {
        assert_eq!(name(text).unwrap().as_str(), text);
    }
}

#[test]
fn other_texts_are_refused_with_the_place() {
    let rows = [
        ("", "the name of an item is empty"),
        (" A", "character 1 is ' '"),
        ("wing left", "character 5 is ' '"),
        ("Flügel?x", "character 7 is '?'"),
        ("a\nb", "character 2 is '\\n'"),
        ("e\u{301}", "character 2 is '\\u{301}'"),
        ("-A", "begins and ends with a letter or a digit"),
        ("A/", "character 2 is '/'"),
        (".", "character 1 is '.'"),
    ];
    for (text, part) in rows {
        let error = name(text).unwrap_err();
        assert!(error.to_string().contains(part), "{text:?}: {error}");
    }
    let long = "é".repeat(65);
    assert_eq!(name(&long), Err(IdError::TooLong { noun: "item", length: 65 }));
}

#[test]
fn names_are_ordered_and_found_by_text() {
    let mut map = BTreeMap::from([(name("b").unwrap(), 2), (name("a").unwrap(), 1)]);
    assert_eq!(map.get("b"), Some(&2));
    assert_eq!(map.pop_first().map(|(name, _)| name.to_string()).as_deref(), Some("a"));
    assert_eq!(
        format!("{:?} {:>3}", name("a").unwrap(), name("a").unwrap()),
        "item:a   a"
    );
}

#[test]
fn folding_joins_names_that_differ_in_capitals() {
    for (one, other) in [("Wing", "WING"), ("Straße", "STRASSE"), ("ΟΔΟΣ", "οδος")]
    {
        assert_eq!(name(one).unwrap().fold(), name(other).unwrap().fold());
        assert_ne!(name(one).unwrap(), name(other).unwrap());
    }
    assert_ne!(name("wing1").unwrap().fold(), name("wing2").unwrap().fold());
}
