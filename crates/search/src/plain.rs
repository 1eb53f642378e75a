//! Plain problems, decoded fast.
//!
//! A problem is plain if nothing but order and constant capacities matters: one mode each,
//! elapsed time, links from finish to start without a lag, no windows, no past, no due
//! dates. For those a schedule is a list of tasks, and time is a dense array.

use std::sync::Arc;

use timetable::{Clock, End, Mode, Problem, Progress, Tick};

use crate::pattern::Pattern;
use crate::planes::{Block, Need, Planes};

/// Longest sum of durations for which time is dense.
const LONGEST: i64 = 100_000;

/// A plain problem.
#[derive(Debug, Clone)]
pub(crate) struct Plain {
    pub(crate) duration: Vec<Tick>,
    /// What each task uses; nothing where it takes no time.
    pub(crate) needs: Lists<Need>,
    pub(crate) capacities: Vec<u32>,
    pub(crate) before: Lists<u32>,
    pub(crate) after: Lists<u32>,
    /// The tasks in an order that keeps all links.
    pub(crate) order: Vec<u32>,
    /// The sum of durations.
    pub(crate) longest: Tick,
}

/// A list for each task, all in one piece of memory.
#[derive(Debug, Clone)]
pub(crate) struct Lists<T> {
    begins: Vec<u32>,
    items: Vec<T>,
}

impl<T: Copy> Lists<T> {
    fn new(lists: &[Vec<T>]) -> Self {
        let mut all = Self { begins: vec![0], items: Vec::new() };
        for list in lists {
            all.items.extend_from_slice(list);
            all.begins.push(all.items.len() as u32);
        }
        all
    }

    /// The list of one task.
    pub(crate) fn of(&self, task: usize) -> &[T] {
        &self.items[self.begins[task] as usize..self.begins[task + 1] as usize]
    }
}

impl Plain {
    /// The problem as a plain one, if it is one.
    pub(crate) fn of(problem: &Problem) -> Option<Self> {
        let resources = problem.resources();
        let constant = resources.iter().all(|resource| {
            let steps = resource.capacity.steps();
            steps.len() == 1 && i32::try_from(steps[0].1).is_ok()
        });
        if !constant || !problem.occupancies().is_empty() || problem.tasks().is_empty() {
            return None;
        }
        let mut plain = Self {
            duration: Vec::new(),
            needs: Lists::new(&[]),
            capacities: resources.iter().map(|r| r.capacity.steps()[0].1).collect(),
            before: Lists::new(&[]),
            after: Lists::new(&[]),
            order: Vec::new(),
            longest: 0,
        };
        plain.add_tasks(problem)?;
        plain.add_links(problem)?;
        plain.sort()?;
        Some(plain)
    }

    /// The number of tasks.
    pub(crate) fn count(&self) -> usize {
        self.duration.len()
    }

    fn blocks<const P: usize>(&self) -> Arc<Lists<Block<P>>> {
        let of = |task| Block::of(self.needs.of(task));
        Arc::new(Lists::new(&(0..self.count()).map(of).collect::<Vec<_>>()))
    }

    /// The same with all links turned round.
    pub(crate) fn reversed(&self) -> Self {
        Self {
            before: self.after.clone(),
            after: self.before.clone(),
            order: self.order.iter().rev().copied().collect(),
            ..self.clone()
        }
    }

    fn add_tasks(&mut self, problem: &Problem) -> Option<()> {
        let (mut longest, mut needs) = (0_i64, Vec::new());
        for task in problem.tasks() {
            let mode = task.modes.first().filter(|_| task.modes.len() == 1)?;
            let Pattern::Elapsed(work) = Pattern::of(problem, mode) else {
                return None;
            };
            let tied = task.release > 0
                || task.deadline.is_some_and(|deadline| deadline < problem.horizon())
                || task.due.is_some()
                || task.published.is_some_and(|published| published.weight > 0)
                || task.progress != Progress::Todo;
            if tied {
                return None;
            }
            needs.push(self.needs_of(mode, work)?);
            longest += i64::from(work);
            self.duration.push(work);
        }
        self.needs = Lists::new(&needs);
        self.longest = Tick::try_from(longest).ok().filter(|_| longest <= LONGEST)?;
        (longest <= i64::from(problem.horizon())).then_some(())
    }

    /// What a mode uses; nothing if that is more than there is.
    fn needs_of(&self, mode: &Mode, work: Tick) -> Option<Vec<Need>> {
        let mut needs: Vec<Need> = Vec::new();
        for demand in mode.demands.iter().filter(|demand| work > 0 && demand.amount > 0) {
            let (resource, amount) = (demand.resource.at() as u32, demand.amount);
            // A mode may name a resource once throughout and once while working.
            match needs.iter_mut().find(|need| need.resource == resource) {
                Some(need) => need.amount = need.amount.checked_add(amount)?,
                None => needs.push(Need { resource, amount }),
            }
        }
        let fits = |need: &Need| need.amount <= self.capacities[need.resource as usize];
        needs.iter().all(fits).then_some(needs)
    }

    fn add_links(&mut self, problem: &Problem) -> Option<()> {
        let count = problem.tasks().len();
        let (mut before, mut after) = (vec![Vec::new(); count], vec![Vec::new(); count]);
        for link in problem.links() {
            let ordered = link.from.end == End::Finish && link.to.end == End::Start;
            let still = link.least == Some(0) && link.greatest.is_none();
            if !ordered || !still || link.clock != Clock::Elapsed {
                return None;
            }
            let (from, to) = (link.from.task, link.to.task);
            after[from.at()].push(to.0);
            before[to.at()].push(from.0);
        }
        (self.before, self.after) = (Lists::new(&before), Lists::new(&after));
        Some(())
    }

    fn sort(&mut self) -> Option<()> {
        let count = self.count();
        let mut missing: Vec<usize> =
            (0..count).map(|task| self.before.of(task).len()).collect();
        let mut order: Vec<u32> = Vec::with_capacity(count);
        order.extend((0..count as u32).filter(|&task| missing[task as usize] == 0));
        let mut done = 0;
        while done < order.len() {
            for &next in self.after.of(order[done] as usize) {
                missing[next as usize] -= 1;
                if missing[next as usize] == 0 {
                    order.push(next);
                }
            }
            done += 1;
        }
        self.order = order;
        (self.order.len() == count).then_some(())
    }
}

/// Decodes lists, one after the other, in the same memory. A clone shares what does not
/// change.
#[derive(Debug, Clone)]
pub(crate) struct Sgs {
    bench: Bench,
    pub(crate) start: Vec<Tick>,
}

/// What tasks need and what is free, in as many planes as the greatest capacity has bits,
/// or some more.
#[derive(Debug, Clone)]
enum Bench {
    Four(Arc<Lists<Block<4>>>, Planes<4>),
    Five(Arc<Lists<Block<5>>>, Planes<5>),
    Six(Arc<Lists<Block<6>>>, Planes<6>),
    Eight(Arc<Lists<Block<8>>>, Planes<8>),
    Sixteen(Arc<Lists<Block<16>>>, Planes<16>),
    All(Arc<Lists<Block<32>>>, Planes<32>),
}

impl Sgs {
    /// A decoder for a plain problem (and for its reverse).
    pub(crate) fn new(plain: &Plain) -> Self {
        let most = plain.capacities.iter().copied().max().unwrap_or(0);
        let (all, few) = (plain, &plain.capacities);
        let bench = match 32 - most.leading_zeros() {
            ..=4 => Bench::Four(all.blocks(), Planes::new(few)),
            5 => Bench::Five(all.blocks(), Planes::new(few)),
            6 => Bench::Six(all.blocks(), Planes::new(few)),
            7..=8 => Bench::Eight(all.blocks(), Planes::new(few)),
            9..=16 => Bench::Sixteen(all.blocks(), Planes::new(few)),
            17.. => Bench::All(all.blocks(), Planes::new(few)),
        };
        Self { bench, start: vec![0; plain.count()] }
    }

    /// Places the tasks of a list, each at its earliest start beside those before it. The
    /// list must keep the links. Returns the length.
    pub(crate) fn decode(&mut self, plain: &Plain, list: &[u32]) -> Tick {
        let start = &mut self.start;
        match &mut self.bench {
            Bench::Four(needs, planes) => decode(needs, planes, start, plain, list),
            Bench::Five(needs, planes) => decode(needs, planes, start, plain, list),
            Bench::Six(needs, planes) => decode(needs, planes, start, plain, list),
            Bench::Eight(needs, planes) => decode(needs, planes, start, plain, list),
            Bench::Sixteen(needs, planes) => decode(needs, planes, start, plain, list),
            Bench::All(needs, planes) => decode(needs, planes, start, plain, list),
        }
    }
}

fn decode<const P: usize>(
    needs: &Lists<Block<P>>,
    planes: &mut Planes<P>,
    start: &mut [Tick],
    plain: &Plain,
    list: &[u32],
) -> Tick {
    planes.clear();
    let mut length = 0;
    for &task in list {
        let task = task as usize;
        let mut from = 0;
        for &other in plain.before.of(task) {
            let other = other as usize;
            from = from.max(start[other] + plain.duration[other]);
        }
        let (needs, work) = (needs.of(task), plain.duration[task]);
        if !needs.is_empty() {
            from = planes.place(needs, from, work);
        }
        start[task] = from;
        length = length.max(from + work);
    }
    length
}

#[cfg(test)]
mod tests {
    use timetable::{Demand, Link, Mode, Profile, Resource, ResourceId, Task, TaskId};

    use super::*;

    #[test]
    fn lists_decode_to_earliest_starts() {
        let task = |work, amount| {
            let demand = Demand::throughout(ResourceId(0), amount);
            Task::new("t", Mode::elapsed(work, vec![demand]))
        };
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(3) };
        let tasks = vec![task(3, 2), task(2, 2), task(4, 1), task(1, 3)];
        let links = vec![Link::after(TaskId(0), TaskId(3))];
        let problem = Problem::new(20, tasks, vec![crew], vec![], links, vec![]).unwrap();
        let plain = Plain::of(&problem).unwrap();
        let mut sgs = Sgs::new(&plain);
        assert_eq!(sgs.decode(&plain, &[0, 1, 2, 3]), 6);
        assert_eq!(sgs.start, [0, 3, 0, 5]);
        assert_eq!(sgs.decode(&plain, &[2, 1, 0, 3]), 6);
        assert_eq!(sgs.start, [2, 0, 0, 5]);
    }
}
