//! Gates: what stands between the aircraft and each, who opened it, and what shut it.
//!
//! Whether a gate is clear is computed, never typed. A gate that was opened is shut by
//! itself when something comes up that would have kept it from being opened, and stays
//! shut until somebody entitled to opens it again, even if that something went away.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::cards::Mark;
use super::findings::FindingState;
use super::judge::Judge;
use crate::act::{Act, Evidence, EvidenceKind, OpenGate, Power, ShutGate, Stamp};
use crate::{
    Condition, FindingId, Gate, GateId, JobKey, Programme, Requirement, RequirementId,
    RuleKey,
};

/// Gates and evidence.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Gates {
    /// What was given as evidence for each requirement, the latest last.
    pub proofs: BTreeMap<RequirementId, Vec<Proof>>,
    /// Gates that were ever opened: the latest time.
    pub openings: BTreeMap<GateId, Opening>,
}

/// Evidence that was given.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Proof {
    /// As it was given.
    pub evidence: Evidence,
    /// By whom and when.
    pub mark: Mark,
    /// It was struck through.
    pub struck: bool,
}

/// The latest time a gate was opened.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Opening {
    /// By whom and when.
    pub mark: Mark,
    /// Limitations.
    pub limitations: Vec<String>,
    /// The last day.
    pub until: Option<Date>,
    /// Why it was shut since, and by which entry.
    pub shut: Option<(String, Mark)>,
}

/// Something that keeps a gate from being open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Block {
    /// The rule by which it does.
    pub rule: RuleKey,
    /// What it is, as a sentence without a full stop.
    pub what: String,
    /// The condition or publication that asks for it, if the programme names one.
    pub citation: Option<String>,
}

/// How a gate stands on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GateState {
    /// Everything that keeps it from being open.
    pub blocks: Vec<Block>,
    /// Limitations that a release must name, from what is carried forward.
    pub limitations: Vec<String>,
    /// How many requirements it has, with those of the gates before it.
    pub requirements: usize,
    /// How many items are off.
    pub off: usize,
    /// How many tools are out.
    pub tools_out: usize,
    /// How many cards are begun and not complete.
    pub cards_open: usize,
    /// Somebody opened it, nothing shut it, and nothing blocks it.
    pub open: bool,
}

impl Programme {
    /// How a gate stands on a day.
    pub fn gate_state(&self, gate: &Gate, on: Date) -> GateState {
        let mut state = GateState {
            blocks: Vec::new(),
            limitations: Vec::new(),
            requirements: 0,
            off: 0,
            tools_out: 0,
            cards_open: 0,
            open: false,
        };
        self.requirements_of(gate, on, &mut state);
        for finding in self.open_findings() {
            match self.finding_at(gate, finding, on) {
                Ok(limitation) => state.limitations.extend(limitation),
                Err(block) => state.blocks.push(block),
            }
        }
        self.parts_at(on, &mut state);
        self.tools_at_gate(&mut state);
        self.cards_at(&mut state);
        self.office_at(on, &mut state);
        let opened = self.shop.gates.openings.get(&gate.id).is_some_and(|opening| {
            opening.shut.is_none() && opening.until.is_none_or(|until| on <= until)
        });
        state.open = opened && state.blocks.is_empty();
        state
    }

    /// Why a finding keeps the aircraft from a gate on a day; nothing if it does not.
    pub fn before_gate(
        &self,
        finding: &FindingId,
        gate: &Gate,
        on: Date,
    ) -> Option<Block> {
        let signed = self.shop.findings.states.get(finding);
        if !self.has_finding(finding) || signed.is_some_and(FindingState::is_cleared) {
            return None;
        }
        self.finding_at(gate, finding, on).err()
    }

    fn requirements_of(&self, gate: &Gate, on: Date, state: &mut GateState) {
        let order = |requirement: &Requirement| {
            self.gates.get(&requirement.gate).map_or(u32::MAX, |gate| gate.order)
        };
        for requirement in self.requirements.iter().filter(|r| order(r) <= gate.order) {
            state.requirements += 1;
            if let Some(lacks) = self.lacks(requirement, on) {
                let what = format!("{}: {} ({lacks})", requirement.id, requirement.what);
                let citation = requirement.citation.clone();
                state.blocks.push(Block { rule: RuleKey::GateEvidence, what, citation });
            }
        }
    }

    /// What a requirement lacks on a day, in words.
    pub fn lacks(&self, requirement: &Requirement, on: Date) -> Option<String> {
        if let Some(item) = requirement.fitted.as_ref().filter(|item| self.is_off(item)) {
            return Some(format!("{item} is off"));
        }
        if let Some(job) = &requirement.job {
            let card = self.shop.cards.cards.get(job);
            let done = card.is_some_and(|card| card.is_finished());
            return (!done).then(|| format!("{job} is not certified complete"));
        }
        if requirement.fitted.is_some() && requirement.kind.is_none() {
            return None;
        }
        let proofs = self.shop.gates.proofs.get(&requirement.id);
        let fits = |proof: &&Proof| {
            !proof.struck
                && requirement.kind.is_none_or(|kind| proof.evidence.kind == kind)
        };
        let proof = proofs.and_then(|proofs| proofs.iter().rev().find(fits));
        let Some(proof) = proof else {
            let kind = requirement.kind.map_or("evidence", EvidenceKind::word);
            return Some(format!("no {kind}"));
        };
        let over = proof.evidence.until.filter(|until| *until < on);
        if let Some(until) = over {
            return Some(format!("its evidence counted until {until}"));
        }
        if proof.evidence.kind == EvidenceKind::Report
            && let Some(lacks) = self.report_lacks(&proof.evidence.reference)
        {
            return Some(lacks);
        }
        let card = JobKey(proof.evidence.reference.clone());
        let reopened = proof.evidence.kind == EvidenceKind::Card
            && !self.shop.cards.cards.get(&card).is_some_and(|card| card.is_finished());
        reopened.then(|| format!("{card} is open again"))
    }

    /// The limitation under which an open finding lets the aircraft pass a gate, if there is
    /// one, or why it does not.
    fn finding_at(
        &self,
        gate: &Gate,
        finding: &FindingId,
        on: Date,
    ) -> Result<Option<String>, Block> {
        let signed = self.shop.findings.states.get(finding);
        let class = signed.and_then(|signed| signed.class.as_ref());
        let block = |rule, what| Err(Block { rule, what, citation: None });
        let Some(class) = class.filter(|class| class.condition != Condition::Unknown)
        else {
            let what =
                format!("nobody who may class findings has said how bad {finding} is");
            return block(RuleKey::Unknown, what);
        };
        if class.condition == Condition::Hazard {
            return block(RuleKey::GateHazard, format!("{finding} is a hazard"));
        }
        if let Some(due) = signed.and_then(|s| s.due).filter(|due| *due < on) {
            let what = format!("{finding} was to be made good by {due}");
            return block(RuleKey::TemporaryRepair, what);
        }
        let deferral = signed.and_then(|signed| signed.deferred.as_ref());
        let allows = deferral.map(|deferral| &deferral.allows).or(class.allows.as_ref());
        let most = allows.and_then(|gate| self.gates.get(gate)).map(|gate| gate.order);
        if most.is_none_or(|most| gate.order > most) {
            let upto = allows.map_or_else(
                || "allows no gate".to_owned(),
                |gate| format!("allows {gate} at most"),
            );
            return block(RuleKey::GateHazard, format!("{finding} is open and {upto}"));
        }
        let Some(deferral) = deferral else { return Ok(None) };
        let season = self.seasons.get(&deferral.until);
        if season.is_some_and(|season| season.until < on) {
            let what = format!(
                "{finding} was carried forward until the end of {}",
                deferral.until
            );
            return block(RuleKey::Deferral, what);
        }
        Ok(Some(deferral.limitation.clone()))
    }

    fn parts_at(&self, on: Date, state: &mut GateState) {
        let parts = &self.shop.parts.parts;
        for (item, part) in parts {
            let worn = part.life.as_ref().is_some_and(|life| !life.is_left(on));
            if part.is_fitted() && worn {
                let what =
                    format!("{item} is fitted and its life is used up or not known");
                state.blocks.push(Block { rule: RuleKey::Life, what, citation: None });
            }
        }
        for item in self.items.names().filter(|item| self.is_off(item)) {
            state.off += 1;
            let untold = parts.get(item).is_none_or(|part| {
                part.whereabouts == super::Whereabouts::Untold || part.tag.is_none()
            });
            if untold {
                let what = format!("{item} is off, and nobody has said where it is");
                state.blocks.push(Block {
                    rule: RuleKey::GateCounts,
                    what,
                    citation: None,
                });
            }
        }
    }

    fn tools_at_gate(&self, state: &mut GateState) {
        for (tool, who, job) in self.shop.tools.out() {
            state.tools_out += 1;
            let what = format!("{who} has {tool} for {job}");
            state.blocks.push(Block { rule: RuleKey::ToolControl, what, citation: None });
        }
        for (tool, seen) in self.shop.tools.lost() {
            let what = format!("{tool} is lost, last seen {seen}");
            state.blocks.push(Block { rule: RuleKey::ToolControl, what, citation: None });
        }
    }

    /// A card that is begun and not complete blocks if anything on it is critical.
    fn cards_at(&self, state: &mut GateState) {
        let cards = &self.shop.cards;
        let open = cards.open.iter().filter_map(|job| Some((job, cards.cards.get(job)?)));
        for (job, card) in open {
            state.cards_open += 1;
            let critical = |step: &&super::StepState| {
                (step.spec.critical || step.spec.independent) && !step.is_complete()
            };
            if let Some(step) = card.steps.iter().find(critical) {
                let lacks = step.lacks().unwrap_or("nothing");
                let what = format!(
                    "{job} is begun, and its critical step {} lacks {lacks}",
                    step.spec.id
                );
                state.blocks.push(Block {
                    rule: RuleKey::Completion,
                    what,
                    citation: None,
                });
            }
        }
    }
}

impl Judge<'_> {
    pub(super) fn evidence(&mut self, act: &Evidence) {
        let Evidence { requirement, kind, reference, shows, until } = act;
        self.power(Power::Certify, None);
        self.all_stated(&[("reference", reference), ("shows", shows)]);
        if let Some(until) = until {
            self.not_over("until", *until, RuleKey::GateEvidence);
        }
        self.hold(
            !self.programme.is_discarded(reference),
            RuleKey::GateEvidence,
            || format!("{reference} was discarded and shows nothing any more"),
            "give what is still kept",
        );
        let list = &self.programme.requirements;
        let asks = self.known(list, requirement).and_then(|r| r.kind);
        if let Some(asks) = asks {
            self.hold(
                asks == *kind,
                RuleKey::GateEvidence,
                || {
                    format!(
                        "{requirement} asks for a {}, not a {}",
                        asks.word(),
                        kind.word()
                    )
                },
                "give the kind that is asked for",
            );
        }
        if *kind == EvidenceKind::Report
            && let Some(lacks) = self.programme.report_lacks(reference)
        {
            let what = format!("{requirement} is not shown by it: {lacks}");
            let hint = "examine again, or have engineering rule on the finding first";
            self.refuse(RuleKey::GateEvidence, what, hint);
        }
        if *kind == EvidenceKind::Card {
            self.complete_card(&JobKey(reference.clone()), RuleKey::GateEvidence);
        }
    }

    pub(super) fn open_gate(&mut self, act: &OpenGate) {
        let OpenGate { gate, limitations, until } = act;
        self.power(Power::Release, None);
        if let Some(until) = until {
            self.not_over("until", *until, RuleKey::Stated);
        }
        let gates = &self.programme.gates;
        let Some(gate) = self.known(gates, gate) else { return };
        let state = self.programme.gate_state(gate, self.today());
        for block in &state.blocks {
            let hint = match block.rule {
                RuleKey::GateEvidence => "give the evidence first",
                RuleKey::GateHazard | RuleKey::Unknown => {
                    "class it, clear it or carry it forward"
                }
                _ => "deal with it first",
            };
            self.refuse(block.rule, block.what.clone(), hint);
        }
        for needed in &state.limitations {
            self.hold(
                limitations.iter().any(|said| said.trim() == needed.trim()),
                RuleKey::GateLimitation,
                || format!("the release does not name the limitation: {needed}"),
                "name it, word by word",
            );
        }
        self.gates_before(gate);
    }

    /// A gate opens after those before it.
    fn gates_before(&mut self, gate: &Gate) {
        let today = self.today();
        let before = self.programme.gates.iter().filter(|g| g.order < gate.order);
        let shut: Vec<&Gate> = before
            .filter(|before| {
                let asks =
                    self.programme.requirements.iter().any(|r| r.gate == before.id);
                asks && !self.programme.gate_state(before, today).open
            })
            .collect();
        for before in shut {
            let what = format!("{} comes before {} and is not open", before.id, gate.id);
            self.refuse(RuleKey::GateOrder, what, "open it first");
        }
    }

    pub(super) fn shut_gate(&mut self, act: &ShutGate) {
        self.stated("reason", &act.reason);
        if self.gate(&act.gate).is_none() {
            return;
        }
        let opening = self.shop().gates.openings.get(&act.gate);
        self.hold(
            opening.is_some_and(|opening| opening.shut.is_none()),
            RuleKey::Known,
            || format!("{} is not open", act.gate),
            "nothing needs to be shut",
        );
    }
}

/// Shuts the gates that an act makes unsafe to pass.
pub(super) fn shut_by(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let gates = &programme.shop.gates.openings;
    if gates.values().all(|opening| opening.shut.is_some()) {
        return;
    }
    let Some(why) = why_shut(programme, act) else { return };
    let keeps = keeps_open(programme, act);
    let order = |gate: &GateId| programme.gates.get(gate).map_or(u32::MAX, |g| g.order);
    let shut: Vec<GateId> = gates
        .keys()
        .filter(|gate| keeps.is_none_or(|most| order(gate) > most))
        .cloned()
        .collect();
    let gates = Arc::make_mut(&mut programme.shop.gates);
    for gate in shut {
        let opening = gates.openings.get_mut(&gate);
        if let Some(opening) = opening.filter(|opening| opening.shut.is_none()) {
            opening.shut = Some((why.clone(), Mark::of(stamp)));
        }
    }
}

/// Why an act shuts gates; nothing if it does not.
fn why_shut(programme: &Programme, act: &Act) -> Option<String> {
    Some(match act {
        Act::Raise(act) => format!("{} was raised: {}", act.finding, act.what),
        Act::ReportNdt(act) => {
            format!("{} was raised by {}", act.finding.as_ref()?, act.report)
        }
        Act::Rob(act) => format!("{} was raised on {}", act.finding, act.lacking),
        Act::Temporary(act) => format!("{} asks for a lasting repair", act.follow_up),
        Act::Revive(act) => format!("{} is open again: {}", act.finding, act.reason),
        Act::Classify(act) => {
            format!("{} was classed as {}", act.finding, act.condition.word())
        }
        Act::Disturb(act) => format!("{} was disturbed: {}", act.job, act.reason),
        Act::Reopen(act) => format!("{} was opened again: {}", act.job, act.reason),
        Act::Tag(act) => format!("{} came off", act.item),
        Act::ToolOut(act) => format!("{} was taken out for {}", act.tool, act.job),
        Act::LoseTool(act) => format!("{} is lost", act.tool),
        Act::Strike(act) => {
            programme.shop.strikes.places.get(&act.entry)?;
            format!("entry {} was struck through: {}", act.entry, act.reason)
        }
        _ => return None,
    })
}

/// The order of the highest gate that an act leaves as it is.
fn keeps_open(programme: &Programme, act: &Act) -> Option<u32> {
    match act {
        Act::Classify(act) => {
            let gate = programme.gates.get(act.allows.as_ref()?)?;
            Some(gate.order)
        }
        _ => None,
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let mark = Mark::of(stamp);
    let gates = &mut programme.shop.gates;
    match act {
        Act::Evidence(act) => {
            let proof = Proof { evidence: act.clone(), mark, struck: false };
            let proofs = &mut Arc::make_mut(gates).proofs;
            proofs.entry(act.requirement.clone()).or_default().push(proof);
        }
        Act::OpenGate(act) => {
            let opening = Opening {
                mark,
                limitations: act.limitations.clone(),
                until: act.until,
                shut: None,
            };
            Arc::make_mut(gates).openings.insert(act.gate.clone(), opening);
        }
        Act::ShutGate(act) => {
            let opening = Arc::make_mut(gates).openings.get_mut(&act.gate);
            if let Some(opening) = opening {
                opening.shut = Some((act.reason.clone(), mark));
            }
        }
        _ => {}
    }
}
