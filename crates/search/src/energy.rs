//! Work against capacity.
//!
//! Take a resource and a stretch `[a, b)` of time. The tasks that must lie inside it, by
//! their earliest starts `>= a` and latest finishes `<= b`, use at least the sum of their
//! smallest uses (amount times ticks) there. If that exceeds the capacity of the stretch,
//! less what is fixed, there is no lawful schedule. Asking for a shorter and shorter length
//! until this happens proves a lower bound on the length.
//!
//! Worked case. Capacity 2 from tick 0 on; three tasks of 2 by 3 ticks each. The use is 18,
//! the capacity of `[0, 8)` is 16, so no schedule is shorter than 9.
//!
//! Source: J. Erschler, P. Lopez, C. Thuriot, *Raisonnement temporel sous contraintes de
//! ressource*, Revue d'Intelligence Artificielle 5 (1991), for the idea of energy (from
//! memory).

use std::cmp::Reverse;

use timetable::Tick;

use crate::model::Model;
use crate::steps::{FAR, Steps};

/// A stretch of time in which a resource can't do what it must.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Overload {
    pub(crate) resource: usize,
    pub(crate) from: Tick,
    pub(crate) until: Tick,
    /// The tasks that must lie inside it.
    pub(crate) tasks: Vec<usize>,
}

/// The use of a task of one resource, in any of its modes.
#[derive(Debug, Clone, Copy)]
struct Load {
    task: usize,
    early: Tick,
    late: Tick,
    energy: i64,
}

/// Capacity up to a tick, summed.
struct Sum {
    at: Vec<Tick>,
    before: Vec<i64>,
    level: Vec<i64>,
}

impl Sum {
    fn of(free: &Steps) -> Self {
        let (mut at, mut level): (Vec<Tick>, Vec<i64>) =
            free.segments().map(|(from, free)| (from, i64::from(free.max(0)))).unzip();
        if at.is_empty() {
            (at, level) = (vec![0], vec![0]);
        }
        let mut before = vec![0; at.len()];
        for position in 1..at.len() {
            let ticks = i64::from(at[position] - at[position - 1]);
            before[position] = before[position - 1] + level[position - 1] * ticks;
        }
        Self { at, before, level }
    }

    fn until(&self, tick: Tick) -> i64 {
        let position = self.at.partition_point(|&from| from <= tick).saturating_sub(1);
        let ticks = i64::from((tick - self.at[position]).max(0));
        self.before[position] + self.level[position] * ticks
    }

    /// The first tick until which the sum reaches an amount; [`FAR`] if never.
    fn reaches(&self, amount: i64) -> Tick {
        let position = self.before.partition_point(|&sum| sum < amount).saturating_sub(1);
        let (rest, level) = (amount - self.before[position], self.level[position]);
        match (rest, level) {
            (..=0, _) => self.at[position],
            (_, 0) => FAR,
            _ => {
                let ticks = (rest + level - 1) / level;
                self.at[position].saturating_add(Tick::try_from(ticks).unwrap_or(FAR))
            }
        }
    }
}

/// The first tick until which so much can be used from another one on; [`FAR`] if never.
pub(crate) fn reached(free: &Steps, from: Tick, energy: i64) -> Tick {
    let sum = Sum::of(free);
    sum.reaches(sum.until(from).saturating_add(energy.max(0)))
}

/// A stretch that is overloaded, for these earliest and latest times.
pub(crate) fn overload(model: &Model, early: &[Tick], late: &[Tick]) -> Option<Overload> {
    (0..model.static_free.len()).find_map(|resource| {
        let sum = Sum::of(&model.static_free[resource]);
        overload_of(&loads(model, resource, early, late), &sum, resource)
    })
}

fn overload_of(loads: &[Load], sum: &Sum, resource: usize) -> Option<Overload> {
    let mut by_early = loads.to_vec();
    by_early.sort_by_key(|load| Reverse(load.early));
    let starts: Vec<i64> = by_early.iter().map(|load| sum.until(load.early)).collect();
    let mut ends: Vec<Tick> = loads.iter().map(|load| load.late).collect();
    ends.sort_unstable();
    ends.dedup();
    for until in ends {
        let (end, mut energy) = (sum.until(until), 0);
        for (load, start) in by_early.iter().zip(&starts) {
            if load.late > until {
                continue;
            }
            energy += load.energy;
            if energy > end - start {
                let from = load.early;
                let inside = |load: &&Load| load.early >= from && load.late <= until;
                let tasks = loads.iter().filter(inside).map(|load| load.task).collect();
                return Some(Overload { resource, from, until, tasks });
            }
        }
    }
    None
}

/// A lower bound on the finish of the last task that uses each resource, from the tasks
/// that can't start before some tick.
pub(crate) fn least_length(model: &Model, early: &[Tick]) -> Tick {
    let late = vec![FAR; early.len()];
    let of = |resource: usize| {
        let sum = Sum::of(&model.static_free[resource]);
        let mut loads = loads(model, resource, early, &late);
        loads.sort_by_key(|load| Reverse(load.early));
        let mut energy = 0;
        let ends = loads.iter().map(|load| {
            energy += load.energy;
            sum.reaches(sum.until(load.early) + energy)
        });
        ends.max().unwrap_or(0)
    };
    (0..model.static_free.len()).map(of).max().unwrap_or(0)
}

fn loads(model: &Model, resource: usize, early: &[Tick], late: &[Tick]) -> Vec<Load> {
    let of = |task: usize| {
        let act = &model.acts[task];
        let energies = act.ways.iter().map(|way| {
            let found = way.uses.iter().find(|entry| entry.resource == resource);
            found.map_or(0, |entry| {
                let amount = i64::from(entry.throughout) + i64::from(entry.working);
                amount * i64::from(way.pattern.work())
            })
        });
        let energy = energies.min().unwrap_or(0);
        let (early, late) = (early[2 * task], late[2 * task + 1]);
        (act.fixed.is_none() && energy > 0).then_some(Load { task, early, late, energy })
    };
    (0..model.count()).filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use timetable::{Demand, Mode, Problem, Profile, Resource, ResourceId, Task};

    use super::*;

    #[test]
    fn the_worked_case() {
        let demand = Demand::throughout(ResourceId(0), 2);
        let task = Task::new("t", Mode::elapsed(3, vec![demand]));
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(2) };
        let problem = |horizon| {
            let tasks = vec![task.clone(), task.clone(), task.clone()];
            Problem::new(horizon, tasks, vec![crew.clone()], vec![], vec![], vec![])
                .unwrap()
        };
        let long = problem(20);
        let model = Model::new(&long);
        assert_eq!(least_length(&model, &model.windows.early), 9);
        assert_eq!(overload(&model, &model.windows.early, &model.windows.late), None);
        let short = problem(8);
        let model = Model::new(&short);
        let found = overload(&model, &model.windows.early, &model.windows.late).unwrap();
        assert_eq!((found.from, found.until, found.tasks), (0, 8, vec![0, 1, 2]));
    }
}
