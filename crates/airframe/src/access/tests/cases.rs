//! Cases by hand.

use std::collections::BTreeSet;

use quantity::{Id, Length, Mass, Typed};

use super::{airframe, behind, fixed, handling, held, id, ids, item, weighing};
use crate::access::{
    Obstacle, Opening, Options, Target, Warning, Why, open, refit, travels,
};
use crate::{Airframe, Arrangement, Gear, Item, Parts, SupportKind, SupportPoint};

fn ask(airframe: &Airframe, targets: &[Target]) -> Opening {
    open(airframe, &BTreeSet::new(), targets, &Options::default()).unwrap()
}

fn free(name: &str) -> Target {
    Target::Free(id(name))
}

fn order(opening: &Opening) -> String {
    let names: Vec<_> = opening.removals.iter().map(|r| r.item.to_string()).collect();
    names.join(" ")
}

fn way_back(opening: &Opening) -> String {
    let names: Vec<_> = opening.refits.iter().map(|r| r.item.to_string()).collect();
    names.join(" ")
}

/// A pump on an engine: a bulkhead panel on the hull blocks it, and so does a cover on the
/// engine itself.
#[test]
fn once_its_carrier_is_off_only_what_travels_along_blocks() {
    let items = vec![
        fixed("HULL"),
        item("PANEL", Some("HULL"), 500),
        item("ENGINE", Some("HULL"), 100),
        item("COVER", Some("ENGINE"), 10),
        behind(item("PUMP", Some("ENGINE"), 20), "PANEL; COVER"),
    ];
    let opening = ask(&airframe(items), &[free("PUMP")]);
    assert_eq!(opening.cost, 130);
    let pump = opening.removals.iter().find(|r| r.item == id("PUMP")).unwrap();
    assert_eq!(pump.on_unit, Some(id("ENGINE")));
    assert_eq!(pump.after.iter().cloned().collect::<BTreeSet<_>>(), ids("COVER ENGINE"));
    let engine = opening.removals.iter().find(|r| r.item == id("ENGINE")).unwrap();
    assert_eq!(engine.why, [Why::Item(id("PUMP"))]);
}

#[test]
fn shared_openings_are_paid_once() {
    let items = vec![
        item("SMALL-1", None, 30),
        item("SMALL-2", None, 30),
        item("BIG", None, 50),
        behind(item("A", None, 1), "SMALL-1 | BIG"),
        behind(item("B", None, 1), "SMALL-2 | BIG"),
    ];
    let frame = airframe(items);
    assert_eq!(order(&ask(&frame, &[free("A")])), "SMALL-1 A");
    assert_eq!(order(&ask(&frame, &[free("A"), free("B")])), "BIG A B");
    let exposed = [Target::Expose(id("A")), Target::Expose(id("B"))];
    assert_eq!(order(&ask(&frame, &exposed)), "BIG");
}

#[test]
fn what_is_off_costs_nothing_and_is_not_taken_off_twice() {
    let frame = airframe(vec![
        item("PANEL", None, 30),
        Item { off: true, ..item("DOOR", None, 5) },
        behind(item("A", None, 1), "PANEL; DOOR"),
    ]);
    let opening = open(&frame, &ids("PANEL"), &[free("A")], &Options::default()).unwrap();
    assert_eq!((order(&opening).as_str(), opening.cost), ("A", 1));
    assert_eq!(opening.off, ids("PANEL DOOR"));
    let again = open(&frame, &ids("A"), &[free("A")], &Options::default()).unwrap();
    assert_eq!((order(&again).as_str(), again.cost), ("", 0));
}

#[test]
fn an_item_off_from_the_start_shows_what_the_airframe_hid() {
    let frame = airframe(vec![
        item("PANEL", None, 30),
        item("COVER", Some("A"), 3),
        behind(item("A", None, 1), "PANEL; COVER"),
    ]);
    let target = [Target::Expose(id("A"))];
    let opening = open(&frame, &ids("A"), &target, &Options::default()).unwrap();
    assert_eq!(order(&opening), "COVER");
}

#[test]
fn what_goes_back_goes_back_after_what_it_let_in() {
    let frame = airframe(vec![
        item("PANEL", None, 30),
        behind(item("A", None, 1), "PANEL"),
        Item { refit_after: vec![id("A")], ..item("PIPE", None, 2) },
    ]);
    let options = Options { put_back: ids("PANEL"), ..Options::default() };
    let targets = [free("PIPE"), free("A")];
    let opening = open(&frame, &ids("PANEL"), &targets, &options).unwrap();
    assert_eq!(order(&opening), "PIPE A");
    assert_eq!(way_back(&opening), "A PIPE PANEL");
    let hold = &opening.reached[1];
    assert_eq!((hold.after.clone(), hold.holds.clone()), (vec![id("A")], vec![id("A")]));
    let none = BTreeSet::new();
    let only = refit(&frame, &none, &ids("PANEL A"), &Options::default()).unwrap();
    assert_eq!(way_back(&only), "A PANEL");
    // What is meant to be fitted first, and is not there, does not go unmentioned.
    let early = open(&frame, &ids("A"), &[free("PIPE")], &Options::default()).unwrap();
    let warned = Warning::RefitWaits { item: id("PIPE"), absent: id("A") };
    assert_eq!(early.warnings, [warned]);
}

/// A comes off before B and B before C, so C goes back before B and B before A; that C
/// should wait for A closes a ring.
#[test]
fn a_ring_of_refits_is_told_and_broken() {
    let frame = airframe(vec![
        Item { refit_after: vec![id("B")], ..item("A", None, 1) },
        behind(item("B", None, 1), "A"),
        Item { refit_after: vec![id("A")], ..behind(item("C", None, 1), "B") },
    ]);
    let opening = ask(&frame, &[free("C")]);
    assert_eq!(way_back(&opening), "C B A");
    assert!(
        matches!(&opening.warnings[..], [Warning::RefitRing(ring)] if ring.len() == 3)
    );
}

#[test]
fn every_refusal_is_told_at_once() {
    let bare = Item { removal: None, ..item("BARE", None, 1) };
    let frame = airframe(vec![
        fixed("HULL"),
        bare,
        behind(item("A", Some("HULL"), 1), "BARE"),
        behind(item("B", Some("HULL"), 1), "C"),
        held(item("C", Some("HULL"), 1), "B"),
        held(item("D", Some("HULL"), 1), "HULL"),
        item("FINE", None, 1),
    ]);
    let targets =
        [free("HULL"), free("A"), free("B"), free("D"), free("FINE"), free("NONE")];
    let refusal = open(&frame, &BTreeSet::new(), &targets, &Options::default());
    let refusal = refusal.unwrap_err();
    let reasons: Vec<_> =
        refusal.refused.iter().map(|refused| refused.reasons.clone()).collect();
    let why = "the rest hangs on it".to_owned();
    assert_eq!(
        reasons,
        [
            vec![Obstacle::Fixed { item: id("HULL"), why }],
            vec![Obstacle::NoRemoval { item: id("BARE") }],
            vec![Obstacle::Ring { items: vec![id("B"), id("C")] }],
            vec![Obstacle::Inseparable { item: id("D"), blocker: id("HULL") }],
            vec![Obstacle::Unknown { item: id("NONE") }],
        ]
    );
    assert_eq!(refusal.fine, [free("FINE")]);
    assert!(refusal.to_string().contains("off_crew and off_hours of BARE are not given"));
}

/// A way that another target's trouble spoils is not held against a group that is met
/// otherwise.
#[test]
fn a_refusal_names_only_what_is_in_the_way() {
    let bare = |name| Item { removal: None, ..item(name, None, 1) };
    let frame = airframe(vec![
        bare("BARE-1"),
        bare("BARE-2"),
        item("DOOR", None, 1),
        behind(item("A", None, 1), "DOOR | BARE-1; BARE-2"),
    ]);
    let refusal = open(&frame, &BTreeSet::new(), &[free("A")], &Options::default());
    let reasons = refusal.unwrap_err().refused[0].reasons.clone();
    assert_eq!(reasons, [Obstacle::NoRemoval { item: id("BARE-2") }]);
}

/// Both ways in are opened anyway; the one that is open first is the one that is waited for.
#[test]
fn the_way_in_is_the_one_that_opens_first() {
    let frame = airframe(vec![
        item("DEEP", None, 1),
        behind(item("A-LATE", None, 1), "DEEP"),
        item("Z-SOON", None, 1),
        behind(item("X", None, 1), "A-LATE | Z-SOON"),
    ]);
    let opening = ask(&frame, &[free("A-LATE"), free("Z-SOON"), free("X")]);
    let x = opening.removals.iter().find(|removal| removal.item == id("X")).unwrap();
    assert_eq!(x.after, [id("Z-SOON")]);
}

/// An engine with three things on it, two of which come off anyway.
fn lifted(limit: &str, drum_needs: &str) -> Opening {
    let crane = Id::new("CRANE").unwrap();
    let limit = Some(Typed::<Mass>::parse(limit).unwrap());
    let gear = Gear { id: crane, name: "crane".into(), count: 1, limit };
    let mut engine = weighing(item("ENGINE", None, 60), "900 kg");
    engine.removal.as_mut().unwrap().gear = vec![gear.id.clone()];
    let items = vec![
        fixed("WALL"),
        engine,
        behind(weighing(item("DRUM", Some("ENGINE"), 1), "100 kg"), drum_needs),
        weighing(item("PUMP", Some("ENGINE"), 1), "50 kg"),
        weighing(item("STAYS", Some("ENGINE"), 1), "10 kg"),
    ];
    let parts = Parts { items, gear: vec![gear], ..Parts::default() };
    let targets = [free("ENGINE"), free("DRUM"), free("PUMP")];
    ask(&Airframe::of(parts), &targets)
}

#[test]
fn a_lifting_limit_asks_for_what_comes_off_anyway_to_come_first() {
    let light = lifted("1100 kg", "");
    assert!(light.removals[0].after.is_empty() && light.warnings.is_empty());
    assert_eq!(light.removals[0].lifted_mass, Some(Mass::from_kg(1060.0).unwrap()));
    assert_eq!(light.removals[0].travels, [id("DRUM"), id("PUMP"), id("STAYS")]);

    let heavy = lifted("960 kg", "");
    let engine = heavy.removals.iter().find(|r| r.item == id("ENGINE")).unwrap();
    assert_eq!(engine.after, [id("DRUM")]);
    let drum = heavy.removals.iter().find(|r| r.item == id("DRUM")).unwrap();
    assert_eq!(drum.why, [Why::Target(free("DRUM")), Why::Lightens(id("ENGINE"))]);
    assert_eq!(engine.lifted_mass, Some(Mass::from_kg(960.0).unwrap()));

    // Even bare of all that can come off first it is too heavy.
    let too_heavy = lifted("905 kg", "");
    let [Warning::OverLimit { item, gear: _, mass, limit: _ }] = &too_heavy.warnings[..]
    else {
        panic!("{:?}", too_heavy.warnings)
    };
    assert_eq!((item, *mass), (&id("ENGINE"), Mass::from_kg(910.0).unwrap()));
}

/// A wall that stays hides the drum, so that it comes off only once the engine is out.
#[test]
fn a_strip_that_must_wait_for_the_unit_cannot_lighten_it() {
    let opening = lifted("960 kg", "WALL");
    let drum = opening.removals.iter().find(|r| r.item == id("DRUM")).unwrap();
    assert_eq!(drum.after, [id("ENGINE")]);
    let [Warning::OverLimit { mass, .. }] = &opening.warnings[..] else {
        panic!("{:?}", opening.warnings)
    };
    assert_eq!(*mass, Mass::from_kg(1010.0).unwrap());
}

fn spot(name: &str, arm: f64) -> SupportPoint {
    SupportPoint {
        name: name.into(),
        kind: SupportKind::Trestle,
        arm: Typed::from_value(Length::from_m(arm).unwrap()),
        side: Typed::from_value(Length::ZERO),
        capacity: None,
        when_needed: false,
    }
}

/// With both on, the centre is at 1300/2200 = 0.59. Without the nose it is at 3700/1600 =
/// 2.31, 0.31 outside; without the tail at -1400/1600 = -0.88: the nose first is less bad.
#[test]
fn the_order_keeps_the_best_margin_when_any_would_tip() {
    let at = |item: Item, arm: f64| Item {
        arm: Some(Typed::from_value(Length::from_m(arm).unwrap())),
        ..item
    };
    let items = vec![
        at(weighing(fixed("HULL"), "1000 kg"), 1.0),
        at(weighing(item("NOSE", None, 1), "600 kg"), -4.0),
        at(weighing(item("TAIL", None, 1), "600 kg"), 4.5),
    ];
    let arrangement = Id::new("T").unwrap();
    let points = vec![spot("FORE", 0.0), spot("AFT", 2.0)];
    let trestles =
        Arrangement { id: arrangement.clone(), name: "trestles".into(), points };
    let parts = Parts { items, arrangements: vec![trestles], ..Parts::default() };
    let frame = Airframe::of(parts);
    let targets = [free("TAIL"), free("NOSE")];
    assert_eq!(order(&ask(&frame, &targets)), "TAIL NOSE");
    let options = Options { arrangement: Some(arrangement), ..Options::default() };
    let steadied = open(&frame, &BTreeSet::new(), &targets, &options).unwrap();
    assert_eq!(order(&steadied), "NOSE TAIL");
}

#[test]
fn hours_stands_and_gear_are_counted() {
    let mut wing = item("WING", None, 120);
    let crane = Id::new("CRANE").unwrap();
    let mut on = handling(240);
    on.crew[0].count = 3;
    wing.refit = Some(on);
    wing.removal.as_mut().unwrap().gear = vec![crane.clone()];
    wing.stand = Some(Id::new("JIG").unwrap());
    let opening = ask(&airframe(vec![wing]), &[free("WING")]);
    let hours = opening.hours["fitter"];
    let likely = (hours.removal.likely, hours.refit.likely, opening.cost);
    assert_eq!(likely, (120, 720, 840));
    assert_eq!(opening.stands[0].item, id("WING"));
    assert_eq!((&opening.gear[0].gear, opening.gear[0].refits.len()), (&crane, 0));
}

#[test]
fn travels_leaves_out_what_is_off() {
    let frame = airframe(vec![
        item("A", None, 1),
        item("B", Some("A"), 1),
        item("C", Some("B"), 1),
        item("D", Some("A"), 1),
    ]);
    let none = BTreeSet::new();
    assert_eq!(travels(&frame, &none, &id("A")), [id("B"), id("C"), id("D")]);
    assert_eq!(travels(&frame, &ids("B"), &id("A")), [id("D")]);
    assert!(travels(&frame, &none, &id("NONE")).is_empty());
}

/// A whole aircraft: bays of panels, equipment and alternatives on an airframe that stays,
/// and wings that take their bays along. Each bay can also be entered from the next one.
fn large(bays: usize) -> (Airframe, Vec<Target>) {
    let mut items = vec![fixed("HULL")];
    let mut targets = Vec::new();
    for bay in 0..bays {
        let wing = format!("WING{}", bay / 50);
        if bay % 50 == 0 {
            items.push(item(&wing, Some("HULL"), 4000));
        }
        let carrier = if bay % 5 == 0 { &wing } else { "HULL" };
        let name = |part: &str| format!("{part}{bay}");
        let next = (bay + 1) % bays;
        let panels = format!("P{bay} + Q{bay} | D{bay} | D{next}");
        let cost = |least: i64, by: usize, over: usize| least + (bay * by % over) as i64;
        items.push(item(&name("P"), Some(carrier), cost(20, 7, 13)));
        items.push(item(&name("Q"), Some(carrier), cost(20, 5, 11)));
        items.push(item(&name("D"), Some("HULL"), cost(45, 3, 17)));
        items.push(behind(item(&name("BOX"), Some(carrier), 60), &panels));
        items.push(behind(item(&name("FRAME"), Some("HULL"), 90), &name("BOX")));
        if bay % 5 < 3 {
            targets.push(free(&name("FRAME")));
        }
    }
    (airframe(items), targets)
}

#[test]
fn a_season_of_a_large_aircraft_is_solved_to_the_end() {
    let (frame, targets) = large(500);
    assert!(frame.parts().items.len() > 2500 && targets.len() == 300);
    let opening = ask(&frame, &targets);
    assert!(opening.optimal, "{} of {}", opening.bound, opening.cost);
}
