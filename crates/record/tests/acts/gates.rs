//! Gates and their evidence.

use jiff::civil::date;
use record::act::{Defer, Evidence, EvidenceKind as E, OpenGate, Revive, ShutGate};
use record::{Act, Change, Condition as C, Entry, Requirement, RuleKey as R};

use crate::scene::{
    Scene, classify, clear, evidence, id, inspect, job, open, raise, requirement, start,
    tag,
};
use crate::stores::lose;
use crate::table::{Row, check, row};

const CLEAR: &str = "M.A.305(a): records demonstrate compliance; unknown is never clear";
const NEVER: &str =
    "ANO 2016 art 47: never with a known hazard, limits written on the release";
const VITAL: &str =
    "UK permit practice: both signatures before the permit maintenance release";
const COUNT: &str = "145.A.48(a): panels refitted, tools and parts accounted for";

fn defer() -> Defer {
    Defer {
        finding: id("F-9"),
        allows: id("taxi"),
        limitation: "taxi below 20 knots".into(),
        until: id("S1"),
        reason: "alone".into(),
    }
}

fn shut(reason: &str) -> Act {
    ShutGate { gate: id("run"), reason: reason.into() }.into()
}

/// All is proven and clear, but for what a row adds.
fn clear_but(scene: &mut Scene) -> &mut Scene {
    scene.does("ben", tag("DINGHY")).survey_cleared().proven()
}

fn proving() -> Vec<Row> {
    vec![
        row("who may not certify gives no evidence", CLEAR, R::Authority, |_| {
            ("dan", evidence("brakes", E::Report).into())
        }),
        row("evidence is of the kind that is asked for", CLEAR, R::GateEvidence, |_| {
            ("ben", evidence("brakes", E::Photograph).into())
        }),
        row("evidence stands somewhere", CLEAR, R::Stated, |_| {
            (
                "ben",
                Evidence { reference: " ".into(), ..evidence("brakes", E::Report) }
                    .into(),
            )
        }),
        row("evidence is for something that is asked for", CLEAR, R::Known, |_| {
            ("ben", evidence("wings", E::Report).into())
        }),
        row("evidence that ran out is none", CLEAR, R::GateEvidence, |_| {
            let until = Some(date(2032, 1, 1));
            ("ben", Evidence { until, ..evidence("brakes", E::Report) }.into())
        }),
        row("a card that is open is no evidence", CLEAR, R::GateEvidence, |s| {
            asks_for_a_card(s).begun("J");
            (
                "ben",
                Evidence { reference: "J".into(), ..evidence("panels", E::Card) }.into(),
            )
        }),
        row("a card that there is not is no evidence", CLEAR, R::Known, |s| {
            asks_for_a_card(s);
            (
                "ben",
                Evidence { reference: "J".into(), ..evidence("panels", E::Card) }.into(),
            )
        }),
    ]
}

fn asks_for_a_card(scene: &mut Scene) -> &mut Scene {
    let panels = Requirement { kind: Some(E::Card), ..requirement("panels", "run") };
    scene.programme.apply(&Entry::Requirement(Change::Define(panels.into())));
    scene
}

fn opening() -> Vec<Row> {
    vec![
        row(
            "who may not release opens nothing",
            "145.A.50(a): certifying staff",
            R::Authority,
            |s| {
                clear_but(s);
                ("ben", open("run").into())
            },
        ),
        row("a gate without evidence stays shut", CLEAR, R::GateEvidence, |s| {
            s.does("ben", tag("DINGHY")).survey_cleared();
            ("gina", open("run").into())
        }),
        row(
            "a gate with evidence that ran out stays shut",
            CLEAR,
            R::GateEvidence,
            |s| {
                s.does("ben", tag("DINGHY")).survey_cleared();
                let until = Some(date(2032, 1, 20));
                s.does("ben", Evidence { until, ..evidence("fire-cover", E::Report) });
                s.on(date(2032, 1, 21));
                ("gina", open("run").into())
            },
        ),
        row(
            "a finding that nobody classed keeps a gate shut",
            "condition unknown is a state of its own (US Army forms)",
            R::Unknown,
            |s| {
                s.does("ben", tag("DINGHY")).proven();
                ("gina", open("run").into())
            },
        ),
        row("a hazard keeps a gate shut", NEVER, R::GateHazard, |s| {
            clear_but(s).classed("F-9", C::Hazard);
            ("gina", open("run").into())
        }),
        row(
            "a finding keeps gates shut that it does not allow",
            NEVER,
            R::GateHazard,
            |s| {
                clear_but(s).does("gina", open("run")).does("ben", raise("F-9", "HULL"));
                s.does("eve", classify("F-9", C::OutsideLimits, Some("run")));
                s.does("gina", open("run"));
                ("gina", open("taxi").into())
            },
        ),
        row("a limitation is named word by word", NEVER, R::GateLimitation, |s| {
            clear_but(s).classed("F-9", C::OutsideLimits).does("eve", defer());
            let limitations = vec!["slowly".into()];
            ("gina", OpenGate { limitations, ..open("run") }.into())
        }),
        row(
            "what was carried forward too long keeps a gate shut",
            "AMC M.A.403(d)",
            R::Deferral,
            |s| {
                clear_but(s).classed("F-9", C::OutsideLimits).does("eve", defer());
                s.on(date(2032, 5, 1));
                let limitations = vec!["taxi below 20 knots".into()];
                ("gina", OpenGate { limitations, ..open("run") }.into())
            },
        ),
        row("a tool that is out keeps a gate shut", COUNT, R::ToolControl, |s| {
            clear_but(s).begun("J");
            let (tool, person) = (id("HAMMER"), None);
            s.does("ben", record::act::ToolOut { tool, job: job("J"), person });
            ("gina", open("run").into())
        }),
        row("a tool that is lost keeps a gate shut", COUNT, R::ToolControl, |s| {
            clear_but(s).does("ben", lose("HAMMER"));
            ("gina", open("run").into())
        }),
        row(
            "an item that is off without a tag keeps a gate shut",
            COUNT,
            R::GateCounts,
            |s| {
                s.survey_cleared().proven();
                ("gina", open("run").into())
            },
        ),
        row("half a pair of inspections keeps a gate shut", VITAL, R::Completion, |s| {
            clear_but(s).critical("J").does("dan", inspect("J", "lock"));
            ("gina", open("run").into())
        }),
        row(
            "gates open in their order",
            "gates in order, practice: engine run before taxi",
            R::GateOrder,
            |s| {
                clear_but(s);
                ("gina", open("taxi").into())
            },
        ),
        row("a gate waits for the card that it names", CLEAR, R::GateEvidence, |s| {
            clear_but(s).does(
                "eve",
                record::act::Revive { finding: id("F-1"), reason: "look".into() },
            );
            s.does("eve", classify("F-1", C::WithinLimits, Some("flight")))
                .does("eve", clear("F-1", None));
            s.does("gina", open("run")).does("gina", open("taxi"));
            ("gina", open("flight").into())
        }),
        row("a gate that there is not does not open", CLEAR, R::Known, |s| {
            clear_but(s);
            ("gina", open("orbit").into())
        }),
        row("what is not open is not shut", CLEAR, R::Known, |_| {
            ("ben", shut("a smell of fuel"))
        }),
        row("a gate is shut for a reason", CLEAR, R::Stated, |s| {
            clear_but(s).does("gina", open("run"));
            ("ben", shut(""))
        }),
    ]
}

pub(crate) fn rows() -> Vec<Row> {
    [proving(), opening()].into_iter().flatten().collect()
}

#[test]
fn gates_stay_shut() {
    check(rows());
}

/// What shuts a gate, and what takes the reason away again: the gate stays shut.
#[test]
fn a_gate_shuts_by_itself_and_stays_shut() {
    type Doing = fn(&mut Scene);
    let cases: [(&str, Doing, Doing); 5] = [
        (
            "a finding",
            |s| {
                s.does("ben", raise("F-9", "HULL"));
            },
            |s| {
                s.does("eve", classify("F-9", C::WithinLimits, None))
                    .does("eve", clear("F-9", None));
            },
        ),
        (
            "a tool is lost",
            |s| {
                s.does("ben", lose("HAMMER"));
            },
            |s| {
                s.does("ben", crate::stores::find("HAMMER"));
            },
        ),
        (
            "an item comes off",
            |s| {
                s.does("ben", tag("PUMP"));
            },
            |_| {},
        ),
        (
            "a finding comes back",
            |s| {
                s.does("dan", Revive { finding: id("F-1"), reason: "worse".into() });
            },
            |s| {
                s.does("eve", classify("F-1", C::WithinLimits, None))
                    .does("eve", clear("F-1", None));
            },
        ),
        (
            "somebody says so",
            |s| {
                s.does("cara", shut("a smell of fuel"));
            },
            |_| {},
        ),
    ];
    for (name, closes, mends) in cases {
        let mut scene = Scene::new();
        scene.does("ben", tag("DINGHY")).opened();
        assert!(scene.is_open("run"), "{name}");
        closes(&mut scene);
        assert!(!scene.is_open("run"), "{name}");
        mends(&mut scene);
        assert!(!scene.is_open("run"), "{name}");
        let opening = &scene.programme.shop.gates.openings[&id("run")];
        assert!(opening.shut.is_some(), "{name}");
        scene.does("gina", open("run"));
        assert!(scene.is_open("run"), "{name}");
    }
}

#[test]
fn a_gate_shuts_on_the_day_after_its_evidence_runs_out() {
    let mut scene = Scene::new();
    scene.does("ben", tag("DINGHY")).survey_cleared();
    let until = Some(date(2032, 1, 20));
    scene.does("ben", Evidence { until, ..evidence("fire-cover", E::Report) });
    scene.does("gina", open("run")).on(date(2032, 1, 20));
    assert!(scene.is_open("run"));
    scene.on(date(2032, 1, 21));
    assert!(!scene.is_open("run"));
}

#[test]
fn a_finding_leaves_the_gates_open_that_it_allows() {
    let mut scene = Scene::new();
    scene.does("ben", tag("DINGHY")).classed("F-9", C::WithinLimits);
    scene.opened();
    scene.does("eve", classify("F-9", C::OutsideLimits, Some("run")));
    assert!(scene.is_open("run") && !scene.is_open("taxi"));
    scene.does("ben", start_card("K"));
    assert!(scene.is_open("run"));
    scene.does("ben", start("K"));
}

fn start_card(name: &str) -> record::act::IssueCard {
    crate::scene::card(name, vec![crate::scene::step("one")])
}
