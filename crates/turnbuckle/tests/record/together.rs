//! Several people at once, and what is sent twice.

use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};

use crate::{acts, card, json_of, refused, run, well, workshop};

#[test]
fn the_same_request_counts_once() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    let start =
        ["act", "start", "job=ON:PROP-P", "--by", "TR", "--request", "r-1", "--json"];
    let first: Value = serde_json::from_str(&well(dir, &start)).unwrap();
    let again: Value = serde_json::from_str(&well(dir, &start)).unwrap();
    assert_eq!(first["kept"][0]["entry"], again["kept"][0]["entry"]);
    assert_eq!(
        (&first["kept"][0]["repeated"], &again["kept"][0]["repeated"]),
        (&json!(false), &json!(true))
    );
    // Another request of the same kind is another one, and there he is at work already.
    let other = ["act", "start", "job=ON:PROP-P", "--by", "TR", "--request", "r-2"];
    assert!(refused(dir, &other).contains("TR is at work on ON:PROP-P already"));
    let words = refused(dir, &["act", "start", "job=J", "--by", "TR", "--request", ""]);
    assert!(words.contains("request id"), "{words}");
}

#[test]
fn several_at_once_wait_for_each_other() {
    let dir = workshop();
    let raise = |number: usize| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
        let finding = format!("finding=X-{number}");
        command.current_dir(dir.path());
        command.args(["act", "raise", &finding, "item=HULL", "what=a dent"]);
        command.args(["found=2020-01-01", "--by", "BK"]);
        command.spawn().unwrap()
    };
    let running: Vec<_> = (0..5).map(raise).collect();
    for mut child in running {
        assert!(child.wait().unwrap().success());
    }
    assert!(well(dir.path(), &["verify"]).contains("sound"));
}

/// The entry at which a sheet was shown.
fn shown_at(dir: &Path, about: &[&str]) -> String {
    let shown = well(dir, &[&["show"], about, &["--json"]].concat());
    let shown: Value = serde_json::from_str(shown.lines().next().unwrap()).unwrap();
    let text = well(dir, &[&["show"], about].concat());
    let entry = shown["entry"].to_string();
    assert!(text.contains(&format!("as it stands after entry {entry}")), "{text}");
    entry
}

#[test]
fn whoever_is_second_is_told_sees_both_and_loses_nothing() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    acts(dir, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    let seen = shown_at(dir, &["cards", "ON:PROP-P"]);
    // Two people looked at the same moment; the first one enters.
    let raise = ["act", "raise", "finding=X-9", "item=PROP-P", "found=2020-01-01"];
    let first = ["what=a dent", "--by", "BK", "--seen", &seen];
    well(dir, &[&raise[..], &first].concat());
    let second = ["what=a crack; at the \"root\"", "--by", "MS", "--seen", &seen];
    let second = [&raise[..], &second].concat();
    let words = refused(dir, &second);
    assert!(words.contains("a crack") && words.contains("a dent"), "{words}");
    assert!(words.contains("BK: raise") && words.contains("touches"), "{words}");
    let told = json_of(&run(dir, &[&second[..], &["--json"]].concat()));
    let changed = &told["changed"];
    let since = &changed["since"][0];
    assert_eq!((&since["by"], &since["act"]), (&json!("BK"), &json!("raise")));
    assert_eq!(since["body"]["what"], "a dent");
    assert_eq!(since["touches"], json!(["finding X-9", "item PROP-P"]));
    // What was typed is all there, and can be sent as it is under another name.
    let mut again = changed["acts"].clone();
    assert_eq!(again[0]["what"], "a crack; at the \"root\"");
    again[0]["finding"] = json!("X-10");
    fs::write(dir.join("again.json"), again.to_string()).unwrap();
    let now = changed["now"].to_string();
    let sent = ["act", "--file", "again.json", "--by", "MS", "--seen", &now];
    well(dir, &sent);
    let finding = well(dir, &["show", "findings", "X-10"]);
    assert!(finding.contains("a crack; at the \"root\""), "{finding}");
}

#[test]
fn only_what_touches_the_same_things_stands_in_the_way() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    acts(dir, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    let seen = shown_at(dir, &["cards", "ON:PROP-P"]);
    let sign = ["act", "sign-step", "job=ON:PROP-P", "step=10", "--by", "TR"];
    let signed = [&sign[..], &["--seen", &seen]].concat();
    // Elsewhere, and by themselves.
    acts(
        dir,
        "BK",
        &json!({
            "act": "raise", "finding": "X-1", "item": "HULL", "what": "a dent",
            "found": "2020-01-01", "job": "ON:PROP-P",
        }),
    );
    acts(dir, "TR", &json!({"act": "pause", "job": "ON:PROP-P", "left": "so"}));
    acts(dir, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    well(dir, &signed);
    // Another step of the card is no matter, the whole card is.
    acts(dir, "TR", &json!({"act": "sign-step", "job": "ON:PROP-P", "step": "20"}));
    let seen = shown_at(dir, &["cards"]);
    let inspect = |by| {
        let inspect =
            ["act", "inspect", "job=ON:PROP-P", "step=20", "checked=locking; sense"];
        [&inspect[..], &["verdict=pass", "--by", by, "--seen", &seen]].concat()
    };
    well(dir, &inspect("BK"));
    let words = refused(dir, &inspect("MS"));
    assert!(words.contains("touches card ON:PROP-P step 20"), "{words}");
    let finish =
        ["act", "finish", "job=ON:PROP-P", "clear=yes", "--by", "TR", "--seen", &seen];
    assert!(refused(dir, &finish).contains("BK: inspect"));
    // What strikes the signature of a step touches that step.
    let strike = ["act", "strike", "reason=so", "--by", "TR", "--seen", &seen];
    let entry = well(dir, &["history", "ON:PROP-P", "--json"]);
    let entry: Value = serde_json::from_str(&entry).unwrap();
    let rows = entry["lists"]["entries"].as_array().unwrap();
    let last = rows.iter().rfind(|row| row["what"] == "act.sign-step").unwrap();
    let entry = format!("entry={}", last["entry"].as_str().unwrap());
    let words = refused(dir, &[&strike[..], &[&entry]].concat());
    assert!(words.contains("touches card ON:PROP-P step 20"), "{words}");
    let words = refused(dir, &[&sign[..], &["--seen", "999999"]].concat());
    assert!(words.contains("nobody can have looked up to 999999"), "{words}");
}

#[test]
fn of_two_at_the_same_moment_one_is_kept_and_the_other_is_told() {
    let dir = workshop();
    let dir = dir.path();
    let seen = shown_at(dir, &["findings"]);
    let raise = |by: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
        command.current_dir(dir).args(["act", "raise", "finding=X-9", "item=HULL"]);
        command.args(["what=a dent", "found=2020-01-01", "--json", "--by", by]);
        command.args(["--seen", &seen]).stdout(std::process::Stdio::piped());
        command.spawn().unwrap()
    };
    let running = ["BK", "MS"].map(raise);
    let told = running.map(|child| json_of(&child.wait_with_output().unwrap()));
    let kept = told.iter().filter(|told| told["kept"].as_array().unwrap().len() == 1);
    assert_eq!(kept.count(), 1, "{told:?}");
    let changed = told.iter().find(|told| told["changed"].is_object()).unwrap();
    assert_eq!(changed["changed"]["acts"][0]["what"], "a dent");
}
