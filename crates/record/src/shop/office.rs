//! The programme as a whole: letters, directives, modifications, origins, samples, what is
//! due in service, money.

use std::collections::BTreeMap;
use std::sync::Arc;

use airframe::ItemId;
use jiff::civil::Date;
use quantity::Money;

use super::cards::Mark;
use super::gates::{Block, GateState};
use super::judge::Judge;
use crate::act::{
    Act, Directive, DirectiveState, Duty, DutyDone, Letter, LifeUnit, Modification,
    MoneyKind, Power, Provenance, Sample, Sampled, Spend, Stamp, Total, Verdict,
};
use crate::{
    DirectiveId, DutyId, LetterId, ModificationId, PackId, Programme, RuleKey, SampleId,
    SeasonId,
};

/// What acts say of the programme as a whole.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Office {
    /// Letters, as they were filed.
    pub letters: BTreeMap<LetterId, (Letter, Mark)>,
    /// Directives, as they stand.
    pub directives: BTreeMap<DirectiveId, (Directive, Mark)>,
    /// Modifications.
    pub modifications: BTreeMap<ModificationId, (Modification, Mark)>,
    /// Where items come from.
    pub origins: BTreeMap<ItemId, (Provenance, Mark)>,
    /// Samples of structure.
    pub samples: BTreeMap<SampleId, SampleState>,
    /// What is due in service.
    pub duties: BTreeMap<DutyId, DutyState>,
    /// What the aircraft has flown, run and landed since the record began.
    pub counted: BTreeMap<LifeUnit, f64>,
    /// What it had before, as last stated.
    pub before: BTreeMap<LifeUnit, (Total, Mark)>,
    /// Sums of money by pack, season, and what they are.
    pub money: BTreeMap<(PackId, SeasonId, MoneyKind), Money>,
}

/// A sample of structure.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SampleState {
    /// As it was set up.
    pub sample: Sample,
    /// What came out, by which one.
    pub results: BTreeMap<String, (Verdict, Mark)>,
}

/// Something that is due in service.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct DutyState {
    /// As it was set up.
    pub duty: Duty,
    /// The count at which it was done last, or set up.
    pub done_at: f64,
    /// The day on which it was done last, or set up.
    pub done_on: Date,
}

impl SampleState {
    /// How many are to be looked at: all, once one was not sound.
    pub fn wanted(&self) -> u32 {
        let failed = self.results.values().any(|(verdict, _)| *verdict == Verdict::Fail);
        if failed { self.sample.all } else { self.sample.size }
    }

    /// Whether enough of them were looked at.
    pub fn is_done(&self) -> bool {
        self.results.len() >= self.wanted() as usize
    }
}

impl DutyState {
    /// How much is left until it is due; less than nothing if it is overdue.
    pub fn left(&self, counted: f64, on: Date) -> f64 {
        let since = match self.duty.unit {
            LifeUnit::Days => f64::from((on - self.done_on).get_days()),
            _ => counted - self.done_at,
        };
        self.duty.every - since
    }
}

impl Office {
    /// What was counted of a unit.
    pub fn count(&self, unit: LifeUnit) -> f64 {
        self.counted.get(&unit).copied().unwrap_or(0.0)
    }

    /// What the aircraft has had in all; nothing if nobody stated what it had before.
    pub fn total(&self, unit: LifeUnit) -> Option<f64> {
        let (before, _) = self.before.get(&unit)?;
        Some(before.amount + self.count(unit))
    }
}

impl Programme {
    /// What of all this stands in the way of a gate on a day.
    pub(super) fn office_at(&self, on: Date, state: &mut GateState) {
        let office = &self.shop.office;
        let mut block = |rule, what| {
            state.blocks.push(Block { rule, what, citation: None });
        };
        for (name, (directive, _)) in &office.directives {
            let over = directive.due.is_some_and(|due| due < on);
            let applies = matches!(
                directive.state,
                DirectiveState::Open | DirectiveState::Repeating
            );
            if applies && over {
                block(
                    RuleKey::Directive,
                    format!("{name} is overdue: {}", directive.subject),
                );
            }
        }
        for (name, sample) in &office.samples {
            if !sample.is_done() {
                let (done, wanted) = (sample.results.len(), sample.wanted());
                let what = format!(
                    "of {name} ({}) {done} of {wanted} were looked at",
                    sample.sample.of
                );
                block(RuleKey::Sampling, what);
            }
        }
        for (name, duty) in &office.duties {
            if duty.left(office.count(duty.duty.unit), on) < 0.0 {
                block(RuleKey::Service, format!("{name} is overdue: {}", duty.duty.what));
            }
        }
    }
}

impl Judge<'_> {
    pub(super) fn letter(&mut self, act: &Letter) {
        let Letter { letter, with, sent: _, on, reference, subject, answers, due } = act;
        let letters = &self.shop().office.letters;
        if letters.contains_key(letter) {
            self.taken("letter", letter);
        }
        self.all_stated(&[
            ("with", with),
            ("reference", reference),
            ("subject", subject),
        ]);
        self.past("on", *on, RuleKey::Stated);
        if let Some(answers) = answers.as_ref().filter(|id| !letters.contains_key(*id)) {
            self.unknown("letter", answers);
        }
        if let Some(due) = due {
            self.hold(
                due >= on,
                RuleKey::Stated,
                || format!("an answer is due on {due}, before the letter"),
                "give a day after it",
            );
        }
    }

    pub(super) fn directive(&mut self, act: &Directive) {
        let Directive { directive, source, subject, state, method, job, due } = act;
        self.power(Power::Certify, None);
        self.all_stated(&[("source", source), ("subject", subject)]);
        let says = method.as_ref().is_some_and(|method| !method.trim().is_empty());
        self.hold(
            says || *state == DirectiveState::Open,
            RuleKey::Directive,
            || format!("it is not said why {directive} is {}", state.word()),
            "say how it was met, or why it does not apply",
        );
        let repeats = *state == DirectiveState::Repeating;
        self.hold(
            due.is_some() || !repeats,
            RuleKey::Directive,
            || format!("{directive} is due again, and nobody says when"),
            "give the day",
        );
        match job {
            Some(job) => self.complete_card(job, RuleKey::Directive),
            None if matches!(state, DirectiveState::Met | DirectiveState::Repeating) => {
                let what = format!("no card is named on which {directive} was met");
                self.refuse(RuleKey::Directive, what, "name the card");
            }
            None => {}
        }
    }

    pub(super) fn modification(&mut self, act: &Modification) {
        let Modification { modification, item, what, data, approval, job } = act;
        self.power(Power::Certify, Some(item));
        if self.shop().office.modifications.contains_key(modification) {
            self.taken("modification", modification);
        }
        self.item(item);
        self.stated("what", what);
        for (field, text) in [("data", data), ("approval", approval)] {
            self.hold(
                !text.trim().is_empty(),
                RuleKey::Approval,
                || format!("{modification} has no `{field}`"),
                "what changes the design waits until somebody entitled to has approved it",
            );
        }
        self.complete_card(job, RuleKey::Approval);
    }

    pub(super) fn provenance(&mut self, act: &Provenance) {
        self.item(&act.item);
        self.stated("evidence", &act.evidence);
    }

    pub(super) fn sample(&mut self, act: &Sample) {
        let Sample { sample, of, all, size, basis } = act;
        self.power(Power::Engineer, None);
        if self.shop().office.samples.contains_key(sample) {
            self.taken("sample", sample);
        }
        self.all_stated(&[("of", of), ("basis", basis)]);
        self.hold(
            (1..=*all).contains(size),
            RuleKey::Stated,
            || format!("{size} of {all} are to be looked at"),
            "look at one at least, and at no more than there are",
        );
    }

    pub(super) fn sampled(&mut self, act: &Sampled) {
        let Sampled { sample, which, verdict: _, reference } = act;
        self.power(Power::Inspect, None);
        self.all_stated(&[("which", which), ("reference", reference)]);
        let Some(state) = self.shop().office.samples.get(sample) else {
            self.unknown("sample", sample);
            return;
        };
        self.hold(
            !state.results.contains_key(which.trim()),
            RuleKey::Known,
            || format!("{which} of {sample} was looked at"),
            "name another one; what was seen there stays",
        );
        self.hold(
            state.results.len() < state.sample.all as usize,
            RuleKey::Stated,
            || format!("all {} of {sample} were looked at", state.sample.all),
            "nothing is left to look at",
        );
    }

    pub(super) fn duty(&mut self, act: &Duty) {
        let Duty { duty, what, item, every, unit: _, source } = act;
        self.power(Power::Engineer, item.as_ref());
        if self.shop().office.duties.contains_key(duty) {
            self.taken("duty", duty);
        }
        if let Some(item) = item {
            self.item(item);
        }
        self.all_stated(&[("what", what), ("source", source)]);
        self.amount("every", *every);
    }

    pub(super) fn duty_done(&mut self, act: &DutyDone) {
        self.power(Power::Certify, None);
        if !self.shop().office.duties.contains_key(&act.duty) {
            self.unknown("duty", &act.duty);
        }
        self.complete_card(&act.job, RuleKey::Service);
    }

    pub(super) fn total(&mut self, act: &Total) {
        let Total { unit, amount, basis, confidence } = act;
        self.power(Power::Certify, None);
        for (field, text) in [("basis", basis), ("confidence", confidence)] {
            self.hold(
                !text.trim().is_empty(),
                RuleKey::Reconstruction,
                || format!("`{field}` says nothing"),
                "say what it rests on and how sure it is; what can't be known is unknown",
            );
        }
        self.hold(
            amount.is_finite() && *amount >= 0.0 && *unit != LifeUnit::Days,
            RuleKey::Stated,
            || format!("{amount} {} were before the record", unit.word()),
            "give hours, landings or cycles, none or more of them",
        );
    }

    pub(super) fn spend(&mut self, act: &Spend) {
        let Spend { pack, season, kind, amount, what } = act;
        self.power(Power::Plan, None);
        let packs = &self.programme.packs;
        self.known(packs, pack);
        self.season(season);
        self.stated("what", what);
        let currency = self.programme.info.as_ref().map(|info| info.currency);
        let key = (pack.clone(), season.clone(), *kind);
        let sum = self.shop().office.money.get(&key).copied();
        let fits = currency == Some(amount.currency())
            && sum.is_none_or(|sum| sum.checked_add(*amount).is_ok());
        self.hold(
            fits,
            RuleKey::Stated,
            || format!("{amount} can't be added to what was counted"),
            "give it in the programme's currency",
        );
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    if !concerns(act) {
        return;
    }
    let office = Arc::make_mut(&mut programme.shop.office);
    let mark = Mark::of(stamp);
    match act.clone() {
        Act::Letter(act) => {
            office.letters.insert(act.letter.clone(), (act, mark));
        }
        Act::Directive(act) => {
            office.directives.insert(act.directive.clone(), (act, mark));
        }
        Act::Modification(act) => {
            office.modifications.insert(act.modification.clone(), (act, mark));
        }
        Act::Provenance(act) => {
            office.origins.insert(act.item.clone(), (act, mark));
        }
        Act::Sample(act) => {
            let name = act.sample.clone();
            let state = SampleState { sample: act, results: BTreeMap::new() };
            office.samples.insert(name, state);
        }
        Act::Sampled(act) => {
            if let Some(state) = office.samples.get_mut(&act.sample) {
                state.results.insert(act.which.trim().to_owned(), (act.verdict, mark));
            }
        }
        Act::Duty(act) => {
            let (done_at, done_on) = (office.count(act.unit), stamp.at.date());
            let name = act.duty.clone();
            office.duties.insert(name, DutyState { duty: act, done_at, done_on });
        }
        Act::DutyDone(act) => {
            let counted = office.counted.clone();
            if let Some(state) = office.duties.get_mut(&act.duty) {
                state.done_at = counted.get(&state.duty.unit).copied().unwrap_or(0.0);
                state.done_on = stamp.at.date();
            }
        }
        // What everything that is fitted has used, the aircraft has.
        Act::Use(act) if act.items.is_empty() => {
            *office.counted.entry(act.unit).or_default() += act.amount;
        }
        Act::Total(act) => {
            office.before.insert(act.unit, (act, mark));
        }
        Act::Spend(act) => spent(office, act),
        _ => {}
    }
}

fn concerns(act: &Act) -> bool {
    matches!(
        act,
        Act::Letter(_)
            | Act::Directive(_)
            | Act::Modification(_)
            | Act::Provenance(_)
            | Act::Sample(_)
            | Act::Sampled(_)
            | Act::Duty(_)
            | Act::DutyDone(_)
            | Act::Use(_)
            | Act::Total(_)
            | Act::Spend(_)
    )
}

fn spent(office: &mut Office, act: Spend) {
    let sum = office.money.get(&(act.pack.clone(), act.season.clone(), act.kind));
    // What could not be added was refused.
    let sum = sum.map_or(Ok(act.amount), |sum| sum.checked_add(act.amount));
    if let Ok(sum) = sum {
        office.money.insert((act.pack, act.season, act.kind), sum);
    }
}
