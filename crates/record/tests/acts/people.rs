//! Who may sign.

use jiff::civil::date;
use record::act::{Grant, Withdraw};
use record::{Act, Power, RuleKey as R};

use crate::scene::{Scene, TODAY, card, classify, grant, id, raise, sign, start, step};
use crate::table::{Row, check, row};

const SCOPE: &str =
    "repair-station guidance on registers of signatures: scope and expiry";
const APPOINT: &str = "145.A.35 as remembered: the organisation issues authorisations";

fn withdraw(name: &str, reason: &str) -> Act {
    Withdraw { authority: id(name), reason: reason.into() }.into()
}

pub(crate) fn rows() -> Vec<Row> {
    vec![
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
