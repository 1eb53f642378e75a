//! What holds each task where it is.
//!
//! A task is taken out of the schedule and everything else stays. What then keeps it from
//! starting earlier is asked for in this order: what has happened; the arcs from other
//! tasks and the release, which give the earliest start `b`; the calendar, which turns `b`
//! into an earliest span; the resources, which move that span on. What moved it last is the
//! cause, what moved it before is what it waited for until then. If nothing moved it as far
//! as it stands, it keeps a published start or was placed there by choice.
//!
//! Its mode is asked for apart: if another one would be over sooner and cost no more, or cost
//! less and take no longer, but a stock is not enough for it beside what all others take, that
//! stock holds the task in its mode.

use timetable::{
    CalendarId, End, Event, LinkId, Mode, ModeId, OccupancyId, Pace, Problem, Progress,
    ResourceId, Schedule, StockId, TaskId, Tick,
};

use crate::arc::{Source, is_finish, task_of};
use crate::model::{Hold, Model, Way, event, for_each_open, for_each_use};
use crate::pattern::Span;
use crate::steps::Steps;

/// Why a task starts when it does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// The task.
    pub task: TaskId,
    /// What finally holds it.
    pub cause: Cause,
    /// What held it until then, where the cause is a calendar or a resource: work that
    /// was ready on Friday evening waits for Monday *since* the work before it ended.
    pub since: Option<Cause>,
    /// The stock that keeps it from running in a better mode.
    pub lack: Option<Lack>,
}

/// A stock that is not enough for a better mode.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lack {
    /// The mode, which would be over sooner or cost less.
    pub mode: ModeId,
    /// Which stock.
    pub stock: StockId,
    /// How much more of it there would have to be.
    pub missing: i64,
}

/// Something that holds a task.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cause {
    /// Nothing: it starts at the origin of time.
    Start,
    /// Its release.
    Release,
    /// The least lag of a link, measured from this event.
    Link(LinkId, Event),
    /// The greatest lag of a link: it waits so that something later is within reach.
    GreatestLag(LinkId),
    /// Its calendar (or, for the end of an occupancy, none) is closed before.
    Calendar(CalendarId),
    /// A resource.
    Resource {
        /// Which.
        resource: ResourceId,
        /// The tasks that use it before, the last to finish first.
        blockers: Vec<TaskId>,
        /// The occupancies that hold it before, the last to end first. With neither
        /// blockers nor occupancies it is the capacity itself that lacks.
        occupancies: Vec<OccupancyId>,
    },
    /// An occupancy that it begins or ends: the events of an occupancy keep their order.
    Occupancy(OccupancyId),
    /// The published start, which it keeps though it could be earlier.
    Published,
    /// It has begun, or is done.
    Past,
    /// Nothing holds it: it could be earlier.
    Choice,
}

/// One reason for each task, in the order of the tasks; none if the schedule does not have
/// one assignment for each task with a mode that it has. The schedule should be lawful.
pub fn explain(problem: &Problem, schedule: &Schedule) -> Vec<Reason> {
    let model = Model::new(problem);
    let Some(mut scene) = Scene::new(&model, schedule) else {
        return Vec::new();
    };
    let lacks = lacks(problem, schedule);
    let reasons = (0..model.count()).zip(lacks);
    reasons.map(|(task, lack)| Reason { lack, ..scene.reason(task) }).collect()
}

/// For each task the stock that keeps it from running in a better mode. Modes that no
/// schedule has, since there is not enough of a stock for them at all, are asked for too.
fn lacks(problem: &Problem, schedule: &Schedule) -> Vec<Option<Lack>> {
    let mode = |task: usize| {
        let run = schedule.assignments[task];
        problem.tasks()[task].modes.get(run.mode.at())
    };
    let amount = |mode: &Mode, stock: StockId| -> i64 {
        let takes = mode.takes.iter().filter(|take| take.stock == stock);
        takes.map(|take| take.amount).sum()
    };
    let stocks: Vec<StockId> = (0..problem.stocks().len()).map(StockId::new).collect();
    let left = stocks.iter().map(|&stock| {
        let taken = (0..problem.tasks().len()).filter_map(mode);
        let taken: i64 = taken.map(|mode| amount(mode, stock)).sum();
        problem.stock(stock).available.saturating_sub(taken)
    });
    let left: Vec<i64> = left.collect();
    let of = |task: usize| {
        let (data, now) = (&problem.tasks()[task], mode(task)?);
        let better = |other: &&Mode| {
            let (work, most) = (other.work, now.work);
            let less = (other.cost, work) != (now.cost, most);
            other.pace == now.pace && other.cost <= now.cost && work <= most && less
        };
        let better = data.modes.iter().enumerate().filter(|(_, other)| better(other));
        let todo = data.progress == Progress::Todo;
        better.filter(|_| todo).find_map(|(number, other)| {
            stocks.iter().zip(&left).find_map(|(&stock, left)| {
                let missing = amount(other, stock) - amount(now, stock) - left;
                let lack = Lack { mode: ModeId::new(number), stock, missing };
                (missing > 0 && amount(other, stock) > amount(now, stock)).then_some(lack)
            })
        })
    };
    (0..problem.tasks().len()).map(of).collect()
}

/// The tasks that decide the schedule, from the one that is latest against its due date (or
/// ends last, if none is late) back to the origin: each waits for the next.
pub fn driving_chain(
    problem: &Problem,
    schedule: &Schedule,
    reasons: &[Reason],
) -> Vec<TaskId> {
    let mut chain = Vec::new();
    let mut next = worst(problem, schedule);
    while let Some(task) = next {
        chain.push(task);
        let reason = reasons.iter().find(|reason| reason.task == task);
        next = reason.and_then(|reason| {
            let causes = [Some(&reason.cause), reason.since.as_ref()];
            let mut waits = causes.iter().flatten().filter_map(|cause| {
                waits_for(problem, task, cause).filter(|next| !chain.contains(next))
            });
            waits.next().or_else(|| before(problem, schedule, reason, &chain))
        });
    }
    chain
}

/// Where a ring of lags holds tasks together, each points to the other: the chain leaves
/// it by the link whose first event comes last.
fn before(
    problem: &Problem,
    schedule: &Schedule,
    reason: &Reason,
    chain: &[TaskId],
) -> Option<TaskId> {
    let ring = [Some(&reason.cause), reason.since.as_ref()];
    let ring = ring.into_iter().flatten().any(|cause| {
        matches!(cause, Cause::Link(..) | Cause::GreatestLag(_) | Cause::Occupancy(_))
    });
    let links = problem.links().iter().filter(|link| {
        ring && link.to.task == reason.task
            && link.least.is_some()
            && !chain.contains(&link.from.task)
    });
    let tick = |event: Event| {
        let run = schedule.assignments.get(event.task.at());
        run.map(|run| if event.end == End::Start { run.start } else { run.finish })
    };
    links.max_by_key(|link| tick(link.from)).map(|link| link.from.task)
}

fn worst(problem: &Problem, schedule: &Schedule) -> Option<TaskId> {
    let tasks = || problem.tasks().iter().zip(&schedule.assignments).enumerate();
    let late = |(_, (task, assignment)): &(
        usize,
        (&timetable::Task, &timetable::Assignment),
    )| {
        task.due.map_or(0, |due| {
            i64::from((assignment.finish - due.at).max(0)) * i64::from(due.weight)
        })
    };
    let key = |entry: &(usize, (&timetable::Task, &timetable::Assignment))| {
        (late(entry), entry.1.1.finish, std::cmp::Reverse(entry.0))
    };
    tasks().max_by_key(key).map(|(task, _)| TaskId::new(task))
}

/// The task that a cause points to.
fn waits_for(problem: &Problem, task: TaskId, cause: &Cause) -> Option<TaskId> {
    let other = |a: Event, b: Event| if a.task == task { b.task } else { a.task };
    match cause {
        Cause::Link(_, event) => Some(event.task),
        Cause::GreatestLag(link) => {
            let link = problem.links().get(link.at())?;
            Some(other(link.from, link.to))
        }
        Cause::Resource { blockers, occupancies, .. } => {
            let holder = occupancies.first().and_then(|&hold| {
                problem.occupancies().get(hold.at()).map(|hold| hold.to.task)
            });
            blockers.first().copied().or(holder).filter(|&found| found != task)
        }
        Cause::Occupancy(hold) => {
            let hold = problem.occupancies().get(hold.at())?;
            Some(other(hold.from, hold.to))
        }
        Cause::Start
        | Cause::Release
        | Cause::Calendar(_)
        | Cause::Published
        | Cause::Past
        | Cause::Choice => None,
    }
}

/// A schedule, and what is free beside all of it.
struct Scene<'m> {
    model: &'m Model<'m>,
    span: Vec<Span>,
    way: Vec<usize>,
    free: Vec<Steps>,
}

impl<'m> Scene<'m> {
    fn new(model: &'m Model<'m>, schedule: &Schedule) -> Option<Self> {
        if schedule.assignments.len() != model.count() {
            return None;
        }
        let mut scene = Self {
            model,
            span: schedule.assignments.iter().map(|a| (a.start, a.finish)).collect(),
            way: Vec::new(),
            free: model.static_free.clone(),
        };
        for (act, assignment) in model.acts.iter().zip(&schedule.assignments) {
            let found = act.ways.iter().position(|way| way.mode == assignment.mode);
            scene.way.push(found?);
        }
        for (task, act) in model.acts.iter().enumerate() {
            if act.fixed.is_none() {
                let (way, span) = (&act.ways[scene.way[task]], scene.span[task]);
                for_each_use(way, span, |resource, span, amount| {
                    scene.free[resource].add(span.0, span.1, -amount);
                });
            }
        }
        for hold in &model.holds {
            if model.fixed(hold.from).is_none() || model.fixed(hold.to).is_none() {
                let (from, to) = (scene.tick(hold.from), scene.tick(hold.to));
                let from = from.max(hold.judged_from);
                scene.free[hold.resource].add(from, to, -hold.amount);
            }
        }
        Some(scene)
    }

    fn tick(&self, node: usize) -> Tick {
        let span = self.span[task_of(node)];
        if is_finish(node) { span.1 } else { span.0 }
    }

    fn reason(&mut self, task: usize) -> Reason {
        let id = TaskId::new(task);
        let plain = |cause| Reason { task: id, cause, since: None, lack: None };
        if self.model.acts[task].fixed.is_some() {
            return plain(Cause::Past);
        }
        let start = self.span[task].0;
        let model = self.model;
        let way = &model.acts[task].ways[self.way[task]];
        let (bound, cause) = self.held_by_rules(task, way);
        if bound >= start {
            return plain(cause);
        }
        let open = way.pattern.after(bound).map_or(start, |span| span.0);
        if open >= start {
            let calendar = self.calendar(task).map_or(Cause::Choice, Cause::Calendar);
            return Reason { since: Some(cause), ..plain(calendar) };
        }
        if let Some(resource) = self.held_by_resource(task, way, open) {
            return Reason { since: Some(cause), ..plain(resource) };
        }
        let published = self.model.problem.tasks()[task].published;
        let kept = published.is_some_and(|published| published.start == start);
        plain(if kept { Cause::Published } else { Cause::Choice })
    }

    fn calendar(&self, task: usize) -> Option<CalendarId> {
        let mode = self.model.acts[task].ways[self.way[task]].mode;
        match self.model.problem.tasks()[task].modes[mode.at()].pace {
            Pace::Elapsed => None,
            Pace::Whole(calendar) | Pace::Pausing(calendar) => Some(calendar),
        }
    }

    /// The earliest start that arcs and the release allow, and which of them gives it.
    fn held_by_rules(&self, task: usize, way: &Way) -> (Tick, Cause) {
        let release = self.model.acts[task].release;
        let mut best =
            if release > 0 { (release, Cause::Release) } else { (0, Cause::Start) };
        for &number in &self.model.into[task] {
            let arc = &self.model.arcs[number];
            let mut bound = arc.earliest(self.tick(arc.from));
            if is_finish(arc.to) {
                bound = way.pattern.reaching(bound);
            }
            if bound > best.0 || (bound == best.0 && best.1 == Cause::Start) {
                let cause = match self.model.source(number) {
                    Source::Least(link) => Cause::Link(link, event(arc.from)),
                    Source::Greatest(link) => Cause::GreatestLag(link),
                    Source::Occupancy(occupancy) => Cause::Occupancy(occupancy),
                };
                best = (bound, cause);
            }
        }
        best
    }

    /// The resource that keeps the task from starting anywhere in `[from, start)`, and
    /// who has it then.
    fn held_by_resource(&mut self, task: usize, way: &Way, from: Tick) -> Option<Cause> {
        // Its own use is taken out for as long as it takes to look, and put back: a copy
        // of all profiles for each task would cost far more than the look.
        self.lift(task, way, 1);
        let found = self.last_lack(task, way, from);
        self.lift(task, way, -1);
        let (resource, lack) = found?;
        Some(self.blocked(task, resource, lack))
    }

    /// Gives back (1) or takes again (-1) what a task and its occupancies use.
    fn lift(&mut self, task: usize, way: &Way, sign: i32) {
        let free = &mut self.free;
        for_each_use(way, self.span[task], |resource, span, amount| {
            free[resource].add(span.0, span.1, sign * amount);
        });
        let act = &self.model.acts[task];
        let holds = act.opens.iter().chain(&act.closes).chain(&act.keeps);
        for hold in holds.map(|&number| self.model.holds[number]) {
            let from = self.tick(hold.from).max(hold.judged_from);
            let until = self.tick(hold.to);
            self.free[hold.resource].add(from, until, sign * hold.amount);
        }
    }

    fn last_lack(&self, task: usize, way: &Way, from: Tick) -> Option<(usize, Span)> {
        let start = self.span[task].0;
        let (mut tick, mut last) = (from, None);
        while let Some(span) = way.pattern.after(tick).filter(|span| span.0 < start) {
            let (resource, lack) = self.lack(task, way, span)?;
            last = Some((resource, lack));
            tick = lack.1.max(span.0 + 1);
        }
        last
    }

    /// The first resource that lacks for a span, and where.
    fn lack(&self, task: usize, way: &Way, span: Span) -> Option<(usize, Span)> {
        let free = &self.free;
        for entry in &way.uses {
            let resource = entry.resource;
            if entry.throughout > 0
                && let Some(lack) = free[resource].lack(span.0, span.1, entry.throughout)
            {
                return Some((resource, lack));
            }
            let mut found = None;
            if entry.working > 0 {
                let need = entry.throughout + entry.working;
                for_each_open(&way.pattern, span, |open| {
                    found = found.or_else(|| free[resource].lack(open.0, open.1, need));
                });
            }
            if let Some(lack) = found {
                return Some((resource, lack));
            }
        }
        let act = &self.model.acts[task];
        act.opens.iter().find_map(|&number| {
            let hold: Hold = self.model.holds[number];
            let from = if is_finish(hold.from) { span.1 } else { span.0 };
            let lack = free[hold.resource].lack(from, self.tick(hold.to), hold.amount)?;
            // A lack before the event does no harm: only its own start has to pass it.
            let until =
                if is_finish(hold.from) { way.pattern.reaching(lack.1) } else { lack.1 };
            Some((hold.resource, (lack.0, until)))
        })
    }

    fn blocked(&self, task: usize, resource: usize, lack: Span) -> Cause {
        let overlaps = |span: Span| span.0 < lack.1.max(lack.0 + 1) && span.1 > lack.0;
        let uses = |&other: &usize| {
            // Most tasks lie elsewhere: look at their uses only where they could matter.
            if !overlaps(self.span[other]) {
                return false;
            }
            let act = &self.model.acts[other];
            let mut found = false;
            for_each_use(&act.ways[self.way[other]], self.span[other], |r, span, _| {
                found |= r == resource && overlaps(span);
            });
            found && other != task
        };
        let mut blockers: Vec<usize> = (0..self.model.count()).filter(uses).collect();
        blockers.sort_by_key(|&other| (std::cmp::Reverse(self.span[other].1), other));
        let holds = self.model.holds.iter().enumerate().filter(|(_, hold)| {
            let ours = task_of(hold.from) == task || task_of(hold.to) == task;
            let span = (self.tick(hold.from), self.tick(hold.to));
            hold.resource == resource && !ours && overlaps(span)
        });
        let mut occupancies: Vec<(Tick, usize)> =
            holds.map(|(number, hold)| (-self.tick(hold.to), number)).collect();
        occupancies.sort_unstable();
        Cause::Resource {
            resource: ResourceId::new(resource),
            blockers: blockers.into_iter().map(TaskId::new).collect(),
            occupancies: occupancies
                .into_iter()
                .map(|(_, number)| OccupancyId::new(number))
                .collect(),
        }
    }
}
