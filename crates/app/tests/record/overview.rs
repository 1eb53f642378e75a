//! Where the programme stands and what waits for whom, and the sheets of a person and a tool.

use app::{About, Desk, Place, Programme, Signed};
use jiff::civil::{Date, date};
use serde_json::json;
use tempfile::TempDir;

use crate::draws::{acts, begin, signed};

const ON: Date = date(2032, 1, 14);

/// The example with a card on which TR works, and one step of it signed.
fn desk() -> (TempDir, Desk) {
    let dir = TempDir::new().unwrap();
    let place = Place::File(dir.path().join("ledger"));
    place.create().unwrap();
    begin(&place);
    let desk = Desk::open(&place).unwrap();
    let step = |id: &str, inspected: bool| {
        json!({
            "id": id, "text": "Torque the nut", "work": "reassemble", "data": "Manual",
            "revision": "2", "inspected": inspected, "independent": true,
        })
    };
    let card = json!([
        {
            "act": "issue-card", "job": "ON:PROP-P", "title": "Fit it", "item": "PROP-P",
            "steps": [step("10", true), step("20", false)],
        },
        {"act": "start", "job": "ON:PROP-P"},
        {"act": "sign-step", "job": "ON:PROP-P", "step": "10"},
    ]);
    desk.act(acts(&card), signed("TR", 60), None, None).unwrap();
    (dir, desk)
}

fn waits(programme: &Programme, person: &str) -> Vec<(&'static str, String)> {
    let mine = app::mine(programme, person, ON);
    let each = mine.into_iter().flat_map(|kind| {
        let title = kind.title;
        kind.waiting.into_iter().map(move |one| (title, one.name))
    });
    each.collect()
}

fn enter(desk: &Desk, act: &serde_json::Value, by: &Signed) {
    desk.act(acts(act), by.clone(), None, None).unwrap();
}

#[test]
fn each_is_shown_what_waits_for_them_and_nobody_else_is() {
    let (_dir, desk) = desk();
    let programme = desk.snapshot().programme;
    let card = "ON:PROP-P".to_owned();
    let at_work = ("I am at work on", card.clone());
    let inspect = ("Inspections that I may make", card.clone());
    assert!(waits(&programme, "TR").contains(&at_work));
    assert!(!waits(&programme, "TR").contains(&inspect));
    assert!(waits(&programme, "BK").contains(&inspect));
    assert!(!waits(&programme, "JC").contains(&inspect));
    assert!(waits(&programme, "nobody").is_empty());
    // Whoever may class findings is shown those that nobody classed.
    let class = |person: &str| {
        let waits = waits(&programme, person);
        waits.iter().filter(|(title, _)| *title == "Findings to class").count()
    };
    assert!(class("MS") > 100 && class("BK") == 0);
    let handed = json!({
        "act": "hand-over", "job": card, "to": "OP", "done": "10", "next": "20",
        "loose": "nothing", "off": "nothing", "hazards": "nothing",
    });
    enter(&desk, &handed, &signed("TR", 61));
    let programme = desk.snapshot().programme;
    assert!(waits(&programme, "OP").contains(&("Handed over to me", card.clone())));
    assert!(!waits(&programme, "BK").contains(&("Handed over to me", card)));
}

#[test]
fn the_next_gate_is_the_first_that_is_not_open() {
    let (_dir, desk) = desk();
    let programme = desk.snapshot().programme;
    let overview = app::overview(&programme, ON);
    let next = overview.next.unwrap();
    let gates = app::sheet(&programme, &About::Gates(None), ON).unwrap();
    let first = &gates.lists[0].rows[0];
    assert_eq!(next.gate, first[0]);
    assert_eq!(next.blocks.len().to_string(), first[3]);
    let plan = overview.plan.unwrap();
    assert_eq!((plan.complete, plan.margin), (None, None), "no plan was adopted");
}

#[test]
fn everything_that_has_a_name_is_there_once() {
    let (_dir, desk) = desk();
    let programme = desk.snapshot().programme;
    let things = app::things(&programme);
    for (noun, name) in [
        ("item", "PROP-P"),
        ("finding", "F-001"),
        ("card", "ON:PROP-P"),
        ("person", "OP"),
    ] {
        let same =
            things.iter().filter(|thing| (thing.noun, &*thing.name) == (noun, name));
        assert_eq!(same.count(), 1, "{noun} {name}");
    }
    let steps = app::choices(&programme, "step", Some("ON:PROP-P"));
    assert_eq!(steps.iter().map(|step| &*step.name).collect::<Vec<_>>(), ["10", "20"]);
    assert_eq!(app::powers(&programme, "MS", ON), ["inspect", "classify"]);
    assert_eq!(app::powers(&programme, "MS", date(2019, 1, 1)), [""; 0]);
    let tam = Some(("TR".to_owned(), "Tam Ruddock".to_owned()));
    assert_eq!(app::person(&programme, " tam ruddock"), tam);
    assert_eq!(app::person(&programme, "tam"), None);
}

#[test]
fn a_person_and_a_tool_have_a_sheet() {
    let (_dir, desk) = desk();
    let tool = app::choices(&desk.snapshot().programme, "tool", None)[0].name.clone();
    let out = json!({"act": "tool-out", "tool": tool, "job": "ON:PROP-P"});
    enter(&desk, &out, &signed("TR", 61));
    let programme = desk.snapshot().programme;
    let text = |about| app::sheet(&programme, &about, ON).unwrap().text();
    let person = text(About::People(Some("TR".to_owned())));
    for told in ["Tam Ruddock", "certify", "ON:PROP-P", &tool] {
        assert!(person.contains(told), "{told}:\n{person}");
    }
    let told = text(About::Tools(Some(tool.clone())));
    assert!(told.contains("out with TR for ON:PROP-P"), "{told}");
    for about in
        [About::People(Some("nobody".to_owned())), About::Tools(Some("none".to_owned()))]
    {
        let error = app::sheet(&programme, &about, ON).unwrap_err();
        assert!(error.to_string().contains("there is no"), "{error}");
    }
}
