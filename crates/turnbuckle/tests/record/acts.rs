//! Acts that are kept, and acts that are refused with every reason.

use std::fs;
use std::process::Command;

use serde_json::{Value, json};

use crate::{acts, card, json_of, refused, run, well, workshop};

#[test]
fn what_may_be_done_is_kept_and_what_may_not_is_refused() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    let by = |by: &'static str, words: &[&'static str]| -> Vec<&'static str> {
        [&["act"], words, &["--by", by]].concat()
    };
    well(dir, &by("TR", &["start", "job=ON:PROP-P"]));
    let words = refused(dir, &by("TR", &["sign-step", "job=ON:PROP-P", "step=20"]));
    assert!(words.contains("step 10 before it lacks its signature"), "{words}");
    assert!(words.contains("rule: order of steps"), "{words}");
    assert!(words.contains("nothing was entered"), "{words}");
    well(dir, &by("TR", &["sign-step", "job=ON:PROP-P", "step=10"]));
    well(dir, &by("TR", &["sign-step", "job=ON:PROP-P", "step=20"]));
    let look =
        ["inspect", "job=ON:PROP-P", "step=20", "checked=locking; sense", "verdict=pass"];
    let words = refused(dir, &by("TR", &look));
    assert!(words.contains("Condition 9 of the invented permit conditions"), "{words}");
    well(dir, &by("BK", &look));
    let words = refused(dir, &by("BK", &look));
    assert!(words.contains("BK made the first inspection of 20"), "{words}");
    let tried = [&by("MS", &look)[..], &["--try"]].concat();
    assert!(well(dir, &tried).contains("nothing forbids it"));
    well(dir, &by("MS", &look));
    well(dir, &by("TR", &["finish", "job=ON:PROP-P", "clear=yes"]));
    let card = well(dir, &["show", "cards", "ON:PROP-P", "--json"]);
    let card: Value = serde_json::from_str(&card).unwrap();
    assert_eq!(card["facts"]["state"], "complete");
    let history = well(dir, &["history", "ON:PROP-P", "--json"]);
    let history: Value = serde_json::from_str(&history).unwrap();
    assert_eq!(history["facts"]["entries"], "7");
    assert!(well(dir, &["verify"]).contains("sound"));
}

#[test]
fn the_air_is_read_on_the_command_line() {
    let dir = workshop();
    let dir = dir.path();
    let read = |figures: &[&str]| {
        let words = ["act", "air-reading", "place=BOOTH", "--by", "TR"];
        let words = words.iter().chain(figures).map(|word| (*word).to_owned());
        words.collect::<Vec<String>>()
    };
    let words = read(&["temperature=64 °C", "humidity=0.6"]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let told = refused(dir, &words);
    assert!(
        told.contains("`temperature` is 64 °C") && told.contains("1 to 100 %"),
        "{told}"
    );
    let words = read(&["temperature=64.4 °F", "humidity=60", "surface=13 °C"]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    well(dir, &words);
    // 18 °C and 60 %: the dew point lies at 10.1 °C.
    let sheet: Value =
        serde_json::from_str(&well(dir, &["show", "air", "--json"])).unwrap();
    let told = sheet.to_string();
    for words in ["18.0 °C", "10.1 °C", "13.0 °C", "2.8"] {
        assert!(told.contains(words), "{words} {told}");
    }
    assert!(well(dir, &["show", "air", "BOOTH"]).contains("10.1 °C"));
    well(dir, &["show", "air", "hangar"]);
    assert!(refused(dir, &["show", "air", "ATTIC"]).contains("there is no place ATTIC"));
}

#[test]
fn wrong_words_are_all_named_at_once() {
    let dir = workshop();
    let dir = dir.path();
    let words = refused(dir, &["act", "sing-step", "job=J", "--by", "TR"]);
    assert!(words.contains("sign-step"), "{words}");
    let words = refused(dir, &["act", "sign-step", "jop=J", "stepp=1", "--by", "TR"]);
    assert!(words.contains("jop") && words.contains("stepp"), "{words}");
    let words = refused(dir, &["act", "start", "job", "--by", "TR"]);
    assert!(words.contains("field=value"), "{words}");
    let words = refused(dir, &["act", "start", "job=J", "--by", "no body"]);
    assert!(words.contains("no body"), "{words}");
    let words = refused(dir, &["act", "start", "job=J", "--by", "STRANGER"]);
    assert!(words.contains("nobody is called STRANGER"), "{words}");
    fs::write(dir.join("bad.json"), "[{\"act\": \"start\"}, {\"act\": ").unwrap();
    let words = refused(dir, &["act", "--file", "bad.json", "--by", "TR"]);
    assert!(words.contains("bad.json"), "{words}");
    let words = refused(dir, &["act", "--file", "none.json", "--by", "TR"]);
    assert!(words.contains("none.json"), "{words}");
    let words = refused(dir, &["show", "cards", "NO-SUCH"]);
    assert!(words.contains("there is no card NO-SUCH"), "{words}");
    // Several acts are kept all or none.
    let two = json!([card(), {"act": "start", "job": "ANOTHER"}]);
    fs::write(dir.join("two.json"), two.to_string()).unwrap();
    let words = refused(dir, &["act", "--file", "two.json", "--by", "TR", "--json"]);
    let words: Value = serde_json::from_str(words.lines().next().unwrap()).unwrap();
    assert_eq!(words["refused"][0]["number"], 2);
    refused(dir, &["show", "cards", "ON:PROP-P"]);
}

#[test]
fn what_is_refused_only_because_of_another_act_says_so() {
    let dir = workshop();
    let dir = dir.path();
    let mut wrong = card();
    wrong["item"] = json!("NO-SUCH");
    let job = "ON:PROP-P";
    let list = json!([
        {"act": "raise", "finding": "X-1", "item": "HULL", "what": "a dent",
         "found": "2020-01-01"},
        wrong,
        {"act": "start", "job": job},
        {"act": "sign-step", "job": job, "step": "10"},
        {"act": "move", "item": "NOR-THIS", "place": "TENT"},
        {"act": "sign-step", "job": job, "step": "30"},
    ]);
    fs::write(dir.join("list.json"), list.to_string()).unwrap();
    let arguments = ["act", "--file", "list.json", "--by", "TR"];
    let words = refused(dir, &arguments);
    assert!(words.contains("follows from act 2"), "{words}");
    let told = json_of(&run(dir, &[&arguments[..], &["--json"]].concat()));
    let follows: Vec<(u64, Option<u64>)> = told["refused"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| (one["number"].as_u64().unwrap(), one["follows"].as_u64()))
        .collect();
    let of = |act: u64| -> Vec<Option<u64>> {
        follows.iter().filter(|(number, _)| *number == act).map(|one| one.1).collect()
    };
    assert_eq!(of(1), []);
    assert!(of(2).iter().all(Option::is_none) && !of(2).is_empty(), "{follows:?}");
    for act in [3, 4] {
        assert!(!of(act).is_empty() && of(act).iter().all(|one| *one == Some(2)));
    }
    // Mistakes of their own stay so: the part, and the step that the card never had.
    assert!(of(5).contains(&None), "{follows:?}");
    assert!(of(6).iter().any(Option::is_some), "{follows:?}");
}

#[test]
fn who_has_a_secret_signs_with_it() {
    let dir = workshop();
    let dir = dir.path();
    fs::write(dir.join("op"), "four words of hers\nnot this\n").unwrap();
    fs::write(dir.join("tr"), "other words than those\n").unwrap();
    let enrol = ["enrol", "OP", "--by", "OP", "--new-secret-file", "op"];
    well(dir, &enrol);
    let again = ["enrol", "TR", "--by", "OP", "--new-secret-file", "tr"];
    let why = refused(dir, &again);
    assert!(why.contains("is not sealed with it") && why.contains("own secret"), "{why}");
    well(dir, &[&again[..], &["--secret-file", "op"]].concat());
    fs::write(dir.join("card.json"), card().to_string()).unwrap();
    let issue = ["act", "--file", "card.json", "--by", "TR"];
    let why = refused(dir, &[&issue[..], &["--secret-file", "op"]].concat());
    assert!(why.contains("not the secret of TR"), "{why}");
    well(dir, &[&issue[..], &["--secret-file", "tr"]].concat());
    // From the environment, and never from the command line.
    let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
    command.current_dir(dir).env("TURNBUCKLE_SECRET", "other words than those");
    let start = command.args(["act", "start", "job=ON:PROP-P", "--by", "TR"]).output();
    assert!(start.unwrap().status.success());
    let told = well(dir, &["verify"]);
    assert!(told.contains("3 of them sealed by those who signed them"), "{told}");
    let why = refused(
        dir,
        &[
            "act",
            "pause",
            "job=ON:PROP-P",
            "--by",
            "TR",
            "left=so",
            "--secret-file",
            "none",
        ],
    );
    assert!(why.contains("could not read none"), "{why}");
    // A bundle carries the keys with which its seals are checked.
    well(dir, &["key", "key.pem"]);
    well(dir, &["bundle", "--gate", "taxi", "--key", "key.pem", "--out", "b"]);
    assert!(well(dir, &["verify", "b"]).contains("signed them: 3"));
    well(dir, &["bundle", "--thing", "ON:PROP-P", "--key", "key.pem", "--out", "c"]);
    assert!(well(dir, &["verify", "c"]).contains("signed them: 3"));
}

#[test]
fn lists_are_loaded_by_those_who_may() {
    let dir = workshop();
    let dir = dir.path();
    well(dir, &["export", "copy"]);
    let tools = fs::read_to_string(dir.join("copy/tools.csv")).unwrap();
    fs::write(dir.join("copy/tools.csv"), tools.replacen("orque", "ORQUE", 1)).unwrap();
    let why = refused(dir, &["load", "copy"]);
    assert!(why.contains("`command line` is nobody"), "{why}");
    let why = refused(dir, &["load", "copy", "--by", "BK"]);
    assert!(why.contains("BK has no authority to plan"), "{why}");
    well(dir, &["load", "copy", "--by", "TR"]);
}
