//! Parts that do not fit together, each mistake at its place.

#![expect(clippy::unwrap_used, reason = "in a test, failing is the way to say so")]

use airframe::{
    Airframe, Arrangement, CheckRule, CheckScope, CheckTrigger, Connection,
    ConnectionKind, Crew, Gear, Handling, Item, ItemId, Kinds, Needs, Note, Parts,
    Severity, SupportKind, SupportPoint, Weighed, Zone, check,
};
use quantity::{Estimate, Id, Length, Mass, Typed, Work};

fn id(name: &str) -> ItemId {
    Id::new(name).unwrap()
}

fn kinds() -> Kinds {
    Kinds {
        skills: [Id::new("fitter").unwrap()].into(),
        stands: [Id::new("JIG").unwrap()].into(),
    }
}

fn handling(count: u32, minutes: i64) -> Handling {
    Handling {
        crew: vec![Crew { count, skill: Id::new("fitter").unwrap() }],
        hours: Estimate::certain(Work::from_minutes(minutes)),
        gear: Vec::new(),
    }
}

fn item(name: &str) -> Item {
    Item {
        removal: Some(handling(1, 60)),
        refit: Some(handling(1, 60)),
        ..Item::new(id(name), name)
    }
}

fn needs(text: &str) -> Needs {
    Needs::parse(text).unwrap()
}

fn behind(name: &str, text: &str) -> Item {
    Item { behind: needs(text), ..item(name) }
}

fn notes(items: Vec<Item>) -> Vec<Note> {
    check(&Parts { items, ..Parts::default() }, &kinds())
}

/// Subjects and whether they are errors, as `item A, behind!`.
fn brief(notes: &[Note]) -> Vec<String> {
    let mark = |note: &Note| if note.severity == Severity::Error { "!" } else { "" };
    notes.iter().map(|note| format!("{}{}", note.subject, mark(note))).collect()
}

/// Parts in which every field that names something names nothing.
fn misnamed() -> Parts {
    let mut a = item("ENGINE-L");
    a.part_of = Some(id("NACELLE"));
    a.mounted_on = Some(id("FRAME"));
    a.zone = Some(Id::new("Z9").unwrap());
    a.behind = needs("ENGINE-L1 | ENGINE-R");
    a.held_by = needs("PROP");
    a.refit_after = vec![id("COWL")];
    a.stand = Some(Id::new("JIGG").unwrap());
    for handling in [&mut a.removal, &mut a.refit] {
        let handling = handling.as_mut().unwrap();
        handling.crew[0].skill = Id::new("fiter").unwrap();
        handling.gear = vec![Id::new("CRANE").unwrap()];
    }
    let rule = CheckRule {
        id: Id::new("LEAK").unwrap(),
        name: "leak check".into(),
        trigger: CheckTrigger { items: vec![id("PUMP")], ..CheckTrigger::default() },
        scope: CheckScope::Item,
        independent: false,
        crew: vec![Crew { count: 1, skill: Id::new("rigger").unwrap() }],
        hours: Estimate::certain(Work::from_minutes(30)),
        after: vec![Id::new("LAEK").unwrap()],
        source: None,
    };
    Parts {
        items: vec![a, item("ENGINE-R")],
        zones: vec![Zone {
            id: Id::new("Z1").unwrap(),
            name: "hull".into(),
            within: Some(Id::new("WHOLE").unwrap()),
        }],
        connections: vec![Connection {
            id: Id::new("C1").unwrap(),
            name: "line".into(),
            kind: ConnectionKind::Fuel,
            from: id("TANK"),
            to: Some(id("COCK")),
        }],
        checks: vec![rule],
        ..Parts::default()
    }
}

#[test]
fn names_that_do_not_exist_are_found_in_every_field() {
    let parts = misnamed();
    let notes = check(&parts, &kinds());
    assert_eq!(
        brief(&notes),
        [
            "check LEAK, after!",
            "check LEAK, crew!",
            "check LEAK, items!",
            "connection C1, from!",
            "connection C1, to!",
            "item ENGINE-L, behind!",
            "item ENGINE-L, held_by!",
            "item ENGINE-L, mounted_on!",
            "item ENGINE-L, off_crew!",
            "item ENGINE-L, off_gear!",
            "item ENGINE-L, on_crew!",
            "item ENGINE-L, on_gear!",
            "item ENGINE-L, part_of!",
            "item ENGINE-L, refit_after!",
            "item ENGINE-L, stand!",
            "item ENGINE-L, zone!",
            "zone Z1, within!",
        ]
    );
    let hint = |subject: &str| {
        let note = notes.iter().find(|note| note.subject.to_string() == subject).unwrap();
        (note.what.clone(), note.hint.clone().unwrap())
    };
    let (what, near) = hint("item ENGINE-L, behind");
    assert_eq!(
        (what.as_str(), near.as_str()),
        ("there is no item ENGINE-L1", "is ENGINE-L meant?")
    );
    assert_eq!(hint("item ENGINE-L, stand").1, "is JIG meant?");
    assert_eq!(hint("item ENGINE-L, off_crew").1, "is fitter meant?");
    assert_eq!(hint("check LEAK, after").1, "is LEAK meant?");
    assert_eq!(hint("item ENGINE-L, off_gear").1, "no lifting gear is defined at all");
}

#[test]
fn rings_are_named() {
    let part_of =
        |name: &str, whole: &str| Item { part_of: Some(id(whole)), ..item(name) };
    let carried = notes(vec![part_of("A", "B"), part_of("B", "C"), part_of("C", "A")]);
    assert_eq!(brief(&carried), ["item A, part_of!"], "told once");
    assert!(
        carried.iter().any(|note| note.what.ends_with("A → B → C → A")),
        "{carried:?}"
    );

    let mounted = Item { mounted_on: Some(id("B")), ..item("A") };
    let mixed = notes(vec![mounted, part_of("B", "A")]);
    assert_eq!(brief(&mixed), ["item A, mounted_on!"]);

    let after =
        |name: &str, first: &str| Item { refit_after: vec![id(first)], ..item(name) };
    let refits = notes(vec![after("A", "B"), after("B", "A")]);
    assert_eq!(brief(&refits), ["item A, refit_after!"]);

    let zone = |name: &str, within: &str| Zone {
        id: Id::new(name).unwrap(),
        name: name.into(),
        within: Some(Id::new(within).unwrap()),
    };
    let zones = vec![zone("Z1", "Z2"), zone("Z2", "Z1"), zone("Z3", "Z3")];
    let zoned = check(&Parts { zones, ..Parts::default() }, &kinds());
    assert_eq!(brief(&zoned), ["zone Z1, within!", "zone Z3, within!"]);
}

#[test]
fn rings_of_blocking_are_errors_only_when_there_is_no_way_out() {
    let ring = vec![
        behind("A", "B"),
        Item { held_by: needs("C"), ..item("B") },
        behind("C", "A"),
    ];
    let found = notes(ring.clone());
    assert_eq!(brief(&found), ["item A, behind!"]);
    assert!(found[0].what.ends_with("A → B → C → A"), "{}", found[0].what);
    let parts = Parts { items: ring, ..Parts::default() };
    assert_eq!(Airframe::new(parts, &kinds()).unwrap_err(), found);

    // Another way into one of them opens the ring.
    let open = vec![behind("A", "B | D"), behind("B", "C"), behind("C", "A"), item("D")];
    assert_eq!(notes(open), []);
    // So does a carrier that takes one of them away.
    let on_unit = Item { part_of: Some(id("UNIT")), ..behind("A", "B") };
    assert_eq!(notes(vec![item("UNIT"), on_unit, behind("B", "A")]), []);
}

#[test]
fn what_can_never_be_out_of_the_way() {
    let hull = Item {
        fixed: Some("the rest hangs on it".into()),
        removal: None,
        refit: None,
        ..item("HULL")
    };
    let own = behind("A", "A");
    assert_eq!(brief(&notes(vec![own])), ["item A, behind!"]);

    let on_hull = Item { part_of: Some(id("HULL")), ..behind("A", "HULL") };
    let found = notes(vec![hull.clone(), on_hull]);
    assert_eq!(brief(&found), ["item A, behind!"]);
    assert_eq!(found[0].what, "HULL carries it and can never be out of its way");

    // A blocker that never comes off is a warning: the place may be closed for good.
    let found = notes(vec![hull.clone(), behind("A", "HULL")]);
    assert_eq!(brief(&found), ["item A, behind"]);
    // With another way in there is nothing to say.
    assert_eq!(notes(vec![hull, behind("A", "HULL | B"), item("B")]), []);
}

#[test]
fn figures_that_cannot_be() {
    let typed = |metres: f64| Some(Typed::from_value(Length::from_m(metres).unwrap()));
    let mass = |kg: f64| Some(Typed::from_value(Mass::from_kg(kg).unwrap()));
    let a =
        Item { mass: mass(-1.0), arm: typed(201.0), side: typed(-300.0), ..item("A") };
    let b = Item {
        removal: Some(handling(0, 60)),
        refit: Some(handling(1, 2001 * 60)),
        mass: mass(2e6),
        ..item("B")
    };
    let c = Item {
        removal: Some(Handling { crew: Vec::new(), ..handling(1, -5) }),
        refit: Some(handling(1, 0)),
        mass: mass(0.0),
        ..item("C")
    };
    let d = Item { refit: None, ..item("D") };
    let crane = Gear {
        id: Id::new("CRANE").unwrap(),
        name: "crane".into(),
        count: 0,
        limit: mass(0.0),
    };
    let weighed = Weighed { mass: mass(0.0).unwrap(), arm: typed(1000.0).unwrap() };
    let parts = Parts {
        items: vec![a, b, c, d],
        gear: vec![crane],
        weighed: Some(weighed),
        ..Parts::default()
    };
    assert_eq!(
        brief(&check(&parts, &kinds())),
        [
            "item A, arm!",
            "item A, mass!",
            "item A, side!",
            "item B, mass!",
            "item B, off_crew!",
            "item B, on_hours!",
            "item C, off_crew!",
            "item C, off_hours!",
            "item D, on_crew!",
            "lifting gear CRANE, count!",
            "lifting gear CRANE, limit!",
            "programme, weighed_arm!",
            "programme, weighed_mass!",
            "item C, on_hours",
        ]
    );
}

#[test]
fn what_somebody_should_look_at() {
    let bare = |name: &str| Item { removal: None, refit: None, ..item(name) };
    let a = Item { fixed: Some("welded".into()), off: true, ..item("A") };
    let b = Item { vital: true, ..bare("B") };
    let found = notes(vec![a, b, behind("C", "D"), behind("E", "D"), bare("D")]);
    assert_eq!(
        brief(&found),
        ["item A, fixed", "item A, off", "item B, off_crew", "item D, off_crew"]
    );
    assert!(
        found[3].what.starts_with("it is in the way of 2 others"),
        "{}",
        found[3].what
    );
    let parts = Parts { items: vec![bare("D"), behind("C", "D")], ..Parts::default() };
    assert!(
        Airframe::new(parts, &kinds()).is_ok(),
        "a warning does not stand in the way"
    );
}

#[test]
fn rules_and_connections() {
    let rule = |name: &str, after: &str, scope, connections| CheckRule {
        id: Id::new(name).unwrap(),
        name: name.into(),
        trigger: CheckTrigger { connections, ..CheckTrigger::default() },
        scope,
        independent: false,
        crew: handling(1, 1).crew,
        hours: Estimate::certain(Work::from_minutes(30)),
        after: vec![Id::new(after).unwrap()],
        source: None,
    };
    let fuel = ConnectionKind::Fuel;
    let parts = Parts {
        items: vec![item("A")],
        connections: vec![Connection {
            id: Id::new("C1").unwrap(),
            name: "line".into(),
            kind: fuel,
            from: id("A"),
            to: Some(id("A")),
        }],
        checks: vec![
            rule("R1", "R2", CheckScope::Once, vec![fuel, fuel]),
            rule("R2", "R1", CheckScope::Connection, Vec::new()),
        ],
        ..Parts::default()
    };
    assert_eq!(
        brief(&check(&parts, &kinds())),
        [
            "check R1, after!",
            "check R2, scope!",
            "connection C1, to!",
            "check R1, connections"
        ]
    );
}

#[test]
fn arrangements_that_hold_nothing() {
    let point = |name: &str, arm: f64, side: f64| SupportPoint {
        name: name.into(),
        kind: SupportKind::Trestle,
        arm: Typed::from_value(Length::from_m(arm).unwrap()),
        side: Typed::from_value(Length::from_m(side).unwrap()),
        capacity: None,
        when_needed: false,
    };
    let late = SupportPoint { when_needed: true, ..point("P3", 5.0, 0.0) };
    let cases = [
        (vec![point("P1", 0.0, 0.0)], Some("1 point is always set")),
        (
            vec![point("P1", 0.0, -1.0), point("P2", 4.0, 1.0)],
            Some("2 points are always set"),
        ),
        (vec![point("P1", 0.0, 0.0), late.clone()], Some("1 point is always set")),
        (vec![point("P1", 0.0, 0.0), point("P2", 0.0, 0.0)], Some("all points")),
        (
            vec![point("P1", 0.0, 0.0), point("P2", 1.0, 1.0), point("P4", 2.0, 2.0)],
            Some("all points"),
        ),
        (
            vec![point("P1", 0.0, 0.0), point("P1", 4.0, 0.0)],
            Some("two points are called P1"),
        ),
        (vec![point("P1", 0.0, 0.0), point("P2", 300.0, 0.0)], Some("300000 mm is more")),
        (vec![point("P1", 0.0, 0.0), point("P2", 4.0, 0.0), late], None),
        (
            vec![point("P1", 0.0, -1.0), point("P2", 0.0, 1.0), point("P4", 4.0, 0.0)],
            None,
        ),
    ];
    for (points, wrong) in cases {
        let arrangement =
            Arrangement { id: Id::new("T").unwrap(), name: "trestles".into(), points };
        let parts = Parts { arrangements: vec![arrangement], ..Parts::default() };
        let notes = check(&parts, &kinds());
        let found: Vec<_> = notes.iter().map(|note| note.what.as_str()).collect();
        match wrong {
            None => assert!(found.is_empty(), "{found:?}"),
            Some(text) => {
                assert!(found.len() == 1 && found[0].starts_with(text), "{found:?}");
            }
        }
    }
}
