//! Rules that can't hold together, named.
//!
//! Five quick proofs are tried: a [ring](crate::rings) of lags with a positive sum; occupancies that
//! must overlap; demands above the peak of a resource; times pushed beyond a deadline, the
//! horizon or the past; and [overload](crate::energy). Each names the rules that took part.
//! Then a deletion filter asks of each rule whether the proof goes through without it,
//! first for halves, then for quarters, down to single rules; what stays is needed, all of
//! it. To be asked, a rule is dropped from a copy of the problem which holds nothing but the
//! rules that are named: a dropped calendar is always open, a dropped capacity endless, a
//! dropped task takes no time and no resource. Where only a complete search has found
//! that nothing is lawful, the filter asks the complete search.
//!
//! Source for the filter: J. W. Chinneck, *Feasibility and infeasibility in optimization*
//! (2008), deletion filtering (from memory).

use std::cell::Cell;
use std::collections::{BTreeSet, HashMap};
use std::mem::discriminant;

use timetable::{
    Calendar, CalendarId, Clock, LinkId, OccupancyId, Pace, Problem, Profile, Progress,
    ResourceId, StockId, Task, TaskId, Tick, Window,
};

use crate::Bound;
use crate::arc::{Node, Source, id_of, task_of};
use crate::bounds::bound;
use crate::energy::overload;
use crate::exact::Exact;
use crate::model::{Model, fits, settled};
use crate::prices::Prices;
use crate::rings::{crowd, ring};
use crate::windows::Why;

/// Rules that can't all hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// The rules, in order. Leaving out any one of them resolves this conflict (there may
    /// be others) if `minimal`.
    pub parts: Vec<Part>,
    /// Whether each of them was shown to be needed.
    pub minimal: bool,
}

impl Conflict {
    /// The rules, those first of whose kind there are few: of a long list it is the deadline that
    /// says something, and not the work of hundreds of tasks.
    pub fn rarest_first(&self) -> Vec<Part> {
        let mut count = HashMap::new();
        for part in &self.parts {
            *count.entry(discriminant(part)).or_insert(0_usize) += 1;
        }
        let mut parts = self.parts.clone();
        parts.sort_by_key(|part| (count[&discriminant(part)], *part));
        parts
    }
}

/// A rule of a problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// A task takes the time and the resources that it takes.
    Task(TaskId),
    /// A task starts no earlier than its release.
    Release(TaskId),
    /// A task finishes by its deadline.
    Deadline(TaskId),
    /// What has happened of a task already.
    Past(TaskId),
    /// The lags of a link.
    Link(LinkId),
    /// The two events of an occupancy come in their order, and it uses what it uses.
    Occupancy(OccupancyId),
    /// Work goes on only while a calendar is open.
    Calendar(CalendarId),
    /// The capacity of a resource.
    Capacity(ResourceId),
    /// How much there is of a stock.
    Stock(StockId),
    /// Everything finishes by the horizon.
    Horizon,
}

/// More than all tasks together can take of a stock.
const GREATEST: i64 = 1 << 60;

/// The greatest horizon.
const LONG: Tick = Tick::MAX / 8;

/// A set of rules.
pub(crate) type Parts = BTreeSet<Part>;

/// The conflict that shows that a problem has no lawful schedule, if one is found. When `halt`
/// says so it is no longer made smaller.
pub(crate) fn conflict(model: &Model, halt: &dyn Fn() -> bool) -> Option<Conflict> {
    let found = proof(model)?;
    Some(minimise(model.problem, found, halt))
}

/// The conflict of a problem that a complete search has shown to have no lawful schedule.
/// The search took so many steps; asking again without some of the rules may take a
/// multiple of that, and ends when `halt` says so. What is named then may not be minimal.
pub(crate) fn proven(
    problem: &Problem,
    steps: u64,
    halt: &(dyn Fn() -> bool + Sync),
) -> Conflict {
    proven_of(problem, everything(problem), steps, halt)
}

/// The same where it was shown that no choice of modes does with the stocks: they and the
/// tasks that take of them are all that can take part.
pub(crate) fn stock_conflict(
    problem: &Problem,
    steps: u64,
    halt: &(dyn Fn() -> bool + Sync),
) -> Conflict {
    proven_of(problem, takers(problem), steps, halt)
}

/// The stocks of a problem and the tasks that take of them, in any mode.
fn takers(problem: &Problem) -> Parts {
    let stocks =
        (0..problem.stocks().len()).map(|number| Part::Stock(StockId::new(number)));
    let mut parts: Parts = stocks.collect();
    for (number, task) in problem.tasks().iter().enumerate() {
        let id = TaskId::new(number);
        if task.modes.iter().any(|mode| !mode.takes.is_empty()) {
            parts.insert(Part::Task(id));
            // In which mode it began is a fact that may be what does it.
            if task.progress != Progress::Todo {
                parts.insert(Part::Past(id));
            }
            // A mode that would do may need more than the peak of a resource.
            for demand in task.modes.iter().flat_map(|mode| &mode.demands) {
                parts.insert(Part::Capacity(demand.resource));
            }
        }
    }
    parts
}

fn proven_of(
    problem: &Problem,
    parts: Parts,
    steps: u64,
    halt: &(dyn Fn() -> bool + Sync),
) -> Conflict {
    // Far more than the proofs of a season's usual mistakes take.
    let left = Cell::new(20_000 + 30 * steps);
    let most = 1_000 + 3 * steps;
    let horizon = problem.horizon().clamp(1, LONG / 8);
    let fails = |parts: &[Part]| {
        let kept: Parts = parts.iter().copied().collect();
        let Some(relaxed) = relaxed(problem, &kept, 8 * horizon) else {
            return Some(true);
        };
        let model = Model::new(&relaxed);
        // A horizon that was only put off proves nothing where work could meet it.
        let meets = |part: &Part| {
            let Part::Task(id) = part else { return false };
            model.windows.late[2 * id.at() + 1] >= 8 * horizon
        };
        let met = !kept.contains(&Part::Horizon) && parts.iter().any(meets);
        if refuted(&model) {
            return (!met).then_some(true);
        }
        let mut exact = Exact::new(&model, &Bound::default())?;
        exact.find(most.min(left.get()), halt);
        left.set(left.get().saturating_sub(exact.steps + 1));
        let settled = exact.best.is_some() || exact.closed && !met;
        settled.then_some(exact.best.is_none())
    };
    let patience = || left.get() > 0 && !halt();
    let parts: Vec<Part> = parts.into_iter().collect();
    filter(parts, &fails, &patience)
}

/// The conflict where [prices](crate::prices) have shown that the work of all tasks together takes too
/// long. Whole kinds of rules are left out as long as prices show the same without them, which they
/// do one question at a time, until `halt` says so; so it is never minimal.
pub(crate) fn unaffordable(
    problem: &Problem,
    prices: &Prices,
    halt: &dyn Fn() -> bool,
) -> Conflict {
    let (scarce, dear) = (prices.resources(), prices.tasks());
    let hours: BTreeSet<CalendarId> = dear
        .iter()
        .flat_map(|&task| parts_of_task(problem, TaskId::new(task)))
        .filter_map(|part| if let Part::Calendar(id) = part { Some(id) } else { None })
        .collect();
    let kinds: [&dyn Fn(Part) -> bool; 6] = [
        &|part| matches!(part, Part::Capacity(id) if !scarce.contains(&id.at())),
        &|part| matches!(part, Part::Calendar(id) if !hours.contains(&id)),
        &|part| matches!(part, Part::Task(id) if !dear.contains(&id.at())),
        &|part| matches!(part, Part::Stock(_) | Part::Occupancy(_)),
        &|part| matches!(part, Part::Release(_) | Part::Past(_)),
        &|part| matches!(part, Part::Horizon),
    ];
    let mut parts = everything(problem);
    for kind in kinds {
        let fewer: Parts = parts.iter().copied().filter(|&part| !kind(part)).collect();
        let fails = || {
            let relaxed = relaxed(problem, &fewer, LONG)?;
            let model = Model::new(&relaxed);
            Some(refuted(&model) || is_unaffordable(&model, halt))
        };
        if halt() {
            break;
        }
        if fewer.len() < parts.len() && fails() == Some(true) {
            parts = fewer;
        }
    }
    Conflict { parts: parts.into_iter().collect(), minimal: false }
}

/// Whether prices show that there is no lawful schedule.
fn is_unaffordable(model: &Model, halt: &dyn Fn() -> bool) -> bool {
    const QUESTIONS: u64 = 20;
    let ends = model.windows.ends();
    let Some(mut prices) = Prices::new(model, bound(model).length) else {
        return false;
    };
    while prices.proven <= ends && !prices.done && !halt() {
        prices.run(QUESTIONS, halt);
    }
    prices.proven > ends
}

/// All the rules of a problem.
fn everything(problem: &Problem) -> Parts {
    let mut parts: Parts = problem
        .tasks()
        .iter()
        .enumerate()
        .flat_map(|(task, _)| parts_of_task(problem, TaskId::new(task)))
        .collect();
    parts.extend((0..problem.links().len()).map(|link| Part::Link(LinkId::new(link))));
    let occupancies = 0..problem.occupancies().len();
    parts.extend(occupancies.map(|number| Part::Occupancy(OccupancyId::new(number))));
    let resources = 0..problem.resources().len();
    parts.extend(resources.map(|number| Part::Capacity(ResourceId::new(number))));
    let stocks = 0..problem.stocks().len();
    parts.extend(stocks.map(|number| Part::Stock(StockId::new(number))));
    parts.insert(Part::Horizon);
    parts
}

fn parts_of_task(problem: &Problem, id: TaskId) -> Parts {
    let task = problem.task(id);
    let mut parts = Parts::from([Part::Task(id)]);
    for mode in &task.modes {
        if let Pace::Whole(calendar) | Pace::Pausing(calendar) = mode.pace {
            parts.insert(Part::Calendar(calendar));
        }
    }
    if task.progress != Progress::Todo {
        parts.insert(Part::Past(id));
    }
    if task.release > 0 {
        parts.insert(Part::Release(id));
    }
    if task.deadline.is_some() {
        parts.insert(Part::Deadline(id));
    }
    parts
}

/// Rules that can't hold together, not yet minimised.
fn proof(model: &Model) -> Option<Parts> {
    above_peak(model)
        .or_else(|| model.stocks.short.map(|_| takers(model.problem)))
        .or_else(|| ring(model))
        .or_else(|| model.windows.failed.map(|node| chain(model, node)))
        .or_else(|| overloaded(model))
}

/// The conflict that only a longer look finds: occupancies that must overlap.
pub(crate) fn late_conflict(model: &Model, halt: &dyn Fn() -> bool) -> Option<Conflict> {
    crowd(model).map(|found| minimise(model.problem, found, halt))
}

fn above_peak(model: &Model) -> Option<Parts> {
    let problem = model.problem;
    let mut ids = (0..model.count()).map(TaskId::new);
    let id = ids.find(|&id| {
        let modes = 0..problem.task(id).modes.len();
        settled(problem, id).is_none()
            && !modes.clone().any(|mode| fits(problem, id, mode))
    })?;
    let mut parts = Parts::from([Part::Task(id)]);
    parts.extend(capacities(model, id.at()));
    Some(parts)
}

/// The capacities that bear on a task.
fn capacities<'a>(model: &'a Model<'_>, task: usize) -> impl Iterator<Item = Part> + 'a {
    let uses = model.acts[task].ways.iter().flat_map(|way| &way.uses);
    uses.map(|entry| Part::Capacity(ResourceId::new(entry.resource)))
}

/// The rule that an arc comes from.
pub(crate) fn part_of(source: Source) -> Part {
    match source {
        Source::Least(link) | Source::Greatest(link) => Part::Link(link),
        Source::Occupancy(occupancy) => Part::Occupancy(occupancy),
    }
}

/// The rules along the chain of pushes that ends at an event.
fn chain(model: &Model, node: Node) -> Parts {
    let problem = model.problem;
    let mut parts = Parts::from([Part::Horizon]);
    let last = id_of(node);
    if problem.task(last).deadline.is_some() {
        parts.insert(Part::Deadline(last));
    }
    let mut seen = BTreeSet::new();
    let mut open = vec![task_of(node)];
    while let Some(task) = open.pop() {
        if !seen.insert(task) {
            continue;
        }
        let id = TaskId::new(task);
        parts.extend(
            parts_of_task(problem, id)
                .into_iter()
                .filter(|part| !matches!(part, Part::Deadline(_))),
        );
        parts.extend(capacities(model, task));
        let own = model.own[task].iter().map(|&arc| Why::Arc(arc));
        let whys = [model.windows.why[2 * task], model.windows.why[2 * task + 1]];
        for why in whys.into_iter().chain(own) {
            if let Why::Arc(number) = why {
                let arc = &model.arcs[number];
                parts.insert(part_of(arc.source));
                parts.extend(calendar_of(model, arc.source));
                open.push(task_of(arc.from));
            }
        }
    }
    // What is fixed takes capacity from the others.
    for (task, act) in model.acts.iter().enumerate() {
        if act.fixed.is_some() {
            parts.extend(parts_of_task(problem, TaskId::new(task)));
        }
    }
    for (number, hold) in model.holds.iter().enumerate() {
        if model.fixed(hold.from).is_some() && model.fixed(hold.to).is_some() {
            parts.insert(Part::Occupancy(OccupancyId::new(number)));
        }
    }
    parts
}

fn calendar_of(model: &Model, source: Source) -> Option<Part> {
    let (Source::Least(link) | Source::Greatest(link)) = source else {
        return None;
    };
    match model.problem.links()[link.at()].clock {
        Clock::Elapsed => None,
        Clock::Working(calendar) => Some(Part::Calendar(calendar)),
    }
}

fn overloaded(model: &Model) -> Option<Parts> {
    let found = overload(model, &model.windows.early, &model.windows.late)?;
    let mut parts = Parts::from([Part::Capacity(ResourceId::new(found.resource))]);
    for &task in &found.tasks {
        parts.extend(chain(model, 2 * task));
    }
    // Latest times come from below: name what lies between and all deadlines.
    let mut open = found.tasks;
    let mut seen = BTreeSet::new();
    while let Some(task) = open.pop() {
        if !seen.insert(task) {
            continue;
        }
        parts.extend(parts_of_task(model.problem, TaskId::new(task)));
        for &number in &model.out[task] {
            let arc = &model.arcs[number];
            parts.insert(part_of(arc.source));
            parts.extend(calendar_of(model, arc.source));
            open.push(task_of(arc.to));
        }
    }
    Some(parts)
}

fn refuted(model: &Model) -> bool {
    proof(model).is_some() || crowd(model).is_some()
}

/// Drops what the proof does not need.
fn minimise(problem: &Problem, found: Parts, halt: &dyn Fn() -> bool) -> Conflict {
    let fails = |parts: &[Part]| {
        let kept: Parts = parts.iter().copied().collect();
        relaxed(problem, &kept, LONG).is_none_or(|relaxed| refuted(&Model::new(&relaxed)))
    };
    let parts: Vec<Part> = found.into_iter().collect();
    if halt() || !fails(&parts) {
        return Conflict { parts, minimal: false };
    }
    filter(parts, &|parts| Some(fails(parts)), &|| !halt())
}

/// Drops rules as long as what is left fails: first halves, then quarters, down to single
/// rules, while there is patience. Whether some rules fail may remain open.
fn filter(
    mut parts: Vec<Part>,
    fails: &dyn Fn(&[Part]) -> Option<bool>,
    patience: &dyn Fn() -> bool,
) -> Conflict {
    const TRIALS: usize = 600;
    let mut size = parts.len().div_ceil(2).max(1);
    let mut trials = 0;
    loop {
        let (mut position, mut whole, mut sure) = (0, true, true);
        while position < parts.len() {
            whole = trials < TRIALS && patience();
            if !whole {
                break;
            }
            let end = (position + size).min(parts.len());
            let mut fewer = parts.clone();
            fewer.drain(position..end);
            trials += 1;
            let verdict = fails(&fewer);
            sure &= verdict.is_some();
            if verdict == Some(true) {
                parts = fewer;
            } else {
                position = end;
            }
        }
        if size == 1 || !whole {
            return Conflict { parts, minimal: whole && sure };
        }
        size = size.div_ceil(2);
    }
}

/// The problem with nothing but some of its rules, and a long horizon if that is none of
/// them.
fn relaxed(problem: &Problem, kept: &Parts, long: Tick) -> Option<Problem> {
    let horizon = if kept.contains(&Part::Horizon) { problem.horizon() } else { long };
    let tasks = problem.tasks().iter().enumerate();
    let tasks = tasks.map(|(task, data)| relaxed_task(data, TaskId::new(task), kept));
    let resources = problem.resources().iter().enumerate().map(|(number, resource)| {
        let mut resource = resource.clone();
        if !kept.contains(&Part::Capacity(ResourceId::new(number))) {
            resource.capacity = Profile::constant(i32::MAX as u32);
        }
        resource
    });
    let stocks = problem.stocks().iter().enumerate().map(|(number, stock)| {
        let mut stock = stock.clone();
        if !kept.contains(&Part::Stock(StockId::new(number))) {
            stock.available = GREATEST;
        }
        stock
    });
    let calendars = problem.calendars().iter().enumerate().map(|(number, calendar)| {
        let always = vec![Window { from: 0, until: Tick::MAX / 4 }];
        let dropped = !kept.contains(&Part::Calendar(CalendarId::new(number)));
        let open = dropped.then(|| Calendar::new(calendar.name(), always).ok()).flatten();
        open.unwrap_or_else(|| calendar.clone())
    });
    let links = problem.links().iter().enumerate();
    let links = links.filter(|(n, _)| kept.contains(&Part::Link(LinkId::new(*n))));
    let holds = problem.occupancies().iter().enumerate();
    let holds =
        holds.filter(|(n, _)| kept.contains(&Part::Occupancy(OccupancyId::new(*n))));
    Problem::stocked(
        horizon,
        tasks.collect(),
        resources.collect(),
        stocks.collect(),
        calendars.collect(),
        links.map(|(_, link)| *link).collect(),
        holds.map(|(_, hold)| *hold).collect(),
    )
    .ok()
}

fn relaxed_task(data: &Task, id: TaskId, kept: &Parts) -> Task {
    let mut task = data.clone();
    task.due = None;
    task.published = None;
    if !kept.contains(&Part::Release(id)) {
        task.release = 0;
    }
    if !kept.contains(&Part::Deadline(id)) {
        task.deadline = None;
    }
    if !kept.contains(&Part::Past(id)) {
        task.progress = Progress::Todo;
    }
    if !kept.contains(&Part::Task(id)) {
        for mode in &mut task.modes {
            mode.work = 0;
            mode.demands.clear();
            mode.takes.clear();
        }
    }
    task
}

#[cfg(test)]
mod tests {
    use timetable::{Demand, Link, Mode, Resource};

    use super::*;

    /// The worked case of pools that lie inside each other, with a last task to be over by 13,
    /// where 14 is the least; and a third crew and a task that have no part in it.
    fn worked() -> Problem {
        let crew = |level| Resource {
            name: "crew".to_owned(),
            capacity: Profile::constant(level),
        };
        let on = |crews: &[(u32, u32)]| {
            let of = |&(crew, amount)| Demand::throughout(ResourceId(crew), amount);
            crews.iter().map(of).collect()
        };
        let task = |work, demands| Task::new("t", Mode::elapsed(work, demands));
        let mut tasks = vec![task(4, on(&[(0, 1), (1, 1)])); 12];
        tasks.push(task(8, on(&[(1, 2)])));
        tasks.push(task(2, on(&[(2, 1)])));
        let end = tasks.len();
        tasks.push(Task { deadline: Some(13), ..task(0, vec![]) });
        let links = (0..end).map(|task| Link::after(TaskId::new(task), TaskId::new(end)));
        let crews = vec![crew(4), crew(5), crew(1)];
        Problem::new(60, tasks, crews, vec![], links.collect(), vec![]).unwrap()
    }

    #[test]
    fn what_cannot_be_afforded_is_named_without_what_has_no_part_in_it() {
        let problem = worked();
        let model = Model::new(&problem);
        assert!(conflict(&model, &|| false).is_none());
        let mut prices = Prices::new(&model, bound(&model).length).unwrap();
        prices.run(u64::MAX, &|| false);
        assert!(prices.proven > model.windows.ends());
        let named = unaffordable(&problem, &prices, &|| false);
        let has = |part| named.parts.contains(&part);
        assert!(has(Part::Deadline(TaskId(14))) && has(Part::Task(TaskId(12))));
        assert!(has(Part::Capacity(ResourceId(0))) && has(Part::Capacity(ResourceId(1))));
        assert!(!has(Part::Capacity(ResourceId(2))) && !has(Part::Task(TaskId(13))));
        assert!(!has(Part::Horizon) && !named.minimal);
        // The rules that are named can't hold together indeed.
        let kept: Parts = named.parts.into_iter().collect();
        let relaxed = relaxed(&problem, &kept, 60).unwrap();
        let model = Model::new(&relaxed);
        let mut exact = Exact::new(&model, &Bound::default()).unwrap();
        exact.run(100_000, &|| false);
        assert!(exact.closed && exact.best.is_none());
    }
}
