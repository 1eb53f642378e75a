//! What the record says.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use crate::{acts, refused, small, well, workshop};

#[test]
fn every_sheet_can_be_shown() {
    let dir = workshop();
    for what in [
        "status",
        "gates",
        "cards",
        "findings",
        "parts",
        "deferred",
        "repairs",
        "made",
        "conditions",
        "mass",
        "ratios",
        "retention",
        "audit",
        "ndt",
        "lives",
        "tools",
        "stores",
        "letters",
        "directives",
        "origins",
        "service",
        "money",
        "people",
        "rules",
    ] {
        let text = well(dir.path(), &["show", what]);
        assert!(text.lines().count() > 2, "{what}: {text}");
        let json = well(dir.path(), &["show", what, "--json"]);
        assert!(serde_json::from_str::<Value>(&json).is_ok(), "{what}");
    }
    let gate = well(dir.path(), &["show", "gates", "engine-run"]);
    assert!(gate.contains("Condition 3 of the invented permit conditions"), "{gate}");
    assert!(gate.contains("nobody who may class findings has said how bad"), "{gate}");
}

fn sheet(dir: &Path, words: &[&str]) -> Value {
    let text = well(dir, &[&["show"], words, &["--json"]].concat());
    serde_json::from_str(&text).unwrap()
}

/// What is carried forward stands on the gate's statement, with its limitation, and all that
/// was asked for with what shows it; a hazard found later refuses the gate.
#[test]
fn a_gate_states_its_limitations_and_is_refused_with_a_hazard() {
    let dir = small();
    let dir = dir.path();
    let evidence = |requirement: &str, kind: &str| {
        json!({
            "act": "evidence", "requirement": requirement, "kind": kind,
            "reference": "R-5", "shows": "in order",
        })
    };
    acts(
        dir,
        "jo",
        &json!([
            {"act": "classify", "finding": "F-001", "condition": "outside limits",
             "allows": "TAXI", "basis": "invented limit"},
            {"act": "defer", "finding": "F-001", "allows": "POWER-ON", "until": "W31",
             "limitation": "No propeller turns", "reason": "alone"},
            evidence("PWR-1", "statement"),
            evidence("PWR-2", "report"),
            evidence("PWR-3", "report"),
            evidence("PWR-4", "statement"),
        ]),
    );
    let said = refused(dir, &["act", "open-gate", "gate=POWER-ON", "--by", "jo"]);
    assert!(said.contains("does not name the limitation: No propeller turns"), "{said}");
    let limits = "limitations=No propeller turns";
    well(dir, &["act", "open-gate", "gate=POWER-ON", limits, "--by", "jo"]);
    let gate = sheet(dir, &["gates", "POWER-ON"]);
    let statement = gate["facts"]["statement"].as_str().unwrap();
    assert!(statement.contains("is open") && statement.contains("(1)"), "{statement}");
    let carried = &gate["lists"]["limitations that a release names"][0];
    assert_eq!(
        (&carried["finding"], &carried["limitation"]),
        (&json!("F-001"), &json!("No propeller turns"))
    );
    let asked = gate["lists"]["conditions and evidence"].as_array().unwrap();
    let states: Vec<&str> =
        asked.iter().map(|row| row["state"].as_str().unwrap()).collect();
    assert_eq!(states, ["met"; 4]);
    let shows = asked[1]["evidence"].as_str().unwrap();
    assert!(shows.starts_with("report R-5, jo "), "{shows}");
    let fuel = sheet(dir, &["gates", "FUEL-ON"]);
    assert_eq!(fuel["lists"]["limitations that a release names"], json!([]));
    hazard_is_drafted(dir);
}

/// A hazard refuses the gate that was open, and gives the draft of a report.
fn hazard_is_drafted(dir: &Path) {
    let hazard = json!([
        {"act": "raise", "finding": "F-9", "item": "PROP", "found": "2026-01-02",
         "what": "crack in the hub", "measured": "12 mm", "cause": "fatigue"},
        {"act": "classify", "finding": "F-9", "condition": "hazard", "basis": "no crack",
         "effect": "loss of a blade"},
    ]);
    let said = refused(dir, &["show", "occurrence", "F-001"]);
    assert!(said.contains("F-001 is not classed as a hazard"), "{said}");
    acts(dir, "jo", &hazard);
    let gate = sheet(dir, &["gates", "POWER-ON"]);
    let statement = gate["facts"]["statement"].as_str().unwrap();
    assert!(statement.contains("POWER-ON is REFUSED"), "{statement}");
    assert_eq!(gate["lists"]["known hazards"][0]["finding"], "F-9");
    let draft = sheet(dir, &["occurrence", "F-9"]);
    assert!(draft["title"].as_str().unwrap().starts_with("DRAFT"));
    for (fact, expected) in [
        ("what was seen", "crack in the hub"),
        ("measured", "12 mm"),
        ("possible effect", "loss of a blade"),
        ("registration", "X-0001"),
        ("put right", "not yet"),
        ("reporter, with address", "(to be stated)"),
    ] {
        assert_eq!(draft["facts"][fact], expected, "{fact}");
    }
    let audit = sheet(dir, &["audit"]);
    let first = &audit["lists"]["questions"][0];
    assert_eq!(
        (&first["state"], &first["which"]),
        (&json!("TO BE DEALT WITH"), &json!("F-9"))
    );
}

/// A card that is complete measures its estimate, and its repair has a place and an approval.
#[test]
fn hours_are_measured_and_repairs_are_registered() {
    let dir = small();
    let dir = dir.path();
    let step = json!({
        "id": "10", "text": "blend", "work": "task", "data": "WI-7", "revision": "2",
    });
    acts(
        dir,
        "jo",
        &json!([
            {"act": "classify", "finding": "F-001", "condition": "outside limits",
             "basis": "invented limit"},
            {"act": "issue-card", "job": "F-001:blend", "title": "Blend", "item": "PROP",
             "steps": [step]},
            {"act": "start", "job": "F-001:blend"},
            {"act": "sign-step", "job": "F-001:blend", "step": "10"},
            {"act": "hours", "job": "F-001:blend", "person": "sam", "on": "2026-01-02",
             "hours": "3 h", "reason": "on paper"},
            {"act": "finish", "job": "F-001:blend", "clear": true},
            {"act": "clear", "finding": "F-001", "job": "F-001:blend",
             "statement": "as good as new"},
        ]),
    );
    let ratios = sheet(dir, &["ratios"]);
    let kind = &ratios["lists"]["by kind"][0];
    // Three hours of one person against the likely two.
    assert_eq!((&kind["kind"], &kind["middle"]), (&json!("repair"), &json!("1.50")));
    assert_eq!(kind["state"], "too few to plan by");
    assert_eq!(ratios["lists"]["by hands"][0]["hands"], "volunteers");

    let repairs = sheet(dir, &["repairs"]);
    assert_eq!(repairs["lists"]["cleared"][0]["register"], "not in the register");
    acts(
        dir,
        "jo",
        &json!({
            "act": "repair", "repair": "REP-1", "finding": "F-001", "location": "blade 2",
            "what": "blended", "dimensions": "20 mm", "removed": false, "data": "WI-7",
            "revision": "2", "major": false, "criterion": "no primary member",
            "approval": "letter 7", "job": "F-001:blend",
        }),
    );
    let repairs = sheet(dir, &["repairs"]);
    assert_eq!(repairs["lists"]["cleared"][0]["register"], "REP-1");
    assert_eq!(repairs["lists"]["register"][0]["approved"], "letter 7");
}

/// What is asked of an examiner, what comes back, and what it leaves open.
#[test]
fn an_examination_is_asked_for_and_reported() {
    let dir = small();
    let dir = dir.path();
    let request = json!({
        "act": "request-ndt", "examination": "X-1", "item": "PROP", "finding": "F-001",
        "location": "blade 2", "material": "aluminium alloy", "form": "forging",
        "finish": "anodised", "thickness": "9 mm", "sought": "cracks", "least": "1 mm",
        "method": "penetrant", "develop": true, "preparation": "stripped by us",
        "restores": "the paint shop", "acceptance": "no crack", "rules": "the designer",
        "needed_by": "2099-01-01", "closes": "nobody", "cleaning": "the examiner",
    });
    acts(dir, "jo", &request);
    let asked = sheet(dir, &["ndt", "X-1"]);
    assert_eq!(asked["facts"]["technique"], "to be developed");
    assert!(asked["lists"]["to be reported"].to_string().contains("dwell"));
    let mut report = json!({
        "act": "report-ndt", "report": "N-1", "examination": "X-1", "on": "2026-01-02",
        "procedure": "sheet 7", "revision": "2", "method": "visual", "parameters": "lens",
        "standard": "none needed", "examined": "blade 2", "whole": false,
        "missed": [{"place": "root", "why": "in the hub"}], "detectable": "1 mm",
        "acceptance": "no crack", "outcome": "accept", "examiner": "P. Invented",
        "qualified_in": ["visual"], "qualification": "assessed by jo",
    });
    fs::write(dir.join("acts.json"), report.to_string()).unwrap();
    let said = refused(dir, &["act", "--file", "acts.json", "--by", "jo"]);
    assert!(said.contains("until when P. Invented is qualified"), "{said}");
    assert!(said.contains("rule: qualification"), "{said}");
    report["qualified_until"] = json!("2099-01-01");
    let said = acts(dir, "jo", &report);
    assert!(said.contains("caution: N-1 did not examine root: in the hub"), "{said}");
    let all = sheet(dir, &["ndt"]);
    assert_eq!(all["lists"]["outstanding"][0]["state"], "in part");
    assert_eq!(all["lists"]["not examined"][0]["place"], "root");
    let evidence = json!({
        "act": "evidence", "requirement": "PWR-2", "kind": "report", "reference": "N-1",
        "shows": "no crack",
    });
    acts(dir, "jo", &evidence);
    let asked = &sheet(dir, &["conditions"])["lists"]["conditions"][1];
    let shown = asked["evidence"].as_str().unwrap();
    assert!(shown.starts_with("report N-1 (not all was examined), jo"), "{asked}");
    let late = sheet(dir, &["ndt", "--on", "2099-01-03"]);
    assert_eq!(late["facts"]["late"], "1");
    assert_eq!(late["lists"]["outstanding"][0]["late"], "2 days late");
}

/// What is named by the record is kept for its time; what is not may be discarded by then.
#[test]
fn a_copy_is_discarded_after_its_time_and_not_before() {
    let dir = small();
    let dir = dir.path();
    let discard = |made: &'static str| {
        [
            "act",
            "discard",
            "record=letters 3",
            "class=letters",
            made,
            "reason=time over",
            "how=shredded",
            "--by",
            "jo",
        ]
    };
    let said = refused(dir, &discard("made=2015-01-02"));
    assert!(said.contains("kept for the life of the aircraft"), "{said}");
    let file = dir.join("folder/retention.csv");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replace("letters,,,", "letters,10,an invented manual,"))
        .unwrap();
    well(dir, &["load", "folder", "--by", "jo"]);
    let said = refused(dir, &discard("made=2025-01-02"));
    assert!(said.contains("kept until 2035-01-02"), "{said}");
    well(dir, &discard("made=2015-01-02"));
    let kept = sheet(dir, &["retention"]);
    assert_eq!(kept["lists"]["discarded"][0]["copy"], "letters 3");
    assert!(well(dir, &["verify"]).contains("sound"));
}
