//! Corrections and records that are rebuilt.

use record::act::{Reconstruct, RightClock, Strike};
use record::{Act, RuleKey as R};

use crate::scene::{Scene, critical, finish, id, inspect, job, raise, sign};
use crate::table::{Row, check, row};

const CORRECT: &str =
    "practice: strike through legibly, new entry, reason, signature, date";
const CLOCK: &str = "AMC M.A.305: electronic records show when each entry was made";
const REBUILD: &str = "AMC M.A.305(g): lost records, statement of the loss";

fn strike(entry: u64, reason: &str) -> Act {
    Strike { entry, reason: reason.into() }.into()
}

fn right(reason: &str) -> Act {
    RightClock { reason: reason.into() }.into()
}

/// Somebody's clock ran ahead when they signed, and is right again.
fn ahead(s: &mut Scene) {
    s.later(60 * 24 * 900);
    s.does("ben", raise("F-90", "HULL"));
    s.later(-60 * 24 * 900);
}

fn rebuild() -> Reconstruct {
    Reconstruct {
        lost: "engine log 2, 1951 to 1953".into(),
        content: "about 300 hours".into(),
        evidence: vec!["journey log".into()],
        confidence: "within 50 hours; nothing is known of repairs".into(),
    }
}

pub(crate) fn rows() -> Vec<Row> {
    vec![
        row("what is dated ahead keeps others from signing", CLOCK, R::Clock, |s| {
            ahead(s);
            ("ben", raise("F-91", "HULL").into())
        }),
        row("who may not appoint puts no clock right", CLOCK, R::Authority, |s| {
            ahead(s);
            ("ben", right("it ran ahead"))
        }),
        row("which clock was wrong is said", CLOCK, R::Stated, |s| {
            ahead(s);
            ("anna", right(""))
        }),
        row("a clock that is right is not put right", CLOCK, R::Clock, |_| {
            ("anna", right("it ran ahead"))
        }),
        row("nothing is struck without a reason", CORRECT, R::Correction, |s| {
            s.begun("J").does("ben", sign("J", "one"));
            ("ben", strike(s.number, " "))
        }),
        row("nobody strikes what others signed", CORRECT, R::Correction, |s| {
            s.begun("J").does("ben", sign("J", "one"));
            ("dan", strike(s.number, "wrong bolt"))
        }),
        row("nothing is struck twice", CORRECT, R::Known, |s| {
            s.begun("J").does("ben", sign("J", "one"));
            let entry = s.number;
            s.does("ben", strike(entry, "wrong bolt"));
            ("ben", strike(entry, "wrong bolt"))
        }),
        row("a finding is not struck away", CORRECT, R::Correction, |s| {
            s.does("ben", raise("F-9", "HULL"));
            ("ben", strike(s.number, "not so bad"))
        }),
        row("what is not there is not struck", CORRECT, R::Correction, |_| {
            ("ben", strike(9_999, "gone"))
        }),
        row("a rebuilt record states the loss", REBUILD, R::Reconstruction, |_| {
            ("ben", Reconstruct { lost: String::new(), ..rebuild() }.into())
        }),
        row("a rebuilt record rests on something", REBUILD, R::Reconstruction, |_| {
            ("ben", Reconstruct { evidence: vec![], ..rebuild() }.into())
        }),
        row("a rebuilt record says how sure it is", REBUILD, R::Reconstruction, |_| {
            ("ben", Reconstruct { confidence: " ".into(), ..rebuild() }.into())
        }),
        row("who may not certify rebuilds nothing", REBUILD, R::Authority, |_| {
            ("dan", rebuild().into())
        }),
    ]
}

#[test]
fn history_is_not_rewritten() {
    check(rows());
}

#[test]
fn a_signature_that_is_struck_takes_its_inspections_with_it() {
    let mut scene = Scene::new();
    scene.critical("J");
    let signature = scene.number;
    scene.does("dan", inspect("J", "lock")).does("eve", inspect("J", "lock"));
    scene.does("ben", finish("J")).does("ben", strike(signature, "wrong side"));
    let card = &scene.programme.shop.cards.cards[&job("J")];
    assert!(!card.is_finished() && card.steps[0].first.is_none());
    assert_eq!(card.steps[0].spec, critical("lock"));
    assert!(scene.programme.shop.strikes.struck.contains_key(&signature));
    assert!(card.step(&id("lock")).unwrap().void.contains(&signature));
}

#[test]
fn a_clock_that_ran_ahead_locks_nobody_out_for_ever() {
    let mut scene = Scene::new();
    ahead(&mut scene);
    scene
        .does("anna", right("the bench clock ran ahead"))
        .does("ben", raise("F-91", "HULL"));
    // What was signed meanwhile stands.
    assert!(scene.programme.shop.findings.states.contains_key(&id("F-90")));
}
