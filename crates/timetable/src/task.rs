//! Tasks and the ways in which they can be done.

use crate::{CalendarId, ModeId, ResourceId, Tick};

/// Something to be done once, in one of its modes, from a start to a finish.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// A name for people.
    pub name: String,
    /// The ways to do it; at least one. Exactly one is chosen.
    pub modes: Vec<Mode>,
    /// It starts at this tick or later.
    pub release: Tick,
    /// It finishes at this tick or earlier, without exception.
    pub deadline: Option<Tick>,
    /// It should finish by a tick; being late counts in the objective.
    pub due: Option<Due>,
    /// What has happened already.
    pub progress: Progress,
    /// Where the plan that people work from has it.
    pub published: Option<Published>,
}

impl Task {
    /// A task with one mode, no window, no due date, and nothing done yet.
    pub fn new(name: impl Into<String>, mode: Mode) -> Self {
        Self {
            name: name.into(),
            modes: vec![mode],
            release: 0,
            deadline: None,
            due: None,
            progress: Progress::Todo,
            published: None,
        }
    }
}

/// One way to do a task.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mode {
    /// A name for people; may be empty where a task has one mode.
    pub name: String,
    /// How many ticks of work (or of elapsed time, as `pace` says) it takes; not negative.
    pub work: Tick,
    /// How the work lies in time.
    pub pace: Pace,
    /// What it uses while it runs; each resource at most once for each [`During`].
    pub demands: Vec<Demand>,
    /// What choosing this mode costs, in the objective's unit of cost; not negative.
    pub cost: i64,
}

impl Mode {
    /// A mode of elapsed time.
    pub fn elapsed(work: Tick, demands: Vec<Demand>) -> Self {
        Self { name: String::new(), work, pace: Pace::Elapsed, demands, cost: 0 }
    }
}

/// How the work of a mode lies in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pace {
    /// Runs on through nights and closures: `finish = start + work`.
    Elapsed,
    /// Runs on without a break, and only while the calendar is open: every tick of
    /// `[start, start + work)` is open.
    Whole(CalendarId),
    /// Pauses when the calendar closes and resumes when it opens. If `work > 0` the tick
    /// `start` is open, and `finish` is the least tick for which `[start, finish)` holds
    /// `work` open ticks. If `work = 0`, `finish = start`, which may be any tick.
    Pausing(CalendarId),
}

/// A use of a resource by a running task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Demand {
    /// What is used.
    pub resource: ResourceId,
    /// How much of it, at least 1.
    pub amount: u32,
    /// When it is used.
    pub during: During,
}

impl Demand {
    /// A use from the start to the finish of the task.
    pub const fn throughout(resource: ResourceId, amount: u32) -> Self {
        Self { resource, amount, during: During::Throughout }
    }

    /// A use in the ticks that are worked.
    pub const fn working(resource: ResourceId, amount: u32) -> Self {
        Self { resource, amount, during: During::Working }
    }
}

/// When a running task uses a resource.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum During {
    /// In every tick of `[start, finish)`, pauses included: a bay, a stand, a crew that is
    /// kept together.
    Throughout,
    /// In the ticks of `[start, finish)` in which the mode's calendar is open: people, who
    /// go home. The same as `Throughout` for modes that do not pause.
    Working,
}

/// A date that a task should keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Due {
    /// It should finish at this tick or earlier.
    pub at: Tick,
    /// What each tick of lateness counts; at least 1.
    pub weight: u32,
}

/// What has happened of a task already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// Nothing.
    Todo,
    /// It started, in a mode that is no longer open to choice. The work that is left lies
    /// from `resume` on by the mode's pace, as if a task of `left` ticks started at
    /// `resume`; for a pausing mode the finish counts from the first open tick at or
    /// after `resume`. Its `release` no longer applies.
    Started {
        /// The mode that it runs in.
        mode: ModeId,
        /// When it started.
        start: Tick,
        /// From when on the rest is counted: now, as a rule.
        resume: Tick,
        /// How much of the mode's work is left; at least 0.
        left: Tick,
    },
    /// It is finished; nothing about it can change, and windows no longer apply.
    Done {
        /// The mode that it ran in.
        mode: ModeId,
        /// When it started.
        start: Tick,
        /// When it finished.
        finish: Tick,
    },
}

/// Where the published plan has a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Published {
    /// Its published start.
    pub start: Tick,
    /// What each tick of difference from it counts, as cost.
    pub weight: u32,
}
