//! Acts at random, from small pools of the invented example, so that many of them meet.

use app::{Act, Place, Signed, Workshop};
use proptest::prelude::*;
use serde_json::{Value, json};

pub(crate) const EXAMPLE: &str =
    concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");

const PEOPLE: [&str; 6] = ["OP", "TR", "BK", "MS", "JC", "AC"];
const JOBS: [&str; 3] = ["ON:PROP-P", "ON:BATT-1", "ODD"];
const ITEMS: [&str; 3] = ["PROP-P", "BATT-1", "HULL"];
const FINDINGS: [&str; 3] = ["F-001", "X-1", "X-2"];

const CONDITIONS: [&str; 4] = ["hazard", "outside limits", "within limits", "unknown"];

/// The kind of an act, four choices of what it is about, and who signs.
pub(crate) type Draw = (usize, [usize; 4], usize);

/// Lists of acts, each entered together.
pub(crate) fn lists() -> impl Strategy<Value = Vec<Vec<Draw>>> {
    let draw = (0..30_usize, prop::array::uniform4(0..6_usize), 0..6_usize);
    let one = prop::collection::vec(draw.clone(), 1);
    let list = prop_oneof![4 => one, 1 => prop::collection::vec(draw, 2..4)];
    prop::collection::vec(list, 30..70)
}

/// Who may do what; the first of them is the first of the list of people.
fn grants() -> Vec<Value> {
    let powers = [
        ("TR", "plan"),
        ("TR", "certify"),
        ("BK", "inspect"),
        ("MS", "inspect"),
        ("MS", "classify"),
        ("JC", "stores"),
        ("JC", "certify"),
        ("AC", "release"),
        ("BK", "supervise"),
    ];
    let grant = |(number, (person, power)): (usize, &(&str, &str))| {
        json!({
            "act": "grant", "authority": format!("A-{}", number + 2), "person": person,
            "power": power, "reference": "invented approval", "from": "2020-01-01",
        })
    };
    powers.iter().enumerate().map(grant).collect()
}

pub(crate) fn acts(values: &Value) -> Vec<Act> {
    folder::acts::from_json(&values.to_string(), "a test").expect("it is an act")
}

pub(crate) fn signed(by: &str, minute: usize) -> Signed {
    let at =
        format!("2032-01-{:02}T{:02}:{:02}:00+01:00", 14, 9 + minute / 60, minute % 60);
    Signed { by: by.to_owned(), at }
}

/// Puts the example into a ledger that is there and empty, and gives people their powers.
pub(crate) fn begin(place: &Place) -> Workshop {
    let by = signed("OP", 0);
    app::load(EXAMPLE.as_ref(), place, &by).expect("the example is in order");
    let mut workshop = Workshop::open(place).expect("it was loaded");
    let first = json!({
        "act": "grant", "authority": "A-1", "person": "OP", "power": "appoint",
        "reference": "invented approval", "from": "2020-01-01",
    });
    workshop.act(&acts(&first), &by, None).expect("nobody appoints yet");
    workshop.act(&acts(&Value::Array(grants())), &by, None).expect("OP appoints");
    workshop
}

/// Enters what is not refused of each list, and says how many acts were kept.
pub(crate) fn enter(workshop: &mut Workshop, lists: &[Vec<Draw>]) -> usize {
    let mut kept = 0;
    for (minute, list) in lists.iter().enumerate() {
        let Some(who) = list.first().map(signer) else { continue };
        let values: Vec<Value> = list.iter().map(value).collect();
        let acts = acts(&Value::Array(values));
        match workshop.act(&acts, &signed(who, minute + 1), None) {
            Ok(entries) => kept += entries.len(),
            Err(app::AppError::Forbidden(_)) => {}
            Err(other) => panic!("{other}"),
        }
    }
    kept
}

/// Mostly somebody who may do such an act.
fn signer((kind, [_, _, c, _], who): &Draw) -> &'static str {
    match (who, kind) {
        (0, _) => PEOPLE[c % 6],
        (_, 12 | 18 | 19) => ["BK", "MS"][who % 2],
        (_, 20 | 21) => "MS",
        (_, 23 | 29) => "JC",
        _ => "TR",
    }
}

fn card(job: &str, item: &str) -> Value {
    let step = |id: &str, critical: bool| {
        json!({
            "id": id, "text": "do it", "work": "task", "data": "WI-7", "revision": "2",
            "critical": critical, "independent": critical,
            "limits": if critical { "torque = 40..45 lbf·ft" } else { "" },
        })
    };
    let mut card = json!({
        "act": "issue-card", "job": job, "title": "Fit it", "item": item,
        "steps": [step("10", false), step("20", true)],
    });
    for step in card["steps"].as_array_mut().into_iter().flatten() {
        if let Some(step) = step.as_object_mut() {
            step.retain(|name, value| name != "limits" || value != "");
        }
    }
    card
}

/// The act of a draw. Half of all that comes up is about cards, where most rules are.
pub(crate) fn value((kind, [a, b, c, d], _): &Draw) -> Value {
    let (job, item, finding) = (JOBS[a % 3], ITEMS[a % 3], FINDINGS[b % 3]);
    let (step, person) = (["10", "20"][b % 2], PEOPLE[c % 6]);
    let (verdict, requirement) =
        (["pass", "pass", "fail"][d % 3], ["SD-1", "SD-3"][a % 2]);
    let until = ["2033-01-01", "2032-02-01"][c % 2];
    match kind {
        0..=3 => card(job, item),
        4 | 5 => json!({"act": "start", "job": job}),
        6 => json!({"act": "pause", "job": job, "left": "so"}),
        7..=9 => {
            json!({"act": "sign-step", "job": job, "step": "10", "note": "é ∞ \"x\""})
        }
        10 | 11 => json!({
            "act": "sign-step", "job": job, "step": "20", "readings": "torque = 42.5 (TW-M)",
        }),
        12 => json!({
            "act": "inspect", "job": job, "step": step, "checked": "locking; sense",
            "verdict": verdict,
        }),
        13 => json!({"act": "finish", "job": job, "clear": true}),
        14 => json!({"act": "reopen", "job": job, "steps": [step], "reason": "so"}),
        15 => json!({"act": "disturb", "job": job, "steps": [step], "reason": "so"}),
        16 => json!({
            "act": "hand-over", "job": job, "to": person, "done": "10", "next": "20",
            "loose": "nothing", "off": "nothing", "hazards": "nothing",
        }),
        17 => json!({"act": "take-over", "job": job, "spoken": true}),
        18 | 19 => json!({
            "act": "raise", "finding": finding, "item": item, "what": "a dent",
            "found": "2032-01-10", "job": job,
        }),
        20 => json!({
            "act": "classify", "finding": finding, "basis": "so",
            "condition": CONDITIONS[c % 4],
        }),
        21 => json!({"act": "clear", "finding": finding, "statement": "as good as new"}),
        22 => json!({
            "act": "tag", "item": item, "location": "port", "service": "not known",
            "preservation": "oiled", "defects": "none known", "place": "ENGINE-BAY",
        }),
        23 => json!({"act": "move", "item": item, "place": "TENT"}),
        24 => json!({
            "act": "evidence", "requirement": requirement, "kind": "statement",
            "reference": "so", "shows": "so", "until": until,
        }),
        25 => json!({"act": "tool-out", "tool": "TW-M", "job": job}),
        26 => json!({"act": "tool-in", "tool": "TW-M"}),
        27 => json!({
            "act": "life", "item": item, "limit": 1200.5, "unit": "flight hours",
            "used": c, "basis": "so",
        }),
        28 => json!({"act": "strike", "entry": 300 + 7 * c + d, "reason": "so"}),
        _ => json!({
            "act": "batch", "batch": format!("B-{c}"), "material": "Hose",
            "specification": "12", "maker": "m", "supplier": "s", "conformity": "so",
            "quantity": 12.5, "unit": "m", "cured": "2031-02-01", "storage": "dark",
        }),
    }
}
