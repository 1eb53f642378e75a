//! A complete schedule from which tasks are taken, and to which they return elsewhere.
//!
//! A [decoder](crate::decode) places every task for each schedule. Most changes that are
//! worth trying concern a few tasks, so here everything else stays where it is: a move takes
//! out some tasks, gives each a priority, and [`Board::settle`] puts them back one by one
//! at their earliest spans beside all that is placed. What then stands too early (a follower
//! whose work before it moved, a partner within a greatest lag) is taken out as well and
//! pushed; so is whoever uses a stand that its holder has to keep for longer. Pushes
//! only grow, and a move that takes out too many is given up: [`Board::undo`] puts
//! everything back as it was.
//!
//! **Occupancies.** While both ends are placed, what lies between them is booked. While only
//! the beginning is, it is booked for as long as it lasted before: about as long as it will
//! last again. While only the end is, nothing is.
//!
//! Worked case. One crew, `a` in `[0, 4)` and `b`, which is late, in `[4, 6)`. Both are taken
//! out; `b` has the better priority and returns to `[0, 2)`, `a` to `[2, 6)`. A cure that has to
//! follow `a` at once and stood in `[4, 9)` is too early now, and moves to `[6, 11)`.
//!
//! Sources (from memory): P. Shaw, *Using constraint programming and local search methods to
//! solve vehicle routing problems*, CP 1998, for large neighbourhoods; D. Godard, P. Laborie,
//! W. Nuijten, *Randomized large neighborhood search for cumulative scheduling*, ICAPS 2005;
//! Franck, Neumann and Schwindt 2001 (see [`decode`](crate::decode)) for pushing.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use timetable::Tick;

use crate::arc::{Node, is_finish, task_of};
use crate::decode::{Plan, breach_of};
use crate::model::{Hold, Model};
use crate::pattern::Span;
use crate::room::Room;
use crate::squeeze::Aim;
use crate::worth::{Stake, Worth};

/// A schedule and what is free beside it.
#[derive(Debug)]
pub(crate) struct Board<'m> {
    pub(crate) model: &'m Model<'m>,
    pub(crate) free: Room<'m>,
    pub(crate) placed: Vec<bool>,
    pub(crate) span: Vec<Span>,
    pub(crate) way: Vec<u8>,
    /// The tick that each task waits for, if it can.
    pub(crate) wish: Vec<Tick>,
    /// What is booked for each occupancy; empty if nothing is.
    pub(crate) booked: Vec<Span>,
    /// How long each occupancy lasted when both its ends were placed last.
    gap: Vec<Tick>,
    /// Lower bounds that the move under way has raised, by event.
    push: Vec<Tick>,
    missing: Vec<u32>,
    unplaced: usize,
    queue: BinaryHeap<Reverse<(i64, usize)>>,
    /// The priority of each task that is out.
    priority: Vec<i64>,
    /// The tasks that the move under way took out, as they were.
    saved: Vec<Saved>,
    /// The schedule before the move under way.
    before: Vec<Span>,
    is_saved: Vec<bool>,
    pub(crate) stakes: Vec<Stake>,
    /// What placed tasks take of each stock, and by how much that was too much when no move
    /// was under way.
    pub(crate) taken: Vec<i64>,
    pub(crate) excess: i64,
    /// What the schedule is worth, as long as no move is under way.
    pub(crate) worth: Worth,
    allowance: usize,
    /// Lateness against deadlines, tardiness, cost and strain of what is placed, and what they
    /// must not exceed.
    running: [i64; 4],
    limit: [i64; 4],
    /// For each resource the tasks that may use it, and the occupancies of it.
    pub(crate) users: Vec<Vec<u32>>,
    pub(crate) holders: Vec<Vec<u32>>,
    /// Tasks placed so far, by all moves.
    pub(crate) placements: u64,
}

/// A task as it was before a move.
#[derive(Debug, Clone, Copy)]
struct Saved {
    task: usize,
    span: Span,
    way: u8,
}

impl<'m> Board<'m> {
    /// An empty board.
    pub(crate) fn new(model: &'m Model<'m>) -> Self {
        let (count, holds) = (model.count(), model.holds.len());
        let mut users = vec![Vec::new(); model.static_free.len()];
        let mut holders = vec![Vec::new(); model.static_free.len()];
        for (task, act) in model.acts.iter().enumerate() {
            for entry in act.ways.iter().flat_map(|way| &way.uses) {
                let list: &mut Vec<u32> = &mut users[entry.resource];
                if act.fixed.is_none() && list.last() != Some(&(task as u32)) {
                    list.push(task as u32);
                }
            }
        }
        for (number, hold) in model.holds.iter().enumerate() {
            holders[hold.resource].push(number as u32);
        }
        Self {
            model,
            free: Room::new(model.rows(), model.bare()),
            placed: vec![false; count],
            span: vec![(0, 0); count],
            way: vec![0; count],
            wish: vec![0; count],
            booked: vec![(0, 0); holds],
            gap: vec![0; holds],
            push: vec![0; 2 * count],
            missing: vec![0; count],
            unplaced: 0,
            queue: BinaryHeap::new(),
            priority: vec![0; count],
            saved: Vec::new(),
            before: vec![(0, 0); count],
            is_saved: vec![false; count],
            stakes: Stake::all(model),
            taken: vec![0; model.stocks.ids.len()],
            excess: 0,
            worth: Worth::default(),
            allowance: 0,
            running: [0; 4],
            limit: [i64::MAX; 4],
            users,
            holders,
            placements: 0,
        }
    }

    /// Takes over a plan, and places what it does not place. False if the plan uses more
    /// than there is of something, or what it lacks can't be placed.
    pub(crate) fn load(&mut self, plan: &Plan) -> bool {
        self.clear_all();
        self.span.copy_from_slice(&plan.span);
        self.way.copy_from_slice(&plan.way);
        for task in 0..self.model.count() {
            let act = &self.model.acts[task];
            let pattern = &act.ways[usize::from(self.way[task])].pattern;
            match act.fixed {
                Some(fixed) => self.span[task] = (fixed.start, fixed.finish),
                None if pattern.after(self.span[task].0) != Some(self.span[task])
                    || self.span[task].0 < act.release =>
                {
                    self.leave_out(task, i64::from(self.model.windows.late[2 * task]));
                }
                None => {
                    let way = &act.ways[usize::from(self.way[task])];
                    let which = (task, self.way[task]);
                    if !self.free.suffices(which, way, self.span[task]) {
                        return false;
                    }
                    self.use_up(task, 1);
                }
            }
        }
        for hold in 0..self.model.holds.len() {
            self.rebook(hold);
            self.gap[hold] = self.booked[hold].1 - self.booked[hold].0;
        }
        !self.free.is_overdrawn() && self.place_rest(&|| false)
    }

    /// Builds a schedule from nothing, the tasks in the order of their ranks. False if that
    /// fails; it may break deadlines.
    pub(crate) fn build(
        &mut self,
        rank: &[u32],
        way: &[u8],
        wish: &[Tick],
        halt: &dyn Fn() -> bool,
    ) -> bool {
        self.clear_all();
        self.way.copy_from_slice(way);
        self.wish.copy_from_slice(wish);
        for (task, &rank) in rank.iter().enumerate() {
            match self.model.acts[task].fixed {
                Some(fixed) => self.span[task] = (fixed.start, fixed.finish),
                None => self.leave_out(task, i64::from(rank)),
            }
        }
        let early = &self.model.windows.early;
        for hold in 0..self.model.holds.len() {
            let Hold { from, to, .. } = self.model.holds[hold];
            self.gap[hold] = (early[to] - early[from]).max(0);
            self.rebook(hold);
        }
        self.place_rest(halt)
    }

    /// Places all that is out, and measures what that gives. False if it can't, or is stopped.
    fn place_rest(&mut self, halt: &dyn Fn() -> bool) -> bool {
        // Whatever is still to be placed may break rules; that is counted afterwards.
        self.worth.breach = i64::MAX;
        self.begin(4 * self.model.count() + 20, [i64::MAX; 4]);
        let whole = self.settle_until(halt);
        self.keep(Worth::default());
        if whole {
            self.worth = self.measure();
        }
        whole
    }

    /// Takes over of a plan what can stay: the tasks are taken in the order of their
    /// starts, and each that no rule forbids beside those before it stays where the plan has
    /// it. The others return as near behind as they can, and push what they must. False if
    /// that fails; what is worth how much says whether the result is lawful.
    pub(crate) fn take_over(&mut self, plan: &Plan) -> bool {
        self.clear_all();
        self.span.copy_from_slice(&plan.span);
        self.way.copy_from_slice(&plan.way);
        for task in 0..self.model.count() {
            match self.model.acts[task].fixed {
                Some(fixed) => self.span[task] = (fixed.start, fixed.finish),
                None => self.leave_out(task, i64::from(self.span[task].0)),
            }
        }
        for hold in 0..self.model.holds.len() {
            let Hold { from, to, .. } = self.model.holds[hold];
            self.gap[hold] = (self.tick(to) - self.tick(from)).max(0);
            self.rebook(hold);
        }
        let mut order: Vec<usize> =
            (0..self.model.count()).filter(|&task| !self.placed[task]).collect();
        order.sort_by_key(|&task| (self.span[task], task));
        for task in order {
            let span = self.span[task];
            self.wish[task] = span.0;
            if self.can_stay(task, span) {
                self.put(task, span);
            }
        }
        self.place_rest(&|| false)
    }

    /// Whether nothing that is placed forbids a span of a task.
    fn can_stay(&self, task: usize, span: Span) -> bool {
        let (start, finish) = self.lower(task);
        span.0 >= start
            && span.1 >= finish
            && !self.breaks(task, span)
            && self.fit(task, span.0, span.1) == Some(span)
    }

    /// A task of a new schedule that is still to be placed.
    fn leave_out(&mut self, task: usize, priority: i64) {
        self.placed[task] = false;
        self.unplaced += 1;
        self.priority[task] = priority;
        for &next in &self.model.next[task] {
            self.missing[next] += 1;
        }
        self.queue.push(Reverse((priority, task)));
    }

    fn clear_all(&mut self) {
        self.free.clear(self.model.bare());
        self.placed.fill(true);
        self.wish.fill(0);
        self.booked.fill((0, 0));
        self.missing.fill(0);
        self.taken.fill(0);
        self.push.fill(0);
        self.queue.clear();
        self.saved.clear();
        self.is_saved.fill(false);
        self.unplaced = 0;
    }

    /// The schedule as a plan, as long as no move is under way.
    pub(crate) fn plan(&self) -> Plan {
        let breach = self.worth.breach;
        Plan { span: self.span.clone(), way: self.way.clone(), breach }
    }

    /// Begins a move, in which so many tasks may be taken out that nobody asked for, and
    /// which is given up as soon as breach, tardiness, cost and strain, in this order,
    /// exceed a limit.
    pub(crate) fn begin(&mut self, allowance: usize, limit: [i64; 4]) {
        self.allowance = allowance;
        self.running =
            [self.worth.breach, self.worth.tardiness, self.worth.cost, self.worth.strain];
        self.limit = limit;
    }

    /// Lets a move take out some more.
    pub(crate) fn allow(&mut self, allowance: usize) {
        self.allowance = allowance;
    }

    /// Takes out a task that is not fixed, to come back by a priority: the smaller comes
    /// first. Nothing happens if it is out already.
    pub(crate) fn take_out(&mut self, task: usize, priority: i64) {
        if !self.placed[task] || self.model.acts[task].fixed.is_some() {
            return;
        }
        if !self.is_saved[task] {
            self.is_saved[task] = true;
            let (span, way) = (self.span[task], self.way[task]);
            self.saved.push(Saved { task, span, way });
        }
        self.lift(task);
        self.priority[task] = priority;
        self.queue.push(Reverse((priority, task)));
    }

    /// Aims at a length: how late tasks end for it becomes part of what a schedule is worth.
    pub(crate) fn aim(&mut self, aims: &[Aim]) {
        for (stake, &aim) in self.stakes.iter_mut().zip(aims) {
            stake.aim = aim;
        }
        self.worth = self.measure();
    }

    /// Puts all that was taken out back by priority. False if that fails; the move has to
    /// be undone then.
    pub(crate) fn settle(&mut self) -> bool {
        self.settle_until(&|| false)
    }

    /// The same, unless it is stopped: thousands of tasks take tens of milliseconds.
    fn settle_until(&mut self, halt: &dyn Fn() -> bool) -> bool {
        const OFTEN: usize = 64;
        let mut turns = 0_usize;
        while let Some(Reverse((_, task))) = self.queue.pop() {
            turns += 1;
            if turns.is_multiple_of(OFTEN) && halt() {
                return false;
            }
            // What comes before it brings it back.
            if self.placed[task] || self.missing[task] > 0 {
                continue;
            }
            if !self.insert(task) || self.running > self.limit {
                return false;
            }
            for &next in &self.model.next[task] {
                if !self.placed[next] && self.missing[next] == 0 {
                    self.queue.push(Reverse((self.priority[next], next)));
                }
            }
        }
        self.unplaced == 0
    }

    /// What the schedule would be worth, after a move that settled.
    pub(crate) fn judged(&self) -> Worth {
        let mut worth = self.worth;
        let (mut shrinks, mut length) = (false, worth.length);
        for &Saved { task, span, way } in &self.saved {
            let stake = &self.stakes[task];
            let (now, chosen) = (self.span[task], self.way[task]);
            worth = worth
                .without(&stake.share(self.model, task, span, way))
                .with(&stake.share(self.model, task, now, chosen));
            shrinks |= span.1 == worth.length && now.1 < span.1;
            length = length.max(now.1);
        }
        if shrinks && length == worth.length {
            length = self.span.iter().map(|span| span.1).max().unwrap_or(0);
        }
        worth.length = length;
        worth.breach += self.breach_of_saved(&self.span);
        worth.breach += self.model.stocks.excess(&self.taken) - self.excess;
        if self.worth.breach > 0 {
            worth.breach -= self.breach_of_saved(&self.before);
        }
        worth
    }

    /// Keeps what a move did.
    pub(crate) fn keep(&mut self, worth: Worth) {
        self.worth = worth;
        self.excess = self.model.stocks.excess(&self.taken);
        for saved in std::mem::take(&mut self.saved) {
            self.is_saved[saved.task] = false;
            self.before[saved.task] = self.span[saved.task];
            self.push[2 * saved.task] = 0;
            self.push[2 * saved.task + 1] = 0;
            let act = &self.model.acts[saved.task];
            for &hold in act.opens.iter().chain(&act.closes) {
                self.gap[hold] = self.booked[hold].1 - self.booked[hold].0;
            }
        }
        self.queue.clear();
    }

    /// Puts everything back as it was before a move.
    pub(crate) fn undo(&mut self) {
        self.queue.clear();
        let saved = std::mem::take(&mut self.saved);
        for saved in &saved {
            if self.placed[saved.task] {
                self.lift(saved.task);
            }
        }
        for &Saved { task, span, way } in &saved {
            self.way[task] = way;
            self.is_saved[task] = false;
            self.push[2 * task] = 0;
            self.push[2 * task + 1] = 0;
            self.put(task, span);
        }
    }

    /// The tasks that are out of those that the move under way took out.
    pub(crate) fn out(&self) -> impl Iterator<Item = usize> + '_ {
        let saved = self.saved.iter().map(|saved| saved.task);
        saved.filter(|&task| !self.placed[task])
    }

    /// Gives the tasks that are out the ways that they had before the move.
    pub(crate) fn old_ways(&mut self) {
        for &Saved { task, way, .. } in &self.saved {
            if !self.placed[task] {
                self.way[task] = way;
            }
        }
    }

    /// How many tasks the move under way took out.
    pub(crate) fn moved(&self) -> usize {
        self.saved.len()
    }

    /// The tick of an event.
    pub(crate) fn tick(&self, node: Node) -> Tick {
        let span = self.span[task_of(node)];
        if is_finish(node) { span.1 } else { span.0 }
    }

    /// The lower bounds of a task's start and finish beside what is placed.
    pub(crate) fn lower(&self, task: usize) -> Span {
        self.model.earliest_beside(task, &self.push, &self.placed, &self.span)
    }

    fn insert(&mut self, task: usize) -> bool {
        let (start, finish) = self.lower(task);
        self.make_room_for_ends(task);
        let floor = start.max(self.wish[task]);
        let mut found = self.fit(task, floor, finish);
        if floor > start && found.is_none_or(|span| self.breaks(task, span)) {
            found = self.fit(task, start, finish);
        }
        let Some(span) = found else {
            return false;
        };
        let act = &self.model.acts[task];
        if self.worth.breach == 0 && span.1 > act.deadline {
            return false;
        }
        self.push_apart(task, span) && {
            self.put(task, span);
            self.heal(task)
        }
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

    /// An occupancy that a task ends with its start is given back before the task uses
    /// anything: what is booked of it must not stand in the way.
    fn make_room_for_ends(&mut self, task: usize) {
        for &number in &self.model.acts[task].closes {
            let hold = self.model.holds[number];
            if !is_finish(hold.to) {
                let (from, until) = std::mem::take(&mut self.booked[number]);
                self.free[hold.resource].add(from, until, hold.amount);
            }
        }
    }

    /// Takes out what stands too early beside a span, and pushes it. False if that can't
    /// be done.
    fn push_apart(&mut self, task: usize, span: Span) -> bool {
        for position in 0..self.model.out[task].len() {
            let arc = &self.model.arcs[self.model.out[task][position]];
            let (to, other) = (arc.to, task_of(arc.to));
            if !self.placed[other] {
                continue;
            }
            let bound = arc.earliest(if is_finish(arc.from) { span.1 } else { span.0 });
            if bound <= self.tick(to) {
                continue;
            }
            if self.model.acts[other].fixed.is_some() {
                // Nothing can be done about it; a breach was there before, or is refused.
                if self.worth.breach == 0 {
                    return false;
                }
                continue;
            }
            let shift = bound - self.tick(to);
            let priority = i64::from(self.span[other].0) + i64::from(shift);
            if !self.eject(other, priority) {
                return false;
            }
            self.push[to] = self.push[to].max(bound);
        }
        true
    }

    /// Takes out a task that nobody asked for.
    fn eject(&mut self, task: usize, priority: i64) -> bool {
        if self.allowance == 0 || self.model.acts[task].fixed.is_some() {
            return false;
        }
        self.allowance -= 1;
        self.take_out(task, priority);
        true
    }

    /// Takes out who uses what the occupancies of a task need. False if that can't be done.
    fn heal(&mut self, task: usize) -> bool {
        let act = &self.model.acts[task];
        for &number in act.opens.iter().chain(&act.closes).chain(&act.keeps) {
            let hold = self.model.holds[number];
            loop {
                let (from, until) = self.booked[number];
                let lack = self.free[hold.resource].lack(from, until, 0);
                let Some((tick, end)) = lack else {
                    break;
                };
                if !self.clear(number, task, tick, end) {
                    return false;
                }
                if !self.placed[task] {
                    return true;
                }
            }
        }
        true
    }

    /// Takes out whoever came last to a resource that lacks at a tick or, if nobody can go,
    /// moves the beginning of the occupancy behind the gap.
    fn clear(&mut self, number: usize, task: usize, tick: Tick, end: Tick) -> bool {
        let hold = self.model.holds[number];
        let opener = task_of(hold.from);
        let there = |span: Span| span.0 <= tick && tick < span.1;
        let free = |&other: &usize| {
            other != task
                && other != opener
                && self.placed[other]
                && self.model.acts[other].fixed.is_none()
        };
        let users = self.users[hold.resource].iter().map(|&other| other as usize);
        let users = users.filter(|&other| {
            let way = &self.model.acts[other].ways[usize::from(self.way[other])];
            there(self.span[other])
                && way.uses.iter().any(|entry| entry.resource == hold.resource)
        });
        let holders = self.holders[hold.resource].iter().map(|&other| other as usize);
        let holders = holders
            .filter(|&other| other != number && there(self.booked[other]))
            .map(|other| task_of(self.model.holds[other].from));
        let last = users.chain(holders).filter(free).max_by_key(|&t| (self.span[t].0, t));
        match last {
            Some(other) => self.eject(other, i64::from(self.span[other].0)),
            None if self.model.acts[opener].fixed.is_none() => {
                self.push[hold.from] = self.push[hold.from].max(end);
                self.eject(opener, i64::from(end))
            }
            None => false,
        }
    }

    /// Puts a task somewhere.
    fn put(&mut self, task: usize, span: Span) {
        self.placements += 1;
        self.placed[task] = true;
        self.unplaced -= 1;
        self.span[task] = span;
        for &next in &self.model.next[task] {
            self.missing[next] -= 1;
        }
        self.count_share(task, 1);
        self.use_up(task, 1);
        self.rebook_holds_of(task);
    }

    fn count_share(&mut self, task: usize, sign: i64) {
        let (stake, span) = (&self.stakes[task], self.span[task]);
        let share = stake.share(self.model, task, span, self.way[task]);
        let late = i64::from(span.1 - self.model.acts[task].deadline).max(0);
        for (sum, part) in
            self.running.iter_mut().zip([late, share.tardiness, share.cost, share.strain])
        {
            *sum = sum.saturating_add(sign * part);
        }
    }

    /// Takes a placed task away.
    fn lift(&mut self, task: usize) {
        self.placed[task] = false;
        self.unplaced += 1;
        for &next in &self.model.next[task] {
            self.missing[next] += 1;
        }
        self.count_share(task, -1);
        self.use_up(task, -1);
        self.rebook_holds_of(task);
    }

    fn use_up(&mut self, task: usize, sign: i32) {
        let way = &self.model.acts[task].ways[usize::from(self.way[task])];
        self.free.book((task, self.way[task]), way, self.span[task], sign);
        for (taken, take) in self.taken.iter_mut().zip(&way.takes) {
            *taken += i64::from(sign) * take;
        }
    }

    fn rebook_holds_of(&mut self, task: usize) {
        let act = &self.model.acts[task];
        for &hold in act.opens.iter().chain(&act.closes).chain(&act.keeps) {
            self.rebook(hold);
        }
    }

    /// Books an occupancy by what is placed of its ends.
    fn rebook(&mut self, number: usize) {
        let hold = self.model.holds[number];
        let placed = |node| self.placed[task_of(node)];
        let span = if placed(hold.from) {
            let from = self.tick(hold.from);
            let until = if placed(hold.to) {
                self.tick(hold.to)
            } else {
                from + self.gap[number]
            };
            let begin = from.max(hold.judged_from);
            (begin, until.max(begin))
        } else {
            (0, 0)
        };
        let old = std::mem::replace(&mut self.booked[number], span);
        if old != span {
            let free = &mut self.free[hold.resource];
            free.add(old.0, old.1, hold.amount);
            free.add(span.0, span.1, -hold.amount);
        }
    }

    /// How long an occupancy is expected to last whose end is not placed.
    pub(crate) fn gap(&self, hold: usize) -> Tick {
        self.gap[hold]
    }

    fn measure(&mut self) -> Worth {
        self.before.copy_from_slice(&self.span);
        let mut worth = Worth::default();
        for (task, &span) in self.span.iter().enumerate() {
            let share = self.stakes[task].share(self.model, task, span, self.way[task]);
            worth = worth.with(&share);
            worth.length = worth.length.max(span.1);
        }
        worth.breach = breach_of(self.model, &self.span);
        self.excess = self.model.stocks.excess(&self.taken);
        worth.breach += self.excess;
        worth
    }

    /// The breach of the rules that bear on what the move under way took out, in a schedule.
    fn breach_of_saved(&self, span: &[Span]) -> i64 {
        let tick = |node: Node| {
            let span = span[task_of(node)];
            if is_finish(node) { span.1 } else { span.0 }
        };
        let mut breach = 0;
        for saved in &self.saved {
            let task = saved.task;
            let act = &self.model.acts[task];
            let late = span[task].1 - act.deadline;
            let early = act.release - span[task].0;
            breach += i64::from(late.max(0)) + i64::from(early.max(0));
            let into = self.model.into[task]
                .iter()
                .filter(|&&arc| !self.is_saved[task_of(self.model.arcs[arc].from)]);
            for &number in self.model.out[task].iter().chain(into) {
                let arc = &self.model.arcs[number];
                let apart = arc.earliest(tick(arc.from)) - tick(arc.to);
                breach += i64::from(apart.max(0));
            }
        }
        breach
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use rand::{RngExt, SeedableRng};
    use rand_pcg::Pcg64Mcg;
    use timetable::{
        Demand, Link, Mode, Problem, Profile, Resource, ResourceId, Task, TaskId,
    };

    use super::*;
    use crate::sample::{broken, problem};

    fn built<'m>(model: &'m Model<'m>) -> Option<Board<'m>> {
        // What has happened may forbid every schedule; that is found before a board is made.
        if model.windows.failed.is_some() {
            return None;
        }
        let mut board = Board::new(model);
        let rank: Vec<u32> = (0..model.count() as u32).collect();
        let none = vec![0; model.count()];
        let way = vec![0; model.count()];
        board.build(&rank, &way, &none, &|| false).then_some(board)
    }

    #[test]
    fn the_worked_case() {
        let demand = || vec![Demand::throughout(ResourceId(0), 1)];
        let task = |work, demands| Task::new("t", Mode::elapsed(work, demands));
        let tasks = vec![task(4, demand()), task(2, demand()), task(5, vec![])];
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(1) };
        let links = vec![Link::after(TaskId(0), TaskId(2))];
        let problem = Problem::new(30, tasks, vec![crew], vec![], links, vec![]).unwrap();
        let model = Model::new(&problem);
        let mut board = built(&model).unwrap();
        assert_eq!(board.span, [(0, 4), (4, 6), (4, 9)]);
        board.begin(4, [i64::MAX; 4]);
        board.take_out(0, 1);
        board.take_out(1, 0);
        assert!(board.settle());
        assert_eq!(board.span, [(2, 6), (0, 2), (6, 11)]);
        assert_eq!(board.judged().length, 11);
        board.undo();
        assert_eq!(board.span, [(0, 4), (4, 6), (4, 9)]);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// Whatever moves do: what is judged is what is measured, what is kept without a
        /// breach is lawful, and what is undone leaves no trace.
        #[test]
        fn moves_are_lawful_and_leave_no_trace(seed: u64) {
            let problem = problem(seed, 12, 60);
            let model = Model::new(&problem);
            let Some(mut board) = built(&model) else {
                return Ok(());
            };
            let mut rng = Pcg64Mcg::seed_from_u64(seed);
            for _ in 0..30 {
                let (free, span, worth) =
                    (board.free.clone(), board.span.clone(), board.worth);
                board.begin(20, [i64::MAX; 4]);
                for _ in 0..3 {
                    let task = rng.random_range(0..model.count());
                    board.take_out(task, rng.random_range(0..60));
                }
                if board.settle() && rng.random_ratio(1, 2) {
                    let judged = board.judged();
                    board.keep(judged);
                    prop_assert_eq!(judged, board.measure(), "{:#?}", problem);
                    if judged.breach == 0 {
                        let schedule = board.plan().schedule(&model);
                        prop_assert_eq!(broken(&problem, &schedule), None);
                    }
                } else {
                    board.undo();
                    prop_assert_eq!(&board.free, &free, "{:#?}", problem);
                    prop_assert_eq!(&board.span, &span);
                    prop_assert_eq!(board.measure(), worth);
                }
            }
        }
    }
}
