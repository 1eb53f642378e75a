//! Findings through their life.

use jiff::civil::date;
use record::act::{AlsoChecked, Assign, Clear, Defer, Raise, Revive, Spot, Temporary};
use record::{Act, Condition as C, RuleKey as R, View};

use crate::scene::{Scene, classify, clear, id, job, raise};
use crate::table::{Row, check, row};

const FOUND: &str = "M.A.403(c): from the date first identified";
const CLASS: &str =
    "M.A.403(b): only authorised staff decide on a defect and on deferral";
const LIMIT: &str =
    "AC 43.13-1B 6-113: without limits an engineering authority is consulted";
const CARRY: &str = "AMC M.A.403(d): carried forward with its date; cumulative effect";
const TEMPORARY: &str =
    "US Army maintenance forms: a temporary repair closes one and opens another";
const EQUAL: &str = "14 CFR 43.13(b): at least equal to original condition";
const SOON: &str = "M.A.403(c): as soon as practicable; AMC 145.A.47: work is planned";
const CAUSE: &str = "AMC M.A.403(b): assess cause and effect, alone or combined";

fn defer(finding: &str) -> Defer {
    Defer {
        finding: id(finding),
        allows: id("taxi"),
        limitation: "taxi below 20 knots".into(),
        until: id("S2"),
        reason: "weighed beside F-1".into(),
    }
}

fn temporary(finding: &str) -> Temporary {
    Temporary {
        finding: id(finding),
        job: job("J"),
        what: "a patch".into(),
        follow_up: id("F-10"),
        due: None,
    }
}

fn revive(finding: &str, reason: &str) -> Act {
    Revive { finding: id(finding), reason: reason.into() }.into()
}

fn assign(finding: &str) -> Assign {
    Assign {
        finding: id(finding),
        pack: id("BOTTOM"),
        route: id("patch"),
        reason: "the hull is open".into(),
    }
}

fn looked(finding: &str, item: &str) -> AlsoChecked {
    AlsoChecked {
        finding: id(finding),
        item: id(item),
        result: "sound".into(),
        raised: None,
    }
}

fn raising() -> Vec<Row> {
    vec![
        row("a finding has a name of its own", FOUND, R::Known, |_| {
            ("ben", raise("F-1", "HULL").into())
        }),
        row("a finding is on an item that there is", FOUND, R::Known, |_| {
            ("ben", raise("F-9", "NO-SUCH").into())
        }),
        row("a finding says what was seen", FOUND, R::Stated, |_| {
            ("ben", Raise { what: "  ".into(), ..raise("F-9", "HULL") }.into())
        }),
        row("nothing is found tomorrow", FOUND, R::FoundDate, |_| {
            ("ben", Raise { found: date(2032, 1, 15), ..raise("F-9", "HULL") }.into())
        }),
        row("a finding is in a zone that there is", FOUND, R::Known, |_| {
            ("ben", Raise { zone: Some(id("tail")), ..raise("F-9", "HULL") }.into())
        }),
        row("a mark is on a drawing that there is", FOUND, R::Known, |_| {
            let mark = Some(Spot { view: View::Side, x: 1.0, y: 2.0 });
            ("ben", Raise { mark, ..raise("F-9", "HULL") }.into())
        }),
        row("who may not class does not", CLASS, R::Authority, |s| {
            s.does("ben", raise("F-9", "HULL"));
            ("ben", classify("F-9", C::WithinLimits, None).into())
        }),
        row("a class rests on a limit", LIMIT, R::Classification, |s| {
            s.does("ben", raise("F-9", "HULL"));
            let mut act = classify("F-9", C::WithinLimits, None);
            act.basis = String::new();
            ("eve", act.into())
        }),
        row(
            "a hazard allows no gate",
            "ANO 2016 art 47: never with a known hazard",
            R::GateHazard,
            |s| {
                s.does("ben", raise("F-9", "HULL"));
                ("eve", classify("F-9", C::Hazard, Some("taxi")).into())
            },
        ),
        row(
            "what is not known allows no gate",
            "condition unknown is a state of its own (US Army forms)",
            R::Unknown,
            |s| {
                s.does("ben", raise("F-9", "HULL"));
                ("eve", classify("F-9", C::Unknown, Some("taxi")).into())
            },
        ),
        row("a class names a gate that there is", CLASS, R::Known, |s| {
            s.does("ben", raise("F-9", "HULL"));
            ("eve", classify("F-9", C::WithinLimits, Some("orbit")).into())
        }),
        row("what nobody found is not classed", CLASS, R::Known, |_| {
            ("eve", classify("F-99", C::WithinLimits, None).into())
        }),
    ]
}

fn assigning() -> Vec<Row> {
    vec![
        row("work is assigned by whoever plans", SOON, R::Authority, |_| {
            ("eve", assign("F-1").into())
        }),
        row("work is assigned to a finding that there is", SOON, R::Known, |_| {
            ("ben", assign("F-9").into())
        }),
        row("work is assigned to a pack that there is", SOON, R::Known, |_| {
            ("ben", Assign { pack: id("NO-SUCH"), ..assign("F-1") }.into())
        }),
        row("work follows a route that there is", SOON, R::Known, |_| {
            ("ben", Assign { route: id("no-such"), ..assign("F-1") }.into())
        }),
        row("why work is done then is said", SOON, R::Stated, |_| {
            ("ben", Assign { reason: " ".into(), ..assign("F-1") }.into())
        }),
        row("nothing is assigned to what is cleared", SOON, R::Known, |s| {
            s.survey_cleared();
            ("ben", assign("F-1").into())
        }),
        row("a chain on which somebody worked is not exchanged", SOON, R::Known, |s| {
            s.does("ben", assign("F-1")).begun("F-1:strip");
            ("ben", Assign { route: id("insert"), ..assign("F-1") }.into())
        }),
    ]
}

fn carrying() -> Vec<Row> {
    vec![
        row("who may not defer does not", CLASS, R::Authority, |s| {
            s.classed("F-9", C::OutsideLimits);
            ("ben", defer("F-9").into())
        }),
        row("a hazard is not carried forward", CARRY, R::Deferral, |s| {
            s.does("eve", classify("F-1", C::WithinLimits, Some("flight")));
            s.classed("F-9", C::Hazard);
            // Nothing above no gate either: both reasons are the same rule.
            ("eve", defer("F-9").into())
        }),
        row("what is not known is not carried forward", CARRY, R::Unknown, |s| {
            s.does("ben", raise("F-9", "HULL"));
            ("eve", defer("F-9").into())
        }),
        row(
            "a deferral has a limitation",
            "ANO 2016 art 47: limitations if any",
            R::Stated,
            |s| {
                s.classed("F-9", C::OutsideLimits);
                ("eve", Defer { limitation: " ".into(), ..defer("F-9") }.into())
            },
        ),
        row("a deferral has a reason", CARRY, R::Stated, |s| {
            s.classed("F-9", C::OutsideLimits);
            ("eve", Defer { reason: String::new(), ..defer("F-9") }.into())
        }),
        row("a deferral ends with a season that there is", CARRY, R::Known, |s| {
            s.classed("F-9", C::OutsideLimits);
            ("eve", Defer { until: id("S9"), ..defer("F-9") }.into())
        }),
        row("a deferral does not end before it begins", CARRY, R::Deferral, |s| {
            s.classed("F-9", C::OutsideLimits).on(date(2032, 6, 1));
            ("eve", Defer { until: id("S1"), ..defer("F-9") }.into())
        }),
        row("a deferral allows no more than its class", CLASS, R::Deferral, |s| {
            s.classed("F-9", C::OutsideLimits);
            ("eve", Defer { allows: id("flight"), ..defer("F-9") }.into())
        }),
        row("a temporary repair has its card", TEMPORARY, R::Known, |s| {
            s.classed("F-9", C::OutsideLimits);
            ("eve", temporary("F-9").into())
        }),
        row("the card of a temporary repair is complete", TEMPORARY, R::Restored, |s| {
            s.classed("F-9", C::OutsideLimits).begun("J");
            ("eve", temporary("F-9").into())
        }),
        row("the follow-up of a temporary repair is new", TEMPORARY, R::Known, |s| {
            s.classed("F-9", C::OutsideLimits).finished("J");
            ("eve", Temporary { follow_up: id("F-1"), ..temporary("F-9") }.into())
        }),
    ]
}

fn clearing() -> Vec<Row> {
    vec![
        row("who may not clear does not", CLASS, R::Authority, |s| {
            s.classed("F-9", C::WithinLimits);
            ("ben", clear("F-9", None).into())
        }),
        row(
            "what nobody has classed is not cleared",
            "condition unknown is a state of its own (US Army forms)",
            R::Unknown,
            |s| {
                s.does("ben", raise("F-9", "HULL"));
                ("eve", clear("F-9", None).into())
            },
        ),
        row("what is outside limits is put right on a card", EQUAL, R::Restored, |s| {
            s.classed("F-9", C::OutsideLimits);
            ("eve", clear("F-9", None).into())
        }),
        row("the card that puts right is complete", EQUAL, R::Restored, |s| {
            s.classed("F-9", C::OutsideLimits).begun("J");
            ("eve", clear("F-9", Some("J")).into())
        }),
        row("it is said why all is well", EQUAL, R::Restored, |s| {
            s.classed("F-9", C::WithinLimits);
            ("eve", Clear { statement: " ".into(), ..clear("F-9", None) }.into())
        }),
        row("the other side is looked at first", CAUSE, R::AlsoCheck, |s| {
            s.does("ben", Raise { also: vec![id("PUMP-2")], ..raise("F-9", "PUMP") });
            s.does("eve", classify("F-9", C::WithinLimits, None));
            ("eve", clear("F-9", None).into())
        }),
        row(
            "what nobody asked to look at is a finding of its own",
            CAUSE,
            R::Known,
            |s| {
                s.does("ben", raise("F-9", "PUMP"));
                ("ben", looked("F-9", "PUMP-2").into())
            },
        ),
        row("a look elsewhere has a result", CAUSE, R::Stated, |s| {
            s.does("ben", Raise { also: vec![id("PUMP-2")], ..raise("F-9", "PUMP") });
            (
                "ben",
                AlsoChecked { result: String::new(), ..looked("F-9", "PUMP-2") }.into(),
            )
        }),
        row("what is cleared is not cleared again", EQUAL, R::Known, |s| {
            s.classed("F-9", C::WithinLimits).does("eve", clear("F-9", None));
            ("eve", clear("F-9", None).into())
        }),
        row("what is open is not opened", FOUND, R::Known, |s| {
            s.classed("F-9", C::WithinLimits);
            ("ben", revive("F-9", "it is back"))
        }),
        row("a finding is opened again for a reason", FOUND, R::Stated, |s| {
            s.classed("F-9", C::WithinLimits).does("eve", clear("F-9", None));
            ("ben", revive("F-9", ""))
        }),
    ]
}

pub(crate) fn rows() -> Vec<Row> {
    [raising(), assigning(), carrying(), clearing()].into_iter().flatten().collect()
}

#[test]
fn findings_are_not_talked_away() {
    check(rows());
}

#[test]
fn what_is_assigned_counts_in_place_of_the_list() {
    let mut scene = Scene::new();
    let work = |scene: &Scene| {
        let (pack, route) = scene.programme.work_of_finding(&id("F-1"));
        (pack.cloned(), route.cloned())
    };
    assert_eq!(work(&scene), (None, None));
    scene.does("ben", assign("F-1"));
    assert_eq!(work(&scene), (Some(id("BOTTOM")), Some(id("patch"))));
    // The season may change while its chain is worked on, the chain may not.
    scene.begun("F-1:strip").does("ben", assign("F-1"));
    scene.does("eve", classify("F-1", C::WithinLimits, None));
    assert_eq!(work(&scene).1, Some(id("patch")));
}

#[test]
fn a_temporary_repair_opens_its_follow_up() {
    let mut scene = Scene::new();
    scene.classed("F-9", C::OutsideLimits).finished("J").does("eve", temporary("F-9"));
    let states = &scene.programme.shop.findings.states;
    assert!(states[&id("F-9")].is_cleared());
    let follow_up = &states[&id("F-10")];
    assert_eq!(follow_up.follows, Some(id("F-9")));
    assert_eq!(follow_up.condition(), C::Unknown);
    assert_eq!(scene.programme.item_of_finding(&id("F-10")), Some(&id("HULL")));
}

#[test]
fn the_day_of_a_finding_never_moves() {
    let mut scene = Scene::new();
    scene.classed("F-9", C::WithinLimits).on(date(2032, 3, 1));
    scene.does("eve", clear("F-9", None)).does("ben", revive("F-9", "it is back"));
    assert_eq!(scene.programme.day_of_finding(&id("F-9")), Some(crate::scene::TODAY));
    assert_eq!(scene.programme.day_of_finding(&id("F-1")), Some(date(2031, 10, 1)));
    let state = &scene.programme.shop.findings.states[&id("F-9")];
    assert_eq!(state.condition(), C::Unknown);
}

#[test]
fn what_is_carried_forward_in_one_place_adds_up() {
    let mut scene = Scene::new();
    for name in ["F-9", "F-10", "F-11"] {
        let zone = Some(id("bow"));
        scene.does("ben", Raise { zone, ..raise(name, "HULL") });
        scene.does("eve", classify(name, C::OutsideLimits, Some("taxi")));
        let act = defer(name);
        let cautions = scene.programme.cautions(&act.clone().into(), &scene.stamp("eve"));
        assert_eq!(cautions.len(), usize::from(name == "F-11"), "{cautions:?}");
        scene.does("eve", act);
    }
}
