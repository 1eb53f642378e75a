//! The JSON interface.

use app::PassScope;
use serde_json::{Value, json};
use web::{Rate, Rates};

use crate::client::Answer;
use crate::workshop::{Served, secret, served, served_at};

fn json_of(answer: &Answer) -> Value {
    serde_json::from_str(&answer.body)
        .unwrap_or_else(|error| panic!("{error}: {answer:?}"))
}

/// RFC 9457, section 3: the members, and the media type.
fn problem(answer: &Answer, status: u16, title: &str) -> Value {
    let value = json_of(answer);
    assert_eq!(answer.status, status, "{value}");
    assert_eq!(answer.headers["content-type"], "application/problem+json");
    assert_eq!(
        (value["status"].as_u64(), value["title"].as_str()),
        (Some(status.into()), Some(title))
    );
    assert!(!value["detail"].as_str().unwrap().is_empty());
    value
}

fn reader(served: &Served) -> crate::client::Client {
    served.program(&served.pass("HB", PassScope::Read))
}

#[test]
fn whoever_has_no_token_is_told_nothing() {
    let served = served();
    let told = "There is no token that counts";
    let (read, calendar) =
        (served.pass("HB", PassScope::Read), served.pass("HB", PassScope::Calendar));
    for path in ["/api/overview", "/api/sheets", "/api/nothing", "/api/entries/1"] {
        let answer = served.stranger().get(path);
        problem(&answer, 401, told);
        // RFC 9110, section 11.6.1.
        assert_eq!(answer.headers["www-authenticate"], "Bearer");
        // Somebody who is signed in by a cookie is a stranger here.
        problem(&served.person("OP").get(path), 401, told);
        for token in ["", "x", &read[..read.len() - 1], &format!("{read}0"), &calendar] {
            problem(&served.program(token).get(path), 401, told);
        }
    }
    let answer = served.stranger().get("/api/openapi.json");
    assert_eq!(answer.status, 200);
    assert_eq!(json_of(&answer)["openapi"], "3.1.1");
}

#[test]
fn what_pages_show_programs_read() {
    let served = served();
    served.card();
    let mut program = reader(&served);
    let number = served.desk.snapshot().number;
    let overview = json_of(&program.get("/api/overview?on=2032-01-14"));
    assert_eq!(overview["entry"], number);
    assert!(overview["next_gate"]["in_the_way"].is_array());
    let sheets = json_of(&program.get("/api/sheets"));
    for sheet in sheets["sheets"].as_array().unwrap() {
        let word = sheet["sheet"].as_str().unwrap();
        if sheet["whole"] == true {
            let answer = program.get(&format!("/api/sheets/{word}"));
            assert_eq!(answer.status, 200, "{word}");
            assert_eq!(json_of(&answer)["entry"], number);
        }
    }
    let card = json_of(&program.get("/api/sheets/cards/ON%3APROP-P"));
    assert_eq!(card["facts"]["state"], "issued", "{card}");
    problem(&program.get("/api/sheets/cards/none"), 404, "There is no such thing");
    problem(&program.get("/api/sheets/nothing"), 404, "There is no such thing");
    problem(&program.get("/api/sheets/cards?on=soon"), 400, "The request can't be read");
    problem(&program.get("/api/sheets/cards?off=1"), 400, "The request can't be read");
    let things = json_of(&program.get("/api/things?noun=item&has=propeller"));
    assert!(
        things["things"]
            .as_array()
            .unwrap()
            .iter()
            .any(|thing| thing["name"] == "PROP-P")
    );
    let history = json_of(&program.get("/api/history/ON%3APROP-P"));
    assert_eq!(history["facts"]["entries"], "1");
    problem(&program.post("/api/overview", &[]), 405, "That can't be done here");
}

/// The first that a program asks: does this token count, whose is it, and what may it do?
#[test]
fn a_token_says_whose_it_is_and_what_it_may() {
    let served = served();
    let me = json_of(&reader(&served).get("/api/me"));
    assert_eq!(
        (&me["person"], &me["scope"], &me["powers"], &me["observes"]),
        (&json!("HB"), &json!("read"), &json!([]), &json!(false))
    );
    let token = served.pass("OP", PassScope::Act);
    let me = json_of(&served.program(&token).get("/api/me"));
    assert_eq!((&me["scope"], &me["powers"]), (&json!("act"), &json!(["appoint"])));
    problem(&served.stranger().get("/api/me"), 401, "There is no token that counts");
}

#[test]
fn things_are_read_page_by_page() {
    let served = served();
    let mut program = reader(&served);
    let pairs = |value: &Value| -> Vec<String> {
        let things = value["things"].as_array().unwrap().iter();
        let text = |thing: &Value, name: &str| thing[name].as_str().unwrap().to_owned();
        things.map(|thing| text(thing, "noun") + " " + &text(thing, "name")).collect()
    };
    let all = pairs(&json_of(&program.get("/api/things?limit=5000")));
    let (mut got, mut after) = (Vec::new(), String::new());
    loop {
        let page = json_of(&program.get(&format!("/api/things?limit=100{after}")));
        got.extend(pairs(&page));
        let Some(next) = page["next"].as_str() else { break };
        after = format!("&after={}", next.replace(' ', "%20").replace('/', "%2F"));
    }
    assert!(all.len() > 250, "{}", all.len());
    assert_eq!(got, all);
    for wrong in ["limit=0", "limit=5001", "limit=x", "after=x"] {
        let answer = program.get(&format!("/api/things?{wrong}"));
        problem(&answer, 400, "The request can't be read");
    }
}

/// What an act names by its digest can be attached, and fetched, without a browser.
#[test]
fn files_are_attached_and_fetched() {
    let served = served();
    let send = |token: &str, body: &[u8]| {
        let client = served.program(token);
        client.send_bytes("/api/attachments", "text/html", body)
    };
    let acts = served.pass("HB", PassScope::Act);
    let answer = send(&acts, b"plain words of an examiner\n");
    let attached = json_of(&answer);
    assert_eq!((answer.status, &attached["media"]), (201, &json!("text/plain")));
    let path = answer.headers["location"].clone();
    assert_eq!(
        path,
        format!("/api/attachments/{}", attached["digest"].as_str().unwrap())
    );
    let fetched = served.program(&acts).get(&path);
    assert_eq!(fetched.body, "plain words of an examiner\n");
    assert_eq!(fetched.headers["content-security-policy"], "default-src 'none'; sandbox");
    let told = "There is no token that counts";
    problem(&served.stranger().get(&path), 401, told);
    problem(&send("x", b"words"), 401, told);
    problem(
        &send(&served.pass("HB", PassScope::Read), b"x"),
        403,
        "This token may not act",
    );
    let observes = served.pass(crate::workshop::OBSERVER, PassScope::Act);
    problem(&send(&observes, b"words"), 403, "You may not attach");
    // What it is is looked at: no page, no script, no program.
    problem(&send(&acts, b"\x7fELF\x02\x01\x01\0"), 422, "It can't be attached");
    problem(&send(&acts, &vec![b'x'; 20_000_001]), 413, "It is too large");
    for odd in ["x", "..%2Fx", &"0".repeat(64)] {
        let answer = served.program(&acts).get(&format!("/api/attachments/{odd}"));
        problem(&answer, 404, "There is no such thing");
    }
}

/// Everything at once, each with its act and its field.
#[test]
fn all_that_is_wrong_is_told_by_act_and_field() {
    let served = served();
    let mut program = served.program(&served.pass("HB", PassScope::Act));
    let body = json!({
        "acts": [raise("X-2"), { "act": "start" }, { "act": "raise", "bogus": 1 }],
        "request": 5, "seen": "soon", "other": 1,
    });
    let told = problem(
        &program.send_json("/api/acts", &body.to_string()),
        422,
        "The acts can't be read",
    );
    let told = told["problems"].as_array().unwrap();
    for (act, field) in [
        (Value::Null, "secret"),
        (Value::Null, "request"),
        (Value::Null, "seen"),
        (Value::Null, "other"),
        (json!(2), "job"),
        (json!(3), "bogus"),
        (json!(3), "item"),
    ] {
        let found = |one: &Value| one["act"] == act && one["field"] == field;
        assert!(told.iter().any(found), "{act} {field}: {told:?}");
    }
}

/// A request id that a script uses again by mistake loses nothing.
#[test]
fn a_request_id_stands_for_one_thing() {
    let served = served();
    let mut program = served.program(&served.pass("HB", PassScope::Act));
    let number = served.desk.snapshot().number;
    let body = |finding: &str| {
        json!({ "acts": [raise(finding)], "secret": secret("HB"), "request": "r 1" })
            .to_string()
    };
    assert_eq!(program.send_json("/api/acts", &body("X-1")).status, 201);
    let told = problem(
        &program.send_json("/api/acts", &body("X-2")),
        409,
        "The request id is spent",
    );
    assert_eq!(told["entry"], number + 1);
    assert_eq!(served.desk.snapshot().number, number + 1);
}

#[test]
fn entries_are_read_page_by_page() {
    let served = served();
    served.card();
    let mut program = reader(&served);
    let last = served.desk.snapshot().number;
    let page = json_of(&program.get("/api/entries?limit=2"));
    let numbers = |page: &Value| -> Vec<u64> {
        let entries = page["entries"].as_array().unwrap().iter();
        entries.map(|entry| entry["entry"].as_u64().unwrap()).collect()
    };
    assert_eq!(numbers(&page), [last, last - 1]);
    assert_eq!(page["next"], last - 1);
    let next =
        json_of(&program.get(&format!("/api/entries?limit=2&before={}", last - 1)));
    assert_eq!(numbers(&next), [last - 2, last - 3]);
    let cards = json_of(&program.get("/api/entries?act=issue-card&by=TR&thing=PROP-P"));
    assert_eq!(numbers(&cards), [last]);
    assert_eq!(
        (&cards["next"], &cards["entries"][0]["sealed"]),
        (&Value::Null, &json!(true))
    );
    assert_eq!(numbers(&json_of(&program.get("/api/entries?from=2033-01-01"))), [0; 0]);
    let one = json_of(&program.get(&format!("/api/entries/{last}")));
    assert_eq!(one["seal"]["wrong"], false);
    assert!(one["seal"]["says"].as_str().unwrap().contains("the seal holds"), "{one}");
    let before = json_of(&program.get(&format!("/api/entries/{}", last - 1)));
    assert_eq!(one["before"], before["digest"]);
    for wrong in
        ["limit=0", "limit=501", "limit=x", "from=2032-1-1", "before=-1", "by=a&by=b"]
    {
        problem(
            &program.get(&format!("/api/entries?{wrong}")),
            400,
            "The request can't be read",
        );
    }
    problem(&program.get("/api/entries/99999"), 404, "There is no such thing");
}

fn raise(finding: &str) -> Value {
    json!({ "act": "raise", "finding": finding, "item": "PROP-P", "found": "2032-01-02", "what": "a dent" })
}

#[test]
fn acts_are_judged_and_entered() {
    let served = served();
    let mut program = served.program(&served.pass("HB", PassScope::Act));
    let number = served.desk.snapshot().number;
    // Judged only.
    let shut = json!({ "act": "open-gate", "gate": "taxi", "limitations": [] });
    let body = json!({ "acts": [raise("X-1"), shut] }).to_string();
    let tried = json_of(&program.send_json("/api/acts/try", &body));
    let refused = tried["refused"].as_array().unwrap();
    assert!(
        !refused.is_empty() && refused.iter().all(|one| one["act"] == "open-gate"),
        "{tried}"
    );
    assert_eq!(served.desk.snapshot().number, number);
    // Entered, and once however often it is sent.
    let body = json!({ "acts": [raise("X-1")], "secret": secret("HB"), "request": "r 1", "seen": number });
    let answer = program.send_json("/api/acts", &body.to_string());
    let kept = json_of(&answer);
    assert_eq!(
        (answer.status, &kept["kept"][0]["entry"]),
        (201, &json!(number + 1)),
        "{kept}"
    );
    let again = json_of(&program.send_json("/api/acts", &body.to_string()));
    assert_eq!(
        (&again["kept"][0]["entry"], &again["kept"][0]["repeated"]),
        (&json!(number + 1), &json!(true))
    );
    // All or none, and everything that is wrong.
    let body =
        json!({ "acts": [raise("X-2"), shut], "secret": secret("HB") }).to_string();
    let told = problem(&program.send_json("/api/acts", &body), 409, "Refused");
    assert!(told["refused"][0]["rule"].is_string());
    let body =
        json!({ "acts": [raise("X-2")], "secret": "other words here" }).to_string();
    problem(&program.send_json("/api/acts", &body), 403, "The secret is another one");
    let body =
        json!({ "acts": [{ "act": "raise", "nothing": 1 }], "secret": "x" }).to_string();
    let told =
        problem(&program.send_json("/api/acts", &body), 422, "The acts can't be read");
    assert!(told["problems"].as_array().unwrap().len() > 1, "{told}");
    for body in
        ["", "[]", "{}", "{\"acts\":[]}", "{\"acts\":1,\"secret\":\"x\"}", "nonsense"]
    {
        problem(&program.send_json("/api/acts", body), 400, "The request can't be read");
    }
    problem(&program.post("/api/acts", &[("a", "b")]), 415, "It is no JSON");
    assert_eq!(served.desk.snapshot().number, number + 1);
    // A token that only reads acts for nobody.
    let body = json!({ "acts": [raise("X-3")], "secret": secret("HB") }).to_string();
    problem(
        &reader(&served).send_json("/api/acts", &body),
        403,
        "This token may not act",
    );
}

#[test]
fn whoever_asks_too_often_waits() {
    let few = Rate { burst: 2, minute: 1 };
    let served = served_at(Rates { tokens: few, strangers: few, ..Rates::default() });
    let mut program = reader(&served);
    for _ in 0..2 {
        assert_eq!(program.get("/api/sheets").status, 200);
        assert_eq!(served.stranger().get("/api/sheets").status, 401);
    }
    let answer = program.get("/api/sheets");
    problem(&answer, 429, "Too many requests");
    assert!(answer.headers["retry-after"].parse::<u64>().unwrap() > 1);
    problem(&served.stranger().get("/api/sheets"), 429, "Too many requests");
    assert_eq!(reader(&served).get("/api/sheets").status, 200, "another token may");
}

/// Held against the description by a program that somebody else wrote: what is answered is
/// what the description says, for requests that fit it and for ones that do not.
#[test]
#[ignore = "reference check: run by `cargo xtask ci`"]
fn the_interface_is_what_its_description_says() {
    let python = std::env::var_os("TURNBUCKLE_PYTHON")
        .expect("TURNBUCKLE_PYTHON names a Python that has the reference packages");
    let many = Rate { burst: 100_000, minute: 100_000 };
    let served = served_at(Rates { tokens: many, strangers: many, ..Rates::default() });
    served.card();
    let token = served.pass("HB", PassScope::Act);
    let script =
        concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/interface_check.py");
    let output = std::process::Command::new(python)
        .arg(script)
        .args([&format!("http://{}", served.address), &token, &secret("HB")])
        .current_dir(served.dir())
        .output()
        .unwrap();
    let told = format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(output.status.success(), "{told}");
}
