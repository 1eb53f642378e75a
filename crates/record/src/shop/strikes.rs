//! Corrections: entries that were struck through, and records that were rebuilt.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{Act, Power, Reconstruct, RightClock, Stamp, Strike};
use crate::{JobKey, PersonId, Programme, ReportId, RequirementId, RuleKey, StepId};

/// What can be struck, and what was.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Strikes {
    /// For each entry that can be struck through, what it says and who said it.
    pub places: BTreeMap<u64, Arc<(Place, PersonId)>>,
    /// What was struck, by entry.
    pub struck: BTreeMap<u64, Struck>,
    /// Records that were rebuilt.
    pub rebuilt: Vec<Rebuilt>,
}

/// What an entry that can be struck through says.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Place {
    /// A signature or an inspection of a step.
    Step(JobKey, StepId),
    /// Evidence for a requirement.
    Evidence(RequirementId),
    /// Hours of a card.
    Hours(JobKey),
    /// A report of an examination.
    Report(ReportId),
    /// A reading of the air.
    Air,
}

/// An entry that was struck through.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Struck {
    /// Why.
    pub reason: String,
    /// By whom and when.
    pub mark: Mark,
}

/// A record that was rebuilt.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Rebuilt {
    /// As it was stated.
    pub words: Reconstruct,
    /// By whom and when.
    pub mark: Mark,
}

impl Judge<'_> {
    pub(super) fn right_clock(&mut self, act: &RightClock) {
        let RightClock { reason } = act;
        self.power(Power::Appoint, None);
        self.stated("reason", reason);
        let ahead = self.shop().last.filter(|last| *last > self.stamp.at);
        self.hold(
            ahead.is_some(),
            RuleKey::Clock,
            || "no entry is dated ahead of this one".to_owned(),
            "nothing has to be put right",
        );
    }

    pub(super) fn strike(&mut self, act: &Strike) {
        let Strike { entry, reason } = act;
        self.hold(
            !reason.trim().is_empty(),
            RuleKey::Correction,
            || format!("it is not said why entry {entry} is struck through"),
            "say what is wrong with it",
        );
        let strikes = &self.shop().strikes;
        if let Some(struck) = strikes.struck.get(entry) {
            let what = format!("entry {entry} was struck through by {}", struck.mark.by);
            self.refuse(RuleKey::Known, what, "enter what it should have said");
            return;
        }
        let Some((_, author)) = strikes.places.get(entry).map(AsRef::as_ref) else {
            let what = format!(
                "entry {entry} is no signature, inspection, evidence, report, hours or reading \
                 of the air"
            );
            let hint = "undo it by its own act: open a finding or card again, withdraw an \
                        authority, put a part into quarantine";
            self.refuse(RuleKey::Correction, what, hint);
            return;
        };
        let by = self.by();
        let may = author == by || self.has(by, Power::Certify, None);
        self.hold(
            may,
            RuleKey::Correction,
            || format!("entry {entry} was made by {author}, not by {by}"),
            "they strike it, or somebody who may certify",
        );
    }

    pub(super) fn reconstruct(&mut self, act: &Reconstruct) {
        let Reconstruct { lost, content, evidence, confidence } = act;
        self.power(Power::Certify, None);
        for (field, text) in
            [("lost", lost), ("content", content), ("confidence", confidence)]
        {
            self.hold(
                !text.trim().is_empty(),
                RuleKey::Reconstruction,
                || format!("`{field}` says nothing"),
                "state the loss, what must have been there, and how sure that is",
            );
        }
        self.hold(
            evidence.iter().any(|one| !one.trim().is_empty()),
            RuleKey::Reconstruction,
            || "it rests on nothing".to_owned(),
            "name the records, people and traces on the aircraft that it rests on",
        );
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    if let Some(place) = place(act) {
        let strikes = Arc::make_mut(&mut programme.shop.strikes);
        strikes.places.insert(stamp.number, Arc::new((place, stamp.by.clone())));
        return;
    }
    let mark = Mark::of(stamp);
    match act {
        Act::Strike(act) => {
            let strikes = Arc::make_mut(&mut programme.shop.strikes);
            strikes.struck.insert(act.entry, Struck { reason: act.reason.clone(), mark });
            let place = strikes.places.get(&act.entry).map(|said| said.0.clone());
            if let Some(place) = place {
                undo(programme, act.entry, &place);
            }
        }
        Act::Reconstruct(words) => {
            let rebuilt = Rebuilt { words: words.clone(), mark };
            Arc::make_mut(&mut programme.shop.strikes).rebuilt.push(rebuilt);
        }
        _ => {}
    }
}

/// What an act says, if it can be struck through.
fn place(act: &Act) -> Option<Place> {
    Some(match act {
        Act::SignStep(act) => Place::Step(act.job.clone(), act.step.clone()),
        Act::Countersign(act) => Place::Step(act.job.clone(), act.step.clone()),
        Act::Inspect(act) => Place::Step(act.job.clone(), act.step.clone()),
        Act::Evidence(act) => Place::Evidence(act.requirement.clone()),
        Act::Hours(act) => Place::Hours(act.job.clone()),
        Act::ReportNdt(act) => Place::Report(act.report.clone()),
        Act::AirReading(_) => Place::Air,
        _ => return None,
    })
}

/// Takes from the state what an entry put there. A signature takes the inspections that
/// followed it with it, and a card that is no longer complete is open again.
fn undo(programme: &mut Programme, entry: u64, place: &Place) {
    match place {
        Place::Step(job, id) => {
            let cards = Arc::make_mut(&mut programme.shop.cards);
            cards.change(job, |card| {
                let Some(step) = card.step_mut(id) else { return };
                let before = step.is_complete();
                step.strike(entry);
                if before && !step.is_complete() {
                    card.finished = None;
                }
            });
        }
        Place::Evidence(requirement) => {
            let gates = Arc::make_mut(&mut programme.shop.gates);
            let proofs = gates.proofs.get_mut(requirement).into_iter().flatten();
            proofs
                .filter(|p| p.mark.entry == entry)
                .for_each(|proof| proof.struck = true);
        }
        Place::Report(report) => {
            let examinations = Arc::make_mut(&mut programme.shop.examinations);
            if let Some(report) = examinations.reports.get_mut(report) {
                report.struck = true;
            }
        }
        Place::Air => Arc::make_mut(&mut programme.shop.air).strike(entry),
        Place::Hours(job) => {
            let cards = Arc::make_mut(&mut programme.shop.cards);
            cards.change(job, |card| card.stated.retain(|stated| stated.entry != entry));
        }
    }
}
