//! A day in the invented skiff's hangar, one obstacle at a time.

use jiff::civil::{DateTime, date};
use record::act::{
    Adopt, CardStep, DatedJob, Despatch, Finish, Grant, HandOver, IssueCard, Limit,
    Power, Query, Reading, Receive, SignStep, Start, StepWork, Tag,
};
use record::{Act, JobKey, Programme, Stamp, Standing};
use testkit::id;

use super::{AirVerdict, JobNow, JobToday, Today, moment_of, today};

/// A Monday.
pub(super) const MORNING: DateTime = date(2031, 10, 6).at(9, 0, 0, 0);

pub(super) fn does(
    programme: &mut Programme,
    by: &str,
    at: DateTime,
    act: impl Into<Act>,
) {
    let number = programme.shop.cards.cards.len() as u64 + 1;
    programme.perform(&act.into(), &Stamp { number, at, by: id(by) });
}

/// The skiff with a plan that has all jobs today, each with these people.
fn planned(people: &[&str]) -> Programme {
    let mut programme = testkit::skiff();
    let draft = planner::draft(&programme, &id("S1")).unwrap();
    let begin = draft.jobs.iter().filter(|job| job.kind != planner::JobKind::Begin);
    let jobs = begin.map(|job| DatedJob {
        job: job.key.clone(),
        from: MORNING,
        until: MORNING,
        people: people.iter().map(|person| id(person)).collect(),
    });
    let adopt = Adopt {
        season: id("S1"),
        complete: MORNING,
        earliest: None,
        reason: "a test".into(),
        problem: "p".into(),
        engine: "e".into(),
        seed: 0,
        jobs: jobs.collect(),
    };
    does(&mut programme, "Ada", MORNING, adopt);
    programme
}

fn job<'a>(today: &'a Today, key: &str) -> &'a JobToday {
    let found = today.jobs.iter().find(|job| job.job == key);
    found.unwrap_or_else(|| panic!("{key} is not among today's: {:#?}", today.jobs))
}

/// What stands in the way of a job, kinds and words.
fn obstacles(programme: &Programme, now: DateTime, key: &str) -> Vec<String> {
    let today = today(programme, now);
    let told = job(&today, key).obstacles.iter();
    told.map(|one| format!("{}: {}", one.kind, one.what)).collect()
}

fn has(all: &[String], words: &str) -> bool {
    all.iter().any(|one| one.contains(words))
}

fn tag(item: &str) -> Tag {
    Tag {
        item: id(item),
        job: None,
        location: "as drawn".into(),
        orientation: None,
        shims: None,
        photograph: None,
        service: "not known".into(),
        preservation: "bagged".into(),
        defects: "none known".into(),
        exposure: None,
        accident: false,
        control: None,
        place: id("bay"),
    }
}

pub(super) fn step(name: &str) -> CardStep {
    CardStep {
        id: id(name),
        text: "Do it".into(),
        work: StepWork::Task,
        data: Some("Manual".into()),
        revision: Some("1".into()),
        critical: false,
        inspected: false,
        independent: false,
        limits: Vec::new(),
        makes: Vec::new(),
    }
}

pub(super) fn card(job: &str, item: &str, steps: Vec<CardStep>) -> IssueCard {
    let item = Some(id(item));
    IssueCard { job: JobKey(job.into()), title: job.into(), item, pack: None, steps }
}

fn key(job: &str) -> JobKey {
    JobKey(job.to_owned())
}

#[test]
fn who_is_in_follows_days_absences_and_closures() {
    let mut programme = planned(&[]);
    let present = |programme: &Programme, now| {
        let today = today(programme, now);
        today.present().map(|person| person.person.clone()).collect::<Vec<_>>()
    };
    assert_eq!(present(&programme, MORNING), ["Ada", "Ben", "Cyn"]);
    let thursday = date(2031, 10, 9).at(9, 0, 0, 0);
    assert_eq!(present(&programme, thursday), ["Ada", "Ben"]);
    let told = today(&programme, thursday);
    assert_eq!((&*told.people[2].person, &*told.people[2].why), ("Cyn", "comes Mon-Wed"));
    assert_eq!(told.people[0].why, "08:00-12:00, 12:30-16:30");
    // The season's own closure, and a Saturday without a shift.
    for (day, why) in [
        (date(2031, 10, 20), "the workshop is closed until 2031-10-21"),
        (date(2031, 10, 11), "no shift on a Saturday"),
        (date(2031, 10, 5), "First winter begins on 2031-10-06"),
        (date(2032, 1, 5), "no season is under way or to come"),
    ] {
        let now = day.at(9, 0, 0, 0);
        assert_eq!(today(&programme, now).shut.as_deref(), Some(why));
        assert_eq!(present(&programme, now), [""; 0], "{day}");
    }
    // Whoever is at a card is there, whatever was expected.
    does(&mut programme, "Cyn", MORNING, card("ODD", "FLOAT", vec![step("10")]));
    does(&mut programme, "Cyn", thursday, Start { job: key("ODD") });
    assert_eq!(present(&programme, thursday), ["Ada", "Ben", "Cyn"]);
    let told = today(&programme, thursday);
    assert_eq!(told.people[2].why, "at work, though comes Mon-Wed");
    assert_eq!(told.at_work.len(), 1);
    assert_eq!(told.at_work[0].who[0].0, "Cyn");
}

#[test]
fn what_is_in_the_way_comes_first_and_a_stand_holds_one() {
    let mut programme = planned(&["Ada", "Ben"]);
    let told = today(&programme, MORNING);
    assert_eq!(job(&told, "OFF:COWL").now, JobNow::Ready);
    assert!(!job(&told, "OFF:COWL").card);
    assert_eq!(job(&told, "OFF:ENGINE").now, JobNow::Waits);
    let why = obstacles(&programme, MORNING, "OFF:ENGINE");
    assert!(
        has(&why, "in the way: ") && has(&why, "(OFF:COWL) has not begun"),
        "{why:?}"
    );
    // The skiff has one cradle, which engine and float both need.
    assert_eq!(obstacles(&programme, MORNING, "OFF:FLOAT"), [""; 0]);
    does(&mut programme, "Ada", MORNING, tag("COWL"));
    does(&mut programme, "Ada", MORNING, tag("ENGINE"));
    let why = obstacles(&programme, MORNING, "OFF:FLOAT");
    assert_eq!(why, ["stand: Cradle is taken by ENGINE"]);
    assert_eq!(job(&today(&programme, MORNING), "OFF:ENGINE").now, JobNow::Done);
    // What was done yesterday is no line of today's.
    let tomorrow = date(2031, 10, 7).at(9, 0, 0, 0);
    let told = today(&programme, tomorrow);
    assert!(told.jobs.iter().all(|job| job.job != "OFF:ENGINE"));
    assert_eq!(job(&told, "OFF:FLOAT").late, 1);
}

#[test]
fn a_part_that_is_away_says_where_and_until_when() {
    let mut programme = planned(&["Ada"]);
    for item in ["COWL", "ENGINE"] {
        does(&mut programme, "Ada", MORNING, tag(item));
    }
    let despatch = Despatch {
        item: id("ENGINE"),
        firm: id("plater"),
        order: "7".into(),
        scope: "plate it".into(),
        document: "certificate".into(),
        due: date(2031, 10, 14),
        preservation: "boxed".into(),
        carrier: "van".into(),
        dangerous: None,
        declaration: None,
    };
    does(&mut programme, "Ada", MORNING, despatch);
    let later = date(2031, 10, 16).at(9, 0, 0, 0);
    let why = obstacles(&programme, later, "F1:inspect");
    let away = "part: ENGINE is away at Invented Plating, due 2031-10-14, 2 days late";
    assert!(has(&why, away), "{why:?}");
    let told = today(&programme, later);
    let first = &told.travelling[0];
    assert_eq!((&*first.item, first.back, first.late), ("ENGINE", true, 2));
    // On the day itself it comes back; before it, it does not yet.
    let back = |day: i8| {
        let now = date(2031, 10, day).at(9, 0, 0, 0);
        let told = today(&programme, now);
        told.travelling.into_iter().filter(|one| one.what.starts_with("due")).count()
    };
    assert_eq!((back(13), back(14)), (0, 1));
    let receive =
        Receive { item: id("ENGINE"), packing: "whole".into(), place: id("bay") };
    does(&mut programme, "Ada", later, receive);
    let why = obstacles(&programme, later, "F1:inspect");
    assert!(has(&why, "ENGINE came back and waits for its receiving check"), "{why:?}");
}

#[test]
fn people_who_are_not_in_or_may_not_are_named() {
    let thursday = date(2031, 10, 9).at(9, 0, 0, 0);
    let programme = planned(&["Cyn"]);
    let why = obstacles(&programme, thursday, "OFF:COWL");
    assert_eq!(why, ["people: Cyn is not in: comes Mon-Wed"]);
    let mut programme = planned(&["Ben"]);
    let mut people: Vec<record::Person> = programme.people.iter().cloned().collect();
    people[1].standing = Standing::Volunteer;
    programme.people = people.into_iter().collect();
    let why = obstacles(&programme, thursday, "OFF:COWL");
    assert!(has(&why, "authority: Ben work under supervision"), "{why:?}");
    let grant = Grant {
        authority: id("A-1"),
        person: id("Ada"),
        power: Power::Supervise,
        chapters: Vec::new(),
        reference: "r".into(),
        from: date(2031, 1, 1),
        until: None,
        specimen: None,
    };
    does(&mut programme, "Ada", MORNING, grant);
    assert_eq!(obstacles(&programme, thursday, "OFF:COWL"), [""; 0]);
}

#[test]
fn a_card_tells_of_queries_handovers_and_instruments() {
    let mut programme = planned(&["Ada"]);
    let torque = Limit {
        name: "torque".into(),
        low: Some(40.0),
        high: Some(45.0),
        unit: "N·m".into(),
    };
    let steps = vec![CardStep { limits: vec![torque], ..step("10") }];
    does(&mut programme, "Ada", MORNING, card("OFF:COWL", "COWL", steps));
    let why = obstacles(&programme, MORNING, "OFF:COWL");
    let tool = "tool: step 10 measures torque, and no instrument may be used today";
    assert_eq!(why, [tool]);
    let query = Query {
        query: id("Q-1"),
        job: key("OFF:COWL"),
        step: id("10"),
        to: "the maker".into(),
        question: "dry or oiled".into(),
    };
    does(&mut programme, "Ada", MORNING, query);
    let why = obstacles(&programme, MORNING, "OFF:COWL");
    assert!(has(&why, "query: query Q-1 about the data of step 10 is open"), "{why:?}");
    does(&mut programme, "Ada", MORNING, Start { job: key("OFF:COWL") });
    let over = HandOver {
        job: key("OFF:COWL"),
        to: id("Ben"),
        done: "nothing".into(),
        next: "10".into(),
        loose: "nothing".into(),
        off: "nothing".into(),
        hazards: "nothing".into(),
        tools: Vec::new(),
    };
    does(&mut programme, "Ada", MORNING, over);
    let told = today(&programme, MORNING);
    assert_eq!(job(&told, "OFF:COWL").now, JobNow::Running);
    let why = obstacles(&programme, MORNING, "OFF:COWL");
    assert!(has(&why, "handover: Ada handed it over to Ben"), "{why:?}");
}

/// The float is off, primed and cured.
pub(super) fn finished_before_the_top_coat() -> Programme {
    let mut programme = planned(&["Ben"]);
    does(&mut programme, "Ada", MORNING, tag("FLOAT"));
    for name in ["F3:inspect", "F3:prime", "F3:cure"] {
        does(&mut programme, "Ben", MORNING, card(name, "FLOAT", vec![step("10")]));
        does(&mut programme, "Ben", MORNING, Start { job: key(name) });
        let finish = Finish { job: key(name), clear: true };
        does(&mut programme, "Ben", MORNING, finish);
    }
    programme
}

/// The skiff's top coat follows its cure within 30 hours, and asks for warmth.
#[test]
fn times_between_and_the_air_are_told() {
    let programme = finished_before_the_top_coat();
    assert_eq!(obstacles(&programme, MORNING, "F3:top"), [""; 0]);
    let late = date(2031, 10, 7).at(16, 0, 0, 0);
    let why = obstacles(&programme, late, "F3:top");
    assert!(has(&why, "time: the time in which it could follow"), "{why:?}");
    assert!(has(&why, "ended 2031-10-07 15:00"), "{why:?}");
    let evening = date(2031, 10, 6).at(18, 0, 0, 0);
    let why = obstacles(&programme, evening, "F3:top");
    assert!(has(&why, "air: it asks for warmth: the hangar is heated 08:00-18:00"));
    let told = today(&programme, evening);
    let work = told.air.work.iter().find(|work| work.job == "F3:top").unwrap();
    assert_eq!((work.asks, work.verdict), ("warm", AirVerdict::MayNot));
}

#[test]
fn what_was_measured_of_the_air_stands_beside_its_limits() {
    let mut programme = planned(&[]);
    let limit = |low, high| Limit {
        name: "Air temperature".into(),
        low: Some(low),
        high: Some(high),
        unit: "°C".into(),
    };
    let wants =
        |low, high| vec![CardStep { limits: vec![limit(low, high)], ..step("10") }];
    does(&mut programme, "Ben", MORNING, card("A", "FLOAT", wants(0.0, 50.0)));
    does(&mut programme, "Ben", MORNING, card("B", "FLOAT", wants(15.0, 25.0)));
    let states = |programme: &Programme, now| {
        let told = today(programme, now).air.limits;
        told.into_iter().map(|one| (one.job, one.state)).collect::<Vec<_>>()
    };
    let never = "never measured";
    assert_eq!(
        states(&programme, MORNING),
        [("A".to_owned(), never), ("B".to_owned(), never)]
    );
    let reading =
        |value| Reading { name: "Air temperature".into(), value, instrument: None };
    let sign = |value| SignStep {
        job: key("A"),
        step: id("10"),
        readings: vec![reading(value)],
        supervisor: None,
        note: None,
        photographs: Vec::new(),
    };
    does(&mut programme, "Ben", MORNING, sign(15.0));
    assert_eq!(states(&programme, MORNING), [("B".to_owned(), "within")]);
    does(&mut programme, "Ben", MORNING, sign(14.9));
    assert_eq!(states(&programme, MORNING), [("B".to_owned(), "outside")]);
    let tomorrow = date(2031, 10, 7).at(9, 0, 0, 0);
    assert_eq!(states(&programme, tomorrow), [("B".to_owned(), "not measured today")]);
}

#[test]
fn whoever_had_a_part_in_the_work_is_not_asked_to_inspect_it() {
    let mut programme = planned(&[]);
    for (person, name) in [("Ada", "A-1"), ("Ben", "A-2"), ("Cyn", "A-3")] {
        let grant = Grant {
            authority: id(name),
            person: id(person),
            power: Power::Inspect,
            chapters: Vec::new(),
            reference: "r".into(),
            from: date(2031, 1, 1),
            until: None,
            specimen: None,
        };
        does(&mut programme, "Ada", MORNING, grant);
    }
    let steps = vec![CardStep { independent: true, ..step("10") }];
    does(&mut programme, "Ada", MORNING, card("A", "FLOAT", steps));
    does(&mut programme, "Ada", MORNING, Start { job: key("A") });
    let sign = SignStep {
        job: key("A"),
        step: id("10"),
        readings: Vec::new(),
        supervisor: None,
        note: None,
        photographs: Vec::new(),
    };
    does(&mut programme, "Ada", MORNING, sign);
    let told = today(&programme, MORNING);
    let one = &told.inspections[0];
    assert_eq!((&*one.step, one.lacks), ("10", "its inspection"));
    assert_eq!(one.may, ["Ben", "Cyn"]);
    let thursday = date(2031, 10, 9).at(9, 0, 0, 0);
    let one = &today(&programme, thursday).inspections[0];
    assert_eq!(
        (&one.may[..], &one.may_later[..]),
        (&["Ben".into()][..], &["Cyn".into()][..])
    );
}

#[test]
fn without_a_plan_cards_stand_by_themselves() {
    let mut programme = testkit::skiff();
    assert_eq!(today(&programme, MORNING).jobs, []);
    does(&mut programme, "Ada", MORNING, card("A", "FLOAT", vec![step("10")]));
    let told = today(&programme, MORNING);
    assert_eq!((told.plan.is_none(), job(&told, "A").now), (true, JobNow::Ready));
    // An empty programme has a day too.
    let nothing = today(&Programme::default(), MORNING);
    assert!(nothing.people.is_empty() && nothing.jobs.is_empty());
}

#[test]
fn a_stamp_is_a_moment_on_its_own_clock() {
    for (stamp, moment) in [
        ("2031-10-06T09:00:00+02:00", Some(MORNING)),
        ("2031-10-06T09:00:00Z", Some(MORNING)),
        ("2031-10-06", None),
        ("", None),
    ] {
        assert_eq!(moment_of(stamp), moment, "{stamp}");
    }
}

/// Everybody of the plan is away: one reason, however many jobs it holds up.
#[test]
fn a_reason_is_told_once_with_all_that_it_holds_up() {
    let thursday = date(2031, 10, 9).at(9, 0, 0, 0);
    let programme = planned(&["Cyn"]);
    let told = today(&programme, thursday);
    let waits = told.jobs_that(JobNow::Waits).count();
    let held = told.held();
    let absent: Vec<_> = held.iter().filter(|one| one.kind == "people").collect();
    assert_eq!(absent.len(), 1, "{held:#?}");
    assert_eq!(
        (absent[0].what, absent[0].jobs.len()),
        ("Cyn is not in: comes Mon-Wed", waits)
    );
    let back = "they are in again on Monday 2031-10-13";
    assert!(absent[0].clears.ends_with(back), "{}", absent[0].clears);
    // No reason is told twice, and none of a waiting job is missing.
    let said: std::collections::BTreeSet<_> =
        held.iter().map(|one| (one.kind, one.what)).collect();
    assert_eq!(said.len(), held.len());
    for job in told.jobs_that(JobNow::Waits) {
        for one in &job.obstacles {
            let of =
                held.iter().find(|held| (held.kind, held.what) == (one.kind, &one.what));
            assert!(
                of.is_some_and(|of| of.jobs.iter().any(|other| other.job == job.job))
            );
        }
    }
}

#[test]
fn what_holds_up_most_comes_first_with_what_waits_behind_it() {
    let mut programme = planned(&["Ada", "Ben"]);
    let told = today(&programme, MORNING);
    let held = told.held();
    let weights: Vec<usize> =
        held.iter().map(|one| one.jobs.len() + one.behind).collect();
    assert!(weights.is_sorted_by(|a, b| a >= b), "{weights:?}");
    // The cowl is off first; the engine waits for it alone, and much for the engine.
    let cowl = held.iter().find(|one| one.what.contains("(OFF:COWL)")).unwrap();
    assert_eq!(cowl.kind, "in the way");
    assert_eq!(cowl.first.map(|job| job.now), Some(JobNow::Ready));
    assert_eq!(cowl.clears, "it is done, which the plan has for 09:00 today");
    let engine = held.iter().find(|one| one.what.contains("(OFF:ENGINE)")).unwrap();
    assert_eq!(engine.first.map(|job| job.now), Some(JobNow::Waits));
    assert!(cowl.jobs.iter().any(|job| job.job == "OFF:ENGINE"));
    assert!(cowl.alone >= 1 && cowl.behind >= engine.jobs.len(), "{cowl:#?}");
    // Once the cowl is off nothing is said of it, and the cradle is the reason instead: it is
    // free when the engine is back on.
    for item in ["COWL", "ENGINE"] {
        does(&mut programme, "Ada", MORNING, tag(item));
    }
    let told = today(&programme, MORNING);
    let held = told.held();
    assert!(held.iter().all(|one| !one.what.contains("(OFF:COWL)")), "{held:#?}");
    let cradle = held.iter().find(|one| one.kind == "stand").unwrap();
    assert_eq!(cradle.what, "Cradle is taken by ENGINE");
    let clears = cradle.clears;
    let told = " is done, which the plan has for ";
    assert!(clears.contains(told) && clears.ends_with(" today"), "{clears}");
}

#[test]
fn a_day_without_waiting_jobs_holds_up_nothing() {
    assert_eq!(today(&Programme::default(), MORNING).held(), []);
    assert_eq!(today(&testkit::skiff(), MORNING).held(), []);
}
