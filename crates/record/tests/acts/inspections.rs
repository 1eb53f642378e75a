//! Inspections, what re-arms them, and questions about data.

use record::act::{Answer, Countersign, Disturb, Inspect, Query, SignStep, Verdict};
use record::{Act, RuleKey as R};

use crate::scene::{
    Scene, card, critical, finish, id, inspect, job, raise, sign, start, step,
};
use crate::table::{Row, check, row};

const TWO: &str =
    "UK permit practice: duplicate inspection, both signatures before release";
const INDEPENDENT: &str =
    "AMC4 145.A.48 (a),(b), from memory: qualified, not involved in the task";
const CONTENT: &str = "AMC4 145.A.48 (c): connections, locking, travel, sense";
const UNFORESEEN: &str = "AMC4 145.A.48 (d): re-inspection by the same person";
const QUERY: &str =
    "145.A.45(c): wrong or ambiguous data are recorded and told to their author";

fn query(name: &str, step: &str) -> Act {
    let (query, job) = (id(name), job("J"));
    let (to, question) = ("the drawing office".into(), "which bolt?".into());
    Query { query, job, step: id(step), to, question }.into()
}

fn answer(name: &str, conceded: bool) -> Answer {
    let (answer, reference) = ("the longer one".into(), "letter 4".into());
    Answer { query: id(name), answer, reference, conceded }
}

fn disturb(steps: &[&str]) -> Disturb {
    let steps = steps.iter().map(|step| id(step)).collect();
    Disturb { job: job("J"), steps, reason: "a cable had to come off again".into() }
}

fn inspecting() -> Vec<Row> {
    vec![
        row(
            "who may not inspect does not",
            "145.A.35: scope of authorisation",
            R::Authority,
            |s| {
                s.critical("J");
                ("frank", inspect("J", "lock").into())
            },
        ),
        row("who did the work does not inspect it", INDEPENDENT, R::Independence, |s| {
            s.critical("J")
                .does("anna", crate::scene::grant("B-1", "ben", record::Power::Inspect));
            ("ben", inspect("J", "lock").into())
        }),
        row(
            "nothing is inspected before it is signed",
            "first and second order, from memory; release last",
            R::InspectionOrder,
            |s| {
                s.does("ben", card("J", vec![critical("lock")])).does("ben", start("J"));
                ("dan", inspect("J", "lock").into())
            },
        ),
        row(
            "nothing is inspected before the supervisor signed",
            "14 CFR 43.3(d)",
            R::InspectionOrder,
            |s| {
                s.begun("J").does("cara", start("J"));
                let supervisor = Some(id("ben"));
                s.does("cara", SignStep { supervisor, ..sign("J", "one") });
                ("dan", inspect("J", "one").into())
            },
        ),
        row("it is said what was looked at", CONTENT, R::InspectionContent, |s| {
            s.critical("J");
            ("dan", Inspect { checked: vec![" ".into()], ..inspect("J", "lock") }.into())
        }),
        row(
            "a failed inspection names its finding",
            "145.A.50(c): new defects are notified",
            R::FailedInspection,
            |s| {
                s.critical("J");
                ("dan", Inspect { verdict: Verdict::Fail, ..inspect("J", "lock") }.into())
            },
        ),
        row(
            "the finding of a failed inspection exists",
            "145.A.50(c): new defects are notified",
            R::Known,
            |s| {
                s.critical("J");
                let finding = Some(id("F-99"));
                (
                    "dan",
                    Inspect { verdict: Verdict::Fail, finding, ..inspect("J", "lock") }
                        .into(),
                )
            },
        ),
        row("who inspected first does not inspect second", TWO, R::Independence, |s| {
            s.critical("J").does("dan", inspect("J", "lock"));
            ("dan", inspect("J", "lock").into())
        }),
        row(
            "who worked on the card does not inspect second",
            INDEPENDENT,
            R::Independence,
            |s| {
                s.critical("J").does("eve", start("J")).does("dan", inspect("J", "lock"));
                ("eve", inspect("J", "lock").into())
            },
        ),
        row("one person twice needs leave of another", UNFORESEEN, R::Unforeseen, |s| {
            s.critical("J").does("dan", inspect("J", "lock"));
            let (alone, allowed_by) = (Some("eve fell ill".into()), Some(id("frank")));
            ("dan", Inspect { alone, allowed_by, ..inspect("J", "lock") }.into())
        }),
        row("one person twice needs a reason", UNFORESEEN, R::Unforeseen, |s| {
            s.critical("J").does("dan", inspect("J", "lock"));
            let (alone, allowed_by) = (Some(" ".into()), Some(id("gina")));
            ("dan", Inspect { alone, allowed_by, ..inspect("J", "lock") }.into())
        }),
        row("two inspections are enough", TWO, R::Known, |s| {
            s.critical("J")
                .does("dan", inspect("J", "lock"))
                .does("eve", inspect("J", "lock"));
            ("dan", inspect("J", "lock").into())
        }),
        row(
            "the next step waits for the inspection",
            "145.A.45(e): the error-capturing step",
            R::InspectionOrder,
            |s| {
                s.does("ben", card("J", vec![critical("lock"), step("cover")]));
                s.does("ben", start("J")).does("ben", sign("J", "lock"));
                s.does("dan", inspect("J", "lock"));
                ("ben", sign("J", "cover").into())
            },
        ),
        row(
            "a card is not complete with one inspection of two",
            TWO,
            R::Completion,
            |s| {
                s.critical("J").does("dan", inspect("J", "lock"));
                ("ben", finish("J").into())
            },
        ),
        row("a step that there is not is not inspected", CONTENT, R::Known, |s| {
            s.critical("J");
            ("dan", inspect("J", "nine").into())
        }),
        row(
            "a volunteer inspects nothing",
            "14 CFR 43.3(d): not for required inspections",
            R::Supervision,
            |s| {
                s.critical("J").does(
                    "anna",
                    crate::scene::grant("B-1", "cara", record::Power::Inspect),
                );
                ("cara", inspect("J", "lock").into())
            },
        ),
    ]
}

fn others() -> Vec<Row> {
    vec![
        row(
            "only the supervisor who is named countersigns",
            "14 CFR 43.3(d)",
            R::Supervision,
            |s| {
                s.begun("J").does("cara", start("J"));
                s.does(
                    "anna",
                    crate::scene::grant("B-1", "dan", record::Power::Supervise),
                );
                s.does(
                    "cara",
                    SignStep { supervisor: Some(id("ben")), ..sign("J", "one") },
                );
                ("dan", Countersign { job: job("J"), step: id("one") }.into())
            },
        ),
        row(
            "nothing is countersigned before it is signed",
            "14 CFR 43.3(d)",
            R::InspectionOrder,
            |s| {
                s.begun("J");
                ("ben", Countersign { job: job("J"), step: id("one") }.into())
            },
        ),
        row(
            "what was disturbed is named",
            "vital points: after disconnection or adjustment",
            R::Stated,
            |s| {
                s.critical("J");
                ("ben", disturb(&[]).into())
            },
        ),
        row(
            "what is not signed is not undone",
            "vital points: after disconnection or adjustment",
            R::Known,
            |s| {
                s.begun("J");
                ("ben", disturb(&["one"]).into())
            },
        ),
        row(
            "a disturbance says what happened",
            "vital points: after disconnection or adjustment",
            R::Stated,
            |s| {
                s.critical("J");
                ("ben", Disturb { reason: String::new(), ..disturb(&["lock"]) }.into())
            },
        ),
        row("a step waits for the answer about its data", QUERY, R::DataQuery, |s| {
            s.begun("J").does("ben", query("Q-1", "one"));
            ("ben", sign("J", "one").into())
        }),
        row("a query has a name of its own", QUERY, R::Known, |s| {
            s.begun("J").does("ben", query("Q-1", "one"));
            ("ben", query("Q-1", "two"))
        }),
        row("what is signed is not asked about", QUERY, R::Known, |s| {
            s.begun("J").does("ben", sign("J", "one"));
            ("ben", query("Q-1", "one"))
        }),
        row("an answer stands somewhere", QUERY, R::Stated, |s| {
            s.begun("J").does("ben", query("Q-1", "one"));
            ("ben", Answer { reference: " ".into(), ..answer("Q-1", false) }.into())
        }),
        row("only an engineer concedes", QUERY, R::Authority, |s| {
            s.begun("J").does("ben", query("Q-1", "one"));
            ("ben", answer("Q-1", true).into())
        }),
        row("what was answered is not answered again", QUERY, R::Known, |s| {
            s.begun("J")
                .does("ben", query("Q-1", "one"))
                .does("ben", answer("Q-1", false));
            ("ben", answer("Q-1", false).into())
        }),
        row("what nobody asked is not answered", QUERY, R::Known, |_| {
            ("ben", answer("Q-9", false).into())
        }),
    ]
}

pub(crate) fn rows() -> Vec<Row> {
    [inspecting(), others()].into_iter().flatten().collect()
}

#[test]
fn inspections_that_prove_nothing_are_refused() {
    check(rows());
}

#[test]
fn a_disturbance_arms_both_inspections_again() {
    let mut scene = Scene::new();
    scene
        .critical("J")
        .does("dan", inspect("J", "lock"))
        .does("eve", inspect("J", "lock"));
    scene.does("ben", finish("J")).does("cara", disturb(&["lock"]));
    let card = &scene.programme.shop.cards.cards[&job("J")];
    assert!(!card.is_finished() && card.steps[0].signed.is_none());
    assert_eq!(card.steps[0].void.len(), 3);
    scene.does("ben", start("J")).does("ben", sign("J", "lock"));
    let refusals = scene.refusals("ben", &finish("J").into());
    assert_eq!(refusals[0].rule, R::Completion);
}

#[test]
fn one_person_inspects_twice_for_a_reason_that_stays_visible() {
    let mut scene = Scene::new();
    scene.critical("J").does("dan", inspect("J", "lock"));
    let (alone, allowed_by) = (Some("eve fell ill".to_owned()), Some(id("gina")));
    scene.does("dan", Inspect { alone, allowed_by, ..inspect("J", "lock") });
    let card = &scene.programme.shop.cards.cards[&job("J")];
    let second = card.steps[0].second.as_ref().unwrap();
    assert_eq!(second.alone, Some(("eve fell ill".to_owned(), id("gina"))));
}

#[test]
fn a_failed_inspection_sends_the_step_back() {
    let mut scene = Scene::new();
    scene.critical("J").does("dan", raise("F-7", "PUMP"));
    let finding = Some(id("F-7"));
    scene
        .does("dan", Inspect { verdict: Verdict::Fail, finding, ..inspect("J", "lock") });
    let card = &scene.programme.shop.cards.cards[&job("J")];
    assert!(card.steps[0].signed.is_none() && card.steps[0].void.len() == 2);
}

#[test]
fn the_same_hands_on_both_sides_are_warned_of() {
    let mut scene = Scene::new();
    let on = |name: &str, item: &str| record::act::IssueCard {
        item: Some(id(item)),
        ..card(name, vec![critical("lock")])
    };
    scene.does("ben", on("PORT", "PUMP")).does("ben", on("STBD", "PUMP-2"));
    scene.does("ben", start("PORT")).does("ben", start("STBD"));
    let second = sign("STBD", "lock").into();
    assert_eq!(scene.programme.cautions(&second, &scene.stamp("ben")), []);
    scene.does("ben", sign("PORT", "lock"));
    let cautions = scene.programme.cautions(&second, &scene.stamp("ben"));
    assert_eq!(cautions[0].what, "ben did the same on PORT");
    assert_eq!(scene.programme.cautions(&second, &scene.stamp("dan")), []);
}
