//! Aiming at a shorter length.
//!
//! The length of a schedule says little about how near a shorter one is: it is that of its
//! last task alone, and most moves leave it as it is. So a search that is to shorten a
//! schedule aims at a length a little below it: each task has a latest finish for that
//! length, by the lags that lead from it to the end, and the *strain* of a schedule is by
//! how much its tasks end later, the more so the more they use of what is scarce. Without
//! strain the length is reached. Of two schedules with the same strain the one is better
//! whose scarce work lies earlier: it leaves fewer gaps behind it.

use timetable::Tick;

use crate::model::Model;
use crate::scarce::{energy, scarcity};
use crate::windows::backward;

/// By which share a length is to become shorter at a time.
const STEP: f64 = 0.005;
/// How much a tick counts for a task that uses nothing, and for one of average use on top.
const PULL: (f64, f64) = (2.0, 8.0);
/// What is less scarce than the scarcest counts much less: the ratio's power.
const POWER: i32 = 8;

/// What a task's finish is worth where a length is aimed at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Aim {
    /// The latest finish.
    pub(crate) late: Tick,
    /// What a tick beyond it adds to the strain.
    pub(crate) pull: i64,
    /// What a tick counts between schedules with the same strain.
    pub(crate) weight: i64,
}

impl Aim {
    /// No aim: every tick counts the same.
    pub(crate) const NONE: Self = Self { late: Tick::MAX, pull: 0, weight: 1 };

    /// By how much a finish is too late.
    pub(crate) fn strain(&self, finish: Tick) -> i64 {
        if finish > self.late { i64::from(finish - self.late) * self.pull } else { 0 }
    }
}

/// The aim of each task where a schedule of some length is to become shorter.
pub(crate) fn aims(model: &Model, length: Tick) -> Vec<Aim> {
    let target = length - 1 - (f64::from(length) * STEP) as Tick;
    let late = backward(model, Some(target));
    let scarce = scarce_work(model, length);
    let mean = scarce.iter().sum::<f64>() / scarce.len().max(1) as f64;
    let share = |work: f64| if mean > 0.0 { PULL.1 * work / mean } else { 0.0 };
    let aim = |(task, &work): (usize, &f64)| Aim {
        late: late[2 * task + 1],
        pull: (PULL.0 + share(work)).round() as i64,
        weight: (1.0 + share(work)).round() as i64,
    };
    scarce.iter().enumerate().map(aim).collect()
}

/// For each task its work on the resource on which that counts most.
fn scarce_work(model: &Model, length: Tick) -> Vec<f64> {
    let ratio = scarcity(&model.acts, &model.static_free, length);
    let of = |act: &crate::model::Act| {
        let way = act.ways.first()?;
        let uses = way.uses.iter().map(|entry| {
            energy(entry, way.pattern.work()) * ratio[entry.resource].powi(POWER)
        });
        uses.max_by(f64::total_cmp)
    };
    model.acts.iter().map(|act| of(act).unwrap_or(0.0)).collect()
}

#[cfg(test)]
mod tests {
    use timetable::{
        Demand, Link, Mode, Problem, Profile, Resource, ResourceId, Task, TaskId,
    };

    use super::*;

    #[test]
    fn who_has_most_scarce_work_and_least_time_is_pulled_most() {
        let on =
            |resource, amount| vec![Demand::throughout(ResourceId(resource), amount)];
        let task = |work, demands| Task::new("t", Mode::elapsed(work, demands));
        let tasks = vec![task(40, on(0, 1)), task(20, on(1, 1)), task(40, on(0, 1))];
        let crew = |level| Resource {
            name: "crew".to_owned(),
            capacity: Profile::constant(level),
        };
        let links = vec![Link::after(TaskId(0), TaskId(1))];
        let resources = vec![crew(1), crew(4)];
        let problem = Problem::new(300, tasks, resources, vec![], links, vec![]).unwrap();
        let model = Model::new(&problem);
        let aims = aims(&model, 100);
        assert_eq!(aims.iter().map(|aim| aim.late).collect::<Vec<_>>(), [79, 99, 99]);
        assert!(aims[0].pull > 3 * aims[1].pull && aims[0].pull == aims[2].pull);
        assert_eq!(aims[1].strain(99), 0);
        assert_eq!(aims[1].strain(101), 2 * aims[1].pull);
        assert_eq!(Aim::NONE.strain(Tick::MAX), 0);
    }
}
