//! What is somebody's own: how they see things, sessions, the second step, passes.

use app::{Change, PassScope};

use crate::client::{Answer, Client};
use crate::html;
use crate::workshop::{Served, secret, served};

fn send(client: &mut Client, page: &str, path: &str, fields: &[(&str, &str)]) -> Answer {
    let csrf = client.get(page).value("_csrf");
    let mut all = vec![("_csrf", csrf.as_str())];
    all.extend(fields);
    client.post(path, &all)
}

fn sound(answer: &Answer, status: u16) {
    assert_eq!(answer.status, status, "{}", answer.body);
    assert_eq!(html::faults(&answer.body), [""; 0], "{}", answer.body);
}

#[test]
fn days_and_quantities_are_shown_as_somebody_wants_them() {
    let served = served();
    served.card();
    let mut client = served.person("OP");
    let before = client.get("/show/people").body;
    assert!(!before.contains("data-theme"));
    let chosen =
        [("units", "metric"), ("dates", "long"), ("theme", "dark"), ("text", "large")];
    let answer = send(&mut client, "/me", "/me/view", &chosen);
    assert_eq!((answer.status, answer.to()), (303, "/me"));
    let page = client.get("/me");
    sound(&page, 200);
    for part in ["data-theme=\"dark\"", "data-text=\"large\"", "value=\"long\" selected"]
    {
        assert!(page.body.contains(part), "{part}");
    }
    // On every page that shows a day, and on nobody else's.
    let entry = format!("/record/{}", served.desk.snapshot().number);
    assert!(client.get(&entry).body.contains("14 January 2032"));
    assert!(client.get("/show/cards/ON%3APROP-P").body.contains("14 January 2032"));
    assert!(!served.person("TR").get(&entry).body.contains("14 January 2032"));
    for page in
        ["/aircraft", "/today", "/card/ON%3APROP-P/print", "/show/people", "/season"]
    {
        let shown = client.get(page);
        sound(&shown, 200);
        let text = shown.body.split("<main").nth(1).unwrap();
        // A drawing is laid out with what stands in it.
        let text: String = text
            .split("<svg")
            .map(|part| part.split_once("</svg>").map_or(part, |(_, after)| after))
            .collect();
        let days = text.matches(">2032-").count() + text.matches(" 2032-").count();
        assert_eq!(days, 0, "{page} shows a day as it is kept");
    }
    assert!(client.get("/aircraft").body.contains("14 January 2032"));
    // A form says how a day is to be typed, and holds it so.
    let form = client.get("/aircraft?on=2032-01-10").body;
    assert!(form.contains("value=\"2032-01-10\"") && form.contains("10 January 2032"));
    // What is exported stays as it was written.
    let json = client.get("/show/cards/ON%3APROP-P?as=json").body;
    assert!(json.contains("2032-01-14") && !json.contains("14 January 2032"));
    // What is no choice chooses nothing.
    send(&mut client, "/me", "/me/view", &[("dates", "<b>"), ("theme", "pink")]);
    assert!(!client.get("/me").body.contains("data-theme"));
    // And it is kept with the ledger.
    send(&mut served.person("OP"), "/me", "/me/view", &[("theme", "light")]);
    let kept = served.desk.settings();
    assert!(
        kept.get("OP", "preferences", "all").unwrap().contains("\"theme\":\"light\"")
    );
}

#[test]
fn a_session_is_ended_from_another() {
    let served = served();
    let (mut one, mut two, mut other) =
        (served.person("OP"), served.person("OP"), served.person("TR"));
    let page = two.get("/me");
    sound(&page, 200);
    let names: Vec<&str> = page.body.split("name=\"session\" value=\"").skip(1).collect();
    let names: Vec<&str> =
        names.iter().map(|rest| rest.split('"').next().unwrap()).collect();
    assert_eq!(names.len(), 2);
    assert!(!page.body.contains(&one.cookies["session"]), "no id is shown");
    // Of somebody else it ends nothing.
    send(&mut other, "/me", "/me/session", &[("session", names[1])]);
    assert_eq!(one.get("/lists").status, 200);
    // The newest stands first: the other is the first one.
    send(&mut two, "/me", "/me/session", &[("session", names[1])]);
    assert_eq!((one.get("/lists").status, two.get("/lists").status), (303, 200));
}

#[test]
fn a_token_is_made_told_once_and_revoked() {
    let served = served();
    let mut client = served.person("OP");
    let words = secret("OP");
    let fields = [
        ("label", "the board in the hall"),
        ("scope", "read"),
        ("expires", "2032-02-01"),
        ("_token_secret", words.as_str()),
    ];
    // Whoever finds a page open makes none.
    let mut wrong = fields;
    wrong[3].1 = "not these words";
    sound(&send(&mut client, "/me", "/me/token", &wrong), 401);
    let mut late = fields;
    late[2].1 = "2032-01-13";
    let answer = send(&mut client, "/me", "/me/token", &late);
    sound(&answer, 422);
    assert!(
        answer.body.contains("the board in the hall") && !answer.body.contains(&words)
    );
    assert_eq!(send(&mut client, "/me", "/me/token", &fields).status, 303);
    let page = client.get("/me").body;
    let at = page.find("The token is ").unwrap() + 13;
    let token = page[at..].split(' ').next().unwrap().to_owned();
    assert!(token.starts_with("turnbuckle_"), "{token}");
    assert!(!client.get("/me").body.contains(&token), "it is told once");
    assert_eq!(served.program(&token).get("/api/sheets").status, 200);
    let settings = served.desk.settings();
    let kept: Vec<_> = settings.of("OP", "token").collect();
    assert!(kept.len() == 1 && !kept[0].1.contains(&token), "only its digest is kept");
    let name = kept[0].0;
    // Nobody else revokes it.
    send(&mut served.person("TR"), "/me", "/me/revoke", &[("pass", name)]);
    assert_eq!(served.program(&token).get("/api/sheets").status, 200);
    send(&mut client, "/me", "/me/revoke", &[("pass", name)]);
    assert_eq!(served.program(&token).get("/api/sheets").status, 401);
}

/// A double click, and the way back: the text is told once, and one is made.
#[test]
fn the_same_form_makes_one_token_and_one_link() {
    let served = served();
    let mut client = served.person("OP");
    let words = secret("OP");
    for (part, told, kind) in
        [("token", "The token is ", "token"), ("calendar", "The link is ", "calendar")]
    {
        let secret_name = format!("_{part}_secret");
        let path = format!("/me/{part}");
        let page = client.get("/me").body;
        let form = page.split(&format!("action=\"{path}\"")).nth(1).unwrap();
        let request = form.split("name=\"_request\" value=\"").nth(1).unwrap();
        let request = request.split('"').next().unwrap().to_owned();
        assert_eq!(request.len(), 64);
        let fields = [
            ("label", "the board in the hall"),
            ("expires", "2032-02-01"),
            ("_request", request.as_str()),
            (secret_name.as_str(), words.as_str()),
        ];
        for _ in 0..3 {
            assert_eq!(send(&mut client, "/gates/taxi", &path, &fields).status, 303);
        }
        let page = client.get("/me");
        sound(&page, 200);
        assert_eq!(served.desk.settings().of("OP", kind).count(), 1, "{part}");
        // The page that gave the token of the form told the first answer.
        assert!(
            !page.body.contains(told) && page.body.contains("That form was sent before")
        );
        // The same id of somebody else is another request.
        let mut other = served.person("TR");
        let theirs = secret("TR");
        let mut fields = fields;
        fields[3].1 = &theirs;
        assert_eq!(send(&mut other, "/me", &path, &fields).status, 303);
        assert!(other.get("/me").body.contains(told));
        assert_eq!(served.desk.settings().of("TR", kind).count(), 1, "{part}");
    }
}

/// What was revoked is not made again by the form that made it.
#[test]
fn a_form_does_not_bring_back_what_was_revoked() {
    let served = served();
    let mut client = served.person("OP");
    let words = secret("OP");
    for (part, name) in [("token", "_token_secret"), ("calendar", "_calendar_secret")] {
        let path = format!("/me/{part}");
        let request = format!("a form of {part}");
        let fields = [
            ("label", "the board in the hall"),
            ("expires", "2032-02-01"),
            ("_request", request.as_str()),
            (name, words.as_str()),
        ];
        assert_eq!(send(&mut client, "/me", &path, &fields).status, 303);
        let settings = served.desk.settings();
        let pass = app::passes(&settings, "OP").pop().unwrap().name;
        send(&mut client, "/me", "/me/revoke", &[("pass", &pass)]);
        assert!(app::passes(&served.desk.settings(), "OP").is_empty(), "{part}");
        let kept = served.desk.settings();
        let (_, kept) = kept.of("OP", part).next().unwrap();
        assert!(!kept.contains("digest"), "nothing that would open is left: {kept}");
        assert_eq!(send(&mut client, "/gates/taxi", &path, &fields).status, 303);
        let page = client.get("/me");
        sound(&page, 200);
        assert!(page.body.contains("was revoked since"), "{}", page.body);
        assert!(app::passes(&served.desk.settings(), "OP").is_empty(), "{part}");
        // Revoked twice is told as that.
        send(&mut client, "/me", "/me/revoke", &[("pass", &pass)]);
        assert!(client.get("/me").body.contains("It was revoked before"));
    }
}

/// Whoever changes their own secret in the browser goes on with the device that they have.
#[test]
fn whoever_changes_their_secret_keeps_their_second_step() {
    let served = served();
    let (key, codes) = set_up(&served, "OP");
    let (mut client, form) = half(&served, "OP");
    assert_eq!(enter(&mut client, &form, &code(&key, 0)).status, 303);
    let fields = [
        ("person", "OP"),
        ("reason", "the old one was seen"),
        ("_new", "other words of Olga"),
        ("_again", "other words of Olga"),
    ];
    assert_eq!(client.sign("enrol", &fields, &secret("OP")).status, 303);
    let mut client = served.stranger();
    let form = client.sign_in("OP", "other words of Olga");
    sound(&form, 200);
    // What was used before is still known to be used.
    let answer = enter(&mut client, &form, &code(&key, 0));
    sound(&answer, 401);
    let answer = enter(&mut client, &answer, &code(&key, 1));
    assert_eq!(answer.status, 303, "{}", answer.body);
    let page = client.get("/me").body;
    assert!(
        !page.contains("Your secret was changed since")
            && page.contains("8 recovery codes")
    );
    let mut lost = served.stranger();
    let form = lost.sign_in("OP", "other words of Olga");
    assert_eq!(enter(&mut lost, &form, &codes[0]).status, 303);
    // A secret that somebody else gave can't show the key.
    set_up(&served, "TR");
    let given = [
        ("person", "TR"),
        ("reason", "forgotten"),
        ("_new", "other words of Tam"),
        ("_again", "other words of Tam"),
    ];
    assert_eq!(lost.sign("enrol", &given, "other words of Olga").status, 303);
    let mut client = served.stranger();
    let form = client.sign_in("TR", "other words of Tam");
    assert!(form.body.contains("recovery code"), "{}", form.body);
    let second = served.desk.settings();
    let programme = served.desk.snapshot().programme;
    assert!(!app::second_of(&second, &programme, "TR").unwrap().1);
}

#[test]
fn a_new_secret_ends_tokens_and_links() {
    let served = served();
    let token = served.pass("TR", PassScope::Read);
    let link = served.pass("TR", PassScope::Calendar);
    assert_eq!(served.program(&token).get("/api/sheets").status, 200);
    let fields = [
        ("person", "TR"),
        ("reason", "the old one was seen"),
        ("_new", "other words of Tam"),
        ("_again", "other words of Tam"),
    ];
    assert_eq!(served.person("OP").sign("enrol", &fields, &secret("OP")).status, 303);
    assert_eq!(served.program(&token).get("/api/sheets").status, 401);
    assert_eq!(served.stranger().get(&format!("/calendar/{link}.ics")).status, 404);
}

/// The key in base32 as bytes (RFC 4648), by another way than the program's.
fn bytes(key: &str) -> Vec<u8> {
    let each =
        key.chars().map(|sign| "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567".find(sign).unwrap());
    let bits = each.map(|value| format!("{value:05b}")).collect::<Vec<_>>().concat();
    let whole = bits.as_bytes().chunks_exact(8);
    whole
        .map(|byte| u8::from_str_radix(std::str::from_utf8(byte).unwrap(), 2).unwrap())
        .collect()
}

/// The clock of the tests: 2032-01-14T12:00:00Z.
const SECONDS: i64 = 1_957_694_400;

/// The code at some steps from the clock of the tests.
fn code(key: &str, steps: i64) -> String {
    app::code_at(&bytes(key), SECONDS + steps * 30)
}

/// Sets the second step of somebody up; the key, and the recovery codes.
fn set_up(served: &Served, person: &str) -> (String, Vec<String>) {
    let mut client = served.person(person);
    let page = client.get("/me/second");
    sound(&page, 200);
    let key = page.value("_key");
    assert!(page.body.contains("<svg class=\"code\""), "the picture");
    let words = secret(person);
    let csrf = page.value("_csrf");
    let mut fields = vec![
        ("_csrf", csrf.as_str()),
        ("_key", key.as_str()),
        ("_secret", words.as_str()),
        ("code", "000000"),
    ];
    let answer = client.post("/me/second", &fields);
    sound(&answer, 422);
    assert_eq!(
        answer.value("_key"),
        key,
        "the same key, so that the device need not learn it anew"
    );
    let first = code(&key, -1);
    fields[3].1 = &first;
    let answer = client.post("/me/second", &fields);
    sound(&answer, 200);
    let codes = answer.body.split("<li><code class=\"key\">").skip(1);
    let codes: Vec<String> =
        codes.map(|rest| rest.split('<').next().unwrap().to_owned()).collect();
    assert_eq!(codes.len(), 8);
    (key, codes)
}

fn half(served: &Served, person: &str) -> (Client, Answer) {
    let mut client = served.stranger();
    let form = client.sign_in(person, &secret(person));
    sound(&form, 200);
    assert!(form.body.contains("The code of your device"));
    assert_eq!(client.get("/lists").status, 303, "the secret alone lets nobody in");
    (client, form)
}

fn enter(client: &mut Client, form: &Answer, code: &str) -> Answer {
    let (before, half) = (form.value("_before"), form.value("_half"));
    client
        .post("/sign-in/code", &[("_before", &before), ("_half", &half), ("code", code)])
}

#[test]
fn a_code_is_asked_after_the_secret_and_counts_once() {
    let served = served();
    let (key, codes) = set_up(&served, "OP");
    // The key does not stand in the ledger as it is.
    let kept = served.desk.settings();
    let kept = kept.get("OP", "second-factor", "totp").unwrap().to_owned();
    let plain: Vec<String> =
        bytes(&key).iter().map(|byte| format!("{byte:02x}")).collect();
    let plain = plain.concat();
    assert!(!kept.contains(&plain) && !kept.contains(&key));
    assert!(!codes.iter().any(|code| kept.contains(code)));
    // The code that it was set up with does not count again.
    let (mut client, form) = half(&served, "OP");
    let answer = enter(&mut client, &form, &code(&key, -1));
    sound(&answer, 401);
    assert!(answer.body.contains("used before"));
    let answer = enter(&mut client, &answer, "123");
    sound(&answer, 401);
    let answer = enter(&mut client, &answer, &code(&key, 0));
    assert_eq!((answer.status, answer.to()), (303, "/"), "{}", answer.body);
    assert_eq!(client.get("/lists").status, 200);
    // Used within its step it counts no more, by whomever it was seen.
    let (mut again, form) = half(&served, "OP");
    sound(&enter(&mut again, &form, &code(&key, 0)), 401);
    // A recovery code counts once, however it is typed.
    let (mut lost, form) = half(&served, "OP");
    let answer = enter(&mut lost, &form, &codes[3].to_uppercase().replace('-', " "));
    assert_eq!(answer.status, 303);
    assert!(lost.get("/").body.contains("7 are left"));
    let (mut lost, form) = half(&served, "OP");
    sound(&enter(&mut lost, &form, &codes[3]), 401);
}

#[test]
fn whoever_guesses_codes_begins_again_and_waits() {
    let served = served();
    let (key, _) = set_up(&served, "OP");
    let (mut client, mut form) = half(&served, "OP");
    let mut answers = Vec::new();
    for _ in 0..6 {
        let answer = enter(&mut client, &form, "000000");
        answers.push(answer.status);
        if answer.body.contains("_half") {
            form = answer;
        }
    }
    assert_eq!(answers, [401, 401, 401, 401, 429, 403]);
    // Another half way in waits as well.
    let (mut other, form) = half(&served, "OP");
    assert_eq!(enter(&mut other, &form, &code(&key, 0)).status, 429);
    // A form of another browser, and one that nobody gave out, let nobody in.
    let (_, form) = half(&served, "OP");
    assert_eq!(enter(&mut served.stranger(), &form, &code(&key, 0)).status, 403);
}

#[test]
fn the_second_step_is_taken_away_by_its_owner_or_by_whoever_appoints() {
    let served = served();
    set_up(&served, "TR");
    let mut appoints = served.person("OP");
    sound(&appoints.get("/people"), 200);
    assert!(appoints.get("/people").body.contains("/second/TR"));
    sound(&appoints.get("/second/TR"), 200);
    let mut bench = served.person("BK");
    assert_eq!(bench.get("/second/TR").status, 403);
    let words = secret("BK");
    let answer = send(&mut bench, "/me", "/second/TR", &[("_secret", &words)]);
    assert_eq!(answer.status, 403);
    let answer =
        send(&mut appoints, "/second/TR", "/second/TR", &[("_secret", "wrong words")]);
    sound(&answer, 401);
    let words = secret("OP");
    let answer = send(&mut appoints, "/second/TR", "/second/TR", &[("_secret", &words)]);
    assert_eq!(answer.status, 303);
    // They are told, for whoever asked may have been another; once.
    let mut client = served.person("TR");
    let page = client.get("/");
    assert!(page.body.contains("(OP) took your second step away"), "{}", page.body);
    assert!(!client.get("/").body.contains("took your second step away"));
    set_up(&served, "TR");
    let words = secret("TR");
    let answer = send(
        &mut client,
        "/me/second",
        "/me/second/remove",
        &[("_remove_secret", &words)],
    );
    assert_eq!((answer.status, answer.to()), (303, "/me"));
    assert_eq!(served.person("TR").get("/lists").status, 200);
}

#[test]
fn after_a_new_secret_only_recovery_codes_count() {
    let served = served();
    let (key, codes) = set_up(&served, "TR");
    let fields = [
        ("person", "TR"),
        ("reason", "forgotten"),
        ("_new", "other words of Tam"),
        ("_again", "other words of Tam"),
    ];
    assert_eq!(served.person("OP").sign("enrol", &fields, &secret("OP")).status, 303);
    let mut client = served.stranger();
    let form = client.sign_in("TR", "other words of Tam");
    let answer = enter(&mut client, &form, &code(&key, 0));
    sound(&answer, 401);
    assert!(answer.body.contains("only a recovery code counts"));
    assert_eq!(enter(&mut client, &answer, &codes[0]).status, 303);
    assert!(client.get("/me").body.contains("Set it up anew"));
}

#[test]
fn a_calendar_is_read_by_its_link_alone() {
    let served = served();
    let link = served.pass("HB", PassScope::Calendar);
    let mut stranger = served.stranger();
    let answer = stranger.get(&format!("/calendar/{link}.ics"));
    assert_eq!(answer.status, 200);
    assert!(answer.headers["content-type"].starts_with("text/calendar"));
    assert_eq!(answer.headers["cache-control"], "private, no-store");
    assert!(answer.body.starts_with("BEGIN:VCALENDAR\r\n"), "{}", answer.body);
    for wrong in [&link[..link.len() - 1], "x", &served.pass("HB", PassScope::Read)] {
        assert_eq!(
            stranger.get(&format!("/calendar/{wrong}.ics")).status,
            404,
            "{wrong}"
        );
    }
    assert_eq!(stranger.get(&format!("/calendar/{link}")).status, 404);
    // It is a secret: no log holds it.
    assert!(!served.log.lock().unwrap().join("\n").contains(&link));
    // Nine more, and then it waits.
    for _ in 0..9 {
        assert_eq!(stranger.get(&format!("/calendar/{link}.ics")).status, 200);
    }
    let answer = stranger.get(&format!("/calendar/{link}.ics"));
    assert_eq!(answer.status, 429);
    assert!(answer.headers.contains_key("retry-after"));
}

#[test]
fn what_others_change_beside_the_record_is_taken_in() {
    let served = served();
    let desk = app::Desk::open(&served.place).unwrap();
    desk.change_setting(("OP", "preferences", "all"), |found| {
        assert_eq!(found, None);
        (Change::Put("{\"theme\":\"dark\"}".to_owned()), ())
    })
    .unwrap();
    let mut client = served.person("OP");
    let begun = std::time::Instant::now();
    while !client.get("/me").body.contains("data-theme=\"dark\"") {
        assert!(begun.elapsed() < std::time::Duration::from_secs(20));
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
}

/// Adopts a plan by which HB, who comes on Wednesdays and Saturdays, works on two jobs, one of
/// them over both days; the link to their days.
fn with_days(served: &Served) -> String {
    served.enter(
        "TR",
        "adopt",
        &[
            ("season", "S1"),
            ("complete", "2032-04-20 16:00"),
            ("reason", "the first"),
            ("problem", "3f0a5c"),
            ("engine", "a test"),
            ("seed", "1"),
            ("jobs.1.job", "OFF:PROP-P"),
            ("jobs.1.from", "2032-02-04 10:00"),
            ("jobs.1.until", "2032-02-07 12:00"),
            ("jobs.1.people", "HB; BK"),
            ("jobs.2.job", "ON:PROP-P"),
            ("jobs.2.from", "2032-02-07 13:00"),
            ("jobs.2.until", "2032-02-07 16:00"),
            ("jobs.2.people", "HB"),
            ("jobs.3.job", "OFF:ENG-P"),
            ("jobs.3.from", "2032-02-05 08:00"),
            ("jobs.3.until", "2032-02-05 09:00"),
            ("jobs.3.people", "BK"),
        ],
    );
    format!("/calendar/{}.ics", served.pass("HB", PassScope::Calendar))
}

#[test]
fn a_calendar_holds_ones_own_days_by_the_adopted_plan() {
    let served = served();
    let link = with_days(&served);
    let text = served.stranger().get(&link).body;
    assert_eq!(text.matches("BEGIN:VEVENT").count(), 2, "{text}");
    assert!(text.contains("OFF:PROP-P") && text.contains("ON:PROP-P"), "{text}");
    assert!(!text.contains("ENG-P"), "not what others do: {text}");
}

/// Read by the Python package icalendar, by RFC 5545.
#[test]
#[ignore = "reference check: run by `cargo xtask ci`"]
fn another_program_reads_the_calendar() {
    let served = served();
    let link = with_days(&served);
    let file = served.dir().join("days.ics");
    std::fs::write(&file, served.stranger().get(&link).bytes).unwrap();
    let python = std::env::var_os("TURNBUCKLE_PYTHON")
        .expect("TURNBUCKLE_PYTHON names a Python that has the reference packages");
    let script =
        concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/calendar_check.py");
    let output =
        std::process::Command::new(python).arg(script).arg(&file).output().unwrap();
    let told = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{told}{}", String::from_utf8_lossy(&output.stderr));
    let lines: Vec<&str> = told.lines().collect();
    assert_eq!(lines.len(), 2, "{told}");
    assert!(lines[0].contains("2032-02-04T10:00:00 2032-02-04T16:30:00"), "{told}");
    assert!(lines[1].contains("2032-02-07T09:00:00 2032-02-07T16:00:00"), "{told}");
}
