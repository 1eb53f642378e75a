//! Schedules, and what they measure.

use crate::{ModeId, Problem, Tick};

/// In which mode, from when and until when each task runs, in the order of the tasks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule {
    /// One assignment for each task of the problem.
    pub assignments: Vec<Assignment>,
}

/// How one task runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Assignment {
    /// The mode that is chosen.
    pub mode: ModeId,
    /// The first tick.
    pub start: Tick,
    /// The first tick after it.
    pub finish: Tick,
}

/// What a schedule measures, recomputed from it and its problem. Less is better, compared
/// in the order of [`Measures::key`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Measures {
    /// Lateness against due dates: ticks times weight, summed.
    pub tardiness: i64,
    /// Cost of the modes chosen.
    pub cost: i64,
    /// Distance from the published plan: ticks times weight, summed.
    pub drift: i64,
    /// The greatest finish of any task.
    pub length: Tick,
}

impl Measures {
    /// Measures a schedule. It must have one assignment for each task, each with a mode
    /// that the task has; `verify` says whether it is lawful.
    pub fn of(problem: &Problem, schedule: &Schedule) -> Self {
        let mut measures = Self { tardiness: 0, cost: 0, drift: 0, length: 0 };
        for (task, assignment) in problem.tasks().iter().zip(&schedule.assignments) {
            let late = task.due.map_or(0, |due| {
                let ticks = i64::from(assignment.finish) - i64::from(due.at);
                ticks.max(0) * i64::from(due.weight)
            });
            let moved = task.published.map_or(0, |published| {
                let ticks = i64::from(assignment.start) - i64::from(published.start);
                ticks.abs() * i64::from(published.weight)
            });
            measures.tardiness += late;
            measures.cost += task.modes.get(assignment.mode.at()).map_or(0, |m| m.cost);
            measures.drift += moved;
            measures.length = measures.length.max(assignment.finish);
        }
        measures
    }

    /// What decides between two schedules: lateness first, then cost with the distance
    /// from the published plan, then length.
    pub const fn key(&self) -> (i64, i64, Tick) {
        (self.tardiness, self.cost + self.drift, self.length)
    }
}
