//! Capacities: what must run at a tick, and pairs that never run together.
//!
//! A task with start in `[e, l]` and `p` ticks runs for sure in `[l, e + p)`. Summed over the
//! tasks these parts give a profile; where it exceeds the capacity there is a contradiction,
//! and where it leaves too little a task that reaches that far is pushed past it. Each
//! statement is explained at one tick `t`: of every task that is needed for it, `[x >= t - p + 1]`
//! and `[x <= t]`.
//!
//! Two tasks that can't run together, of which one can't come first, come in the other order.

use timetable::Tick;

use super::trail::{Lit, Trail};
use crate::model::Model;
use crate::steps::FAR;

/// A task on a resource.
#[derive(Debug, Clone, Copy)]
struct Job {
    variable: usize,
    work: Tick,
    amount: i32,
}

/// A stretch of the profile.
#[derive(Debug, Clone, Copy)]
struct Part {
    from: Tick,
    until: Tick,
    height: i32,
    capacity: i32,
}

/// A resource.
#[derive(Debug)]
pub(super) struct Cumulative {
    jobs: Vec<Job>,
    capacity: Vec<(Tick, i32)>,
    peak: i32,
    parts: Vec<Part>,
    events: Vec<(Tick, i32)>,
    /// The bounds at the last look, to see whether there is anything new.
    seen: Vec<(Tick, Tick)>,
    because: Vec<Lit>,
}

impl Cumulative {
    /// The resources that some task may lack. `tasks` lists the task of each variable.
    pub(super) fn all(model: &Model, tasks: &[usize]) -> Vec<Self> {
        let of = |resource: usize| {
            let jobs: Vec<Job> = tasks
                .iter()
                .enumerate()
                .filter_map(|(variable, &task)| {
                    let way = &model.acts[task].ways[0];
                    let entry =
                        way.uses.iter().find(|entry| entry.resource == resource)?;
                    let work = way.pattern.work();
                    let amount = entry.throughout.saturating_add(entry.working);
                    (work > 0).then_some(Job { variable, work, amount })
                })
                .collect();
            let capacity: Vec<(Tick, i32)> =
                model.static_free[resource].segments().collect();
            let least = capacity.iter().map(|step| step.1).min().unwrap_or(0);
            let sum: i64 = jobs.iter().map(|job| i64::from(job.amount)).sum();
            let peak = capacity.iter().map(|step| step.1).max().unwrap_or(0);
            (sum > i64::from(least)).then(|| Self {
                seen: vec![(Tick::MIN, Tick::MIN); jobs.len()],
                jobs,
                capacity,
                peak,
                parts: Vec::new(),
                events: Vec::new(),
                because: Vec::new(),
            })
        };
        (0..model.static_free.len()).filter_map(of).collect()
    }

    /// Raises what the profile raises.
    pub(super) fn propagate(&mut self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        let outcome = self.look(trail);
        if let (Err(_), Some(seen)) = (&outcome, self.seen.first_mut()) {
            // The same bounds may come back: look again then.
            *seen = (Tick::MIN, Tick::MIN);
        }
        outcome
    }

    fn look(&mut self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        let now = |job: &Job| (trail.low(2 * job.variable), trail.high(2 * job.variable));
        let same = self.jobs.iter().zip(&self.seen).all(|(job, &seen)| now(job) == seen);
        if same {
            return Ok(());
        }
        for (job, seen) in self.jobs.iter().zip(&mut self.seen) {
            *seen = now(job);
        }
        self.build(trail);
        if let Some(part) = self.parts.iter().find(|part| part.height > part.capacity) {
            let tick = part.from + (part.until.min(FAR) - part.from - 1) / 2;
            let capacity = part.capacity;
            self.collect(trail, tick, capacity, usize::MAX);
            return Err(self.because.clone());
        }
        let least_free =
            self.parts.iter().map(|part| part.capacity - part.height).min().unwrap_or(0);
        for position in 0..self.jobs.len() {
            let job = self.jobs[position];
            let view = 2 * job.variable;
            let open = trail.low(view) < trail.high(view);
            if open && (job.amount > least_free) {
                self.push(trail, position, job)?;
                self.pull(trail, position, job)?;
            }
        }
        Ok(())
    }

    /// The profile of what runs for sure, cut where the capacity changes.
    fn build(&mut self, trail: &Trail) {
        self.events.clear();
        for job in &self.jobs {
            let (from, until) =
                (trail.high(2 * job.variable), trail.low(2 * job.variable) + job.work);
            if from < until {
                self.events.push((from, job.amount));
                self.events.push((until, -job.amount));
            }
        }
        self.events.sort_unstable();
        self.parts.clear();
        let (mut height, mut event, mut step) = (0, 0, 0);
        let mut from = self.capacity.first().map_or(0, |step| step.0);
        loop {
            while event < self.events.len() && self.events[event].0 <= from {
                height += self.events[event].1;
                event += 1;
            }
            while step + 1 < self.capacity.len() && self.capacity[step + 1].0 <= from {
                step += 1;
            }
            let next = self.events.get(event).map_or(FAR, |event| event.0);
            let until = next.min(self.capacity.get(step + 1).map_or(FAR, |step| step.0));
            let capacity = self.capacity[step].1;
            self.parts.push(Part { from, until, height, capacity });
            if until >= FAR {
                return;
            }
            from = until;
        }
    }

    /// Pushes the earliest start past stretches that leave too little.
    fn push(
        &mut self,
        trail: &mut Trail,
        position: usize,
        job: Job,
    ) -> Result<(), Vec<Lit>> {
        let view = 2 * job.variable;
        let own = (trail.high(view), trail.low(view) + job.work);
        let first = trail.low(view);
        let mut at = self.parts.partition_point(|part| part.until <= first);
        while let Some(&part) = self.parts.get(at) {
            let low = trail.low(view);
            if part.from >= low + job.work {
                break;
            }
            let inside = own.0 <= part.from && part.until <= own.1;
            let others = part.height - if inside { job.amount } else { 0 };
            if others + job.amount <= part.capacity {
                at += 1;
                continue;
            }
            // At most its own length at a time, so that one tick explains it.
            let tick = (part.until - 1).min(low + job.work - 1);
            self.collect(trail, tick, part.capacity - job.amount, position);
            self.because.push(Lit { view, bound: tick - job.work + 1 });
            trail.set_for(Lit { view, bound: tick + 1 }, &self.because)?;
            if tick + 1 >= part.until {
                at += 1;
            }
        }
        Ok(())
    }

    /// Pulls the latest start before stretches that leave too little.
    fn pull(
        &mut self,
        trail: &mut Trail,
        position: usize,
        job: Job,
    ) -> Result<(), Vec<Lit>> {
        let view = 2 * job.variable;
        let own = (trail.high(view), trail.low(view) + job.work);
        let last = trail.high(view) + job.work;
        let mut at = self.parts.partition_point(|part| part.from < last);
        while at > 0 {
            let part = self.parts[at - 1];
            let high = trail.high(view);
            if part.until <= high {
                break;
            }
            let inside = own.0 <= part.from && part.until <= own.1;
            let others = part.height - if inside { job.amount } else { 0 };
            if others + job.amount <= part.capacity {
                at -= 1;
                continue;
            }
            let tick = part.from.max(high);
            self.collect(trail, tick, part.capacity - job.amount, position);
            self.because.push(Lit { view: view + 1, bound: -tick });
            let bound = job.work - tick;
            trail.set_for(Lit { view: view + 1, bound }, &self.because)?;
            if tick <= part.from {
                at -= 1;
            }
        }
        Ok(())
    }

    /// Enough tasks that run for sure at a tick to exceed a level, as literals.
    fn collect(&mut self, trail: &Trail, tick: Tick, level: i32, spared: usize) {
        self.because.clear();
        let mut chosen: Vec<Job> = Vec::new();
        for (position, job) in self.jobs.iter().enumerate() {
            let view = 2 * job.variable;
            let runs = trail.high(view) <= tick && tick < trail.low(view) + job.work;
            if runs && position != spared {
                chosen.push(*job);
            }
        }
        // The largest first: fewer literals.
        chosen.sort_by_key(|job| std::cmp::Reverse(job.amount));
        let mut sum = 0;
        for job in chosen {
            if sum > level {
                break;
            }
            sum += job.amount;
            let view = 2 * job.variable;
            self.because.push(Lit { view, bound: tick - job.work + 1 });
            self.because.push(Lit { view: view + 1, bound: -tick });
        }
    }
}

/// Pairs of tasks that can't run together.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    others: Vec<Vec<usize>>,
    work: Vec<Tick>,
    seen: Vec<(Tick, Tick)>,
}

impl Pairs {
    /// The pairs that exceed the peak of some resource.
    pub(super) fn of(resources: &[Cumulative], work: &[Tick]) -> Self {
        let mut others = vec![Vec::new(); work.len()];
        for resource in resources {
            for (position, a) in resource.jobs.iter().enumerate() {
                for b in &resource.jobs[position + 1..] {
                    if i64::from(a.amount) + i64::from(b.amount)
                        > i64::from(resource.peak)
                    {
                        others[a.variable].push(b.variable);
                        others[b.variable].push(a.variable);
                    }
                }
            }
        }
        for list in &mut others {
            list.sort_unstable();
            list.dedup();
        }
        let seen = vec![(Tick::MIN, Tick::MIN); work.len()];
        Self { others, work: work.to_vec(), seen }
    }

    /// Puts pairs in order of which one order is impossible.
    pub(super) fn propagate(&mut self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        for a in 0..self.others.len() {
            let now = (trail.low(2 * a), trail.high(2 * a));
            if now == self.seen[a] {
                continue;
            }
            for position in 0..self.others[a].len() {
                let b = self.others[a][position];
                self.order(trail, a, b)?;
                self.order(trail, b, a)?;
            }
            self.seen[a] = now;
        }
        Ok(())
    }

    /// If `a` can't come before `b`, then `b` comes before `a`.
    fn order(&self, trail: &mut Trail, a: usize, b: usize) -> Result<(), Vec<Lit>> {
        let (x, y) = (2 * a, 2 * b);
        if trail.low(x) + self.work[a] <= trail.high(y) {
            return Ok(());
        }
        let latest = trail.high(y);
        let late = Lit { view: x, bound: latest - self.work[a] + 1 };
        let soon = Lit { view: y + 1, bound: -latest };
        let low = trail.low(y);
        let lit = Lit { view: x, bound: low + self.work[b] };
        trail.set_for(lit, &[late, soon, Lit { view: y, bound: low }])?;
        let high = trail.high(x);
        let lit = Lit { view: y + 1, bound: self.work[b] - high };
        trail.set_for(lit, &[late, soon, Lit { view: x + 1, bound: -high }])
    }
}
