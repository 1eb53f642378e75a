//! One item from the survey to a signed gate, every entry sealed, with all that goes wrong on
//! the way; then the bundle that proves it, by itself, with any byte of it changed.
//!
//! All of it is invented.

use std::fs;
use std::path::Path;

use app::{
    About, AppError, BundleAbout, Place, Programme, Secret, Signed, Witnesses, Workshop,
};
use record::act::EvidenceKind;
use record::{Command, Requirement, Tool};
use serde_json::{Value, json};
use tempfile::TempDir;
use testkit::{id, skiff};

use crate::draws::acts;

fn programme() -> Programme {
    let mut programme = skiff();
    let mut items: Vec<_> = programme.items.iter().cloned().collect();
    for item in &mut items {
        item.serial = (item.id == id("RUDDER")).then(|| "R-1".to_owned());
    }
    programme.items = items.into_iter().collect();
    let wrench = Tool {
        id: id("TW-1"),
        name: "Torque wrench".into(),
        measures: true,
        range: None,
    };
    programme.tools = [wrench].into_iter().collect();
    programme.requirements = [Requirement {
        id: id("BRAKES"),
        gate: id("taxi"),
        what: "The brakes hold".into(),
        kind: Some(EvidenceKind::Report),
        job: None,
        fitted: None,
        citation: None,
    }]
    .into_iter()
    .collect();
    programme
}

/// A workshop in which each act is a minute later than the one before.
struct Story {
    _dir: TempDir,
    place: Place,
    workshop: Option<Workshop>,
    minute: usize,
    secrets: bool,
}

impl Story {
    fn new() -> Self {
        let dir = TempDir::new().unwrap();
        let place = Place::File(dir.path().join("ledger"));
        place.create().unwrap();
        let mut workshop = Workshop::open(&place).unwrap();
        let load = Command::Restate(Box::new(programme()));
        workshop.enter(&load, &signed("Ada", 0, false)).unwrap();
        Self { _dir: dir, place, workshop: Some(workshop), minute: 0, secrets: false }
    }

    fn tries(&mut self, by: &str, act: &Value) -> Result<Vec<app::Kept>, AppError> {
        self.minute += 1;
        let signed = signed(by, self.minute, self.secrets);
        self.workshop.as_mut().unwrap().act(&acts(act), &signed, None)
    }

    #[expect(
        clippy::needless_pass_by_value,
        reason = "acts are written where they are done"
    )]
    fn does(&mut self, by: &str, act: Value) -> u64 {
        let kept = self.tries(by, &act).unwrap_or_else(|why| panic!("{by} {act}: {why}"));
        kept[0].number
    }

    /// Somebody does something that a rule forbids.
    fn may_not(&mut self, by: &str, act: &Value, rule: &str) {
        let Err(AppError::Forbidden(refused)) = self.tries(by, act) else {
            panic!("{by} may do {act}");
        };
        let rules: Vec<_> = refused.iter().map(|one| one.refusal.rule.word()).collect();
        assert!(rules.contains(&rule), "{act}: {refused:?}");
    }

    fn gate(&self) -> String {
        let taxi = About::Gates(Some("taxi".to_owned()));
        let on = jiff::civil::date(2031, 10, 6);
        app::sheet(self.workshop.as_ref().unwrap().programme(), &taxi, on).unwrap().text()
    }
}

fn signed(by: &str, minute: usize, secrets: bool) -> Signed {
    let at = format!("2031-10-06T{:02}:{:02}:00+01:00", 8 + minute / 60, minute % 60);
    let secret = secrets.then(|| secret(by));
    Signed { by: by.to_owned(), at, secret }
}

fn secret(by: &str) -> Secret {
    Secret::new(&format!("the words of {by}"))
}

/// Three people, each with authorities that another gave them, and secrets of their own.
fn people(s: &mut Story) {
    let grants = [
        ("Ada", "Ada", "appoint"),
        ("Ada", "Ben", "appoint"),
        ("Ada", "Ben", "plan"),
        ("Ada", "Ben", "certify"),
        ("Ada", "Ben", "stores"),
        ("Ada", "Cyn", "inspect"),
        ("Ben", "Ada", "inspect"),
        ("Ben", "Ada", "classify"),
        ("Ben", "Ada", "engineer"),
        ("Ben", "Ada", "release"),
    ];
    for (number, (by, person, power)) in grants.iter().enumerate() {
        let grant = json!({
            "act": "grant", "authority": format!("A-{number}"), "person": person,
            "power": power, "reference": "invented approval", "from": "2031-01-01",
        });
        s.does(by, grant);
    }
    for person in ["Ada", "Ben", "Cyn"] {
        s.minute += 1;
        let cheap = app::Derivation::LEAST;
        let enrol =
            app::enrolment_by(person, &secret(person), "first secret", cheap).unwrap();
        // The first is Ada's own; the others she enters with it.
        let signed = signed("Ada", s.minute, person != "Ada");
        s.workshop.as_mut().unwrap().act(&[enrol], &signed, None).unwrap();
    }
    s.secrets = true;
}

/// What the survey found elsewhere is within limits; the rudder is not.
fn survey(s: &mut Story) {
    for finding in ["F1", "F2", "F3"] {
        s.does(
            "Ada",
            json!({
                "act": "classify", "finding": finding, "condition": "within limits",
                "allows": "taxi", "basis": "drawing 4, note 2",
            }),
        );
        s.does("Ada", json!({
            "act": "clear", "finding": finding, "statement": "as drawn, within limits",
        }));
    }
    s.does(
        "Ada",
        json!({
            "act": "classify", "finding": "F4", "condition": "outside limits",
            "basis": "drawing 7, note 1",
        }),
    );
}

fn card(job: &str, steps: &Value) -> Value {
    json!({
        "act": "issue-card", "job": job, "title": job, "item": "RUDDER", "pack": "P1",
        "steps": steps,
    })
}

fn step(name: &str, work: &str) -> Value {
    json!({ "id": name, "text": name, "work": work, "data": "manual 27", "revision": "3" })
}

/// It comes off, over the change of a shift.
fn removal(s: &mut Story) {
    let steps = json!([step("10", "disassemble"), step("20", "disassemble")]);
    s.does("Ben", card("OFF:RUDDER", &steps));
    s.does("Ben", json!({ "act": "start", "job": "OFF:RUDDER" }));
    s.does("Ben", json!({ "act": "sign-step", "job": "OFF:RUDDER", "step": "10" }));
    s.does(
        "Ben",
        json!({
            "act": "hand-over", "job": "OFF:RUDDER", "to": "Cyn", "done": "cable parted",
            "next": "step 20", "loose": "nothing", "off": "nothing", "hazards": "nothing",
        }),
    );
    let sign = json!({ "act": "sign-step", "job": "OFF:RUDDER", "step": "20" });
    s.may_not("Cyn", &sign, "presence");
    s.does("Cyn", json!({ "act": "take-over", "job": "OFF:RUDDER", "spoken": true }));
    s.does("Cyn", sign);
    s.does(
        "Cyn",
        json!({
            "act": "tag", "item": "RUDDER", "job": "OFF:RUDDER", "location": "tail",
            "service": "not known", "preservation": "none", "defects": "worn hinge",
            "place": "bay",
        }),
    );
    s.does("Cyn", json!({ "act": "pause", "job": "OFF:RUDDER", "left": "all done" }));
    s.does("Ben", json!({ "act": "finish", "job": "OFF:RUDDER", "clear": true }));
}

/// It goes to the plater, comes back with the papers of another one, and goes again.
fn plating(s: &mut Story) {
    let despatch = |order: &str| {
        json!({
            "act": "despatch", "item": "RUDDER", "firm": "plater", "order": order,
            "scope": "plate the hinge, scheme 4 issue 2", "document": "certificate",
            "due": "2031-10-20", "preservation": "bagged", "carrier": "our van",
        })
    };
    let receive = json!({
        "act": "receive", "item": "RUDDER", "packing": "whole", "place": "bay",
    });
    let accept = |serial: &str| {
        json!({
            "act": "accept", "item": "RUDDER", "done": "plated as ordered", "complete": true,
            "certificate": {
                "number": "C-1", "status": "repaired", "serial": serial,
                "data": "scheme 4", "revision": "2",
            },
        })
    };
    s.does("Ben", despatch("PO-1"));
    s.does("Ben", receive.clone());
    s.may_not("Ben", &accept("R-2"), "release document");
    s.does(
        "Ben",
        json!({
            "act": "quarantine", "item": "RUDDER", "reason": "the papers are of R-2",
        }),
    );
    s.does("Ben", json!({
        "act": "release", "item": "RUDDER", "basis": "the firm's letter puts it right",
    }));
    s.does("Ben", accept("R-1"));
    s.does("Ben", despatch("PO-2"));
    s.does("Ben", receive);
    s.does("Ben", accept("R-1"));
}

/// It goes back: a question that engineering decides, a failed inspection, a signature that
/// was a mistake, two inspectors.
#[expect(clippy::too_many_lines, reason = "a story is as long as what happens in it")]
fn refit(s: &mut Story) {
    let mut join = step("20", "reassemble");
    join["critical"] = json!(true);
    join["independent"] = json!(true);
    join["limits"] = json!(["torque 40..45 lbf·ft"]);
    join["makes"] = json!(["RUDDER-CABLE"]);
    s.does("Ben", card("ON:RUDDER", &json!([step("10", "task"), join])));
    s.does("Ben", json!({ "act": "start", "job": "ON:RUDDER" }));
    s.does(
        "Ben",
        json!({
            "act": "query", "query": "Q-1", "job": "ON:RUDDER", "step": "10",
            "to": "nobody who drew it lives", "question": "a shim or none?",
        }),
    );
    let ten = json!({ "act": "sign-step", "job": "ON:RUDDER", "step": "10" });
    s.may_not("Ben", &ten, "data query");
    s.does(
        "Ada",
        json!({
            "act": "answer", "query": "Q-1", "answer": "one shim of 0.5 mm",
            "reference": "concession 3", "conceded": true,
        }),
    );
    s.does("Ben", ten);
    s.does(
        "Ben",
        json!({ "act": "fit", "item": "RUDDER", "job": "ON:RUDDER", "checked": true }),
    );
    let twenty = |torque: &str| {
        json!({
            "act": "sign-step", "job": "ON:RUDDER", "step": "20",
            "readings": [format!("torque = {torque} (TW-1)")],
        })
    };
    s.may_not("Ben", &twenty("41"), "calibration");
    s.does("Ben", json!({
        "act": "calibrate", "tool": "TW-1", "until": "2032-10-01", "certificate": "C-9",
    }));
    s.may_not("Ben", &twenty("60"), "limits");
    s.does("Ben", twenty("41"));
    s.does("Cyn", json!({
        "act": "raise", "finding": "F31", "item": "RUDDER", "what": "the pin is not locked",
        "found": "2031-10-06", "job": "ON:RUDDER",
    }));
    let inspect = |verdict: &str| {
        json!({
            "act": "inspect", "job": "ON:RUDDER", "step": "20", "verdict": verdict,
            "checked": ["assembly", "locking", "range", "sense"],
        })
    };
    let mut failed = inspect("fail");
    failed["finding"] = json!("F31");
    s.does("Cyn", failed);
    s.does(
        "Ada",
        json!({
            "act": "classify", "finding": "F31", "condition": "outside limits",
            "basis": "manual 27, locking",
        }),
    );
    let mistake = s.does("Ben", twenty("40.5"));
    s.does(
        "Ben",
        json!({
            "act": "strike", "entry": mistake, "reason": "read on the wrong bolt",
        }),
    );
    s.does("Ben", twenty("43"));
    s.may_not("Ben", &inspect("pass"), "authority");
    s.does("Cyn", inspect("pass"));
    s.may_not("Cyn", &inspect("pass"), "independence");
    s.does("Ada", inspect("pass"));
    s.does("Ben", json!({ "act": "finish", "job": "ON:RUDDER", "clear": true }));
    for finding in ["F4", "F31"] {
        s.does(
            "Ada",
            json!({
                "act": "clear", "finding": finding, "job": "ON:RUDDER",
                "statement": "as drawn again, by manual 27",
            }),
        );
    }
}

fn gates(s: &mut Story) {
    s.does("Ada", json!({ "act": "open-gate", "gate": "static" }));
    s.may_not("Ada", &json!({ "act": "open-gate", "gate": "taxi" }), "evidence");
    s.does(
        "Ben",
        json!({
            "act": "evidence", "requirement": "BRAKES", "kind": "report",
            "reference": "report 7", "shows": "they hold at full power",
        }),
    );
    s.does("Ada", json!({ "act": "open-gate", "gate": "taxi" }));
}

/// A bundle signs the ledger as it stands, which one at a time can write.
fn bundle(s: &mut Story, dir: &Path) {
    s.workshop = None;
    let about = BundleAbout::Gate("taxi".to_owned());
    let on = jiff::civil::date(2031, 10, 6);
    let key = dir.with_extension("pem");
    app::new_key(&key).unwrap();
    app::bundle(&s.place, &about, &key, (dir, "2031-10-06T18:00:00+01:00"), on).unwrap();
    s.workshop = Some(Workshop::open(&s.place).unwrap());
}

fn faults(dir: &Path) -> Vec<String> {
    let verdict = app::check_bundle(dir, &Witnesses::default()).unwrap();
    assert!(verdict.entries > 60 && verdict.sealed > 45, "{verdict:?}");
    verdict.faults
}

#[test]
fn from_the_survey_to_a_gate_and_a_bundle_that_proves_it() {
    let mut s = Story::new();
    people(&mut s);
    survey(&mut s);
    removal(&mut s);
    plating(&mut s);
    refit(&mut s);
    gates(&mut s);
    assert!(s.gate().contains("open"), "{}", s.gate());
    let out = TempDir::new().unwrap();
    let proof = out.path().join("taxi");
    bundle(&mut s, &proof);
    assert_eq!(faults(&proof), Vec::<String>::new());
    let said = fs::read_to_string(proof.join("statement.txt")).unwrap();
    assert!(said.contains("report 7"), "{said}");
    // How the bundle below `tests/data` was made, which every later version has to find sound.
    if let Some(keep) = std::env::var_os("TURNBUCKLE_KEEP_BUNDLE") {
        bundle(&mut s, Path::new(&keep));
    }
    // One byte, anywhere in what was signed for.
    let entries = fs::read(proof.join("entries.jsonl")).unwrap();
    for at in [entries.len() / 7, entries.len() / 2, entries.len() - 9] {
        let mut changed = entries.clone();
        changed[at] ^= 1;
        fs::write(proof.join("entries.jsonl"), &changed).unwrap();
        let verdict = app::check_bundle(&proof, &Witnesses::default());
        let caught = verdict.map_or(true, |verdict| !verdict.faults.is_empty());
        assert!(caught, "byte {at}");
    }
    fs::write(proof.join("entries.jsonl"), &entries).unwrap();
    assert_eq!(faults(&proof), Vec::<String>::new());
    // A leak at the first run: whoever sees it raises it, and the gates are shut.
    s.does(
        "Cyn",
        json!({
            "act": "raise", "finding": "F32", "item": "ENGINE", "what": "fuel leaks",
            "found": "2031-10-06",
        }),
    );
    assert!(s.gate().contains("F32"), "{}", s.gate());
    let after = out.path().join("after");
    bundle(&mut s, &after);
    assert_eq!(faults(&after), Vec::<String>::new());
    let said = fs::read_to_string(after.join("statement.txt")).unwrap();
    assert!(said.contains("F32"), "{said}");
    // The ledger itself: the chain, the seals and the fold.
    let proof = app::verify(&s.place, &Witnesses::default()).unwrap();
    assert!(proof.is_sound(), "{:?}", proof.faults);
}

#[test]
fn a_bundle_of_format_1_stays_sound_for_ever() {
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/taxi-1.zip");
    assert_eq!(faults(&kept), Vec::<String>::new());
}
