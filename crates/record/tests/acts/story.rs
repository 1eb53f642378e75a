//! One item from the survey to a signed gate, with what goes wrong on the way.
//!
//! All of it is invented.

use record::act::{
    Answer, CardStep, Certificate, ClassPart, Despatch, Inspect, PartClass, Quarantine,
    Query, Release, SignStep, StepWork, Strike, Verdict,
};
use record::shop::Whereabouts;
use record::{Condition, RuleKey};

use crate::parts::{accept, class, despatch, fit, receive};
use crate::scene::{
    Scene, card, certificate, classify, clear, finish, hand_over, id, inspect, job, open,
    raise, reading, sign, start, step, tag, take_over, torque,
};

/// The fuel pump comes off, because the survey doubts it.
fn removal(s: &mut Scene) {
    s.does("ben", tag("DINGHY"))
        .does("eve", classify("F-1", Condition::WithinLimits, Some("taxi")));
    s.does("eve", clear("F-1", None));
    s.does("dan", raise("F-30", "PUMP"));
    s.does("eve", classify("F-30", Condition::OutsideLimits, None));
    s.does("ben", card("OFF", vec![step("drain"), step("unbolt")]))
        .does("ben", start("OFF"));
    s.does("ben", sign("OFF", "drain"));
    // The first shift ends; the next one goes on, after both have talked about it.
    s.does("ben", hand_over("OFF", "dan")).does("dan", take_over("OFF"));
    s.does("dan", sign("OFF", "unbolt")).does("dan", tag("PUMP"));
    s.does("dan", record::act::Pause { job: job("OFF"), left: "done".into() });
    s.does("ben", finish("OFF"));
}

/// It goes to the plater, comes back with the papers of another one, and goes again.
fn plating(s: &mut Scene) {
    s.does("frank", despatch("PUMP")).does("frank", receive("PUMP"));
    let certificate = Certificate { serial: Some("P-78".into()), ..certificate() };
    let wrong = record::act::Accept { certificate, ..accept("PUMP") };
    assert_eq!(s.refusals("frank", &wrong.into())[0].rule, RuleKey::ReleaseDocument);
    let reason = "papers of P-78".into();
    s.does("frank", Quarantine { item: id("PUMP"), reason });
    let basis = "the firm found the mistake and takes it back".into();
    s.does("frank", Release { item: id("PUMP"), basis });
    // It was never accepted, so it still waits, and nothing can be done with it but that.
    assert_eq!(
        s.refusals("frank", &despatch("PUMP").into())[0].rule,
        RuleKey::ReceivingCheck
    );
    s.does("frank", accept("PUMP"));
    s.does("frank", Despatch { order: "PO 5".into(), ..despatch("PUMP") });
    s.does("frank", receive("PUMP")).does("frank", accept("PUMP"));
}

/// It is built up again: a question about the drawing, a failed inspection, a signature
/// that was a mistake.
fn refit(s: &mut Scene) {
    let lock = CardStep {
        critical: true,
        independent: true,
        work: StepWork::Reassemble,
        ..torque("lock")
    };
    s.does("ben", card("ON", vec![step("offer-up"), lock])).does("ben", start("ON"));
    s.does(
        "ben",
        Query {
            query: id("Q-1"),
            job: job("ON"),
            step: id("offer-up"),
            to: "nobody who drew it lives".into(),
            question: "shim or none?".into(),
        },
    );
    let refused = s.refusals("ben", &sign("ON", "offer-up").into());
    assert_eq!(refused[0].rule, RuleKey::DataQuery);
    s.does(
        "gina",
        Answer {
            query: id("Q-1"),
            answer: "one shim of 0.5 mm".into(),
            reference: "concession 3".into(),
            conceded: true,
        },
    );
    s.does("ben", sign("ON", "offer-up")).does("ben", fit_on());
    calibrated(s);
    let by =
        |value| SignStep { readings: reading(value, Some("TW-1")), ..sign("ON", "lock") };
    s.does("ben", by(41.0)).does("dan", raise("F-31", "PUMP"));
    let finding = Some(id("F-31"));
    s.does("dan", Inspect { verdict: Verdict::Fail, finding, ..inspect("ON", "lock") });
    s.does("eve", classify("F-31", Condition::OutsideLimits, None));
    // Signed with the value of another bolt, struck through, and signed again.
    s.does("ben", by(40.5));
    let entry = s.number;
    s.does("ben", Strike { entry, reason: "read on the wrong bolt".into() });
    s.does("ben", by(43.0)).does("dan", inspect("ON", "lock"));
    let twice = s.refusals("dan", &inspect("ON", "lock").into());
    assert_eq!(twice[0].rule, RuleKey::Independence);
    s.does("eve", inspect("ON", "lock")).does("ben", finish("ON"));
    for finding in ["F-30", "F-31"] {
        s.does("eve", clear(finding, Some("ON")));
    }
}

fn fit_on() -> record::act::Fit {
    record::act::Fit { job: job("ON"), ..fit("PUMP") }
}

fn calibrated(s: &mut Scene) {
    let until = jiff::civil::date(2033, 1, 1);
    let certificate = "C-4".into();
    s.does("frank", record::act::Calibrate { tool: id("TW-1"), until, certificate });
}

#[test]
fn from_the_survey_to_a_gate_that_shuts_by_itself() {
    let mut s = Scene::new();
    removal(&mut s);
    plating(&mut s);
    refit(&mut s);
    s.proven().does("gina", open("run")).does("gina", open("taxi"));
    assert!(s.is_open("taxi"));
    let part = &s.programme.shop.parts.parts[&id("PUMP")];
    assert_eq!(part.whereabouts, Whereabouts::Fitted);
    assert_eq!(part.custody.as_ref().unwrap().despatch.order, "PO 5");
    // A leak at the first run: whoever sees it raises it, and the gates are shut.
    s.does("cara", raise("F-32", "PUMP"));
    assert!(!s.is_open("run") && !s.is_open("taxi"));
    let why = s.programme.shop.gates.openings[&id("run")].shut.as_ref().unwrap();
    assert!(why.0.contains("F-32") && why.1.by == id("cara"));
    // Writing it off is no way out: it is on the aircraft.
    let unsalvageable = ClassPart { ..class("PUMP", PartClass::Unsalvageable) };
    assert_eq!(s.refusals("ben", &unsalvageable.into())[0].rule, RuleKey::Tagging);
}
