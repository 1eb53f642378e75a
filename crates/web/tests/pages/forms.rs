//! Acts as forms: nothing that was typed is lost, and nothing counts twice.

use crate::html;
use crate::workshop::{PEOPLE, secret, served};

pub(crate) const RAISE: [(&str, &str); 4] = [
    ("finding", "X-1"),
    ("item", "PROP-P"),
    ("what", "a dent & a <scratch>"),
    ("found", "2032-01-02"),
];

fn with<'a>(
    fields: &[(&'a str, &'a str)],
    name: &'a str,
    value: &'a str,
) -> Vec<(&'a str, &'a str)> {
    let others = fields.iter().copied().filter(|(other, _)| *other != name);
    others.chain([(name, value)]).collect()
}

#[test]
fn an_act_is_entered_sealed_and_told() {
    let served = served();
    let mut client = served.person("HB");
    let answer = client.sign("raise", &RAISE, &secret("HB"));
    assert_eq!(answer.status, 303, "{}", answer.body);
    assert_eq!(answer.to(), "/show/findings/X-1");
    let page = client.get(answer.to());
    assert!(page.body.contains("Entered as entry"), "{}", page.body);
    assert!(page.body.contains("a dent &amp; a &lt;scratch&gt;"));
    assert!(!client.get(answer.to()).body.contains("Entered as entry"), "told once");
    let proof = app::verify(&served.place, &app::Witnesses::default()).unwrap();
    assert!(proof.faults.is_empty(), "{:?}", proof.faults);
    assert!(served.dir().exists());
}

#[test]
fn each_signature_asks_for_the_secret_anew() {
    let served = served();
    let mut client = served.person("HB");
    let number = served.desk.snapshot().number;
    for wrong in ["", "not these words", &secret("OP")] {
        let answer = client.sign("raise", &RAISE, wrong);
        assert_eq!(answer.status, 401, "{wrong}");
        assert!(answer.body.contains("not the secret of HB"), "{}", answer.body);
        assert!(answer.body.contains("a dent &amp; a &lt;scratch&gt;"), "it comes back");
        assert_eq!(html::faults(&answer.body), [""; 0]);
    }
    assert_eq!(served.desk.snapshot().number, number);
}

#[test]
fn what_cannot_be_read_comes_back_with_the_reason_beside_the_field() {
    let served = served();
    let mut client = served.person("HB");
    let fields = with(&with(&RAISE, "found", "last Tuesday"), "item", "two words");
    let answer = client.sign("raise", &fields, &secret("HB"));
    assert_eq!(answer.status, 422);
    assert_eq!(html::faults(&answer.body), [""; 0]);
    for id in ["id=\"found-wrong\"", "id=\"item-wrong\"", "aria-invalid=\"true\""] {
        assert!(answer.body.contains(id), "{id}\n{}", answer.body);
    }
    for typed in ["value=\"last Tuesday\"", "value=\"two words\"", "value=\"X-1\""] {
        assert!(answer.body.contains(typed), "{typed}\n{}", answer.body);
    }
}

#[test]
fn what_rules_forbid_comes_back_with_the_rule_and_what_to_do() {
    let served = served();
    let mut client = served.person("MS");
    let fields = [
        ("finding", "F-999"),
        ("condition", "within limits"),
        ("basis", "manual, section 4"),
    ];
    let answer = client.sign("classify", &fields, &secret("MS"));
    assert_eq!(answer.status, 422);
    for told in ["there is no finding F-999", "Rule ", "manual, section 4"] {
        assert!(answer.body.contains(told), "{told}\n{}", answer.body);
    }
    assert_eq!(html::faults(&answer.body), [""; 0]);
}

#[test]
fn a_double_click_a_refresh_and_a_retry_count_once() {
    let served = served();
    let mut client = served.person("HB");
    let form = client.get("/act/raise");
    let number = served.desk.snapshot().number;
    for _ in 0..3 {
        let answer = client.send(&form, "raise", &RAISE, &secret("HB"));
        assert_eq!((answer.status, answer.to()), (303, "/show/findings/X-1"));
    }
    assert!(client.get("/show/findings/X-1").body.contains("was entered before"));
    assert_eq!(served.desk.snapshot().number, number + 1);
}

/// Another page of the same person, which looks by itself for what changed, takes nothing away
/// that is told once.
#[test]
fn what_is_told_once_is_told_to_whoever_looks() {
    let served = served();
    let mut client = served.person("HB");
    let answer = client.sign("raise", &RAISE, &secret("HB"));
    let mut other = served.stranger();
    other.cookies = client.cookies.clone();
    other.headers.push(("x-live".into(), "1".into()));
    assert!(!other.get("/").body.contains("Entered as entry"));
    assert!(client.get(answer.to()).body.contains("Entered as entry"));
}

/// Back in the browser, something else typed, signed again: it is another finding, and is neither
/// lost nor said to be entered.
#[test]
fn a_form_that_was_entered_and_says_something_else_now_is_told_so() {
    let served = served();
    let mut client = served.person("HB");
    let form = client.get("/act/raise");
    let number = served.desk.snapshot().number;
    let answer = client.send(&form, "raise", &RAISE, &secret("HB"));
    assert_eq!(answer.to(), "/show/findings/X-1");
    let other = [
        ("finding", "X-2"),
        ("item", "PROP-P"),
        ("found", "2032-01-02"),
        ("what", "a scratch beside it"),
    ];
    let answer = client.send(&form, "raise", &other, &secret("HB"));
    assert_eq!(answer.status, 422);
    let told = format!("HB entered that as entry {}", number + 1);
    for part in [told.as_str(), "Not entered", "a scratch beside it", "value=\"X-2\""] {
        assert!(answer.body.contains(part), "{part}\n{}", answer.body);
    }
    assert_eq!(html::faults(&answer.body), [""; 0]);
    assert_eq!(served.desk.snapshot().number, number + 1);
    // Signed once more it is a new one.
    assert_ne!(answer.value("_request"), form.value("_request"));
    let answer = client.send(&answer, "raise", &other, &secret("HB"));
    assert_eq!(answer.to(), "/show/findings/X-2", "{}", answer.body);
    assert_eq!(served.desk.snapshot().number, number + 2);
}

/// What was entered, by whom and when, and what follows from it.
#[test]
fn after_an_act_the_page_says_what_was_entered_and_what_follows() {
    let served = served();
    served.card();
    let mut client = served.person("BK");
    let fields = [("job", "ON:PROP-P")];
    let answer = client.sign("start", &fields, &secret("BK"));
    let page = client.get(answer.to()).body;
    let number = served.desk.snapshot().number;
    for part in [
        format!("<a href=\"/record/{number}\">Entered as entry {number}</a>: Start"),
        "signed by Bea Kittow (BK) on 2032-01-14 12:00".to_owned(),
        "What follows from it:".to_owned(),
        "state: at work; before: issued".to_owned(),
    ] {
        assert!(page.contains(&part), "{part}\n{page}");
    }
    // A finding stands in the way of gates, and waits for whoever classes findings.
    let mut client = served.person("HB");
    let answer = client.sign("raise", &RAISE, &secret("HB"));
    let page = client.get(answer.to());
    for part in [
        "1 more in the way of gates",
        "waits now for",
        "Maud Sellick",
        "Findings to class",
    ] {
        assert!(page.body.contains(part), "{part}\n{}", page.body);
    }
    assert_eq!(html::faults(&page.body), [""; 0]);
}

#[test]
fn the_second_of_two_is_shown_both_and_loses_nothing() {
    let served = served();
    let mut one = served.person("MS");
    let form = one.get("/act/defer?finding=F-001");
    let other = [
        ("finding", "F-001"),
        ("pack", "HULL-KEEL"),
        ("route", "CORR-IN"),
        ("reason", "the keel is open anyway"),
    ];
    served.enter("TR", "assign", &other);
    let fields = [
        ("finding", "F-001"),
        ("allows", "taxi"),
        ("limitation", "taxi only on smooth water"),
        ("until", "S2"),
        ("reason", "no growth"),
    ];
    let answer = one.send(&form, "defer", &fields, &secret("MS"));
    assert_eq!(answer.status, 409, "{}", answer.body);
    for told in ["TR", "the keel is open anyway", "taxi only on smooth water"] {
        assert!(answer.body.contains(told), "{told}\n{}", answer.body);
    }
    assert_eq!(html::faults(&answer.body), [""; 0]);
    // Having seen both, it is for MS to say whether it still holds; the record judges it.
    let again = one.send(&answer, "defer", &fields, &secret("MS"));
    assert_ne!(again.status, 409);
}

#[test]
fn an_act_with_rows_needs_no_script() {
    let served = served();
    let mut client = served.person("TR");
    let form = client.get("/act/issue-card");
    assert!(form.body.contains("name=\"steps.3.text\""), "{}", form.body);
    assert!(!form.body.contains("name=\"steps.4.text\""));
    let csrf = form.value("_csrf");
    let more = [
        ("_csrf", csrf.as_str()),
        ("_rows.steps", "3"),
        ("_more", "steps"),
        ("steps.1.text", "kept while more are asked for"),
    ];
    let wider = client.post("/act/issue-card", &more);
    assert_eq!(wider.status, 200);
    assert!(wider.body.contains("name=\"steps.6.text\""), "{}", wider.body);
    assert!(wider.body.contains("kept while more are asked for"));
    assert_eq!(html::faults(&wider.body), [""; 0]);
    let fields = [
        ("job", "ON:PROP-P"),
        ("title", "Fit the port propeller"),
        ("item", "PROP-P"),
        ("steps.1.id", "10"),
        ("steps.1.text", "Torque the nut"),
        ("steps.1.work", "reassemble"),
        ("steps.1.data", "Manual 61"),
        ("steps.1.revision", "2"),
        ("steps.1.independent", "yes"),
        ("steps.2.id", ""),
        ("steps.2.text", ""),
        ("steps.3.id", " "),
    ];
    let answer = client.send(&wider, "issue-card", &fields, &secret("TR"));
    assert_eq!(answer.to(), "/show/cards/ON%3APROP-P", "{}", answer.body);
}

#[test]
fn a_form_that_outlives_its_session_comes_back_after_signing_in() {
    let served = served();
    let mut client = served.person("HB");
    let form = client.get("/act/raise");
    client.cookies.remove("session");
    let answer = client.send(&form, "raise", &RAISE, &secret("HB"));
    assert_eq!(answer.status, 401);
    assert!(!answer.body.contains(&secret("HB")), "the secret is not kept");
    let before = answer.value("_before");
    let words = secret("HB");
    let mut fields = vec![
        ("_before".to_owned(), before),
        ("_act".to_owned(), answer.value("_act")),
        ("name".to_owned(), "HB".to_owned()),
        ("secret".to_owned(), words),
    ];
    for (name, value) in RAISE {
        assert!(answer.body.contains(&format!("name=\"f.{name}\"")), "{name}");
        fields.push((format!("f.{name}"), value.to_owned()));
    }
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let back = client.post("/sign-in", &fields);
    assert_eq!(back.status, 200, "{}", back.body);
    assert!(back.body.contains("a dent &amp; a &lt;scratch&gt;"));
    let done = client.send(&back, "raise", &RAISE, &secret("HB"));
    assert_eq!(done.to(), "/show/findings/X-1", "{}", done.body);
}

#[test]
fn whoever_may_appoint_enrols_others_and_the_secret_stands_nowhere() {
    let served = served();
    let mut client = served.person("OP");
    let fields = [
        ("person", "NW"),
        ("reason", "first secret"),
        ("_new", "words of Nan Wherry"),
        ("_again", "words of Nan Wherry"),
    ];
    let odd = with(&fields, "_again", "other words");
    let answer = client.sign("enrol", &odd, &secret("OP"));
    assert!(answer.status == 422 && answer.body.contains("not the same"));
    assert!(!answer.body.contains("words of Nan"), "a secret is never sent back");
    let answer = client.sign("enrol", &fields, &secret("OP"));
    assert_eq!(answer.to(), "/show/people/NW", "{}", answer.body);
    assert_eq!(served.stranger().sign_in("NW", "words of Nan Wherry").status, 303);
    assert!(!client.get("/history/NW").body.contains("words of Nan"));
}

#[test]
fn every_form_opens_and_asks_for_what_its_act_needs() {
    let served = served();
    let mut clients = PEOPLE.map(|(person, powers)| (powers, served.person(person)));
    for form in app::act_forms() {
        let may = |(powers, _): &&mut (&[&str], _)| app::may(powers, form.word);
        let (_, client) = clients.iter_mut().find(may).unwrap();
        let page = client.get(&format!("/act/{}", form.word));
        assert_eq!(page.status, 200, "{}", form.word);
        assert_eq!(html::faults(&page.body), [""; 0], "{}\n{}", form.word, page.body);
        if form.word == "enrol" {
            continue;
        }
        for field in &form.fields {
            use app::FieldSort as Sort;
            let nested = matches!(field.sort, Sort::Row(_) | Sort::Rows(_));
            let file = matches!(field.sort, Sort::File | Sort::Files);
            let before = if file { "_file." } else { "" };
            let name = format!("name=\"{before}{}\"", field.name);
            assert!(nested || page.body.contains(&name), "{}: {name}", form.word);
        }
    }
}
