//! What is not forbidden, and somebody should know before they sign.

use std::sync::Arc;

use crate::act::{
    Act, AirReading, Defer, Evidence, EvidenceKind, OpenGate, ReportNdt, SignStep, Stamp,
};
use crate::{FindingId, Programme, Refusal, RuleKey};

/// Deferrals in one zone from which on their sum is worth a look.
const SEVERAL: usize = 3;

impl Programme {
    /// What somebody should know about an act that may be done: by which rule, what, and what
    /// to do about it.
    pub fn cautions(&self, act: &Act, stamp: &Stamp) -> Vec<Refusal> {
        match act {
            Act::SignStep(act) => self.same_again(act, stamp),
            Act::Defer(act) => self.adds_up(act),
            Act::OpenGate(act) => self.seen_by_one(act),
            Act::ReportNdt(act) => left_out(act),
            Act::Evidence(act) => self.shown_in_part(act),
            Act::AirReading(act) => self.read_with_nothing(act),
            _ => Vec::new(),
        }
    }

    /// Where there are instruments, a reading says which it was.
    fn read_with_nothing(&self, act: &AirReading) -> Vec<Refusal> {
        let there_are = self.tools.iter().any(|tool| tool.measures);
        if !there_are || !act.instruments.is_empty() {
            return Vec::new();
        }
        vec![Refusal {
            rule: RuleKey::Calibration,
            what: "nobody says with what the air was read".to_owned(),
            hint: "name the instruments, so that their calibration is looked at"
                .to_owned(),
        }]
    }

    /// A report that is given as evidence shows nothing of what was not examined.
    fn shown_in_part(&self, act: &Evidence) -> Vec<Refusal> {
        let report = (act.kind == EvidenceKind::Report)
            .then(|| self.report(&act.reference))
            .flatten();
        report.map_or_else(Vec::new, |report| left_out(&report.words))
    }

    /// The same mistake, made twice by the same hands, takes away what the other side was
    /// for: both engines, both ailerons.
    fn same_again(&self, act: &SignStep, stamp: &Stamp) -> Vec<Refusal> {
        let cards = &self.shop.cards.cards;
        let Some(card) = cards.get(&act.job) else { return Vec::new() };
        let Some(step) = card.step(&act.step) else { return Vec::new() };
        if !step.spec.critical && !step.spec.independent {
            return Vec::new();
        }
        let twin = |(job, other): (&crate::JobKey, &Arc<super::Card>)| {
            let elsewhere = *job != act.job && other.title == card.title;
            let same = other.steps.iter().filter(|s| s.spec.text == step.spec.text);
            let by =
                same.filter_map(|s| s.signed.as_ref()).any(|s| s.mark.by == stamp.by);
            (elsewhere && other.item != card.item && by).then(|| job.clone())
        };
        cards
            .iter()
            .filter_map(twin)
            .map(|job| Refusal {
                rule: RuleKey::Independence,
                what: format!("{} did the same on {job}", stamp.by),
                hint: "let somebody else do one of the two, or have both inspected again"
                    .to_owned(),
            })
            .collect()
    }

    /// Many small things in one place may be a great one.
    fn adds_up(&self, act: &Defer) -> Vec<Refusal> {
        let Some(zone) = self.zone_of_finding(&act.finding) else { return Vec::new() };
        let here = |(id, state): &(&FindingId, &super::FindingState)| {
            **id != act.finding
                && state.deferred.is_some()
                && !state.is_cleared()
                && self.zone_of_finding(id) == Some(zone)
        };
        let others = self.shop.findings.states.iter().filter(here).count();
        if others + 1 < SEVERAL {
            return Vec::new();
        }
        vec![Refusal {
            rule: RuleKey::Deferral,
            what: format!(
                "with it {} findings in zone {zone} are carried forward",
                others + 1
            ),
            hint: "weigh what they come to together, and say so in the reason".to_owned(),
        }]
    }

    /// Whoever releases is told what only one person has seen.
    fn seen_by_one(&self, _: &OpenGate) -> Vec<Refusal> {
        let cards = self.shop.cards.cards.iter();
        let alone = cards.flat_map(|(job, card)| {
            let looks = card.steps.iter().filter_map(|step| step.second.as_ref());
            looks.filter_map(move |look| {
                let (reason, allowed_by) = look.alone.as_ref()?;
                Some(Refusal {
                    rule: RuleKey::Unforeseen,
                    what: format!(
                        "{} made both inspections on {job}, which {allowed_by} allowed: {reason}",
                        look.mark.by
                    ),
                    hint: "say so on the release, or have another one look".to_owned(),
                })
            })
        });
        alone.collect()
    }
}

/// What a report leaves out.
fn left_out(report: &ReportNdt) -> Vec<Refusal> {
    let each = report.missed.iter().map(|missed| Refusal {
        rule: RuleKey::Examination,
        what: format!(
            "{} did not examine {}: {}",
            report.report, missed.place, missed.why
        ),
        hint: "ask for another examination of it, or say why it need not be seen"
            .to_owned(),
    });
    each.collect()
}
