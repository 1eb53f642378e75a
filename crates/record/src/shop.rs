//! The shop: what the acts of the record come to.
//!
//! One module for each area: its state, what each of its acts asks for, and what the act
//! changes. [`Programme::judge`] names every rule that an act would break;
//! [`Programme::perform`] folds an act that was kept. Nothing else changes the shop, and
//! nothing in it is ever taken away: what no longer counts stays beside what took its place.

mod air;
mod authorities;
mod cards;
mod cautions;
mod examinations;
mod findings;
mod gates;
mod inspections;
mod issuing;
mod judge;
mod keeping;
mod kept;
mod office;
mod parts;
mod plans;
mod repairs;
mod restating;
mod retention;
mod stores;
mod strikes;
mod tools;
mod travel;
mod working;

pub use air::{AirState, Airs};
pub use authorities::{Authorities, Given, Key};
pub use cards::{Card, Cards, Look, Mark, Offer, Session, Signed, Stated, StepState};
pub use examinations::{Answered, Examinations, Report};
pub use findings::{Class, Deferral, FindingState, Findings};
pub use gates::{Block, GateState, Gates, Opening, Proof};
pub use office::{DutyState, Office, SampleState};
pub use parts::{Custody, LifeState, Part, Parts, Whereabouts};
pub use plans::{Adopted, Plans};
pub use repairs::Repairs;
pub use retention::{Mention, Records};
pub use stores::{BatchState, StoreTaskState, Stores};
pub use strikes::{Place as StruckPlace, Rebuilt, Strikes, Struck};
pub use tools::{ToolState, Tools};

use std::sync::Arc;

use jiff::civil::DateTime;

use crate::act::{Act, Stamp};
use crate::{Basis, Programme, Refusal};
use judge::Judge;
pub(crate) use kept::lost;

/// What the acts so far come to, area by area. Cheap to clone; a clone is a snapshot.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Shop {
    /// Authorities, given and taken.
    pub authorities: Arc<Authorities>,
    /// Job cards.
    pub cards: Arc<Cards>,
    /// What acts say of findings.
    pub findings: Arc<Findings>,
    /// Examinations and their reports.
    pub examinations: Arc<Examinations>,
    /// Parts that came off, or were dealt with otherwise.
    pub parts: Arc<Parts>,
    /// Batches of material.
    pub stores: Arc<Stores>,
    /// Tools.
    pub tools: Arc<Tools>,
    /// Readings of the air.
    pub air: Arc<Airs>,
    /// Gates and evidence.
    pub gates: Arc<Gates>,
    /// Letters, directives, modifications, origins, samples, duties, money.
    pub office: Arc<Office>,
    /// Plans that were adopted.
    pub plans: Arc<Plans>,
    /// Repairs, materials in place of others, parts made in-house.
    pub repairs: Arc<Repairs>,
    /// Copies that are no longer kept.
    pub records: Arc<Records>,
    /// Entries that were struck through, and records that were rebuilt.
    pub strikes: Arc<Strikes>,
    /// When the last act was done.
    pub last: Option<DateTime>,
}

impl Programme {
    /// Whether an act may be done: every rule that it would break, each once for each
    /// reason.
    ///
    /// # Errors
    /// The refusals. A rule that the programme's profile has put off refuses nothing.
    pub fn judge(&self, act: &Act, stamp: &Stamp) -> Result<(), Vec<Refusal>> {
        let mut judge = Judge::new(self, stamp);
        if !matches!(act, Act::RightClock(_)) {
            judge.clock();
        }
        if judge.signer(act) {
            judge.act(act);
        }
        let mut refusals = judge.refusals;
        refusals.retain(|refusal| {
            let off = |rule: &crate::Rule| rule.basis == Basis::Off;
            !(refusal.rule.may_be_off() && self.rules.get(&refusal.rule).is_some_and(off))
        });
        if refusals.is_empty() { Ok(()) } else { Err(refusals) }
    }

    /// Folds an act into the shop. Acts that were kept are folded whatever the rules say
    /// today.
    pub fn perform(&mut self, act: &Act, stamp: &Stamp) {
        let shop = &mut self.shop;
        let late = shop.last.is_none_or(|last| last < stamp.at);
        if late || matches!(act, Act::RightClock(_)) {
            shop.last = Some(stamp.at);
        }
        gates::shut_by(self, act, stamp);
        authorities::perform(self, act, stamp);
        cards::perform(self, act, stamp);
        examinations::perform(self, act, stamp);
        findings::perform(self, act, stamp);
        parts::perform(self, act, stamp);
        stores::perform(self, act, stamp);
        tools::perform(self, act, stamp);
        air::perform(self, act, stamp);
        gates::perform(self, act, stamp);
        office::perform(self, act, stamp);
        plans::perform(self, act, stamp);
        repairs::perform(self, act, stamp);
        retention::perform(self, act, stamp);
        strikes::perform(self, act, stamp);
    }
}

impl Judge<'_> {
    /// Holds an act against the rules of its area.
    #[expect(clippy::too_many_lines, reason = "it has a line for each act")]
    fn act(&mut self, act: &Act) {
        match act {
            Act::Grant(act) => self.grant(act),
            Act::Withdraw(act) => self.withdraw(act),
            Act::Enrol(act) => self.enrol(act),
            Act::IssueCard(act) => self.issue_card(act),
            Act::AddStep(act) => self.add_step(act),
            Act::Start(act) => self.start(act),
            Act::Pause(act) => self.pause(act),
            Act::HandOver(act) => self.hand_over(act),
            Act::TakeOver(act) => self.take_over(act),
            Act::SignStep(act) => self.sign_step(act),
            Act::Countersign(act) => self.countersign(act),
            Act::Inspect(act) => self.inspect(act),
            Act::Disturb(act) => self.disturb(act),
            Act::Query(act) => self.query(act),
            Act::Answer(act) => self.answer(act),
            Act::Hours(act) => self.hours(act),
            Act::Finish(act) => self.finish(act),
            Act::Reopen(act) => self.reopen(act),
            Act::Raise(act) => self.raise(act),
            Act::Classify(act) => self.classify(act),
            Act::Defer(act) => self.defer(act),
            Act::Temporary(act) => self.temporary(act),
            Act::AlsoChecked(act) => self.also_checked(act),
            Act::Clear(act) => self.clear(act),
            Act::Revive(act) => self.revive(act),
            Act::RequestNdt(act) => self.request_ndt(act),
            Act::ReportNdt(act) => self.report_ndt(act),
            Act::Repair(act) => self.repair(act),
            Act::Substitute(act) => self.substitute(act),
            Act::Make(act) => self.make(act),
            Act::Assign(act) => self.assign(act),
            Act::Adopt(act) => self.adopt(act),
            Act::Tag(act) => self.tag(act),
            Act::Move(act) => self.move_part(act),
            Act::ClassPart(act) => self.class_part(act),
            Act::Despatch(act) => self.despatch(act),
            Act::Chase(act) => self.chase(act),
            Act::Receive(act) => self.receive(act),
            Act::Accept(act) => self.accept(act),
            Act::Quarantine(act) => self.quarantine(act),
            Act::Release(act) => self.release(act),
            Act::Scrap(act) => self.scrap(act),
            Act::Rob(act) => self.rob(act),
            Act::Life(act) => self.life(act),
            Act::Use(act) => self.use_life(act),
            Act::Fit(act) => self.fit(act),
            Act::Batch(act) => self.batch(act),
            Act::Draw(act) => self.draw(act),
            Act::StoreTask(act) => self.store_task(act),
            Act::StoreDone(act) => self.store_done(act),
            Act::Calibrate(act) => self.calibrate(act),
            Act::ToolOut(act) => self.tool_out(act),
            Act::ToolIn(act) => self.tool_in(act),
            Act::LoseTool(act) => self.lose_tool(act),
            Act::FindTool(act) => self.find_tool(act),
            Act::ClearTool(act) => self.clear_tool(act),
            Act::AirReading(act) => self.air_reading(act),
            Act::Evidence(act) => self.evidence(act),
            Act::OpenGate(act) => self.open_gate(act),
            Act::ShutGate(act) => self.shut_gate(act),
            Act::Letter(act) => self.letter(act),
            Act::Directive(act) => self.directive(act),
            Act::Modification(act) => self.modification(act),
            Act::Provenance(act) => self.provenance(act),
            Act::Sample(act) => self.sample(act),
            Act::Sampled(act) => self.sampled(act),
            Act::Duty(act) => self.duty(act),
            Act::DutyDone(act) => self.duty_done(act),
            Act::Total(act) => self.total(act),
            Act::Spend(act) => self.spend(act),
            Act::Discard(act) => self.discard(act),
            Act::Strike(act) => self.strike(act),
            Act::RightClock(act) => self.right_clock(act),
            Act::Reconstruct(act) => self.reconstruct(act),
        }
    }
}
