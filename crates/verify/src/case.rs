//! A problem and a schedule with as many assignments as it has tasks.

use timetable::{
    Assignment, CalendarId, End, Event, Mode, Problem, Progress, Schedule, TaskId, Tick,
};

use crate::hours::Hours;

pub(crate) struct Case<'a> {
    pub(crate) problem: &'a Problem,
    schedule: &'a Schedule,
}

impl<'a> Case<'a> {
    pub(crate) const fn new(problem: &'a Problem, schedule: &'a Schedule) -> Self {
        Self { problem, schedule }
    }

    pub(crate) fn task_ids(&self) -> impl Iterator<Item = TaskId> + use<> {
        (0..self.problem.tasks().len()).map(TaskId::new)
    }

    pub(crate) fn assignment(&self, task: TaskId) -> Assignment {
        self.schedule.assignments[task.at()]
    }

    /// The mode that the schedule chose, if the task has it.
    pub(crate) fn mode(&self, task: TaskId) -> Option<&'a Mode> {
        self.problem.task(task).modes.get(self.assignment(task).mode.at())
    }

    pub(crate) fn hours(&self, calendar: CalendarId) -> Hours<'a> {
        Hours::of(self.problem.calendar(calendar))
    }

    /// The tick of an event.
    pub(crate) fn tick(&self, event: Event) -> Tick {
        let assignment = self.assignment(event.task);
        match event.end {
            End::Start => assignment.start,
            End::Finish => assignment.finish,
        }
    }

    /// Whether all that a schedule says of a task follows from facts.
    pub(crate) fn is_settled(&self, task: TaskId) -> bool {
        !matches!(self.problem.task(task).progress, Progress::Todo)
    }
}
