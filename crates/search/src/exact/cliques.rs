//! Cliques: tasks of which no two may overlap, looked at together.
//!
//! [Pairs](super::pairs) that exceed what there is, whatever the resource, make a graph; in a
//! clique of it one task runs after the other. What must run inside a stretch takes as long as
//! its work, one after the other. So, in both directions of time:
//!
//! - *overload*: some members must begin at `l` or later and end by `u`, and their work is more
//!   than `u - l`: contradiction;
//! - *edge*: with one more member that begins at `l` or later their work is too much, but without
//!   it is not: it comes after all of them, so after the work of any part of them that begins
//!   later still;
//! - *others first*: a member comes after several others, as pairs have settled: it comes after
//!   the work of any part of them.
//!
//! Each look takes time with the square of the number of members. A clique whose work is much less
//! than the stretch in which all its members lie has nothing to say and isn't looked at, and one
//! that rarely had anything to say is looked at more seldom.
//!
//! **Worked case.** `a` and `b` of 4 ticks lie in `[2, 11]`; `c` of 3 begins at 1 or later. Before
//! both, `c` would leave `[4, 11]`, too little for 8 ticks; between them 11 ticks do not fit into
//! `[2, 11]`. So `c` comes after both, at 10. Why: `[c >= 1]`, `[a >= 1]`, `[b >= 1]` and the ends by
//! 11 put 11 ticks into 10; and from 2 on `a` and `b` take until 10.
//!
//! Sources (from memory): J. Carlier, E. Pinson, *An algorithm for solving the job-shop problem*,
//! Management Science 35 (1989) 164-176; P. Vilím, *Global constraints in scheduling*, thesis,
//! Charles University Prague 2007; the parts of explanations that may be weakened, P. Vilím,
//! *Computing explanations for the unary resource constraint*, CPAIOR 2005.

use std::cmp::Reverse;

use timetable::Tick;

use super::axis::Event;
use super::pairs::Pairs;
use super::trail::{Lit, Trail};

/// More cliques than that are not looked for.
const MOST: usize = 40;
/// Of more pairs than that no cliques are looked for.
const LARGEST: usize = 2_000;
/// Work of a clique, in hundredths of the length that a schedule has at least, with which it is
/// made.
const BUSY: i64 = 50;
/// Work of a clique, in hundredths of the stretch in which its members lie, with which it is
/// looked at.
const FULL: i64 = 80;
/// A clique that says something at every so many looks is looked at whenever it may be.
const USEFUL: u64 = 50;
/// Looks before that is asked, and turns of which one is taken where it is not so.
const TRIAL: u64 = 300;
const SELDOM: u64 = 16;

/// A task in a clique.
#[derive(Debug, Clone, Copy)]
struct Member {
    from: Event,
    to: Event,
    /// From one to the other it is at least so long.
    work: Tick,
}

/// The direction in which time is looked at: ahead, or back as in a mirror.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Ahead,
    Back,
}

/// A clique.
#[derive(Debug)]
pub(super) struct Clique {
    members: Vec<Member>,
    /// For each member and each other the literal that says the first comes first.
    first: Vec<Option<Lit>>,
    is_pending: bool,
    turns: u64,
    looks: u64,
    useful: u64,
    /// Of each member: when it begins at the earliest and ends at the latest.
    early: Vec<Tick>,
    late: Vec<Tick>,
    /// The members by when they begin.
    order: Vec<usize>,
    /// From each place of the order on: the work of what must end by some tick, and the earliest
    /// end of it, with the place from which that comes.
    sum: Vec<Tick>,
    end: Vec<(Tick, usize)>,
    because: Vec<Lit>,
}

/// Cliques that cover the pairs, the largest first, of which the work takes much of a length. `work`
/// is the least work of the task of an event.
pub(super) fn cliques(
    pairs: &mut Pairs,
    trail: &mut Trail,
    work: &dyn Fn(Event) -> Tick,
    length: Tick,
) -> Vec<Clique> {
    let graph = Graph::of(pairs, work);
    let busy = |members: &Vec<usize>| {
        let sum: i64 = members.iter().map(|&one| graph.work(one)).sum();
        members.len() > 2 && sum * 100 >= i64::from(length) * BUSY
    };
    let found: Vec<Vec<usize>> = graph.cover().into_iter().filter(busy).collect();
    for members in &found {
        for (at, &one) in members.iter().enumerate() {
            for &other in &members[at + 1..] {
                pairs.add_order(one, other, trail);
            }
        }
    }
    found.iter().map(|members| Clique::new(pairs, members, &graph.works)).collect()
}

/// The pairs as a graph.
struct Graph {
    /// Of each use those that never overlap it, in order.
    beside: Vec<Vec<usize>>,
    works: Vec<Tick>,
}

impl Graph {
    fn of(pairs: &Pairs, work: &dyn Fn(Event) -> Tick) -> Self {
        let uses = pairs.uses();
        let mut beside: Vec<Vec<usize>> = (0..uses.len())
            .map(|number| pairs.others(number).map(|other| other.0).collect())
            .collect();
        if beside.iter().map(Vec::len).sum::<usize>() > 2 * LARGEST {
            beside.iter_mut().for_each(Vec::clear);
        }
        Self { beside, works: uses.iter().map(|&(from, _)| work(from)).collect() }
    }

    fn work(&self, number: usize) -> i64 {
        i64::from(self.works[number])
    }

    fn is_pair(&self, one: usize, other: usize) -> bool {
        self.beside[one].binary_search(&other).is_ok()
    }

    /// Cliques that cover the pairs.
    fn cover(&self) -> Vec<Vec<usize>> {
        let mut open = self.beside.clone();
        let mut found = Vec::new();
        while found.len() < MOST {
            let sum = |one: usize| -> i64 {
                open[one].iter().map(|&other| self.work(other)).sum()
            };
            let seed = (0..open.len()).max_by_key(|&one| (sum(one), Reverse(one)));
            let other = seed.and_then(|seed| {
                open[seed].iter().copied().max_by_key(|&one| self.work(one))
            });
            let (Some(seed), Some(other)) = (seed, other) else { return found };
            let members = self.grow(seed, other, &open);
            for &one in &members {
                open[one].retain(|other| !members.contains(other));
            }
            found.push(members);
        }
        found
    }

    /// A clique around a pair: next always comes what leaves most work to choose from.
    fn grow(&self, seed: usize, other: usize, open: &[Vec<usize>]) -> Vec<usize> {
        let mut members = vec![seed, other];
        let mut left = self.beside[seed].clone();
        left.retain(|&one| self.is_pair(other, one));
        loop {
            let worth = |one: usize| {
                let fits = |other: &&usize| self.is_pair(one, **other);
                let leaves: i64 = left.iter().filter(fits).map(|&o| self.work(o)).sum();
                let new = members.iter().filter(|member| open[one].contains(member));
                leaves + self.work(one) + new.count() as i64
            };
            let next = left.iter().copied().max_by_key(|&one| (worth(one), Reverse(one)));
            let Some(next) = next else { return members };
            members.push(next);
            left.retain(|&one| self.is_pair(next, one));
        }
    }
}

impl Clique {
    fn new(pairs: &Pairs, members: &[usize], works: &[Tick]) -> Self {
        let size = members.len();
        let mut first = vec![None; size * size];
        for (row, &one) in members.iter().enumerate() {
            for (other, lit) in pairs.others(one) {
                if let Some(column) = members.iter().position(|&member| member == other) {
                    first[row * size + column] = lit.map(Lit::not);
                }
            }
        }
        let member = |&number: &usize| {
            let (from, to) = pairs.uses()[number];
            Member { from, to, work: works[number] }
        };
        Self::of(members.iter().map(member).collect(), first)
    }

    fn of(members: Vec<Member>, first: Vec<Option<Lit>>) -> Self {
        let size = members.len();
        Self {
            members,
            first,
            is_pending: true,
            turns: 0,
            looks: 0,
            useful: 0,
            early: vec![0; size],
            late: vec![0; size],
            order: (0..size).collect(),
            sum: vec![0; size + 1],
            end: vec![(Tick::MIN, size); size + 1],
            because: Vec::new(),
        }
    }

    /// The events on which it depends.
    pub(super) fn events(&self) -> impl Iterator<Item = Event> {
        self.members.iter().flat_map(|member| [member.from, member.to])
    }

    /// The literals on which it depends.
    pub(super) fn lits(&self) -> impl Iterator<Item = Lit> {
        self.first.iter().flatten().copied()
    }

    /// Something that it depends on moved.
    pub(super) const fn note(&mut self) {
        self.is_pending = true;
    }

    /// Draws in the bounds of the members.
    pub(super) fn propagate(&mut self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        if !self.is_pending || !self.is_worth_it(trail) {
            self.is_pending = false;
            return Ok(());
        }
        let before = trail.len();
        self.looks += 1;
        let mut outcome = self.look(trail, Way::Ahead);
        if outcome.is_ok() {
            outcome = self.look(trail, Way::Back);
        }
        self.useful += u64::from(outcome.is_err() || trail.len() > before);
        self.is_pending = outcome.is_err();
        outcome
    }

    fn is_worth_it(&mut self, trail: &Trail) -> bool {
        let (mut begin, mut end, mut work) = (Tick::MAX, Tick::MIN, 0);
        for member in &self.members {
            begin = begin.min(trail.early(member.from));
            end = end.max(trail.late(member.to));
            work += i64::from(member.work);
        }
        if work * 100 < (i64::from(end) - i64::from(begin)) * FULL {
            return false;
        }
        self.turns += 1;
        let rarely = self.looks > TRIAL && self.useful * USEFUL < self.looks;
        !rarely || self.turns.is_multiple_of(SELDOM)
    }

    fn look(&mut self, trail: &mut Trail, way: Way) -> Result<(), Vec<Lit>> {
        self.load(trail, way);
        for number in 0..self.members.len() {
            let until = self.late[number];
            self.sum_up(until);
            self.overload(trail, way, until)?;
            self.edges(trail, way, until)?;
        }
        self.others_first(trail, way)
    }

    fn load(&mut self, trail: &Trail, way: Way) {
        for (at, member) in self.members.iter().enumerate() {
            let (begin, end) = (trail.early(member.from), trail.late(member.to));
            let (early, late) =
                if way == Way::Ahead { (begin, end) } else { (-end, -begin) };
            (self.early[at], self.late[at]) = (early, late);
        }
        let early = &self.early;
        self.order.sort_by_key(|&at| early[at]);
    }

    /// A member begins at a tick or later, in a direction.
    fn begins(&self, trail: &Trail, way: Way, number: usize, tick: Tick) -> Lit {
        let member = self.members[number];
        match way {
            Way::Ahead => trail.network.at_least(member.from, tick),
            Way::Back => trail.network.at_most(member.to, -tick),
        }
    }

    /// A member ends at a tick or earlier, in a direction.
    fn ends(&self, trail: &Trail, way: Way, number: usize, tick: Tick) -> Lit {
        let member = self.members[number];
        match way {
            Way::Ahead => trail.network.at_most(member.to, tick),
            Way::Back => trail.network.at_least(member.from, -tick),
        }
    }

    /// Sums up what must end by a tick, from each place of the order on.
    fn sum_up(&mut self, until: Tick) {
        let size = self.members.len();
        let (mut sum, mut end) = (0, (Tick::MIN, size));
        for at in (0..size).rev() {
            let number = self.order[at];
            if self.late[number] <= until {
                sum += self.members[number].work;
                let here = (self.early[number] + sum, at);
                end = if here.0 < end.0 { end } else { here };
            }
            (self.sum[at], self.end[at]) = (sum, end);
        }
    }

    /// More must run inside a stretch than fits.
    fn overload(&self, trail: &Trail, way: Way, until: Tick) -> Result<(), Vec<Lit>> {
        let (end, place) = self.end[0];
        if end <= until {
            return Ok(());
        }
        let from = self.early[self.order[place]];
        let stretch = widened((from, until), end - until);
        let mut because = Vec::new();
        let crowd = Crowd { place, until, later: (self.order.len(), 0) };
        self.explain(trail, way, crowd, stretch, &mut because);
        Err(because)
    }

    /// Others come after all that must end by a tick.
    fn edges(
        &mut self,
        trail: &mut Trail,
        way: Way,
        until: Tick,
    ) -> Result<(), Vec<Lit>> {
        // The place from which on what must end by then ends last.
        let mut last: Option<(Tick, usize)> = None;
        for at in 0..self.order.len() {
            let number = self.order[at];
            if self.late[number] <= until {
                let end = self.early[number] + self.sum[at];
                last = last.filter(|last| last.0 >= end).or(Some((end, at)));
                continue;
            }
            let (early, work) = (self.early[number], self.members[number].work);
            let between = last.filter(|last| last.0 + work > until);
            let end = early + work + self.sum[at];
            let (place, from, end) = match between {
                Some((end, place)) => (place, self.early[self.order[place]], end + work),
                None if self.sum[at] > 0 && end > until => (at, early, end),
                None => continue,
            };
            let (bound, second) = self.end[place];
            let lit = self.begins(trail, way, number, bound);
            if bound <= early || trail.is_true(lit) {
                continue;
            }
            let stretch = widened((from, until), end - until);
            let later = (second, self.early[self.order[second]]);
            let mut because = std::mem::take(&mut self.because);
            because.clear();
            because.push(self.begins(trail, way, number, stretch.0));
            let crowd = Crowd { place, until, later };
            self.explain(trail, way, crowd, stretch, &mut because);
            let outcome = trail.set_for(lit, &because);
            self.because = because;
            outcome?;
        }
        Ok(())
    }

    /// Why a crowd lies in a stretch.
    fn explain(
        &self,
        trail: &Trail,
        way: Way,
        crowd: Crowd,
        (from, until): (Tick, Tick),
        because: &mut Vec<Lit>,
    ) {
        for (at, &number) in self.order.iter().enumerate().skip(crowd.place) {
            if self.late[number] <= crowd.until {
                let (second, tight) = crowd.later;
                let begin = if at >= second { tight } else { from };
                because.push(self.begins(trail, way, number, begin));
                because.push(self.ends(trail, way, number, until));
            }
        }
    }

    /// What comes after several others comes after their work.
    fn others_first(&mut self, trail: &mut Trail, way: Way) -> Result<(), Vec<Lit>> {
        let size = self.members.len();
        for number in 0..size {
            let (mut others, mut sum, mut end) = (0, 0, (Tick::MIN, size));
            for at in (0..size).rev() {
                let other = self.order[at];
                if self.is_first(trail, way, other, number).is_some() {
                    others += 1;
                    sum += self.members[other].work;
                    end = end.max((self.early[other] + sum, at));
                }
            }
            if others < 2 || end.0 <= self.early[number] {
                continue;
            }
            let lit = self.begins(trail, way, number, end.0);
            if trail.is_true(lit) {
                continue;
            }
            let from = self.early[self.order[end.1]];
            let mut because = Vec::new();
            for &other in &self.order[end.1..] {
                if let Some(first) = self.is_first(trail, way, other, number) {
                    because.extend([first, self.begins(trail, way, other, from)]);
                }
            }
            trail.set_for(lit, &because)?;
        }
        Ok(())
    }

    /// The literal that says a member comes before another, in a direction, if it is true.
    fn is_first(&self, trail: &Trail, way: Way, one: usize, other: usize) -> Option<Lit> {
        let size = self.members.len();
        let at = match way {
            Way::Ahead => one * size + other,
            Way::Back => other * size + one,
        };
        self.first[at].filter(|&lit| trail.is_true(lit))
    }
}

/// Members that are looked at together.
#[derive(Debug, Clone, Copy)]
struct Crowd {
    /// The place in the order from which on they are.
    place: usize,
    /// Those that must end by then.
    until: Tick,
    /// From this place on they begin at this tick or later.
    later: (usize, Tick),
}

/// A stretch that is wider by as much as leaves work that exceeds it by `excess` exceeding it.
const fn widened((from, until): (Tick, Tick), excess: Tick) -> (Tick, Tick) {
    let spare = excess - 1;
    (from - spare / 2, until + (spare - spare / 2))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::exact::axis::{Axis, Network};
    use crate::exact::trail::{Reason, Value};

    /// When a task may begin, when it must have ended, and its work.
    type Window = (Tick, Tick, Tick);

    fn trail(tasks: &[Window]) -> Trail<'static> {
        let mut network = Network::default();
        for (variable, task) in tasks.iter().enumerate() {
            network.axes.push(Axis::shifted(variable, 0));
            network.axes.push(Axis::shifted(variable, task.2));
        }
        let mut trail = Trail::new(tasks.len(), network);
        for (variable, &(from, until, work)) in tasks.iter().enumerate() {
            trail.limit(variable, Value::from(from), Value::from(until - work));
        }
        trail
    }

    /// All tasks as a clique. Of those pairs that are given the first comes first.
    fn clique(trail: &mut Trail, tasks: &[Window], first: &[(usize, usize)]) -> Clique {
        let size = tasks.len();
        let mut literals = vec![None; size * size];
        for one in 0..size {
            for other in one + 1..size {
                let lit = Lit { view: Trail::up(trail.binary()), bound: 1 };
                literals[one * size + other] = Some(lit);
                literals[other * size + one] = Some(lit.not());
            }
        }
        for &(one, other) in first {
            trail.assume(literals[one * size + other].unwrap());
        }
        let member = |(at, task): (usize, &Window)| Member {
            from: 2 * at,
            to: 2 * at + 1,
            work: task.2,
        };
        Clique::of(tasks.iter().enumerate().map(member).collect(), literals)
    }

    /// Whether the tasks can all run one after the other, by trying every order.
    fn possible(tasks: &[Window], first: &[(usize, usize)]) -> bool {
        fn go(tasks: &[Window], first: &[(usize, usize)], at: Tick, left: u32) -> bool {
            left == 0
                || (0..tasks.len()).any(|next| {
                    let waits =
                        |pair: &(usize, usize)| pair.1 == next && left >> pair.0 & 1 == 1;
                    let end = at.max(tasks[next].0) + tasks[next].2;
                    left >> next & 1 == 1
                        && !first.iter().any(waits)
                        && end <= tasks[next].1
                        && go(tasks, first, end, left & !(1 << next))
                })
        }
        go(tasks, first, Tick::MIN, (1 << tasks.len()) - 1)
    }

    /// The windows and orders that literals speak of; all others are wide open.
    fn said(
        tasks: &[Window],
        clique: &Clique,
        lits: &[Lit],
    ) -> (Vec<Window>, Vec<(usize, usize)>) {
        const WIDE: Tick = 1_000;
        let mut windows: Vec<Window> =
            tasks.iter().map(|task| (-WIDE, WIDE, task.2)).collect();
        let mut first = Vec::new();
        let size = tasks.len();
        for lit in lits {
            let bound = lit.bound as Tick;
            match (lit.view / 2, lit.view % 2) {
                (task, 0) if task < size => windows[task].0 = windows[task].0.max(bound),
                (task, 1) if task < size => {
                    windows[task].1 = windows[task].1.min(tasks[task].2 - bound);
                }
                _ => {
                    let at = clique.first.iter().position(|&order| order == Some(*lit));
                    let at = at.expect("an order");
                    first.push((at / size, at % size));
                }
            }
        }
        (windows, first)
    }

    #[test]
    fn the_worked_case() {
        let tasks = [(2, 11, 4), (2, 11, 4), (1, 30, 3)];
        let mut trail = trail(&tasks);
        let mut clique = clique(&mut trail, &tasks, &[]);
        clique.look(&mut trail, Way::Ahead).unwrap();
        assert_eq!((trail.early(4), trail.early(0), trail.late(5)), (10, 2, 30));
        let entry = trail.entries.last().unwrap();
        let Reason::List(from, until) = entry.reason else { panic!("no list") };
        let why = &trail.arena[from as usize..until as usize];
        let (windows, _) = said(&tasks, &clique, why);
        assert_eq!(windows, [(2, 11, 4), (2, 11, 4), (1, 1_000, 3)]);
    }

    #[test]
    fn cliques_are_found_among_pairs() {
        // Three jobs that need both hands, and two that need one.
        let hands = [2, 2, 1, 1, 2];
        let task = |hands| {
            let demand = timetable::Demand::throughout(timetable::ResourceId(0), hands);
            timetable::Task::new("t", timetable::Mode::elapsed(3, vec![demand]))
        };
        let crew = timetable::Resource {
            name: "crew".to_owned(),
            capacity: timetable::Profile::constant(2),
        };
        let tasks = hands.into_iter().map(task).collect();
        let problem =
            timetable::Problem::new(99, tasks, vec![crew], vec![], vec![], vec![])
                .unwrap();
        let model = crate::model::Model::new(&problem);
        let exact = crate::exact::Exact::new(&model, &crate::Bound::default()).unwrap();
        let sizes: Vec<usize> =
            exact.cliques.iter().map(|clique| clique.members.len()).collect();
        // One of the two takes part in the first clique, the other one in a second.
        assert_eq!(sizes, [4, 4]);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2_000))]

        #[test]
        fn what_is_said_follows_from_why(
            drawn in prop::collection::vec((0..14_i32, 0..12_i32, 1..6_i32), 2..6),
            orders in prop::collection::vec((0..5_usize, 0..5_usize), 0..4),
        ) {
            let tasks: Vec<Window> = drawn
                .iter()
                .map(|&(from, more, work)| (from, from + work + more, work))
                .collect();
            let first: Vec<(usize, usize)> = orders
                .into_iter()
                .filter(|pair| pair.0 < pair.1 && pair.1 < tasks.len())
                .collect();
            let mut trail = trail(&tasks);
            let mut clique = clique(&mut trail, &tasks, &first);
            let begin = trail.len();
            let outcome = clique.look(&mut trail, Way::Ahead)
                .and_then(|()| clique.look(&mut trail, Way::Back));
            for entry in &trail.entries[begin..] {
                let Reason::List(from, until) = entry.reason else { panic!("no list") };
                let mut why = trail.arena[from as usize..until as usize].to_vec();
                // With the opposite there is no way.
                why.push(Lit { view: entry.view(), bound: entry.new }.not());
                let (windows, first) = said(&tasks, &clique, &why);
                prop_assert!(!possible(&windows, &first), "{why:?}");
            }
            if let Err(why) = outcome {
                let (windows, first) = said(&tasks, &clique, &why);
                prop_assert!(!possible(&windows, &first), "{why:?}");
                prop_assert!(!possible(&tasks, &clique_first(&clique, &trail)));
            }
        }
    }

    /// The orders that are settled.
    fn clique_first(clique: &Clique, trail: &Trail) -> Vec<(usize, usize)> {
        let size = clique.members.len();
        let settled =
            |&at: &usize| clique.first[at].is_some_and(|lit| trail.is_true(lit));
        (0..size * size).filter(settled).map(|at| (at / size, at % size)).collect()
    }
}
