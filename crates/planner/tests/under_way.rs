//! A season that is under way: what people signed is the past of the plan.

use jiff::civil::{DateTime, date};
use planner::{Draft, JobKind, Model, Plan, SoFar, draft};
use record::act::{
    Accept, Assign, CardStep, Certificate, Clear, Despatch, Finish, Fit, IssueCard,
    Raise, Receive, SignStep, Start, StepWork, Tag,
};
use record::{Act, DateSpan, JobKey, Programme, Season, Stamp};
use search::{Options, Silent, Stop};
use testkit::{id, skiff};

/// A programme of which things are signed. What may be signed is not judged here: the plan
/// takes the record as it is.
struct Work {
    programme: Programme,
    number: u64,
}

impl Work {
    fn new() -> Self {
        Self { programme: skiff(), number: 0 }
    }

    fn signed(&mut self, by: &str, at: DateTime, act: impl Into<Act>) -> &mut Self {
        self.number += 1;
        let stamp = Stamp { number: self.number, at, by: id(by) };
        self.programme.perform(&act.into(), &stamp);
        self
    }

    fn begun(&mut self, name: &str, by: &str, at: DateTime, steps: &[&str]) -> &mut Self {
        let issue = IssueCard {
            job: job(name),
            title: name.to_owned(),
            item: None,
            pack: None,
            steps: steps.iter().map(|name| step(name)).collect(),
        };
        self.signed(by, at, issue);
        self.signed(by, at, Start { job: job(name) })
    }

    fn finished(
        &mut self,
        name: &str,
        by: &str,
        from: DateTime,
        until: DateTime,
    ) -> &mut Self {
        self.begun(name, by, from, &["one"]);
        self.signed(by, until, Finish { job: job(name), clear: true })
    }

    fn planned(&self, now: DateTime) -> (Draft, Plan) {
        planned(&self.programme, "S1", now)
    }
}

fn planned(programme: &Programme, season: &str, now: DateTime) -> (Draft, Plan) {
    let draft = draft(programme, &id(season)).expect("the season can be drafted");
    let model = Model::new(programme, &draft, Some(now)).expect("it can be modelled");
    let options =
        Options { stop: Stop::after_steps(2_000), threads: 1, seed: 1, start_from: None };
    let outcome = search::solve(&model.problem, &options, &Silent);
    let schedule = outcome.schedule().expect("a lawful season");
    assert_eq!(verify::check(&model.problem, schedule), Vec::new());
    let plan = Plan::new(&model, schedule);
    for planned in plan.jobs.iter().filter(|planned| !planned.done) {
        assert!(planned.finish >= now, "{} lies in the past", planned.key);
    }
    (draft.clone(), plan)
}

fn job(name: &str) -> JobKey {
    JobKey(name.to_owned())
}

fn step(name: &str) -> CardStep {
    CardStep {
        id: id(name),
        text: name.to_owned(),
        work: StepWork::Task,
        data: Some("invented manual".to_owned()),
        revision: Some("2".to_owned()),
        critical: false,
        inspected: false,
        independent: false,
        limits: Vec::new(),
        makes: Vec::new(),
    }
}

fn tag(item: &str) -> Tag {
    Tag {
        item: id(item),
        job: None,
        location: "frame 4".to_owned(),
        orientation: None,
        shims: None,
        photograph: None,
        service: "unknown".to_owned(),
        preservation: "none".to_owned(),
        defects: "none known".to_owned(),
        exposure: None,
        accident: false,
        control: None,
        place: id("bay"),
    }
}

fn despatch(item: &str, due: jiff::civil::Date) -> Despatch {
    Despatch {
        item: id(item),
        firm: id("plater"),
        order: "O-1".to_owned(),
        scope: "plate".to_owned(),
        document: "certificate".to_owned(),
        due,
        preservation: "oiled".to_owned(),
        carrier: "own van".to_owned(),
        dangerous: None,
        declaration: None,
    }
}

fn accept(item: &str) -> Accept {
    Accept {
        item: id(item),
        certificate: Certificate {
            number: "C-1".to_owned(),
            status: "repaired".to_owned(),
            serial: None,
            data: "scheme".to_owned(),
            revision: None,
        },
        done: "plated".to_owned(),
        complete: true,
    }
}

fn day(month: i8, day: i8, hour: i8) -> DateTime {
    date(2031, month, day).at(hour, 0, 0, 0)
}

fn at<'p>(plan: &'p Plan, key: &str) -> &'p planner::PlannedJob {
    let found = plan.jobs.iter().find(|job| job.key.0 == key);
    found.unwrap_or_else(|| panic!("no job {key}"))
}

fn has(plan: &Plan, key: &str) -> bool {
    plan.jobs.iter().any(|job| job.key.0 == key)
}

fn warned(plan: &Plan, words: &str) -> bool {
    plan.warnings.iter().any(|warning| warning.contains(words))
}

/// Cowl and engine are off by their cards.
fn opened() -> Work {
    let mut work = Work::new();
    work.finished("OFF:COWL", "Ada", day(10, 6, 8), day(10, 6, 9));
    work.finished("OFF:ENGINE", "Ada", day(10, 6, 9), day(10, 6, 16));
    work
}

#[test]
fn a_card_that_is_certified_is_done_when_and_by_whom_it_was() {
    let (_, plan) = opened().planned(day(10, 8, 0));
    let cowl = at(&plan, "OFF:COWL");
    assert!(cowl.done);
    assert_eq!((cowl.start, cowl.finish), (day(10, 6, 8), day(10, 6, 9)));
    let people: Vec<_> = cowl.people.iter().map(|(who, _)| who.as_str()).collect();
    // One person did it although the plan would have put two on it.
    assert_eq!(people, ["Ada"]);
}

#[test]
fn work_that_lasts_is_done_by_the_share_of_its_steps() {
    let mut work = opened();
    work.begun("F1:inspect", "Ada", day(10, 7, 8), &["one", "two", "three", "four"]);
    for name in ["one", "two", "three"] {
        let sign = SignStep {
            job: job("F1:inspect"),
            step: id(name),
            readings: Vec::new(),
            supervisor: None,
            note: None,
            photographs: Vec::new(),
        };
        work.signed("Ada", day(10, 7, 9), sign);
    }
    let now = day(10, 8, 8);
    let (draft, plan) = work.planned(now);
    let number = draft.jobs.iter().position(|job| job.key.0 == "F1:inspect").unwrap();
    // Two hours of work, of which one step of four is left.
    assert_eq!(draft.past[&number].so_far, SoFar::Left(30));
    assert_eq!(
        at(&plan, "F1:inspect").finish,
        day(10, 8, 8) + jiff::Span::new().minutes(30)
    );
}

#[test]
fn a_tag_says_that_a_part_is_off() {
    let mut work = Work::new();
    work.signed("Ada", day(10, 6, 10), tag("COWL"));
    let (_, plan) = work.planned(day(10, 8, 0));
    assert!(at(&plan, "OFF:COWL").done);
    assert_eq!(at(&plan, "OFF:COWL").finish, day(10, 6, 10));
}

#[test]
fn what_is_away_is_back_when_it_is_due_and_not_before() {
    let mut work = opened();
    work.signed("Ben", day(10, 7, 9), despatch("ENGINE", date(2031, 10, 28)));
    let (_, plan) = work.planned(day(10, 8, 0));
    assert!(at(&plan, "F2:plate:OUT").done);
    assert_eq!(at(&plan, "F2:plate").finish, day(10, 28, 0));
    assert!(at(&plan, "F2:plate:BACK").start >= day(10, 28, 0));
    // Overdue, it is taken to be back tomorrow, and somebody is told to ask.
    let (_, plan) = work.planned(day(10, 30, 8));
    assert!(warned(&plan, "F2:plate was due on 2031-10-28"), "{:?}", plan.warnings);
    assert!(at(&plan, "F2:plate").finish >= day(10, 31, 0));
    // On the day itself it may still come: nobody is told to ask, and it is back tomorrow.
    let (_, plan) = work.planned(day(10, 28, 14));
    assert!(!warned(&plan, "was due on"), "{:?}", plan.warnings);
    assert_eq!(at(&plan, "F2:plate").finish, day(10, 29, 0));
}

#[test]
fn what_came_back_waits_for_its_receiving_check() {
    let mut work = opened();
    work.signed("Ben", day(10, 7, 9), despatch("ENGINE", date(2031, 10, 14)));
    let receive =
        Receive { item: id("ENGINE"), packing: "sound".to_owned(), place: id("bay") };
    work.signed("Ben", day(10, 14, 9), receive);
    let (_, plan) = work.planned(day(10, 15, 8));
    assert!(at(&plan, "F2:plate").done);
    assert!(!at(&plan, "F2:plate:BACK").done);
    work.signed("Ben", day(10, 15, 9), accept("ENGINE"));
    let (_, plan) = work.planned(day(10, 15, 10));
    assert!(at(&plan, "F2:plate:BACK").done);
}

#[test]
fn what_overtook_its_order_is_told_and_planned_on() {
    let mut work = Work::new();
    // The engine is off, and nobody signed for the cowl in front of it.
    work.finished("OFF:ENGINE", "Ada", day(10, 6, 9), day(10, 6, 16));
    let (_, plan) = work.planned(day(10, 8, 0));
    assert!(
        warned(&plan, "OFF:ENGINE has begun although OFF:COWL"),
        "{:?}",
        plan.warnings
    );
    assert!(at(&plan, "OFF:ENGINE").done && !at(&plan, "OFF:COWL").done);
}

#[test]
fn a_window_that_ran_out_is_told_and_planned_on() {
    let mut work = opened();
    work.finished("F1:inspect", "Ada", day(10, 7, 8), day(10, 7, 10));
    work.finished("F1:prime", "Ben", day(10, 7, 10), day(10, 7, 14));
    work.finished("F1:cure", "Ben", day(10, 7, 14), day(10, 8, 6));
    // Within 30 h the next coat had to begin.
    let (_, plan) = work.planned(day(10, 13, 0));
    assert!(
        warned(&plan, "F1:top had to begin by 2031-10-09 12:00"),
        "{:?}",
        plan.warnings
    );
    assert!(at(&plan, "F1:top").start >= day(10, 13, 0));
}

#[test]
fn a_finding_that_was_raised_is_planned_once_it_is_assigned() {
    let mut work = opened();
    let raise = Raise {
        finding: id("F9"),
        item: id("ENGINE"),
        zone: None,
        what: "crack".to_owned(),
        measured: None,
        found: date(2031, 10, 7),
        cause: None,
        job: None,
        also: Vec::new(),
        photographs: Vec::new(),
        mark: None,
    };
    work.signed("Ada", day(10, 7, 8), raise);
    let (_, plan) = work.planned(day(10, 8, 0));
    assert!(!has(&plan, "F9:mend") && warned(&plan, "F9"), "{:?}", plan.warnings);
    let assign = Assign {
        finding: id("F9"),
        pack: id("P1"),
        route: id("repair"),
        reason: "while it is off".to_owned(),
    };
    work.signed("Ada", day(10, 8, 8), assign);
    let (_, plan) = work.planned(day(10, 9, 0));
    assert!(at(&plan, "F9:mend").start >= day(10, 9, 0));
}

#[test]
fn a_finding_that_was_cleared_asks_for_no_work() {
    let mut work = Work::new();
    let clear = |finding: &str| Clear {
        finding: id(finding),
        job: None,
        statement: "within limits after all".to_owned(),
    };
    work.signed("Ada", day(10, 6, 8), clear("F4"));
    let (_, plan) = work.planned(day(10, 8, 0));
    assert!(!has(&plan, "F4:inspect") && !has(&plan, "OFF:RUDDER"));
    // What was worked on stays as the past.
    work.finished("F3:inspect", "Ada", day(10, 7, 8), day(10, 7, 10));
    work.signed("Ada", day(10, 7, 10), clear("F3"));
    let (_, plan) = work.planned(day(10, 8, 0));
    assert!(at(&plan, "F3:inspect").done);
}

#[test]
fn what_came_off_besides_goes_back_and_is_checked() {
    let mut work = Work::new();
    let clear = Clear { finding: id("F4"), job: None, statement: "sound".to_owned() };
    work.signed("Ada", day(10, 6, 8), clear);
    // Nothing asks for the rudder any more, and somebody took it off.
    work.signed("Ada", day(10, 6, 9), tag("RUDDER"));
    let (_, plan) = work.planned(day(10, 8, 0));
    assert!(at(&plan, "OFF:RUDDER").done);
    assert!(at(&plan, "ON:RUDDER").finish <= at(&plan, "CHECK:range:RUDDER-CABLE").start);
    assert!(has(&plan, "CHECK:second:RUDDER-CABLE"));
}

#[test]
fn what_was_off_before_the_season_holds_its_stand() {
    let mut work = Work::new();
    work.signed("Ada", day(9, 1, 9), tag("COWL"));
    work.signed("Ada", day(9, 1, 10), tag("ENGINE"));
    let (draft, plan) = work.planned(day(10, 6, 0));
    assert!(!has(&plan, "OFF:ENGINE") && has(&plan, "ON:ENGINE"));
    assert!(draft.jobs.iter().any(|job| job.kind == JobKind::Begin));
    // There is one cradle, and the engine sits on it until it goes back.
    assert!(at(&plan, "OFF:FLOAT").start >= at(&plan, "ON:ENGINE").start);
}

#[test]
fn whoever_did_the_work_by_the_record_is_no_independent_inspector() {
    let mut work = Work::new();
    work.finished("OFF:RUDDER", "Ada", day(10, 6, 8), day(10, 6, 10));
    work.finished("F4:inspect", "Ada", day(10, 6, 10), day(10, 6, 12));
    work.finished("F4:prime", "Ben", day(10, 7, 8), day(10, 7, 10));
    work.finished("F4:cure", "Ben", day(10, 7, 10), day(10, 8, 2));
    work.finished("F4:top", "Ben", day(10, 8, 8), day(10, 8, 10));
    work.finished("ON:RUDDER", "Ada", day(10, 8, 10), day(10, 8, 14));
    let (_, plan) = work.planned(day(10, 13, 0));
    let second = at(&plan, "CHECK:second:RUDDER-CABLE");
    let people: Vec<_> = second.people.iter().map(|(who, _)| who.as_str()).collect();
    // Only Ada and Cyn are inspectors.
    assert_eq!(people, ["Cyn"]);
}

#[test]
fn what_was_done_in_an_earlier_season_is_done_again_on_a_card_of_its_own() {
    let mut work = opened();
    work.signed("Ada", day(10, 6, 15), tag("COWL")).signed(
        "Ada",
        day(10, 6, 16),
        tag("ENGINE"),
    );
    for (item, hour) in [("ENGINE", 9), ("COWL", 12)] {
        let fit = Fit { item: id(item), job: job("ON:ENGINE"), checked: true };
        work.signed("Ada", day(11, 20, hour), fit);
    }
    let first = work.programme.seasons.get(&id("S1")).unwrap().clone();
    let whole = DateSpan { from: date(2032, 10, 4), until: date(2032, 12, 31) };
    let mut heating = first.heating.clone();
    for period in &mut heating {
        period.days = whole;
    }
    let second = Season {
        id: id("S2"),
        from: date(2032, 10, 4),
        until: date(2032, 11, 26),
        heating,
        ..first.clone()
    };
    work.programme.seasons = [first, second].into_iter().collect();
    let mut pack = work.programme.packs.get(&id("P1")).unwrap().clone();
    pack.season = Some(id("S2"));
    work.programme.packs = [pack].into_iter().collect();
    let now = date(2032, 10, 4).at(0, 0, 0, 0);
    let (_, plan) = planned(&work.programme, "S2", now);
    assert!(!has(&plan, "OFF:ENGINE"));
    assert!(!at(&plan, "OFF:ENGINE#2").done);
    assert!(has(&plan, "ON:ENGINE"), "its first card was never issued");
}

#[test]
fn a_way_that_is_never_possible_leaves_the_other_its_own_crew() {
    let mut programme = skiff();
    let mut routes: Vec<_> = programme.routes.iter().cloned().collect();
    for step in routes.iter_mut().flat_map(|route| &mut route.steps) {
        if let record::Performer::Crew { crew, hours, or, .. } = &mut step.by
            && step.id.as_str() == "inspect"
        {
            or.push((crew.clone(), *hours));
            // Three inspectors there are not.
            crew[0].count = 3;
        }
    }
    programme.routes = routes.into_iter().collect();
    let (_, plan) = planned(&programme, "S1", day(10, 6, 0));
    let inspect = at(&plan, "F1:inspect");
    assert_eq!(inspect.crew.iter().map(|crew| crew.count).sum::<u32>(), 1);
    assert_eq!(inspect.people.len(), 1);
}

/// Adopts what was planned.
fn adopted(work: &mut Work, plan: &Plan, at: DateTime) {
    let jobs = plan.jobs.iter().map(|job| record::act::DatedJob {
        job: job.key.clone(),
        from: job.start,
        until: job.finish,
        people: Vec::new(),
    });
    let adopt = record::act::Adopt {
        season: id("S1"),
        complete: plan.complete,
        earliest: None,
        reason: "the first".to_owned(),
        problem: "1".to_owned(),
        engine: "test".to_owned(),
        seed: 1,
        jobs: jobs.collect(),
    };
    work.signed("Ada", at, adopt);
}

#[test]
fn a_new_plan_keeps_to_the_adopted_one_where_it_can() {
    let mut work = Work::new();
    let (_, first) = work.planned(day(10, 6, 0));
    adopted(&mut work, &first, day(10, 6, 7));
    let (_, again) = work.planned(day(10, 6, 0));
    let starts = |plan: &Plan| plan.jobs.iter().map(|job| job.start).collect::<Vec<_>>();
    assert_eq!(starts(&first), starts(&again));
    // The cowl takes three days longer to come off: what follows it moves, the rest stays.
    work.begun("OFF:COWL", "Ada", day(10, 6, 8), &["one"]);
    let now = day(10, 9, 8);
    let (_, slipped) = work.planned(now);
    let away = |plan: &Plan| -> i64 {
        let both = first.jobs.iter().zip(&plan.jobs).filter(|(_, is)| !is.done);
        both.map(|(was, is)| is.start.duration_since(was.start).as_mins().abs()).sum()
    };
    // Without the adopted plan it is made as if there was none, and strays further.
    let plans = work.programme.shop.plans.clone();
    work.programme.shop.plans = std::sync::Arc::default();
    let (draft, anew) = work.planned(now);
    assert!(draft.published.is_empty());
    work.programme.shop.plans = plans;
    assert!(away(&slipped) <= away(&anew), "{} {}", away(&slipped), away(&anew));
}

#[test]
fn estimates_follow_what_such_work_took_once_enough_was_measured() {
    let mut work = Work::new();
    let coats = [("F1:prime", 6), ("F3:prime", 6), ("F4:prime", 6), ("F1:top", 4)];
    for (at, (name, hours)) in (6..).zip(coats) {
        work.finished(name, "Ben", day(10, at, 8), day(10, at, 8 + hours));
    }
    let minutes = |draft: &Draft, key: &str| {
        draft.jobs.iter().find(|job| job.key.0 == key).unwrap().ways[0].minutes
    };
    let drafted = |work: &Work| draft(&work.programme, &id("S1")).unwrap();
    let mut few = drafted(&work);
    let said = few.measure(&work.programme);
    assert!(said[0].contains("only 4 jobs"), "{said:?}");
    assert_eq!(minutes(&few, "F4:top"), (120, 120, 120));
    work.finished("F3:top", "Ben", day(10, 10, 8), day(10, 10, 12));
    let mut enough = drafted(&work);
    let said = enough.measure(&work.programme);
    assert!(said[0].contains("times 2.00, by 5 jobs"), "{said:?}");
    assert_eq!(minutes(&enough, "F4:top"), (240, 240, 240));
    // Other kinds of work, and what nobody works on, stay as they are.
    assert_eq!(minutes(&enough, "F4:inspect"), (120, 120, 120));
    assert_eq!(minutes(&enough, "F4:cure"), minutes(&few, "F4:cure"));
}
