//! Tools: out and in, lost and found, calibrated or not.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{
    Act, Calibrate, ClearTool, FindTool, LoseTool, Power, Stamp, ToolIn, ToolOut,
};
use crate::{JobKey, PersonId, Programme, RuleKey, ToolId};

/// Tools with which something was done.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Tools {
    /// By name.
    pub states: BTreeMap<ToolId, ToolState>,
}

/// What acts say of a tool.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct ToolState {
    /// The last day on which it may be used for measuring.
    pub calibrated: Option<Date>,
    /// From which day until which it could be trusted, time after time.
    pub trusted: Vec<(Date, Date)>,
    /// Who has it, for which card, and since when.
    pub out: Option<(PersonId, JobKey, Mark)>,
    /// Where it was last seen, if it is lost.
    pub lost: Option<(String, Mark)>,
    /// By what search, and by whom, its loss was cleared.
    pub cleared: Option<(String, Mark)>,
}

impl ToolState {
    /// Whether it could be trusted on a day, which may be past.
    pub fn was_calibrated(&self, on: Date) -> bool {
        self.trusted.iter().any(|(from, until)| *from <= on && on <= *until)
    }

    /// From the day after on it can't be trusted any more.
    fn trusted_until(&mut self, day: Date) {
        for (_, until) in &mut self.trusted {
            *until = (*until).min(day);
        }
    }
}

impl Tools {
    /// The tools that are out for a card.
    pub fn out_for(&self, job: &JobKey) -> Vec<ToolId> {
        let out = |(tool, state): (&ToolId, &ToolState)| {
            let here = state.out.as_ref().is_some_and(|(_, card, _)| card == job);
            here.then(|| tool.clone())
        };
        self.states.iter().filter_map(out).collect()
    }

    /// All that are out.
    pub fn out(&self) -> impl Iterator<Item = (&ToolId, &PersonId, &JobKey)> {
        self.states
            .iter()
            .filter_map(|(tool, s)| s.out.as_ref().map(|(who, job, _)| (tool, who, job)))
    }

    /// All that are lost and not cleared.
    pub fn lost(&self) -> impl Iterator<Item = (&ToolId, &str)> {
        self.states.iter().filter_map(|(tool, s)| {
            s.lost.as_ref().map(|(seen, _)| (tool, seen.as_str()))
        })
    }
}

impl Judge<'_> {
    /// What acts say of a tool; nothing if there is no such tool.
    fn tool(&mut self, tool: &ToolId) -> Option<ToolState> {
        let list = &self.programme.tools;
        self.known(list, tool)?;
        Some(self.shop().tools.states.get(tool).cloned().unwrap_or_default())
    }

    fn not_lost(&mut self, tool: &ToolId, state: &ToolState) {
        if let Some((seen, _)) = &state.lost {
            let what = format!("{tool} is lost, last seen {seen}");
            self.refuse(
                RuleKey::ToolControl,
                what,
                "say first that it was found, and where",
            );
        }
    }

    /// An instrument whose calibration has not run out.
    pub(super) fn instrument(&mut self, tool: &ToolId) {
        let Some(state) = self.tool(tool) else { return };
        self.not_lost(tool, &state);
        let measures = self.programme.tools.get(tool).is_some_and(|tool| tool.measures);
        self.hold(
            measures,
            RuleKey::Calibration,
            || format!("{tool} is no instrument"),
            "name the instrument; or say in the list of tools that it measures",
        );
        let today = self.today();
        match state.calibrated {
            None if measures => {
                let what = format!("nobody knows when {tool} was calibrated");
                self.refuse(
                    RuleKey::Calibration,
                    what,
                    "use one that is, or have it calibrated",
                );
            }
            Some(until) if until < today => {
                let what = format!("the calibration of {tool} ran out on {until}");
                self.refuse(
                    RuleKey::Calibration,
                    what,
                    "use one that is, or have it calibrated",
                );
            }
            _ => {}
        }
    }

    /// An instrument that was calibrated on a day that may be past.
    pub(super) fn instrument_on(&mut self, tool: &ToolId, on: Date) {
        let Some(state) = self.tool(tool) else { return };
        self.hold(
            state.was_calibrated(on),
            RuleKey::Calibration,
            || format!("{tool} was not calibrated on {on}, or nobody recorded it"),
            "what it measured then is measured again",
        );
    }

    pub(super) fn calibrate(&mut self, act: &Calibrate) {
        let Calibrate { tool, until, certificate } = act;
        self.power(Power::Stores, None);
        self.tool(tool);
        self.not_over("until", *until, RuleKey::Calibration);
        self.stated("certificate", certificate);
    }

    pub(super) fn tool_out(&mut self, act: &ToolOut) {
        let ToolOut { tool, job, person } = act;
        self.open_card(job);
        if let Some(person) = person {
            self.person(person);
        }
        let Some(state) = self.tool(tool) else { return };
        self.not_lost(tool, &state);
        if let Some((who, card, _)) = &state.out {
            let what = format!("{who} has {tool} for {card}");
            self.refuse(RuleKey::ToolControl, what, "they bring it back first");
        }
    }

    pub(super) fn tool_in(&mut self, act: &ToolIn) {
        let Some(state) = self.tool(&act.tool) else { return };
        self.not_lost(&act.tool, &state);
        self.hold(
            state.out.is_some(),
            RuleKey::ToolControl,
            || format!("{} is not out", act.tool),
            "count again: it is in its place by the record",
        );
    }

    pub(super) fn lose_tool(&mut self, act: &LoseTool) {
        self.stated("last_seen", &act.last_seen);
        let Some(state) = self.tool(&act.tool) else { return };
        self.hold(
            state.lost.is_none(),
            RuleKey::Known,
            || format!("{} is reported lost", act.tool),
            "search on",
        );
    }

    pub(super) fn find_tool(&mut self, act: &FindTool) {
        self.stated("place", &act.place);
        self.is_lost(&act.tool);
    }

    fn is_lost(&mut self, tool: &ToolId) {
        let Some(state) = self.tool(tool) else { return };
        self.hold(
            state.lost.is_some(),
            RuleKey::Known,
            || format!("{tool} is not lost"),
            "nothing needs to be done",
        );
    }

    pub(super) fn clear_tool(&mut self, act: &ClearTool) {
        let ClearTool { tool, search, reason } = act;
        self.power(Power::Release, None);
        self.all_stated(&[("search", search), ("reason", reason)]);
        self.is_lost(tool);
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let mark = Mark::of(stamp);
    let mut on = |tool: &ToolId, change: &dyn Fn(&mut ToolState)| {
        let states = &mut Arc::make_mut(&mut programme.shop.tools).states;
        change(states.entry(tool.clone()).or_default());
    };
    match act {
        Act::Calibrate(act) => on(&act.tool, &|tool| {
            tool.calibrated = Some(act.until);
            tool.trusted.push((stamp.at.date(), act.until));
        }),
        Act::ToolOut(act) => on(&act.tool, &|tool| {
            let who = act.person.clone().unwrap_or_else(|| stamp.by.clone());
            tool.out = Some((who, act.job.clone(), mark.clone()));
        }),
        Act::ToolIn(act) => on(&act.tool, &|tool| tool.out = None),
        Act::LoseTool(act) => on(&act.tool, &|tool| {
            tool.lost = Some((act.last_seen.clone(), mark.clone()));
            tool.cleared = None;
            tool.trusted_until(stamp.at.date());
        }),
        // What was dropped may have been bent: it is calibrated again before it measures.
        Act::FindTool(act) => on(&act.tool, &|tool| {
            tool.lost = None;
            tool.out = None;
            tool.calibrated = None;
        }),
        Act::ClearTool(act) => on(&act.tool, &|tool| {
            tool.lost = None;
            tool.out = None;
            tool.calibrated = None;
            tool.cleared = Some((act.search.clone(), mark.clone()));
        }),
        _ => {}
    }
}
