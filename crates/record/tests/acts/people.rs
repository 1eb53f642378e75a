//! Who may sign.

use jiff::civil::date;
use record::act::{Enrol, Grant, Withdraw};
use record::{Act, Power, Programme, RuleKey as R};

use crate::scene::{Scene, TODAY, card, classify, grant, id, raise, sign, start, step};
use crate::table::{Row, check, row};

const SCOPE: &str =
    "repair-station guidance on registers of signatures: scope and expiry";
const ONE: &str =
    "AC 120-78, definitions as quoted: a signature is traceable to one individual";
const APPOINT: &str = "145.A.35 as remembered: the organisation issues authorisations";

fn withdraw(name: &str, reason: &str) -> Act {
    Withdraw { authority: id(name), reason: reason.into() }.into()
}

fn enrol(person: &str) -> Enrol {
    Enrol {
        person: id(person),
        key: "0123456789abcdef".repeat(4),
        salt: "01".repeat(16),
        derivation: "argon2id m=8 t=1 p=1".into(),
        reason: "first secret".into(),
    }
}

pub(crate) fn rows() -> Vec<Row> {
    vec![
        row("a key is of a person who is there", ONE, R::Known, |_| {
            ("anna", enrol("nobody").into())
        }),
        row("a key has its digits", ONE, R::Stated, |_| {
            ("anna", Enrol { key: "xyz".into(), ..enrol("anna") }.into())
        }),
        row("a key says why it is given", ONE, R::Stated, |_| {
            ("anna", Enrol { reason: String::new(), ..enrol("anna") }.into())
        }),
        row("nobody takes a name by enrolling themselves", ONE, R::Seal, |s| {
            s.does("anna", enrol("anna"));
            ("ben", enrol("ben").into())
        }),
        row("who may not appoint enrols nobody else", ONE, R::Authority, |s| {
            s.does("anna", enrol("anna"));
            ("ben", enrol("cara").into())
        }),
        row("the first authority is one to appoint", APPOINT, R::Appointment, |s| {
            *s = Scene::empty();
            ("anna", grant("A-1", "anna", Power::Certify).into())
        }),
        row("who may not appoint gives no authority", APPOINT, R::Appointment, |_| {
            ("ben", grant("B-1", "cara", Power::Certify).into())
        }),
        row("nobody gives themselves an authority", APPOINT, R::Appointment, |_| {
            ("anna", grant("B-1", "anna", Power::Certify).into())
        }),
        row("an authority names a person who is there", SCOPE, R::Known, |_| {
            ("anna", grant("B-1", "nobody", Power::Certify).into())
        }),
        row("an authority has a name of its own", SCOPE, R::Known, |_| {
            ("anna", grant("A-2", "cara", Power::Certify).into())
        }),
        row("an authority rests on something", SCOPE, R::Stated, |_| {
            let reference = " ".into();
            ("anna", Grant { reference, ..grant("B-1", "cara", Power::Inspect) }.into())
        }),
        row("an authority does not end before it begins", SCOPE, R::Stated, |_| {
            let (from, until) = (date(2033, 1, 1), Some(date(2032, 6, 1)));
            ("anna", Grant { from, until, ..grant("B-1", "cara", Power::Inspect) }.into())
        }),
        row("an authority is not given for days that are over", SCOPE, R::Stated, |_| {
            let until = Some(date(2031, 6, 1));
            ("anna", Grant { until, ..grant("B-1", "cara", Power::Inspect) }.into())
        }),
        row("who may not appoint takes no authority", APPOINT, R::Appointment, |_| {
            ("ben", withdraw("A-5", "left"))
        }),
        row("an authority is taken for a reason", APPOINT, R::Stated, |_| {
            ("anna", withdraw("A-5", ""))
        }),
        row("an authority is taken once", APPOINT, R::Known, |s| {
            s.does("anna", withdraw("A-5", "left"));
            ("anna", withdraw("A-5", "left"))
        }),
        row("what was not given is not taken", APPOINT, R::Known, |_| {
            ("anna", withdraw("A-99", "left"))
        }),
        row(
            "a stranger signs nothing",
            "AC 120-78: traceable to one individual",
            R::Known,
            |_| ("stranger", start("J").into()),
        ),
        row("who has left signs nothing", SCOPE, R::Authority, |_| {
            ("hugo", raise("F-9", "HULL").into())
        }),
        row("an observer signs nothing", ONE, R::Authority, |_| {
            ("olga", raise("F-9", "HULL").into())
        }),
        row("an observer founds no record", ONE, R::Authority, |s| {
            *s = Scene::empty();
            ("olga", enrol("olga").into())
        }),
        row("an observer is given no authority", SCOPE, R::Authority, |_| {
            ("anna", grant("B-1", "olga", Power::Inspect).into())
        }),
        row("without an authority nobody issues a card", SCOPE, R::Authority, |_| {
            ("dan", card("J", vec![step("one")]).into())
        }),
        row("an authority that was taken is over at once", SCOPE, R::Authority, |s| {
            s.does("anna", withdraw("A-2", "moved on"));
            ("ben", card("J", vec![step("one")]).into())
        }),
        row("an authority that ran out is over", SCOPE, R::Authority, |s| {
            let until = Some(TODAY);
            s.does("anna", Grant { until, ..grant("B-1", "dan", Power::Plan) });
            s.does("dan", card("J", vec![step("one")])).on(date(2032, 1, 15));
            ("dan", card("K", vec![step("one")]).into())
        }),
        row("an authority that is to come is not there yet", SCOPE, R::Authority, |s| {
            let from = date(2032, 2, 1);
            s.does("anna", Grant { from, ..grant("B-1", "dan", Power::Plan) });
            ("dan", card("K", vec![step("one")]).into())
        }),
        row(
            "an authority for engines does not cover the hull",
            SCOPE,
            R::Authority,
            |s| {
                let chapters = vec![airframe::Chapter::parse("73").unwrap()];
                s.does(
                    "anna",
                    Grant { chapters, ..grant("B-1", "dan", Power::Classify) },
                );
                s.does("ben", raise("F-9", "HULL"));
                ("dan", classify("F-9", record::Condition::WithinLimits, None).into())
            },
        ),
        row(
            "a clock that was put back is noticed",
            "AMC M.A.305: assured creation date",
            R::Clock,
            |s| {
                s.does("ben", card("J", vec![step("one")]));
                s.later(-30);
                ("ben", start("J").into())
            },
        ),
    ]
}

#[test]
fn who_may_not_is_refused() {
    check(rows());
}

#[test]
fn what_was_signed_stands_when_an_authority_is_taken() {
    let mut scene = Scene::new();
    scene.begun("J").does("ben", sign("J", "one"));
    scene.does("anna", withdraw("A-2", "moved on"));
    let card = &scene.programme.shop.cards.cards[&crate::scene::job("J")];
    assert!(card.steps[0].is_complete());
}

#[test]
fn one_s_own_authority_is_given_up_without_leave() {
    let mut scene = Scene::new();
    scene.does("dan", withdraw("A-5", "my eyes"));
}

#[test]
fn lists_are_changed_by_those_who_plan_and_what_gates_ask_by_those_who_appoint() {
    let scene = Scene::new();
    let before = &scene.programme;
    let mut zones = before.clone();
    zones.zones = record::Register::default();
    let mut gates = before.clone();
    gates.requirements = record::Register::default();
    let refused = |by: &str, wanted: &Programme| {
        let entries = before.changes_to(wanted);
        let refusals = before.restate_refusals(by, TODAY, &entries);
        refusals.into_iter().map(|refusal| refusal.rule).collect::<Vec<_>>()
    };
    assert_eq!(refused("ben", &zones), []);
    assert_eq!(refused("anna", &zones), []);
    assert_eq!(refused("dan", &zones), [R::Authority]);
    assert_eq!(refused("command line", &zones), [R::Authority]);
    assert_eq!(refused("ben", &gates), [R::Authority]);
    assert_eq!(refused("anna", &gates), []);
    // Nothing that changes is nothing to refuse, and somebody has to begin.
    assert_eq!(refused("dan", before), []);
    let empty = Scene::empty().programme;
    let entries = empty.changes_to(&zones);
    assert_eq!(empty.restate_refusals("command line", TODAY, &entries), []);
}

/// Observers sign in, so they have a secret, and they change it by themselves.
#[test]
fn an_observer_changes_their_own_secret() {
    let mut scene = Scene::new();
    scene.does("anna", enrol("anna")).does("anna", enrol("olga"));
    scene.does("olga", enrol("olga"));
    assert_ne!(scene.refusals("olga", &enrol("ben").into()), []);
}
