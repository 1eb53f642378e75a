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

const ON_A_PLAN: [&str; 4] =
    ["Adopt it", "Try what becomes of it", "OFF:PROP-P", "class=\"plan still\""];

#[test]
fn whoever_plans_plans_tries_and_adopts() {
    let served = served();
    let mut client = served.person("TR");
    let path = planned(&mut client);
    let page = client.get(&path);
    sound(&page, 200, "a plan");
    for words in ON_A_PLAN {
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
    assert!(
        beside.body.contains("data-answer")
            && beside.body.contains("OFF:PROP-P not before")
    );
    // Again with a time of day; both are kept side by side.
    let again = [
        ("_csrf", csrf.as_str()),
        ("job", "OFF:PROP-P"),
        ("from", "2031-10-27"),
        ("clock", "10:15"),
    ];
    let other = client.post(&format!("{path}/try"), &again);
    assert_eq!(other.status, 303, "{}", other.body);
    let page = client.get(&path);
    for words in ["not before 2031-10-20<", "not before 2031-10-27 10:15", "differences"]
    {
        assert!(page.body.contains(words), "{words}");
    }
    let number = |to: &str| to.rsplit('/').next().unwrap().to_owned();
    let both = format!("/season/{}/beside/{}", number(tried.to()), number(other.to()));
    let both = client.get(&both);
    sound(&both, 200, "two plans beside each other");
    for words in ["Jobs that move", "days to the gate date", "What sets the date of plan"]
    {
        assert!(both.body.contains(words), "{words}");
    }
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

#[test]
fn the_chart_is_a_list_a_still_drawing_and_data_that_say_the_same() {
    let served = served();
    let mut client = served.person("TR");
    let path = planned(&mut client);
    let sheet = client.get(&format!("{path}/sheet"));
    sound(&sheet, 200, "all on one page");
    assert!(sheet.body.contains("Hours by skill"));
    // Lanes, days, words and a job are asked for in the address.
    for lanes in ["pack", "stand", "person", "firm"] {
        let asked = format!(
            "{path}?lanes={lanes}&from=2031-10-06&until=2031-10-19&find=propeller&job=OFF%3APROP-P"
        );
        let page = client.get(&asked);
        sound(&page, 200, lanes);
        let chosen = format!("value=\"{lanes}\" selected");
        for words in [chosen.as_str(), "Why then: ", "id=\"job\"", "value=\"2031-10-19\""]
        {
            assert!(page.body.contains(words), "{lanes}: {words}");
        }
    }
    let odd = client
        .get(&format!("{path}?lanes=x&from=soon&until=2001-01-01&page=999&job=NOPE"));
    sound(&odd, 200, "what makes no sense");
    assert!(odd.body.contains("There is no such job in this plan"));
    let data = client.get(&format!("{path}/chart.json"));
    assert_eq!(data.headers["content-type"], "application/json");
    assert!(data.headers["cache-control"].contains("max-age"));
    assert!(
        data.body.starts_with("{\"from\":\"2031-10-06\"")
            && data.body.contains("OFF:PROP-P")
    );
    let told = client.get(&format!("{path}/job?job=OFF%3APROP-P"));
    assert!(told.status == 200 && told.body.contains("Why then: "), "{}", told.body);
    assert_eq!(client.get(&format!("{path}/job?job=NOPE")).status, 404);
}

#[test]
fn the_adopted_plan_is_held_against_what_happened_and_tried_upon() {
    let served = served();
    let mut client = served.person("TR");
    let none = client.get("/season/adopted");
    sound(&none, 200, "none yet");
    assert!(none.body.contains("No plan was adopted yet"));
    let path = planned(&mut client);
    let page = client.get(&path);
    let (csrf, request) = (page.value("_csrf"), page.value("_request"));
    let fields = [
        ("_csrf", csrf.as_str()),
        ("_request", request.as_str()),
        ("reason", "agreed"),
        ("_secret", &secret("TR")),
    ];
    assert_eq!(client.post(&format!("{path}/adopt"), &fields).status, 303);
    let page = client.get("/season/adopted");
    sound(&page, 200, "the adopted plan");
    for words in
        ["By pack", "greatest slip first", "What is left says", "late", "data-chart"]
    {
        assert!(page.body.contains(words), "{words}");
    }
    // It is tried upon as it stands, and nothing of the record changes.
    let until = page.body.find("/try\"").expect("a form to try") + 4;
    let action = page.body[..until].rsplit('"').next().unwrap().to_owned();
    let number = served.desk.snapshot().number;
    let tried = client
        .post(&action, &[("_csrf", &csrf), ("job", "ON:PROP-P"), ("from", "2032-06-01")]);
    assert_eq!(tried.status, 303, "{}", tried.body);
    let answer = client.get(tried.to());
    sound(&answer, 200, "the answer");
    assert!(answer.body.contains("by the adopted plan"), "{}", answer.body);
    let tried_number = tried.to().rsplit('/').next().unwrap().to_owned();
    let both = client.get(&format!("/season/adopted/beside/{tried_number}"));
    sound(&both, 200, "beside the adopted plan");
    assert_eq!(served.desk.snapshot().number, number);
}

#[test]
fn a_search_is_watched_live() {
    let served = served();
    let mut client = served.person("TR");
    // Nothing runs: that is told at once, and where to look.
    let over = client.get("/season/progress");
    assert!(
        over.body.contains("event: over") && over.body.contains("data: /season"),
        "{}",
        over.body
    );
    let page = client.get("/season");
    let csrf = page.value("_csrf");
    let fields = [("_csrf", csrf.as_str()), ("seconds", "300")];
    assert_eq!(client.post("/season", &fields).status, 303);
    let running = client.get("/season");
    sound(&running, 200, "a running search");
    assert!(
        running.body.contains("data-search") && running.headers.contains_key("refresh")
    );
    assert!(!client.get("/season?watch=live").headers.contains_key("refresh"));
    client.post("/season/stop", &[("_csrf", &csrf)]);
    // Another one, who may only look, sees the same search to its end.
    let mut other = served.person("HB");
    let events = other.get("/season/progress").body;
    assert!(events.contains("event: over"), "{events}");
}
