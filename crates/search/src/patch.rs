//! A part of a schedule taken out, to be done anew while all else stays where it is.
//!
//! The tasks that are taken out become a problem of their own. What stays is seen through what
//! it leaves: capacity that it does not use, and for each event the ticks between which its
//! lags to what stays hold. Occupancies of which one end stays begin or end at a tick. A
//! schedule of the part, put back, is one of the whole; it is lawful if the rest was.

use std::collections::BTreeMap;

use timetable::{
    Event, Link, Mode, Occupancy, Problem, Profile, Progress, Resource, ResourceId,
    Schedule, Stock, Task, TaskId, Tick,
};

use crate::arc::{Node, Source, is_finish, task_of};
use crate::model::{Model, event, for_each_use};
use crate::pattern::Span;
use crate::steps::Steps;

/// A schedule of the whole: where each task is, and in which of its ways.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Layout {
    pub(crate) span: Vec<Span>,
    pub(crate) way: Vec<u8>,
}

impl Layout {
    /// The layout of a schedule; nothing if a mode is not among the ways that can be.
    pub(crate) fn of(model: &Model, schedule: &Schedule) -> Option<Self> {
        let ways = model.acts.iter().zip(&schedule.assignments).map(|(act, run)| {
            let found = act.ways.iter().position(|way| way.mode == run.mode);
            found.and_then(|way| u8::try_from(way).ok())
        });
        let way = ways.collect::<Option<_>>()?;
        let span =
            schedule.assignments.iter().map(|run| (run.start, run.finish)).collect();
        Some(Self { span, way })
    }

    /// The tick of an event.
    pub(crate) fn tick(&self, node: Node) -> Tick {
        let span = self.span[task_of(node)];
        if is_finish(node) { span.1 } else { span.0 }
    }

    /// What tasks and occupancies leave of the capacities, those that are taken out left out.
    pub(crate) fn rest(&self, model: &Model, out: &[bool]) -> Vec<Steps> {
        let mut rest = model.static_free.clone();
        for (task, act) in model.acts.iter().enumerate() {
            if act.fixed.is_none() && !out[task] {
                let way = &act.ways[usize::from(self.way[task])];
                for_each_use(way, self.span[task], |resource, span, amount| {
                    rest[resource].add(span.0, span.1, -amount);
                });
            }
        }
        for hold in &model.holds {
            let known =
                model.fixed(hold.from).is_some() && model.fixed(hold.to).is_some();
            if !known && !out[task_of(hold.from)] && !out[task_of(hold.to)] {
                let from = self.tick(hold.from).max(hold.judged_from);
                rest[hold.resource].add(from, self.tick(hold.to), -hold.amount);
            }
        }
        rest
    }
}

/// A part of a schedule as a problem.
#[derive(Debug)]
pub(crate) struct Patch {
    pub(crate) problem: Problem,
    /// The task of the whole for each task of the part, after those that stand for ticks.
    pub(crate) tasks: Vec<usize>,
    /// How many tasks of the part stand for ticks of what stays.
    pub(crate) still: usize,
}

impl Patch {
    /// Takes tasks out. What stays ends at `floor` or earlier, so the length of the part is
    /// at least that; all of the part has to be over by `until`. Nothing if an event
    /// has no place left.
    pub(crate) fn new(
        model: &Model,
        layout: &Layout,
        tasks: &[usize],
        floor: Tick,
        until: &dyn Fn(usize) -> Tick,
    ) -> Option<Self> {
        let mut out = vec![false; model.count()];
        for &task in tasks {
            out[task] = true;
        }
        let rest = layout.rest(model, &out);
        let mut builder = Builder {
            model,
            layout,
            out: &out,
            number: BTreeMap::new(),
            ticks: BTreeMap::new(),
            still: Vec::new(),
            links: Vec::new(),
            occupancies: Vec::new(),
        };
        builder.still(0);
        builder.still(floor.max(0));
        builder.occupancy_ticks();
        let base = builder.still.len();
        for (position, &task) in tasks.iter().enumerate() {
            builder.number.insert(task, base + position);
        }
        let own: Option<Vec<Task>> =
            tasks.iter().map(|&task| builder.task(task, until(task))).collect();
        builder.links(tasks);
        builder.occupancies();
        builder.finish(own?, tasks, &rest)
    }

    /// The layout of the whole, with a schedule of the part in it.
    pub(crate) fn put_back(
        &self,
        model: &Model,
        layout: &Layout,
        part: &Schedule,
    ) -> Option<Layout> {
        let mut whole = layout.clone();
        for (&task, run) in self.tasks.iter().zip(&part.assignments[self.still..]) {
            let way =
                model.acts[task].ways.iter().position(|way| way.mode == run.mode)?;
            whole.span[task] = (run.start, run.finish);
            whole.way[task] = way as u8;
        }
        Some(whole)
    }

    /// Where the part is in a layout of the whole.
    pub(crate) fn cut(&self, model: &Model, layout: &Layout) -> Schedule {
        let mut assignments: Vec<_> = self.problem.tasks()[..self.still]
            .iter()
            .map(|task| match task.progress {
                Progress::Done { mode, start, finish } => {
                    timetable::Assignment { mode, start, finish }
                }
                _ => timetable::Assignment {
                    mode: timetable::ModeId(0),
                    start: 0,
                    finish: 0,
                },
            })
            .collect();
        assignments.extend(self.tasks.iter().map(|&task| {
            let (start, finish) = layout.span[task];
            let mode = model.acts[task].ways[usize::from(layout.way[task])].mode;
            timetable::Assignment { mode, start, finish }
        }));
        Schedule { assignments }
    }
}

struct Builder<'a, 'm> {
    model: &'a Model<'m>,
    layout: &'a Layout,
    out: &'a [bool],
    number: BTreeMap<usize, usize>,
    /// The task that ends at a tick.
    ticks: BTreeMap<Tick, usize>,
    still: Vec<Task>,
    links: Vec<Link>,
    occupancies: Vec<Occupancy>,
}

impl Builder<'_, '_> {
    /// A task that is done from tick 0 to a tick.
    fn still(&mut self, tick: Tick) -> usize {
        if let Some(&number) = self.ticks.get(&tick) {
            return number;
        }
        let mut task = Task::new("", Mode::elapsed(0, Vec::new()));
        task.progress =
            Progress::Done { mode: timetable::ModeId(0), start: 0, finish: tick };
        self.still.push(task);
        self.ticks.insert(tick, self.still.len() - 1);
        self.still.len() - 1
    }

    fn is_out(&self, node: Node) -> bool {
        self.out[task_of(node)]
    }

    fn occupancy_ticks(&mut self) {
        for number in 0..self.model.holds.len() {
            let hold = self.model.holds[number];
            match (self.is_out(hold.from), self.is_out(hold.to)) {
                (true, false) => self.still(self.layout.tick(hold.to)),
                (false, true) => {
                    self.still(self.layout.tick(hold.from).max(hold.judged_from))
                }
                _ => continue,
            };
        }
    }

    /// A task that is taken out, between the ticks that what stays allows.
    fn task(&mut self, task: usize, until: Tick) -> Option<Task> {
        let horizon = self.model.problem.horizon();
        let mut data = self.model.problem.tasks()[task].clone();
        data.name.clear();
        let act = &self.model.acts[task];
        let mut least = [act.release, 0];
        let mut most = [act.deadline.min(until); 2];
        for &number in &self.model.into[task] {
            let arc = &self.model.arcs[number];
            if !self.is_out(arc.from) {
                let tick = arc.earliest(self.layout.tick(arc.from));
                let end = usize::from(is_finish(arc.to));
                least[end] = least[end].max(tick);
            }
        }
        for &number in &self.model.out[task] {
            let arc = &self.model.arcs[number];
            if !self.is_out(arc.to) {
                let tick = arc.latest(self.layout.tick(arc.to));
                let end = usize::from(is_finish(arc.from));
                most[end] = most[end].min(tick);
            }
        }
        if least[0] > most[0] || least[1] > most[1] || least[0] > horizon {
            return None;
        }
        data.release = least[0].max(0);
        data.deadline = Some(most[1]);
        let number = self.number[&task];
        let origin = Event::start(TaskId(0));
        if most[0] < most[1] {
            let start = Event::start(TaskId::new(number));
            self.links.push(Link::greatest(origin, start, most[0]));
        }
        if least[1] > least[0] {
            let finish = Event::finish(TaskId::new(number));
            self.links.push(Link::least(origin, finish, least[1]));
        }
        Some(data)
    }

    fn event(&self, node: Node) -> Event {
        let task = TaskId::new(self.number[&task_of(node)]);
        Event { task, ..event(node) }
    }

    /// The links between tasks that are taken out.
    fn links(&mut self, tasks: &[usize]) {
        let model = self.model;
        let mut ids = Vec::new();
        for &task in tasks {
            for &number in model.out[task].iter().chain(&model.own[task]) {
                let arc = &model.arcs[number];
                if !self.is_out(arc.to) {
                    continue;
                }
                if let Source::Least(id) | Source::Greatest(id) = arc.source {
                    ids.push(id);
                }
            }
        }
        ids.sort_unstable();
        ids.dedup();
        for id in ids {
            let link = model.problem.links()[id.at()];
            let (from, to) = (crate::arc::node(link.from), crate::arc::node(link.to));
            self.links.push(Link { from: self.event(from), to: self.event(to), ..link });
        }
    }

    fn occupancies(&mut self) {
        for number in 0..self.model.holds.len() {
            let hold = self.model.holds[number];
            let (out_from, out_to) = (self.is_out(hold.from), self.is_out(hold.to));
            if !out_from && !out_to {
                continue;
            }
            let at = |tick: Tick| Event::finish(TaskId::new(self.ticks[&tick]));
            let from = if out_from {
                self.event(hold.from)
            } else {
                at(self.layout.tick(hold.from).max(hold.judged_from))
            };
            let to =
                if out_to { self.event(hold.to) } else { at(self.layout.tick(hold.to)) };
            let resource = ResourceId::new(hold.resource);
            let amount = hold.amount as u32;
            self.occupancies.push(Occupancy { resource, amount, from, to });
        }
    }

    fn finish(self, own: Vec<Task>, tasks: &[usize], rest: &[Steps]) -> Option<Patch> {
        let problem = self.model.problem;
        let resources: Option<Vec<Resource>> = rest
            .iter()
            .enumerate()
            .map(|(number, steps)| {
                let used = self.uses(number, tasks);
                let levels = steps.segments().map(|(at, free)| {
                    (at, if used { u32::try_from(free).unwrap_or(0) } else { 0 })
                });
                let capacity = if used {
                    Profile::new(levels.collect()).ok()?
                } else {
                    Profile::constant(0)
                };
                Some(Resource { name: String::new(), capacity })
            })
            .collect();
        let (still, stocks) = (self.still.len(), self.stocks());
        let all = self.still.into_iter().chain(own).collect();
        let part = Problem::stocked(
            problem.horizon(),
            all,
            resources?,
            stocks,
            problem.calendars().to_vec(),
            self.links,
            self.occupancies,
        );
        Some(Patch { problem: part.ok()?, tasks: tasks.to_vec(), still })
    }

    /// What the tasks that stay leave of the stocks.
    fn stocks(&self) -> Vec<Stock> {
        let problem = self.model.problem;
        if problem.stocks().is_empty() {
            return Vec::new();
        }
        let mut left: Vec<i64> =
            problem.stocks().iter().map(|stock| stock.available).collect();
        for (task, act) in self.model.acts.iter().enumerate() {
            if self.out[task] {
                continue;
            }
            let way = act.ways.get(usize::from(self.layout.way[task]));
            let mode = way.map(|way| &problem.tasks()[task].modes[way.mode.at()]);
            for take in mode.map_or(&[][..], |mode| &mode.takes) {
                left[take.stock.at()] -= take.amount;
            }
        }
        let stock = |left: i64| Stock { name: String::new(), available: left.max(0) };
        left.into_iter().map(stock).collect()
    }

    /// Whether tasks that are taken out, or their occupancies, use a resource.
    fn uses(&self, resource: usize, tasks: &[usize]) -> bool {
        let id = ResourceId::new(resource);
        let works = tasks.iter().any(|&task| {
            let ways = &self.model.acts[task].ways;
            ways.iter().any(|way| way.uses.iter().any(|entry| entry.resource == resource))
        });
        works || self.occupancies.iter().any(|hold| hold.resource == id)
    }
}
