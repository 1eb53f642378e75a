//! Inspections of steps, what re-arms them, and questions about data.

use super::cards::{Card, Cards, Look, Mark, StepState};
use super::judge::Judge;
use crate::act::{
    Act, Answer, Countersign, Disturb, Inspect, Power, Query, Stamp, Verdict,
};
use crate::{JobKey, PersonId, RuleKey, StepId};

impl<'a> Judge<'a> {
    fn step_of(
        &mut self,
        job: &JobKey,
        step: &StepId,
    ) -> Option<(&'a Card, &'a StepState)> {
        let card = self.open_card(job)?;
        let state = card.step(step);
        if state.is_none() {
            self.unknown("step", step);
        }
        state.map(|state| (card, state))
    }

    pub(super) fn countersign(&mut self, act: &Countersign) {
        let Some((card, state)) = self.step_of(&act.job, &act.step) else { return };
        let (by, step) = (self.by(), &act.step);
        let Some(signed) = &state.signed else {
            let what = format!("{step} is not signed");
            self.refuse(RuleKey::InspectionOrder, what, "whoever did it signs first");
            return;
        };
        if signed.countersigned.is_some() {
            let what = format!("{step} is countersigned");
            self.refuse(RuleKey::Known, what, "it need not be again");
        }
        self.hold(
            signed.supervisor.as_ref() == Some(by),
            RuleKey::Supervision,
            || format!("{by} did not supervise {step}"),
            "whoever is named as supervisor signs",
        );
        self.power(Power::Supervise, card.item.as_ref());
    }

    pub(super) fn inspect(&mut self, act: &Inspect) {
        let Inspect { job, step, checked, verdict, finding, alone, allowed_by } = act;
        let Some((card, state)) = self.step_of(job, step) else { return };
        self.power(Power::Inspect, card.item.as_ref());
        let by = self.by();
        if self.is_supervised(by) {
            let what = format!("{by} works under supervision and would inspect");
            self.refuse(RuleKey::Supervision, what, "somebody else inspects");
        }
        let said = checked.iter().any(|one| !one.trim().is_empty());
        self.hold(
            said,
            RuleKey::InspectionContent,
            || format!("it is not said what was looked at on {step}"),
            "list it: assembly, locking, range and sense of movement, clearance",
        );
        if !state.is_signed() {
            let lacks = state.lacks().unwrap_or("nothing");
            let what = format!("{step} lacks {lacks}");
            self.refuse(RuleKey::InspectionOrder, what, "work is signed for first");
            return;
        }
        self.verdict(*verdict, finding.as_ref());
        match &state.first {
            None => self.first_look(state, step),
            Some(first) if state.second.is_none() => {
                let alone = alone.as_deref().zip(allowed_by.as_ref());
                self.second_look(card, first, step, alone);
            }
            Some(_) => {
                let what = format!("{step} was inspected twice");
                self.refuse(RuleKey::Known, what, "it need not be again");
            }
        }
    }

    fn verdict(&mut self, verdict: Verdict, finding: Option<&crate::FindingId>) {
        if let Some(finding) = finding {
            self.finding(finding);
        }
        self.hold(
            verdict == Verdict::Pass || finding.is_some(),
            RuleKey::FailedInspection,
            || "the inspection failed and names no finding".to_owned(),
            "raise a finding first, and name it",
        );
    }

    fn first_look(&mut self, state: &StepState, step: &StepId) {
        let by = self.by();
        let did = |signed: &super::Signed| {
            signed.mark.by == *by || signed.supervisor.as_ref() == Some(by)
        };
        self.hold(
            !state.signed.as_ref().is_some_and(did),
            RuleKey::Independence,
            || format!("{by} did {step}, or answered for it"),
            "somebody else inspects",
        );
    }

    fn second_look(
        &mut self,
        card: &Card,
        first: &Look,
        step: &StepId,
        alone: Option<(&str, &PersonId)>,
    ) {
        let by = self.by();
        self.hold(
            !card.involved().contains(by),
            RuleKey::Independence,
            || format!("{by} worked on the card of {step}"),
            "somebody who had no part in the work inspects",
        );
        if first.mark.by != *by {
            return;
        }
        let Some((reason, allowed_by)) = alone else {
            let what = format!("{by} made the first inspection of {step}");
            let hint = "somebody else makes the second one; if nobody can, for a reason that \
                        nobody could foresee, say why and who allowed it";
            self.refuse(RuleKey::Independence, what, hint);
            return;
        };
        let may = allowed_by != by && self.has(allowed_by, Power::Release, None);
        self.hold(
            may && !reason.trim().is_empty(),
            RuleKey::Unforeseen,
            || format!("{allowed_by} can't allow {by} to inspect {step} twice"),
            "give the reason, and somebody else who may release",
        );
    }

    pub(super) fn disturb(&mut self, act: &Disturb) {
        let Disturb { job, steps, reason } = act;
        self.stated("reason", reason);
        let Some(card) = self.card(job) else { return };
        self.hold(
            !steps.is_empty(),
            RuleKey::Stated,
            || "it names no step".to_owned(),
            "name the steps that were disturbed",
        );
        for step in steps {
            match card.step(step) {
                None => self.unknown("step", step),
                Some(state) if state.signed.is_none() => {
                    let what =
                        format!("{step} is not signed, so nothing of it is undone");
                    self.refuse(RuleKey::Known, what, "leave it out");
                }
                Some(_) => {}
            }
        }
    }

    pub(super) fn query(&mut self, act: &Query) {
        let Query { query, job, step, to, question } = act;
        self.all_stated(&[("to", to), ("question", question)]);
        if self.shop().cards.queries.contains_key(query) {
            self.taken("query", query);
        }
        let Some((_, state)) = self.step_of(job, step) else { return };
        self.hold(
            state.signed.is_none(),
            RuleKey::Known,
            || format!("{step} is signed"),
            "say first that it is disturbed, or strike the signature",
        );
    }

    pub(super) fn answer(&mut self, act: &Answer) {
        let Answer { query, answer, reference, conceded } = act;
        self.all_stated(&[("answer", answer), ("reference", reference)]);
        let cards = &self.shop().cards;
        let Some((job, step)) = cards.queries.get(query) else {
            self.unknown("query", query);
            return;
        };
        let card = cards.cards.get(job);
        let open = card
            .and_then(|card| card.step(step))
            .is_some_and(|step| step.queries.contains(query));
        self.hold(
            open,
            RuleKey::Known,
            || format!("{query} was answered"),
            "ask anew if the answer was not enough",
        );
        let power = if *conceded { Power::Engineer } else { Power::Plan };
        self.power(power, card.and_then(|card| card.item.as_ref()));
    }
}

pub(super) fn perform(cards: &mut Cards, act: &Act, stamp: &Stamp) {
    match act {
        Act::Countersign(act) => step(cards, &act.job, &act.step, |step| {
            if let Some(signed) = &mut step.signed {
                signed.countersigned = Some(Mark::of(stamp));
            }
        }),
        Act::Inspect(act) => step(cards, &act.job, &act.step, |step| {
            if !Look::is_pass(act.verdict) {
                step.void.push(stamp.number);
                step.rearm();
                return;
            }
            let look = Look {
                mark: Mark::of(stamp),
                checked: act.checked.clone(),
                alone: act.alone.clone().zip(act.allowed_by.clone()),
            };
            let first = step.first.is_none();
            *(if first { &mut step.first } else { &mut step.second }) = Some(look);
        }),
        Act::Disturb(act) => {
            cards.change(&act.job, |card| card.finished = None);
            for id in &act.steps {
                step(cards, &act.job, id, StepState::rearm);
            }
        }
        Act::Query(act) => {
            let about = (act.job.clone(), act.step.clone());
            cards.queries.insert(act.query.clone(), about);
            step(cards, &act.job, &act.step, |step| {
                step.queries.insert(act.query.clone());
            });
        }
        Act::Answer(act) => {
            if let Some((job, id)) = cards.queries.get(&act.query).cloned() {
                step(cards, &job, &id, |step| {
                    step.queries.remove(&act.query);
                });
            }
        }
        _ => {}
    }
}

fn step(
    cards: &mut Cards,
    job: &JobKey,
    id: &StepId,
    change: impl FnOnce(&mut StepState),
) {
    cards.change(job, |card| card.step_mut(id).map(change));
}
