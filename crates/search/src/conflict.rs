//! Rules that can't hold together, named.
//!
//! Five proofs are tried: a ring of lags with a positive sum; demands above the peak of a
//! resource; a past that uses more than there was; times pushed beyond a deadline, the
//! horizon or the past; and [overload](crate::energy). Each names the rules that took part.
//! Then a deletion filter asks of each rule whether the proof goes through without it,
//! first for halves, then for quarters, down to single rules; what stays is needed, all of
//! it. To be asked, a rule is dropped from a copy of the problem which holds nothing but the
//! rules that are named: a dropped calendar is always open, a dropped capacity endless, a
//! dropped task takes no time and no resource.
//!
//! Source for the filter: J. W. Chinneck, *Feasibility and infeasibility in optimization*
//! (2008), deletion filtering (from memory).

use std::collections::BTreeSet;

use timetable::{
    Calendar, CalendarId, Clock, LinkId, OccupancyId, Pace, Problem, Profile, Progress,
    ResourceId, Task, TaskId, Tick, Window,
};

use crate::arc::{Node, Source, id_of, task_of};
use crate::energy::overload;
use crate::model::{Model, fits, settled};
use crate::steps::FAR;
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
    /// Everything finishes by the horizon.
    Horizon,
}

type Parts = BTreeSet<Part>;

/// The conflict that shows that a problem has no lawful schedule, if one is found.
pub(crate) fn conflict(model: &Model) -> Option<Conflict> {
    let found = proof(model)?;
    Some(minimise(model.problem, found))
}

/// The whole of a problem, where a proof by search names nothing smaller.
pub(crate) fn everything(problem: &Problem) -> Conflict {
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
    parts.insert(Part::Horizon);
    Conflict { parts: parts.into_iter().collect(), minimal: false }
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
        .or_else(|| ring(model))
        .or_else(|| past_overuse(model))
        .or_else(|| model.windows.failed.map(|node| chain(model, node)))
        .or_else(|| overloaded(model))
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

fn past_overuse(model: &Model) -> Option<Parts> {
    let (resource, tick) = model
        .static_free
        .iter()
        .enumerate()
        .find_map(|(r, free)| free.lack(0, FAR, 0).map(|(tick, _)| (r, tick)))?;
    let mut parts = Parts::from([Part::Capacity(ResourceId::new(resource))]);
    for (task, act) in model.acts.iter().enumerate() {
        let runs = act.fixed.is_some_and(|f| f.start <= tick && tick < f.finish);
        let uses = act.ways.iter().flat_map(|way| &way.uses);
        if runs && uses.into_iter().any(|entry| entry.resource == resource) {
            parts.extend(parts_of_task(model.problem, TaskId::new(task)));
        }
    }
    for (number, hold) in model.holds.iter().enumerate() {
        if let (Some(from), Some(to)) = (model.fixed(hold.from), model.fixed(hold.to))
            && hold.resource == resource
            && (from..to).contains(&tick)
        {
            parts.insert(Part::Occupancy(OccupancyId::new(number)));
            parts.insert(Part::Past(id_of(hold.from)));
            parts.insert(Part::Past(id_of(hold.to)));
        }
    }
    Some(parts)
}

/// A step along a ring: an arc, or a task from its start to its finish or back.
#[derive(Clone, Copy)]
struct Edge {
    from: Node,
    to: Node,
    lag: i64,
    part: Part,
}

fn part_of(source: Source) -> Part {
    match source {
        Source::Least(link) | Source::Greatest(link) => Part::Link(link),
        Source::Occupancy(occupancy) => Part::Occupancy(occupancy),
    }
}

/// The steps whose length does not depend on the time.
fn edges(model: &Model) -> Vec<Edge> {
    let arcs = model.arcs.iter().filter_map(|arc| {
        let lag = i64::from(arc.implied()?);
        Some(Edge { from: arc.from, to: arc.to, lag, part: part_of(arc.source) })
    });
    let spans = model.acts.iter().enumerate().flat_map(|(task, act)| {
        let (start, finish, part) =
            (2 * task, 2 * task + 1, Part::Task(TaskId::new(task)));
        let works = || act.ways.iter().map(|way| i64::from(way.pattern.work()));
        let least = works().min().unwrap_or(0);
        let even = act
            .ways
            .iter()
            .all(|way| !matches!(way.pattern, crate::pattern::Pattern::Pausing(..)));
        let there = Edge { from: start, to: finish, lag: least, part };
        let greatest = works().max().unwrap_or(0);
        let back = Edge { from: finish, to: start, lag: -greatest, part };
        let free = act.fixed.is_none();
        [free.then_some(there), (free && even).then_some(back)].into_iter().flatten()
    });
    arcs.chain(spans).collect()
}

/// A ring of steps with a positive sum (Bellman and Ford: if an event is still raised when
/// every chain without a ring has been followed, following back finds one).
fn ring(model: &Model) -> Option<Parts> {
    if model.windows.failed.is_none() && !model.windows.tired {
        return None;
    }
    let edges = edges(model);
    let count = 2 * model.count();
    let mut least = vec![0_i64; count];
    let mut parent: Vec<Option<usize>> = vec![None; count];
    let mut raised = None;
    for _ in 0..=count {
        raised = None;
        for (number, edge) in edges.iter().enumerate() {
            if least[edge.from] + edge.lag > least[edge.to] {
                least[edge.to] = least[edge.from] + edge.lag;
                parent[edge.to] = Some(number);
                raised = Some(edge.to);
            }
        }
        raised?;
    }
    let mut node = raised?;
    for _ in 0..count {
        node = edges[parent[node]?].from;
    }
    let (first, mut parts) = (node, Parts::new());
    loop {
        let edge = edges[parent[node]?];
        parts.insert(edge.part);
        node = edge.from;
        if node == first {
            return Some(parts);
        }
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

/// Drops what the proof does not need.
fn minimise(problem: &Problem, found: Parts) -> Conflict {
    const TRIALS: usize = 600;
    let fails = |parts: &[Part]| {
        let kept: Parts = parts.iter().copied().collect();
        relaxed(problem, &kept)
            .is_none_or(|relaxed| proof(&Model::new(&relaxed)).is_some())
    };
    let mut parts: Vec<Part> = found.into_iter().collect();
    if !fails(&parts) {
        return Conflict { parts, minimal: false };
    }
    let (mut trials, mut size) = (0, parts.len().div_ceil(2).max(1));
    loop {
        let mut position = 0;
        while position < parts.len() && trials < TRIALS {
            let end = (position + size).min(parts.len());
            let mut fewer = parts.clone();
            fewer.drain(position..end);
            trials += 1;
            if fails(&fewer) {
                parts = fewer;
            } else {
                position = end;
            }
        }
        if size == 1 || trials >= TRIALS {
            break;
        }
        size = size.div_ceil(2);
    }
    Conflict { parts, minimal: trials < TRIALS }
}

/// The problem with nothing but some of its rules.
fn relaxed(problem: &Problem, kept: &Parts) -> Option<Problem> {
    const LONG: Tick = Tick::MAX / 8;
    let horizon = if kept.contains(&Part::Horizon) { problem.horizon() } else { LONG };
    let tasks = problem.tasks().iter().enumerate();
    let tasks = tasks.map(|(task, data)| relaxed_task(data, TaskId::new(task), kept));
    let resources = problem.resources().iter().enumerate().map(|(number, resource)| {
        let mut resource = resource.clone();
        if !kept.contains(&Part::Capacity(ResourceId::new(number))) {
            resource.capacity = Profile::constant(i32::MAX as u32);
        }
        resource
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
    Problem::new(
        horizon,
        tasks.collect(),
        resources.collect(),
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
        }
    }
    task
}
