//! Job cards: who is at work, what is signed, what is open.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use airframe::ItemId;
use jiff::civil::{Date, DateTime};
use quantity::Work;

use crate::act::{
    Act, CardStep, FileDigest, HandOver, IssueCard, Reading, Stamp, Verdict,
};
use crate::{JobKey, PackId, PersonId, Programme, QueryId, StepId};

/// Who did something, when, and by which entry.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Mark {
    /// Who.
    pub by: PersonId,
    /// When.
    pub at: DateTime,
    /// The entry.
    pub entry: u64,
}

impl Mark {
    pub(super) fn of(stamp: &Stamp) -> Self {
        Self { by: stamp.by.clone(), at: stamp.at, entry: stamp.number }
    }
}

/// All cards, and the queries about their data.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Cards {
    /// By job; shared, so that a snapshot costs little however many there are.
    pub cards: BTreeMap<JobKey, Arc<Card>>,
    /// Those that are begun and not certified complete.
    pub open: BTreeSet<JobKey>,
    /// The card and step of each query that was ever asked.
    pub queries: BTreeMap<QueryId, (JobKey, StepId)>,
}

/// A card.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Card {
    /// What is done.
    pub title: String,
    /// The item on which it is done.
    pub item: Option<ItemId>,
    /// The pack that it belongs to.
    pub pack: Option<PackId>,
    /// By whom and when it was issued.
    pub issued: Mark,
    /// Its steps, in order.
    pub steps: Vec<StepState>,
    /// Who was at it, and when.
    pub sessions: Vec<Session>,
    /// A handover that nobody has taken yet.
    pub offer: Option<Offer>,
    /// Who was the last to leave it, if nobody is at it.
    pub left_by: Option<PersonId>,
    /// Hours that were stated afterwards, by person and day.
    pub stated: Vec<Stated>,
    /// By whom and when it was certified complete.
    pub finished: Option<Mark>,
}

/// A step of a card.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct StepState {
    /// As it was issued.
    pub spec: CardStep,
    /// Who signed it, if that stands.
    pub signed: Option<Signed>,
    /// The first inspection that stands.
    pub first: Option<Look>,
    /// The second one.
    pub second: Option<Look>,
    /// Queries that wait for an answer.
    pub queries: BTreeSet<QueryId>,
    /// Signatures that no longer count, by entry.
    pub void: Vec<u64>,
}

/// A signature for the work of a step.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Signed {
    /// Who and when.
    pub mark: Mark,
    /// What was measured.
    pub readings: Vec<Reading>,
    /// Who supervised.
    pub supervisor: Option<PersonId>,
    /// The supervisor's own signature.
    pub countersigned: Option<Mark>,
    /// Photographs of it.
    pub photographs: Vec<FileDigest>,
}

/// An inspection.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Look {
    /// Who and when.
    pub mark: Mark,
    /// What was looked at.
    pub checked: Vec<String>,
    /// Why one person inspected twice, and who allowed it.
    pub alone: Option<(String, PersonId)>,
}

/// A time in which somebody was at a card.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Session {
    /// Who.
    pub person: PersonId,
    /// Since when.
    pub from: DateTime,
    /// Until when; nothing while it lasts.
    pub until: Option<DateTime>,
}

/// Hours that were stated afterwards.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Stated {
    /// Who worked.
    pub person: PersonId,
    /// On which day.
    pub on: Date,
    /// How long.
    pub hours: Work,
    /// The entry that says so.
    pub entry: u64,
}

/// A handover that waits for the other one.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Offer {
    /// Who hands over.
    pub from: PersonId,
    /// What was written.
    pub words: HandOver,
}

impl StepState {
    fn new(spec: CardStep) -> Self {
        Self {
            spec,
            signed: None,
            first: None,
            second: None,
            queries: BTreeSet::new(),
            void: Vec::new(),
        }
    }

    /// Whether it is signed by all who must sign for the work.
    pub fn is_signed(&self) -> bool {
        self.signed
            .as_ref()
            .is_some_and(|s| s.supervisor.is_none() || s.countersigned.is_some())
    }

    /// Whether it is signed and has passed what inspections it asks for.
    pub fn is_complete(&self) -> bool {
        let twice = self.spec.independent;
        let once = self.spec.inspected || twice;
        self.is_signed()
            && (!once || self.first.is_some())
            && (!twice || self.second.is_some())
    }

    /// What it lacks, in words; nothing if it is complete.
    pub fn lacks(&self) -> Option<&'static str> {
        match (&self.signed, self.is_signed()) {
            (None, _) => return Some("its signature"),
            (Some(_), false) => return Some("its supervisor's signature"),
            _ => {}
        }
        let twice = self.spec.independent;
        if (self.spec.inspected || twice) && self.first.is_none() {
            return Some("its inspection");
        }
        (twice && self.second.is_none()).then_some("its second inspection")
    }

    /// Takes out the mark of one entry, with those that were built on it.
    pub(super) fn strike(&mut self, entry: u64) {
        let is = |mark: &Mark| mark.entry == entry;
        if self.signed.as_ref().is_some_and(|signed| is(&signed.mark)) {
            return self.rearm();
        }
        let counter = |signed: &Signed| signed.countersigned.as_ref().is_some_and(is);
        if self.signed.as_ref().is_some_and(counter) {
            self.signed.iter_mut().for_each(|signed| signed.countersigned = None);
            self.first = None;
            self.second = None;
        }
        if self.first.as_ref().is_some_and(|look| is(&look.mark)) {
            self.first = None;
            self.second = None;
        }
        self.second.take_if(|look| is(&look.mark));
        self.void.push(entry);
    }

    /// From now on it is as if it was not done.
    pub(super) fn rearm(&mut self) {
        let marks = [
            self.signed.take().map(|signed| signed.mark.entry),
            self.first.take().map(|look| look.mark.entry),
            self.second.take().map(|look| look.mark.entry),
        ];
        self.void.extend(marks.into_iter().flatten());
    }
}

impl Card {
    /// Whether somebody is at it.
    pub fn is_at(&self, person: &PersonId) -> bool {
        self.sessions.iter().any(|s| s.until.is_none() && s.person == *person)
    }

    /// Everyone who is at it.
    pub fn present(&self) -> impl Iterator<Item = &PersonId> {
        self.sessions.iter().filter(|s| s.until.is_none()).map(|s| &s.person)
    }

    /// Everyone who ever worked on it or signed for work on it.
    pub fn involved(&self) -> BTreeSet<&PersonId> {
        let signers = self.steps.iter().filter_map(|step| step.signed.as_ref());
        let signers = signers.flat_map(|signed| {
            std::iter::once(&signed.mark.by).chain(signed.supervisor.as_ref())
        });
        self.sessions.iter().map(|session| &session.person).chain(signers).collect()
    }

    /// Whether all of it is certified complete.
    pub fn is_finished(&self) -> bool {
        self.finished.is_some()
    }

    /// Whether work on it has begun.
    pub fn is_begun(&self) -> bool {
        !self.sessions.is_empty()
    }

    /// A step.
    pub fn step(&self, id: &StepId) -> Option<&StepState> {
        self.steps.iter().find(|step| step.spec.id == *id)
    }

    pub(super) fn step_mut(&mut self, id: &StepId) -> Option<&mut StepState> {
        self.steps.iter_mut().find(|step| step.spec.id == *id)
    }

    /// Hours that one person spent on it, counted and stated; a session that lasts is left
    /// out.
    pub fn hours_of(&self, person: &PersonId) -> Work {
        let counted = self.sessions.iter().filter(|s| s.person == *person);
        let minutes: i64 =
            counted.filter_map(|s| Some(s.until?.duration_since(s.from).as_mins())).sum();
        let stated = self.stated.iter().filter(|s| s.person == *person);
        let stated: i64 = stated.map(|s| s.hours.minutes()).sum();
        Work::from_minutes(minutes + stated)
    }
}

impl Cards {
    /// Changes a card, and keeps in mind whether it is open. Nothing else changes one.
    pub(super) fn change<R>(
        &mut self,
        job: &JobKey,
        change: impl FnOnce(&mut Card) -> R,
    ) -> Option<R> {
        let card = Arc::make_mut(self.cards.get_mut(job)?);
        let changed = change(card);
        let open = card.is_begun() && !card.is_finished();
        if !open {
            self.open.remove(job);
        } else if !self.open.contains(job) {
            self.open.insert(job.clone());
        }
        Some(changed)
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let cards = Arc::make_mut(&mut programme.shop.cards);
    super::inspections::perform(cards, act, stamp);
    let mark = Mark::of(stamp);
    let mut on = |job: &JobKey, change: &dyn Fn(&mut Card)| {
        cards.change(job, |card| change(card));
    };
    match act {
        Act::IssueCard(act) => {
            cards.cards.insert(act.job.clone(), Arc::new(issued(act, mark)));
        }
        Act::AddStep(act) => on(&act.job, &|card| {
            let after = act.after.as_ref().and_then(|after| {
                card.steps.iter().position(|step| step.spec.id == *after)
            });
            let at = after.map_or(card.steps.len(), |at| at + 1);
            card.steps.insert(at, StepState::new(act.step.clone()));
        }),
        Act::Start(act) => on(&act.job, &|card| card.enter(&stamp.by, stamp.at)),
        Act::Pause(act) => on(&act.job, &|card| card.leave(&stamp.by, stamp.at)),
        Act::HandOver(act) => on(&act.job, &|card| {
            card.leave(&stamp.by, stamp.at);
            card.offer = Some(Offer { from: stamp.by.clone(), words: act.clone() });
        }),
        Act::TakeOver(act) => on(&act.job, &|card| {
            card.offer = None;
            card.enter(&stamp.by, stamp.at);
        }),
        Act::SignStep(act) => on(&act.job, &|card| {
            if let Some(step) = card.step_mut(&act.step) {
                step.signed = Some(Signed {
                    mark: mark.clone(),
                    readings: act.readings.clone(),
                    supervisor: act.supervisor.clone(),
                    countersigned: None,
                    photographs: act.photographs.clone(),
                });
            }
        }),
        Act::Hours(act) => on(&act.job, &|card| {
            card.stated.push(Stated {
                person: act.person.clone(),
                on: act.on,
                hours: act.hours,
                entry: stamp.number,
            });
        }),
        Act::Finish(act) => on(&act.job, &|card| {
            card.finished = Some(mark.clone());
            card.leave_all(stamp.at);
        }),
        Act::Reopen(act) => on(&act.job, &|card| {
            card.finished = None;
            for step in &act.steps {
                card.step_mut(step).into_iter().for_each(StepState::rearm);
            }
        }),
        _ => {}
    }
}

fn issued(act: &IssueCard, issued: Mark) -> Card {
    Card {
        title: act.title.clone(),
        item: act.item.clone(),
        pack: act.pack.clone(),
        issued,
        steps: act.steps.iter().cloned().map(StepState::new).collect(),
        sessions: Vec::new(),
        offer: None,
        left_by: None,
        stated: Vec::new(),
        finished: None,
    }
}

impl Card {
    fn enter(&mut self, person: &PersonId, at: DateTime) {
        self.left_by = None;
        let session = Session { person: person.clone(), from: at, until: None };
        self.sessions.push(session);
    }

    fn leave(&mut self, person: &PersonId, at: DateTime) {
        let open = self.sessions.iter_mut().filter(|s| s.until.is_none());
        for session in open.filter(|session| session.person == *person) {
            // A clock that was put back must not make a session end before it began.
            session.until = Some(at.max(session.from));
        }
        if self.present().next().is_none() {
            self.left_by = Some(person.clone());
        }
    }

    fn leave_all(&mut self, at: DateTime) {
        let present: Vec<PersonId> = self.present().cloned().collect();
        for person in present {
            self.leave(&person, at);
        }
    }
}

impl Look {
    pub(super) fn is_pass(verdict: Verdict) -> bool {
        verdict == Verdict::Pass
    }
}
