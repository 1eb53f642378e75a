//! Drafts of job cards, from what is known of the season's jobs.

use planner::{CardError, Data, card, draft};
use record::act::{IssueCard, StepWork};
use record::{JobKey, Programme};
use testkit::{id, skiff};

fn drafted(programme: &Programme, job: &str) -> Result<IssueCard, CardError> {
    let draft = draft(programme, &id("S1")).expect("the season can be drafted");
    let data =
        Data { document: Some("invented manual".into()), revision: Some("2".into()) };
    card(programme, &draft, &JobKey(job.to_owned()), &data)
}

fn texts(card: &IssueCard) -> String {
    let texts: Vec<&str> = card.steps.iter().map(|step| step.text.as_str()).collect();
    texts.join("\n")
}

#[test]
fn a_removal_parts_what_it_parts_and_says_what_is_dangerous() {
    let card = drafted(&skiff(), "OFF:ENGINE").unwrap();
    let text = texts(&card);
    let all = [
        "Photograph",
        "fuel shut off",
        "FUEL-LINE",
        "Cradle ready",
        "2 people",
        "Tag it",
    ];
    for words in all {
        assert!(text.contains(words), "{words}: {text}");
    }
    // What is dangerous is dealt with before anything is parted (common practice, no source).
    let place =
        |words: &str| card.steps.iter().position(|step| step.text.contains(words));
    assert!(place("Make safe") < place("Part FUEL-LINE"));
    assert!(place("Part FUEL-LINE") < place("Take off"));
    assert_eq!(card.steps.last().unwrap().work, StepWork::Capture);
    // The cowl has no connection of its own.
    let cowl = texts(&drafted(&skiff(), "OFF:COWL").unwrap());
    assert!(!cowl.contains("Make safe") && !cowl.contains("Part "), "{cowl}");
}

#[test]
fn what_is_parted_is_joined_again_by_the_refit_that_makes_it_whole() {
    for (job, connection) in [("ON:ENGINE", "FUEL-LINE"), ("ON:RUDDER", "RUDDER-CABLE")] {
        let card = drafted(&skiff(), job).unwrap();
        let made: Vec<_> = card.steps.iter().flat_map(|step| &step.makes).collect();
        assert_eq!(made, [&id(connection)], "{job}");
    }
}

#[test]
fn what_is_vital_and_every_control_is_looked_at_by_two() {
    // 145.A.48 AMC2 names flight controls; the glossary of vital points asks for two.
    let card = drafted(&skiff(), "ON:RUDDER").unwrap();
    for step in card.steps.iter().filter(|step| step.work == StepWork::Reassemble) {
        assert!(step.critical && step.independent, "{step:?}");
    }
    let card = drafted(&skiff(), "ON:COWL").unwrap();
    assert!(card.steps.iter().all(|step| !step.critical));
}

#[test]
fn a_check_that_is_independent_says_of_whom() {
    let card = drafted(&skiff(), "CHECK:second:RUDDER-CABLE").unwrap();
    assert!(card.steps[0].independent);
    let text = texts(&card);
    assert!(text.contains("OFF:RUDDER") && text.contains("ON:RUDDER"), "{text}");
}

#[test]
fn work_on_a_finding_is_held_against_it() {
    let card = drafted(&skiff(), "F1:inspect").unwrap();
    assert_eq!(card.item, Some(id("ENGINE")));
    assert_eq!(card.pack, Some(id("P1")));
    assert!(texts(&card).contains("worn"));
    assert_eq!(card.steps.last().unwrap().work, StepWork::Test);
}

#[test]
fn what_nobody_does_by_a_card_has_none() {
    for job in ["F2:plate:OUT", "F2:plate", "F2:plate:BACK", "COMPLETE"] {
        let error = drafted(&skiff(), job).unwrap_err();
        assert!(matches!(error, CardError::NoCard { .. }), "{job}: {error}");
    }
    let error = drafted(&skiff(), "OFF:HULL").unwrap_err();
    assert_eq!(error.to_string(), "the season has no job OFF:HULL");
}
