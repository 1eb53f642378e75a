//! A very small invented flying boat with one engine: enough of everything to plan a
//! season.

use std::sync::Arc;

use airframe::{
    CheckRule, CheckScope, CheckTrigger, Connection, ConnectionKind, Crew, Handling,
    Item, Needs,
};
use jiff::civil::{date, time};
use quantity::{Currency, Elapsed, Estimate, Work};
use record::{
    Branch, Condition, Conditions, DateSpan, Decision, Disposition, Finding, Firm, Gate,
    HeatingPeriod, Hold, Info, Pack, Performer, Person, Place, Programme, Reach, Route,
    Season, Shift, Skill, Stand, Standing, Step, StepKind, TakesOn, Weekday, Weekdays,
};

use crate::id;

/// The programme: an engine behind a cowl, a float, a rudder; a route in the shop and one
/// by way of a firm; three people; one season of eight weeks.
///
/// # Panics
///
/// Never, unless this module is wrong.
pub fn skiff() -> Programme {
    Programme {
        info: Some(Arc::new(Info {
            name: "Skiff".to_owned(),
            aircraft: "invented flying boat".to_owned(),
            registration: None,
            keeper: None,
            datum: None,
            currency: Currency::GBP,
            invented: true,
            weighed: None,
        })),
        gates: [gate("static", 10), gate("taxi", 20)].into_iter().collect(),
        skills: ["fitter", "painter", "inspector"].map(skill).into_iter().collect(),
        stands: [Stand { id: id("cradle"), name: "Cradle".to_owned(), count: 1 }]
            .into_iter()
            .collect(),
        places: [Place {
            id: id("bay"),
            name: "Paint bay".to_owned(),
            room: 1,
            heated: false,
            dry: true,
        }]
        .into_iter()
        .collect(),
        items: items().into_iter().collect(),
        connections: connections().into_iter().collect(),
        checks: checks().into_iter().collect(),
        people: people().into_iter().collect(),
        firms: [plater()].into_iter().collect(),
        routes: routes().into_iter().collect(),
        seasons: [season()].into_iter().collect(),
        packs: [Pack {
            id: id("P1"),
            name: "Engine and float".to_owned(),
            season: Some(id("S1")),
            gate: None,
            off: Vec::new(),
            exposed: Vec::new(),
        }]
        .into_iter()
        .collect(),
        findings: findings().into_iter().collect(),
        ..Programme::default()
    }
}

fn gate(name: &str, order: u32) -> Gate {
    Gate { id: id(name), name: name.to_owned(), order }
}

fn skill(name: &str) -> Skill {
    Skill { id: id(name), name: name.to_owned() }
}

fn crew(count: u32, skill: &str) -> Vec<Crew> {
    vec![Crew { count, skill: id(skill) }]
}

fn hours(hours: i64) -> Estimate<Work> {
    Estimate::certain(Work::from_minutes(60 * hours))
}

fn elapsed(hours: i64) -> Estimate<Elapsed> {
    Estimate::certain(Elapsed::from_minutes(60 * hours))
}

fn handling(heads: u32, long: i64) -> Handling {
    Handling { crew: crew(heads, "fitter"), hours: hours(long), gear: Vec::new() }
}

fn item(name: &str, held_by: &str, long: i64) -> Item {
    Item {
        held_by: Needs::parse(held_by).expect("a test writes needs well"),
        removal: Some(handling(2, long)),
        refit: Some(handling(2, long + 1)),
        ..Item::new(id(name), name)
    }
}

fn items() -> Vec<Item> {
    let hull = Item {
        fixed: Some("everything hangs on it".to_owned()),
        ..Item::new(id("HULL"), "Hull")
    };
    let engine = Item { stand: Some(id("cradle")), ..item("ENGINE", "COWL", 6) };
    let float = Item { stand: Some(id("cradle")), ..item("FLOAT", "", 4) };
    let rudder = Item { vital: true, ..item("RUDDER", "", 2) };
    vec![hull, item("COWL", "", 1), engine, float, rudder]
}

fn connections() -> Vec<Connection> {
    let connection = |name: &str, kind, from: &str| Connection {
        id: id(name),
        name: name.to_owned(),
        kind,
        from: id(from),
        to: Some(id("HULL")),
    };
    vec![
        connection("FUEL-LINE", ConnectionKind::Fuel, "ENGINE"),
        connection("RUDDER-CABLE", ConnectionKind::FlightControl, "RUDDER"),
    ]
}

fn checks() -> Vec<CheckRule> {
    let rule = |name: &str, kind, independent, skill: &str, after: Vec<&str>| CheckRule {
        id: id(name),
        name: name.to_owned(),
        trigger: CheckTrigger { connections: vec![kind], ..CheckTrigger::default() },
        scope: CheckScope::Connection,
        independent,
        crew: crew(1, skill),
        hours: hours(1),
        after: after.into_iter().map(id).collect(),
        source: None,
    };
    vec![
        rule("leak", ConnectionKind::Fuel, false, "fitter", Vec::new()),
        rule("range", ConnectionKind::FlightControl, false, "fitter", Vec::new()),
        rule("second", ConnectionKind::FlightControl, true, "inspector", vec!["range"]),
    ]
}

fn people() -> Vec<Person> {
    let person = |name: &str, skills: &[&str], days: &[Weekday]| Person {
        id: id(name),
        name: name.to_owned(),
        standing: Standing::Staff,
        skills: skills.iter().map(|skill| id(skill)).collect(),
        days: days.iter().fold(Weekdays::NONE, |days, &day| days.with(day)),
        hours: None,
        away: Vec::new(),
        from: None,
        until: None,
        authority: Vec::new(),
    };
    let week = [
        Weekday::Monday,
        Weekday::Tuesday,
        Weekday::Wednesday,
        Weekday::Thursday,
        Weekday::Friday,
    ];
    vec![
        person("Ada", &["fitter", "inspector"], &week),
        person("Ben", &["fitter", "painter"], &week),
        person("Cyn", &["fitter", "inspector"], &week[..3]),
    ]
}

fn plater() -> Firm {
    Firm {
        id: id("plater"),
        name: "Invented Plating".to_owned(),
        does: "plating".to_owned(),
        collects: Weekdays::NONE.with(Weekday::Tuesday),
        turnaround: elapsed(24 * 6),
        at_once: None,
        closed: Vec::new(),
        takes_on: TakesOn::Away,
    }
}

fn step(name: &str, kind: StepKind, by: Performer) -> Step {
    Step {
        id: id(name),
        name: name.to_owned(),
        kind,
        by,
        place: None,
        stand: None,
        conditions: Conditions::default(),
        after: None,
        hold: None,
        branch: None,
    }
}

fn worked(heads: u32, skill: &str, long: i64) -> Performer {
    Performer::Crew {
        crew: crew(heads, skill),
        hours: hours(long),
        or: Vec::new(),
        unbroken: false,
    }
}

fn routes() -> Vec<Route> {
    let warm = Conditions { warm: true, dry: false };
    let inspect = Step {
        branch: Some(Branch { chance: 0.2, then: id("repair") }),
        ..step("inspect", StepKind::Inspect, worked(1, "inspector", 2))
    };
    let prime = Step {
        place: Some(id("bay")),
        conditions: warm,
        ..step("prime", StepKind::Finish, worked(1, "painter", 3))
    };
    let cure = step("cure", StepKind::Finish, Performer::Nobody { takes: elapsed(16) });
    let window = Hold { at_least: None, at_most: Some(Elapsed::from_minutes(60 * 30)) };
    let top = Step {
        place: Some(id("bay")),
        conditions: warm,
        hold: Some(window),
        ..step("top", StepKind::Finish, worked(1, "painter", 2))
    };
    let firm = Performer::Firm { firm: id("plater"), turnaround: None };
    vec![
        route("paint", Reach::Off, vec![inspect, prime, cure, top]),
        route("plate", Reach::Off, vec![step("plate", StepKind::Finish, firm)]),
        route(
            "repair",
            Reach::AsItIs,
            vec![step("mend", StepKind::Repair, worked(1, "fitter", 8))],
        ),
    ]
}

fn route(name: &str, reach: Reach, steps: Vec<Step>) -> Route {
    Route { id: id(name), name: name.to_owned(), reach, steps }
}

fn season() -> Season {
    let shift = |from, until| Shift {
        days: (0..5).fold(Weekdays::NONE, |days, offset| {
            days.with(
                Weekday::from_monday_zero_offset(offset).expect("a day of the week"),
            )
        }),
        from,
        until,
    };
    let whole = DateSpan { from: date(2031, 10, 6), until: date(2031, 12, 31) };
    Season {
        id: id("S1"),
        name: "First winter".to_owned(),
        from: date(2031, 10, 6),
        until: date(2031, 11, 28),
        gate: id("taxi"),
        shifts: vec![
            shift(time(8, 0, 0, 0), time(12, 0, 0, 0)),
            shift(time(12, 30, 0, 0), time(16, 30, 0, 0)),
        ],
        closed: vec![DateSpan { from: date(2031, 10, 20), until: date(2031, 10, 21) }],
        heating: vec![HeatingPeriod {
            days: whole,
            hours: Some((time(8, 0, 0, 0), time(18, 0, 0, 0))),
        }],
        wet: Vec::new(),
        arrangement: None,
    }
}

fn findings() -> Vec<Finding> {
    let finding = |name: &str, item: &str, route: &str| Finding {
        id: id(name),
        item: id(item),
        zone: None,
        what: "worn".to_owned(),
        measured: None,
        condition: Condition::OutsideLimits,
        found: None,
        by: None,
        photograph: None,
        disposition: Some(Disposition {
            decision: Decision::Repair,
            route: Some(id(route)),
            allows: None,
            by: None,
            basis: None,
        }),
        pack: Some(id("P1")),
    };
    vec![
        finding("F1", "ENGINE", "paint"),
        finding("F2", "ENGINE", "plate"),
        finding("F3", "FLOAT", "paint"),
        finding("F4", "RUDDER", "paint"),
    ]
}
