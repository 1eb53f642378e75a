//! From an order of tasks to dates.
//!
//! **Serial scheme.** Tasks are taken in the order of their ranks, each as soon as those
//! that must be decoded before it are placed, and each is put at its earliest lawful span
//! beside those that are placed already. **Parallel scheme**: of all tasks that may be taken
//! the one that can start first goes first, ranks break ties. Serial schedules contain an
//! optimal one for every measure that never rewards being late; parallel schedules are
//! fewer, and good ones are found at once.
//!
//! **Upper bounds** (greatest lags, seen from the task that is placed second). Say `a` is
//! placed at 0, `b` must start within 3 of `a`'s finish, and the crew is busy until 9. Then
//! `b` is placed at 9 and `a`, which is now too early, is taken out and pushed to where `b`
//! is within its reach; it is placed again when its turn comes. Pushes only grow, so this
//! ends; it is the idea of unscheduling in reference 3, for events and calendars.
//!
//! **Occupancies** reserve from their first event for ever, and give back from their
//! second. A task that finds only capacity that is reserved so waits until it is given
//! back. If all that could be placed waits, stands are held by things whose refit waits for
//! tasks that need those stands: the last task to have taken a stand that the first waiting
//! task needs is taken out, with all that was decoded after it, and is not placed again
//! before the waiting task.
//!
//! **Unlawful schedules.** Capacity is always kept, deadlines and greatest lags are not where
//! repair ends; what is missing is summed as the `breach`, so that a search can shrink it.
//!
//! Sources, 1 and 3 from memory:
//! 1. R. Kolisch, *Serial and parallel resource-constrained project scheduling methods
//!    revisited*, European J. Operational Research 90 (1996) 320-333.
//! 2. Statements on the types of `timetable`.
//! 3. B. Franck, K. Neumann, C. Schwindt, *Truncated branch-and-bound, schedule-
//!    construction, and schedule-improvement procedures for resource-constrained project
//!    scheduling*, OR Spektrum 23 (2001) 297-324.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use timetable::{Assignment, Schedule, Tick};

use crate::arc::{Node, is_finish, task_of};
use crate::model::Model;
use crate::pattern::Span;
use crate::place::Fit;
use crate::room::Room;
use crate::steps::FAR;

/// What a search decides; the decoder does the rest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Recipe {
    /// The rank of each task; the smaller goes first.
    pub(crate) rank: Vec<u32>,
    /// The position among its [`ways`](crate::model::Act::ways) in which each task runs.
    pub(crate) way: Vec<u8>,
    /// Whether a task may start before its published start.
    pub(crate) hurry: Vec<bool>,
    /// Whether the parallel scheme decodes it.
    pub(crate) parallel: bool,
}

/// A decoded schedule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Plan {
    pub(crate) span: Vec<Span>,
    pub(crate) way: Vec<u8>,
    /// By how much deadlines and lags are broken, in ticks; 0 means lawful.
    pub(crate) breach: i64,
}

impl Plan {
    /// The schedule, in the problem's words.
    pub(crate) fn schedule(&self, model: &Model) -> Schedule {
        let assignment = |task: usize| {
            let act = &model.acts[task];
            let (start, finish) = self.span[task];
            let mode = act.ways[usize::from(self.way[task])].mode;
            act.fixed.unwrap_or(Assignment { mode, start, finish })
        };
        Schedule { assignments: (0..self.span.len()).map(assignment).collect() }
    }
}

/// Decodes recipes, one after the other, in the same memory.
#[derive(Debug)]
pub(crate) struct Decoder<'m> {
    pub(crate) model: &'m Model<'m>,
    pub(crate) free: Room<'m>,
    pub(crate) held: Vec<i32>,
    pub(crate) placed: Vec<bool>,
    pub(crate) span: Vec<Span>,
    pub(crate) way: Vec<u8>,
    /// Lower bounds that repair has raised, by event.
    pub(crate) push: Vec<Tick>,
    pub(crate) missing: Vec<u32>,
    heap: BinaryHeap<Reverse<(Tick, u32, usize)>>,
    pub(crate) waiting: Vec<Vec<usize>>,
    /// Tasks that may not come back before another is placed.
    pub(crate) behind: Vec<(usize, usize)>,
    /// When each task was placed, as a count.
    pub(crate) turn: Vec<u32>,
    turns: u32,
    pub(crate) repairs: usize,
    given_up: i64,
}

/// What became of an attempt to place a task.
enum Attempt {
    Placed,
    Later(Tick),
    Waits(usize),
    Never,
}

impl<'m> Decoder<'m> {
    /// A decoder for a model.
    pub(crate) fn new(model: &'m Model<'m>) -> Self {
        let (count, resources) = (model.count(), model.free.len());
        Self {
            model,
            free: Room::new(model.rows(), model.begun()),
            held: vec![0; resources],
            placed: vec![false; count],
            span: vec![(0, 0); count],
            way: vec![0; count],
            push: vec![0; 2 * count],
            missing: vec![0; count],
            heap: BinaryHeap::with_capacity(count),
            waiting: vec![Vec::new(); resources],
            behind: Vec::new(),
            turn: vec![0; count],
            turns: 0,
            repairs: 0,
            given_up: 0,
        }
    }

    /// Decodes. `floor` gives each task a start that it must not go below, if anything.
    pub(crate) fn decode(&mut self, recipe: &Recipe, floor: Option<&[Tick]>) -> Plan {
        self.decode_while(recipe, floor, &|| true)
    }

    /// Decodes as long as `go_on` says so; what is not placed by then counts as a breach.
    pub(crate) fn decode_while(
        &mut self,
        recipe: &Recipe,
        floor: Option<&[Tick]>,
        go_on: &dyn Fn() -> bool,
    ) -> Plan {
        self.reset(recipe);
        let mut taken = 0_u32;
        loop {
            while let Some(Reverse((key, rank, task))) = self.heap.pop() {
                taken += 1;
                if taken.is_multiple_of(256) && !go_on() {
                    return self.plan();
                }
                if !self.placed[task] && self.ready(task) {
                    self.take(recipe, floor, task, (key, rank));
                }
            }
            if !self.untangle(recipe) {
                break;
            }
        }
        self.plan()
    }

    fn reset(&mut self, recipe: &Recipe) {
        self.free.clear(self.model.begun());
        self.held.copy_from_slice(&self.model.held);
        self.push.fill(0);
        self.missing.copy_from_slice(&self.model.before);
        self.heap.clear();
        self.waiting.iter_mut().for_each(Vec::clear);
        self.behind.clear();
        (self.turns, self.repairs, self.given_up) = (0, 0, 0);
        for task in 0..self.model.count() {
            self.way[task] = recipe.way[task]
                .min((self.model.acts[task].ways.len().min(256) - 1) as u8);
            let fixed = self.model.acts[task].fixed;
            self.placed[task] = fixed.is_some();
            self.span[task] = (0, 0);
            if let Some(fixed) = fixed {
                self.span[task] = (fixed.start, fixed.finish);
                for &next in &self.model.next[task] {
                    self.missing[next] -= 1;
                }
            }
        }
        for task in 0..self.model.count() {
            self.offer(recipe, task);
        }
    }

    pub(crate) fn ready(&self, task: usize) -> bool {
        self.missing[task] == 0
            && !self
                .behind
                .iter()
                .any(|&(kept, first)| kept == task && !self.placed[first])
    }

    /// Puts a task among those that may be taken, if it may.
    pub(crate) fn offer(&mut self, recipe: &Recipe, task: usize) {
        if !self.placed[task] && self.ready(task) {
            let key = if recipe.parallel { self.lower(task).0 } else { 0 };
            self.heap.push(Reverse((key, recipe.rank[task], task)));
        }
    }

    fn take(
        &mut self,
        recipe: &Recipe,
        floor: Option<&[Tick]>,
        task: usize,
        (key, rank): (Tick, u32),
    ) {
        match self.attempt(recipe, floor, task, key) {
            Attempt::Placed => {
                for position in 0..self.model.next[task].len() {
                    let next = self.model.next[task][position];
                    self.missing[next] -= 1;
                    self.offer(recipe, next);
                }
                self.bring_back(recipe, task);
                self.wake(recipe, task);
            }
            Attempt::Later(tick) => self.heap.push(Reverse((tick, rank, task))),
            Attempt::Waits(resource) => self.waiting[resource].push(task),
            Attempt::Never => self.give_up(task),
        }
    }

    /// Offers again what was kept behind a task that is placed now.
    fn bring_back(&mut self, recipe: &Recipe, task: usize) {
        let (ours, rest) = self.behind.iter().partition(|&&(_, first)| first == task);
        let ours: Vec<(usize, usize)> = ours;
        self.behind = rest;
        for (other, _) in ours {
            self.offer(recipe, other);
        }
    }

    /// Offers again what waited for a resource that this task gives back.
    fn wake(&mut self, recipe: &Recipe, task: usize) {
        for position in 0..self.model.acts[task].closes.len() {
            let hold = self.model.acts[task].closes[position];
            self.wake_resource(recipe, self.model.holds[hold].resource);
        }
    }

    pub(crate) fn wake_resource(&mut self, recipe: &Recipe, resource: usize) {
        for task in std::mem::take(&mut self.waiting[resource]) {
            self.offer(recipe, task);
        }
    }

    fn attempt(
        &mut self,
        recipe: &Recipe,
        floor: Option<&[Tick]>,
        task: usize,
        key: Tick,
    ) -> Attempt {
        let (mut start, finish) = self.lower(task);
        start = start.max(floor.map_or(0, |floor| floor[task]));
        let published = self.model.problem.tasks()[task].published;
        let patient = published
            .filter(|_| !recipe.hurry[task])
            .map_or(start, |published| start.max(published.start));
        let mut fit = self.fit(task, patient, finish);
        let late = |fit: &Fit| !matches!(fit, Fit::At(span) if !self.breaks(task, *span));
        if patient > start && late(&fit) {
            fit = self.fit(task, start, finish);
        }
        match fit {
            Fit::At(span) if recipe.parallel && span.0 > key => Attempt::Later(span.0),
            Fit::At(span) => {
                if self.push_behind_gaps(recipe, task, span) {
                    return Attempt::Later(key);
                }
                let pushed = self.push_apart(recipe, task, span);
                if pushed && self.fit(task, span.0, span.1) != Fit::At(span) {
                    return Attempt::Later(key);
                }
                self.put(task, span);
                Attempt::Placed
            }
            Fit::Waits(resource) => Attempt::Waits(resource),
            Fit::Never => Attempt::Never,
        }
    }

    /// The lower bounds of a task's start and finish beside what is placed.
    pub(crate) fn lower(&self, task: usize) -> Span {
        self.model.earliest_beside(task, &self.push, &self.placed, &self.span)
    }

    /// Whether a span would break the deadline or an arc to a placed task.
    fn breaks(&self, task: usize, span: Span) -> bool {
        let model = self.model;
        let broken = |&number: &usize| {
            let arc = &model.arcs[number];
            let tick = if is_finish(arc.from) { span.1 } else { span.0 };
            self.placed[task_of(arc.to)] && arc.earliest(tick) > self.tick(arc.to)
        };
        span.1 > model.acts[task].deadline || model.out[task].iter().any(broken)
    }

    /// The tick of an event of a placed task.
    pub(crate) fn tick(&self, node: Node) -> Tick {
        let span = self.span[task_of(node)];
        if is_finish(node) { span.1 } else { span.0 }
    }

    fn put(&mut self, task: usize, span: Span) {
        self.placed[task] = true;
        self.span[task] = span;
        self.turns += 1;
        self.turn[task] = self.turns;
        self.book(task, 1);
    }

    /// Books what a placed task uses, begins and ends, or takes it back (`sign` -1). While
    /// only one end of an occupancy is placed, the first reserves for ever, and the
    /// second alone nothing.
    pub(crate) fn book(&mut self, task: usize, sign: i32) {
        let model = self.model;
        let act = &model.acts[task];
        let way = &act.ways[usize::from(self.way[task])];
        self.free.book((task, self.way[task]), way, self.span[task], sign);
        for &number in &act.keeps {
            let hold = model.holds[number];
            let (from, to) = (self.tick(hold.from), self.tick(hold.to));
            self.free[hold.resource].add(from, to, -sign * hold.amount);
        }
        for &number in &act.opens {
            let hold = model.holds[number];
            let from = self.tick(hold.from);
            let known = self.placed[task_of(hold.to)];
            let until = if known { self.tick(hold.to) } else { FAR };
            self.free[hold.resource].add(from, until, -sign * hold.amount);
            self.held[hold.resource] += if known { 0 } else { sign * hold.amount };
        }
        for &number in &act.closes {
            let hold = model.holds[number];
            if self.placed[task_of(hold.from)] {
                let until = self.tick(hold.to).max(self.tick(hold.from));
                self.free[hold.resource].add(until, FAR, sign * hold.amount);
                self.held[hold.resource] -= sign * hold.amount;
            }
        }
    }

    pub(crate) fn give_up(&mut self, task: usize) {
        let late = i64::from(self.model.acts[task].deadline) + 1_000;
        self.given_up = self.given_up.saturating_add(late);
    }

    fn plan(&self) -> Plan {
        let unplaced = self.placed.iter().filter(|&&placed| !placed).count() as i64;
        let mut breach = self.given_up + 1_000_000 * unplaced;
        if unplaced == 0 {
            breach = breach_of(self.model, &self.span);
            let over = self.free.is_overdrawn();
            breach += if over { 1_000 } else { 0 };
        }
        breach += self.model.stock_breach(&self.way);
        Plan { span: self.span.clone(), way: self.way.clone(), breach }
    }
}

/// By how many ticks spans break releases, deadlines and arcs, summed.
pub(crate) fn breach_of(model: &Model, span: &[Span]) -> i64 {
    let tick = |node: Node| {
        let span = span[task_of(node)];
        if is_finish(node) { span.1 } else { span.0 }
    };
    let late = model.acts.iter().zip(span).map(|(act, span)| {
        if act.fixed.is_some() {
            return 0;
        }
        (span.1 - act.deadline).max(0) + (act.release - span.0).max(0)
    });
    let apart =
        model.arcs.iter().map(|arc| (arc.earliest(tick(arc.from)) - tick(arc.to)).max(0));
    late.chain(apart).map(i64::from).sum()
}
