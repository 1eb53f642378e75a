//! Plain problems, decoded fast.
//!
//! A problem is plain if nothing but order and constant capacities matters: one mode each,
//! elapsed time, links from finish to start without a lag, no windows, no past, no due
//! dates. For those a schedule is a list of tasks, and time is a dense array.
//!
//! All resources share one word for each tick, 16 bits for each resource: the top bit of a
//! lane is a guard, the other 15 hold what is free. With all guards set, a subtraction of the
//! demands leaves a guard set exactly where enough is free, so one operation checks
//! four resources. Up to [`WORDS`] words are used, that is, 8 resources.
//!
//! Worked case. Capacities 3 and 1; a task of demands 2 and 1 leaves lanes 1 and 0. A demand
//! of 1 and 1: lane 2 becomes guard + 0 - 1, the guard falls, so it does not fit.

use timetable::{Clock, End, Problem, Progress, Tick};

use crate::pattern::Pattern;

/// Words for each tick.
pub(crate) const WORDS: usize = 2;
/// Lanes in a word.
const LANES: usize = 4;
/// The guard bits of all lanes.
const GUARD: u64 = 0x8000_8000_8000_8000;
/// The greatest level that a lane holds.
const MOST: u32 = 0x7fff;
/// Longest sum of durations for which time is dense.
const LONGEST: i64 = 100_000;

/// The levels of all resources at a tick.
pub(crate) type Lanes = [u64; WORDS];

/// A plain problem.
#[derive(Debug, Clone)]
pub(crate) struct Plain {
    pub(crate) duration: Vec<Tick>,
    pub(crate) need: Vec<Lanes>,
    pub(crate) capacity: Lanes,
    /// Whether the second word is used at all.
    pub(crate) wide: bool,
    pub(crate) before: Vec<Vec<u32>>,
    pub(crate) after: Vec<Vec<u32>>,
    /// The position of each task in an order that keeps all links.
    pub(crate) topo: Vec<u32>,
    /// The sum of durations.
    pub(crate) longest: Tick,
}

impl Plain {
    /// The problem as a plain one, if it is one.
    pub(crate) fn of(problem: &Problem) -> Option<Self> {
        let resources = problem.resources();
        let constant = resources.iter().all(|resource| {
            let steps = resource.capacity.steps();
            steps.len() == 1 && steps[0].1 <= MOST
        });
        if !constant
            || resources.len() > WORDS * LANES
            || !problem.occupancies().is_empty()
            || problem.tasks().is_empty()
        {
            return None;
        }
        let mut plain = Self {
            duration: Vec::new(),
            need: Vec::new(),
            capacity: [0; WORDS],
            wide: resources.len() > LANES,
            before: vec![Vec::new(); problem.tasks().len()],
            after: vec![Vec::new(); problem.tasks().len()],
            topo: Vec::new(),
            longest: 0,
        };
        for (lane, resource) in resources.iter().enumerate() {
            raise(&mut plain.capacity, lane, resource.capacity.steps()[0].1);
        }
        plain.add_tasks(problem)?;
        plain.add_links(problem)?;
        plain.sort()?;
        Some(plain)
    }

    /// The number of tasks.
    pub(crate) fn count(&self) -> usize {
        self.duration.len()
    }

    /// The same with all links turned round.
    pub(crate) fn reversed(&self) -> Self {
        let last = self.topo.len() as u32 - 1;
        Self {
            before: self.after.clone(),
            after: self.before.clone(),
            topo: self.topo.iter().map(|position| last - position).collect(),
            ..self.clone()
        }
    }

    fn add_tasks(&mut self, problem: &Problem) -> Option<()> {
        let mut longest = 0_i64;
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
            let mut need = [0; WORDS];
            for demand in mode.demands.iter().filter(|_| work > 0) {
                let lane = demand.resource.at();
                let amount = demand.amount.min(MOST);
                // A mode may name a resource once throughout and once while working.
                let sum = level(&need, lane) + amount;
                if sum > level(&self.capacity, lane) {
                    return None;
                }
                raise(&mut need, lane, amount);
            }
            longest += i64::from(work);
            self.duration.push(work);
            self.need.push(need);
        }
        self.longest = Tick::try_from(longest).ok().filter(|_| longest <= LONGEST)?;
        (longest <= i64::from(problem.horizon())).then_some(())
    }

    fn add_links(&mut self, problem: &Problem) -> Option<()> {
        for link in problem.links() {
            let ordered = link.from.end == End::Finish && link.to.end == End::Start;
            let still = link.least == Some(0) && link.greatest.is_none();
            if !ordered || !still || link.clock != Clock::Elapsed {
                return None;
            }
            let (from, to) = (link.from.task, link.to.task);
            self.after[from.at()].push(to.0);
            self.before[to.at()].push(from.0);
        }
        Some(())
    }

    fn sort(&mut self) -> Option<()> {
        let count = self.count();
        let mut missing: Vec<usize> = self.before.iter().map(Vec::len).collect();
        let mut order: Vec<usize> =
            (0..count).filter(|&task| missing[task] == 0).collect();
        let mut done = 0;
        while done < order.len() {
            for &next in &self.after[order[done]] {
                missing[next as usize] -= 1;
                if missing[next as usize] == 0 {
                    order.push(next as usize);
                }
            }
            done += 1;
        }
        self.topo = vec![0; count];
        for (position, &task) in order.iter().enumerate() {
            self.topo[task] = position as u32;
        }
        (order.len() == count).then_some(())
    }
}

/// The level of one lane.
pub(crate) const fn level(lanes: &Lanes, lane: usize) -> u32 {
    (lanes[lane / LANES] >> (16 * (lane % LANES))) as u32 & MOST
}

fn raise(lanes: &mut Lanes, lane: usize, amount: u32) {
    lanes[lane / LANES] += u64::from(amount) << (16 * (lane % LANES));
}

/// Decodes lists, one after the other, in the same memory.
#[derive(Debug, Clone)]
pub(crate) struct Sgs {
    free: Vec<Lanes>,
    used: usize,
    pub(crate) start: Vec<Tick>,
}

impl Sgs {
    /// A decoder for a plain problem (and for its reverse).
    pub(crate) fn new(plain: &Plain) -> Self {
        let ticks = plain.longest as usize + 1;
        Self {
            free: vec![plain.capacity; ticks],
            used: ticks,
            start: vec![0; plain.count()],
        }
    }

    /// Places the tasks of a list, each at its earliest start beside those before it. The
    /// list must keep the links. Returns the length.
    pub(crate) fn decode(&mut self, plain: &Plain, list: &[u32]) -> Tick {
        self.free[..self.used].fill(plain.capacity);
        let mut length = 0;
        for &task in list {
            let task = task as usize;
            let mut from = 0;
            for &other in &plain.before[task] {
                from =
                    from.max(self.start[other as usize] + plain.duration[other as usize]);
            }
            let start = if plain.wide {
                self.place::<true>(plain, task, from)
            } else {
                self.place::<false>(plain, task, from)
            };
            self.start[task] = start;
            length = length.max(start + plain.duration[task]);
        }
        self.used = length as usize;
        length
    }

    fn place<const WIDE: bool>(
        &mut self,
        plain: &Plain,
        task: usize,
        from: Tick,
    ) -> Tick {
        let duration = plain.duration[task] as usize;
        let need = plain.need[task];
        if duration == 0 {
            return from;
        }
        let mut start = from as usize;
        if need != [0; WORDS] {
            let mut tick = start + duration;
            // From the back: the last tick that lacks is the one to start after.
            while tick > start {
                tick -= 1;
                let free = &self.free[tick];
                let fits = (free[0] | GUARD) - need[0];
                let mut guards = fits & GUARD;
                if WIDE {
                    guards &= (free[1] | GUARD) - need[1];
                }
                if guards != GUARD {
                    // What lies after it is known to fit, up to the old end.
                    let checked = start + duration;
                    start = tick + 1;
                    tick = start + duration;
                    if let Some(clash) =
                        self.last_clash::<WIDE>(need, checked.max(start), tick)
                    {
                        start = clash + 1;
                        tick = start + duration;
                        continue;
                    }
                    break;
                }
            }
            for free in &mut self.free[start..start + duration] {
                free[0] -= need[0];
                if WIDE {
                    free[1] -= need[1];
                }
            }
        }
        start as Tick
    }

    /// The last tick of `[from, until)` at which a need does not fit.
    fn last_clash<const WIDE: bool>(
        &self,
        need: Lanes,
        from: usize,
        until: usize,
    ) -> Option<usize> {
        (from..until).rev().find(|&tick| {
            let free = &self.free[tick];
            let mut guards = ((free[0] | GUARD) - need[0]) & GUARD;
            if WIDE {
                guards &= (free[1] | GUARD) - need[1];
            }
            guards != GUARD
        })
    }
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
