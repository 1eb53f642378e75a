//! A population of lists: the search for plain problems.
//!
//! A member is a list of tasks that keeps all links. A child takes the middle of its list
//! from one parent and the rest from the other (two-point crossover; the child keeps the
//! links because both parents do), some neighbours change places, and what it decodes to is
//! pushed right and left (double justification, which never makes it longer). A
//! population that has grown alike keeps its best member and is drawn again.
//!
//! Sources (from memory): S. Hartmann 1998; V. Valls, F. Ballestín, S. Quintanilla, *A hybrid
//! genetic algorithm for the resource-constrained project scheduling problem*, European J.
//! Operational Research 185 (2008) 495-508; R. Kolisch 1996 for the rules.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use timetable::Tick;

use crate::plain::{Plain, Sgs};

/// A list and what it decodes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Child {
    pub(crate) list: Vec<u32>,
    pub(crate) start: Vec<Tick>,
    pub(crate) length: Tick,
}

/// A population of lists with a random stream of its own.
#[derive(Debug)]
pub(crate) struct Breed<'p> {
    plain: &'p Plain,
    turned: &'p Plain,
    sgs: Sgs,
    back: Sgs,
    rng: Pcg64Mcg,
    members: Vec<Child>,
    size: usize,
    /// Children since the best length of this population was found.
    idle: u64,
    taken: Vec<bool>,
    rules: [Vec<f64>; 3],
    pub(crate) best: Option<Child>,
    pub(crate) steps: u64,
}

impl<'p> Breed<'p> {
    /// An empty population. `turned` is the reverse of the problem.
    pub(crate) fn new(plain: &'p Plain, turned: &'p Plain, seed: u64) -> Self {
        Self {
            plain,
            turned,
            sgs: Sgs::new(plain),
            back: Sgs::new(plain),
            rng: Pcg64Mcg::seed_from_u64(seed),
            members: Vec::new(),
            size: (2 * plain.count()).clamp(40, 250),
            idle: 0,
            taken: vec![false; plain.count()],
            rules: rules(plain, turned),
            best: None,
            steps: 0,
        }
    }

    /// Decodes until a number of steps is spent or `halt` says so.
    pub(crate) fn run(&mut self, budget: u64, halt: &(dyn Fn() -> bool + Sync)) {
        let end = self.steps + budget;
        while self.steps < end && !halt() {
            let list =
                if self.members.len() < self.size { self.first() } else { self.child() };
            let child = self.justified(list);
            self.keep(child);
        }
    }

    /// Hears of a schedule from elsewhere, or of a hint that may be no schedule.
    pub(crate) fn hear(&mut self, start: &[Tick]) {
        if start.len() != self.plain.count() {
            return;
        }
        let mut list: Vec<u32> = (0..self.plain.count() as u32).collect();
        list.sort_by_key(|&task| (start[task as usize], self.plain.topo[task as usize]));
        let list = self.repaired(&list);
        let child = self.justified(list);
        self.keep(child);
    }

    /// A list that keeps the links, as near to another as may be.
    fn repaired(&self, list: &[u32]) -> Vec<u32> {
        let mut done = vec![false; list.len()];
        let mut repaired = Vec::with_capacity(list.len());
        for &task in list {
            let mut open = vec![task];
            while let Some(&task) = open.last() {
                let before = &self.plain.before[task as usize];
                let missing = before.iter().find(|&&other| !done[other as usize]);
                if let Some(&other) = missing {
                    open.push(other);
                    continue;
                }
                open.pop();
                if !std::mem::replace(&mut done[task as usize], true) {
                    repaired.push(task);
                }
            }
        }
        repaired
    }

    /// Decodes a list and pushes the schedule right and left.
    pub(crate) fn justified(&mut self, list: Vec<u32>) -> Child {
        let mut length = self.sgs.decode(self.plain, &list);
        self.steps += 1;
        let mut order = list;
        loop {
            self.sort_by_finish(&mut order);
            self.back.decode(self.turned, &order);
            self.sort_by_turned(&mut order);
            let again = self.sgs.decode(self.plain, &order);
            self.steps += 2;
            if again >= length {
                break;
            }
            length = again;
        }
        self.sort_by_start(&mut order);
        Child { list: order, start: self.sgs.start.clone(), length: self.length() }
    }

    fn length(&self) -> Tick {
        let ends = self.sgs.start.iter().zip(&self.plain.duration);
        ends.map(|(start, duration)| start + duration).max().unwrap_or(0)
    }

    fn sort_by_finish(&self, order: &mut [u32]) {
        let key = |&task: &u32| {
            let task = task as usize;
            let finish = self.sgs.start[task] + self.plain.duration[task];
            (-finish, self.turned.topo[task])
        };
        order.sort_unstable_by_key(key);
    }

    fn sort_by_turned(&self, order: &mut [u32]) {
        let key = |&task: &u32| {
            let task = task as usize;
            let finish = self.back.start[task] + self.plain.duration[task];
            (-finish, self.plain.topo[task])
        };
        order.sort_unstable_by_key(key);
    }

    fn sort_by_start(&self, order: &mut [u32]) {
        let key =
            |&task: &u32| (self.sgs.start[task as usize], self.plain.topo[task as usize]);
        order.sort_unstable_by_key(key);
    }

    /// A list by a biased priority rule, or by chance.
    fn first(&mut self) -> Vec<u32> {
        let plain = self.plain;
        let rule = self.rng.random_range(0..4);
        let bias = [0.0, 0.1, 0.3][self.rng.random_range(0..3)];
        let mut keys = vec![0.0; plain.count()];
        for (task, key) in keys.iter_mut().enumerate() {
            let drawn = self.rng.random::<f64>();
            *key = self.rules.get(rule).map_or(drawn, |r| r[task] + bias * drawn);
        }
        let mut missing: Vec<usize> = plain.before.iter().map(Vec::len).collect();
        let mut open: Vec<u32> = Vec::new();
        open.extend(
            (0..plain.count() as u32).filter(|&task| missing[task as usize] == 0),
        );
        let mut list = Vec::with_capacity(plain.count());
        while let Some(position) = (0..open.len())
            .min_by(|&a, &b| keys[open[a] as usize].total_cmp(&keys[open[b] as usize]))
        {
            let task = open.swap_remove(position);
            list.push(task);
            for &next in &plain.after[task as usize] {
                missing[next as usize] -= 1;
                if missing[next as usize] == 0 {
                    open.push(next);
                }
            }
        }
        list
    }

    fn child(&mut self) -> Vec<u32> {
        let (a, b) = (self.pick(), self.pick());
        let count = self.plain.count();
        let (p, q) = (self.rng.random_range(0..=count), self.rng.random_range(0..=count));
        let (p, q) = (p.min(q), p.max(q));
        let mut list = Vec::with_capacity(count);
        self.taken.fill(false);
        let mut take = |from: &[u32], until: usize| {
            for &task in from {
                if list.len() >= until {
                    break;
                }
                if !std::mem::replace(&mut self.taken[task as usize], true) {
                    list.push(task);
                }
            }
        };
        take(&self.members[a].list, p);
        take(&self.members[b].list, q);
        take(&self.members[a].list, count);
        self.mutate(&mut list);
        list
    }

    /// Some tasks move to another place that the links allow.
    fn mutate(&mut self, list: &mut [u32]) {
        let count = list.len();
        let moves = self.rng.random_range(0..=2 + count / 40);
        for _ in 0..moves {
            let from = self.rng.random_range(0..count);
            let task = list[from];
            let reach = self.rng.random_range(1..=(count / 6).max(1));
            if self.rng.random_ratio(1, 2) {
                let mut to = from;
                while to > 0
                    && from - to < reach
                    && !self.plain.before[task as usize].contains(&list[to - 1])
                {
                    list.swap(to, to - 1);
                    to -= 1;
                }
            } else {
                let mut to = from;
                while to + 1 < count
                    && to - from < reach
                    && !self.plain.after[task as usize].contains(&list[to + 1])
                {
                    list.swap(to, to + 1);
                    to += 1;
                }
            }
        }
    }

    fn pick(&mut self) -> usize {
        let count = self.members.len();
        let (a, b) = (self.rng.random_range(0..count), self.rng.random_range(0..count));
        if self.members[a].length <= self.members[b].length { a } else { b }
    }

    fn keep(&mut self, child: Child) {
        self.idle += 1;
        if self.best.as_ref().is_none_or(|best| child.length < best.length) {
            self.best = Some(child.clone());
            self.idle = 0;
        }
        if self.members.len() < self.size {
            self.members.push(child);
            return;
        }
        if self.members.iter().any(|own| own.start == child.start) {
            return;
        }
        let worst = (0..self.members.len()).max_by_key(|&own| self.members[own].length);
        if let Some(worst) = worst.filter(|&own| child.length <= self.members[own].length)
        {
            self.members[worst] = child;
        }
        if self.idle > 200 * self.size as u64 {
            self.restart();
        }
    }

    /// Draws the population again, now and then around the best member.
    fn restart(&mut self) {
        self.members.clear();
        self.idle = 0;
        if let Some(best) = self.best.clone().filter(|_| self.rng.random_ratio(1, 2)) {
            self.members.push(best);
        }
    }
}

/// Latest finish, latest start, and most followers, scaled to `[0, 1]`.
fn rules(plain: &Plain, turned: &Plain) -> [Vec<f64>; 3] {
    let count = plain.count();
    let mut order: Vec<u32> = (0..count as u32).collect();
    order.sort_unstable_by_key(|&task| turned.topo[task as usize]);
    let (mut tail, mut followers) = (vec![0; count], vec![0.0; count]);
    for &task in &order {
        let task = task as usize;
        let after = plain.after[task].iter().map(|&next| next as usize);
        tail[task] = after
            .clone()
            .map(|next| tail[next] + plain.duration[next])
            .max()
            .unwrap_or(0);
        followers[task] = after.map(|next| followers[next] + 1.0).sum();
    }
    let finish: Vec<f64> = tail.iter().map(|&tail| -f64::from(tail)).collect();
    let start = (0..count).map(|task| finish[task] - f64::from(plain.duration[task]));
    let most = followers.iter().map(|followers: &f64| -followers.ln_1p());
    [scaled(finish.clone()), scaled(start.collect()), scaled(most.collect())]
}

fn scaled(values: Vec<f64>) -> Vec<f64> {
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let range = (most - least).max(1e-9);
    values.into_iter().map(|value| (value - least) / range).collect()
}
