//! What work on a card asks for: being there, handing over, signing, closing.

use super::cards::Card;
use super::judge::Judge;
use crate::act::{
    Finish, HandOver, Hours, Limit, Pause, Power, Reading, Reopen, SignStep, Start,
    TakeOver,
};
use crate::{JobKey, PersonId, RuleKey, StepId, ToolId};

impl<'a> Judge<'a> {
    /// A card.
    pub(super) fn card(&mut self, job: &JobKey) -> Option<&'a Card> {
        let card = self.shop().cards.cards.get(job).map(AsRef::as_ref);
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

    /// A card that is certified complete.
    pub(super) fn complete_card(&mut self, job: &JobKey, rule: RuleKey) {
        let Some(card) = self.card(job) else { return };
        self.hold(
            card.is_finished(),
            rule,
            || format!("{job} is not certified complete"),
            "complete the card first",
        );
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
        let SignStep { job, step, readings, supervisor, note: _, photographs: _ } = act;
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
        self.readings(&state.spec.limits, readings);
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

    /// Each limit has one reading, which lies within it.
    pub(super) fn readings(&mut self, limits: &[Limit], readings: &[Reading]) {
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
            let what = format!("no limit asks for {}", reading.name);
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
