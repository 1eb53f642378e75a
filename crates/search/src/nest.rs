//! Where members of a population are bred: memory, a random stream, and the steps from
//! parents to a decoded child.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use timetable::Tick;

use crate::lists::{cross, mark};
use crate::plain::{Plain, Sgs};

/// A schedule, pushed to one side, and as a list for pushing it to the other side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Member {
    /// By finish, the last first; empty if there is no schedule here yet.
    pub(crate) list: Vec<u32>,
    pub(crate) start: Vec<Tick>,
    pub(crate) length: Tick,
    /// Tells starts apart, but for rare accidents.
    pub(crate) mark: u64,
}

impl Member {
    /// No schedule, for so many tasks.
    pub(crate) fn none(count: usize) -> Self {
        Self { list: Vec::new(), start: vec![0; count], length: Tick::MAX, mark: 0 }
    }
}

/// Which marks a population holds; it may answer yes once in a while where it does not.
#[derive(Debug)]
pub(crate) struct Marks(Vec<u64>);

impl Marks {
    const BITS: u32 = 18;

    /// The marks of a population.
    pub(crate) fn of(members: &[Member]) -> Self {
        let mut marks = Self(vec![0; 1 << (Self::BITS - 6)]);
        for member in members.iter().filter(|member| !member.list.is_empty()) {
            let (word, bit) = Self::place(member.mark);
            marks.0[word] |= bit;
        }
        marks
    }

    /// No marks.
    pub(crate) fn none() -> Self {
        Self::of(&[])
    }

    fn place(mark: u64) -> (usize, u64) {
        let place = mark >> (64 - Self::BITS);
        ((place / 64) as usize, 1 << (place % 64))
    }

    fn has(&self, mark: u64) -> bool {
        let (word, bit) = Self::place(mark);
        self.0[word] & bit != 0
    }
}

/// Rules that say which task goes first, as one number for each task, scaled to `[0, 1]`.
pub(crate) type Rules = [Vec<f64>; 3];

/// Memory and a random stream for breeding some members.
#[derive(Debug)]
pub(crate) struct Nest {
    sgs: Sgs,
    rng: Pcg64Mcg,
    /// The list that is decoded next.
    pub(crate) list: Vec<u32>,
    /// Where each task of a father lies: before, in or after a stretch, or where it stays.
    part: Vec<u8>,
    counts: Vec<u32>,
    /// Schedules decoded so far.
    pub(crate) steps: u64,
}

impl Nest {
    /// A nest that decodes as another one does.
    pub(crate) fn new(sgs: Sgs, seed: u64) -> Self {
        Self {
            part: vec![0; sgs.start.len()],
            sgs,
            rng: Pcg64Mcg::seed_from_u64(seed),
            list: Vec::new(),
            counts: Vec::new(),
            steps: 0,
        }
    }

    /// A number below another.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        self.rng.random_range(0..end)
    }

    /// Decodes the list. The schedule takes the place of a member if it is no longer than
    /// that and nothing like it is in the population.
    pub(crate) fn keep(&mut self, way: &Plain, member: &mut Member, known: &Marks) {
        let length = self.sgs.decode(way, &self.list);
        self.steps += 1;
        if length > member.length {
            return;
        }
        let mark = mark(self.sgs.start.iter().copied());
        if !member.list.is_empty() && known.has(mark) {
            return;
        }
        member.start.copy_from_slice(&self.sgs.start);
        (member.length, member.mark) = (length, mark);
        self.sort(way, member);
    }

    /// Lists the tasks by finish, the last first; among equals the later ones in the order
    /// of the links.
    fn sort(&mut self, way: &Plain, member: &mut Member) {
        let count = way.count();
        let (start, length) = (&member.start, member.length);
        let key = |task: u32| {
            let task = task as usize;
            (length - start[task] - way.duration[task]) as usize
        };
        let order = way.order.iter().rev();
        if length as usize > 16 * count + 1_000 {
            member.list.clear();
            member.list.extend(order);
            member.list.sort_by_key(|&task| key(task));
            return;
        }
        // There are few different keys: count them.
        member.list.resize(count, 0);
        self.counts.clear();
        self.counts.resize(length as usize + 2, 0);
        for &task in &way.order {
            self.counts[key(task) + 1] += 1;
        }
        let mut sum = 0;
        for entry in &mut self.counts {
            sum += *entry;
            *entry = sum;
        }
        for &task in order {
            let place = &mut self.counts[key(task)];
            member.list[*place as usize] = task;
            *place += 1;
        }
    }

    /// A list from two parents. Both keep the links, so the child does.
    pub(crate) fn cross(&mut self, from: &[Member], father: usize) {
        let mother = self.pick(from);
        let parents = (&from[father].list[..], &from[mother].list[..]);
        cross(&mut self.list, &mut self.part, parents, &mut self.rng);
    }

    /// Some tasks move to another place that the links allow.
    pub(crate) fn mutate(&mut self, way: &Plain) {
        // With few tasks a sixth of the list is soon too near for anything new.
        const NEAR: usize = 15;
        let count = self.list.len();
        let most = (count / 6).max(NEAR.min(count / 2)).max(1);
        let moves = self.rng.random_range(0..=2 + count / 40);
        for _ in 0..moves {
            let from = self.rng.random_range(0..count);
            let reach = self.rng.random_range(1..=most);
            let list = &mut self.list;
            let (task, mut to) = (list[from], from);
            if self.rng.random_ratio(1, 2) {
                let before = way.before.of(task as usize);
                while to > 0 && from - to < reach && !before.contains(&list[to - 1]) {
                    list.swap(to, to - 1);
                    to -= 1;
                }
            } else {
                let after = way.after.of(task as usize);
                let last = (from + reach).min(count - 1);
                while to < last && !after.contains(&list[to + 1]) {
                    list.swap(to, to + 1);
                    to += 1;
                }
            }
        }
    }

    /// The shorter of two members.
    fn pick(&mut self, from: &[Member]) -> usize {
        let (a, b) = (self.below(from.len()), self.below(from.len()));
        if from[a].length <= from[b].length { a } else { b }
    }

    /// A list by a biased priority rule, or by chance.
    pub(crate) fn first(&mut self, way: &Plain, rules: &Rules) {
        let rule = self.below(rules.len() + 1);
        let bias = [0.0, 0.1, 0.3][self.below(3)];
        let rng = &mut self.rng;
        let keys = (0..way.count()).map(|task| {
            let drawn = rng.random::<f64>();
            rules.get(rule).map_or(drawn, |rule| rule[task] + bias * drawn)
        });
        self.list = listed(way, &keys.collect::<Vec<f64>>());
    }
}

/// A list that keeps the links: of the tasks that may come next, the one with the least
/// key. Keys are at least 0.
pub(crate) fn listed(way: &Plain, keys: &[f64]) -> Vec<u32> {
    let count = way.count();
    let mut missing: Vec<usize> =
        (0..count).map(|task| way.before.of(task).len()).collect();
    // Numbers from 0 up compare as their bits do.
    let entry = |task: u32| Reverse((keys[task as usize].to_bits(), task));
    let mut open: BinaryHeap<_> = (0..count as u32)
        .filter(|&task| missing[task as usize] == 0)
        .map(entry)
        .collect();
    let mut list = Vec::with_capacity(count);
    while let Some(Reverse((_, task))) = open.pop() {
        list.push(task);
        for &next in way.after.of(task as usize) {
            missing[next as usize] -= 1;
            if missing[next as usize] == 0 {
                open.push(entry(next));
            }
        }
    }
    list
}

/// Latest finish, latest start, and most followers.
pub(crate) fn rules(plain: &Plain) -> Rules {
    let count = plain.count();
    let (mut tail, mut followers) = (vec![0; count], vec![0.0; count]);
    for &task in plain.order.iter().rev() {
        let task = task as usize;
        let after = plain.after.of(task).iter().map(|&next| next as usize);
        let tails = after.clone().map(|next| tail[next] + plain.duration[next]);
        tail[task] = tails.max().unwrap_or(0);
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
