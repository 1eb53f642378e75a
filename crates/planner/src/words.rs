//! Why a job starts when it does, in the programme's words.

use jiff::civil::{Date, DateTime};
use search::{Cause, Reason};
use timetable::{CalendarId, Schedule, TaskId};

use crate::draft::{JobKind, LinkWhy};
use crate::model::{CalendarRole, Model, ResourceRole};

/// A name for a calendar.
pub(crate) fn calendar(role: &CalendarRole) -> String {
    let mut parts = Vec::new();
    if !role.crew.is_empty() {
        parts.push(format!("hours of {}", crew(role)));
    }
    if let Some(firm) = &role.firm {
        parts.push(format!("days of {firm}"));
    }
    if role.warm {
        parts.push("warm days".to_owned());
    }
    if role.dry {
        parts.push("dry days".to_owned());
    }
    if parts.is_empty() { "any time".to_owned() } else { parts.join(", ") }
}

/// Who is asked for: `2 fitter + 1 rigger`.
fn crew(role: &CalendarRole) -> String {
    let crew: Vec<String> =
        role.crew.iter().map(|(count, skill)| format!("{count} {skill}")).collect();
    crew.join(" + ")
}

/// A date as people say it: `Mon 5 Jan`.
pub(crate) fn day(date: Date) -> String {
    date.strftime("%a %-d %b").to_string()
}

/// A warning about an opening, as a sentence.
pub fn opening_warning(warning: &airframe::access::Warning) -> String {
    use airframe::access::Warning;
    let names = |items: &[airframe::ItemId]| {
        items.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
    };
    match warning {
        Warning::OverLimit { item, gear, mass, limit } => format!(
            "{item} with what travels on it is {mass}, more than {gear} may lift ({limit})"
        ),
        Warning::UnknownLift { item, gear, unknown } => format!(
            "nobody knows whether {gear} may lift {item}: no mass is given for {}",
            names(unknown)
        ),
        Warning::RefitRing(items) => {
            format!("refit_after asks for a ring, which was left out: {}", names(items))
        }
        Warning::RefitWaits { item, absent } => {
            format!(
                "{item} should be refitted after {absent}, which stays off this season"
            )
        }
    }
}

/// The reasons of a schedule, put into words.
pub(crate) struct Words<'a> {
    pub(crate) model: &'a Model<'a>,
    pub(crate) schedule: &'a Schedule,
}

impl Words<'_> {
    /// One sentence, without a full stop.
    pub(crate) fn reason(&self, reason: &Reason) -> String {
        let task = reason.task;
        let said = self.cause(task, &reason.cause);
        if let Some(tried) = self.tried(reason) {
            let waits = matches!(reason.cause, Cause::Calendar(_));
            return if waits { format!("{tried}; then {said}") } else { tried };
        }
        match &reason.since {
            Some(Cause::Start) if matches!(reason.cause, Cause::Calendar(_)) => {
                "nothing holds it: it is among the first".to_owned()
            }
            Some(since) if !matches!(since, Cause::Start | Cause::Release) => {
                format!("{said}; until then, {}", self.cause(task, since))
            }
            _ => said,
        }
    }

    fn cause(&self, task: TaskId, cause: &Cause) -> String {
        match cause {
            Cause::Start => "nothing holds it: the season begins".to_owned(),
            Cause::Release => {
                let now = self.model.grid.moment(self.model.now);
                format!("nothing holds it from today, {}", day(now.date()))
            }
            Cause::Link(link, _) => self.link(link.at()),
            Cause::GreatestLag(link) => self.held_back(link.at()),
            Cause::Calendar(calendar) => self.calendar(task, *calendar),
            Cause::Resource { resource, blockers, occupancies } => {
                self.resource(resource.at(), blockers, occupancies)
            }
            Cause::Occupancy(occupancy) => {
                let held = self.model.problem.occupancies()[occupancy.at()];
                let stand = &self.model.problem.resource(held.resource).name;
                format!("waits for its stand ({stand})")
            }
            Cause::Published => "keeps its published date".to_owned(),
            Cause::Past => "it has begun".to_owned(),
            Cause::Choice => "it could start earlier without changing the end".to_owned(),
        }
    }

    /// That somebody tries a job no earlier than so, where that is what holds it.
    fn tried(&self, reason: &Reason) -> Option<String> {
        let from = self.model.draft.not_before.get(&reason.task.at())?;
        let free = |cause: &Cause| matches!(cause, Cause::Release | Cause::Start);
        let holds = match &reason.cause {
            Cause::Calendar(_) => reason.since.as_ref().is_none_or(free),
            cause => free(cause),
        };
        let when = from.strftime("%a %-d %b %H:%M");
        holds.then(|| format!("is tried no earlier than {when}"))
    }

    /// What would let a job begin earlier, as far as that can be said of what holds it: each a
    /// noun phrase. Nothing where only the job before it would, or nothing would.
    pub(crate) fn levers(&self, reason: &Reason) -> Vec<String> {
        if self.tried(reason).is_some() {
            return Vec::new();
        }
        let causes = [Some(&reason.cause), reason.since.as_ref()];
        let mut levers: Vec<String> =
            causes.into_iter().flatten().filter_map(|cause| self.lever(cause)).collect();
        levers.dedup();
        levers
    }

    fn lever(&self, cause: &Cause) -> Option<String> {
        Some(match cause {
            Cause::Calendar(calendar) => {
                let role = &self.model.calendars[calendar.at()];
                match (&role.firm, role.warm || role.dry) {
                    (Some(firm), _) => format!("an earlier day of {firm}"),
                    (None, true) => "a place that keeps the weather out".to_owned(),
                    (None, false) if role.crew.is_empty() => {
                        "work on days that are closed".to_owned()
                    }
                    (None, false) => format!("{} being in sooner", crew(role)),
                }
            }
            Cause::Resource { resource, .. } => {
                let name = &self.model.problem.resources()[resource.at()].name;
                match &self.model.resources[resource.at()] {
                    ResourceRole::Skills(skills) => {
                        let names: Vec<&str> =
                            skills.iter().map(quantity::Id::as_str).collect();
                        format!("more hours of people ({}) before then", names.join(", "))
                    }
                    ResourceRole::Stand(_) => format!("one more stand ({name})"),
                    ResourceRole::Place(_) => format!("more room in {name}"),
                    ResourceRole::Gear(_) => format!("one more {name}"),
                    ResourceRole::Firm(_) => {
                        format!("{name} taking it in earlier, or another firm")
                    }
                }
            }
            Cause::Occupancy(occupancy) => {
                let held = self.model.problem.occupancies()[occupancy.at()];
                let stand = &self.model.problem.resource(held.resource).name;
                format!("one more stand ({stand})")
            }
            Cause::Published => {
                "planning as if no plan had been adopted: it keeps its published date"
                    .to_owned()
            }
            Cause::Start
            | Cause::Release
            | Cause::Link(..)
            | Cause::GreatestLag(_)
            | Cause::Past
            | Cause::Choice => return None,
        })
    }

    fn finish(&self, task: usize) -> DateTime {
        self.model.grid.moment(self.schedule.assignments[task].finish)
    }

    fn link(&self, number: usize) -> String {
        let Some(link) = self.model.draft.links.get(number) else {
            return "waits for what comes before it".to_owned();
        };
        let from = &self.model.draft.jobs[link.from];
        let date = day(self.finish(link.from).date());
        let key = &from.key;
        let item = from.item.as_ref().map_or_else(String::new, ToString::to_string);
        let rest = match (from.kind, link.why) {
            (JobKind::Wait, _) => format!("waits until {key} has had its time, {date}"),
            (JobKind::Return, _) => format!("waits for what is due back {date} ({key})"),
            (JobKind::AtFirm, _) => {
                format!("waits for the firm to be done, {date} ({key})")
            }
            (_, LinkWhy::InTheWay) => {
                format!("waits until {item} is out of the way, {date}")
            }
            (_, LinkWhy::Opens) => format!("waits until {item} is off, {date}"),
            (_, LinkWhy::WorkDone) => {
                format!("waits for the work to be done: {key}, {date}")
            }
            (_, LinkWhy::RefitOrder) => format!("waits until {item} is back, {date}"),
            (_, LinkWhy::Checks) => format!("waits for {key}, which it checks, {date}"),
            (_, LinkWhy::Completes) => format!("the last is {key}, {date}"),
            (_, LinkWhy::Follows) => format!("follows {key}, {date}"),
        };
        if link.at_least > 0 {
            format!("{rest}, and {} h more", link.at_least.div_euclid(60))
        } else {
            rest
        }
    }

    fn held_back(&self, number: usize) -> String {
        let Some(link) = self.model.draft.links.get(number) else {
            return "held back so that what follows keeps its window".to_owned();
        };
        let hours = link.at_most.unwrap_or(0).div_euclid(60);
        let to = &self.model.draft.jobs[link.to].key;
        format!("held back so that {to} can follow within {hours} h")
    }

    fn calendar(&self, task: TaskId, calendar: CalendarId) -> String {
        let start = self.model.grid.moment(self.schedule.assignments[task.at()].start);
        let role = &self.model.calendars[calendar.at()];
        let when = day(start.date());
        if let Some(firm) = &role.firm {
            return format!("waits for {firm}'s day, {when}");
        }
        let air = match (role.warm, role.dry) {
            (true, true) => " warm and dry",
            (true, false) => " warm",
            (false, true) => " dry",
            (false, false) => "",
        };
        if role.crew.is_empty() {
            return format!("waits for{air} days, {when}");
        }
        let air = if air.is_empty() { String::new() } else { format!(" and{air} hours") };
        let heads: u32 = role.crew.iter().map(|(count, _)| count).sum();
        let verb = if heads == 1 { "is" } else { "are" };
        format!("waits until {} {verb} in{air}, {when}", crew(role))
    }

    fn resource(
        &self,
        resource: usize,
        blockers: &[TaskId],
        occupancies: &[timetable::OccupancyId],
    ) -> String {
        let name = &self.model.problem.resources()[resource].name;
        let what = match &self.model.resources[resource] {
            ResourceRole::Skills(skills) => {
                let names: Vec<&str> = skills.iter().map(quantity::Id::as_str).collect();
                format!("waits for people ({})", names.join(", "))
            }
            ResourceRole::Stand(_) => format!("waits for a stand: {name}"),
            ResourceRole::Place(_) => format!("waits for room in {name}"),
            ResourceRole::Gear(_) => format!("waits for {name}"),
            ResourceRole::Firm(_) => format!("waits until {name} can take it in"),
        };
        let jobs = blockers.iter().take(3).map(|task| {
            let date = day(self.finish(task.at()).date());
            format!("{} (to {date})", self.model.draft.jobs[task.at()].key)
        });
        let held = occupancies.iter().take(3).map(|id| {
            let end = self.model.problem.occupancies()[id.at()].to.task;
            let date = day(self.finish(end.at()).date());
            let job = &self.model.draft.jobs[end.at()];
            let item = job.item.as_ref().map_or_else(String::new, ToString::to_string);
            format!("{item} (on it until {date})")
        });
        let by: Vec<String> = jobs.chain(held).collect();
        if by.is_empty() {
            format!("{what}, of which there is not enough before")
        } else {
            format!("{what}, taken by {}", by.join(", "))
        }
    }
}
