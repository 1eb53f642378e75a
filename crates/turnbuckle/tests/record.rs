//! The record on the command line: acts that are kept and acts that are refused, what the
//! record says, and bundles that prove it elsewhere.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::{Value, json};
use tempfile::TempDir;

const EXAMPLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");

fn run(dir: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
    command.current_dir(dir).args(arguments).output().expect("the program starts")
}

fn said(output: &Output) -> (String, String) {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (text(&output.stdout), text(&output.stderr))
}

/// Runs what must go well, and gives what was printed.
fn well(dir: &Path, arguments: &[&str]) -> String {
    let output = run(dir, arguments);
    let (out, wrong) = said(&output);
    assert!(output.status.success(), "{arguments:?}\n{out}\n{wrong}");
    out
}

/// Runs what must be refused, and gives what was said.
fn refused(dir: &Path, arguments: &[&str]) -> String {
    let output = run(dir, arguments);
    let (out, wrong) = said(&output);
    assert_eq!(output.status.code(), Some(1), "{arguments:?}\n{out}\n{wrong}");
    assert!(!wrong.contains("panicked"), "{wrong}");
    format!("{out}{wrong}")
}

/// Acts of one person, in one file.
fn acts(dir: &Path, by: &str, acts: &Value) -> String {
    fs::write(dir.join("acts.json"), acts.to_string()).unwrap();
    well(dir, &["act", "--file", "acts.json", "--by", by])
}

fn grant(name: &str, person: &str, power: &str) -> Value {
    json!({
        "act": "grant", "authority": name, "person": person, "power": power,
        "reference": "invented approval 1", "from": "2020-01-01",
    })
}

/// A ledger with the example in it, and people who may do their work.
fn workshop() -> TempDir {
    let dir = TempDir::new().unwrap();
    well(dir.path(), &["load", EXAMPLE]);
    acts(dir.path(), "OP", &grant("A-1", "OP", "appoint"));
    acts(
        dir.path(),
        "OP",
        &json!([
            grant("A-2", "TR", "plan"),
            grant("A-3", "TR", "certify"),
            grant("A-4", "BK", "inspect"),
            grant("A-5", "MS", "inspect"),
            grant("A-6", "MS", "classify"),
            grant("A-7", "JC", "stores"),
            grant("A-8", "IV", "release"),
        ]),
    );
    dir
}

fn card() -> Value {
    let step = |id: &str, critical: bool| {
        json!({
            "id": id, "text": "do it", "work": "task", "data": "WI-7", "revision": "2",
            "critical": critical, "independent": critical,
        })
    };
    json!({
        "act": "issue-card", "job": "ON:PROP-P", "title": "Fit the port propeller",
        "item": "PROP-P", "steps": [step("10", false), step("20", true)],
    })
}

#[test]
fn what_may_be_done_is_kept_and_what_may_not_is_refused() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    let by = |by: &'static str, words: &[&'static str]| -> Vec<&'static str> {
        [&["act"], words, &["--by", by]].concat()
    };
    well(dir, &by("TR", &["start", "job=ON:PROP-P"]));
    let words = refused(dir, &by("TR", &["sign-step", "job=ON:PROP-P", "step=20"]));
    assert!(words.contains("step 10 before it lacks its signature"), "{words}");
    assert!(words.contains("rule: order of steps"), "{words}");
    assert!(words.contains("nothing was entered"), "{words}");
    well(dir, &by("TR", &["sign-step", "job=ON:PROP-P", "step=10"]));
    well(dir, &by("TR", &["sign-step", "job=ON:PROP-P", "step=20"]));
    let look =
        ["inspect", "job=ON:PROP-P", "step=20", "checked=locking; sense", "verdict=pass"];
    let words = refused(dir, &by("TR", &look));
    assert!(words.contains("Condition 9 of the invented permit conditions"), "{words}");
    well(dir, &by("BK", &look));
    let words = refused(dir, &by("BK", &look));
    assert!(words.contains("BK made the first inspection of 20"), "{words}");
    let tried = [&by("MS", &look)[..], &["--try"]].concat();
    assert!(well(dir, &tried).contains("nothing forbids it"));
    well(dir, &by("MS", &look));
    well(dir, &by("TR", &["finish", "job=ON:PROP-P", "clear=yes"]));
    let card = well(dir, &["show", "cards", "ON:PROP-P", "--json"]);
    let card: Value = serde_json::from_str(&card).unwrap();
    assert_eq!(card["facts"]["state"], "complete");
    let history = well(dir, &["history", "ON:PROP-P", "--json"]);
    let history: Value = serde_json::from_str(&history).unwrap();
    assert_eq!(history["facts"]["entries"], "7");
    assert!(well(dir, &["verify"]).contains("sound"));
}

#[test]
fn the_air_is_read_on_the_command_line() {
    let dir = workshop();
    let dir = dir.path();
    let read = |figures: &[&str]| {
        let words = ["act", "air-reading", "place=BOOTH", "--by", "TR"];
        let words = words.iter().chain(figures).map(|word| (*word).to_owned());
        words.collect::<Vec<String>>()
    };
    let words = read(&["temperature=64 °C", "humidity=0.6"]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let told = refused(dir, &words);
    assert!(
        told.contains("`temperature` is 64 °C") && told.contains("1 to 100 %"),
        "{told}"
    );
    let words = read(&["temperature=64.4 °F", "humidity=60", "surface=13 °C"]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    well(dir, &words);
    // 18 °C and 60 %: the dew point lies at 10.1 °C.
    let sheet: Value =
        serde_json::from_str(&well(dir, &["show", "air", "--json"])).unwrap();
    let told = sheet.to_string();
    for words in ["18.0 °C", "10.1 °C", "13.0 °C", "2.8"] {
        assert!(told.contains(words), "{words} {told}");
    }
    assert!(well(dir, &["show", "air", "BOOTH"]).contains("10.1 °C"));
    well(dir, &["show", "air", "hangar"]);
    assert!(refused(dir, &["show", "air", "ATTIC"]).contains("there is no place ATTIC"));
}

#[test]
fn wrong_words_are_all_named_at_once() {
    let dir = workshop();
    let dir = dir.path();
    let words = refused(dir, &["act", "sing-step", "job=J", "--by", "TR"]);
    assert!(words.contains("sign-step"), "{words}");
    let words = refused(dir, &["act", "sign-step", "jop=J", "stepp=1", "--by", "TR"]);
    assert!(words.contains("jop") && words.contains("stepp"), "{words}");
    let words = refused(dir, &["act", "start", "job", "--by", "TR"]);
    assert!(words.contains("field=value"), "{words}");
    let words = refused(dir, &["act", "start", "job=J", "--by", "no body"]);
    assert!(words.contains("no body"), "{words}");
    let words = refused(dir, &["act", "start", "job=J", "--by", "STRANGER"]);
    assert!(words.contains("nobody is called STRANGER"), "{words}");
    fs::write(dir.join("bad.json"), "[{\"act\": \"start\"}, {\"act\": ").unwrap();
    let words = refused(dir, &["act", "--file", "bad.json", "--by", "TR"]);
    assert!(words.contains("bad.json"), "{words}");
    let words = refused(dir, &["act", "--file", "none.json", "--by", "TR"]);
    assert!(words.contains("none.json"), "{words}");
    let words = refused(dir, &["show", "cards", "NO-SUCH"]);
    assert!(words.contains("there is no card NO-SUCH"), "{words}");
    // Several acts are kept all or none.
    let two = json!([card(), {"act": "start", "job": "ANOTHER"}]);
    fs::write(dir.join("two.json"), two.to_string()).unwrap();
    let words = refused(dir, &["act", "--file", "two.json", "--by", "TR", "--json"]);
    let words: Value = serde_json::from_str(words.lines().next().unwrap()).unwrap();
    assert_eq!(words["refused"][0]["number"], 2);
    refused(dir, &["show", "cards", "ON:PROP-P"]);
}

#[test]
fn the_same_request_counts_once() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    let start =
        ["act", "start", "job=ON:PROP-P", "--by", "TR", "--request", "r-1", "--json"];
    let first: Value = serde_json::from_str(&well(dir, &start)).unwrap();
    let again: Value = serde_json::from_str(&well(dir, &start)).unwrap();
    assert_eq!(first["kept"][0]["entry"], again["kept"][0]["entry"]);
    assert_eq!(
        (&first["kept"][0]["repeated"], &again["kept"][0]["repeated"]),
        (&json!(false), &json!(true))
    );
    // Another request of the same kind is another one, and there he is at work already.
    let other = ["act", "start", "job=ON:PROP-P", "--by", "TR", "--request", "r-2"];
    assert!(refused(dir, &other).contains("TR is at work on ON:PROP-P already"));
    let words = refused(dir, &["act", "start", "job=J", "--by", "TR", "--request", ""]);
    assert!(words.contains("request id"), "{words}");
}

#[test]
fn several_at_once_wait_for_each_other() {
    let dir = workshop();
    let raise = |number: usize| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
        let finding = format!("finding=X-{number}");
        command.current_dir(dir.path());
        command.args(["act", "raise", &finding, "item=HULL", "what=a dent"]);
        command.args(["found=2020-01-01", "--by", "BK"]);
        command.spawn().unwrap()
    };
    let running: Vec<_> = (0..5).map(raise).collect();
    for mut child in running {
        assert!(child.wait().unwrap().success());
    }
    assert!(well(dir.path(), &["verify"]).contains("sound"));
}

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
    assert!(gate.contains("nobody entitled to has said how bad"), "{gate}");
}

/// Changes one byte in the middle of a file.
fn spoil(file: &Path) {
    let mut content = fs::read(file).unwrap();
    let middle = content.len() / 2;
    content[middle] ^= 1;
    fs::write(file, content).unwrap();
}

#[test]
fn a_bundle_is_checked_without_the_ledger_and_a_changed_byte_is_found() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    fs::write(dir.join("note.txt"), "The spinner is chafed.\n").unwrap();
    let digest = well(dir, &["attach", "note.txt"]);
    let digest = digest.lines().next().unwrap();
    acts(
        dir,
        "TR",
        &json!({
            "act": "tag", "item": "PROP-P", "location": "port engine",
            "photograph": digest, "service": "not known", "preservation": "oiled",
            "defects": "spinner chafed", "place": "ENGINE-BAY",
        }),
    );
    well(dir, &["key", "key.pem"]);
    for (about, name) in [("--gate", "engine-run"), ("--thing", "PROP-P")] {
        let out = format!("bundle{about}");
        well(dir, &["bundle", about, name, "--key", "key.pem", "--out", &out]);
        // Elsewhere, without the ledger.
        let away = TempDir::new().unwrap();
        let files = walk(&dir.join(&out));
        assert!(files.iter().any(|file| file.starts_with("attachments")), "{files:?}");
        fs::rename(dir.join(&out), away.path().join("b")).unwrap();
        let words = well(away.path(), &["verify", "b"]);
        assert!(words.ends_with("sound\n"), "{words}");
        assert_eq!(words.contains("follows from its entries"), about == "--gate");
        for file in files {
            let path = away.path().join("b").join(&file);
            let before = fs::read(&path).unwrap();
            spoil(&path);
            let words = refused(away.path(), &["verify", "b"]);
            assert!(
                words.contains("fault") || words.contains("error"),
                "{file}: {words}"
            );
            fs::write(&path, before).unwrap();
        }
        fs::write(away.path().join("b/extra.txt"), "x").unwrap();
        assert!(refused(away.path(), &["verify", "b"]).contains("extra.txt"));
    }
}

fn walk(dir: &Path) -> Vec<String> {
    let (mut files, mut open) = (Vec::new(), vec![dir.to_owned()]);
    while let Some(here) = open.pop() {
        for entry in fs::read_dir(here).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                files
                    .push(path.strip_prefix(dir).unwrap().to_string_lossy().into_owned());
            }
        }
    }
    files
}

#[test]
fn a_ledger_is_backed_up_and_restored() {
    let dir = workshop();
    let dir = dir.path();
    let warned = said(&run(dir, &["show", "people"])).1;
    assert!(warned.contains("never backed up"), "{warned}");
    well(dir, &["backup", "copy.ledger"]);
    assert_eq!(said(&run(dir, &["show", "people"])).1, "");
    acts(dir, "TR", &card());
    assert!(refused(dir, &["backup", "copy.ledger"]).contains("copy.ledger"));
    well(dir, &["restore", "copy.ledger"]);
    refused(dir, &["show", "cards", "ON:PROP-P"]);
    assert!(well(dir, &["verify"]).contains("sound"));
    // What was there is not lost.
    let kept = "turnbuckle.ledger.replaced";
    well(dir, &["show", "cards", "ON:PROP-P", "--ledger", kept]);
    // A letter of an entry in the copy is another one.
    let mut copy = fs::read(dir.join("copy.ledger")).unwrap();
    let word = b"invented approval";
    let at = copy.windows(word.len()).position(|found| found == word).unwrap();
    copy[at] ^= 1;
    fs::write(dir.join("copy.ledger"), copy).unwrap();
    let words = refused(dir, &["restore", "copy.ledger"]);
    assert!(words.contains("was changed after it was written"), "{words}");
    assert!(well(dir, &["verify"]).contains("sound"));
}

/// The small folder to start from in a ledger, and `jo` with every authority, given by `sam`.
fn small() -> TempDir {
    let dir = TempDir::new().unwrap();
    well(dir.path(), &["new", "folder"]);
    well(dir.path(), &["check", "folder"]);
    well(dir.path(), &["load", "folder"]);
    acts(dir.path(), "jo", &grant("A-1", "sam", "appoint"));
    let powers =
        ["plan", "certify", "inspect", "classify", "engineer", "stores", "release"];
    let each = powers.iter().enumerate();
    let each: Vec<Value> =
        each.map(|(at, power)| grant(&format!("B-{at}"), "jo", power)).collect();
    acts(dir.path(), "sam", &json!(each));
    dir
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

#[test]
fn cards_are_drafted_completed_and_issued() {
    let dir = workshop();
    let dir = dir.path();
    let bare = well(dir, &["draft", "OFF:PROP-P", "ON:PROP-P"]);
    fs::write(dir.join("cards.json"), &bare).unwrap();
    // Nobody but the workshop knows the data that a step follows.
    let why = refused(dir, &["act", "--file", "cards.json", "--by", "TR", "--try"]);
    assert!(why.contains("names no data with their revision"), "{why}");
    let data = ["--data", "Invented manual 4", "--revision", "2"];
    let all = well(dir, &[&["draft"], &data[..]].concat());
    fs::write(dir.join("cards.json"), &all).unwrap();
    let said = well(dir, &["act", "--file", "cards.json", "--by", "TR"]);
    assert!(said.lines().count() > 500, "{said}");
    // What has a card is not drafted again.
    assert_eq!(well(dir, &["draft"]).trim(), "[]");
    let why = refused(dir, &["draft", "COMPLETE", "OFF:NOTHING"]);
    assert!(why.contains("it is a date") && why.contains("no job OFF:NOTHING"), "{why}");
}

#[test]
fn a_plan_is_adopted_and_the_next_one_is_held_beside_it() {
    let dir = workshop();
    let dir = dir.path();
    let plan = ["plan", "--for", "1s", "--threads", "1", "--json"];
    let refusal =
        refused(dir, &[&plan[..], &["--adopt", "agreed", "--by", "BK"]].concat());
    assert!(refusal.contains("no authority to plan"), "{refusal}");
    well(dir, &[&plan[..], &["--adopt", "agreed", "--by", "TR"]].concat());
    let sheet: Value =
        serde_json::from_str(&well(dir, &["show", "plan", "--json"])).unwrap();
    let text = sheet.to_string();
    assert!(text.contains("OFF:PROP-P") && text.contains("agreed"), "{text}");
    let words = ["plan", "--for", "1s", "--threads", "1", "--today", "2031-11-17"];
    let said = well(dir, &words);
    assert!(said.contains("Beside the adopted plan"), "{said}");
    let said = well(dir, &[&words[..], &["--anew"]].concat());
    assert!(said.contains("jobs begin on another day"), "{said}");
}

/// Digits behind a word in what was printed.
fn after<'a>(words: &'a str, word: &str) -> &'a str {
    let line = words.lines().find_map(|line| line.trim().strip_prefix(word));
    line.unwrap_or_else(|| panic!("{word} in {words}")).trim()
}

#[test]
fn a_history_that_was_written_anew_is_caught_by_what_was_kept_elsewhere() {
    let dir = workshop();
    let dir = dir.path();
    let made = well(dir, &["key", "key.pem"]);
    let (key, print) = (after(&made, "public key:"), after(&made, "fingerprint:"));
    let words = refused(dir, &["verify", "--key", key]);
    assert!(words.contains("nothing that a trusted key signed speaks"), "{words}");
    acts(dir, "TR", &card());
    well(dir, &["checkpoint", "--key", "key.pem", "--out", "point"]);
    acts(dir, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    for named in [key, print, &print.replace(' ', "").to_uppercase()] {
        let words = well(dir, &["verify", "--key", named, "--checkpoint", "point"]);
        assert!(words.contains("fits all checkpoints kept elsewhere (1)"), "{words}");
        assert!(words.contains("no checkpoint speaks for the entries after"), "{words}");
    }
    // The same people write another history into a new ledger: its chain is whole.
    let other = workshop();
    let other = other.path();
    acts(other, "TR", &card());
    acts(other, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    assert!(well(other, &["verify"]).contains("sound"));
    fs::copy(dir.join("point"), other.join("point")).unwrap();
    let words = refused(other, &["verify", "--checkpoint", "point"]);
    assert!(words.contains("is of another ledger") && words.contains("NOT sound"));
    // Whoever has no such key can make no checkpoint that counts.
    well(other, &["key", "forged.pem"]);
    well(other, &["checkpoint", "--key", "forged.pem", "--out", "forged"]);
    let words = refused(other, &["verify", "--key", key, "--checkpoint", "forged"]);
    assert!(words.contains("a key that isn't among those you trust"), "{words}");
    for (option, value, told) in [
        ("--key", "xyz", "64 hexadecimal digits"),
        ("--key", "abcd", "it has 4 digits"),
        ("--key", &"0".repeat(32), "nothing here is signed"),
        ("--checkpoint", "key.pem", "line 1 of the checkpoint"),
        ("--checkpoint", "none", "none: "),
    ] {
        let words = refused(dir, &["verify", option, value]);
        assert!(words.contains(told), "{words}");
    }
}

#[test]
fn a_bundle_is_held_against_trusted_keys_and_checkpoints_kept_elsewhere() {
    let dir = workshop();
    let dir = dir.path();
    let made = well(dir, &["key", "key.pem"]);
    let other = well(dir, &["key", "other.pem"]);
    let (key, other) = (after(&made, "public key:"), after(&other, "public key:"));
    well(dir, &["checkpoint", "--key", "key.pem", "--out", "point"]);
    well(dir, &["bundle", "--gate", "engine-run", "--key", "key.pem", "--out", "b"]);
    let words = well(dir, &["verify", "b", "--key", key, "--checkpoint", "point"]);
    assert!(words.ends_with("sound\n"), "{words}");
    let words = refused(dir, &["verify", "b", "--key", other]);
    assert!(words.contains("isn't among those you trust"), "{words}");
    let away = workshop();
    well(away.path(), &["key", "key.pem"]);
    well(away.path(), &["checkpoint", "--key", "key.pem", "--out", "point"]);
    let foreign = away.path().join("point").display().to_string();
    let words = refused(dir, &["verify", "b", "--checkpoint", &foreign]);
    assert!(words.contains("is of another ledger"), "{words}");
}

/// What was printed as JSON, whatever the end.
fn json_of(output: &Output) -> Value {
    let (out, wrong) = said(output);
    let line = out.lines().next().unwrap_or_else(|| panic!("nothing: {wrong}"));
    serde_json::from_str(line).unwrap()
}

/// The entry at which a sheet was shown.
fn shown_at(dir: &Path, about: &[&str]) -> String {
    let shown = well(dir, &[&["show"], about, &["--json"]].concat());
    let shown: Value = serde_json::from_str(shown.lines().next().unwrap()).unwrap();
    let text = well(dir, &[&["show"], about].concat());
    let entry = shown["entry"].to_string();
    assert!(text.contains(&format!("as it stands after entry {entry}")), "{text}");
    entry
}

#[test]
fn whoever_is_second_is_told_sees_both_and_loses_nothing() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    acts(dir, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    let seen = shown_at(dir, &["cards", "ON:PROP-P"]);
    // Two people looked at the same moment; the first one enters.
    let raise = ["act", "raise", "finding=X-9", "item=PROP-P", "found=2020-01-01"];
    let first = ["what=a dent", "--by", "BK", "--seen", &seen];
    well(dir, &[&raise[..], &first].concat());
    let second = ["what=a crack; at the \"root\"", "--by", "MS", "--seen", &seen];
    let second = [&raise[..], &second].concat();
    let words = refused(dir, &second);
    assert!(words.contains("a crack") && words.contains("a dent"), "{words}");
    assert!(words.contains("BK: raise") && words.contains("touches"), "{words}");
    let told = json_of(&run(dir, &[&second[..], &["--json"]].concat()));
    let changed = &told["changed"];
    let since = &changed["since"][0];
    assert_eq!((&since["by"], &since["act"]), (&json!("BK"), &json!("raise")));
    assert_eq!(since["body"]["what"], "a dent");
    assert_eq!(since["touches"], json!(["finding X-9", "item PROP-P"]));
    // What was typed is all there, and can be sent as it is under another name.
    let mut again = changed["acts"].clone();
    assert_eq!(again[0]["what"], "a crack; at the \"root\"");
    again[0]["finding"] = json!("X-10");
    fs::write(dir.join("again.json"), again.to_string()).unwrap();
    let now = changed["now"].to_string();
    let sent = ["act", "--file", "again.json", "--by", "MS", "--seen", &now];
    well(dir, &sent);
    let finding = well(dir, &["show", "findings", "X-10"]);
    assert!(finding.contains("a crack; at the \"root\""), "{finding}");
}

#[test]
fn only_what_touches_the_same_things_stands_in_the_way() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    acts(dir, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    let seen = shown_at(dir, &["cards", "ON:PROP-P"]);
    let sign = ["act", "sign-step", "job=ON:PROP-P", "step=10", "--by", "TR"];
    let signed = [&sign[..], &["--seen", &seen]].concat();
    // Elsewhere, and by themselves.
    acts(
        dir,
        "BK",
        &json!({
            "act": "raise", "finding": "X-1", "item": "HULL", "what": "a dent",
            "found": "2020-01-01", "job": "ON:PROP-P",
        }),
    );
    acts(dir, "TR", &json!({"act": "pause", "job": "ON:PROP-P", "left": "so"}));
    acts(dir, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    well(dir, &signed);
    // Another step of the card is no matter, the whole card is.
    acts(dir, "TR", &json!({"act": "sign-step", "job": "ON:PROP-P", "step": "20"}));
    let seen = shown_at(dir, &["cards"]);
    let inspect = |by| {
        let inspect =
            ["act", "inspect", "job=ON:PROP-P", "step=20", "checked=locking; sense"];
        [&inspect[..], &["verdict=pass", "--by", by, "--seen", &seen]].concat()
    };
    well(dir, &inspect("BK"));
    let words = refused(dir, &inspect("MS"));
    assert!(words.contains("touches card ON:PROP-P step 20"), "{words}");
    let finish =
        ["act", "finish", "job=ON:PROP-P", "clear=yes", "--by", "TR", "--seen", &seen];
    assert!(refused(dir, &finish).contains("BK: inspect"));
    // What strikes the signature of a step touches that step.
    let strike = ["act", "strike", "reason=so", "--by", "TR", "--seen", &seen];
    let entry = well(dir, &["history", "ON:PROP-P", "--json"]);
    let entry: Value = serde_json::from_str(&entry).unwrap();
    let rows = entry["lists"]["entries"].as_array().unwrap();
    let last = rows.iter().rfind(|row| row["what"] == "act.sign-step").unwrap();
    let entry = format!("entry={}", last["entry"].as_str().unwrap());
    let words = refused(dir, &[&strike[..], &[&entry]].concat());
    assert!(words.contains("touches card ON:PROP-P step 20"), "{words}");
    let words = refused(dir, &[&sign[..], &["--seen", "999999"]].concat());
    assert!(words.contains("nobody can have looked up to 999999"), "{words}");
}

#[test]
fn of_two_at_the_same_moment_one_is_kept_and_the_other_is_told() {
    let dir = workshop();
    let dir = dir.path();
    let seen = shown_at(dir, &["findings"]);
    let raise = |by: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
        command.current_dir(dir).args(["act", "raise", "finding=X-9", "item=HULL"]);
        command.args(["what=a dent", "found=2020-01-01", "--json", "--by", by]);
        command.args(["--seen", &seen]).stdout(std::process::Stdio::piped());
        command.spawn().unwrap()
    };
    let running = ["BK", "MS"].map(raise);
    let told = running.map(|child| json_of(&child.wait_with_output().unwrap()));
    let kept = told.iter().filter(|told| told["kept"].as_array().unwrap().len() == 1);
    assert_eq!(kept.count(), 1, "{told:?}");
    let changed = told.iter().find(|told| told["changed"].is_object()).unwrap();
    assert_eq!(changed["changed"]["acts"][0]["what"], "a dent");
}

#[test]
fn what_is_refused_only_because_of_another_act_says_so() {
    let dir = workshop();
    let dir = dir.path();
    let mut wrong = card();
    wrong["item"] = json!("NO-SUCH");
    let job = "ON:PROP-P";
    let list = json!([
        {"act": "raise", "finding": "X-1", "item": "HULL", "what": "a dent",
         "found": "2020-01-01"},
        wrong,
        {"act": "start", "job": job},
        {"act": "sign-step", "job": job, "step": "10"},
        {"act": "move", "item": "NOR-THIS", "place": "TENT"},
        {"act": "sign-step", "job": job, "step": "30"},
    ]);
    fs::write(dir.join("list.json"), list.to_string()).unwrap();
    let arguments = ["act", "--file", "list.json", "--by", "TR"];
    let words = refused(dir, &arguments);
    assert!(words.contains("follows from act 2"), "{words}");
    let told = json_of(&run(dir, &[&arguments[..], &["--json"]].concat()));
    let follows: Vec<(u64, Option<u64>)> = told["refused"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| (one["number"].as_u64().unwrap(), one["follows"].as_u64()))
        .collect();
    let of = |act: u64| -> Vec<Option<u64>> {
        follows.iter().filter(|(number, _)| *number == act).map(|one| one.1).collect()
    };
    assert_eq!(of(1), []);
    assert!(of(2).iter().all(Option::is_none) && !of(2).is_empty(), "{follows:?}");
    for act in [3, 4] {
        assert!(!of(act).is_empty() && of(act).iter().all(|one| *one == Some(2)));
    }
    // Mistakes of their own stay so: the part, and the step that the card never had.
    assert!(of(5).contains(&None), "{follows:?}");
    assert!(of(6).iter().any(Option::is_some), "{follows:?}");
}

#[test]
fn who_has_a_secret_signs_with_it() {
    let dir = workshop();
    let dir = dir.path();
    fs::write(dir.join("op"), "four words of hers\nnot this\n").unwrap();
    fs::write(dir.join("tr"), "other words than those\n").unwrap();
    let enrol = ["enrol", "OP", "--by", "OP", "--new-secret-file", "op"];
    well(dir, &enrol);
    let again = ["enrol", "TR", "--by", "OP", "--new-secret-file", "tr"];
    let why = refused(dir, &again);
    assert!(why.contains("is not sealed with it") && why.contains("own secret"), "{why}");
    well(dir, &[&again[..], &["--secret-file", "op"]].concat());
    fs::write(dir.join("card.json"), card().to_string()).unwrap();
    let issue = ["act", "--file", "card.json", "--by", "TR"];
    let why = refused(dir, &[&issue[..], &["--secret-file", "op"]].concat());
    assert!(why.contains("not the secret of TR"), "{why}");
    well(dir, &[&issue[..], &["--secret-file", "tr"]].concat());
    // From the environment, and never from the command line.
    let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
    command.current_dir(dir).env("TURNBUCKLE_SECRET", "other words than those");
    let start = command.args(["act", "start", "job=ON:PROP-P", "--by", "TR"]).output();
    assert!(start.unwrap().status.success());
    let told = well(dir, &["verify"]);
    assert!(told.contains("3 of them sealed by those who signed them"), "{told}");
    let why = refused(
        dir,
        &[
            "act",
            "pause",
            "job=ON:PROP-P",
            "--by",
            "TR",
            "left=so",
            "--secret-file",
            "none",
        ],
    );
    assert!(why.contains("could not read none"), "{why}");
    // A bundle carries the keys with which its seals are checked.
    well(dir, &["key", "key.pem"]);
    well(dir, &["bundle", "--gate", "taxi", "--key", "key.pem", "--out", "b"]);
    assert!(well(dir, &["verify", "b"]).contains("signed them: 3"));
    well(dir, &["bundle", "--thing", "ON:PROP-P", "--key", "key.pem", "--out", "c"]);
    assert!(well(dir, &["verify", "c"]).contains("signed them: 3"));
}

#[test]
fn lists_are_loaded_by_those_who_may() {
    let dir = workshop();
    let dir = dir.path();
    well(dir, &["export", "copy"]);
    let tools = fs::read_to_string(dir.join("copy/tools.csv")).unwrap();
    fs::write(dir.join("copy/tools.csv"), tools.replacen("orque", "ORQUE", 1)).unwrap();
    let why = refused(dir, &["load", "copy"]);
    assert!(why.contains("`command line` is nobody"), "{why}");
    let why = refused(dir, &["load", "copy", "--by", "BK"]);
    assert!(why.contains("BK has no authority to plan"), "{why}");
    well(dir, &["load", "copy", "--by", "TR"]);
}
