//! Connections that are broken, and the checks that follow.

#![expect(clippy::unwrap_used, reason = "in a test, failing is the way to say so")]

use std::collections::BTreeSet;

use airframe::access::{Opening, Options, Target, open, refit};
use airframe::disturbance::{DemandedCheck, broken, checks, starter_rules};
use airframe::{
    Airframe, Chapter, CheckRule, CheckScope, CheckTrigger, Connection, ConnectionKind,
    Crew, Handling, Item, ItemId, Kinds, Parts,
};
use quantity::{Estimate, Id, Work};

fn id(name: &str) -> ItemId {
    Id::new(name).unwrap()
}

fn item(name: &str, carrier: Option<&str>) -> Item {
    let handling = Handling {
        crew: vec![Crew { count: 1, skill: Id::new("fitter").unwrap() }],
        hours: Estimate::certain(Work::from_minutes(60)),
        gear: Vec::new(),
    };
    Item {
        part_of: carrier.map(id),
        removal: Some(handling.clone()),
        refit: Some(handling),
        ..Item::new(id(name), name)
    }
}

fn line(name: &str, kind: ConnectionKind, from: &str, to: Option<&str>) -> Connection {
    let (from, to) = (id(from), to.map(id));
    Connection { id: Id::new(name).unwrap(), name: name.to_lowercase(), kind, from, to }
}

fn kinds() -> Kinds {
    let skills = ["fitter", "inspector", "engine"].map(|name| Id::new(name).unwrap());
    Kinds { skills: skills.into(), ..Kinds::default() }
}

/// A power unit with a carburettor and a pump, a tank in the wing, an aileron and its rod.
fn airframe(rules: Vec<CheckRule>) -> Airframe {
    use ConnectionKind::{Electrical, EngineControl, FlightControl, Fuel, Structural};
    let mut aileron = item("AILERON", Some("WING"));
    aileron.vital = true;
    aileron.chapter = Some(Chapter::parse("2710").unwrap());
    let items = vec![
        item("WING", None),
        item("TANK", Some("WING")),
        aileron,
        item("ENGINE", None),
        item("CARBURETTOR", Some("ENGINE")),
        item("PUMP", Some("ENGINE")),
        item("SEAT", None),
    ];
    let connections = vec![
        line("F1", Fuel, "TANK", Some("PUMP")),
        line("F2", Fuel, "PUMP", Some("CARBURETTOR")),
        line("C1", FlightControl, "AILERON", None),
        line("C2", EngineControl, "CARBURETTOR", None),
        line("S1", Structural, "ENGINE", None),
        line("E1", Electrical, "PUMP", None),
    ];
    let parts = Parts { items, connections, checks: rules, ..Parts::default() };
    Airframe::new(parts, &kinds()).unwrap()
}

fn set(names: &[&str]) -> BTreeSet<ItemId> {
    names.iter().map(|name| id(name)).collect()
}

fn broken_by(names: &[&str]) -> Vec<String> {
    let airframe = airframe(Vec::new());
    let broken = broken(&airframe, &set(names));
    broken.iter().map(|connection| connection.id.to_string()).collect()
}

#[test]
fn what_travels_together_stays_connected() {
    assert_eq!(broken_by(&["ENGINE"]), ["F1", "C2", "S1", "E1"]);
    assert_eq!(broken_by(&["PUMP"]), ["F1", "F2", "E1"]);
    assert_eq!(broken_by(&["ENGINE", "PUMP"]), ["F1", "F2", "C2", "S1", "E1"]);
    assert_eq!(broken_by(&["WING"]), ["F1", "C1"]);
    assert!(broken_by(&["SEAT"]).is_empty() && broken_by(&[]).is_empty());
}

fn opened(airframe: &Airframe, names: &[&str]) -> Opening {
    let targets: Vec<_> = names.iter().map(|name| Target::Free(id(name))).collect();
    open(airframe, &BTreeSet::new(), &targets, &Options::default()).unwrap()
}

fn told(demanded: &[DemandedCheck]) -> Vec<String> {
    demanded.iter().map(|check| format!("{} {}", check.rule, check.thing)).collect()
}

fn after(demanded: &[DemandedCheck], check: &str) -> (Vec<String>, Vec<String>) {
    let it = |c: &&DemandedCheck| format!("{} {}", c.rule, c.thing) == check;
    let found = demanded.iter().find(it).unwrap_or_else(|| panic!("no {check}"));
    let refits = found.after_refit_of.iter().map(ToString::to_string).collect();
    let checks = found.after_checks.iter().map(|(rule, thing)| format!("{rule} {thing}"));
    (refits, checks.collect())
}

/// Common practice: a disturbed flight control asks for a check of range and sense, and then
/// for an independent inspection.
#[test]
fn a_disturbed_flight_control_asks_for_an_independent_inspection() {
    let airframe = airframe(starter_rules());
    let demanded = checks(&airframe, &opened(&airframe, &["AILERON"]));
    assert_eq!(
        told(&demanded),
        ["RANGE-FLIGHT C1", "SECOND-CONTROL C1", "SECOND-VITAL AILERON"]
    );
    let (refits, before) = after(&demanded, "SECOND-CONTROL C1");
    assert_eq!(
        (refits, before),
        (vec!["AILERON".into()], vec!["RANGE-FLIGHT C1".into()])
    );
    let rule = airframe.check_rule(&demanded[1].rule).unwrap();
    assert!(rule.independent && rule.crew[0].skill.as_str() == "inspector");
}

/// Common practice: fuel lines are checked for leaks before the engine runs, and again after.
#[test]
fn an_engine_run_comes_after_the_leak_checks() {
    let airframe = airframe(starter_rules());
    let demanded = checks(&airframe, &opened(&airframe, &["ENGINE", "CARBURETTOR"]));
    let (refits, before) = after(&demanded, "RUN ENGINE");
    assert_eq!(refits, ["ENGINE", "CARBURETTOR"]);
    for check in ["LEAK-FUEL F1", "LEAK-FUEL F2", "RANGE-ENGINE C2", "SECOND-CONTROL C2"]
    {
        assert!(before.iter().any(|name| name == check), "{check} before the run");
    }
    assert_eq!(after(&demanded, "LEAK-AFTER-RUN ENGINE").1, ["RUN ENGINE"]);
    // The line to the tank is whole once the engine is back; that within the unit once the
    // carburettor is.
    assert_eq!(after(&demanded, "LEAK-FUEL F1").0, ["ENGINE"]);
    assert_eq!(after(&demanded, "LEAK-FUEL F2").0, ["CARBURETTOR"]);
}

#[test]
fn a_line_that_stays_broken_demands_nothing_yet() {
    let airframe = airframe(starter_rules());
    let pump = Target::Free(id("PUMP"));
    let opening = open(&airframe, &set(&["TANK"]), &[pump], &Options::default()).unwrap();
    let demanded = told(&checks(&airframe, &opening));
    assert!(!demanded.contains(&"LEAK-FUEL F1".to_owned()), "{demanded:?}");
    assert!(demanded.contains(&"LEAK-FUEL F2".to_owned()), "{demanded:?}");
    // It is due when the tank goes back.
    let back = refit(&airframe, &BTreeSet::new(), &set(&["TANK"]), &Options::default());
    let demanded = told(&checks(&airframe, &back.unwrap()));
    assert!(demanded.contains(&"LEAK-FUEL F1".to_owned()), "{demanded:?}");
}

fn rule(name: &str, trigger: CheckTrigger, scope: CheckScope) -> CheckRule {
    CheckRule {
        id: Id::new(name).unwrap(),
        name: name.into(),
        trigger,
        scope,
        independent: false,
        crew: vec![Crew { count: 1, skill: Id::new("fitter").unwrap() }],
        hours: Estimate::certain(Work::from_minutes(30)),
        after: Vec::new(),
        source: None,
    }
}

#[test]
fn every_part_of_a_trigger_must_fit() {
    let controls = vec![ConnectionKind::FlightControl, ConnectionKind::Fuel];
    let flight = vec![Chapter::parse("27").unwrap()];
    let none = CheckTrigger::default;
    let rules = vec![
        rule("ANY", none(), CheckScope::Item),
        rule("ALL", none(), CheckScope::Once),
        rule("UNIT", none(), CheckScope::Unit),
        rule("VITAL", CheckTrigger { vital: true, ..none() }, CheckScope::Item),
        rule(
            "SEAT",
            CheckTrigger { items: vec![id("SEAT")], ..none() },
            CheckScope::Item,
        ),
        rule("CH", CheckTrigger { chapters: flight.clone(), ..none() }, CheckScope::Item),
        rule(
            "BOTH",
            CheckTrigger { connections: controls, chapters: flight, ..none() },
            CheckScope::Connection,
        ),
    ];
    let airframe = airframe(rules);
    let demanded = checks(&airframe, &opened(&airframe, &["AILERON", "PUMP", "ENGINE"]));
    let mut names = told(&demanded);
    names.sort();
    assert_eq!(
        names,
        [
            "ALL all",
            "ANY AILERON",
            "ANY ENGINE",
            "ANY PUMP",
            "BOTH C1",
            "CH AILERON",
            "UNIT AILERON",
            "UNIT ENGINE",
            "VITAL AILERON"
        ]
    );
    assert_eq!(after(&demanded, "ALL all").0.len(), 3);
    assert_eq!(after(&demanded, "UNIT ENGINE").0, ["ENGINE", "PUMP"]);
    let because = &demanded.iter().find(|c| c.thing == "C1").unwrap().because;
    assert_eq!(because, &["C1 (flight control, c1) was broken: AILERON off"]);
}

/// The carburettor is off the engine and the engine off the aircraft: what is joined up again
/// by hand is the carburettor, and the line is whole once both are back.
#[test]
fn a_check_by_item_is_for_what_is_joined_up_by_hand() {
    let control = CheckTrigger {
        connections: vec![ConnectionKind::EngineControl],
        ..CheckTrigger::default()
    };
    let airframe = airframe(vec![rule("HAND", control, CheckScope::Item)]);
    let mut carburettor = opened(&airframe, &["CARBURETTOR", "ENGINE"]);
    let demanded = checks(&airframe, &carburettor);
    assert_eq!(told(&demanded), ["HAND CARBURETTOR"]);
    assert_eq!(after(&demanded, "HAND CARBURETTOR").0, ["ENGINE", "CARBURETTOR"]);
    // Without refits nothing is whole again.
    carburettor.refits.clear();
    assert!(checks(&airframe, &carburettor).is_empty());
}

/// The starter set fits together with the three skills that it names.
#[test]
fn the_starter_rules_pass_their_own_check() {
    let parts = Parts { checks: starter_rules(), ..Parts::default() };
    assert_eq!(airframe::check(&parts, &kinds()), []);
    let covered: BTreeSet<_> =
        parts.checks.iter().flat_map(|rule| rule.trigger.connections.clone()).collect();
    assert_eq!(covered, ConnectionKind::ALL.into(), "every kind is checked somehow");
}
