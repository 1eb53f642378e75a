//! Hours booked against hours estimated. All figures are worked out by hand.

use airframe::{Crew, Handling, Item};
use quantity::{Estimate, Notation, Work};
use record::act::Hours;
use record::ratios::{FEWEST, Hands, Kind, Measured};
use record::{
    Act, Branch, Condition, Conditions, Decision, Disposition, Performer, Reach, Route,
    Step, StepKind,
};

use crate::scene::{Scene, TODAY, card, finish, id, job, sign, step};

fn crew(count: u32, skill: &str) -> Vec<Crew> {
    vec![Crew { count, skill: id(skill) }]
}

fn hours(text: &str) -> Estimate<Work> {
    Estimate::parse(text).unwrap()
}

fn of_route(name: &str, kind: StepKind, by: Performer, then: Option<&str>) -> Step {
    Step {
        id: id(name),
        name: name.into(),
        kind,
        by,
        place: None,
        stand: None,
        conditions: Conditions::default(),
        after: None,
        hold: None,
        branch: then.map(|then| Branch { chance: 0.3, then: id(then) }),
    }
}

fn people(count: u32, text: &str) -> Performer {
    let (crew, hours, or) = (crew(count, "fitter"), hours(text), vec![]);
    Performer::Crew { crew, hours, or, unbroken: false }
}

/// A removal by two for two hours, and a finding whose route has an inspection with a
/// branch.
fn estimated() -> Scene {
    let mut s = Scene::new();
    let items = s.programme.items.iter().map(|item| {
        let removal = Handling {
            crew: crew(2, "fitter"),
            hours: hours("1 h / 2 h / 4 h"),
            gear: vec![],
        };
        let pump = item.id.as_str() == "PUMP";
        Item { removal: pump.then_some(removal), zone: Some(id("bow")), ..item.clone() }
    });
    s.programme.items = items.collect::<Vec<_>>().into_iter().collect();
    let route = |name: &str, steps| Route {
        id: id(name),
        name: name.into(),
        reach: Reach::Off,
        steps,
    };
    let firm = Performer::Firm { firm: id("PLATER"), turnaround: None };
    s.programme.routes = [
        route(
            "R",
            vec![
                of_route(
                    "look",
                    StepKind::Inspect,
                    people(1, "1 h / 1 h / 1 h"),
                    Some("M"),
                ),
                of_route("plate", StepKind::Finish, firm, None),
            ],
        ),
        route(
            "M",
            vec![of_route("mend", StepKind::Repair, people(1, "1 h / 4 h / 9 h"), None)],
        ),
    ]
    .into_iter()
    .collect();
    let mut finding = s.programme.findings.get(&id("F-1")).unwrap().clone();
    finding.condition = Condition::OutsideLimits;
    finding.disposition = Some(Disposition {
        decision: Decision::Repair,
        route: Some(id("R")),
        allows: None,
        by: None,
        basis: None,
    });
    s.programme.findings = [finding].into_iter().collect();
    s
}

fn booked(s: &mut Scene, name: &str, who: &[(&str, &str)]) {
    s.does("ben", card(name, vec![step("one")])).does("ben", crate::scene::start(name));
    s.at = s.at.checked_sub(jiff::Span::new().minutes(1)).unwrap();
    s.does("ben", sign(name, "one"));
    for (person, text) in who {
        s.does("ben", stated(name, person, text));
    }
    s.at = s.at.checked_sub(jiff::Span::new().minutes(1 + who.len() as i64)).unwrap();
    s.does("ben", finish(name));
}

fn stated(name: &str, person: &str, text: &str) -> Act {
    Hours {
        job: job(name),
        person: id(person),
        on: TODAY,
        hours: Work::parse(text).unwrap(),
        reason: "no terminal".into(),
    }
    .into()
}

#[test]
fn a_job_is_known_by_its_name() {
    let s = estimated();
    let planned = |name: &str| {
        let planned = s.programme.planned(&job(name))?;
        Some((planned.kind, planned.person_minutes()))
    };
    assert_eq!(planned("OFF:PUMP"), Some((Kind::Removal, 240)));
    assert_eq!(planned("OFF:PUMP#2"), planned("OFF:PUMP"));
    assert_eq!(planned("F-1:look"), Some((Kind::Step(StepKind::Inspect), 60)));
    assert_eq!(planned("F-1:look:mend"), Some((Kind::Step(StepKind::Repair), 240)));
    for unknown in [
        "ON:PUMP",
        "OFF:RUDDER",
        "F-1:plate",
        "F-1:mend",
        "F-2:look",
        "F-1",
        "",
        ":",
        "CHECK",
        "CHECK:NONE:PUMP",
        "OFF:",
        "F-1:look:mend:more",
        "OFF:PUMP:x",
    ] {
        assert_eq!(planned(unknown), None, "{unknown}");
    }
}

#[test]
fn a_card_that_is_complete_is_a_sample() {
    let mut s = estimated();
    booked(&mut s, "OFF:PUMP", &[("ben", "3 h"), ("cara", "3 h")]);
    booked(&mut s, "F-1:look", &[("cara", "30 min")]);
    booked(&mut s, "EXTRA", &[("ben", "3 h")]);
    s.does("ben", card("F-1:look:mend", vec![step("one")]));
    s.does("ben", stated("F-1:look:mend", "ben", "2 h"));
    let samples = s.programme.samples();
    let told: Vec<(&str, i64, i64, usize, Hands)> = samples
        .iter()
        .map(|s| (s.job.0.as_str(), s.estimated, s.booked, s.people, s.hands))
        .collect();
    assert_eq!(
        told,
        [
            ("F-1:look", 60, 30, 1, Hands::Volunteers),
            ("OFF:PUMP", 240, 360, 2, Hands::Mixed),
        ]
    );
    assert_eq!(samples[1].ratio(), 1.5);
    assert_eq!(samples[1].zone, Some(id("bow")));
    assert!(samples[1].skills.contains(&id("fitter")));
}

#[test]
fn few_samples_say_so() {
    let mut s = estimated();
    booked(&mut s, "OFF:PUMP", &[("ben", "6 h")]);
    let measured = s.programme.measured(Kind::Removal);
    assert_eq!((measured.samples, measured.ratio()), (1, None));
    assert_eq!(s.programme.measured(Kind::Check).spread, None);
    let sample = s.programme.samples().remove(0);
    let of = |booked: &[i64]| {
        let each = booked.iter().map(|booked| {
            let booked = *booked;
            record::ratios::Sample { booked, estimated: 100, ..sample.clone() }
        });
        Measured::of(&each.collect::<Vec<_>>())
    };
    let five = of(&[300, 100, 50, 200, 150]);
    assert_eq!((five.samples, FEWEST), (5, 5));
    let spread = five.spread.unwrap();
    assert_eq!((spread.least, spread.middle, spread.greatest), (0.5, 1.5, 3.0));
    assert_eq!(five.ratio(), Some(1.5));
    let four = of(&[300, 100, 50, 200]);
    assert_eq!((four.ratio(), four.spread.unwrap().middle), (None, 1.5));
    assert_eq!(of(&[100, 200, 300, 400, 500, 600]).ratio(), Some(3.5));
}
