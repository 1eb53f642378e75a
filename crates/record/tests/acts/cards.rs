//! Work on the bench.

use jiff::civil::date;
use quantity::Notation;
use record::act::{
    AddStep, CardStep, Finish, HandOver, Hours, IssueCard, Limit, Pause, Reopen,
    SignStep, StepWork, TakeOver, ToolOut,
};
use record::{Act, Power, RuleKey as R};

use crate::scene::{
    Scene, card, critical, finish, grant, hand_over, id, job, reading, sign, start, step,
    take_over, torque,
};
use crate::table::{Row, check, row};

const CARD: &str =
    "145.A.45(e): data exactly or by reference with revision; CAAC AC-145-8 card";
const SIGN: &str = "AMC CAO.A.060(h): sign each task after completion";
const SUPERVISE: &str = "14 CFR 43.3(d): the supervisor observes and is there in person";
const HANDOVER: &str = "145.A.47(c): what is needed is handed over; written and spoken";
const CLOSE: &str = "145.A.48(a): clear of tools, equipment and extraneous parts";

fn tool_out(tool: &str, name: &str) -> ToolOut {
    ToolOut { tool: id(tool), job: job(name), person: None }
}

fn hours(person: &str, text: &str) -> Hours {
    Hours {
        job: job("J"),
        person: id(person),
        on: date(2032, 1, 13),
        hours: Notation::parse(text).unwrap(),
        reason: "the screen was down".into(),
    }
}

fn add(after: Option<&str>, step: CardStep) -> Act {
    let reason = "found more".into();
    AddStep { job: job("J"), after: after.map(id), step, reason }.into()
}

/// A volunteer and her supervisor are both at the card.
fn both(scene: &mut Scene) {
    scene.begun("J").does("cara", start("J"));
}

fn issuing() -> Vec<Row> {
    vec![
        row("a card has a title", CARD, R::Stated, |_| {
            let title = String::new();
            ("ben", IssueCard { title, ..card("J", vec![step("one")]) }.into())
        }),
        row("a card has steps", CARD, R::Stated, |_| ("ben", card("J", vec![]).into())),
        row("a card is issued once", CARD, R::Known, |s| {
            s.does("ben", card("J", vec![step("one")]));
            ("ben", card("J", vec![step("one")]).into())
        }),
        row("steps have names of their own", CARD, R::Known, |_| {
            ("ben", card("J", vec![step("one"), step("one")]).into())
        }),
        row("a card is about an item that there is", CARD, R::Known, |_| {
            let item = Some(id("NO-SUCH"));
            ("ben", IssueCard { item, ..card("J", vec![step("one")]) }.into())
        }),
        row("a step names its data", CARD, R::Data, |_| {
            let data = None;
            ("ben", card("J", vec![CardStep { data, ..step("one") }]).into())
        }),
        row("data have a revision", CARD, R::Data, |_| {
            let revision = Some(" ".into());
            ("ben", card("J", vec![CardStep { revision, ..step("one") }]).into())
        }),
        row(
            "a critical step is inspected twice",
            "145.A.48: critical maintenance tasks",
            R::Independence,
            |_| {
                let critical = true;
                ("ben", card("J", vec![CardStep { critical, ..step("one") }]).into())
            },
        ),
        row(
            "a vital item is put together under two pairs of eyes",
            "vital points: duplicate inspection on assembly",
            R::Independence,
            |_| {
                let work = StepWork::Reassemble;
                let steps = vec![CardStep { work, ..step("one") }];
                (
                    "ben",
                    IssueCard { item: Some(id("AILERON")), ..card("J", steps) }.into(),
                )
            },
        ),
        row("limits leave something between them", CARD, R::Stated, |_| {
            let limit = Limit {
                name: "gap".into(),
                low: Some(2.0),
                high: Some(1.0),
                unit: "mm".into(),
            };
            (
                "ben",
                card("J", vec![CardStep { limits: vec![limit], ..step("one") }]).into(),
            )
        }),
        row("an added step has a name of its own", CARD, R::Known, |s| {
            s.begun("J");
            ("ben", add(None, step("one")))
        }),
        row("an added step does not go before what is signed", SIGN, R::StepOrder, |s| {
            s.begun("J").does("ben", sign("J", "one")).does("ben", sign("J", "two"));
            ("ben", add(Some("one"), step("half")))
        }),
        row("an added step follows one that there is", CARD, R::Known, |s| {
            s.begun("J");
            ("ben", add(Some("nine"), step("ten")))
        }),
    ]
}

fn working() -> Vec<Row> {
    vec![
        row("work starts on a card that was issued", CARD, R::Known, |_| {
            ("ben", start("J").into())
        }),
        row("work starts once", SIGN, R::Known, |s| {
            s.begun("J");
            ("ben", start("J").into())
        }),
        row(
            "what was left is not picked up without a handover",
            HANDOVER,
            R::Handover,
            |s| {
                s.begun("J").does(
                    "ben",
                    Pause { job: job("J"), left: "one is half done".into() },
                );
                ("dan", start("J").into())
            },
        ),
        row("who is not at work signs nothing", SIGN, R::Presence, |s| {
            s.does("ben", card("J", vec![step("one")]));
            ("ben", sign("J", "one").into())
        }),
        row("who paused signs nothing", SIGN, R::Presence, |s| {
            s.begun("J").does("ben", Pause { job: job("J"), left: "as it was".into() });
            ("ben", sign("J", "one").into())
        }),
        row("a pause says how things were left", HANDOVER, R::Stated, |s| {
            s.begun("J");
            ("ben", Pause { job: job("J"), left: String::new() }.into())
        }),
        row("steps are signed in order", SIGN, R::StepOrder, |s| {
            s.begun("J");
            ("ben", sign("J", "two").into())
        }),
        row("a step is signed once", SIGN, R::Known, |s| {
            s.begun("J").does("ben", sign("J", "one"));
            ("ben", sign("J", "one").into())
        }),
        row("a step that there is not is not signed", SIGN, R::Known, |s| {
            s.begun("J");
            ("ben", sign("J", "nine").into())
        }),
        row(
            "what was asked for is measured",
            "Part 145 records: measured dimensions stay in the pack",
            R::Limits,
            |s| {
                s.does("ben", card("J", vec![torque("one")])).does("ben", start("J"));
                ("ben", sign("J", "one").into())
            },
        ),
        row(
            "what is outside limits is not signed",
            "AC 43.13-1B 6-113: over limit",
            R::Limits,
            |s| {
                s.does("ben", card("J", vec![torque("one")])).does("ben", start("J"));
                calibrated(s);
                let readings = reading(45.1, Some("TW-1"));
                ("ben", SignStep { readings, ..sign("J", "one") }.into())
            },
        ),
        row(
            "a value has an instrument",
            "release form: calibrated tools with range and date",
            R::Calibration,
            |s| {
                s.does("ben", card("J", vec![torque("one")])).does("ben", start("J"));
                (
                    "ben",
                    SignStep { readings: reading(42.0, None), ..sign("J", "one") }.into(),
                )
            },
        ),
        row(
            "an instrument is calibrated",
            "AC 43.13-1B 7-40: wrenches are calibrated yearly",
            R::Calibration,
            |s| {
                s.does("ben", card("J", vec![torque("one")])).does("ben", start("J"));
                let readings = reading(42.0, Some("TW-1"));
                ("ben", SignStep { readings, ..sign("J", "one") }.into())
            },
        ),
        row(
            "a calibration runs out",
            "AC 43.13-1B 7-40: wrenches are calibrated yearly",
            R::Calibration,
            |s| {
                calibrated(s);
                s.on(date(2032, 7, 1)).does("ben", card("J", vec![torque("one")]));
                s.does("ben", start("J"));
                let readings = reading(42.0, Some("TW-1"));
                ("ben", SignStep { readings, ..sign("J", "one") }.into())
            },
        ),
        row(
            "a hammer measures nothing",
            "release form: calibrated tools with range and date",
            R::Calibration,
            |s| {
                s.does("ben", card("J", vec![torque("one")])).does("ben", start("J"));
                let readings = reading(42.0, Some("HAMMER"));
                ("ben", SignStep { readings, ..sign("J", "one") }.into())
            },
        ),
        row("what was not asked for is no reading", CARD, R::Known, |s| {
            s.begun("J");
            let readings = reading(42.0, Some("TW-1"));
            ("ben", SignStep { readings, ..sign("J", "one") }.into())
        }),
    ]
}

fn calibrated(scene: &mut Scene) {
    let until = date(2032, 6, 30);
    let certificate = "C-3, 10 to 100 lbf·in".into();
    scene.does("frank", record::act::Calibrate { tool: id("TW-1"), until, certificate });
}

fn supervised() -> Vec<Row> {
    vec![
        row("a volunteer names a supervisor", SUPERVISE, R::Supervision, |s| {
            both(s);
            ("cara", sign("J", "one").into())
        }),
        row("a supervisor is entitled to supervise", SUPERVISE, R::Supervision, |s| {
            both(s);
            s.does("dan", start("J"));
            let supervisor = Some(id("dan"));
            ("cara", SignStep { supervisor, ..sign("J", "one") }.into())
        }),
        row("a supervisor is there", SUPERVISE, R::Supervision, |s| {
            both(s);
            s.does("ben", Pause { job: job("J"), left: "as it was".into() });
            let supervisor = Some(id("ben"));
            ("cara", SignStep { supervisor, ..sign("J", "one") }.into())
        }),
        row("nobody supervises themselves", SUPERVISE, R::Supervision, |s| {
            s.begun("J");
            let supervisor = Some(id("ben"));
            ("ben", SignStep { supervisor, ..sign("J", "one") }.into())
        }),
        row(
            "the next step waits for the supervisor's signature",
            SUPERVISE,
            R::StepOrder,
            |s| {
                both(s);
                let supervisor = Some(id("ben"));
                s.does(
                    "cara",
                    SignStep { supervisor: supervisor.clone(), ..sign("J", "one") },
                );
                ("cara", SignStep { supervisor, ..sign("J", "two") }.into())
            },
        ),
        row(
            "a card is not complete without the supervisor's signature",
            SUPERVISE,
            R::Completion,
            |s| {
                both(s);
                let supervisor = Some(id("ben"));
                s.does("ben", sign("J", "one"));
                s.does("cara", SignStep { supervisor, ..sign("J", "two") });
                s.does("cara", Pause { job: job("J"), left: "done".into() });
                ("ben", finish("J").into())
            },
        ),
    ]
}

fn handing() -> Vec<Row> {
    vec![
        row("a handover says everything", HANDOVER, R::Stated, |s| {
            s.begun("J");
            ("ben", HandOver { hazards: String::new(), ..hand_over("J", "dan") }.into())
        }),
        row("nobody hands over to themselves", HANDOVER, R::Handover, |s| {
            s.begun("J");
            ("ben", hand_over("J", "ben").into())
        }),
        row("who was not at it hands nothing over", HANDOVER, R::Presence, |s| {
            s.begun("J");
            ("dan", hand_over("J", "eve").into())
        }),
        row("a handover is made once", HANDOVER, R::Handover, |s| {
            s.begun("J").does("ben", hand_over("J", "dan"));
            ("ben", hand_over("J", "eve").into())
        }),
        row(
            "tools that are out are named",
            "tool control, practice: count at the end of a shift",
            R::ToolControl,
            |s| {
                s.begun("J").does("ben", tool_out("HAMMER", "J"));
                ("ben", hand_over("J", "dan").into())
            },
        ),
        row(
            "tools that are not out are not named",
            "tool control, practice: count at the end of a shift",
            R::ToolControl,
            |s| {
                s.begun("J");
                let tools = vec![id("HAMMER")];
                ("ben", HandOver { tools, ..hand_over("J", "dan") }.into())
            },
        ),
        row("only who was named takes over", HANDOVER, R::Handover, |s| {
            s.begun("J").does("ben", hand_over("J", "dan"));
            ("eve", take_over("J").into())
        }),
        row(
            "a handover is spoken too",
            "FAA human-factors guidance: written plus spoken, at the job",
            R::Handover,
            |s| {
                s.begun("J").does("ben", hand_over("J", "dan"));
                ("dan", TakeOver { job: job("J"), spoken: false }.into())
            },
        ),
        row("what nobody hands over nobody takes", HANDOVER, R::Handover, |s| {
            s.begun("J");
            ("dan", take_over("J").into())
        }),
        row("work waits for the one who takes over", HANDOVER, R::Handover, |s| {
            s.begun("J").does("dan", start("J")).does("ben", hand_over("J", "eve"));
            ("dan", sign("J", "one").into())
        }),
    ]
}

fn closing() -> Vec<Row> {
    vec![
        row(
            "a card is complete when each step is signed",
            "14 CFR 43.9(a): work, date, signature, certificate",
            R::Completion,
            |s| {
                s.begun("J").does("ben", sign("J", "one"));
                ("ben", finish("J").into())
            },
        ),
        row(
            "who may not certify closes nothing",
            "145.A.50(a): certifying staff",
            R::Authority,
            |s| {
                s.begun("J").does("ben", sign("J", "one")).does("ben", sign("J", "two"));
                s.does("dan", start("J"));
                s.does("ben", Pause { job: job("J"), left: "done".into() });
                ("dan", finish("J").into())
            },
        ),
        row("the place is clear", CLOSE, R::ClearPlace, |s| {
            s.begun("J").does("ben", sign("J", "one")).does("ben", sign("J", "two"));
            ("ben", Finish { clear: false, ..finish("J") }.into())
        }),
        row("no tool is out", CLOSE, R::ToolControl, |s| {
            s.begun("J").does("ben", sign("J", "one")).does("ben", sign("J", "two"));
            s.does("ben", tool_out("HAMMER", "J"));
            ("ben", finish("J").into())
        }),
        row("nobody else is at work", SIGN, R::Completion, |s| {
            s.begun("J").does("ben", sign("J", "one")).does("ben", sign("J", "two"));
            s.does("dan", start("J"));
            ("ben", finish("J").into())
        }),
        row("what is complete is not worked on", SIGN, R::Known, |s| {
            s.finished("J");
            ("ben", start("J").into())
        }),
        row("what is open is not opened", SIGN, R::Known, |s| {
            s.begun("J");
            let reason = "more".into();
            ("ben", Reopen { job: job("J"), steps: vec![], reason }.into())
        }),
        row("a card is opened for a reason", SIGN, R::Stated, |s| {
            s.finished("J");
            ("ben", Reopen { job: job("J"), steps: vec![], reason: " ".into() }.into())
        }),
        row(
            "hours of a day are at most 24",
            "CAAC AC-145-8: man-hours on the card",
            R::Stated,
            |s| {
                s.begun("J");
                ("ben", hours("ben", "25 h").into())
            },
        ),
        row(
            "hours to come are not stated",
            "CAAC AC-145-8: man-hours on the card",
            R::Clock,
            |s| {
                s.begun("J");
                ("ben", Hours { on: date(2032, 1, 15), ..hours("ben", "2 h") }.into())
            },
        ),
        row(
            "hours of others are stated by who plans",
            "CAAC AC-145-8: man-hours on the card",
            R::Authority,
            |s| {
                s.begun("J");
                ("dan", hours("cara", "2 h").into())
            },
        ),
    ]
}

pub(crate) fn rows() -> Vec<Row> {
    [issuing(), working(), supervised(), handing(), closing()]
        .into_iter()
        .flatten()
        .collect()
}

#[test]
fn what_is_not_in_order_on_the_bench_is_refused() {
    check(rows());
}

#[test]
fn a_handover_is_taken_and_work_goes_on() {
    let mut scene = Scene::new();
    scene.begun("J").does("ben", sign("J", "one")).does("ben", hand_over("J", "dan"));
    scene.does("dan", take_over("J")).does("dan", sign("J", "two"));
    scene.does("dan", Pause { job: job("J"), left: "done".into() });
    scene.does("ben", finish("J"));
    let card = &scene.programme.shop.cards.cards[&job("J")];
    assert!(card.is_finished() && card.present().next().is_none());
}

#[test]
fn hours_are_counted_as_work_goes_on() {
    let mut scene = Scene::new();
    scene.begun("J").later(89);
    scene.does("ben", Pause { job: job("J"), left: "half".into() });
    scene.does("ben", hours("ben", "2 h"));
    let card = &scene.programme.shop.cards.cards[&job("J")];
    assert_eq!(card.hours_of(&id("ben")).minutes(), 90 + 120);
    assert_eq!(card.hours_of(&id("dan")).minutes(), 0);
}

#[test]
fn an_extra_sheet_belongs_to_the_card() {
    let mut scene = Scene::new();
    scene.begun("J").does("ben", sign("J", "one"));
    scene.does("ben", add(Some("one"), critical("between")));
    let refusals = scene.refusals("ben", &sign("J", "two").into());
    assert_eq!(refusals[0].rule, R::StepOrder);
    scene.does("anna", grant("B-9", "cara", Power::Plan));
}
