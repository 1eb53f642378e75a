//! Cards and plans, from the draft to the record.

use std::fs;

use serde_json::Value;

use crate::{refused, well, workshop};

#[test]
fn cards_are_drafted_completed_and_issued() {
    let dir = workshop();
    let dir = dir.path();
    let bare = well(dir, &["draft", "OFF:PROP-P", "ON:PROP-P"]);
    fs::write(dir.join("cards.json"), &bare).unwrap();
    // Nobody but the workshop knows the data that a step follows.
    let why = refused(dir, &["act", "--file", "cards.json", "--by", "TR", "--try"]);
    assert!(why.contains("names no data with their revision"), "{why}");
    let data = ["--data", "Invented manual 4", "--revision", "2"];
    let all = well(dir, &[&["draft"], &data[..]].concat());
    fs::write(dir.join("cards.json"), &all).unwrap();
    let said = well(dir, &["act", "--file", "cards.json", "--by", "TR"]);
    assert!(said.lines().count() > 500, "{said}");
    // What has a card is not drafted again.
    assert_eq!(well(dir, &["draft"]).trim(), "[]");
    let why = refused(dir, &["draft", "COMPLETE", "OFF:NOTHING"]);
    assert!(why.contains("it is a date") && why.contains("no job OFF:NOTHING"), "{why}");
}

#[test]
fn a_plan_is_adopted_and_the_next_one_is_held_beside_it() {
    let dir = workshop();
    let dir = dir.path();
    let plan = ["plan", "--for", "1s", "--threads", "1", "--json"];
    let refusal =
        refused(dir, &[&plan[..], &["--adopt", "agreed", "--by", "BK"]].concat());
    assert!(refusal.contains("no authority to plan"), "{refusal}");
    well(dir, &[&plan[..], &["--adopt", "agreed", "--by", "TR"]].concat());
    let sheet: Value =
        serde_json::from_str(&well(dir, &["show", "plan", "--json"])).unwrap();
    let text = sheet.to_string();
    assert!(text.contains("OFF:PROP-P") && text.contains("agreed"), "{text}");
    let words = ["plan", "--for", "1s", "--threads", "1", "--today", "2031-11-17"];
    let said = well(dir, &words);
    assert!(said.contains("Beside the adopted plan"), "{said}");
    let said = well(dir, &[&words[..], &["--anew"]].concat());
    assert!(said.contains("jobs begin on another day"), "{said}");
}
