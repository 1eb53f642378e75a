//! The season in the browser: planned, watched, tried, adopted; and refused to those who may not.

use std::time::{Duration, Instant};

use crate::client::{Answer, Client};
use crate::html;
use crate::workshop::{secret, served};

/// Begins a search, waits for its end, and gives the path of what it came to.
fn planned(client: &mut Client) -> String {
    let page = client.get("/season");
    let fields = [("_csrf", page.value("_csrf")), ("seconds", "5".to_owned())];
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let answer = client.post("/season", &fields);
    assert_eq!((answer.status, answer.to()), (303, "/season"));
    let begun = Instant::now();
    loop {
        let page = client.get("/season");
        if !page.headers.contains_key("refresh") {
            let at = page.body.rfind("href=\"/season/").expect("a plan was made");
            let rest = &page.body[at + 6..];
            return rest[..rest.find('"').unwrap()].to_owned();
        }
        assert!(page.body.contains("A search is running"), "{}", page.body);
        // A search that runs refuses another one, and says so.
        let again = client.post("/season", &fields);
        assert!(matches!(again.status, 303 | 409), "{}", again.status);
        assert!(begun.elapsed() < Duration::from_secs(100), "it goes on for ever");
        // As soon as there is anything, it is enough.
        if page.body.contains("complete after") {
            client.post("/season/stop", &[("_csrf", &page.value("_csrf"))]);
        }
        std::thread::sleep(Duration::from_millis(200));
    }
}

fn sound(answer: &Answer, status: u16, what: &str) {
    assert_eq!(answer.status, status, "{what}");
    assert_eq!(html::faults(&answer.body), [""; 0], "{what}");
}

#[test]
fn whoever_plans_plans_tries_and_adopts() {
    let served = served();
    let mut client = served.person("TR");
    let path = planned(&mut client);
    let page = client.get(&path);
    sound(&page, 200, "a plan");
    for words in ["Adopt it", "Try what becomes of it", "OFF:PROP-P", "class=\"plan\""] {
        assert!(page.body.contains(words), "{words}");
    }
    assert!(!page.body.contains(" style=") && !page.body.contains("<style"));
    let csrf = page.value("_csrf");
    // What becomes of it if the port propeller comes off a week later.
    let job = [("_csrf", csrf.as_str()), ("job", "OFF:PROP-P"), ("from", "2031-10-20")];
    let tried = client.post(&format!("{path}/try"), &job);
    assert_eq!(tried.status, 303, "{}", tried.body);
    let beside = client.get(tried.to());
    sound(&beside, 200, "a plan beside it");
    let overview = client.get("/season");
    assert!(overview.body.contains("OFF:PROP-P not before 2031-10-20"));
    for (job, from, told) in [
        ("NOPE", "2031-10-20", "NOPE is no job"),
        ("OFF:PROP-P", "soon", "that is no day"),
    ] {
        let fields = [("_csrf", csrf.as_str()), ("job", job), ("from", from)];
        let answer = client.post(&format!("{path}/try"), &fields);
        sound(&answer, 422, told);
        assert!(answer.body.contains(told) && answer.body.contains(job), "{told}");
    }
    let request = page.value("_request");
    let sign = |client: &mut Client, words: &str| {
        let fields = [
            ("_csrf", csrf.as_str()),
            ("_request", request.as_str()),
            ("reason", "agreed on Monday"),
            ("_secret", words),
        ];
        client.post(&format!("{path}/adopt"), &fields)
    };
    let wrong = sign(&mut client, "not these words");
    sound(&wrong, 401, "a wrong secret");
    assert!(wrong.body.contains("agreed on Monday"), "what was typed stays");
    let right = sign(&mut client, &secret("TR"));
    assert_eq!((right.status, right.to()), (303, "/show/plan"), "{}", right.body);
    // Twice counts once.
    let number = served.desk.snapshot().number;
    assert_eq!(sign(&mut client, &secret("TR")).status, 303);
    assert_eq!(served.desk.snapshot().number, number);
    assert!(client.get("/show/plan").body.contains("agreed on Monday"));
}

#[test]
fn who_may_not_plan_looks_and_does_nothing() {
    let served = served();
    let mut client = served.person("HB");
    let page = client.get("/season");
    sound(&page, 200, "the overview");
    assert!(!page.body.contains("Plan it"));
    let csrf = client.get("/lists").value("_csrf");
    for path in ["/season", "/season/stop", "/season/1/try", "/season/1/adopt"] {
        let refused = client.post(path, &[("_csrf", &csrf)]);
        assert_eq!(refused.status, 403, "{path}");
        let foreign = client.post(path, &[("_csrf", "another")]);
        assert_eq!(foreign.status, 403, "{path}");
    }
    assert_eq!(served.stranger().get("/season").status, 303);
}
