//! What a card must say before anybody works by it.

use std::collections::BTreeSet;

use airframe::ItemId;

use super::judge::Judge;
use crate::RuleKey;
use crate::act::{AddStep, CardStep, IssueCard, Limit, Power, StepWork};

impl Judge<'_> {
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
        let together = |step: &&CardStep| step.work == StepWork::Reassemble;
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
            self.limit(&format!("step {id}"), limit);
        }
        for connection in makes {
            let list = &self.programme.connections;
            self.known(list, connection);
        }
    }

    pub(super) fn limit(&mut self, place: &str, limit: &Limit) {
        let Limit { name, low, high, unit: _ } = limit;
        self.stated("limit", name);
        let finite = low.iter().chain(high).all(|value| value.is_finite());
        let ordered = low.zip(*high).is_none_or(|(low, high)| low <= high);
        let bounded = low.is_some() || high.is_some();
        self.hold(
            finite && ordered && bounded,
            RuleKey::Stated,
            || format!("the limits of {name} at {place} leave nothing between them"),
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
}
