//! Parts, from removal to refit.

use jiff::civil::date;
use record::act::{
    Accept, Certificate, Chase, ClassPart, Despatch, Fit, Life, LifeUnit, Medium, Move,
    PartClass, Quarantine, Receive, Release, Rob, Scrap, ScrapReason, Tag, Use,
};
use record::shop::Whereabouts;
use record::{Act, Condition, RuleKey as R};

use crate::scene::{Scene, certificate, classify, id, job, raise, tag};
use crate::table::{Row, check, row};

const TAG: &str = "AMC1 145.A.42(a)(ii): what an unserviceable tag says";
const CLASS: &str = "145.A.42(a): one class at all times";
const SCRAP: &str = "M.A.504: unsalvageable parts do not come back";
const APART: &str = "M.A.504: unserviceable parts are segregated";
const CUSTODY: &str = "145.A.47: suppliers; M.A.504: custody is logged";
const CHECK: &str = "GM1 M.A.501(b): incoming physical check";
const FORM: &str = "EASA Form 1 instructions: one status, data with revision, serial";
const LIFE: &str = "14 CFR 43.10: control of life-limited parts";

pub(crate) fn class(item: &str, class: PartClass) -> ClassPart {
    ClassPart { item: id(item), class, basis: "card J".into() }
}

pub(crate) fn despatch(item: &str) -> Despatch {
    Despatch {
        item: id(item),
        firm: id("PLATER"),
        order: "PO 4".into(),
        scope: "plate to QQ-1 rev B, invented".into(),
        document: "release certificate".into(),
        due: date(2032, 2, 1),
        preservation: "wrapped".into(),
        carrier: "their van".into(),
        dangerous: None,
        declaration: None,
    }
}

pub(crate) fn receive(item: &str) -> Receive {
    Receive { item: id(item), packing: "whole, capped".into(), place: id("CAGE") }
}

pub(crate) fn accept(item: &str) -> Accept {
    Accept {
        item: id(item),
        certificate: certificate(),
        done: "plated all over".into(),
        complete: true,
    }
}

fn chase(item: &str) -> Chase {
    Chase { item: id(item), answer: "next week".into(), due: None }
}

fn quarantine(item: &str) -> Quarantine {
    Quarantine { item: id(item), reason: "papers of another part".into() }
}

fn release(item: &str) -> Release {
    Release { item: id(item), basis: "the firm wrote".into() }
}

fn scrap(item: &str) -> Scrap {
    let (reason, disposal) = (ScrapReason::NotRepairable, "sawn in two".into());
    Scrap { item: id(item), reason, disposal }
}

fn move_to(item: &str, place: &str) -> Act {
    Move { item: id(item), place: id(place) }.into()
}

fn rob() -> Rob {
    Rob {
        item: id("PUMP"),
        donor: "the invented second airframe".into(),
        recipient: id("HULL"),
        reason: "none to be had".into(),
        finding: id("F-20"),
        lacking: id("PUMP-2"),
        history: "records searched from 1951 on".into(),
    }
}

fn life(used: Option<f64>) -> Life {
    let (limit, unit) = (100.0, LifeUnit::EngineHours);
    Life { item: id("PUMP"), limit, unit, used, basis: "log 3".into() }
}

pub(crate) fn fit(item: &str) -> Fit {
    Fit { item: id(item), job: job("J"), checked: true }
}

/// The pump is away.
fn away(scene: &mut Scene) -> &mut Scene {
    scene.tagged().does("frank", despatch("PUMP"))
}

/// The pump is back and waits for its check.
fn back(scene: &mut Scene) -> &mut Scene {
    away(scene).does("frank", receive("PUMP"))
}

/// The pump is serviceable, and ben is at a card.
fn ready(scene: &mut Scene) -> &mut Scene {
    scene.tagged().does("ben", class("PUMP", PartClass::Serviceable)).begun("J")
}

fn tagging() -> Vec<Row> {
    vec![
        row("a tag says where the part was", TAG, R::Tagging, |_| {
            ("ben", Tag { location: String::new(), ..tag("PUMP") }.into())
        }),
        row("a tag says what is known of its service", TAG, R::Tagging, |_| {
            ("ben", Tag { service: " ".into(), ..tag("PUMP") }.into())
        }),
        row("a tag says how the part is preserved", TAG, R::Tagging, |_| {
            ("ben", Tag { preservation: String::new(), ..tag("PUMP") }.into())
        }),
        row("a part is tagged once", TAG, R::Known, |s| {
            s.tagged();
            ("ben", tag("PUMP").into())
        }),
        row("what never comes off is not tagged", TAG, R::Known, |_| {
            ("ben", tag("HULL").into())
        }),
        row("a tag names a place that there is", TAG, R::Known, |_| {
            ("ben", Tag { place: id("ATTIC"), ..tag("PUMP") }.into())
        }),
        row(
            "a part of limited life is kept from going back unseen",
            LIFE,
            R::Life,
            |s| {
                s.does("gina", life(Some(3.0)));
                ("ben", tag("PUMP").into())
            },
        ),
        row("what is on the aircraft is not moved", TAG, R::Tagging, |_| {
            ("ben", move_to("PUMP", "SHELF"))
        }),
        row("what is off without a tag is tagged first", TAG, R::Tagging, |_| {
            ("ben", move_to("DINGHY", "SHELF"))
        }),
    ]
}

fn classing() -> Vec<Row> {
    vec![
        row("who may not certify makes nothing serviceable", CLASS, R::Authority, |s| {
            s.tagged();
            ("dan", class("PUMP", PartClass::Serviceable).into())
        }),
        row("a class rests on something", CLASS, R::PartClass, |s| {
            s.tagged();
            let basis = String::new();
            ("ben", ClassPart { basis, ..class("PUMP", PartClass::Serviceable) }.into())
        }),
        row(
            "a part with an open finding is not serviceable",
            "145.A.42: information to judge it is there",
            R::Unknown,
            |s| {
                s.tagged().does("ben", raise("F-9", "PUMP"));
                ("ben", class("PUMP", PartClass::Serviceable).into())
            },
        ),
        row(
            "a part from an accident is accepted by an engineer",
            "145.A.50(d): parts from unapproved sources",
            R::Pedigree,
            |s| {
                s.does("ben", Tag { accident: true, ..tag("PUMP") });
                ("ben", class("PUMP", PartClass::Serviceable).into())
            },
        ),
        row("a part whose life is used up is not serviceable", LIFE, R::Life, |s| {
            s.tagged().does("gina", life(Some(100.0)));
            ("ben", class("PUMP", PartClass::Serviceable).into())
        }),
        row(
            "a part of unknown life is not serviceable",
            "GM M.A.305: critical-parts register",
            R::Life,
            |s| {
                s.tagged().does("gina", life(None));
                ("ben", class("PUMP", PartClass::Serviceable).into())
            },
        ),
        row("only an engineer limits a life", LIFE, R::Authority, |_| {
            ("ben", life(None).into())
        }),
        row("a life is more than nothing", LIFE, R::Stated, |_| {
            ("gina", Life { limit: 0.0, ..life(None) }.into())
        }),
        row("days count by themselves", LIFE, R::Stated, |_| {
            let what = "a run".into();
            let unit = LifeUnit::Days;
            (
                "ben",
                Use { items: vec![], amount: 1.0, unit, what, on: crate::scene::TODAY }
                    .into(),
            )
        }),
        row("what is written off does not come back", SCRAP, R::Writeoff, |s| {
            s.tagged().does("ben", scrap("PUMP"));
            ("ben", class("PUMP", PartClass::Serviceable).into())
        }),
        row("what is written off is made unusable", SCRAP, R::Writeoff, |s| {
            s.tagged();
            ("ben", Scrap { disposal: " ".into(), ..scrap("PUMP") }.into())
        }),
        row(
            "who may not certify writes nothing off",
            "AMC M.A.605(c): who decides is traceable",
            R::Authority,
            |s| {
                s.tagged();
                ("frank", scrap("PUMP").into())
            },
        ),
    ]
}

fn travelling() -> Vec<Row> {
    vec![
        row("who may not run stores sends nothing out", CUSTODY, R::Authority, |s| {
            s.tagged();
            ("ben", despatch("PUMP").into())
        }),
        row("what is on the aircraft is not sent out", CUSTODY, R::Tagging, |_| {
            ("frank", despatch("PUMP").into())
        }),
        row("nothing is sent to a firm that comes here", CUSTODY, R::Custody, |s| {
            s.tagged();
            ("frank", Despatch { firm: id("TESTER"), ..despatch("PUMP") }.into())
        }),
        row("a despatch says what is to be done", CUSTODY, R::Custody, |s| {
            s.tagged();
            ("frank", Despatch { scope: String::new(), ..despatch("PUMP") }.into())
        }),
        row("a despatch says what document comes back", CUSTODY, R::Custody, |s| {
            s.tagged();
            ("frank", Despatch { document: " ".into(), ..despatch("PUMP") }.into())
        }),
        row("a despatch is not due in the past", CUSTODY, R::Custody, |s| {
            s.tagged();
            ("frank", Despatch { due: date(2032, 1, 1), ..despatch("PUMP") }.into())
        }),
        row(
            "dangerous goods travel declared",
            "CAP 562: dangerous goods",
            R::DangerousGoods,
            |s| {
                s.tagged();
                (
                    "frank",
                    Despatch { dangerous: Some(Medium::Gas), ..despatch("PUMP") }.into(),
                )
            },
        ),
        row("what is away is not classed", CUSTODY, R::Custody, |s| {
            away(s);
            ("ben", class("PUMP", PartClass::Serviceable).into())
        }),
        row("what is away is not sent out again", CUSTODY, R::Custody, |s| {
            away(s);
            ("frank", despatch("PUMP").into())
        }),
        row("what is here is not asked for", CUSTODY, R::Custody, |s| {
            s.tagged();
            ("frank", chase("PUMP").into())
        }),
        row("what is here is not received", CUSTODY, R::Custody, |s| {
            s.tagged();
            ("frank", receive("PUMP").into())
        }),
        row("the packing is looked at", CHECK, R::Stated, |s| {
            away(s);
            ("frank", Receive { packing: String::new(), ..receive("PUMP") }.into())
        }),
        row(
            "nothing is serviceable before its receiving check",
            CHECK,
            R::ReceivingCheck,
            |s| {
                back(s);
                ("ben", class("PUMP", PartClass::Serviceable).into())
            },
        ),
        row("what was not all done is not accepted", CHECK, R::ReceivingCheck, |s| {
            back(s);
            ("frank", Accept { complete: false, ..accept("PUMP") }.into())
        }),
        row("papers of another part are not accepted", FORM, R::ReleaseDocument, |s| {
            back(s);
            let certificate =
                Certificate { serial: Some("P-78".into()), ..certificate() };
            ("frank", Accept { certificate, ..accept("PUMP") }.into())
        }),
        row(
            "papers without a revision are not accepted",
            FORM,
            R::ReleaseDocument,
            |s| {
                back(s);
                let certificate = Certificate { revision: None, ..certificate() };
                ("frank", Accept { certificate, ..accept("PUMP") }.into())
            },
        ),
        row("papers with two statuses are not accepted", FORM, R::ReleaseDocument, |s| {
            back(s);
            let certificate =
                Certificate { status: "repaired/tested".into(), ..certificate() };
            ("frank", Accept { certificate, ..accept("PUMP") }.into())
        }),
        row("papers without a number are not accepted", FORM, R::ReleaseDocument, |s| {
            back(s);
            let certificate = Certificate { number: " ".into(), ..certificate() };
            ("frank", Accept { certificate, ..accept("PUMP") }.into())
        }),
        row("who may not run stores accepts nothing", CHECK, R::Authority, |s| {
            back(s);
            ("ben", accept("PUMP").into())
        }),
        row("what did not come back is not accepted", CHECK, R::Known, |s| {
            s.tagged();
            ("frank", accept("PUMP").into())
        }),
    ]
}

fn keeping() -> Vec<Row> {
    vec![
        row("nothing is moved out of quarantine", APART, R::Segregation, |s| {
            s.tagged().does("dan", quarantine("PUMP"));
            ("ben", move_to("PUMP", "SHELF"))
        }),
        row("nothing in quarantine is serviceable", APART, R::Segregation, |s| {
            s.tagged().does("dan", quarantine("PUMP"));
            ("ben", class("PUMP", PartClass::Serviceable).into())
        }),
        row("nothing is sent out from quarantine", APART, R::Segregation, |s| {
            s.tagged().does("dan", quarantine("PUMP"));
            ("frank", despatch("PUMP").into())
        }),
        row("quarantine has a reason", APART, R::Stated, |s| {
            s.tagged();
            ("dan", Quarantine { reason: String::new(), ..quarantine("PUMP") }.into())
        }),
        row("who may not run stores releases nothing", APART, R::Authority, |s| {
            s.tagged().does("dan", quarantine("PUMP"));
            ("ben", release("PUMP").into())
        }),
        row("what is not in quarantine is not released", APART, R::Known, |s| {
            s.tagged();
            ("frank", release("PUMP").into())
        }),
        row(
            "robbery needs authority",
            "Australian defence manual: authorised by a named manager",
            R::Authority,
            |s| {
                s.tagged();
                ("ben", rob().into())
            },
        ),
        row(
            "robbery tells the donor what it lacks",
            "Australian defence manual: the donor gets a demand",
            R::Known,
            |s| {
                s.tagged();
                ("gina", Rob { finding: id("F-1"), ..rob() }.into())
            },
        ),
        row(
            "robbery has a reason",
            "Australian defence manual: only when needed",
            R::Stated,
            |s| {
                s.tagged();
                ("gina", Rob { reason: " ".into(), ..rob() }.into())
            },
        ),
        row(
            "a part does not go into itself",
            "Australian defence manual: closely controlled",
            R::Robbery,
            |s| {
                s.tagged();
                ("gina", Rob { recipient: id("PUMP"), ..rob() }.into())
            },
        ),
    ]
}

fn fitting() -> Vec<Row> {
    vec![
        row("an unserviceable part is not fitted", CLASS, R::PartClass, |s| {
            s.tagged().begun("J");
            ("ben", fit("PUMP").into())
        }),
        row("a part in quarantine is not fitted", APART, R::Segregation, |s| {
            ready(s).does("dan", quarantine("PUMP"));
            ("ben", fit("PUMP").into())
        }),
        row(
            "a part is fitted by who is at work",
            "AMC CAO.A.060(h): sign after completion",
            R::Presence,
            |s| {
                ready(s);
                ("dan", fit("PUMP").into())
            },
        ),
        row(
            "the installer looks at part and papers",
            "EASA Form 1: a certificate is no leave to install",
            R::ReceivingCheck,
            |s| {
                ready(s);
                ("ben", Fit { checked: false, ..fit("PUMP") }.into())
            },
        ),
        row("a part whose life ran out in store is not fitted", LIFE, R::Life, |s| {
            let days =
                Life { limit: 10.0, unit: LifeUnit::Days, used: Some(0.0), ..life(None) };
            s.tagged()
                .does("gina", days)
                .does("ben", class("PUMP", PartClass::Serviceable));
            s.on(date(2032, 2, 1)).begun("J");
            ("ben", fit("PUMP").into())
        }),
        row("a part that is away is not fitted", CUSTODY, R::Custody, |s| {
            away(s).begun("J");
            ("ben", fit("PUMP").into())
        }),
        row("what is on the aircraft is not fitted", TAG, R::Tagging, |s| {
            s.begun("J");
            ("ben", fit("PUMP").into())
        }),
    ]
}

pub(crate) fn rows() -> Vec<Row> {
    [tagging(), classing(), travelling(), keeping(), fitting()]
        .into_iter()
        .flatten()
        .collect()
}

#[test]
fn parts_do_not_go_astray() {
    check(rows());
}

#[test]
fn a_part_goes_out_comes_back_and_is_fitted() {
    let mut scene = Scene::new();
    away(&mut scene)
        .does("frank", Chase { due: Some(date(2032, 2, 9)), ..chase("PUMP") });
    let part = |scene: &Scene| scene.programme.shop.parts.parts[&id("PUMP")].clone();
    assert_eq!(part(&scene).whereabouts, Whereabouts::Away(id("PLATER")));
    let custody = part(&scene).custody.unwrap();
    assert_eq!((custody.due, custody.chased), (date(2032, 2, 9), 1));
    scene.does("frank", receive("PUMP")).does("frank", accept("PUMP")).begun("J");
    scene.does("ben", fit("PUMP"));
    assert!(part(&scene).is_fitted() && !scene.programme.is_off(&id("PUMP")));
}

#[test]
fn robbery_raises_a_finding_on_the_donor_and_doubts_the_part() {
    let mut scene = Scene::new();
    scene.tagged().does("gina", rob());
    assert_eq!(scene.programme.item_of_finding(&id("F-20")), Some(&id("PUMP-2")));
    let refusals = scene.refusals("ben", &class("PUMP", PartClass::Serviceable).into());
    assert_eq!(refusals.len(), 1);
    assert_eq!(refusals[0].rule, R::Pedigree);
    scene.does("gina", class("PUMP", PartClass::Serviceable));
}

#[test]
fn what_is_used_counts_for_what_is_fitted() {
    let mut scene = Scene::new();
    scene.does("gina", life(Some(97.0)));
    let run = |amount| Use {
        items: vec![],
        amount,
        unit: LifeUnit::EngineHours,
        what: "ground run".into(),
        on: crate::scene::TODAY,
    };
    scene.does("ben", run(2.0));
    let left = |scene: &Scene| {
        let part = &scene.programme.shop.parts.parts[&id("PUMP")];
        part.life.as_ref().unwrap().left(scene.at.date())
    };
    assert_eq!(left(&scene), Some(1.0));
    scene.does("ben", run(1.0));
    assert_eq!(left(&scene), Some(0.0));
    scene.does("ben", tag("DINGHY")).proven();
    scene.does("eve", classify("F-1", Condition::WithinLimits, Some("taxi")));
    let refusals = scene.refusals("gina", &crate::scene::open("run").into());
    assert_eq!(refusals.iter().map(|r| r.rule).collect::<Vec<_>>(), [R::Life]);
}
