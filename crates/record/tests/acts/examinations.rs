//! Examinations: what a request carries, what a report must say, and what follows from it.

use jiff::civil::date;
use record::act::{
    Batch, Calibrate, Equipment, Evidence, EvidenceKind, Indication, Level, Method,
    Missed, Outcome, Rank, ReportNdt, RequestNdt, Strike,
};
use record::shop::Answered;
use record::{Act, Condition, RuleKey as R};

use crate::scene::{Scene, TODAY, classify, clear, evidence, id, open, tag};
use crate::table::{Row, check, row};

const REQUEST: &str =
    "practice: what an examiner needs to know before coming; no single standard's list";
const REPORT: &str = "ASNT Level III study topics, report of an examination: procedure and \
                      revision, parameters, equipment, indications, acceptance basis";
const PEOPLE: &str = "EN 4179 / NAS 410: qualification by method and level, with an end";
const INSPECTION: &str =
    "AMC M.A.606: boroscope and coin tap are inspection, by trained and assessed people";
const TOOLS: &str = "145.A.40(b), from memory: tools and test equipment are calibrated";
const PENETRANT: &str =
    "penetrant examination records: consumable batches, dwell times, lighting";
const SILENT: &str = "M.A.403(b): certifying staff decide; the examiner only reports";

pub(crate) fn request(name: &str) -> RequestNdt {
    RequestNdt {
        examination: id(name),
        item: id("PUMP"),
        zone: None,
        location: "lower lug, 40 mm about the bore".into(),
        sketch: None,
        finding: Some(id("F-1")),
        why: None,
        material: "steel, normalised".into(),
        form: "forging".into(),
        finish: "cadmium".into(),
        thickness: "3.2 mm".into(),
        sought: "radial cracks".into(),
        least: "1.5 mm long".into(),
        method: Method::Magnetic,
        or: vec![Method::EddyCurrent],
        technique: Some("sheet 7".into()),
        revision: Some("2".into()),
        develop: false,
        preparation: "stripped by us".into(),
        restores: "the paint shop".into(),
        acceptance: "no crack".into(),
        rules: "the designer".into(),
        needed_by: date(2032, 2, 1),
        closes: "nobody, on the bench".into(),
        cleaning: "by the examiner".into(),
    }
}

pub(crate) fn report(name: &str) -> ReportNdt {
    ReportNdt {
        report: id(name),
        examination: id("X-1"),
        on: TODAY,
        firm: None,
        procedure: "sheet 7".into(),
        revision: Some("2".into()),
        method: Method::Magnetic,
        parameters: "yoke, two directions".into(),
        equipment: vec![of_a_firm(Some(date(2032, 3, 1)))],
        standard: "flux indicator 12".into(),
        examined: "lug, both faces".into(),
        whole: true,
        missed: vec![],
        indications: vec![],
        detectable: Some("1.5 mm".into()),
        acceptance: "no crack".into(),
        outcome: Outcome::Accept,
        finding: None,
        examiner: "P. Invented".into(),
        level: Some(Level::Two),
        qualified_in: vec![Method::Magnetic, Method::Penetrant],
        qualification: "certificate 44".into(),
        qualified_until: Some(date(2033, 5, 31)),
        batches: vec![],
        dwell: None,
        lighting: Some("UV-A".into()),
        afterwards: Some("demagnetised".into()),
        document: None,
    }
}

pub(crate) fn rejection(name: &str, finding: &str) -> ReportNdt {
    let crack = Indication {
        place: "5 o'clock".into(),
        size: "2 mm".into(),
        what: "linear".into(),
        rank: Rank::Defect,
    };
    let (outcome, finding) = (Outcome::Reject, Some(id(finding)));
    ReportNdt { indications: vec![crack], outcome, finding, ..report(name) }
}

fn of_a_firm(until: Option<jiff::civil::Date>) -> Equipment {
    Equipment { name: "yoke 3107".into(), tool: None, until }
}

fn ours(tool: &str) -> Vec<Equipment> {
    vec![Equipment { tool: Some(id(tool)), ..of_a_firm(None) }]
}

fn asked(scene: &mut Scene) -> &mut Scene {
    scene.does("ben", request("X-1"))
}

/// A report that would be kept but for what a row changes.
fn reported(
    name: &'static str,
    source: &'static str,
    rule: R,
    change: fn(&mut ReportNdt),
) -> Row {
    row(name, source, rule, move |s| {
        asked(s);
        let mut report = report("R-1");
        change(&mut report);
        ("dan", report.into())
    })
}

fn requested(
    name: &'static str,
    source: &'static str,
    rule: R,
    change: fn(&mut RequestNdt),
) -> Row {
    row(name, source, rule, move |_| {
        let mut request = request("X-1");
        change(&mut request);
        ("ben", request.into())
    })
}

fn requests() -> Vec<Row> {
    vec![
        row("who may not plan asks for no examination", REQUEST, R::Authority, |_| {
            ("dan", request("X-1").into())
        }),
        row("an examination has a name of its own", REQUEST, R::Known, |s| {
            asked(s);
            ("ben", request("X-1").into())
        }),
        requested("an examination has a reason", REQUEST, R::Stated, |r| {
            r.finding = None;
        }),
        requested("an examination is of a known item", REQUEST, R::Known, |r| {
            r.item = id("RUDDER");
        }),
        requested("a request says what is sought", REQUEST, R::Stated, |r| {
            r.sought = " ".into();
        }),
        requested("a request says the least defect", REQUEST, R::Stated, |r| {
            r.least = String::new();
        }),
        requested("a request says who restores the finish", REQUEST, R::Stated, |r| {
            r.restores = String::new();
        }),
        requested("a request says who rules", REQUEST, R::Stated, |r| {
            r.rules = String::new();
        }),
        requested("a technique has a revision", "145.A.45(e)", R::Data, |r| {
            r.revision = None;
        }),
        requested("a technique is named or to be developed", REQUEST, R::Data, |r| {
            r.technique = None;
        }),
        requested("a technique is not both", REQUEST, R::Data, |r| r.develop = true),
        requested("an examination is not needed yesterday", REQUEST, R::Stated, |r| {
            r.needed_by = date(2032, 1, 13);
        }),
    ]
}

fn people() -> Vec<Row> {
    vec![
        row("who may not inspect enters no report", REPORT, R::Authority, |s| {
            asked(s);
            ("ben", report("R-1").into())
        }),
        reported("a level that nobody knows is none", PEOPLE, R::Qualification, |r| {
            r.level = None;
        }),
        reported("a trainee does not report", PEOPLE, R::Qualification, |r| {
            r.level = Some(Level::Trainee);
        }),
        reported("a qualification has an end", PEOPLE, R::Qualification, |r| {
            r.qualified_until = None;
        }),
        reported("a qualification has not run out", PEOPLE, R::Qualification, |r| {
            r.qualified_until = Some(date(2032, 1, 13));
        }),
        reported("a qualification is for the method", PEOPLE, R::Qualification, |r| {
            r.qualified_in = vec![Method::Ultrasonic];
        }),
        reported("who taps is trained too", INSPECTION, R::Qualification, |r| {
            (r.method, r.level) = (Method::CoinTap, None);
        }),
        reported("a qualification is a document", PEOPLE, R::Stated, |r| {
            r.qualification = String::new();
        }),
    ]
}

fn content() -> Vec<Row> {
    vec![
        row("a report answers a request", REPORT, R::Known, |_| {
            ("dan", report("R-1").into())
        }),
        row("a report has a name of its own", REPORT, R::Known, |s| {
            asked(s).does("dan", report("R-1"));
            ("dan", report("R-1").into())
        }),
        reported("an examination is past", REPORT, R::Clock, |r| {
            r.on = date(2032, 1, 15);
        }),
        reported("a procedure has a revision", REPORT, R::Examination, |r| {
            r.revision = None;
        }),
        reported("a report has an acceptance basis", REPORT, R::Examination, |r| {
            r.acceptance = " ".into();
        }),
        reported("a report has a reference standard", REPORT, R::Stated, |r| {
            r.standard = String::new();
        }),
        reported("a negative result has a limit", REPORT, R::Detectability, |r| {
            r.detectable = None;
        }),
        reported("a place left out is named", REPORT, R::Examination, |r| {
            r.whole = false;
        }),
        reported("all is not all but one", REPORT, R::Examination, |r| {
            let (place, why) = ("aft face".into(), "bush".into());
            r.missed = vec![Missed { place, why }];
        }),
        reported("equipment is named", TOOLS, R::Calibration, |r| r.equipment.clear()),
        reported("equipment has a calibration", TOOLS, R::Calibration, |r| {
            r.equipment = vec![of_a_firm(None)];
        }),
        reported("calibration has not run out", TOOLS, R::Calibration, |r| {
            r.equipment.push(of_a_firm(Some(date(2032, 1, 13))));
        }),
        reported("our equipment is calibrated", TOOLS, R::Calibration, |r| {
            r.equipment = ours("TW-1");
        }),
        row("calibration counts from its day", TOOLS, R::Calibration, |s| {
            asked(s).does("frank", calibrate());
            let on = date(2032, 1, 13);
            ("dan", ReportNdt { on, equipment: ours("TW-1"), ..report("R-1") }.into())
        }),
        reported("what rejects raises a finding", SILENT, R::FailedInspection, |r| {
            r.outcome = Outcome::Reject;
        }),
        reported("where the standard is silent too", SILENT, R::FailedInspection, |r| {
            r.outcome = Outcome::Refer;
        }),
        reported("what accepts raises none", SILENT, R::Stated, |r| {
            r.finding = Some(id("F-9"));
        }),
        reported("a finding of a report is a new one", SILENT, R::Known, |r| {
            (r.outcome, r.finding) = (Outcome::Reject, Some(id("F-1")));
        }),
        reported("a defect is not accepted", REPORT, R::Examination, |r| {
            r.indications = rejection("R", "F").indications;
        }),
        reported("penetrant has batches", PENETRANT, R::Examination, |r| {
            (r.method, r.dwell) = (Method::Penetrant, Some("20 min".into()));
        }),
        row("penetrant has dwell times", PENETRANT, R::Examination, |s| {
            asked(s).does("frank", batch(date(2032, 6, 1)));
            let (method, batches) = (Method::Penetrant, vec![id("B-1")]);
            ("dan", ReportNdt { method, batches, ..report("R-1") }.into())
        }),
        row("a consumable is not past its shelf life", PENETRANT, R::ShelfLife, |s| {
            asked(s).does("frank", batch(TODAY)).on(date(2032, 1, 16));
            let (method, dwell) = (Method::Penetrant, Some("20 min".into()));
            let (batches, on) = (vec![id("B-1")], date(2032, 1, 15));
            ("dan", ReportNdt { method, dwell, batches, on, ..report("R-1") }.into())
        }),
        reported("magnetic particles are cleaned off", PENETRANT, R::Examination, |r| {
            r.afterwards = None;
        }),
    ]
}

fn worth() -> Vec<Row> {
    const CLEAR: &str = "M.A.305(a): records demonstrate compliance";
    vec![
        row("a report that rejects is no evidence", CLEAR, R::GateEvidence, |s| {
            asked(s).does("dan", rejection("R-1", "F-9"));
            ("ben", shows("R-1"))
        }),
        row("a report that waits for a ruling is none", CLEAR, R::GateEvidence, |s| {
            let outcome = Outcome::Refer;
            asked(s).does("dan", ReportNdt { outcome, ..rejection("R-1", "F-9") });
            ("ben", shows("R-1"))
        }),
        row("a report that was struck is none", CLEAR, R::GateEvidence, |s| {
            asked(s).does("dan", report("R-1"));
            let (entry, reason) = (s.number, "of another part".into());
            s.does("dan", Strike { entry, reason });
            ("ben", shows("R-1"))
        }),
        row("what a report rejects keeps gates shut", SILENT, R::Unknown, |s| {
            s.does("ben", tag("DINGHY")).survey_cleared().proven();
            asked(s).does("dan", rejection("R-1", "F-9"));
            ("gina", open("run").into())
        }),
    ]
}

fn calibrate() -> Calibrate {
    let (until, certificate) = (date(2033, 1, 1), "C-4".into());
    Calibrate { tool: id("TW-1"), until, certificate }
}

pub(crate) fn batch(until: jiff::civil::Date) -> Batch {
    Batch {
        batch: id("B-1"),
        material: "penetrant".into(),
        specification: "invented 4".into(),
        maker: "a maker".into(),
        supplier: "a supplier".into(),
        conformity: "C 3".into(),
        quantity: 2.0,
        unit: "l".into(),
        cured: None,
        expires: Some(until),
        storage: "sealed".into(),
    }
}

pub(crate) fn shows(report: &str) -> Act {
    let reference = report.into();
    Evidence { reference, ..evidence("brakes", EvidenceKind::Report) }.into()
}

pub(crate) fn rows() -> Vec<Row> {
    [requests(), people(), content(), worth()].into_iter().flatten().collect()
}

#[test]
fn examinations_keep_to_the_rules() {
    check(rows());
}

#[test]
fn a_rejection_shuts_gates_and_waits_to_be_classed() {
    let mut s = Scene::new();
    s.does("ben", tag("DINGHY")).opened();
    s.does("ben", request("X-1"));
    assert!(s.is_open("taxi"));
    s.does("dan", rejection("R-1", "F-9"));
    assert!(!s.is_open("run") && !s.is_open("taxi"));
    let state = &s.programme.shop.findings.states[&id("F-9")];
    let (raise, mark) = state.raised.as_ref().unwrap();
    assert_eq!(raise.item, id("PUMP"));
    assert_eq!(
        raise.what,
        "rejected by R-1 (magnetic particle): defect linear at 5 o'clock, 2 mm"
    );
    assert_eq!((mark.by.as_str(), state.condition()), ("dan", Condition::Unknown));
}

#[test]
fn evidence_falls_with_its_report() {
    let mut s = Scene::new();
    s.does("ben", tag("DINGHY")).survey_cleared().proven();
    asked(&mut s).does("dan", report("R-1"));
    let entry = s.number;
    s.does("ben", shows("R-1")).does("gina", open("run")).does("gina", open("taxi"));
    assert!(s.is_open("taxi"));
    s.does("dan", Strike { entry, reason: "of another part".into() });
    let gate = s.programme.gates.get(&id("taxi")).unwrap();
    let blocks = s.programme.gate_state(gate, TODAY).blocks;
    assert_eq!(blocks.len(), 1, "{blocks:#?}");
    assert!(blocks[0].what.contains("R-1 was struck through"), "{blocks:#?}");
}

#[test]
fn a_ruling_makes_evidence_of_a_report() {
    let mut s = Scene::new();
    let outcome = Outcome::Refer;
    asked(&mut s).does("dan", ReportNdt { outcome, ..rejection("R-1", "F-9") });
    s.does("eve", classify("F-9", Condition::WithinLimits, None));
    s.does("eve", clear("F-9", None)).does("ben", shows("R-1"));
}

#[test]
fn what_was_left_out_is_told_again_and_again() {
    let mut s = Scene::new();
    let (place, why) = ("aft face".to_owned(), "bush".to_owned());
    let missed = vec![Missed { place, why }];
    let part = ReportNdt { whole: false, missed, ..report("R-1") };
    asked(&mut s).does("dan", part.clone());
    let examinations = |s: &Scene| s.programme.shop.examinations.answered(&id("X-1"));
    assert_eq!(examinations(&s), Answered::InPart);
    for act in [Act::from(part), shows("R-1")] {
        let cautions = s.programme.cautions(&act, &s.stamp("ben"));
        assert_eq!(cautions.len(), 1, "{act:?}");
        assert!(cautions[0].what.contains("aft face: bush"), "{cautions:?}");
    }
    s.does("dan", report("R-2"));
    assert_eq!(examinations(&s), Answered::Whole);
}

/// An inspection needs no level, but trained people; calibration counts on its day.
#[test]
fn what_is_in_order_is_kept() {
    let mut s = Scene::new();
    asked(&mut s).does("frank", calibrate()).does("frank", batch(date(2032, 6, 1)));
    let tap = ReportNdt {
        method: Method::CoinTap,
        level: None,
        qualified_in: vec![Method::CoinTap],
        equipment: vec![],
        ..report("R-1")
    };
    s.does("dan", tap);
    let penetrant = ReportNdt {
        method: Method::Penetrant,
        batches: vec![id("B-1")],
        dwell: Some("20 min at 18 °C".into()),
        ..report("R-2")
    };
    s.does("dan", penetrant);
    s.does("dan", ReportNdt { equipment: ours("TW-1"), ..report("R-3") });
    s.on(date(2032, 1, 20)).does("ben", crate::stores::lose("TW-1"));
    s.does("ben", crate::stores::find("TW-1"));
    // What was lost later could be trusted before.
    let on = date(2032, 1, 15);
    s.does("dan", ReportNdt { on, equipment: ours("TW-1"), ..report("R-4") });
    let on = date(2032, 1, 21);
    s.on(on);
    let late = ReportNdt { on, equipment: ours("TW-1"), ..report("R-5") };
    assert_eq!(s.refusals("dan", &late.into())[0].rule, R::Calibration);
}
