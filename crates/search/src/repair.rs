//! What the decoder does when a task can't simply be placed.
//!
//! Three repairs, all described in [`decode`](crate::decode): tasks that stand too early for a
//! later one are taken out and pushed; beginnings of occupancies are pushed behind gaps that
//! the occupancy would have to last over; rings of tasks that wait for each other's stands are
//! broken. Pushes only grow and all repairs are counted, so decoding ends.

use timetable::Tick;

use crate::arc::{is_finish, task_of};
use crate::decode::{Decoder, Recipe};
use crate::pattern::Span;
use crate::steps::FAR;

impl Decoder<'_> {
    /// Takes out what stands too early for a span of a task, and pushes it. Whether there
    /// was any such thing.
    pub(crate) fn push_apart(
        &mut self,
        recipe: &Recipe,
        task: usize,
        span: Span,
    ) -> bool {
        let limit = 100 + 4 * self.model.count();
        let mut pushed = false;
        let mut moved = vec![(2 * task, span.0), (2 * task + 1, span.1)];
        while let Some((node, tick)) = moved.pop() {
            let from = task_of(node);
            for position in 0..self.model.out[from].len() {
                let arc = &self.model.arcs[self.model.out[from][position]];
                let (to, other) = (arc.to, task_of(arc.to));
                if arc.from != node || !self.placed[other] || other == task {
                    continue;
                }
                let bound = arc.earliest(tick);
                let fixed = self.model.acts[other].fixed.is_some();
                if bound <= self.tick(to) || fixed || self.repairs >= limit {
                    continue;
                }
                self.repairs += 1;
                pushed = true;
                self.push[to] = self.push[to].max(bound);
                self.remove(recipe, other);
                let shift = bound - self.tick(to);
                let (start, finish) = self.span[other];
                moved.push((2 * other, start + shift));
                moved.push((2 * other + 1, finish + shift));
            }
        }
        pushed
    }

    /// Pushes the beginnings of occupancies that a span would end behind gaps in the
    /// capacity that they can't last over. Whether there were any.
    pub(crate) fn push_behind_gaps(
        &mut self,
        recipe: &Recipe,
        task: usize,
        span: Span,
    ) -> bool {
        let limit = 100 + 4 * self.model.count();
        for position in 0..self.model.acts[task].closes.len() {
            let hold = self.model.holds[self.model.acts[task].closes[position]];
            let opener = task_of(hold.from);
            if !self.placed[opener] || self.repairs >= limit {
                continue;
            }
            let until = if is_finish(hold.to) { span.1 } else { span.0 };
            let gap = self.free[hold.resource].lack(self.tick(hold.from), until, 0);
            if let Some((_, end)) = gap
                && self.model.acts[opener].fixed.is_none()
            {
                self.repairs += 1;
                self.push[hold.from] = self.push[hold.from].max(end);
                self.remove(recipe, opener);
                return true;
            }
        }
        false
    }

    /// Takes a placed task out again, and offers it. If it ends an occupancy whose beginning
    /// stays, the resource is held for ever again, and whatever was placed later in the
    /// belief that it would be given back has to come out too.
    fn remove(&mut self, recipe: &Recipe, task: usize) {
        let mut open = vec![task];
        while let Some(task) = open.pop() {
            if !self.placed[task] || self.model.acts[task].fixed.is_some() {
                continue;
            }
            self.take_out(recipe, task);
            for position in 0..self.model.acts[task].closes.len() {
                let hold = self.model.holds[self.model.acts[task].closes[position]];
                if let Some((tick, _)) = self.free[hold.resource].lack(0, FAR, 0) {
                    let user = self.users_of(hold.resource, tick, task_of(hold.from));
                    open.extend(user);
                }
            }
            self.offer(recipe, task);
        }
    }

    fn take_out(&mut self, recipe: &Recipe, task: usize) {
        self.placed[task] = false;
        self.book(task, -1);
        for &next in &self.model.next[task] {
            self.missing[next] += 1;
        }
        for position in 0..self.model.acts[task].opens.len() {
            let hold = self.model.acts[task].opens[position];
            self.wake_resource(recipe, self.model.holds[hold].resource);
        }
    }

    /// All placed tasks but one that use or hold a resource after a tick and can be moved.
    fn users_of(&self, resource: usize, tick: Tick, spared: usize) -> Vec<usize> {
        let model = self.model;
        let uses = |task: usize| {
            let way = &model.acts[task].ways[usize::from(self.way[task])];
            way.uses.iter().any(|entry| entry.resource == resource)
                && self.span[task].1 > tick
        };
        let holds = |task: usize| {
            model.acts[task].opens.iter().any(|&number| {
                let hold = model.holds[number];
                hold.resource == resource
                    && (!self.placed[task_of(hold.to)] || self.tick(hold.to) > tick)
            })
        };
        (0..model.count())
            .filter(|&task| self.placed[task] && task != spared)
            .filter(|&task| model.acts[task].fixed.is_none())
            .filter(|&task| uses(task) || holds(task))
            .collect()
    }

    /// Breaks a ring of tasks that wait for each other's stands. False if nothing waits,
    /// or nothing can be done about it.
    pub(crate) fn untangle(&mut self, recipe: &Recipe) -> bool {
        let waits = self.waiting.iter().enumerate();
        let first = waits
            .flat_map(|(resource, tasks)| tasks.iter().map(move |&task| (resource, task)))
            .filter(|&(_, task)| !self.placed[task] && self.ready(task))
            .min_by_key(|&(_, task)| recipe.rank[task]);
        let Some((resource, task)) = first else {
            return self.release_behind(recipe);
        };
        self.repairs += 1;
        let holder = (self.repairs < 200 + 4 * self.model.count())
            .then(|| self.holder_of(resource, task))
            .flatten();
        let Some(holder) = holder else {
            self.waiting[resource].retain(|&other| other != task);
            self.give_up(task);
            return true;
        };
        self.behind.push((holder, task));
        self.remove_with_followers(recipe, holder);
        self.waiting[resource].retain(|&other| other != task);
        self.offer(recipe, task);
        true
    }

    /// Lets tasks come back that were held behind one that will never be placed.
    fn release_behind(&mut self, recipe: &Recipe) -> bool {
        let kept = std::mem::take(&mut self.behind);
        for &(task, _) in &kept {
            self.offer(recipe, task);
        }
        !kept.is_empty()
    }

    /// The task that last began to hold a resource, holds it still, and can be moved.
    fn holder_of(&self, resource: usize, waiting: usize) -> Option<usize> {
        let model = self.model;
        let open = model.holds.iter().filter(|hold| {
            let (from, to) = (task_of(hold.from), task_of(hold.to));
            hold.resource == resource
                && self.placed[from]
                && !self.placed[to]
                && model.acts[from].fixed.is_none()
                && !self.leads_to(from, waiting)
        });
        open.map(|hold| task_of(hold.from)).max_by_key(|&task| self.turn[task])
    }

    /// Whether a task has to be decoded before another.
    fn leads_to(&self, from: usize, to: usize) -> bool {
        let mut seen = vec![false; self.model.count()];
        let mut open = vec![from];
        while let Some(task) = open.pop() {
            if task == to {
                return true;
            }
            for &next in &self.model.next[task] {
                if !seen[next] {
                    seen[next] = true;
                    open.push(next);
                }
            }
        }
        false
    }

    fn remove_with_followers(&mut self, recipe: &Recipe, task: usize) {
        let mut open = vec![task];
        while let Some(task) = open.pop() {
            if self.placed[task] && self.model.acts[task].fixed.is_none() {
                self.remove(recipe, task);
                open.extend_from_slice(&self.model.next[task]);
            }
        }
    }
}
