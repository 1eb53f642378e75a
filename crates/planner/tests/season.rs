//! One small season from end to end: findings to a lawful plan, and back into words.

use std::time::Duration;

use jiff::civil::date;
use planner::{Draft, JobKind, Model, Plan, draft};
use record::{Actual, JobKey, Programme, Register, State};
use search::{Options, Outcome, Silent, Stop};
use testkit::{id, skiff};

fn plan(programme: &Programme) -> (Draft, Plan) {
    let draft = draft(programme, &id("S1")).expect("the season can be drafted");
    let model = Model::new(programme, &draft, None).expect("the draft can be modelled");
    let options =
        Options { stop: Stop::after_steps(2_000), threads: 1, seed: 1, start_from: None };
    let outcome = search::solve(&model.problem, &options, &Silent);
    let schedule = outcome.schedule().expect("a lawful season");
    assert_eq!(verify::check(&model.problem, schedule), Vec::new());
    let plan = Plan::new(&model, schedule);
    (draft.clone(), plan)
}

fn at<'p>(plan: &'p Plan, key: &str) -> &'p planner::PlannedJob {
    plan.jobs
        .iter()
        .find(|job| job.key.0 == key)
        .unwrap_or_else(|| panic!("no job {key}"))
}

#[test]
fn what_two_findings_need_comes_off_once() {
    let (draft, _) = plan(&skiff());
    let engine: Vec<_> =
        draft.jobs.iter().filter(|job| job.key.0 == "OFF:ENGINE").collect();
    assert_eq!(engine.len(), 1);
    // The cowl is in the engine's way, so it comes off too; nothing else does.
    let mut off: Vec<_> =
        draft.opening.removals.iter().map(|r| r.item.as_str()).collect();
    off.sort_unstable();
    assert_eq!(off, ["COWL", "ENGINE", "FLOAT", "RUDDER"]);
}

#[test]
fn work_lies_between_removal_and_refit() {
    let (_, plan) = plan(&skiff());
    for key in ["F1:inspect", "F1:top", "F2:plate", "F2:plate:OUT", "F2:plate:BACK"] {
        assert!(at(&plan, "OFF:ENGINE").finish <= at(&plan, key).start, "{key}");
        assert!(at(&plan, key).finish <= at(&plan, "ON:ENGINE").start, "{key}");
    }
    // Refit is removal reversed where nothing else says so (common practice, no source).
    assert!(at(&plan, "OFF:COWL").finish <= at(&plan, "OFF:ENGINE").start);
    assert!(at(&plan, "ON:ENGINE").finish <= at(&plan, "ON:COWL").start);
}

#[test]
fn one_cradle_holds_one_item_at_a_time() {
    let (_, plan) = plan(&skiff());
    let held = |item: &str| {
        (at(&plan, &format!("OFF:{item}")).start, at(&plan, &format!("ON:{item}")).finish)
    };
    let (engine, float) = (held("ENGINE"), held("FLOAT"));
    assert!(engine.1 <= float.0 || float.1 <= engine.0, "{engine:?} {float:?}");
}

#[test]
fn the_firm_collects_on_its_day() {
    let (_, plan) = plan(&skiff());
    for key in ["F2:plate:OUT", "F2:plate:BACK"] {
        let weekday = at(&plan, key).start.date().weekday();
        assert_eq!(weekday, jiff::civil::Weekday::Tuesday, "{key}");
        // That Tuesday the hangar is closed.
        assert_ne!(at(&plan, key).start.date(), date(2031, 10, 21), "{key}");
    }
}

#[test]
fn the_next_coat_keeps_its_window() {
    let (_, plan) = plan(&skiff());
    for finding in ["F1", "F3", "F4"] {
        let cured = at(&plan, &format!("{finding}:cure")).finish;
        let coat = at(&plan, &format!("{finding}:top")).start;
        let hours = coat.duration_since(cured).as_hours();
        assert!((0..=30).contains(&hours), "{finding}: {hours} h");
    }
}

#[test]
fn a_disturbed_control_is_judged_by_somebody_else() {
    // A disturbed flight control asks for an independent inspection (common practice).
    let (_, plan) = plan(&skiff());
    let second = at(&plan, "CHECK:second:RUDDER-CABLE");
    assert!(at(&plan, "CHECK:range:RUDDER-CABLE").finish <= second.start);
    let did: Vec<_> = ["OFF:RUDDER", "ON:RUDDER"]
        .iter()
        .flat_map(|key| at(&plan, key).people.iter().map(|(person, _)| person))
        .collect();
    let judged = second.people.iter().any(|(person, _)| did.contains(&person));
    let warned = plan.warnings.iter().any(|warning| warning.contains("CHECK:second"));
    assert_eq!(judged, warned, "{:?}", plan.warnings);
}

#[test]
fn everybody_is_in_when_they_work_and_does_one_thing_at_a_time() {
    let programme = skiff();
    let (draft, plan) = plan(&programme);
    let mut days: Vec<(String, _)> = Vec::new();
    for (job, planned) in draft.jobs.iter().zip(&plan.jobs) {
        let wanted: u32 = planned.crew.iter().map(|crew| crew.count).sum();
        assert!(planned.people.len() >= wanted as usize, "{} is short", job.key);
        for (person, stretches) in &planned.people {
            let who = programme.people.get(person).unwrap();
            for stretch in stretches {
                assert!(who.days.holds(stretch.from.date().weekday()), "{person}");
                days.push((person.to_string(), *stretch));
            }
        }
    }
    days.sort();
    for pair in days.windows(2) {
        let apart = pair[0].0 != pair[1].0 || pair[0].1.until <= pair[1].1.from;
        assert!(apart, "{pair:?}");
    }
}

#[test]
fn each_date_has_a_reason() {
    let (draft, plan) = plan(&skiff());
    for (job, planned) in draft.jobs.iter().zip(&plan.jobs) {
        assert!(!planned.why.is_empty(), "{}", job.key);
    }
    assert!(!plan.driving.is_empty());
    assert_eq!(draft.jobs.last().unwrap().kind, JobKind::Complete);
    assert_eq!(plan.complete, plan.jobs.iter().map(|job| job.finish).max().unwrap());
}

#[test]
fn the_same_seed_gives_the_same_plan() {
    let starts = || plan(&skiff()).1.jobs.iter().map(|job| job.start).collect::<Vec<_>>();
    assert_eq!(starts(), starts());
}

#[test]
fn what_is_done_stays_where_it_was() {
    let mut programme = skiff();
    let (from, until) =
        (date(2031, 10, 6).at(8, 0, 0, 0), date(2031, 10, 6).at(9, 0, 0, 0));
    let done =
        Actual { job: JobKey("OFF:COWL".to_owned()), state: State::Done { from, until } };
    programme.actuals = [done].into_iter().collect::<Register<Actual>>();
    let draft = draft(&programme, &id("S1")).unwrap();
    let now = date(2031, 10, 13).at(0, 0, 0, 0);
    let model = Model::new(&programme, &draft, Some(now)).unwrap();
    let options = Options { stop: Stop::after_steps(500), ..Options::default() };
    let outcome = search::solve(&model.problem, &options, &Silent);
    let plan = Plan::new(&model, outcome.schedule().unwrap());
    assert_eq!(
        (at(&plan, "OFF:COWL").start, at(&plan, "OFF:COWL").finish),
        (from, until)
    );
    assert!(plan.jobs.iter().filter(|job| !job.done).all(|job| job.start >= now));
}

#[test]
fn what_cannot_be_says_why() {
    let mut programme = skiff();
    // A coat of nine hours that must not pause fits into no shift.
    let mut routes: Vec<_> = programme.routes.iter().cloned().collect();
    for route in &mut routes {
        for step in &mut route.steps {
            if let record::Performer::Crew { unbroken, hours, .. } = &mut step.by
                && step.id.as_str() == "prime"
            {
                *unbroken = true;
                *hours = quantity::Estimate::certain(quantity::Work::from_minutes(540));
            }
        }
    }
    programme.routes = routes.into_iter().collect();
    let draft = draft(&programme, &id("S1")).unwrap();
    let model = Model::new(&programme, &draft, None).unwrap();
    let options =
        Options { stop: Stop::after(Duration::from_secs(5)), ..Options::default() };
    let Outcome::Infeasible(conflict) = search::solve(&model.problem, &options, &Silent)
    else {
        panic!("nine hours do not fit into four");
    };
    let said = planner::conflict(&model, &conflict).join("\n");
    assert!(said.contains("prime") && said.contains("4 h at a stretch"), "{said}");
}

#[test]
fn what_can_never_be_done_says_why() {
    let programme = skiff();
    let mut draft = draft(&programme, &id("S1")).expect("the season can be drafted");
    let crewed = draft.jobs.iter().filter(|job| !job.ways[0].crew.is_empty());
    let names: Vec<_> = crewed.take(2).map(|job| job.key.clone()).collect();
    let people = programme.people.iter().filter(|p| p.skills.contains(&id("fitter")));
    let many = u32::try_from(people.count()).expect("few people");
    for (key, skill, count) in [(&names[0], "fitter", 90), (&names[1], "nobody", 1)] {
        let job = draft.jobs.iter_mut().find(|job| job.key == *key);
        let ways = &mut job.expect("a job").ways;
        ways.truncate(1);
        ways[0].crew = vec![airframe::Crew { count, skill: id(skill) }];
    }
    let error = Model::new(&programme, &draft, None).expect_err("nobody can do it");
    let told = error.to_string();
    for name in &names {
        assert!(told.contains(&format!("{name} (")), "{told}");
    }
    assert!(
        told.contains(&format!(
            "it takes 90 fitter, and of fitter never more than {many} are in together"
        )),
        "{told}"
    );
    assert!(told.contains("nobody who is nobody is ever in"), "{told}");
    assert!(!told.contains("warm"), "{told}");
}
