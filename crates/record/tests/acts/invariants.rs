//! Whatever is tried by whomever: what must always hold does.
//!
//! Acts are drawn at random from small pools, so that many of them meet; those that are
//! not refused are performed, and after each the whole state is held against what is said
//! of it in plain words here, apart from the rules themselves.

use proptest::prelude::*;
use record::act::{
    Countersign, Disturb, EvidenceKind, Inspect, Move, Outcome, PartClass, Pause,
    Quarantine, Release, Revive, SignStep, Stamp, Strike, ToolIn, ToolOut, Verdict,
    Withdraw,
};
use record::shop::Whereabouts;
use record::{Act, Condition, Power, Programme};

use crate::examinations::{rejection, report, request, shows};
use crate::parts::{accept, class, despatch, fit, receive};
use crate::scene::{
    Scene, card, classify, clear, critical, evidence, finish, grant, hand_over, id,
    inspect, job, open, raise, sign, start, step, tag, take_over,
};
use crate::stores::{find, lose};

const PEOPLE: [&str; 7] = ["anna", "ben", "cara", "dan", "eve", "frank", "gina"];
const CARDS: [&str; 2] = ["J", "K"];
const STEPS: [&str; 2] = ["lock", "one"];
const ITEMS: [&str; 3] = ["PUMP", "AILERON", "DINGHY"];
const FINDINGS: [&str; 3] = ["F-1", "F-2", "F-3"];

type Draw = (usize, usize, usize, usize, u64);

fn who(at: usize) -> &'static str {
    PEOPLE[at % PEOPLE.len()]
}

fn act((kind, a, b, c, entry): Draw) -> Act {
    let (name, at) = (CARDS[a % 2], STEPS[b % 2]);
    let (item, finding) = (ITEMS[a % 3], FINDINGS[b % 3]);
    match kind {
        0 => card(name, vec![critical("lock"), step("one")]).into(),
        1 => start(name).into(),
        2 => Pause { job: job(name), left: "so".into() }.into(),
        3 => hand_over(name, who(c)).into(),
        4 => take_over(name).into(),
        5 => sign(name, at).into(),
        6 => SignStep { supervisor: Some(id(who(c))), ..sign(name, at) }.into(),
        7 => Countersign { job: job(name), step: id(at) }.into(),
        8 | 9 => inspect(name, at).into(),
        10 => failed(name, at, finding),
        11 => finish(name).into(),
        12 => Disturb { job: job(name), steps: vec![id(at)], reason: "so".into() }.into(),
        13 => raise(finding, "HULL").into(),
        14 => classify(finding, Condition::ALL[c % 4], None).into(),
        15 => classify(finding, Condition::WithinLimits, Some("taxi")).into(),
        16 => clear(finding, (c % 2 == 0).then_some(name)).into(),
        17 => Revive { finding: id(finding), reason: "so".into() }.into(),
        18 => tag(item).into(),
        19 => Move { item: id(item), place: id("CAGE") }.into(),
        20 => despatch(item).into(),
        21 => receive(item).into(),
        22 => accept(item).into(),
        23 => Quarantine { item: id(item), reason: "so".into() }.into(),
        24 => Release { item: id(item), basis: "so".into() }.into(),
        25 => class(item, PartClass::Serviceable).into(),
        26 => record::act::Fit { job: job(name), ..fit(item) }.into(),
        27 => ToolOut { tool: id("HAMMER"), job: job(name), person: None }.into(),
        28 => ToolIn { tool: id("HAMMER") }.into(),
        29 => {
            if c % 4 == 0 {
                lose("HAMMER")
            } else {
                find("HAMMER")
            }
        }
        30 => evidence(["fire-cover", "brakes"][c % 2], EvidenceKind::Report).into(),
        31 | 32 => open(["run", "taxi"][c % 2]).into(),
        33 => Strike { entry: entry % 60, reason: "so".into() }.into(),
        36 => request("X-1").into(),
        37 => report(["R-1", "R-2"][a % 2]).into(),
        38 => rejection(["R-1", "R-2"][a % 2], finding).into(),
        39 => shows(["R-1", "R-2"][a % 2]),
        34 => Withdraw { authority: id("A-6"), reason: "so".into() }.into(),
        _ => grant("A-20", "eve", Power::Inspect).into(),
    }
}

fn failed(name: &str, step: &str, finding: &str) -> Act {
    let finding = Some(id(finding));
    Inspect { verdict: Verdict::Fail, finding, ..inspect(name, step) }.into()
}

/// What must hold of any state.
fn holds(programme: &Programme, stamp: &Stamp) {
    let shop = &programme.shop;
    let open = shop.cards.cards.iter().filter(|(_, c)| c.is_begun() && !c.is_finished());
    assert!(open.map(|(job, _)| job).eq(&shop.cards.open));
    for card in shop.cards.cards.values() {
        assert!(
            !card.is_finished()
                || card.steps.iter().all(record::shop::StepState::is_complete)
        );
        assert!(!card.is_finished() || card.present().next().is_none());
        for step in &card.steps {
            let (first, second) = (&step.first, &step.second);
            assert!(second.is_none() || first.is_some());
            let Some(first) = first else { continue };
            let signed =
                step.signed.as_ref().expect("work is signed before it is inspected");
            assert_ne!(signed.mark.by, first.mark.by);
            assert!(signed.mark.entry < first.mark.entry);
            let Some(second) = second else { continue };
            assert!(first.mark.entry < second.mark.entry);
            assert_ne!(signed.mark.by, second.mark.by);
            assert_ne!(signed.supervisor.as_ref(), Some(&second.mark.by));
            assert_ne!(first.mark.by, second.mark.by);
        }
    }
    for (item, part) in &shop.parts.parts {
        if part.is_fitted() {
            assert!(part.quarantine.is_none() && !part.waits, "{item}");
        }
        let told = part.whereabouts != Whereabouts::Untold;
        assert!(told || programme.items.get(item).is_some_and(|item| item.off));
    }
    for gate in programme.gates.iter() {
        let state = programme.gate_state(gate, stamp.at.date());
        if !state.open {
            continue;
        }
        assert_eq!(state.blocks, []);
        for asked in programme.requirements.iter().filter(|asked| asked.job.is_none()) {
            if programme.gates.get(&asked.gate).unwrap().order <= gate.order {
                accepted(programme, asked);
            }
        }
        assert!(shop.tools.out().next().is_none() && shop.tools.lost().next().is_none());
        for finding in programme.open_findings() {
            let class =
                shop.findings.states[finding].class.as_ref().expect("it is known");
            assert!(matches!(
                class.condition,
                Condition::WithinLimits | Condition::OutsideLimits
            ));
        }
    }
}

/// The latest evidence of an open gate is no report that rejects or was struck.
fn accepted(programme: &Programme, asked: &record::Requirement) {
    let proofs = programme.shop.gates.proofs[&asked.id].iter();
    let proof = proofs.rev().find(|proof| !proof.struck).expect("it has evidence");
    let name = record::ReportId::new(&proof.evidence.reference).unwrap();
    if let Some(report) = programme.shop.examinations.reports.get(&name) {
        assert!(!report.struck && report.words.outcome == Outcome::Accept, "{name}");
    }
}

/// Who signed was entitled to, by the list of authorities as it stood.
fn entitled(programme: &Programme, act: &Act, stamp: &Stamp) {
    let power = match act {
        Act::Inspect(_) | Act::ReportNdt(_) => Power::Inspect,
        Act::RequestNdt(_) => Power::Plan,
        Act::Finish(_) => Power::Certify,
        Act::Classify(_) | Act::Clear(_) => Power::Classify,
        Act::OpenGate(_) => Power::Release,
        Act::Despatch(_) | Act::Accept(_) | Act::Release(_) => Power::Stores,
        _ => return,
    };
    let valid =
        programme.shop.authorities.of(&stamp.by).any(|(_, given)| {
            given.grant.power == power && given.is_valid(stamp.at.date())
        });
    assert!(valid, "{} {act:?}", stamp.by);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_tried(
        draws in prop::collection::vec(
            (0_usize..40, 0_usize..6, 0_usize..6, 0_usize..28, 0_u64..60, 0_usize..7),
            1..160,
        ),
    ) {
        let mut scene = Scene::new();
        let begun = scene.programme.clone();
        let mut kept = Vec::new();
        for (kind, a, b, c, entry, person) in draws {
            let act = act((kind, a, b, c, entry));
            // Mostly somebody who may, or hardly anything would happen.
            let usual = [1, 1, 1, 1, 3, 1, 2, 1, 3, 4, 3, 1, 1, 1, 4, 4, 4, 1, 1, 1, 5, 5, 5, 1, 5,
                1, 1, 1, 1, 1, 1, 6, 6, 1, 0, 0, 1, 3, 3, 1];
            let by = if c < 21 { who(usual[kind]) } else { who(person) };
            if !scene.refusals(by, &act).is_empty() {
                continue;
            }
            scene.number += 1;
            let stamp = scene.stamp(by);
            entitled(&scene.programme, &act, &stamp);
            scene.programme.perform(&act, &stamp);
            holds(&scene.programme, &stamp);
            kept.push((act, stamp));
            scene.later(1);
        }
        // What is kept says all: folded anew it gives the same.
        let mut again = begun;
        for (act, stamp) in &kept {
            again.perform(act, stamp);
        }
        prop_assert_eq!(again, scene.programme);
    }
}

#[test]
fn random_acts_get_far_enough_to_mean_something() {
    // The pools are such that cards are finished and gates open; this draws the straight way
    // through them, by the same function.
    let mut scene = Scene::new();
    let straight = [
        (0, "ben", 0, 0),
        (1, "ben", 0, 0),
        (5, "ben", 0, 0),
        (8, "dan", 0, 0),
        (8, "eve", 0, 0),
        (5, "ben", 0, 1),
        (11, "ben", 0, 0),
        (15, "eve", 0, 0),
        (18, "ben", 2, 0),
        (30, "ben", 0, 0),
        (31, "gina", 0, 0),
    ];
    for (kind, by, a, b) in straight {
        scene.does(by, act((kind, a, b, 0, 0)));
    }
    assert!(scene.is_open("run"));
    assert!(scene.programme.shop.cards.cards[&job("J")].is_finished());
}
