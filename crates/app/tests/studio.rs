//! Planning beside the record: proposals, live and stoppable, and what becomes of one if a job
//! slips.

use std::sync::Arc;
use std::time::{Duration, Instant};

use app::{PlanRequest, SearchState, Stop, Studio};
use jiff::civil::date;
use record::JobKey;
use testkit::skiff;

const LONG: Duration = Duration::from_mins(2);

fn request(stop: Stop) -> PlanRequest {
    PlanRequest {
        season: None,
        stop,
        threads: 1,
        seed: 1,
        now: None,
        anew: false,
        measured: false,
    }
}

/// Waits until a search is over.
fn over(studio: &Studio, number: u64) -> SearchState {
    let begun = Instant::now();
    let mut version = 0;
    while studio.running() == Some(number) {
        version = studio.changed(version, Duration::from_secs(5));
        assert!(begun.elapsed() < LONG, "the search goes on for ever");
    }
    studio.state_of(number)
}

fn key(name: &str) -> JobKey {
    JobKey(name.to_owned())
}

fn start(proposal: &app::Proposal, name: &str) -> jiff::civil::DateTime {
    let plan = proposal.planned.plan.as_ref().expect("there is a plan");
    plan.jobs.iter().find(|job| job.key.0 == name).expect("it has the job").start
}

#[test]
fn a_season_is_planned_and_kept_as_a_proposal() {
    let studio = Studio::default();
    assert_eq!(studio.state_of(1), SearchState::Unknown);
    let number =
        studio.plan(Arc::new(skiff()), 7, request(Stop::after_steps(500))).unwrap();
    assert_eq!(over(&studio, number), SearchState::Ready);
    let proposal = studio.proposal(number).unwrap();
    assert_eq!((proposal.entry, proposal.upon.is_none()), (7, true));
    assert!(proposal.planned.plan.is_some());
    assert_eq!(studio.proposals().len(), 1);
}

#[test]
fn one_search_at_a_time_and_it_ends_when_it_is_told_to() {
    let studio = Studio::default();
    let long = request(Stop::after(LONG));
    // A season without a proof: it goes on until it is stopped.
    let programme = Arc::new(unproven());
    let number = studio.plan(Arc::clone(&programme), 1, long.clone()).unwrap();
    let refused = studio.plan(programme, 1, long).unwrap_err().to_string();
    assert!(refused.contains("is running"), "{refused}");
    // As soon as it has told anything, it is stopped.
    let mut version = 0;
    while studio.state_of(number) == SearchState::Running(None) {
        version = studio.changed(version, Duration::from_secs(5));
    }
    let asked = Instant::now();
    studio.stop();
    assert_eq!(over(&studio, number), SearchState::Ready);
    assert!(asked.elapsed() < LONG / 2);
}

/// The skiff with its findings four times over: too much for a proof in a moment.
fn unproven() -> app::Programme {
    let mut programme = skiff();
    let mut findings: Vec<_> = programme.findings.iter().cloned().collect();
    for copy in 1..12 {
        let more: Vec<_> = programme
            .findings
            .iter()
            .cloned()
            .map(|mut finding| {
                finding.id = testkit::id(&format!("{}-{copy}", finding.id));
                finding
            })
            .collect();
        findings.extend(more);
    }
    programme.findings = findings.into_iter().collect();
    programme
}

#[test]
fn what_becomes_of_it_if_a_job_slips_is_a_plan_beside_it() {
    let studio = Studio::default();
    let number =
        studio.plan(Arc::new(skiff()), 1, request(Stop::after_steps(500))).unwrap();
    over(&studio, number);
    let first = studio.proposal(number).unwrap();
    let late = date(2031, 10, 15).at(8, 0, 0, 0);
    assert!(start(&first, "OFF:COWL") < late);
    let within = Duration::from_millis(200);
    let delays = vec![(key("OFF:COWL"), late)];
    let tried = studio.what_if(number, delays.clone(), within).unwrap();
    let second = studio.proposal(tried).unwrap();
    assert!(start(&second, "OFF:COWL") >= late);
    // What it is tried upon stays as it was, and so does what the slip does not reach.
    assert!(start(&first, "OFF:COWL") < late);
    assert_eq!(second.upon, Some((number, delays)));
    let same = |name: &str| start(&first, name) == start(&second, name);
    assert!(same("OFF:RUDDER") && !same("OFF:ENGINE"));
    let unknown = studio.what_if(number, vec![(key("NOPE"), late)], within).unwrap_err();
    assert!(unknown.to_string().contains("NOPE is no job"), "{unknown}");
    assert_eq!(studio.running(), None);
    assert!(studio.what_if(99, Vec::new(), within).is_err());
}

/// A plan that could be made better is not made better by what is tried upon it: only what
/// must move does.
#[test]
fn what_is_tried_moves_nothing_else() {
    let studio = Studio::default();
    let programme = Arc::new(unproven());
    let number = studio.plan(programme, 1, request(Stop::after_steps(5))).unwrap();
    over(&studio, number);
    let first = studio.proposal(number).unwrap();
    let jobs = &first.planned.plan.as_ref().unwrap().jobs;
    let last = jobs.iter().max_by_key(|job| job.start).unwrap();
    // It begins no earlier than it does anyway.
    let delays = vec![(last.key.clone(), last.start)];
    let within = Duration::from_millis(300);
    let tried = studio.what_if(number, delays, within).unwrap();
    let second = studio.proposal(tried).unwrap();
    for job in jobs {
        assert_eq!(start(&second, &job.key.0), job.start, "{}", job.key.0);
    }
}

#[test]
fn what_cannot_be_planned_says_why() {
    let studio = Studio::default();
    let mut wanted = request(Stop::after_steps(10));
    wanted.season = Some("NO-SUCH".to_owned());
    let number = studio.plan(Arc::new(skiff()), 1, wanted).unwrap();
    let SearchState::Failed(why) = over(&studio, number) else {
        panic!("it found a season")
    };
    assert!(why.contains("there is no season NO-SUCH"), "{why}");
}

#[test]
fn old_proposals_go_first() {
    let studio = Studio::default();
    let programme = Arc::new(skiff());
    for _ in 0..18 {
        let asked = request(Stop::after_steps(1));
        let number = studio.plan(Arc::clone(&programme), 1, asked).unwrap();
        over(&studio, number);
    }
    let kept: Vec<u64> = studio.proposals().iter().map(|made| made.number).collect();
    assert_eq!(kept, (3..=18).rev().collect::<Vec<u64>>());
    assert_eq!(studio.state_of(1), SearchState::Unknown);
}

/// The skiff with a plan that was adopted.
fn adopted() -> (app::Programme, Vec<record::act::DatedJob>) {
    let mut programme = skiff();
    let planned =
        app::plan_season(&programme, &request(Stop::after_steps(500)), &app::Silent)
            .expect("it can be planned");
    let act = app::adoption(&planned, "agreed", "test").expect("there is a plan");
    let stamp = record::act::Stamp {
        number: 1,
        at: date(2031, 1, 1).at(9, 0, 0, 0),
        by: testkit::id("ANN"),
    };
    programme.perform(&act, &stamp);
    let record::Act::Adopt(adopt) = act else { panic!("it adopts") };
    (programme, adopt.jobs)
}

#[test]
fn an_adopted_plan_stands_where_it_was_while_nothing_happened() {
    let (programme, jobs) = adopted();
    let (studio, programme) = (Studio::default(), Arc::new(programme));
    let standing =
        studio.standing(&programme, 3, None, None).unwrap().expect("it was adopted");
    for job in &jobs {
        assert_eq!(start(&standing, &job.job.0), job.from, "{}", job.job);
    }
    let moves = app::moves(&programme, &standing.planned).unwrap();
    assert_eq!((moves.moved.len(), moves.complete.0), (0, moves.complete.1));
    // It is made once, and found by its number, but it is no proposal.
    let again = studio.standing(&programme, 3, None, None).unwrap().unwrap();
    assert_eq!(again.number, standing.number);
    assert!(studio.is_standing(standing.number) && studio.proposals().is_empty());
    assert_eq!(studio.state_of(standing.number), SearchState::Ready);
    // Something is tried upon it, beside it.
    let last =
        jobs.iter().filter(|job| job.from < moves.complete.0).max_by_key(|job| job.from);
    let last = last.expect("it has jobs");
    let later = last.from.saturating_add(jiff::Span::new().days(7));
    let tried = studio
        .what_if(
            standing.number,
            vec![(last.job.clone(), later)],
            Duration::from_millis(50),
        )
        .unwrap();
    let tried = studio.proposal(tried).unwrap();
    assert!(start(&tried, &last.job.0) >= later);
    let held = app::beside(&standing.planned, &tried.planned);
    assert!(held.days.unwrap() >= 6, "{:?}", held.days);
    assert!(held.moved.iter().any(|job| job.job == last.job.0));
    // What the gate waits for first, then what sets the date, and the furthest first in each.
    assert_eq!(held.moved[0].matters, app::Matters::Gate);
    let far = |job: &app::MovedJob| {
        let begins = job.begins.1.duration_since(job.begins.0).abs();
        begins.max(job.ends.1.duration_since(job.ends.0).abs())
    };
    let order = |pair: &[app::MovedJob]| {
        let [a, b] = pair else { return true };
        (!a.moves(), a.matters, far(b)) <= (!b.moves(), b.matters, far(a))
    };
    assert!(held.moved.windows(2).all(order), "{:?}", held.moved);
    let chain = app::driving(&tried.planned);
    assert!(chain.iter().any(|job| job.job == last.job.0), "{chain:?}");
    assert!(
        chain.is_sorted_by_key(|job| job.when.0)
            && chain.iter().all(|j| !j.why.is_empty())
    );
    assert_eq!(held.alike + held.moved.len() + held.only_one.len(), held.one.jobs + 1);
    let same = app::beside(&standing.planned, &standing.planned);
    assert_eq!((same.days, same.moved.len()), (Some(0), 0));
}

#[test]
fn nothing_stands_where_nothing_was_adopted() {
    let studio = Studio::default();
    assert!(studio.standing(&Arc::new(skiff()), 1, None, None).unwrap().is_none());
    let held = app::plan_held(&skiff(), None, date(2031, 1, 1)).unwrap();
    assert!(held.is_none());
}

#[test]
fn a_plan_is_held_against_the_days_that_go_by() {
    let (programme, jobs) = adopted();
    let first = jobs.iter().map(|job| job.from).min().expect("it has jobs").date();
    let before =
        app::plan_held(&programme, None, first.yesterday().unwrap()).unwrap().unwrap();
    assert_eq!((before.all.most, before.all.behind), (None, 0));
    let week = first.saturating_add(jiff::Span::new().days(7));
    let after = app::plan_held(&programme, None, week).unwrap().unwrap();
    assert!(after.all.behind > 0 && after.all.most >= Some(7), "{:?}", after.all);
    let mut slips: Vec<_> = after.jobs.iter().map(|job| job.slip).collect();
    slips.reverse();
    assert!(slips.is_sorted(), "{slips:?}");
    assert_eq!(after.packs.iter().map(|pack| pack.jobs).sum::<usize>(), after.jobs.len());
}

#[test]
fn a_chart_says_on_request_what_the_plan_says() {
    let (programme, jobs) = adopted();
    let planned =
        app::plan_season(&programme, &request(Stop::after_steps(500)), &app::Silent)
            .unwrap();
    let plan = (&programme, &planned);
    let link = |key: &str| format!("?job={key}");
    let today = date(2031, 1, 1);
    let ask = app::TimelineAsk::default();
    let all =
        app::timeline(plan, &programme, &ask, today, &link).expect("there is a plan");
    assert_eq!((all.found, all.page), (all.all, (0, all.all.div_ceil(100))));
    assert!(all.rows.is_sorted_by_key(|row| row.start));
    let key = &all.rows[1].key;
    let find = app::TimelineAsk { find: key.to_lowercase(), ..ask.clone() };
    let some = app::timeline(plan, &programme, &find, today, &link).unwrap();
    assert!(some.found >= 1 && some.found < all.all, "{}", some.found);
    let beyond = app::TimelineAsk { page: 99, from: Some(date(1999, 1, 1)), ..ask };
    assert_eq!(
        app::timeline(plan, &programme, &beyond, today, &link).unwrap().window,
        all.window
    );
    let told = app::job_told(plan, &programme, key).expect("the job is there");
    assert_eq!(&told.line.key, key);
    for (other, _, _) in &told.after {
        let other = app::job_told(plan, &programme, other).unwrap();
        assert!(other.before.iter().any(|(name, _, _)| name == key));
    }
    assert!(app::job_told(plan, &programme, "NOPE").is_none());
    // The data is JSON to a reader that we did not write, and has each job once.
    let data = app::timeline_data(plan, &programme, today).unwrap();
    let data: serde_json::Value = serde_json::from_str(&data).unwrap();
    let lists = ["key", "name", "kind", "start", "long", "flags", "after", "was"];
    for list in lists {
        assert_eq!(data[list].as_array().map(Vec::len), Some(all.all), "{list}");
    }
    assert!(jobs.len() <= all.all);
}
