//! Job cards: who is at work, what is signed, what is open.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use airframe::ItemId;
use jiff::civil::{Date, DateTime};
use quantity::Work;

use super::judge::Judge;
use crate::act::{
    Act, AddStep, CardStep, Finish, HandOver, Hours, IssueCard, Limit, Pause, Power,
    Reading, Reopen, SignStep, Stamp, Start, TakeOver, Verdict,
};
use crate::{JobKey, PackId, PersonId, Programme, QueryId, RuleKey, StepId, ToolId};

/// Who did something, when, and by which entry.
#[derive(Debug, Clone, PartialEq, Eq)]
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
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cards {
    /// By job.
    pub cards: BTreeMap<JobKey, Card>,
    /// The card and step of each query that was ever asked.
    pub queries: BTreeMap<QueryId, (JobKey, StepId)>,
}

/// A card.
#[derive(Debug, Clone, PartialEq)]
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
#[derive(Debug, Clone, PartialEq)]
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
#[derive(Debug, Clone, PartialEq)]
pub struct Signed {
    /// Who and when.
    pub mark: Mark,
    /// What was measured.
    pub readings: Vec<Reading>,
    /// Who supervised.
    pub supervisor: Option<PersonId>,
    /// The supervisor's own signature.
    pub countersigned: Option<Mark>,
}

/// An inspection.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// Who and when.
    pub mark: Mark,
    /// What was looked at.
    pub checked: Vec<String>,
    /// Why one person inspected twice, and who allowed it.
    pub alone: Option<(String, PersonId)>,
}

/// A time in which somebody was at a card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Who.
    pub person: PersonId,
    /// Since when.
    pub from: DateTime,
    /// Until when; nothing while it lasts.
    pub until: Option<DateTime>,
}

/// Hours that were stated afterwards.
#[derive(Debug, Clone, PartialEq, Eq)]
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
#[derive(Debug, Clone, PartialEq, Eq)]
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

impl<'a> Judge<'a> {
    /// A card.
    pub(super) fn card(&mut self, job: &JobKey) -> Option<&'a Card> {
        let card = self.shop().cards.cards.get(job);
        if card.is_none() {
            self.refuse(
                RuleKey::Known,
                format!("no card was issued for {job}"),
                "issue the card first",
            );
        }
        card
    }

    /// A card on which work may go on.
    pub(super) fn open_card(&mut self, job: &JobKey) -> Option<&'a Card> {
        let card = self.card(job)?;
        if let Some(done) = &card.finished {
            self.refuse(
                RuleKey::Known,
                format!("{job} was certified complete by {} at {}", done.by, done.at),
                "reopen it first, with the reason",
            );
            return None;
        }
        Some(card)
    }

    /// A card at which the signer is.
    pub(super) fn at_card(&mut self, job: &JobKey) -> Option<&'a Card> {
        let card = self.open_card(job)?;
        let by = self.by();
        let at = self.hold(
            card.is_at(by),
            RuleKey::Presence,
            || format!("{by} is not at work on {job}"),
            "start work on it first",
        );
        if let Some(offer) = &card.offer {
            let what =
                format!("{job} was handed over to {} and not taken", offer.words.to);
            self.refuse(RuleKey::Handover, what, "they take it over first");
            return None;
        }
        at.then_some(card)
    }

    pub(super) fn issue_card(&mut self, act: &IssueCard) {
        let IssueCard { job, title, item, pack, steps } = act;
        self.power(Power::Plan, item.as_ref());
        if self.shop().cards.cards.contains_key(job) {
            self.taken("card", job);
        }
        self.stated("title", title);
        if let Some(item) = item {
            self.item(item);
        }
        if let Some(pack) = pack {
            let list = &self.programme.packs;
            self.known(list, pack);
        }
        self.hold(
            !steps.is_empty(),
            RuleKey::Stated,
            || format!("{job} has no step"),
            "write down what is to be done, step by step",
        );
        let mut names = BTreeSet::new();
        for step in steps {
            self.card_step(step);
            if !names.insert(&step.id) {
                self.taken("step", &step.id);
            }
        }
        self.vital(item.as_ref(), steps);
    }

    /// What is vital is put together under the eyes of two.
    fn vital(&mut self, item: Option<&ItemId>, steps: &[CardStep]) {
        let Some(item) = item.and_then(|item| self.programme.items.get(item)) else {
            return;
        };
        let together = |step: &&CardStep| step.work == crate::act::StepWork::Reassemble;
        let alone = steps.iter().filter(together).find(|step| !step.independent);
        if let Some(step) = alone.filter(|_| item.vital) {
            let what = format!(
                "step {} puts together {}, which is vital, and asks for no second inspection",
                step.id, item.id
            );
            self.refuse(RuleKey::Independence, what, "ask for one at this step");
        }
    }

    fn card_step(&mut self, step: &CardStep) {
        let CardStep {
            id,
            text,
            work: _,
            data,
            revision,
            critical,
            inspected: _,
            independent,
            limits,
            makes,
        } = step;
        self.stated("text", text);
        let known = |text: &Option<String>| {
            text.as_ref().is_some_and(|text| !text.trim().is_empty())
        };
        self.hold(
            known(data) && known(revision),
            RuleKey::Data,
            || format!("step {id} names no data with their revision"),
            "name the document and its revision; for the workshop's own instruction its issue",
        );
        self.hold(
            *independent || !*critical,
            RuleKey::Independence,
            || format!("step {id} is critical and asks for no second inspection"),
            "ask for one, or say that it is not critical",
        );
        for limit in limits {
            self.limit(id, limit);
        }
        for connection in makes {
            let list = &self.programme.connections;
            self.known(list, connection);
        }
    }

    fn limit(&mut self, step: &StepId, limit: &Limit) {
        let Limit { name, low, high, unit: _ } = limit;
        self.stated("limit", name);
        let finite = low.iter().chain(high).all(|value| value.is_finite());
        let ordered = low.zip(*high).is_none_or(|(low, high)| low <= high);
        let bounded = low.is_some() || high.is_some();
        self.hold(
            finite && ordered && bounded,
            RuleKey::Stated,
            || format!("the limits of {name} at step {step} leave nothing between them"),
            "give a least or a greatest value, or both in order",
        );
    }

    pub(super) fn add_step(&mut self, act: &AddStep) {
        let AddStep { job, after, step, reason } = act;
        self.stated("reason", reason);
        self.card_step(step);
        let Some(card) = self.open_card(job) else { return };
        self.power(Power::Plan, card.item.as_ref());
        if card.step(&step.id).is_some() {
            self.taken("step", &step.id);
        }
        let Some(after) = after else { return };
        let Some(at) = card.steps.iter().position(|s| s.spec.id == *after) else {
            self.unknown("step", after);
            return;
        };
        let next = card.steps.get(at + 1).filter(|next| next.signed.is_some());
        if let Some(next) = next {
            let what = format!("step {}, which would follow it, is signed", next.spec.id);
            self.refuse(
                RuleKey::StepOrder,
                what,
                "add it after the last step that is signed",
            );
        }
    }

    pub(super) fn start(&mut self, act: &Start) {
        let job = &act.job;
        let Some(card) = self.open_card(job) else { return };
        let by = self.by();
        self.hold(
            !card.is_at(by),
            RuleKey::Known,
            || format!("{by} is at work on {job} already"),
            "go on",
        );
        if let Some(offer) = &card.offer {
            let what = format!("{job} waits for {} to take it over", offer.words.to);
            self.refuse(
                RuleKey::Handover,
                what,
                "they take it over, which starts their work",
            );
            return;
        }
        let deserted = card.is_begun() && card.present().next().is_none();
        let left = card.left_by.as_ref().filter(|left| deserted && *left != by);
        if let Some(left) = left {
            let what = format!("{left} left {job} unfinished and handed it to nobody");
            let hint = format!("{left} hands it over to {by}; or those who know it do");
            self.refuse(RuleKey::Handover, what, hint);
        }
    }

    pub(super) fn pause(&mut self, act: &Pause) {
        self.stated("left", &act.left);
        self.at_card(&act.job);
    }

    pub(super) fn hand_over(&mut self, act: &HandOver) {
        let HandOver { job, to, done, next, loose, off, hazards, tools } = act;
        self.all_stated(&[
            ("done", done),
            ("next", next),
            ("loose", loose),
            ("off", off),
            ("hazards", hazards),
        ]);
        self.person(to);
        let by = self.by();
        self.hold(
            to != by,
            RuleKey::Handover,
            || format!("{by} would hand {job} over to {by}"),
            "pause it instead",
        );
        let Some(card) = self.open_card(job) else { return };
        if let Some(offer) = &card.offer {
            let what = format!("{job} is offered to {} already", offer.words.to);
            self.refuse(RuleKey::Handover, what, "they take it over first");
        }
        let may = card.is_at(by) || card.left_by.as_ref() == Some(by);
        self.hold(
            may,
            RuleKey::Presence,
            || format!("{by} is not at work on {job} and was not the last who was"),
            "whoever was at it hands it over",
        );
        self.tools_at(job, tools);
    }

    /// The tools that stay at a job are those that are out for it.
    fn tools_at(&mut self, job: &JobKey, named: &[ToolId]) {
        let out = self.shop().tools.out_for(job);
        for tool in out.iter().filter(|tool| !named.contains(tool)) {
            let what = format!("{tool} is out for {job} and not named");
            self.refuse(RuleKey::ToolControl, what, "name it, or bring it back first");
        }
        for tool in named.iter().filter(|tool| !out.contains(tool)) {
            let what = format!("{tool} is named and not out for {job}");
            self.refuse(
                RuleKey::ToolControl,
                what,
                "take it out for this card, or leave it out",
            );
        }
    }

    pub(super) fn take_over(&mut self, act: &TakeOver) {
        let job = &act.job;
        let Some(card) = self.open_card(job) else { return };
        let by = self.by();
        let Some(offer) = &card.offer else {
            let what = format!("nobody hands {job} over");
            self.refuse(RuleKey::Handover, what, "ask whoever was at it to hand it over");
            return;
        };
        self.hold(
            offer.words.to == *by,
            RuleKey::Handover,
            || format!("{job} is handed over to {}, not to {by}", offer.words.to),
            "they take it; or it is handed over anew",
        );
        self.hold(
            act.spoken,
            RuleKey::Handover,
            || format!("{} and {by} did not talk about it", offer.from),
            "talk it through at the job, then say so",
        );
    }

    pub(super) fn sign_step(&mut self, act: &SignStep) {
        let SignStep { job, step, readings, supervisor, note: _ } = act;
        let Some(card) = self.at_card(job) else { return };
        let Some(state) = card.step(step) else {
            self.unknown("step", step);
            return;
        };
        if let Some(signed) = &state.signed {
            let what = format!("{step} was signed by {}", signed.mark.by);
            let hint =
                "if it was disturbed, say so; if the signature is wrong, strike it";
            self.refuse(RuleKey::Known, what, hint);
            return;
        }
        self.step_is_next(card, step);
        if let Some(query) = state.queries.first() {
            let what = format!("query {query} about the data of {step} is open");
            self.refuse(
                RuleKey::DataQuery,
                what,
                "wait for the answer, or for a concession",
            );
        }
        self.readings(state, readings);
        self.under_supervision(card, supervisor.as_ref());
    }

    fn step_is_next(&mut self, card: &Card, step: &StepId) {
        let before = card.steps.iter().take_while(|s| s.spec.id != *step);
        for earlier in before.filter(|s| !s.is_complete()) {
            let lacks = earlier.lacks().unwrap_or("nothing");
            let rule = if earlier.is_signed() {
                RuleKey::InspectionOrder
            } else {
                RuleKey::StepOrder
            };
            let what = format!("step {} before it lacks {lacks}", earlier.spec.id);
            self.refuse(rule, what, "do that first");
        }
    }

    fn readings(&mut self, state: &StepState, readings: &[Reading]) {
        let limits = &state.spec.limits;
        for limit in limits {
            let of: Vec<&Reading> =
                readings.iter().filter(|reading| reading.name == limit.name).collect();
            match of.as_slice() {
                [] => {
                    let what = format!("{} was not measured", limit.name);
                    self.refuse(RuleKey::Limits, what, "measure it and give the value");
                }
                [reading] => self.reading(limit, reading),
                _ => {
                    let what = format!("{} is given more than once", limit.name);
                    self.refuse(RuleKey::Limits, what, "give the value that counts");
                }
            }
        }
        let asked = |reading: &&Reading| !limits.iter().any(|l| l.name == reading.name);
        for reading in readings.iter().filter(asked) {
            let what = format!("the step does not ask for {}", reading.name);
            self.refuse(RuleKey::Known, what, "put it into the note");
        }
    }

    fn reading(&mut self, limit: &Limit, reading: &Reading) {
        let Limit { name, low, high, unit } = limit;
        let value = reading.value;
        let inside = value.is_finite()
            && low.is_none_or(|low| value >= low)
            && high.is_none_or(|high| value <= high);
        self.hold(
            inside,
            RuleKey::Limits,
            || format!("{name} is {value} {unit}, outside its limits"),
            "do not sign: put it right and measure again, or raise a finding",
        );
        match &reading.instrument {
            Some(tool) => self.instrument(tool),
            None if unit.is_empty() => {}
            None => {
                let what = format!("no instrument is named for {name}");
                self.refuse(RuleKey::Calibration, what, "name the instrument");
            }
        }
    }

    fn under_supervision(&mut self, card: &Card, supervisor: Option<&PersonId>) {
        let by = self.by();
        let item = card.item.as_ref();
        let Some(supervisor) = supervisor else {
            if self.is_supervised(by) {
                let what =
                    format!("{by} works under supervision and names no supervisor");
                self.refuse(
                    RuleKey::Supervision,
                    what,
                    "name who supervised; they sign too",
                );
            }
            return;
        };
        self.person(supervisor);
        self.hold(
            supervisor != by,
            RuleKey::Supervision,
            || format!("{by} names {by} as supervisor"),
            "name somebody else, or nobody if you work on your own authority",
        );
        let may = self.has(supervisor, Power::Supervise, item);
        self.hold(
            may,
            RuleKey::Supervision,
            || format!("{supervisor} has no authority to supervise this work"),
            "name somebody who has",
        );
        let there = self.shop().cards.cards.values().any(|card| card.is_at(supervisor));
        self.hold(
            there,
            RuleKey::Supervision,
            || format!("{supervisor} is not at work"),
            "the supervisor starts work, here or on another card, before it is done",
        );
    }

    pub(super) fn hours(&mut self, act: &Hours) {
        let Hours { job, person, on, hours, reason } = act;
        self.stated("reason", reason);
        self.past("on", *on, RuleKey::Clock);
        self.person(person);
        self.card(job);
        let minutes = hours.minutes();
        self.hold(
            (1..=24 * 60).contains(&minutes),
            RuleKey::Stated,
            || "hours of one day are more than nothing and at most 24".to_owned(),
            "give the hours of one day",
        );
        if person != self.by() {
            self.power(Power::Plan, None);
        }
    }

    pub(super) fn finish(&mut self, act: &Finish) {
        let job = &act.job;
        let Some(card) = self.open_card(job) else { return };
        self.power(Power::Certify, card.item.as_ref());
        for step in &card.steps {
            if let Some(lacks) = step.lacks() {
                let what = format!("step {} lacks {lacks}", step.spec.id);
                self.refuse(RuleKey::Completion, what, "complete it first");
            }
        }
        self.hold(
            act.clear,
            RuleKey::ClearPlace,
            || format!("nobody has looked over the place of {job}"),
            "look for tools, rags and loose parts, then say that it is clear",
        );
        for tool in self.shop().tools.out_for(job) {
            let what = format!("{tool} is out for {job}");
            self.refuse(RuleKey::ToolControl, what, "bring it back first");
        }
        if let Some(offer) = &card.offer {
            let what =
                format!("{job} was handed over to {} and not taken", offer.words.to);
            self.refuse(RuleKey::Handover, what, "they take it over first");
        }
        let by = self.by();
        for other in card.present().filter(|person| *person != by) {
            let what = format!("{other} is at work on {job}");
            self.refuse(RuleKey::Completion, what, "they pause first");
        }
    }

    pub(super) fn reopen(&mut self, act: &Reopen) {
        let Reopen { job, steps, reason } = act;
        self.stated("reason", reason);
        let Some(card) = self.card(job) else { return };
        self.power(Power::Certify, card.item.as_ref());
        self.hold(
            card.is_finished(),
            RuleKey::Known,
            || format!("{job} is open"),
            "go on with it",
        );
        for step in steps {
            if card.step(step).is_none() {
                self.unknown("step", step);
            }
        }
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let cards = Arc::make_mut(&mut programme.shop.cards);
    super::inspections::perform(cards, act, stamp);
    let mark = Mark::of(stamp);
    let mut on = |job: &JobKey, change: &dyn Fn(&mut Card)| {
        if let Some(card) = cards.cards.get_mut(job) {
            change(card);
        }
    };
    match act {
        Act::IssueCard(act) => {
            cards.cards.insert(act.job.clone(), issued(act, mark));
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
