//! Corrections and records that are rebuilt.

use record::act::{Reconstruct, Strike};
use record::{Act, RuleKey as R};

use crate::scene::{Scene, critical, finish, id, inspect, job, raise, sign};
use crate::table::{Row, check, row};

const CORRECT: &str =
    "practice: strike through legibly, new entry, reason, signature, date";
const REBUILD: &str = "AMC M.A.305(g): lost records, statement of the loss";

fn strike(entry: u64, reason: &str) -> Act {
    Strike { entry, reason: reason.into() }.into()
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
