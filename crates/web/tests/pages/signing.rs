//! Signing in and out, guessing, and the first secret.

use std::time::{Duration, Instant};

use web::{Sessions, Transport};

use crate::workshop::{secret, served, served_by, unfounded};

#[test]
fn a_person_signs_in_by_either_name_and_out_again() {
    let served = served();
    for name in ["OP", "op", "Orla Penhallick"] {
        let mut client = served.stranger();
        let answer = client.sign_in(name, &secret("OP"));
        assert_eq!((answer.status, answer.to()), (303, "/"), "{name}");
        let cookie = answer.cookies.iter().find(|cookie| cookie.starts_with("session="));
        let cookie = cookie.unwrap();
        for word in ["HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(cookie.contains(word), "{cookie}");
        }
        // 256 bits.
        assert_eq!(client.cookies["session"].len(), 64);
        let page = client.get("/");
        let old = client.cookies.clone();
        let answer = client.post("/sign-out", &[("_csrf", &page.value("_csrf"))]);
        assert_eq!((answer.status, answer.to()), (303, "/sign-in"));
        client.cookies = old;
        assert_eq!(client.get("/").status, 303, "the old id counts no more");
    }
}

#[test]
fn signing_out_everywhere_ends_all_of_ones_own() {
    let served = served();
    let (mut one, mut two) = (served.person("OP"), served.person("OP"));
    let mut other = served.person("TR");
    let page = one.get("/lists");
    one.post("/sign-out-everywhere", &[("_csrf", &page.value("_csrf"))]);
    assert_eq!((one.get("/").status, two.get("/").status), (303, 303));
    assert_eq!(other.get("/").status, 200);
}

#[test]
fn whoever_is_wrong_is_told_the_same_whatever_was_wrong() {
    let served = served();
    let mut told = Vec::new();
    for (name, secret) in [("OP", "not these words"), ("nobody", "four words of OP")] {
        let answer = served.stranger().sign_in(name, secret);
        assert_eq!(answer.status, 401);
        assert!(
            answer.body.contains(&format!("value=\"{name}\"")),
            "what was typed stays"
        );
        assert!(!answer.body.contains(secret), "a secret is never sent back");
        let at = answer.body.find("do not belong together").unwrap();
        told.push(answer.body[at - 30..at].to_owned());
    }
    assert_eq!(told[0], told[1]);
}

#[test]
fn whoever_guesses_waits() {
    let served = served();
    let mut client = served.stranger();
    let mut answers = Vec::new();
    for _ in 0..6 {
        answers.push(client.sign_in("OP", "not these words").status);
    }
    assert_eq!(answers, [401, 401, 401, 401, 429, 429]);
    let answer = client.sign_in("OP", &secret("OP"));
    assert_eq!(answer.status, 429, "the right one has to wait too");
    let seconds: u64 = answer.headers["retry-after"].parse().unwrap();
    assert!((1..=2).contains(&seconds), "{seconds}");
    assert!(answer.body.contains("try again in"));
    let begun = Instant::now();
    while served.stranger().sign_in("OP", &secret("OP")).status == 429 {
        assert!(begun.elapsed() < Duration::from_secs(20));
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// Whoever only knows a name keeps nobody out: neither who is at work, nor a program with a
/// token, nor who comes back to the browser in which they signed in.
#[test]
fn a_stranger_who_guesses_keeps_nobody_from_their_work() {
    let served = served();
    let mut at_work = served.person("OP");
    let form = at_work.get("/act/raise");
    let mut back = served.person("OP");
    let csrf = back.get("/").value("_csrf");
    back.post("/sign-out", &[("_csrf", &csrf)]);
    assert!(!back.cookies.contains_key("session") && back.cookies.contains_key("device"));
    let token = served.pass("OP", app::PassScope::Act);
    let mut guesser = served.stranger();
    let mut answers = Vec::new();
    for _ in 0..6 {
        answers.push(guesser.sign_in("OP", "not these words").status);
    }
    assert_eq!(answers[5], 429);
    let fields = [
        ("finding", "X-1"),
        ("item", "PROP-P"),
        ("what", "a dent"),
        ("found", "2032-01-02"),
    ];
    let answer = at_work.send(&form, "raise", &fields, &secret("OP"));
    assert_eq!(answer.status, 303, "{}", answer.body);
    assert_eq!(back.sign_in("OP", &secret("OP")).status, 303);
    let act = serde_json::json!({
        "acts": [{
            "act": "raise", "finding": "X-2", "item": "PROP-P", "what": "a dent",
            "found": "2032-01-02",
        }],
        "secret": secret("OP"),
    });
    let answer = served.program(&token).send_json("/api/acts", &act.to_string());
    assert_eq!(answer.status, 201, "{}", answer.body);
    // The stranger still waits, with a forged cookie too.
    guesser.cookies.insert("device".to_owned(), "0".repeat(64));
    assert_eq!(guesser.sign_in("OP", &secret("OP")).status, 429);
    // Who sits down at an open session and guesses waits, and holds up no other.
    let mut waits = 0;
    for _ in 0..6 {
        let answer = at_work.send(&form, "raise", &fields, "not these words");
        waits += usize::from(answer.body.contains("too many wrong ones"));
    }
    assert_eq!(waits, 2);
    let form = back.get("/act/raise");
    let answer = back.send(&form, "raise", &fields, "not these words");
    assert!(answer.body.contains("that is not the secret of OP"), "{}", answer.body);
}

/// An id that somebody planted in a browser, or that was there before, is nobody's.
#[test]
fn signing_in_takes_no_id_that_was_there_and_ends_it() {
    let served = served();
    let mut client = served.person("OP");
    let old = client.cookies["session"].clone();
    let form = client.get("/sign-in");
    assert_eq!(form.status, 303, "signed in already");
    // A form that was opened before, sent from a browser in which somebody is signed in.
    let mut other = served.stranger();
    let form = other.get("/sign-in");
    let before = form.value("_before");
    client.cookies.extend(other.cookies.clone());
    let words = secret("TR");
    let fields =
        [("_before", before.as_str()), ("name", "TR"), ("secret", words.as_str())];
    assert_eq!(client.post("/sign-in", &fields).status, 303);
    assert_ne!(client.cookies["session"], old);
    client.cookies.insert("session".to_owned(), old);
    assert_eq!(client.get("/lists").status, 303, "what was open before has ended");
    let mut planted = served.stranger();
    planted.cookies.insert("session".to_owned(), "5".repeat(64));
    planted.sign_in("OP", &secret("OP"));
    assert_ne!(planted.cookies["session"], "5".repeat(64));
}

/// Whoever leaves a shared device leaves nothing there, also when the session ended by itself.
#[test]
fn signing_out_clears_the_device_whatever_became_of_the_session() {
    let served = served();
    let mut client = served.person("OP");
    let csrf = client.get("/").value("_csrf");
    client.cookies.remove("session");
    let answer = client.post("/sign-out", &[("_csrf", &csrf)]);
    assert_eq!((answer.status, answer.to()), (303, "/sign-in"));
    // W3C, Clear Site Data, 3.1.
    assert_eq!(answer.headers["clear-site-data"], "\"cache\", \"storage\"");
}

#[test]
fn where_one_is_led_to_is_a_path_and_nothing_else() {
    let served = served();
    for then in ["//evil.example", "/\\evil.example", "/\u{0}", "/\u{b}/x", "/\r\nx: y"] {
        let mut client = served.stranger();
        let before = client.get("/sign-in").value("_before");
        let words = secret("OP");
        let fields = [
            ("_before", before.as_str()),
            ("then", then),
            ("name", "OP"),
            ("secret", words.as_str()),
        ];
        let answer = client.post("/sign-in", &fields);
        assert_eq!((answer.status, answer.to()), (303, "/"), "{then:?}");
    }
}

#[test]
fn a_sign_in_form_of_another_browser_is_refused() {
    let served = served();
    let form = served.stranger().get("/sign-in");
    let before = form.value("_before");
    let fields =
        [("_before", before.as_str()), ("name", "OP"), ("secret", &secret("OP"))];
    let answer = served.stranger().post("/sign-in", &fields);
    assert_eq!(answer.status, 403);
}

#[test]
fn a_session_ends_by_itself() {
    let short = Duration::from_millis(300);
    let sessions = Sessions { idle: short, most: Duration::from_mins(1) };
    let served = served_by(Transport::Clear, sessions);
    let mut client = served.person("OP");
    assert_eq!(client.get("/lists").status, 200);
    std::thread::sleep(short + Duration::from_millis(200));
    assert_eq!(client.get("/lists").status, 303);
}

#[test]
fn a_new_secret_ends_what_the_old_one_began() {
    let served = served();
    let (mut other, mut client) = (served.person("TR"), served.person("OP"));
    assert_eq!(other.get("/lists").status, 200);
    let fields = [
        ("person", "TR"),
        ("reason", "the old one was seen"),
        ("_new", "other words of Tam"),
        ("_again", "other words of Tam"),
    ];
    assert_eq!(client.sign("enrol", &fields, &secret("OP")).status, 303);
    assert_eq!(other.get("/lists").status, 303);
    assert_eq!(served.stranger().sign_in("TR", &secret("TR")).status, 401);
    assert_eq!(served.stranger().sign_in("TR", "other words of Tam").status, 303);
}

#[test]
fn one_is_led_back_to_where_one_wanted() {
    let served = served();
    let mut client = served.stranger();
    let sent = client.get("/show/cards?has=a%26b");
    let form = client.get(sent.to());
    let then = form.value("then").replace("&amp;", "&");
    assert_eq!(then, "/show/cards?has=a%26b");
    let before = form.value("_before");
    let words = secret("OP");
    let fields = [
        ("_before", before.as_str()),
        ("then", &then),
        ("name", "OP"),
        ("secret", &words),
    ];
    assert_eq!(client.post("/sign-in", &fields).to(), "/show/cards?has=a%26b");
}

#[test]
fn the_first_person_enrols_by_the_link_once() {
    let served = unfounded();
    let path = served.serving.first_path().unwrap();
    let mut client = served.stranger();
    assert!(client.get("/sign-in").body.contains("Nobody has a secret yet"));
    assert_eq!(client.get(&format!("{path}x")).status, 404);
    let form = client.get(&path);
    let before = form.value("_before");
    let send = |client: &mut crate::client::Client, secret: &str, again: &str| {
        let before = client.cookies.get("before").cloned().unwrap_or(before.clone());
        let fields = [
            ("_before", before.as_str()),
            ("person", "OP"),
            ("secret", secret),
            ("again", again),
        ];
        client.post(&path, &fields)
    };
    let answer = send(&mut client, "some good words", "other good words");
    assert!(answer.status == 422 && answer.body.contains("not the same"));
    let answer = send(&mut client, "short", "short");
    assert!(answer.status == 422 && answer.body.contains("10 characters"));
    let answer = send(&mut client, "some good words", "some good words");
    assert_eq!(answer.status, 303, "{}", answer.body);
    assert_eq!(client.get("/").status, 200);
    assert_eq!(served.serving.first_path(), None);
    assert_eq!(served.stranger().get(&path).status, 404, "the link counts once");
    assert_eq!(served.stranger().sign_in("OP", "some good words").status, 303);
    // And who has no authority yet founds the record by the first one, given to appoint.
    let programme = served.desk.snapshot().programme;
    assert!(app::has_secret(&programme, "OP"));
    let home = client.get("/");
    assert!(
        home.body.contains("/act/grant?person=OP&amp;power=appoint"),
        "{}",
        home.body
    );
    let fields = [
        ("authority", "A-1"),
        ("person", "OP"),
        ("power", "appoint"),
        ("reference", "invented minute"),
        ("from", "2032-01-01"),
    ];
    assert_eq!(client.get("/act/classify").status, 403);
    let answer = client.sign("grant", &fields, "some good words");
    assert_eq!(answer.status, 303, "{}", answer.body);
    assert!(!client.get("/").body.contains("the first authority"));
}
