//! The hangar floor: today, a card in hand from pick-up to the end, the board of parts.

use crate::client::{Answer, Client};
use crate::html;
use crate::uploads::picture;
use crate::workshop::{OBSERVER, Served, secret, served};

const JOB: &str = "ON:PROP-P";
const CARD: &str = "/card/ON%3APROP-P";

fn sound(answer: &Answer, status: u16, what: &str) {
    assert_eq!(answer.status, status, "{what}\n{}", answer.body);
    assert_eq!(html::faults(&answer.body), [""; 0], "{what}");
    assert!(!answer.body.contains(" style="), "{what}");
}

/// Signs by the short form of a card: what is in the form besides is hidden there.
fn sign(
    client: &mut Client,
    word: &str,
    step: Option<&str>,
    more: &[(&str, &str)],
) -> Answer {
    let query = step.map_or_else(String::new, |step| format!("?step={step}"));
    let form = client.get(&format!("{CARD}/{word}{query}"));
    sound(&form, 200, word);
    let mut fields = vec![("job", JOB), ("_back", "card")];
    fields.extend(step.map(|step| ("step", step)));
    fields.extend(more);
    let who = form.value("_csrf");
    assert!(!who.is_empty());
    let person = client.signed_in.clone();
    client.send(&form, word, &fields, &secret(&person))
}

fn done(answer: &Answer, what: &str) {
    assert_eq!((answer.status, answer.to()), (303, CARD), "{what}\n{}", answer.body);
}

fn measured(served: &Served) {
    served.enter(
        "TR",
        "issue-card",
        &[
            ("job", JOB),
            ("title", "Fit the port propeller"),
            ("item", "PROP-P"),
            ("steps.1.id", "10"),
            ("steps.1.text", "Torque the nut"),
            ("steps.1.work", "reassemble"),
            ("steps.1.data", "Manual 61"),
            ("steps.1.revision", "2"),
            ("steps.1.independent", "yes"),
            ("steps.1.critical", "yes"),
            ("steps.1.limits", "torque 40..45 lbf·ft; turns 2..3"),
        ],
    );
    served.enter(
        "TR",
        "calibrate",
        &[("tool", "TW-M"), ("certificate", "C 1"), ("until", "2032-12-31")],
    );
}

#[test]
fn a_card_is_worked_from_pick_up_to_the_end() {
    let served = served();
    served.card();
    let mut tam = served.person("TR");
    let card = tam.get(CARD);
    sound(&card, 200, "an issued card");
    assert!(card.body.contains("Pick it up"), "{}", card.body);
    assert!(!card.body.contains("/sign-step?step="), "nobody is at it");
    done(&sign(&mut tam, "start", None, &[]), "start");
    let card = tam.get(CARD);
    for words in
        ["Sign step", "step=10", "Pause", "Hand over", "At it: Tam Ruddock since"]
    {
        assert!(card.body.contains(words), "{words}\n{}", card.body);
    }
    assert!(!card.body.contains("sign-step?step=20"), "step 20 comes after step 10");
    done(&sign(&mut tam, "sign-step", Some("10"), &[]), "step 10");
    assert!(!tam.get(CARD).body.contains("inspect?step=10"), "TR did it");
    // Two inspections, the second by another.
    for person in ["BK", "AC"] {
        let mut client = served.person(person);
        let card = client.get(CARD).body;
        assert!(card.contains("inspect?step=10"), "{person}\n{card}");
        // It failed, and names no finding.
        let failed = [("verdict", "fail"), ("checked", "locking")];
        let failed = sign(&mut client, "inspect", Some("10"), &failed);
        sound(&failed, 422, "no finding");
        assert!(failed.body.contains("names no finding"), "{}", failed.body);
        let looked = [("verdict", "pass"), ("checked", "locking"), ("checked", "sense")];
        done(&sign(&mut client, "inspect", Some("10"), &looked), person);
    }
    let over = [
        ("to", "OP"),
        ("done", "step 10"),
        ("next", "step 20"),
        ("loose", "nothing"),
        ("off", "nothing"),
        ("hazards", "nothing"),
    ];
    done(&sign(&mut tam, "hand-over", None, &over), "hand over");
    let mut orla = served.person("OP");
    let card = orla.get(CARD).body;
    assert!(card.contains("Handed over by Tam Ruddock") && card.contains("Take over"));
    let form = orla.get(&format!("{CARD}/take-over"));
    assert!(form.body.contains("step 20"), "the notes are read before it is taken");
    done(&sign(&mut orla, "take-over", None, &[("spoken", "yes")]), "take over");
    done(&sign(&mut orla, "sign-step", Some("20"), &[]), "step 20");
    for person in ["BK", "AC"] {
        let mut client = served.person(person);
        let looked = [("verdict", "pass"), ("checked", "locking")];
        done(&sign(&mut client, "inspect", Some("20"), &looked), person);
    }
    done(&sign(&mut orla, "pause", None, &[("left", "all signed")]), "pause");
    assert!(!orla.get(CARD).body.contains("Certify it complete"), "OP may not certify");
    assert!(tam.get(CARD).body.contains("Certify it complete"));
    let unclear = sign(&mut tam, "finish", None, &[("clear", "no")]);
    sound(&unclear, 422, "the place was not looked over");
    done(&sign(&mut tam, "finish", None, &[("clear", "yes")]), "finish");
    let card = tam.get(CARD).body;
    assert!(card.contains("certified by Tam Ruddock"), "{card}");
    assert!(!card.contains("class=\"big\""), "nothing is left to do");
}

#[test]
fn values_are_typed_by_field_and_come_back_beside_what_is_wrong() {
    let served = served();
    measured(&served);
    let mut tam = served.person("TR");
    done(&sign(&mut tam, "start", None, &[]), "start");
    let form = tam.get(&format!("{CARD}/sign-step?step=10"));
    for words in ["40 to 45 lbf·ft", "name=\"_reading.0.value\"", "TW-M", "Critical"] {
        assert!(form.body.contains(words), "{words}\n{}", form.body);
    }
    assert!(!form.body.contains("_reading.1.tool"), "what has no unit has no instrument");
    let values = |torque| {
        [
            ("_reading.0.name", "torque"),
            ("_reading.0.value", torque),
            ("_reading.0.tool", "TW-M"),
            ("_reading.1.name", "turns"),
            ("_reading.1.value", "2.5"),
        ]
    };
    let high = sign(&mut tam, "sign-step", Some("10"), &values("45.1"));
    sound(&high, 422, "outside");
    for words in ["torque is 45.1", "value=\"45.1\"", "value=\"2.5\"", "name=\"_back\""] {
        assert!(high.body.contains(words), "{words}\n{}", high.body);
    }
    let odd = sign(&mut tam, "sign-step", Some("10"), &values("forty"));
    sound(&odd, 422, "no number");
    assert!(odd.body.contains("value=\"forty\""), "{}", odd.body);
    done(&sign(&mut tam, "sign-step", Some("10"), &values("45")), "within");
    assert!(tam.get(CARD).body.contains("torque 45 lbf·ft (TW-M)"));
}

#[test]
fn a_short_form_counts_once_and_outlives_its_session() {
    let served = served();
    served.card();
    let mut tam = served.person("TR");
    let form = tam.get(&format!("{CARD}/start"));
    let fields = [("job", JOB), ("_back", "card")];
    for _ in 0..2 {
        done(&tam.send(&form, "start", &fields, &secret("TR")), "start");
    }
    assert!(tam.get(CARD).body.contains("was entered before"));
    let form = tam.get(&format!("{CARD}/pause"));
    let request = form.value("_request");
    tam.cookies.remove("session");
    let left = [("job", JOB), ("_back", "card"), ("left", "half of it")];
    let asked = tam.send(&form, "pause", &left, &secret("TR"));
    assert_eq!(asked.status, 401);
    for kept in [&request, "half of it", "f._back"] {
        assert!(asked.body.contains(kept), "{kept}\n{}", asked.body);
    }
    assert!(!asked.body.contains(&secret("TR")));
}

#[test]
fn a_volunteer_is_asked_who_supervises() {
    let served = served();
    served.card();
    let mut hal = served.person("HB");
    done(&sign(&mut hal, "start", None, &[]), "start");
    let form = hal.get(&format!("{CARD}/sign-step?step=10")).body;
    let (_, form) = form.split_once("<main").unwrap();
    let (shown, _) = form.split_once("<details").unwrap_or((form, ""));
    assert!(shown.contains("name=\"supervisor\""), "{form}");
    let mut tam = served.person("TR");
    let form = tam.get(&format!("{CARD}/sign-step?step=10")).body;
    let (_, form) = form.split_once("<main").unwrap();
    let (shown, folded) = form.split_once("<details").unwrap();
    assert!(!shown.contains("supervisor") && folded.contains("name=\"supervisor\""));
    let alone = sign(&mut hal, "sign-step", Some("10"), &[]);
    sound(&alone, 422, "no supervisor");
    assert!(alone.body.contains("names no supervisor"), "{}", alone.body);
}

#[test]
fn a_photograph_goes_with_the_step_and_is_shown_on_the_card() {
    let served = served();
    served.card();
    let mut tam = served.person("TR");
    done(&sign(&mut tam, "start", None, &[]), "start");
    let form = tam.get(&format!("{CARD}/sign-step?step=10"));
    assert!(form.body.contains("enctype=\"multipart/form-data\""), "{}", form.body);
    let fields = [("job", JOB), ("_back", "card"), ("step", "10")];
    let words = secret("TR");
    let filled = Client::filled(&form, &fields, &words);
    let filled: Vec<(&str, &str)> =
        filled.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let photograph = picture(1);
    let files: [(&str, &str, &[u8]); 1] = [("_file.photographs", "1.png", &photograph)];
    let answer = tam.post_files("/act/sign-step", &filled, &files);
    done(&answer, "signed with a photograph");
    for page in [CARD, "/show/cards/ON%3APROP-P"] {
        let page = tam.get(page);
        sound(&page, 200, "a card with a photograph");
        assert_eq!(page.body.matches("<img ").count(), 1, "{}", page.body);
    }
}

#[test]
fn today_tells_who_is_in_and_what_waits() {
    let served = served();
    served.card();
    let mut client = served.person("HB");
    let page = client.get("/today");
    sound(&page, 200, "today");
    // A Wednesday: staff and volunteers come; one of them is away, and the inspector from
    // outside comes on others.
    for words in [
        "Wednesday 2032-01-14",
        "Orla Penhallick",
        "away until 2032-01-31",
        "comes Tue Thu",
        "No plan is adopted",
        "Fit the port propeller",
    ] {
        assert!(page.body.contains(words), "{words}\n{}", page.body);
    }
    served.enter("TR", "start", &[("job", JOB)]);
    served.enter("TR", "sign-step", &[("job", JOB), ("step", "10")]);
    let page = client.get("/today").body;
    assert!(page.contains("Tam Ruddock since 12:00"), "{page}");
    assert!(page.contains("May make it and is in: Bea Kittow."), "{page}");
    let wall = client.get("/today?wall=1");
    sound(&wall, 200, "the wall");
    assert!(!wall.body.contains("<form") && !wall.body.contains("<nav"), "{}", wall.body);
    assert!(
        wall.body.contains("data-part=\"wall\"") && wall.body.contains("Tam Ruddock")
    );
}

/// Jobs that wait for the same thing stand under the same reason, which says what clears it.
#[test]
fn what_holds_several_jobs_is_told_once_with_all_of_them() {
    let served = served();
    served.card();
    for job in ["C-1", "C-2", "C-3"] {
        let steps = [("steps.1.id", "10"), ("steps.1.text", "Do it")];
        let data = [("steps.1.data", "Manual"), ("steps.1.revision", "1")];
        let work = [("steps.1.work", "task"), ("job", job), ("title", job)];
        let item = if job == "C-3" { "PROP-S" } else { "PROP-P" };
        let fields = [&steps[..], &data, &work, &[("item", item)]].concat();
        served.enter("TR", "issue-card", &fields);
    }
    for item in ["PROP-P", "PROP-S"] {
        let off = [("item", item), ("location", "Engine"), ("service", "not known")];
        let kept = [("preservation", "Inhibited"), ("defects", "none known")];
        served.enter("TR", "tag", &[&off[..], &kept, &[("place", "BOOTH")]].concat());
        served.enter("TR", "quarantine", &[("item", item), ("reason", "no papers")]);
    }
    let mut client = served.person("HB");
    let page = client.get("/today");
    sound(&page, 200, "today");
    let held = "Cleared when somebody entitled takes it out of quarantine.";
    assert_eq!(page.body.matches(held).count(), 2, "{}", page.body);
    let at = |words: &str| {
        page.body.find(words).unwrap_or_else(|| panic!("{words}\n{}", page.body))
    };
    assert!(
        at("Holds up 3 jobs") < at("Holds up </span><a class=\"key\" href=\"/card/C-3"),
        "what holds most is first"
    );
    for (job, count) in [("/card/C-1\"", 1), ("/card/C-2\"", 1), ("/card/C-3\"", 1)] {
        assert_eq!(page.body.matches(job).count(), count, "{job} is listed once");
    }
    let wall = client.get("/today?wall=1");
    sound(&wall, 200, "the wall");
    assert!(wall.body.contains("Holds up 3 jobs: "), "{}", wall.body);
}

#[test]
fn the_board_shows_where_parts_are_and_what_is_late() {
    let served = served();
    tagged(&served);
    let mut client = served.person("TR");
    let board = client.get("/parts");
    sound(&board, 200, "the board");
    assert!(board.body.contains("Off, at a place") && board.body.contains("/tag/PROP-P"));
    let form = client.get("/act/despatch?item=PROP-P&_back=parts");
    let sent = [
        ("item", "PROP-P"),
        ("_back", "parts"),
        ("firm", "PLATING"),
        ("order", "Order 7"),
        ("scope", "Plate the hub"),
        ("document", "Certificate"),
        ("due", "2032-01-20"),
        ("preservation", "Boxed"),
        ("carrier", "Own van"),
    ];
    let answer = client.send(&form, "despatch", &sent, &secret("TR"));
    assert_eq!((answer.status, answer.to()), (303, "/parts"), "{}", answer.body);
    let board = client.get("/parts?at=away");
    sound(&board, 200, "what is away");
    for words in
        ["Ottery Bright Platers", "due 2032-01-20", "Receive", "Chase", "Order 7"]
    {
        assert!(board.body.contains(words), "{words}\n{}", board.body);
    }
    assert!(client.get("/parts?late=1").body.contains("No part answers to this"));
    let none = client.get("/parts?at=away&has=ottery+magneto").body;
    assert!(
        none.contains("No part answers to this")
            && none.contains("value=\"ottery magneto\"")
    );
    let whole = client.get("/parts?at=aircraft");
    sound(&whole, 200, "what is on the aircraft");
    // Whoever has no authority is offered what the bench does.
    let board = served.person("HB").get("/parts").body;
    assert!(!board.contains("/act/receive") && !board.contains("/act/despatch"));
}

/// A propeller that came off.
pub(crate) fn tagged(served: &Served) {
    served.enter(
        "TR",
        "tag",
        &[
            ("item", "PROP-P"),
            ("location", "Port engine"),
            ("service", "not known"),
            ("preservation", "Inhibited"),
            ("defects", "Salt & \"pitting\""),
            ("place", "BOOTH"),
        ],
    );
}

#[test]
fn the_air_is_read_and_told_with_its_dew_point() {
    let served = served();
    let mut hal = served.person("HB");
    let today = hal.get("/today");
    sound(&today, 200, "before anybody read it");
    for words in ["Nobody has read the air", "Enter a reading of the air", "product data"]
    {
        assert!(today.body.contains(words), "{words}\n{}", today.body);
    }
    let form = hal.get("/act/air-reading?place=BOOTH&_back=today");
    sound(&form, 200, "the form");
    let mut fields = vec![
        ("place", "BOOTH"),
        ("_back", "today"),
        ("temperature", "18"),
        ("humidity", "160"),
        ("surface", "13 °C"),
    ];
    let bare = hal.send(&form, "air-reading", &fields, &secret("HB"));
    sound(&bare, 422, "a bare number");
    assert!(bare.body.contains("value=\"18\""), "{}", bare.body);
    fields[2].1 = "18 °C";
    let odd = hal.send(&form, "air-reading", &fields, &secret("HB"));
    sound(&odd, 422, "more than air holds");
    assert!(odd.body.contains("from 1 to 100 %"), "{}", odd.body);
    fields[3].1 = "60";
    let kept = hal.send(&form, "air-reading", &fields, &secret("HB"));
    assert_eq!((kept.status, kept.to()), (303, "/today"), "{}", kept.body);
    let today = hal.get("/today");
    sound(&today, 200, "read");
    // 18 °C and 60 % have their dew point at 10.1 °C; the surface is 2.8 °C warmer.
    let until = "Counts until 16:00.";
    for words in ["10.1 °C", "13.0 °C", "2.8 °C", "too little", "/show/air/BOOTH", until]
    {
        assert!(today.body.contains(words), "{words}\n{}", today.body);
    }
    sound(&hal.get("/today?wall=1"), 200, "the wall");
    for path in ["/show/air", "/show/air/BOOTH"] {
        let sheet = hal.get(path);
        sound(&sheet, 200, path);
        assert!(sheet.body.contains("10.1 °C") && sheet.body.contains("WMO-No. 8"));
    }
}

/// The links and buttons of a page that begin an act.
fn offered(body: &str) -> Vec<&str> {
    let main = body.split("<main").nth(1).unwrap();
    let links = main.split("href=\"").skip(1).filter_map(|rest| rest.split('"').next());
    links
        .filter(|link| {
            let act = link.starts_with("/act/");
            act || (link.starts_with("/card/") && link.matches('/').count() > 2)
        })
        .filter(|link| !link.ends_with("/print"))
        .collect()
}

#[test]
fn an_observer_is_offered_no_act_on_the_floor() {
    let served = served();
    served.card();
    tagged(&served);
    let store = [("item", "PROP-P"), ("task", "turn"), ("every", "1")];
    served.enter("TR", "store-task", &store);
    served.enter("TR", "start", &[("job", JOB)]);
    served.enter("TR", "sign-step", &[("job", JOB), ("step", "10")]);
    for path in [CARD, "/today", "/parts", "/parts?at=aircraft"] {
        let page = served.person(OBSERVER).get(path).body;
        assert_eq!(offered(&page), [""; 0], "{path}");
        // Whoever works here is offered what the bench does, and no more.
        let page = served.person("HB").get(path).body;
        for link in offered(&page) {
            for word in ["inspect", "finish", "release", "scrap", "despatch", "accept"] {
                assert!(!link.contains(&format!("/{word}")), "{path} {link}");
            }
        }
    }
}

#[test]
fn the_floor_and_the_lists_lead_to_each_other() {
    let served = served();
    served.card();
    tagged(&served);
    served.enter("TR", "start", &[("job", JOB)]);
    served.enter("TR", "sign-step", &[("job", JOB), ("step", "10")]);
    let mut bea = served.person("BK");
    for (page, link) in [
        ("/", CARD),
        ("/show/cards/ON%3APROP-P", CARD),
        (CARD, "/show/cards/ON%3APROP-P"),
        (CARD, "/show/parts/PROP-P"),
        ("/show/parts/PROP-P", "/tag/PROP-P"),
        ("/show/parts/PROP-P", "/parts?at="),
        ("/show/parts/PROP-P", CARD),
        ("/parts", "/show/parts/PROP-P"),
        ("/parts", "/tag/PROP-P"),
        ("/tag/PROP-P", "/show/parts/PROP-P"),
        ("/tag/PROP-P", "/parts"),
        ("/card/ON%3APROP-P/print", CARD),
    ] {
        let found = bea.get(page).body.contains(&format!("href=\"{link}"));
        assert!(found, "{page} does not lead to {link}");
    }
}
