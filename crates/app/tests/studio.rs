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
