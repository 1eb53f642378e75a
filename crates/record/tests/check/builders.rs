//! A sound programme, its parts, and ways to change one of them.

use std::sync::Arc;

use airframe::{
    Arrangement, CheckRule, CheckScope, CheckTrigger, Connection, ConnectionKind, Crew,
    Gear, Handling, Item, Note, Severity, SupportKind, SupportPoint, Zone,
};
use jiff::civil::{Date, date, datetime, time};
use quantity::{Currency, Elapsed, Estimate, Id, Kind, Length, Notation, Typed, Work};
use record::{
    Actual, Authority, Basis, Branch, Change, Condition, Conditions, DateSpan, Decision,
    Disposition, Finding, Firm, Gate, HeatingPeriod, Hold, Info, Job, JobKey, Named,
    Pack, Performer, Person, Place, Programme, Reach, Register, Requirement, Route, Rule,
    RuleKey, Season, Shift, Skill, Stand, Standing, State, Step, StepKind, TakesOn, Tool,
    Weekday, Weekdays,
};

pub(crate) fn id<K: Kind>(name: &str) -> Id<K> {
    Id::new(name).unwrap()
}

pub(crate) fn hours(text: &str) -> Estimate<Work> {
    Notation::parse(text).unwrap()
}

pub(crate) fn elapsed(text: &str) -> Estimate<Elapsed> {
    Notation::parse(text).unwrap()
}

pub(crate) fn metres(text: &str) -> Typed<Length> {
    Typed::parse(text).unwrap()
}

pub(crate) fn crew(count: u32, skill: &str) -> Vec<Crew> {
    vec![Crew { count, skill: id(skill) }]
}

pub(crate) fn by_crew(count: u32, skill: &str, time: &str) -> Performer {
    let (crew, hours) = (crew(count, skill), hours(time));
    Performer::Crew { crew, hours, or: vec![], unbroken: false }
}

pub(crate) fn weekdays() -> Weekdays {
    Weekday::Monday.cycle_forward().take(5).fold(Weekdays::NONE, Weekdays::with)
}

pub(crate) fn step(name: &str, kind: StepKind, by: Performer) -> Step {
    Step {
        id: id(name),
        name: format!("Step {name}"),
        kind,
        by,
        place: Some(id("BENCH")),
        stand: None,
        conditions: Conditions::default(),
        after: None,
        hold: None,
        branch: None,
    }
}

pub(crate) fn handling() -> Handling {
    Handling {
        crew: crew(1, "fitter"),
        hours: hours("1 h / 2 h / 3 h"),
        gear: vec![id("HOIST")],
    }
}

pub(crate) fn item(name: &str) -> Item {
    Item {
        removal: Some(handling()),
        refit: Some(handling()),
        mass: Some(Typed::parse("20 kg").unwrap()),
        arm: Some(metres("2 m")),
        ..Item::new(id(name), format!("Item {name}"))
    }
}

pub(crate) fn routes() -> Register<Route> {
    let mut inspect = step("look", StepKind::Inspect, by_crew(1, "inspector", "1 h"));
    inspect.branch = Some(Branch { chance: 0.2, then: id("REWORK") });
    let away =
        Performer::Firm { firm: id("PLATER"), turnaround: Some(elapsed("4 days")) };
    let mut cure =
        step("cure", StepKind::Finish, Performer::Nobody { takes: elapsed("24 h") });
    cure.hold = Some(Hold {
        at_least: Some(Elapsed::from_minutes(60)),
        at_most: Some(Elapsed::from_minutes(600)),
    });
    let steps = vec![inspect, step("plate", StepKind::Finish, away), cure];
    let rework = vec![step("again", StepKind::Repair, by_crew(1, "fitter", "2 h"))];
    [
        Route { id: id("FIX"), name: "Fix".into(), reach: Reach::Off, steps },
        Route {
            id: id("REWORK"),
            name: "Rework".into(),
            reach: Reach::Off,
            steps: rework,
        },
    ]
    .into_iter()
    .collect()
}

pub(crate) fn season() -> Season {
    Season {
        id: id("W31"),
        name: "Winter".into(),
        from: date(2031, 10, 6),
        until: date(2032, 4, 30),
        gate: id("TAXI"),
        shifts: vec![Shift {
            days: weekdays(),
            from: time(8, 0, 0, 0),
            until: time(16, 0, 0, 0),
        }],
        closed: vec![DateSpan { from: date(2031, 12, 20), until: date(2032, 1, 4) }],
        heating: vec![HeatingPeriod {
            days: DateSpan { from: date(2031, 10, 6), until: date(2032, 4, 30) },
            hours: Some((time(7, 0, 0, 0), time(18, 0, 0, 0))),
        }],
        wet: vec![DateSpan { from: date(2031, 11, 10), until: date(2031, 11, 11) }],
        arrangement: Some(id("JACKS")),
    }
}

pub(crate) fn person() -> Person {
    Person {
        id: id("edith"),
        name: "Edith".into(),
        standing: Standing::Staff,
        skills: vec![id("fitter"), id("inspector")],
        days: weekdays(),
        hours: Some(Shift {
            days: weekdays(),
            from: time(9, 0, 0, 0),
            until: time(15, 0, 0, 0),
        }),
        away: vec![DateSpan { from: date(2031, 12, 1), until: date(2031, 12, 2) }],
        from: Some(date(2031, 10, 1)),
        until: Some(date(2032, 10, 1)),
        authority: vec![Authority {
            scope: "airframe".into(),
            reference: Some("X-1".into()),
            until: Some(date(2033, 1, 1)),
        }],
    }
}

pub(crate) fn finding() -> Finding {
    Finding {
        id: id("F1"),
        item: id("PANEL"),
        zone: Some(id("HULL")),
        what: "pitting".into(),
        measured: Some("0.01 in".into()),
        condition: Condition::WithinLimits,
        found: Some(date(2031, 6, 1)),
        by: Some(id("edith")),
        photograph: None,
        disposition: Some(Disposition {
            decision: Decision::Repair,
            route: Some(id("FIX")),
            allows: Some(id("TAXI")),
            by: Some(id("edith")),
            basis: Some("scheme 1".into()),
        }),
        pack: Some(id("WP1")),
    }
}

pub(crate) fn job() -> Job {
    Job {
        id: id("J1"),
        name: "Swing the compass".into(),
        pack: id("WP1"),
        item: Some(id("PANEL")),
        reach: Reach::Exposed,
        by: by_crew(1, "fitter", "2 h"),
        place: Some(id("BENCH")),
        stand: Some(id("RACK")),
        conditions: Conditions::default(),
        after: ["OFF:PANEL", "F1:look", "F1:again", "CHECK:SENSE:ROD", "CHECK:RUN"]
            .map(|key| JobKey(key.into()))
            .into(),
        hold: None,
    }
}

pub(crate) fn rule(name: &str, scope: CheckScope) -> CheckRule {
    CheckRule {
        id: id(name),
        name: format!("Check {name}"),
        trigger: CheckTrigger {
            connections: vec![ConnectionKind::FlightControl],
            ..CheckTrigger::default()
        },
        scope,
        independent: true,
        crew: crew(1, "inspector"),
        hours: hours("1 h"),
        after: vec![],
        source: Some("example".into()),
    }
}

pub(crate) fn arrangement() -> Arrangement {
    let point = |name: &str, arm: &str, side: &str| SupportPoint {
        name: name.into(),
        kind: SupportKind::Jack,
        arm: metres(arm),
        side: metres(side),
        capacity: None,
        when_needed: false,
    };
    let points = vec![
        point("port", "2 m", "-1 m"),
        point("starboard", "2 m", "1 m"),
        point("tail", "8 m", "0 m"),
    ];
    Arrangement { id: id("JACKS"), name: "On jacks".into(), points }
}

pub(crate) fn firm() -> Firm {
    Firm {
        id: id("PLATER"),
        name: "Plater".into(),
        does: "plating".into(),
        collects: weekdays(),
        turnaround: elapsed("5 days / 8 days / 15 days"),
        at_once: Some(3),
        closed: vec![DateSpan { from: date(2031, 12, 22), until: date(2032, 1, 3) }],
        takes_on: TakesOn::Away,
    }
}

pub(crate) fn info() -> Info {
    Info {
        name: "Return".into(),
        aircraft: "Invented".into(),
        registration: None,
        keeper: None,
        datum: None,
        currency: Currency::GBP,
        invented: true,
        weighed: None,
    }
}

pub(crate) fn base() -> Item {
    let fixed = Some("it is the structure".into());
    Item { removal: None, refit: None, fixed, ..item("BASE") }
}

pub(crate) fn aircraft(programme: &mut Programme) {
    let mounted = |name: &str| Item {
        part_of: Some(id("BASE")),
        zone: Some(id("HULL")),
        ..item(name)
    };
    programme.zones = [Zone { id: id("HULL"), name: "Hull".into(), within: None }]
        .into_iter()
        .collect();
    programme.gear =
        [Gear { id: id("HOIST"), name: "Hoist".into(), count: 1, limit: None }]
            .into_iter()
            .collect();
    programme.arrangements = [arrangement()].into_iter().collect();
    programme.items = [base(), mounted("PANEL"), mounted("LEVER")].into_iter().collect();
    programme.connections = [Connection {
        id: id("ROD"),
        name: "Rod".into(),
        kind: ConnectionKind::FlightControl,
        from: id("PANEL"),
        to: Some(id("LEVER")),
    }]
    .into_iter()
    .collect();
    programme.checks = [
        rule("SENSE", CheckScope::Connection),
        rule("UNIT", CheckScope::Unit),
        rule("RUN", CheckScope::Once),
    ]
    .into_iter()
    .collect();
}

pub(crate) fn tool() -> Tool {
    Tool {
        id: id("TW-1"),
        name: "Torque wrench".into(),
        measures: true,
        range: Some("5 to 60 N·m".into()),
    }
}

pub(crate) fn requirement() -> Requirement {
    Requirement {
        id: id("RUN-1"),
        gate: id("RUN"),
        what: "The lever moves freely".into(),
        kind: None,
        job: None,
        fitted: Some(id("LEVER")),
        citation: Some("Condition 1 of the invented conditions".into()),
    }
}

pub(crate) fn profile(rule: RuleKey, basis: Basis) -> Rule {
    Rule {
        id: rule,
        basis,
        citation: Some("Condition 2 of the invented conditions".into()),
        note: Some("The keeper agreed".into()),
    }
}

pub(crate) fn sound() -> Programme {
    let gate = |name: &str, order| Gate { id: id(name), name: name.into(), order };
    let skill = |name: &str| Skill { id: id(name), name: name.into() };
    let mut programme = Programme {
        info: Some(Arc::new(info())),
        gates: [gate("RUN", 1), gate("TAXI", 2)].into_iter().collect(),
        skills: [skill("fitter"), skill("inspector")].into_iter().collect(),
        stands: [Stand { id: id("RACK"), name: "Rack".into(), count: 2 }]
            .into_iter()
            .collect(),
        places: [Place {
            id: id("BENCH"),
            name: "Bench".into(),
            room: 2,
            heated: true,
            dry: true,
        }]
        .into_iter()
        .collect(),
        people: [person()].into_iter().collect(),
        firms: [firm()].into_iter().collect(),
        routes: routes(),
        seasons: [season()].into_iter().collect(),
        packs: [Pack {
            id: id("WP1"),
            name: "Pack".into(),
            season: Some(id("W31")),
            gate: Some(id("TAXI")),
            off: vec![id("LEVER")],
            exposed: vec![id("BASE")],
        }]
        .into_iter()
        .collect(),
        findings: [finding()].into_iter().collect(),
        jobs: [job()].into_iter().collect(),
        actuals: [Actual {
            job: JobKey("ON:PANEL".into()),
            state: State::Done {
                from: datetime(2031, 10, 6, 8, 0, 0, 0),
                until: datetime(2031, 10, 6, 10, 0, 0, 0),
            },
        }]
        .into_iter()
        .collect(),
        tools: [tool()].into_iter().collect(),
        requirements: [requirement()].into_iter().collect(),
        rules: [
            profile(RuleKey::Calibration, Basis::Binding),
            profile(RuleKey::Tagging, Basis::Off),
        ]
        .into_iter()
        .collect(),
        ..Programme::default()
    };
    aircraft(&mut programme);
    programme
}

pub(crate) fn edit<T: Named>(register: &mut Register<T>, change: impl FnOnce(&mut T)) {
    let mut thing = register.iter().next().unwrap().clone();
    register.apply(&Change::Retire(thing.name().clone()));
    change(&mut thing);
    add(register, thing);
}

pub(crate) fn add<T: Named>(register: &mut Register<T>, thing: T) {
    register.apply(&Change::Define(Arc::new(thing)));
}

/// The step of a place in the first route.
pub(crate) fn edit_step(
    programme: &mut Programme,
    at: usize,
    change: impl FnOnce(&mut Step),
) {
    edit(&mut programme.routes, |route| change(&mut route.steps[at]));
}

pub(crate) fn decided(programme: &mut Programme, change: impl FnOnce(&mut Disposition)) {
    edit(&mut programme.findings, |finding| {
        change(finding.disposition.as_mut().unwrap());
    });
}

pub(crate) fn shown(note: &Note) -> String {
    let severity = match note.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    };
    let hint = note.hint.as_deref().unwrap_or_default();
    format!("{severity}: {note} ({hint})")
}

pub(crate) fn span(from: Date, until: Date) -> DateSpan {
    DateSpan { from, until }
}

/// What the one note begins with, and what gives it.
pub(crate) type Case = (&'static str, fn(&mut Programme));

pub(crate) fn expect(cases: &[Case]) {
    let mut wrong = Vec::new();
    for (expected, spoil) in cases {
        let mut programme = sound();
        spoil(&mut programme);
        let notes: Vec<String> = programme.check().iter().map(shown).collect();
        if !matches!(notes.as_slice(), [only] if only.starts_with(expected)) {
            wrong.push(format!("expected {expected}\ngot {notes:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
