//! The record entry by entry, its verification, and gates with their evidence.

use std::time::{Duration, Instant};

use app::Witnesses;

use crate::html;
use crate::workshop::{OBSERVER, secret, served, served_with_key};

#[test]
fn an_entry_says_all_that_is_known_of_it() {
    let served = served();
    served.card();
    let last = served.desk.snapshot().number;
    let mut client = served.person("TR");
    let list = client.get("/record").body;
    assert!(
        list.contains(&format!("/record/{last}\"")) && list.contains("Older entries")
    );
    let narrowed = client.get("/record?act=issue-card&by=TR").body;
    assert!(
        narrowed.contains(&format!("/record/{last}\""))
            && !narrowed.contains("Older entries")
    );
    assert_eq!(client.get("/record?from=soon").status, 400);
    let page = client.get(&format!("/record/{last}")).body;
    for part in ["the seal holds", "digest before it", "Torque the nut", "Issue card"] {
        assert!(page.contains(part), "{part}\n{page}");
    }
    let first = client.get("/record/1").body;
    assert!(first.contains("not sealed"), "{first}");
}

#[test]
fn an_entry_offers_what_puts_it_right() {
    let served = served();
    served.card();
    let start = served.enter("BK", "start", &[("job", "ON:PROP-P")]);
    let hours = [
        ("job", "ON:PROP-P"),
        ("person", "BK"),
        ("on", "2032-01-14"),
        ("hours", "2 h"),
        ("reason", "the terminal was down"),
    ];
    let booked = served.enter("BK", "hours", &hours);
    let mut client = served.person("BK");
    let page = client.get(&format!("/record/{start}")).body;
    assert!(page.contains("/act/pause?job=ON%3APROP-P"), "{page}");
    let page = client.get(&format!("/record/{booked}")).body;
    assert!(page.contains("/act/hours?") && page.contains("job=ON%3APROP-P"), "{page}");
    let fields = [("entry", booked.to_string()), ("reason", "twice".to_owned())];
    let fields = fields.each_ref().map(|(name, value)| (*name, value.as_str()));
    // Whoever only reads is offered nothing.
    assert!(page.contains(&format!("/act/strike?entry={booked}")), "{page}");
    assert!(
        !served
            .person(OBSERVER)
            .get(&format!("/record/{booked}"))
            .body
            .contains("/act/strike")
    );
    assert_eq!(client.sign("strike", &fields, &secret("BK")).status, 303);
    let page = client.get(&format!("/record/{booked}")).body;
    assert!(page.contains("struck through") && page.contains("twice"), "{page}");
    assert!(!page.contains("/act/strike"));
}

#[test]
fn the_record_is_verified_aside() {
    let served = served();
    let mut client = served.person("HB");
    let csrf = client.get("/record/verify").value("_csrf");
    assert_eq!(client.post("/record/verify", &[("_csrf", "x")]).status, 403);
    let answer = client.post("/record/verify", &[("_csrf", &csrf)]);
    assert_eq!((answer.status, answer.to()), (303, "/record/verify"));
    let begun = Instant::now();
    let page = loop {
        let page = client.get("/record/verify");
        assert_eq!(html::faults(&page.body), [""; 0]);
        if !page.headers.contains_key("refresh") {
            break page.body;
        }
        assert!(begun.elapsed() < Duration::from_mins(1));
        std::thread::sleep(Duration::from_millis(50));
    };
    for part in [
        "The record is sound",
        "not sealed",
        "People with a secret",
        "Settings beside the record",
    ] {
        assert!(page.contains(part), "{part}\n{page}");
    }
}

#[test]
fn a_gates_evidence_is_taken_away_and_checked() {
    let (served, fingerprint) = served_with_key();
    let mut client = served.person("HB");
    let page = client.get("/gates/taxi");
    assert!(page.body.contains("The workshop's key signs it"), "{}", page.body);
    let csrf = page.value("_csrf");
    assert_eq!(client.post("/gates/taxi/bundle", &[("_csrf", "x")]).status, 403);
    let answer = client.post("/gates/taxi/bundle", &[("_csrf", &csrf)]);
    assert_eq!(
        (answer.status, answer.headers["content-type"].as_str()),
        (200, "application/zip")
    );
    let file = served.dir().join("got.zip");
    std::fs::write(&file, &answer.bytes).unwrap();
    let trust = Witnesses { keys: vec![fingerprint], checkpoints: Vec::new() };
    let verdict = app::check_bundle(&file, &trust).unwrap();
    assert_eq!(verdict.faults, [""; 0]);
    assert_eq!(
        (verdict.entries as u64, verdict.recomputed),
        (served.desk.snapshot().number, true)
    );
    assert_eq!(client.post("/gates/nothing/bundle", &[("_csrf", &csrf)]).status, 404);
}

#[test]
fn without_a_key_a_bundle_says_that_nobody_signed_it() {
    let served = served();
    let mut client = served.person("HB");
    let page = client.get("/gates/taxi");
    assert!(page.body.contains("No key signs it"));
    let answer = client.post("/gates/taxi/bundle", &[("_csrf", &page.value("_csrf"))]);
    assert!(answer.headers["content-disposition"].contains("-unsigned.zip"));
    let file = served.dir().join("got.zip");
    std::fs::write(&file, &answer.bytes).unwrap();
    let verdict = app::check_bundle(&file, &Witnesses::default()).unwrap();
    let told = verdict.faults.join("\n");
    assert!(
        told.contains("nobody signed it") && told.contains("no key speaks"),
        "{told}"
    );
    assert_eq!(verdict.faults.len(), 2, "all else is as it was made: {told}");
    assert_eq!(verdict.fingerprint, None);
}

#[test]
fn people_and_rules_are_told_with_what_runs_out() {
    let served = served();
    served.enter(
        "OP",
        "grant",
        &[
            ("authority", "A-SOON"),
            ("person", "HB"),
            ("power", "inspect"),
            ("reference", "invented approval"),
            ("from", "2030-01-01"),
            ("until", "2032-02-14"),
        ],
    );
    let mut client = served.person("OP");
    let page = client.get("/people").body;
    for part in
        ["31 days are left", "/act/withdraw?authority=A-SOON", "/act/enrol?person=HB"]
    {
        assert!(page.contains(part), "{part}\n{page}");
    }
    assert!(!served.person("BK").get("/people").body.contains("/act/withdraw"));
    assert!(client.get("/rules").body.contains("Binding"));
    let roles = client.get("/people/roles").body;
    assert!(roles.contains("sign-step") && roles.contains("open-gate"));
}
