//! The season in the browser: planned, watched, tried, adopted; and refused to those who may not.

use std::time::{Duration, Instant};

use crate::client::{Answer, Client};
use crate::html;
use crate::workshop::{secret, served};

/// Begins a search, waits for its end, and gives the path of what it came to.
fn planned(client: &mut Client) -> String {
    let page = client.get("/season");
    let fields = [("_csrf", page.value("_csrf")), ("seconds", "300".to_owned())];
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let answer = client.post("/season", &fields);
    assert_eq!((answer.status, answer.to()), (303, "/season"));
    let (begun, mut stopped) = (Instant::now(), false);
    loop {
        let page = client.get("/season");
        if !page.headers.contains_key("refresh") {
            // The newest stands first.
            let (_, made) =
                page.body.split_once("Plans made").expect("the list of plans");
            let at = made.find("href=\"/season/").expect("a plan was made");
            return made[at + 6..].split('"').next().unwrap().to_owned();
        }
        assert!(page.body.contains("A search is running"), "{}", page.body);
        if !stopped {
            // A search that runs refuses another one, and says so.
            let again = client.post("/season", &fields);
            assert_eq!(again.status, 409, "{}", again.body);
        }
        assert!(begun.elapsed() < Duration::from_secs(100), "it goes on for ever");
        // As soon as there is anything, it is enough.
        if page.body.contains("complete after") {
            stopped = true;
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
    let page = client.get(&path);
    for words in ["not before 2031-10-20<", "not before 2031-10-27 10:15", "differences"]
    {
        assert!(page.body.contains(words), "{words}");
    }
    let number = |to: &str| to.rsplit('/').next().unwrap().to_owned();
    let (one, two) = (number(tried.to()), number(other.to()));
    let both = client.get(&format!("/season/{one}/beside/{two}"));
    sound(&both, 200, "two plans beside each other");
    for words in
        ["Jobs that move or", "days to the gate date", "What sets the date of plan"]
    {
        assert!(both.body.contains(words), "{words}");
    }
    assert!(client.get("/season").body.contains("OFF:PROP-P not before 2031-10-20"));
    for (job, from, told) in [
        ("NOPE", "2031-10-20", "NOPE is no job"),
        ("OFF:PROP-P", "soon", "`soon` is no day"),
        ("OFF:PROP-P", "", "No day is given"),
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

/// The fields that a page for signing in carries, as they are sent on.
fn carried(page: &Answer) -> Vec<(String, String)> {
    let inputs = page.body.split("<input").skip(1);
    let hidden = inputs.filter(|input| input.contains("type=\"hidden\""));
    let value = |input: &str, name: &str| {
        let at = input.find(&format!("{name}=\""))? + name.len() + 2;
        let text = input[at..].split('"').next()?;
        Some(text.replace("&quot;", "\"").replace("&amp;", "&"))
    };
    hidden
        .filter_map(|input| Some((value(input, " name")?, value(input, " value")?)))
        .collect()
}

/// Sends a form when its session is over, signs in again, and gives the page that comes.
fn sent_too_late(client: &mut Client, path: &str, fields: &[(&str, &str)]) -> Answer {
    client.cookies.remove("session");
    let asked = client.post(path, fields);
    sound(&asked, 401, path);
    assert!(asked.body.contains("What you typed is kept"), "{path}: {}", asked.body);
    assert!(!asked.body.contains(&secret("TR")), "no secret is carried");
    let mut again = carried(&asked);
    again.extend([
        ("name".to_owned(), "TR".to_owned()),
        ("secret".to_owned(), secret("TR")),
    ]);
    let again: Vec<(&str, &str)> =
        again.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    client.post("/sign-in", &again)
}

#[test]
fn what_was_typed_outlives_the_session() {
    let served = served();
    let mut client = served.person("TR");
    let path = planned(&mut client);
    let page = client.get(&path);
    let (request, secret) = (page.value("_request"), secret("TR"));
    let adopt = [
        ("_csrf", "of a session that is over"),
        ("_request", request.as_str()),
        ("reason", "the \"long\" winter & no rain"),
        ("_secret", secret.as_str()),
    ];
    let adopt_path = format!("{path}/adopt");
    let number = served.desk.snapshot().number;
    let back = sent_too_late(&mut client, &adopt_path, &adopt);
    sound(&back, 200, "the plan");
    assert!(back.body.contains("You had to sign in again"), "{}", back.body);
    assert!(back.body.contains("the &quot;long&quot; winter &amp; no rain"));
    assert_eq!(back.value("_request"), request, "it counts once");
    assert_eq!(served.desk.snapshot().number, number, "nothing was entered");
    // What comes back can be sent as it is.
    let csrf = back.value("_csrf");
    let mut signed = adopt;
    signed[0].1 = &csrf;
    assert_eq!(client.post(&adopt_path, &signed).status, 303);

    let tried = [("job", "OFF:PROP-P"), ("from", "2031-10-20"), ("clock", "10:15")];
    let back = sent_too_late(&mut client, &format!("{path}/try"), &tried);
    sound(&back, 200, "the form to try");
    for (_, value) in tried {
        assert!(back.body.contains(&format!("value=\"{value}\"")), "{value}");
    }
    let wanted = [("season", "S2"), ("seconds", "60"), ("anew", "yes")];
    let back = sent_too_late(&mut client, "/season", &wanted);
    sound(&back, 200, "the form to plan");
    for words in
        ["value=\"S2\" selected", "value=\"60\" selected", "value=\"yes\" checked"]
    {
        assert!(back.body.contains(words), "{words}");
    }
    // A form to which no page belongs leads where one begins.
    assert_eq!(sent_too_late(&mut client, "/season/stop", &[]).to(), "/season");
    let gone = sent_too_late(&mut client, "/season/999/adopt", &adopt);
    sound(&gone, 410, "a plan that is gone");
    assert!(gone.body.contains("&quot;long&quot; winter"), "{}", gone.body);
}

#[test]
fn whoever_adopts_second_is_told_what_the_first_did() {
    let served = served();
    let mut client = served.person("TR");
    let path = planned(&mut client);
    let page = client.get(&path);
    let sign = |client: &mut Client, who: &str, page: &Answer| {
        let own = ["_csrf", "_seen", "_request"].map(|name| (name, page.value(name)));
        let mut fields: Vec<(&str, &str)> =
            own.iter().map(|(name, value)| (*name, value.as_str())).collect();
        let (secret, reason) = (secret(who), format!("agreed with {who}"));
        fields.extend([("reason", reason.as_str()), ("_secret", secret.as_str())]);
        client.post(&format!("{path}/adopt"), &fields)
    };
    let grant = [
        ("authority", "A-HB-plan"),
        ("person", "HB"),
        ("power", "plan"),
        ("reference", "invented approval"),
        ("from", "2020-01-01"),
    ];
    let granted = served.person("OP").sign("grant", &grant, &secret("OP"));
    assert_eq!(granted.status, 303, "{}", granted.body);
    let mut other = served.person("HB");
    let theirs = other.get(&path);
    assert_eq!(sign(&mut other, "HB", &theirs).status, 303);
    let number = served.desk.snapshot().number;
    let second = sign(&mut client, "TR", &page);
    sound(&second, 409, "both");
    for words in ["agreed with HB", "value=\"agreed with TR\"", "others touched the same"]
    {
        assert!(second.body.contains(words), "{words}: {}", second.body);
    }
    assert_eq!(served.desk.snapshot().number, number);
    assert_eq!(sign(&mut client, "TR", &second).status, 303);
}

#[test]
fn all_that_moves_is_listed_and_what_sets_the_date_is_told_in_words() {
    let served = served();
    let mut client = served.person("TR");
    let path = planned(&mut client);
    let page = client.get(&path);
    for words in [
        "What sets the date, and what would bring it forward",
        "Why then: ",
        "Sooner by: ",
    ] {
        assert!(page.body.contains(words), "{words}");
    }
    let csrf = page.value("_csrf");
    let fields = [("_csrf", csrf.as_str()), ("job", "ON:PROP-P"), ("from", "2032-06-20")];
    let tried = client.post(&format!("{path}/try"), &fields);
    assert_eq!(tried.status, 303, "{}", tried.body);
    let answer = client.get(tried.to());
    let why = client.get(&format!("{}/job?job=ON%3APROP-P", tried.to())).body;
    assert!(why.contains("is tried no earlier than Sun 20 Jun 00:00"), "{why}");
    let many = answer.body.split(" jobs move, ").next().unwrap();
    let many: usize =
        many.rsplit(|c: char| !c.is_ascii_digit()).next().unwrap().parse().unwrap();
    let row = answer.body.split("data-column=\"begins then\"").skip(1);
    let others =
        row.clone().filter(|row| row.contains("data-column=\"days\"><span>0<")).count();
    let rows = row.count();
    let told = (rows - others..=rows).contains(&many) && many > 1;
    assert!(told, "each of them is there: {rows}, {others} on the same day, of {many}");
    // What the gate waits for comes first.
    let at = answer.body.find("data-column=\"why it matters\"").unwrap();
    assert!(
        answer.body[at..at + 200].contains("the gate"),
        "{}",
        &answer.body[at..at + 200]
    );
}

#[test]
fn a_plan_of_another_season_is_held_against_that_seasons_plan() {
    let served = served();
    let mut client = served.person("TR");
    let path = planned(&mut client);
    let page = client.get(&path);
    let own = ["_csrf", "_request", "_seen"].map(|name| (name, page.value(name)));
    let mut fields: Vec<(&str, &str)> =
        own.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let secret = secret("TR");
    fields.extend([("reason", "agreed"), ("_secret", secret.as_str())]);
    assert_eq!(client.post(&format!("{path}/adopt"), &fields).status, 303);
    // The season stays chosen wherever the chart leads.
    let season = client.get("/season/adopted?season=S1&lanes=stand");
    sound(&season, 200, "a season");
    assert!(season.body.contains("name=\"season\" value=\"S1\""), "the form");
    let links = season.body.matches("href=\"/season/adopted?").count();
    assert!(links > 0);
    assert_eq!(season.body.matches("href=\"/season/adopted?season=S1").count(), links);
    // No plan of the second season was adopted: there is nothing to hold it against.
    let csrf = page.value("_csrf");
    let wanted = [("_csrf", csrf.as_str()), ("season", "S2"), ("seconds", "5")];
    assert_eq!(client.post("/season", &wanted).status, 303);
    let number: u64 = path.rsplit('/').next().unwrap().parse().unwrap();
    let begun = Instant::now();
    let other = loop {
        let page = client.get("/season");
        if !page.headers.contains_key("refresh") {
            let plans = (number + 1..number + 9).map(|at| format!("/season/{at}\""));
            let mut found = plans.filter(|plan| page.body.contains(plan.as_str()));
            break found.next().expect("a plan of it").trim_end_matches('"').to_owned();
        }
        assert!(begun.elapsed() < Duration::from_secs(100), "it goes on for ever");
        std::thread::sleep(Duration::from_millis(200));
    };
    let other = other.rsplit('/').next().unwrap();
    assert_eq!(client.get(&format!("/season/adopted/beside/{other}")).status, 404);
    let apart = client.get(&format!("/season/{number}/beside/{other}"));
    sound(&apart, 200, "two seasons");
    assert!(apart.body.contains("plans of two seasons, S1 and S2"), "{}", apart.body);
}
