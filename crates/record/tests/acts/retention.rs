//! How long copies are kept, and what never goes.

use jiff::civil::{Date, date};
use record::act::{Discard, Evidence, EvidenceKind, RecordClass};
use record::{Keep, Retention, RuleKey as R};

use crate::examinations::{batch, report, request};
use crate::scene::{Scene, TODAY, evidence, id, tag};
use crate::table::{Row, check, row};

const KEPT: &str = "145.A.55 and M.A.305: records are kept for their time";
const FOR_EVER: &str = "practice: what an aircraft that outlives its makers is known by is kept for its life";

fn discard(record: &str, class: RecordClass, made: Date) -> Discard {
    let (record, reason, how) = (record.into(), "time over".into(), "shredded".into());
    Discard { record, class, made, reason, how }
}

/// Letters for ten years, materials for three; all else for life.
fn profile(s: &mut Scene) -> &mut Scene {
    let kept = |id, years| Retention {
        id,
        years: Some(years),
        citation: Some("an invented manual".into()),
        note: None,
    };
    let kept = [kept(RecordClass::Letters, 10), kept(RecordClass::Materials, 3)];
    s.programme.retention = kept.into_iter().collect();
    s
}

fn old() -> Discard {
    discard("folder 3", RecordClass::Letters, date(2022, 1, 13))
}

pub(crate) fn rows() -> Vec<Row> {
    vec![
        row("what nobody named is kept for life", FOR_EVER, R::Retention, |_| {
            ("gina", discard("folder 3", RecordClass::Letters, date(1950, 1, 1)).into())
        }),
        row("the structure's is kept for life", FOR_EVER, R::Retention, |s| {
            profile(s);
            ("gina", discard("a", RecordClass::Structure, date(1950, 1, 1)).into())
        }),
        row("a copy is kept to the last day", KEPT, R::Retention, |s| {
            profile(s);
            let made = date(2022, 1, 14);
            ("gina", Discard { made, ..old() }.into())
        }),
        row("an entry never goes", FOR_EVER, R::Retention, |s| {
            profile(s);
            ("gina", Discard { record: "entry 4".into(), ..old() }.into())
        }),
        row("who may not release discards nothing", KEPT, R::Authority, |s| {
            profile(s);
            ("ben", old().into())
        }),
        row("a copy goes for a reason", KEPT, R::Stated, |s| {
            profile(s);
            ("gina", Discard { reason: " ".into(), ..old() }.into())
        }),
        row("a copy says how it goes", KEPT, R::Stated, |s| {
            profile(s);
            ("gina", Discard { how: " ".into(), ..old() }.into())
        }),
        row("a copy goes once", KEPT, R::Known, |s| {
            profile(s).does("gina", old());
            ("gina", old().into())
        }),
        row("what is evidence is kept whatever it is called", KEPT, R::Retention, |s| {
            profile(s).does("ben", evidence("brakes", EvidenceKind::Report));
            ("gina", Discard { record: "R-5".into(), ..old() }.into())
        }),
        row("the photograph of a tag is kept", KEPT, R::Retention, |s| {
            let photograph = Some("abc".into());
            profile(s).does("ben", record::act::Tag { photograph, ..tag("PUMP") });
            ("gina", Discard { record: "abc".into(), ..old() }.into())
        }),
        row("the report of an examination is kept", KEPT, R::Retention, |s| {
            profile(s).does("ben", request("X-1"));
            let document = Some("abc".into());
            s.does("dan", record::act::ReportNdt { document, ..report("R-1") });
            ("gina", Discard { record: "abc".into(), ..old() }.into())
        }),
        row("material that was drawn late is kept from then", KEPT, R::Retention, |s| {
            profile(s).does("frank", batch(date(2040, 1, 1)));
            s.on(date(2034, 1, 14)).begun("J");
            let (batch, quantity) = (id("B-1"), 0.5);
            let job = crate::scene::job("J");
            s.does("ben", record::act::Draw { batch, job, quantity });
            s.on(date(2036, 1, 14));
            ("gina", discard("C 3", RecordClass::Materials, TODAY).into())
        }),
        row("what was discarded shows nothing", KEPT, R::GateEvidence, |s| {
            profile(s).does("gina", old());
            let reference = "folder 3".into();
            let kind = EvidenceKind::Report;
            ("ben", Evidence { reference, ..evidence("brakes", kind) }.into())
        }),
    ]
}

#[test]
fn records_are_kept() {
    check(rows());
}

#[test]
fn a_period_ends_with_its_last_day() {
    let mut s = Scene::new();
    let keeps = |s: &Scene, class| s.programme.keeps(class, date(2024, 2, 29));
    assert_eq!(keeps(&s, RecordClass::Letters), Keep::Life);
    profile(&mut s);
    let letters = keeps(&s, RecordClass::Letters);
    assert_eq!(letters, Keep::Until(date(2034, 2, 28)));
    assert!(letters.holds(date(2034, 2, 28)) && !letters.holds(date(2034, 3, 1)));
    assert_eq!(keeps(&s, RecordClass::Work), Keep::Life);
    s.programme.retention = [Retention {
        id: RecordClass::Work,
        years: Some(u32::MAX),
        citation: None,
        note: None,
    }]
    .into_iter()
    .collect();
    assert_eq!(keeps(&s, RecordClass::Work), Keep::Life);
}

#[test]
fn what_may_go_goes() {
    let mut s = Scene::new();
    profile(&mut s).does("gina", old());
    assert!(s.programme.is_discarded("folder 3") && !s.programme.is_discarded("abc"));
}
