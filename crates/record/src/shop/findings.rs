//! Findings through their life: raised, classed, carried forward, cleared, opened again.
//!
//! A finding of the survey stands in the programme's list; what is signed about it stands
//! here. Until somebody entitled to has classed it, nobody knows how bad it is, whatever
//! the list says.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use airframe::{ItemId, ZoneId};
use jiff::civil::Date;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{
    Act, AlsoChecked, Assign, Classify, Clear, Defer, Power, Raise, Revive, Spot, Stamp,
    Temporary,
};
use crate::{
    Condition, FindingId, GateId, JobKey, PackId, Programme, RouteId, RuleKey, SeasonId,
};

/// What acts say of findings.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Findings {
    /// By name.
    pub states: BTreeMap<FindingId, FindingState>,
}

/// What acts say of a finding.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct FindingState {
    /// As it was raised; nothing for a finding of the survey.
    pub raised: Option<(Raise, Mark)>,
    /// How bad it is, once somebody entitled to has said so.
    pub class: Option<Class>,
    /// The pack and the route by which it is put right, if somebody said so since the survey.
    pub work: Option<(PackId, RouteId)>,
    /// That it is carried forward.
    pub deferred: Option<Deferral>,
    /// The temporary repair of another finding that this one asks to be made good.
    pub follows: Option<FindingId>,
    /// By when that is due.
    pub due: Option<Date>,
    /// Places that are still to be looked at.
    pub also: BTreeSet<ItemId>,
    /// By whom and when it was cleared, and why.
    pub cleared: Option<(Mark, String)>,
    /// The card on which it was put right; nothing if it was accepted as it is.
    pub mended: Option<JobKey>,
}

/// How bad a finding is.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Class {
    /// The condition.
    pub condition: Condition,
    /// The highest gate that the aircraft may pass with it.
    pub allows: Option<GateId>,
    /// The limit that this rests on.
    pub basis: String,
    /// What it could lead to.
    pub effect: Option<String>,
    /// By whom and when.
    pub mark: Mark,
}

/// That a finding is carried forward.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Deferral {
    /// The highest gate meanwhile.
    pub allows: GateId,
    /// The limitation.
    pub limitation: String,
    /// The season by the end of which it is dealt with.
    pub until: SeasonId,
    /// By whom and when.
    pub mark: Mark,
}

impl FindingState {
    /// Whether it is dealt with.
    pub fn is_cleared(&self) -> bool {
        self.cleared.is_some()
    }

    /// How bad it is, as far as anybody entitled has said.
    pub fn condition(&self) -> Condition {
        self.class.as_ref().map_or(Condition::Unknown, |class| class.condition)
    }
}

impl Programme {
    /// Whether there is a finding of a name, from the survey or raised since.
    pub fn has_finding(&self, finding: &FindingId) -> bool {
        self.findings.has(finding) || self.shop.findings.states.contains_key(finding)
    }

    /// The item of a finding.
    pub fn item_of_finding(&self, finding: &FindingId) -> Option<&ItemId> {
        let raised =
            self.shop.findings.states.get(finding).and_then(|s| s.raised.as_ref());
        let raised = raised.map(|(raise, _)| &raise.item);
        raised.or_else(|| self.findings.get(finding).map(|finding| &finding.item))
    }

    /// The zone of a finding, its own or its item's.
    pub fn zone_of_finding(&self, finding: &FindingId) -> Option<&ZoneId> {
        let states = &self.shop.findings.states;
        let raised = states.get(finding).and_then(|state| state.raised.as_ref());
        let own = match raised {
            Some((raise, _)) => raise.zone.as_ref(),
            None => self.findings.get(finding).and_then(|finding| finding.zone.as_ref()),
        };
        own.or_else(|| {
            let item = self.items.get(self.item_of_finding(finding)?)?;
            item.zone.as_ref()
        })
    }

    /// The pack in which a finding is worked on, and by which route: as it was assigned, or
    /// else as the survey's list has it.
    pub fn work_of_finding(
        &self,
        finding: &FindingId,
    ) -> (Option<&PackId>, Option<&RouteId>) {
        let states = &self.shop.findings.states;
        let assigned = states.get(finding).and_then(|state| state.work.as_ref());
        if let Some((pack, route)) = assigned {
            return (Some(pack), Some(route));
        }
        let Some(listed) = self.findings.get(finding) else { return (None, None) };
        let decided = listed.disposition.as_ref();
        (listed.pack.as_ref(), decided.and_then(|decided| decided.route.as_ref()))
    }

    /// The day on which a finding was found.
    pub fn day_of_finding(&self, finding: &FindingId) -> Option<Date> {
        let states = &self.shop.findings.states;
        let raised = states.get(finding).and_then(|state| state.raised.as_ref());
        raised
            .map(|(raise, _)| raise.found)
            .or_else(|| self.findings.get(finding).and_then(|finding| finding.found))
    }

    /// The names of all findings that are not cleared, of the survey and since.
    pub fn open_findings(&self) -> BTreeSet<&FindingId> {
        let states = &self.shop.findings.states;
        let open = |id: &&FindingId| states.get(*id).is_none_or(|s| !s.is_cleared());
        self.findings.names().chain(states.keys()).filter(open).collect()
    }
}

impl Judge<'_> {
    /// What is signed about a finding that is not cleared; nothing if it is cleared or not
    /// there.
    fn open_finding(&mut self, finding: &FindingId) -> Option<FindingState> {
        if !self.finding(finding) {
            return None;
        }
        let state = self.shop().findings.states.get(finding);
        if let Some((mark, _)) = state.and_then(|state| state.cleared.as_ref()) {
            let what = format!("{finding} was cleared by {} at {}", mark.by, mark.at);
            self.refuse(RuleKey::Known, what, "open it again first, with the reason");
            return None;
        }
        Some(state.cloned().unwrap_or_default())
    }

    pub(super) fn raise(&mut self, act: &Raise) {
        let Raise { finding, item, zone, what, found, job, also, mark, .. } = act;
        self.new_finding(finding);
        self.item(item);
        if let Some(zone) = zone {
            let list = &self.programme.zones;
            self.known(list, zone);
        }
        self.stated("what", what);
        self.past("found", *found, RuleKey::FoundDate);
        if let Some(job) = job {
            self.card(job);
        }
        for item in also {
            self.item(item);
        }
        if let Some(mark) = mark {
            self.drawn(mark);
        }
    }

    /// A mark lies on a drawing that there is, so that it is shown.
    fn drawn(&mut self, mark: &Spot) {
        let view = mark.view.word();
        let Some((least, most)) = self.programme.extent(mark.view) else {
            let what =
                format!("`mark` is on the {view} view, of which there is no drawing");
            self.refuse(RuleKey::Known, what, "leave it out, and name the zone");
            return;
        };
        let inside =
            (least.x..=most.x).contains(&mark.x) && (least.y..=most.y).contains(&mark.y);
        self.hold(
            inside,
            RuleKey::Known,
            || {
                format!(
                    "`mark` is outside the {view} view, which reaches from {} {} to {} {}",
                    least.x, least.y, most.x, most.y
                )
            },
            "set it on the drawing",
        );
    }

    pub(super) fn classify(&mut self, act: &Classify) {
        let Classify { finding, condition, allows, basis, effect: _ } = act;
        if self.open_finding(finding).is_none() {
            return;
        }
        self.classifier(finding);
        self.hold(
            !basis.trim().is_empty(),
            RuleKey::Classification,
            || format!("no limit is stated for {finding}"),
            "name the limit and its source; if there is none, say which engineer was asked",
        );
        let Some(gate) = allows else { return };
        self.gate(gate);
        let rule = match condition {
            Condition::Hazard => RuleKey::GateHazard,
            Condition::Unknown => RuleKey::Unknown,
            Condition::OutsideLimits | Condition::WithinLimits => return,
        };
        let what = format!("{finding} is {} and would allow {gate}", condition.word());
        self.refuse(rule, what, "it allows no gate");
    }

    pub(super) fn assign(&mut self, act: &Assign) {
        let Assign { finding, pack, route, reason } = act;
        if self.open_finding(finding).is_none() {
            return;
        }
        let item = self.programme.item_of_finding(finding);
        self.power(Power::Plan, item);
        let (packs, routes) = (&self.programme.packs, &self.programme.routes);
        self.known(packs, pack);
        self.known(routes, route);
        self.stated("reason", reason);
        self.begun(finding, route);
    }

    /// A chain on which somebody has worked is not exchanged for another: its cards would
    /// hang in the air.
    fn begun(&mut self, finding: &FindingId, route: &RouteId) {
        let (_, before) = self.programme.work_of_finding(finding);
        if before.is_none_or(|before| before == route) {
            return;
        }
        let prefix = format!("{finding}:");
        let mut cards = self.shop().cards.cards.keys();
        if let Some(card) = cards.find(|job| job.0.starts_with(&prefix)) {
            let what = format!("the card {card} belongs to the route that it has");
            let hint = "add steps to that card, or raise another finding for the rest";
            self.refuse(RuleKey::Known, what, hint);
        }
    }

    fn classifier(&mut self, finding: &FindingId) {
        let item = self.programme.item_of_finding(finding);
        self.power(Power::Classify, item);
    }

    pub(super) fn defer(&mut self, act: &Defer) {
        let Defer { finding, allows, limitation, until, reason } = act;
        let Some(state) = self.open_finding(finding) else { return };
        self.classifier(finding);
        self.all_stated(&[("limitation", limitation), ("reason", reason)]);
        if self.season(until) {
            let season = self.programme.seasons.get(until);
            let end = season.map_or_else(|| self.today(), |season| season.until);
            self.not_over("until", end, RuleKey::Deferral);
        }
        let order = self.gate(allows);
        let Some(class) =
            state.class.as_ref().filter(|class| class.condition != Condition::Unknown)
        else {
            let what = format!("nobody has said how bad {finding} is");
            self.refuse(RuleKey::Unknown, what, "class it first");
            return;
        };
        self.hold(
            class.condition != Condition::Hazard,
            RuleKey::Deferral,
            || format!("{finding} is a hazard"),
            "put it right; it can't wait",
        );
        let most = class.allows.as_ref().and_then(|gate| self.programme.gates.get(gate));
        let most = most.map_or(0, |gate| gate.order + 1);
        self.hold(
            order.is_none_or(|order| order < most),
            RuleKey::Deferral,
            || format!("{finding} was classed not to allow {allows}"),
            "class it anew first, on a limit that allows it",
        );
    }

    pub(super) fn temporary(&mut self, act: &Temporary) {
        let Temporary { finding, job, what, follow_up, due } = act;
        if self.open_finding(finding).is_none() {
            return;
        }
        self.classifier(finding);
        self.stated("what", what);
        self.new_finding(follow_up);
        self.complete_card(job, RuleKey::Restored);
        if let Some(due) = due {
            self.not_over("due", *due, RuleKey::TemporaryRepair);
        }
    }

    pub(super) fn also_checked(&mut self, act: &AlsoChecked) {
        let AlsoChecked { finding, item, result, raised } = act;
        self.stated("result", result);
        if let Some(raised) = raised {
            self.finding(raised);
        }
        let Some(state) = self.open_finding(finding) else { return };
        self.hold(
            state.also.contains(item),
            RuleKey::Known,
            || format!("{finding} does not ask to look at {item}, or that was done"),
            "raise what was seen there as a finding of its own",
        );
    }

    pub(super) fn clear(&mut self, act: &Clear) {
        let Clear { finding, job, statement } = act;
        let Some(state) = self.open_finding(finding) else { return };
        self.classifier(finding);
        self.hold(
            !statement.trim().is_empty(),
            RuleKey::Restored,
            || format!("it is not said why {finding} is put right"),
            "say by which data the item is at least equal to its original condition",
        );
        let condition = state.condition();
        self.hold(
            condition != Condition::Unknown,
            RuleKey::Unknown,
            || format!("nobody has said how bad {finding} is"),
            "class it first",
        );
        match job {
            Some(job) => self.complete_card(job, RuleKey::Restored),
            None => {
                self.hold(
                    matches!(condition, Condition::WithinLimits | Condition::Unknown),
                    RuleKey::Restored,
                    || {
                        format!(
                            "{finding} is {} and no card put it right",
                            condition.word()
                        )
                    },
                    "name the card; only what is within limits is accepted as it is",
                );
            }
        }
        for item in &state.also {
            let what = format!("{item} was not looked at for the same as {finding}");
            self.refuse(RuleKey::AlsoCheck, what, "look at it, and record what was seen");
        }
    }

    pub(super) fn revive(&mut self, act: &Revive) {
        self.stated("reason", &act.reason);
        if !self.finding(&act.finding) {
            return;
        }
        let state = self.shop().findings.states.get(&act.finding);
        self.hold(
            state.is_some_and(FindingState::is_cleared),
            RuleKey::Known,
            || format!("{} is open", act.finding),
            "class it anew if it is worse than was thought",
        );
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let mark = Mark::of(stamp);
    match act {
        Act::Raise(act) => on(programme, &act.finding, |state| {
            state.raised = Some((act.clone(), mark.clone()));
            state.also = act.also.iter().cloned().collect();
        }),
        Act::Classify(act) => on(programme, &act.finding, |state| {
            let Classify { finding: _, condition, allows, basis, effect } = act.clone();
            let mark = mark.clone();
            state.class = Some(Class { condition, allows, basis, effect, mark });
            state.deferred = None;
        }),
        Act::Defer(act) => on(programme, &act.finding, |state| {
            let Defer { finding: _, allows, limitation, until, reason: _ } = act.clone();
            let mark = mark.clone();
            state.deferred = Some(Deferral { allows, limitation, until, mark });
        }),
        Act::Temporary(act) => {
            let item = programme.item_of_finding(&act.finding).cloned();
            let why = format!("temporary repair: {}", act.what);
            on(programme, &act.finding, |state| {
                state.cleared = Some((mark.clone(), why.clone()));
                state.mended = Some(act.job.clone());
            });
            on(programme, &act.follow_up, |state| {
                state.follows = Some(act.finding.clone());
                state.due = act.due;
                state.raised =
                    item.clone().map(|item| (follow_up(act, item, stamp), mark.clone()));
            });
        }
        Act::AlsoChecked(act) => on(programme, &act.finding, |state| {
            state.also.remove(&act.item);
        }),
        Act::Clear(act) => on(programme, &act.finding, |state| {
            state.cleared = Some((mark.clone(), act.statement.clone()));
            state.mended.clone_from(&act.job);
        }),
        Act::Assign(act) => on(programme, &act.finding, |state| {
            state.work = Some((act.pack.clone(), act.route.clone()));
        }),
        Act::Revive(act) => on(programme, &act.finding, |state| {
            state.cleared = None;
            state.mended = None;
            // What was known of it turned out to be wrong.
            state.class = None;
            state.deferred = None;
        }),
        Act::ReportNdt(act) => {
            let Some(raise) = super::examinations::raised(programme, act) else { return };
            let finding = raise.finding.clone();
            on(programme, &finding, |state| state.raised = Some((raise, mark.clone())));
        }
        Act::Rob(act) => on(programme, &act.finding, |state| {
            state.raised = Some((lacking(act, stamp), mark.clone()));
        }),
        _ => {}
    }
}

/// Changes what is said of a finding.
fn on(
    programme: &mut Programme,
    finding: &FindingId,
    change: impl FnOnce(&mut FindingState),
) {
    let states = &mut Arc::make_mut(&mut programme.shop.findings).states;
    change(states.entry(finding.clone()).or_default());
}

/// The finding that asks for the lasting repair.
fn follow_up(act: &Temporary, item: ItemId, stamp: &Stamp) -> Raise {
    Raise {
        finding: act.follow_up.clone(),
        item,
        zone: None,
        what: format!("temporary repair to be made good: {}", act.what),
        measured: None,
        found: stamp.at.date(),
        cause: None,
        job: Some(act.job.clone()),
        also: Vec::new(),
        photographs: Vec::new(),
        mark: None,
    }
}

/// The finding that tells a donor what it lacks.
fn lacking(act: &crate::act::Rob, stamp: &Stamp) -> Raise {
    Raise {
        finding: act.finding.clone(),
        item: act.lacking.clone(),
        zone: None,
        what: format!("{} was taken for {}", act.item, act.recipient),
        measured: None,
        found: stamp.at.date(),
        cause: Some(act.reason.clone()),
        job: None,
        also: Vec::new(),
        photographs: Vec::new(),
        mark: None,
    }
}
