//! Acts: bodies of every version stay readable, and every mistake in what people and
//! programs give in is named with what to do about it.

#![expect(clippy::too_many_lines, reason = "a test holds a table of cases")]

use std::path::Path;

use folder::acts::{decode, encode, from_fields, from_json};
use folder::stored::{Fact, StoredError, decode_any};
use record::Act;
use record::act::{Limit, SignStep};

/// Bodies as version 1 writes them, one file for each act, with every field given. They
/// never change: a ledger that was written then is read now.
fn golden() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/1");
    let kind = |word: &&str| format!("act.{word}");
    Act::WORDS
        .iter()
        .map(kind)
        .map(|kind| {
            let file = folder.join(format!("{kind}.json"));
            let body = std::fs::read_to_string(&file);
            let body = body.unwrap_or_else(|error| panic!("{}: {error}", file.display()));
            (kind, body.trim_end().to_owned())
        })
        .collect()
}

#[test]
fn version_1_is_read_and_written_as_it_was() {
    for (kind, body) in golden() {
        let act = decode(&kind, 1, &body).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(kind, format!("act.{}", act.word()));
        assert_eq!(encode(&act), (kind.clone(), 1, body.clone()));
        assert_eq!(decode_any(&kind, 1, &body), Ok(Fact::Act(act)));
    }
}

/// Bodies from before a field was there: what was written then is read, and written, as it was.
#[test]
fn bodies_without_later_fields_stay_as_they_are() {
    for (kind, body) in [
        (
            "act.sign-step",
            r#"{"job":"ON:ENG-P","step":"30","readings":["torque = 42.5 (TW-3)"],"supervisor":"edith","note":"Bolt 2 was renewed"}"#,
        ),
        (
            "act.raise",
            r#"{"finding":"F-0113","item":"MOUNT-P","zone":"NAC-P","what":"Pitting","measured":"0.012 in deep over 3/8 in","found":"2031-11-03","cause":"Water behind the clamp","job":"OFF:ENG-P","also":["MOUNT-S"]}"#,
        ),
    ] {
        let act = decode(kind, 1, body).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(encode(&act), (kind.to_owned(), 1, body.to_owned()));
    }
}

#[test]
fn every_field_of_every_act_is_in_it() {
    fn all(schema: &serde_json::Value, body: &serde_json::Value, kind: &str) {
        for (field, shape) in schema["properties"].as_object().unwrap() {
            assert!(field == "act" || !body[field].is_null(), "{kind} {field}");
            if shape["properties"].is_object() {
                all(shape, &body[field], kind);
            } else if shape["items"]["properties"].is_object() {
                all(&shape["items"], &body[field][0], kind);
            }
        }
    }
    let schema: serde_json::Value =
        serde_json::from_str(&folder::acts::schema()).unwrap();
    let each = schema["$defs"]["act"]["oneOf"].as_array().unwrap();
    for (schema, (kind, body)) in each.iter().zip(golden()) {
        assert_eq!(kind, format!("act.{}", schema["title"].as_str().unwrap()));
        all(schema, &serde_json::from_str(&body).unwrap(), &kind);
    }
}

#[test]
fn what_it_says_is_what_was_meant() {
    let golden = golden();
    let act = |wanted: &str| {
        let (kind, body) = golden.iter().find(|(kind, _)| kind == wanted).unwrap();
        decode(kind, 1, body).unwrap()
    };
    let Act::IssueCard(card) = act("act.issue-card") else { panic!("no card") };
    let [step] = card.steps.as_slice() else { panic!("not one step") };
    let gap = Limit { name: "gap".into(), low: None, high: Some(1.5), unit: "mm".into() };
    assert_eq!(step.limits[1], gap);
    assert!(step.critical && step.inspected && step.independent);
    let Act::SignStep(signed) = act("act.sign-step") else { panic!("no step") };
    let SignStep { job, step, readings, supervisor, note: _, photographs } = signed;
    assert_eq!(photographs.len(), 1);
    assert_eq!((job.0.as_str(), step.as_str()), ("ON:ENG-P", "30"));
    assert_eq!((readings[0].name.as_str(), readings[0].value), ("torque", 42.5));
    assert_eq!(readings[0].instrument.as_ref().unwrap().as_str(), "TW-3");
    assert_eq!(supervisor.unwrap().as_str(), "edith");
    let Act::Accept(accepted) = act("act.accept") else { panic!("not accepted") };
    assert_eq!(accepted.certificate.status, "overhauled");
    let Act::Strike(strike) = act("act.strike") else { panic!("no strike") };
    assert_eq!(strike.entry, 412);
}

#[test]
fn what_is_no_act_is_refused() {
    let error =
        |kind: &str, version: u32, body: &str| decode(kind, version, body).unwrap_err();
    let start = r#"{"job":"ON:ENG-P"}"#;
    assert!(matches!(error("act.fly", 1, start), StoredError::Kind(_)));
    assert!(matches!(error("start", 1, start), StoredError::Kind(_)));
    assert!(matches!(error("act.start", 2, start), StoredError::Version { .. }));
    assert!(matches!(error("act.start", 0, start), StoredError::Version { .. }));
    assert!(matches!(error("act.start", 1, "[]"), StoredError::Json { .. }));
    for (kind, body) in [
        ("act.start", "{}"),
        ("act.start", r#"{"job":null}"#),
        ("act.start", r#"{"job":"A","jobs":"B"}"#),
        ("act.finish", r#"{"job":"A"}"#),
        ("act.use", r#"{"amount":"inf","unit":"days","what":"x","on":"2031-01-01"}"#),
        ("act.accept", r#"{"item":"A","certificate":"4","done":"x","complete":true}"#),
        ("act.issue-card", r#"{"job":"A","title":"B","steps":[{"id":"1"}]}"#),
    ] {
        assert!(matches!(error(kind, 1, body), StoredError::Body { .. }), "{body}");
    }
    assert!(matches!(decode_any("act.fly", 1, start), Err(StoredError::Kind(_))));
    let retired = decode_any("item.retired", 1, r#"{"id":"A"}"#);
    assert!(matches!(retired, Ok(Fact::Entry(record::Entry::Item(_)))));
}

/// The word, the fields, and every problem with them.
type Typed =
    (&'static str, &'static [(&'static str, &'static str)], &'static [&'static str]);

#[test]
fn mistakes_on_a_command_line() {
    let cases: &[Typed] = &[
        (
            "sign-stp",
            &[("job", "A")],
            &["error: there is no act `sign-stp`\n  hint: did you mean `sign-step`?"],
        ),
        (
            "sign-step",
            &[("job", "ON:ENG-P"), ("stp", "30"), ("readings", "torque 42")],
            &[
                "error: the act `sign-step` has no field `stp`\n  hint: did you mean `step`?",
                "error: the act `sign-step` has no `step`, which must be given\n  hint: for instance `30`",
                "error: readings: `torque 42` has no value\n  hint: write what was measured, its value in the unit of the limit, and the instrument: `torque = 42.5 (TW-3)`",
            ],
        ),
        (
            "start",
            &[("job", "A"), ("job", "B")],
            &["error: `job` is given twice\n  hint: give it once"],
        ),
        (
            "start",
            &[("job", " ")],
            &[
                "error: the act `start` has no `job`, which must be given\n  hint: for instance `ON:ENG-P`",
            ],
        ),
        (
            "start",
            &[("job", "A"), ("zebra", "B")],
            &["error: the act `start` has no field `zebra`\n  hint: its fields are: job"],
        ),
        (
            "start",
            &[("job.id", "A")],
            &[
                "error: `job` has no parts, and `job.id` names one\n  hint: write `job=...`",
            ],
        ),
        (
            "accept",
            &[
                ("item", "A"),
                ("certificate", "4471"),
                ("done", "x"),
                ("complete", "perhaps"),
            ],
            &[
                "error: `certificate` is made of parts, and `4471` is one text\n  hint: write an object `\"certificate\": {\"number\": ...}`, on the command line `certificate.number=...`",
                "error: complete: `perhaps` is neither yes nor no\n  hint: write `yes` or `no`",
            ],
        ),
        (
            "accept",
            &[
                ("item", "A"),
                ("certificate.number", "4471"),
                ("certificate.status", "repaired"),
                ("certificate.dat", "manual"),
                ("done", "x"),
                ("complete", "yes"),
            ],
            &[
                "error: the part `certificate` has no field `dat`\n  hint: did you mean `data`?",
                "error: the certificate `4471` has no `data`, which must be given\n  hint: for instance `Overhaul manual of the maker`",
            ],
        ),
        (
            "issue-card",
            &[("job", "A"), ("title", "x"), ("steps.text", "y")],
            &[
                "error: `steps.text` does not say which of several it is\n  hint: write a number before its field: `steps.1.id`",
            ],
        ),
        (
            "issue-card",
            &[("job", "A"), ("title", "x")],
            &[
                "error: the act `issue-card` has no `steps`, which must be given\n  hint: write objects in a list `\"steps\": [{\"id\": ...}]`, on the command line `steps.1.id=...`",
            ],
        ),
        (
            "life",
            &[
                ("item", "A"),
                ("limit", "12,5"),
                ("unit", "flight hour"),
                ("basis", "log"),
            ],
            &[
                "error: limit: `12,5` is not a number\n  hint: write digits, with a point before the fraction: `42.5`",
                "error: unit: `flight hour` is not one of: flight hours, engine hours, landings, cycles, days\n  hint: did you mean `flight hours`?",
            ],
        ),
    ];
    for (word, fields, expected) in cases {
        let pairs: Vec<(String, String)> = fields
            .iter()
            .map(|(name, value)| ((*name).into(), (*value).into()))
            .collect();
        let problems = from_fields(word, &pairs).unwrap_err();
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        assert_eq!(told, *expected, "{word} {fields:?}");
    }
}

#[test]
fn words_are_taken_as_they_are_meant() {
    let pairs = |fields: &[(&str, &str)]| -> Vec<(String, String)> {
        fields.iter().map(|(name, value)| ((*name).into(), (*value).into())).collect()
    };
    let fields = [
        ("finding", "F-1"),
        ("job", " F-1:blend "),
        ("what", "blended"),
        ("follow-up", "F-2"),
        ("due", ""),
    ];
    let Ok(Act::Temporary(act)) = from_fields("temporary", &pairs(&fields)) else {
        panic!("no temporary repair")
    };
    assert_eq!(
        (act.follow_up.as_str(), act.job.0.as_str(), act.due),
        ("F-2", "F-1:blend", None)
    );

    let fields = [
        ("job", "A"),
        ("step", "1"),
        ("verdict", "Pass"),
        ("checked", r"assembly; wire, .032\; twisted; C:\photo"),
        ("checked", r"range\"),
        ("checked", "sense"),
    ];
    let Ok(Act::Inspect(act)) = from_fields("inspect", &pairs(&fields)) else {
        panic!("no inspection")
    };
    assert_eq!(
        act.checked,
        ["assembly", "wire, .032; twisted", r"C:\photo", r"range\", "sense"]
    );
}

#[test]
fn mistakes_in_json_have_places() {
    let text = r#"[
  {"act": "start", "job": "ON:ENG-P"},
  {"act": "sign-stp", "job": "A"},
  {"act": "sign-step", "job": 7, "step": "3 0", "step": "4",
   "readings": ["torque = x", 4], "nte": "é"},
  {"job": "A"},
  4,
  {"act": "issue-card", "job": "A", "title": null, "steps": [
    {"id": "10", "text": "x", "work": "tsk"}, "20"]},
  {"act": 3},
  {"act": "accept", "item": ["A"], "certificate": [], "done": {}, "complete": true}
]"#;
    let problems = from_json(text, "day.json").unwrap_err();
    let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let expected = [
        "day.json:3:11: error: there is no act `sign-stp`\n  hint: did you mean `sign-step`?",
        "day.json:4:42: error: step: a step cannot be named `3 0`: character 2 is ' ', and a name holds only letters, digits and - _ . /\n  hint: write `3-0`",
        "day.json:4:49: error: `step` is given twice\n  hint: give it once",
        "day.json:5:17: error: readings: `x` is not a number\n  hint: write digits, with a point before the fraction: `42.5`",
        "day.json:5:31: error: readings: `4` has no value\n  hint: write what was measured, its value in the unit of the limit, and the instrument: `torque = 42.5 (TW-3)`",
        "day.json:5:35: error: the act `sign-step` has no field `nte`\n  hint: did you mean `note`?",
        "day.json:6:3: error: this object does not say which act it is\n  hint: write an object such as `{\"act\": \"start\", \"job\": \"ON:ENG-P\"}`, or a list of them",
        "day.json:7:3: error: a number stands where an act is expected\n  hint: write an object such as `{\"act\": \"start\", \"job\": \"ON:ENG-P\"}`, or a list of them",
        "day.json:8:46: error: the act `issue-card` has no `title`, which must be given\n  hint: for instance `Fit the port engine`",
        "day.json:9:39: error: work: `tsk` is not one of: disassemble, task, reassemble, test, capture\n  hint: did you mean `task`?",
        "day.json:9:47: error: a text stands where a step is expected\n  hint: write an object of its fields",
        "day.json:10:11: error: act: a number stands where a text is expected\n  hint: write an object such as `{\"act\": \"start\", \"job\": \"ON:ENG-P\"}`, or a list of them",
        "day.json:11:29: error: item: a list stands where a name is expected\n  hint: for instance `MAG-LP`",
        "day.json:11:51: error: certificate: a list stands where an object is expected\n  hint: write an object `\"certificate\": {\"number\": ...}`, on the command line `certificate.number=...`",
        "day.json:11:63: error: done: an object stands where a text is expected\n  hint: for instance `Overhauled as ordered; coil renewed`",
    ];
    assert_eq!(told, expected, "{told:#?}");
}

#[test]
fn what_is_not_json_is_told_where() {
    for (text, expected) in [
        (
            "",
            "x.json:1:1: error: the text is not JSON: EOF while parsing a value\n  hint: look for a comma, a quote or a bracket that is missing or too much",
        ),
        (
            "[\n {\"act\": \"é\" \"start\"}]",
            "x.json:2:14: error: the text is not JSON: expected `,` or `}`\n  hint: look for a comma, a quote or a bracket that is missing or too much",
        ),
        (
            "3",
            "x.json:1:1: error: a number stands where an act is expected\n  hint: write an object such as `{\"act\": \"start\", \"job\": \"ON:ENG-P\"}`, or a list of them",
        ),
    ] {
        let problems = from_json(text, "x.json").unwrap_err();
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        assert_eq!(told, [expected]);
    }
    assert_eq!(from_json("[]", "x.json"), Ok(vec![]));
    let one = from_json(r#"{"job": "A", "act": "start"}"#, "x.json").unwrap();
    assert_eq!(one[0].word(), "start");
}

/// The JSON that the page shows is what it says.
#[test]
fn the_reference_shows_acts() {
    let reference = folder::acts::reference();
    let json = reference.split("```json\n").nth(1).unwrap().split("```").next().unwrap();
    let words: Vec<&str> =
        from_json(json, "ACTS.md").unwrap().iter().map(Act::word).collect();
    assert_eq!(words, ["start", "sign-step"]);
    for word in Act::WORDS {
        assert!(reference.contains(&format!("\n## {word}\n")), "{word}");
        assert!(
            reference.contains(&format!("\nturnbuckle act --by edith {word} ")),
            "{word}"
        );
    }
}
